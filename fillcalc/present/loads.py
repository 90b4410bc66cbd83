"""Pieces and the loads they make on the manifold, told once."""

from __future__ import annotations

from fillcalc.case.records import Case
from fillcalc.estimation.stages import at_once, batches


def pieces_and_loads(case: Case) -> str:
    """Return "24 pieces in 6 loads of 4"; empty for a single piece."""
    pieces, once, loads = case.vessel.count or 1, at_once(case), batches(case)
    if pieces == 1:
        return ""
    if once == 1:
        return f"{pieces} pieces, one at a time"
    if loads == 1:
        return f"{pieces} pieces in one load"
    return f"{pieces} pieces in {loads} loads of {once if pieces == once * loads else f'up to {once}'}"
