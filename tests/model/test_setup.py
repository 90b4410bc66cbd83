"""From a case to what the model is given, number by number."""

from __future__ import annotations

import numpy as np
import pytest

from fillcalc.arrays import spread
from fillcalc.case.read import read_text
from fillcalc.case.records import Case
from fillcalc.job import setup
from fillcalc.job.air import MOST_AIR
from fillcalc.job.resolve import resolve
from fillcalc.model import pump as pumps
from fillcalc.model import wall
from fillcalc.model.line import contraction, expansion, k_to_quadratic, loss, open_flow
from fillcalc.model.pump import REFERENCE
from fillcalc.properties.media import GRAVITY, water

BAR = 1e5
RHO = water(288.15).density(0.95 * BAR)

BLOCKS = {
    "": "format = 1",
    "vessel": 'shape = "standing cylinder"\ndiameter = "620 mm"\nheight = "1.9 m"\nwall = "6 mm"',
    "surroundings": 'pressure = "950 mbar abs"',
    "tap": 'pressure = "3 bar"\nopen_flow = "30 L/min"\nheight = "2 m"',
    "[fill.hose]": 'length = "20 m"\nbore = "12.7 mm"\ncouplings = 0\nroughness = "0 mm"',
    "vent": 'bore = "8 mm"\ncoefficient = 0.6',
    "trapped_air": 'amount = "0.4 %"',
    "test": 'pressure = "24 bar"\nstart_pressure = "tap"',
    "pump": 'kind = "air-driven"\nratio = 10\ndrive_pressure = "5.5 bar"\nstroke = "60 mL"\n'
            'flow_at_zero = "4.1 L/min"\nfriction = "5 %"',
}


def case(**changed: str) -> Case:
    """The case with blocks replaced, `hose` standing for the fill hose; every leaf an array of one."""
    blocks = BLOCKS | {"[fill.hose]" if name == "hose" else name: text for name, text in changed.items()}
    text = "\n".join(f"[{name}]\n{body}" if name else body for name, body in blocks.items() if body)
    return spread(resolve(read_text(text)), 1)


# --- vessel -----------------------------------------------------------------------------------

def test_volumes_are_net_and_the_wall_is_gross() -> None:
    vessel = setup.body(case(vessel=BLOCKS["vessel"] + '\ninternals = "10 %"\nend_wall = "rigid"'))
    gross = 0.25 * np.pi * 0.62**2 * 1.9
    assert vessel.volume == pytest.approx(0.9 * gross)
    assert vessel.trapped == pytest.approx(0.004 * 0.9 * gross)
    assert vessel.stretch == pytest.approx(gross * wall.cylinder(0.62, 0.006, 207e9, 0.3))
    assert vessel.growth == pytest.approx(0.9 * gross * 3 * 11.7e-6)


def test_flat_ends_of_a_known_wall_both_give() -> None:
    plain = setup.body(case(vessel=BLOCKS["vessel"] + '\nend_wall = "rigid"')).stretch
    with_ends = setup.body(case(vessel=BLOCKS["vessel"] + '\nend_wall = "40 mm"')).stretch
    assert with_ends - plain == pytest.approx(2.0 * float(wall.FlatEnd(0.62, 0.04, 207e9, 0.3, 0.7).stretch(24 * BAR)))


def test_hemispherical_ends_stretch_as_half_spheres() -> None:
    given = setup.body(case(vessel=BLOCKS["vessel"] + '\nends = "hemispherical"'))
    shell, ball = 0.25 * np.pi * 0.62**2 * 1.9, np.pi / 6.0 * 0.62**3
    assert given.stretch == pytest.approx(shell * wall.cylinder(0.62, 0.006, 207e9, 0.3)
                                          + ball * wall.sphere(0.62, 0.006, 207e9, 0.3))


def test_an_atmospheric_tank_takes_its_share_at_test_pressure() -> None:
    bare = BLOCKS["vessel"].replace('wall = "6 mm"', "{}")
    none, low, without = (setup.body(case(vessel=bare.format(design))).stretch
                          for design in ('design = "0 bar"', 'design = "2 bar"', ""))
    assert none == low == without
    assert none * 24 * BAR == pytest.approx(1e-3 * 0.25 * np.pi * 0.62**2 * 1.9)


def test_a_wall_by_its_share_or_rigid() -> None:
    bare = BLOCKS["vessel"].replace('wall = "6 mm"', "{}")
    volume = 0.25 * np.pi * 0.62**2 * 1.9
    by_share = setup.body(case(vessel=bare.format('wall = "0.1 %"')))
    assert by_share.stretch * 24 * BAR == pytest.approx(1e-3 * volume)
    unknown = setup.body(case(vessel=bare.format('design = "20 bar"')))
    assert unknown.stretch * 30 * BAR == pytest.approx(1e-3 * volume)
    assert setup.body(case(vessel=bare.format('wall = "rigid"'))).stretch == 0.0


