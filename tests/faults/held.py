"""Keys held down, streams of bytes and signals at every stage, in a terminal that is looked at afterwards.

The other end of the terminal stays open here, so that its settings can be compared with those before the start.
"""

from __future__ import annotations

import os
import pty
import random
import signal
import sys
import termios
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

from tests.faults.terminals import PATIENCE_S
from tests.faults.terminals import Terminal as Plain
from tests.faults.texts import ROOT

SHELL = (ROOT / "tests" / "screen" / "shell.toml").read_text(encoding="utf-8")
GAS = (ROOT / "cases" / "gas-valve-seat.toml").read_text(encoding="utf-8")

SIGNALS = (signal.SIGTERM, signal.SIGHUP, signal.SIGINT, signal.SIGQUIT)
DOWN, NEXT_GROUP, ENTER, TAB = b"\x1b[B", b"\x1b[6~", b"\r", b"\t"
STILL_S = 1.0
BUSY = 4.0
"""Seconds of the processor that leaving and quitting may take; a busy machine makes them no more."""


COPIES = False
"""Whether a screen is a copy of this process with all modules loaded, which begins sooner than a Python of its own."""


class Terminal(Plain):
    """A screen in a terminal whose other end stays open here, to see in what state it is left."""

    def __init__(self, folder: Path, planted: str = "", size: tuple[int, int] = (80, 24), text: str = SHELL,
                 fresh: bool = False) -> None:
        self.case = folder / "shell.toml"
        self.case.write_text(text, encoding="utf-8")
        self.text = text.encode()
        self.state = folder / "state"
        self.seen = b""
        self.handle, self.other = pty.openpty()
        self.before = termios.tcgetattr(self.other)
        environment = {**os.environ, "TERM": "xterm-256color", "XDG_STATE_HOME": str(self.state),
                       "PYTHONPATH": str(ROOT)}
        code = f"import sys; {planted}\nfrom tui.command.main import main; sys.exit(main(['open', sys.argv[1]]))"
        self.pid = os.fork()
        if self.pid == 0:  # pragma: no cover
            os.setsid()
            for sign in SIGNALS:  # as a terminal starts it, even where this was started in the background
                signal.signal(sign, signal.SIG_DFL)
            os.login_tty(self.other) if hasattr(os, "login_tty") else [os.dup2(self.other, n) for n in (0, 1, 2)]
            if COPIES and not fresh:
                _run_here(str(self.case), environment, planted)
            os.execve(sys.executable, [sys.executable, "-c", code, str(self.case)], environment)
        self.resize(*size)
        os.set_blocking(self.handle, False)

    def worked_s(self) -> float:
        """Seconds of the processor that the screen has had, by the system; by the clock where it does not say."""
        try:
            numbers = Path(f"/proc/{self.pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
        except OSError:
            return time.monotonic()
        return (int(numbers[11]) + int(numbers[12])) / os.sysconf("SC_CLK_TCK")

    def hold(self, key: bytes, seconds: float, rate: float = 30.0) -> None:
        began, number = time.monotonic(), 0
        while time.monotonic() - began < seconds and self.ended() is None:
            self.send(key)
            number += 1
            self.read(max(0.0, began + number / rate - time.monotonic()))

    def faults_of_the_end(self, *codes: int) -> list[str]:
        """The exit code, the settings of the terminal, and what was switched off in it."""
        faults = [] if self.ends() else ["does not end"]
        self.read(0.3)
        if self.ended() not in codes:
            faults.append(f"exit code {self.ended()}, not {' or '.join(map(str, codes))}")
        if termios.tcgetattr(self.other) != self.before:
            faults.append("the terminal is left raw")
        faults += [f"mode {mode} is left on" for mode in (1000, 1003, 1006, 2004, 1049, 1004)
                   if self.seen.rfind(b"\x1b[?%dl" % mode) < self.seen.rfind(b"\x1b[?%dh" % mode)]
        if self.seen.rfind(b"\x1b[?25h") < self.seen.rfind(b"\x1b[?25l"):
            faults.append("the cursor is left hidden")
        return faults + (["a traceback is shown"] if b"Traceback" in self.seen else [])


def _run_here(case: str, environment: dict[str, str], planted: str) -> None:
    """Be the screen, in a process that was copied from one with all modules loaded, and end."""
    from tui.command.main import main

    code = 1
    try:
        os.environ.update(environment)
        for name, handle, mode in (("stdin", 0, "r"), ("stdout", 1, "w"), ("stderr", 2, "w")):
            stream = open(handle, mode, encoding="utf-8", closefd=False)  # noqa: SIM115
            setattr(sys, name, stream)
            setattr(sys, f"__{name}__", stream)
        exec(planted, {})
        code = main(["open", case])
        sys.stdout.flush()
    finally:
        os._exit(code)


@contextmanager
def terminal(folder: Path, planted: str = "", size: tuple[int, int] = (80, 24), text: str = SHELL,
             fresh: bool = False) -> Iterator[Terminal]:
    """A screen in its terminal, ended for certain afterwards; a fresh one is a Python of its own in any case."""
    here = Terminal(folder, planted, size, text, fresh)
    try:
        yield here
    finally:
        if here.ended() is None:
            os.kill(here.pid, signal.SIGKILL)
            os.waitpid(here.pid, 0)
        os.close(here.handle)
        os.close(here.other)


def busy_for(here: Terminal) -> float:
    """Leave whatever is open and quit; how much work that was until the screen asks or ends, s."""
    here.seen, began, worked = b"", time.monotonic(), here.worked_s()
    here.send(b"\x1b")
    here.read(0.2)
    here.send(b"\x11")
    took = 0.0
    while here.ended() is None and b"Throw" not in here.seen and time.monotonic() - began < 60.0:
        took = here.worked_s() - worked
        here.read(0.02)
    here.read(0.3)
    if here.ended() is None:
        here.send(b"t")
    return took


# --- keys held down ---------------------------------------------------------------------------

WHERE = {"a choice": b"", "a field": TAB, "the menu": b"\x1b", "a list": ENTER, "a line": b"\x05",
         "a report": b"\x12", "the palette": b"\x10", "a deed": NEXT_GROUP * 3 + b"\x1b[A",
         "a picture": b"\x1b3", "the hold": b"\x1b4", "the kit": b"\x1b5"}
"""Keys that bring the focus to each kind of thing that takes it."""
WITH_GAS = {"a choice of the gas": b"", "a field of the gas": NEXT_GROUP + TAB, "a list of the gas": ENTER,
            "the picture of the gas": b"\x1b2", "the kit of the gas": b"\x1b5"}
"""The same of a test with gas."""
HELD_KEYS = {"Enter": ENTER, "Down": DOWN, "Next group": NEXT_GROUP, "a letter": b"l", "Right": b"\x1b[C",
             "Space": b" ", "Tab": TAB}
HELD_S = 10.0


def held_down(where: str, key: str, rate: float, folder: Path, seconds: float = HELD_S) -> list[str]:
    """A key held down does no harm, and all is still soon after."""
    with terminal(folder, size=(120, 36), text=GAS if where in WITH_GAS else SHELL) as here:
        if not here.waits_for(b"answers now"):
            return [f"no answers came: {here.seen[-300:]!r}"]
        here.send((WHERE | WITH_GAS)[where])
        here.read(0.5)
        here.hold(HELD_KEYS[key], seconds, rate)
        faults = [] if here.ended() in (None, 0) else [f"dies: {here.seen[-300:]!r}"]
        here.read(STILL_S)
        if here.ended() is None and (took := busy_for(here)) > BUSY:
            faults.append(f"busy for {took:.0f} s after the keys")
        return faults + here.faults_of_the_end(0)


# --- streams of bytes -------------------------------------------------------------------------

PIECES = (b"\x1b", b"\x1b[", b"\x1bO", b"\x1b]0;", b"\x1bP", b"\x1b[200~", b"\x1b[201~", b"\x1b[<0;5;5M", b"\x1b[M   ",
          b"\x1b[1;99999999R", b"\x1b[?1;2c", b"\x1b[I", b"\x1b[O", b"\x1b[48;1;1;1;1t", b"\x9b", b"\xb1", b"\xff\xfe",
          b"\xe2\x82", b"\xf0\x9f\xa7\xaa", b"\x00", b"\x7f", b"\r", b"\t", b"\x1b[A", b"\x1b[B", b"24 bar", b"\x1b[6~",
          b"\x1b[27;5;99~", b"\x1b[97;5u", b"\x1b[;;;;;;u", b";" * 50, b"9" * 400)
SIZE = b"\x1b[48;24;80;480;640t"
"""The terminal's own word on its size; one in the stream may have told another."""
LEFT_OUT = b"\x11\x13\x03\x1a\x1c"
"""Keys that quit, save, or have the terminal send a signal."""


def stream(seed: int, length: int = 1500) -> bytes:
    """Bytes as a bad line, another program or a cat on the keyboard would send them."""
    dice, data = random.Random(seed), b""
    while len(data) < length:
        data += dice.choice(PIECES) if dice.random() < 0.6 else dice.randbytes(dice.randint(1, 8))
    return data.translate(None, LEFT_OUT)


def streamed(seed: int, folder: Path) -> list[str]:
    """A stream of odd bytes: it lives or was told to quit, the file is as it was, and it still answers."""
    with terminal(folder) as here:
        if not here.waits_for(b"answers now"):
            return [f"no answers came: {here.seen[-300:]!r}"]
        here.send(TAB)
        here.read(0.3)
        data = stream(seed)
        for start in range(0, len(data), 50):
            here.send(data[start:start + 50])
            here.read(0.01)
        here.read(0.7)  # a paste that was begun ends by time
        if here.ended() is None:
            here.send(SIZE)
        here.read(STILL_S)
        faults = [] if here.ended() in (None, 0) else [f"dies: {here.seen[-300:]!r}"]
        if here.ended() is None and (took := busy_for(here)) > BUSY:
            faults.append(f"busy for {took:.0f} s after the bytes")
        return faults + here.faults_of_the_end(0) + (
            [] if here.case.read_bytes() == here.text else ["the file was changed"])


# --- signals at every stage -------------------------------------------------------------------

STAGES = {"while Python starts": (0.05, b""), "while the screen starts": (0.5, b""),
          "before the first answers": (0.9, b""), "at rest": (None, b""), "in the menu": (None, b"\x1b"),
          "over a list": (None, ENTER), "over a line": (None, b"\x05"), "over a report": (None, b"\x12"),
          "over a chart": (None, b"\x14"), "over the palette": (None, b"\x10ven"),
          "after typing": (None, TAB + b"630 mm"), "asked about unsaved work": (None, TAB + b"630 mm\x11"),
          "while keys are held": (None, TAB + DOWN * 40), "while somebody types on": (None, TAB + b"\x1b[F\x15630 mm")}
"""When the signal comes: so many seconds after the start, or after the first answers and these keys."""
KEEPS_NOTHING = "import tui.state.workers as m; m.Autosave.ask = lambda *_: None"
"""Planted where nobody but the end itself shall keep the work: else it is kept in any pause of the typing."""
DRAFT_S = 0.33
"""Typing older than this is kept."""


def signalled(sign: signal.Signals, stage: str, folder: Path) -> list[str]:
    """The terminal as it was, the code by convention, and what was typed kept."""
    wait_s, keys = STAGES[stage]
    types_on = stage == "while somebody types on"
    with terminal(folder, KEEPS_NOTHING if types_on else "", fresh=wait_s is not None) as here:
        if wait_s is None:
            if not here.waits_for(b"answers now"):
                return [f"no answers came: {here.seen[-300:]!r}"]
            here.send(keys)
            if types_on:
                here.hold(b" ", 3.0 * DRAFT_S, 20.0)
            else:
                here.read(3.0 * DRAFT_S)
        else:
            here.read(wait_s)
        if here.ended() is not None:
            return ["ended before its time"]
        os.kill(here.pid, sign)
        if types_on:
            here.hold(b" ", 1.0, 20.0)
        own = -int(sign)  # before the screen is there, the system's own way to end: a shell says 128 + n of both
        faults = here.faults_of_the_end(128 + sign, *([own] if wait_s is not None else []))
        if b"630" in keys and not any("630 mm" in draft for draft in here.drafts()):
            faults.append("the work is lost")
        return faults + ([] if here.case.read_bytes() == here.text else ["the file was changed"])


MANY = b"\x1b[B\x1b[A" * 60
"""Keys that take a while, ahead of a value."""


def starved(folder: Path) -> list[str]:
    """A signal while keys wait, on a machine that gives the screen a quarter of a processor: the value typed behind
    them is kept, however long that takes by the clock."""
    with terminal(folder) as here:
        if not here.waits_for(b"answers now"):
            return [f"no answers came: {here.seen[-300:]!r}"]
        here.send(TAB + MANY + b"\x1b[F\x15630 mm")
        here.read(DRAFT_S)
        os.kill(here.pid, signal.SIGTERM)
        end = time.monotonic() + PATIENCE_S
        while here.ended() is None and time.monotonic() < end:
            os.kill(here.pid, signal.SIGSTOP)
            time.sleep(0.3)
            os.kill(here.pid, signal.SIGCONT)
            here.read(0.1)
        faults = here.faults_of_the_end(128 + signal.SIGTERM)
        return faults + ([] if any("630 mm" in draft for draft in here.drafts()) else ["the work is lost"])


RANDOM = 200
"""Signals at moments that are drawn."""
CAUGHT = (*SIGNALS, signal.SIGUSR1, signal.SIGUSR2, signal.SIGXCPU)


def at_random(seed: int, folder: Path) -> list[str]:
    """Work of all kinds with a signal in the middle: the terminal clean, the code by convention, and in the draft the
    value typed last but for a third of a second, or a later one."""
    dice = random.Random(seed)
    sign, after = dice.choice(CAUGHT), dice.uniform(0.2, 1.8)
    with terminal(folder) as here:
        if not here.waits_for(b"answers now"):
            return [f"no answers came: {here.seen[-300:]!r}"]
        here.send(TAB)
        began, typed = time.monotonic(), [(0.0, "")]
        while time.monotonic() - began < after:
            value = f"{600 + len(typed)} mm"
            here.send(b"\x1b[F\x15" + value.encode())
            typed.append((time.monotonic(), value))
            here.read(min(dice.choice((0.02, 0.2, 0.6)), max(0.0, began + after - time.monotonic())))
            if dice.random() < 0.3:
                here.send(dice.choice((b"\x1b[B\x1b[A", b"\t\x1b[Z")))
                here.read(0.05)
        here.send(dice.choice((b"", b"", b"\x1b", b"\x05", b"\x12", b"\x14", b"\x10ven", NEXT_GROUP, DOWN * 40)))
        here.read(dice.choice((0.0, 0.1, 0.5)))
        if here.ended() is not None:
            return [f"ended before its time: {here.seen[-300:]!r}"]
        old = [value for at, value in typed if at < time.monotonic() - DRAFT_S]
        os.kill(here.pid, sign)
        faults = here.faults_of_the_end(128 + sign)
        kept = "".join(here.drafts())
        if old[-1:] not in ([], [""]) and not any(value in kept for _, value in typed[len(old) - 1:]):
            faults.append(f"{old[-1]} is lost")
        return faults + ([] if here.case.read_bytes() == here.text else ["the file was changed"])


HELD: dict[str, Callable[[Path], list[str]]] = {
    f"{key} held on {where}": partial(held_down, where, key, 30.0) for where in WHERE | WITH_GAS for key in HELD_KEYS}
STREAMS: dict[str, Callable[[Path], list[str]]] = {
    f"stream {seed}": partial(streamed, seed) for seed in range(24)}
STAGED: dict[str, Callable[[Path], list[str]]] = {
    "a quarter of a processor": starved,
    **{f"{sign.name} {stage}": partial(signalled, sign, stage) for stage in STAGES for sign in SIGNALS
       if (sign, stage) != (signal.SIGINT, "while Python starts")}}  # Python's own traceback, before a line of ours
MOMENTS: dict[str, Callable[[Path], list[str]]] = {
    f"moment {seed}": partial(at_random, seed) for seed in range(RANDOM)}
