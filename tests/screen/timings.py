"""How long a person waits for the screen, in a terminal of its own: `python -m tests.screen.timings`.

First paint: from the start of the process until the form is there. A key: from the key until the answers to it are
painted, less the wait for more keys; low, likely and high are worked out all the while, as in use. Nothing here
asserts a time; a busy machine slows every row.
"""

from __future__ import annotations

import contextlib
import fcntl
import os
import pty
import select
import signal
import struct
import sys
import tempfile
import termios
import time
from dataclasses import dataclass
from pathlib import Path

from tests.screen.support import case_in
from tui.places.case_form import DEBOUNCE_S

ROOT = Path(__file__).parents[2]
SIZES = ((80, 24), (120, 36))
STARTS, KEYS = 5, 100
PATIENCE_S = 30.0
PAUSES_S = (0.05, 0.3, 0.5, 0.8)
"""Between an answer and the next key: before, while and after low, likely and high are worked out."""


@dataclass(frozen=True)
class Row:
    """One thing that is waited for, s."""

    what: str
    times: tuple[float, ...]

    def share(self, part: float) -> float:
        ordered = sorted(self.times)
        return ordered[min(len(ordered) - 1, int(part * len(ordered)))]


class Screen:
    """The screen in a terminal of its own."""

    def __init__(self, path: Path, state: Path, width: int, height: int) -> None:
        self.started = time.perf_counter()
        self.pid, self.terminal = pty.fork()
        if self.pid == 0:  # pragma: no cover
            os.environ.update(TERM="xterm-256color", XDG_STATE_HOME=str(state), PYTHONPATH=str(ROOT))
            fcntl.ioctl(0, termios.TIOCSWINSZ, struct.pack("HHHH", height, width, 0, 0))
            os.execv(sys.executable, [sys.executable, "-m", "tui", "open", str(path)])
        fcntl.ioctl(self.terminal, termios.TIOCSWINSZ, struct.pack("HHHH", height, width, 0, 0))
        os.set_blocking(self.terminal, False)

    def wait_for(self, words: bytes) -> float:
        """The moment at which the words were painted."""
        seen = b""
        end = time.perf_counter() + PATIENCE_S
        while words not in seen:
            left = end - time.perf_counter()
            if left < 0:
                raise TimeoutError(f"{words!r} never came")
            if select.select([self.terminal], [], [], left)[0]:
                seen += os.read(self.terminal, 1 << 16)
        return time.perf_counter()

    def rest(self, seconds: float) -> None:
        """Let so long go by, reading what is painted meanwhile."""
        end = time.perf_counter() + seconds
        while (left := end - time.perf_counter()) > 0:
            if select.select([self.terminal], [], [], left)[0]:
                os.read(self.terminal, 1 << 16)

    def press(self, keys: bytes) -> float:
        """Send keys; the moment at which they went."""
        self.rest(0.0)
        now = time.perf_counter()
        os.write(self.terminal, keys)
        return now

    def end(self) -> None:
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        os.close(self.terminal)


def starts(path: Path, state: Path, width: int, height: int) -> tuple[Row, Row]:
    """First paint and first answers of several starts."""
    painted, answered = [], []
    for _ in range(STARTS):
        screen = Screen(path, state, width, height)
        painted.append(screen.wait_for(b"Vessel diameter") - screen.started)
        answered.append(screen.wait_for(b"answers now") - screen.started)
        screen.end()
    size = f"{width} x {height}"
    return Row(f"{size}: first paint", tuple(painted)), Row(f"{size}: first answers", tuple(answered))


def keys(path: Path, state: Path, width: int, height: int) -> Row:
    """From a key to its answers, beyond the wait for more keys, while the ranges are worked out too."""
    screen = Screen(path, state, width, height)
    screen.wait_for(b"answers now")
    screen.rest(3.0)
    for key in (b"\x10", b"fill hose length", b"\r", b"\x1b[F", b"\x1b[D", b"\x1b[D"):  # Find, then before " m"
        screen.press(key)
        screen.rest(1.0)
    times = []
    for number in range(KEYS):
        went = screen.press(b"\x7f" if number % 2 else b"%d" % (1 + number // 2 % 9))
        times.append(screen.wait_for(b"answers now") - went - DEBOUNCE_S)
        screen.rest(PAUSES_S[number % len(PAUSES_S)])
    screen.end()
    return Row(f"{width} x {height}: key to its answers, {KEYS} keys", tuple(times))


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        path, state = case_in(Path(folder)), Path(folder) / "state"
        print(f"| {'ms':<40} | {'middle':>7} | {'95 %':>7} | {'longest':>7} |")
        print(f"| {'-' * 40} | {'-' * 6}: | {'-' * 6}: | {'-' * 6}: |")
        for size in SIZES:
            for row in (*starts(path, state, *size), keys(path, state, *size)):
                figures = " | ".join(f"{1000 * row.share(part):7.0f}" for part in (0.5, 0.95, 1.0))
                print(f"| {row.what:<40} | {figures} |", flush=True)
    return 0


if __name__ == "__main__":
    with contextlib.suppress(KeyboardInterrupt):
        sys.exit(main())
