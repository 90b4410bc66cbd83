"""Trapped air worked out from what was seen while pumping: pressures with strokes or litres.

From the air follow the strokes and minutes that are left, whether venting again pays, and where to take the next
reading; readings with one count at different times are a hold.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from fillcalc.air_fit import COVER, Fit, Rows, Vessel, cause_of, error_with, rows_of, solve, vessel_of
from fillcalc.answers import Status, answer, part
from fillcalc.case.records import Case, Reading
from fillcalc.model.arrays import Array
from fillcalc.model.held import Held
from fillcalc.model.pressurise import pump_up
from fillcalc.model.release import at_rate, through_valve
from fillcalc.record import record
from fillcalc.setup import duty, filling, line, pump, start_gauge
from fillcalc.verdict import HoldVerdict, Seen, hold_verdict

PIPELINE_LIMIT = 0.002
"""Share of the fill volume that pipeline practice allows (DNV-ST-F101 and others; from memory, check your own copy)."""
GOOD_ENOUGH = 0.05
"""Part of the air, either way, from which no further reading is asked for."""
WORTH = 1.1
"""How much narrower the air must become for a further reading to be asked for."""
STEPS_AHEAD = 12

WHY = {
    "none": "There are no readings yet.",
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
    "unclear": "The readings do not fit, and no single cause explains them. Read again with the pump stopped.",
}
"""What is said of the fit."""


@record(frozen=True)
class AirFound:
    """Free air in the vessel."""

    low: Any = answer("volume", "low")
    middle: Any = answer("volume", "middle")
    high: Any = answer("volume", "high")


@record(frozen=True)
class ShareFound:
    """The same as a share of its volume."""

    low: Any = answer("share", "low")
    middle: Any = answer("share", "middle")
    high: Any = answer("share", "high")


@record(frozen=True)
class VentAgain:
    """Letting down, venting and pumping again, against pumping on."""

    costs_s: Any = answer("duration", "venting again costs", "less")
    saves_s: Any = answer("duration", "venting again saves at most", "more")
    pays: bool = part()


@record(frozen=True)
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


def readings(case: Case) -> ReadingsAnswer:
    """What the readings of a case tell of its trapped air, the pumping that is left, and the hold.

    The case is as the reader gives it (numbers, not arrays); the readings may stand in any order. A reading under
    one division of the gauge is left out where two others remain: the needle had hardly lifted. Readings
    with one count at different times are a hold. Nothing raises: what cannot be had is NaN.
    """
    vessel = vessel_of(case)
    pumping, holding = _sorted(case.reading)
    rows = rows_of(vessel, pumping)
    verdict = _hold(vessel, holding)
    if rows is None or len(rows.gauge) < 2 or np.ptp(rows.gauge) == 0.0:
        cause = ("none" if not case.reading else "no stroke" if rows is None else "one" if len(rows.gauge) < 2
                 else "alike")
        return _untold(vessel, cause, verdict)
    if np.any(np.diff(rows.gauge) < -2.0 * vessel.division):
        return _untold(vessel, "fall", verdict)
    fit = solve(vessel, rows)
    cause = cause_of(vessel, rows, fit)
    return _told(vessel, rows, fit, cause, verdict)


def _sorted(given: tuple[Reading, ...]) -> tuple[list[Reading], list[Reading]]:
    """The readings by their count, and of those with one count and several times (a hold) the last such lot."""
    lots: dict[tuple[Any, Any], list[Reading]] = {}
    for reading in given:
        lots.setdefault((reading.strokes, reading.water), []).append(reading)
    for lot in lots.values():
        lot.sort(key=lambda reading: (reading.time is None, reading.time))
    held_lots = [lot for lot in lots.values() if len({reading.time for reading in lot if reading.time is not None}) > 1]
    holding = max(held_lots, key=lambda lot: float(lot[0].time), default=[])
    pumping = [reading for lot in lots.values() for reading in (lot[:1] if lot in held_lots else lot)]
    return pumping, holding


# --- what follows ------------------------------------------------------------------------------

def _untold(vessel: Vessel, cause: str, verdict: HoldVerdict | None) -> ReadingsAnswer:
    nan = float("nan")
    seen = [float(np.ravel(reading.pressure)[0]) for reading in vessel.case.reading]
    ahead = min(2.0 * max(seen, default=0.0) + 1e5, float(vessel.case.test.pressure[0]))
    return ReadingsAnswer(
        AirFound(nan, nan, nan), ShareFound(nan, nan, nan), False if cause == "fall" else None, cause, WHY[cause],
        0, nan, nan, nan, nan, ahead, _stop_rule(vessel), VentAgain(nan, nan, False), None, verdict)


def _told(vessel: Vessel, rows: Rows, fit: Fit, cause: str, verdict: HoldVerdict | None) -> ReadingsAnswer:
    ends = [max(fit.air + step * COVER * fit.error, 0.0) for step in (-1.0, 0.0, 1.0)]
    volume = float(vessel.body.volume[0])
    found = replace(vessel.held, air=np.array([ends[1]]))
    last = np.array([rows.gauge[-1]])
    left = max(float(found.water_to(last, vessel.case.test.pressure)[0]), 0.0)
    time = _pump_time(vessel, found, last)
    surely = True if ends[0] > PIPELINE_LIMIT * volume else False if ends[2] < PIPELINE_LIMIT * volume else None
    fits = None if cause == "two" else cause == "good"
    return ReadingsAnswer(
        AirFound(*ends), ShareFound(*(end / volume for end in ends)), fits, cause, WHY[cause], len(rows.gauge),
        fit.start, left / vessel.stroke, left, time, _next(vessel, rows, fit), _stop_rule(vessel),
        _vent_again(vessel, last, time), surely, verdict)


def _pump_time(vessel: Vessel, closed: Held, start: Array) -> float:
    """Time of the pump from a gauge pressure to the test pressure, s; NaN where it stalls before."""
    if start[0] >= vessel.case.test.pressure[0]:
        return 0.0
    driver, _ = pump(vessel.case)
    asked = replace(duty(vessel.case, start), start_gauge=start, marks=start[None])
    pumped = pump_up(closed, driver, asked)
    return float(pumped.time[0]) if pumped.status[0] == Status.DONE else float("nan")


def _vent_again(vessel: Vessel, last: Array, time_left: float) -> VentAgain:
    """Costs: letting down and venting. Saves at most: the time left less a whole pump-up without any air."""
    case, none = vessel.case, np.zeros(1)
    if case.release.kv is not None:
        down = through_valve(vessel.held, case.release.kv, last, none)
    else:
        down = at_rate(case.release.rate, np.maximum(last, 1.0), none, vessel.held.full_gauge)
    bleed = 0.0 if case.labour.each.bleed is None else float(case.labour.each.bleed[0])
    clean = replace(vessel.held, air=none)
    task = filling(case, vessel.body, line(case))
    start = np.minimum(start_gauge(case, task), last)
    costs, saves = float(down[0]) + bleed, time_left - _pump_time(vessel, clean, start)
    return VentAgain(costs, saves, bool(saves > costs))


def _stop_rule(vessel: Vessel) -> float:
    """Twice the strokes that the case as written takes from the start to a tenth of the test pressure."""
    case = vessel.case
    start = start_gauge(case, filling(case, vessel.body, line(case)))
    tenth = 0.1 * case.test.pressure
    return 2.0 * float(vessel.held.water_to(np.minimum(start, tenth), tenth)[0]) / vessel.stroke


def _next(vessel: Vessel, rows: Rows, fit: Fit) -> float:
    """Where above the last reading one more narrows the air most, the lowest place that is nearly as good; NaN
    where no more is wanted or none would help."""
    test, last = float(vessel.case.test.pressure[0]), float(rows.gauge[-1])
    if last >= test or COVER * fit.error <= GOOD_ENOUGH * max(fit.air, 0.0):
        return float("nan")
    ahead = np.geomspace(max(1.15 * last, 0.5e5), max(test, 1.2 * last), STEPS_AHEAD)
    errors = np.array([error_with(vessel, rows, fit, place) for place in ahead])
    if errors.min() * WORTH > error_with(vessel, rows, fit, None):
        return float("nan")
    best = float(ahead[np.argmax(errors <= WORTH * errors.min())])
    return min(max(round(best / vessel.division), 1) * vessel.division, test)


def _hold(vessel: Vessel, seen: list[Reading]) -> HoldVerdict | None:
    if not seen:
        return None
    timed = [reading for reading in seen if reading.time is not None]
    first, last = timed[0], timed[-1]
    return hold_verdict(vessel.case, Seen(
        float(first.pressure), float(last.pressure), float(last.time) - float(first.time),
        *(None if one.temperature is None else float(one.temperature) for one in (first, last))))


