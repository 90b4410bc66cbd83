"""The strip of answers, the same in every place: the lines of `fillcalc.present.lines` in columns.

Every figure is the likely one, from the samples; until they are worked out the strip says so and shows no other
figure. An answer that belongs to an older text carries the word "was".
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual.content import Content
from textual.reactive import reactive
from textual.style import Style
from textual.widget import Widget

from fillcalc.case.names import name_of
from tui.widgets.fitting import in_rows
from tui.widgets.listing import Reversible

if TYPE_CHECKING:
    from fillcalc.estimation.answers import Estimate
    from fillcalc.present.lines import Line
    from tui.state.session import Answered, Session

SAFETY = "For planning only. The written procedure decides."


LEAST, MOST, MOST_DANGER = 7, 11, 4
"""Rows of the strip, and of the danger of gas above its figures."""
LABEL = 14
"""Columns of a label, and a space."""
KEPT = 15
"""Columns of a figure that is kept."""
HEADS = ("likely", "low", "high")


class Answers(Reversible, Widget):
    """The strip of answers: a head, a row for each, and the gravest caution; the same in every place."""

    COMPONENT_CLASSES = {"answers--value", "answers--label", "answers--old", "answers--danger", "answers--beside"}

    waiting: reactive[bool] = reactive(False)
    """Something was typed that the session has not seen yet."""

    def __init__(self, session: Session, units: str, id: str | None = None) -> None:
        super().__init__(id=id)
        self.session = session
        self.units = units

    def render(self) -> Content:
        return Content("\n").join(self.rows(self.size.width, self.size.height))

    def needs(self, width: int) -> int:
        """Rows in which all of the gravest caution is told; never fewer than for two of it, so that little jumps."""
        return max(LEAST, len(self.rows(width, MOST)))

    def rows(self, width: int, height: int) -> list[Content]:
        session = self.session
        answered = session.answered
        if answered is None or answered.estimate is None:
            return self._nothing(width, height)
        old = self.waiting or session.state != "now" or session.ranges_old
        main = self._table(self.lines(), width, old) if session.kept is None else self._kept(session.kept, width, old)
        if gas := self._danger(width):
            rows, left = [*gas, *main], height - len(gas) - len(main)
            return [*rows, *(self._cautions(width, left, old) if left > 0 else [])]
        return [*main, *self._cautions(width, max(1, height - len(main)), old)]

    def _table(self, lines: Sequence[Line], width: int, old: bool) -> list[Content]:
        """Likely, low and high in columns, and what stands beside them, in two rows at most."""
        from fillcalc.present.lines import WORKING
        from fillcalc.present.sentences import trade

        old = old and lines[0].value != WORKING
        figures = [(line.value, *line.ends) for line in lines]
        wide = [max(map(len, column)) for column in zip(HEADS, *figures, strict=True)]
        label, was = self._style("answers--label"), self._style("answers--old")
        heads = "".join(f"{head:>{w}}  " for head, w in zip(HEADS, wide, strict=True))
        if lines[0].value == WORKING:
            heads = " " * len(heads)
        first = f" {'':<{LABEL}}{'    ' if old else ''}{heads}"
        safety = SAFETY if len(first) + len(SAFETY) < width else ""
        rows = [Content.styled(first + safety, label)]
        for line, cells in zip(lines, figures, strict=True):
            value, low, high = (f"{cell:>{w}}  " for cell, w in zip(cells, wide, strict=True))
            name = Content.assemble((f" {line.label:<{LABEL}}", label), ("was " if old else "", was),
                                    (value, was if old else self._style("answers--value")))
            ends = Content.styled(low + high, was if old else self._style("answers--beside"))
            beside = tuple(trade(part, self.units) for part in (line.of, *self._beside(line)) if part)
            crowded = name.cell_length + ends.cell_length + len(" · ".join(beside)) > width
            start = name if crowded and not any(line.ends) else name + ends
            while len(beside) > 1 and start.cell_length + len(" · ".join(beside)) > width:
                last = len(beside) - (2 if beside[-1] == line.stays else 1)
                beside = (*beside[:last], *beside[last + 1:])
            words = Content.styled(" · ".join(beside), self._style("answers--old" if old else "answers--beside"))
            rows += _hanging(start, words, width)
        return rows

    @staticmethod
    def _beside(line: Line) -> tuple[str, ...]:
        """What stands beside the figures; a range that has no columns is among it."""
        return line.beside if any(line.ends) or line.of else line.more

    def lines(self) -> tuple[Line, ...]:
        """The main answers: likely, with low to high; or that they are being worked out."""
        from fillcalc.present.lines import main_lines, stopping, working_lines

        estimate, answered = self._told(), self.session.answered
        readings = answered.readings if answered is not None else None
        if estimate is None:
            return stopping(working_lines(answered.estimate if answered else None), readings)
        return main_lines(estimate, self.units, readings)

    def _danger(self, width: int) -> list[Content]:
        """What is said before any figure of a test with gas, in a few rows; nothing of one with water."""
        from fillcalc.estimation.answers import at_likely_values
        from fillcalc.present.gas import danger_lines

        answered = self.session.answered
        if answered is None or answered.case is None or answered.estimate is None or answered.estimate.gas is None:
            return []
        style = self._style("answers--danger")
        said = danger_lines(answered.case, at_likely_values(answered.estimate), self.units)
        rows = [Content(" ") + part for line in said for part in in_rows(Content.styled(line, style), width - 2)]
        return [row.truncate(max(1, width), ellipsis=True) for row in rows[:MOST_DANGER]]

    def _told(self) -> Estimate | None:
        """The last estimate with ranges, each figure rounded to what its range bears; None before the first."""
        from fillcalc.questions.likely import likely

        ranged = self.session.newest_ranged
        return None if ranged is None or ranged.estimate is None else likely(ranged.estimate, self.units)

    def _nothing(self, width: int, height: int) -> list[Content]:
        problems, table, offered = self.session.problems, self.session.table, self.session.offered
        if not problems:
            return [Content(" Working it out…")]
        from fillcalc.units.printable import shown
        from tui.places.field_help import problem_words

        to_do = "must be given" if self.session.only_missing else "to fix"
        return [Content(f" No answers yet: {_inputs(len(problems))} {to_do}.").stylize("bold"),
                *(Content(shown(f" {'·' if p.path in offered else '!'} "
                                f"{name_of(p.path, self.units, table) if p.path else f'line {p.line}'}: ")
                          + (f"Enter puts {offered[p.path]}" if p.path in offered else problem_words(p, self.units))
                          ).truncate(max(1, width), ellipsis=True)
                  for p in problems[:max(1, height - 1)])]

    def _kept(self, kept: Answered, width: int, old: bool) -> list[Content]:
        """The main answers, kept and now, with the difference."""
        from tui.places.compare import main_pairs

        session = self.session
        if kept.estimate is None or session.answered is None or session.answered.estimate is None:
            return []
        now = session.answered.estimate
        ranged = session.newest_ranged
        same = ranged is not None and ranged.number == session.answered.number
        if ranged is not None and ranged.estimate is not None and (same or session.state == "old"):
            now = ranged.estimate
        label = self._style("answers--label")
        rows = [Content.styled(f" {'':<{LABEL}}{'Kept':<{KEPT}}{'Was' if old else 'Now':<{KEPT}}Difference", label)]
        style = self._style("answers--old" if old else "answers--value")
        rows += [Content.assemble((f" {p.label:<{LABEL}}", label), f"{p.kept:<{KEPT}}", (f"{p.now:<{KEPT}}", style),
                                  p.difference).truncate(max(1, width), ellipsis=True)
                 for p in main_pairs(kept.estimate, now, self.units)]
        return rows

    def _cautions(self, width: int, rows: int, old: bool) -> list[Content]:
        """The gravest cautions in words, in so many rows; how many more there are, and the place of them."""
        answered = self.session.answered
        said = answered.cautions if answered else ()
        if not said:
            return [Content.styled(f" {SAFETY}", self._style("answers--label"))]
        more = f" (+{len(said) - 1} more: Esc 7)" if len(said) > 1 else ""
        word = said[0].weight.upper()
        grave = self._style("answers--danger") if said[0].weight == "danger" else ""
        body = Content.assemble(("was " if old else "", self._style("answers--old")), (f"{word}:", grave), " ",
                                (said[0].text, self._style("answers--old") if old else ""))
        lines = [Content(" ") + part for part in in_rows(body, width - 1)]
        if more and lines[-1].cell_length + len(more) <= width:
            lines[-1] = Content.assemble(lines[-1], (more, self._style("answers--label")))
        elif more:
            lines.append(Content.styled(more, self._style("answers--label")))
        if len(lines) > rows:
            last = lines[rows - 1].truncate(max(1, width - len(more) - 1), ellipsis=True)
            lines = [*lines[:rows - 1], Content.assemble(last, (more, self._style("answers--label")))]
        return lines

    def _style(self, name: str) -> Style:
        return self.get_visual_style(name)


def _hanging(start: Content, words: Content, width: int) -> list[Content]:
    """A row of the strip; words that have no room go on in a second one below them, where they are cut."""
    room = width - start.cell_length
    first, *more = in_rows(words, room) if room > 0 else [words]
    beside = Content(" ").join(more).truncate(max(1, room), ellipsis=True)
    below = [Content(" " * start.cell_length) + beside] if more else []
    return [(start + first).truncate(max(1, width), ellipsis=True), *below]


def _inputs(number: int) -> str:
    return "1 input" if number == 1 else f"{number} inputs"
