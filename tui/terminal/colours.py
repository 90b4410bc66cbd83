"""What the environment says about the terminal."""

from __future__ import annotations

import os
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from textual.theme import Theme


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


@cache
def themes() -> tuple[Theme, ...]:
    """The grounds and the letters of the library's own widgets, in the place of its stock colours; all others stand in
    the style sheet."""
    from textual.theme import Theme

    dark = Theme("fillcalc-dark", primary="#2b4a4f", secondary="#2b4a4f", accent="#8fd3e0", foreground="#dfe3e6",
                 background="#14181c", surface="#1b2126", panel="#20272c", warning="#c9a86a", error="#ffb4a3",
                 success="#8fd3e0", variables={"scrollbar": "#3d4a50", "scrollbar-hover": "#5d6d73",
                                               "scrollbar-active": "#8fd3e0", "scrollbar-background": "#14181c"})
    light = Theme("fillcalc-light", primary="#1f5a60", secondary="#1f5a60", accent="#00474f", foreground="#1b1d1f",
                  background="#fbfaf6", surface="#f1eee4", panel="#e6e3d8", warning="#5c4300", error="#8c0d0d",
                  success="#00474f", dark=False, variables={
                      "scrollbar": "#8a9a9c", "scrollbar-hover": "#3d565b", "scrollbar-active": "#00474f",
                      "scrollbar-background": "#fbfaf6"})
    return dark, light


def believe_the_terminal() -> None:
    """Have the size asked of the terminal itself: a size left in the environment would never change."""
    for name in ("COLUMNS", "LINES"):
        os.environ.pop(name, None)
