"""Cautions: what can hurt someone or spoil the job in this case. One file of rules for each stage of the work.

What is true of every job stands once in the safety box (`fillcalc.present.sentences.SAFETY`), not here.
"""

from __future__ import annotations

from functools import partial

from fillcalc.case.records import Case
from fillcalc.cautions.filling import FILLING
from fillcalc.cautions.gas import GAS
from fillcalc.cautions.holding import HOLDING
from fillcalc.cautions.limits import LIMITS
from fillcalc.cautions.pumping import PUMPING, READINGS, reading_cautions
from fillcalc.cautions.releasing import RELEASING
from fillcalc.cautions.rule import WEIGHTS, Rule
from fillcalc.cautions.site import SITE
from fillcalc.cautions.unusual import unusual
from fillcalc.cautions.wall import WALL
from fillcalc.estimation.answers import Caution, Estimate, at_likely_values
from fillcalc.questions.likely import likely
from fillcalc.units import show

RULES: tuple[Rule, ...] = (*READINGS, *FILLING, *WALL, *LIMITS, *PUMPING, *HOLDING, *RELEASING, *SITE)
"""Every rule of a test with water, in the order of the work; those of a test with gas are `GAS` and `WALL`."""

UNUSUAL = "unusual figure"
"""Code of the questions about legal but unlikely figures; one caution for each figure."""

__all__ = ["GAS", "RULES", "UNUSUAL", "WEIGHTS", "cautions", "reading_cautions"]


def cautions(case: Case, estimate: Estimate, units: str = "metric") -> tuple[Caution, ...]:
    """Return every caution that the case raises, the heaviest first, otherwise in the order of the work.

    A case of many samples is judged at its likely values. `units` (metric or us) are those of the sentences.
    """
    case, estimate = at_likely_values(case), at_likely_values(estimate)
    shown = likely(estimate, units)  # the figures that are told elsewhere
    if estimate.gas is not None:
        estimate = shown
    say = partial(show, units=units)
    raised = [rule for rule in (RULES if estimate.gas is None else (*GAS, *WALL)) if rule.when(case, estimate)]
    stopped = any(rule.stops for rule in raised)
    found = [Caution(rule.code, rule.weight, rule.sentence(case, shown, say), rule.path, rule.own_gear)
             for rule in raised if not (stopped and rule.raises)]
    found += [Caution(UNUSUAL, "notice", sentence, path) for path, sentence in unusual(case, units)]
    return tuple(sorted(found, key=lambda caution: WEIGHTS.index(caution.weight)))
