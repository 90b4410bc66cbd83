"""Bytes to a Case, or every Problem at once; the only validation there is.

The text is checked for size and depth, parsed by tomllib, read by the declarations of `records`,
checked across keys, and completed with defaults. Nothing in it is evaluated.
"""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from fillcalc.case import records
from fillcalc.case.assume import Read, assume
from fillcalc.case.checks import check, check_assumed
from fillcalc.case.disk import NotAFile, TooLarge, read_ordinary
from fillcalc.case.fields import Input
from fillcalc.case.leaf import Value, described, read_leaf
from fillcalc.case.medium import counts
from fillcalc.case.own import NO_OWN, Own
from fillcalc.case.problems import CaseProblems, Found, KitInstead, Problem
from fillcalc.case.records import Case
from fillcalc.case.scan import beyond_limits, lines_of
from fillcalc.case.shape_of import (
    Child,
    children_of,
    is_kit,
    kind_input,
    leaves_of,
    offered,
    record_named,
    word_of,
)
from fillcalc.case.spread import apply_ranges, read_ranges
from fillcalc.case.written import written_in
from fillcalc.tree import attribute_of
from fillcalc.units.nearest import nearest

MOST_BYTES = 256_000
"""A case of a hundred hoses and readings has a tenth of it."""
MOST_TABLES = 400
"""Tables of one list, such as hoses or readings."""
FORMAT = 1
NEEDED = ("vessel", "tap", "test", "pump")
NEEDED_FOR_GAS = ("vessel", "test", "gas_supply")


NOTHING = {"tap": records.Tap, "pump": records.Pump}
"""What stands at the place of a table that a test with gas does not need."""


# --- bytes to table ---------------------------------------------------------------------------

def read_text(text: str, name: str = "case", own: Own = NO_OWN) -> Case:
    """The case of a text, with figures of one's own in place of defaults. Raises CaseProblems."""
    return _case(name, text, own)


def read_bytes(data: bytes, name: str, own: Own = NO_OWN) -> Case:
    """The case of a file's bytes; `name` stands in its problems. Raises CaseProblems."""
    return _case(name, text_of(data, name), own)


def read_file(path: str | os.PathLike[str], own: Own = NO_OWN) -> Case:
    """The case in a file. Raises CaseProblems, whatever is wrong with it."""
    return read_bytes(bytes_of(path), os.path.basename(path), own)


def bytes_of(path: str | os.PathLike[str]) -> bytes:
    """The bytes of an ordinary file of legal size. Raises CaseProblems."""
    name = os.path.basename(path) or str(path)
    try:
        return read_ordinary(path, MOST_BYTES)
    except NotAFile:
        raise _one(name, "", "this is no ordinary file") from None
    except TooLarge:
        raise _one(name, f"more than {MOST_BYTES // 1000} kB", "a case is a short text") from None
    except OSError as error:
        raise _one(name, "", f"the file cannot be read: {error.strerror or 'unknown reason'}") from None
    except ValueError:
        raise _one(name, "", "this is no file name") from None


def text_of(data: bytes, name: str) -> str:
    """UTF-8 text with line ends as \\n, a byte order mark taken off. Raises CaseProblems."""
    if len(data) > MOST_BYTES:
        raise _one(name, f"more than {MOST_BYTES // 1000} kB", "a case is a short text")
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise _one(name, "UTF-16", "save the file as UTF-8")
    try:
        text = data.removeprefix(b"\xef\xbb\xbf").decode("utf-8")
    except UnicodeDecodeError as error:
        raise _one(name, f"the byte {data[error.start]:02X} hex", "save the file as UTF-8",
                   data.count(b"\n", 0, error.start) + 1) from None
    if "\0" in text:
        raise _one(name, "a NUL character", "this is not a text file", text.count("\n", 0, text.index("\0")) + 1)
    return text.replace("\r\n", "\n")


def _one(name: str, found: str, expected: str, line: int = 0, hint: str = "") -> CaseProblems:
    return CaseProblems((Problem(name, line, "", found, expected, hint),))


_AT = re.compile(r"\s*\(at (?:line (\d+), column \d+|end of document)\)$")
_BARE = re.compile(r"\s*([A-Za-z0-9_.-]{1,60})\s*=\s*([^\s\"'\[{#][^#\"']{0,60}?)\s*(?:#.*)?")


