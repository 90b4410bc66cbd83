"""The moments of a job: nodes of the histories of its fill and its pump-up, or of its gas, as even as they come."""

from __future__ import annotations

from math import isfinite, nan

import numpy as np

from fillcalc.arrays import first
from fillcalc.estimation.answers import Estimate
from fillcalc.estimation.gas_answers import GasAnswer
from fillcalc.model.gas.raising import CHANGING, PAUSED, RISING, STUCK, TOPPING
from fillcalc.present.picture.records import (
    CANNOT,
    CHANGE,
    ENDS,
    LET_OFF,
    RAISE,
    READ,
    SETTLE,
    STOP,
    GasMoment,
    Moment,
    Moments,
    Points,
)

MOST = 25
"""Moments of a history, at most."""
DOING = {RISING: RAISE, PAUSED: STOP, TOPPING: SETTLE, CHANGING: CHANGE, STUCK: CANNOT}
MOST_OFF = 10
"""Moments of letting off, at most."""
NEAR = 1e-6
"""Part of test pressure by which a stop counts as reached."""


def moments(estimate: Estimate) -> Moments:
    """The moments of an estimate, at likely values; the pump-up has none where the fill never finishes."""
    if estimate.gas is not None:
        return Moments((), (), (*_raised(estimate.gas), *_let_off(estimate.gas)))
    fill = _fill(estimate)
    finished = bool(np.ravel(estimate.fill.finished)[0])
    return Moments(fill, _pump_up(estimate, fill[-1].level_m, fill[-1].filled) if finished else ())


def frames(estimate: Estimate) -> tuple[Moment | GasMoment, ...]:
    """Three moments that tell the job: half full, full, at test pressure; with gas at the first stop or half way up,
    at the reading, and half let off. Fewer where it does not come so far."""
    if estimate.gas is not None:
        return _gas_frames(estimate.gas)
    found = moments(estimate)
    half = min(found.fill, key=lambda one: abs(one.filled - 0.5 * found.fill[-1].filled))
    kept = [half] if 0.0 < half.filled < found.fill[-1].filled else []
    return (*kept, found.fill[-1], *found.pump_up[-1:])


def _gas_frames(gas: GasAnswer) -> tuple[GasMoment, ...]:
    up, off = _raised(gas), _let_off(gas)
    if len(up) < 3:
        return up[-1:]
    half = 0.5 * up[-1].gauge_pa
    first = next((one for one in up if one.stage == STOP), min(up, key=lambda one: abs(one.gauge_pa - half)))
    return (first, up[-1], *([min(off, key=lambda one: abs(one.gauge_pa - half))] if off else []))


def _raised(gas: GasAnswer) -> tuple[GasMoment, ...]:
    """From the open valve to the reading, or to where the bottles end: each turn of the work, and even steps of time
    between them."""
    history = gas.history
    time, gauge, warm, bottle, opened, flow, doing = map(_nodes, (
        history.time_s, history.pressure_gauge_pa, history.gas_k, history.bottle_gauge_pa, history.opened,
        history.flow_m3_s, history.doing))
    stops, last = np.sort(_nodes(gas.stops.gauge_pa)), time.size - 1
    turns = np.flatnonzero((np.diff(doing) != 0.0) | (np.diff(opened) != 0.0)).tolist()
    evenly = np.linspace(time[0], time[-1], max(MOST - len(turns), 2))
    chosen = sorted({0, last, *turns, *(int(np.argmin(np.abs(time - one))) for one in evenly)})
    left = [float(bottle[place]) for place in np.flatnonzero(np.diff(opened) > 0.0)]
    settled = doing[last] == TOPPING and bool(np.ravel(gas.bottles.enough)[0])
    found = []
    for place in chosen:
        stage = DOING[int(doing[place])]
        if place == last and last > 0:
            stage = READ if settled else ENDS
        above = stops[stops >= gauge[place] - NEAR * stops[-1]]
        found.append(GasMoment(
            stage, time[place], gauge[place], warm[place], flow[place] if stage in (RAISE, SETTLE) else 0.0,
            bottle[place], round(float(opened[place])), tuple(left[: round(float(opened[place])) - 1]),
            float(above[0]) if above.size else float(stops[-1])))
    return tuple(found)


