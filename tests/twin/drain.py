"""Draining by gravity, the air coming in against its own suction; quasi-steady, level by level."""

from __future__ import annotations

from dataclasses import dataclass

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

AS_FILL = 1.3
LAST_HEAD = 1e-3
"""m; through a hose the flow dies with the head, and the last millimetre takes for ever."""
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
        return float(brentq(short, 0.0, free, xtol=1e-16, rtol=1e-14)) * area

    def air_in(self, inside_abs: float) -> float:
        """m3/s at the pressure inside."""
        mass = orifice_mass_flow(self.vent_area, self.atmosphere_abs, inside_abs, self.air_temperature)
        return mass * GAS_CONSTANT_AIR * self.air_temperature / inside_abs

    def bare_of_suction(self, head: float) -> bool:
        """Whether the head is lost in the last digits of the air's pressure."""
        return head < 1e-3

    def at(self, level: float) -> tuple[float, float]:
        """Flow and the pressure inside, absolute, at a level."""
        head = self.density * GRAVITY * (level + self.fall)
        if self.bare_of_suction(head):
            return self.out(head), self.atmosphere_abs
        lowest = max(self.atmosphere_abs - head, 1.0)

        def excess(inside: float) -> float:
            return self.air_in(inside) - self.out(head - (self.atmosphere_abs - inside))

        inside = float(brentq(excess, lowest, self.atmosphere_abs, xtol=1e-10, rtol=1e-15))
        return self.out(head - (self.atmosphere_abs - inside)), inside


def drain(case: records.Case, given: Numbers, shape: Shape, fill_time: float) -> dict[str, float]:
    if case.drain.bore is None:
        return {"time_s": AS_FILL * fill_time}
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
        flow, _ = job.at(shape.level_at(root**4))
        return given.volume * 4 * root**3 / flow

    last = max(LAST_HEAD - job.fall, 0.0) if job.hose_length > 0 else 0.0
    left = shape.volume_at(last) / shape.gross_volume if last < shape.height else 1.0
    time = quad(seconds, left**0.25, 1.0, epsabs=0.0, epsrel=1e-8, limit=200)[0]
    return {"time_s": float(time), "lowest_abs_pa": job.at(shape.height)[1]}
