"""The inside of a vessel as an outline in its box, and what water and air take of it.

An outline is in x from 0 to its `ratio` and y from 0 to 1, in true proportions where they lie within 1:4. A pipe run is
a band that rises from left to right, over its crests; its thickness and its slope are for the eye alone.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from fillcalc.case.records import LyingCylinder, PipeRun, ValveBody, Vessel
from fillcalc.case.solid import inside_of
from fillcalc.model import shapes
from fillcalc.present.picture.records import Points

LEAST_RATIO, MOST_RATIO = 0.25, 4.0
"""Width over height of a vessel, as far as it is drawn true."""
RUN_RATIO = 1.6
BORE = 0.21
"""Height of the bore of a drawn run, of its box."""
CREST_OVER = 0.34
"""How far a crest stands over the line of the run, of its box."""
SMOOTH = 14
"""Points along a round end."""
ALONG = 121
"""Points along a run."""
UNKNOWN_RATIO = 0.8
"""Of a vessel of which nothing but its volume is known."""
LOW_PORT, HIGH_PORT = 0.12, 0.5
"""Height of the ports at the bottom, and of that of the test hose on a run that rises, of the box."""
LEVEL = 1e-3
"""Height in m below which a run counts as level."""
BISECTIONS = 24
STRAIGHT = shapes.LevelTable(np.empty(0), np.empty(0), True)
"""Of a vessel whose volume goes with the level."""


@dataclass(frozen=True, eq=False)
class Outline:
    """A closed line in its box; `true` where its proportions are those of the vessel."""

    points: Points
    ratio: float
    table: shapes.LevelTable
    """Level over height by the share of the volume below it."""
    true: bool = True
    spine: Points | None = None
    """Of a run over crests: the middle of its bore, from the inlet to the far end."""
    tops: tuple[float, ...] = field(default=())
    """Places of the crests along the spine, from 0 to 1."""
    sloping: bool = False
    """A run that rises: the drawing is no guide to how much."""

    @cached_property
    def low_port(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Where the water enters at the bottom, at the left, and where the test hose ends, at the right."""
        if self.spine is not None:
            return _on(self.spine, 0.0), _on(self.spine, 0.93)
        y = HIGH_PORT if self.sloping else LOW_PORT
        return (self.across(LOW_PORT)[0], LOW_PORT), (self.across(y)[1], y)

    @cached_property
    def lowest(self) -> tuple[float, float]:
        """The lowest point, from which it drains; the middle of a flat bottom."""
        if self.spine is not None:
            x, y = _on(self.spine, 0.02)
            return x, y - 0.5 * BORE
        y = float(self.points[:, 1].min())
        at = self.points[self.points[:, 1] < y + 1e-6, 0]
        return float(0.5 * (at.min() + at.max())) + (0.02 if self.sloping else 0.0), y

    @cached_property
    def far_end(self) -> tuple[float, float]:
        """The middle of the far end of a run."""
        if self.spine is not None:
            return _on(self.spine, 1.0)
        at = self.points[self.points[:, 0] > self.ratio - 1e-9, 1]
        return self.ratio, float(0.5 * (at.min() + at.max()))

    @cached_property
    def top_port(self) -> tuple[float, float]:
        """The highest point, where the air leaves."""
        if self.spine is not None and self.tops:
            return float(self.spine[-1, 0]), float(self.spine[-1, 1]) + 0.5 * BORE
        y = float(self.points[:, 1].max())
        at = self.points[self.points[:, 1] > y - 1e-6, 0]
        return float(0.5 * (at.min() + at.max())), y

    def across(self, y: float) -> tuple[float, float]:
        """The leftmost and the rightmost point inside at a height."""
        ring = np.vstack([self.points, self.points[:1]])
        low, high = ring[:-1], ring[1:]
        cut = (low[:, 1] - y) * (high[:, 1] - y) <= 0.0
        cut &= low[:, 1] != high[:, 1]
        if not cut.any():
            return 0.0, self.ratio
        part = (y - low[cut, 1]) / (high[cut, 1] - low[cut, 1])
        x = low[cut, 0] + part * (high[cut, 0] - low[cut, 0])
        return float(x.min()), float(x.max())

    def surface_end(self, level: float) -> tuple[float, float]:
        """The right end of the water's surface; of a run over crests, how far the water has come."""
        return _on(self.spine, level) if self.spine is not None else (self.across(level)[1], level)

    def level_under(self, share: float) -> float:
        """Level over height under air that takes a share of the volume at the top."""
        share = min(max(share, 0.0), 1.0)
        if self.sloping and self.spine is None:
            return _cut(self.points, (1.0 - share) * area(self.points))
        return 1.0 - float(self.table(np.asarray(share)))

    def below(self, level: float) -> Points:
        """What lies below a level over height; of a run over crests, up to that part of its length."""
        if self.spine is not None:
            return _band(self.spine, 0.0, level)
        return clipped(self.points, level)

    def above(self, level: float) -> Points:
        """What lies above it."""
        if self.spine is not None:
            return _band(self.spine, level, 1.0)
        return clipped(self.points * [1.0, -1.0], -level) * [1.0, -1.0]

    def pockets(self, share: float) -> list[Points]:
        """The air that takes a share of the volume of a full vessel: at the top, or under each of its crests."""
        if share <= 0.0:
            return []
        if self.spine is None or not self.tops:
            return [self.above(self.level_under(share))]
        return [self._under(top, share / len(self.tops)) for top in self.tops]

    def _under(self, top: float, share: float) -> Points:
        assert self.spine is not None
        reach = 0.5 / (len(self.tops) + 1)
        near = _band(self.spine, top - reach, top + reach) * [1.0, -1.0]
        wanted = share * area(_band(self.spine, 0.0, 1.0))
        return clipped(near, _cut(near, wanted)) * [1.0, -1.0]


