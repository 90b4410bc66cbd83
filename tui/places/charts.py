"""Which charts are in sight, and what they are made of at the moment."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, cast

if TYPE_CHECKING:
    from tui.app import Fillcalc
    from tui.places.chart_data import Subject
    from tui.widgets.chart import Charts


class ChartDesk:
    """The charts of the screen; they are mounted once their library is loaded."""

    def __init__(self, app: Fillcalc) -> None:
        self.app = app
        self.ready = False
        self.place = 0
        self.letters_only = False

    async def mount(self) -> None:
        from tui.widgets.chart import Charts

        self.ready = True
        await self.app.main.query_one("#side").mount(Charts(id="charts"))
        self.app.call_after_refresh(self.draw)

    @property
    def charts(self) -> Charts | None:
        """The panels beside the answers; None on a small screen or before they are mounted."""
        found = self.app.main.query("#charts")
        return cast("Charts", found.first()) if found and self.app.main.has_class("wide") else None

    def subject(self) -> Subject | None:
        """What the charts are made of; None without answers."""
        from fillcalc.estimation.answers import as_written
        from fillcalc.questions.likely import likely
        from tui.places.chart_data import Subject

        session = self.app.session
        answered = session.answered
        if answered is None or answered.case is None or answered.estimate is None:
            return None
        estimate = likely(answered.estimate, self.app.units)
        if session.ranged is not None and session.ranged.estimate is not None and not estimate.stages:
            ranged = likely(session.ranged.estimate, self.app.units)
            estimate = replace(estimate, stages=ranged.stages, visit=ranged.visit, matters=ranged.matters)
        other = session.other[1] if session.other is not None and session.other[0] == answered.number else None
        return Subject(answered.case, estimate, None if other is None else as_written(other), self.app.units)

    def draw(self) -> None:
        """Draw the charts that are in sight."""
        charts = self.charts
        subject = self.subject() if charts is not None else None
        if charts is not None and subject is not None:
            charts.draw(subject, self.app.answers_old)

    def mark_old(self) -> None:
        if self.charts is not None:
            self.charts.mark_old(self.app.answers_old)

    def next(self) -> None:
        """The next chart; on a small screen, the charts over the whole of it."""
        subject = self.subject()
        if subject is None or not self.ready:
            self.app.say("There is nothing to draw yet.")
        elif self.charts is not None:
            self.place += 1
            self.charts.place = self.place
            self.draw()
        else:
            from tui.widgets.chart import ChartScreen

            self.app.push_screen(ChartScreen(subject, self.app.answers_old, self.place, self.letters_only))

    def change_marks(self) -> None:
        """Fine lines, or letters for terminals that lack the fine dots."""
        self.letters_only = not self.letters_only
        if self.charts is not None:
            self.charts.letters_only = self.letters_only
            self.charts.forget()
        self.draw()
        self.app.say("Charts in plain letters." if self.letters_only else "Charts in fine lines.")
