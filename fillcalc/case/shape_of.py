"""How a file is laid out, worked out from the records: which tables hold which inputs and tables."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import cache
from types import NoneType
from typing import Any, get_args, get_origin, get_type_hints

from fillcalc.case import records
from fillcalc.case.fields import Input, Word, inputs
from fillcalc.tree import attribute_of

UNIONS: Mapping[type, tuple[str, tuple[type, ...], Input | None]] = {
    records.Vessel: ("shape", records.VESSELS, records.VESSEL_SHAPE),
    records.WaterSource: ("kind", records.WATER_SOURCES, records.SOURCE_KIND),
    records.Pump: ("kind", records.PUMPS, records.PUMP_KIND),
    records.GasSupply: ("kind", records.GAS_SUPPLIES, records.GAS_KIND),
}
"""Records of which a file names one by a word: the key of that word, the records, and the word's declaration."""


@dataclass(frozen=True)
class Child:
    """A table within a table."""

    records: tuple[type, ...]
    word: str
    """The key that chooses among several records; empty where there is but one."""
    many: bool
    optional: bool
    declared: Input | None = None
    """The declaration of the word that chooses, without its words."""


def key_of(attribute: str) -> str:
    """The key in a file of an attribute of a record."""
    return attribute.removesuffix("_")


def _leaves_of(record: type) -> Mapping[str, Input]:
    """The inputs of a record by the key they have in a file."""
    return {key_of(name): declared for name, declared in inputs(record).items()}


leaves_of: Callable[[type], Mapping[str, Input]] = cache(_leaves_of)


def _is_table(kind: object) -> bool:
    """Whether a record is a table of a file: it declares inputs, or stands for records that do."""
    return isinstance(kind, type) and is_dataclass(kind) and (kind in UNIONS or bool(inputs(kind)))


def _children_of(record: type) -> Mapping[str, Child]:
    """The tables within the table of a record, by key."""
    found: dict[str, Child] = {}
    types = get_type_hints(record)
    for entry in fields(record):
        if "input" in entry.metadata:
            continue
        members = get_args(types[entry.name]) or (types[entry.name],)
        inner: type | None = next((each for each in members if _is_table(each)), None)
        if inner is not None:
            word, kinds, declared = UNIONS.get(inner, ("", (inner,), None))
            found[key_of(entry.name)] = Child(kinds, word, get_origin(types[entry.name]) is tuple, NoneType in members,
                                              declared)
    return found


children_of: Callable[[type], Mapping[str, Child]] = cache(_children_of)


def leaf_of(record: object, key: str) -> Input | None:
    """The declaration of one input of a record."""
    return leaves_of(type(record)).get(key)


def has_table(record: object, key: str) -> bool:
    """Whether a record has a table within it by that key."""
    return key in children_of(type(record))


def word_of(record: type, child: Child) -> str:
    """The word that chooses this record in a file, such as "pipe run"."""
    return str(getattr(record, child.word))


def words_of(record: type, child: Child) -> tuple[str, ...]:
    """All words that choose this record in a file, in small letters; that of `word_of` first."""
    said: Word = getattr(record, "word", Word())
    return tuple(dict.fromkeys(filter(None, (word_of(record, child), said.label, said.us_label))))


def record_named(child: Child, said: object) -> type | None:
    """The record that a word chooses; None where it chooses none."""
    word = " ".join(said.split()).casefold() if isinstance(said, str) and len(said) < 100 else ""
    return next((record for record in child.records if word in words_of(record, child)), None)


def offered(child: Child) -> tuple[str, ...]:
    """The words to choose from, without old names."""
    return tuple(word_of(record, child) for record in child.records if getattr(record, "offered", True))


def walk(record: object, base: str = "") -> Iterator[tuple[str, Input, Any]]:
    """Every input of a record and of the tables in it: path, declaration, value; in the order declared."""
    for key, declared in leaves_of(type(record)).items():
        yield base + key, declared, getattr(record, attribute_of(key))
    for key, child in children_of(type(record)).items():
        inner = getattr(record, attribute_of(key))
        if child.many:
            for number, each in enumerate(inner, 1):
                yield from walk(each, f"{base}{key}.{number}.")
        elif inner is not None:
            yield from walk(inner, f"{base}{key}.")


def kind_input(child: Child) -> Input:
    """The declaration of the word that chooses a record, with the words to choose from."""
    assert child.declared is not None
    return replace(child.declared, words=offered(child))


def input_at(path: str, record: type = records.Case) -> Input | None:
    """The declaration of the input at a path, whatever the shape or kind; None where there is none.

    "vessel.shape", "tap.kind" and "pump.kind" are choices among the words of their records.
    """
    key, _, rest = path.partition(".")
    if not rest:
        return leaves_of(record).get(key)
    child = children_of(record).get(key)
    if child is None:
        return None
    if child.many:
        _, _, rest = rest.partition(".")
    if child.word and rest == child.word:
        return kind_input(child)
    return next((found for member in child.records if (found := input_at(rest, member))), None) if rest else None


def is_kit(table: Mapping[str, object]) -> bool:
    """Lists of hoses, pumps or gauges, and nothing that only a case has."""
    lists = any(isinstance(table.get(key), list) for key in ("hose", "pump", "gauge"))
    return lists and not any(key in table for key in ("vessel", "tap", "fill", "test"))
