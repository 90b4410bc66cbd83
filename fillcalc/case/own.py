"""Figures of one's own, learned from finished jobs or written by hand: they stand in for defaults, never for what a
case gives.

Each entry says where it holds and its low, likely and high, with the reason. The first of a file that fits a case is
taken.
"""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from typing import ClassVar

from fillcalc.case import records
from fillcalc.case.fields import Default, choice, quantity, text, whole
from fillcalc.case.fields import number as plain_number
from fillcalc.case.practice import KINDS
from fillcalc.case.records import Case
from fillcalc.units import write

ONCE_STAGES, EACH_STAGES = ("wait", "set_up", "pack_up"), ("connect", "bleed", "settle", "inspect", "disconnect")
PATHS = {**{stage: f"labour.visit.{stage}" for stage in ONCE_STAGES},
         **{stage: f"labour.each.{stage}" for stage in EACH_STAGES}, "rework": "rework.time"}
"""The input of the case that a stage of work is."""
CLOSING = ("connect", "disconnect")
"""Stages whose time is told for one opening: it grows with their number, and hangs on closure and size."""
BENCH, SITE, VESSEL, RUN = "bench", "site", "vessel", "pipe run"
WORK = (BENCH, SITE, VESSEL, RUN)
"""Where the work is done: valves at a bench, or on site at a vessel or a pipe run."""


def work_of(vessel: records.Vessel) -> tuple[str, ...]:
    """Return the words that tell where the work on a vessel is done, the broader first."""
    from fillcalc.case import norms

    if norms.bench(vessel) is not None:
        return (BENCH,)
    return (SITE, RUN if isinstance(vessel, records.PipeRun) else VESSEL)


@dataclass(frozen=True)
class OwnTime:
    """Time of a stage of work; connecting and disconnecting for one opening."""

    group: ClassVar[str] = "job"
    stage: str = choice(tuple(PATHS), "stage of the work", example="connect", required=True, label="stage")
    work: str | None = choice(WORK, "where: valves at a bench, on site, at a vessel, at a pipe run", label="work")
    crew: int | None = whole("people on the job", "1", low=1, high=100, label="crew")
    closure: str | None = choice(("bolted blinds", "plugs", "clamps"), "how the openings are closed", label="closure")
    bore_over: float | None = quantity("bore", "openings wider than this", "60 mm", low=0.0, high=100.0,
                                       label="openings wider than")
    bore_to: float | None = quantity("bore", "openings up to this", "110 mm", low=0.0, high=100.0,
                                     label="openings up to")
    low: float = quantity("duration", "the least it takes", "14 min", low=0.0, high=1e7, required=True, label="low")
    likely: float = quantity("duration", "it takes as often more as less", "20 min", low=1e-3, high=1e7,
                              required=True, label="likely")
    high: float = quantity("duration", "the most it takes", "32 min", low=1e-3, high=1e7, required=True, label="high")
    why: str = text("where the figures come from", "14 visits, 2026-03 to 2026-11", required=True, label="reason")

    def stands_in(self, case: Case, path: str) -> Default | None:
        """Return what stands in for the input at a path of a case; None where this entry says nothing of it."""
        from fillcalc.case import norms

        work = case.labour
        vessel = case.vessel
        if path != PATHS[self.stage] or (self.work is not None and self.work not in work_of(vessel)) \
                or (self.crew is not None and self.crew != work.crew):
            return None
        if self.stage not in CLOSING:
            return _figure(self, "duration")
        bore = norms.opening(vessel)
        if (self.closure is not None and self.closure != work.closure) \
                or (self.bore_over is not None and bore <= self.bore_over) \
                or (self.bore_to is not None and bore > self.bore_to):
            return None
        return _figure(self, "duration", float(work.openings))


@dataclass(frozen=True)
class OwnRemade:
    """Share of pieces with a joint to re-make."""

    group: ClassVar[str] = "job"
    work: str | None = choice(WORK, "where: valves at a bench, on site, at a vessel, at a pipe run", label="work")
    low: float = quantity("share", "the least share", "5 %", low=0.0, high=1.0, required=True, label="low")
    likely: float = quantity("share", "the likely share", "9 %", low=0.0, high=1.0, required=True, label="likely")
    high: float = quantity("share", "the largest share", "15 %", low=0.0, high=1.0, required=True, label="high")
    why: str = text("where the figures come from", "2 of 31 pieces, 14 visits", required=True, label="reason")

    def stands_in(self, case: Case, path: str) -> Default | None:
        """As `OwnTime.stands_in`."""
        fits = path == "rework.chance" and (self.work is None or self.work in work_of(case.vessel))
        return _figure(self, "share") if fits else None


@dataclass(frozen=True)
class OwnAir:
    """Trapped air of a kind of vessel, share of its volume."""

    group: ClassVar[str] = "air"
    vessel: str | None = choice(KINDS, "kind of vessel", label="kind of vessel")
    from_: str | None = choice(("bottom", "top"), "where the water enters", label="water enters at")
    low: float = quantity("share", "the least share", "0.05 %", low=0.0, high=0.95, required=True, label="low")
    likely: float = quantity("share", "the likely share", "0.2 %", low=1e-9, high=0.95, required=True, label="likely")
    high: float = quantity("share", "the largest share", "0.7 %", low=1e-9, high=0.95, required=True, label="high")
    why: str = text("where the figures come from", "9 visits, 2026-03 to 2026-11", required=True, label="reason")

    def stands_in(self, case: Case, path: str) -> Default | None:
        """As `OwnTime.stands_in`."""
        fits = path == "trapped_air.amount" and self.vessel in (None, case.vessel.practice().kind) \
            and self.from_ in (None, case.fill.from_)
        return _figure(self, "share") if fits else None


