"""What each chart shows: curves in the units of the screen, marks, and the same numbers as text.

Plain functions from a case and its estimate; they draw nothing. A chart whose numbers cannot be had is None.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from fillcalc.case.names import place_of
from fillcalc.present.advice import advice_sentences
from fillcalc.units import axis, show
from tui.places.answers import counted, first, known, lost_where

if TYPE_CHECKING:
    from fillcalc.case.records import Case
    from fillcalc.estimation.answers import Estimate

Array = np.ndarray


@dataclass(frozen=True)
class Curve:
    """One curve: the letter that marks it, its words, its points."""

    mark: str
    words: str
    x: Array
    y: Array


@dataclass(frozen=True)
class Upright:
    """A limit on the x axis."""

    words: str
    x: float


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


@dataclass(frozen=True)
class Bar:
    """A bar from low to high with a point on it; low None is a bar from zero."""

    words: str
    value: float
    said: str
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Bars:
    """Bars of one kind, each with its figure as text."""

    title: str
    bars: tuple[Bar, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Subject:
    """What charts are made of: the answers, the same without air for comparison, and the units of the screen."""

    case: Case
    estimate: Estimate
    other: Estimate | None
    """The same case with another amount of trapped air (none, or 1 % where the case has none)."""
    units: str


def nodes(values: Any) -> Array:
    """The nodes of a curve of the case as written."""
    array = np.asarray(values, dtype=float)
    return array[:, 0] if array.ndim > 1 else array


def _usable(*arrays: Array) -> bool:
    return all(a.ndim == 1 and a.size > 1 and np.isfinite(a).all() for a in arrays)


def _in_unit(values: Array, family: str, units: str) -> tuple[Array, str]:
    most = float(np.max(np.abs(values))) if values.size else float("nan")
    unit = axis(family, units, most)
    return (values - unit.offset) / unit.factor, unit.unit


# --- filling ------------------------------------------------------------------------------------

def filling(subject: Subject) -> Chart | None:
    """Level and flow over the time of the fill, both as shares of their most."""
    fill, units = subject.estimate.fill, subject.units
    history = fill.history
    if history is None:
        return None
    time, level, flow, water = (nodes(v) for v in (history.time_s, history.level_m, history.flow_m3_s,
                                                   history.water_m3))
    height = first(subject.estimate.height_m) or 0.0
    volume = first(subject.estimate.volume_m3) or 0.0
    if not _usable(time, level, flow, water) or flow[0] <= 0 or volume <= 0:
        return None
    rising, rises = (level / height, "level") if height > 0 else (water / volume, "share filled")
    x, unit = _in_unit(time, "duration", units)
    at = [f"{share:.0%}".replace("%", " %") + " after " + show(float(np.interp(share, rising, time)), "duration", units)
          for share in (0.25, 0.5, 0.75) if share <= rising[-1]]
    curves = (Curve("a", rises, x, 100 * rising), Curve("b", "flow", x, 100 * flow / flow[0]))
    top = show(height, "length", units) if height > 0 else show(volume, "volume", units)
    return Chart("Filling", f"time, {unit}", "%", curves, notes=(
        f"a {rises}, of {top}   b flow, of {show(flow[0], 'flow', units)} at the start, "
        f"{show(flow[-1], 'flow', units)} at the end",
        f"{rises}: {', '.join(at)}" if at else ""), y_most=105.0)


# --- pumping ------------------------------------------------------------------------------------

def pumping(subject: Subject) -> Chart | None:
    """Pressure against strokes (or water) while pumping: this air, none, and more."""
    units, up = subject.units, subject.estimate.pressurise
    family, words = ("strokes", "strokes") if known(up.strokes) else ("volume", "water pumped")
    own = _rise(subject.estimate, family)
    if own is None:
        return None
    share = first(subject.estimate.trapped_share) or 0.0
    found = [(share, own)]
    other = _rise(subject.other, family) if subject.other is not None else None
    if subject.other is not None and other is not None:
        there = first(subject.other.trapped_share) or 0.0
        pressure = own[0]
        slope = (own[1] - np.interp(pressure, *other)) / (share - there) if share != there else None
        base = own[1] - slope * share if slope is not None else None
        if slope is not None and base is not None:
            found += [(s, (pressure, base + slope * s)) for s in (0.0, _next_share(share)) if abs(s - share) > 1e-9]
    most = max(float(curve[1][-1]) for _, curve in found)
    x_unit = axis(family, units, most)
    p_unit = axis("pressure", units, float(own[0][-1]))
    curves = []
    notes = []
    for mark, (s, (pressure, pumped)) in zip("abc", found, strict=False):
        name = "this case" if mark == "a" else "no air" if s == 0 else "more air"
        figure = counted(pumped[-1]) if family == "strokes" else show(pumped[-1], family, units)
        notes.append(f"{mark} {name}, {show(s, 'share', units)}: {figure}")
        curves.append(Curve(mark, name, pumped / x_unit.factor, pressure / p_unit.factor))
    unit = f", {x_unit.unit}" if x_unit.unit else ""
    marks = nodes(up.strokes_at) if np.ndim(up.strokes_at) else np.array([])
    told = ""
    if family == "strokes" and marks.size == 5 and np.isfinite(marks).all():
        told = "strokes to 10, 25, 50, 75, 100 %: " + ", ".join(show(m, "strokes") for m in marks)
    return Chart("Pumping up", f"{words}{unit}", p_unit.unit, tuple(curves), notes=("   ".join(notes), told))


def _rise(estimate: Estimate | None, family: str) -> tuple[Array, Array] | None:
    """Pressure and what was pumped to reach it, in SI."""
    history = estimate.pressurise.history if estimate is not None else None
    if history is None:
        return None
    pressure = nodes(history.pressure_gauge_pa)
    pumped = nodes(history.strokes if family == "strokes" else history.water_m3)
    return (pressure, pumped) if _usable(pressure, pumped) else None


def _next_share(share: float) -> float:
    """The next step of the ladder worth looking at: two to five times this air."""
    from fillcalc.estimation.answers import LADDER

    return next((rung for rung in LADDER if rung >= 2 * share and rung > 0), LADDER[-1])


def pump_curve(subject: Subject) -> Chart | None:
    """Flow of the pump against pressure, with test pressure and limits."""
    units, up = subject.units, subject.estimate.pressurise
    if up.curve is None:
        return None
    pressure, flow = nodes(up.curve.pressure_gauge_pa), nodes(up.curve.flow_m3_s)
    if not _usable(pressure, flow):
        return None
    marks = [("T", "test pressure", up.test_gauge_pa), ("S", "highest stall", up.stall_no_friction_gauge_pa)]
    regulator = subject.estimate.regulator
    if regulator is not None and regulator.limit_of:
        marks.append(("L", f"limit, {regulator.limit_of}", regulator.limit_gauge_pa))
    if subject.case.relief_valve is not None:
        marks.append(("R", "relief valve", subject.case.relief_valve.set))
    there = [(mark, words, float(first(value) or 0.0)) for mark, words, value in marks if known(value)]
    most = max([float(pressure[-1]), *(value for _, _, value in there)])
    p_unit = axis("pressure", units, most)
    y, f_unit = _in_unit(flow, "flow", units)
    at_test = first(up.test_gauge_pa) or 0.0
    notes = "   ".join(f"{mark} {words} {show(value, 'pressure', units)}" for mark, words, value in there)
    flows = f"flow {show(flow[0], 'flow', units)} at no pressure, " \
            f"{show(float(np.interp(at_test, pressure, flow)), 'flow', units)} at test pressure"
    return Chart("Pump", f"pressure, {p_unit.unit}", f_unit, (Curve("a", "pump", pressure / p_unit.factor, y),),
                 tuple(Upright(mark, value / p_unit.factor) for mark, _, value in there), (notes, flows))


def ladder(subject: Subject) -> Chart | None:
    """Strokes (or water) to test pressure against trapped air, both axes in decades; this case marked."""
    units, estimate = subject.units, subject.estimate
    by_strokes = known(estimate.pressurise.strokes)
    family = "strokes" if by_strokes else "volume"
    rungs = [(first(r.share) or 0.0, first(r.strokes if by_strokes else r.water_m3)) for r in estimate.air_ladder]
    rows = sorted((s, v) for s, v in rungs if v is not None and np.isfinite(v) and v > 0)
    shares = np.array([s for s, _ in rows])
    if len(rows) < 3 or shares[-1] <= 0:
        return None
    values = np.array([v for _, v in rows]) / axis(family, units, rows[-1][1]).factor
    kept = shares > 0
    own_share = first(estimate.trapped_share) or 0.0
    own = first(estimate.pressurise.strokes if by_strokes else estimate.pressurise.water_m3) or 0.0
    curves = [Curve("a", "air", np.log10(100 * shares[kept]), np.log10(values[kept]))]
    if own_share > 0 and own > 0:
        unit = axis(family, units, rows[-1][1])
        curves.append(Curve("X", "this case", np.log10([100 * own_share]), np.log10([own / unit.factor])))
    told = [f"{show(s, 'share', units)} {show(v, family, units)}" for s, v in rows]
    words = "strokes" if by_strokes else f"water, {axis(family, units, rows[-1][1]).unit}"
    return Chart("What trapped air does", "trapped air, % of the volume", words, tuple(curves),
                 notes=(f"X this case, {show(own_share, 'share', units)}",
                        f"{'strokes' if by_strokes else 'water'}: " + ", ".join(told)), decades=(True, True))


# --- bars ---------------------------------------------------------------------------------------

def losses(subject: Subject) -> Bars | None:
    """Where the pressure of the water source goes, over the fill."""
    parts = [(name, share) for name, share in lost_where(subject.estimate, subject.units) if abs(share) >= 0.0005]
    if not parts:
        return None
    bars = tuple(Bar(name, share, f"{100 * share:.0f} %" if abs(share) >= 0.01 else "under 1 %")
                 for name, share in parts)
    return Bars("Where the tap's pressure goes", bars, ("The parts add up to 100 %. A source above helps: below zero.",)
                if any(share < 0 for _, share in parts) else ("The parts add up to 100 %.",))


def stages(subject: Subject) -> Bars | None:
    """The stages of the visit, low to high with the middle marked."""
    units = subject.units
    rows = [s for s in subject.estimate.stages if known(s.at_likely_values_s)
            and max(first(s.at_likely_values_s) or 0.0, first(s.high_s) or 0.0) >= 1.0]
    if not rows:
        return None
    bars = []
    for stage in rows:
        low, likely, high = (first(v) for v in (stage.low_s, stage.likely_s, stage.high_s))
        written = first(stage.at_likely_values_s) or 0.0
        if low is None or high is None or not known(stage.likely_s):
            bars.append(Bar(stage.name, written, show(written, "duration", units)))
            continue
        said = show(likely or 0.0, "duration", units)
        if not known(stage.high_s):
            bars.append(Bar(stage.name, likely or 0.0, f"{said} (high never)"))
            continue
        if high - low > 1.0:
            said += f" ({show(low, 'duration', units)} to {show(high, 'duration', units)})"
        bars.append(Bar(stage.name, likely or 0.0, said, low, high))
    visit = subject.estimate.visit
    total = ""
    if visit is not None and known(visit.likely_s):
        three = [show(first(v) or 0.0, "duration") if known(v) else "never"
                 for v in (visit.low_s, visit.likely_s, visit.high_s)]
        total = f"On site: low {three[0]}, middle {three[1]}, high {three[2]}"
    return Bars("Stages of the visit", tuple(bars), (total,) if total else ())


def matters(subject: Subject) -> Bars | None:
    """What moves the time on site most: each input alone, from its low to its high end."""
    swings = [s for s in subject.estimate.matters if known(s.low_s) and known(s.high_s)][:10]
    if not swings:
        return None
    least = min(min(float(s.low_s), float(s.high_s)) for s in swings)
    bars = []
    for swing in swings:
        low, high = sorted((float(swing.low_s), float(swing.high_s)))
        bars.append(Bar(place_of(swing.path), (low + high) / 2 - least, show(high - low, "duration", subject.units),
                        low - least, high - least))
    return Bars("What matters most for the time on site", tuple(bars),
                ("Each input alone, from its low to its high end.",
                 *advice_sentences(subject.case, subject.estimate, subject.units)))


MAKERS = (filling, pumping, pump_curve, losses, ladder, stages, matters)
NAMES: Sequence[str] = ("Filling", "Pumping up", "Pump", "Lost pressure", "Trapped air", "Stages", "What matters most")
