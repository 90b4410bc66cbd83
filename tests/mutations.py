"""Hand-made faults in the model, each of which must turn a test red: `python -m tests.mutations`.

Each fault is put into a copy of the tree and the quick tests of the model are run there until the first
failure. A fault that no test notices is a survivor, and the exit code says so. Words after the command pick the
faults whose file or text holds one of them.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
TESTS = ("tests/model/test_closed_forms.py", "tests/model/test_closed_vessel.py", "tests/model/test_against_fluids.py",
         "tests/model/test_setup.py", "tests/model/test_shapes.py", "tests/model/test_containers.py", "tests/model/test_hammer.py",
         "tests/test_pump_limits.py", "tests/published", "tests/test_fill_limits.py", "tests/test_distribution.py",
         "tests/case/test_solid.py", "tests/test_never.py", "tests/model/test_reached.py",
         "tests/model/test_squeezed_air.py", "tests/model/test_gases.py", "tests/model/test_gas.py",
         "tests/model/test_drawn_gas.py")
"""In the order in which they are run, those of gas before the others for its own files; the first red one ends the run."""


@dataclass(frozen=True)
class Fault:
    """What is changed in a file of fillcalc; the old text stands there exactly once."""

    file: str
    old: str
    new: str
    what: str


FAULTS = (
    Fault("model/line.py", "x1 = relative_roughness * reynolds * (LOG10 / (2.0 * 2.51 * 3.7))",
          "x1 = relative_roughness * reynolds * (LOG10 / (2.0 * 2.51 * 3.17))", "Colebrook's 3.7"),
    Fault("model/line.py", "laminar, laminar_slope = 64.0 / below", "laminar, laminar_slope = 16.0 / below",
          "Fanning's friction factor"),
    Fault("model/line.py", "gain = 0.14 * bore_over_coil**0.97 * below**power",
          "gain = 0.14 * bore_over_coil**0.97 * below", "power of the coil's laminar gain"),
    Fault("model/line.py", "jet = 1.0 + 0.622 * (1.0 - 0.215", "jet = 1.0 + 0.622 * (1.0 + 0.215",
          "sign in the contraction"),
    Fault("model/line.py", "return (1.0 - bore_ratio**2) ** 2", "return 1.0 - bore_ratio**4", "Borda-Carnot"),
    Fault("model/line.py", "return BAR * (HOUR / kv) ** 2 * density / 1000.0",
          "return BAR * (HOUR / kv) ** 2 * 1000.0 / density",
          "density of a valve upside down"),
    Fault("model/line.py", "more * (square - line.source.flow[j] ** 2)", "more * square",
          "start of a piece of the tap's curve"),
    Fault("model/line.py", "return run.quadratic * f * square, 2.0 + power", "return run.quadratic * f * square, 2.0",
          "slope of the hose's loss"),
    Fault("model/shapes/heads.py", "DISH_KNUCKLE = 0.1", "DISH_KNUCKLE = 0.154", "knuckle of another dish"),
    Fault("model/shapes/circle.py", "return radius * radius * (angle - np.sin(angle) * np.cos(angle))",
          "return radius * radius * (angle - np.sin(angle))", "segment of a circle"),
    Fault("model/shapes/horizontal.py", "2.0 * self.head.lying_below(d, level)", "self.head.lying_below(d, level)",
          "one end of a lying vessel"),
    Fault("model/shapes/pipe_run.py", "return np.clip(np.minimum(level_pipe, sloping), 0.0, 1.0)",
          "return np.clip(np.maximum(level_pipe, sloping), 0.0, 1.0)", "the larger pocket of a pipe"),
    Fault("model/wall.py", "k2 = (1.0 + 2.0 * wall / diameter) ** 2", "k2 = (1.0 + wall / diameter) ** 2",
          "one wall for two"),
    Fault("model/wall.py", "2.0 * k2 * (1.0 + poisson)) / (young", "2.0 * k2 * (1.0 - poisson)) / (young",
          "sign in Lamé's cylinder"),
    Fault("model/wall.py", "return 2.0 * (1.0 + poisson) * expansion if anchored",
          "return 2.0 * expansion if anchored", "growth of an anchored pipe"),
    Fault("model/wall.py", "/ (192.0 * stiffness)", "/ (768.0 * stiffness)", "constant of the clamped plate"),
    Fault("model/wall.py", "free = (7.0 + self.poisson)", "free = (5.0 + self.poisson)",
          "volume of a plate free to turn"),
    Fault("model/wall.py", "free = (5.0 + self.poisson)", "free = (7.0 + self.poisson)",
          "bulge of a plate free to turn"),
    Fault("model/wall.py", "np.arcsinh(1.5 * np.sqrt(3.0 * membrane) * slight)",
          "np.arcsinh(np.sqrt(3.0 * membrane) * slight)", "root of the membrane's cubic"),
    Fault("model/vent.py", "is_choked = outside_abs <= CRITICAL * inside",
          "is_choked = root * root <= CRITICAL * inside",
          "gauge for absolute where the vent chokes"),
    Fault("model/vent.py", "CHOKED = (2.0 / (RATIO + 1.0)) ** ((RATIO + 1.0) / (2.0 * (RATIO - 1.0))) * RATIO**0.5",
          "CHOKED = (2.0 / (RATIO + 1.0)) ** ((RATIO + 1.0) / (2.0 * (RATIO - 1.0)))",
          "choked flow without its root of k"),
    Fault("model/fill.py", "head = task.head_over(task.weight * task.height if task.from_top else column, water)",
          "head = task.head_over(column, water)", "a top fill at the level"),
    Fault("model/filling.py", "return self.drop + (water - self.poured) / self.area",
          "return self.drop + water / self.area", "level of the second container as if nothing were changed"),
    Fault("model/filling.py", "return self.driving - column - self.weight * self.fallen(water)",
          "return self.driving - column", "a container that keeps its level"),
    Fault("model/filling.py", "return np.where(np.isfinite(given), np.maximum(taken - 1.0, 0.0), np.nan)",
          "return np.where(np.isfinite(given), taken, np.nan)", "one change-over too many"),
    Fault("model/fill.py", "first, push = np.where(falls, lost - limit, first), np.where(falls, 0.0, push)",
          "pass", "more than the source lets out"),
    Fault("model/fill.py", "self.bottom.meet(at.point.s, gauge + at.point.column)", "self.bottom.meet(at.point.s, gauge)",
          "no water on the bottom"),
    Fault("model/hammer.py", "moving = 0.5 * column.inertance() * np.square(lost_flow)",
          "moving = column.inertance() * np.square(lost_flow)", "twice the energy of the column"),
    Fault("model/hammer.py", "WAVE_SPEEDS[-1], speed)", "WAVE_SPEEDS[0], speed)", "wave speed of a soft hose"),
    Fault("job/air.py", "np.minimum(inside.volume() * inside", "np.minimum(net * inside", "tubes in the crown"),
    Fault("job/setup.py", "(driving > supply.source.pressure)", "(driving < supply.source.pressure)",
          "a steep hose not noticed"),
    Fault("estimation/fill_limits.py", "return float(bores[good][0])", "return float(bores[good][-1])", "the widest vent advised"),
    Fault("estimation/fill_limits.py", "case = put(case, path, asked.high if _goes(path) > 0 else asked.low)",
          "case = put(case, path, asked.low if _goes(path) > 0 else asked.high)", "the lucky end of each range"),
    Fault("model/filling.py", "return self.line.source.pressure + self.weight * self.line.source.height",
          "return self.line.source.pressure - self.weight * self.line.source.height", "sign of the tap's height"),
    Fault("model/fill.py", "ease = np.minimum(np.digitize(reserve, VENTS), np.digitize(left, HEADS))",
          "ease = np.digitize(reserve, VENTS)", "few steps where the source hardly lifts the water"),
    Fault("model/fill.py", "first, push = lost + square - head, double", "first, push = lost - head, double",
          "no back-pressure of the air"),
    Fault("model/fill.py", "MIX_STAGE = 1.0 / (STAGE * (2.0 - STAGE))", "MIX_STAGE = 1.0 / (STAGE * (2.1 - STAGE))",
          "a weight of the march"),
    Fault("model/held.py", "rho_mean * self.stretch * rise / reference,",
          "rho_mean * self.stretch * end.air_abs / reference,",
          "absolute for gauge in the stretch"),
    Fault("model/held.py", "(held.growth - pocket * held.air_table.expansion(self.air_abs))",
          "(held.growth + pocket * held.air_table.expansion(self.air_abs))", "sign of the pocket's warming"),
    Fault("model/held.py", "return part, -part * slope / rho", "return part, part * slope / rho",
          "sign of the pocket's slope"),
    Fault("model/pump.py", "REFERENCE = 1e5", "REFERENCE = 101325.0", "reference pressure of ISO 6358"),
    Fault("model/pump.py", "CRITICAL_RATIO = 0.3", "CRITICAL_RATIO = 0.5", "critical ratio of the ports"),
    Fault("model/pump.py", "return pump.ratio * (pump.supply_abs - pump.outside_abs - pump.friction)",
          "return pump.ratio * (pump.supply_abs - pump.friction)", "absolute for gauge in the stall"),
    Fault("model/pump.py", "return gauge / pump.ratio + pump.friction",
          "return gauge / pump.ratio - pump.friction",
          "sign of the friction"),
    Fault("model/pump.py", "budget = pump.free_air * pump.outside_abs", "budget = pump.free_air * REFERENCE",
          "free air at another pressure"),
    Fault("model/pump.py", "pump.power / np.maximum(gauge, LEAST_PUSH)",
          "pump.power / np.maximum(2.0 * gauge, LEAST_PUSH)", "half of a person's power"),
    Fault("model/pump.py", "return _per_water(pump, pump.supply_abs * _chamber(pump, alone))",
          "return _per_water(pump, pump.supply_abs * _chamber(pump, wanted))",
          "a throttled pump without its mid-curve"),
    Fault("model/pump.py", "return pump.air_strokes * pump.ratio * air_abs", "return pump.ratio * air_abs",
          "one stroke of air for two"),
    Fault("model/pressurise.py", "air = np.where(held_back, water * throttled_air(pump, gauge, let), air)",
          "air = np.where(held_back, water * per_water, air)", "a throttled pump at the vessel's pressure"),
    Fault("job/setup.py", "return np.minimum(pump.regulator_pressure, pump.drive_pressure)",
          "return pump.regulator_pressure", "a regulator that gives more than the supply"),
    Fault("job/setup.py", "(case.surroundings.temperature / NORMAL) * (ATMOSPHERE / case.surroundings.pressure)",
          "(case.surroundings.temperature / NORMAL)", "an amount of air at sea level's pressure"),
    Fault("job/setup.py", "supply_abs=highest + driver.outside_abs", "supply_abs=drive_gauge(case) + driver.outside_abs",
          "limits judged by the running air"),
    Fault("job/setup.py", "given.stroke_work / given.stroke + zero", "given.stroke_work / given.stroke + np.inf",
          "a person of any strength"),
    Fault("case/no_flow.py", "return first(creep), high_end(case, \"pump.lock_up\", creep)",
          "return first(creep), first(creep)", "lock-up at its likely value"),
    Fault("estimation/regulator.py", "passes = limit / ratio - creep", "passes = limit / ratio", "no lock-up in the window"),
    Fault("estimation/regulator.py", "least = ceil((lowest + step) / step - NEARLY) * step",
          "least = ceil(lowest / step - NEARLY) * step", "no step inside the lower end"),
    Fault("estimation/limits.py", "return float(limit_gauge_pa) / ACCUMULATION", "return float(limit_gauge_pa)",
          "no accumulation under the relief valve"),
    Fault("model/pressurise.py", "time = np.maximum(pumping, slowest)", "time = pumping", "rise limit left out"),
    Fault("model/pressurise.py", "water = stored + leak * time", "water = stored", "water that leaks"),
    Fault("model/held.py", "return self.outside_abs - self.head", "return self.outside_abs + self.head",
          "sign of the head"),
    Fault("model/held.py", "return self.air_abs(gauge) + 0.5 * self.column", "return self.air_abs(gauge)",
          "all water at the pressure of the top"),
    Fault("model/held.py", "above = mean - self.head", "above = mean", "wall from no gauge pressure"),
    Fault("model/pressurise.py", "start = np.minimum(np.maximum(duty.start_gauge, held.full_gauge), top)",
          "start = np.minimum(duty.start_gauge, top)", "pump-up from no gauge pressure"),
    Fault("model/pressurise.py", "time = time + np.where(passes & (falls > start),",
          "time = time + np.where(passes & (falls > 2.0 * goal),", "top-up without the time at the source's most"),
    Fault("model/pressurise.py", "(solid + held.air * air) * slope * width", "solid * slope * width",
          "top-up without the air"),
    Fault("model/release.py", "low = np.maximum(low_gauge, held.full_gauge)", "low = np.maximum(low_gauge, 0.0)",
          "release past the head"),
    Fault("model/shapes/shape.py", "return Pocket(np.minimum(np.cbrt(air), part * top), self.widening(part) * gross / top)",
          "return Pocket(np.cbrt(air), self.widening(part) * gross / top)", "every pocket round"),
    Fault("model/shapes/shape.py", "self.widening(part) * gross / top)", "gross / top)", "surface of a mean level"),
    Fault("model/pocket.py", "return np.asarray(2.0 * surface * solubility(temperature)",
          "return np.asarray(surface * solubility(temperature)", "half of what dissolves"),
    Fault("model/pocket.py", "pressure_abs / (np.pi**2 * THERMAL * ATMOSPHERE)",
          "pressure_abs / (THERMAL * ATMOSPHERE)", "no pi in the cooling"),
    Fault("model/hold.py", "gain * body.surface / np.pi * time", "gain * body.surface * time", "sun from all sides"),
    Fault("model/quadrature.py", "return pressure, -2.0 * here * pressure * width * weights[:, None]",
          "return pressure, 2.0 * here * pressure * width * weights[:, None]", "sign of a weight"),
    Fault("model/release.py", "np.sqrt(1000.0 / held.water.density(held.outside_abs) / BAR)",
          "np.sqrt(1.0 / BAR) * 1.01", "a per cent in the release"),
    Fault("model/drain.py", "fixed = 1.0 / task.coefficient**2", "fixed = 1.0 / task.coefficient",
          "coefficient not squared"),
    Fault("model/drain.py", "total = lost + suction", "total = lost", "suction left out"),
    Fault("model/energy.py", "left = -np.expm1((RATIO - 1.0) / RATIO * np.log(outside_abs / top))",
          "left = -np.expm1((RATIO - 1.0) / RATIO * np.log(outside_abs / gauge))", "gauge for absolute in the gas"),
    Fault("model/sweep.py", "0.56 * np.sqrt(np.sin(slope))", "0.56 * np.sin(slope)", "root of the slope"),
    Fault("job/setup.py", "supply_abs=given.drive_pressure + outside", "supply_abs=given.drive_pressure",
          "gauge for absolute in the supply"),
    Fault("model/shapes/cylinder.py", "give + 2.0 * end.stretch(gauge)", "give + end.stretch(gauge)", "one flat end"),
    Fault("model/shapes/cylinder.py", "ends = np.pi * self.diameter**3 / 6.0", "ends = np.pi * self.diameter**3 / 12.0",
          "one hemispherical end"),
    Fault("job/setup.py", "base = np.maximum(SHARE_BASE * vessel.design, base)", "base = SHARE_BASE * vessel.design",
          "share of a wall without a design pressure"),
    Fault("job/setup.py", "return np.asarray(weight * (_surface(case, height) - gauge))",
          "return np.asarray(weight * _surface(case, height))", "gauge's height left out"),
    Fault("job/setup.py", "total = total + factor * narrow / ratio**4", "total = total + factor * narrow / ratio**2",
          "basis of a fitting's K"),
    Fault("job/setup.py", "net = gross * (1.0 - vessel.internals)", "net = gross", "internals left out"),
    Fault("job/setup.py", "air=vessel.trapped + dry", "air=vessel.trapped", "dry test hose"),
    Fault("job/setup.py", "return Source(tap.pressure + density * GRAVITY * tap.height, (k_tap,), (zero,), zero)",
          "return Source(tap.pressure + density * GRAVITY * tap.height, (k_tap,), (zero,), tap.height + zero)",
          "head of a tank counted twice"),
    Fault("properties/media.py", "return -self.density_temperature_slope(p_abs) / self.density(p_abs)",
          "return self.density_temperature_slope(p_abs) / self.density(p_abs)", "sign of the expansion"),
    Fault("properties/media.py", "AIR_SCALE = 300e5", "AIR_SCALE = 330e5", "scale of the air table"),
    Fault("properties/media.py", "/ (radius + altitude)", "/ (radius - altitude)", "geopotential altitude"),
    Fault("properties/media.py", "GRAVITY = 9.80665", "GRAVITY = 9.832", "gravity of the pole"),
    Fault("job/distribution.py", "(middle - low) * np.sqrt(2.0 * np.minimum(rank, 0.5))",
          "(middle - low) * np.sqrt(np.minimum(rank, 0.5))", "a side that does not reach its middle"),
    Fault("job/distribution.py", "LOGARITHMIC_FROM = 5.0", "LOGARITHMIC_FROM = 10.0", "where the logarithm begins"),
    Fault("case/solid.py", "HALVINGS = 64", "HALVINGS = 24", "a dimension by its volume to a few figures"),
    Fault("case/solid.py", "BY_SHAPE = (0.606, 1.0, 1.817)", "BY_SHAPE = (0.606, 0.806, 1.817)",
          "a cube for a sphere"),
    Fault("questions/percentiles.py", "return _quantiles(np.where(finite, values, np.inf))",
          "return _quantiles(np.where(finite, values, 0.0))", "what never finishes counts as quick"),
    Fault("questions/ranges.py", "np.any(done & ~np.isfinite(values))", "np.any(~np.isfinite(values))",
          "a stall taken for a stage that cannot be had"),
    Fault("questions/ranges.py", "ended = np.where(fill != Status.DONE, fill, pump)", "ended = pump",
          "a fill that stands still goes without a reason"),
    Fault("questions/visit.py", "(*ONCE, REWORK, *one.without)", "(*ONCE, REWORK)", "a day lost to one stage"),
    Fault("questions/readings/air_fit.py", "rise + (1.0 - 1.0 / exponent) * np.log", "rise + (exponent - 1.0) * np.log",
          "warmth of squeezed air by n - 1"),
    Fault("questions/readings/air_fit.py", "at.density * at.pocket * warmth)", "at.density * at.pocket / warmth)", "warm air shrinks"),
    Fault("questions/readings/air_fit.py", "waited = np.diff(time) - pumping", "waited = np.diff(time) + pumping", "pumping as a wait"),
    Fault("questions/readings/air_fit.py", "float(share @ unknown - before[0])", "float(share @ unknown + before[0])",
          "water before the count, sign"),
    Fault("questions/readings/air_fit.py", "np.sqrt(np.maximum(COVER**2 - worse[may], 0.0))", "np.sqrt(np.maximum(1.0 - worse[may], 0.0))",
          "one deviation for two"),
    Fault("questions/readings/reached.py", "highest >= test - FINER * division", "highest >= test - division", "a division short of test"),
    Fault("questions/readings/reached.py", "highest > limit * (1.0 + 1e-9)", "highest > 1.5 * limit", "limit passed by half"),
    Fault("properties/gases.py", "heat_capacity=-gas * tau**2 * (second0 + d * bxx)", "heat_capacity=-gas * tau**2 * second0",
          "heat capacity of an ideal gas"),
    Fault("properties/gases.py", "(1.0 + squeeze - tau * d * by_density)", "(1.0 + squeeze + tau * d * by_density)",
          "sign in the slope by temperature"),
    Fault("properties/gases.py", "np.cbrt(transport * at.density * by_warmth", "np.cbrt(transport * by_warmth",
          "no density in convection"),
    Fault("properties/gases.py", "bx * past + bxx * half", "bx * past", "cold gas along a straight line"),
    Fault("properties/gases.py", "np.log(outside), ENERGY_OUTSIDE", "np.log(101325.0 + 0.0 * outside), ENERGY_OUTSIDE",
          "energy down to one atmosphere whatever is outside"),
    Fault("model/gas/supply.py", "filled = np.clip(1.0 - CLEARANCE", "filled = np.clip(1.0 - 0.0 * CLEARANCE",
          "a booster without dead space"),
    Fault("model/gas/supply.py", "* np.sqrt(left) * filled", "* left * filled", "a booster that slows in a straight line"),
    Fault("model/pressurise.py", "np.maximum(found.drawn - refilled[stretch], 0.0)", "found.drawn",
          "a pause that fills no receiver"),
    Fault("model/pressurise.py", "drawn = np.minimum(after, duty.reserve)", "drawn = after",
          "a receiver that owes more than it holds"),
    Fault("model/gas/raising.py", "np.where((self.phase == TOPPING) & self.open(), falling, 1.0)",
          "np.where(self.phase == TOPPING, falling, 1.0)", "a gauge that is read while bottles are changed"),
    Fault("model/gas/flow.py", "(1.0 - x / (3.0 * x_t))", "(1.0 - x / 3.0)", "expansion factor without x_T"),
    Fault("model/gas/flow.py", "N6 = 31.6", "N6 = 27.3", "another constant of IEC 60534"),
    Fault("model/gas/flow.py", "np.clip(downstream_abs / upstream_abs, CRITICAL, 1.0)",
          "np.clip(downstream_abs / upstream_abs, 0.1, 1.0)", "a hole that does not choke"),
    Fault("model/gas/vessel.py", "brought = enthalpy - at.energy - at.density * at.energy_by_density\n        return flow",
          "brought = enthalpy - at.energy\n        return flow", "a balance without du/drho"),
    Fault("model/gas/vessel.py", "FREE = 0.13", "FREE = 0.10", "constant of free convection"),
    Fault("model/gas/vessel.py", "np.cbrt(GRAVITY * np.abs(warmer))", "np.sqrt(GRAVITY * np.abs(warmer))",
          "power of free convection"),
    Fault("model/gas/vessel.py", "return self.outside_film * self.area * (wall - self.surroundings)",
          "return self.outside_film * self.area * (self.surroundings - wall)", "a wall warmed by what cools it"),
    Fault("model/gas/supply.py", "return vessel_abs + self.difference", "return vessel_abs - self.difference",
          "sign of the regulator's difference"),
    Fault("model/gas/supply.py", "upstream = np.minimum(self.regulator_abs, at.pressure)", "upstream = at.pressure",
          "no regulator"),
    Fault("model/gas/supply.py", "density = density + (off * by_warmth - short", "density = density + (off * by_warmth + short",
          "sign in the throttle"),
    Fault("model/gas/raising.py", "rate = np.where(self.phase == TOPPING, 0.0, task.rise_limit)", "rate = task.rise_limit",
          "topping up at the rise limit"),
    Fault("model/gas/raising.py", "march.shut = np.where(happened, rows.time + task.supply.change, march.shut)", "pass",
          "bottles changed in no time"),
    Fault("model/gas/raising.py", "(bottle_heat - gained) / supply.holder.wall_heat", "(bottle_heat + gained) / supply.holder.wall_heat",
          "a bottle cooled by the air around it"),
    Fault("model/gas/letting_off.py", "self.vessel.slopes(at, -flow, at.enthalpy, heat)", "self.vessel.slopes(at, -flow, at.energy, heat)",
          "gas that leaves without its p V"),
    Fault("model/gas/leak.py", "return volume * rate / (at.pressure_by_density * at.density)", "return volume * rate / at.pressure * 1.1",
          "leak by Boyle, a tenth off"),
    Fault("model/gas/energy.py", "return gauge * volume / (HEAT_RATIO - 1.0)", "return gauge * volume", "pV without k - 1"),
    Fault("model/gas/energy.py", "(np.log(ratio) - 1.0 + 1.0 / ratio)", "np.log(ratio)", "no work against the air"),
)


def copied(into: Path) -> Path:
    """A copy of what the tests need."""
    for part in ("fillcalc", "tui", "tests", "cases"):
        shutil.copytree(ROOT / part, into / part, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", into)
    return into


def red(tree: Path, file: str = "") -> str:
    """The first test that fails in the tree with a fault in this file; nothing if all pass."""
    tests = sorted(TESTS, key=lambda test: "gas" not in test) if "gas" in file else TESTS
    ended = subprocess.run(
        [sys.executable, "-B", "-m", "pytest", "-o", "addopts=", "-x", "-q", "--no-header", "--tb=no", "-p", "no:cacheprovider", *tests],
        cwd=tree, capture_output=True, text=True, check=False)
    if ended.returncode == 0:
        return ""
    failed = [line for line in ended.stdout.splitlines() if line.startswith(("FAILED", "ERROR"))]
    if ended.returncode not in (1, 2) or not failed:
        raise RuntimeError(ended.stdout[-2000:] + ended.stderr[-2000:])
    return failed[0].split(" - ")[0].split("::", 1)[-1]


def put_in(fault: Fault, tree: Path) -> str:
    """Make the fault; the text of the file as it was."""
    path = tree / "fillcalc" / fault.file
    text = path.read_text(encoding="utf-8")
    if text.count(fault.old) != 1:
        raise ValueError(f"{fault.file}: {text.count(fault.old)} times: {fault.old}")
    path.write_text(text.replace(fault.old, fault.new), encoding="utf-8")
    return text


def main(words: list[str]) -> int:
    """Run the faults and print a table; 1 if any survives."""
    chosen = [fault for fault in FAULTS if not words or any(word in f"{fault.file} {fault.what}" for word in words)]
    counts: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        tree = copied(Path(folder))
        if first := red(tree):
            print(f"red before any fault: {first}")
            return 2
        for fault in chosen:
            start = time.monotonic()
            text = put_in(fault, tree)
            noticed = red(tree, fault.file)
            (tree / "fillcalc" / fault.file).write_text(text, encoding="utf-8")
            counts["noticed" if noticed else "survived"] += 1
            took = time.monotonic() - start
            print(f"{fault.file:22} {fault.what:42} {took:4.1f} s  {noticed or 'SURVIVED'}", flush=True)
    print(f"\n{len(chosen)} faults: {counts['noticed']} noticed, {counts['survived']} survived")
    return 1 if counts["survived"] else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