@dataclass(frozen=True)
class OwnSource:
    """Open flow of a tap or another source, by its kind and name."""

    group: ClassVar[str] = "source"
    kind: str | None = choice(tuple(source.kind for source in records.WATER_SOURCES), "where the water comes from",
                       label="water source")
    name: str | None = text("what this source is called in the cases", "pump hall, east wall", label="source name")
    low: float = quantity("flow", "the least open flow", "22 L/min", low=1e-7, high=20.0, required=True, label="low")
    likely: float = quantity("flow", "the likely open flow", "26 L/min", low=1e-7, high=20.0, required=True,
                              label="likely")
    high: float = quantity("flow", "the largest open flow", "31 L/min", low=1e-7, high=20.0, required=True,
                            label="high")
    why: str = text("where the figures come from", "5 visits, 2026-03 to 2026-11", required=True, label="reason")

    def stands_in(self, case: Case, path: str) -> Default | None:
        """As `OwnTime.stands_in`."""
        fits = path == "tap.open_flow" and self.kind in (None, case.tap.kind) and _called(self.name, case.tap.name)
        return _figure(self, "flow") if fits else None


@dataclass(frozen=True)
class OwnPump:
    """Flow of a pump at mid-pressure, measured over estimated from one point of its curve, by its name."""

    group: ClassVar[str] = "pump"
    name: str | None = text("what this pump is called in the cases and the kit", "ten to one", label="pump name")
    low: float = plain_number("the least factor", "0.7", low=0.2, high=1.5, required=True, label="low")
    likely: float = plain_number("the likely factor", "0.77", low=0.2, high=1.5, required=True, label="likely")
    high: float = plain_number("the largest factor", "0.85", low=0.2, high=1.5, required=True, label="high")
    why: str = text("where the figures come from", "9 visits, 2026-03 to 2026-11", required=True, label="reason")

    def stands_in(self, case: Case, path: str) -> Default | None:
        """As `OwnTime.stands_in`."""
        return _figure(self, "number") if path == "pump.mid_curve" and _called(self.name, case.pump.name) else None


OWN = "own figures"
"""How the reason begins of a figure that is one's own."""

OwnEntry = OwnTime | OwnRemade | OwnAir | OwnSource | OwnPump


@dataclass(frozen=True)
class Own:
    """All figures of one's own, in the order of the file, and what the file is called."""

    time: tuple[OwnTime, ...] = ()
    remade: tuple[OwnRemade, ...] = ()
    air: tuple[OwnAir, ...] = ()
    source: tuple[OwnSource, ...] = ()
    pump: tuple[OwnPump, ...] = ()
    name: str = ""

    def entries(self) -> tuple[OwnEntry, ...]:
        """Every entry, list by list."""
        return (*self.time, *self.remade, *self.air, *self.source, *self.pump)

    def stands_in(self, case: Case, path: str) -> Default | None:
        """Return what stands in for the input at a path of a case, in place of its default; None to keep that."""
        return next((self.named(found) for entry in self.entries() if (found := entry.stands_in(case, path))), None)

    def of_pump(self, name: str) -> Default | None:
        """Return what stands in for the flow at mid-pressure of a pump of a kit, by its name; None to keep the
        default."""
        return next((self.named(_figure(entry, "number")) for entry in self.pump if _called(entry.name, name)), None)

    def named(self, found: Default) -> Default:
        """Return a figure of an entry with a reason that says where it stands."""
        return replace(found, why=f"{OWN}{f' of {self.name}' if self.name else ''}: {found.why}")


NO_OWN = Own()

NAME = "own.toml"
"""The name under which the file is found beside a case or in the folder of work."""


def beside(case: str, here: str = "") -> str:
    """Return the path of the own.toml beside a case, else of that in the folder of work, `here`; "" where there is
    none."""
    folders = [os.path.dirname(case), here] if case else [here]
    return next((path for path in (os.path.join(folder, NAME) for folder in folders) if os.path.lexists(path)), "")


def _called(name: str | None, by: str | None) -> bool:
    """Whether an entry without a name, or of this one, fits; capitals and blanks do not count."""
    return name is None or (by is not None and "".join(name.split()).casefold() == "".join(by.split()).casefold())


def _figure(entry: OwnEntry, family: str, times: float = 1.0) -> Default:
    low, likely, high = (exactly(times * float(value), family) for value in (entry.low, entry.likely, entry.high))
    return Default(likely, entry.why, (low, likely, high) if low != high else ())


def exactly(value: float, family: str) -> str:
    """Return a figure as one would write it, to three digits."""
    number, _, unit = write(value, family).partition(" ")
    return f"{float(f'{float(number):.3g}'):.10g} {unit}".strip()
