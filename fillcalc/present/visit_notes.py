"""What must be said below the stages of a visit: why they do not add up, its joints, its loads and its days."""

from __future__ import annotations

from collections.abc import Sequence

from fillcalc.estimation.answers import Estimate, Loads
from fillcalc.estimation.stages import VALVES
from fillcalc.present.loads import remade_words
from fillcalc.present.sentences import shower, trade


def time_notes(loads: Sequence[Loads | None], units: str) -> list[str]:
    """Why the columns do not add up, and how many joints are expected to be re-made; `loads` are those of each case."""
    sentences = ["The totals are not the sums of the columns: everything seldom goes well, or badly, at once, "
                 "and stages overrun further than they underrun.",
                 *remade_words(loads, units)]
    return [trade(sentence, units) for sentence in sentences]


def visit_notes(estimate: Estimate, units: str) -> list[str]:
    """The same for the visit of one case, and why a stage is longer than what is told of it."""
    if estimate.visit is None:
        return []
    if estimate.gas is not None:
        from fillcalc.present.gas import apart_sentences

        apart = apart_sentences(estimate, units)
    else:
        apart = []
    return [*apart, *_least(estimate), *_stops(estimate, units), *_daily(estimate),
            *time_notes([estimate.loads], units)]


def _stops(estimate: Estimate, units: str) -> list[str]:
    """The stops on the way up, which the stage of the pump-up holds and its headline does not."""
    loads = 1.0 if estimate.loads is None else float(estimate.loads.loads)
    pause = loads * float(estimate.pressurise.pause_s) if estimate.gas is None else 0.0
    return [f"The stage pump-up includes {shower(units)(pause, 'duration')} of stops."] if pause > 0.0 else []


def _daily(estimate: Estimate) -> list[str]:
    """That set-up and pack-up are done once each day."""
    days = estimate.days
    if days is None or not days.likely > 1.0:
        return []
    count = round(float(days.likely))
    return [f"The stages set up and pack up are those of {'both' if count == 2 else f'all {count}'} days."]


def _least(estimate: Estimate) -> list[str]:
    """That a pump-up or a release shorter than the least time of its stage counts as that."""
    release = estimate.release
    loads = 1.0 if estimate.loads is None else float(estimate.loads.loads)
    staged = {stage.name: float(stage.at_likely_values_s) / loads for stage in estimate.stages}
    short = ["pump-up"] if estimate.pressurise.time_s < VALVES else []
    if release is not None and release.time_s < 0.95 * staged.get("release", 0.0):
        short.append("release")
    if not short:
        return []
    text = " and the ".join(short)
    return [f"The time on site allows longer for the {text}: valves are turned and the gauge is read."]
