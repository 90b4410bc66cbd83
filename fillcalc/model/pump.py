"""The test pump: flow against pressure, what the air side passes, and what limits it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from fillcalc.arrays import Array, Flags, spread, take

CRITICAL_RATIO = 0.3
"""b of ISO 6358 for ports, valves and hoses in series; a planning value."""
REFERENCE = 1e5
"""Reference pressure of ISO 6358-1:2013, Pa."""
EXHAUST_OVER_SUPPLY = 2.0
"""C_e over C taken when one point of the curve is known."""
ITERATIONS = 5
"""Newton steps for the exhaust pressure; four reach the machine's precision."""
STARVED_ITERATIONS = 8
FIT_ITERATIONS = 8
FIT_GRID = 81
FIT_STEP = 1e-5
SMALLEST_SQUARE = 1e-12
LEAST_PUSH = 1.0
"""Pa; against less than this nobody's power counts."""
THROTTLE_STEPS, THROTTLE_CLOSE = 40, 1e-12
"""Bracketed secant steps, at most, for the pressure that a throttled pump works against, and the part of the stall
that ends them."""


@dataclass(frozen=True, eq=False, repr=False)
class AirDriven:
    """An air-driven pump at its drive. Numbers of shape (N,).

    `ratio` air piston over plunger; `supply_abs` and `outside_abs` Pa abs; `friction` Pa on the air
    side; `supply` and `exhaust` sonic conductances C and C_e, m3/(s Pa); `middle` the true flow half
    way to stall over this curve's; `free_air` what the compressor gives, m3/s, infinite if ample; `air_strokes`
    of the air piston that go to one stroke of water.
    """

    ratio: Array
    supply_abs: Array
    outside_abs: Array
    friction: Array
    supply: Array
    exhaust: Array
    middle: Array
    free_air: Array
    air_strokes: Array
    kind: Literal["air-driven"] = "air-driven"


@dataclass(frozen=True, eq=False, repr=False)
class Steady:
    """A pump by hand or electric: steady up to where its power does not suffice, slower from there."""

    rate: Array
    """m3/s, against no pressure."""
    stall_gauge: Array
    """Pa: the relief setting, or the pressure at which a stroke takes more work than a person puts into one."""
    power: Array
    """W that goes into the water; infinite for an electric pump, which is built for its relief setting."""
    kind: Literal["steady"] = "steady"


Pump = AirDriven | Steady


def stall(pump: Pump) -> Array:
    """Outlet pressure at which the pump stands still, Pa gauge. Derived: the balance of forces on the piston."""
    if isinstance(pump, Steady):
        return pump.stall_gauge
    return pump.ratio * (pump.supply_abs - pump.outside_abs - pump.friction)


def flow(pump: Pump, gauge: Array, short_of_air: Flags | bool = True) -> tuple[Array, Array]:
    """Flow of the pump against an outlet pressure, and the free air that each m3 of it takes.

    Args:
        gauge: outlet pressure, Pa gauge, shape (..., N).
        short_of_air: where the compressor's own flow is all there is (no receiver to draw on).

    Returns:
        Flow in m3/s, zero at and above the stall, and free air in m3 at the site's pressure for each m3
        of water, both (..., N). Source: ISO 6358-1:2013 for supply and exhaust in turn.
    """
    _, rate, per_water = free_and_short(pump, gauge, short_of_air)
    return rate, per_water


