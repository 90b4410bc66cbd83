"""The cautions of an estimate: one table, and the questions about unlikely figures; nothing else makes a caution.

Here are the rules of pump and limits; those of filling are in `cautions_fill` and begin the table, those of what
stands under pressure and of the site are in `cautions_after` and end it.
"""

from __future__ import annotations

from functools import partial
from math import isfinite, nan
from typing import Any

from fillcalc.case.records import Case, HandPump
from fillcalc.cautions.afterwards import AFTER
from fillcalc.cautions.fill import FILLING
from fillcalc.cautions.pump import OF_THE_PUMP, must_be_held
from fillcalc.cautions.pump import reach as _reach
from fillcalc.cautions.readings import READINGS
from fillcalc.cautions.rule import Rule, above, can_stall_above, limit, lowest_limit, relieved
from fillcalc.cautions.unusual import unusual
from fillcalc.estimation.answers import Caution, Estimate, as_written
from fillcalc.estimation.limits import far_above, ratings, relief_below
from fillcalc.model.status import Status
from fillcalc.questions.likely import likely
from fillcalc.units import show

WEIGHTS = ("danger", "warning", "caution", "notice")
"""Signal words, the heaviest first: can kill or maim; can injure or break something; spoils the job; good to know."""
MOST_AIR = 0.95 * (1 - 1e-9)
"""Share of trapped air at which a volume of it was cut to what is reckoned with."""

UNUSUAL = "unusual figure"
"""The code of the questions about figures that are legal but unlikely; one for each."""

NEARLY_SHUT = 0.4
"""Share of the pressure that the air takes when the vent, not the line, sets the fill; it hardly passes a half."""

LONG_FILL = 300.0
"""s; a shorter fill drains in minutes, however that is guessed."""

A_DAY = 86400.0
"""s; a fill or a pump-up that takes longer is more often a slip of the unit than a job."""


def cautions(case: Case, estimate: Estimate, units: str = "metric") -> tuple[Caution, ...]:
    """Every caution that the case calls for, the heaviest first, else in the order of the table.

    Whether a rule holds is asked of the run at likely values; its sentence tells the likely figures, as the report
    does. `units` (metric or us) is that of the figures in the sentences.
    """
    case, estimate = as_written(case), as_written(estimate)
    say, told = partial(_say, units=units), likely(estimate, units)
    found = [Caution(rule.code, rule.weight, rule.sentence(case, told, say))
             for rule in RULES if rule.when(case, estimate)]
    found += [Caution(UNUSUAL, "notice", sentence) for sentence in unusual(case, units)]
    return tuple(sorted(found, key=lambda caution: WEIGHTS.index(caution.weight)))


def _say(value: Any, family: str, units: str) -> str:
    return show(float(value), family, units)


# --- what the rules ask -----------------------------------------------------------------------

def _times_test(estimate: Estimate) -> float:
    """What the pump can reach without friction over the test pressure; infinite for a hand pump."""
    pump = estimate.pressurise
    return float(pump.stall_no_friction_gauge_pa / pump.test_gauge_pa)


def _lowest_hose_rating(case: Case) -> float | None:
    return min((float(hose.rating) for hose in case.fill.hose if hose.rating is not None), default=None)


def _by_a_stroke(case: Case, estimate: Estimate) -> float:
    """The least by which a full stroke of a hand pump lifts the pressure from test pressure on, Pa; NaN if unknown."""
    hold, pump = estimate.hold, case.pump
    if hold is None or not isinstance(pump, HandPump) or case.gauge.division is None:
        return nan
    compliance = hold.leak_per_division_m3_s * case.test.hold / case.gauge.division
    return float(pump.stroke / compliance) if isfinite(compliance) and compliance > 0.0 else nan


def _highest_seen(estimate: Estimate) -> float:
    """The most that the pump can put on the line, at least the test pressure; Pa gauge."""
    given = (estimate.pressurise.test_gauge_pa, estimate.pressurise.stall_no_friction_gauge_pa)
    return float(max(value for value in given if isfinite(value)))


