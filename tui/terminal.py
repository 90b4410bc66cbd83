"""What the environment says about the terminal, and the signals that say it is gone."""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Callable

MOMENT_S = 0.4
"""Time for the keys that were read from a terminal before it went."""


def few_colours() -> bool:
    """Whether the terminal has sixteen colours or fewer."""
    if os.environ.get("COLORTERM", "").lower() in ("truecolor", "24bit"):
        return False
    term = os.environ.get("TERM", "").lower()
    return not any(mark in term for mark in ("256", "kitty", "direct", "alacritty", "ghostty", "wezterm"))


def fitting_look() -> str:
    """dark, light or terminal: the colours to begin with."""
    if "NO_COLOR" in os.environ or few_colours():
        return "terminal"
    return "light" if os.environ.get("COLORFGBG", "").rpartition(";")[2] in ("7", "15") else "dark"


def believe_the_terminal() -> None:
    """Have the size asked of the terminal itself: a size left in the environment would never change."""
    for name in ("COLUMNS", "LINES"):
        os.environ.pop(name, None)


def when_lost(do: Callable[[], None]) -> None:
    """What is done, once, when a signal says that the terminal or the machine is going.

    It is done a moment later, whatever signals follow: the keys that had come before are taken in first.
    """
    ends = signal.valid_signals() & {getattr(signal, "SIGHUP", 0), signal.SIGTERM}

    def lost(*_: object) -> None:
        for number in ends:
            signal.signal(number, signal.SIG_IGN)
        if sys.platform == "win32":
            do()
        else:
            signal.signal(signal.SIGALRM, lambda *_: do())
            signal.setitimer(signal.ITIMER_REAL, MOMENT_S)

    for number in ends:
        signal.signal(number, lost)
