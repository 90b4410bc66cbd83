"""The trapped air at the top of a full vessel: how soon it cools, and what dissolves of it."""

from __future__ import annotations

import numpy as np

from fillcalc.arrays import Array

THERMAL = 2e-5
"""Thermal diffusivity of air at one atmosphere, m2/s; it goes with one over the pressure."""
DIFFUSIVITY = 1.6e-9
"""Of dissolved air in still water near 15 C, m2/s; 1.5e-9 to 2.2e-9 by the source, from memory."""
GAS_CONSTANT = 8.314462618
HENRY = ((0.79, 6.1e-4, 1300.0), (0.21, 1.3e-3, 1500.0))
"""Nitrogen and oxygen: share of the air, mol/(L atm) at 25 C, and K of the exponent; R. Sander's compilation, Atmos.
Chem. Phys. 15 (2015) 4399 (from memory)."""
ATMOSPHERE, ROOM = 101325.0, 298.15


def cooling_time(thickness: Array, pressure_abs: Array) -> Array:
    """Time in which a layer of air loses 63 % of its warmth to both its faces, s: d^2 / (pi^2 a).

    Thickness m, pressure Pa abs; a falls with the pressure. A film is cool in a second, a round pocket in minutes.
    Source: H. Carslaw and J. Jaeger, Conduction of Heat in Solids, 2nd ed., art. 3.3 (from memory).
    """
    return np.asarray(thickness**2 * pressure_abs / (np.pi**2 * THERMAL * ATMOSPHERE))


def solubility(temperature: Array | float) -> Array:
    """Air that water takes at rest, as m3 at its own pressure for each m3 of water: a ratio, 0.019 at 20 C.

    Henry's law for nitrogen and oxygen each at its own share, times R T. Source: `HENRY`.
    """
    warm = np.asarray(temperature, float)
    per_pascal = sum(share * 1e3 / ATMOSPHERE * constant * np.exp(by * (1.0 / warm - 1.0 / ROOM))
                     for share, constant, by in HENRY)
    return np.asarray(per_pascal * GAS_CONSTANT * warm)


def dissolved(surface: Array, temperature: Array | float, time: Array | float) -> Array:
    """The most air that goes into still water through its surface in a time, m3 at the pocket's own pressure.

    2 A L sqrt(D t / pi) with A in m2, t in s and L the solubility: the water holds no air at first, and does not move.
    The pressure falls out: twice of it drives in twice the air, which takes half the space. Source: J. Crank, The
    Mathematics of Diffusion, 2nd ed., eq. 3.15 (from memory).
    """
    return np.asarray(2.0 * surface * solubility(temperature) * np.sqrt(DIFFUSIVITY * time / np.pi))
