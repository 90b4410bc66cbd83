"""One case being worked on: its text, the way back, what it says, and what was said before.

Plain Python; knows nothing of terminals. The text is the only thing that can be edited: the form
shows it, the reader judges it, undo is a list of texts.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from fillcalc.case.own import NO_OWN, Own
from tui.state.disk import MOST_BYTES
from tui.state.drafts import Drafts, digest
from tui.state.inputs import KINDS, as_typed, carried_over, keys_of, raw
from tui.state.range_text import ranges_within, without_item, without_ranges

if TYPE_CHECKING:
    from fillcalc.case.problems import Problem
    from fillcalc.case.records import Case
    from fillcalc.estimation.answers import Caution, Estimate
    from fillcalc.questions.readings.answer import ReadingsAnswer
    from fillcalc.questions.remaining import Ahead
    from tui.state.recorded import Recorded

MOST_STEPS_BACK = 2000
FEW = 1024
"""Samples of low, likely and high that are told at once."""

State = Literal["now", "working", "old", "none"]


@dataclass(frozen=True)
class Answered:
    """What came of one text: answers, or the problems that stand in the way."""

    number: int
    text: str
    problems: tuple[Problem, ...] = ()
    case: Case | None = None
    estimate: Estimate | None = None
    cautions: tuple[Caution, ...] = ()
    readings: ReadingsAnswer | None = None
    """What the readings tell; None where the case has none."""
    sentences: tuple[str, ...] = ()
    """What limits the job and what to change first."""
    ahead: Ahead | None = None
    """The visit as samples, where the case says what was taken of it so far; with the ranges."""
    ranged: bool = False
    """True where low, likely and high are in it."""
    few: bool = False
    """True where those come of few samples; all of them follow."""
    failure: str = ""
    """Our own fault: what went wrong where nothing should."""


@dataclass(frozen=True)
class Request:
    """A text whose answers are wanted."""

    number: int
    text: str
    name: str
    units: str = "metric"
    own: Own = NO_OWN
    """Figures of one's own that stand in for defaults."""


def work_out(request: Request) -> Answered:
    """Read a text and estimate it as written; never raises for anything that a person typed."""
    from fillcalc.estimation.estimate import estimate

    read = understand(request)
    return read if read.case is None else _answered(read, read.case, estimate(read.case), request.units)


def with_few(request: Request) -> Answered:
    """As `work_out`, with low, likely and high of few samples; a test with gas, where those save little, without."""
    from fillcalc.case.medium import is_gas
    from fillcalc.questions.ranges import with_ranges

    read = understand(request)
    if read.case is None or is_gas(read.case):
        return work_out(request)
    return replace(_answered(read, read.case, with_ranges(read.case, FEW), request.units), ranged=True, few=True)


def _answered(read: Answered, case: Case, estimate: Estimate, units: str) -> Answered:
    """The answers with everything that is said about them in words."""
    from fillcalc.cautions import cautions
    from fillcalc.estimation.answers import at_likely_values
    from fillcalc.present import sentences as words

    case, plain = at_likely_values(case), at_likely_values(estimate)
    sentences = words.job_sentences(case, plain, units)
    found = None
    if case.reading and plain.gas is None:
        from fillcalc.questions.readings.answer import readings

        found = readings(case)
        sentences += words.reading_sentences(plain, found, units)
    raised = tuple(replace(one, text=words.trade(one.text, units)) for one in cautions(case, plain, units))
    return replace(read, estimate=estimate, cautions=raised, sentences=tuple(sentences), readings=found)


def other_air(answered: Answered) -> tuple[int, Estimate] | None:
    """The same case with another amount of trapped air, for comparison, and the number of its text; None without."""
    import numpy as np

    from fillcalc.present.charts import with_other_air

    if answered.case is None or answered.estimate is None:
        return None
    other = with_other_air(answered.case, float(np.ravel(answered.estimate.trapped_share)[0]))
    return None if other is None else (answered.number, other)


