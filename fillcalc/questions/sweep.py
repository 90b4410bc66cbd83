"""One input over many values: an estimate whose answers are arrays, for a table or a plot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import isfinite
from typing import Any

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case.fields import Input, inputs
from fillcalc.case.records import Case
from fillcalc.estimation.answers import Estimate
from fillcalc.estimation.estimate import estimate
from fillcalc.tree import FieldOrNone, at, put, zipped
from fillcalc.units import UnitProblem, read_number, read_quantity


def sweep(case: Case, path: str, values: Sequence[str | float]) -> Estimate:
    """The estimate with the input at `path` at each of `values`; every answer is an array (N,) in their order.

    A value is a text with its unit ("12.7 mm") or a number in SI. The path is that of the case file
    ("fill.hose.1.bore"), the input one that the case gives or that was assumed for it; all else stays as it is,
    assumptions too. Lists (charts, strokes at the marks) are those of the first value; the ladder, the regulator
    and what filling can put on the vessel, which are told of one case only, are left out. ValueError for a path
    that is no quantity of the case, a value that cannot be read, or one outside the input's legal range.
    """
    declared = _declared(case, path)
    read = [_value(case, path, declared, value) for value in values]
    if not read:
        raise ValueError("give one value or more")
    families = {family for _, family in read}
    if len(families) > 1:
        raise ValueError(f"{path}: all values must be of one kind, not {' and '.join(sorted(families))}")
    numbers = np.array([number for number, _ in read])
    asked = replace(case, families={**case.families, path: families.pop()})
    if path.startswith("vessel."):
        # All rows of one estimate have the level table of the first; another shape needs its own.
        return _joined([_one(asked, path, number) for number in numbers])
    return _one(asked, path, numbers)


def _one(case: Case, path: str, value: Array | float) -> Estimate:
    return replace(estimate(put(case, path, value)), air_ladder=(), regulator=None, fill_pressures=None)


def _joined(parts: Sequence[Estimate]) -> Estimate:
    """One record of several of one row: their numbers after one another, lists and words of the first."""
    return zipped(parts, _one_after_another)


def _one_after_another(values: Sequence[Any], field: FieldOrNone) -> Any:
    said = None if field is None else field.metadata.get("answer")
    if said is not None and said.listed:
        return values[0]
    return np.concatenate(values, axis=-1) if isinstance(values[0], np.ndarray) else values[0]


def _declared(case: Case, path: str) -> Input:
    """The declaration of a quantity that the case has."""
    record, _, key = path.rpartition(".")
    try:
        if "0" in path.split("."):
            raise IndexError("places count from 1")
        leaf = at(case, path)
        declared = inputs(type(at(case, record)))[key] if record else None
    except (AttributeError, IndexError, KeyError, TypeError):
        raise ValueError(f"{path}: the case has no such input") from None
    if declared is None or declared.form not in ("quantity", "number"):
        raise ValueError(f"{path}: only a quantity can take several values")
    if leaf is None:
        raise ValueError(f"{path}: the case does not use it; give it in the case first")
    return declared


def _value(case: Case, path: str, declared: Input, value: str | float) -> tuple[float, str]:
    """A value in SI and its family."""
    family = case.families.get(path, declared.families[0] if len(declared.families) == 1 else "")
    try:
        if not isinstance(value, str):
            number = float(value)
        elif declared.form == "number":
            number = read_number(value)
        else:
            number, family = read_quantity(value, declared.families)
    except UnitProblem as problem:
        raise ValueError(f"{path}: {problem}") from None
    if not family:
        raise ValueError(f'{path}: write the value with its unit, such as "{declared.example}"')
    low = -np.inf if declared.low is None else declared.low
    high = np.inf if declared.high is None else declared.high
    if not isfinite(number) or not low <= number <= high:
        raise ValueError(f"{path}: {value} is outside {low:g} to {high:g} (SI)")
    return number, family
