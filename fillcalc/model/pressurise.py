"""Pumping up: time, strokes and free air from one pressure to another, with all that slows it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fillcalc.arrays import Array, Codes, Flags, lots, take
from fillcalc.model.held import Held
from fillcalc.model.line import Line, bends, loss, open_flow
from fillcalc.model.pump import (
    AirDriven,
    Pump,
    Steady,
    flow,
    free_and_short,
    full_power_gauge,
    least_choked,
    stall,
    throttled_air,
)
from fillcalc.model.quadrature import below_anchor, gauss
from fillcalc.model.status import LIMITS, Status

NODES, LIMITED_NODES = 12, 6
"""Gauss nodes in a panel; fewer where a limit may take over and there are many panels."""
LIMITED_PANELS = 24
"""Panels between start and top where a limit may take over."""
ROWS, LIMITED_ROWS = 1024, 128
"""Rows integrated at once, without and with a limit, so that their nodes fit the processor's cache."""
KINKS = 4
"""Places, at most, where a limit takes over or lets go on the way up from one pause to the next."""
AMPLE = 0.95
"""Part of the compressor's flow, or of the receiver, that no sample may pass to count as well supplied."""
ROOT_BISECTIONS = 55
ANCHOR_ABOVE_TEST = 1.5
"""Where a pump has no stall, the map of the pressures hangs on this multiple of the top pressure."""
TOP_UP_PART = 0.999
"""Part of the source's own pressure at which topping up counts as done."""
TOP_UP_NODES = 10
"""Gauss nodes in a panel of the topping up."""
GOVERNS = 0.1
"""Part of the whole time that something other than the pump must add to be named."""


@dataclass(frozen=True, eq=False, repr=False)
class Duty:
    """What is asked of the pump. Numbers of shape (N,).

    `marks` gauge pressures on the way, Pa, shape (m, N) or (0, N); `rise_limit` Pa/s, infinite where
    there is none; `leak` m3/s at test pressure, going with the square root of pressure; `reserve` free
    air in m3 at the site's pressure that the receiver holds above the drive pressure; `stops` gauge pressures, Pa,
    rising, at which the pump is stopped for `pauses`, s, both (k, N) or (0, N).
    """

    start_gauge: Array
    test_gauge: Array
    marks: Array
    rise_limit: Array
    leak: Array
    reserve: Array
    stops: Array
    pauses: Array


@dataclass(frozen=True, eq=False, repr=False)
class PumpedUp:
    """Numbers of shape (N,); `at_gauge`, `at_water`, `at_time` (m + 2, N): start, the marks, end."""

    status: Codes
    time: Array
    pumped: Array
    """Water out of the pump, m3; more than the vessel keeps where it leaks."""
    free_air: Array
    stall_gauge: Array
    top_gauge: Array
    """The pressure reached: test pressure, or where the pump stalls or the leak balances."""
    limited_by: Codes
    at_gauge: Array
    at_water: Array
    at_time: Array


