"""The regression against scipy, and against the sums written out."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats
from scipy.linalg import cho_factor, cho_solve
from scipy.optimize import curve_fit

from fillcalc.questions.recording import regression

Array = NDArray[np.float64]


def covariance(time: Array, phi: float) -> Array:
    """Of errors of size one with this autocorrelation over one second."""
    return np.asarray(phi ** np.abs(time[:, None] - time[None, :]))


@pytest.mark.parametrize("phi", [0.0, 0.4, 0.9])
@pytest.mark.parametrize("gaps", [False, True])
def test_it_is_generalized_least_squares(phi: float, gaps: bool) -> None:
    """With the full covariance of the errors, by Cholesky and by scipy's own fit; gaps between the rows too."""
    rng = np.random.default_rng(3)
    time = np.arange(60.0)
    if gaps:
        time = np.delete(time, [7, 8, 9, 30, 41])
    columns = np.stack([np.ones_like(time), time, np.exp(-time / 12.0)], axis=1)
    whole = covariance(time, phi)
    goal = columns @ [3.0, -0.2, 1.5] + np.linalg.cholesky(whole) @ rng.normal(size=len(time))
    steps = np.diff(time)
    found = regression.least_squares(regression.whitened(columns, steps, phi),
                                     regression.whitened(goal[:, None], steps, phi), np.zeros(3))
    factor = cho_factor(whole)
    normal = columns.T @ cho_solve(factor, columns)
    np.testing.assert_allclose(found.covariance, np.linalg.inv(normal), rtol=1e-8)
    np.testing.assert_allclose(found.unknown[:, 0], np.linalg.solve(normal, columns.T @ cho_solve(factor, goal)),
                               rtol=1e-8)
    best, spread = curve_fit(lambda _, a, b, c: columns @ [a, b, c], time, goal, sigma=whole, absolute_sigma=True,
                             p0=[0.0, 0.0, 0.0])
    np.testing.assert_allclose(found.unknown[:, 0], best, rtol=1e-5)
    np.testing.assert_allclose(found.covariance, spread, rtol=1e-5)


def test_what_is_known_counts_as_one_more_reading() -> None:
    rng = np.random.default_rng(4)
    columns, goal = rng.normal(size=(20, 2)), rng.normal(size=(20, 1))
    found = regression.least_squares(columns, goal, np.array([0.0, 4.0]))
    wide = np.vstack([columns, [0.0, 4.0]])
    best, square, *_ = np.linalg.lstsq(wide, np.append(goal, 0.0), rcond=None)
    np.testing.assert_allclose(found.unknown[:, 0], best, rtol=1e-9)
    assert float(np.sum(found.left**2)) == pytest.approx(float(square[0]))


def test_errors_that_hang_together_are_found_and_widen_the_slope() -> None:
    """Over 400 series the slope lies within its 95 of 100 nearly as often as it should; as if each row stood
    alone it lies far outside."""
    rng, time = np.random.default_rng(5), np.arange(80.0)
    columns = np.stack([np.ones_like(time), time], axis=1)
    root = np.linalg.cholesky(covariance(time, 0.7))
    inside, alone, found_phi, watson = 0, 0, [], []
    for _ in range(400):
        goal = root @ rng.normal(size=len(time))
        plain = regression.least_squares(columns, goal[:, None], np.zeros(2))
        residual = goal - columns @ plain.unknown[:, 0]
        phi = regression.autocorrelation(residual, 2)
        steps = np.ones(len(time) - 1)
        white = regression.least_squares(regression.whitened(columns, steps, phi),
                                         regression.whitened(goal[:, None], steps, phi), np.zeros(2))
        size = float(np.sum(white.left**2) / 78.0) ** 0.5
        reach = stats.t.ppf(0.975, regression.spare_points(len(time), 2, phi))
        inside += abs(white.unknown[1, 0]) < reach * size * white.covariance[1, 1] ** 0.5
        alone += abs(plain.unknown[1, 0]) < 2.0 * residual.std() * plain.covariance[1, 1] ** 0.5
        found_phi.append(phi)
        watson.append(regression.durbin_watson(residual))
    assert inside > 0.92 * 400 > alone + 60
    assert np.mean(found_phi) == pytest.approx(0.7, abs=0.05)
    assert np.mean(watson) == pytest.approx(2.0 * (1.0 - 0.7), abs=0.15)


def test_durbin_watson_is_two_for_chance_and_near_nothing_for_a_wander() -> None:
    rng = np.random.default_rng(6)
    assert regression.durbin_watson(rng.normal(size=20000)) == pytest.approx(2.0, abs=0.05)
    assert regression.durbin_watson(np.sin(np.linspace(0.0, 6.0, 500))) < 0.01
    assert regression.durbin_watson(np.array([1.0, -1.0, 1.0, -1.0])) == pytest.approx(3.0)


@pytest.mark.parametrize("spare", [4.0, 10.0, 60.0])
def test_students_deviates_are_scipys(spare: float) -> None:
    shares = (np.arange(regression.NODES) + 0.5) / regression.NODES
    np.testing.assert_allclose(regression.student(spare), stats.t.ppf(shares, spare), rtol=0.02, atol=1e-6)
    np.testing.assert_allclose(regression.below(np.array([-1.0, 0.5])), stats.norm.cdf([-1.0, 0.5]), rtol=1e-12)


def test_weighted_quantiles_are_those_of_repeated_values() -> None:
    rng = np.random.default_rng(7)
    values, counts = rng.normal(size=3000), rng.integers(1, 5, 3000)
    low, middle, high = regression.quantiles(values, counts.astype(float), (0.025, 0.5, 0.975))
    np.testing.assert_allclose([low, middle, high], np.quantile(np.repeat(values, counts), [0.025, 0.5, 0.975]),
                               atol=0.02)
