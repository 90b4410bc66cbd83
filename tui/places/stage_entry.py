"""The clock of the stages on the screen: one key goes to the next stage, and the rest of the visit is told anew."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

from tui.state.stage_clock import pressed, running

if TYPE_CHECKING:
    from fillcalc.case.records import Case
    from fillcalc.present.charts import Subject
    from fillcalc.questions.remaining import Rest
    from tui.places.host import Host
    from tui.state.session import Session

HOW = "N: the work begins. Each N after that ends a stage, writes what it took, and begins the next."


def now() -> datetime:
    """The time by the clock on site."""
    return datetime.now()


async def press(host: Host) -> None:
    """End the running stage and begin the next, as one step of undo."""
    from fillcalc.present.clock import stages_of
    from fillcalc.present.tables import stage_label

    session = host.session
    table = session.table or {}
    shown = session.ranged or session.answered
    if shown is None or shown.estimate is None:
        host.say("The clock needs a case that can be answered.")
        return
    ended = running(table)
    found = pressed(table, stages_of(shown.estimate), now())
    if not found:
        host.say("All stages have their times. Empty one in the group What it took to time it again.")
        return
    session.put_many("took", found)
    await host.show_case()
    begun = found.get("took.running")
    words = f"{stage_label(ended.key.replace('_', ' ')).capitalize()}: {found[f'took.{ended.key}']}. " if ended else ""
    host.say(f"{words}Now: {stage_label(begun.replace('_', ' '))}." if begun else
             f"{words}The visit is over. Save keeps the times.")


def is_running(session: Session) -> bool:
    """Whether the clock runs on some stage."""
    return running(session.table or {}) is not None


def newest_case(session: Session, subject: Subject) -> Case:
    """The newest case that could be read, for what it took; else that of the answers."""
    case = session.answered.case if session.answered is not None else None
    return subject.case if case is None else case


def clock_sentences(session: Session, subject: Subject) -> list[str]:
    """Which stage runs, when the work is done, and which key goes on."""
    from fillcalc.present.clock import leave_sentence, running_sentence

    ran, at = running(session.table or {}), now()
    if ran is None:
        rest = _rest(session, subject, 0.0)
        return [HOW] if rest is None else [leave_sentence(rest, at), "" if rest.likely_s == 0.0 else HOW]
    elapsed = ran.elapsed_s(at)
    rest = _rest(session, subject, elapsed)
    rest_words = [] if rest is None else [leave_sentence(rest, at)]
    return [running_sentence(ran.key, elapsed, rest, subject.units), *rest_words,
            "N ends this stage. Times can be corrected in the group What it took."]


def _rest(session: Session, subject: Subject, elapsed: float) -> Rest | None:
    """What is left of the visit; None while its samples are worked out."""
    from fillcalc.questions.remaining import rest

    visit = session.ranged.ahead if session.ranged is not None else None
    return None if visit is None else rest(replace(visit, case=newest_case(session, subject)), elapsed)
