"""How sure: low, likely and high of the answers, and which input moves them most."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case.medium import is_gas
from fillcalc.case.records import Case, HandPump
from fillcalc.estimation.answers import Estimate, Never, Span, Spread, Stage, Swing, Visit, at_likely_values
from fillcalc.estimation.days import counted, visiting
from fillcalc.estimation.estimate import estimate
from fillcalc.estimation.loads import loads_of
from fillcalc.estimation.stages import BY_FILL, BY_GAS, BY_PUMP, stages
from fillcalc.job.points import DRAWS
from fillcalc.job.samples import Samples, assign, keys, remade, samples
from fillcalc.model.status import Status
from fillcalc.questions.days import CaseTimes, days_answer, number_of_days
from fillcalc.questions.percentiles import low_likely_high

SPREAD = (
    "fill.time_s", "fill.water_m3", "fill.water_kg", "fill.top_up_m3", "fill.top_up_s", "fill.flow_start_m3_s",
    "fill.flow_end_m3_s", "fill.air_peak_gauge_pa", "trapped_air_m3", "trapped_share",
    "pressurise.water_m3", "pressurise.time_s", "pressurise.strokes", "pressurise.strokes_before_needle",
    "pressurise.times_air_free", "pressurise.free_air_m3", "pressurise.stall_gauge_pa",
    "settle.drop_water_pa", "settle.drop_air_pa", "settle.drop_air_left_pa", "hold.pressure_per_kelvin_pa",
    "hold.leak_per_division_m3_s", "hold.hidden_by_air", "hold.drift_pa", "hold.solution_pa",
    "release.time_s", "release.time_to_half_bar_s", "drain.time_s", "drain.lowest_abs_pa", "drain.vent_shut_abs_pa",
    "energy.water_j", "energy.wall_j", "energy.air_j", "energy.all_gas_j",
    "loads.time_s", "loads.fill_time_s", "loads.pump_up_time_s", "loads.water_m3", "loads.free_air_m3",
)
"""The answers whose low, likely and high are told."""
STANDS = (Status.AIR_SHUT_IN, Status.HEAD_TOO_HIGH, Status.PUMP_STALLS, Status.LEAK_BALANCES,
          Status.BELOW_HEAD, Status.SUPPLY_ENDS)
"""Why a sample never finishes."""
GAS_SPREAD = tuple(f"gas.{path}" for path in (
    "bottles.needed", "bottles.left_gauge_pa", "bottles.ends_gauge_pa", "bottles.given_kg", "bottles.free_m3",
    "bottles.coldest_k", "bottles.outlet_k", "rise.time_s", "rise.change_s", "rise.hottest_k", "rise.settle_s",
    "rise.read_s", "rise.fall_pa", "rise.fallen_gauge_pa", "hold.per_kelvin_pa", "hold.kelvin_hides_free_m3_s",
    "hold.leak_per_division_free_m3_s", "hold.leak_per_division_m3_s",
    "hold.leak_per_division_pa_m3_s", "hold.bubbles_s", "off.time_s", "off.coldest_k",
    "off.wall_k", "energy.isentropic_j"))
"""The same of a test with gas."""
ENDS = "gas.bottles.ends_gauge_pa"
GAS_DRAWS = 256
"""Samples of a test with gas, a power of two: each is a march in time."""
SMALLEST_SWING = 1.0
"""An input that moves the time on site by less than this, in s, is not listed."""


def draws_of(case: Case, draws: int = DRAWS) -> int:
    """How many samples a case is worked out with where so many are asked for."""
    return min(draws, GAS_DRAWS) if is_gas(case) else draws


def with_ranges(case: Case, draws: int = DRAWS) -> Estimate:
    """The estimate at likely values, with stages, time on site, spreads and what matters most.

    One call works out the case at likely values, 8192 evenly spread samples over all ranges of the case, and each
    ranged input alone at its 10th and 90th hundredth. Low, likely and high are the 10th, 50th and 90th hundredth of
    all samples; of a time, those that never come to an end count as longer than any that do, and their share is
    `never_share`. Leaves of the answer are floats. Fewer `draws`, a power of two, tell the same sooner, the last digit
    of low and high apart.
    """
    sampled = samples(case, assign(keys(case), draws_of(case, draws)))
    everything, alone = stages_of(sampled)
    once = visiting(sampled.case, alone.times)
    number = number_of_days([alone], once)
    times, without = counted(alone.times, number), alone.without
    total = total_of(times, without)
    return replace(
        at_likely_values(everything),
        days=days_answer([alone], once, _first_and_drawn(sampled, total), _first_and_drawn(sampled, number)),
        stages=stage_ranges(sampled, times),
        visit=replace(_visit(sampled, everything, total), without=without),
        matters=swings(sampled, everything, total),
        spreads=spreads(sampled, everything),
    )


def _first_and_drawn(sampled: Samples, values: Array) -> Array:
    """The run at likely values and the samples."""
    return values[:1 + len(sampled.remade_rank)]


def stages_of(sampled: Samples) -> tuple[Estimate, CaseTimes]:
    """The estimate of all samples with its loads, and the time of each stage as if all were done on one day, s."""
    case = sampled.case
    everything = estimate(case)
    count = remade_in(sampled)
    likely = likely_remade(case)
    again = np.concatenate([likely, count, np.repeat(likely, 2 * len(sampled.paths))])
    times = stages(case, everything, again if sampled.draws else again[:1])
    if not sampled.draws:
        remaking = 0.0 if case.rework.time is None else case.rework.time
        times["rework"] = np.concatenate([likely, count]) * np.asarray(remaking)
    without = missing(everything, times)
    return replace(everything, loads=loads_of(case, everything, times, without)), CaseTimes(case, times, without)


def likely_remade(case: Case) -> Array:
    """Pieces with a joint to re-make in the run at likely values, (1,): the middle of the count."""
    chance = 0.0 if case.rework.chance is None else float(np.ravel(case.rework.chance)[0])
    return remade(case.vessel.count or 1, chance, np.array([0.5]))


def total_of(times: Mapping[str, Array], without: Collection[str] = ()) -> Array:
    """The time on site over all rows, s, without some stages; NaN where it never finishes."""
    return np.asarray(sum(values for name, values in times.items() if name not in without))


def stands_still(everything: Estimate) -> Array:
    """The status that keeps each row from finishing, DONE where none does."""
    fill, pump = np.asarray(everything.fill.status), np.asarray(everything.pressurise.status)
    ended = np.where(fill != Status.DONE, fill, pump)
    return np.atleast_1d(np.where(np.isin(ended, STANDS), ended, int(Status.DONE)))


def missing(everything: Estimate, times: Mapping[str, Array]) -> tuple[str, ...]:
    """Stages that cannot be worked out in some row though nothing stands still in it."""
    done = stands_still(everything) == Status.DONE
    return tuple(name for name, values in times.items() if np.any(done & ~np.isfinite(values)))


def remade_in(sampled: Samples) -> Array:
    """Pieces with a joint to re-make in each sample."""
    chance = sampled.case.rework.chance
    return remade(sampled.case.vessel.count or 1, sampled.drawn(chance) if np.ndim(chance) else chance,
                  sampled.remade_rank)


def span(sampled: Samples, values: Array) -> Span:
    """As written, low, likely and high of a time over all rows."""
    ends = low_likely_high(values[0], spread_of(sampled, values))
    return Span(float(values[0]), *(float(part) for part in ends))


def spread_of(sampled: Samples, values: Array) -> Array:
    """The rows that stand for the spread; all but the first where only the rework is drawn."""
    return sampled.drawn(values) if sampled.draws or values.size == 1 else values[1:]


def stage_ranges(sampled: Samples, times: Mapping[str, Array]) -> tuple[Stage, ...]:
    """The stages for the answer; their lows and highs do not add up to the visit's."""
    found = []
    for name, values in times.items():
        one = span(sampled, values)
        found.append(Stage(name, one.at_likely_values, one.low, one.likely, one.high))
    return tuple(found)


