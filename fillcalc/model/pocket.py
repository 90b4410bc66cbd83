"""The trapped air at the top of a full vessel: how soon it cools, and what dissolves of it."""

from __future__ import annotations

import numpy as np

from fillcalc.arrays import Array
from fillcalc.model.gas.vessel import FREE
from fillcalc.properties.media import GRAVITY

THERMAL, VISCOUS = 2e-5, 1.5e-5
"""Thermal diffusivity and kinematic viscosity of air at one atmosphere near 15 C, m2/s; they go with one over the
pressure."""
STEPS, LONGEST = 8, 200.0
"""Newton steps, from a start that is at most a quarter too large; time over three time constants after which nothing
is left."""
DIFFUSIVITY = 1.6e-9
"""Of dissolved air in still water near 15 C, m2/s; 1.5e-9 to 2.2e-9 by the source, from memory."""
GAS_CONSTANT = 8.314462618
HENRY = ((0.79, 6.1e-4, 1300.0), (0.21, 1.3e-3, 1500.0))
"""Nitrogen and oxygen: share of the air, mol/(L atm) at 25 C, and K of the exponent; R. Sander's compilation, Atmos.
Chem. Phys. 15 (2015) 4399 (from memory)."""
ATMOSPHERE, ROOM = 101325.0, 298.15


def cooling_time(thickness: Array, pressure_abs: Array) -> Array:
    """Time in which still air in a layer loses 63 % of its warmth to both its faces, s: d^2 / (pi^2 a).

    Thickness m, pressure Pa abs; a falls with the pressure. A film is cool in a second.
    Source: H. Carslaw and J. Jaeger, Conduction of Heat in Solids, 2nd ed., art. 3.3 (from memory).
    """
    return np.asarray(thickness**2 * pressure_abs / (np.pi**2 * THERMAL * ATMOSPHERE))


def convection(thickness: Array, pressure_abs: Array, temperature: Array | float) -> Array:
    """Rate at which a warm pocket cools under a cold top by free convection, 1/(s K^(1/3)).

    dT/dt = -c T^(4/3) with c = 0.13 (a / d) (g / (T nu a))^(1/3): the film h = 0.13 k (g T' / (T nu a))^(1/3) over the
    heat rho cp d of the air under it. Thickness d m, pressure Pa abs, temperature of the top K; its bottom, which is
    water, and its sides are left out, which is the slow end. Source: as `FREE`,
    F. Incropera and D. DeWitt, Fundamentals of Heat and Mass Transfer, ch. 9 (from memory).
    """
    part = ATMOSPHERE / pressure_abs
    spread = THERMAL * part
    return np.asarray(FREE * spread / thickness * np.cbrt(GRAVITY / (temperature * VISCOUS * part * spread)))


def warm_after(whole: Array, time: Array, tau: Array, free: Array) -> Array:
    """Kelvin by which a pocket is still warm after it was squeezed evenly over a time in s; `whole` without any loss.

    w (1 + t / tau + t c w^(1/3)) = whole, by Newton in the cube root; `tau` from `cooling_time`, `free` from
    `convection`. Derived: heat in and out in balance, which is above the truth by the rise that is still to come.
    """
    still, moving = 1.0 + time / tau, time * free
    root = np.cbrt(whole / still)
    quick = np.where(moving > 0.0, moving, 1.0)
    root = np.where(moving > 0.0, np.minimum(root, np.sqrt(np.sqrt(whole / quick))), root)
    for _ in range(STEPS):
        slope = root**2 * (4.0 * moving * root + 3.0 * still)
        excess = root**3 * (moving * root + still) - whole
        root = root - excess / np.where(slope > 0.0, slope, 1.0)
    return np.asarray(root**3)


def warm_later(warm: Array, time: Array | float, tau: Array, free: Array) -> Array:
    """What is left of a pocket's warmth, K, after so many seconds more.

    dw/dt = -w / tau - c w^(4/3) gives w^(-1/3) = (w0^(-1/3) + c tau) e^(t / 3 tau) - c tau. Derived: its integral.
    """
    faded = np.minimum(time / (3.0 * tau), LONGEST)
    some = np.where(warm > 0.0, warm, 1.0)
    root = np.cbrt(1.0 / some) * np.exp(faded) + free * tau * np.expm1(faded)
    return np.where(warm > 0.0, root**-3.0, 0.0)


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
