"""From a resolved case to what the model is given: vessel, line, closed vessel, pump, duty."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case.no_flow import no_flow
from fillcalc.case.records import (
    CONTAINERS,
    AirDrivenPump,
    Case,
    ElectricPump,
    HandPump,
    HeaderTank,
    Hose,
    LyingCylinder,
    StandingCylinder,
    Vessel,
)
from fillcalc.job.air import air_of, trapped
from fillcalc.model import pump as pumps
from fillcalc.model import wall
from fillcalc.model.filling import Filling
from fillcalc.model.held import At, Held
from fillcalc.model.line import Line, Run, Source, contraction, expansion, k_to_quadratic, kv_to_quadratic, loss
from fillcalc.model.pressurise import Duty
from fillcalc.model.shapes import LevelTable, Pocket, Shape
from fillcalc.properties.media import GRAVITY, air, water
from fillcalc.units.tables import ATMOSPHERE, NORMAL

PUMP_KV = 0.3
"""Kv of a test pump's own checks when the vessel is filled through it; common practice."""
PIPE_ROUGHNESS = 0.045e-3
"""Commercial steel, m; F. White, Fluid Mechanics, ch. 6 (from memory)."""
SHARE_BASE = 1.5
"""An unknown wall gains its share of the volume at this multiple of the design pressure, if that is known, and no more
than that share at test pressure."""


@dataclass(frozen=True)
class Body:
    """What hangs on the line at once: inside of one piece, its height m; volume m3 net of internals, stretch
    m3/Pa and growth m3/K of all its pieces together."""

    inside: Shape
    volume: Array
    height: Array
    stretch: Array
    growth: Array
    trapped: Array
    """Free air left when it is full, m3."""
    pieces: Array
    """Pieces on the manifold at once."""


def body(case: Case) -> Body:
    """The vessel of a resolved case whose leaves are all of shape (N,)."""
    vessel, inside = case.vessel, case.vessel.inside()
    gross, metal = inside.volume(), metal_of(vessel)
    net = gross * (1.0 - vessel.internals)
    pieces = pieces_at_once(case)
    return Body(
        inside=inside,
        volume=net * pieces,
        height=inside.height(),
        stretch=inside.stretch(wall_of(case), metal, case.test.pressure) * pieces,
        growth=net * pieces * wall.thermal(metal.expansion, metal.poisson, metal.anchored),
        trapped=trapped(air_of(case), inside, net) * pieces,
        pieces=pieces,
    )


def pieces_at_once(case: Case) -> Array:
    """Pieces that hang on the manifold at once, never more than there are."""
    at_once, count = (1.0 if leaf is None else leaf for leaf in (case.vessel.at_once, case.vessel.count))
    return np.maximum(np.minimum(at_once, count), 1.0)


def metal_of(vessel: Vessel) -> wall.Metal:
    """What the wall of a resolved vessel is made of."""
    return wall.Metal(vessel.young, vessel.poisson, vessel.expansion, vessel.anchored)


def wall_of(case: Case) -> wall.Wall:
    """What is known of the wall of a resolved case; flat ends clamped where nothing is said of the rim."""
    vessel = case.vessel
    if vessel.wall is None or isinstance(vessel.wall, str):
        return wall.Rigid()
    if case.families.get("vessel.wall") == "share":
        assumed = any(assumption.path == "vessel.wall" for assumption in case.assumptions)
        base = case.test.pressure
        if assumed and vessel.design is not None:  # an atmospheric tank has no design pressure to speak of
            base = np.maximum(SHARE_BASE * vessel.design, base)
        return wall.Gain(vessel.wall, base)
    if not isinstance(vessel, StandingCylinder | LyingCylinder) or isinstance(vessel.end_wall, str | None):
        return wall.Thickness(vessel.wall)
    return wall.Thickness(vessel.wall, vessel.end_wall, 1.0 if vessel.end_fixity is None else vessel.end_fixity)


def line(case: Case) -> Line:
    """Source, hoses and fittings of a resolved case; a measured flow scales them to come true."""
    media = water(case.water.temperature)
    density = media.density(case.surroundings.pressure)
    zero = np.zeros_like(density)
    couplings, valve, jet = zero, zero, zero
    runs = []
    for number, hose in enumerate(case.fill.hose, 1):
        runs.append(Run(hose.bore, hose.length, hose.roughness, hose.reel))
        fittings, exit_bore = _fittings(hose, number == len(case.fill.hose))
        couplings = couplings + k_to_quadratic(fittings, hose.bore, density)
        valve = valve + k_to_quadratic(hose.extra_k, hose.bore, density)
        jet = k_to_quadratic(1.0, exit_bore, density)
    if case.fill.kv is not None:
        valve = valve + kv_to_quadratic(case.fill.kv, density)
    if case.fill.through_pump:
        valve = valve + kv_to_quadratic(PUMP_KV, density)
    run = case.vessel.inside().run()
    own = None if run is None else Run(*run, zero + PIPE_ROUGHNESS, beside=pieces_at_once(case))
    bare = Line(_source(case, density), tuple(runs), couplings, valve, jet, zero + 1.0, density,
                media.viscosity(case.surroundings.pressure))
    return replace(_true_to(case.fill.measured_flow, bare), pipe=own)