def _passed_ratings(case: Case, estimate: Estimate) -> list[tuple[str, float]]:
    return [(name, float(value)) for name, value in ratings(case) if value < estimate.pressurise.test_gauge_pa]


def _gauge_misfit(case: Case, estimate: Estimate) -> bool:
    scale, test = case.gauge.full_scale, estimate.pressurise.test_gauge_pa
    return scale is not None and bool(scale < 1.5 * test or scale > 4 * test)


def _status(status: Any, *wanted: Status) -> bool:
    return int(status) in wanted


# --- the table --------------------------------------------------------------------------------

RULES: tuple[Rule, ...] = (
    *READINGS,
    *FILLING,
    Rule("test above rating", "danger", lambda case, e: bool(_passed_ratings(case, e)),
         lambda case, e, say: f"Test pressure {say(e.pressurise.test_gauge_pa, 'pressure')} is above "
         + " and ".join(f"{name} ({say(value, 'pressure')})" for name, value in _passed_ratings(case, e))
         + ". Do not pump."),
    Rule("one stroke passes", "danger",
         lambda case, e: isinstance(case.pump, HandPump) and above(e.pressurise.test_gauge_pa + _by_a_stroke(case, e),
                                                                   limit(case, e)),
         lambda case, e, say: f"At test pressure a full stroke adds {say(_by_a_stroke(case, e), 'pressure')}, past the "
         f"limit of {say(limit(case, e), 'pressure')}. The last must be a small part of a stroke."),
    Rule("stall above limit", "danger",
         lambda case, e: can_stall_above(case, e) and not relieved(case, e),
         lambda case, e, say: f"{_reach(e, say)} The limit is {say(limit(case, e), 'pressure')} "
         f"({lowest_limit(case, e)[1]}). {must_be_held(case, e, say)}"),
    Rule("stall far above test", "danger",
         lambda case, e: far_above(case, e.pressurise.stall_no_friction_gauge_pa, e.pressurise.test_gauge_pa)
         and not can_stall_above(case, e),
         lambda case, e, say: f"The pump can reach {say(_times_test(e), 'ratio')} the test pressure, "
         f"{say(e.pressurise.stall_no_friction_gauge_pa, 'pressure')}, and no limit is known. "
         "A relief valve must be fitted, set a tenth below the limit."),
    Rule("relief above limit", "danger",
         lambda case, e: case.relief_valve is not None and above(case.relief_valve.set, limit(case, e)),
         lambda case, e, say: f"The relief valve opens at {say(case.relief_valve.set, 'pressure')}, above the limit "  # type: ignore[union-attr]
         f"of {say(limit(case, e), 'pressure')}. It must be set at {say(relief_below(limit(case, e)), 'pressure')} or "
         "below."),
    Rule("fill hose below pump", "danger",
         lambda case, e: above(_highest_seen(e), _lowest_hose_rating(case)),
         lambda case, e, say: f"The fill hose holds {say(_lowest_hose_rating(case), 'pressure')}; the pump reaches "
         f"{say(_highest_seen(e), 'pressure')}. The fill hose must be off before pumping."),
    *OF_THE_PUMP,
    Rule("more air than room", "caution",
         lambda case, e: case.families.get("trapped_air.amount") == "volume" and bool(e.trapped_share >= MOST_AIR),
         lambda case, e, say: f"The vessel cannot hold {say(case.trapped_air.amount, 'volume')} of air: "
         f"{say(e.trapped_share, 'share')} of its volume is taken. Check the amount."),
    Rule("pump stalls", "caution",
         lambda case, e: _status(e.pressurise.status, Status.PUMP_STALLS) and not isinstance(case.pump, HandPump),
         lambda case, e, say: f"The pump stalls at {say(e.pressurise.stall_gauge_pa, 'pressure')}, below test "
         f"pressure {say(e.pressurise.test_gauge_pa, 'pressure')}. It needs more drive air or a higher ratio."),
    Rule("leak balances", "caution", lambda case, e: _status(e.pressurise.status, Status.LEAK_BALANCES),
         lambda case, e, say: "The assumed leak takes all that the pump gives. Test pressure is never reached."),
    Rule("starts above", "caution", lambda case, e: _status(e.pressurise.status, Status.STARTS_ABOVE),
         lambda case, e, say: f"The {case.tap.kind} alone reaches test pressure "
         f"{say(e.pressurise.test_gauge_pa, 'pressure')}. Throttle the {case.tap.kind}, and watch the gauge."),
    Rule("no limit given", "caution",
         lambda case, e: case.vessel.never_above is None,
         lambda case, e, say: "No limit was given for the weakest part, so the pump's stall cannot be judged. "
         "Ask for the most that the part may see at test."),
    Rule("fill hose off", "caution",
         lambda case, e: not case.fill.through_pump and not above(_highest_seen(e), _lowest_hose_rating(case)),
         lambda case, e, say: "The fill hose must be off, or shut behind a non-return valve, before pumping."),
    Rule("vent nearly shut", "caution",
         lambda case, e: bool(e.fill.shares.vent >= NEARLY_SHUT),
         lambda case, e, say: f"The vent is nearly shut: the air takes {say(e.fill.shares.vent, 'share')} of the "
         "pressure. Open it fully or take a bigger one."),
    Rule("vent small", "notice",
         lambda case, e: bool(0.1 <= e.fill.shares.vent < NEARLY_SHUT),
         lambda case, e, say: f"The vent is small: the air takes {say(e.fill.shares.vent, 'share')} of the pressure "
         f"and stands at up to {say(e.fill.air_peak_gauge_pa, 'pressure')}."),
    Rule("shut tap first", "caution",
         lambda case, e: bool(e.fill.air_peak_gauge_pa > 1e4) and not case.vent.shut,
         lambda case, e, say: f"Shut the {case.tap.kind} first, let the air down, then shut the vent. "
         "Shut the other way round, the vessel keeps several times the air."),
    Rule("takes days", "caution",
         lambda case, e: bool(e.fill.time_s > A_DAY or e.pressurise.time_s > A_DAY),
         lambda case, e, say: f"The fill takes {say(e.fill.time_s, 'duration')}. Check flow, bores, vent and volume."
         if e.fill.time_s > A_DAY else
         f"Pump-up takes {say(e.pressurise.time_s, 'duration')}. Check pump, trapped air, rise limit and volume."),
    Rule("gauge range", "caution", _gauge_misfit,
         lambda case, e, say: f"The gauge reads to {say(case.gauge.full_scale, 'pressure')}. For this test it must "
         f"read to between {say(1.5 * e.pressurise.test_gauge_pa, 'pressure')} and "
         f"{say(4 * e.pressurise.test_gauge_pa, 'pressure')} (ASME UG-102; check your own copy)."),
    Rule("relief below test", "caution",
         lambda case, e: case.relief_valve is not None
         and above(e.pressurise.test_gauge_pa, case.relief_valve.set),
         lambda case, e, say: f"The relief valve opens at {say(case.relief_valve.set, 'pressure')}, "  # type: ignore[union-attr]
         f"below test pressure {say(e.pressurise.test_gauge_pa, 'pressure')}."),
    Rule("filled through the pump", "notice", lambda case, e: case.fill.through_pump,
         lambda case, e, say: "Filling runs through the pump's own valves. A separate hose is faster above 50 L."
         if e.volume_m3 > 0.05 else "Filling runs through the pump's own valves."),
    Rule("drain guessed", "notice", lambda case, e: case.drain.bore is None and bool(e.fill.time_s > LONG_FILL),
         lambda case, e, say: "No drain bore is given, so the drain is taken as 1.3 times the fill; a wider fill hose "
         "does not drain it sooner. Give bore and fall of the drain."),
    *AFTER,
)
