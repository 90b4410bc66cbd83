"""What never finishes counts as longer than all that does, in every percentile, and is told in words."""

from __future__ import annotations

import json
import random
from dataclasses import replace
from functools import cache
from math import inf, isnan, nan
from pathlib import Path

import numpy as np
import pytest

from fillcalc.case.kit import read_kit_file
from fillcalc.case.read import read_file, read_text
from fillcalc.case.records import Case, Range
from fillcalc.estimation.answers import Estimate
from fillcalc.estimation.estimate import estimate
from fillcalc.formats.choices_text import choices_report
from fillcalc.formats.data import estimate_data, line
from fillcalc.formats.page import page, visit_page
from fillcalc.formats.text import report
from fillcalc.formats.visit_text import combined_data, combined_report
from fillcalc.model.status import Status
from fillcalc.present.lines import Line, main_lines
from fillcalc.present.quote import Quote
from fillcalc.present.quote import quote as quote_of
from fillcalc.questions.choices.ranking import choices
from fillcalc.questions.choices.sought import sought
from fillcalc.questions.likely import likely
from fillcalc.questions.percentiles import percentiles
from fillcalc.questions.ranges import with_ranges
from fillcalc.questions.visit import visit
from fillcalc.tree import put
from tests.families import few, thorough

CASES = Path(__file__).parents[1] / "cases"


