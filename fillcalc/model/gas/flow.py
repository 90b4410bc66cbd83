"""Gas through valves and holes: IEC 60534-2-1 with its expansion factor, and the isentropic nozzle of a real gas."""

from __future__ import annotations

import numpy as np

from fillcalc.arrays import Array
from fillcalc.properties.gases import HEAT_RATIO

BAR, HOUR = 1e5, 3600.0
N6 = 31.6
"""IEC 60534-2-1: kg/h for a flow coefficient in m3/h, pressures in bar and density in kg/m3."""
CRITICAL = (2.0 / (HEAT_RATIO + 1.0)) ** (HEAT_RATIO / (HEAT_RATIO - 1.0))
"""Pressure ratio at which a thin diatomic gas chokes in a nozzle, 0.528; dense gas chokes near it."""
GAMMA_PART = (HEAT_RATIO - 1.0) / HEAT_RATIO
MOST = CRITICAL ** (1.0 / HEAT_RATIO) * np.sqrt(1.0 - CRITICAL**GAMMA_PART)
HOSE_FRICTION, HOSE_ENDS = 0.03, 1.5
"""Friction factor of a small hose in fully rough flow, and what its ends lose; common practice, no source."""


def valve(kv: Array, x_t: Array, upstream: tuple[Array, Array], downstream_abs: Array) -> Array:
    """Mass flow of gas through a valve, kg/s.

    `kv` m3/h, `x_t` the pressure drop ratio at which it chokes, `upstream` pressure in Pa abs and density in kg/m3,
    `downstream_abs` Pa. Shapes broadcast; no flow against a higher pressure.

        W = N6 Kv Y (x p1 rho1)^0.5,  Y = 1 - x / (3 F_gamma x_T),  x = (p1 - p2)/p1, no more than F_gamma x_T

    with F_gamma 1 for air and nitrogen (1.40). Source: IEC 60534-2-1, from memory.
    """
    pressure, density = upstream
    x = np.clip((pressure - downstream_abs) / pressure, 0.0, x_t)
    return N6 / HOUR * kv * (1.0 - x / (3.0 * x_t)) * np.sqrt(x * (pressure / BAR) * density)


def hole(area: Array, choked_flux: Array, upstream_abs: Array, downstream_abs: Array) -> Array:
    """Mass flow of gas through a hole, kg/s.

    `area` discharge coefficient times area, m2; `choked_flux` of the gas upstream, kg/(m2 s); pressures Pa abs.
    Choked it is that of the real gas; below, it falls as for an ideal one of k = 1.4, which thin gas is.
    Source: isentropic flow, J. Anderson, Modern Compressible Flow, ch. 5.
    """
    ratio = np.clip(downstream_abs / upstream_abs, CRITICAL, 1.0)
    part = ratio ** (1.0 / HEAT_RATIO) * np.sqrt(np.maximum(1.0 - ratio**GAMMA_PART, 0.0)) / MOST
    return area * choked_flux * part


def kv_of_hose(length: Array, bore: Array) -> Array:
    """Flow coefficient of a hose, m3/h, from its length and bore in m.

    Derived: the pressure loss (f L/D + K) rho v^2/2 of water at 1 bar, times the area.
    """
    loss = HOSE_FRICTION * length / bore + HOSE_ENDS
    return HOUR * 0.25 * np.pi * bore**2 * np.sqrt(2.0 * BAR / (1000.0 * loss))


def in_series(one: Array, other: Array) -> Array:
    """Flow coefficient of two parts in series, m3/h. Derived: their losses add up, each as 1/Kv^2 over the flow
    squared."""
    return 1.0 / np.sqrt(1.0 / one**2 + 1.0 / other**2)
