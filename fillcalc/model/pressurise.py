"""Pumping up: time, strokes and free air from one pressure to another, with all that slows it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from fillcalc.model.arrays import Array, take
from fillcalc.model.held import Held
from fillcalc.model.line import Line, open_flow
from fillcalc.model.pump import (
    AirDriven,
    Pump,
    along,
    flow,
    free_and_short,
    full_power_gauge,
    least_choked,
    stall,
    throttled_air,
)
from fillcalc.model.quadrature import below_anchor
from fillcalc.model.status import LIMITS, Status

NODES, PANEL_NODES, FEW_EDGES = 12, 6, 6
"""Gauss nodes in a panel, where the panels have few edges and where they have many."""
PANELS, PANELS_OF_MANY, MANY = 24, 12, 64
"""Panels where a limit may take over, and fewer of them for many tries."""
LIMITED_ROWS = 512
"""Tries with a limit in the way that are worked out in one call, so that all their panels stay near the processor."""
KINKS = 4
"""Places, at most, where a limit takes over or lets go on the way up."""
AMPLE = 0.95
"""Part of the compressor's flow, or of the receiver, that no try may pass to count as well supplied."""
ROOT_BISECTIONS = 55
ANCHOR_ABOVE_TEST = 1.5
"""Where a pump has no stall, the map of the pressures hangs on this multiple of the top pressure."""
TOP_UP_PART = 0.999
"""Part of the source's own pressure at which topping up counts as done."""
NEAR_STEPS = 3
"""Newton steps for a flow that starts from that at the node before."""
GOVERNS = 0.1
"""Part of the whole time that something other than the pump must add to be named."""


@dataclass(frozen=True)
class Duty:
    """What is asked of the pump. Numbers of shape (N,).

    `marks` gauge pressures on the way, Pa, shape (m, N) or (0, N); `rise_limit` Pa/s, infinite where
    there is none; `leak` m3/s at test pressure, going with the square root of pressure; `reserve` free
    air in m3 at the site's pressure that the receiver holds above the drive pressure.
    """

    start_gauge: Array
    test_gauge: Array
    marks: Array
    rise_limit: Array
    leak: Array
    reserve: Array


@dataclass(frozen=True)
class PumpedUp:
    """Numbers of shape (N,); `at_gauge`, `at_water`, `at_time` (m + 2, N): start, the marks, end."""

    status: Array
    time: Array
    pumped: Array
    """Water out of the pump, m3; more than the vessel keeps where it leaks."""
    free_air: Array
    stall_gauge: Array
    top_gauge: Array
    """The pressure reached: test pressure, or where the pump stalls or the leak balances."""
    limited_by: Array
    at_gauge: Array
    at_water: Array
    at_time: Array


def pump_up(held: Held, pump: Pump, duty: Duty) -> PumpedUp:
    """Pump from the start to the test pressure: t = integral of dW/(Q - leak), s, m3 and Pa gauge; shape (N,).

    Good to 0.002 % of a brute-force integration up to 99.9 % of the stall, to 0.1 % where many tries have
    a limit on air or rise. It never starts below what the gauge shows with the vessel just full; a test pressure
    below that is a status of its own. Where the stall, or a leak that takes all the flow, lies below the test
    pressure, the status says so, the time is NaN and the water is what goes in up to there.
    Derived: the balance of `Held` over the flow of the pump.
    """
    stall_gauge = stall(pump) * np.ones_like(duty.test_gauge)
    balance = _leak_balance(pump, duty, stall_gauge)
    top = np.maximum(np.minimum(duty.test_gauge, balance), held.full_gauge)
    start = np.minimum(np.maximum(duty.start_gauge, held.full_gauge), top)
    status = np.where(
        balance <= duty.test_gauge,
        np.where((balance < stall_gauge) & (duty.leak > 0.0), int(Status.LEAK_BALANCES), int(Status.PUMP_STALLS)),
        np.where(duty.start_gauge >= duty.test_gauge, int(Status.STARTS_ABOVE), int(Status.DONE)),
    )
    status = np.where(duty.test_gauge <= held.full_gauge, int(Status.BELOW_HEAD), status)
    anchor = held.zero_abs + np.where(np.isfinite(balance), balance, ANCHOR_ABOVE_TEST * duty.test_gauge)
    way = _Way(start, top, np.maximum(anchor, held.zero_abs + top))
    if len(duty.marks) or len(top) == 1:
        path = _climb(held, pump, duty, way)
    else:
        path = _climb_many(held, pump, duty, way)
    reached = (status == Status.DONE) | (status == Status.STARTS_ABOVE)
    return PumpedUp(
        status=status,
        time=np.where(reached, path.time[-1], np.nan),
        pumped=path.water[-1],
        free_air=path.air[-1],
        stall_gauge=stall_gauge,
        top_gauge=top,
        limited_by=path.limited_by,
        at_gauge=path.gauge,
        at_water=path.water,
        at_time=path.time,
    )


