"""Cautions of the pump, its air, its regulator and the relief valve: a part of the one table."""

from __future__ import annotations

from math import isfinite, nan

from fillcalc.case.no_flow import no_flow
from fillcalc.case.records import AirDrivenPump, Case, HandPump
from fillcalc.cautions.rule import Rule, Say, above, can_stall_above, limit, relieved, setting_window
from fillcalc.estimation.answers import Estimate
from fillcalc.estimation.limits import relief_below
from fillcalc.job.setup import drive_gauge
from fillcalc.model.status import Status

TIRES = 0.67
"""Part of the strokes a minute that is left at test pressure, below which it is said that the person sets the pace."""


# --- what the rules ask -----------------------------------------------------------------------

def reach(estimate: Estimate, say: Say) -> str:
    """What the pump can put on the line, as a sentence."""
    highest = float(estimate.pressurise.stall_no_friction_gauge_pa)
    return f"The pump can reach {say(highest, 'pressure')}." if isfinite(highest) else "A hand pump does not stall."


def must_be_held(case: Case, estimate: Estimate, say: Say) -> str:
    """What keeps the pump under the limit: the regulator where it can be set so, else a relief valve."""
    window = setting_window(case, estimate)
    if window is not None and isfinite(window.advised) and not window.relies and _above_advised(case, window.advised):
        return f"The regulator must be set at {say(window.advised, 'pressure')}."
    return f"A relief valve must be fitted, set at {say(relief_below(limit(case, estimate)), 'pressure')} or below."


def _above_advised(case: Case, advised: float) -> bool:
    setting = _setting(case)
    return not isfinite(setting) or setting > advised


def _setting(case: Case) -> float:
    """What the regulator is set to, Pa gauge; NaN where there is none."""
    pump = case.pump
    if not isinstance(pump, AirDrivenPump) or pump.regulator_pressure is None:
        return nan
    return float(pump.regulator_pressure)


def _drive(case: Case) -> float:
    """Gauge pressure of the air that drives the running pump; NaN for other pumps."""
    return float(drive_gauge(case)) if isinstance(case.pump, AirDrivenPump) else nan


def _set_at(case: Case, estimate: Estimate, say: Say) -> str:
    """What to set the regulator to, as a sentence."""
    window = setting_window(case, estimate)
    if window is None or not isfinite(window.advised):
        return "No setting is safe: take a pump of lower ratio."
    if abs(window.advised - _setting(case)) < window.step / 2:
        return "No setting avoids that: the valve guards the vessel, so test it first."
    return f"Set it at {say(window.advised, 'pressure')}."


def _set_valve(case: Case) -> float:
    return nan if case.relief_valve is None else float(case.relief_valve.set)


def _capacity(case: Case) -> float:
    valve = case.relief_valve
    return nan if valve is None or valve.capacity is None else float(valve.capacity)


def _passes_too_little(case: Case, estimate: Estimate) -> bool:
    return bool(_capacity(case) < estimate.pressurise.relief_flow_m3_s)


def _no_setting(case: Case, estimate: Estimate) -> bool:
    """No setting that a person can set keeps the limit, and no relief valve does."""
    window = setting_window(case, estimate)
    return window is not None and bool(window.limit_of) and not isfinite(window.advised) and not relieved(
        case, estimate)


def _stroke_work(case: Case) -> float:
    """Work of one stroke of a hand pump at test pressure, J; NaN for other pumps."""
    pump = case.pump
    if not isinstance(pump, HandPump):
        return nan
    test = case.test.pressure if case.test.pressure is not None else case.test.factor_on_design * case.vessel.design
    return float(pump.stroke * test)


def _too_hard(case: Case) -> bool:
    return isinstance(case.pump, HandPump) and _stroke_work(case) >= float(case.pump.stroke_work)


def _last_rate(case: Case) -> float:
    """Strokes a second of a hand pump at test pressure that the person's power allows; NaN for other pumps."""
    return float(case.pump.power) / _stroke_work(case) if isinstance(case.pump, HandPump) else nan


# --- the rules --------------------------------------------------------------------------------

