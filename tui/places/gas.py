"""A test with gas in the places Gas and Hold: the rise of the pressure, the supply, the hold and letting off."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual.content import Content

from tui.places.place import Place, joined

if TYPE_CHECKING:
    from fillcalc.present.charts import Subject
    from fillcalc.present.lines import Group, Line

RAISED = ("Gas and supply", "Raise and settle")
"""Groups of answers that stand in the place Gas; the others in the place Hold."""


def gas_parts(place: Place, now: Subject, told: Subject | None, width: int, height: int) -> Sequence[Content]:
    """How the vessel is raised: chart, supply, wait; and what the energy means."""
    from fillcalc.present.gas import energy_sentences
    from fillcalc.present.gas_chart import raising
    from fillcalc.present.lines import groups

    found = [] if told is None else groups(told.case, told.estimate, told.units)
    said = [] if told is None else energy_sentences(told.estimate, told.units)
    return joined(place.chart(raising, now, width, height // 2),
                  *(place.told_lines(group.heading, short(group), width) for group in found
                    if group.heading in RAISED),
                  place.said("Energy and distance", said, width))


def gas_set_up_parts(place: Place, told: Subject | None, width: int) -> Sequence[Content]:
    """What the set-up comes to: every block of answers in short, and what the energy means."""
    from fillcalc.present.gas import energy_sentences
    from fillcalc.present.lines import groups

    if told is None:
        return ()
    return joined(place.said("Energy and distance", energy_sentences(told.estimate, told.units), width),
                  *(place.told_lines(group.heading, short(group), width)
                    for group in groups(told.case, told.estimate, told.units)))


def gas_hold_parts(place: Place, now: Subject, after: Sequence[Group], rows: Sequence[Content],
                   width: int) -> Sequence[Content]:
    """What the gauge tells of a leak, then hold, letting off and energy."""
    from fillcalc.present.gas_readings import gas_readings

    said = gas_readings(now.case, now.units) or ["Read pressure and temperature at both ends of the hold."]
    return joined([*place.heading("What the gauge tells", width), *rows, *place.paragraphs(said, width)],
                  *(place.told_lines(group.heading, short(group), width) for group in after
                    if group.heading not in RAISED))


def short(group: Group) -> Sequence[Line]:
    """The lines of a group, each named by what it is instead of by its group."""
    from dataclasses import replace

    return [replace(line, label=line.beside[0], beside=line.beside[1:]) for line in group.lines]
