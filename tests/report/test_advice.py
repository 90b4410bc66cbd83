"""What is advised is what helps: found out, it takes away as much of the doubt as it was said to."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from fillcalc.case.records import Case
from fillcalc.estimation.answers import Estimate
from fillcalc.job.samples import Samples, assign, keys, samples
from fillcalc.present import advice
from fillcalc.present.advice import advice_sentences, doubts_of, taken_away
from fillcalc.questions.ranges import with_ranges
from fillcalc.tree import put
from tests.report.demo import NAMES, ranged
from tests.worked import work_out

Doubt = Callable[[Case], float]


def fill_doubt(case: Case) -> float:
    return float(np.std(tries_of(case).fill.time_s))


def pump_doubt(case: Case) -> float:
    return float(np.std(tries_of(case).pressurise.time_s))


FEW = 2048
"""Enough samples for a spread to within some per cent."""


def site_doubt(case: Case) -> float:
    sampled = few(replace(case, rework=replace(case.rework, chance=0.0)))
    return float(np.std(sampled.drawn(np.asarray(sum(work_out(sampled)[1].values())))))


def few(case: Case) -> Samples:
    return samples(case, assign(keys(case), FEW), ends=False)


def tries_of(case: Case) -> Estimate:
    return work_out(few(case))[0]


def without(case: Case, remedy: advice.Remedy) -> Case:
    return replace(case, ranges={path: one for path, one in case.ranges.items() if not remedy.takes(path)})


def after_a_bucket_test(case: Case) -> Case:
    """The ranges stay; the line's losses are made true to what was measured."""
    return put(case, "fill.measured_flow", float(tries_of(replace(case, ranges={})).fill.flow_start_m3_s[0]))


@pytest.mark.parametrize(("name", "answer", "doubt", "found_out", "remedy"), [
    ("tall-tank", 0, fill_doubt, after_a_bucket_test, advice.BUCKET),
    ("ammonia-line-us", 0, fill_doubt, after_a_bucket_test, advice.BUCKET),
    ("cooler-shell", 1, pump_doubt, None, advice.AIR_READ),
    ("crest-line", 1, pump_doubt, None, advice.AIR_TAKEN),
    ("ammonia-line-us", 2, site_doubt, None, advice.CLOSURES),
    ("valve-block", 2, site_doubt, None, advice.AGREED),
])
def test_as_much_goes_as_was_said(name: str, answer: int, doubt: Doubt, found_out: Callable[[Case], Case] | None,
                                  remedy: advice.Remedy) -> None:
    """Within a seventh of the doubt: the swings stand for spreads of other shapes, and not all add like numbers."""
    case, estimate = ranged(name)
    found = taken_away(remedy, doubts_of(estimate, advice.ANSWERS[answer].ends))
    known = found_out(case) if found_out else without(case, remedy)
    assert found == pytest.approx(1.0 - doubt(known) / doubt(case), abs=0.15)
    gain = found * float(np.hypot.reduce(list(doubts_of(estimate, advice.ANSWERS[answer].ends).values())))
    worth = gain > advice.LEAST_GAIN * advice.ANSWERS[answer].of(estimate)
    assert any(remedy.words in sentence for sentence in advice_sentences(case, estimate, "metric")) == worth


@pytest.mark.parametrize("name", NAMES)
def test_one_sentence_at_most_for_each_answer(name: str) -> None:
    case, estimate = ranged(name)
    sentences = advice_sentences(case, estimate, "metric")
    assert sum("uncertainty" in sentence for sentence in sentences) <= len(advice.ANSWERS)
    assert all(sum(f"in {answer.words}." in sentence for sentence in sentences) <= 1 for answer in advice.ANSWERS)


def test_nobody_is_sent_to_measure_for_a_minute() -> None:
    """A pump-up whose doubt is a minute or two: worth a reading in a visit of hours, not in one of a day."""
    case, estimate = ranged("cooler-shell")
    assert any(advice.AIR_READ.words in each for each in advice_sentences(case, estimate, "metric"))
    visit = replace(estimate.visit, likely_s=24.0 * 3600.0)
    long = advice_sentences(case, replace(estimate, visit=visit), "metric")
    assert not any("the pump-up" in each for each in long)


def test_nothing_is_advised_where_nothing_is_in_doubt() -> None:
    case, _ = ranged("cooler-shell")
    certain = replace(case, ranges={})
    assert advice_sentences(certain, with_ranges(certain), "metric") == []


def test_what_is_known_is_not_asked_for_again() -> None:
    """After a bucket test nobody is sent to do one; openings that were given are not asked for."""
    case, _ = ranged("tall-tank")
    measured = after_a_bucket_test(case)
    assert not any("bucket" in each for each in advice_sentences(measured, with_ranges(measured), "metric"))
    case, estimate = ranged("ammonia-line-us")
    given = replace(case, assumptions=())
    assert not any("openings" in each for each in advice_sentences(given, estimate, "metric"))


def test_a_stage_that_may_cost_a_day_says_so_and_a_valve_nobody_gave_is_asked_for() -> None:
    sentences = advice_sentences(*ranged("crest-line"), "metric")
    assert "If disconnecting takes long, the visit needs another day: its set-up and pack-up are in that figure." \
        in sentences
    assert "Enter the real release valve Kv before you quote: it is assumed." in sentences


def test_us_units_have_us_words() -> None:
    case, estimate = ranged("ammonia-line-us")
    assert not any("tap" in each.split() for each in advice_sentences(case, estimate, "us"))
