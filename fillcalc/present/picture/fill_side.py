"""The water source and the fill hoses to where the water enters."""

from __future__ import annotations

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case.records import Bucket, HeaderTank, Hydrant, TransferPump
from fillcalc.present.picture.dangers import HOSE, SOURCE
from fillcalc.present.picture.figures import is_known
from fillcalc.present.picture.ground import PUMP_AT, Ground
from fillcalc.present.picture.pressure_side import PUMP_UP
from fillcalc.present.picture.records import Points
from fillcalc.present.picture.sheet import Part, Point

SOURCE_AT = 0.075
"""Place across of the source, of the width."""
SOURCE_LOWEST, SOURCE_HIGHEST = 0.24, 0.7
"""Heights between which it stands."""
FLOOR, RAISED = 0.125, 0.18
"""Heights of a hose on the floor, and of several with their figures below."""
OVER = 0.88
"""Height at which a hose that fills from the top comes over, at least."""


def source(on: Ground) -> None:
    """What the water comes from, by its own sign, as high as it stands, with what drives it."""
    tap, sheet = on.case.tap, on.sheet
    paths = ("tap.height",) if isinstance(tap, HeaderTank) else ("tap.pressure",)
    part, x, y = on.part(SOURCE, *paths), SOURCE_AT * on.wide, _source_up(on)
    half = 0.045 * on.wide
    if isinstance(tap, HeaderTank):
        wide, slant = half, 0.02 if isinstance(tap, Bucket) else 0.0
        top, low = y + 0.05, y - 0.1
        left = _left(on)
        level, edge = low + left * (y - low), wide - slant * (1.0 - left)
        water = np.array([(x - wide + slant, low), (x - edge, level), (x + edge, level), (x + wide - slant, low)])
        sheet.area("source", water, "water")
        sheet.line(part, [(x - wide - slant, top), (x - wide + slant, low), (x + wide - slant, low),
                          (x + wide + slant, top)], "wall")
        sheet.line(part, [(x - edge, level), (x + edge, level)], "level")
    elif isinstance(tap, TransferPump):
        sheet.circle(part, (x, y), 0.07)
        sheet.line(part, [(x - 0.045, y + 0.05), (x + 0.07, y), (x - 0.045, y - 0.05)])
    elif isinstance(tap, Hydrant):
        sheet.line(part, [(x - 0.035, FLOOR - 0.03), (x - 0.035, y + 0.06), (x + 0.035, y + 0.06),
                          (x + 0.035, FLOOR - 0.03)], "wall")
        sheet.line(part, [(x - 0.06, y + 0.06), (x + 0.06, y + 0.06)], "wall")
        sheet.line(part, [(x, y + 0.06), (x, y + 0.1)], "wall")
        sheet.line(part, [(x + 0.035, y), (x + 0.09, y)])
    else:
        sheet.line(part, [(0.02, y - 0.1), (0.02, y + 0.12)], "wall")
        sheet.line(part, [(0.02, y + 0.02), (x, y + 0.02), (x, y - 0.04)], "wall")
        sheet.line(part, [(x - 0.05, y + 0.08), (x + 0.05, y + 0.08)], "wall")
        sheet.line(part, [(x, y + 0.02), (x, y + 0.08)])
    top = y + (0.12 if not isinstance(tap, HeaderTank) else 0.06)
    for figure in on.figures.source():
        sheet.label(part, (x, top), figure, "nesw", 3)
    flow, over = on.part(SOURCE, "tap.open_flow"), on.case.fill.from_ == "top"
    if not on.figures.pumping:
        sheet.label(flow, (x, y - 0.1 if over else top), on.figures.open_flow(), "sew" if over else "nesw", 9)


def _left(on: Ground) -> float:
    """Share of its water that the present container still holds; all of it where nobody said what it holds."""
    contents, moment = on.case.tap.contents, on.moment
    if moment is None or not is_known(contents):
        return 1.0
    given = moment.water_m3 if on.figures.filling else on.figures.fill_m3
    taken = given / float(contents)
    return float(1.0 - (taken - max(np.ceil(taken) - 1.0, 0.0)))


def hoses(on: Ground) -> None:
    """Each hose by its part of the way, a coupling between two; the flow beside the inlet."""
    hoses, way, sheet = on.case.fill.hose, np.asarray(_way(on)), on.sheet
    if _hose_off(on):
        part = on.part(HOSE)
        left = _between(way, 0.0, 0.72)
        sheet.line(part, left, "hose")
        sheet.label(part, _longest_middle(left), on.figures.hose_off(), "sne", 4)
        return
    lengths = np.array([max(float(hose.length), 1e-3) for hose in hoses]) if hoses else np.array([1.0])
    parts = np.maximum(lengths / lengths.sum(), 0.22)
    ends = np.concatenate([[0.0], np.cumsum(parts / parts.sum())])
    for index in range(len(parts)):
        part = on.part(HOSE)
        piece = _between(way, ends[index], ends[index + 1])
        sheet.line(part, piece, "hose")
        if index:
            sheet.circle(part, (float(piece[0, 0]), float(piece[0, 1])), 0.018)
        number = f" {index + 1}" if len(hoses) > 1 else ""
        forms = on.figures.hose(hoses[index], number) if hoses else _measured(on)
        sheet.label(part, _longest_middle(piece), forms, "sne", 4)
    if on.figures.filling and on.figures.flow():
        _flow_in(on, way[-1], way[-2])


