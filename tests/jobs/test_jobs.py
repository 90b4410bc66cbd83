"""Finished jobs: what one tells, the track record, what a folder teaches, and who is odd among them."""

from __future__ import annotations

import json
import shutil
import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import tomlkit

from fillcalc.case.folder import read_folder
from fillcalc.case.kit import read_kit_text
from fillcalc.case.own import Own, OwnPump, OwnSource, OwnTime
from fillcalc.case.own_file import own_text, read_own, read_own_file
from fillcalc.case.read import read_file, read_text
from fillcalc.case.records import Case, Reading, Took
from fillcalc.estimation.answers import Stage
from fillcalc.estimation.estimate import estimate
from fillcalc.estimation.stages import EACH, ONCE, batches
from fillcalc.job.points import DRAWS
from fillcalc.questions.choices.ranking import choices
from fillcalc.questions.jobs.chances import wilson
from fillcalc.questions.jobs.crews import two_crews
from fillcalc.questions.jobs.learn import learn
from fillcalc.questions.jobs.seen import seen
from fillcalc.questions.jobs.track import FEWEST_ROWS, ON_SITE, estimates, track
from fillcalc.tree import put_all
from tests.families import few, thorough
from tests.jobs.made import CREWS, MadeCrew, done, text_of
from tests.own import band, learned_by, worth
from tests.report.demo import CASES, NAMES, ranged
from tui.command.main import main
from tui.state.learned_file import marked, untouched, write_learned

DEMOS = {name: read_file(CASES / f"{name}.toml") for name in NAMES}


def cases_of(count: int, seed: int = 3) -> list[Case]:
    rng = np.random.default_rng(seed)
    return [read_text(text_of(rng)) for _ in range(count)]


def jobs_of(crew: MadeCrew, count: int = 20, seed: int = 3) -> list[Case]:
    return done(cases_of(count, seed), crew, np.random.default_rng([seed, 7]))


# --- what one job tells -----------------------------------------------------------------------

def test_the_tap_the_air_and_the_pump_are_found_again() -> None:
    """A job worked out with a known tap, air and pump tells just those."""
    cases = cases_of(6)
    rng = np.random.default_rng(1)
    truths = [{"tap.open_flow": rng.uniform(12, 55) / 60e3, "trapped_air.amount": rng.uniform(2e-4, 6e-3),
               "pump.mid_curve": rng.uniform(0.6, 1.1)} for _ in cases]
    jobs = []
    for case, truth in zip(cases, truths, strict=True):
        run = estimate(put_all(case, truth))
        jobs.append(replace(case, took=Took(fill=float(run.fill.time_s[0]), strokes=float(run.pressurise.strokes[0]),
                                            pump_up=float(run.pressurise.time_s[0]))))
    found, _ = seen(jobs)
    names = {"tap open flow": "tap.open_flow", "trapped air": "trapped_air.amount", "pump curve": "pump.mid_curve"}
    assert {one.what for one in found} == set(names)
    assert sum(one.what == "tap open flow" for one in found) == len(jobs)
    for one in found:
        path, value = names[one.what], float(np.exp(one.log))
        assert value == pytest.approx(truths[one.job][path], rel=0.03), one.what
        if one.what == "tap open flow":  # at likely air, as nothing else is known of the fill
            again = estimate(put_all(jobs[one.job], {path: value}))
            assert again.fill.time_s[0] == pytest.approx(jobs[one.job].took.fill, rel=1e-3)


def test_readings_tell_the_air_where_no_strokes_were_counted() -> None:
    case = cases_of(1)[0]
    truth = put_all(case, {"trapped_air.amount": 0.004})
    stops = [0.15e5, *(part * float(case.test.pressure) for part in (0.2, 0.5, 0.9))]
    history = estimate(truth).pressurise.history
    strokes = np.interp(stops, np.asarray(history.pressure_gauge_pa)[:, 0], np.asarray(history.strokes)[:, 0])
    read = tuple(Reading(pressure=stop, strokes=float(count), time=300.0 * place)
                 for place, (stop, count) in enumerate(zip(stops, strokes, strict=True)))
    found, _ = seen([replace(case, reading=read, took=Took(set_up=2400.0))])
    air = next(one for one in found if one.what == "trapped air")
    assert np.exp(air.log) == pytest.approx(0.004, rel=0.05)


def test_a_fill_that_no_tap_could_make_tells_nothing_of_the_tap() -> None:
    case = cases_of(1)[0]
    for time in (1.0, 1e6):
        found, _ = seen([replace(case, took=Took(fill=time))])
        assert [one.what for one in found] == []
    measured = replace(case, fill=replace(case.fill, measured_flow=20 / 60e3), took=Took(fill=1800.0))
    assert seen([measured])[0] == []


