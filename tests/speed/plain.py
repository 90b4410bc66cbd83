"""The script that a good engineer would write for one case: CoolProp, fluids and scipy, a number at a time.

It reads the same case files, for a cylinder filled at the bottom from a tap through hoses, vented at the top,
pumped up by an air-driven pump, held, released and drained. Nothing of it comes from the package that it is
compared with. Run it as `python tests/speed/plain.py CASE`; it prints its answers as JSON, in SI.
"""

from __future__ import annotations

import json
import sys
import tomllib
from math import exp, log, pi, sqrt
from typing import Any

import CoolProp
import fluids
from CoolProp.CoolProp import AbstractState
from fluids.fittings import contraction_sharp, diffuser_sharp
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

UNITS = {
    "mm": 1e-3, "m": 1.0, "bar": 1e5, "mbar abs": 100.0, "L/min": 1e-3 / 60, "mL": 1e-6, "L": 1e-3, "GPa": 1e9,
    "%": 0.01, "mL/m/bar": 1e-11, "/K": 1.0,
}
G = 9.80665
GAMMA = 1.4
R_AIR = 287.05


def si(written: str | float) -> float:
    """A number with its unit, in SI."""
    if not isinstance(written, str):
        return float(written)
    number, _, unit = written.partition(" ")
    if unit == "degC":
        return float(number) + 273.15
    return float(number) * (UNITS[unit] if unit else 1.0)


class Fluids:
    """Water and air at one temperature."""

    def __init__(self, temperature: float) -> None:
        self.temperature = temperature
        self.water = AbstractState("HEOS", "Water")
        self.air = AbstractState("HEOS", "Air")

    def rho_water(self, p_abs: float) -> float:
        self.water.update(CoolProp.PT_INPUTS, p_abs, self.temperature)
        return self.water.rhomass()

    def rho_air(self, p_abs: float) -> float:
        self.air.update(CoolProp.PT_INPUTS, p_abs, self.temperature)
        return self.air.rhomass()

    def mu_water(self, p_abs: float) -> float:
        self.water.update(CoolProp.PT_INPUTS, p_abs, self.temperature)
        return self.water.viscosity()


def make_tank(vessel: dict[str, Any]) -> fluids.TANK:
    diameter = si(vessel["diameter"])
    ends = {
        "flat": {},
        "hemispherical": {"kind": "spherical", "a": diameter / 2},
        "elliptical 2:1": {"kind": "ellipsoidal", "a": diameter / 4},
        "dished": {"kind": "torispherical", "f": 1.0, "k": 0.1},
    }[vessel["ends"]]
    options = {f"side{side}{'' if key == 'kind' else '_' + key}": value for side in "AB" for key, value in ends.items()}
    lying = vessel["shape"] == "lying cylinder"
    return fluids.TANK(D=diameter, L=si(vessel["length" if lying else "height"]), horizontal=lying, **options)


def friction_factor(reynolds: float, roughness: float) -> float:
    """Laminar, Colebrook, and a straight line in log-log where the flow is neither."""
    if reynolds <= 2040:
        return 64 / reynolds
    if reynolds >= 4000:
        return fluids.friction_factor(Re=reynolds, eD=roughness)
    low, high = 64 / 2040, fluids.friction_factor(Re=4000, eD=roughness)
    return exp(log(low) + log(high / low) * log(reynolds / 2040) / log(4000 / 2040))


