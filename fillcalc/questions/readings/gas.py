"""A hold with gas: the leak from pressure and temperature at both ends, and how sure it is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fillcalc.case.medium import is_gas
from fillcalc.case.records import Case, Reading
from fillcalc.estimation.answers import answer, part
from fillcalc.job.gas import GasJob, gas_job
from fillcalc.model.gas import leak

PART_OF_DIVISION = 0.25
"""How well a gauge is read, in divisions; judgement."""
KELVIN = 0.5
"""How well a temperature is read, K; judgement."""
UNREAD = 2.0
"""K that the temperature of gas or metal may have moved by where nobody read it; judgement."""


@dataclass(frozen=True)
class Leak:
    """Low, likely and high of one way to tell a leak; below nothing it is a gain."""

    low: float = answer("", "low")
    likely: float = answer("", "likely")
    high: float = answer("", "high")


@dataclass(frozen=True)
class GasHoldAnswer:
    """What two readings of a hold tell."""

    time_s: float = answer("duration", "between the readings")
    fall_pa: float = answer("pressure_change", "the gauge fell by")
    warmed_k: float = answer("temperature_change", "it warmed by")
    by_warmth_pa: float = answer("pressure_change", "of that, by the temperature")
    free_m3_s: Leak = part()
    """As free gas on site, m3/s."""
    flow_m3_s: Leak = part()
    """At the gauge's conditions, m3/s."""
    throughput_pa_m3_s: Leak = part()
    bubbles_s: Leak = part()
    temperature_read: bool = True


def hold_of(case: Case) -> GasHoldAnswer | None:
    """Return what the first and the last timed reading of a case with gas tell; None without two of them.

    The gauge is read to a quarter of a division, temperatures to half a kelvin. A temperature that nobody read may have
    moved by two kelvins.
    """
    timed = [(each.time, each) for each in case.reading if each.time is not None]
    if not is_gas(case) or len(timed) < 2:
        return None
    (began, first), (ended, last) = timed[0], timed[-1]
    return _between(gas_job(case), first, last, ended - began) if ended > began else None


def _between(job: GasJob, first: Reading, last: Reading, time: float) -> GasHoldAnswer:
    gas, surroundings = job.gas, job.case.surroundings
    outside, warm = float(surroundings.pressure[0]), float(surroundings.temperature[0])
    volume, read = float(job.raising.vessel.volume[0]), first.temperature is not None and last.temperature is not None
    kelvins = (first.temperature or warm, last.temperature or warm) if read else (warm, warm)
    pressures = (first.pressure + outside, last.pressure + outside)
    lost = float(leak.lost(gas, volume, (pressures[0], kelvins[0]), (pressures[1], kelvins[1]))) / time
    at = gas.at_pressure(0.5 * sum(pressures), 0.5 * sum(kelvins))
    by_pressure = volume / float(at.pressure_by_density) / time
    division = float(job.case.gauge.division[0])
    doubt = np.hypot(PART_OF_DIVISION * division * np.sqrt(2.0),
                     float(at.pressure_by_temperature) * (KELVIN * np.sqrt(2.0) if read else UNREAD))
    three = np.array([lost - by_pressure * doubt, lost, lost + by_pressure * doubt])
    warmed = kelvins[1] - kelvins[0]
    flow, free = three / float(at.density), three / float(gas.density(outside, warm))
    return GasHoldAnswer(
        time_s=time, fall_pa=pressures[0] - pressures[1], warmed_k=warmed if read else np.nan,
        by_warmth_pa=-float(at.pressure_by_temperature) * warmed, free_m3_s=Leak(*map(float, free)),
        flow_m3_s=Leak(*map(float, flow)),
        throughput_pa_m3_s=Leak(*map(float, leak.as_throughput(gas, three, warm))),
        bubbles_s=Leak(*map(float, leak.bubbles(gas, three, (outside, warm)))), temperature_read=read)
