"""A place of the screen: a sheet that tells one part of the answers, and the parts that such sheets are made of."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterable, Sequence
from itertools import zip_longest
from typing import TYPE_CHECKING

from textual.content import Content

from tui.widgets.fitting import held_in
from tui.widgets.sheet import Sheet, Title

if TYPE_CHECKING:
    from fillcalc.present.charts import Bars, Chart, Maker, Subject
    from fillcalc.present.lines import Line
    from tui.places.host import Host
    from tui.widgets.plot import Look

HIGHEST = 16
"""Rows beyond which a chart does not grow."""
BESIDE = 30
"""Columns that groups of answers leave, at least, beside names and figures that share theirs."""
LEAST_BESIDE = 16
"""Columns that a long name leaves for what is told beside its figure, where that is so long."""
HELD_SPACE = "\u00a0"
"""A space at which no line ends."""
NOTHING = "No answers yet."


class Place(Sheet):
    """One place: it draws what `parts` gives, from the answers of the moment."""

    def __init__(self, host: Host, id: str | None = None) -> None:
        super().__init__(id=id)
        self.host = host

    def answers_came(self) -> None:
        """Show what is told now; called when answers have come, or are of an older text than the case."""
        self.refresh()

    def lines(self, width: int, height: int) -> Sequence[Content]:
        host = self.host
        now = host.telling.newest(host.session, host.units)
        if now is None:
            return self.without_answers(width)
        return self.parts(now, host.telling.with_ranges(host.session, host.units), width, height)

    def without_answers(self, width: int) -> Sequence[Content]:
        """What stands while there are no answers."""
        session = self.host.session
        why = f" What {'is missing' if session.only_missing else 'must be corrected'} stands above."
        why = why if session.problems else ""
        return [Content.styled(f" {NOTHING}{why}", self.style_of("faint"))]

    def parts(self, now: Subject, ranged: Subject | None, width: int, height: int) -> Sequence[Content]:
        """The lines of the place: curves of the newest answers, figures of those with low, likely and high."""
        raise NotImplementedError

    # --- the parts of a sheet --------------------------------------------------------------

    @property
    def look(self) -> Look:
        from tui.widgets.plot import Look

        return Look(self.style_of, self.host.letters_only)

    def heading(self, words: str, width: int, figures: bool = False, part: str = "") -> list[Content]:
        """A title in a rule; it says where what follows, curves or `figures`, is of an older text. What stands behind
        a colon has a row of its own where there is no room. By its `part` the part can be brought into sight."""
        was = "was: " if self.host.answers_old or (figures and self.host.session.ranges_old) else ""
        short, _, rest = words.partition(": ") if len(was) + len(words) + 4 > width else (words, "", "")
        title = Content.assemble(("── ", self.style_of("rule")), (was, self.style_of("old")),
                                 (short, self.style_of("heading")), " ")
        line = title.append(Content.styled("─" * max(0, width - title.cell_length), self.style_of("rule")))
        faint = self.style_of("faint")
        return [Title(line, part), *(Content.styled(f" {row}", faint) for row in wrapped(rest, width - 2))]

    def paragraphs(self, sentences: Iterable[str], width: int) -> list[Content]:
        """Sentences, each on lines of its own."""
        return [Content(f" {part}") for sentence in sentences for part in wrapped(sentence, width - 2)]

    def named(self, lines: Iterable[tuple[str, str]], width: int) -> list[Content]:
        """Headings, each with its words behind it."""
        return [line for heading, words in lines if heading or words for line in (
            self.led(heading, "heading", words, width) if heading else self.paragraphs([words], width))]

    def led(self, lead: str, style: str, words: str, width: int, tail: str = "") -> list[Content]:
        """Words behind a lead in a style of its own, later lines indented; a faint tail behind them."""
        rows = [f" {wrapped_line}" if n == 0 else f"   {wrapped_line}"
                for n, wrapped_line in enumerate(wrapped(f"{lead}{words}{tail}", width - 4))]
        lines, left = [], len(lead) + len(words)
        for n, row in enumerate(rows):
            start = 1 if n == 0 else 3
            line = Content(row)
            if n == 0:
                line = line.stylize(self.style_of(style), start, start + len(lead.rstrip()))
            if tail and left - (len(row) - start) < 0:
                line = line.stylize(self.style_of("faint"), start + max(0, left), len(row))
            left -= len(row) - start + 1
            lines.append(line)
        return lines

    def figures(self, lines: Sequence[Line], width: int, columns: tuple[int, int] | None = None) -> list[Content]:
        """Answers one under the other: name, figure, and what stands beside it; names and figures so wide, but where
        that leaves the figure no room the name goes on in the next row. What is told beside breaks between its parts.
        """
        label, value = columns or columns_of(lines)
        least = min(max((len(part) + 3 * (len(one.more) > 1) for one in lines for part in one.more), default=0),
                    LEAST_BESIDE)
        label = max(8, min(label, width - value - least - 5))
        rows: list[Content] = []
        before = ""
        for one in lines:
            named = wrapped(one.label, label) if not rows or one.label != before else [""]
            before = one.label
            start = Content.assemble((f" {named[0]:<{label}}  ", self.style_of("faint")),
                                     (f"{one.value:>{value}}  ", self.style_of("strong")))
            text, room = " · ".join(one.more), width - start.cell_length
            whole = " · ".join(part.replace(" ", HELD_SPACE) if len(part) + 2 < room else part for part in one.more)
            more = wrapped(whole, room if len(text) <= room else room - 1) or [""]
            beside = [part.removesuffix(" ·") for part in more]
            rows.append(start + beside[0])
            for name, part in zip_longest(named[1:], beside[1:], fillvalue=""):
                rows.append(Content.styled(f" {name:<{start.cell_length - 1}}", self.style_of("faint")) + part)
        return rows

    def table(self, rows: Sequence[Sequence[str]], width: int, heads: bool = False, marked: int = -1) -> list[Content]:
        """Rows of cells, the first to the left, the others to the right; the first row may be heads, one is marked.
        Where there is no room, units stand below their heads."""
        top = 1 if heads else 0
        if heads and sum(max(map(len, column)) + 2 for column in zip(*rows, strict=True)) >= width:
            split = [cell.partition(", ")[::2] for cell in rows[0]]
            rows, top, marked = [*zip(*split, strict=True), *rows[1:]], 2, marked + 1
        wide = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
        gap = " " * max(1, min(3, (width - 2 - sum(wide)) // max(1, len(wide) - 1)))
        lines = []
        for number, row in enumerate(rows):
            cells = [row[0].ljust(wide[0]), *(cell.rjust(w) for cell, w in zip(row[1:], wide[1:], strict=True))]
            style = self.style_of("faint" if number < top else "strong" if number == marked else "plain")
            lines.append(Content.styled(f" {gap.join(cells)}", style))
        return lines

    def chart(self, make: Maker, subject: Subject | None, width: int, height: int = HIGHEST,
              figures: bool = False) -> list[Content]:
        """A chart with its title, in about so many rows; nothing where its numbers cannot be had."""
        made = None if subject is None else make(subject)
        if made is None:
            return []
        return [*self.heading(made.title, width, figures), *self.drawn(made, width, height)]

    def said(self, title: str, sentences: Sequence[str], width: int) -> list[Content]:
        """Sentences under a title; nothing where there are none."""
        return [*self.heading(title, width, figures=True), *self.paragraphs(sentences, width)] if sentences else []

    def groups(self, titled: Iterable[tuple[str, Sequence[Line]]], width: int) -> list[Content]:
        """Groups of answers, each under its title; all in the same columns where that leaves room beside them."""
        there = [(title, lines) for title, lines in titled if lines]
        columns = columns_of([line for _, lines in there for line in lines])
        shared = columns if width - sum(columns) >= BESIDE else None
        return joined(*([*self.heading(title, width, figures=True), *self.figures(lines, width, shared)]
                        for title, lines in there))

    def drawn(self, made: Chart | Bars, width: int, height: int) -> list[Content]:
        """A chart without its title; what is level all along is told in words."""
        from fillcalc.present.charts import Bars
        from tui.widgets.plot import LOWEST, bar_lines, chart_lines

        if isinstance(made, Bars):
            return bar_lines(made, width, self.look)
        if made.level:
            return self.paragraphs([f"{curve.words}: {curve.said}" for curve in made.curves], width)
        return chart_lines(made, width, min(HIGHEST, max(LOWEST, height)), self.look)


def columns_of(lines: Sequence[Line]) -> tuple[int, int]:
    """How wide the names and the figures of answers are."""
    return max((len(one.label) for one in lines), default=0), max((len(one.value) for one in lines), default=0)


def wrapped(text: str, width: int) -> list[str]:
    """The text in lines so wide; a number stays with its unit."""
    lines = textwrap.wrap(held_in(text, width), max(8, width), break_on_hyphens=False)
    return [line.replace(HELD_SPACE, " ") for line in lines]


def joined(*parts: Sequence[Content]) -> list[Content]:
    """Parts one under the other, with an empty row between those that are there."""
    lines: list[Content] = []
    for part in parts:
        if part:
            lines += [*([Content("")] if lines else []), *part]
    return lines


def beside(left: Callable[[int], Sequence[Content]], right: Callable[[int], Sequence[Content]],
           width: int) -> list[Content]:
    """Two parts side by side, each made for its half of the width."""
    half = (width - 2) // 2
    one, two = list(left(half)), list(right(width - half - 2))
    empty = Content("")
    return [(one[n] if n < len(one) else empty).pad_right(
        half + 2 - (one[n].cell_length if n < len(one) else 0)) + (two[n] if n < len(two) else empty)
        for n in range(max(len(one), len(two)))]
