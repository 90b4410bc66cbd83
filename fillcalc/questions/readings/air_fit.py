"""The fit of trapped air to pressures and counts: weighted least squares with what is known of the rest.

The water that goes in is straight in the trapped air, W = W0(P) + V_air w(P), whatever the count started from;
stroke, wall and test hose are unknowns too, as far as their ranges let them. Air that is squeezed quickly is warm and
stiffer: w(P) is that of P V^n = constant with an exponent n from 1.0 (isothermal) to 1.4 (adiabatic), unknown but
where the times of the readings say that the air had a minute to cool.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fillcalc.arrays import Array, Flags
from fillcalc.case.records import Case, Range, Reading
from fillcalc.job.job import Job, job_of
from fillcalc.model import pump as pumps
from fillcalc.model.held import Held
from fillcalc.questions.readings.reached import Reached, division_of, reached

COVER = 2.0
"""Standard deviations that the low and the high end are from the middle: 95 of 100."""
OF_A_DIVISION = 0.3
"""Standard deviation of a gauge reading in divisions: anywhere within half a division either way."""
OF_A_STROKE = 0.5
"""Standard deviation of a count, strokes."""
OF_A_LITRE = 0.01
"""Standard deviation of a measured amount of water, as a part of the largest."""
STROKE_KNOWN, WALL_KNOWN, HOSE_KNOWN = 0.01, 0.05, 0.3
"""Standard deviation of a stroke, a wall's stretch and a test hose's stretch for which no range is given, as parts."""
ROUNDS = 6
EXPONENTS = tuple(float(each) for each in np.linspace(1.0, 1.4, 9))
"""Of the squeezed air, from isothermal to adiabatic (ratio of specific heats of air, 1.4)."""
A_MINUTE = 50.0
"""Wait before a reading, s, that counts as the minute in which the air cools; people count a minute short."""
NEARLY = 2.0
"""Misfits that differ by less than this, in squared standard deviations, are alike: what is wrong with the
vessel is then named before what may be wrong with the figures."""
UNLIKELY = 2.326
"""Normal deviate that one fit in a hundred passes by chance."""

@dataclass(frozen=True)
class Vessel:
    """The closed vessel of a case, one row, with the stroke in m3 (NaN where it is not known), the division of the
    gauge in Pa, and where the readings stand."""

    job: Job
    stroke: float
    division: float
    reached: Reached

    @property
    def start(self) -> float:
        """Where the pump takes over, Pa gauge; the air is as cool as its surroundings there."""
        return float(self.job.duty.start_gauge[0])


@dataclass(frozen=True)
class Rows:
    """The readings of the fit: gauge Pa, count in m3, its standard deviation, time s (NaN), K above the first, and
    whether the air had a minute to cool."""

    gauge: Array
    count: Array
    error: Array
    time: Array
    warmer: Array
    cool: Flags


@dataclass(frozen=True)
class Fit:
    """Unknowns in the order of the columns, standard deviations of two of them, and how well they fit."""

    start: float
    air: float
    error: float
    """Standard deviation of the air, m3."""
    missed: float
    """Water that went in before the count began, m3; below zero where the count began before the pump."""
    missed_error: float
    misfit: float
    spare: int
    exponent: float
    shift: float = 0.0
    """Of the column that was added or freed; NaN where there was none."""

    def holds(self) -> bool:
        """Whether chance alone would fit as badly one time in a hundred (Wilson and Hilferty)."""
        if self.spare < 1:
            return True
        ninth = 2.0 / (9.0 * self.spare)
        return bool(self.misfit <= self.spare * (1.0 - ninth + UNLIKELY * ninth**0.5) ** 3)

    @property
    def scatter(self) -> float:
        """How much wider than expected the readings scatter about the fit; at least 1."""
        return max(1.0, (self.misfit / self.spare) ** 0.5) if self.spare > 0 else 1.0


@dataclass(frozen=True)
class FittedAir:
    """What the readings tell with the exponent of the squeezed air left open, low, middle and high."""

    middle: Fit
    """At the exponent in the middle of those that fit."""
    best: Fit
    """At the exponent that fits best."""
    air: tuple[float, float, float]
    missed: tuple[float, float, float]
    exponent: tuple[float, float, float]
    by_exponent: float
    """Half of the range of the air that the exponent alone makes, m3."""


def vessel_of(case: Case) -> Vessel:
    """Return the closed vessel of a case, as the reader gives it."""
    job = job_of(case)
    stroke = getattr(job.case.pump, "stroke", None)
    return Vessel(job, np.nan if stroke is None else float(stroke[0]), division_of(case), reached(case))


def counted(given: Sequence[Reading]) -> list[Reading]:
    """The readings with strokes or litres; the others are of a hold."""
    return [reading for reading in given if reading.strokes is not None or reading.water is not None]


def telling(given: Sequence[Reading], division: float) -> list[Reading]:
    """The readings that have a part in the fit: those at which the needle has lifted, all where fewer than two have."""
    lifted = [reading for reading in given if reading.pressure >= division]
    return lifted if len(lifted) > 1 else list(given)


def _amount(reading: Reading, stroke: float) -> float:
    if reading.water is not None:
        return reading.water
    return np.nan if reading.strokes is None else reading.strokes * stroke


def rows_of(vessel: Vessel, given: Sequence[Reading]) -> Rows | None:
    """The readings that tell something, in the order of the water pumped, with their errors; None where none does."""
    used = telling(given, vessel.division)
    if not used or (np.isnan(vessel.stroke) and any(reading.water is None for reading in used)):
        return None
    used = sorted(used, key=lambda reading: (_amount(reading, vessel.stroke), reading.pressure))
    largest = max(float(reading.water or 0.0) for reading in used)
    errors = [OF_A_STROKE * vessel.stroke if reading.water is None else OF_A_LITRE * largest for reading in used]
    warm = [np.nan if reading.temperature is None else float(reading.temperature) for reading in used]
    known = [value for value in warm if np.isfinite(value)]
    first = known[0] if known else 0.0
    gauge = np.array([float(reading.pressure) for reading in used])
    count = np.array([_amount(reading, vessel.stroke) for reading in used])
    time = np.array([np.nan if reading.time is None else float(reading.time) for reading in used])
    return Rows(gauge, count, np.array(errors), time, np.nan_to_num(np.array(warm) - first),
                _cool(vessel, gauge, count, time))


def _cool(vessel: Vessel, gauge: Array, count: Array, time: Array) -> Flags:
    """Whether a minute passed before each reading, beside what the pump takes for its water at the least.

    Nobody knows of the first: it is as the others where they are alike, else not.
    """
    quickest = np.array([float(pumps.flow(vessel.job.driver, np.array([each]))[0][0]) for each in gauge[:-1]])
    with np.errstate(divide="ignore", invalid="ignore"):
        pumping = np.where(quickest > 0.0, np.diff(count) / quickest, 0.0)
    waited = np.diff(time) - pumping >= A_MINUTE
    return np.concatenate([[bool(waited.size and np.all(waited))], waited])


def _known_to(case: Case, paths: tuple[str, ...], at: float, otherwise: float) -> float:
    """Standard deviation of an input as a part of its value, from its range or else this."""
    spread_of: Range | None = next((case.ranges[path] for path in paths if path in case.ranges), None)
    if spread_of is None or not at > 0.0:
        return otherwise
    low, likely, high = spread_of.low, spread_of.likely, spread_of.high
    if likely is None:
        return float(max((high - low) / 12.0**0.5 / at, 1e-6))
    square = (low * low + likely * likely + high * high - low * likely - low * high - likely * high) / 18.0
    return float(max(square**0.5 / at, 1e-6))


def _warmth(vessel: Vessel, rows: Rows, exponent: float) -> Array:
    """Temperature of the pocket over that of its surroundings, both absolute, at each reading.

    T/T0 = (p/p0)^((n-1)/n), from the last pressure at which the air was cool: ideal gas, any textbook.
    """
    zero = float(vessel.job.closed.zero_abs[0])
    before, rise, warmth = zero + min(vessel.start, float(rows.gauge[0])), 0.0, []
    for gauge, cool in zip(rows.gauge, rows.cool, strict=True):
        now = zero + float(gauge)
        rise = 0.0 if cool else max(rise + (1.0 - 1.0 / exponent) * np.log(now / before), 0.0)
        warmth.append(np.exp(rise))
        before = now
    return np.array(warmth)


def _by_air(closed: Held, gauge: Array, warmth: Array) -> Array:
    """Water that a m3 of free air makes room for from the full open vessel to a gauge pressure, m3; warm air takes
    more."""
    none, at = closed.at(closed.full_gauge + np.zeros_like(gauge)), closed.at(gauge)
    return np.asarray((none.density * none.pocket - at.density * at.pocket * warmth) / closed.free_density)


def _columns(vessel: Vessel, gauge: Array, by_stroke: Array, warmth: Array) -> tuple[Array, Array]:
    """Water of an air-free vessel at gauge pressures, m3; the columns of the unknowns (start, air, stroke, wall, test
    hose) there. `by_stroke` is the count since the first reading, m3."""
    closed, zero = vessel.job.closed, np.zeros_like(gauge)
    bare = replace(closed, air=np.zeros(1))
    gain = bare.water_between(closed.full_gauge + zero, gauge)
    hose = gain[3] if np.any(closed.hose_stretch > 0.0) else zero
    return gain[0] + gain[1] + gain[2] + gain[3], np.stack(
        [zero + 1.0, _by_air(closed, gauge, warmth), -by_stroke, gain[1], hose], axis=1)


def _sigmas(vessel: Vessel) -> Array:
    """Standard deviations of stroke, wall and test hose, as parts."""
    case, wall = vessel.job.case, vessel.job.case.vessel.wall
    thickness = None if isinstance(wall, str) or wall is None else float(wall[0])
    test_hose = case.test_hose
    return np.array([
        _known_to(case, ("pump.stroke",), vessel.stroke, STROKE_KNOWN),
        WALL_KNOWN if thickness is None else _known_to(case, ("vessel.wall",), thickness, WALL_KNOWN),
        HOSE_KNOWN if test_hose is None else
        _known_to(case, ("test_hose.stretch",), float(test_hose.stretch[0]), HOSE_KNOWN),
    ])


def _errors(vessel: Vessel, rows: Rows, air: float, warmth: Array, exponent: float) -> Array:
    """Standard deviation of each reading as water, m3: of the count, and of the pressure through the compliance."""
    solid, per_air = vessel.job.closed.at(rows.gauge).slopes
    stiffer = warmth / np.where(rows.cool, 1.0, exponent)
    return np.hypot(rows.error, (solid + air * per_air * stiffer) * OF_A_DIVISION * vessel.division)


def _warming(vessel: Vessel, rows: Rows) -> Array:
    """Water that warming since the first reading has stood in for, m3."""
    at = vessel.job.closed.at(rows.gauge)
    return np.asarray(at.compliance * at.per_kelvin * rows.warmer)


def solve(vessel: Vessel, rows: Rows, exponent: float = 1.0, extra: Array | None = None,
          free: int | None = None) -> Fit:
    """Least squares with the errors of the last round's air, at one exponent of the squeezed air; `extra` is one more
    column with nothing known of it, `free` the index of a column (2 stroke, 3 wall) of which nothing is taken as
    known."""
    warmth, sigmas = _warmth(vessel, rows, exponent), _sigmas(vessel)
    solid, columns = _columns(vessel, rows.gauge, rows.count - rows.count[0], warmth)
    goal = rows.count - solid + _warming(vessel, rows)
    if free is not None:
        sigmas[free - 2] = 1e3
    if extra is not None:
        columns = np.column_stack([columns, extra])
    known = np.zeros((3, columns.shape[1]))
    known[:, 2:5] = np.diag(1.0 / sigmas)
    size = np.linalg.norm(columns, axis=0)
    size = np.where(size > 0.0, size, 1.0)
    air = float(vessel.job.closed.air[0])
    covariance, unknown, misfit = np.eye(2), np.zeros(2), 0.0
    for _ in range(ROUNDS):
        weight = 1.0 / _errors(vessel, rows, air, warmth, exponent)
        matrix = np.vstack([columns * weight[:, None], known]) / size
        target = np.concatenate([goal * weight, np.zeros(3)])
        inverse = np.linalg.pinv(matrix, rcond=1e-12)
        unknown = inverse @ target
        misfit = float(np.sum((matrix @ unknown - target) ** 2))
        covariance = inverse @ inverse.T
        air = max(float(unknown[1] / size[1]), 0.0)
    spare = len(rows.gauge) - 2 - (extra is not None) - (free is not None)
    found = unknown / size
    freed = free if free is not None else -1 if extra is not None else None
    began = np.array([min(vessel.start, float(rows.gauge[0]))])
    before, at_start = _columns(vessel, began, np.zeros(1), np.ones(1))
    share = np.zeros(len(size))
    share[:5] = -at_start[0] / size[:5]
    return Fit(float(found[0]), float(found[1]), float(covariance[1, 1]) ** 0.5 / float(size[1]),
               float(share @ unknown - before[0]), float(share @ covariance @ share) ** 0.5, misfit, spare, exponent,
               np.nan if freed is None else float(found[freed]))


def fit_air(vessel: Vessel, rows: Rows) -> FittedAir:
    """Return the fit at every exponent that fits, as one: 95 of 100 between low and high.

    The ends are those of the profile likelihood: at an exponent whose misfit is d above the best, `COVER` standard
    deviations shrink to sqrt(COVER^2 - d). The middle is the fit at the mean exponent, weighted by exp(-d/2).
    """
    fits = [solve(vessel, rows, each) for each in ((1.0,) if np.all(rows.cool) else EXPONENTS)]
    best = min(fits, key=lambda fit: fit.misfit)
    worse = np.array([(fit.misfit - best.misfit) / best.scatter**2 for fit in fits])
    exponents = np.array([fit.exponent for fit in fits])
    weight = np.exp(-0.5 * worse)
    middle = best if len(fits) == 1 else solve(vessel, rows, float(weight @ exponents / weight.sum()))
    may = worse <= COVER**2
    reach = best.scatter * np.sqrt(np.maximum(COVER**2 - worse[may], 0.0))

    def ends(values: Array, errors: Array, mid: float) -> tuple[float, float, float]:
        low, high = float(np.min(values[may] - reach * errors[may])), float(np.max(values[may] + reach * errors[may]))
        return min(low, mid), mid, max(high, mid)

    air = np.array([fit.air for fit in fits])
    return FittedAir(
        middle, best, ends(air, np.array([fit.error for fit in fits]), middle.air),
        ends(np.array([fit.missed for fit in fits]), np.array([fit.missed_error for fit in fits]), middle.missed),
        (float(exponents[may].min()), middle.exponent, float(exponents[may].max())), float(0.5 * np.ptp(air[may])))


def water_left(vessel: Vessel, rows: Rows, fit: Fit) -> float:
    """Water from the last reading to test pressure, m3, pumping on as before: the air warms on by the exponent."""
    last, test = float(rows.gauge[-1]), vessel.job.case.test.pressure
    warmth = _warmth(vessel, rows, fit.exponent)[-1]
    outside = float(vessel.job.closed.outside_abs[0])
    on = warmth * ((outside + float(test[0])) / (outside + last)) ** (1.0 - 1.0 / fit.exponent)
    places = np.array([last, float(test[0])])
    solid, columns = _columns(vessel, places, np.zeros(2), np.array([warmth, on]))
    return max(float(np.diff(solid + max(fit.air, 0.0) * columns[:, 1])[0]), 0.0)


def cause_of(vessel: Vessel, rows: Rows, fitted: FittedAir) -> str:
    """The key of WHY: whether the fit holds, and if not which one unknown more would make it hold."""
    fit = fitted.best
    if fitted.air[2] < 0.0:
        return "less"
    if fit.spare < 1:
        return "two"
    if fit.holds():
        return "good"
    warmth = _warmth(vessel, rows, fit.exponent)
    counts = rows.count - rows.count[0]
    grows = _by_air(vessel.job.closed, rows.gauge, warmth) * counts / max(counts[-1], 1e-12)
    trials = {"grows": solve(vessel, rows, fit.exponent, extra=grows),
              "stroke": solve(vessel, rows, fit.exponent, free=2), "wall": solve(vessel, rows, fit.exponent, free=3)}
    if np.all(np.isfinite(rows.time)) and np.ptp(rows.time) > 0.0:
        root = np.sqrt(np.maximum(rows.gauge, 0.0))
        driven = np.concatenate([[0.0], np.cumsum(0.5 * (root[1:] + root[:-1]) * np.diff(rows.time))])
        trials = {"leak": solve(vessel, rows, fit.exponent, extra=driven), **trials}
    if np.all(rows.cool):
        trials["warm"] = fit_air(vessel, replace(rows, cool=np.arange(len(rows.cool)) > 0)).best
    likely = {name: trial for name, trial in trials.items() if trial.spare >= 1 and trial.holds()
              and (trial.shift > 0.0 or name in ("stroke", "wall", "warm"))}
    losing = [name for name in likely if name in ("leak", "grows")]
    first = min(losing, key=lambda name: likely[name].misfit, default="")
    best = min(likely, key=lambda name: likely[name].misfit, default="unclear")
    return first if first and likely[first].misfit <= likely[best].misfit + NEARLY else best


def error_with(vessel: Vessel, rows: Rows, fit: Fit, gauge: float | None) -> float:
    """Standard deviation of the air, m3, with one more reading at a gauge pressure, taken after a minute."""
    if gauge is not None:
        with_air = replace(vessel.job.closed, air=np.array([max(fit.air, 0.0)]))
        solid = float(with_air.water_to(with_air.full_gauge, np.array([gauge]))[0])
        rows = Rows(np.append(rows.gauge, gauge), np.append(rows.count, fit.start + solid),
                    np.append(rows.error, rows.error[-1]), np.append(rows.time, np.nan), np.append(rows.warmer, 0.0),
                    np.append(rows.cool, True))
    warmth, sigmas = _warmth(vessel, rows, fit.exponent), _sigmas(vessel)
    _, columns = _columns(vessel, rows.gauge, rows.count - rows.count[0], warmth)
    weight = 1.0 / _errors(vessel, rows, max(fit.air, 0.0), warmth, fit.exponent)
    known = np.zeros((3, 5))
    known[:, 2:] = np.diag(1.0 / sigmas)
    size = np.maximum(np.linalg.norm(columns, axis=0), 1e-300)
    inverse = np.linalg.pinv(np.vstack([columns * weight[:, None], known]) / size, rcond=1e-12)
    return float(np.linalg.norm(inverse[1])) / float(size[1])
