"""The parts of a record: rise with its steps, peak, settle, hold, release; found by how fast the pressure moves."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from fillcalc.arrays import Array, Flags
from fillcalc.estimation.answers import answer, part
from fillcalc.recorder.log import DAY, Log
from fillcalc.units import UnitProblem, read_quantity

MOST = 4000
"""Points by which the parts are found; a longer record is averaged to so many."""
MOVES = 0.1
"""Part of the mean rate of the rise, or of the release, from which the pressure is taken to move."""
AT_PRESSURE = 0.5
"""Part of the highest pressure above which a hold can stand."""
LOOK_S = 6.0
"""Time over which the rate is seen, s: some strokes of a pump."""
QUIET_S = 20.0
"""A stop in the rise that is told as a step lasts so long, s."""
AGAINST_NOISE = 6.0
"""Standard deviations, or usual differences, that a sudden step of the pressure exceeds."""
STEP = 5
"""Points on each side of a sudden step by whose means it is seen."""
SETTLES, AT_LEAST = 0.25, 0.05
"""The most of a stretch at pressure that is given to settling, and what is given where the hold then is short."""
RELEASED = 0.05
"""Part of the pressure of the hold at which it counts as let down."""
SUDDEN_RELEASE = 0.25
"""A fall through half the highest pressure so fast that such a half goes in less of the time at pressure than this is a
release; a slower one is a leak."""


@dataclass(frozen=True)
class Span:
    """A part of the record."""

    start_s: float = answer("duration", "begins")
    end_s: float = answer("duration", "ends")
    start_gauge_pa: float = answer("pressure", "pressure at its beginning")
    end_gauge_pa: float = answer("pressure", "pressure at its end")

    @property
    def time_s(self) -> float:
        """How long it is, s."""
        return self.end_s - self.start_s


@dataclass(frozen=True)
class Jump:
    """A sudden step of the pressure while the vessel is shut."""

    at_s: float = answer("duration", "when")
    rise_pa: float = answer("pressure_change", "rise, a fall below zero")
    line: int = part()


@dataclass(frozen=True)
class Parts:
    """Where the record was cut; a part that it lacks is None. Times are since the first row."""

    rise: Span | None = part()
    steps: tuple[Span, ...] = part()
    """Stops of the pump on the way up."""
    peak: Span | None = part()
    """Where the pressure is highest; both ends are one."""
    settle: Span | None = part()
    hold: Span | None = part()
    release: Span | None = part()
    jumps: tuple[Jump, ...] = part()
    """Sudden steps at pressure: strokes of the pump where they rise."""
    moved: bool = part()
    """Whether a person said where the hold is."""

    @property
    def highest_gauge_pa(self) -> float:
        """The highest pressure of the record, Pa, wild points left out; NaN without a peak."""
        ends = [each.end_gauge_pa for each in (self.rise, self.settle, self.hold) if each is not None]
        return float("nan") if self.peak is None else max([self.peak.start_gauge_pa, *ends])


@dataclass(frozen=True)
class _Points:
    """The record as few points: time s, gauge Pa, its noise, and its smallest step."""

    time: Array
    gauge: Array
    noise: float
    step: float

    def span(self, first: int, last: int) -> Span:
        return Span(float(self.time[first]), float(self.time[last]), float(self.gauge[first]), float(self.gauge[last]))


@dataclass(frozen=True)
class Usual:
    """What the case has of these parts, s."""

    settle_s: float
    hold_s: float


def parts_of(log: Log, gauge: Array, usual: Usual, between: tuple[float, float] | None = None) -> Parts:
    """Return where a record is cut; `gauge` Pa, `between` the hold as a person gives it, s.

    The hold is the longest stretch above half the highest pressure in which the pressure neither rises nor falls at a
    tenth of the rate of the rise and of the release, and makes no sudden step. Its beginning is the settling: the wait
    of the case, but at most a quarter of the stretch, and no more than leaves the hold of the case, or a twentieth.
    """
    points = _points(log.time_s, gauge)
    top = float(np.max(_smooth(points.gauge)))
    if not top > max(AGAINST_NOISE * points.noise, 0.0):
        return Parts(None, (), None, None, None, None, (), False)
    up, down = _moves(points, top)
    jumps = _jumps(points, ~up & ~down & (points.gauge > AT_PRESSURE * top), log)
    quiet, at_pressure = _runs(~up & ~down), _smooth(points.gauge) > AT_PRESSURE * top
    high = _runs(~up & ~down & at_pressure)
    stretches = [piece for run in high for piece in _cut(points, run, jumps)]
    if between is None and not stretches:
        return Parts(None, (), None, None, None, None, (), False)
    if between is None:
        first, last = max(stretches, key=lambda piece: points.time[piece[1]] - points.time[piece[0]])
        whole = float(points.time[last] - points.time[first])
        began = points.time[first] + min(usual.settle_s, SETTLES * whole, max(whole - usual.hold_s, AT_LEAST * whole))
        start = min(int(np.searchsorted(points.time, began)), last - 1)
    else:
        start, last = _places(points.time, between)
        first = next((run[0] for run in high if run[0] <= start <= run[1]), start)
        first = max([first, *(int(np.searchsorted(points.time, jump.at_s)) for jump in jumps
                              if jump.at_s <= between[0])])
    hold, settle = points.span(start, last), points.span(first, start) if start > first else None
    peak = int(np.argmax(_smooth(points.gauge)))
    rise = _rise(points, up, first, top)
    steps = () if rise is None else tuple(
        points.span(a, b) for a, b in quiet if points.time[b] - points.time[a] >= QUIET_S
        and rise.start_s < points.time[a] and points.time[b] < rise.end_s)
    return Parts(rise, steps, points.span(peak, peak), settle, hold, _release(points, last, down), jumps,
                 between is not None)


def _places(time: Array, between: tuple[float, float]) -> tuple[int, int]:
    start, last = (int(np.argmin(np.abs(time - each))) for each in between)
    start = min(start, len(time) - 2)
    return start, max(last, start + 1)


def _points(time: Array, gauge: Array) -> _Points:
    """The record, averaged to `MOST` points at most."""
    together = -(-len(time) // MOST)
    if together > 1:
        whole = len(time) // together * together
        time, gauge = (values[:whole].reshape(-1, together).mean(axis=1) for values in (time, gauge))
    bends = np.abs(np.diff(gauge, 2))
    steps = np.abs(np.diff(gauge))
    steps = steps[steps > 1e-9 * float(np.max(np.abs(gauge)))]
    noise = float(np.median(bends)) / (0.6745 * 6.0**0.5)
    return _Points(time, gauge, noise, float(np.min(steps, initial=np.inf)) if together == 1 and steps.size else 0.0)


def _smooth(gauge: Array) -> Array:
    """The median of five neighbours, so that one wild point is no peak."""
    wide = np.pad(gauge, 2, mode="edge")
    return np.median(np.stack([wide[place:place + len(gauge)] for place in range(5)]), axis=0)


def _rates(points: _Points) -> Array:
    """Rate of the pressure about each point, Pa/s, over `LOOK_S` or the two neighbours."""
    reach = max(1, round(0.5 * LOOK_S / float(np.median(np.diff(points.time)))))
    places = np.arange(len(points.time))
    before, after = np.maximum(places - reach, 0), np.minimum(places + reach, len(places) - 1)
    return (points.gauge[after] - points.gauge[before]) / (points.time[after] - points.time[before])


def _moves(points: _Points, top: float) -> tuple[Flags, Flags]:
    """Where the pressure rises as by a pump, and where it falls as in a release."""
    rate = _rates(points)
    step = float(np.median(np.diff(points.time)))
    unsure = AGAINST_NOISE * max(points.noise, 0.3 * points.step) / max(LOOK_S, 2.0 * step)
    half = int(np.argmax(points.gauge >= AT_PRESSURE * top))
    low = np.flatnonzero(points.gauge[:half] < 0.1 * top)
    up = np.zeros(len(rate), bool)
    if low.size:
        raised = points.gauge[half] - points.gauge[low[-1]]
        up = rate > max(MOVES * raised / (points.time[half] - points.time[low[-1]]), unsure)
    down = np.zeros(len(rate), bool)
    above = np.flatnonzero(points.gauge >= AT_PRESSURE * top)
    last = int(above[-1])
    if last < len(rate) - 1:
        steepest = -float(np.min(rate[last:last + 2]))
        at_pressure = max(float(points.time[last] - points.time[half]), step)
        if AT_PRESSURE * top < steepest * SUDDEN_RELEASE * at_pressure:
            down = rate < -max(MOVES * steepest, unsure)
            down[last + 1:] = True
    return up, down


def _runs(flags: Flags) -> list[tuple[int, int]]:
    """First and last place of each run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]])))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _jumps(points: _Points, shut: Flags, log: Log) -> tuple[Jump, ...]:
    """Sudden steps at pressure: the means of the points before and after differ by far more than they usually do.

    A rise that is slower than a stroke, and a stop of the pump below the hold, are none.
    """
    found: list[Jump] = []
    high = _runs(_closed(points, shut))
    for first, last in high:
        count = last - first + 1
        if count < 4 * STEP:
            continue
        part_ = points.gauge[first:last + 1]
        total = np.concatenate([[0.0], np.cumsum(part_)])
        means = (total[STEP:] - total[:-STEP]) / STEP
        moved = means[STEP:] - means[:-STEP]
        usual = float(np.median(moved))
        scatter = 1.4826 * float(np.median(np.abs(moved - usual)))
        least = max(AGAINST_NOISE * points.noise * (2.0 / STEP) ** 0.5, AGAINST_NOISE * scatter, 1.5 * points.step)
        early = np.arange(len(moved)) < SETTLES * len(moved)
        beyond = (moved - usual > least) | ((usual - moved > least) & ~early)
        for a, b in _runs(beyond):
            at = a + int(np.argmax(np.abs(moved[a:b + 1] - usual)))
            near = slice(max(at, 0), at + 2 * STEP)
            within = np.diff(part_[near])
            if abs(float(within[np.argmax(np.abs(within))])) < 0.4 * abs(float(moved[at] - usual)):
                continue
            place = first + at + STEP
            when = float(points.time[place])
            found.append(Jump(when, float(moved[at] - usual), int(log.line[log.row_of(when)])))
    return tuple(found)


