"""Choices as rows of text: those that can do it, the best first; then what cannot, and why."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import wrap
from typing import TYPE_CHECKING

from fillcalc.present.choices import PAIR as PAIR
from fillcalc.present.choices import beside_best, never_sentence, on_site, reach, setting, table_of
from fillcalc.units.printable import shown

if TYPE_CHECKING:
    from fillcalc.questions.choices.ranking import Choice

TOP = "Hoses and pumps, the best first"
WARNS = "!"
"""Begins the line of a choice that can do it and of which something must be known first."""
WITH = " with "
LISTED = (0, 1, 3, 4, 5)
"""Cells of a choice that stand in the list; the setting and the high are told of the row in hand."""
INDENT = "  "
"""Of the second line of a row."""
LONGEST_PUMP = 18


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
    """Pump, fill, pump-up, time on site."""
    heads: tuple[tuple[str, ...], tuple[str, ...]]
    """In two rows."""
    cells: dict[int, tuple[str, ...]]
    """Of each choice, by its identity."""

    @property
    def head(self) -> str:
        return "\n".join(map(self.line, self.heads))

    def line(self, cells: Sequence[str], mark: str = " ") -> str:
        """Names to the left, figures to the right; names too long for their columns take lines of their own."""
        hose, pump, *figures = cells
        text = "".join(f"  {cell:>{w}}" for cell, w in zip(figures, self.rest[1:], strict=True))
        if len(hose) <= self.hose and len(pump) <= self.rest[0]:
            return f"{mark}{hose:<{self.hose}}  {pump:<{self.rest[0]}}{text}"
        width = 1 + self.hose + 2 + self.rest[0] + len(text)
        names = f"{fitted_hose(hose, 2 * (width - LONGEST_PUMP))}{WITH}{fitted(pump, LONGEST_PUMP)}"
        first, *more = wrap(names, width - 1, subsequent_indent=INDENT, break_on_hyphens=False)
        room = width - len(text)
        beside = more.pop() if more and 1 + len(more[-1]) <= room else ""
        return "\n".join([f"{mark}{first}", *(f" {line}" for line in more), f"{f' {beside}':<{room}}{text}"])


def columns_of(rows: Sequence[ChoiceRow], units: str, width: int) -> Columns:
    """The columns for these rows in a line of so many characters."""
    choices = [row.choice for row in rows if row.can]
    printed = table_of(choices, units)
    able = [tuple(cells[n] for n in LISTED) for cells in printed.cells]
    above, below = (tuple(heads[n] for n in LISTED) for heads in printed.heads)
    if any(one.why for one in choices):
        below = (f"{WARNS} warns", *below[1:])
    rest = [max(len(cells[n]) for cells in (above, below, *able)) for n in range(1, len(LISTED))]
    room, least = width - 1 - sum(rest[1:]) - 2 * len(rest), max(len(above[0]), len(below[0]))
    rest[0] = min(rest[0], LONGEST_PUMP, max(len(above[1]), room - least))
    return Columns(max(least, room - rest[0]), tuple(rest), (above, below),
                   {id(one): cells for one, cells in zip(choices, able, strict=True)})


def row_line(row: ChoiceRow, units: str, columns: Columns, width: int) -> str:
    """One row of the list, in one line or two of at most `width` characters."""
    if row.can:
        return columns.line(columns.cells[id(row.choice)], WARNS if row.choice.why else " ")
    name = fitted_hose(shown(row.hose), width) if row.hose else fitted(shown(row.pump), width)
    set_to = setting(row.choice, units) if row.pump else ""
    text = f"× {name}{' at ' if set_to else ''}{set_to}: {shown(row.why)}"
    return "\n".join(wrap(text, width, initial_indent=" ", subsequent_indent=f" {INDENT}", break_on_hyphens=False))


def fitted(text: str, longest: int) -> str:
    """The text, or its head and its tail where it is too long, for both tell hoses apart; each in whole words where
    that leaves half of its room filled."""
    if len(text) <= longest:
        return text
    half = (longest - 1) // 2
    tail = text[half + 1 - longest:]
    _, _, words = tail.partition(" ")
    tail = words if 2 * len(words) >= len(tail) and text[half - longest] != " " else tail.lstrip(" ,")
    head = text[:longest - 1 - len(tail)]
    words, _, _ = head.rpartition(" ")
    return f"{(words if 2 * len(words) >= len(head) else head).rstrip(' ,')}…{tail}"


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
    set_to = setting(one, units)
    at = f", regulator setting {set_to}" if set_to else ""
    if not row.can:
        return f"Cannot: {shown(row.hose or row.pump)}{at if row.pump else ''}. {_sentence(row.why)}"
    sentences = [f"Warning: {_sentence(one.why)}" if one.why else "",
                 f"{shown(one.hose)} with {shown(one.pump)}{at}.", f"Time on site {on_site(one, units)}.",
                 "" if best is None else beside_best(one, best, units)]
    if math.isfinite(float(one.reach_gauge_pa)):
        sentences.append(f"Stalls at {reach(one, units)} at most.")
    sentences.append(never_sentence(one))
    return " ".join(part for part in sentences if part)


def _sentence(words: str) -> str:
    words = shown(words)
    return f"{words[:1].upper()}{words[1:]}."