GAS_JOB = replace(read_file(CASES / "gas-valve-seat.toml"), took=Took(
    set_up=1500.0, connect=200.0, fill=300.0, pump_up=120.0, strokes=30.0, raise_=90.0, settle=120.0,
    hold=60.0, let_off=15.0, remade=0.0, on_site=3300.0))
"""Readings of its hold, its own stages, and times of stages that a test with gas does not have."""


@thorough
def test_a_job_with_gas_tells_of_the_work_alone() -> None:
    """Beside jobs with water it changes nothing of what they tell of tap, air and pump."""
    water = jobs_of(MadeCrew("right"), 3)
    alone, _ = seen(water)
    found, joints = seen([GAS_JOB, *water])
    assert {one.what for one in found if one.job == 0} == {"set up", "connect"}
    assert {one.job for one in joints} >= {0}
    assert [(one.what, one.job - 1, one.log) for one in found if one.job] == [
        (one.what, one.job, one.log) for one in alone]
    record = track([GAS_JOB, *water])
    assert {one.name for one in record.compared if one.job == 0} == {
        "set up", "connect", "raise", "settle", "hold", "let off", ON_SITE}
    with_it, without = ([one for one in each.compared if one.name == "fill"] for each in (record, track(water)))
    assert [one.taken_s for one in with_it] == [one.taken_s for one in without]


# --- the track record -------------------------------------------------------------------------

def per_unit(case: Case, stage: Stage) -> float:
    return 1.0 if stage.name in ONCE else (case.vessel.count if stage.name in EACH else batches(case))


def test_the_batched_estimate_is_that_of_each_case_alone() -> None:
    """Demos in one call: every stage and the whole, to the last figures, as `estimate` tells them."""
    some = dict(list(DEMOS.items())[::3])
    together = estimates(list(some.values()), DRAWS * len(some))
    for (name, case), found in zip(some.items(), together, strict=True):
        alone = ranged(name)[1]
        assert alone.visit is not None
        for stage in alone.stages:
            if stage.name == "rework" or stage.name in ONCE:  # a job has these of one piece, and of one day
                continue
            ours, part = found[stage.name], per_unit(case, stage)
            assert (ours.low_s * part, ours.likely_s * part, ours.high_s * part) == pytest.approx(
                (stage.low_s, stage.likely_s, stage.high_s), rel=1e-6, nan_ok=True), (name, stage.name)
        if not alone.visit.without:
            assert (found[ON_SITE].low_s, found[ON_SITE].likely_s, found[ON_SITE].high_s) == pytest.approx(
                (alone.visit.low_s, alone.visit.likely_s, alone.visit.high_s), rel=1e-6, nan_ok=True), name


@thorough
def test_the_few_rows_of_a_large_folder_tell_the_same_low_and_high() -> None:
    """Beside those of an estimate alone: neither too near nor too far, of one job nor of all."""
    cases = cases_of(16, seed=21)
    few, many = (estimates(cases, rows * len(cases)) for rows in (FEWEST_ROWS, DRAWS))
    for name, all_within, each_within in ((ON_SITE, 0.03, 0.08), ("fill", 0.05, 0.15), ("set up", 0.01, 0.02)):
        width = np.array([[one[name].high_s - one[name].low_s for one in found] for found in (few, many)])
        middle = np.array([[one[name].low_s + one[name].high_s for one in found] for found in (few, many)]) / 2.0
        assert abs(float(np.mean(width[0] / width[1])) - 1.0) <= all_within, name
        assert np.all(np.abs(width[0] / width[1] - 1.0) <= each_within), name
        assert np.all(np.abs(middle[0] - middle[1]) <= each_within * width[1]), name


def test_the_track_record_counts_what_lies_between_and_names_the_odd() -> None:
    jobs = jobs_of(MadeCrew("right"), 12)
    record = track(jobs)
    for row in record.rows:
        mine = [one for one in record.compared if one.name == row.name]
        assert row.jobs == len(mine) and row.inside == sum(one.low_s <= one.taken_s <= one.high_s for one in mine)
    whole = record.whole
    assert whole.jobs == 12 and whole.inside_low <= whole.inside / 12 <= whole.inside_high
    absurd = [*jobs[:-1], replace(jobs[-1], took=replace(jobs[-1].took, set_up=40 * 3600.0))]
    other = track(absurd)
    assert [(one.job, one.name) for one in other.compared if one.odd] == [(11, "set up")]
    before, after = (next(row for row in each.rows if row.name == "set up") for each in (record, other))
    assert after.ratio_likely == pytest.approx(before.ratio_likely, rel=0.1)
    assert after.ratio_high == pytest.approx(before.ratio_high, rel=0.1) and after.inside >= before.inside - 1
    assert track(cases_of(2)).jobs == 0 and track([]).whole.jobs == 0


