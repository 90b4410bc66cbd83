"""Typing mistakes, planted one at a time into a copy of the tree: `python -m tests.planted`.

Each is one that a person makes while adding something. `mypy --strict` must name the file of each; the table says what
it said. Exit 1 where one goes through.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


@dataclass(frozen=True)
class Mistake:
    """A piece of a file that stands there once, and what is put in its place."""

    what: str
    file: str
    old: str
    new: str


MISTAKES = (
    Mistake("a shape's attribute misspelt", "fillcalc/model/shapes/sphere.py",
            "return np.asarray(self.diameter, float)", "return np.asarray(self.diametre, float)"),
    Mistake("a word compared with a number", "fillcalc/cautions/pumping.py",
            "isinstance(case.pump, HandPump) and _stroke_work(case) < _most_work(case)",
            "isinstance(case.pump, HandPump) and case.pump.kind < _most_work(case)"),
    Mistake("a missing None check", "fillcalc/estimation/afterwards.py",
            "    if run is None or not crests:\n", "    if not crests:\n"),
    Mistake("a pressure where a record is wanted", "fillcalc/estimation/estimate.py",
            "_relief_flow(case, job.driver)[0]", "_relief_flow(case, job.duty.test_gauge)[0]"),
    Mistake("a leaf of another record", "fillcalc/estimation/afterwards.py",
            "density=media.density(case.surroundings.pressure)", "density=media.density(case.water.pressure)"),
    Mistake("a wrong return type", "fillcalc/model/shapes/pipe_run.py",
            "return self.diameter, self.length", "return self.diameter"),
    Mistake("a word for a wall", "fillcalc/job/setup.py", "return wall.Rigid()", 'return "rigid"'),
    Mistake("swapped records", "fillcalc/job/job.py", "held(case, vessel), driver", "driver, held(case, vessel)"),
    Mistake("a missing field", "fillcalc/job/setup.py", "return wall.Gain(vessel.wall, base)",
            "return wall.Gain(vessel.wall)"),
    Mistake("a wrong key type", "fillcalc/case/assume.py", "ranges[path] = _range(", "ranges[declared] = _range("),
    Mistake("a leaf misspelt", "fillcalc/job/setup.py", "case.trapped_air.test_hose", "case.trapped_air.testhose"),
    Mistake("an optional leaf used as a number", "fillcalc/job/setup.py",
            "    if case.fill.kv is not None:\n        valve =", "    valve ="),
    Mistake("a wall as a leaf, whatever it is", "fillcalc/job/setup.py",
            "    if vessel.wall is None or isinstance(vessel.wall, str):\n        return wall.Rigid()\n", ""),
)


def caught(mistake: Mistake, copy: Path) -> str:
    """What mypy says of the file with the mistake in it; empty where it says nothing."""
    path = copy / mistake.file
    text = path.read_text(encoding="utf-8")
    if text.count(mistake.old) != 1:
        raise ValueError(f"{mistake.what}: its place stands {text.count(mistake.old)} times in {mistake.file}")
    path.write_text(text.replace(mistake.old, mistake.new), encoding="utf-8")
    try:
        ended = subprocess.run([sys.executable, "-m", "mypy"], cwd=copy, capture_output=True, text=True, check=False)
    finally:
        path.write_text(text, encoding="utf-8")
    errors = (line for line in ended.stdout.splitlines() if ": error:" in line)
    return next((line for line in errors if line.startswith(mistake.file)), "")


def main() -> int:
    """Plant each mistake, print what was said, and return 1 where one was missed."""
    missed = 0
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder)
        for name in ("fillcalc", "tui", "cases"):
            shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
        shutil.copy(ROOT / "pyproject.toml", copy)
        for mistake in MISTAKES:
            said = caught(mistake, copy)
            missed += not said
            print(f"{mistake.what}: {said or 'MISSED'}", flush=True)
    print(f"{len(MISTAKES) - missed} of {len(MISTAKES)} caught")
    return 1 if missed else 0


if __name__ == "__main__":
    raise SystemExit(main())
