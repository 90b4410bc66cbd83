"""How many working days a visit takes, what is done on which, and what would take fewer."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from fillcalc.arrays import Array, drawn
from fillcalc.case.medium import is_gas
from fillcalc.case.records import Case
from fillcalc.estimation.answers import Day, Days, DayWork, Shorter
from fillcalc.estimation.days import (
    AGAIN,
    DAY_AND_NIGHT,
    THE_REST,
    WAITING,
    Laid,
    Visiting,
    Work,
    days_of,
    lay_out,
    work_of,
)
from fillcalc.estimation.stages import BY_FILL, BY_GAS, batches
from fillcalc.questions.percentiles import PERCENTS, low_likely_high

HANDS, FILLED_BEFORE, FILL_WHILE_HOLDING = "hands", "filled before", "fill while holding"
WAYS = (HANDS, FILL_WHILE_HOLDING, FILLED_BEFORE)
"""What may take fewer days, what costs least first."""
WORTH_FILLING_BEFORE = 1800.0
"""A fill below this, s, is not worth doing before the visit; judgement."""
SHARED = 0.5
"""Time of connecting and disconnecting with a second pair of hands, over that of one."""
PART_NAMES = {0: "prepare", 1: "pressed", 2: "after", WAITING: "wait", AGAIN: "rework"}
GAS = "gas "
"""Before the part of a load that is tested with gas."""
MOST_DAYS = 100.0
"""Days up to which it is told what is done on which."""
SUMS_UP = 0.02
"""How far the days of the run at likely values may sum up beside the likely time on site, as a part of it."""
LONGER = 1.01
"""Times the working day from which a day is longer: about 5 min, the step that times are told in."""
NO_TIME = 1.0
"""Work that takes less than this on a day, s, is not told."""


@dataclass(frozen=True)
class CaseTimes:
    """One case of a visit: its stages over all rows, s, those that cannot be had, and what is saved of its loads."""

    case: Case
    times: Mapping[str, Array]
    without: tuple[str, ...] = ()
    saved: Array | float = 0.0
    """Of connecting and filling, all loads together, s."""

    def work(self) -> Work:
        """Its loads."""
        work = work_of(batches(self.case), self.times, self.without)
        prepare, *others = work.parts
        return replace(work, parts=(np.maximum(prepare - np.asarray(self.saved) / work.loads, 0.0), *others))


def number_of_days(cases: Sequence[CaseTimes], once: Visiting) -> Array:
    """Return the days of the visit, (rows,); NaN where it never finishes."""
    return days_of([one.work() for one in cases], once)


def days_answer(cases: Sequence[CaseTimes], once: Visiting, total: Array, number: Array) -> Days:
    """Return what is told of the days of a visit.

    `total` is its time on site and `number` its days, (rows,): the run at likely values first, then the samples.
    """
    low, likely, high = (rank(drawn(number), share) for share in PERCENTS)
    found = Days(float(once.day[0]), low, likely, high)
    shown = float(low_likely_high(total[0], drawn(total))[1])
    if not likely > 1.0:
        if not shown > found.day_s * LONGER:
            return found
        row = int(np.argmin(np.where((number == likely) & np.isfinite(total), np.abs(total - shown), np.inf)))
        return replace(found, plan=_plan(cases, _at(once, row), row))
    row = _row(total, number, likely, once.day[:total.size])
    return replace(found, plan=_plan(cases, _at(once, row), row) if likely <= MOST_DAYS else (),
                   shorter=tuple(_shorter(cases, once, likely)))


def rank(values: Array, share: float) -> float:
    """The value at that rank, one that is there; NaN where it is among those that never come."""
    found = np.sort(np.where(np.isfinite(values), values, np.inf))[int(share * (values.size - 1))]
    return float(found) if np.isfinite(found) else float("nan")


def _row(total: Array, number: Array, likely: float, day: Array) -> int:
    """The row whose days are told: the run at likely values, so that the same work takes the same time in every visit;
    where its days are not the likely ones, or do not sum up to the likely time on site, the row of so many days that is
    next to the likely time on site and working day."""
    shown = float(low_likely_high(total[0], drawn(total))[1])
    away = np.abs(total / shown - 1.0) + np.abs(day / day[0] - 1.0)
    if number[0] == likely and away[0] <= SUMS_UP:
        return 0
    return int(np.argmin(np.where((number == likely) & np.isfinite(away), away, np.inf)))


def _at(once: Visiting, row: int) -> Visiting:
    return Visiting(*(_one(values, row) for values in (once.day, once.set_up, once.pack_up, once.wait, once.again)))


def _one(values: Array, row: int) -> Array:
    return values[:1] if values.size == 1 else values[row:row + 1]


# --- what is done on which day ------------------------------------------------------------------

def _plan(cases: Sequence[CaseTimes], once: Visiting, row: int) -> tuple[Day, ...]:
    works = [one.work() for one in cases]
    alone = [replace(work, parts=tuple(_one(part, row) for part in work.parts)) for work in works]
    names = [_names(one) for one in cases]
    laid, left = list(lay_out(alone, once)), float(once.for_work[0])
    own = float(once.set_up[0] + once.pack_up[0])
    days: list[tuple[float, tuple[DayWork, ...]]] = []
    for day in range(1, round(float(laid[-1].ends[0][0])) + 1):
        spent = [(one, seconds) for one in laid for seconds in [_spent(one, day, left)] if seconds >= NO_TIME]
        days.append((own + sum(seconds for _, seconds in spent),
                     tuple(_work(one, day, works, names) for one, _ in spent)))
    if len(days) > 1 and days[-1][0] - own <= float(once.not_worth_a_day[0]):
        (time, before), (last, after) = days[-2:]
        days[-2:] = [(time + last - own, _in_one_go(before, after))]
    return tuple(Day(time, tuple(_whole_loads(done, alone, names))) for time, done in days)


def _in_one_go(before: tuple[DayWork, ...], after: tuple[DayWork, ...]) -> tuple[DayWork, ...]:
    """The work of two days that became one: what would have been broken off overnight is not."""
    same = [(one.case, one.first_load, one.work) for one in (*before[-1:], *after[:1])]
    if len(same) < 2 or same[0] != same[1]:
        return (*before, *after)
    return (*before[:-1], replace(before[-1], goes_on=after[0].goes_on), *after[1:])


def _spent(laid: Laid, day: int, left: float) -> float:
    """Time of a piece of work on one day, s."""
    (first, begins), (last, ends) = ((float(when[0]), float(time[0])) for when, time in (laid.begins, laid.ends))
    if not first <= day <= last:
        return 0.0
    whole_day = left if laid.breaks else max(left, DAY_AND_NIGHT)
    return (ends if day == last else max(whole_day, begins)) - (begins if day == first else 0.0)


def _names(one: CaseTimes) -> dict[int, str]:
    """What each part of a load is called in the data."""
    gas = BY_GAS in one.times
    return {part: f"{GAS}{name}" if gas and part >= 0 else name for part, name in PART_NAMES.items()}


def _work(laid: Laid, day: int, works: Sequence[Work], names: Sequence[dict[int, str]]) -> DayWork:
    begun, goes_on = float(laid.begins[0][0]) < day, float(laid.ends[0][0]) > day
    first = laid.load + 1
    if laid.part == THE_REST:
        return DayWork(laid.case + 1, first, works[laid.case].loads, "", begun, goes_on)
    name = (names[laid.case] if laid.case >= 0 else PART_NAMES)[laid.part]
    return DayWork(laid.case + 1, first, first, name, begun, goes_on)


def _whole_loads(found: Sequence[DayWork], works: Sequence[Work],
                 names: Sequence[dict[int, str]]) -> Iterator[DayWork]:
    """The work of a day, with whole loads one after the other told as one."""
    grouped: list[list[DayWork]] = []
    for one in found:
        same = grouped and grouped[-1][0].case == one.case and grouped[-1][0].first_load == one.first_load
        if same and one.case:
            grouped[-1].append(one)
        else:
            grouped.append([one])
    lines: list[DayWork] = []
    for group in grouped:
        case = group[0].case
        if not case or not _is_whole(group, works[case - 1], names[case - 1]):
            lines += group
            continue
        whole = replace(group[0], work="")
        if lines and lines[-1].case == case and lines[-1].work == "" and lines[-1].last_load + 1 == whole.first_load:
            lines[-1] = replace(lines[-1], last_load=whole.last_load)
        else:
            lines.append(whole)
    yield from lines


def _is_whole(group: Sequence[DayWork], work: Work, names: dict[int, str]) -> bool:
    """All parts of a load that take time, none of them broken off."""
    if any(one.begun or one.goes_on for one in group):
        return False
    parts = {names[number] for number, part in enumerate(work.parts) if float(part[0]) >= NO_TIME}
    return group[0].work == "" or {one.work for one in group} == parts


# --- what would take fewer ----------------------------------------------------------------------

def _shorter(cases: Sequence[CaseTimes], once: Visiting, likely: float) -> Iterator[Shorter]:
    """Each single way that takes fewer days; where none comes to one day, the fewest ways together that do, or all."""
    found: dict[tuple[str, ...], float] = {}
    usable = [way for way in WAYS if _applies(way, cases)]
    for count in range(1, len(usable) + 1):
        for ways in combinations(usable, count):
            days = rank(drawn(days_of(_changed(cases, ways), once)), 0.5)
            if days < min([likely, *(found[some] for some in found if set(some) < set(ways))]):
                found[ways] = days
                yield Shorter(ways, days)
        if any(days <= 1.0 for days in found.values()):
            return


def _applies(way: str, cases: Sequence[CaseTimes]) -> bool:
    if way == HANDS:
        return any((one.case.labour.crew or 1) < 2 for one in cases)
    if way == FILLED_BEFORE:
        fills = [float(np.atleast_1d(_fill(one))[0]) for one in cases if batches(one.case) == 1]
        return max(fills, default=0.0) >= WORTH_FILLING_BEFORE
    return sum(batches(one.case) for one in cases if not is_gas(one.case)) > 1


def _fill(one: CaseTimes) -> Array:
    return np.asarray(sum(one.times[name] for name in BY_FILL
                          if name in one.times and name not in one.without), float)


def _changed(cases: Sequence[CaseTimes], ways: Sequence[str]) -> list[Work]:
    """The work with these ways taken."""
    found, before = [], None
    for one in cases:
        times, loads = dict(one.times), batches(one.case)
        if HANDS in ways and (one.case.labour.crew or 1) < 2:
            times |= {name: SHARED * times[name] for name in ("connect", "disconnect")}
        if FILLED_BEFORE in ways and loads == 1:
            times |= {name: 0.0 * times[name] for name in BY_FILL if name in times}
        now = replace(one, times=times)
        if FILL_WHILE_HOLDING in ways and not is_gas(now.case):  # nobody works beside a piece that holds gas
            fill, stands = _fill(now) / loads, (times["settle"] + times["hold"]) / loads
            saved = (loads - 1) * np.minimum(fill, stands)
            saved = saved + (0.0 if before is None else np.minimum(fill, before))
            now, before = replace(now, saved=now.saved + saved), stands
        found.append(now.work())
    return found
