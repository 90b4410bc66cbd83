"""The ground of a picture: the sheet, where the vessel stands on it, and how its water and its air are drawn."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import isfinite

import numpy as np

from fillcalc.case.records import Case, PipeRun
from fillcalc.present.picture.figures import Figures
from fillcalc.present.picture.outline import Outline, outline
from fillcalc.present.picture.records import Moment, Points
from fillcalc.present.picture.sheet import Part, Point, Sheet

LOW, TOP = 0.23, 0.82
"""Heights of the lowest and of the highest point of a vessel."""
VESSEL_AT, PUMP_AT = 0.44, 0.74
"""Places across of the middle of the vessel and of the pump, of the width."""
MOST_WIDE, RUN_WIDE = 0.4, 0.37
"""Most of the width that a vessel takes, and a run with its far end."""
HANG = 0.35
"""How high a low vessel hangs in the room that it leaves, of that room."""
SEEN = 0.08
"""Share of the volume as which trapped air is seen at least."""
FACTORS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000)
"""How many times as large it may be drawn for that."""
HEAD, OPEN = 0.035, 0.7
"""Length of the head of an arrow, and half its width over its length."""


@dataclass(frozen=True, eq=False)
class Ground:
    """One drawing while it is made."""

    figures: Figures
    wide: float
    raised: frozenset[str]
    """The parts that raised a DANGER."""

    @cached_property
    def sheet(self) -> Sheet:
        """What is drawn so far."""
        return Sheet(self.wide)

    @property
    def case(self) -> Case:
        """The case that is drawn."""
        return self.figures.case

    @property
    def moment(self) -> Moment | None:
        """The moment that is drawn; None before the work."""
        return self.figures.moment

    @cached_property
    def inside(self) -> Outline:
        """The outline of the vessel."""
        return outline(self.case.vessel)

    @cached_property
    def size(self) -> float:
        """Height of the vessel's box."""
        most = RUN_WIDE if isinstance(self.case.vessel, PipeRun) else MOST_WIDE
        return min(TOP - LOW, most * self.wide / self.inside.ratio)

    @cached_property
    def corner(self) -> tuple[float, float]:
        """Lower left corner of the vessel's box."""
        left = VESSEL_AT * self.wide - 0.5 * self.inside.ratio * self.size
        return left, LOW + HANG * (TOP - LOW - self.size)

    def at(self, point: Point) -> Point:
        """A point of the vessel's box on the sheet."""
        return self.corner[0] + self.size * point[0], self.corner[1] + self.size * point[1]

    def all_at(self, points: Points) -> Points:
        """Points of the vessel's box on the sheet."""
        return np.asarray(self.corner) + self.size * points

    def part(self, name: str, *paths: str) -> Part:
        """A part, assumed where all of these inputs were."""
        return Part(name, self.figures.assumed(*paths), name in self.raised)

    @cached_property
    def factor(self) -> int:
        """How many times its volume trapped air is drawn, so that it is seen; the same at every moment."""
        share = self.share(self.most_air)
        if not share > 0.0:
            return 1
        return next((factor for factor in FACTORS if factor * share >= SEEN), FACTORS[-1])

    @cached_property
    def most_air(self) -> float:
        """Trapped air before it is squeezed, m3."""
        history = np.ravel(np.asarray(self.figures.estimate.pressurise.history.air_m3, dtype=float))
        first = float(history[0]) if history.size and isfinite(history[0]) else 0.0
        return max(first, float(self.figures.estimate.trapped_air_m3))

    def share(self, air_m3: float) -> float:
        """Air as a share of the empty vessel: what takes room inside leaves the crown free."""
        internals = float(self.case.vessel.internals or 0.0)
        return float(air_m3 / self.figures.estimate.volume_m3) * (1.0 - internals)

    def pockets(self, air_m3: float) -> list[Points]:
        """The trapped air as it is drawn."""
        return [self.all_at(ring) for ring in self.inside.pockets(self.factor * self.share(air_m3))]

    @cached_property
    def level(self) -> float:
        """The level over the height, as it is drawn: never into the air that stays."""
        moment = self.moment
        if moment is None:
            return 0.0
        under_air = self.inside.level_under(self.factor * self.share(
            moment.air_m3 if self.figures.pumping else self.most_air))
        if self.figures.pumping:
            return under_air
        part = moment.filled if isfinite(moment.filled) else 0.0
        if not float(self.figures.estimate.height_m) > 0.0:
            part = float(self.inside.table(np.asarray(part)))
        return min(part, under_air)

    @property
    def over_crests(self) -> bool:
        """Whether it is a run over crests."""
        return bool(self.inside.tops)

    @property
    def riser(self) -> float:
        """Place across of the pump, its outlet and the gauge."""
        return PUMP_AT * self.wide

    def arrow(self, part: Part, at: Point, way: Point, long: float) -> None:
        """An arrow from a point along a unit vector."""
        tip = (at[0] + long * way[0], at[1] + long * way[1])
        across = (-way[1], way[0])
        for turn in (1.0, -1.0):
            self.sheet.line(part, [tip, (tip[0] - HEAD * way[0] + OPEN * HEAD * turn * across[0],
                                         tip[1] - HEAD * way[1] + OPEN * HEAD * turn * across[1])], "arrow")
        self.sheet.line(part, [at, tip], "arrow")
