"""Nominal pipe sizes and schedules, from a table that is shipped with the package."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from fillcalc.units import UnitProblem, read_number

TABLE = os.path.join(os.path.dirname(__file__), "tables", "pipes.csv")
"""ASME B36.10M and B36.19M in millimetres as fluids has them; made by fillcalc.case.build_pipes."""

_SIZE = re.compile(r"(DN|NPS|NB)?\s*([0-9][0-9 /.,½¼¾⅛⅜-]*?)\s*(in|inch|inches|\"|″|mm)?", re.IGNORECASE)


@dataclass(frozen=True)
class PipeSize:
    """A nominal size: NPS in inches, DN, outside diameter in m, and the wall in m of each schedule."""

    nps: float
    dn: int
    outside: float
    walls: Mapping[str, float]


@cache
def sizes() -> tuple[PipeSize, ...]:
    """All sizes of the table, smallest first."""
    with open(TABLE, encoding="ascii") as file:
        head, *rows = (line.split(";") for line in file.read().splitlines())
    schedules = head[3:]
    return tuple(PipeSize(float(row[0]), int(row[1]), float(row[2]) * 1e-3,
                          {name: float(wall) * 1e-3 for name, wall in zip(schedules, row[3:], strict=True) if wall})
                 for row in rows)


def nearest_size(bore: float) -> PipeSize:
    """The nominal size whose DN is next to a bore in m."""
    return min(sizes(), key=lambda size: abs(size.dn - 1000.0 * bore))


def size_of(text: str) -> PipeSize:
    """The size of a text such as "DN80", "NPS 3", "3 in" or "1 1/2 in". Raises UnitProblem."""
    wanted = 'write a nominal size, such as "DN80", "NPS 3" or "1 1/2 in"'
    match = _SIZE.fullmatch(text.strip()) if len(text) <= 40 else None
    if match is None:
        raise UnitProblem(text, wanted)
    word, digits, unit = (match.group(1) or "").upper(), match.group(2).strip(), (match.group(3) or "").casefold()
    try:
        number = read_number(digits)
    except UnitProblem as problem:
        raise UnitProblem(text, wanted, problem.hint) from None
    if (unit == "mm" and word != "DN") or (word == "DN" and unit not in ("", "mm")) or not (word or unit):
        raise UnitProblem(text, wanted, "an outside diameter is no nominal size" if unit == "mm" else
                          "" if word else _which(number))
    if word == "NB" and not unit:
        word = "DN"
    for size in sizes():
        if number == (size.dn if word == "DN" else size.nps):
            return size
    near = nearest_size(number / 1000.0) if word == "DN" else min(sizes(), key=lambda size: abs(size.nps - number))
    raise UnitProblem(text, wanted, f"there is no such size; nearest is DN{near.dn}, NPS {near.nps:g}")


def _which(number: float) -> str:
    """What a number without DN or inches may be, of the sizes there are."""
    here = [f'"{number:g} in"' for size in sizes() if size.nps == number]
    here += [f'"DN{number:g}"' for size in sizes() if size.dn == number]
    return f"Is it {' or '.join(here)}?" if here else "DN or in is missing"


def pipe(size: str, schedule: str) -> tuple[float, float]:
    """Inside diameter and wall in m of a nominal size and schedule, such as ("DN80", "40").

    A schedule may be written "40", "sch 40", "40S", "STD", "XS" or "XXS". Raises UnitProblem.
    """
    found = size_of(size)
    name = schedule.strip().upper()
    for front in ("SCHEDULE", "SCH.", "SCH"):
        name = name.removeprefix(front).strip()
    wall = found.walls.get(name)
    if wall is None:
        raise UnitProblem(schedule, f"write a schedule of DN{found.dn}: {', '.join(found.walls)}")
    return found.outside - 2 * wall, wall
