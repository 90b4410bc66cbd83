"""Elastic and thermal properties of what vessels are made of, near 15 degC."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Material:
    """Young's modulus Pa, Poisson's ratio, linear thermal expansion 1/K, yield of a common soft grade Pa (0.2 % proof
    stress where it has no yield), heat capacity J/(kg K)."""

    young: float
    poisson: float
    expansion: float
    yields: float
    heat_capacity: float = 480.0
    brittle: bool = False
    """Breaks without stretching first."""


MATERIALS = {
    "carbon steel": Material(207e9, 0.30, 11.7e-6, 235e6),
    "stainless steel": Material(195e9, 0.30, 16.0e-6, 200e6, 500.0),
    "duplex steel": Material(200e9, 0.30, 13.0e-6, 450e6),
    "cast iron": Material(100e9, 0.26, 10.5e-6, 150e6, 500.0, True),
    "ductile iron": Material(170e9, 0.275, 11.0e-6, 250e6),
    "aluminium": Material(70e9, 0.33, 23.0e-6, 125e6, 900.0),
    "copper": Material(117e9, 0.34, 16.7e-6, 70e6, 385.0),
    "brass": Material(102e9, 0.34, 19.0e-6, 125e6, 380.0),
    "bronze": Material(105e9, 0.34, 18.0e-6, 125e6, 380.0),
    "titanium": Material(107e9, 0.32, 8.6e-6, 275e6, 520.0),
    "nickel alloy": Material(207e9, 0.31, 12.5e-6, 240e6, 440.0),
}
"""Handbook values from memory, rounded; grades differ by some per cent. In yield they differ by far more: it is that of
S235, 304, 2205, GJL-150, the iron of EN 545, 5083-O, soft copper and brass, cast tin bronze, titanium grade 2 and alloy
600. Ductile iron's modulus is that of EN 805:2000 clause 11.3.3 (from memory)."""
