"""Drawing charts in a terminal; each can be read without colour.

Curves are drawn by textual-plot: a fine line, and on it the letter of the curve; or the letter alone for
terminals whose letters lack the fine dots. Bars are plain text.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.content import Content
from textual.widgets import Static
from textual_hires_canvas import HiResMode
from textual_plot import PlotWidget
from textual_plot.axis_formatter import AxisFormatter, NumericAxisFormatter

from fillcalc.present.charts import Bar, Bars, Chart, Curve

Array = np.ndarray

LETTER_EVERY = 12
"""Cells between two letters on a fine line."""
MARGIN = 8


class Decades(AxisFormatter):
    """Labels for an axis of logarithms to ten: 0.1, 1, 10, and 2 and 5 between where there is room."""

    def get_ticks(self, min_: float, max_: float, max_ticks: int = 8) -> list[float]:
        span = max_ - min_
        steps = (1.0, 1.5, 2.0, 3.0, 5.0, 7.0) if span < 0.8 else (1.0, 2.0, 5.0) if span < 2.5 else (1.0,)
        powers = range(int(np.floor(min_)), int(np.ceil(max_)) + 1)
        ticks = [float(np.log10(step) + power) for power in powers for step in steps]
        return [tick for tick in ticks if min_ - 1e-9 <= tick <= max_ + 1e-9]

    def get_labels_for_ticks(self, ticks: Sequence[float]) -> list[str]:
        return [f"{10**tick:.3g}" if 10**tick < 1000 else f"{10**tick:.0f}" for tick in ticks]


class Numbers(NumericAxisFormatter):
    """Plain numbers, for ranges of any size."""

    def get_ticks(self, min_: float, max_: float, max_ticks: int = 8) -> list[float]:
        return super().get_ticks(min_, max_, max_ticks) if max_ - min_ > 1e-12 else [min_]


class Plot(PlotWidget, can_focus=False):
    """The plot without zooming, with our letters and colours."""

    COMPONENT_CLASSES = {"plot--a", "plot--b", "plot--c", "plot--upright"}

    def __init__(self, id: str | None = None) -> None:
        super().__init__(id=id, allow_pan_and_zoom=False)
        self.chart: Chart | None = None
        self.letters_only = False

    def on_mount(self) -> None:
        self.margin_top, self.margin_bottom, self.margin_left = 0, 1, MARGIN
        super().on_mount()
        if self.chart is not None:
            self.draw(self.chart)

    def draw(self, chart: Chart) -> None:
        self.chart = chart
        self.clear()
        for set_formatter, decades in ((self.set_x_formatter, chart.decades[0]),
                                       (self.set_y_formatter, chart.decades[1])):
            set_formatter(Decades() if decades else Numbers())
        self._limits(chart)
        for curve in chart.curves:
            self._curve(curve)
        for number, upright in enumerate(chart.uprights):
            style, rows = self._style("plot--upright"), max(4, self.size.height)
            height = np.linspace(self._y_min, self._y_max, 2 * rows)
            self.scatter(np.full(height.size, upright.x), height, "│", style)
            self.scatter([upright.x], [self._y_max * (1 - (0.5 + number) / rows)], upright.words, style)

    def _limits(self, chart: Chart) -> None:
        xs = np.concatenate([*(c.x for c in chart.curves), [u.x for u in chart.uprights]])
        ys = np.concatenate([c.y for c in chart.curves])
        x_low, y_low = (float(xs.min()), float(ys.min()))
        room = (float(xs.max()) - min(x_low, 0.0)) * (0.03 if chart.uprights else 0.0)
        self.set_xlimits(x_low if chart.decades[0] else min(0.0, x_low), (float(xs.max()) + room) or 1.0)
        top = chart.y_most or float(ys.max()) * 1.05 or 1.0
        self.set_ylimits(y_low - 0.1 if chart.decades[1] else min(0.0, y_low), top)

    def _curve(self, curve: Curve) -> None:
        style = self._style(f"plot--{curve.mark}" if curve.mark in "abc" else "plot--upright")
        if curve.x.size < 2:
            self.scatter(curve.x, curve.y, curve.mark, style)
            return
        if not self.letters_only:
            self.plot(curve.x, curve.y, style, HiResMode.BRAILLE)
        x, y = self._along(curve, 1 if self.letters_only else LETTER_EVERY)
        self.scatter(x, y, curve.mark, style)

    def _along(self, curve: Curve, every: int) -> tuple[Array, Array]:
        """Points on the curve, so many cells of the terminal apart along it."""
        wide, high = max(8, self.size.width - MARGIN), max(4, self.size.height - 2)
        across = curve.x / (self._x_max - self._x_min) * wide
        up = curve.y / (self._y_max - self._y_min) * high
        way = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(across), np.diff(up)))])
        at = np.arange(every / 2, way[-1], every)
        return np.interp(at, way, curve.x), np.interp(at, way, curve.y)

    def _style(self, name: str) -> str:
        return str(self.get_component_rich_style(name))


class ChartPanel(Vertical):
    """One chart: its title, the drawing, and its numbers as text."""

    def __init__(self, id: str | None = None, classes: str | None = None) -> None:
        super().__init__(id=id, classes=classes)
        self.shown: Chart | Bars | None = None
        self.letters_only = False
        self.old = False
        self.count = ""

    def compose(self) -> ComposeResult:
        yield Static(classes="chart-title", markup=False)
        yield Plot()
        yield Static(classes="chart-bars", markup=False)
        yield Static(classes="chart-notes", markup=False)

    def draw(self, chart: Chart | Bars | None, count: str, old: bool) -> None:
        """Draw a chart; None says that it cannot be had."""
        if chart is self.shown and old == self.old:
            return
        self.shown, self.old = chart, old
        bars, notes = self.query_one(".chart-bars", Static), self.query_one(".chart-notes", Static)
        plot = self.query_one(Plot)
        self.count = count
        self.mark_old(old)
        plot.display = isinstance(chart, Chart)
        bars.display = isinstance(chart, Bars)
        if isinstance(chart, Chart):
            plot.letters_only = self.letters_only
            plot.draw(chart)
            axes = f" up: {chart.y_words}   across: {chart.x_words}"
            notes.update(Content("\n".join((axes, *(f" {n}" for n in chart.notes if n)))))
        elif isinstance(chart, Bars):
            chart, left_out = largest(chart, max(3, self.size.height - 3))
            bars.update(Content("\n").join(bar_lines(chart, max(20, self.size.width), self.letters_only)))
            more = f"The report has {left_out} smaller ones." if left_out else ""
            notes.update(Content("\n".join(f" {n}" for n in (*chart.notes, more) if n)))
        else:
            notes.update("")

    def mark_old(self, old: bool) -> None:
        """Say in the title whether the chart belongs to an older text."""
        self.old = old
        chart = self.shown
        title = chart.title if chart is not None else "No chart: its numbers cannot be had"
        head = f" {'was: ' if old else ''}{title}"
        self.query_one(".chart-title", Static).update(Content.assemble((head, "bold"), f"  {self.count}"))

    def on_resize(self) -> None:
        chart, self.shown = self.shown, None
        if chart is not None:
            self.draw(chart, self.count, self.old)


def largest(chart: Bars, most: int) -> tuple[Bars, int]:
    """The bars that fit, in their order, and how many of the smallest are left out."""
    if len(chart.bars) <= most:
        return chart, 0
    by_size = sorted(chart.bars, key=lambda b: -abs(b.high if b.high is not None else b.value))
    kept = set(map(id, by_size[:most]))
    return replace(chart, bars=tuple(b for b in chart.bars if id(b) in kept)), len(chart.bars) - most


def bar_lines(chart: Bars, width: int, letters_only: bool) -> list[Content]:
    """Bars as text: the words, the bar, the figure."""
    words = min(26, max(len(b.words) for b in chart.bars)) + 1
    said = max(len(b.said) for b in chart.bars) + 1
    room = max(4, width - words - said - 3)
    most = max(max(b.high if b.high is not None else b.value, 0.0) for b in chart.bars) or 1.0
    least = min(0.0, *(b.value for b in chart.bars), 0.0)
    scale = room / (most - least)
    return [Content(f" {b.words[:words - 1]:<{words}}") + Content(_bar(b, least, scale, room, letters_only))
            + Content(f" {b.said}") for b in chart.bars]


def _bar(bar: Bar, least: float, scale: float, room: int, letters_only: bool) -> str:
    full, line, point = ("#", "-", "o") if letters_only else ("█", "─", "●")
    zero = round(-least * scale)
    at = min(room - 1, max(0, round((bar.value - least) * scale)))
    if bar.low is None or bar.high is None:
        start, end = sorted((zero, round((bar.value - least) * scale)))
        return (" " * start + full * max(1, end - start))[:room].ljust(room)
    start = min(room - 1, round((bar.low - least) * scale))
    end = min(room - 1, max(start, round((bar.high - least) * scale)))
    cells = [" "] * room
    cells[start:end + 1] = [line] * (end + 1 - start)
    cells[min(max(at, start), end)] = point
    return "".join(cells)
