"""The charts of a page: `fillcalc.present.charts` drawn, and the same numbers in words.

Curves differ by their line and their mark as well as by colour, and carry their names beside them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from fillcalc.case.records import Case
from fillcalc.estimation.answers import Estimate
from fillcalc.formats.figure import FAINT, GREY, INK, SECOND, STRONG, Frame, drawn
from fillcalc.present import charts
from fillcalc.present import sentences as words
from fillcalc.present.charts import PRESSURE_LIMIT, TEST_PRESSURE, Bar, Bars, Chart, Curve, Subject, with_other_air

if TYPE_CHECKING:
    from matplotlib.axes import Axes

STYLES: Sequence[dict[str, Any]] = (
    {"color": STRONG, "linestyle": "-", "linewidth": 2.2, "marker": "o"},
    {"color": INK, "linestyle": (0, (1, 1.4)), "marker": "s"},
    {"color": SECOND, "linestyle": (0, (5, 1.6)), "marker": "^"},
)
"""The case's own line first, then the others."""


@dataclass(frozen=True)
class Plot:
    """One chart: its title, its drawing, and its numbers in words."""

    title: str
    svg: str
    numbers: tuple[str, ...] = ()


def plots(case: Case, estimate: Estimate, units: str, prefix: str = "") -> dict[str, Plot]:
    """The charts of a page by the name of their maker, in the order of the work.

    The case is at likely values, the estimate that of `fillcalc.questions.likely.likely`; `prefix` (letters and
    figures) tells the drawings of several cases on one page apart. A chart whose numbers cannot be had is left out.
    """
    subject = Subject(case, estimate, with_other_air(case, float(estimate.trapped_share)), units)
    sentences = (words.fill_sentences, words.pump_sentences, words.limit_sentences)
    filling, pumping, limits = (tuple(said(case, estimate, units)) for said in sentences)
    drawing: dict[str, tuple[Any, Callable[[Any, str], str], tuple[str, ...]]] = {
        "filling": (charts.filling, _two_axes, filling), "losses": (charts.losses, drawn_bars, ()),
        "pumping": (charts.pumping, _curves, pumping), "pump_curve": (charts.pump_curve, _against_limits, limits),
        "stages": (charts.stages, drawn_bars, ())}
    made = {name: (make(subject), draw, said) for name, (make, draw, said) in drawing.items()}
    return {name: Plot(told.title, "" if _level(told) else draw(told, f"{prefix}{name.replace('_', '')}"),
                       (*_legend(told), *told.notes, *said))
            for name, (told, draw, said) in made.items() if told is not None}


def _level(told: Chart | Bars) -> bool:
    """Whether there is nothing to see in a drawing."""
    return isinstance(told, Chart) and told.level


def _legend(told: Chart | Bars) -> list[str]:
    """What the curves and the marks are, in words."""
    if isinstance(told, Bars):
        return []
    curves = [f"{curve.words}: {curve.said}" for curve in told.curves if curve.said]
    said = [f"{text[:1].upper()}{text[1:]}." for text in curves]
    marks = ", ".join(f"{one.words} {one.said}" for one in told.uprights)
    return [*said, f"{marks[:1].upper()}{marks[1:]}."] if marks else said


def _spoken(told: Chart) -> str:
    return f"{told.title}: {' '.join(_legend(told))}"


# --- curves -------------------------------------------------------------------------------------

def _two_axes(told: Chart, name: str) -> str:
    """Two curves over one time, each with its own axis."""
    left, right = told.curves

    def draw(axes: Axes) -> None:
        axes.plot(left.x, left.y, color=STRONG, linewidth=2.2)
        other = axes.twinx()
        other.plot(right.x, right.y, color=SECOND, linestyle=(0, (5, 1.6)))
        other.grid(False)
        other.spines["right"].set_visible(True)
        axes.set(xlim=(0, left.x[-1]), ylim=(0, 1.08 * left.y_most), xlabel=told.x_words,
                 ylabel=f"{left.y_words} (line)")
        other.set(ylim=(0, 1.25 * float(right.y.max())), ylabel=f"{right.y_words} (dashes)")
        at = int(np.searchsorted(left.x, 0.62 * left.x[-1]))
        axes.annotate(left.words, (left.x[at], left.y[at]), (6, -9), textcoords="offset points", color=STRONG,
                      weight="bold")
        at = int(np.searchsorted(left.x, 0.12 * left.x[-1]))
        other.annotate(right.words, (right.x[at], right.y[at]), (0, 5), textcoords="offset points", color=SECOND,
                       weight="bold")

    return drawn(Frame(name, _spoken(told)), draw)


NEAR = 0.05
"""Ends of curves closer than this part of the axis share a name, or the names would cover each other."""


