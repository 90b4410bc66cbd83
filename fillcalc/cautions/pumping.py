"""Cautions of pumping: the readings that end it, the pump that cannot reach test pressure, its air and its water."""

from __future__ import annotations

from functools import partial
from math import ceil, nan

from fillcalc.arrays import Array
from fillcalc.case.no_flow import no_flow
from fillcalc.case.records import AirDrivenPump, Case, HandPump
from fillcalc.cautions.rule import (
    Rule,
    Say,
    above,
    can_stall_above,
    drive_pressure,
    limit,
    regulator_setting,
    setting_window,
    shows,
)
from fillcalc.estimation.answers import Caution, Estimate
from fillcalc.estimation.regulator import Window
from fillcalc.job.resolve import resolve
from fillcalc.model.status import Status
from fillcalc.questions.readings.reached import Reached, reached
from fillcalc.questions.setting import only_guarded
from fillcalc.units import show

TIRES = 0.67
"""Stroke rate at test pressure over the rate as given below which the person, not the pump, sets the pace."""
TOO_QUICK = 300.0 / 60.0
"""Strokes a second beyond any pump of this kind."""
CURVE_MISFIT = 0.05
"""Share of the flow by which measured points may miss the pump curve."""


AT_TEST = "test pressure reached"
"""Code of the caution to stop: for who stands at the pump, not for a customer nor a visit to come."""

# --- readings ---------------------------------------------------------------------------------

def _above_limit(stand: Reached, say: Say) -> str:
    return (f"A reading of {say(stand.highest_gauge_pa, 'pressure')} is above the pressure limit, "
            f"{say(stand.limit_gauge_pa, 'pressure')} ({stand.limit_of}). Stop pumping, stand clear and let the "
            "pressure down to zero. Do not pump again until a competent person has judged what was over-pressed.")


def at_test(stand: Reached, say: Say) -> str:
    """Return that pumping stops, and how far the gauge stands above or below test pressure, with what to do; up to the
    limit."""
    stop = "Test pressure is reached: stop pumping."
    if stand.above_test and not stand.above_limit:
        excess = say(stand.latest_gauge_pa - stand.test_gauge_pa, "pressure_change")
        return (f"{stop} The gauge stands {excess} above it: let it down to {say(stand.test_gauge_pa, 'pressure')} "
                "before the hold.")
    if stand.fallen and not stand.above_limit:
        lost = say(stand.test_gauge_pa - stand.latest_gauge_pa, "pressure_change")
        return (f"Test pressure was reached: stop pumping. The gauge stands {lost} below it now, at "
                f"{say(stand.latest_gauge_pa, 'pressure')}. Do not pump on before the cause is found.")
    return stop


READINGS = (
    Rule("reading above limit", "danger", lambda case, e: reached(case).above_limit,
         lambda case, e, say: _above_limit(reached(case), say)),
    Rule(AT_TEST, "warning", lambda case, e: reached(case).at_test,
         lambda case, e, say: at_test(reached(case), say), own_gear=True),
)
"""The rules of the readings: they come before all others."""


def reading_cautions(stand: Reached, units: str = "metric") -> tuple[Caution, ...]:
    """Return the cautions of the readings alone, the heaviest first; the same as among all cautions.

    `units` is metric or us.
    """
    say: Say = partial(show, units=units)
    over, test = READINGS
    return (*((Caution(over.code, over.weight, _above_limit(stand, say)),) if stand.above_limit else ()),
            *((Caution(test.code, test.weight, at_test(stand, say)),) if stand.at_test else ()))


# --- the pump ---------------------------------------------------------------------------------

def _status(estimate: Estimate, wanted: Status) -> bool:
    return int(estimate.pressurise.status) == wanted


def _stroke_work(case: Case) -> float:
    """Return the work of one stroke of a hand pump at test pressure, W = p V, J; NaN for other pumps."""
    pump = case.pump
    if not isinstance(pump, HandPump):
        return nan
    return float(pump.stroke) * case.test_gauge


def _most_work(case: Case) -> float:
    """Return the most work a person puts into one stroke of a hand pump, J; NaN for other pumps."""
    return float(case.pump.stroke_work) if isinstance(case.pump, HandPump) else nan


def _power(case: Case) -> float:
    """Return the power a person keeps up at a hand pump, W; NaN for other pumps."""
    return float(case.pump.power) if isinstance(case.pump, HandPump) else nan


def _last_rate(case: Case) -> float:
    """Return the strokes a second at test pressure that a person's power allows; NaN for other pumps."""
    return _power(case) / _stroke_work(case)


def _tires(case: Case) -> bool:
    return isinstance(case.pump, HandPump) and _stroke_work(case) < _most_work(case) and above(
        TIRES * case.pump.stroke_rate, _last_rate(case))


def _lowest_drive(case: Case) -> Array | None:
    """Return the lowest air pressure at which the pump shifts, Pa gauge; None where unknown."""
    return case.pump.lowest_drive if isinstance(case.pump, AirDrivenPump) else None


def _window(case: Case, estimate: Estimate) -> Window:
    """Return the window of regulator settings of a pump that has a regulator."""
    window = setting_window(case, estimate)
    assert window is not None
    return window


def _stroke_rate(case: Case) -> float:
    """Return the strokes a second against no pressure, as given; 0 where unknown."""
    if not isinstance(case.pump, AirDrivenPump):
        return 0.0
    pump = resolve(case).pump
    assert isinstance(pump, AirDrivenPump)
    flow = pump.points[0][1] if pump.points else pump.flow_at_zero
    return float(flow / pump.stroke) if flow and pump.stroke else 0.0


