"""Settle to drain of whole cases: unseen ones against the second reckoning, and what is null when."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from fillcalc.arrays import spread
from fillcalc.case import records
from fillcalc.case.read import read_text
from fillcalc.estimation.answers import Estimate
from fillcalc.estimation.estimate import estimate
from fillcalc.job.resolve import resolve
from fillcalc.job.setup import body, held
from fillcalc.model import hold, sweep, wall
from fillcalc.model.pocket import convection, warm_after, warm_later
from fillcalc.properties.media import GRAVITY
from tests.families import few
from tests.model.twin_cases import BAR, SHELL, complete, shell
from tests.twin import twin

SMOOTH = 2e-5
HALF_WAY_DOWN = 4e-3
"""The fall while the water cools: one slope half way down stands for the whole fall."""
BLOCKS = ("settle", "hold", "release", "drain", "energy")
UNSEEN = 10


def _unseen(seed: int) -> records.Case:
    """A case that nobody chose, held or free, by Kv or by rate, with a vent that may throttle the drain."""
    rng = np.random.default_rng(seed)
    diameter = rng.uniform(0.3, 1.5)
    common: dict[str, Any] = {"wall": diameter * rng.uniform(0.006, 0.03), "anchored": bool(rng.integers(2)),
                              "never_above": 90 * BAR, "young": 200e9, "poisson": 0.3, "expansion": 12e-6}
    shapes: tuple[records.Vessel, ...] = (
        records.StandingCylinder(diameter=diameter, height=rng.uniform(0.5, 4.0),
                                 ends=("flat", "dished", "elliptical 2:1")[rng.integers(3)], **common),
        records.LyingCylinder(diameter=diameter, length=rng.uniform(1.0, 6.0),
                              ends=("flat", "dished", "hemispherical")[rng.integers(3)], **common),
        records.Sphere(diameter=diameter, **common),
        records.PipeRun(diameter=0.2 * diameter, length=rng.uniform(30.0, 300.0), rise=rng.uniform(0.5, 8.0),
                        **(common | {"wall": 0.2 * common["wall"]})),
    )
    by_kv = bool(rng.integers(2))
    return shell(
        vessel=shapes[rng.integers(len(shapes))],
        tap=replace(SHELL.tap, pressure=5 * BAR),
        surroundings=records.Surroundings(pressure=rng.uniform(0.8, 1.03) * BAR, temperature=rng.uniform(278.0, 303.0)),
        water=records.Water(temperature=rng.uniform(283.0, 308.0)),
        vent=records.Vent(bore=rng.uniform(3e-3, 12e-3), coefficient=rng.uniform(0.55, 0.75)),
        trapped_air=records.TrappedAir(amount=float(np.exp(rng.uniform(np.log(2e-4), np.log(0.05))))),
        test=records.Test(pressure=rng.uniform(3.0, 23.0) * BAR, hold=900.0),
        release=records.Release(kv=rng.uniform(0.02, 0.3)) if by_kv else records.Release(rate=rng.uniform(1e3, 2e4)),
        drain=records.Drain(bore=rng.uniform(10e-3, 40e-3), coefficient=rng.uniform(0.5, 0.8),
                            hose_length=rng.uniform(0.0, 15.0) * rng.integers(2), fall=rng.uniform(0.2, 2.0)),
    )


@pytest.mark.parametrize("seed", few(range(UNSEEN), 1))
def test_unseen_cases_agree_with_brute_force(seed: int) -> None:
    case = _unseen(seed)
    answer, expected = estimate(case), twin(case)
    names = [name for name in expected if name.split(".")[0] in BLOCKS and np.isfinite(expected[name])]
    assert len(names) >= 10
    for name in names:
        block, leaf = name.split(".")
        found = float(np.ravel(getattr(getattr(answer, block), leaf))[0])
        bound = HALF_WAY_DOWN if block == "settle" else SMOOTH
        assert found == pytest.approx(expected[name], rel=bound, abs=1e-12), name


def _values(answer: Estimate, block: str) -> list[float]:
    record = getattr(answer, block)
    return [float(np.ravel(value)[0]) for name, value in vars(record).items() if name != "gauge_fits"]


def test_nothing_is_told_of_a_vessel_that_never_fills() -> None:
    answer = estimate(shell(vent=records.Vent(shut=True)))
    for block in BLOCKS:
        assert np.all(np.isnan(_values(answer, block))), block


def test_a_pump_that_stalls_leaves_drain_and_energy() -> None:
    answer = estimate(shell(pump=replace(SHELL.pump, regulator_pressure=1.5 * BAR)))
    for block in ("settle", "hold", "release"):
        assert np.all(np.isnan(_values(answer, block))), block
    assert np.all(np.isfinite(_values(answer, "drain") + _values(answer, "energy")))


def test_an_unknown_drain_goes_by_the_volume_and_not_by_the_fill() -> None:
    """A tank of 10 m3, 2.5 m high, by 50 mm: Torricelli's 2 A sqrt(h) / (Cd a sqrt(2 g)), its vent wide open."""
    case, slow = (read_text(TANK.format(flow=flow)) for flow in ("60 L/min", "20 L/min"))
    found = [float(answer.time_s[0]) for answer in (estimate(case).drain, estimate(slow).drain) if answer is not None]
    area, hole = 10.0 / 2.5, np.pi / 4 * 0.05**2
    assert found[0] == pytest.approx(2 * area * 2.5**0.5 / (0.6 * hole * (2 * GRAVITY) ** 0.5), rel=2e-3)
    assert found[0] == found[1]
    assert (case.ranges["drain.bore"].low, case.ranges["drain.bore"].high) == (0.025, 0.08)
    assert "drain.bore" in {each.path for each in case.assumptions}


