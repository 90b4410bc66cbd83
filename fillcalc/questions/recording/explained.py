"""What explains the pressure of a hold: temperature, settling, air going into solution, and a leak for the rest.

For each sample of the case and each time constant of the settling the rest is linear, and is solved by least squares
with errors that are correlated in time. All of them, weighted by how well they fit, are the answer.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case.records import Case
from fillcalc.estimation.answers import answer, part
from fillcalc.questions.readings.reached import division_of
from fillcalc.questions.readings.verdict import LeakFound
from fillcalc.questions.recording.regression import (
    autocorrelation,
    below,
    durbin_watson,
    least_squares,
    quantiles,
    spare_points,
    student,
    whitened,
)
from fillcalc.questions.recording.shut import (
    DISSOLVED,
    DRIFTS,
    LEAK,
    SETTLES,
    WARMS,
    Grid,
    Seen,
    Shut,
    grid_of,
    shut,
)

FEWEST, UNKNOWNS = 8, 3
"""Rows of a hold that is fitted, and unknowns of which little is known: level, leak and settling."""
TIME_CONSTANTS = (*(float(each) for each in np.geomspace(20.0, 1200.0, 7)), float("inf"))
"""Of the settling, s: a pocket of air cools in seconds to minutes, hoses and seals creep for some; judgement. Without
end: nothing settles."""
OF_A_STEP = 0.29
"""Standard deviation of a figure rounded to a step, in steps: 1/sqrt(12)."""
ROUNDS = 5
SHARES = (0.025, 0.5, 0.975)
"""Low, likely and high: 95 of 100 between the ends."""
SHOWN = (1.96 + 1.645) / 1.96
"""A leak so many half widths above nothing shows, low end above nothing, in 95 of 100 holds."""
UNLIKELY = 0.025
"""Weight below which a time constant is left out of what is told."""
LONGER = tuple(float(each) for each in np.geomspace(1.0, 30.0, 12))
"""Times of the hold that are tried where a longer one is asked for."""
PARTS = ("temperature", "settling", "dissolving", "leak")


@dataclass(frozen=True)
class Explained:
    """What one part of the explanation changes the pressure by, from the beginning of the hold to its end."""

    name: str = part()
    """One of PARTS."""
    low_pa: float = answer("pressure_change", "low")
    likely_pa: float = answer("pressure_change", "likely")
    high_pa: float = answer("pressure_change", "high")


@dataclass(frozen=True)
class Longer:
    """How long a hold must be to show a leak in 95 of 100; NaN where no longer one of the same kind would."""

    leak_m3_s: float = answer("flow", "leak")
    time_s: float = answer("duration", "length of the hold")
    asked: bool = part()
    """Whether a person asked for this leak."""


@dataclass(frozen=True)
class PerKelvin:
    """Rise of the shut-in pressure for each kelvin, as fitted within what the case makes likely."""

    low_pa_k: float = answer("pressure_per_kelvin", "low")
    likely_pa_k: float = answer("pressure_per_kelvin", "likely")
    high_pa_k: float = answer("pressure_per_kelvin", "high")


@dataclass(frozen=True)
class Fitted:
    """The curve that all parts together explain, nodes on the first axis."""

    time_s: Array = answer("duration", "time since the first row", listed=True)
    gauge_pa: Array = answer("pressure", "pressure as explained", listed=True)


@dataclass(frozen=True)
class HoldFit:
    """What the pressure of a hold is explained by. Floats; NaN where the record does not tell."""

    change_pa: float = answer("pressure_change", "change of the pressure, as explained")
    explained: tuple[Explained, ...] = part()
    leak: LeakFound = part()
    """On the mean over the hold; ends below nothing are nothing."""
    shows: bool = part()
    """Whether the low end of the leak is above nothing."""
    unexplained_rise: bool = part()
    """Whether the pressure rose by more than temperature and settling explain."""
    smallest_m3_s: float = answer("flow", "smallest leak that would have shown in 95 of 100 such holds")
    longer: tuple[Longer, ...] = part()
    temperature_read: bool = part()
    warmer_k: float = answer("temperature_change", "change of the temperature")
    per_kelvin: PerKelvin = part()
    settles_low_s: float = answer("duration", "time constant of the settling, low")
    settles_high_s: float = answer("duration", "high")
    durbin_watson: float = answer("number", "Durbin-Watson of the residuals")
    correlation: float = answer("number", "autocorrelation from one point to the next")
    noise_pa: float = answer("pressure_change", "standard deviation of the residuals")
    points: int = part()
    curve: Fitted = part()


@dataclass(frozen=True)
class _Noise:
    """Standard deviation of a point, Pa, and its autocorrelation over the usual step."""

    size: float
    phi: float


@dataclass(frozen=True)
class _Solved:
    """One time constant: unknowns for each sample (6, draws), their covariance (6, 6), and each sample's misfit."""

    unknown: Array
    covariance: Array
    misfit: Array


