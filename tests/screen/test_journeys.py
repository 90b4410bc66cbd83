"""What a technician does from start to end, by keyboard alone."""

from __future__ import annotations

import re
import shutil
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot

import cases
from tests.families import few, thorough
from tests.screen.support import SHELL, case_in, picture, press_all, run, screen, type_over, until
from tui.app import Fillcalc
from tui.places.field_help import Help
from tui.places.reading_entry import count_doubt, gas_doubt, parts_of
from tui.state.actions import PLACES
from tui.state.drafts import Drafts
from tui.widgets.dialogs import Ask, Menu, Pages, Pick, Several
from tui.widgets.form import Form

ROOT = Path(__file__).parents[2]


def test_first_look(tmp_path: Path) -> None:
    """Open, read the main answers, look at the charts, read the report, leave."""

    async def test() -> None:
        async with screen(case_in(tmp_path), ranges=True) as (app, pilot):
            await until(pilot, lambda: app.session.ranged is not None)
            text = picture(app)
            for words in ("Fill", "Pump-up", "Trapped air", "Time on site", "strokes", "times"):
                assert words in text
            strip = picture(app).splitlines()[2:9]
            for number, name in enumerate(PLACES, 1):
                await pilot.press("escape")
                await until(pilot, lambda: isinstance(app.screen, Menu))
                await pilot.press(str(number))
                await until(pilot, lambda: len(app.screen_stack) == 1)
                lines = picture(app).splitlines()
                assert f"[{number} {name}" in lines[1] and lines[2:9] == strip
                assert "Cooler shell" in lines[0]
            await pilot.press("ctrl+t")
            await until(pilot, lambda: "[1 Set-up]" in picture(app))
            await pilot.press("ctrl+r")
            await until(pilot, lambda: isinstance(app.screen, Pages))
            await pilot.press("escape")
            await pilot.press("ctrl+q")
            await until(pilot, lambda: not app.is_running)

    run(test())


def test_change_a_hose_and_compare(tmp_path: Path) -> None:
    async def test() -> None:
        shutil.copy(Path(cases.__file__).parent / "kit.toml", tmp_path / "kit.toml")
        async with screen(case_in(tmp_path), ranges=True) as (app, pilot):
            await until(pilot, lambda: app.session.ranged is not None)
            await pilot.press("ctrl+b")
            await pilot.press("alt+h")
            await until(pilot, lambda: isinstance(app.screen, Pick))
            await pilot.press("down", "down", "enter")
            await until(pilot, lambda: app.settled and 'bore = "19 mm"' in app.session.text)
            await until(pilot, lambda: "less, better" in picture(app))
            lines = picture(app).splitlines()
            assert re.search(r"Kept +Now +Difference", lines[2])
            assert re.search(r"^ Fill +\d+ min +\d\S* min +\d\S* min less, better$", lines[3])
            assert re.search(r"^ Pump-up .* the same$", lines[4])
            await pilot.press("alt+v")
            await until(pilot, lambda: isinstance(app.screen, Pages))
            assert "fill hose bore 12.7 mm → 19 mm" in picture(app)
            await pilot.press("escape")
            await pilot.press("ctrl+z")
            await until(pilot, lambda: app.settled and app.session.text == SHELL)
            await pilot.press("alt+w")
            await until(pilot, lambda: "Kept " not in picture(app))

    run(test())


