"""The surge of a fill that ends at once, against the method of characteristics and its two limits."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from fillcalc.model.hammer import WAVE_SPEEDS, Column, joukowsky, surge

DENSITY, OUTSIDE = 1000.0, 101325.0
ZERO = np.zeros(1)
NODES = 200


def characteristics(bore: float, length: float, flow: float, compliance: float, air: float) -> float:
    """Highest rise of pressure at the closed end of one frictionless pipe from a reservoir, with a vessel on it.

    C+ and C- lines on a grid of L/200; the vessel takes compliance x p and squeezes its air without loss of heat.
    Source: E. Wylie and V. Streeter, Fluid Transients, ch. 3 (from memory).
    """
    speed, area = WAVE_SPEEDS[-1], 0.25 * np.pi * bore**2
    impedance = DENSITY * speed / area
    step = length / NODES / speed
    p, q = np.zeros(NODES + 1), np.full(NODES + 1, flow)
    highest, stored = 0.0, 0.0

    def holds(rise: float) -> float:
        """What the vessel has taken in at a pressure above that outside."""
        return compliance * rise + air * (1.0 - (1.0 + max(rise, -0.9 * OUTSIDE) / OUTSIDE) ** (-1.0 / 1.4))

    slowest = np.sqrt(DENSITY * length / area * (compliance + air / OUTSIDE))
    for _ in range(int((4.0 * length / speed + 4.0 * slowest) / step)):
        plus, minus = p[:-1] + impedance * q[:-1], p[1:] - impedance * q[1:]
        p[1:-1], q[1:-1] = 0.5 * (plus[:-1] + minus[1:]), (plus[:-1] - minus[1:]) / (2.0 * impedance)
        p[0], q[0] = 0.0, -minus[0] / impedance

        def left(rise: float, arrives: float = plus[-1], before: float = stored, was: float = q[-1]) -> float:
            return holds(rise) - before - 0.5 * step * (was + (arrives - rise) / impedance)

        p[-1] = brentq(left, -0.99 * OUTSIDE, 3.0 * impedance * flow) if compliance + air > 0 else plus[-1]
        q[-1] = (plus[-1] - p[-1]) / impedance
        stored = holds(p[-1])
        highest = max(highest, p[-1])
        if q[-1] < 0.0 and compliance + air > 0:
            break
    return highest


def bound(bore: float, length: float, flow: float, compliance: float, air: float) -> float:
    return float(surge(Column((bore + ZERO,), (length + ZERO,), DENSITY + ZERO), flow + ZERO, compliance + ZERO,
                       air + ZERO, OUTSIDE + ZERO)[0])


@pytest.mark.parametrize("compliance", [0.0, 3e-13, 1e-12, 3e-12, 1e-11, 1e-10, 1e-9])
@pytest.mark.parametrize("air", [0.0, 1e-6, 2e-5])
def test_never_below_the_waves_and_near_them(compliance: float, air: float) -> None:
    """A bound, and no more than two fifths above what the waves do, most of that where the vessel gives about as much
    as the water in its hose."""
    line = (12.7e-3, 20.0, 4e-4)
    waves, found = characteristics(*line, compliance, air), bound(*line, compliance, air)
    assert waves * (1.0 - 5e-3) <= found <= 1.4 * waves


def test_a_vessel_that_does_not_give_sees_joukowsky() -> None:
    speed = 4e-4 / (0.25 * np.pi * 12.7e-3**2)
    assert bound(12.7e-3, 20.0, 4e-4, 0.0, 0.0) == pytest.approx(joukowsky(DENSITY, WAVE_SPEEDS[-1], speed), rel=1e-12)


def test_a_large_vessel_takes_the_energy_up() -> None:
    inertance = DENSITY * 20.0 / (0.25 * np.pi * 12.7e-3**2)
    assert bound(12.7e-3, 20.0, 4e-4, 1e-8, 0.0) == pytest.approx(4e-4 * np.sqrt(inertance / 1e-8), rel=1e-9)


def test_no_flow_lost_is_no_surge() -> None:
    assert bound(12.7e-3, 20.0, 0.0, 1e-10, 1e-6) == 0.0
