"""Closed forms and limits of the closed vessel, the pump and the pump-up, and of what comes after."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.special import erfc

from fillcalc.arrays import spread
from fillcalc.model import energy, hold, pocket, pump, release, wall
from fillcalc.model.held import Held
from fillcalc.model.line import Line, Source
from fillcalc.model.pressurise import Duty, pump_up, top_up
from fillcalc.model.shapes import Shape
from fillcalc.model.status import Status
from fillcalc.properties.media import STANDARD_ATMOSPHERE, air, water
from tests.shapes import shape

BAR = 1e5
ZERO = np.zeros(1)
OUTSIDE = 0.93 * BAR


def held(temperature: float = 288.15, **more: float) -> Held:
    given = {"volume": 0.6, "stretch": 7e-11, "growth": 2.1e-5, "air": 0.0024, "hose": 1.4e-4, "hose_stretch": 7.5e-13}
    numbers = {name: value + ZERO for name, value in (given | more).items()}
    return Held(**numbers, outside_abs=OUTSIDE + ZERO, water=water(temperature), air_table=air(temperature))


def mass(vessel: Held, gauge: float, warmer: float = 0.0) -> float:
    """Water inside by its definition: density times vessel and hose less the pocket."""
    temperature = vessel.water.temperature + warmer
    pocket = vessel.air * air(vessel.water.temperature).density(OUTSIDE) / air(temperature).density(OUTSIDE + gauge)
    space = (vessel.volume + vessel.stretch * gauge + vessel.growth * warmer + vessel.hose
             + vessel.hose_stretch * gauge - pocket)
    return float((water(temperature).density(OUTSIDE + gauge) * space)[0])


def test_parts_sum_to_the_balance_of_mass() -> None:
    vessel = held()
    exact = (mass(vessel, 24 * BAR) - mass(vessel, 2 * BAR)) / water(288.15).density(OUTSIDE)
    parts = vessel.water_between(2 * BAR + ZERO, 24 * BAR + ZERO)
    assert sum(parts) == pytest.approx(exact, rel=1e-11)
    assert all(part > 0.0 for part in parts)
    assert vessel.water_to(2 * BAR + ZERO, 24 * BAR + ZERO) == pytest.approx(exact, rel=1e-11)


@pytest.mark.parametrize("gauge", [0.5, 24.0, 600.0])
def test_slopes_of_the_balance(gauge: float) -> None:
    vessel, step = held(), gauge * 1e-3 * BAR
    rise = (mass(vessel, gauge * BAR + step) - mass(vessel, gauge * BAR - step)) / (2.0 * step)
    solid, pocket = vessel.water_slopes(OUTSIDE + gauge * BAR + ZERO)
    assert solid + vessel.air * pocket == pytest.approx(rise / water(288.15).density(OUTSIDE), rel=2e-5)
    assert vessel.at(gauge * BAR + ZERO).compliance == pytest.approx(solid + vessel.air * pocket, rel=1e-12)


@pytest.mark.parametrize("site", [0.3, 0.47, 0.93])
def test_slopes_add_up_to_the_water_on_a_high_site(site: float) -> None:
    """The integral of the slopes is the difference of the balance, also where water stands below half a bar."""
    vessel = replace(held(), air=ZERO, outside_abs=site * BAR + ZERO)
    goal = 0.07 * BAR
    whole = quad(lambda rise: vessel.water_slopes(site * BAR + rise + ZERO)[0][0], 0.0, goal)[0]
    assert vessel.water_to(ZERO, goal + ZERO) == pytest.approx(whole, rel=1e-6)


@pytest.mark.parametrize("gauge", [2.0, 24.0, 600.0])
def test_warming_of_the_shut_vessel(gauge: float) -> None:
    vessel, small, step = held(), 0.02, gauge * 1e-3 * BAR
    by_warmth = (mass(vessel, gauge * BAR, small) - mass(vessel, gauge * BAR, -small)) / (2.0 * small)
    by_pressure = (mass(vessel, gauge * BAR + step) - mass(vessel, gauge * BAR - step)) / (2.0 * step)
    assert vessel.at(gauge * BAR + ZERO).per_kelvin == pytest.approx(-by_warmth / by_pressure, rel=2e-4)


def test_water_is_linear_in_the_air() -> None:
    goal = 24 * BAR + ZERO
    none, some, twice = (held(air=a).water_to(ZERO, goal) for a in (0.0, 0.002, 0.004))
    assert twice - some == pytest.approx(some - none, rel=1e-10)


# --- walls ------------------------------------------------------------------------------------

def test_thick_walls_tend_to_thin_ones() -> None:
    thin = 1e-6
    assert wall.cylinder(1.0, thin, 2e11, 0.3) * 2e11 * thin == pytest.approx(5.0 / 4.0 - 0.3, rel=1e-5)
    assert wall.cylinder(1.0, thin, 2e11, 0.3, True) * 2e11 * thin == pytest.approx(1.0 - 0.09, rel=1e-5)
    assert wall.sphere(1.0, thin, 2e11, 0.3) * 2e11 * thin == pytest.approx(0.75 * (1.0 - 0.3), rel=1e-5)


def test_a_very_thick_wall_still_gives() -> None:
    """A hole in endless steel: 2 (1 + nu)/E held lengthwise, 1.5 (1 + nu)/E for a ball."""
    assert wall.cylinder(1.0, 1e6, 2e11, 0.3, True) == pytest.approx(2.6 / 2e11, rel=1e-9)
    assert wall.sphere(1.0, 1e6, 2e11, 0.3) == pytest.approx(1.95 / 2e11, rel=1e-9)


def plate(thickness: float, fixity: float) -> wall.FlatEnd:
    return wall.FlatEnd(0.62 + ZERO, thickness + ZERO, 207e9 + ZERO, 0.3 + ZERO, fixity + ZERO)


def test_flat_end_by_integration() -> None:
    """Clamped, by its known curve; simply supported, five and a third times the middle and (7 + nu)/(1 + nu) of it."""
    radius, thickness = 0.31, 0.03
    stiffness = 207e9 * thickness**3 / (12.0 * (1.0 - 0.09))
    swept = quad(lambda r: (radius**2 - r**2) ** 2 / (64.0 * stiffness) * 2.0 * np.pi * r, 0.0, radius)[0]
    clamped, free, half = (plate(thickness, fixity) for fixity in (1.0, 0.0, 0.5))
    assert clamped.stretch(1.0) == pytest.approx(swept, rel=1e-10)
    assert clamped.slight() == pytest.approx(radius**4 / (64.0 * stiffness), rel=1e-12)
    assert free.stretch(1.0) / clamped.stretch(1.0) == pytest.approx(7.3 / 1.3, rel=1e-10)
    assert free.slight() / clamped.slight() == pytest.approx(5.3 / 1.3, rel=1e-12)
    assert half.stretch(1.0) == pytest.approx(0.5 * (free.stretch(1.0) + clamped.stretch(1.0)), rel=1e-10)


def test_a_bulging_end_stiffens_as_a_membrane() -> None:
    """The cubic holds; far out the bulge goes with the pressure's cube root; slight bulges are those of a plate."""
    thin = plate(2e-3, 0.0)
    gauge = np.array([1e2, 1e4, 1e6])
    bulge, slight = thin.bulge(gauge) / 2e-3, thin.slight() * gauge / 2e-3
    assert bulge + 0.262 * bulge**3 == pytest.approx(slight, rel=1e-12)
    assert thin.bulge(8e9) / thin.bulge(1e9) == pytest.approx(2.0, rel=1e-3)
    assert plate(0.05, 1.0).bulge(1e4) == pytest.approx(plate(0.05, 1.0).slight() * 1e4, rel=1e-7)
    assert np.all(np.diff(thin.stretch(gauge)) < 0.0)


