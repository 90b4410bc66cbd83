"""The rest of a visit told anew as stages end: from samples alone, without a screen or a clock."""

from __future__ import annotations

from dataclasses import replace
from math import isnan

import numpy as np
import pytest

from fillcalc.case.read import read_text
from fillcalc.questions.ranges import with_ranges
from fillcalc.questions.remaining import Rest, ahead, rest
from tests.families import thorough
from tests.report.demo import CASES

CASE = """
format = 1
[vessel]
shape = "by volume"
volume = "570 L"
count = {count}
[tap]
pressure = "3 bar"
[[fill.hose]]
length = "25 m"
bore = "12.7 mm"
[test]
pressure = "15 bar"
hold = "10 min"
[pump]
kind = "air-driven"
ratio = 10
regulator_pressure = "2.2 bar"
stroke = "60 mL"
flow_at_zero = "4 L/min"
[took]
"""


def left(took: str, elapsed: float = 0.0, count: int = 1) -> Rest:
    return rest(ahead(read_text(CASE.format(count=count) + took)), elapsed)


def running(stage: str) -> str:
    return f'running = "{stage}"\nsince = "2026-11-20 10:00"\n'


BEFORE = 'wait = "12 min"\nset_up = "35 min"\nconnect = "18 min"\n'


def minutes(one: Rest) -> tuple[float, float, float]:
    return one.low_s / 60, one.likely_s / 60, one.high_s / 60


@pytest.mark.parametrize("count", [1, 3])
def test_before_anything_is_seen_it_is_the_time_on_site(count: int) -> None:
    visit = with_ranges(read_text(CASE.format(count=count))).visit
    assert visit is not None
    found = left("", count=count)
    assert (found.low_s, found.likely_s, found.high_s) == pytest.approx(
        (visit.low_s, visit.likely_s, visit.high_s), rel=2e-3)


def test_at_the_end_of_the_fill_it_moves_and_narrows() -> None:
    begun = left(BEFORE + running("fill"))
    quick, slow = (left(f'{BEFORE}fill = "{time} min"\n{running("bleed")}') for time in (22, 50))
    low, likely, high = minutes(begun)
    widths = [minutes(after)[2] - minutes(after)[0] for after in (quick, slow)]
    assert sum(widths) < 2.0 * (high - low)  # on the mean, as the law of total variance has it
    assert max(minutes(after)[1] for after in (quick, slow)) < likely


def test_a_running_stage_shortens_the_rest_and_a_late_one_says_so() -> None:
    likely = [left(BEFORE + running("fill"), 60.0 * elapsed).likely_s for elapsed in (0, 10, 30)]
    assert likely[0] > likely[1] > likely[2]
    assert likely[0] - likely[2] < 28 * 60.0  # time that has run tells that it is no quick one
    late = left(BEFORE + running("fill"), 8 * 3600.0)
    assert late.longer and late.stage == "fill" and not isnan(late.likely_s)
    assert not left(BEFORE + running("fill"), 60.0).longer


@thorough
def test_the_slowest_samples_alone_do_not_make_it_sure() -> None:
    """However late the fill is, the rest is as little sure as that of the same fill when it ends."""
    for elapsed in range(10, 120, 20):
        late = minutes(left(BEFORE + running("fill"), 60.0 * elapsed))
        ended = minutes(left(f'{BEFORE}fill = "{elapsed} min"\n{running("bleed")}'))
        assert late[2] - late[0] >= 0.8 * (ended[2] - ended[0]), elapsed
        assert late[0] >= ended[0] - 5.0 and late[1] >= ended[1] - 5.0, elapsed


def test_a_fill_that_may_never_end_may_never_end_while_it_runs() -> None:
    """A tap that may be too weak for the height: of the samples that still run, more and more never end."""
    case = read_text(CASE.format(count=1).replace("[tap]", 'height = "20 m"\n[tap]') + running("fill")
                     + '[ranges]\n"tap.pressure" = ["1.6 bar", "3 bar", "4 bar"]\n')
    visit = ahead(case)
    assert 0.0 < float(np.mean(~np.isfinite(visit.times["fill"]))) < 0.1
    early, late = (rest(visit, 60.0 * elapsed) for elapsed in (10, 240))
    assert not isnan(early.high_s) and isnan(late.high_s) and not late.longer


def test_a_time_that_no_sample_comes_near_moves_nothing_but_itself() -> None:
    one, other = (left(f'{BEFORE}fill = "{time} h"\ndrain = "30 min"\n{running("disconnect")}') for time in (30, 90))
    assert (one.low_s, one.likely_s, one.high_s) == (other.low_s, other.likely_s, other.high_s)


GAS_CASE = (CASES / "gas-receiver.toml").read_text(encoding="utf-8") + "\n[took]\n"


@pytest.mark.parametrize("text", [
    pytest.param(CASE.format(count=1), id="water"), pytest.param(GAS_CASE, id="gas", marks=thorough)])
def test_the_rest_shrinks_stage_by_stage_to_nothing(text: str) -> None:
    likely = {stage.name: float(stage.likely_s) for stage in with_ranges(read_text(text)).stages}
    order, visit = list(likely), ahead(read_text(text))

    def left(took: str) -> Rest:
        return rest(replace(visit, case=read_text(text + took)))

    took, before = "", None
    for place, name in enumerate(order[:-1]):
        found = left(took + running(name.replace(" ", "_")))
        if before is not None and likely[order[place - 1]] > 30.0:
            assert found.likely_s < before
        before = found.likely_s
        took += f'{name.replace(" ", "_")} = "{likely[name]:.0f} s"\n'
    done = left(f"{took}remade = 0\n")
    assert minutes(done) == (0.0, 0.0, 0.0) and done.stage == ""


def test_of_several_loads_the_others_are_to_come_until_packing_up() -> None:
    one, three = (left(f'{BEFORE}fill = "30 min"\n{running("bleed")}', count=count) for count in (1, 3))
    assert three.likely_s - one.likely_s > 2 * (30 + 18 + 10) * 60.0
    ending = f'{BEFORE}fill = "30 min"\ndisconnect = "15 min"\n{running("pack_up")}'
    assert left(ending, count=3).likely_s == pytest.approx(left(ending, count=1).likely_s, rel=0.15)
