"""What must be so whatever the numbers: a longer hose, more air, a smaller hole never make the work shorter."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from hypothesis.strategies import SearchStrategy

from fillcalc.arrays import Array
from fillcalc.case import records
from fillcalc.case.records import Case, Range
from fillcalc.estimation.answers import Estimate
from fillcalc.estimation.estimate import estimate
from fillcalc.job.samples import assign, keys, samples
from fillcalc.model.status import Status
from fillcalc.questions.percentiles import percentiles
from fillcalc.tree import put
from tests.families import thorough
from tests.model.twin_cases import BAR, LITRES_A_MINUTE, shell
from tests.worked import work_out

SLACK = 1e-9
"""Part by which rounding may go the wrong way."""
LIMITED = 4e-5
"""The same for pump-ups of which some rows have a limit in the way: twice what `pump_up` promises."""
OPEN, NEARLY_SHUT = 1e-3, 1e-2
"""The same for fill times: twice what `fill` promises with an open vent, and with one that is nearly shut."""
STEPS = np.array([1.0, 1.001, 1.1, 2.0, 10.0])
"""Multiples of an input, all in one call; the first as drawn."""
TRIES = settings(max_examples=12, deadline=None)


def _log(low: float, high: float) -> SearchStrategy[float]:
    """Numbers between two, spread evenly over the powers of ten."""
    return some.floats(np.log(low), np.log(high)).map(lambda power: float(np.exp(power)))


VESSELS: SearchStrategy[records.Vessel] = some.one_of(
    some.builds(records.StandingCylinder, diameter=_log(0.05, 4.0), height=_log(0.05, 20.0),
                ends=some.sampled_from(records.ENDS), wall=some.just("rigid")),
    some.builds(records.LyingCylinder, diameter=_log(0.05, 4.0), length=_log(0.05, 20.0),
                ends=some.sampled_from(records.ENDS), wall=_log(2e-3, 0.02)),
    some.builds(records.Sphere, diameter=_log(0.05, 4.0), wall=_log(2e-3, 0.02)),
    some.builds(records.PipeRun, diameter=_log(0.02, 0.5), length=_log(1.0, 2000.0), rise=some.floats(0.0, 20.0),
                wall=_log(2e-3, 0.02)),
    some.builds(records.OtherVessel, volume=_log(1e-4, 20.0), height=some.floats(0.0, 3.0), wall=some.just("rigid")),
)
TAPS = some.builds(records.Tap, pressure=_log(0.3 * BAR, 8 * BAR), open_flow=_log(2 * LITRES_A_MINUTE, 0.02),
                   height=some.floats(-3.0, 10.0))
BARE = some.builds(records.Hose, length=_log(0.5, 300.0), bore=_log(5e-3, 0.1), couplings=some.just(0),
                   roughness=some.sampled_from([0.0, 1.5e-6, 5e-5]))
FITTED = some.builds(records.Hose, length=_log(0.5, 300.0), bore=_log(5e-3, 0.1), couplings=some.integers(0, 3),
                     coupling_hole=_log(4e-3, 0.05), coupling_factor=some.floats(1.0, 2.0))
AIR_DRIVEN = some.builds(
    records.AirDrivenPump, ratio=_log(2.0, 200.0), drive_pressure=_log(1.5 * BAR, 8 * BAR), stroke=_log(1e-6, 1e-4),
    friction=some.floats(0.0, 0.2), flow_at_zero=_log(0.1 * LITRES_A_MINUTE, 10 * LITRES_A_MINUTE))
PUMPS: SearchStrategy[records.Pump] = some.one_of(
    AIR_DRIVEN, some.builds(records.HandPump, stroke=_log(1e-6, 1e-4), stroke_rate=_log(0.1, 3.0)),
    some.builds(records.ElectricPump, flow=_log(LITRES_A_MINUTE, 20 * LITRES_A_MINUTE),
                relief=_log(5 * BAR, 800 * BAR), stroke=some.just(1e-5)))
TESTS = some.builds(records.Test, pressure=_log(1 * BAR, 400 * BAR), hold=some.just(600.0),
                    start_pressure=some.sampled_from(["tap", 0.0]))


WIDE, ANY = _log(0.02, 0.06), _log(1e-3, 0.03)
"""Bores of vents: too wide to hold back any of these fills, and all."""


@some.composite
def cases(draw: Any, hose: SearchStrategy[records.Hose] = FITTED, pump: SearchStrategy[records.Pump] = PUMPS,
          vent: SearchStrategy[float] = ANY) -> Case:
    """A case of any shape, source, line, pump and air."""
    return shell(
        vessel=draw(VESSELS), tap=draw(TAPS), pump=draw(pump), test=draw(TESTS),
        fill=records.FillLine(hose=tuple(draw(some.lists(hose, min_size=1, max_size=2)))),
        vent=records.Vent(bore=draw(vent), coefficient=0.6),
        trapped_air=records.TrappedAir(amount=draw(some.one_of(some.just(0.0), _log(1e-5, 0.2)))),
        air_supply=draw(some.none() | some.builds(records.AirSupply, flow=_log(20 * LITRES_A_MINUTE, 0.05),
                                                  receiver=some.sampled_from([0.0, 0.05]),
                                                  receiver_pressure=some.just(8 * BAR))),
        families={"vessel.wall": "bore", "trapped_air.amount": "share"})


def over(case: Case, path: str, values: Array) -> Estimate:
    """The estimate at each value of one input."""
    return estimate(put(case, path, values))


def never_sooner(times: Array, slack: float = SLACK) -> None:
    """Times in this order never fall; one that never ends is later than all."""
    late = np.where(np.isnan(times), np.inf, times)
    assert (late[1:] >= late[:-1] * (1.0 - slack)).all(), late


def never_fills_sooner(estimated: Estimate, slack: float) -> None:
    """The flow into the empty vessel, free of the march over the fill, never rises at all."""
    never_sooner(estimated.fill.time_s, slack)
    assert (np.diff(estimated.fill.flow_start_m3_s) <= SLACK * estimated.fill.flow_start_m3_s[1:]).all()


# --- the fill -----------------------------------------------------------------------------------

VENTS = pytest.mark.parametrize(("vent", "slack"), [
    pytest.param(WIDE, OPEN, id="open vent"), pytest.param(ANY, NEARLY_SHUT, id="any vent", marks=thorough)])


@VENTS
@given(data=some.data())
@TRIES
def test_a_longer_hose_never_fills_sooner(data: Any, vent: SearchStrategy[float], slack: float) -> None:
    case = data.draw(cases(vent=vent))
    never_fills_sooner(over(case, "fill.hose.1.length", case.fill.hose[0].length * STEPS), slack)


@VENTS
@given(data=some.data())
@TRIES
def test_a_narrower_bare_hose_never_fills_sooner(data: Any, vent: SearchStrategy[float], slack: float) -> None:
    case = data.draw(cases(hose=BARE, vent=vent))
    never_fills_sooner(over(case, "fill.hose.1.bore", case.fill.hose[0].bore / STEPS), slack)


@VENTS
@given(data=some.data())
@TRIES
def test_a_hose_narrower_in_all_its_parts_never_fills_sooner(
        data: Any, vent: SearchStrategy[float], slack: float) -> None:
    case = data.draw(cases(vent=vent))
    hose = case.fill.hose[0]
    narrower = put(case, "fill.hose.1.coupling_hole", hose.coupling_hole / STEPS)
    never_fills_sooner(over(narrower, "fill.hose.1.bore", hose.bore / STEPS), slack)


@VENTS
@given(data=some.data())
@TRIES
def test_a_weaker_or_lower_source_never_fills_sooner(data: Any, vent: SearchStrategy[float], slack: float) -> None:
    case = data.draw(cases(vent=vent))
    never_fills_sooner(over(case, "tap.open_flow", case.tap.open_flow / STEPS), slack)
    never_sooner(over(case, "tap.height", case.tap.height - (STEPS - 1.0)).fill.time_s, slack)


@given(cases())
@TRIES
def test_a_narrower_vent_never_fills_sooner_nor_at_less_back_pressure(case: Case) -> None:
    found = over(case, "vent.bore", case.vent.bore / STEPS).fill
    never_sooner(found.time_s, NEARLY_SHUT)
    peak = found.air_peak_gauge_pa[np.isfinite(found.time_s)]
    assert (np.diff(peak) >= -NEARLY_SHUT * (1.0 + peak[1:])).all()


@given(cases())
@TRIES
def test_a_drawn_fill_is_finished_or_says_why(case: Case) -> None:
    one = estimate(case)
    assert one.fill.status[0] in (Status.DONE, Status.AIR_SHUT_IN, Status.HEAD_TOO_HIGH)
    assert bool(one.fill.finished[0]) == (one.fill.status[0] == Status.DONE) == bool(np.isfinite(one.fill.time_s[0]))
    share = 1.0 - one.trapped_share[0]
    if one.fill.finished[0]:
        assert abs(one.fill.filled_share[0] - share) < 1e-9
        assert one.fill.time_s[0] >= one.fill.water_m3[0] / one.fill.flow_start_m3_s[0] * (1.0 - 1e-6)
    else:
        assert one.fill.filled_share[0] <= share + 1e-9


@given(cases())
@TRIES
def test_the_shares_of_the_driving_pressure_sum_to_one(case: Case) -> None:
    found = estimate(case).fill
    total = sum(float(np.ravel(getattr(found.shares, part.name))[0]) for part in fields(found.shares))
    if found.finished[0]:
        assert abs(total - 1.0) < 1e-3, total


# --- the pump-up --------------------------------------------------------------------------------

def done(estimated: Estimate) -> Array:
    """Times of the pump-up of the rows whose fill lets it start."""
    times: Array = np.compress(estimated.fill.finished, estimated.pressurise.time_s)
    return times


@given(cases())
@TRIES
def test_more_air_never_pumps_up_sooner_nor_takes_less_water(case: Case) -> None:
    found = over(case, "trapped_air.amount", np.array([0.0, 1e-4, 0.003, 0.05, 0.4]))
    never_sooner(done(found))
    water = found.pressurise.water_m3[found.pressurise.reached & found.fill.finished]
    assert (np.diff(water) >= -SLACK * water[1:]).all()


@given(cases())
@TRIES
def test_a_higher_test_pressure_never_takes_less_time(case: Case) -> None:
    if isinstance(case.pump, records.AirDrivenPump) and case.pump.stall is None:
        never_sooner(done(over(case, "test.pressure", case.test.pressure * np.array([1.0, 1.01, 1.3, 2.0, 4.0]))))


@given(cases(pump=AIR_DRIVEN))
@TRIES
def test_less_air_to_the_pump_never_pumps_up_sooner(case: Case) -> None:
    set_to = replace(case, air_supply=None)
    never_sooner(done(over(set_to, "pump.regulator_pressure", case.pump.drive_pressure / STEPS)))  # type: ignore[attr-defined]
    supply = records.AirSupply(flow=0.01, receiver=0.0, receiver_pressure=8 * BAR)
    never_sooner(done(over(replace(case, air_supply=supply), "air_supply.flow", 0.02 / STEPS)), LIMITED)


@given(cases())
@TRIES
def test_a_slower_rise_or_a_leak_never_pumps_up_sooner(case: Case) -> None:
    never_sooner(done(over(case, "test.rise_limit", 1e6 / STEPS**2)), LIMITED)
    never_sooner(done(over(case, "test.assumed_leak", np.array([0.0, 1e-9, 1e-8, 1e-7, 1e-6]))), LIMITED)


@given(cases())
@TRIES
def test_the_parts_of_the_water_sum_to_the_whole(case: Case) -> None:
    found = estimate(case).pressurise
    parts = [float(np.ravel(getattr(found.parts, part.name))[0]) for part in fields(found.parts)]
    if np.isfinite(found.water_m3[0]):
        assert abs(sum(parts) - found.water_m3[0]) <= 1e-12 + 1e-9 * found.water_m3[0]
        assert min(parts) >= -1e-15
    if found.reached[0] and np.isfinite(found.times_air_free[0]):
        assert found.times_air_free[0] >= 1.0 - SLACK


@given(cases())
@TRIES
def test_strokes_rise_to_the_whole_and_the_needle_lifts_before_the_end(case: Case) -> None:
    found = estimate(case).pressurise
    marks = found.strokes_at[:, 0]
    there = marks[np.isfinite(marks)]
    assert (np.diff(there) >= -SLACK * there[1:]).all()
    if found.reached[0] and np.isfinite(found.strokes[0]):
        assert abs(there[-1] - found.strokes[0]) <= 1e-9 * found.strokes[0] + 1e-12
        if case.gauge.division < case.test.pressure - found.start_gauge_pa[0]:
            assert found.strokes_before_needle[0] <= found.strokes[0] * (1.0 + SLACK)


@given(cases(pump=AIR_DRIVEN))
@TRIES
def test_what_is_not_reached_says_so_and_gives_no_time(case: Case) -> None:
    found = estimate(case).pressurise
    assert bool(found.reached[0]) == bool(np.isfinite(found.time_s[0]))
    if found.status[0] == Status.PUMP_STALLS:
        assert found.stall_gauge_pa[0] <= found.test_gauge_pa[0]
        assert found.stall_gauge_pa[0] <= found.stall_no_friction_gauge_pa[0]


# --- the ranges ---------------------------------------------------------------------------------

@given(cases(), some.floats(0.01, 0.4))
@settings(max_examples=12, deadline=None)
def test_low_middle_high_in_order_for_any_case(case: Case, width: float) -> None:
    drawn = {"tap.pressure": case.tap.pressure, "fill.hose.1.bore": case.fill.hose[0].bore,
             "trapped_air.amount": case.trapped_air.amount, "vent.coefficient": case.vent.coefficient}
    ranges = {path: Range(value * (1.0 - width), None, value * (1.0 + width), True) for path, value in drawn.items()}
    ranged = replace(case, ranges=ranges)
    one, times = work_out(samples(ranged, assign(keys(ranged), 128)))
    for values in (one.fill.time_s, one.pressurise.time_s, one.pressurise.water_m3, np.asarray(sum(times.values()))):
        low, likely, high = (np.inf if np.isnan(each) else each for each in percentiles(values[1:129]))
        assert low <= likely <= high  # what never comes is later than all that does
