"""The charts of a page: what is drawn, and the same numbers in words.

Curves differ by their line and their mark as well as by colour, and carry their names beside them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import isfinite
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np

from fillcalc.case.records import Case, put
from fillcalc.cautions.rule import lowest_limit
from fillcalc.estimation.answers import LADDER, Estimate, as_written
from fillcalc.estimation.estimate import estimate as estimated
from fillcalc.formats.figure import FAINT, GREY, INK, SECOND, STRONG, Frame, drawn
from fillcalc.model.arrays import Array
from fillcalc.present import sentences as words
from fillcalc.present.sentences import shower, trade
from fillcalc.present.tables import takes_time
from fillcalc.units import Axis, axis

if TYPE_CHECKING:
    from matplotlib.axes import Axes

STYLES: Sequence[dict[str, Any]] = (
    {"color": STRONG, "linestyle": "-", "linewidth": 2.2, "marker": "o"},
    {"color": INK, "linestyle": (0, (1, 1.4)), "marker": "s"},
    {"color": SECOND, "linestyle": (0, (5, 1.6)), "marker": "^"},
    {"color": GREY, "linestyle": (0, (6, 1.5, 1, 1.5)), "marker": "D"},
)
"""The case's own line first, then the others."""


@dataclass(frozen=True)
class Plot:
    """One chart: its title, its drawing, and its numbers in words."""

    title: str
    svg: str
    numbers: tuple[str, ...] = ()


class Maker(Protocol):
    """A function that draws one plot, or none where the case has nothing to show."""

    __name__: str

    def __call__(self, case: Case, estimate: Estimate, units: str, prefix: str) -> Plot | None: ...


def plots(case: Case, estimate: Estimate, units: str, prefix: str = "") -> dict[str, Plot]:
    """The charts that this estimate has, by the name of their maker, in the order of the work.

    The case and the estimate are as written; `prefix` (letters and figures) tells the drawings of several cases on
    one page apart. A chart whose numbers cannot be had is left out.
    """
    makers: tuple[Maker, ...] = (filling, losses, pumping, pump_curve, stages)
    made = {make.__name__: make(case, estimate, units, prefix) for make in makers}
    return {name: plot for name, plot in made.items() if plot is not None}


def _scaled(values: Array, unit: Axis) -> Array:
    return (values - unit.offset) / unit.factor


def _unit(family: str, units: str, values: Any) -> Axis:
    return axis(family, units, float(np.nanmax(np.abs(values))))


def _usable(*curves: Any) -> bool:
    return all(np.ndim(curve) == 1 and len(curve) > 1 and np.isfinite(curve).all() for curve in curves)


def _named(words_: str, unit: Axis) -> str:
    return f"{words_}, {unit.unit}" if unit.unit else words_


# --- filling ------------------------------------------------------------------------------------

def filling(case: Case, estimate: Estimate, units: str, prefix: str) -> Plot | None:
    """Level (or share filled) and flow over the time of the fill."""
    history, say = estimate.fill.history, shower(units)
    if not _usable(history.time_s, history.level_m, history.flow_m3_s, history.water_m3):
        return None
    time, flow = np.asarray(history.time_s), np.asarray(history.flow_m3_s)
    tall = estimate.height_m > 0
    rising = np.asarray(history.level_m) if tall else np.asarray(history.water_m3) / estimate.volume_m3
    family, name, full = (("length", "level", estimate.height_m) if tall else ("share", "filled", 1.0))
    t_unit, r_unit, f_unit = _unit("duration", units, time), _unit(family, units, full), _unit("flow", units, flow)

    def draw(axes: Axes) -> None:
        x = _scaled(time, t_unit)
        axes.plot(x, _scaled(rising, r_unit), color=STRONG, linewidth=2.2)
        right = axes.twinx()
        right.plot(x, _scaled(flow, f_unit), color=SECOND, linestyle=(0, (5, 1.6)))
        right.grid(False)
        right.spines["right"].set_visible(True)
        axes.set(xlim=(0, x[-1]), ylim=(0, _above(full, r_unit)), xlabel=_named("time", t_unit),
                 ylabel=_named(f"{name} (line)", r_unit))
        right.set(ylim=(0, 1.25 * float(_scaled(flow, f_unit).max())), ylabel=_named("flow (dashes)", f_unit))
        at = int(np.searchsorted(x, 0.62 * x[-1]))
        axes.annotate(name, (x[at], _scaled(rising, r_unit)[at]), (6, -9), textcoords="offset points",
                      color=STRONG, weight="bold")
        at = int(np.searchsorted(x, 0.12 * x[-1]))
        right.annotate("flow", (x[at], _scaled(flow, f_unit)[at]), (0, 5), textcoords="offset points",
                       color=SECOND, weight="bold")

    marks = [f"{words.percent(share)} after {say(float(np.interp(share * full, rising, time)), 'duration')}"
             for share in (0.25, 0.5, 0.75) if share * full <= rising[-1]]
    numbers = [f"{name.capitalize()}: {', '.join(marks)}." if marks else "",
               *words.fill_sentences(case, estimate, units)]
    told = f"{name} and flow while filling, over {say(time[-1], 'duration')}"
    return Plot("Filling", drawn(Frame(f"{prefix}fill", told), draw), _kept(numbers))


