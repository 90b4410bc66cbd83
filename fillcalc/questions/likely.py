"""The figures that are told of a case: likely, with low and high, each rounded once to what its range can bear."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any

import numpy as np

from fillcalc.arrays import Array
from fillcalc.estimation.answers import Answer, Estimate, Hold, Rung, Span, Spread, Stage, answers, at_likely_values
from fillcalc.tree import put, put_all
from fillcalc.units import axis, to_figures
from fillcalc.units.spans import Three, rounded


def likely(estimate: Estimate, units: str = "metric") -> Estimate:
    """Return the estimate with every answer that has a range at its likely value.

    Answers, stages, spreads and time on site are rounded to what their spread can bear in these units (metric or
    us), so that the same answer reads the same wherever it is printed. Curves, shares, parts, the ladder and strokes
    at marks need one path through the job and stay at likely values; where the ladder and the marks have a figure that
    is told with a range, it is rounded as that is. An estimate without ranges comes back as it is.
    """
    before = estimate = _no_finer(at_likely_values(estimate), units)
    if estimate.visit is None and not estimate.spreads:
        return estimate
    spreads = tuple(_spread(one, _family(estimate, one.path), units) for one in estimate.spreads)
    for one in spreads:
        estimate = put(estimate, one.path, one.likely)
    visit = estimate.visit
    if visit is not None:
        whole = rounded(Three(float(visit.low_s), float(visit.likely_s), float(visit.high_s)), "duration", units)
        visit = replace(visit, low_s=whole.low, likely_s=whole.likely, high_s=whole.high)
    if estimate.gas is not None:
        return replace(estimate, spreads=spreads, visit=visit,
                       stages=tuple(likely_stage(one, units) for one in estimate.stages))
    raw = {one.path: one for one in before.spreads}
    return replace(
        estimate, spreads=spreads, visit=visit, stages=tuple(likely_stage(one, units) for one in estimate.stages),
        air_ladder=_ladder(before, raw, units),
        fill=replace(estimate.fill, finished=np.isfinite(estimate.fill.time_s)),
        pressurise=replace(estimate.pressurise, reached=np.isfinite(estimate.pressurise.time_s),
                           strokes_at=_marks(before, raw, units)))


def _no_finer(estimate: Estimate, units: str) -> Estimate:
    """The estimate with each answer that is declared to be told to a few figures rounded to them."""
    if estimate.hold is None:
        return estimate
    hold: Hold = put_all(estimate.hold, {name: _to_figures(float(getattr(estimate.hold, name)), said, units)
                                         for name, said in answers(type(estimate.hold)).items() if said.figures})
    return replace(estimate, hold=hold)


def _to_figures(value: float, said: Answer, units: str) -> float:
    unit = axis(said.family, units, value).factor
    return to_figures(value / unit, said.figures) * unit


OWN_AIR = 1e-9
"""How far the air of a rung may lie from the case's own and be that, as a part of it."""
DIGITS = 3
"""Of a count of strokes that is not told with a range."""


def _ladder(before: Estimate, raw: Mapping[str, Spread], units: str) -> tuple[Rung, ...]:
    """The ladder as `_rung` makes it, without a usual rung that now reads as that of the case's own air."""
    made = [(_rung(one, before, raw, units), _is_own(one, before)) for one in before.air_ladder]
    own = {to_figures(float(rung.share), 3) for rung, mine in made if mine}
    return tuple(rung for rung, mine in made if mine or to_figures(float(rung.share), 3) not in own)


def _is_own(rung: Rung, before: Estimate) -> bool:
    return abs(float(rung.share) - float(before.trapped_share)) <= OWN_AIR * float(before.trapped_share)


def _rung(rung: Rung, before: Estimate, raw: Mapping[str, Spread], units: str) -> Rung:
    """A rung of the ladder: its strokes to three digits, and that of the case's own air rounded as the main answers."""
    changes = {name: _to_digits(float(getattr(rung, name))) for name in ("strokes", "strokes_before_needle")}
    if _is_own(rung, before):
        paths = {name: "trapped_share" if name == "share" else f"pressurise.{name}" for name in answers(Rung)}
        changes |= {name: _as_told(float(getattr(rung, name)), raw.get(path), answers(Rung)[name].family, units)
                    for name, path in paths.items()}
    return replace(rung, **changes)


def _marks(before: Estimate, raw: Mapping[str, Spread], units: str) -> Array:
    """Strokes at the marks to three digits, the last of them rounded as the strokes of the whole pump-up."""
    marks = np.array([_to_digits(float(one)) for one in np.ravel(before.pressurise.strokes_at)])
    if marks.size:
        last = float(np.ravel(before.pressurise.strokes_at)[-1])
        marks[-1] = _as_told(last, raw.get("pressurise.strokes"), "strokes", units)
    return marks


def _as_told(value: float, one: Spread | None, family: str, units: str) -> float:
    """A figure of the run at likely values, rounded as it would be with the range of its answer."""
    if one is None:
        return value
    return rounded(Three(float(one.low), value, float(one.high)), family, units).likely


def _to_digits(count: float) -> float:
    """Strokes up to the next of three digits; a smaller count as it is."""
    if not (np.isfinite(count) and count >= 10.0**DIGITS):
        return count
    step = 10.0 ** (np.floor(np.log10(count)) + 1 - DIGITS)
    return float(np.ceil(count / step - 1e-9) * step)


def likely_stage(stage: Stage, units: str = "metric") -> Stage:
    """Return the stage with its low, likely and high rounded to what they can bear."""
    three = rounded(Three(float(stage.low_s), float(stage.likely_s), float(stage.high_s)), "duration", units)
    return replace(stage, low_s=three.low, likely_s=three.likely, high_s=three.high)


def likely_span(span: Span, units: str = "metric") -> Span:
    """Return the span with its low, likely and high rounded to what they can bear."""
    three = rounded(Three(float(span.low), float(span.likely), float(span.high)), "duration", units)
    return replace(span, low=three.low, likely=three.likely, high=three.high)


def range_of(estimate: Estimate, path: str) -> Three | None:
    """Return low, likely and high of an answer by its path, such as "fill.time_s"; None where it has no range."""
    return next((Three(float(one.low), float(one.likely), float(one.high))
                 for one in estimate.spreads if one.path == path), None)


def at(estimate: Any, path: str) -> Any:
    """Return the value at a path of the estimate; None where a record on the way is missing."""
    for name in path.split("."):
        estimate = getattr(estimate, name, None)
    return estimate


def _family(estimate: Estimate, path: str) -> str:
    record, _, leaf = path.rpartition(".")
    return answers(type(at(estimate, record) if record else estimate))[leaf].family


def _spread(one: Spread, family: str, units: str) -> Spread:
    three = rounded(Three(float(one.low), float(one.likely), float(one.high)), family, units)
    return replace(one, low=three.low, likely=three.likely, high=three.high)


def scalars(record: Any) -> list[str]:
    """Return the paths of all single answers of an estimate that a range may be told of, in order."""
    found = []
    for f in fields(record):
        said, value = f.metadata.get("answer"), getattr(record, f.name)
        if said is not None and said.family and not said.listed:
            found.append(f.name)
        elif said is None and is_dataclass(value) and not isinstance(value, type):
            found += [f"{f.name}.{inner}" for inner in scalars(value)]
    return found
