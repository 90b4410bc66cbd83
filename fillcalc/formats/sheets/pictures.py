"""The picture of the set-up on a sheet."""

from __future__ import annotations

from fillcalc.formats.drawing import drawing
from fillcalc.formats.html import Html, element, joined
from fillcalc.formats.sheets.parts import Reported
from fillcalc.present.picture import GasMoment, Moment, frames, picture

ACROSS, OF_THREE = 241.0, 162.0
"""Points that a picture has at its own size: in one of two columns, and as one of three beside each other."""


def set_up(of: Reported) -> Html:
    """What is connected to what, before the work."""
    return element("div", _drawn(of, None, "setup", ACROSS), "set-up")


def moments(of: Reported) -> Html:
    """The set-up half full, full, and at test pressure, or at a stop, settled and let off, as far as it comes."""
    told = frames(of.estimate)
    return element("div", joined(_drawn(of, moment, f"frame{place}", OF_THREE)
                                 for place, moment in enumerate(told, 1)), "frames")


def _drawn(of: Reported, moment: Moment | GasMoment | None, name: str, wide: float) -> Html:
    return drawing(picture(of.case, of.estimate, moment, of.units), of.name(name), wide)
