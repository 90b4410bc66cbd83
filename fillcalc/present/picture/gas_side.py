"""The set-up of a test with gas: bottles, booster or air line, regulator, hose, vessel, steps of pressure, let-off."""

from __future__ import annotations

import numpy as np

from fillcalc.case.records import AirLine, Booster, Bottles
from fillcalc.present.picture import gas_figures as say
from fillcalc.present.picture import pressure_side, vessel_side
from fillcalc.present.picture.dangers import BOTTLES, GAS_HOSE, LET_OFF, REGULATOR, STEPS, TEST_HOSE, VESSEL
from fillcalc.present.picture.ground import Ground
from fillcalc.present.picture.records import LET_OFF as LETTING_OFF
from fillcalc.present.picture.records import Picture
from fillcalc.present.picture.sheet import Part, Point

MOST_BOTTLES = 3
"""Bottles that are drawn; of more those about the open one."""
BOTTLES_AT, BOTTLES_WIDE = 0.02, 0.15
"""Left end of the bottles, and the room they take, of the width."""
WIDEST = 0.13
"""Room of one bottle, at most."""
BOTTLE_LOW, BOTTLE_HIGH, NECK = 0.22, 0.5, 0.05
"""Heights of the bottom and the shoulder of a bottle, and of its valve above that."""
LINE_UP, BOOSTED_UP = 0.68, 0.84
"""Height of the line to the regulator, and of the regulator behind a booster."""
REGULATOR_AT = 0.19
"""Place across of the regulator, of the width."""
STEPS_AT, STEPS_LOW, STEPS_HIGH = 0.93, 0.2, 0.84
"""Place across of the steps of pressure, of the width, and heights of nothing and of test pressure."""


def picture(on: Ground) -> Picture:
    """All parts, the gas first."""
    for draw in (gas_inside, vessel, let_off, supply, regulator, gauge, pressure_side.relief, steps):
        draw(on)
    return on.sheet.picture(say.caption(on.figures), (*notes(on), *vessel_side.notes(on)), on.case.title)


def gas_inside(on: Ground) -> None:
    """The gas, once it is at a pressure."""
    moment = on.figures.gas
    if moment is not None and moment.gauge_pa > 0.0:
        on.sheet.area("air", on.all_at(on.inside.points), "air")


def vessel(on: Ground) -> None:
    """The walls, what the vessel holds, how warm the gas is, and an opening that is closed."""
    part, sheet, inside = on.part(VESSEL), on.sheet, on.inside
    sheet.line(part, on.all_at(inside.points), "wall", closed=True)
    sheet.label(part, on.at((0.5 * inside.ratio, 0.0)), on.figures.vessel(), "sc", 5)
    vessel_side.dimensions(on)
    sheet.label(Part("air"), on.at((0.5 * inside.ratio, 0.5)), say.warmth(on.figures), "cns", 4)
    vessel_side.closure(on)


def let_off(on: Ground) -> None:
    """The valve at the top that lets off; an arrow is the gas that leaves, a bar shuts it."""
    part, sheet, moment = on.part(LET_OFF, "gas_vent.kv", "gas_vent.bore"), on.sheet, on.figures.gas
    x, y = on.at(on.inside.top_port)
    end = (x, y + 0.06)
    sheet.line(part, [(x, y), end])
    if moment is not None and moment.stage == LETTING_OFF:
        on.arrow(part, end, (0.0, 1.0), 0.07)
        sheet.label(Part("flow"), end, say.flow(on.figures), "ewn", 3)
    else:
        sheet.line(part, [(x - 0.035, end[1]), (x + 0.035, end[1])], "wall")
    sheet.label(part, end, say.let_off(on.figures), "new", 2)


def supply(on: Ground) -> None:
    """What the gas comes from, up to the line before the regulator."""
    given = on.case.gas_supply
    if isinstance(given, AirLine):
        _air_line(on)
        return
    assert isinstance(given, Bottles)
    _bottles(on, given)
    if isinstance(given, Booster):
        _booster(on)


