"""What a person calls an input, a shape or a kind, and how a value that nobody typed is shown; its key in a case file
is for machines."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from dataclasses import replace
from itertools import cycle
from typing import TypeAlias

from fillcalc.case.fields import Input, Word
from fillcalc.case.records import Case
from fillcalc.case.shape_of import Child, children_of, input_at, record_named, words_of
from fillcalc.units import UnitProblem, read_quantity, show, show_short

Of: TypeAlias = Case | Mapping[str, object] | None
"""A case, the table of its file, or nothing."""

_QUOTED = re.compile(r'"(.+?)"')
LISTS = ("fill.hose", "vessel.crest", "test.steps", "reading")
"""Tables of which there may be several, each with a number."""


def name_of(path: str, units: str = "metric", of: Of = None) -> str:
    """Return the name of the input at a path as it stands inside a sentence: "hose 2 bore", with US units "hose 2 ID".

    `of` is the case or the table of its file: it tells a tap from a hydrant, and whether there is one hose or several.
    A path that leads to no input, such as that of a table, is called by its keys.
    """
    if path.startswith("ranges."):
        return f"range of {name_of(path.removeprefix('ranges.'), units, of)}"
    declared = declared_at(path, of)
    if declared is None:
        return path.replace(".", " ").replace("_", " ")
    return label(declared, units, number_in(path, of))


def label(declared: Input, units: str = "metric", number: str = "", short: bool = False) -> str:
    """Return the label of an input, with the number of its hose, stop or reading where it has one; `short` is that of
    the form, where one that has a number itself stands only for an input with a number."""
    us = units == "us"
    said = ((us and declared.us_short) or declared.short) if short else ""
    if "{n}" in said and not number:
        said = ""
    said = said or (us and declared.us_label) or declared.label
    return said.format(n=f" {number}" if number else "")


def capital(label: str) -> str:
    """The label as a line begins with it."""
    return label[:1].upper() + label[1:]


def declared_at(path: str, of: Of = None) -> Input | None:
    """The declaration of the input at a path, of the shape or kind that the case has; None where there is none."""
    key, _, rest = path.partition(".")
    child = children_of(Case).get(key)
    if child is not None and child.word and rest and rest != child.word:
        chosen = record_in(of, key, child)
        found = input_at(rest, chosen) if chosen is not None else None
        if found is not None:
            return found
    return input_at(path)


def record_in(of: Of, key: str, child: Child) -> type | None:
    """The record that a case, or the table of its file, has at a key of which it chooses one; None where unknown."""
    if of is None:
        return None
    if not isinstance(of, Mapping):
        chosen = getattr(of, key)
        return None if chosen is None else type(chosen)
    table = of.get(key)
    said = table.get(child.word) if isinstance(table, Mapping) else None
    if said is None and child.declared is not None and child.declared.default is not None:
        said = child.declared.default.text
    return record_named(child, said)


def number_in(path: str, of: Of = None) -> str:
    """The number of the hose, stop, crest or reading that a path lies in; "" where there is but one, or none."""
    start = next((start for start in LISTS if path.startswith(f"{start}.")), None)
    if start is None:
        return ""
    number = path.removeprefix(f"{start}.").partition(".")[0]
    here: object = of
    for key in start.split("."):
        here = None if here is None else here.get(key) if isinstance(here, Mapping) else getattr(here, key, None)
    alone = start == "fill.hose" and isinstance(here, list | tuple) and len(here) == 1
    return "" if alone or not number.isdigit() else number


def word_label(record: type, child: Child, units: str = "metric", room: int = 0) -> str:
    """Return what a shape or kind is called: "vertical cylinder", with US units "vertical vessel". `room` is the number
    of characters there is for it, 0 for any."""
    said: Word = getattr(record, "word", Word())
    whole = (units == "us" and said.us_label) or said.label or words_of(record, child)[0]
    return said.short if room and len(whole) > room and said.short else whole


def choice_label(path: str, word: str, units: str = "metric", room: int = 0) -> str:
    """Return a word of a file as a person reads it; one that chooses no shape or kind stands as it is."""
    key, _, rest = path.partition(".")
    child = children_of(Case).get(key)
    record = record_named(child, word) if child is not None and child.word and rest == child.word else None
    return word if record is None or child is None else word_label(record, child, units, room)


def in_units(text: str, declared: Input | None, units: str) -> str:
    """A quantity that nobody typed, an example or a default, in the units of the reader, a time as it is shown
    elsewhere; other words as they stand."""
    if declared is not None and declared.us_example and units == "us" and text == declared.example:
        return declared.us_example
    if declared is None or (units != "us" and declared.families != ("duration",)):
        return text
    if declared.form in ("points", "pair"):  # a list of them, as a file has it
        families = cycle(declared.families)
        return _QUOTED.sub(lambda each: f'"{_in_units(each[1], (next(families),), units)}"', text)
    return _in_units(text, declared.families, units) if declared.form == "quantity" else text


def _in_units(text: str, families: tuple[str, ...], units: str) -> str:
    try:
        value, family = read_quantity(text, families)
    except UnitProblem:
        return text
    return show_short(value, units) if family == "duration" else show(value, family, units)


def named(case: Case, file: str) -> Case:
    """The case; without a title of its own under the name of its file."""
    return case if case.title.strip() else replace(case, title=os.path.basename(file).removesuffix(".toml"))
