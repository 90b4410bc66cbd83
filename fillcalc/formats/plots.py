"""The charts of a page: `fillcalc.present.charts` drawn, and the same numbers in words.

What a chart holds decides how it is drawn, so a chart that is new there needs nothing here. The case's own curve is
drawn last and heaviest; curves differ by their line and their mark as well as by colour, and carry their names at
their ends.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import cycle
from textwrap import fill, wrap
from typing import TYPE_CHECKING, Any

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case.records import Case
from fillcalc.estimation.answers import Estimate
from fillcalc.formats.figure import GREY, INK, SECOND, STRONG, Frame, drawn
from fillcalc.present import charts
from fillcalc.present.charts import Bar, Bars, Chart, Curve, Subject, Upright, even_ticks, with_other_air

if TYPE_CHECKING:
    from matplotlib.axes import Axes

OWN: dict[str, Any] = {"color": STRONG, "linestyle": "-", "linewidth": 2.4, "marker": "o"}
OTHERS: Sequence[dict[str, Any]] = (
    {"color": INK, "linestyle": (0, (1, 1.4)), "linewidth": 1.2, "marker": "s"},
    {"color": SECOND, "linestyle": (0, (5, 1.6)), "linewidth": 1.2, "marker": "^"},
)
LETTER, ROW = 4.5, 10.0
"""How wide a letter and how high a row of names is, in points."""
WIDTH, HEIGHT = 150.0, 90.0
"""What is left of a drawing for its curves, in points; enough to keep names apart."""
AT_THE_END = 0.98
"""Curves that all end beyond this part of the x axis have their names in the margin beside it."""
LABEL, BESIDE = 22, 14
"""Letters in one line of a bar's name, and of a curve's beside its end."""


@dataclass(frozen=True)
class Plot:
    """One chart: its title, its drawing, and its numbers in words."""

    title: str
    svg: str
    numbers: tuple[str, ...] = ()


def charts_of(case: Case, estimate: Estimate, units: str) -> dict[str, Chart | Bars]:
    """The charts of a page by the name of their maker, in the order of the work, not drawn yet.

    The case is at likely values, the estimate that of `fillcalc.questions.likely.likely`. A chart whose numbers cannot
    be had is left out.
    """
    subject = Subject(case, estimate, with_other_air(case, float(estimate.trapped_share)), units)
    names = [str(getattr(make, "__name__", "chart")) for make in charts.MAKERS]
    made = {name: make(subject) for name, make in zip(names, charts.MAKERS, strict=True)}
    return {name: of for name, of in made.items() if of is not None}


def plot(of: Chart | Bars, name: str) -> Plot:
    """One chart or bars; `name` (letters and figures) is that of no other drawing on the page."""
    if isinstance(of, Bars):
        return Plot(of.title, _bars(of, name), of.notes)
    return Plot(of.title, "" if of.level else _chart(of, name), (*_legend(of), *of.notes))


def _legend(of: Chart) -> list[str]:
    """What the curves and the marks are, in words."""
    curves = [f"{curve.words}: {curve.said}" for curve in of.curves if curve.said]
    said = [f"{text[:1].upper()}{text[1:]}." for text in curves]
    marks = ", ".join(f"{one.words} {one.said}" for one in of.uprights)
    return [*said, f"{marks[:1].upper()}{marks[1:]}."] if marks else said


# --- curves -------------------------------------------------------------------------------------

def _chart(of: Chart, name: str) -> str:
    high = 1.75 + 0.15 * len(of.uprights)
    spoken = f"{of.title}: {' '.join(_legend(of))}"
    return drawn(Frame(name, spoken, high=high), lambda axes: _curves(axes, of))


def _heights(curve: Curve) -> Array:
    """The curve on the chart's y axis: in per cent where each curve has an axis of its own."""
    return 100.0 * curve.y / curve.y_most if curve.y_most else curve.y


def _styles(curves: Sequence[Curve]) -> list[dict[str, Any]]:
    others = cycle(OTHERS)
    return [OWN if curve.own else next(others) for curve in curves]


