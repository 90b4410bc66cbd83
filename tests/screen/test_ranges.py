"""Ranges given on the screen: typed, judged, seen, taken out, and kept with the input they belong to."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot

from fillcalc.case.read import read_text
from tests.families import thorough
from tests.screen.support import SHELL, at_field, case_in, field, picture, press_all, run, screen, until
from tui.app import Fillcalc
from tui.state.range_text import range_as_typed, range_mark, ranges_in, with_range, written_range
from tui.state.session import Session
from tui.widgets.dialogs import Ask


async def ask_for(app: Fillcalc, pilot: Pilot[Any], path: str) -> None:
    """Go to a field and ask for its range by keyboard."""
    at_field(app, path)
    await pilot.press("f10")
    await until(pilot, lambda: isinstance(app.screen, Ask))


async def back(app: Fillcalc, pilot: Pilot[Any]) -> None:
    await until(pilot, lambda: len(app.screen_stack) == 1 and app.settled)


def ranges_of(app: Fillcalc) -> dict[str, Any]:
    return ranges_in(app.session.table)


def row_of(app: Fillcalc, label: str) -> str:
    return next(line[16:56] for line in picture(app).splitlines()[9:] if line[16:].startswith(f" {label}"))


def test_a_range_given_is_seen_changes_low_and_high_and_is_undone(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path), ranges=True) as (app, pilot):
            def span() -> tuple[float, float]:
                ranged = app.session.ranged
                assert ranged is not None and ranged.estimate is not None and ranged.estimate.visit is not None
                return float(ranged.estimate.visit.low_s), float(ranged.estimate.visit.high_s)

            def fresh() -> bool:
                return app.session.ranged is not None and app.session.ranged.number == app.session.number

            await until(pilot, fresh)
            before, words = span(), picture(app).splitlines()[3]
            await ask_for(app, pilot, "tap.open_flow")
            await press_all(pilot, "10 to 60 L/min")
            await pilot.press("enter")
            await until(pilot, lambda: len(app.screen_stack) == 1 and fresh())
            assert ranges_of(app)["tap.open_flow"] == ["10 L/min", "60 L/min"]
            assert span()[1] - span()[0] > before[1] - before[0] + 60.0
            assert picture(app).splitlines()[3] != words
            assert "10…60" in row_of(app, "Tap open flow")
            assert "low 10, high 60 L/min" in re.sub(r"\s+", " ", " ".join(
                line[57:] for line in picture(app).splitlines()[9:23]))
            await pilot.press("ctrl+z")
            await until(pilot, fresh)
            assert app.session.text == SHELL
            assert span() == before
            assert "…" not in row_of(app, "Tap open flow")

    run(test())


@thorough
def test_a_range_that_cannot_be_is_explained_and_not_written(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            await ask_for(app, pilot, "tap.open_flow")
            await press_all(pilot, "40; 20 L/min")
            await pilot.press("enter")
            await until(pilot, lambda: "write low first" in picture(app))
            assert app.session.text == SHELL
            await pilot.press("ctrl+u")
            await press_all(pilot, "20 parsecs")
            await pilot.press("enter")
            await until(pilot, lambda: "±10 %" in picture(app) and "parsecs" in picture(app))
            assert app.session.text == SHELL
            await pilot.press("escape")
            await back(app, pilot)
            assert app.session.text == SHELL and app.session.state == "now"

    run(test())


def test_a_range_is_emptied_or_taken_out_and_the_last_takes_the_table_along(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            await ask_for(app, pilot, "tap.pressure")
            assert "±15 %" in picture(app)
            await pilot.press("ctrl+u", "enter")
            await back(app, pilot)
            assert set(ranges_of(app)) == {"trapped_air.amount"}
            assert "±" not in row_of(app, "Tap pressure")
            await ask_for(app, pilot, "trapped_air.amount")
            await pilot.press("down", "end", "enter")
            await back(app, pilot)
            assert "[ranges]" not in app.session.text and app.session.state == "now"
            await pilot.press("ctrl+z", "ctrl+z")
            assert app.session.text == SHELL

    run(test())


def test_a_word_has_no_range_and_says_so(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            at_field(app, "vessel.shape")
            await pilot.press("f10")
            await until(pilot, lambda: "can have a range" in picture(app))
            assert len(app.screen_stack) == 1

    run(test())


def test_a_range_that_is_wrong_in_the_file_is_marked_at_its_field(tmp_path: Path) -> None:
    text = SHELL.replace('"±15 %"', '["4 bar", "2 bar"]')

    async def test() -> None:
        async with screen(case_in(tmp_path, text)) as (app, _):
            assert "its range, values out of order" in field(app, "tap.pressure").wrong
            assert "1 to fix" in picture(app).splitlines()[0]

    run(test())


# --- the text, without a screen -----------------------------------------------------------------

def three_hoses() -> Session:
    session = Session(SHELL)
    for number, length in ((2, "10 m"), (3, "12 m")):
        session.put_many("hose", {f"fill.hose.{number}.length": length, f"fill.hose.{number}.bore": "19 mm"})
    text = session.text
    for number in (1, 2, 3):
        text = with_range(text, f"fill.hose.{number}.length", f"±{number} m")
    session.replace(text, "ranges")
    return session


def test_ranges_follow_their_hose_when_one_before_it_is_dropped() -> None:
    session = three_hoses()
    before = session.text
    session.drop("fill.hose.2")
    found = ranges_in(session.table)
    assert found["fill.hose.1.length"] == "±1 m" and found["fill.hose.2.length"] == "±3 m"
    assert "fill.hose.3.length" not in found and "tap.pressure" in found
    case = read_text(session.text)
    assert case.ranges["fill.hose.2.length"].low == pytest.approx(9.0)
    session.undo()
    assert session.text == before


def test_another_kind_of_pump_takes_the_ranges_of_what_it_does_not_know() -> None:
    session = Session(with_range(SHELL, "pump.ratio", "±5 %"))
    session.put("pump.kind", "hand")
    assert set(ranges_in(session.table)) == {"tap.pressure", "trapped_air.amount"}
    assert not any(path.startswith("pump.ratio") for path in read_text(session.text).ranges)


def test_a_range_written_in_tables_within_tables_is_found_and_changed_in_its_place() -> None:
    text = SHELL.replace('"tap.pressure" = "±15 %"', 'tap.pressure = "±15 %"')
    assert written_range(tomllib.loads(text), "tap.pressure") == "±15 %"
    changed = with_range(text, "tap.pressure", "±20 %")
    assert ranges_in(tomllib.loads(changed))["tap.pressure"] == "±20 %"
    assert changed.count("±") == 1
    assert "tap.pressure" not in ranges_in(tomllib.loads(with_range(changed, "tap.pressure", "none")))


@pytest.mark.parametrize(("typed", "written"), [
    ("+-10%", "±10%"), ("+/- 3 L/min", "±3 L/min"), ("26 to 33 L/min", "26 L/min; 33 L/min"),
    ("2,5; 3,5 bar", "2,5 bar; 3,5 bar"), ("0.1, 0.4, 3 %", "0.1 %; 0.4 %; 3 %"), ("1…3 %", "1 %; 3 %"),
    ("-5 to 5 degC", "-5 degC; 5 degC"), ('["1 bar", "2 bar"]', "1 bar; 2 bar"), ("half", "half"),
    ("1/2 to 1 1/2 in", "1/2 in; 1 1/2 in"), ("½ to ¾ in", "½ in; ¾ in"), ("1e3 to 2e3 Pa", "1e3 Pa; 2e3 Pa"),
    ("1,200 to 1,300 L", "1,200 L; 1,300 L"), ("0 to 5 min", "0 min; 5 min"),
])
def test_how_a_range_may_be_typed(typed: str, written: str) -> None:
    assert range_as_typed(typed) == written


@pytest.mark.parametrize(("written", "value", "room", "mark"), [
    ("±15 %", "3.2 bar", 9, "±15 %"), ("26 L/min; 33 L/min", "28 L/min", 12, "26…33 L/min"),
    ("26 L/min; 33 L/min", "28 L/min", 9, "26…33"), ("1 bar; 20 psi", "1.2 bar", 9, "±"),
    ("0.1 %; 0.4 %; 3 %", "0.4 %", 8, "0.1…3 %"), ("±15 %", "0.015 mL/m/bar", 3, "±"), ("", "1 bar", 9, ""),
])
def test_a_mark_has_the_room_it_is_given(written: str, value: str, room: int, mark: str) -> None:
    assert range_mark(written, value, room) == mark


def test_a_likely_value_that_stands_in_for_one_not_given_is_shown_with_its_range(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path, SHELL.replace('amount = "0.4 %"\n', ""))) as (app, _):
            line = next(line for line in picture(app).splitlines()[9:] if "Trapped air  " in line)
            assert "(0.4 %)" in line and "0.1 %…3 %" in line

    run(test())