def free_and_short(pump: Pump, gauge: Array, short_of_air: Flags | bool) -> tuple[Array, Array, Array]:
    """Flow with all the air it wants, flow with what there is, and free air for each m3 of the latter, as `flow`.

    Source: as `flow`.
    """
    if isinstance(pump, Steady):
        pushed = np.minimum(pump.rate, pump.power / np.maximum(gauge, LEAST_PUSH))
        rate = np.where(gauge <= pump.stall_gauge, pushed, 0.0)
        return rate, rate, np.zeros_like(rate)
    opposing = _opposing(pump, gauge)
    exhaust_abs, square = _balance(pump, opposing)
    free = rate = _free(pump, gauge, square)
    if np.any(short_of_air) and np.any(np.isfinite(pump.free_air)):
        budget = pump.free_air * pump.outside_abs / pump.air_strokes
        short = np.asarray(short_of_air) & (rate * (exhaust_abs + opposing) > budget)
        if short.any():
            sag = _sag(pump, gauge / stall(pump))
            slow_rate, slow_exhaust = _starved(pump, opposing, np.where(np.isfinite(budget), budget, 1.0) / sag)
            slow_rate = sag * slow_rate
            slower = short & (slow_rate < rate)
            rate = np.where(slower, slow_rate, rate)
            exhaust_abs = np.where(slower, slow_exhaust, exhaust_abs)
    return free / pump.ratio, rate / pump.ratio, _per_water(pump, exhaust_abs + opposing)


def full_power_gauge(pump: Pump) -> Array | float:
    """Outlet pressure up to which a steady pump keeps its rate, Pa gauge; infinite where no power limits it.
    Derived: power = rate x pressure.
    """
    return pump.power / pump.rate if isinstance(pump, Steady) else np.inf


def throttled_air(pump: AirDriven, gauge: Array, rate: Array) -> Array:
    """Free air for each m3 of water, as `flow`, of a pump that a valve behind it holds back to a flow.

    `gauge` is the vessel's pressure, Pa gauge, at which the pump alone would give `rate`, m3/s, or more; both
    (..., N). The valve makes the pump work against more than the vessel's pressure: against that at which its own
    flow is `rate`. Source: `flow`, inverted; by secant steps that keep the root between two ends.
    """
    wanted = np.maximum(rate * pump.ratio, np.finfo(float).tiny)
    whole, ample = stall(pump), pump.exhaust * REFERENCE
    corner, least = _last_choked(pump)
    choked = (corner > gauge) & (least <= wanted)

    def beyond(at: Array) -> Array:
        return _gauge_at(pump, wanted / _sag(pump, at / whole)) - at

    low = np.maximum(gauge, np.minimum(corner, whole))
    high = np.maximum(np.where(pump.middle > 1.0, whole, _gauge_at(pump, wanted)), low)
    at_low, at_high = np.where(choked, 0.0, beyond(low)), np.where(choked, 0.0, beyond(high))
    middle, here, last = high, at_high, np.zeros_like(low)
    for _ in range(THROTTLE_STEPS):
        close = np.abs(here) <= THROTTLE_CLOSE * whole
        if close.all():
            break
        between = low + np.clip(at_low / np.maximum(at_low - at_high, 1e-6), 0.0, 1.0) * (high - low)
        middle = np.where(close, middle, between)  # each row stops by itself, whatever the others do
        here = np.where(choked, 0.0, beyond(middle))
        side = np.where(here > 0.0, 1.0, -1.0)
        again = np.where(side == last, 0.5, 1.0)  # the end that stays a second time counts half: Illinois
        low, at_low = np.where(side > 0.0, middle, low), np.where(side > 0.0, here, at_low * again)
        high, at_high = np.where(side < 0.0, middle, high), np.where(side < 0.0, here, at_high * again)
        last = side
    alone = np.where(choked, ample, wanted / _sag(pump, middle / whole))
    return _per_water(pump, pump.supply_abs * _chamber(pump, alone))


def least_choked(pump: AirDriven) -> Array:
    """Flow of the pump, m3/s, where its exhaust ceases to choke as the outlet pressure rises. Source: as `flow`."""
    return _last_choked(pump)[1] / pump.ratio


def _last_choked(pump: AirDriven) -> tuple[Array, Array]:
    """Outlet pressure, Pa gauge, up to which the exhaust chokes, and the rate of the air piston there, m3/s."""
    ample = pump.exhaust * REFERENCE
    corner = _gauge_at(pump, ample)
    return corner, ample * _sag(pump, corner / stall(pump))


