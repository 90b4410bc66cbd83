"""Every elementwise function of the model gives an array what it gives each of its elements."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from fillcalc.model import energy, hold, line, release, sweep, vent, wall
from tests.shapes import shape

SHAPES = ((), (12,), (3, 4))
LYING = shape("lying", "dished", 0.8, 2.0)
STANDING = shape("standing", "elliptical 2:1", 0.8, 2.0)

FUNCTIONS: dict[str, tuple[Callable[..., Any], tuple[tuple[float, float], ...]]] = {
    "colebrook": (line.colebrook, ((4e3, 1e7), (0.0, 0.05))),
    "friction": (line.friction, ((10.0, 1e6), (0.0, 0.05))),
    "friction of a coil": (line.friction, ((10.0, 1e5), (0.0, 0.01), (0.01, 0.1))),
    "contraction": (line.contraction, ((0.1, 0.99),)),
    "expansion": (line.expansion, ((0.1, 0.99),)),
    "K to quadratic": (line.k_to_quadratic, ((0.1, 9.0), (0.005, 0.1), (990.0, 1010.0))),
    "Kv to quadratic": (line.kv_to_quadratic, ((0.1, 9.0), (990.0, 1010.0))),
    "cylinder": (wall.cylinder, ((0.1, 2.0), (0.002, 0.05), (1e11, 2e11), (0.2, 0.35))),
    "anchored cylinder": (lambda *given: wall.cylinder(*given, True),
                          ((0.1, 2.0), (0.002, 0.05), (1e11, 2e11), (0.2, 0.35))),
    "sphere": (wall.sphere, ((0.1, 2.0), (0.002, 0.05), (1e11, 2e11), (0.2, 0.35))),
    "flat end": (lambda *given: wall.FlatEnd(*given[:-1]).stretch(given[-1]),
                 ((0.1, 2.0), (0.02, 0.05), (1e11, 2e11), (0.2, 0.35), (0.0, 1.0), (1e4, 2e6))),
    "thermal": (wall.thermal, ((1e-5, 2e-5), (0.2, 0.35))),
    "vent scale": (vent.scale, ((1e-7, 1e-3), (270.0, 310.0))),
    "vent outflow": (vent.outflow_by, ((1e-5, 1e-1), (0.0, 600.0), (0.8e5, 1.1e5))),
    "volume below, lying": (lambda level: LYING.volume_below(level), ((0.0, 0.8),)),
    "volume below, standing": (lambda level: STANDING.volume_below(level), ((0.0, 2.4),)),
    "share above a vent": (lambda below: LYING.share_above_vent(below), ((0.0, 0.8),)),
    "widening, lying": (lambda part: LYING.widening(part), ((0.01, 0.99),)),
    "widening, standing": (lambda part: STANDING.widening(part), ((0.01, 0.99),)),
    "pocket term": (sweep.pocket_term, ((1e-6, 1e-2), (0.02, 0.3))),
    "clearing speed": (sweep.clearing_speed, ((0.02, 0.3), (0.0, 0.4), (0.4, 0.6))),
    "speed": (sweep.speed, ((1e-5, 1e-2), (0.02, 0.3))),
    "release at a rate": (release.at_rate, ((1e3, 1e5), (1e5, 1e7), (0.0, 1e5))),
    "energy of gas": (energy.of_gas, ((1e4, 1e7), (0.8e5, 1.1e5), (0.01, 10.0))),
    "TNT": (energy.tnt, ((1e3, 1e9),)),
    "gas distance": (energy.gas_distance, ((1e3, 1e9),)),
    "drift": (hold.drift, ((1e4, 1e6), (-9.0, 9.0), (10.0, 1e5), (1e3, 1e5))),
}


def results(answer: Any) -> tuple[np.ndarray, ...]:
    return tuple(np.asarray(one) for one in (answer if isinstance(answer, tuple) else (answer,)))


@pytest.mark.parametrize("of", SHAPES, ids=str)
@pytest.mark.parametrize("name", FUNCTIONS)
def test_an_array_is_its_elements(name: str, of: tuple[int, ...]) -> None:
    function, limits = FUNCTIONS[name]
    some = np.random.default_rng(7)
    given = [np.asarray(some.uniform(low, high, of)) for low, high in limits]
    whole = results(function(*given))
    for answer in whole:
        assert answer.shape == of
    for place in np.ndindex(*of):
        alone = results(function(*(np.asarray(one[place]) for one in given)))
        for answer, single in zip(whole, alone, strict=True):
            assert answer[place] == pytest.approx(float(single), rel=1e-12)


@pytest.mark.parametrize("name", [name for name, (_, limits) in FUNCTIONS.items() if len(limits) > 1])
def test_a_row_against_a_column(name: str) -> None:
    """The first input as a column, the others as rows."""
    function, limits = FUNCTIONS[name]
    some = np.random.default_rng(8)
    given = [some.uniform(low, high, (4,) if place else (3, 1)) for place, (low, high) in enumerate(limits)]
    full = [np.broadcast_to(one, (3, 4)) for one in given]
    for answer, again in zip(results(function(*given)), results(function(*full)), strict=True):
        np.testing.assert_allclose(np.broadcast_to(answer, (3, 4)), again, rtol=1e-12)
