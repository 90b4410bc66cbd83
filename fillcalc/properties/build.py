"""Makes the shipped tables of water and air; run by hand: `python -m fillcalc.properties.build`.

Needs CoolProp, which takes seconds to load; nothing else in the package imports them. The tests
hold what ships against what this makes, and both against the libraries.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import NDArray

from fillcalc.properties import media

Table = NDArray[np.float64]

TABLES = Path(__file__).parent / "tables"
WATER_TERMS = (10, 9)
"""Terms in temperature and in pressure."""
AIR_TERMS = (8, 20)


def _to_chebyshev(x: Table) -> Table:
    """Matrix that turns values at the points into the terms of the Chebyshev sum through them."""
    return np.linalg.inv(np.asarray(chebyshev.chebvander(x, x.size - 1), dtype=np.float64))


def _to_powers(terms: int) -> Table:
    """Matrix that turns the terms of a Chebyshev sum into those of a power sum."""
    matrix = np.zeros((terms, terms))
    for k in range(terms):
        matrix[: k + 1, k] = chebyshev.cheb2poly(np.eye(terms)[k, : k + 1])
    return matrix


def fit(quantity: Callable[[float, float], Any], samples: tuple[int, int], terms: tuple[int, int]) -> Table:
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


def build(folder: Path = TABLES) -> None:
    """Write water.npy and air.npy into a folder that exists."""
    np.save(folder / "water.npy", water_table())
    np.save(folder / "air.npy", air_table())


if __name__ == "__main__":
    build()
