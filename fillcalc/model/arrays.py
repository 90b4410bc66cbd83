"""Records of arrays: all leaves brought to one length, and rows taken out of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from functools import cache
from operator import is_
from typing import TYPE_CHECKING, Any, TypeAlias, TypeVar

import numpy as np

if TYPE_CHECKING:  # numpy.typing costs a twentieth of a cold start
    from numpy.typing import NDArray

    Array: TypeAlias = NDArray[np.float64]
else:
    Array = np.ndarray

Record = TypeVar("Record")


def length(record: Any) -> int:
    """The common length N of the array leaves of a record; 1 if every leaf is a plain number."""
    sizes = {leaf.shape[-1] for leaf in _leaves(record) if leaf.ndim}
    sizes.discard(1)
    if len(sizes) > 1:
        raise ValueError(f"leaves of different lengths: {sorted(sizes)}")
    return sizes.pop() if sizes else 1


def spread(record: Record, n: int) -> Record:
    """A copy whose every number is a float array with a last axis of n; words, flags and None stay."""
    def wide(leaf: Any) -> Any:
        if n == 1 and not isinstance(leaf, np.ndarray):
            return np.array([leaf], float)
        return np.broadcast_to(np.asarray(leaf, float), (*np.shape(leaf)[:-1], n))

    return _each(record, wide)


def take(record: Record, rows: Any) -> Record:
    """A copy with only these rows (a mask, indices or a slice) of every array leaf; plain numbers stay."""
    return _each(record, lambda leaf: np.asarray(leaf)[..., rows] if np.ndim(leaf) else leaf)


def lots(n: int, size: int) -> Iterator[slice]:
    """The rows from 0 to n in lots of `size` that follow each other."""
    return (slice(first, first + size) for first in range(0, n, size))


def joined(first: Any, second: Any, rows: int) -> Any:
    """Two records of one kind as one: the first with `rows` rows, then those of the second but its own first.

    What has no such rows stays as it is in the first.
    """
    if isinstance(first, tuple):
        return tuple(joined(*pair, rows) for pair in zip(first, second, strict=True))
    places = _places(first.__class__)
    if places is None:
        has_rows = isinstance(first, np.ndarray) and first.shape[-1:] == (rows,)
        return np.concatenate([first, second[..., 1:]], axis=-1) if has_rows else first
    return first.__class__(**{name: joined(getattr(first, name), getattr(second, name), rows)
                              for name, taken in places if taken})


def _is_number(leaf: Any) -> bool:
    return isinstance(leaf, float | np.ndarray) or (isinstance(leaf, int) and not isinstance(leaf, bool))


@cache
def _places(kind: type) -> tuple[tuple[str, bool], ...] | None:
    """Names of the fields of a record, and whether its constructor takes them; None for what is no record."""
    return tuple((place.name, place.init) for place in fields(kind)) if is_dataclass(kind) else None


def _each(record: Any, change: Any) -> Any:
    if isinstance(record, tuple):
        return tuple(_each(item, change) for item in record)
    places = _places(record.__class__)
    if places is None:
        return change(record) if _is_number(record) else record
    old = {name: getattr(record, name) for name, taken in places if taken}
    new = {name: _each(leaf, change) for name, leaf in old.items()}
    return record if all(map(is_, new.values(), old.values())) else record.__class__(**new)


def _leaves(record: Any) -> list[np.ndarray]:
    """The leaves that are arrays."""
    if isinstance(record, tuple):
        return [leaf for item in record for leaf in _leaves(item)]
    places = _places(record.__class__)
    if places is None:
        return [record] if isinstance(record, np.ndarray) else []
    return [leaf for name, _ in places for leaf in _leaves(getattr(record, name))]
