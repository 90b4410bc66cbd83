"""The set-up drawn part by part: water source, hoses, vessel, vent, pump, gauge, relief valve, drain.

Places and sizes are for the eye; the vessel is in true proportions within 1:4, its level is to scale, and trapped air
that would be too thin to see is drawn larger, by a whole factor which the notes tell.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import cos, isfinite, pi, sin
from typing import Any

import numpy as np

from fillcalc.case.records import (
    Bucket,
    Case,
    ElectricPump,
    HandPump,
    HeaderTank,
    Hydrant,
    PipeRun,
    TransferPump,
)
from fillcalc.estimation.answers import Estimate
from fillcalc.present.picture.dangers import (
    CLOSURE,
    DRAIN,
    GAUGE,
    HOSE,
    PUMP,
    RELIEF,
    SOURCE,
    TEST_HOSE,
    VENT,
    VESSEL,
    dangers,
)
from fillcalc.present.picture.figures import Figures, is_known
from fillcalc.present.picture.outline import Outline, outline
from fillcalc.present.picture.records import Moment, Picture, Points
from fillcalc.present.picture.sheet import Part, Point, Sheet

WIDE = 1.6
"""Width over height of a picture where nobody asks for another."""
FLOOR, RAISED, LOW, TOP = 0.125, 0.18, 0.23, 0.82
"""Heights of a hose on the floor, of several, and of the lowest and the highest point of a vessel."""
SOURCE_AT, VESSEL_AT, PUMP_AT = 0.075, 0.44, 0.74
"""Places across, of the width."""
MOST_WIDE, RUN_WIDE = 0.4, 0.37
"""Most of the width that a vessel takes, and a run with its far end."""
SOURCE_LOWEST, SOURCE_HIGHEST = 0.24, 0.7
PUMP_UP, TEE_UP, RELIEF_UP, DIAL_UP = 0.17, 0.31, 0.38, 0.63
"""Heights of the pump, of the test hose and the relief valve on its outlet, and of the gauge."""
DIAL = 0.13
"""Radius of the gauge."""
OVER = 0.88
"""Height at which a hose that fills from the top comes over, at least."""
CLOSED_AT = 0.72
"""Height of an opening that is closed, of the vessel's box."""
SEEN = 0.08
"""Share of the volume as which trapped air is seen at least."""
FACTORS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000)
EMPTY_DIAL, FULL_DIAL = 1.25 * pi, -0.25 * pi
"""Where the needle stands at nothing and at full scale, rad from the x axis."""


def picture(case: Case, estimate: Estimate, moment: Moment | None = None, units: str = "metric", *,
            wide: float = WIDE, raised: frozenset[str] | None = None) -> Picture:
    """The set-up of a case at a moment of its own history; None is the set-up before the work.

    Case and estimate are at likely values. `wide` is the width over the height of the drawing; `raised` are the parts
    that `dangers` names, worked out here where they are not given.
    """
    parts = dangers(case, estimate) if raised is None else raised
    return _SetUp(Figures(case, estimate, moment, units), wide, parts).drawn()


