"""What the sheets of a page share: the case as it is told, a sheet, its head, the answers in short, and dangers."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

from fillcalc.case.records import Case
from fillcalc.cautions import cautions
from fillcalc.estimation.answers import Estimate, at_likely_values
from fillcalc.formats.html import Html, element, held, joined, lines, listed, paragraph, section, text
from fillcalc.formats.plots import Plot, charts_of, plot
from fillcalc.formats.text import MARKS
from fillcalc.present import sentences as words
from fillcalc.present.charts import AT_LIKELY_VALUES, Bars, Chart
from fillcalc.present.lines import Line
from fillcalc.present.sentences import trade
from fillcalc.questions.likely import likely
from fillcalc.questions.recording.hold import RecordedHold
from fillcalc.recorder.log import Log

LONGEST_TITLE = 200
"""Characters of a title that the head of a sheet can bear."""
DECIDES = 3
"""Sentences of the safety text that say what an estimate is; they stand in the head of each sheet."""
DANGER = "danger"


@dataclass(frozen=True)
class Warned:
    """One caution as a sentence, with its weight."""

    sentence: str
    weight: str
    own_gear: bool = False
    """About what the technician brings: not for a customer."""


@dataclass(frozen=True)
class Reported:
    """One case as its sheets tell it: at likely values, with the estimate of `fillcalc.questions.likely.likely`."""

    case: Case
    estimate: Estimate
    units: str
    warned: tuple[Warned, ...]
    """Every caution of the case, the heaviest first."""
    prefix: str = ""
    """Letters and figures before each name within the page, where it has several cases."""
    recorded: tuple[Log, RecordedHold] | None = None
    """A recorder's file, and what it tells of the test."""

    @cached_property
    def charts(self) -> dict[str, Chart | Bars]:
        """The charts of the case by the name of their maker."""
        return charts_of(self.case, self.estimate, self.units)

    def plot(self, name: str) -> Plot | None:
        """One of them drawn, which takes long; None where its numbers cannot be had."""
        shown = self.charts.get(name)
        return None if shown is None else plot(shown, f"{self.prefix}{name.replace('_', '')}")

    @property
    def gauge(self) -> str:
        """What the figures are; those of a case in a visit have ranges too."""
        return words.GAUGE if self.estimate.spreads else words.gauge_sentence(self.estimate)

    def name(self, part: str) -> str:
        """The name within the page of a part of this case's sheets."""
        return f"{self.prefix}{part}"


Section: TypeAlias = Callable[[Reported], Html]
"""A part of a sheet; empty where the case has nothing to say in it."""


@dataclass(frozen=True)
class Sheet:
    """One sheet: its kind, its name within the page, what it is for, the title it carries, and its parts."""

    kind: str
    name: str
    job: str
    title: str
    body: Html
    jumps: tuple[tuple[str, str], ...] = ()
    """Names of parts within the page that a reader of a small screen goes to first, each with its words."""


def reported(case: Case, estimate: Estimate, units: str, prefix: str = "") -> Reported:
    """The case and its estimate of `with_ranges` as its sheets tell them."""
    case = at_likely_values(case)
    warned = tuple(Warned(trade(row.text, units), row.weight, row.own_gear) for row in cautions(case, estimate, units))
    return Reported(case, likely(estimate, units), units, warned, prefix)


def dangers(warned: Iterable[Warned]) -> list[Warned]:
    """The cautions that say what can kill or maim."""
    return [each for each in warned if each.weight == DANGER]


def for_a_customer(of: Reported) -> list[Warned]:
    """The cautions of the vessel and the site; those of the technician's own gear stand on the sheet for the site."""
    return [one for one in of.warned if not one.own_gear]


# --- parts --------------------------------------------------------------------------------------

def head(title: str, job: str, gauge: str, units: str) -> Html:
    """The head of a sheet: its title, what it is for, and that it is an estimate."""
    return element("header", joined([
        element("h1", text(words.TITLE)), paragraph(job, "job"), element("h2", text(title, LONGEST_TITLE)),
        element("p", joined([element("b", text(" ".join(words.SAFETY[:DECIDES]))), text(trade(gauge, units))], "<br>"),
                "gauge")]))


def note(of: Reported) -> Html:
    """The note of the case; it is the technician's own."""
    return section("Note", element("p", lines(of.case.note), "note"))


def strip(found: Sequence[Line], units: str) -> Html:
    """The answers in short."""
    return element("dl", joined(Html(
        f"<div><dt>{text(line.label)}</dt><dd><b>{text(line.value)}</b> "
        f"<span>{held(trade('; '.join(line.more), units))}</span></dd></div>") for line in found), "strip")


def boxed(warned: Sequence[Warned], name: str = "") -> Html:
    """The dangers in a box of their own; nothing where there are none."""
    return element("ul", joined(map(_caution, dangers(warned))), "boxed", name)


def cautions_listed(warned: Sequence[Warned]) -> Html:
    """Every caution with its signal word, the heaviest first."""
    return element("ul", joined(map(_caution, warned)), "cautions")


def _caution(one: Warned) -> Html:
    return element("li", joined([element("b", text(MARKS[one.weight])), held(one.sentence)], " "), one.weight)


def figure(plot: Plot | None, *more: Html) -> Html:
    """A chart under its title, its numbers in words, and what belongs to it; that its curves are at likely values is
    said once for all charts of a sheet."""
    if plot is None:
        return joined(more)
    said = listed(each for each in plot.numbers if each != AT_LIKELY_VALUES)
    return element("figure", joined([element("figcaption", text(plot.title)), Html(plot.svg), said, *more]))


def side_by_side(*parts: Html, kind: str = "pair") -> Html:
    """Parts beside one another where the page is wide enough, and below one another where it is not."""
    return element("div", joined(parts), kind)
