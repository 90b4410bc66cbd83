"""What each chart shows: curves, bars and marks in the units of the reader, and the same numbers in words.

Plain data from a case and its estimate; nothing is drawn here. Curves need one path through the job, so they are at
likely values; bars of stages have their low, likely and high. A chart whose numbers cannot be had is None.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import floor, isfinite, log10
from typing import TypeAlias

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case.medium import is_gas
from fillcalc.case.records import Case
from fillcalc.cautions.rule import lowest_limit
from fillcalc.estimation.answers import LADDER, Estimate, Span, Stage, at_likely_values
from fillcalc.estimation.estimate import estimate as estimated
from fillcalc.present import sentences as words
from fillcalc.present.advice import advice_sentences
from fillcalc.present.inputs import ranged_name
from fillcalc.present.lines import FILL, PUMP_UP, TIME_ON_SITE, TRAPPED_AIR
from fillcalc.present.never import time_or_never
from fillcalc.present.sentences import percent, shower
from fillcalc.present.tables import MATTERS_TITLE, STAGES_TITLE, stage_label, takes_time
from fillcalc.questions.likely import likely_span, likely_stage
from fillcalc.questions.visit import CombinedVisit
from fillcalc.tree import put
from fillcalc.units import axis
from fillcalc.units.spans import show_range

LEAST_LOSS = 0.005
"""A loss below this share of the pressure is not drawn."""
LEAST_STAGE = 1.0
"""A stage whose high is below this, s, is not drawn."""
SAME = 1e-6
"""A pump whose flow changes by less than this share, and that never stalls, has no curve worth drawing."""
HOW_TO_READ = "Bar: low to high. Mark: likely."
AT_LIKELY_VALUES = "Curves and pictures are at likely values."


@dataclass(frozen=True)
class Curve:
    """One curve: the letter that marks it, its words, and its points in the units of its axes."""

    mark: str
    words: str
    x: Array
    y: Array
    said: str = ""
    """Its figures in words."""
    y_words: str = ""
    """Its own axis; empty where all curves share that of the chart."""
    y_most: float = 0.0
    """The value that stands for 100 % where each curve has its own axis."""
    own: bool = False
    """Whether it is the case's own, to be drawn last and heaviest."""


@dataclass(frozen=True)
class Upright:
    """A pressure that stands on the x axis: its letter, its name, and its figure."""

    mark: str
    words: str
    x: float
    said: str


@dataclass(frozen=True)
class Chart:
    """Curves over an axis; `decades` where an axis holds the logarithm to ten of the value."""

    title: str
    x_words: str
    y_words: str
    curves: tuple[Curve, ...]
    uprights: tuple[Upright, ...] = ()
    notes: tuple[str, ...] = ()
    decades: tuple[bool, bool] = (False, False)
    y_most: float | None = None
    """Where the y axis ends; None leaves it to the curves."""
    level: bool = False
    """Whether the one curve is level all along, so that its words tell all of it."""


