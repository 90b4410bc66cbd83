"""The demo cases, read and estimated once for all tests of the reports."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from fillcalc.case.read import read_file
from fillcalc.case.records import Case
from fillcalc.estimation.answers import Estimate
from fillcalc.estimation.estimate import estimate
from fillcalc.questions.ranges import with_ranges

CASES = Path(__file__).resolve().parents[2] / "cases"
ALL = sorted(path.stem for path in CASES.glob("*.toml") if path.stem != "kit")
GAS_NAMES = [name for name in ALL if name.startswith("gas-")]
"""The demo cases of a test with gas; they have their own tests."""
NAMES = [name for name in ALL if name not in GAS_NAMES]


@cache
def demo(name: str) -> tuple[Case, Estimate]:
    case = read_file(CASES / f"{name}.toml")
    return case, estimate(case)


@cache
def ranged(name: str) -> tuple[Case, Estimate]:
    """With ranges, stages and the time on site."""
    case, _ = demo(name)
    return case, with_ranges(case)
