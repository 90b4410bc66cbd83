"""Letting the gas off through a vent, until half a bar is left."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fillcalc.arrays import Array, Flags
from fillcalc.model.gas.flow import hole, valve
from fillcalc.model.gas.march import FIRST_STEP, MOST_STEPS, SLOWEST, TOLERANCE, Rows, advance
from fillcalc.model.gas.vessel import Holder
from fillcalc.properties.gases import At, Gas

HALF_BAR = 0.5e5
"""Pa gauge, down to which the time is told; the rest goes slowly and is watched."""
DENSITY, TEMPERATURE, WALL, GONE, GAINED = range(5)
"""The states: gas and wall of the vessel, kg gone, J gained from the surroundings."""


@dataclass(frozen=True)
class Vent:
    """The way out; numbers of shape (N,). A hole where `kv` is NaN."""

    kv: Array
    """m3/h."""
    x_t: Array
    area: Array
    """Discharge coefficient times area, m2."""

    def flow(self, gas: Gas, at: At, outside_abs: Array) -> Array:
        """Mass flow out, kg/s; pressure outside Pa abs. Source: as `flow.valve` and `flow.hole`, IEC 60534-2-1."""
        by_valve = valve(np.nan_to_num(self.kv), self.x_t, (at.pressure, at.density), outside_abs)
        by_hole = hole(np.nan_to_num(self.area), gas.choked_flux(at), at.pressure, outside_abs)
        return np.where(np.isnan(self.kv), by_hole, by_valve)


@dataclass(frozen=True)
class LetOff:
    """What comes of letting off. Shapes (N,)."""

    time: Array
    """s down to `end_abs`."""
    coldest: Array
    """Coldest gas inside, K."""
    coldest_wall: Array
    """Coldest wall as a whole, K; at the vent it is colder."""
    gone: Array
    """kg."""
    gained: Array
    """J that the wall took from the surroundings."""
    state: Array
    history: tuple[tuple[float, float, float, float], ...]
    """Of the first row: time in s, pressure in Pa abs, temperature of the gas in K, flow in kg/s."""


@dataclass(frozen=True)
class Task:
    """A vessel to be let off. Numbers of shape (N,)."""

    gas: Gas
    vessel: Holder
    vent: Vent
    start: tuple[Array, Array, Array]
    """Pressure in Pa abs, temperature of the gas and of the wall, K."""
    end_abs: Array
    """Pa."""
    outside_abs: Array
    """Pa."""
    tolerance: float = TOLERANCE

    def slopes(self, state: Array) -> Array:
        """Slopes of the states, in kg/(m3 s), K/s, kg/s and W. Derived: the balances of mass and energy,
        `Holder.slopes`."""
        at = self.gas.at(state[DENSITY], state[TEMPERATURE])
        heat = self.vessel.heat_to_wall(self.gas, at, state[WALL])
        flow = self.vent.flow(self.gas, at, self.outside_abs)
        lost = self.vessel.heat_outside(state[WALL])
        density, temperature = self.vessel.slopes(at, -flow, at.enthalpy, heat)
        return np.stack([density, temperature, (heat - lost) / self.vessel.wall_heat, flow, -lost])

    def events(self, state: Array) -> Array:
        """What is left to let off, as a share of the start. Derived: a ratio of pressures, each in Pa."""
        at = self.gas.at(state[DENSITY], state[TEMPERATURE])
        return ((at.pressure - self.end_abs) / self.start[0])[None]


def let_off(task: Task) -> LetOff:
    """Let a vessel off, times in s; NaN where it starts at its end already or never gets there.

    Derived: the balances of mass and energy of gas and wall, `Holder.slopes`, marched by `march.advance`.
    """
    pressure, temperature, wall = task.start
    begun = task.gas.density(pressure, temperature)
    nothing = np.zeros_like(begun)
    rows = Rows(nothing.copy(), np.stack(np.broadcast_arrays(begun, temperature, wall, nothing, nothing)).astype(float),
                np.full_like(nothing, FIRST_STEP))
    kelvin = np.full_like(begun, 300.0)
    scale = np.stack([begun, kelvin, kelvin, begun * task.vessel.volume, pressure * task.vessel.volume])
    live: Flags = np.asarray(pressure > task.end_abs)
    done: Flags = np.zeros(len(begun), bool)
    coldest, coldest_wall = rows.state[TEMPERATURE].copy(), rows.state[WALL].copy()
    history = [_node(task, rows)]
    for _ in range(MOST_STEPS):
        live = live & ~done & (rows.time < SLOWEST)
        if not live.any():
            break
        moved, happened = advance(rows, task.slopes, task.events, scale, live, np.full_like(begun, SLOWEST),
                              task.tolerance)
        done = done | happened[0]
        assert rows.turning is not None
        coldest = np.minimum(coldest, np.minimum(rows.state, rows.turning)[TEMPERATURE])
        coldest_wall = np.minimum(coldest_wall, np.minimum(rows.state, rows.turning)[WALL])
        if moved[0]:
            history.append(_node(task, rows))
    only = np.where(done, 1.0, np.nan)
    return LetOff(rows.time * only, coldest * only, coldest_wall * only, rows.state[GONE], rows.state[GAINED],
                  rows.state, tuple(history))


def _node(task: Task, rows: Rows) -> tuple[float, float, float, float]:
    """Where the first row stands: time in s, pressure in Pa abs, temperature in K, flow in kg/s. Definition: a copy,
    times one."""
    at = task.gas.at(rows.state[DENSITY, :1], rows.state[TEMPERATURE, :1])
    slopes = task.slopes(rows.state) if rows.slopes is None else rows.slopes
    return float(rows.time[0]), float(at.pressure[0]), float(at.temperature[0]), float(slopes[GONE, 0])