def _fittings(hose: Hose, last: bool) -> tuple[Array, Array]:
    """K at the hose's bore of tail, couplings, tail, and the bore of the jet if it is the last hose.

    Each fitting is a contraction and an expansion; the last of the line is a contraction and the jet. One
    that is wider than the hose costs nothing.
    """
    parts: list[tuple[Array, Array | float]] = []
    couplings = int(np.max(hose.couplings))
    tails = [(hose.tail_bore, 1.0)] if hose.tail_bore is not None else []
    parts = [*tails, *[(hose.coupling_hole, hose.coupling_factor)] * couplings, *tails]
    total = np.zeros_like(hose.bore)
    for i, (hole, factor) in enumerate(parts):
        ratio = np.minimum(hole / hose.bore, 1.0)
        narrow = contraction(ratio)
        if not (last and i == len(parts) - 1):
            narrow = narrow + expansion(ratio)
        total = total + factor * narrow / ratio**4
    return total, np.minimum(parts[-1][0], hose.bore) if parts else hose.bore


def _source(case: Case, density: Array) -> Source:
    """The source's curve; a tank's own water, taken to stand as high above its outlet, drives its open flow too."""
    tap = case.tap
    zero = np.zeros_like(density)
    if tap.points:
        pressure = [point[0] + zero for point in tap.points]
        flow = [point[1] + zero for point in tap.points]
        k = [(pressure[i] - pressure[i + 1]) / (flow[i + 1] ** 2 - flow[i] ** 2) for i in range(len(flow) - 1)]
        shut = pressure[0] + k[0] * flow[0] ** 2
        return Source(shut, tuple(k), (zero, *flow[1:-1]), tap.height + zero)
    assert tap.pressure is not None and tap.open_flow is not None
    tank = isinstance(tap, HeaderTank)
    at_outlet = tap.pressure + (density * GRAVITY * np.maximum(tap.height, 0.0) if tank else zero)
    k_tap = zero if isinstance(tap.open_flow, str) else at_outlet / tap.open_flow**2
    if tank:
        return Source(tap.pressure + density * GRAVITY * tap.height, (k_tap,), (zero,), zero)
    return Source(at_outlet, (k_tap,), (zero,), tap.height + zero)


def _true_to(measured: Array | None, bare: Line) -> Line:
    """The line with all its losses scaled so that the flow measured at the vessel's bottom comes true.

    A source that cannot lift the water that high cannot have given the flow: its losses stay as they are.
    """
    if measured is None:
        return bare
    driving = bare.source.pressure + bare.density * GRAVITY * bare.source.height
    lost, _ = loss(bare, measured)
    nothing, lifts = lost <= 0.0, driving > 0.0
    valve = np.where(nothing, np.where(lifts, driving, 1.0) / measured**2, bare.valve_k)
    scale = np.where(nothing | ~lifts, 1.0, driving / np.where(nothing, 1.0, lost))
    return replace(bare, valve_k=valve, scale=scale)


def filling(case: Case, vessel: Body, supply: Line) -> Filling:
    """The fill of a resolved case."""
    vent, tap = case.vent, case.tap
    area = vessel.pieces * vent.coefficient * 0.25 * np.pi * np.square(vent.bore)
    has_level = tap.contents is not None and isinstance(tap, CONTAINERS)
    return Filling(
        line=supply,
        volume=vessel.volume,
        end=vessel.volume - vessel.trapped,
        height=vessel.height,
        vent_area=np.zeros_like(area) if vent.shut else area,
        outside_abs=case.surroundings.pressure,
        air_temperature=case.surroundings.temperature,
        from_top=case.fill.from_ == "top",
        most=_most(case, supply),
        contents=np.inf if tap.contents is None else tap.contents,
        area=np.inf if not has_level or tap.area is None else tap.area,
        change_over=0.0 if case.fill.change_over is None else case.fill.change_over,
    )


