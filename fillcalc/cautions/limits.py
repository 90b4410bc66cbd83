"""Cautions of the pressure limits: ratings, the pump's stall, the relief valve, the gauge, ends and closures."""

from __future__ import annotations

from math import isfinite, nan

from numpy import fmin

from fillcalc.case.ends import flat_end_thickness
from fillcalc.case.records import Case, HandPump, LyingCylinder, StandingCylinder
from fillcalc.cautions.advised import fit_relief, set_relief, setting_cure
from fillcalc.cautions.rule import (
    Rule,
    Say,
    above,
    can_stall_above,
    drive_pressure,
    held,
    highest_reach,
    hold_of,
    limit,
    lowest_limit,
    no_setting,
    reach,
    regulator_setting,
    relief_set,
    relieved,
    setting_window,
)
from fillcalc.estimation.answers import Estimate
from fillcalc.estimation.limits import FAR_ABOVE, far_above, ratings, relief_below
from fillcalc.estimation.regulator import Window
from fillcalc.job.resolve import resolve
from fillcalc.model.status import Status
from fillcalc.model.wall import THICK_PART, FlatEnd
from fillcalc.questions.setting import why_no_setting
from fillcalc.units import to_figures

GAUGE_RANGE = (1.5, 4.0)
"""Full scale of the gauge over the test pressure, ASME VIII-1 UG-102 (from memory; check your own copy)."""
THIN_END = 0.7
"""Thickness of a flat end, over that of UG-34, below which its stress is twice the allowable and near yield."""


def _times_test(estimate: Estimate) -> float:
    """Return the pressure the pump can reach without friction over the test pressure, to two figures; infinite for a
    hand pump."""
    pump = estimate.pressurise
    return to_figures(pump.stall_no_friction_gauge_pa / pump.test_gauge_pa)


def _lowest_hose_rating(case: Case) -> float | None:
    """Return the lowest rating among the fill hoses, Pa gauge; None where no rating was given."""
    return min((float(hose.rating) for hose in case.fill.hose if hose.rating is not None), default=None)


def _by_a_stroke(case: Case, estimate: Estimate) -> float:
    """Return the least pressure rise of a full stroke of a hand pump at test pressure, Pa; NaN if unknown.

    dp = stroke / compliance, the compliance in m3/Pa from the volume that moves the gauge by one division.
    """
    hold, pump = estimate.hold, case.pump
    if hold is None or not isinstance(pump, HandPump) or case.gauge.division is None:
        return nan
    compliance = hold.leak_per_division_m3_s * case.test.hold / case.gauge.division
    return float(pump.stroke / compliance) if isfinite(compliance) and compliance > 0.0 else nan


def _by_hand(case: Case, estimate: Estimate, say: Say) -> str:
    """Return how high one person can push a hand pump, as the end of a sentence; "" for another, or if unknown."""
    highest = float(estimate.pressurise.stall_gauge_pa)
    if not (isinstance(case.pump, HandPump) and isfinite(highest)):
        return ""
    return f"; one person can push it to {say(highest, 'pressure')}"


def _most_by_a_stroke(case: Case, estimate: Estimate) -> float:
    """Return what a full stroke at test pressure must not pass, Pa gauge: the lowest limit, and where the vessel's is
    not known so much of the test pressure that it is in danger."""
    known = limit(case, estimate)
    if case.vessel.never_above is not None:
        return known
    return float(fmin(known, FAR_ABOVE * estimate.pressurise.test_gauge_pa))


def _passed_ratings(case: Case, estimate: Estimate) -> list[tuple[str, float]]:
    return [(name, float(value)) for name, value in ratings(case) if value < estimate.pressurise.test_gauge_pa]


def _gauge_misfit(case: Case, estimate: Estimate) -> bool:
    scale, test = case.gauge.full_scale, estimate.pressurise.test_gauge_pa
    return scale is not None and bool(scale < GAUGE_RANGE[0] * test or scale > GAUGE_RANGE[1] * test)


def _capacity(case: Case) -> float:
    """Return the capacity of the relief valve, m3/s; NaN where unknown."""
    valve = case.relief_valve
    return nan if valve is None or valve.capacity is None else float(valve.capacity)


def _passes_too_little(case: Case, estimate: Estimate) -> bool:
    return bool(_capacity(case) < estimate.pressurise.relief_flow_m3_s)


def _window(case: Case, estimate: Estimate) -> Window:
    """Return the window of regulator settings of a pump that has a regulator."""
    window = setting_window(case, estimate)
    assert window is not None
    return window


