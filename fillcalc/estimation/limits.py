"""What on the pressure side of the line has a limit."""

from __future__ import annotations

from dataclasses import dataclass
from math import nan

from fillcalc.arrays import Array, first
from fillcalc.case.medium import is_gas
from fillcalc.case.records import Case

FAR_ABOVE = 1.5
"""Times the test pressure that a pump may reach before a vessel without a known limit is in danger; judgement."""

ACCUMULATION = 1.1
"""Pressure under a relief valve that passes its full flow, over its set pressure; 10 % as in ASME VIII-1 UG-125 (from
memory; check your own copy)."""


def ratings(case: Case) -> tuple[tuple[str, Array], ...]:
    """Each part with a limit that was given, and that limit, Pa gauge; hose and pump only in a test with water. Nothing
    is invented: a part whose limit nobody gave is not in the list."""
    gauge_given = all(assumed.path != "gauge.full_scale" for assumed in case.assumptions)
    pumped: tuple[tuple[str, Array | None], ...] = () if is_gas(case) else (
        ("the test hose's rating", case.test_hose.rating if case.test_hose else None),
        ("the pump's rating", case.pump.rating),
    )
    parts: tuple[tuple[str, Array | None], ...] = (
        ("the vessel's limit", case.vessel.never_above), *pumped,
        ("the gauge's full scale", case.gauge.full_scale if gauge_given else None),
    )
    return tuple((name, value) for name, value in parts if value is not None)


def lowest_rating(case: Case) -> tuple[str, float]:
    """Return the part whose limit is the lowest at likely values, and that limit, Pa gauge; "" and NaN where none was
    given."""
    return min(((name, first(value)) for name, value in ratings(case)), key=lambda each: each[1], default=("", nan))


QUICK_ACCUMULATION = 1.05
"""The same of a valve that is bought to be fully open sooner; common practice, no source."""

STAYS_SHUT = 1.02
"""Set pressure of a relief valve over the test pressure from which it stays shut at test pressure; judgement."""


def relief_below(limit_gauge_pa: Array | float) -> float:
    """The highest set pressure of a relief valve that keeps a line under this limit while it passes its flow, Pa."""
    return float(limit_gauge_pa) / ACCUMULATION


@dataclass(frozen=True)
class ReliefToFit:
    """The relief valve that can be fitted: the ends of its set pressure, Pa gauge, and its accumulation, a share."""

    lowest: float
    highest: float
    accumulation: float

    @property
    def quick(self) -> bool:
        """It must be fully open sooner than an ordinary one."""
        return self.accumulation < ACCUMULATION - 1.0


def relief_to_fit(case: Case, limit_gauge_pa: Array | float) -> ReliefToFit | None:
    """The relief valve that stays shut at test pressure and is fully open at this limit: an ordinary one, else one
    that opens quickly; None where none does both."""
    lowest = STAYS_SHUT * case.test_gauge
    for times in (ACCUMULATION, QUICK_ACCUMULATION):
        highest = float(limit_gauge_pa) / times
        if not highest < lowest:
            return ReliefToFit(lowest, highest, times - 1.0)
    return None


def relief_protects(case: Case, limit_gauge_pa: Array | float, flow_m3_s: Array | float) -> bool:
    """Whether the relief valve keeps the line under the limit: set low enough for the accumulation of one that can be
    fitted there, and able to pass this flow where its capacity is known."""
    valve, fits = case.relief_valve, relief_to_fit(case, limit_gauge_pa)
    highest = relief_below(limit_gauge_pa) if fits is None else fits.highest
    if valve is None or not first(valve.set) <= highest * (1.0 + 1e-9):
        return False
    return valve.capacity is None or not first(valve.capacity) < float(flow_m3_s)


def far_above(case: Case, reach_gauge_pa: Array | float, test_gauge_pa: Array | float) -> bool:
    """Whether a pump that can reach so much, Pa gauge, is a danger to a vessel of which neither limit nor relief valve
    is known; a hand pump, which can reach anything, is told of apart."""
    unknown = case.vessel.never_above is None and case.relief_valve is None
    return unknown and FAR_ABOVE * float(test_gauge_pa) < float(reach_gauge_pa) < float("inf")
