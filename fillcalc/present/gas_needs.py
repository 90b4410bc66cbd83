"""What is brought to a test with gas, and what the customer provides for it."""

from __future__ import annotations

from math import isfinite

from fillcalc.case.records import AirLine, Booster, Bottles, Case
from fillcalc.cautions.gas import displaces_oxygen, gas_of
from fillcalc.cautions.rule import relief_set
from fillcalc.estimation.answers import Estimate
from fillcalc.estimation.gas_limits import can_pass_limit, gas_limit, relief_holds
from fillcalc.estimation.limits import relief_below
from fillcalc.present.gas import behind_a_screen
from fillcalc.present.needs import asked, enough
from fillcalc.present.sentences import shower, trade


def gas_needs(case: Case, estimate: Estimate, units: str, around: str = "the vessel") -> list[str]:
    """What the customer provides; `around` names the vessel where there are several."""
    say, gas, given = shower(units), gas_of(estimate), case.gas_supply
    wanted = []
    if isinstance(given, AirLine):
        most = "" if given.flow is None else f", {say(given.flow, case.families.get('gas_supply.flow', 'air_flow'))}"
        line = "An air line" if gas.medium == "air" else f"A {gas.medium} line"
        wanted.append(f"{line} at {say(given.pressure, 'pressure')} or more{most}.")
    if isinstance(given, Booster):
        drive = asked(case, "gas_supply.drive_pressure", float(given.drive_pressure), "pressure", units)
        wanted.append(f"Compressed air of {say(drive, 'pressure')} at the booster.")
    if behind_a_screen(estimate):
        wanted.append(f"Room for a screen in front of {around}, and nobody but the test crew near.")
    else:
        wanted.append(f"{say(gas.energy.distance_m, 'distance')} marked off around {around} and kept clear of people.")
        free = enough(float(gas.bottles.free_m3), "air_volume", units)
        much = f" {say(free, 'air_volume')} of {gas.medium}" if isfinite(free) else f" the {gas.medium}"
        wanted.append(f"A place outdoors to let off{much}.")
    wanted.append("An approved written procedure for a test with gas, which says why water is excluded.")
    return [trade(sentence, units) for sentence in wanted]


def gas_to_bring(case: Case, estimate: Estimate, units: str) -> list[str]:
    """What the technician brings to one case."""
    say, gas, given = shower(units), gas_of(estimate), case.gas_supply
    wanted = []
    if isinstance(given, Bottles):
        known = (gas.bottles.all_needed, gas.bottles.needed, gas.bottles.there)
        count = next(each for each in known if isfinite(each))
        bottles, chained = ("bottle", "") if count == 1 else ("bottles", ", chained")
        wanted.append(f"{say(count, 'count')} {bottles} of {gas.medium}, {say(given.volume, 'volume')} at "
                      f"{say(given.pressure, 'pressure')} or more{chained}.")
    wanted.append(f"A regulator that gives {say(case.gas_line.regulator_pressure, 'pressure')}.")
    if can_pass_limit(case):
        wanted.append(f"A relief valve that passes all the supply can give{_relief(case, units)}.")
    if behind_a_screen(estimate):
        wanted.append("A screen.")
    if displaces_oxygen(estimate):
        wanted.append("An oxygen meter.")
    return [trade(sentence, units) for sentence in wanted]


def _relief(case: Case, units: str) -> str:
    """At what the relief valve is set."""
    say, limit = shower(units), gas_limit(case)
    if relief_holds(case):
        return f", set at {say(relief_set(case), 'pressure')}"
    return f", set at or below {say(relief_below(limit), 'pressure')}" if isfinite(limit) else ""
