"""A recorder's file on the screen: picked, read beside it, told, moved, and worked out anew when the case changes."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from textual.pilot import Pilot

from tests.families import thorough
from tests.recorder.files import HEAD, moments, rows, text
from tests.recorder.simulation import CASE
from tests.recorder.stories import LEAK, story
from tests.screen.support import case_in, picture, press_all, run, screen, type_over, until
from tui.app import Fillcalc
from tui.widgets.dialogs import Ask


async def _asked(app: Fillcalc, pilot: Pilot[Any], words: str) -> Ask:
    await until(pilot, lambda: isinstance(app.screen, Ask) and words in app.screen.question)
    assert isinstance(app.screen, Ask)
    return app.screen


def _read(app: Fillcalc) -> bool:
    return app.session.recorded is not None and not isinstance(app.screen, Ask)


def test_a_file_is_picked_in_the_place_and_told(tmp_path: Path) -> None:
    data, _ = story(leak=LEAK, drift_k_per_h=2.0, sign=1.0)
    (tmp_path / "friday.csv").write_bytes(data)

    async def test() -> None:
        async with screen(case_in(tmp_path, CASE, "ball.toml"), 120, 60) as (app, pilot):
            await pilot.press("alt+4")
            await until(pilot, lambda: "F reads a recorder's file" in picture(app))
            await pilot.press("f")
            asked = await _asked(app, pilot, "Read a recorder's file")
            assert "friday.csv" in [words for _, words in asked.offers]
            assert "demo: cooler-shell-record" in [words for _, words in asked.offers]
            await press_all(pilot, "friday.csv")
            await pilot.press("enter")
            await until(pilot, lambda: _read(app) and "Warming hides a leak" in picture(app))
            seen = picture(app)
            assert "What friday.csv tells" in seen and "recorded" in seen and "explained" in seen
            assert "mL/min" in seen and "passed" not in seen
            found = app.session.recorded
            assert found is not None and found.found.fit is not None and found.found.fit.shows
            await pilot.press("end")
            await until(pilot, lambda: "What friday.csv tells" not in picture(app))
            await pilot.press("h")
            asked = await _asked(app, pilot, "Where the hold is")
            assert asked.value.count(":") >= 2
            await type_over(pilot, "09:50")
            await pilot.press("enter")
            await until(pilot, lambda: isinstance(app.screen, Ask) and "10:42-11:12" in app.screen.wrong)
            assert isinstance(app.screen, Ask) and app.screen.value == "09:50"
            await type_over(pilot, "09:45-09:55")
            await pilot.press("enter")
            await until(pilot, lambda: _read(app) and app.session.recorded.said.hold == "09:45-09:55")  # type: ignore
            await until(pilot, lambda: "What friday.csv tells" in picture(app))
            moved = app.session.recorded
            assert moved is not None and abs(moved.found.time_s - 600.0) < 5.0
            await pilot.press("l")
            await _asked(app, pilot, "Leak to show")
            await press_all(pilot, "2 bar")
            await pilot.press("enter")
            await until(pilot, lambda: isinstance(app.screen, Ask) and "2 bar" in app.screen.wrong)
            await type_over(pilot, "0,1 mL/min")
            await pilot.press("enter")
            await until(pilot, lambda: _read(app) and "This hold cannot show a leak of 0.1" in picture(app))
            await pilot.press("s")
            await _asked(app, pilot, "Strokes a minute")
            await press_all(pilot, "40 /min")
            await pilot.press("enter")
            await until(pilot, lambda: _read(app) and app.session.recorded.said.strokes == "40 /min")  # type: ignore
            answered = app.session.recorded
            assert answered is not None and answered.found.rise is not None
            assert "The water of a stroke is not known" in answered.found.rise.why  # an electric pump
            assert answered.said.leak == "0,1 mL/min" and answered.said.hold == "09:45-09:55"

    run(test())


@thorough
def test_it_is_worked_out_anew_when_the_case_changes(tmp_path: Path) -> None:
    (tmp_path / "friday.csv").write_bytes(story(leak=LEAK)[0])

    async def test() -> None:
        async with screen(case_in(tmp_path, CASE, "ball.toml"), 120, 50) as (app, pilot):
            await pilot.press("alt+4", "f")
            await _asked(app, pilot, "Read a recorder's file")
            await press_all(pilot, "friday.csv")
            await pilot.press("enter")
            await until(pilot, lambda: _read(app))
            before = app.session.recorded
            app.session.put("vessel.diameter", "1.2 m")
            await until(pilot, lambda: app.session.recorded is not before)
            after = app.session.recorded
            assert before is not None and after is not None and after.text == app.session.text
            assert before.found.fit is not None and after.found.fit is not None
            assert after.found.fit.leak.likely_m3_s > 1.5 * before.found.fit.leak.likely_m3_s

    run(test())


def test_what_the_file_does_not_say_is_asked_for_and_nothing_is_lost(tmp_path: Path) -> None:
    data, _ = story(temperature=False)
    (tmp_path / "bare.txt").write_bytes(b"\r\n".join(data.split(b"\r\n")[3:]))
    (tmp_path / "broken.csv").write_bytes(text(HEAD, rows(moments("%H:%M:%S"))[:3]))

    async def test() -> None:
        async with screen(case_in(tmp_path, CASE, "ball.toml"), 80, 24) as (app, pilot):
            await pilot.press("escape", "s", "f")
            await _asked(app, pilot, "Read a recorder's file")
            await press_all(pilot, "broken.csv")
            await pilot.press("enter")
            await until(pilot, lambda: isinstance(app.screen, Ask) and "usable rows" in app.screen.wrong)
            assert app.session.recorded is None and app.screen.value == "broken.csv"  # type: ignore[attr-defined]
            await type_over(pilot, "bare.txt")
            await pilot.press("enter")
            await _asked(app, pilot, "Which columns")
            await press_all(pilot, "time=1,pressure=2; bar")
            await pilot.press("enter")
            await until(pilot, lambda: _read(app))
            await pilot.press("alt+4")
            await until(pilot, lambda: "What bare.txt tells" in picture(app))
            assert all(len(line) <= 80 for line in picture(app).splitlines())

    run(test())
