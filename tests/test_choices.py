"""Which hose and which pump: held against running the changed case, with every reason why one cannot."""

from __future__ import annotations

import json
import re
import tomllib
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tomlkit

from fillcalc.case.assume import typed_alone
from fillcalc.case.kit import read_kit
from fillcalc.case.read import read_text
from fillcalc.case.records import AirDrivenPump, AirSupply, Assumption, Case, Kit, ReliefValve
from fillcalc.estimation.answers import Estimate, Span, Visit
from fillcalc.estimation.estimate import estimate
from fillcalc.formats.choices_text import choices_data, choices_report
from fillcalc.present.choices import left_out_sentence, step_sentences
from fillcalc.questions.choices.ranking import MOST_IN_PAIRS, MOST_LINES, Choice, choices, steps_up
from fillcalc.questions.choices.sought import Sought, sought
from fillcalc.questions.likely import likely_span
from fillcalc.questions.ranges import with_ranges
from fillcalc.tree import at, put
from tests.families import few, thorough

CASES = Path(__file__).parents[1] / "cases"
KIT = (CASES / "kit.toml").read_text(encoding="utf-8")
BAR = 1e5
FEW = 512
"""Samples where no figure is compared with those of all."""


@cache
def demo(name: str) -> Case:
    return read_text((CASES / f"{name}.toml").read_text(encoding="utf-8"), name)


@cache
def kit(text: str = KIT) -> Kit:
    return read_kit(text.encode(), "kit")


@cache
def ranked(name: str) -> tuple[Choice, ...]:
    return choices(demo(name), kit(), draws=FEW)


def certain(case: Case) -> Case:
    return replace(case, ranges={}, rework=replace(case.rework, chance=0.0))


def the(found: tuple[Choice, ...], hose: str, pump: str) -> Choice:
    """The first, and so the best, of these two."""
    return next(one for one in found if one.hose == hose and one.pump == pump)


def changed(name: str, one: Choice) -> Case:
    """The case's text with the kit's hoses and pump written in its place, read afresh."""
    doc = tomllib.loads((CASES / f"{name}.toml").read_text(encoding="utf-8"))
    taken = tomllib.loads(KIT)
    hoses = {hose.pop("name"): hose for hose in taken["hose"]}
    pumps = {pump.pop("name"): pump for pump in taken["pump"]}
    doc.setdefault("fill", {})["hose"] = [hoses[each] for each in one.hose.split(" + ")]
    doc["fill"].pop("measured_flow", None)  # it was measured at another hose
    doc["pump"] = pumps[one.pump]
    if np.isfinite(one.regulator_gauge_pa):
        doc["pump"]["regulator_pressure"] = f"{one.regulator_gauge_pa / BAR:.6f} bar"
    doc["ranges"] = {path: asked for path, asked in doc.get("ranges", {}).items()
                     if not path.startswith(("fill.hose", "pump."))}
    return read_text(tomlkit.dumps(doc), "changed")


def ends(one: Any) -> list[float]:
    return [float(one.low), float(one.likely), float(one.high)]


# --- against the changed case -------------------------------------------------------------------

PICKED = [("cooler-shell", "half-inch, 25 m, quick couplings", "ten to one"),
          ("cooler-shell", "three-quarter, 25 m, full bore + lay-flat, 30 m", "bench hand pump"),
          ("tall-tank", "lay-flat, 30 m", "bench hand pump"),
          ("crest-line", "three-quarter, 25 m, full bore", "ten to one"),
          ("bench-valve", "half-inch, 25 m, quick couplings", "thirty to one")]


@cache
def _both(name: str, hose: str, pump: str) -> tuple[Choice, Estimate]:
    one = the(ranked(name), hose, pump)
    return one, with_ranges(changed(name, one))


