"""What a field tells of what was typed into it: its unit, what a caution asks, what follows from the rest."""

from __future__ import annotations

import asyncio
import tomllib
from pathlib import Path
from typing import Any

import pytest

from tests.families import few
from tests.screen.support import (
    SLOW_S,
    SLOWLY,
    at_field,
    case_in,
    field,
    picture,
    press_all,
    run,
    screen,
    type_over,
    until,
)
from tui.app import Fillcalc
from tui.state.opening import EMPTY
from tui.widgets.dialogs import Pick
from tui.widgets.typed_word import word_begun


def written(app: Fillcalc, table: str, key: str) -> Any:
    return tomllib.loads(app.session.text)[table][key]


@pytest.mark.parametrize(("key", "pause_s"), few([
    ("tab", SLOW_S), ("enter", 0.0), ("enter", SLOW_S), ("down", 0.0)], 1))
def test_a_plain_number_gets_the_unit_that_its_field_shows(key: str, pause_s: float, tmp_path: Path) -> None:
    """The unit stands beside the number while it is typed, and behind it in the field and in the text afterwards; one
    undo takes both back. What might be two numbers gets none."""
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            at_field(app, "vessel.diameter")
            await pilot.pause()
            await type_over(pilot, "600", pause_s)
            await until(pilot, lambda: "mm: Enter"
                        in picture(app))
            assert "The unit is missing" not in picture(app) and written(app, "vessel", "diameter") in ("600", "620 mm")
            await pilot.press(key)
            await press_all(pilot, "2,1", pause_s)
            await pilot.press(key)
            await until(pilot, lambda: app.settled)
            assert (written(app, "vessel", "diameter"), written(app, "vessel", "height")) == ("600 mm", "2,1 m")
            assert field(app, "vessel.diameter").value == "600 mm" and "mm: Enter" not in picture(app)
            await pilot.press("ctrl+z", "ctrl+z")
            await until(pilot, lambda: app.settled)
            assert (written(app, "vessel", "diameter"), written(app, "vessel", "height")) == ("620 mm", "1.9 m")
            at_field(app, "vessel.diameter")
            await pilot.pause()
            await type_over(pilot, "1,200", pause_s)
            await pilot.press(key)
            await until(pilot, lambda: app.settled)
            assert written(app, "vessel", "diameter") == "1,200" and app.session.problems

    run(test())


@pytest.mark.parametrize("pause_s", few([SLOW_S, 0.0], 1))
def test_a_unit_on_offer_is_not_told_as_a_fault(pause_s: float, tmp_path: Path) -> None:
    """Neither above the form of a new case nor in its head; a number with something else behind it is."""
    async def test() -> None:
        async with screen(case_in(tmp_path, EMPTY)) as (app, pilot):
            at_field(app, "vessel.volume")
            await pilot.pause()
            await press_all(pilot, "620", pause_s)
            await until(pilot, lambda: app.settled and "· vessel volume: Enter puts L" in picture(app))
            assert "nit is missing" not in picture(app) and "5 needed" in picture(app)
            await press_all(pilot, " x", pause_s)
            await until(pilot, lambda: app.settled and "! vessel volume: " in picture(app))
            assert "5 to fix" in picture(app) and "Enter puts" not in picture(app)
            await pilot.press("backspace", "backspace", "enter")
            await until(pilot, lambda: app.settled and "4 needed" in picture(app))
            assert written(app, "vessel", "volume") == "620 L"

    run(test())


def test_the_unit_is_that_of_what_stood_there() -> None:
    from fillcalc.case.records import StandingCylinder
    from fillcalc.case.shape_of import leaves_of
    from tui.state.inputs import unit_for

    declared = leaves_of(StandingCylinder)
    assert unit_for(declared["diameter"], "24", "1/2 in", "metric") == "in"
    assert [unit_for(declared["height"], "6", before, "us") for before in ("", "2 m", "6 ft 3 in")] == ["ft", "m", "ft"]
    assert unit_for(declared["wall"], "1/2", "0.1 %", "metric") == "%"
    assert unit_for(declared["ends"], "x", "", "metric") == ""


