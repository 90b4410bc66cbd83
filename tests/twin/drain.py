"""Draining by gravity, the air coming in against its own suction; quasi-steady, level by level."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from scipy.integrate import quad
from scipy.optimize import brentq

from fillcalc.case import records
from tests.twin.inputs import Numbers, value
from tests.twin.line import HOSE_ROUGHNESS, friction
from tests.twin.properties import (
    GAS_CONSTANT_AIR,
    GRAVITY,
    circle,
    orifice_mass_flow,
    water_density,
    water_viscosity,
)
from tests.twin.shape import Shape

LAST_HEAD = 1e-3
"""m; through a hose the flow dies with the head, and the last millimetre takes for ever."""
NOTHING = 1e-12
"""m; a head that no figure shows."""
PANELS = 24
NAN = float("nan")


@dataclass(frozen=True)
class Draining:
    bore: float
    coefficient: float
    hose_length: float
    fall: float
    vent_area: float
    density: float
    viscosity: float
    atmosphere_abs: float
    air_temperature: float

    def out(self, driving: float) -> float:
        """Water, m3/s, under a driving pressure."""
        if driving <= 0:
            return 0.0
        area = circle(self.bore)

        def short(speed: float) -> float:
            if speed == 0.0:
                return -driving
            losses = 1 / self.coefficient**2
            if self.hose_length > 0:
                reynolds = self.density * speed * self.bore / self.viscosity
                losses += friction(reynolds, HOSE_ROUGHNESS / self.bore) * self.hose_length / self.bore
            return losses * self.density * speed**2 / 2 - driving

        free = (2 * driving / self.density) ** 0.5
        return float(brentq(short, 0.0, free, xtol=1e-300, rtol=1e-14)) * area

    def air_in(self, suction: float) -> float:
        """m3/s at the pressure inside."""
        mass = orifice_mass_flow(self.vent_area, self.atmosphere_abs, suction, self.air_temperature)
        return mass * GAS_CONSTANT_AIR * self.air_temperature / (self.atmosphere_abs - suction)

    def at(self, level: float) -> tuple[float, float]:
        """Flow and the pressure inside, absolute, at a level."""
        head = self.density * GRAVITY * (level + self.fall)
        most = min(head, self.atmosphere_abs - 1.0)

        def excess(root: float) -> float:
            """Air in less water out, against the root of the suction, which is nearly straight."""
            return self.air_in(root**2) - self.out(head - root**2)

        root = float(brentq(excess, 0.0, most**0.5, xtol=1e-300, rtol=1e-15))
        return self.air_in(root**2), self.atmosphere_abs - root**2


def drain(case: records.Case, given: Numbers, shape: Shape) -> dict[str, float]:
    port = case.drain
    vent = case.drain.vent_bore if case.drain.vent_bore is not None else case.vent.bore
    job = Draining(
        bore=float(case.drain.bore),
        coefficient=value(port.coefficient, 0.6),
        hose_length=value(port.hose_length, 0.0),
        fall=value(port.fall, 0.0),
        vent_area=value(case.vent.coefficient, 0.6) * circle(value(vent, 8e-3)),
        density=water_density(given.atmosphere_abs, given.water_temperature),
        viscosity=water_viscosity(given.atmosphere_abs, given.water_temperature),
        atmosphere_abs=given.atmosphere_abs,
        air_temperature=given.air_temperature,
    )
    if shape.height + job.fall <= 0:
        return {"time_s": NAN, "lowest_abs_pa": NAN}

    def seconds(root: float) -> float:
        """Share left = root^4, so that the last of a round bottom is smooth."""
        level = shape.level_at(root**4)
        if level + job.fall < NOTHING:
            return 0.0
        flow, _ = job.at(level)
        return given.volume * 4 * root**3 / flow

    last = max(LAST_HEAD - job.fall, 0.0) if job.hose_length > 0 else 0.0
    if last == 0.0:
        left = 0.0
    else:
        left = shape.volume_at(last) / shape.gross_volume if last < shape.height else 1.0
    edges = [left**0.25 + (1 - left**0.25) * (place / PANELS) for place in range(PANELS + 1)]
    time = sum(quad(seconds, a, b, epsabs=0.0, epsrel=1e-9, limit=200)[0] for a, b in pairwise(edges))
    return {"time_s": float(time), "lowest_abs_pa": job.at(shape.height)[1]}
