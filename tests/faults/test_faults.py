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
from tests.faults import beside, commands, damage, judge, saves, starts, terminals
from tests.faults.second import objections
from tests.faults.texts import demos, given, table_of, with_value, written

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals and terminals of this kind are not there")

SAMPLE = 20
EACH = 61
"""Of the families that end by themselves, every so manyeth file."""


@pytest.mark.parametrize("family", damage.FAMILIES)
def test_damaged_files(family: str) -> None:
    make, number = damage.FAMILIES[family]
    files = islice(make(7), SAMPLE) if number < 10**9 else islice(make(7), 0, SAMPLE * EACH, EACH)
    seen = [(data, judge.judge(data)) for data in files]
    assert len(seen) >= 10
    assert not [(data, verdict.faults) for data, verdict in seen if verdict.faults]


FEW = {"kits damaged and hostile": (0, None, 41), "hostile text typed into the form": (0, None, 61),
       "recorders' files damaged, odd, hostile": (0, None, 31), "pages of damaged and absurd cases": (4, 8, 1),
       "visits with a damaged or absurd case": (4, 6, 1)}
"""Which of the trials of each kind: pages and visits take too long for more than a few."""


@pytest.mark.parametrize("name", beside.KINDS)
def test_what_stands_beside_a_case(name: str) -> None:
    kind = beside.KINDS[name]
    seen = [(trial, kind.one(trial)) for trial in islice(kind.make(7), *FEW[name])]
    assert any(verdict.read for _, verdict in seen)
    assert not [(trial, verdict.faults) for trial, verdict in seen if verdict.faults]


ABSURD: dict[str, dict[str, object]] = {
    "a hose of a kilometre": {"fill.hose.1.length": "1 km"},
    "a hose of a hundred kilometres": {"fill.hose.1.length": "100 km"},
    "no hose to speak of": {"fill.hose.1.length": "0 m", "fill.hose.1.couplings": 0},
    "a bore of half a millimetre": {"fill.hose.1.bore": "0.5 mm", "fill.hose.1.coupling_hole": "0.2 mm",
                                    "fill.hose.1.tail_bore": "0.4 mm", "fill.hose.1.roughness": "0 mm"},
    "a vent of a tenth": {"vent.bore": "0.1 mm"},
    "10,000 m3": {"vessel": {"shape": "other", "volume": "10000 m3", "height": "20 m"}},
    "a thimble": {"vessel": {"shape": "other", "volume": "0.1 mL"}},
    "2500 bar": {"test.pressure": "2500 bar", "pump.ratio": 1000, "pump.regulator_pressure": "3 bar",
                 "vessel.wall": "300 mm"},
    "almost no pressure": {"test.pressure": "1 mbar", "gauge.height": "2.5 m"},
    "water at freezing": {"water.temperature": "0.01 degC"},
    "water at 60": {"water.temperature": "60 degC"},
    "50 below": {"surroundings": {"temperature": "-50 degC"}},
    "6000 m up": {"surroundings": {"altitude": "6000 m"}},
    "a ratio of 1000": {"pump.ratio": 1000},
    "a ratio of a half": {"pump.ratio": 0.5},
    "ten thousand pieces": {"vessel.count": 10000, "vessel.at_once": 1000},
    "95 % air": {"trapped_air.amount": "95 %"},
    "no air": {"trapped_air.amount": "0 %"},
    "a drop at each stroke": {"pump.stroke": "0.01 mL"},
    "a tap above a mountain": {"tap.height": "500 m"},
    "a tap in a mine": {"tap.height": "-500 m"},
    "a drip of a tap": {"tap.open_flow": "0.01 L/min"},
    "a leak like a river": {"test.assumed_leak": "10000 L/min"},
    "a rise limit of a snail": {"test.rise_limit": "0.0006 bar/min"},
    "a hold of four months": {"test.hold": "115 d"},
}


@pytest.mark.parametrize("name", ABSURD)
def test_absurd_but_legal(name: str) -> None:
    """It reads, and what it says is sound: numbers, or a status and a caution."""
    table = table_of(demos()["cooler-shell"])
    for path, value in ABSURD[name].items():
        table = with_value(table, path, value)
    verdict = judge.judge(written(table), ranged=True)
    assert verdict.read and not verdict.faults, verdict.faults


LONG: dict[str, tuple[str, dict[str, object]]] = {
    "twenty containers": ("full", {}), "a thimble of a bottle": ("gas-receiver-short", {"gas_supply.volume": "0.1 L"}),
    "a drip of gas": ("gas-receiver-short", {"gas_line.kv": 1e-5}),
    "a needle valve hardly open": ("gas-receiver-short", {"gas_line.kv": 2.5e-4})}


@pytest.mark.parametrize("name", LONG)
def test_what_takes_many_steps_is_bounded(name: str) -> None:
    """Low, likely and high within the time that any file may take; a rise that is given up says so."""
    demo, values = LONG[name]
    table = table_of(demos()[demo])
    for path, value in values.items():
        table = with_value(table, path, value)
    verdict = judge.judge(written(table), ranged=True)
    assert verdict.read and not verdict.faults, verdict.faults


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

@pytest.mark.parametrize("name,walk", [walk for walk in saves.walks() if "kill" in walk[0]
                                       or any(word in walk[0] for word in ("28", "Reached", "MemoryError"))])
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


QUICK = ("closed pipe: JSON", "closed pipe: readings", "pipe closed early: estimate", "full device: visit",
         "closed streams (1,): estimate", "closed streams (0, 1, 2): nothing", "C without UTF-8: estimate",
         "warnings as errors: estimate", "no HOME: estimate", "a folder that is gone",
         "interrupted", "file: a pipe", "file: a device without end", "file: a hostile name",
         "written with byte order mark", "written with CRLF", "written with decimal commas")


@pytest.mark.parametrize("name", QUICK)
def test_the_command(name: str, tmp_path: Path) -> None:
    assert not commands.TRIALS[name](tmp_path)


SHORT = ("several signals one after the other", "resized to nothing and back", "started at 1 x 1",
         "a megabyte pasted into a field", "NO_COLOR", "TERM=dumb", "state folder cannot be made")


@pytest.mark.parametrize("name", SHORT)
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