TANK = """
format = 1
[vessel]
shape = "standing cylinder"
volume = "10 m3"
height = "2.5 m"
[tap]
pressure = "3 bar"
open_flow = "{flow}"
[[fill.hose]]
length = "10 m"
bore = "25 mm"
[vent]
bore = "300 mm"
coefficient = 0.6
[test]
pressure = "2 bar"
[pump]
kind = "hand"
"""


def test_gauge_bottom_and_top_differ_by_the_water_between() -> None:
    low, high = (estimate(shell(gauge=records.Gauge(full_scale=40 * BAR, division=0.5 * BAR, height=at))).hold
                 for at in (0.0, 1.9))
    assert low is not None and high is not None
    head = 999.1 * GRAVITY * 1.9
    test = 24 * BAR
    assert float(low.bottom_gauge_pa[0]) == test
    assert float(low.gauge_for_top_pa[0]) - test == pytest.approx(head, rel=1e-4)
    assert test - float(low.top_gauge_pa[0]) == pytest.approx(head, rel=1e-4)
    assert float(high.top_gauge_pa[0]) == pytest.approx(test, rel=1e-9)
    assert float(high.bottom_gauge_pa[0]) - test == pytest.approx(head, rel=1e-4)


def test_warm_surroundings_raise_the_pressure_and_cold_ones_lower_it() -> None:
    drifts = [float(estimate(shell(surroundings=records.Surroundings(pressure=101325.0, temperature=at))).hold
                    .drift_pa[0]) for at in (278.15, 288.15, 298.15)]  # type: ignore[union-attr]
    assert drifts[0] < 0.0 == drifts[1] < drifts[2]


def test_pressure_after_a_loss_gives_the_loss_back() -> None:
    case = spread(resolve(complete(SHELL)), 1)
    closed = held(case, body(case))
    for air in (0.0, 1e-4, 0.05):
        vessel = replace(closed, air=closed.air * 0.0 + air)
        top = np.array([24 * BAR])
        for goal in (0.19, 0.2, 3.0, 20.0, 23.9):
            lost = vessel.water_to(np.array([goal * BAR]), top)
            assert float(hold.pressure_after(vessel.at(top), lost)[0]) == pytest.approx(goal * BAR, abs=24.0)


def test_more_time_for_the_pump_leaves_less_fall_of_the_pocket() -> None:
    case = spread(resolve(complete(SHELL)), 1)
    closed = held(case, body(case))
    zero, test = closed.at(np.zeros(1)), closed.at(np.array([24 * BAR]))
    thick = np.array([0.05])
    falls = [float(hold.fall_of_pocket(zero, test, np.array([time]), thick)[0]) for time in (0.0, 60.0, 600.0, 6e4)]
    assert all(one > other > 0.0 for one, other in pairwise(falls))


def test_a_film_is_cool_in_a_second_and_a_round_pocket_in_minutes() -> None:
    """The same air under a flat top and in the crown of a sphere, at 24 bar."""
    flat, ball = (estimate(shell(vessel=vessel, labour=records.Labour(
        each=records.PieceLabour(settle=60.0)))).settle for vessel in (
        SHELL.vessel, records.ValveBody(volume=0.57, height=1.9, wall="rigid", never_above=29 * BAR)))
    assert flat is not None and ball is not None
    assert float(flat.drop_air_left_pa[0]) < 1.0 < 1e3 < float(ball.drop_air_left_pa[0])
    assert float(ball.drop_air_left_pa[0]) < float(ball.drop_air_pa[0])
    assert float(flat.drop_air_pa[0]) < 0.01 * float(ball.drop_air_pa[0])