def _air_line(on: Ground) -> None:
    """A pipe out of the wall with its valve."""
    part, sheet, x = on.part(BOTTLES), on.sheet, 0.08 * on.wide
    sheet.line(part, [(0.02, LINE_UP - 0.12), (0.02, LINE_UP + 0.1)], "wall")
    sheet.line(part, [(0.02, LINE_UP), (REGULATOR_AT * on.wide - RADIUS, LINE_UP)], "wall")
    sheet.line(part, [(x, LINE_UP), (x, LINE_UP + 0.06)])
    sheet.line(part, [(x - 0.04, LINE_UP + 0.06), (x + 0.04, LINE_UP + 0.06)], "wall")
    sheet.label(part, (x, LINE_UP), say.air_line(on.figures), "sen", 3)


def shown_bottles(on: Ground, given: Bottles) -> tuple[int, int, int]:
    """The number of the first bottle that is drawn, of the last, and of the first that is open; from nothing up."""
    count, moment = int(given.bottles), on.figures.gas
    first_open = 0 if moment is None else (moment.opened - 1) * min(int(given.at_once), count)
    start = max(min(first_open - 1, count - MOST_BOTTLES), 0)
    return start, min(start + MOST_BOTTLES, count), first_open


def _bottles(on: Ground, given: Bottles) -> None:
    """The bottles: gas as high in each as its pressure is of a full one; those that are open stand on the line."""
    sheet, moment = on.sheet, on.figures.gas
    start, end, first_open = shown_bottles(on, given)
    once = min(int(given.at_once), int(given.bottles))
    room = min(BOTTLES_WIDE * on.wide / (end - start), WIDEST)
    for place in range(start, end):
        part = on.part(f"{BOTTLES} {place + 1}")
        x, half = BOTTLES_AT * on.wide + (place - start + 0.5) * room, 0.36 * room
        is_open = first_open <= place < first_open + once
        pressure = float(given.pressure) if moment is None else _in(on, given, place, first_open, once)
        share = min(max(pressure / float(given.pressure), 0.0), 1.0)
        level = BOTTLE_LOW + share * (BOTTLE_HIGH - BOTTLE_LOW)
        if share > 0.0:
            sheet.area(part.name, np.array([(x - half, BOTTLE_LOW), (x - half, level), (x + half, level),
                                            (x + half, BOTTLE_LOW)]), "air")
        sheet.line(part, [(x - half, BOTTLE_LOW), (x - half, BOTTLE_HIGH), (x - 0.3 * half, BOTTLE_HIGH + NECK),
                          (x + 0.3 * half, BOTTLE_HIGH + NECK), (x + half, BOTTLE_HIGH), (x + half, BOTTLE_LOW)],
                   "wall", closed=True)
        if is_open and not (moment is not None and moment.stage == LETTING_OFF):
            sheet.line(Part(GAS_HOSE), [(x, BOTTLE_HIGH + NECK), (x, LINE_UP),
                                        (REGULATOR_AT * on.wide - RADIUS, LINE_UP)])
        if moment is not None:
            forms = say.in_bottle(on.figures, pressure) if place >= first_open else say.used(on.figures, pressure)
            sheet.label(part, (x, BOTTLE_LOW), forms, "sn", 1 if is_open else 6)
    if moment is None:
        middle = BOTTLES_AT * on.wide + 0.5 * (end - start) * room
        sheet.label(on.part(BOTTLES, "gas_supply.bottles"), (middle, BOTTLE_LOW), say.bottles(on.figures), "se", 2)


