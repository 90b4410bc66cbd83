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
    """A record, what was said of it beside its file, and what it tells of a text of the case."""

    path: Path
    log: Log
    said: Said
    text: str
    found: RecordedHold

    def anew(self, case: Case, text: str, said: Said) -> Recorded:
        """The same with another text of the case, or with more said of the record. Raises ValueError with a sentence
        for what cannot be read, NotInRecord for a hold that the record does not have."""
        return replace(self, said=said, text=text, found=_found(case, self.log, said))


@dataclass(frozen=True)
class Said:
    """What a person said of a record, as typed; "" for nothing."""

    hold: str = ""
    """Where it is; else it is found."""
    strokes: str = ""
    leak: str = ""


def _found(case: Case, log: Log, said: Said) -> RecordedHold:
    from fillcalc.questions.recording.hold import hold
    from fillcalc.recorder.asked import LEAK, STROKES, read_asked

    strokes = read_asked(STROKES, said.strokes) if said.strokes else None
    return hold(case, log, said.hold, strokes, (read_asked(LEAK, said.leak),) if said.leak else ())


def recorded(path: Path, columns: str, unit: str, case: Case, text: str) -> Recorded:
    """Read a file and work it out. Raises CaseProblems for a file that cannot be used."""
    from fillcalc.recorder.read import read_log

    log, said = read_log(path, columns, unit), Said()
    return Recorded(path, log, said, text, _found(case, log, said))
