"""The clock of the stages: what a press writes, that it survives, can be corrected, and tells the rest anew."""

from __future__ import annotations

import re
import tomllib
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from fillcalc.case.stages import STAGE_KEYS
from fillcalc.present.clock import leave_sentence, running_sentence
from fillcalc.questions.remaining import Rest
from tests.families import few
from tests.report.demo import CASES
from tests.screen.support import SHELL, case_in, picture, run, screen, until
from tui.places import stage_entry
from tui.state.stage_clock import pressed, running, written

NOW = datetime(2026, 11, 20, 8, 55)
TAKEN = ("wait", "set_up", "connect", "fill", "top_up", "pump_up", "hold", "drain", "pack_up", "rework")


def press(table: dict[str, Any], now: datetime) -> dict[str, Any]:
    took = dict(table.get("took", {}))
    for path, value in pressed(table, TAKEN, now).items():
        key = path.removeprefix("took.")
        took = {other: kept for other, kept in took.items() if other != key} | ({} if value is None else {key: value})
    return {"took": took}


def test_press_by_press_from_arriving_to_leaving() -> None:
    """Each stage that takes time, in order, none twice; the visit ends with the time on site."""
    table: dict[str, Any] = {}
    now, seen = NOW, []
    while (table := press(table, now)) and "running" in table["took"]:
        seen.append(table["took"]["running"])
        assert table["took"]["since"] == now.isoformat(" ")
        now += timedelta(minutes=7 * len(seen))
    assert seen == ["wait", "set_up", "connect", "fill", "pump_up", "hold", "drain", "pack_up"]
    assert [table["took"][key] for key in seen[:4]] == ["7.0 min", "14 min", "21 min", "28 min"]
    assert table["took"]["on_site"] == "4 h 12 min" and table["took"]["date"] == "2026-11-20"
    assert "since" not in table["took"] and pressed(table, TAKEN, now) == {}


def test_a_stage_may_be_left_out_corrected_or_timed_again() -> None:
    table = {"took": {"fill": "30 min", "running": "connect", "since": "2026-11-20 08:40:00", "arrived": "x"}}
    assert pressed(table, TAKEN, NOW)["took.running"] == "pump_up"  # the fill has its time already
    again = {"took": {"fill": "30 min", "running": "fill", "since": "2026-11-20 08:50:00"}}
    assert pressed(again, TAKEN, NOW)["took.fill"] == "35 min"
    emptied = {"took": {"wait": "5 min", "connect": "9 min"}}
    assert pressed(emptied, TAKEN, NOW)["took.running"] == "set_up"


@pytest.mark.parametrize("took", [
    {"running": "fill"}, {"running": "fill", "since": "yesterday"}, {"running": 3, "since": "2026-11-20 08:50"},
    {"since": "2026-11-20 08:50"}, "no table", {"running": ["fill"], "since": {}},
])
def test_what_cannot_be_read_is_no_clock(took: Any) -> None:
    assert running({"took": took}) is None
    assert pressed({"took": took}, TAKEN, NOW)["took.running"]


def test_a_clock_that_was_put_back_gives_no_time_below_nothing() -> None:
    ran = running({"took": {"running": "fill", "since": "2026-11-20 09:30"}})
    assert ran is not None and ran.elapsed_s(NOW) == 0.0 and not ran.just_began(NOW)


@pytest.mark.parametrize(("seconds", "text"), [(0.4, "0 s"), (95, "95 s"), (150, "2.5 min"), (2160, "36 min"),
                                               (7190, "120 min"), (18300, "5 h 05 min"), (10799, "3 h 00 min")])
def test_times_as_one_would_write_them(seconds: float, text: str) -> None:
    assert written(seconds) == text


def test_the_time_of_leaving_in_words() -> None:
    rest = Rest("fill", False, 5.0 * 3600, 5.5 * 3600, 6.4 * 3600)
    assert leave_sentence(rest, NOW) == "Ready to leave at about 14:25, 13:55 to 15:20."
    late = Rest("drain", True, 15.2 * 3600, 16 * 3600, float("nan"))
    assert leave_sentence(late, NOW) == "Ready to leave at about 00:55 (+1 d), 00:05 (+1 d) to never."
    assert running_sentence("pump_up", 90.0, late, "metric") == "Stage: pump-up, 1.5 min so far, longer than foreseen."
    assert leave_sentence(Rest("", False, 0.0, 0.0, 0.0), NOW) == "All stages are done."


