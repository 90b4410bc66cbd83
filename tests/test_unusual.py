"""Figures that are legal but unlikely are asked about: a notice each, and none for a case near by."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from fillcalc.case import records
from fillcalc.case.fields import Input
from fillcalc.case.read import read_file, read_text
from fillcalc.case.records import Case
from fillcalc.case.template import template
from fillcalc.cautions import UNUSUAL, cautions
from fillcalc.cautions.unusual import unusual
from fillcalc.estimation.estimate import estimate
from fillcalc.tree import put
from tests.case.test_declarations import ALL, NAMES

CASES = Path(__file__).parents[1] / "cases"
SHELL = read_file(CASES / "cooler-shell.toml")
RUN = read_text("""
format = 1
[vessel]
shape = "pipe run"
diameter = "50 mm"
length = "20 m"
wall = "6 mm"
[tap]
[[fill.hose]]
length = "10 m"
bore = "12.7 mm"
[test]
pressure = "24 bar"
[pump]
kind = "hand"
""")
VOLUME = read_text(template())

PAIRS: list[tuple[Case, str, Any, Any, str]] = [
    (SHELL, "fill.hose.1.bore", 0.22, 0.0254,
     "Fill hose bore 220 mm is unusual; 6 to 76 mm is common. Check the unit."),
    (SHELL, "fill.hose.1.bore", 0.022, 0.0195,
     "Fill hose bore 22 mm is not a usual size; 20 mm and 25.4 mm are. Check that it is the inside."),
    (SHELL, "pump.stroke", 1e-3, 0.4e-3, "Pump stroke 1 L is unusual; 0.3 to 500 mL is common. Check the unit."),
    (SHELL, "fill.hose.1.bore", 0.006, 0.0063, "Fill hose bore 6 mm is not a usual size; 6.3 mm is. Check"),
    (SHELL, "tap.open_flow", 280e-3 / 60, 90e-3 / 60,
     "Tap open flow 280 L/min is unusual; 3 to 150 L/min is common. Check the unit."),
    (SHELL, "tap.pressure", 15e5, 9e5, "Tap pressure 15 bar is unusual; 0.5 to 10 bar is common. Check the unit."),
    (SHELL, "test.pressure", 1100e5, 900e5, "Test pressure 1100 bar is unusual; 0.1 to 1000 bar is common."),
    (SHELL, "pump.ratio", 900.0, 400.0, "Pump ratio 900 is unusual; 1 to 450 is common. Check the figure."),
    (SHELL, "vessel.diameter", 62.0, 0.62, "Vessel diameter 62 m is unusual; 50 mm to 5 m is common."),
    (SHELL, "vessel.wall", 0.6, 6e-3, "Vessel wall 600 mm is unusual; 0.8 to 300 mm is common."),
    (SHELL, "test.hold", 10 * 3600.0 * 24, 600.0, "Hold time 10 d 0 h is unusual; 10 s to 24 h is common."),
    (SHELL, "water.temperature", 273.15 + 55, 273.15 + 20, "Water temperature 55 °C is unusual; 2 to 40 °C is common."),
    (SHELL, "drain.fall", 25.0, 2.0, "Drain fall 25 m is unusual; up to 20 m is common."),
    (VOLUME, "vessel.volume", 1000.0, 200.0, "Vessel volume 1000 m³ is unusual; 0.1 L to 300 m³ is common."),
    (RUN, "vessel.wall", 0.051, 0.049, "Vessel wall 51 mm is thicker than the bore of 50 mm. Check both."),
]


@pytest.mark.parametrize(("case", "path", "odd", "near", "words"), PAIRS, ids=[f"{p[1]} {p[2]}" for p in PAIRS])
def test_an_unlikely_figure_is_asked_about_and_its_neighbour_is_not(case: Case, path: str, odd: Any, near: Any,
                                                                    words: str) -> None:
    found = unusual(put(case, path, odd))
    assert len(found) == len(unusual(case)) + 1
    assert any(sentence.startswith(words) for _, sentence in found), found
    assert unusual(put(case, path, near)) == unusual(case)


def test_it_is_a_notice_with_its_units_and_the_case_is_worked_out() -> None:
    odd = put(SHELL, "fill.hose.1.bore", 0.22)
    found = [one for one in cautions(odd, estimate(odd), "us") if one.code == UNUSUAL]
    assert [one.weight for one in found] == ["notice"]
    assert found[0].text.startswith("Fill hose ID 8.66 in is unusual; 0.236 to 2.99 in")


def test_a_hydrant_gives_what_a_tap_does_not() -> None:
    hydrant = replace(SHELL, tap=records.Hydrant(pressure=5e5, open_flow=280e-3 / 60))
    assert unusual(hydrant) == unusual(SHELL)


def test_what_was_assumed_is_not_asked_about() -> None:
    assert "vessel.height" in {item.path for item in VOLUME.assumptions}
    assert unusual(put(VOLUME, "vessel.height", 90.0)) == ()


@pytest.mark.parametrize("name", sorted(path.stem for path in CASES.glob("*.toml") if path.stem != "kit"))
def test_no_demo_is_unusual(name: str) -> None:
    assert unusual(read_file(CASES / f"{name}.toml")) == ()


@pytest.mark.parametrize("declared", [one[3] for one in ALL], ids=NAMES)
def test_what_is_usual_is_legal_and_holds_the_example_and_the_default(declared: Input) -> None:
    from fillcalc.case.assume import default_value

    if not declared.usual:
        return
    (low, family), (high, of_high) = (default_value(declared, text) for text in declared.usual)
    assert family == of_high and low < high
    assert declared.low is None or declared.low <= low
    assert declared.high is None or high <= declared.high * (1 + 1e-9)
    texts = [declared.example, *((declared.default.text, *declared.default.spread) if declared.default else ())]
    for value, kind in (default_value(declared, text) for text in texts if text not in declared.words):
        assert kind != family or low <= value <= high
    sizes = [default_value(declared, text)[0] for text in declared.sizes]
    assert sizes == sorted(sizes) and all(low <= size <= high for size in sizes)
