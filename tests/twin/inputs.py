"""A case turned into the plain numbers that the twin works from: alternatives resolved, defaults looked up."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import fluids
from scipy.integrate import quad
from scipy.optimize import brentq

from fillcalc.case import records

KV_OF_CV = 0.864978
KV_THROUGH_PUMP = 0.3
WALL_SHARE = {"pipe run": 0.0002, "valve body": 0.0}
WALL_SHARE_ELSE = 0.0010
DEFAULT_FRICTION = (0.03, 0.05, 0.10)
DN_OF_NPS = {15: 0.5, 20: 0.75, 25: 1, 32: 1.25, 40: 1.5, 50: 2, 65: 2.5, 80: 3, 100: 4, 125: 5, 150: 6, 200: 8,
             250: 10, 300: 12, 350: 14, 400: 16, 450: 18, 500: 20, 600: 24}
YOUNG, POISSON, EXPANSION = 207e9, 0.30, 11.7e-6
"""Carbon steel; other metals are given to the twin as numbers."""


@dataclass(frozen=True)
class Wall:
    stretch_per_pa: float
    """Growth of the gross volume for each Pa."""
    growth_per_kelvin: float
    """Growth of the volume for each K."""


@dataclass(frozen=True)
class Numbers:
    """What the twin needs beside the records themselves; SI."""

    atmosphere_abs: float
    air_temperature: float
    water_temperature: float
    gross_volume: float
    volume: float
    bore: float
    """Of the shell or the pipe; nan for prisms."""
    wall: Wall
    trapped_air: float | None
    """At the atmosphere; None when the vent's height decides."""
    test_gauge: float
    kvs: tuple[float, ...]
    """Valves in the fill line."""


def numbers(case: records.Case, volumes: tuple[float, float]) -> Numbers:
    """Resolve a case; `volumes` are gross and net."""
    gross, net = volumes
    here = case.surroundings
    pressure = here.pressure
    atmosphere = float(pressure) if pressure is not None else fluids.ATMOSPHERE_1976(float(here.altitude or 0.0)).P
    test = test_pressure(case)
    return Numbers(
        atmosphere_abs=atmosphere,
        air_temperature=value(here.temperature, 288.15),
        water_temperature=value(case.water.temperature, 288.15),
        gross_volume=gross,
        volume=net,
        bore=bore(case.vessel),
        wall=wall(case, test, gross),
        trapped_air=trapped_air(case, net),
        test_gauge=test,
        kvs=line_valves(case.fill),
    )


def value(leaf: object, default: float) -> float:
    return default if leaf is None else float(leaf)  # type: ignore[arg-type]


def test_pressure(case: records.Case) -> float:
    if case.test.pressure is not None:
        return float(case.test.pressure)
    return float(case.test.factor_on_design) * float(case.vessel.design)


test_pressure.__test__ = False  # type: ignore[attr-defined]


def pipe(vessel: records.PipeRun) -> tuple[float, float | None]:
    """Inside diameter and wall thickness (None when a diameter was given)."""
    if vessel.diameter is not None:
        return float(vessel.diameter), None
    size = vessel.size.strip().upper()
    nominal = DN_OF_NPS[int(size.removeprefix("DN"))] if size.startswith("DN") else float(size.removeprefix("NPS"))
    _, inside, _, thickness = fluids.nearest_pipe(NPS=nominal, schedule=str(vessel.schedule))
    return float(inside), float(thickness)


def bore(vessel: records.Vessel) -> float:
    if isinstance(vessel, records.PipeRun):
        return pipe(vessel)[0]
    return value(getattr(vessel, "diameter", None), float("nan"))


def line_valves(fill: records.FillLine) -> tuple[float, ...]:
    kvs = []
    if fill.kv is not None:
        kvs.append(float(fill.kv))
    elif fill.cv is not None:
        kvs.append(KV_OF_CV * float(fill.cv))
    if fill.through_pump:
        kvs.append(KV_THROUGH_PUMP)
    return tuple(kvs)


def trapped_air(case: records.Case, net: float) -> float | None:
    amount = case.trapped_air.amount
    if amount is None:
        return None
    if case.families.get("trapped_air.amount", "share") == "volume":
        return float(amount)
    return float(amount) * net