def pump_up(held: Held, pump: Pump, duty: Duty) -> PumpedUp:
    """Pump from the start to the test pressure: t = integral of dW/(Q - leak), s, m3 and Pa gauge; shape (N,).

    Good to 0.002 % of a brute-force integration up to 99.9 % of the stall. The totals do not depend on the marks. It
    never starts below what the gauge shows with the vessel just full; a test pressure below that is a status of its
    own. Where the stall, or a leak that takes all the flow, lies below the test
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
    whole = _climb(held, pump, replace(duty, marks=duty.marks[:0]), way)
    path = _climb(held, pump, duty, way) if len(duty.marks) else whole
    reached = (status == Status.DONE) | (status == Status.STARTS_ABOVE)
    return PumpedUp(
        status=status,
        time=np.where(reached, whole.time[-1], np.nan),
        pumped=whole.water[-1],
        free_air=whole.air[-1],
        stall_gauge=stall_gauge,
        top_gauge=top,
        limited_by=whole.limited_by,
        at_gauge=path.gauge,
        at_water=path.water,
        at_time=path.time,
    )


@dataclass(frozen=True, eq=False, repr=False)
class _Way:
    """Start and top, Pa gauge, and the anchor of the pressure map, Pa abs; (N,)."""

    start: Array
    top: Array
    anchor: Array


@dataclass(frozen=True, eq=False, repr=False)
class _Path:
    """Running sums at the start, the marks and the top, (m + 2, N), and what governs, (N,)."""

    gauge: Array
    time: Array
    water: Array
    air: Array
    limited_by: Codes

    def put(self, rows: slice | Codes, some: _Path) -> None:
        """Write these rows."""
        self.limited_by[rows] = some.limited_by
        for name in ("gauge", "time", "water", "air"):
            getattr(self, name)[:, rows] = getattr(some, name)


def _climb(held: Held, pump: Pump, duty: Duty, way: _Way) -> _Path:
    """The way up, row by row: in panels between the marks, and between many more where a limit is in the way."""
    edges = _stops(duty, way)
    time, water, air = (np.zeros_like(edges) for _ in range(3))
    path = _Path(edges, time, water, air, np.zeros(edges.shape[-1], int))
    short = np.zeros(edges.shape[-1], bool)
    for rows in lots(edges.shape[-1], ROWS):
        some, beyond = _unlimited(take(held, rows), take(pump, rows), take(duty, rows), take(way, rows))
        path.put(rows, some)
        short[rows] = _may_run_short(take(pump, rows), take(duty, rows), beyond)
    limited = np.flatnonzero(short | _held_back(duty))
    for lot in lots(len(limited), LIMITED_ROWS):
        those = limited[lot]
        its = take(held, those), take(pump, those), take(duty, those), take(way, those)
        path.put(those, _limited(*its, short[those]))
    return path


def _unlimited(held: Held, pump: Pump, duty: Duty, way: _Way) -> tuple[_Path, Array]:
    """The way up with no limit in the way, and the free air that is drawn beyond what the compressor amply gives."""
    edges = np.concatenate([_stops(duty, way), _tires(pump, way)])
    done, path = _walked(held, pump, duty, way, _Panelled(edges, _never(way), NODES))
    return path, done.beyond.sum(axis=0)


def _limited(held: Held, pump: Pump, duty: Duty, way: _Way, short: Flags) -> _Path:
    """The way up with panels between all places where a limit takes over; `short` says which rows may empty the
    receiver."""
    start, top = way.start, way.top
    edges = np.concatenate([_stops(duty, way), _tires(pump, way), _between(way, held.zero_abs)])
    alone = _compressor_alone(held, pump, duty, way, short)
    kinks = _kinks(held, pump, duty, np.sort(edges, axis=0), alone)
    edges = np.concatenate([edges, np.clip(np.concatenate([kinks, alone.start, alone.end]), start, top)])
    return _walked(held, pump, duty, way, _Panelled(edges, alone, LIMITED_NODES))[1]


def _stops(duty: Duty, way: _Way) -> Array:
    """Start, marks and top, Pa gauge, (m + 2, N)."""
    return np.concatenate([way.start[None], np.clip(duty.marks, way.start, way.top), way.top[None]])


@dataclass(frozen=True, eq=False, repr=False)
class _Alone:
    """The stretches of the way on which the receiver is empty and the compressor alone feeds the pump: Pa gauge,
    (stretches, N); one that never comes starts at infinity."""

    start: Array
    end: Array

    def at(self, gauge: Array) -> Flags:
        """Whether these gauge pressures lie on one of them; any shape that ends in N."""
        found = np.zeros(gauge.shape, bool)
        for start, end in zip(self.start, self.end, strict=True):
            found |= (gauge > start) & (gauge <= end)
        return found


def _never(way: _Way) -> _Alone:
    none = np.empty((0, len(way.top)))
    return _Alone(none, none)


@dataclass(frozen=True, eq=False, repr=False)
class _Panelled:
    """Edges in any order, Pa gauge, (edges, N), the stops first; where the receiver is empty; Gauss nodes in each
    panel."""

    edges: Array
    alone: _Alone
    nodes: int


def _walked(held: Held, pump: Pump, duty: Duty, way: _Way, cut: _Panelled) -> tuple[_Panels, _Path]:
    """The panels, and the running sums at the stops."""
    order = np.argsort(cut.edges, axis=0, kind="stable")
    places = np.argsort(order, axis=0, kind="stable")[:len(duty.marks) + 2]
    edges = np.take_along_axis(cut.edges, order, axis=0)
    done = _panels(held, pump, duty, way.anchor, replace(cut, edges=edges))
    gauge, time, water, air = (np.take_along_axis(part, places, axis=0)
                               for part in (edges, *map(_running, (done.time, done.water, done.air))))
    return done, _Path(gauge, time, water, air, _governs(done))


def _may_run_short(pump: Pump, duty: Duty, beyond: Array) -> Flags:
    """Which rows may empty the receiver; a leak keeps the pump drawing for longer than `beyond` knows of."""
    return (beyond > AMPLE * duty.reserve) | ((duty.leak > 0.0) & np.isfinite(_free_air(pump)))


def _held_back(duty: Duty) -> Flags:
    """Which rows have a limit on the rise, or a leak."""
    return np.isfinite(duty.rise_limit) | (duty.leak > 0.0)


def _tires(pump: Pump, way: _Way) -> Array:
    """Where a steady pump's power begins to count, a kink in its flow, Pa gauge, (1, N); (0, N) of any other pump."""
    kink = np.clip(full_power_gauge(pump) * np.ones_like(way.top), way.start, way.top)
    return kink[None] if isinstance(pump, Steady) else kink[None][:0]