class Line:
    """Tap and hoses: the flow that a back-pressure and a level leave."""

    def __init__(self, case: dict[str, Any], rho: float, mu: float) -> None:
        self.rho, self.mu = rho, mu
        tap = case["tap"]
        self.tap_pressure, self.tap_height = si(tap["pressure"]), si(tap["height"])
        self.k_tap = self.tap_pressure / si(tap["open_flow"]) ** 2
        self.hoses = [(si(h["length"]), si(h["bore"]), si(h["roughness"])) for h in case["fill"]["hose"]]
        self.k_fittings = 1e5 * (rho / 1000) * (3600 / si(case["fill"]["kv"])) ** 2
        for place, hose in enumerate(case["fill"]["hose"]):
            bore = si(hose["bore"])
            tails = [si(hose["tail_bore"])] if "tail_bore" in hose else []
            holes = tails + [si(hose["coupling_hole"])] * hose["couplings"] + tails
            last = place == len(case["fill"]["hose"]) - 1
            for number, hole in enumerate(holes):
                jet = last and number == len(holes) - 1
                k = contraction_sharp(bore, hole) + (1.0 if jet else diffuser_sharp(hole, bore))
                self.k_fittings += k * 0.5 * rho / (pi / 4 * hole**2) ** 2
            if last and not holes:
                self.k_fittings += 0.5 * rho / (pi / 4 * bore**2) ** 2

    def lost(self, flow: float) -> float:
        total = (self.k_tap + self.k_fittings) * flow**2
        for length, bore, roughness in self.hoses:
            speed = flow / (pi / 4 * bore**2)
            f = friction_factor(self.rho * speed * bore / self.mu, roughness / bore)
            total += f * length / bore * 0.5 * self.rho * speed**2
        return total

    def flow(self, air_gauge: float, level: float) -> float:
        driving = self.tap_pressure - self.rho * G * (level - self.tap_height) - air_gauge
        if driving <= 0:
            return 0.0
        return brentq(lambda q: self.lost(q) - driving, 1e-9, sqrt(driving / self.k_tap), xtol=1e-13)


def vent_flow(bore: float, coefficient: float, p_abs: float, p_atm: float, temperature: float) -> float:
    """Air through an orifice, kg/s; subsonic or choked."""
    if p_abs <= p_atm:
        return 0.0
    ratio = max(p_atm / p_abs, (2 / (GAMMA + 1)) ** (GAMMA / (GAMMA - 1)))
    flux = 2 * GAMMA / (GAMMA - 1) * (ratio ** (2 / GAMMA) - ratio ** ((GAMMA + 1) / GAMMA))
    return coefficient * pi / 4 * bore**2 * p_abs / sqrt(R_AIR * temperature) * sqrt(flux)


def fill(case: dict[str, Any], tank: fluids.TANK, medium: Fluids) -> dict[str, float]:
    p_atm, temperature = si(case["surroundings"]["pressure"]), medium.temperature
    line = Line(case, medium.rho_water(p_atm), medium.mu_water(p_atm))
    volume = tank.V_total
    end = volume * (1 - si(case["trapped_air"]["amount"]))
    bore, coefficient = si(case["vent"]["bore"]), si(case["vent"]["coefficient"])
    most = volume * (1 - 0.5 * si(case["trapped_air"]["amount"]))  # for trial steps past the end

    def rates(_: float, state: Any) -> list[float]:
        water, p_abs = min(max(float(state[0]), 0.0), most), float(state[1])
        level = tank.h_from_V(water) if water > 0 else 0.0
        flow = line.flow(p_abs - p_atm, level)
        vented = vent_flow(bore, coefficient, p_abs, p_atm, temperature)
        return [flow, (p_abs * flow - R_AIR * temperature * vented) / (volume - water)]

    def full(_: float, state: Any) -> float:
        return float(state[0]) - end

    full.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(rates, (0, 1e6), [0.0, p_atm], method="LSODA", events=full, rtol=1e-6, atol=[1e-7, 0.1])
    return {
        "fill_time_s": float(run.t[-1]), "fill_water_m3": end, "fill_water_kg": end * line.rho,
        "fill_flow_start_m3_s": line.flow(0.0, 0.0), "fill_flow_end_m3_s": rates(0.0, run.y[:, -1])[0],
        "air_peak_gauge_pa": float(run.y[1].max()) - p_atm,
    }


def stretch(vessel: dict[str, Any], volume: float) -> float:
    """Share of its volume that the vessel gains for each pascal: Lame with free closed ends, and flat ends."""
    young, poisson, diameter = si(vessel["young"]), si(vessel["poisson"]), si(vessel["diameter"])
    k = 1 + 2 * si(vessel["wall"]) / diameter
    share = (3 * (1 - 2 * poisson) + 2 * k**2 * (1 + poisson)) / (young * (k**2 - 1))
    if "end_wall" in vessel:
        share += 2 * pi * (diameter / 2) ** 6 * (1 - poisson**2) / (16 * young * si(vessel["end_wall"]) ** 3) / volume
    return share