def _above(full: float, unit: Axis) -> float:
    """A little above full, so that the line's end is seen."""
    return 1.08 * float(_scaled(np.asarray(full), unit))


def losses(case: Case, estimate: Estimate, units: str, prefix: str) -> Plot | None:
    """Where the pressure of the water source goes, over the fill."""
    shares = estimate.fill.shares
    if case.fill.measured_flow is not None:
        return None
    named = [(label, float(getattr(shares, name))) for name, label in words.part_labels(case).items()]
    rows = [(trade(label, units), share) for label, share in named if isfinite(share) and abs(share) >= 0.0005]
    if not rows:
        return None

    def draw(axes: Axes) -> None:
        place = np.arange(len(rows))
        values = [100 * share for _, share in rows]
        axes.barh(place, values, height=0.62, color=STRONG, edgecolor=INK, linewidth=0.5)
        for at, value in zip(place, values, strict=True):
            axes.annotate(f"{value:.0f} %" if abs(value) >= 1 else "under 1 %", (max(value, 0), at), (4, 0),
                          textcoords="offset points", va="center", weight="bold")
        axes.set(yticks=place, yticklabels=[label for label, _ in rows], xlabel="% of the driving pressure",
                 xlim=(min(0, *values) * 1.1, max(values) * 1.2))
        axes.invert_yaxis()
        axes.grid(False, axis="y")
        axes.tick_params(axis="y", length=0)

    told = "; ".join(f"{label} {words.percent(share)}" for label, share in rows)
    return Plot(trade("Where the tap's pressure goes", units) if case.tap.kind == "tap" else
                f"Where the pressure of the {case.tap.kind} goes", drawn(Frame(f"{prefix}loss", told), draw),
                ("The parts add up to 100 %.",
                 *(("Below zero: the source stands higher and helps.",) if any(s < 0 for _, s in rows) else ())))


# --- pumping ------------------------------------------------------------------------------------

def pumping(case: Case, estimate: Estimate, units: str, prefix: str) -> Plot | None:
    """Pressure over pumping time: this air, no air, and the next steps of the ladder."""
    own, say = float(estimate.trapped_share), shower(units)
    found = [(share, one.pressurise) for share, one in [(own, estimate), *_with_other_air(case, own)]
             if _usable(one.pressurise.history.pressure_gauge_pa, one.pressurise.history.time_s)]
    if not found or found[0][0] != own:
        return None
    t_unit = _unit("duration", units, max(float(up.history.time_s[-1]) for _, up in found))
    p_unit = _unit("pressure", units, estimate.pressurise.test_gauge_pa)
    test = float(estimate.pressurise.test_gauge_pa)

    def draw(axes: Axes) -> None:
        top = float(_scaled(np.asarray(test), p_unit))
        ends: list[tuple[float, float, float, str]] = []
        for (share, up), style in reversed(list(zip(found, STYLES, strict=False))):
            time, gauge = np.asarray(up.history.time_s), np.asarray(up.history.pressure_gauge_pa)
            axes.plot(_scaled(time, t_unit), _scaled(gauge, p_unit), **style, markevery=[len(time) - 1], markersize=4.5)
            ends.append((float(_scaled(time[-1], t_unit)), float(_scaled(gauge[-1], p_unit)), share, style["color"]))
        most = max(x for x, *_ in ends)
        axes.axhline(top, color=GREY, linewidth=0.8, linestyle=(0, (2, 2)), zorder=1)
        for lot in _near(ends, NEAR * most):
            shares = sorted(share for *_, share, _ in lot)
            said = " to ".join(dict.fromkeys("no air" if share == 0 else say(share, "share")
                                             for share in (shares[0], shares[-1])))
            x, y, _, color = next((end for end in lot if end[2] == own), lot[0])
            axes.annotate(f"{said}, this case" if own in shares else said, (x, y), (1, 6), textcoords="offset points",
                          rotation=28, rotation_mode="anchor", color=color,
                          weight="bold" if own in shares else "normal")
        axes.set(xlim=(0, 1.12 * most), ylim=(0, 1.38 * top), xlabel=_named("pumping time", t_unit),
                 ylabel=_named("gauge pressure", p_unit))
        axes.set_yticks([tick for tick in axes.get_yticks() if 0 <= tick <= 1.02 * top])

    told = [f"{'No air' if share == 0 else say(share, 'share')}{', this case' if share == own else ''}: "
            f"{say(up.time_s, 'duration')}, {_pumped(up, say)}."
            for share, up in sorted(found, key=lambda each: each[0])]
    frame = Frame(f"{prefix}pump", "pressure while pumping, with several amounts of trapped air", high=1.8)
    return Plot("Pressure while pumping, by trapped air", drawn(frame, draw),
                _kept([*told, *words.pump_sentences(case, estimate, units)]))


