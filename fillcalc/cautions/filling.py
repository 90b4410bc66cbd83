"""Cautions of filling and venting: pressure while filling, a fill that cannot finish, air that stays inside."""

from __future__ import annotations

from math import isfinite, nan

from fillcalc.case.records import (
    CONTAINERS,
    Bucket,
    Case,
    HeaderTank,
    Hydrant,
    PipeRun,
    Tap,
    ValveBody,
)
from fillcalc.cautions.advised import relief_setting
from fillcalc.cautions.rule import Rule, Say, above, relief_set
from fillcalc.estimation.answers import Estimate, FillPressures, Sweep
from fillcalc.estimation.fill_limits import (
    passes_limit,
    peak_of,
    runs_out_open,
    slow_enough,
    surge_peak,
    too_low,
    wide_enough,
)
from fillcalc.estimation.limits import relief_protects
from fillcalc.model.status import Status

MOST_AIR = 0.95 * (1 - 1e-9)
"""Trapped share from which a given volume of air was cut to the most the model takes."""
NEARLY_SHUT = 0.4
"""Share of the driving pressure spent on the air from which the vent, not the line, sets the fill; it seldom passes
a half."""
VENT_SMALL = 0.1
"""Share of the driving pressure spent on the air from which a vent is called small; judgement."""
AIR_PEAK = 1e4
"""Air pressure at the end of the fill, Pa gauge, from which the order of closing tap and vent matters; judgement."""
A_DAY = 86400.0
"""s; a longer fill or pump-up is more often a mistyped unit than a job."""
TESTED_SLOPE = 0.3927
"""rad; the speeds that clear a high point were measured up to 22.5 degrees."""
SEPARATE_HOSE_FROM = 0.05
"""m3 from which a separate fill hose is worth connecting; judgement."""


def _pressures(estimate: Estimate) -> FillPressures:
    """Return what filling can put on the vessel, which is there in every test with water."""
    assert estimate.fill_pressures is not None
    return estimate.fill_pressures


def _limit(estimate: Estimate, say: Say) -> str:
    found = _pressures(estimate)
    return (f"the pressure limit of {say(found.limit_gauge_pa, 'pressure')}" if found.limit_is_known else
            f"the test pressure of {say(found.limit_gauge_pa, 'pressure')} (no limit is known)")


def _source_passes(estimate: Estimate) -> bool:
    return _pressures(estimate).source_gauge_pa > _pressures(estimate).limit_gauge_pa


def _water_passes(estimate: Estimate) -> bool:
    found = _pressures(estimate)
    return found.limit_is_known and found.water_alone_gauge_pa > found.limit_gauge_pa


def _relieved(case: Case, estimate: Estimate) -> bool:
    limit = _pressures(estimate).limit_gauge_pa
    if not _pressures(estimate).limit_is_known:
        return case.relief_valve is not None and bool(case.relief_valve.set <= limit)
    return relief_protects(case, limit, nan)


def _way_out(case: Case, say: Say) -> str:
    """Return what keeps the air pressure down: a wider vent, a smaller flow or a weaker source."""
    bore, flow = wide_enough(case), slow_enough(case)
    ways = [f"Open a vent of {say(bore, 'bore')} or wider."] if isfinite(bore) else []
    if isfinite(flow):
        ways.append(f"{'Or throttle' if ways else 'Throttle'} the {case.tap.kind} to {say(flow, 'flow')}, measured at "
                    "the vessel end of the hose.")
    return " ".join(ways) if ways else f"Use a weaker source than this {case.tap.kind}."


def _surge(case: Case, estimate: Estimate) -> float:
    return surge_peak(case, float(estimate.fill.flow_end_m3_s))


def _no_flow(case: Case, estimate: Estimate) -> bool:
    return int(estimate.fill.status) == Status.HEAD_TOO_HIGH and float(estimate.fill.water_m3) == 0.0


def _stands_level(case: Case, estimate: Estimate) -> bool:
    """Return whether the fill stops because the level of its container fell."""
    return (int(estimate.fill.status) == Status.HEAD_TOO_HIGH and not _no_flow(case, estimate)
            and case.tap.contents is not None and isinstance(case.tap, CONTAINERS))


def _too_low(case: Case, say: Say) -> str:
    if isinstance(case.tap, HeaderTank):
        return f"No water flows: the {case.tap.kind} stands {say(too_low(case), 'length')} too low. Raise it."
    return (f"No water flows: the {case.tap.kind} lacks {say(too_low(case), 'length')} of head to reach the vessel. "
            "Use a stronger one.")


def _not_full(case: Case, estimate: Estimate) -> bool:
    tap = case.tap
    if isinstance(tap, HeaderTank) or case.fill.measured_flow is not None or not above(tap.height, 0.0):
        return False
    return bool(estimate.fill.flow_start_m3_s >= (1.0 - 1e-9) * runs_out_open(case))


def _stops_at(estimate: Estimate, say: Say) -> str:
    level, share = say(estimate.fill.level_m, "length"), say(estimate.fill.filled_share, "share")
    return f"The water stops at {level}, {share} full."


