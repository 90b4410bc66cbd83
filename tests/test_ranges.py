"""How sure: the samples, their percentiles, and what they must agree with."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import stats as scipy_stats

from fillcalc.arrays import Array, take
from fillcalc.case.fields import inputs
from fillcalc.case.read import read_file
from fillcalc.case.records import Case, Range
from fillcalc.estimation.answers import Estimate
from fillcalc.estimation.estimate import estimate
from fillcalc.estimation.stages import stages
from fillcalc.job.distribution import quantile
from fillcalc.job.points import DRAWS, MOST_COLUMNS, sobol
from fillcalc.job.samples import REWORK, Samples, assign, key, keys, remade, samples, uncertain
from fillcalc.model.status import Status
from fillcalc.questions.likely import likely
from fillcalc.questions.percentiles import low_likely_high, percentiles
from fillcalc.questions.ranges import missing, total_of, with_ranges
from fillcalc.tree import at, put, put_all
from tests.families import few
from tests.model.random_cases import case_of
from tests.worked import work_out
from tui.state.session import FEW as FEW_ON_SCREEN

CASES = sorted(path.stem for path in (Path(__file__).parents[1] / "cases").glob("*.toml") if path.stem != "kit")
FEW = 256
RANKS = np.linspace(0.001, 0.999, 97)


@cache
def demo(name: str) -> Case:
    return read_file(Path(__file__).parents[1] / "cases" / f"{name}.toml")


@cache
def sure(name: str) -> Estimate:
    return with_ranges(demo(name))


@pytest.mark.parametrize("name", few((name for name in CASES if not name.startswith("gas-")), 1))
def test_few_samples_tell_the_same_but_for_the_last_digit(name: str) -> None:
    few, all_of_them = with_ranges(demo(name), FEW_ON_SCREEN), sure(name)
    pairs = [(getattr(few.visit, key), getattr(all_of_them.visit, key)) for key in ("low_s", "likely_s", "high_s")]
    spreads = zip(few.spreads, all_of_them.spreads, strict=True)
    pairs += [(getattr(one, key), getattr(other, key)) for one, other in spreads for key in ("low", "likely", "high")
              if one.path in ("fill.time_s", "pressurise.time_s", "pressurise.strokes")]
    np.testing.assert_allclose(*map(np.array, zip(*pairs, strict=True)), rtol=0.01)


def certain(case: Case) -> Case:
    """The case with no range left, and no joint to remake."""
    return replace(case, ranges={}, rework=replace(case.rework, chance=0.0))


def only(case: Case, **asked: Range) -> Case:
    """The case without other ranges than these, whose paths have a double underscore for the dot."""
    return replace(certain(case), ranges={path.replace("__", "."): one for path, one in asked.items()})


def answer(of: Any, path: str) -> Array:
    for name in path.split("."):
        of = getattr(of, name)
    return np.atleast_1d(np.asarray(of, float))


# --- the points and the distributions -----------------------------------------------------------

@pytest.mark.parametrize("pieces", [1, 2, 7, 40, 200])
@pytest.mark.parametrize("chance", [0.0, 0.02, 0.15, 0.9, 1.0])
def test_remade_pieces_are_binomial(pieces: int, chance: float) -> None:
    np.testing.assert_array_equal(remade(pieces, chance, RANKS), scipy_stats.binom.ppf(RANKS, pieces, chance))


def test_many_remade_pieces_are_nearly_binomial() -> None:
    ours = remade(1000, 0.15, RANKS)
    assert np.abs(ours - scipy_stats.binom.ppf(RANKS, 1000, 0.15)).max() <= 2.0  # skewness, at the far ends


def test_the_chance_of_a_joint_may_differ_from_try_to_try() -> None:
    chance = np.linspace(0.05, 0.4, len(RANKS))
    np.testing.assert_array_equal(remade(9, chance, RANKS), scipy_stats.binom.ppf(RANKS, 9, chance))


@pytest.mark.parametrize(("half_widths", "spread", "half_interval"), [
    ((1.0, 1.0, 1.0, 1.0), 2.0, 3.879407), ((1.0, 1.0, 1.0, 10.0), 10.149, 17.02)])
def test_sums_of_rectangulars(half_widths: tuple[float, ...], spread: float, half_interval: float) -> None:
    """JCGM 101:2008, 9.2.3 and 9.2.4 (from memory, worked out again): spread and symmetrical 95 % interval."""
    ends = [unit * np.sqrt(3.0) for unit in half_widths]
    total = np.asarray(sum(quantile(Range(-end, None, end, True), column)
                           for end, column in zip(ends, sobol(len(ends)).T, strict=True)))
    assert total.std() == pytest.approx(spread, rel=2e-3)
    assert np.quantile(total, [0.025, 0.975]) == pytest.approx([-half_interval, half_interval], rel=5e-3)


def test_columns_past_the_shipped_ones_are_as_even_and_keep_apart() -> None:
    found = assign([f"input {place}" for place in range(MOST_COLUMNS + 6)])
    assert len(found) == MOST_COLUMNS + 6
    slices = [np.sort(np.floor(column * DRAWS).astype(int)) for column in found.values()]
    assert all((each == np.arange(DRAWS)).all() for each in slices)
    far = np.asarray(np.corrcoef(np.stack(list(found.values()))))
    assert np.abs(far - np.eye(len(far))).max() < 5.0 / np.sqrt(DRAWS)


# --- percentiles --------------------------------------------------------------------------------

@pytest.mark.parametrize("count", [1, 2, 3, 10, 11, 4096])
def test_percentiles_are_those_of_numpy(count: int) -> None:
    values = np.random.default_rng(count).normal(size=(3, count))
    np.testing.assert_allclose(percentiles(values), np.quantile(values, [0.1, 0.5, 0.9], axis=-1), rtol=1e-13)


def test_percentiles_leave_out_what_never_finishes_where_that_is_asked() -> None:
    values = np.random.default_rng(3).normal(size=(4, 200))
    values[1, ::7] = np.nan
    values[3] = np.nan
    found = percentiles(values, finished_only=True)
    np.testing.assert_allclose(found[:, :3], np.nanquantile(values[:3], [0.1, 0.5, 0.9], axis=-1), rtol=1e-13)
    assert np.isnan(found[:, 3]).all()


# --- one call and many single ones --------------------------------------------------------------

EXACT = ("fill.time_s", "fill.water_m3", "fill.flow_end_m3_s", "fill.air_peak_gauge_pa", "fill.top_up_s",
         "trapped_air_m3", "pressurise.water_m3", "pressurise.strokes", "pressurise.stall_gauge_pa",
         "hold.pressure_per_kelvin_pa", "release.time_s")
INTEGRATED = ("pressurise.time_s", "pressurise.free_air_m3", "settle.drop_air_pa")
"""One case alone is integrated over the panels between its stroke marks, many over one or a few."""


def _singly(name: str, draws: int) -> tuple[Any, Estimate, list[Estimate]]:
    sampled = samples(demo(name), assign(keys(demo(name)), draws), ends=False)
    rows = range(0, sampled.rows(), 5)
    return sampled, estimate(sampled.case), [estimate(take(sampled.case, slice(row, row + 1))) for row in rows]


@pytest.mark.parametrize("name", few(name for name in CASES if not name.startswith("gas-")))
def test_rows_are_single_estimates(name: str) -> None:
    sampled, many, each = _singly(name, 64)
    for path in (*EXACT, *INTEGRATED):
        if path.startswith("release") and many.release is None:
            continue
        ours = np.broadcast_to(answer(many, path), sampled.rows())[::5]
        single = [float(answer(one, path)[0]) for one in each]
        np.testing.assert_allclose(ours, single, rtol=1e-6 if path in INTEGRATED else 1e-11, err_msg=path)


@pytest.mark.parametrize("name", ["cooler-shell", "valve-block"])
def test_how_many_rows_go_together_says_nothing(name: str) -> None:
    """From 64 samples on, where a limit is in the way; fewer are integrated over more panels."""
    sampled = samples(demo(name), assign(keys(demo(name)), FEW))
    many = estimate(sampled.case)
    some = np.arange(1, 101)
    few = estimate(take(sampled.case, np.concatenate([[0], some])))
    for path in (*EXACT, *INTEGRATED):
        ours = np.broadcast_to(answer(many, path), sampled.rows())[some]
        np.testing.assert_allclose(ours, np.broadcast_to(answer(few, path), 101)[1:], rtol=1e-9, err_msg=path)


@pytest.mark.parametrize("name", few(["cooler-shell", "bench-valve"], 1))
def test_percentiles_are_those_of_a_loop(name: str) -> None:
    """Each try alone: its own case, its own stages, its own sum; then numpy's percentiles."""
    case, count = demo(name), FEW // 2
    columns = assign(keys(case), count)
    sampled = samples(case, columns, ends=False)
    _, times = work_out(sampled)
    total, pumping = [], []
    for row in range(1, 1 + count):
        one = take(sampled.case, slice(row, row + 1))
        again = remade(case.vessel.count, float(np.ravel(one.rework.chance)[0]), columns[REWORK][row - 1:row])
        of_one = stages(one, estimate(one), again)
        total.append(sum(float(np.ravel(part)[0]) for part in of_one.values()))
        pumping.append(float(of_one["pump up"][0]))
    together = np.asarray(sum(times.values()))
    np.testing.assert_allclose(percentiles(together[1:]), np.quantile(total, [0.1, 0.5, 0.9]), rtol=1e-9)
    np.testing.assert_allclose(percentiles(times["pump up"][1:]), np.quantile(pumping, [0.1, 0.5, 0.9]), rtol=1e-6)