NEAR = 0.05
"""Ends of curves closer than this part of the axis share a name, or the names would cover each other."""


def _near(ends: Sequence[tuple[float, float, float, str]], apart: float) -> list[list[tuple[float, float, float, str]]]:
    """The ends of curves (x, y, share, color) in lots, each lot's next to each other along x."""
    lots: list[list[tuple[float, float, float, str]]] = []
    for end in sorted(ends):
        if lots and end[0] - lots[-1][-1][0] < apart:
            lots[-1].append(end)
        else:
            lots.append([end])
    return lots


def _pumped(up: Any, say: words.Say) -> str:
    water = say(up.water_m3, "volume")
    return f"{say(up.strokes, 'strokes')} strokes, {water}" if isfinite(up.strokes) else water


def _with_other_air(case: Case, own: float) -> list[tuple[float, Estimate]]:
    """The same case without air and with the next two steps of the ladder."""
    more = [share for share in LADDER if share >= 2 * own and share > 0][:2]
    shares = [share for share in (0.0, *more) if abs(share - own) > 1e-9]
    families = {**case.families, "trapped_air.amount": "share"}
    return [(share, as_written(estimated(replace(put(case, "trapped_air.amount", share), families=families))))
            for share in shares]


def pump_curve(case: Case, estimate: Estimate, units: str, prefix: str) -> Plot | None:
    """The pump's flow against pressure, with test pressure, stall and limits."""
    up, say = estimate.pressurise, shower(units)
    pressure, flow = np.asarray(up.curve.pressure_gauge_pa), np.asarray(up.curve.flow_m3_s)
    if not _usable(pressure, flow) or not flow.max() > 0:
        return None
    title = "Pump, test pressure and limits"
    if np.ptp(flow) < SAME * flow.max() and not isfinite(up.stall_no_friction_gauge_pa):
        return Plot(title, "", (f"Flow: {say(flow[0], 'flow')} at every pressure.",
                                *words.limit_sentences(case, estimate, units)))
    if flow[-1] > 0 and pressure[-1] >= up.stall_gauge_pa:
        pressure, flow = np.append(pressure, pressure[-1]), np.append(flow, 0.0)
    marks = _marks(case, estimate)
    p_unit = _unit("pressure", units, [pressure[-1], *(value for _, value in marks)])
    f_unit = _unit("flow", units, flow)

    def draw(axes: Axes) -> None:
        most = float(_scaled(np.asarray([pressure[-1], *(value for _, value in marks)]), p_unit).max())
        highest = float(_scaled(flow, f_unit).max())
        step = highest * (0.11 + 0.006 * len(marks))
        axes.plot(_scaled(pressure, p_unit), _scaled(flow, f_unit), color=STRONG, linewidth=2.2)
        axes.set(xlim=(0, 1.04 * most), ylim=(0, 1.08 * highest + step * len(marks)),
                 xlabel=_named("gauge pressure at the pump", p_unit), ylabel=_named("pump flow", f_unit))
        for row, (name, value) in enumerate(marks):
            x, height = float(_scaled(np.asarray(value), p_unit)), 1.08 * highest + step * row
            axes.plot([x, x], [0, height + 0.35 * step], linewidth=1.0, color=MARK_COLORS.get(name, GREY),
                      linestyle=MARK_LINES[name])
            left = x > 0.45 * most
            axes.annotate(f"{name} {say(value, 'pressure')}", (x, height), (-3 if left else 3, 0),
                          textcoords="offset points", va="center", ha="right" if left else "left", size=7.0,
                          color=MARK_COLORS.get(name, INK), weight="bold" if name == TEST else "normal",
                          bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6})
        axes.set_yticks([tick for tick in axes.get_yticks() if 0 <= tick <= 1.08 * highest])

    at_test = float(np.interp(up.test_gauge_pa, pressure, flow)) if up.test_gauge_pa <= pressure[-1] else 0.0
    numbers = [f"Flow: {say(flow[0], 'flow')} against no pressure, {say(at_test, 'flow')} at test pressure.",
               *words.limit_sentences(case, estimate, units)]
    frame = Frame(f"{prefix}curve", "flow of the pump against pressure, with "
                  + ", ".join(f"{name} {say(value, 'pressure')}" for name, value in marks),
                  high=1.55 + 0.12 * len(marks))
    return Plot(title, drawn(frame, draw), _kept(numbers))


