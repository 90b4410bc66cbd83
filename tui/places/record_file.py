"""A recorder's file: which one is asked for and read, where its hold is, and how both are drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from textual.binding import Binding
from textual.content import Content
from textual.message import Message

from fillcalc.units.printable import shown
from tui.places.files import NARROWS, as_typed, offers
from tui.places.place import Place, joined
from tui.state.disk import beside, reason
from tui.state.recorded import Recorded, recorded
from tui.widgets.dialogs import Ask, AskFile

if TYPE_CHECKING:
    from fillcalc.case.records import Case
    from fillcalc.estimation.answers import Caution
    from tui.places.host import Host

KINDS = (".csv", ".txt", ".tsv", ".log", ".dat")
"""Ends of the names of the files that are offered; any other can be typed."""
COLUMNS = "Which columns, and the unit of the pressure"
COLUMNS_EXAMPLE = "Such as time=1,pressure=3; bar   or with a unit behind a number: time=1 s,pressure=2; bar"
MOVE = "Where the hold is; empty: where it is found"
MOVE_EXAMPLE = "Such as 10:42-11:12, or 6 min-36 min from the first row"


class RecordWanted(Message):
    """A recorder's file is to be picked, or something said of the one that was read: a flow of the screen by its name,
    such as "move_hold"."""

    def __init__(self, what: str = "record") -> None:
        super().__init__()
        self.what = what


def case_now(host: Host) -> tuple[Case, str] | None:
    """The case of the last good answers and its text; None before the first."""
    answered = host.session.answered
    return None if answered is None or answered.case is None else (answered.case, answered.text)


async def pick(host: Host) -> None:
    """Ask for a file, read it beside the screen, and show what it tells."""
    await host.settle()
    now = case_now(host)
    if now is None:
        host.say("No file read: the case has no answers yet.")
        return
    folder = host.session.path.parent if host.session.path else Path.cwd()
    value, wrong, columns, unit = "", "", "", ""
    while True:
        found = await beside(offers, folder, KINDS)
        question = "Read a recorder's file: its path, or one of these"
        answer = await host.ask(AskFile(question, value, found, wrong, NARROWS))
        if not answer:
            return
        path = folder / Path(answer).expanduser()
        if await beside(path.is_dir):
            folder, value, wrong = await beside(path.resolve), "", ""
            continue
        host.say(f"Reading {shown(path.name)}.")
        wrong = await _read(host, path, columns, unit, now)
        if wrong and "--" in wrong:
            typed = await host.ask(Ask(COLUMNS, wrong=_plain(wrong), hint=COLUMNS_EXAMPLE))
            if not typed:
                return
            columns, _, unit = (part.strip() for part in typed.partition(";"))
            if columns and "=" not in columns:
                columns, unit = "", columns
            wrong = await _read(host, path, columns, unit, now)
        if not wrong:
            return
        value = as_typed(answer, found)


def _plain(words: str) -> str:
    """A problem of the command line in the words of the screen."""
    return words.replace("--columns ", "").replace("--unit ", "").replace('"', "")


async def _read(host: Host, path: Path, columns: str, unit: str, now: tuple[Case, str]) -> str:
    """Read one file into the session; what is wrong, "" where nothing is."""
    from fillcalc.case.problems import CaseProblems

    try:
        host.session.recorded = await beside(recorded, path, columns, unit, *now)
    except CaseProblems as problems:
        return "\n".join(map(str, problems.problems[:3]))
    except (OSError, ValueError, ArithmeticError) as error:
        return f"{shown(path.name)}: {reason(error)}"
    host.say(f"Read {shown(path.name)}: {len(host.session.recorded.log.time_s)} rows. Place 4 tells what it says.")
    return ""


async def move(host: Host) -> None:
    """Ask where the hold is, and work the record out again."""
    record = host.session.recorded
    span = record.found.parts.hold if record is not None else None
    value = f"{record.log.clock(span.start_s)}-{record.log.clock(span.end_s)}" if record and span else ""
    await _say_of(host, Wanted("hold", MOVE, MOVE_EXAMPLE, value, "The hold was moved.",
                               "The hold is where it was found."))


async def strokes(host: Host) -> None:
    """Ask how fast the pump ran, and work the trapped air out from that."""
    from fillcalc.case.names import capital
    from fillcalc.recorder.asked import STROKES

    await _say_of(host, Wanted("strokes", capital(STROKES.label), f"{capital(STROKES.help)}. Such as {STROKES.example}",
                               "", "The rise was counted by these strokes.", "The rise is counted by the case's pump."))


async def leak(host: Host) -> None:
    """Ask which leak matters, and say whether the hold could show it."""
    from fillcalc.case.names import capital
    from fillcalc.recorder.asked import LEAK

    await _say_of(host, Wanted("leak", capital(LEAK.label), f"{capital(LEAK.help)}. Such as {LEAK.example}", "",
                               "The hold was judged for this leak.", "No leak is asked for."))


@dataclass(frozen=True)
class Wanted:
    """What is asked of a record: the field of `Said`, the question, its example, what stands there at first, and what
    is said once it is taken, or emptied."""

    field: str
    title: str
    hint: str
    first: str
    taken: str
    emptied: str


async def _say_of(host: Host, wanted: Wanted) -> None:
    """Ask one thing of the record that was read; what cannot be read is kept and asked again."""
    record, now, wrong = host.session.recorded, case_now(host), ""
    if record is None or now is None:
        host.say("There is no record yet: Esc S F reads a recorder's file.")
        return
    value = getattr(record.said, wanted.field) or wanted.first
    while True:
        typed = await host.ask(Emptiable(wanted.title, value, wrong=wrong, hint=wanted.hint))
        if typed == Emptiable.given_up:
            return
        try:
            host.session.recorded = await beside(record.anew, *now, replace(record.said, **{wanted.field: typed}))
        except ValueError as error:
            value, wrong = typed, str(error)
            continue
        host.say(wanted.taken if typed else wanted.emptied)
        return


class Emptiable(Ask):
    """A line that may be emptied: nothing is said then."""

    given_up = "\0"
    """What comes of leaving it."""
    BINDINGS = [Binding("escape", "dismiss('\\0')", show=False)]


async def again(host: Host) -> bool:
    """Work the record out for the case as it is now; whether anything changed."""
    record, now = host.session.recorded, case_now(host)
    if record is None or now is None or record.text == now[1]:
        return False
    try:
        new = await beside(record.anew, *now, record.said)
    except ValueError:
        return False
    if host.session.recorded is record:
        host.session.recorded = new
    return True


def record_lines(place: Place, record: Recorded, case: Case, units: str, width: int) -> Sequence[Content]:
    """What a record tells: figures, the record with its parts, the hold as explained, and every sentence."""
    from fillcalc.cautions.recording import recording_cautions
    from fillcalc.present import recording as present
    from fillcalc.present.sentences import trade

    log, found = record.log, record.found

    def said(title: str, sentences: Sequence[str]) -> list[Content]:
        words = [trade(one, units) for one in sentences if one]
        return [*place.heading(title, width), *place.paragraphs(words, width)] if words else []

    def rows(table: Sequence[tuple[str, ...]]) -> list[Content]:
        return place.table(table, width, heads=True) if table else []

    near = present.hold_chart(found, log, units)
    figures = present.main_rows(found, units)
    wide = max((len(value) for _, value, _ in figures), default=0)
    main = [Content(" ") + part for name, value, more in figures for part in Content.assemble(
        (f"{name:<12} ", place.style_of("faint")), (f"{value:<{wide}}  ", place.style_of("strong")),
        trade(more, units)).wrap(width - 2)]
    return joined(
        [*place.heading(f"What {shown(log.name, 40)} tells", width), *main],
        _warned(place, recording_cautions(case, log, found, units), units, width),
        said(present.EXPLAINS, present.hold_sentences(found, log, units)),
        [*place.heading(near.title, width), *place.drawn(near, width, 12)] if near is not None else [],
        rows(present.explained_rows(found.fit, units)) if found.fit is not None else [],
        [*place.heading(present.RECORD, width), *place.drawn(present.record_chart(found, log, units), width, 14)],
        rows(present.part_rows(found, log, units)), said(present.PARTS, present.part_sentences(found, log, units)),
        said("The rise", present.rise_sentences(found, units)), said("The file", present.file_sentences(log)))


def _warned(place: Place, cautions: Sequence[Caution], units: str, width: int) -> list[Content]:
    """The cautions of the record, the heaviest first."""
    from fillcalc.present.sentences import trade

    return [line for each in cautions for line in place.led(
        f"{each.weight.upper()}: ", "danger" if each.weight == "danger" else "strong", trade(each.text, units), width)]
