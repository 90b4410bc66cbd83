"""The record of a finished job, and figures of one's own: read, checked, and standing in for defaults alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from fillcalc.case.assume import handbook
from fillcalc.case.own import Own, OwnAir, OwnPump, OwnRemade, OwnSource, OwnTime, beside
from fillcalc.case.own_file import own_text, read_own, read_own_file
from fillcalc.case.problems import CaseProblems
from fillcalc.case.read import read_text
from fillcalc.case.records import Case
from fillcalc.case.stages import STAGE_KEYS
from fillcalc.estimation.answers import at_likely_values
from fillcalc.questions.ranges import with_ranges
from fillcalc.tree import at
from tests.report.demo import CASES

BASE = (Path(__file__).parent / "base.toml").read_text(encoding="utf-8")

OWN = """
format = 1
[[time]]
stage = "connect"
work = "site"
crew = 1
bore_to = "110 mm"
low = "4 min"
likely = "6 min"
high = "12 min"
why = "14 jobs, 2026-03 to 2026-11"
[[time]]
stage = "wait"
low = "30 min"
likely = "30 min"
high = "30 min"
why = "the gate of this works"
[[remade]]
low = "2 %"
likely = "5 %"
high = "11 %"
why = "2 of 31 pieces, 14 jobs"
[[air]]
vessel = "vessel by volume"
low = "0.1 %"
likely = "0.2 %"
high = "0.6 %"
why = "9 jobs"
[[source]]
kind = "tap"
name = "East  Wall"
low = "18 L/min"
likely = "20 L/min"
high = "23 L/min"
why = "5 jobs"
[[pump]]
name = "ten to one"
low = 0.7
likely = 0.75
high = 0.8
why = "9 jobs"
"""

CASE = """
format = 1
[vessel]
shape = "by volume"
volume = "570 L"
[tap]
pressure = "3 bar"
name = "east wall"
[[fill.hose]]
length = "25 m"
bore = "12.7 mm"
[test]
pressure = "15 bar"
[pump]
kind = "air-driven"
ratio = 10
stroke = "60 mL"
flow_at_zero = "4 L/min"
name = "Ten to one"
[labour]
openings = 3
"""
PATHS = {"labour.each.connect": (720.0, 1080.0, 2160.0), "labour.visit.wait": None, "rework.chance": (0.02, 0.05, 0.11),
         "trapped_air.amount": (0.001, 0.002, 0.006), "tap.open_flow": (0.0003, 0.02 / 60, 0.023 / 60),
         "pump.mid_curve": (0.7, 0.75, 0.8)}


def own(text: str = OWN) -> Own:
    return read_own(text.encode(), "own.toml")


def mine(case: Case) -> dict[str, str]:
    return {each.path: each.why for each in case.assumptions if each.own}


# --- what the job took ------------------------------------------------------------------------

TOOK = "[took]\n" + "\n".join(f'{key} = "{place + 1} min"' for place, key in enumerate(STAGE_KEYS)) + """
date = 2026-11-20
strokes = 74
on_site = "5 h 05 min"
remade = 1
running = "drain"
since = "2026-11-20 11:42"
"""


def test_what_a_job_took_is_read_and_moves_no_answer() -> None:
    bare, took = (read_text(f"{BASE}\n{more}") for more in ("", TOOK))
    for place, key in enumerate(STAGE_KEYS):
        assert at(took.took, key) == 60.0 * (place + 1)
    assert (took.took.date, took.took.strokes, took.took.remade) == ("2026-11-20", 74.0, 1)
    assert (took.took.on_site, took.took.since) == (18300.0, "2026-11-20 11:42:00")
    one, other = (at_likely_values(with_ranges(case)) for case in (bare, took))
    assert one.visit is not None and other.visit is not None
    assert (one.visit.low_s, one.visit.likely_s, one.visit.high_s) == (
        other.visit.low_s, other.visit.likely_s, other.visit.high_s)


@pytest.mark.parametrize(("line", "path", "said"), [
    ('fill = "36"', "took.fill", "unit is missing"),
    ('fil = "36 min"', "took.fil", "did you mean fill"),
    ('date = "20.11.2026"', "took.date", "year, month and day"),
    ('date = "2026-02-30"', "took.date", "year, month and day"),
    ("date = 2026-11-20T10:00:00", "took.date", "year, month and day"),
    ('since = "11:42"\nrunning = "fill"', "took.since", "a day and a time"),
    ('since = "2026-11-20T11:42Z"\nrunning = "fill"', "took.since", "a day and a time"),
    ('since = 2026-11-20\nrunning = "fill"', "took.since", "a day and a time"),
    ('running = "filling"\nsince = "2026-11-20 11:42"', "took.running", "write one of wait"),
    ('running = "fill"', "took.since", "running needs since"),
    ("remade = 1.5", "took.remade", "whole number"),
    ("strokes = -3", "took.strokes", "between 0"),
    ('wait = "-1 min"', "took.wait", "between"),
])
def test_a_wrong_record_is_named_by_its_line(line: str, path: str, said: str) -> None:
    with pytest.raises(CaseProblems) as caught:
        read_text(f"{BASE}\n[took]\n{line}\n")
    found = {problem.path: problem for problem in caught.value.problems}
    assert path in found and said in str(found[path]), str(caught.value)
    assert found[path].line > BASE.count("\n") or "needs" in said


# --- figures of one's own ---------------------------------------------------------------------

def test_own_figures_stand_in_for_defaults_with_their_reason() -> None:
    case = read_text(CASE, own=own())
    found = mine(case)
    assert set(found) == set(PATHS)
    assert found["labour.each.connect"] == "own figures of own.toml: 14 jobs, 2026-03 to 2026-11"
    for path, three in PATHS.items():
        asked = case.ranges.get(path)
        assert (asked and (asked.low, asked.likely, asked.high)) == (three and pytest.approx(three, rel=5e-3)), path
    assert case.labour.visit.wait == 1800.0


def test_what_a_case_gives_always_wins_and_none_is_the_handbook() -> None:
    given = """
