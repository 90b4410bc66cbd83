"""The place Hold, beside the vessel: the clock of the stages, readings as they come and what they tell, then the hold,
release and drain."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from math import isfinite
from typing import TYPE_CHECKING

from textual import events
from textual.binding import Binding
from textual.content import Content

from tui.places.gas import GAUGE, GAUGE_TITLE, gas_hold_parts
from tui.places.place import Place, joined
from tui.places.reading_entry import CLOCK_S, ReadingWanted, beside_readings
from tui.places.record_file import RecordWanted, again, record_lines
from tui.places.stage_entry import clock_sentences, is_running, newest_case
from tui.state.stage_clock import running

if TYPE_CHECKING:
    from fillcalc.case.records import Reading
    from fillcalc.present.charts import Subject
    from tui.state.session import Session

CLOCK = "clock"
READ = "F reads a recorder's file: its parts, the trapped air, and what explains the hold."
READ_AGAIN = "F: another file. H: move the hold. S: strokes a minute of the rise. L: the leak that matters."
KEYS = "A digit begins a reading. Esc, then a digit, opens another place."
USE = "U uses this trapped air in the case."
QUIET_S = 0.3
"""A record is worked out anew when nothing has changed for so long."""


class Hold(Place):
    """What the gauge tells, a recorder's file, and what follows the pump-up.

    A digit, or Enter, begins the next reading; F picks a recorder's file, H moves its hold, S and L say its strokes a
    minute and the leak that matters; N goes to the next stage; U gives the case the trapped air of the readings.
    """

    BINDINGS = [Binding("enter", "reading", show=False), Binding("n", "app.stage", show=False),
                Binding("f", "record('record')", show=False), Binding("h", "record('move_hold')", show=False),
                Binding("s", "record('record_strokes')", show=False), Binding("l", "record('record_leak')", show=False),
                Binding("u", "app.flow('use_air')", show=False)]

    _before: tuple[Session, tuple[Reading, ...], str] | None = None
    """Whose readings were shown last, which, and the stage that ran."""

    def on_mount(self) -> None:
        self.set_interval(CLOCK_S, self._tick)

    def _tick(self) -> None:
        if self.display and (self.host.session.clock_began is not None or is_running(self.host.session)):
            self.refresh()

    def on_key(self, event: events.Key) -> None:
        """A digit begins the next reading."""
        typed = event.character or ""
        if typed.isdigit():
            event.stop()
            self.post_message(ReadingWanted(typed))

    def action_reading(self) -> None:
        self.post_message(ReadingWanted())

    def action_record(self, what: str) -> None:
        self.post_message(RecordWanted(what))

    def answers_came(self) -> None:
        super().answers_came()
        self._bring_what_changed()
        record, answered = self.host.session.recorded, self.host.session.answered
        if record is not None and answered is not None and record.text != answered.text:
            self.run_worker(self._again(), exclusive=True, group="record")

    def _bring_what_changed(self) -> None:
        """Have in sight what a reading that has come tells, or the clock where it has gone on."""
        session, before = self.host.session, self._before
        now = self.host.telling.newest(session, self.host.units)
        ran = running(session.table or {})
        self._before = (session, () if now is None else now.case.reading, "" if ran is None else ran.key)
        if before is None or before[0] is not session or now is None:
            return
        if before[1] != self._before[1]:
            self.bring(GAUGE)
        elif before[2] != self._before[2]:
            self.bring(CLOCK)

    async def _again(self) -> None:
        """Work the record out for the case as it is now, once nothing has changed for a moment."""
        await asyncio.sleep(QUIET_S)
        if await again(self.host):
            self.refresh()

    def parts(self, now: Subject, ranged: Subject | None, width: int, height: int) -> Sequence[Content]:
        from fillcalc.present.lines import groups

        after = [] if ranged is None else [group for group in groups(ranged.case, ranged.estimate, ranged.units)
                                         if group.heading == "Hold and after" or ranged.estimate.gas is not None]
        clock = [*self.heading("Stage clock", width, part=CLOCK),
                 *self.paragraphs(clock_sentences(self.host.session, now), width), *self._stages(ranged, width)]
        if now.estimate.gas is not None:
            return joined(clock, gas_hold_parts(self, now, after, self._readings(now, width), width))
        record = self.host.session.recorded
        return joined(record_lines(self, record, now.case, now.units, width) if record is not None else [], clock,
                      [*self.heading(GAUGE_TITLE, width, part=GAUGE), *self.paragraphs(self._needle(now), width),
                       *self.named(beside_readings(self.host.session, now.units), width),
                       *self._readings(now, width),
                       *self.paragraphs([KEYS, *self._use(), READ if record is None else READ_AGAIN], width)],
                      self.groups(((group.heading, group.lines) for group in after), width))

    def _tells_air(self) -> bool:
        answered = self.host.session.answered
        found = answered.readings if answered is not None else None
        return found is not None and isfinite(found.share.likely)

    def _use(self) -> list[str]:
        """The key that gives the case what the readings tell."""
        return [USE] if self._tells_air() else []

    def _needle(self, now: Subject) -> list[str]:
        """Until which stroke it is normal that nothing moves, while no reading has told of the air yet."""
        from fillcalc.present.sentences import needle_sentence

        if self._tells_air():
            return []
        sentence = needle_sentence(now.case, now.estimate, now.units)
        return [sentence] if sentence else []

    def _stages(self, ranged: Subject | None, width: int) -> list[Content]:
        """What each stage took, a row each."""
        from fillcalc.present.clock import clock_rows

        if ranged is None:
            return []
        rows = clock_rows(newest_case(self.host.session, ranged), ranged.estimate, ranged.units)
        return self.table(rows, width, heads=True) if rows else []

    def _readings(self, now: Subject, width: int) -> list[Content]:
        """The readings of the case, a row each, in the order in which they came."""
        from fillcalc.present.readings import reading_rows

        rows = reading_rows(now.case, now.units)
        return self.table(rows, width, heads=True) if rows else []
