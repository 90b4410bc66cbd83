"""What the environment says about the terminal."""

from __future__ import annotations

import os
from collections.abc import Mapping
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


COLOURS: Mapping[str, tuple[str, str]] = {
    "ground": ("#14181c", "#fbfaf6"), "ink": ("#dfe3e6", "#1b1d1f"), "strong": ("#ffffff", "#000000"),
    "on-strong": ("#14181c", "#ffffff"), "faint": ("#9fb4ba", "#3d565b"), "quiet": ("#b9c4c8", "#3a4244"),
    "heading": ("#9fd0d8", "#0d4a50"), "rule": ("#5d6d73", "#8a9a9c"), "edge": ("#3d4a50", "#8a9a9c"),
    "frame": ("#6f8f96", "#1f5a60"), "band": ("#2b4a4f", "#1f5a60"), "on-band": ("#ffffff", "#ffffff"),
    "foot": ("#20272c", "#e6e3d8"), "raised": ("#1b2126", "#f1eee4"), "sunk": ("#191e22", "#f1eee4"),
    "old": ("#c9a86a", "#5c4300"), "danger": ("#ffb4a3", "#8c0d0d"), "asked": ("#ffd9a0", "#5c4300"),
    "own": ("#8fd3e0", "#00474f"), "wet": ("#6fb3cf", "#0d4d66"),
    "field": ("#20272c", "#ffffff"), "field-in-hand": ("#34525a", "#d5e7e9"), "empty": ("#8b9499", "#4a5052"),
    "empty-in-hand": ("#c9d4d8", "#3a4244"), "chosen": ("#a5d5dc", "#1f5a60"), "on-chosen": ("#14181c", "#ffffff"),
    "found": ("#2b4a4f", "#d5e7e9"), "on-found": ("#ffffff", "#000000"), "veil": ("transparent", "transparent"),
}
"""Every colour of the screen by its name in the style sheet, on a dark and on a light ground; in the terminal's own
colours each is the one that the terminal writes with anyway."""

STYLES: Mapping[str, tuple[str, str]] = {
    "marked": ("bold", "bold reverse"), "turned": ("none", "reverse"), "lined": ("none", "underline"),
    "in-hand": ("bold", "bold underline"), "found-style": ("bold", "bold underline"), "foot-style": ("bold", "reverse"),
}
"""How letters are marked with colours, and without."""


@cache
def themes() -> tuple[Theme, ...]:
    """Our colours, and those of the library's own widgets in the place of its stock colours."""
    from textual.theme import Theme

    found = []
    for place, name in enumerate(("fillcalc-dark", "fillcalc-light")):
        is_ = {key: pair[place] for key, pair in COLOURS.items()}
        found.append(Theme(
            name, primary=is_["band"], secondary=is_["band"], accent=is_["own"], foreground=is_["ink"],
            background=is_["ground"], surface=is_["raised"], panel=is_["foot"], warning=is_["old"],
            error=is_["danger"], success=is_["own"], dark=place == 0, variables={
                **is_, **{key: with_colours for key, (with_colours, _) in STYLES.items()},
                "scrollbar": is_["edge"], "scrollbar-hover": is_["rule"], "scrollbar-active": is_["own"],
                "scrollbar-background": is_["ground"]}))
    return tuple(found)


def without_colours() -> dict[str, str]:
    """What the names in the style sheet mean in the terminal's own colours."""
    return {**dict.fromkeys(COLOURS, "ansi_default"), "veil": "transparent",
            **{key: without for key, (_, without) in STYLES.items()}}


def believe_the_terminal() -> None:
    """Have the size asked of the terminal itself: a size left in the environment would never change."""
    for name in ("COLUMNS", "LINES"):
        os.environ.pop(name, None)
