"""Check values as they stand in the TOML files, brought to SI.

A file holds rows in three forms:

- ``[[row]]``: name, what, inputs, expected;
- ``[[table]]`` with ``columns``: one row for each line, the last column being the expected value;
- ``[[table]]`` with ``down`` and ``across``: a table of two entries as printed, cells in the unit ``cells``.

All carry tolerance and because (why that wide), source, and provenance, one of `fillcalc.case.provenance.Provenance`.
Where a value is known in two ways the weaker stands: a number that the source prints, in other units or times a count,
is read or second-hand; one worked out from its formula is computed. A computed value says ``computed_with``, a library
and its version; common practice has no source and says so.

Quantities are written as in the source, "24 bar", "45.89e-6 1/bar"; a word or a plain number goes through as it is.
``match`` says how a result is held against the expected value: "near" it, "between" two, "holds" (the answer is a low
and a high that must hold the expected value), "above" or "below" it. A row with ``must_fail`` is a misprint, a wrong
source or a trap: it must not match. An empty cell of a table is left out. What is missing or not understood is a
`ValueError` that names the file and the row.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pint

from fillcalc.case.provenance import Provenance

FOLDER = Path(__file__).parent
MATCHES = ("near", "between", "holds", "above", "below")
ATMOSPHERE = 101325.0
WORDS = ("text", "family", "size", "schedule", "standard", "edition", "kinds", "subject", "gas")
"""Inputs that are words whatever they look like."""
NEEDED = ("name", "what", "expected", "tolerance", "because", "source", "provenance")
ALLOWED = {*NEEDED, "inputs", "match", "must_fail", "computed_with"}
NO_SOURCE = "common practice, no source"

_NUMBER = re.compile(r"([+-]?[0-9][0-9_]*(?:\.[0-9]+)?(?:e[+-]?[0-9]+)?)\s*(.*)", re.IGNORECASE)
_HEADING = re.compile(r"(\w+)(?: \[(.+)\])?")
_LIBRARY = re.compile(r"[\w.-]+ \d+(\.\d+)+")
_UNITS = pint.UnitRegistry()


@dataclass(frozen=True)
class Row:
    """One check value; inputs and expected in SI. `slack` is the tolerance as an absolute number."""

    file: str
    name: str
    what: str
    inputs: dict[str, Any]
    expected: tuple[float, ...]
    match: str
    slack: float
    because: str
    source: str
    provenance: Provenance
    must_fail: bool

    def matches(self, result: Any) -> bool:
        """Whether a result is what the row says."""
        first, last = self.expected[0], self.expected[-1]
        if self.match == "holds":
            low, high = result
            return bool(low - self.slack <= first and last <= high + self.slack)
        value = float(result)
        if self.match == "between":
            return first - self.slack <= value <= last + self.slack
        if self.match == "above":
            return value > first - self.slack
        if self.match == "below":
            return value < first + self.slack
        return abs(value - first) <= self.slack


@cache
def _unit(unit: str) -> float:
    """What one of the unit is in SI."""
    return float(_UNITS.parse_expression(unit).to_base_units().magnitude) if unit else 1.0


def _measured(number: float, unit: str) -> float:
    if unit in ("degC", "degF", "degR"):
        return float(_UNITS.Quantity(number, unit).to("kelvin").magnitude)
    return number * _unit(unit)


def value(written: Any) -> Any:
    """A quantity in SI; a word, a flag or a plain number as it is."""
    if isinstance(written, list):
        return tuple(value(item) for item in written)
    if not isinstance(written, str):
        return written
    if written == "1 atm":
        return ATMOSPHERE
    found = _NUMBER.fullmatch(written)
    return _measured(float(found[1]), found[2]) if found else written


def _slack(written: Any, expected: float) -> float:
    """A share of the expected value, an absolute quantity, or the sum of several such."""
    if isinstance(written, list):
        return sum(_slack(item, expected) for item in written)
    if written == "exact":
        return 1e-12 * max(abs(expected), 1.0)
    if isinstance(written, str) and written.endswith("%"):
        return float(written[:-1]) / 100 * abs(expected)
    if isinstance(written, str):
        number, unit = _NUMBER.fullmatch(written).groups()  # type: ignore[union-attr]
        return float(number) * _unit(unit)
    return float(written)


def _refuse(entry: dict[str, Any], expected: tuple[float, ...]) -> str:
    """What is wrong with a row, or nothing."""
    said, match = entry["provenance"], entry.get("match", "near")
    unknown = sorted(set(entry) - ALLOWED)
    if unknown:
        return f"unknown {', '.join(unknown)}"
    if said not in list(Provenance):
        return f"provenance {said!r}; one of {', '.join(Provenance)} as a plain word is expected"
    if (said == Provenance.COMPUTED) != bool(_LIBRARY.fullmatch(entry.get("computed_with", ""))):
        return 'computed_with a library and its version, "numpy 2.4.6", goes with "computed" and with nothing else'
    if (said == Provenance.COMMON_PRACTICE) != entry["source"].startswith(NO_SOURCE):
        return f'a source that begins with "{NO_SOURCE}" goes with "{Provenance.COMMON_PRACTICE}" and with nothing else'
    if match not in MATCHES:
        return f"match {match!r}; one of {', '.join(MATCHES)} is expected"
    if match != "holds" and len(expected) != (2 if match == "between" else 1):
        return f"{len(expected)} expected values do not go with {match!r}"
    return ""


def _row(file: str, entry: dict[str, Any]) -> Row:
    where = f"{file}.toml, {entry.get('name', 'a row without a name')}"
    missing = [key for key in NEEDED if entry.get(key, "") == ""]
    if missing:
        raise ValueError(f"{where}: lacks {', '.join(missing)}")
    expected = value(entry["expected"])
    expected = tuple(map(float, expected)) if isinstance(expected, tuple) else (float(expected),)
    wrong = _refuse(entry, expected)
    if wrong:
        raise ValueError(f"{where}: {wrong}")
    return Row(
        file=file,
        name=entry["name"],
        what=entry["what"],
        inputs={key: written if key in WORDS else value(written) for key, written in entry.get("inputs", {}).items()},
        expected=expected,
        match=entry.get("match", "near"),
        slack=_slack(entry["tolerance"], expected[0]),
        because=entry["because"],
        source=entry["source"],
        provenance=Provenance(entry["provenance"]),
        must_fail=entry.get("must_fail", False),
    )


def _split(heading: str) -> tuple[str, str]:
    name, unit = _HEADING.fullmatch(heading).groups()  # type: ignore[union-attr]
    return name, unit or ""


def _written(cell: Any, unit: str) -> Any:
    """A cell under a unit, as a row would write it."""
    return f"{cell!r} {unit}" if unit and isinstance(cell, int | float) else cell


def _lines(table: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """A table as rows."""
    common = {key: item for key, item in table.items() if key not in ("columns", "rows", "down", "across", "cells")}
    inputs = table.get("inputs", {})
    if "columns" in table:
        headings = [_split(heading) for heading in table["columns"]]
        for cells in table["rows"]:
            named = {name: _written(cell, unit) for (name, unit), cell in zip(headings, cells, strict=True)}
            label = ", ".join(f"{name} {cell}" for name, cell in list(named.items())[:-1])
            yield {**common, "name": f"{table['name']}: {label}", "expected": named.pop("expected"),
                   "inputs": {**inputs, **named}}
        return
    name, unit = _split(table["down"])
    key, *heads = table["across"]
    for first, *cells in table["rows"]:
        for head, cell in zip(heads, cells, strict=True):
            if cell != "":
                at = {name: _written(first, unit), key: head}
                label = ", ".join(str(item) for item in at.values())
                yield {**common, "name": f"{table['name']}: {label}", "inputs": {**inputs, **at},
                       "expected": _written(cell, table["cells"])}


def entries(path: Path) -> list[dict[str, Any]]:
    """The rows of a file as written, its tables taken apart."""
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    return [*data.get("row", []), *(line for table in data.get("table", []) for line in _lines(table))]


def rows() -> list[Row]:
    """All rows of all files."""
    return [_row(path.stem, entry) for path in sorted(FOLDER.glob("*.toml")) for entry in entries(path)]
