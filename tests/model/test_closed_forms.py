"""Closed forms and limits of line, vent, fill and drain."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from fillcalc.model.drain import Draining, drain, shut_vent_abs
from fillcalc.model.fill import fill
from fillcalc.model.filling import Filled, Filling
from fillcalc.model.line import Line, Run, Source, friction, kv_to_quadratic, loss, open_flow, source_loss
from fillcalc.model.shapes import Shape
from fillcalc.model.status import Status
from fillcalc.model.vent import CRITICAL
from fillcalc.properties.media import AIR_GAS_CONSTANT, GRAVITY, STANDARD_ATMOSPHERE
from tests.model.vents import ceiling, mass_flow, outflow
from tests.shapes import shape

BAR = 1e5
ZERO = np.zeros(1)
DENSITY, VISCOSITY = 999.1, 1.1376e-3
AMPLE = 1e3


def stiff(pressure: float, conductance: float, source_height: float = 0.0) -> Line:
    """A source that gives conductance x sqrt(pressure)."""
    source = Source(pressure + ZERO, (conductance**-2 + ZERO,), (ZERO,), source_height + ZERO)
    return Line(source, (), ZERO, ZERO, ZERO, 1.0 + ZERO, DENSITY + ZERO, VISCOSITY + ZERO)


def hose(pressure: float, bore: float, length: float, **more: Any) -> Line:
    return replace(stiff(pressure, 1e9), hoses=(Run(bore + ZERO, length + ZERO, more.pop("roughness", 0.0) + ZERO),),
                   **more)


def filled(supply: Line, inside: Shape, vent_area: float, air: float = 0.0, from_top: bool = False) -> Filled:
    whole = inside.volume() + ZERO
    task = Filling(supply, whole, whole - air, inside.height() + ZERO, vent_area + ZERO, STANDARD_ATMOSPHERE + ZERO,
                   288.15 + ZERO, from_top)
    return fill(task, inside.level_table())


# --- friction and line ------------------------------------------------------------------------

@pytest.mark.parametrize("ratio", [None, 0.0254, 0.08])
@pytest.mark.parametrize("roughness", [0.0, 0.01])
def test_pressure_drop_rises_with_flow(ratio: float | None, roughness: float) -> None:
    """f Re^2 rises all the way, so one pressure drop has one flow."""
    reynolds = np.geomspace(10.0, 1e6, 20001)
    coil = None if ratio is None else np.asarray(ratio)
    f, power = friction(reynolds, np.asarray(roughness), coil)
    assert (np.diff(f * reynolds**2) > 0.0).all()
    assert (power > -2.0).all()


@pytest.mark.parametrize("ratio", [None, 0.0254])
@pytest.mark.parametrize("reynolds", [500.0, 2300.0, 3900.0, 1.3e4, 2.15e4, 2.35e4, 4e5])
def test_slope_of_friction(reynolds: float, ratio: float | None) -> None:
    coil = None if ratio is None else np.asarray(ratio)
    step = 1e-5
    around = friction(reynolds * np.exp(np.array([-step, step])), np.asarray(1e-4), coil)[0]
    slope = friction(np.asarray(reynolds), np.asarray(1e-4), coil)[1]
    assert slope == pytest.approx(np.log(around[1] / around[0]) / (2.0 * step), abs=2e-5)


def test_friction_joins_at_both_ends_of_the_blend() -> None:
    for edge in (2040.0, 4000.0):
        low, high = friction(np.array([edge * (1 - 1e-9), edge * (1 + 1e-9)]), np.asarray(0.0))[0]
        assert high == pytest.approx(low, rel=1e-8)
    assert friction(np.asarray(2040.0), np.asarray(0.0))[0] == 64.0 / 2040.0


def test_poiseuille() -> None:
    drop = loss(hose(BAR, 2e-3, 1.0), 1e-6 + ZERO)[0][0]
    assert drop == pytest.approx(128.0 * VISCOSITY * 1.0 * 1e-6 / (np.pi * 2e-3**4), rel=1e-9)


def test_a_valve_passes_its_kv_at_one_bar() -> None:
    assert kv_to_quadratic(0.7, 1000.0) * (0.7 / 3600.0) ** 2 == pytest.approx(BAR, rel=1e-12)


LINES = {
    "hose": hose(3 * BAR, 12.7e-3, 15.0),
    "two hoses and fittings": replace(hose(3 * BAR, 12.7e-3, 15.0, roughness=1e-4),
                                      hoses=(Run(0.0127 + ZERO, 15.0 + ZERO, ZERO),
                                             Run(0.019 + ZERO, 20.0 + ZERO, 1e-5 + ZERO, 0.5 + ZERO)),
                                      couplings_k=3e11 + ZERO, valve_k=1e11 + ZERO, exit_k=2e11 + ZERO,
                                      scale=1.7 + ZERO),
    "curve of three pieces": replace(hose(3 * BAR, 19e-3, 15.0), source=Source(
        3 * BAR + ZERO, tuple(k + ZERO for k in (2e10, 2e11, 9e11)), tuple(q + ZERO for q in (0.0, 2e-4, 5e-4)), ZERO)),
}


@pytest.mark.parametrize("name", LINES)
@pytest.mark.parametrize("driving", [2e3, 3e4, 3e5])
def test_open_flow_loses_what_drives_it(name: str, driving: float) -> None:
    flow = open_flow(LINES[name], driving + ZERO)
    assert loss(LINES[name], flow)[0] == pytest.approx(driving, rel=1e-12)


@pytest.mark.parametrize("name", LINES)
@pytest.mark.parametrize("flow", [3e-5, 3e-4, 9e-4])
def test_slope_of_loss(name: str, flow: float) -> None:
    step = 1e-6 * flow
    rise = loss(LINES[name], flow + step + ZERO)[0] - loss(LINES[name], flow - step + ZERO)[0]
    assert loss(LINES[name], flow + ZERO)[1] == pytest.approx(rise / (2.0 * step), rel=1e-6)


def test_a_curve_of_pieces_goes_through_its_points() -> None:
    """2e10 Q^2 to 0.2 L/s, from there 2e11 (Q^2 - Q1^2) more."""
    lost = source_loss(LINES["curve of three pieces"], 4e-4 + ZERO)
    assert lost == pytest.approx(2e10 * 2e-4**2 + 2e11 * (4e-4**2 - 2e-4**2), rel=1e-12)


def test_nothing_flows_without_a_drive() -> None:
    assert (open_flow(LINES["hose"], np.array([0.0, -5.0])) == 0.0).all()


def test_own_pipe_counts_as_far_as_it_is_wetted() -> None:
    bare = LINES["hose"]
    line = replace(bare, pipe=Run(0.05 + ZERO, 300.0 + ZERO, 4.5e-5 + ZERO), scale=2.0 + ZERO)
    dry, half, full = (loss(line, 5e-4 + ZERO, wetted)[0] for wetted in (0.0, 0.5, 1.0))
    assert half - dry == pytest.approx(0.5 * (full - dry), rel=1e-12)
    own = loss(replace(bare, hoses=(line.pipe,), source=replace(bare.source, k=(ZERO,))), 5e-4 + ZERO)[0]
    assert full - dry == pytest.approx(own, rel=1e-12)


# --- vent -------------------------------------------------------------------------------------

def test_vent_under_hardly_any_pressure_is_bernoulli() -> None:
    rho = STANDARD_ATMOSPHERE / (AIR_GAS_CONSTANT * 288.15)
    flow = mass_flow(STANDARD_ATMOSPHERE + 5.0 + ZERO, STANDARD_ATMOSPHERE + ZERO, 1e-5, 288.15)
    assert flow == pytest.approx(1e-5 * np.sqrt(2.0 * rho * 5.0), rel=5e-5)


def test_vent_is_smooth_where_it_chokes() -> None:
    edge = np.sqrt(STANDARD_ATMOSPHERE / CRITICAL - STANDARD_ATMOSPHERE)
    around = edge * np.array([1 - 1e-9, 1 + 1e-9])
    flow, slope = outflow(around, STANDARD_ATMOSPHERE, 1e-5, 288.15)
    assert flow[1] == pytest.approx(flow[0], rel=1e-8)
    assert slope[1] == pytest.approx(slope[0], rel=1e-6)


@pytest.mark.parametrize("root", [1.0, 60.0, 250.0, 320.0])
def test_slope_of_the_vent(root: float) -> None:
    around = outflow(root * np.array([1 - 1e-6, 1 + 1e-6]), STANDARD_ATMOSPHERE, 1e-5, 288.15)[0]
    slope = outflow(np.asarray(root), STANDARD_ATMOSPHERE, 1e-5, 288.15)[1]
    assert slope == pytest.approx((around[1] - around[0]) / (2e-6 * root), rel=1e-6)


def test_choked_vent_passes_the_same_volume_at_any_pressure() -> None:
    inside = np.array([3.0, 5.0, 9.0]) * BAR
    mass = mass_flow(inside, STANDARD_ATMOSPHERE + 0.0 * inside, 1e-5, 288.15)
    np.testing.assert_allclose(mass * AIR_GAS_CONSTANT * 288.15 / inside, ceiling(1e-5, 288.15), rtol=1e-12)


def test_no_air_comes_back() -> None:
    assert mass_flow(0.9 * BAR + ZERO, STANDARD_ATMOSPHERE + ZERO, 1e-5, 288.15) == 0.0


# --- fill -------------------------------------------------------------------------------------

@pytest.mark.parametrize("top", [1.0, 3.0, 12.0, 14.0, 14.9, 15.2, 15.29])
def test_rising_level(top: float) -> None:
    """2 A/(c rho g) (sqrt p0 - sqrt(p0 - rho g H)); at 15.31 m the source can lift no more."""
    pressure, conductance, area, weight = 1.5 * BAR, 1e-6, 0.4, DENSITY * GRAVITY
    done = filled(stiff(pressure, conductance), shape("prism", span=top, volume=area * top), AMPLE)
    exact = 2.0 * area / (conductance * weight) * (np.sqrt(pressure) - np.sqrt(pressure - weight * top))
    assert done.time == pytest.approx(exact, rel=1e-4)
    assert done.flow_end == pytest.approx(conductance * np.sqrt(pressure - weight * top), rel=1e-6)


@pytest.mark.parametrize("top", [3.0, 12.0])
def test_the_level_rises_in_its_own_time(top: float) -> None:
    """On the way too, not at the end alone: 2 A/(c rho g) (sqrt p0 - sqrt(p0 - rho g h)) at each level h."""
    pressure, conductance, area, weight = 1.5 * BAR, 1e-6, 0.4, DENSITY * GRAVITY
    time, water, level = filled(stiff(pressure, conductance), shape("prism", span=top, volume=area * top),
                                AMPLE).history[:3]
    exact = 2.0 * area / (conductance * weight) * (np.sqrt(pressure) - np.sqrt(pressure - weight * level))
    assert time == pytest.approx(exact, rel=2e-3, abs=1e-3 * float(exact[-1].max()))
    assert water == pytest.approx(area * level, rel=1e-9)


def test_fill_from_the_top_is_steady() -> None:
    pressure, weight = 1.5 * BAR, DENSITY * GRAVITY
    done = filled(stiff(pressure, 1e-6), shape("prism", span=4.0, volume=1.0), AMPLE, from_top=True)
    assert done.time == pytest.approx(1.0 / (1e-6 * np.sqrt(pressure - 4.0 * weight)), rel=1e-4)


def test_a_higher_source_helps_by_its_head() -> None:
    high = filled(stiff(1.0 * BAR, 1e-6, 5.0), shape("prism", span=4.0, volume=1.0), AMPLE)
    strong = filled(stiff(1.0 * BAR + 5.0 * DENSITY * GRAVITY, 1e-6), shape("prism", span=4.0, volume=1.0), AMPLE)
    assert high.time == pytest.approx(strong.time, rel=1e-12)


@pytest.mark.parametrize("pressure", [0.5, 3.2, 8.0])
def test_sealed_vessel(pressure: float) -> None:
    """Boyle: the air left is p_atm over p_atm + p."""
    done = filled(stiff(pressure * BAR, 1e-6), shape("prism", volume=1.0), 0.0)
    assert done.status == Status.AIR_SHUT_IN
    assert 1.0 - done.water == pytest.approx(STANDARD_ATMOSPHERE / (STANDARD_ATMOSPHERE + pressure * BAR), rel=1e-12)
    assert done.air_peak_gauge == pytest.approx(pressure * BAR, rel=1e-12)


def test_a_weak_source_stands_at_its_head() -> None:
    done = filled(stiff(0.3 * BAR, 1e-6), shape("prism", span=9.0, volume=1.0), AMPLE)
    assert done.status == Status.HEAD_TOO_HIGH
    assert done.level == pytest.approx(0.3 * BAR / (DENSITY * GRAVITY), rel=1e-9)
    assert np.isnan(done.time)


def test_a_choked_vent_is_a_ceiling_on_the_fill() -> None:
    """A pinhole under a strong tap: the fill ends at the vent's own volume flow."""
    area = 0.6 * np.pi / 4 * 1e-6
    done = filled(stiff(6.0 * BAR, 1e-6), shape("prism", volume=0.1), area)
    assert done.flow_end == pytest.approx(ceiling(area, 288.15), rel=5e-3)
    assert done.flow_end < done.flow_start / 5.0
    assert done.vent_reserve == pytest.approx(ceiling(area, 288.15) / done.flow_start, rel=1e-12)


