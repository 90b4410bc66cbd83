"""Writing a page to a file: a new file, or in place of an older page, never over anything else."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from fillcalc.case.disk import NotAFile, read_ordinary
from fillcalc.case.records import Case
from fillcalc.case.save import ChangedUnderneath, save
from fillcalc.units.printable import shown

if TYPE_CHECKING:
    from fillcalc.questions.recording.hold import RecordedHold
    from fillcalc.recorder.log import Log

MOST_BYTES = 100_000_000
"""A page of the largest visit has a tenth of it."""
HEAD = 2000
"""Bytes at the front of a page in which its mark stands."""


def write_page(path: str, cases: Sequence[Case], units: str, sheets: Sequence[str] = (),
               recorded: tuple[Log, RecordedHold] | None = None) -> tuple[str, bool]:
    """As `write`: one case makes a page of its own, several make that of a visit; `sheets` are those of
    `fillcalc.formats.page.MAKERS`, left out the usual two; `recorded` is a recorder's file of the one case."""
    return write(path, lambda: _page(cases, units, sheets, recorded))


def write(path: str, make: Callable[[], str]) -> tuple[str, bool]:
    """A sentence that says what was done, and whether the page that `make` makes was written.

    Raises nothing: a place that cannot be written, and a file that is no page of this kind, are left as they are and
    the sentence says so.
    """
    name = shown(path)
    if not path.lower().endswith((".html", ".htm")):
        return f"{name} is no name for a page. Give one that ends in .html.", False
    try:
        before = _there(path)
        if before is not None and not _is_page(before):
            return f"{name} is there already and is no page of fillcalc. It is left as it is. Give another name.", False
        save(path, make().encode("utf-8"), before)
    except ChangedUnderneath:
        return f"{name} changed while the page was made. It is left as it is. Try again.", False
    except NotAFile:
        return f"{name} is no ordinary file and is left as it is.", False
    except (OSError, ValueError) as error:
        return f"{name} cannot be written: {getattr(error, 'strerror', None) or error}.", False
    return f"{'Written' if before is None else 'Replaced'}: {name}. Any browser opens and prints it.", True


def _there(path: str) -> bytes | None:
    try:
        return read_ordinary(path, MOST_BYTES)
    except FileNotFoundError:
        return None


def _is_page(data: bytes) -> bool:
    from fillcalc.formats.page import MARK

    return f'<meta name="generator" content="{MARK}">'.encode() in data[:HEAD]


def _page(cases: Sequence[Case], units: str, sheets: Sequence[str],
          recorded: tuple[Log, RecordedHold] | None) -> str:
    from fillcalc.formats.page import BOTH, page, visit_page
    from fillcalc.questions.ranges import with_ranges
    from fillcalc.questions.visit import visit

    if len(cases) == 1:
        return page(cases[0], with_ranges(cases[0]), units, sheets or BOTH, recorded)
    combined, estimates = visit(cases)
    return visit_page(cases, combined, estimates, units, sheets or BOTH)