def wall(case: records.Case, test: float, gross: float) -> Wall:
    """Lamé's thick wall, a share of the volume at test pressure, or none."""
    vessel = case.vessel
    young = value(vessel.young, YOUNG)
    poisson = value(vessel.poisson, POISSON)
    linear = value(vessel.expansion, EXPANSION)
    anchored = bool(vessel.anchored)
    growth = 2 * (1 + poisson) * linear if anchored else 3 * linear
    given = vessel.wall
    if given == "rigid":
        return Wall(0.0, growth)
    thickness = None
    if given is not None and case.families.get("vessel.wall") == "share":
        assumed = any(note.path == "vessel.wall" for note in case.assumptions)
        at = max(1.5 * float(vessel.design), test) if assumed and vessel.design is not None else test
        return Wall(float(given) / at, growth)
    if given is not None:
        thickness = float(given)
    elif isinstance(vessel, records.PipeRun):
        thickness = pipe(vessel)[1]
    if thickness is None:
        share = WALL_SHARE.get(vessel.shape, WALL_SHARE_ELSE)
        reference = max(1.5 * float(vessel.design), test) if vessel.design is not None else test
        return Wall(share / reference, growth)
    inside = bore(vessel)
    if isinstance(vessel, records.Sphere):
        stretch = thick_sphere(inside, thickness, young, poisson)
    else:
        stretch = thick_cylinder((inside, thickness), young, poisson, anchored)
    if getattr(vessel, "ends", None) == "hemispherical":
        ends = pi / 6 * inside**3 / gross
        stretch = (1 - ends) * stretch + ends * thick_sphere(inside, thickness, young, poisson)
    if getattr(vessel, "ends", None) == "flat" and not isinstance(getattr(vessel, "end_wall", None), str | None):
        plate = Plate(inside / 2, float(vessel.end_wall), young, poisson, value(vessel.end_fixity, 1.0))  # type: ignore[attr-defined]
        stretch += 2 * plate.swept(test) / test / gross
    return Wall(stretch, growth)


def thick_cylinder(size: tuple[float, float], young: float, poisson: float, anchored: bool) -> float:
    """1/Pa; Lamé's displacements at the bore, the axial strain from closed ends or none at all."""
    inside, thickness = size
    inner, outer = inside / 2, inside / 2 + thickness
    a = inner**2 / (outer**2 - inner**2)
    hoop, radial = a * (1 + (outer / inner) ** 2), -1.0
    axial = poisson * (hoop + radial) if anchored else a
    hoop_strain = (hoop - poisson * (radial + axial)) / young
    axial_strain = (axial - poisson * (hoop + radial)) / young
    return 2 * hoop_strain + axial_strain


def thick_sphere(inside: float, thickness: float, young: float, poisson: float) -> float:
    """1/Pa."""
    inner, outer = inside / 2, inside / 2 + thickness
    a = inner**3 / (outer**3 - inner**3)
    hoop, radial = a * (1 + outer**3 / (2 * inner**3)), -1.0
    return 3 * ((1 - poisson) * hoop - poisson * radial) / young


@dataclass(frozen=True)
class Plate:
    """A round plate under a uniform load; `held` is the part of the clamping moment at its rim."""

    radius: float
    thickness: float
    young: float
    poisson: float
    held: float

    def shape(self, r: float) -> float:
        """Deflection for each Pa while it is small, m: a moment at the rim taken off a simply supported plate."""
        a, nu = self.radius, self.poisson
        stiffness = self.young * self.thickness**3 / (12 * (1 - nu**2))
        simple = (a**2 - r**2) * ((5 + nu) / (1 + nu) * a**2 - r**2) / (64 * stiffness)
        rim = self.held * a**2 / 8
        return simple - rim * (a**2 - r**2) / (2 * stiffness * (1 + nu))

    def swept(self, pressure: float) -> float:
        """m3 at a pressure: the small deflection's shape, as high as the membrane lets its middle go."""
        small = self.shape(0.0) * pressure / self.thickness
        membrane = 0.146 * self.held + 0.262 * (1 - self.held)
        middle = brentq(lambda x: x + membrane * x**3 - small, 0.0, small + 1e-12, xtol=1e-15)
        volume = quad(lambda r: 2 * pi * r * self.shape(r) * pressure, 0.0, self.radius, epsrel=1e-11)[0]
        return float(volume * middle / small)
