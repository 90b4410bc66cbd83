"""What stands in for the inputs that nobody gave; nothing else in the package assumes anything.

Most defaults are declared with the input itself. Here are those that depend on the rest of the case.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, TypeAlias

from fillcalc.case import norms, practice, records
from fillcalc.case.ends import flat_end_thickness
from fillcalc.case.fields import AS_DEFAULT, Default, Input, Typed
from fillcalc.case.gas_line import halfway
from fillcalc.case.medium import counts, is_gas
from fillcalc.case.no_flow import no_flow
from fillcalc.case.own import NO_OWN, Own
from fillcalc.case.pipes import pipe
from fillcalc.case.records import Assumption, Case, Range
from fillcalc.case.shape_of import leaves_of, walk
from fillcalc.case.solid import BY_SHAPE, sized, sphere_diameter
from fillcalc.tree import at, put, put_all
from fillcalc.units import read_number, read_quantity, show, to_figures, write


@dataclass(frozen=True)
class Read:
    """A case as far as it was read: the draft, the paths that were given, and families by path."""

    case: Case
    given: frozenset[str]
    families: Mapping[str, str]


@dataclass(frozen=True)
class Quiet:
    """A value that is put in without a word, because it cannot matter in this case."""

    text: str


Cylinder: TypeAlias = records.StandingCylinder | records.LyingCylinder
Stand = Default | Quiet | None
"""What stands in for an input; None leaves it empty."""

HOLE_OF_BORE = (0.6, 0.7, 0.85)
"""Hole of a coupling over the bore of its hose; common practice, no source."""

MOST_AIR = 0.95
"""Largest share of the volume that may be air."""

TOTE = 1.2
"""m3; a container of at most so much is taken to stand on a plan of 1.2 m2, a larger one to be a metre deep."""
DEPTHS = (1.25, 1.0, 0.8)
"""m, the likely depth in the middle."""


def assume(read: Read, own: Own = NO_OWN) -> Case:
    """The case with every empty leaf that has a stand-in filled, and what was assumed listed with its range.

    A figure of one's own stands in for a default wherever there is one, and for nothing else.
    """
    case = _from_size(read.case)
    families: dict[str, str] = {**read.families, **case.families}
    case = replace(case, families=families)
    ranges: dict[str, Range] = {}
    gas = is_gas(case)
    for path, declared, value in walk(case):
        if not counts(path, gas):
            continue
        if value is not None:
            typed = _typed(case, path, declared, value) if path in read.given else None
            if typed is not None:
                ranges[path] = typed
            continue
        stand = _stand_in(case, path, declared)
        if stand is None:
            continue
        mine = None if isinstance(stand, Quiet) else own.stands_in(case, path)
        stand = stand if mine is None else mine
        new, family = default_value(declared, stand.text)
        if family and len(declared.families) > 1:
            families[path] = family
        if isinstance(stand, Quiet):
            case = put(case, path, new)
            continue
        assumed = Assumption(path, stand.text, stand.why, own=mine is not None)
        case = put_all(case, {path: new, "assumptions": (*case.assumptions, assumed)})
        if stand.spread:
            ranges[path] = _range(declared, stand.spread)
    return replace(case, ranges=ranges, assumptions=(*case.assumptions, *_words(case, read.given)))


def assume_record(record: object, base: str, own: Mapping[str, Default]) -> tuple[Any, tuple[Assumption, ...]]:
    """A record on its own, as in a kit, with the declared defaults, or figures of one's own by leaf in their place;
    paths in the list begin with `base`."""
    assumptions: list[Assumption] = []
    for path, declared, value in walk(record):
        stand = _declared_alone(record, path, declared) if value is None else None
        if stand is not None:
            stand = own.get(path, stand)
            record = put(record, path, default_value(declared, stand.text)[0])
            if isinstance(stand, Default):
                assumptions.append(Assumption(f"{base}{path}", stand.text, stand.why, own=path in own))
    return record, tuple(assumptions)


def own_ranges(record: object, own: Mapping[str, Default]) -> dict[str, Range]:
    """The ranges of figures of one's own for a record of a kit, by leaf."""
    return {leaf: _range(leaves_of(type(record))[leaf], stand.spread) for leaf, stand in own.items() if stand.spread}


def ranges_alone(record: object) -> dict[str, Range]:
    """The ranges that would come with a record of a kit if none of its leaves had been given, by leaf."""
    found = {path: _declared_alone(record, path, declared) for path, declared, _ in walk(record)}
    declared_by = {path: declared for path, declared, _ in walk(record)}
    return {path: _range(declared_by[path], stand.spread) for path, stand in found.items()
            if isinstance(stand, Default) and stand.spread}


