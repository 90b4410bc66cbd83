"""Coming to a field: what stands in it is chosen, so that typing replaces it, however the keys arrive."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from rich.style import Style
from textual import events

from tests.families import few, thorough
from tests.screen.support import SHELL, at_field, case_in, field, press_all, run, screen, until
from tui.widgets.dialogs import Menu
from tui.widgets.form import MOST_TYPED

LENGTH = "fill.hose.1.length"


def in_one_burst(app: Any, *keys: str) -> None:
    for key in keys:
        app.post_message(events.Key(key, key if len(key) == 1 else None))


def test_a_burst_of_a_key_and_a_value_replaces_what_stood_there_as_one_step(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            for key in ("tab", "down", "enter"):
                at_field(app, "tap.open_flow")
                await pilot.pause()
                in_one_burst(app, key, "8", "0", " ", "m", key, "1", "9", " ", "m", "m", "shift+tab")
                await until(pilot, lambda: app.settled and 'bore = "19 mm"' in app.session.text)
                assert 'length = "80 m"' in app.session.text, key
                await until(pilot, lambda: field(app, LENGTH).entry.selection == (0, 4))
                await pilot.press("ctrl+z", "ctrl+z")
                await until(pilot, lambda: app.settled)
                assert app.session.text == SHELL, key

    run(test())


EDITING = ((("left", "9"), "922 m"), (("right", "9"), "22 m9"), (("home", "9"), "922 m"), (("end", "backspace"), "22 "),
           (("delete",), ""), (("backspace",), ""))


@thorough
def test_an_editing_key_lets_go_of_what_is_chosen(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            for keys, value in EDITING:
                at_field(app, "tap.open_flow")
                await pilot.press("down", *keys)
                assert field(app, LENGTH).value == value, keys
                await app.case_form.catch_up()
                await pilot.press("ctrl+z")
                await until(pilot, lambda: app.settled and field(app, LENGTH).value == "22 m")

    run(test())


def test_a_group_turned_to_and_an_input_gone_to_are_chosen_as_well(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            await app.case_form.go_to(LENGTH)
            await press_all(pilot, "80 m")
            assert field(app, LENGTH).value == "80 m"
            await app.case_form.catch_up()
            await app.case_form.go_to(LENGTH)  # one is there already
            await press_all(pilot, "m")
            assert field(app, LENGTH).value == "80 mm"
            await pilot.press("pagedown")
            entry = app.case_form.form.stops[0].entry
            await pilot.pause()
            assert app.focused is entry and entry.selection == (0, len(entry.value))  # type: ignore[union-attr]

    run(test())


def test_a_paste_replaces_what_is_chosen_and_one_too_long_does_no_harm(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            at_field(app, "tap.open_flow")
            await pilot.press("down")
            app.post_message(events.Paste("80 m\nand more"))
            await until(pilot, lambda: field(app, LENGTH).value == "80 m" and app.settled)
            await pilot.press("up", "down")
            app.post_message(events.Paste("9" * 1_000_000))
            await pilot.pause(0.3)
            assert len(field(app, LENGTH).value) <= MOST_TYPED
            await until(pilot, lambda: app.settled)
            assert len(app.session.text) < len(SHELL) + 1000

    run(test())


@thorough
def test_back_from_a_question_typing_goes_on(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            at_field(app, "tap.open_flow")
            await pilot.press("down")
            await press_all(pilot, "8 m")
            await pilot.press("left", "left", "escape")
            await until(pilot, lambda: isinstance(app.screen, Menu))
            await pilot.press("escape")
            await until(pilot, lambda: len(app.screen_stack) == 1)
            await pilot.press("0")
            assert field(app, LENGTH).value == "80 m"

    run(test())


@thorough
def test_a_field_made_anew_while_one_types_lets_typing_go_on(tmp_path: Path) -> None:
    """Another kind of pump brings other rows while the field below it is typed into already."""

    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            at_field(app, "test.pressure")
            await pilot.press("down", "up", "3")
            app.session.put("pump.kind", "hand")
            in_one_burst(app, "0")
            await until(pilot, lambda: app.settled and "pump.stroke_rate" in app.case_form.form.fields)
            await press_all(pilot, " bar")
            await until(pilot, lambda: app.settled)
            assert field(app, "test.pressure").value == "30 bar"

    run(test())


def shine(style: Style) -> float:
    """How bright its background is, 0 to 1, as contrast is reckoned."""
    assert style.bgcolor is not None and style.bgcolor.triplet is not None
    parts = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
             for part in style.bgcolor.triplet.normalized)
    return sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), parts, strict=True))


@pytest.mark.parametrize("look", few(["NO_COLOR", "sixteen", "light", "dark"], 2))
def test_what_is_chosen_is_seen(look: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    if look == "NO_COLOR":
        monkeypatch.setenv("NO_COLOR", "1")
    if look == "sixteen":
        monkeypatch.setenv("TERM", "xterm-16color")
        monkeypatch.delenv("COLORTERM", raising=False)
    if look == "light":
        monkeypatch.setenv("COLORFGBG", "0;15")

    async def test() -> None:
        async with screen(case_in(tmp_path), answered=False) as (app, pilot):
            await until(pilot, lambda: app.settled)

            def style() -> Style:
                return app.screen.get_style_at(*field(app, LENGTH).entry.region.offset)

            at_field(app, "tap.open_flow")
            await pilot.press("down")
            await pilot.pause()
            chosen = style()
            await pilot.press("end")
            await pilot.pause()
            plain = style()
            if look in ("dark", "light"):
                bright, faint = sorted((shine(chosen), shine(plain)), reverse=True)
                assert (bright + 0.05) / (faint + 0.05) >= 3.0
            else:
                assert chosen.reverse and not plain.reverse

    run(test())
