"""Choices as rows of text: those that can do it, the best first; then what cannot, and why."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fillcalc.units import show
from fillcalc.units.printable import shown

if TYPE_CHECKING:
    from fillcalc.questions.choices.ranking import Choice

TOP = "Every hose and pump on this case"
PAIR = " + "
HEADS = ("hose", "pump", "set at", "fill", "pump-up", "on site")
LONGEST_PUMP, LONGEST_NAME, SHORTEST_HOSE = 18, 26, 12
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


@dataclass(frozen=True)
class Columns:
    """Widths of the columns for what stands in them; the hose has what is left of the line."""

    hose: int
    rest: tuple[int, ...]
    """Pump, regulator, fill, pump-up, on site."""

    @property
    def head(self) -> str:
        return self.line(HEADS)

    def line(self, cells: Sequence[str]) -> str:
        hose, pump, *figures = cells
        shortened = (fitted_hose(hose, self.hose), fitted(pump, self.rest[0]), *figures)
        widths = (self.hose, *self.rest)
        return " " + "  ".join(f"{cell:<{w}}" for cell, w in zip(shortened, widths, strict=True)).rstrip()


def columns_of(rows: Sequence[ChoiceRow], units: str, width: int) -> Columns:
    """The columns for these rows in a line of so many characters."""
    able = [HEADS, *(cells_of(row, units) for row in rows if row.can)]
    rest = [max(len(cells[place]) for cells in able) for place in range(1, len(HEADS))]
    rest[0] = min(rest[0], LONGEST_PUMP)
    return Columns(max(SHORTEST_HOSE, width - 2 - sum(rest) - 2 * len(rest)), tuple(rest))


def cells_of(row: ChoiceRow, units: str) -> tuple[str, ...]:
    """What stands in the columns of one row that can be taken."""
    one = row.choice
    times = (one.fill_s.likely, one.pump_up_s.likely, one.visit_s.likely)
    return (shown(row.hose), shown(row.pump), setting_of(one, units), *(_time(t, units) for t in times))


def row_line(row: ChoiceRow, units: str, columns: Columns, width: int) -> str:
    """One row of the list, of at most `width` characters."""
    if row.can:
        return columns.line(cells_of(row, units))
    name = fitted_hose(shown(row.hose), LONGEST_NAME) if row.hose else fitted(shown(row.pump), LONGEST_NAME)
    setting = setting_of(row.choice, units) if row.pump else ""
    line = f" × {name}{' at ' if setting else ''}{setting}: {shown(row.why)}"
    return line if len(line) <= width else f"{line[:width - 1].rstrip()}…"


def setting_of(one: Choice, units: str) -> str:
    """The setting of the regulator, or nothing where there is none."""
    return show(one.regulator_gauge_pa, "pressure", units) if math.isfinite(float(one.regulator_gauge_pa)) else ""


def _time(value: float, units: str) -> str:
    return show(value, "duration", units) if math.isfinite(value) else "never"


def fitted(text: str, longest: int) -> str:
    """The text, or its head and its tail where it is too long: both tell hoses apart."""
    if len(text) <= longest:
        return text
    head = (longest - 1) // 2
    return f"{text[:head].rstrip(' ,')}…{text[head + 1 - longest:].lstrip(' ,')}"


def fitted_hose(name: str, longest: int) -> str:
    """A hose, or of two in a row something of each."""
    first, both, last = name.partition(PAIR)
    if not both or len(name) <= longest:
        return fitted(name, longest)
    half = (longest - len(PAIR)) // 2
    front = max(half, longest - len(PAIR) - len(last))
    front = min(front, len(first)) if len(first) > half else len(first)
    return f"{fitted(first, front)}{PAIR}{fitted(last, longest - len(PAIR) - front)}"


def said_of(row: ChoiceRow, best: Choice | None, units: str) -> str:
    """What there is to know of one row, in sentences."""
    one = row.choice
    setting = setting_of(one, units)
    at = f", regulator at {setting}" if setting else ""
    if not row.can:
        return f"Cannot: {shown(row.hose or row.pump)}{at if row.pump else ''}. {_sentence(row.why)}"
    low, likely, high = (_time(v, units) for v in (one.visit_s.low, one.visit_s.likely, one.visit_s.high))
    said = [f"{shown(one.hose)} with {shown(one.pump)}{at}.", f"On site {likely}; low {low}, high {high}."]
    if best is not None:
        later = float(one.visit_s.likely) - float(best.visit_s.likely)
        said.append("The best." if one is best else "As good as the best." if later < NEAR_S
                    else f"{show(later, 'duration', units)} more than the best." if math.isfinite(later) else "")
    reach = show(one.reach_gauge_pa, "pressure", units)
    if math.isfinite(float(one.reach_gauge_pa)) and f"can reach {reach}" not in one.why:
        said.append(f"Can reach {reach}.")
    if one.never_share > 0.005:
        said.append(f"{100 * one.never_share:.0f} in 100 never get there.")
    if one.why:
        said.append(_sentence(one.why))
    return " ".join(part for part in said if part)


def _sentence(words: str) -> str:
    words = shown(words)
    return f"{words[:1].upper()}{words[1:]}."
