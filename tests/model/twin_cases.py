"""Invented cases for the comparison with the twin, each bending another part of the model."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any

from fillcalc.case import records
from fillcalc.case.fields import inputs
from fillcalc.units import read_quantity

BAR = 1e5
LITRES_A_MINUTE = 1e-3 / 60
MILLIMETRE = 1e-3


def complete(record: Any) -> Any:
    """The record with every default filled in, as a reader would."""
    declared = inputs(type(record))
    changed: dict[str, Any] = {}
    for entry in fields(record):
        held = getattr(record, entry.name)
        if entry.name in declared:
            asked = declared[entry.name]
            if held is None and asked.default is not None and not _instead(record, entry.name):
                changed[entry.name] = 0.7 * record.bore if entry.name == "coupling_hole" else _default(asked)
        elif is_dataclass(held):
            changed[entry.name] = complete(held)
        elif isinstance(held, tuple) and held and all(is_dataclass(item) for item in held):
            changed[entry.name] = tuple(complete(item) for item in held)
    return replace(record, **changed)


def _instead(record: Any, name: str) -> bool:
    """Whether another input stands in for this one, so that no default is wanted."""
    others = {"stroke": "strokes_per_litre", "pressure": "points", "open_flow": "points", "altitude": "pressure",
              "kv": "rate"}
    other = others.get(name)
    return other is not None and getattr(record, other, None) is not None


def _default(asked: Any) -> Any:
    text = asked.default.text
    if text in asked.words:
        return text
    if asked.form == "flag":
        return text == "true"
    if asked.form == "choice" or asked.form == "text":
        return text
    if asked.form == "count":
        return int(text)
    if asked.form == "number":
        return float(text)
    return read_quantity(text, asked.families)[0]


def hose(length: float, bore_mm: float, **more: Any) -> records.Hose:
    return records.Hose(length=length, bore=bore_mm * MILLIMETRE, **more)


SHELL = records.Case(
    title="Glycol chiller shell, Larkmoor cannery",
    vessel=records.StandingCylinder(diameter=0.62, height=1.9, ends="flat", wall=6e-3, end_wall=30e-3,
                                    never_above=29 * BAR),
    tap=records.Tap(pressure=3.2 * BAR, open_flow=28 * LITRES_A_MINUTE),
    fill=records.FillLine(from_="bottom", hose=(hose(22.0, 12.7, tail_bore=9.5e-3, roughness=1e-5),)),
    vent=records.Vent(bore=8e-3, coefficient=0.6),
    trapped_air=records.TrappedAir(amount=0.004, test_hose="bled"),
    test=records.Test(pressure=24 * BAR, hold=600.0),
    test_hose=records.TestHose(length=5.0, bore=6e-3, stretch=0.015e-11),
    pump=records.AirDrivenPump(ratio=10.0, drive_pressure=2.8 * BAR, stroke=60e-6, friction=0.05,
                               flow_at_zero=4.1 * LITRES_A_MINUTE),
    gauge=records.Gauge(full_scale=40 * BAR, division=0.5 * BAR),
    release=records.Release(kv=0.06),
    drain=records.Drain(bore=19e-3, coefficient=0.6, hose_length=10.0, fall=0.5),
    families={"vessel.wall": "bore", "trapped_air.amount": "share"},
)

SMALL_60 = records.AirDrivenPump(ratio=60.0, drive_pressure=5.5 * BAR, stroke=11e-6, friction=0.05,
                                 flow_at_zero=1.6 * LITRES_A_MINUTE)


def shell(**more: Any) -> records.Case:
    """The shell with other records; `families` are added to its own."""
    families = {**SHELL.families, **more.pop("families", {})}
    case = complete(replace(SHELL, families=families, **more))
    if case.vessel.wall is None and not getattr(case.vessel, "size", None):
        vessel = replace(case.vessel, wall=0.001)
        note = records.Assumption("vessel.wall", "0.1 %", "a pressure part near its design stress")
        case = replace(case, vessel=vessel, families={**families, "vessel.wall": "share"}, assumptions=(note,))
    if isinstance(case.pump, records.AirDrivenPump) and case.pump.mid_curve is None:
        case = replace(case, pump=replace(case.pump, mid_curve=1.0 if case.pump.points else 0.8))
    return case


def _two_hoses() -> tuple[records.Hose, ...]:
    return (hose(18.0, 19.0, couplings=1, coupling_hole=11e-3, coupling_factor=2.0),
            hose(9.0, 15.9, couplings=2, coupling_hole=9e-3, tail_bore=12.5e-3, extra_k=1.5))


CASES: dict[str, records.Case] = {
    "standing shell": shell(),
    "tap pressure at the start": shell(test=replace(SHELL.test, start_pressure="tap")),
    "no air at all": shell(trapped_air=records.TrappedAir(amount=0.0)),
    "lying dished drum, two hoses, short of air": shell(
        title="Blending drum, Quillford syrups",
        vessel=records.LyingCylinder(diameter=1.1, length=2.4, ends="dished", wall=8e-3, internals=0.3, young=193e9,
                                     poisson=0.3, expansion=16e-6, anchored=True),
        tap=records.Hydrant(pressure=4.5 * BAR, open_flow=120 * LITRES_A_MINUTE, height=-1.5),
        fill=records.FillLine(hose=_two_hoses(), cv=6.0, run_to_waste=0.02),
        vent=records.Vent(bore=6e-3, coefficient=0.7),
        pump=SMALL_60, air_supply=records.AirSupply(flow=150 * LITRES_A_MINUTE)),
    "sphere, table of the tap, electric pump": shell(
        title="Surge ball, Hatherby gasworks museum",
        vessel=records.Sphere(diameter=1.3, wall=10e-3),
        tap=records.TransferPump(points=((3.4 * BAR, 0.0), (3.0 * BAR, 15 * LITRES_A_MINUTE),
                                         (1.6 * BAR, 35 * LITRES_A_MINUTE))),
        fill=records.FillLine(hose=(hose(15.0, 19.0, couplings=0, extra_k=3.0),)),
        vent=records.Vent(bore=3.2e-3, coefficient=0.65),
        pump=records.ElectricPump(flow=6 * LITRES_A_MINUTE, relief=60 * BAR, stroke=10e-6),
        release=records.Release(rate=4e5 / 60)),
    "pipe run by size, rise limit": shell(
        title="Brine main, Osterlow ice rink",
        vessel=records.PipeRun(length=240.0, size="DN100", schedule="40", rise=6.0, anchored=True),
        tap=records.Tap(pressure=4.1 * BAR, open_flow=40 * LITRES_A_MINUTE, height=0.8),
        fill=records.FillLine(hose=(hose(30.0, 15.875),)),
        test=records.Test(pressure=15.5 * BAR, start_pressure="tap", rise_limit=2e5 / 60, hold=1800.0),
        pump=records.AirDrivenPump(ratio=20.0, drive_pressure=5.5 * BAR, regulator_pressure=1.5 * BAR, stroke=11e-6,
                                   friction=0.04, flow_at_zero=1.15 * LITRES_A_MINUTE),
        trapped_air=records.TrappedAir(amount=0.002)),
    "valve, dry hose, by hand": shell(
        title="Bench valve, Tarn Lane fittings",
        vessel=records.ValveBody(volume=0.9e-3, height=0.15, wall="rigid"),
        pump=records.HandPump(stroke=10e-6, stroke_rate=40 / 60),
        test=records.Test(pressure=60 * BAR, hold=15.0), test_hose=records.TestHose(length=2.0, bore=6e-3),
        trapped_air=records.TrappedAir(amount=27e-6, test_hose="dry"),
        drain=records.Drain(), families={"trapped_air.amount": "volume"}),
    "block at 600 bar through the pump": shell(
        title="Manifold block, Wren Hill hydraulics",
        vessel=records.OtherVessel(volume=11.5e-3, height=0.4, wall="rigid"),
        fill=records.FillLine(through_pump=True, hose=(hose(4.0, 9.5, couplings=1, coupling_hole=6e-3),)),
        tap=records.Bucket(pressure=1.0 * BAR, open_flow=12 * LITRES_A_MINUTE, contents=0.06),
        test=records.Test(pressure=600 * BAR, start_pressure=1.5 * BAR),
        pump=replace(SMALL_60, ratio=130.0, flow_at_zero=0.9 * LITRES_A_MINUTE),
        trapped_air=records.TrappedAir(amount=0.02)),
    "measured flow": shell(
        vessel=records.LyingCylinder(diameter=0.9, length=3.0, ends="flat", wall=7e-3),
        fill=records.FillLine(measured_flow=17 * LITRES_A_MINUTE, hose=(hose(22.0, 12.7),))),
    "vent shut": shell(vent=records.Vent(shut=True)),
    "header tank too low": shell(
        vessel=records.StandingCylinder(diameter=1.2, height=6.0, ends="flat", wall=6e-3),
        tap=records.HeaderTank(pressure=0.1 * BAR, open_flow=60 * LITRES_A_MINUTE, height=4.0)),
    "top fill, tap above": shell(
        tap=records.HeaderTank(pressure=0.05 * BAR, open_flow=45 * LITRES_A_MINUTE, height=7.5),
        fill=records.FillLine(from_="top", kv=4.5, hose=(hose(12.0, 25.4, couplings=0, tail_bore=19e-3),))),
    "hose on its reel": shell(
        vessel=records.StandingCylinder(diameter=0.8, height=1.4, ends="hemispherical", wall=8e-3),
        fill=records.FillLine(hose=(hose(25.0, 12.7, reel=0.45),))),
    "receiver runs out": shell(
        vessel=records.LyingCylinder(diameter=1.4, length=4.0, ends="elliptical 2:1", wall=12e-3),
        fill=records.FillLine(hose=(hose(22.0, 19.0),)), pump=SMALL_60,
        air_supply=records.AirSupply(flow=150 * LITRES_A_MINUTE, receiver=0.05, receiver_pressure=8 * BAR)),
    "leak and a second point": shell(
        pump=replace(SMALL_60, ratio=12.0, drive_pressure=3 * BAR, stroke=40e-6, flow_at_zero=None,
                     points=((0.0, 4.0 * LITRES_A_MINUTE), (20 * BAR, 2.6 * LITRES_A_MINUTE))),
        test=records.Test(pressure=24 * BAR, assumed_leak=50e-6 / 60)),
    "vent nearly shut": shell(vent=records.Vent(bore=0.9e-3, coefficient=0.6)),
    "small vent on a wide hose": shell(vent=records.Vent(bore=2.2e-3, coefficient=0.6),
                                       fill=records.FillLine(hose=(hose(15.0, 19.0),))),
    "steps and a rise limit": shell(
        test=records.Test(pressure=24 * BAR, rise_limit=20e5 / 60,
                          steps=(records.Step(at=0.5, pause=120.0), records.Step(at=18 * BAR, pause=60.0))),
        families={"test.steps.1.at": "share", "test.steps.2.at": "pressure"}),
    "on a hill, wall as a share, stall seen": shell(
        vessel=records.LyingCylinder(diameter=0.7, length=1.6, ends="elliptical 2:1", wall=0.0015,
                                     design=12 * BAR),
        surroundings=records.Surroundings(altitude=1500.0, temperature=300.0),
        water=records.Water(temperature=279.15),
        pump=records.AirDrivenPump(ratio=10.0, drive_pressure=4 * BAR, strokes_per_litre=25e3,
                                   strokes_per_minute=110.0, stall=(5.5 * BAR, 51.5 * BAR)),
        families={"vessel.wall": "share"}),
    "vent below the crown": shell(
        vessel=records.LyingCylinder(diameter=1.2, length=3.0, ends="dished", wall=6e-3),
        vent=records.Vent(bore=8e-3, coefficient=0.6, below_highest_point=20e-3),
        trapped_air=records.TrappedAir()),
    "factor on design, wall left out": shell(
        vessel=records.StandingCylinder(diameter=0.5, height=2.2, ends="dished", design=14 * BAR),
        test=records.Test(factor_on_design=1.43)),
    "stiff tap, half a bar of air": shell(
        tap=records.Tap(pressure=2.5 * BAR, open_flow="unlimited", height=2.0),
        vent=records.Vent(bore=3.6e-3, coefficient=0.6)),
    "pump too weak": shell(pump=replace(SHELL.pump, regulator_pressure=2.2 * BAR)),
    "three containers on a stand": shell(
        vessel=records.StandingCylinder(diameter=1.4, height=2.08, ends="flat", wall=8e-3),
        tap=records.HeaderTank(pressure=0.0, open_flow="unlimited", height=2.9, contents=1.2, area=1.2),
        fill=records.FillLine(hose=(hose(10.0, 25.0, couplings=1),), run_to_waste=0.01, change_over=600.0),
        vent=records.Vent(bore=3e-3, coefficient=0.6), test=records.Test(pressure=6 * BAR)),
    "container that ends level with the vessel": shell(
        vessel=records.StandingCylinder(diameter=1.4, height=2.08, ends="dished", wall=8e-3),
        tap=records.Bucket(pressure=0.0, open_flow="unlimited", height=2.4, contents=1.2, area=1.2)),
    "container pumped over, left on the full vessel": shell(
        vessel=records.LyingCylinder(diameter=1.1, length=2.4, ends="dished", wall=8e-3),
        tap=records.TransferPump(pressure=2.2 * BAR, open_flow=90 * LITRES_A_MINUTE, height=0.7, contents=1.0,
                                 area=0.8),
        fill=records.FillLine(hose=(hose(12.0, 19.0),), change_over=900.0),
        test=records.Test(pressure=12 * BAR, start_pressure="tap")),
    "top fill from containers, vent small": shell(
        tap=records.HeaderTank(pressure=0.0, open_flow="unlimited", height=4.0, contents=0.25, area=0.3),
        fill=records.FillLine(from_="top", hose=(hose(8.0, 25.0, couplings=0),)),
        vent=records.Vent(bore=2e-3, coefficient=0.6)),
    "hose falls steeper than the tap can feed": shell(
        tap=records.Tap(pressure=3 * BAR, open_flow=10 * LITRES_A_MINUTE, height=200.0),
        vent=records.Vent(bore=1.4e-3, coefficient=0.6)),
    "tubes below a low vent": shell(
        vessel=records.LyingCylinder(diameter=0.8, length=3.2, ends="elliptical 2:1", wall=8e-3, internals=0.3),
        vent=records.Vent(bore=8e-3, coefficient=0.6, below_highest_point=20e-3), trapped_air=records.TrappedAir()),
    "vent shut above containers": shell(
        tap=records.HeaderTank(pressure=0.0, open_flow="unlimited", height=9.0, contents=0.1, area=0.2),
        vent=records.Vent(shut=True)),
    "leak too big": shell(test=records.Test(pressure=24 * BAR, assumed_leak=4 * LITRES_A_MINUTE)),
    "long narrow hose, hardly turbulent": shell(
        vessel=records.OtherVessel(volume=0.02, height=0.5, wall=0.0005),
        fill=records.FillLine(hose=(hose(80.0, 6.0, couplings=0),)), families={"vessel.wall": "share"}),
}

SHORT_OF_AIR = records.AirSupply(flow=150 * LITRES_A_MINUTE)

CASES |= {
    "bent curve, short of air": shell(pump=replace(SMALL_60, mid_curve=0.7), air_supply=SHORT_OF_AIR),
    "rise limit on a bent curve, short of air": shell(
        pump=replace(SMALL_60, mid_curve=0.7), air_supply=records.AirSupply(flow=60 * LITRES_A_MINUTE),
        test=records.Test(pressure=200 * BAR, rise_limit=40e5 / 60)),
    "rise limit, receiver runs out": shell(
        pump=SMALL_60, test=records.Test(pressure=220 * BAR, rise_limit=30e5 / 60),
        air_supply=records.AirSupply(flow=60 * LITRES_A_MINUTE, receiver=0.02, receiver_pressure=8 * BAR)),
    "two strokes of air, amounts of air on a hill": shell(
        pump=replace(SMALL_60, air_strokes=2), air_supply=records.AirSupply(flow=150 * LITRES_A_MINUTE),
        surroundings=records.Surroundings(altitude=3000.0, temperature=293.15),
        families={"air_supply.flow": "normal_flow"}),
    "by hand until it tires": shell(
        pump=records.HandPump(stroke=20e-6, stroke_rate=1.0, power=60.0), test=records.Test(pressure=60 * BAR)),
    "by hand, too hard": shell(
        vessel=records.OtherVessel(volume=12e-3, height=0.4, wall="rigid"),
        pump=records.HandPump(stroke=25e-6, stroke_rate=40 / 60), test=records.Test(pressure=600 * BAR)),
    "regulator above the supply": shell(
        pump=replace(SHELL.pump, ratio=7.0, drive_pressure=3 * BAR, regulator_pressure=8 * BAR),
        test=records.Test(pressure=15 * BAR)),
    "hole wider than the hose": shell(fill=records.FillLine(hose=(hose(20.0, 6.0),))),
    "peak of the air behind a small vent": shell(
        tap=records.Tap(pressure=6.5 * BAR, open_flow="unlimited"),
        vent=records.Vent(bore=2.45e-3, coefficient=0.6),
        trapped_air=records.TrappedAir(amount=0.024), fill=records.FillLine(hose=(hose(20.0, 19.0),))),
    "pipe left with much air": shell(
        vessel=records.PipeRun(length=800.0, diameter=0.04, rise=3.0, wall=4e-3),
        trapped_air=records.TrappedAir(amount=0.06)),
    "drained through a long hose without fall": shell(
        drain=records.Drain(bore=11e-3, coefficient=0.6, hose_length=10.0, fall=0.0)),
}

TALL_TANK = records.StandingCylinder(diameter=2.0, height=8.0, ends="flat", wall=8e-3, end_wall=45e-3, end_fixity=0.7)

CASES |= {
    "tall tank at one bar, gauge at the bottom": shell(
        vessel=TALL_TANK, test=records.Test(pressure=1 * BAR, hold=3600.0),
        trapped_air=records.TrappedAir(amount=0.001),
        fill=records.FillLine(hose=(hose(22.0, 50.0, couplings=0),)),
        gauge=records.Gauge(full_scale=40 * BAR, division=0.02 * BAR),
        vent=records.Vent(bore=25e-3, coefficient=0.6),
        tap=records.Hydrant(pressure=4.5 * BAR, open_flow=500 * LITRES_A_MINUTE)),
    "tall tank, gauge at the top, from the tap": shell(
        vessel=replace(TALL_TANK, end_wall=12e-3, end_fixity=0.2),
        test=records.Test(pressure=1.2 * BAR, start_pressure="tap"), release=records.Release(rate=2e5 / 60),
        fill=records.FillLine(hose=(hose(22.0, 50.0, couplings=0),)),
        gauge=records.Gauge(full_scale=40 * BAR, division=0.02 * BAR, height=9.0),
        tap=records.Tap(pressure=1.3 * BAR, open_flow=500 * LITRES_A_MINUTE)),
    "thin ends that bulge, rim free, vent below the top": shell(
        vessel=replace(SHELL.vessel, end_wall=5e-3, end_fixity=0.0), test=records.Test(pressure=9 * BAR),
        gauge=records.Gauge(full_scale=40 * BAR, division=0.2 * BAR, height=0.7),
        vent=records.Vent(bore=8e-3, below_highest_point=0.1),
        trapped_air=records.TrappedAir()),
    "pipe up a hill": shell(
        vessel=records.PipeRun(length=400.0, diameter=0.08, rise=25.0, wall=4e-3),
        tap=records.TransferPump(pressure=8 * BAR, open_flow=200 * LITRES_A_MINUTE),
        test=records.Test(pressure=16 * BAR, start_pressure="tap", rise_limit=1e5 / 60),
        trapped_air=records.TrappedAir(amount=0.004),
        pump=records.AirDrivenPump(ratio=10.0, drive_pressure=2.8 * BAR, stroke=60e-6, friction=0.05,
                                   flow_at_zero=4.1 * LITRES_A_MINUTE)),
    "pump that stalls below the head": shell(
        vessel=records.PipeRun(length=400.0, diameter=0.08, rise=25.0, wall=4e-3),
        tap=records.TransferPump(pressure=8 * BAR, open_flow=200 * LITRES_A_MINUTE),
        test=records.Test(pressure=16 * BAR), pump=replace(SHELL.pump, ratio=1.0, drive_pressure=2 * BAR)),
}