def _what_holds_it(case: Case, estimate: Estimate, say: Say) -> str:
    """Return what keeps the pump under the limit: the regulator where a setting does, else a relief valve."""
    window = setting_window(case, estimate)
    if window is not None and isfinite(window.advised) and not window.relies and not (
            regulator_setting(case) <= window.advised):
        return f"Set the regulator at {say(window.advised, 'pressure')}."
    return fit_relief(case, estimate, say)


def _relief_flow(case: Case, estimate: Estimate, say: Say) -> str:
    return (f"The relief valve passes {say(_capacity(case), 'flow')}; the pump delivers "
            f"{say(estimate.pressurise.relief_flow_m3_s, 'flow')} at {say(relief_set(case), 'pressure')}.")


def _bottom_when_top(case: Case, estimate: Estimate) -> float:
    """Return the pressure at the bottom with test pressure at the top, Pa gauge."""
    hold = held(estimate)
    if hold is None:
        return 0.0
    return float(estimate.pressurise.test_gauge_pa + hold.bottom_gauge_pa - hold.top_gauge_pa)


def _top_differs(case: Case, estimate: Estimate) -> bool:
    hold = held(estimate)
    least = 0.01 * estimate.pressurise.test_gauge_pa
    return hold is not None and bool(hold.gauge_for_top_pa - estimate.pressurise.test_gauge_pa > least)


def _flat_end(case: Case) -> FlatEnd | None:
    """Return one flat end of known thickness; None for other ends."""
    vessel = resolve(case).vessel
    is_thickness = case.families.get("vessel.wall", "bore") == "bore" and not isinstance(vessel.wall, str | None)
    if not is_thickness or not isinstance(vessel, StandingCylinder | LyingCylinder) or vessel.ends != "flat" or (
            vessel.end_wall is None or isinstance(vessel.end_wall, str)):
        return None
    fixity = 1.0 if vessel.end_fixity is None else vessel.end_fixity
    return FlatEnd(vessel.diameter, vessel.end_wall, vessel.young, vessel.poisson, fixity)


def _end_thickness(case: Case) -> float:
    """Return the thickness of a flat end, m; NaN for other ends."""
    end = _flat_end(case)
    return nan if end is None else float(end.thickness)


def _bulge(case: Case, estimate: Estimate) -> float:
    """Return the bulge of a flat end at test pressure, m; zero for other ends."""
    end = _flat_end(case)
    return 0.0 if end is None else float(end.bulge(estimate.pressurise.test_gauge_pa))


def _required_end(case: Case, estimate: Estimate) -> float:
    """Return the thickness that UG-34 requires of a flat end at this test pressure, m."""
    assert isinstance(case.vessel, StandingCylinder | LyingCylinder)
    return flat_end_thickness(float(case.vessel.diameter), None, float(estimate.pressurise.test_gauge_pa))


def _end_too_thin(case: Case, estimate: Estimate) -> bool:
    thickness = _end_thickness(case)
    return isfinite(thickness) and thickness < THIN_END * _required_end(case, estimate)


RELIEF_BELOW_TEST = Rule(
    "relief below test", "caution",
    lambda case, e: above(e.pressurise.test_gauge_pa, relief_set(case)),
    lambda case, e, say: f"The relief valve opens at {say(relief_set(case), 'pressure')}, "
    f"below the test pressure of {say(e.pressurise.test_gauge_pa, 'pressure')}. {set_relief(case, e, say)}",
    raises=True)
"""Of a test with water and of one with gas."""

