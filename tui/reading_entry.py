"""Readings while pumping: one typed line to a reading of the case, and what they tell in a few lines."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from fillcalc.units import show
from tui.dialogs import Ask
from tui.inputs import raw

if TYPE_CHECKING:
    from fillcalc.readings import ReadingsAnswer
    from tui.app import Fillcalc

QUESTION = "Gauge pressure, and strokes (or litres) pumped so far"
EXAMPLE = '10 bar; 29   or   10 bar; 1.6 L'
_PARTS = re.compile(r"^\s*(.+?)\s*(?:;|,\s|\s)\s*([0-9][0-9.,]*(?:\s*[^0-9;].*)?)$")
_STROKES = re.compile(r"^([0-9]+(?:[.,][0-9]+)?)\s*(?:strokes?)?$")


def parts_of(typed: str) -> dict[str, str] | None:
    """Keys of a reading from "10 bar; 29" or "10 bar 1.6 L"; None where it has not two parts."""
    pressure, semicolon, count = typed.partition(";")
    if not semicolon:
        found = _PARTS.match(typed)
        if found is None or not re.search(r"[a-zA-Z]", found[1]):
            return None
        pressure, count = found[1], found[2]
    pressure, count = pressure.strip(), count.strip()
    if not pressure or not count:
        return None
    strokes = _STROKES.match(count)
    return {"pressure": pressure, **({"strokes": strokes[1].replace(",", ".")} if strokes else {"water": count})}


async def enter(app: Fillcalc) -> None:
    """Ask for a reading until it is left; each goes into the case as one step."""
    wrong = ""
    typed = ""
    while True:
        typed = await app.push_screen_wait(Ask(QUESTION, typed, wrong=wrong, hint=f"Such as {EXAMPLE}"))
        if not typed:
            return
        parts = parts_of(typed)
        wrong = f"Write both, such as {EXAMPLE}" if parts is None else _problem(parts)
        if parts is not None and not wrong:
            break
    here = raw(app.session.table or {}, "reading")
    number = len(here) + 1 if isinstance(here, list) else 1
    app.session.put_many("reading", {f"reading.{number}.{key}": value for key, value in parts.items()})
    await app.case_form.go_to(f"reading.{number}.pressure")


def _problem(parts: dict[str, str]) -> str:
    """Why the two cannot be read, in words; "" where they can."""
    from fillcalc.units import UnitProblem, read_quantity

    try:
        read_quantity(parts["pressure"], "pressure")
        if "water" in parts:
            read_quantity(parts["water"], "volume")
    except UnitProblem as problem:
        return str(problem)
    return ""


def told(found: ReadingsAnswer | None, units: str) -> list[tuple[str, str]]:
    """What the readings tell, as headings and words for the help beside the form."""
    if found is None:
        return [("", "Type pressures with strokes or litres as they come. Esc I enters one.")]
    air, share, again = found.trapped_air_m3, found.share, found.vent_again
    lines: list[tuple[str, str]] = []
    if math.isfinite(air.middle):
        lines.append(("Trapped air: ", f"{show(share.middle, 'share', units)}, {show(air.middle, 'volume', units)} "
                                       f"({show(air.low, 'volume', units)} to {show(air.high, 'volume', units)})"))
        strokes = f"{show(found.strokes_left, 'strokes')} strokes, " if math.isfinite(found.strokes_left) else ""
        lines.append(("Still to pump: ", f"{strokes}{show(found.time_left_s, 'duration', units)}"))
    lines.append(("", found.why))
    if math.isfinite(found.next_reading_gauge_pa):
        lines.append(("Next reading at: ", show(found.next_reading_gauge_pa, "pressure", units)))
    if math.isfinite(again.costs_s) and math.isfinite(again.saves_s):
        saves = f"saves {show(again.saves_s, 'duration', units)}" if again.saves_s > 0 else "saves nothing"
        lines.append(("Venting again: ", f"costs {show(again.costs_s, 'duration', units)}, {saves}: "
                                         f"{'let down and vent' if again.pays else 'pump on'}."))
    return lines