def table_of(text: str, name: str) -> dict[str, object]:
    """The table of a TOML text within the limits. Raises CaseProblems with one problem."""
    if len(text) > MOST_BYTES:
        raise _one(name, f"more than {MOST_BYTES // 1000} kB", "a case is a short text")
    beyond = beyond_limits(text)
    if beyond:
        line, found, expected = beyond
        raise _one(name, found, expected, line)
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError, OverflowError) as error:
        said = str(error)
        spot = _AT.search(said)
        line = int(spot.group(1)) if spot and spot.group(1) else text.count("\n") + 1 if spot else 0
        said = said[:spot.start()] if spot else said
        source = text.split("\n")[line - 1].strip() if line else ""
        raise _one(name, source, *_in_words(said, source, line)) from None


def _in_words(said: str, source: str, line: int) -> tuple[str, int, str]:
    """What is expected where TOML gave up, the line, and a hint."""
    bare = _BARE.fullmatch(source)
    if bare and bare.group(2) not in ("true", "false"):
        return f'put the value in quotes: {bare.group(1)} = "{bare.group(2)}"', line, ""
    if "overwrite" in said or "twice" in said or "Duplicate" in said or "mutate" in said:
        return "this stands in the file already; write it once", line, said
    if "Illegal character '\\n'" in said:
        return "close the quotation marks", line, ""
    if "Illegal character" in said:
        return "take the character out", line, said
    return 'write lines such as: length = "22 m"', line, said


# --- table to case ----------------------------------------------------------------------------

KIT = "this is a kit, not a case: take it along with a case, fillcalc choices CASE --kit KIT"


def _case(name: str, text: str, own: Own) -> Case:
    table, units = table_of(text, name), written_in(text)
    if is_kit(table):
        raise KitInstead((Problem(name, 0, "", "", KIT),))
    found = Found(name, cache(lambda: lines_of(text)), table, units)
    check_format(found, table)
    reader = Reader(found)
    values = reader.tables(records.Case, table, "", ("format", "title", "note", "ranges"))
    for key in ("title", "note"):
        read = read_leaf(found, key, leaves_of(records.Case)[key], table.get(key, ""))
        values[key] = read.value if read else ""
    gas = getattr(values.get("test"), "medium", None) in records.GASES
    found.keep(lambda path: counts(path.removeprefix("ranges."), gas))
    for key in NEEDED_FOR_GAS if gas else NEEDED:
        if key not in table:
            reader.lacks(children_of(records.Case)[key], key)
    for key in NEEDED:
        values.setdefault(key, NOTHING[key]() if gas and key in NOTHING else None)
    values.setdefault("fill", records.FillLine())
    draft = Case(**values, units=units)
    read_so_far = Read(draft, frozenset(reader.given), dict(reader.families))
    check(found, read_so_far)
    ranges = {path: each for path, each in read_ranges(found, read_so_far, table.get("ranges", {})).items()
              if counts(path, gas)}
    found.stop_if_any()
    case = assume(read_so_far, own)
    check_assumed(found, case)
    case = apply_ranges(found, case, ranges, read_so_far.given)
    found.stop_if_any()
    return case


def check_format(found: Found, table: Mapping[str, object]) -> None:
    """The file says that it is of the one format that is known."""
    version = table.get("format")
    if "format" not in table:
        found.add("format", "", f"the file needs a first line: format = {FORMAT}")
    elif isinstance(version, bool) or version != FORMAT:
        found.add("format", described(version), f"write format = {FORMAT}", "this program reads no other format")


def _one_of(child: Child) -> str:
    """What is expected where the word that chooses a record is not given."""
    return f"needed: write {child.word} as one of {', '.join(offered(child))}"


