"""The place Set-up, beside the form: what the set-up comes to, and what limits the job."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual.content import Content

from tui.places.place import Place, joined

if TYPE_CHECKING:
    from fillcalc.present.charts import Subject


class SetUp(Place):
    """What the set-up comes to."""

    def parts(self, now: Subject, told: Subject | None, width: int, height: int) -> Sequence[Content]:
        from fillcalc.present.lines import groups
        from fillcalc.present.sentences import job_sentences

        if told is None:
            return ()
        return joined(*(self.told_lines(group.heading, group.lines, width)
                        for group in groups(told.case, told.estimate, told.units)),
                      self.said("What limits the job", job_sentences(told.case, told.estimate, told.units), width))