def explained(case: Case, seen: Seen, wanted: tuple[float, ...] | None = ()) -> HoldFit:
    """Return what explains the pressure of a hold, and the leak that the rest is, 95 of 100 between the ends.

    `wanted` are leaks, m3/s, for which the length of the hold that would show them is asked, beside a half and a fifth
    of the smallest that this one would; None asks for none.
    """
    grid, gauge = grid_of(seen)
    vessel = shut(case, seen, gauge)
    goals, known, spare = vessel.goals(grid), vessel.known(grid), float(len(gauge) - UNKNOWNS)
    noise, floor = _Noise(max(_first_noise(gauge), 1.0), 0.0), _floor(case, seen, len(gauge))
    residual = np.zeros_like(gauge)
    for last in range(ROUNDS):
        solved = [_solved(grid, each, goals, known, noise) for each in TIME_CONSTANTS]
        weight = _weights(solved)
        at, sample = (int(each) for each in np.unravel_index(np.argmax(weight), weight.shape))
        residual = goals[:, sample] - grid.columns(TIME_CONSTANTS[at]) @ solved[at].unknown[:, sample]
        if last < ROUNDS - 1:
            noise = _noise_of(residual, grid, floor, spare)
    spare = spare_points(len(gauge), UNKNOWNS, noise.phi)
    return _Answer(seen, vessel, grid, gauge, noise, solved, weight, spare).fit(residual, wanted)


def _first_noise(gauge: Array) -> float:
    return float(np.median(np.abs(np.diff(gauge, 2)))) / (0.6745 * 6.0**0.5)


def _floor(case: Case, seen: Seen, points: int) -> float:
    """The least standard deviation of a point, Pa: that of figures rounded to the step of the record."""
    steps = np.abs(np.diff(seen.gauge))
    steps = steps[steps > 1e-9 * float(np.max(np.abs(seen.gauge)))]
    step = float(np.min(steps)) if steps.size else division_of(case)
    stirred = _first_noise(seen.gauge) > 0.5 * step
    return OF_A_STEP * step / ((len(seen.gauge) / points) ** 0.5 if stirred else 1.0)


def _solved(grid: Grid, constant: float, goals: Array, known: Array, noise: _Noise) -> _Solved:
    columns, steps = grid.columns(constant), grid.steps
    found = least_squares(whitened(columns, steps, noise.phi) / noise.size,
                          whitened(goals, steps, noise.phi) / noise.size, known)
    return _Solved(found.unknown, found.covariance, np.sum(found.left**2, axis=0))


def _weights(solved: list[_Solved]) -> Array:
    """How likely each time constant (first axis) is with each sample (second), summing to 1; what settles falls."""
    misfit = np.stack([one.misfit for one in solved])
    room = np.array([np.linalg.slogdet(one.covariance)[1] for one in solved])
    falls = np.stack([one.unknown[SETTLES] / one.covariance[SETTLES, SETTLES] ** 0.5 for one in solved])
    likely = -0.5 * misfit + 0.5 * room[:, None] + np.log(below(falls))
    weight = np.exp(likely - likely.max())
    return np.asarray(weight / weight.sum())


def _noise_of(residual: Array, grid: Grid, floor: float, spare: float) -> _Noise:
    phi = autocorrelation(residual, 2)
    white = whitened(residual, grid.steps, phi)
    return _Noise(max((float(white @ white) / spare) ** 0.5, floor), phi)


