"""Makes the shipped tables of water, air and the test gases; run by hand: `python -m fillcalc.properties.build`.

Needs CoolProp, which takes seconds to load; nothing else in the package imports them. The tests
hold what ships against what this makes, and both against the libraries.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.polynomial import chebyshev

from fillcalc.arrays import Array
from fillcalc.properties import gases, media

Table = Array

TABLES = Path(__file__).parent / "tables"
WATER_TERMS = (10, 9)
"""Terms in temperature and in pressure."""
AIR_TERMS = (8, 20)
GAS_TERMS, IDEAL_TERMS, FLOW_TERMS, ENERGY_TERMS = (12, 14), 16, (10, 14), (3, 8, 32)
"""Of the residual part, the ideal part, and what flow goes by, in 1/T and in density; of the energy, in the
pressure outside, in T and in ln p."""


def _to_chebyshev(x: Table) -> Table:
    """Matrix that turns values at the points into the terms of the Chebyshev sum through them."""
    return np.linalg.inv(np.asarray(chebyshev.chebvander(x, x.size - 1), dtype=np.float64))


def _to_powers(terms: int) -> Table:
    """Matrix that turns the terms of a Chebyshev sum into those of a power sum."""
    matrix = np.zeros((terms, terms))
    for k in range(terms):
        matrix[: k + 1, k] = chebyshev.cheb2poly(np.eye(terms)[k, : k + 1])
    return matrix


def fit(quantity: Callable[[float, float], float | tuple[float, ...]], samples: tuple[int, int],
        terms: tuple[int, int]) -> Table:
    """Polynomial in x and y, both from -1 to 1, through the quantity; shape (..., terms of x, terms of y).

    Interpolated at Chebyshev points (`samples` of them, well more than `terms`), cut off to the terms wanted,
    then written in plain powers: the Chebyshev terms fall off faster than the powers grow, so
    no digits are lost, and a power sum costs half of a Chebyshev sum. The quantity may return several values.
    """
    x, y = (chebyshev.chebpts1(n) for n in samples)
    values = np.moveaxis(np.array([[quantity(a, b) for b in y] for a in x]), (0, 1), (-2, -1))
    from_x, from_y = (_to_chebyshev(z)[:n] for z, n in zip((x, y), terms, strict=True))
    to_x, to_y = (_to_powers(n) for n in terms)
    return np.ascontiguousarray(to_x @ (from_x @ values @ from_y.T) @ to_y.T)


def between(ends: tuple[float, float], x: float) -> float:
    """The value at x, from -1 to 1, between the ends."""
    return 0.5 * (ends[0] + ends[1]) + 0.5 * (ends[1] - ends[0]) * x


def water_table() -> Table:
    """Density kg/m3, heat capacity J/(kg K) and ln of the viscosity in Pa s; shape (3, *WATER_TERMS)."""
    from CoolProp import CoolProp

    state = CoolProp.AbstractState("HEOS", "Water")
    state.specify_phase(CoolProp.iphase_liquid)

    def at(x: float, y: float) -> tuple[float, float, float]:
        state.update(CoolProp.PT_INPUTS, between(media.WATER_PRESSURES, y), between(media.WATER_TEMPERATURES, x))
        return state.rhomass(), state.cpmass(), float(np.log(state.viscosity()))

    return fit(at, (24, 32), WATER_TERMS)


def air_table() -> Table:
    """ln Z of air over q = p/(p + AIR_SCALE), divided by q, against temperature and q; shape AIR_TERMS."""
    from CoolProp import CoolProp

    state = CoolProp.AbstractState("HEOS", "Air")
    state.specify_phase(CoolProp.iphase_gas)

    def at(x: float, y: float) -> float:
        temperature = between(media.AIR_TEMPERATURES, x)
        part = between((0.0, media.AIR_TOP), y)
        pressure = media.AIR_SCALE * part / (1.0 - part)
        state.update(CoolProp.PT_INPUTS, pressure, temperature)
        return float(np.log(pressure / (state.rhomass() * media.AIR_GAS_CONSTANT * temperature)) / part)

    return fit(at, (24, 48), AIR_TERMS)


def _gas_state(name: str) -> Any:
    """CoolProp's state of a gas, which stays one phase whatever it is asked."""
    from CoolProp import CoolProp

    state = CoolProp.AbstractState("HEOS", gases.COOLPROP_NAMES[name])
    state.specify_phase(CoolProp.iphase_gas)
    return state


def _from_cold(x: float, ends: tuple[float, float]) -> float:
    """The temperature, K, at a place from -1 to 1 on the scale of 1/T."""
    return 1.0 / between((1.0 / ends[1], 1.0 / ends[0]), x)


