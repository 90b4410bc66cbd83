"""Many cases in one call: those that differ by numbers alone, their rows one after another."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from fillcalc.case.records import Assumption, Case, Took
from fillcalc.case.solid import sized
from fillcalc.model.arrays import Array, length, take
from fillcalc.tree import FieldOrNone, mapped, zipped

MOST_ROWS = 16384
"""Rows of one call; more would need much memory for no gain in time."""


@dataclass(frozen=True)
class Batch:
    """Cases as one, which of the given ones they are, and the rows of each."""

    case: Case
    members: tuple[int, ...]
    rows: tuple[slice, ...]


def together(cases: Sequence[Case]) -> Iterator[Batch]:
    """Yield the cases in as few batches as their forms allow; leaves are floats, or arrays (N,) with N of each own.

    What is a whole number, a word or a flag in a case is alike in all of its batch, and so is the level of its vessel
    over the share that is filled, of which one call knows only one.
    """
    lots: dict[object, list[list[int]]] = {}
    bare = [_bare(case) for case in cases]
    counts = [length(case) for case in cases]
    for one, case in enumerate(bare):
        found = lots.setdefault(_form(case), [[]])
        if found[-1] and sum(counts[other] for other in found[-1]) + counts[one] > MOST_ROWS:
            found.append([])
        found[-1].append(one)
    for found in lots.values():
        for members in found:
            ends = np.cumsum([counts[one] for one in members])
            rows = tuple(slice(int(end) - counts[one], int(end)) for end, one in zip(ends, members, strict=True))
            many = [_wide(bare[one], counts[one]) for one in members]
            yield Batch(zipped(many, _joined), tuple(members), rows)


def _bare(case: Case) -> Case:
    """The case without what is said of it and without what no stage of the work hangs on."""
    kept = tuple(Assumption(each.path, "", "") for each in case.assumptions if each.path == "vessel.wall")
    return replace(case, title="", note="", reading=(), took=Took(), ranges={}, assumptions=kept,
                   families=dict(sorted(case.families.items())))


def _form(case: Case) -> tuple[str, bytes]:
    """What two cases must have alike to stand in one batch."""
    inside = take(sized(case.vessel).inside(), 0)
    table = inside.level_table()
    level = b"" if table.straight else table.angle.tobytes() + table.level.tobytes()
    return repr(mapped(case, lambda leaf, field: "#" if _is_number(leaf) else leaf)), level


def _wide(case: Case, rows: int) -> Case:
    return mapped(case, lambda leaf, field: np.broadcast_to(np.asarray(leaf, float), (rows,))
                  if _is_number(leaf) else leaf)


def _joined(leaves: Sequence[Any], field: FieldOrNone) -> Any:
    return np.concatenate(leaves) if isinstance(leaves[0], np.ndarray) else leaves[0]


def _is_number(leaf: Any) -> bool:
    return isinstance(leaf, float | np.ndarray)


def repeated(case: Case, rows: int) -> Case:
    """The case, whose leaves are floats, with every number so many times."""
    return _wide(case, rows)


def split(values: Array, batch: Batch) -> list[Array]:
    """The rows of each member of a batch, of an answer of one row or of all its rows."""
    whole = np.broadcast_to(values, (batch.rows[-1].stop,)) if values.shape[-1] == 1 else values
    return [whole[rows] for rows in batch.rows]
