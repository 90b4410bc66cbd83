"""An answer is declared with where it is shown; one that is shown nowhere is found here."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass, replace
from math import isfinite
from typing import Any

from fillcalc.estimation.answers import Estimate
from fillcalc.formats.text import report
from tests.report.demo import NAMES, ranged

PLACES = ("report", "some", "data")


def leaves(record: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[tuple[Any, ...], str]]:
    """The path of every single answer of an estimate, the first of each list of records, and where it is shown."""
    for f in fields(record):
        said, value = f.metadata.get("answer"), getattr(record, f.name)
        if said is not None:
            if said.family and not said.listed and value is not None:
                yield (*path, f.name), said.shown
        elif is_dataclass(value) and not isinstance(value, type):
            yield from leaves(value, (*path, f.name))
        elif isinstance(value, tuple) and value and is_dataclass(value[0]) and f.name != "spreads":
            yield from leaves(value[0], (*path, f.name, 0))


def changed(record: Any, path: tuple[Any, ...], other: Callable[[Any], float]) -> Any:
    name, *rest = path
    if rest and rest[0] == 0:
        first, *more = getattr(record, name)
        return replace(record, **{name: (changed(first, tuple(rest[1:]), other), *more)})
    inner = getattr(record, name)
    return replace(record, **{name: changed(inner, tuple(rest), other) if rest else other(inner)})


def _other(value: Any) -> float:
    number = float(value)
    return 1.37 * number if number and isfinite(number) else 0.37


def _moved(estimate: Estimate, path: tuple[Any, ...]) -> Estimate:
    """The estimate with one answer moved, and its range with it."""
    name = ".".join(map(str, path))
    spreads = tuple(replace(one, low=_other(one.low), likely=_other(one.likely), high=_other(one.high))
                    if one.path == name else one for one in estimate.spreads)
    moved = changed(estimate, path, _other)
    assert isinstance(moved, Estimate)
    return replace(moved, spreads=spreads)


def test_each_answer_is_shown_where_it_says() -> None:
    """Moved by a third, it moves the report of some demo case."""
    declared: dict[tuple[Any, ...], str] = {}
    seen: set[tuple[Any, ...]] = set()
    for name in NAMES:
        case, estimate = ranged(name)
        before = report(case, estimate)
        for path, shown in leaves(estimate):
            declared[path] = shown
            if shown == "report" and path not in seen and report(case, _moved(estimate, path)) != before:
                seen.add(path)
    assert set(declared.values()) <= set(PLACES)
    assert [path for path, shown in declared.items() if shown == "report" and path not in seen] == []