@pytest.mark.parametrize(("name", "hose", "pump"), few(PICKED, 1))
def test_as_written_is_the_estimate_of_the_changed_case(name: str, hose: str, pump: str) -> None:
    one, found = _both(name, hose, pump)
    assert found.visit is not None
    for ours, theirs in ((one.fill_s, found.fill.time_s), (one.pump_up_s, found.pressurise.time_s),
                         (one.visit_s, found.visit.at_likely_values_s)):
        assert float(ours.at_likely_values) == pytest.approx(float(theirs), rel=1e-6)


@pytest.mark.parametrize(("name", "hose", "pump"), few(PICKED, 1))
def test_what_is_told_of_a_choice_is_what_its_case_tells(name: str, hose: str, pump: str) -> None:
    """Low, likely and high of each figure, of the best, of one picked by hand and of the last that cannot do it; the
    setting is written to six decimals in its case."""
    found = all_samples(name)
    for one in (the(found, hose, pump), found[0], found[-1]):
        theirs = with_ranges(changed(name, one))
        assert theirs.visit is not None and theirs.days is not None
        spreads = {spread.path: ends(spread) for spread in theirs.spreads}
        never = [float("nan")] * 3
        assert ends(one.visit_s) == pytest.approx(ends(told_of(theirs.visit)), rel=1e-6, nan_ok=True)
        assert ends(one.fill_s) == pytest.approx(spreads.get("fill.time_s", never), rel=1e-6, nan_ok=True)
        assert ends(one.pump_up_s) == pytest.approx(spreads.get("pressurise.time_s", never), rel=1e-6, nan_ok=True)
        assert one.never_share == theirs.visit.never_share
        assert one.days == theirs.days.likely or (np.isnan(one.days) and np.isnan(theirs.days.likely))


@cache
def all_samples(name: str) -> tuple[Choice, ...]:
    return choices(demo(name), kit())


def told_of(visit: Visit) -> Span:
    return Span(visit.at_likely_values_s, visit.low_s, visit.likely_s, visit.high_s)


@pytest.mark.parametrize("name", few(["cooler-shell", "tall-tank", "bench-valve"], 1))
def test_without_ranges_all_is_exact(name: str) -> None:
    """Nothing drawn, nothing assumed, no pump known by a count of strokes: each choice is one estimate."""
    sure = Kit(kit().hose, tuple(one for one in kit().pump if not typed_alone(one[1])))
    assert sure.pump
    for one in choices(certain(demo(name)), sure, draws=FEW)[::7]:
        plain = estimate(certain(changed(name, one)))
        assert ends(one.fill_s) == pytest.approx([float(plain.fill.time_s[0])] * 3, rel=1e-9)
        assert ends(one.pump_up_s) == pytest.approx([float(plain.pressurise.time_s[0])] * 3, rel=1e-6, nan_ok=True)


# --- the ranking --------------------------------------------------------------------------------

@pytest.mark.parametrize("name", ["cooler-shell", "tall-tank", "bench-valve", "ammonia-line-us"])
def test_the_best_comes_first_and_what_cannot_last(name: str) -> None:
    found = ranked(name)
    able = [one for one in found if one.can]
    assert able and found[:len(able)] == tuple(able)
    listed = [likely_span(one.visit_s, demo(name).units) for one in able]
    assert [(float(one.likely), float(one.high)) for one in listed] == sorted((float(one.likely), float(one.high))
                                                                              for one in listed)
    assert all(one.why for one in found if not one.can)


def test_of_those_that_read_the_same_the_smaller_hose_comes_first() -> None:
    """At a bench a wide hose fills seconds sooner: nobody carries a fire hose for that."""
    case, bores = demo("bench-valve"), {hose.name: float(hose.bore) for hose in kit().hose}
    same = [one for one in ranked("bench-valve") if one.can and one.hose in bores]
    assert len({likely_span(one.visit_s, case.units).likely for one in same}) == 1
    assert [bores[one.hose] for one in same] == sorted(bores.values())
    assert step_sentences(same, case.units) == ["No other hose saves any time to speak of."]


