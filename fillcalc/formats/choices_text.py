"""Which hose and which pump, as text and as data."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Sequence
from itertools import zip_longest

from fillcalc.case.kit import kit_for
from fillcalc.case.records import Case, Kit
from fillcalc.formats.data import plain
from fillcalc.formats.text import WIDTH, table, wrapped
from fillcalc.present import choices as present
from fillcalc.present import inputs
from fillcalc.present import sentences as words
from fillcalc.present.never import NEVER
from fillcalc.present.sentences import trade
from fillcalc.questions.choices.ranking import SHORTER, Choice, steps_up
from fillcalc.questions.choices.sought import Sought
from fillcalc.questions.likely import likely_span
from fillcalc.units.printable import shown
from fillcalc.units.spans import column

MOST_ROWS = 10
"""Rows of a table that are printed; the data has them all."""
GAP, SHORTEST = 2, 9
"""Characters between columns, and of the narrowest column of names."""
MOST_FOLDED, WITH = 2, " with "
"""Lines that a name takes in its column at most, and what stands between a hose and a pump."""
LIMIT_UNKNOWN = "limit?"


def choices_data(case: Case, kit: Kit, found: Sequence[Choice], asked: Sought,
                 units: str = "metric") -> dict[str, object]:
    """The ranking as nested dicts and lists, the best first; SI numbers, sentences in `units` (metric or us)."""
    return {
        "title": case.title,
        "choices": plain(tuple(found)),
        "steps": [{"hose": one.hose, "pump": one.pump, "saves_s": plain(saved)} for one, saved in steps_up(found)],
        "sought": plain(asked),
        "assumptions": plain(kit_for(kit, case.units).assumptions),
        "own": inputs.own_sentences([case], units, kit),
        "safety": list(words.safety(units)),
    }


def choices_report(case: Case, kit: Kit, found: Sequence[Choice], asked: Sought, units: str = "metric") -> str:
    """The ranking as lines of at most 80 columns, ending in a newline."""
    title = f": {shown(case.title)}" if case.title else ""
    able = [one for one in found if one.can]
    short = any(SHORTER in one.of_hose for one in able if present.PAIR not in one.hose)
    names = {shown(name) for one in found for name in (*one.hose.split(present.PAIR), one.pump)}
    parts = [
        [words.TITLE, *_flush(f"{present.TITLE}{title}"), *_flush(trade(present.GAUGE, units))],
        _limit_unknown(case) if able else [],
        [line for sentence in present.measured_sentences(case) for line in _flush(sentence)] if able else [],
        _flush(_trade(present.best_sentence(able[0], units), units, names)) if able else _none(kit, found),
        _ranking(able, units, present.left_out_sentence(kit, found)),
        _section("What each step up buys, with the best pump", present.step_sentences(found, units), units, names),
        _pumps(case, found, units),
        _section("Two hoses in a row, where one does not reach", _pairs(able, units) if short else [], units, names),
        _section("To know, and what cannot do it", _reasons(found, units), units, names),
        _section("The other way round", present.sought_sentences(asked, units), units),
        _section("Assumed for the kit", present.kit_sentences(kit_for(kit, case.units), units), units),
        _section(inputs.OWN_TITLE, inputs.own_sentences([case], units, kit), units, names),
        _section("Safety", words.safety(units)[1:], units),
    ]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


def _flush(sentence: str) -> list[str]:
    return [line[2:] for line in wrapped(sentence)]


def _trade(sentence: str, units: str, names: Iterable[str]) -> str:
    """The sentence in the trade words of these units, but for the names in it, which are not ours."""
    longest_first = sorted(filter(None, names), key=len, reverse=True)
    if not longest_first:
        return trade(sentence, units)
    pieces = re.split(f"({'|'.join(map(re.escape, longest_first))})", sentence)
    return "".join(piece if place % 2 else trade(piece, units) for place, piece in enumerate(pieces))


def _section(title: str, sentences: Iterable[str], units: str, names: Iterable[str] = ()) -> list[str]:
    lines = [line for sentence in sentences for line in wrapped(_trade(sentence, units, names))]
    return [trade(title, units), *lines] if lines else []


def _none(kit: Kit, found: Sequence[Choice]) -> list[str]:
    return ["Nothing in the kit can do it."] if found else [f"The kit has no {'hose' if not kit.hose else 'pump'}."]


def _ranking(able: Sequence[Choice], units: str, left_out: str) -> list[str]:
    """One row for each single hose and each pump that can do it, at the pump's best setting; then what was left out."""
    first: dict[tuple[str, str], Choice] = {}
    for one in able:
        if present.PAIR not in one.hose:
            first.setdefault((one.hose, one.pump), one)
    if not first:
        return []
    rows = list(first.values())[:MOST_ROWS]
    printed = present.table_of(rows, units)
    marked = [f"{cells[0]}{' *' if SHORTER in one.of_hose else ''}"
              for one, cells in zip(rows, printed.cells, strict=True)]
    lines = _named([*((*heads[:2], *heads[3:]) for heads in printed.heads),
                    *((hose, cells[1], *cells[3:]) for hose, cells in zip(marked, printed.cells, strict=True))], 2)
    if any(SHORTER in one.of_hose for one in rows):
        lines.append("  * shorter than the line of the case: does it reach?")
    more = len(first) - MOST_ROWS
    title = "Ranked by the likely time on site, then by its high"
    return [title, *lines, *([f"  {more} more can do it."] if more > 0 else []),
            *(wrapped(left_out) if left_out else [])]


