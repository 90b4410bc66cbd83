"""Cautions of what stands under pressure, of draining, and of the site: the second half of the one table."""

from __future__ import annotations

from math import ceil, isfinite
from typing import Any

from fillcalc.case.records import (
    AirDrivenPump,
    Bucket,
    Case,
    HeaderTank,
    Hydrant,
    Tap,
    ValveBody,
)
from fillcalc.cautions.closed import CLOSED, held, open_shows
from fillcalc.cautions.rule import Rule, Say, above, can_stall_above, limit, relieved
from fillcalc.estimation.answers import Estimate
from fillcalc.job.resolve import resolve
from fillcalc.job.setup import metal_of, wall_of
from fillcalc.model.status import Status

DEGREES = 5.0
"""Warming that a shut-in vessel may well see while nobody looks, K; judgement."""
SHARE_OF_AIR = 0.01
"""Share of trapped air that is much whatever its energy."""
LEAST_ENERGY = 100.0
"""J of air below which nobody need be told."""
HIDDEN = 1.3
"""Leak with air over leak without for the same fall, from which it is said."""
PULL = 3e3
"""Suction that some thin tanks and jackets fold under, Pa; common practice."""
DENTS = 4.0
"""How much sooner than a perfect shell a real one folds; common practice."""
HEAVY = 500.0
"""kg of water from which the floor must be asked about."""
COLD, HOT, FROST = 280.15, 313.15, 276.15
"""K: house rules for water and metal 7 C and 40 C (S8 of the sources: 5 or 7 C, 40 or 48 C); frost from 3 C."""
SWEATS = 5.0
"""Water colder than the air by this, K, and a shell may sweat; judgement, the dew point is not known."""
FASTEST_FALL = 7e5 / 60.0
"""Pa/s; large items are let down at 2 to 7 bar/min, common practice."""
CHOKES_FROM = 5e5
"""Pa gauge from which a small valve with no back-pressure chokes (IEC 60534-2-1 with F_L 0.9)."""
TOO_QUICK = 300.0 / 60.0
"""Strokes a second that no such pump makes."""
STAINLESS = ("stainless steel", "duplex steel")
TESTED_SLOPE = 0.3927
"""rad; the speeds that clear a high point were measured up to 22.5 degrees."""


# --- what the rules ask -----------------------------------------------------------------------

def _assumed(case: Case, path: str) -> bool:
    """Whether nobody gave the input at a path."""
    return any(item.path == path for item in case.assumptions)


def _warms(case: Case, estimate: Estimate) -> bool:
    hold = held(estimate)
    return hold is not None and bool(hold.pressure_per_kelvin_pa > 0.0)


def _warm_rise(estimate: Estimate) -> float:
    hold = held(estimate)
    return DEGREES * float(hold.pressure_per_kelvin_pa) if hold else 0.0


def _warm_past_limit(case: Case, estimate: Estimate) -> bool:
    return held(estimate) is not None and not relieved(case, estimate) and above(
        estimate.pressurise.test_gauge_pa + _warm_rise(estimate), limit(case, estimate))


def _drifts(case: Case, estimate: Estimate) -> bool:
    hold = held(estimate)
    return hold is not None and above(abs(hold.drift_pa), case.gauge.division)


def _stored(estimate: Estimate) -> tuple[float, float]:
    """Energy in the trapped air, and in water and wall, J."""
    energy = estimate.energy
    if energy is None:
        return 0.0, 0.0
    return float(energy.air_j), float(energy.water_j + energy.wall_j)


def _much_air(case: Case, estimate: Estimate) -> bool:
    air, rest = _stored(estimate)
    return bool(estimate.trapped_share >= SHARE_OF_AIR or air > rest) and air > LEAST_ENERGY


def _outside(case: Case) -> float:
    return float(resolve(case).surroundings.pressure)


def _pull(case: Case, estimate: Estimate, name: str) -> float:
    """Suction inside while draining, Pa, 0 where it cannot be had."""
    drain = estimate.drain
    value = None if drain is None else getattr(drain, name)
    return _outside(case) - float(value) if value is not None and isfinite(value) else 0.0


def _folds_at(case: Case) -> float:
    """Suction at which a cylinder of known wall may fold, Pa; infinite where that is not known."""
    case = resolve(case)
    return float(case.vessel.inside().collapse(wall_of(case), metal_of(case.vessel))) / DENTS


def _folds(case: Case, estimate: Estimate) -> bool:
    return _pull(case, estimate, "vent_shut_abs_pa") > _folds_at(case)