def test_thermal_growth() -> None:
    assert wall.thermal(11.7e-6, 0.3) == pytest.approx(35.1e-6, rel=1e-12)
    assert wall.thermal(11.7e-6, 0.3, True) == pytest.approx(2.6 * 11.7e-6, rel=1e-12)


# --- pump -------------------------------------------------------------------------------------

def machine(**more: float) -> pump.AirDriven:
    given = {"ratio": 10.0, "supply_abs": 3.8 * BAR, "outside_abs": OUTSIDE, "friction": 0.14 * BAR, "supply": 3e-8,
             "exhaust": 6e-8, "middle": 1.0, "free_air": np.inf, "air_strokes": 1.0}
    return pump.AirDriven(**{name: value + ZERO for name, value in (given | more).items()})


@pytest.mark.parametrize("exhaust", [1e-8, 6e-8, 4e-7])
@pytest.mark.parametrize("part", [0.02, 0.3, 0.7, 0.97])
def test_supply_and_exhaust_pass_the_same(part: float, exhaust: float) -> None:
    """Both ports by ISO 6358 at the pressures that come back agree with the piston's rate."""
    driven = machine(exhaust=exhaust)
    gauge = part * pump.stall(driven)
    flow, per_water = pump.flow(driven, gauge)
    chamber = per_water * OUTSIDE / driven.ratio
    behind = chamber - gauge / driven.ratio - driven.friction
    rate = flow * driven.ratio

    def passed(ratio: np.ndarray) -> np.ndarray:
        return np.sqrt(1.0 - (np.maximum(ratio - 0.3, 0.0) / 0.7) ** 2)

    into = driven.supply * 1e5 * passed(chamber / driven.supply_abs) * driven.supply_abs / chamber
    out = driven.exhaust * 1e5 * passed(OUTSIDE / behind)
    assert into == pytest.approx(rate, rel=1e-6)
    assert out == pytest.approx(rate, rel=1e-6)


