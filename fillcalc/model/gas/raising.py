"""Raising the pressure by stops, and holding it there while the gas cools, until the gauge may be read."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from fillcalc.arrays import Array, Codes, Flags
from fillcalc.model.gas.march import FIRST_STEP, MOST_STEPS, SLOWEST, TOLERANCE, Rows, advance
from fillcalc.model.gas.supply import Supply
from fillcalc.model.gas.vessel import Holder
from fillcalc.properties.gases import At, Gas, row

DENSITY, TEMPERATURE, WALL, BOTTLE_DENSITY, BOTTLE_TEMPERATURE, BOTTLE_WALL, GIVEN, LOST = range(8)
"""The states: gas and wall of the vessel, of the bottles, kg given so far, J lost to the surroundings so far."""
RISING, PAUSED, TOPPING, SETTLED, STUCK = range(5)
"""What a row does: valve open, at a stop, topped up at test pressure, done, cannot get there."""
CHANGING = 5
"""What the history says while bottles are changed."""
WARMTH = 30.0
"""K; the size of what gas and walls are warmed by."""


@dataclass(frozen=True)
class Raise:
    """What is asked. Numbers of shape (N,)."""

    vessel: Holder
    supply: Supply
    outside_abs: Array
    """Pa."""
    stops_abs: Array
    """Pressures of the stops, Pa abs, the last the test pressure; (stops, N), rising."""
    pauses: Array
    """s at each stop; (stops, N)."""
    rise_limit: Array
    """Pa/s; endless where there is none."""
    quiet: Array
    """The gauge may be read when a shut vessel falls no faster than this by cooling, Pa/s."""
    tolerance: float = TOLERANCE
    further: bool = True
    """Whether more bottles than there are may be opened, which tells how many it takes."""

    @property
    def gas(self) -> Gas:
        """Which gas it is. It is stated, not worked out; Definition: that of the supply, whose energy is in J."""
        return self.supply.gas


@dataclass(frozen=True)
class Moment:
    """The vessel at one moment; shapes (N,), NaN where it never comes."""

    time: Array
    """s since the valve was opened."""
    density: Array
    """kg/m3."""
    temperature: Array
    """Of the gas, K."""
    wall: Array
    """K."""


class Node(NamedTuple):
    """One row at one moment of its history."""

    time: float
    """s."""
    pressure: float
    """Pa abs."""
    temperature: float
    """Of the gas, K."""
    bottle: float
    """Pressure in the bottles that are open, Pa abs."""
    opened: float
    """Groups of bottles opened so far."""
    flow: float
    """kg/s into the vessel."""
    doing: int
    """`RISING`, `PAUSED`, `TOPPING` or `CHANGING`."""


@dataclass(frozen=True)
class Raised:
    """What comes of it. Shapes (N,)."""

    reached: Flags
    """Whether test pressure is reached, bottles without end."""
    followed: Flags
    """Whether it was worked out to its end; false of a rise in more steps than `MOST_STEPS`."""
    test: Moment
    """Test pressure reached for the first time."""
    read: Moment
    """The gauge may be read."""
    paused: Array
    """s at stops before test pressure."""
    changing: Array
    """s of changing bottles."""
    opened: Array
    """Groups of bottles opened up to the reading."""
    given: Array
    """kg that flowed into the vessel up to the reading."""
    left_abs: Array
    """Pressure left in the last bottles, Pa abs."""
    ends_abs: Array
    """Pressure of the vessel when the bottles that there are have ended, Pa abs; NaN where they do not."""
    hottest: Array
    """Warmest gas, K."""
    warmest_wall: Array
    """K."""
    coldest_bottle: Array
    """Coldest gas in a bottle, K."""
    lost: Array
    """J lost from the vessel's wall to the surroundings."""
    state: Array
    """The last state, (8, N)."""
    history: tuple[Node, ...]
    """Of the first row, from the open valve to the reading."""


