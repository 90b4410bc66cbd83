"""Ranges as they are typed and as they stand in a case's text."""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING, Any

from tui.inputs import as_typed

if TYPE_CHECKING:
    from fillcalc.case.fields import Input
    from fillcalc.case.records import Case

NONE = "none"
"""Typed to take a range out."""
_BETWEEN = re.compile(r"\s*;\s*|\s+to\s+|,\s+|\s*…\s*|\s*\.\.\.?\s*")
_PART = re.compile(r"([0-9][0-9.,]*)\s*(.*)", re.DOTALL)
_AROUND = re.compile(r"(?:±|\+\s*/\s*-|\+\s*-)\s*(.*)", re.DOTALL)


def written_range(table: Any, path: str) -> str:
    """The range that stands in a parsed text for an input, as one would type it; "" where none does."""
    ranges = table.get("ranges") if isinstance(table, dict) else None
    return as_typed(ranges.get(path)) if isinstance(ranges, dict) else ""


def as_written(typed: str) -> str:
    """What is handed to the text for what was typed: "±10 %", or a list of two or three quantities.

    Parts stand apart by ";", "to" or a comma with a space; a unit after the last serves them all.
    """
    typed = typed.strip()
    around = _AROUND.fullmatch(typed)
    if around:
        return f"±{around[1].strip()}"
    parts = [part for part in _BETWEEN.split(typed) if part]
    if len(parts) < 2:
        return typed
    unit = _PART.fullmatch(parts[-1])
    if unit and unit[2]:
        parts = [f"{part} {unit[2]}" if (bare := _PART.fullmatch(part)) and not bare[2] else part for part in parts]
    return "; ".join(parts)


def with_range(text: str, path: str, typed: str) -> str:
    """The text with this range for the input at the path; "none" takes it out. Raises EditProblem."""
    from fillcalc.case.edit import set_at

    if typed.casefold() == NONE:
        return without_ranges(text, [path])
    return set_at(text, f"ranges.{path}", as_written(typed))


def without_ranges(text: str, paths: list[str]) -> str:
    """The text without the ranges of these inputs, and without the table once it is empty."""
    from fillcalc.case.edit import set_at

    for path in paths:
        text = set_at(text, f"ranges.{path}", None)
    ranges = _ranges(text)
    return set_at(text, "ranges", None) if ranges is not None and not ranges else text


def ranges_within(text: str, place: str) -> list[str]:
    """Paths of the ranges that belong to inputs of one table, such as "fill.hose.1"."""
    return [path for path in _ranges(text) or {} if path.startswith(f"{place}.")]


def _ranges(text: str) -> dict[str, Any] | None:
    found = tomllib.loads(text).get("ranges")
    return found if isinstance(found, dict) else None


def without_item(text: str, path: str) -> str:
    """The ranges after an item was taken out of a list: its own are gone, those of later items move up."""
    from fillcalc.case.edit import set_at

    front, _, number = path.rpartition(".")
    if not number.isdigit():
        return without_ranges(text, ranges_within(text, path))
    later: dict[str, Any] = {}
    gone = ranges_within(text, path)
    for key, value in (_ranges(text) or {}).items():
        place, _, leaf = key.removeprefix(f"{front}.").partition(".")
        if key.startswith(f"{front}.") and place.isdigit() and int(place) > int(number):
            later[f"{front}.{int(place) - 1}.{leaf}"] = value
            gone.append(key)
    text = without_ranges(text, gone)
    for key, value in later.items():
        text = set_at(text, f"ranges.{key}", as_typed(value))
    return text


def can_have(declared: Input) -> bool:
    """Whether an input can have a range at all."""
    return declared.form in ("quantity", "number")


def range_lines(case: Case | None, path: str, declared: Input, units: str) -> list[tuple[str, str]]:
    """What the help says of the range of an input: given, assumed or none; and the key."""
    if not can_have(declared):
        return []
    asked = case.ranges.get(path) if case is not None else None
    if case is None or asked is None:
        return [("No range: ", "taken as exact. Esc G gives one.")]
    from fillcalc.units import show

    family = case.families.get(path, declared.families[0] if declared.families else "number")
    ends = [float(end) for end in (asked.low, asked.likely, asked.high) if end is not None]
    told = [f"{end:.4g}" if family == "number" else show(end, family, units) for end in ends]
    names = ("low", "likely", "high") if len(told) == 3 else ("low", "high")
    words = ", ".join(f"{name} {figure}" for name, figure in zip(names, told, strict=True))
    return [("Range given: " if asked.given else "Range assumed: ", f"{words}. Esc G changes it.")]
