"""Sessions on a file, on a case of which nothing is given yet, and on work that was left unsaved."""

from __future__ import annotations

from pathlib import Path

from fillcalc.case.own import NO_OWN, Own, beside
from fillcalc.case.shape_of import is_kit
from tui.state.disk import demo_folder
from tui.state.drafts import Draft, Drafts, digest
from tui.state.session import Session

EMPTY = """format = 1

[vessel]
shape = "by volume"

[tap]
kind = "tap"

[[fill.hose]]

[test]

[pump]
kind = "air-driven"
"""
"""A new case on the screen: a shape and kinds, for the form needs some, and no figure that might pass for given."""


def opened(path: Path, drafts: Drafts, own: str | None = None) -> Session:
    """A session on a file; a shipped demo case opens as a copy without a file. Raises OSError, ValueError.

    `own` is the file of one's own figures, "none" for none, None for the one beside the case or in the folder of work.
    """
    session = Session.open(path, drafts)
    session.own, session.own_problem = own_figures(str(path), own)
    if is_kit(session.table or {}):
        raise ValueError("is a kit, not a case: Esc 5 tries it on a case")
    if path.resolve().parent == demo_folder():
        session.path, session.on_disk = None, None
    return session


def own_figures(path: str, asked: str | None) -> tuple[Own, str]:
    """The figures of one's own that go with a case, and what is wrong with their file where they cannot be used."""
    found = beside(path) if asked is None else "" if asked == "none" else asked
    if not found:
        return NO_OWN, ""
    from fillcalc.case.own_file import read_own_file
    from fillcalc.case.problems import CaseProblems

    try:
        return read_own_file(found), ""
    except CaseProblems as problems:
        return NO_OWN, str(problems.problems[0])


def fresh(drafts: Drafts, own: str | None = None) -> Session:
    """A session on a case of which nothing is given yet; `own` as in `opened`."""
    session = Session(EMPTY, None, "new case", drafts)
    session.own, session.own_problem = own_figures("", own)
    return session


def taken_up(draft: Draft) -> Session:
    """A session on unsaved work: its file as it is on disk counts as saved, the text as a change.

    Where that file is no longer the one that the work was begun on, saving asks first.
    """
    drafts = Drafts()
    path = Path(draft.path) if draft.path else None
    if path is None or (path.exists() and not path.is_file()):  # a pipe or a folder is no case's file
        session = Session("", None, draft.name, drafts)
    else:
        try:
            session = opened(path, drafts)
        except (OSError, ValueError):
            session = Session("", path, draft.name, drafts)
    if session.text != draft.text:
        session.replace(draft.text, "unsaved work")
    session.saved_text = session.saved_text if session.path else ""
    session.half_reading = draft.reading
    if session.path is not None and digest(session.on_disk) != draft.base:
        session.begun_on = draft.base or "unknown"
    return session