def test_every_hose_every_two_and_every_pump_are_tried() -> None:
    hoses, pumps = len(kit().hose), len(kit().pump)
    found = ranked("cooler-shell")
    assert len({one.hose for one in found}) == hoses + hoses * (hoses - 1) // 2
    assert {one.pump for one in found} == {name for name, _ in kit().pump}
    assert len({(one.hose, one.pump) for one in found}) == len({one.hose for one in found}) * pumps
    assert {one.name for one in kit().hose} < {one.hose for one in found}


@thorough
def test_of_a_large_kit_the_quickest_are_worked_out_and_the_others_counted() -> None:
    many = replace(kit(), hose=tuple(replace(kit().hose[place % 4], name=f"hose {place}")
                                     for place in range(MOST_IN_PAIRS + 1)), assumptions=())
    found = choices(demo("cooler-shell"), many, draws=FEW)
    assert len({one.hose_places for one in found}) == MOST_LINES
    half_inch = {place for place, hose in enumerate(many.hose, 1) if hose.bore == min(each.bore for each in many.hose)}
    left, = {*range(1, MOST_IN_PAIRS + 2)} - {place for one in found for place in one.hose_places}
    assert left in half_inch
    assert left_out_sentence(many, found).startswith("1 more lines")


def test_twins_in_the_kit_have_the_same_figures() -> None:
    twin = replace(kit(), hose=(kit().hose[0], replace(kit().hose[0], name="twin")), pump=kit().pump[:1])
    found = choices(demo("cooler-shell"), twin, draws=FEW)
    one, other = (the(found, name, "ten to one") for name in (kit().hose[0].name, "twin"))
    for part in ("fill_s", "pump_up_s", "visit_s"):
        mine, twins = getattr(one, part), getattr(other, part)
        assert (mine.at_likely_values, *ends(mine)) == (twins.at_likely_values, *ends(twins))


def test_the_other_pumps_of_a_kit_do_not_move_a_hose() -> None:
    alone = choices(demo("cooler-shell"), replace(kit(), pump=kit().pump[:1]), draws=FEW)
    for one in alone:
        assert ends(the(ranked("cooler-shell"), one.hose, one.pump).fill_s) == pytest.approx(ends(one.fill_s), rel=0.01)


def test_what_each_step_up_buys_adds_up() -> None:
    found = ranked("cooler-shell")
    steps = steps_up(found)
    able = [one for one in found if one.can and one.pump == found[0].pump
            and one.regulator_gauge_pa == found[0].regulator_gauge_pa]
    assert {one.hose for one, _ in steps} == {one.hose for one in able}
    assert all(saved >= 0.0 for _, saved in steps)
    times = [float(one.visit_s.likely) for one in able]
    assert sum(saved for _, saved in steps) == pytest.approx(max(times) - min(times))
    assert steps_up(()) == []


@pytest.mark.parametrize("name", few(["cooler-shell", "crest-line", "valve-block"], 1))
def test_each_pump_stands_at_the_one_setting_that_its_own_estimate_advises(name: str) -> None:
    settings: dict[str, set[float]] = {}
    for one in ranked(name):
        settings.setdefault(one.pump, set()).add(float(one.regulator_gauge_pa))
    assert all(len(each) == 1 for each in settings.values())
    hose = ranked(name)[0].hose
    for pump in settings:
        one = the(ranked(name), hose, pump)
        found = estimate(changed(name, one)).regulator
        if found is not None and np.isfinite(found.advised_gauge_pa):
            assert float(one.regulator_gauge_pa) == pytest.approx(float(found.advised_gauge_pa), rel=1e-9)
            assert float(one.regulator_gauge_pa) / 0.1 / BAR == pytest.approx(
                round(float(one.regulator_gauge_pa) / 0.1 / BAR), abs=1e-6)