def test_stall_is_a_balance_of_forces() -> None:
    driven = machine()
    assert pump.stall(driven) == pytest.approx(10.0 * (3.8 * BAR - OUTSIDE - 0.14 * BAR), rel=1e-12)
    flow, _ = pump.flow(driven, pump.stall(driven) * np.array([1.0, 1.2]))
    assert (flow == 0.0).all()


def test_near_stall_the_flow_goes_with_the_root() -> None:
    """Without friction: (C p0/R) sqrt(2 (1 - P/P_stall)(1 - p_atm/p_s)/(1 - b)) where the exhaust is free."""
    driven = machine(friction=0.0, exhaust=3e-2)
    flow = pump.flow(driven, 0.99999 * pump.stall(driven))[0]
    law = 3e-8 * 1e5 / 10.0 * np.sqrt(2e-5 * (1.0 - OUTSIDE / (3.8 * BAR)) / 0.7)
    assert flow == pytest.approx(law, rel=1e-4)


def test_flow_against_nothing_with_a_free_exhaust() -> None:
    driven = machine(friction=0.0, exhaust=3e-2)
    assert pump.flow(driven, ZERO)[0] == pytest.approx(3e-8 * 1e5 * 3.8 * BAR / (10.0 * OUTSIDE), rel=1e-9)


def test_one_point_and_many_come_back() -> None:
    one = pump.fit_one(machine(), 6e-5 + ZERO)
    assert pump.flow(one, ZERO)[0] == pytest.approx(6e-5, rel=1e-12)
    assert one.exhaust == pytest.approx(2.0 * one.supply, rel=1e-12)
    gauge = np.array([[0.0], [8.0], [20.0]]) * BAR
    true = machine(supply=2.2e-8, exhaust=9e-8)
    fitted, misfit = pump.fit_points(machine(), gauge, pump.flow(true, gauge)[0])
    assert fitted.supply == pytest.approx(2.2e-8, rel=1e-6)
    assert fitted.exhaust == pytest.approx(9e-8, rel=1e-6)
    assert misfit < 1e-6


def test_a_sagging_middle_leaves_the_ends() -> None:
    full, sagging = machine(), machine(middle=0.6)
    gauge = np.array([0.0, 0.5, 1.0]) * pump.stall(full)
    whole, part = pump.flow(full, gauge)[0], pump.flow(sagging, gauge)[0]
    assert part[0] == whole[0]
    assert part[1] == pytest.approx(0.6 * whole[1], rel=1e-12)


@pytest.mark.parametrize("middle", [1.0, 0.8, 0.6])
@pytest.mark.parametrize("part", [0.05, 0.3, 0.5])
def test_a_short_compressor_gives_all_it_has(middle: float, part: float) -> None:
    """What is drawn, at the site's pressure, is what the compressor gives, and less than the pump would take."""
    ample, short = machine(middle=middle), machine(middle=middle, free_air=1e-3)
    gauge = part * pump.stall(ample)
    flow, per_water = pump.flow(short, gauge)
    assert flow * per_water == pytest.approx(1e-3, rel=1e-9)
    assert flow < pump.flow(ample, gauge)[0]
    assert pump.flow(short, gauge, False)[0] == pump.flow(ample, gauge)[0]


# --- pump-up ----------------------------------------------------------------------------------

def duty(test: float, **more: Any) -> Duty:
    given = {"start_gauge": 0.0, "rise_limit": np.inf, "leak": 0.0, "reserve": 0.0}
    numbers = {name: value + ZERO for name, value in (given | more).items()}
    none = np.empty((0, 1))
    return Duty(test_gauge=test + ZERO, marks=none, stops=none, pauses=none, **numbers)


HAND = pump.Steady(2e-5 + ZERO, np.inf + ZERO, np.inf + ZERO)


def test_a_steady_pump_takes_the_water_over_its_rate() -> None:
    vessel = held()
    done = pump_up(vessel, HAND, duty(24 * BAR, start_gauge=2 * BAR))
    need = vessel.water_to(2 * BAR + ZERO, 24 * BAR + ZERO)
    assert done.pumped == pytest.approx(need, rel=1e-6)
    assert done.time == pytest.approx(need / 2e-5, rel=1e-6)
    assert done.free_air == 0.0


@pytest.mark.parametrize("rows", [1, 100])
def test_a_person_slows_from_where_the_power_does_not_suffice(rows: int) -> None:
    """Up to power over rate the rate, from there power over pressure: two integrals, alone and among many samples."""
    vessel, power, rate = held(), 30.0, 2e-5
    turn = power / rate
    person = pump.Steady(rate + np.zeros(rows), 40 * BAR + np.zeros(rows), power + np.zeros(rows))
    many = replace(vessel, **{name: np.repeat(getattr(vessel, name), rows) for name in (
        "volume", "stretch", "growth", "air", "hose", "hose_stretch", "outside_abs")})
    done = pump_up(many, person, spread(duty(24 * BAR), rows))

    def slope(gauge: float) -> float:
        solid, pocket = vessel.water_slopes(OUTSIDE + gauge + ZERO)
        return float((solid + vessel.air * pocket)[0])

    steady = float((vessel.water_to(ZERO, turn + ZERO) / rate)[0])
    slow = quad(lambda gauge: slope(gauge) * gauge / power, turn, 24 * BAR, epsrel=1e-10)[0]
    assert done.time == pytest.approx(steady + slow, rel=2e-6)
    assert pump_up(many, person, spread(duty(41 * BAR), rows)).status[0] == Status.PUMP_STALLS