def typed_alone(record: object) -> dict[str, Range]:
    """The ranges of what was given of a record of a kit and is not exact by nature, by leaf."""
    return {path: _about(value, declared.typed, declared) for path, declared, value in walk(record)
            if isinstance(declared.typed, Typed) and value and not isinstance(value, str)}


def handbook(case: Case, path: str) -> Range | None:
    """Return the range of the default that would stand in for the input at a path if nobody had given it; None where
    there is none, or where it is not in doubt."""
    declared = leaves_of(type(at(case, path.rpartition(".")[0])))[path.rpartition(".")[2]]
    stand = _stand_in(case, path, declared)
    return _range(declared, stand.spread) if isinstance(stand, Default) and stand.spread else None


def _declared_alone(record: object, path: str, declared: Input) -> Stand:
    if isinstance(record, records.Hose) and path in ("coupling_hole", "coupling_factor"):
        return _coupling(record, path, declared)
    if isinstance(record, records.AirDrivenPump):
        return _air_driven(record, path, declared)
    return declared.default


@lru_cache(maxsize=256)
def _parsed(text: str, families: tuple[str, ...]) -> tuple[float, str]:
    return read_quantity(text, families)


@lru_cache(maxsize=256)
def _number(text: str) -> float:
    return read_number(text)


def default_value(declared: Input, text: str) -> tuple[Any, str]:
    """The value of a default's text, and its family where it is a quantity."""
    if declared.form == "quantity" and text not in declared.words:
        return _parsed(text, declared.families)
    if declared.form == "number":
        return _number(text), "number"
    if declared.form == "count":
        return int(text), "count"
    return (text == "true" if declared.form == "flag" else text), ""


def _range(declared: Input, spread: tuple[str, ...]) -> Range:
    values = [float(default_value(declared, text)[0]) for text in spread]
    return Range(values[0], values[1] if len(values) == 3 else None, values[-1], given=False)


def _typed(case: Case, path: str, declared: Input, value: Any) -> Range | None:
    """The range of a value that was typed without one; None where it is exact by nature, a word, or nothing."""
    if declared.typed is None or isinstance(value, str) or not value:
        return None
    if declared.typed == AS_DEFAULT:
        texts = _spread_of(case, path, declared)
        if not texts:
            return None
        low, likely, high = (float(default_value(declared, text)[0]) for text in texts)
        spread = Typed(low / likely, high / likely)
    else:
        assert isinstance(declared.typed, Typed)
        spread = declared.typed
    share = path == "trapped_air.amount" and case.families.get(path) == "share"
    return _about(value, spread, replace(declared, high=MOST_AIR) if share else declared)


def _about(value: float, spread: Typed, declared: Input) -> Range:
    """The range around a typed value, within what is legal."""
    low, high = value * spread.low, value * spread.high
    low = low if declared.low is None else max(low, declared.low)
    high = high if declared.high is None else min(high, declared.high)
    return Range(low, None if spread.even else value, high, given=False)


def _spread_of(case: Case, path: str, declared: Input) -> tuple[str, ...]:
    """Low, likely and high of what would stand in if nobody had given the value, whatever was."""
    if path == "trapped_air.amount":
        usual = case.vessel.practice()
        return usual.air_from_top if case.fill.from_ == "top" else usual.air
    return declared.default.spread if declared.default is not None else ()


def _from_size(case: Case) -> Case:
    """A pipe run given by size and schedule gets its diameter, and its wall where none was given."""
    run = case.vessel
    if not isinstance(run, records.PipeRun) or run.size is None or run.diameter is not None:
        return case
    diameter, wall = pipe(run.size, run.schedule)
    if run.wall is not None:
        return replace(case, vessel=replace(run, diameter=diameter))
    return replace(case, vessel=replace(run, diameter=diameter, wall=wall), families={"vessel.wall": "bore"})


# --- what depends on the rest of the case -----------------------------------------------------

def _stand_in(case: Case, path: str, declared: Input) -> Stand:
    rule = _RULES.get(_any_of(path))
    return rule(case, path, declared) if rule else declared.default


@lru_cache(maxsize=1024)
def _any_of(path: str) -> str:
    """The path with a star for each place in a list."""
    return re.sub(r"\.\d+\.", ".*.", path)


