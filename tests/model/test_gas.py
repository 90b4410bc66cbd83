"""The gas test against brute force with CoolProp at each step, its balances, and its limits as closed forms."""

from __future__ import annotations

from dataclasses import replace
from math import inf
from typing import Any

import numpy as np
import pytest

from fillcalc.model.gas import energy, raising
from fillcalc.model.gas.letting_off import LetOff, Task, Vent, let_off
from fillcalc.model.gas.raising import BOTTLE_DENSITY, BOTTLE_TEMPERATURE, BOTTLE_WALL, Raise, Raised, raise_pressure
from fillcalc.model.gas.supply import Booster, Supply, throttled
from fillcalc.model.gas.vessel import Holder
from fillcalc.properties.gases import Gas
from tests.families import few, thorough
from tests.twin import gas as twin
from tests.twin.gas import Given

BAR = 1e5
WITHIN = 0.005
"""Of brute force, as a part of the value; of a temperature, of what it moved."""


def _one(value: float) -> Any:
    return np.array([float(value)])


def holder(given: Given) -> Holder:
    return Holder(*(_one(value) for value in (given.volume, given.area, given.wall_heat, given.film,
                                              given.outside_film, given.surroundings)))


def task(given: Given) -> Raise:
    bottles = Holder(*(_one(value) for value in (
        given.bottle_volume, given.bottle_area, given.bottle_wall_heat, given.bottle_film, given.outside_film,
        given.surroundings)))
    supply = Supply(Gas(given.gas), bottles, *(_one(value) for value in (
        given.bottle_pressure, given.surroundings, 1000, given.difference, given.change, given.regulator, given.kv,
        given.x_t, given.most)), None if given.booster is None else Booster(*map(_one, given.booster)))
    return Raise(holder(given), supply, _one(given.outside), np.array(given.stops)[:, None],
                 np.array(given.pauses)[:, None], _one(given.rise_limit), _one(given.quiet))


def vented(given: Given) -> LetOff:
    vent = Vent(_one(np.nan if given.vent_kv is None else given.vent_kv), _one(given.vent_x_t), _one(given.vent_area))
    start = (_one(given.stops[-1]), _one(given.surroundings), _one(given.surroundings))
    return let_off(Task(Gas(given.gas), holder(given), vent, start, _one(given.end), _one(given.outside)))


SEAT = Given(gas="air", volume=0.9e-3, area=0.05, wall_heat=4e3, bottle_volume=inf, bottle_pressure=8.5e5,
             regulator=7.6e5, kv=0.05, stops=(7.01e5,), pauses=(0.0,), quiet=50.0, vent_kv=0.05, rise_limit=4e3)
CASES = {
    "two bottles, rise limit": Given(rise_limit=2e5 / 60),
    "fast, thin wall": Given(wall_heat=50e3, kv=1.0, stops=(6e5, 9e5, 12e5), pauses=(60.0, 120.0, 0.0), quiet=8.0),
    "small vessel to 100 bar": Given(volume=0.05, area=0.8, wall_heat=80e3, regulator=130e5, kv=0.05,
                                     stops=(50e5, 100e5), pauses=(120.0, 0.0), quiet=500.0, vent_kv=None,
                                     vent_area=twin.hole(1e-3, 0.7)),
    "air, hot day, high": Given(gas="air", outside=85e3, surroundings=308.15, volume=3.0, area=12.0, film=2.0,
                                bottle_film=0.5, stops=(4e5, 8e5), pauses=(200.0, 0.0), kv=0.6, vent_kv=1.0,
                                end=135e3),
    "an air line": Given(gas="air", bottle_volume=inf, bottle_pressure=9e5, regulator=8e5, stops=(4e5, 7e5),
                         pauses=(60.0, 0.0), most=0.01, vent_kv=None, vent_area=twin.hole(6e-3, 0.6)),
    "a valve seat": SEAT,
    "a booster": Given(volume=0.02, area=0.45, wall_heat=40e3, booster=(60.0, 5.5e5, 40e-6, 1.0), rise_limit=20e5 / 60,
                       regulator=290e5, stops=(130e5, 251e5), pauses=(120.0, 0.0), quiet=1000.0, vent_kv=0.02),
    "a booster that is changed over": Given(
        gas="air", outside=90e3, surroundings=278.15, volume=0.06, area=0.9, wall_heat=90e3, bottle_volume=0.02,
        bottle_area=0.6, bottle_wall_heat=11e3, bottle_pressure=121e5, booster=(40.0, 6e5, 80e-6, 1.5),
        regulator=240e5, stops=(100e5, 181e5), pauses=(60.0, 0.0), quiet=800.0, vent_kv=0.02, end=140e3),
}