@pytest.mark.parametrize("middle", [1.0, 0.6])
@pytest.mark.parametrize("part", [0.999, 0.6, 0.05])
def test_a_throttled_pump_works_against_the_pressure_that_gives_its_flow(middle: float, part: float) -> None:
    """The air is that of the pump, unthrottled, at the outlet pressure where it gives as much."""
    driven, gauge = machine(middle=middle, air_strokes=2.0), 3 * BAR + ZERO
    wanted = part * pump.flow(driven, gauge)[0]
    against = brentq(lambda p: float((pump.flow(driven, p + ZERO)[0] - wanted)[0]), 3 * BAR,
                     float(pump.stall(driven)[0]), xtol=1e-6, rtol=1e-14)
    assert against > 3 * BAR
    found = pump.throttled_air(driven, gauge, wanted)
    assert found == pytest.approx(pump.flow(driven, against + ZERO)[1], rel=1e-6)
    single = pump.throttled_air(replace(driven, air_strokes=1.0 + ZERO), gauge, wanted)
    assert found == pytest.approx(2.0 * single, rel=1e-12)


def test_the_free_air_of_a_throttled_pump_up() -> None:
    """A rise limit so low that it always rules: the integral of the water times the air at the throttled pressure."""
    vessel, driven, rise = held(), machine(), 200.0
    done = pump_up(vessel, driven, duty(24 * BAR, start_gauge=1 * BAR, rise_limit=rise))

    def taken(gauge: float) -> float:
        solid, pocket = vessel.water_slopes(OUTSIDE + gauge + ZERO)
        slope = solid + vessel.air * pocket
        against = brentq(lambda p: float((pump.flow(driven, p + ZERO)[0] - rise * slope)[0]), gauge,
                         float(pump.stall(driven)[0]), rtol=1e-14)
        return float((slope * pump.flow(driven, against + ZERO)[1])[0])

    assert done.time == pytest.approx(23 * BAR / rise, rel=1e-9)
    assert done.free_air == pytest.approx(quad(taken, 1 * BAR, 24 * BAR, epsrel=1e-9)[0], rel=1e-6)


def test_a_rise_limit_sets_the_time() -> None:
    done = pump_up(held(air=0.0), HAND, duty(24 * BAR, rise_limit=1e3))
    assert done.time == pytest.approx(24 * BAR / 1e3, rel=1e-9)
    assert done.status == Status.DONE


def test_a_leak_adds_its_water() -> None:
    """A leak that goes with the root of the pressure, under a rise limit: q T 2/3 for a steady rise from zero."""
    vessel = held(air=0.0)
    done = pump_up(vessel, HAND, duty(24 * BAR, rise_limit=2e3, leak=1e-6))
    need = vessel.water_to(ZERO, 24 * BAR + ZERO)
    assert done.time == pytest.approx(1200.0, rel=1e-9)
    assert done.pumped == pytest.approx(need + 1e-6 * 1200.0 * 2.0 / 3.0, rel=1e-4)


def test_a_leak_holds_a_pump_where_they_balance() -> None:
    """A steady pump against q sqrt(P/P_test): no more than P_test (Q/q)^2."""
    done = pump_up(held(), HAND, duty(24 * BAR, leak=4e-5))
    assert done.status == Status.LEAK_BALANCES
    assert done.top_gauge == pytest.approx(24 * BAR / 4.0, rel=1e-6)
    assert np.isnan(done.time)


def test_a_pump_that_stalls_below_says_so() -> None:
    driven = machine()
    done = pump_up(held(), driven, duty(40 * BAR))
    assert done.status == Status.PUMP_STALLS
    assert done.top_gauge == pytest.approx(pump.stall(driven), rel=1e-12)
    relief = pump_up(held(), pump.Steady(2e-5 + ZERO, 20 * BAR + ZERO, np.inf + ZERO), duty(24 * BAR))
    assert relief.status == Status.PUMP_STALLS
    assert pump_up(held(), HAND, duty(24 * BAR, start_gauge=25 * BAR)).status == Status.STARTS_ABOVE


