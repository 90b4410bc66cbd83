"""The screen neither dies nor loses work: keys held, floods, odd bytes, signals, and a fault that was planted."""

from __future__ import annotations

import asyncio
import os
import random
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from textual import events
from textual.widgets import Input

from tests.families import few, thorough
from tests.faults import held
from tests.faults.held import BUSY, ENTER, NEXT_GROUP, STILL_S, TAB, busy_for
from tests.screen.support import KEYS, SHELL, at_field, case_in, field, picture, press_all, run, screen, until
from tui.app import Arrived, OtherAir
from tui.places import find
from tui.state.drafts import Drafts
from tui.terminal import keys as taking
from tui.terminal.keys import HELD, LATE_S, MOST_WAITING, Keys, Waiting
from tui.widgets.dialogs import Ask, Menu, Pick
from tui.widgets.question import Palette

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="terminals of this kind are not there")



@contextmanager
def terminal(folder: Path, planted: str = "", size: tuple[int, int] = (80, 24)) -> Iterator[held.Terminal]:
    """A screen in its terminal with its first answers there."""
    with held.terminal(folder, planted, size) as here:
        assert here.waits_for(b"answers now") or planted, here.seen[-2000:]
        yield here


# --- keys held down and floods ----------------------------------------------------------------

@pytest.mark.parametrize("where, key, rate", few([
    ("a choice", "Enter", 60.0), ("a choice", "Space", 30.0),
    ("a field", "Next group", 30.0),
    ("the menu", "Down", 30.0), ("a list", "Tab", 30.0), ("the palette", "a letter", 30.0),
    ("a deed", "Enter", 30.0)], keep=1))
def test_a_key_held_down_does_no_harm_and_all_is_still_soon_after(where: str, key: str, rate: float,
                                                                  tmp_path: Path) -> None:
    assert not held.held_down(where, key, rate, tmp_path, 2.0)


@pytest.mark.parametrize("data", few([b"x" * 100_000, b"24 bar\r" * 14_000,
                                      b"\x1b[200~" + b"24 bar\n" * 150 + b"\x1b[201~"], 1),
                         ids=["letters", "lines", "paste"])
def test_a_flood_is_over_soon(data: bytes, tmp_path: Path) -> None:
    with terminal(tmp_path) as here:
        here.send(TAB)
        here.read(0.3)
        here.send(data)
        here.read(STILL_S)
        assert busy_for(here) < BUSY
        assert not here.faults_of_the_end(0)


def test_values_and_enter_in_one_burst_land_each_in_its_field(tmp_path: Path) -> None:
    """However many wait: 150 fields in a row, choices between them, as a paste of lines without its marks."""

    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            at_field(app, "vessel.volume")
            await pilot.press("down")
            fields = [stop.row.path for stop in app.case_form.form.stops]
            fields = fields[fields.index("tap.pressure"):fields.index("trapped_air.amount") + 1]
            for number, _ in enumerate(fields):
                for key in (*str(100 + number), "enter"):
                    app.post_message(events.Key(key, key if len(key) == 1 else "\r"))
            await until(pilot, lambda: field(app, fields[-1]).value.startswith(str(99 + len(fields))) and app.settled)
            units = ["bar", "L/min", "m", "mm", "mm", "%"]
            assert [field(app, path).value for path in fields] == [
                f"{100 + n} {unit}" for n, unit in enumerate(units)]

    run(test())


@thorough
def test_150_values_and_enter_in_one_burst(tmp_path: Path) -> None:
    with terminal(tmp_path) as here:
        here.send(TAB + b"12.7 mm\r" * 150)
        here.read(2.0)
        assert here.ended() is None
        os.kill(here.pid, signal.SIGTERM)
        assert not here.faults_of_the_end(128 + signal.SIGTERM)
        assert len(here.drafts()) == 1 and "12.7 mm" in here.drafts()[0]


