"""Elastic and thermal properties of what vessels are made of, near 15 degC."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Material:
    """Young's modulus Pa, Poisson's ratio, linear thermal expansion 1/K, heat capacity J/(kg K)."""

    young: float
    poisson: float
    expansion: float
    heat_capacity: float = 480.0
    brittle: bool = False
    """Breaks without stretching first."""


MATERIALS = {
    "carbon steel": Material(207e9, 0.30, 11.7e-6),
    "stainless steel": Material(195e9, 0.30, 16.0e-6, 500.0),
    "duplex steel": Material(200e9, 0.30, 13.0e-6),
    "cast iron": Material(100e9, 0.26, 10.5e-6, 500.0, True),
    "ductile iron": Material(170e9, 0.275, 11.0e-6),
    "aluminium": Material(70e9, 0.33, 23.0e-6, 900.0),
    "copper": Material(117e9, 0.34, 16.7e-6, 385.0),
    "brass": Material(102e9, 0.34, 19.0e-6, 380.0),
    "bronze": Material(105e9, 0.34, 18.0e-6, 380.0),
    "titanium": Material(107e9, 0.32, 8.6e-6, 520.0),
    "nickel alloy": Material(207e9, 0.31, 12.5e-6, 440.0),
}
"""Handbook values from memory, rounded; grades differ by some per cent. Ductile iron's modulus is that of
EN 805:2000 clause 11.3.3 (from memory)."""
