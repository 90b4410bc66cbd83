"""Work that earlier screens left unsaved: which there is, and what is done with it."""

from __future__ import annotations

import time
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from fillcalc.units.printable import shown
from tui.places.files import may_leave
from tui.state.disk import beside, reason
from tui.state.drafts import Draft, forget
from tui.state.opening import taken_up
from tui.widgets.dialogs import Pick

if TYPE_CHECKING:
    from tui.places.host import Host

MOST_OFFERED = 200
"""Pieces of unsaved work in one list; older ones stay for the next start."""
async def left_behind(host: Host) -> list[tuple[Path, Draft]]:
    """What earlier screens left unsaved, newest first; says so where a file of it cannot be read."""
    drafts = host.session.drafts
    if drafts is None:
        return []
    left = await beside(drafts.left_behind)
    _say_aside(host, drafts.aside)
    return left


async def offer_unsaved(host: Host, left: list[tuple[Path, Draft]]) -> None:
    """Offer unsaved work; whatever is not thrown away stays for the next start."""
    while left:
        chosen = left[0] if len(left) == 1 else await _one_of(host, left)
        if chosen is None:
            return
        file, draft = chosen
        word = await host.ask(Pick(
            f"Work on {shown(draft.name)} was not saved on {_when(draft)}.", [
                ("take", "Open it again"), ("later", "Leave it for later"), ("away", "Throw it away")], "take"))
        if word == "away":
            await beside(forget, file)
            left.remove(chosen)
            continue
        if word == "take" and await may_leave(host):
            session = await beside(taken_up, draft)
            try:
                await beside(session.keep_unsaved)
                await beside(forget, file)
            except OSError as error:
                host.say(f"Not kept on disk: {reason(error)}.")
            said = "Open again, not saved yet." if not session.begun_on else \
                f"Open again. {shown(session.name)} has changed since: saving will ask first."
            half = f' Alt+I goes on with the reading "{shown(draft.reading)}".' if draft.reading else ""
            await host.take_session(session, said + half)
        return


async def _one_of(host: Host, left: Sequence[tuple[Path, Draft]]) -> tuple[Path, Draft] | None:
    offers = [(str(n), f"{shown(draft.name)}, {_when(draft)}") for n, (_, draft) in enumerate(left[:MOST_OFFERED])]
    older = f" The newest {MOST_OFFERED}:" if len(left) > MOST_OFFERED else ""
    word = await host.ask(Pick(
        f"{len(left)} pieces of work were not saved.{older}", [*offers, ("later", "Leave them for later")], "0"))
    return left[int(word)] if word and word != "later" else None


def _say_aside(host: Host, aside: Sequence[Path]) -> None:
    if len(aside) == 1:
        host.say(f"A file of unsaved work cannot be read. It is set aside: {shown(str(aside[0]))}")
    elif aside:
        folder = shown(str(aside[0].parent))
        host.say(f"{len(aside)} files of unsaved work cannot be read. They are set aside in {folder}")


def _when(draft: Draft) -> str:
    """When it was written, and where if that is another machine."""
    where = f", on {shown(draft.elsewhere)}" if draft.elsewhere else ""
    return time.strftime("%d %b %H:%M", time.localtime(draft.time_s)) + where
