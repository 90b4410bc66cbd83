"""The figures that are told of a case: likely, with low and high, each rounded once to what its range can bear."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any

import numpy as np

from fillcalc.estimation.answers import Estimate, Span, Spread, Stage, answers, at_likely_values
from fillcalc.tree import put
from fillcalc.units.spans import Three, rounded


def likely(estimate: Estimate, units: str = "metric") -> Estimate:
    """Return the estimate with every answer that has a range at its likely value.

    Answers, stages, spreads and time on site are rounded to what their spread can bear in these units (metric or
    us), so that the same answer reads the same wherever it is printed. Curves, shares, parts, the ladder and strokes
    at marks need one path through the job and stay at likely values. An estimate without ranges comes back as it is.
    """
    estimate = at_likely_values(estimate)
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
    return replace(
        estimate, spreads=spreads, visit=visit, stages=tuple(likely_stage(one, units) for one in estimate.stages),
        fill=replace(estimate.fill, finished=np.isfinite(estimate.fill.time_s)),
        pressurise=replace(estimate.pressurise, reached=np.isfinite(estimate.pressurise.time_s)))


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
