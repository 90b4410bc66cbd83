"""The choices of a kit, told as the estimate of the case with each of them tells it.

`ranking.choices` tries every hose and pump on a few samples. What the strip, the quote and a visit say of the same case
comes of all samples, in the order of its own inputs; so those that are taken most likely are worked out once more, that
way, and ranked by what comes of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace

import numpy as np

from fillcalc.case.assume import handbook
from fillcalc.case.records import AirDrivenPump, Case, Hose, Kit, Range
from fillcalc.case.shape_of import walk
from fillcalc.estimation.answers import Span, Spread
from fillcalc.questions.choices.ranking import Choice, assumed_ranges, choices, ranked
from fillcalc.questions.ranges import with_ranges

MOST = 8
"""Choices that are worked out once more: single hoses first, then two in a row with the best pump."""


def choices_as_estimated(case: Case, kit: Kit, units: str = "metric") -> tuple[Choice, ...]:
    """Every line and every pump of the kit, as `ranking.choices`; eight that can do it, single hoses first, have the
    figures that the case with them in its place has in every other answer. Past them the figures are those of fewer
    samples."""
    found = choices(case, kit, units)
    able = [one for one in found if one.can]
    shown = [one for one in able if len(one.hose_places) == 1 or one.pump_place == able[0].pump_place]
    again = sorted(shown, key=lambda one: len(one.hose_places))[:MOST]
    known = {id(one): estimated(one, with_choice(case, kit, one)) for one in again}
    return ranked([known.get(id(one), one) for one in found], case, kit, units)


def estimated(one: Choice, case: Case) -> Choice:
    """Return a choice with the figures of the estimate of its case, with ranges."""
    found = with_ranges(case)
    assert found.visit is not None and found.days is not None
    spreads = {spread.path: spread for spread in found.spreads}
    visit = found.visit
    return replace(
        one, fill_s=_span(one.fill_s, spreads.get("fill.time_s")),
        pump_up_s=_span(one.pump_up_s, spreads.get("pressurise.time_s")),
        visit_s=Span(float(visit.at_likely_values_s), float(visit.low_s), float(visit.likely_s), float(visit.high_s)),
        never_share=float(visit.never_share), days=float(found.days.likely))


def _span(before: Span, spread: Spread | None) -> Span:
    return before if spread is None else Span(
        before.at_likely_values, float(spread.low), float(spread.likely), float(spread.high))


def with_choice(case: Case, kit: Kit, one: Choice) -> Case:
    """Return the case with a choice in place of its own hoses and pump, the regulator set, as if it had been read so.

    What it assumes of them has the kit's ranges, in the order in which a case is read: the samples go by that order.
    """
    pump = kit.pump[one.pump_place - 1][1]
    if isinstance(pump, AirDrivenPump):
        own, drive = case.pump, pump.drive_pressure
        if isinstance(own, AirDrivenPump):
            drive = np.minimum(own.drive_pressure, drive)
        pump = replace(pump, drive_pressure=np.asarray(drive), regulator_pressure=np.asarray(one.regulator_gauge_pa))
    hoses = tuple(Hose(**{each.name: getattr(kit.hose[which - 1], each.name) for each in fields(Hose)})
                  for which in one.hose_places)
    changed = replace(case, pump=pump, fill=replace(case.fill, hose=hoses, measured_flow=None))
    new = _ranges_of(changed, kit, "pump", f"pump.{one.pump_place}", pump)
    for order, which in enumerate(one.hose_places, 1):
        new |= _ranges_of(changed, kit, f"fill.hose.{order}", f"hose.{which}", kit.hose[which - 1])
    stay = {path: asked for path, asked in case.ranges.items()
            if not path.startswith(("fill.hose.", "pump.")) and path != "fill.measured_flow"}
    return replace(changed, ranges=_in_order(changed, stay, new))


def _ranges_of(case: Case, kit: Kit, path: str, in_kit: str, record: object) -> dict[str, Range]:
    """Ranges of a record of the kit by their paths in the case, without what nobody gave and cannot matter there."""
    assumed, found = kit.assumed.get(in_kit, ()), assumed_ranges(kit, in_kit, record)
    return {f"{path}.{leaf}": asked for leaf, asked in found.items()
            if leaf not in assumed or handbook(case, f"{path}.{leaf}") is not None}


def _in_order(case: Case, stay: Mapping[str, Range], new: Mapping[str, Range]) -> dict[str, Range]:
    """All ranges as the reader orders them: those of defaults and of what was typed by their place in the case, then
    those that the file adds."""
    order = {path: place for place, (path, _, _) in enumerate(walk(case))}
    paths = list(stay)
    added = next((place for place in range(1, len(paths))
                  if order.get(paths[place], 0) < order.get(paths[place - 1], 0)), len(paths))
    first = sorted([*paths[:added], *new], key=lambda path: order.get(path, len(order)))
    both = {**stay, **new}
    return {path: both[path] for path in (*first, *paths[added:])}