def marched(line: Line, whole: float, air: float, vent_area: float) -> tuple[float, float, float]:
    """Time, flow at the end and peak of the air of a flat vessel, by a stiff solver over the water's volume."""
    drive = line.source.pressure[0]

    def flow(pressure: float) -> float:
        return float(open_flow(line, drive - (pressure - STANDARD_ATMOSPHERE) + ZERO)[0])

    def rates(water: float, state: np.ndarray) -> list[float]:
        pressure, now = state[0], flow(state[0])
        out = mass_flow(pressure + ZERO, STANDARD_ATMOSPHERE + ZERO, vent_area, 288.15)[0] * AIR_GAS_CONSTANT * 288.15
        return [(pressure * now - out) / (whole - water) / now, 1.0 / now]

    end = whole - air
    done = solve_ivp(rates, (0.0, end), [STANDARD_ATMOSPHERE, 0.0], method="LSODA", rtol=1e-9, atol=1e-6,
                     max_step=end / 400.0)
    return done.y[1, -1], flow(done.y[0, -1]), done.y[0].max() - STANDARD_ATMOSPHERE


@pytest.mark.parametrize("millimetres", [1.0, 2.0, 2.5, 4.0, 8.0])
def test_the_air_pushes_back(millimetres: float) -> None:
    """A nearly shut, a small and an ample vent against a stiff solver; the peak is read at the nodes of the march."""
    area = 0.6 * 0.25 * np.pi * (1e-3 * millimetres) ** 2
    line, whole = hose(3.2 * BAR, 12.7e-3, 20.0), 0.5
    time, flow, peak = marched(line, whole, 0.02, area)
    done = filled(line, shape("prism", volume=whole), area, air=0.02)
    loose = 0.005 if millimetres < 2.0 else 5e-4
    assert done.time == pytest.approx(time, rel=loose)
    assert done.flow_end == pytest.approx(flow, rel=2.0 * loose)
    assert done.air_peak_gauge == pytest.approx(peak, rel=5e-3)