def _blindly(case: Case, count: int) -> Iterator[tuple[str, Array]]:
    chance = np.random.default_rng(20)
    for name in keys(case):
        yield name, chance.random(count)


@pytest.mark.parametrize("name", ["cooler-shell", "crest-line", "tall-tank"])
def test_percentiles_are_those_of_random_tries_within_sampling_error(name: str) -> None:
    """The share of random samples below each of ours, whose error is that of a counted share."""
    count = 2048
    sampled = samples(demo(name), dict(_blindly(demo(name), count)), ends=False)
    many, times = work_out(sampled)
    total = np.asarray(sum(times.values()))[1:]
    found = {row.path: row for row in sure(name).spreads}
    visit = sure(name).visit
    assert visit is not None
    checks = [(total, visit.low_s, visit.likely_s, visit.high_s)]
    checks += [(answer(many, path)[1:], found[path].low, found[path].likely, found[path].high)
               for path in ("fill.time_s", "pressurise.time_s", "pressurise.strokes", "pressurise.water_m3")]
    for values, *ours in checks:
        if name == "tall-tank" and np.isnan(values).all():
            assert np.isnan(ours).all()  # strokes of a pump that has none
            continue
        there = values[np.isfinite(values)]
        assert np.mean(there < float(ours[1])) > 0.35 and np.mean(there <= float(ours[1])) < 0.65  # near
        for rank, value in zip((0.1, 0.9), (ours[0], ours[2]), strict=True):
            error = 4.0 * np.sqrt(rank * (1.0 - rank) / there.size)
            assert np.mean(there < float(value)) - error < rank < np.mean(there <= float(value)) + error