def test_tapped_keys_are_all_kept_and_repeats_of_a_held_one_dropped(monkeypatch: pytest.MonkeyPatch) -> None:
    now = [100.0]
    monkeypatch.setattr(taking, "monotonic", lambda: now[0])

    def taken(queue: Keys) -> list[Waiting]:
        return [one for one in iter(queue.take, None) if one is not None]

    queue = Keys()
    for letter in "24 bar":
        queue.put(events.Key("space" if letter == " " else letter, letter))
    for _ in range(HELD):
        queue.put(events.Key("tab", "\t"))
    now[0] += 10 * LATE_S
    got = taken(queue)
    assert [len(one.events) for one in got] == [6, *[1] * HELD]
    for _ in range(1000):
        now[0] += 0.03
        queue.put(events.Key("tab", "\t"))
    assert len(taken(queue)) < LATE_S / 0.03 + 3  # the first ones go too, once it is known that the key is held
    for _ in range(3 * HELD):
        now[0] += 0.03
        queue.put(events.Key("space", " "))
    keys = taking.Taking(SimpleNamespace(focused=None), lambda event: asyncio.sleep(0))  # type: ignore[arg-type]
    assert [len(keys._as_taken(one)) for one in taken(queue)] == [1]
    now[0] += 1.0
    for _ in range(HELD):
        queue.put(events.Key("space", " "))
    assert [len(keys._as_taken(one)) for one in taken(queue)] == [HELD]
    for number in range(2 * MOST_WAITING):
        queue.put(events.Key(("up", "down")[number % 2], None))
    assert queue.dropped == 2 * MOST_WAITING and not len(queue)
    now[0] += 1.0
    queue.put(events.Key("tab", "\t"))
    assert len(queue) == 1


def test_keys_do_not_wait_for_a_search_but_those_that_choose_from_it(tmp_path: Path,
                                                                      monkeypatch: pytest.MonkeyPatch) -> None:
    """However long it takes to find what a letter begins, the next ones are taken; Enter takes what was found."""
    monkeypatch.setattr(taking, "TAKEN_S", 1e6)

    async def test() -> None:
        found, search = asyncio.Event(), find.Named.search

        async def slowly(self: Any, query: str) -> Any:
            await found.wait()
            async for hit in search(self, query):
                yield hit

        monkeypatch.setattr(find.Named, "search", slowly)
        async with screen(case_in(tmp_path)) as (app, pilot):
            name = [KEYS.get(letter, letter) for letter in "vent bore"]
            burst(app, "ctrl+p", *["x", "backspace"] * 5, *name, "enter")
            await until(pilot, lambda: isinstance(app.focused, Input) and app.focused.value == "vent bore")
            await asyncio.sleep(0.3)
            assert isinstance(app.screen, Palette)
            found.set()
            await until(pilot, lambda: app.screen is app.main and app.case_form.form.focused is field(app, "vent.bore"))

    run(test())


# --- odd bytes --------------------------------------------------------------------------------

ODD = (b"3\xb12", b"\x1b[99999999999u\x1b[1;\xb1", b"\x1b[48;99999999;99999999;1;1t", b"\x1b[200~80 mm")


def test_odd_bytes_do_no_harm(tmp_path: Path) -> None:
    with terminal(tmp_path) as here:
        for data in ODD:
            here.send(TAB)
            here.read(0.3)
            here.send(data)
            here.read(1.0)
            assert here.ended() is None, data
        assert busy_for(here) < BUSY
        assert not here.faults_of_the_end(0)


# --- signals and faults -----------------------------------------------------------------------

@pytest.mark.parametrize(("sign", "wait_s"), few([
    (signal.SIGTERM, 0.05), (signal.SIGINT, 0.05), (signal.SIGHUP, 1.0), (signal.SIGQUIT, 0.05),
    (signal.SIGUSR1, 1.0)], 1))
def test_after_a_signal_the_terminal_is_clean_and_the_work_kept(sign: signal.Signals, wait_s: float,
                                                                tmp_path: Path) -> None:
    with terminal(tmp_path) as here:
        here.send(TAB + b"630 mm")
        here.read(wait_s)
        os.kill(here.pid, sign)
        assert not here.faults_of_the_end(128 + sign)
        assert len(here.drafts()) == 1 and "630 mm" in here.drafts()[0]
        assert here.case.read_text() == SHELL