def _closed(points: _Points, shut: Flags) -> Flags:
    """The stretches at pressure with the short moves within them, for a stroke is one."""
    runs = _runs(shut)
    closed = shut.copy()
    for (_, end), (begin, _) in pairwise(runs):
        if points.time[begin] - points.time[end] <= max(3.0 * LOOK_S, 3.0 * float(np.median(np.diff(points.time)))):
            closed[end:begin + 1] = True
    return closed


def _cut(points: _Points, run: tuple[int, int], jumps: tuple[Jump, ...]) -> list[tuple[int, int]]:
    """A quiet run without the sudden steps in it."""
    places = [int(np.searchsorted(points.time, jump.at_s)) for jump in jumps]
    edges = [run[0], *(place for place in places if run[0] < place < run[1]), run[1]]
    pieces = [(a if a == run[0] else a + 1, b if b == run[1] else b - 1) for a, b in pairwise(edges)]
    return [(a, b) for a, b in pieces if b > a]


def _rise(points: _Points, up: Flags, last: int, top: float) -> Span | None:
    """From the last point at the bottom to the beginning of the hold's stretch; None where the record begins at
    pressure."""
    half = int(np.argmax(points.gauge >= AT_PRESSURE * top))
    low = np.flatnonzero(points.gauge[:half] < 0.1 * top)
    if not low.size or not up.any():
        return None
    moving = np.flatnonzero(up[:last + 1])
    if not moving.size:
        return None
    floor = np.flatnonzero(points.gauge[:half] <= points.gauge[:low[-1] + 1].min() + max(0.02 * top, points.noise))
    start = int(floor[-1]) if floor.size else int(low[0])
    return points.span(start, min(last, int(moving[-1]) + 1)) if moving[-1] >= start else None