@pytest.fixture(autouse=True)
def nothing_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pages are read here, not looked at."""
    monkeypatch.setattr("fillcalc.formats.plots.drawn", lambda *_: "")


SHARES = (0.05, 0.15, 0.60)
"""One that leaves the high as it is but for its rank, one that takes the high, one that takes the middle too."""


def on_site(whole: Estimate) -> Line:
    """The line of the time on site, as screen, report and page draw it."""
    return main_lines(likely(whole), "metric")[-1]


def ranked(times: list[float], rank: float) -> float:
    """A percentile of plainly sorted times, a straight line between neighbours; NaN for one that never comes."""
    ordered = sorted(inf if isnan(time) else time for time in times)
    place = rank * (len(ordered) - 1)
    lower = int(place)
    ends = ordered[lower], ordered[min(lower + 1, len(ordered) - 1)]
    return nan if ends[1] == inf else ends[0] + (ends[1] - ends[0]) * (place - lower)


@pytest.mark.parametrize("share", [0.0, 0.05, 0.15, 0.60, 1.0])
def test_percentiles_are_those_of_plainly_sorted_times(share: float) -> None:
    chance = random.Random(7)
    rows = [[nan if chance.random() < share else chance.lognormvariate(3.0, 0.5) for _ in range(400)] for _ in range(3)]
    found = percentiles(np.array(rows))
    for place, rank in enumerate((0.1, 0.5, 0.9)):
        np.testing.assert_allclose(found[place], [ranked(row, rank) for row in rows], rtol=1e-12)


def _certain(name: str, **asked: Range) -> Case:
    case = read_file(CASES / f"{name}.toml")
    case = replace(case, rework=replace(case.rework, chance=0.0), reading=())
    return replace(case, ranges={path.replace("__", "."): one for path, one in asked.items()})


@cache
def weak_tap(share: float) -> tuple[Case, str]:
    """A tank that this share of the taps cannot fill."""
    case = put(put(_certain("tall-tank"), "tap.height", 0.0), "trapped_air.amount", 0.0)
    case = put(case, "labour.day", 1e6)  # all on one day, so that set-up and pack-up count once
    head = 999.5 * 9.80665 * float(np.ravel(estimate(case).height_m)[0])
    low, high = head * (1.0 - share), head * (2.0 - share)
    return replace(case, ranges={"tap.pressure": Range(low, None, high, True)}), "tap.pressure"


@cache
def weak_pump(share: float) -> tuple[Case, str]:
    """A shell that the pump cannot bring to test pressure with this share of its frictions."""
    case = _certain("cooler-shell")
    drive = case.pump.regulator_pressure  # type: ignore[attr-defined]
    most = 1.0 - float(case.test.pressure) / (float(case.pump.ratio) * float(drive))  # type: ignore[attr-defined]
    width = 0.1
    return replace(case, ranges={"pump.friction": Range(most - width * (1.0 - share), None, most + width * share,
                                                        True)}), "pump.friction"


BOTH = pytest.mark.parametrize("made", [weak_tap, weak_pump], ids=["fill", "pump-up"])


@cache
def answers_of(made: object, share: float) -> tuple[Case, Estimate]:
    case = made(share)[0]  # type: ignore[operator]
    return case, with_ranges(case)


def sampled(case: Case, path: str, count: int) -> dict[str, list[float]]:
    """Times of as many random samples of one flat input, and the sum of the stages of a visit, none left out."""
    chance, asked = random.Random(3), case.ranges[path]
    values = np.array([chance.uniform(asked.low, asked.high) for _ in range(count)])
    many = estimate(put(case, path, values))
    fill, pump = many.fill, many.pressurise
    wide = [np.broadcast_to(part, (count,)) for part in (fill.time_s, pump.time_s, fill.run_to_waste_s, fill.top_up_s,
                                                         pump.pause_s, many.release.time_s, many.drain.time_s)]
    each, once = case.labour.each, case.labour.visit
    labour = sum(float(part) for part in (each.connect, each.bleed, each.settle, each.inspect, each.disconnect,
                                          once.wait, once.set_up, once.pack_up, case.test.hold))
    fills, pumps, waste, top_up, pauses, release, drain = wide
    total = labour + fills + waste + top_up + np.maximum(pumps, 60.0) + pauses + np.maximum(release, 60.0) + drain
    return {"fill": fills.tolist(), "pump-up": pumps.tolist(), "visit": total.tolist()}


@BOTH
@pytest.mark.parametrize("share", few(SHARES[1:] + SHARES[:1], 1))
def test_low_middle_and_high_are_those_of_a_plain_sampler(made: object, share: float) -> None:
    """An order statistic of 20000 random samples; ours lies between those a sampling error to both sides."""
    case, path = made(share)  # type: ignore[operator]
    whole, count = answers_of(made, share)[1], 20000
    assert whole.visit is not None
    times = sampled(case, path, count)
    spreads = {one.path: one for one in whole.spreads}
    visit_told = (whole.visit.low_s, whole.visit.likely_s, whole.visit.high_s)
    for name, ours in (("visit", visit_told), ("fill", _ends(spreads["fill.time_s"])),
                       ("pump-up", _ends(spreads["pressurise.time_s"]))):
        for rank, value in zip((0.1, 0.5, 0.9), ours, strict=True):
            error = 4.0 * (rank * (1.0 - rank) / count) ** 0.5
            low, high = (ranked(times[name], rank + step) for step in (-error, error))
            if isnan(value):
                assert isnan(high), (name, rank)
            else:
                assert low * (1.0 - 1e-6) <= value and (isnan(high) or value <= high * (1.0 + 1e-6)), (name, rank)
    assert whole.visit.never_share == pytest.approx(share, abs=1e-3)
    assert [isnan(end) for end in visit_told] == [share > 0.9, share > 0.5, share > 0.1]


def _ends(one: object) -> tuple[float, ...]:
    return tuple(float(getattr(one, end)) for end in ("low", "likely", "high"))


@BOTH
@pytest.mark.parametrize("share", few(SHARES[1:] + SHARES[:1], 1))
def test_why_and_in_which_stage_is_told(made: object, share: float) -> None:
    case, whole = answers_of(made, share)
    assert whole.visit is not None
    (never,) = whole.visit.never
    assert never.share == whole.visit.never_share
    if made is weak_tap:
        assert (never.stage, never.status) == ("fill", Status.HEAD_TOO_HIGH)
        assert 0.0 < never.level_m < float(np.ravel(estimate(case).height_m)[0]) and isnan(never.gauge_pa)
        why = "the fill stops at about"
    else:
        assert (never.stage, never.status) == ("pump up", Status.PUMP_STALLS)
        assert 0.5 * case.test.pressure < never.gauge_pa < case.test.pressure and isnan(never.level_m)
        why = "the pump stalls at about"
    sentence = f"In {100 * share:.0f} of 100 visits {why}"
    flat = " ".join(report(case, whole).split())
    assert sentence in flat and sentence in " ".join(page(case, whole).split())
    clause = f"because in {100 * share:.0f} of 100 visits {why}"
    assert (clause if share > 0.1 else clause.replace("because", "but")) in quote(case, whole).sentence
    assert f"{100 * share:.0f} in 100 are not finished" in " ".join(on_site(whole).beside)
    assert json.loads(line(estimate_data(case, whole)))["quote"] == list(quote(case, likely(whole)).paragraphs)


@pytest.mark.parametrize("share", SHARES)
def test_nine_in_ten_is_never_said_of_a_high_that_never_comes(share: float) -> None:
    case, whole = answers_of(weak_pump, share)
    data = json.loads(line(estimate_data(case, whole)))
    texts = [" ".join(report(case, whole).split()), " ".join(page(case, whole).split()), data["quote"][0]]
    for text in texts:
        assert ("ine visits in ten take less" in text) == (share < 0.1)
    assert (data["visit"]["high_s"] is None) == (share > 0.1)
    assert (data["visit"]["likely_s"] is None) == (share > 0.5)
    assert data["visit"]["never_share"] == pytest.approx(share, abs=1e-3)
    strip = on_site(whole)
    assert (strip.value == "never") == (share > 0.5)
    assert strip.range.endswith("to never") == (share > 0.1)
    assert max(map(len, report(case, whole).splitlines())) <= 80


def test_stages_after_one_that_stands_still_are_as_rare_as_it_is() -> None:
    whole = answers_of(weak_tap, 0.15)[1]
    stages = {stage.name: stage for stage in whole.stages}
    for name in ("fill", "pump up", "release", "drain"):
        assert isnan(stages[name].high_s) and stages[name].likely_s > 0.0, name
    assert not isnan(stages["hold"].high_s)


def test_what_is_no_time_is_of_the_tries_that_have_it_and_says_so() -> None:
    spreads = {one.path: one for one in answers_of(weak_pump, 0.60)[1].spreads}
    water, time = spreads["pressurise.strokes"], spreads["pressurise.time_s"]
    assert water.finished_only and water.low <= water.likely <= water.high
    assert not time.finished_only and isnan(time.likely)
    assert water.never_share == time.never_share


@pytest.mark.parametrize("share", SHARES)
def test_a_visit_of_several_is_as_long_as_its_longest_case(share: float) -> None:
    """The same pump for both: they stall together. A bench valve beside it is told apart."""
    case = weak_pump(share)[0]
    easy = _certain("bench-valve")
    cases = [easy, case]
    day, estimates = visit(cases)
    assert day.never_share == pytest.approx(share, abs=1e-3)
    assert [isnan(float(end)) for end in _ends(day.total_s)] == [share > 0.9, share > 0.5, share > 0.1]
    assert day.cases[0].never == () and not isnan(float(day.cases[0].time_s.high))
    (never,) = day.cases[1].never
    assert never.status == Status.PUMP_STALLS
    present = f"Case 2: In {100 * share:.0f} of 100 visits the pump stalls at about"
    data = json.loads(line(combined_data(cases, day, estimates)))
    sentence = data["quote"][0]
    assert f"in {100 * share:.0f} of 100 visits the pump stalls at about" in sentence
    assert f"({case.title})" in sentence and ("ine visits in ten take less" in sentence) == (share < 0.1)
    for text in (combined_report(cases, day, estimates), visit_page(cases, day, estimates)):
        text = " ".join(text.split())
        assert present in text
        assert ("ine visits in ten take less" in text) == (share < 0.1)
    assert (data["total_s"]["high"] is None) == (share > 0.1)


@thorough
def test_choices_count_the_stalls_and_tell_of_them() -> None:
    case = weak_tap(0.15)[0]
    kit = read_kit_file(CASES / "kit.toml")
    found = choices(case, kit)
    doubtful = [one for one in found if one.never_share > 0.1]
    assert doubtful
    assert all(isnan(float(one.visit_s.high)) for one in doubtful)
    assert all(not isnan(float(one.visit_s.high)) for one in found if one.never_share < 0.1)
    able = [one for one in doubtful if one.can]
    assert all("of 100" in one.why for one in able)
    assert "nan" not in choices_report(case, kit, found, sought(case))


def test_a_case_without_doubt_that_stalls_is_never_done() -> None:
    case = replace(weak_pump(0.5)[0], ranges={})
    case = put(case, "pump.friction", 0.5)
    whole = with_ranges(case)
    assert whole.visit is not None
    assert whole.visit.never_share == 1.0 and isnan(whole.visit.low_s)
    found = quote(case, whole)
    assert "no time can be quoted, because the pump stalls" in found.sentence and not found.needs
    assert "it cannot be finished" in on_site(whole).beside[0]


# --- a stage that cannot be worked out -----------------------------------------------------------

VALVE = """
format = 1
[vessel]
shape = "{shape}"
volume = "4 L"
{more}
[tap]
[[fill.hose]]
length = "10 m"
bore = "12.7 mm"
[test]
pressure = "24 bar"
[pump]
kind = "hand"
[drain]
bore = "12 mm"
"""


@pytest.mark.parametrize("shape", ["valve body", "other"])
def test_a_drain_of_a_body_without_a_height_goes_by_a_height_from_its_volume(shape: str) -> None:
    case = read_text(VALVE.format(shape=shape, more=""))
    whole = with_ranges(case)
    assert whole.visit is not None and whole.drain is not None
    assert 0.5 < float(whole.drain.time_s) < 300.0
    assert whole.visit.never_share == 0.0 and whole.visit.without == ()
    assert whole.visit.low_s < whole.visit.likely_s < whole.visit.high_s
    assert "never" not in report(case, whole).split("Cautions")[0]


def test_one_stage_that_cannot_be_had_does_not_take_the_visit() -> None:
    """Without a height and a fall nothing drives the drain."""
    case = read_text(VALVE.format(shape="valve body", more='height = "0 m"'))
    whole, without = with_ranges(case), with_ranges(put(case, "drain.fall", 0.1))
    assert whole.visit is not None and without.visit is not None
    assert whole.visit.without == ("drain",)
    assert whole.visit.never_share == 0.0 and whole.visit.never == ()
    drains = next(stage.at_likely_values_s for stage in without.stages if stage.name == "drain")
    assert whole.visit.at_likely_values_s == pytest.approx(without.visit.at_likely_values_s - drains)
    assert isnan(next(stage.at_likely_values_s for stage in whole.stages if stage.name == "drain"))
    told_so = "The time on site is without the drain, which cannot be worked out."
    assert told_so in " ".join(report(case, whole).split()) and told_so in " ".join(page(case, whole).split())
    assert quote(case, whole).needs.endswith(told_so)
    assert f"{told_so} Give the height, the fall and the vent of the drain." in " ".join(report(case, whole).split())
    assert "without drain" in report(case, whole)
    day, estimates = visit([case, case])
    assert day.cases[0].without == ("drain",) and not isnan(float(day.total_s.high))
    assert f"Case 2: {told_so}" in " ".join(combined_report([case, case], day, estimates).split())
    kit = read_kit_file(CASES / "kit.toml")
    assert any(not isnan(float(one.visit_s.likely)) for one in choices(case, kit))


def quote(case: Case, estimate: Estimate) -> Quote:
    """The quote, which there must be."""
    found = quote_of(case, estimate)
    assert found is not None
    return found


def test_a_person_who_can_pump_no_higher_is_told_so_and_not_that_the_pump_stalls() -> None:
    text = VALVE.format(shape="other", more="").replace("24 bar", "600 bar")
    case = read_text(text.replace('kind = "hand"', 'kind = "hand"\nstroke = "25 mL"'))
    sentence = " ".join(report(case, with_ranges(case)).split())
    assert "It cannot be finished: a person can pump no higher than about" in sentence
    assert "the pump stalls" not in sentence and "Use a plunger of" in sentence
