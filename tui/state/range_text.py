"""Ranges as they are typed and as they stand in a case's text."""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING

from fillcalc.units.numerals import NumberProblem, leading_number
from fillcalc.units.printable import shown
from tui.state.inputs import Row, as_typed

if TYPE_CHECKING:
    from fillcalc.case.fields import Input
    from fillcalc.case.records import Case

RANGE = "Range (Alt+G): "
NONE = "none"
"""Typed to take a range out."""
_BETWEEN = re.compile(r"\s*;\s*|\s+to\s+|,\s+|\s*…\s*|\s*\.\.\.?\s*")
_PART = re.compile(r"([-+−]?[0-9][0-9.,]*)\s*(.*)", re.DOTALL)
_AROUND = re.compile(r"(?:±|\+\s*/\s*-|\+\s*-)\s*(.*)", re.DOTALL)


def ranges_in(table: object) -> dict[str, object]:
    """The ranges that stand in a parsed text, by the path of their input, whichever way the keys are written."""
    flat: dict[str, object] = {}

    def add(base: str, ranges: dict[str, object]) -> None:
        for key, value in ranges.items():
            if isinstance(value, dict):
                add(f"{base}{key}.", value)
            else:
                flat[f"{base}{key}"] = value

    ranges = table.get("ranges") if isinstance(table, dict) else None
    add("", ranges if isinstance(ranges, dict) else {})
    return flat


def written_range(table: object, path: str) -> str:
    """The range that stands in a parsed text for an input, as one would type it; "" where none does."""
    return as_typed(ranges_in(table).get(path))


def range_mark(written: str, value: str, room: int) -> str:
    """A range in at most so many characters, for a place beside its value: "±10 %", "26…32", or a mere mark."""
    if not written:
        return ""
    parts = [part.strip() for part in written.split(";")]
    ways = [written if len(parts) == 1 else f"{parts[0]}…{parts[-1]}"]
    ends = [found for part in (parts[0], parts[-1], value) if (found := _PART.fullmatch(part))]
    if len(parts) > 1 and len(ends) == 3 and len({end[2] for end in ends}) == 1:
        bare = f"{ends[0][1]}…{ends[1][1]}"
        ways = [f"{bare} {ends[0][2]}".rstrip(), bare]
    return next((words for words in ways if len(words) <= room), "±")


def range_as_typed(typed: str) -> str:
    """What is handed to the text for what was typed: "±10 %", or a list of two or three quantities.

    Parts stand apart by ";", "to" or a comma with a space; a unit after the last serves them all. Brackets and quotes,
    as a case file has them, are left out.
    """
    typed = re.sub(r'[\[\]"]', "", typed).strip()
    around = _AROUND.fullmatch(typed)
    if around:
        return f"±{around[1].strip()}"
    parts = [part for part in _BETWEEN.split(typed) if part]
    if len(parts) < 2:
        return typed
    unit = _unit_of(parts[-1])
    return "; ".join(f"{part} {unit}" if unit and _unit_of(part) == "" else part for part in parts)


def _unit_of(part: str) -> str | None:
    """What follows the number of a part; None where it does not begin with a number."""
    try:
        return leading_number(part)[1]
    except NumberProblem:
        found = _PART.fullmatch(part)
        return found[2] if found else None


def with_range(text: str, path: str, typed: str) -> str:
    """The text with this range for the input at the path; "none" takes it out. Raises EditProblem."""
    from fillcalc.case.edit import set_at

    if typed.casefold() == NONE:
        return without_ranges(text, [path])
    return set_at(text, f"ranges.{path}", range_as_typed(typed))


def without_ranges(text: str, paths: list[str]) -> str:
    """The text without the ranges of these inputs."""
    from fillcalc.case.edit import set_at

    for path in paths:
        text = set_at(text, f"ranges.{path}", None)
    return text


def ranges_within(text: str, path: str) -> list[str]:
    """Paths of the ranges that belong to inputs of one table, such as "fill.hose.1"."""
    return [each for each in ranges_in(tomllib.loads(text)) if each.startswith(f"{path}.")]


def without_item(text: str, path: str) -> str:
    """The ranges after an item was taken out of a list: its own are gone, those of later items move up."""
    from fillcalc.case.edit import set_at

    front, _, number = path.rpartition(".")
    if not number.isdigit():
        return without_ranges(text, ranges_within(text, path))
    later: dict[str, object] = {}
    gone = ranges_within(text, path)
    for key, value in ranges_in(tomllib.loads(text)).items():
        index, _, leaf = key.removeprefix(f"{front}.").partition(".")
        if key.startswith(f"{front}.") and index.isdigit() and int(index) > int(number):
            later[f"{front}.{int(index) - 1}.{leaf}"] = value
            gone.append(key)
    text = without_ranges(text, gone)
    for key, value in later.items():
        text = set_at(text, f"ranges.{key}", as_typed(value))
    return text


def can_have(declared: Input) -> bool:
    """Whether an input can have a range at all."""
    return declared.form in ("quantity", "number")


def range_lines(case: Case | None, written: str, row: Row, units: str) -> list[tuple[str, str]]:
    """What the help says of the range of an input: as written or given, assumed or none; and the key.

    `case` is the last one that could be read; where it does not know of what is written, the words of the text stand.
    """
    if not can_have(row.declared):
        return []
    asked = case.ranges.get(row.path) if case is not None else None
    if case is None or (asked is not None and asked.given) != bool(written):
        return [(RANGE, f"{shown(written)}.")] if written else []
    if asked is None:
        return [(RANGE, "none, taken as exact.")]
    from fillcalc.units import show

    family = case.families.get(row.path, row.declared.families[0] if row.declared.families else "number")
    from fillcalc.case.spread import typed_spread

    if typed := typed_spread(case, row.path):
        return [(RANGE, f"typed, {typed}.")]
    likely = asked.likely if asked.given else None
    ends = [float(end) for end in (asked.low, likely, asked.high) if end is not None]
    sentences = [f"{end:.4g}" if family == "number" else show(end, family, units) for end in ends]
    in_units = [figure.partition(" ")[2] for figure in sentences]
    if len(set(in_units)) == 1:
        sentences = [figure.partition(" ")[0] for figure in sentences[:-1]] + sentences[-1:]
    names = ("low", "likely", "high") if len(sentences) == 3 else ("low", "high")
    words = ", ".join(f"{name} {figure}" for name, figure in zip(names, sentences, strict=True))
    return [(RANGE, f"{'' if asked.given else 'assumed, '}{words}.")]
