"""Answers as pint quantities, for further calculation in a notebook."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from typing import TYPE_CHECKING, Any

from fillcalc.estimation.answers import answers
from fillcalc.units.tables import FAMILIES

if TYPE_CHECKING:
    from pint import UnitRegistry

PINT_UNITS = {
    "none": "dimensionless", "length": "metre", "volume": "metre ** 3", "free air volume": "metre ** 3",
    "area": "metre ** 2", "stroke": "metre ** 3", "mass": "kilogram", "pressure": "pascal",
    "pressure rate": "pascal / second",
    "pressure per temperature": "pascal / delta_degree_Celsius", "speed": "metre / second", "stress": "pascal",
    "temperature": "kelvin", "temperature change": "kelvin", "flow": "metre ** 3 / second",
    "free air": "metre ** 3 / second", "normal air": "metre ** 3 / second", "power": "watt", "time": "second",
    "share": "dimensionless", "angle": "radian",
    "stroke rate": "1 / second", "strokes per volume": "1 / metre ** 3",
    "hose stretch": "metre ** 2 / pascal", "expansion": "1 / kelvin", "energy": "joule",
    "throughput": "pascal * metre ** 3 / second", "bubbles": "1 / second",
}
"""The SI unit of each dimension, as pint writes it."""


def quantities(record: object, registry: UnitRegistry[Any] | None = None) -> dict[str, object]:
    """Every answer of an estimate, a visit or what readings tell, as a pint quantity by its path.

    The paths are those of the JSON ("fill.time_s", "stages.1.high_s"; list places count from 1), the magnitudes
    the floats or arrays of the record in SI, not copied. Give your own `registry` to combine them with its quantities;
    left out, pint's application registry serves. Words, flags and statuses are no quantities and left out.
    """
    import pint

    own: Any = pint.application_registry if registry is None else registry
    return {path: own.Quantity(value, PINT_UNITS[FAMILIES[family].dimension]) for path, value, family in _walk(record)}


def _walk(record: object, base: str = "") -> Iterator[tuple[str, Any, str]]:
    """Path, value and family of every declared answer that the record has."""
    if isinstance(record, tuple):
        for place, item in enumerate(record, 1):
            yield from _walk(item, f"{base}{place}.")
    elif is_dataclass(record) and not isinstance(record, type):
        declared = answers(type(record))
        for f in fields(record):
            value = getattr(record, f.name)
            if f.name not in declared:
                yield from _walk(value, f"{base}{f.name}.")
            elif value is not None:
                family = declared[f.name].family
                if family:
                    yield f"{base}{f.name}", value, family