def test_parts_of_the_driving_pressure_sum_to_it() -> None:
    done = filled(LINES["two hoses and fittings"], shape("lying", "dished", 0.8, 2.0), 5e-5, air=0.01)
    assert sum(done.parts) == pytest.approx(LINES["hose"].source.pressure * done.water, rel=1e-9)
    assert all(part >= 0.0 for part in done.parts)


def test_trapped_air_ends_the_fill_sooner() -> None:
    whole = filled(stiff(2.0 * BAR, 1e-6), shape("prism", volume=1.0), AMPLE)
    part = filled(stiff(2.0 * BAR, 1e-6), shape("prism", volume=1.0), AMPLE, air=0.25)
    assert part.water == pytest.approx(0.75, rel=1e-12)
    assert part.time == pytest.approx(0.75 * whole.time, rel=1e-4)


# --- drain ------------------------------------------------------------------------------------

def draining(inside: Shape, **more: float) -> Draining:
    given = {"fall": 0.0, "bore": 0.03, "hose": 0.0, "coefficient": 0.6, "vent_area": AMPLE,
             "outside_abs": STANDARD_ATMOSPHERE, "air_temperature": 288.15, "density": DENSITY, "viscosity": VISCOSITY}
    numbers = {name: value + ZERO for name, value in (given | more).items()}
    return Draining(inside.volume() + ZERO, inside.height() + ZERO, **numbers)


