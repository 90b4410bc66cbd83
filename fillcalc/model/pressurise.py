"""Pumping up: time, strokes and free air from one pressure to another, with all that slows it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fillcalc.answers import LIMITS, Status
from fillcalc.model.arrays import Array
from fillcalc.model.held import Held
from fillcalc.model.line import Line, open_flow
from fillcalc.model.pump import AirDriven, Pump, flow, stall
from fillcalc.model.quadrature import below_anchor

NODES = 12
PANEL_NODES = 6
PANELS = 24
ROOT_BISECTIONS = 55
ANCHOR_ABOVE_TEST = 1.5
"""Where a pump has no stall, the map of the pressures hangs on this multiple of the top pressure."""
TOP_UP_PART = 0.999
"""Part of the source's own pressure at which topping up counts as done."""
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
    """Pump from the start to the test pressure: t = integral of dW/(Q - leak).

    Good to 0.002 % of a brute-force integration up to 99.9 % of the stall. Where the stall, or a leak
    that takes all the flow, lies below the test pressure, the status says so, the time is NaN and the
    water is what goes in up to there.
    """
    stall_gauge = stall(pump) * np.ones_like(duty.test_gauge)
    balance = _leak_balance(pump, duty, stall_gauge)
    top = np.minimum(duty.test_gauge, balance)
    start = np.minimum(duty.start_gauge, top)
    status = np.where(
        balance <= duty.test_gauge,
        np.where((balance < stall_gauge) & (duty.leak > 0.0), int(Status.LEAK_BALANCES), int(Status.PUMP_STALLS)),
        np.where(duty.start_gauge >= duty.test_gauge, int(Status.STARTS_ABOVE), int(Status.DONE)),
    )
    anchor = held.outside_abs + np.where(np.isfinite(balance), balance, ANCHOR_ABOVE_TEST * duty.test_gauge)
    anchor = np.maximum(anchor, held.outside_abs + top)
    marks = np.clip(duty.marks, start, top)
    edges = np.concatenate([start[None], marks, top[None]])
    wanted = len(edges)
    switch = np.full_like(start, -np.inf)
    if not _is_plain(pump, duty):
        edges = np.concatenate([edges, _between(start, top, held.outside_abs, anchor)])
        switch = _receiver_empty(held, pump, duty, (start, top, anchor))
        gauge = _panels(held, pump, duty, np.sort(edges, axis=0), anchor, switch).gauge
        more = np.concatenate([switch[None], _kinks(held, pump, duty, gauge, switch)])
        edges = np.concatenate([edges, np.clip(more, start, top)])
    order = np.argsort(edges, axis=0, kind="stable")
    places = np.argsort(order, axis=0, kind="stable")[:wanted]
    edges = np.take_along_axis(edges, order, axis=0)
    done = _panels(held, pump, duty, edges, anchor, switch)
    at_time, at_water, at_air = (
        np.take_along_axis(_running(part), places, axis=0) for part in (done.time, done.water, done.air)
    )
    reached = (status == Status.DONE) | (status == Status.STARTS_ABOVE)
    return PumpedUp(
        status=status,
        time=np.where(reached, at_time[-1], np.nan),
        pumped=at_water[-1],
        free_air=at_air[-1],
        stall_gauge=stall_gauge,
        top_gauge=top,
        limited_by=_governs(done),
        at_gauge=np.take_along_axis(edges, places, axis=0),
        at_water=at_water,
        at_time=at_time,
    )


@dataclass(frozen=True)
class _Panels:
    """Sums over each panel, (panels, N), and the nodes' gauge pressures, (panels, nodes, N)."""

    time: Array
    water: Array
    air: Array
    by_pump: Array
    by_air: Array
    by_rise: Array
    gauge: Array


def _is_plain(pump: Pump, duty: Duty) -> bool:
    starved = isinstance(pump, AirDriven) and bool(np.any(np.isfinite(pump.free_air)))
    return not (starved or np.any(np.isfinite(duty.rise_limit)) or np.any(duty.leak > 0.0))


