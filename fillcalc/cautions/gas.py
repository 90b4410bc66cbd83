"""Cautions of a test with gas: what must not be done at all, what can hurt someone, what spoils the reading."""

from __future__ import annotations

from math import isfinite, nan

from fillcalc.case.gas_line import halfway
from fillcalc.case.records import Case
from fillcalc.cautions.limits import RELIEF_BELOW_TEST
from fillcalc.cautions.rule import Rule, Say, above, is_assumed, limit, lowest_limit, relief_set
from fillcalc.estimation.answers import Estimate
from fillcalc.estimation.gas_answers import GasAnswer
from fillcalc.estimation.gas_limits import EXACT, can_pass_limit, relief_holds, setting_reach, supply_reach
from fillcalc.estimation.limits import ACCUMULATION, relief_below
from fillcalc.job.gas import is_brittle
from fillcalc.model.energy import FAR_ENERGY
from fillcalc.model.status import Status
from fillcalc.units import to_figures

LEAK_TEST = 1.1
"""Test over design that codes allow with gas where a strength test with water is 1.3 to 1.5; ASME VIII-1 UG-100 and
B31.3 345.5, from memory."""
COLD, HOT, FROST = 280.15, 333.15, 253.15
"""K: metal below which steel may be brittle (a house rule); gas that softens seals and hoses; gas behind a regulator
that freezes its moisture; judgement."""
CLOSED_ROOM = 1.0
"""m3 of nitrogen let off that matter in a closed room; judgement."""
LOUD, ROARS = 1e5, 0.1
"""Pa gauge from which letting off chokes, and m3 of free gas from which it roars instead of a puff; judgement."""
FAST = 5e5 / 60.0
"""Pa/s; a rise that gives no time to see, hear or stop; judgement."""
OILY = 20e5
"""Pa gauge from which compressed air may set oil and grease alight; judgement."""
DIVISIONS = 2.0
"""Divisions of the gauge that cooling takes, from which it is told; judgement."""
HIDES = 10e-6 / 60.0
"""m3/s of leak, as free gas, that a kelvin hides, from which it is told; judgement."""


def gas_of(estimate: Estimate) -> GasAnswer:
    """Return what the estimate says of gas."""
    assert estimate.gas is not None
    return estimate.gas


def displaces_oxygen(estimate: Estimate) -> bool:
    """Return whether so much nitrogen is let off that it matters in a room."""
    return gas_of(estimate).medium == "nitrogen" and above(gas_of(estimate).bottles.free_m3, CLOSED_ROOM)


def _turned_down(case: Case, e: Estimate, say: Say) -> str:
    """Return what to turn the regulator to near test pressure; empty where no room is left."""
    test = float(gas_of(e).test_gauge_pa)
    setting = halfway(case, test)
    return f" Near {say(test, 'pressure')} turn it down to {say(setting, 'pressure')}." if isfinite(setting) else ""


def _set_at_limit(case: Case, e: Estimate) -> bool:
    return setting_reach(case) * EXACT >= limit(case, e)


def _over_design(case: Case, e: Estimate) -> float:
    design = case.vessel.design
    return nan if not design else float(gas_of(e).test_gauge_pa) / float(design)


def _short(case: Case, e: Estimate) -> bool:
    return int(e.pressurise.status) == Status.SUPPLY_ENDS


def short_sentence(estimate: Estimate, say: Say) -> str:
    """Return why the supply does not reach the reading, and what to bring."""
    bottles, supply = gas_of(estimate).bottles, gas_of(estimate).supply
    ends = say(bottles.ends_gauge_pa, "pressure")
    if not bottles.followed:
        return ("It is too slow to be worked out: the valve is too far shut, or the bottles are too small. "
                "Open it further, or bring larger bottles.")
    if supply == "booster":
        return f"It cannot get there: the booster stalls at {ends}. Bring one of a higher ratio, or more bottles."
    if supply == "air line":
        return f"It cannot get there: the line gives no more than {ends}. Bring a booster, or bottles."
    if not bottles.reached:
        return f"It cannot get there: the bottles run out at {ends}. Bring a booster, or fuller bottles."
    where = f"they run out at {ends}" if isfinite(bottles.ends_gauge_pa) else "they run out before the reading"
    return (f"It takes {say(bottles.needed, 'count')} bottles, there are {say(bottles.there, 'count')}: {where}. "
            "Bring more, fuller bottles, or a booster.")