def open_flow_of(source: Source) -> Array:
    """Flow of a source that runs out into the open, m3/s; infinite where its pressure does not fall. Derived: the root
    of its curve."""
    last = source.k[-1]
    left = source.pressure
    for before, k, flow in zip(source.k, source.k[1:], source.flow[1:], strict=False):
        left = left + (k - before) * np.square(flow)
    return np.where(last > 0.0, np.sqrt(np.maximum(left, 0.0) / np.where(last > 0.0, last, 1.0)), np.inf)


def _most(case: Case, supply: Line) -> Array | float:
    """Most that a source above the vessel passes, m3/s, where the hose falls so steeply that it would draw more than
    runs out of the open source; infinite where it does not.

    The water behind an open outlet cannot be drawn below its vapour pressure; long before, the hose no longer runs
    full. A tank's own water is in its curve already, and a flow that was measured is what it is.
    """
    if isinstance(case.tap, HeaderTank) or case.fill.measured_flow is not None:
        return np.inf
    most = open_flow_of(supply.source)
    driving = supply.source.pressure + supply.density * GRAVITY * supply.source.height
    steep = np.isfinite(most) & (driving > supply.source.pressure)
    steep = steep & (loss(supply, np.where(steep, most, 1.0))[0] < driving)
    return np.where(steep, most, np.inf) if steep.any() else np.inf


def _surface(case: Case, height: Array) -> Array:
    """Height of the water when the vessel is full and open, m: at the top, or at a vent below it."""
    below = case.vent.below_highest_point
    return np.maximum(height - (0.0 if below is None else below), 0.0)


def head(case: Case, height: Array, weight: Array) -> Array:
    """Water that stands above the gauge when the vessel is full and open, Pa; negative for a gauge above it.

    `height` of the vessel inside, m; `weight` Pa for each metre.
    """
    gauge = 0.0 if case.gauge.height is None else case.gauge.height
    return np.asarray(weight * (_surface(case, height) - gauge))


def held(case: Case, vessel: Body) -> Held:
    """The closed vessel of a resolved case, its test hose with it."""
    hose = case.test_hose
    zero = np.zeros_like(vessel.volume)
    media = water(case.water.temperature)
    weight = media.density(case.surroundings.pressure) * GRAVITY
    bore_volume = zero if hose is None else 0.25 * np.pi * np.square(hose.bore) * hose.length
    dry = bore_volume if case.trapped_air.test_hose == "dry" else zero
    return Held(
        volume=vessel.volume,
        stretch=vessel.stretch,
        growth=vessel.growth,
        air=vessel.trapped + dry,
        hose=bore_volume,
        hose_stretch=zero if hose is None else hose.stretch * hose.length,
        outside_abs=case.surroundings.pressure,
        water=media,
        air_table=air(case.water.temperature),
        head=head(case, vessel.height, weight),
        column=weight * _surface(case, vessel.height),
    )


def air_at_top(vessel: Body, table: LevelTable, at: At) -> Pocket:
    """The trapped air of one piece at a pressure."""
    return vessel.inside.pocket(table, at.held.air * at.pocket / vessel.pieces)


def drive_gauge(case: Case) -> Array:
    """Air pressure that drives the running pump, Pa gauge: the regulator's where there is one, and never more than
    the supply gives."""
    pump = case.pump
    assert isinstance(pump, AirDrivenPump)
    if pump.regulator_pressure is None:
        return pump.drive_pressure
    return np.minimum(pump.regulator_pressure, pump.drive_pressure)


def free_air(case: Case) -> Array | float:
    """Air that the compressor delivers, m3/s as it stands on site; infinite where nothing was said of it.

    A flow given as an amount (NL/min, Nm3/h, scfm) is brought from 0 C and 1.01325 bar to the site's pressure and
    temperature by the ideal gas law.
    """
    if case.air_supply is None:
        return np.inf
    given = case.air_supply.flow
    if case.families.get("air_supply.flow") == "normal_flow":
        return given * (case.surroundings.temperature / NORMAL) * (ATMOSPHERE / case.surroundings.pressure)
    return given


def worst(case: Case, driver: pumps.Pump) -> pumps.Pump:
    """The pump at the most that it can do to what hangs on it: no friction, and the air at the high end of what stands
    at it when it has stalled; a hand pump has no stall then, for two people and a longer lever do more than one."""
    if isinstance(driver, pumps.Steady):
        hand = isinstance(case.pump, HandPump)
        return replace(driver, power=driver.power + np.inf, stall_gauge=driver.stall_gauge + (np.inf if hand else 0.0))
    highest = np.maximum(no_flow(case)[1], drive_gauge(case))
    return replace(driver, friction=0.0 * driver.friction, supply_abs=highest + driver.outside_abs,
                   middle=np.ones_like(driver.middle), free_air=driver.free_air + np.inf)


