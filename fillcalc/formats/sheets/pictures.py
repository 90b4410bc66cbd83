"""The picture of the set-up on a sheet."""

from __future__ import annotations

from fillcalc.formats.html import Html
from fillcalc.formats.sheets.parts import Told


def set_up(of: Told) -> Html:
    """What is connected to what, with the vessel full."""
    return Html("")


def moments(of: Told) -> Html:
    """The set-up half full, full, and at test pressure."""
    return Html("")
