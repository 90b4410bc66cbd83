"""Several cases in one visit: which ones, and what the day comes to."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fillcalc.units.printable import shown
from tui.places.files import demo_folder, reason
from tui.state.disk import MOST_BYTES, beside
from tui.widgets.dialogs import Pages, Several

if TYPE_CHECKING:
    from tui.app import Fillcalc

THIS = ""
"""Stands for the case on the screen, as it is there, saved or not."""


def offers(app: Fillcalc) -> list[tuple[str, str]]:
    """This case, the other cases of its folder, and the demo cases."""
    session = app.session
    folder = session.path.parent if session.path else Path.cwd()
    found = [(THIS, f"this case: {session.name}")]
    for place, words in ((folder, ""), (demo_folder(), "demo: ")):
        try:
            files = sorted(place.glob("*.toml"))[:200]
        except OSError:
            files = []
        found += [(str(f), f"{words}{f.name}") for f in files if f != session.path and f.name != "kit.toml"]
    return list(dict.fromkeys(found))


async def quote(app: Fillcalc) -> None:
    """Ask which cases, work the visit out off the screen's thread, and show it."""
    chosen = await app.push_screen_wait(Several("Which cases, in one visit?", await beside(offers, app), [THIS]))
    if not chosen:
        return
    texts: list[tuple[bytes, str]] = []
    for word in chosen:
        try:
            texts.append((app.session.text.encode("utf-8"), app.session.name) if word == THIS
                         else await beside(_read, Path(word)))
        except (OSError, ValueError) as error:
            app.say(f"{shown(Path(word).name)}: {reason(error)}")
            return
    app.say("Working the visit out…")
    report, wrong = await asyncio.to_thread(_worked_out, texts, app.units)
    app.say(wrong or "The visit is worked out.")
    if report:
        await app.push_screen_wait(Pages(report, visit=True))


def _read(path: Path) -> tuple[bytes, str]:
    from fillcalc.case.disk import read_ordinary

    return read_ordinary(path, MOST_BYTES), path.name


def _worked_out(texts: list[tuple[bytes, str]], units: str) -> tuple[str, str]:
    """The report on the visit, or why there is none."""
    from fillcalc.case.names import named
    from fillcalc.case.problems import CaseProblems
    from fillcalc.case.read import read_bytes
    from fillcalc.formats.visit_text import day_report
    from fillcalc.questions.visit import visit

    cases: list[Any] = []
    for data, name in texts:
        try:
            cases.append(named(read_bytes(data, name), name))
        except CaseProblems as error:
            return "", f"{shown(name)} cannot be used: {error.problems[0]}"
    day, estimates = visit(cases)
    return day_report(cases, day, estimates, units), ""
