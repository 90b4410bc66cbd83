"""A second reckoning of a whole case, slow and obvious, that shares no code with the package's model."""

from __future__ import annotations

from math import inf
from typing import Any

from fillcalc.case import records
from tests.twin import pressurise as pumping
from tests.twin.closed import closed_vessel
from tests.twin.drain import drain
from tests.twin.fill import changed, fill, filling, start_gauge
from tests.twin.hold import air_at_top
from tests.twin.inputs import DEFAULT_FRICTION, Numbers, numbers, value
from tests.twin.pump import AirDriven, creep, friction_share, pump_of
from tests.twin.release import release
from tests.twin.shape import shape_of


def twin(case: records.Case) -> dict[str, Any]:
    """Answers by name, such as "fill.time_s" or "pressurise.parts.air_m3"; SI.

    The leaves of the case are plain numbers. What cannot be had is left out, or nan.
    """
    shape = shape_of(case.vessel)
    net = shape.gross_volume * (1 - value(case.vessel.internals, 0.0))
    given = numbers(case, (shape.gross_volume, net))
    job = filling(case, given, shape)
    trapped = net - job.end
    answers: dict[str, Any] = {"volume_m3": net, "height_m": shape.height, "trapped_air_m3": trapped}
    closed = closed_vessel(case, given, trapped)
    answers.update(_named("fill", fill(case, job, closed)))
    if not answers["fill.finished"]:
        return answers
    pump = pump_of(case, given.atmosphere_abs)
    job.sink(job.end, job.since)
    start = start_gauge(case, job, closed)
    up = pumping.pump_up(case, closed, pump, (start, given.test_gauge))
    answers.update(_named("pressurise", pumping.answers(up, case.gauge.division)))
    pumps = answers["pressurise.reached"] and start < given.test_gauge
    pumped = pumping.run(up)["pumped"] if pumps else 0.0
    flowing = answers.pop("fill.flowing_s")
    given_by = answers["fill.water_m3"] + answers["fill.top_up_m3"] + value(case.fill.run_to_waste, 0.0) + pumped
    answers.update(_named("fill", changed(job, given_by, flowing)))
    answers.update(_regulator(case, given))
    answers.update(_named("drain", drain(case, given, shape)))
    if not pumps:
        return answers
    answers.update(_ladder(up, trapped, net))
    per_kelvin = closed.pressure_per_kelvin(given.test_gauge)
    answers["settle.drop_water_pa"] = closed.fall(start, given.test_gauge)
    answers.update(air_at_top(case, closed, shape, (start, given.test_gauge), answers["pressurise.time_s"]))
    answers["pressurise.full_gauge_pa"] = closed.full
    answers["hold.pressure_per_kelvin_pa"] = per_kelvin
    if case.gauge.division is not None:
        lost = closed.water_by_pressure(given.test_gauge) * float(case.gauge.division)
        answers["hold.leak_per_division_m3_s"] = lost / value(case.test.hold, 600.0)
    answers.update(_named("release", release(case, closed, given.test_gauge)))
    answers.update(_named("energy", closed.energy(given.test_gauge)))
    return answers


def _named(stage: str, found: dict[str, Any]) -> dict[str, Any]:
    return {f"{stage}.{name}": answer for name, answer in found.items()}


def _ladder(up: pumping.PumpUp, trapped: float, net: float) -> dict[str, float]:
    """The pump-up again with other shares of air in the vessel; what a dry test hose holds stays.

    A rung that reads like the case's own share to three figures is told at that share.
    """
    found: dict[str, float] = {}
    pocket, own = up.closed.air - trapped, trapped / net
    for share in (own if f"{own:.3g}" == f"{rung:.3g}" else rung for rung in pumping.RUNGS):
        other = pumping.PumpUp(**{**up.__dict__, "closed": up.closed.with_air(share * net + pocket)})
        whole = pumping.run(other)
        found[f"air_ladder|{share:.15g}|water_m3"] = other.closed.water(up.start, up.test)
        found[f"air_ladder|{share:.15g}|time_s"] = whole["time"]
        found[f"air_ladder|{share:.15g}|strokes"] = whole["pumped"] / up.pump.stroke
    return found


def _regulator(case: records.Case, given: Numbers) -> dict[str, float]:
    """Lowest setting that gets there at high friction, highest that passes no limit at none."""
    pump = case.pump
    if not isinstance(pump, records.AirDrivenPump):
        return {}
    high = friction_share(pump)
    if pump.stall is None:
        spread = case.ranges.get("pump.friction")
        if spread is not None:
            high = spread.high
        elif pump.friction is None:
            high = DEFAULT_FRICTION[2]
    found = {"regulator.lowest_gauge_pa": given.test_gauge / (AirDriven(pump, given.atmosphere_abs).ratio * (1 - high))}
    limits = [case.vessel.never_above, pump.rating, getattr(case.test_hose, "rating", None)]
    lowest = min((float(limit) for limit in limits if limit is not None), default=inf)
    if lowest < inf:
        found["regulator.highest_gauge_pa"] = lowest / float(pump.ratio) - creep(case)
    return found