class Pump:
    """Air-driven: filled through C, emptied through 2 C (ISO 6358), C from the flow against no pressure."""

    B = 0.3
    P0 = 1e5

    def __init__(self, pump: dict[str, Any], p_atm: float) -> None:
        self.ratio, self.p_atm = si(pump["ratio"]), p_atm
        self.supply = si(pump["drive_pressure"]) + p_atm
        self.friction = si(pump["friction"]) * si(pump["drive_pressure"])
        self.c = 1.0
        self.c = si(pump["flow_at_zero"]) / self.flow(0.0)
        self.stall = self.ratio * (self.supply - p_atm - self.friction)

    def phi(self, r: float) -> float:
        return 1.0 if r <= self.B else sqrt(max(1 - ((r - self.B) / (1 - self.B)) ** 2, 0.0))

    def flow(self, gauge: float) -> float:
        load = gauge / self.ratio + self.friction

        def unbalance(p_exhaust: float) -> float:
            drive = p_exhaust + load
            return (self.phi(drive / self.supply) * self.supply / drive
                    - 2 * self.phi(self.p_atm / p_exhaust))

        exhaust = brentq(unbalance, self.p_atm, self.supply - load, xtol=1e-3)
        return 2 * self.c * self.P0 * self.phi(self.p_atm / exhaust) / self.ratio


class Closed:
    """The full vessel and its test hose, shut in: the mass of water it holds at a pressure and a temperature."""

    def __init__(self, case: dict[str, Any], tank: fluids.TANK, medium: Fluids) -> None:
        self.medium, self.p_atm = medium, si(case["surroundings"]["pressure"])
        vessel, hose = case["vessel"], case["test_hose"]
        self.volume, self.temperature = tank.V_total, medium.temperature
        self.stretch, self.growth = stretch(vessel, tank.V_total), 3 * si(vessel["expansion"])
        self.hose = si(hose["length"]) * pi / 4 * si(hose["bore"]) ** 2
        self.hose_stretch = si(hose["stretch"]) * si(hose["length"])
        self.rho_0, self.air_0 = medium.rho_water(self.p_atm), medium.rho_air(self.p_atm)

    def mass(self, gauge: float, share_of_air: float, warmer: float = 0.0) -> float:
        p_abs, self.medium.temperature = gauge + self.p_atm, self.temperature + warmer
        air = share_of_air * self.volume * self.air_0 / self.medium.rho_air(p_abs)
        vessel = self.volume * (1 + self.stretch * gauge + self.growth * warmer) - air
        mass = self.medium.rho_water(p_abs) * (vessel + self.hose + self.hose_stretch * gauge)
        self.medium.temperature = self.temperature
        return mass

    def water(self, gauge: float, share_of_air: float) -> float:
        """Water to bring it there, measured at the pressure of the air outside."""
        return (self.mass(gauge, share_of_air) - self.mass(0.0, share_of_air)) / self.rho_0

    def give(self, gauge: float, share_of_air: float, step: float = 50.0) -> float:
        """Water for each pascal."""
        rise = self.mass(gauge + step, share_of_air) - self.mass(gauge - step, share_of_air)
        return rise / (2 * step * self.rho_0)


LADDER = (0.0, 0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.10)


