"""What a fall of the pressure in the hold means: how much is temperature, and what leak the rest would be.

It never says that a piece passed; the procedure does.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from fillcalc.answers import answer, part
from fillcalc.case.records import Case
from fillcalc.model.arrays import spread
from fillcalc.model.held import Held
from fillcalc.record import record
from fillcalc.resolve import resolve
from fillcalc.setup import body, held

COVER = 2.0
"""Standard deviations from the middle to either end: 95 of 100."""
OF_A_DIVISION = 0.3
"""Standard deviation of a gauge reading, in divisions."""
THERMOMETER = 0.2
"""Standard deviation of a temperature that was read, K; common practice with a contact thermometer."""
NOT_READ = 0.5
"""Standard deviation of the change in temperature where nobody read it, K; judgement."""


@record(frozen=True)
class Seen:
    """What was seen of a hold: gauge pressures, Pa; the time between, s; temperatures of water or wall, K, or None."""

    start_gauge: float
    end_gauge: float
    time: float
    start_temperature: float | None = None
    end_temperature: float | None = None


@record(frozen=True)
class LeakFound:
    """The leak that the readings mean."""

    low_m3_s: Any = answer("flow", "low")
    middle_m3_s: Any = answer("flow", "middle")
    high_m3_s: Any = answer("flow", "high")


@record(frozen=True)
class HoldVerdict:
    """What two readings of a hold say, temperature taken off."""

    time_s: float = answer("duration", "time between the readings")
    change_pa: float = answer("pressure_change", "change of pressure")
    by_temperature_pa: float = answer("pressure_change", "of that, what temperature explains")
    rest_pa: float = answer("pressure_change", "what is left")
    rest_uncertain_pa: float = answer("pressure_change", "uncertainty of that, either way")
    leak: LeakFound = part()
    """The leak that the rest would be; the low end is at least zero."""
    temperature_read: bool = part()
    tells: bool = part()
    """Whether what is left is more than its uncertainty."""


def hold_verdict(case: Case, seen: Seen) -> HoldVerdict:
    """What temperature explains of a change in the hold, and what leak the rest would be, 95 of 100.

    The uncertainty holds half a division of each reading and the thermometer's (or that of a change of
    temperature which nobody read), through the pressure for each degree at the mean pressure; the water that the rest
    would be goes by the case's own trapped air. A rise leaves a leak of nothing at most. NaN for no time.
    """
    whole = spread(resolve(case), 1)
    closed = held(whole, body(whole))
    mean = np.array([0.5 * (seen.start_gauge + seen.end_gauge)])
    per_kelvin = float(closed.at(mean).per_kelvin[0])
    read = seen.start_temperature is not None and seen.end_temperature is not None
    warmer = seen.end_temperature - seen.start_temperature if read else 0.0  # type: ignore[operator]
    division = 0.005 * float(whole.test.pressure[0]) if case.gauge.division is None else float(np.ravel(
        case.gauge.division)[0])
    by_gauge = 2.0**0.5 * OF_A_DIVISION * division
    by_temperature = (2.0**0.5 * THERMOMETER if read else NOT_READ) * per_kelvin
    change = seen.end_gauge - seen.start_gauge
    rest = change - per_kelvin * warmer
    doubt = COVER * float(np.hypot(by_gauge, by_temperature))
    leaks = [_leak(closed, seen.start_gauge, rest + step * doubt, seen.time) for step in (1.0, 0.0, -1.0)]
    return HoldVerdict(seen.time, change, per_kelvin * warmer, rest, doubt, LeakFound(*leaks), read,
                       bool(-rest > doubt))


def _leak(closed: Held, start_gauge: float, change: float, time: float) -> float:
    """Water that has left in a time, m3/s, where the pressure changed by so much at one temperature; none for a
    rise."""
    if not time > 0.0:
        return float("nan")
    end = max(start_gauge + min(change, 0.0), 0.0)
    return float(closed.water_to(np.array([end]), np.array([start_gauge]))[0]) / time
