"""Water and air straight from CoolProp, and two equations of state-free constants; all SI, pressures absolute."""

from __future__ import annotations

from functools import lru_cache
from math import exp, expm1, log1p, pi, sqrt
from typing import Any

import CoolProp.CoolProp as coolprop
from CoolProp import AbstractState

GRAVITY = 9.80665
GAMMA = 1.4
REFERENCE_PRESSURE_ABS = 1e5
"""Reference air pressure of ISO 6358."""


@lru_cache(maxsize=1)
def _water() -> Any:
    state = AbstractState("HEOS", "Water")
    state.specify_phase(coolprop.iphase_liquid)
    return state


@lru_cache(maxsize=1)
def _air() -> Any:
    return AbstractState("HEOS", "Air")


GAS_CONSTANT_AIR = float(_air().gas_constant() / _air().molar_mass())
"""J/(kg K), that of the library's air."""


def water_density(pressure_abs: float, temperature: float) -> float:
    """kg/m3."""
    state = _water()
    state.update(coolprop.PT_INPUTS, pressure_abs, temperature)
    return float(state.rhomass())


def water_density_by_pressure(pressure_abs: float, temperature: float) -> float:
    """kg/(m3 Pa), at constant temperature."""
    state = _water()
    state.update(coolprop.PT_INPUTS, pressure_abs, temperature)
    return float(state.first_partial_deriv(coolprop.iDmass, coolprop.iP, coolprop.iT))


def water_viscosity(pressure_abs: float, temperature: float) -> float:
    """Pa s."""
    state = _water()
    state.update(coolprop.PT_INPUTS, pressure_abs, temperature)
    return float(state.viscosity())


def water_warming(pressure_abs: float, temperature: float) -> float:
    """K/Pa when water is squeezed without heat: T beta / (rho c_p)."""
    state = _water()
    state.update(coolprop.PT_INPUTS, pressure_abs, temperature)
    return float(temperature * state.isobaric_expansion_coefficient() / (state.rhomass() * state.cpmass()))


def air_density(pressure_abs: float, temperature: float) -> float:
    """kg/m3, real gas."""
    state = _air()
    state.update(coolprop.PT_INPUTS, pressure_abs, temperature)
    return float(state.rhomass())


def air_density_by_pressure(pressure_abs: float, temperature: float) -> float:
    """kg/(m3 Pa), at constant temperature."""
    state = _air()
    state.update(coolprop.PT_INPUTS, pressure_abs, temperature)
    return float(state.first_partial_deriv(coolprop.iDmass, coolprop.iP, coolprop.iT))


def orifice_mass_flow(area: float, upstream_abs: float, drop: float, temperature: float) -> float:
    """kg/s of air through an isentropic orifice; `area` is the hole times its discharge coefficient, `drop` the
    pressure lost across it."""
    if drop <= 0.0:
        return 0.0
    k = GAMMA
    critical = (2 / (k + 1)) ** (k / (k - 1))
    # ratio^(2/k) - ratio^((k+1)/k), written so that nothing cancels near one
    logarithm = log1p(-min(drop / upstream_abs, 1 - critical))
    bracket = exp(2 / k * logarithm) * -expm1((k - 1) / k * logarithm)
    return area * upstream_abs * sqrt(2 * k / ((k - 1) * GAS_CONSTANT_AIR * temperature) * bracket)


def circle(bore: float) -> float:
    """m2."""
    return pi / 4 * bore**2