def _curves(axes: Axes, of: Chart) -> None:
    """All curves on one pair of axes, the own one last, under the pressures that stand on the axis."""
    styles = _styles(of.curves)
    for curve, style in sorted(zip(of.curves, styles, strict=True), key=lambda pair: pair[0].own):
        axes.plot(curve.x, _heights(curve), **style, markersize=4.5, markevery=[len(curve.x) - 1], clip_on=False)
    most_x = max(float(curve.x.max()) for curve in of.curves)
    most_y = max(float(_heights(curve).max()) for curve in of.curves)
    axes.set(xlabel=of.x_words, ylabel=of.y_words)
    if any(of.decades):
        _decades(axes, of)
    else:
        axes.set(xlim=(0.0, most_x), ylim=(0.0, 1.06 * most_y), yticks=even_ticks(most_y))
    if of.uprights:
        _uprights(axes, of.uprights, most_x, most_y)
        return
    if all(curve.x[-1] >= AT_THE_END * most_x for curve in of.curves) and len(of.curves) > 1:
        _names_beside(axes, of.curves, styles)
    else:
        _names_above(axes, of.curves, styles)
    if not of.decades[0]:
        axes.set_xticks(even_ticks(most_x))


def _decades(axes: Axes, of: Chart) -> None:
    """Axes that hold the logarithm to ten: a tick at each whole decade, and between them where those are few."""
    ends = [np.concatenate([getattr(curve, side) for curve in of.curves]) for side in "xy"]
    for axis, values, log in zip((axes.xaxis, axes.yaxis), ends, of.decades, strict=True):
        if log:
            low, high = int(np.floor(values.min())), int(np.ceil(values.max()))
            steps = (1.0,) if np.ptp(values) > 1.5 else (1.0, 2.0, 5.0)
            ticks = [step * 10.0 ** power for power in range(low, high + 1) for step in steps]
            axis.set_ticks(np.log10(ticks).tolist(), [f"{tick:g}" for tick in ticks])
    axes.set(xlim=(float(ends[0].min()) - 0.1, float(ends[0].max()) + 0.1),
             ylim=(float(ends[1].min()) - 0.1, float(ends[1].max()) + 0.25))


def _names_beside(axes: Axes, curves: Sequence[Curve], styles: Sequence[dict[str, object]]) -> None:
    """Names to the right of ends that lie above one another, long ones in lines, kept a row apart."""
    names = [wrap(curve.words, BESIDE) for curve in curves]
    wide = LETTER * max(len(line) for lines in names for line in lines) + 8.0
    most = float(axes.get_xlim()[1])
    axes.set_xlim(0.0, most * WIDTH / (WIDTH - wide))
    row = ROW / HEIGHT * float(axes.get_ylim()[1])
    below = np.inf
    ends = zip(curves, styles, names, strict=True)
    for curve, style, lines in sorted(ends, key=lambda each: -float(_heights(each[0])[-1])):
        high = 0.5 * row * len(lines)
        middle = min(float(_heights(curve)[-1]), below - high)
        below = middle - high
        axes.annotate("\n".join(lines), (most, middle), (6, 0), textcoords="offset points", va="center",
                      color=style["color"], weight="bold" if curve.own else "normal")


def _names_above(axes: Axes, curves: Sequence[Curve], styles: Sequence[dict[str, object]]) -> None:
    """Names above their ends and to the left of them, a row higher where they would run into one that is there."""
    (left, right), (bottom, top) = axes.get_xlim(), axes.get_ylim()
    point, row = (right - left) / WIDTH, ROW / HEIGHT * (top - bottom)
    taken: list[tuple[float, float, float]] = []
    for curve, style in sorted(zip(curves, styles, strict=True), key=lambda pair: float(pair[0].x[-1])):
        x, y, wide = float(curve.x[-1]), float(_heights(curve)[-1]), LETTER * len(curve.words) * point
        start, height = max(x - wide, left + 2.0 * point), y + 0.85 * row
        if start > x - wide:  # it reaches over what is to the right
            height += 0.5 * row
        while any(start < end and there < start + wide and abs(height - at) < 0.99 * row for there, end, at in taken):
            height += row
        taken.append((start, start + wide, height))
        if height > y + row:
            axes.plot([x, x], [y, height - 0.35 * row], color=style["color"], linewidth=0.6)
        axes.annotate(curve.words, (max(x, start + wide), height), (2, 0), textcoords="offset points", ha="right",
                      va="center", color=style["color"], weight="bold" if curve.own else "normal",
                      annotation_clip=False)
    axes.set_ylim(bottom, max(top, *(height + 0.7 * row for _, _, height in taken)))