@dataclass(frozen=True, eq=False)
class _SetUp:
    """One drawing while it is made."""

    figures: Figures
    wide: float
    raised: frozenset[str]

    @cached_property
    def sheet(self) -> Sheet:
        return Sheet(self.wide)

    @property
    def case(self) -> Case:
        return self.figures.case

    @property
    def moment(self) -> Moment | None:
        return self.figures.moment

    @cached_property
    def inside(self) -> Outline:
        return outline(self.case.vessel)

    @cached_property
    def size(self) -> float:
        """Height of the vessel's box."""
        most = RUN_WIDE if isinstance(self.case.vessel, PipeRun) else MOST_WIDE
        return min(TOP - LOW, most * self.wide / self.inside.ratio)

    @cached_property
    def corner(self) -> tuple[float, float]:
        """Lower left corner of the vessel's box."""
        left = VESSEL_AT * self.wide - 0.5 * self.inside.ratio * self.size
        return left, LOW + 0.35 * (TOP - LOW - self.size)

    def at(self, point: Point) -> Point:
        """A point of the vessel's box on the sheet."""
        return self.corner[0] + self.size * point[0], self.corner[1] + self.size * point[1]

    def all_at(self, points: Points) -> Points:
        """Points of the vessel's box on the sheet."""
        return np.asarray(self.corner) + self.size * points

    def part(self, name: str, *paths: str) -> Part:
        """A part, assumed where all of these inputs were."""
        return Part(name, self.figures.assumed(*paths), name in self.raised)

    def drawn(self) -> Picture:
        """The whole picture."""
        self._water()
        self._vessel()
        self._vent()
        self._source()
        self._hoses()
        self._pump()
        self._gauge()
        self._relief()
        self._drain()
        return self.sheet.picture(self.figures.caption(), self._notes(), self.case.title)

    # --- the vessel, its water and its air ------------------------------------------------------

    @cached_property
    def factor(self) -> int:
        """How many times its volume trapped air is drawn, so that it is seen; the same at every moment."""
        share = self.share(self.most_air)
        if not share > 0.0:
            return 1
        return next((factor for factor in FACTORS if factor * share >= SEEN), FACTORS[-1])

    @cached_property
    def most_air(self) -> float:
        """Trapped air before it is squeezed, m3."""
        history = np.ravel(np.asarray(self.figures.estimate.pressurise.history.air_m3, dtype=float))
        first = float(history[0]) if history.size and isfinite(history[0]) else 0.0
        return max(first, float(self.figures.estimate.trapped_air_m3))

    def share(self, air_m3: float) -> float:
        """Air as a share of the empty vessel: what takes room inside leaves the crown free."""
        internals = float(self.case.vessel.internals or 0.0)
        return float(air_m3 / self.figures.estimate.volume_m3) * (1.0 - internals)

    def pockets(self, air_m3: float) -> list[Points]:
        """The trapped air as it is drawn."""
        return [self.all_at(ring) for ring in self.inside.pockets(self.factor * self.share(air_m3))]

    @cached_property
    def level(self) -> float:
        """The level over the height, as it is drawn: never into the air that stays."""
        moment = self.moment
        if moment is None:
            return 0.0
        under_air = self.inside.level_under(self.factor * self.share(
            moment.air_m3 if self.figures.pumping else self.most_air))
        if self.figures.pumping:
            return under_air
        part = moment.filled if isfinite(moment.filled) else 0.0
        if not float(self.figures.estimate.height_m) > 0.0:
            part = float(self.inside.table(np.asarray(part)))
        return min(part, under_air)

    @property
    def over_crests(self) -> bool:
        return bool(self.inside.tops)

    def _water(self) -> None:
        """Water, and the air that is under pressure above it."""
        moment = self.moment
        if moment is None:
            return
        full = self.figures.full
        if self.over_crests:
            self.sheet.area("water", self.all_at(self.inside.below(1.0 if full else moment.filled)), "water")
            for ring in self.pockets(moment.air_m3 if self.figures.pumping else self.most_air) if full else []:
                self.sheet.area("air", ring, "air")
                self._surface(float(ring[:, 1].min()), ring)
            return
        if self.level > 0.0:
            self.sheet.area("water", self.all_at(self.inside.below(self.level)), "water")
        air = self.all_at(self.inside.above(self.level))
        if self.figures.pumping or moment.air_gauge_pa > 0.0:
            self.sheet.area("air", air, "air")
        if 0.0 < self.level < 1.0:
            cut = self.all_at(self.inside.below(self.level))
            self._surface(float(cut[:, 1].max()), cut)

    def _surface(self, y: float, ring: Points) -> None:
        there = ring[np.abs(ring[:, 1] - y) < 1e-9, 0]
        self.sheet.line(Part("water"), [(float(there.min()), y), (float(there.max()), y)], "level")

    def _vessel(self) -> None:
        """The walls, what the vessel holds, how far it is full, and an opening that is closed."""
        part, sheet, inside = self.part(VESSEL), self.sheet, self.inside
        sheet.line(part, self.all_at(inside.points), "wall", closed=True)
        sheet.label(part, self.at((0.5 * inside.ratio, 0.0)), self.figures.vessel(), "sc", 5)
        sheet.label(self.part(VESSEL, "vessel.rise"), self.at((0.75 * inside.ratio, 0.3)), self.figures.rise(), "se", 9)
        if self.moment is not None and self.figures.filling:
            end = inside.surface_end(self.moment.filled if self.over_crests else self.level)
            sheet.label(Part("water"), self.at(end), self.figures.level(), "ewc", 2)
        self._air_label()
        self._closure()

    def _closure(self) -> None:
        """One of the openings, closed for the test."""
        part, run = self.part(CLOSURE, "labour.closure"), isinstance(self.case.vessel, PipeRun)
        x, y = self.inside.far_end if run else (self.inside.across(CLOSED_AT)[0], CLOSED_AT)
        x, y = self.at((x, y))
        out = 0.035 if run else -0.035
        self.sheet.line(part, [(x, y), (x + out, y)])
        self.sheet.line(part, [(x + out, y - 0.03), (x + out, y + 0.03)], "wall")
        self.sheet.label(part, (x + out, y), self.figures.closure(), "nsew" if run else "wns", 7)

    def _air_label(self) -> None:
        moment = self.moment
        part = self.part("air", "trapped_air.amount") if not self.figures.filling else Part("air")
        if self.figures.filling and moment is not None and not moment.air_gauge_pa > 0.0:
            return
        y = 0.5 * (self.level + 1.0) if moment is not None else 0.9
        if self.over_crests:
            at = self.at((self.inside.tops[0] * self.inside.ratio, 0.95))
        else:
            at = self.at((self.inside.across(min(y, 0.98))[1], y))
        self.sheet.label(part, at, self.figures.air(), "enw", 2 if self.figures.pumping else 4)

    def _notes(self) -> tuple[str, ...]:
        notes = [] if self.inside.true else ["shape not to scale"]
        if self.figures.full and self.factor > 1:
            notes.append(f"trapped air drawn {self.factor} times as large")
        return tuple(notes)

    def _vent(self) -> None:
        """The vent at the top, or at the side where it sits low; a bar closes it, an arrow is the air that leaves."""
        vent, sheet = self.case.vent, self.sheet
        part = self.part(VENT, "vent.bore")
        shut = vent.shut or self.figures.pumping
        low = float(vent.below_highest_point or 0.0) > 0.0 and not self.over_crests
        if low:
            level = self.inside.level_under(self.factor * self.share(self.most_air))
            x, y = self.at((self.inside.across(level)[1], level))
            end = (x + 0.05, y + 0.07)
            sheet.line(part, [(x, y), (end[0], y), end])
        else:
            x, y = self.at(self.inside.top_port)
            end = (x, y + 0.06)
            sheet.line(part, [(x, y), end])
        if shut:
            sheet.line(part, [(end[0] - 0.035, end[1]), (end[0] + 0.035, end[1])], "wall")
        elif self.figures.filling:
            self._arrow(part, end, (0.0, 1.0), 0.07)
        sheet.label(part, (end[0], end[1] + (0.0 if shut else 0.06)), self.figures.vent(), "new", 1)

    def _arrow(self, part: Part, at: Point, way: Point, long: float) -> None:
        """An arrow from a point along a unit vector."""
        tip = (at[0] + long * way[0], at[1] + long * way[1])
        head = 0.035
        across = (-way[1], way[0])
        for turn in (1.0, -1.0):
            self.sheet.line(part, [tip, (tip[0] - head * way[0] + 0.7 * head * turn * across[0],
                                         tip[1] - head * way[1] + 0.7 * head * turn * across[1])], "arrow")
        self.sheet.line(part, [at, tip], "arrow")

    # --- the water source and its hoses -----------------------------------------------------------

    @cached_property
    def source_up(self) -> float:
        """Height of the source on the sheet, to the scale of the vessel as far as there is room."""
        height = self.case.tap.height
        metres = float(self.figures.estimate.height_m)
        scale = self.size / metres if metres > 0.0 else 0.2
        y = self.at((0.0, 0.0))[1] + (float(height) if is_known(height) else 0.0) * scale
        return min(max(y, SOURCE_LOWEST), SOURCE_HIGHEST)

    def _source(self) -> None:
        tap, sheet = self.case.tap, self.sheet
        paths = ("tap.height",) if isinstance(tap, HeaderTank) else ("tap.pressure",)
        part, x, y = self.part(SOURCE, *paths), SOURCE_AT * self.wide, self.source_up
        half = 0.045 * self.wide
        if isinstance(tap, HeaderTank):
            wide, slant = half, 0.02 if isinstance(tap, Bucket) else 0.0
            top, low = y + 0.05, y - 0.1
            water = np.array([(x - wide + slant, low), (x - wide, y), (x + wide, y), (x + wide - slant, low)])
            sheet.area("source", water, "water")
            sheet.line(part, [(x - wide - slant, top), (x - wide + slant, low), (x + wide - slant, low),
                              (x + wide + slant, top)], "wall")
            sheet.line(part, [(x - wide, y), (x + wide, y)], "level")
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
        for figure in self.figures.source():
            sheet.label(part, (x, top), figure, "nesw", 3)
        flow, over = self.part(SOURCE, "tap.open_flow"), self.case.fill.from_ == "top"
        if not self.figures.pumping:
            sheet.label(flow, (x, y - 0.1 if over else top), self.figures.open_flow(), "sew" if over else "nesw", 9)

    @cached_property
    def outlet(self) -> Point:
        """Where the hose leaves the source."""
        x, y, tap = SOURCE_AT * self.wide, self.source_up, self.case.tap
        if isinstance(tap, HeaderTank):
            return x, y - 0.1
        if isinstance(tap, TransferPump):
            return x + 0.07, y
        return (x + 0.09, y) if isinstance(tap, Hydrant) else (x, y - 0.04)

    @cached_property
    def inlet(self) -> Point:
        """Where the water enters the vessel."""
        if self.case.fill.from_ == "top":
            x, y = self.at(self.inside.top_port)
            back = 0.3 * self.inside.ratio * self.size
            return x - back, self._top_at(x - back, y)
        return self.at(self.inside.low_port[0])

    def _top_at(self, x: float, y: float) -> float:
        """Height of the vessel's top above a place across."""
        ring = self.all_at(self.inside.points)
        near = ring[ring[:, 1] > self.corner[1] + 0.5 * self.size]
        order = np.argsort(near[:, 0])
        return float(np.interp(x, near[order, 0], near[order, 1])) if len(near) > 1 else y

    @property
    def floor(self) -> float:
        """Height of the hose on the floor: higher where several have their figures below it."""
        return RAISED if len(self.case.fill.hose) > 1 else FLOOR

    def _way(self) -> list[Point]:
        """The way of the fill hose from the source to where it ends."""
        (x, y), (to_x, to_y), floor = self.outlet, self.inlet, self.floor
        if self.case.fill.through_pump:
            pump = PUMP_AT * self.wide - 0.09
            return [(x, y), (x, floor), (pump - 0.04, floor), (pump - 0.04, PUMP_UP - 0.03), (pump, PUMP_UP - 0.03)]
        if self.case.fill.from_ == "top":
            over = max(to_y + 0.08, OVER)
            return [(x, y), (x + 0.08, y), (x + 0.08, over), (to_x, over), (to_x, to_y)]
        turn = to_x - 0.06
        return [(x, y), (x, floor), (turn, floor), (turn, to_y), (to_x, to_y)]

    @property
    def hose_off(self) -> bool:
        """Whether the fill hose is taken off at the moment: while pumping, unless the vessel starts at tap pressure."""
        fill, start = self.case.fill, self.case.test.start_pressure
        return self.figures.pumping and not fill.through_pump and start in (None, "full")

    def _hoses(self) -> None:
        """Each hose by its part of the way, a coupling between two; the flow beside the inlet."""
        hoses, way, sheet = self.case.fill.hose, np.asarray(self._way()), self.sheet
        if self.hose_off:
            part = self.part(HOSE)
            left = _between(way, 0.0, 0.72)
            sheet.line(part, left, "hose")
            sheet.label(part, _longest_middle(left), self.figures.hose_off(), "sne", 4)
            return
        lengths = np.array([max(float(hose.length), 1e-3) for hose in hoses]) if hoses else np.array([1.0])
        parts = np.maximum(lengths / lengths.sum(), 0.22)
        ends = np.concatenate([[0.0], np.cumsum(parts / parts.sum())])
        for index in range(len(parts)):
            part = self.part(HOSE)
            piece = _between(way, ends[index], ends[index + 1])
            sheet.line(part, piece, "hose")
            if index:
                sheet.circle(part, (float(piece[0, 0]), float(piece[0, 1])), 0.018)
            number = f" {index + 1}" if len(hoses) > 1 else ""
            forms = self.figures.hose(hoses[index], number) if hoses else self._measured()
            sheet.label(part, _longest_middle(piece), forms, "sne", 4)
        if self.figures.filling and self.figures.flow():
            self._flow_in(way[-1], way[-2])

    def _flow_in(self, end: Points, before: Points) -> None:
        """An arrow where the water enters, and what flows."""
        step = end - before
        x, y = (step / max(float(np.hypot(*step)), 1e-9)).tolist()
        self._arrow(Part("flow"), (float(end[0]) - 0.04 * x, float(end[1]) - 0.04 * y), (x, y), 0.05)
        sides = "esw" if self.case.fill.from_ == "top" else "nwe"
        self.sheet.label(Part("flow"), (float(before[0]), float(before[1])), self.figures.flow(), sides, 3)

    def _measured(self) -> tuple[str, ...]:
        flow = self.case.fill.measured_flow
        if flow is None:
            return ()
        told = self.figures.say(flow, "flow")
        return f"{told} measured", told

    # --- the pressure side -----------------------------------------------------------------------

    @property
    def riser(self) -> float:
        """Place across of the pump, its outlet and the gauge."""
        return PUMP_AT * self.wide

    def _pump(self) -> None:
        pump, sheet, x, y = self.case.pump, self.sheet, self.riser, PUMP_UP
        part, joint = self.part(PUMP), self.part(TEST_HOSE)
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
        sheet.label(part, (x, y), self.figures.pump(), "esw", 3)
        drive = self.part(PUMP, "pump.regulator_pressure", "pump.drive_pressure")
        sheet.label(drive, (x, y - 0.07), self.figures.drive(), "ews", 4)
        port_x, port_y = self.at(self.inside.low_port[1])
        out = max(port_x + 0.05, min(port_x + 0.1, x - 0.1))
        sheet.line(joint, [(x, TEE_UP), (out, TEE_UP), (out, port_y), (port_x, port_y)], "hose")
        sheet.label(joint, (0.5 * (x + out), TEE_UP), self.figures.test_hose(), "sn", 6)
        if self.figures.pumping and self.figures.flow():
            self._arrow(Part("flow"), (out, port_y), (-1.0, 0.0), 0.04)
            sheet.label(Part("flow"), (0.5 * (x + out), TEE_UP), self.figures.flow(), "ns", 7)

    def _gauge(self) -> None:
        """The dial with its needle, and a tick at test pressure."""
        sheet, x, y = self.sheet, self.riser, DIAL_UP
        part = self.part(GAUGE, "gauge.full_scale")
        sheet.circle(part, (x, y), DIAL, "wall")
        test = float(self.figures.estimate.pressurise.test_gauge_pa)
        scale = float(self.case.gauge.full_scale) if is_known(self.case.gauge.full_scale) else 1.5 * test
        for tick in (0.0, 1.0):
            sheet.line(part, [_dial(x, y, tick, 0.8), _dial(x, y, tick, 1.0)])
        sheet.line(Part("test pressure"), [_dial(x, y, test / scale, 0.72), _dial(x, y, test / scale, 1.0)], "mark")
        moment = self.moment
        shown = 0.0 if moment is None or not isfinite(moment.gauge_pa) else moment.gauge_pa
        sheet.line(Part(GAUGE), [_dial(x, y, shown / scale, -0.2), _dial(x, y, shown / scale, 0.75)], "needle")
        sheet.label(Part(GAUGE, danger=part.danger), (x, y + DIAL), self.figures.gauge(), "nwe", 1)

    def _relief(self) -> None:
        if self.case.relief_valve is None:
            return
        part, sheet, x, y = self.part(RELIEF), self.sheet, self.riser, RELIEF_UP
        sheet.line(part, [(x, y), (x + 0.07, y)])
        sheet.line(part, [(x + 0.04, y), (x + 0.1, y), (x + 0.07, y + 0.05)], "line", closed=True)
        sheet.line(part, [(x + 0.07, y + 0.05), (x + 0.07, y + 0.09)])
        sheet.label(part, (x + 0.2, y), self.figures.relief(), "sen", 6)

    def _drain(self) -> None:
        if self.case.drain.bore is None:
            return
        part, sheet = self.part(DRAIN, "drain.bore"), self.sheet
        x, y = self.at(self.inside.lowest)
        low = max(y - 0.09, 0.03)
        sheet.line(part, [(x, y), (x, low)])
        sheet.line(part, [(x - 0.03, low + 0.02), (x + 0.03, low + 0.05), (x + 0.03, low + 0.02),
                          (x - 0.03, low + 0.05)], closed=True)
        sheet.label(part, (x, low), self.figures.drain(), "ews", 8)


def _dial(x: float, y: float, part: float, out: float) -> Point:
    """A point of the dial: at a part of the scale, so far out of its radius."""
    part = min(max(part, 0.0), 1.04) if isfinite(part) else 0.0
    turn = EMPTY_DIAL + part * (FULL_DIAL - EMPTY_DIAL)
    return x + out * DIAL * cos(turn), y + out * DIAL * sin(turn)


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
    middle: Any = 0.5 * (piece[index] + piece[index + 1])
    return float(middle[0]), float(middle[1])