def _top_differs(case: Case, estimate: Estimate) -> bool:
    hold = held(estimate)
    least = 0.01 * estimate.pressurise.test_gauge_pa
    return hold is not None and bool(hold.gauge_for_top_pa - estimate.pressurise.test_gauge_pa > least)


def _bottom_when_top(case: Case, estimate: Estimate) -> float:
    """Pressure at the bottom when the top sees test pressure, Pa gauge."""
    hold = held(estimate)
    if hold is None:
        return 0.0
    return float(estimate.pressurise.test_gauge_pa + hold.bottom_gauge_pa - hold.top_gauge_pa)


def _unswept(estimate: Estimate) -> list[Any]:
    return [crest for crest in estimate.sweep if not crest.swept and isfinite(crest.speed_m_s)]


def _dry_hose(case: Case) -> float:
    """Air in a test hose that was not bled, m3."""
    hose = case.test_hose
    if hose is None or case.trapped_air.test_hose != "dry":
        return 0.0
    return 0.785398 * float(hose.bore) ** 2 * float(hose.length)


def _stroke_rate(case: Case) -> float:
    """Strokes a second against no pressure, as given; 0 where it cannot be had."""
    if not isinstance(case.pump, AirDrivenPump):
        return 0.0
    pump = resolve(case).pump
    assert isinstance(pump, AirDrivenPump)
    flow = pump.points[0][1] if pump.points else pump.flow_at_zero
    return float(flow / pump.stroke) if flow and pump.stroke else 0.0


def _left_for_pump(case: Case, estimate: Estimate) -> float:
    """Water that is left in the source when the vessel is full, m3; infinite for a main."""
    if case.tap.contents is None:
        return float("inf")
    used = float(estimate.fill.water_m3 + estimate.fill.top_up_m3 + case.fill.run_to_waste)
    contents = float(case.tap.contents)
    return ceil(used / contents - 1e-9) * contents - used if isfinite(used) else float("inf")


def _crown_costs(estimate: Estimate, say: Say) -> str:
    """What pumping is saved without the air above a low vent; nothing where that cannot be had."""
    pump = estimate.pressurise
    saved = float(pump.parts.air_m3)
    if not (isfinite(saved) and isfinite(pump.water_m3) and saved > 0.0):
        return ""
    strokes = float(pump.strokes) * saved / float(pump.water_m3)
    told = f" and {say(strokes, 'strokes')} strokes" if isfinite(strokes) else ""
    return f": that saves up to {say(saved, 'volume')} of pumped water{told}"


# --- the rules --------------------------------------------------------------------------------

