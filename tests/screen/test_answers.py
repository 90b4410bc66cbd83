"""Which answers are shown, and when: while typing, and those that come late."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from tests.screen.support import SHELL, at_field, case_in, fill_time, picture, run, screen, type_over, until
from tui.app import Arrived
from tui.places.answers import Answers
from tui.places.reports import quote_of
from tui.state.session import Request, with_ranges, work_out


def test_answers_are_old_to_the_eye_while_something_is_typed(tmp_path: Path,
                                                             monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tui.places.case_form.DEBOUNCE_S", 3.0)

    async def test() -> None:
        async with screen(case_in(tmp_path), ranges=True) as (app, pilot):
            await until(pilot, lambda: app.session.ranged is not None)
            at_field(app, "fill.hose.1.length")
            await pilot.pause()
            assert not app.query_one(Answers).waiting
            await pilot.press("backspace")
            await until(pilot, lambda: app.query_one(Answers).waiting)
            assert "was" in picture(app).splitlines()[3]
            await until(pilot, lambda: app.settled)

    run(test())


def test_while_one_types_the_old_answers_stand_and_are_said_to_be_old(
        tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tui.places.case_form.DEBOUNCE_S", 1.5)
    worked_out: list[str] = []

    def counted(request: Request) -> object:
        worked_out.append(request.text)
        return work_out(request)

    monkeypatch.setattr("tui.state.workers.work_out", counted)

    async def test() -> None:
        async with screen(case_in(tmp_path), ranges=True) as (app, pilot):
            await until(pilot, lambda: app.session.ranged is not None)
            before = fill_time(app)
            at_field(app, "fill.hose.1.length")
            await type_over(pilot, "80 m")
            assert app.session.text == SHELL
            assert fill_time(app) == before
            assert "was" in picture(app).splitlines()[3]
            await until(pilot, lambda: app.settled)
            assert fill_time(app) != before
            assert app.session.text == worked_out[-1]
            assert worked_out.count(app.session.text) == 1
            assert app.session.answered is not None
            assert app.session.answered.case == work_out(Request(0, app.session.text, "")).case

    run(test())


def test_an_answer_that_comes_late_is_dropped(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            old = work_out(Request(app.session.number, app.session.text, app.session.name))
            at_field(app, "fill.hose.1.length")
            await type_over(pilot, "80 m")
            await until(pilot, lambda: app.settled)
            now = fill_time(app)
            app.post_message(Arrived(old))
            await pilot.pause()
            assert fill_time(app) == now

    run(test())


def test_the_newest_text_is_answered_while_an_older_one_is_worked_out(tmp_path: Path,
                                                                       monkeypatch: pytest.MonkeyPatch) -> None:
    may_go, busy = threading.Event(), threading.Event()

    def held_up(request: Request) -> object:
        busy.set()
        may_go.wait(20.0)
        return work_out(request)

    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            monkeypatch.setattr("tui.state.workers.work_out", held_up)
            app.session.put("fill.hose.1.length", "70 m")
            await until(pilot, busy.is_set)
            app.session.put("fill.hose.1.length", "80 m")
            may_go.set()
            await until(pilot, lambda: app.settled)
            assert app.session.answered is not None and app.session.answered.text == app.session.text

    run(test())


def test_no_other_figure_stands_while_low_likely_and_high_are_worked_out(tmp_path: Path) -> None:
    """At first nothing but that they are; then, for a changed text, the old ones with the word "was"."""
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            strip = picture(app).splitlines()[3:7]
            assert [line.split() for line in strip] == [
                [*label.split(), "working…"] for label in ("Fill", "Pump-up", "Trapped air", "Time on site")]
        async with screen(case_in(tmp_path), ranges=True) as (app, pilot):
            await until(pilot, lambda: app.session.ranged is not None)
            app.answering.ranges.quiet_s = 3600.0
            before = [line[:51] for line in picture(app).splitlines()[3:7]]
            app.session.put("fill.hose.1.length", "80 m")
            await until(pilot, lambda: app.settled)
            assert [line.replace("was ", "")[:51] for line in picture(app).splitlines()[3:7]] == before
            assert "61 strokes" in picture(app).splitlines()[4]
            assert all("was" in line for line in picture(app).splitlines()[3:7])

    run(test())


def test_low_and_high_come_of_few_samples_first_and_a_quote_waits_for_all(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path), few=True) as (app, pilot):
            strip = picture(app).splitlines()
            assert "answers now" in strip[0] and "29 min" in strip[3] and "33 min" in strip[3]
            assert not quote_of(app)
            at_field(app, "fill.hose.1.length")
            await type_over(pilot, "80 m")
            await until(pilot, lambda: app.settled)
            wider = picture(app).splitlines()
            assert "answers now" in wider[0] and "was" not in wider[3] and wider[3] != strip[3]
            few, all_of_them = app.session.few, with_ranges(Request(app.session.number, app.session.text, ""))
            assert all_of_them is not None and app.session.take(all_of_them)
            assert app.session.newest_ranged is all_of_them
            assert few is not None and not app.session.take(few) and app.session.newest_ranged is all_of_them
            assert quote_of(app)

    run(test())
