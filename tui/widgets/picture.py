"""A picture in a terminal: fine dots, or plain letters where a terminal lacks them; it can be read without colour.

It knows no case: it is given a maker of pictures, which it asks for one of its own proportions.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from textual.content import Content
from textual.style import Style

from fillcalc.arrays import Array, Flags
from fillcalc.present.picture import APART, Picture, Placed, along, notes_of, placed
from fillcalc.units.printable import shown

Maker: TypeAlias = Callable[[float], Picture]
"""A picture for a width over height."""
Dots: TypeAlias = Flags

LEAST = (34, 9)
"""Columns and rows below which a picture cannot be read."""
BELOW, ROOMY = 2, 16
"""Rows kept for what is said below, one more from so many rows on, so that nothing jumps from moment to moment."""
SHARP = 0.7
"""Turn in rad from which a corner is drawn as one."""
TALL = 2.0
"""Height over width of a letter's cell."""
BITS = np.array([[0x01, 0x08], [0x02, 0x10], [0x04, 0x20], [0x40, 0x80]])
"""The dots of a letter in Unicode's block of fine dots, by row and column."""
FIRST_DOTS = 0x2800
KINDS = ("water", "air", "level", "mark", "arrow", "hose", "line", "wall", "needle")
"""What lies over what, the lowest first."""
LETTERS = {"water": "~", "air": ".", "level": "=", "needle": "*", "mark": "+"}
"""Plain letters of what is not drawn by its direction."""
STYLES = {"water": "water", "air": "air", "level": "own", "mark": "own", "arrow": "own", "hose": "line", "line": "line",
          "wall": "wall", "needle": "wall", "figure": "plain", "reading": "strong", "said": "strong", "note": "faint",
          "assumed": "assumed", "danger": "danger", "hazard": "hazard"}
"""The style of a sheet in which each kind of part is drawn."""


def picture_lines(maker: Maker, width: int, height: int, style: Callable[[str], Style | str],
                  letters_only: bool = False) -> list[Content]:
    """A picture in so many columns and rows; nothing where it could not be read. `style` gives a style by its name."""
    if width < LEAST[0] or height < LEAST[1]:
        return []
    page = laid_out(maker, width, height, letters_only)
    return [Content.assemble(*(
        ("".join(letter for letter, _ in run), style(STYLES[name]) if name else "")
        for name, run in groupby(zip(letters, names, strict=True), key=lambda one: one[1])))
        for letters, names in zip(page.letters.tolist(), page.styles.tolist(), strict=True)]


@dataclass(frozen=True)
class Page:
    """Letters and the names of their styles, (rows, columns)."""

    letters: NDArray[np.str_]
    styles: NDArray[np.str_]

    def text(self) -> str:
        """The letters alone."""
        return "\n".join("".join(row).rstrip() for row in self.letters.tolist())


