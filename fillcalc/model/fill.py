"""Filling: water in through the line, air out through the vent, marched in the water's volume."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fillcalc.arrays import Array, Codes, Flags, lots, take
from fillcalc.model.filling import Filled, Filling
from fillcalc.model.line import loss, open_flow, source_loss
from fillcalc.model.shapes.level import LevelTable
from fillcalc.model.status import Status
from fillcalc.model.vent import CHOKED, SMALLEST_ROOT, outflow_by

AMPLE_VENT = 1.0
VENTS = (0.01, 0.15, AMPLE_VENT)
"""Choked ceiling of the vent over the open flow, above which ever fewer steps are enough."""
HEADS = (1e-3, 0.02, 0.1)
"""Head that is left at the end over that at the start, likewise."""
STEPS = ((768, 4), (288, 4), (96, 2), (14, 2))
"""Steps and Newton iterations, from the hardest fills to the easy ones."""
BENT = 2
"""The most of them, by place, that is easy enough for a source at its most, and for the first and the last of several
containers. Of those between, whose air stands lower than that of the first, an easy march costs 0.02 % of the time."""
ROWS = 8192
"""Rows marched together, so that memory does not grow with containers times samples."""
FIRST_ITERATIONS = 6
"""More of them where the guess is far."""
SETTLED = 1e-7
"""A Newton step this small, as a part of the whole, is the last: another would gain nothing."""
SMALLEST_GAS = 1e-30
"""m3; keeps a vessel that fills to the brim from dividing by nothing."""
STALL_BISECTIONS = 60
MOST_CONTAINERS = 48
"""Containers up to which each is marched on its own; beyond, each gives at its mean level, without a pause for the air.
"""

STAGE = 2.0 - np.sqrt(2.0)
"""Place of the middle stage of TR-BDF2 in its step (Bank et al., IEEE Trans. CAD 4 (1985) 436)."""
BDF = (1.0 - STAGE) / (2.0 - STAGE)
MIX_STAGE = 1.0 / (STAGE * (2.0 - STAGE))
MIX_START = (1.0 - STAGE) ** 2 / (STAGE * (2.0 - STAGE))
WEIGHTS = (0.5 - 1.0 / (6.0 * STAGE), 1.0 / (6.0 * STAGE * (1.0 - STAGE)), (2.0 - 3.0 * STAGE) / (6.0 * (1.0 - STAGE)))
"""Quadrature weights on start, stage and end of a step, exact for a parabola. Nothing hangs on them at the two ends of
the map, which is flat there."""
HALVINGS = 2
"""How often the last step is halved: the little gas that is left follows the level within it."""


def fill(task: Filling, table: LevelTable) -> Filled:
    """Fill time, flows, air pressure and where the driving pressure goes.

    Solves V_g dp/dt = p Q - R T m with dV_w/dt = Q, isothermal air, by TR-BDF2 in a mapped water volume
    with fixed steps: within 0.05 % of a brute-force integration. A fill that stands still is a closed form: its
    status says why, its time is NaN, its water the stand.

    A container that runs out is changed for a full one. The air comes to rest meanwhile, so what each gives is a fill
    of its own, and all of them are rows of one march. The history holds the change-overs, the time does not.
    Derived: balances of water and air over the vessel. Source: the scheme of R. Bank et al., IEEE Trans. CAD 4
    (1985) 436 (from memory).
    """
    turns = task.turns
    many = turns > MOST_CONTAINERS
    if many.any():
        mean = 0.5 * task.contents / task.area
        task = replace(task, drop=np.where(many, task.drop + mean, task.drop), area=np.where(many, np.inf, task.area))
    marched = np.where(many, 1, turns)
    owner = np.repeat(np.arange(len(turns)), marched)
    first = np.cumsum(marched) - marched
    turn = np.arange(len(owner)) - first[owner]
    last = turn == marched[owner] - 1
    rows = take(task, owner)
    begun = np.where(turn > 0, turn * np.where(last & (turn == 0), 0.0, rows.contents), 0.0)
    rows = replace(rows, poured=begun, end=np.where(last, rows.end, begun + rows.contents))
    return _filled(_one_after_another(_each(rows, table, last, int(marched[0])), task, first, turn), turns)


@dataclass(frozen=True, eq=False, repr=False)
class _Marched:
    """What fills came to: arrays by the names of `Filled`, its parts as part0 and on; and histories by their row."""

    of: dict[str, Array]
    history: dict[int, Array]


def _filled(whole: _Marched, turns: Codes) -> Filled:
    """The answer, with what is kept by name put in its place."""
    kept, rest = whole.history, dict(whole.of)
    history = tuple(np.concatenate([kept[row] for row in sorted(kept)], axis=1)) if kept else ()
    parts = tuple(rest.pop(f"part{i}") for i in range(7))
    return Filled(parts=parts, history=history, turns=turns, status=rest.pop("status").astype(int), **rest)


def _one_after_another(marched: _Marched, task: Filling, first: Codes, turn: Codes) -> _Marched:
    """The fill of each row from those of its containers; it ends with the first that stands still."""
    each, count = marched.of, np.diff(np.append(first, len(turn)))
    owner = np.repeat(np.arange(len(first)), count)
    stands = np.minimum.reduceat(np.where(each["status"] != Status.DONE, turn, len(turn)), first)
    end = np.minimum(stands, count - 1)
    pick, there = first + end, turn <= end[owner]
    whole = {name: each[name][pick] for name in ("status", "water", "level", "flow_end")}
    whole |= {name: each[name][first] for name in ("flow_start", "vent_reserve")}
    for name in ("air_peak_gauge", "bottom_peak_gauge"):
        whole[name] = np.fmax.reduceat(np.where(there, each[name], 0.0), first)
    for name in ("time", *(f"part{i}" for i in range(7))):
        whole[name] = np.add.reduceat(each[name], first)
    pause = np.broadcast_to(task.change_over, count.shape)
    ends = np.cumsum(each["time"][:count[0]] + pause[0])
    return _Marched(whole, {
        row: np.concatenate([kept[:1] + (ends[row - 1] if row else 0.0), kept[1:]])
        for row, kept in marched.history.items() if row <= end[0]})


def _each(task: Filling, table: LevelTable, last: Flags, with_history: int) -> _Marched:
    """Each row on its own, from air at rest to its end; `last` is false where another container goes on. Histories
    are kept of the first rows, as many as are `told`."""
    n = task.volume.shape[-1]
    marched = _Marched(_blank(n), {})
    result = marched.of
    before = task.poured + np.zeros_like(task.end)
    at_start, at_end = task.head(table, before), task.head(table, task.end)
    limit = task.limit(before / task.volume)
    result["flow_start"] = open_flow(task.line, at_start if limit is None else np.minimum(at_start, limit),
                                     before / task.volume)
    result["vent_reserve"] = CHOKED * task.by_vent / np.maximum(result["flow_start"], 1e-30)
    shut = task.vent_area <= 0.0
    too_high = at_end <= 0.0
    squeezed = task.outside_abs * task.end / np.maximum(task.volume - task.end, SMALLEST_GAS)
    stands = np.where(shut, last | (at_end <= squeezed), too_high)
    if stands.any():
        rows = np.flatnonzero(stands)
        part = take(task, rows)
        share = _standing_share(part, table, shut[rows], last[rows])
        air = np.where(shut[rows], part.outside_abs * share / (1.0 - share), 0.0)
        result["water"][rows] = share * part.volume
        result["level"][rows] = part.height * table(share)
        result["status"][rows] = np.where(shut[rows], Status.AIR_SHUT_IN, Status.HEAD_TOO_HIGH)
        result["air_peak_gauge"][rows] = air
        result["bottom_peak_gauge"][rows] = air + part.column(table, share * part.volume)
        result["flow_end"][rows] = 0.0
    reserve = result["vent_reserve"]
    left = at_end / np.where(too_high, np.inf, at_start)
    ease = np.minimum(np.digitize(reserve, VENTS), np.digitize(left, HEADS))
    first_or_last = last == (before > 0.0)
    ease = np.where(first_or_last | np.isfinite(task.most), np.minimum(ease, BENT), ease)
    for steps, fills in enumerate(STEPS):
        rows = np.flatnonzero((ease == steps) & ~stands & ~shut)
        for lot in lots(rows.size, ROWS):
            _march(take(task, rows[lot]), table, fills, _Out(rows[lot], marched, with_history))
    return marched


def _blank(n: int) -> dict[str, Array]:
    names = ("time", "water", "level", "flow_start", "flow_end", "air_peak_gauge", "bottom_peak_gauge",
             "vent_reserve")
    blank: dict[str, Array] = {name: np.full(n, np.nan) for name in names}
    blank |= {f"part{i}": np.full(n, np.nan) for i in range(7)}
    blank["status"] = np.full(n, int(Status.DONE))
    return blank


def _standing_share(task: Filling, table: LevelTable, shut: Flags, last: Flags) -> Array:
    """Filled share where head and, if shut in, the air balance the source; by bisection. Just what was there before
    where no water flows at all."""
    low = task.poured / task.volume
    starts = task.head(table, low * task.volume) > 0.0
    high = np.where(starts, np.where(shut & last, 1.0, task.end / task.volume), low)
    for _ in range(STALL_BISECTIONS):
        middle = 0.5 * (low + high)
        air = np.where(shut, task.outside_abs * middle / (1.0 - middle), 0.0)
        rises = task.head(table, middle * task.volume) > air
        low, high = np.where(rises, middle, low), np.where(rises, high, middle)
    return 0.5 * (low + high)


@dataclass(frozen=True, eq=False, repr=False)
class _Node:
    """The state at one node: point in the map, head that counts, root of overpressure, flow."""

    point: _Point
    head: Array
    root: Array
    flow: Array


@dataclass(frozen=True, eq=False, repr=False)
class _Point:
    """A point of the map V_w = V_start + (V_end - V_start) (1 - (1 - s^2)^2): m3, Pa, dV_w/ds in m3, gas in m3."""

    s: float
    water: Array
    column: Array
    head: Array
    slope: Array
    gas: Array


def _point(task: Filling, table: LevelTable, s: float) -> _Point:
    left = (1.0 - s * s) ** 2
    span = task.end - task.poured
    water = task.poured + span * (1.0 - left)
    column = task.column(table, water)
    head = task.head_over(task.weight * task.height if task.from_top else column, water)
    return _Point(s, water, column, head, span * (4.0 * s * (1.0 - s * s)), task.volume - task.end + span * left)


def _stage(task: Filling, point: _Point, guess: _Node, way: tuple[float, Array, int]) -> _Node:
    """Solve an implicit stage p - a (p - m/Q) = carried with a = coefficient x dV_w/ds / V_g.

    Where the line falls further than the source can feed, the flow is the most that it passes and the head of the
    node is what that flow takes.
    """
    water, head, slope, gas = point.water, point.head, point.slope, point.gas
    coefficient, carried, iterations = way
    stiff = coefficient * slope
    share = gas / np.maximum(gas + stiff, SMALLEST_GAS)
    wetted = water / task.volume
    twice, rest, held = 2.0 * share - 1.0, 1.0 - share, carried * share
    root, flow = guess.root, guess.flow
    limit = task.limit(wetted)
    for _ in range(iterations):
        lost, lost_slope = loss(task.line, flow, wetted)
        out, out_slope = outflow_by(task.by_vent, root, task.outside_abs)
        square, double = root * root, 2.0 * root
        balance = (task.outside_abs + square) * twice - held
        first, push = lost + square - head, double
        if limit is not None:
            falls = head - square > limit
            first, push = np.where(falls, lost - limit, first), np.where(falls, 0.0, push)
        second = flow * balance + rest * out
        by_root = flow * twice * double + rest * out_slope
        determinant = push * balance - lost_slope * by_root
        root_step = (first * balance - second * lost_slope) / determinant
        flow_step = (push * second - by_root * first) / determinant
        root = np.maximum(np.maximum(root - root_step, 0.2 * root), SMALLEST_ROOT)
        flow = np.maximum(flow - flow_step, 0.2 * flow)
        if (np.abs(root_step) <= SETTLED * root).all() and (np.abs(flow_step) <= SETTLED * flow).all():
            break
    if limit is not None:
        head = np.minimum(head, limit + root * root)
    return _Node(point, head, root, flow)


class _Peak:
    """The most of what is met along the way: where one of three in a row stands out, the top of the parabola through
    them."""

    def __init__(self, first: Array) -> None:
        self.value = first
        self._last = [(0.0, first)]

    def meet(self, s: float, value: Array) -> None:
        """The next one; `s` rises."""
        self.value = np.maximum(self.value, value)
        if len(self._last) == 2:
            (s0, v0), (s1, v1) = self._last
            before, after = (v1 - v0) / (s1 - s0), (value - v1) / (s - s1)
            bend = (before - after) / (s - s0)
            slope = before - bend * (s1 - s0)
            stands_out = (before > 0.0) & (after < 0.0)
            top = v1 + np.where(stands_out, slope * slope / np.where(stands_out, 4.0 * bend, 1.0), 0.0)
            self.value = np.maximum(self.value, top)
        self._last = [*self._last[-1:], (s, value)]


class _Sums:
    """Integrals of a march over the water, and the most that was seen on the way."""

    def __init__(self, task: Filling, highest: Array, at_rest: _Node) -> None:
        self.task, self.highest = task, highest
        self.time, self.square, self.head, self.air, self.tap = (np.zeros_like(at_rest.flow) for _ in range(5))
        self.peak, self.bottom = _Peak(at_rest.root**2), _Peak(at_rest.point.column)
        self.bent = len(task.line.source.k) > 1
        """Whether the source's curve has several pieces, so that its loss does not go with the square of the flow."""

    def add(self, weight: float, at: _Node) -> None:
        """Count one node of the quadrature."""
        slope = weight * at.point.slope
        self.time = self.time + slope / at.flow
        self.square = self.square + slope * at.flow**2
        self.head = self.head + slope * at.head
        self.air = self.air + slope * at.root**2
        if self.bent:
            self.tap = self.tap + slope * source_loss(self.task.line, at.flow)
        gauge = np.minimum(at.root, self.highest) ** 2
        self.peak.meet(at.point.s, gauge)
        self.bottom.meet(at.point.s, gauge + at.point.column)

    def parts(self) -> tuple[Array, ...]:
        """Integrals over the water of what each part takes, J; the hose is what is left of the whole."""
        task, line = self.task, self.task.line
        span = task.end - task.poured
        driven = span * line.source.pressure
        tap = self.tap if self.bent else line.scale * line.source.k[0] * self.square
        couplings, valve, exit = (line.scale * k * self.square for k in (line.couplings_k, line.valve_k, line.exit_k))
        height = task.driving * span - self.head - task.weight * line.source.height * span
        hose = driven - tap - couplings - valve - exit - height - self.air
        return tap, hose, couplings, valve, exit, height, self.air