@dataclass
class Reader:
    """Reads tables by their declarations, noting what was given and every problem."""

    found: Found
    given: set[str] = field(default_factory=set)
    families: dict[str, str] = field(default_factory=dict)

    def record(self, record: type, table: Mapping[str, object], base: str, besides: tuple[str, ...] = ()) -> Any:
        """A record of a table at the path `base` (with its dot); keys `besides` are read elsewhere."""
        values = self.tables(record, table, base, (*besides, *leaves_of(record)))
        for key, declared in leaves_of(record).items():
            path = base + key
            if key not in table:
                if declared.required:
                    quotes = "" if declared.form in ("number", "count") else '"'
                    self.found.add(path, "", f"needed: write {key} = {quotes}{declared.example}{quotes}", declared.help)
                continue
            read = read_leaf(self.found, path, declared, table[key])
            if read is not None:
                self.keep(path, declared, read)
                values[attribute_of(key)] = read.value
        return record(**values)

    def keep(self, path: str, declared: Input, read: Value) -> None:
        """Note that an input was given, and the family it was written in where there are several."""
        self.given.add(path)
        if len(declared.families) > 1 and declared.form == "quantity" and read.family:
            self.families[path] = read.family

    def tables(self, record: type, table: Mapping[str, object], base: str, known: tuple[str, ...]) -> dict[str, Any]:
        """The tables within a table, by attribute; keys neither there nor `known` are problems."""
        values: dict[str, Any] = {}
        children = children_of(record)
        for key, raw in table.items():
            if key in known:
                continue
            if key not in children:
                self.unknown(record, base, key, (*known, *children))
                continue
            value = self.child(children[key], raw, base + key)
            if value is not None:
                values[attribute_of(key)] = value
        return values

    def child(self, child: Child, raw: object, path: str) -> Any:
        """The record, or tuple of records, of a table within a table; None after adding a problem."""
        if not child.many:
            return self.one(child, raw, path)
        if isinstance(raw, dict) or not (isinstance(raw, list) and all(isinstance(each, dict) for each in raw)):
            self.found.add(path, described(raw), f"write a table [[{path}]] for each, with double brackets")
            return None
        if len(raw) > MOST_TABLES:
            self.found.add(path, f"{len(raw)} of them", f"no more than {MOST_TABLES} can be read")
            return None
        return tuple(self.one(child, each, f"{path}.{number}") for number, each in enumerate(raw, 1))

    def one(self, child: Child, raw: object, path: str) -> Any:
        """The record of one table; None after adding a problem."""
        if not isinstance(raw, dict):
            self.found.add(path, described(raw), f"write a table: a line [{path}] and its keys below it")
            return None
        if not child.word:
            return self.record(child.records[0], raw, f"{path}.")
        record = self.chosen(child, raw, path)
        return None if record is None else self.record(record, raw, f"{path}.", (child.word,))

    def chosen(self, child: Child, table: Mapping[str, object], path: str) -> type | None:
        """The record that the word of a table chooses; a water source without a word is a tap."""
        inner = f"{path}.{child.word}"
        if child.word not in table:
            if records.Tap in child.records:
                return records.Tap
            self.found.add(inner, "", _one_of(child))
            return None
        said = table[child.word]
        record = record_named(child, said)
        if record is None:
            read_leaf(self.found, inner, kind_input(child), said)
            return None
        self.given.add(inner)
        return record

    def lacks(self, child: Child, key: str) -> None:
        """A table that the case must have: told at the word that chooses its record, where there is one."""
        needs = f"the case needs a table [{key}]"
        if child.word:
            self.found.add(f"{key}.{child.word}", "", _one_of(child), needs)
        else:
            self.found.add(key, "", needs)

    def unknown(self, record: type, base: str, key: str, known: tuple[str, ...]) -> None:
        """A key that has no meaning here: the nearest one, or where it would have."""
        if self.found.full:
            self.found.more += 1
            return
        path, hint = base + key, ""
        others = [(child, other) for child in children_of(records.Case).values() if record in child.records
                  for other in child.records if key in leaves_of(other) or key in children_of(other)]
        near = nearest(key[:60].casefold(), filter(None, known))
        if others:
            names = [word_of(other, child) for child, other in others]
            hint = f"{key} belongs to: {', '.join(names)}; this is: {word_of(record, others[0][0])}"
        elif near:
            hint = f"did you mean {near}?"
        listed = ", ".join(sorted(name for name in known if name))
        self.found.add(path, f"the key {key}", "no such key here; take it out or correct it",
                       hint or f"known here: {listed}")