def outline(vessel: Vessel) -> Outline:
    """The outline of a vessel; a box where its dimensions are not known."""
    inside = inside_of(vessel)
    if isinstance(vessel, PipeRun):
        return _run(vessel)
    if isinstance(inside, shapes.VerticalCylinder | shapes.HorizontalCylinder):
        return _cylinder(inside, isinstance(vessel, LyingCylinder))
    if isinstance(inside, shapes.Sphere):
        return Outline(_round(0.5, 0.5) + 0.5, 1.0, inside.level_table())
    if isinstance(vessel, ValveBody):
        return Outline(_valve(), 1.0, STRAIGHT, true=False)
    height = 0.0 if inside is None else float(inside.height())
    if inside is None or height <= 0.0:
        return Outline(_box(UNKNOWN_RATIO), UNKNOWN_RATIO, STRAIGHT, true=False)
    ratio = float(np.sqrt(4.0 / np.pi * inside.volume() / height)) / height
    kept = min(max(ratio, LEAST_RATIO), MOST_RATIO)
    return Outline(_box(kept), kept, inside.level_table(), true=False)


def _cylinder(inside: shapes.VerticalCylinder | shapes.HorizontalCylinder, lying: bool) -> Outline:
    """Its section, from the profile of its heads."""
    d, length, head = float(inside.diameter), float(inside.length), inside.head
    depth = head.depth
    out = depth * np.sin(np.linspace(0.0, 0.5 * np.pi, SMOOTH)) ** 2
    radius = head.radius(out) if depth else np.array([0.5])
    along = out * d if depth else np.array([0.0])
    whole = length + 2.0 * depth * d
    side = np.column_stack([np.append(along, whole - along[::-1]), np.append(radius, radius[::-1]) * d])
    profile = np.vstack([side, side[::-1] * [1.0, -1.0]])
    across, up = profile[:, 0], profile[:, 1] + 0.5 * d
    true_ratio = whole / d if lying else d / whole
    ratio = min(max(true_ratio, LEAST_RATIO), MOST_RATIO)
    across, up = across / whole, up / d
    points = np.column_stack([across * ratio, up]) if lying else np.column_stack([up * ratio, across])
    return Outline(points, ratio, inside.level_table(), abs(ratio - true_ratio) < 1e-9)


def _round(wide: float, high: float) -> Points:
    turn = np.linspace(0.0, 2.0 * np.pi, 4 * SMOOTH, endpoint=False)
    return np.column_stack([wide * np.sin(turn), high * np.cos(turn)])


def _box(ratio: float) -> Points:
    """A box with round corners."""
    corner = 0.12 * min(ratio, 1.0)
    turns = [np.linspace(quarter, quarter + 0.5 * np.pi, 7) for quarter in (0.0, 0.5 * np.pi, np.pi, 1.5 * np.pi)]
    middles = np.array([[ratio - corner, 1.0 - corner], [corner, 1.0 - corner], [corner, corner],
                        [ratio - corner, corner]])
    return np.vstack([middle + corner * np.column_stack([np.cos(turn), np.sin(turn)])
                      for middle, turn in zip(middles, turns, strict=True)])


