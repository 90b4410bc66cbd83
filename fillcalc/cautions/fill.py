"""Cautions of what filling can do to a vessel: the first of the one table."""

from __future__ import annotations

from math import isfinite

from fillcalc.case.records import CONTAINERS, Case, HeaderTank
from fillcalc.cautions.rule import Rule, Say, above
from fillcalc.estimation.answers import Estimate
from fillcalc.estimation.fill_limits import (
    FillPressures,
    fill_pressures,
    passes_limit,
    peak_of,
    runs_out_open,
    slow_enough,
    surge_peak,
    too_low,
    wide_enough,
)
from fillcalc.model.status import Status


def _limit(told: FillPressures, say: Say) -> str:
    return (f"the limit of {say(told.limit, 'pressure')}" if told.is_known else
            f"the test pressure of {say(told.limit, 'pressure')} (no limit is known)")


def _source_passes(case: Case) -> bool:
    told = fill_pressures(case)
    return told.static > told.limit


def _water_passes(told: FillPressures) -> bool:
    return told.is_known and told.water_alone > told.limit


def _relieved(case: Case) -> bool:
    return case.relief_valve is not None and bool(case.relief_valve.set <= fill_pressures(case).limit)


def _way_out(case: Case, say: Say) -> str:
    """The vent or the flow that keeps the air down."""
    bore, flow = wide_enough(case), slow_enough(case)
    ways = [f"Open a vent of {say(bore, 'bore')} or wider."] if isfinite(bore) else []
    if isfinite(flow):
        ways.append(f"{'Or throttle' if ways else 'Throttle'} the {case.tap.kind} to {say(flow, 'flow')}, measured at "
                    "the vessel end of the hose.")
    return " ".join(ways) if ways else f"Take a weaker source than this {case.tap.kind}."


def _surge(case: Case, estimate: Estimate) -> float:
    return surge_peak(case, float(estimate.fill.flow_end_m3_s))


def _no_flow(case: Case, estimate: Estimate) -> bool:
    return int(estimate.fill.status) == Status.HEAD_TOO_HIGH and float(estimate.fill.water_m3) == 0.0


def _stands_level(case: Case, estimate: Estimate) -> bool:
    """The fill stands still, and the source is a container whose level fell."""
    return (int(estimate.fill.status) == Status.HEAD_TOO_HIGH and not _no_flow(case, estimate)
            and case.tap.contents is not None and isinstance(case.tap, CONTAINERS))


def _too_low(case: Case, say: Say) -> str:
    if isinstance(case.tap, HeaderTank):
        return f"No water flows: the {case.tap.kind} stands {say(too_low(case), 'length')} too low. Raise it."
    return (f"No water flows: the {case.tap.kind} is {say(too_low(case), 'length')} of water short of the height. "
            "Take a stronger one.")


def _not_full(case: Case, estimate: Estimate) -> bool:
    tap = case.tap
    if isinstance(tap, HeaderTank) or case.fill.measured_flow is not None or not above(tap.height, 0.0):
        return False
    return bool(estimate.fill.flow_start_m3_s >= (1.0 - 1e-9) * runs_out_open(case))


FILLING: tuple[Rule, ...] = (
    Rule("water alone above limit", "danger",
         lambda case, e: _water_passes(fill_pressures(case)),
         lambda case, e, say: "Full and open at the top, the bottom sees "
         f"{say(fill_pressures(case).water_alone, 'pressure')} of water, above {_limit(fill_pressures(case), say)}. "
         "Do not fill it before that is settled."),
    Rule("shut vent above limit", "danger", lambda case, e: case.vent.shut and _source_passes(case),
         lambda case, e, say: f"With its vent shut the {case.tap.kind} brings the vessel to "
         f"{say(fill_pressures(case).static, 'pressure')}, above {_limit(fill_pressures(case), say)}. "
         "Do not fill it before a vent is open."),
    Rule("fill air above limit", "danger", lambda case, e: passes_limit(case),
         lambda case, e, say: f"While it fills behind this vent the vessel can see {say(peak_of(case), 'pressure')}, "
         f"above {_limit(fill_pressures(case), say)}. Do not fill it so. {_way_out(case, say)}"),
    Rule("source above limit", "danger", lambda case, e: _source_passes(case) and not _relieved(case),
         lambda case, e, say: f"Left on with everything shut, the {case.tap.kind} can put "
         f"{say(fill_pressures(case).static, 'pressure')} on the full vessel, above "
         f"{_limit(fill_pressures(case), say)}. "
         f"Do not shut the vent before the {case.tap.kind} is shut and its hose is off. Stay at the {case.tap.kind} "
         "while it fills. Fit a pressure reducer or a relief valve set below that."),
    Rule("relief against source", "warning", lambda case, e: _source_passes(case) and _relieved(case),
         lambda case, e, say: f"Only the relief valve ({say(case.relief_valve.set, 'pressure')}) "  # type: ignore[union-attr]
         f"keeps the {case.tap.kind}'s {say(fill_pressures(case).static, 'pressure')} below "
         f"{_limit(fill_pressures(case), say)}. Fit it before filling, and see that it passes "
         f"{say(e.fill.flow_start_m3_s, 'flow')} of water."),
    Rule("water hammer", "caution",
         lambda case, e: not _source_passes(case) and _surge(case, e) > fill_pressures(case).limit,
         lambda case, e, say: "When the last air leaves, the water stops short: the surge can reach "
         f"{say(_surge(case, e), 'pressure')}, above {_limit(fill_pressures(case), say)}. "
         f"Throttle the {case.tap.kind} before the water comes."),
    Rule("air shut in", "caution", lambda case, e: int(e.fill.status) == Status.AIR_SHUT_IN,
         lambda case, e, say: "The fill never finishes: the air cannot get out. "
         f"The water stops at {say(e.fill.level_m, 'length')}, {say(e.fill.filled_share, 'share')} full. "
         "Open a vent at the highest point."),
    Rule("no water flows", "caution", _no_flow, lambda case, e, say: _too_low(case, say)),
    Rule("container level with vessel", "caution", _stands_level,
         lambda case, e, say: f"The fill never finishes: the {case.tap.kind} has emptied to the vessel's level. The "
         f"water stops at {say(e.fill.level_m, 'length')}, {say(e.fill.filled_share, 'share')} full. "
         f"Raise the {case.tap.kind}, or change it sooner."),
    Rule("head too high", "caution",
         lambda case, e: int(e.fill.status) == Status.HEAD_TOO_HIGH and not _no_flow(case, e)
         and not _stands_level(case, e),
         lambda case, e, say: f"The fill never finishes: the {case.tap.kind} is too weak for the height. "
         f"The water stops at {say(e.fill.level_m, 'length')}, {say(e.fill.filled_share, 'share')} full."),
    Rule("hose not full", "caution", _not_full,
         lambda case, e, say: f"The hose falls {say(case.tap.height, 'length')} and would draw more than the "
         f"{case.tap.kind} gives. It passes {say(runs_out_open(case), 'flow')} at most, does not run full, and may "
         f"collapse. Throttle it at the vessel end."),
    Rule("source runs out", "caution",
         lambda case, e: above(e.fill.change_overs, 0.0),
         lambda case, e, say: f"The {case.tap.kind} holds {say(case.tap.contents, 'volume')}; a fill and its pump-up "
         f"take {say(e.fill.given_m3, 'volume')}. "
         f"Change-overs: {say(e.fill.change_overs, 'count')}, {say(e.fill.change_over_s, 'duration')} in all, "
         "which the fill time holds."),
)
"""The rules, in the order of the table."""