def _own_inverse(asked: Range, share: Array) -> Array:
    """The quantiles of a range again: two sides, each of a linear density, in the logarithm where wide."""
    if asked.likely is None:
        return asked.low + (asked.high - asked.low) * share
    is_wide = asked.low > 0.0 and asked.high > 5.0 * asked.low
    ends = np.array([asked.low, asked.likely, asked.high])
    low, middle, high = np.log(ends) if is_wide else ends
    side = np.sqrt(2.0 * np.where(share < 0.5, share, 1.0 - share))
    value = np.where(share < 0.5, low + (middle - low) * side, high - (high - middle) * side)
    return np.exp(value) if is_wide else value


def _tried(case: Case, count: int) -> Samples:
    """The case with pseudo-random values in its ranges, by another sampler than ours."""
    chance = np.random.default_rng(7)
    shares: dict[str, Array] = {}
    changed: dict[str, Any] = {}
    for path in uncertain(case):
        share = shares.setdefault(key(path), chance.random(count))
        legal = inputs(type(at(case, path.rpartition(".")[0])))[path.rpartition(".")[2]]
        values = np.clip(_own_inverse(case.ranges[path], share), legal.low, legal.high)
        changed[path] = np.concatenate([np.ravel(at(case, path))[:1], values])
    return Samples(put_all(case, changed), (), count, chance.random(count))


