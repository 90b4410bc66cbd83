"""How near the answers come to others': `python -m tests.accuracy` prints the tables of the README.

Three kinds of others: the brute-force reckoning in `tests/twin`, the libraries, and the check values in
`tests/published`, counted by how each is known. Every row of the first table is the largest difference of many; what is
allowed is what the tests hold. `python -m tests.accuracy published` prints the second table alone, in seconds.
"""

from __future__ import annotations

import math
import sys
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fillcalc.arrays import Array
from fillcalc.case.provenance import PUBLISHED, Provenance
from fillcalc.model.line import colebrook, contraction
from fillcalc.properties.gases import Gas
from fillcalc.properties.media import air, water
from tests.model import test_gas as gas_test
from tests.model.test_twin import FILL, NEAR_ZERO, PEAK_SLACK, SMOOTH, both, bound_of, said
from tests.model.twin_cases import CASES
from tests.published.adapters import ADAPTERS
from tests.published.rows import Row, rows
from tests.shapes import shape

Values = NDArray[np.float64]


@dataclass(frozen=True)
class Line:
    """One row: what, against what, how many values, the largest difference, and what is allowed."""

    what: str
    against: str
    number: int
    largest: float
    allowed: float

    def __str__(self) -> str:
        return (f"| {self.what} | {self.against} | {self.number:,} | {_share(self.largest)} | "
                f"{_share(self.allowed)} |")


def _share(value: float) -> str:
    """A small share as a person reads it."""
    if value == 0.0:
        return "0"
    return f"{100 * value:.2g} %" if value >= 5e-6 else f"{value:.0e}"


HEAD = "| what | against | values | largest difference | allowed |\n| --- | --- | ---: | ---: | ---: |"

# --- brute force ------------------------------------------------------------------------------

GROUPS: dict[str, tuple[tuple[str, ...], float]] = {
    "fill: time, water, flows, shares": (("fill.",), FILL),
    "pump-up: time, strokes, water, its parts": (("pressurise.",), SMOOTH),
    "the ladder of trapped air": (("air_ladder",), SMOOTH),
    "regulator window": (("regulator.",), SMOOTH),
    "settle and hold": (("settle.", "hold."), SMOOTH),
    "release": (("release.",), SMOOTH),
    "drain": (("drain.",), SMOOTH),
    "stored energy": (("energy.",), SMOOTH),
}
"""Answers by the start of their name, and the bound that holds for most of them."""


def brute_force(cases: Sequence[str] = tuple(CASES)) -> Iterator[Line]:
    """Every answer of the invented cases against the slow second reckoning.

    Where a test allows some answers of some cases more, each with its reason, they make a row of their own.
    """
    found: dict[tuple[str, bool], list[float]] = {}
    most: dict[tuple[str, bool], float] = {}
    for case in cases:
        estimate, expected = both(case)
        for answer, value in expected.items():
            what = next((what for what, (starts, _) in GROUPS.items() if answer.startswith(starts)), None)
            if what is None or isinstance(value, str | bool) or not math.isfinite(value):
                continue
            scale = 1.0 if answer.startswith(("fill.shares.", "pressurise.curve_residual")) else max(
                abs(value), NEAR_ZERO)
            slack = PEAK_SLACK if answer == "fill.air_peak_gauge_pa" else 0.0
            off = max(abs(said(estimate, answer) - value) - slack, 0.0) / scale
            bound = bound_of(case, answer)
            row = (what, bound > GROUPS[what][1])
            found.setdefault(row, []).append(off)
            most[row] = max(most.get(row, 0.0), bound)
    for what, hard in ((what, hard) for what in GROUPS for hard in (False, True)):
        if (what, hard) in found:
            values = found[what, hard]
            yield Line(f"{what.partition(':')[0]}: the hard ones" if hard else what, f"brute force, {len(cases)} cases",
                       len(values), max(values), most[what, hard])


# --- the gas test, against CoolProp at each step -----------------------------------------------

KELVIN = 4.0
"""A temperature that moves by less is judged as if it moved by so much, K."""


