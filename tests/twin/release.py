"""Letting the pressure down: through a valve of known Kv, or at a rate."""

from __future__ import annotations

from math import sqrt

from scipy.integrate import quad

from fillcalc.case import records
from tests.twin.closed import ClosedVessel
from tests.twin.inputs import value

LEAST = 60.0
HALF_BAR = 0.5e5


def release(case: records.Case, closed: ClosedVessel, test: float) -> dict[str, float]:
    kv = value(case.release.kv, 0.05)
    if case.release.rate is not None:
        time = max(test / float(case.release.rate), LEAST)
        return {"time_s": time, "time_to_half_bar_s": time * max(1 - HALF_BAR / test, 0.0)}
    per_root = float(kv) / 3600 * sqrt(1000 / closed.density(0.0) / 1e5)

    def seconds(root: float) -> float:
        """With gauge pressure = root squared, so that the end is smooth."""
        return closed.water_by_pressure(root**2) * 2 / per_root

    def between(low: float, high: float) -> float:
        return float(quad(seconds, sqrt(low), sqrt(high), epsabs=0.0, epsrel=1e-10, limit=400)[0])

    return {"time_s": between(0.0, test), "time_to_half_bar_s": between(min(HALF_BAR, test), test)}