@pytest.mark.parametrize("typed", ["1/2", "¾", "1 1/2", "1½", "3⁄4"])
def test_a_fraction_of_a_length_is_put_in_no_metric_unit(typed: str) -> None:
    from fillcalc.case.records import StandingCylinder
    from fillcalc.case.shape_of import leaves_of
    from tui.state.inputs import unit_for

    declared = leaves_of(StandingCylinder)
    for key in ("diameter", "height", "wall"):
        assert unit_for(declared[key], typed, "", "metric") == ""
        assert unit_for(declared[key], typed, "12 mm", "us") == unit_for(declared[key], typed, "1.2 m", "us") == ""
        assert unit_for(declared[key], typed, "3/4 in", "metric") == "in"
    assert [unit_for(declared[key], typed, "", "us") for key in ("diameter", "height")] == ["in", "ft"]
    assert unit_for(declared["volume"], typed, "", "metric") == "L"


@pytest.mark.parametrize(("typed", "pause_s", "readings"), few([
    ("1 1/2", SLOW_S, ("1 1/2 in", "1.5 mm")), ("½", 0.0, ("½ in", "0.5 mm")),
    ("1/2", 0.0, ("1/2 in", "0.5 mm")), ("3/4", SLOW_S, ("3/4 in", "0.75 mm"))], 1))
