"""A sheet on which a picture is put together: x from 0 to `wide`, y from 0 to 1, upwards."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from fillcalc.present.picture.records import Area, Label, Line, Picture, Points

Point = tuple[float, float]


@dataclass(frozen=True)
class Part:
    """Whose lines and figures are being drawn: its name, whether it is assumed, whether it raised a DANGER."""

    name: str
    assumed: bool = False
    danger: bool = False


@dataclass(eq=False)
class Sheet:
    """Lines, areas and labels as they are drawn."""

    wide: float
    lines: list[Line] = field(default_factory=list)
    areas: list[Area] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)

    def line(self, part: Part, points: Iterable[Point] | Points, kind: str = "line", closed: bool = False) -> None:
        """An open or closed line."""
        array = np.asarray(list(points), dtype=float)
        if closed:
            array = np.vstack([array, array[:1]])
        self.lines.append(Line(part.name, array, kind, part.assumed, part.danger))

    def circle(self, part: Part, centre: Point, radius: float, kind: str = "line") -> None:
        """A full circle."""
        turn = np.linspace(0.0, 2.0 * np.pi, 33)
        self.line(part, np.column_stack([centre[0] + radius * np.cos(turn), centre[1] + radius * np.sin(turn)]), kind)

    def area(self, name: str, points: Points, kind: str) -> None:
        """A filled area; nothing where it has no inside."""
        if len(points) > 2:
            self.areas.append(Area(name, points, kind))

    def label(self, part: Part, at: Point, forms: Sequence[str], sides: str, rank: int) -> None:
        """A figure at a part; `forms` from the fullest to the shortest. A part carries its DANGER once."""
        shown = tuple(dict.fromkeys(form for form in forms if form))
        if shown:
            marked = any(one.danger and one.part == part.name for one in self.labels)
            self.labels.append(Label(part.name, shown, at, sides, rank, part.assumed, part.danger and not marked))

    def picture(self, caption: Sequence[str], notes: Sequence[str], title: str) -> Picture:
        """What is on the sheet, brought to the unit square."""
        shrink = np.array([1.0 / self.wide, 1.0])
        labels = tuple(replace(one, at=(one.at[0] / self.wide, one.at[1])) for one in self.labels)
        return Picture(self.wide, tuple(replace(one, points=one.points * shrink) for one in self.areas),
                       tuple(replace(one, points=one.points * shrink) for one in self.lines), labels,
                       tuple(caption), tuple(notes), title)
