"""Where the values of a range lie, held against scipy's distributions."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from fillcalc.case.records import Range
from fillcalc.job.distribution import quantile
from fillcalc.job.points import sobol

RANKS = np.linspace(0.001, 0.999, 97)
LINEAR = [(10.0, 20.0, 45.0), (-3.0, 0.0, 0.5), (0.0, 900.0, 3600.0), (2.0, 2.0, 5.0), (2.0, 5.0, 5.0), (1.0, 2.0, 5.0)]
LOGARITHMIC = [(10.0, 20.0, 60.0), (2e-4, 1e-3, 5e-3), (300.0, 600.0, 1800.0), (1.0, 1.0, 6.0), (1.0, 5.9, 6.0)]


def cdf(low: float, likely: float, high: float, values: np.ndarray) -> np.ndarray:
    """Half of a triangle that peaks at its upper end, and half of one that peaks at its lower end."""
    below = stats.triang(1.0, loc=low, scale=likely - low).cdf(values) if likely > low else (values >= likely) * 1.0
    above = stats.triang(0.0, loc=likely, scale=high - likely).cdf(values) if high > likely else (values >= high) * 1.0
    return np.asarray(0.5 * below + 0.5 * above)


def cdf_in_logarithm(low: float, likely: float, high: float, values: np.ndarray) -> np.ndarray:
    return cdf(np.log(low), np.log(likely), np.log(high), np.log(values))


BOTH = [*((ends, cdf) for ends in LINEAR), *((ends, cdf_in_logarithm) for ends in LOGARITHMIC)]


@pytest.mark.parametrize(("ends", "there"), BOTH)
def test_the_quantile_is_the_inverse_of_the_distribution(ends: tuple[float, float, float], there: object) -> None:
    low, likely, high = ends
    ranks = RANKS[(RANKS > 0.5) if likely == low else (RANKS < 0.5) if likely == high else RANKS > 0.0]
    values = quantile(Range(low, likely, high, True), ranks)
    np.testing.assert_allclose(there(low, likely, high, values), ranks, rtol=0.0, atol=1e-9)  # type: ignore[operator]


@pytest.mark.parametrize(("ends", "there"), [pair for pair in BOTH if pair[0][0] < pair[0][1] < pair[0][2]])
def test_tries_are_spread_so(ends: tuple[float, float, float], there: object) -> None:
    """Kolmogorov and Smirnov on random ranks; and the shipped points, which are far more even than random ones."""
    asked = Range(*ends, True)
    drawn = quantile(asked, np.random.default_rng(11).random(4000))
    assert stats.kstest(drawn, lambda x: there(*ends, x)).pvalue > 1e-3  # type: ignore[operator]
    even = quantile(asked, sobol(1)[:, 0])
    assert stats.kstest(even, lambda x: there(*ends, x)).statistic < 2.0 / 8192  # type: ignore[operator]


@pytest.mark.parametrize("ends", [*LINEAR, *LOGARITHMIC])
def test_the_likely_value_is_the_middle(ends: tuple[float, float, float]) -> None:
    assert quantile(Range(*ends, True), np.array([0.0, 0.5, 1.0])).tolist() == pytest.approx(list(ends), rel=1e-12)
    assert quantile(Range(*ends, True), np.array(0.5)) == ends[1]


def test_each_side_thins_out_linearly() -> None:
    """Of the values between 20 and 45, three quarters lie in the nearer half, and none at the end."""
    values = quantile(Range(10.0, 20.0, 45.0, True), (np.arange(80000) + 0.5) / 80000)
    counts = np.histogram(values, bins=np.linspace(20.0, 45.0, 6))[0] / 80000
    np.testing.assert_allclose(counts, 0.5 * np.array([9, 7, 5, 3, 1]) / 25, atol=1e-4)


def test_the_logarithm_begins_above_five_and_never_at_nothing() -> None:
    rank = np.array([0.25])
    for low, high, logarithm in ((1.0, 5.0, False), (1.0, 5.001, True), (0.0, 9.0, False), (-1.0, 9.0, False)):
        straight = low + (2.0 - low) * np.sqrt(0.5)
        assert bool(abs(quantile(Range(low, 2.0, high, True), rank)[0] - straight) > 1e-3) is logarithm


def test_two_values_are_flat() -> None:
    there = stats.uniform(loc=-2.0, scale=9.0)
    np.testing.assert_allclose(quantile(Range(-2.0, None, 7.0, True), RANKS), there.ppf(RANKS), rtol=1e-12)
    np.testing.assert_allclose(quantile(Range(1.0, None, 9.0, True), RANKS), 1.0 + 8.0 * RANKS, rtol=1e-12)


def test_a_range_of_no_width_is_its_value() -> None:
    for likely in (None, 4.0):
        assert (quantile(Range(4.0, likely, 4.0, True), RANKS) == 4.0).all()
