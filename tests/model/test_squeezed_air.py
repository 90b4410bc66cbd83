"""Air that was squeezed quickly, counts that began late, and readings of a hold without a count."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fillcalc.case import records
from fillcalc.case.records import Case, Reading
from fillcalc.formats.readings_text import readings_report
from fillcalc.questions.readings.air_fit import COVER, counted, rows_of, solve, vessel_of
from fillcalc.questions.readings.answer import WHY, ReadingsAnswer, readings
from tests.families import few, thorough
from tests.model.test_readings import APART, COARSE, FINE, STROKE, _answer, _case, _exact, _seen, _truth
from tests.model.twin_cases import BAR, SHELL, shell
from tests.twin.closed import ClosedVessel

KINDS = ("shell", "held pipe", "rigid block")
TRIES = 100


def _quick(noted: list[Reading], apart: float | None = None) -> list[Reading]:
    """The same readings without times, or with so many seconds between them."""
    ordered = sorted(noted, key=lambda one: one.strokes or one.water)
    return [replace(one, time=None if apart is None else apart * place) for place, one in enumerate(ordered)]


def _words(case: Case, answer: ReadingsAnswer) -> str:
    return " ".join(readings_report(case, answer).split())


@thorough
@pytest.mark.parametrize("exponent", few([1.2, 1.0, 1.4], 1))
def test_the_truth_lies_between_the_ends_however_quickly_the_air_was_squeezed(exponent: float) -> None:
    rng, inside = np.random.default_rng(17), 0
    for place in range(TRIES):
        case = _case(KINDS[place // 3 % 3], COARSE if place // 9 % 2 else FINE)
        air = _truth(case, 0.0).volume * float(np.exp(rng.uniform(np.log(1e-3), np.log(0.03))))
        truth = replace(_truth(case, air), exponent=exponent)
        gauges = ((2.0, 5.0, 10.0), (1.5, 3.0, 6.0, 9.0, 14.0), (3.0, 9.0))[place % 3]
        found = _answer(case, _quick(_seen(case, truth, gauges, rng), 10.0 if place % 2 else None)).trapped_air_m3
        inside += found.low <= truth.air <= found.high
    assert inside >= 0.95 * TRIES


@pytest.mark.parametrize("exponent", [1.2, 1.4])
@pytest.mark.parametrize("start", [0.0, 3.0])
def test_the_fit_at_the_true_exponent_gives_the_air_itself(exponent: float, start: float) -> None:
    """Against air that CoolProp squeezes; what is left is the warmth of an ideal gas: its Z changes by a hundredth."""
    case = shell(test=replace(SHELL.test, start_pressure=start * BAR))
    truth = replace(_truth(case, 0.004), exponent=exponent, squeezed_from=start * BAR)
    noted = [Reading(pressure=at * BAR, water=0.003 + truth.water(truth.full, at * BAR))
             for at in (4.0, 7.0, 12.0, 20.0)]
    vessel = vessel_of(replace(case, reading=tuple(noted)))
    rows = rows_of(vessel, noted)
    assert rows is not None and not rows.cool.any()
    assert solve(vessel, rows, exponent).air == pytest.approx(truth.air, rel=1e-2)
    assert abs(solve(vessel, rows, 1.0).air / truth.air - 1.0) > 0.02


@pytest.mark.parametrize("kind", KINDS)
def test_readings_minutes_apart_are_isothermal_and_no_wider_than_that(kind: str) -> None:
    case = _case(kind)
    slow = _seen(case, _truth(case, 0.004 * _truth(case, 0.0).volume), (2.0, 5.0, 10.0), np.random.default_rng(3))
    answer, quick = _answer(case, slow), _answer(case, _quick(slow, 20.0))
    vessel = vessel_of(case)
    rows = rows_of(vessel, slow)
    assert rows is not None
    fit = solve(vessel, rows)
    found = answer.trapped_air_m3
    assert (answer.exponent.low, answer.exponent.high, answer.cooled) == (1.0, 1.0, True)
    assert found.high - found.low == pytest.approx(2.0 * COVER * fit.error * fit.scatter, rel=1e-9)
    assert quick.trapped_air_m3.high - quick.trapped_air_m3.low > found.high - found.low
    assert (quick.exponent.low, quick.cooled) == (1.0, False) and quick.exponent.high > 1.0
    assert "air just squeezed" in _words(case, quick).lower() and "squeezed" not in _words(case, answer)


def test_a_minute_counts_from_when_the_pump_may_have_stopped() -> None:
    """The pump needs a quarter of a minute at the least for the water between the second and the third reading."""
    case = _case("shell")
    one, two, three = _exact(case, 0.01, (2.0, 4.0, 9.0))
    pumping = (three.water - two.water) / (4.1e-3 / 60)
    assert pumping > 15.0
    apart = 60.0 + pumping
    for wait, cooled in ((apart, True), (0.5 * apart, False), (pumping + 40.0, False)):
        noted = [replace(one, time=0.0), replace(two, time=APART), replace(three, time=APART + wait)]
        assert _answer(case, noted).cooled is cooled


def test_a_minute_is_asked_for_where_it_narrows_the_air_most() -> None:
    case, coarse = _case("shell"), _case("shell", COARSE)
    truth = replace(_truth(case, 0.02 * _truth(case, 0.0).volume), exponent=1.2)
    fine, rough = (_answer(each, _quick(_seen(each, truth, (3.0, 9.0), np.random.default_rng(1))))
                   for each in (case, coarse))
    assert fine.wait_before_reading and not rough.wait_before_reading
    assert "Wait a minute before each reading: air just squeezed is warm, and that" in _words(case, fine)


def test_a_first_reading_of_warm_air_among_cool_ones_is_named() -> None:
    case = _case("shell")
    cool = _truth(case, 0.02 * _truth(case, 0.0).volume)
    warm = replace(cool, exponent=1.4)
    noted = [Reading(pressure=at * BAR, time=place * APART,
                     strokes=round((warm if place == 0 else cool).water(cool.full, at * BAR) / STROKE))
             for place, at in enumerate((2.0, 4.0, 7.0, 11.0, 16.0))]
    answer = _answer(case, noted)
    assert (answer.fits, answer.cause) == (False, "warm")
    assert _answer(case, [replace(noted[0], strokes=round(cool.water(cool.full, 2 * BAR) / STROKE)), *noted[1:]]).fits


def test_what_is_left_goes_on_as_quickly_as_before() -> None:
    case = _case("shell")
    truth = replace(_truth(case, 0.02 * _truth(case, 0.0).volume), exponent=1.4)
    quick = _quick(_seen(case, truth, (1.5, 3.0, 6.0, 9.0, 14.0), np.random.default_rng(2)))
    left = truth.water(14 * BAR, 24 * BAR)
    answer = _answer(case, quick)
    assert answer.water_left_m3 == pytest.approx(left, rel=0.05)
    assert answer.time_left_s > left / (4.1e-3 / 60)


# --- the count --------------------------------------------------------------------------------

def _counted_from(case: Case, truth: ClosedVessel, first: float,
                  rng: np.random.Generator | None = None) -> list[Reading]:
    """Slow readings whose count stands at `first` where the gauge begins to rise."""
    noise = (lambda: 0.0) if rng is None else lambda: rng.uniform(-0.5, 0.5)
    return [Reading(pressure=at * BAR + noise() * float(case.gauge.division), time=place * APART,  # type: ignore[arg-type]
                    strokes=round(first + truth.water(truth.full, at * BAR) / STROKE + noise()))
            for place, at in enumerate((4.0, 6.0, 9.0, 13.0, 18.0))]


@thorough
def test_a_count_that_began_late_says_what_it_misses() -> None:
    case = _case("shell")
    truth, rng = _truth(case, 0.004 * _truth(case, 0.0).volume), np.random.default_rng(8)
    inside = found = 0
    for _ in range(TRIES):
        missed = _answer(case, _counted_from(case, truth, -40.0, rng)).count_missed
        found += missed is not None
        inside += missed is not None and missed.low_strokes <= 40.0 <= missed.high_strokes
    assert found >= 0.95 * TRIES and inside >= 0.95 * found
    answer = _answer(case, _counted_from(case, truth, -40.0))
    assert answer.count_missed is not None
    assert answer.count_missed.likely_strokes == pytest.approx(40.0, abs=4.0)
    assert truth.water(truth.full, answer.count_missed.began_gauge_pa) == pytest.approx(40.0 * STROKE, rel=0.15)
    assert "Your count misses about" in _words(case, answer)


@thorough
@pytest.mark.parametrize("first", few([30.0, 0.0], 1))
def test_a_count_from_the_start_or_before_misses_nothing(first: float) -> None:
    case, rng = _case("shell"), np.random.default_rng(9)
    truth = _truth(case, 0.004 * _truth(case, 0.0).volume)
    found = [_answer(case, _counted_from(case, truth, first, rng)).count_missed is not None for _ in range(TRIES)]
    assert sum(found) <= 5


def test_a_count_from_the_pressure_of_the_tap_misses_nothing_where_the_case_says_so() -> None:
    case = _case("shell")
    truth = _truth(case, 0.004 * _truth(case, 0.0).volume)
    noted = tuple(_counted_from(case, truth, -truth.water(truth.full, 3.2 * BAR) / STROKE))
    from_tap = replace(case, test=replace(case.test, start_pressure=3.2 * BAR), reading=noted)
    assert readings(from_tap).count_missed is None
    missed = readings(replace(case, reading=noted)).count_missed
    assert missed is not None and missed.began_gauge_pa == pytest.approx(3.2 * BAR, rel=0.1)


def test_litres_that_a_count_misses_are_told_as_litres() -> None:
    case = shell(pump=records.ElectricPump(flow=1e-4, relief=60 * BAR),
                 gauge=records.Gauge(full_scale=40 * BAR, division=FINE))
    truth = _truth(case, 0.003)
    noted = [Reading(pressure=at * BAR, water=truth.water(truth.full, at * BAR) - 1.5e-3, time=place * APART)
             for place, at in enumerate((3.0, 5.0, 8.0, 12.0))]
    answer = _answer(case, noted)
    assert answer.count_missed is not None and "Your count misses about 1.5" in _words(case, answer)
    assert "nan" not in _words(case, answer)


# --- the hold without a count -----------------------------------------------------------------

def test_a_hold_needs_no_count() -> None:
    case = _case("shell")
    noted = _exact(case, 0.003, (3.0, 7.0, 12.0, 24.0))
    later = [Reading(pressure=at * BAR, time=noted[-1].time + wait) for at, wait in ((23.6, 300.0), (23.2, 600.0))]
    bare, answer = _answer(case, noted), _answer(case, [later[1], *noted, later[0]])
    assert answer.hold is not None
    assert (answer.hold.change_pa, answer.hold.time_s) == (pytest.approx(-0.8 * BAR), 600.0)
    assert answer.trapped_air_m3 == bare.trapped_air_m3 and answer.used == 4
    assert counted(noted) == noted and counted(later) == []


def test_a_hold_alone_tells_of_the_hold() -> None:
    case = _case("shell")
    answer = _answer(case, [Reading(pressure=24 * BAR, time=0.0), Reading(pressure=23.2 * BAR, time=600.0)])
    assert answer.hold is not None and answer.hold.change_pa == pytest.approx(-0.8 * BAR)
    assert answer.cause == "hold" and "no strokes" in WHY["hold"]
    assert "nan" not in _words(case, answer)


def test_a_hold_begins_at_its_peak() -> None:
    """What came before test pressure, or before the highest reading, is no part of the hold."""
    case = _case("shell")
    count = _exact(case, 0.003, (3.0, 7.0, 12.0))
    on_the_way = Reading(pressure=20 * BAR, time=count[-1].time + 30.0)
    for peak, end, change in ((24.0, 24.3, 0.3), (22.0, 21.5, -0.5)):
        held = [Reading(pressure=peak * BAR, time=count[-1].time + 60.0),
                Reading(pressure=end * BAR, time=count[-1].time + 660.0)]
        hold = _answer(case, [*count, on_the_way, *held]).hold
        assert hold is not None and (hold.change_pa, hold.time_s) == (pytest.approx(change * BAR), 600.0)


def test_the_last_of_two_holds_counts() -> None:
    case = _case("shell")
    noted = _exact(case, 0.003, (3.0, 12.0, 24.0))
    first = Reading(pressure=11.8 * BAR, time=noted[1].time + 100.0)
    last = Reading(pressure=23.5 * BAR, time=noted[2].time + 500.0)
    hold = _answer(case, [*noted, first, last]).hold
    assert hold is not None and (hold.change_pa, hold.time_s) == (pytest.approx(-0.5 * BAR), 500.0)
