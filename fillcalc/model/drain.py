"""Draining by gravity while air comes in at the top and its suction holds the water back."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from fillcalc.arrays import Array, lots, take
from fillcalc.model.line import LAMINAR_END, TURBULENT_START, friction
from fillcalc.model.quadrature import gauss
from fillcalc.model.shapes.shape import Shape
from fillcalc.model.vent import CHOKED, CRITICAL, GAMMA_PART
from fillcalc.properties.media import AIR_GAS_CONSTANT, GRAVITY
from fillcalc.properties.media import HEAT_CAPACITY_RATIO as RATIO

NODES = 12
"""Gauss nodes in each panel."""
ITERATIONS, LAST_STEP = 8, 1e-6
"""Newton steps at most for the logarithm of the suction's root, and the size of a step that leaves 1e-12 or less."""
ROWS = 1024
"""Rows integrated at once, so that their nodes fit the processor's cache."""
HOSE_ROUGHNESS = 1.5e-6
"""m; new plastic hose, as drawn tubing."""
LAST_HEAD = 1e-3
"""m; the last millimetre of head, which a hose would take for ever to pass, is left in the vessel."""
NO_HEAD = 1e-6
"""Pa; a head below this drives nothing."""
NEARLY_EMPTY = 1.0 - 1e-9
"""Part of the air pressure outside that the suction may take."""


@dataclass(frozen=True, eq=False, repr=False)
class Draining:
    """One drain, or N: numbers of shape (N,).

    `volume` m3 of water; `height` m of the vessel; `fall` m from its bottom down to the outlet; `bore` m of port
    and hose; `hose` m of hose; `coefficient` of the port; `vent_area` m2, discharge coefficient times area of
    what lets air in, zero where all is shut; `outside_abs` Pa abs; K; kg/m3; Pa s.
    """

    volume: Array
    height: Array
    fall: Array
    bore: Array
    hose: Array
    coefficient: Array
    vent_area: Array
    outside_abs: Array
    air_temperature: Array
    density: Array
    viscosity: Array

    @cached_property
    def velocity_head(self) -> Array:
        """In the port, Pa s2/m6. Definition: half the density over the square of the area."""
        return 0.5 * self.density / (0.25 * np.pi * self.bore**2) ** 2

    @cached_property
    def reynolds(self) -> Array:
        """Reynolds number in the hose for each m3/s. Definition: speed times bore over the kinematic viscosity."""
        return 4.0 * self.density / (np.pi * self.bore * self.viscosity)

    @cached_property
    def slender(self) -> Array:
        """Length of the hose over its bore, a ratio. Definition: length over bore."""
        return self.hose / self.bore

    @cached_property
    def air_scale(self) -> Array:
        """Area of the vent times sqrt(R T), m3/s; of a square metre where it is shut. Derived: as `vent.scale`."""
        area = np.where(self.vent_area > 0.0, self.vent_area, 1.0)
        return area * np.sqrt(AIR_GAS_CONSTANT * self.air_temperature)

    def lost(self, flow: Array, f: Array) -> Array:
        """Pressure lost in port and hose at a flow, m3/s, and a friction factor, Pa. Derived: losses add up."""
        return self.velocity_head * (1.0 / self.coefficient**2 + f * self.slender) * flow * flow

    def level(self, head: Array) -> Array:
        """Level over height at which the head is this, Pa. Derived: hydrostatics."""
        return (head / (self.density * GRAVITY) - self.fall) / np.maximum(self.height, LAST_HEAD)


def drain(task: Draining, inside: Shape, left: Array | float = 0.0) -> tuple[Array, Array]:
    """Time to drain from full, s, and the lowest pressure inside on the way, Pa abs; shape (N,).

    Args:
        task: what is drained, and through what.
        inside: the shape, whose proportions alone count.
        left: level over height at which it stops, 0 for all of it.

    The head is level plus fall; the loss is (1/Cd^2 + f L/D) velocity heads in hose of the port's bore; air
    enters through an isentropic orifice and its suction is taken from the head. Quasi-steady. Gauss nodes in
    h = H sin^2(phi): within 2e-5 of brute force. With the vent shut nothing drains: the time is NaN and
    the pressure is what the column of water pulls, no lower than zero. Without head it never drains: NaN.
    Derived: Bernoulli from surface to outlet, integrated over the level.
    """
    time, lowest = np.empty_like(task.volume), np.empty_like(task.volume)
    for rows in lots(len(time), ROWS):
        time[rows], lowest[rows] = _drain(take(task, rows), take(inside, rows), take(left, rows))
    return time, lowest


