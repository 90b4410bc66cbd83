"""One input of a file, read by its declaration: a quantity, number, word, flag, list of points or pair."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import date, datetime, time
from functools import lru_cache
from typing import Any

from fillcalc.case.fields import Input
from fillcalc.case.problems import Found
from fillcalc.units import FAMILIES, UnitProblem, read_number, read_quantity, show, write
from fillcalc.units.nearest import nearest
from fillcalc.units.numerals import NumberProblem, leading_number

MOST_POINTS = 50
LONGEST_TEXT = 20_000
LENGTH_OF_A_DAY = len("2026-11-20")
_HIGHEST_IN_A_LIST = {"pressure": 5e8, "flow": 20.0}


@dataclass(frozen=True)
class Value:
    """A leaf that was read: the value in SI or the word, and the family it was written in."""

    value: Any
    family: str = ""


def described(raw: object) -> str:
    """What stands in the file, in words fit for a problem."""
    if isinstance(raw, bool):
        return "true" if raw else "false"
    if isinstance(raw, str):
        return f'"{raw}"' if raw else "an empty text"
    if isinstance(raw, (datetime, date, time)):
        return f"the date or time {raw}"
    if isinstance(raw, (int, float)):
        return f"the number {raw:.12g}" if isinstance(raw, float) else f"the number {raw}"
    if isinstance(raw, dict):
        return "a table"
    return "a list" if isinstance(raw, list) else type(raw).__name__


def read_leaf(found: Found, path: str, declared: Input, raw: object) -> Value | None:
    """The value of an input, or None with a problem added."""
    return _READERS[declared.form](found, path, declared, raw)


def wanted(declared: Input) -> str:
    """What to write for an input, in words."""
    words = " or ".join(f'"{word}"' for word in declared.words)
    if declared.form == "quantity":
        kinds = " or ".join(FAMILIES[name].label for name in declared.families)
        return f'write {kinds} with its unit, such as "{declared.example}"' + (f", or {words}" if words else "")
    if declared.form == "choice":
        return f"write one of {', '.join(declared.words)}"
    plain = {"flag": "write true or false, without quotes",
             "count": f"write a whole number, such as {declared.example}",
             "number": f"write a plain number, such as {declared.example}",
             "text": f'write a text in quotes, such as "{declared.example}"',
             "date": f'write year, month and day, such as "{declared.example}"',
             "moment": f'write a day and a time, such as "{declared.example}"'}
    return plain.get(declared.form, f"write a list such as {declared.example}")


def in_range(found: Found, path: str, declared: Input, value: float, family: str, said: str) -> float | None:
    """The value if it is legal (a hair over the edge is put on the edge), else None with a problem."""
    low = -math.inf if declared.low is None else declared.low
    high = math.inf if declared.high is None else declared.high
    hair = 1e-9 * abs(value)
    if low - hair <= value <= high + hair:
        return min(max(value, low), high)
    edges = [show(edge, family) if family == "duration" else write(edge, family)
             for edge in (low, high) if math.isfinite(edge)]
    expected = f"write a value between {' and '.join(edges)}" if len(edges) == 2 else \
        f"write no {'more' if math.isinf(low) else 'less'} than {edges[0]}"
    found.add(path, said, expected, declared.help)
    return None


def with_unit(declared: Input, raw: object) -> object:
    """What stands in the file, with the unit of a bare number where the key names it, and a bare zero as text."""
    plain = isinstance(raw, (int, float)) and not isinstance(raw, bool)
    if declared.bare and (plain or isinstance(raw, str)):
        try:
            return f"{read_number(str(raw))!r} {declared.bare}"
        except UnitProblem:
            return raw
    return "0" if plain and raw == 0 else raw


def _quantity(found: Found, path: str, declared: Input, raw: object) -> Value | None:
    written, raw = raw, with_unit(declared, raw)
    if not isinstance(raw, str):
        hint = ""
        if isinstance(raw, (int, float)) and not isinstance(raw, bool):
            hint = "a number needs its unit"
        found.add(path, described(raw), wanted(declared), hint)
        return None
    word = " ".join(raw.split()).casefold() if len(raw) < 100 else ""
    if word in declared.words:
        return Value(word)
    try:
        value, family = _read(raw, declared.families)
    except UnitProblem as problem:
        expected = problem.expected
        if declared.words and not raw[:1].isdigit():
            expected = wanted(declared)
        expected = expected.replace(f'"{FAMILIES[declared.families[0]].example}"', f'"{declared.example}"', 1)
        found.add(path, described(written), *(_outside_and_wall(path, raw) or (expected, problem.hint)))
        return None
    legal = in_range(found, path, declared, value, family, described(written))
    return None if legal is None else Value(legal, family)


@lru_cache(maxsize=4096)
def _read(text: str, families: tuple[str, ...]) -> tuple[float, str]:
    """As `read_quantity`; the same few texts stand in most cases of a folder."""
    return read_quantity(text, families)


_PIPE = re.compile(r"([^x×X]*?) ?[x×X] ?([^x×X]+)")


def _outside_and_wall(path: str, raw: str) -> tuple[str, str] | None:
    """What to write for a pipe given as "88.9 x 3.2 mm", outside diameter and wall; None where it is none."""
    pair = _PIPE.fullmatch(raw.strip()) if path == "vessel.diameter" and len(raw) < 80 else None
    if pair is None:
        return None
    try:
        wall, _ = read_quantity(pair[2], "bore")
        unit = leading_number(pair[2])[1]
        outside, _ = read_quantity(pair[1] if leading_number(pair[1])[1] else f"{pair[1]} {unit}", "bore")
    except (UnitProblem, NumberProblem):
        return None
    if not 0 < 2 * wall < outside:
        return None
    size, _ = read_quantity(f"1 {unit}", "bore")
    return (f'write diameter = "{(outside - 2 * wall) / size:.6g} {unit}" and wall = "{wall / size:.6g} {unit}"',
            "an outside diameter and its wall; the diameter here is the inside one")


def _number(found: Found, path: str, declared: Input, raw: object) -> Value | None:
    if isinstance(raw, bool) or not isinstance(raw, (int, float, str)):
        found.add(path, described(raw), wanted(declared))
        return None
    try:
        value = read_number(raw) if isinstance(raw, str) else float(raw)
    except UnitProblem as problem:
        found.add(path, described(raw), wanted(declared), problem.hint)
        return None
    except OverflowError:
        value = math.inf
    if not math.isfinite(value):
        found.add(path, described(raw), wanted(declared), "not a number that can be used")
        return None
    legal = in_range(found, path, declared, value, "number", described(raw))
    return None if legal is None else Value(legal, "number")


def _count(found: Found, path: str, declared: Input, raw: object) -> Value | None:
    read = _number(found, path, declared, raw)
    if read is None:
        return None
    if read.value != int(read.value):
        found.add(path, described(raw), wanted(declared))
        return None
    return Value(int(read.value), "count")


def _choice(found: Found, path: str, declared: Input, raw: object) -> Value | None:
    if not isinstance(raw, str):
        found.add(path, described(raw), wanted(declared))
        return None
    word = " ".join(raw.split()).casefold() if len(raw) < 100 else ""
    if word in declared.words:
        return Value(word)
    near = nearest(word, declared.words)
    found.add(path, described(raw), wanted(declared), f'did you mean "{near}"?' if near else "")
    return None


def _flag(found: Found, path: str, declared: Input, raw: object) -> Value | None:
    if isinstance(raw, bool):
        return Value(raw)
    found.add(path, described(raw), wanted(declared))
    return None


def _text(found: Found, path: str, declared: Input, raw: object) -> Value | None:
    if isinstance(raw, str) and len(raw) <= LONGEST_TEXT:
        return Value(raw)
    found.add(path, described(raw), wanted(declared), "" if not isinstance(raw, str) else "this text is too long")
    return None


def _date(found: Found, path: str, declared: Input, raw: object) -> Value | None:
    """A day, kept as text; TOML's own dates are taken too."""
    try:
        return Value((raw if type(raw) is date else date.fromisoformat(str(raw).strip())).isoformat())
    except ValueError:
        found.add(path, described(raw), wanted(declared))
        return None


