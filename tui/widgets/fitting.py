"""Rows in a place that may be too low for them."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content


def fitted(rows: Sequence[Content], height: int, where: str) -> list[Content]:
    """The rows that fit; where some do not, the last one says how many more there are, and where."""
    if len(rows) <= height:
        return list(rows)
    kept = max(0, height - 1)
    left = sum(bool(row.plain.strip()) for row in rows[kept:])
    return [*rows[:kept], Content(f" {left} more {'line' if left == 1 else 'lines'}{where}")]
