"""Dates and clocks as recorders write them, to seconds; a whole column at once."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

import numpy as np

from fillcalc.arrays import Array
from fillcalc.recorder.cells import Bytes, Rows, Worker, by_layout, whole
from fillcalc.recorder.log import DAY

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_DATE = (r"(?:(?P<y>0000)(?P<s>[-/.])(?P<m>00?)(?P=s)(?P<d>00?)"
         r"|(?P<a>00?)(?P<t>[-/.])(?P<b>00?)(?P=t)(?P<y2>0000|00)"
         r"|(?P<d3>00?)[- .](?P<month>[A-Za-z]{3})[- .](?P<y3>0000|00))")
_CLOCK = (r"(?P<h>0{1,3}):(?P<min>00)(?::(?P<sec>00)(?:[.,:](?P<part>0{1,9}))?)?"
          r"(?: ?(?P<half>[AaPp])\.?[Mm]\.?)?(?: ?(?:Z|[+-]00:?00))?")
_BOTH = re.compile(rf"(?:{_DATE})?(?:(?:T|,? +)?(?:{_CLOCK}))?$")


@dataclass
class Layouts:
    """Which layouts a column of times has; filled while it is read."""

    month_first: bool = True
    """Of 03/04/2026."""
    dates: bool = False
    clocks: bool = False
    slashes: bool = False
    """Whether a date may be read both ways."""
    seconds: bool = False
    long_hours: bool = False
    """Whether a clock has hours of three figures, which only a count of time has."""
    seen: set[str] = field(default_factory=set)

    def worker(self, layout: str) -> Worker | None:
        """The worker of a layout: s since midnight, with a date s since 1970; NaN for what no calendar has."""
        found = _BOTH.match(layout)
        if found is None or not any(found[name] for name in ("y", "y2", "y3", "h")):
            return None
        self.seen.add(layout)
        dated = found["h"] is None or found.start("h") > 0
        self.dates |= dated
        self.clocks |= found["h"] is not None
        self.seconds |= found["sec"] is not None
        self.long_hours |= found["h"] is not None and len(found["h"]) > 2
        self.slashes |= found["t"] in ("/", "-")
        return lambda digits: np.asarray(self._date(digits, found) + self._clock(digits, found))

    def _date(self, digits: Bytes, found: re.Match[str]) -> Array | float:
        def number(name: str) -> Array:
            return whole(digits, slice(*found.span(name)))

        if found["y"]:
            return _days(number("y"), number("m"), number("d")) * DAY
        if found["y2"]:
            first, second = number("a"), number("b")
            month, in_month = (first, second) if found["t"] != "." and self.month_first else (second, first)
            return _days(_century(number("y2"), found["y2"]), month, in_month) * DAY
        if found["y3"]:
            name = found["month"].casefold()
            month = np.full(digits.shape[1], float(MONTHS.index(name) + 1 if name in MONTHS else 0))
            return _days(_century(number("y3"), found["y3"]), month, number("d3")) * DAY
        return 0.0

    def _clock(self, digits: Bytes, found: re.Match[str]) -> Array | float:
        if found["h"] is None:
            return 0.0
        hour, minute = (whole(digits, slice(*found.span(name))) for name in ("h", "min"))
        if found["half"]:
            hour = np.where((hour >= 1.0) & (hour <= 12.0), hour % 12.0, np.nan) + (
                12.0 if found["half"] in "Pp" else 0.0)
        second: Array | float = 0.0
        if found["sec"]:
            second = whole(digits, slice(*found.span("sec")))
        if found["part"]:
            second = second + whole(digits, slice(*found.span("part"))) / 10.0 ** len(found["part"])
        good = (minute < 60.0) & (np.asarray(second) < 61.0)
        return np.where(good, hour * 3600.0 + minute * 60.0 + second, np.nan)


def _century(year: Array, text: str) -> Array:
    return year + 2000.0 if len(text) == 2 else year


def _days(year: Array, month: Array, in_month: Array) -> Array:
    """Days since 1970-01-01 by the calendar of today; NaN for a day that it lacks."""
    with np.errstate(invalid="ignore"):
        good = (month >= 1) & (month <= 12) & (in_month >= 1) & (in_month <= 31) & (year >= 1)
    months = (np.where(good, year, 1970.0) - 1970.0) * 12.0 + np.where(good, month, 1.0) - 1.0
    first = months.astype("datetime64[M]").astype("datetime64[D]")
    last = (months + 1.0).astype("datetime64[M]").astype("datetime64[D]")
    number = first.astype(np.int64) + np.where(good, in_month, 1.0) - 1.0
    return np.where(good & (number < last.astype(np.int64)), number, np.nan)


def moments(rows: Rows, column: int) -> tuple[Array, Layouts]:
    """The times of a column, counted from 0, in s, and its layouts; NaN where a cell is none.

    A date such as 03/04/2026 is read with the month first where no cell forbids it, unless the days of the file
    then lie further apart.
    """
    layouts = Layouts()
    read = by_layout(rows.data, *rows.cells(column), layouts.worker)
    if not layouts.slashes:
        return read, layouts
    other = Layouts(month_first=False)
    turned = by_layout(rows.data, *rows.cells(column), other.worker)
    if _worse(read, turned):
        other.slashes = np.isfinite(read).sum() == np.isfinite(turned).sum()
        return turned, other
    layouts.slashes = np.isfinite(read).sum() == np.isfinite(turned).sum()
    return read, layouts


def _worse(one: Array, other: Array) -> bool:
    """Whether the second reads more cells, or as many that lie nearer together."""
    counts = int(np.isfinite(one).sum()), int(np.isfinite(other).sum())
    if counts[0] != counts[1] or not counts[0]:
        return counts[1] > counts[0]
    return float(np.nanmax(other) - np.nanmin(other)) < float(np.nanmax(one) - np.nanmin(one))


def is_moment(text: str) -> bool:
    """Whether a cell is a date, a clock or both, by its layout."""
    return Layouts().worker(re.sub(r"\d", "0", text)) is not None
