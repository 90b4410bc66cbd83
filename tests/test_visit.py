"""Several cases in one visit: what counts once, what is drawn together, and what adds up."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from math import nan
from pathlib import Path

import numpy as np
import pytest

from fillcalc.case.read import read_file, read_text
from fillcalc.case.records import Case, Range, Reading
from fillcalc.cautions import cautions
from fillcalc.cautions.pumping import AT_TEST
from fillcalc.estimation.answers import Estimate, Never, Visit, at_likely_values
from fillcalc.estimation.estimate import estimate
from fillcalc.estimation.loads import water_of
from fillcalc.estimation.stages import ONCE, ORDER
from fillcalc.formats.visit_text import combined_quote_text, combined_report
from fillcalc.model.status import Status
from fillcalc.present.needs import COMMON, needs, needs_of_all, to_bring
from fillcalc.present.quote import Quote, combined_quote
from fillcalc.present.quote import quote as quote_of
from fillcalc.questions.likely import likely as at_likely
from fillcalc.questions.likely import likely_span
from fillcalc.questions.ranges import with_ranges
from fillcalc.questions.visit import CombinedVisit, visit
from fillcalc.tree import put
from fillcalc.units import show
from tests.families import few

FIRST, SECOND = "condenser-first", "condenser-second"
NOTHING_TYPED = """
format = 1
[vessel]
shape = "valve body"
volume = "0.9 L"
[tap]
[[fill.hose]]
length = "10 m"
bore = "12.7 mm"
[test]
pressure = "24 bar"
[pump]
kind = "air-driven"
ratio = 10
[drain]
bore = "12 mm"
"""


@cache
def demo(name: str) -> Case:
    return read_file(Path(__file__).parents[1] / "cases" / f"{name}.toml")


@cache
def day(*names: str) -> CombinedVisit:
    return visit([demo(name) for name in names])[0]


def certain(case: Case, **asked: Range) -> Case:
    """The case with these ranges only, whose paths have a double underscore for the dot, and no joint to remake."""
    ranges = {path.replace("__", "."): one for path, one in asked.items()}
    return replace(case, ranges=ranges, rework=replace(case.rework, chance=0.0))


def ends(one: object) -> list[float]:
    return [float(getattr(one, place)) for place in ("at_likely_values", "low", "likely", "high")]


@pytest.mark.parametrize("name", few(["cooler-shell", "bench-valve", "ammonia-line-us", FIRST], 2))
def test_a_day_of_one_case_is_the_case(name: str) -> None:
    alone, found = with_ranges(demo(name)).visit, day(name)
    assert alone is not None
    assert ends(found.total_s) == pytest.approx(
        [alone.at_likely_values_s, alone.low_s, alone.likely_s, alone.high_s], rel=1e-9)
    assert found.never_share == alone.never_share


def test_what_counts_once_counts_once() -> None:
    found = day(FIRST, SECOND)
    alone = [with_ranges(demo(name)) for name in (FIRST, SECOND)]
    for stage in found.once:
        both = [one.at_likely_values_s for case in alone for one in case.stages if one.name == stage.name]
        assert len(both) == 2
        assert stage.at_likely_values_s == max(both) * (found.days.likely if stage.name != "wait" else 1.0)
    assert {stage.name for stage in found.once} == set(ONCE)
    own = sum(float(one.time_s.at_likely_values) for one in found.cases)
    whole = sum(one.at_likely_values_s for one in found.once) + own
    assert float(found.total_s.at_likely_values) == pytest.approx(whole + found.rework.at_likely_values_s)
    assert [stage.name for stage in found.cases[0].stages] == [
        name for name in ORDER if name not in (*ONCE, "rework")]


def test_two_cases_take_less_than_two_visits_and_more_than_one() -> None:
    both, one, other = day(FIRST, SECOND), day(FIRST), day(SECOND)
    for place in ("at_likely_values", "low", "likely", "high"):
        mine, first, second = (float(getattr(each.total_s, place)) for each in (both, one, other))
        assert max(first, second) < mine < first + second


def test_the_ends_of_the_parts_do_not_add_up_to_those_of_the_day() -> None:
    found = day(FIRST, SECOND)
    low = sum(one.low_s for one in found.once) + sum(float(one.time_s.low) for one in found.cases) + found.rework.low_s
    high = sum(one.high_s for one in found.once) + sum(float(one.time_s.high) for one in found.cases)
    assert low < float(found.total_s.low)
    assert float(found.total_s.high) < high + found.rework.high_s


def test_the_tap_is_the_same_for_all_cases_of_a_day() -> None:
    """Only the tap is uncertain: both fills are slow together, so their ends add up."""
    case = certain(demo("cooler-shell"), tap__pressure=Range(2e5, None, 4e5, True))
    found = visit([case, case])[0]
    assert ends(found.cases[0].time_s) == ends(found.cases[1].time_s)
    once = sum(stage.at_likely_values_s for stage in found.once)
    assert ends(found.total_s) == pytest.approx([once + 2.0 * part for part in ends(found.cases[0].time_s)], rel=1e-9)
    assert float(found.total_s.low) < float(found.total_s.high)


def test_the_air_of_each_vessel_is_its_own() -> None:
    """Only the trapped air is uncertain: not both vessels keep much, so the ends draw in."""
    case = replace(certain(demo("cooler-shell"), trapped_air__amount=Range(0.001, None, 0.05, True)), air_supply=None)
    found = visit([case, case])[0]
    once = sum(stage.at_likely_values_s for stage in found.once)
    one = found.cases[0].time_s
    assert float(found.total_s.low) > once + 2.0 * float(one.low) + 1.0
    assert float(found.total_s.high) < once + 2.0 * float(one.high) - 1.0
    assert float(found.total_s.likely) == pytest.approx(once + 2.0 * float(one.likely), rel=2e-3)


def test_pieces_on_a_manifold_are_filled_together_and_looked_over_one_by_one() -> None:
    single = certain(demo("bench-valve"))
    four = put(put(single, "vessel.count", 4), "vessel.at_once", 2)
    pair = put(put(single, "vessel.count", 2), "vessel.at_once", 2)
    found, two, one = (visit([case])[0].cases[0] for case in (four, pair, single))
    mine, twos, ones = ({stage.name: stage.at_likely_values_s for stage in part.stages} for part in (found, two, one))
    for name in ("fill", "pump up", "settle", "hold", "release", "drain"):
        assert mine[name] == pytest.approx(2.0 * twos[name]), name
    for name in ("connect", "bleed", "inspect", "disconnect"):
        assert mine[name] == pytest.approx(4.0 * ones[name]), name
    assert (found.pieces, two.pieces, one.pieces) == (4, 2, 1)


def test_rework_is_a_line_of_its_own_and_binomial() -> None:
    case = replace(demo("bench-valve"), ranges={})
    case = put(put(case, "vessel.count", 6), "rework.chance", 0.15)
    found = visit([case])[0]
    again = float(case.rework.time or 0.0)
    assert found.rework_s == again
    assert found.rework.at_likely_values_s == again
    assert found.remade_share == pytest.approx(1.0 - 0.85**6, abs=1e-3)
    counts = np.array([found.rework.low_s, found.rework.likely_s, found.rework.high_s]) / again
    np.testing.assert_array_equal(counts, [0.0, 1.0, 2.0])  # deciles of the binomial count of 6 at 0.15
    plain = float(found.total_s.at_likely_values) - again
    assert ends(found.total_s) == pytest.approx([plain + again, plain, plain + again, plain + 2.0 * again])


def test_joints_of_two_cases_are_drawn_apart() -> None:
    case = put(replace(demo("bench-valve"), ranges={}), "rework.chance", 0.5)
    found = visit([case, case])[0]
    assert found.remade_share == pytest.approx(0.75, abs=0.01)


@pytest.mark.parametrize("pieces", [1, 3])
def test_overlap_saves_the_shorter_of_standing_and_connecting(pieces: int) -> None:
    case = put(put(certain(demo("bench-valve")), "vessel.count", pieces), "labour.each.connect", 400.0)
    case = put(put(case, "labour.each.settle", 60.0), "test.hold", 100.0)
    plain, saved = (visit([case, case], overlap)[0] for overlap in (False, True))
    expected = (2 * pieces - 1) * 160.0
    assert (plain.saved_s, saved.saved_s) == pytest.approx((0.0, expected))
    assert np.subtract(ends(plain.total_s), ends(saved.total_s)) == pytest.approx([expected] * 4)
    slow = put(case, "test.hold", 3600.0)
    assert visit([slow, slow], True)[0].saved_s == pytest.approx((2 * pieces - 1) * 400.0)


def test_water_and_air_are_those_of_the_cases() -> None:
    found = day(FIRST, SECOND, "bench-valve")
    water = [float(water_of(demo(name), estimate(demo(name)))[0]) for name in (FIRST, SECOND, "bench-valve")]
    assert found.water_m3 == pytest.approx(sum(one.water_m3 for one in found.cases))
    assert found.free_air_m3 == pytest.approx(sum(one.free_air_m3 for one in found.cases))
    assert found.water_m3 == pytest.approx(sum(water), rel=0.01)
    assert found.to_drain_m3 == found.water_m3
    one = estimate(demo("bench-valve"))
    parts = one.fill.water_m3[0] + one.fill.top_up_m3[0] + one.pressurise.water_m3[0]
    assert water[2] == pytest.approx((demo("bench-valve").vessel.count or 1) * parts)


def test_a_case_that_never_finishes_keeps_the_day_from_finishing() -> None:
    stuck = certain(put(put(demo("tall-tank"), "tap.pressure", 1e3), "tap.height", 0.0))
    found, (_, never) = visit([demo("bench-valve"), stuck])
    assert never.fill.status == Status.HEAD_TOO_HIGH
    assert found.never_share == 1.0
    assert np.isnan(ends(found.total_s)).all()
    assert np.isfinite(ends(found.cases[0].time_s)).all()


def test_the_report_of_two_shells_is_one_to_paste() -> None:
    cases = [demo(FIRST), demo(SECOND)]
    found, estimates = visit(cases)
    lines = combined_report(cases, found, estimates).splitlines()
    assert max(map(len, lines)) <= 80
    assert not any("nan" in line.lower().split() for line in lines)
    text = "\n".join(lines)
    flat = " ".join(text.split())
    assert "Re-made joints: 15 % of pieces, 0.3 expected in this visit, 30 min each." in flat
    assert "not the sums of the columns" in flat
    assert "Case 1: " + cases[0].title in text and "Case 2: " + cases[1].title in text
    total = likely_span(found.total_s, "metric")
    likely, high = (show(end, "duration") for end in (total.likely, total.high))
    assert f"about {likely} on site over 2 days; nine visits in ten take less than {high}." in flat
    assert all(need.rstrip(".")[1:].removesuffix(COMMON) in flat.partition("We need: ")[2]
               for need in needs_of_all(cases, [at_likely(one) for one in estimates]))


def test_the_customer_is_asked_for_each_thing_once_and_for_the_most_of_it() -> None:
    cases = [demo(FIRST), put(demo(FIRST), "tap.open_flow", 1e-3), demo("tall-tank")]
    found, estimates = visit([put(cases[0], "vessel.count", 3), *cases[1:]])
    wanted = needs_of_all(cases, estimates)
    assert [need for need in wanted if need.startswith("A tap")] == [
        "A tap that gives 60 L/min, within 25 m of each vessel."]
    heaviest = max(float(one.fill.water_kg) for one in estimates)
    carried, drained = (float(re.search(rf"{before} ([0-9.]+) {unit} of water", " ".join(wanted))[1]) * factor
                        for before, unit, factor in (("carry", "t", 1000.0), ("A drain for", "m³", 1.0)))
    assert heaviest <= carried < 1.1 * heaviest and found.water_m3 <= drained < 1.1 * found.water_m3
    assert found.water_m3 > sum(float(one.fill.water_m3) for one in estimates)
    kinds = [need.split()[0] for need in wanted]
    assert len(set(wanted)) == len(wanted) and kinds.count("Nobody") == 1


def test_what_is_asked_for_is_no_finer_than_it_is_known_and_fits_the_piece() -> None:
    """Assumed figures have two significant digits; a valve has neither a vent to reach nor a drain to be allowed."""
    case = read_text(NOTHING_TYPED)
    wanted = needs(case, at_likely(estimate(case)), "us")
    assert wanted[0] == "A hose bib that gives 8 gpm, within 32.8 ft of the valve."
    assert "Compressed air of 80 psi at the pump." in wanted
    assert "A drain for 0.24 US gal of water." in wanted
    assert not any("Access" in need or "permission" in need or "vessel" in need for need in wanted)
    typed = put(put(case, "tap.open_flow", 5.0e-4), "pump.drive_pressure", 5.51e5)
    typed = replace(typed, assumptions=tuple(item for item in typed.assumptions
                                             if item.path not in ("tap.open_flow", "pump.drive_pressure")))
    assert "A hose bib that gives 7.93 gpm" in needs(typed, at_likely(estimate(typed)), "us")[0]
    assert any(need == "Access to the vent at the highest point." for need in needs_of_all(
        [demo("cooler-shell")], [at_likely(estimate(demo("cooler-shell")))]))


def test_a_pump_that_no_setting_makes_safe_has_the_crew_bring_a_relief_valve() -> None:
    """The figure is that of the caution; the customer is asked for none."""
    case = demo("ammonia-line-us")
    found = with_ranges(case)
    told = next(one.text for one in cautions(case, at_likely_values(found), "us") if one.code == "no regulator window")
    setting = re.search(r"set at [0-9]+ psi or below", told)
    assert setting is not None
    brought, safe = (to_bring([at_likely_values(each)], [at_likely(one, "us")], "us") for each, one in (
        (case, found), (demo(FIRST), with_ranges(demo(FIRST)))))
    assert brought[0].startswith(f"A tested relief valve {setting[0]}, or another pump") and safe == []
    assert "relief valve" not in quote_of(case, found, "us").needs


def test_what_nobody_gave_and_the_time_hangs_on_is_told_to_the_customer() -> None:
    """Alike in the quote of the case and in that of a visit; once the valve is known, no more of it."""
    case, said = demo("crest-line"), "The time assumes release valve Kv 0.05: the release takes 3 h 50 min ("
    combined, estimates = visit([case])
    assert said in quote_of(case, at_likely(with_ranges(case))).needs
    assert said in combined_quote_text([case], combined, estimates)
    known = replace(case, assumptions=tuple(item for item in case.assumptions if item.path != "release.kv"))
    assert "release valve" not in quote_of(known, at_likely(with_ranges(known))).needs


def test_readings_of_an_earlier_test_stop_no_visit_to_come() -> None:
    case = demo("cooler-shell")
    case = replace(case, reading=(Reading(pressure=24e5, strokes=60.0),))
    found, estimates = visit([case])
    assert any(one.code == AT_TEST and one.own_gear for one in cautions(case, estimates[0]))
    assert "stop pumping" not in combined_report([case], found, estimates)


def test_a_visit_with_one_case_does_not_repeat_its_title_before_each_caution() -> None:
    case = demo("condenser-second")
    found, estimates = visit([case])
    said = combined_report([case], found, estimates).partition("\nCautions\n")[2]
    assert said.startswith("  DANGER: The fill hose") and case.title not in said


def test_no_time_is_quoted_that_never_ends_and_a_doubt_is_told() -> None:
    case = demo(FIRST)
    plain = at_likely_values(estimate(case))
    stalls = (Never("pump up", Status.PUMP_STALLS, 0.2, nan, 2.2e6),)
    why = "in 20 of 100 visits the pump stalls at about 22 bar."
    none = quote(case, replace(plain, visit=Visit(nan, nan, nan, nan, 0.2, 1800.0, stalls)))
    assert none.sentence.endswith(f": no time can be quoted, because {why}") and none.paragraphs == (none.sentence,)
    found = quote(case, replace(plain, visit=Visit(3600.0, 3500.0, 3600.0, nan, 0.2, 0.0, stalls)))
    assert found.sentence.endswith(f"no time can be promised for nine visits in ten, because {why}")
    assert "take less" not in found.sentence and "re-made" not in found.needs
    found = quote(case, replace(plain, visit=Visit(3600.0, 3500.0, 3600.0, 7200.0, 0.05, 0.0, stalls)))
    assert found.sentence.endswith(f"nine visits in ten take less than 2 h 00 min, but {why}")


def test_the_quote_tells_waiting_apart() -> None:
    found, estimates = visit([demo(FIRST), demo(SECOND)])
    waiting = next(stage for stage in found.once if stage.name == "wait")
    assert f"includes {show(waiting.likely_s, 'duration')} of waiting" in combined_quote(
        [demo(FIRST), demo(SECOND)], found, estimates).needs
    assert "waiting" not in quote(demo("bench-valve"), with_ranges(demo("bench-valve"))).needs


@pytest.mark.parametrize(("pieces", "once", "text"), [
    (1, 1, "pressure test to 60 bar, about"), (24, 4, "of 24 pieces in 6 loads of 4, about"),
    (10, 4, "of 10 pieces in 3 loads of up to 4, about"), (3, 1, "of 3 pieces, one at a time, about"),
    (4, 6, "of 4 pieces in one load, about")])
def test_the_quote_is_one_sentence_with_the_pieces_and_their_loads(pieces: int, once: int, text: str) -> None:
    case = put(put(demo("bench-valve"), "vessel.count", pieces), "vessel.at_once", once)
    found = quote(case, at_likely(with_ranges(case)))
    assert text in found.sentence and found.sentence.count(". ") == 0 and found.sentence.endswith(".")
    assert found.text == f"{found.sentence}\n\n{found.needs}\n" and found.needs.startswith("We need: a tap")


def quote(case: Case, estimate: Estimate) -> Quote:
    """The quote, which there must be."""
    found = quote_of(case, estimate)
    assert found is not None
    return found
