"""The screen as a process in a terminal of its own: lost, killed, and worked from end to end by keyboard alone."""


from __future__ import annotations

import contextlib
import ctypes
import fcntl
import os
import pty
import re
import shutil
import signal
import subprocess
import sys
import termios
import time
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest

import cases
from tests.screen.support import SHELL, case_in, run, screen, until
from tests.test_remaining import CASE as VISIT
from tui.widgets.dialogs import Pick

ROOT = Path(__file__).parents[2]


def _start(path: Path, state: Path) -> tuple[int, int]:
    pid, terminal = pty.fork()
    if pid == 0:  # pragma: no cover
        os.environ.update(TERM="xterm-256color", XDG_STATE_HOME=str(state), PYTHONPATH=str(ROOT))
        code = "import sys; from tui.app import run; sys.exit(run(sys.argv[1]))"
        os.execv(sys.executable, [sys.executable, "-c", code, str(path)])
    return pid, terminal


def _wait_for(terminal: int, words: bytes, seconds: float = 120.0) -> None:
    seen = b""
    end = time.monotonic() + seconds
    os.set_blocking(terminal, False)
    while words not in seen:
        assert time.monotonic() < end, re.sub(rb"\x1b\[[0-9;?]*[a-zA-Z]", b"", seen)[-3000:]
        try:
            seen += os.read(terminal, 65536)
        except BlockingIOError:
            time.sleep(0.02)


def _wait_until(terminal: int, so: Callable[[], bool], seconds: float = 120.0) -> None:
    """Wait for something outside the screen, reading what the screen paints meanwhile."""
    seen = b""
    end = time.monotonic() + seconds
    os.set_blocking(terminal, False)
    while not so():
        assert time.monotonic() < end, re.sub(rb"\x1b\[[0-9;?]*[a-zA-Z]", b"", seen)[-3000:]
        with contextlib.suppress(BlockingIOError):
            seen += os.read(terminal, 65536)
        time.sleep(0.02)


def _type_and_lose(terminal: int, keys: bytes) -> None:
    """Keys, and the terminal gone as soon as the process has read them, when it has done little of what they say."""
    name = ctypes.CDLL(None).ptsname
    name.restype = ctypes.c_char_p
    other_side = os.open(name(terminal), os.O_RDWR | os.O_NOCTTY)
    os.write(terminal, keys)
    time.sleep(0.02)
    while int.from_bytes(fcntl.ioctl(other_side, termios.FIONREAD, bytes(4)), sys.byteorder):
        time.sleep(0.001)
    os.close(terminal)
    os.close(other_side)


def _ended(pid: int, seconds: float = 60.0) -> int:
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
    _wait_for(terminal, b"Vessel diameter")
    _wait_for(terminal, b"answers now")
    _type_and_lose(terminal, b"\t\x1b[F\x15630 mm")
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
    unsaved = state / "fillcalc" / "unsaved"
    _wait_until(terminal, lambda: any("640 mm" in file.read_text() for file in unsaved.glob("*.json")))
    os.kill(pid, signal.SIGKILL)
    _ended(pid)
    os.close(terminal)
    assert 'diameter = "630 mm"' in path.read_text()
    drafts = list((state / "fillcalc" / "unsaved").glob("*.json"))
    assert len(drafts) == 1 and "640 mm" in drafts[0].read_text()


class Terminal:
    """tmux around the screen on one case: keys in, what it shows out."""

    def __init__(self, folder: Path, path: Path, width: int, height: int) -> None:
        self.base = [str(shutil.which("tmux")), "-S", str(folder / "tmux"), "-f", "/dev/null"]
        code = 'import sys; from tui.app import run; print("ended", run(sys.argv[1]))'
        environment = {**os.environ, "PYTHONPATH": str(ROOT), "XDG_STATE_HOME": str(folder / "state")}
        environment.pop("TMUX", None)
        command = f"{sys.executable} -c '{code}' {path}; cat"
        self.call("new-session", "-d", "-s", "screen", "-x", str(width), "-y", str(height), command, env=environment)

    def call(self, *words: str, env: dict[str, str] | None = None) -> str:
        return subprocess.run([*self.base, *words], check=True, capture_output=True, text=True, env=env).stdout

    def keys(self, *sent: str) -> None:
        self.call("send-keys", "-t", "screen", *sent)
        time.sleep(0.15)

    def resize(self, width: int, height: int) -> None:
        self.call("resize-window", "-t", "screen", "-x", str(width), "-y", str(height))
        time.sleep(0.3)

    def shows(self, words: str, seconds: float = 120.0) -> str:
        """The screen once the words stand on it; fails where they never come."""
        end = time.monotonic() + seconds
        while True:
            text = self.call("capture-pane", "-p", "-t", "screen")
            if words in text:
                return text
            assert time.monotonic() < end, text
            time.sleep(0.05)


@contextlib.contextmanager
def terminal(folder: Path, path: Path, width: int = 80, height: int = 24) -> Iterator[Terminal]:
    one = Terminal(folder, path, width, height)
    try:
        yield one
    finally:
        subprocess.run([*one.base, "kill-server"], check=False)


TMUX = pytest.mark.skipif(shutil.which("tmux") is None, reason="no tmux on this machine; .ci/run installs it")


