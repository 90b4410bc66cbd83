"""What a case says of its shut vessel during a hold: compliance, warmth, settling and dissolving, as columns of a fit.

Pressures go through the water that they stand for: a fall from p1 to p2 has let out W(p1) - W(p2), which over the
compliance at the mean pressure is the fall as it would be there. So a large fall is as straight in the leak as a small
one. Samples over the ranges of the case keep together what the trapped air makes go together.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case.records import Case
from fillcalc.job.job import job_of
from fillcalc.job.samples import assign, keys, samples
from fillcalc.job.setup import air_at_top
from fillcalc.model.held import whole
from fillcalc.model.hold import fall_of_pocket, fall_of_solution, fall_of_water
from fillcalc.questions.readings.verdict import NOT_READ

BINS = 80
"""Means of neighbouring rows that are fitted; noise that hangs together over seconds is then nearly apart."""
DRAWS, DISSOLVES = 256, "hold.dissolves"
"""Samples of the case, and the column of points by which that part of the bound is drawn that dissolves."""
CREEP = 0.002
"""Standard deviation of what hose, seals and wall creep while they settle, as a part of the pressure; judgement."""
STANDS_FOR = 0.1
"""Standard deviation of the change of the water's temperature for each kelvin that the thermometer changes;
judgement, for a sensor on the wall or in the water."""
SENSOR = 0.05
"""Standard deviation of what a recorded temperature drifts by itself over a hold, K; judgement."""
AN_HOUR = 3600.0
"""The change of a temperature that nobody recorded grows with the time past an hour; judgement."""
MOST_BENDS, EARNED = 8, 10.8
"""Terms of the curve of the temperature, and by how much one must lessen the misfit: chi-squared, one in a thousand."""
LEVEL, LEAK, SETTLES, WARMS, DISSOLVED, DRIFTS = range(6)
"""The unknowns, in the order of the columns."""


@dataclass(frozen=True)
class Seen:
    """The rows of a hold: s since the first of the record, Pa gauge, K or None; and what came before."""

    time: Array
    gauge: Array
    temperature: Array | None
    rise_s: float
    """Time of the rise, s."""
    wait_s: float
    """From the end of the rise to the beginning of the hold, s."""


@dataclass(frozen=True)
class Grid:
    """The points of a fit, shape (n,): s since the first, their width, s, and what does not depend on the sample."""

    time: Array
    width: float
    leak: Array
    """Time at the leak of the mean pressure, s: the integral of the root of the pressure over its mean."""
    warmth: Array
    """Warming since the first point, K; zeros where no temperature was recorded."""
    since: float
    """Time since the pressure was on, at the first point, s."""
    unsure: float
    """Standard deviation of a change of temperature over the hold that the record does not show, K."""

    @property
    def steps(self) -> Array:
        """Time from each point to the next, in the usual one."""
        steps = np.diff(self.time)
        return np.asarray(steps / np.median(steps))

    def columns(self, constant: float) -> Array:
        """Level, leak, settling, warming, dissolving, and the drift of a temperature that is not in the record; (n, 6).

        Settling is 1 - exp(-t/constant) from the beginning of the first point, on the mean over a point's width; what
        dissolves goes with the root of the time at pressure. A drift is shaped as a leak, so that no bend is taken to
        tell them apart.
        """
        wide = self.width / constant
        settled = 1.0 - np.exp(-self.time / constant) * (1.0 if wide < 1e-6 else float(-np.expm1(-wide)) / wide)
        root = np.sqrt(self.since + self.time)
        return np.stack([np.ones_like(self.time), -self.leak, -settled, self.warmth, -(root - root[0]),
                         self.leak / self.leak[-1]], axis=1)

    def longer(self, times: float) -> Grid:
        """The same hold so many times as long, its temperature going on as it did."""
        last = len(self.time) - 1
        time = self.time[-1] / last * np.arange(round(times * last) + 1)
        return Grid(time, self.width, time, self.warmth[-1] / self.time[-1] * time, self.since,
                    self.unsure * max(1.0, time[-1] / max(self.time[-1], AN_HOUR)) if not self.warmth.any() else
                    self.unsure)


@dataclass(frozen=True)
class Shut:
    """What the samples say at the mean pressure of a hold, shape (draws,), and what is known of the unknowns."""

    compliance: Array
    """m3/Pa."""
    per_kelvin: Array
    """Pa/K."""
    fall: Array
    """Pressure at each point less the mean one, at the compliance of the mean pressure, Pa; (n, draws)."""
    likely_fall: Array
    """The same at likely values; (n,)."""
    settles: float
    """Standard deviation of what settles, Pa."""
    dissolves: float
    """What dissolves, Pa/s^0.5: its mean over samples and parts of the bound,"""
    dissolves_by: float
    """its standard deviation,"""
    bound: float
    """and the most."""

    def known(self, grid: Grid) -> Array:
        """One over the standard deviation of each unknown about what the goals take as known; (6,)."""
        kelvin = abs(float(np.median(self.per_kelvin)))
        sizes = np.array([self.settles, STANDS_FOR * kelvin, self.dissolves_by, kelvin * grid.unsure])
        return np.concatenate([np.zeros(2), 1.0 / np.maximum(sizes, 1e-9)])

    def goals(self, grid: Grid) -> Array:
        """The pressure less what warming and dissolving probably make of it, for each sample, Pa; (n, draws)."""
        dissolved = self.dissolves * grid.columns(1.0)[:, DISSOLVED]
        return np.asarray(self.fall - self.per_kelvin * grid.warmth[:, None] - dissolved[:, None])


def grid_of(seen: Seen) -> tuple[Grid, Array]:
    """The points of a hold, and their gauge pressures, Pa."""
    together = -(-len(seen.time) // BINS)
    time, gauge = _means(seen.time, together), _means(seen.gauge, together)
    since = time - time[0]
    root = np.sqrt(np.maximum(gauge, 0.0) / max(float(np.mean(gauge)), 1.0))
    leak = np.concatenate([[0.0], np.cumsum(0.5 * (root[1:] + root[:-1]) * np.diff(time))])
    warmth, unsure = np.zeros_like(since), NOT_READ * max(1.0, since[-1] / AN_HOUR)
    if seen.temperature is not None:
        felt = _means(seen.temperature, together)
        warm = steady(since, felt)
        warmth, noise = warm - warm[0], float(np.std(felt - warm)) * (12.0 / len(felt)) ** 0.5
        unsure = float(np.hypot(SENSOR, noise))
    width = float(np.median(np.diff(time))) if together > 1 else 0.0
    return Grid(since, width, leak, warmth, max(seen.wait_s, 0.0) + 0.5 * max(seen.rise_s, 0.0), unsure), gauge


def shut(case: Case, seen: Seen, gauge: Array) -> Shut:
    """What the case says of its shut vessel at the points of a hold, gauge pressures in Pa."""
    columns = assign((*keys(case), DISSOLVES), DRAWS)
    sampled = samples(case, columns, ends=False)
    rows = sampled.rows()
    job = job_of(sampled.case)
    vessel, closed = job.body, job.closed
    middle, full = (closed.at(each + np.zeros(rows)) for each in (float(np.mean(gauge)), closed.full_gauge))
    pocket = air_at_top(vessel, job.level, middle)
    bound = fall_of_solution(middle, pocket.surface * vessel.pieces, job.case.water.temperature, AN_HOUR) / AN_HOUR**0.5
    cools = fall_of_pocket(full, middle, np.full(rows, max(seen.rise_s, 1.0)), pocket.thickness, seen.wait_s)
    settles = float(np.median(fall_of_water(full, middle)) + np.quantile(cools, 0.975)) + CREEP * float(np.mean(gauge))
    wide = closed.at(gauge[:, None] + np.zeros(rows))
    fall = whole(closed.between(middle, wide)) / middle.compliance

    def drawn(values: Array) -> Array:
        every = np.broadcast_to(values, (*np.shape(values)[:-1], rows))
        return np.array(every[..., 1:] if rows > 1 else np.repeat(every, DRAWS, axis=-1))

    dissolves = columns[DISSOLVES] * drawn(bound)
    return Shut(drawn(middle.compliance), drawn(middle.per_kelvin), drawn(fall), np.array(fall[:, 0]), settles,
                float(np.mean(dissolves)), float(np.std(dissolves)), float(np.max(bound)))


def _means(values: Array, together: int) -> Array:
    """Means of so many neighbours; what is left over at the end joins the last where it is less than half."""
    if together == 1:
        return values
    places = np.arange(0, len(values), together)
    if len(values) - places[-1] < 0.5 * together:
        places = places[:-1]
    return np.asarray(np.add.reduceat(values, places) / np.diff(np.append(places, len(values))))


def steady(time: Array, temperature: Array) -> Array:
    """Temperatures without the noise of the thermometer: the polynomial in time that explains them best for its size.

    Water and wall change slowly, and noise in the temperature would count as noise of the pressure many times over.
    The least n ln(S/n) + k `EARNED` over k terms, at most `MOST_BENDS`, S their misfit: a term that chance alone would
    need is left out 999 times in a thousand.
    """
    place = 2.0 * (time - time[0]) / (time[-1] - time[0]) - 1.0
    found, least = temperature, np.inf
    for terms in range(2, min(MOST_BENDS, len(time) - 3) + 1):
        series, (_, rank, _, _) = np.polynomial.Chebyshev.fit(place, temperature, terms - 1, domain=[-1.0, 1.0],
                                                              full=True)
        if rank < terms:  # rows too close together to tell so many terms
            break
        curve = series(place)
        square = float(np.sum((temperature - curve) ** 2)) + 1e-12
        size = len(time) * np.log(square / len(time)) + terms * EARNED
        if size < least:
            found, least = curve, size
    return found
