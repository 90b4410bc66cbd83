"""Filling: water in through the line, air out through the vent, marched in the water's volume."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import Any, TypeAlias

import numpy as np

from fillcalc.answers import Status
from fillcalc.media import GRAVITY
from fillcalc.model.arrays import Array, take
from fillcalc.model.line import LAST_STEP, Line, loss, open_flow, source_loss
from fillcalc.model.shape import LevelTable
from fillcalc.model.vent import CHOKED, SMALLEST_ROOT, outflow_by, scale
from fillcalc.record import record

AMPLE_VENT = 1.0
VENTS = (0.01, 0.15, AMPLE_VENT)
"""Choked ceiling of the vent over the open flow, above which ever fewer steps are enough."""
HEADS = (1e-3, 0.02, 0.1)
"""Head that is left at the end over that at the start, likewise."""
STEPS = ((768, 4), (96, 4), (48, 2), (12, 2))
"""Steps and Newton iterations, from the hardest fills to the easy ones."""
FIRST_ITERATIONS, SURE = 6, 2
"""More of them, at most, where the guess is far; and how many are taken before it is looked whether they are enough."""
SMALLEST_GAS = 1e-30
"""m3; keeps a vessel that fills to the brim from dividing by nothing."""
STALL_BISECTIONS = 60

STAGE = 2.0 - np.sqrt(2.0)
"""Place of the middle stage of TR-BDF2 in its step (Bank et al., IEEE Trans. CAD 4 (1985) 436)."""
BDF = (1.0 - STAGE) / (2.0 - STAGE)
MIX_STAGE = 1.0 / (STAGE * (2.0 - STAGE))
MIX_START = (1.0 - STAGE) ** 2 / (STAGE * (2.0 - STAGE))
WEIGHTS = (0.5 - 1.0 / (6.0 * STAGE), 1.0 / (6.0 * STAGE * (1.0 - STAGE)), (2.0 - 3.0 * STAGE) / (6.0 * (1.0 - STAGE)))
"""Quadrature weights on start, stage and end of a step, exact for a parabola."""
NODE_WEIGHTS = (WEIGHTS[1], WEIGHTS[2] + WEIGHTS[0])
"""The same on a stage, and on an end that is the next start; nothing hangs on them at the two ends of the map, which is
flat there."""


@record(frozen=True)
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

    def head(self, table: LevelTable, water: Array) -> Array:
        """What is left of the driving pressure at the surface (or the top port), Pa."""
        level = self.height if self.from_top else self.height * table(water / self.volume)
        return self.driving - self.weight * level


@record(frozen=True)
class Filled:
    """What the fill came to; numbers of shape (N,), histories (nodes, 1) of the first row.

    `parts` are the integrals over the water of each part's pressure, J: tap, hose, couplings, valve,
    exit, height, vent; they sum to source pressure times water.
    """

    status: Array
    time: Array
    water: Array
    level: Array
    flow_start: Array
    flow_end: Array
    air_peak_gauge: Array
    vent_reserve: Array
    """Most air that the vent can pass over the open flow."""
    parts: tuple[Array, ...]
    history: tuple[Array, ...]
    """Time, water, level, flow and air pressure of the first row, from empty to full."""


def fill(task: Filling, table: LevelTable) -> Filled:
    """Fill time, flows, air pressure and where the driving pressure goes.

    Solves V_g dp/dt = p Q - R T m with dV_w/dt = Q, isothermal air, by TR-BDF2 in a mapped water volume
    with fixed steps: within 0.05 % of a brute-force integration, 0.5 % where the vent is nearly shut. A
    fill that stands still is a closed form: its status says why, its time is NaN, its water the stand.
    Derived: balances of water and air over the vessel. Source: the scheme of R. Bank et al., IEEE Trans. CAD 4
    (1985) 436 (from memory).
    """
    n = task.volume.shape[-1]
    result = _blank(n)
    at_start, at_end = task.head(table, 0.0 * task.end), task.head(table, task.end)
    result["flow_start"] = open_flow(task.line, at_start)
    result["vent_reserve"] = CHOKED * task.by_vent / np.maximum(result["flow_start"], 1e-30)
    shut = task.vent_area <= 0.0
    too_high = at_end <= 0.0
    stands = shut | too_high
    if stands.any():
        rows = np.flatnonzero(stands)
        part = take(task, rows)
        share = _standing_share(part, table, shut[rows])
        result["water"][rows] = share * part.volume
        result["level"][rows] = part.height * table(share)
        result["status"][rows] = np.where(shut[rows], Status.AIR_SHUT_IN, Status.HEAD_TOO_HIGH)
        result["air_peak_gauge"][rows] = np.where(shut[rows], part.outside_abs * share / (1.0 - share), 0.0)
        result["flow_end"][rows] = 0.0
    reserve = result["vent_reserve"]
    left = at_end / np.where(too_high, np.inf, at_start)
    ease = np.minimum(np.digitize(reserve, VENTS), np.digitize(left, HEADS))
    for steps, fills in enumerate(STEPS):
        rows = np.flatnonzero((ease == steps) & ~stands)
        if rows.size:
            whole = rows.size == n
            _march(task if whole else take(task, rows), table, fills, rows, result)
    history = tuple(result.pop("history")) if "history" in result else ()
    parts = tuple(result.pop(f"part{i}") for i in range(7))
    return Filled(parts=parts, history=history, **result)


def _blank(n: int) -> dict[str, Array]:
    names = ("time", "water", "level", "flow_start", "flow_end", "air_peak_gauge", "vent_reserve")
    blank = {name: np.full(n, np.nan) for name in names}
    blank |= {f"part{i}": np.full(n, np.nan) for i in range(7)}
    blank["status"] = np.full(n, int(Status.DONE))
    return blank


def _standing_share(task: Filling, table: LevelTable, shut: Any) -> Array:
    """Filled share where head and, if shut in, the air balance the source; by bisection."""
    low, high = np.zeros_like(task.volume), np.where(shut, 1.0, task.end / task.volume)
    for _ in range(STALL_BISECTIONS):
        middle = 0.5 * (low + high)
        air = np.where(shut, task.outside_abs * middle / (1.0 - middle), 0.0)
        rises = task.head(table, middle * task.volume) > air
        low, high = np.where(rises, middle, low), np.where(rises, high, middle)
    return 0.5 * (low + high)


_Known: TypeAlias = tuple[Array, Array, Array]
"""A place, what is known there, and its slope."""


@record(frozen=True)
class _Node:
    """The state at one node: place in the map, water, head, root of overpressure, flow."""

    s: float
    water: Array
    head: Array
    root: Array
    flow: Array
    volume_slope: Array
    """dV_w/ds, m3."""
    lost: _Known | None = None
    """The loss at a flow near that of the node; None where it hangs on the water too."""
    out: _Known | None = None
    """What the vent passes at a root near that of the node."""


def _place(task: Filling, table: LevelTable, s: float) -> tuple[Array, Array, Array, Array]:
    """Water, head, dV_w/ds and gas volume at a place of the map V_w = V_end (1 - (1 - s^2)^2)."""
    left = (1.0 - s * s) ** 2
    water = task.end * (1.0 - left)
    gas = task.volume - task.end + task.end * left
    return water, task.head(table, water), task.end * (4.0 * s * (1.0 - s * s)), gas


def _stage(task: Filling, place: tuple[Array, Array, Array, Array], s: float, guess: _Node,
           way: tuple[float, Array, int]) -> _Node:
    """Solve an implicit stage p - a (p - m/Q) = carried with a = coefficient x dV_w/ds / V_g."""
    water, head, slope, gas = place
    coefficient, carried, iterations = way
    stiff = coefficient * slope
    share = gas / np.maximum(gas + stiff, SMALLEST_GAS)
    wetted = water / task.volume
    twice, rest, held = 2.0 * share - 1.0, 1.0 - share, carried * share
    root, flow, lost_at, out_at = guess.root, guess.flow, guess.lost, guess.out
    for step in range(iterations):
        if step or lost_at is None:
            lost_at = (flow, *loss(task.line, flow, wetted))
        if step or out_at is None:
            out_at = (root, *outflow_by(task.by_vent, root, task.outside_abs))
        lost, lost_slope = _near(lost_at, flow)
        out, out_slope = _near(out_at, root)
        square, double = root * root, 2.0 * root
        balance = (task.outside_abs + square) * twice - held
        first = lost + square - head
        second = flow * balance + rest * out
        by_root = flow * twice * double + rest * out_slope
        determinant = double * balance - lost_slope * by_root
        root_step = (first * balance - second * lost_slope) / determinant
        flow_step = (double * second - by_root * first) / determinant
        root = np.maximum(np.maximum(root - root_step, 0.2 * root), SMALLEST_ROOT)
        flow = np.maximum(flow - flow_step, 0.2 * flow)
        if step >= SURE and max(abs(root_step / root).max(), abs(flow_step / flow).max()) < LAST_STEP:
            break
    return _Node(s, water, head, root, flow, slope, lost_at if task.line.pipe is None else None, out_at)


def _near(known: _Known, place: Array) -> tuple[Array, Array]:
    """What stands at a place near one where it is known, and its slope, as of a power of the place to second order.
    This starts a Newton step, and never ends one."""
    there, value, slope = known
    if place is there:
        return value, slope
    bend = slope * (slope / value - 1.0 / there)
    away = place - there
    return value + away * (slope + 0.5 * bend * away), slope + bend * away


def _march(task: Filling, table: LevelTable, fills: tuple[int, int], rows: Any, result: dict[str, Array]) -> None:
    """March these rows from empty to full in so many steps and iterations, and write what came into the result."""
    steps, iterations = fills
    width = 1.0 / steps
    flow = result["flow_start"][rows]
    empty = np.full_like(flow, SMALLEST_ROOT)
    node = _Node(0.0, 0.0 * flow, task.head(table, 0.0 * flow), empty, flow, 0.0 * flow)
    rate = 0.0 * flow
    time, square, height, air, tap = (np.zeros_like(flow) for _ in range(5))
    peak = empty
    has_pieces = len(task.line.source.k) > 1
    kept = [(time[:1], node)]
    for i in range(steps):
        s = i * width
        carried = task.outside_abs + node.root**2 + 0.5 * STAGE * width * rate
        guess = node if i else replace(node, root=_first_root(task, table, STAGE * width, flow))
        extra = 0 if i else FIRST_ITERATIONS
        middle = _stage(task, _place(task, table, s + STAGE * width), s + STAGE * width, guess,
                        (0.5 * STAGE * width, carried, iterations + extra))
        carried = (MIX_STAGE * (task.outside_abs + middle.root**2)
                   - MIX_START * (task.outside_abs + node.root**2))
        end = _stage(task, _place(task, table, (i + 1) * width), (i + 1) * width, middle,
                     (BDF * width, carried, iterations))
        rate = (task.outside_abs + end.root**2 - carried) / (BDF * width)
        for weight, at in zip(NODE_WEIGHTS, (middle, end), strict=True):
            slope = weight * width * at.volume_slope
            time = time + slope / at.flow
            square = square + slope * at.flow**2
            height = height + slope * at.head
            air = air + slope * at.root**2
            if has_pieces:
                tap = tap + slope * source_loss(task.line, at.flow)
        peak = np.maximum(peak, np.maximum(middle.root, end.root))
        node = end
        ahead = WEIGHTS[0] * width * node.volume_slope[:1] / node.flow[:1]  # already counted for the next step
        kept.append((time[:1] - ahead, node))
    result["time"][rows] = time
    result["water"][rows] = task.end
    result["level"][rows] = task.height * table(task.end / task.volume)
    result["flow_end"][rows] = node.flow
    ample = result["vent_reserve"][rows] >= AMPLE_VENT
    if ample.any():
        peak = np.where(ample, np.minimum(peak, _steady_root(task, table, flow)), peak)
    result["air_peak_gauge"][rows] = peak**2
    for i, part in enumerate(_parts(task, square, height, air, tap if has_pieces else None)):
        result[f"part{i}"][rows] = part
    if rows[0] == 0:
        result["history"] = _history(task, table, kept)


def _first_root(task: Filling, table: LevelTable, s: float, flow: Array) -> Array:
    """A guess for the root of the overpressure early in the fill: still air, or a steady vent."""
    water, _, _, gas = _place(task, table, s)
    still = np.sqrt(task.outside_abs * water / gas)
    slope = outflow_by(task.by_vent, np.ones_like(flow), task.outside_abs)[0]
    return np.minimum(still, task.outside_abs * flow / slope)


def _steady_root(task: Filling, table: LevelTable, flow: Array) -> Array:
    """Root of the overpressure at which the vent would pass all that comes in at the start.

    The air tends to it from below while the head only falls, so the peak is no higher; the march rings
    about it by a per cent or two where a wide vent has its peak inside the first step.
    """
    head = task.head(table, 0.0 * flow)
    slope = outflow_by(task.by_vent, np.ones_like(flow), task.outside_abs)[0]
    guess = _Node(0.0, 0.0 * flow, head, task.outside_abs * flow / slope, flow, flow)
    full = (0.0 * flow, head, np.ones_like(flow), 0.0 * flow)
    return _stage(task, full, 0.0, guess, (1.0, task.outside_abs, FIRST_ITERATIONS)).root


def _parts(task: Filling, square: Array, head: Array, air: Array, tap: Array | None) -> tuple[Array, ...]:
    """Integrals over the water of what each part takes, J; the hose is what is left of the whole."""
    line = task.line
    driven = task.end * line.source.pressure
    if tap is None:
        tap = line.scale * line.source.k[0] * square
    couplings, valve, exit = (line.scale * k * square for k in (line.couplings_k, line.valve_k, line.exit_k))
    height = task.driving * task.end - head - task.weight * line.source.height * task.end
    hose = driven - tap - couplings - valve - exit - height - air
    return tap, hose, couplings, valve, exit, height, air


def _history(task: Filling, table: LevelTable, kept: list[tuple[Array, _Node]]) -> Array:
    first = slice(0, 1)
    rows = [
        [time, node.water[first], task.height[first] * table(node.water[first] / task.volume[first]),
         node.flow[first], node.root[first] ** 2]
        for time, node in kept
    ]
    return np.asarray(rows).transpose(1, 0, 2)