SAME = 1e-6
"""A pump whose flow changes by less than this share, and that never stalls, has no curve worth drawing."""
TEST = "test pressure"
MARK_COLORS = {TEST: STRONG, "pressure limit": SECOND}
MARK_LINES: dict[str, Any] = {TEST: "-", "pressure limit": (0, (5, 1.6)), "relief valve": (0, (6, 1.5, 1, 1.5)),
                              "stall": (0, (1, 1.4)), "highest stall": (0, (1, 1.4))}


def _marks(case: Case, estimate: Estimate) -> list[tuple[str, float]]:
    """The pressures that stand on the pump's chart, the lowest first."""
    up = estimate.pressurise
    limit, _ = lowest_limit(case, estimate)
    relief = case.relief_valve.set if case.relief_valve is not None else None
    found = [(TEST, up.test_gauge_pa), ("stall", up.stall_gauge_pa), ("relief valve", relief),
             ("highest stall", up.stall_no_friction_gauge_pa), ("pressure limit", limit)]
    known = [(name, float(value)) for name, value in found if value is not None and isfinite(value)]
    return sorted(known, key=lambda mark: mark[1])


# --- the visit ----------------------------------------------------------------------------------

def stages(case: Case, estimate: Estimate, units: str, prefix: str) -> Plot | None:
    """The stages of the visit, from low to high with the middle marked; `case` is not asked. One that never comes in a
    tenth of the tries or more has no high and is not drawn."""
    rows = [one for one in estimate.stages if takes_time(one) and one.high_s >= 1.0]
    if not rows:
        return None
    return Plot("Stages, low to high", stage_drawing(rows, units, f"{prefix}stage"),
                (HOW_TO_READ,))


HOW_TO_READ = "Bar: low to high. Diamond: middle. Upright: as written."


def stage_drawing(rows: Sequence[Any], units: str, name: str) -> str:
    """Ranges of stages (name, at_likely_values_s, low_s, likely_s, high_s) under one another, as an SVG."""
    unit = axis("duration", units, max(float(one.high_s) for one in rows))

    def draw(axes: Axes) -> None:
        for at, one in enumerate(rows):
            low, likely, high, written = (float(value) / unit.factor for value in
                                          (one.low_s, one.likely_s, one.high_s, one.at_likely_values_s))
            axes.plot([low, high], [at, at], color=FAINT, linewidth=6.5, solid_capstyle="butt")
            axes.plot([low, high], [at, at], color=STRONG, linewidth=1.2, solid_capstyle="butt")
            axes.plot([low, high], [at, at], color=STRONG, linestyle="none", marker="|", markersize=6)
            axes.plot([likely], [at], color=STRONG, marker="D", markersize=4.2)
            axes.plot([written], [at], color=SECOND, marker="|", markersize=9, markeredgewidth=1.8)
        axes.set(yticks=range(len(rows)), yticklabels=[one.name for one in rows], xlabel=_named("time", unit))
        axes.set_xlim(left=0)
        axes.set_ylim(len(rows) - 0.4, -0.6)
        axes.grid(False, axis="y")
        axes.tick_params(axis="y", length=0)

    told = "; ".join(f"{one.name} {shower(units)(one.likely_s, 'duration')}" for one in rows)
    return drawn(Frame(name, f"stages of the visit: {told}", high=0.42 + 0.118 * len(rows)), draw)


def _kept(sentences: Sequence[str]) -> tuple[str, ...]:
    return tuple(sentence for sentence in sentences if sentence)
