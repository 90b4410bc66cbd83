"""The screen in a real terminal that is dropped, killed, shrunk, flooded, or hardly one at all.

Each trial is a function of an empty folder that gives the faults it saw, none where all is well.
"""

from __future__ import annotations

import errno
import fcntl
import json
import os
import pty
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from functools import partial
from pathlib import Path

from tests.faults.texts import ROOT, demos

PATIENCE_S = 120.0
"""How long a busy machine may take over anything."""
KEPT_WITHIN_S = 2.5
"""Unsaved work is on disk a second after the last key; a busy machine is given more."""

Settings = dict[str, str | None]


class Terminal:
    """A screen that runs in a terminal of its own."""

    def __init__(self, folder: Path, around: Settings | None = None, size: tuple[int, int] = (80, 24)) -> None:
        self.case = folder / "job.toml"
        self.text = demos()["cooler-shell"]
        self.case.write_bytes(self.text)
        self.state = folder / "state"
        wanted: Settings = {"TERM": "xterm-256color", "XDG_STATE_HOME": str(self.state), "PYTHONPATH": str(ROOT),
                            "NO_COLOR": None, **(around or {})}
        env = {**os.environ, **{key: value for key, value in wanted.items() if value is not None}}
        for key, value in wanted.items():
            if value is None:
                env.pop(key, None)
        self.seen = b""
        self.pid, self.handle = pty.fork()
        if self.pid == 0:
            os.chdir(folder)
            os.execve(sys.executable, [sys.executable, "-m", "tui", "open", str(self.case)], env)
        self.resize(*size)
        os.set_blocking(self.handle, False)

    def resize(self, columns: int, rows: int) -> None:
        fcntl.ioctl(self.handle, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    def read(self, seconds: float = 0.0) -> None:
        """Take in what the screen draws for so long."""
        end = time.monotonic() + seconds
        while True:
            ready, _, _ = select.select([self.handle], [], [], max(0.0, end - time.monotonic()))
            if not ready:
                return
            try:
                data = os.read(self.handle, 1 << 16)
            except BlockingIOError:
                continue
            except OSError as error:
                if error.errno == errno.EIO:  # the other end is closed
                    return
                raise
            if not data:
                return
            self.seen += data

    def waits_for(self, words: bytes) -> bool:
        """Whether the words come, from here on."""
        end = time.monotonic() + PATIENCE_S
        while words not in self.seen:
            if time.monotonic() > end or self.ended() is not None:
                return False
            self.read(0.05)
        return True

    def send(self, data: bytes) -> None:
        """Type or paste; what the screen draws meanwhile is taken in, so that neither waits for the other."""
        while data:
            try:
                data = data[os.write(self.handle, data):]
            except BlockingIOError:
                self.read(0.02)

    def ended(self) -> int | None:
        """The exit code, less than zero for a signal; None while it runs."""
        try:
            done, status = os.waitpid(self.pid, os.WNOHANG)
        except ChildProcessError:
            return self._code
        if not done:
            return None
        self._code = os.waitstatus_to_exitcode(status)
        return self._code

    _code: int = 0

    def ends(self) -> bool:
        """Whether it ends by itself."""
        end = time.monotonic() + PATIENCE_S
        while self.ended() is None:
            if time.monotonic() > end:
                return False
            if self.handle >= 0:
                self.read(0.02)
            else:
                time.sleep(0.02)
        return True

    def hang_up(self) -> None:
        os.close(self.handle)
        self.handle = -1

    def drafts(self) -> list[str]:
        return [json.loads(file.read_text(encoding="utf-8"))["text"]
                for file in sorted((self.state / "fillcalc" / "unsaved").glob("*.json"))]


@contextmanager
def terminal(folder: Path, around: Settings | None = None, size: tuple[int, int] = (80, 24)) -> Iterator[Terminal]:
    """A screen with its first answers, ended for certain afterwards."""
    here = Terminal(folder, around, size)
    try:
        yield here
    finally:
        if here.ended() is None:
            os.kill(here.pid, signal.SIGKILL)
            os.waitpid(here.pid, 0)
        if here.handle >= 0:
            os.close(here.handle)


def _talk(here: Terminal) -> list[str]:
    return ["traceback"] if b"Traceback" in here.seen else []


def _type_a_change(here: Terminal) -> list[str]:
    """Another height, in the second field; the screen must have its answers first."""
    if not here.waits_for(b"answers now"):
        return [f"no answers came: {here.seen[-300:]!r}"]
    here.seen = b""
    here.send(b"\t\x1b[F\x15630 mm")
    return [] if here.waits_for(b"630") else ["what is typed does not show"]


# --- dropped and killed -----------------------------------------------------------------------

def _work_is_kept(here: Terminal) -> list[str]:
    faults = [] if here.case.read_bytes() == here.text else ["the file was changed"]
    drafts = here.drafts()
    return faults + ([] if len(drafts) == 1 and "630 mm" in drafts[0] else [f"the work is lost: {len(drafts)} drafts"])


def ended_by(sign: signal.Signals, wait_s: float, folder: Path) -> list[str]:
    with terminal(folder) as here:
        faults = _type_a_change(here)
        here.read(wait_s)
        if here.ended() is not None:
            return [*faults, "ended before its time"]
        os.kill(here.pid, sign)
        if not here.ends():
            faults.append("does not end")
        if sign != signal.SIGKILL and here.ended() != 128 + sign:
            faults.append(f"ends with {here.ended()}")
        return faults + _work_is_kept(here) + _talk(here)


def ended_by_several(folder: Path) -> list[str]:
    """A terminal that goes sends more than one signal, and the second comes while the first is being answered."""
    faults = []
    for pause_s in (0.0, 0.003):
        here_too = folder / f"{pause_s}"
        here_too.mkdir()
        with terminal(here_too) as here:
            faults += _type_a_change(here)
            here.read(0.1)
            with suppress(ProcessLookupError):
                for sign in (signal.SIGHUP, signal.SIGTERM, signal.SIGHUP) * 5:
                    os.kill(here.pid, sign)
                    time.sleep(pause_s)
            if not here.ends():
                faults.append(f"does not end, signals {pause_s} s apart")
            faults += _work_is_kept(here) + _talk(here)
    return faults


def hung_up(wait_s: float, folder: Path) -> list[str]:
    with terminal(folder) as here:
        faults = _type_a_change(here)
        here.read(wait_s)
        here.hang_up()
        if not here.ends():
            faults.append("does not end")
        return faults + _work_is_kept(here) + _talk(here)


def killed_while_idle(sign: signal.Signals, folder: Path) -> list[str]:
    """Nothing was typed: nothing is kept, nothing is lost."""
    with terminal(folder) as here:
        faults = [] if here.waits_for(b"answers now") else ["no answers came"]
        os.kill(here.pid, sign)
        faults += [] if here.ends() else ["does not end"]
        return faults + ([f"drafts of nothing: {len(here.drafts())}"] if here.drafts() else []) + _talk(here)


# --- shrunk, flooded --------------------------------------------------------------------------

def quits(here: Terminal, saved: bool = True) -> list[str]:
    """Control-Q ends it with 0; unsaved work is asked for and thrown away."""
    here.seen = b""
    here.send(b"\x11")
    if not saved:
        if not here.waits_for(b"Throw"):
            return [f"does not ask about unsaved work: {here.seen[-300:]!r}"]
        here.read(0.3)
        here.send(b"t")
    if not here.ends():
        return ["does not quit"]
    return [] if here.ended() == 0 else [f"ends with {here.ended()}"]


SIZES = ((1, 1), (0, 0), (2, 1), (79, 24), (80, 23), (1, 200), (500, 1), (80, 24), (3, 3), (1000, 400), (200, 60),
         (10, 10), (120, 36), (80, 24))


def resized(folder: Path) -> list[str]:
    """To nothing, to everything and back, slowly and in a burst."""
    with terminal(folder) as here:
        if not here.waits_for(b"answers now"):
            return ["no answers came"]
        for wait_s in (0.15, 0.0):
            for columns, rows in SIZES:
                here.resize(columns, rows)
                here.read(wait_s)
                if here.ended() is not None:
                    return [f"ended at {columns} x {rows}", *_talk(here)]
        here.seen = b""
        here.resize(80, 25)
        faults = [] if here.waits_for(b"Tap pressure") else ["never drawn again"]
        return faults + _talk(here) + quits(here)


def started_at(size: tuple[int, int], folder: Path) -> list[str]:
    with terminal(folder, size=size) as here:
        here.read(2.5)
        if here.ended() is not None:
            return [f"ended at {size}", *_talk(here)]
        here.resize(80, 25)  # a terminal without a size is taken for one of 80 x 24
        faults = [] if here.waits_for(b"Tap pressure") else ["never drawn"]
        return faults + _talk(here) + quits(here)


def pasted(data: bytes, marked: bool, folder: Path) -> list[str]:
    """A flood into a field; afterwards the screen must answer to its keys."""
    with terminal(folder) as here:
        if not here.waits_for(b"answers now"):
            return ["no answers came"]
        here.send(b"\t")
        here.read(0.3)
        start = time.monotonic()
        here.send(b"\x1b[200~" + data + b"\x1b[201~" if marked else data)
        here.read(1.0)
        if here.ended() is not None:
            return ["ended", *_talk(here)]
        here.send(b"\x11")
        if not here.waits_for(b"Throw") and here.ended() is None:
            return [f"hang: no answer to a key {time.monotonic() - start:.0f} s after the paste", *_talk(here)]
        if here.ended() is None:  # it took the paste for a change and asks about it; else it refused it
            here.read(0.3)
            here.send(b"t")
        faults = [] if here.ends() and here.ended() == 0 else [f"does not quit: {here.seen[-300:]!r}"]
        return faults + _talk(here) + ([] if here.case.read_bytes() == here.text else ["the file was changed"])


# --- hardly a terminal ------------------------------------------------------------------------

def in_surroundings(around: Settings, folder: Path) -> list[str]:
    """The answers come and it quits, whatever stands in the environment."""
    with terminal(folder, around) as here:
        if not here.waits_for(b"L/min"):
            return [f"no answers came: {here.seen[-300:]!r}"]
        here.read(0.5)
        if around.get("HOME", "") is None:  # the home is the person's own, and it may ask about unsaved work there
            for _ in range(20):
                if b"not saved" in here.seen:
                    break
                here.read(0.1)
            here.read(0.5)
        here.send(b"\x1b")
        here.read(0.3)
        return quits(here) + _talk(here)


def without_colour(folder: Path) -> list[str]:
    """NO_COLOR: no sequence that sets a colour reaches the terminal."""
    with terminal(folder, {"NO_COLOR": "1"}) as here:
        if not here.waits_for(b"answers now"):
            return ["no answers came"]
        here.read(0.5)
        coloured = [mark for mark in (b"38;5;", b"48;5;", b"38;2;", b"48;2;") if mark in here.seen]
        return [f"colours: {coloured}" for _ in coloured[:1]] + quits(here) + _talk(here)


def state_cannot_be_kept(folder: Path) -> list[str]:
    """A state folder that cannot be made: the screen says so, goes on, and asks on the way out."""
    (folder / "state").write_text("a file where the folder should be")
    with terminal(folder) as here:
        faults = _type_a_change(here)
        if not here.waits_for(b"cannot be kept"):
            faults.append("does not say that unsaved work cannot be kept")
        return faults + quits(here, saved=False) + _talk(here)


def state_disk_full(folder: Path) -> list[str]:
    """The same on a disk without room; where none can be mounted, this is the trial above."""
    state = folder / "state"
    state.mkdir()
    if os.getuid() != 0 or subprocess.run(["mount", "-t", "tmpfs", "-o", "size=8k", "tmpfs", str(state)],
                                          capture_output=True, check=False).returncode:
        state.rmdir()
        return state_cannot_be_kept(folder)
    try:
        (state / "filler").write_bytes(b"x" * 8192)
        with terminal(folder) as here:
            faults = _type_a_change(here)
            if not here.waits_for(b"cannot be kept"):
                faults.append("does not say that unsaved work cannot be kept")
            return faults + quits(here, saved=False) + _talk(here)
    finally:
        subprocess.run(["umount", str(state)], check=False, capture_output=True)


MEGABYTE = 1_000_000

TERMINALS: dict[str, Callable[[Path], list[str]]] = {
    **{f"{sign.name} {words} typing": partial(ended_by, sign, wait_s)
       for sign in (signal.SIGHUP, signal.SIGTERM, signal.SIGINT, signal.SIGQUIT)
       for words, wait_s in (("just after", 0.1), ("long after", 1.5))},
    "SIGKILL a while after typing": partial(ended_by, signal.SIGKILL, KEPT_WITHIN_S),
    "several signals one after the other": ended_by_several,
    "terminal dropped just after typing": partial(hung_up, 0.1),
    "terminal dropped long after typing": partial(hung_up, 1.5),
    **{f"{sign.name} with nothing typed": partial(killed_while_idle, sign)
       for sign in (signal.SIGHUP, signal.SIGTERM, signal.SIGKILL)},
    "resized to nothing and back": resized,
    **{f"started at {columns} x {rows}": partial(started_at, (columns, rows))
       for columns, rows in ((1, 1), (0, 0), (20, 5), (400, 100))},
    "a megabyte pasted into a field": partial(pasted, b"9" * MEGABYTE, True),
    "a megabyte of lines pasted": partial(pasted, b"24 bar\r\n" * (MEGABYTE // 8), True),
    "a megabyte of signs pasted": partial(pasted, "Ünïcødé ‮ 🧪".encode() * (MEGABYTE // 20), True),
    "NO_COLOR": without_colour,
    **{name: partial(in_surroundings, around) for name, around in {
        "TERM=dumb": {"TERM": "dumb"}, "no TERM": {"TERM": None}, "TERM unknown": {"TERM": "nonesuch"},
        "TERM=linux": {"TERM": "linux"}, "TERM=vt100": {"TERM": "vt100"},
        "LC_ALL=C": {"LC_ALL": "C"}, "C locale without UTF-8": {"LC_ALL": "C", "PYTHONUTF8": "0",
                                                               "PYTHONCOERCECLOCALE": "0"},
        "no HOME": {"HOME": None, "XDG_STATE_HOME": None}, "HOME that is nowhere": {
            "HOME": "/nonexistent", "XDG_STATE_HOME": None},
        "COLUMNS and LINES of nonsense": {"COLUMNS": "-3", "LINES": "x"}}.items()},
    "state folder cannot be made": state_cannot_be_kept,
    "state disk full": state_disk_full,
}
