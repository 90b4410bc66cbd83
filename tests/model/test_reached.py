"""Test pressure and the pressure limit against the readings: one place says stop, and all that is told says it."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from fillcalc.case.records import Case, Reading
from fillcalc.cautions import cautions
from fillcalc.estimation.answers import at_likely_values
from fillcalc.estimation.estimate import estimate
from fillcalc.formats.data import line
from fillcalc.formats.page import page
from fillcalc.formats.readings_text import readings_data, readings_report
from fillcalc.present.lines import PUMP_UP, main_lines
from fillcalc.questions.readings.answer import ReadingsAnswer, readings
from fillcalc.questions.readings.reached import Reached, reached
from tests.model.twin_cases import BAR, shell

STOP = "Test pressure is reached: stop pumping."
LIMIT, DIVISION, TEST = 29.0, 0.5, 24.0


def _at(*gauges: float, times: bool = True) -> Case:
    """The shell, with a reading at each of these pressures in bar, a stroke count rising."""
    return shell(reading=tuple(Reading(pressure=gauge * BAR, strokes=30.0 + 2.0 * gauge,
                                       time=300.0 * place if times else None) for place, gauge in enumerate(gauges)))


def _stand(*gauges: float) -> Reached:
    return reached(_at(*gauges))


@pytest.mark.parametrize(("gauge", "at", "near"), [
    (TEST, True, False), (TEST - 0.09 * DIVISION, True, False), (TEST - 0.11 * DIVISION, False, True),
    (TEST - 0.99 * DIVISION, False, True), (TEST - 1.01 * DIVISION, False, False), (TEST + 3.0, True, False)])
def test_test_pressure_is_reached_to_what_can_be_read(gauge: float, at: bool, near: bool) -> None:
    stand = _stand(6.0, 12.0, gauge)
    assert (stand.at_test, stand.near_test, stand.stop) == (at, near, at)


def test_test_pressure_may_be_a_factor_on_the_design() -> None:
    case = _at(6.0, 12.0, 24.0)
    by_factor = replace(case, test=replace(case.test, pressure=None, factor_on_design=1.5),
                        vessel=replace(case.vessel, design=16 * BAR), gauge=replace(case.gauge, division=None))
    assert reached(by_factor).at_test and readings(by_factor).strokes_left == 0.0
    assert STOP in readings_report(by_factor, readings(by_factor))


def test_the_lowest_rating_is_the_limit() -> None:
    assert (_stand(LIMIT).above_limit, _stand(LIMIT + 0.1).above_limit) == (False, True)
    assert (_stand(1.0).limit_gauge_pa, _stand(1.0).limit_of) == (LIMIT * BAR, "the vessel's limit")
    case = _at(6.0, 23.0)
    low = reached(replace(case, vessel=replace(case.vessel, never_above=22 * BAR)))
    assert low.above_limit and low.stop and not low.at_test


def test_without_a_limit_or_readings_nothing_is_invented() -> None:
    case = _at(30.0)
    unknown = reached(replace(case, vessel=replace(case.vessel, never_above=None)))
    assert not unknown.above_limit and (unknown.limit_of, unknown.at_test) in (
        ("the gauge's full scale", True), ("the test hose's rating", True), ("", True))
    none = reached(replace(case, reading=()))
    assert not (none.at_test or none.stop or none.above_limit or none.near_test)


def test_a_fall_in_the_hold_does_not_ask_for_strokes() -> None:
    fallen = _stand(12.0, 24.0, 23.0)
    assert fallen.stop and fallen.fallen and fallen.latest_gauge_pa == 23 * BAR
    assert not _stand(12.0, 24.0, 23.6).fallen
    assert _stand(12.0, 25.0).above_test and not _stand(12.0, 25.0, 24.0).above_test


@pytest.mark.parametrize("gauges", [(24.0,), (6.0, 24.0), (6.0, 12.0, 24.0), (6.0, 12.0, 26.0), (24.0, 24.0)])
def test_nothing_is_left_at_test_pressure(gauges: tuple[float, ...]) -> None:
    answer = readings(_at(*gauges))
    assert (answer.strokes_left, answer.water_left_m3, answer.time_left_s) == (0.0, 0.0, 0.0)
    assert answer.next_reading_gauge_pa != answer.next_reading_gauge_pa and not answer.vent_again.pays


def _told(case: Case, answer: ReadingsAnswer) -> tuple[str, dict[str, object]]:
    return " ".join(readings_report(case, answer).split()), readings_data(case, answer)


def test_text_data_estimate_and_page_say_stop() -> None:
    case = _at(6.0, 12.0, 24.0)
    answer, figures = readings(case), estimate(case)
    text, data = _told(case, answer)
    assert f"WARNING: {STOP}" in text and "Still to pump nothing" in text
    assert [caution["code"] for caution in data["cautions"]] == ["test pressure reached"]  # type: ignore[attr-defined,index]
    assert STOP in data["said"]["next"] and data["reached"]["at_test"] is True             # type: ignore[index]
    assert STOP in [caution.text for caution in cautions(case, figures)]
    assert STOP in page(case, figures)
    for word in ("pump on", "next reading", "Take a reading"):
        assert word not in text and not any(word in each for each in data["said"]["next"])  # type: ignore[index]


def test_below_test_pressure_nobody_says_stop() -> None:
    case = _at(6.0, 12.0, 18.0)
    answer, figures = readings(case), estimate(case)
    text, data = _told(case, answer)
    assert "stop pumping" not in text.lower() and data["cautions"] == [] and answer.strokes_left > 0.0
    assert STOP not in page(case, figures) and STOP not in [each.text for each in cautions(case, figures)]
    near = _at(6.0, 12.0, 23.6)
    assert "pump single strokes" in _told(near, readings(near))[0]


def test_above_the_limit_is_a_danger_with_what_to_do() -> None:
    case = _at(6.0, 12.0, 30.0)
    text, data = _told(case, readings(case))
    danger = cautions(case, estimate(case))[0]
    assert (danger.code, danger.weight) == ("reading above limit", "danger")
    assert "30 bar" in danger.text and "29 bar" in danger.text and "Do not pump again" in danger.text
    assert f"DANGER: {danger.text}" in text and STOP in text
    assert data["cautions"][0]["text"] == danger.text  # type: ignore[index]
    us = _told(case, readings(case))[0], readings_report(case, readings(case), "us")
    assert "435 psi" in us[1] and "435 psi" not in us[0]


def test_above_test_pressure_says_how_far_to_let_down() -> None:
    text = _told(case := _at(6.0, 12.0, 26.0), readings(case))[0]
    assert f"WARNING: {STOP} The gauge stands 2 bar above it: let it down to 24 bar before the hold." in text
    assert "Still to pump nothing 2 bar above test pressure" in text
    assert text.count("let it down to 24 bar before the hold") == 2  # the warning, and what to do next


def test_a_fallen_pressure_is_told_as_fallen() -> None:
    """Nobody reads that test pressure is reached, or that nothing is left to do, where the gauge stands far below."""
    text = _told(case := _at(6.0, 12.0, 24.0, 20.0), readings(case))[0]
    assert "WARNING: Test pressure was reached: stop pumping. The gauge stands 4 bar below it now, at 20 bar. "\
           "Do not pump on before the cause is found." in text
    assert "Still to pump find the cause first fallen to 4 bar below test pressure" in text
    us = " ".join(readings_report(case, readings(case), "us").split())
    assert "Still to pump find the cause first fallen to 58 psi below test pressure" in us
    pump_up = main_lines(at_likely_values(estimate(case)), "metric", readings(case))[1]
    assert (pump_up.label, pump_up.beside[0]) == (PUMP_UP, "stop: fallen below test pressure")
    assert STOP not in text and STOP not in [each.text for each in cautions(case, estimate(case))]


@pytest.mark.parametrize("gauges", [(), (0.0,), (24.0,), (30.0,), (6.0, 12.0), (12.0, 6.0), (6.0, 12.0, 18.0),
                                    (24.0, 24.0)])
@pytest.mark.parametrize("times", [True, False])
def test_what_is_not_known_is_never_printed_as_a_number(gauges: tuple[float, ...], times: bool) -> None:
    case = _at(*gauges, times=times)
    for units in ("metric", "us"):
        answer = readings(case)
        text, data = readings_report(case, answer, units), line(readings_data(case, answer, units))
        assert "nan" not in text.lower().split() and "–" not in text and max(map(len, text.splitlines())) <= 80
        assert json.loads(data, parse_constant=lambda word: pytest.fail(word))["readings"] is not None