def gas_table(name: str) -> Table:
    """Residual Helmholtz energy over R T and over d, the scaled density, against 1/T and d; shape GAS_TERMS."""
    from CoolProp import CoolProp

    state, scale = _gas_state(name), gases.DENSITY_SCALES[name]

    def at(x: float, y: float) -> float:
        density = between((0.0, scale), y)
        state.update(CoolProp.DmassT_INPUTS, density, _from_cold(x, gases.GAS_TEMPERATURES))
        return float(state.alphar() * scale / density)

    return fit(at, (28, 40), GAS_TERMS)


def ideal_table(name: str) -> Table:
    """Ideal Helmholtz energy over R T less ln d, against 1/T; shape (IDEAL_TERMS,)."""
    from CoolProp import CoolProp

    state, scale = _gas_state(name), gases.DENSITY_SCALES[name]

    def at(x: float, y: float) -> float:
        state.update(CoolProp.DmassT_INPUTS, 1e-3 * scale, _from_cold(x, gases.GAS_TEMPERATURES))
        return float(state.alpha0() - np.log(1e-3))

    return fit(at, (40, 1), (IDEAL_TERMS, 1))[:, 0]


def flow_table(name: str) -> Table:
    """ln of the conductivity squared over the viscosity, and of the choked flux over p/(R T)^0.5, against 1/T and d;
    shape (2, *FLOW_TERMS)."""
    from CoolProp import CoolProp

    state, expanded = _gas_state(name), _gas_state(name)
    scale = gases.FLOW_DENSITIES * gases.DENSITY_SCALES[name]
    gas = gases.GAS_CONSTANTS[name]

    def at(x: float, y: float) -> tuple[float, float]:
        density, temperature = between((0.0, scale), y), _from_cold(x, gases.FLOW_TEMPERATURES)
        state.update(CoolProp.DmassT_INPUTS, density, temperature)
        transport = state.conductivity() ** 2 / state.viscosity()
        flux = choked_flux(state, expanded)
        return float(np.log(transport)), float(np.log(flux * np.sqrt(gas * temperature) / state.p()))

    return fit(at, (20, 28), FLOW_TERMS)


def energy_table(name: str) -> Table:
    """Energy of an expansion without heat, over that of an ideal gas of k = 1.4, against the logarithm of the pressure
    outside, T, and that of the pressure; shape ENERGY_TERMS."""
    from CoolProp import CoolProp

    gas, part = gases.COOLPROP_NAMES[name], (gases.HEAT_RATIO - 1.0) / gases.HEAT_RATIO
    places = chebyshev.chebpts1(ENERGY_TERMS[0])

    def share(end: float, pressure: float, temperature: float) -> float:
        density, energy, entropy = (CoolProp.PropsSI(what, "P", pressure, "T", temperature, gas) for what in "DUS")
        given = density * (energy - CoolProp.PropsSI("U", "P", end, "S", entropy, gas))
        return float(given / (pressure / (gases.HEAT_RATIO - 1.0) * (1.0 - (end / pressure) ** part)))

    def at(x: float, y: float) -> tuple[float, ...]:
        pressure, temperature = float(np.exp(between(gases.ENERGY_PRESSURES, y))), between(gases.ENERGY_TEMPERATURES, x)
        return tuple(share(float(np.exp(between(gases.ENERGY_OUTSIDE, z))), pressure, temperature) for z in places)

    by_place = fit(at, (16, 80), ENERGY_TERMS[1:])
    return np.tensordot(_to_powers(len(places)) @ _to_chebyshev(places), by_place, 1)


def choked_flux(state: Any, expanded: Any) -> float:
    """Greatest rho (2 (h0 - h))^0.5 on the way down the isentrope from a state of CoolProp, kg/(m2 s)."""
    from CoolProp import CoolProp
    from scipy.optimize import minimize_scalar  # type: ignore[import-untyped]

    enthalpy, entropy, top = state.hmass(), state.smass(), state.rhomass()

    def less(ratio: float) -> float:
        temperature = state.T() * ratio**0.4
        for _ in range(20):
            expanded.update(CoolProp.DmassT_INPUTS, ratio * top, temperature)
            step = (entropy - expanded.smass()) / expanded.cvmass()
            temperature *= float(np.exp(step))
            if abs(step) < 1e-11:
                break
        return -float(expanded.rhomass() * np.sqrt(max(2.0 * (enthalpy - expanded.hmass()), 0.0)))

    return -float(minimize_scalar(less, bounds=(0.55, 0.95), method="bounded", options={"xatol": 1e-9}).fun)


def build(folder: Path = TABLES) -> None:
    """Write every table into a folder that exists."""
    np.save(folder / "water.npy", water_table())
    np.save(folder / "air.npy", air_table())
    for name in gases.COOLPROP_NAMES:
        np.save(folder / f"gas_{name}.npy", gas_table(name))
        np.save(folder / f"gas_{name}_ideal.npy", ideal_table(name))
        np.save(folder / f"gas_{name}_flow.npy", flow_table(name))
        np.save(folder / f"gas_{name}_energy.npy", energy_table(name))


if __name__ == "__main__":
    build()
