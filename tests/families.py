"""Families of like tests, and slow second ways to one idea: some in every run, all where `pytest -m ""` asks."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pytest

thorough = pytest.mark.thorough
"""Marks what a run leaves out unless asked for: `pytest -m thorough` runs it alone, `-m ""` runs it with the rest."""


def few(members: Iterable[Any], keep: int = 3) -> list[Any]:
    """The members as parameters; all but `keep` of them, evenly spread from the first to the last, are thorough."""
    every = [_parameters(each) for each in members]
    kept = {round(n * (len(every) - 1) / max(keep - 1, 1)) for n in range(keep)}
    return [each if n in kept else each._replace(marks=(*each.marks, thorough)) for n, each in enumerate(every)]


def _parameters(member: Any) -> Any:
    """One member as `pytest.param` makes it; a tuple is the values of several names."""
    if isinstance(member, type(pytest.param())):
        return member
    return pytest.param(*(member if isinstance(member, tuple) else (member,)))
