"""What a fill is given and what comes of it: the records of `fillcalc.model.fill`."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fillcalc.arrays import Array, Codes
from fillcalc.model.line import Line, loss
from fillcalc.model.shapes.level import LevelTable
from fillcalc.model.vent import scale
from fillcalc.properties.media import GRAVITY

LAST_SIP = 1e-9
"""Part of a container that is not worth another."""


def change_overs(contents: Array | float, given: Array, loads: float = 1.0) -> Array:
    """How many times an empty container is changed for a full one, for so many loads of `given` m3 each.

    `contents` is what one holds, m3, infinite for a main. Shapes broadcast. Definition: the ratio of what is drawn to
    `contents`, rounded up, less the first container.
    """
    taken = np.ceil(loads * given / contents - LAST_SIP)
    return np.where(np.isfinite(given), np.maximum(taken - 1.0, 0.0), np.nan)


@dataclass(frozen=True, eq=False, repr=False)
class Filling:
    """One fill, or N of them: every number of shape (N,).

    `volume` m3 inside, `end` m3 of water when it reaches the vent (the rest stays as air); `height` m;
    `vent_area` discharge coefficient times area, m2, zero when shut; `outside_abs` Pa abs; K.
    Derived: hydrostatics of the column.
    """

    line: Line
    volume: Array
    end: Array
    height: Array
    vent_area: Array
    outside_abs: Array
    air_temperature: Array
    from_top: bool = False
    most: Array | float = np.inf
    """Most that the source passes however far the line falls below it, m3/s."""
    contents: Array | float = np.inf
    """What one container gives before the next takes its place, m3."""
    area: Array | float = np.inf
    """Plan area of the container, m2: its level falls by the water given over the area."""
    change_over: Array | float = 0.0
    """From one container to the next, s; the air in the vessel comes to rest meanwhile."""
    poured: Array | float = 0.0
    """Water in the vessel when the present container took over, m3."""
    drop: Array | float = 0.0
    """Level of the source below its height all the while, m."""

    @cached_property
    def turns(self) -> Codes:
        """Containers that `end` m3 of water take, as whole numbers (N,); one from a source without end. Definition."""
        return (1.0 + change_overs(self.contents, self.end)).astype(int)

    @cached_property
    def by_vent(self) -> Array:
        """What the air's flow through the vent goes by, m3/s. Source: as `vent.scale`."""
        return scale(self.vent_area, self.air_temperature)

    @cached_property
    def driving(self) -> Array:
        """Pressure of the source at the bottom of the vessel with nothing flowing, Pa gauge."""
        return self.line.source.pressure + self.weight * self.line.source.height

    @cached_property
    def weight(self) -> Array:
        """Pressure for each metre of water, Pa/m."""
        return self.line.density * GRAVITY

    def column(self, table: LevelTable, water: Array) -> Array:
        """Pressure of the water at the bottom of the vessel, Pa. Derived: hydrostatics."""
        return self.weight * (self.height * table(water / self.volume))

    def head(self, table: LevelTable, water: Array) -> Array:
        """What is left of the driving pressure at the surface (or the top port), Pa."""
        return self.head_over(self.weight * self.height if self.from_top else self.column(table, water), water)

    def head_over(self, column: Array, water: Array) -> Array:
        """The same above a known column of water, Pa; the level of a container falls with the water given."""
        return self.driving - column - self.weight * self.fallen(water)

    def fallen(self, water: Array) -> Array:
        """How far the container's level stands below its first, m, with so much water in the vessel, m3."""
        return self.drop + (water - self.poured) / self.area

    @cached_property
    def last_fallen(self) -> Array:
        """The same when the vessel is full, from the first container to the last, m."""
        turns = self.turns
        return self.drop + (self.end - (turns - 1.0) * np.where(turns > 1, self.contents, 0.0)) / self.area

    @cached_property
    def at_top(self) -> Array:
        """Pressure of the source at the highest point of the full vessel with nothing flowing, Pa gauge."""
        return self.driving - self.weight * self.height - self.weight * self.last_fallen

    @cached_property
    def is_limited(self) -> bool:
        """Whether there is a flow, in m3/s, that the source cannot pass. Definition."""
        return bool(np.any(np.isfinite(self.most)))

    def limit(self, wetted: Array | float) -> Array | None:
        """Loss of source and line at the most that the source passes, Pa; None where nothing limits it."""
        if not self.is_limited:
            return None
        some = np.where(np.isfinite(self.most), self.most, 1.0)
        return np.where(np.isfinite(self.most), loss(self.line, some, wetted)[0], np.inf)


@dataclass(frozen=True, eq=False, repr=False)
class Filled:
    """What the fill came to; numbers of shape (N,), histories (nodes, 1) of the first row.

    `parts` are the integrals over the water of each part's pressure, J: tap, hose, couplings, valve,
    exit, height, vent; they sum to source pressure times water.
    """

    status: Codes
    time: Array
    water: Array
    level: Array
    flow_start: Array
    flow_end: Array
    air_peak_gauge: Array
    bottom_peak_gauge: Array
    """Most pressure at the bottom of the vessel, air and water together."""
    vent_reserve: Array
    """Most air that the vent can pass over the open flow."""
    parts: tuple[Array, ...]
    history: tuple[Array, ...]
    """Time, water, level, flow and air pressure of the first row, from empty to full."""
    turns: Codes
    """Containers that the fill empties or begins; one for a source without end."""