@dataclass(frozen=True)
class _Way:
    """Start and top, Pa gauge, and the anchor of the pressure map, Pa abs; (N,)."""

    start: Array
    top: Array
    anchor: Array


@dataclass(frozen=True)
class _Path:
    """Running sums at the start, the marks and the top, (m + 2, N), and what governs, (N,)."""

    gauge: Array
    time: Array
    water: Array
    air: Array
    limited_by: Array


def _climb(held: Held, pump: Pump, duty: Duty, way: _Way, short: bool | None = None) -> _Path:
    """The way up in panels between the marks, and between all places where a limit takes over; `short` says whether
    the air may run short, where that is known."""
    if short is None:
        some = np.any(np.isfinite(_free_air(pump)))
        short = bool(some and _may_run_short(pump, duty, _in_one_panel(held, pump, duty, way)[3]).any())
    start, top = way.start, way.top
    edges = np.concatenate([start[None], np.clip(duty.marks, start, top), top[None]])
    wanted = len(edges)
    switch = np.full_like(start, np.inf)
    if np.any(_tires(pump, way)):
        edges = np.concatenate([edges, np.clip(full_power_gauge(pump) * np.ones_like(start), start, top)[None]])
    if short or _held_back(duty).any():
        edges = np.concatenate([edges, _between(way, held.zero_abs)])
        if short:
            switch = _receiver_empty(held, pump, duty, way)
        more = [_kinks(held, pump, duty, np.sort(edges, axis=0), switch)]
        if ((switch > start) & (switch < top)).any():
            more.append(switch[None])
        edges = np.concatenate([edges, np.clip(np.concatenate(more), start, top)])
    order = np.argsort(edges, axis=0, kind="stable")
    places = np.argsort(order, axis=0, kind="stable")[:wanted]
    edges = np.take_along_axis(edges, order, axis=0)
    done = _panels(held, pump, duty, edges, way.anchor, switch)
    time, water, air = (
        np.take_along_axis(_running(part), places, axis=0) for part in (done.time, done.water, done.air)
    )
    return _Path(np.take_along_axis(edges, places, axis=0), time, water, air, _governs(done))