def _moment(found: Found, path: str, declared: Input, raw: object) -> Value | None:
    """A day and the time of the clock on site, kept as text to the second; a zone of time has no meaning here."""
    try:
        read = raw if isinstance(raw, datetime) else datetime.fromisoformat(raw.strip()) if isinstance(raw, str) \
            and len(raw.strip()) > LENGTH_OF_A_DAY else None
    except ValueError:
        read = None
    if read is None or read.tzinfo is not None:
        found.add(path, described(raw), wanted(declared))
        return None
    return Value(read.isoformat(" ", "seconds"))


def _list(found: Found, path: str, declared: Input, raw: object) -> tuple[float, ...] | None:
    """One row of a list of quantities, as long as the declared families."""
    if not isinstance(raw, list) or len(raw) != len(declared.families):
        found.add(path, described(raw),
                  f"write {len(declared.families)} quantities in brackets, as in {declared.example}")
        return None
    row: list[float] = []
    for number, (item, family) in enumerate(zip(raw, declared.families, strict=True), 1):
        each = Input(declared.help, FAMILIES[family].example, (family,), low=0.0, high=_HIGHEST_IN_A_LIST[family])
        read = _quantity(found, f"{path}.{number}", each, item)
        if read is not None:
            row.append(read.value)
    return tuple(row) if len(row) == len(declared.families) else None


def _pair(found: Found, path: str, declared: Input, raw: object) -> Value | None:
    row = _list(found, path, declared, raw)
    return None if row is None else Value(row)


def _points(found: Found, path: str, declared: Input, raw: object) -> Value | None:
    if not isinstance(raw, list) or not 2 <= len(raw) <= MOST_POINTS:
        found.add(path, described(raw), f"write two points or more, as in {declared.example}",
                  f"no more than {MOST_POINTS}" if isinstance(raw, list) and len(raw) > MOST_POINTS else "")
        return None
    rows = [_list(found, f"{path}.{number}", declared, row) for number, row in enumerate(raw, 1)]
    return Value(tuple(rows)) if all(row is not None for row in rows) else None


_READERS = {"quantity": _quantity, "number": _number, "count": _count, "choice": _choice, "flag": _flag,
            "text": _text, "date": _date, "moment": _moment, "pair": _pair, "points": _points}
