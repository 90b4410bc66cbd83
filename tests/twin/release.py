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
        time = max((test - closed.full) / float(case.release.rate), LEAST)
        part = (test - max(HALF_BAR, closed.full)) / (test - closed.full)
        return {"time_s": time, "time_to_half_bar_s": time * max(part, 0.0)}
    per_root = float(kv) / 3600 * sqrt(1000 / closed.free_density / 1e5)

    def seconds(root: float) -> float:
        """With gauge pressure = root squared, so that the end is smooth."""
        return closed.water_by_pressure(root**2) * 2 / per_root

    def between(low: float, high: float) -> float:
        return float(quad(seconds, sqrt(low), sqrt(high), epsabs=0.0, epsrel=1e-10, limit=400)[0])

    half = max(min(HALF_BAR, test), closed.full)
    return {"time_s": between(closed.full, test), "time_to_half_bar_s": between(half, test)}
