"""The ranges that a person gave for inputs, and how they meet the values and the defaults' own ranges."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

from fillcalc.case.assume import Read
from fillcalc.case.fields import Input
from fillcalc.case.leaf import described, in_range, with_unit
from fillcalc.case.problems import Found
from fillcalc.case.records import Case, Range
from fillcalc.case.shape_of import has_table, leaf_of, walk
from fillcalc.tree import at, attribute_of, put
from fillcalc.units import FAMILIES, UnitProblem, read_number, read_quantity, to_figures
from fillcalc.units.nearest import nearest

FORMS = 'write "±10 %", or [low, high], or [low, likely, high]'
EXACT = re.compile(r"0+(?:[.,]0*)?")
"""A width without a unit that needs none."""
_AROUND = re.compile(r"\s*(?:±|\+/-|\+-)\s*(.*)", re.DOTALL)


@dataclass(frozen=True)
class Given:
    """A range as written: three values in SI, or a width around the value, relative or in SI; no width is exact."""

    declared: Input
    family: str
    low: float = 0.0
    likely: float | None = None
    high: float = 0.0
    around: float | None = None
    relative: bool = False


def read_ranges(found: Found, read: Read, raw: object) -> Mapping[str, Given]:
    """The table [ranges] of a draft, by path."""
    if not isinstance(raw, dict):
        found.add("ranges", described(raw), f"write a table [ranges] with paths as keys; {FORMS}")
        return {}
    ranges: dict[str, Given] = {}
    flat: dict[str, object] = {}
    _flatten(raw, "", flat)
    for path, value in flat.items():
        declared = _declared(found, read.case, path)
        given = _given(found, f"ranges.{path}", declared, value) if declared else None
        if given is not None:
            ranges[path] = given
    return ranges


def _flatten(raw: Mapping[str, object], base: str, flat: dict[str, object]) -> None:
    """Paths written without quotes come as tables within tables."""
    for key, value in raw.items():
        if isinstance(value, dict):
            _flatten(value, f"{base}{key}.", flat)
        else:
            flat[f"{base}{key}"] = value


def _declared(found: Found, case: Case, path: str) -> Input | None:
    """The declaration of the input at a path of this case, or None with a problem unless its table failed."""
    here: object = case
    parts = path.split(".")
    for part in parts[:-1]:
        if isinstance(here, tuple):
            here = here[int(part) - 1] if re.fullmatch("[1-9][0-9]{0,2}", part) and int(part) <= len(here) else False
        else:
            here = getattr(here, attribute_of(part)) if has_table(here, part) else False
        if here is None and any(p.path.partition(".")[0] == parts[0] for p in found.problems):
            return None
        if not here:
            break
    declared = leaf_of(here, parts[-1]) if here and not isinstance(here, tuple) else None
    if declared is not None and declared.form in ("quantity", "number"):
        return declared
    if declared is not None:
        found.add(f"ranges.{path}", path, "only a quantity or a number can have a range")
        return None
    if not found.full:
        near = nearest(path[:80], (name for name, each, _ in walk(case) if each.form in ("quantity", "number")))
        found.add(f"ranges.{path}", path, "write the path of an input of this case, such as tap.pressure",
                  f"did you mean {near}?" if near else "")
    return None


def _given(found: Found, path: str, declared: Input, raw: object) -> Given | None:
    if isinstance(raw, str):
        around = _AROUND.fullmatch(raw) if len(raw) < 100 else None
        if around is None:
            found.add(path, described(raw), FORMS)
            return None
        return _around(found, path, declared, raw, around.group(1))
    if not isinstance(raw, list) or len(raw) not in (2, 3):
        found.add(path, described(raw), FORMS)
        return None
    values: list[float] = []
    families: list[str] = []
    for number, item in enumerate(raw, 1):
        value = _value(found, f"{path}.{number}", declared, item)
        if value is not None:
            values.append(value[0])
            families.append(value[1])
    if len(values) < len(raw):
        return None
    if len(set(families)) > 1:
        found.add(path, described(raw), "write all values of a range in one kind of unit")
        return None
    if any(one > other for one, other in pairwise(values)):
        found.add(path, "values out of order", "write low first and high last",
                  "low, likely, high" if len(values) == 3 else "")
        return None
    return Given(declared, families[0], values[0], values[1] if len(values) == 3 else None, values[-1])


def _value(found: Found, path: str, declared: Input, raw: object) -> tuple[float, str] | None:
    try:
        if declared.form == "number":
            if isinstance(raw, bool) or not isinstance(raw, (int, float, str)):
                raise UnitProblem(described(raw), f"write a plain number, such as {declared.example}")
            value, family = (read_number(raw) if isinstance(raw, str) else float(raw)), "number"
        elif isinstance(text := with_unit(declared, raw), str):
            value, family = read_quantity(text, declared.families)
        else:
            raise UnitProblem(described(raw), f'write a quantity with its unit, such as "{declared.example}"')
    except UnitProblem as problem:
        found.add(path, described(raw), problem.expected, problem.hint)
        return None
    except OverflowError:
        found.add(path, described(raw), "write a number that can be used")
        return None
    legal = in_range(found, path, declared, value, family, described(raw))
    return None if legal is None else (legal, family)


def _around(found: Found, path: str, declared: Input, raw: str, width: str) -> Given | None:
    """A range of a value and a width on both sides."""
    temperature = "temperature" in declared.families
    if EXACT.fullmatch(width.strip()):
        return Given(declared, "", around=0.0, relative=True)
    families = ("temperature_change",) if temperature else tuple(f for f in declared.families if f != "number")
    try:
        if width.rstrip().endswith("%") and not temperature:
            value, _ = read_quantity(width, "share")
            if not 0 <= value <= 1:
                raise UnitProblem(raw, 'write a width from 0 % to 100 %, such as "±10 %"')
            return Given(declared, "", around=value, relative=True)
        value, family = (read_quantity(str(with_unit(declared, width)), families) if families
                         else (read_number(width), "number"))
    except UnitProblem as problem:
        example = FAMILIES[families[0]].example if families else "0.1"
        found.add(path, described(raw), f'write "±{"" if temperature else "10 % or ±"}{example}"'
                  if "such as" in problem.expected else problem.expected,
                  "a share of a temperature has no meaning" if temperature and "%" in width else problem.hint)
        return None
    if not value >= 0:
        found.add(path, described(raw), "write a width without a minus sign")
        return None
    return Given(declared, "" if temperature else family, around=value)


def apply_ranges(found: Found, case: Case, ranges: Mapping[str, Given], given: frozenset[str]) -> Case:
    """The case with these ranges in place of those of defaults.

    A likely value also stands in for a value that nobody gave, in place of the default.
    """
    merged = dict(case.ranges)
    for path, spread in ranges.items():
        if spread.likely is not None and path not in given and _may_stand_in(case, path):
            case = put(case, path, spread.likely)
            if len(spread.declared.families) > 1:
                case = replace(case, families={**case.families, path: spread.family})
            case = replace(case, assumptions=tuple(
                replace(each, value="the likely value of its range", why="only a range was given")
                if each.path == path else each for each in case.assumptions))
        placed = _placed(found, case, path, spread)
        if placed is not None:
            merged[path] = placed
    return replace(case, ranges=merged)


def typed_spread(case: Case, path: str) -> str:
    """How far a value that was typed without a range is taken to be from the truth, such as "±10 %"; "" where it is
    exact, has a range of its own, or was not given."""
    asked = case.ranges.get(path)
    if asked is None or asked.given or _may_stand_in(case, path):
        return ""
    value = float(at(case, path))
    low, high = asked.low / value, asked.high / value
    if asked.likely is None:
        return f"±{to_figures(100.0 * max(1.0 - low, high - 1.0)):g} %"
    return f"{to_figures(low):g} to {to_figures(high):g} times"


def _may_stand_in(case: Case, path: str) -> bool:
    return any(each.path == path for each in case.assumptions)


def _placed(found: Found, case: Case, path: str, spread: Given) -> Range | None:
    value = at(case, path)
    if value is None or isinstance(value, str):
        said = f'"{value}"' if isinstance(value, str) else ""
        found.add(f"ranges.{path}", said, f"give {path} a value first", "a range needs a value within it")
        return None
    family = case.families.get(path, spread.declared.families[0])
    if spread.around is None:
        if len(spread.declared.families) > 1 and spread.family != family:
            found.add(f"ranges.{path}", "", f"write the range as {FAMILIES[family].label}, as the value is")
            return None
        return Range(spread.low, spread.likely, spread.high, given=True)
    if spread.family not in ("", family):
        found.add(f"ranges.{path}", "", f"write the width as {FAMILIES[family].label}, as the value is")
        return None
    width = abs(value) * spread.around if spread.relative else spread.around
    if width == 0 and spread.around > 0:
        found.add(f"ranges.{path}", "", "write [low, high]: a share of 0 is no range")
        return None
    low = in_range(found, f"ranges.{path}", spread.declared, value - width, family, "a low end out of range")
    high = in_range(found, f"ranges.{path}", spread.declared, value + width, family, "a high end out of range")
    return None if low is None or high is None else Range(low, None, high, given=True)
