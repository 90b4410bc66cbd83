"""The rows of the form, made from the declarations and from what is written in the case.

Groups stand in the order of the work. The first holds what must be known; nothing is shown twice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fillcalc.case import records
from fillcalc.case.fields import GROUPS, Input
from fillcalc.case.medium import counts, group_title
from fillcalc.case.names import capital, choice_label, in_units, label, number_in, record_in
from fillcalc.case.shape_of import children_of, kind_input, leaves_of, record_named, word_of
from fillcalc.units import takes, unit_behind, without_unit

KINDS = ("vessel.shape", "tap.kind", "pump.kind", "gas_supply.kind")
"""The words that choose a record: another word, other inputs."""

MAIN = "main"
"""The group of what must be met first."""

LISTS: dict[str, type] = {
    "vessel.crest": records.Crest,
    "fill.hose": records.Hose,
    "test.steps": records.Step,
    "reading": records.Reading,
}
NOUNS = {"vessel.crest": "crest", "fill.hose": "hose", "test.steps": "stop", "reading": "reading"}

NEW_ITEMS: dict[str, dict[str, str]] = {
    "vessel.crest": {"slope": "10 deg"},
    "fill.hose": {"length": "10 m", "bore": "12.7 mm"},
    "test.steps": {"at": "50 %", "pause": "2 min"},
}
"""What a new item of a list starts with, so that it can be read at once; a reading is asked for instead."""


@dataclass(frozen=True)
class Row:
    """One row of the form: an input, or something to do."""

    path: str
    label: str
    declared: Input
    does: str = ""
    """"add" or "drop" where the row is a button for the list or item at the path, "take" where it
    gives the case what the readings tell, "head" for a heading."""
    labels: tuple[tuple[str, str, str], ...] = ()
    """Words of a choice that are read otherwise than the file has them: the word, its label, a shorter one."""


@dataclass(frozen=True)
class Group:
    key: str
    title: str
    rows: tuple[Row, ...]


def chosen(table: Mapping[str, object], kind_path: str) -> type:
    """The record that the case has chosen at one of `KINDS`."""
    key = kind_path.partition(".")[0]
    child = children_of(records.Case)[key]
    return record_in(table, key, child) or child.records[0]


def keys_of(kind_path: str, value: str | None) -> set[str] | None:
    """The keys that the record chosen by this word knows; None for a word that means nothing."""
    record = record_named(children_of(records.Case)[kind_path.partition(".")[0]], value)
    return None if record is None else {*leaves_of(record), *children_of(record)}


def carried_over(old: Mapping[str, object], known: set[str]) -> dict[str, str]:
    """Keys that the new shape calls by another name: old name to new name."""
    pairs = (("height", "length"), ("length", "height"))
    return {a: b for a, b in pairs if a in old and a not in known and b in known and b not in old}


def raw(table: object, path: str) -> Any:
    """What is written at a path of the parsed text; None where nothing is."""
    here = table
    for name in path.split("."):
        if isinstance(here, list) and name.isdigit():
            index = int(name) - 1
            here = here[index] if 0 <= index < len(here) else None
        elif isinstance(here, Mapping):
            here = here.get(name)
        else:
            return None
    return here


def as_typed(value: object) -> str:
    """A written value as one would type it into a field."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return "; ".join(" : ".join(as_typed(v) for v in item) if isinstance(item, list) else as_typed(item)
                         for item in value)
    return str(value)


def written(table: Mapping[str, object], path: str) -> str:
    """What is written at a path as one would type it; a shape or kind by the word that is offered for it."""
    typed = as_typed(raw(table, path))
    if path not in KINDS:
        return typed
    child = children_of(records.Case)[path.partition(".")[0]]
    record = record_named(child, typed)
    return typed if record is None else word_of(record, child)