@dataclass(frozen=True)
class _Answer:
    """All that was worked out of a hold, from which its answers are told."""

    seen: Seen
    vessel: Shut
    grid: Grid
    gauge: Array
    noise: _Noise
    solved: list[_Solved]
    weight: Array
    spare: float

    def spread(self, unknown: int) -> Array:
        """An unknown over time constants, samples and its own error; (constants, draws, nodes)."""
        middle = np.stack([one.unknown[unknown] for one in self.solved])
        size = np.array([max(one.covariance[unknown, unknown], 0.0) ** 0.5 for one in self.solved])
        return np.asarray(middle[..., None] + size[:, None, None] * student(self.spare))

    def three(self, values: Array) -> tuple[float, ...]:
        """Low, likely and high of values over time constants, samples and errors."""
        return quantiles(values, np.broadcast_to(self.weight[..., None], values.shape), SHARES)

    def fit(self, residual: Array, wanted: tuple[float, ...] | None) -> HoldFit:
        """The answer; `residual` is that of the likeliest sample, Pa."""
        vessel, grid = self.vessel, self.grid
        mean = grid.leak[-1] / grid.time[-1]
        low, likely, high = self.three(self.spread(LEAK) * mean * vessel.compliance[:, None])
        smallest = SHOWN * max(likely - low, 1e-18)
        curve = self.curve()
        read = self.seen.temperature is not None
        constants = np.array(TIME_CONSTANTS)[(self.weight.sum(axis=1) > UNLIKELY) & np.isfinite(TIME_CONSTANTS)]
        return HoldFit(
            float(curve[-1] - curve[0]), self._explained(float(curve[-1] - curve[0])),
            LeakFound(*(max(each, 0.0) for each in (low, likely, high))), low > 0.0, high < 0.0, smallest,
            () if wanted is None else self._longer(wanted, smallest), read,
            float(grid.warmth[-1]) if read else float("nan"),
            PerKelvin(*self.three(self.spread(WARMS) * read + vessel.per_kelvin[:, None])),
            *((float(constants.min()), float(constants.max())) if constants.size else (float("nan"),) * 2),
            durbin_watson(residual), self.noise.phi, self.noise.size, len(residual),
            Fitted(self.seen.time[0] + grid.time, curve))

    def _explained(self, change: float) -> tuple[Explained, ...]:
        """What each part changes; a drift that was not recorded counts as temperature. In a large fall, where the
        compliance changes, each by its part of the water."""
        vessel, grid = self.vessel, self.grid
        moved = np.diff(grid.columns(1.0)[[0, -1]], axis=0)[0]
        settled = np.array([np.diff(grid.columns(each)[[0, -1], SETTLES])[0] for each in TIME_CONSTANTS])
        parts = ((self.spread(WARMS) + vessel.per_kelvin[:, None]) * moved[WARMS] + self.spread(DRIFTS) * moved[DRIFTS],
                 np.maximum(self.spread(SETTLES), 0.0) * settled[:, None, None],
                 np.clip(self.spread(DISSOLVED) + vessel.dissolves, 0.0, vessel.bound) * moved[DISSOLVED],
                 np.maximum(self.spread(LEAK), 0.0) * moved[LEAK])
        even = vessel.likely_fall[-1] - vessel.likely_fall[0]
        seen = self.gauge[-1] - self.gauge[0]
        scale = seen / even if abs(seen) > 0.05 * abs(float(np.mean(self.gauge))) and even else 1.0
        return tuple(Explained(name, *(scale * each for each in self.three(values)))
                     for name, values in zip(PARTS, parts, strict=True))

    def curve(self) -> Array:
        """The pressure as explained, the mean over all that is likely, Pa gauge."""
        vessel, grid = self.vessel, self.grid
        total = np.zeros_like(grid.time)
        for constant, one, weight in zip(TIME_CONSTANTS, self.solved, self.weight, strict=True):
            columns, known = grid.columns(constant), np.zeros(len(one.unknown))
            known[WARMS] = float(vessel.per_kelvin @ weight)
            known[DISSOLVED] = vessel.dissolves * float(weight.sum())
            total += columns @ (one.unknown @ weight + known)
        falls = vessel.fall @ self.weight.sum(axis=0)
        order = np.argsort(falls)
        near = np.interp(total, falls[order], self.gauge[order])
        beyond = total - np.clip(total, falls[order[0]], falls[order[-1]])
        return np.asarray(near + beyond)

    def _longer(self, wanted: tuple[float, ...], smallest: float) -> tuple[Longer, ...]:
        """The hold that shows each leak that is wanted, a half and a fifth of the smallest that this one shows.

        By how the error of the leak goes with the length of the hold.
        """
        now = self._error(1.0)
        least = np.minimum.accumulate([smallest * self._error(times) / now for times in LONGER])
        found: list[Longer] = []
        for leak in (*wanted, 0.5 * smallest, 0.2 * smallest):
            shows = np.flatnonzero(least <= leak)
            time = float("nan")
            if shows.size:
                place = int(shows[0])
                times = LONGER[0] if place == 0 else float(np.exp(np.interp(
                    -np.log(leak), -np.log(least[place - 1:place + 1]), np.log(LONGER[place - 1:place + 1]))))
                time = float(self.grid.time[-1]) * times
            found.append(Longer(leak, time, len(found) < len(wanted)))
        return tuple(found)

    def _error(self, times: float) -> float:
        """Standard deviation of the leak, m3/s, in a hold so many times as long."""
        grid = self.grid.longer(times)
        known, per_kelvin = self.vessel.known(grid), self.vessel.per_kelvin
        kept = self.weight.sum(axis=1) > UNLIKELY
        weight = self.weight[kept] / self.weight[kept].sum()
        solved = [_solved(grid, each, grid.warmth[:, None], known, self.noise)
                  for each in np.array(TIME_CONSTANTS)[kept]]
        slope = np.stack([-per_kelvin * one.unknown[LEAK, 0] for one in solved])
        between = float(np.sum(weight * (slope - np.sum(weight * slope)) ** 2))
        within = float(weight.sum(axis=1) @ [float(one.covariance[LEAK, LEAK]) for one in solved])
        return float(np.sum(weight * self.vessel.compliance)) * (between + within) ** 0.5