def test_a_safe_setting_cannot_pass_the_limit_and_gets_there_at_high_friction() -> None:
    limit, test = 33.0 * BAR, 24.0 * BAR
    pumps = dict(kit().pump)
    safe = [one for one in ranked("cooler-shell") if one.can and np.isfinite(one.regulator_gauge_pa)]
    assert safe
    for one in safe:
        pump = pumps[one.pump]
        assert isinstance(pump, AirDrivenPump)
        assert float(one.reach_gauge_pa) <= limit * (1.0 + 1e-9)
        assert float(one.reach_gauge_pa) == pytest.approx((float(one.regulator_gauge_pa) + 0.1 * BAR) * pump.ratio)
        assert float(one.regulator_gauge_pa) * float(pump.ratio) * 0.9 >= test * (1.0 - 1e-9)


# --- why one cannot -----------------------------------------------------------------------------

HOSE = '[[hose]]\nname = "h"\nlength = "25 m"\nbore = "19 mm"\n'
TEN = '[[pump]]\nname = "p"\nkind = "air-driven"\nratio = 10\nstroke = "60 mL"\nflow_at_zero = "4.1 L/min"\n'
HAND = '[[pump]]\nname = "p"\nkind = "hand"\n'
ELECTRIC = '[[pump]]\nname = "p"\nkind = "electric"\nflow = "6 L/min"\n'

WHY: dict[str, tuple[str, dict[str, Any], str]] = {
    "nothing against it": (HOSE + HAND, {}, ""),
    "hose rated below the tap": (HOSE + 'rating = "3 bar"\n' + HAND, {}, "h is built for 3 bar"),
    "hose rated above the tap": (HOSE + 'rating = "4 bar"\n' + HAND, {}, ""),
    "pump rated below the test": (HOSE + HAND + 'rating = "20 bar"\n', {}, "built for 20 bar only"),
    "pump rated above the test": (HOSE + HAND + 'rating = "25 bar"\n', {}, ""),
    "limit below the test": (HOSE + HAND, {"vessel.never_above": 23 * BAR}, "23 bar, below the test pressure"),
    "stall": (HOSE + TEN.replace("10", "4"), {}, "stalls at 20.9 bar"),
    "a stall that was seen": (HOSE + TEN + 'stall = ["5.5 bar", "49.5 bar"]\n', {}, ""),
    "a stall seen that leaves no window": (HOSE + TEN + 'stall = ["5.5 bar", "40 bar"]\n', {}, "no setting is safe"),
    "a stall seen below the test": (HOSE + TEN + 'stall = ["5.5 bar", "23.5 bar"]\n', {}, "stalls at 23.5 bar"),
    "two points of its curve": (HOSE + TEN.partition("flow")[0] + 'points = [["0 bar", "4 L/min"], ["30 bar", '
                                '"2 L/min"]]\n', {}, ""),
    "no window": (HOSE + TEN, {"vessel.never_above": 25 * BAR}, "no setting is safe"),
    "a window that the lock-up closes": (HOSE + TEN, {"vessel.never_above": 32 * BAR}, "no setting is safe"),
    "a window": (HOSE + TEN + 'lock_up = "0.1 bar"\n', {"vessel.never_above": 32 * BAR}, ""),
    "a relief valve that guards": (HOSE + TEN, {}, ""),
    "one that passes too little": (HOSE + TEN, {"relief_valve.capacity": 1e-6}, "no setting is safe"),
    "relief above the limit": (HOSE + ELECTRIC + 'relief = "34 bar"\n', {}, "can reach 34 bar, above the vessel"),
    "relief below the limit": (HOSE + ELECTRIC + 'relief = "28 bar"\n', {}, ""),
    "relief below the test": (HOSE + ELECTRIC + 'relief = "20 bar"\n', {}, "stalls at 20 bar"),
    "leak": (HOSE + HAND, {"test.assumed_leak": 0.01}, "the leak takes all"),
    "tap too low": (HOSE + HAND, {"tap.pressure": 0.1 * BAR}, "cannot lift the water"),
    "vent shut": (HOSE + HAND, {"vent.shut": True}, "the air cannot leave"),
}


