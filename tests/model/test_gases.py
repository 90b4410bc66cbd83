"""Nitrogen and air against CoolProp over all their range, and what ships against what is built."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from fillcalc.properties import build
from fillcalc.properties.gases import COOLPROP_NAMES, Gas
from tests.families import thorough

ALLOWED = {"density": 3e-6, "energy": 1.0, "enthalpy": 1.0, "heat_capacity": 1e-4, "pressure_by_density": 2e-4,
           "pressure_by_temperature": 5e-5, "energy_by_density": 0.01}
"""As a part of the value; energies in J/kg and their slope in J m3/kg2, for their zero is arbitrary."""


@pytest.mark.parametrize("name", COOLPROP_NAMES)
def test_properties_are_those_of_coolprop(name: str) -> None:
    """0.5 to 400 bar, -100 to 200 degC."""
    from CoolProp import CoolProp

    t, p = (grid.ravel() for grid in np.meshgrid(np.linspace(173.15, 473.15, 16), np.geomspace(0.5e5, 400e5, 20)))
    ours = Gas(name).at_pressure(p, t)
    fluid, rows = COOLPROP_NAMES[name], []
    state = CoolProp.AbstractState("HEOS", fluid)
    state.specify_phase(CoolProp.iphase_gas)
    for pressure, temperature in zip(p, t, strict=True):
        state.update(CoolProp.PT_INPUTS, pressure, temperature)
        rows.append((state.rhomass(), state.umass(), state.hmass(), state.cvmass(),
                     state.first_partial_deriv(CoolProp.iP, CoolProp.iDmass, CoolProp.iT),
                     state.first_partial_deriv(CoolProp.iP, CoolProp.iT, CoolProp.iDmass),
                     state.first_partial_deriv(CoolProp.iUmass, CoolProp.iDmass, CoolProp.iT)))
    for (what, allowed), theirs in zip(ALLOWED.items(), np.array(rows).T, strict=True):
        size: Any = 1.0 if what.startswith("en") else np.abs(theirs)
        assert np.max(np.abs(getattr(ours, what) - theirs) / size) < allowed, what


@pytest.mark.parametrize("name", COOLPROP_NAMES)
def test_convection_and_choked_flow_are_those_of_coolprop(name: str) -> None:
    """1 to 200 bar, -50 to 150 degC; as far as a bottle goes that empties, 20 bar at 155 K."""
    from CoolProp import CoolProp

    gas, state, other = Gas(name), build._gas_state(name), build._gas_state(name)
    warm = [(temperature, 200e5) for temperature in np.linspace(223.15, 423.15, 5)]
    for temperature, top in [*warm, (155.0, 20e5), (175.0, 40e5), (195.0, 80e5)]:
        for pressure in np.geomspace(1e5, top, 7):
            state.update(CoolProp.PT_INPUTS, pressure, temperature)
            group = state.conductivity() * (state.rhomass() ** 2 * state.isobaric_expansion_coefficient()
                                            * state.cpmass() / state.viscosity() / state.conductivity()) ** (1 / 3)
            at = gas.at_pressure(pressure, temperature)
            assert float(gas.convection(at)) == pytest.approx(group, rel=2e-3)
            assert float(gas.choked_flux(at)) == pytest.approx(build.choked_flux(state, other), rel=3e-5)


@pytest.mark.parametrize("name", COOLPROP_NAMES)
def test_the_energy_of_an_expansion_is_that_of_coolprop(name: str) -> None:
    """1.3 to 400 bar, -50 to 60 degC, down to 0.45 to 1.15 bar outside, liquid on the way and all."""
    from CoolProp import CoolProp

    gas, fluid = Gas(name), COOLPROP_NAMES[name]
    for temperature in (225.0, 262.0, 288.15, 330.0):
        for pressure in np.geomspace(1.3e5, 400e5, 14):
            for outside in (0.45e5, 0.8e5, 1.01325e5, 1.15e5):
                density, energy, entropy = (CoolProp.PropsSI(what, "P", pressure, "T", temperature, fluid)
                                            for what in "DUS")
                gives = density * (energy - CoolProp.PropsSI("U", "P", outside, "S", entropy, fluid))
                ideal = pressure / 0.4 * (1.0 - (outside / pressure) ** (0.4 / 1.4))
                assert ideal * float(gas.energy_share(pressure, temperature, outside)) == pytest.approx(gives, rel=2e-3)


@pytest.mark.parametrize("name", COOLPROP_NAMES)
def test_gas_colder_than_the_tables_goes_on_smoothly(name: str) -> None:
    gas = Gas(name)
    warm, cold = (gas.at(2.0, temperature) for temperature in (130.0 + 1e-6, 130.0 - 1e-6))
    for what in ("pressure", "energy", "heat_capacity", "pressure_by_temperature"):
        assert getattr(cold, what) == pytest.approx(getattr(warm, what), rel=2e-2 if what == "heat_capacity" else 1e-4)
    colder = gas.at(2.0, 100.0)
    assert (warm.energy - colder.energy) / 30.0 == pytest.approx(colder.heat_capacity, rel=0.02)


@pytest.mark.parametrize("name", COOLPROP_NAMES)
@pytest.mark.parametrize(("density", "temperature"), [(20.0, 110.0), (8.0, 100.0)])
def test_gas_colder_than_the_tables_is_near_coolprop(name: str, density: float, temperature: float) -> None:
    from CoolProp import CoolProp

    found = Gas(name).at(density, temperature)
    expected = CoolProp.PropsSI("P", "D", density, "T", temperature, COOLPROP_NAMES[name])
    assert float(found.pressure) == pytest.approx(expected, rel=5e-4)


def test_shapes_broadcast_and_one_is_as_many() -> None:
    gas, t, p = Gas("nitrogen"), np.array([[250.0], [300.0]]), np.array([1e5, 50e5, 300e5])
    whole = gas.at_pressure(p, t)
    assert whole.density.shape == (2, 3)
    assert float(gas.at_pressure(50e5, 300.0).energy) == pytest.approx(whole.energy[1, 1], rel=1e-12)
    assert np.isnan(gas.at(np.nan, 300.0).pressure)


@thorough
def test_the_shipped_gas_tables_are_what_is_built(tmp_path: Path) -> None:
    for name in COOLPROP_NAMES:
        for table, made, allowed in (("", build.gas_table, 1e-8), ("_ideal", build.ideal_table, 1e-8),
                                     ("_flow", build.flow_table, 1e-5), ("_energy", build.energy_table, 1e-6)):
            ships, new = np.load(build.TABLES / f"gas_{name}{table}.npy"), made(name)
            assert new.shape == ships.shape
            np.testing.assert_allclose((new - ships) / np.abs(ships).max(), 0.0, atol=allowed)
