"""Water and air held against CoolProp, against iapws, against the release tables and against themselves."""

from __future__ import annotations

import math
import subprocess
import sys
from pathlib import Path

import CoolProp
import fluids
import iapws
import numpy as np
import pytest

from fillcalc.job import build_points, points
from fillcalc.properties import build, media
from tests.families import thorough

WATER_T = np.linspace(*media.WATER_TEMPERATURES, 61)
WATER_P = np.concatenate([[2e3, 2e4, *np.linspace(4e4, 5e4, 5), 1e5, 101325.0],
                          np.linspace(2e5, media.WATER_PRESSURES[1], 151)])
AIR_T = np.linspace(*media.AIR_TEMPERATURES, 46)
AIR_P = np.concatenate([np.geomspace(1e2, 1e5, 10), np.linspace(2e5, media.AIR_PRESSURES[1], 300)])


def coolprop(fluid: str, phase: int, temperatures: np.ndarray, pressures: np.ndarray) -> dict[str, np.ndarray]:
    """What CoolProp says on the grid, pressures on the first axis."""
    state = CoolProp.AbstractState("HEOS", fluid)
    state.specify_phase(phase)
    rows = []
    for p in pressures:
        for t in temperatures:
            state.update(CoolProp.PT_INPUTS, p, t)
            rows.append((
                state.rhomass(),
                state.first_partial_deriv(CoolProp.iDmass, CoolProp.iP, CoolProp.iT),
                state.first_partial_deriv(CoolProp.iDmass, CoolProp.iT, CoolProp.iP),
                state.cpmass(),
                state.viscosity(),
            ))
    grid = np.array(rows).T.reshape(5, pressures.size, temperatures.size)
    assert np.isfinite(grid).all()
    return dict(zip(("density", "by_pressure", "by_temperature", "heat_capacity", "viscosity"), grid, strict=True))


@pytest.fixture(scope="module")
def real_water() -> dict[str, np.ndarray]:
    return coolprop("Water", CoolProp.iphase_liquid, WATER_T, WATER_P)


@pytest.fixture(scope="module")
def real_air() -> dict[str, np.ndarray]:
    return coolprop("Air", CoolProp.iphase_gas, AIR_T, AIR_P)


# --- against CoolProp -------------------------------------------------------------------------

def test_water_density(real_water: dict[str, np.ndarray]) -> None:
    water, p = media.water(WATER_T), WATER_P[:, None]
    np.testing.assert_allclose(water.density(p), real_water["density"], rtol=1e-8)
    density, slope = water.density_slope(p)
    np.testing.assert_allclose(density, real_water["density"], rtol=1e-8)
    np.testing.assert_allclose(slope, real_water["by_pressure"], rtol=6e-6)


def test_water_expansion(real_water: dict[str, np.ndarray]) -> None:
    water, p = media.water(WATER_T), WATER_P[:, None]
    density = real_water["density"]
    np.testing.assert_allclose(water.density_temperature_slope(p), real_water["by_temperature"], atol=1.4e-5, rtol=0)
    np.testing.assert_allclose(water.expansion(p), -real_water["by_temperature"] / density, atol=1.4e-8, rtol=0)


def test_water_heat_capacity_and_viscosity(real_water: dict[str, np.ndarray]) -> None:
    water, p = media.water(WATER_T), WATER_P[:, None]
    np.testing.assert_allclose(water.heat_capacity(p), real_water["heat_capacity"], rtol=1e-6)
    np.testing.assert_allclose(water.viscosity(p), real_water["viscosity"], rtol=1e-6)


def test_air_density(real_air: dict[str, np.ndarray]) -> None:
    air, p = media.air(AIR_T), AIR_P[:, None]
    factor = p / (real_air["density"] * media.AIR_GAS_CONSTANT * AIR_T)
    np.testing.assert_allclose(air.compressibility_factor(p), factor, rtol=1e-6)
    np.testing.assert_allclose(air.density(p), real_air["density"], rtol=1e-6)
    density, slope = air.density_slope(p)
    np.testing.assert_allclose(density, real_air["density"], rtol=1e-6)
    np.testing.assert_allclose(slope, real_air["by_pressure"], rtol=2e-4)