@pytest.mark.parametrize("what", WHY)
def test_why_one_cannot_is_said(what: str) -> None:
    text, puts, said = WHY[what]
    case = certain(demo("cooler-shell"))
    for path, value in puts.items():
        case = put(case, path, value)
    found = choices(case, kit(text), draws=FEW)
    if said:
        assert found[0].can is False
        assert all(said in one.why for one in found), found[0].why
    else:
        assert found[0].can is True, found[0].why


def test_a_setting_spares_the_relief_valve_where_that_still_gets_there() -> None:
    case = put(certain(demo("cooler-shell")), "vessel.never_above", 40 * BAR)
    for opens, setting in ((31.0, 2.9), (33.0, 3.1), (25.0, 2.8)):
        lock_up = HOSE + TEN + 'lock_up = "0.1 bar"\n'
        found = choices(put(case, "relief_valve.set", opens * BAR), kit(lock_up), draws=FEW)
        assert {round(float(one.regulator_gauge_pa) / BAR, 6) for one in found if one.can} == {setting}
        assert all(("can lift the relief valve" in one.why) == (opens == 25.0) for one in found)


def test_where_the_vessel_s_limit_is_not_known_no_more_than_is_needed_is_advised() -> None:
    case = put(certain(demo("cooler-shell")), "vessel.never_above", None)
    found = choices(case, kit(HOSE + TEN), draws=FEW)
    assert {round(float(one.regulator_gauge_pa) / BAR, 3) for one in found} == {2.8}
    assert found[0].can


def test_without_a_limit_it_is_told_what_a_pump_can_reach_and_the_far_reaching_come_last() -> None:
    case = put(certain(demo("cooler-shell")), "vessel.never_above", None)
    scale = Assumption("gauge.full_scale", "48 bar", "nobody gave it")
    case = replace(case, test_hose=None, relief_valve=None, assumptions=(*case.assumptions, scale))
    found = choices(case, kit(), draws=FEW)
    assert all(one.can for one in found)
    for one in found:
        times = float(one.reach_gauge_pa) / (24.0 * BAR)
        assert not np.isfinite(times) or f"{times:.2g} times the test pressure" in one.why
        assert ("does not shift" in one.why) == (one.pump in ("thirty to one", "hundred to one"))
    far = [1.5 < float(one.reach_gauge_pa) / (24.0 * BAR) < np.inf for one in found]
    assert far == sorted(far) and True in far and False in far
    quickest = min(found, key=lambda one: float(one.visit_s.likely))
    assert quickest.pump == "electric, 6 L/min" and far[found.index(quickest)]
    text = " ".join(choices_report(case, kit(), found, sought(case)).split())
    assert "The vessel's limit was not given" in text and "limit?" in text
    assert "The vessel's limit was not given" not in choices_report(demo("cooler-shell"), kit(), found,
                                                                    sought(demo("cooler-shell")))
    with_relief = choices(replace(case, relief_valve=ReliefValve(set=28 * BAR)), kit(), draws=FEW)
    assert with_relief[0].pump == "electric, 6 L/min"


def test_a_compressor_that_sets_the_pace_is_told() -> None:
    case = certain(demo("cooler-shell"))
    starved = replace(case, air_supply=AirSupply(flow=10e-3 / 60))
    assert "the compressor sets the pace" in choices(starved, kit(HOSE + TEN), draws=FEW)[0].why
    assert "compressor" not in choices(case, kit(HOSE + TEN), draws=FEW)[0].why


def test_an_empty_kit_gives_nothing() -> None:
    for lacking in (replace(kit(), hose=()), replace(kit(), pump=())):
        assert choices(demo("cooler-shell"), lacking) == ()
        assert "The kit has no" in choices_report(demo("cooler-shell"), lacking, (), sought(demo("cooler-shell")))


# --- the other way round ------------------------------------------------------------------------

