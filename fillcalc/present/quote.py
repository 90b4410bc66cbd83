"""The quote: one sentence and one paragraph of needs to paste into a mail, for one case or for several in one visit.

Times are those of `fillcalc.questions.likely`, rounded to what their range can bear; what is to be provided is rounded
up to two figures.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from typing import TYPE_CHECKING

from fillcalc.case.medium import is_gas
from fillcalc.case.records import Case
from fillcalc.estimation.answers import Days, Estimate, Loads, Stage
from fillcalc.estimation.stages import REWORK, WAIT
from fillcalc.present.days import in_days
from fillcalc.present.gas import danger_lines
from fillcalc.present.loads import pieces_and_loads, remade_each
from fillcalc.present.needs import COMMON, LONGEST_TITLE, named, needs, needs_of_all
from fillcalc.present.never import never_clauses, without_for_a_customer
from fillcalc.present.rests_on import guess_sentences, guesses
from fillcalc.present.sentences import Say, shower, trade
from fillcalc.questions.likely import likely_span, likely_stage
from fillcalc.units.printable import shown

if TYPE_CHECKING:
    from fillcalc.questions.visit import CombinedVisit

OPENS = "We need: "
"""How the paragraph of needs begins."""


@dataclass(frozen=True)
class Quote:
    """What a customer is told, without its layout."""

    sentence: str
    needs: str
    """Empty where no time can be quoted."""
    dangers: str = ""
    """What is said before any figure of a test with gas."""

    @property
    def paragraphs(self) -> tuple[str, ...]:
        """All, as they are printed."""
        return tuple(part for part in (self.dangers, self.sentence, self.needs) if part)

    @property
    def text(self) -> str:
        """All as text to paste, a blank line between them, ending in a newline."""
        return "\n\n".join(self.paragraphs) + "\n"


@dataclass(frozen=True)
class _Whole:
    """What a quote is made of, whether of one case or of several."""

    subject: str
    likely_s: float
    high_s: float
    days: Days | None
    doubts: Sequence[str]
    """Why some samples never finish, as clauses."""
    without: Sequence[str]
    stages: Sequence[Stage]
    loads: Sequence[Loads | None]
    wanted: Sequence[str]
    assumed: Sequence[str] = ()
    """What nobody gave and the time hangs on."""
    dangers: Sequence[str] = ()


def quote(case: Case, estimate: Estimate, units: str = "metric") -> Quote | None:
    """Return the quote of one case; None without a time on site. The estimate is that of `likely`."""
    visit = estimate.visit
    if visit is None:
        return None
    return _quote(_Whole(_subject(case, estimate, units), float(visit.likely_s), float(visit.high_s), estimate.days,
                         never_clauses(visit.never, units), without_for_a_customer(visit.without), estimate.stages,
                         [estimate.loads], needs(case, estimate, units),
                         guess_sentences(guesses(case, estimate.stages, float(visit.likely_s), units), units),
                         danger_lines(case, estimate, units) if estimate.gas is not None else ()), units)


def combined_quote(cases: Sequence[Case], combined: CombinedVisit, estimates: Sequence[Estimate],
                   units: str = "metric") -> Quote:
    """Return the quote of a visit with several cases; estimates are those of `likely`."""
    total = likely_span(combined.total_s, units)
    several = len(cases) > 1
    doubts = [clause + (f" ({named(case, place)})" if several else "")
              for place, (case, one) in enumerate(zip(cases, combined.cases, strict=True), 1)
              for clause in never_clauses(one.never, units)]
    assumed = [sentence for case, one in zip(cases, combined.cases, strict=True)
               for stages in [[likely_stage(stage, units) for stage in one.stages]]
               for sentence in guess_sentences(guesses(case, stages, float(total.likely), units), units)]
    without = dict.fromkeys(sentence for one in combined.cases for sentence in without_for_a_customer(one.without))
    subject = _subject(cases[0], estimates[0], units)
    if several:
        each = [f"{named(case, place)} ({_test(case, estimate, units)})"
                for place, (case, estimate) in enumerate(zip(cases, estimates, strict=True), 1)]
        subject = f"One visit for {', '.join(each[:-1])} and {each[-1]}"
    return _quote(_Whole(subject, float(total.likely), float(total.high), combined.days, doubts, tuple(without),
                         [likely_stage(stage, units) for stage in (*combined.once, combined.rework)],
                         [one.loads for one in estimates],
                         needs_of_all(cases, estimates, units), list(dict.fromkeys(assumed)),
                         _dangers(cases, estimates, units)), units)


def _dangers(cases: Sequence[Case], estimates: Sequence[Estimate], units: str) -> list[str]:
    """What is said first of the cases with gas, each by its name: a customer does not know their numbers."""
    several = len(cases) > 1
    return [f"{named(case, place)}: {each}" if several else each
            for place, (case, one) in enumerate(zip(cases, estimates, strict=True), 1) if one.gas is not None
            for each in danger_lines(case, one, units)]


def _name(case: Case) -> str:
    return shown(case.title, LONGEST_TITLE)


def _subject(case: Case, estimate: Estimate, units: str) -> str:
    """What is done: "Cooler shell: pressure test to 24 bar"."""
    name, test = _name(case), _test(case, estimate, units)
    return f"{name}: {test}" if name else test[0].upper() + test[1:]


def _test(case: Case, estimate: Estimate, units: str) -> str:
    pieces = pieces_and_loads(estimate.loads)
    to = shower(units)(estimate.pressurise.test_gauge_pa, "pressure")
    gas = f" with {case.test.medium}" if is_gas(case) else ""
    return f"pressure test{gas} to {to}" + (f" of {pieces}" if pieces else "")


def _quote(whole: _Whole, units: str) -> Quote:
    say, doubts, dangers = shower(units), " and ".join(whole.doubts), " ".join(whole.dangers)
    if not isfinite(whole.likely_s):
        return Quote(f"{whole.subject}: no time can be quoted" + (f", because {doubts}." if doubts else "."), "",
                     dangers)
    text = " ".join([f"{whole.subject}, about {say(whole.likely_s, 'duration')} on site", *in_days(whole.days)])
    if isfinite(whole.high_s):
        text += f"; nine visits in ten take less than {_long(whole, say)}"
        text += f", but {doubts}" if doubts else ""
    else:
        text += "; no time can be promised for nine visits in ten" + (f", because {doubts}" if doubts else "")
    return Quote(text + ".", " ".join([*_needs(whole.wanted), *_in_the_time(whole, units), *whole.without]),
                 dangers)


def _long(whole: _Whole, say: Say) -> str:
    """The high in hours, as the likely time is; with the days it takes where there are several."""
    hours = whole.high_s / 3600.0
    text = say(whole.high_s, "duration") if hours < 48.0 else f"{hours:.0f} h"
    days = whole.days
    several = days is not None and isfinite(days.high) and days.high > 1.0
    return f"{text} ({round(days.high)} days)" if days is not None and several and days.high > days.likely else text


def _needs(wanted: Sequence[str]) -> list[str]:
    listed = "; ".join(need[0].lower() + need[1:].rstrip(".") for need in wanted).replace(COMMON, "")
    return [f"{OPENS}{listed}."] if listed else []


def _in_the_time(whole: _Whole, units: str) -> list[str]:
    """What the time holds that is not work on the piece."""
    say, lines = shower(units), []
    waiting = next((float(stage.likely_s) for stage in whole.stages if stage.name == WAIT), 0.0)
    if waiting > 0:
        lines.append(f"The time includes {say(waiting, 'duration')} of waiting for permits, isolation or a witness.")
    lines += [*whole.assumed, *_remade(whole, units)]
    return [trade(sentence, units) for sentence in lines]


def _remade(whole: _Whole, units: str) -> list[str]:
    """What joints that have to be re-made add: how many are expected, or that one may be."""
    known, each = [one for one in whole.loads if one is not None], remade_each(whole.loads, units)
    expected, pieces = (round(sum(float(getattr(one, name)) for one in known)) for name in ("remade_pieces", "pieces"))
    if not each:
        return []
    if expected >= 1:
        return [f"The time allows for about {expected} re-made joint{'' if expected == 1 else 's'} in {pieces} pieces, "
                f"{each} each."]
    longer = any(stage.name == REWORK and stage.high_s > 0.0 for stage in whole.stages)
    allowed = "; the longer time allows for it" if longer and isfinite(whole.high_s) else ", not in this time"
    return [f"A re-made joint adds {each}{allowed}."]
