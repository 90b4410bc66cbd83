"""Rows and cells as places in the bytes of a text, and the values of a whole column at once.

A column of a recorder has few layouts: "00:00:00", "00.00". Each is read once in words, and all cells of that layout
are then worked out together, digit by digit; so a million rows take parts of a second.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from fillcalc.arrays import Array, Codes

Bytes: TypeAlias = NDArray[np.uint8]
Places: TypeAlias = Codes
Worker: TypeAlias = Callable[[Bytes], Array]
"""Values of cells of one layout from their digits, shape (length, cells); what is no digit there is anything."""

LONGEST = 40
"""Characters of a cell that can be a time or a number."""
MOST_LAYOUTS = 60
"""Layouts of one length that are worked out together; further ones are read one by one."""
BLOCK = 1 << 15
"""Cells that are worked out together: as many as a processor keeps at hand."""
EXACT = 15
"""Digits of a whole number that a float holds exactly."""
BLANK = np.zeros(256, bool)
BLANK[[0x20, 0x22]] = True
"""What is taken off both ends of a cell: spaces and quotation marks."""


@dataclass(frozen=True, eq=False)
class Rows:
    """Lines of a text: its bytes, where each begins and ends (shape (rows,)), and how many columns each has."""

    data: Bytes
    start: Places
    end: Places
    delimiter: int
    marks: Places
    """Where the delimiters stand."""
    first: Places
    """The first of the marks in or after each row."""
    count: Places
    """Columns of each row."""

    def cells(self, column: int) -> tuple[Places, Places]:
        """Where the cells of a column, counted from 0, begin and end; spaces and quotation marks taken off. A row
        that lacks the column has an empty cell."""
        has, last = column < self.count, column == self.count - 1
        safe = np.append(self.marks, len(self.data) - 1)
        start = self.start if column == 0 else np.where(has, safe[np.minimum(
            self.first + column - 1, len(self.marks))] + 1, self.end)
        end = np.where(last | ~has, self.end, safe[np.minimum(self.first + column, len(self.marks))])
        start, end = start.copy(), end.copy()
        while np.any(off := (start < end) & BLANK[self.data[start]]):
            start += off
        while np.any(off := (start < end) & BLANK[self.data[end - 1]]):
            end -= off
        return start, end

    def text(self, row: int) -> str:
        """The whole of a row."""
        return bytes(self.data[self.start[row]:self.end[row]]).decode("utf-8", "replace")


def rows_of(text: bytes, delimiter: str, first_line: int) -> Rows:
    """The lines of a text from one on, counted from 0, parted by a delimiter; one within quotation marks parts
    nothing."""
    data = np.frombuffer(text if text.endswith(b"\n") else text + b"\n", np.uint8)
    ends = np.flatnonzero(data == 10)
    starts = np.concatenate([[0], ends[:-1] + 1])
    marks = np.flatnonzero(data == ord(delimiter))
    if b'"' in text and marks.size:
        seen = np.concatenate([[0], np.flatnonzero(data == 34)])
        before = np.searchsorted(seen, marks) - np.searchsorted(seen, starts[np.searchsorted(ends, marks)])
        marks = marks[before % 2 == 0]
    starts, ends = starts[first_line:], ends[first_line:]
    first = np.searchsorted(marks, starts)
    return Rows(data, starts, ends, ord(delimiter), marks, first, np.searchsorted(marks, ends) - first + 1)


def by_layout(data: Bytes, start: Places, end: Places, worker: Callable[[str], Worker | None],
              one: Callable[[str], float] | None = None) -> Array:
    """The values of cells, shape (cells,), NaN where a cell is none.

    `worker` is asked once for each layout, in which every digit is 0; cells of a layout that it does not know go to
    `one`, each as its text.
    """
    values = np.full(len(start), np.nan)
    for first in range(0, len(start), BLOCK):
        part = slice(first, first + BLOCK)
        values[part] = _of_block(data, start[part], end[part], worker, one)
    return values


def _of_block(data: Bytes, start: Places, end: Places, worker: Callable[[str], Worker | None],
              one: Callable[[str], float] | None) -> Array:
    values = np.full(len(start), np.nan)
    sizes = end - start
    for length in np.unique(sizes):
        if not 0 < length <= LONGEST:
            continue
        rows = np.flatnonzero(sizes == length)
        at = start[rows]
        signs = np.stack([data[at + place] for place in range(length)])
        digits = signs - np.uint8(48)
        is_digit = digits < 10
        left, alone = np.arange(len(rows)), []
        for _ in range(MOST_LAYOUTS):
            if not left.size:
                break
            whole = left.size == len(rows)
            sign, number = signs[:, left[0]], is_digit[:, left[0]]
            alike = np.ones(left.size, bool)
            for place in range(length):
                row = is_digit[place] if number[place] else signs[place] == sign[place]
                alike &= row if whole else row[left]
            layout = bytes(np.where(number, np.uint8(48), sign)).decode("utf-8", "replace")
            work, mine = worker(layout), left[alike]
            if work is None:
                alone.append(mine)
            else:
                values[rows[mine]] = work(digits if mine.size == len(rows) else digits[:, mine])
            left = left[~alike]
        if one is not None:
            for row in rows[np.concatenate([*alone, left])]:
                values[row] = one(bytes(data[start[row]:end[row]]).decode("utf-8", "replace"))
    return values


def whole(digits: Bytes, place: slice) -> Array:
    """The whole number that stands in some places of a layout."""
    value = np.zeros(digits.shape[1])
    for row in digits[place]:
        value = value * 10.0 + row
    return value


_NUMBER = {mark: re.compile(rf"([+-]?)(0*)(?:{re.escape(mark)}(0*))?$") for mark in ".,"}
_FLOAT = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?$")


def number_worker(decimal: str) -> Callable[[str], Worker | None]:
    """The worker of plain numbers with this decimal mark."""

    def worker(layout: str) -> Worker | None:
        found = _NUMBER[decimal].match(layout)
        if found is None or not 0 < len(found[2]) + len(found[3] or "") <= EXACT:
            return None
        sign = -1.0 if found[1] == "-" else 1.0
        front, back = slice(*found.span(2)), slice(*found.span(3)) if found[3] else slice(0, 0)
        scale = 10.0 ** len(found[3] or "")
        return lambda digits: sign * (whole(digits, front) * scale + whole(digits, back)) / scale

    return worker


def numbers(rows: Rows, column: int, decimal: str) -> Array:
    """The numbers of a column, counted from 0; NaN where a cell is none. An exponent may follow."""

    def one(text: str) -> float:
        text = text.replace(decimal, ".") if decimal == "," and "." not in text else text
        return float(text) if _FLOAT.match(text) else np.nan

    return by_layout(rows.data, *rows.cells(column), number_worker(decimal), one)