def test_air_expansion(real_air: dict[str, np.ndarray]) -> None:
    real = -real_air["by_temperature"] / real_air["density"]
    np.testing.assert_allclose(media.air(AIR_T).expansion(AIR_P[:, None]), real, rtol=2e-4)
    assert media.air(288.15).expansion(0.0) == pytest.approx(1.0 / 288.15, rel=1e-15)


def test_air_gas_constant_is_that_of_the_equation_of_state() -> None:
    state = CoolProp.AbstractState("HEOS", "Air")
    assert pytest.approx(state.gas_constant() / state.molar_mass(), rel=1e-12) == media.AIR_GAS_CONSTANT


# --- against others ---------------------------------------------------------------------------

@pytest.mark.parametrize(("p_mpa", "density"), [(0.0992418352, 996.5560), (20.0022515, 1005.308)])
def test_release_table_of_iapws_95(p_mpa: float, density: float) -> None:
    """IAPWS R6-95(2016), Table 7, 300 K."""
    assert media.water(300.0).density(p_mpa * 1e6) == pytest.approx(density, rel=1e-8)


@pytest.mark.parametrize(("p_mpa", "volume", "heat"), [
    (3, 0.00100215168, 4173.01218),
    (80, 0.000971180894, 4010.08987),
])
def test_release_table_of_if97(p_mpa: float, volume: float, heat: float) -> None:
    """IAPWS R7-97, Table 5, region 1, 300 K; the two formulations differ by up to 1e-5 in density, 2e-3 in heat."""
    water = media.water(300.0)
    assert water.density(p_mpa * 1e6) == pytest.approx(1.0 / volume, rel=1e-5)
    assert water.heat_capacity(p_mpa * 1e6) == pytest.approx(heat, rel=2e-3)


@pytest.mark.parametrize("celsius", [5.0, 20.0, 60.0])
@pytest.mark.parametrize("bar", [1.01325, 100.0, 1000.0])
def test_iapws_library(celsius: float, bar: float) -> None:
    other = iapws.IAPWS95(T=celsius + 273.15, P=bar / 10)
    water = media.water(celsius + 273.15)
    assert water.density(bar * 1e5) == pytest.approx(other.rho, rel=1e-8)
    assert water.expansion(bar * 1e5) == pytest.approx(other.alfav, abs=2e-8)
    density, slope = water.density_slope(bar * 1e5)
    assert slope / density == pytest.approx(other.kappa * 1e-6, rel=1e-5)
    assert water.heat_capacity(bar * 1e5) == pytest.approx(other.cp * 1e3, rel=1e-5)
    assert water.viscosity(bar * 1e5) == pytest.approx(other.mu, rel=1e-5)


@pytest.mark.parametrize("celsius", [0.01, 10.0, 20.0, 30.0])
def test_compressibility_of_kell(celsius: float) -> None:
    """Kell, J. Chem. Eng. Data 20 (1975) 97, 1 atm, 1e-6/bar; agrees with IAPWS-95 within 0.002."""
    t = celsius
    terms = (50.88496, 0.6163813, 1.459187e-3, 20.08438e-6, -58.47727e-9, 410.4110e-12)
    kell = sum(a * t**k for k, a in enumerate(terms)) / (1 + 19.67348e-3 * t)
    density, slope = media.water(t + 273.15).density_slope(media.STANDARD_ATMOSPHERE)
    assert slope / density * 1e11 == pytest.approx(kell, abs=0.002)


@pytest.mark.parametrize(("bar", "factor"), [(1, 0.9999), (10, 0.9974), (100, 0.9930), (200, 1.0326), (300, 1.1089),
                                             (400, 1.2073), (500, 1.3163)])
