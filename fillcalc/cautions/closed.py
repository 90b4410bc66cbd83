"""Cautions of the closed vessel: where the gauge stands, flat ends, sun and air that dissolves."""

from __future__ import annotations

from math import isfinite
from typing import Any

from fillcalc.case.ends import flat_end_thickness
from fillcalc.case.records import Case
from fillcalc.cautions.rule import Rule, Say, above, limit
from fillcalc.estimation.answers import Estimate
from fillcalc.job.resolve import resolve
from fillcalc.job.setup import metal_of, wall_of
from fillcalc.model.status import Status
from fillcalc.model.wall import THICK_PART, FlatEnd

THIN_END = 0.7
"""Thickness of a flat end over what UG-34 asks below which its stress is twice the allowable, near yield."""


def held(estimate: Estimate) -> Any:
    """The hold, where test pressure is reached; None else."""
    hold = estimate.hold
    return hold if hold is not None and isfinite(hold.pressure_per_kelvin_pa) else None


def _seen(case: Case, estimate: Estimate, change: float) -> bool:
    """Whether the gauge shows so much change of pressure, Pa: a division, or a hundredth of the test pressure."""
    division = case.gauge.division
    return above(change, 0.01 * estimate.pressurise.test_gauge_pa if division is None else division)


def _sun_rise(estimate: Estimate) -> float:
    """Rise of the shut-in pressure in ten minutes of full sun on dark metal, Pa."""
    hold = held(estimate)
    return float(hold.sun_high_k * hold.pressure_per_kelvin_pa) if hold else 0.0


def _solution(estimate: Estimate) -> float:
    hold = held(estimate)
    return float(hold.solution_pa) if hold else 0.0


def _head_shown(case: Case, estimate: Estimate) -> bool:
    """Whether the gauge shows the head of the full open vessel."""
    return _seen(case, estimate, float(estimate.pressurise.full_gauge_pa))


def open_shows(case: Case, estimate: Estimate, say: Say) -> str:
    """A sentence on what the gauge shows of the full open vessel, with a space before it; empty if it shows none."""
    if not _head_shown(case, estimate):
        return ""
    return f" Full and open it still shows {say(estimate.pressurise.full_gauge_pa, 'pressure')}."


def _flat_end(case: Case) -> FlatEnd | None:
    """One flat end whose thickness is known; None for other ends."""
    case = resolve(case)
    return case.vessel.inside().flat_end(wall_of(case), metal_of(case.vessel))


def _bulge(case: Case, estimate: Estimate) -> float:
    """Bulge of a flat end at test pressure, m; zero where there is none."""
    end = _flat_end(case)
    return 0.0 if end is None else float(end.bulge(estimate.pressurise.test_gauge_pa))


def _bulges(case: Case, estimate: Estimate) -> bool:
    end = _flat_end(case)
    return end is not None and bool(_bulge(case, estimate) > THICK_PART * end.thickness)


def _asked_of_end(case: Case, estimate: Estimate) -> float:
    """Thickness that the form of UG-34 asks of a flat end at this test pressure, m."""
    diameter: Any = case.vessel.diameter  # type: ignore[attr-defined]
    return flat_end_thickness(float(diameter), None, float(estimate.pressurise.test_gauge_pa))


def _end_too_thin(case: Case, estimate: Estimate) -> bool:
    end = _flat_end(case)
    return end is not None and bool(end.thickness < THIN_END * _asked_of_end(case, estimate))


CLOSED: tuple[Rule, ...] = (
    Rule("flat ends too thin", "danger", _end_too_thin,
         lambda case, e, say: f"The flat ends are {say(_flat_end(case).thickness, 'bore')} thick; this test pressure "  # type: ignore[union-attr]
         f"asks {say(_asked_of_end(case, e), 'bore')} (UG-34, not checked against the standard). Do not pump until "
         "ends and stays are checked."),
    Rule("gauge high above the bottom", "danger",
         lambda case, e: held(e) is not None and above(e.hold.bottom_gauge_pa, limit(case, e)) and not above(  # type: ignore[union-attr]
             e.pressurise.test_gauge_pa, limit(case, e)),
         lambda case, e, say: f"When the gauge shows test pressure the bottom sees "
         f"{say(e.hold.bottom_gauge_pa, 'pressure')}, above the limit of {say(limit(case, e), 'pressure')}. "  # type: ignore[union-attr]
         "Test pressure must count at the bottom: put the gauge there."),
    Rule("test below head", "caution", lambda case, e: int(e.pressurise.status) == Status.BELOW_HEAD,
         lambda case, e, say: f"The gauge shows {say(e.pressurise.full_gauge_pa, 'pressure')} with the vessel just "
         f"full, more than the test pressure of {say(e.pressurise.test_gauge_pa, 'pressure')}. Check gauge height and "
         "test pressure."),
    Rule("gauge shows the head", "notice",
         lambda case, e: _head_shown(case, e) and int(e.pressurise.status) != Status.BELOW_HEAD,
         lambda case, e, say: f"With the vessel just full the gauge already shows "
         f"{say(e.pressurise.full_gauge_pa, 'pressure')}. Pumping starts there, and the release ends there."),
    Rule("flat ends bulge", "caution", _bulges,
         lambda case, e, say: f"The flat ends bulge {say(_bulge(case, e), 'bore')} at test pressure, more than half "
         "of their thickness. Take water and pump-up as rough, and check the thickness."),
    Rule("sun", "notice", lambda case, e: _seen(case, e, _sun_rise(e)),
         lambda case, e, say: "Ten minutes of full sun warm bare metal by "
         f"{say(e.hold.sun_low_k, 'temperature_change')} "  # type: ignore[union-attr]
         f"to {say(e.hold.sun_high_k, 'temperature_change')}: up to {say(_sun_rise(e), 'pressure_change')}. "  # type: ignore[union-attr]
         "Shade it for the hold."),
    Rule("air dissolves", "notice", lambda case, e: _seen(case, e, _solution(e)),
         lambda case, e, say: f"In the hold trapped air that dissolves can lose up to "
         f"{say(_solution(e), 'pressure_change')}. That is no leak."),
)
"""The rules, in the order of the table."""
