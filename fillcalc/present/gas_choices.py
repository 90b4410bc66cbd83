"""What is told of a choice of bottles and regulator, once: its cells, what it warns of, and why it cannot do it."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite

from fillcalc.cautions.gas import GAS
from fillcalc.estimation.answers import at_likely_values
from fillcalc.present.never import NEVER, time_or_never
from fillcalc.present.sentences import Say, shower, trade
from fillcalc.questions.choices.gas import GasChoice
from fillcalc.units.printable import shown
from fillcalc.units.spans import Three, rounded, show_ends, show_range

HEADS = ("bottles", "regulator", "needed", "read after", "high", "warnings")
OF_SUPPLY = ("failed regulator", "only the relief valve holds gas", "regulator lifts the relief valve",
             "regulator freezes", "hot gas")
"""Rules about bottles and regulator; the others are of the case, whichever is taken."""
TURNS_ABOVE = "The regulator can be turned above the pressure limit; only the relief valve holds it then."
NO_SPARE = "In more than one test in ten the bottles run out before the reading: bring one more."


def choice_cells(one: GasChoice, units: str) -> tuple[str, ...]:
    """One choice in a row, under `HEADS`."""
    say, read = shower(units), _read(one, units)
    return (shown(one.bottle), shown(one.regulator), _needed(one, say), time_or_never(read.likely, say),
            show_ends(read.low, read.high, "duration", units, read.likely, NEVER)[1] if isfinite(read.low) else "",
            str(len(choice_warnings(one, units)) or ""))


def _read(one: GasChoice, units: str) -> Three:
    """After how long the gauge may be read, s."""
    return rounded(Three(one.read_low_s, one.read_s, one.read_high_s), "duration", units)


def choice_warnings(one: GasChoice, units: str) -> list[str]:
    """What these bottles and this regulator raise, each with its weight, the heaviest first."""
    if one.estimate is None:
        return []
    say, case, estimate = shower(units), at_likely_values(one.case), one.estimate
    sentences = [f"{rule.weight.upper()}: {rule.sentence(case, estimate, say)}" for rule in GAS
                 if rule.code in OF_SUPPLY and rule.when(case, estimate)]
    if one.turns_above:
        sentences.insert(0, f"WARNING: {TURNS_ABOVE}")
    spare = [f"CAUTION: {NO_SPARE}"] if one.can and one.there and not one.most_needed <= one.there else []
    return [trade(sentence, units) for sentence in (*sentences, *spare)]


def why_not(one: GasChoice, units: str) -> str:
    """Why a choice cannot do it."""
    at = f", at {shower(units)(one.ends_gauge_pa, 'pressure')}" if isfinite(one.ends_gauge_pa) else ""
    return f"{one.why}{at}"


def choice_name(one: GasChoice) -> str:
    """What a choice is called: "50 L at 200 bar with 30 bar regulator"."""
    return shown(one.bottle) if one.own else f"{shown(one.bottle)} with {shown(one.regulator)}"


def choice_sentence(one: GasChoice, units: str) -> str:
    """One choice in a sentence."""
    say, read = shower(units), _read(one, units)
    ends = show_range(read.low, read.high, "duration", units, read.likely, NEVER) if isfinite(read.low) else ""
    if not one.can:
        return f"{choice_name(one)}: {why_not(one, units)}."
    needed = f"{_needed(one, say)} bottles, " if one.there else ""
    return f"{choice_name(one)}: {needed}read after {time_or_never(read.likely, say)}{f', {ends}' if ends else ''}."


def _needed(one: GasChoice, say: Say) -> str:
    """How many bottles of those that there are."""
    return f"{say(one.needed, 'count')} of {one.there}" if one.there else ""


def best_choice_sentence(found: Sequence[GasChoice], units: str) -> str:
    """Which one to take."""
    if not found:
        return "This kit holds no [[bottle]]."
    best = found[0]
    if not best.can:
        return "Nothing in this kit does it."
    return f"{'Keep your' if best.own else 'Take'} {choice_sentence(best, units)}"