MARK_COLORS = {charts.TEST_PRESSURE: STRONG, charts.PRESSURE_LIMIT: SECOND}
MARK_LINES: dict[str, object] = {charts.TEST_PRESSURE: "-", charts.PRESSURE_LIMIT: (0, (5, 1.6)),
                              "relief valve": (0, (6, 1.5, 1, 1.5))}
STALLS = (0, (1, 1.4))


def _uprights(axes: Axes, marks: Sequence[Upright], most_x: float, highest: float) -> None:
    """Pressures on the axis, each with its name and figure in a row of its own above the curve."""
    most = max(most_x, *(mark.x for mark in marks))
    step = highest * (0.12 + 0.006 * len(marks))
    axes.set(xlim=(0.0, 1.04 * most), ylim=(0.0, 1.08 * highest + step * len(marks)), xticks=even_ticks(most))
    for row, mark in enumerate(marks):
        height = 1.08 * highest + step * row
        axes.plot([mark.x, mark.x], [0, height + 0.35 * step], linewidth=1.0,
                  color=MARK_COLORS.get(mark.words, GREY), linestyle=MARK_LINES.get(mark.words, STALLS))
        left = mark.x > 0.45 * most
        axes.annotate(f"{mark.words} {mark.said}", (mark.x, height), (-3 if left else 3, 0),
                      textcoords="offset points", va="center", ha="right" if left else "left",
                      color=MARK_COLORS.get(mark.words, INK),
                      weight="bold" if mark.words == charts.TEST_PRESSURE else "normal",
                      bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6})


# --- bars ---------------------------------------------------------------------------------------

def _bars(of: Bars, name: str) -> str:
    """Thin bars from zero with their figure, or whiskers from low to high with a mark at the likely figure."""
    ranged = any(bar.low is not None for bar in of.bars)
    labels = [fill(bar.words, LABEL) for bar in of.bars]
    high = [1.0 + 0.8 * label.count("\n") for label in labels]
    middles = [sum(high[:place]) + 0.5 * (own - 1.0) for place, own in enumerate(high)]

    def draw(axes: Axes) -> None:
        for at, bar in zip(middles, of.bars, strict=True):
            (_whisker if ranged else _plain)(axes, at, bar)
        axes.set(yticks=middles, yticklabels=labels, xlabel=of.axis)
        values = [bar.high if bar.high is not None else bar.value for bar in of.bars]
        least, most = min(0.0, *values), max(values) or 1.0
        axes.set(xlim=(1.1 * least, most * (1.04 if ranged else 1.35)), ylim=(sum(high) - 0.4, -0.6))
        ticks = even_ticks(most)
        step = ticks[1] if len(ticks) > 1 else most
        axes.set_xticks((*(-step * place for place in range(int(-least / step), 0, -1)), *ticks))
        axes.grid(False, axis="y")
        axes.tick_params(axis="y", length=0)

    spoken = "; ".join(f"{bar.words} {bar.said}" for bar in of.bars)
    return drawn(Frame(name, f"{of.title}: {spoken}", high=0.42 + 0.155 * sum(high)), draw)


def _whisker(axes: Axes, at: float, bar: Bar) -> None:
    if bar.low is not None and bar.high is not None:
        axes.plot([bar.low, bar.high], [at, at], color=STRONG, linewidth=1.2, solid_capstyle="butt")
        axes.plot([bar.low, bar.high], [at, at], color=STRONG, linestyle="none", marker="|", markersize=6)
    axes.plot([bar.value], [at], color=STRONG, marker="D", markersize=4.2)


def _plain(axes: Axes, at: float, bar: Bar) -> None:
    axes.barh(at, bar.value, height=0.36, color=STRONG, linewidth=0.0)
    axes.annotate(bar.said, (max(bar.value, 0.0), at), (4, 0), textcoords="offset points", va="center", weight="bold")