@pytest.mark.parametrize("fall", [0.0, 1.5])
def test_prism_drains_by_torricelli(fall: float) -> None:
    inside = shape("standing", "flat", 1.2, 2.5)
    speed = 0.6 * 0.25 * np.pi * 0.03**2 * np.sqrt(2.0 * GRAVITY)
    exact = 2.0 * 0.25 * np.pi * 1.2**2 / speed * (np.sqrt(2.5 + fall) - np.sqrt(fall))
    assert drain(draining(inside, fall=fall), inside)[0] == pytest.approx(exact, rel=2e-5)


def test_lying_drum_and_sphere_drain_by_their_closed_forms() -> None:
    speed = 0.6 * 0.25 * np.pi * 0.03**2 * np.sqrt(2.0 * GRAVITY)
    drum, ball = shape("lying", "flat", 1.2, 2.5), shape("sphere", diameter=1.2)
    assert drain(draining(drum), drum)[0] == pytest.approx(4.0 * 2.5 * 1.2**1.5 / (3.0 * speed), rel=2e-5)
    exact = np.pi / speed * (2.0 / 3.0 * 1.2 * 1.2**1.5 - 0.4 * 1.2**2.5)
    assert drain(draining(ball), ball)[0] == pytest.approx(exact, rel=2e-5)


