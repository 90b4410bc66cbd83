"""A visit with several cases, as text and as data."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from fillcalc.case.records import Case
from fillcalc.cautions import WEIGHTS, cautions
from fillcalc.estimation.answers import Caution, Estimate, Span, as_written
from fillcalc.formats.data import plain
from fillcalc.formats.text import MARKS, table, wrapped
from fillcalc.present import sentences as words
from fillcalc.present.needs import day_quote, needs_of_all
from fillcalc.present.never import day_sentences, range_of_visit, time_or_never
from fillcalc.present.sentences import shower, trade
from fillcalc.questions.visit import Day
from fillcalc.units.printable import shown

VISIT = "A visit with"
"""How the title of a visit begins."""


def day_data(cases: Sequence[Case], day: Day, estimates: Sequence[Estimate], units: str = "metric") -> dict[str, Any]:
    """The visit as nested dicts and lists; SI numbers, sentences in `units` (metric or us)."""
    written = [as_written(case) for case in cases]
    data: dict[str, Any] = plain(day)
    data["needs"] = needs_of_all(written, estimates, units, float(day.to_drain_m3))
    data["quote"] = day_quote(written, day, estimates, units)
    data["cautions"] = [{"title": title} | plain(row) for title, row in _cautions(written, estimates, units)]
    data["safety"] = list(words.safety(units))
    return data


def day_report(cases: Sequence[Case], day: Day, estimates: Sequence[Estimate], units: str = "metric") -> str:
    """The visit as lines of at most 80 columns, ending in a newline."""
    say, written = shower(units), [as_written(case) for case in cases]
    without = dict.fromkeys(name for one in day.cases for name in one.without)
    head = [words.TITLE, f"{VISIT} {len(cases)} case{'s' if len(cases) > 1 else ''}", trade(words.GAUGE, units)]
    total = [
        f"On site   {time_or_never(day.total_s.middle, say)} "
        f"{range_of_visit(day.total_s.low, day.total_s.high, day.never_share, without, say)}",
        f"Water     {say(day.water_m3, 'volume')}",
        f"Free air  {say(day.free_air_m3, 'air_volume')}",
        *(line for sentence in day_sentences(day, units) for line in wrapped(sentence)),
    ]
    rows: list[Sequence[str]] = [("", "as written", "low", "middle", "high")]
    rows += [(stage.name, *(time_or_never(value, say) for value in
                            (stage.as_written_s, stage.low_s, stage.middle_s, stage.high_s))) for stage in day.once]
    rows += [(f"case {place}", *_span(one.time_s, say)) for place, one in enumerate(day.cases, 1)]
    rows.append(("on site", *_span(day.total_s, say)))
    warned = [line for sentence in _warned(written, estimates, units) for line in wrapped(sentence)]
    wanted = needs_of_all(written, estimates, units, float(day.to_drain_m3))
    quoted = day_quote(written, day, estimates, units)
    notes = words.time_notes(day.rework_s, units, day.total_s.as_written < day.total_s.low)
    parts = [
        head, total,
        [f"Case {place}: {shown(one.title)}" + (f", {one.pieces} pieces" if one.pieces > 1 else "")
         for place, one in enumerate(day.cases, 1)],
        ["Time on site", *table(rows),
         *(line for note in notes for line in wrapped(note))],
        ["The customer provides", *(line for need in wanted for line in wrapped(need))],
        ["For the quote", *(line for sentence in quoted for line in wrapped(sentence))] if quoted else [],
        ["Cautions", *warned] if warned else [],
        ["Safety", *(line for sentence in words.safety(units)[1:] for line in wrapped(sentence))],
    ]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


def _span(one: Span, say: words.Say) -> list[str]:
    return [time_or_never(value, say) for value in (one.as_written, one.low, one.middle, one.high)]


def _cautions(cases: Sequence[Case], estimates: Sequence[Estimate], units: str) -> list[tuple[str, Caution]]:
    """Title and caution, the heaviest first."""
    told = [(case.title, row) for case, one in zip(cases, estimates, strict=True) for row in cautions(case, one, units)]
    return sorted(told, key=lambda item: WEIGHTS.index(item[1].weight))


def _warned(cases: Sequence[Case], estimates: Sequence[Estimate], units: str) -> list[str]:
    """The cautions as sentences that name their cases; what holds for all of them is said once."""
    told: dict[tuple[str, str], list[str]] = {}
    for title, row in _cautions(cases, estimates, units):
        told.setdefault((MARKS[row.weight], trade(row.text, units)), []).append(shown(title))
    return [f"{mark}, {'every case' if len(whose) == len(cases) > 1 else ' and '.join(whose)}: {sentence}"
            for (mark, sentence), whose in told.items()]