def _pumps(case: Case, found: Sequence[Choice], units: str) -> list[str]:
    """Each pump at each of its settings: what it can reach, the time of the pump-up, and whether it can do it."""
    first: dict[tuple[str, str], Choice] = {}
    for one in found:
        first.setdefault((one.pump, str(one.regulator_gauge_pa)), one)
    able = {(one.pump, str(one.regulator_gauge_pa)) for one in found if one.can}
    yes = "yes" if case.vessel.never_above is not None else LIMIT_UNKNOWN
    shown_here = list(first.items())[:2 * MOST_ROWS]
    ups = [likely_span(one.pump_up_s, units) for _, one in shown_here]
    times = column([[float(up.likely), float(up.high)] for up in ups], "duration", units, missing=NEVER)
    unit = f", {times.unit}" if times.unit else ""
    rows: list[tuple[str, ...]] = [("pump", "regulator", "can reach", f"pump-up{unit}", "high", "")]
    rows += [(shown(one.pump), present.setting(one, units), present.reach(one, units), *cells,
              yes if place in able else "cannot")
             for (place, one), cells in zip(shown_here, times.cells, strict=True)]
    return ["Pumps and settings", *_named(rows, 1)] if first else []


def _limit_unknown(case: Case) -> list[str]:
    if case.vessel.never_above is not None:
        return []
    return _flush("The vessel's limit was not given: no pump is ruled out by it. Nothing that a pump can reach must "
                  "pass what the weakest part stands.")


def _named(rows: Sequence[tuple[str, ...]], names: int) -> list[str]:
    """A table whose first columns, one or two, are names, as wide as the line allows. A longer name goes on in a second
    line, and of two columns each is so wide that this happens least; where two lines do not do, the names stand in a
    line of their own above the figures."""
    figures = sum(GAP + max(map(len, column)) for column in list(zip(*rows, strict=True))[names:])
    room = WIDTH - GAP * names - figures
    widths = [(room,)] if names == 1 else [(first, room - first) for first in range(room - SHORTEST, SHORTEST - 1, -1)]
    folded = min(([_folded(row, each) for row in rows] for each in widths), key=lambda made: sum(map(len, made)))
    if max(map(len, folded)) <= MOST_FOLDED:
        return [line[GAP:] for line in table([line for lines in folded for line in lines], names)]
    beside = room + GAP * (names - 1)
    whole = [WITH.join(filter(None, row[:names])) for row in rows]
    below = table([(f"{name if len(name) <= beside else '':<{beside}}", *row[names:])
                   for name, row in zip(whole, rows, strict=True)])
    return [line for name, row in zip(whole, below, strict=True)
            for line in (*(wrapped(name) if len(name) > beside else []), row[GAP:])]


def _folded(row: tuple[str, ...], widths: Sequence[int]) -> list[tuple[str, ...]]:
    """A row as one or more, its names in so many characters, its figures in the first."""
    parts = [textwrap.wrap(cell, width, break_on_hyphens=False) or [""]
             for cell, width in zip(row, widths, strict=False)]
    rest = row[len(widths):]
    return [(*cells, *(rest if place == 0 else [""] * len(rest)))
            for place, cells in enumerate(zip_longest(*parts, fillvalue=""))]


def _pairs(able: Sequence[Choice], units: str) -> list[str]:
    """The best few lines of two hoses, with the best pump of each."""
    first: dict[str, Choice] = {}
    for one in able:
        if present.PAIR in one.hose:
            first.setdefault(one.hose, one)
    return [f"{shown(one.hose)}: fill {fill}, time on site {visit}."
            for one in list(first.values())[:3] for fill, _, visit, _ in [present.times(one, units)]]


def _reasons(found: Sequence[Choice], units: str) -> list[str]:
    """What there is to know of each hose and of each pump at each setting, and why one cannot; each once."""
    hoses: dict[str, None] = {}
    pumps: dict[str, None] = {}
    for one in found:
        if one.of_hose and present.PAIR not in one.hose:
            hoses.setdefault(f"{shown(one.hose)}: {shown(one.of_hose)}.")
        if one.of_pump:
            pumps.setdefault(f"{shown(one.pump)}{_setting(one, units)}: {shown(one.of_pump)}.")
    return [*list(hoses)[:MOST_ROWS], *list(pumps)[:2 * MOST_ROWS]]


def _setting(one: Choice, units: str) -> str:
    set_to = present.setting(one, units)
    return f" at {set_to}" if set_to else ""
