"""Changing one input in the text of a case, with its comments and layout kept."""

from __future__ import annotations

import re
import tomllib
from itertools import pairwise
from typing import Any, TypeAlias

from fillcalc.case.problems import CaseProblems
from fillcalc.case.read import table_of
from fillcalc.case.shape_of import input_at
from fillcalc.units import UnitProblem, read_number
from fillcalc.units.printable import shown

Written: TypeAlias = Any
"""What stands in a case file: a table, a list or a value, plain or of tomlkit, which types none of them."""

_NUMBER = re.compile(r"[+-]?(0|[1-9][0-9]{0,14})(\.[0-9]{1,15})?([eE][+-]?[0-9]{1,3})?")
_FLAGS = {"true": True, "yes": True, "false": False, "no": False}


class EditProblem(ValueError):
    """The text cannot be changed at that place, because of what stands in it."""


def comment_at(text: str, path: str) -> str:
    """The comment that stands behind an input, with its #; "" where the input or the comment is missing."""
    import tomlkit

    try:
        before = table_of(text, "case")
        here: Written = tomlkit.parse(text)
        for part in _parts(path, before):
            here = _step(here, part)
    except (CaseProblems, EditProblem, ValueError):
        return ""
    said: str = getattr(getattr(here, "trivia", None), "comment", "")
    return said


def set_at(text: str, path: str, value_text: str | None, comment: str = "") -> str:
    """The text with the input at a path, such as "fill.hose.2.bore", written as a person typed it.

    None or "" takes the input out, or a whole table such as "fill.hose.2". Tables that are missing are
    made; a place one past the end of a list adds to the list. A range has its path behind "ranges."; the last
    range that is taken out takes their table with it. A comment, with its #, is put behind an input that is new.
    Points may be typed "3.2 bar : 0 L/min; 1.9 bar : 20 L/min", and any list as TOML writes it. Raises
    EditProblem where the text is not TOML or the path leads nowhere; the value itself is not judged.
    """
    try:
        before = table_of(text, "case")
    except CaseProblems as problem:
        raise EditProblem(str(problem)) from None
    parts = _parts(path, before)
    if not value_text:
        if not _present(before, parts):
            return text
        new, wanted = _removed(text, parts), _plain_removed(before, parts)
    else:
        value = _typed(path, value_text.encode("utf-8", "replace").decode("utf-8"))
        new = _written(text, parts, value, "" if _present(before, parts) else comment)
        wanted = _plain_written(before, parts, value)
    for candidate in (_spaced(text, new), new):
        if _says(candidate, wanted):
            return candidate
    raise EditProblem(f"{shown(path)} cannot be changed here: edit the file by hand")


def _says(text: str, wanted: dict[str, Written]) -> bool:
    try:
        return tomllib.loads(text) == wanted
    except ValueError:
        return False


def _parts(path: str, before: dict[str, Written]) -> list[str]:
    """The keys on the way; a range stands under its whole path, or in tables within tables where it was begun so."""
    parts = path.split(".")
    front, _, rest = path.partition(".")
    if front == "ranges" and rest and not _present(before, parts):
        parts = [front, rest]
    if not all(parts):
        raise EditProblem(f"{shown(path)} is no path")
    return parts


def _typed(path: str, text: str) -> Written:
    """What stands in the file for what was typed: text, number, true or false, or a list."""
    declared = input_at(path)
    form = declared.form if declared else "count" if path == "format" else "text"
    stripped = text.strip()
    if path.startswith("ranges.") or form in ("points", "pair"):
        return _list(stripped, form)
    if form == "flag":
        return _FLAGS.get(stripped.casefold(), text)
    if form in ("number", "count") and _NUMBER.fullmatch(stripped):
        try:
            return int(stripped) if re.fullmatch(r"[+-]?[0-9]+", stripped) else read_number(stripped)
        except UnitProblem:
            return text
    return text


def _list(text: str, form: str) -> Written:
    """A list as TOML writes it, or with ; between its items and : within a point; else the text itself."""
    if text.startswith("["):
        try:
            return table_of(f"x = {text}\n", "case")["x"]
        except (CaseProblems, KeyError):
            return text
    rows = [row.strip() for row in text.split(";") if row.strip()]
    if form == "points":
        return [[cell.strip() for cell in row.split(":")] for row in rows]
    if form == "pair" and len(rows) == 1:
        rows = [cell.strip() for cell in text.split(":")]
    return rows if len(rows) > 1 else text


# --- on plain tables: what the text must say afterwards ----------------------------------------

