"""Trapped air from the rise of a record: counts by the strokes a minute or by the pump of the case, then as readings.

The rise is read at some pressures as a person would note them, and the fit of readings does the rest. How fast the
pump truly ran is not known, so the fit is made at several rates, and the answer holds all that fit.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case.records import Case, Range, Reading
from fillcalc.estimation.answers import answer, part
from fillcalc.job.job import job_of
from fillcalc.model import pump as pumps
from fillcalc.questions.readings.answer import AirFound, ReadingsAnswer, ShareFound, readings
from fillcalc.questions.recording.parts import Parts, Span
from fillcalc.recorder.log import Log
from fillcalc.tree import put

READ_AT = 10
"""Pressures at which the rise is read."""
FEWEST = 8
"""Rows of a rise below which nothing is made of it."""
BY_STROKES, BY_PUMP = 0.1, 0.25
"""Half of the range of the rate, as a part: of strokes that were counted for a minute, of the pump by its model;
judgement."""
RATES = (-1.0, -0.5, 0.0, 0.5, 1.0)
MIDDLE, LAST = (0.35, 0.65), (0.70, 0.97)
"""Parts of the rise whose rates are compared, of the pressure at its end."""
BENDS = 0.75
"""The last part's rate over what is expected of it, below which the rise bends the wrong way; judgement."""
ENOUGH = 3
"""Rows in each of these parts without which nothing is said of its rate."""


@dataclass(frozen=True)
class RiseFound:
    """What the rise tells. NaN where it tells nothing."""

    trapped_air_m3: AirFound = part()
    share: ShareFound = part()
    fits: bool | None = part()
    why: str = part()
    """What is said of the fit, as of readings."""
    by: str = part()
    """What counted the water: "strokes" a minute, the "pump" of the case, or "" where nothing could."""
    bends: bool = part()
    """Whether the pressure rises more slowly near the top than this pump and vessel would make it."""
    bends_from_gauge_pa: float = answer("pressure", "from which pressure")


ROUGH = ("The pump of the case would not make such a rise: take this air as rough, and give the strokes a minute "
         "(--strokes, on the screen S).")
"""What is said where no rate of the pump fits; a count might."""
NOTHING = (AirFound(*(float("nan"),) * 3), ShareFound(*(float("nan"),) * 3))


