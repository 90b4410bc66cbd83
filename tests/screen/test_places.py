"""The places: opened by keys and by clicks, moved by keys, and what stands in each."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from textual.content import Content
from textual.pilot import Pilot

from fillcalc.present.lines import Line
from tests.families import few, thorough
from tests.screen.support import (
    SHELL,
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
from tui.places.hold import Hold
from tui.places.moving import Moving
from tui.places.place import Place, wrapped
from tui.state.actions import PLACES
from tui.state.drafts import Drafts
from tui.state.opening import fresh
from tui.widgets.fitting import in_rows
from tui.widgets.head import PlaceBar
from tui.widgets.sheet import Title, top_for


async def ranged(app: Fillcalc, pilot: Pilot[Any]) -> None:
    await until(pilot, lambda: app.session.ranged is not None and app.session.ranged.number == app.session.number)


def body(app: Fillcalc) -> str:
    """What stands below the strip of answers."""
    return "\n".join(picture(app).splitlines()[9:-1])


@pytest.mark.parametrize(("width", "height"), few([(80, 24), (120, 36), (180, 50)], 1))
def test_each_place_is_opened_by_key_and_by_click_and_no_line_of_it_is_lost(width: int, height: int,
                                                                             tmp_path: Path) -> None:
    """All lines come by in turn; the strip and the title stay."""
    async def test() -> None:
        async with screen(case_in(tmp_path), width, height, ranges=True) as (app, pilot):
            await ranged(app, pilot)
            top = [line for n, line in enumerate(picture(app).splitlines()[:9]) if n != 1]
            for number, name in enumerate(PLACES, 1):
                start = picture(app).splitlines()[1].index(f"{number} {name}")
                await pilot.click(PlaceBar, offset=(start, 0))
                await pilot.pause()
                assert f"[{number} {name}" in picture(app)
                await pilot.press("alt+2", f"alt+{number}")
                await pilot.pause()
                assert f"[{number} {name}" in picture(app)
                assert [line for n, line in enumerate(picture(app).splitlines()[:9]) if n != 1] == top
                place = app.place(number)
                if not isinstance(place, Place) or place.size.width < 40:
                    continue
                lines = {line.plain.rstrip() for line in place.lines(place.size.width, place.size.height)}
                seen = set()
                for _ in range(60):
                    seen |= {line.plain.rstrip() for line in place.render().split("\n")}
                    before = place.top
                    place.action_page(1)
                    if place.top == before:
                        break
                assert lines <= seen

    run(test())


def test_left_and_right_step_through_the_history(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path), 120, 36, ranges=True) as (app, pilot):
            await ranged(app, pilot)
            for number, first, last in ((2, "after 0 s", "full"), (3, "after 0 of", r"after (\d+) of \1 strokes")):
                await pilot.press(f"alt+{number}")
                place = app.place(number)
                assert isinstance(place, Moving)
                await pilot.press("home")
                await pilot.pause()
                assert first in body(app)
                seen = [body(app)]
                for _ in range(60):
                    await pilot.press("right")
                    await pilot.pause()
                    if body(app) == seen[-1]:
                        break
                    seen.append(body(app))
                assert len(seen) == place.steps + 1 > 5 and len(set(seen)) == len(seen) and re.search(last, seen[-1])
                await pilot.press("left")
                await pilot.pause()
                assert body(app) == seen[-2]
                await pilot.press("end")
                await pilot.pause()
                assert body(app) == seen[-1]
                assert app.session.text == SHELL

    run(test())


@SLOWLY
def test_one_edits_beside_a_place_and_keys_are_the_form_s_again_after_tab(pause_s: float, tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path), 120, 36) as (app, pilot):
            at_field(app, "fill.hose.1.length")
            await pilot.press("alt+2")
            before = body(app)
            await press_all(pilot, "99", pause_s)  # letters typed in a place go nowhere
            assert app.session.text == SHELL and field(app, "fill.hose.1.length").value == "22 m"
            assert "next group" not in picture(app)  # PgDn turns the page of the place
            await pilot.press("tab")
            await until(pilot, lambda: "PgDn next group" in picture(app))
            await press_all(pilot, "80 m", pause_s)
            await until(pilot, lambda: app.settled and 'length = "80 m"' in app.session.text)
            await until(pilot, lambda: "── Fill" in picture(app) and body(app) != before)
            await pilot.press("alt+1")
            assert app.focused is field(app, "fill.hose.1.length").entry

    run(test())


@thorough
def test_at_80_by_24_one_twice_shows_the_picture_and_tab_the_form(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path), ranges=True) as (app, pilot):
            at_field(app, "vent.bore")
            await pilot.press("alt+1")
            await until(pilot, lambda: "The set-up:" in picture(app) and "Vent bore" not in body(app))
            await pilot.press("ctrl+p", *"roughness", "enter")  # an input that is looked for comes into sight
            await until(pilot, lambda: app.focused is not None and "Roughness" in body(app))
            await pilot.press("alt+3", "alt+1")
            await until(pilot, lambda: "Roughness" in body(app))
            await pilot.press("ctrl+p")
            await press_all(pilot, "pump flow")  # words in another order than they stand
            await until(pilot, lambda: "Flow at no load" in picture(app))
            await pilot.press("escape", "ctrl+p", *"nitrogen", "enter")
            await until(pilot, lambda: 'medium = "nitrogen"' in app.session.text)

    run(test())


@thorough
def test_rows_of_the_form_that_do_not_fit_are_counted(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            await until(pilot, lambda: re.search(r" \d+ more rows: ↓", body(app)) is not None)
            said = re.search(r" (\d+) more rows: ↓", body(app))
            assert said is not None
            lines = [line[17:] for line in body(app).splitlines()]  # beside the groups
            shown = sum(any(line.startswith(f"{row.label} ") for line in lines) for row in app.case_form.groups[0].rows)
            assert shown + int(said[1]) == len(app.case_form.groups[0].rows)
            await pilot.press("pageup")
            await pilot.press("pagedown")
            at_field(app, app.case_form.groups[0].rows[-1].path)
            await until(pilot, lambda: "↑ more above" in body(app))
            await pilot.press("home", "pageup", "pagedown")
            at_field(app, "test.pressure")
            await type_over(pilot, "1,200")
            await until(pilot, lambda: app.settled and "can mean" in body(app) and "either" in body(app))

    run(test())


def test_what_must_be_given_in_a_new_case_is_in_sight_at_once_and_every_field_when_one_comes_to_it() -> None:
    async def test() -> None:
        app = Fillcalc(fresh(Drafts()), "metric", look="dark")
        async with app.run_test(size=(80, 24)) as pilot:
            await until(pilot, lambda: app.settled and "Pump ratio" in body(app))
            form = app.case_form.form
            for path in ("vessel.volume", "fill.hose.1.length", "fill.hose.1.bore", "tap.pressure", "pump.ratio",
                         "test.pressure"):
                assert form.region.contains_region(form.fields[path].region), path
            await pilot.press("pagedown")
            await until(pilot, lambda: app.case_form.group_number == 1)
            await pilot.press("up")  # to the last field of the group before
            await until(pilot, lambda: app.case_form.group_number == 0)
            here = form.focused
            assert here is form.stops[-1]
            await until(pilot, lambda: form.region.contains_region(here.region))
        app.answering.stop()
        app.autosave.end()

    run(test())


def test_a_number_is_not_parted_from_its_unit() -> None:
    text = "about 4 h 05 min on site, 12.7 mm of bore, 1.5 US gal and 18.8 L/min at 24 bar; 3 m."
    for width in range(12, 60):
        lines = wrapped(text, width)
        assert " ".join(lines) == text and max(map(len, lines)) <= max(width, 12)
        assert not any(re.search(r"\d$", line) for line in lines), lines
        assert [row.plain for row in in_rows(Content(text), width)] == lines


def test_no_figure_of_a_place_is_cut_and_what_stands_beside_breaks_between_its_parts(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, _):
            place = app.query_one(Hold)
            long = "Leak that loses one division in the hold, as free gas"
            lines = (Line(long, "6.21 L/min"), Line("Loss", "43 %", "", ("the tap", "the hose 38 %", "the jet 3 %")))
            for width in range(44, 90):
                rows = [row.plain for row in place.figures(lines, width)]
                assert max(map(len, rows)) <= width, width
                text = "\n".join(rows)
                assert "6.21 L/min" in text and "the hose 38 %" in text and "the jet 3 %" in text, width
                assert all(word in text.replace("\n", " ").split() for word in long.split()), width

    run(test())


@SLOWLY
def test_a_place_begins_at_its_top_and_home_goes_there(pause_s: float, tmp_path: Path) -> None:
    """Another case, and a place that is opened anew, show what comes first; a step of the moment shows the picture."""
    async def test() -> None:
        case_in(tmp_path, SHELL.replace("1.9 m", "2.5 m"), "second.toml")
        async with screen(case_in(tmp_path), ranges=True) as (app, pilot):
            await ranged(app, pilot)
            await pilot.press("alt+7")
            first = body(app)
            await pilot.press("pagedown", "pagedown")
            await pilot.pause(pause_s)
            assert body(app) != first
            await pilot.press("home")
            await pilot.pause()
            assert body(app) == first
            await pilot.press("pagedown", "alt+3", "pagedown", "pagedown")
            await pilot.pause(pause_s)
            assert "another moment" not in body(app)
            await pilot.press("home")
            await pilot.pause()
            assert "another moment" in body(app)
            await pilot.press("alt+7")
            await pilot.pause()
            assert body(app) == first
            await pilot.press("pagedown", "ctrl+o")
            await until(pilot, lambda: "Open a case" in picture(app))
            await press_all(pilot, "second", pause_s)
            await pilot.press("enter")
            await until(pilot, lambda: app.session.name == "second.toml" and app.settled)
            place = app.place(7)
            assert isinstance(place, Place) and place.top == 0

    run(test())


@SLOWLY
def test_a_new_case_begins_in_the_form_wherever_one_was(pause_s: float, tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            await pilot.press("alt+6", "ctrl+n")
            await until(pilot, lambda: "must be given" in picture(app))
            await press_all(pilot, "570 L", pause_s)
            await until(pilot, lambda: app.settled)
            assert 'volume = "570 L"' in app.session.text and "[1 Set-up]" in picture(app)

    run(test())


@pytest.mark.parametrize(("title", "top", "height", "found"), [
    ("B", 0, 10, 0), ("B", 0, 8, 0), ("B", 0, 7, 3), ("B", 5, 7, 3), ("B", 3, 3, 3), ("C", 0, 9, 8), ("D", 2, 5, 2)])
def test_a_part_is_brought_into_sight_only_where_it_is_not(title: str, top: int, height: int, found: int) -> None:
    parts = ("A", ["a", ""]), ("B", ["── A", "b", "b", ""]), ("C", ["c"])
    lines = [line for part, rest in parts for line in (Title(Content("── was: A, B"), part), *map(Content, rest))]
    assert top_for(lines, title, top, height) == found
