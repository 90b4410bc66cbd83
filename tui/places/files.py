"""Open, save, new and quit: what they ask, and what they say afterwards."""

from __future__ import annotations

import asyncio
import os
import time
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from fillcalc.case.names import named
from fillcalc.case.read import is_kit
from fillcalc.units.printable import shown
from tui.state.disk import MOST_BYTES, beside
from tui.state.session import Session
from tui.state.unsaved import Desk, Draft, digest, forget
from tui.widgets.dialogs import Ask, Pages, Pick

if TYPE_CHECKING:
    from tui.app import Fillcalc

MOST_OFFERED = 200
"""Pieces of unsaved work in one list; older ones stay for the next start."""
EMPTY = """format = 1

[vessel]
shape = "standing cylinder"

[tap]
kind = "tap"

[[fill.hose]]

[test]

[pump]
kind = "air-driven"
"""
"""A new case on the screen: a shape and kinds, for the form needs some, and no figure that might pass for given."""
LOOK_S = 2.0
OLD = "Of an earlier text: the case has been changed since and cannot be used as it stands."


def reason(error: Exception) -> str:
    """Why a file cannot be used, in words."""
    if isinstance(error, UnicodeDecodeError):
        return "is not text in UTF-8"
    if isinstance(error, FileNotFoundError):
        return "no such file"
    if isinstance(error, OSError):
        return shown(error.strerror or str(error))
    return shown(str(error))


def opened(path: Path, desk: Desk) -> Session:
    """A session on a file; a shipped demo case opens as a copy without a file. Raises OSError, ValueError."""
    session = Session.open(path, desk)
    if is_kit(session.table or {}):
        raise ValueError("is a kit, not a case: Esc E tries it with a case")
    if path.resolve().parent == demo_folder():
        session.path, session.on_disk = None, None
    return session


def fresh(desk: Desk) -> Session:
    """A session on a case of which nothing is given yet."""
    return Session(EMPTY, None, "new case", desk)


def demo_folder() -> Path:
    import cases

    return Path(cases.__file__).resolve().parent


async def save(app: Fillcalc) -> bool:
    """Save to the case's own file; True when it is on disk."""
    session = app.session
    if session.path is None:
        return await save_as(app)
    return await _write(app, session.path)


async def save_as(app: Fillcalc) -> bool:
    """Ask for a name and save there; True when it is on disk."""
    session, wrong = app.session, ""
    value = str(session.path or Path.cwd() / (session.name if session.name.endswith(".toml") else "case.toml"))
    folder = Path(value).parent
    while True:
        value = await app.push_screen_wait(Ask("Save the case as", value, wrong=wrong))
        if not value:
            return False
        path = folder / Path(value).expanduser()
        path = path if path.suffix else path.with_suffix(".toml")
        if await beside(path.is_dir):
            wrong = f"{shown(path.name)} is a folder: add a file name."
            continue
        if await _write(app, path):
            return True
        wrong = app.foot.saying


async def _write(app: Fillcalc, path: Path, over: bool = False, agreed: bool = False) -> bool:
    from fillcalc.case.save import ChangedUnderneath, NotWithoutConsent

    try:
        lost = await beside(app.session.save, path, over, agreed)
    except NotWithoutConsent as error:
        word = await app.push_screen_wait(Pick(f"{shown(str(error))}.", [
            ("write", "Write it all the same"), ("as", "Save under another name"), ("", "Back, nothing saved")]))
        if word == "as":
            return await save_as(app)
        return await _write(app, path, over, agreed=True) if word == "write" else False
    except ChangedUnderneath as error:
        words = f"{shown(str(error))}.\nSaving puts this screen's text in its place."
        word = await app.push_screen_wait(Pick(words, [
            ("over", "Write over it"), ("as", "Save under another name"), ("", "Back, nothing saved")]))
        if word == "as":
            return await save_as(app)
        return await _write(app, path, True, agreed) if word == "over" else False
    except (OSError, ValueError) as error:
        app.say(f"Not saved: {reason(error)}.")
        return False
    number = len(app.session.problems)
    rest = f" {number} input{'s' if number != 1 else ''} cannot be used yet." if number else ""
    rest += f" Not kept of the old file: {shown(', '.join(lost))}." if lost else ""
    app.say(f"Saved {shown(str(path))}.{rest}")
    return True


async def may_leave(app: Fillcalc) -> bool:
    """Whether this case may be left: asks only when something is not saved."""
    session = app.session
    if session.saved:
        if session.desk:
            await beside(session.desk.clear)
        return True
    word = await app.push_screen_wait(Pick("This case has changes that are not saved.", [
        ("save", "Save them"), ("later", "Keep them aside for the next start"),
        ("away", "Throw them away"), ("", "Back to the case")], "save"))
    if word == "save":
        return await save(app)
    if word == "later":
        try:
            await beside(session.keep_unsaved)
        except OSError as error:
            app.say(f"Not kept: {reason(error)}.")
            return False
        if session.desk:
            session.desk.release()
        session.desk = None
        return True
    if word == "away":
        if session.desk:
            await beside(session.desk.clear)
        return True
    return False


