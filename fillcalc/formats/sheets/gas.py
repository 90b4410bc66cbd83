"""What the sheets hold of a test with gas: the danger first, then whether the supply does it and when to read."""

from __future__ import annotations

from fillcalc.formats.html import Html, element, held, joined, listed, paragraph, section, table
from fillcalc.formats.plots import plot
from fillcalc.formats.sheets.parts import (
    Reported,
    Section,
    boxed,
    cautions_listed,
    figure,
    for_a_customer,
    side_by_side,
    strip,
)
from fillcalc.formats.sheets.pictures import moments
from fillcalc.present import gas as words
from fillcalc.present import tables
from fillcalc.present.charts import Subject
from fillcalc.present.gas_chart import raising
from fillcalc.present.gas_readings import gas_readings
from fillcalc.present.lines import main_lines
from fillcalc.present.needs import TO_BRING, to_bring
from fillcalc.units import axis

READINGS = 8
"""Lines of the table for readings of the hold."""


def danger(of: Reported) -> Html:
    """What is said before any figure, in a box of its own."""
    said = (element("li", element("b", held(line)), "danger")
            for line in words.danger_lines(of.case, of.estimate, of.units))
    return element("ul", joined(said), "boxed", of.name("danger"))


def answers(of: Reported) -> Html:
    """The answers in short."""
    return strip(main_lines(of.estimate, of.units), of.units)


def dangers(of: Reported) -> Html:
    """The dangers that this case raises."""
    return boxed(of.warned)


def customer_dangers(of: Reported) -> Html:
    """Those of the vessel and the site."""
    return boxed(for_a_customer(of))


def rise(of: Reported) -> Html:
    """The chart of the pressure."""
    made = raising(Subject(of.case, of.estimate, None, of.units))
    return figure(None if made is None else plot(made, of.name("raising")))


def energy(of: Reported) -> Html:
    """What the stored energy means."""
    return section("Energy and distance", listed(words.energy_sentences(of.estimate, of.units)))


def blocks(of: Reported) -> Html:
    """Each stage as a list of its answers."""
    return element("div", joined(
        section(title, table(tables.block_rows(getattr(of.estimate.gas, name), of.units), kind="figures"))
        for name, title in words.BLOCKS.items()), "columns")


def readings(of: Reported) -> Html:
    """A table to fill by hand in the hold, and what the readings of the case tell."""
    gauge, warm = axis("pressure", of.units, of.estimate.pressurise.test_gauge_pa).unit, axis("temperature",
                                                                                           of.units).unit
    rows: tables.Rows = [("clock", f"gauge, {gauge}", f"metal, {warm}")]
    rows += [("", "", "")] * READINGS
    return section("Readings of the hold, by hand", listed(gas_readings(of.case, of.units)),
                   paragraph("Supply closed, settled, both read together. No test record.", "first"),
                   table(rows, head=True, kind="blank"), name=of.name("readings"))


def cautions(of: Reported) -> Html:
    """Every caution, the heaviest first."""
    return section("Cautions", cautions_listed(of.warned), name=of.name("cautions"))


def safety(of: Reported) -> Html:
    """What is true of every test with gas."""
    return section("Safety", listed(words.gas_safety(of.units, of.case)[1:]), kind="block safety")


def figures(of: Reported) -> Html:
    """Energy, steps and what to bring beside the chart."""
    steps = section("Steps of pressure", listed(words.stop_sentences(of.estimate, of.units)))
    bring = section(TO_BRING, listed(to_bring([of.case], [of.estimate], of.units)))
    return side_by_side(element("div", joined([energy(of), steps, bring])), rise(of))


QUOTE: tuple[Section, ...] = (danger, answers, customer_dangers)
"""What stands above the time and the needs on the sheet for the quote."""
SITE: tuple[Section, ...] = (danger, answers, dangers, moments, figures, cautions, safety, readings, blocks)
"""What stands on the sheet for the site, before note and inputs."""
