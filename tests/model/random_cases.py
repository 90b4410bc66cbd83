"""Random cases against the brute-force twin: `python -m tests.model.random_cases [NUMBER] [FIRST]`.

Each case is drawn from its own number, so that one that disagrees can be looked at alone. Every shape, source and pump
comes up with every way of giving it. None is left out: a case whose fill or pump-up does not finish is compared as far
as it goes. The table that is printed is the largest difference of each group of answers.
"""

from __future__ import annotations

import math
import sys

import numpy as np

from fillcalc.case.problems import CaseProblems
from fillcalc.case.read import read_text
from fillcalc.case.records import Case
from fillcalc.estimation.estimate import estimate
from tests.model.drawn import Compared, Differences, worked_out
from tests.model.test_twin import NEAR_ZERO, PEAK_SLACK, SMOOTH, said
from tests.twin import twin

ALLOWED = {
    "fill.": 5e-4, "pressurise.": 1e-4, "air_ladder": 1e-4, "regulator.": SMOOTH, "settle.drop_water": 1e-4,
    "settle.drop_air": 1e-3, "hold.solution_pa": 5e-4, "hold.": 1e-4, "release.": 1e-4, "drain.": 5e-4, "energy.": 1e-4,
}
"""Largest relative difference allowed, by the start of an answer's name; the pocket takes its thickness, and
the film of air that goes into solution its surface, from a table of levels."""
COLD = 0.01
"""Pa; a pocket of which nothing warm is left leaves a fall that hangs on the last figures of an exponential."""
BALANCED = 1.0
"""Pa/K; near 4 degC the water grows as little as the wall, and the small difference is known no better than each."""


class Draw:
    """Random choices from one seed, as text of a case file."""

    def __init__(self, seed: int) -> None:
        self.random = np.random.default_rng([seed, 20_260])

    def chance(self, share: float) -> bool:
        return bool(self.random.random() < share)

    def of(self, *choices: str) -> str:
        return choices[int(self.random.integers(len(choices)))]

    def number(self, low: float, high: float) -> float:
        """Evenly drawn; evenly in the logarithm where the ends lie far apart."""
        if low > 0 and high > 8 * low:
            return float(np.exp(self.random.uniform(math.log(low), math.log(high))))
        return float(self.random.uniform(low, high))

    def quantity(self, low: float, high: float, unit: str) -> str:
        return f'"{self.number(low, high):.5g} {unit}"'


def _vessel(draw: Draw, test_bar: float) -> list[str]:
    shape = draw.of("standing cylinder", "lying cylinder", "sphere", "pipe run", "valve body", "other")
    lines = ["[vessel]", f'shape = "{shape}"']
    if shape == "pipe run":
        lines += [f"length = {draw.quantity(5, 600, 'm')}", f"diameter = {draw.quantity(20, 250, 'mm')}"]
        lines += [f"rise = {draw.quantity(0.2, 8, 'm')}"] if draw.chance(0.5) else []
    elif shape in ("valve body", "other"):
        lines += [f"volume = {draw.quantity(0.3, 900, 'L')}", f"height = {draw.quantity(0.05, 1.5, 'm')}"]
    else:
        lines.append(f"diameter = {draw.quantity(150, 2200, 'mm')}")
    if shape.endswith("cylinder"):
        across = "height" if shape.startswith("standing") else "length"
        lines += [f"{across} = {draw.quantity(0.3, 6, 'm')}",
                  f'ends = "{draw.of("flat", "hemispherical", "elliptical 2:1", "dished")}"']
    if shape not in ("valve body", "other") and draw.chance(0.6):
        lines.append(f"wall = {draw.quantity(4, 25, 'mm')}")
    elif draw.chance(0.3):
        lines.append('wall = "rigid"')
    elif draw.chance(0.5):
        lines.append(f'design = "{test_bar / draw.number(1.3, 1.6):.4g} bar"')
    if draw.chance(0.3) and shape != "pipe run":
        lines.append(f"internals = {draw.quantity(5, 40, '%')}")
    if draw.chance(0.3):
        lines += [f"young = {draw.quantity(70, 210, 'GPa')}", f"poisson = {draw.number(0.26, 0.34):.3g}",
                  f"expansion = {draw.quantity(1e-5, 2.4e-5, '/K')}"]
    if draw.chance(0.2):
        lines.append("anchored = true")
    if draw.chance(0.5):
        lines.append(f'never_above = "{test_bar * draw.number(1.02, 2):.4g} bar"')
    return lines


