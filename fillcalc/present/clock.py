"""The stage clock in words: which stage runs, what each took beside its estimate, and when the work is done."""

from __future__ import annotations

from datetime import datetime, timedelta
from math import isfinite

from fillcalc.case.records import Case
from fillcalc.case.stages import STAGE_KEYS, STAGES
from fillcalc.estimation.answers import Estimate, at_likely_values
from fillcalc.present.never import NEVER
from fillcalc.present.sentences import shower
from fillcalc.present.tables import Rows, stage_label, takes_time
from fillcalc.questions.remaining import Rest
from fillcalc.tree import at
from fillcalc.units.spans import show_range

STEP = timedelta(minutes=5)
"""What the time of leaving is rounded to."""


def stages_of(estimate: Estimate) -> tuple[str, ...]:
    """The keys of the stages that take time in a case, in the order of the work; all where none is worked out."""
    found = tuple(STAGES[stage.name].key for stage in estimate.stages if takes_time(stage))
    return found or STAGE_KEYS


def to_last(stage: str, case: Case, estimate: Estimate) -> float:
    """How long a stage is to last for one load, s: the hold and the settle; 0 for one that ends with its work."""
    if stage == "hold":
        return float(case.test.hold)
    if stage != "settle":
        return 0.0
    gas = at_likely_values(estimate).gas
    asked = case.labour.each.settle if gas is None else gas.rise.settle_s
    return float(asked) if asked is not None and isfinite(asked) else 0.0


def early_sentence(stage: str, lasts_s: float, elapsed_s: float, within_s: float, units: str) -> str:
    """What is said before a stage is ended that is not over."""
    say = shower(units)
    passed = say(round(elapsed_s), "duration")
    return f"Not ended: {STAGES[stage].said} is to last {say(lasts_s, 'duration')}; only {passed} have passed. " \
           f"N again within {within_s:.0f} s ends it."


def running_sentence(stage: str, elapsed_s: float, rest: Rest | None, units: str) -> str:
    """Which stage the clock runs on and for how long; with a word where it is longer than foreseen."""
    longer = ", longer than foreseen" if rest is not None and rest.longer else ""
    return f"Stage: {stage_label(stage)}, {shower(units)(round(elapsed_s), 'duration')} so far{longer}."


def leave_sentence(rest: Rest, now: datetime) -> str:
    """When the work is done and the crew can leave: "Ready to leave at about 14:40, 14:10 to 15:25."."""
    likely = float(rest.likely_s)
    if not isfinite(likely):
        return "Ready to leave: never, as it stands. The report says why."
    if likely <= 0.0:
        return "All stages are done."
    low, high = float(rest.low_s), float(rest.high_s)
    return f"Ready to leave at about {_clock(now, likely)}, {_clock(now, low)} to " \
           f"{_clock(now, high) if isfinite(high) else NEVER}."


def _clock(now: datetime, seconds: float) -> str:
    """The time of day that much later, to five minutes; with the day where it is another."""
    then = now + timedelta(seconds=seconds)
    then = datetime.min + STEP * round((then - datetime.min) / STEP)
    days = (then.date() - now.date()).days
    return f"{then:%H:%M}" + (f" (+{days} d)" if days else "")


def clock_rows(case: Case, estimate: Estimate, units: str) -> Rows:
    """Each stage that takes time: what it took, and what was estimated for all of it; with a head."""
    say = shower(units)
    rows: Rows = []
    for stage in estimate.stages:
        taken = at(case.took, STAGES[stage.name].key)
        if takes_time(stage) and taken is not None:
            rows.append((stage_label(stage.name), say(taken, "duration"),
                         _told(stage.low_s, stage.likely_s, stage.high_s, units)))
    return [("", "taken", "estimated"), *rows] if rows else rows


def _told(low: float, likely: float, high: float, units: str) -> str:
    return show_range(float(low), float(high), "duration", units, float(likely), NEVER) or \
        shower(units)(likely, "duration")