def _visit(sampled: Samples, everything: Estimate, total: Array) -> Visit:
    whole = span(sampled, total)
    drawn = spread_of(sampled, total)
    again = sampled.case.rework.time
    return Visit(
        whole.at_likely_values, whole.low, whole.likely, whole.high,
        never_share=float(np.mean(~np.isfinite(drawn))),
        rework_s=0.0 if again is None else float(np.atleast_1d(again)[0]),
        never=reasons(sampled, everything),
    )


def reasons(sampled: Samples, everything: Estimate) -> tuple[Never, ...]:
    """Which status keeps how many samples from finishing, in which stage, and where those stand, likely."""
    status_of = stands_still(everything)
    ended = sampled.drawn(status_of)

    def where(values: Array, status: Status) -> float:
        """The likely figure of those samples, as that of an answer."""
        each = np.atleast_1d(np.asarray(values, float))
        at_likely_values = np.where(status_of[0] == status, each[0], np.nan)
        some = np.broadcast_to(sampled.drawn(each), ended.shape)[ended == status]
        return float(low_likely_high(at_likely_values, some, finished_only=True)[1])

    found = []
    for status in STANDS:
        some = ended == status
        if not some.any():
            continue
        filling = status in (Status.AIR_SHUT_IN, Status.HEAD_TOO_HIGH)
        found.append(Never(
            BY_FILL[0] if filling else BY_GAS if status == Status.SUPPLY_ENDS else BY_PUMP[0], status,
            float(np.mean(some)),
            level_m=where(everything.fill.level_m, status) if filling else float("nan"),
            gauge_pa=where(everything.pressurise.stall_gauge_pa, status)
            if status in (Status.PUMP_STALLS, Status.SUPPLY_ENDS) else float("nan"),
            by_hand=isinstance(sampled.case.pump, HandPump), **_of_gas(everything)))
    return tuple(sorted(found, key=lambda never: -never.share))