def _wall(case: Case, path: str, declared: Input) -> Stand:
    return None if is_gas(case) else case.vessel.practice().wall


THINNEST_END, THICKEST_END = 0.85, 1.25
"""Ends of the range of a flat end's thickness over what UG-34 asks: the detail of the weld, and the next plate up;
judgement."""


def _plain_ends(case: Case, vessel: Cylinder) -> bool:
    """Whether the flat ends of a cylinder stretch by a thickness of their own: its wall is one, or not known."""
    by_share = case.families.get("vessel.wall") == "share" and not _nobody_gave(case, "vessel.wall")
    return vessel.ends == "flat" and not isinstance(vessel.wall, str) and not by_share


def _nobody_gave(case: Case, path: str) -> bool:
    return any(each.path == path for each in case.assumptions)


def _end_wall(case: Case, path: str, declared: Input) -> Stand:
    vessel = sized(case.vessel)
    if not isinstance(vessel, Cylinder) or not _plain_ends(case, vessel):
        return None
    asked = flat_end_thickness(float(vessel.diameter), None if vessel.design is None else float(vessel.design),
                               case.test_gauge)
    by_thickness, wall = case.families.get("vessel.wall") == "bore", vessel.wall
    least = max(0.0 if wall is None or isinstance(wall, str) or not by_thickness else float(wall), declared.low or 0.0)
    low, likely, high = (write(round(min(max(part * asked, least), declared.high or asked), 4), "bore")
                         for part in (THINNEST_END, 1.0, THICKEST_END))
    if not by_thickness:  # nothing hangs on it unless a range makes the wall a thickness
        return Quiet(likely)
    return Default(likely, "flat ends by D (0.3 P/S)^0.5 with S 138 MPa, no thinner than the shell; the form of ASME "
                   "UG-34, check your own copy", (low, likely, high) if low != high else ())


def _end_fixity(case: Case, path: str, declared: Input) -> Stand:
    vessel = case.vessel
    if not isinstance(vessel, Cylinder) or not _plain_ends(case, vessel) or isinstance(vessel.end_wall, str):
        return None
    assert declared.default is not None
    return declared.default if case.families.get("vessel.wall") == "bore" else Quiet(declared.default.text)


METAL_DENSITY, ALLOWED_STRESS, THINNEST, THICK_VALVE = 7850.0, 138e6, 3e-3, 10e-3
"""kg/m3 and Pa of steel; m of the thinnest plate of a vessel and of the body of a valve; judgement."""
WEIGHTS = (0.6, 1.0, 2.5)
"""Low, likely and high of a vessel's weight over that of its shell at the stress that codes allow; judgement."""


def _weight(case: Case, path: str, declared: Input) -> Stand:
    """The metal of a vessel in a test with gas: from its wall, else from what holds the test pressure."""
    inside = sized(case.vessel).inside()
    volume = float(inside.volume())
    area = float(inside.surface(0.0, inside.volume()))
    wall = case.vessel.wall
    if wall is not None and not isinstance(wall, str) and case.families.get("vessel.wall") == "bore":
        thick, text = float(wall), "the wall that is given"
    else:
        thin = THICK_VALVE if case.vessel.practice().bench else THINNEST
        thick = max(thin, case.test_gauge * 6.0 * volume / area / (2.0 * ALLOWED_STRESS))
        text = "a steel shell that holds the test pressure"
    low, likely, high = (write(to_figures(part * METAL_DENSITY * area * thick), "mass") for part in WEIGHTS)
    return Default(likely, f"weight not given: {text}, with nozzles and ends", (low, likely, high))


def _rise_limit(case: Case, path: str, declared: Input) -> Stand:
    """With gas the pressure is never raised in one rush."""
    if not is_gas(case):
        return declared.default
    fast = "20 bar/min" if case.vessel.practice().bench else "2 bar/min"
    return Default(fast, "slowly, by the needle valve, common practice; the procedure decides")


def _gas_regulator(case: Case, path: str, declared: Input) -> Stand:
    test = case.test_gauge
    asked, below = min(1.2 * test + 1e5, float(declared.high or 0.0)), halfway(case, test)
    if below < asked:
        return Default(write(below, "pressure"), "halfway from the test pressure to what must not be passed: relief "
                       "valve, limit or full scale; judgement")
    return Default(write(to_figures(asked, 3), "pressure"), "a good fifth above the test pressure, so that gas "
                   "still flows there; common practice")


