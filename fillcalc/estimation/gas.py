"""A test with gas through all its stages, in the order of the work; no formula stands here."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from typing import Any, get_type_hints

import numpy as np

from fillcalc.arrays import Array, Flags
from fillcalc.case.records import Bottles, Case
from fillcalc.estimation import gas_answers as said
from fillcalc.estimation.answers import Estimate, Fill, Pressurise
from fillcalc.job.gas import GasJob, gas_job
from fillcalc.job.setup import pieces_at_once
from fillcalc.model import energy as distances
from fillcalc.model.gas import energy, leak
from fillcalc.model.gas.letting_off import LetOff, let_off
from fillcalc.model.gas.raising import Raised, raise_pressure
from fillcalc.model.gas.supply import throttled
from fillcalc.model.status import Status

BEHIND_A_SCREEN = 10e3
"""J up to which a piece at a bench is tested behind a screen, and no distance is told; judgement."""


def gas_estimate(case: Case) -> Estimate:
    """Everything the tool says of a case with gas; what it says of water is nothing.

    Shapes as those of `estimate`: leaves (N,), the history that at likely values. What cannot be had is NaN; the status
    of the pump-up says whether the supply gets there.
    """
    job = gas_job(case)
    return answered(job, raise_pressure(job.raising), let_off(job.letting_off))


def before_marching(case: Case) -> Estimate:
    """What is known of a case with gas before anything is marched: its energy, and how far to stand, in J and m."""
    job = gas_job(case)
    nothing = np.full_like(job.test_gauge, np.nan)
    gas = blank(said.GasAnswer, nothing, medium=job.gas.name, supply="", test_gauge_pa=job.test_gauge,
                energy=_energy(job))
    pump = blank(Pressurise, nothing, test_gauge_pa=job.test_gauge, limited_by=np.zeros_like(nothing, int))
    return Estimate(fill=blank(Fill, nothing), trapped_air_m3=nothing, trapped_share=nothing,
                    volume_m3=job.raising.vessel.volume, height_m=nothing, pressurise=pump, air_ladder=(),
                    regulator=None, gas=gas)


def answered(job: GasJob, done: Raised, off: LetOff | None = None) -> Estimate:
    """The answers of a job that was marched; of letting off nothing where that was not."""
    bottles = _bottles(job, done)
    nothing = np.full_like(job.test_gauge, np.nan)
    status = np.where(bottles.enough, int(Status.DONE), int(Status.SUPPLY_ENDS))
    pump = blank(Pressurise, nothing, status=status, reached=bottles.enough, stall_gauge_pa=bottles.ends_gauge_pa,
                 test_gauge_pa=job.test_gauge, limited_by=np.zeros_like(nothing, int))
    fill = blank(Fill, nothing, status=np.zeros_like(nothing, int), finished=np.ones_like(nothing, bool))
    gas = said.GasAnswer(
        medium=job.gas.name, supply=job.case.gas_supply.kind if job.case.gas_supply else "",
        test_gauge_pa=job.test_gauge,
        bottles=bottles, rise=_rise(job, done, bottles.enough), hold=_hold(job, bottles.enough),
        off=blank(said.LetOffAnswer, nothing) if off is None else _off(off, bottles.enough), energy=_energy(job),
        stops=said.GasStops(job.raising.stops_abs - job.raising.outside_abs, job.raising.pauses),
        history=_history(job, done),
        off_history=blank(said.LetOffHistory, nothing) if off is None
        else _off_history(job, off, bool(bottles.enough[0])))
    return Estimate(
        fill=fill, trapped_air_m3=nothing, trapped_share=nothing, volume_m3=job.raising.vessel.volume,
        height_m=nothing, pressurise=pump, air_ladder=(), regulator=None, gas=gas)


def blank(record: type, nothing: Array, **known: object) -> Any:
    """A record of answers of which nothing but `known` can be had."""
    hints, made = get_type_hints(record), {}
    for each in fields(record):
        if each.name in known:
            made[each.name] = known[each.name]
        elif is_dataclass(kind := hints[each.name]) and isinstance(kind, type):
            made[each.name] = blank(kind, nothing)
        else:
            made[each.name] = nothing[None] if each.metadata.get("answer") and each.metadata["answer"].listed \
                else nothing
    return record(**made)


def _bottles(job: GasJob, done: Raised) -> said.BottleAnswer:
    supply, outside = job.raising.supply, job.raising.outside_abs
    given = job.case.gas_supply
    of_bottles = isinstance(given, Bottles)
    nothing = np.full_like(outside, np.nan)
    together = np.minimum(given.at_once, given.bottles) + 0.0 * outside if isinstance(given, Bottles) else nothing
    there = given.bottles + 0.0 * outside if isinstance(given, Bottles) else nothing
    enough = done.reached & np.isfinite(done.read.time) & ~(done.opened > supply.groups)
    needed = done.opened * together
    free = done.given / _free(job)
    full = supply.full()
    pieces, once = np.asarray(job.case.vessel.count, float), np.asarray(pieces_at_once(job.case), float)
    loads = np.ceil(pieces / once)
    several = np.where(loads > 1.0, 1.0, np.nan)
    _, outlet = throttled(job.gas, full, np.minimum(supply.regulator_abs, supply.pressure_abs))
    return said.BottleAnswer(
        reached=done.reached, enough=enough, followed=done.followed, needed=needed, there=there,
        left_gauge_pa=done.left_abs - outside if of_bottles else nothing,
        ends_gauge_pa=done.ends_abs - outside, given_kg=done.given, free_m3=free,
        all_kg=several * done.given * pieces / once,
        all_needed=several * _for_all(job, done, loads) * together,
        coldest_k=done.coldest_bottle if of_bottles else nothing, outlet_k=outlet)


def _for_all(job: GasJob, done: Raised, loads: Array) -> Array:
    """Groups of bottles for all loads, at most: what a group gives above test pressure, left as cold as it gets."""
    supply = job.raising.supply
    left = job.gas.density(np.maximum(supply.change_at(job.raising.stops_abs[-1]), 1.0), done.coldest_bottle)
    gives = supply.holder.volume * (supply.full().density - left)
    by_mass = np.ceil(loads * done.given / np.where(gives > 0.0, gives, np.nan))
    return np.fmin(by_mass, loads * done.opened)


def _rise(job: GasJob, done: Raised, enough: Flags) -> said.RaiseAnswer:
    only = np.where(enough, 1.0, np.nan)
    changed = only if isinstance(job.case.gas_supply, Bottles) else np.nan * only
    cold = job.gas.at(done.test.density, job.case.surroundings.temperature).pressure
    fallen = cold - job.raising.outside_abs
    return said.RaiseAnswer(
        time_s=done.test.time * only, pause_s=done.paused * only, change_s=done.changing * changed,
        hottest_k=done.hottest * only, settle_s=(done.read.time - done.test.time) * only,
        read_s=done.read.time * only, fall_pa=np.maximum(job.test_gauge - fallen, 0.0) * only,
        fallen_gauge_pa=fallen * only)


def _hold(job: GasJob, enough: Flags) -> said.GasHold:
    only, seat = np.where(enough, 1.0, np.nan), job.case.vessel.practice().bench
    outside, warm = job.raising.outside_abs, job.case.surroundings.temperature
    volume, hold = job.raising.vessel.volume, np.maximum(job.case.test.hold, 1.0)
    at = job.gas.at_pressure(job.test_gauge + outside, warm)
    per_kelvin, division = leak.pressure_per_kelvin(at), job.case.gauge.division
    lost, to_free = leak.flow_at(volume, at, division / hold), at.density / _free(job)
    return said.GasHold(
        per_kelvin_pa=per_kelvin * only,
        kelvin_hides_free_m3_s=to_free * leak.flow_at(volume, at, per_kelvin / hold) * only,
        leak_per_division_free_m3_s=to_free * lost * only, leak_per_division_m3_s=lost * only,
        leak_per_division_pa_m3_s=leak.throughput(volume, division / hold) * only,
        bubbles_s=leak.bubbles(job.gas, lost * at.density, (outside, warm)) * (only if seat else np.nan),
        cooling_left_pa=job.raising.quiet * hold * only)


def _off(done: LetOff, enough: Flags) -> said.LetOffAnswer:
    only = np.where(enough, 1.0, np.nan)
    return said.LetOffAnswer(done.time * only, done.coldest * only, done.coldest_wall * only)


def _energy(job: GasJob) -> said.GasEnergy:
    outside, volume = job.raising.outside_abs, job.raising.vessel.volume
    gauge, warm = job.test_gauge, job.case.surroundings.temperature
    ideal = energy.ideal(volume, gauge, outside)
    water = energy.of_water(volume, gauge, np.maximum(warm, 273.16), outside)
    real = energy.isentropic(job.gas, volume, gauge, warm, outside)
    stand = np.where(job.case.vessel.practice().bench & (ideal <= BEHIND_A_SCREEN), np.nan, 1.0)
    return said.GasEnergy(
        isentropic_j=real, ideal_j=ideal, constant_volume_j=energy.constant_volume(volume, gauge),
        isothermal_j=energy.isothermal(volume, gauge + outside, outside), water_j=water, times_water=real / water,
        distance_m=stand * distances.gas_distance(ideal), distance_later_m=stand * distances.gas_distance(ideal, 2.0))


def _history(job: GasJob, done: Raised) -> said.GasHistory:
    """The march of the case at likely values, as far as the bottles last that there are."""
    nodes = [node for node in done.history if not node.opened > job.raising.supply.groups[0]]
    if not nodes:
        return blank(said.GasHistory, np.full(1, np.nan))
    time, pressure, gas, bottle, opened, flow, doing = (
        np.array(column, float)[:, None] for column in zip(*nodes, strict=True))
    outside = job.raising.outside_abs[:1]
    return said.GasHistory(time, pressure - outside, gas, bottle - outside, opened, flow / _free(job)[:1], doing)


def _off_history(job: GasJob, done: LetOff, enough: bool) -> said.LetOffHistory:
    """The march of letting off at likely values; nothing where test pressure is not reached."""
    time, pressure, gas, flow = (np.array(column)[:, None] * (1.0 if enough else np.nan)
                                 for column in zip(*done.history, strict=True))
    return said.LetOffHistory(time, pressure - job.raising.outside_abs[:1], gas, flow / _free(job)[:1])


def _free(job: GasJob) -> Array:
    """Density of the gas as it stands on site, kg/m3."""
    return np.asarray(job.gas.density(job.raising.outside_abs, job.case.surroundings.temperature))
