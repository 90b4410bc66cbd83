"""A case with its ranges as an array of samples: the case as written, the spread, and each input's ends.

The spread is made of evenly spread points, never of random ones, so the same case gives the same
answer on every machine.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case.assume import ranges_alone
from fillcalc.case.fields import inputs
from fillcalc.case.medium import is_gas
from fillcalc.case.records import AirDrivenPump, Case, HandPump, Hose
from fillcalc.job.distribution import quantiles
from fillcalc.job.points import DRAWS, MOST_COLUMNS, sobol
from fillcalc.tree import at, attribute_of, put_all

ONE_RANK = (("bore", "coupling_hole", "tail_bore"), ("pressure", "open_flow"))
"""Leaves of a hose, and of a water source, that are large together or small together."""
ENDS = (0.10, 0.90)
"""Share of its values below which each input stands alone in its two rows."""
CHANGED = ("fill.hose.", "fill.measured_flow", "pump.", "gas_supply.", "gas_line.")
"""What begins the paths that another hose, pump, bottle or regulator changes."""
WORK_INPUTS = ("labour.", "rework.")
"""How the inputs begin that tell the crew's own work; nothing else hangs on them."""
REWORK = "rework.pieces"
"""The column that says how many pieces have a joint to remake."""


@dataclass(frozen=True)
class Samples:
    """A case whose ranged leaves are arrays: row 0 as written, then the draws, then two rows for each path.

    The two rows hold the case as written with that one input at its 10th and at its 90th hundredth.
    """

    case: Case
    paths: tuple[str, ...]
    draws: int
    remade_rank: Array
    """A point from 0 to 1 for each draw, by which the number of remade pieces goes."""

    def rows(self) -> int:
        """Rows of the one call: the case as written, the draws, and two for each range."""
        return 1 + self.draws + 2 * len(self.paths)

    def drawn(self, values: Array) -> Array:
        """The draws among the last axis of an answer; an answer of one row stands for them all."""
        return values[..., 1:1 + self.draws] if values.shape[-1] > 1 else values

    def ends(self, values: Array) -> tuple[Array, Array]:
        """An answer at the low and at the high end of each path; two arrays (paths,)."""
        if values.shape[-1] == 1:
            return (np.repeat(values, len(self.paths)),) * 2
        last = values[1 + self.draws:]
        return last[0::2], last[1::2]


def samples(case: Case, columns: Mapping[str, Array] | None = None, *, ends: bool = True) -> Samples:
    """The case with all its ranges drawn at once.

    `columns` are the points for each key of `keys`, all of one length; left out, each key gets its own of
    the 8192 shipped ones. Values are clipped to the input's legal range. Without `ends` the
    two rows for each path are left out.
    """
    if columns is None:
        columns = assign(keys(case))
    count = len(columns[REWORK])
    paths = uncertain(case)
    if not paths:
        return Samples(case, (), 0, columns[REWORK])
    shown = paths if ends else ()
    drawn = _drawn(case, paths, np.stack([columns[key(path)] for path in paths]))
    changed = put_all(case, {path: _values(case, path, row, shown) for path, row in zip(paths, drawn, strict=True)})
    return Samples(changed, shown, count, columns[REWORK])


@lru_cache(maxsize=1024)
def key(path: str) -> str:
    """The name of the column that a path is drawn by; leaves of one rank share it."""
    record, _, leaf = path.rpartition(".")
    for group, front in zip(ONE_RANK, ("fill.hose.", "tap"), strict=True):
        if leaf in group and record.startswith(front):
            return f"{record}.{group[0]}"
    return path


def keys(case: Case) -> tuple[str, ...]:
    """The columns that a case may need, each once: of its ranges in their order, then of what a kit has others of,
    then of the crew's work. Two hoses and any pump have the same places in every case, so that with others nothing is
    drawn otherwise."""
    own = dict.fromkeys([*(key(path) for path in uncertain(case)), REWORK])
    work = [name for name in own if name.startswith(WORK_INPUTS)]
    stay = [name for name in own if name not in work and not name.startswith(CHANGED)]
    places = () if is_gas(case) else _any_hose_and_pump()
    return tuple(dict.fromkeys([*stay, *places, *work, *sorted(own.keys() - {*stay, *places, *work})]))


