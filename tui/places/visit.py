"""Several cases in one visit: which ones, and what they take together."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from fillcalc.case.own import Own
from fillcalc.units.printable import shown
from tui.state.disk import MOST_BYTES, beside, demo_folder, reason
from tui.widgets.dialogs import Pages, Several

if TYPE_CHECKING:
    from fillcalc.case.records import Case
    from fillcalc.present.charts import Bars
    from fillcalc.present.lines import Line
    from tui.places.host import Host


@dataclass(frozen=True)
class Visit:
    """What several cases take together, worked out once."""

    chosen: tuple[str, ...]
    number: int
    """Of the text on the screen that it was worked out with."""
    report: str
    quoted: str
    """The quote, as it is copied."""
    lines: tuple[Line, ...]
    bars: Bars | None

    @property
    def several(self) -> bool:
        """Whether it is more than one case."""
        return len(self.chosen) > 1


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
        found += [(str(f), f"{words}{f.name}") for f in files if f != session.path and _is_case(f)]
    return list(dict.fromkeys(found))


async def quote(host: Host) -> None:
    """Ask which cases, work the visit out off the screen's thread, and show it."""
    marked = host.visit.chosen if host.visit is not None else (THIS,)
    chosen = await host.ask(Several("Which cases, in one visit?", await beside(offers, host), marked))
    if not chosen:
        return
    printed = await _work_out(host, chosen)
    if printed is not None:
        host.say("The visit is worked out.")
        host.visit = printed
        await host.ask(Pages(printed.report, visit=True, quote=printed.quoted))


async def up_to_date(host: Host, visit: Visit) -> Visit | None:
    """The visit with the case as it is now; None, said in words, where it cannot be worked out with that."""
    if visit.number == host.session.number:
        return visit
    printed = await _work_out(host, visit.chosen)
    host.visit = printed or visit
    return printed


async def _work_out(host: Host, chosen: Sequence[str]) -> Visit | None:
    """The visit with these cases; None, said in words, where it cannot be."""
    number = host.session.number
    texts: list[tuple[bytes, str]] = []
    for word in chosen:
        try:
            texts.append((host.session.text.encode("utf-8"), host.session.name) if word == THIS
                         else await beside(_read, Path(word)))
        except (OSError, ValueError) as error:
            host.say(f"{shown(Path(word).name)}: {reason(error)}")
            return None
    host.say("Working the visit out…")
    printed, wrong = await asyncio.to_thread(_worked_out, texts, host.units, host.session.own)
    if printed is None:
        host.say(wrong)
        return None
    return replace(printed, chosen=tuple(chosen), number=number)


def _is_case(path: Path) -> bool:
    """Whether a file has what no other has: a vessel under test."""
    try:
        return re.search(rb"^\s*\[\s*vessel\s*\]", _read(path)[0], re.MULTILINE) is not None
    except (OSError, ValueError):
        return False


def _read(path: Path) -> tuple[bytes, str]:
    from fillcalc.case.disk import read_ordinary

    return read_ordinary(path, MOST_BYTES), path.name


def _worked_out(texts: list[tuple[bytes, str]], units: str, own: Own) -> tuple[Visit | None, str]:
    """The visit, or why there is none."""
    from fillcalc.case.names import named
    from fillcalc.case.problems import CaseProblems
    from fillcalc.case.read import read_bytes
    from fillcalc.formats.visit_text import combined_quote_text, combined_report
    from fillcalc.present import charts
    from fillcalc.present.lines import combined_lines
    from fillcalc.questions.likely import likely
    from fillcalc.questions.visit import likely_visit, visit

    cases: list[Case] = []
    for data, name in texts:
        try:
            cases.append(named(read_bytes(data, name, own), name))
        except CaseProblems as error:
            return None, f"{shown(name)} cannot be used: {error.problems[0]}"
    combined, estimates = visit(cases)
    printed = likely_visit(combined, [likely(one, units) for one in estimates])
    return Visit((), 0, combined_report(cases, combined, estimates, units),
                 combined_quote_text(cases, combined, estimates, units), combined_lines(printed, units),
                 charts.combined(combined, units)), ""