def _left_for_pump(case: Case, estimate: Estimate) -> float:
    """Return the water left in the source when the vessel is full, m3; infinite for a main."""
    if case.tap.contents is None:
        return float("inf")
    used = float(estimate.fill.water_m3 + estimate.fill.top_up_m3 + case.fill.run_to_waste)
    contents = float(case.tap.contents)
    return ceil(used / contents - 1e-9) * contents - used if used < float("inf") else float("inf")


PUMPING: tuple[Rule, ...] = (
    Rule("stroke too hard", "caution", lambda case, e: _stroke_work(case) >= _most_work(case),
         lambda case, e, say: f"One stroke at test pressure takes {say(_stroke_work(case), 'energy')}; a person can "
         f"put {say(_most_work(case), 'energy')} into one at most. Use a plunger of "
         f"{say(_most_work(case) / e.pressurise.test_gauge_pa, 'stroke')} a stroke or less."),
    Rule("regulator above the supply", "warning",
         lambda case, e: isinstance(case.pump, AirDrivenPump) and above(regulator_setting(case),
                                                                        case.pump.drive_pressure),
         lambda case, e, say: f"The regulator is set at {say(regulator_setting(case), 'pressure')}, but the supply "
         f"gives {say(drive_pressure(case), 'pressure')} while the pump runs. Turn it down to that; the estimate uses "
         "the lower."),
    Rule("pump stalls", "caution",
         lambda case, e: _status(e, Status.PUMP_STALLS) and not isinstance(case.pump, HandPump),
         lambda case, e, say: f"The pump stalls at {say(e.pressurise.stall_gauge_pa, 'pressure')}, below the test "
         f"pressure of {say(e.pressurise.test_gauge_pa, 'pressure')}. Use more drive air or a pump of higher ratio.",
         raises=True),
    Rule("leak balances", "caution", lambda case, e: _status(e, Status.LEAK_BALANCES),
         lambda case, e, say: "The assumed leak takes all the pump delivers. Test pressure is never reached."),
    Rule("starts above", "caution", lambda case, e: _status(e, Status.STARTS_ABOVE),
         lambda case, e, say: f"The {case.tap.kind} alone reaches the test pressure of "
         f"{say(e.pressurise.test_gauge_pa, 'pressure')}. Throttle the {case.tap.kind} and watch the gauge."),
    Rule("drive too low", "caution",
         lambda case, e: above(_lowest_drive(case), drive_pressure(case)),
         lambda case, e, say: f"The pump gets {say(drive_pressure(case), 'pressure')} of air. "
         f"Below {say(_lowest_drive(case), 'pressure')} it may not shift."),
    Rule("window too low", "caution",
         lambda case, e: (window := setting_window(case, e)) is not None and window.guarded,
         lambda case, e, say: only_guarded(_window(case, e), say)),
    Rule("pump runs dry", "caution",
         lambda case, e: above(e.pressurise.water_m3, _left_for_pump(case, e)),
         lambda case, e, say: f"When the vessel is full the {case.tap.kind} has "
         f"{say(_left_for_pump(case, e), 'volume')} left; pump-up takes {say(e.pressurise.water_m3, 'volume')}. "
         "Refill it first, or the pump draws air and loses its prime."),
    Rule("pump points disagree", "caution", lambda case, e: bool(e.pressurise.curve_residual > CURVE_MISFIT),
         lambda case, e, say: "The measured points miss the pump curve by "
         f"{say(e.pressurise.curve_residual, 'share')}. Measure them again."),
    Rule("pump too quick", "caution", lambda case, e: _stroke_rate(case) > TOO_QUICK,
         lambda case, e, say: f"The figures given mean {say(_stroke_rate(case), 'stroke_rate')}, faster than any such "
         "pump. Check stroke and flow."),
    Rule("hand pump tires", "notice", lambda case, e: _tires(case),
         lambda case, e, say: f"A person keeps up {say(_power(case), 'power')}: at test pressure that is "
         f"{say(_last_rate(case), 'stroke_rate')}, included in the pump-up time. Take turns."),
    Rule("air supply short", "notice",
         lambda case, e: int(e.pressurise.limited_by) == 1 and _status(e, Status.DONE),
         lambda case, e, say: "The compressor cannot keep up with the pump. The air supply sets the pump-up time."),
    Rule("no-flow pressure unknown", "notice",
         lambda case, e: isinstance(case.pump, AirDrivenPump) and case.pump.no_flow_pressure is None
         and can_stall_above(case, e) and not above(drive_pressure(case) * case.pump.ratio, limit(case, e)),
         lambda case, e, say: f"On its running air the pump stays under the limit; stalled, the air may rise to "
         f"{say(no_flow(case)[1], 'pressure')}. Read the air gauge at the stalled pump, and enter that pressure."),
    Rule("gauge shows the head", "notice",
         lambda case, e: shows(case, e, float(e.pressurise.full_gauge_pa)) and not _status(e, Status.BELOW_HEAD),
         lambda case, e, say: f"With the vessel just full and open the gauge already shows "
         f"{say(e.pressurise.full_gauge_pa, 'pressure')}. "
         + ("The release ends there." if e.pressurise.start_gauge_pa > e.pressurise.full_gauge_pa + 1e3 else
            "Pumping starts there, and the release ends there.")),
)
"""The rules of pumping, heaviest first."""
