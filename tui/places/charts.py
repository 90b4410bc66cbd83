"""The charts beside the answers, or over the whole of a small screen; and what they are made of at the moment."""

from __future__ import annotations

from dataclasses import replace
from importlib import import_module
from typing import TYPE_CHECKING, Any

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Container
from textual.content import Content
from textual.widgets import Static

from tui.state.disk import beside
from tui.widgets.question import Question

if TYPE_CHECKING:
    from fillcalc.present.charts import Bars, Chart
    from tui.places.chart_data import Subject
    from tui.places.host import Host
    from tui.state.session import Session
    from tui.widgets.chart import ChartPanel

PANELS = 3
"""Charts below each other on the largest screen; the others show the first alone."""


class Charts(Container):
    """The charts of the case; they are drawn once their library is loaded, a fifth of a second's work."""

    def __init__(self, host: Host, id: str | None = None) -> None:
        super().__init__(id=id)
        self.host = host
        self.ready = False
        self.number = 0
        self.letters_only = False
        self._loading = False
        self._panels: list[ChartPanel] = []

    async def load(self) -> None:
        """Load the library on another thread and put the panels in place, once."""
        if self._loading:
            return
        self._loading = True
        await beside(import_module, "tui.widgets.chart")
        from tui.widgets.chart import ChartPanel

        self._panels = [ChartPanel(classes=f"panel-{number}") for number in range(PANELS)]
        await self.mount_all(self._panels)
        self.ready = True
        self.call_after_refresh(self.draw)

    def draw(self) -> None:
        """Draw the panels that are in sight."""
        subject = subject_of(self.host.session, self.host.units)
        if subject is None or not self.ready or not self.display:
            return
        for number, panel in enumerate(self._panels):
            if panel.display:
                panel.letters_only = self.letters_only
                chart, where = chart_at(subject, self.number + number)
                panel.draw(chart, f"{where}, Ctrl+T next", self.host.answers_old)

    def mark_old(self) -> None:
        """Say in the titles whether the charts belong to an older text."""
        for panel in self._panels:
            if panel.display and panel.old != self.host.answers_old:
                panel.mark_old(self.host.answers_old)

    def next(self) -> None:
        """The next chart; on a small screen, the charts over the whole of it."""
        subject = subject_of(self.host.session, self.host.units)
        if subject is None or not self.ready:
            self.host.say("There is nothing to draw yet.")
        elif self.display:
            self.number += 1
            self.draw()
        else:
            self.app.push_screen(ChartScreen(subject, self.host.answers_old, self.number, self.letters_only))

    def change_marks(self) -> None:
        """Fine lines, or letters for terminals that lack the fine dots."""
        self.letters_only = not self.letters_only
        for panel in self._panels:
            panel.shown = None
        self.draw()
        self.host.say("Charts in plain letters." if self.letters_only else "Charts in fine lines.")


def subject_of(session: Session, units: str) -> Subject | None:
    """What the charts are made of; None without answers."""
    from fillcalc.estimation.answers import at_likely_values
    from fillcalc.questions.likely import likely
    from tui.places.chart_data import Subject

    answered = session.answered
    if answered is None or answered.case is None or answered.estimate is None:
        return None
    estimate = likely(answered.estimate, units)
    if session.ranged is not None and session.ranged.estimate is not None and not estimate.stages:
        ranged = likely(session.ranged.estimate, units)
        estimate = replace(estimate, stages=ranged.stages, visit=ranged.visit, matters=ranged.matters)
    other = session.other[1] if session.other is not None and session.other[0] == answered.number else None
    return Subject(answered.case, estimate, None if other is None else at_likely_values(other), units)


def chart_at(subject: Subject, number: int) -> tuple[Chart | Bars | None, str]:
    """The chart of that number, counted from 0 and anew after the last; and "2 of 7"."""
    from tui.places.chart_data import MAKERS

    make: Any = MAKERS[number % len(MAKERS)]
    return make(subject), f"{number % len(MAKERS) + 1} of {len(MAKERS)}"


class ChartScreen(Question[str]):
    """One chart over the whole of a small screen."""

    BINDINGS = [
        Binding("escape,q", "dismiss('')", show=False),
        Binding("right,down,ctrl+t,space,pagedown", "turn(1)", show=False, priority=True),
        Binding("left,up,pageup", "turn(-1)", show=False),
    ]

    def __init__(self, subject: Subject, old: bool, number: int, letters_only: bool) -> None:
        super().__init__()
        self.subject, self.old, self.number, self.letters_only = subject, old, number, letters_only

    def compose(self) -> ComposeResult:
        from tui.widgets.chart import ChartPanel

        self.panel = ChartPanel()
        yield self.panel
        yield Static(Content(" ← → other charts. Esc goes back.".ljust(400)), classes="foot")

    def on_mount(self) -> None:
        self.call_after_refresh(self.draw)

    def draw(self) -> None:
        self.panel.letters_only = self.letters_only
        chart, where = chart_at(self.subject, self.number)
        self.panel.draw(chart, where, self.old)

    def action_turn(self, by: int) -> None:
        self.number += by
        self.draw()