def _free_air(pump: Pump) -> Array | float:
    return pump.free_air if isinstance(pump, AirDriven) else np.inf


def _finite_air(pump: Pump) -> Array:
    """The same with a number for an endless supply, for a time of nothing."""
    return np.minimum(_free_air(pump), np.finfo(np.float32).max)


@dataclass(frozen=True, eq=False, repr=False)
class _Panels:
    """Sums over each panel, (panels, N)."""

    time: Array
    water: Array
    air: Array
    beyond: Array
    """Free air drawn beyond what the compressor amply gives, m3."""
    by_pump: Array
    by_air: Array
    by_rise: Array


def _panels(held: Held, pump: Pump, duty: Duty, anchor: Array, cut: _Panelled) -> _Panels:
    """Integrate each panel between rising edges; where it is alone, the compressor's own flow is all there is."""
    pressure, weight = below_anchor(held.zero_abs + cut.edges, anchor, cut.nodes)
    gauge = pressure - held.zero_abs
    alone = cut.alone.at(gauge)
    solid, air = held.water_slopes(pressure)
    stored = (solid + held.air * air) * weight
    free_rate, rate, per_water = free_and_short(pump, gauge, alone)
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
        air = np.where(held_back & alone, np.minimum(air, _finite_air(pump) * time), air)
    return _Panels(
        time=time.sum(axis=1),
        water=water.sum(axis=1),
        air=air.sum(axis=1),
        beyond=np.maximum(air - AMPLE * _finite_air(pump) * time, 0.0).sum(axis=1),
        by_pump=(stored / np.maximum(free_rate, tiny)).sum(axis=1),
        by_air=(stored / np.maximum(rate, tiny)).sum(axis=1),
        by_rise=(time - pumping).sum(axis=1),
    )


def _running(part: Array) -> Array:
    return np.concatenate([np.zeros((1, part.shape[1])), np.cumsum(part, axis=0)])


def _governs(done: _Panels) -> Codes:
    """Index into LIMITS of what adds most to the time, if it adds enough."""
    whole = done.time.sum(axis=0)
    pump, air, rise = (part.sum(axis=0) for part in (done.by_pump, done.by_air, done.by_rise))
    added = np.stack([GOVERNS * whole, air - pump, rise, whole - rise - air])
    index: Codes = np.argmax(added, axis=0)
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
    """Edges between start and top, even in the mapped pressure, without the ends."""
    ends = np.sqrt(np.maximum(np.log(way.anchor / (outside + np.stack([way.start, way.top]))), 0.0))
    y = ends[0] + (ends[1] - ends[0]) * np.linspace(0.0, 1.0, LIMITED_PANELS + 1)[1:-1, None]
    return np.clip(way.anchor * np.exp(-y * y) - outside, way.start, way.top)


def _compressor_alone(held: Held, pump: Pump, duty: Duty, way: _Way, short: Flags) -> _Alone:
    """From where the receiver is down to the drive pressure to the next pause, for each stretch between pauses; never
    in a row that is not `short`.

    What the pump draws beyond the compressor is counted from the full receiver, and once more inside the panel where it
    runs out. Once empty it counts as empty up to the next pause, in which the compressor fills it again.
    """
    end = np.concatenate([np.clip(duty.stops, way.start, way.top), way.top[None]])
    start = np.where(duty.reserve > 0.0, np.inf, -np.inf) + np.zeros_like(end)
    rows = np.flatnonzero(short & (duty.reserve > 0.0))
    if not len(rows):
        return _Alone(start, end)
    some = take(held, rows), take(pump, rows), take(duty, rows)
    anchor, low, drawn = way.anchor[rows], way.start[rows], np.zeros(len(rows))
    refilled = np.concatenate([_finite_air(pump) * duty.pauses, np.zeros_like(end[:1])])[:, rows]
    for stretch, high in enumerate(end[:, rows]):
        found = _runs_out(*some, _Way(low, high, anchor), drawn)
        finer = _runs_out(*some, _Way(found.low, found.high, anchor), found.before).empty
        start[stretch, rows] = np.where(np.isinf(finer), found.empty, finer)
        low, drawn = high, np.maximum(found.drawn - refilled[stretch], 0.0)
    return _Alone(start, end)