@dataclass(frozen=True, eq=False, repr=False)
class _Out:
    """Where a march writes: the rows, the result of all, and of how many of the first the history is kept."""

    rows: Codes
    result: _Marched
    with_history: int


def _march(task: Filling, table: LevelTable, fills: tuple[int, int], out: _Out) -> None:
    """March these rows from air at rest to their end in so many steps and iterations, and write what came."""
    widths, iterations = _widths(fills[0]), fills[1]
    rows, result = out.rows, out.result.of
    flow = result["flow_start"][rows]
    at_rest = _point(task, table, 0.0)
    node = _Node(at_rest, at_rest.head, np.full_like(flow, SMALLEST_ROOT), flow)
    rate = 0.0 * flow
    ample = result["vent_reserve"][rows] >= AMPLE_VENT
    highest = np.where(ample, _steady_root(task, at_rest, flow), np.inf)
    sums = _Sums(task, highest, node)
    with_history = np.flatnonzero(rows < out.with_history)
    kept = [_kept(sums.time, node, with_history)]
    s = 0.0
    for i, (width, following) in enumerate(zip(widths, [*widths[1:], 0.0], strict=True)):
        carried = task.outside_abs + node.root**2 + 0.5 * STAGE * width * rate
        guess = node if i else replace(node, root=_first_root(task, table, STAGE * width, flow))
        extra = 0 if i else FIRST_ITERATIONS
        middle = _stage(task, _point(task, table, s + STAGE * width), guess,
                        (0.5 * STAGE * width, carried, iterations + extra))
        carried = (MIX_STAGE * (task.outside_abs + middle.root**2)
                   - MIX_START * (task.outside_abs + node.root**2))
        s = min(s + width, 1.0) if following else 1.0
        end = _stage(task, _point(task, table, s), middle, (BDF * width, carried, iterations))
        rate = (task.outside_abs + end.root**2 - carried) / (BDF * width)
        for weight, at in ((WEIGHTS[1] * width, middle), (WEIGHTS[2] * width + WEIGHTS[0] * following, end)):
            sums.add(weight, at)
        node = end
        if with_history.size:
            ahead = WEIGHTS[0] * following * node.point.slope / node.flow  # counted for the next step
            kept.append(_kept(sums.time - ahead, node, with_history))
    came = {"time": sums.time, "water": task.end, "level": task.height * table(task.end / task.volume),
            "flow_end": node.flow, "air_peak_gauge": np.minimum(sums.peak.value, highest**2),
            "bottom_peak_gauge": sums.bottom.value}
    for name, values in (came | {f"part{i}": part for i, part in enumerate(sums.parts())}).items():
        result[name][rows] = values
    for place, index in enumerate(with_history):
        one = take(task, slice(index, index + 1))
        out.result.history[int(rows[index])] = _history(one, table, np.stack(kept)[..., place])


