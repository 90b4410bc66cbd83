"""Which hose and which pump, as text and as data."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Sequence
from itertools import pairwise
from math import isfinite
from typing import Any

from fillcalc.case.records import Case, Kit
from fillcalc.formats.data import plain
from fillcalc.formats.text import WIDTH, table, wrapped
from fillcalc.present import sentences as words
from fillcalc.present.never import time_or_never
from fillcalc.present.sentences import UNKNOWN, Say, shower, trade
from fillcalc.questions.choices.ranking import SHORTER, Choice, steps_up
from fillcalc.questions.choices.sought import SHARES, Sought
from fillcalc.units.printable import shown

MOST_ROWS = 10
"""Rows of a table that are printed; the data has them all."""
LONGEST_NAME, SHORTEST_NAME = 32, 12
"""Characters of a name in a table, as the figures beside it leave room; a longer name goes on below."""
PAIR = " + "
"""Between the names of two hoses in a row."""
GAUGE = "Pressures are gauge. Times are likely ones; nine in ten take less than the high."
GAIN = 30.0
"""A step up that saves less than this, in s, buys nothing."""
LIMIT_UNKNOWN = "limit?"


def choices_data(case: Case, kit: Kit, found: Sequence[Choice], asked: Sought, units: str = "metric") -> dict[str, Any]:
    """The ranking as nested dicts and lists, the best first; SI numbers, sentences in `units` (metric or us)."""
    return {
        "title": case.title,
        "choices": plain(tuple(found)),
        "steps": [{"hose": one.hose, "pump": one.pump, "saves_s": plain(saved)} for one, saved in steps_up(found)],
        "sought": plain(asked),
        "assumptions": plain(kit.assumptions),
        "safety": list(words.safety(units)),
    }


def choices_report(case: Case, kit: Kit, found: Sequence[Choice], asked: Sought, units: str = "metric") -> str:
    """The ranking as lines of at most 80 columns, ending in a newline."""
    say = shower(units)
    title = f": {shown(case.title)}" if case.title else ""
    able = [one for one in found if one.can]
    names = {shown(name) for one in found for name in (*one.hose.split(PAIR), one.pump)}
    parts = [
        [words.TITLE, *_flush(f"What of the kit to take{title}"), *_flush(trade(GAUGE, units))],
        _limit_unknown(case) if able else [],
        _best(able, say, units, names) if able else ["Nothing of the kit can do it."] if found else _empty(kit),
        _ranking(able, say, units),
        _section("What each step up buys, with the best pump", _steps(found, say), units, names),
        _pumps(case, found, say),
        _section("Two hoses in a row, where one does not reach", _pairs(able, say), units, names),
        _section("To know, and what cannot do it", _reasons(found, say), units, names),
        _section("The other way round", sought_sentences(asked, say), units),
        _section("Assumed of the kit", _assumed(kit), units),
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


def _empty(kit: Kit) -> list[str]:
    return [f"The kit has no {'hose' if not kit.hose else 'pump'}."]


def _best(able: Sequence[Choice], say: Say, units: str, names: Iterable[str]) -> list[str]:
    best = able[0]
    return _flush(_trade(
        f"Best: {shown(best.hose)} with {shown(best.pump)}{_at(best, say)}. On site "
        f"{time_or_never(best.visit_s.likely, say)} likely, {time_or_never(best.visit_s.high, say)} at the high end."
        + (f" It is {shown(best.of_hose)}: does it reach?" if SHORTER in best.of_hose else ""), units, names))


def _at(one: Choice, say: Say) -> str:
    set_to = say(one.regulator_gauge_pa, "pressure")
    return "" if set_to == UNKNOWN else f", regulator at {set_to}"


def _ranking(able: Sequence[Choice], say: Say, units: str) -> list[str]:
    """One row for each single hose and each pump that can do it, at the pump's best setting."""
    first: dict[tuple[str, str], Choice] = {}
    for one in able:
        if PAIR not in one.hose:
            first.setdefault((one.hose, one.pump), one)
    if not first:
        return []
    told = list(first.values())[:MOST_ROWS]
    times = [[time_or_never(value, say) for value in (
        one.fill_s.likely, one.pump_up_s.likely, one.visit_s.likely, one.visit_s.high)] for one in told]
    marked = [f"{shown(one.hose)}{' *' if SHORTER in one.of_hose else ''}" for one in told]
    lines = _named([("hose", "pump", "fill", "pump-up", "on site", "high"),
                    *((hose, shown(one.pump), *row) for hose, one, row in zip(marked, told, times, strict=True))], 2)
    if any(SHORTER in one.of_hose for one in told):
        lines.append("  * shorter than the line of the case: does it reach?")
    more = len(first) - MOST_ROWS
    title = "Ranked by the time on site, in the middle and at the high end"
    return [title, *lines, *([f"  {more} more can do it."] if more > 0 else [])]


def _pumps(case: Case, found: Sequence[Choice], say: Say) -> list[str]:
    """Each pump at each of its settings: what it can reach, the time of the pump-up, and whether it can do it."""
    first: dict[tuple[str, str], Choice] = {}
    for one in found:
        first.setdefault((one.pump, str(one.regulator_gauge_pa)), one)
    able = {(one.pump, str(one.regulator_gauge_pa)) for one in found if one.can}
    yes = "yes" if case.vessel.never_above is not None else LIMIT_UNKNOWN
    rows: list[tuple[str, ...]] = [("pump", "regulator", "can reach", "pump-up", "high", "")]
    rows += [(shown(one.pump), _or_blank(say(one.regulator_gauge_pa, "pressure")), _reach(one, say),
              time_or_never(one.pump_up_s.likely, say), time_or_never(one.pump_up_s.high, say),
              yes if place in able else "cannot")
             for place, one in list(first.items())[:2 * MOST_ROWS]]
    return ["Pumps and settings", *_named(rows, 1)] if first else []


