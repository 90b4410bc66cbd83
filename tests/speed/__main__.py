"""How fast, as ratios measured in one run: `python -m tests.speed`.

The yardsticks are a bare `python -c "import numpy"` and the plain script beside this file. Every time is
the quickest of several, taken in turn, so that a busy machine slows all alike. Nothing here asserts a time.
"""

from __future__ import annotations

import math
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from time import perf_counter
from typing import Any

from fillcalc.case.folder import read_folder
from fillcalc.case.kit import read_kit_text
from fillcalc.case.read import read_file
from fillcalc.estimation.answers import at_likely_values
from fillcalc.estimation.estimate import estimate
from fillcalc.job.points import sobol
from fillcalc.present import picture as pictures
from fillcalc.questions.choices.ranking import choices
from fillcalc.questions.jobs.learn import learn
from fillcalc.questions.jobs.track import track
from fillcalc.questions.ranges import with_ranges
from fillcalc.tree import at, put
from tests.speed import plain
from tui.widgets.picture import laid_out

HERE = Path(__file__).parent
CASES = (HERE / "shell.toml", HERE / "lying.toml")
ROUNDS = 7
DRAWS = 8192
HOSES, PUMPS = 200, 20
JOBS, FINISHED = 1000, HERE.parent.parent / "cases" / "finished"
DRAWN = {
    "tap.pressure": 0.1, "tap.open_flow": 0.2, "fill.hose.1.bore": 0.02, "fill.hose.1.coupling_hole": 0.1,
    "vent.coefficient": 0.1, "trapped_air.amount": 0.5, "water.temperature": 0.01, "pump.drive_pressure": 0.1,
    "pump.flow_at_zero": 0.1, "pump.friction": 0.4,
}
"""Inputs drawn for the row of draws: path, and half the width of the range as a share."""

SIDE_BY_SIDE = {
    "fill time, s": ("fill.time_s", "fill_time_s"),
    "water filled, m3": ("fill.water_m3", "fill_water_m3"),
    "weight of water, kg": ("fill.water_kg", "fill_water_kg"),
    "flow at the start, m3/s": ("fill.flow_start_m3_s", "fill_flow_start_m3_s"),
    "flow at the end, m3/s": ("fill.flow_end_m3_s", "fill_flow_end_m3_s"),
    "air peak, Pa gauge": ("fill.air_peak_gauge_pa", "air_peak_gauge_pa"),
    "water to pressure, m3": ("pressurise.water_m3", "pump_water_m3"),
    "the same without air, m3": ("pressurise.water_no_air_m3", "pump_water_no_air_m3"),
    "pump-up time, s": ("pressurise.time_s", "pump_time_s"),
    "strokes": ("pressurise.strokes", "strokes"),
    "stall, Pa gauge": ("pressurise.stall_gauge_pa", "stall_gauge_pa"),
    "water with 10 % air, m3": ("air_ladder.-1.water_m3", "ladder_0.1_water_m3"),
    "pump-up with 10 % air, s": ("air_ladder.-1.time_s", "ladder_0.1_time_s"),
    "warming, Pa/K": ("hold.pressure_per_kelvin_pa", "pressure_per_kelvin_pa"),
    "release, s": ("release.time_s", "release_time_s"),
    "drain, s": ("drain.time_s", "drain_time_s"),
    "lowest on draining, Pa abs": ("drain.lowest_abs_pa", "drain_lowest_abs_pa"),
}
"""What it is, its path in our estimate, and the plain script's name for it."""


@dataclass(frozen=True)
class Row:
    """One comparison: our time, the yardstick's, both in s, and the goal in words."""

    what: str
    ours: float
    than: str
    theirs: float
    goal: str = ""

    def __str__(self) -> str:
        ratio = self.ours / self.theirs
        said = f"{ratio:.2f} x" if ratio >= 0.1 else f"1/{1 / ratio:,.0f}"
        pair = f"{self.what:<36} {time(self.ours):>10}   {self.than:<26} {time(self.theirs):>10}"
        return f"{pair}   {said:>9}   {self.goal}".rstrip()


def time(seconds: float) -> str:
    for unit, scale in (("s", 1.0), ("ms", 1e3), ("us", 1e6)):
        if seconds * scale >= 1.0:
            return f"{seconds * scale:.3g} {unit}"
    return f"{seconds * 1e6:.2g} us"


def quickest(works: Sequence[Callable[[], Any]], rounds: int = ROUNDS) -> list[float]:
    """The quickest time of each in s, taken in turn, after one go that does not count."""
    for work in works:
        work()
    best = [math.inf] * len(works)
    for _ in range(rounds):
        for place, work in enumerate(works):
            start = perf_counter()
            work()
            best[place] = min(best[place], perf_counter() - start)
    return best


def process(compiled: str, *arguments: str) -> Callable[[], Any]:
    """A whole Python process, with compiled files kept in a folder between goes; fails aloud when it fails."""
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    environment |= {"PYTHONPATH": str(HERE.parent.parent), "PYTHONPYCACHEPREFIX": compiled}
    command = [sys.executable, *arguments]
    return lambda: subprocess.run(command, env=environment, capture_output=True, check=True)


