"""Makes the shipped table of pipe sizes from fluids; run by hand: python -m fillcalc.case.build_pipes.

fluids.piping holds ASME B36.10M and B36.19M in millimetres. A test holds the shipped table against it.
"""

from __future__ import annotations

from pathlib import Path

from fillcalc.case.pipes import TABLE

SCHEDULES = ("5", "10", "20", "30", "40", "60", "80", "100", "120", "140", "160", "STD", "XS", "XXS",
             "5S", "10S", "40S", "80S")
SMALL_DN = {0.125: 6, 0.25: 8, 0.375: 10, 0.5: 15, 0.75: 20, 1.0: 25, 1.25: 32, 1.5: 40, 2.0: 50, 2.5: 65,
            3.0: 80, 3.5: 90}
"""DN of the small sizes, NPS in inches; from NPS 4 up it is 25 times (ASME B36.10M)."""

EDITIONS = 0.11
"""mm by which the two standards differ in an outside diameter: NPS 10 is 273.0 in one, 273.1 in the other."""


def table() -> str:
    """The table as text: NPS in inches, DN, outside diameter in mm, and a wall in mm for each schedule."""
    from fluids.piping import schedule_lookup

    rows: dict[float, dict[str, float]] = {}
    outside: dict[float, float] = {}
    for schedule in SCHEDULES:
        sizes, _, diameters, walls = schedule_lookup[schedule]
        for size, diameter, wall in zip(sizes, diameters, walls, strict=True):
            if abs(outside.setdefault(size, diameter) - diameter) > EDITIONS:
                raise ValueError(f"two outside diameters for NPS {size}")
            rows.setdefault(size, {})[schedule] = wall
    lines = [";".join(("NPS", "DN", "outside", *SCHEDULES))]
    for size in sorted(rows):
        cells = (f"{rows[size][schedule]:g}" if schedule in rows[size] else "" for schedule in SCHEDULES)
        lines.append(";".join((f"{size:g}", str(SMALL_DN.get(size, round(25 * size))), f"{outside[size]:g}", *cells)))
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    Path(TABLE).write_text(table(), encoding="ascii")