def unit_for(declared: Input, typed: str, before: str, units: str) -> str:
    """The unit that is put behind a plain number that was typed: that of what stood in the field before, else of the
    example; "" for an input that needs none, and where that is not plain, as for a fraction in a field in mm."""
    if declared.form != "quantity" or not without_unit(typed):
        return ""
    unit = unit_behind(before, declared.families) or unit_behind(
        in_units(declared.example, declared, units), declared.families)
    return unit if takes(unit, typed) else ""


def with_gas(table: Mapping[str, object]) -> bool:
    """Whether the case is one of a test with gas, by its text."""
    return raw(table, "test.medium") in records.GASES


def groups(table: Mapping[str, object], units: str = "metric") -> tuple[Group, ...]:
    """Every row of the form for what the case has chosen: the main inputs, then the groups in the order of the work."""
    rows = _Rows(table, units)
    rows.walk(records.Case, "")
    if raw(table, "reading") and not rows.gas:
        rows.of["reading"].append(Row("reading.air", "Use this trapped air in the case", Input(
            "the case gets the trapped air of the readings, with its range; undo takes it back", ""), "take"))
    ordered = tuple(row for _, row in sorted(rows.main, key=lambda each: each[0]))
    return (Group(MAIN, "Main inputs", ordered),
            *(Group(key, group_title(key, rows.gas), tuple(rows.of[key])) for key in GROUPS if rows.of[key]))


class _Rows:
    """The rows of a form as they are found: the main ones with their places, the others by their group."""

    def __init__(self, table: Mapping[str, object], units: str) -> None:
        self.table, self.units = table, units
        self.gas = with_gas(table)
        self.of: dict[str, list[Row]] = {key: [] for key in GROUPS}
        self.main: list[tuple[int, Row]] = []

    def walk(self, record: type, base: str) -> None:
        """Find the rows of a record and of the tables within it."""
        for key, declared in leaves_of(record).items():
            self._add(base + key, declared)
        for key, child in children_of(record).items():
            path = base + key
            if child.word:
                self._add(f"{path}.{child.word}", kind_input(child))
            if path in LISTS:
                self._list(path)
            else:
                inner = chosen(self.table, f"{path}.{child.word}") if child.word else child.records[0]
                self.walk(inner, f"{path}.")

    def _add(self, path: str, declared: Input) -> None:
        if not counts(path, self.gas):
            return
        number = number_in(path, self.table)
        row = Row(path, capital(label(declared, self.units, number, short=True)), declared,
                  labels=_word_labels(path, declared, self.units))
        if declared.main and number in ("", "1"):
            self.main.append((declared.main, row))
        else:
            self.of[declared.group].append(row)

    def _list(self, path: str) -> None:
        """The rows of each item of a list, between its head and what takes it out, and what adds one more."""
        if not counts(path, self.gas):
            return
        record, noun = LISTS[path], NOUNS[path]
        here = raw(self.table, path)
        items = len(here) if isinstance(here, list) else 0
        held = self.of[str(getattr(record, "group"))]  # noqa: B009
        for n in range(1, items + 1):
            several = items > 1 or path != "fill.hose"
            if several:
                held.append(Row(f"{path}.{n}", f"{noun.capitalize()} {n}", Input("", ""), "head"))
            self.walk(record, f"{path}.{n}.")
            if several:
                held.append(Row(f"{path}.{n}", f"Remove {noun} {n}",
                                Input(f"take {noun} {n} out of the case; undo brings it back", ""), "drop"))
        more = "another " if items else "a "
        held.append(Row(path, f"Add {more}{noun}", Input(f"one more {noun}, at the end", ""), "add"))


def _word_labels(path: str, declared: Input, units: str) -> tuple[tuple[str, str, str], ...]:
    """Words of a choice that a person reads otherwise than the file has them: the word, its label whole and short."""
    found = ((word, choice_label(path, word, units), choice_label(path, word, units, room=1))
             for word in declared.words if declared.form == "choice")
    return tuple(each for each in found if each[0] != each[1])
