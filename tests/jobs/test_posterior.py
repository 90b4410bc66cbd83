"""The statistics of finished jobs against scipy's own distributions, and against the defaults they start from."""

from __future__ import annotations

from math import exp, log

import numpy as np
import pytest
from scipy import integrate, stats

from fillcalc.case.assume import handbook
from fillcalc.case.own import PATHS
from fillcalc.case.read import read_file
from fillcalc.case.records import Range
from fillcalc.job.distribution import quantile
from fillcalc.questions.jobs.chances import beta_below, beta_quantile, t_below, t_quantile, wilson
from fillcalc.questions.jobs.posterior import (
    HIGH,
    LOW,
    PRIOR_JOBS,
    PRIOR_OF_A_NAME,
    PRIOR_PIECES,
    figure,
    known_before,
    learned,
    learned_of_a_name,
    no_further,
    odd_ones,
    share_learned,
)
from tests.report.demo import CASES, NAMES

DEFAULT = Range(20.0, 35.0, 75.0, given=False)


@pytest.mark.parametrize("freedom", [0.7, 1.0, 2.0, 3.5, 12.0, 23.0, 400.0, 3e4])
def test_student(freedom: float) -> None:
    for rank in (1e-6, 0.003, 0.1, 0.31, 0.5, 0.9, 0.975, 0.99999):
        assert t_quantile(rank, freedom) == pytest.approx(stats.t.ppf(rank, freedom), rel=1e-6, abs=1e-9)
    for value in (-31.0, -2.5, -0.1, 0.0, 0.7, 4.0, 60.0):
        assert t_below(value, freedom) == pytest.approx(stats.t.cdf(value, freedom), rel=1e-6, abs=1e-12)


@pytest.mark.parametrize(("a", "b"), [(0.56, 6.44), (1.05, 5.95), (3.05, 25.0), (0.3, 0.4), (150.0, 900.0), (9.0, 1.1)])
def test_beta(a: float, b: float) -> None:
    for rank in (0.001, 0.1, 0.5, 0.9, 0.999):
        assert beta_quantile(rank, a, b) == pytest.approx(stats.beta.ppf(rank, a, b), rel=1e-6, abs=1e-12)
    for share in (0.0, 1e-4, 0.07, 0.5, 0.93, 1.0):
        assert beta_below(share, a, b) == pytest.approx(stats.beta.cdf(share, a, b), rel=1e-6, abs=1e-12)


@pytest.mark.parametrize(("hits", "of"), [(0, 5), (3, 5), (9, 12), (80, 100), (12, 12), (812, 1000)])
def test_wilson(hits: int, of: int) -> None:
    theirs = stats.binomtest(hits, of).proportion_ci(0.95, method="wilson")
    assert wilson(hits, of) == pytest.approx((theirs.low, theirs.high), abs=1e-9)
    assert wilson(0, 0) == (0.0, 1.0)


def test_a_default_alone_is_given_back() -> None:
    """Every default that jobs can teach of every demo case, exactly: low, likely and high."""
    tried = 0
    for name in NAMES:
        case = read_file(CASES / f"{name}.toml")
        for path in (*PATHS.values(), "trapped_air.amount", "tap.open_flow", "pump.mid_curve"):
            default = handbook(case, path) if hasattr(case.pump, "mid_curve") or "pump" not in path else None
            if default is None:
                continue
            back = figure(known_before(default))
            assert (back.low, back.likely, back.high) == pytest.approx((default.low, default.likely, default.high),
                                                                       rel=1e-9, abs=1e-9 * default.high)
            tried += 1
    assert tried > 50
    assert share_learned(0.15, 0, 0).likely == pytest.approx(0.15)


def test_the_update_is_that_of_the_normal_inverse_gamma() -> None:
    """The prediction after some jobs, against the posterior integrated over mean and variance by scipy."""
    logs = [log(each) for each in (44.0, 50.0, 61.0, 38.0)]
    before = known_before(DEFAULT)
    after = learned(before, logs)
    shape, rate = 0.5 * before.freedom, 0.5 * before.square

    def density(variance: float, value: float) -> float:
        """Of the jobs and the next one together, the mean integrated out: all normal about the default's."""
        points = np.array([*logs, value])
        n = len(points)
        covariance = variance * (np.eye(n) + 1.0 / PRIOR_JOBS)
        return float(stats.multivariate_normal.pdf(points, np.full(n, before.mean), covariance)
                     * stats.invgamma.pdf(variance, shape, scale=rate))

    def along(value: float) -> float:
        return integrate.quad(lambda u: density(exp(u), value) * exp(u), -12.0, 12.0, epsabs=0, epsrel=1e-9,
                              limit=400, points=[-6.0, -4.0, -3.0, -2.0, -1.0, 1.0])[0]

    places = after.mean + after.scale * np.array([-1.5, -0.4, 0.0, 0.8, 2.2])
    theirs = np.array([along(float(each)) for each in places])
    ours = stats.t.pdf(places, after.freedom, after.mean, after.scale)
    assert theirs / theirs[2] == pytest.approx(ours / ours[2], rel=1e-6)