@pytest.fixture(scope="module", params=few(CASES, 2), ids=str)
def pair(request: pytest.FixtureRequest) -> tuple[Given, Raised, dict[str, Any]]:
    given = CASES[request.param]
    return given, raise_pressure(task(given)), twin.raised(given)


def figures(given: Given, model: Raised) -> dict[str, Any]:
    """Times, masses and pressures of the model, by the names of brute force."""
    return {"test_time": model.test.time, "read_time": model.read.time, "given": model.given, "left": model.left_abs,
            "test_mass": model.test.density * given.volume,
            "after_cooling": Gas(given.gas).at(model.test.density, _one(given.surroundings)).pressure}


def warmths(model: Raised) -> dict[str, Any]:
    """Temperatures of the model likewise."""
    return {"hottest": model.hottest, "test_temperature": model.test.temperature,
            "read_temperature": model.read.temperature, "coldest_bottle": model.coldest_bottle,
            "wall": model.read.wall}


def test_raising_agrees_with_brute_force(pair: tuple[Given, Raised, dict[str, Any]]) -> None:
    given, model, slow = pair
    for name, value in figures(given, model).items():
        assert float(value[0]) == pytest.approx(slow[name], rel=WITHIN), name
    assert int(model.opened[0]) == slow["opened"]
    for name, kelvin in warmths(model).items():
        moved = slow[name] - given.surroundings
        assert float(kelvin[0]) - given.surroundings == pytest.approx(moved, rel=WITHIN, abs=0.02), name


MANY = Given(
    gas="air", outside=92e3, surroundings=263.0, volume=1.5, area=7.2, wall_heat=216e3, film=1.2,
    bottle_volume=0.02, bottle_area=0.63, bottle_wall_heat=11.5e3, bottle_film=0.6, bottle_pressure=268e5,
    difference=2e5, regulator=43e5, kv=0.5, stops=(16.5e5, 33e5), pauses=(300.0, 0.0), quiet=20.0,
    rise_limit=2e5 / 60, end=140e3)
"""A dozen bottles, one after the other, each of which grows colder than 160 K."""


@thorough
def test_the_last_of_many_bottles_holds_what_brute_force_leaves() -> None:
    model, slow = raise_pressure(task(MANY)), twin.raised(MANY)
    assert int(model.opened[0]) == slow["opened"] == 12
    for name, value in figures(MANY, model).items():
        assert float(value[0]) == pytest.approx(slow[name], rel=1e-3), name


@pytest.mark.parametrize("name", few(CASES, 2))
def test_letting_off_agrees_with_brute_force(name: str) -> None:
    given = CASES[name]
    model, slow = vented(given), twin.let_off(given)
    assert float(model.time[0]) == pytest.approx(slow["time"], rel=WITHIN)
    for key, kelvin in {"coldest": model.coldest, "coldest_wall": model.coldest_wall}.items():
        assert float(kelvin[0]) - given.surroundings == pytest.approx(slow[key] - given.surroundings, rel=WITHIN,
                                                                      abs=0.02)


@pytest.mark.parametrize("name", CASES)
def test_energy_agrees_with_coolprop(name: str) -> None:
    given = CASES[name]
    found = energy.isentropic(Gas(given.gas), given.volume, given.stops[-1] - given.outside, given.surroundings,
                              given.outside)
    assert float(found) == pytest.approx(twin.energy(given), rel=WITHIN)


CLOSED = {"mass": 1e-9, "energy": 1e-6}
"""How far each balance may be open, as a part of what moved."""


def open_balances(name: str) -> dict[str, float]:
    """How far what one ample bottle gave is from what gas and wall of the vessel gained, with nothing to the
    surroundings; the mass by the flow too."""
    given = replace(CASES[name], outside_film=0.0, bottle_volume=20.0 * CASES[name].bottle_volume)
    asked = replace(task(given), tolerance=1e-8)
    gas, done = asked.gas, raise_pressure(asked)
    full = asked.supply.full()
    start = gas.at_pressure(_one(given.outside), _one(given.surroundings))
    end, bottle = gas.at(*done.state[:2]), gas.at(done.state[BOTTLE_DENSITY], done.state[BOTTLE_TEMPERATURE])
    came = given.volume * (end.density - start.density)
    assert done.opened[0] == 1
    left = given.bottle_volume * (full.density - bottle.density)
    gained = given.volume * (end.density * end.energy - start.density * start.energy)
    gained = gained + given.wall_heat * (done.state[raising.WALL] - given.surroundings)
    gave = given.bottle_volume * (full.density * full.energy - bottle.density * bottle.energy)
    gave = gave - given.bottle_wall_heat * (done.state[BOTTLE_WALL] - given.surroundings)
    mass = np.maximum(abs(came / done.given - 1.0), abs(came / left - 1.0))
    return {"mass": float(mass[0]), "energy": float(abs(gained / gave - 1.0)[0])}