def pump(case: Case) -> tuple[pumps.Pump, Array]:
    """The pump of a resolved case at what drives it, and the misfit of its points."""
    given = case.pump
    zero = np.zeros_like(case.test.pressure)
    if isinstance(given, HandPump):
        return pumps.Steady(given.stroke * given.stroke_rate + zero, given.stroke_work / given.stroke + zero,
                            given.power + zero), zero
    if isinstance(given, ElectricPump):
        return pumps.Steady(given.flow + zero, given.relief + zero, zero + np.inf), zero
    assert isinstance(given, AirDrivenPump)
    outside = case.surroundings.pressure
    at_plate = pumps.AirDriven(
        ratio=given.ratio + zero, supply_abs=given.drive_pressure + outside, outside_abs=outside,
        friction=given.friction * given.drive_pressure, supply=zero, exhaust=zero, middle=zero + 1.0,
        free_air=free_air(case) + zero, air_strokes=given.air_strokes + zero,
    )
    if given.points:
        gauge, flow = (np.stack([point[i] + zero for point in given.points]) for i in (0, 1))
        fitted, residual = pumps.fit_points(at_plate, gauge, flow)
    else:
        assert given.flow_at_zero is not None
        fitted, residual = pumps.fit_one(at_plate, given.flow_at_zero + zero), zero
        fitted = replace(fitted, middle=given.mid_curve + zero)
    return at_drive(fitted, given.friction, drive_gauge(case)), residual


def at_drive(fitted: pumps.AirDriven, friction: Array, gauge: Array) -> pumps.AirDriven:
    """The pump driven by another air pressure, Pa gauge; `friction` is its share of that pressure."""
    return replace(fitted, supply_abs=gauge + fitted.outside_abs, friction=friction * gauge)


def start_gauge(case: Case, task: Filling) -> Array:
    """What the gauge shows when the pump takes over, Pa: at least what the full open vessel shows there."""
    start, height = case.test.start_pressure, 0.0 if case.gauge.height is None else case.gauge.height
    full = np.maximum(head(case, task.height, task.weight), 0.0)
    if start is None or isinstance(start, str):
        at_gauge = task.at_top + task.weight * (task.height - height)
        return np.maximum(at_gauge, full) if start == "tap" else full
    return np.maximum(np.asarray(start, float), full)


def duty(case: Case, start: Array) -> Duty:
    """What is asked of the pump, with no marks on the way."""
    test = case.test.pressure
    zero = np.zeros_like(test)
    stops, pauses = _stops(case)
    return Duty(
        start_gauge=start,
        test_gauge=test,
        marks=np.empty((0, len(test))),
        rise_limit=zero + (np.inf if case.test.rise_limit is None else case.test.rise_limit),
        leak=zero + (0.0 if case.test.assumed_leak is None else case.test.assumed_leak),
        reserve=_reserve(case) + zero,
        stops=stops,
        pauses=pauses,
    )


def stops_given(case: Case) -> list[tuple[Array, Array]]:
    """Gauge pressure, Pa, and pause, s, of each stop that the case gives, in its order; (N,) each."""
    test = case.test.pressure
    shares = [case.families.get(f"test.steps.{number}.at") == "share" for number, _ in enumerate(case.test.steps, 1)]
    return [((step.at * test if share else step.at) + 0.0 * test, step.pause + 0.0 * test)
            for step, share in zip(case.test.steps, shares, strict=True)]


def _stops(case: Case) -> tuple[Array, Array]:
    """Pressures at which the pump is stopped on the way up, Pa gauge, rising, and for how long, s; (stops, N)."""
    given = stops_given(case)
    if not given:
        none = np.empty((0, len(case.test.pressure)))
        return none, none
    stops, pauses = (np.stack(each) for each in zip(*given, strict=True))
    order = np.argsort(stops, axis=0, kind="stable")
    return np.take_along_axis(stops, order, axis=0), np.take_along_axis(pauses, order, axis=0)


def _reserve(case: Case) -> Array | float:
    """Free air in the receiver above what drives the pump, m3 at the site's pressure."""
    supply = case.air_supply
    if supply is None or supply.receiver is None or supply.receiver_pressure is None:
        return 0.0
    if not isinstance(case.pump, AirDrivenPump):
        return 0.0
    above = np.maximum(supply.receiver_pressure - drive_gauge(case), 0.0)
    return supply.receiver * above / case.surroundings.pressure