def _source(draw: Draw) -> list[str]:
    kind = draw.of("tap", "tap", "hydrant", "transfer pump", "header tank", "bucket")
    lines = ["[tap]", f'kind = "{kind}"']
    if kind in ("header tank", "bucket"):
        lines += [f"height = {draw.quantity(1, 12, 'm')}", f"open_flow = {draw.quantity(20, 120, 'L/min')}"]
        lines += [f"contents = {draw.quantity(300, 3000, 'L')}"] if draw.chance(0.7) else []
    elif draw.chance(0.2):
        top = draw.number(2, 6)
        lines.append(f'points = [["{top:.3g} bar", "0 L/min"], ["{0.8 * top:.3g} bar", "12 L/min"], '
                     f'["{0.3 * top:.3g} bar", "40 L/min"]]')
    else:
        lines += [f"pressure = {draw.quantity(1.5, 6, 'bar')}",
                  'open_flow = "unlimited"' if draw.chance(0.15) else f"open_flow = {draw.quantity(10, 300, 'L/min')}"]
    if kind in ("tap", "hydrant", "transfer pump") and draw.chance(0.4):
        lines.append(f"height = {draw.quantity(-3, 5, 'm')}")
    return lines


def _line(draw: Draw) -> list[str]:
    lines = ["[fill]"]
    lines += ['from = "top"'] if draw.chance(0.15) else []
    lines += [f"kv = {draw.number(1, 12):.3g}"] if draw.chance(0.2) else []
    lines += [f"run_to_waste = {draw.quantity(1, 30, 'L')}"] if draw.chance(0.2) else []
    lines += [f"measured_flow = {draw.quantity(5, 30, 'L/min')}"] if draw.chance(0.1) else []
    for _ in range(2 if draw.chance(0.25) else 1):
        lines += ["[[fill.hose]]", f"length = {draw.quantity(3, 60, 'm')}", f"bore = {draw.quantity(9, 38, 'mm')}",
                  f"couplings = {draw.of('0', '1', '2', '3')}"]
        lines += [f"tail_bore = {draw.quantity(7, 20, 'mm')}"] if draw.chance(0.3) else []
        lines += [f"reel = {draw.quantity(300, 600, 'mm')}"] if draw.chance(0.2) else []
    lines += ["[vent]", f"bore = {draw.quantity(1.5, 20, 'mm')}"]
    low_vent = draw.chance(0.15)
    lines += [f"below_highest_point = {draw.quantity(2, 40, 'mm')}"] if low_vent else []
    lines += ["shut = true"] if draw.chance(0.04) else []
    if not low_vent and draw.chance(0.8):
        lines += ["[trapped_air]", f"amount = {draw.quantity(0.02, 5, '%')}"]
    return lines


def _test(draw: Draw, test_bar: float) -> list[str]:
    lines = ["[test]", f'pressure = "{test_bar:.5g} bar"']
    lines += [f'start_pressure = {draw.of(chr(34) + "tap" + chr(34), chr(34) + "0.9 bar" + chr(34))}'] \
        if draw.chance(0.4) else []
    lines += [f'rise_limit = "{test_bar * draw.number(0.1, 3):.4g} bar/min"'] if draw.chance(0.25) else []
    lines += ['steps = [{ at = "50 %", pause = "2 min" }]'] if draw.chance(0.2) else []
    lines += [f"assumed_leak = {draw.quantity(1, 40, 'mL/min')}"] if draw.chance(0.15) else []
    if draw.chance(0.6):
        lines += ["[test_hose]", f"length = {draw.quantity(1, 15, 'm')}", f"bore = {draw.quantity(4, 10, 'mm')}"]
    lines += ["[gauge]", f"height = {draw.quantity(0, 2, 'm')}"] if draw.chance(0.5) else []
    return lines