# --- what is learned --------------------------------------------------------------------------

@thorough
def test_own_figures_are_narrower_and_still_true() -> None:
    """Four made crews, 20 jobs each, four sets of them, 320 jobs never seen, too few of one crew to part from 80 % by
    chance; `python -m tests.own` makes the large table. No band that is true of a crew is narrower than that of who
    knows all about it, and after 20 jobs none need be much wider."""
    rows = [worth(crew, 20, 4, 20) for crew in CREWS]
    low, high = wilson(round(320 * float(np.mean([row.inside for row in rows]))), 320)
    assert low <= 0.8 <= high
    over = {crew.name: row.width / band(crew, 40, 40) for crew, row in zip(CREWS, rows, strict=True)}
    assert all(row.width < row.width_before for row in rows)
    assert np.mean(list(over.values())) <= 1.15 and max(over.values()) <= 1.25, over


@thorough
def test_after_one_job_it_hardly_moves() -> None:
    """The likely total of another job, after each of two first jobs."""
    for crew in CREWS:
        for seed in (4, 5):
            rng = np.random.default_rng(seed)
            own = learned_by(crew, 1, rng)
            text = text_of(rng)
            one, other = (estimates([read_text(text, own=each)])[0][ON_SITE] for each in (own, Own()))
            assert abs(one.likely_s / other.likely_s - 1.0) <= 0.1, (crew.name, seed)


def test_an_absurd_job_moves_nothing_by_more_than_a_tenth_and_is_named() -> None:
    jobs = jobs_of(CREWS[0])
    for key in ("set_up", "connect", "inspect"):
        absurd = [*jobs, replace(jobs[0], took=Took(**{key: 40 * 3600.0}))]
        before, after = learn(jobs), learn(absurd)
        assert [(one.job, one.what) for one in after.odd] == [(20, key.replace("_", " "))]
        for one, other in zip(before.own.entries(), after.own.entries(), strict=True):
            assert (other.low, other.likely, other.high) == pytest.approx((one.low, one.likely, one.high), rel=0.1)
    thirty = learn([*jobs, replace(jobs[0], took=Took(remade=30))])
    assert [(one.job, one.what) for one in thirty.odd] == [(20, "joints re-made")]


def test_two_crews_are_told_apart_and_one_is_not_split() -> None:
    for seed in range(2):
        mixed = [*jobs_of(MadeCrew("quick", pace=0.75), 10, seed), *jobs_of(MadeCrew("slow", pace=1.35), 10, seed + 50)]
        crews = learn(mixed).crews
        assert crews is not None and set(crews.slow) == set(range(10, 20)), seed
        assert crews.quick_times < 0.9 < 1.1 < crews.slow_times
    alone = [two_crews(seen(jobs_of(crew))[0]) for crew in CREWS]
    assert sum(crews is not None for crews in alone) == 0
    assert learn(jobs_of(CREWS[0], 5)).crews is None


def test_a_named_tap_is_its_own_and_counts_once_for_its_kind() -> None:
    jobs = jobs_of(MadeCrew("", tap=15.0), 12)
    own = learn(jobs).own
    named, kind = own.source
    assert isinstance(named, OwnSource) and (named.name, kind.name) == ("yard tap", None)
    assert named.likely * 60e3 == pytest.approx(15.0, rel=0.1) and "12 jobs" in named.why and "1 job" in kind.why
    assert kind.high / kind.low > 2.0 * named.high / named.low


def test_what_is_learned_is_used_by_the_next_case_and_only_where_nothing_is_given() -> None:
    jobs = jobs_of(CREWS[0])
    own = read_own(own_text(learn(jobs).own).encode(), "own.toml")
    text = text_of(np.random.default_rng(9))
    case = read_text(text, own=own)
    mine = {each.path for each in case.assumptions if each.own}
    assert {"labour.visit.set_up", "labour.each.connect", "tap.open_flow", "pump.mid_curve", "trapped_air.amount",
            "rework.chance"} <= mine
    assert all("own.toml: " in each.why for each in case.assumptions if each.own)
    given = f'{text}\n[labour.visit]\nset_up = "35 min"\n'
    assert read_text(given, own=own).labour.visit.set_up == 2100.0
    assert all(isinstance(each, OwnTime) and each.crew == 1 for each in own.time)


