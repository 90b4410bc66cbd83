"""Where the regulator of an air-driven pump may stand: high enough to reach test pressure, low enough for every limit,
and at a figure that a person can set."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, inf, isfinite, nan

from fillcalc.arrays import first
from fillcalc.case.no_flow import high_end, lock_up, supply_no_flow
from fillcalc.case.records import AirDrivenPump, Case
from fillcalc.estimation.limits import lowest_rating, relief_protects

NEARLY = 1e-6
"""Part of a step that does not count."""


@dataclass(frozen=True)
class Window:
    """Settings of the regulator, Pa gauge."""

    reaching: float
    """Reaches test pressure at the highest friction."""
    shifting: float
    """Shifts the pump; 0 where that is not known."""
    passes: float
    """Above it the pump can pass the lowest limit: at no friction, and with the regulator crept up by its lock-up. NaN
    where no limit was given."""
    lifts: float
    """Above it the pump can lift the relief valve, in the same way; infinite without one."""
    step: float
    """How finely the regulator can be set, Pa."""
    advised: float
    """The one setting to use: a multiple of the step, a step inside both ends. NaN where there is none."""
    relies: bool
    """At the advised setting a regulator that creeps can lift the relief valve."""
    guarded: bool
    """No setting both does the test and keeps the limit: only the relief valve guards the vessel."""
    test: float
    available: float
    """Test pressure, and what the supply gives while the pump runs."""
    limit: float
    limit_of: str

    @property
    def none_safe(self) -> bool:
        """No setting does the test and keeps the limit, and nothing else guards the vessel."""
        does = self.test <= self.limit and self.lowest <= self.available
        return does and not isfinite(self.advised) and not self.guarded

    @property
    def lowest(self) -> float:
        """Below it the pump may stall before test pressure, or not shift."""
        return max(self.reaching, self.shifting)

    @property
    def highest(self) -> float:
        """Above it the pump can lift the relief valve or pass the limit; NaN where neither is known."""
        known = [value for value in (self.passes, self.lifts) if isfinite(value)]
        return min(known, default=nan)

    @property
    def shifts(self) -> bool:
        """The lowest is what the pump needs to shift, not what reaches test pressure."""
        return self.shifting > self.reaching

    @property
    def relief(self) -> bool:
        """The highest is what the relief valve stands, not the lowest limit."""
        return isfinite(self.lifts) and not self.passes <= self.lifts


def window_of(case: Case, relief_flow_m3_s: float = nan) -> Window | None:
    """The window of a case at likely values, whatever its regulator is set to; None for other pumps.

    The lowest end takes the friction at its high end, the highest end no friction and the lock-up at its high end.
    `relief_flow_m3_s` is what the relief valve would have to pass. Without the vessel's limit no more than is needed
    is advised; where only the lock-up stands in the way, and the relief valve guards the vessel, the least that
    reaches test pressure, which is then no cure for a setting that lifts the valve.
    """
    pump = case.pump
    if not isinstance(pump, AirDrivenPump):
        return None
    ratio, available = first(pump.ratio), first(pump.drive_pressure)
    step = STEP if pump.regulator_step is None else first(pump.regulator_step)
    test = case.test_gauge
    reaching = test / (ratio * (1.0 - most_friction(case)))
    shifting = 0.0 if pump.lowest_drive is None else first(pump.lowest_drive)
    limit_of, limit = lowest_rating(case)
    creep = lock_up(case)[1]
    passes = limit / ratio - creep
    lifts = inf if case.relief_valve is None else first(case.relief_valve.set) / ratio - creep
    lowest = max(reaching, shifting)
    least = ceil((lowest + step) / step - NEARLY) * step
    full = supply_no_flow(case)[1] * ratio
    ends = [end - step for end, stands in ((passes, limit), (lifts, (lifts + creep) * ratio)) if full > stands]
    most = min(ends, default=inf)
    advised, relies = nan, False
    if case.vessel.never_above is None and least <= available:
        most = min(most, least)
    if lowest <= available <= most:
        advised = available
    elif lowest <= available:
        advised = floor(most / step + NEARLY) * step
        if advised < least - NEARLY * step:
            guarded = not limit_of or (least * ratio <= limit and relief_protects(case, limit, relief_flow_m3_s))
            relies = case.relief_valve is not None and least <= available and guarded
            advised = least if relies else nan
    protected = bool(limit_of) and test <= limit and lowest <= available and relief_protects(
        case, limit, relief_flow_m3_s)
    guarded = protected and not min((advised + creep) * ratio, full) <= limit
    return Window(reaching, shifting, passes, lifts, step, advised, relies, guarded, test, available, limit, limit_of)


STEP = 1e4
"""Pa; what a regulator is set to where nobody said how finely its gauge can be read."""


def most_friction(case: Case) -> float:
    """Return the highest friction of the pump to allow for, as a share of its drive; a measured stall fixes it."""
    pump = case.pump
    assert isinstance(pump, AirDrivenPump)
    if pump.stall is not None:
        drive, outlet = pump.stall
        return 1.0 - first(outlet) / (first(pump.ratio) * first(drive))
    return high_end(case, "pump.friction", 0.0 if pump.friction is None else pump.friction)
