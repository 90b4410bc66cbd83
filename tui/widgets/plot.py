"""Charts as lines of text; each can be read without colour.

A curve is a fine line of dots, or its letter again and again where a terminal lacks the dots; the case's own comes
last and heaviest. Each has its name at its end, and axes have theirs.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import ceil, floor, isfinite, log10, nan
from typing import TypeAlias

import numpy as np
from textual.content import Content
from textual.style import Style

from fillcalc.arrays import Array
from fillcalc.present.charts import Bar, Bars, Chart, Curve, even_step

STYLES = ("own", "other", "third")
"""Of the curves: the case's own, then the others in their order."""
LOWEST = 8
"""Rows below which a chart cannot be read."""
ROOM = 1.04
"""How far an axis goes beyond its largest figure."""
SPARE = 1.35
"""How far it may go, so that its ticks stand in even rows."""
ABOVE = 1.3
"""The same for the second of two axes, so that its curve keeps clear of the first."""
LONGEST_BESIDE = 12
"""Letters of the name of an x axis that stands in the row of its figures."""
DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
"""Bits of the dots of a cell, from the top, left and right."""


Spots: TypeAlias = tuple[Array, Array]
"""Points of a curve in dots, from the left and from the top."""


@dataclass(frozen=True)
class Look:
    """How parts are drawn: the style of each by its name, and whether in plain letters."""

    style: Callable[[str], Style | str]
    letters: bool = False


class Cells:
    """A page of cells, each a letter with its style."""

    def __init__(self, width: int, height: int) -> None:
        self.width, self.height = width, height
        self.letters = [[" "] * width for _ in range(height)]
        self.styles = [[""] * width for _ in range(height)]

    def write(self, row: int, column: int, text: str, style: str) -> None:
        """Write a text, as far as it lies on the page."""
        for at, letter in enumerate(text, column):
            if 0 <= row < self.height and 0 <= at < self.width:
                self.letters[row][at], self.styles[row][at] = letter, style

    def empty(self, row: int, column: int, length: int) -> bool:
        """Whether nothing stands in these cells, all of them on the page."""
        return 0 <= row < self.height and column >= 0 and column + length <= self.width and all(
            letter == " " for letter in self.letters[row][column:column + length])

    def lines(self, look: Look) -> list[Content]:
        """The rows, each in as few pieces as it has styles."""
        return [_row(letters, styles, look) for letters, styles in zip(self.letters, self.styles, strict=True)]


def _row(letters: Sequence[str], styles: Sequence[str], look: Look) -> Content:
    parts: list[tuple[str, Style | str]] = []
    start = 0
    for end in range(1, len(letters) + 1):
        if end == len(letters) or styles[end] != styles[start]:
            parts.append(("".join(letters[start:end]), look.style(styles[start]) if styles[start] else ""))
            start = end
    return Content.assemble(*parts)


# --- axes ---------------------------------------------------------------------------------------

@dataclass(frozen=True)
class Axis:
    """An axis from its low to its high end, with where its ticks lie and what stands at them."""

    low: float
    high: float
    ticks: tuple[tuple[float, str], ...]

    def part(self, values: Array | float) -> Array:
        """Where values lie, 0 at the low end and 1 at the high one."""
        return (np.asarray(values, dtype=float) - self.low) / (self.high - self.low)


def even_axis(low: float, high: float, most: int) -> Axis:
    """An axis with ticks at even steps of 1, 2 or 5, about so many of them."""
    span = high - low if high > low else 1.0
    return _stepped(low, low + span, even_step(span / max(1, most)))


def _stepped(low: float, high: float, step: float) -> Axis:
    values = [step * n for n in range(ceil(low / step - 1e-9), floor(high / step + 1e-9) + 1)]
    digits = max(0, -floor(log10(step) + 1e-9))
    return Axis(low, high, tuple((value, f"{value:.{digits}f}") for value in values))


def in_whole_rows(axis: Axis, rows: int, needed: float) -> Axis:
    """The axis with its ticks whole rows apart, so that they look even, where a little more or less of room above
    the `needed` value allows it; else as it is."""
    if len(axis.ticks) < 2:
        return axis
    step = axis.ticks[1][0] - axis.ticks[0][0]
    apart = step * (4 * rows - 1) / (4.0 * (axis.high - axis.low))
    for whole in (ceil(apart - 1e-9), floor(apart + 1e-9)):
        high = axis.low + step * (4 * rows - 1) / (4.0 * whole) if whole else nan
        if needed <= high <= SPARE * axis.high:
            return _stepped(axis.low, high, step)
    return axis


