"""The gas test the slow way: CoolProp at each step, scipy's integrator, one case at a time; nothing of the model."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import inf, isfinite, pi, sqrt
from typing import Any

import numpy as np
from CoolProp import CoolProp
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

G = 9.80665
NAMES = {"nitrogen": "Nitrogen", "air": "Air"}


@dataclass(frozen=True)
class Given:
    """Plain numbers in SI; pressures absolute."""

    gas: str = "nitrogen"
    outside: float = 101325.0
    surroundings: float = 288.15
    volume: float = 1.0
    area: float = 6.0
    wall_heat: float = 240e3
    film: float = 1.0
    outside_film: float = 10.0
    bottle_volume: float = 0.05
    """Of the bottles that are open together; inf for an air line."""
    bottle_area: float = 1.0
    bottle_wall_heat: float = 30e3
    bottle_film: float = 1.0
    bottle_pressure: float = 201e5
    difference: float = 1e5
    change: float = 300.0
    regulator: float = 26e5
    kv: float = 0.3
    x_t: float = 0.7
    most: float = inf
    """kg/s."""
    booster: tuple[float, float, float, float] | None = None
    """Ratio, drive in Pa gauge, m3 swept in a stroke, strokes a second at no load."""
    stops: tuple[float, ...] = (10e5, 19e5)
    """The last is the test pressure."""
    pauses: tuple[float, ...] = (300.0, 0.0)
    rise_limit: float = inf
    quiet: float = 30.0
    """Pa/s."""
    vent_kv: float | None = 0.2
    vent_area: float = 0.0
    """Discharge coefficient times area."""
    vent_x_t: float = 0.7
    end: float = 151325.0


class Fluid:
    """One state of a gas in CoolProp."""

    def __init__(self, gas: str) -> None:
        self.name = NAMES[gas]
        self.state = CoolProp.AbstractState("HEOS", self.name)
        self.state.specify_phase(CoolProp.iphase_gas)

    def by_density(self, density: float, temperature: float) -> Any:
        self.state.update(CoolProp.DmassT_INPUTS, density, temperature)
        return self.state

    def by_pressure(self, pressure: float, temperature: float) -> Any:
        self.state.update(CoolProp.PT_INPUTS, pressure, temperature)
        return self.state

    def by_energy(self, density: float, energy: float, near: float) -> Any:
        """The state of a density and an internal energy."""
        temperature = near
        for _ in range(60):
            state = self.by_density(density, temperature)
            step = (energy - state.umass()) / state.cvmass()
            temperature += step
            if abs(step) < 1e-10 * temperature:
                break
        return self.by_density(density, temperature)

    def throttled(self, enthalpy: float, pressure: float, near: float) -> Any:
        """The state of a pressure and an enthalpy."""
        temperature = near
        for _ in range(100):
            state = self.by_pressure(pressure, temperature)
            step = (enthalpy - state.hmass()) / state.cpmass()
            temperature += step
            if abs(step) < 1e-10 * temperature:
                break
        return self.by_pressure(pressure, temperature)


def film(state: Any, wall: float) -> float:
    """Free convection between a gas and its wall, W/(m2 K): 0.13 Ra^(1/3), in which the length falls out."""
    rayleigh = (G * state.isobaric_expansion_coefficient() * abs(state.T() - wall) * state.rhomass() ** 2
                * state.cpmass() / (state.viscosity() * state.conductivity()))
    return float(0.13 * state.conductivity() * rayleigh ** (1 / 3))


def iec_valve(kv: float, x_t: float, pressure: float, density: float, downstream: float) -> float:
    """kg/s by IEC 60534-2-1 in kPa: W = 3.16 Kv Y (x p1 rho1)^0.5."""
    x = min(max((pressure - downstream) / pressure, 0.0), x_t)
    return 3.16 * kv * (1 - x / (3 * x_t)) * sqrt(x * pressure / 1e3 * density) / 3600


DEAD, LEAST_FEED, FULL_ENOUGH = 0.1, 5e5, 0.2
"""Dead space of a booster's cylinder over what it sweeps; Pa abs below which it is not fed; how much of a stroke
must be new gas."""


def boosted(booster: tuple[float, float, float, float], feed: Any, outlet: float, outside: float) -> float:
    """kg/s of a booster, stroke by stroke: what is left in the dead space grows back before new gas comes in."""
    ratio, drive, swept, rate = booster
    stall = ratio * drive + outside
    if outlet >= stall:
        return 0.0
    left = DEAD * swept  # after the stroke, at the pressure of the outlet
    if outlet > feed.p():
        left *= (outlet / feed.p()) ** (1 / 1.4)
    comes_in = max(swept * (1 + DEAD) - left, 0.0)
    slowed = rate * sqrt((stall - outlet) / (stall - outside))
    return float(slowed * comes_in * feed.rhomass())


class Isentrope:
    """The way down from a state without heat, for the flow through a hole."""

    def __init__(self, gas: str, pressure: float, temperature: float) -> None:
        self.down = Fluid(gas)
        top = self.down.by_pressure(pressure, temperature)
        self.enthalpy, self.entropy, self.temperature, self.pressure = top.hmass(), top.smass(), temperature, pressure

    def flux(self, pressure: float) -> float:
        """kg/(m2 s) with this pressure in the throat."""
        temperature = self.temperature * (pressure / self.pressure) ** 0.2857
        for _ in range(50):
            state = self.down.by_pressure(pressure, temperature)
            step = (self.entropy - state.smass()) / state.cpmass()
            temperature *= float(np.exp(step))
            if abs(step) < 1e-11:
                break
        state = self.down.by_pressure(pressure, temperature)
        return float(state.rhomass() * sqrt(max(2 * (self.enthalpy - state.hmass()), 0.0)))

    def choked(self) -> tuple[float, float]:
        """Pressure in the throat and flux where the flow chokes, by thirds."""
        low, high = 0.4 * self.pressure, 0.7 * self.pressure
        for _ in range(40):
            one, other = low + (high - low) / 3, high - (high - low) / 3
            if self.flux(one) < self.flux(other):
                low = one
            else:
                high = other
        return 0.5 * (low + high), self.flux(0.5 * (low + high))


def through_hole(gas: str, pressure: float, temperature: float, outside: float) -> float:
    """kg/(m2 s) through a hole without losses."""
    way = Isentrope(gas, pressure, temperature)
    throat, most = way.choked()
    return most if outside <= throat else way.flux(outside)


class Raising:
    """The vessel while it is raised, with mass and energy as its states."""

    def __init__(self, given: Given) -> None:
        self.given = given
        self.vessel, self.bottle, self.line = Fluid(given.gas), Fluid(given.gas), Fluid(given.gas)
        start = self.vessel.by_pressure(given.outside, given.surroundings)
        mass = start.rhomass() * given.volume
        self.start = [mass, mass * start.umass(), given.surroundings, *self.full()]
        self.warm, self.cool = given.surroundings, given.surroundings

    def full(self) -> list[float]:
        """Mass, energy and wall of full bottles; an air line is a bottle of one m3 that never empties."""
        given = self.given
        state = self.bottle.by_pressure(given.bottle_pressure, given.surroundings)
        mass = state.rhomass() * (given.bottle_volume if isfinite(given.bottle_volume) else 1.0)
        return [mass, mass * state.umass(), given.surroundings]

    def states(self, y: Any) -> tuple[Any, Any]:
        given = self.given
        space = given.bottle_volume if isfinite(given.bottle_volume) else 1.0
        vessel = self.vessel.by_energy(y[0] / given.volume, y[1] / y[0], self.warm)
        bottle = self.bottle.by_energy(y[3] / space, y[4] / y[3], self.cool)
        self.warm, self.cool = vessel.T(), bottle.T()
        return vessel, bottle

    def slopes(self, y: Any, rate: float | None) -> list[float]:
        """Slopes; `rate` in Pa/s is what the pressure may rise by, None with the valve shut."""
        given = self.given
        vessel, bottle = self.states(y)
        heat = given.film * film(vessel, y[2]) * given.area * (vessel.T() - y[2])
        flow = 0.0
        enthalpy = bottle.hmass()
        if rate is not None:
            if given.booster is None:
                upstream = min(given.regulator, bottle.p())
                thin = self.line.throttled(enthalpy, upstream, bottle.T())
                flow = min(iec_valve(given.kv, given.x_t, upstream, thin.rhomass(), vessel.p()), given.most)
            else:
                flow = min(boosted(given.booster, bottle, vessel.p(), given.outside), given.most)
                enthalpy = self.line.by_pressure(vessel.p(), given.surroundings).hmass()
            if isfinite(rate):
                flow = max(min(flow, self.flow_for(y, rate, enthalpy, heat)), 0.0)
        lost = given.outside_film * given.area * (y[2] - given.surroundings)
        out = [0.0, 0.0, 0.0]
        if isfinite(given.bottle_volume):
            into = given.bottle_film * film(bottle, y[5]) * given.bottle_area * (bottle.T() - y[5])
            cold = given.outside_film * given.bottle_area * (y[5] - given.surroundings)
            out = [-flow, -flow * bottle.hmass() - into, (into - cold) / given.bottle_wall_heat]
        return [flow, flow * enthalpy - heat, (heat - lost) / given.wall_heat, *out]

    def flow_for(self, y: Any, rate: float, enthalpy: float, heat: float) -> float:
        """The flow that raises the pressure by `rate`: tried out with two flows, the pressure being linear in it."""
        given, second = self.given, 1e-3
        energy = y[1] / y[0]

        def pressure(flow: float, side: float) -> float:
            mass = y[0] + side * second * flow
            moved = (y[1] + side * second * (flow * enthalpy - heat)) / mass
            return float(self.vessel.by_energy(mass / given.volume, moved, self.warm).p())

        def speed(flow: float) -> float:
            return (pressure(flow, 1) - pressure(flow, -1)) / (2 * second)

        assert energy
        still, some = speed(0.0), speed(1e-3)
        self.vessel.by_energy(y[0] / given.volume, energy, self.warm)
        return 1e-3 * (rate - still) / (some - still)

    def falling(self, y: Any) -> float:
        """How fast the pressure falls with the valve shut, Pa/s."""
        vessel, _ = self.states(y)
        given, second = self.given, 1e-2
        heat = given.film * film(vessel, y[2]) * given.area * (vessel.T() - y[2])
        before, density = vessel.p(), y[0] / given.volume
        after = self.vessel.by_energy(density, (y[1] - heat * second) / y[0], self.warm).p()
        return float((before - after) / second)


def raised(given: Given) -> dict[str, Any]:
    """Raise by stops, top up while it cools, change bottles; times in s, kelvin, kg, Pa."""
    run = Raising(given)
    y, time, opened = np.array(run.start), 0.0, 1
    found: dict[str, Any] = {"hottest": given.surroundings, "coldest_bottle": given.surroundings}

    def go(rate: float | None, until: float, ends: list[Any]) -> int | None:
        """March on; which of the ends came."""
        nonlocal y, time
        events = []
        for end in ends:
            def event(_: float, y: Any, end: Any = end) -> float:
                return float(end(y))

            event.terminal = True  # type: ignore[attr-defined]
            event.direction = -1  # type: ignore[attr-defined]
            events.append(event)
        done = solve_ivp(lambda _, y: run.slopes(y, rate), (time, time + until), y, events=events, rtol=1e-8,
                         atol=1e-10 * np.abs(np.where(y == 0, 1.0, y)), method="LSODA" if rate is None else "RK45",
                         first_step=1e-4, dense_output=True)
        for at in np.concatenate([*(np.linspace(a, b, 5) for a, b in pairwise(done.t)), done.t[-1:]]):
            vessel, bottle = run.states(done.sol(at))
            found["hottest"] = max(found["hottest"], vessel.T())
            found["coldest_bottle"] = min(found["coldest_bottle"], bottle.T())
        y, time = done.y[:, -1], float(done.t[-1])
        return next((place for place, times in enumerate(done.t_events or []) if len(times)), None)

    def emptied(y: Any) -> float:
        vessel, bottle = run.states(y)
        if given.booster is not None:
            new = 1 - DEAD * (max(vessel.p() / bottle.p(), 1.0) ** (1 / 1.4) - 1)
            return min((bottle.p() - LEAST_FEED) / LEAST_FEED, new - FULL_ENOUGH)
        return (bottle.p() - vessel.p() - given.difference) if isfinite(given.bottle_volume) else 1.0

    def changed() -> None:
        nonlocal opened, y
        opened += 1
        y = np.array([*y[:3], *run.full()])
        go(None, given.change, [])

    for stop, pause in zip(given.stops, given.pauses, strict=True):
        while go(given.rise_limit, 1e6, [lambda y, s=stop: s - run.states(y)[0].p(), emptied]) == 1:
            changed()
        if stop != given.stops[-1]:
            go(None, pause, [])
    vessel, _ = run.states(y)
    found |= {"test_time": time, "test_temperature": vessel.T(), "test_mass": y[0],
              "after_cooling": Fluid(given.gas).by_density(y[0] / given.volume, given.surroundings).p()}
    while run.falling(y) > given.quiet:
        if go(0.0, 1e6, [lambda y: run.falling(y) - given.quiet, emptied]) == 1:
            changed()
        else:
            break
    vessel, bottle = run.states(y)
    return found | {"read_time": time, "read_temperature": vessel.T(), "opened": opened, "left": bottle.p(),
                    "given": y[0] - run.start[0], "wall": y[2]}


def let_off(given: Given) -> dict[str, float]:
    """Let off from the last stop, gas and wall as warm as their place; s, kelvin."""
    gas = Fluid(given.gas)
    start = gas.by_pressure(given.stops[-1], given.surroundings)
    mass = start.rhomass() * given.volume
    near = given.surroundings

    def state(y: Any) -> Any:
        nonlocal near
        here = gas.by_energy(y[0] / given.volume, y[1] / y[0], near)
        near = here.T()
        return here

    def slopes(_: float, y: Any) -> list[float]:
        here = state(y)
        heat = given.film * film(here, y[2]) * given.area * (here.T() - y[2])
        if given.vent_kv is not None:
            flow = iec_valve(given.vent_kv, given.vent_x_t, here.p(), here.rhomass(), given.outside)
        else:
            flow = given.vent_area * through_hole(given.gas, here.p(), here.T(), given.outside)
        lost = given.outside_film * given.area * (y[2] - given.surroundings)
        return [-flow, -flow * here.hmass() - heat, (heat - lost) / given.wall_heat]

    def ended(_: float, y: Any) -> float:
        return float(state(y).p() - given.end)

    ended.terminal = True  # type: ignore[attr-defined]
    done = solve_ivp(slopes, (0.0, 1e6), [mass, mass * start.umass(), given.surroundings], events=[ended], rtol=1e-6,
                     first_step=1e-3)
    temperatures = [state(column).T() for column in done.y.T]
    return {"time": float(done.t[-1]), "coldest": min(temperatures), "coldest_wall": float(done.y[2].min())}


def energy(given: Given) -> float:
    """Energy without heat down to the outside, J, from the last stop, CoolProp's liquid and all."""
    name, top = NAMES[given.gas], given.stops[-1]
    density, inside, entropy = (CoolProp.PropsSI(what, "P", top, "T", given.surroundings, name) for what in "DUS")
    return float(given.volume * density * (inside - CoolProp.PropsSI("U", "P", given.outside, "S", entropy, name)))


def filled_without_heat(gas: str, source: float, end: float, temperature: float, outside: float) -> tuple[float, float]:
    """Temperature and density after filling from a source that stays as it is: m2 u2 - m1 u1 = (m2 - m1) h."""
    fluid = Fluid(gas)
    enthalpy = fluid.by_pressure(source, temperature).hmass()
    first = fluid.by_pressure(outside, temperature)
    density, energy_ = first.rhomass(), first.umass()

    def off(at: float) -> float:
        last = fluid.by_pressure(end, at)
        return float(last.rhomass() * last.umass() - density * energy_ - (last.rhomass() - density) * enthalpy)

    warm = brentq(off, temperature, 1.6 * temperature, xtol=1e-10)
    return warm, float(fluid.by_pressure(end, warm).rhomass())


def hole(bore: float, coefficient: float) -> float:
    """Coefficient times area, m2."""
    return coefficient * pi / 4 * bore**2