def test_pump_up_by_quadrature() -> None:
    vessel, driven = held(), machine()

    def rate(gauge: float) -> float:
        solid, pocket = vessel.water_slopes(OUTSIDE + gauge + ZERO)
        return float(((solid + vessel.air * pocket) / pump.flow(driven, gauge + ZERO)[0])[0])

    def free_air(gauge: float) -> float:
        solid, pocket = vessel.water_slopes(OUTSIDE + gauge + ZERO)
        return float(((solid + vessel.air * pocket) * pump.flow(driven, gauge + ZERO)[1])[0])

    done = pump_up(vessel, driven, duty(24 * BAR))
    assert done.time == pytest.approx(quad(rate, 0.0, 24 * BAR, epsrel=1e-9, limit=200)[0], rel=2e-5)
    assert done.free_air == pytest.approx(quad(free_air, 0.0, 24 * BAR, epsrel=1e-9, limit=200)[0], rel=2e-5)


def test_a_receiver_of_endless_size_is_an_ample_compressor() -> None:
    short = machine(free_air=1e-4)
    ample = pump_up(held(), machine(), duty(24 * BAR))
    assert pump_up(held(), short, duty(24 * BAR, reserve=1e6)).time == pytest.approx(ample.time, rel=1e-6)
    some, none = (pump_up(held(), short, duty(24 * BAR, reserve=more)) for more in (0.05, 0.0))
    assert ample.time < some.time < none.time
    assert none.free_air == pytest.approx(none.time * 1e-4, rel=1e-6)
    assert some.free_air == pytest.approx(some.time * 1e-4 + 0.05, rel=1e-3)


@pytest.mark.parametrize("pause", [0.0, 0.5, 1e4])
def test_a_pause_gives_the_receiver_what_the_compressor_makes_in_it(pause: float) -> None:
    """One way with a stop is as two ways, the second from what the receiver holds by then."""
    short, reserve, stop = machine(free_air=5e-3), 0.005, 9 * BAR
    stopped = replace(duty(24 * BAR, reserve=reserve), stops=stop + np.zeros((1, 1)), pauses=pause + np.zeros((1, 1)))
    first = pump_up(held(), short, duty(stop, reserve=reserve))
    left = reserve - np.minimum(first.free_air - 5e-3 * first.time, reserve)
    then = np.minimum(left + 5e-3 * pause, reserve)
    assert pause or left[0] < 0.01 * reserve, "the receiver is empty at the stop"
    second = pump_up(held(), short, duty(24 * BAR, start_gauge=stop, reserve=float(then[0])))
    found = pump_up(held(), short, stopped)
    assert found.time == pytest.approx(first.time + second.time, rel=1e-4)
    assert found.free_air == pytest.approx(first.free_air + second.free_air, rel=1e-4)


def test_a_leak_empties_a_receiver_that_would_have_lasted() -> None:
    """Just the air that compressor and receiver have is drawn, by one try alone and by many."""
    short = machine(free_air=5e-3)
    lasting = pump_up(held(), short, duty(24 * BAR, reserve=1e6))
    reserve = 1.15 * (lasting.free_air - 5e-3 * lasting.time)
    assert pump_up(held(), short, duty(24 * BAR, reserve=reserve)).time == pytest.approx(lasting.time, rel=1e-6)
    leaks = np.linspace(0.9, 0.97, 100) * pump.flow(short, 24 * BAR + ZERO)[0]
    asked = replace(spread(duty(24 * BAR, reserve=float(reserve[0])), 100), leak=leaks)
    many = pump_up(spread(held(), 100), spread(short, 100), asked)
    assert many.free_air == pytest.approx(5e-3 * many.time + reserve, rel=1e-3)
    one = pump_up(held(), short, duty(24 * BAR, reserve=float(reserve[0]), leak=float(leaks[-1])))
    assert many.time[-1] == pytest.approx(one.time[0], rel=1e-3)
    assert many.time[-1] > 1.01 * pump_up(held(), short, duty(24 * BAR, reserve=1e6, leak=float(leaks[-1]))).time


def test_topping_up_through_a_plain_resistance() -> None:
    """A nearly linear vessel: 2 C sqrt(k) (sqrt p0 - sqrt(p0 - p)) with C the compliance."""
    source = Source(3 * BAR + ZERO, (1e12 + ZERO,), (ZERO,), ZERO)
    line = Line(source, (), ZERO, ZERO, ZERO, 1.0 + ZERO, 999.1 + ZERO, 1.1e-3 + ZERO)
    vessel = held(air=0.0)
    need, time = top_up(vessel, line, 3 * BAR + ZERO, 2 * BAR + ZERO)
    compliance = need / (2 * BAR)
    exact = 2.0 * compliance * 1e6 * (np.sqrt(3 * BAR) - np.sqrt(BAR))
    assert time == pytest.approx(exact, rel=1e-3)
    assert need == pytest.approx(vessel.water_to(ZERO, 2 * BAR + ZERO), rel=1e-12)