def _panels(held: Held, pump: Pump, duty: Duty, edges: Array, anchor: Array, switch: Array) -> _Panels:
    """Integrate each panel; above `switch` (Pa gauge) the compressor's own flow is all there is."""
    nodes = NODES if len(edges) <= 2 else PANEL_NODES
    pressure, weight = below_anchor(held.outside_abs + edges, anchor, nodes)
    gauge = pressure - held.outside_abs
    solid, air = held.water_slopes(pressure)
    stored = (solid + held.air * air) * weight
    free_rate, per_water = flow(pump, gauge, False)
    rate = free_rate
    if isinstance(pump, AirDriven) and np.any(np.isfinite(pump.free_air)):
        rate, per_water = flow(pump, gauge, gauge > switch)
    leak = duty.leak * np.sqrt(np.maximum(gauge, 0.0) / duty.test_gauge)
    tiny = np.finfo(float).tiny
    pumping = stored / np.maximum(rate - leak, tiny)
    slowest = weight / duty.rise_limit
    time = np.maximum(pumping, slowest)
    water = stored + leak * time
    return _Panels(
        time=time.sum(axis=1),
        water=water.sum(axis=1),
        air=(water * per_water).sum(axis=1),
        by_pump=(stored / np.maximum(free_rate, tiny)).sum(axis=1),
        by_air=(stored / np.maximum(rate, tiny)).sum(axis=1),
        by_rise=(time - pumping).sum(axis=1),
        gauge=gauge,
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


def _between(low: Array, high: Array, outside: Array, anchor: Array) -> Array:
    """Edges between two gauge pressures, even in the mapped pressure, without the ends."""
    ends = np.sqrt(np.maximum(np.log(anchor / (outside + np.stack([low, high]))), 0.0))
    y = ends[0] + (ends[1] - ends[0]) * np.linspace(0.0, 1.0, PANELS + 1)[1:-1, None]
    return np.clip(anchor * np.exp(-y * y) - outside, low, high)


def _receiver_empty(held: Held, pump: Pump, duty: Duty, way: tuple[Array, Array, Array]) -> Array:
    """Gauge pressure at which the receiver is down to the drive pressure; infinite if it never is.

    What the pump draws beyond the compressor is counted from wherever the receiver was last full, on
    the way (start, top, anchor), and once more inside the panel where it runs out.
    """
    low, high, anchor = way
    if not (isinstance(pump, AirDriven) and np.any(np.isfinite(pump.free_air))):
        return np.full_like(low, -np.inf)
    drawn, empty = np.zeros_like(low), np.full_like(low, np.inf)
    for _ in range(2):
        coarse = empty
        edges = np.concatenate([low[None], _between(low, high, held.outside_abs, anchor), high[None]])
        trial = _panels(held, pump, duty, edges, anchor, np.full_like(low, np.inf))
        before, empty = drawn, np.full_like(low, np.inf)
        for i in range(PANELS):
            step = trial.air[i] - pump.free_air * trial.time[i]
            after = np.maximum(drawn + step, 0.0)
            crosses = np.isinf(empty) & (after > duty.reserve)
            part = np.clip((duty.reserve - drawn) / np.where(step > 0.0, step, 1.0), 0.0, 1.0)
            before = np.where(crosses, drawn, before)
            low, high = np.where(crosses, edges[i], low), np.where(crosses, edges[i + 1], high)
            empty = np.where(crosses, edges[i] + part * (edges[i + 1] - edges[i]), empty)
            drawn = after
        drawn = before
    empty = np.where(np.isinf(empty), coarse, empty)
    return np.where(duty.reserve > 0.0, empty, -np.inf)


def _kinks(held: Held, pump: Pump, duty: Duty, gauge: Array, switch: Array) -> Array:
    """Up to three gauge pressures where the rise limit takes over or lets go, (3, N); else the start."""
    none = np.repeat(duty.start_gauge[None], 3, axis=0)
    if not np.any(np.isfinite(duty.rise_limit)):
        return none
    flat = gauge.reshape(-1, gauge.shape[-1])
    solid, air = held.water_slopes(held.outside_abs + flat)
    rate = flow(pump, flat, flat > switch)[0] - duty.leak * np.sqrt(np.maximum(flat, 0.0) / duty.test_gauge)
    excess = rate - duty.rise_limit * (solid + held.air * air)
    turns = np.sign(excess[1:]) != np.sign(excess[:-1])
    found = none.copy()
    count = np.zeros(flat.shape[-1], int)
    for i, j in zip(*np.nonzero(turns), strict=True):
        if count[j] < len(found):
            part = excess[i, j] / (excess[i, j] - excess[i + 1, j])
            found[count[j], j] = flat[i, j] + part * (flat[i + 1, j] - flat[i, j])
            count[j] += 1
    return found


def top_up(held: Held, line: Line, driving: Array, goal_gauge: Array) -> tuple[Array, Array]:
    """Water and time for the source to bring the full vessel to a gauge pressure, m3 and s.

    `driving` is the source's pressure at the highest point with nothing flowing, Pa gauge. The water is
    that to the goal; the time is that to 99.9 % of the source's own pressure where the goal is as high
    or higher, for the rest takes for ever.
    """
    goal = np.minimum(goal_gauge, TOP_UP_PART * np.maximum(driving, 0.0))
    edges = held.outside_abs + np.stack([np.zeros_like(goal), goal])
    anchor = held.outside_abs + np.maximum(driving, goal)
    pressure, weight = below_anchor(edges, anchor, NODES)
    pressure, weight = pressure[0], weight[0]
    solid, air = held.water_slopes(pressure)
    rate = open_flow(line, driving - (pressure - held.outside_abs), 1.0)
    time = ((solid + held.air * air) * weight / np.maximum(rate, np.finfo(float).tiny)).sum(axis=0)
    return held.water_to(np.zeros_like(goal_gauge), goal_gauge), time
