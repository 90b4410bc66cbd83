"""The answers on the screen: the panel that lays out the lines of `fillcalc.present.lines`.

Every figure is the likely one, from the samples; until they are worked out the strip says so and shows no other
figure. An answer that belongs to an older text carries the word "was".
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from fillcalc.case.names import name_of
from tui.widgets.fitting import fitted
from tui.widgets.listing import Reversible

if TYPE_CHECKING:
    from fillcalc.present.lines import Line
    from tui.state.session import Answered, Session

SAFETY = "For planning only. The written procedure decides."


# --- the panel ----------------------------------------------------------------------------------

LABEL, WAS, VALUE, KEPT = 18, 4, 11, 15
"""Columns of the label, of the word "was", of the figure, and of a figure that is kept."""


class Answers(Reversible, Widget):
    """The answers of a session: six rows on a small screen, all of them on a larger one."""

    COMPONENT_CLASSES = {"answers--value", "answers--label", "answers--old", "answers--danger", "answers--heading",
                         "answers--beside"}

    waiting: reactive[bool] = reactive(False)
    """Something was typed that the session has not seen yet."""

    def __init__(self, session: Session, units: str, id: str | None = None) -> None:
        super().__init__(id=id)
        self.session = session
        self.units = units
        self.full = False

    def render(self) -> Content:
        return Content("\n").join(self.rows(self.size.width, self.size.height))

    def rows(self, width: int, height: int) -> list[Content]:
        session = self.session
        answered = session.answered
        if answered is None or answered.estimate is None:
            return self._nothing(width)
        from fillcalc.present.lines import groups
        from fillcalc.present.sentences import job_sentences

        old = self.waiting or session.state != "now" or self._ranged_old(answered)
        estimate = self._told()
        if session.kept is not None:
            main = self._kept(session.kept, width, old)
        else:
            main = [self._row(line, width, old) for line in self.lines()]
        if not self.full:
            return [*main, *self._cautions(width, 2)]
        more: list[Content] = []
        if estimate is not None and session.ranged is not None and session.ranged.case is not None:
            for group in groups(session.ranged.case, estimate, self.units):
                more.append(Content.assemble(" ", (group.heading, self._style("answers--heading"))))
                more += [self._row(line, width, old) for line in group.lines]
        said = self._cautions(width, max(5, height - len(main) - len(more) - 3))
        safety = Content.styled(f" {SAFETY}", self._style("answers--label")).truncate(max(1, width), ellipsis=True)
        rows = [safety, *main, Content(""), *said, Content(""), *more]
        case = session.ranged.case if session.ranged is not None else None
        if estimate is not None and case is not None and len(rows) + 4 <= height:
            rows.append(Content(""))
            for sentence in job_sentences(case, estimate, self.units):
                rows += [Content(f" {part}") for part in Content(sentence).wrap(max(8, width - 2))]
        return fitted(rows, max(1, height), ": Esc R reads all")

    def lines(self) -> tuple[Line, ...]:
        """The main answers: likely, with low to high; or that they are being worked out."""
        from fillcalc.present.lines import main_lines, stopping, working_lines

        estimate, answered = self._told(), self.session.answered
        readings = answered.readings if answered is not None else None
        if estimate is None:
            return stopping(working_lines(), readings)
        return main_lines(estimate, self.units, readings)

    def _told(self) -> Any:
        """The last estimate with ranges, each figure rounded to what its range bears; None before the first."""
        from fillcalc.questions.likely import likely

        ranged = self.session.ranged
        return None if ranged is None or ranged.estimate is None else likely(ranged.estimate, self.units)

    def _ranged_old(self, answered: Answered) -> bool:
        """Whether low, likely and high are of an older text than the answers are."""
        return self.session.ranged is not None and self.session.ranged.number != answered.number

    def _nothing(self, width: int) -> list[Content]:
        problems, table = self.session.problems, self.session.table
        if not problems:
            return [Content(" Working it out…")]
        from fillcalc.units.printable import shown
        from tui.places.field_help import problem_words

        to_do = "must be given" if all((p.expected or "").startswith("needed") for p in problems) else "to fix"
        return [Content(f" No answers yet: {_inputs(len(problems))} {to_do}.").stylize("bold"),
                *(Content(shown(f" ! {name_of(p.path, self.units, table) if p.path else f'line {p.line}'}: ")
                          + problem_words(p, self.units)).truncate(max(1, width), ellipsis=True)
                  for p in problems[:5])]

    def _kept(self, kept: Answered, width: int, old: bool) -> list[Content]:
        """The main answers, kept and now, with the difference."""
        from tui.places.compare import main_pairs

        session = self.session
        if kept.estimate is None or session.answered is None or session.answered.estimate is None:
            return []
        now = session.answered.estimate
        ranged = session.ranged
        if ranged is not None and ranged.estimate is not None and ranged.number == session.answered.number:
            now = ranged.estimate
        label = self._style("answers--label")
        rows = [Content.styled(f" {'':<{LABEL}}{'Kept':<{KEPT}}{'Was' if old else 'Now':<{KEPT}}Difference", label)]
        style = self._style("answers--old" if old else "answers--value")
        rows += [Content.assemble((f" {p.label:<{LABEL}}", label), f"{p.kept:<{KEPT}}", (f"{p.now:<{KEPT}}", style),
                                  p.difference).truncate(max(1, width), ellipsis=True)
                 for p in main_pairs(kept.estimate, now, self.units)]
        return rows

    def _row(self, line: Line, width: int, old: bool) -> Content:
        """One line of answers in one row, without the last things beside it where there is no room."""
        from fillcalc.present.lines import WORKING
        from fillcalc.present.sentences import trade

        old = old and line.value != WORKING
        start = Content.assemble(
            (f" {line.label:<{LABEL}}", self._style("answers--label")),
            (f"{'was' if old else '':<{WAS}}", self._style("answers--old")),
            (f"{line.value:<{VALUE}} ", self._style("answers--old" if old else "answers--value")))
        beside = tuple(trade(part, self.units) for part in line.more)
        while len(beside) > 1 and start.cell_length + len(" · ".join(beside)) > width:
            beside = beside[:-1]
        words = Content.styled(" · ".join(beside), self._style("answers--old" if old else "answers--beside"))
        return start.append(words).truncate(max(1, width), ellipsis=True)

    def _cautions(self, width: int, rows: int) -> list[Content]:
        """The gravest cautions in words, in so many rows; what does not fit is counted."""
        answered = self.session.answered
        said = answered.cautions if answered else ()
        if not said:
            return [] if self.full else [Content.styled(f" {SAFETY}", self._style("answers--label"))]
        lines: list[Content] = []
        left = len(said)
        for caution in said:
            word = caution.weight.upper()
            style = self._style("answers--danger") if caution.weight == "danger" else ""
            body = Content.assemble((f"{word}: ", style), caution.text)
            wrapped = [Content(" ") + part for part in body.wrap(max(8, width - 2))]
            if len(lines) + len(wrapped) > rows:
                if lines:
                    break
                wrapped = wrapped[:rows]
                wrapped[-1] = wrapped[-1].truncate(max(1, width - 8), ellipsis=True)
            lines += wrapped
            left -= 1
        if left > 0:
            more = f" (+{left} more: Esc R)"
            last = lines[-1].truncate(max(1, width - len(more) - 1), ellipsis=True)
            lines[-1] = Content.assemble(last, (more, self._style("answers--label")))
        return lines

    def _style(self, name: str) -> Any:
        return self.get_visual_style(name)


def _inputs(number: int) -> str:
    return "1 input" if number == 1 else f"{number} inputs"
