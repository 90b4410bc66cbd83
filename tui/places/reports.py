"""The answers as texts: the report to read, to copy and as a page, and the comparison with what was kept."""

from __future__ import annotations

import asyncio
import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING

from fillcalc.case.names import named
from fillcalc.units.printable import shown
from tui.places import visit
from tui.state.disk import MOST_BYTES, beside, reason
from tui.widgets.dialogs import Ask, Pages

if TYPE_CHECKING:
    from tui.places.compare import Pair
    from tui.places.host import Host

OLD = "Of an earlier text: the case has been changed since and cannot be used as it stands."
MOST_COPIES = 99
"""Names that are tried for one copy."""
RANGES_S = 5.0
"""How long a quote that was asked for waits for the time on site."""


def report_of(host: Host) -> str:
    """The report on the last good answers, with a line where they are old; "" where there are none."""
    answered = host.session.answered
    if answered is None or answered.case is None or answered.estimate is None:
        return ""
    from fillcalc.formats.text import report

    text = report(answered.case, answered.estimate, host.units)
    if answered.readings is not None:
        from fillcalc.formats.readings_text import readings_report

        text += "\n" + readings_report(answered.case, answered.readings, host.units)
    return text if host.session.state == "now" else f"{OLD}\n\n{text}"


async def read_report(host: Host) -> None:
    await host.settle()
    text = report_of(host)
    if text:
        await host.ask(Pages(text))
    else:
        host.say("There are no answers to read yet.")


async def read_rules(host: Host) -> None:
    """What standards say of test pressures and hold times, to look up."""
    from fillcalc.case.standards import rows
    from fillcalc.formats.rules_text import rules_report

    await host.ask(Pages(rules_report(rows())))


async def read_comparison(host: Host) -> None:
    """Every answer kept and now, and what was changed in between."""
    import tomllib

    from tui.places.compare import SAME, all_pairs, changed_inputs

    session = host.session
    kept, now = session.kept, session.answered
    if kept is None or kept.estimate is None or now is None or now.estimate is None:
        host.say("Nothing is kept yet. Alt+K keeps the present answers.")
        return
    if session.ranged is not None and session.ranged.number == now.number:
        now = session.ranged
    pairs = all_pairs(kept.estimate, now.estimate or kept.estimate, host.units)
    changed = changed_inputs(tomllib.loads(kept.text), tomllib.loads(now.text), host.units) or ["nothing"]
    lines = ["Kept · Now · Difference", "", *(f"Changed: {words}" for words in changed), ""]
    other, same = ([p for p in pairs if (p.difference == SAME) == alike] for alike in (False, True))
    lines += _columns(other)
    lines += ["", f"The same, {len(same)} answers", *_columns(same)] if same else []
    await host.ask(Pages("\n".join(lines)))


def _columns(pairs: Sequence[Pair]) -> list[str]:
    """Answers kept and now, one under the other; a label that is too long has a line of its own."""
    from tui.places.compare import SAME

    rows = []
    for pair in pairs:
        figures = f"{pair.kept:<12}{pair.now:<12}{pair.difference if pair.difference != SAME else ''}".rstrip()
        rows += [f"{pair.label:<34}{figures}"] if len(pair.label) < 34 else [pair.label, f"{'':<34}{figures}"]
    return rows


async def copy_answers(host: Host, read: str = "") -> None:
    """The report, or that on the visit that is being read: to the clipboard, and to a file beside the case."""
    text = read or report_of(host)
    if not text:
        host.say("There are no answers to copy yet.")
        return
    await _copy(host, text, "visit" if read else "answers")


async def _copy(host: Host, text: str, what: str, done: str = "Copied") -> None:
    """A text to the clipboard, and to a file beside the case whose name says what it is; in place of a copy only where
    this session wrote it."""
    host.copy_to_clipboard(text)
    folder = host.session.path.parent if host.session.path else Path.cwd()
    stem = host.session.path.stem if host.session.path else "case"
    try:
        path = await beside(_write_copy, folder, f"{stem}-{what}", text, host.session.copies)
    except (OSError, ValueError) as error:
        host.say(f"{done} to the clipboard; no file: {reason(error)}.")
        return
    host.session.copies[path] = text.encode("utf-8", "replace")
    first = f"{stem}-{what}.txt"
    other = "" if path.name == first else f"; {shown(first)} holds another"
    host.say(f"{done} to the clipboard and to {shown(path.name)}{other}.")


def quote_of(host: Host) -> str:
    """The quote of the case on the screen, as text to paste; "" while its time on site is not known."""
    found = host.session.ranged
    if host.session.state != "now" or found is None or found.number != host.session.number:
        return ""
    if found.case is None or found.estimate is None:
        return ""
    from fillcalc.formats.text import quote_text

    return quote_text(found.case, found.estimate, host.units)


async def copy_quote(host: Host, read: str = "", alone: bool = False) -> None:
    """Copy the quote of the visit where several cases stand in it, else that of the case, to the clipboard and a file.

    `read` is the quote of a report that is being read; `alone` copies that of the case whatever the visit is.
    """
    together = host.visit
    if together is not None and together.several and not read and not alone:
        printed = await visit.up_to_date(host, together)
        if printed is not None:
            await _copy(host, printed.quoted, "visit-quote", f"The quote of {len(printed.chosen)} cases is copied")
        return
    text = read or quote_of(host)
    end = monotonic() + RANGES_S
    while not text and host.session.state == "now" and monotonic() < end:
        await asyncio.sleep(0.05)
        text = quote_of(host)
    if not text:
        host.say("There is no quote yet: correct what is marked, or wait for the time on site.")
        return
    await _copy(host, text, "visit-quote" if read else "quote")


async def page_of(host: Host) -> None:
    """Ask for a name and write the page of the case there, off the screen's thread."""
    from tui.state.page_file import write_page

    await host.settle()
    answered = host.session.answered
    if host.session.state != "now" or answered is None or answered.case is None:
        host.say("A page needs answers to what is typed. Correct what is marked first.")
        return
    case, wrong = named(answered.case, host.session.name), ""
    of = host.session.recorded
    record = (of.log, of.found) if of is not None and of.text == answered.text else None
    value = str((host.session.path or Path.cwd() / "case").with_suffix(".html"))
    while True:
        value = await host.ask(Ask("Write the page to", value, wrong=wrong,
                                               hint="One file with its charts, for a browser or a printer."))
        if not value:
            return
        host.say("Writing the page…")
        words, done = await asyncio.to_thread(write_page, str(Path(value).expanduser()), [case], host.units, (),
                                              record)
        host.say(words)
        if done:
            return
        wrong = words.replace(shown(str(Path(value).expanduser())), shown(Path(value).name), 1)


def _write_copy(folder: Path, stem: str, text: str, copies: Mapping[Path, bytes]) -> Path:
    """Write under a name that is free, that holds the same, or that holds one of these copies; that name. Raises
    OSError."""
    from fillcalc.case.disk import read_ordinary
    from fillcalc.case.save import save as save_file

    data = text.encode("utf-8", "replace")
    for number in range(1, MOST_COPIES + 1):
        path = folder / (f"{stem}.txt" if number == 1 else f"{stem}-{number}.txt")
        there = None
        if os.path.lexists(path):
            try:
                there = read_ordinary(path, MOST_BYTES)
            except OSError:
                continue
            if there not in (data, copies.get(path)):
                continue
        save_file(path, data, there)
        return path
    raise FileExistsError(17, f"{MOST_COPIES} names like {stem}.txt are taken")