def test_an_anchored_pipe_is_stiffer_and_grows_less() -> None:
    pipe = 'shape = "pipe run"\ndiameter = "154.08 mm"\nlength = "100 m"\nwall = "7.11 mm"\nanchored = {}'
    free, anchored = (setup.body(case(vessel=pipe.format(word))) for word in ("false", "true"))
    assert free.stretch == pytest.approx(free.volume * wall.cylinder(0.15408, 0.00711, 207e9, 0.3))
    assert anchored.stretch == pytest.approx(free.volume * wall.cylinder(0.15408, 0.00711, 207e9, 0.3, True))
    assert anchored.growth / free.growth == pytest.approx(2.6 / 3.0)


def test_trapped_air_by_volume_or_by_the_vent() -> None:
    assert setup.body(case(trapped_air='amount = "2 L"')).trapped == pytest.approx(2e-3)
    low = setup.body(case(trapped_air="", vent=BLOCKS["vent"] + '\nbelow_highest_point = "0.19 m"'))
    assert low.trapped == pytest.approx(0.1 * low.volume)


# --- line -------------------------------------------------------------------------------------

def test_tubes_leave_the_crown_free() -> None:
    """The air above a low vent is that of the empty shell; what fills the shell below does not make it smaller."""
    drum = """
        format = 1
        [vessel]
        shape = "lying cylinder"
        diameter = "0.8 m"
        length = "3.2 m"
        internals = "{share}"
        [vent]
        below_highest_point = "20 mm"
        [tap]
        pressure = "3 bar"
        [[fill.hose]]
        length = "20 m"
        bore = "19 mm"
        [test]
        pressure = "15 bar"
        [pump]
        kind = "hand"
    """
    half_angle = np.arccos(1.0 - 0.02 / 0.4)
    crown = 3.2 * 0.4**2 * (half_angle - np.sin(half_angle) * np.cos(half_angle))
    for share in ("0 %", "30 %", "90 %"):
        found = setup.body(spread(resolve(read_text(drum.format(share=share))), 1))
        assert found.trapped == pytest.approx(crown, rel=1e-9)
    full = setup.body(spread(resolve(read_text(drum.format(share="95 %").replace("20 mm", "700 mm"))), 1))
    assert full.trapped == pytest.approx(MOST_AIR * full.volume)


def test_a_tap_gives_its_bucket_flow_wide_open() -> None:
    source = setup.line(case()).source
    assert source.pressure == pytest.approx(3 * BAR)
    assert source.k[0] * (30e-3 / 60) ** 2 == pytest.approx(3 * BAR)
    assert source.height == pytest.approx(2.0)


def test_a_header_tank_pushes_with_its_height() -> None:
    tank = setup.line(case(tap='kind = "header tank"\nheight = "12 m"')).source
    assert tank.pressure == pytest.approx(RHO * GRAVITY * 12.0)
    assert tank.height == 0.0


def test_a_measured_curve_goes_through_its_points() -> None:
    tap = 'points = [["3 bar", "0 L/min"], ["2 bar", "20 L/min"], ["1 bar", "26 L/min"]]'
    supply = setup.line(case(tap=tap))
    bare = supply.source
    first, second = 20e-3 / 60, 26e-3 / 60
    assert bare.pressure == pytest.approx(3 * BAR)
    assert bare.pressure - bare.k[0] * first**2 == pytest.approx(2 * BAR)
    drop = bare.k[0] * second**2 + (bare.k[1] - bare.k[0]) * (second**2 - bare.flow[1] ** 2)
    assert bare.pressure - drop == pytest.approx(1 * BAR)


def test_the_jet_leaves_at_the_bore_of_the_last_fitting() -> None:
    plain = setup.line(case())
    assert plain.exit_k == pytest.approx(k_to_quadratic(1.0, 12.7e-3, RHO))
    assert plain.couplings_k == 0.0
    tails = setup.line(case(hose=BLOCKS["[fill.hose]"] + '\ntail_bore = "9.5 mm"'))
    assert tails.exit_k == pytest.approx(k_to_quadratic(1.0, 9.5e-3, RHO))
    ratio = 9.5 / 12.7
    two = (2.0 * contraction(ratio) + expansion(ratio)) / ratio**4
    assert tails.couplings_k == pytest.approx(k_to_quadratic(two, 12.7e-3, RHO))


def test_a_measured_flow_comes_true() -> None:
    supply = setup.line(case(fill='measured_flow = "12 L/min"'))
    driving = 3 * BAR + RHO * GRAVITY * 2.0
    assert open_flow(supply, driving) == pytest.approx(12e-3 / 60, rel=1e-9)
    assert loss(supply, np.array([12e-3 / 60]))[0] == pytest.approx(driving, rel=1e-12)


def test_valves_add_what_their_kv_costs() -> None:
    by_kv = setup.line(case(fill="kv = 1.2")).valve_k
    assert by_kv * (1.2 / 3600) ** 2 == pytest.approx(BAR * RHO / 1000)
    through = setup.line(case(fill="through_pump = true")).valve_k
    assert through * (0.3 / 3600) ** 2 == pytest.approx(BAR * RHO / 1000)
    extra = setup.line(case(hose=BLOCKS["[fill.hose]"] + "\nextra_k = 2.5")).valve_k
    assert extra == pytest.approx(k_to_quadratic(2.5, 12.7e-3, RHO))