@dataclass(frozen=True)
class Bar:
    """A bar from low to high with a mark at the likely figure; low None is a bar from zero."""

    words: str
    value: float
    said: str
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Bars:
    """Bars of one kind, each with its figure as text, and what their axis is."""

    title: str
    axis: str
    bars: tuple[Bar, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Subject:
    """What charts are made of: the case, its estimate as `fillcalc.questions.likely.likely` gives it, and the units."""

    case: Case
    estimate: Estimate
    other: Estimate | None
    """The same case with another amount of trapped air, at likely values; None leaves the comparison out."""
    units: str


def with_other_air(case: Case, share: float) -> Estimate | None:
    """The same case without trapped air, or with 1 % where its own share is none; None for a test with gas."""
    if is_gas(case):
        return None
    families = {**case.families, "trapped_air.amount": "share"}
    other = put(case, "trapped_air.amount", 0.01 if share <= 0.0 else 0.0)
    return at_likely_values(estimated(replace(other, families=families)))


def even_step(least: float) -> float:
    """The step of an even axis: 1, 2 or 5 times a power of ten, the smallest that is not below `least`."""
    power = 10.0 ** floor(log10(least))
    return next(power * step for step in (1.0, 2.0, 5.0, 10.0) if power * step >= least * (1.0 - 1e-9))


def even_ticks(most: float, steps: int = 5) -> tuple[float, ...]:
    """Ticks of an axis from 0 to `most` at even steps, at most `steps` of them."""
    if not (isfinite(most) and most > 0.0):
        return (0.0,)
    step = even_step(most / steps)
    return tuple(step * number for number in range(floor(most / step * (1.0 + 1e-9)) + 1))


def nodes(values: object) -> Array:
    """The nodes of a curve, those at likely values where there are samples."""
    array = np.asarray(values, dtype=float)
    return array[:, 0] if array.ndim > 1 else array


def _usable(*arrays: Array) -> bool:
    return all(a.ndim == 1 and a.size > 1 and bool(np.isfinite(a).all()) for a in arrays)


def _in_unit(values: Array, family: str, units: str, largest: float | None = None) -> tuple[Array, str]:
    most = float(np.max(np.abs(values))) if largest is None else largest
    unit = axis(family, units, most)
    return (values - unit.offset) / unit.factor, unit.unit


def _named(name: str, unit: str) -> str:
    return f"{name}, {unit}" if unit else name


# --- filling ------------------------------------------------------------------------------------

def filling(subject: Subject) -> Chart | None:
    """Level (or share filled) and flow over the time of the fill."""
    estimate, units = subject.estimate, subject.units
    history, say = estimate.fill.history, shower(units)
    if history is None:
        return None
    time, level, flow, water = (nodes(v) for v in (history.time_s, history.level_m, history.flow_m3_s,
                                                   history.water_m3))
    height, volume = float(estimate.height_m), float(estimate.volume_m3)
    if not _usable(time, level, flow, water) or flow[0] <= 0 or not volume > 0:
        return None
    tall = height > 0
    name, family, rising, full = (("level", "length", level, height) if tall else
                                  ("filled", "share", water / volume, 1.0))
    x, t_unit = _in_unit(time, "duration", units)
    rises, r_unit = _in_unit(rising, family, units, full)
    flows, f_unit = _in_unit(flow, "flow", units)
    marks = [f"{percent(share)} after {say(float(np.interp(share * full, rising, time)), 'duration')}"
             for share in (0.25, 0.5, 0.75) if share * full <= rising[-1]]
    full_in_unit = float(_in_unit(np.array([full]), family, units, full)[0][0])
    curves = (
        Curve("a", name, x, rises, f"of {say(full, family)}" if tall else "", _named(name, r_unit), full_in_unit,
              own=True),
        Curve("b", "flow", x, flows, f"{say(estimate.fill.flow_start_m3_s, 'flow')} at the start, "
              f"{say(estimate.fill.flow_end_m3_s, 'flow')} at the end", _named("flow", f_unit), float(flows[0])))
    notes = (f"{name.capitalize()}: {', '.join(marks)}." if marks else "", AT_LIKELY_VALUES)
    return Chart(FILL, _named("time", t_unit), "% of the most", curves, notes=_kept(notes))


def losses(subject: Subject) -> Bars | None:
    """Where the pressure of the water source goes, over the fill."""
    if subject.case.fill.measured_flow is not None:
        return None
    parts = [(label, share) for label, share in words.losses_of(subject.case, subject.estimate, subject.units)
             if abs(share) >= LEAST_LOSS]
    if not parts:
        return None
    helps = ("Below zero: the source stands higher and helps.",) if any(share < 0 for _, share in parts) else ()
    return Bars("Pressure losses", "% of the driving pressure",
                tuple(Bar(label, 100.0 * share, percent(share)) for label, share in parts), (*helps, AT_LIKELY_VALUES))


# --- pumping ------------------------------------------------------------------------------------

def pumping(subject: Subject) -> Chart | None:
    """Pressure against strokes (or water) while pumping: this air, none, and more."""
    estimate, units, say = subject.estimate, subject.units, shower(subject.units)
    by_strokes = bool(np.isfinite(estimate.pressurise.strokes))
    family, name = ("strokes", "strokes") if by_strokes else ("volume", "water pumped")
    own = _rise(estimate, family)
    rungs = {float(rung.share): rung for rung in estimate.air_ladder}
    if own is None or not rungs:
        return None
    share = min(rungs, key=lambda rung: abs(rung - float(estimate.trapped_share)))
    found = [(share, own)]
    other = _rise(subject.other, family) if subject.other is not None else None
    if subject.other is not None and other is not None:
        there = float(subject.other.trapped_share)
        if share != there:  # water and strokes are linear in the air at every pressure
            slope = (own[1] - np.interp(own[0], *other)) / (share - there)
            found += [(s, (own[0], own[1] + slope * (s - share))) for s in (0.0, _next_share(share))
                      if abs(s - share) > 1e-9]
    most = max(float(curve[1][-1]) for _, curve in found)
    top = float(own[0][-1])
    curves = []
    for mark, (s, (pressure, pumped)) in zip("abc", found, strict=False):
        rung = next((rung for at, rung in rungs.items() if abs(at - s) <= 1e-9), None)
        end = pumped[-1] if rung is None else rung.strokes if by_strokes else rung.water_m3  # as it is told elsewhere
        text = f"{say(end, family)} strokes" if by_strokes else say(end, family)
        named = "this case" if mark == "a" else "no air" if s == 0 else "more air"
        curves.append(Curve(mark, named, _in_unit(pumped, family, units, most)[0],
                            _in_unit(pressure, "pressure", units, top)[0], f"{say(s, 'share')}: {text}",
                            own=mark == "a"))
    marks = words.stroke_marks(estimate)
    text = "" if not np.isfinite(marks).all() else \
        f"Strokes to 10, 25, 50, 75, 100 %: {', '.join(say(m, 'strokes') for m in marks)}."
    return Chart(PUMP_UP, _named(name, axis(family, units, most).unit),
                 _named("gauge", axis("pressure", units, top).unit), tuple(curves),
                 notes=_kept((text, AT_LIKELY_VALUES)))


def _rise(estimate: Estimate, family: str) -> tuple[Array, Array] | None:
    """Pressure and what was pumped to reach it, in SI."""
    history = estimate.pressurise.history
    if history is None:
        return None
    pressure = nodes(history.pressure_gauge_pa)
    pumped = nodes(history.strokes if family == "strokes" else history.water_m3)
    return (pressure, pumped) if _usable(pressure, pumped) else None


def _next_share(share: float) -> float:
    """The next step of the ladder worth looking at: two to five times this air."""
    return next((rung for rung in LADDER if rung >= 2 * share and rung > 0), LADDER[-1])


def pump_curve(subject: Subject) -> Chart | None:
    """Flow of the pump against pressure, with test pressure, stall and limits."""
    estimate, units, say = subject.estimate, subject.units, shower(subject.units)
    up = estimate.pressurise
    if up.curve is None:
        return None
    pressure, flow = nodes(up.curve.pressure_gauge_pa), nodes(up.curve.flow_m3_s)
    if not _usable(pressure, flow) or not flow.max() > 0:
        return None
    at_test = float(np.interp(up.test_gauge_pa, pressure, flow)) if up.test_gauge_pa <= pressure[-1] else 0.0
    if flow[-1] > 0 and pressure[-1] >= up.stall_gauge_pa:
        pressure, flow = np.append(pressure, pressure[-1]), np.append(flow, 0.0)
    marks = pressures_of(subject.case, estimate)
    most = max([float(pressure[-1]), *(value for _, _, value in marks)])
    x, p_unit = _in_unit(pressure, "pressure", units, most)
    y, f_unit = _in_unit(flow, "flow", units)
    steady = np.ptp(flow) < SAME * flow.max() and not np.isfinite(up.stall_no_friction_gauge_pa)
    text = (f"{say(flow[0], 'flow')} at every pressure" if steady else
            f"{say(flow[0], 'flow')} against no pressure, {say(at_test, 'flow')} at test pressure")
    uprights = tuple(Upright(mark, name, float(_in_unit(np.array([value]), "pressure", units, most)[0][0]),
                             say(value, "pressure")) for mark, name, value in marks)
    return Chart("Pump, test pressure and limits", _named("gauge", p_unit), _named("pump flow", f_unit),
                 (Curve("a", "pump", x, y, text, own=True),), uprights, (AT_LIKELY_VALUES,), level=bool(steady))


TEST_PRESSURE, PRESSURE_LIMIT = "test pressure", "pressure limit"


def pressures_of(case: Case, estimate: Estimate) -> list[tuple[str, str, float]]:
    """The pressures that stand on the pump's chart, the lowest first: letter, name, Pa gauge."""
    up = estimate.pressurise
    limit, _ = lowest_limit(case, estimate)
    relief = case.relief_valve.set if case.relief_valve is not None else None
    found = [("T", TEST_PRESSURE, up.test_gauge_pa), ("S", "stall pressure", up.stall_gauge_pa),
             ("R", "relief valve", relief), ("H", "highest stall pressure", up.stall_no_friction_gauge_pa),
             ("L", PRESSURE_LIMIT, limit)]
    known = [(mark, name, float(value)) for mark, name, value in found if value is not None and isfinite(value)]
    return sorted(known, key=lambda row: row[2])


def ladder(subject: Subject) -> Chart | None:
    """Strokes (or water) to test pressure against trapped air, both axes in decades; this case marked."""
    units, estimate, say = subject.units, subject.estimate, shower(subject.units)
    by_strokes = bool(np.isfinite(estimate.pressurise.strokes))
    family = "strokes" if by_strokes else "volume"
    rows = sorted((float(r.share), float(r.strokes if by_strokes else r.water_m3)) for r in estimate.air_ladder)
    rows = [(share, value) for share, value in rows if np.isfinite(value) and value > 0]
    if len(rows) < 3 or rows[-1][0] <= 0:
        return None
    unit = axis(family, units, rows[-1][1])
    above = [(share, value / unit.factor) for share, value in rows if share > 0]
    shares, values = (np.log10(np.array(column)) for column in zip(*above, strict=True))
    own = min(rows, key=lambda row: abs(row[0] - float(estimate.trapped_share)))
    curves = [Curve("a", "trapped air", shares + 2.0, values)]
    if own[0] > 0:
        text = f"{say(own[1], family)} strokes" if by_strokes else say(own[1], family)
        curves.append(Curve("X", "this case", np.log10([100 * own[0]]), np.log10([own[1] / unit.factor]),
                            f"{say(own[0], 'share')}: {text}", own=True))
    name = "strokes" if by_strokes else "water"
    each = ", ".join(f"{say(share, 'share')} {say(value, family)}" for share, value in rows)
    return Chart(TRAPPED_AIR, "trapped air, % of the volume", _named(name, unit.unit), tuple(curves),
                 notes=(f"{name.capitalize()}: {each}.", AT_LIKELY_VALUES), decades=(True, True))


# --- the visit ----------------------------------------------------------------------------------

def stages(subject: Subject) -> Bars | None:
    """The stages of the visit, low to high with the likely time marked."""
    shown = [stage for stage in subject.estimate.stages if takes_time(stage) and not stage.high_s < LEAST_STAGE]
    visit = subject.estimate.visit
    total = "" if visit is None else _total(visit.low_s, visit.likely_s, visit.high_s, subject.units)
    return _stage_bars(STAGES_TITLE, [(stage_label(one.name), one) for one in shown], total, subject.units)


def combined(visit: CombinedVisit, units: str) -> Bars | None:
    """The same for a visit with several cases: what is done once, each case, re-made joints, and the whole."""
    rows = [*((stage_label(one.name), likely_stage(one, units)) for one in visit.once),
            *((f"case {place}", _as_stage(likely_span(one.time_s, units))) for place, one in enumerate(visit.cases, 1)),
            (stage_label(visit.rework.name), likely_stage(visit.rework, units)),
            (stage_label("on site"), _as_stage(likely_span(visit.total_s, units)))]
    total = likely_span(visit.total_s, units)
    return _stage_bars(TIME_ON_SITE, rows, _total(total.low, total.likely, total.high, units), units)


def _as_stage(span: Span) -> Stage:
    return Stage("", span.at_likely_values, span.low, span.likely, span.high)


def _total(low: float, likely: float, high: float, units: str) -> str:
    say = shower(units)
    ends = show_range(low, high, "duration", units, likely, "never") if isfinite(low) else ""
    return f"{TIME_ON_SITE}: {time_or_never(likely, say)}{'; ' if ends else ''}{ends}."


def _stage_bars(title: str, rows: Sequence[tuple[str, Stage]], total: str, units: str) -> Bars | None:
    known = [float(one.high_s if isfinite(one.high_s) else one.likely_s) for _, one in rows if isfinite(one.likely_s)]
    if not known:
        return None
    unit, say = axis("duration", units, max(known)), shower(units)
    bars = []
    for name, one in rows:
        low, likely, high = (float(value) for value in (one.low_s, one.likely_s, one.high_s))
        if not isfinite(likely):
            continue
        ends = show_range(low, high, "duration", units, likely, "never")
        whole = isfinite(high) and high > low
        bars.append(Bar(name, likely / unit.factor, say(likely, "duration") + (f"; {ends}" if ends else ""),
                        low / unit.factor if whole else None, high / unit.factor if whole else None))
    return Bars(title, _named("time", unit.unit), tuple(bars), _kept((total, HOW_TO_READ)))


def matters(subject: Subject) -> Bars | None:
    """What moves the time on site most: each input alone, from its low to its high."""
    swings = [s for s in subject.estimate.matters if isfinite(s.low_s) and isfinite(s.high_s)][:MOST_SWINGS]
    if not swings:
        return None
    sizes = [abs(float(s.high_s) - float(s.low_s)) for s in swings]
    unit, say = axis("duration", subject.units, max(sizes)), shower(subject.units)
    bars = tuple(Bar(ranged_name(subject.case, s.path, subject.units), size / unit.factor, say(size, "duration"))
                 for s, size in zip(swings, sizes, strict=True))
    return Bars(MATTERS_TITLE, _named("time", unit.unit), bars,
                tuple(advice_sentences(subject.case, subject.estimate, subject.units)))


MOST_SWINGS = 10
Maker: TypeAlias = Callable[[Subject], "Chart | Bars | None"]
MAKERS: tuple[Maker, ...] = (filling, pumping, pump_curve, losses, ladder, stages, matters)
"""The charts, in the order of the work."""


def _kept(sentences: Sequence[str]) -> tuple[str, ...]:
    return tuple(sentence for sentence in sentences if sentence)