def test_enter_three_readings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    now = 1000.0
    monkeypatch.setattr("tui.places.reading_entry.now_s", lambda: now)

    async def test() -> None:
        nonlocal now
        async with screen(case_in(tmp_path), 120, 36, ranges=True) as (app, pilot):
            for typed, moment in (("6 bar; 39", 1000.0), ("12 bar 47", 1020.4), ("18 bar, 54 strokes", 1075.0)):
                now = moment
                await enter_reading(app, pilot, typed)
            assert app.session.state == "now"
            case = app.session.answered.case  # type: ignore[union-attr]
            assert [one.time for one in case.reading] == [0.0, 20.0, 75.0]  # type: ignore[union-attr]
            await until(pilot, lambda: app.session.ranged is not None
                        and app.session.ranged.number == app.session.number)
            text = picture(app)
            assert "Trapped air: " in text and "Still to pump: " in text
            assert "Clock: 1 min 15 s since the first reading." in text
            now = 1135.0
            await until(pilot, lambda: "Clock: 2 min 15 s since the first reading." in picture(app))
            tells = app.session.answered.readings.share  # type: ignore[union-attr]
            assert f" Trapped air: {100.0 * tells.likely:.2f} %" in text
            await app.case_form.go_to("reading.air")
            await pilot.press("enter")
            await until(pilot, lambda: "air now" in picture(app) and app.settled)
            estimate, taken = app.session.answered.estimate, app.session.answered.case  # type: ignore[union-attr]
            assert estimate.trapped_air_m3 == pytest.approx(                            # type: ignore[union-attr]
                app.session.answered.readings.trapped_air_m3.likely, rel=5e-3)          # type: ignore[union-attr]
            asked = taken.ranges["trapped_air.amount"]                                  # type: ignore[union-attr]
            assert (asked.low, asked.high) == pytest.approx((tells.low, tells.high), rel=5e-3)
            await pilot.press("ctrl+z")
            await until(pilot, lambda: app.settled and 'amount = "0.4 %"' in app.session.text)
            await pilot.press("ctrl+r")
            await until(pilot, lambda: isinstance(app.screen, Pages))
            await pilot.press("end")

    run(test())