def _widths(steps: int) -> list[float]:
    """Widths of the steps of a march: alike, but the last one halved and its later half halved again."""
    even = 1.0 / steps
    return [even] * (steps - 1) + [even * 0.5 ** min(n, HALVINGS) for n in range(1, HALVINGS + 2)]


def _first_root(task: Filling, table: LevelTable, s: float, flow: Array) -> Array:
    """A guess for the root of the overpressure early in the fill: still air, or a steady vent."""
    point = _point(task, table, s)
    still = np.sqrt(task.outside_abs * (point.water - task.poured) / point.gas)
    slope = outflow_by(task.by_vent, np.ones_like(flow), task.outside_abs)[0]
    return np.minimum(still, task.outside_abs * flow / slope)


def _steady_root(task: Filling, at_rest: _Point, flow: Array) -> Array:
    """Root of the overpressure at which the vent would pass all that comes in at the start.

    The air tends to it from below while the head only falls, so the peak is no higher; the march rings
    about it by a per cent or two where a wide vent has its peak inside the first step.
    """
    slope = outflow_by(task.by_vent, np.ones_like(flow), task.outside_abs)[0]
    guess = _Node(at_rest, at_rest.head, task.outside_abs * flow / slope, flow)
    full = replace(at_rest, slope=np.ones_like(flow), gas=0.0 * flow)
    return _stage(task, full, guess, (1.0, task.outside_abs, FIRST_ITERATIONS)).root


def _kept(time: Array, node: _Node, rows: Codes) -> Array:
    """Time, water, flow and air pressure of some rows at a node, (4, rows): no more is kept of any node."""
    return np.stack([time[rows], node.point.water[rows], node.flow[rows], node.root[rows] ** 2])


def _history(task: Filling, table: LevelTable, kept: Array) -> Array:
    """Time, water, level, flow and air pressure of one row at its nodes, (5, nodes, 1), from what was kept of each,
    (nodes, 4)."""
    time, water, flow, air = kept.T[..., None]
    return np.stack([time, water, task.height * table(water / task.volume), flow, air])