def cold() -> list[Row]:
    """Whole processes; the folder of compiled files is the run's own, so that the first go fills it for all."""
    case = str(CASES[0])
    with tempfile.TemporaryDirectory() as compiled:
        works = [process(compiled, "-c", "import numpy"), process(compiled, str(HERE / "plain.py"), case)]
        works.append(process(compiled, "-m", "tui", "estimate", case, "--json"))
        works.append(process(compiled, "-m", "tui", "estimate", case, "--json", "--at-likely-values"))
        works.append(process(compiled, "-c", "import fillcalc.estimation.estimate, fillcalc.case.read"))
        numpy, theirs, ours, at_likely_values, loading = quickest(works)
    return [
        Row("fillcalc estimate, cold process", ours, "import numpy", numpy, "at most 4 x"),
        Row("fillcalc estimate, cold process", ours, "plain script", theirs, "at most 1/8"),
        Row("the same --at-likely-values", at_likely_values, "import numpy", numpy, "at most 3 x"),
        Row("of which loading the calculation", loading, "import numpy", numpy),
    ]


def drawn(case: Any) -> Any:
    """The case with arrays of 8192 in its main inputs; the first of each is the case as written."""
    for (path, width), column in zip(DRAWN.items(), sobol(len(DRAWN)).T, strict=True):
        spread = 1.0 + width * (2.0 * column - 1.0)
        spread[0] = 1.0
        case = put(case, path, at(case, path) * spread)
    return case


def large_kit() -> str:
    """A kit of many hoses and pumps, none like another."""
    hoses = (f'[[hose]]\nname = "hose {i}"\nlength = "{10 + 2 * (i % 20)} m"\nbore = "{10 + 2 * (i // 20)} mm"\n'
             for i in range(HOSES))
    pumps = (f'[[pump]]\nname = "pump {i}"\nkind = "air-driven"\nratio = {8 + 3 * i}\nstroke = "{20 + 3 * i} mL"\n'
             for i in range(PUMPS))
    return "".join((*hoses, *pumps))


def warm() -> list[Row]:
    raw = plain.read(str(CASES[0]))
    case = read_file(CASES[0])
    many = drawn(case)
    large = read_kit_text(large_kit())
    theirs, one = quickest([lambda: plain.answer(raw), lambda: estimate(case)], 3 * ROUNDS)
    all_draws, ranged, ranked = quickest([
        lambda: estimate(many), lambda: with_ranges(case), lambda: choices(case, large)])
    here, answers = at_likely_values(case), at_likely_values(estimate(case))
    half, raised = pictures.frames(answers)[0], pictures.dangers(here, answers)
    make = partial(pictures.picture, here, answers, half, raised=raised)
    one_picture, in_dots = quickest([make, lambda: laid_out(lambda wide: make(wide=wide), 100, 30)], 3 * ROUNDS)
    pairs = HOSES * PUMPS
    return [
        Row("one estimate, warm", one, "plain, one case", theirs, "under 10 ms"),
        Row(f"{DRAWS} draws in one call", all_draws, f"plain, {DRAWS} times", theirs * DRAWS, "under 0.2 s"),
        Row("one draw of them", all_draws / DRAWS, "plain, one case", theirs, "1/1,000"),
        Row("low, likely and high of a case", ranged, f"plain, {DRAWS} times", theirs * DRAWS),
        Row(f"{HOSES} hoses x {PUMPS} pumps, ranked", ranked, f"plain, {pairs} times", theirs * pairs, "under 1 s"),
        Row("a picture of a moment", one_picture, "plain, one case", theirs, "under 10 ms"),
        Row("the same in 100 x 30 letters", in_dots, "plain, one case", theirs, "under 50 ms"),
        *jobs(theirs),
    ]


def jobs(theirs: float) -> list[Row]:
    """A folder of many finished jobs, no two alike, read and then tracked or learned from; `theirs` is the plain
    script's time of one case."""
    texts = [path.read_text(encoding="utf-8") for path in sorted(FINISHED.glob("*.toml"))]
    with tempfile.TemporaryDirectory() as folder:
        for job in range(JOBS):
            text = re.sub(r'volume = "(\d+) L"', rf'volume = "{100 + job % 97}\1 mL"', texts[job % len(texts)])
            Path(folder, f"job-{job}.toml").write_text(text, encoding="utf-8")
        read, tracked, learned = quickest([lambda: read_folder(folder), lambda: track(read_folder(folder).cases),
                                           lambda: learn(read_folder(folder).cases)], 2)
    many = f"plain, {JOBS} times"
    return [
        Row(f"{JOBS} finished jobs read", read, many, theirs * JOBS),
        Row("the same, and tracked", tracked, many, theirs * JOBS, "under 5 s"),
        Row("the same, and learned from", learned, many, theirs * JOBS, "under 5 s"),
    ]


def number(answers: Any, place: str) -> float:
    """The answer at a path such as "fill.time_s", for the case as written."""
    for step in place.split("."):
        answers = answers[int(step)] if step.lstrip("-").isdigit() else getattr(answers, step)
    return float(answers.ravel()[0] if hasattr(answers, "ravel") else answers)


def agreement(path: Path) -> list[str]:
    """Both answers to one case side by side, with their difference."""
    theirs, ours = plain.answer(plain.read(str(path))), estimate(read_file(path))
    lines = []
    for what, (place, name) in SIDE_BY_SIDE.items():
        answer = number(ours, place)
        lines.append(f"{what:<26} {answer:>14.7g} {theirs[name]:>14.7g} {answer / theirs[name] - 1:>+10.3%}")
    return lines


def main() -> None:
    for path in CASES:
        print(f"\n{path.name:<26} {'fillcalc':>14} {'plain script':>14} {'apart':>10}")
        print("\n".join(agreement(path)))
    print(f"\n{'quickest of ' + str(ROUNDS):<36} {'ours':>10}   {'against':<26} {'theirs':>10}   {'ratio':>9}   goal")
    for row in (*cold(), *warm()):
        print(row)


if __name__ == "__main__":
    main()
