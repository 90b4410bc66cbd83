"""How a figure is printed that has a low and a high: one unit for all three, and no finer than they can bear."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fillcalc.units.quantity import _digits, axis, show
from fillcalc.units.tables import FAMILIES

CERTAIN = 0.01
"""Spread over the likely figure below which a figure keeps its usual digits."""
PARTS = 5.0
"""Steps of the last digit between the likely figure and the nearer end of its range, at least."""
CLOCK = (1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1800.0, 3600.0, 7200.0, 14400.0, 43200.0, 86400.0)
"""Steps of a time, s."""
FINEST_OF_HOURS = 300.0
"""Finest step of a time told in hours, s."""
MINUTE, HOUR, DAY = 60.0, 3600.0, 86400.0


@dataclass(frozen=True)
class Three:
    """Low, likely and high of one quantity in SI; NaN where one cannot be had."""

    low: float
    likely: float
    high: float


def rounded(three: Three, family: str, units: str = "metric") -> Three:
    """Return the three in SI, rounded to a common step that their spread can bear.

    The step is at most a fifth of the way from the likely figure to its nearer end (a twenty-fifth of the spread
    where that is larger), and at least the last of three digits; a spread below one per cent leaves the figures alone.
    A temperature with a spread is rounded to the whole degree.
    """
    known = [value for value in (three.low, three.likely, three.high) if math.isfinite(value)]
    spread = max(known, default=0.0) - min(known, default=0.0)
    size = max(map(abs, known), default=0.0)
    if FAMILIES[family].dimension == "temperature" and spread > 0.0:
        degrees = axis(family, units)
        return Three(*(round((value - degrees.offset) / degrees.factor) * degrees.factor + degrees.offset
                       if math.isfinite(value) else value for value in (three.low, three.likely, three.high)))
    if not spread > CERTAIN * size:
        return three
    nearer = min((abs(end - three.likely) for end in (three.low, three.high) if math.isfinite(end - three.likely)),
                 default=0.0)
    unit = _clock(_reference(three)) if family == "duration" else axis(family, units, abs(_reference(three))).factor
    step = max(nearer, spread / PARTS) / PARTS / unit
    if family == "duration":
        step = max(_step_of_clock(step * unit), FINEST_OF_HOURS if unit == HOUR else 0.0) / unit
    else:
        step = _nice(step)
    if unit != HOUR or family != "duration":  # hours have their minutes beside them
        step = max(step, _third_digit(_reference(three) / unit) if _reference(three) else step)
    if family == "strokes":
        return Three(*(_up(value, step) for value in (three.low, three.likely, three.high)))
    return Three(*(round(value / unit / step) * step * unit if math.isfinite(value) else value
                   for value in (three.low, three.likely, three.high)))


def show_range(low: float, high: float, family: str, units: str = "metric", like: float = math.nan,
               missing: str = "–") -> str:
    """Return "1.4 to 4.3 min": both ends in the unit in which `like` is shown; "" where both read the same.

    `like` is the likely figure, SI; left out, the high end, or the low where the high cannot be had. An end that
    cannot be had reads `missing`.
    """
    reference = next((value for value in (like, high, low) if math.isfinite(value) and value), math.nan)
    ends = column([[low, high]], family, units, reference, missing)
    if ends.cells[0][0] == ends.cells[0][1]:
        return ""
    if not ends.unit:
        return " to ".join(ends.cells[0])
    bare = [cell == missing for cell in ends.cells[0]]
    first, last = ends.cells[0]
    return f"{first} to {last}" if all(bare) else f"{first} {ends.unit} to {last}" if bare[1] else \
        f"{first} to {last} {ends.unit}"


def show_ends(low: float, high: float, family: str, units: str = "metric", like: float = math.nan,
              missing: str = "–") -> tuple[str, str]:
    """Return both ends, each with the unit in which `like` is shown: ("29 min", "34 min"); empty where both read the
    same. What is left out is as for `show_range`."""
    reference = next((value for value in (like, high, low) if math.isfinite(value) and value), math.nan)
    ends = column([[low, high]], family, units, reference, missing)
    first, last = ends.cells[0]
    if first == last:
        return "", ""
    three = [cell if cell == missing else f"{cell} {ends.unit}".rstrip() for cell in (first, last)]
    return three[0], three[1]


@dataclass(frozen=True)
class Column:
    """Cells that share one unit, and that unit; empty where it stands in the cells, as in "4 h 20 min"."""

    unit: str
    cells: tuple[tuple[str, ...], ...]


def column(rows: Sequence[Sequence[float]], family: str, units: str = "metric", like: float = math.nan,
           missing: str = "–") -> Column:
    """Return the values, SI, in one unit: that in which `like` is shown, left out the largest of them."""
    known = [abs(value) for row in rows for value in row if math.isfinite(value)]
    reference = abs(like) if math.isfinite(like) else max(known, default=math.nan)
    if family == "duration":
        unit = _clock(reference)
        name = {1.0: "s", MINUTE: "min", HOUR: "", DAY: "d"}[unit]
        return Column(name, tuple(tuple(missing if not math.isfinite(value) else _hours(value) if unit == HOUR
                                        else _in(value, unit) for value in row) for row in rows))
    if family == "ratio":
        return Column("times", tuple(tuple(missing if not math.isfinite(value) else _digits(value) for value in row)
                                     for row in rows))
    if family in ("strokes", "count"):
        return Column("", tuple(tuple(missing if not math.isfinite(value) else show(value, family) for value in row)
                                for row in rows))
    chosen = axis(family, units, reference)
    return Column(chosen.unit, tuple(tuple(
        missing if not math.isfinite(value) else _digits((value - chosen.offset) / chosen.factor)
        for value in row) for row in rows))


def _third_digit(value: float) -> float:
    return 10.0 ** (math.floor(math.log10(abs(value))) - 2)


def _reference(three: Three) -> float:
    """The figure whose unit all three are shown in."""
    return next((value for value in (three.likely, three.high, three.low) if math.isfinite(value) and value), 0.0)


def _clock(seconds: float) -> float:
    """The unit of a column of times, as `show` picks it: seconds, minutes, hours with minutes, days."""
    if not seconds >= 89.5:
        return 1.0
    return MINUTE if round(seconds / MINUTE) < 60 else HOUR if seconds < 100 * DAY else DAY


def _in(value: float, unit: float) -> str:
    number = value / unit
    return _digits(round(number, 1 if abs(number) < 9.95 else 0))


def _hours(seconds: float) -> str:
    if abs(seconds) >= 48 * HOUR:
        return show(seconds, "duration")
    minutes = round(seconds / MINUTE)
    return f"{minutes // 60} h {minutes % 60:02d} min"


def _nice(step: float) -> float:
    """The largest power of ten up to `step`."""
    return 10.0 ** math.floor(math.log10(step) + 1e-9) if step > 0.0 else 1e-12


def _step_of_clock(step: float) -> float:
    return max((one for one in CLOCK if one <= step), default=_nice(step))


def _up(value: float, step: float) -> float:
    """Strokes to the next step above, as `show` counts them."""
    return math.ceil(value / step - 1e-9) * step if math.isfinite(value) else value