def _gauge_at(pump: AirDriven, rate: Array) -> Array:
    """Outlet pressure, Pa gauge, at which the air piston with all the air it wants runs at this rate, m3/s, without
    what the middle of the curve takes away; the highest such where the exhaust chokes."""
    emptying = np.minimum(rate / (pump.exhaust * REFERENCE), 1.0)
    back = CRITICAL_RATIO + (1.0 - CRITICAL_RATIO) * np.sqrt(1.0 - emptying * emptying)
    return pump.ratio * (pump.supply_abs * _chamber(pump, rate) - pump.outside_abs / back - pump.friction)


def _chamber(pump: AirDriven, rate: Array) -> Array:
    """Pressure in the air cylinder over that of the supply, at a rate of the air piston, m3/s."""
    b, span = CRITICAL_RATIO, (1.0 - CRITICAL_RATIO) ** 2
    filling = rate / (pump.supply * REFERENCE)
    grown = 1.0 + span * filling * filling
    return np.where(filling * b >= 1.0, 1.0 / filling, (b + np.sqrt(b * b + grown * (1.0 - 2.0 * b))) / grown)


def _sag(pump: AirDriven, part: Array) -> Array:
    """What the middle of the curve leaves of the flow, at a part of the stall."""
    return 1.0 - 4.0 * (1.0 - pump.middle) * _hump(part)


def _hump(part: Array) -> Array:
    inside = np.clip(part, 0.0, 1.0)
    return inside * (1.0 - inside)


def _opposing(pump: AirDriven, gauge: Array) -> Array:
    """Pressure, Pa, that outlet pressure and friction put against the air piston."""
    return gauge / pump.ratio + pump.friction


def _free(pump: AirDriven, gauge: Array, square: Array) -> Array:
    """Rate of the air piston with all the air it wants, m3/s."""
    return pump.supply * REFERENCE * np.sqrt(square) * _sag(pump, gauge / stall(pump))


def _per_water(pump: AirDriven, air_abs: Array) -> Array:
    """Free air for each m3 of water at a pressure in the air cylinder, Pa abs."""
    return pump.air_strokes * pump.ratio * air_abs / pump.outside_abs


def _balance(pump: AirDriven, opposing: Array) -> tuple[Array, Array]:
    """Exhaust pressure, Pa abs, at which supply and exhaust pass the same piston rate, and the square of that rate over
    C p0; by Newton from the left, which is monotone."""
    b, span = CRITICAL_RATIO, (1.0 - CRITICAL_RATIO) ** 2
    outside, supply = pump.outside_abs, pump.supply_abs
    k = pump.exhaust / pump.supply
    k2 = k * k
    grown = 1.0 + k2 * span
    start = np.where(k * b >= 1.0, 1.0 / k, (b + np.sqrt(b * b + grown * (1.0 - 2.0 * b))) / grown)
    exhaust = np.maximum(outside, supply * start - opposing)
    for _ in range(ITERATIONS):
        inverse = np.maximum(supply / (exhaust + opposing), 1.0)
        choked = inverse >= 1.0 / b
        bent = np.where(choked, inverse, ((1.0 - 2.0 * b) * inverse + b) / span)
        square = inverse * bent + np.where(choked, 0.0, (b * inverse - 1.0) / span)
        over = outside / exhaust
        beyond = np.maximum(over - b, 0.0)
        slope_in = 2.0 * inverse * inverse * bent / supply
        slope = (2.0 / span) * k2 * beyond * over / exhaust + slope_in
        step = np.maximum((square - k2 * (1.0 - beyond * beyond / span)) / slope, outside - exhaust)
        exhaust = exhaust + step
        square = square - slope_in * step
    return exhaust, np.where(outside + opposing >= supply, 0.0, np.maximum(square, 0.0))


