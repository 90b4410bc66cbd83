"""The documented screens as plain text: `python -m tests.screen.pictures` writes them anew.

They are also the snapshots that a test compares; a change of the screen shows as a change of these files.
"""

from __future__ import annotations

import asyncio
import os
import sys
import tempfile
from pathlib import Path

import cases
from fillcalc.present import picture as pictures
from tests.present.pictures import of_demo
from tests.screen.support import picture, screen, until
from tui.widgets.picture import laid_out

DEMO = Path(cases.__file__).with_name("cooler-shell.toml")
FOLDER = Path(__file__).with_name("pictures")
SIZES = ((80, 24), (120, 36), (200, 60))
PICTURE_SIZES = ((38, 12), (66, 20), (100, 30))
"""Sizes at which the picture of the set-up is documented."""
PICTURE_OF = ("cooler-shell", "condenser-second", "crest-line", "ammonia-line-us", "bench-valve",
              "gas-receiver", "gas-receiver-short", "gas-valve-seat")


async def draw(width: int, height: int) -> str:
    """The first look at a demo case, at one size, with low, likely and high and the charts there."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ["XDG_STATE_HOME"] = folder
        async with screen(DEMO, width, height, ranges=True) as (app, pilot):
            await until(pilot, lambda: app.session.ranged is not None)
            await until(pilot, lambda: app.session.ranged is not None and "Time on site" in picture(app))
            return "\n".join(line.rstrip() for line in picture(app).splitlines()) + "\n"


def file_of(width: int, height: int) -> Path:
    return FOLDER / f"cooler-shell-{width}x{height}.txt"


def picture_text(name: str, columns: int, rows: int) -> str:
    """The set-up of a demo before the work, half full, full and at test pressure, one under the other."""
    case, estimate = of_demo(name)
    units = "us" if name.endswith("-us") else "metric"
    pages = [laid_out(lambda wide, at=moment: pictures.picture(case, estimate, at, units, wide=wide), columns, rows)
             for moment in (None, *pictures.frames(estimate))]
    return "".join(f"{'-' * columns}\n{page.text()}\n" for page in pages)


def picture_file(name: str, columns: int, rows: int) -> Path:
    return FOLDER / "set-up" / f"{name}-{columns}x{rows}.txt"


def main() -> int:
    FOLDER.mkdir(exist_ok=True)
    for width, height in SIZES:
        file_of(width, height).write_text(asyncio.run(draw(width, height)), encoding="utf-8")
        print(f"{width} x {height}")
    for name in PICTURE_OF:
        for columns, rows in PICTURE_SIZES:
            file = picture_file(name, columns, rows)
            file.parent.mkdir(exist_ok=True)
            file.write_text(picture_text(name, columns, rows), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
