"""What the pump can do to what hangs on it, and what a person can set and push."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from fillcalc.case.read import read_text
from fillcalc.cautions import cautions
from fillcalc.estimation.answers import at_likely_values
from fillcalc.estimation.estimate import estimate
from fillcalc.job.resolve import resolve
from fillcalc.job.setup import free_air
from fillcalc.properties.media import atmosphere
from tests.report.demo import NAMES, demo

BAR = 1e5
CASE = """
format = 1
[vessel]
shape = "other"
volume = "12 L"
wall = "rigid"
{vessel}
[surroundings]
{site}
[tap]
[fill]
measured_flow = "10 L/min"
[test]
pressure = "{test}"
[pump]
{pump}
{more}
"""
SEVEN = 'kind = "air-driven"\nratio = 7\nstroke = "60 mL"\nflow_at_zero = "4 L/min"\nfriction = "5 %"\n'
SETTINGS = {"setting may stall", "setting lifts the relief valve", "regulator above the supply"}


def made(pump: str, test: str = "15 bar", vessel: str = "", more: str = "",
         site: str = "") -> tuple[Any, Any, str, set[str]]:
    """Case, estimate at likely values, all sentences as one text, and their codes."""
    case = read_text(CASE.format(pump=pump, test=test, vessel=vessel, more=more, site=site))
    answer = estimate(case)
    said = cautions(case, answer)
    return case, at_likely_values(answer), " ".join(each.text for each in said), {each.code for each in said}


@pytest.mark.parametrize(("pump", "more", "air"), [
    ('drive_pressure = "5.5 bar"',
     '[air_supply]\nflow = "200 L/min"\nreceiver = "50 L"\nreceiver_pressure = "8 bar"', 8.0),
    ('drive_pressure = "5 bar"', "", 1.45 * 5.0),
    ('regulator_pressure = "3 bar"', "", 3.7),
    ('regulator_pressure = "3 bar"\nlock_up = "0.2 bar"', "", 3.2),
    ('regulator_pressure = "3 bar"\nno_flow_pressure = "3.4 bar"', "", 3.4),
    ('drive_pressure = "3 bar"\nno_flow_pressure = "6 bar"', '[ranges]\n"pump.no_flow_pressure" = "±0.5 bar"', 6.5),
])
def test_a_stalled_pump_is_judged_by_the_air_that_then_stands_at_it(pump: str, more: str, air: float) -> None:
    limit = 0.999 * 7.0 * air
    _, answer, _, codes = made(SEVEN + pump, vessel=f'never_above = "{limit:.6f} bar"', more=more)
    assert answer.pressurise.stall_no_friction_gauge_pa == pytest.approx(7.0 * air * BAR, rel=1e-9)
    assert "stall above limit" in codes
    _, _, _, calm = made(SEVEN + pump, vessel=f'never_above = "{1.001 * 7.0 * air:.6f} bar"', more=more)
    assert "stall above limit" not in calm


def test_nobody_pumps_with_a_stroke_that_takes_more_than_a_person_has() -> None:
    _, answer, said, codes = made('kind = "hand"\nstroke = "25 mL"', test="600 bar")
    assert "stroke too hard" in codes and "1.5 kJ" in said and "2.5 mL" in said
    assert not answer.pressurise.reached and np.isnan(answer.pressurise.time_s)
    _, answer, _, codes = made('kind = "hand"\nstroke = "2.49 mL"', test="600 bar")
    assert "stroke too hard" not in codes and answer.pressurise.reached


def test_a_regulator_above_the_supply_gives_what_the_supply_gives() -> None:
    open_wide, at_supply = (made(SEVEN + f'drive_pressure = "3 bar"\nregulator_pressure = "{bar} bar"')
                            for bar in (8, 3))
    assert open_wide[1].pressurise.stall_gauge_pa == pytest.approx(7 * 3 * 0.95 * BAR)
    assert open_wide[1].pressurise.time_s == at_supply[1].pressurise.time_s
    assert "regulator above the supply" in open_wide[3] and "regulator above the supply" not in at_supply[3]
    assert open_wide[1].regulator.advised_gauge_pa <= 3 * BAR


@pytest.mark.parametrize(("flow", "litres"), [
    ("60 L/min", 60.0), ("60 NL/min", 60.0 * 293.15 / 273.15 * 101325.0 / 70121.1),
    ("3.6 Nm3/h", 60.0 * 293.15 / 273.15 * 101325.0 / 70121.1),
    ("2 scfm", 2 * 28.316846592 * 293.15 / 288.7056 * 101325.0 / 70121.1), ("2 cfm", 2 * 28.316846592)])
def test_an_amount_of_air_is_turned_into_free_air_on_site(flow: str, litres: float) -> None:
    """At 3000 m the standard atmosphere has 70 121 Pa (ISO 2533, from memory); 20 degrees on site."""
    assert atmosphere(3000.0) == pytest.approx(70121.1, rel=2e-6)
    case, *_ = made(SEVEN, more=f'[air_supply]\nflow = "{flow}"', site='altitude = "3000 m"\ntemperature = "20 degC"')
    assert float(free_air(resolve(case))) * 60e3 == pytest.approx(litres, rel=2e-5)


def test_a_narrow_window_is_no_window_and_the_advice_lies_a_step_inside() -> None:
    """7:1 to 15 bar at 10 % of friction needs 2.381 bar; a limit of 7 (x + 0.2) bar allows x."""
    pump = SEVEN.replace('friction = "5 %"', "") + 'lock_up = "0.2 bar"\nregulator_pressure = "2.5 bar"\n'
    for top, step, advised in ((2.60, "0.1 bar", 2.5), (2.595, "0.1 bar", np.nan), (2.55, "0.05 bar", 2.5),
                               (2.45, "0.05 bar", np.nan), (4.0, "0.1 bar", 3.9)):
        vessel = f'never_above = "{7 * (top + 0.2):.6f} bar"'
        _, answer, _, codes = made(f'{pump}regulator_step = "{step}"', vessel=vessel)
        assert answer.regulator.advised_gauge_pa == pytest.approx(advised * BAR, nan_ok=True)
        assert ("no regulator window" in codes) == bool(np.isnan(advised))
        assert bool(answer.regulator.window) == (not np.isnan(advised))


def test_a_relief_valve_needs_a_tenth_of_room_and_enough_flow() -> None:
    """Pressure builds up 10 % over the set pressure of a valve that passes its flow."""
    air = SEVEN + 'regulator_pressure = "3 bar"'
    for opens, passes, guards in ((18.1, "9 L/min", True), (18.3, "9 L/min", False), (18.1, "0.5 L/min", False)):
        _, _, _, codes = made(air, vessel='never_above = "20 bar"',
                              more=f'[relief_valve]\nset = "{opens} bar"\ncapacity = "{passes}"')
        assert ("stall above limit" not in codes) == guards, (opens, passes)
        assert ("only the relief valve" in codes) == guards


@pytest.mark.parametrize("name", NAMES)
def test_demos_are_set_as_advised(name: str) -> None:
    case, _ = demo(name)
    answer = at_likely_values(estimate(case))
    codes = {each.code for each in cautions(case, estimate(case))}
    setting = getattr(case.pump, "regulator_pressure", None)
    if setting is None:
        return
    if np.isfinite(answer.regulator.advised_gauge_pa):
        assert float(setting) == pytest.approx(float(answer.regulator.advised_gauge_pa))
        assert not codes & SETTINGS
    else:
        assert "no regulator window" in codes
