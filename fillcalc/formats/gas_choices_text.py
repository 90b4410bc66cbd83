"""Which bottles and which regulator to take, as text and as data."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields

from fillcalc.case.records import Case
from fillcalc.formats.data import plain
from fillcalc.formats.text import section_lines, table, wrapped_lines
from fillcalc.present.gas import dangers_of, gas_safety
from fillcalc.present.gas_choices import (
    HEADS,
    best_choice_sentence,
    choice_cells,
    choice_name,
    choice_warnings,
    why_not,
)
from fillcalc.present.inputs import OWN_TITLE, own_sentences
from fillcalc.present.sentences import TITLE
from fillcalc.questions.choices.gas import GasChoice
from fillcalc.units.printable import shown

MOST_ROWS = 12
COLUMNS, INDENT, GAP = 80, 4, 2
LONGEST = 22
"""Letters of a name in the table."""


def gas_choices_data(case: Case, found: Sequence[GasChoice], units: str = "metric") -> dict[str, object]:
    """The ranking as nested dicts and lists, the best first; SI numbers."""
    rows = [{f.name: plain(getattr(one, f.name)) for f in fields(one) if f.name not in ("case", "estimate")}
            | {"warnings": choice_warnings(one, units)} for one in found]
    return {"danger": list(dangers_of(case, units)), "title": case.title, "choices": rows,
            "own": own_sentences([case], units), "safety": list(gas_safety(units))}


def gas_choices_report(case: Case, found: Sequence[GasChoice], units: str = "metric") -> str:
    """The ranking as lines of at most 80 columns, ending in a newline."""
    able, other = [one for one in found if one.can], [one for one in found if not one.can]
    title = f"Which bottles and regulator to take: {shown(case.title, 60)}"
    rows = [HEADS, *(tuple(shown(cell, LONGEST) for cell in choice_cells(one, units)) for one in able[:MOST_ROWS])]
    width = INDENT + sum(GAP + max(map(len, column)) for column in zip(*rows, strict=True)) - GAP
    if width > COLUMNS:  # the range of the best stands above, and what they warn of below
        rows = [row[:4] for row in rows]
    warned = [f"{choice_name(one)}: {' '.join(said)}" for one in able if (said := choice_warnings(one, units))]
    cannot = [f"{choice_name(one)}: {why_not(one, units)}." for one in other]
    parts = [[TITLE, *wrapped_lines(dangers_of(case, units)),
              *wrapped_lines([title, best_choice_sentence(found, units)])],
             table(rows, 2) if able else [], section_lines("What they warn of", warned),
             section_lines("What cannot do it", cannot), section_lines(OWN_TITLE, own_sentences([case], units)),
             section_lines("Safety", gas_safety(units)[1:])]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"
