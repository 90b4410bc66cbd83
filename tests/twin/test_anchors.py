"""The twin against closed forms and printed figures, so that it is worth comparing with."""

from __future__ import annotations

from math import pi, sqrt

import pytest
from scipy.integrate import quad

from fillcalc.case import records
from tests.twin import properties as media
from tests.twin.closed import ClosedVessel
from tests.twin.drain import Draining
from tests.twin.inputs import Plate, Wall, thick_cylinder, thick_sphere
from tests.twin.line import friction
from tests.twin.pump import AirDriven
from tests.twin.shape import level_exact, shape_of

BAR = 1e5
ATMOSPHERE = 101325.0


def closed(volume: float, stretch: float, temperature: float, growth: float = 0.0) -> ClosedVessel:
    return ClosedVessel(volume, volume, Wall(stretch, growth), 0.0, 0.0, 0.0, ATMOSPHERE, temperature, 0.0, 0.0)


def test_water_to_pressure_of_a_pipe_and_a_sphere() -> None:
    """168.3 x 7.11 mm pipe of 100 m and a 1 m sphere of 10 mm, 20 degC, steel of 207 GPa and 0.30."""
    bore = 168.3e-3 - 2 * 7.11e-3
    volume = pi / 4 * bore**2 * 100
    free = closed(volume, thick_cylinder((bore, 7.11e-3), 207e9, 0.3, anchored=False), 293.15)
    held = closed(volume, thick_cylinder((bore, 7.11e-3), 207e9, 0.3, anchored=True), 293.15)
    ball = closed(pi / 6, thick_sphere(1.0, 10e-3, 207e9, 0.3), 293.15)
    assert free.water(0.0, 24 * BAR) == pytest.approx(2.531e-3, rel=3e-4)
    assert free.water(0.0, 100 * BAR) == pytest.approx(10.483e-3, rel=1e-4)
    assert held.water(0.0, 24 * BAR) == pytest.approx(2.513e-3, rel=3e-4)
    assert ball.water(0.0, 24 * BAR) == pytest.approx(0.8998e-3, rel=1e-4)


def test_lame_in_its_usual_form() -> None:
    inside, thickness, young, poisson = 0.2, 0.03, 200e9, 0.28
    k = (inside + 2 * thickness) / inside
    usual = (3 * (1 - 2 * poisson) + 2 * k**2 * (1 + poisson)) / (young * (k**2 - 1))
    fixed = 2 * (1 + poisson) * (1 - 2 * poisson + k**2) / (young * (k**2 - 1))
    ball = 3 * (k**3 * (1 + poisson) + 2 * (1 - 2 * poisson)) / (2 * young * (k**3 - 1))
    assert thick_cylinder((inside, thickness), young, poisson, anchored=False) == pytest.approx(usual, rel=1e-12)
    assert thick_cylinder((inside, thickness), young, poisson, anchored=True) == pytest.approx(fixed, rel=1e-12)
    assert thick_sphere(inside, thickness, young, poisson) == pytest.approx(ball, rel=1e-12)


def test_clamped_plate_by_integration() -> None:
    radius, thickness, young, poisson = 0.31, 0.03, 207e9, 0.3
    stiffness = young * thickness**3 / (12 * (1 - poisson**2))
    swept = quad(lambda r: (radius**2 - r**2) ** 2 / (64 * stiffness) * 2 * pi * r, 0, radius)[0]
    assert Plate(radius, thickness, young, poisson, 1.0).swept(1.0) == pytest.approx(swept, rel=1e-9)
    free = Plate(radius, thickness, young, poisson, 0.0)
    assert free.swept(1.0) / swept == pytest.approx(7.3 / 1.3, rel=1e-9)
    assert free.shape(0.0) * 64 * stiffness / radius**4 == pytest.approx(5.3 / 1.3, rel=1e-12)


@pytest.mark.parametrize(("celsius", "gauge", "free"),
                         [(10, 24, 1.01), (15, 24, 2.12), (20, 100, 3.38), (30, 100, 5.11)])
def test_pressure_for_each_kelvin_of_a_steel_pipe(celsius: float, gauge: float, free: float) -> None:
    """Printed to 0.01 bar/K with the thin wall at the mean diameter of 161.19 mm."""
    stretch = 161.19e-3 / (207e9 * 7.11e-3) * (5 / 4 - 0.3)
    vessel = closed(1.0, stretch, celsius + 273.15, 3 * 11.7e-6)
    assert vessel.pressure_per_kelvin(gauge * BAR) / BAR == pytest.approx(free, abs=0.006)


