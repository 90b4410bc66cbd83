"""A recorder's file as it was read: its rows in SI, and every oddity of the file in a sentence with its line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fillcalc.arrays import Array, Codes
from fillcalc.units.printable import shown

MOST_LINES = 4
"""Lines that one sentence names; the others are counted."""
DAY = 86400.0


@dataclass(frozen=True)
class Oddity:
    """One oddity of a file: its first line, counted from 1 (0 where it is the whole file's), and what was done."""

    line: int
    sentence: str

    def __str__(self) -> str:
        return f"Line {self.line}: {self.sentence}" if self.line else self.sentence


@dataclass(frozen=True)
class Column:
    """One column that was used: what it is, its place counted from 1, its name in the file, and its unit as written."""

    role: str
    """ "time", "date", "pressure" or "temperature"."""
    number: int
    name: str
    unit: str


@dataclass(frozen=True, eq=False, repr=False)
class Log:
    """The rows of a recorder's file in the order of time; arrays of shape (N,), N at least 2."""

    name: str
    time_s: Array
    """From the first row on, s; strictly rising."""
    pressure_pa: Array
    """As recorded, Pa; gauge unless `absolute`."""
    temperature_k: Array | None
    """K; None where no temperature was recorded."""
    line: Codes
    """The line of each row in the file, counted from 1."""
    absolute: bool
    clock_s: float | None
    """Time of day of the first row, s since midnight; None where the file counts from its own start."""
    date: str
    """Date of the first row, such as "2026-03-04"; "" where the file has none."""
    columns: tuple[Column, ...]
    layout: str
    """How the file is written, in a sentence."""
    oddities: tuple[Oddity, ...]

    def gauge_pa(self, outside_abs: float) -> Array:
        """Gauge pressure of each row, Pa, for the pressure of the site's air, Pa abs."""
        return self.pressure_pa - outside_abs if self.absolute else self.pressure_pa

    @property
    def step_s(self) -> float:
        """The usual time between two rows, s."""
        return float(np.median(np.diff(self.time_s)))

    def clock(self, time: float) -> str:
        """A time since the first row as the file's clock shows it, "10:42" or "10:42:07"; else as "6 min 20 s"."""
        if self.clock_s is None:
            minutes, seconds = divmod(round(time), 60)
            return f"{minutes} min {seconds:02d} s" if seconds else f"{minutes} min"
        hours, rest = divmod(round(self.clock_s + time) % int(DAY), 3600)
        minutes, seconds = divmod(rest, 60)
        return f"{hours:02d}:{minutes:02d}" + (f":{seconds:02d}" if seconds else "")

    def row_of(self, time: float) -> int:
        """The row that is nearest to a time since the first, s."""
        return int(np.argmin(np.abs(self.time_s - time)))


def lines_words(lines: Sequence[int] | Codes) -> str:
    """ "line 5", "lines 5, 8 and 9" or "lines 5, 8, 9, 12 and 30 more"."""
    named = [str(int(each)) for each in lines[:MOST_LINES]]
    more = len(lines) - len(named)
    last = f"{more} more" if more else named.pop() if len(named) > 1 else ""
    return f"line{'s' if len(lines) > 1 else ''} {', '.join(named)}{f' and {last}' if last else ''}"


def quoted(text: str) -> str:
    """A text of the file between quotation marks, safe to show."""
    return f'"{shown(text.strip(), 60)}"'