def _pump(draw: Draw, test_bar: float) -> list[str]:
    kind = draw.of("air-driven", "air-driven", "air-driven", "hand", "electric")
    lines = ["[pump]", f'kind = "{kind}"']
    if kind == "hand":
        return [*lines, f"stroke = {draw.quantity(2, 30, 'mL')}", f'stroke_rate = "{draw.number(20, 60):.3g} /min"']
    if kind == "electric":
        return [*lines, f"flow = {draw.quantity(1, 12, 'L/min')}",
                f'relief = "{test_bar * draw.number(0.9, 2):.4g} bar"']
    drive = draw.number(3, 7)
    ratio = test_bar / drive * draw.number(0.95, 4)
    lines += [f"ratio = {ratio:.4g}", f'drive_pressure = "{drive:.3g} bar"', f"stroke = {draw.quantity(5, 80, 'mL')}"]
    if draw.chance(0.5):
        lines.append(f'regulator_pressure = "{min(test_bar / ratio * draw.number(1.1, 2), drive):.3g} bar"')
    way = draw.of("flow", "strokes", "points", "nothing")
    if way == "flow":
        lines.append(f"flow_at_zero = {draw.quantity(1, 6, 'L/min')}")
    elif way == "strokes":
        lines.append(f"strokes_per_minute = {draw.number(60, 180):.3g}")
    elif way == "points":
        half, flow = 0.5 * ratio * drive, draw.number(1.6, 3)
        lines.append(f'points = [["0 bar", "4 L/min"], ["{half:.4g} bar", "{flow:.3g} L/min"]]')
    if draw.chance(0.4):
        lines += ["[air_supply]", f"flow = {draw.quantity(60, 500, 'L/min')}"]
        lines += ['receiver = "50 L"', 'receiver_pressure = "8 bar"'] if draw.chance(0.5) else []
    return lines


def _after(draw: Draw) -> list[str]:
    lines = ["[release]", f"kv = {draw.number(0.02, 0.3):.3g}" if draw.chance(0.7) else 'rate = "5 bar/min"']
    if draw.chance(0.7):
        lines += ["[drain]", f"bore = {draw.quantity(8, 50, 'mm')}"]
        lines += [f"hose_length = {draw.quantity(2, 20, 'm')}"] if draw.chance(0.4) else []
        lines += [f"fall = {draw.quantity(0.2, 3, 'm')}"] if draw.chance(0.4) else []
    lines += ["[water]", f"temperature = {draw.quantity(5, 30, 'degC')}"] if draw.chance(0.5) else []
    if draw.chance(0.5):
        lines += ["[surroundings]", f"altitude = {draw.quantity(0, 2500, 'm')}",
                  f"temperature = {draw.quantity(0, 35, 'degC')}"]
    return lines


def text_of(seed: int) -> str:
    """The text of the case with this number."""
    draw = Draw(seed)
    test_bar = draw.number(2, 400)
    parts = (_vessel(draw, test_bar), _source(draw), _line(draw), _test(draw, test_bar), _pump(draw, test_bar),
             _after(draw))
    return "\n".join(["format = 1", f'title = "number {seed}"', *(line for part in parts for line in part), ""])


def case_of(seed: int) -> Case | None:
    """The case with this number; None where the draw contradicts itself, such as a test pressure below the head."""
    try:
        return read_text(text_of(seed))
    except CaseProblems:
        return None


def differences(seed: int) -> Differences:
    """Each answer of a case: its name, the difference from the twin's, and what is allowed."""
    case = case_of(seed)
    if case is None:
        return []
    ours, theirs = estimate(case), twin(case)
    found = []
    for answer, value in theirs.items():
        if isinstance(value, bool):
            there = bool(np.ravel(getattr(ours.fill if answer.startswith("fill.") else ours.pressurise,
                                          answer.partition(".")[2]))[0])
            found.append((answer, 0.0 if there == value else math.inf, 0.0))
            continue
        start = next((start for start in ALLOWED if answer.startswith(start)), None)
        if start is None or isinstance(value, str) or not math.isfinite(value):
            continue
        scale = 1.0 if answer.startswith(("fill.shares.", "pressurise.curve_residual")) else max(abs(value), NEAR_ZERO)
        slack = PEAK_SLACK if answer.endswith("_peak_gauge_pa") else COLD if start.startswith("settle.") else \
            BALANCED if answer == "hold.pressure_per_kelvin_pa" else 0.0
        off = max(abs(said(ours, answer) - value) - slack, 0.0) / scale
        found.append((answer, off if math.isfinite(off) else math.inf, ALLOWED[start]))
    return found


def main(number: int = 300, first: int = 0) -> int:
    """Print the table and the answers that disagree; 1 where there are any."""
    compared = Compared()
    for seed, found in worked_out(differences, range(first, first + number)):
        compared.see(seed, found, lambda answer: answer.partition(".")[0].partition("|")[0])
    print(f"{compared.used} of {number} cases can be had; the others contradict themselves and are refused with a "
          "reason.")
    return compared.print()


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:])))