@pytest.mark.parametrize("part", [0.5, 0.99, 0.999, 1.0])
def test_topping_up_by_quadrature(part: float) -> None:
    """Up to 99.9 % of the source's own pressure, where the flow ends in a square root."""
    line = Line(Source(3 * BAR + ZERO, (1e12 + ZERO,), (ZERO,), ZERO), (), ZERO, ZERO, ZERO, 1.0 + ZERO, 999.1 + ZERO,
                1.1e-3 + ZERO)
    vessel = held()

    def slow(root: float) -> float:
        """With p = p0 - root^2 the flow is root over the root of k."""
        solid, pocket = vessel.water_slopes(OUTSIDE + 3 * BAR - root * root + ZERO)
        return float(((solid + vessel.air * pocket) * 2.0 * 1e6)[0])

    ends = np.sqrt(3 * BAR * (1.0 - np.array([min(part, 0.999), 0.0])))
    exact = quad(slow, *ends, epsrel=1e-10)[0]
    assert top_up(vessel, line, 3 * BAR + ZERO, part * 3 * BAR + ZERO)[1] == pytest.approx(exact, rel=2e-5)


@pytest.mark.parametrize("most", [1e-4, 3e-4])
def test_topping_up_from_a_source_that_passes_no_more(most: float) -> None:
    """The time is the sum of dV over what flows: the source's most, or what the resistance lets through if less."""
    line = Line(Source(3 * BAR + ZERO, (1e12 + ZERO,), (ZERO,), ZERO), (), ZERO, ZERO, ZERO, 1.0 + ZERO, 999.1 + ZERO,
                1.1e-3 + ZERO)
    vessel = held()

    def slow(gauge: float) -> float:
        solid, pocket = vessel.water_slopes(OUTSIDE + gauge + ZERO)
        return float((solid + vessel.air * pocket)[0]) / min(most, np.sqrt((3 * BAR - gauge) / 1e12))

    change = 3 * BAR - most**2 * 1e12
    exact = sum(quad(slow, *ends, epsrel=1e-10)[0] for ends in ((0.0, change), (change, 2.9 * BAR)))
    assert top_up(vessel, line, 3 * BAR + ZERO, 2.9 * BAR + ZERO, most)[1] == pytest.approx(exact, rel=2e-5)


# --- afterwards -------------------------------------------------------------------------------

def test_release_is_linear_in_the_air_and_adds_up() -> None:
    high = 24 * BAR + ZERO
    none, some, twice = (release.through_valve(held(air=a), 0.06 + ZERO, high, ZERO) for a in (0.0, 0.002, 0.004))
    assert twice - some == pytest.approx(some - none, rel=1e-9)
    middle = 5 * BAR + ZERO
    two = (release.through_valve(held(), 0.06 + ZERO, high, middle)
           + release.through_valve(held(), 0.06 + ZERO, middle, ZERO))
    assert two == pytest.approx(release.through_valve(held(), 0.06 + ZERO, high, ZERO), rel=1e-5)


def test_release_by_quadrature() -> None:
    vessel = held()
    per_root = 0.06 / 3600.0 * np.sqrt(1000.0 / water(288.15).density(OUTSIDE) / BAR)

    def slow(root: float) -> float:
        solid, pocket = vessel.water_slopes(OUTSIDE + root * root + ZERO)
        return float(((solid + vessel.air * pocket) * 2.0 / per_root)[0])

    exact = quad(slow, 0.0, np.sqrt(24 * BAR), epsrel=1e-10)[0]
    assert release.through_valve(vessel, 0.06 + ZERO, 24 * BAR + ZERO, ZERO) == pytest.approx(exact, rel=1e-5)


@pytest.mark.parametrize("metres", [-3.0, 0.5, 5.0, 8.0, 8.6, 9.0, 9.6, 15.0, 60.0])
def test_release_ends_at_the_head(metres: float) -> None:
    """By quadrature over the pressure of the air, however much of the site's pressure the head takes."""
    head = metres * 9806.65
    vessel = replace(held(), head=head + ZERO, column=abs(head) + ZERO)
    per_root = 0.06 / 3600.0 * np.sqrt(1000.0 / water(288.15).density(OUTSIDE) / BAR)
    full = float(vessel.full_gauge[0])
    assert full == max(head, 0.0)

    def slow(root: float) -> float:
        solid, pocket = vessel.at(root * root + ZERO).slopes
        return float(((solid + vessel.air * pocket) * 2.0 / per_root)[0])

    exact = quad(slow, np.sqrt(full), np.sqrt(24 * BAR), epsrel=1e-10, limit=200)[0]
    assert release.through_valve(vessel, 0.06 + ZERO, 24 * BAR + ZERO, ZERO) == pytest.approx(exact, rel=1e-5)
    at_half = release.at_rate(1e4 + ZERO, 24 * BAR + ZERO, 0.5 * (24 * BAR + full) + ZERO, vessel.full_gauge)
    assert at_half == pytest.approx((24 * BAR - full) / 2e4, rel=1e-9)