def _release(points: _Points, last: int, down: Flags) -> Span | None:
    """From the end of the hold to where the pressure is let down; None where the record ends at pressure."""
    after = np.flatnonzero(down[last:])
    if not after.size:
        return None
    first = last + int(after[0])
    gone = np.flatnonzero(points.gauge[first:] < max(RELEASED * points.gauge[last], AGAINST_NOISE * points.noise))
    return points.span(max(first - 1, 0), first + int(gone[0]) if gone.size else len(points.time) - 1)


# --- where a person says that the hold is -----------------------------------------------------------

_CLOCK = re.compile(r"\s*(\d{1,2}):(\d{2})(?::(\d{2}(?:[.,]\d+)?))?\s*$")


class NotInRecord(ValueError):
    """A stretch that the record does not have, or no stretch at all."""


def stretch(text: str, log: Log) -> tuple[float, float]:
    """The beginning and end of "10:42-11:12", or of "6 min - 36 min" since the first row, s. Raises NotInRecord."""
    ends = re.split(r"\s*(?:-|–|\bto\b)\s*", text.strip())
    if len(ends) != 2:
        raise NotInRecord("Write the hold as 10:42-11:12, or as 6 min-36 min from the first row.")
    start, end = (_moment(each, log) for each in ends)
    if log.clock_s is not None and end < start and ":" in text:
        end += DAY
    latest = float(log.time_s[-1])
    if not 0.0 <= start < end <= latest + log.step_s:
        raise NotInRecord(f"The record goes from {log.clock(0.0)} to {log.clock(latest)}; "
                          "the hold must lie within it, its end after its beginning.")
    return start, min(end, latest)


def _moment(text: str, log: Log) -> float:
    found = _CLOCK.match(text)
    if found and log.clock_s is not None:
        second = float((found[3] or "0").replace(",", "."))
        since = 3600.0 * int(found[1]) + 60.0 * int(found[2]) + second - log.clock_s
        return since if since > -log.step_s else since + DAY
    try:
        return read_quantity(text, "duration")[0]
    except UnitProblem:
        raise NotInRecord("Write the hold as 10:42-11:12, or as 6 min-36 min from the first row." if log.clock_s
                          is not None else "This record has no clock: write the hold as 6 min-36 min from its first "
                          "row.") from None
