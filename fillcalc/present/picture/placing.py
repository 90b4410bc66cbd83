"""Where the labels of a picture stand on a grid of letters: near their parts, clear of lines and of each other."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import inf

import numpy as np

from fillcalc.arrays import Flags
from fillcalc.present.picture.records import DANGER, NOTED, SHORT_DANGER, Label, Picture, Points

FARTHEST, FEW_ROWS = 3, 16
"""Rows that a label stands above or below its point, at most, one less beside it; and one less on fewer rows than
these."""
WIDEST_GAP = 6
"""Letters between a label and its point, at most."""
BY_FORM, BY_SIDE, BY_SLIDE, BY_TOUCH = 1.7, 0.6, 0.15, 0.5
"""What a shorter form, a less good side, a letter of sliding and touching a line cost, against a row of distance."""
APART = 2
"""Letters between two labels on a row, at least: closer, they read as one."""

SOONER = 2
"""Ranks by which a figure that carries a DANGER goes before."""
PASSED = ("vessel", "water", "closure", "vent")
"""Parts over which a label may reach to its own."""
FINE = 4.0
"""Points looked at in each letter that a line runs through."""


@dataclass(frozen=True, eq=False)
class Placed:
    """A label in its place: its text, and the column and the row of its first letter, counted from the top left."""

    label: Label
    text: str
    column: int
    row: int
    side: str
    """The side of its point on which it stands: n, e, s, w, or c on it."""


def placed(picture: Picture, columns: int, rows: int) -> tuple[Placed, ...]:
    """The labels that find room on so many columns and rows, in the order of their rank. None is cut, none covers
    a line or another."""
    parts = _lines(picture, columns, rows)
    taken = _together(parts.values(), rows)
    kept = [0] * rows
    found = []
    for label in sorted(picture.labels, key=lambda one: one.rank - SOONER * one.danger):
        barrier = _together((lines for part, lines in parts.items() if part not in (*PASSED, label.part)), rows)
        stands = _best(label, (taken, kept, barrier), columns)
        if stands is not None:
            found.append(stands)
            before = min(stands.column, APART)
            kept[stands.row] |= _bits(stands.column - before, before + len(stands.text) + APART)
    return tuple(found)


def forms_of(label: Label) -> tuple[str, ...]:
    """The texts of a label, the fullest first, with the mark of a DANGER."""
    if not label.danger:
        return label.forms
    return tuple(f"{mark} {form}" for form in label.forms for mark in (DANGER, SHORT_DANGER))


def notes_of(picture: Picture, stands: Iterable[Placed]) -> tuple[str, ...]:
    """What the short mark means where it stands, the notes of a picture, and figures for which it has no room."""
    there = {one.label: one.text for one in stands}
    short = any(text.startswith(f"{SHORT_DANGER} ") for text in there.values())
    return (*([f"{SHORT_DANGER} is a {DANGER}"] if short else []), *picture.notes,
            *(label.forms[0] for label in picture.labels if NOTED in label.sides and label not in there))


def _bits(column: int, long: int) -> int:
    return ((1 << long) - 1) << column


def _between(at: int, column: int, long: int) -> int:
    """The letters between a point and a word beside it, but for those that touch the point."""
    if column > at + 2:
        return _bits(at + 2, column - at - 2)
    end = column + long
    return _bits(end, at - 1 - end) if end < at - 1 else 0


def _near(word: int) -> int:
    """The letters of a word and one on either side, from one column earlier."""
    return word << 2 | 3


def _together(lines: Iterable[list[int]], rows: int) -> list[int]:
    """The cells of several parts."""
    found = [0] * rows
    for each in lines:
        found = [one | other for one, other in zip(found, each, strict=True)]
    return found


def _best(label: Label, cells: tuple[list[int], list[int], list[int]], columns: int) -> Placed | None:
    """The free place that costs least. The cells are those of lines, those of other labels and the letters kept free
    beside them, and those of the barrier, of which no line may lie between it and its point."""
    lines, kept, barrier = cells
    rows, best, least = len(lines), None, inf
    most = FARTHEST if rows >= FEW_ROWS else FARTHEST - 1
    at = min(max(int(label.at[0] * columns), 0), columns - 1)
    down = min(max(int((1.0 - label.at[1]) * rows), 0), rows - 1)
    for index, text in enumerate(forms_of(label)):
        word = _bits(0, len(text))
        for order, side in enumerate(label.sides.removesuffix(NOTED)):
            before = BY_FORM * index + BY_SIDE * order
            if before >= least:
                continue
            for column, row, more in _beside(side, at, down, len(text), most):
                if before + more < least and 0 <= row < rows and 0 <= column <= columns - len(text) \
                        and not (lines[row] | kept[row]) & (word << column) \
                        and not barrier[row] & _between(at, column, len(text)):
                    cost = before + more + BY_TOUCH * bool(lines[row] & (_near(word) << column >> 1))
                    if cost < least:
                        best, least = Placed(label, text, column, row, side), cost
    return best


def _beside(side: str, at: int, down: int, long: int, farthest: int) -> Iterator[tuple[int, int, float]]:
    """Column and row of the places on one side of a cell, the nearest first, and what the distance costs."""
    if side in "ew":
        for off in sorted(range(1 - farthest, farthest), key=abs):
            for gap in range(1, WIDEST_GAP + 1):
                yield at + 1 + gap if side == "e" else at - gap - long, down + off, 1.3 * abs(off) + BY_SLIDE * gap
        return
    first = 0 if side == "c" else 1
    most = long // 2 + 2
    for far in range(first, farthest + 1):
        row = down - far if side == "n" else down + far
        for slide in range(most + 1):
            for way in (slide, -slide) if slide else (0,):
                yield at - long // 2 + way, row, far - first + BY_SLIDE * slide


def along(cells: Points) -> Points:
    """Points along a bent line, no more than one apart in either direction."""
    steps = np.diff(cells, axis=0)
    count = int(np.ceil(np.abs(steps).max(initial=0.0))) + 1
    part = np.linspace(0.0, 1.0, count, endpoint=False)
    found = cells[:-1, None] + steps[:, None] * part[None, :, None]
    return np.vstack([found.reshape(-1, 2), cells[-1:]])


def _lines(picture: Picture, columns: int, rows: int) -> dict[str, list[int]]:
    """The cells that the lines of each part run through, as bits of each row."""
    found: dict[str, Flags] = {}
    for line in picture.lines:
        taken = found.setdefault(line.part, np.zeros((rows, columns), dtype=bool))
        at = along(line.points * [FINE * columns, FINE * rows]) / FINE
        taken[np.clip((rows - at[:, 1]).astype(int), 0, rows - 1), np.clip(at[:, 0].astype(int), 0, columns - 1)] = True
    return {part: [sum(1 << column for column in np.flatnonzero(row).tolist()) for row in taken]
            for part, taken in found.items()}