@dataclass
class _March:
    """The rows on their way."""

    task: Raise
    rows: Rows
    phase: Codes
    stop: Codes
    until: Array
    """End of a pause, s."""
    shut: Array
    """End of a change of bottles, s."""
    opened: Array
    ends: Array
    history: list[Node] = field(default_factory=list)

    def open(self) -> Flags:
        """Whether gas may flow: rising or topped up, and no bottle being changed."""
        flowing = (self.phase == RISING) | (self.phase == TOPPING)
        return flowing & (self.rows.time >= self.shut)

    def vessel(self, state: Array) -> At:
        """The gas in the vessel; the density of it in kg/m3."""
        return self.task.gas.at(state[DENSITY], state[TEMPERATURE])

    def both(self, state: Array) -> tuple[At, At]:
        """The gas in the vessel and in the bottles, at densities in kg/m3. Source: as `raise_pressure`."""
        both = self.task.gas.at(state[[DENSITY, BOTTLE_DENSITY]], state[[TEMPERATURE, BOTTLE_TEMPERATURE]])
        return row(both, 0), row(both, 1)

    def slopes(self, state: Array) -> Array:
        """Slopes of the states, per second. Derived: the balances of mass and energy, `Holder.slopes`."""
        task, supply = self.task, self.task.supply
        at, bottle = self.both(state)
        heat = task.vessel.heat_to_wall(task.gas, at, state[WALL])
        bottle_heat = supply.holder.heat_to_wall(task.gas, bottle, state[BOTTLE_WALL])
        flow, enthalpy = np.zeros_like(heat), bottle.enthalpy
        if (may := self.open()).any():
            enthalpy = supply.enthalpy(bottle, at.pressure)
            rate = np.where(self.phase == TOPPING, 0.0, task.rise_limit)
            limited = np.isfinite(rate)
            asked = np.where(limited, task.vessel.flow_for(at, np.where(limited, rate, 0.0), enthalpy, heat), np.inf)
            let = np.where(may, asked, 0.0)
            flow = np.where(may, np.maximum(np.minimum(supply.most_flow(bottle, at.pressure, task.outside_abs, let),
                                                       asked), 0.0), 0.0)
        lost = task.vessel.heat_outside(state[WALL])
        density, temperature = task.vessel.slopes(at, flow, enthalpy, heat)
        out_density, out_temperature = supply.holder.slopes(bottle, -flow, bottle.enthalpy, bottle_heat)
        gained = supply.holder.heat_outside(state[BOTTLE_WALL])
        return np.stack([density, temperature, (heat - lost) / task.vessel.wall_heat,
                         out_density, out_temperature, (bottle_heat - gained) / supply.holder.wall_heat, flow, lost])

    def events(self, state: Array) -> Array:
        """What falls through nothing: the rest to the next stop, what the bottle has over, how far it is from quiet."""
        task = self.task
        at, bottle = self.both(state)
        test = task.stops_abs[-1]
        target = np.take_along_axis(task.stops_abs, self.stop[None], 0)[0]
        over = (bottle.pressure - task.supply.change_at(at.pressure)) / test
        heat = task.vessel.heat_to_wall(task.gas, at, state[WALL])
        falling = np.log(np.maximum(task.vessel.fall_rate(at, heat) / task.quiet, 1e-6))
        return np.stack([
            np.where(self.phase == RISING, (target - at.pressure) / test, 1.0),
            np.where(self.open() & np.isfinite(task.supply.holder.volume), over, 1.0),
            np.where((self.phase == TOPPING) & self.open(), falling, 1.0)])


def raise_pressure(task: Raise) -> Raised:
    """Raise the pressure by its stops, then top it up while the gas cools, until the gauge may be read.

    Shapes (N,), SI. The bottles are opened one group after the other, each down to the vessel's pressure and the
    supply's difference, as many as it takes; `ends_abs` says where those that there are have ended. At each moment the
    flow is the least of what line and supply let through and what raises the pressure at the rise limit. Derived: the
    balances of mass and energy of vessel, wall and bottles, `Holder.slopes`, marched by `march.advance`.
    """
    march = _begin(task)
    scale = _scale(task)
    snapshots = _Snapshots(march)
    for _ in range(MOST_STEPS):
        live = (march.phase < SETTLED) & (march.rows.time < SLOWEST)
        if not live.any():
            break
        _time_outs(march)
        moved, happened = advance(march.rows, march.slopes, march.events, scale, live, _most(march), task.tolerance)
        snapshots.see(march, moved)
        _stops(march, happened[0], snapshots)
        _bottles(march, happened[1])
        _quiet(march, happened[2] | _quiet_already(march), snapshots)
    return snapshots.raised(march)