async def open_another(app: Fillcalc) -> None:
    if not await may_leave(app):
        return
    folder = app.session.path.parent if app.session.path else Path.cwd()
    value, wrong = "", ""
    while True:
        offers = await beside(_offers, folder)
        answer = await app.push_screen_wait(Ask("Open a case: its path, or one of these", value, offers, wrong))
        if not answer:
            return
        path = folder / Path(answer).expanduser()
        try:
            path = await beside(path.resolve)
            if await beside(path.is_dir):
                folder, value, wrong = path, "", ""
                continue
            session = await beside(opened, path, Desk())
        except (OSError, ValueError, RuntimeError) as error:
            value, wrong = answer, f"{shown(path.name)}: {reason(error)}"
            continue
        await app.take_session(session, f"Opened {shown(path.name)}.")
        return


def _offers(folder: Path) -> list[tuple[str, str]]:
    """Cases in the folder, its folders, and the demo cases."""
    offers = [("..", "../")]
    try:
        entries = sorted(folder.iterdir(), key=lambda p: (p.is_file(), p.name.lower()))[:400]
        offers += [(str(p), f"{p.name}/") for p in entries if p.is_dir() and not p.name.startswith(".")]
        offers += [(str(p), p.name) for p in entries if p.suffix == ".toml"]
    except OSError:
        pass
    demos = sorted(demo_folder().glob("*.toml"))
    return [*offers, *((str(p), f"demo: {p.stem}") for p in demos if p.parent != folder and p.stem != "kit")]


async def watch(app: Fillcalc) -> None:
    """Say so when the file on disk is no longer what was opened; one look at a time, for a drive may be lost."""
    while True:
        await asyncio.sleep(LOOK_S)
        session = app.session
        if await beside(session.changed_on_disk) and session is app.session and not app.foot.saying:
            app.say("The file has changed on disk since it was opened. Saving will ask first.")


async def new(app: Fillcalc) -> None:
    if await may_leave(app):
        if app.session.kept is not None:  # another job is nothing to compare with
            await app.run_action("let_go")
        await app.take_session(fresh(Desk()), "A new case. Nothing is given yet: what must be is marked.")


async def offer_unsaved(app: Fillcalc) -> None:
    """Offer what earlier screens left unsaved, newest first; whatever is not thrown away stays for the next start."""
    desk, left = app.session.desk, []
    try:
        if desk is not None:
            left = await beside(desk.left_behind)
            _say_aside(app, desk.aside)
    finally:
        app.taking.begin(asks_first=bool(left))
    while left:
        chosen = left[0] if len(left) == 1 else await _one_of(app, left)
        if chosen is None:
            return
        file, draft = chosen
        word = await app.push_screen_wait(Pick(
            f"Work on {shown(draft.name)} was not saved on {_when(draft)}.", [
                ("take", "Open it again"), ("later", "Leave it for later"), ("away", "Throw it away")], "take"))
        if word == "away":
            await beside(forget, file)
            left.remove(chosen)
            continue
        if word == "take" and await may_leave(app):
            session = await beside(taken_up, draft)
            try:
                await beside(session.keep_unsaved)
                await beside(forget, file)
            except OSError as error:
                app.say(f"Not kept on disk: {reason(error)}.")
            await app.take_session(session, "Open again, not saved yet." if not session.begun_on else
                                   f"Open again. {shown(session.name)} has changed since: saving will ask first.")
        return


async def _one_of(app: Fillcalc, left: Sequence[tuple[Path, Draft]]) -> tuple[Path, Draft] | None:
    offers = [(str(n), f"{shown(draft.name)}, {_when(draft)}") for n, (_, draft) in enumerate(left[:MOST_OFFERED])]
    older = f" The newest {MOST_OFFERED}:" if len(left) > MOST_OFFERED else ""
    word = await app.push_screen_wait(Pick(
        f"{len(left)} pieces of work were not saved.{older}", [*offers, ("later", "Leave them for later")], "0"))
    return left[int(word)] if word and word != "later" else None


def _say_aside(app: Fillcalc, aside: Sequence[Path]) -> None:
    if len(aside) == 1:
        app.say(f"A file of unsaved work cannot be read. It is set aside: {shown(str(aside[0]))}")
    elif aside:
        folder = shown(str(aside[0].parent))
        app.say(f"{len(aside)} files of unsaved work cannot be read. They are set aside in {folder}")


def _when(draft: Draft) -> str:
    """When it was written, and where if that is another machine."""
    place = f", on {shown(draft.elsewhere)}" if draft.elsewhere else ""
    return time.strftime("%d %b %H:%M", time.localtime(draft.time_s)) + place


