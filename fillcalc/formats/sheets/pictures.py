"""The picture of the set-up on a sheet."""

from __future__ import annotations

from fillcalc.cautions import cautions
from fillcalc.formats.drawing import drawing
from fillcalc.formats.html import Html, element, joined, paragraph
from fillcalc.formats.sheets.parts import Reported
from fillcalc.present.charts import AT_LIKELY_VALUES
from fillcalc.present.picture import GasMoment, Moment, dangers, frames, picture

ACROSS, OF_THREE = 241.0, 162.0
"""Points that a picture has at its own size: in one of two columns, and as one of three beside each other."""


def set_up(of: Reported) -> Html:
    """What is connected to what, before the work, with the dangers of the vessel and the site marked."""
    found = [one for one in cautions(of.case, of.estimate, of.units) if not one.own_gear]
    drawn = picture(of.case, of.estimate, None, of.units, raised=dangers(of.case, of.estimate, found))
    return element("div", drawing(drawn, of.name("setup"), ACROSS), "set-up")


def moments(of: Reported) -> Html:
    """The set-up half full, full, and at test pressure, or at a stop, settled and let off, as far as it comes."""
    drawn = joined(_drawn(of, moment, f"frame{place}", OF_THREE)
                   for place, moment in enumerate(frames(of.estimate), 1))
    return joined([element("div", drawn, "frames"), paragraph(AT_LIKELY_VALUES)]) if drawn else drawn


def _drawn(of: Reported, moment: Moment | GasMoment, name: str, wide: float) -> Html:
    return drawing(picture(of.case, of.estimate, moment, of.units), of.name(name), wide)
