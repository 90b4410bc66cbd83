"""The kit tried on the case: the list tells the truth, one is taken by key, what cannot is not."""

from __future__ import annotations

import math
import tomllib
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tomlkit
from textual.pilot import Pilot

import cases
from fillcalc.case.read import read_text
from fillcalc.estimation.estimate import estimate
from tests.families import few, thorough
from tests.screen.support import SHELL, at_field, case_in, field, fill_time, picture, run, screen, type_over, until
from tui.app import Fillcalc
from tui.places.choice_rows import PAIR, ChoiceRow, columns_of, row_line, rows_of
from tui.places.choosing import Chosen, Kit, Wanted, with_choice, work_out
from tui.places.kit import load
from tui.state.actions import ACTIONS
from tui.state.range_text import ranges_in, with_range
from tui.state.session import Session
from tui.widgets.dialogs import Menu, Pick
from tui.widgets.listing import Listing

KIT = Path(cases.__file__).parent / "kit.toml"
LONG_TIMES = (KIT.parent / "crest-line.toml").read_text(encoding="utf-8")


@cache
def found_for(text: str, units: str = "metric") -> Chosen:
    return work_out(Wanted(text, "case", KIT.read_bytes(), KIT.name, units))


@asynccontextmanager
async def choosing(folder: Path, ranges: bool = False) -> AsyncIterator[tuple[Fillcalc, Pilot[Any], Kit]]:
    """The place Kit on the shell case, come by keyboard; of the kit two hoses and every pump."""
    kit = tomllib.loads(KIT.read_text(encoding="utf-8"))
    (folder / "kit.toml").write_text(tomlkit.dumps({**kit, "hose": kit["hose"][1:3]}), encoding="utf-8")
    async with screen(case_in(folder), ranges=ranges) as (app, pilot):
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(app.screen, Menu))
        await pilot.press("5")
        kit = app.query_one(Kit)
        await until(pilot, lambda: bool(kit.rows) and isinstance(app.focused, Listing))
        yield app, pilot, kit


def test_one_is_taken_by_key_its_answers_come_and_undo_brings_everything_back(tmp_path: Path) -> None:
    async def test() -> None:
        async with choosing(tmp_path, ranges=True) as (app, pilot, panel):
            row = panel.rows[1]
            before = fill_time_below(app)
            await pilot.press("down", "enter")
            await until(pilot, lambda: "Taken: " in picture(app))
            await until(pilot, lambda: len(app.screen_stack) == 1 and app.session.ranged is not None
                        and app.session.ranged.number == app.session.number)
            assert fill_time(app) != before
            ranged = app.session.ranged
            assert ranged is not None and ranged.estimate is not None and ranged.estimate.visit is not None
            assert float(ranged.estimate.visit.likely_s) == pytest.approx(float(row.choice.visit_s.likely), rel=0.02)
            await pilot.press("ctrl+z")
            await until(pilot, lambda: app.settled)
            assert app.session.text == SHELL
            assert fill_time(app) == before

    run(test())


def fill_time_below(app: Fillcalc) -> str:
    """The fill time of the case under the list, in the words of the screen."""
    from fillcalc.units import show

    answered = app.session.answered
    assert answered is not None and answered.estimate is not None
    return show(float(np.ravel(answered.estimate.fill.time_s)[0]), "duration", "metric")


@thorough
def test_one_that_cannot_is_not_taken_and_says_why(tmp_path: Path) -> None:
    async def test() -> None:
        async with choosing(tmp_path) as (app, pilot, panel):
            await pilot.press("end", "enter")
            await pilot.pause()
            assert not panel.rows[-1].can
            text = " ".join(picture(app).split())
            assert "Not taken. " in text and "No setting is safe: the pump needs 1.2 bar" in text
            assert app.session.text == SHELL

    run(test())


@thorough
def test_a_choice_of_an_older_text_is_not_taken(tmp_path: Path) -> None:
    async def test() -> None:
        async with choosing(tmp_path) as (app, pilot, _):
            app.session.put("fill.hose.1.length", "80 m")
            text = app.session.text
            await pilot.press("enter")
            await until(pilot, lambda: "the case has changed" in picture(app))
            assert app.session.text == text
            await until(pilot, lambda: "trying every one" not in picture(app))

    run(test())


