"""The working days of a visit, told once: how many, what is done on which, and what would take fewer."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from math import isfinite

from fillcalc.estimation.answers import Day, Days, DayWork, Loads, Shorter
from fillcalc.questions.days import FILL_WHILE_HOLDING, FILLED_BEFORE, HANDS, LONGER
from fillcalc.units import show, show_short

TITLE = "Working days"
STAGES = {"prepare": "connect and fill", "pressed": "pump up, hold and release", "after": "drain and disconnect",
          "gas prepare": "connect", "gas pressed": "raise, hold and let off", "gas after": "disconnect",
          "wait": "wait", "rework": "re-made joints"}
"""What each part of the work is called."""
WAYS = {HANDS: "a second pair of hands", FILL_WHILE_HOLDING: "the next load filled while one holds",
        FILLED_BEFORE: "the vessel filled before the crew comes"}


def in_days(days: Days | None) -> tuple[str, ...]:
    """Return "over 2 days"; nothing for one day, or where the visit never ends."""
    return (f"over {_count(days.likely)}",) if days is not None and days.likely > 1.0 else ()


def beside_days(days: Days | None, units: str) -> tuple[str, ...]:
    """Return "2 days of 8 h" for the line of the time on site; nothing where it takes one day."""
    if days is None or not (days.likely > 1.0):
        return ()
    return (f"{_count(days.likely)} of {_of(days, units)}",)


def days_sentences(days: Days | None, loads: Sequence[Loads | None], units: str) -> list[str]:
    """Return all that is told of the days; `loads` are those of each case. Nothing for a sure single day that is no
    longer than the working day."""
    count = [1 if one is None else round(float(one.loads)) for one in loads]
    if days is None or not isfinite(days.likely) or not (days.likely > 1.0 or days.high > 1.0 or days.plan):
        return []
    ends = "" if days.low == days.high else \
        f" ({round(days.low)} to {round(days.high)})" if isfinite(days.high) else f" ({round(days.low)} or more)"
    lines = [f"At {_of(days, units)} a day, set-up and pack-up included, the visit takes {_count(days.likely)}{ends}."]
    if not days.likely > 1.0:
        return [*lines, *(_longer(day, units) for day in days.plan)]
    lines += [_of_day(number, day, count, units) for number, day in enumerate(days.plan, 1)]
    if any(day.time_s > LONGER * days.day_s for day in days.plan):
        lines.append("A day is longer where work under pressure must not be broken off, or little is left to do.")
    return [*lines, *(_shorter(one) for one in days.shorter)]


def _of(days: Days, units: str) -> str:
    return show_short(days.day_s, units)


def _count(days: float) -> str:
    number = round(days)
    return f"{number} day{'' if number == 1 else 's'}"


def _of_day(number: int, day: Day, loads: Sequence[int], units: str) -> str:
    groups = groupby(day.works, key=lambda one: (one.case, one.first_load, one.last_load) if one.case else one.work)
    works = "; ".join(_work(tuple(group), loads) for _, group in groups)
    return f"Day {number}, {_rounded(day.time_s, units)}: {works}."


def _work(works: Sequence[DayWork], loads: Sequence[int]) -> str:
    """Which load, and what is done of it where that is not all."""
    first = works[0]
    which = [f"case {first.case}"] if len(loads) > 1 and first.case else []
    if first.case and loads[first.case - 1] > 1:
        which.append(f"load {first.first_load}" if first.first_load == first.last_load
                     else f"loads {first.first_load} to {first.last_load}")
    stages = ", ".join(f"{STAGES.get(one.work, '')}{_state(one)}" for one in works)
    return ": ".join(filter(None, [", ".join(which), stages])) or "all of it"


def _longer(day: Day, units: str) -> str:
    """Why one day is enough for more than a working day."""
    return f"That day is about {_rounded(day.time_s, units)} long: work under pressure is not broken off, and " \
           "nobody comes back for less than another set-up and pack-up take."


def _rounded(seconds: float, units: str) -> str:
    return show(round(seconds / 300.0) * 300.0, "duration", units)


def _state(one: DayWork) -> str:
    return " (go on)" if one.begun and one.goes_on else " (finish)" if one.begun else " (begin)" if one.goes_on else ""


def _shorter(one: Shorter) -> str:
    ways = [WAYS[way] for way in one.ways]
    joined = " and ".join([", ".join(ways[:-1]), ways[-1]] if len(ways) > 1 else ways)
    return f"With {joined}, it takes {_count(one.days)}."
