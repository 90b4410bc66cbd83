"""A value that was typed is as uncertain as its declaration says, until a range is given."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from fillcalc.case.fields import AS_DEFAULT, Typed
from fillcalc.case.kit import read_kit_text
from fillcalc.case.read import read_text
from fillcalc.case.records import Range
from fillcalc.case.spread import typed_spread
from fillcalc.job.samples import assign, keys, samples
from fillcalc.present.inputs import ranged_name, typed_sentence
from fillcalc.questions.choices.ranking import assumed_ranges
from fillcalc.tree import at
from tests.case.test_declarations import ALL

CASE = """
format = 1
[vessel]
shape = "{shape}"
volume = "570 L"
[tap]
{tap}
[fill]
{fill}
[[fill.hose]]
length = "22 m"
bore = "12.7 mm"
[vent]
bore = "8 mm"
[trapped_air]
{air}
[test]
pressure = "24 bar"
hold = "20 min"
[pump]
kind = "air-driven"
ratio = 10
{pump}
[labour]
[labour.each]
{each}
[ranges]
{ranges}
"""


def case_of(shape: str = "by volume", tap: str = "", fill: str = "", air: str = "", pump: str = "", each: str = "",
            ranges: str = "") -> Any:
    return read_text(CASE.format(shape=shape, tap=tap, fill=fill, air=air, each=each, ranges=ranges,
                                 pump=pump or 'flow_at_zero = "4 L/min"'))


ROWS: list[tuple[str, dict[str, str], tuple[float, float | None, float], str]] = [
    ("tap.pressure", {"tap": 'pressure = "4 bar"'}, (0.95, None, 1.05), "±5 %"),
    ("tap.open_flow", {"tap": 'open_flow = "20 L/min"'}, (0.9, None, 1.1), "±10 %"),
    ("fill.measured_flow", {"fill": 'measured_flow = "20 L/min"'}, (0.9, None, 1.1), "±10 %"),
    ("pump.strokes_per_minute", {"pump": "strokes_per_minute = 100"}, (0.9, None, 1.1), "±10 %"),
    ("labour.each.connect", {"each": 'connect = "20 min"'}, (0.75, 1.0, 1.5), "0.75 to 1.5 times"),
    ("trapped_air.amount", {"air": 'amount = "0.3 %"'}, (0.2, 1.0, 5.0), "0.2 to 5 times"),
    ("trapped_air.amount", {"air": 'amount = "2 L"'}, (0.2, 1.0, 5.0), "0.2 to 5 times"),
    ("trapped_air.amount", {"air": 'amount = "4 %"', "shape": "valve body"}, (0.25, 1.0, 3.0), "0.25 to 3 times"),
    ("trapped_air.amount", {"air": 'amount = "1 %"', "fill": 'from = "top"'}, (1 / 3, 1.0, 5.0), "0.33 to 5 times"),
]


@pytest.mark.parametrize(("path", "given", "ends", "words"), ROWS)
def test_a_typed_value_has_the_spread_of_its_declaration(path: str, given: dict[str, str],
                                                         ends: tuple[float, float | None, float], words: str) -> None:
    case = case_of(**given)
    value, asked = float(at(case, path)), case.ranges[path]
    assert (asked.low, asked.high) == (pytest.approx(ends[0] * value), pytest.approx(ends[2] * value))
    assert not asked.given
    assert asked.likely == (None if ends[1] is None else pytest.approx(value))
    assert typed_spread(case, path) == words
    assert ranged_name(case, path, "metric").endswith(f" (typed, {words})")
    assert words in typed_sentence(case, "metric")
    assert path not in {item.path for item in case.assumptions}


@pytest.mark.parametrize(("path", "given", "_", "__"), ROWS)
def test_a_range_that_is_given_replaces_it_and_none_is_exact(path: str, given: dict[str, str], _: Any, __: Any) -> None:
    wide = case_of(**given, ranges=f'"{path}" = "±20 %"')
    value = float(at(wide, path))
    assert wide.ranges[path] == Range(pytest.approx(0.8 * value), None, pytest.approx(1.2 * value), True)
    exact = case_of(**given, ranges=f'"{path}" = "±0"')
    assert exact.ranges[path] == Range(value, None, value, True)
    assert path in keys(case_of(**given)) or path == "tap.open_flow"
    for case in (wide, exact):
        assert typed_spread(case, path) == "" and path not in typed_sentence(case, "metric")


@pytest.mark.parametrize(("path", "given"), [
    ("test.pressure", {}), ("test.hold", {}), ("vessel.volume", {}), ("fill.hose.1.length", {}),
    ("fill.hose.1.bore", {}), ("vent.bore", {}), ("pump.flow_at_zero", {}), ("pump.ratio", {}),
    ("tap.open_flow", {"tap": 'open_flow = "unlimited"'}), ("trapped_air.amount", {"air": 'amount = "0 %"'}),
    ("labour.each.connect", {"each": 'connect = "0 min"'}), ("tap.pressure", {"tap": 'kind = "header tank"'}),
])
def test_what_is_exact_by_nature_a_word_or_nothing_has_none(path: str, given: dict[str, str]) -> None:
    assert path not in case_of(**given).ranges


def test_a_default_keeps_its_own_range() -> None:
    case = case_of()
    assert case.ranges["tap.pressure"] == Range(1.5e5, 3e5, 5e5, False) and typed_spread(case, "tap.pressure") == ""
    assert case.ranges["trapped_air.amount"].high == pytest.approx(0.005)


def test_the_ends_stay_within_what_is_legal() -> None:
    assert case_of(shape="valve body", air='amount = "60 %"').ranges["trapped_air.amount"].high == pytest.approx(0.95)
    assert case_of(tap='pressure = "200 bar"').ranges["tap.pressure"].high == pytest.approx(200e5)


def test_every_declared_spread_holds_the_value_and_only_numbers_have_one() -> None:
    for _, record, key, declared in ALL:
        spread = declared.typed
        assert spread is None or declared.form in ("quantity", "number"), (record, key)
        assert not isinstance(spread, Typed) or 0.0 < spread.low < 1.0 < spread.high
        assert not isinstance(spread, str) or spread == AS_DEFAULT


def test_two_cases_of_one_visit_draw_a_typed_input_by_one_column() -> None:
    one, two = case_of(tap='pressure = "4 bar"'), case_of(tap='pressure = "4 bar"', air='amount = "1 %"')
    columns = assign((*keys(one), *keys(two)))
    drawn = [samples(case, {key: columns[key] for key in keys(case)}).case.tap.pressure for case in (one, two)]
    count = min(len(each) for each in drawn)
    rows = len(next(iter(columns.values())))
    assert count > rows and np.array_equal(drawn[0][:1 + rows], drawn[1][:1 + rows])
    assert 3.8e5 <= drawn[0][:1 + rows].min() < drawn[0][:1 + rows].max() <= 4.2e5


KIT = """
[[pump]]
name = "by count"
kind = "air-driven"
ratio = 10
strokes_per_minute = 100
[[pump]]
name = "by flow"
kind = "air-driven"
ratio = 10
flow_at_zero = "4 L/min"
"""


def test_a_pump_of_the_kit_is_as_uncertain_as_the_same_pump_in_a_case() -> None:
    kit = read_kit_text(KIT)
    counted, flowing = (assumed_ranges(kit, f"pump.{place}", pump) for place, (_, pump) in enumerate(kit.pump, 1))
    assert counted["strokes_per_minute"] == case_of(pump="strokes_per_minute = 100").ranges["pump.strokes_per_minute"]
    assert "strokes_per_minute" not in flowing and counted.keys() - {"strokes_per_minute"} == flowing.keys()
