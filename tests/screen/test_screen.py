"""The screen as a person meets it: type, look, undo, save, quit; by keyboard alone."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from textual.widgets import OptionList

from tests.families import few, thorough
from tests.screen.support import (
    SHELL,
    SLOWLY,
    at_field,
    case_in,
    field,
    fill_time,
    picture,
    run,
    screen,
    type_over,
    until,
)
from tui.app import Fillcalc
from tui.places.field_help import Help
from tui.places.find import commands, worth
from tui.places.place import Place
from tui.state.inputs import groups
from tui.widgets.dialogs import Menu, Pages, Pick
from tui.widgets.form import Form


@SLOWLY
def test_typing_into_a_field_changes_the_answers_and_a_decimal_comma_survives(pause_s: float, tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            before = fill_time(app)
            at_field(app, "fill.hose.1.length")
            await type_over(pilot, "80 m", pause_s)
            await until(pilot, lambda: app.settled)
            assert fill_time(app) != before
            assert 'length = "80 m"' in app.session.text
            assert app.focused is field(app, "fill.hose.1.length").entry
            at_field(app, "tap.pressure")
            await type_over(pilot, "2,5 bar", pause_s)
            await until(pilot, lambda: app.settled)
            assert 'pressure = "2,5 bar"' in app.session.text
            assert app.session.state == "now"
            assert app.session.answered.case.tap.pressure == pytest.approx(2.5e5)  # type: ignore[union-attr]
            assert "2,5 bar" in picture(app)

    run(test())


def test_bad_input_has_its_words_at_the_field_and_the_old_answers_stay_marked(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path), ranges=True) as (app, pilot):
            await until(pilot, lambda: app.session.ranged is not None)
            before = fill_time(app)
            at_field(app, "fill.hose.1.length")
            await type_over(pilot, "22 parsecs")
            await until(pilot, lambda: app.settled)
            lines = picture(app).splitlines()
            row = next(n for n, line in enumerate(lines) if "! Fill hose length" in line)
            assert "parsecs" in " ".join(lines[row + 1:row + 3])
            assert "1 to fix" in lines[0]
            assert "was" in lines[3] and "was" in lines[4] and "was DANGER" in picture(app)
            assert fill_time(app) == before
            await type_over(pilot, "22 m")
            await until(pilot, lambda: app.settled)
            await until(pilot, lambda: "was" not in picture(app).splitlines()[3])
            assert "! Fill hose length" not in picture(app)

    run(test())


@SLOWLY
def test_undo_and_redo_go_to_the_field(pause_s: float, tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            before = fill_time(app)
            at_field(app, "fill.hose.1.length")
            await type_over(pilot, "80 m", pause_s)
            await pilot.press("pagedown", "pagedown")
            await pilot.press("ctrl+z")
            await until(pilot, lambda: app.settled)
            assert app.session.text == SHELL
            assert field(app, "fill.hose.1.length").value == "22 m"
            assert app.focused is field(app, "fill.hose.1.length").entry
            assert fill_time(app) == before
            await pilot.press("ctrl+y")
            await until(pilot, lambda: app.settled)
            assert field(app, "fill.hose.1.length").value == "80 m"

    run(test())


MAIN_ANSWERS = (r"^ Fill .*\d+ min", r"^ Pump-up .*\d+ s.*\d L to .*\d+ strokes", r"^ Trapped air .*\d times",
                r"^ Time on site +\d", r"^ (DANGER|WARNING|CAUTION|NOTICE|For planning)")


@thorough
def test_the_main_answers_are_in_sight_whatever_field_has_the_focus(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path), ranges=True) as (app, pilot):
            await until(pilot, lambda: app.session.ranged is not None)
            await pilot.pause()
            assert re.search(r"^ +likely +low +high$", picture(app), re.MULTILINE)
            assert re.search(r"^ Time on site +(\d h \d\d min *){3}$", picture(app), re.MULTILINE)
            paths = [row.path for group in app.case_form.groups for row in group.rows if not row.does]
            assert len(paths) == len(set(paths))
            seen: set[str] = set()
            for _ in range(300):
                here = app.query_one(Form).focused
                assert here is not None
                if here.row.path + here.row.does in seen:
                    break
                seen.add(here.row.path + here.row.does)
                await until(pilot, lambda label=here.row.label: label in picture(app))  # type: ignore[misc]
                text = picture(app)
                for pattern in MAIN_ANSWERS:
                    assert re.search(pattern, text, re.MULTILINE), (here.row.path, text)
                assert "gauge pressures" in text
                await pilot.press("down")
            assert {path for group in app.case_form.groups for path in (row.path + row.does for row in group.rows
                                                              if row.does != "head")} == seen

    run(test())


def test_what_does_not_fit_is_counted(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path), 120, 36, ranges=True) as (app, pilot):
            await until(pilot, lambda: app.session.ranged is not None)
            await pilot.press("alt+7")
            await pilot.pause()
            place = app.place(7)
            assert isinstance(place, Place)
            lines = place.lines(place.size.width, place.size.height)
            lost = [line for line in lines[place.size.height - 1:] if line.plain.strip()]
            assert f" {len(lost)} more lines: ↓ or PgDn" in picture(app)
            for _ in range(20):
                await pilot.press("pagedown")
            text = picture(app)
            assert "more line" not in text and lines[-1].plain.strip() in text and "↑ or PgUp goes back" in text
            app.query_one(Help).show("Long", [("", "word " * 400)])
            await until(pilot, lambda: "more lines on a larger screen" in picture(app))

    run(test())


def test_a_choice_swaps_the_fields_and_a_hose_is_added_and_taken_out_by_key(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            at_field(app, "pump.kind")
            await pilot.press("h")
            await until(pilot, lambda: app.settled and "pump.stroke_rate" in app.query_one(Form).fields)
            assert "pump.ratio" not in app.query_one(Form).fields
            assert app.focused is field(app, "pump.kind").entry
            await pilot.press("enter")
            await until(pilot, lambda: isinstance(app.screen, Pick))
            await pilot.press("a")
            await until(pilot, lambda: app.settled and "pump.ratio" in app.query_one(Form).fields)
            await pilot.press("1", "0", "enter")
            await until(pilot, lambda: 'begins with "10"' in app.said and "next field, Pump ratio:" in app.said)
            assert app.session.text == SHELL and app.screen is app.main
            await app.case_form.go_to("fill.hose")
            at_field(app, "fill.hoseadd")
            await pilot.press("enter")
            await until(pilot, lambda: app.settled and "fill.hose.2.length" in app.query_one(Form).fields)
            assert app.focused is field(app, "fill.hose.2.length").entry
            assert app.session.state == "now"
            at_field(app, "fill.hose.2drop")
            await pilot.press("enter")
            await until(pilot, lambda: app.settled and "fill.hose.2.length" not in app.query_one(Form).fields)
            assert app.session.state == "now"

    run(test())


def test_the_menu_and_the_palette_have_every_action_and_a_letter_does_it(tmp_path: Path) -> None:
    from tui.state.actions import ACTIONS, GROUPS, PLACES, of_group

    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            await pilot.press("escape")
            await until(pilot, lambda: isinstance(app.screen, Menu))
            for letter, title in GROUPS.items():
                assert re.search(rf" {letter.upper()} {title}", picture(app))
                await pilot.press(letter)
                await pilot.pause()
                for action in of_group(letter):
                    assert f" {action.letter[1].upper()} {action.title}" in picture(app), action
                await pilot.press("escape")
                await pilot.pause()
            for number, title in enumerate(PLACES, 1):
                assert f" {number} {title}" in picture(app)
            await pilot.press("f", "r")
            await until(pilot, lambda: isinstance(app.screen, Pages))
            assert "Estimate, not a test record" in picture(app)
            await pilot.press("escape")
            await until(pilot, lambda: len(app.screen_stack) == 1)
            titles = [command.title for command in app.get_system_commands(app.screen)]
            assert {a.title for a in ACTIONS if a.name != "find"} <= set(titles)
            await pilot.press("ctrl+p", *"roughness")
            await until(pilot, lambda: bool(app.screen.query(OptionList).first(OptionList).option_count))
            await pilot.press("enter")
            await until(pilot, lambda: "fill.hose.1.roughness" in app.query_one(Form).fields)
            await until(pilot, lambda: app.focused is field(app, "fill.hose.1.roughness").entry)

    run(test())


@pytest.mark.parametrize(("typed", "first"), [
    ("wall", "Vessel wall"), ("wal", "Vessel wall"), ("wall ex", "Wall expansion"), ("pump", "Pump"), ("sav", "Save"),
    ("bore", "Fill hose bore"), ("pressure lim", "Pressure limit"), ("air", "Trapped air"), ("tap", "Tap pressure"),
    ("nitrogen", "Nitrogen"), ("stainless", "Stainless steel"), ("length", "Fill hose length"),
    ("roughness", "Hose roughness"), ("mail", "Copy the quote"), ("volumes", "Vessel volume"), ("zzz", "")])
def test_last_words_say_what_is_looked_for_and_the_main_inputs_come_first(typed: str, first: str) -> None:
    listed = list(commands(groups(tomllib.loads(SHELL)), print, print, over=False))
    counts = [worth(each, number, typed, lambda _: 0.0) for number, each in enumerate(listed)]
    best = listed[counts.index(max(counts))].title if max(counts) else ""
    assert best.partition("  (")[0] == first


def test_every_action_has_a_key_that_terminals_send_besides_its_letters() -> None:
    """Of the keys that do it at once one is no F-key, but for colours and what is asked seldom; none is what a terminal
    keeps (but for Ctrl+S, which the screen takes) or sends for another, or opens a group."""
    from textual._ansi_sequences import ANSI_SEQUENCES_KEYS

    from tui.state.actions import ACTIONS, GROUPS

    taken = {f"ctrl+{letter}" for letter in "imjhcsqz"}
    for action in ACTIONS:
        plain = [key for key in action.keys if key not in taken and not re.fullmatch(r"f\d+", key)]
        assert plain or action.name in (
            "look", "save", "rules", "within", "use_air", "record_strokes", "record_leak"), action
        for key in action.keys:
            assert not key.startswith("alt+") or f"\x1b{key[-1]}" not in ANSI_SEQUENCES_KEYS, action
            assert key not in {f"alt+{letter}" for letter in GROUPS}, action
        assert action.group in GROUPS and len(action.letter) == 2
    assert len({a.letter for a in ACTIONS}) == len(ACTIONS)
    every = [key for action in ACTIONS for key in action.keys]
    assert len(every) == len(set(every))


def test_hostile_text_comes_through_the_one_door(tmp_path: Path) -> None:
    hostile = SHELL.replace("Cooler shell, Fenmoor creamery", "\\u001b[31m[bold]\\u202Ecase")

    async def test() -> None:
        async with screen(case_in(tmp_path, hostile)) as (app, _):
            text = picture(app)
            assert "<U+001B>[31m[bold]<U+202E>case" in text
            assert "\x1b" not in text and "\u202e" not in text

    run(test())


def test_a_file_that_is_no_toml_says_so_and_stays_whole(tmp_path: Path) -> None:
    path = case_in(tmp_path, "format = 1\n[vessel\n")

    async def test() -> None:
        async with screen(path) as (app, pilot):
            assert "to fix" in picture(app)
            at_field(app, "tap.pressure")
            await type_over(pilot, "3 bar")
            await pilot.pause(0.3)
            assert app.session.text == "format = 1\n[vessel\n"

    run(test())


def test_too_small_a_terminal_says_what_it_needs_and_comes_back(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            at_field(app, "vent.bore")
            for size in ((60, 20), (1, 1), (79, 24), (80, 23)):
                await pilot.resize_terminal(*size)
                await pilot.pause()
            assert "80 × 24" in picture(app)
            await pilot.resize_terminal(80, 24)
            await pilot.pause()
            assert "Fill" in picture(app)
            assert app.focused is field(app, "vent.bore").entry
            for width, height in ((120, 36), (80, 24)):
                await pilot.resize_terminal(width, height)
                await pilot.pause()
                assert picture(app).splitlines()[0].endswith("gauge pressures")

    run(test())


def reversed_words(app: Fillcalc) -> list[str]:
    """What stands in reversed letters, line by line."""
    lines = ("".join(segment.text for segment in strip if segment.style is not None and segment.style.reverse)
             for strip in app.screen._compositor.render_strips())
    return [line for line in lines if line.strip()]


def test_what_a_find_offers_stands_out_from_its_help_without_colours(tmp_path: Path,
                                                                       monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")

    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            await pilot.press("ctrl+p", *"wall")
            await until(pilot, lambda: "linear thermal" in picture(app))
            bold = " ".join(segment.text for strip in app.screen._compositor.render_strips() for segment in strip
                            if segment.style is not None and segment.style.bold)
            assert "expansion  (Vessel)" in bold and "linear thermal" not in bold

    run(test())


@pytest.mark.parametrize("setting", few(["NO_COLOR", "sixteen"], 1))
def test_few_or_no_colours(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, setting: str) -> None:
    if setting == "NO_COLOR":
        monkeypatch.setenv("NO_COLOR", "1")
    else:
        monkeypatch.setenv("TERM", "xterm-16color")
        monkeypatch.delenv("COLORTERM", raising=False)

    async def test() -> None:
        async with screen(case_in(tmp_path), 120, 36, answered=False) as (app, pilot):
            await until(pilot, lambda: app.settled)
            at_field(app, "fill.hose.1.length")
            await type_over(pilot, "22 x")
            await until(pilot, lambda: app.settled and "! Fill hose length" in picture(app))
            styles = [segment.style for strip in app.screen._compositor.render_strips() for segment in strip
                      if segment.style is not None]
            for style in styles:
                for colour in (style.color, style.bgcolor):
                    assert colour is None or not colour.is_default or colour.triplet is None
                    assert colour is None or colour.triplet is None or setting == "never"
            assert any("Main inputs" in words for words in reversed_words(app))
            assert any("DANGER" in words for words in reversed_words(app))
            await pilot.press("escape")
            await until(pilot, lambda: isinstance(app.screen, Menu))
            await pilot.press("down")
            await pilot.pause()
            entries = [words for line in reversed_words(app) if len((words := line.split()[:2])[0]) == 1]
            assert entries == [["E", "Edit"]]

    run(test())


def test_us_units_change_answers_and_words(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path), ranges=True) as (app, pilot):
            await until(pilot, lambda: app.session.ranged is not None)
            await pilot.press("f8")
            await until(pilot, lambda: "US gal" in picture(app))
            text = picture(app)
            assert "psi" in text and "Hose bib pressure" in text and "Fill hose ID" in text
            at_field(app, "test.pressure")
            await until(pilot, lambda: "348 psi" in picture(app))  # the example beside the field

    run(test())


@thorough
def test_a_stroke_count_is_in_the_unit_its_label_names(tmp_path: Path) -> None:
    """The number alone is what the label says, in every system of units; another volume is named with its unit."""
    from fillcalc.tree import at

    async def test() -> None:
        text = re.sub(r"(?m)^stroke = .*\n", "", SHELL)
        async with screen(case_in(tmp_path, text), units="us") as (app, pilot):
            def read() -> float:
                answered = app.session.answered
                if not app.settled or app.session.state != "now" or answered is None or answered.case is None:
                    return 0.0
                return at(answered.case, "pump.strokes_per_litre") or 0.0

            await app.case_form.go_to("pump.strokes_per_litre")
            row = field(app, "pump.strokes_per_litre")
            assert row.row.label == "Strokes per litre"
            for typed, per_m3 in (("344", 344e3), ("344 /gal", 344 / 3.785411784e-3), ("344 /L", 344e3)):
                await type_over(pilot, typed)
                await until(pilot, lambda per_m3=per_m3: read() == pytest.approx(per_m3))  # type: ignore[misc]

    run(test())


@pytest.mark.parametrize("units", few(["metric", "us"], 1))
def test_a_bare_gallon_is_a_us_one_on_a_screen_in_us_units_and_refused_on_another(tmp_path: Path, units: str) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path), units=units) as (app, pilot):
            await app.case_form.go_to("fill.run_to_waste")
            await type_over(pilot, "0.20 gal")
            if units == "us":
                await until(pilot, lambda: 'run_to_waste = "0.20 US gal"' in app.session.text)
                await until(pilot, lambda: app.settled and app.session.state == "now")
            else:
                await until(pilot, lambda: app.settled and bool(field(app, "fill.run_to_waste").wrong))
                wrong = field(app, "fill.run_to_waste").wrong
                assert "0.20 US gal" in wrong and "0.20 imp gal" in wrong

    run(test())


def test_a_form_that_was_just_made_changes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []
    monkeypatch.setattr("tui.state.session.Session.put", lambda _, path, value: bool(asked.append(path)))

    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            for _ in range(3):
                await pilot.press("pagedown")
            await pilot.pause(0.3)
            assert asked == [] and not app.case_form.typing

    run(test())


def test_what_is_typed_and_taken_back_before_it_was_read_is_no_change(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            at_field(app, "fill.hose.1.length")
            await pilot.pause()
            before = app.session.text
            await pilot.press("end", "x", "backspace")
            await until(pilot, lambda: app.settled)
            assert app.session.text == before and app.session.saved

    run(test())