def test_air_of_the_handbook(bar: float, factor: float) -> None:
    """Perry's Chemical Engineers' Handbook, compressibility factors of air at 300 K; 0.06 % apart."""
    assert media.air(300.0).compressibility_factor(bar * 1e5) == pytest.approx(factor, rel=7e-4)


@pytest.mark.parametrize("altitude", [-430.0, 0.0, 850.0, 3000.0, 6000.0])
def test_standard_atmosphere(altitude: float) -> None:
    assert media.atmosphere(altitude) == pytest.approx(fluids.ATMOSPHERE_1976(altitude).P, rel=1e-6)


# --- limits, and the tables against themselves ------------------------------------------------

def test_water_expands_on_cooling_below_four_degrees() -> None:
    assert media.water(276.15).expansion(101325.0) < 0 < media.water(278.15).expansion(101325.0)


def test_air_is_ideal_at_no_pressure() -> None:
    air = media.air(288.15)
    density, slope = air.density_slope(0.0)
    assert air.compressibility_factor(0.0) == 1.0
    assert density == 0.0
    assert slope == pytest.approx(1.0 / (media.AIR_GAS_CONSTANT * 288.15), rel=1e-15)


@pytest.mark.parametrize("substance", [media.water, media.air])
@pytest.mark.parametrize("bar", [3.0, 50.0, 600.0, 2400.0])
def test_slope_by_pressure_is_the_slope(substance: type, bar: float) -> None:
    at, p, step = substance(np.array([278.0, 291.5, 330.0])), bar * 1e5, bar * 1e2
    rise = at.density(p - 2 * step) - 8 * at.density(p - step) + 8 * at.density(p + step) - at.density(p + 2 * step)
    np.testing.assert_allclose(at.density_slope(p)[1], rise / (12 * step), rtol=3e-6 if bar < 10 else 1e-7)


@pytest.mark.parametrize("bar", [1.0, 50.0, 2400.0])
def test_slope_by_temperature_is_the_slope(bar: float) -> None:
    t, step, p = np.array([275.0, 291.5, 330.0]), 0.05, bar * 1e5
    rise = (media.water(t - 2 * step).density(p) - 8 * media.water(t - step).density(p)
            + 8 * media.water(t + step).density(p) - media.water(t + 2 * step).density(p))
    np.testing.assert_allclose(media.water(t).density_temperature_slope(p), rise / (12 * step), atol=1e-9)


def test_outside_the_range_stands_the_nearest_end() -> None:
    water, high = media.water(288.15), media.WATER_PRESSURES[1]
    assert water.density(-0.1e5) == water.density(0.0)
    assert water.density(2 * high) == water.density(high)
    assert media.water(400.0).density(1e5) == media.water(333.15).density(1e5)
    air = media.air(288.15)
    assert air.compressibility_factor(5000e5) == air.compressibility_factor(media.AIR_PRESSURES[1])
    assert media.air(200.0).compressibility_factor(1e7) == media.air(243.15).compressibility_factor(1e7)
    assert math.isnan(water.density(math.nan))
    assert math.isnan(air.density_slope(math.nan)[1])
    assert math.isnan(media.water(math.nan).density(1e5))


# --- shapes -----------------------------------------------------------------------------------

def every_answer(temperature: object, p_abs: object) -> dict[str, object]:
    water, air = media.water(temperature), media.air(temperature)  # type: ignore[arg-type]
    named = {
        "water density": water.density(p_abs),
        "expansion": water.expansion(p_abs),
        "temperature slope": water.density_temperature_slope(p_abs),
        "viscosity": water.viscosity(p_abs),
        "heat capacity": water.heat_capacity(p_abs),
        "factor": air.compressibility_factor(p_abs),
        "air density": air.density(p_abs),
        "air expansion": air.expansion(p_abs),
    }
    for name, medium in (("water", water), ("air", air)):
        named[f"{name} density again"], named[f"{name} slope"] = medium.density_slope(p_abs)  # type: ignore[attr-defined]
    return named


