"""The inside of a vessel: volume, height, level against water, and the air above a low vent.

Derived: solid geometry, held against `fluids.TANK` in the tests.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fillcalc.model.arrays import Array
from fillcalc.model.quadrature import gauss

DISH_KNUCKLE = 0.1
"""Knuckle radius over diameter of a dished end, its crown radius being the diameter (DIN 28011)."""
LEVEL_NODES = 1025
HEAD_NODES = 24


@dataclass(frozen=True)
class Inside:
    """Inside dimensions in m between the tangent lines, or a volume in m3 with a height.

    `form` is standing, lying, sphere, pipe or prism; `ends` flat, hemispherical, elliptical 2:1 or
    dished; `span` the height or length; `rise` the far end of a pipe above its inlet.
    """

    form: str
    ends: str = "flat"
    diameter: Array | float = 0.0
    span: Array | float = 0.0
    rise: Array | float = 0.0
    volume: Array | float = 0.0


def volume(inside: Inside) -> Array:
    """Volume inside, m3, with nothing in it. Closed forms; the dished end by Gauss quadrature."""
    d = np.asarray(inside.diameter, float)
    if inside.form == "prism":
        return np.asarray(inside.volume, float)
    if inside.form == "sphere":
        return np.pi * d**3 / 6.0
    body = 0.25 * np.pi * d**2 * inside.span
    return body if inside.form == "pipe" else body + 2.0 * _head_volume(inside.ends) * d**3


def height(inside: Inside) -> Array:
    """From the lowest inside point to the highest, m; for a pipe run its rise."""
    if inside.form in ("sphere", "lying"):
        return np.asarray(inside.diameter, float)
    if inside.form == "pipe":
        return np.asarray(inside.rise, float)
    if inside.form == "prism":
        return np.asarray(inside.span, float)
    return np.asarray(inside.span + 2.0 * _head_depth(inside.ends) * np.asarray(inside.diameter), float)


def volume_below(inside: Inside, level: Array) -> Array:
    """Volume below a level, m3; shapes broadcast, levels from 0 to the height.

    A pipe run's and a prism's volume goes with the level; the heads of a lying cylinder are summed
    over their depth. Checked against `fluids.TANK`.
    """
    if inside.form in ("prism", "pipe"):
        top = height(inside)
        return volume(inside) * np.where(top > 0.0, level / np.where(top > 0.0, top, 1.0), 1.0)
    d = np.asarray(inside.diameter, float)
    level = np.asarray(level, float)
    if inside.form == "sphere":
        return np.pi * level**2 * (1.5 * d - level) / 3.0
    if inside.form == "lying":
        return inside.span * _segment(d, level) + 2.0 * _lying_head_below(inside.ends, d, level)
    depth = _head_depth(inside.ends) * d
    top = height(inside)
    bottom = _standing_head_below(inside.ends, d, np.minimum(level, depth))
    body = 0.25 * np.pi * d**2 * np.clip(level - depth, 0.0, inside.span)
    head = _head_volume(inside.ends) * d**3
    upper = head - _standing_head_below(inside.ends, d, np.clip(top - level, 0.0, depth))
    return bottom + body + upper


def share_above_vent(inside: Inside, below_top: Array) -> Array:
    """Share of the volume that lies above a vent which sits `below_top` m under the highest point.

    The shapes are the same upside down. A pipe run keeps the smaller of the pocket of a level pipe
    and the part of its rise above the vent.
    """
    top = height(inside)
    if inside.form == "pipe":
        d = np.asarray(inside.diameter, float)
        level_pipe = _segment(d, np.minimum(below_top, d)) / (0.25 * np.pi * d**2)
        sloping = np.where(top > 0.0, below_top / np.where(top > 0.0, top, 1.0), 1.0)
        return np.clip(np.minimum(level_pipe, sloping), 0.0, 1.0)
    return np.clip(volume_below(inside, np.minimum(below_top, top)) / volume(inside), 0.0, 1.0)


def widening(inside: Inside, part: Array) -> Array:
    """Share of the volume for each part of the height, at a level over height of 0 to 1; shapes broadcast.

    The slope of `volume_below` over volume; one for a prism and a pipe run.
    """
    if inside.form in ("prism", "pipe") or (inside.form == "standing" and inside.ends == "flat"):
        return np.ones(np.shape(part))
    d, top = np.asarray(inside.diameter, float), height(inside)
    level = part * top
    if inside.form == "standing":
        depth = _head_depth(inside.ends) * d
        radius = _head_radius(inside.ends, np.minimum(np.minimum(level, top - level), depth) / d) * d
        surface = np.pi * radius**2
    else:
        chord = 2.0 * np.sqrt(np.maximum(level * (d - level), 0.0))
        surface = 0.25 * np.pi * chord**2 if inside.form == "sphere" else (
            inside.span * chord + 2.0 * _lying_head_surface(inside.ends, d, level))
    return np.asarray(surface * top / volume(inside))


def panels(inside: Inside) -> tuple[Array | float, ...]:
    """Levels over height, from 0 to 1, between which the surface changes smoothly."""
    if inside.form == "lying" and inside.ends == "dished":
        crown = 0.5 - float(np.sin(_dish()[0]))
        return (0.0, crown, 1.0 - crown, 1.0)
    if inside.form != "standing" or inside.ends == "flat":
        return (0.0, 1.0)
    top, d = height(inside), np.asarray(inside.diameter, float)
    rim = _head_depth(inside.ends) * d / top
    if inside.ends != "dished":
        return (0.0, rim, 1.0 - rim, 1.0)
    tip = _dish()[2] * d / top
    return (0.0, tip, rim, 1.0 - rim, 1.0 - tip, 1.0)


@dataclass(frozen=True)
class LevelTable:
    """Level over height against the filled share: `angle` is arcsin(sqrt(share)), rising."""

    angle: Array
    level: Array
    straight: bool

    def __call__(self, share: Array) -> Array:
        """Level as a part of the height for a filled share of 0 to 1, any shape."""
        if self.straight:
            return np.asarray(share, float)
        return np.interp(np.arcsin(np.sqrt(np.clip(share, 0.0, 1.0))), self.angle, self.level)


def level_table(inside: Inside) -> LevelTable:
    """The table for one vessel (numbers in m, not arrays); 1025 nodes, level good to 1e-6 of the height."""
    if inside.form in ("prism", "pipe") or (inside.form == "standing" and inside.ends == "flat"):
        return LevelTable(np.empty(0), np.empty(0), True)
    part = np.sin(np.linspace(0.0, 0.5 * np.pi, LEVEL_NODES)) ** 2
    share = volume_below(inside, part * height(inside)) / volume(inside)
    return LevelTable(np.arcsin(np.sqrt(np.clip(share, 0.0, 1.0))), part, False)


def _segment(diameter: Array, level: Array) -> Array:
    """Area of a circle below a level above its lowest point, m2."""
    radius = 0.5 * diameter
    safe = np.where(radius > 0.0, radius, 1.0)
    angle = np.arccos(np.clip(1.0 - level / safe, -1.0, 1.0))
    return radius * radius * (angle - np.sin(angle) * np.cos(angle))


def _dish() -> tuple[float, float, float]:
    """Angle where the crown meets the knuckle, depth, and depth of the crown; diameter one."""
    angle = float(np.arcsin((0.5 - DISH_KNUCKLE) / (1.0 - DISH_KNUCKLE)))
    depth = 1.0 - float(np.sqrt((1.0 - DISH_KNUCKLE) ** 2 - (0.5 - DISH_KNUCKLE) ** 2))
    return angle, depth, 1.0 - float(np.cos(angle))


def _head_depth(ends: str) -> float:
    """Depth of one end over the diameter."""
    return {"flat": 0.0, "hemispherical": 0.5, "elliptical 2:1": 0.25, "dished": _dish()[1]}[ends]


def _head_volume(ends: str) -> float:
    """Volume of one end over the cube of the diameter."""
    if ends == "dished":
        radius, step = _dish_profile()
        return float(np.sum(np.pi * radius**2 * step))
    return np.pi / 6.0 * _head_depth(ends)


def _dish_profile() -> tuple[Array, Array]:
    """Radius and axial step at Gauss nodes along a dished end of diameter one, tip to tangent line."""
    angle, _, _ = _dish()
    x, w = gauss(HEAD_NODES)
    crown = angle * x
    knuckle = angle + (0.5 * np.pi - angle) * x
    radius = np.concatenate([np.sin(crown), 0.5 - DISH_KNUCKLE + DISH_KNUCKLE * np.sin(knuckle)])
    step = np.concatenate([angle * w * np.sin(crown), (0.5 * np.pi - angle) * w * DISH_KNUCKLE * np.sin(knuckle)])
    return radius, step


def _standing_head_below(ends: str, d: Array, level: Array) -> Array:
    """Volume of a downward end below a level above its tip, level at most its depth."""
    if ends == "flat":
        return np.zeros(np.broadcast_shapes(np.shape(d), np.shape(level)))
    if ends != "dished":
        axis = _head_depth(ends) * d
        return np.pi * (0.5 * d) ** 2 * level**2 * (3.0 * axis - level) / (3.0 * axis**2)
    angle, depth, crown_depth = _dish()
    z = level / d
    crown = np.pi * np.minimum(z, crown_depth) ** 2 * (3.0 - np.minimum(z, crown_depth)) / 3.0
    end = np.arccos(np.clip((depth - np.maximum(z, crown_depth)) / DISH_KNUCKLE, -1.0, np.cos(angle)))
    x, w = gauss(HEAD_NODES)
    at = angle + (end - angle) * x.reshape((-1,) + (1,) * np.ndim(end))
    ring = np.pi * (0.5 - DISH_KNUCKLE + DISH_KNUCKLE * np.sin(at)) ** 2 * DISH_KNUCKLE * np.sin(at)
    return (crown + np.tensordot(w, ring, (0, 0)) * (end - angle)) * d**3


def _lying_head_below(ends: str, d: Array, level: Array) -> Array:
    """Volume of one end of a lying cylinder below a level."""
    if ends == "flat":
        return np.zeros(np.broadcast_shapes(np.shape(d), np.shape(level)))
    if ends != "dished":
        return 2.0 * _head_depth(ends) * np.pi * level**2 * (1.5 * d - level) / 6.0
    z = np.asarray(level / d)
    radius, step = _dish_profile()
    axes = (-1,) + (1,) * z.ndim
    radius = radius.reshape(axes)
    area = _segment(2.0 * radius, np.clip(z - 0.5 + radius, 0.0, 2.0 * radius))
    return np.tensordot(step, area, (0, 0)) * d**3


def _head_radius(ends: str, depth_in: Array) -> Array:
    """Radius of an end over the diameter at a distance from its tip over the diameter, at most its depth."""
    if ends != "dished":
        axis = _head_depth(ends)
        return np.asarray(0.5 * np.sqrt(np.maximum(1.0 - (1.0 - depth_in / axis) ** 2, 0.0)))
    _, depth, crown_depth = _dish()
    crown = np.sqrt(np.maximum(depth_in * (2.0 - depth_in), 0.0))
    knuckle = 0.5 - DISH_KNUCKLE + np.sqrt(np.maximum(DISH_KNUCKLE**2 - (depth - depth_in) ** 2, 0.0))
    return np.where(depth_in < crown_depth, crown, knuckle)


def _lying_head_surface(ends: str, d: Array, level: Array) -> Array:
    """Surface of the water in one end of a lying cylinder, m2."""
    half_chord = np.sqrt(np.maximum(level * (d - level), 0.0))
    if ends != "dished":
        return np.pi * _head_depth(ends) * half_chord**2
    off, widest = np.asarray(level / d - 0.5), np.asarray(half_chord / d)
    angle, depth, _ = _dish()
    x, w = gauss(HEAD_NODES)
    x, w = (node.reshape((-1,) + (1,) * off.ndim) for node in (x, w))
    crown_wide = np.sqrt(np.maximum(np.sin(angle) ** 2 - off**2, 0.0))
    across = crown_wide * x
    crown = (np.sqrt(1.0 - off**2 - across**2) - (1.0 - depth)) * w * crown_wide
    across = crown_wide + (widest - crown_wide) * np.sin(0.5 * np.pi * x)
    step = (widest - crown_wide) * 0.5 * np.pi * np.cos(0.5 * np.pi * x) * w
    out = np.sqrt(off**2 + across**2) - (0.5 - DISH_KNUCKLE)
    knuckle = np.sqrt(np.maximum(DISH_KNUCKLE**2 - out**2, 0.0)) * step
    return 2.0 * (crown + knuckle).sum(axis=0) * d**2