@pytest.mark.parametrize(("share", "litres", "exhaust"), [
    (0.0, 2.0, 5.310), (0.25, 2.0, 3.810), (0.5, 1.9649, 2.352), (0.75, 1.5423, 1.359), (0.9, 0.9534, 1.107),
    (0.99, 0.2933, 1.021)])
def test_pump_with_equal_conductances(share: float, litres: float, exhaust: float) -> None:
    """Ratio 60, supply 7.013 bar abs, C = C_e = 2 dm3/(s bar), no friction."""
    record = records.AirDrivenPump(ratio=60.0, drive_pressure=6 * BAR, stroke=1e-5, friction=0.0, flow_at_zero=3e-5,
                                   mid_curve=1.0)
    pump = AirDriven(record, 1.013 * BAR)
    pump.fill_conductance = pump.exhaust_conductance = 2e-8
    point = pump.at(share * 360 * BAR)
    assert point.flow * 60e3 == pytest.approx(litres, rel=5e-4)
    assert (point.chamber_abs - share * 6 * BAR) / BAR == pytest.approx(exhaust, abs=6e-4)


def test_one_point_and_two_points_come_back() -> None:
    plain = {"ratio": 10.0, "drive_pressure": 5 * BAR, "stroke": 6e-5, "friction": 0.05, "mid_curve": 1.0}
    first = AirDriven(records.AirDrivenPump(flow_at_zero=7e-5, **plain), ATMOSPHERE)
    assert first.at(0.0).flow == pytest.approx(7e-5, rel=1e-10)
    seen = tuple((p, first.at(p).flow) for p in (0.0, 30 * BAR))
    again = AirDriven(records.AirDrivenPump(points=seen, **plain), ATMOSPHERE)
    assert again.residual < 1e-9
    assert again.exhaust_conductance / again.fill_conductance == pytest.approx(2.0, rel=1e-6)


def test_prism_drains_like_torricelli() -> None:
    """4 m tank, 0.5 m hole, coefficient 0.6, from 5 m to nothing: 107.695 s; the vent is no hindrance."""
    job = Draining(0.5, 0.6, 0.0, 0.0, 50.0, 999.0, 1e-3, ATMOSPHERE, 288.15)
    area = pi / 4 * 16
    time = quad(lambda root: area * 2 * root / job.at(root**2)[0], 0.0, sqrt(5.0), epsrel=1e-9)[0]
    assert time * sqrt(media.GRAVITY / 9.81) == pytest.approx(107.695, rel=2e-5)


def test_friction_is_one_curve() -> None:
    assert friction(500.0, 1e-4) == pytest.approx(0.128, rel=1e-12)
    assert friction(4000.0, 1e-4) == pytest.approx(0.040008, rel=2e-5)
    assert friction(1e5, 1e-4) == pytest.approx(0.018514, rel=3e-5)
    assert friction(2040.0, 0.0) == pytest.approx(friction(2040.0001, 0.0), rel=1e-6)


def test_choked_and_subsonic_vent() -> None:
    area = 1e-6
    choked = 0.0404149 * area * 4e5 / sqrt(288.15)
    assert media.orifice_mass_flow(area, 4e5, 4e5 - ATMOSPHERE, 288.15) == pytest.approx(choked, rel=2e-4)
    small = area * sqrt(2 * 10.0 * ATMOSPHERE / (media.GAS_CONSTANT_AIR * 288.15))
    assert media.orifice_mass_flow(area, ATMOSPHERE + 10, 10.0, 288.15) == pytest.approx(small, rel=2e-4)


def test_dished_volume_and_level_table() -> None:
    """A head of R = D, r = 0.1 D holds 0.1 D^3 nearly (DIN 28011); the table of levels follows the root finder."""
    both = shape_of(records.LyingCylinder(diameter=1.0, length=2.0, ends="dished"))
    assert (both.gross_volume - pi / 4 * 2) / 2 == pytest.approx(0.1, rel=0.02)
    for share in (1e-5, 0.02, 0.37, 0.81, 0.9999):
        assert both.level_at(share) == pytest.approx(level_exact(both, share), abs=2e-9)
