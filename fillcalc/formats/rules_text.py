"""What standards say of test pressures and hold times, as text and as data; a look-up, never a choice."""

from __future__ import annotations

from collections.abc import Sequence

from fillcalc.case.standards import CHECK, Row
from fillcalc.formats.text import wrapped

NOTHING = "No rule has that word. `fillcalc rules` alone lists all.\n"


def rules_data(rows: Sequence[Row]) -> dict[str, object]:
    """The rows as plain data, each with how it is known, and the words that go with every one of them."""
    return {"rules": [{"subject": row.subject, "what": row.what, "standard": row.standard, "edition": row.edition,
                       "says": row.says, "known": row.known} for row in rows], "check": CHECK}


def rules_report(rows: Sequence[Row]) -> str:
    """The rows by subject, in lines of at most 80 columns, ending in a newline."""
    lines = ["What standards say, to be looked up. Nothing here is chosen for a job.", *wrapped(CHECK)]
    subject = ""
    for row in sorted(rows, key=lambda row: row.subject):
        if row.subject != subject:
            subject = row.subject
            lines += ["", subject.capitalize()]
        lines += wrapped(f"{row.what}: {row.says}. {row.standard} ({row.edition}; {row.known}).")
    return "\n".join(lines) + "\n" if rows else NOTHING