def _begin(task: Raise) -> _March:
    """All rows at the start: the vessel open to the outside, the bottles full, everything as warm as its place."""
    vessel, supply = task.vessel, task.supply
    full = supply.full()
    nothing = np.zeros_like(task.outside_abs)
    start = task.gas.density(task.outside_abs, vessel.surroundings)
    state = np.stack(np.broadcast_arrays(start, vessel.surroundings, vessel.surroundings, full.density,
                                         supply.temperature, supply.temperature, nothing, nothing)).astype(float)
    can = supply.highest(task.outside_abs) > task.stops_abs[-1]
    ends = np.where(can, np.nan, np.maximum(supply.highest(task.outside_abs), task.outside_abs))
    return _March(task, Rows(nothing.copy(), state, np.full_like(nothing, FIRST_STEP)),
                  np.where(can, RISING, STUCK), np.zeros(len(nothing), int), nothing.copy(), nothing.copy(),
                  np.ones_like(nothing), ends)


def _scale(task: Raise) -> Array:
    """The size of each state, (8, N)."""
    top = task.gas.density(task.stops_abs[-1], task.vessel.surroundings)
    full = task.supply.full().density
    kelvin = np.full_like(top, WARMTH)
    energy = np.maximum(task.vessel.volume * task.stops_abs[-1], 1.0)
    return np.stack([top, kelvin, kelvin, full, kelvin, kelvin, top * task.vessel.volume, energy])


def _most(march: _March) -> Array:
    """The longest step of each row, s: to the end of its pause or change."""
    time = march.rows.time
    until = np.where(march.phase == PAUSED, march.until - time, np.inf)
    shut = np.where(march.shut > time, march.shut - time, np.inf)
    return np.minimum(np.minimum(until, shut), np.maximum(SLOWEST - time, FIRST_STEP))


def _time_outs(march: _March) -> None:
    """Pauses that are over: the valve is opened again for the next stop."""
    if not ((march.phase == PAUSED) | (march.shut > 0.0)).any():
        return
    over = (march.phase == PAUSED) & (march.rows.time >= march.until - 1e-9)
    march.stop = np.where(over, march.stop + 1, march.stop)
    march.phase = np.where(over, RISING, march.phase)
    shut = (march.shut > 0.0) & (march.rows.time >= march.shut - 1e-9)
    march.shut = np.where(shut, 0.0, march.shut)
    march.rows.step = np.where(over | shut, np.minimum(march.rows.step, FIRST_STEP), march.rows.step)
    if (over | shut).any():
        march.rows.forget()


def _stops(march: _March, happened: Flags, snapshots: _Snapshots) -> None:
    """Stops that are reached: a pause, or after the last of them topping up."""
    if not happened.any():
        return
    march.rows.forget()
    last = march.stop == len(march.task.stops_abs) - 1
    snapshots.test.take(march, happened & last)
    pause = np.take_along_axis(march.task.pauses, march.stop[None], 0)[0]
    march.until = np.where(happened & ~last, march.rows.time + pause, march.until)
    march.phase = np.where(happened, np.where(last, TOPPING, PAUSED), march.phase)
    snapshots.paused += np.where(happened & ~last, pause, 0.0)


def _bottles(march: _March, happened: Flags) -> None:
    """Bottles that are as good as empty are changed for full ones."""
    if not happened.any():
        return
    task, rows = march.task, march.rows
    at = march.vessel(rows.state)
    ended = happened & (march.opened >= task.supply.groups) & np.isnan(march.ends)
    march.ends = np.where(ended, at.pressure, march.ends)
    if not task.further:
        march.phase = np.where(ended, STUCK, march.phase)
    full = task.supply.full().density
    rows.state[BOTTLE_DENSITY] = np.where(happened, full, rows.state[BOTTLE_DENSITY])
    for place in (BOTTLE_TEMPERATURE, BOTTLE_WALL):
        rows.state[place] = np.where(happened, task.supply.temperature, rows.state[place])
    march.opened = march.opened + happened
    march.shut = np.where(happened, rows.time + task.supply.change, march.shut)
    rows.step = np.where(happened, FIRST_STEP, rows.step)
    rows.forget()


