"""Case files as tables: read, changed at one path, and written again as TOML; no code of the package's editor."""

from __future__ import annotations

import copy
import json
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

from fillcalc.case.fields import Input
from fillcalc.case.read import read_bytes
from fillcalc.case.shape_of import walk
from fillcalc.units.tables import FAMILIES, UNITS

ROOT = Path(__file__).resolve().parents[2]
FULL = ROOT / "tests" / "case" / "full.toml"

Table = dict[str, Any]
Leaf = tuple[str, Input]


@cache
def demos() -> dict[str, bytes]:
    """The shipped cases by name, and the one with every section."""
    files = [*sorted((ROOT / "cases").glob("*.toml")), FULL]
    return {file.stem: file.read_bytes() for file in files if file.stem != "kit"}


def table_of(data: bytes) -> Table:
    """A fresh table of a case file."""
    return tomllib.loads(data.decode("utf-8"))


def written(table: Table) -> bytes:
    """The table as TOML: what is plain first, then inner tables as inline ones."""
    lines = [f"{_key(key)} = {_value(value)}" for key, value in table.items() if not isinstance(value, dict)]
    for key, value in table.items():
        if isinstance(value, dict):
            lines += [f"[{_key(key)}]", *(f"{_key(name)} = {_value(each)}" for name, each in value.items())]
    return ("\n".join(lines) + "\n").encode("utf-8", "surrogatepass")


def _key(key: str) -> str:
    return json.dumps(key)


def _value(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_key(key)} = {_value(each)}" for key, each in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, str):
        # as basic strings of TOML are written; DEL must be escaped there too, lone surrogates cannot be
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    return str(value)


def with_value(table: Table, path: str, value: Any) -> Table:
    """A copy with the leaf at a path such as "fill.hose.2.bore" set; its table is made where it is missing."""
    new = copy.deepcopy(table)
    here: Any = new
    *above, last = path.split(".")
    for name in above:
        here = here[int(name) - 1] if name.isdigit() else here.setdefault(name, {})
    here[last] = value
    return new


def given(table: Table) -> Iterator[Leaf]:
    """Every declared input that stands in the table of a good case, with its declaration for that shape and kind."""
    declared = {path: leaf for path, leaf, _ in walk(read_bytes(written(table), "case"))}
    yield from ((path, declared[path]) for path in _paths(table) if path in declared)


def _paths(table: Table, base: str = "") -> Iterator[str]:
    for key, value in table.items():
        path = base + key
        if key in ("ranges", "reading"):
            continue
        if isinstance(value, dict):
            yield from _paths(value, f"{path}.")
        elif isinstance(value, list) and value and isinstance(value[0], dict) and key != "steps":
            for place, each in enumerate(value, 1):
                yield from _paths(each, f"{path}.{place}.")
        else:
            yield path


def as_text(value: float, declared: Input) -> Any:
    """An SI value as it may stand in a file, exact to the last bit where a unit of factor one exists."""
    if declared.form == "count":
        return int(value)
    if declared.form == "number":
        return float(value)
    family = declared.families[0]
    if family == "temperature":
        return f"{value!r} K"
    units = UNITS[FAMILIES[family].dimension]
    unit = next((name for name, unit in units.items() if unit.factor == 1.0), None)
    if unit is None:
        unit, factor = next((name, unit.factor) for name, unit in units.items())
        return f"{value / factor!r} {unit}"
    return f"{value!r} {unit}{' abs' if family == 'pressure_abs' else ''}"