def _in(on: Ground, given: Bottles, place: int, first_open: int, once: int) -> float:
    """Pressure in one bottle at the moment, Pa gauge."""
    moment = on.figures.gas
    assert moment is not None
    if place < first_open:
        return moment.left_gauge_pa[place // once]
    return moment.bottle_gauge_pa if place < first_open + once else float(given.pressure)


RADIUS = 0.045
"""Of the regulator's sign."""


def _booster(on: Ground) -> None:
    """Its two pistons, between the bottles and the regulator above."""
    part, sheet, x, y = on.part("booster"), on.sheet, REGULATOR_AT * on.wide, LINE_UP
    sheet.line(part, [(x - RADIUS, y - 0.06), (x - RADIUS, y + 0.06), (x + 0.01, y + 0.06), (x + 0.01, y - 0.06)],
               "wall", closed=True)
    sheet.line(part, [(x + 0.01, y - 0.025), (x + 0.06, y - 0.025), (x + 0.06, y + 0.025), (x + 0.01, y + 0.025)],
               "wall", closed=True)
    sheet.line(part, [(x, y + 0.06), (x, BOOSTED_UP - RADIUS)])
    sheet.label(part, (x, y - 0.06), say.booster(on.figures), "sew", 3)


def regulator(on: Ground) -> None:
    """The regulator, and the hose from it down to the vessel; an arrow where gas goes in."""
    sheet, x = on.sheet, REGULATOR_AT * on.wide
    y = BOOSTED_UP if isinstance(on.case.gas_supply, Booster) else LINE_UP
    part, hose = on.part(REGULATOR, "gas_line.regulator_pressure"), on.part(GAS_HOSE, "gas_line.kv")
    sheet.circle(part, (x, y), RADIUS)
    sheet.line(part, [(x, y + RADIUS), (x, y + RADIUS + 0.04)])
    sheet.line(part, [(x - 0.03, y + RADIUS + 0.04), (x + 0.03, y + RADIUS + 0.04)])
    sheet.label(part, (x, y + RADIUS + 0.04), say.regulator(on.figures), "new", 3)
    way = _way(on, (x + RADIUS, y))
    sheet.line(hose, way, "hose")
    sheet.label(hose, way[1], say.hose(on.figures), "ens", 7)
    moment = on.figures.gas
    if moment is not None and moment.stage != LETTING_OFF and moment.flow_m3_s > 0.0:
        on.arrow(Part("flow"), (way[-1][0] - 0.04, way[-1][1]), (1.0, 0.0), 0.05)
        sheet.label(Part("flow"), way[-2], say.flow(on.figures), "sne", 3)


def _way(on: Ground, start: Point) -> list[Point]:
    """The way of the hose from the regulator to where the gas enters."""
    to_x, to_y = on.at(on.inside.low_port[0])
    turn = min(max(start[0] + 0.02, to_x - 0.08), to_x - 0.02)
    return [start, (turn, start[1]), (turn, to_y), (to_x, to_y)]


def gauge(on: Ground) -> None:
    """The gauge, and its line to the vessel."""
    joint, x = on.part(TEST_HOSE), on.riser
    on.sheet.line(joint, pressure_side.to_vessel(on), "hose")
    on.sheet.line(joint, [(x, pressure_side.TEE_UP), (x, pressure_side.DIAL_UP - pressure_side.DIAL)])
    pressure_side.gauge(on)


def steps(on: Ground) -> None:
    """The way up as a scale: a tick at each stop and at test pressure, a bar as high as the pressure stands."""
    sheet, moment, x = on.sheet, on.figures.gas, STEPS_AT * on.wide
    assert on.figures.estimate.gas is not None
    way = on.figures.estimate.gas.stops
    test = float(on.figures.estimate.pressurise.test_gauge_pa)
    sheet.line(Part(STEPS), [(x, STEPS_LOW), (x, STEPS_HIGH)])
    stops, pauses = np.ravel(np.asarray(way.gauge_pa, float)), np.ravel(np.asarray(way.pause_s, float))
    for place, (stop, pause) in enumerate(zip(stops[:-1].tolist(), pauses.tolist(), strict=False)):
        y = _up(stop / test)
        sheet.line(Part(STEPS), [(x - 0.03, y), (x, y)])
        sheet.label(Part(STEPS), (x - 0.03, y), say.stop(on.figures, stop, pause), "wn", 7 if place else 6)
    sheet.line(Part("test pressure"), [(x - 0.04, STEPS_HIGH), (x + 0.02, STEPS_HIGH)], "mark")
    sheet.label(Part("test pressure"), (x, STEPS_HIGH), say.test_pressure(on.figures), "nw", 3)
    if moment is not None and moment.gauge_pa > 0.0:
        sheet.line(Part(STEPS), [(x, STEPS_LOW), (x, _up(moment.gauge_pa / test))], "needle")


def _up(share: float) -> float:
    return STEPS_LOW + min(max(share, 0.0), 1.04) * (STEPS_HIGH - STEPS_LOW)


def notes(on: Ground) -> tuple[str, ...]:
    """How to read the bottles."""
    given = on.case.gas_supply
    if not isinstance(given, Bottles):
        return ()
    start, end, _ = shown_bottles(on, given)
    some = () if end - start == int(given.bottles) else (f"{end - start} of {int(given.bottles)} bottles drawn",)
    return (*some, "bottles: dots show the pressure")
