"""Cautions of letting down and draining: how fast, suction inside, what stays full."""

from __future__ import annotations

from math import isfinite

import numpy as np

from fillcalc.case.records import Case, LyingCylinder, PipeRun, StandingCylinder, ValveBody
from fillcalc.cautions.rule import Rule, Say, above, is_assumed
from fillcalc.estimation.answers import Estimate
from fillcalc.estimation.stages import release_time
from fillcalc.job.resolve import resolve
from fillcalc.model.wall import collapse, collapse_long

PULL = 3e3
"""Suction that some thin tanks and jackets fold under, Pa; common practice, no source."""
DENTS = 4.0
"""Collapse pressure of a perfect shell over that of a real one; common practice, no source."""
FASTEST_FALL = 7e5 / 60.0
"""Pa/s; large items are let down at 2 to 7 bar/min, common practice."""
LARGE = 0.5
"""Content from which an item is large, m3; judgement."""
CHOKES_FROM = 5e5
"""Pa gauge from which a small valve with no back-pressure chokes (IEC 60534-2-1 with F_L 0.9)."""
HIGH = 1e7
"""Pa gauge from which it is said of an assumed release valve too that it lets down fast; judgement."""
HOURS = 3600.0
"""s of letting down from which a guessed valve makes the quote a guess; judgement."""
LONG = 300.0
"""s of filling or letting down from which a rough figure matters; judgement."""


def _suction(case: Case, estimate: Estimate, name: str) -> float:
    """Return the suction inside while draining, Pa; 0 where unknown.

    `name` is the answer of the drain that holds the lowest pressure inside, Pa abs.
    """
    drain = estimate.drain
    value = None if drain is None else getattr(drain, name)
    outside = float(resolve(case).surroundings.pressure)
    return outside - float(value) if value is not None and isfinite(value) else 0.0


def _drain_time(estimate: Estimate) -> float:
    """Return the time of the drain, s; NaN where unknown."""
    return float("nan") if estimate.drain is None else float(estimate.drain.time_s)


def _vent_shut(case: Case, estimate: Estimate) -> float:
    """Return the suction with the vent closed, Pa."""
    return _suction(case, estimate, "vent_shut_abs_pa")


def _vent_open(case: Case, estimate: Estimate) -> float:
    """Return the suction with the vent open, Pa."""
    return _suction(case, estimate, "lowest_abs_pa")


def _folds_at(case: Case) -> float | None:
    """Return the suction at which a round shell of known wall may fold, Pa; None where that is unknown."""
    vessel = resolve(case).vessel
    if case.families.get("vessel.wall", "bore") != "bore" or isinstance(vessel.wall, str | None):
        return None
    if isinstance(vessel, PipeRun):
        return float(collapse_long(vessel.diameter, vessel.wall, vessel.young, vessel.poisson)) / DENTS
    if not isinstance(vessel, StandingCylinder | LyingCylinder):
        return None
    span = vessel.height if isinstance(vessel, StandingCylinder) else vessel.length
    return float(collapse((vessel.diameter, span), vessel.wall, vessel.young, vessel.poisson)) / DENTS


def _folds(case: Case, estimate: Estimate) -> bool:
    return above(_vent_shut(case, estimate), _folds_at(case))


def _may_fold(case: Case, suction: float) -> bool:
    """Return whether a suction, Pa, may fold the vessel; one of unknown wall folds from `PULL`, a valve never."""
    folds_at = PULL if (known := _folds_at(case)) is None else known
    return suction > folds_at and not isinstance(case.vessel, ValveBody)


def _slowly(case: Case, estimate: Estimate, say: Say) -> str:
    """Return how slowly: by the time that the stage of the release takes; the usual rate where the piece is large."""
    stage = float(np.ravel(release_time(case, estimate))[0])
    taken = f"the estimate takes {say(stage, 'duration')}, " \
            f"{say(float(estimate.pressurise.test_gauge_pa) / stage, 'pressure_rate')}"
    if float(estimate.volume_m3) < LARGE:
        return taken
    return f"{say(2e5 / 60, 'pressure_rate')} to {say(FASTEST_FALL, 'pressure_rate')} is usual for large items; {taken}"


def _hours_guessed(case: Case, estimate: Estimate) -> bool:
    """Whether the release takes hours through a valve that nobody gave."""
    return is_assumed(case, "release.kv") and estimate.release is not None and bool(estimate.release.time_s > HOURS)


def _sooner(say: Say) -> str:
    """Return what makes a release shorter."""
    return f"A second valve in parallel halves it; below {say(1e5, 'pressure')} open the drain a little."


RELEASING: tuple[Rule, ...] = (
    Rule("thin vessel folds", "danger", _folds,
         lambda case, e, say: f"With the vent closed, draining pulls "
         f"{say(_vent_shut(case, e), 'pressure_change')} of suction; this wall may fold at "
         f"{say(_folds_at(case), 'pressure_change')}. Open the vent before the drain."),
    Rule("vent before draining", "warning",
         lambda case, e: _may_fold(case, _vent_shut(case, e)) and not _folds(case, e),
         lambda case, e, say: f"With the vent closed, draining pulls {say(_vent_shut(case, e), 'pressure_change')} of "
         "suction, and the strength of this wall is unknown. Open the vent before the drain."),
    Rule("vent small for the drain", "warning", lambda case, e: _may_fold(case, _vent_open(case, e)),
         lambda case, e, say: f"Even with the vent open, draining pulls "
         f"{say(_vent_open(case, e), 'pressure_change')} of suction. Open a larger vent, or drain more slowly."),
    Rule("release too fast", "caution",
         lambda case, e: case.release.kv is not None and e.release is not None
         and (not is_assumed(case, "release.kv") or bool(e.pressurise.test_gauge_pa >= HIGH))
         and bool(e.pressurise.test_gauge_pa / e.release.time_s > FASTEST_FALL),
         lambda case, e, say: f"Fully open, the release valve lets the pressure down in "
         f"{say(e.release.time_s if e.release else None, 'duration')}. "
         f"Open it slowly: {_slowly(case, e, say)}."),
    Rule("release valve guessed", "caution",
         lambda case, e: _hours_guessed(case, e),
         lambda case, e, say: f"The release takes {say(e.release.time_s if e.release else None, 'duration')} through a "
         f"valve that is assumed. Enter the real one before you quote. {_sooner(say)}"),
    Rule("release chokes", "notice",
         lambda case, e: case.release.kv is not None and bool(e.pressurise.test_gauge_pa > CHOKES_FROM)
         and e.release is not None and bool(e.release.time_s > LONG)
         and not _hours_guessed(case, e),
         lambda case, e, say: f"The release takes {say(e.release.time_s if e.release else None, 'duration')}, a tenth "
         f"more if its valve chokes at first. {_sooner(say)}"),
    Rule("low legs stay full", "notice", lambda case, e: isinstance(case.vessel, PipeRun) and bool(case.vessel.crest),
         lambda case, e, say: "The low legs beside the high points do not drain by the port. Give each its own drain."),
    Rule("drain guessed", "notice", lambda case, e: is_assumed(case, "drain.bore") and _drain_time(e) > LONG,
         lambda case, e, say: f"No drain bore is given. By one of {say(case.drain.bore, 'bore')} draining takes "
         f"{say(_drain_time(e), 'duration')}. Enter the bore and fall of the drain."),
)
"""The rules of letting down and draining, heaviest first."""
