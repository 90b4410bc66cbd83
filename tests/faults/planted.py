"""Faults planted one at a time into a copy, each of which the fault command must see: `python -m tests.faults.planted`.

Each is of a kind that a person makes: a wrong number, a missing answer, a save that is not all or nothing, a terminal
left as it was, a stray byte that ends the screen. Words after the command pick those whose name holds one of them.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

from tests.faults.texts import ROOT


@dataclass(frozen=True)
class Bug:
    """A piece of a file that stands there once, what is put instead, and the part of the command that is run."""

    what: str
    file: str
    old: str
    new: str
    run: tuple[str, ...]


ENDS = ("files", "--kind", "ends of its range", "--tenth")
BUGS = (
    Bug("fill time halved", "fillcalc/estimation/estimate.py", "time_s=filled.time + pause,",
        "time_s=0.5 * filled.time + pause,", ENDS),
    Bug("strokes halved", "fillcalc/estimation/estimate.py", "strokes=np.where(reached, pumped.pumped / stroke",
        "strokes=np.where(reached, 0.5 * pumped.pumped / stroke", ENDS),
    Bug("friction of hoses a tenth too low, in every answer alike", "fillcalc/model/line.py",
        "laminar, laminar_slope = 64.0 / below", "laminar, laminar_slope = 16.0 / below", ("numbers", "--tenth")),
    Bug("time on site missing", "fillcalc/questions/ranges.py",
        "visit=replace(_visit(sampled, everything, total), without=without),", "visit=None,", ENDS),
    Bug("a save in place", "fillcalc/case/save.py", "            os.replace(new, target)",
        "            target.write_bytes(data)\n            new.unlink()", ("saves",)),
    Bug("a save that does not wait for the disk", "fillcalc/case/save.py", "            os.fsync(file.fileno())\n", "",
        ("saves",)),
    Bug("no number becomes NaN in the JSON", "fillcalc/formats/data.py", "return number if isfinite(number) else None",
        "return number", ENDS),
    Bug("control characters of a title let through", "fillcalc/units/printable.py",
        "        if category in _MARKED or", "        if", ("files", "--kind", "titles", "--tenth")),
    Bug("the terminal not given back after a signal", "tui/terminal/ending.py",
        "        self.leave_the_terminal()\n        if self.said", "        if self.said", ("signals", "--tenth")),
    Bug("work not kept at a signal", "tui/terminal/ending.py",
        '        """Keep the work, leave the terminal, end the process."""\n        self.keep_the_work()\n', "",
        ("signals",)),
    Bug("a byte that is no UTF-8 ends the screen", "tui/terminal/reader.py", '(errors="replace")', '(errors="strict")',
        ("bytes", "--tenth")),
    Bug("a group too many when the key is held", "tui/places/case_form.py",
        "await self.show(self.group_number + by)", "self.groups[self.group_number + by + 3]\n"
        "        await self.show(self.group_number + by)", ("held",)),
)


def seen(bug: Bug, copy: Path) -> str:
    """What the fault command said first of a copy with the fault in it; empty where it saw nothing."""
    path = copy / bug.file
    text = path.read_text(encoding="utf-8")
    if text.count(bug.old) != 1:
        raise ValueError(f"{bug.what}: stands {text.count(bug.old)} times in {bug.file}")
    path.write_text(text.replace(bug.old, bug.new), encoding="utf-8")
    try:
        ended = subprocess.run([sys.executable, "-B", "-m", "tests.faults", *bug.run], cwd=copy, capture_output=True,
                               text=True, check=False)
    finally:
        path.write_text(text, encoding="utf-8")
    said = [row for row in ended.stderr.splitlines() if ": " in row and not row.startswith(("Written", "/"))]
    return said[0][:150] if ended.returncode == 1 and said else ""


def main(words: list[str]) -> int:
    """Plant each, print a table of what was said, and return 1 where one was missed."""
    chosen = [bug for bug in BUGS if not words or any(word in bug.what for word in words)]
    missed = 0
    print("| planted | run | seen |\n| --- | --- | --- |")
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder)
        for name in ("fillcalc", "tui", "cases", "tests"):
            shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
        shutil.copy(ROOT / "pyproject.toml", copy)
        for bug in chosen:
            said = seen(bug, copy)
            missed += not said
            print(f"| {bug.what} | {' '.join(bug.run)} | {said or 'MISSED'} |", flush=True)
    print(f"{len(chosen) - missed} of {len(chosen)} seen")
    return 1 if missed else 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
