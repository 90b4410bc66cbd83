"""What a technician does from start to end, by keyboard alone."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import cases
from tests.screen.support import SHELL, case_in, picture, run, screen, type_over, until
from tui.chart import ChartScreen
from tui.dialogs import Ask, Pages, Pick, Several
from tui.form import Form

ROOT = Path(__file__).parents[2]


def test_first_look(tmp_path: Path) -> None:
    """Open, read the main answers, look at the charts, read the report, leave."""

    async def test() -> None:
        async with screen(case_in(tmp_path), ranges=True) as (app, pilot):
            await until(pilot, lambda: app.session.ranged is not None and app.chart_desk.ready)
            text = picture(app)
            for words in ("Fill", "Pump up", "Air adds", "On site, middle", "strokes", "times"):
                assert words in text
            await pilot.press("ctrl+t")
            await until(pilot, lambda: isinstance(app.screen, ChartScreen) and "Filling" in picture(app))
            titles = []
            for _ in range(7):
                await pilot.pause()
                titles.append(picture(app).splitlines()[0])
                await pilot.press("right")
            assert len(set(titles)) == 7
            assert not any("No chart" in title for title in titles)
            await pilot.press("escape")
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
            assert re.search(r"Kept +Now +Difference", lines[1])
            assert re.search(r"^ Fill +30 min +\d\S* min +\d\S* min less, better$", lines[2])
            assert re.search(r"^ Pump up .* the same$", lines[3])
            await pilot.press("alt+v")
            await until(pilot, lambda: isinstance(app.screen, Pages))
            assert "fill hose 1 bore 12.7 mm → 19 mm" in picture(app)
            await pilot.press("escape")
            await pilot.press("ctrl+z")
            await until(pilot, lambda: app.settled and app.session.text == SHELL)
            await pilot.press("alt+w")
            await until(pilot, lambda: "Kept " not in picture(app))

    run(test())


def test_enter_three_readings(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path), 120, 36) as (app, pilot):
            for typed in ("6 bar; 39", "12 bar 47", "18 bar, 54 strokes"):
                await pilot.press("alt+i")
                await until(pilot, lambda: isinstance(app.screen, Ask))
                app.screen.query_one("Input").value = typed  # type: ignore[attr-defined]
                await pilot.press("enter")
                await until(pilot, lambda: len(app.screen_stack) == 1 and app.settled)
            assert app.session.state == "now"
            assert len(app.session.answered.case.reading) == 3  # type: ignore[union-attr]
            text = picture(app)
            assert "Trapped air: " in text and "Still to pump: " in text and "Venting again: " in text
            await pilot.press("ctrl+r")
            await until(pilot, lambda: isinstance(app.screen, Pages))
            await pilot.press("end")

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
            assert "A visit with 2 cases" in text and "On site" in text

    run(test())


def test_charts_stand_beside_the_answers_and_follow_them(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path), 120, 36) as (app, pilot):
            await until(pilot, lambda: "Filling  1 of 7" in picture(app))
            app.query_one(Form).fields["fill.hose.1.length"].entry.focus()  # type: ignore[union-attr]
            await pilot.press("x")
            assert "was: Filling" in picture(app)
            await type_over(pilot, "80 m")
            await until(pilot, lambda: app.settled and " Filling  1 of 7" in picture(app))
            assert "was:" not in picture(app)
            await pilot.press("alt+c", "alt+m")
            await pilot.pause()
            text = picture(app)
            assert "Pumping up  2 of 7" in text
            assert not re.search("[\u2801-\u28ff]", text)
            assert "aaa" in text or "a  a" in text or text.count("a") > 20

    run(test())