def _gas_vent(case: Case, path: str, declared: Input) -> Stand:
    if path.endswith("coefficient"):
        return declared.default if case.gas_vent.bore is not None else None
    if case.gas_vent.bore is not None:
        return None
    return Default("0.2", "a small needle valve, common practice", ("0.05", "0.2", "0.5"))


def _material(case: Case, path: str, declared: Input) -> Stand:
    return declared.default if case.vessel.young is None else None


def _expansion(case: Case, path: str, declared: Input) -> Stand:
    if case.vessel.young is None:
        return None
    return Default("11.7e-6 /K", "not given beside Young's modulus: as carbon steel")


def _amount(case: Case, path: str, declared: Input) -> Stand:
    usual, below = case.vessel.practice(), case.vent.below_highest_point
    if below is not None and below > 0:
        return None
    if case.fill.from_ == "top":
        return Default(usual.air_from_top[1], "filled from the top: falling water carries air in and shuts it in, "
                       "common practice", usual.air_from_top)
    return Default(usual.air[1], usual.air_why, usual.air)


def _height(case: Case, path: str, declared: Input) -> Stand:
    """Of a vessel known by its volume alone."""
    vessel = case.vessel
    if not isinstance(vessel, records.ByVolume | records.ValveBody):
        return declared.default
    if is_gas(case):  # nothing hangs on it
        return None
    low, likely, high = (show(part * sphere_diameter(float(vessel.volume)), "length") for part in BY_SHAPE)
    return Default(likely, "height not given: that of a sphere; a long body is lower when it lies and higher when it "
                   "stands", (low, likely, high))


def _source_pressure(case: Case, path: str, declared: Input) -> Stand:
    return None if case.tap.points else declared.default


def _source_flow(case: Case, path: str, declared: Input) -> Stand:
    if case.tap.points:
        return None
    if isinstance(case.tap, records.Hydrant):
        return Default("500 L/min", "a hydrant with a standpipe, a guess: measure it",
                       ("200 L/min", "500 L/min", "1000 L/min"))
    return declared.default


def _source_area(case: Case, path: str, declared: Input) -> Stand:
    contents = case.tap.contents
    if contents is None or not isinstance(case.tap, records.CONTAINERS):
        return None
    if contents <= TOTE:
        return declared.default
    low, likely, high = (write(float(contents) / depth, "area") for depth in DEPTHS)
    return Default(likely, "the contents at the depth of a usual tank, a guess: measure it", (low, likely, high))


def _change_over(case: Case, path: str, declared: Input) -> Stand:
    return None if case.tap.contents is None else declared.default


def _hose_coupling(case: Case, path: str, declared: Input) -> Stand:
    _, _, number, key = path.split(".")
    return _coupling(case.fill.hose[int(number) - 1], key, declared)


def _coupling(hose: records.Hose, key: str, declared: Input) -> Stand:
    assert declared.default is not None
    if not hose.couplings:
        return Quiet(declared.default.text if key == "coupling_factor" else write(float(hose.bore), "bore"))
    if key == "coupling_factor":
        return declared.default
    low, likely, high = (write(part * float(hose.bore), "bore") for part in HOLE_OF_BORE)
    return Default(likely, "0.7 of the bore: quick couplings narrow a hose, common practice", (low, likely, high))


def _altitude(case: Case, path: str, declared: Input) -> Stand:
    return declared.default if case.surroundings.pressure is None else None


def _test_hose_air(case: Case, path: str, declared: Input) -> Stand:
    assert declared.default is not None
    return declared.default if case.test_hose is not None else Quiet(declared.default.text)


US_STEP = Default("2 psi", "a small regulator gauge, common practice")
"""What a regulator's gauge in psi is read to."""


def _of_pump(case: Case, path: str, declared: Input) -> Stand:
    key = path.rpartition(".")[2]
    if isinstance(case.pump, records.HandPump):
        return _hand_stroke(case, declared) if key == "stroke" else _of_person(case, declared)
    if not isinstance(case.pump, records.AirDrivenPump):
        return declared.default
    if key == "regulator_step" and case.units == "us":
        return US_STEP
    return _air_driven(case.pump, key, declared)


PUSHED_EASILY, KEPT_UP_EASILY = 100.0, 50.0
"""J and W; what most people can put into a stroke, and keep up, is above these, judgement."""


def _of_person(case: Case, declared: Input) -> Stand:
    """What a person puts into the pump, without a word where a stroke takes little of it."""
    assert declared.default is not None
    pump = case.pump
    assert isinstance(pump, records.HandPump)
    if pump.stroke is None or pump.stroke_rate is None or declared.families[0] not in ("power", "energy"):
        return declared.default
    work = pump.stroke * case.test_gauge
    easy = work < PUSHED_EASILY and work * pump.stroke_rate < KEPT_UP_EASILY
    return Quiet(declared.default.text) if easy else declared.default