@pytest.mark.parametrize(("of_t", "of_p"), [
    ((), ()), ((12,), (12,)), ((3, 4), (3, 4)),
    ((12,), ()), ((), (12,)), ((), (3, 4)), ((), (3, 1)),
    ((4,), (3, 1)), ((4,), (3, 4)), ((1,), (5, 1)), ((300,), (7, 1)),
])
def test_arrays_agree_with_a_loop(of_t: tuple[int, ...], of_p: tuple[int, ...]) -> None:
    some = np.random.default_rng(5)
    t, p = np.asarray(some.uniform(274.0, 333.0, of_t)), np.exp(some.uniform(np.log(0.6e5), np.log(2.4e8), of_p))
    shape = np.broadcast_shapes(of_t, of_p)
    whole = every_answer(t, p)
    each_t, each_p = np.broadcast_to(t, shape), np.broadcast_to(p, shape)
    for index in np.ndindex(*shape):
        for name, value in every_answer(float(each_t[index]), float(each_p[index])).items():
            assert np.shape(value) == ()
            assert np.shape(whole[name]) == shape, name
            assert np.asarray(whole[name])[index] == pytest.approx(value, rel=1e-12), name
    loop = np.reshape([media.atmosphere(float(a)) for a in t.ravel()], of_t)
    np.testing.assert_allclose(media.atmosphere(t), loop, rtol=1e-12)


def test_inputs_are_left_alone() -> None:
    t, p = np.array([280.0, 290.0]), np.array([1e5, 2e5])
    every_answer(t, p)
    assert t.tolist() == [280.0, 290.0]
    assert p.tolist() == [1e5, 2e5]
    water = media.water(t)
    first = water.density(p).copy()
    water.density_slope(p)
    assert (water.density(p) == first).all()


# --- what ships -------------------------------------------------------------------------------

@thorough
def test_the_shipped_tables_are_what_is_built(tmp_path: Path) -> None:
    build.build(tmp_path)
    for name, scale in (("water", 1e-10), ("air", 1e-9)):
        made, ships = np.load(tmp_path / f"{name}.npy"), np.load(build.TABLES / f"{name}.npy")
        assert made.shape == ships.shape
        largest = np.abs(ships).max(axis=(-2, -1), keepdims=True)
        np.testing.assert_allclose((made - ships) / largest, 0.0, atol=scale)
    np.testing.assert_array_equal(build_points.sobol_points(), np.load(build_points.TABLE))


def test_points_are_a_balanced_net() -> None:
    """Every column has one point in each of 8192 slices; two columns have 2 in each cell of 64 by 64, near enough."""
    drawn = points.sobol(points.MOST_COLUMNS)
    assert drawn.shape == (8192, 32)
    assert 0.0 < drawn.min() < drawn.max() < 1.0
    for column in drawn.T:
        np.testing.assert_array_equal(np.sort((column * 8192).astype(int)), np.arange(8192))
    cells = np.bincount((drawn[:, 0] * 64).astype(int) * 64 + (drawn[:, 1] * 64).astype(int), minlength=4096)
    np.testing.assert_array_equal(cells, 2)
    halves = np.corrcoef(drawn, rowvar=False) - np.eye(32)
    assert np.abs(halves).max() < 0.02


def test_points_by_number_of_columns() -> None:
    np.testing.assert_array_equal(points.sobol(3), points.sobol(32)[:, :3])
    assert points.sobol(0).shape == (8192, 0)
    for wrong in (-1, 33):
        with pytest.raises(ValueError, match="columns"):
            points.sobol(wrong)


def test_nothing_slow_is_loaded() -> None:
    program = (
        "import sys; from fillcalc.job import points; from fillcalc.properties import media;"
        "media.water(288.0).density(1e5); points.sobol(2);"
        "print([m for m in ('CoolProp', 'scipy', 'fluids', 'pint', 'iapws') if m in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
