"""The pump, its outlet with relief valve and gauge, and the test hose to the vessel."""

from __future__ import annotations

from math import cos, isfinite, pi, sin

from fillcalc.case.records import ElectricPump, HandPump
from fillcalc.present.picture.dangers import GAUGE, PUMP, RELIEF, TEST_HOSE
from fillcalc.present.picture.figures import is_known
from fillcalc.present.picture.ground import Ground
from fillcalc.present.picture.sheet import Part, Point

PUMP_UP, TEE_UP, RELIEF_UP, DIAL_UP = 0.17, 0.31, 0.38, 0.63
"""Heights of the pump, of the test hose and the relief valve on its outlet, and of the gauge."""
DIAL = 0.13
"""Radius of the gauge."""
EMPTY_DIAL, FULL_DIAL = 1.25 * pi, -0.25 * pi
"""Where the needle stands at nothing and at full scale, rad from the x axis."""


def pump(on: Ground) -> None:
    """The pump by its own sign, its outlet up to the gauge, and the test hose."""
    pump, sheet, x, y = on.case.pump, on.sheet, on.riser, PUMP_UP
    part, joint = on.part(PUMP), on.part(TEST_HOSE)
    if isinstance(pump, ElectricPump):
        sheet.circle(part, (x, y), 0.075)
        sheet.line(part, [(x - 0.055, y - 0.05), (x, y + 0.075), (x + 0.055, y - 0.05)])
    elif isinstance(pump, HandPump):
        sheet.line(part, [(x - 0.05, y - 0.07), (x - 0.05, y + 0.05), (x + 0.05, y + 0.05), (x + 0.05, y - 0.07)],
                   "wall", closed=True)
        sheet.line(part, [(x + 0.05, y), (x + 0.16, y + 0.1)])
    else:
        sheet.line(part, [(x - 0.09, y - 0.07), (x - 0.09, y + 0.05), (x + 0.02, y + 0.05), (x + 0.02, y - 0.07)],
                   "wall", closed=True)
        sheet.line(part, [(x + 0.02, y - 0.03), (x + 0.08, y - 0.03), (x + 0.08, y + 0.02), (x + 0.02, y + 0.02)],
                   "wall")
    sheet.line(part, [(x, y + (0.075 if isinstance(pump, ElectricPump) else 0.05)), (x, DIAL_UP - DIAL)])
    sheet.label(part, (x, y), on.figures.pump(), "esw", 3)
    drive = on.part(PUMP, "pump.regulator_pressure", "pump.drive_pressure")
    sheet.label(drive, (x, y - 0.07), on.figures.drive(), "ews", 4)
    way = to_vessel(on)
    out, port_y = way[2]
    sheet.line(joint, way, "hose")
    sheet.label(joint, (0.5 * (x + out), TEE_UP), on.figures.test_hose(), "sn", 6)
    if on.figures.pumping and on.figures.flow():
        on.arrow(Part("flow"), (out, port_y), (-1.0, 0.0), 0.04)
        sheet.label(Part("flow"), (0.5 * (x + out), TEE_UP), on.figures.flow(), "ns", 7)


def to_vessel(on: Ground) -> list[Point]:
    """The way from the tee below the gauge to the vessel."""
    x, (port_x, port_y) = on.riser, on.at(on.inside.low_port[1])
    out = max(port_x + 0.05, min(port_x + 0.1, x - 0.1))
    return [(x, TEE_UP), (out, TEE_UP), (out, port_y), (port_x, port_y)]


def gauge(on: Ground) -> None:
    """The dial with its needle, and a tick at test pressure."""
    sheet, x, y = on.sheet, on.riser, DIAL_UP
    part = on.part(GAUGE, "gauge.full_scale")
    sheet.circle(part, (x, y), DIAL, "wall")
    test = float(on.figures.estimate.pressurise.test_gauge_pa)
    scale = float(on.case.gauge.full_scale) if is_known(on.case.gauge.full_scale) else 1.5 * test
    for tick in (0.0, 1.0):
        sheet.line(part, [_dial(x, y, tick, 0.8), _dial(x, y, tick, 1.0)])
    sheet.line(Part("test pressure"), [_dial(x, y, test / scale, 0.72), _dial(x, y, test / scale, 1.0)], "mark")
    known = on.figures.gauge_pa
    shown = 0.0 if known is None or not isfinite(known) else known
    sheet.line(Part(GAUGE), [_dial(x, y, shown / scale, -0.2), _dial(x, y, shown / scale, 0.75)], "needle")
    sheet.label(Part(GAUGE, danger=part.danger), (x, y + DIAL), on.figures.gauge(), "nwe", 1)
    sheet.label(on.part("gauge height", "gauge.height"), (x + DIAL, y), on.figures.gauge_height(), "esw", 7)


def relief(on: Ground) -> None:
    """The relief valve on the outlet of the pump, where there is one."""
    if on.case.relief_valve is None:
        return
    part, sheet, x, y = on.part(RELIEF), on.sheet, on.riser, RELIEF_UP
    sheet.line(part, [(x, y), (x + 0.07, y)])
    sheet.line(part, [(x + 0.04, y), (x + 0.1, y), (x + 0.07, y + 0.05)], "line", closed=True)
    sheet.line(part, [(x + 0.07, y + 0.05), (x + 0.07, y + 0.09)])
    sheet.label(part, (x + 0.2, y), on.figures.relief(), "sen", 6)


def _dial(x: float, y: float, part: float, out: float) -> Point:
    """A point of the dial: at a part of the scale, so far out of its radius."""
    part = min(max(part, 0.0), 1.04) if isfinite(part) else 0.0
    turn = EMPTY_DIAL + part * (FULL_DIAL - EMPTY_DIAL)
    return x + out * DIAL * cos(turn), y + out * DIAL * sin(turn)