NOT_WITH_GAS: tuple[Rule, ...] = (
    Rule("brittle with gas", "danger", lambda case, e: is_brittle(case),
         lambda case, e, say: f"Do not test {case.vessel.material} with gas: it breaks without warning. Use water."),
    Rule("gas above the limit", "danger", lambda case, e: above(gas_of(e).test_gauge_pa, limit(case, e)),
         lambda case, e, say: f"Do not do this test: the test pressure is above {lowest_limit(case, e)[1]} "
         f"({say(limit(case, e), 'pressure')})."),
    Rule("too much energy", "danger", lambda case, e: above(gas_of(e).energy.ideal_j, FAR_ENERGY),
         lambda case, e, say: f"Do not do this with gas: it stores more than {say(FAR_ENERGY, 'energy')}, past the "
         "distances that are tabled (ASME PCC-2, 2008). Use water, or test it in parts."),
)
"""What is told before any figure: the job should not be done with gas."""

GAS: tuple[Rule, ...] = (
    *NOT_WITH_GAS,
    Rule("failed regulator", "danger",
         lambda case, e: above(supply_reach(case), ACCUMULATION * float(gas_of(e).test_gauge_pa))
         and can_pass_limit(case) and not relief_holds(case),
         lambda case, e, say: f"The supply can put {say(supply_reach(case), 'pressure')} on the vessel when the "
         "regulator fails. Fit a relief valve that passes all it gives, set at or below "
         + (say(relief_below(limit(case, e)), "pressure") if isfinite(limit(case, e))
            else "what the weakest part may see") + ".", own_gear=True),
    Rule("regulator at the limit", "danger", _set_at_limit,
         lambda case, e, say: f"The regulator ({say(case.gas_line.regulator_pressure, 'pressure')}) is set at or above "
         f"{lowest_limit(case, e)[1]} ({say(limit(case, e), 'pressure')}).{_turned_down(case, e, say)}", own_gear=True),
    Rule("relief too high for gas", "danger",
         lambda case, e: above(relief_set(case), relief_below(limit(case, e)) * EXACT),
         lambda case, e, say: f"The relief valve opens at {say(relief_set(case), 'pressure')}; to hold "
         f"{say(limit(case, e), 'pressure')} set it at or below "
         f"{say(relief_below(limit(case, e)), 'pressure')}.", own_gear=True),
    Rule("strength test with gas", "danger", lambda case, e: above(_over_design(case, e), LEAK_TEST * (1.0 + 1e-9)),
         lambda case, e, say: f"This is {to_figures(_over_design(case, e)):g} times the design pressure. With gas, "
         f"codes allow some {LEAK_TEST:g} (not checked); do a strength test with water."),
    Rule("no limit with gas", "warning", lambda case, e: case.vessel.never_above is None,
         lambda case, e, say: "No pressure limit of the vessel is given. Find that of the weakest part before any gas "
         "goes in."),
    Rule("only the relief valve holds gas", "warning",
         lambda case, e: isfinite(limit(case, e)) and can_pass_limit(case) and relief_holds(case),
         lambda case, e, say: f"If the regulator fails, only the relief valve ({say(relief_set(case), 'pressure')}) "
         f"keeps {say(supply_reach(case), 'pressure')} off the vessel. Test it first, and check that it passes all "
         "that the supply gives."),
    Rule("regulator lifts the relief valve", "warning",
         lambda case, e: above(setting_reach(case), relief_set(case) * EXACT) and not _set_at_limit(case, e),
         lambda case, e, say: f"The regulator ({say(case.gas_line.regulator_pressure, 'pressure')}) is set above the "
         f"relief valve ({say(relief_set(case), 'pressure')}) and can lift it.{_turned_down(case, e, say)}"),
    Rule("oil in air", "warning",
         lambda case, e: gas_of(e).medium == "air" and above(gas_of(e).test_gauge_pa, OILY),
         lambda case, e, say: f"Air at {say(gas_of(e).test_gauge_pa, 'pressure')} can set oil and grease alight. "
         "Clean the parts, or use nitrogen."),
    Rule("nitrogen in a room", "warning", lambda case, e: displaces_oxygen(e),
         lambda case, e, say: f"Letting off gives {say(gas_of(e).bottles.free_m3, 'air_volume')} of nitrogen, which "
         "displaces oxygen unseen. Lead it outdoors, watch the oxygen, never work alone"
         + (": a crew of 1 needs a second person there." if case.labour.crew == 1 else ".")),
    Rule("fast rise of gas", "warning",
         lambda case, e: above(case.test.rise_limit, FAST) and not case.vessel.practice().bench,
         lambda case, e, say: f"A rise of {say(case.test.rise_limit, 'pressure_rate')} leaves no time to stop. "
         f"Stay below {say(FAST, 'pressure_rate')}."),
    Rule("cold metal with gas", "warning",
         lambda case, e: above(COLD, gas_of(e).off.wall_k) or above(COLD, case.surroundings.temperature),
         lambda case, e, say: f"The metal may fall to {say(_coldest(case, e), 'temperature')}, colder at the vent. "
         "Cold steel is brittle: check its lowest metal temperature, let off slowly."),
    RELIEF_BELOW_TEST,
    Rule("bottles end", "caution", _short, lambda case, e, say: short_sentence(e, say)),
    Rule("bottles for all loads", "caution",
         lambda case, e: above(gas_of(e).bottles.all_needed, gas_of(e).bottles.there),
         lambda case, e, say: f"All loads together take up to {say(gas_of(e).bottles.all_needed, 'count')} bottles, "
         f"there are {say(gas_of(e).bottles.there, 'count')}. Bring more."),
    Rule("regulator freezes", "caution", lambda case, e: above(FROST, gas_of(e).bottles.outlet_k),
         lambda case, e, say: f"Gas leaves the regulator at {say(gas_of(e).bottles.outlet_k, 'temperature')}: damp gas "
         "freezes it open or shut. Use dry gas, and warm the regulator."),
    Rule("hot gas", "caution", lambda case, e: above(gas_of(e).rise.hottest_k, HOT),
         lambda case, e, say: f"The gas warms to {say(gas_of(e).rise.hottest_k, 'temperature')} inside: check seals "
         "and hoses, or raise more slowly."),
    Rule("cooling looks like a leak", "caution",
         lambda case, e: case.gauge.division is not None
         and above(gas_of(e).rise.fall_pa, DIVISIONS * float(case.gauge.division)),
         lambda case, e, say: f"Cooling alone drops the gauge by {say(gas_of(e).rise.fall_pa, 'pressure_change')}. Top "
         f"up, and read from {say(gas_of(e).rise.read_s, 'duration')} after opening the valve."),
    Rule("a degree hides a leak", "notice", lambda case, e: above(gas_of(e).hold.kelvin_hides_free_m3_s, HIDES),
         lambda case, e, say: "One degree in the hold hides a leak of "
         f"{say(gas_of(e).hold.kelvin_hides_free_m3_s, 'leak')} of free gas. Read the metal's "
         "temperature at both ends, and brush the joints with soap solution; go near only at or below the pressure "
         "the procedure allows."),
    Rule("letting off is loud", "notice",
         lambda case, e: above(gas_of(e).test_gauge_pa, LOUD) and above(gas_of(e).bottles.free_m3, ROARS),
         lambda case, e, say: "Letting off roars: wear ear protection, tie the hose down, point it away from people."),
    Rule("rise limit guessed", "notice", lambda case, e: is_assumed(case, "test.rise_limit"),
         lambda case, e, say: f"No rise limit is given; {say(case.test.rise_limit, 'pressure_rate')} is taken. The "
         "procedure decides."),
)
"""The rules of a test with gas, heaviest first."""


def _coldest(case: Case, e: Estimate) -> float:
    known = [gas_of(e).off.wall_k, case.surroundings.temperature]
    return min(float(value) for value in known if isfinite(value))
