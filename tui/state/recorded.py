"""A recorder's file beside the case: what was read, and what it tells of one text of the case."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fillcalc.case.records import Case
    from fillcalc.questions.recording.hold import RecordedHold
    from fillcalc.recorder.log import Log


@dataclass(frozen=True)
class Recorded:
    """A record, where its hold is said to be ("" where it is found), and what it tells of a text of the case."""

    path: Path
    log: Log
    between: str
    text: str
    found: RecordedHold

    def move(self, case: Case, text: str, between: str) -> Recorded:
        """The same with another text of the case, or another hold. Raises NotInRecord."""
        from fillcalc.questions.recording.hold import hold

        return replace(self, between=between, text=text, found=hold(case, self.log, between))


def recorded(path: Path, columns: str, unit: str, case: Case, text: str) -> Recorded:
    """Read a file and work it out. Raises CaseProblems for a file that cannot be used."""
    from fillcalc.questions.recording.hold import hold
    from fillcalc.recorder.read import read_log

    log = read_log(path, columns, unit)
    return Recorded(path, log, "", text, hold(case, log))
