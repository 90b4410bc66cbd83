"""Cautions of a recorder's file: what its record shows that can hurt someone or spoils the hold as a record."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from math import isfinite
from typing import Any

from fillcalc.case.records import Case
from fillcalc.cautions.rule import WEIGHTS, Say
from fillcalc.estimation.answers import Caution
from fillcalc.estimation.limits import lowest_rating
from fillcalc.questions.readings.reached import FINER, division_of
from fillcalc.questions.recording.explained import HoldFit
from fillcalc.questions.recording.hold import RecordedHold
from fillcalc.questions.recording.parts import Jump
from fillcalc.recorder.log import Log
from fillcalc.units import show
from fillcalc.units.spans import Three, rounded

LITTLE = 0.3
"""Part of the fall that a leak makes, of which less shows because the temperature rose; judgement."""
LET_DOWN = "Let the pressure down to zero before anyone tightens or loosens anything."


@dataclass(frozen=True)
class Recorded:
    """A case, the record of its test, and what that tells."""

    case: Case
    log: Log
    found: RecordedHold
    units: str

    @property
    def fit(self) -> HoldFit | None:
        """What explains the hold."""
        return self.found.fit

    def pumped(self) -> tuple[Jump, ...]:
        """Sudden rises while the vessel is shut, as by a stroke of the pump."""
        return tuple(jump for jump in self.found.parts.jumps if jump.rise_pa > 0.0)

    def dropped(self) -> tuple[Jump, ...]:
        """Sudden falls while the vessel is shut."""
        return tuple(jump for jump in self.found.parts.jumps if jump.rise_pa < 0.0)

    def hidden(self) -> bool:
        """Whether a leak shows that the pressure alone does not, for the temperature rose."""
        if self.fit is None or not self.fit.shows:
            return False
        by = {one.name: one.likely_pa for one in self.fit.explained}
        return by["temperature"] > 0.0 and self.fit.change_pa > LITTLE * by["leak"]

    def too_small(self) -> tuple[float, float]:
        """The smallest leak that was asked for and would not have shown, m3/s, and the hold that shows it, s; NaN where
        every one would have."""
        if self.fit is None:
            return float("nan"), float("nan")
        asked = [one for one in self.fit.longer if one.asked and one.leak_m3_s < self.fit.smallest_m3_s]
        least = min(asked, key=lambda one: one.leak_m3_s, default=None)
        return (float("nan"), float("nan")) if least is None else (least.leak_m3_s, least.time_s)

    def where(self, jumps: tuple[Jump, ...]) -> str:
        """When sudden steps were, with their lines: "at 10:42 (line 371)"."""
        first = jumps[0]
        more = f" and {len(jumps) - 1} more" if len(jumps) > 1 else ""
        return f"at {self.log.clock(first.at_s)} (line {first.line}){more}"


@dataclass(frozen=True)
class RecordRule:
    """One caution of a record, as `Rule` is one of a case; a comparison with NaN is false."""

    code: str
    weight: str
    when: Callable[[Recorded], Any]
    sentence: Callable[[Recorded, Say], str]


def _shows(of: Recorded) -> bool:
    return of.fit is not None and of.fit.shows and not of.hidden()


def _leak(of: Recorded, say: Say) -> str:
    assert of.fit is not None
    leak = of.fit.leak
    each = rounded(Three(float(leak.low_m3_s), float(leak.likely_m3_s), float(leak.high_m3_s)), "flow", of.units)
    return f"a leak of about {say(each.likely, 'flow')}"


def _too_small(of: Recorded, say: Say) -> str:
    leak, time = of.too_small()
    assert of.fit is not None
    least = say(of.fit.smallest_m3_s, "flow")
    text = f"This hold cannot show a leak of {say(leak, 'flow')}: only {least} or more would have shown."
    if isfinite(time):
        return f"{text} Hold for {say(time, 'duration')} in all."
    return f"{text} " + ("Hold while the temperature stands still." if of.fit.temperature_read else
                         "Record the temperature.")


def _no_temperature(of: Recorded) -> bool:
    return of.fit is not None and not of.fit.temperature_read and not of.fit.shows


def _short(of: Recorded) -> bool:
    return of.found.time_s < of.found.asked_s - of.log.step_s


def _stands_at_pressure(of: Recorded, say: Say) -> str:
    last = say(float(of.found.record.gauge_pa[-1]), "pressure")
    return (f"The record ends at {last}: that it was let down is not in it. "
            "Read the gauge, and prove zero at an open vent, before loosening anything.")


def _above_limit(of: Recorded, say: Say) -> str:
    part, limit = lowest_rating(of.case)
    highest = say(of.found.parts.highest_gauge_pa, "pressure")
    return (f"The record reaches {highest}, above {part} of {say(limit, 'pressure')}. Let the pressure down "
            "to zero. Do not pump again until a competent person has judged what was over-pressed.")


RECORDED: tuple[RecordRule, ...] = (
    RecordRule("record above limit", "danger",
               lambda of: of.found.parts.highest_gauge_pa > lowest_rating(of.case)[1] + FINER * division_of(of.case),
               _above_limit),
    RecordRule("leak hidden by warming", "warning", Recorded.hidden,
               lambda of, say: f"Warming hides {_leak(of, say)}: the pressure alone does not show it. {LET_DOWN}"),
    RecordRule("leak recorded", "warning", _shows,
               lambda of, say: f"The record shows {_leak(of, say)}. {LET_DOWN}"),
    RecordRule("sudden drop", "warning", lambda of: bool(of.dropped()),
               lambda of, say: f"The pressure drops suddenly {of.where(of.dropped())}. Something may have slipped. "
               "Keep clear, let the pressure down to zero, and find what gave way."),
    RecordRule("rise not explained", "warning", lambda of: of.fit is not None and of.fit.unexplained_rise,
               lambda of, say: "The pressure rose by more than the record explains: a part warms, or water was pumped "
               "in. Watch the gauge and let it down before the pressure limit."),
    RecordRule("record ends at pressure", "warning",
               lambda of: of.found.parts.hold is not None and of.found.ends_at_pressure, _stands_at_pressure),
    RecordRule("pumped in the hold", "caution", lambda of: bool(of.pumped()),
               lambda of, say: f"Pumped while it should hold, {of.where(of.pumped())}. Begin the hold anew, without a "
               "stroke, and find why it was needed."),
    RecordRule("hold below test pressure", "caution", lambda of: of.found.below_test,
               lambda of, say: f"The hold began at {say(of.found.start_gauge_pa, 'pressure')}, below test pressure. "
               "Pump up to test pressure and hold again."),
    RecordRule("hold shorter than asked", "caution", _short,
               lambda of, say: f"The hold lasts {say(of.found.time_s, 'duration')} in this record; the case asks for "
               f"{say(of.found.asked_s, 'duration')}. Hold again for the whole time."),
    RecordRule("leak too small for the hold", "caution", lambda of: isfinite(of.too_small()[0]), _too_small),
    RecordRule("no temperature", "caution", _no_temperature,
               lambda of, say: f"No temperature was recorded: a leak of up to {say(_high(of), 'flow')} looks the same "
               "as cooling. Record the temperature of the water or the wall."),
)
"""The rules of a record, heaviest first."""


def _high(of: Recorded) -> float:
    return of.fit.leak.high_m3_s if of.fit is not None else float("nan")


def recording_cautions(case: Case, log: Log, found: RecordedHold, units: str = "metric") -> tuple[Caution, ...]:
    """Return every caution that a record raises, the heaviest first; `units` is metric or us."""
    of, say = Recorded(case, log, found, units), partial(show, units=units)
    raised = [Caution(rule.code, rule.weight, rule.sentence(of, say)) for rule in RECORDED if rule.when(of)]
    return tuple(sorted(raised, key=lambda caution: WEIGHTS.index(caution.weight)))
