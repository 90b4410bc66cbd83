"""Records of arrays: all leaves brought to one length, and rows taken out of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeAlias, TypeVar

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[np.float64]

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
    return _each(record, lambda leaf: np.broadcast_to(np.asarray(leaf, float), (*np.shape(leaf)[:-1], n)))


def take(record: Record, rows: Any) -> Record:
    """A copy with only these rows (a mask, indices or a slice) of every array leaf; plain numbers stay."""
    return _each(record, lambda leaf: np.asarray(leaf)[..., rows] if np.ndim(leaf) else leaf)


def joined(parts: Sequence[Record]) -> Record:
    """One record of the parts' rows after one another. Leaves that are not one value for each row, such as
    lists of the first row, are those of the first part; so all parts but the last have two rows or more."""
    first = parts[0]
    if is_dataclass(first) and not isinstance(first, type):
        changes = {place.name: joined([getattr(part, place.name) for part in parts]) for place in fields(first)}
        return replace(first, **changes)
    if isinstance(first, np.ndarray) and first.ndim and first.shape[-1] > 1:
        return np.concatenate(parts, axis=-1)  # type: ignore[return-value, arg-type]
    return first


def _is_number(leaf: Any) -> bool:
    return isinstance(leaf, float | np.ndarray) or (isinstance(leaf, int) and not isinstance(leaf, bool))


def _each(record: Any, change: Any) -> Any:
    if is_dataclass(record) and not isinstance(record, type):
        changes = {}
        for place in fields(record):
            if place.init:
                old = getattr(record, place.name)
                new = _each(old, change)
                if new is not old:
                    changes[place.name] = new
        return replace(record, **changes) if changes else record
    if isinstance(record, tuple):
        return tuple(_each(item, change) for item in record)
    return change(record) if _is_number(record) else record


def _leaves(record: Any) -> list[np.ndarray]:
    if is_dataclass(record) and not isinstance(record, type):
        return [leaf for place in fields(record) for leaf in _leaves(getattr(record, place.name))]
    if isinstance(record, tuple):
        return [leaf for item in record for leaf in _leaves(item)]
    return [np.asarray(record)] if _is_number(record) else []