[rework]
chance = "20 %"
[trapped_air]
amount = "1 %"
[labour.visit]
wait = "5 min"
[labour.each]
connect = "9 min"
"""
    text = CASE.replace('pressure = "3 bar"', 'pressure = "3 bar"\nopen_flow = "40 L/min"').replace(
        "ratio = 10", "ratio = 10\nmid_curve = 0.9") + given
    assert read_text(text, own=own()) == read_text(text)
    case, plain = read_text(CASE, own=Own()), read_text(CASE)
    assert case == plain and not mine(case)
    mixed = read_text(CASE, own=own())
    for path in PATHS:
        assert handbook(mixed, path) == plain.ranges.get(path)


@pytest.mark.parametrize(("old", "new", "path"), [
    ('name = "east wall"', 'name = "other"', "tap.open_flow"),
    ('name = "east wall"', "", "tap.open_flow"),
    ('name = "Ten to one"', "", "pump.mid_curve"),
    ('shape = "by volume"', 'shape = "valve body"', "trapped_air.amount"),
    ("openings = 3", "crew = 2", "labour.each.connect"),
    ('volume = "570 L"', 'volume = "60 m3"', "labour.each.connect"),
])
def test_an_entry_holds_only_where_it_says(old: str, new: str, path: str) -> None:
    case = read_text(CASE.replace(old, new), own=own())
    assert path not in mine(case) and "labour.visit.wait" in mine(case)


def test_air_from_the_shape_stays_from_the_shape() -> None:
    text = CASE.replace('shape = "by volume"\nvolume = "570 L"',
                        'shape = "vertical cylinder"\ndiameter = "600 mm"\nheight = "2 m"')
    case = read_text(f'{text}\n[vent]\nbelow_highest_point = "20 mm"\n',
                     own=own(OWN.replace('vessel = "vessel by volume"\n', "")))
    assert "trapped_air.amount" not in mine(case) and case.trapped_air.amount is None


@pytest.mark.parametrize(("old", "new", "path"), [
    ('likely = "6 min"', 'likely = "3 min"', "time.1.likely"),
    ('high = "12 min"', 'high = "5 min"', "time.1.high"),
    ('low = "4 min"', "", "time.1.low"),
    ('stage = "wait"', 'stage = "fill"', "time.2.stage"),
    ('why = "9 jobs"', "", "air.1.why"),
    ("[[remade]]", "[[remaid]]", "remaid"),
    ("low = 0.7", "low = 0.1", "pump.1.low"),
    ('kind = "tap"', 'kind = "tab"', "source.1.kind"),
    ("format = 1", "format = 2", "format"),
    ('bore_to = "110 mm"', 'bore_to = "110 mm"\nbore_over = "120 mm"', "time.1.bore_to"),
])
def test_a_mistake_is_named_by_its_line(old: str, new: str, path: str) -> None:
    with pytest.raises(CaseProblems) as caught:
        own(OWN.replace(old, new, 1))
    assert path in [problem.path for problem in caught.value.problems], str(caught.value)
    assert all(problem.line for problem in caught.value.problems), str(caught.value)


def test_what_is_written_reads_back() -> None:
    made = Own(
        time=(OwnTime(stage="connect", work="site", closure="plugs", crew=2, bore_over=0.06, bore_to=0.165, low=301.7,
                      likely=444.444, high=1234.5, why='a "quoted" \\ reason\nof two lines'),),
        remade=(OwnRemade(low=0.01234, likely=0.0567, high=0.2, why="w"),),
        air=(OwnAir(vessel="valve", from_="top", low=2e-5, likely=3.3e-4, high=0.0123, why="w"),),
        source=(OwnSource(kind="hydrant", name="Ofen\u202eweg", low=0.004, likely=0.0055, high=0.0123, why="w"),),
        pump=(OwnPump(name="ten", low=0.678, likely=0.7, high=0.8, why="w"),))
    back = read_own(own_text(made, ["two crews\nhere"]).encode(), "x")
    for one, other in zip(made.entries(), back.entries(), strict=True):
        for end in ("low", "likely", "high"):
            assert getattr(other, end) == pytest.approx(getattr(one, end), rel=5e-3)
    assert back.time[0].why == 'a "quoted" \\ reason of two lines' and back.time[0].bore_to == 0.165
    assert back.source[0].name is not None and "\u202e" not in back.source[0].name


def test_the_file_is_found_beside_the_case_then_in_the_folder_of_work(tmp_path: Path) -> None:
    there, here = tmp_path / "there", tmp_path / "here"
    there.mkdir()
    here.mkdir()
    assert beside(str(there / "case.toml"), str(here)) == ""
    (here / "own.toml").write_text(OWN)
    assert beside(str(there / "case.toml"), str(here)) == str(here / "own.toml") == beside("", str(here))
    (there / "own.toml").write_text(OWN)
    assert beside(str(there / "case.toml"), str(here)) == str(there / "own.toml")
    assert read_own_file(there / "own.toml").entries()
    assert not (CASES / "own.toml").exists()