def _quiet_already(march: _March) -> Array:
    """Rows at test pressure whose gas is no warmer than the wall, or falls slowly enough at once."""
    topping = march.phase == TOPPING
    if not topping.any():
        return topping
    return topping & (march.events(march.rows.state)[2] <= 0.0)


def _quiet(march: _March, happened: Flags, snapshots: _Snapshots) -> None:
    if not happened.any():
        return
    march.rows.forget()
    snapshots.read.take(march, happened & (march.phase == TOPPING))
    march.phase = np.where(happened & (march.phase == TOPPING), SETTLED, march.phase)


class _Taken:
    """A moment that is taken of each row once."""

    def __init__(self, count: int) -> None:
        self.rows = np.full((4, count), np.nan)

    def take(self, march: _March, which: Flags) -> None:
        now = np.concatenate([march.rows.time[None], march.rows.state[[DENSITY, TEMPERATURE, WALL]]])
        self.rows = np.where(which & np.isnan(self.rows[0]), now, self.rows)

    def moment(self) -> Moment:
        return Moment(*self.rows)


class _Snapshots:
    """What is kept of the way."""

    def __init__(self, march: _March) -> None:
        count = len(march.rows.time)
        self.test, self.read = _Taken(count), _Taken(count)
        self.paused = np.zeros(count)
        state = march.rows.state
        self.hottest, self.wall, self.bottle = (state[place].copy() for place in (
            TEMPERATURE, WALL, BOTTLE_TEMPERATURE))
        self._note(march)

    def see(self, march: _March, moved: Flags) -> None:
        """Note the extremes of the rows that moved, K."""
        state, turned = march.rows.state, march.rows.turning
        assert turned is not None
        self.hottest = np.maximum(self.hottest, np.maximum(state[TEMPERATURE], turned[TEMPERATURE]))
        self.wall = np.maximum(self.wall, np.maximum(state[WALL], turned[WALL]))
        self.bottle = np.minimum(self.bottle, np.minimum(state[BOTTLE_TEMPERATURE], turned[BOTTLE_TEMPERATURE]))
        if moved[0]:
            self._note(march)

    def _note(self, march: _March) -> None:
        """Add where the first row stands to its history: pressures in Pa, as `Node` says. Definition: a copy, times
        one."""
        at, bottle = march.both(march.rows.state[:, :1])
        slopes = march.slopes(march.rows.state) if march.rows.slopes is None else march.rows.slopes
        shut = march.rows.time[0] < march.shut[0]
        march.history.append(Node(
            float(march.rows.time[0]), float(at.pressure[0]), float(at.temperature[0]), float(bottle.pressure[0]),
            float(march.opened[0]), float(slopes[GIVEN, 0]),
            CHANGING if shut else int(march.phase[0])))

    def raised(self, march: _March) -> Raised:
        """All that is told of the march, times in s."""
        task, state = march.task, march.rows.state
        test, read = self.test.moment(), self.read.moment()
        done = np.isfinite(read.time)
        left: Array = task.gas.at(state[BOTTLE_DENSITY], state[BOTTLE_TEMPERATURE]).pressure
        only = np.where(done, 1.0, np.nan)
        opened = march.opened * only
        return Raised(
            reached=np.isfinite(test.time), followed=march.phase >= SETTLED, test=test, read=read,
            paused=self.paused * only, changing=(opened - 1.0) * task.supply.change,
            opened=opened, given=state[GIVEN] * only,
            left_abs=left * only, ends_abs=march.ends, hottest=self.hottest, warmest_wall=self.wall,
            coldest_bottle=self.bottle, lost=state[LOST], state=state, history=tuple(march.history))