def _starved(pump: AirDriven, opposing: Array, budget: Array) -> tuple[Array, Array]:
    """Piston rate and exhaust pressure when the compressor's air is all there is.

    Solves rate x (p_e(rate) + opposing) = budget with the rate = C_e p0 sin(angle), before what the middle of the curve
    takes away: that takes as large a part of the air, so the budget is divided by what it leaves.
    """
    b = CRITICAL_RATIO
    full = pump.exhaust * REFERENCE
    angle = np.arcsin(np.minimum(budget / (full * (pump.outside_abs + opposing)), 1.0))
    for _ in range(STARVED_ITERATIONS):
        sine, cosine = np.sin(angle), np.cos(angle)
        back = b + (1.0 - b) * cosine
        exhaust = pump.outside_abs / back
        excess = full * sine * (exhaust + opposing) - budget
        slope = full * (cosine * (exhaust + opposing) + sine * exhaust * (1.0 - b) * sine / back)
        angle = np.clip(angle - excess / slope, 0.0, 0.5 * np.pi)
    back = b + (1.0 - b) * np.cos(angle)
    exhaust = pump.outside_abs / back
    choked = full * (pump.outside_abs / b + opposing) <= budget
    return np.where(choked, full, full * np.sin(angle)), np.where(choked, budget / full - opposing, exhaust)


def fit_one(pump: AirDriven, flow_at_zero: Array) -> AirDriven:
    """The pump whose flow against no pressure is this, m3/s, with C_e = 2 C.

    The balance does not depend on the scale of the two, so it is solved at C = 1 and scaled.
    Derived: the root of `flow`.
    """
    unit = replace(pump, supply=np.ones_like(flow_at_zero), exhaust=np.full_like(flow_at_zero, EXHAUST_OVER_SUPPLY))
    _, square = _balance(unit, pump.friction)
    supply = flow_at_zero * pump.ratio / (REFERENCE * np.sqrt(square))
    return replace(pump, supply=supply, exhaust=EXHAUST_OVER_SUPPLY * supply)


def fit_points(pump: AirDriven, gauge: Array, measured: Array) -> tuple[AirDriven, Array]:
    """The pump nearest to two or more measured points, and the misfit.

    Args:
        gauge: outlet pressures, Pa gauge, shape (points, 1) or (points, N).
        measured: flows above zero, m3/s, same shape.

    Returns:
        The pump with C and C_e of least squares in the logarithm of the flow, and the root mean square
        of the relative misfit, shape (N,). C_e over C is sought from 0.05 to 50: a grid on the first
        row, then Gauss-Newton on all rows. Derived: least squares.
    """
    target = np.log(measured * pump.ratio / REFERENCE)

    def rest(of: AirDriven, places: tuple[Array, Array], log_k: Array) -> Array:
        """What a common C leaves of each point, in the logarithm; the mean is ln C."""
        unit = replace(of, supply=np.ones_like(log_k), exhaust=np.exp(log_k))
        points, goal = places
        _, square = _balance(unit, _opposing(of, points))
        return np.asarray(goal - 0.5 * np.log(np.maximum(square, SMALLEST_SQUARE)))

    first = take(pump, slice(0, 1))
    grid = np.linspace(np.log(0.05), np.log(50.0), FIT_GRID)
    coarse = rest(spread(first, FIT_GRID), (gauge[:, :1], target[:, :1]), grid).std(axis=0)
    log_k = np.full(pump.ratio.shape[-1], grid[int(np.argmin(coarse))])
    for _ in range(FIT_ITERATIONS):
        left = rest(pump, (gauge, target), log_k)
        slope = (rest(pump, (gauge, target), log_k + FIT_STEP) - left) / FIT_STEP
        left, slope = left - left.mean(axis=0), slope - slope.mean(axis=0)
        step = (slope * left).sum(axis=0) / np.maximum((slope * slope).sum(axis=0), SMALLEST_SQUARE)
        log_k = np.clip(log_k - np.clip(step, -0.5, 0.5), grid[0], grid[-1])
    left = rest(pump, (gauge, target), log_k)
    mean = left.mean(axis=0)
    fitted = replace(pump, supply=np.exp(mean), exhaust=np.exp(mean + log_k))
    return fitted, (left - mean).std(axis=0)