def _hand_stroke(case: Case, declared: Input) -> Stand:
    """The stroke of a hand pump that nobody described: for high pressures one that a person can push."""
    assert declared.default is not None
    pushed = PUSHED_EASILY / case.test_gauge
    low, likely, high = (_parsed(text, declared.families)[0] for text in declared.default.spread)
    if high <= pushed:
        return declared.default
    smaller = min(likely, pushed)
    ends = (smaller * low / likely, smaller, min(high, max(pushed, 1.3 * smaller)))
    spread = tuple(write(value, "stroke") for value in ends)
    return Default(spread[1], "a bench pump that a person can push at this test pressure; count it", spread)


STROKE_OF_RATE, RATE_POWER, RATES = 11e-6, 0.4, (145.0, 30.0, 200.0)
"""Stroke in m3 that goes with the usual strokes a minute, how they fall as the stroke grows, and the usual, the
least and the most strokes a minute that are assumed; common practice."""


def strokes_a_minute(stroke: float) -> float:
    """Strokes a minute against no pressure of a pump known by its stroke in m3 alone; common practice, no source:
    145 at 11 mL, fewer as the stroke grows, for a large piston is no quicker than a small one."""
    usual, least, most = RATES
    return min(max(usual * (STROKE_OF_RATE / stroke) ** RATE_POWER, least), most)


def _air_driven(pump: records.AirDrivenPump, key: str, declared: Input) -> Stand:
    if key == "stroke":
        return declared.default if pump.strokes_per_litre is None else None
    if key == "drive_pressure" and declared.default is not None and pump.regulator_pressure is not None \
            and pump.regulator_pressure > _parsed(declared.default.text, declared.families)[0]:
        return Default(write(pump.regulator_pressure, "pressure"), "not given: what the regulator is set to")
    if key == "strokes_per_minute" and pump.flow_at_zero is None and not pump.points:
        stroke = 1e-3 / pump.strokes_per_litre if pump.stroke is None else pump.stroke
        likely = strokes_a_minute(float(stroke))
        low, middle, high = (f"{part * likely:.3g}" for part in (0.69, 1.0, 1.38))
        return Default(middle, "strokes a minute with the outlet open, fewer for a larger stroke, "
                       "common practice; count them", (low, middle, high))
    if key == "friction" and pump.stall is None:
        return Default("5 %", "share of the drive pressure, common practice; a measured dead-head settles it",
                       ("3 %", "5 %", "10 %"))
    if key == "mid_curve":
        return Quiet("1") if pump.points else Default(
            "0.8", "only one point of the curve is known: real pumps give 0.6 to 1 of it; a second point narrows it",
            ("0.6", "0.8", "1"))
    return declared.default


def _full_scale(case: Case, path: str, declared: Input) -> Stand:
    return Default(write(2 * case.test_gauge, "pressure"),
                   "twice the test pressure; ASME VIII-1 UG-102: 1.5 to 4 times, check your own copy")


def _division(case: Case, path: str, declared: Input) -> Stand:
    return Default(write(0.01 * case.gauge.full_scale, "pressure"), "a hundredth of the full scale, common practice")


def _release_kv(case: Case, path: str, declared: Input) -> Stand:
    return declared.default if case.release.rate is None else None


def _hold(case: Case, path: str, declared: Input) -> Stand:
    assert declared.default is not None
    return norms.hold(case.vessel, declared.default)


def _once(case: Case, path: str, declared: Input) -> Stand:
    assert declared.default is not None
    return norms.visit(path.rpartition(".")[2], case.vessel, declared.default)


def _rework(case: Case, path: str, declared: Input) -> Stand:
    assert declared.default is not None
    return norms.rework(path.rpartition(".")[2], case.vessel, declared.default)


def _drain(case: Case, path: str, declared: Input) -> Stand:
    assert declared.default is not None
    return Quiet(declared.default.text) if _nobody_gave(case, "drain.bore") else declared.default


def _drain_bore(case: Case, path: str, declared: Input) -> Stand:
    """Return a drain by the volume, no wider than the largest opening."""
    volume, widest = float(sized(case.vessel).inside().volume()), norms.opening(case.vessel)
    bores = next(bores for most, bores in practice.DRAINS if volume <= most)
    low, likely, high = (write(min(bore, widest), "bore") for bore in bores)
    return Default(likely, "not given: by the vessel's size, straight out of the bottom, common practice; enter bore, "
                   "hose and fall", (low, likely, high) if low != high else ())


