"""Which bottles and which regulator to take, as text and as data."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite
from typing import Any

from fillcalc.case.records import Case
from fillcalc.formats.data import plain
from fillcalc.formats.text import section_lines, table, wrapped_lines
from fillcalc.present.gas import ASKED, gas_safety
from fillcalc.present.never import time_or_never
from fillcalc.present.sentences import TITLE, shower
from fillcalc.questions.choices.gas import GasChoice
from fillcalc.units.printable import shown

MOST_ROWS = 12
DANGER = f"DANGER, gas: {ASKED} Nobody near while it rises."


def gas_choices_data(case: Case, found: Sequence[GasChoice], units: str = "metric") -> dict[str, Any]:
    """The ranking as nested dicts and lists, the best first; SI numbers."""
    return {"danger": [DANGER], "title": case.title, "choices": plain(tuple(found)),
            "safety": list(gas_safety(units))}


def gas_choices_report(case: Case, found: Sequence[GasChoice], units: str = "metric") -> str:
    """The ranking as lines of at most 80 columns, ending in a newline."""
    say = shower(units)
    able, other = [one for one in found if one.can], [one for one in found if not one.can]
    title = f"Which bottles and regulator to take: {shown(case.title, 60)}"
    best = f"Take {shown(able[0].bottle)} with {shown(able[0].regulator)}: {say(able[0].needed, 'count')} of " \
           f"{able[0].there}, read after {say(able[0].read_s, 'duration')}." if able else \
        "Nothing in this kit does it." if found else "This kit holds no [[bottle]]."
    rows = [("bottles", "regulator", "needed", "there", "read after"), *(
        (shown(one.bottle, 24), shown(one.regulator, 24), say(one.needed, "count"), str(one.there),
         time_or_never(one.read_s, say)) for one in able[:MOST_ROWS])]
    cannot = [f"{shown(one.bottle)} with {shown(one.regulator)}: {one.why}"
              + (f", at {say(one.ends_gauge_pa, 'pressure')}." if isfinite(one.ends_gauge_pa) else ".")
              for one in other]
    parts = [[TITLE, DANGER, *wrapped_lines([title, best])], table(rows, 2) if able else [],
             section_lines("What cannot do it", cannot), section_lines("Safety", gas_safety(units)[1:])]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"