def test_a_tall_vessel_is_the_sum_of_its_layers() -> None:
    """Water at half height stands for layers, each at its own pressure; the pocket is at the top; parts sum exactly."""
    height, gauge = 30.0, np.array([12 * BAR])
    weight = 999.1 * 9.80665
    tall = replace(held(hose=0.0, hose_stretch=0.0), head=weight * height + ZERO, column=weight * height + ZERO)
    levels = (np.arange(400) + 0.5) / 400 * height

    def layered(shown: np.ndarray) -> np.ndarray:
        pressures = OUTSIDE + shown - weight * levels
        above = shown - weight * height
        pocket = tall.air * tall.free_air_density / tall.air_table.density(OUTSIDE + above)
        return tall.water.density(pressures).mean() * (tall.volume + tall.stretch * above - pocket)

    start = tall.full_gauge
    parts = tall.water_between(start, gauge)
    exact = (layered(gauge) - layered(start)) / tall.free_density
    assert sum(parts) == pytest.approx(exact, rel=2e-6)
    assert tall.at(start).pocket == pytest.approx(1.0, rel=1e-12)
    assert hold.pressure_after(tall.at(gauge), 1.0 + ZERO) == pytest.approx(start, rel=1e-9)


def test_a_test_below_the_head_has_no_pump_up() -> None:
    tall = replace(held(), head=0.8 * BAR + ZERO, column=0.8 * BAR + ZERO)
    done = pump_up(tall, HAND, duty(0.5 * BAR))
    assert done.status == Status.BELOW_HEAD and np.isnan(done.time)
    weak = pump_up(tall, pump.Steady(2e-5 + ZERO, 0.6 * BAR + ZERO, np.inf + ZERO), duty(4 * BAR))
    assert weak.status == Status.PUMP_STALLS
    assert weak.top_gauge == 0.8 * BAR and weak.pumped == 0.0
    assert pump_up(tall, HAND, duty(4 * BAR)).pumped == pytest.approx(
        tall.water_to(0.8 * BAR + ZERO, 4 * BAR + ZERO), rel=1e-6)


def test_release_at_a_rate_takes_a_minute_at_least() -> None:
    assert release.at_rate(5 * BAR / 60.0, 25 * BAR, 0.0) == pytest.approx(300.0)
    assert release.at_rate(5 * BAR / 60.0, 1 * BAR, 0.0) == 60.0


def test_what_leaks_is_the_fall() -> None:
    vessel, gauge = held(), 24 * BAR + ZERO
    lost = 2e-5 + ZERO
    after = hold.pressure_after(vessel.at(gauge), lost)
    assert vessel.water_to(after, gauge) == pytest.approx(2e-5, rel=1e-8)
    assert hold.pressure_after(vessel.at(gauge), 1.0 + ZERO) == 0.0
    leak = hold.leak_of_fall(vessel.at(gauge), 1e3, 600.0)
    assert vessel.water_to(gauge - 1e3, gauge) / 600.0 == pytest.approx(leak, rel=1e-3)
    assert hold.hidden_by_air(held(air=0.0).at(gauge)) == 1.0


def test_a_pocket_without_time_to_cool_is_adiabatic() -> None:
    """The fall is then from a pocket squeezed without heat to one at the water's temperature."""
    vessel, top = held(stretch=0.0, hose=0.0, hose_stretch=0.0), 24 * BAR
    fall = hold.fall_of_pocket(vessel.at(ZERO), vessel.at(top + ZERO), ZERO, 0.05 + ZERO)
    cold = vessel.squeezed(OUTSIDE + top + ZERO)[0]
    hot = (OUTSIDE / (OUTSIDE + top)) ** (1.0 / 1.4)
    ratio = water(288.15).density(OUTSIDE + top) / water(288.15).density(OUTSIDE)
    assert vessel.water_to(top - fall, top + ZERO) == pytest.approx(vessel.air * (hot - cold) * ratio, rel=1e-6)
    long = hold.fall_of_pocket(vessel.at(ZERO), vessel.at(top + ZERO), 1e9 + ZERO, 0.05 + ZERO)
    later = hold.fall_of_pocket(vessel.at(ZERO), vessel.at(top + ZERO), ZERO, 0.05 + ZERO, 1e9)
    assert long == pytest.approx(0.0, abs=1.0) and later == pytest.approx(0.0, abs=1.0)


@pytest.mark.parametrize("inside", [
    shape("standing", "flat", 0.6, 1.9), shape("standing", "dished", 0.6, 1.9), shape("lying", "flat", 1.1, 3.0),
    shape("lying", "elliptical 2:1", 1.1, 3.0), shape("sphere", diameter=1.3)])
def test_the_pocket_lies_as_its_shape_lets_it(inside: Shape) -> None:
    """Water of the same volume at the bottom, upside down; twice the thickness of a thin slice is its surface."""
    air = 0.003 * inside.volume()
    table = inside.level_table()
    lies = inside.pocket(table, air + ZERO)
    assert inside.volume_below(lies.thickness) == pytest.approx(air, rel=1e-4)
    more = inside.pocket(table, 1.05 * air + ZERO)
    assert 0.05 * air / (more.thickness - lies.thickness) == pytest.approx(
        0.5 * (lies.surface + more.surface), rel=5e-3)
    assert inside.pocket(table, 1e-4 * inside.volume() + ZERO).thickness < lies.thickness