@dataclass(frozen=True, eq=False, repr=False)
class _RunsOut:
    """Where the receiver runs out, Pa gauge, infinite where it does not; the panel in which it does, and the free air,
    m3, that was missing from it before that panel and is missing at the end; (N,)."""

    empty: Array
    low: Array
    high: Array
    before: Array
    drawn: Array


def _runs_out(held: Held, pump: Pump, duty: Duty, way: _Way, drawn: Array) -> _RunsOut:
    """Follow the receiver, of which `drawn` is missing at the start."""
    low, high = way.start, way.top
    before, empty = drawn, np.full_like(low, np.inf)
    edges = np.concatenate([low[None], _between(way, held.zero_abs), high[None]])
    trial = _panels(held, pump, duty, way.anchor, _Panelled(edges, _never(way), LIMITED_NODES))
    for start, end, air, time in zip(edges[:-1], edges[1:], trial.air, trial.time, strict=True):
        step = air - _free_air(pump) * time
        after = np.maximum(drawn + step, 0.0)
        crosses = np.isinf(empty) & (after > duty.reserve)
        part = np.clip((duty.reserve - drawn) / np.where(step > 0.0, step, 1.0), 0.0, 1.0)
        before = np.where(crosses, drawn, before)
        low, high = np.where(crosses, start, low), np.where(crosses, end, high)
        empty = np.where(crosses, start + part * (end - start), empty)
        drawn = np.minimum(after, duty.reserve)
    return _RunsOut(empty, low, high, before, drawn)


def _kinks(held: Held, pump: Pump, duty: Duty, edges: Array, fed_alone: _Alone) -> Array:
    """Gauge pressures where a limit takes over or lets go, (most of them, N); the start where there are fewer.

    Limits are the compressor's own flow, where no receiver helps, and the rise limit.
    """
    most = KINKS * len(fed_alone.start)
    found = np.repeat(edges[:1], most, axis=0)
    between = np.linspace(0.0, 1.0, LIMITED_NODES + 1)[1:, None, None]
    inside = np.swapaxes(edges[:-1] + between * np.diff(edges, axis=0), 0, 1)
    gauge = np.concatenate([edges[:1], inside.reshape(-1, edges.shape[-1])])
    alone = fed_alone.at(gauge)
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
            if count[j] < most:
                part = excess[i, j] / (excess[i, j] - excess[i + 1, j])
                found[count[j], j] = gauge[i, j] + part * (gauge[i + 1, j] - gauge[i, j])
                count[j] += 1
    return found[:count.max(initial=0)]


def top_up(held: Held, line: Line, driving: Array, goal_gauge: Array, most: Array | float = np.inf
           ) -> tuple[Array, Array]:
    """Water and time for the source to bring the full vessel to a gauge pressure, m3 and s.

    `driving` is the source's pressure at the highest point with nothing flowing, Pa gauge; the goal is what the gauge
    shows where it stands; `most` is what the source passes however far the line falls below it, m3/s. The water is
    that to the goal; the time is that to 99.9 % of the source's own pressure where the goal is as high or higher, for
    the rest takes for ever. Derived: dt = (dV/dp) (-dloss/dQ) dln Q with p = still pressure - loss(Q), in panels of
    ln Q between the flows at which the loss changes its form; ahead of them the time at `most`.
    """
    start = held.full_gauge + np.zeros_like(goal_gauge)
    rises = goal_gauge > start
    if not rises.any():
        return np.zeros_like(goal_gauge), np.zeros_like(goal_gauge)
    goal = np.maximum(np.minimum(goal_gauge, held.head + TOP_UP_PART * np.maximum(driving, 0.0)), start)
    still = held.outside_abs + driving
    left = still - held.zero_abs - np.stack([start, goal])
    passes = left[1] > 0.0
    first, last = np.where(passes, open_flow(line, left, 1.0), 1.0)
    first, last = np.minimum(first, most), np.minimum(last, most)
    edges = np.sort(np.stack([last, *(np.clip(flow, last, first) for flow in (first / np.e, *bends(line))), first]),
                    axis=0)
    nodes, weights = gauss(TOP_UP_NODES)
    start_log, width = np.log(edges[:-1, None, :]), np.log(edges[1:] / edges[:-1])[:, None, :]
    flow = np.exp(start_log + nodes[:, None] * width)
    lost, slope = loss(line, flow, 1.0)
    solid, air = held.water_slopes(still - lost)
    time = ((solid + held.air * air) * slope * width * weights[:, None]).sum(axis=(0, 1))
    falls = np.minimum(still - loss(line, first, 1.0)[0] - held.zero_abs, goal)
    time = time + np.where(passes & (falls > start), held.water_to(start, np.maximum(falls, start)) / first, 0.0)
    return held.water_to(start, np.maximum(goal_gauge, start)), np.where(passes, time, 0.0)