def _step(here: Written, part: str) -> Written:
    """The inner table or item, or None."""
    if isinstance(here, list):
        return here[int(part) - 1] if part.isdecimal() and 1 <= int(part) <= len(here) else None
    return here.get(part) if isinstance(here, dict) else None


def _present(table: dict[str, Written], parts: list[str]) -> bool:
    here: Written = table
    for part in parts:
        here = _step(here, part)
        if here is None:
            return False
    return True


def _copied(value: Written) -> Written:
    if isinstance(value, dict):
        return {key: _copied(each) for key, each in value.items()}
    return [_copied(each) for each in value] if isinstance(value, list) else value


def _plain_written(table: dict[str, Written], parts: list[str], value: Written) -> dict[str, Written]:
    new: dict[str, Written] = _copied(table)
    here: Written = new
    for part, following in pairwise(parts):
        inner = _step(here, part)
        if inner is None:
            inner = [] if following.isdecimal() else {}
            _put(here, part, inner)
        here = inner
    _put(here, parts[-1], value)
    return new


def _put(here: Written, part: str, value: Written) -> None:
    """Set a key, or an item that is there, or the one after the last."""
    if isinstance(here, list):
        number = int(part) if part.isdecimal() else 0
        if not 1 <= number <= len(here) + 1:
            raise EditProblem(f"there is no place {shown(part)} in this list of {len(here)}")
        if number == len(here) + 1:
            here.append(value)
        else:
            here[number - 1] = value
    elif isinstance(here, dict):
        here[part] = value
    else:
        raise EditProblem(f"{shown(part)} is within something that is no table")


def _plain_removed(table: dict[str, Written], parts: list[str]) -> dict[str, Written]:
    new: dict[str, Written] = _copied(table)
    above: list[Written] = [new]
    for part in parts[:-1]:
        above.append(_step(above[-1], part))
    _drop_on_the_way(above, parts)
    return new


def _drop_on_the_way(above: list[Written], parts: list[str]) -> None:
    """Take the last part out of the last of these; a list goes when emptied, and so do the ranges."""
    _drop(above[-1], parts[-1])
    for depth in range(len(above) - 1, 0, -1):
        inner = above[depth]
        if len(inner) or not (isinstance(inner, list) or parts[0] == "ranges"):
            return
        _drop(above[depth - 1], parts[depth - 1])


def _drop(here: Written, part: str) -> None:
    if isinstance(here, list):
        del here[int(part) - 1]
    else:
        del here[part]


# --- on the text ------------------------------------------------------------------------------

def _written(text: str, parts: list[str], value: Written, comment: str = "") -> str:
    import tomlkit
    from tomlkit.items import Array, InlineTable

    document = tomlkit.parse(text)
    here: Written = document
    inline = False
    for part, following in pairwise(parts):
        inline = inline or isinstance(here, (InlineTable, Array))
        inner = _step(here, part)
        if inner is None:
            if inline:
                inner = tomlkit.array() if following.isdecimal() else tomlkit.inline_table()
            else:
                inner = tomlkit.aot() if following.isdecimal() else tomlkit.table()
            _put(here, part, inner)
            inner = _step(here, part)
        here = inner
    item = _lines(value) if isinstance(value, str) and "\n" in value else tomlkit.item(value)
    if comment and not inline and not isinstance(here, (InlineTable, Array)):
        item.comment(comment.lstrip("#").strip())
    _put(here, parts[-1], item)
    return str(tomlkit.dumps(document))


def _lines(value: str) -> Written:
    """A text of several lines, written as such where nothing in it needs a backslash."""
    import tomlkit

    plain = all(character == "\n" or character.isprintable() for character in value) and not set('"\\') & set(value)
    return tomlkit.string(value, multiline=True) if plain else tomlkit.item(value)


def _spaced(old: str, new: str) -> str:
    """The new text with a blank line before each table that is new, or that follows something new."""
    before = old.split("\n")
    neighbours = set(pairwise(before))
    lines: list[str] = []
    for line in new.split("\n"):
        last = lines[-1] if lines else ""
        if line.startswith("[") and last.strip() and (last, line) not in neighbours:
            lines.append("")
        lines.append(line)
    return "\n".join(lines)


def _removed(text: str, parts: list[str]) -> str:
    import tomlkit

    document = tomlkit.parse(text)
    above: list[Written] = [document]
    for part in parts[:-1]:
        above.append(_step(above[-1], part))
    _drop_on_the_way(above, parts)
    return str(tomlkit.dumps(document))