@pytest.mark.parametrize("warmer", [1.0, 10.0, 50.0])
def test_free_convection_in_a_pocket_is_that_of_a_plate_in_air(warmer: float) -> None:
    """h = 1.52 dT^(1/3) W/(m2 K) from a horizontal plate to air at one atmosphere, turbulent; W. McAdams, Heat
    Transmission, 3rd ed. (from memory). Ten times the pressure: 10^(2/3) times the film."""
    for pressure in (101325.0, 1013250.0):
        rate = float(convection(np.array(0.1), np.array(pressure), 293.15))
        heat = pressure / (287.05 * 293.15) * 1006.0 * 0.1
        film = rate * warmer ** (1 / 3) * heat
        assert film == pytest.approx(1.52 * warmer ** (1 / 3) * (pressure / 101325.0) ** (2 / 3), rel=0.05)


def test_a_pocket_cools_as_its_equation_says() -> None:
    """By small steps, with conduction alone, convection alone, and both; and evenly pumped up it is in balance."""
    for tau, free in ((100.0, 0.0), (1e12, 0.01), (100.0, 0.01)):
        warm, step = 100.0, 0.05
        for _ in range(2400):  # midpoint
            half = warm - 0.5 * step * (warm / tau + free * warm ** (4 / 3))
            warm -= step * (half / tau + free * half ** (4 / 3))
        left = warm_later(np.array(100.0), 120.0, np.array(tau), np.array(free))
        assert float(left) == pytest.approx(warm, rel=1e-5)
        kept = float(warm_after(np.array(100.0), np.array(300.0), np.array(tau), np.array(free)))
        assert kept * (1.0 + 300.0 / tau + 300.0 * free * kept ** (1 / 3)) == pytest.approx(100.0, rel=1e-12)
    assert float(warm_later(np.array(0.0), 1.0, np.array(1.0), np.array(1.0))) == 0.0


def test_a_pocket_in_a_pipe_is_cool_after_the_settle() -> None:
    """0.7 m of air in a pipe of 154 mm at 15 bar: after half an hour next to nothing is left, after seconds much is."""
    case = spread(resolve(complete(SHELL)), 1)
    closed = replace(held(case, body(case)), air=np.array([0.2]))
    low, high = closed.at(np.zeros(1)), closed.at(np.array([15 * BAR]))
    falls = [float(hold.fall_of_pocket(low, high, np.array([600.0]), np.array([0.154]), later)[0])
             for later in (0.0, 10.0, 1800.0)]
    assert falls[0] > falls[1] > 0.8 * falls[0] and 0.0 < falls[2] < 0.01 * falls[0]


def test_a_wider_pipe_a_steeper_leg_and_a_larger_pocket_need_faster_water() -> None:
    assert np.all(np.diff(sweep.clearing_speed(np.array([0.05, 0.1, 0.3]), 0.1, 0.61)) > 0.0)
    assert np.all(np.diff(sweep.clearing_speed(0.1, np.array([0.0, 0.05, 0.3]), 0.61)) > 0.0)
    assert np.all(np.diff(sweep.pocket_term(np.array([0.03, 0.09, 0.2, 1.0]) * 0.25 * np.pi * 0.1**3, 0.1)) > 0.0)


def test_crests_are_swept_by_enough_water_and_not_by_a_garden_tap() -> None:
    run = records.PipeRun(diameter=0.05, length=60.0, rise=1.0, wall=4e-3, crest=(records.Crest(slope=0.1),))
    wide = records.FillLine(hose=(records.Hose(length=5.0, bore=0.05, couplings=0),))
    taps = records.Hydrant(pressure=6 * BAR, open_flow=0.03), records.Tap(pressure=2 * BAR, open_flow=2e-4)
    swept = [bool(estimate(shell(vessel=run, fill=wide, tap=tap, vent=records.Vent(bore=0.03, coefficient=0.6)))
                  .sweep[0].swept[0]) for tap in taps]
    assert swept == [True, False]


def test_collapse_of_a_long_thin_shell_is_near_bresse() -> None:
    """A ring of a very long tube folds at 2 E / (1 - nu^2) (t/D)^3; a short one needs more."""
    long = 2.0 * 200e9 / (1.0 - 0.09) * 0.003**3
    short = wall.collapse((np.array([1.0]), np.array([2.0])), np.array([3e-3]), np.array([200e9]), np.array([0.3]))
    assert float(short[0]) > 5.0 * long
    doubled = wall.collapse((np.array([1.0]), np.array([4.0])), np.array([3e-3]), np.array([200e9]), np.array([0.3]))
    assert float(short[0] / doubled[0]) == pytest.approx(2.0, rel=0.02)
