"""The estimate as a text report, made to be read at 80 columns.

The first lines are the answers a customer asks for; what limits them, the other stages, what was
assumed, the cautions and the safety text follow. Every number is the same as in `fillcalc.report.data`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import isfinite
from typing import Any

from fillcalc.answers import STROKE_MARKS, Estimate, Stage, Visit, answers, as_written
from fillcalc.case.records import Case
from fillcalc.cautions import cautions
from fillcalc.report import words
from fillcalc.report.words import UNKNOWN, shower, trade
from fillcalc.shown import shown

WIDTH = 80
MOST_SWINGS = 6
"""Inputs that are told under what matters most; the data has them all."""
MARKS = {"danger": "DANGER", "care": "CARE", "note": "NOTE"}


def report(case: Case, estimate: Estimate, units: str = "metric") -> str:
    """The report as lines of at most 80 columns, ending in a newline. `units` is metric or us."""
    case, estimate = as_written(case), as_written(estimate)
    found = cautions(case, estimate, units)
    parts = [
        _head(case, units),
        _main_answers(case, estimate, units),
        _wrap([f"{MARKS[found[0].weight]}: {trade(found[0].text, units)}"]) if found else [],
        _section("What holds the fill back", words.fill_sentences(case, estimate, units)),
        _pump_up(case, estimate, units),
        _section("Stall and limits", words.limit_sentences(case, estimate, units)),
        _air(case, estimate, units),
        _section("High points", words.sweep_sentences(estimate, units)),
        *(_block(title, getattr(estimate, name), units) for name, title in BLOCKS.items()),
        _visit(estimate, units),
        _section("The customer provides", words.needs(case, estimate, units)),
        _assumptions(case),
        _cautions(found, units),
        _section("Safety", words.safety(units)[1:]),
    ]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


BLOCKS = {"settle": "Settle", "hold": "Hold", "release": "Release", "drain": "Drain", "energy": "Stored energy"}
"""Stages that are told as a plain list of their answers when the estimate has them."""


def _head(case: Case, units: str) -> list[str]:
    title = [shown(case.title)] if case.title else []
    return [words.TITLE, *_wrap(title), trade(words.GAUGE, units)]


def _main_answers(case: Case, estimate: Estimate, units: str) -> list[str]:
    say, fill, pump = shower(units), estimate.fill, estimate.pressurise
    fill_time = say(fill.time_s, "duration") if fill.finished else "never finishes"
    weight = f", {say(fill.water_kg, 'mass')}" if isfinite(fill.water_kg) else ""
    air = f"{say(estimate.trapped_share, 'share')}, {say(estimate.trapped_air_m3, 'volume')}"
    rows = [
        ("Fill time", fill_time, f"{say(fill.flow_start_m3_s, 'flow')} at the start"),
        ("Water", say(fill.water_m3, "volume"), f"to fill{weight}"),
        ("Pump-up", *_pump_cells(estimate, units)),
        ("Trapped air", say(pump.times_air_free, "ratio"), f"as much to pump as with no air ({air})"),
    ]
    if estimate.visit is not None:
        rows.append(("On site", say(estimate.visit.middle_s, "duration"), _range_of_visit(estimate.visit, say)))
    wide = max(len(value) for _, value, _ in rows)
    return [trade(f"{name:<12} {value:<{wide}}  {more}".rstrip(), units) for name, value, more in rows]


def _range_of_visit(visit: Visit, say: words.Say) -> str:
    """The low and high of the time on site, and how often the job never ends."""
    told = f"likely; {say(visit.low_s, 'duration')} to {say(visit.high_s, 'duration')}"
    return told + (f"; {words.percent(visit.never_share)} never finish" if visit.never_share > 0 else "")


def _pump_cells(estimate: Estimate, units: str) -> tuple[str, str]:
    say, pump = shower(units), estimate.pressurise
    to = f"to {say(pump.test_gauge_pa, 'pressure')}"
    if not estimate.fill.finished:
        return UNKNOWN, "the vessel never fills"
    water = f"{say(pump.water_m3, 'volume')} {to}"
    if not pump.reached:
        return "never gets there", f"{water}; stalls at {say(pump.stall_gauge_pa, 'pressure')}"
    strokes = f", {say(pump.strokes, 'strokes')} strokes" if isfinite(pump.strokes) else ""
    return say(pump.time_s, "duration"), f"{water}{strokes}"


def _pump_up(case: Case, estimate: Estimate, units: str) -> list[str]:
    say, pump = shower(units), estimate.pressurise
    lines = _section("Pump-up", words.pump_sentences(case, estimate, units))
    labels = answers(type(pump.parts))
    parts = [(labels[name].label, getattr(pump.parts, name)) for name in labels]
    if isfinite(pump.water_m3) and pump.water_m3 > 0:
        lines = lines or ["Pump-up"]
        lines += ["  Where the pumped water goes:", *table(
            [(label, say(value, "volume"), words.percent(value / pump.water_m3))
             for label, value in parts if value > 0])]
    marks = words.stroke_marks(estimate)
    if all(isfinite(strokes) for strokes in marks):
        at = [(say(share * pump.test_gauge_pa, "pressure"), say(strokes, "strokes"))
              for share, strokes in zip(STROKE_MARKS, marks, strict=True)]
        lines += table([("Gauge", *(row[0] for row in at)), ("Strokes", *(row[1] for row in at))])
    return lines


def _air(case: Case, estimate: Estimate, units: str) -> list[str]:
    say = shower(units)
    lines = _section("What trapped air adds", words.air_sentences(case, estimate, units))
    if not lines:
        return []
    rows = [("air", "water", "x air-free", "pump-up", "strokes", "lifts at", "")]
    for rung in sorted(estimate.air_ladder, key=lambda rung: float(rung.share)):
        own = abs(float(rung.share) - float(estimate.trapped_share)) < 1e-9
        rows.append((say(rung.share, "share"), say(rung.water_m3, "volume"), say(rung.times_air_free, "ratio"),
                     say(rung.time_s, "duration"), say(rung.strokes, "strokes"),
                     say(rung.strokes_before_needle, "strokes"), "< this case" if own else ""))
    return [*lines, *table(_known(rows))]


def _block(title: str, record: Any, units: str) -> list[str]:
    if record is None:
        return []
    say = shower(units)
    rows = [(trade(said.label, units), value) for name, said in answers(type(record)).items()
            if (value := say(getattr(record, name), said.family)) != UNKNOWN]
    return [title, *table(rows)] if rows else []


def _visit(estimate: Estimate, units: str) -> list[str]:
    say = shower(units)
    rows: list[Sequence[str]] = [("", "as written", "low", "middle", "high")]
    rows += [(stage.name, *_span(stage, units)) for stage in estimate.stages if _takes_time(stage)]
    if estimate.visit is not None:
        rows.append(("on site", *_span(estimate.visit, units)))
    if len(rows) == 1:
        return []
    lines = ["On site", *table(_known(rows))]
    if estimate.visit is not None and isfinite(estimate.visit.rework_s):
        lines.append(f"  If a joint must be remade: + {say(estimate.visit.rework_s, 'duration')}.")
    if estimate.matters:
        lines += ["  What matters most, and the time on site at its low and high end:", *table(
            [(swing.path, say(swing.low_s, "duration"), say(swing.high_s, "duration"))
             for swing in estimate.matters[:MOST_SWINGS]])]
    return lines


def _takes_time(stage: Stage) -> bool:
    """False for a stage that takes no time in any try; true where that cannot be had."""
    return not stage.as_written_s == stage.high_s == 0


def _span(record: Any, units: str) -> list[str]:
    say = shower(units)
    return [say(getattr(record, name), "duration") for name in ("as_written_s", "low_s", "middle_s", "high_s")]


def _assumptions(case: Case) -> list[str]:
    """What is in doubt with its reason, a line each; the rest together."""
    doubtful = [item for item in case.assumptions if item.path in case.ranges]
    usual = [item for item in case.assumptions if item.path not in case.ranges]
    lines = []
    for item in doubtful:
        lines += _wrap([f"{shown(item.path)} = {shown(item.value)}: {item.why}"], "  ", "      ")
    if usual:
        taken = ", ".join(f"{shown(item.path)} = {shown(item.value)}" for item in usual)
        lines += _wrap([f"As usual: {taken}."], "  ", "      ")
    return ["Assumed, because the case does not say", *lines] if lines else []


def _cautions(found: Iterable[Any], units: str) -> list[str]:
    lines = []
    for caution in found:
        lines += _wrap([f"{MARKS[caution.weight]}: {trade(caution.text, units)}"], "  ", "      ")
    return ["Cautions", *lines] if lines else []


# --- laying out -------------------------------------------------------------------------------

def table(rows: Sequence[Sequence[str]]) -> list[str]:
    """Rows of cells as lines: the first column to the left, the others to the right, two spaces between."""
    wide = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    return ["    " + "  ".join(cell.ljust(wide[place]) if place == 0 else cell.rjust(wide[place])
                               for place, cell in enumerate(row)).rstrip() for row in rows]


def _known(rows: Sequence[Sequence[str]]) -> list[tuple[str, ...]]:
    """A table with a head, without the columns in which nothing is known."""
    kept = [column for column in zip(*rows, strict=True) if any(cell != UNKNOWN for cell in column[1:])]
    return list(zip(*kept, strict=True))


def wrapped(text: str) -> list[str]:
    """The text in lines of at most 80 columns, later ones indented."""
    return _wrap([text], "  ", "    ")


def _section(title: str, sentences: Sequence[str]) -> list[str]:
    return [title, *_wrap(sentences, "  ", "    ")] if sentences else []


def _wrap(sentences: Iterable[str], first: str = "", then: str = "") -> list[str]:
    lines: list[str] = []
    for sentence in sentences:
        here = first
        for word in sentence.split():
            for piece in _pieces(word, WIDTH - len(then) - 1):
                if here.strip() and len(here) + 1 + len(piece) > WIDTH:
                    lines.append(here)
                    here = then
                here += (" " if here.strip() else "") + piece
        lines.append(here)
    return lines


def _pieces(word: str, most: int) -> list[str]:
    return [word[start:start + most] for start in range(0, len(word), most)]
