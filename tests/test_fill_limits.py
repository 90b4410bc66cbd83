"""What filling can put on a vessel: the vent or the flow that is advised keeps it below its limit."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fillcalc.case.assume import default_value
from fillcalc.case.read import read_text
from fillcalc.case.records import Case, Range
from fillcalc.case.shape_of import leaves_of
from fillcalc.cautions import cautions
from fillcalc.estimation.estimate import estimate
from fillcalc.estimation.fill_limits import (
    _goes,
    bottom_peak,
    fill_pressures,
    passes_limit,
    peak_of,
    slow_enough,
    surge_peak,
    too_low,
    unlucky,
    wide_enough,
)
from fillcalc.estimation.stages import containers_changed
from fillcalc.model.status import Status
from fillcalc.present.needs import needs
from fillcalc.present.sentences import fill_sentences, part_labels, pump_sentences
from fillcalc.properties.media import GRAVITY
from fillcalc.questions.ranges import with_ranges
from fillcalc.tree import at, put
from tests.families import few

TANK = """
format = 1
[vessel]
shape = "standing cylinder"
diameter = "1.2 m"
height = "{height}"
wall = "2 mm"
{limit}
[tap]
{tap}
[fill]
{fill}
[[fill.hose]]
length = "20 m"
bore = "25 mm"
couplings = 0
[vent]
bore = "{vent}"
{shut}
[test]
pressure = "{test}"
[pump]
kind = "electric"
flow = "1 L/min"
relief = "{test}"
"""
HYDRANT = 'kind = "hydrant"\npressure = "5 bar"'


def passes(case: Case) -> bool:
    return passes_limit(case, fill_pressures(case))


def tank(limit: str = "1 bar", vent: str = "6 mm", tap: str = HYDRANT, **more: str) -> Case:
    words = {"height": "2 m", "fill": "", "shut": "", "test": "0.28 bar"} | more
    return read_text(TANK.format(limit=f'never_above = "{limit}"' if limit else "", vent=vent, tap=tap, **words))


def raised(case: Case) -> list[str]:
    return [caution.code for caution in cautions(case, estimate(case))]


@pytest.mark.parametrize(("limit", "vent", "height"),
                         [("0.3 bar", "6 mm", "2 m"), ("1 bar", "6 mm", "2 m"), ("1 bar", "3 mm", "0.8 m")])
def test_the_vent_that_is_advised_silences_the_danger(limit: str, vent: str, height: str) -> None:
    case = tank(limit, vent, height=height)
    assert raised(case)[0] == "fill air above limit"
    bore = wide_enough(case)
    text = cautions(case, estimate(case))[0].text
    assert f"{bore * 1e3:.0f} mm or wider" in text
    assert "fill air above limit" not in raised(tank(limit, f"{bore * 1e3:.0f} mm", height=height))
    assert peak_of(tank(limit, f"{bore * 1e3:.0f} mm", height=height)) < fill_pressures(case).limit_gauge_pa


@pytest.mark.parametrize("limit", ["0.3 bar", "1 bar"])
def test_the_flow_that_is_advised_silences_the_danger(limit: str) -> None:
    """With a tenth of doubt of its own, as a bucket test has."""
    case, flow = tank(limit), slow_enough(tank(limit))
    text = f"{flow * 6e4:.4g} L/min"
    assert f"hrottle the hydrant to {text}" in cautions(case, estimate(case))[0].text
    slow = tank(limit, fill=f'measured_flow = "{text}"')
    assert not passes(slow)
    doubted = {**slow.ranges, "fill.measured_flow": Range(0.9 * flow, flow, 1.1 * flow, False)}
    assert not passes(replace(slow, ranges=doubted))


def test_no_larger_flow_and_no_smaller_vent_is_advised_than_is_safe() -> None:
    """The one before, or the one after, in the list passes what is kept to."""
    case = tank("1 bar")
    found = fill_pressures(case)
    kept = found.water_alone_gauge_pa + 0.8 * (found.limit_gauge_pa - found.water_alone_gauge_pa)
    assert peak_of(tank("1 bar", f"{wide_enough(case) * 1e3 - 1:.0f} mm")) > kept
    flows = [100.0, 150.0, 200.0, 300.0, 400.0, 500.0]
    flow = slow_enough(case) * 6e4
    after = flows[flows.index(round(flow)) + 1]
    assert peak_of(tank("1 bar", fill=f'measured_flow = "{1.1 * after} L/min"')) > kept


def test_us_cases_are_advised_us_sizes() -> None:
    text = TANK.replace("1.2 m", "4 ft").replace("20 m", "60 ft").replace("25 mm", "1 in").replace("2 mm", "0.1 in")
    case = read_text(text.format(limit='never_above = "15 psi"', vent="0.25 in", tap='kind = "hydrant"\n'
                                 'pressure = "70 psi"', height="6 ft", fill="", shut="", test="4 psi"))
    found = cautions(case, estimate(case), "us")[0]
    assert found.code == "fill air above limit"
    bore = float(found.text.partition("a vent of ")[2].partition(" in")[0])
    assert (8 * bore).is_integer() and not passes(replace(case, vent=replace(case.vent, bore=bore * 0.0254)))


def test_the_unlucky_end_of_the_ranges_counts() -> None:
    case = tank("1 bar", "8 mm")
    assert unlucky(case).tap.open_flow == case.ranges["tap.open_flow"].high > case.tap.open_flow
    assert unlucky(case).vent.coefficient == case.ranges["vent.coefficient"].low < case.vent.coefficient
    certain = replace(case, ranges={})
    assert peak_of(certain) == pytest.approx(float(estimate(case).fill.bottom_peak_gauge_pa[0]), rel=1e-9)
    assert peak_of(case) > peak_of(certain)


def test_the_tap_left_on_and_the_shut_vent_are_told_apart() -> None:
    assert raised(tank("1 bar", "80 mm"))[0] == "source above limit"
    assert raised(tank("1 bar", "80 mm", shut="shut = true"))[:2] == ["shut vent above limit", "source above limit"]
    assert "source above limit" not in raised(tank("6 bar", "80 mm"))
    reduced = 'kind = "hydrant"\npressure = "0.9 bar"'
    assert not [code for code in raised(tank("1 bar", "80 mm", tap=reduced)) if "above limit" in code]


def test_the_height_of_the_source_counts_at_the_bottom() -> None:
    """2.6 bar above, 1 bar lower by 10.2 m below: the same 3.6 bar and 1.6 bar as a gauge at the bottom shows, with
    the 5 % by which a typed tap pressure may be higher."""
    up = fill_pressures(tank("1 bar", tap='pressure = "2.6 bar"\nopen_flow = "20 L/min"\nheight = "10.2 m"'))
    down = fill_pressures(tank("1 bar", tap='pressure = "2.6 bar"\nopen_flow = "20 L/min"\nheight = "-10.2 m"'))
    assert up.source_gauge_pa == pytest.approx(1.05 * 2.6e5 + 999.1 * GRAVITY * 10.2, rel=1e-4)
    assert down.source_gauge_pa == pytest.approx(1.05 * 2.6e5 - 999.1 * GRAVITY * 10.2, rel=1e-4)


def test_without_a_limit_the_test_pressure_stands_in() -> None:
    case = tank("", "80 mm")
    each = next(caution for caution in cautions(case, estimate(case)) if caution.code == "source above limit")
    assert "test pressure of 0.28 bar (no limit is known)" in each.text
    assert "source above limit" not in raised(tank("", "80 mm", test="5.5 bar"))


def test_a_fill_that_stands_still_can_pass_the_limit_before_it_does() -> None:
    case = tank("0.5 bar", "1 mm", tap='pressure = "0.9 bar"\nopen_flow = "200 L/min"', height="15 m", test="2 bar")
    task = replace(case, ranges={})
    assert estimate(task).fill.status[0] == Status.HEAD_TOO_HIGH
    assert bottom_peak(task)[0] > 0.8e5


def test_a_surge_is_lost_in_a_large_vessel_and_in_air() -> None:
    block = ('format = 1\n[vessel]\nshape = "other"\nvolume = "{volume}"\nwall = "rigid"\nnever_above = "10 bar"\n'
             '[tap]\npressure = "4 bar"\nopen_flow = "60 L/min"\n[[fill.hose]]\nlength = "25 m"\nbore = "12.7 mm"\n'
             'couplings = 0\n[vent]\nbore = "8 mm"\n[trapped_air]\namount = "{air}"\n[test]\npressure = "8 bar"\n'
             '[pump]\nkind = "hand"\n')

    def peak(volume: str, air: str) -> float:
        case = read_text(block.format(volume=volume, air=air))
        return surge_peak(case, float(estimate(case).fill.flow_end_m3_s[0]))

    assert peak("2 L", "0.01 %") > 10e5 > peak("2 L", "20 %") > 4e5
    assert peak("2 L", "0.01 %") > peak("20 L", "0.01 %") > peak("2 m3", "0.01 %")
    assert peak("2 m3", "0.5 %") == pytest.approx(4e5, rel=0.1)


# --- containers, sources ----------------------------------------------------------------------

TOTE = 'kind = "{kind}"\nheight = "{level}"\ncontents = "1200 L"'
BIG = {"height": "2.829 m", "vent": "12 mm", "test": "2 bar"}
"""A tank of 3.2 m3."""


def test_three_containers_for_three_cubic_metres() -> None:
    case = tank("6 bar", tap=TOTE.format(kind="header tank", level="4 m"), **BIG)
    answers = with_ranges(case)
    main = estimate(tank("6 bar", tap='kind = "header tank"\nheight = "4 m"', **BIG))
    assert answers.volume_m3 == pytest.approx(3.2, rel=1e-3)
    assert answers.fill.change_overs == 2 and answers.fill.change_over_s == 1200.0
    assert answers.fill.time_s - 1200.0 > main.fill.time_s[0]
    stage = next(stage for stage in answers.stages if stage.name == "fill")
    assert stage.at_likely_values_s == answers.fill.time_s
    assert any(need.startswith("3 fills of the header tank of 1200 L") for need in needs(case, answers))
    assert any("2, 20 min in all" in caution.text for caution in cautions(case, answers))


def test_a_container_that_meets_the_vessel_is_a_stall_with_its_level() -> None:
    case = tank("6 bar", tap=TOTE.format(kind="bucket", level="2.9 m"), **BIG)
    answers = estimate(case)
    caution = next(one for one in cautions(case, answers) if one.code == "container level with vessel")
    assert answers.fill.status[0] == Status.HEAD_TOO_HIGH
    assert caution.text.startswith("The fill never finishes: the bucket has drained to the vessel's level.")
    level = answers.fill.level_m[0]
    begun = 1.2 * np.floor(answers.fill.water_m3[0] / 1.2)
    assert level == pytest.approx(2.9 - (answers.fill.water_m3[0] - begun) / 1.2, rel=1e-6)


def test_loads_share_a_container() -> None:
    """Six loads of a third of a container are two containers, not six."""
    case = read_text('format = 1\n[vessel]\nshape = "other"\nvolume = "400 L"\ncount = 6\n[tap]\nkind = "header tank"\n'
                     'height = "3 m"\ncontents = "1200 L"\n[[fill.hose]]\nlength = "5 m"\nbore = "25 mm"\n'
                     '[test]\npressure = "3 bar"\n[pump]\nkind = "hand"\n')
    answers = estimate(case)
    assert answers.fill.change_overs == 0
    assert containers_changed(case, answers) == 2  # the pumps' water makes it a little more than two


def test_no_water_flows_is_all_that_is_said() -> None:
    case = tank("6 bar", tap='kind = "header tank"\nheight = "0 m"', vent="40 mm", fill='from = "top"', test="2 bar")
    answers = estimate(case)
    assert too_low(case) == pytest.approx(2.0)
    assert answers.fill.water_m3 == 0.0 and answers.fill.level_m == 0.0 and answers.fill.filled_share == 0.0
    found = [caution for caution in cautions(case, answers) if caution.code in ("no water flows", "head too high")]
    assert [one.text for one in found] == ["No water flows: the header tank stands 2 m too low. Raise it."]
    from fillcalc.estimation.answers import at_likely_values

    assert fill_sentences(at_likely_values(case), at_likely_values(answers), "metric") == []


def test_a_source_far_above_gives_its_open_flow_and_no_more() -> None:
    case = tank("40 bar", "10 mm", tap='pressure = "3 bar"\nopen_flow = "10 L/min"\nheight = "200 m"', test="2 bar")
    answers = estimate(case)
    assert answers.fill.flow_start_m3_s[0] == pytest.approx(10e-3 / 60, rel=1e-12)
    assert "hose not full" in raised(case)
    shares = [float(np.ravel(getattr(answers.fill.shares, name))[0]) for name in part_labels(case)]
    assert sum(shares) == pytest.approx(1.0, abs=1e-9)
    assert answers.fill.shares.tap[0] == pytest.approx(1.0, rel=1e-3)


@pytest.mark.parametrize(("kind", "words"), few([
    ("hydrant", 'pressure = "3 bar"\nopen_flow = "60 L/min"'),
    ("transfer pump", 'pressure = "3 bar"\nopen_flow = "60 L/min"\ncontents = "500 L"\narea = "1.2 m2"'),
    ("header tank", 'height = "14 m"\ncontents = "500 L"'), ("bucket", 'height = "14 m"\ncontents = "500 L"')], 2))
def test_a_source_is_called_by_its_name(kind: str, words: str) -> None:
    """In every sentence of cautions, fill and pump; a tap is a tap only where it is one."""
    import re

    from fillcalc.estimation.answers import at_likely_values

    for limit, vent, test in (("0.8 bar", "1.5 mm", "0.7 bar"), ("6 bar", "20 mm", "2 bar")):
        case = tank(limit, vent, tap=f'kind = "{kind}"\n{words}', test=test)
        case = replace(case, test=replace(case.test, start_pressure="tap"))
        found = at_likely_values(estimate(case))
        sentences = [one.text for one in cautions(case, found)]
        case = at_likely_values(case)
        sentences += fill_sentences(case, found, "metric") + pump_sentences(case, found, "metric") + needs(case, found)
        assert not [each for each in sentences if re.search(r"\btaps?\b", each)]
        assert any(kind in each for each in sentences)


def _direction(case: Case, path: str, value: float) -> int:
    """Which way the most pressure while filling goes as an input rises; 0 where it hardly does."""
    less, more = (float(bottom_peak(put(case, path, part * value))[0]) for part in (0.9, 1.1))
    return 0 if abs(more - less) < 1e-3 * max(more, less) else 1 if more > less else -1


def test_every_input_of_the_fill_is_taken_at_its_unlucky_end() -> None:
    """A new input of source, line or vent that moves the pressure shows here until `_goes` knows its end."""
    case = put(tank(), "fill.hose.1.couplings", 2)
    wrong = {}
    for base, record in (("tap", case.tap), ("fill", case.fill), ("fill.hose.1", case.fill.hose[0]),
                         ("vent", case.vent)):
        for key, declared in leaves_of(type(record)).items():
            path = f"{base}.{key}"
            if declared.form not in ("quantity", "number") or path in ("fill.cv", "tap.contents"):
                continue  # Cv becomes Kv; where a container ends has no unlucky end
            value = at(case, path) or default_value(declared, declared.example)[0]
            if (way := _direction(case, path, float(value))) not in (0, _goes(path)):
                wrong[path] = way
    assert not wrong
