"""What on the pressure side of the line has a limit."""

from __future__ import annotations

from fillcalc.case.fields import Number
from fillcalc.case.records import Case

FAR_ABOVE = 1.5
"""Times the test pressure that a pump may reach before a vessel without a known limit is in danger; judgement."""


def ratings(case: Case) -> tuple[tuple[str, Number], ...]:
    """Each part with a limit that was given, and that limit, Pa gauge. Nothing is invented: a part
    whose limit nobody gave is not in the list."""
    gauge_given = all(assumed.path != "gauge.full_scale" for assumed in case.assumptions)
    parts: tuple[tuple[str, Number | None], ...] = (
        ("the vessel's limit", case.vessel.never_above),
        ("the test hose's rating", case.test_hose.rating if case.test_hose else None),
        ("the pump's rating", case.pump.rating),
        ("the gauge's full scale", case.gauge.full_scale if gauge_given else None),
    )
    return tuple((name, value) for name, value in parts if value is not None)


def far_above(case: Case, reach_gauge_pa: Number, test_gauge_pa: Number) -> bool:
    """Whether a pump that can reach so much, Pa gauge, is a danger to a vessel of which neither limit nor relief valve
    is known; a hand pump, which can reach anything, is told of apart."""
    unknown = case.vessel.never_above is None and case.relief_valve is None
    return unknown and FAR_ABOVE * float(test_gauge_pa) < float(reach_gauge_pa) < float("inf")
