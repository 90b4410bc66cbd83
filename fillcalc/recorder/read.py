"""Bytes of a recorder's file to a Log, with every oddity told by its line; nothing is guessed in silence.

What cannot be told for sure, such as which column is the pressure or what unit it has, is a problem that says what to
write. What can, such as midnight, a row of text or a cut last line, is put right and told.
"""

from __future__ import annotations

import os
from dataclasses import dataclass, field

import numpy as np

from fillcalc.arrays import Array, Codes, Flags
from fillcalc.recorder.cells import Rows, numbers, rows_of
from fillcalc.recorder.head import DELIMITERS, LOOK, Head, columns_of, head_of, scale_of
from fillcalc.recorder.log import DAY, Column, Log, Oddity, lines_words, quoted
from fillcalc.recorder.text import bytes_of, plain_text, problem
from fillcalc.recorder.times import Layouts, moments
from fillcalc.units import show

GAP = 3.5
"""A step of so many usual ones is a gap."""
MIDNIGHT = 21600.0
"""s; a clock without a date that falls by a day less at most so much has passed midnight."""
STRAY, RUN = 3.0, 3
"""A pressure so many times the highest of all but one in a thousand, for so many rows at most, is no pressure."""
AIR = (0.85e5, 1.08e5)
"""Pa; a lowest pressure between these may be the air's, so that the record is an absolute one."""
MOST_ODDITIES = 6
"""Gaps, and clocks set back, that are told one by one."""
TEMPERATURES = (200.0, 500.0)
"""K; a figure outside is no temperature of water, wall or air."""
FEWEST = 10
"""Rows below which a file is no record."""


def read_log(path: str | os.PathLike[str], columns: str = "", unit: str = "") -> Log:
    """Return the rows of a recorder's text file in SI.

    `columns` says which is which where the head does not, such as "time=1,pressure=3" or "time=1 min,pressure=3";
    `unit` is that of the pressure. Raises CaseProblems, whatever is wrong with the file.
    """
    return log_of(bytes_of(path), os.path.basename(path), columns, unit)


def log_of(data: bytes, name: str, columns: str = "", unit: str = "") -> Log:
    """The same of a file's bytes; `name` stands in its problems."""
    text, encoding = plain_text(data, name)
    top = text.split(b"\n", LOOK)[:LOOK]
    lines = [line.decode("utf-8", "replace") for line in top]
    head = head_of(lines if len(top) < LOOK or text.count(b"\n") < LOOK else lines[:-1], name)
    used, said = columns_of(head, columns, unit, name)
    reading = _Reading(name, rows_of(text, head.delimiter, head.first), head, used,
                       [Oddity(0, sentence) for sentence in said])
    reading.is_cut = not text.endswith(b"\n")
    return reading.log(encoding)