def with_ranges(request: Request) -> Answered | None:
    """The same with low, likely and high; None for a text that cannot be used."""
    from fillcalc.questions.ranges import with_ranges

    read = understand(request)
    if read.case is None:
        return None
    answered = _answered(read, read.case, with_ranges(read.case), request.units)
    return replace(answered, ranged=True, ahead=_ahead(read.case))


def _ahead(case: Case) -> Ahead | None:
    """The visit as samples, for a case whose job has begun."""
    if replace(case.took, first_reading=None) == type(case.took)():
        return None
    from fillcalc.questions.remaining import ahead

    return ahead(case)


def understand(request: Request) -> Answered:
    """Read a text: the case, or every problem at once."""
    from fillcalc.case.problems import CaseProblems
    from fillcalc.case.read import read_bytes

    try:
        case = read_bytes(request.text.encode("utf-8", "surrogatepass"), request.name, request.own)
        return Answered(request.number, request.text, (), case)
    except CaseProblems as error:
        return Answered(request.number, request.text, error.problems)


@dataclass
class _Step:
    text: str
    label: str


@dataclass
class Session:
    """The case on the screen. Every change goes through `put`, `put_many`, `drop`, `undo` or `redo`."""

    text: str
    path: Path | None = None
    name: str = "new case"
    drafts: Drafts | None = None
    own: Own = NO_OWN
    """Figures of one's own, from the file beside the case."""
    own_problem: str = ""
    """What is wrong with that file, where it cannot be used."""
    number: int = 1
    """Of the text as it stands; an answer with another number is stale."""
    answered: Answered | None = None
    """The last good answers."""
    ranged: Answered | None = None
    """The last good answers with low, likely and high, perhaps of an older text."""
    few: Answered | None = None
    """The same of few samples."""
    problems: tuple[Problem, ...] = ()
    """Of the last text that was read."""
    judged: int = 0
    """Number of the last text that was read."""
    saved_text: str = ""
    on_disk: bytes | None = None
    """The file as it was read or saved last; None where there was none."""
    begun_on: str = ""
    """Digest of the file that unsaved work was begun on, where that is no longer the one on disk; else ""."""
    kept: Answered | None = None
    """Answers that are held on to, for comparison."""
    other: tuple[int, Estimate] | None = None
    """The same with another amount of air, and the number of the text it belongs to."""
    clock_began: float | None = None
    """Moment of the first reading, by `tui.places.reading_entry.now_s`."""
    early_end_asked: datetime | None = None
    """When it was asked last, by the clock on site, if a stage is to end before its time."""
    half_reading: str = ""
    """A reading that was typed in part when the screen ended; its box begins with it."""
    recorded: Recorded | None = None
    """The recorder's file that was read beside this case."""
    offered: dict[str, str] = field(default_factory=dict)
    """The unit that Enter puts behind the plain number in the field in hand, by its path; empty where none is put."""
    copies: dict[Path, bytes] = field(default_factory=dict)
    """Reports and quotes that were written beside the case since it was opened."""
    _steps: list[_Step] = field(default_factory=list)
    _step_number: int = 0
    _run: str = ""
    """The path that is being typed into: one step back for all of it."""
    listeners: list[Callable[[], None]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.saved_text = self.saved_text or self.text
        self._steps = [_Step(self.text, "")]

    # --- the text --------------------------------------------------------------------------

    @property
    def table(self) -> dict[str, object] | None:
        """The text as a table, or None while it is not even TOML."""
        try:
            return tomllib.loads(self.text)
        except (tomllib.TOMLDecodeError, RecursionError, ValueError):
            return None

    @property
    def saved(self) -> bool:
        return self.text == self.saved_text

    @property
    def nothing_unsaved(self) -> bool:
        """Whether there is nothing that would be lost: the text is saved, and no reading is half typed."""
        return self.saved and not self.half_reading

    def put(self, path: str, value: str | None) -> bool:
        """Write one input (None or "" takes it out); False where nothing changed. Raises EditProblem."""
        return self._change(path, lambda base: _with(base, path, value, self._comment_of(path)), from_base=True)

    def _comment_of(self, path: str) -> str:
        """What stood behind an input when it was taken out last, so that it stands there again."""
        from fillcalc.case.edit import comment_at

        for number in range(self._step_number, 0, -1):
            if self._steps[number].label == path and (said := comment_at(self._steps[number - 1].text, path)):
                return said
        return ""

    def put_many(self, label: str, values: Mapping[str, str | None]) -> bool:
        """Write several inputs as one step; None takes one out."""
        from fillcalc.case.edit import set_at

        def all_of(text: str) -> str:
            for path, value in values.items():
                text = set_at(text, path, value)
            return text

        self.leave()
        changed = self._change(label, all_of)
        self.leave()
        return changed

    def drop(self, path: str) -> bool:
        """Take a whole table out, such as "fill.hose.2", as one step."""
        from fillcalc.case.edit import set_at

        self.leave()
        changed = self._change(path, lambda text: without_item(set_at(text, path, None), path))
        self.leave()
        return changed

    def replace(self, text: str, label: str) -> bool:
        """Put another text in its place, as one step."""
        self.leave()
        changed = self._change(label, lambda _: text)
        self.leave()
        return changed

    def leave(self, entered: str = "") -> None:
        """The field being typed into is left for another: the next change is a step of its own."""
        if entered != self._run:
            self._run = ""

    def undo(self) -> str | None:
        """One step back; what was taken back, or None."""
        self.leave()
        if self._step_number == 0:
            return None
        label = self._steps[self._step_number].label
        self._step_number -= 1
        self._now(self._steps[self._step_number].text)
        return label

    def redo(self) -> str | None:
        """One step forward again; what was done again, or None."""
        self.leave()
        if self._step_number + 1 >= len(self._steps):
            return None
        self._step_number += 1
        self._now(self._steps[self._step_number].text)
        return self._steps[self._step_number].label

    def _change(self, label: str, how: Callable[[str], str], from_base: bool = False) -> bool:
        going_on = self._going_on(label)
        base = self._base(label)
        new = how(base if from_base else self.text)
        if new == self.text:
            return False
        del self._steps[self._step_number + (0 if going_on else 1):]
        if new != base:
            self._steps.append(_Step(new, label))
        if len(self._steps) > MOST_STEPS_BACK:
            del self._steps[0]
        self._step_number = len(self._steps) - 1
        self._run = label if new != base else ""
        self._now(new)
        return True

    def _going_on(self, label: str) -> bool:
        return bool(self._run) and self._run == label and self._step_number > 0

    def _base(self, label: str) -> str:
        """The text before the run of keys that goes on at a path."""
        return self._steps[self._step_number - 1].text if self._going_on(label) else self.text

    def _now(self, text: str) -> None:
        self.text = text
        self.number += 1
        for listener in self.listeners:
            listener()

    # --- the answers -----------------------------------------------------------------------

    def take(self, answered: Answered) -> bool:
        """Take answers in; False, and nothing done, where they belong to an older text."""
        if answered.number != self.number or (answered.failure and answered.number == self.judged):
            return False
        if answered.ranged and not answered.few:
            self.ranged = answered
        elif self.answered is not None and self.answered.ranged and self.answered.number == answered.number:
            return False  # those of all samples were quicker
        elif answered.few:
            self.few = answered
        self.judged = answered.number
        self.problems = answered.problems
        if answered.estimate is not None:
            self.answered = answered
        return True

    def keep(self) -> bool:
        """Hold on to the present answers, with low, likely and high where they have come; False without answers."""
        best = self.ranged if self.ranged and self.answered and self.ranged.number == self.answered.number else None
        self.kept = best or self.answered
        return self.kept is not None

    @property
    def state(self) -> State:
        """now: answers of this very text; working: it is being read; old: it cannot be used yet."""
        if self.judged != self.number:
            return "working"
        if self.answered is None:
            return "none"
        return "now" if self.answered.number == self.number else "old"

    @property
    def newest_ranged(self) -> Answered | None:
        """What low, likely and high are read from: of all samples, or of few until those have come."""
        newest = 0 if self.ranged is None else self.ranged.number
        return self.few if self.few is not None and self.few.number > newest else self.ranged

    @property
    def only_missing(self) -> bool:
        """Whether all that stands in the way is what must still be given."""
        return all((problem.expected or "").startswith("needed") or problem.path in self.offered
                   for problem in self.problems)

    @property
    def ranges_old(self) -> bool:
        """Whether low, likely and high are of an older text than the answers; False before the first."""
        ranged = self.newest_ranged
        return ranged is not None and self.answered is not None and ranged.number != self.answered.number

    # --- the file --------------------------------------------------------------------------

    @classmethod
    def open(cls, path: Path, drafts: Drafts | None = None) -> Session:
        """Open a file; raises OSError or UnicodeDecodeError."""
        from fillcalc.case.disk import read_ordinary

        data = read_ordinary(path, MOST_BYTES)
        return cls(data.decode("utf-8-sig"), path, path.name, drafts, on_disk=data)

    def changed_on_disk(self) -> bool:
        """Whether the file is no longer what was read or saved here."""
        if self.path is None:
            return False
        from fillcalc.case.disk import read_ordinary

        try:
            return read_ordinary(self.path, MOST_BYTES) != self.on_disk
        except OSError:
            return self.on_disk is not None

    def save(self, path: Path | None = None, over: bool = False, agreed: bool = False) -> tuple[str, ...]:
        """Write the text to its file, or to another that becomes its file; the words for what could not be kept of
        the old file. Raises OSError as `fillcalc.case.save.save` does; `over` takes whatever is there now.

        The text may be edited meanwhile, on another thread: what was written is what counts as saved.
        """
        from fillcalc.case.save import ANYTHING, ChangedUnderneath, save

        target, text = path or self.path, self.text
        if target is None:
            raise FileNotFoundError("no file name yet")
        if self.begun_on and target == self.path and not over:
            raise ChangedUnderneath(f"{target.name} has changed since this work on it was begun")
        data = text.encode("utf-8")
        lost = save(target, data, ANYTHING if over else self.on_disk if target == self.path else None, agreed)
        self.path, self.name = target, target.name
        self.saved_text, self.on_disk, self.begun_on = text, data, ""
        self.leave()
        if self.drafts and self.saved:
            self.drafts.clear()
        return lost

    def keep_unsaved(self) -> None:
        """Put unsaved work on disk, or clear it away where all is saved; raises OSError."""
        if self.drafts is None:
            return
        if self.nothing_unsaved:
            self.drafts.clear()
        else:
            self.drafts.write(self.text, self.path, self.name, self.begun_on or digest(self.on_disk),
                              self.half_reading)


def _with(text: str, path: str, value: str | None, comment: str = "") -> str:
    """The text with one input written, and a comment behind it where it is new; None or "" takes it out."""
    from fillcalc.case.edit import set_at

    value = value if value is not None and value.strip() else None
    if path in KINDS:
        return _with_kind(text, path, value)
    return _tidy(set_at(text, path, value, comment), path, value)


def _with_kind(text: str, path: str, value: str | None) -> str:
    """Another shape or kind: what the new one does not know is taken out, what it calls otherwise is kept."""
    from fillcalc.case.edit import set_at

    table = path.rpartition(".")[0]
    old = raw(tomllib.loads(text), table)
    text = set_at(text, path, value)
    known = keys_of(path, value)
    if not isinstance(old, dict) or known is None:
        return text
    for key, now in carried_over(old, known).items():
        text = set_at(text, f"{table}.{now}", as_typed(old[key]))
    for key in old:
        if key not in known and f"{table}.{key}" != path:
            text = set_at(text, f"{table}.{key}", None)
    lost = [each for each in ranges_within(text, table) if each.split(".")[1] not in known]
    return without_ranges(text, lost)


def _tidy(text: str, path: str, value: str | None) -> str:
    """Where the last input of an optional table went, the table goes too."""
    from fillcalc.case.edit import set_at
    from fillcalc.case.read import NEEDED

    table = path.rpartition(".")[0]
    if value is None and table and not table.rpartition(".")[2].isdigit() and table not in NEEDED:
        left = raw(tomllib.loads(text), table)
        if isinstance(left, dict) and not left:
            return set_at(text, table, None)
    return text
