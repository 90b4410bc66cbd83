"""What a picture is made of: lines, areas and labels in the unit square, x to the right and y upwards.

Plain data; how it is shown is decided by a renderer.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from fillcalc.arrays import Array

Points: TypeAlias = Array
"""Points one after the other, shape (n, 2)."""

DANGER = "DANGER"
"""The mark of a part that raised a DANGER."""
SHORT_DANGER = "!"
"""The same where there is little room."""

NOTED = "u"
"""The last side of a label that is noted under the drawing rather than left out."""
MAY_GO = 7
"""Rank of what is good to see but stands elsewhere as well."""


@dataclass(frozen=True, eq=False)
class Line:
    """An open or closed line of a part."""

    part: str
    points: Points
    kind: str = "line"
    """wall, hose, line, level (the water's surface), needle or arrow."""
    assumed: bool = False
    danger: bool = False


@dataclass(frozen=True, eq=False)
class Area:
    """A closed area: water, or air under pressure; a later one lies over an earlier one."""

    part: str
    points: Points
    kind: str = "water"


@dataclass(frozen=True, eq=False)
class Label:
    """A figure at its part. `forms` are its texts, the fullest first; it is left out rather than cut."""

    part: str
    forms: tuple[str, ...]
    at: tuple[float, float]
    sides: str = "ensw"
    """Where it may stand, the best first: above (n), right (e), below (s), left (w), on its point (c); where none has
    room, in a note under the drawing (`NOTED`)."""
    rank: int = 5
    """The lower, the sooner it gets its place; from `MAY_GO` on it may be left out of a large drawing too."""
    assumed: bool = False
    danger: bool = False


@dataclass(frozen=True, eq=False)
class Picture:
    """One drawing: what is connected to what, at one moment."""

    wide: float
    """Width over height of the drawing for which its proportions are true."""
    areas: tuple[Area, ...]
    lines: tuple[Line, ...]
    labels: tuple[Label, ...]
    caption: tuple[str, ...]
    """What is to be said of the moment, what matters most first."""
    notes: tuple[str, ...] = ()
    """What in the drawing is not to scale, and the like."""
    title: str = ""
    """The title of the case, foreign text."""


@dataclass(frozen=True)
class Moment:
    """One moment of the fill or of the pump-up, in SI; NaN where a figure does not apply or cannot be had."""

    stage: str
    """fill or pump-up."""
    time_s: float
    water_m3: float
    """In the vessel while filling, pumped while pumping."""
    level_m: float
    filled: float
    """Share of the volume that is water, or the level over the height where the vessel has one."""
    flow_m3_s: float
    air_gauge_pa: float
    air_m3: float
    """Trapped air at its own pressure; while filling, all the air inside."""
    gauge_pa: float
    strokes: float


RAISE, STOP, CHANGE, SETTLE, READ, LET_OFF, ENDS, CANNOT = (
    "raise", "stop", "change", "settle", "read", "let off", "ends", "cannot")
"""What is done at a moment of a test with gas; at the last two the bottles have ended before the reading, or the supply
can never get there."""


@dataclass(frozen=True)
class GasMoment:
    """One moment of a test with gas, in SI; NaN where a figure does not apply."""

    stage: str
    time_s: float
    """Since the valve was opened; while letting off since the vent was."""
    gauge_pa: float
    gas_k: float
    flow_m3_s: float
    """As free gas."""
    bottle_gauge_pa: float
    """In the bottles that are open."""
    opened: int
    """Bottles, or groups of them, opened so far."""
    left_gauge_pa: tuple[float, ...]
    """In those that are used up."""
    stop_gauge_pa: float
    """The stop at which it stands, or to which it rises."""


@dataclass(frozen=True)
class Moments:
    """The history of a fill and of its pump-up, in order of time; the pump-up is empty where there is none. Of a test
    with gas they are empty, and `gas` holds it from the open valve to letting off."""

    fill: tuple[Moment, ...]
    pump_up: tuple[Moment, ...]
    gas: tuple[GasMoment, ...] = ()