def _middle(case: Case, path: str, place: str = "likely") -> float:
    row = next(row for row in with_ranges(case).spreads if row.path == path)
    return float(getattr(row, place))


@pytest.mark.parametrize(("leaf", "place"), few([("smallest_bore_surely_m", "high"), ("smallest_bore_m", "likely")], 1))
def test_the_smallest_bore_just_fills_within_the_time(leaf: str, place: str) -> None:
    case = replace(demo("cooler-shell"), ranges={
        path: asked for path, asked in demo("cooler-shell").ranges.items() if not path.startswith("fill.hose")})
    found = getattr(sought(case, fill_within=1700.0), leaf)
    hose = case.fill.hose[0]
    scale = found / hose.bore
    wider = replace(hose, bore=found, coupling_hole=hose.coupling_hole * scale, tail_bore=hose.tail_bore * scale)
    assert _middle(replace(case, fill=replace(case.fill, hose=(wider,))), "fill.time_s", place) == \
        pytest.approx(1700.0, rel=5e-3)


def test_the_most_air_is_that_of_a_straight_line() -> None:
    """Without ranges the time of the pump-up is a straight line over the air: two estimates give it."""
    case = replace(certain(demo("cooler-shell")), air_supply=None)
    times = [float(estimate(put(case, "trapped_air.amount", air)).pressurise.time_s[0]) for air in (0.001, 0.011)]
    for within in (times[0] + 5.0, times[1] + 200.0):
        exact = 0.001 + 0.01 * (within - times[0]) / (times[1] - times[0])
        assert sought(case, pump_within=within).most_air_share == pytest.approx(exact, rel=3e-3)
    assert sought(case, pump_within=0.1).most_air_share == 0.0


@pytest.mark.parametrize(("leaf", "place"), few([("most_air_surely_share", "high"), ("most_air_share", "likely")], 1))
def test_the_most_air_just_keeps_within_the_time(leaf: str, place: str) -> None:
    case = demo("ammonia-line-us")
    case = replace(case, ranges={path: asked for path, asked in case.ranges.items() if path != "trapped_air.amount"},
                   families={**case.families, "trapped_air.amount": "share"})
    within = 1.5 * float(with_ranges(case).pressurise.time_s)
    air = put(case, "trapped_air.amount", getattr(sought(case, pump_within=within), leaf))
    assert _middle(air, "pressurise.time_s", place) == pytest.approx(within, rel=1e-2)


@pytest.mark.parametrize("name", ["cooler-shell", "ammonia-line-us"])
def test_the_lowest_drive_just_gets_there(name: str) -> None:
    case = certain(demo(name))
    asked = demo(name).ranges.get("pump.friction")
    friction = at(case, "pump.friction") if asked is None else asked.high
    lowest = float(sought(demo(name)).lowest_reaching_gauge_pa)
    for part, reached in ((0.999, False), (1.001, True)):
        at_it = put(put(case, "pump.friction", friction), "pump.regulator_pressure", part * lowest)
        assert bool(estimate(at_it).pressurise.reached[0]) is reached


def test_the_lowest_drive_keeps_within_the_time() -> None:
    case = certain(demo("ammonia-line-us"))
    own = float(estimate(case).pressurise.time_s[0])
    drive = float(sought(case, pump_within=1.3 * own).lowest_drive_gauge_pa)
    assert drive < float(at(case, "pump.regulator_pressure"))
    again = estimate(put(case, "pump.regulator_pressure", drive)).pressurise.time_s[0]
    assert again == pytest.approx(1.3 * own, rel=5e-3)