def _flow_in(on: Ground, end: Points, before: Points) -> None:
    """An arrow where the water enters, and what flows."""
    step = end - before
    x, y = (step / max(float(np.hypot(*step)), 1e-9)).tolist()
    on.arrow(Part("flow"), (float(end[0]) - 0.04 * x, float(end[1]) - 0.04 * y), (x, y), 0.05)
    sides = "esw" if on.case.fill.from_ == "top" else "nwe"
    on.sheet.label(Part("flow"), (float(before[0]), float(before[1])), on.figures.flow(), sides, 3)


def _measured(on: Ground) -> tuple[str, ...]:
    """What was measured where no hose was given."""
    flow = on.case.fill.measured_flow
    if flow is None:
        return ()
    text = on.figures.say(flow, "flow")
    return f"{text} measured", text


def _way(on: Ground) -> list[Point]:
    """The way of the fill hose from the source to where it ends."""
    (x, y), (to_x, to_y), floor = _outlet(on), _inlet(on), _floor(on)
    if on.case.fill.through_pump:
        pump = PUMP_AT * on.wide - 0.09
        return [(x, y), (x, floor), (pump - 0.04, floor), (pump - 0.04, PUMP_UP - 0.03), (pump, PUMP_UP - 0.03)]
    if on.case.fill.from_ == "top":
        over = max(to_y + 0.08, OVER)
        return [(x, y), (x + 0.08, y), (x + 0.08, over), (to_x, over), (to_x, to_y)]
    turn = to_x - 0.06
    return [(x, y), (x, floor), (turn, floor), (turn, to_y), (to_x, to_y)]


def _source_up(on: Ground) -> float:
    """Height of the source on the sheet, to the scale of the vessel as far as there is room."""
    height = on.case.tap.height
    metres = float(on.figures.estimate.height_m)
    scale = on.size / metres if metres > 0.0 else 0.2
    y = on.at((0.0, 0.0))[1] + (float(height) if is_known(height) else 0.0) * scale
    return min(max(y, SOURCE_LOWEST), SOURCE_HIGHEST)


def _outlet(on: Ground) -> Point:
    """Where the hose leaves the source."""
    x, y, tap = SOURCE_AT * on.wide, _source_up(on), on.case.tap
    if isinstance(tap, HeaderTank):
        return x, y - 0.1
    if isinstance(tap, TransferPump):
        return x + 0.07, y
    return (x + 0.09, y) if isinstance(tap, Hydrant) else (x, y - 0.04)


def _inlet(on: Ground) -> Point:
    """Where the water enters the vessel."""
    if on.case.fill.from_ == "top":
        x, y = on.at(on.inside.top_port)
        back = 0.3 * on.inside.ratio * on.size
        return x - back, _top_at(on, x - back, y)
    return on.at(on.inside.low_port[0])


def _top_at(on: Ground, x: float, y: float) -> float:
    """Height of the vessel's top above a place across."""
    ring = on.all_at(on.inside.points)
    near = ring[ring[:, 1] > on.corner[1] + 0.5 * on.size]
    order = np.argsort(near[:, 0])
    return float(np.interp(x, near[order, 0], near[order, 1])) if len(near) > 1 else y


def _floor(on: Ground) -> float:
    """Height of the hose on the floor: higher where several have their figures below it."""
    return RAISED if len(on.case.fill.hose) > 1 else FLOOR


def _hose_off(on: Ground) -> bool:
    """Whether the fill hose is taken off at the moment: while pumping, unless the vessel starts at tap pressure."""
    fill, start = on.case.fill, on.case.test.start_pressure
    return on.figures.pumping and not fill.through_pump and start in (None, "full")


def _between(way: Points, start: float, end: float) -> Points:
    """The piece of a bent line from one part of its length to another."""
    steps = np.hypot(*np.diff(way, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    along = along / along[-1]
    at = np.concatenate([[start], along[(along > start) & (along < end)], [end]])
    return np.column_stack([np.interp(at, along, way[:, 0]), np.interp(at, along, way[:, 1])])


def _longest_middle(piece: Points) -> Point:
    """The middle of the longest level stretch of a bent line, or of the longest stretch at all."""
    steps = np.diff(piece, axis=0)
    long = np.abs(steps[:, 0]) + 0.05 * np.abs(steps[:, 1])
    index = int(np.argmax(long))
    middle: Array = 0.5 * (piece[index] + piece[index + 1])
    return float(middle[0]), float(middle[1])
