"""Pieces and the loads they make on the manifold: what one load takes, and what all of them take together."""

from __future__ import annotations

from collections.abc import Collection, Mapping

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case.records import Case
from fillcalc.estimation.answers import Estimate, Loads
from fillcalc.estimation.stages import ONCE, REWORK, at_once, batches, containers_changed


def loads_of(case: Case, estimate: Estimate, times: Mapping[str, Array], without: Collection[str] = ()) -> Loads:
    """Return the loads of a case, (N,); `times` are those of its stages, of which some cannot be had."""
    count, fill = batches(case), estimate.fill
    own = [values for name, values in times.items() if name not in (*ONCE, REWORK, *without)]
    chance = _number(case.rework.chance)
    changing = containers_changed(case, estimate) * _number(case.fill.change_over)
    return Loads(
        pieces=case.vessel.count or 1,
        at_once=at_once(case),
        loads=count,
        time_s=np.asarray(sum(own)) / count,
        fill_time_s=count * (np.asarray(fill.time_s) - fill.change_over_s) + changing,
        pump_up_time_s=count * np.asarray(estimate.pressurise.time_s),
        water_m3=water_of(case, estimate),
        free_air_m3=_share(case) * np.asarray(estimate.pressurise.free_air_m3),
        remade_share=chance,
        remade_pieces=chance * (case.vessel.count or 1),
        remade_time_s=_number(case.rework.time),
    )


def water_of(case: Case, estimate: Estimate) -> Array:
    """Return the water from source and pump for all pieces of a case, run to waste included, m3, (N,)."""
    fill = estimate.fill
    return (_share(case) * np.asarray(fill.water_m3 + fill.top_up_m3 + estimate.pressurise.water_m3)
            + batches(case) * _number(case.fill.run_to_waste))


def _number(leaf: Array | None) -> Array:
    return np.asarray(0.0 if leaf is None else leaf, float)


def _share(case: Case) -> float:
    """Full loads in all pieces; the last load may be a part of one."""
    return (case.vessel.count or 1) / at_once(case)
