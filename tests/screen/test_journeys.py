"""What a technician does from start to end, by keyboard alone."""

from __future__ import annotations

import contextlib
import os
import pty
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

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


# --- outside: a process in a terminal of its own ------------------------------------------------

def _start(path: Path, state: Path) -> tuple[int, int]:
    pid, terminal = pty.fork()
    if pid == 0:  # pragma: no cover
        os.environ.update(TERM="xterm-256color", XDG_STATE_HOME=str(state), PYTHONPATH=str(ROOT))
        code = "import sys; from tui.app import run; sys.exit(run(sys.argv[1]))"
        os.execv(sys.executable, [sys.executable, "-c", code, str(path)])
    return pid, terminal


def _wait_for(terminal: int, words: bytes, seconds: float = 20.0) -> None:
    seen = b""
    end = time.monotonic() + seconds
    os.set_blocking(terminal, False)
    while words not in seen:
        assert time.monotonic() < end, seen[-2000:]
        try:
            seen += os.read(terminal, 65536)
        except BlockingIOError:
            time.sleep(0.02)


def _wait_until(terminal: int, so: Callable[[], bool], seconds: float = 20.0) -> None:
    """Wait for something outside the screen, reading what the screen paints meanwhile."""
    seen = b""
    end = time.monotonic() + seconds
    os.set_blocking(terminal, False)
    while not so():
        assert time.monotonic() < end, seen[-2000:]
        with contextlib.suppress(BlockingIOError):
            seen += os.read(terminal, 65536)
        time.sleep(0.02)


def _ended(pid: int, seconds: float = 10.0) -> int:
    end = time.monotonic() + seconds
    while True:
        done, status = os.waitpid(pid, os.WNOHANG)
        if done:
            return status
        assert time.monotonic() < end, "the process did not end"
        time.sleep(0.02)


@pytest.mark.skipif(sys.platform == "win32", reason="terminals of this kind are not there")
def test_a_lost_terminal_ends_the_process_with_the_work_kept(tmp_path: Path) -> None:
    """Type, lose the terminal at once, start again: the work is offered."""
    path, state = case_in(tmp_path), tmp_path / "state"
    pid, terminal = _start(path, state)
    _wait_for(terminal, b"Diameter")
    _wait_for(terminal, b"answers now")
    os.write(terminal, b"\t\x1b[F\x15630 mm")
    time.sleep(0.1)
    os.close(terminal)
    _ended(pid)
    drafts = list((state / "fillcalc" / "unsaved").glob("*.json"))
    assert len(drafts) == 1
    assert "630 mm" in drafts[0].read_text()
    assert path.read_text() == SHELL

    async def again() -> None:
        async with screen(path, answered=False) as (app, pilot):
            await until(pilot, lambda: isinstance(app.screen, Pick))
            await pilot.press("o")
            await until(pilot, lambda: app.settled and "630 mm" in app.session.text)

    run(again())


@pytest.mark.skipif(sys.platform == "win32", reason="terminals of this kind are not there")
def test_save_kill_and_reopen(tmp_path: Path) -> None:
    """What was saved is in the file, what was not is offered, after the hardest kill."""
    path, state = case_in(tmp_path), tmp_path / "state"
    pid, terminal = _start(path, state)
    _wait_for(terminal, b"answers now")
    os.write(terminal, b"\t\x1b[F\x15630 mm\x13")
    _wait_until(terminal, lambda: 'diameter = "630 mm"' in path.read_text())
    os.write(terminal, b"\x15640 mm")
    time.sleep(1.2)
    os.kill(pid, signal.SIGKILL)
    _ended(pid)
    os.close(terminal)
    assert 'diameter = "630 mm"' in path.read_text()
    drafts = list((state / "fillcalc" / "unsaved").glob("*.json"))
    assert len(drafts) == 1 and "640 mm" in drafts[0].read_text()


@pytest.mark.skipif(shutil.which("tmux") is None, reason="no tmux on this machine; .ci/run installs it")
def test_in_a_real_terminal(tmp_path: Path) -> None:
    """tmux: the first look at 80 x 24, a change by keys, a resize to nothing and back, out by Esc Q."""
    tmux = str(shutil.which("tmux"))
    path = case_in(tmp_path)
    base = [tmux, "-S", str(tmp_path / "tmux"), "-f", "/dev/null"]

    def keys(*sent: str) -> None:
        subprocess.run([*base, "send-keys", "-t", "screen", *sent], check=True)
        time.sleep(0.15)

    def shows(words: str, seconds: float = 20.0) -> str:
        end = time.monotonic() + seconds
        while True:
            text = subprocess.run([*base, "capture-pane", "-p", "-t", "screen"], check=True, capture_output=True,
                                  text=True).stdout
            if words in text:
                return text
            assert time.monotonic() < end, text
            time.sleep(0.05)

    code = 'import sys; from tui.app import run; print("ended", run(sys.argv[1]))'
    command = f"{sys.executable} -c '{code}' {path}; cat"
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "XDG_STATE_HOME": str(tmp_path / "state")}
    environment.pop("TMUX", None)
    subprocess.run([*base, "new-session", "-d", "-s", "screen", "-x", "80", "-y", "24", command], check=True,
                   env=environment)
    try:
        text = shows("answers now")
        assert len(text.rstrip("\n").splitlines()) == 24
        assert "30 min" in text and "60 strokes" in text
        keys("Down", "Down", "Down", "Down", "Down", "End", "C-u")
        keys("80 m")
        shows("80 m")
        shows("answers now")
        assert "30 min" not in shows("Fill").splitlines()[1]
        subprocess.run([*base, "resize-window", "-t", "screen", "-x", "20", "-y", "5"], check=True)
        time.sleep(0.3)
        subprocess.run([*base, "resize-window", "-t", "screen", "-x", "120", "-y", "36"], check=True)
        shows("1 of 7")
        keys("Escape")
        shows("Press a letter")
        keys("q")
        shows("not saved")
        keys("t")
        shows("ended 0")
    finally:
        subprocess.run([*base, "kill-server"], check=False)
    assert path.read_text() == SHELL
