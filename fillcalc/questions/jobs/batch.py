"""Many cases in one call: those that differ by numbers alone, their rows one after another."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fillcalc.arrays import Array, take
from fillcalc.case.records import Case, Took
from fillcalc.case.solid import sized
from fillcalc.tree import FieldOrNone, leaves, mapped

MOST_ROWS = 16384
"""Rows of one call; more would need much memory for no gain in time."""


@dataclass(frozen=True)
class Batch:
    """Cases as one, which of the given ones they are, and the rows of each."""

    case: Case
    members: tuple[int, ...]
    rows: tuple[slice, ...]


def together(cases: Sequence[Case], counts: Sequence[int]) -> Iterator[Batch]:
    """Yield the cases in as few batches as their forms allow, each with so many rows as `counts` says.

    Leaves are floats, which stand in all rows of their case, or arrays of its rows. What is a whole number, a word or
    a flag in a case is alike in all of its batch, and so is the level of its vessel over the share that is filled, of
    which one call knows only one.
    """
    bare = [_bare(case) for case in cases]
    forms = [_form_and_numbers(case) for case in bare]
    lots: dict[object, list[list[int]]] = {}
    for one, (form, _) in enumerate(forms):
        found = lots.setdefault(form, [[]])
        if found[-1] and sum(counts[other] for other in found[-1]) + counts[one] > MOST_ROWS:
            found.append([])
        found[-1].append(one)
    for found in lots.values():
        for members in found:
            ends = np.cumsum([counts[one] for one in members])
            rows = tuple(slice(int(end) - counts[one], int(end)) for end, one in zip(ends, members, strict=True))
            numbers = zip(*(forms[one][1] for one in members), strict=True)
            columns = iter([_column(column, rows) for column in numbers])
            yield Batch(_with(bare[members[0]], columns), tuple(members), rows)


def _bare(case: Case) -> Case:
    """The case without what is said of it and without what no stage of the work hangs on."""
    kept = tuple(replace(each, value="", why="", own=False) for each in case.assumptions if each.path == "vessel.wall")
    return replace(case, title="", note="", reading=(), took=_NOTHING, ranges={}, assumptions=kept)


_NOTHING = Took()


def _form_and_numbers(case: Case) -> tuple[object, list[float | Array]]:
    """What two cases must have alike to stand in one batch, and the numbers that may differ, in the order declared."""
    words: list[object] = []
    numbers: list[float | Array] = []
    for leaf, _ in leaves(case):
        if _is_number(leaf):
            numbers.append(leaf)
            words.append("#")
        else:
            words.append(tuple(sorted(leaf.items())) if isinstance(leaf, dict) else leaf)
    table = take(sized(case.vessel).inside(), 0).level_table()
    level = b"" if table.straight else table.angle.tobytes() + table.level.tobytes()
    kinds = type(case.vessel), type(case.tap), type(case.pump), len(case.fill.hose), len(case.test.steps)
    return (kinds, tuple(words), level), numbers


def _column(values: Sequence[float | Array], rows: Sequence[slice]) -> Array:
    whole = np.empty(rows[-1].stop)
    for value, place in zip(values, rows, strict=True):
        whole[place] = value
    return whole


def _with(case: Case, columns: Iterator[Array]) -> Case:
    def next_one(leaf: object, field: FieldOrNone) -> object:
        return next(columns) if _is_number(leaf) else leaf

    return mapped(case, next_one)


def _is_number(leaf: object) -> bool:
    return isinstance(leaf, float | np.ndarray)


def split(values: Array, batch: Batch) -> list[Array]:
    """The rows of each member of a batch, of an answer of one row or of all its rows."""
    whole = np.broadcast_to(values, (batch.rows[-1].stop,)) if values.shape[-1] == 1 else values
    return [whole[rows] for rows in batch.rows]