def _curves(told: Chart, name: str) -> str:
    """Curves up to one pressure, each with its name at its end."""
    top = max(float(curve.y[-1]) for curve in told.curves)
    most = max(float(curve.x[-1]) for curve in told.curves)

    def draw(axes: Axes) -> None:
        for curve, style in reversed(list(zip(told.curves, STYLES, strict=False))):
            axes.plot(curve.x, curve.y, **style, markevery=[len(curve.x) - 1], markersize=4.5)
        axes.axhline(top, color=GREY, linewidth=0.8, linestyle=(0, (2, 2)), zorder=1)
        for lot in _near(told.curves, NEAR * most):
            own = next((curve for curve in lot if curve.mark == "a"), None)
            shown = own or lot[0]
            axes.annotate(" and ".join(curve.words for curve in lot), (shown.x[-1], shown.y[-1]), (1, 6),
                          textcoords="offset points", rotation=28, rotation_mode="anchor",
                          color=STYLES["abc".index(shown.mark)]["color"], weight="bold" if own else "normal")
        axes.set(xlim=(0, 1.12 * most), ylim=(0, 1.38 * top), xlabel=told.x_words, ylabel=told.y_words)
        axes.set_yticks([tick for tick in axes.get_yticks() if 0 <= tick <= 1.02 * top])

    return drawn(Frame(name, _spoken(told), high=1.8), draw)


def _near(curves: Sequence[Curve], apart: float) -> list[list[Curve]]:
    """The curves in lots whose ends stand next to each other along x."""
    lots: list[list[Curve]] = []
    for curve in sorted(curves, key=lambda one: float(one.x[-1])):
        if lots and float(curve.x[-1]) - float(lots[-1][-1].x[-1]) < apart:
            lots[-1].append(curve)
        else:
            lots.append([curve])
    return lots


MARK_COLORS = {TEST_PRESSURE: STRONG, PRESSURE_LIMIT: SECOND}
MARK_LINES: dict[str, Any] = {TEST_PRESSURE: "-", PRESSURE_LIMIT: (0, (5, 1.6)),
                              "relief valve": (0, (6, 1.5, 1, 1.5))}
STALLS = (0, (1, 1.4))


def _against_limits(told: Chart, name: str) -> str:
    """The pump's flow against pressure, under the pressures that stand on the axis."""
    (pump,), marks = told.curves, told.uprights

    def draw(axes: Axes) -> None:
        most = max(float(pump.x.max()), *(mark.x for mark in marks))
        highest = float(pump.y.max())
        step = highest * (0.11 + 0.006 * len(marks))
        axes.plot(pump.x, pump.y, color=STRONG, linewidth=2.2)
        axes.set(xlim=(0, 1.04 * most), ylim=(0, 1.08 * highest + step * len(marks)), xlabel=told.x_words,
                 ylabel=told.y_words)
        for row, mark in enumerate(marks):
            height = 1.08 * highest + step * row
            axes.plot([mark.x, mark.x], [0, height + 0.35 * step], linewidth=1.0,
                      color=MARK_COLORS.get(mark.words, GREY), linestyle=MARK_LINES.get(mark.words, STALLS))
            left = mark.x > 0.45 * most
            axes.annotate(f"{mark.words} {mark.said}", (mark.x, height), (-3 if left else 3, 0),
                          textcoords="offset points", va="center", ha="right" if left else "left", size=7.0,
                          color=MARK_COLORS.get(mark.words, INK),
                          weight="bold" if mark.words == TEST_PRESSURE else "normal",
                          bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6})
        axes.set_yticks([tick for tick in axes.get_yticks() if 0 <= tick <= 1.08 * highest])

    return drawn(Frame(name, _spoken(told), high=1.55 + 0.12 * len(marks)), draw)


# --- bars ---------------------------------------------------------------------------------------

def drawn_bars(told: Bars, name: str) -> str:
    """Bars from zero with their figure, or from low to high with a mark at the likely figure, under one another."""
    ranged = any(bar.low is not None for bar in told.bars)

    def draw(axes: Axes) -> None:
        for at, bar in enumerate(told.bars):
            (_range if ranged else _plain)(axes, at, bar)
        axes.set(yticks=range(len(told.bars)), yticklabels=[bar.words for bar in told.bars], xlabel=told.axis)
        values = [bar.value for bar in told.bars]
        if ranged:
            axes.set_xlim(left=0)
        else:
            axes.set_xlim(min(0.0, *values) * 1.1, max(values) * 1.25)
        axes.set_ylim(len(told.bars) - 0.4, -0.6)
        axes.grid(False, axis="y")
        axes.tick_params(axis="y", length=0)

    spoken = "; ".join(f"{bar.words} {bar.said}" for bar in told.bars)
    high = 0.42 + 0.118 * len(told.bars) if ranged else 1.65
    return drawn(Frame(name, f"{told.title}: {spoken}", high=high), draw)


def _range(axes: Axes, at: int, bar: Bar) -> None:
    if bar.low is not None and bar.high is not None:
        axes.plot([bar.low, bar.high], [at, at], color=FAINT, linewidth=6.5, solid_capstyle="butt")
        axes.plot([bar.low, bar.high], [at, at], color=STRONG, linewidth=1.2, solid_capstyle="butt")
        axes.plot([bar.low, bar.high], [at, at], color=STRONG, linestyle="none", marker="|", markersize=6)
    axes.plot([bar.value], [at], color=STRONG, marker="D", markersize=4.2)


def _plain(axes: Axes, at: int, bar: Bar) -> None:
    axes.barh(at, bar.value, height=0.62, color=STRONG, edgecolor=INK, linewidth=0.5)
    axes.annotate(bar.said, (max(bar.value, 0.0), at), (4, 0), textcoords="offset points", va="center", weight="bold")