LIMITS: tuple[Rule, ...] = (
    Rule("test above rating", "danger", lambda case, e: bool(_passed_ratings(case, e)),
         lambda case, e, say: f"Test pressure {say(e.pressurise.test_gauge_pa, 'pressure')} is above "
         + " and ".join(f"{name} ({say(value, 'pressure')})" for name, value in _passed_ratings(case, e))
         + ". Do not pump.", stops=True),
    Rule("cast iron", "danger", lambda case, e: case.vessel.material == "cast iron",
         lambda case, e, say: "Cast iron breaks without warning. Follow its own rules, not these figures."),
    Rule("flat ends too thin", "danger", _end_too_thin,
         lambda case, e, say: f"The flat ends are {say(_end_thickness(case), 'bore')} thick; this test pressure "
         f"requires {say(_required_end(case, e), 'bore')} (UG-34, not checked against the standard). Do not pump "
         "until ends and stays are checked.", stops=True),
    Rule("one stroke passes", "danger",
         lambda case, e: e.pressurise.test_gauge_pa + _by_a_stroke(case, e) > _most_by_a_stroke(case, e),
         lambda case, e, say: "At test pressure a full stroke adds about "
         + say(to_figures(_by_a_stroke(case, e)), "pressure")
         + (f", past the pressure limit of {say(limit(case, e), 'pressure')}. "
            if e.pressurise.test_gauge_pa + _by_a_stroke(case, e) > limit(case, e) else
            ", and the vessel's pressure limit is not known. ") + "Approach test pressure in small part strokes.",
         own_gear=True),
    Rule("no regulator window", "danger", no_setting,
         lambda case, e, say: f"No regulator setting is safe: {why_no_setting(_window(case, e), say)}. "
         f"{fit_relief(case, e, say, otherwise=', or use a pump of lower ratio')}", own_gear=True),
    Rule("stall above limit", "danger",
         lambda case, e: can_stall_above(case, e) and not relieved(case, e),
         lambda case, e, say: f"{reach(case, e, say)} The pressure limit is {say(limit(case, e), 'pressure')} "
         f"({lowest_limit(case, e)[1]}). {_what_holds_it(case, e, say)}", own_gear=True),
    Rule("stall far above test", "danger",
         lambda case, e: far_above(case, e.pressurise.stall_no_friction_gauge_pa, e.pressurise.test_gauge_pa)
         and not can_stall_above(case, e),
         lambda case, e, say: f"{reach(case, e, say)} That is "
         f"{say(_times_test(e), 'ratio')} the test pressure, and no pressure limit is known. "
         f"{fit_relief(case, e, say)}", own_gear=True),
    Rule("relief above limit", "danger",
         lambda case, e: above(relief_set(case), limit(case, e)),
         lambda case, e, say: f"The relief valve opens at {say(relief_set(case), 'pressure')}, above the pressure "
         f"limit of {say(limit(case, e), 'pressure')}. {fit_relief(case, e, say)}", own_gear=True),
    Rule("relief valve too small", "danger",
         lambda case, e: _passes_too_little(case, e) and can_stall_above(case, e),
         lambda case, e, say: f"{_relief_flow(case, e, say)} It does not hold the limit. Fit a larger one.",
         own_gear=True),
    Rule("gauge high above the bottom", "danger",
         lambda case, e: held(e) is not None and above(hold_of(e).bottom_gauge_pa, limit(case, e)) and not above(
             e.pressurise.test_gauge_pa, limit(case, e)),
         lambda case, e, say: f"When the gauge shows test pressure, the bottom sees "
         f"{say(hold_of(e).bottom_gauge_pa, 'pressure')}, above the pressure limit of "
         f"{say(limit(case, e), 'pressure')}. "
         "Put the gauge at the bottom and take test pressure there."),
    Rule("bottom above limit", "danger",
         lambda case, e: above(_bottom_when_top(case, e), limit(case, e)) and not above(
             e.pressurise.test_gauge_pa, limit(case, e)),
         lambda case, e, say: "With test pressure at the top, the bottom sees "
         f"{say(_bottom_when_top(case, e), 'pressure')}, above the pressure limit of "
         f"{say(limit(case, e), 'pressure')}. Do not pump until the procedure says which level counts.", stops=True),
    Rule("fill hose below pump", "danger",
         lambda case, e: above(highest_reach(e), _lowest_hose_rating(case)),
         lambda case, e, say: f"The fill hose is rated for {say(_lowest_hose_rating(case), 'pressure')}; the pump "
         f"reaches {say(highest_reach(e), 'pressure')}. Disconnect the fill hose before pumping.", own_gear=True),
    Rule("plugs eject", "danger", lambda case, e: case.labour.closure in ("plugs", "clamps"),
         lambda case, e, say: f"The {case.labour.closure} can eject at "
         f"{say(e.pressurise.test_gauge_pa, 'pressure')}. Use {case.labour.closure} rated for it, and stand clear of "
         "their line.", own_gear=True),
    Rule("relief valve passes too little", "warning",
         lambda case, e: _passes_too_little(case, e) and not can_stall_above(case, e),
         lambda case, e, say: f"{_relief_flow(case, e, say)} Fit a larger one."),
    Rule("relief near the limit", "warning",
         lambda case, e: relief_below(limit(case, e)) * (1.0 + 1e-9) < relief_set(case) <= limit(case, e),
         lambda case, e, say: f"The relief valve opens at {say(relief_set(case), 'pressure')}. At full flow most reach "
         f"a tenth more, above the pressure limit of {say(limit(case, e), 'pressure')}. {set_relief(case, e, say)}"),
    Rule("setting lifts the relief valve", "warning",
         lambda case, e: isfinite(regulator_setting(case)) and above(e.pressurise.stall_no_friction_gauge_pa,
                                                                     relief_set(case)),
         lambda case, e, say: f"With the regulator at {say(regulator_setting(case), 'pressure')} the pump can creep to "
         f"{say(e.pressurise.stall_no_friction_gauge_pa, 'pressure')} and lift the relief valve "
         f"({say(relief_set(case), 'pressure')}). {setting_cure(case, e, say)}"),
    Rule("setting may stall", "caution",
         lambda case, e: isfinite(regulator_setting(case)) and int(e.pressurise.status) != Status.PUMP_STALLS
         and drive_pressure(case) < _window(case, e).reaching,
         lambda case, e, say: f"With the regulator at {say(regulator_setting(case), 'pressure')} the pump may stall "
         f"before test pressure; with high friction it needs {say(_window(case, e).reaching, 'pressure')}. "
         + setting_cure(case, e, say), raises=True),
    Rule("no limit given", "warning",
         lambda case, e: case.vessel.never_above is None,
         lambda case, e, say: "No pressure limit was given for the weakest part, so what the pump can do to it "
         f"cannot be judged{_by_hand(case, e, say)}. Ask for the highest pressure it may see under test."),
    Rule("only the relief valve", "warning",
         lambda case, e: can_stall_above(case, e) and relieved(case, e),
         lambda case, e, say: f"{reach(case, e, say)} Only the relief valve ({say(relief_set(case), 'pressure')}) "
         f"keeps it under the pressure limit of {say(limit(case, e), 'pressure')}. Test the valve first."),
    Rule("relief capacity unknown", "caution",
         lambda case, e: case.relief_valve is not None and case.relief_valve.capacity is None
         and bool(e.pressurise.relief_flow_m3_s > 0.0),
         lambda case, e, say: f"The pump can deliver {say(e.pressurise.relief_flow_m3_s, 'flow')} at "
         f"{say(relief_set(case), 'pressure')}. Check that the relief valve passes it."),
    Rule("no relief valve", "warning",
         lambda case, e: case.relief_valve is None and not can_stall_above(case, e),
         lambda case, e, say: f"No relief valve is given. {fit_relief(case, e, say, 'Fit and test one')}"),
    Rule("test hose not rated", "warning",
         lambda case, e: case.test_hose is not None and case.test_hose.rating is None,
         lambda case, e, say: "No rating is given for the test hose. Use one rated for at least "
         f"{say(e.pressurise.test_gauge_pa, 'pressure')}."),
    Rule("gauge range", "caution", _gauge_misfit,
         lambda case, e, say: f"The gauge reads to {say(case.gauge.full_scale, 'pressure')}. Use one that reads to "
         f"between {say(GAUGE_RANGE[0] * e.pressurise.test_gauge_pa, 'pressure')} and "
         f"{say(GAUGE_RANGE[1] * e.pressurise.test_gauge_pa, 'pressure')} (ASME UG-102; check your own copy)."),
    RELIEF_BELOW_TEST,
    Rule("test below head", "caution", lambda case, e: int(e.pressurise.status) == Status.BELOW_HEAD,
         lambda case, e, say: f"With the vessel just full the gauge shows "
         f"{say(e.pressurise.full_gauge_pa, 'pressure')}, more than the test pressure of "
         f"{say(e.pressurise.test_gauge_pa, 'pressure')}. Check gauge height and test pressure."),
    Rule("head counts", "caution", _top_differs,
         lambda case, e, say: f"For test pressure at the top, the gauge must show "
         f"{say(hold_of(e).gauge_for_top_pa, 'pressure')}; the bottom then sees "
         f"{say(_bottom_when_top(case, e), 'pressure')}.", raises=True),
    Rule("flat ends bulge", "caution",
         lambda case, e: _bulge(case, e) > THICK_PART * _end_thickness(case),
         lambda case, e, say: f"The flat ends bulge {say(_bulge(case, e), 'bore')} at test pressure, more than half "
         "of their thickness. Treat water and pump-up as rough, and check the thickness."),
)
"""The rules of the pressure limits, heaviest first."""
