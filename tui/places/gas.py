"""A test with gas in the places Gas, Raise and Hold: supply, the rise of the pressure, the hold and letting off."""

from __future__ import annotations

from collections.abc import Sequence
from math import nan
from typing import TYPE_CHECKING

from textual.content import Content

from fillcalc.case.names import capital
from tui.places.moving import KEYS, Moving, highest
from tui.places.place import HIGHEST, Place, joined

if TYPE_CHECKING:
    from fillcalc.present.charts import Subject
    from fillcalc.present.lines import Group, Line

GAUGE, GAUGE_TITLE = "gauge", "What the gauge tells"
SUPPLY, RAISE = "Gas and supply", "Raise and settle"
"""Groups of answers that stand in the places Gas and Raise; the others in the place Hold."""


def gas_parts(place: Moving, now: Subject, ranged: Subject | None, width: int, height: int) -> Sequence[Content]:
    """How the vessel is raised, moment by moment: picture, chart, supply; and what the energy means."""
    from fillcalc.present.gas import energy_sentences
    from fillcalc.present.gas_chart import raising
    from fillcalc.present.lines import groups

    found = [] if ranged is None else groups(ranged.case, ranged.estimate, ranged.units)
    said = [] if ranged is None else energy_sentences(ranged.estimate, ranged.units)
    moment, _ = place.gas_moment(now)
    end = float(now.estimate.gas.history.time_s[-1]) if now.estimate.gas is not None else nan
    at = (nan, nan) if moment is None or moment.stage == "let off" else (moment.time_s, end)
    return joined(place.together(f"Gas: {KEYS}", lambda *size: place.drawing(now, moment, *size),
                                 lambda *size: place.curve(raising, now, at, size), (width, height)),
                  place.groups(((group.heading, short(group)) for group in found if group.heading == SUPPLY), width),
                  place.said("Energy and distance", said, width))


def gas_raise_parts(place: Moving, now: Subject, ranged: Subject | None, width: int) -> Sequence[Content]:
    """Where the pressure stops on the way up, how long it takes and settles, and both over the time."""
    from fillcalc.present.gas import stop_sentences
    from fillcalc.present.gas_chart import raising
    from fillcalc.present.lines import groups

    found = [] if ranged is None else groups(ranged.case, ranged.estimate, ranged.units)
    stops = [] if ranged is None else stop_sentences(ranged.estimate, ranged.units)
    made = raising(now)
    return joined(place.said("Steps of pressure", stops, width),
                  place.groups(((group.heading, short(group)) for group in found if group.heading == RAISE), width),
                  place.drawn(made, width, HIGHEST) if made is not None else [])


def gas_set_up_parts(place: Moving, now: Subject, ranged: Subject | None, width: int, height: int) -> Sequence[Content]:
    """The picture, what the set-up comes to, and what the energy means."""
    from fillcalc.present.gas import energy_sentences
    from fillcalc.present.lines import groups

    moment, _ = place.gas_moment(now)
    rows = max(9, min(height - 2, max(16, height - 10), highest(width)))
    drawing = [*place.heading(f"The set-up: {KEYS}", width),
               *place.drawing(now, None if place.part == 0.0 else moment, width, rows)]
    if ranged is None:
        return drawing
    return joined(drawing, place.said("Energy and distance", energy_sentences(ranged.estimate, ranged.units), width),
                  place.groups(((group.heading, short(group)) for group in
                                groups(ranged.case, ranged.estimate, ranged.units)), width))


def gas_hold_parts(place: Place, now: Subject, after: Sequence[Group], rows: Sequence[Content],
                   width: int) -> Sequence[Content]:
    """What the gauge tells of a leak, then hold, letting off and energy."""
    from fillcalc.present.gas_readings import gas_readings

    said = gas_readings(now.case, now.units) or ["Read pressure and temperature at both ends of the hold."]
    return joined([*place.heading(GAUGE_TITLE, width, part=GAUGE), *rows, *place.paragraphs(said, width)],
                  place.groups(((group.heading, short(group)) for group in after
                                if group.heading not in (SUPPLY, RAISE)), width))


def short(group: Group) -> Sequence[Line]:
    """The lines of a group, each named by what it is instead of by its group."""
    from dataclasses import replace

    return [replace(line, label=capital(line.beside[0]), beside=line.beside[1:]) for line in group.lines]