def _mains(case: Case) -> bool:
    """Return whether the water comes from a drinking-water main."""
    return isinstance(case.tap, Tap | Hydrant) and not isinstance(case.tap, HeaderTank | Bucket)


def _unswept(estimate: Estimate) -> list[Sweep]:
    return [crest for crest in estimate.sweep if not crest.swept and isfinite(crest.speed_m_s)]


def _dry_hose(case: Case) -> float:
    """Return the air in a test hose that was not bled, m3."""
    hose = case.test_hose
    if hose is None or case.trapped_air.test_hose != "dry":
        return 0.0
    return 0.785398 * float(hose.bore) ** 2 * float(hose.length)


def _crown_costs(estimate: Estimate, say: Say) -> str:
    """Return what removing the air above a low vent saves, as the end of a sentence; "" where that is unknown."""
    pump = estimate.pressurise
    saved = float(pump.parts.air_m3)
    if not (isfinite(saved) and isfinite(pump.water_m3) and saved > 0.0):
        return ""
    strokes = float(pump.strokes) * saved / float(pump.water_m3)
    counted = f" and {say(strokes, 'strokes')} strokes" if isfinite(strokes) else ""
    return f": that saves up to {say(saved, 'volume')} of pumped water{counted}"


FILLING: tuple[Rule, ...] = (
    Rule("water alone above limit", "danger",
         lambda case, e: _water_passes(e),
         lambda case, e, say: "Full and open at the top, the water alone puts "
         f"{say(_pressures(e).water_alone_gauge_pa, 'pressure')} on the bottom, above "
         f"{_limit(e, say)}. Do not fill it until this is resolved.", stops=True),
    Rule("shut vent above limit", "danger", lambda case, e: case.vent.shut and _source_passes(e),
         lambda case, e, say: f"With the vent closed, the {case.tap.kind} brings the vessel to "
         f"{say(_pressures(e).source_gauge_pa, 'pressure')}, above {_limit(e, say)}. "
         "Do not fill it until a vent is open."),
    Rule("fill air above limit", "danger", lambda case, e: passes_limit(case, _pressures(e)),
         lambda case, e, say: f"While filling through this vent the vessel can see {say(peak_of(case), 'pressure')}, "
         f"above {_limit(e, say)}. Do not fill it like this. {_way_out(case, say)}"),
    Rule("source above limit", "danger", lambda case, e: _source_passes(e) and not _relieved(case, e),
         lambda case, e, say: f"Left open with every valve closed, the {case.tap.kind} can put "
         f"{say(_pressures(e).source_gauge_pa, 'pressure')} on the full vessel, above "
         f"{_limit(e, say)}. "
         f"Close the {case.tap.kind} and disconnect its hose before closing the vent. Stay at the {case.tap.kind} "
         f"while it fills. Fit a pressure reducer or a relief valve {relief_setting(case, e, say)}."),
    Rule("relief against source", "warning", lambda case, e: _source_passes(e) and _relieved(case, e),
         lambda case, e, say: f"Only the relief valve ({say(relief_set(case), 'pressure')}) "
         f"keeps the {case.tap.kind}'s {say(_pressures(e).source_gauge_pa, 'pressure')} below "
         f"{_limit(e, say)}. Fit it before filling, and check that it passes "
         f"{say(e.fill.flow_start_m3_s, 'flow')} of water."),
    Rule("water hammer", "warning",
         lambda case, e: not _source_passes(e) and _surge(case, e) > _pressures(e).limit_gauge_pa,
         lambda case, e, say: "When the last air leaves, the water stops abruptly: the surge can reach "
         f"{say(_surge(case, e), 'pressure')}, above {_limit(e, say)}. "
         f"Throttle the {case.tap.kind} before water reaches the vent."),
    Rule("hose left on", "warning",
         lambda case, e: case.test.start_pressure == "tap" and not case.fill.through_pump and _mains(case),
         lambda case, e, say: f"Pumping starts from the pressure of the {case.tap.kind}, its hose connected: only the "
         f"valve in it keeps {say(e.pressurise.test_gauge_pa, 'pressure')} from the {case.tap.kind}. "
         "Disconnect it, or fit what the local back-flow rule requires."),
    Rule("back-flow", "warning", lambda case, e: case.fill.through_pump and _mains(case),
         lambda case, e, say: f"Only the pump's own valves stand between {say(e.pressurise.test_gauge_pa, 'pressure')} "
         f"and the {case.tap.kind}. Feed the pump from a break tank, or fit what the local back-flow rule requires."),
    Rule("air shut in", "caution", lambda case, e: int(e.fill.status) == Status.AIR_SHUT_IN,
         lambda case, e, say: f"The fill never finishes: the air cannot get out. {_stops_at(e, say)} "
         "Open a vent at the highest point."),
    Rule("no water flows", "caution", _no_flow, lambda case, e, say: _too_low(case, say)),
    Rule("container level with vessel", "caution", _stands_level,
         lambda case, e, say: f"The fill never finishes: the {case.tap.kind} has drained to the vessel's level. "
         f"{_stops_at(e, say)} Raise the {case.tap.kind}, or change it sooner."),
    Rule("head too high", "caution",
         lambda case, e: int(e.fill.status) == Status.HEAD_TOO_HIGH and not _no_flow(case, e)
         and not _stands_level(case, e),
         lambda case, e, say: f"The fill never finishes: the {case.tap.kind} is too weak for the height. "
         f"{_stops_at(e, say)} Use a stronger one."),
    Rule("hose not full", "caution", _not_full,
         lambda case, e, say: f"The hose drops {say(case.tap.height, 'length')} and would draw more than the "
         f"{case.tap.kind} gives. It passes {say(runs_out_open(case), 'flow')} at most, does not run full, and may "
         "collapse. Throttle it at the vessel end."),
    Rule("vent nearly shut", "caution",
         lambda case, e: bool(e.fill.shares.vent >= NEARLY_SHUT),
         lambda case, e, say: f"The vent takes {say(e.fill.shares.vent, 'share')} of the driving pressure. "
         "Open it fully or fit a larger one."),
    Rule("shut tap first", "caution",
         lambda case, e: bool(e.fill.air_peak_gauge_pa > AIR_PEAK) and not case.vent.shut,
         lambda case, e, say: f"Close the {case.tap.kind} first, let the air out, then close the vent. "
         "In the other order several times as much air stays inside."),
    Rule("vent below the top", "caution", lambda case, e: above(case.vent.below_highest_point, 0.0),
         lambda case, e, say: f"The vent sits {say(case.vent.below_highest_point, 'bore')} below the highest point and "
         f"leaves {say(e.trapped_air_m3, 'volume')} of air inside. Tilt or rotate the vessel, or move the vent to "
         f"the top{_crown_costs(e, say)}."),
    Rule("crest keeps air", "caution", lambda case, e: bool(_unswept(e)),
         lambda case, e, say: f"Air stays in {len(_unswept(e))} of {len(e.sweep)} high points: the water runs at "
         f"{say(_unswept(e)[0].speed_m_s, 'speed')}, sweeping needs "
         f"{say(max(crest.needed_m_s for crest in _unswept(e)), 'speed')}. Vent each of them."),
    Rule("dry test hose", "caution", lambda case, e: _dry_hose(case) > 0.0,
         lambda case, e, say: f"The dry test hose holds {say(_dry_hose(case), 'volume')} of air. "
         "Bleed it before connecting."),
    Rule("more air than room", "caution",
         lambda case, e: case.families.get("trapped_air.amount") == "volume" and bool(e.trapped_share >= MOST_AIR),
         lambda case, e, say: f"The vessel cannot hold {say(case.trapped_air.amount, 'volume')} of air; the estimate "
         f"uses {say(e.trapped_share, 'share')} of its volume. Check the amount."),
    Rule("takes days", "caution",
         lambda case, e: bool(e.fill.time_s > A_DAY or e.pressurise.time_s > A_DAY),
         lambda case, e, say: f"Filling takes {say(e.fill.time_s, 'duration')}. Check flow, bores, vent and volume."
         if e.fill.time_s > A_DAY else
         f"Pump-up takes {say(e.pressurise.time_s, 'duration')}. Check pump, trapped air, rise limit and volume."),
    Rule("source runs out", "notice",
         lambda case, e: above(e.fill.change_overs, 0.0),
         lambda case, e, say: f"The {case.tap.kind} holds {say(case.tap.contents, 'volume')}; a fill and its pump-up "
         f"take {say(e.fill.given_m3, 'volume')}. Change-overs: {say(e.fill.change_overs, 'count')}, "
         f"{say(e.fill.change_over_s, 'duration')} in all, included in the fill time."),
    Rule("vent small", "notice",
         lambda case, e: bool(VENT_SMALL <= e.fill.shares.vent < NEARLY_SHUT),
         lambda case, e, say: f"The vent is small: it takes {say(e.fill.shares.vent, 'share')} of the driving "
         f"pressure, and the air inside reaches {say(e.fill.air_peak_gauge_pa, 'pressure')}."),
    Rule("filled through the pump", "notice", lambda case, e: case.fill.through_pump,
         lambda case, e, say: "Filling runs through the pump's own valves."
         + (f" From {say(SEPARATE_HOSE_FROM, 'volume')} up, a separate hose is faster."
            if e.volume_m3 > SEPARATE_HOSE_FROM else "")),
    Rule("valve half open", "notice", lambda case, e: isinstance(case.vessel, ValveBody),
         lambda case, e, say: "Keep the valve half open, or its body cavity stays full of air."),
    Rule("steep crest", "notice",
         lambda case, e: isinstance(case.vessel, PipeRun)
         and any(above(crest.slope, TESTED_SLOPE) for crest in case.vessel.crest),
         lambda case, e, say: f"Sweeping speeds were measured on slopes up to {say(TESTED_SLOPE, 'angle')}. "
         "For a steeper leg they are a guess."),
)
"""The rules of filling, heaviest first."""
