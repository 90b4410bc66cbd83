"""Records of arrays: all leaves brought to one length, and rows taken out of them.

numpy is loaded when an array is first met: a case is read, and the screen painted first, without one.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, TypeAlias, TypeGuard, TypeVar

from fillcalc.tree import leaves, mapped

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array: TypeAlias = NDArray[np.float64]
    Flags: TypeAlias = NDArray[np.bool_]
    Codes: TypeAlias = NDArray[np.int_]
else:
    Array = Flags = Codes = Any
"""Numbers, yes or no, and members of an enumeration or places in a list, one for each sample."""

Record = TypeVar("Record")


def length(record: object) -> int:
    """The common length N of the array leaves of a record; 1 if every leaf is a plain number."""
    import numpy as np

    sizes = {leaf.shape[-1] for leaf, _ in leaves(record) if isinstance(leaf, np.ndarray) and leaf.ndim}
    sizes.discard(1)
    if len(sizes) > 1:
        raise ValueError(f"leaves of different lengths: {sorted(sizes)}")
    return sizes.pop() if sizes else 1


def spread(record: Record, n: int) -> Record:
    """A copy whose every number is a float array with a last axis of n; words, flags and None stay."""
    import numpy as np

    def wide(leaf: object, field: object) -> object:
        if not _is_number(leaf):
            return leaf
        if n == 1 and not isinstance(leaf, np.ndarray):
            return np.array([leaf], float)
        return np.broadcast_to(np.asarray(leaf, float), (*np.shape(leaf)[:-1], n))

    return mapped(record, wide)


def take(record: Record, rows: Flags | Codes | slice | int) -> Record:
    """A copy with only these rows (a mask, indices or a slice) of every array leaf; plain numbers stay."""
    import numpy as np

    return mapped(record, lambda leaf, field: leaf[..., rows] if isinstance(leaf, np.ndarray) and leaf.ndim else leaf)


def first(values: Array | float) -> float:
    """The first of the numbers, that at likely values, as a plain one."""
    import numpy as np

    return float(np.ravel(values)[0])


def drawn(values: Array) -> Array:
    """The samples along the last axis, without the run at likely values that stands first; one row stands for all."""
    return values[..., 1:] if values.shape[-1] > 1 else values


def lots(n: int, size: int) -> Iterator[slice]:
    """The rows from 0 to n in lots of `size` that follow each other."""
    return (slice(first, first + size) for first in range(0, n, size))


def _is_number(leaf: object) -> TypeGuard[float | Array]:
    import numpy as np

    return isinstance(leaf, float | np.ndarray) or (isinstance(leaf, int) and not isinstance(leaf, bool))
