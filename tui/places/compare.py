"""Kept · Now · Difference: two estimates side by side, every declared answer of both."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from decimal import Decimal, InvalidOperation
from math import isfinite
from typing import TYPE_CHECKING, Any, TypeGuard

from fillcalc.case.names import name_of
from fillcalc.present.gas import BOTTLES, LET_OFF, READ
from fillcalc.present.lines import FILL, PUMP_UP, TIME_ON_SITE, TRAPPED_AIR, WORKING
from fillcalc.present.never import NEVER
from fillcalc.present.sentences import UNKNOWN, shower
from fillcalc.questions.likely import at, likely
from fillcalc.units.printable import shown
from tui.state.inputs import as_typed

if TYPE_CHECKING:
    from fillcalc.estimation.answers import Answer, Estimate


@dataclass(frozen=True)
class Pair:
    """One answer of both, as text, and by how much it changed."""

    label: str
    kept: str
    now: str
    difference: str


MAIN = (
    (FILL, "fill.time_s"), (PUMP_UP, "pressurise.time_s"), ("Strokes", "pressurise.strokes"),
    (TRAPPED_AIR, "pressurise.times_air_free"), (TIME_ON_SITE, "visit.likely_s"),
)
"""What stands in sight while answers are kept; strokes give way to litres for pumps without a stroke."""
GAS_MAIN = ((BOTTLES, "gas.bottles.needed"), (READ, "gas.rise.read_s"), (LET_OFF, "gas.off.time_s"),
            (TIME_ON_SITE, "visit.likely_s"))
"""The same of a test with gas."""


AT_LIKELY_VALUES = "at_likely_values_s"
"""The time on site without what seldom happens, which stands beside the likely one in the data alone."""
SAME = "the same"
"""The difference of an answer that has none."""


def main_pairs(kept: Estimate, now: Estimate, units: str) -> list[Pair]:
    """The main answers of both, likely ones."""
    kept, now = likely(kept, units), likely(now, units)
    pairs = []
    for label, path in MAIN if now.gas is None else GAS_MAIN:
        if path == "pressurise.strokes" and not (known(at(kept, path)) or known(at(now, path))):
            label, path = "Water", "pressurise.water_m3"
        pairs.append(_pair(label, path, kept, now, units))
    return pairs


def all_pairs(kept: Estimate, now: Estimate, units: str) -> list[Pair]:
    """Every answer that either of them has, likely ones."""
    kept, now = likely(kept, units), likely(now, units)
    paths = dict.fromkeys([*_paths(kept), *_paths(now)])
    pairs = [_pair(f"{part}: {label}" if part else label, path, kept, now, units)
             for path in paths for part, label in [_label(now, kept, path)]]
    return [pair for pair in pairs if pair.kept != "–" or pair.now != "–"]


def _pair(label: str, path: str, kept: Estimate, now: Estimate, units: str) -> Pair:
    say = shower(units)
    said = _declared(now, path) or _declared(kept, path)
    family, better = (said.family, said.better) if said is not None else ("duration", "less")
    before, after = at(kept, path), at(now, path)

    def figure(value: float | None) -> str:
        if value is None or (family != "duration" and not isfinite(value)):
            return UNKNOWN
        return say(value, family) if isfinite(value) else NEVER

    if now.visit is None:
        return Pair(label, figure(before), WORKING, "")
    if kept.visit is None:
        return Pair(label, "not kept", figure(after), "")
    return Pair(label, figure(before), figure(after), _difference(before, after, family, better, figure))


def _difference(before: float | None, after: float | None, family: str, better: str,
                figure: Callable[[float], str]) -> str:
    if not known(before) or not known(after):
        return "" if known(before) == known(after) else "could not before" if known(after) else "cannot any more"
    change = after - before
    if figure(before) == figure(after):
        return SAME
    size = "" if family in ("pressure_abs", "temperature") else _apart(figure(before), figure(after)) or figure(
        abs(change))
    way = "less" if change < 0 else "more"
    verdict = "" if not better else ", better" if better == way else ", worse"
    return f"{size} {way}{verdict}".strip()


def _apart(before: str, after: str) -> str:
    """The difference of two figures as they are shown, no finer than they; empty where they differ in their unit or are
    no plain figures."""
    (one, _, unit), (other, _, others) = before.partition(" "), after.partition(" ")
    try:
        figures = Decimal(one), Decimal(other)
    except InvalidOperation:
        return ""
    return f"{abs(figures[1] - figures[0]):f} {unit}".rstrip() if unit == others and " " not in unit else ""


def known(value: float | None) -> TypeGuard[float]:
    return value is not None and isfinite(value)


def changed_inputs(before: Mapping[str, object], after: Mapping[str, object], units: str) -> list[str]:
    """What is written otherwise in two tables of case files: "hose bore 12.7 mm -> 19 mm"."""
    return [f"{name_of(path, units, after)} {was} → {now}" for path, was, now in _changes(before, after, "")]


def _changes(before: object, after: object, path: str) -> list[tuple[str, str, str]]:
    """Path, what was written and what is written now, of every input that differs."""
    if isinstance(before, Mapping) and isinstance(after, Mapping):
        found = []
        for key in dict.fromkeys([*before, *after]):
            found += _changes(before.get(key), after.get(key), f"{path}.{key}" if path else str(key))
        return found
    if isinstance(before, list) and isinstance(after, list) and any(isinstance(i, Mapping) for i in (*before, *after)):
        found = []
        for index in range(max(len(before), len(after))):
            found += _changes(before[index] if index < len(before) else {},
                              after[index] if index < len(after) else {}, f"{path}.{index + 1}")
        return found
    if before == after or path in ("title", "note"):
        return []
    was, now = (shown(as_typed(v) if not isinstance(v, (Mapping, list)) else "given") or "not given"
                for v in (before, after))
    return [(path, was, now)]


# --- walking the answers ------------------------------------------------------------------------

def _paths(record: Any, path: str = "") -> Iterator[str]:
    """Paths of every declared single answer, through the records of an estimate."""
    for f in fields(record):
        here = f"{path}.{f.name}" if path else f.name
        said = f.metadata.get("answer")
        if said is not None:
            if not said.listed and said.family and f.name != AT_LIKELY_VALUES:
                yield here
        elif is_dataclass(value := getattr(record, f.name)) and f.name not in ("history", "curve"):
            yield from _paths(value, here)


def _declared(record: Any, path: str) -> Answer | None:
    above, _, name = path.rpartition(".")
    holder = at(record, above) if above else record
    if holder is None:
        return None
    return next((f.metadata.get("answer") for f in fields(holder) if f.name == name), None)


def _label(now: Estimate, kept: Estimate, path: str) -> tuple[str, str]:
    said = _declared(now, path) or _declared(kept, path)
    part = path.rpartition(".")[0].replace("_", " ").replace(".", ", ")
    return part, said.label if said is not None else path