def gases() -> Iterator[Line]:
    """Times, gas, pressures, temperatures and energy of the gas test against brute force with CoolProp at each step."""
    found: dict[str, list[float]] = {}

    def add(what: str, ours: float, theirs: float, size: float = 0.0) -> None:
        found.setdefault(what, []).append(abs(ours - theirs) / (size or abs(theirs)))

    for given in gas_test.CASES.values():
        model, slow = gas_test.raise_pressure(gas_test.task(given)), gas_test.twin.raised(given)
        for name, value in gas_test.figures(given, model).items():
            add("gas: time to test pressure and to the reading" if name.endswith("_time") else
                "gas: gas used, left in the last bottle, pressure after cooling", float(value[0]), slow[name])
        for name, value in gas_test.warmths(model).items():
            add("gas: temperatures, of what they move", float(value[0]), slow[name],
                max(abs(slow[name] - given.surroundings), KELVIN))
        off, slowly = gas_test.vented(given), gas_test.twin.let_off(given)
        add("gas: letting off", float(off.time[0]), slowly["time"])
        for name, value in (("coldest", off.coldest), ("coldest_wall", off.coldest_wall)):
            add("gas: temperatures, of what they move", float(value[0]), slowly[name],
                max(abs(slowly[name] - given.surroundings), KELVIN))
        add("gas: stored energy", float(gas_test.energy.isentropic(
            Gas(given.gas), given.volume, given.stops[-1] - given.outside, given.surroundings, given.outside)),
            gas_test.twin.energy(given))
    for what, values in found.items():
        yield Line(what, f"CoolProp at each step, {len(gas_test.CASES)} cases", len(values), max(values),
                   gas_test.WITHIN)
    balances = [gas_test.open_balances(name) for name in gas_test.BALANCED]
    for what, allowed in gas_test.CLOSED.items():
        yield Line(f"gas: balance of {what}", f"nothing lost, {len(balances)} cases", len(balances),
                   max(each[what] for each in balances), allowed)


# --- libraries --------------------------------------------------------------------------------

TEMPERATURES = np.linspace(273.16, 333.15, 25)
PRESSURES = np.geomspace(1e5, 2.5e8, 25)


def _apart(ours: Values, theirs: Values) -> float:
    return float(np.max(np.abs(ours / theirs - 1.0)))


def _coolprop(output: str, fluid: str, temperatures: Values) -> Values:
    from CoolProp.CoolProp import PropsSI

    t, p = np.meshgrid(temperatures, PRESSURES, indexing="ij")
    return np.reshape(PropsSI(output, "T", t.ravel(), "P", p.ravel(), fluid), t.shape)


def _grid(one: Callable[[float], Values], temperatures: Values) -> Values:
    return np.array([one(float(t)) for t in temperatures])


def _squeezed(density: Array, slope: Array) -> Array:
    return slope / density


def libraries() -> Iterator[Line]:
    """Properties, friction, losses and tanks against the libraries that keep them."""
    t, many = TEMPERATURES, TEMPERATURES.size * PRESSURES.size
    for what, name, ours, bound in (
        ("density of water", "D", lambda t: water(t).density(PRESSURES), 1e-8),
        ("heat capacity of water", "C", lambda t: water(t).heat_capacity(PRESSURES), 1e-6),
        ("compressibility of water", "ISOTHERMAL_COMPRESSIBILITY",
         lambda t: _squeezed(*water(t).density_slope(PRESSURES)), 6e-6),
        ("viscosity of water", "V", lambda t: water(t).viscosity(PRESSURES), 1e-6),
    ):
        yield Line(what, "CoolProp", many, _apart(_grid(ours, t), _coolprop(name, "Water", t)), bound)
    colder = np.linspace(243.15, 333.15, 25)
    theirs = _coolprop("Z", "Air", colder)
    yield Line("air as a real gas, Z", "CoolProp", many,
               _apart(_grid(lambda t: air(t).compressibility_factor(PRESSURES), colder), theirs), 1e-5)
    yield _density_again()
    yield from _hydraulics()
    yield _tanks()


def _density_again() -> Line:
    from iapws import IAPWS95

    points = [(t, p) for t in TEMPERATURES[1::6] for p in PRESSURES[::6]]
    ours = np.array([float(water(t).density(p)) for t, p in points])
    theirs = np.array([IAPWS95(T=t, P=p / 1e6).rho for t, p in points])
    return Line("density of water", "iapws", len(points), _apart(ours, theirs), 1e-7)