def decades(low: float, high: float, most: int) -> Axis:
    """An axis of logarithms to ten: ticks at 1, 10, 100, and at 2 and 5 between where there is room."""
    span = high - low if high > low else 1.0
    for steps in ((1.0, 2.0, 5.0), (1.0, 3.0), (1.0,)):
        ticks = [(log10(step) + power, f"{step * 10.0 ** power:.6g}") for power in range(floor(low), ceil(high) + 1)
                 for step in steps if low - 1e-9 <= log10(step) + power <= low + span + 1e-9]
        if len(ticks) <= most:
            break
    return Axis(low, low + span, tuple(ticks))


def _y_axes(chart: Chart, rows: int) -> list[Axis]:
    """The axis of each curve; one that all share where the chart has one."""
    most = max(2, rows // 2)
    if chart.curves[0].y_words and len(chart.curves) > 1:
        tops = [(curve.y_most or float(curve.y.max())) * (ABOVE if n else ROOM) for n, curve in enumerate(chart.curves)]
        return [in_whole_rows(even_axis(0.0, top or 1.0, most), rows, top / (1.0 if n else ROOM))
                for n, top in enumerate(tops)]
    ys = np.concatenate([curve.y for curve in chart.curves])
    if chart.decades[1]:
        return [decades(float(ys.min()) - 0.1, float(ys.max()) + 0.1, most)] * len(chart.curves)
    top = chart.y_most or float(ys.max()) * ROOM or 1.0
    axis = in_whole_rows(even_axis(min(0.0, float(ys.min())), top, most), rows, float(ys.max()))
    return [axis] * len(chart.curves)


def _x_axis(chart: Chart, columns: int) -> Axis:
    xs = np.concatenate([*(curve.x for curve in chart.curves), [one.x for one in chart.uprights]])
    if chart.decades[0]:
        return decades(float(xs.min()), float(xs.max()) + 0.02, max(2, columns // 7))
    return even_axis(min(0.0, float(xs.min())), float(xs.max()) * (ROOM if chart.uprights else 1.0) or 1.0,
                     max(2, columns // 7))


# --- curves -------------------------------------------------------------------------------------

def chart_lines(chart: Chart, width: int, height: int, look: Look) -> list[Content]:
    """The chart in so many rows: the names of its y axes, the curves, the ticks and name of its x axis."""
    height -= _below(chart, width)
    named = sum(bool(one.words) for one in chart.uprights)
    names = named if height - 3 - named >= LOWEST - 3 else 0
    rows = max(3, height - 3 - names)
    y_axes = _y_axes(chart, rows)
    two = len(chart.curves) > 1 and bool(chart.curves[0].y_words)
    left = max(len(text) for _, text in y_axes[0].ticks) + 1
    right = max(len(text) for _, text in y_axes[1].ticks) + 1 if two else 0
    columns = max(8, width - left - right - 2)
    x_axis = _x_axis(chart, columns)
    page = Cells(columns, rows + names)
    spots = [_spots(curve, x_axis, axis, columns, rows) for curve, axis in zip(chart.curves, y_axes, strict=True)]
    columns_of = [round(float(x_axis.part(one.x)) * (columns - 1)) for one in chart.uprights]
    _names_above(chart, page, columns_of, names)
    first = sorted(zip(chart.curves, spots, strict=True), key=lambda each: not each[0].own)
    styled = [(*each, STYLES[min(number, 2)]) for number, each in enumerate(first)]
    for curve, points, style in reversed(styled):
        _draw(page, curve, points, names, style, look)
    for curve, points, style in styled:
        _name(page, curve.words, points, names, style)
    _uprights(chart, page, columns_of, names, look)
    return _framed(chart, page, (x_axis, y_axes), (left, right, names), look)


def _below(chart: Chart, width: int) -> bool:
    """Whether the name of the x axis is so long that it takes a row below the figures instead of their places."""
    return len(chart.x_words) > min(width // 3, LONGEST_BESIDE)


def _spots(curve: Curve, x_axis: Axis, y_axis: Axis, columns: int, rows: int) -> Spots:
    """Points along the curve in dots, half a dot apart: from the left, and from the top."""
    across = np.clip(x_axis.part(curve.x), 0.0, 1.0) * (2 * columns - 1)
    down = (1.0 - np.clip(y_axis.part(curve.y), 0.0, 1.0)) * (4 * rows - 1)
    way = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(across), np.diff(down)))])
    at = np.append(np.arange(0.0, way[-1], 0.5), way[-1])
    return np.interp(at, way, across), np.interp(at, way, down)


def _draw(page: Cells, curve: Curve, spots: Spots, top: int, style: str, look: Look) -> None:
    across, down = (np.rint(values).astype(int) for values in spots)
    if curve.x.size == 1:
        page.write(top + down[0] // 4, across[0] // 2, "X" if look.letters else "◆", style)
        return
    if look.letters:
        for row, column in dict.fromkeys(zip((down // 4).tolist(), (across // 2).tolist(), strict=True)):
            page.write(top + row, column, curve.mark, style)
        return
    dots = set(zip(down.tolist(), across.tolist(), strict=True))
    if style == STYLES[0]:
        dots |= {(row + 1, column) for row, column in dots if row + 1 < 4 * (page.height - top)}
    cells: dict[tuple[int, int], int] = {}
    for row, column in dots:
        cell = (row // 4, column // 2)
        cells[cell] = cells.get(cell, 0) | DOTS[row % 4][column % 2]
    for (row, column), bits in cells.items():
        there = ord(page.letters[top + row][column]) - 0x2800
        page.write(top + row, column, chr(0x2800 + (bits | (there if 0 < there < 256 else 0))), style)


def _name(page: Cells, words: str, spots: Spots, top: int, style: str) -> None:
    """The name of a curve at its end, or as near to it as there is room."""
    row, column = top + round(spots[1][-1]) // 4, round(spots[0][-1]) // 2
    size = len(words)
    columns, rows = (np.rint(values).astype(int) // part for values, part in zip(spots, (2, 4), strict=True))
    for here in dict.fromkeys(reversed(rows.tolist())):
        there = columns[rows == here]
        for start in (int(there.max()) + 2, int(there.min()) - size - 1):
            room = min(size + 2, page.width - start + 1)
            if start > 0 and room > size and page.empty(top + here, start - 1, room):
                page.write(top + here, start, words, style)
                return
    for near in range(page.height):
        for at in ((row, column + 2), (row - near, column - size - 1), (row + near, column - size - 1),
                   (row - near, column - size), (row + near, column - size + 1), (row - near, column + 2),
                   (row + near, column + 2)):
            if page.empty(at[0], at[1] - 1 if at[1] else 0, size + 1):
                page.write(*at, words, style)
                return


def _names_above(chart: Chart, page: Cells, columns: Sequence[int], names: int) -> None:
    """The names of the lines that stand on the x axis, each in a row of its own above the curves."""
    named = [(one, column) for one, column in zip(chart.uprights, columns, strict=True) if one.words]
    for number, (one, column) in enumerate(named):
        words = f"{one.words} {one.said}" if names else one.mark
        before = column - len(words) - 1
        page.write(number if names else 0, before if before >= 0 else column + 2, words, "mark")


def _uprights(chart: Chart, page: Cells, columns: Sequence[int], names: int, look: Look) -> None:
    """The lines that stand on the x axis, behind everything; one without a name does not reach above the curves."""
    number = 0
    for one, column in zip(chart.uprights, columns, strict=True):
        letter, style = ("┊", "mark") if one.words else ("│", "strong")
        for row in range((number if names else 0) if one.words else names, page.height):
            if page.empty(row, column, 1) and not page.styles[row][column]:  # nor inside a name
                page.write(row, column, "|" if look.letters else letter, style)
        number += bool(one.words)


def _framed(chart: Chart, page: Cells, axes: tuple[Axis, list[Axis]], gutters: tuple[int, int, int],
            look: Look) -> list[Content]:
    """The curves with their axes: a thin line to the left and below, figures at even steps, names at the ends."""
    (x_axis, y_axes), (left, right, names) = axes, gutters
    rows = page.height - names
    side, corner, ground, notch = ("|", "+", "-", "+") if look.letters else ("│", "└", "─", "┴")
    faint = look.style("faint")
    ends = (chart.curves[0].y_words or chart.y_words, chart.curves[1].y_words if right else "")
    gap = max(2, left + page.width + right + 1 - len(ends[0]) - len(ends[1]))
    lines = [Content.styled(f" {ends[0]}{' ' * (gap - 1)}{ends[1]}", faint)]
    texts = [["", ""] for _ in range(page.height)]
    for side_of, axis in enumerate(y_axes[:2] if right else y_axes[:1]):
        for value, text in axis.ticks:
            texts[names + round((1.0 - float(axis.part(value))) * (4 * rows - 1)) // 4][side_of] = text
    for row, drawn in enumerate(page.lines(look)):
        lines.append(Content.assemble((f"{texts[row][0]:>{left - 1}} {side}", faint), drawn,
                                      (f" {texts[row][1]}", faint)))
    base, figures = [ground] * page.width, [" "] * (page.width + 6)
    for value, text in x_axis.ticks:
        column = round(float(x_axis.part(value)) * (page.width - 1))
        start = max(0, column - len(text) // 2)
        if all(letter == " " for letter in figures[max(0, start - 1):start + len(text)]):
            base[column] = notch
            figures[start:start + len(text)] = text
    below = "".join(figures).rstrip()
    lines.append(Content.styled(f"{' ' * left}{corner}{''.join(base)}", faint))
    room = page.width - len(below)
    if _below(chart, left + page.width + right + 2):
        lines += [Content.styled(f"{' ' * (left + 1)}{text}", faint)
                  for text in (below, f"{chart.x_words:>{page.width}}")]
    elif room >= len(chart.x_words) + 2:
        lines.append(Content.styled(f"{' ' * (left + 1)}{below}{chart.x_words:>{room}}", faint))
    else:
        end = max(0, page.width - len(chart.x_words))
        kept = below[:max(0, end - 2)]
        kept = kept if below[len(kept):len(kept) + 1] in (" ", "") else kept.rpartition(" ")[0]
        kept = f"{kept:<{end}}{chart.x_words}"
        lines.append(Content.styled(f"{' ' * (left + 1)}{kept}", faint))
    return lines


# --- bars ---------------------------------------------------------------------------------------

def largest(chart: Bars, most: int) -> tuple[Bars, int]:
    """The bars that fit, in their order, and how many of the smallest are left out."""
    if len(chart.bars) <= most:
        return chart, 0
    by_size = sorted(chart.bars, key=lambda b: -abs(b.high if b.high is not None else b.value))
    kept = set(map(id, by_size[:most]))
    return replace(chart, bars=tuple(b for b in chart.bars if id(b) in kept)), len(chart.bars) - most


LONGEST_NAME, SHORTEST_BAR = 34, 12
"""Columns of the words of a bar, and of the bars while their words go before."""


def bar_lines(chart: Bars, width: int, look: Look) -> list[Content]:
    """Bars as rows: the words, a thin bar or a whisker with its likely figure marked, the figure."""
    if not chart.bars:
        return []
    lines = [b.said.partition("; ")[::2] for b in chart.bars]
    figure, ends = (max(map(len, column)) for column in zip(*lines, strict=True))
    words = min(LONGEST_NAME, max(len(b.words) for b in chart.bars),
                max(8, width // 2 - 8, width - figure - ends - 6 - SHORTEST_BAR))
    room = max(4, width - words - figure - ends - (6 if ends else 4))
    most = max(max(b.high if b.high is not None else b.value, 0.0) for b in chart.bars) or 1.0
    least = min(0.0, *(b.value for b in chart.bars), 0.0)
    ranged = any(b.low is not None for b in chart.bars)
    scale = (room - 1) / (most - least)
    return [Content.assemble(f" {_short(b.words, words, look.letters):<{words}} ",
                             (_bar(b, least, scale, room, ranged, look.letters), look.style("own")),
                             f" {said:>{figure}}{f'  {range_:>{ends}}' if ends else ''}")
            for b, (said, range_) in zip(chart.bars, lines, strict=True)]


def _short(text: str, most: int, letters: bool) -> str:
    end = ".." if letters else "…"
    return text if len(text) <= most else f"{text[:most - len(end)].rstrip()}{end}"


def _bar(bar: Bar, least: float, scale: float, room: int, ranged: bool, letters: bool) -> str:
    """One bar; among whiskers a figure without a range is its mark alone."""
    full, line, point, ends = ("=", "-", "o", "||") if letters else ("━", "─", "●", "├┤")
    zero = round(-least * scale)
    cells = [" "] * room

    def at(value: float) -> int:
        return min(room - 1, max(0, round((value - least) * scale)))

    if bar.low is None and ranged:
        cells[at(bar.value)] = point
        return "".join(cells)
    if bar.low is None or bar.high is None or not isfinite(bar.high):
        start, end = sorted((zero, at(bar.value)))
        cells[start:end + 1] = [full] * (end + 1 - start)
        return "".join(cells)
    start, end = at(bar.low), max(at(bar.low), at(bar.high))
    cells[start:end + 1] = [line] * (end + 1 - start)
    cells[start], cells[end] = ends[0], ends[1]
    cells[min(max(at(bar.value), start), end)] = point
    return "".join(cells)