def _valve() -> Points:
    """A valve body with a flange at each end and its bonnet."""
    half = np.array([[0.0, 0.0], [0.0, 0.62], [0.1, 0.62], [0.1, 0.5], [0.28, 0.5], [0.34, 0.58], [0.34, 0.86],
                     [0.26, 0.86], [0.26, 1.0]])
    low = np.array([[0.32, 0.03], [0.26, 0.12], [0.1, 0.12], [0.1, 0.0]])
    left = np.vstack([low, half])
    return np.vstack([left, (left * [-1.0, 1.0] + [1.0, 0.0])[::-1]])


def _run(vessel: PipeRun) -> Outline:
    rise = 0.0 if vessel.rise is None else float(vessel.rise)
    along = np.linspace(0.0, 1.0, ALONG)
    crests = len(vessel.crest)
    sloping = rise > LEVEL
    if not crests and not sloping:
        ratio = MOST_RATIO
        box = np.array([[0.0, 0.0], [0.0, 1.0], [ratio, 1.0], [ratio, 0.0]])
        one = np.ones(())
        return Outline(box, ratio, shapes.HorizontalCylinder(one, one).level_table(), true=False)
    up = (0.38 if crests else 1.0 - BORE) * along * (1.0 if sloping else 0.0)
    tops = tuple((k + 1.0) / (crests + 1.0) for k in range(crests))
    for top in tops:
        off = (along - top) * (crests + 1.0)
        up = up + CREST_OVER * np.where(np.abs(off) < 0.5, np.cos(np.pi * off) ** 2, 0.0)
    spine = np.column_stack([along * RUN_RATIO, up + 0.5 * BORE])
    if not crests:
        return Outline(_band(spine, 0.0, 1.0), RUN_RATIO, STRAIGHT, true=False, sloping=True)
    spine[:, 1] += 0.5 * (1.0 - BORE - up.max())
    return Outline(_band(spine, 0.0, 1.0), RUN_RATIO, STRAIGHT, true=False, spine=spine, tops=tops, sloping=sloping)


def _on(spine: Points, part: float) -> tuple[float, float]:
    parts = np.linspace(0.0, 1.0, len(spine))
    return float(np.interp(part, parts, spine[:, 0])), float(np.interp(part, parts, spine[:, 1]))


def _band(spine: Points, start: float, end: float) -> Points:
    """The bore about the spine from one part of its length to another."""
    parts = np.linspace(0.0, 1.0, len(spine))
    start, end = min(max(start, 0.0), 1.0), min(max(end, 0.0), 1.0)
    inner = parts[(parts > start) & (parts < end)]
    at = np.concatenate([[start], inner, [end]])
    middle = np.column_stack([np.interp(at, parts, spine[:, 0]), np.interp(at, parts, spine[:, 1])])
    half = np.array([0.0, 0.5 * BORE])
    return np.vstack([middle + half, middle[::-1] - half])


def clipped(ring: Points, top: float) -> Points:
    """The part of a closed line that lies below a height; its cut runs along that height."""
    following = np.roll(ring, -1, axis=0)
    inside, goes_in = ring[:, 1] <= top, following[:, 1] <= top
    crossing = inside != goes_in
    step = np.where(crossing, following[:, 1] - ring[:, 1], 1.0)
    part = np.where(crossing, (top - ring[:, 1]) / step, 0.0)
    cut = np.column_stack([ring[:, 0] + part * (following[:, 0] - ring[:, 0]), np.full(len(ring), top)])
    both = np.stack([ring, cut], axis=1).reshape(-1, 2)
    keep = np.stack([inside, crossing], axis=1).reshape(-1)
    return both[keep]


def _cut(ring: Points, wanted: float) -> float:
    """The height below which a closed line holds an area."""
    low, high = float(ring[:, 1].min()), float(ring[:, 1].max())
    for _ in range(BISECTIONS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if area(clipped(ring, middle)) < wanted else (low, middle)
    return high


def area(ring: Points) -> float:
    """Area inside a closed line."""
    x, y = ring[:, 0], ring[:, 1]
    return 0.5 * float(abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))))