def _drain(task: Draining, inside: Shape, left: Array | float) -> tuple[Array, Array]:
    head = task.density * GRAVITY * (task.height + task.fall)
    lowest = task.outside_abs - _suction(task, head)
    last = np.clip((LAST_HEAD - task.fall) / np.maximum(task.height, LAST_HEAD), 0.0, 1.0)
    first = np.maximum(np.where(task.hose > 0.0, last, 0.0), left)
    marks = [*inside.panels(), *_friction_turns(task), _choke(task)]
    edges = np.sort([np.clip(mark + 0.0 * head, first, 1.0) for mark in marks], axis=0)
    nodes, weights = (part[:, None] for part in gauss(NODES))
    time = np.zeros_like(head)
    for start, end in pairwise(np.arcsin(np.sqrt(edges))):
        if not np.any(end > start):
            continue
        angle = start + nodes * (end - start)
        part = np.sin(angle) ** 2
        flow, _ = _flow(task, task.density * GRAVITY * (task.height * part + task.fall))
        slope = inside.widening(part) * np.sin(2.0 * angle) * (end - start)
        with np.errstate(divide="ignore", invalid="ignore"):
            time = time + np.where(end > start, slope / flow * weights, 0.0).sum(axis=0)
    drains = (head > NO_HEAD) & (task.vent_area > 0.0) & np.isfinite(time)
    return np.where(drains, task.volume * time, np.nan), lowest


def _friction_turns(task: Draining) -> list[Array]:
    """Levels over height at which the flow in the hose turns laminar, and stops being fully turbulent."""
    levels = []
    for reynolds in (LAMINAR_END, TURBULENT_START):
        flow = reynolds / task.reynolds
        f, _ = friction(reynolds + 0.0 * flow, HOSE_ROUGHNESS / task.bore)
        levels.append(task.level(task.lost(flow, f) + 0.5 * task.outside_abs * (flow / task.air_scale) ** 2))
    return levels


def _choke(task: Draining) -> Array:
    """Level over height above which the air that comes in chokes."""
    flow = CHOKED / CRITICAL * task.air_scale
    f, _ = friction(task.reynolds * flow, HOSE_ROUGHNESS / task.bore)
    return task.level(task.lost(flow, f) + (1.0 - CRITICAL) * task.outside_abs)


def shut_vent_abs(task: Draining) -> Array:
    """What the pressure inside would fall to if the vent stayed shut, Pa abs, no lower than zero.

    Derived: hydrostatics of the column.
    """
    return np.maximum(task.outside_abs - task.density * GRAVITY * (task.height + task.fall), 0.0)


def _suction(task: Draining, head: Array) -> Array:
    shut = task.vent_area <= 0.0
    pulled = np.minimum(np.maximum(head, 0.0), task.outside_abs)
    return np.where(shut, pulled, _flow(task, head)[1])


def _flow(task: Draining, head: Array) -> tuple[Array, Array]:
    """Flow in m3/s and suction in Pa under a head in Pa; shape (..., N); zero where there is no head.

    The root y of the suction gives the air that comes in, which is the water that goes out, in closed form; so
    the one equation loss(Q(y)) + y^2 = head is solved in the logarithms, where it is nearly straight.
    """
    drives = head > NO_HEAD
    target = np.where(drives, head, 1.0)
    fixed = 1.0 / task.coefficient**2
    most = NEARLY_EMPTY * task.outside_abs
    by_air = 2.0 / task.outside_abs * task.air_scale**2
    part = 1.0 / (1.0 + by_air * task.velocity_head * (fixed + 0.03 * task.slender))
    root = np.sqrt(np.minimum(target * part, 0.9 * most))
    for _ in range(ITERATIONS):
        flow, flow_power = _air_in(task, root)
        f, slope = friction(np.maximum(task.reynolds * flow, 1e-9), HOSE_ROUGHNESS / task.bore)
        by_hose = f * task.slender
        resistance = fixed + by_hose
        power = 2.0 + slope * by_hose / resistance
        lost = task.velocity_head * resistance * flow * flow
        suction = root * root
        total = lost + suction
        steep = (lost * power * flow_power + 2.0 * suction) / total
        step = np.log(target / total) / steep
        root = np.minimum(root * np.exp(step), np.sqrt(most))
        if abs(step).max() < LAST_STEP:
            break
    flow, _ = _air_in(task, root)
    return np.where(drives, flow, 0.0), np.where(drives, root * root, 0.0)


def _air_in(task: Draining, root: Array) -> tuple[Array, Array]:
    """Air that comes in, m3/s at the pressure inside, against the root of the suction, Pa^0.5, and the
    slope of its logarithm with that of the root."""
    drop = root * root / task.outside_abs
    ratio = 1.0 - drop
    log_ratio = np.log1p(-drop)
    cooled = -np.expm1(GAMMA_PART * log_ratio)
    choked = ratio <= CRITICAL
    subsonic = task.air_scale * np.sqrt(2.0 / GAMMA_PART * cooled) * np.exp((1.0 / RATIO - 1.0) * log_ratio)
    by_ratio = (1.0 / RATIO - 1.0) - 0.5 * GAMMA_PART * (1.0 - cooled) / cooled
    lean = -2.0 * drop / ratio
    return np.where(choked, CHOKED * task.air_scale / ratio, subsonic), np.where(choked, -lean, by_ratio * lean)
