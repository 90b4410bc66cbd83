"""A picture of the set-up as an SVG that stands inside a page; its colours and lines are those of `page.css`."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fillcalc.formats.html import Html, joined, text
from fillcalc.present.picture import DANGER, Picture, Placed, notes_of, placed
from fillcalc.present.picture.records import Area, Line, Points

TYPE = 8.4
"""Size of the letters, in points: the least of a page on paper."""
LETTER, ROW = 0.57, 1.3
"""Width of a letter and height of a row, of the size of the letters."""
BASE = 0.95
"""Where letters stand in their row, of their size."""
ANCHORS = {"w": "end", "e": "start"}
"""Which end of a label is held where it stands beside its point; elsewhere its middle."""
SPOKEN = 400
"""Characters of what is told to those who do not see the drawing."""
AIR = ('<defs><pattern id="{name}-air" width="4" height="4" patternUnits="userSpaceOnUse">'
       '<circle class="dot" cx="1" cy="1" r="0.55"/><circle class="dot" cx="3" cy="3" r="0.55"/></pattern></defs>')
"""Air under pressure is dotted, so that it can be told from water in black and white."""
MARGIN = 4
"""Beside the drawing, in points: heavy letters are wider."""


def drawing(picture: Picture, name: str, wide: float = 255.0) -> Html:
    """The drawing as an <svg> element, `wide` points across at its own size, with its caption and notes below.

    `name` (letters and figures) tells it from the other drawings of a page.
    """
    high = wide / picture.wide
    rows, columns = int(high / (ROW * TYPE)), int(wide / (LETTER * TYPE))
    stands = placed(picture, columns, rows)
    said, notes = _wrapped(picture.caption, columns), _wrapped(notes_of(picture, stands), columns)
    lines_below = [*(("said", one) for one in said), *(("assumed", one) for one in notes)]
    whole = high + ROW * TYPE * len(lines_below)
    size = np.array([wide, -high])
    spoken = ". ".join(part for part in (picture.title, *picture.caption, *(one.forms[0] for one in picture.labels))
                       if part)
    shown = [_label(one, (wide / columns, high / rows)) for one in stands]
    below = [Html(f'<text class="{kind}" x="{wide / 2:.1f}" y="{high + ROW * TYPE * (index + 0.72):.1f}" '
                  f'text-anchor="middle">{text(one)}</text>') for index, (kind, one) in enumerate(lines_below)]
    drawn = [*(_area(one, size, name) for one in picture.areas), *(_line(one, size) for one in picture.lines)]
    box = f"{-MARGIN} 0 {wide + 2 * MARGIN:.0f} {whole:.1f}"
    return Html(f'<svg class="picture" viewBox="{box}" role="img" aria-label="{text(spoken, SPOKEN)}">'
                f'{AIR.format(name=name)}{joined([*drawn, *shown, *below])}</svg>')


def _wrapped(parts: Sequence[str], columns: int) -> list[str]:
    """The parts in as few lines as hold them."""
    lines: list[str] = []
    for part in parts:
        if lines and len(lines[-1]) + 2 + len(part) <= columns:
            lines[-1] = f"{lines[-1]}; {part}"
        else:
            lines.append(part)
    return lines


def _path(points: Points, size: Points) -> str:
    at = points * size + [0.0, -size[1]]
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in at.tolist())


def _area(area: Area, size: Points, name: str) -> Html:
    if area.kind == "air":
        return Html(f'<polygon class="air" fill="url(#{name}-air)" points="{_path(area.points, size)}"/>')
    return Html(f'<polygon class="{area.kind}" points="{_path(area.points, size)}"/>')


def _line(line: Line, size: Points) -> Html:
    return Html(f'<polyline class="{_classes(line.kind, line.assumed, line.danger)}" '
                f'points="{_path(line.points, size)}"/>')


def _classes(kind: str, assumed: bool, danger: bool) -> str:
    return f"{kind}{' assumed' if assumed else ''}{' danger' if danger else ''}"


def _label(one: Placed, cell: tuple[float, float]) -> Html:
    anchor = ANCHORS.get(one.side, "middle")
    letters = {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * len(one.text)
    x, y = (one.column + letters) * cell[0], one.row * cell[1] + BASE * TYPE
    kind = _classes("reading" if one.label.part == "gauge" else "figure", one.label.assumed, one.label.danger)
    return Html(f'<text class="{kind}" x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{_marked(one)}</text>')


def _marked(one: Placed) -> Html:
    """The text of a label; its mark in smaller capitals, which are wide."""
    if not one.text.startswith(f"{DANGER} "):
        return text(one.text)
    return Html(f'<tspan class="danger-mark">{text(DANGER)}</tspan>{text(one.text.removeprefix(DANGER))}')