@pytest.mark.parametrize("seed", few([3, 17, 48, 87], 1))
def test_random_cases_agree_with_another_sampler(seed: int) -> None:
    """One in ten of its tries lies below low, nine in ten below high; about half below likely."""
    case, count = case_of(seed), 2048
    assert case is not None
    answers, (many, times) = with_ranges(case), work_out(_tried(case, count))
    assert answers.visit is not None
    rows = [(total_of(times, missing(many, times)), answers.visit.low_s, answers.visit.likely_s, answers.visit.high_s)]
    rows += [(np.asarray(answer(many, one.path)), one.low, one.likely, one.high) for one in answers.spreads
             if one.path in ("fill.time_s", "pressurise.time_s", "pressurise.water_m3")]
    for values, *ours in rows:
        drawn = np.where(np.isfinite(values), values, np.inf)[1:]
        for rank, value in zip((0.1, 0.5, 0.9), ours, strict=True):
            if not np.isfinite(value):
                assert np.mean(np.isfinite(drawn)) < rank + 0.03
                continue
            error = 0.2 if rank == 0.5 else 4.5 * np.sqrt(rank * (1.0 - rank) / count)
            edge = 1e-9 * abs(float(value))
            assert np.mean(drawn < float(value) - edge) - error < rank < np.mean(drawn <= float(value) + edge) + error


# --- what must hold -----------------------------------------------------------------------------

@pytest.mark.parametrize("name", few(CASES, 2))
def test_low_middle_high_in_order(name: str) -> None:
    found = sure(name)
    assert found.visit is not None and found.stages and found.spreads
    rows = [(found.visit.low_s, found.visit.likely_s, found.visit.high_s),
            *((one.low_s, one.likely_s, one.high_s) for one in found.stages),
            *((one.low, one.likely, one.high) for one in found.spreads)]
    assert all(low <= likely <= high for low, likely, high in rows if np.isfinite(likely))
    assert any(low < likely < high for low, likely, high in rows)


@pytest.mark.parametrize("name", few(CASES, 2))
def test_without_a_range_all_three_are_equal(name: str) -> None:
    answers, plain = with_ranges(certain(demo(name))), estimate(demo(name))
    assert answers.visit is not None
    visit = answers.visit
    for one in (visit, *answers.stages):  # NaN of all three where it never ends
        np.testing.assert_array_equal([one.low_s, one.likely_s, one.high_s], one.at_likely_values_s)
    for row in answers.spreads:
        alone = float(answer(answers if row.path.startswith("loads.") else plain, row.path)[0])
        assert row.never_share == float(not np.isfinite(alone)), row.path
        if np.isfinite(alone):
            assert row.low == row.likely == row.high == alone, row.path
    assert answers.matters == ()


@pytest.mark.parametrize("name", ["cooler-shell", "bench-valve"])
def test_an_input_that_moves_nothing_leaves_three_equal_numbers(name: str) -> None:
    moved = {row.path: row for row in with_ranges(only(demo(name), tap__pressure=Range(2e5, 3e5, 4e5, True))).spreads}
    assert moved["fill.time_s"].low < moved["fill.time_s"].high
    pump = moved["pressurise.time_s"]
    assert pump.low == pump.likely == pump.high


@pytest.mark.parametrize("name", few(["cooler-shell", "tall-tank", "crest-line"], 1))
def test_a_longer_hose_moves_no_percentile_down(name: str) -> None:
    length = float(demo(name).fill.hose[0].length)
    found = [with_ranges(put(demo(name), "fill.hose.1.length", length * part)) for part in (1.0, 1.02, 1.5, 4.0)]
    fills = np.array([next((row.low, row.likely, row.high) for row in one.spreads if row.path == "fill.time_s")
                      for one in found])
    visits = np.array([(one.visit.low_s, one.visit.likely_s, one.visit.high_s) for one in found if one.visit])
    assert (np.diff(fills, axis=0) > 0.0).all()
    assert (np.diff(visits, axis=0) >= 0.0).all()


def test_stages_add_up_as_written_and_not_at_their_ends() -> None:
    run = sure("cooler-shell")
    assert run.visit is not None
    assert sum(one.at_likely_values_s for one in run.stages) == pytest.approx(run.visit.at_likely_values_s, rel=1e-12)
    assert sum(one.low_s for one in run.stages) < run.visit.low_s
    assert sum(one.high_s for one in run.stages) > run.visit.high_s


def test_as_written_is_the_estimate_without_ranges() -> None:
    for path in (*EXACT, *INTEGRATED):
        alone = answer(estimate(demo("cooler-shell")), path)[0]
        assert answer(sure("cooler-shell"), path)[0] == pytest.approx(alone, rel=1e-12)


# --- what never finishes, and what matters ------------------------------------------------------

