"""Open, save, new and quit: what they ask, and what they say afterwards."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from fillcalc.units.printable import shown
from tui.state.disk import beside, demo_folder, reason
from tui.state.drafts import Drafts
from tui.state.opening import fresh, opened
from tui.widgets.dialogs import Ask, AskFile, Pick

if TYPE_CHECKING:
    from tui.places.host import Host

NARROWS = "Letters of a name narrow the list."
LOOK_S = 2.0
"""How often the file on disk is looked at."""
MOST_LISTED = 400
"""Folders and files of a folder that are listed, at most."""


async def save(host: Host) -> bool:
    """Save to the case's own file; True when it is on disk."""
    session = host.session
    if session.path is None:
        return await save_as(host)
    return await _write(host, session.path)


async def save_as(host: Host) -> bool:
    """Ask for a name and save there; True when it is on disk."""
    session, wrong = host.session, ""
    value = str(session.path or Path.cwd() / (session.name if session.name.endswith(".toml") else "case.toml"))
    folder = Path(value).parent
    while True:
        value = await host.ask(Ask("Save the case as", value, wrong=wrong))
        if not value:
            return False
        path = folder / Path(value).expanduser()
        path = path if path.suffix else path.with_suffix(".toml")
        if await beside(path.is_dir):
            wrong = f"{shown(path.name)} is a folder: add a file name."
            continue
        if await _write(host, path):
            return True
        wrong = host.said


async def _write(host: Host, path: Path, over: bool = False, agreed: bool = False) -> bool:
    from fillcalc.case.save import ChangedUnderneath, NotWithoutConsent

    try:
        lost = await beside(host.session.save, path, over, agreed)
    except NotWithoutConsent as error:
        word = await host.ask(Pick(f"{shown(str(error))}.", [
            ("write", "Write it all the same"), ("as", "Save under another name"), ("", "Back, nothing saved")]))
        if word == "as":
            return await save_as(host)
        return await _write(host, path, over, agreed=True) if word == "write" else False
    except ChangedUnderneath as error:
        words = f"{shown(str(error))}.\nSaving puts this screen's text in its place."
        word = await host.ask(Pick(words, [
            ("over", "Write over it"), ("as", "Save under another name"), ("", "Back, nothing saved")]))
        if word == "as":
            return await save_as(host)
        return await _write(host, path, True, agreed) if word == "over" else False
    except (OSError, ValueError) as error:
        host.say(f"Not saved: {reason(error)}.")
        return False
    number = len(host.session.problems)
    rest = f" {number} input{'s' if number != 1 else ''} cannot be used yet." if number else ""
    rest += f" Not kept of the old file: {shown(', '.join(lost))}." if lost else ""
    host.say(f"Saved {shown(str(path))}.{rest}")
    return True


async def may_leave(host: Host) -> bool:
    """Whether this case may be left: asks only when something is not saved."""
    session = host.session
    if session.saved:
        if session.drafts:
            await beside(session.drafts.clear)
        return True
    word = await host.ask(Pick("This case has changes that are not saved.", [
        ("save", "Save them"), ("later", "Keep them aside for the next start"),
        ("away", "Throw them away"), ("", "Back to the case")], "save"))
    if word == "save":
        return await save(host)
    if word == "later":
        try:
            await beside(session.keep_unsaved)
        except OSError as error:
            host.say(f"Not kept: {reason(error)}.")
            return False
        if session.drafts:
            session.drafts.release()
        session.drafts = None
        return True
    if word == "away":
        if session.drafts:
            await beside(session.drafts.clear)
        return True
    return False


async def open_another(host: Host) -> None:
    if not await may_leave(host):
        return
    folder = host.session.path.parent if host.session.path else Path.cwd()
    value, wrong = "", ""
    while True:
        found = await beside(offers, folder)
        answer = await host.ask(AskFile("Open a case: its path, or one of these", value, found, wrong, NARROWS))
        if not answer:
            return
        path = folder / Path(answer).expanduser()
        try:
            path = await beside(meant, path)
            if await beside(path.is_dir):
                folder, value, wrong = path, "", ""
                continue
            session = await beside(opened, path, Drafts())
        except (OSError, ValueError, RuntimeError) as error:
            value, wrong = as_typed(answer, found), f"{shown(path.name)}: {reason(error)}"
            continue
        await host.take_session(session, f"Opened {shown(path.name)}.")
        return


def meant(path: Path) -> Path:
    """The file that a typed path means: with its ending where that was left out, else the demo of that name."""
    for each in (path, path.with_suffix(".toml"), demo_folder() / path.name,
                 (demo_folder() / path.name).with_suffix(".toml")):
        if each.exists():
            return each.resolve()
    return path.resolve()


def offers(folder: Path, kinds: tuple[str, ...] = (".toml",)) -> list[tuple[str, str]]:
    """Files of some kinds in the folder, cases where not said else, its folders, and the demos. Of very many it says
    how many more there are."""
    found = [("..", "../")]
    try:
        entries = sorted(folder.iterdir(), key=lambda p: (p.is_file(), p.name.lower()))
        within = [(str(p), f"{p.name}/") for p in entries if p.is_dir() and not p.name.startswith(".")]
        within += [(str(p), p.name) for p in entries if p.suffix.lower() in kinds]
        found += within[:MOST_LISTED]
        if len(within) > MOST_LISTED:
            found.append((str(folder), f"{len(within) - MOST_LISTED} more here: type the name"))
    except OSError:
        pass
    demos = sorted(path for path in demo_folder().iterdir() if path.suffix in kinds)
    return [*found, *((str(p), f"demo: {p.stem}") for p in demos if p.parent != folder and p.stem != "kit")]


def as_typed(answer: str, found: Sequence[tuple[str, str]]) -> str:
    """What stands in the line to be corrected: a path as it was typed, of a file that is offered its name."""
    return Path(answer).name if answer in [path for path, _ in found] else answer


async def watch(host: Host) -> None:
    """Say so when the file on disk is no longer what was opened; one look at a time, for a drive may be lost."""
    while True:
        await asyncio.sleep(LOOK_S)
        session = host.session
        if await beside(session.changed_on_disk) and session is host.session and not host.said:
            host.say("The file has changed on disk since it was opened. Saving will ask first.")


async def new(host: Host) -> None:
    if await may_leave(host):
        host.session.kept = None  # another job is nothing to compare with
        await host.take_session(fresh(Drafts()), "A new case: give what is marked.")
        await host.to_the_form("vessel.volume")
