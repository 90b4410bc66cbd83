"""A visit laid out over working days, over all samples at once.

Each day begins with the set-up and ends with the pack-up. A load under pressure is not left for the night: where the
work from bleeding to release does not fit into what is left of the day it begins the next morning, and where it takes
longer than a day that day is longer. What comes before (connecting, filling) and after (drain, disconnecting) may go on
the next morning. Nobody comes back for less work than another set-up and pack-up take: it is done the day before.
Waiting counts once.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case.records import Case
from fillcalc.estimation.stages import BY_FILL, BY_GAS, BY_PUMP, REWORK, WAIT

SET_UP, PACK_UP = "set up", "pack up"
PREPARE = ("connect", *BY_FILL)
PRESSED = ("bleed", *BY_PUMP, BY_GAS, "settle", "hold", "inspect", "release", "let off")
AFTER = ("drain", "disconnect")
PARTS = (PREPARE, PRESSED, AFTER)
"""The stages of a load, in three parts; only the second may not be broken off for the night."""
LEAST_OF_DAY = 0.25
"""Part of a day that is left for work, however long set-up and pack-up take; judgement."""
MOST_LOADS = 60
"""Loads of a case that are laid out one by one; the rest goes at their pace."""


DAY_AND_NIGHT = 86400.0
NEARLY = 1e-9
When: TypeAlias = tuple[Array, Array]
"""The day, from 1, and the time of work in it, s."""
OF_NO_CASE, WAITING, AGAIN, THE_REST, PRESSED_PART = -1, -1, -2, -3, 1


@dataclass(frozen=True)
class Work:
    """One case of a visit: its loads, and the time of each part of one load, s."""

    loads: int
    parts: tuple[Array, ...]


@dataclass(frozen=True)
class Visiting:
    """What counts once a visit or once a day, s, over the same rows."""

    day: Array
    set_up: Array
    pack_up: Array
    wait: Array
    again: Array
    """All re-made joints."""

    @property
    def for_work(self) -> Array:
        """Time of a day that is left for work, s."""
        return np.maximum(self.day - self.set_up - self.pack_up, LEAST_OF_DAY * self.day)

    @property
    def not_worth_a_day(self) -> Array:
        """Work that nobody comes back for, s."""
        return self.set_up + self.pack_up


@dataclass(frozen=True)
class Laid:
    """A piece of work where it falls: from one time of one day to another; days count from 1."""

    case: int
    """Place of the case, from 0, or OF_NO_CASE."""
    load: int
    """Place of the load, from 0."""
    part: int
    """A place in PARTS, or one of WAITING, AGAIN and THE_REST, which is all later loads together."""
    begins: When
    ends: When

    @property
    def breaks(self) -> bool:
        """Whether it may go on the next morning."""
        return self.part != PRESSED_PART


def work_of(loads: int, times: Mapping[str, Array], without: Collection[str] = ()) -> Work:
    """The work of a case from the times of its stages, all loads together, without the stages that cannot be had."""
    rows = np.zeros(1)
    return Work(loads, tuple(
        rows + sum(times[name] for name in part if name in times and name not in without) / loads for part in PARTS))


def visiting(case: Case, times: Mapping[str, Array]) -> Visiting:
    """What counts once in a visit of one case."""
    return Visiting(np.atleast_1d(np.asarray(case.labour.day, float)), times[SET_UP], times[PACK_UP], times[WAIT],
                    times[REWORK])


def lay_out(works: Sequence[Work], once: Visiting) -> Iterator[Laid]:
    """Each piece of work in its order, over all rows: where it begins and ends."""
    left = once.for_work
    rows = np.ones(np.broadcast_shapes(left.shape, once.wait.shape, *(part.shape for one in works
                                                                      for part in one.parts)))
    now = _ends((rows, 0.0 * rows), once.wait, left)
    yield Laid(OF_NO_CASE, 0, WAITING, (rows, 0.0 * rows), now)
    for case, work in enumerate(works):
        first = now
        for load in range(min(work.loads, MOST_LOADS)):
            for part, time in enumerate(work.parts):
                begins = _begins(now, time, left, breaks=part != PRESSED_PART)
                now = _ends(begins, time, left, breaks=part != PRESSED_PART)
                yield Laid(case, load, part, begins, now)
        if work.loads > MOST_LOADS:
            gone = (now[0] - first[0]) * left + now[1] - first[1]
            time = gone * (work.loads - MOST_LOADS) / MOST_LOADS
            begins = _begins(now, time, left)
            now = _ends(begins, time, left)
            yield Laid(case, MOST_LOADS, THE_REST, begins, now)
    begins = _begins(now, once.again, left)
    yield Laid(OF_NO_CASE, 0, AGAIN, begins, _ends(begins, once.again, left))


def _begins(now: When, time: Array, left: Array, breaks: bool = True) -> When:
    """When work begins: the next morning after a full day, and where it may not be broken off and would not end."""
    day, used = now
    full = used >= left * (1.0 - NEARLY)
    waits = (time > 0.0) & (full if breaks else full | ((used + time > left * (1.0 + NEARLY)) & (used > 0.0)))
    return np.where(waits, day + 1.0, day), np.where(waits, 0.0, used)


def _ends(begins: When, time: Array, left: Array, breaks: bool = True) -> When:
    """When it ends; what may not be broken off goes on day and night."""
    day, used = begins
    length = left if breaks else np.maximum(left, DAY_AND_NIGHT)
    further = np.where(time > 0.0, np.maximum(np.ceil((used + time) / length - NEARLY) - 1.0, 0.0), 0.0)
    return day + further, used + time - further * length


def days_of(works: Sequence[Work], once: Visiting) -> Array:
    """How many days the visit takes, (rows,); NaN where it never finishes."""
    whole = once.wait + once.again + sum(work.loads * part for work in works for part in work.parts)
    if np.all(whole <= once.for_work):
        return np.ones_like(whole)
    *_, last = lay_out(works, once)
    day, used = last.ends
    day = day - ((day > 1.0) & (used <= once.not_worth_a_day))
    return np.where(np.isfinite(whole), day, np.nan)


def counted(times: Mapping[str, Array], days: Array) -> dict[str, Array]:
    """The times with the set-up and the pack-up of each day; once where the visit never finishes."""
    number = np.where(np.isfinite(days), days, 1.0)
    return {name: number * time if name in (SET_UP, PACK_UP) else time for name, time in times.items()}