@cache
def _any_hose_and_pump() -> tuple[str, ...]:
    """The columns of what is in doubt of two hoses and of a pump of any kind where nobody gave it."""
    some = np.asarray(1.0)
    hose, pumps = Hose(length=some, bore=some, couplings=1), (AirDrivenPump(ratio=some, stroke=some), HandPump())
    tables = [("fill.hose.1", hose), *(("pump", pump) for pump in pumps), ("fill.hose.2", hose)]
    return tuple(dict.fromkeys(key(f"{table}.{leaf}") for table, record in tables for leaf in ranges_alone(record)))


def uncertain(case: Case) -> tuple[str, ...]:
    """The paths of the ranges that have a width; one that is exact is not drawn."""
    return tuple(path for path, asked in case.ranges.items() if asked.high > asked.low)


def assign(names: Iterable[str], draws: int = DRAWS) -> dict[str, Array]:
    """A column of points for each name: the first `draws` (a power of two) of the shipped ones.

    Past the shipped columns an earlier one is taken again in another, fixed order of its rows.
    """
    names = tuple(dict.fromkeys(names))
    points = sobol(min(len(names), MOST_COLUMNS))[:draws]
    found = {}
    for order, name in enumerate(names):
        column = points[:, order % MOST_COLUMNS]
        if order >= MOST_COLUMNS:
            column = np.random.default_rng(order).permutation(column)
        found[name] = column
    return found


def remade(pieces: int, chance: Array | float, rank: Array) -> Array:
    """Pieces with a joint to remake: the count below which a share `rank` of all samples lies.

    Each piece has the same chance, on its own: a binomial count. `chance` broadcasts against `rank`, which is
    from 0 to 1. Past 200 pieces the normal curve stands in for it.
    """
    chance = np.asarray(chance, float)
    if pieces > 200:
        from statistics import NormalDist

        normal = NormalDist()
        score = np.array([normal.inv_cdf(float(np.clip(part, 1e-9, 1.0 - 1e-9))) for part in np.ravel(rank)])
        count = np.rint(pieces * chance + score.reshape(np.shape(rank)) * np.sqrt(pieces * chance * (1.0 - chance)))
        return np.clip(count, 0.0, pieces)
    sure = chance >= 1.0
    odds = chance / np.where(sure, 1.0, 1.0 - chance)
    part = np.where(sure, 0.0, (1.0 - chance) ** pieces)
    below = part
    count = np.zeros(np.broadcast_shapes(np.shape(rank), chance.shape))
    for hit in range(1, pieces + 1):
        count = count + (rank >= below)
        part = part * odds * ((pieces - hit + 1) / hit)
        below = below + part
    return np.where(sure, float(pieces), count)


def _drawn(case: Case, paths: Sequence[str], rank: Array) -> Array:
    """The leaves at the shares `rank`, one row for each path, within what is legal."""
    legal = [inputs(type(at(case, path.rpartition(".")[0])))[_leaf(path)] for path in paths]
    low = np.array([-np.inf if each.low is None else each.low for each in legal])
    high = np.array([np.inf if each.high is None else each.high for each in legal])
    return np.clip(quantiles([case.ranges[path] for path in paths], rank), low[:, None], high[:, None])


def _values(case: Case, path: str, drawn: Array, shown: tuple[str, ...]) -> Array:
    """The leaf over all rows: as written, drawn, and as written but for its own two ends."""
    values = np.empty(1 + len(drawn) + 2 * len(shown))
    values.fill(at(case, path))
    values[1:1 + len(drawn)] = drawn
    if shown:
        row = 1 + len(drawn) + 2 * shown.index(path)
        values[row:row + 2] = _drawn(case, (path,), np.array([ENDS]))[0]
    return values


def _leaf(path: str) -> str:
    return attribute_of(path.rpartition(".")[2])