def _crew(case: Case, path: str, declared: Input) -> Default:
    """Nobody is alone with a vessel that holds gas."""
    assert declared.default is not None
    return Default("2", "with gas one raises and reads, one keeps people away; never alone, common practice") \
        if is_gas(case) and not case.vessel.practice().bench else declared.default


def _work(case: Case, path: str, declared: Input) -> Stand:
    crewed = {name: getattr(case.labour, name) for name in ("crew", "closure", "openings")}
    if crewed["crew"] is None:
        crewed["crew"] = int(_crew(case, path, _LABOUR[0]).text)
    filled = replace(case.labour, **{
        name: value if value is not None else default_value(declared_of, declared_of.default.text)[0]
        for (name, value), declared_of in zip(crewed.items(), _LABOUR, strict=True) if declared_of.default})
    return norms.labour(path.rpartition(".")[2], case.vessel, filled)


_LABOUR = tuple(declared for name, declared, _ in walk(records.Labour()) if name in ("crew", "closure", "openings"))

_RULES: Mapping[str, Callable[[Case, str, Input], Stand]] = {
    "vessel.empty_weight": _weight, "test.rise_limit": _rise_limit, "gas_line.regulator_pressure": _gas_regulator,
    "gas_vent.kv": _gas_vent, "gas_vent.coefficient": _gas_vent,
    "vessel.wall": _wall, "vessel.end_wall": _end_wall, "vessel.end_fixity": _end_fixity,
    "vessel.height": _height, "vessel.material": _material, "vessel.expansion": _expansion,
    "trapped_air.amount": _amount, "trapped_air.test_hose": _test_hose_air,
    "tap.pressure": _source_pressure, "tap.open_flow": _source_flow, "tap.area": _source_area,
    "fill.change_over": _change_over,
    "fill.hose.*.coupling_hole": _hose_coupling, "fill.hose.*.coupling_factor": _hose_coupling,
    "surroundings.altitude": _altitude,
    "pump.stroke": _of_pump, "pump.strokes_per_minute": _of_pump, "pump.friction": _of_pump,
    "pump.mid_curve": _of_pump, "pump.drive_pressure": _of_pump, "pump.regulator_step": _of_pump,
    "pump.stroke_work": _of_pump, "pump.power": _of_pump,
    "gauge.full_scale": _full_scale, "gauge.division": _division, "release.kv": _release_kv,
    "test.hold": _hold, "rework.chance": _rework, "rework.time": _rework,
    "labour.crew": _crew, "labour.visit.wait": _once, "labour.visit.set_up": _once, "labour.visit.pack_up": _once,
    "drain.bore": _drain_bore, "drain.coefficient": _drain, "drain.hose_length": _drain, "drain.fall": _drain,
    "labour.each.connect": _work, "labour.each.disconnect": _work, "labour.each.bleed": _work,
    "labour.each.settle": _work, "labour.each.inspect": _work,
}


def _words(case: Case, given: frozenset[str]) -> list[Assumption]:
    """What is taken for granted without a value of its own."""
    listed: list[Assumption] = []
    if is_gas(case):
        return [] if case.test.steps or case.vessel.practice().bench else [
            Assumption("test.steps", "half, then tenths", "5 min at half, 2 min at each tenth; common practice, codes "
                       "ask for the like")]
    if "tap.kind" not in given:
        listed.append(Assumption("tap.kind", "tap", "nothing else was said"))
    if case.trapped_air.amount is None:
        below = show(case.vent.below_highest_point, "bore")
        listed.append(Assumption("trapped_air.amount", "from the shape",
                                 f"the vent sits {below} below the highest point inside"))
    if case.test_hose is None:
        listed.append(Assumption("test_hose", "none", "not mentioned; its stretch and its air are left out"))
    if isinstance(case.pump, records.AirDrivenPump) and "pump.no_flow_pressure" not in given:
        likely, _, why = no_flow(case)
        listed.append(Assumption("pump.no_flow_pressure", show(likely, "pressure", case.units),
                                 f"{why}; limits are compared with the most that it may be"))
    if case.air_supply is None and isinstance(case.pump, records.AirDrivenPump):
        listed.append(Assumption("air_supply", "enough", "not mentioned; the pump gets all the air it asks for"))
    return listed