def test_low_and_high_are_one_in_ten_and_nine_in_ten() -> None:
    rng = np.random.default_rng(5)
    for default in (DEFAULT, Range(0.0, 900.0, 3600.0, False), Range(0.0002, 0.001, 0.005, False)):
        for n in (1, 3, 20, 200):
            logs = list(log(default.likely or 0.0) + rng.normal(0.2, 0.25, n))
            known = learned(known_before(default), logs)
            asked = figure(known)
            half = known.scale * stats.t.ppf(HIGH, known.freedom)
            for rank, off in ((LOW, -known.lean * half), (0.5, 0.0), (HIGH, (2.0 - known.lean) * half)):
                assert float(quantile(asked, np.array(rank))) == pytest.approx(exp(known.mean + off), rel=0.03)
            assert 0.0 <= asked.low < (asked.likely or 0.0) < asked.high


def test_one_job_moves_the_middle_by_a_quarter_and_twenty_almost_all_the_way() -> None:
    double = log(2.0 * (DEFAULT.likely or 0.0))
    moved = [figure(learned(known_before(DEFAULT), [double] * n)).likely or 0.0 for n in (0, 1, 20)]
    assert [log(each / 35.0) / log(2.0) for each in moved] == pytest.approx([0.0, 0.25, 20.0 / 23.0])


@pytest.mark.parametrize("logs", [[log(2.0)], [log(2.0), log(2.0)], [log(200.0)], [log(30.0), log(40.0)]])
def test_jobs_on_one_side_push_no_end_further_out_on_the_other(logs: list[float]) -> None:
    """A wait of two minutes does not make one of hours more likely, nor a long one a shorter."""
    wait = Range(0.0, 15.0, 60.0, given=False)
    known = no_further(figure(learned(known_before(wait), logs)), wait, logs)
    assert 0.0 <= known.low < (known.likely or 0.0) < known.high
    if max(logs) < log(15.0):
        assert (known.likely or 0.0) < 15.0 and known.high == pytest.approx(60.0)
    else:
        assert (known.likely or 0.0) > 15.0 and known.low <= 15.0 and known.high > 60.0 * 0.9
        assert known.high <= 4.0 * exp(max(logs)) * (1.0 + 1e-12)  # the default's high is 4 times its likely


def test_of_a_name_one_job_moves_half_way_and_jobs_that_agree_outweigh_the_default() -> None:
    before = known_before(DEFAULT, PRIOR_OF_A_NAME)
    assert learned_of_a_name(before, []) == before
    off = log(2.0)
    moved = [(learned_of_a_name(before, [before.mean + off] * n).mean - before.mean) / off for n in (1, 2, 5, 20)]
    assert moved[0] == pytest.approx(0.5) and moved == sorted(moved) and moved[2] > 0.9 and moved[3] > 0.99
    scatter = np.random.default_rng(4).normal(0.0, 0.1, 12)
    near, far = (learned_of_a_name(before, list(before.mean + away + scatter)) for away in (0.0, 1.0))
    assert far.scale == pytest.approx(near.scale)  # how far off a tap is says nothing of how it scatters


@pytest.mark.parametrize(("n", "within"), [(5, 0.15), (12, 0.06), (40, 0.03)])
def test_a_name_against_the_whole_posterior(n: int, within: float) -> None:
    """Mean and variance on a grid, the mean normal and the variance inverse gamma, each on its own."""
    before = known_before(DEFAULT, PRIOR_OF_A_NAME)
    logs = before.mean + 0.3 + np.random.default_rng(n).normal(0.0, 0.15, n)
    known = learned_of_a_name(before, list(logs))
    mean = np.linspace(-2.0, 2.0, 801)[:, None] + before.mean
    variance = np.exp(np.linspace(-9.0, 3.0, 601))
    between = before.square / before.freedom / before.jobs
    weight = -0.5 * (mean - before.mean) ** 2 / between \
        + stats.invgamma.logpdf(variance, 0.5 * before.freedom, scale=0.5 * before.square) + np.log(variance) \
        - 0.5 * n * np.log(variance) - 0.5 * np.sum((logs[:, None, None] - mean) ** 2, axis=0) / variance
    weight = np.exp(weight - weight.max())
    weight /= weight.sum()
    for rank in (LOW, 0.5, HIGH):
        ours = known.mean + known.scale * stats.t.ppf(rank, known.freedom)
        below = float(np.sum(weight * stats.norm.cdf(ours, mean, np.sqrt(variance))))
        assert below == pytest.approx(rank, abs=within * 0.5)


@pytest.mark.parametrize("n", [0, 1, 3, 11, 40])
def test_an_absurd_job_is_named_and_moves_nothing(n: int) -> None:
    rng = np.random.default_rng(n)
    logs = list(log(35.0) + rng.normal(0.1, 0.3, n))
    assert odd_ones(known_before(DEFAULT), logs) == ()
    absurd = [*logs, log(40.0 * 60.0)]
    assert odd_ones(known_before(DEFAULT), absurd) == (n,)
    if n > 3:
        both = [*absurd, log(50.0 * 60.0), log(0.2)]
        assert odd_ones(known_before(DEFAULT), both) == (n, n + 1, n + 2)


def test_joints_against_the_beta_distribution() -> None:
    asked = share_learned(0.15, 2, 31)
    a, b = PRIOR_PIECES * 0.15 + 2, PRIOR_PIECES * 0.85 + 29
    assert asked.likely == pytest.approx(stats.beta.mean(a, b))
    for rank in (LOW, HIGH):
        assert float(quantile(asked, np.array(rank))) == pytest.approx(stats.beta.ppf(rank, a, b), rel=0.02)
    assert share_learned(0.15, 31, 31).high <= 1.0 and share_learned(0.08, 0, 500).low >= 0.0
