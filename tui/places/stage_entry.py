"""The clock of the stages on the screen: one key goes to the next stage, and the rest of the visit is told anew."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

from tui.state.stage_clock import AGAIN_S, HASTY_S, Running, lasted_s, pressed, running

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

    session = host.session
    table = session.table or {}
    shown = session.ranged or session.answered
    if shown is None or shown.estimate is None:
        host.say("The clock needs a case that can be answered.")
        return
    ended = running(table)
    if ended is not None and ended.just_began(now()):
        host.say(f'Not ended: stage "{_label(ended.key)}" has only just begun. In {HASTY_S:.0f} s N ends it; '
                 "Ctrl+Z takes the last N back.")
        return
    if ended is not None and (early := _too_early(session, ended, host.units)):
        host.say(early)
        return
    found = pressed(table, stages_of(shown.estimate), now())
    if not found:
        host.say("All stages have their times. Empty one in the group What it took to time it again.")
        return
    session.put_many("took", found)
    await host.show_case()
    host.say(said_of(ended.key if ended else "", found))


def stepped_words(session: Session) -> str:
    """What a step back or forward of the clock led to: the stage that runs now."""
    ran = running(session.table or {})
    return f"stage clock. Stage now: {_label(ran.key) if ran is not None else 'none'}."


def _too_early(session: Session, ran: Running, units: str) -> str:
    """What is said where a stage that is to last some time is not over; "" where it is, or a press ends it still."""
    from fillcalc.present.clock import early_sentence, to_last

    answered, at = session.answered, now()
    if answered is None or answered.case is None or answered.estimate is None or \
            ran.asked_lately(session.early_end_asked, at):
        return ""
    lasts = to_last(ran.key, answered.case, answered.estimate)
    lasted = lasted_s(session.table or {}, ran, at)
    if lasted >= lasts:
        return ""
    session.early_end_asked = at
    return early_sentence(ran.key, lasts, lasted, AGAIN_S, units)


def said_of(ended: str, found: Mapping[str, str | None]) -> str:
    """What is said of a press that ended a stage, "" for none, and wrote this."""
    took = f"{_label(ended).capitalize()} took {found[f'took.{ended}']}. " if ended else "The clock runs. "
    begun = found.get("took.running")
    if begun is None:
        return f"{took}The visit is over. Save keeps the times."
    return f"{took}{'Next' if ended else 'First'} stage: {_label(begun)}. Ctrl+Z takes this back."


def _label(key: str) -> str:
    """What a stage is called, by its key."""
    from fillcalc.present.tables import stage_label

    return stage_label(key)


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
