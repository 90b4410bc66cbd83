"""The air pressure at an air-driven pump that has stalled: nothing flows, and the line rises above its running
pressure."""

from __future__ import annotations

from collections.abc import Callable

from fillcalc.arrays import Array, first
from fillcalc.case.records import AirDrivenPump, Case, Range

CUT_OUT = (1.25, 1.45)
"""Air pressure with nothing flowing over the running drive pressure, likely and high: from running to the
compressor's cut-out; common practice."""


def high_end(case: Case, path: str, leaf: Array | float) -> float:
    """The high end of the range of a leaf, or the leaf where it has none."""
    asked = case.ranges.get(path, Range(0.0, None, 0.0, False))
    return max(first(leaf), asked.high)


def lock_up(case: Case) -> tuple[float, float]:
    """How far the regulator creeps above its setting when nothing flows, likely and high, Pa; what was seen at the
    case's own setting outranks what was written."""
    pump = case.pump
    assert isinstance(pump, AirDrivenPump)
    if pump.no_flow_pressure is not None and pump.regulator_pressure is not None:
        setting = first(pump.regulator_pressure)
        seen = first(pump.no_flow_pressure), high_end(case, "pump.no_flow_pressure", pump.no_flow_pressure)
        return max(seen[0] - setting, 0.0), max(seen[1] - setting, 0.0)
    creep = 0.0 if pump.lock_up is None else pump.lock_up
    return first(creep), high_end(case, "pump.lock_up", creep)


def supply_no_flow(case: Case) -> tuple[float, float, str]:
    """What stands before the regulator when nothing flows, likely and high, Pa gauge, and why."""
    pump, supply = case.pump, case.air_supply
    assert isinstance(pump, AirDrivenPump)
    drive = first(pump.drive_pressure)
    if pump.no_flow_pressure is not None and pump.regulator_pressure is None:
        return first(pump.no_flow_pressure), high_end(case, "pump.no_flow_pressure", pump.no_flow_pressure), "given"
    if supply is not None and supply.receiver_pressure is not None:
        full = max(first(supply.receiver_pressure), drive)
        return full, max(high_end(case, "air_supply.receiver_pressure", supply.receiver_pressure), drive), \
            "the full receiver"
    return CUT_OUT[0] * drive, CUT_OUT[1] * drive, f"{CUT_OUT[0]:g} times the drive pressure, common practice"


def no_flow(case: Case) -> tuple[float, float, str]:
    """Air pressure at the pump when it has stalled, likely and at the high end, Pa gauge, and why.

    What was given; else the regulator's setting and its lock-up, no more than stands before the regulator; else what
    stands in the full receiver; else a multiple of the drive pressure.
    """
    pump = case.pump
    assert isinstance(pump, AirDrivenPump)
    if pump.no_flow_pressure is not None:
        likely = first(pump.no_flow_pressure)
        return likely, high_end(case, "pump.no_flow_pressure", pump.no_flow_pressure), "given"
    likely, highest, why = supply_no_flow(case)
    if pump.regulator_pressure is None:
        return likely, highest, why
    setting, (creep, most) = first(pump.regulator_pressure), lock_up(case)
    if setting + creep < likely:
        why = "the regulator's setting and its lock-up"
    return min(setting + creep, likely), min(setting + most, highest), why


def highest_why(case: Case, say: Callable[[Array | float, str], str]) -> str:
    """Where the high end of `no_flow` comes from, in words; `say` formats a number in SI of a family."""
    pump, supply = case.pump, case.air_supply
    assert isinstance(pump, AirDrivenPump)
    if pump.no_flow_pressure is not None:
        return "as given"
    through = ""
    if pump.regulator_pressure is not None:
        setting, most = first(pump.regulator_pressure), lock_up(case)[1]
        through = f", which the regulator at {say(setting, 'pressure')} lets through"
        if setting + most < supply_no_flow(case)[1]:
            return f"regulator at {say(setting, 'pressure')} and up to {say(most, 'pressure_change')} of creep"
    if supply is not None and supply.receiver_pressure is not None:
        return f"from the full receiver{through}"
    return f"up to {CUT_OUT[1]:g} times the drive pressure of {say(first(pump.drive_pressure), 'pressure')}{through}"
