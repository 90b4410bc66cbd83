"""The trapped air after the pump has stopped: it cools, it dissolves; bounds of both, by its own shape."""

from __future__ import annotations

from math import exp, pi, sqrt

from scipy.optimize import brentq

from fillcalc.case import records
from tests.twin import inputs
from tests.twin import properties as media
from tests.twin.closed import ClosedVessel
from tests.twin.inputs import value
from tests.twin.shape import Shape


def air_at_top(case: records.Case, closed: ClosedVessel, shape: Shape, pressures: tuple[float, float],
               pumping: float) -> dict[str, float]:
    """Falls of the shut-in pressure by a pocket that cools and one that goes into solution, Pa."""
    start, test = pressures
    if closed.air == 0.0:
        return {"settle.drop_air_pa": 0.0, "settle.drop_air_left_pa": 0.0, "hold.solution_pa": 0.0}
    thickness, surface = _lies(case, shape, closed.air_space(test))
    diffusivity = 2e-5 * 101325.0 / closed.air_abs(test)
    time = max(thickness**2 / (pi**2 * diffusivity), 1e-9)
    squeezed = closed.air_space(start) * (closed.air_abs(start) / closed.air_abs(test)) ** (1 / media.GAMMA)
    warm = max(squeezed - closed.air_space(test), 0.0) * time / (time + pumping)
    later = exp(-min(value(case.labour.each.settle, 0.0) / time, 600.0))
    hold = value(case.test.hold, 600.0)
    lost = 2 * surface * _taken_up(closed.temperature) * sqrt(1.6e-9 * hold / pi)
    return {"settle.drop_air_pa": closed.fall_of_shrunk_air(test, warm),
            "settle.drop_air_left_pa": closed.fall_of_shrunk_air(test, warm * later),
            "hold.solution_pa": closed.fall_of_shrunk_air(test, min(lost, closed.air_space(test)))}


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
