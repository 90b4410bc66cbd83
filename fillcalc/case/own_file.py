"""The file of one's own figures, own.toml: read with every mistake by its line, and written so that a person can edit
it."""

from __future__ import annotations

import os
from collections.abc import Sequence
from functools import cache
from itertools import pairwise
from typing import Any

from fillcalc.case.fields import Input
from fillcalc.case.own import Own, OwnAir, OwnPump, OwnRemade, OwnSource, OwnTime, exactly
from fillcalc.case.problems import Found
from fillcalc.case.read import FORMAT, Reader, bytes_of, check_format, table_of, text_of
from fillcalc.case.scan import lines_of
from fillcalc.case.shape_of import Child, leaves_of
from fillcalc.tree import attribute_of
from fillcalc.units import show

_LISTS: dict[str, type] = {"time": OwnTime, "remade": OwnRemade, "air": OwnAir, "source": OwnSource, "pump": OwnPump}
_HEAD = """\
# Own figures. Each stands in for a default, never for what a case gives; the first that fits is taken.
# low and high are the ends between which nearly all lies, likely is the middle: as often more as less.
# A line that says where a figure holds (work, crew, name and so on) may be taken out: it then holds everywhere.
"""


def read_own(data: bytes, name: str) -> Own:
    """Return the figures in a file's bytes; `name` stands in problems and reasons. Raises CaseProblems."""
    text = text_of(data, name)
    table = table_of(text, name)
    found = Found(name, cache(lambda: lines_of(text)))
    check_format(found, table)
    for key in table:
        if key not in ("format", "title", "note", *_LISTS):
            found.add(key, f"the key {key}", f"own figures stand in {', '.join(f'[[{each}]]' for each in _LISTS)}")
    reader = Reader(found)
    lists = {key: reader.child(Child((record,), "", True, True), table[key], key) or ()
             for key, record in _LISTS.items() if key in table}
    for key, entries in lists.items():
        for place, entry in enumerate(entries, 1):
            _check(found, f"{key}.{place}", entry)
    found.stop_if_any()
    return Own(**lists, name=name)


def read_own_file(path: str | os.PathLike[str]) -> Own:
    """Return the figures in a file. Raises CaseProblems."""
    return read_own(bytes_of(path), os.path.basename(path))


def _check(found: Found, path: str, entry: object) -> None:
    """Low, likely and high stand in this order, and so do the ends of a size."""
    if entry is None:
        return
    family = next(iter(leaves_of(type(entry))["likely"].families))
    for one, other in pairwise(("low", "likely", "high")):
        if None not in (getattr(entry, one), getattr(entry, other)) and getattr(entry, one) > getattr(entry, other):
            found.add(f"{path}.{other}", show(getattr(entry, other), family), f"write no less than {one}, "
                      f"{show(getattr(entry, one), family)}")
    if isinstance(entry, OwnTime) and entry.bore_over is not None and entry.bore_to is not None \
            and entry.bore_over >= entry.bore_to:
        found.add(f"{path}.bore_to", show(entry.bore_to, "bore"), "write more than bore_over")


def own_text(own: Own, notes: Sequence[str] = ()) -> str:
    """Return the text of a file that holds these figures; `notes` stand at its head, a line each."""
    lines = [_HEAD + "".join(f"# {_plain(note)}\n" for note in notes), f"format = {FORMAT}"]
    for key, record in _LISTS.items():
        for entry in getattr(own, key):
            lines += ["", f"[[{key}]]", *(_line(name, declared, getattr(entry, attribute_of(name)))
                                           for name, declared in leaves_of(record).items()
                                           if getattr(entry, attribute_of(name)) is not None)]
    return "\n".join(lines) + "\n"


def _line(name: str, declared: Input, value: Any) -> str:
    if declared.form == "quantity":
        return f'{name} = "{exactly(float(value), declared.families[0])}"'
    if declared.form == "number":
        return f"{name} = {exactly(float(value), 'number')}"
    return f"{name} = {value}" if isinstance(value, int) else f'{name} = "{_plain(value, quoted=True)}"'


def _plain(text: str, quoted: bool = False) -> str:
    """Text on one line, its quotes and backslashes escaped where it stands in quotes."""
    text = "".join(sign if sign.isprintable() else " " for sign in text)
    return text.replace("\\", "\\\\").replace('"', '\\"') if quoted else text
