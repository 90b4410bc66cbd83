"""A row alone gives what it gives among many: no answer hangs on what stands beside it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from fillcalc.arrays import length, take
from fillcalc.case.read import read_file
from fillcalc.estimation.estimate import estimate
from fillcalc.job.samples import assign, keys, samples

CASES = Path(__file__).parents[2] / "cases"
NAMES = sorted(path.stem for path in CASES.glob("*.toml") if not path.stem.startswith(("kit", "gas-")))
ROWS = 64
REMAINDERS = {".fill.0.shares": 1.0, ".settle.0.drop": 1e7, ".hold.0.solution": 1e7}
"""Differences of nearly equal numbers, and the size of those: one, and 100 bar."""
FITTED = 5e-11
"""A pump fitted to several points is that good: the slope of its misfit is a difference."""
OF_THE_FIRST = ("air_ladder", "regulator", "history", "curve", "strokes_at", "strokes_before_needle")
"""What is told of the first row alone, or of it by the marks on its way."""


def _leaves(record: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    for field in fields(record):
        value = getattr(record, field.name)
        if field.name in OF_THE_FIRST:
            continue
        for place, one in enumerate(value if isinstance(value, tuple) else (value,)):
            if is_dataclass(one):
                yield from _leaves(one, f"{path}.{field.name}.{place}")
            elif isinstance(one, np.ndarray):
                yield f"{path}.{field.name}", one


@pytest.mark.parametrize("name", NAMES)
def test_a_row_alone_is_the_row_among_many(name: str) -> None:
    case = read_file(CASES / f"{name}.toml")
    many = samples(case, assign(keys(case), ROWS)).case
    together = dict(_leaves(estimate(many)))
    for row in (0, length(many) // 3, length(many) - 1):
        alone = dict(_leaves(estimate(take(many, slice(row, row + 1)))))
        assert alone.keys() == together.keys()
        for path, values in together.items():
            got = float(np.broadcast_to(values, (length(many),))[row])
            size = next((size for start, size in REMAINDERS.items() if path.startswith(start)), 0.0)
            near = FITTED if name == "crest-line" else 1e-12
            assert got == pytest.approx(float(alone[path][0]), rel=near, abs=1e-12 * size, nan_ok=True), (path, row)
