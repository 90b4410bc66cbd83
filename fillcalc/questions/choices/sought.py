"""The other way round: the hose, the air and the drive pressure that a given time allows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from fillcalc.arrays import Array, drawn
from fillcalc.case.records import AirDrivenPump, Case, Hose, Range
from fillcalc.estimation.answers import answer
from fillcalc.job.samples import assign, keys
from fillcalc.questions.choices.options import Base, base_of, fills_of, pump_ups_of, pump_ups_with_air
from fillcalc.questions.percentiles import percentiles

DRAWS = 512
"""A power of two; enough for a bore that is bought in steps of an eighth of an inch."""
GRID, ROUNDS = 17, 2
"""Values tried at once between two ends, and how often the ends are drawn in."""
SCALES = (1 / 32, 32.0)
"""Bores that are tried, over the case's own; wider apart than any that could be meant."""
SHARES = (1e-6, 0.5)
"""Shares of trapped air that are tried; the last as an answer stands for all that is above."""
MIDDLE, HIGH = 1, 2
"""Places in `percentiles.PERCENTS`: half of the samples, and nine in ten, keep within the time."""


@dataclass(frozen=True)
class Sought:
    """What a time allows: so that half of the samples keep within it, and (surely) nine in ten of them.

    NaN where nothing does it, or where nobody asked. Of a bore, all hoses with their couplings and tails go with the
    first in proportion. Of the air, zero means that not even a vessel without air does it.
    """

    fill_within_s: float = answer("duration", "fill within")
    smallest_bore_m: float = answer("bore", "smallest bore of the hose", "less")
    smallest_bore_surely_m: float = answer("bore", "the same, in nine samples of ten", "less")
    shortest_fill_s: float = answer("duration", "fill with the widest hose", "less")
    pump_within_s: float = answer("duration", "pump-up within")
    most_air_share: float = answer("share", "most trapped air", "more")
    most_air_surely_share: float = answer("share", "the same, in nine samples of ten", "more")
    lowest_drive_gauge_pa: float = answer("pressure", "lowest drive pressure")
    lowest_drive_surely_gauge_pa: float = answer("pressure", "the same, in nine samples of ten")
    lowest_reaching_gauge_pa: float = answer("pressure", "lowest drive pressure that gets there at all")


def sought(case: Case, fill_within: float | None = None, pump_within: float | None = None) -> Sought:
    """The smallest bore that fills within a time, the most trapped air and the lowest drive pressure that keep the
    pump-up within a time; times in s, None where it is not asked.

    Each is found by trying values over the ranges of the case, 17 at a time, and is good to a few tenths of a per cent.
    """
    base = base_of(case, assign(keys(case), DRAWS))
    unknown = float("nan")
    bore, air, drive = (unknown, unknown, unknown), (unknown, unknown), (unknown, unknown)
    if fill_within is not None and case.fill.hose:
        bore = _bores(base, fill_within)
    if pump_within is not None:
        air = _amounts(base, pump_within)
        if isinstance(case.pump, AirDrivenPump):
            drive = _drives(base, pump_within)
    return Sought(
        float("nan") if fill_within is None else fill_within, *bore,
        float("nan") if pump_within is None else pump_within, *air, *drive, _reaching(base))


def _bores(base: Base, within: float) -> tuple[float, float, float]:
    """The smallest bore, the same in nine samples of ten, and the fill with a hose too wide to matter."""
    first = float(base.job.case.fill.hose[0].bore[0])
    lines = base.job.case.fill.hose
    widest, narrowest = 1.0 / SCALES[1], 1.0 / SCALES[0]

    def fills(inverse: Array) -> Array:
        return fills_of(base, [[_scaled(hose, 1.0 / each) for hose in lines] for each in inverse]).time

    found = [_most(fills, (widest, narrowest), within, percent) for percent in (MIDDLE, HIGH)]
    shortest = percentiles(drawn(fills(np.asarray([widest]))))[MIDDLE, 0]
    return first / found[0], first / found[1], float(shortest)


def _scaled(hose: Hose, scale: float) -> Hose:
    return replace(
        hose, bore=hose.bore * scale,
        coupling_hole=None if hose.coupling_hole is None else hose.coupling_hole * scale,
        couplings=int(np.ravel(hose.couplings)[0]),
        tail_bore=None if hose.tail_bore is None else hose.tail_bore * scale)


def _amounts(base: Base, within: float) -> tuple[float, float]:
    def pump_ups(shares: Array) -> Array:
        return pump_ups_with_air(base, shares.tolist())

    found = [_most(pump_ups, SHARES, within, percent) for percent in (MIDDLE, HIGH)]
    without = percentiles(drawn(pump_ups_with_air(base, [0.0])))[:, 0]
    middle, high = (0.0 if np.isnan(most) and not time <= within else SHARES[0] if np.isnan(most) else most
                    for most, time in zip(found, without[[MIDDLE, HIGH]], strict=True))
    return middle, high


def _drives(base: Base, within: float) -> tuple[float, float]:
    given = base.job.case.pump
    assert isinstance(given, AirDrivenPump)
    available = given.drive_pressure

    def pump_ups(inverse: Array) -> Array:
        pumps = [replace(given, regulator_pressure=np.minimum(1.0 / each, available)) for each in inverse]
        return pump_ups_of(base, pumps).time

    top = float(available[0])
    ends = (1.0 / top, float(given.ratio[0]) / float(base.job.case.test.pressure[0]))
    found = [1.0 / _most(pump_ups, ends, within, percent) for percent in (MIDDLE, HIGH)] if ends[0] < ends[1] else []
    return (found[0], found[1]) if found else (float("nan"), float("nan"))


def _reaching(base: Base) -> float:
    """The drive pressure at which the pump gets there at high friction, Pa gauge; NaN for other pumps."""
    given = base.job.case.pump
    if not isinstance(given, AirDrivenPump):
        return float("nan")
    assumed = base.job.case.ranges.get("pump.friction", Range(0.0, None, 0.0, False))
    friction = max(float(given.friction[0]), assumed.high if given.stall is None else 0.0)
    return float(base.job.case.test.pressure[0]) / (float(given.ratio[0]) * (1.0 - friction))


def _most(times: Callable[[Array], Array], ends: tuple[float, float], within: float, percent: int) -> float:
    """The largest value between the ends for which the time, which rises with it, is within; NaN if none is.

    `times` gives (values, rows); `percent` says which of the PERCENTS must be within.
    """
    low, high = ends
    inside = outside = float("nan")
    for _ in range(ROUNDS):
        values = np.geomspace(low, high, GRID)
        ended = percentiles(drawn(times(values)))[percent]
        beyond = np.flatnonzero(~(ended <= within))
        if not beyond.size:
            return high
        if beyond[0] == 0:
            return float("nan")
        low, high = values[beyond[0] - 1], values[beyond[0]]
        inside, outside = ended[beyond[0] - 1], ended[beyond[0]]
    if not np.isfinite(outside):
        return float(low)
    part = np.log(within / inside) / np.log(outside / inside)
    return float(low * (high / low) ** part)