def test_the_share_that_never_finishes_is_that_of_the_taps_too_weak() -> None:
    """Only a tap that lifts the water to the top fills the tank: the share is that of the range below the head."""
    case = put(put(demo("tall-tank"), "tap.height", 0.0), "trapped_air.amount", 0.0)
    head = 999.5 * 9.80665 * float(np.ravel(estimate(case).height_m)[0])
    asked = Range(0.5 * head, 1.2 * head, 3.0 * head, True)
    answers = with_ranges(only(case, tap__pressure=asked))
    weak = 0.5 * scipy_stats.triang(1.0, loc=np.log(0.5), scale=np.log(2.4)).cdf(0.0)  # high is six times low
    assert answers.visit is not None
    assert 0.05 < weak < 0.5
    assert answers.visit.never_share == pytest.approx(weak, abs=1e-3)
    assert [never.status for never in answers.visit.never] == [Status.HEAD_TOO_HIGH]
    assert answers.visit.never[0].share == answers.visit.never_share


def test_each_end_is_the_case_with_that_input_alone_there() -> None:
    case, found = demo("cooler-shell"), sure("cooler-shell")
    assert len(found.matters) > 5
    for swing in found.matters[:6]:
        asked = case.ranges[swing.path]
        low, high = quantile(asked, np.array([0.1, 0.9]))
        for end, fill_s, pump_s, total in ((low, swing.fill_low_s, swing.pump_up_low_s, swing.low_s),
                                           (high, swing.fill_high_s, swing.pump_up_high_s, swing.high_s)):
            alone = with_ranges(certain(put(case, swing.path, end)))
            assert fill_s == pytest.approx(float(alone.fill.time_s), rel=1e-9)
            assert pump_s == pytest.approx(float(alone.pressurise.time_s), rel=1e-6)
            assert alone.visit is not None
            assert total == pytest.approx(alone.visit.at_likely_values_s, rel=1e-6)


@pytest.mark.parametrize("name", few(CASES, 2))
def test_what_matters_most_comes_first(name: str) -> None:
    sizes = [abs(one.high_s - one.low_s) for one in sure(name).matters]
    sizes = [size if np.isfinite(size) else np.inf for size in sizes]
    assert sizes == sorted(sizes, reverse=True)
    assert {one.path for one in sure(name).matters} <= set(demo(name).ranges)


def test_bores_of_one_hose_go_together_and_those_of_two_do_not() -> None:
    assert key("fill.hose.1.bore") == key("fill.hose.1.coupling_hole") == key("fill.hose.1.tail_bore")
    assert key("fill.hose.1.bore") != key("fill.hose.2.bore")
    assert key("tap.pressure") == key("tap.open_flow") != key("tap.height")
    both = Range(0.9, None, 1.1, True)
    case = replace(certain(demo("cooler-shell")), ranges={
        "fill.hose.1.bore": both, "fill.hose.1.coupling_hole": both, "vent.coefficient": both})
    sampled = samples(case)
    drawn = [sampled.drawn(np.asarray(at(sampled.case, path))) for path in case.ranges]
    np.testing.assert_array_equal(drawn[0], drawn[1])
    assert (drawn[0] != drawn[2]).any()


def test_a_range_stays_inside_what_is_legal() -> None:
    case = only(demo("cooler-shell"), vent__coefficient=Range(0.2, None, 1.8, True))
    values = np.asarray(samples(case).case.vent.coefficient)
    assert values.max() == 1.0
    assert np.mean(values == 1.0) == pytest.approx(0.5, abs=1e-3)


def test_the_likely_figure_is_that_of_tables_where_it_is_near_the_middle() -> None:
    """The middle of 0 to 1 is 0.5, nine in ten lie below 0.9: within 0.1 of it the run at likely values is told."""
    drawn = np.linspace(0.0, 1.0, 1001)
    for at_likely_values, each in ((0.5, 0.5), (0.41, 0.41), (0.59, 0.59), (0.39, 0.5), (0.61, 0.5), (np.nan, 0.5)):
        low, likely, high = low_likely_high(np.array(at_likely_values), drawn)
        assert (low, likely, high) == pytest.approx((0.1, each, 0.9), rel=1e-12)


@pytest.mark.parametrize("name", ["cooler-shell", "crest-line", "valve-batch"])
def test_a_counter_has_one_figure_in_headline_and_table(name: str) -> None:
    answers = likely(with_ranges(demo(name)))
    last = float(np.ravel(answers.pressurise.strokes_at[-1])[0])
    step = 10.0 ** (np.floor(np.log10(last)) - 1)
    assert abs(float(answers.pressurise.strokes) - last) < max(step, 1.0)