def _climb_many(held: Held, pump: Pump, duty: Duty, way: _Way) -> _Path:
    """The way up for many tries: in one panel, and in many for those with a limit in the way."""
    time, water, air, over = _in_one_panel(held, pump, duty, way)
    governs = np.zeros(len(time), int)
    runs_short = _may_run_short(pump, duty, over)
    for short, kind in ((True, runs_short), (False, (_held_back(duty) | _tires(pump, way)) & ~runs_short)):
        rows = np.flatnonzero(kind)
        for some in np.array_split(rows, -(-rows.size // LIMITED_ROWS)) if rows.size else ():
            path = _climb(take(held, some), take(pump, some), take(duty, some), take(way, some), short)
            time[some], water[some], air[some] = path.time[-1], path.water[-1], path.air[-1]
            governs[some] = path.limited_by
    nothing = np.zeros_like(time)
    time, water, air = (np.stack([nothing, part]) for part in (time, water, air))
    return _Path(np.stack([way.start, way.top]), time, water, air, governs)


def _in_one_panel(held: Held, pump: Pump, duty: Duty, way: _Way) -> tuple[Array, Array, Array, Array]:
    """Time, water and free air with no limit in the way, node by node, and the free air that is drawn beyond what the
    compressor amply gives."""
    nodes, weights = below_anchor(held.zero_abs + np.stack([way.start, way.top]), way.anchor, NODES)
    time, water, air, beyond = (np.zeros_like(way.top) for _ in range(4))
    ample = np.minimum(_free_air(pump), np.finfo(np.float32).max) * AMPLE  # a number, for a time of nothing
    at_once = NODES if len(way.top) < MANY else 1
    places = [slice(first, first + at_once) for first in range(0, NODES, at_once)]
    rates = along(pump, (nodes[0, some] - held.zero_abs for some in places))
    for some, (rate, per_water) in zip(places, rates, strict=True):
        solid, pocket = held.water_slopes(nodes[0, some])
        step = (solid + held.air * pocket) * weights[0, some]
        step_time = step / np.maximum(rate, np.finfo(float).tiny)
        step_air = step * per_water
        over = np.maximum(step_air - ample * step_time, 0.0)
        for each in range(at_once):  # one after the other, so that one try and many sum alike
            time += step_time[each]
            water += step[each]
            air += step_air[each]
            beyond += over[each]
    return time, water, air, beyond


def _may_run_short(pump: Pump, duty: Duty, beyond: Array) -> Any:
    """Which tries may empty the receiver; a leak keeps the pump drawing for longer than `beyond` knows of."""
    return (beyond > AMPLE * duty.reserve) | ((duty.leak > 0.0) & np.isfinite(_free_air(pump)))


def _held_back(duty: Duty) -> Any:
    """Which tries have a limit on the rise, or a leak."""
    return np.isfinite(duty.rise_limit) | (duty.leak > 0.0)


def _tires(pump: Pump, way: _Way) -> Any:
    """Which tries have a pump that cannot keep its rate all the way up: a kink, from where its power counts."""
    return (full_power_gauge(pump) > way.start) & (full_power_gauge(pump) < way.top)


def _free_air(pump: Pump) -> Array | float:
    return pump.free_air if isinstance(pump, AirDriven) else np.inf


@dataclass(frozen=True)
class _Panels:
    """Sums over each panel, (panels, N)."""

    time: Array
    water: Array
    air: Array
    by_pump: Array
    by_air: Array
    by_rise: Array


def _panels(held: Held, pump: Pump, duty: Duty, edges: Array, anchor: Array, switch: Array) -> _Panels:
    """Integrate each panel; above `switch` (Pa gauge) the compressor's own flow is all there is."""
    nodes = NODES if len(edges) <= FEW_EDGES else PANEL_NODES
    pressure, weight = below_anchor(held.zero_abs + edges, anchor, nodes)
    gauge = pressure - held.zero_abs
    solid, air = held.water_slopes(pressure)
    stored = (solid + held.air * air) * weight
    free_rate, rate, per_water = free_and_short(pump, gauge, gauge > switch)
    leak = duty.leak * np.sqrt(np.maximum(gauge, 0.0) / duty.test_gauge)
    tiny = np.finfo(float).tiny
    pumping = stored / np.maximum(rate - leak, tiny)
    slowest = weight / duty.rise_limit
    time = np.maximum(pumping, slowest)
    water = stored + leak * time
    air = water * per_water
    held_back = slowest > pumping
    if isinstance(pump, AirDriven) and held_back.any():
        let = np.where(held_back, water / np.maximum(time, tiny), free_rate)
        air = np.where(held_back, water * throttled_air(pump, gauge, let), air)
        given = np.minimum(pump.free_air, np.finfo(np.float32).max) * time
        air = np.where(held_back & (gauge > switch), np.minimum(air, given), air)
    return _Panels(
        time=time.sum(axis=1),
        water=water.sum(axis=1),
        air=air.sum(axis=1),
        by_pump=(stored / np.maximum(free_rate, tiny)).sum(axis=1),
        by_air=(stored / np.maximum(rate, tiny)).sum(axis=1),
        by_rise=(time - pumping).sum(axis=1),
    )


def _running(part: Array) -> Array:
    return np.concatenate([np.zeros((1, part.shape[1])), np.cumsum(part, axis=0)])


def _governs(done: _Panels) -> Array:
    """Index into LIMITS of what adds most to the time, if it adds enough."""
    whole = done.time.sum(axis=0)
    pump, air, rise = (part.sum(axis=0) for part in (done.by_pump, done.by_air, done.by_rise))
    added = np.stack([GOVERNS * whole, air - pump, rise, whole - rise - air])
    index: Array = np.argmax(added, axis=0)
    assert len(added) == len(LIMITS)
    return index


def _leak_balance(pump: Pump, duty: Duty, stall_gauge: Array) -> Array:
    """Where the leak takes all that the pump gives, Pa gauge; the stall itself where nothing leaks."""
    if not np.any(duty.leak > 0.0):
        return stall_gauge
    far = 100.0 * duty.test_gauge
    low, high = np.zeros_like(duty.test_gauge), np.minimum(stall_gauge, far)
    for _ in range(ROOT_BISECTIONS):
        middle = 0.5 * (low + high)
        more = flow(pump, middle)[0] > duty.leak * np.sqrt(middle / duty.test_gauge)
        low, high = np.where(more, middle, low), np.where(more, high, middle)
    beyond = (high >= far) & (stall_gauge > far)
    return np.where((duty.leak > 0.0) & ~beyond, 0.5 * (low + high), stall_gauge)


def _between(way: _Way, outside: Array) -> Array:
    """Edges between start and top, even in the mapped pressure, without the ends; fewer for many tries."""
    panels = PANELS if len(way.top) < MANY else PANELS_OF_MANY
    ends = np.sqrt(np.maximum(np.log(way.anchor / (outside + np.stack([way.start, way.top]))), 0.0))
    y = ends[0] + (ends[1] - ends[0]) * np.linspace(0.0, 1.0, panels + 1)[1:-1, None]
    return np.clip(way.anchor * np.exp(-y * y) - outside, way.start, way.top)


def _receiver_empty(held: Held, pump: Pump, duty: Duty, way: _Way) -> Array:
    """Gauge pressure at which the receiver is down to the drive pressure; infinite if it never is.

    What the pump draws beyond the compressor is counted from wherever the receiver was last full, and
    once more inside the panel where it runs out. Once empty it counts as empty: what a pause on the way
    would fill again is left out, so the time errs long.
    """
    free_air = _free_air(pump)
    if not np.any(np.isfinite(free_air)) or not np.any(duty.reserve > 0.0):
        return np.full_like(way.top, -np.inf)
    low, high = way.start, way.top
    drawn, empty = np.zeros_like(low), np.full_like(low, np.inf)
    for _ in range(2):
        coarse, before, empty = empty, drawn, np.full_like(low, np.inf)
        inner = _between(_Way(low, high, way.anchor), held.zero_abs)
        edges = np.concatenate([low[None], inner, high[None]])
        trial = _panels(held, pump, duty, edges, way.anchor, np.full_like(low, np.inf))
        for start, end, air, time in zip(edges[:-1], edges[1:], trial.air, trial.time, strict=True):
            step = air - free_air * time
            after = np.maximum(drawn + step, 0.0)
            crosses = np.isinf(empty) & (after > duty.reserve)
            part = np.clip((duty.reserve - drawn) / np.where(step > 0.0, step, 1.0), 0.0, 1.0)
            before = np.where(crosses, drawn, before)
            low, high = np.where(crosses, start, low), np.where(crosses, end, high)
            empty = np.where(crosses, start + part * (end - start), empty)
            drawn = after
        drawn = before
    empty = np.where(np.isinf(empty), coarse, empty)
    return np.where(duty.reserve > 0.0, empty, -np.inf)


def _kinks(held: Held, pump: Pump, duty: Duty, edges: Array, switch: Array) -> Array:
    """Gauge pressures where a limit takes over or lets go, (most of them, N); the start where there are fewer.

    Limits are the compressor's own flow, where no receiver helps, and the rise limit.
    """
    found = np.repeat(edges[:1], KINKS, axis=0)
    between = np.linspace(0.0, 1.0, PANEL_NODES + 1)[1:, None, None]
    inside = np.swapaxes(edges[:-1] + between * np.diff(edges, axis=0), 0, 1)
    gauge = np.concatenate([edges[:1], inside.reshape(-1, edges.shape[-1])])
    alone = gauge > switch
    beyond = []
    if np.any(np.isfinite(_free_air(pump)) & alone):
        rate, per_water = flow(pump, gauge, False)
        beyond.append(np.where(alone, rate * per_water - _free_air(pump), -1.0))
    if np.any(np.isfinite(duty.rise_limit)):
        solid, air = held.water_slopes(held.zero_abs + gauge)
        leak = duty.leak * np.sqrt(np.maximum(gauge, 0.0) / duty.test_gauge)
        let = leak + duty.rise_limit * (solid + held.air * air)
        beyond.append(flow(pump, gauge, alone)[0] - let)
        if isinstance(pump, AirDriven):
            beyond.append(let - least_choked(pump))
        if len(beyond) > 2 and isinstance(pump, AirDriven):
            asked = let * throttled_air(pump, gauge, np.minimum(let, flow(pump, gauge, False)[0]))
            beyond.append(np.where(alone & (beyond[1] > 0.0), asked - pump.free_air, -1.0))
    count = np.zeros(gauge.shape[-1], int)
    for excess in beyond:
        turns = np.sign(excess[1:]) != np.sign(excess[:-1])
        for i, j in zip(*np.nonzero(turns), strict=True):
            if count[j] < KINKS:
                part = excess[i, j] / (excess[i, j] - excess[i + 1, j])
                found[count[j], j] = gauge[i, j] + part * (gauge[i + 1, j] - gauge[i, j])
                count[j] += 1
    return found[:count.max(initial=0)]


def top_up(held: Held, line: Line, driving: Array, goal_gauge: Array) -> tuple[Array, Array]:
    """Water and time for the source to bring the full vessel to a gauge pressure, m3 and s.

    `driving` is the source's pressure at the highest point with nothing flowing, Pa gauge; the goal is what the gauge
    shows where it stands. The water is that to the goal; the time is that to 99.9 % of the source's own pressure where
    the goal is as high or higher, for the rest takes for ever. Derived: as `pump_up`, with the source in the place of
    the pump.
    """
    start = held.full_gauge + np.zeros_like(goal_gauge)
    if not np.any(goal_gauge > start):
        return np.zeros_like(goal_gauge), np.zeros_like(goal_gauge)
    reach = held.head + np.maximum(driving, 0.0)
    goal = np.maximum(np.minimum(goal_gauge, held.head + TOP_UP_PART * np.maximum(driving, 0.0)), start)
    edges = held.zero_abs + np.stack([start, goal])
    anchor = held.zero_abs + np.maximum(reach, goal)
    pressure, weight = below_anchor(edges, anchor, NODES)
    left = driving
    rate = open_flow(line, left, 1.0)
    time = np.zeros_like(goal)
    for here, width in zip(pressure[0], weight[0], strict=True):
        before, left = left, driving - (here - held.outside_abs)
        guess = rate * np.sqrt(np.maximum(left, 0.0) / np.maximum(before, np.finfo(float).tiny))
        rate = open_flow(line, left, 1.0, NEAR_STEPS, guess)
        solid, air = held.water_slopes(here)
        time = time + (solid + held.air * air) * width / np.maximum(rate, np.finfo(float).tiny)
    return held.water_to(start, np.maximum(goal_gauge, start)), time