def test_a_fraction_alone_in_a_bore_is_refused_with_its_readings(typed: str, pause_s: float,
                                                                 readings: tuple[str, ...], tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            at_field(app, "vent.bore")
            await pilot.pause()
            await type_over(pilot, typed, pause_s)
            await pilot.press("enter")
            await until(pilot, lambda: app.settled)
            assert written(app, "vent", "bore") == typed and len(app.session.problems) == 1
            said = " ".join(app.session.problems[0].expected.split())
            assert said == "write " + " or ".join(f'"{reading}"' for reading in readings)
            at_field(app, "vent.bore")
            await pilot.pause()
            await type_over(pilot, readings[0])
            await pilot.press("enter")
            await until(pilot, lambda: app.settled)
            assert written(app, "vent", "bore") == readings[0] and not app.session.problems

    run(test())


@pytest.mark.parametrize(("now", "typed", "word"), [
    ("air-driven", "h", "hand"), ("air-driven", "a", "air-driven"), ("hand", "Han", "hand"), ("hand", "10:1", ""),
    ("hand", "hx", ""), ("brass", "b", "bronze"), ("brass", "bb", "bronze"), ("bronze", "b", "brass"),
    ("brass", "br", "brass"), ("brass", "bro", "bronze"), ("", "b", "brass"), ("", "[", "")])
def test_letters_at_a_choice_are_the_beginning_of_one_word(now: str, typed: str, word: str) -> None:
    words = ("air-driven", "brass", "bronze", "hand")
    assert word_begun([(each, each) for each in words], now, typed) == word


@pytest.mark.parametrize(("typed", "answer"), few([
    ("bb", "bronze"), ("b", "brass"), ("h", "hand"), ("bro", "bronze"), ("brx", None)], 2))
def test_letters_in_a_list_are_the_beginning_of_one_word_as_at_a_choice(
        typed: str, answer: str | None, tmp_path: Path) -> None:
    """The only word that begins so is the answer at once; of several Enter takes the one in hand, of none nothing."""
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            given: list[str | None] = []
            words = ("air-driven", "brass", "bronze", "hand")
            app.push_screen(Pick("Which?", [(each, each) for each in words]), given.append)
            await until(pilot, lambda: isinstance(app.screen, Pick))
            await press_all(pilot, typed)
            if not given:
                await pilot.press("enter")
            if answer is None:
                assert not given and 'Nothing begins with "brx"' in picture(app)
                await pilot.press("escape")
            await until(pilot, lambda: given == [answer or ""])

    run(test())


@SLOWLY
def test_a_wall_far_from_what_the_pressure_needs_is_told_at_its_field(pause_s: float, tmp_path: Path) -> None:
    """Ten times too thick is asked, ten times too thin is a danger that stands above; six millimetres are neither."""
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            await app._go_to("vessel.wall")
            await pilot.pause()
            for typed, mark, words in (("60 mm", "? Vessel wall", "11 times the 5.39"), ("6 mm", " Vessel wall", ""),
                                       ("0.6 mm", "? Vessel wall", "DANGER: At 24 bar a wall of")):
                await type_over(pilot, typed, pause_s)
                await until(pilot, lambda: app.settled)
                text = " ".join(picture(app).split())
                assert mark in picture(app) and ("? Vessel wall" in picture(app)) == bool(words)
                assert all(word in text for word in words.split())
            assert "DANGER: At 24 bar a wall of 0.6 mm sees 1.24 GPa" in " ".join(picture(app).split())

    run(test())


@SLOWLY
def test_the_plate_volume_is_held_against_the_dimensions(pause_s: float, tmp_path: Path) -> None:
    """The field shows the volume that follows; another one typed is told beside it; without the height the field of
    the height shows what follows from the volume."""
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            assert "574 L, from the rest" in picture(app)
            at_field(app, "fill.hose.1.length")
            await type_over(pilot, "22 x", pause_s)
            await until(pilot, lambda: "(was 574 L)" in picture(app) or "was 574 L, from the rest" in picture(app))
            await type_over(pilot, "22 m", pause_s)
            await until(pilot, lambda: app.settled)
            at_field(app, "vessel.volume")
            await pilot.pause()
            await press_all(pilot, "5740 L", pause_s)
            await until(pilot, lambda: app.settled)
            assert field(app, "vessel.volume").wrong.startswith("5.74 m³: diameter and height give 574 L")
            at_field(app, "vessel.height")
            await pilot.pause()
            await pilot.press("end", "ctrl+u")
            await until(pilot, lambda: app.settled and app.session.state == "now")
            assert "19 m, from the rest" in picture(app)

    run(test())


@SLOWLY
def test_a_reading_without_a_unit_is_shown_with_it_before_it_is_taken(pause_s: float, tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            await pilot.press("alt+4")
            await press_all(pilot, "1,5; 45", pause_s)
            await until(pilot, lambda: "1,5; 45" in picture(app))
            await pilot.press("enter")
            await until(pilot, lambda: "1,5 bar; 45" in picture(app) and "· The unit is put in" in picture(app))
            assert "! " not in picture(app).partition("│")[2] and not app.screen.query(".problem")
            assert "reading" not in tomllib.loads(app.session.text)
            await pilot.press("enter")
            await until(pilot, lambda: "reading" in tomllib.loads(app.session.text))
            assert written(app, "reading", 0)["pressure"] == "1,5 bar"  # type: ignore[call-overload]
            assert app.said.startswith("Reading 1 is in: 1,5 bar; 45.")
            await until(pilot, lambda: "1.5 bar        45" in picture(app))
            assert "── What the gauge tells" in picture(app) and "── Stage clock" not in picture(app)

    run(test())


@SLOWLY
def test_the_first_field_and_the_last_are_ends(pause_s: float, tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            await pilot.press("up", "up")
            await asyncio.sleep(pause_s)
            assert app.case_form.group_number == 0 and app.focused is field(app, "vessel.shape").entry

    run(test())


def test_the_unit_goes_when_what_was_typed_reached_the_text_before_the_form_heard_of_it(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path), 120, 36) as (app, pilot):
            at_field(app, "fill.hose.1.length")
            await type_over(pilot, "22")
            await until(pilot, lambda: app.settled and "m: Enter" in picture(app))
            field(app, "fill.hose.1.length").entry.value = "22 x"
            app.case_form.flush()
            await until(pilot, lambda: app.settled and "! Fill hose length" in picture(app))
            assert "m: Enter" not in picture(app)

    run(test())