@thorough
def test_a_case_that_cannot_be_read_says_what_is_wrong_in_the_place_of_the_list(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            at_field(app, "fill.hose.1.length")
            await type_over(pilot, "22 parsecs")
            await pilot.press("f12")
            await until(pilot, lambda: "parsecs" in picture(app) and not app.query_one(Kit).rows)
            await pilot.press("enter", "alt+1")
            await until(pilot, lambda: app.focused is field(app, "fill.hose.1.length").entry)

    run(test())


def test_a_damaged_kit_is_said(tmp_path: Path) -> None:
    (tmp_path / "kit.toml").write_text("[[hose]\n")

    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            await pilot.press("f12")
            await until(pilot, lambda: "kit.toml: " in picture(app) and not app.query_one(Kit).rows)
            await pilot.press("ctrl+g")
            await until(pilot, lambda: "kit.toml: " in app.said)
            assert len(app.screen_stack) == 1

    run(test())


@thorough
def test_over_the_list_nothing_else_touches_the_case(tmp_path: Path) -> None:
    """Neither a key nor the palette does more than leave, copy or change colours while the list stands there."""
    async def test() -> None:
        async with choosing(tmp_path) as (app, pilot, _):
            await pilot.press("ctrl+g")
            await until(pilot, lambda: isinstance(app.screen, Pick))
            panel = app.screen
            await pilot.press("f5", "ctrl+z", "ctrl+s", "alt+n", "alt+2", "f12", "alt+e")
            await pilot.pause()
            assert app.screen is panel and app.session.text == SHELL and app.here == 5
            assert {command.title for command in app.get_system_commands(panel)} == {
                action.title for action in ACTIONS if action.name in ("quit", "copy", "copy_quote", "look")}

    run(test())


# --- the text, without a screen -----------------------------------------------------------------

def test_each_choice_put_into_the_case_gives_what_the_list_says() -> None:
    """As written: fill, pump-up and reach of every hose, pair, pump and setting that can."""
    kit = load(KIT)
    able = [one for one in found_for(SHELL).found if one.can]
    assert len(able) > 10 and any(PAIR in one.hose for one in able)
    for one in able:
        answer = estimate(read_text(with_choice(SHELL, kit, one, "metric")))
        assert answer.pressurise is not None
        assert float(answer.fill.time_s[0]) == pytest.approx(float(one.fill_s.at_likely_values), rel=1e-6), one
        assert float(answer.pressurise.time_s[0]) == pytest.approx(float(one.pump_up_s.at_likely_values), rel=1e-6), one


@thorough
def test_ranges_of_what_is_replaced_go_and_those_of_the_place_stay() -> None:
    text = SHELL
    for path in ("fill.hose.1.length", "pump.drive_pressure", "pump.ratio"):
        text = with_range(text, path, "±10 %")
    session = Session(text)
    session.put_many("hose", {"fill.hose.2.length": "10 m", "fill.hose.2.bore": "19 mm"})
    one = next(each for each in found_for(session.text).found if each.can and PAIR not in each.hose)
    new = with_choice(session.text, load(KIT), one, "metric")
    case = read_text(new)
    assert len(case.fill.hose) == 1
    assert case.pump.drive_pressure == read_text(SHELL).pump.drive_pressure  # type: ignore[union-attr]
    assert set(ranges_in(Session(new).table)) == {"tap.pressure", "trapped_air.amount", "pump.drive_pressure"}


@pytest.mark.parametrize(("text", "units"), few([(SHELL, "metric"), (SHELL, "us"), (LONG_TIMES, "metric")], 1))
def test_rows_fit_their_line_and_are_told_apart(text: str, units: str) -> None:
    rows = rows_of(found_for(text, units).found)
    for width in (66, 77, 109):
        columns = columns_of(rows, units, width)
        lines = [row_line(row, units, columns, width) for row in rows]
        assert max(len(part) for line in (columns.head, *lines) for part in line.splitlines()) <= width
        assert len(set(lines)) == len(lines)
        can = [(row, " ".join(line.split())) for row, line in zip(rows, lines, strict=True) if row.can]
        assert all(row.hose in line and row.pump in line for row, line in can)
        assert [row.can for row in rows] == sorted((row.can for row in rows), reverse=True)
        for place, row in enumerate(rows):
            if row.can:
                assert lines[place].endswith(("min", " h", " s")), lines[place]


def test_a_pump_that_cannot_stands_once_with_its_own_reason() -> None:
    rows = rows_of(found_for(SHELL).found)
    cannot: list[ChoiceRow] = [row for row in rows if not row.can]
    assert cannot and all(row.why and (not row.hose or not row.pump) for row in cannot)
    assert len({(row.hose, row.pump, round(float(row.choice.regulator_gauge_pa), -3)
                 if math.isfinite(float(row.choice.regulator_gauge_pa)) else 0) for row in cannot}) == len(cannot)
