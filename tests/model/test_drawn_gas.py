"""Drawn gas tests that have shown a fault, against brute force."""

from __future__ import annotations

import pytest

from tests.families import few
from tests.model.random_gas import differences


@pytest.mark.parametrize("number", few([
    pytest.param(6, id="a few degrees that leave slowly"),
    pytest.param(8, id="bottles are changed while it cools"),
    pytest.param(100, id="a wall that is cold long after the gas"),
], 2))
def test_every_figure_agrees(number: int) -> None:
    found = differences(number)
    assert found
    assert not [(name, off) for name, off, allowed in found if not off <= allowed]