def _hydraulics() -> Iterator[Line]:
    from fluids.fittings import contraction_sharp
    from fluids.friction import Colebrook

    points = [(re, rough) for re in np.geomspace(4000, 1e8, 30) for rough in (0.0, 1e-6, 1e-4, 1e-2, 5e-2)]
    re, rough = (np.array(column) for column in zip(*points, strict=True))
    theirs = np.array([Colebrook(r, e) for r, e in points])
    yield Line("friction in turbulent flow", "fluids", len(points), _apart(colebrook(re, rough)[0], theirs), 1e-12)
    ratios = np.linspace(0.1, 0.95, 30)
    theirs = np.array([contraction_sharp(1.0, float(ratio)) for ratio in ratios])
    yield Line("loss of a contraction", "fluids", ratios.size, _apart(contraction(ratios), theirs), 1e-12)


SHAPES = (("standing", "flat", "", {}), ("standing", "hemispherical", "spherical", {"a": 0.5}),
          ("standing", "elliptical 2:1", "ellipsoidal", {"a": 0.25}), ("lying", "flat", "", {}),
          ("lying", "hemispherical", "spherical", {"a": 0.5}), ("lying", "elliptical 2:1", "ellipsoidal", {"a": 0.25}))


def _tanks() -> Line:
    from fluids.geometry import TANK

    worst, number = 0.0, 0
    for form, ends, head, depth in SHAPES:
        kind = {"sideA": head, "sideB": head, "sideA_a": depth["a"], "sideB_a": depth["a"]} if head else {}
        tank = TANK(D=1.0, L=2.0, horizontal=form == "lying", **kind)
        ours = shape(form, ends, 1.0, 2.0)
        for level in np.linspace(0.05, 1.0, 20) * tank.h_max:
            mine = float(np.ravel(ours.volume_below(level))[0])
            worst, number = max(worst, abs(mine / tank.V_from_h(level) - 1.0)), number + 1
    return Line("volume below a level", "fluids", number, worst, 1e-6)


# --- check values --------------------------------------------------------------------------------

CHECKED = {
    "units": "units", "water": "water", "air": "air", "friction": "friction in pipes and hoses",
    "fittings": "fittings and holes in a line", "flow": "flow through hoses and valves",
    "vents": "air through small holes", "shapes": "volumes of vessels", "walls": "walls and ends under pressure",
    "closed": "the shut vessel",
    "pump": "pumps and their air", "afterwards": "release and drain", "energy": "stored energy", "labour": "labour",
    "standards": "standards", "ranges": "ranges", "gases": "the gas test"}


def _used(row: Row) -> float:
    """How much of its tolerance a row takes; nan where it is no single figure."""
    if row.match != "near" or row.slack == 0.0:
        return math.nan
    return abs(float(ADAPTERS[row.what](**row.inputs)) - row.expected[0]) / row.slack


def _counted(what: str, mine: list[Row]) -> str:
    """A row of the second table: how each value is known, how many agree, and the traps that do not."""
    good = [row for row in mine if not row.must_fail]
    traps = [row for row in mine if row.must_fail]
    known = Counter(row.provenance for row in good)
    agree = sum(row.matches(ADAPTERS[row.what](**row.inputs)) for row in good)
    noticed = sum(not row.matches(ADAPTERS[row.what](**row.inputs)) for row in traps)
    used = [part for part in map(_used, good) if math.isfinite(part)]
    middle = f"{100 * float(np.median(used)):.0f} %" if used else ""
    counts = (sum(known[kind] for kind in PUBLISHED), *(known[kind] for kind in Provenance))
    kinds = " | ".join(str(count or "") for count in counts)
    return f"| {what} | {kinds} | {agree} of {len(good)} | {middle} | {f'{noticed} of {len(traps)}' if traps else ''} |"


def published() -> Iterator[str]:
    """Rows of the second table by file, and all of them together."""
    everything = rows()
    for file in sorted({row.file for row in everything}, key=list(CHECKED).index):
        yield _counted(CHECKED[file], [row for row in everything if row.file == file])
    yield _counted("all", everything)


PUBLISHED_HEAD = (f"| check values | published | {' | '.join(Provenance)} | agree | tolerance used, median "
                  "| traps noticed |\n"
                  f"| --- | ---: | {'---: | ' * len(Provenance)}---: | ---: | ---: |")


def published_table() -> str:
    """The second table, as it stands in the README."""
    return "\n".join([PUBLISHED_HEAD, *published()]) + "\n"


def table() -> str:
    """Both tables, as they stand in the README."""
    brute = [*map(str, brute_force()), *map(str, gases())]
    return "\n".join([HEAD, *brute, *map(str, libraries()), "", published_table()])


if __name__ == "__main__":
    print(published_table() if sys.argv[1:] == ["published"] else table(), end="")