def test_a_hold_by_the_clock(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    now = 50.0
    monkeypatch.setattr("tui.places.reading_entry.now_s", lambda: now)

    async def test() -> None:
        nonlocal now
        async with screen(case_in(tmp_path)) as (app, pilot):
            await enter_reading(app, pilot, "12 bar; 47")
            await enter_reading(app, pilot, "24 bar; 60; 15 degC")
            now += 600.0
            await enter_reading(app, pilot, "23.5 bar; 60; 15 degC")
            text = " ".join(picture(app).split())
            assert "fell by" in text
            held = app.session.answered.readings.hold  # type: ignore[union-attr]
            assert held is not None and held.temperature_read
            assert (held.time_s, held.change_pa) == (600.0, pytest.approx(-0.5e5))
            await enter_reading(app, pilot, "23 bar; 60; 20 min")
            assert app.session.answered.case.reading[-1].time == 1200.0  # type: ignore[union-attr]

    run(test())


def test_the_help_beside_the_form_tells_of_the_reading_that_came_last(tmp_path: Path) -> None:
    """Also where the form shows the readings and the keys are for the place: it never says to pump on above a limit."""
    async def test() -> None:
        async with screen(case_in(tmp_path), 120, 36) as (app, pilot):
            await pilot.press("alt+4")
            await enter_reading(app, pilot, "6 bar; 34")
            await enter_reading(app, pilot, "12 bar; 47")
            await app.case_form.go_to("reading.1.pressure")
            app.case_form.come_back()
            await until(pilot, lambda: picture(app).count("Still to pump") == 2)
            await pilot.press("alt+4")
            await enter_reading(app, pilot, "36 bar; 80")
            await until(pilot, lambda: "above the pressure limit" in picture(app))
            assert not re.search(r"Still to pump: +\d", picture(app))

    run(test())


@thorough
def test_the_clock_of_the_readings_goes_on_after_a_restart(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    boot, site = [50.0], [datetime(2026, 11, 20, 11, 58, 20)]
    monkeypatch.setattr("tui.places.reading_entry.now_s", lambda: boot[0])
    monkeypatch.setattr("tui.places.reading_entry.site_time", lambda: site[0])

    async def test() -> None:
        path = case_in(tmp_path)
        async with screen(path) as (app, pilot):
            await enter_reading(app, pilot, "12 bar; 47")
            boot[0] += 60.0
            site[0] -= timedelta(hours=1)  # the wall clock is put back: that of the readings is not
            await enter_reading(app, pilot, "24 bar; 60")
            site[0] += timedelta(hours=1, seconds=60)
            await pilot.press("ctrl+s")
            await until(pilot, lambda: app.session.saved)
        boot[0] = 7.0
        site[0] += timedelta(minutes=9)
        async with screen(path) as (app, pilot):
            await pilot.press("alt+4")
            await until(pilot, lambda: "10 min 00 s since the first reading" in picture(app))
            boot[0] += 30.0
            await enter_reading(app, pilot, "23.5 bar")
            case = app.session.answered.case  # type: ignore[union-attr]
            assert [one.time for one in case.reading] == [0.0, 60.0, 630.0]  # type: ignore[union-attr]
        site[0] += timedelta(days=7)
        async with screen(path) as (app, pilot):
            await pilot.press("alt+4")
            await until(pilot, lambda: "it does not know of these readings" in picture(app))

    run(test())


async def enter_reading(app: Fillcalc, pilot: Pilot[Any], typed: str) -> None:
    await pilot.press("alt+i")
    await until(pilot, lambda: isinstance(app.screen, Ask))
    app.screen.query_one("Input").value = typed  # type: ignore[attr-defined]
    await pilot.press("enter")
    await until(pilot, lambda: len(app.screen_stack) == 1 and app.settled)


def test_test_pressure_says_stop_and_the_hold_needs_no_strokes(tmp_path: Path,
                                                                monkeypatch: pytest.MonkeyPatch) -> None:
    now = 0.0
    monkeypatch.setattr("tui.places.reading_entry.now_s", lambda: now)
    stop = "Test pressure is reached: stop pumping."

    async def test() -> None:
        nonlocal now
        async with screen(case_in(tmp_path)) as (app, pilot):
            for typed in ("6 bar; 39", "12 bar; 47"):
                await enter_reading(app, pilot, typed)
                now += 300.0
            assert "stop" not in picture(app).lower() and "Venting again costs " in present(app)
            await enter_reading(app, pilot, "24 bar; 60; 15 degC")
            assert (present(app).startswith(f"WARNING: {stop}") and "Still to pump: nothing" in present(app)
                    and "pump on" not in present(app) and "Next reading" not in present(app))
            assert "stop: test pressure is reached" in picture(app)
            assert stop in [caution.text for caution in app.session.answered.cautions]  # type: ignore[union-attr]
            now += 600.0
            await enter_reading(app, pilot, "23.5 bar; 15 degC")
            last = app.session.answered.case.reading[-1]  # type: ignore[union-attr]
            assert (last.strokes, last.time, last.temperature) == (None, 1200.0, pytest.approx(288.15))
            held = app.session.answered.readings.hold  # type: ignore[union-attr]
            assert held is not None and (held.time_s, held.temperature_read) == (600.0, True)
            await enter_reading(app, pilot, "34 bar; 70")
            assert present(app).startswith("DANGER: A reading of 34 bar is above the pressure limit, 33 bar")
            assert "STOP: above the pressure limit" in picture(app)

    run(test())


def present(app: Fillcalc) -> str:
    """All that the readings tell beside the form."""
    return " ".join(f"{heading}{words}" for heading, words in app.query_one(Help).said[1])


def test_after_a_reading_the_next_can_be_typed_at_once_and_spoils_none(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            await enter_reading(app, pilot, "6 bar; 39")
            await press_all(pilot, "12 bar; 47")
            await pilot.press("enter")
            await until(pilot, lambda: len(app.screen_stack) == 1 and app.settled)
            await pilot.press("enter")
            await until(pilot, lambda: isinstance(app.screen, Ask))
            await press_all(pilot, "18 bar; 54")
            await pilot.press("enter")
            await until(pilot, lambda: len(app.screen_stack) == 1 and app.settled)
            read = app.session.answered.case.reading  # type: ignore[union-attr]
            assert [(one.pressure, one.strokes) for one in read] == [(6e5, 39.0), (12e5, 47.0), (18e5, 54.0)]
            assert "Add another reading" in picture(app)

    run(test())


def test_a_time_ahead_of_the_clock_is_told_and_undo_says_which_reading_went(tmp_path: Path,
                                                                            monkeypatch: pytest.MonkeyPatch) -> None:
    """The reading is taken; beside the clock, which runs on in the box too, it stands until undone or caught up."""
    now = 0.0
    monkeypatch.setattr("tui.places.reading_entry.now_s", lambda: now)

    async def test() -> None:
        nonlocal now
        async with screen(case_in(tmp_path)) as (app, pilot):
            await pilot.press("alt+4")
            for typed, moment in (("6 bar; 39", 100.0), ("12 bar; 47", 160.0), ("21 bar; 9 min", 582.0)):
                now = moment
                await enter_reading(app, pilot, typed)
                assert app.said == f"Reading {len(app.session.table['reading'])} is in: {typed}. " \
                    "Type the next, or press Enter."
            await enter_reading(app, pilot, "21 bar; 24 min")
            assert app.said == "Reading 4 is in: 21 bar; 24 min. Its time is ahead of the clock: 8 min 02 s since " \
                "the first reading. Right? Ctrl+Z takes it back."
            assert app.session.answered.case.reading[-1].time == 1440.0  # type: ignore[union-attr]
            ahead = "Clock: {} since the first reading; reading 4 is ahead of it."
            await until(pilot, lambda: ahead.format("8 min 02 s") in picture(app))
            await pilot.press("2")
            await until(pilot, lambda: isinstance(app.screen, Ask) and "Clock: 8 min 02 s" in picture(app))
            now = 658.0
            await until(pilot, lambda: "Clock: 9 min 18 s" in picture(app))
            now = 1500.0
            await until(pilot, lambda: "Clock: 23 min 20 s since the first reading." in picture(app))
            await pilot.press("escape")
            await until(pilot, lambda: len(app.screen_stack) == 1)
            for key, said in (("ctrl+z", "Undone: reading 4, 21 bar. Readings now: 3."),
                              ("ctrl+z", "Undone: reading 3, 21 bar. Readings now: 2."),
                              ("ctrl+y", "Done again: reading 3, 21 bar. Readings now: 3."),
                              *(("ctrl+z", f"Undone: reading {n}, {bar} bar. Readings now: {left}.")
                                for n, bar, left in ((3, 21, 2), (2, 12, 1), (1, 6, "none")))):
                await pilot.press(key)
                await until(pilot, lambda said=said: app.said == said)  # type: ignore[misc]
            assert app.session.saved

    run(test())


@thorough
def test_a_wall_clock_that_is_set_does_not_matter(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            await enter_reading(app, pilot, "6 bar; 39")
            for wall in (lambda: 0.0, lambda: 4e9):
                monkeypatch.setattr("tui.places.reading_entry.time.time", wall)
                await enter_reading(app, pilot, "12 bar; 47")
            times = [one.time for one in app.session.answered.case.reading]  # type: ignore[union-attr]
            assert times[0] == 0.0 and all(0.0 <= time < 60.0 for time in times)

    run(test())


@pytest.mark.parametrize(("typed", "parts"), [
    ("10 bar; 29", {"pressure": "10 bar", "strokes": "29"}),
    ("10 bar 1.6 L", {"pressure": "10 bar", "water": "1.6 L"}),
    ("24 bar; 60; 14 degC; 5 min", {"pressure": "24 bar", "strokes": "60", "temperature": "14 degC", "time": "5 min"}),
    ("24 bar; 60; 0", {"pressure": "24 bar", "strokes": "60", "time": "0"}),
    ("24 bar; 0", {"pressure": "24 bar", "strokes": "0"}),
    ("23.8 bar; 10 min", {"pressure": "23.8 bar", "time": "10 min"}),
    ("23.8 bar 10 min", {"pressure": "23.8 bar", "time": "10 min"}),
    ("23.8 bar; 10 min; 14 degC", {"pressure": "23.8 bar", "time": "10 min", "temperature": "14 degC"}),
    ("23.8 bar", {"pressure": "23.8 bar"}),
    ("10 bar;", None), ("ten", None), ("10 29", None), ("", None)])
def test_the_unit_tells_what_a_part_of_a_reading_is(typed: str, parts: dict[str, str] | None) -> None:
    assert parts_of(typed) == parts


@pytest.mark.parametrize(("typed", "most", "asked"), [
    ("23.6 bar; 32 min; 14.5", 88.0, True), ("23.6 bar; 14.5", 0.0, True), ("23.6 bar; 32 min; 14", 88.0, True),
    ("24 bar; 88", 88.0, False), ("24 bar; 89", 88.0, False), ("24 bar; 1.6 L", 88.0, False),
    ("23.6 bar; 32 min; 14.5 degC", 88.0, False)])
def test_a_count_that_cannot_be_is_asked_about(typed: str, most: float, asked: bool) -> None:
    parts = parts_of(typed)
    assert parts is not None and ("do not fall" in count_doubt(parts, most)) is asked


@pytest.mark.parametrize(("typed", "said"), [
    ("17.9 bar; 10 min; 14 degC", ""), ("17.9 bar; 14", "14 degC, or 14 min?"), ("17.9 bar; 2 L", "Nothing is pumped"),
    ("17.9 bar; 14 degC", "Write the time")])
def test_with_gas_nothing_is_counted(typed: str, said: str) -> None:
    asked = gas_doubt(parts_of(typed) or {})
    assert said in asked and bool(said) == bool(asked)


@thorough
def test_the_clock_does_not_know_of_readings_it_has_not_seen(tmp_path: Path) -> None:
    async def test() -> None:
        text = SHELL + '[[reading]]\npressure = "6 bar"\nstrokes = 39\n'
        async with screen(case_in(tmp_path, text)) as (app, pilot):
            await enter_reading(app, pilot, "12 bar; 47")
            assert [one.time for one in app.session.answered.case.reading] == [None, None]  # type: ignore[union-attr]
            await pilot.press("alt+i")
            await until(pilot, lambda: isinstance(app.screen, Ask))
            app.screen.query_one("Input").value = "23.5 bar"  # type: ignore[attr-defined]
            await pilot.press("enter")
            await until(pilot, lambda: "Write the strokes too, or in the hold the time" in picture(app))
            await pilot.press("escape")
            await until(pilot, lambda: len(app.screen_stack) == 1)
            assert ("Clock: ", "it does not know of these readings.") in app.query_one(Help).said[1]
            await pilot.press("ctrl+z", "ctrl+z")
            await app.case_form.go_to("reading.1.pressure")
            app.session.drop("reading.1")
            await enter_reading(app, pilot, "6 bar; 39")
            assert app.session.answered.case.reading[0].time == 0.0  # type: ignore[union-attr]

    run(test())


@pytest.mark.parametrize("left", few(["entered", "not wanted"], 1))
def test_a_half_typed_reading_outlives_a_signal(left: str, tmp_path: Path) -> None:
    """All else being saved, the next start offers it, and its box begins with it until it is entered or left."""
    path = case_in(tmp_path)

    async def test() -> None:
        async with screen(path) as (app, pilot):
            await pilot.press("alt+i")
            await until(pilot, lambda: isinstance(app.screen, Ask))
            await press_all(pilot, "20.9 bar; 3")
            assert app.ending.keep_the_work() == "Your work is kept; the next start offers it."
            app.session.drafts.release()  # type: ignore[union-attr]
        async with screen(path, answered=False) as (app, pilot):
            await until(pilot, lambda: "was not saved" in picture(app))
            await pilot.press("o")
            await until(pilot, lambda: app.said == 'Open again, not saved yet. Alt+I goes on with the reading '
                                                   '"20.9 bar; 3".')
            await until(pilot, lambda: app.settled and len(app.screen_stack) == 1)
            assert app.session.saved and not app.session.nothing_unsaved
            await pilot.press("alt+i")
            await until(pilot, lambda: isinstance(app.screen, Ask) and "20.9 bar; 3" in picture(app))
            if left == "entered":
                await press_all(pilot, "9")
            await pilot.press("enter" if left == "entered" else "escape")
            await until(pilot, lambda: len(app.screen_stack) == 1 and app.settled and not app.session.half_reading)
            read = [(one.pressure, one.strokes) for one in app.session.answered.case.reading]  # type: ignore[union-attr]
            assert read == ([(pytest.approx(20.9e5), 39.0)] if left == "entered" else [])
            if left == "not wanted":
                app.session.drafts.release()  # type: ignore[union-attr]
                assert Drafts().left_behind() == []

    run(test())


def test_a_reading_that_cannot_be_read_says_why(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            await pilot.press("alt+i")
            await until(pilot, lambda: isinstance(app.screen, Ask))
            app.screen.query_one("Input").value = "ten"  # type: ignore[attr-defined]
            await pilot.press("enter")
            await until(pilot, lambda: "Write both" in picture(app))
            await pilot.press("escape")
            await until(pilot, lambda: len(app.screen_stack) == 1)
            assert app.session.saved

    run(test())


def test_quote_a_visit_of_two_cases(tmp_path: Path) -> None:
    async def test() -> None:
        case_in(tmp_path, SHELL.replace("1.9 m", "2.5 m"), "second.toml")
        async with screen(case_in(tmp_path)) as (app, pilot):
            await pilot.press("alt+j")
            await until(pilot, lambda: isinstance(app.screen, Several))
            await pilot.press("down", "space", "enter")
            await until(pilot, lambda: isinstance(app.screen, Pages))
            text = picture(app)
            assert "A visit with 2 cases" in text and "Time on site" in text
            await pilot.press("shift+f3")
            await until(pilot, lambda: "Copied" in app.said)
            assert app.clipboard.startswith("One visit for ") and "\n\nWe need: " in app.clipboard

    run(test())


@thorough
def test_a_place_stands_beside_the_form_and_follows_it(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path), 120, 36) as (app, pilot):
            await pilot.press("alt+2")
            await until(pilot, lambda: "── Fill: " in picture(app) and "level, m" in picture(app))
            await pilot.press("tab")
            app.query_one(Form).fields["fill.hose.1.length"].entry.focus()  # type: ignore[union-attr]
            await pilot.press("x")
            assert "── was: Fill" in picture(app)
            await type_over(pilot, "80 m")
            await until(pilot, lambda: app.settled and "── Fill: " in picture(app))
            assert "was:" not in picture(app)
            await pilot.press("alt+3", "alt+d")
            await pilot.pause()
            text = picture(app)
            assert "── Pump-up: " in text and "this case" in text
            assert not re.search("[\u2801-\u28ff]", text)
            assert "aaa" in text or "a  a" in text or text.count("a") > 20

    run(test())


@pytest.mark.parametrize(("width", "height"), few([(80, 24), (120, 36), (180, 50)], 1))
def test_after_a_new_case_nothing_of_the_earlier_one_stands(width: int, height: int, tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path), width, height, ranges=True) as (app, pilot):
            await until(pilot, lambda: app.session.ranged is not None)
            await pilot.press("alt+3")
            await until(pilot, lambda: "this case" in picture(app))
            await pilot.press("ctrl+n")
            await until(pilot, lambda: app.session.name == "new case" and app.settled)
            for number in range(1, 8):
                await pilot.press(f"alt+{number}")
                await pilot.pause()
                text = picture(app)
                assert "No answers yet" in text and "── was: " not in text and "no air" not in text
                assert "Cooler" not in text and not re.search("[\u2801-\u28ff]", text)

    run(test())
