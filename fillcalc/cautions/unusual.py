"""Figures that are legal but unlikely: asked about, not refused."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from fillcalc.case.assume import default_value
from fillcalc.case.fields import Input
from fillcalc.case.medium import counts, is_gas
from fillcalc.case.names import capital, name_of
from fillcalc.case.records import Case
from fillcalc.case.shape_of import walk
from fillcalc.case.solid import sized
from fillcalc.units import show

HAIR = 1e-9
BETWEEN_SIZES = 0.04
"""How far from every usual size, as a share of it, a figure is asked about; a measured bore is as near as that."""


def unusual(case: Case, units: str = "metric") -> tuple[tuple[str, str], ...]:
    """Path and sentence of each given figure outside what is usual for it, in the order of the declarations.

    The case as written, its leaves floats. What was assumed is not asked about. `units` is metric or us.
    """
    assumed = {item.path for item in case.assumptions}
    gas = is_gas(case)
    sentences = [(path, sentence) for path, declared, value in walk(case)
                 if value is not None and path not in assumed and counts(path, gas)
                 for sentence in _about(case, path, declared, value, units)]
    return (*sentences, *(("vessel.wall", sentence) for sentence in _thick(case, units)))


def _about(case: Case, path: str, declared: Input, value: Any, units: str) -> Iterator[str]:
    if not declared.usual or isinstance(value, str | bool | tuple):
        return
    (low, family), (high, _) = (default_value(declared, text) for text in declared.usual)
    if case.families.get(path, family) != family:
        return
    name, check = capital(name_of(path, units, case)), "figure" if family in ("number", "count") else "unit"
    said = show(float(value), family, units)
    if not low * (1.0 - HAIR) <= float(value) <= high * (1.0 + HAIR):
        ends = (show(low, family, units), show(high, family, units)) if units == "us" else declared.usual
        yield f"{name} {said} is unusual; {_between(low, family, ends)} is common. Check the {check}."
        return
    sizes = [float(default_value(declared, text)[0]) for text in declared.sizes]
    if sizes and min(abs(float(value) / size - 1.0) for size in sizes) > BETWEEN_SIZES:
        below = max((size for size in sizes if size < value), default=sizes[0])
        above = min((size for size in sizes if size > value), default=sizes[-1])
        near = dict.fromkeys(show(size, family, units) for size in (below, above))
        yield (f"{name} {said} is not a usual size; {' and '.join(near)} {'are' if len(near) > 1 else 'is'}. "
               "Check that it is the inside.")


def _between(low: float, family: str, ends: Sequence[str]) -> str:
    """A range with its unit once where both ends have the same; "up to" where it begins at nothing."""
    start, end = (text.replace("degC", "°C").replace("m3", "m³") for text in ends)
    number, _, unit = start.partition(" ")
    if low == 0.0 and family != "temperature":
        return f"up to {end}"
    return f"{number if unit and unit == end.partition(' ')[2] else start} to {end}"


def _thick(case: Case, units: str) -> Iterator[str]:
    """A wall thicker than the bore it goes round."""
    vessel = sized(case.vessel)
    wall, bore = vessel.wall, getattr(vessel, "diameter", None)
    if bore is None or wall is None or isinstance(wall, str) or case.families.get("vessel.wall", "bore") != "bore":
        return
    if wall > bore:
        yield (f"Vessel wall {show(float(wall), 'bore', units)} is thicker than the bore of "
               f"{show(float(bore), 'bore', units)}. Check both.")
