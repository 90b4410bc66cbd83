"""Cautions of the hold: warming of the closed vessel, trapped air, and changes of pressure that are no leak."""

from __future__ import annotations

from fillcalc.case.records import Case
from fillcalc.cautions.rule import Rule, Say, above, held, hold_of, limit, relieved, shows
from fillcalc.estimation.answers import Estimate
from fillcalc.model.energy import is_much

WARMING = 5.0
"""Warming that a closed vessel may well see while nobody looks, K; judgement."""
MUCH_RISE = 0.05
"""Rise of pressure with that warming, over the test pressure, from which this case is named; judgement."""
PLAINLY = 0.5
"""Part of the drop while the air cools that the gauge must show for it to be worth saying; judgement."""
HIDDEN = 1.3
"""Leak with the air over leak without for the same drop from which it is worth saying; judgement."""


def _warm_rise(estimate: Estimate) -> float:
    """Return the rise of pressure of the closed vessel with `WARMING`, Pa; 0 without a hold."""
    hold = held(estimate)
    return WARMING * float(hold.pressure_per_kelvin_pa) if hold else 0.0


def _warm_past_limit(case: Case, estimate: Estimate) -> bool:
    return held(estimate) is not None and not relieved(case, estimate) and above(
        estimate.pressurise.test_gauge_pa + _warm_rise(estimate), limit(case, estimate))


def _sun_rise(estimate: Estimate) -> float:
    """Return the rise of pressure in ten minutes of full sun on dark metal, Pa; 0 without a hold."""
    hold = held(estimate)
    return float(hold.sun_high_pa) if hold else 0.0


def _warms(case: Case, estimate: Estimate) -> bool:
    return _warm_rise(estimate) > MUCH_RISE * float(estimate.pressurise.test_gauge_pa) or shows(
        case, estimate, _sun_rise(estimate))


def _sun(case: Case, estimate: Estimate, say: Say) -> str:
    """Return a sentence on the sun, with a space before it; "" where the gauge does not show it."""
    if not shows(case, estimate, _sun_rise(estimate)):
        return ""
    return f" Ten minutes of full sun can add {say(_sun_rise(estimate), 'pressure_change')}: shade it."


def _solution(estimate: Estimate) -> float:
    """Return the drop of pressure if trapped air dissolves during the hold, Pa; 0 without a hold."""
    hold = held(estimate)
    return float(hold.solution_pa) if hold else 0.0


def _cooled(estimate: Estimate) -> float:
    """Return the drop of pressure while the trapped air cools, Pa; 0 without a settle."""
    return float(estimate.settle.drop_air_pa) if estimate.settle else 0.0


def _drifts(case: Case, estimate: Estimate) -> bool:
    hold = held(estimate)
    return hold is not None and above(abs(hold.drift_pa), case.gauge.division)


def _stored(estimate: Estimate) -> tuple[float, float]:
    """Return the energy in the trapped air, and that in water and wall, J."""
    energy = estimate.energy
    if energy is None:
        return 0.0, 0.0
    return float(energy.air_j), float(energy.water_j + energy.wall_j)


def _much_air(case: Case, estimate: Estimate) -> bool:
    return is_much(float(estimate.trapped_share), *_stored(estimate))


HOLDING: tuple[Rule, ...] = (
    Rule("warming past limit", "danger", _warm_past_limit,
         lambda case, e, say: f"Warmed by {say(WARMING, 'temperature_change')}, the closed vessel reaches "
         f"{say(e.pressurise.test_gauge_pa + _warm_rise(e), 'pressure')}, above the pressure limit of "
         f"{say(limit(case, e), 'pressure')}. Fit a relief valve and never leave the vessel unattended."
         f"{_sun(case, e, say)}"),
    Rule("warming", "warning", lambda case, e: _warms(case, e) and not _warm_past_limit(case, e),
         lambda case, e, say: f"Warming adds {say(hold_of(e).pressure_per_kelvin_pa, 'pressure_per_kelvin')}. "
         f"Never leave the closed vessel unattended, least of all in the sun.{_sun(case, e, say)}"),
    Rule("much air", "warning", _much_air,
         lambda case, e, say: f"The trapped air stores {say(_stored(e)[0], 'energy')}, water and wall "
         f"{say(_stored(e)[1], 'energy')}. Vent again before pumping to test pressure."),
    Rule("drift", "notice", _drifts,
         lambda case, e, say: f"Water and surroundings differ in temperature: expect a "
         f"{'rise' if hold_of(e).drift_pa > 0 else 'drop'} of about {say(abs(hold_of(e).drift_pa), 'pressure_change')} "
         "in the hold. That much need not be a leak: read the temperature at both ends."),
    Rule("air cools", "notice", lambda case, e: shows(case, e, PLAINLY * _cooled(e)),
         lambda case, e, say: "While the squeezed air cools the gauge falls by up to "
         f"{say(_cooled(e), 'pressure_change')}. That need not be a leak: wait, then pump up again before the hold."),
    Rule("air dissolves", "notice", lambda case, e: shows(case, e, _solution(e)),
         lambda case, e, say: f"Up to {say(_solution(e), 'pressure_change')} of a drop in the hold may be trapped air "
         "that dissolves. Hold longer to tell: its drop slows down, a leak's does not."),
    Rule("air hides a leak", "notice",
         lambda case, e: held(e) is not None and bool(hold_of(e).hidden_by_air > HIDDEN),
         lambda case, e, say: f"With this air, a leak must be {say(hold_of(e).hidden_by_air, 'number')} times larger "
         "to show the same drop."),
)
"""The rules of the hold, heaviest first."""
