"""The vessel with its water and its air, its vent, its drain, and one of the openings that are closed for the test."""

from __future__ import annotations

import numpy as np

from fillcalc.case.records import PipeRun
from fillcalc.present.picture.dangers import CLOSURE, DRAIN, VENT, VESSEL
from fillcalc.present.picture.ground import Ground
from fillcalc.present.picture.records import NOTED, Points
from fillcalc.present.picture.sheet import Part

AMID = 0.35
"""Height at which the dimensions stand, of the vessel's box."""
CLOSED_AT = 0.72
"""Height of an opening that is closed, of the vessel's box."""


def water(on: Ground) -> None:
    """Water, and the air that is under pressure above it."""
    moment = on.moment
    if moment is None:
        return
    full = on.figures.full
    if on.over_crests:
        on.sheet.area("water", on.all_at(on.inside.below(1.0 if full else moment.filled)), "water")
        for ring in on.pockets(moment.air_m3 if on.figures.pumping else on.most_air) if full else []:
            on.sheet.area("air", ring, "air")
            _surface(on, float(ring[:, 1].min()), ring)
        return
    if on.level > 0.0:
        on.sheet.area("water", on.all_at(on.inside.below(on.level)), "water")
    air = on.all_at(on.inside.above(on.level))
    if on.figures.pumping or moment.air_gauge_pa > 0.0:
        on.sheet.area("air", air, "air")
    if 0.0 < on.level < 1.0:
        cut = on.all_at(on.inside.below(on.level))
        _surface(on, float(cut[:, 1].max()), cut)


def _surface(on: Ground, y: float, ring: Points) -> None:
    """The line of the water at a height, as wide as the closed line that is cut there."""
    there = ring[np.abs(ring[:, 1] - y) < 1e-9, 0]
    on.sheet.line(Part("water"), [(float(there.min()), y), (float(there.max()), y)], "level")


def vessel(on: Ground) -> None:
    """The walls, what the vessel holds, how far it is full, and an opening that is closed."""
    part, sheet, inside = on.part(VESSEL), on.sheet, on.inside
    sheet.line(part, on.all_at(inside.points), "wall", closed=True)
    sheet.label(part, on.at((0.5 * inside.ratio, 0.0)), on.figures.vessel(), "sc", 5)
    dimensions(on)
    sheet.label(on.part(VESSEL, "vessel.rise"), on.at((0.75 * inside.ratio, 0.3)), on.figures.rise(), "se", 9)
    if on.moment is not None and on.figures.filling:
        end = inside.surface_end(on.moment.filled if on.over_crests else on.level)
        sheet.label(Part("water"), on.at(end), on.figures.level(), "ewc", 2)
    _air(on)
    closure(on)


def dimensions(on: Ground) -> None:
    """The main dimensions, inside the vessel or beside it, else noted under the drawing; before the work not on the
    side of the source, whose label they would be read with."""
    sides = "ces" if on.figures.gauge_pa is None else "cews"
    on.sheet.label(on.part(VESSEL), on.at((0.5 * on.inside.ratio, AMID)), on.figures.dimensions(), sides + NOTED, 6)


def closure(on: Ground) -> None:
    """One of the openings, closed for the test."""
    part, run = on.part(CLOSURE, "labour.closure"), isinstance(on.case.vessel, PipeRun)
    x, y = on.inside.far_end if run else (on.inside.across(CLOSED_AT)[0], CLOSED_AT)
    x, y = on.at((x, y))
    out = 0.035 if run else -0.035
    on.sheet.line(part, [(x, y), (x + out, y)])
    on.sheet.line(part, [(x + out, y - 0.03), (x + out, y + 0.03)], "wall")
    on.sheet.label(part, (x + out, y), on.figures.closure(), "nsew" if run else "wns", 7)


def _air(on: Ground) -> None:
    """What the air above the water does: nothing is said of it where it is at no pressure."""
    moment = on.moment
    part = on.part("air", "trapped_air.amount") if not on.figures.filling else Part("air")
    if on.figures.filling and moment is not None and not moment.air_gauge_pa > 0.0:
        return
    y = 0.5 * (on.level + 1.0) if moment is not None else 0.9
    if on.over_crests:
        at = on.at((on.inside.tops[0] * on.inside.ratio, 0.95))
    else:
        at = on.at((on.inside.across(min(y, 0.98))[1], y))
    on.sheet.label(part, at, on.figures.air(), "enw", 2 if on.figures.pumping else 4)


def notes(on: Ground) -> tuple[str, ...]:
    """What in the drawing is not to scale."""
    notes = [] if on.inside.true else ["shape not to scale"]
    if on.figures.full and on.factor > 1:
        notes.append(f"air drawn ×{on.factor}")
    return tuple(notes)


def vent(on: Ground) -> None:
    """The vent at the top, or at the side where it sits low; a bar closes it, an arrow is the air that leaves."""
    vent, sheet = on.case.vent, on.sheet
    part = on.part(VENT, "vent.bore")
    shut = vent.shut or on.figures.pumping
    low = float(vent.below_highest_point or 0.0) > 0.0 and not on.over_crests
    if low:
        level = on.inside.level_under(on.factor * on.share(on.most_air))
        x, y = on.at((on.inside.across(level)[1], level))
        end = (x + 0.05, y + 0.07)
        sheet.line(part, [(x, y), (end[0], y), end])
    else:
        x, y = on.at(on.inside.top_port)
        end = (x, y + 0.06)
        sheet.line(part, [(x, y), end])
    if shut:
        sheet.line(part, [(end[0] - 0.035, end[1]), (end[0] + 0.035, end[1])], "wall")
    elif on.figures.filling:
        on.arrow(part, end, (0.0, 1.0), 0.07)
    sheet.label(part, (end[0], end[1] + (0.0 if shut else 0.06)), on.figures.vent(), "new", 1)


def drain(on: Ground) -> None:
    """The drain with its valve at the lowest point, where there is one."""
    if any(each.path == "drain.bore" for each in on.case.assumptions):
        return
    part, sheet = on.part(DRAIN, "drain.bore"), on.sheet
    x, y = on.at(on.inside.lowest)
    low = max(y - 0.09, 0.03)
    sheet.line(part, [(x, y), (x, low)])
    sheet.line(part, [(x - 0.03, low + 0.02), (x + 0.03, low + 0.05), (x + 0.03, low + 0.02),
                      (x - 0.03, low + 0.05)], closed=True)
    sheet.label(part, (x, low), on.figures.drain(), "ews", 8)
