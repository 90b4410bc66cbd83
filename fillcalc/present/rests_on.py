"""What a time on site rests on that nobody gave: stages much in doubt, and the assumed input that sets each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

from fillcalc.case.records import Case
from fillcalc.case.stages import STAGES
from fillcalc.estimation.answers import Stage
from fillcalc.present.inputs import as_read, assumed_value
from fillcalc.present.never import time_or_never
from fillcalc.present.sentences import shower
from fillcalc.units.spans import show_range

MUCH = 0.1
"""Doubt in a stage, low to high, as a part of the time on site, from which it is told; judgement."""


@dataclass(frozen=True)
class Guess:
    """An input that nobody gave, what was taken for it, and the stage that it sets."""

    path: str
    named: str
    """Its name and value: "release valve Kv 0.05"."""
    stage: Stage


def guesses(case: Case, stages: Sequence[Stage], on_site_s: float, units: str) -> list[Guess]:
    """Return the assumed inputs on which much of a time on site, s, hangs; figures of one's own are none of them.

    Stages are those of `fillcalc.questions.likely`.
    """
    taken = {item.path: item for item in case.assumptions if not item.own}
    endless = next((one for one in stages if not isfinite(one.high_s)), None)  # those after it end as seldom
    return [Guess(path, f"{name.replace(',', '')} {value}", one)
            for one in stages for path in [STAGES[one.name].set_by]
            if path in taken and (one is endless or float(one.high_s) - float(one.low_s) >= MUCH * on_site_s)
            for name, value in [as_read(case, path, assumed_value(case, taken[path], units), units)]]


def guess_sentences(found: Sequence[Guess], units: str) -> list[str]:
    """Return what a customer is told of them: "The time assumes release valve Kv 0.05: the release takes 3 h 50 min
    (1 h 20 min to 9 h 00 min)."."""
    return [f"The time assumes {one.named}: {STAGES[one.stage.name].said} takes {_takes(one.stage, units)}."
            for one in found]


def _takes(stage: Stage, units: str) -> str:
    low, likely, high = float(stage.low_s), float(stage.likely_s), float(stage.high_s)
    ends = show_range(low, high, "duration", units, likely, "never") if isfinite(low) else ""
    return time_or_never(likely, shower(units)) + (f" ({ends})" if ends else "")