def test_a_level_pipe_keeps_its_air_along_its_top_and_a_hill_at_its_end() -> None:
    runs = [shape("pipe", diameter=0.1, span=100.0, rise=rise) for rise in (0.0, 1e-3, 10.0)]
    level, slight, hill = (run.pocket(run.level_table(), 1e-3 + ZERO) for run in runs)
    assert level.surface == slight.surface == pytest.approx(10.0)
    assert hill.surface == pytest.approx(0.25 * np.pi * 0.01 * 10.0)
    assert level.thickness == pytest.approx(0.1)


def test_air_dissolves_by_the_erfc_of_its_depth() -> None:
    """The amount under the error function's profile, by quadrature, and no more than there is."""
    time, depth = 3600.0, 0.1
    profile = quad(lambda z: erfc(z / np.sqrt(4.0 * 1.6e-9 * time)), 0.0, depth, epsrel=1e-10, limit=200)[0]
    taken = pocket.dissolved(2.0, 293.15, time)
    assert taken == pytest.approx(2.0 * float(pocket.solubility(293.15)) * profile, rel=1e-6)
    vessel = held(air=1e-6)
    at = vessel.at(4 * BAR + ZERO)
    all_of_it = hold.fall_of_solution(at, 1e3 + ZERO, 293.15, 1e9)
    assert vessel.water_to(4 * BAR - all_of_it, 4 * BAR + ZERO) == pytest.approx(
        1e-6 * at.pocket * at.density / vessel.free_density, rel=1e-4)


def test_sun_warms_the_water_and_the_metal() -> None:
    body = hold.Body(2.0, 0.1, 9.0, 4.19e6)
    bright, dark = hold.sun(body, 600.0)
    assert dark * (2.0 * 4.19e6 + 0.1 * 3.6e6) == pytest.approx(900.0 * 9.0 / np.pi * 600.0, rel=1e-12)
    assert dark / bright == pytest.approx(6.0)


def test_energy_is_the_work_that_comes_back() -> None:
    vessel, top = held(air=0.0, hose=0.0, hose_stretch=0.0), 300 * BAR
    rho = water(288.15)
    amount = rho.density(OUTSIDE + top) * (vessel.volume + vessel.stretch * top)
    work = quad(lambda p: p * float(rho.density_slope(OUTSIDE + p)[1]) / float(rho.density(OUTSIDE + p)) ** 2, 0.0, top)
    assert energy.of_water(vessel.at(top + ZERO)) == pytest.approx(amount * work[0], rel=1e-8)
    assert energy.of_wall(vessel.at(top + ZERO)) == pytest.approx(0.5 * vessel.stretch * top**2, rel=1e-12)


def test_energy_of_gas_is_its_expansion() -> None:
    top = STANDARD_ATMOSPHERE + 10 * BAR
    final = (top / STANDARD_ATMOSPHERE) ** (1.0 / 1.4)
    work = quad(lambda v: top * v**-1.4, 1.0, final, epsrel=1e-12)[0]
    assert energy.of_gas(10 * BAR, STANDARD_ATMOSPHERE, 1.0) == pytest.approx(work, rel=1e-9)


def test_cooling_goes_with_its_time_constant() -> None:
    body = hold.Body(2.0, 0.1, 9.0, 4.19e6)
    constant = hold.time_constant(body, 10.0)
    assert constant == pytest.approx((2.0 * 4.19e6 + 0.1 * 3.6e6) / 90.0, rel=1e-12)
    assert hold.drift(4e5, -3.0, constant, constant) == pytest.approx(-3.0 * 4e5 * (1.0 - np.exp(-1.0)), rel=1e-12)


def test_many_tries_are_each_alone() -> None:
    """A vessel and a pump over three rows give what each row gives."""
    airs = np.array([0.0, 0.002, 0.03])
    one = held()
    many = replace(one, **{name: np.repeat(getattr(one, name), 3) for name in (
        "volume", "stretch", "growth", "hose", "hose_stretch", "outside_abs")}, air=airs)
    driven = pump.AirDriven(*(np.repeat(getattr(machine(), name), 3) for name in (
        "ratio", "supply_abs", "outside_abs", "friction", "supply", "exhaust", "middle", "free_air", "air_strokes")))
    none = np.empty((0, 3))
    asked = Duty(np.zeros(3), np.full(3, 24 * BAR), none, np.full(3, np.inf), np.zeros(3), np.zeros(3), none, none)
    done = pump_up(many, driven, asked)
    for row, share in enumerate(airs):
        alone = pump_up(held(air=share), machine(), duty(24 * BAR))
        assert done.time[row] == pytest.approx(alone.time[0], rel=1e-9)
        assert done.pumped[row] == pytest.approx(alone.pumped[0], rel=1e-9)
