"""Which part of the set-up each DANGER is about, so that the picture can mark it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from fillcalc.case.records import Case
from fillcalc.cautions import cautions
from fillcalc.cautions.rule import lowest_limit
from fillcalc.estimation.answers import Caution, Estimate

SOURCE, HOSE, VENT, VESSEL, CLOSURE, TEST_HOSE, PUMP, GAUGE, RELIEF, DRAIN = (
    "source", "hose", "vent", "vessel", "closure", "test hose", "pump", "gauge", "relief valve", "drain")
BOTTLES, REGULATOR, GAS_HOSE, LET_OFF, STEPS = "bottles", "regulator", "gas hose", "let-off valve", "steps"
"""The parts of a set-up, and those of a test with gas."""
LIMIT = "the part with the lowest limit"

PART_OF: Mapping[str, str] = MappingProxyType({
    "water alone above limit": VESSEL, "shut vent above limit": VENT, "fill air above limit": VENT,
    "source above limit": SOURCE, "test above rating": LIMIT, "cast iron": VESSEL, "flat ends too thin": VESSEL,
    "one stroke passes": PUMP, "no regulator window": PUMP, "stall above limit": PUMP, "stall far above test": PUMP,
    "relief above limit": RELIEF, "relief valve too small": RELIEF, "gauge high above the bottom": GAUGE,
    "bottom above limit": VESSEL, "fill hose below pump": HOSE, "plugs eject": CLOSURE, "reading above limit": GAUGE,
    "warming past limit": VESSEL, "thin vessel folds": DRAIN,
    "wall would yield": VESSEL,
    "brittle with gas": VESSEL, "gas above the limit": VESSEL, "too much energy": VESSEL,
    "failed regulator": REGULATOR, "regulator at the limit": REGULATOR,
    "relief too high for gas": RELIEF, "strength test with gas": VESSEL,
})
"""By the code of the rule."""

_OF_LIMIT = {"the vessel's limit": VESSEL, "the test hose's rating": TEST_HOSE, "the pump's rating": PUMP,
             "the gauge's full scale": GAUGE}


def dangers(case: Case, estimate: Estimate, found: Sequence[Caution] | None = None) -> frozenset[str]:
    """The parts about which the case raises a DANGER; both at likely values. `found` are its cautions where they are
    known already."""
    shown = cautions(case, estimate) if found is None else found
    raised = {PART_OF.get(one.code, VESSEL) for one in shown if one.weight == "danger"}
    return frozenset(_OF_LIMIT.get(lowest_limit(case, estimate)[1], VESSEL) if part == LIMIT else part
                     for part in raised)
