"""What a recorder's file tells, on the sheet for the site: its charts, what explains the hold, its parts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fillcalc.formats.figure import FAINT, GREY, SECOND, STRONG, Frame, drawn
from fillcalc.formats.html import Html, element, joined, listed, section, table, text
from fillcalc.formats.plots import Plot
from fillcalc.formats.sheets.parts import Reported, figure
from fillcalc.present import recording
from fillcalc.present.charts import Chart
from fillcalc.present.sentences import trade
from fillcalc.units.printable import shown

if TYPE_CHECKING:
    from matplotlib.axes import Axes

NAME = "record"


def record_part(of: Reported) -> Html:
    """The record of a case; empty where none was read."""
    if of.recorded is None:
        return Html("")
    log, found = of.recorded
    units, near = of.units, recording.hold_chart(found, log, of.units)
    charts = [recording.record_chart(found, log, units), *([] if near is None else [near])]
    drawings = [figure(Plot(chart.title, _curves(chart, of.name(f"{NAME}{'ab'[place]}"))))
                for place, chart in enumerate(charts)]
    rows = [] if found.fit is None else recording.explained_rows(found.fit, units)
    cautions = recording.caution_sentences(of.case, log, found, units)
    warned = listed(cautions) if cautions else Html("")
    said = [trade(one, units) for one in (
        *recording.hold_sentences(found, log, units), *recording.part_sentences(found, log, units),
        *recording.rise_sentences(found, units), *recording.file_sentences(log)) if one]
    main = [f"{name}: {value}, {more}" for name, value, more in recording.main_rows(found, units)]
    explains = [_headed(recording.EXPLAINS, table(rows, head=True, kind="figures ours"))] if rows else []
    cut = [] if found.parts.hold is None else [_headed(recording.PARTS, table(
        recording.part_rows(found, log, units), head=True, kind="figures ours parts"))]
    return section(f"What {shown(log.name, 60)} tells", element("p", joined(
        [element("b", text(trade(main[0], units)))] if main else []), "first"), warned, element("div", joined(
            [drawings[0], *cut, *drawings[1:], *explains, listed(said)]), "columns"),
        kind="block record", name=of.name(NAME))


def _headed(title: str, rows: Html) -> Html:
    """A table under its title, as a chart has it."""
    return element("figure", joined([element("figcaption", text(title)), rows]))


def _curves(chart: Chart, name: str) -> str:
    """The record as a line, what explains it as dashes over it, and each part under its name at the top."""
    recorded, *more = chart.curves
    spoken = f"{chart.title}: {', '.join(f'{one.words} from {one.said}' for one in chart.uprights)}"

    def draw(axes: Axes) -> None:
        axes.plot(recorded.x, recorded.y, color=STRONG, linewidth=1.4)
        for curve in more:
            axes.plot(curve.x, curve.y, color=SECOND, linestyle=(0, (4, 1.6)), linewidth=1.4)
            off = -16 if chart.uprights else 10 if curve.y[-1] < curve.y[0] else -34
            axes.annotate(curve.words, (curve.x[-1], curve.y[-1]), (-2, off), textcoords="offset points", ha="right",
                          color=SECOND, bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.4})
        axes.set(xlabel=chart.x_words, ylabel=chart.y_words, xlim=(float(recorded.x[0]), float(recorded.x[-1])))
        low, high = axes.get_ylim()
        if chart.uprights:
            axes.set_ylim(low, high + 0.11 * len(chart.uprights) * (high - low))
        for place, mark in enumerate(chart.uprights):
            axes.axvline(mark.x, color=GREY, linewidth=0.7, linestyle=(0, (2, 2)))
            left = mark.x > 0.6 * recorded.x[-1]
            axes.annotate(f"{mark.words} {mark.said}", (mark.x, high + 0.11 * (place + 0.3) * (high - low)),
                          (-3 if left else 3, 0), textcoords="offset points", ha="right" if left else "left", size=6.5,
                          bbox={"facecolor": "white", "edgecolor": FAINT, "pad": 0.6, "linewidth": 0.0})

    return drawn(Frame(name, spoken, high=1.9), draw)