def taken_up(draft: Draft) -> Session:
    """A session on unsaved work: its file as it is on disk counts as saved, the text as a change.

    Where that file is no longer the one that the work was begun on, saving asks first.
    """
    desk = Desk()
    path = Path(draft.path) if draft.path else None
    if path is None or (path.exists() and not path.is_file()):  # a pipe or a folder is no case's file
        session = Session("", None, draft.name, desk)
    else:
        try:
            session = opened(path, desk)
        except (OSError, ValueError):
            session = Session("", path, draft.name, desk)
    if session.text != draft.text:
        session.replace(draft.text, "unsaved work")
    session.saved_text = session.saved_text if session.path else ""
    if session.path is not None and digest(session.on_disk) != draft.base:
        session.begun_on = draft.base or "unknown"
    return session


def report_of(app: Fillcalc) -> str:
    """The report on the last good answers, with a line where they are old; "" where there are none."""
    answered = app.session.answered
    if answered is None or answered.case is None or answered.estimate is None:
        return ""
    from fillcalc.formats.text import report

    text = report(answered.case, answered.estimate, app.units)
    if answered.readings is not None:
        from fillcalc.formats.readings_text import readings_report

        text += "\n" + readings_report(answered.case, answered.readings, app.units)
    return text if app.session.state == "now" else f"{OLD}\n\n{text}"


async def read_report(app: Fillcalc) -> None:
    await app.settle()
    text = report_of(app)
    if text:
        await app.push_screen_wait(Pages(text))
    else:
        app.say("There are no answers to read yet.")


async def read_comparison(app: Fillcalc) -> None:
    """Every answer kept and now, and what was changed in between."""
    import tomllib

    from tui.places.compare import all_pairs, changed_inputs

    session = app.session
    kept, now = session.kept, session.answered
    if kept is None or kept.estimate is None or now is None or now.estimate is None:
        app.say("Nothing is kept yet. Esc K keeps the present answers.")
        return
    if session.ranged is not None and session.ranged.number == now.number:
        now = session.ranged
    pairs = all_pairs(kept.estimate, now.estimate or kept.estimate, app.units)
    changed = changed_inputs(tomllib.loads(kept.text), tomllib.loads(now.text), app.units) or ["nothing"]
    lines = ["Kept · Now · Difference", "", *(f"Changed: {words}" for words in changed), ""]
    lines += [f"{p.label[:33]:<34}{p.kept:<12}{p.now:<12}{p.difference}" for p in pairs]
    await app.push_screen_wait(Pages("\n".join(lines)))


async def copy_answers(app: Fillcalc) -> None:
    """The report, or the visit that is being read: to the clipboard, and to a file beside the case."""
    page = app.screen
    visit = isinstance(page, Pages) and page.visit
    text = page.text if isinstance(page, Pages) and page.visit else report_of(app)
    if not text:
        app.say("There are no answers to copy yet.")
        return
    app.copy_to_clipboard(text)
    folder = app.session.path.parent if app.session.path else Path.cwd()
    stem = app.session.path.stem if app.session.path else "case"
    try:
        path = await beside(_write_copy, folder, f"{stem}-{'visit' if visit else 'answers'}", text)
    except (OSError, ValueError) as error:
        app.say(f"Copied to the clipboard; no file: {reason(error)}.")
        return
    app.say(f"Copied to the clipboard and to {shown(path.name)}.")


async def page_of(app: Fillcalc) -> None:
    """Ask for a name and write the page of the case there, off the screen's thread."""
    from tui.command.page_file import write_page

    await app.settle()
    answered = app.session.answered
    if app.session.state != "now" or answered is None or answered.case is None:
        app.say("A page needs answers to what is typed. Mend what is marked first.")
        return
    case, wrong = named(answered.case, app.session.name), ""
    value = str((app.session.path or Path.cwd() / "case").with_suffix(".html"))
    while True:
        value = await app.push_screen_wait(Ask("Write the page to", value, wrong=wrong,
                                               hint="One file with its charts, for a browser or a printer."))
        if not value:
            return
        app.say("Writing the page…")
        words, done = await asyncio.to_thread(write_page, str(Path(value).expanduser()), [case], app.units)
        app.say(words)
        if done:
            return
        wrong = words.replace(shown(str(Path(value).expanduser())), shown(Path(value).name), 1)


def _write_copy(folder: Path, stem: str, text: str) -> Path:
    """Write under a name that is free, or that holds an earlier copy of answers; that name. Raises OSError."""
    from fillcalc.case.save import save as save_file

    for number in range(1, 100):
        path = folder / (f"{stem}.txt" if number == 1 else f"{stem}-{number}.txt")
        there = _earlier_copy(path)
        if there is not None or not os.path.lexists(path):
            save_file(path, text.encode("utf-8", "replace"), there)
            return path
    raise FileExistsError(17, "no free name")


def _earlier_copy(path: Path) -> bytes | None:
    """The bytes of a copy of answers that is there; None where nothing is, or something else."""
    from fillcalc.case.disk import read_ordinary
    from fillcalc.present.sentences import TITLE

    try:
        data = read_ordinary(path, MOST_BYTES)
    except OSError:
        return None
    first = data.partition(b"\n")[0].decode("utf-8", "replace").rstrip("\r")
    return data if first in (TITLE, OLD) else None