OF_THE_PUMP: tuple[Rule, ...] = (
    Rule("no regulator window", "danger", _no_setting,
         lambda case, e, say: "No regulator setting can be set safely: reaching test pressure takes "
         f"{say(setting_window(case, e).lowest, 'pressure')}, the limit is passed from "  # type: ignore[union-attr]
         f"{say(max(setting_window(case, e).passes, 0.0), 'pressure')}. A relief valve must be fitted, set at "  # type: ignore[union-attr]
         f"{say(relief_below(limit(case, e)), 'pressure')} or below, or a pump of lower ratio taken."),
    Rule("relief valve too small", "danger",
         lambda case, e: _passes_too_little(case, e) and can_stall_above(case, e),
         lambda case, e, say: f"The relief valve passes {say(_capacity(case), 'flow')}; the pump gives "
         f"{say(e.pressurise.relief_flow_m3_s, 'flow')} at {say(_set_valve(case), 'pressure')}. It must pass at least "
         "that: it does not hold the limit."),
    Rule("relief valve passes too little", "warning",
         lambda case, e: _passes_too_little(case, e) and not can_stall_above(case, e),
         lambda case, e, say: f"The relief valve passes {say(_capacity(case), 'flow')}; the pump gives "
         f"{say(e.pressurise.relief_flow_m3_s, 'flow')} at {say(_set_valve(case), 'pressure')}. Fit a larger one."),
    Rule("relief near the limit", "warning",
         lambda case, e: case.relief_valve is not None and relief_below(limit(case, e)) * (1.0 + 1e-9)
         < _set_valve(case) <= limit(case, e),
         lambda case, e, say: f"The relief valve opens at {say(_set_valve(case), 'pressure')}. Passing its full flow "
         f"it may stand a tenth higher, above the limit of {say(limit(case, e), 'pressure')}. Set it at "
         f"{say(relief_below(limit(case, e)), 'pressure')} or below."),
    Rule("setting lifts the relief valve", "warning",
         lambda case, e: isfinite(_setting(case)) and above(e.pressurise.stall_no_friction_gauge_pa, _set_valve(case)),
         lambda case, e, say: f"Set at {say(_setting(case), 'pressure')} the regulator may creep and the pump reach "
         f"{say(e.pressurise.stall_no_friction_gauge_pa, 'pressure')}: it can lift the relief valve "
         f"({say(_set_valve(case), 'pressure')}). {_set_at(case, e, say)}"),
    Rule("setting may stall", "warning",
         lambda case, e: isfinite(_setting(case)) and int(e.pressurise.status) != Status.PUMP_STALLS
         and above(setting_window(case, e).reaching, _drive(case)),  # type: ignore[union-attr]
         lambda case, e, say: f"Set at {say(_setting(case), 'pressure')} the pump may stall before test pressure; with "
         f"high friction it needs {say(setting_window(case, e).reaching, 'pressure')}. "  # type: ignore[union-attr]
         + _set_at(case, e, say)),
    Rule("regulator above the supply", "warning",
         lambda case, e: isinstance(case.pump, AirDrivenPump) and above(_setting(case), case.pump.drive_pressure),
         lambda case, e, say: f"The regulator is set at {say(_setting(case), 'pressure')}, but the supply gives "
         f"{say(_drive(case), 'pressure')} while the pump runs. More than that never reaches the pump: "
         "these answers stand on it."),
    Rule("stroke too hard", "warning", lambda case, e: _too_hard(case),
         lambda case, e, say: f"One stroke at test pressure takes {say(_stroke_work(case), 'energy')}; a person puts "
         f"{say(case.pump.stroke_work, 'energy')} into one at most. Nobody can pump this: use a plunger of "  # type: ignore[attr-defined]
         f"{say(case.pump.stroke_work / e.pressurise.test_gauge_pa, 'stroke')} a stroke or less."),  # type: ignore[attr-defined]
    Rule("only the relief valve", "caution",
         lambda case, e: can_stall_above(case, e) and relieved(case, e),
         lambda case, e, say: f"{reach(e, say)} Only the relief valve ({say(_set_valve(case), 'pressure')}) "
         f"keeps it under the limit of {say(limit(case, e), 'pressure')}. It must be tested."),
    Rule("relief capacity unknown", "caution",
         lambda case, e: case.relief_valve is not None and case.relief_valve.capacity is None
         and bool(e.pressurise.relief_flow_m3_s > 0.0),
         lambda case, e, say: f"The relief valve must pass {say(e.pressurise.relief_flow_m3_s, 'flow')} at "
         f"{say(_set_valve(case), 'pressure')}, what the pump can give. Ask for its capacity."),
    Rule("drive too low", "caution",
         lambda case, e: isinstance(case.pump, AirDrivenPump) and above(case.pump.lowest_drive, _drive(case)),
         lambda case, e, say: f"The pump gets {say(_drive(case), 'pressure')} of air. "
         f"Below {say(case.pump.lowest_drive, 'pressure')} it may not shift."),  # type: ignore[attr-defined]
    Rule("window too low", "caution",
         lambda case, e: isinstance(case.pump, AirDrivenPump) and e.regulator is not None
         and bool(e.regulator.limit_of) and above(case.pump.lowest_drive, e.regulator.highest_gauge_pa),
         lambda case, e, say: f"The regulator may stand at {say(max(e.regulator.highest_gauge_pa, 0.0), 'pressure')} "  # type: ignore[union-attr]
         "at most. At that setting the pump may not shift: take a lower ratio."),
    Rule("pump points disagree", "caution", lambda case, e: bool(e.pressurise.curve_residual > 0.05),
         lambda case, e, say: f"The pump's points miss the curve by {say(e.pressurise.curve_residual, 'share')}. "
         "Measure them again."),
    Rule("hand pump tires", "notice",
         lambda case, e: isinstance(case.pump, HandPump) and not _too_hard(case)
         and above(TIRES * case.pump.stroke_rate, _last_rate(case)),
         lambda case, e, say: f"A person keeps up {say(case.pump.power, 'power')}: at test pressure that is "  # type: ignore[attr-defined]
         f"{say(_last_rate(case), 'stroke_rate')}, and the pump-up time counts it. Take turns."),
    Rule("no-flow pressure unknown", "notice",
         lambda case, e: isinstance(case.pump, AirDrivenPump) and case.pump.no_flow_pressure is None
         and can_stall_above(case, e) and not above(_drive(case) * case.pump.ratio, limit(case, e)),
         lambda case, e, say: f"On its running air the pump stays under the limit; stalled, the air may rise to "
         f"{say(no_flow(case)[1], 'pressure')}. Read the gauge at the pump when it stalls, and give that pressure."),
)
"""The rules, in the order of the table."""
