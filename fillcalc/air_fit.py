"""The fit of trapped air to pressures and counts: weighted least squares with what is known of the rest.

The water that goes in is straight in the trapped air, W = W0(P) + V_air w(P), whatever the count started from;
stroke, wall and test hose are unknowns too, as far as their ranges let them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fillcalc.case.records import Case, Range, Reading
from fillcalc.model.arrays import Array, spread
from fillcalc.model.held import Held
from fillcalc.record import record
from fillcalc.resolve import resolve
from fillcalc.setup import Body, body, held

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
NEARLY = 2.0
"""Misfits that differ by less than this, in squared standard deviations, are alike: what is wrong with the
vessel is then named before what may be wrong with the figures."""
UNLIKELY = 2.326
"""Normal deviate that one fit in a hundred passes by chance."""

@record(frozen=True)
class Vessel:
    """The closed vessel of a case, one row."""

    case: Case
    body: Body
    held: Held
    stroke: float
    division: float


@record(frozen=True)
class Rows:
    """The readings of the fit: gauge Pa, count in m3, its standard deviation, time s (NaN), K above the first."""

    gauge: Array
    count: Array
    error: Array
    time: Array
    warmer: Array


@record(frozen=True)
class Fit:
    """Unknowns in the order of the columns, their covariance, and how well they fit."""

    start: float
    air: float
    error: float
    misfit: float
    spare: int
    shift: float = 0.0
    """Of the column that was added or freed; NaN where there was none."""

    def holds(self) -> bool:
        """Whether chance alone would fit as badly one time in a hundred (Wilson and Hilferty)."""
        if self.spare < 1:
            return True
        ninth = 2.0 / (9.0 * self.spare)
        return bool(self.misfit <= self.spare * (1.0 - ninth + UNLIKELY * ninth**0.5) ** 3)


def vessel_of(case: Case) -> Vessel:
    """The shut vessel of a case as written, its stroke in m3 and the division of its gauge in Pa."""
    whole = spread(resolve(case), 1)
    inside = body(whole)
    stroke = getattr(whole.pump, "stroke", None)
    return Vessel(whole, inside, held(whole, inside), np.nan if stroke is None else float(stroke[0]), needle(case))


def needle(case: Case) -> float:
    """Where the needle of the case's gauge begins to tell, Pa: one division, or one in two hundred of test pressure."""
    return float(0.005 * case.test.pressure if case.gauge.division is None else case.gauge.division)


def telling(given: Sequence[Reading], division: float) -> list[Reading]:
    """The readings that have a part in the fit: those at which the needle has lifted, all where fewer than two have."""
    lifted = [reading for reading in given if reading.pressure >= division]
    return lifted if len(lifted) > 1 else list(given)


def _amount(reading: Reading, stroke: float) -> float:
    return float(reading.water) if reading.water is not None else float(reading.strokes) * stroke


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
    return Rows(
        gauge=np.array([float(reading.pressure) for reading in used]),
        count=np.array([_amount(reading, vessel.stroke) for reading in used]),
        error=np.array(errors),
        time=np.array([np.nan if reading.time is None else float(reading.time) for reading in used]),
        warmer=np.nan_to_num(np.array(warm) - first),
    )


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


def _columns(vessel: Vessel, rows: Rows) -> tuple[Array, Array, Array]:
    """Water of an air-free vessel at each reading, m3; the columns of the unknowns (start, air, stroke, wall, test
    hose); and the standard deviations of the last three as parts."""
    closed, case = vessel.held, vessel.case
    zero = np.zeros_like(rows.gauge)
    none = np.zeros(1)
    bare, full = replace(closed, air=none), closed.full_gauge + zero
    solid = bare.water_to(full, rows.gauge)
    air = replace(closed, air=none + 1.0).water_to(full, rows.gauge) - solid
    gain = bare.water_between(full, rows.gauge)
    hose = gain[3] if np.any(closed.hose_stretch > 0.0) else zero
    by_stroke = rows.count - rows.count[0]
    thickness = None if isinstance(case.vessel.wall, str) or case.vessel.wall is None else float(case.vessel.wall[0])
    test_hose = case.test_hose
    sigmas = np.array([
        _known_to(case, ("pump.stroke",), vessel.stroke, STROKE_KNOWN),
        WALL_KNOWN if thickness is None else _known_to(case, ("vessel.wall",), thickness, WALL_KNOWN),
        HOSE_KNOWN if test_hose is None else
        _known_to(case, ("test_hose.stretch",), float(test_hose.stretch[0]), HOSE_KNOWN),
    ])
    return solid, np.stack([zero + 1.0, air, -by_stroke, gain[1], hose], axis=1), sigmas


def _errors(vessel: Vessel, gauge: Array, count_error: Array, air: float) -> Array:
    """Standard deviation of each reading as water, m3: of the count, and of the pressure through the compliance."""
    solid, per_air = vessel.held.at(gauge).slopes
    return np.hypot(count_error, (solid + air * per_air) * OF_A_DIVISION * vessel.division)


