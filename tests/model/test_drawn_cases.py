"""Drawn cases that have shown a fault, against the brute-force twin."""

from __future__ import annotations

import pytest

from tests.families import few
from tests.model.random_cases import differences


@pytest.mark.parametrize("number", few([
    pytest.param(71, id="short of air in the middle of the pump's curve"),
    pytest.param(178, id="a tap above the vessel tops up no faster than it runs in the open"),
    pytest.param(42, id="the hose turns laminar while the tap tops up"),
    pytest.param(104, id="a head tank falls below the vessel on its last container"),
    pytest.param(220, id="a level pipe run with its vent below the top of the bore"),
    pytest.param(254, id="three dozen containers"),
    pytest.param(290, id="a pause on the way fills the receiver again"),
    pytest.param(291, id="a tap tops up in the last of the turbulent flow"),
], 1))
def test_every_answer_agrees(number: int) -> None:
    found = differences(number)
    assert found
    assert not [(answer, off) for answer, off, allowed in found if off > allowed]
