"""What must hold between keys: exclusive ones, orders, and what a shape or kind rules out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from itertools import pairwise
from math import isnan
from typing import Any

from fillcalc.case import records
from fillcalc.case.assume import MOST_AIR, Read, default_value
from fillcalc.case.fields import Input, inputs
from fillcalc.case.medium import is_gas
from fillcalc.case.pipes import pipe, size_of
from fillcalc.case.problems import Found
from fillcalc.case.records import PLASTICS, Case, Vessel
from fillcalc.case.shape_of import leaves_of
from fillcalc.case.solid import inside_of, sized
from fillcalc.tree import put
from fillcalc.units import UnitProblem, show

EXCLUSIVE: tuple[tuple[str, ...], ...] = (
    ("fill.kv", "fill.cv"), ("tap.points", "tap.pressure"), ("tap.points", "tap.open_flow"),
    ("vessel.diameter", "vessel.size"), ("vessel.material", "vessel.young"), ("pump.stroke", "pump.strokes_per_litre"),
    ("pump.flow_at_zero", "pump.strokes_per_minute"), ("pump.flow_at_zero", "pump.points"),
    ("pump.strokes_per_minute", "pump.points"), ("surroundings.pressure", "surroundings.altitude"),
    ("test.pressure", "test.factor_on_design"), ("release.kv", "release.rate"), ("gas_vent.kv", "gas_vent.bore"),
)
"""Two ways of saying one thing: only one may stand in a case."""

TOGETHER: tuple[tuple[str, str], ...] = (
    ("vessel.size", "vessel.schedule"), ("vessel.schedule", "vessel.size"), ("vessel.young", "vessel.poisson"),
    ("vessel.poisson", "vessel.young"), ("test.factor_on_design", "vessel.design"),
    ("air_supply.receiver", "air_supply.receiver_pressure"), ("air_supply.receiver_pressure", "air_supply.receiver"),
    ("took.running", "took.since"), ("took.since", "took.running"),
    ("gas_line.hose_length", "gas_line.hose_bore"), ("gas_line.hose_bore", "gas_line.hose_length"),
)
"""The first means nothing without the second."""

THINNEST_WALL = 1e-5
LARGEST_GAIN = 0.10
"""Share of its volume that a vessel may gain at test pressure; a metal wall yields long before."""
METRE_OF_WATER = 9806.65
"""Pa of a metre of water of 1000 kg/m3, which is as heavy as it gets."""


def check(found: Found, read: Read) -> None:
    """Add the problems between the keys of a draft, whose tables may be None where they could not be read."""
    case = read.case
    for one, other in EXCLUSIVE:
        if one in read.given and other in read.given:
            found.add(other, f"{_key(one)} and {_key(other)}", f"give {_key(one)} or {_key(other)}, not both")
    for one, other in TOGETHER:
        unread = getattr(case, other.partition(".")[0]) is None
        if one in read.given and other not in read.given and not unread and not found.concerns(other):
            found.add(other, "", f"{_key(one)} needs {_key(other)} beside it")
    for name, part in (("vessel", _vessel), ("tap", _tap), ("test", _test), ("pump", _pump)):
        if getattr(case, name) is not None:
            part(found, read)
    if is_gas(case):
        _gas(found, read)
    else:
        _fill(found, case)
    _readings(found, read)


def _key(path: str) -> str:
    return path.rpartition(".")[2]


def _vessel(found: Found, read: Read) -> None:
    vessel = read.case.vessel
    if vessel.material in PLASTICS:
        found.add("vessel.material", f'"{vessel.material}"', "out of scope: use the standard for that material",
                  "plastics and linings creep: they take 10 to 50 times the water, and the pressure falls for hours "
                  "without a leak")
    _dimensions(found, read)
    if isinstance(vessel, records.PipeRun):
        _pipe_run(found, read)
    if getattr(vessel, "end_wall", None) is not None and vessel.ends not in (None, "flat"):  # type: ignore[attr-defined]
        found.add("vessel.end_wall", f"ends {vessel.ends}", "end_wall is for flat ends only")  # type: ignore[attr-defined]
    elif getattr(vessel, "end_fixity", None) is not None and vessel.ends not in (None, "flat"):  # type: ignore[attr-defined]
        found.add("vessel.end_fixity", f"ends {vessel.ends}", "end_fixity is for flat ends only")  # type: ignore[attr-defined]
    if vessel.at_once is not None and vessel.at_once > (vessel.count or 1):
        found.add("vessel.at_once", str(vessel.at_once), "write no more than there are pieces",
                  f"count is {vessel.count or 1}")
    _wall(found, read)
    _trapped_air(found, read)


def _dimensions(found: Found, read: Read) -> None:
    """All dimensions of a shape but the one that its volume stands for."""
    vessel = read.case.vessel
    names = vessel.dimensions
    said = {name for name in (*names, "volume", "size") if f"vessel.{name}" in read.given
            or found.concerns(f"vessel.{name}")}
    said |= {"diameter"} if "size" in said else set()
    missing = [name for name in names if name not in said]
    wanted = {name: f'{name} = "{leaves_of(type(vessel))[name].example}"' for name in names}
    if isinstance(vessel, records.PipeRun):
        wanted["diameter"] += ', or size = "DN100" and schedule = "40"'
    if "volume" not in said:
        for name in missing:
            found.add(f"vessel.{name}", "", f"needed: write {wanted[name]}"
                      + (", or the volume in its place" if len(missing) == 1 else ""))
    elif len(missing) > 1:
        found.add(f"vessel.{missing[0]}", "", f"needed: write {' or '.join(wanted.values())} beside the volume",
                  "the volume stands for one dimension only")
    elif names and not missing:
        _too_many(found, vessel)
    elif missing:
        _fits(found, vessel, missing[0])


def _too_many(found: Found, given: Vessel) -> None:
    """All dimensions and the volume: both volumes are told, so that the plate checks the drawing."""
    vessel: Any = given
    inside, names = inside_of(replace(vessel, volume=None)), given.dimensions
    several = len(names) > 1
    text = "" if inside is None else (f"{' and '.join(names)} give{'' if several else 's'} "
                                      f"{show(inside.volume(), 'volume')}: ")
    found.add("vessel.volume", "" if vessel.volume is None else show(vessel.volume, "volume"), text + (
        f"take one of {', '.join(names)} and volume out" if several else f"take {names[0]} or volume out"))


def _fits(found: Found, given: Vessel, name: str) -> None:
    """The dimension that a volume stands for is a legal one."""
    vessel: Any = sized(given)
    declared, value = leaves_of(type(given))[name], getattr(vessel, name)
    if vessel.volume is None or value is None:
        return
    ends = float(put(vessel, name, 0.0).inside().volume())
    if vessel.volume <= ends:
        found.add("vessel.volume", show(vessel.volume, "volume"), "write a larger volume or a smaller diameter",
                  f"the two ends alone hold {show(ends, 'volume')}")
    elif declared.low is not None and declared.high is not None and not declared.low < value <= declared.high:
        found.add("vessel.volume", show(vessel.volume, "volume"),
                  f"the {name} would be {show(value, declared.families[0])}: correct the volume or the dimensions")


def _wall(found: Found, read: Read) -> None:
    vessel = sized(read.case.vessel)
    family, wall = read.families.get("vessel.wall"), vessel.wall
    if wall is None or isinstance(wall, str) or family is None:
        return
    said = show(float(wall), family)
    if family == "share" and not 0 < wall <= LARGEST_GAIN * (1 + 1e-9):
        found.add("vessel.wall", said, f'write a share above 0 % and up to {show(LARGEST_GAIN, "share")}, or "rigid"')
    if family != "bore":
        return
    if vessel.practice().no_thickness:
        found.add("vessel.wall", said, 'write "rigid", or the share of its volume that it gains, such as "0.1 %"',
                  vessel.practice().no_thickness)
        return
    diameter = getattr(vessel, "diameter", None)
    if wall < THINNEST_WALL:
        found.add("vessel.wall", said, f'write a thickness of at least {show(THINNEST_WALL, "bore")}, or "rigid"')
    elif diameter is not None and wall > 2 * diameter:
        found.add("vessel.wall", said, "write a wall thinner than twice the inside diameter")


def _pipe_run(found: Found, read: Read) -> None:
    run = read.case.vessel
    assert isinstance(run, records.PipeRun)
    if read.case.fill.from_ == "top" and run.rise:
        found.add("fill.from", '"top"', "a pipe run is filled from its low end: write bottom")
    if run.size is None:
        return
    try:
        size_of(run.size)
    except UnitProblem as problem:
        found.add("vessel.size", f'"{run.size}"', problem.expected, problem.hint)
        return
    try:
        if run.schedule is not None:
            pipe(run.size, run.schedule)
    except UnitProblem as problem:
        found.add("vessel.schedule", f'"{run.schedule}"', problem.expected, problem.hint)


def _trapped_air(found: Found, read: Read) -> None:
    amount, family = read.case.trapped_air.amount, read.families.get("trapped_air.amount")
    if amount is not None and family == "share" and amount > MOST_AIR * (1 + 1e-9):
        found.add("trapped_air.amount", show(amount, "share"), f"write no more than {show(MOST_AIR, 'share')}")
    below, inside = read.case.vent.below_highest_point, inside_of(read.case.vessel)
    if not below or inside is None:
        return
    tallest = float(inside.tallest())
    if below >= tallest:
        found.add("vent.below_highest_point", show(below, "bore"),
                  f"the vessel is {show(tallest, 'bore')} high inside" if tallest else "the vessel's height is needed")


def _tap(found: Found, read: Read) -> None:
    tap = read.case.tap
    if isinstance(tap, records.TransferPump) and not tap.points:
        for key, word in (("pressure", "shut-off pressure"), ("open_flow", "largest flow")):
            path = f"tap.{key}"
            if path not in read.given and not found.concerns(path):
                found.add(path, "", f"needed: the {word} of the transfer pump", "there is no fair guess for it")
    if tap.points:
        _falling(found, "tap.points", tap.points, "flow", (1, 0))


def _pump(found: Found, read: Read) -> None:
    check_pump(found, "pump.", read.case.pump)


def check_pump(found: Found, base: str, pump: records.Pump, given: frozenset[str] = frozenset()) -> None:
    """The figures of a pump do not exclude each other; `given` where exclusive keys are not yet checked."""
    for one, other in EXCLUSIVE:
        mine, yours = (base + path.removeprefix("pump.") for path in (one, other))
        if one.startswith("pump.") and mine in given and yours in given:
            found.add(yours, f"{_key(one)} and {_key(other)}", f"give {_key(one)} or {_key(other)}, not both")
    if not isinstance(pump, records.AirDrivenPump):
        return
    if pump.points:
        _falling(found, f"{base}points", pump.points, "pressure", (0, 1))
    if pump.stall is not None and not (pump.stall[0] > 0 and pump.stall[1] > 0):
        found.add(f"{base}stall", "a pressure of 0", "write the drive pressure and the outlet pressure that were seen")
    elif pump.stall is not None and pump.ratio is not None and pump.stall[1] > pump.stall[0] * pump.ratio * (1 + 1e-9):
        found.add(f"{base}stall", f"{show(pump.stall[1], 'pressure')} from {show(pump.stall[0], 'pressure')}",
                  f"write no more than {pump.ratio:g} times the drive pressure", "check the ratio and the gauge")


def _falling(found: Found, path: str, points: Sequence[tuple[float, float]], rising: str,
             order: tuple[int, int]) -> None:
    """Points in which one column must rise strictly and the other fall strictly."""
    across, down = order
    for number, (one, next_one) in enumerate(pairwise(points), 2):
        if not next_one[across] > one[across]:
            found.add(f"{path}.{number}", f"no rise of {rising}", f"put the points in order of rising {rising}")
            return
        if not next_one[down] < one[down]:
            other = "pressure" if rising == "flow" else "flow"
            found.add(f"{path}.{number}", f"no fall of {other}", f"{other} must fall as {rising} rises")
            return


def _test(found: Found, read: Read) -> None:
    test = read.case.test
    paths = ("test.pressure", "test.factor_on_design")
    if not set(paths) & read.given and not found.concerns(*paths):
        found.add("test.pressure", "", 'needed: write pressure = "24 bar", or factor_on_design = 1.5')
    most = read.case.test_gauge
    if isnan(most):
        return
    if most < 100.0 or most > records.MOST_BAR:
        found.add("test.factor_on_design", show(most, "pressure"),
                  f"the test pressure must lie between 1 mbar and {show(records.MOST_BAR, 'pressure')}")
    start = test.start_pressure
    if start is not None and not isinstance(start, str) and start >= most:
        found.add("test.start_pressure", show(start, "pressure"),
                  f"write less than the test pressure of {show(most, 'pressure')}")
    before = 0.0
    for number, step in enumerate(test.steps, 1):
        path = f"test.steps.{number}.at"
        if step is None or step.at is None:
            continue
        stop = float(step.at) * (most if read.families.get(path) == "share" else 1.0)
        if not 0 < stop <= most * (1 + 1e-9):
            found.add(path, show(stop, "pressure"), f"write above 0 and no more than {show(most, 'pressure')} (100 %)")
        elif stop <= before:
            found.add(path, show(stop, "pressure"), "put the steps in rising order")
        before = max(before, stop)


def _fill(found: Found, case: Case) -> None:
    if not case.fill.hose and case.fill.measured_flow is None and not found.concerns("fill", "fill.hose",
                                                                                      "fill.measured_flow"):
        found.add("fill.hose", "", "needed: a table [[fill.hose]] with length and bore, or fill.measured_flow")
    for number, hose in enumerate(case.fill.hose, 1):
        if hose is not None:
            check_hose(found, f"fill.hose.{number}.", hose)


def check_hose(found: Found, base: str, hose: records.Hose) -> None:
    """The holes of a hose are no larger than its bore; either may be the wrong one, so both are marked."""
    say = partial(show, family="bore", units=found.units)
    wider = [(key, name, say(hole)) for key, name in (("coupling_hole", "coupling hole"), ("tail_bore", "tail bore"))
             for hole in [getattr(hose, key)]
             if hole is not None and hose.bore is not None and hole > hose.bore * (1 + 1e-9)]
    if wider:
        holes = " and its ".join(f"{name} of {hole}" for _, name, hole in wider)
        found.add(f"{base}bore", say(hose.bore), f"less than its {holes}; correct the one that is wrong",
                  _common(float(hose.bore), inputs(records.Hose)["bore"], found.units))
    for key, _, hole in wider:
        found.add(base + key, hole, f"more than the bore of {say(hose.bore)}; correct the one that is wrong")
    if hose.roughness is not None and hose.bore is not None and hose.roughness > 0.05 * hose.bore:
        found.add(f"{base}roughness", show(hose.roughness, "bore"), "write no more than a twentieth of the bore")


def _common(value: float, declared: Input, units: str) -> str:
    """What is common for an input, where a value lies outside; else empty."""
    ends = [default_value(declared, text) for text in declared.usual]
    low, high = (show(float(end), family, units) for end, family in ends)
    return "" if float(ends[0][0]) <= value <= float(ends[1][0]) else f"{low} to {high} is common"


MOST_GAS_TEST = 350e5
"""Pa gauge; the gas tables end at 400 bar abs, and the gas is warmer than its pressure alone says."""


def _gas(found: Found, read: Read) -> None:
    """The regulator lets through what is asked, and the gas is known there."""
    case, test = read.case, read.case.test_gauge
    if isnan(test):
        return
    path = "test.pressure" if case.test.pressure is not None else "test.factor_on_design"
    if test > MOST_GAS_TEST:
        found.add(path, show(test, "pressure"), f"write no more than {show(MOST_GAS_TEST, 'pressure')} with gas",
                  "test it with water")
    setting = case.gas_line.regulator_pressure if case.gas_line is not None else None
    if setting is not None and setting <= test:
        found.add("gas_line.regulator_pressure", show(setting, "pressure"),
                  f"write more than the test pressure of {show(test, 'pressure')}: gas flows only downhill")


def _readings(found: Found, read: Read) -> None:
    for number, reading in enumerate(read.case.reading, 1):
        base = f"reading.{number}."
        if reading is None or found.concerns(f"{base}strokes", f"{base}water"):
            continue
        if reading.strokes is not None and reading.water is not None:
            found.add(f"{base}strokes", "strokes and water", "give strokes or water, not both")
        elif reading.strokes is None and reading.water is None and reading.time is None \
                and not found.concerns(f"{base}time"):
            found.add(f"{base}strokes", "", "needed: write strokes = 29, or water; in the hold its time will do")


def check_assumed(found: Found, case: Case) -> None:
    """What can only be judged when the defaults stand."""
    if not is_gas(case):
        _head(found, case)
    full, division = case.gauge.full_scale, case.gauge.division
    if full is not None and division is not None and not 0 < division < full:
        found.add("gauge.division", show(division, "pressure"),
                  f"write less than the full scale of {show(full, 'pressure')}")


def _head(found: Found, case: Case) -> None:
    """The test pressure is above what the gauge shows with the vessel just full and open at the top."""
    test, inside = case.test_gauge, inside_of(case.vessel)
    if inside is None or isnan(test):
        return
    top = inside.height()
    below, height = (0.0 if leaf is None else float(leaf) for leaf in (case.vent.below_highest_point,
                                                                       case.gauge.height))
    head = METRE_OF_WATER * (float(top) - below - height)
    if test > head:
        return
    where = "at the bottom" if height == 0.0 else (
        f"{show(abs(height), 'length')} {'above' if height > 0.0 else 'below'} the bottom")
    found.add("test.pressure" if case.test.pressure is not None else "test.factor_on_design", show(test, "pressure"),
              f"write more than {show(head, 'pressure')}: a gauge {where} shows that with the vessel just full",
              "if the test pressure counts at the top, add this head to it; or give gauge.height")