BALANCED = ("two bottles, rise limit", "small vessel to 100 bar", "fast, thin wall")


@pytest.mark.parametrize("name", BALANCED)
def test_mass_and_energy_balance(name: str) -> None:
    for what, off in open_balances(name).items():
        assert off <= CLOSED[what], what


def test_the_balance_of_letting_off() -> None:
    """Nothing is lost where the vent has no heat and the wall none: the entropy of what stays is that of the start."""
    given = Given(film=0.0, outside_film=0.0, stops=(10e5,), pauses=(0.0,), end=3e5)
    done = vented(given)
    state = twin.Fluid("nitrogen")
    first = state.by_pressure(10e5, given.surroundings).smass()
    last = state.by_density(float(done.state[0][0]), float(done.state[1][0]))
    assert last.smass() == pytest.approx(first, rel=1e-5)
    assert last.p() == pytest.approx(3e5, rel=1e-5)


@pytest.mark.parametrize(("source", "end"), [(20e5, 10e5), (200e5, 100e5)])
def test_without_heat_the_filled_gas_is_as_warm_as_the_closed_form(source: float, end: float) -> None:
    given = Given(film=0.0, bottle_volume=inf, bottle_pressure=source, regulator=source, stops=(end,), pauses=(0.0,),
                  volume=1.0, quiet=1.0, difference=0.0)
    done = raise_pressure(task(given))
    warm, density = twin.filled_without_heat("nitrogen", source, end, given.surroundings, given.outside)
    assert float(done.test.temperature[0]) == pytest.approx(warm, abs=0.02)
    assert float(done.test.density[0]) == pytest.approx(density, rel=1e-4)


@thorough
def test_with_endless_heat_the_gas_stays_as_it_was(monkeypatch: pytest.MonkeyPatch) -> None:
    """In more steps than a case may take, for the gas follows the wall at once."""
    monkeypatch.setattr(raising, "MOST_STEPS", 3000)
    given = Given(film=200.0, wall_heat=1e12, bottle_volume=inf, bottle_pressure=20e5, regulator=20e5, stops=(10e5,),
                  pauses=(0.0,), kv=0.02, quiet=1e4)
    done = raise_pressure(task(given))
    assert float(done.hottest[0]) == pytest.approx(given.surroundings, abs=0.5)
    cold = twin.Fluid("nitrogen").by_pressure(10e5, given.surroundings).rhomass()
    assert float(done.test.density[0]) == pytest.approx(cold, rel=2e-3)


def test_many_rows_are_as_one() -> None:
    """Cases that differ in all their numbers give the same together as one at a time."""
    rows = [CASES["two bottles, rise limit"], replace(CASES["two bottles, rise limit"], volume=0.4, kv=0.1, film=2.0)]
    alone = [raise_pressure(task(given)) for given in rows]
    first, second = (task(given) for given in rows)
    from fillcalc.tree import zipped

    both = zipped([first, second], lambda pair, _: np.concatenate(pair, axis=-1) if isinstance(pair[0], np.ndarray)
                  else pair[0])
    together = raise_pressure(both)
    for place, one in enumerate(alone):
        for name in ("given", "left_abs", "hottest", "opened"):
            assert getattr(together, name)[place] == pytest.approx(getattr(one, name)[0], rel=1e-9)
        assert together.read.time[place] == pytest.approx(one.read.time[0], rel=1e-9)


def test_what_cannot_be_reached_says_where_it_ends() -> None:
    given = Given(bottle_pressure=15e5, regulator=26e5)
    done = raise_pressure(task(given))
    assert not done.reached[0] and float(done.ends_abs[0]) == pytest.approx(14e5)
    assert np.isnan(done.read.time[0])
    asked = task(Given(volume=2.0))
    few = raise_pressure(replace(asked, supply=replace(asked.supply, groups=_one(2))))
    assert few.reached[0] and few.opened[0] > 2 and few.ends_abs[0] < 19e5


@pytest.mark.parametrize(("bottle", "outlet"), [(200e5, 25e5), (300e5, 7e5), (60e5, 40e5)])
def test_a_regulator_passes_no_heat(bottle: float, outlet: float) -> None:
    """Density and temperature behind it are those of equal enthalpy in CoolProp."""
    gas, fluid = Gas("nitrogen"), twin.Fluid("nitrogen")
    density, temperature = throttled(gas, gas.at_pressure(_one(bottle), _one(288.15)), _one(outlet))
    cold = fluid.throttled(fluid.by_pressure(bottle, 288.15).hmass(), outlet, 260.0)
    assert float(density[0]) == pytest.approx(cold.rhomass(), rel=1e-4)
    assert float(temperature[0]) == pytest.approx(cold.T(), abs=0.02)