def _limit_unknown(case: Case) -> list[str]:
    if case.vessel.never_above is not None:
        return []
    return _flush("The vessel's limit was not given: no pump is ruled out by it. Nothing that a pump can reach must "
                  "pass what the weakest part stands.")


def _reach(one: Choice, say: Say) -> str:
    return say(one.reach_gauge_pa, "pressure") if isfinite(one.reach_gauge_pa) else "never stalls"


def _named(rows: Sequence[tuple[str, ...]], names: int) -> list[str]:
    """A table whose first columns are names: as wide as the line allows, a longer name goes on below."""
    for longest in range(LONGEST_NAME, SHORTEST_NAME - 1, -1):
        folded: list[tuple[str, ...]] = []
        for row in rows:
            parts = [textwrap.wrap(cell, longest) or [""] for cell in row[:names]]
            for place in range(max(map(len, parts))):
                cells = [part[place] if place < len(part) else "" for part in parts]
                folded.append((*cells, *(row[names:] if place == 0 else [""] * (len(row) - names))))
        lines = [line[2:] for line in table(folded, names)]
        if max(map(len, lines)) <= WIDTH:
            break
    return lines


def _or_blank(text: str) -> str:
    return "" if text == UNKNOWN else text


def _steps(found: Sequence[Choice], say: Say) -> list[str]:
    """From the slowest single hose to the fastest: what each saves."""
    ladder = [one for one, _ in steps_up(found) if PAIR not in one.hose]
    told = []
    for before, one in pairwise(ladder):
        saved = float(before.visit_s.likely) - float(one.visit_s.likely)
        gain = "nothing to speak of" if saved < GAIN else f"{say(saved, 'duration')} sooner"
        told.append(f"{shown(one.hose)} instead of {shown(before.hose)}: {gain}.")
    return told


def _pairs(able: Sequence[Choice], say: Say) -> list[str]:
    """The best few lines of two hoses, with the best pump of each."""
    first: dict[str, Choice] = {}
    for one in able:
        if PAIR in one.hose:
            first.setdefault(one.hose, one)
    return [f"{shown(one.hose)}: fill {time_or_never(one.fill_s.likely, say)}, on site "
            f"{time_or_never(one.visit_s.likely, say)}." for one in list(first.values())[:3]]


def _reasons(found: Sequence[Choice], say: Say) -> list[str]:
    """What there is to know of each hose and of each pump at each setting, and why one cannot; each once."""
    hoses: dict[str, None] = {}
    pumps: dict[str, None] = {}
    for one in found:
        if one.of_hose and PAIR not in one.hose:
            hoses.setdefault(f"{shown(one.hose)}: {shown(one.of_hose)}.")
        if one.of_pump:
            pumps.setdefault(f"{shown(one.pump)}{_setting(one, say)}: {shown(one.of_pump)}.")
    return [*list(hoses)[:MOST_ROWS], *list(pumps)[:2 * MOST_ROWS]]


def _setting(one: Choice, say: Say) -> str:
    return f" at {say(one.regulator_gauge_pa, 'pressure')}" if isfinite(one.regulator_gauge_pa) else ""


def sought_sentences(asked: Sought, say: Say) -> list[str]:
    """What a time allows, in sentences; nothing where nobody asked."""
    told = []
    if isfinite(asked.fill_within_s):
        within = say(asked.fill_within_s, "duration")
        if isfinite(asked.smallest_bore_m):
            wider = say(asked.smallest_bore_surely_m, "bore") if isfinite(asked.smallest_bore_surely_m) else "none"
            told += [f"To fill within {within} the hose needs a bore of {say(asked.smallest_bore_m, 'bore')}; "
                     f"{wider} does it in nine cases of ten.", "Couplings and tails must be wider in proportion."]
        else:
            told.append(f"No hose fills it within {within}: source, vent and height take too long.")
    if isfinite(asked.pump_within_s):
        within = say(asked.pump_within_s, "duration")
        if asked.most_air_surely_share >= SHARES[1]:
            told.append(f"Pumping up keeps within {within} whatever air there is.")
        elif asked.most_air_share > 0:
            told.append(f"To pump up within {within} at most {say(asked.most_air_share, 'share')} of air may stay; "
                        f"in nine cases of ten {say(asked.most_air_surely_share, 'share')}.")
        else:
            told.append(f"Even without air the pump-up takes more than {within}.")
        if isfinite(asked.lowest_drive_gauge_pa):
            surely = (f", in nine cases of ten at {say(asked.lowest_drive_surely_gauge_pa, 'pressure')}"
                      if isfinite(asked.lowest_drive_surely_gauge_pa) else "")
            told += [f"The pump of the case does it at {say(asked.lowest_drive_gauge_pa, 'pressure')} of drive"
                     f"{surely}.",
                     "Check that against the highest safe setting."]
        elif isfinite(asked.lowest_reaching_gauge_pa):
            told.append("More drive pressure does not bring it within that.")
    if isfinite(asked.lowest_reaching_gauge_pa):
        told.append(f"The pump of the case needs {say(asked.lowest_reaching_gauge_pa, 'pressure')} of drive "
                    "to get there at all, at high friction.")
    return told


def _assumed(kit: Kit) -> list[str]:
    """What the kit does not say, each input once."""
    told: dict[str, None] = {}
    for each in kit.assumptions:
        if each.path.startswith("gauge."):
            continue
        leaf = each.path.rpartition(".")[2].replace("_", " ")
        told.setdefault(f"{leaf} = {shown(each.value)}: {shown(each.why)}.")
    return list(told)