# --- folders and commands ---------------------------------------------------------------------

@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The demo folder with all that may go wrong in one."""
    place = tmp_path / "jobs"
    shutil.copytree(CASES / "finished", place)
    shutil.copy(CASES / "kit.toml", place / "kit.toml")
    (place / "empty.toml").write_text("")
    (place / "noise.toml").write_bytes(bytes(range(256)))
    (place / "cut.toml").write_text((CASES / "cooler-shell.toml").read_text()[:200])
    (place / "odd\x1b[2J.toml").write_text("format = 1\nx = 3\n")
    (place / "photo.jpg").write_bytes(b"\xff\xd8")
    (place / "own.toml").write_text("not read here")
    (place / "within").mkdir()
    (place / "plain.toml").write_text((CASES / "bench-valve.toml").read_text())
    return place


def test_damaged_empty_and_foreign_files_are_named_and_skipped(folder: Path,
                                                               capsys: pytest.CaptureFixture[str]) -> None:
    read = read_folder(folder)
    assert len(read.cases) == 13 and {name for name, _ in read.skipped} == {
        "empty.toml", "noise.toml", "cut.toml", "odd\x1b[2J.toml"}
    assert read.others == ("kit.toml", "own.toml", "photo.jpg")
    for command in ("track", "learn"):
        assert main([command, str(folder)]) == 0
        said = capsys.readouterr()
        assert all(name in said.out for name in ("empty.toml", "noise.toml", "cut.toml:", "photo.jpg"))
        assert "\x1b" not in said.out and "13 cases read, 1 without a [took]." in said.out
        assert max(map(len, said.out.splitlines())) <= 80


def test_the_commands_answer_as_text_data_and_page(tmp_path: Path, capsys: pytest.CaptureFixture[str],
                                                   monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["track", "finished"]) == 0
    text = capsys.readouterr().out
    assert main(["track", "finished", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    whole = data["rows"][-1]
    assert f"{whole['inside']} of {whole['jobs']}" in text and data["jobs"] == 12
    assert all(sentence.split()[0] in text for sentence in data["sentences"])
    assert main(["track", "finished", "-o", "track.html"]) == 0
    page = (tmp_path / "track.html").read_text(encoding="utf-8")
    assert f"{whole['inside']} of {whole['jobs']}" in page and "<svg" in page and "script" not in page
    capsys.readouterr()
    case = CASES / "finished" / "2026-03-04-glycol-cooler.toml"
    assert main(["took", str(case)]) == 0 and main(["took", str(case), "--json"]) == 0
    out = capsys.readouterr().out
    assert "time on site" in out and json.loads(out.splitlines()[-1])["took"]["set_up_s"] > 0
    assert main(["took", "cooler-shell"]) == 0 and "Write a table [took]" in capsys.readouterr().out
    assert main(["track", str(tmp_path / "nowhere")]) == 1 and main(["learn", str(tmp_path)]) == 1
    assert "cannot be read" in capsys.readouterr().err


def test_learning_writes_a_file_and_answers_use_it(tmp_path: Path, capsys: pytest.CaptureFixture[str],
                                                   monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["learn", "finished", "-o", "own.toml"]) == 0
    assert main(["learn", "finished", "-o", "own.toml"]) == 0 and "Replaced" in capsys.readouterr().err
    (tmp_path / "next.toml").write_text(text_of(np.random.default_rng(0), "next"))
    main(["estimate", "next.toml"])
    with_own = capsys.readouterr().out
    main(["estimate", "next.toml", "--own", "none"])
    handbook = capsys.readouterr().out
    assert with_own.count("own figures of own.toml") > 8 and "own figures" not in handbook and with_own != handbook
    edited = (tmp_path / "own.toml").read_text().replace("crew = 1", "crew = 2", 1)
    (tmp_path / "own.toml").write_text(edited)
    assert main(["learn", "finished", "-o", "own.toml"]) == 1 and "edited by hand" in capsys.readouterr().err
    assert (tmp_path / "own.toml").read_text() == edited
    (tmp_path / "own.toml").write_text("format = 1\n[[time]]\nstage = 3\n")
    for command in ("estimate", "choices", "visit", "readings", "took", "check"):
        assert main([command, "next.toml"]) == 1, command
        said = capsys.readouterr()
        assert "own.toml:3: time.1.stage" in said.err + said.out
        assert main([command, "next.toml", "--own", "none"]) == 0, command
        capsys.readouterr()


ANSWERING = [("next.toml", "estimate"), ("next.toml", "page", "-o", "page.html"), ("next.toml", "choices"),
             ("gas.toml", "choices"), ("next.toml", "took"), ("gas.toml", "estimate"),
             ("next.toml", "readings", "--log", "cooler-shell-record"), ("next.toml", "readings"),
             ("next.toml", "visit")]
"""Each command that answers, behind the case that it is asked of."""


@pytest.mark.parametrize("asked", few(map(pytest.param, ANSWERING), 2))
def test_every_command_that_answers_names_each_own_figure_with_its_reason(
        asked: tuple[str, ...], tmp_path: Path, capsys: pytest.CaptureFixture[str],
        monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["learn", "finished", "-o", "own.toml"]) == 0
    shutil.copy(CASES / "finished" / "2026-03-04-glycol-cooler.toml", "next.toml")
    alone = (CASES / "gas-receiver.toml").read_text(encoding="utf-8") + "\n[labour]\ncrew = 1\n"  # as the jobs were
    Path("gas.toml").write_text(alone, encoding="utf-8")
    kit = tomllib.loads((CASES / "kit.toml").read_text(encoding="utf-8"))
    few_of_each = {key: each[:2] if isinstance(each, list) else each for key, each in kit.items()}
    Path("kit.toml").write_text(tomlkit.dumps(few_of_each), encoding="utf-8")
    file, command, *more = asked
    capsys.readouterr()

    def found(*words: str) -> str:
        assert main([command, file, *more, *words]) == 0
        if command == "page":
            return " ".join((tmp_path / "page.html").read_text(encoding="utf-8").split())
        return " ".join(capsys.readouterr().out.split())

    mine = {each.why for each in read_file(file, read_own_file("own.toml")).assumptions if each.own}
    assert len(mine) >= 3
    said = found()
    assert [why for why in mine if why.casefold() not in said.casefold()] == []
    assert "own figures of" not in found("--own", "none").casefold()
    if command not in ("page", "estimate"):
        told_as_data = json.loads(found("--json"))["own"]
        assert [why for why in mine if why not in f"{told_as_data}".replace("Own", "own")] == []


def test_the_track_names_its_own_figures(tmp_path: Path, capsys: pytest.CaptureFixture[str],
                                         monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["learn", "finished", "-o", "own.toml"]) == 0
    capsys.readouterr()
    for words, told in ((["--own", "own.toml"], True), ([], False)):
        assert main(["track", "finished", *words]) == 0
        assert ("Own figures of own.toml" in " ".join(capsys.readouterr().out.split())) == told


def test_a_pump_of_a_kit_has_its_own_figure_by_its_name_unless_the_kit_gives_it() -> None:
    pump = '[[pump]]\nname = "{}"\nkind = "air-driven"\nratio = 10\nstroke = "20 mL"\nflow_at_zero = "2.2 L/min"\n{}'
    hose = '[[hose]]\nname = "reel"\nlength = "20 m"\nbore = "12.7 mm"\n'
    kit_text = hose + pump.format("Ten to One", "") + pump.format("other", "") + pump.format("ten  to one ",
                                                                                            "mid_curve = 0.8\n")
    own = Own(pump=(OwnPump(name="ten to one", low=0.6, likely=0.62, high=0.64, why="9 jobs"),), name="own.toml")
    case, plain = read_text(text_of(np.random.default_rng(9)), own=own), read_kit_text(kit_text)
    kit = read_kit_text(kit_text, own=own)
    assert [pump.mid_curve for _, pump in kit.pump] == [0.62, 0.8, 0.8]  # type: ignore[union-attr]
    assert [(each.path, each.why) for each in kit.assumptions if each.own] == [
        ("pump.1.mid_curve", "own figures of own.toml: 9 jobs")]
    found, before = ({one.pump: one.pump_up_s for one in choices(case, each)} for each in (kit, plain))
    assert found["Ten to One"].likely > 1.15 * before["Ten to One"].likely
    assert all(found[name].likely == before[name].likely for name in ("other", "ten  to one "))


def test_a_file_is_replaced_only_while_nobody_has_edited_it(tmp_path: Path) -> None:
    place = tmp_path / "own.toml"
    assert write_learned(str(place), "a = 1\n")[1] and untouched(place.read_bytes())
    assert write_learned(str(place), "a = 2\n")[1] and place.read_text() == marked("a = 2\n")
    for other in (b"", b"a = 2\n", place.read_bytes().replace(b"2", b"3", 1), b"\xff\xfe"):
        place.write_bytes(other)
        assert not write_learned(str(place), "a = 4\n")[1] and place.read_bytes() == other
    assert not write_learned(str(tmp_path), "a")[1] and not write_learned("a\0b", "a")[1]
