"""Words in rows, and rows in a place that may be too low for them."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content

from fillcalc.units.printable import together

HELD = "\ue000"
"""Stands for a space at which no line may end, while lines are made."""


def held_in(text: str, width: int) -> str:
    """The text with each number held to its unit, as it is where a line so wide has no room for that."""
    held = together(text)
    return held if max(map(len, held.split(" "))) <= width else text


def in_rows(words: Content, width: int) -> list[Content]:
    """The words in rows so wide; a number stays with its unit."""
    held = Content(held_in(words.plain, width).replace("\u00a0", HELD), list(words.spans))
    return [Content(row.plain.replace(HELD, " "), list(row.spans)) for row in held.wrap(max(8, width))]


def fitted(rows: Sequence[Content], height: int, where: str) -> list[Content]:
    """The rows that fit; where some do not, the last one says how many more there are, and where."""
    if len(rows) <= height:
        return list(rows)
    kept = max(0, height - 1)
    left = sum(bool(row.plain.strip()) for row in rows[kept:])
    return [*rows[:kept], Content(f" {left} more {'line' if left == 1 else 'lines'}{where}")]