def laid_out(maker: Maker, columns: int, rows: int, letters_only: bool = False) -> Page:
    """A picture on so many columns and rows, with what is said of the moment below it."""
    picture = maker(columns / (TALL * rows))
    room = (BELOW if rows < ROOMY else BELOW + 1) if picture.caption else 1
    rows_left = rows - room
    if room:
        picture = maker(columns / (TALL * rows_left))
    stands = placed(picture, columns, rows_left)
    said = _below(picture.caption, notes_of(picture, stands), columns)
    page = Page(np.full((rows, columns), " ", dtype="<U1"), np.full((rows, columns), "", dtype="<U8"))
    (_in_letters if letters_only else _in_dots)(picture, page, rows_left)
    for one in stands:
        _write(page, one.row, one.column, shown(one.text), _style_of(one))
    for index, (text, name) in enumerate(said[:room]):
        _write(page, rows_left + index, max((columns - len(text)) // 2, 0), text, name)
    for text, name in said[room:]:
        for part in text.split("; "):
            _write_beside(page, rows_left, part, name)
    return page


def _write_beside(page: Page, rows: int, text: str, name: str) -> None:
    """Write what has no row below the drawing at one end of the first row of it that is free there, as far from what
    else stands in the row as labels are; nowhere where none is."""
    columns, long = page.letters.shape[1], len(text) + APART
    for row in range(rows if long <= columns else 0):
        free = page.letters[row] == " "
        if free[:long].all() or free[-long:].all():
            _write(page, row, 0 if free[:long].all() else columns - len(text), text, name)
            return


def _below(caption: Sequence[str], notes: Sequence[str], columns: int) -> list[tuple[str, str]]:
    """Lines under the drawing: what is said of the moment, then the notes, each in the first line with room for it."""
    lines = [(line, "said") for line in _wrapped(caption, columns)]
    for note in notes:
        at = next((n for n, (line, _) in enumerate(lines) if n and len(line) + 2 + len(note) <= columns), len(lines))
        lines[at:at + 1] = [(f"{lines[at][0]}; {note}", lines[at][1]) if at < len(lines) else (note, "note")]
    return lines


def _wrapped(parts: Sequence[str], columns: int) -> list[str]:
    lines: list[str] = []
    for part in parts:
        if lines and len(lines[-1]) + 2 + len(part) <= columns:
            lines[-1] = f"{lines[-1]}; {part}"
        elif len(part) <= columns:
            lines.append(part)
    return lines


def _style_of(one: Placed) -> str:
    if one.label.danger:
        return "danger"
    if one.label.assumed:
        return "assumed"
    return "reading" if one.label.part == "gauge" else "figure"


def _write(page: Page, row: int, column: int, text: str, name: str) -> None:
    end = min(column + len(text), page.letters.shape[1])
    page.letters[row, column:end] = list(text[:end - column])
    page.styles[row, column:end] = name


# --- fine dots -----------------------------------------------------------------------------------

def _in_dots(picture: Picture, page: Page, rows: int) -> None:
    columns = page.letters.shape[1]
    size = np.array([2 * columns, 4 * rows])
    whole = np.zeros((4 * rows, 2 * columns), dtype=bool)
    styles = page.styles[:rows]
    for area in picture.areas:
        inside = _inside(area.points * size, whole.shape)
        whole[inside] = _pattern(area.kind, whole.shape)[inside]
        styles[_cells(inside & whole)] = area.kind
    for line in sorted(picture.lines, key=lambda one: KINDS.index(one.kind)):
        dots = np.zeros_like(whole)
        _trace(dots, line.points * size, line.assumed and line.kind != "level")
        if line.kind == "needle":
            dots[:, 1:] |= dots[:, :-1].copy()
        if line.kind == "level":
            whole[_around(dots)] = False
        whole |= dots
        name = "hazard" if line.danger else "assumed" if line.assumed else line.kind
        styles[_cells(dots)] = name
    bits = np.zeros((rows, columns), dtype=int)
    for down in range(4):
        for across in range(2):
            bits |= np.where(whole[down::4, across::2], BITS[down, across], 0)
    letters = np.array([chr(FIRST_DOTS + one) if one else " " for one in bits.ravel().tolist()])
    page.letters[:rows] = letters.reshape(rows, columns)


def _cells(dots: Dots) -> Dots:
    """The cells in which a dot is set."""
    rows, columns = dots.shape[0] // 4, dots.shape[1] // 2
    return np.asarray(dots.reshape(rows, 4, columns, 2).any(axis=(1, 3)))


def _around(dots: Dots) -> Dots:
    """The dots just above and below."""
    near = np.zeros_like(dots)
    near[1:] |= dots[:-1]
    near[:-1] |= dots[1:]
    return near


def _pattern(kind: str, shape: tuple[int, ...]) -> Dots:
    """Water in level lines, air in single dots."""
    down, across = np.indices(shape)
    if kind == "air":
        return np.asarray((down % 2 == 1) & ((across + down) % 4 == 0))
    return np.asarray(down % 2 == 0)


def _inside(points: Array, shape: tuple[int, ...]) -> Dots:
    """The dots inside a closed line, by the number of its sides to their right."""
    rows, columns = shape
    found = np.zeros((rows, columns), dtype=bool)
    ring = np.vstack([points, points[:1]])
    across = np.arange(columns) + 0.5
    for down in range(rows):
        y = rows - down - 0.5
        low, high = ring[:-1], ring[1:]
        cut = (low[:, 1] > y) != (high[:, 1] > y)
        if cut.any():
            part = (y - low[cut, 1]) / (high[cut, 1] - low[cut, 1])
            x = np.sort(low[cut, 0] + part * (high[cut, 0] - low[cut, 0]))
            found[down] = np.searchsorted(x, across) % 2 == 1
    return found


def _trace(dots: Dots, points: Array, broken: bool) -> None:
    """Set the dots along a line; every other two are left out of a broken one."""
    rows, columns = dots.shape
    at = along(points)
    if broken:
        way = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(at, axis=0)).max(axis=1))])
        at = at[way % 4.0 < 2.0]
    x = np.clip(at[:, 0].astype(int), 0, columns - 1)
    y = np.clip((rows - at[:, 1]).astype(int), 0, rows - 1)
    dots[y, x] = True


# --- plain letters ---------------------------------------------------------------------------------

def _in_letters(picture: Picture, page: Page, rows: int) -> None:
    columns = page.letters.shape[1]
    size = np.array([columns, rows])
    for area in picture.areas:
        inside = _inside(area.points * size, (rows, columns))
        page.letters[:rows][inside] = LETTERS[area.kind]
        page.styles[:rows][inside] = area.kind
    for line in sorted(picture.lines, key=lambda one: KINDS.index(one.kind)):
        name = "hazard" if line.danger else "assumed" if line.assumed else line.kind
        cells = line.points * size
        for start, end in pairwise(cells):
            steps = int(np.ceil(np.abs(end - start).max())) + 1
            at = np.linspace(start, end, steps + 1)
            column = np.clip(at[:, 0].astype(int), 0, columns - 1)
            row = np.clip((rows - at[:, 1]).astype(int), 0, rows - 1)
            page.letters[row, column] = LETTERS.get(line.kind) or _direction(end - start)
            page.styles[row, column] = name
        if line.kind in ("wall", "hose", "line"):
            for corner in _corners(cells):
                page.letters[min(max(int(rows - corner[1]), 0), rows - 1),
                             min(max(int(corner[0]), 0), columns - 1)] = "+"


def _corners(cells: Array) -> Array:
    """The points at which a line turns sharply, its closed end among them."""
    ring = np.vstack([cells, cells[1:2]]) if np.array_equal(cells[0], cells[-1]) else cells
    steps = np.diff(ring, axis=0)
    turn = np.abs(np.diff(np.unwrap(np.arctan2(TALL * steps[:, 1], steps[:, 0]))))
    return ring[1:-1][turn > SHARP]


def _direction(step: Array) -> str:
    """The letter that leans as a step does."""
    across, up = abs(float(step[0])), TALL * abs(float(step[1]))
    if up < 0.5 * across:
        return "-"
    if across < 0.5 * up:
        return "|"
    return "/" if step[0] * step[1] > 0.0 else "\\"
