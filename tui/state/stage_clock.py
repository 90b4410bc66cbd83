"""The clock of the stages: what one press writes into the [took] of the case, and what stands there so far.

All of it is in the text of the case, so it survives a restart and can be corrected like any input.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from math import isnan, nan

from fillcalc.case.stages import STAGE_KEYS, STAGES
from tui.state.inputs import raw

HASTY_S = 5.0
"""No stage is over sooner than that, s."""
AGAIN_S = 10.0
"""Within so long a second press ends a stage that has not lasted as long as it is to, s."""


@dataclass(frozen=True)
class Running:
    """The stage that the clock runs on, by its key, and when it began."""

    key: str
    since: datetime

    def elapsed_s(self, now: datetime) -> float:
        """How long it has run, s; never below nothing."""
        return max((now - self.since).total_seconds(), 0.0)

    def just_began(self, now: datetime) -> bool:
        """Whether it began so lately that who ends it has pressed the key twice."""
        return 0.0 <= (now - self.since).total_seconds() < HASTY_S

    def asked_lately(self, asked: datetime | None, now: datetime) -> bool:
        """Whether it was asked, since it began and a moment ago, if this stage is to end before its time."""
        return asked is not None and self.since <= asked and 0.0 <= (now - asked).total_seconds() <= AGAIN_S


def running(table: Mapping[str, object]) -> Running | None:
    """The stage that runs by the text of a case; None where none does, or where that cannot be read."""
    key, since = raw(table, "took.running"), raw(table, "took.since")
    begun = moment_of(since)
    return Running(key, begun) if key in STAGE_KEYS and begun is not None else None


def moment_of(written: object) -> datetime | None:
    """A day and time as a case has it, by the clock on site; None where it cannot be read."""
    try:
        found = written if isinstance(written, datetime) else datetime.fromisoformat(str(written))
    except ValueError:
        return None
    return found.replace(tzinfo=None)


def steps(taken: Sequence[str]) -> tuple[str, ...]:
    """The stages that a press leads to, of those that take time in a case, in the order of the work."""
    return tuple(one.key for one in STAGES.values() if one.stepped and one.key in taken)


def pressed(table: Mapping[str, object], taken: Sequence[str], now: datetime) -> dict[str, str | None]:
    """What a press writes, by path: the time of the stage that ran, and the next one with its beginning; None takes an
    entry out. The first press begins the visit, the one after the last stage ends it and writes the time on site.
    """
    order, at = steps(taken), now.isoformat(" ", "seconds")
    ran = running(table)
    if ran is None:
        began = next((key for key in order if raw(table, f"took.{key}") is None), None)
        if began is None:
            return {}
        first: dict[str, str | None] = {"took.running": began, "took.since": at}
        if raw(table, "took.arrived") is None:
            first |= {"took.arrived": at, "took.date": now.date().isoformat()}
        return first
    found: dict[str, str | None] = {f"took.{ran.key}": written(lasted_s(table, ran, now))}
    after = next((key for key in order if STAGE_KEYS.index(key) > STAGE_KEYS.index(ran.key)
                  and raw(table, f"took.{key}") is None), None)
    if after is not None:
        return {**found, "took.running": after, "took.since": at}
    arrived = moment_of(raw(table, "took.arrived"))
    if arrived is not None and raw(table, "took.on_site") is None:
        found["took.on_site"] = written((now - arrived).total_seconds())
    return {**found, "took.running": None, "took.since": None}


def lasted_s(table: Mapping[str, object], ran: Running, now: datetime) -> float:
    """How long the running stage has lasted, s, with what it had taken before where it runs again."""
    return ran.elapsed_s(now) + _before(table, ran.key)


def _before(table: Mapping[str, object], key: str) -> float:
    """What a stage that runs again had taken before, s."""
    time = seconds_of(raw(table, f"took.{key}"))
    return 0.0 if isnan(time) else time


def seconds_of(said: object) -> float:
    """A time as it stands in the text of a case, s; NaN where there is none that can be read."""
    from fillcalc.units import UnitProblem, read_quantity

    try:
        return float(read_quantity(said, "duration")[0]) if isinstance(said, str) else nan
    except UnitProblem:
        return nan


def written(seconds: float) -> str:
    """A time as one would write it: seconds below two minutes, tenths of a minute below ten, whole ones above."""
    if seconds < 120.0:
        return f"{seconds:.0f} s"
    minutes = seconds / 60.0
    if minutes < 10.0:
        return f"{minutes:.1f} min"
    return f"{minutes:.0f} min" if minutes < 120.0 else f"{minutes // 60:.0f} h {minutes % 60:02.0f} min" \
        if round(minutes % 60.0) < 60 else f"{minutes // 60 + 1:.0f} h 00 min"