@TMUX
def test_a_change_and_a_range_in_a_real_terminal(tmp_path: Path) -> None:
    """The first look at 80 x 24, a change and a range by keys, a resize to nothing and back, out by Esc Q."""
    path = case_in(tmp_path)
    with terminal(tmp_path, path) as one:
        text = one.shows("61 strokes")
        assert len(text.rstrip("\n").splitlines()) == 24
        assert "31 min" in text and "61 strokes" in text
        one.keys("Down", "Down", "Down", "Down", "Down", "Down", "End", "C-u")
        one.keys("80 m")
        one.shows("80 m")
        one.shows("answers now")
        one.shows("46 min")
        one.keys("M-g")
        one.shows("Range of fill hose length, now 80 m")
        one.keys("Escape")
        one.shows("Esc menu, help")
        one.keys("F10", "+-20 %", "Enter")
        one.shows("Range of fill hose length: ±20 %.")
        assert re.search("80 m +±20 %", one.shows("low 64,"))
        one.resize(20, 5)
        one.resize(120, 36)
        one.shows("Pressure losses")
        one.keys("M-3")
        one.shows("[3 Pump-up]")
        one.keys("Escape")
        one.shows("Press a letter")
        one.keys("f")
        one.shows("File: press a letter")
        one.keys("q")
        one.shows("not saved")
        one.keys("t")
        one.shows("ended 0")
    assert path.read_text() == SHELL


@TMUX
def test_choosing_in_the_shop_in_a_real_terminal(tmp_path: Path) -> None:
    """The kit tried on the case, one taken, taken back and taken again, saved, a page written, out by Ctrl+Q."""
    shutil.copy(Path(cases.__file__).parent / "kit.toml", tmp_path / "kit.toml")
    path = case_in(tmp_path)
    with terminal(tmp_path, path) as one:
        one.shows("answers now")
        one.keys("Escape")
        one.shows("5 Kit")
        one.keys("5")
        text = one.shows("The best.")
        assert len(text.rstrip("\n").splitlines()) == 24 and "lay-flat, 30 m" in text.splitlines()[12]
        one.keys("Down", "Up", "Enter")
        one.shows("Taken: lay-flat, 30 m with ten to one.")
        one.keys("C-z", "M-1")
        one.shows("Fill hose length  22 m")
        one.keys("F12")
        one.shows("The best.")
        one.keys("Enter")
        one.shows("Taken: ")
        one.keys("C-s")
        one.shows("· saved ·")
        one.keys("M-x")
        one.shows("Write the page to")
        one.keys("Enter")
        one.shows("Written:", 40.0)
        one.keys("C-q")
        one.shows("ended 0")
    assert 'length = "30 m"' in path.read_text() and 'bore = "38 mm"' in path.read_text()
    assert "lay-flat" not in path.read_text()
    assert "<svg" in (tmp_path / "shell.html").read_text(encoding="utf-8")


AT = r"(\d+):(\d+)(?: \(\+1 d\))?"
LEAVE = re.compile(rf"Ready to leave at about {AT}, {AT} to {AT}")


def _leaving(text: str) -> tuple[int, int]:
    """Minutes of the day at which the work is likely done, and from low to high."""
    found = LEAVE.search(text)
    assert found, text
    hours = [60 * int(found[n]) + int(found[n + 1]) for n in (1, 3, 5)]
    return hours[0], (hours[2] - hours[1]) % (24 * 60)


@TMUX
def test_the_stage_clock_in_a_real_terminal(tmp_path: Path) -> None:
    """A fill that has run an hour ends: the time of leaving moves, no less sure; killed, all is there again."""
    begun = datetime.now() - timedelta(minutes=60)
    text = VISIT.format(count=1).replace('"570 L"', '"1500 L"').replace('"12.7 mm"', '"19 mm"')
    took = f'wait = "10 min"\nset_up = "30 min"\nconnect = "20 min"\nrunning = "fill"\n' \
           f'since = "{begun:%Y-%m-%d %H:%M:%S}"\n'
    path = case_in(tmp_path, text + took)
    with terminal(tmp_path, path) as one:
        one.shows("answers now")
        one.keys("M-4")
        one.shows("Ready to leave at about", 60.0)
        time.sleep(3.0)  # until all samples have come
        before = _leaving(one.shows("Ready to leave at about", 60.0))
        one.shows("Stage: fill, 1 h 00 min so far")
        one.keys("n")
        one.shows("Next stage: bleed")
        one.shows("Fill took 60 min")
        time.sleep(3.0)
        after = _leaving(one.shows("Ready to leave at about", 60.0))
        assert after != before and after[1] <= before[1]  # told to five minutes
        assert re.search(r"fill +1 h 00 min", one.shows("taken"))
        time.sleep(1.5)
        one.call("respawn-pane", "-k", "-t", "screen")
        one.shows("was not saved", 60.0)
        one.keys("o")
        one.keys("M-4")
        one.shows("Stage: bleed", 60.0)
        one.shows("Ready to leave at about", 60.0)
        one.keys("C-p")
        one.keys("fill took")
        one.shows("Fill taken  (What it took)")
        one.keys("Enter")
        one.shows("Write: 36 min")
        one.keys("50 min", "Enter")
        one.keys("M-4")
        one.shows("Stage clock")
        assert re.search(r"fill +50 min", one.shows(" 50 min"))
