"""A bounded sample of what `python -m tests.faults` tries by the thousand, and the proof that it would notice."""

from __future__ import annotations

import json
import os
import sys
import time
import tracemalloc
from collections.abc import Callable, Iterator
from itertools import islice
from pathlib import Path

import pytest

from fillcalc.case.read import read_bytes
from fillcalc.estimation.answers import at_likely_values
from fillcalc.estimation.estimate import estimate
from fillcalc.formats.data import estimate_data, line
from fillcalc.questions.ranges import with_ranges
from fillcalc.questions.visit import visit
from tests.families import few, thorough
from tests.faults import beside, commands, damage, judge, saves, starts, terminals
from tests.faults.second import objections
from tests.faults.texts import demos, given, table_of, with_value, written

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals and terminals of this kind are not there")

SAMPLE = 6
EACH = 203
"""Of the families that end by themselves, every so manyeth file."""


@pytest.mark.parametrize("family", few(damage.FAMILIES, 4))
def test_damaged_files(family: str) -> None:
    make, number = damage.FAMILIES[family]
    files = islice(make(7), SAMPLE) if number < 10**9 else islice(make(7), 0, SAMPLE * EACH, EACH)
    seen = [(data, judge.judge(data)) for data in files]
    assert len(seen) >= 3
    assert not [(data, verdict.faults) for data, verdict in seen if verdict.faults]


FEW = {"kits damaged and hostile": (0, None, 203), "hostile text typed into the form": (0, None, 307),
       "recorders' files damaged, odd, hostile": (0, None, 307), "pages of damaged and absurd cases": (4, 6, 1),
       "visits with a damaged or absurd case": (5, 6, 1), "one thing absurd or long, with low and high": (0, 25, 6)}
"""Which of the trials of each kind."""


@pytest.mark.parametrize("name", few(beside.KINDS, 2))
def test_what_stands_beside_a_case(name: str) -> None:
    kind = beside.KINDS[name]
    seen = [(trial, kind.one(trial)) for trial in islice(kind.make(7), *FEW[name])]
    assert any(verdict.read for _, verdict in seen)
    assert not [(trial, verdict.faults) for trial, verdict in seen if verdict.faults]


@thorough
def test_a_visit_of_many_keeps_of_each_only_what_is_told() -> None:
    case = read_bytes(demos()["bench-valve"], "bench.toml")
    tracemalloc.start()
    visit([case] * 12)
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert most < 75e6, most


def test_unsaved_work_of_every_kind_is_offered_or_set_aside(tmp_path: Path) -> None:
    """Damaged, foreign, planted: none lost, none written over unasked; and the screen starts among them."""
    seen = list(starts.looked_through(tmp_path, 200))
    assert len(seen) == 199 and not [faults for faults in seen if faults]


@thorough
@pytest.mark.parametrize("name", ["take up the newest"])
def test_a_start_among_thousands(name: str, tmp_path: Path) -> None:
    assert not starts.STARTS[name](tmp_path)


def test_a_longer_hose_and_a_smaller_hole_never_help() -> None:
    """Over all legal lengths and bores the fill time goes one way, or is never."""
    for path, values in (("fill.hose.1.length", [f"{m} m" for m in (0.1, 1, 10, 100, 1000, 10_000, 100_000)]),
                         ("vent.bore", [f"{mm} mm" for mm in (5000, 500, 50, 8, 4, 2, 1, 0.5, 0.1)]),
                         ("fill.hose.1.coupling_hole", [f"{mm} mm" for mm in (12.7, 9, 5, 2, 1, 0.5, 0.2)])):
        table = table_of(demos()["cooler-shell"])
        times = []
        for value in values:
            case = read_bytes(written(with_value(table, path, value)), "job.toml")
            times.append(json.loads(line(estimate_data(case, estimate(case))))["fill"]["time_s"])
        known = [time for time in times if time is not None]
        assert known == sorted(known) and times[:len(known)] == known and known[-1] > known[0], (path, times)


def test_the_outlet_of_an_open_tank_counts() -> None:
    """Nothing but the water drives it, and a narrow outlet holds that back."""
    table = table_of(demos()["cooler-shell"])
    table.pop("ranges", None)
    times = []
    for flow in ("unlimited", "100 L/min", "30 L/min", "5 L/min"):
        tank = {"kind": "header tank", "height": "6 m", "open_flow": flow}
        case = read_bytes(written(with_value(table, "tap", tank)), "job.toml")
        times.append(float(estimate(case).fill.time_s[0]))
    assert times == sorted(times) and times[-1] > 2 * times[0]


# --- saves, commands, terminals ---------------------------------------------------------------

@pytest.mark.parametrize("name,walk", few((walk for walk in saves.walks() if walk[0] in (
    "kill -9 at each line, over a file", "kill -9 at each line of keeping unsaved work",
    "Reached() at each line, a new file")), 1))
