"""What the environment says about the terminal."""

from __future__ import annotations

import os


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
