"""What a recorder's file tells of a test: its parts, the trapped air from the rise, and what explains the hold."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from fillcalc.arrays import Array, Flags, first
from fillcalc.case.medium import is_gas
from fillcalc.case.records import Case
from fillcalc.estimation.answers import answer, part
from fillcalc.job.resolve import resolve
from fillcalc.questions.readings.reached import FINER, division_of
from fillcalc.questions.recording.explained import FEWEST, HoldFit, explained
from fillcalc.questions.recording.parts import RELEASED, Jump, Parts, Span, Usual, parts_of, stretch
from fillcalc.questions.recording.rise import RiseFound, rise_found, with_air
from fillcalc.questions.recording.shut import Seen
from fillcalc.recorder.log import Log

MOST = 4000
"""Points of a record that are kept for its chart."""


@dataclass(frozen=True)
class Record:
    """The whole record for its chart, nodes on the first axis."""

    time_s: Array = answer("duration", "time since the first row", listed=True)
    gauge_pa: Array = answer("pressure", "gauge pressure", listed=True)


@dataclass(frozen=True)
class RecordedHold:
    """What the record tells. Floats; NaN where it does not tell."""

    parts: Parts = part()
    rise: RiseFound | None = part()
    fit: HoldFit | None = part()
    """None where there is no hold, or one of too few rows, or a test with gas."""
    gas: bool = part()
    """Whether the test is one with gas, of which nothing is explained."""
    start_gauge_pa: float = answer("pressure", "pressure at the beginning of the hold")
    end_gauge_pa: float = answer("pressure", "pressure at its end")
    change_pa: float = answer("pressure_change", "change of the pressure in the hold")
    time_s: float = answer("duration", "length of the hold")
    asked_s: float = answer("duration", "length that the case asks for")
    below_test: bool = part()
    """Whether the hold began below test pressure by more than is read."""
    ends_at_pressure: bool = part()
    """Whether the record ends before the pressure is let down."""
    within: tuple[Jump, ...] = part()
    """Sudden steps inside the hold, which only a hold that a person chose can have; they are taken off."""
    record: Record = part()


def hold(case: Case, log: Log, between: str = "", strokes_a_second: float | None = None,
         leaks: tuple[float, ...] = ()) -> RecordedHold:
    """Return what a record tells of the test of a case.

    `between` says where the hold is, such as "10:42-11:12", else it is found; `strokes_a_second` is how fast the pump
    ran, else it is that of the case; `leaks`, m3/s, are those for which a longer hold is asked. Raises NotInRecord for
    a hold that the record does not have.
    """
    gauge = log.gauge_pa(first(resolve(case).surroundings.pressure))
    usual = Usual(*(0.0 if each is None else float(each) for each in (case.labour.each.settle, case.test.hold)))
    parts = parts_of(log, gauge, usual, stretch(between, log) if between else None)
    gas = is_gas(case)
    rise = None if gas else rise_found(case, log, gauge, parts, strokes_a_second)
    seen, fit = parts.hold, None
    inside = () if seen is None else tuple(jump for jump in parts.jumps if seen.start_s < jump.at_s < seen.end_s)
    test, asked, nan = case.test_gauge, case.test.hold, float("nan")
    ends = (nan, nan)
    if seen is not None:
        rows = (log.time_s >= seen.start_s) & (log.time_s <= seen.end_s)
        ends = _ends(log.time_s[rows], gauge[rows])
        if rows.sum() >= FEWEST and not gas:
            fit = explained(with_air(case, rise), _seen(log, _even(log.time_s, gauge, inside), rows, parts), leaks)
    return RecordedHold(
        parts, rise, fit, gas, *ends, ends[1] - ends[0], nan if seen is None else seen.time_s,
        nan if asked is None else float(asked),
        bool(ends[0] < test - max(FINER * division_of(case), 0.0)),
        bool(parts.release is None and gauge[-1] > RELEASED * parts.highest_gauge_pa), inside,
        _record(log.time_s, gauge))


def _even(time: Array, gauge: Array, jumps: tuple[Jump, ...]) -> Array:
    """The pressure with sudden steps taken off."""
    return np.asarray(gauge - sum((jump.rise_pa * (time >= jump.at_s) for jump in jumps), np.zeros_like(gauge)))


def _seen(log: Log, gauge: Array, rows: Flags, parts: Parts) -> Seen:
    assert parts.hold is not None
    raised = parts.rise or parts.settle or Span(parts.hold.start_s, parts.hold.start_s, 0.0, 0.0)
    return Seen(log.time_s[rows], gauge[rows], None if log.temperature_k is None else log.temperature_k[rows],
                raised.time_s if parts.rise is not None else 60.0, max(parts.hold.start_s - raised.end_s, 0.0))


def _ends(time: Array, gauge: Array) -> tuple[float, float]:
    """The pressure at both ends of a hold, by straight lines through a tenth of it each, Pa."""
    near = max(2, len(time) // 10)
    if len(time) < 4:
        return float(gauge[0]), float(gauge[-1])
    found = []
    for part_, at in ((slice(0, near), time[0]), (slice(-near, None), time[-1])):
        middle = float(np.mean(time[part_]))
        slope = np.polyfit(time[part_] - middle, gauge[part_], 1)[0] if near > 3 else 0.0
        found.append(float(np.mean(gauge[part_]) + slope * (at - middle)))
    return found[0], found[1]


def _record(time: Array, gauge: Array) -> Record:
    """The record thinned: of each group of neighbours its lowest and its highest."""
    groups = MOST // 2
    if len(time) <= MOST:
        return Record(time, gauge)
    edges = np.linspace(0, len(time), groups + 1).astype(int)
    kept = [place for first, last in pairwise(edges)
            for place in sorted({first + int(np.argmin(gauge[first:last])), first + int(np.argmax(gauge[first:last]))})]
    return Record(time[kept], gauge[kept])