def test_a_save_is_all_or_nothing(name: str, walk: Callable[[Path], Iterator[list[str]]], tmp_path: Path) -> None:
    tried = list(walk(tmp_path))
    assert len(tried) > 10
    assert not [faults for faults in tried if faults]


@pytest.mark.parametrize("name,walk", list(saves.torn_walks()))
def test_a_write_cut_short_or_power_lost_leaves_the_old_or_the_new(
        name: str, walk: Callable[[Path], Iterator[list[str]]], tmp_path: Path) -> None:
    assert not [faults for faults in walk(tmp_path) if faults]


@pytest.mark.parametrize("name", saves.DISKS)
def test_disks(name: str, tmp_path: Path) -> None:
    assert not saves.DISKS[name](tmp_path)


QUICK = ("closed pipe: JSON", "full device: visit", "closed streams (0, 1, 2): nothing", "C without UTF-8: estimate",
         "interrupted", "file: a device without end", "written with decimal commas")


@pytest.mark.parametrize("name", few(QUICK, 1))
def test_the_command(name: str, tmp_path: Path) -> None:
    assert not commands.TRIALS[name](tmp_path)


SHORT = ("several signals one after the other", "resized to nothing and back", "a megabyte pasted into a field")


@pytest.mark.parametrize("name", few(SHORT, 1))
def test_the_screen(name: str, tmp_path: Path) -> None:
    assert not terminals.TERMINALS[name](tmp_path)


# --- the trials would notice ------------------------------------------------------------------

def _naive_save(place: Path, data: bytes, was: object = None) -> None:
    with open(place, "wb") as file:
        file.write(data[:100])
        file.flush()
        file.write(data[100:])


def test_a_save_in_place_would_be_noticed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(saves, "save", _naive_save)
    monkeypatch.setattr(saves.saving, "__file__", __file__)
    (tmp_path / "torn").mkdir()
    assert all(any("broken" in fault for fault in faults) for faults in saves.torn("over a file", tmp_path / "torn"))
    for name, walk in (("kills", saves.kills("over a file", tmp_path / "a")),
                       ("failures", saves.failures("over a file", OSError(28, "full"), tmp_path / "b"))):
        (tmp_path / "a").mkdir(exist_ok=True)
        (tmp_path / "b").mkdir(exist_ok=True)
        faults = [fault for faults in walk for fault in faults]
        assert any("broken" in fault for fault in faults), name


def _spin(*_: object) -> None:
    end = time.monotonic() + 5.0
    while time.monotonic() < end:
        pass


@pytest.mark.parametrize("limit,stuck", [("MOST_S", _spin), ("MOST_WAITING_S", lambda *_: time.sleep(5))])
def test_a_hang_would_be_noticed(limit: str, stuck: Callable[..., None], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(judge, limit, 0.1)
    monkeypatch.setattr(judge, "read_bytes", stuck)
    started = time.monotonic()
    assert "hang" in judge.judge(b"").faults
    assert time.monotonic() - started < 4.0


def test_the_second_way_notices_each_wrong_figure() -> None:
    case = read_bytes(demos()["cooler-shell"], "job.toml")
    data = json.loads(line(estimate_data(case, with_ranges(case), charts=True)))
    assert not objections(at_likely_values(case), data)
    for path, value in (("fill.time_s", 0.5 * data["fill"]["time_s"]), ("visit", None),
                        ("pressurise.strokes", 0.5 * data["pressurise"]["strokes"]),
                        ("pressurise.time_s", 0.5 * data["pressurise"]["time_s"]),
                        ("pressurise.parts.compression_m3", 3.0 * data["pressurise"]["parts"]["compression_m3"]),
                        ("visit.at_likely_values_s", 2.0 * data["visit"]["at_likely_values_s"])):
        assert objections(at_likely_values(case), with_value(data, path, value)), path


def test_wrong_answers_would_be_noticed() -> None:
    case = read_bytes(demos()["cooler-shell"], "job.toml")
    sound = json.loads(line(estimate_data(case, estimate(case))))
    assert not judge.answer_faults(sound)
    for path, value in (("fill.time_s", None), ("fill.time_s", -1.0), ("fill.shares.tap", 0.9),
                        ("pressurise.water_m3", 1.0), ("pressurise.reached", False), ("energy.air_j", -1.0),
                        ("fill.finished", False), ("pressurise.parts.air_m3", -1e-9), ("trapped_share", 1.5)):
        assert judge.answer_faults(with_value(sound, path, value)), path
    assert beside.page_faults("<p>1 nan</p>") and beside.page_faults("a\u202e") and not beside.page_faults("<p>fin</p>")
    assert judge.unsafe("a\x1b\u202e\n") == {"U+001B", "U+202E"}


def test_every_input_of_the_full_case_is_tried() -> None:
    assert len(list(given(table_of(demos()["full"])))) > 70
    assert os.path.exists(commands.ROOT / "pyproject.toml")