def pump_up(case: dict[str, Any], closed: Closed) -> dict[str, float]:
    test, pump = si(case["test"]["pressure"]), Pump(case["pump"], closed.p_atm)
    own = si(case["trapped_air"]["amount"])

    def time(share: float) -> float:
        def slowness(p_log: float) -> float:
            p_abs = exp(p_log)
            gauge = p_abs - closed.p_atm
            return p_abs * closed.give(gauge, share) / pump.flow(gauge)

        return quad(slowness, log(closed.p_atm), log(closed.p_atm + test), epsrel=1e-6, limit=200)[0]

    answers = {
        "pump_water_m3": closed.water(test, own),
        "pump_water_no_air_m3": closed.water(test, 0.0),
        "stall_gauge_pa": pump.stall,
        "pump_time_s": time(own),
        "strokes": closed.water(test, own) / si(case["pump"]["stroke"]),
    }
    for share in LADDER:
        answers[f"ladder_{share:g}_water_m3"] = closed.water(test, share)
        answers[f"ladder_{share:g}_time_s"] = time(share)
    return answers


def hold(case: dict[str, Any], closed: Closed) -> dict[str, float]:
    test, own, step = si(case["test"]["pressure"]), si(case["trapped_air"]["amount"]), 0.01
    by_warmth = (closed.mass(test, own, step) - closed.mass(test, own, -step)) / (2 * step)
    return {"pressure_per_kelvin_pa": -by_warmth / (closed.give(test, own) * closed.rho_0)}


def release(case: dict[str, Any], closed: Closed) -> dict[str, float]:
    """Through a valve of known Kv down to no pressure; the square root at the end is taken out."""
    test, own, kv = si(case["test"]["pressure"]), si(case["trapped_air"]["amount"]), si(case["release"]["kv"])

    def slowness(root: float) -> float:
        flow = kv / 3600 * root / sqrt(1e5 * closed.rho_0 / 1000)
        return 2 * root * closed.give(root**2, own) / flow

    return {"release_time_s": quad(slowness, 1e-3, sqrt(test), epsrel=1e-6, limit=200)[0]}


def drain(case: dict[str, Any], tank: fluids.TANK, medium: Fluids) -> dict[str, float]:
    """From full, through a hose of the port's bore, while air is drawn in through the vent."""
    out, p_atm = case["drain"], si(case["surroundings"]["pressure"])
    rho, mu = medium.rho_water(p_atm), medium.mu_water(p_atm)
    bore, length, fall = si(out["bore"]), si(out["hose_length"]), si(out["fall"])
    port = 1 / si(out["coefficient"]) ** 2
    vent, coefficient = si(out["vent_bore"]), si(case["vent"]["coefficient"])

    def spare(flow: float, inside: float, level: float) -> float:
        speed = flow / (pi / 4 * bore**2)
        friction = friction_factor(max(rho * speed * bore / mu, 1e-9), 0.0015e-3 / bore) * length / bore
        return rho * G * (level + fall) - (p_atm - inside) - 0.5 * rho * speed**2 * (port + friction)

    def flow_and_inside(level: float) -> tuple[float, float]:
        def short(inside: float) -> float:
            air = vent_flow(vent, coefficient, p_atm, inside, medium.temperature)
            return spare(air * R_AIR * medium.temperature / inside, inside, level)

        inside = brentq(short, 0.3 * p_atm, p_atm - 1e-6, xtol=1e-6)
        air = vent_flow(vent, coefficient, p_atm, inside, medium.temperature)
        return air * R_AIR * medium.temperature / inside, inside

    def slowness(root: float) -> float:
        water = tank.V_total * root**2
        return 2 * tank.V_total * root / flow_and_inside(tank.h_from_V(water) if root < 1 else tank.h_max)[0]

    return {
        "drain_time_s": quad(slowness, 1e-4, 1.0, epsrel=1e-5, limit=200)[0],
        "drain_lowest_abs_pa": flow_and_inside(tank.h_max)[1],
    }


def answer(case: dict[str, Any]) -> dict[str, float]:
    tank = make_tank(case["vessel"])
    medium = Fluids(si(case["water"]["temperature"]))
    closed = Closed(case, tank, medium)
    return (fill(case, tank, medium) | pump_up(case, closed) | hold(case, closed) | release(case, closed)
            | drain(case, tank, medium))


def read(path: str) -> dict[str, Any]:
    with open(path, "rb") as file:
        return tomllib.load(file)


if __name__ == "__main__":
    print(json.dumps(answer(read(sys.argv[1])), indent=1))
