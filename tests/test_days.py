"""A visit over working days: laid out again by hand, and what must hold of any plan."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from math import isclose
from pathlib import Path

import numpy as np
import pytest

from fillcalc.case.read import read_file, read_text
from fillcalc.case.records import Case
from fillcalc.estimation.answers import Days, Estimate
from fillcalc.estimation.days import MOST_LOADS, Visiting, Work, days_of, lay_out
from fillcalc.present.days import days_sentences
from fillcalc.questions.likely import likely
from fillcalc.questions.ranges import with_ranges
from fillcalc.questions.visit import visit
from fillcalc.tree import put
from fillcalc.units import show
from tests.families import thorough

CASES = Path(__file__).parents[1] / "cases"
HOUR = 3600.0
LONG = ("crest-line", "tall-tank")
"""Demo cases that take more than a day."""


@cache
def demo(name: str) -> Case:
    return read_file(CASES / f"{name}.toml")


@cache
def whole(name: str) -> Estimate:
    return with_ranges(demo(name))


def days(estimate: Estimate) -> Days:
    assert estimate.days is not None
    return estimate.days


def by_hand(loads: list[tuple[float, ...]], wait: float, again: float, left: float, little: float) -> int:
    """The days of a visit by a clock that runs on from one piece of work to the next."""
    day, clock = 1, 0.0
    steps = [(wait, True), *((time, breaks) for load in loads for time, breaks in zip(load, (True, False, True),
                                                                                  strict=True)), (again, True)]
    for time, breaks in steps:
        if not time:
            continue
        if not breaks:
            if clock and clock + time > left:
                day, clock = day + 1, 0.0
            day, clock = day + (int(time) - 1) // 86400, clock + time - 86400.0 * ((int(time) - 1) // 86400)
            continue
        while time > 0.0:
            if clock >= left:
                day, clock = day + 1, 0.0
            spent = min(time, left - clock)
            time, clock = time - spent, clock + spent
    return day - (day > 1 and clock <= little)


@pytest.mark.parametrize("seed", range(40))
def test_the_days_are_those_of_a_plain_clock(seed: int) -> None:
    chance = np.random.default_rng(seed)
    works, loads = [], []
    for _ in range(int(chance.integers(1, 4))):
        parts = [float(round(chance.uniform(0.0, most * HOUR))) for most in (4.0, chance.choice([2.0, 6.0, 30.0]), 3.0)]
        count = int(chance.integers(1, 7))
        works.append(Work(count, tuple(np.array([part]) for part in parts)))
        loads += [tuple(parts)] * count
    day, set_up, pack_up, wait, again = (np.array([float(round(x))]) for x in (
        chance.uniform(6, 10) * HOUR, chance.uniform(0, 1) * HOUR, chance.uniform(0, 1) * HOUR,
        chance.uniform(0, 1) * HOUR, chance.uniform(0, 2) * HOUR))
    once = Visiting(day, set_up, pack_up, wait, again)
    found = days_of(works, once)
    assert found[0] == by_hand(loads, float(wait[0]), float(again[0]), float(once.for_work[0]),
                               float(set_up[0] + pack_up[0]))
    for laid in lay_out(works, once):
        (first, begins), (last, ends) = ((float(when[0][0]), float(when[1][0])) for when in (laid.begins, laid.ends))
        assert last >= first and (laid.breaks or last == first or begins == 0.0)
        assert laid.breaks or begins + ends <= once.for_work[0] + begins or begins == 0.0


def test_more_loads_than_are_laid_out_go_at_their_pace() -> None:
    """Loads of five hours, one a day of seven."""
    once = Visiting(*(np.array([x * HOUR]) for x in (8.0, 0.5, 0.5, 0.0, 0.0)))
    few, many = (days_of([Work(count, (np.zeros(1), np.array([5.0 * HOUR]), np.zeros(1)))], once)[0]
                 for count in (MOST_LOADS, 5 * MOST_LOADS))
    assert few == MOST_LOADS and abs(many - 5 * MOST_LOADS) <= 2


@pytest.mark.parametrize("name", LONG)
def test_the_plan_has_the_days_and_their_sum_is_the_time_on_site(name: str) -> None:
    answered, found = days(whole(name)), whole(name).visit
    assert found is not None
    assert len(answered.plan) == answered.likely > 1.0
    assert sum(float(day.time_s) for day in answered.plan) == pytest.approx(float(found.likely_s), rel=0.02)
    for day in answered.plan:
        pressed = any(work.work == "pressed" or not work.work for work in day.works)
        assert day.time_s <= 1.05 * answered.day_s or pressed
    assert not any((one.begun or one.goes_on) and one.work == "pressed" for day in answered.plan for one in day.works)


def test_nobody_comes_back_for_less_than_it_takes_to_set_up() -> None:
    once = Visiting(*(np.array([x * HOUR]) for x in (8.0, 0.5, 0.5, 0.0, 0.0)))
    for hours, count in ((7.0, 1.0), (7.9, 1.0), (8.1, 2.0), (14.9, 2.0), (15.1, 3.0)):
        work = Work(1, (np.array([hours * HOUR]), np.zeros(1), np.zeros(1)))
        assert days_of([work], once)[0] == count, hours


@pytest.mark.parametrize("name", LONG)
def test_set_up_and_pack_up_count_on_each_day(name: str) -> None:
    case = replace(demo(name), ranges={}, rework=replace(demo(name).rework, chance=0.0))
    long, short = with_ranges(case), with_ranges(put(case, "labour.day", 1e6))
    assert long.visit is not None and short.visit is not None
    more = (days(long).likely - 1.0) * (case.labour.visit.set_up + case.labour.visit.pack_up)
    assert long.visit.likely_s == pytest.approx(short.visit.likely_s + more, rel=1e-12)
    assert days(short).likely == 1.0 and days(long).low == days(long).high == days(long).likely


def test_a_visit_of_one_day_says_nothing_of_days() -> None:
    answers = likely(whole("cooler-shell"))
    assert days(answers).likely == days(answers).high == 1.0
    assert days_sentences(answers.days, [answers.loads], "metric") == []


def test_a_sure_single_day_longer_than_the_working_day_says_why() -> None:
    held = re.sub(r"(?m)^hold = .*$", 'hold = "255 min"', (CASES / "cooler-shell.toml").read_text(encoding="utf-8"))
    answers = likely(with_ranges(read_text(held)))
    assert days(answers).low == days(answers).high == 1.0 and answers.visit.likely_s > 1.01 * days(answers).day_s
    told = days_sentences(answers.days, [answers.loads], "metric")
    assert told[0].endswith("the visit takes 1 day.") and "another set-up and pack-up" in told[1] and len(told) == 2


@pytest.mark.parametrize("hold_min", [75, 105, 120, 135])
def test_a_visit_longer_than_a_day_takes_one_only_with_the_reason(hold_min: int) -> None:
    """What is left after a working day is less than the set-up and pack-up of another, and the sentence says so with
    the time on site."""
    text = (CASES / "condenser-first.toml").read_text(encoding="utf-8")
    held = re.sub(r"(?m)^hold = .*$", f'hold = "{hold_min} min"', text)
    assert held != text
    answers = with_ranges(read_text(held))
    found, on_site = days(answers), answers.visit.likely_s
    told = days_sentences(found, [answers.loads], "metric")
    if found.likely == 1.0 and on_site > 1.01 * found.day_s:
        assert isclose(found.plan[0].time_s, on_site, rel_tol=1e-3) and len(found.plan) == 1
        assert show(round(on_site / 300.0) * 300.0, "duration") in told[1] and "another set-up and pack-up" in told[1]
        labour = read_text(held).labour
        assert float(np.ravel(answers.visit.at_likely_values_s)[0]) - found.day_s <= (
            float(labour.visit.set_up) + float(labour.visit.pack_up))
    else:
        assert not told or "another set-up" not in " ".join(told)
        assert found.likely > 1.0 or on_site <= 1.01 * found.day_s


@thorough
def test_what_would_take_fewer_days_does() -> None:
    """Each way, put into the case: a crew of two, and a vessel that is full when the crew comes."""
    answered = days(whole("tall-tank"))
    found = {one.ways: one.days for one in answered.shorter}
    assert found == {("hands",): 1.0, ("filled before",): 1.0} and answered.likely == 2.0
    full = put(demo("tall-tank"), "fill.measured_flow", 1.0)
    full = replace(full, ranges={path: one for path, one in full.ranges.items() if not path.startswith("fill.")})
    assert days(with_ranges(full)).likely == 1.0
    text = (CASES / "tall-tank.toml").read_text(encoding="utf-8")
    assert "crew = 1" in text
    assert days(with_ranges(read_text(text.replace("crew = 1", "crew = 2")))).likely == 1.0


def test_the_same_work_takes_the_same_days_alone_and_in_a_visit_of_several() -> None:
    alone = with_ranges(demo("crest-line")).days
    together = visit([demo("crest-line"), demo("tall-tank")])[0].days
    assert alone is not None
    mine, theirs = ([next(day.time_s for day in days.plan if any(work.work == "pressed" for work in day.works))]
                    for days in (alone, together))
    assert mine == pytest.approx(theirs, rel=0.01)


def test_work_is_not_told_as_begun_and_finished_where_the_last_two_days_are_one() -> None:
    cases = [demo(name) for name in ("gas-receiver", "tall-tank", "valve-batch")]
    combined, estimates = visit(cases)
    last = days_sentences(combined.days, [one.loads for one in estimates], "metric")[2]
    assert last.startswith("Day 2, ") and last.endswith("; case 3, loads 1 to 6; re-made joints.")


def test_two_cases_are_laid_out_after_each_other() -> None:
    cases = [demo("condenser-first"), demo("condenser-second")]
    combined, estimates = visit(cases)
    found = days_sentences(combined.days, [one.loads for one in estimates], "metric")
    assert found[0].startswith("At 8 h a day, set-up and pack-up included, the visit takes 2 days")
    assert found[1].startswith("Day 1, ") and "case 1" in found[1] and "case 2" in found[2]
    spent = sum(float(day.time_s) for day in combined.days.plan)
    assert isclose(spent, float(combined.total_s.likely), rel_tol=0.02)