def test_one_key_writes_the_case_and_undo_takes_it_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    clock = [NOW]
    monkeypatch.setattr(stage_entry, "now", lambda: clock[0])

    async def drive() -> None:
        async with screen(case_in(tmp_path), ranges=True) as (app, pilot):
            await until(pilot, lambda: app.session.ranged is not None)
            await pilot.press("alt+4")
            for minutes in (0, 12, 30, 25):
                clock[0] += timedelta(minutes=minutes)
                await pilot.press("n")
                await until(pilot, lambda: app.settled)
            assert app.said.startswith("Connect took 25 min. Next stage: fill.")
            clock[0] += timedelta(seconds=4)
            await pilot.press("n")
            await until(pilot, lambda: app.said.startswith('Not ended: stage "fill" has only just begun.'))
            clock[0] -= timedelta(seconds=4)
            took = tomllib.loads(app.session.text)["took"]
            assert (took["wait"], took["set_up"], took["connect"]) == ("12 min", "30 min", "25 min")
            assert took["running"] == "fill" and took["since"] == clock[0].isoformat(" ")
            await until(pilot, lambda: app.session.ranged is not None and app.session.ranged.ahead is not None)
            await until(pilot, lambda: "Ready to leave at about" in picture(app))
            clock[0] += timedelta(minutes=20)
            await until(pilot, lambda: "Stage: fill, 20 min so far" in picture(app))
            await pilot.press("ctrl+z")
            await until(pilot, lambda: app.settled)
            took = tomllib.loads(app.session.text)["took"]
            assert took["running"] == "connect" and "connect" not in took
            assert set(took) - {"running", "since", "arrived", "date"} <= set(STAGE_KEYS)
    run(drive())


def test_the_clock_steps_through_the_stages_of_a_test_with_gas(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Raising and letting off in the place of fill to drain, each beside its estimate, and when the work is done."""
    clock, seen = [NOW], []
    monkeypatch.setattr(stage_entry, "now", lambda: clock[0])

    async def drive() -> None:
        text = (CASES / "gas-valve-seat.toml").read_text(encoding="utf-8")
        async with screen(case_in(tmp_path, text), 120, 36, ranges=True) as (app, pilot):
            await until(pilot, lambda: app.session.ranged is not None)
            await pilot.press("alt+4")
            while "The visit is over." not in app.said:
                app.answering.ranges.quiet_s = 0.05 if seen[-1:] == ["raise"] else 3600.0  # of use while it settles
                await pilot.press("n")
                await until(pilot, lambda: app.settled)
                if app.said.startswith("Not ended: the hold is to last"):
                    await pilot.press("n")
                    await until(pilot, lambda: app.settled)
                seen.append(tomllib.loads(app.session.text)["took"].get("running"))
                if seen[-1] == "settle":
                    await until(pilot, lambda: app.session.ranged is not None and app.session.ranged.ahead is not None)
                    await until(pilot, lambda: "Ready to leave at about" in picture(app))
                    assert re.search(r"raise +3 min +\d", picture(app))
                clock[0] += timedelta(minutes=3)
            assert seen == ["wait", "set_up", "connect", "raise", "settle", "hold", "inspect", "let_off", "disconnect",
                            "pack_up", None]
            assert tomllib.loads(app.session.text)["took"]["on_site"] == "30 min"
    run(drive())


@pytest.mark.parametrize(("stage", "needed"), few([("hold", "the hold is to last 10 min"),
                                                   ("settle", "settling is to last 15 min")], 1))
def test_a_hold_or_settle_that_is_not_over_is_ended_by_a_second_press_only(
        stage: str, needed: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The first press says what is asked for and what has passed, as does a late second; once over, one ends it."""
    clock = [NOW]
    monkeypatch.setattr(stage_entry, "now", lambda: clock[0])
    text = f'{SHELL}\n[took]\nrunning = "{stage}"\nsince = "{NOW}"\n'

    async def drive() -> None:
        async with screen(case_in(tmp_path, text)) as (app, pilot):
            await pilot.press("alt+4")
            for later_s, passed in ((6, "6 s"), (30, "36 s"), (11, "47 s")):
                clock[0] += timedelta(seconds=later_s)
                await pilot.press("n")
                told = f"Not ended: {needed}; only {passed} have passed. N again within 10 s ends it."
                await until(pilot, lambda told=told: app.said == told)  # type: ignore[misc]
                assert app.session.text == text
            clock[0] += timedelta(seconds=3)
            await pilot.press("n")
            await until(pilot, lambda: app.said.startswith(f"{stage.capitalize()} took 50 s."))
            await pilot.press("ctrl+z")
            await until(pilot, lambda: app.said == f"Undone: stage clock. Stage now: {stage}.")
            assert app.session.text == text
            clock[0] = NOW + timedelta(minutes=15)
            await pilot.press("n")
            await until(pilot, lambda: app.said.startswith(f"{stage.capitalize()} took 15 min."))
    run(drive())


def test_a_case_that_cannot_be_answered_has_no_clock_yet(tmp_path: Path) -> None:
    async def drive() -> None:
        async with screen(case_in(tmp_path, SHELL.replace('diameter = "620 mm"', ""))) as (app, pilot):
            before = app.session.text
            await pilot.press("alt+4", "n")
            await until(pilot, lambda: "needs a case that can be answered" in app.said)
            assert app.session.text == before
    run(drive())