def _let_off(gas: GasAnswer) -> tuple[GasMoment, ...]:
    """From the reading down to half a bar, in even steps of the pressure; nothing where test pressure is not reached.
    """
    history, up = gas.off_history, _raised(gas)
    time, gauge, warm, flow = map(_nodes, (history.time_s, history.pressure_gauge_pa, history.gas_k,
                                           history.flow_m3_s))
    if not np.isfinite(time).all():
        return ()
    evenly = np.linspace(gauge[0], gauge[-1], MOST_OFF)
    chosen = sorted({0, time.size - 1, *(int(np.argmin(np.abs(gauge - one))) for one in evenly)})
    return tuple(GasMoment(LET_OFF, time[place], gauge[place], warm[place], flow[place], up[-1].bottle_gauge_pa,
                           up[-1].opened, up[-1].left_gauge_pa, nan) for place in chosen)


def _fill(estimate: Estimate) -> tuple[Moment, ...]:
    fill, volume, height = estimate.fill, first(estimate.volume_m3), first(estimate.height_m)
    history = fill.history
    water, level = _nodes(history.water_m3), _nodes(history.level_m)
    if not (water.size > 1 and np.isfinite(water).all()):
        return _stands(estimate, volume, height)
    time, flow, air, gauge = map(_nodes, (history.time_s, history.flow_m3_s, history.air_gauge_pa, history.gauge_pa))
    return tuple(Moment("fill", time[i], water[i], level[i], _filled(level[i], water[i], volume, height), flow[i],
                        air[i], volume - water[i], gauge[i], nan) for i in _even(water))


def _stands(estimate: Estimate, volume: float, height: float) -> tuple[Moment, ...]:
    """A fill without a history: empty, and where it stands still."""
    fill = estimate.fill
    water, level = first(fill.water_m3), first(fill.level_m)
    empty = Moment("fill", 0.0, 0.0, 0.0, 0.0, first(fill.flow_start_m3_s), 0.0, volume, 0.0, nan)
    if not (isfinite(water) and water > 0.0):
        return (empty,)
    stands = Moment("fill", first(fill.time_s), water, level, _filled(level, water, volume, height), 0.0,
                    first(fill.air_peak_gauge_pa), volume - water, nan, nan)
    return (empty, stands)


def _pump_up(estimate: Estimate, level: float, filled: float) -> tuple[Moment, ...]:
    history = estimate.pressurise.history
    names = ("pressure_gauge_pa", "water_m3", "time_s", "strokes", "air_m3", "air_gauge_pa")
    gauge, water, time, strokes, air, air_gauge = (_nodes(getattr(history, name)) for name in names)
    if not (water.size > 1 and np.isfinite(water).all()):
        return ()
    rate = _rate(water, time)
    return tuple(Moment("pump-up", time[i], water[i], level, filled, rate[i], air_gauge[i], air[i], gauge[i],
                        strokes[i]) for i in _even(water))


def _rate(water: Points, time: Points) -> Points:
    """Flow into the vessel at the nodes, m3/s: the slope to the next node, and of the last from the one before."""
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = np.diff(water) / np.diff(time)
    known = np.isfinite(slope) & (np.diff(time) > 0.0)
    slope = np.where(known, slope, np.nan)
    return np.append(slope, slope[known][-1] if known.any() else np.nan)


def _even(water: Points) -> list[int]:
    """Places of the nodes nearest to even steps of the water, the first and the last among them."""
    wanted = np.linspace(water[0], water[-1], MOST)
    near = {int(np.argmin(np.abs(water - one))) for one in wanted[1:-1]}
    last = water.size - 1
    return sorted({0, last, *(i for i in near if water[0] < water[i] < water[last])})


def _filled(level: float, water: float, volume: float, height: float) -> float:
    if height > 0.0 and isfinite(level):
        return float(min(max(level / height, 0.0), 1.0))
    return float(water / volume) if volume > 0.0 else nan


def _nodes(values: object) -> Points:
    """The nodes of a history, those at likely values where there are samples."""
    array = np.asarray(values, dtype=float)
    return array[:, 0] if array.ndim > 1 else array
