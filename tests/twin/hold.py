"""The trapped air after the pump has stopped: it cools, it dissolves; bounds of both, by its own shape."""

from __future__ import annotations

from math import exp, pi, sqrt

from scipy.integrate import quad
from scipy.optimize import brentq

from fillcalc.case import records
from tests.twin import inputs
from tests.twin import properties as media
from tests.twin.closed import ClosedVessel
from tests.twin.inputs import value
from tests.twin.shape import Shape

GONE = 200.0
"""Powers of e of warmth after which nothing is left."""


def air_at_top(case: records.Case, closed: ClosedVessel, shape: Shape, pressures: tuple[float, float],
               pumping: float) -> dict[str, float]:
    """Falls of the shut-in pressure by a pocket that cools and one that goes into solution, Pa."""
    start, test = pressures
    if closed.air == 0.0:
        return {"settle.drop_air_pa": 0.0, "settle.drop_air_left_pa": 0.0, "hold.solution_pa": 0.0}
    thickness, surface = _lies(case, shape, closed.air_space(test))
    squeezed = closed.air_space(start) * (closed.air_abs(start) / closed.air_abs(test)) ** (1 / media.GAMMA)
    whole = max(squeezed / closed.air_space(test) - 1, 0.0) * closed.temperature
    loses = _Loses(max(thickness, 1e-7), closed.air_abs(test), closed.temperature)
    warm = loses.at_stop(whole, pumping)
    left = loses.later(warm, value(case.labour.each.settle, 0.0))
    per_kelvin = closed.air_space(test) / closed.temperature
    hold = value(case.test.hold, 600.0)
    lost = 2 * surface * _taken_up(closed.temperature) * sqrt(1.6e-9 * hold / pi)
    return {"settle.drop_air_pa": closed.fall_of_shrunk_air(test, warm * per_kelvin),
            "settle.drop_air_left_pa": closed.fall_of_shrunk_air(test, left * per_kelvin),
            "hold.solution_pa": closed.fall_of_shrunk_air(test, min(lost, closed.air_space(test)))}


class _Loses:
    """How fast a layer of squeezed air loses its warmth: by its own conduction, and by convection under its top."""

    def __init__(self, thickness: float, pressure: float, temperature: float) -> None:
        density = pressure / (287.05 * temperature)
        spread, viscous = 2e-5 * 101325.0 / pressure, 1.5e-5 * 101325.0 / pressure
        heat = density * 1005.0
        self.still = pi**2 * spread / thickness**2
        self.top = temperature, spread, viscous, heat * spread
        self.layer = heat * thickness

    def rate(self, warm: float) -> float:
        """K/s lost at so many kelvin: Nu = 0.13 Ra^(1/3) at the top, whatever the size."""
        temperature, spread, viscous, conductivity = self.top
        film = 0.13 * conductivity * (media.GRAVITY * warm / (temperature * viscous * spread)) ** (1 / 3)
        return self.still * warm + film * warm / self.layer

    def at_stop(self, whole: float, pumping: float) -> float:
        if whole <= 0.0:
            return 0.0
        return float(brentq(lambda warm: warm + pumping * self.rate(warm) - whole, 0.0, whole, xtol=1e-300, rtol=1e-13))

    def later(self, warm: float, wait: float) -> float:
        """By steps along the logarithm of the warmth, each a time."""
        if warm <= 0.0:
            return 0.0

        def waited(part: float) -> float:
            return float(quad(lambda log: exp(log) * warm / self.rate(exp(log) * warm), part, 0.0, epsabs=0.0,
                              epsrel=1e-10, limit=200)[0])

        if waited(-GONE) <= wait:
            return 0.0
        return warm * exp(float(brentq(lambda part: waited(part) - wait, -GONE, 0.0, xtol=1e-12)))


def _lies(case: records.Case, shape: Shape, air: float) -> tuple[float, float]:
    """Thickness and surface of the air at the top; the shapes are the same upside down."""
    vessel = case.vessel
    if isinstance(vessel, records.PipeRun):
        bore, run = inputs.bore(vessel), float(vessel.length)
        rise = float(vessel.rise or 0.0)
        level = bore * run
        return min(air ** (1 / 3), bore), min(pi / 4 * bore**2 * run / rise, level) if rise else level
    if isinstance(vessel, records.ValveBody | records.OtherVessel):
        tall = float(vessel.height or 0.0)
        return air ** (1 / 3), shape.gross_volume / tall if tall else shape.gross_volume ** (2 / 3)
    depth = float(brentq(lambda h: shape.volume_at(h) - air, 0.0, shape.height, xtol=1e-15))
    step = 1e-4 * depth
    surface = (shape.volume_at(depth + step) - shape.volume_at(depth - step)) / (2 * step)
    return min(depth, air ** (1 / 3)), surface


def _taken_up(temperature: float) -> float:
    """m3 of air that a m3 of water takes up, at the air's own pressure; Henry's law for the two gases."""
    def henry(at_25: float, by: float) -> float:
        return at_25 * 1000 / 101325 * exp(by * (1 / temperature - 1 / 298.15))

    return (0.79 * henry(6.1e-4, 1300) + 0.21 * henry(1.3e-3, 1500)) * 8.314462618 * temperature
