"""What is said where some or all samples never finish, or where a stage cannot be worked out.

A time is NaN where it falls among the samples that never finish; in a table it says so.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from math import isfinite
from typing import TYPE_CHECKING, SupportsFloat

from fillcalc.estimation.answers import Never, Visit
from fillcalc.model.status import Status
from fillcalc.present.sentences import Say, shower, trade

if TYPE_CHECKING:
    from fillcalc.questions.visit import CombinedVisit

NEVER = "never"
"""In the place of a time that is longer than any."""
NEARLY = 0.995
"""Part of test pressure from which gas that ends is short of topping up alone."""
NO_LEVEL = 1e-3
"""A level under this, m, is none."""
WHAT_DRIVES = {"drain": "Give the height, the fall and the vent of the drain."}
"""What to give where a stage cannot be worked out."""


def time_or_never(value: SupportsFloat, say: Say) -> str:
    """A time, or that it never comes."""
    return say(value, "duration") if isfinite(value) else NEVER


def in_hundred(share: float) -> str:
    """A share as "15 in 100"; never none and never all where it is neither."""
    if 0.0 < share < 0.005:
        return "Under 1 in 100"
    if 0.995 <= share < 1.0:
        return "Over 99 in 100"
    return f"{100 * share:.0f} in 100"


def never_sentences(never: Sequence[Never], units: str) -> list[str]:
    """How many visits cannot be finished and why, the most frequent reason first: "In 15 of 100 visits the pump stalls
    at about 22 bar."."""
    return [f"It cannot be finished: {clause}." if one.share == 1.0 else f"{clause[0].upper()}{clause[1:]}."
            for one, clause in zip(never, never_clauses(never, units), strict=True)]


def never_clauses(never: Sequence[Never], units: str) -> list[str]:
    """The same within a sentence: "in 15 of 100 visits the pump stalls at about 22 bar"."""
    say = shower(units)
    shares = ["" if one.share == 1.0 else f"in {in_hundred(float(one.share)).lower().replace(' in ', ' of ')} visits "
              for one in never]
    return [trade(share + _reason(one, say), units) for share, one in zip(shares, never, strict=True)]


def _reason(one: Never, say: Say) -> str:
    level = f" at about {say(one.level_m, 'length')}" if isfinite(one.level_m) else ""
    about = f"about {say(one.gauge_pa, 'pressure')}" if isfinite(one.gauge_pa) else ""
    return {
        Status.AIR_SHUT_IN: f"the fill stops{level} because the air cannot get out",
        Status.HEAD_TOO_HIGH: "no water flows because the source stands too low" if one.level_m < NO_LEVEL else
        f"the fill stops{level} because the source cannot lift the water higher",
        Status.SUPPLY_ENDS: _gas_ends(one, say),
        Status.PUMP_STALLS: f"a person can pump no higher than {about or 'that'}" if one.by_hand else
        f"the pump stalls{about and f' at {about}'}",
        Status.LEAK_BALANCES: "the leak takes all that the pump gives",
        Status.BELOW_HEAD: "the gauge shows more than the test pressure with the vessel just full",
    }[Status(int(one.status))]


def _gas_ends(one: Never, say: Say) -> str:
    """Where the gas runs out: below test pressure, or there while it cools and is topped up."""
    if not isfinite(one.gauge_pa):
        return "the gas runs out"
    ends = say(one.gauge_pa, "pressure")
    if one.gauge_pa > NEARLY * one.test_gauge_pa:
        return f"the gas runs out while the vessel is topped up at {say(one.test_gauge_pa, 'pressure')}"
    if one.share == 1.0 and one.bottles_needed > one.bottles_there:
        there = say(one.bottles_there, "count")
        return (f"{there} bottle{'' if there == '1' else 's'} reach{'es' if there == '1' else ''} {ends} and "
                f"{say(one.bottles_needed, 'count')} are needed")
    return f"the gas runs out at about {ends}"


def without_sentences(without: Collection[str]) -> list[str]:
    """Which stages the time on site is without, and what to give for them."""
    return [" ".join(filter(None, (sentence, WHAT_DRIVES.get(name))))
            for name, sentence in zip(without, without_for_a_customer(without), strict=True)]


def without_for_a_customer(without: Collection[str]) -> list[str]:
    """Which stages the time on site is without; what to give for them is not for the customer to do."""
    return [f"The time on site is without the {name}, which cannot be worked out." for name in without]


def visit_sentences(visit: Visit | None, units: str) -> list[str]:
    """Both for the visit of one case."""
    return [] if visit is None else [*never_sentences(visit.never, units), *without_sentences(visit.without)]


def combined_sentences(combined: CombinedVisit, units: str) -> list[str]:
    """Both for a visit with several cases, each sentence with the case it is about."""
    sentences = []
    for place, one in enumerate(combined.cases, 1):
        case = f"Case {place}: " if len(combined.cases) > 1 else ""
        sentences += [case + sentence for sentence in
                      (*never_sentences(one.never, units), *without_sentences(one.without))]
    return sentences