def rise_found(case: Case, log: Log, gauge: Array, parts: Parts, strokes_a_second: float | None) -> RiseFound | None:
    """Return what the rise of a record tells of the trapped air; None for a record without one."""
    rise = parts.rise
    if rise is None:
        return None
    within = (log.time_s >= rise.start_s) & (log.time_s <= rise.end_s)
    time, pressure = log.time_s[within], np.maximum.accumulate(gauge[within])
    if len(time) < FEWEST or not pressure[-1] > pressure[0]:
        return RiseFound(*NOTHING, None, "The rise has too few rows to tell the trapped air.", "", False, float("nan"))
    pumping = _pumping(time, parts.steps)
    flow, by = _flow(case, pressure, strokes_a_second)
    bends = _bends(case, time, pressure, pumping, flow)
    if flow is None:
        why = "The water of a stroke is not known: give pump.stroke, or leave the strokes out."
        return RiseFound(*NOTHING, None, why, "", *bends)
    water = np.concatenate([[0.0], np.cumsum(0.5 * (flow[1:] + flow[:-1]) * np.diff(pumping))])
    spread_ = BY_STROKES if by == "strokes" else BY_PUMP
    found_at_rates = [readings(replace(case, reading=_readings(time, pressure, water * (1.0 + each * spread_))))
            for each in RATES]
    best = next((one for one in found_at_rates if one.fits), found_at_rates[len(RATES) // 2])
    return RiseFound(*_together(found_at_rates), ROUGH if by == "pump" and not best.fits else best.why, by, *bends)


def with_air(case: Case, found: RiseFound | None) -> Case:
    """The case with the trapped air that the rise tells, where strokes were counted and the fit holds."""
    if found is None or found.by != "strokes" or not found.fits or not found.share.low > 0.0:
        return case
    low, likely, high = (float(each) for each in (found.share.low, found.share.likely, found.share.high))
    changed = put(case, "trapped_air.amount", likely)
    return replace(changed, families={**case.families, "trapped_air.amount": "share"},
                   ranges={**case.ranges, "trapped_air.amount": Range(low, likely, high, True)})


def _pumping(time: Array, steps: tuple[Span, ...]) -> Array:
    """Time that the pump ran until each row, s."""
    stood = np.zeros_like(time)
    for step in steps:
        stood += np.clip(time, step.start_s, step.end_s) - step.start_s
    return np.asarray(time - time[0] - stood)


def _flow(case: Case, gauge: Array, strokes_a_second: float | None) -> tuple[Array | None, str]:
    """Flow of the pump at gauge pressures, m3/s, and what it comes from."""
    job = job_of(case)
    if strokes_a_second is not None:
        stroke = getattr(job.case.pump, "stroke", None)
        return (None if stroke is None else np.full_like(gauge, strokes_a_second * float(stroke[0]))), "strokes"
    return np.asarray(pumps.flow(job.driver, gauge[:, None])[0][:, 0]), "pump"


def _readings(time: Array, pressure: Array, water: Array) -> tuple[Reading, ...]:
    """The rise as noted at some pressures, evenly apart; the time is that since the first."""
    places = np.linspace(pressure[0], pressure[-1], READ_AT + 1)[1:]
    at = [min(int(np.searchsorted(pressure, place)), len(pressure) - 1) for place in places]
    return tuple(Reading(pressure=float(max(pressure[row], 0.0)), water=float(water[row]),
                         time=float(time[row] - time[0])) for row in sorted(set(at)) if water[row] > 0.0)


def _together(found_at_rates: list[ReadingsAnswer]) -> tuple[AirFound, ShareFound, bool | None]:
    """The air of all rates that fit, or of all where none does."""
    fit = [one for one in found_at_rates if one.fits] or found_at_rates
    known = [one for one in fit if np.isfinite(one.trapped_air_m3.likely)]
    if not known:
        return (*NOTHING, False if any(one.fits is False for one in found_at_rates) else None)
    middle = sorted(known, key=lambda one: float(one.trapped_air_m3.likely))[len(known) // 2]

    def three(name: str) -> tuple[float, float, float]:
        each = [getattr(one, name) for one in known]
        return (min(float(one.low) for one in each), float(getattr(middle, name).likely),
                max(float(one.high) for one in each))

    return AirFound(*three("trapped_air_m3")), ShareFound(*three("share")), any(one.fits for one in found_at_rates)


def _bends(case: Case, time: Array, pressure: Array, pumping: Array, flow: Array | None) -> tuple[bool, float]:
    """Whether the rate near the top, over that in the middle, is far below what pump and vessel make of it."""
    top = float(pressure[-1])
    edges = np.array([*MIDDLE, *LAST]) * top
    rows = [np.sum((pressure >= a) & (pressure <= b)) for a, b in (edges[:2], edges[2:])]
    if flow is None or edges[0] <= pressure[0] or min(rows) < ENOUGH:
        return False, float("nan")
    rate = flow / job_of(case).closed.at(pressure).compliance
    took = np.interp(edges, pressure, pumping)
    slower = np.where(rate > 1e-9 * float(np.max(rate)), 1.0 / np.maximum(rate, 1e-9 * float(np.max(rate))), 0.0)
    expected = np.concatenate([[0.0], np.cumsum(0.5 * (slower[1:] + slower[:-1]) * np.diff(pressure))])
    due = np.interp(edges, pressure, expected)
    seen, wanted = ((each[1] - each[0]) / max(each[3] - each[2], 1e-9) for each in (took, due))
    return bool(seen < BENDS * wanted and took[3] - took[2] > 0.0), float(edges[2])