def _warming(vessel: Vessel, rows: Rows) -> Array:
    """Water that warming since the first reading has stood in for, m3."""
    at = vessel.held.at(rows.gauge)
    return np.asarray(at.compliance * at.per_kelvin * rows.warmer)


def solve(vessel: Vessel, rows: Rows, extra: Array | None = None, free: int | None = None) -> Fit:
    """Least squares with the errors of the last round's air; `extra` is one more column with nothing known of it,
    `free` the place of a column (2 stroke, 3 wall) of which nothing is taken as known."""
    solid, columns, sigmas = _columns(vessel, rows)
    goal = rows.count - solid + _warming(vessel, rows)
    if free is not None:
        sigmas = sigmas.copy()
        sigmas[free - 2] = 1e3
    if extra is not None:
        columns = np.column_stack([columns, extra])
    known = np.zeros((3, columns.shape[1]))
    known[:, 2:5] = np.diag(1.0 / sigmas)
    size = np.linalg.norm(columns, axis=0)
    size = np.where(size > 0.0, size, 1.0)
    air = float(vessel.held.air[0])
    covariance, unknown, misfit = np.eye(2), np.zeros(2), 0.0
    for _ in range(ROUNDS):
        weight = 1.0 / _errors(vessel, rows.gauge, rows.error, air)
        matrix = np.vstack([columns * weight[:, None], known]) / size
        target = np.concatenate([goal * weight, np.zeros(3)])
        inverse = np.linalg.pinv(matrix, rcond=1e-12)
        unknown = inverse @ target
        misfit = float(np.sum((matrix @ unknown - target) ** 2))
        covariance = inverse @ inverse.T
        air = max(float(unknown[1] / size[1]), 0.0)
    taken = 2 + (extra is not None) + (free is not None)
    spare = len(rows.gauge) - taken
    widen = max(1.0, (misfit / spare) ** 0.5) if spare > 0 else 1.0
    error = widen * float(np.sqrt(covariance[1, 1])) / float(size[1])
    found = unknown / size
    place = free if free is not None else -1 if extra is not None else None
    shift = np.nan if place is None else float(found[place])
    return Fit(float(found[0]), float(found[1]), error, misfit, spare, shift)


def cause_of(vessel: Vessel, rows: Rows, fit: Fit) -> str:
    """The key of WHY: whether the fit holds, and if not which one unknown more would make it hold."""
    if fit.air + COVER * fit.error < 0.0:
        return "less"
    if fit.spare < 1:
        return "two"
    if fit.holds():
        return "good"
    _, columns, _ = _columns(vessel, rows)
    counted = rows.count - rows.count[0]
    trials = {"grows": solve(vessel, rows, extra=columns[:, 1] * counted / max(counted[-1], 1e-12)),
              "stroke": solve(vessel, rows, free=2), "wall": solve(vessel, rows, free=3)}
    if np.all(np.isfinite(rows.time)) and np.ptp(rows.time) > 0.0:
        root = np.sqrt(np.maximum(rows.gauge, 0.0))
        driven = np.concatenate([[0.0], np.cumsum(0.5 * (root[1:] + root[:-1]) * np.diff(rows.time))])
        trials = {"leak": solve(vessel, rows, extra=driven), **trials}
    likely = {name: trial for name, trial in trials.items() if trial.spare >= 1 and trial.holds()
              and (trial.shift > 0.0 or name in ("stroke", "wall"))}
    losing = [name for name in likely if name in ("leak", "grows")]
    first = min(losing, key=lambda name: likely[name].misfit, default="")
    best = min(likely, key=lambda name: likely[name].misfit, default="unclear")
    return first if first and likely[first].misfit <= likely[best].misfit + NEARLY else best


def error_with(vessel: Vessel, rows: Rows, fit: Fit, place: float | None) -> float:
    """Standard deviation of the air, m3, with one more reading at a gauge pressure."""
    if place is not None:
        with_air = replace(vessel.held, air=np.array([max(fit.air, 0.0)]))
        solid = float(with_air.water_to(with_air.full_gauge, np.array([place]))[0])
        rows = Rows(np.append(rows.gauge, place), np.append(rows.count, fit.start + solid),
                     np.append(rows.error, rows.error[-1]), np.append(rows.time, np.nan), np.append(rows.warmer, 0.0))
    _, columns, sigmas = _columns(vessel, rows)
    weight = 1.0 / _errors(vessel, rows.gauge, rows.error, max(fit.air, 0.0))
    known = np.zeros((3, 5))
    known[:, 2:] = np.diag(1.0 / sigmas)
    size = np.maximum(np.linalg.norm(columns, axis=0), 1e-300)
    inverse = np.linalg.pinv(np.vstack([columns * weight[:, None], known]) / size, rcond=1e-12)
    return float(np.linalg.norm(inverse[1])) / float(size[1])
