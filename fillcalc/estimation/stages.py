"""The stages of a visit, each for all pieces of a case, over all samples at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case.medium import is_gas
from fillcalc.case.records import Case
from fillcalc.case.stages import GAS, PIECE, STAGES, VISIT, WATER
from fillcalc.estimation.answers import Estimate
from fillcalc.model.filling import change_overs

if TYPE_CHECKING:
    from fillcalc.estimation.gas_answers import GasAnswer

VALVES = 60.0
"""Least time of a pump-up, s: valves turned, the gauge looked at; common practice."""
RELEASE_LEAST = 60.0
"""Least time of a release, s: the valve opened slowly, zero proved; common practice."""
BENCH_RELEASE_LEAST = 10.0
"""The same for a valve body."""
WAIT = "wait"
ONCE = tuple(one.name for one in STAGES.values() if one.of == VISIT)
"""Stages that count once however many pieces and cases there are."""
EACH = tuple(one.name for one in STAGES.values() if one.of == PIECE)
"""Stages that are done for each piece."""
BY_FILL = ("fill", "run to waste", "top up")
BY_PUMP = ("pump up",)
BY_GAS = "raise"
REWORK = "rework"
GAS_ORDER = tuple(one.name for one in STAGES.values() if one.only != WATER)
ORDER = tuple(one.name for one in STAGES.values() if one.only != GAS)


def batches(case: Case) -> int:
    """How many times the vessel, or the manifold with its pieces, is filled and pumped."""
    return -(-case.vessel.count // at_once(case))


def at_once(case: Case) -> int:
    """Pieces on the manifold at once, never more than there are."""
    return max(1, min(case.vessel.at_once or 1, case.vessel.count or 1))


def repeats(case: Case) -> dict[str, float]:
    """How often each stage is done on one day: once, for each piece, or for each load."""
    pieces, loads = float(case.vessel.count or 1), float(batches(case))
    return {name: 1.0 if name in ONCE else pieces if name in EACH else loads
            for name in (GAS_ORDER if is_gas(case) else ORDER)}


def stages(case: Case, estimate: Estimate, remade: Array) -> dict[str, Array]:
    """Time of each stage in s, in the order of the work, (N,) or (1,); all pieces of the case together.

    Leaves of the case and the estimate are arrays over the same N samples, or single; `remade` is the number of pieces
    with a joint to remake. Connecting, bleeding, looking over and disconnecting are done for each piece; filling,
    pumping, settling, holding, release and drain for each lot of pieces that hang on the manifold at once. What
    never comes to pass is NaN. The crew is in the labour times already.
    """
    if estimate.gas is not None:
        return gas_stages(case, estimate.gas, remade)
    lots = float(batches(case))
    fill, pump = estimate.fill, estimate.pressurise
    pumping = np.maximum(pump.time_s, VALVES) + pump.pause_s
    found = work_stages(case, remade) | {
        "fill": lots * (fill.time_s - fill.change_over_s) + _changing(case, estimate),
        "run to waste": lots * fill.run_to_waste_s,
        "top up": lots * fill.top_up_s,
        "pump up": lots * pumping,
        "hold": lots * _time(case.test.hold),
        "release": lots * release_time(case, estimate),
        "drain": lots * _drain(estimate),
    }
    return {name: found[name] for name in ORDER}


def gas_stages(case: Case, gas: GasAnswer, remade: Array) -> dict[str, Array]:
    """The same for a test with gas: nothing is filled, bled or drained."""
    lots = float(batches(case))
    least = BENCH_RELEASE_LEAST if case.vessel.practice().bench else RELEASE_LEAST
    found = work_stages(case, remade) | {
        "raise": lots * np.maximum(gas.rise.time_s, VALVES),
        "settle": lots * gas.rise.settle_s,
        "hold": lots * _time(case.test.hold),
        "let off": lots * np.maximum(gas.off.time_s, least),
    }
    return {name: found[name] for name in GAS_ORDER}


def work_stages(case: Case, remade: Array) -> dict[str, Array]:
    """Time of the stages of the crew's own work in s, (N,) or (1,), which hang on `WORK_INPUTS` alone; all pieces of
    the case together."""
    pieces = float(case.vessel.count or 1)
    once, each = case.labour.visit, case.labour.each
    found = {
        "wait": _time(once.wait),
        "set up": _time(once.set_up),
        "connect": pieces * _time(each.connect),
        "inspect": pieces * _time(each.inspect),
        "disconnect": pieces * _time(each.disconnect),
        "pack up": _time(once.pack_up),
        REWORK: remade * _time(case.rework.time),
    }
    if not is_gas(case):
        found |= {"bleed": pieces * _time(each.bleed), "settle": float(batches(case)) * _time(each.settle)}
    return found


def containers_changed(case: Case, estimate: Estimate) -> Array:
    """How many times a container that ran empty is changed for a full one, for all pieces of the case; NaN where the
    fill does not end."""
    contents = np.inf if case.tap.contents is None else case.tap.contents
    return change_overs(contents, np.asarray(estimate.fill.given_m3), float(batches(case)))


def _changing(case: Case, estimate: Estimate) -> Array:
    """Time of all change-overs, s."""
    return containers_changed(case, estimate) * _time(case.fill.change_over)


def _time(leaf: Array | None) -> Array:
    return np.atleast_1d(np.asarray(0.0 if leaf is None else leaf, float))


def release_time(case: Case, estimate: Estimate) -> Array:
    """Return the time of the release of one lot, s: a least time where the valve alone would be quicker."""
    least = BENCH_RELEASE_LEAST if case.vessel.practice().bench else RELEASE_LEAST
    if estimate.release is not None:
        return np.maximum(estimate.release.time_s, least)
    return np.where(np.isfinite(estimate.pressurise.time_s), least, np.nan)


def _drain(estimate: Estimate) -> Array:
    assert estimate.drain is not None
    return estimate.drain.time_s