def _of_gas(everything: Estimate) -> dict[str, float]:
    """What the reason of a test with gas is told with."""
    if everything.gas is None:
        return {}
    bottles = everything.gas.bottles
    return {"test_gauge_pa": float(everything.gas.test_gauge_pa[0]), "bottles_there": float(bottles.there[0]),
            "bottles_needed": float(bottles.needed[0])}


def swings(sampled: Samples, everything: Estimate, total: Array) -> tuple[Swing, ...]:
    """How far each input alone moves the time on site, most first; an end that never finishes is NaN and
    comes before all others."""
    if not sampled.paths:
        return ()
    raised = everything.pressurise.time_s if everything.gas is None else everything.gas.rise.read_s
    ends = [sampled.ends(values) for values in (total, everything.fill.time_s, raised)]
    found = [Swing(path, *(float(end[row]) for pair in ends for end in pair))
             for row, path in enumerate(sampled.paths)]
    moved = [swing for swing in found if not abs(swing.high_s - swing.low_s) < SMALLEST_SWING]
    if not np.isfinite(total[0]):
        moved = [swing for swing in moved if np.isfinite(swing.low_s) or np.isfinite(swing.high_s)]
    return tuple(sorted(moved, key=lambda swing: -_size(swing)))


def _size(swing: Swing) -> float:
    size = abs(float(swing.high_s) - float(swing.low_s))
    return size if np.isfinite(size) else float("inf")


def spreads(sampled: Samples, everything: Estimate) -> tuple[Spread, ...]:
    """Of each answer; one that is endless in every sample, such as the stall of a hand pump, has none."""
    found = []
    for path in SPREAD if everything.gas is None else GAS_SPREAD:
        if path == ENDS and everything.gas is not None and everything.gas.bottles.enough[0]:
            continue  # that of the few samples in which they are not enough
        values: object = everything
        for name in path.split("."):
            values = None if values is None else getattr(values, name)
        if values is None:
            continue
        drawn = sampled.drawn(np.atleast_1d(np.asarray(values, float)))
        if np.isinf(drawn).all() or (everything.gas is not None and np.isnan(drawn).all()):
            continue
        of_some = not path.endswith(("time_s", "read_s"))
        first = np.ravel(np.asarray(values, float))[0]
        low, likely, high = (float(part) for part in low_likely_high(first, drawn, of_some))
        found.append(Spread(path, low, likely, high, float(np.mean(~np.isfinite(drawn))), of_some))
    return tuple(found)