@pytest.mark.parametrize("name", few(["crest-line", "valve-block"], 1))
def test_a_pump_known_by_its_points_or_its_stall_has_a_lowest_drive_too(name: str) -> None:
    case = certain(demo(name))
    own = at(case, "pump.regulator_pressure") or at(case, "pump.drive_pressure")
    within = 1.2 * float(estimate(case).pressurise.time_s[0])
    found = sought(case, pump_within=within)
    again = estimate(put(case, "pump.regulator_pressure", found.lowest_drive_gauge_pa)).pressurise
    assert found.lowest_drive_gauge_pa <= own
    assert float(again.time_s[0]) <= within * 1.005
    below = estimate(put(case, "pump.regulator_pressure", 0.98 * found.lowest_drive_gauge_pa)).pressurise
    assert not float(below.time_s[0]) <= within


def test_nothing_is_asked_and_nothing_is_sought() -> None:
    found = sought(demo("cooler-shell"))
    assert np.isnan([found.smallest_bore_m, found.most_air_share, found.lowest_drive_gauge_pa]).all()
    assert sought(demo("bench-valve")).lowest_reaching_gauge_pa != sought(demo("bench-valve")).lowest_reaching_gauge_pa


# --- how it is told -----------------------------------------------------------------------------

@cache
def asked_for(name: str) -> Sought:
    return sought(demo(name), 1800.0, 120.0)


@pytest.mark.parametrize("units", few(["metric", "us"], 1))
@pytest.mark.parametrize("name", few(["cooler-shell", "crest-line", "tall-tank", "bench-valve", "ammonia-line-us"], 1))
def test_the_report_fits_80_columns_and_the_data_is_json(name: str, units: str) -> None:
    case, found = demo(name), ranked(name) if units == "metric" else choices(demo(name), kit(), units, draws=FEW)
    asked = asked_for(name)
    text = choices_report(case, kit(), found, asked, units)
    assert text.startswith("Estimate, not a test record\n")
    assert max(map(len, text.splitlines())) <= 80
    assert "nan" not in text.lower().split()
    assert found[0].hose[:10] in text and "Safety" in text
    of_kit = text.partition("Assumed for the kit")[2].partition("Safety")[0]
    assert "coupling factor" in of_kit and not re.search(r"heat passed|difference|change over|at once", of_kit)
    assert units == "metric" or not re.search(r"[0-9] (bar|mm|mL|L|J)\b", of_kit)
    assert ("days" in text) == (len({one.days for one in found if one.can}) > 1)
    data = json.loads(json.dumps(choices_data(case, kit(), found, asked, units), allow_nan=False))
    assert [row["hose"] for row in data["choices"]] == [one.hose for one in found]
    first = data["choices"][0]
    assert {"hose", "pump", "regulator_gauge_pa", "can", "why", "fill_s", "pump_up_s", "visit_s"} <= set(first)
    assert {"low", "likely", "high"} <= set(first["visit_s"])


@pytest.mark.parametrize("name", ["crest-line", "cooler-shell"])
def test_a_name_takes_two_lines_at_most_with_and_without_days(name: str) -> None:
    case = demo(name)
    lines = choices_report(case, kit(), ranked(name), sought(case)).splitlines()
    start = lines.index("Ranked by the likely time on site, then by its high")
    rows = lines[start + 3:lines.index("", start)]
    able = {(one.hose, one.pump) for one in ranked(name) if one.can and " + " not in one.hose}
    figures = [row for row in rows if re.search(r" h [0-9]+ min", row)]
    assert len(figures) == len(able) and len(rows) <= 2 * len(able) + 1


@thorough
def test_names_stay_as_they_are_and_a_line_that_may_not_reach_is_marked() -> None:
    case = demo("ammonia-line-us")
    text = choices_report(case, kit(), choices(case, kit(), "us", draws=FEW), sought(case), "us")
    assert "full bore" in text and "full ID" not in text
    assert re.search(r"lay-flat, 30 m \* +bench hand pump ", text)
    assert "regulator step = 2 psi" in text and "2 psi" in json.dumps(choices_data(case, kit(), (), sought(case), "us"))
    assert "* shorter than the line of the case" in text
    metric = choices_report(demo("cooler-shell"), kit(), ranked("cooler-shell"), sought(demo("cooler-shell")))
    assert " * " not in metric