def test_a_small_vent_holds_the_water_back_by_its_suction() -> None:
    """Steady: air in by volume is water out, and head = loss + suction."""
    inside = shape("prism", span=1e-3, volume=1.0)
    task = draining(inside, fall=3.0, vent_area=1e-6)
    time, lowest = drain(task, inside)
    flow = 1.0 / time
    suction = STANDARD_ATMOSPHERE - lowest
    head = DENSITY * GRAVITY * 3.0
    lost = 0.5 * DENSITY * (flow / (0.6 * 0.25 * np.pi * 0.03**2)) ** 2
    assert lost + suction == pytest.approx(head, rel=1e-3)
    mass = mass_flow(STANDARD_ATMOSPHERE + ZERO, lowest, 1e-6, 288.15)
    assert mass * AIR_GAS_CONSTANT * 288.15 / lowest == pytest.approx(flow, rel=1e-3)


def test_nothing_drains_with_all_shut() -> None:
    inside = shape("prism", span=4.0, volume=1.0)
    time, lowest = drain(draining(inside, vent_area=0.0), inside)
    assert np.isnan(time)
    assert lowest == pytest.approx(STANDARD_ATMOSPHERE - DENSITY * GRAVITY * 4.0, rel=1e-12)
    assert shut_vent_abs(draining(inside)) == pytest.approx(lowest, rel=1e-12)
    tall = shape("prism", span=40.0, volume=1.0)
    assert drain(draining(tall, vent_area=0.0), tall)[1] == 0.0


# --- shape ------------------------------------------------------------------------------------

@pytest.mark.parametrize("ends", ["flat", "hemispherical", "elliptical 2:1", "dished"])
@pytest.mark.parametrize("form", ["standing", "lying", "sphere"])
def test_widening_is_the_slope_of_the_volume(form: str, ends: str) -> None:
    inside, step = shape(form, ends, 0.62, 1.9), 1e-6
    part = np.array([0.02, 0.11, 0.3, 0.52, 0.77, 0.93, 0.99])
    around = [inside.volume_below((part + side) * inside.height()) / inside.volume() for side in (-step, step)]
    tolerance = 2e-3 if ends == "dished" and form == "lying" else 1e-6
    np.testing.assert_allclose(inside.widening(part), (around[1] - around[0]) / (2.0 * step), rtol=tolerance)


def test_air_above_a_vent() -> None:
    """Half a lying drum's side vent at the middle; a level pipe by its segment; a sloping one by its rise."""
    assert shape("lying", "flat", 0.8, 2.0).share_above_vent(np.asarray(0.4)) == pytest.approx(0.5, rel=1e-12)
    assert shape("standing", "flat", 0.8, 2.0).share_above_vent(np.asarray(0.5)) == pytest.approx(0.25, rel=1e-12)
    assert shape("pipe", diameter=0.2, span=50.0).share_above_vent(np.asarray(0.1)) == pytest.approx(0.5, rel=1e-12)
    sloping = shape("pipe", diameter=0.2, span=50.0, rise=4.0)
    assert sloping.share_above_vent(np.asarray(0.1)) == pytest.approx(0.025, rel=1e-12)
