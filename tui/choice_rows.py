"""Choices as rows of text: those that can do it, the best first; then what cannot, and why."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fillcalc.shown import shown
from fillcalc.units import show

if TYPE_CHECKING:
    from fillcalc.choices import Choice

TOP = "Best hose and pump for this case"
PAIR = " + "
PUMP, SETTING, TIME = 14, 10, 10
"""Columns of the pump, of its regulator and of each time; the hose has the rest."""
COLUMNS = ("regulator", "fill", "pump-up", "on site")
NEAR_S = 30.0
"""A difference on site below this is none."""


@dataclass(frozen=True)
class ChoiceRow:
    """One row: a choice that can be taken; or a hose, or a pump at a setting, that cannot."""

    choice: Choice
    can: bool
    hose: str
    pump: str
    why: str = ""


def rows_of(found: Sequence[Choice]) -> tuple[ChoiceRow, ...]:
    """Those that can do it in their order, two hoses in a row only with the best pump; then each reason once."""
    able = [one for one in found if one.can]
    best = (able[0].pump, _set(able[0])) if able else None
    rows = [ChoiceRow(one, True, one.hose, one.pump) for one in able
            if PAIR not in one.hose or (one.pump, _set(one)) == best]
    cannot: dict[tuple[str, str], ChoiceRow] = {}
    for one in found:
        if one.can or PAIR in one.hose:
            continue
        of_hose, of_pump = faults(one)
        if of_hose:
            cannot.setdefault((one.hose, ""), ChoiceRow(one, False, one.hose, "", one.of_hose))
        if of_pump:
            cannot.setdefault((one.pump, _set(one)), ChoiceRow(one, False, "", one.pump, one.of_pump))
    return (*rows, *cannot.values())


def faults(one: Choice) -> tuple[bool, bool]:
    """Whether its hose, and whether its pump, is a reason why it cannot."""
    both = one.why == f"{one.of_hose}; {one.of_pump}"
    return (bool(one.of_hose) and (both or one.why == one.of_hose),
            bool(one.of_pump) and (both or one.why == one.of_pump))


def _set(one: Choice) -> str:
    return f"{float(one.regulator_gauge_pa):.0f}"


def head_line(width: int) -> str:
    regulator, *times = COLUMNS
    return f" {'hose':<{_hose(width)}}{'pump':<{PUMP}}{regulator:<{SETTING}}" + "".join(f"{t:<{TIME}}" for t in times)


def row_line(row: ChoiceRow, units: str, width: int) -> str:
    """One row of the list, of at most `width` characters."""
    one = row.choice
    setting = show(one.regulator_gauge_pa, "pressure", units) if math.isfinite(float(one.regulator_gauge_pa)) else ""
    if not row.can:
        name = row.hose or f"{row.pump} {setting}".rstrip()
        return fitted(f" × {fitted(shown(name), 26)}: {shown(row.why)}", width)
    times = (one.fill_s.middle, one.pump_up_s.middle, one.visit_s.middle)
    return (f" {fitted(shown(row.hose), _hose(width) - 2):<{_hose(width)}}{fitted(shown(row.pump), PUMP - 2):<{PUMP}}"
            f"{setting:<{SETTING}}" + "".join(f"{show(t, 'duration', units):<{TIME}}" for t in times)).rstrip()


def _hose(width: int) -> int:
    return max(16, width - PUMP - SETTING - 3 * TIME - 1)


def fitted(text: str, longest: int) -> str:
    """The text, or its head and its tail where it is too long: both tell hoses apart."""
    if len(text) <= longest:
        return text
    head = (longest - 1) // 2
    return f"{text[:head].rstrip(' ,')}…{text[head + 1 - longest:].lstrip(' ,')}"


def said_of(row: ChoiceRow, best: Choice | None, units: str) -> str:
    """What there is to know of one row, in sentences."""
    one = row.choice
    setting = show(one.regulator_gauge_pa, "pressure", units) if math.isfinite(float(one.regulator_gauge_pa)) else ""
    at = f", regulator at {setting}" if setting else ""
    if not row.can:
        return f"Cannot: {shown(row.hose or row.pump)}{at if row.pump else ''}. {_sentence(row.why)}"
    low, middle, high = (show(v, "duration", units) for v in (one.visit_s.low, one.visit_s.middle, one.visit_s.high))
    said = [f"{shown(one.hose)} with {shown(one.pump)}{at}.", f"On site {middle}; low {low}, high {high}."]
    if best is not None:
        later = float(one.visit_s.middle) - float(best.visit_s.middle)
        said.append("The best." if one is best else "As good as the best." if later < NEAR_S
                    else f"{show(later, 'duration', units)} more than the best." if math.isfinite(later) else "")
    if one.never_share > 0.005:
        said.append(f"In {show(one.never_share, 'share', units)} of tries it never gets there.")
    if one.why:
        said.append(_sentence(one.why))
    return " ".join(part for part in said if part)


def _sentence(words: str) -> str:
    words = shown(words)
    return f"{words[:1].upper()}{words[1:]}."
