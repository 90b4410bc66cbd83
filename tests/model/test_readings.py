"""Trapped air from readings that an independent reckoning made: real gas, thick walls, noise and an unknown offset.

They are taken minutes apart, so that the air has cooled; `test_squeezed_air.py` has those that are not.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from fillcalc.case import records
from fillcalc.case.records import Reading
from fillcalc.cautions import cautions
from fillcalc.estimation.estimate import estimate
from fillcalc.job.job import job_of
from fillcalc.present.readings import hold_sentences, next_sentences
from fillcalc.questions.readings.answer import WHY, ReadingsAnswer, readings
from fillcalc.questions.readings.verdict import Seen, hold_verdict
from tests.families import few
from tests.model.twin_cases import BAR, SHELL, shell
from tests.twin.closed import ClosedVessel, closed_vessel
from tests.twin.inputs import numbers, value
from tests.twin.shape import shape_of

TRIES = 200
STROKE = 20e-6
APART = 300.0
"""s between two readings."""
FINE, COARSE = 0.1 * BAR, 0.5 * BAR


@cache
def _case(kind: str, division: float = FINE) -> records.Case:
    gauge = records.Gauge(full_scale=40 * BAR, division=division)
    pump = replace(SHELL.pump, stroke=STROKE)
    if kind == "shell":
        return shell(gauge=gauge, pump=pump)
    if kind == "held pipe":
        return shell(gauge=gauge, pump=pump, vessel=records.PipeRun(
            size="DN80", schedule="40", length=90.0, rise=2.0, anchored=True))
    return shell(gauge=gauge, pump=replace(pump, stroke=1e-6), test_hose=None, vessel=records.OtherVessel(
        volume=0.05, height=0.3, wall="rigid"))


def _truth(case: records.Case, air: float) -> ClosedVessel:
    shape = shape_of(case.vessel)
    net = shape.gross_volume * (1 - value(case.vessel.internals, 0.0))
    return closed_vessel(case, numbers(case, (shape.gross_volume, net)), air)


def _seen(case: records.Case, vessel: ClosedVessel, gauges: tuple[float, ...],
          rng: np.random.Generator) -> list[Reading]:
    """What somebody notes at about these pressures (bar): read to the nearest half of a division or nearer, strokes
    whole, counted from anywhere, one of them perhaps missed."""
    stroke, offset = float(case.pump.stroke), float(rng.integers(0, 60))  # type: ignore[attr-defined]
    noted = []
    for place, gauge in enumerate(gauges):
        true = gauge * BAR
        shown = true + rng.uniform(-0.5, 0.5) * float(case.gauge.division)
        strokes = round(offset + vessel.water(vessel.full, true) / stroke + rng.uniform(-0.5, 0.5))
        noted.append(Reading(pressure=shown, strokes=float(strokes), time=place * APART))
    rng.shuffle(noted)  # type: ignore[arg-type]
    return noted


def _answer(case: records.Case, noted: list[Reading]) -> ReadingsAnswer:
    return readings(replace(case, reading=tuple(noted)))


@pytest.mark.parametrize("division", few([COARSE, FINE], 1))
@pytest.mark.parametrize("kind", few(["shell", "held pipe", "rigid block"], 1))
@pytest.mark.parametrize("gauges", few(map(pytest.param, [(2.0, 5.0, 10.0), (1.5, 3.0, 6.0, 9.0, 14.0)]), 1))
def test_the_truth_lies_between_the_ends(kind: str, division: float, gauges: tuple[float, ...]) -> None:
    case, rng = _case(kind, division), np.random.default_rng(len(gauges) + 7)
    inside = 0
    for _ in range(TRIES // 4):
        truth = _truth(case, _truth(case, 0.0).volume * float(np.exp(rng.uniform(np.log(1e-3), np.log(0.03)))))
        found = _answer(case, _seen(case, truth, gauges, rng)).trapped_air_m3
        inside += found.low <= truth.air <= found.high
    assert inside >= 0.95 * (TRIES // 4)


@pytest.mark.parametrize("kind", few(["shell", "held pipe", "rigid block"], 1))
def test_three_good_readings_come_within_5_percent(kind: str) -> None:
    case, rng = _case(kind), np.random.default_rng(11)
    errors = []
    for _ in range(TRIES // 4):
        truth = _truth(case, _truth(case, 0.0).volume * float(np.exp(rng.uniform(np.log(4e-3), np.log(0.03)))))
        errors.append(_answer(case, _seen(case, truth, (2.0, 4.0, 10.0), rng)).trapped_air_m3.likely / truth.air - 1.0)
    assert np.quantile(np.abs(errors), 0.95) < 0.05
    assert abs(np.mean(errors)) < 0.01


def _exact(case: records.Case, air: float, gauges: tuple[float, ...], **more: Any) -> list[Reading]:
    """Readings without noise, in water."""
    vessel = _truth(case, air)
    return [Reading(**{"pressure": at * BAR, "water": 0.003 + vessel.water(vessel.full, at * BAR),
                       "time": place * APART, **more}) for place, at in enumerate(gauges)]


@pytest.mark.parametrize("kind", ["shell", "held pipe", "rigid block"])
@pytest.mark.parametrize("share", [0.0, 0.004, 0.05])
def test_readings_without_noise_give_the_air_itself(kind: str, share: float) -> None:
    case = _case(kind)
    air = share * _truth(case, 0.0).volume
    answer = _answer(case, _exact(case, air, (3.0, 7.0, 12.0)))
    assert answer.trapped_air_m3.likely == pytest.approx(air, rel=2e-3, abs=1e-3 * answer.trapped_air_m3.high)
    assert answer.fits is True and answer.cause == "good"
    assert answer.count_started_m3 == pytest.approx(0.003, abs=0.05 * max(air, 1e-3))


def test_what_is_left_is_the_water_up_to_test_pressure() -> None:
    case = _case("shell")
    truth = _truth(case, 0.004 * _truth(case, 0.0).volume)
    answer = _answer(case, _exact(case, truth.air, (3.0, 7.0, 12.0)))
    left = truth.water(12 * BAR, 24 * BAR)
    assert answer.water_left_m3 == pytest.approx(left, rel=2e-3)
    assert answer.strokes_left == pytest.approx(left / STROKE, rel=2e-3)
    assert answer.time_left_s > left / (4.1e-3 / 60)
    at_top = _answer(case, _exact(case, truth.air, (3.0, 12.0, 24.0)))
    assert (at_top.strokes_left, at_top.time_left_s) == (pytest.approx(0.0, abs=1e-6), 0.0)


def test_the_order_of_the_readings_does_not_count() -> None:
    case = _case("shell")
    noted = _exact(case, 0.003, (2.0, 5.0, 10.0, 14.0))
    assert repr(_answer(case, noted)) == repr(_answer(case, noted[::-1]))


def test_one_reading_asks_from_which_pressure_the_strokes_were_counted() -> None:
    answer = _answer(_case("shell"), [Reading(pressure=4 * BAR, strokes=60.0)])
    assert answer.cause == "one" and "From which pressure" in answer.why
    assert np.isnan(answer.trapped_air_m3.likely) and answer.fits is None
    assert 4 * BAR < answer.next_reading_gauge_pa < 24 * BAR


ALIKE = [Reading(pressure=4 * BAR, strokes=30.0), Reading(pressure=4 * BAR, strokes=31.0)]


@pytest.mark.parametrize("noted", [[], ALIKE])
def test_too_little_to_tell(noted: list[Reading]) -> None:
    answer = _answer(_case("shell"), noted)
    assert answer.cause == ("alike" if noted else "none")
    assert np.isnan(answer.strokes_left)


def test_strokes_of_an_unknown_size_ask_for_it() -> None:
    case = shell(pump=records.ElectricPump(flow=1e-4, relief=60 * BAR))
    noted = [Reading(pressure=at * BAR, strokes=10.0 * at) for at in (2.0, 4.0, 8.0)]
    assert _answer(case, noted).cause == "no stroke"
    litres = _answer(case, _exact(case, 0.003, (2.0, 4.0, 8.0)))
    assert litres.trapped_air_m3.likely == pytest.approx(0.003, rel=0.01)
    assert np.isnan(litres.strokes_left) and litres.time_left_s > 0.0


def test_two_readings_give_the_air_but_no_trust() -> None:
    answer = _answer(_case("shell"), _exact(_case("shell"), 0.003, (3.0, 9.0)))
    assert answer.trapped_air_m3.likely == pytest.approx(0.003, rel=5e-3)
    assert (answer.fits, answer.cause) == (None, "two")


def test_a_reading_before_the_needle_lifts_is_left_out() -> None:
    case = _case("shell", COARSE)
    noted = _exact(case, 0.003, (3.0, 6.0, 10.0))
    primed = [Reading(pressure=0.0, water=0.0), *noted]
    assert _answer(case, primed).trapped_air_m3 == _answer(case, noted).trapped_air_m3
    assert _answer(case, primed).used == 3


def test_pressure_that_falls_while_water_goes_in_does_not_fit() -> None:
    noted = _exact(_case("shell"), 0.003, (3.0, 6.0))
    answer = _answer(_case("shell"), [*noted, Reading(pressure=2 * BAR, water=noted[-1].water + 1e-3)])
    assert (answer.cause, answer.fits) == ("fall", False)


def test_a_leak_shows_in_the_fit_when_times_are_given() -> None:
    case = _case("rigid block")
    vessel = _truth(case, 5e-5)
    noted, lost, before = [], 0.0, 0.0
    for place, at in enumerate((2.0, 4.0, 7.0, 10.0, 14.0, 18.0)):
        root = at**0.5
        lost += 0.5 * (root + before) * 60.0 * 4e-7
        before = root
        held = vessel.water(vessel.full, at * BAR)
        noted.append(Reading(pressure=at * BAR, water=1e-4 + held + lost, time=60.0 * place))
    noted = [replace(one, strokes=round(one.water / 1e-6), water=None) for one in noted]
    answer = _answer(case, noted)
    assert answer.fits is False
    assert answer.cause in ("leak", "grows") and "leak" in answer.why


def test_less_water_than_without_air_is_said() -> None:
    case = _case("rigid block")
    vessel = _truth(case, 0.0)
    noted = [Reading(pressure=at * BAR, strokes=round(0.4 * vessel.water(vessel.full, at * BAR) / 1e-6 + 40))
             for at in (200.0, 300.0, 400.0, 500.0)]
    answer = _answer(replace(case, test=replace(case.test, pressure=600 * BAR)), noted)
    assert answer.fits is False


def test_warming_between_readings_is_taken_out() -> None:
    case = _case("shell")
    vessel = _truth(case, 0.003)
    per_kelvin = vessel.pressure_per_kelvin(10 * BAR)
    first, second, third = _exact(case, 0.003, (3.0, 6.0, 10.0), temperature=288.15)
    warmer = replace(third, pressure=third.pressure + 2.0 * per_kelvin, temperature=290.15)
    aware = _answer(case, [first, second, warmer]).trapped_air_m3.likely
    blind = _answer(case, [replace(one, temperature=None) for one in (first, second, warmer)]).trapped_air_m3.likely
    assert aware == pytest.approx(0.003, rel=0.03)
    assert abs(blind / 0.003 - 1.0) > 3.0 * abs(aware / 0.003 - 1.0)


def test_the_pipeline_limit_is_judged_only_when_sure() -> None:
    case = _case("shell")
    volume = _truth(case, 0.0).volume
    judged = [_answer(case, _exact(case, share * volume, (3.0, 6.0, 10.0))).above_pipeline_limit
              for share in (0.0002, 0.002, 0.01)]
    assert judged == [False, None, True]


@pytest.mark.parametrize(("bleed", "share"), [(None, 2e-4), (np.array([60.0]), 1e-3)])
def test_much_air_makes_venting_again_pay_and_little_does_not(bleed: Any, share: float) -> None:
    """Without any wait for bubbles it pays almost at once, for air slows pump and release alike."""
    case = shell(gauge=records.Gauge(full_scale=40 * BAR, division=FINE),
                 pump=replace(SHELL.pump, stroke=STROKE, flow_at_zero=0.3e-3 / 60),
                 labour=replace(SHELL.labour, each=replace(SHELL.labour.each, bleed=bleed)))
    volume = _truth(case, 0.0).volume
    much, little = (_answer(case, _exact(case, each * volume, (0.5, 1.0, 1.5))).vent_again for each in (0.08, share))
    assert much.pays and much.saves_s > much.costs_s > 60.0
    assert not little.pays and little.costs_s > 10.0


@pytest.mark.parametrize(("share", "own"), [(0.002, 0.002), (0.008, 0.004), (0.02, 0.004), (0.004, 0.02)])
def test_air_that_must_be_vented_is_that_of_which_a_caution_says_so(share: float, own: float) -> None:
    """The caution is raised by the air of the case; taken for the case, that of the readings raises it too."""
    case, volume = _case("shell"), _truth(_case("shell"), 0.0).volume

    def warned(part: float) -> bool:
        with_air = replace(case, trapped_air=replace(case.trapped_air, amount=part))
        return any(each.code == "much air" for each in cautions(with_air, estimate(with_air)))

    case = replace(case, trapped_air=replace(case.trapped_air, amount=own))
    answer = _answer(case, _exact(case, share * volume, (2.0, 4.0, 8.0)))
    assert answer.vent_again.must == (warned(share) or warned(own)) == (max(share, own) >= 0.01)
    words = next_sentences(answer, "metric")[-2]
    assert ("and vent." in words) == (answer.vent_again.must or answer.vent_again.pays) != ("pump on." in words)


def test_a_narrow_answer_asks_for_no_more_readings() -> None:
    case = _case("shell")
    wide = _answer(case, _exact(case, 0.001, (2.0, 2.4)))
    noted = [replace(one, strokes=one.water / STROKE, water=None) for one in _exact(case, 0.02, (1.0, 2.0, 5.0, 12.0))]
    narrow = _answer(case, noted)
    assert 2.4 * BAR < wide.next_reading_gauge_pa <= 24 * BAR
    assert np.isnan(narrow.next_reading_gauge_pa)


def test_every_cause_has_its_words() -> None:
    assert all(sentence.endswith((".", "?")) for sentence in WHY.values())


# --- the hold ---------------------------------------------------------------------------------

def test_a_fall_that_cooling_makes_is_no_leak() -> None:
    case = _case("shell")
    vessel = _truth(case, 0.004 * _truth(case, 0.0).volume)
    colder = vessel.pressure_per_kelvin(24 * BAR)
    found = hold_verdict(job_of(case), Seen(24 * BAR, 24 * BAR - colder, 1800.0, 288.15, 287.15))
    assert found.by_temperature_pa == pytest.approx(-colder, rel=5e-3)
    assert not found.tells and found.leak.low_m3_s == 0.0 < found.leak.high_m3_s


@pytest.mark.parametrize("leak", [5e-8, 5e-7])
def test_the_leak_of_a_simulated_hold_lies_between_the_ends(leak: float) -> None:
    case, rng = _case("shell"), np.random.default_rng(5)
    vessel = _truth(case, 0.004 * _truth(case, 0.0).volume)
    inside = 0
    for _ in range(60):
        warmer = rng.uniform(-1.0, 1.0)
        left = vessel.mass(24 * BAR) - leak * 1800.0 * vessel.density(0.0)
        end = brentq(lambda p, left=left, warmer=warmer: vessel.mass(p, warmer) - left, 0.0, 40 * BAR)
        fall = 24 * BAR - float(end)
        noise = rng.uniform(-0.5, 0.5, 2) * FINE
        warm = rng.normal(0.0, 0.2, 2)
        found = hold_verdict(job_of(case), Seen(24 * BAR + noise[0], 24 * BAR - fall + noise[1], 1800.0,
                                       288.15 + warm[0], 288.15 + warmer + warm[1])).leak
        inside += found.low_m3_s <= leak <= found.high_m3_s
    assert inside >= 57


def test_unread_temperatures_leave_more_doubt() -> None:
    read, unread = (hold_verdict(job_of(_case("shell")), Seen(24 * BAR, 23 * BAR, 600.0, *temperatures))
                    for temperatures in ((288.0, 288.0), (None, None)))
    assert read.temperature_read and not unread.temperature_read
    assert unread.rest_uncertain_pa > read.rest_uncertain_pa


def test_readings_with_one_count_at_two_times_are_a_hold() -> None:
    case = _case("shell")
    noted = _exact(case, 0.003, (3.0, 7.0, 12.0, 24.0))
    start = replace(noted[-1], temperature=288.15)
    end = replace(start, time=start.time + 600.0, pressure=23.2 * BAR)
    answer = _answer(case, [end, *noted[:-1], start])
    assert answer.hold is not None and answer.hold.change_pa == pytest.approx(-0.8 * BAR)
    assert answer.hold.tells and answer.hold.leak.likely_m3_s > 0.0
    assert answer.trapped_air_m3.likely == pytest.approx(0.003, rel=0.02)
    assert _answer(case, noted).hold is None


@pytest.mark.parametrize("way", [1, -1])
def test_counts_noted_in_one_second_leave_the_hold_to_the_largest(way: int) -> None:
    case = _case("shell")
    noted = [replace(reading, time=1.0) for reading in _exact(case, 0.003, (3.0, 12.0, 24.0))]
    end = Reading(pressure=23.5 * BAR, time=1801.0)
    hold = _answer(case, [*noted, end][::way]).hold
    assert hold is not None and hold.change_pa == pytest.approx(-0.5 * BAR) and hold.time_s == pytest.approx(1800.0)


def _bar(gauge: float, minutes: float, celsius: float | None = None, strokes: float | None = None) -> Reading:
    return Reading(pressure=gauge * BAR, time=60.0 * minutes, strokes=strokes,
                   temperature=None if celsius is None else 273.15 + celsius)


def test_a_hold_is_judged_from_its_last_top_up() -> None:
    """A loss that a top-up hides is told; a rise that warming explains is no top-up."""
    case = _case("shell")
    start, lost, again, end = _bar(24, 0, 15, 88), _bar(19, 11), _bar(24, 12, 15), _bar(23.9, 42, 15)
    hold = _answer(case, [start, lost, again, end]).hold
    assert hold is not None and hold.before is not None
    assert (hold.time_s, hold.change_pa, hold.from_s) == (1800.0, pytest.approx(-0.1 * BAR), 720.0)
    before = hold.before
    assert (before.time_s, before.change_pa, before.rise_pa, before.tells) == (
        660.0, pytest.approx(-5 * BAR), pytest.approx(5 * BAR), True)
    said = " ".join(hold_sentences(hold, "metric"))
    assert "Before that it fell by 5 bar in 11 min: a leak" in said and "rose by 5 bar" in said
    only = _answer(case, [start, lost, again]).hold
    assert only is not None and "No leak" not in " ".join(hold_sentences(only, "metric"))
    warmer = _truth(case, 0.0).pressure_per_kelvin(24 * BAR) / BAR
    warm = _answer(case, [start, _bar(24 + warmer, 30, 16)]).hold
    assert warm is not None and warm.before is None


def test_a_hold_begins_at_the_first_temperature_where_the_pumped_reading_has_none() -> None:
    case, pumped, end = _case("shell"), _bar(24, 0, None, 88), _bar(23.6, 32, 14.5)
    hold = _answer(case, [pumped, _bar(24, 2, 15), end]).hold
    assert hold is not None and hold.temperature_read and (hold.from_s, hold.time_s) == (120.0, 1800.0)
    assert "judged from the reading at 2 min on" in " ".join(hold_sentences(hold, "metric"))
    far = _answer(case, [pumped, _bar(23, 2, 15), _bar(22.8, 32, 15)]).hold
    assert far is not None and not far.temperature_read and far.time_s == 1920.0


def test_no_answer_says_passed() -> None:
    from fillcalc.formats.readings_text import readings_report

    case = _case("shell")
    noted = _exact(case, 0.003, (3.0, 7.0, 24.0), time=0.0)
    text = readings_report(case, _answer(case, [*noted, replace(noted[-1], time=600.0)]))
    assert "does not say that the piece passed" in " ".join(text.split())
    assert max(map(len, text.splitlines())) <= 80


def test_air_that_dissolves_is_not_called_a_leak() -> None:
    """Over a day still water may take what a small leak would; over ten minutes the same fall is a leak."""
    case = replace(_case("shell"), gauge=records.Gauge(full_scale=40 * BAR, division=0.02 * BAR))
    day, minutes = (hold_verdict(job_of(case), Seen(24 * BAR, 23.2 * BAR, time, 288.15, 288.15))
                    for time in (86400.0, 600.0))
    assert -day.by_solution_pa == pytest.approx(-12.0 * minutes.by_solution_pa, rel=0.05)
    assert day.leak.likely_m3_s > 0.0 and day.leak.low_m3_s == 0.0
    assert minutes.tells and minutes.leak.low_m3_s > 0.0
    assert not day.tells
