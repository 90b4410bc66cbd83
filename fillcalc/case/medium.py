"""Which inputs count: a test with gas asks for bottles and a vent, one with water for a tap, a hose and a pump."""

from __future__ import annotations

from fillcalc.case.fields import GROUPS
from fillcalc.case.records import GASES, Case
from fillcalc.case.stages import GAS, STAGES, WATER


def _taken(only: str) -> tuple[str, ...]:
    """What stages took that one kind of test alone has."""
    return tuple(f"took.{one.key}" for one in STAGES.values() if one.only == only)


OF_WATER = ("water.", "tap.", "fill.", "vent.", "trapped_air.", "pump.", "air_supply.", "test_hose.", "release.",
            "drain.", "test.start_pressure", "test.assumed_leak", "gauge.height", "labour.each.bleed",
            "labour.each.settle", "vessel.end_wall", "vessel.end_fixity", "vessel.young", "vessel.poisson",
            "vessel.expansion", "vessel.anchored", "vessel.crest.", "took.strokes", *_taken(WATER))
"""Starts of the paths that mean nothing in a test with gas."""
OF_GAS = ("gas_supply.", "gas_line.", "gas_vent.", "vessel.empty_weight", "test.why_no_water", "test.heat_passed",
          "test.heat_outside", *_taken(GAS))
"""Starts of the paths that mean nothing in a test with water."""


def is_gas(case: Case) -> bool:
    """Return whether the case is tested with a gas."""
    return case.test is not None and case.test.medium in GASES


def counts(path: str, gas: bool) -> bool:
    """Return whether the input or table at a path counts in a test with gas, or else in one with water."""
    return not f"{path}.".startswith(OF_WATER if gas else OF_GAS)


def group_title(key: str, gas: bool) -> str:
    """Return the title of a group of inputs; without water, what is left of its source is the site's."""
    return "Site" if gas and key == "source" else GROUPS[key]
