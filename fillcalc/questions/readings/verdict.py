"""What a fall of the pressure in the hold means: how much is temperature, and what leak the rest would be.

It never says that a piece passed; the procedure does.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fillcalc.estimation.answers import answer, part
from fillcalc.job.job import Job
from fillcalc.job.setup import air_at_top
from fillcalc.model.held import At, Held
from fillcalc.model.hold import fall_of_solution

COVER = 2.0
"""Standard deviations from the middle to either end: 95 of 100."""
OF_A_DIVISION = 0.3
"""Standard deviation of a gauge reading, in divisions."""
THERMOMETER = 0.2
"""Standard deviation of a temperature that was read, K; common practice with a contact thermometer."""
NOT_READ = 0.5
"""Standard deviation of the change in temperature where nobody read it, K; judgement."""


@dataclass(frozen=True)
class Seen:
    """What was seen of a hold: gauge pressures, Pa; the time between, s; temperatures of water or wall, K, or None."""

    start_gauge: float
    end_gauge: float
    time: float
    start_temperature: float | None = None
    end_temperature: float | None = None


@dataclass(frozen=True)
class LeakFound:
    """The leak that the readings mean."""

    low_m3_s: float = answer("flow", "low")
    likely_m3_s: float = answer("flow", "likely")
    high_m3_s: float = answer("flow", "high")


@dataclass(frozen=True)
class BeforeRise:
    """What the hold lost before the pressure rose without warming: before a top-up, or a reading wrongly written."""

    time_s: float = answer("duration", "held before the pressure rose")
    change_pa: float = answer("pressure_change", "change before the pressure rose", "less")
    """Rises before the last one are taken off."""
    rise_pa: float = answer("pressure_change", "rise that no warming explains")
    tells: bool = part()
    """Whether the change is more than reading, temperature and air that dissolves explain."""


@dataclass(frozen=True)
class HoldVerdict:
    """What two readings of a hold say, temperature taken off."""

    time_s: float = answer("duration", "time between the readings")
    change_pa: float = answer("pressure_change", "change of pressure")
    by_temperature_pa: float = answer("pressure_change", "of that, what temperature explains")
    by_solution_pa: float = answer("pressure_change", "the most that air going into solution explains")
    rest_pa: float = answer("pressure_change", "what is left")
    rest_uncertain_pa: float = answer("pressure_change", "uncertainty of that, either way")
    leak: LeakFound = part()
    """The leak that the rest would be; the low end is at least zero."""
    temperature_read: bool = part()
    tells: bool = part()
    """Whether what is left is more than its uncertainty and the air that may have dissolved."""
    before: BeforeRise | None = part()
    """None where the pressure did not rise in the hold, or warming explains it."""
    from_s: float = answer("duration", "judged from")
    """Time of the reading from which the hold is judged; NaN where that is its first."""


def hold_verdict(job: Job, seen: Seen) -> HoldVerdict:
    """What temperature explains of a change in the hold, and what leak the rest would be, 95 of 100.

    The uncertainty holds half a division of each reading and the thermometer's (or that of a change of
    temperature which nobody read), through the pressure for each degree at the mean pressure; the water that the rest
    would be goes by the case's own trapped air. Air that goes into solution loses pressure without a leak; its
    bound is not taken off what is left, but the low end of the leak and `tells` allow for it. A rise leaves a leak
    of nothing at most. NaN for no time.
    """
    closed = job.closed
    mean = np.array([0.5 * (seen.start_gauge + seen.end_gauge)])
    per_kelvin = float(closed.at(mean).per_kelvin[0])
    read = seen.start_temperature is not None and seen.end_temperature is not None
    warmer = seen.end_temperature - seen.start_temperature if read else 0.0  # type: ignore[operator]
    division = float(job.case.gauge.division[0])
    by_gauge = 2.0**0.5 * OF_A_DIVISION * division
    by_temperature = (2.0**0.5 * THERMOMETER if read else NOT_READ) * per_kelvin
    change = seen.end_gauge - seen.start_gauge
    rest = change - per_kelvin * warmer
    doubt = COVER * float(np.hypot(by_gauge, by_temperature))
    dissolves = _solution(job, closed.at(mean), seen.time)
    ends = (rest + doubt + dissolves, rest, rest - doubt)
    leaks = [_leak(closed, seen.start_gauge, end, seen.time) for end in ends]
    return HoldVerdict(seen.time, change, per_kelvin * warmer, -dissolves, rest, doubt, LeakFound(*leaks), read,
                       bool(-rest > doubt + dissolves), None, float("nan"))


def _solution(job: Job, at: At, time: float) -> float:
    """The most that the pressure falls in a time as trapped air goes into solution, Pa."""
    surface = air_at_top(job.body, job.level, at).surface * job.body.pieces
    return float(fall_of_solution(at, surface, job.case.water.temperature, time)[0]) if time > 0.0 else 0.0


def _leak(closed: Held, start_gauge: float, change: float, time: float) -> float:
    """Water that has left in a time, m3/s, where the pressure changed by so much at one temperature; none for a
    rise, and no more than there is above the full open vessel."""
    if not time > 0.0:
        return float("nan")
    least = float(closed.full_gauge[0])
    end = min(max(start_gauge + min(change, 0.0), least), start_gauge)
    return float(closed.water_to(np.array([end]), np.array([start_gauge]))[0]) / time