@dataclass
class _Reading:
    """One file while it is read: what is known of its rows, and what has been told."""

    name: str
    rows: Rows
    head: Head
    columns: tuple[Column, ...]
    oddities: list[Oddity]
    is_cut: bool = False
    """Whether the last line has no end."""
    line: Codes = field(init=False)

    def log(self, encoding: str) -> Log:
        self.line = self.head.first + 1 + np.arange(len(self.rows.start))
        time, layouts = self._time()
        pressure, absolute = self._pressure()
        temperature = self._scaled("temperature")
        keep = self._good(time, pressure)
        time, pressure = time[keep], pressure[keep]
        self.line = self.line[keep]
        if temperature is not None:
            temperature = temperature[keep]
        time, order = self._in_order(time, layouts)
        pressure, temperature = pressure[order], None if temperature is None else temperature[order]
        self.line = self.line[order]
        clock, date = self._began(time, layouts)
        time, pressure, temperature = self._once(time - time[0], pressure, temperature)
        if len(time) < FEWEST:
            raise problem(self.name, f"{len(time)} usable rows", f"a record has {FEWEST} rows at least")
        self._gaps(time)
        self._reference(pressure, absolute)
        if self.head.first:
            names = f"; the column names are on line {self.head.named}" if self.head.names else ""
            self.oddities.append(Oddity(0, f"The rows begin on line {self.head.first + 1}{names}."))
        layout = (f"{encoding}, {DELIMITERS[self.head.delimiter]} between the columns, decimal "
                  f"{'comma' if self.head.decimal == ',' else 'point'}.")
        return Log(self.name, time, pressure, self._temperature(temperature), self.line, absolute, clock, date,
                   self.columns, layout, tuple(sorted(self.oddities, key=lambda one: one.line)))

    def _column(self, role: str) -> Column | None:
        return next((column for column in self.columns if column.role == role), None)

    def _tell(self, line: int, sentence: str) -> None:
        self.oddities.append(Oddity(int(line), sentence))

    # --- the columns ------------------------------------------------------------------------------

    def _time(self) -> tuple[Array, Layouts | None]:
        """Times as written, s, and how a clock is written; None where they are plain numbers."""
        column = self._column("time")
        assert column is not None
        time, layouts = moments(self.rows, column.number - 1)
        if np.isfinite(time).sum() < 0.5 * len(time):
            counted = numbers(self.rows, column.number - 1, self.head.decimal)
        else:
            counted = np.full(len(time), np.nan)
        if np.isfinite(time).sum() < np.isfinite(counted).sum():
            scale = scale_of(column.unit, "time")
            if scale is None:
                raise problem(self.name, f"column {column.number} {quoted(column.name)}, numbers without a unit",
                              f'give the unit of the time: --columns "time={column.number} s,..."', self.head.named)
            return counted * scale[0], None
        dates = self._column("date")
        if dates is not None and not layouts.dates:
            days, of_days = moments(self.rows, dates.number - 1)
            time = time + np.floor(days / DAY) * DAY
            layouts.dates, layouts.slashes, layouts.month_first = True, of_days.slashes, of_days.month_first
        return time, layouts

    def _scaled(self, role: str) -> Array | None:
        column = self._column(role)
        if column is None:
            return None
        scale = scale_of(column.unit, role)
        if scale is None:
            self._tell(self.head.named, f"column {column.number} {quoted(column.name)} has no unit and is not used: "
                       f'write --columns "...,{role}={column.number} degC".')
            return None
        return numbers(self.rows, column.number - 1, self.head.decimal) * scale[0] + scale[1]

    def _pressure(self) -> tuple[Array, bool]:
        column = self._column("pressure")
        values = self._scaled("pressure")
        assert column is not None and values is not None
        scale = scale_of(column.unit, "pressure")
        return values, scale is not None and scale[2]

    # --- rows that are none -----------------------------------------------------------------------

    def _good(self, time: Array, pressure: Array) -> Flags:
        """The rows that are a time and a pressure; the others are told."""
        good = np.isfinite(time) & np.isfinite(pressure)
        empty = self.rows.end <= self.rows.start
        if self.is_cut and good.any():
            self._cut(good)
        wrong = np.flatnonzero(~good & ~empty)
        if wrong.size and not (self.is_cut and wrong[-1] == len(good) - 1 and wrong.size == 1):
            wrong = wrong[:-1] if self.is_cut and wrong[-1] == len(good) - 1 else wrong
            first = quoted(self.rows.text(int(wrong[0])))
            many = "it is" if wrong.size == 1 else f"{wrong.size} such rows are"
            self._tell(self.line[wrong[0]], f"{first} is no time with a pressure; {many} left out" + (
                f" ({lines_words(self.line[wrong])})." if wrong.size > 1 else "."))
        if not good.any():
            raise problem(self.name, quoted(self.rows.text(0)), "no row has a time and a pressure in these columns",
                          self.head.first + 1)
        stray = np.flatnonzero(good)[_strays(pressure[good])]
        if stray.size:
            self._tell(self.line[stray[0]], f"{show(float(pressure[stray[0]]), 'pressure')} is far beyond all others; "
                       f"left out ({lines_words(self.line[stray])}).")
            good[stray] = False
        return good

    def _cut(self, good: Flags) -> None:
        """The last line where the file ends within it: a figure may lack its last digits."""
        last = len(good) - 1
        sizes = (self.rows.end - self.rows.start)[good]
        short = self.rows.count[last] < np.median(self.rows.count[good]) or (
            self.rows.end[last] - self.rows.start[last] < np.min(sizes[:-1], initial=10_000))
        if not good[last] or short:
            good[last] = False
            self._tell(self.line[last], "the file ends within this line; it is left out.")

    # --- time -------------------------------------------------------------------------------------

    def _in_order(self, time: Array, layouts: Layouts | None) -> tuple[Array, Codes]:
        """Times that rise, s, and the order of the rows for them."""
        order = np.arange(len(time))
        steps = np.diff(time)
        if np.sum(steps < 0.0) > 0.5 * len(steps):
            self._tell(0, "The newest row stands first; the rows are read from the last to the first.")
            order = order[::-1]
            time = time[::-1]
            steps = np.diff(time)
        if layouts is not None and not layouts.dates and not layouts.long_hours:
            nights = (steps < 0.0) & (steps + DAY <= MIDNIGHT)
            for at in np.flatnonzero(nights)[:MOST_ODDITIES]:
                self._tell(self.line[order[at + 1]], "the clock passes midnight.")
            time = time + np.concatenate([[0.0], np.cumsum(nights * DAY)])
            steps = np.diff(time)
        back = np.flatnonzero(steps < 0.0)
        if back.size:
            usual = float(np.median(steps[steps > 0.0])) if np.any(steps > 0.0) else 0.0
            for at in back[:MOST_ODDITIES]:
                self._tell(self.line[order[at + 1]], f"the clock goes back by {show(-float(steps[at]), 'duration')}; "
                           f"its times go on a usual step of {show(usual, 'duration')} later.")
            if back.size > MOST_ODDITIES:
                self._tell(0, f"The clock goes back {back.size} times in all.")
            lost = np.zeros(len(time))
            lost[back + 1] = usual - steps[back]
            time = time + np.cumsum(lost)
        return time, order

    def _began(self, time: Array, layouts: Layouts | None) -> tuple[float | None, str]:
        """Time of day and date of the first row."""
        if layouts is None:
            return None, ""
        if layouts.slashes and time[-1] // DAY > time[0] // DAY:
            way = "month first" if layouts.month_first else "day first"
            self._tell(0, f"The dates can be read two ways; they are read with the {way}.")
        if not layouts.seconds and not layouts.dates:
            self._tell(0, "Times of two figures are read as hours and minutes.")
        clock = float(time[0] % DAY) if layouts.clocks else None
        return clock, str(np.datetime64(int(time[0] // DAY), "D")) if layouts.dates else ""

    def _once(self, time: Array, pressure: Array, temperature: Array | None) -> tuple[Array, Array, Array | None]:
        """One row for each time: the mean of those that share it."""
        fresh = np.concatenate([[True], np.diff(time) > 0.0])
        if fresh.all():
            return time, pressure, temperature
        again, first = np.flatnonzero(~fresh), np.flatnonzero(fresh)
        self._tell(self.line[again[0]], f"the time is that of the row before; rows of one time are read as one, with "
                   f"their mean ({lines_words(self.line[again])}).")
        sizes = np.diff(np.append(first, len(time)))
        self.line = self.line[first]
        return (time[first], np.add.reduceat(pressure, first) / sizes,
                None if temperature is None else np.add.reduceat(temperature, first) / sizes)

    def _gaps(self, time: Array) -> None:
        steps = np.diff(time)
        usual = float(np.median(steps))
        gaps = np.flatnonzero(steps > GAP * usual)
        if gaps.size > MOST_ODDITIES:
            longest = int(gaps[np.argmax(steps[gaps])])
            self._tell(self.line[longest + 1], f"no row for {show(float(steps[longest]), 'duration')}, the longest of "
                       f"{gaps.size} gaps; the usual step is {show(usual, 'duration')}.")
            return
        for at in gaps:
            self._tell(self.line[at + 1], f"no row for {show(float(steps[at]), 'duration')} before it; the usual step "
                       f"is {show(usual, 'duration')}.")

    # --- values -----------------------------------------------------------------------------------

    def _temperature(self, temperature: Array | None) -> Array | None:
        """Temperatures with those that are missing filled in between their neighbours; None where half are."""
        if temperature is None:
            return None
        coldest, warmest = TEMPERATURES
        temperature = np.where((temperature >= coldest) & (temperature <= warmest), temperature, np.nan)
        missing = np.flatnonzero(~np.isfinite(temperature))
        if not missing.size:
            return temperature
        column = self._column("temperature")
        assert column is not None
        if missing.size > 0.5 * len(temperature):
            self._tell(self.line[missing[0]], f"no temperature; {missing.size} rows have none, and the column is not "
                       "used.")
            return None
        self._tell(self.line[missing[0]], f"no temperature; it is put between its neighbours "
                   f"({lines_words(self.line[missing])}).")
        known = np.isfinite(temperature)
        return np.interp(np.arange(len(temperature)), np.flatnonzero(known), temperature[known])

    def _reference(self, pressure: Array, absolute: bool) -> None:
        """What is said where gauge and absolute may be mistaken for each other."""
        lowest = float(np.quantile(pressure, 0.001))
        column = self._column("pressure")
        assert column is not None
        if absolute:
            self._tell(0, f"The pressure is absolute ({column.unit}); the air of the site is taken off.")
            if lowest < 0.5 * AIR[0]:
                self._tell(0, f"Its lowest is {show(lowest, 'pressure_abs')}, less than the air: is it gauge?")
        elif AIR[0] <= lowest <= AIR[1]:
            self._tell(0, f"The lowest pressure is {show(lowest, 'pressure')}, as the air's. If the record is "
                       f'absolute, write --unit "{column.unit} abs"; it is read as gauge.')


def _strays(pressure: Array) -> Codes:
    """Places of pressures that are none, such as the figure that a recorder writes for an overload."""
    size = np.abs(pressure)
    usual = float(np.quantile(size, 0.999, method="lower"))
    beyond = size > STRAY * usual
    if not usual or not beyond.any():
        return np.zeros(0, np.int64)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], beyond, [False]])))
    short = edges[1::2] - edges[::2] <= RUN
    return np.concatenate([np.zeros(0, np.int64), *(
        np.arange(first, last) for first, last in zip(edges[::2][short], edges[1::2][short], strict=True))])