AFTER: tuple[Rule, ...] = (
    *CLOSED,
    Rule("bottom above limit", "danger",
         lambda case, e: above(_bottom_when_top(case, e), limit(case, e)) and not above(
             e.pressurise.test_gauge_pa, limit(case, e)),
         lambda case, e, say: f"With test pressure at the top the bottom sees "
         f"{say(_bottom_when_top(case, e), 'pressure')}, above the limit of {say(limit(case, e), 'pressure')}. "
         "The procedure must say which counts."),
    Rule("warming past limit", "danger", _warm_past_limit,
         lambda case, e, say: f"Shut in and {say(DEGREES, 'temperature_change')} warmer it reaches "
         f"{say(e.pressurise.test_gauge_pa + _warm_rise(e), 'pressure')}, above the limit of "
         f"{say(limit(case, e), 'pressure')}. It must be watched, with a relief valve on it."),
    Rule("thin vessel folds", "danger",
         _folds,
         lambda case, e, say: f"With its vent shut the drain pulls "
         f"{say(_pull(case, e, 'vent_shut_abs_pa'), 'pressure_change')} inside; this wall may fold at "
         f"{say(_folds_at(case), 'pressure_change')}. The vent must be open before the drain."),
    Rule("cast iron", "danger", lambda case, e: case.vessel.material == "cast iron",
         lambda case, e, say: "Cast iron breaks without warning. Its own rules must be followed, not these figures."),
    Rule("no relief valve", "caution",
         lambda case, e: case.relief_valve is None and not can_stall_above(case, e),
         lambda case, e, say: "No relief valve is given. One must be fitted and tested, set at or below "
         + (f"{say(limit(case, e), 'pressure')}." if isfinite(limit(case, e)) else "the limit of the weakest part.")),
    Rule("much air", "caution", _much_air,
         lambda case, e, say: f"The trapped air holds {say(_stored(e)[0], 'energy')}, water and wall "
         f"{say(_stored(e)[1], 'energy')}. Vent again before going to pressure."),
    Rule("warming", "caution", _warms,
         lambda case, e, say: f"Shut in, warming adds {say(e.hold.pressure_per_kelvin_pa, 'pressure_per_kelvin')}. "  # type: ignore[union-attr]
         "It must never be left alone, least of all in the sun."),
    Rule("drift", "notice", _drifts,
         lambda case, e, say: f"Water and surroundings differ: expect "
         f"{'a rise' if e.hold.drift_pa > 0 else 'a fall'} of about "  # type: ignore[union-attr]
         f"{say(abs(e.hold.drift_pa), 'pressure_change')} in the hold. That is no leak."),  # type: ignore[union-attr]
    Rule("air hides a leak", "notice",
         lambda case, e: held(e) is not None and bool(e.hold.hidden_by_air > HIDDEN),  # type: ignore[union-attr]
         lambda case, e, say: f"The air hides a leak: it must be {say(e.hold.hidden_by_air, 'ratio')} as "  # type: ignore[union-attr]
         "large to show the same fall."),
    Rule("prove zero", "caution", lambda case, e: e.release is not None and isfinite(e.release.time_s),
         lambda case, e, say: f"Let down to zero from {say(e.pressurise.test_gauge_pa, 'pressure')} and prove it at an "
         f"open vent.{open_shows(case, e, say)} Only then loosen. Never tighten under pressure."),
    Rule("release too fast", "caution",
         lambda case, e: case.release.kv is not None and e.release is not None and not _assumed(case, "release.kv")
         and bool(e.pressurise.test_gauge_pa / e.release.time_s > FASTEST_FALL),
         lambda case, e, say: f"Fully open, the release valve lets it down in {say(e.release.time_s, 'duration')}. "  # type: ignore[union-attr]
         f"Open it slowly: {say(2e5 / 60, 'pressure_rate')} to {say(FASTEST_FALL, 'pressure_rate')} is usual."),
    Rule("release chokes", "notice",
         lambda case, e: case.release.kv is not None and bool(e.pressurise.test_gauge_pa > CHOKES_FROM),
         lambda case, e, say: "The release valve chokes at first. Letting down takes about a tenth longer."),
    Rule("gas instead of water", "caution", lambda case, e: e.energy is not None and isfinite(e.energy.all_gas_j),
         lambda case, e, say: f"Full of gas this vessel would hold {say(e.energy.all_gas_j, 'energy')}, not "  # type: ignore[union-attr]
         f"{say(sum(_stored(e)), 'energy')}. Never blow it out or test it with air."),
    Rule("head counts", "caution", _top_differs,
         lambda case, e, say: f"For test pressure at the top the gauge must show "
         f"{say(e.hold.gauge_for_top_pa, 'pressure')}; the bottom then sees "  # type: ignore[union-attr]
         f"{say(_bottom_when_top(case, e), 'pressure')}."),
    Rule("vent before draining", "caution",
         lambda case, e: not _folds(case, e) and _pull(case, e, "vent_shut_abs_pa") > PULL,
         lambda case, e, say: f"With its vent shut the drain pulls "
         f"{say(_pull(case, e, 'vent_shut_abs_pa'), 'pressure_change')} inside. The vent must be open first."),
    Rule("vent small for the drain", "caution", lambda case, e: _pull(case, e, "lowest_abs_pa") > PULL,
         lambda case, e, say: f"Even with the vent open the drain pulls "
         f"{say(_pull(case, e, 'lowest_abs_pa'), 'pressure_change')} inside. Open a bigger vent, or drain slower."),
    Rule("vent below the top", "caution", lambda case, e: above(case.vent.below_highest_point, 0.0),
         lambda case, e, say: f"The vent sits {say(case.vent.below_highest_point, 'bore')} below the highest point. "
         f"{say(e.trapped_air_m3, 'volume')} of air cannot leave through it. Tilt it, rotate it, or bring the vent to "
         f"the top{_crown_costs(e, say)}."),
    Rule("crest keeps air", "caution", lambda case, e: bool(_unswept(e)),
         lambda case, e, say: f"Air stays in {len(_unswept(e))} of {len(e.sweep)} high points: the water runs "
         f"{say(_unswept(e)[0].speed_m_s, 'speed')}, sweeping needs "
         f"{say(max(crest.needed_m_s for crest in _unswept(e)), 'speed')}. Each needs a vent of its own."),
    Rule("steep crest", "notice",
         lambda case, e: any(above(crest.slope, TESTED_SLOPE) for crest in case.vessel.high_points()),
         lambda case, e, say: f"Sweeping speeds were measured up to {say(TESTED_SLOPE, 'angle')}. "
         "A steeper leg is a guess."),
    Rule("low legs stay full", "notice", lambda case, e: bool(case.vessel.high_points()),
         lambda case, e, say: "The low legs beside the high points do not drain by the port. Give each its own drain."),
    Rule("dry test hose", "caution", lambda case, e: _dry_hose(case) > 0.0,
         lambda case, e, say: f"The dry test hose holds {say(_dry_hose(case), 'volume')} of air. Bleed it first."),
    Rule("valve half open", "notice", lambda case, e: isinstance(case.vessel, ValveBody),
         lambda case, e, say: "The valve must stand half open, or its cavity stays full of air."),
    Rule("heavy", "caution", lambda case, e: above(e.fill.water_kg, HEAVY),
         lambda case, e, say: f"The water weighs {say(e.fill.water_kg, 'mass')}, the metal comes on top. "
         "Floor, saddles and supports must carry it."),
    Rule("pump runs dry", "caution",
         lambda case, e: above(e.pressurise.water_m3, _left_for_pump(case, e)),
         lambda case, e, say: f"When the vessel is full the {case.tap.kind} has "
         f"{say(_left_for_pump(case, e), 'volume')} left; the pump takes {say(e.pressurise.water_m3, 'volume')}. "
         "It sucks air and loses its prime."),
    Rule("air supply short", "notice",
         lambda case, e: int(e.pressurise.limited_by) == 1 and int(e.pressurise.status) == Status.DONE,
         lambda case, e, say: "The compressor cannot keep up with the pump. It sets the time."),
    Rule("pump too quick", "caution", lambda case, e: _stroke_rate(case) > TOO_QUICK,
         lambda case, e, say: f"As given the pump makes {say(_stroke_rate(case), 'stroke_rate')}. No such pump does: "
         "check stroke and flow."),
    Rule("test hose not rated", "caution",
         lambda case, e: case.test_hose is not None and case.test_hose.rating is None,
         lambda case, e, say: f"The test hose has no rating given. It must be rated for at least "
         f"{say(e.pressurise.test_gauge_pa, 'pressure')}."),
    Rule("plugs eject", "caution", lambda case, e: case.labour.closure in ("plugs", "clamps"),
         lambda case, e, say: f"The {case.labour.closure} must be rated for "
         f"{say(e.pressurise.test_gauge_pa, 'pressure')}. Stand out of their line, and of the hose's."),
    Rule("cold metal", "caution",
         lambda case, e: above(COLD, case.water.temperature) or above(COLD, case.surroundings.temperature),
         lambda case, e, say: f"Water or metal is below {say(COLD, 'temperature')} (a house rule). Cold steel is "
         "brittle: check the lowest metal temperature."),
    Rule("frost", "caution", lambda case, e: above(FROST, case.surroundings.temperature),
         lambda case, e, say: "Frost: drain every low leg, or it bursts."),
    Rule("scald", "caution", lambda case, e: above(case.water.temperature, HOT),
         lambda case, e, say: f"The water is above {say(HOT, 'temperature')}: it scalds. "
         "UG-99 and others limit it (40 or 48 °C; check your own copy)."),
    Rule("sweating", "notice",
         lambda case, e: above(case.surroundings.temperature - case.water.temperature, SWEATS),
         lambda case, e, say: "The water is "
         f"{say(case.surroundings.temperature - case.water.temperature, 'temperature_change')} "
         "colder than the air. The shell may sweat and hide leaks: wait until it is dry."),
    Rule("chlorides", "caution", lambda case, e: case.vessel.material in STAINLESS,
         lambda case, e, say: "Chloride in the water harms stainless steel. The limits disagree: 30 ppm "
         "(API 6D, second-hand), 50 (API 650) or 100 (API 598, ISO 5208; neither checked). Check your own copy."),
    Rule("back-flow", "caution",
         lambda case, e: isinstance(case.tap, Tap | Hydrant) and not isinstance(case.tap, HeaderTank | Bucket),
         lambda case, e, say: f"Vessel water must never return to the {case.tap.kind}: a break tank, or the local "
         "back-flow rule."),
    Rule("nitrogen", "notice", lambda case, e: isinstance(case.pump, AirDrivenPump) and case.air_supply is None,
         lambda case, e, say: "If bottled nitrogen drives the pump, its exhaust must go outside: it takes the oxygen. "
         "Wear ear protection."),
)
"""The rules, in the order of the table."""
