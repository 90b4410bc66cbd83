"""Trapped air worked out from what was seen while pumping: pressures with strokes or litres.

From the air follow the strokes and minutes that are left, whether venting again pays, and where to take the next
reading; readings with one count at different times, or with none, are a hold. At test pressure nothing is left.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from math import ceil

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case.medium import is_gas
from fillcalc.case.records import Case, Reading
from fillcalc.estimation.answers import answer, part
from fillcalc.model.energy import is_much, of_pocket, of_wall, of_water
from fillcalc.model.held import Held
from fillcalc.model.pressurise import pump_up
from fillcalc.model.release import at_rate, through_valve
from fillcalc.model.status import Status
from fillcalc.questions.readings.air_fit import (
    COVER,
    Fit,
    FittedAir,
    Rows,
    Vessel,
    cause_of,
    counted,
    error_with,
    fit_air,
    rows_of,
    vessel_of,
    water_left,
)
from fillcalc.questions.readings.reached import FINER, Reached
from fillcalc.questions.readings.verdict import BeforeRise, HoldVerdict, Seen, hold_verdict

PIPELINE_LIMIT = 0.002
"""Share of the fill volume that pipeline practice allows (DNV-ST-F101 and others; from memory, check your own copy)."""
GOOD_ENOUGH = 0.05
"""Part of the air, either way, from which no further reading is asked for."""
WORTH = 1.1
"""How much narrower the air must become for a further reading to be asked for."""
STEPS_AHEAD = 12
SURELY_ROSE = 1.5
"""How much more than its uncertainty (95 of 100) a rise in the hold must be to be a top-up: 3 standard deviations."""

WHY = {
    "none": "There are no readings yet.",
    "hold": "These readings have no strokes. They tell of the hold, not of the air.",
    "one": "One reading is not enough. From which pressure were the strokes counted? Give that as a second reading.",
    "no stroke": "The water of a stroke is not known. Give pump.stroke, or the readings as litres.",
    "alike": "The readings stand at one pressure. Take one at another pressure.",
    "fall": "The pressure fell while water went in: a leak, or a reading was written down wrongly.",
    "two": "Two readings always fit. A third one tells whether they can be trusted.",
    "good": "The readings fit.",
    "less": "Less water went in than a vessel without air takes. The stroke is larger than given, "
            "or the wall stiffer.",
    "stroke": "The readings fit only with another stroke than given, or with a leak. Count the strokes to a litre.",
    "wall": "The readings fit only with a wall that gives more or less than given. Check the wall and the volume.",
    "leak": "The readings fit only with a leak, or with air that grows. Look for the leak before pumping on.",
    "grows": "The readings fit only with air that grows while pumping, or with a leak. Does the pump suck air?",
    "warm": "The readings fit only if the air was still warm at the first. Wait a minute before each reading.",
    "unclear": "The readings do not fit, and no single cause explains them. Read again with the pump stopped.",
}
"""What is said of the fit."""


@dataclass(frozen=True)
class AirFound:
    """Free air in the vessel."""

    low: float = answer("volume", "low")
    likely: float = answer("volume", "likely")
    high: float = answer("volume", "high")


@dataclass(frozen=True)
class ShareFound:
    """The same as a share of its volume."""

    low: float = answer("share", "low")
    likely: float = answer("share", "likely")
    high: float = answer("share", "high")


@dataclass(frozen=True)
class ExponentFound:
    """Exponent n of the squeezed air in p V^n = constant: 1.0 where it had a minute to cool before each reading."""

    low: float = answer("number", "low")
    likely: float = answer("number", "likely")
    high: float = answer("number", "high")


@dataclass(frozen=True)
class CountMissed:
    """What went in before the count began, 95 of 100 between low and high."""

    low_m3: float = answer("volume", "low")
    likely_m3: float = answer("volume", "likely")
    high_m3: float = answer("volume", "high")
    low_strokes: float = answer("strokes", "low")
    likely_strokes: float = answer("strokes", "likely")
    high_strokes: float = answer("strokes", "high")
    began_gauge_pa: float = answer("pressure", "where the gauge stood when the count began")
    """The same figure given the other way: nothing is missed if the gauge stood there before the first stroke."""


@dataclass(frozen=True)
class VentAgain:
    """Letting down, venting and pumping again, against pumping on."""

    costs_s: float = answer("duration", "venting again costs", "less")
    saves_s: float = answer("duration", "venting again saves at most", "more")
    pays: bool = part()
    must: bool = part()
    """Whether the air of the case, or that which the readings tell, is so much that it must be vented again before test
    pressure, however long that takes."""


@dataclass(frozen=True)
class ReadingsAnswer:
    """Numbers are floats; NaN where the readings do not tell."""

    trapped_air_m3: AirFound
    share: ShareFound
    fits: bool | None
    """None while it cannot be said."""
    cause: str
    """A key of WHY."""
    why: str
    used: int
    """Readings that the fit stands on."""
    reached: Reached
    exponent: ExponentFound
    cooled: bool | None
    """Whether a minute passed before each reading, by their times; None where there is no fit."""
    wait_before_reading: bool
    """Air still warm from squeezing makes the most of the uncertainty."""
    count_missed: CountMissed | None
    """None where the count missed nothing that shows."""
    count_started_m3: float = answer("volume", "water on the count when the pressure began to rise")
    strokes_left: float = answer("strokes", "strokes left")
    water_left_m3: float = answer("volume", "water left to pump", "less")
    time_left_s: float = answer("duration", "time left, pump running", "less")
    next_reading_gauge_pa: float = answer("pressure", "take the next reading at")
    stop_after_strokes: float = answer("strokes", "stop and vent if 10 % is not reached after")
    vent_again: VentAgain = part()
    above_pipeline_limit: bool | None = part()
    """Surely above or surely below 0.2 % of the volume; None between."""
    hold: HoldVerdict | None = part()


NOT_WORTH = VentAgain(float("nan"), float("nan"), False, False)
"""What is said of venting again where nothing is left to pump, or where it is not known."""


def readings(case: Case) -> ReadingsAnswer:
    """What the readings of a case tell of its trapped air, the pumping that is left, and the hold.

    The case is as the reader gives it (numbers, not arrays); the readings may stand in any order. A reading under
    one division of the gauge is left out where two others remain: the needle had hardly lifted. Readings
    with one count at different times, or without a count, are a hold. What cannot be had is NaN; a ValueError for a
    test with gas.
    """
    if is_gas(case):
        raise ValueError("a test with gas has no trapped air to find; fillcalc.questions.readings.gas reads its hold")
    vessel = vessel_of(case)
    pumping, holding = _sorted(case, vessel.reached.test_gauge_pa - FINER * vessel.division)
    rows = rows_of(vessel, pumping)
    verdict = _hold(vessel, holding)
    if rows is None or len(rows.gauge) < 2 or np.ptp(rows.gauge) == 0.0:
        cause = ("none" if not case.reading else "hold" if not pumping else "no stroke" if rows is None
                 else "one" if len(rows.gauge) < 2 else "alike")
        return _unanswered(vessel, cause, verdict)
    if np.any(np.diff(rows.gauge) < -2.0 * vessel.division):
        return _unanswered(vessel, "fall", verdict)
    fitted = fit_air(vessel, rows)
    return _answered(vessel, rows, fitted, cause_of(vessel, rows, fitted), verdict)


def _sorted(case: Case, test: float) -> tuple[list[Reading], list[Reading]]:
    """The readings with a count, and the last hold: those of one count at several times, from its peak on; `test` is
    where test pressure is reached, Pa gauge.

    A reading without a count belongs to the count before it in time: nothing was pumped in between. Of counts at one
    time the largest is the last.
    """
    lots: dict[tuple[float | None, float | None], list[Reading]] = {}
    for reading in counted(case.reading):
        lots.setdefault((reading.strokes, reading.water), []).append(reading)
    for lot in lots.values():
        lot.sort(key=_by_time)
    began = {key: lot[0].time for key, lot in lots.items() if lot[0].time is not None}
    for reading in sorted(case.reading, key=_by_time):
        if reading.strokes is None and reading.water is None and reading.time is not None:
            earlier = {key: (time, *(count or 0.0 for count in key)) for key, time in began.items()
                       if time <= reading.time}
            lots.setdefault(max(earlier, key=earlier.__getitem__, default=(None, None)), []).append(reading)
    for lot in lots.values():
        lot.sort(key=_by_time)
    holds = {key: _hold_of(lot, test) for key, lot in lots.items()}
    holds = {key: hold for key, hold in holds.items() if len({reading.time for reading in hold}) > 1}
    pumping = [reading for key, lot in lots.items() for reading in counted(lot[:1] if key in holds else lot)]
    return pumping, max(holds.values(), key=lambda hold: _by_time(hold[0]), default=[])


def _by_time(reading: Reading) -> tuple[bool, float]:
    return reading.time is None, 0.0 if reading.time is None else reading.time


def _hold_of(lot: list[Reading], test: float) -> list[Reading]:
    """The readings of one count that have a time: all where the count was given twice, else from the first one
    at test pressure on, or from the highest."""
    timed = [reading for reading in lot if reading.time is not None]
    if not timed or len({reading.time for reading in counted(timed)}) > 1:
        return timed
    highest = max(float(reading.pressure) for reading in timed)
    return timed[next(n for n, reading in enumerate(timed) if float(reading.pressure) >= min(test, highest)):]


# --- what follows ------------------------------------------------------------------------------

def _unanswered(vessel: Vessel, cause: str, verdict: HoldVerdict | None) -> ReadingsAnswer:
    nan, stand = float("nan"), vessel.reached
    ahead = _first_reading(vessel, max((float(np.ravel(reading.pressure)[0]) for reading in vessel.job.case.reading),
                                       default=vessel.start))
    left = 0.0 if stand.stop else nan
    return ReadingsAnswer(
        AirFound(nan, nan, nan), ShareFound(nan, nan, nan), False if cause == "fall" else None, cause, WHY[cause],
        0, stand, ExponentFound(nan, nan, nan), None, False, None, nan, left, left, left,
        nan if stand.stop else ahead, _stop_rule(vessel), NOT_WORTH, None, verdict)


def _first_reading(vessel: Vessel, stands: float) -> float:
    """Where to read while no air can be told, Pa gauge: two divisions at least above where the gauge stands, low but
    with the air well squeezed, on a division."""
    test, division = float(vessel.job.case.test.pressure[0]), vessel.division
    wanted = max(stands + 2.0 * division, min(2.0 * stands + 1e5, 0.2 * test))
    return min(ceil(wanted / division - 1e-6) * division, test)


def _answered(vessel: Vessel, rows: Rows, fitted: FittedAir, cause: str, verdict: HoldVerdict | None) -> ReadingsAnswer:
    ends = [max(end, 0.0) for end in fitted.air]
    volume, stand = float(vessel.job.body.volume[0]), vessel.reached
    surely = True if ends[0] > PIPELINE_LIMIT * volume else False if ends[2] < PIPELINE_LIMIT * volume else None
    fits = None if cause == "two" else cause == "good"
    left = 0.0 if stand.stop else water_left(vessel, rows, fitted.middle)
    time, again = (0.0, NOT_WORTH) if stand.stop else _time_left(vessel, rows, left)
    cooled = bool(np.all(rows.cool))
    return ReadingsAnswer(
        AirFound(*ends), ShareFound(*(end / volume for end in ends)), fits, cause, WHY[cause], len(rows.gauge),
        stand, ExponentFound(*fitted.exponent), cooled, fitted.by_exponent > COVER * fitted.middle.error,
        None if fits is False else _missed(vessel, rows, fitted), fitted.middle.start,
        0.0 if stand.stop else left / vessel.stroke, left, time,
        float("nan") if stand.stop else _next(vessel, rows, fitted.middle), _stop_rule(vessel), again, surely,
        verdict)


def _missed(vessel: Vessel, rows: Rows, fitted: FittedAir) -> CountMissed | None:
    """What the count missed, where it surely missed some and that is a stroke at least, or a hundredth of it."""
    low, likely, high = fitted.missed
    stroke, counts = vessel.stroke, rows.count
    least = stroke if np.isfinite(stroke) else 0.01 * float(np.max(np.abs(counts)))
    if not (low > 0.0 and likely >= least):
        return None
    with_air = replace(vessel.job.closed, air=np.array([max(fitted.middle.air, 0.0)]))
    start = np.array([min(vessel.start, float(rows.gauge[0]))])
    low_end, high_end = float(start[0]), float(rows.gauge[0])
    for _ in range(50):
        half = 0.5 * (low_end + high_end)
        enough = float(with_air.water_to(start, np.array([half]))[0]) >= likely
        low_end, high_end = (low_end, half) if enough else (half, high_end)
    return CountMissed(low, likely, high, low / stroke, likely / stroke, high / stroke, high_end)


def _time_left(vessel: Vessel, rows: Rows, left: float) -> tuple[float, VentAgain]:
    """Time of the pump for the water that is left, s, and whether venting again pays: with as much air, in a vessel
    that has cooled, as takes that water."""
    last = np.array([rows.gauge[-1]])
    bare, full = (replace(vessel.job.closed, air=np.array([air])) for air in (0.0, 1.0))
    solid, test = float(bare.water_to(last, vessel.job.case.test.pressure)[0]), vessel.job.case.test.pressure
    by_air = float(full.water_to(last, test)[0]) - solid
    found = replace(vessel.job.closed, air=np.array([max((left - solid) / by_air, 0.0)]))
    time = _pump_time(vessel, found, last)
    return time, _vent_again(vessel, found, last, time)


def _pump_time(vessel: Vessel, closed: Held, start: Array) -> float:
    """Time of the pump from a gauge pressure to the test pressure, s; NaN where it stalls before."""
    if start[0] >= vessel.job.case.test.pressure[0]:
        return 0.0
    asked = replace(vessel.job.duty, start_gauge=start, marks=start[None])
    pumped = pump_up(closed, vessel.job.driver, asked)
    return float(pumped.time[0]) if pumped.status[0] == Status.DONE else float("nan")


def _vent_again(vessel: Vessel, found: Held, last: Array, time_left: float) -> VentAgain:
    """Costs: letting down and venting. Saves at most: the time left less a whole pump-up without any air, and what the
    release from test pressure takes longer with the air that was found."""
    case = vessel.job.case
    bleed = 0.0 if case.labour.each.bleed is None else float(case.labour.each.bleed[0])
    clean, test = replace(vessel.job.closed, air=np.zeros(1)), case.test.pressure
    pumping = time_left - _pump_time(vessel, clean, np.minimum(vessel.start, last))
    release = _let_down(vessel, found, test) - _let_down(vessel, clean, test)
    costs, saves = _let_down(vessel, found, last) + bleed, pumping + release
    return VentAgain(costs, saves, bool(saves > costs),
                     any(_stores_much(vessel, closed) for closed in (found, vessel.job.closed)))


def _stores_much(vessel: Vessel, closed: Held) -> bool:
    """Whether the trapped air stores much at test pressure, as the caution about it has it."""
    at = closed.at(vessel.job.case.test.pressure)
    return is_much(float(closed.air[0] / vessel.job.body.volume[0]), float(of_pocket(at)[0]),
                   float((of_water(at) + of_wall(at))[0]))


def _let_down(vessel: Vessel, closed: Held, gauge: Array) -> float:
    """Time of the release from a gauge pressure to zero, s."""
    case, none = vessel.job.case, np.zeros(1)
    if case.release.kv is not None:
        return float(through_valve(closed, case.release.kv, gauge, none)[0])
    assert case.release.rate is not None
    return float(at_rate(case.release.rate, np.maximum(gauge, 1.0), none, closed.full_gauge)[0])


def _stop_rule(vessel: Vessel) -> float:
    """Twice the strokes that the case as written takes from the start to a tenth of the test pressure; NaN once
    pumping must stop."""
    if vessel.reached.stop:
        return float("nan")
    tenth = 0.1 * vessel.job.case.test.pressure
    return 2.0 * float(vessel.job.closed.water_to(np.minimum(vessel.start, tenth), tenth)[0]) / vessel.stroke


def _next(vessel: Vessel, rows: Rows, fit: Fit) -> float:
    """Where above the last reading one more narrows the air most, the lowest place that is nearly as good; NaN
    where no more is wanted or none would help."""
    test, last = float(vessel.job.case.test.pressure[0]), float(rows.gauge[-1])
    if last >= test or COVER * fit.error <= GOOD_ENOUGH * max(fit.air, 0.0):
        return float("nan")
    ahead = np.geomspace(max(1.15 * last, 0.5e5), max(test, 1.2 * last), STEPS_AHEAD)
    errors = np.array([error_with(vessel, rows, fit, gauge) for gauge in ahead])
    if errors.min() * WORTH > error_with(vessel, rows, fit, None):
        return float("nan")
    best = float(ahead[np.argmax(errors <= WORTH * errors.min())])
    return min(max(round(best / vessel.division), 1) * vessel.division, test)


def _hold(vessel: Vessel, seen: list[Reading]) -> HoldVerdict | None:
    """The verdict on a hold from its last top-up on, and from the first temperature where it began without."""
    if not seen:
        return None
    pairs = [_between(vessel, *pair) for pair in pairwise(seen)]
    rises = [place for place, each in enumerate(pairs, 1)
             if each.change_pa > 0.0 and each.rest_pa > SURELY_ROSE * each.rest_uncertain_pa]
    held = seen[rises[-1]:] if rises else seen
    start = _with_temperature(held, vessel.division)
    verdict = _between(vessel, start, held[-1])
    began = float("nan") if start is seen[0] or start.time is None else start.time
    return replace(verdict, before=_before(pairs, rises) if rises else None, from_s=began)


def _between(vessel: Vessel, first: Reading, last: Reading) -> HoldVerdict:
    assert first.time is not None and last.time is not None
    return hold_verdict(vessel.job, Seen(first.pressure, last.pressure, last.time - first.time, first.temperature,
                                          last.temperature))


def _with_temperature(held: list[Reading], division: float) -> Reading:
    """The first reading, or the first with a temperature where it has none and stands within a division of it."""
    first = held[0]
    if first.temperature is not None or held[-1].temperature is None:
        return first
    near = (each for each in held[1:-1] if each.temperature is not None
            and abs(each.pressure - first.pressure) <= division * (1.0 + 1e-9))
    return next(near, first)


def _before(pairs: list[HoldVerdict], rises: list[int]) -> BeforeRise:
    """What was lost before the last rise; `rises` are the places of the readings behind one."""
    falls = [each for place, each in enumerate(pairs[:rises[-1] - 1], 1) if place not in rises]
    doubt = float(np.sqrt(sum(each.rest_uncertain_pa**2 for each in falls)))
    rest = sum(each.rest_pa - each.by_solution_pa for each in falls)
    return BeforeRise(sum(each.time_s for each in falls), sum(each.change_pa for each in falls),
                      pairs[rises[-1] - 1].change_pa, -rest > doubt)