@thorough
def test_signals_at_random_moments(tmp_path: Path) -> None:
    chance = random.Random(1)
    for number in range(3):
        (tmp_path / str(number)).mkdir()
        with terminal(tmp_path / str(number)) as here:
            here.send(TAB + b"63 mm\t" + chance.choice([b"", ENTER, b"\x1b", b"\x10fill", NEXT_GROUP]))
            here.read(chance.uniform(0.0, 1.0))
            sign = chance.choice([signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
            os.kill(here.pid, sign)
            assert not here.faults_of_the_end(128 + sign)
            assert len(here.drafts()) == 1 and "63 mm" in here.drafts()[0]


def test_keys_typed_before_a_signal_are_kept_however_slow_the_machine(tmp_path: Path) -> None:
    """Nor does a stop without a warning, and going on after it, leave the terminal otherwise than it was."""
    assert not held.starved(tmp_path)


@pytest.mark.parametrize("code", [0, 128 + signal.SIGTERM], ids=["by a key", "by a signal"])
def test_going_on_after_a_stop_that_came_while_it_ends_leaves_the_terminal_as_it_was(code: int, tmp_path: Path) -> None:
    slow = "import tui.terminal.driver as m, time; old = m.TerminalDriver._clean; " \
           "m.TerminalDriver._clean = lambda driver: (old(driver), time.sleep(0.2))"
    with terminal(tmp_path, slow) as here:
        assert here.waits_for(b"answers now")
        if code:
            os.kill(here.pid, signal.SIGTERM)
        else:
            here.send(b"\x11")
        for _ in range(1000):
            if here.ended() is None:
                os.kill(here.pid, signal.SIGCONT)
                here.read(0.01)
        assert not here.faults_of_the_end(code)


@pytest.mark.parametrize("stuck", few(["__import__('time').sleep(1e6)", "await __import__('asyncio').sleep(1e6)"], 1))
def test_a_signal_ends_a_screen_that_hangs(stuck: str, tmp_path: Path) -> None:
    """Whether it waits for something that never comes, or is stuck; what was typed before is kept."""
    planted = f"import tui.places.case_form as m\nasync def turn(*_): {stuck}\nm.CaseForm.turn = turn"
    with terminal(tmp_path, planted) as here:
        assert here.waits_for(b"answers now")
        here.send(TAB + b"630 mm")
        here.read(0.8)
        here.send(NEXT_GROUP + b"640 mm")
        here.read(0.5)
        os.kill(here.pid, signal.SIGTERM)
        assert not here.faults_of_the_end(128 + signal.SIGTERM)
        assert len(here.drafts()) == 1 and "630 mm" in here.drafts()[0]


PLANTED = {
    "in a key": "import tui.places.case_form as m; m.CaseForm.turn = lambda *_: 1 / 0",
    "in a message": "import tui.places.case_form as m; m.CaseForm.on_listed = lambda *_: [].pop()",
    "in drawing": "import tui.widgets.head as m; old = m.Head.show; "
                  "m.Head.show = lambda *a: old(*a) if a[1].saved else (_ for _ in ()).throw(RecursionError('deep'))",
    "in reading keys": "import tui.terminal.reader as m; old = m.Reader.feed\n"
                       "def feed(self, data):\n"
                       "    if b'\\x1b[6~' in data: raise KeyError('x')\n"
                       "    return old(self, data)\n"
                       "m.Reader.feed = feed",
}


@pytest.mark.parametrize("planted", few(PLANTED, 1))
def test_a_fault_of_ours_keeps_the_work_and_says_so_in_one_sentence(planted: str, tmp_path: Path) -> None:
    with terminal(tmp_path, PLANTED[planted]) as here:
        assert here.waits_for(b"answers now")
        here.send(TAB + b"630 mm")
        here.read(0.8)
        if here.ended() is None:
            here.send(b"\x1b[A\r" if "message" in planted else NEXT_GROUP)
        assert not here.faults_of_the_end(1)
        assert len(here.drafts()) == 1 and "630 mm" in here.drafts()[0]
        assert b"fillcalc stopped by a fault of its own" in here.seen
        assert b"Your work is kept" in here.seen.replace(b"\r\n", b" ")
        assert "Error" in (here.state / "fillcalc" / "fault.txt").read_text()


# --- typing, as a new user finds it -----------------------------------------------------------

def burst(app: Any, *keys: str) -> None:
    for key in keys:
        app.post_message(events.Key(key, {"space": " ", "enter": "\r"}.get(key, key if len(key) == 1 else None)))


SLOWLY = pytest.mark.parametrize("slowly", few([pytest.param(True, id="slowly"), pytest.param(False, id="at once")], 1))


async def typed(app: Any, pilot: Any, slowly: bool, *keys: str) -> None:
    if not slowly:
        burst(app, *keys)
    for key in keys if slowly else ():
        await pilot.press(key)
        await asyncio.sleep(0.2)
    await pilot.pause()


@pytest.mark.parametrize(("name", "typed_in", "line"), few([("trapped air", "30 mL", 'amount = "30 mL"'),
                                                            ("vent bore", "8 mm", 'bore = "8 mm"')], 1))
@SLOWLY
def test_a_value_typed_right_after_find_lands_in_the_field_found(slowly: bool, name: str, typed_in: str, line: str,
                                                               tmp_path: Path) -> None:
    """Also where an action has the same words further on in its name."""
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            await typed(app, pilot, slowly, "ctrl+p", *(KEYS.get(letter, letter) for letter in name), "enter")
            await typed(app, pilot, slowly, *(KEYS.get(letter, letter) for letter in typed_in))
            await until(pilot, lambda: app.settled and line in app.session.text)
            assert not isinstance(app.screen, Palette)

    run(test())


@SLOWLY
def test_a_name_typed_in_save_as_replaces_the_one_offered(slowly: bool, tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            await typed(app, pilot, slowly, "ctrl+e", *"valves24", "enter")
            await until(pilot, lambda: (tmp_path / "valves24.toml").exists() and app.session.saved)
            assert not isinstance(app.screen, Ask)
            assert sorted(path.name for path in tmp_path.glob("*.toml*")) == ["shell.toml", "valves24.toml"]

    run(test())


@SLOWLY
def test_typing_after_undo_replaces(slowly: bool, tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            at_field(app, "tap.pressure")
            await pilot.press("up", "down")
            await typed(app, pilot, slowly, *"5", "space", *"bar")
            await typed(app, pilot, slowly, "ctrl+z", *"320", "space", *"kPa")
            await until(pilot, lambda: app.settled and field(app, "tap.pressure").value == "320 kPa")

    run(test())


@SLOWLY
def test_a_new_case_puts_the_focus_on_its_first_figure(slowly: bool, tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            await app.case_form.go_to("pump.ratio")
            await typed(app, pilot, slowly, "ctrl+n", *"570", "space", "L")
            await until(pilot, lambda: app.session.name == "new case" and 'volume = "570 L"' in app.session.text)

    run(test())


def test_keys_typed_before_the_question_on_unsaved_work_go_nowhere(tmp_path: Path) -> None:
    draft = Drafts()
    draft.write(SHELL, None, "left")
    draft.release()

    async def test() -> None:
        async with screen(case_in(tmp_path), answered=False) as (app, pilot):
            burst(app, "escape", *"sol", "enter")
            await until(pilot, lambda: isinstance(app.screen, Pick))
            await pilot.pause(0.5)
            assert isinstance(app.screen, Pick) and "Work on left" in picture(app)
            assert app.session.text == SHELL
            await pilot.press("l")
            await until(pilot, lambda: len(app.screen_stack) == 1)
            await pilot.press("escape")
            await until(pilot, lambda: isinstance(app.screen, Menu))

    run(test())


def test_a_field_emptied_then_typed_slowly_keeps_its_comment(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            at_field(app, "vent.bore")
            await pilot.press("end", "ctrl+u")
            await until(pilot, lambda: app.settled and "a gauge port" not in app.session.text)
            await press_all(pilot, "8 mm")
            await until(pilot, lambda: app.settled and 'bore = "8 mm"' in app.session.text)
            assert "# a gauge port" in app.session.text

    run(test())


def test_compare_says_that_it_is_working_while_low_and_high_are_worked_out(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path), ranges=True) as (app, pilot):
            await until(pilot, lambda: app.session.ranged is not None)
            await pilot.press("ctrl+b")
            await until(pilot, lambda: app.session.kept is not None)
            app.answering.ranges.quiet_s = 3600.0
            app.session.put("fill.hose.1.bore", "19 mm")
            await until(pilot, lambda: app.settled)
            line = next(line for line in picture(app).splitlines() if "Time on site" in line)
            assert "working…" in line and "cannot" not in picture(app)

    run(test())


def test_what_comes_while_the_screen_closes_is_let_go(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            await until(pilot, lambda: app.settled)
            close = app._close_all

            async def closing() -> None:
                await app.case_form.remove_children()
                answered = app.session.answered
                assert answered is not None and answered.estimate is not None
                await app.on_arrived(Arrived(answered))
                app.on_other_air(OtherAir(app.session.number, answered.estimate))
                await close()

            app._close_all = closing

    run(test())
