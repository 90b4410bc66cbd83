"""Several cases in one visit: which ones, and what they take together."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fillcalc.case.own import Own
from fillcalc.units.printable import shown
from tui.state.disk import MOST_BYTES, beside, demo_folder, reason
from tui.widgets.dialogs import Pages, Several

if TYPE_CHECKING:
    from tui.places.host import Host

THIS = ""
"""Stands for the case on the screen, as it is there, saved or not."""


def offers(host: Host) -> list[tuple[str, str]]:
    """This case, the other cases of its folder, and the demo cases."""
    session = host.session
    folder = session.path.parent if session.path else Path.cwd()
    found = [(THIS, f"this case: {session.name}")]
    for searched, words in ((folder, ""), (demo_folder(), "demo: ")):
        try:
            files = sorted(searched.glob("*.toml"))[:200]
        except OSError:
            files = []
        found += [(str(f), f"{words}{f.name}") for f in files if f != session.path and f.name != "kit.toml"]
    return list(dict.fromkeys(found))


async def quote(host: Host) -> None:
    """Ask which cases, work the visit out off the screen's thread, and show it."""
    chosen = await host.ask(Several("Which cases, in one visit?", await beside(offers, host), [THIS]))
    if not chosen:
        return
    texts: list[tuple[bytes, str]] = []
    for word in chosen:
        try:
            texts.append((host.session.text.encode("utf-8"), host.session.name) if word == THIS
                         else await beside(_read, Path(word)))
        except (OSError, ValueError) as error:
            host.say(f"{shown(Path(word).name)}: {reason(error)}")
            return
    host.say("Working the visit out…")
    report, quoted, wrong = await asyncio.to_thread(_worked_out, texts, host.units,
                                                    host.session.own)
    host.say(wrong or "The visit is worked out.")
    if report:
        await host.ask(Pages(report, visit=True, quote=quoted))


def _read(path: Path) -> tuple[bytes, str]:
    from fillcalc.case.disk import read_ordinary

    return read_ordinary(path, MOST_BYTES), path.name


def _worked_out(texts: list[tuple[bytes, str]], units: str, own: Own) -> tuple[str, str, str]:
    """The report on the visit and its quote, or why there is none."""
    from fillcalc.case.names import named
    from fillcalc.case.problems import CaseProblems
    from fillcalc.case.read import read_bytes
    from fillcalc.formats.visit_text import combined_quote_text, combined_report
    from fillcalc.questions.visit import visit

    cases: list[Any] = []
    for data, name in texts:
        try:
            cases.append(named(read_bytes(data, name, own), name))
        except CaseProblems as error:
            return "", "", f"{shown(name)} cannot be used: {error.problems[0]}"
    combined, estimates = visit(cases)
    return (combined_report(cases, combined, estimates, units), combined_quote_text(cases, combined, estimates, units),
            "")