# --- fill, closed vessel, pump ----------------------------------------------------------------

def test_vent_and_start() -> None:
    given = case()
    vessel = setup.body(given)
    task = setup.filling(given, vessel, setup.line(given))
    assert task.vent_area == pytest.approx(0.6 * 0.25 * np.pi * 8e-3**2)
    assert task.end == pytest.approx(vessel.volume - vessel.trapped)
    assert task.outside_abs == pytest.approx(0.95 * BAR)
    assert setup.start_gauge(given, task) == pytest.approx(3 * BAR + RHO * GRAVITY * 2.0)
    for start in ("", '\nstart_pressure = "full"', '\nstart_pressure = "0.1 bar"'):
        full = case(test='pressure = "24 bar"' + start)
        assert setup.start_gauge(full, task) == pytest.approx(RHO * GRAVITY * 1.9)
    above = case(test='pressure = "24 bar"', gauge='height = "2.5 m"')
    assert setup.start_gauge(above, task) == 0.0
    assert setup.held(above, setup.body(above)).head == pytest.approx(-0.6 * RHO * GRAVITY)
    shut = case(vent=BLOCKS["vent"] + "\nshut = true")
    assert setup.filling(shut, vessel, setup.line(shut)).vent_area == 0.0


@pytest.mark.parametrize(("state", "pocket"), [("bled", 0.0), ("dry", 0.25 * np.pi * 6e-3**2 * 5.0)])
def test_a_dry_test_hose_is_a_pocket(state: str, pocket: float) -> None:
    given = case(trapped_air=f'amount = "0.4 %"\ntest_hose = "{state}"',
                 test_hose='length = "5 m"\nbore = "6 mm"\nstretch = "0.02 mL/m/bar"')
    vessel = setup.body(given)
    closed = setup.held(given, vessel)
    assert closed.air == pytest.approx(vessel.trapped + pocket)
    assert closed.hose == pytest.approx(0.25 * np.pi * 6e-3**2 * 5.0)
    assert closed.hose_stretch == pytest.approx(0.02e-6 / BAR * 5.0)


def test_the_plate_fits_the_pump_and_the_regulator_drives_it() -> None:
    plate, residual = setup.pump(case())
    assert isinstance(plate, pumps.AirDriven)
    assert residual == 0.0
    assert pumps.flow(plate, np.zeros(1))[0] == pytest.approx(4.1e-3 / 60, rel=1e-9)
    assert pumps.stall(plate) == pytest.approx(10 * 0.95 * 5.5 * BAR)
    slow, _ = setup.pump(case(pump=BLOCKS["pump"] + '\nregulator_pressure = "2.8 bar"'))
    assert isinstance(slow, pumps.AirDriven)
    assert slow.supply == pytest.approx(plate.supply)
    assert pumps.stall(slow) == pytest.approx(10 * 0.95 * 2.8 * BAR)
    assert slow.supply_abs == pytest.approx(2.8 * BAR + 0.95 * BAR)


def test_a_stall_that_was_seen_sets_the_friction() -> None:
    seen = BLOCKS["pump"].replace('friction = "5 %"', 'stall = ["5.5 bar", "52 bar"]')
    assert pumps.stall(setup.pump(case(pump=seen))[0]) == pytest.approx(52 * BAR)


def test_hand_and_electric_pumps() -> None:
    hand = setup.pump(case(pump='kind = "hand"\nstroke = "10 mL"\nstroke_rate = "40 /min"'))[0]
    assert isinstance(hand, pumps.Steady)
    assert hand.rate == pytest.approx(400e-6 / 60)
    assert hand.stall_gauge == pytest.approx(150 / 10e-6)
    assert np.isinf(pumps.stall(setup.worst(case(pump='kind = "hand"\nstroke = "10 mL"'), hand)))
    assert hand.power == pytest.approx(75.0)
    electric = setup.pump(case(pump='kind = "electric"\nflow = "3 L/min"\nrelief = "30 bar"'))[0]
    assert isinstance(electric, pumps.Steady)
    assert pumps.stall(electric) == pytest.approx(30 * BAR)


def test_what_is_asked_of_the_pump() -> None:
    given = case(air_supply='flow = "260 L/min"\nreceiver = "50 L"\nreceiver_pressure = "8 bar"',
                 test=BLOCKS["test"] + '\nrise_limit = "5 bar/min"\nassumed_leak = "1 L/h"')
    asked = setup.duty(given, np.array([2 * BAR]))
    assert asked.reserve == pytest.approx(0.05 * (8 - 5.5) / 0.95)
    assert asked.rise_limit == pytest.approx(5 * BAR / 60)
    assert asked.leak == pytest.approx(1e-3 / 3600)
    assert asked.test_gauge == pytest.approx(24 * BAR)
    plain = setup.duty(case(), np.array([2 * BAR]))
    assert np.isinf(plain.rise_limit)
    assert plain.leak == plain.reserve == 0.0
    assert REFERENCE == 1e5
