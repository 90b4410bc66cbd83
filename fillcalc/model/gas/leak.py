"""What a fall of the gauge means for gas: the leak, and what warmth hides."""

from __future__ import annotations

import numpy as np

from fillcalc.arrays import Array
from fillcalc.properties.gases import At, Gas
from fillcalc.properties.media import Number

BUBBLE = 0.15e-6
"""m3 of gas in a bubble from a tube of 6 mm; the table of FCI 70-2 for soft seats, from memory."""


def pressure_per_kelvin(at: At) -> Array:
    """How much the pressure of a shut-in gas rises for each kelvin, Pa/K. Definition: the slope of pressure over
    temperature at constant density."""
    return at.pressure_by_temperature


def throughput(volume: Array, rate: Array) -> Array:
    """Leak of a vessel as pressure times volume over time, Pa m3/s, of its `volume`, m3, and how fast its pressure
    falls, Pa/s. Definition: their product."""
    return volume * rate


def flow_at(volume: Array, at: At, rate: Array) -> Array:
    """Leak as a volume flow at the gauge's own conditions, m3/s, of a vessel of `volume`, m3, whose pressure falls by
    `rate`, Pa/s, at a steady temperature.

    Derived: the balance of mass, V (drho/dp) rate over rho.
    """
    return volume * rate / (at.pressure_by_density * at.density)


def lost(gas: Gas, volume: Number, first: tuple[Number, Number], last: tuple[Number, Number]) -> Array:
    """Mass lost between two readings, kg, each a pressure in Pa abs and a temperature in K. Derived: the balance of
    mass, volume times the change of density."""
    return volume * (gas.density(*first) - gas.density(*last))


def as_throughput(gas: Gas, mass_flow: Array, temperature: Number) -> Array:
    """A mass flow, kg/s, as Pa m3/s at a temperature in K. Derived: the ideal gas, R T times the flow."""
    return mass_flow * gas.gas_constant * temperature


def bubbles(gas: Gas, mass_flow: Array, outside: tuple[Number, Number]) -> Array:
    """Bubbles a second of a leak, kg/s, that comes out under water at a pressure, Pa abs, and temperature, K.

    Derived: volume flow over the volume of one bubble, `BUBBLE`, ratio.
    """
    return np.asarray(mass_flow / gas.density(*outside) / BUBBLE)
