"""The head of a recorder's file: how its columns are parted, which is which, and their units; nothing is guessed."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from fillcalc.recorder.log import Column, quoted
from fillcalc.recorder.text import problem
from fillcalc.recorder.times import is_moment
from fillcalc.units import UnitProblem, read_quantity

LOOK = 400
"""Lines from the top among which the first row stands."""
DELIMITERS = {"\t": "tabs", ";": "semicolons", ",": "commas"}
NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d{1,3})?$")
HOW = 'such as --columns "time=1,pressure=3" --unit bar'

WORDS = {
    "date": {"date", "datum", "fecha", "data", "day"},
    "time": {"time", "clock", "timestamp", "datetime", "elapsed", "zeit", "uhrzeit", "zeitstempel", "heure", "temps",
             "tijd", "hora", "tempo", "t"},
    "pressure": {"pressure", "press", "druck", "pression", "druk", "presión", "presion", "pressione", "p"},
    "temperature": {"temperature", "temp", "temperatur", "température", "temperatuur", "temperatura"},
}
"""Words by which a column is known, in small letters."""
UNITS_OF = {"time": ("duration",), "pressure": ("pressure", "pressure_abs"), "temperature": ("temperature",)}
ROLES = ("time", "date", "pressure", "temperature")
ABSOLUTE = {"abs", "absolute", "absolut", "absolue"}
"""Words that make a pressure an absolute one."""


@dataclass(frozen=True)
class Head:
    """What was found before the first row."""

    delimiter: str
    decimal: str
    first: int
    """The line of the first row, counted from 0."""
    named: int
    """The line of the names, counted from 1; 0 without a head."""
    width: int
    """Columns of the rows."""
    names: tuple[str, ...]
    """What stands above each column; empty without a head."""

def head_of(lines: Sequence[str], name: str) -> Head:
    """How the columns are parted, where the first row stands and what stands above it. Raises CaseProblems."""
    found = [(mark, *_first(lines, mark)) for mark in DELIMITERS]
    mark, first, width, _ = max(found, key=lambda one: one[3])
    if first < 0:
        raise problem(name, "no rows", "rows of a time and a pressure are wanted, parted by commas, semicolons or tabs")
    above = [(line, cells_of(lines[line], mark)) for line in range(first)]
    named = [(line, cells) for line, cells in above if sum(map(bool, cells)) > 1 and not all(map(_is_value, cells))]
    known = [place for place, (_, cells) in enumerate(named) if any(_column(1, cell) for cell in cells)]
    if known:  # and the line of units below it
        below = named[known[-1] + 1:known[-1] + 2]
        units = below and any(_reads(cell.strip("[]()"), "pressure") for cell in below[0][1])
        named = named[:known[-1] + 1 + bool(units)]
    names = [cells for _, cells in named]
    shortest = min((len(cells) for cells in names[-1:]), default=width)
    if mark == "," and shortest < width and _halves(lines[first]):
        raise problem(name, f"{width} cells under {shortest} names",
                      "decimal commas between commas cannot be told apart: save with semicolons or tabs", first + 1)
    return Head(mark, _decimal(lines[first:], mark), first, named[-1][0] + 1 if named else 0, width,
                _joined(names, width))


def cells_of(line: str, mark: str) -> list[str]:
    """The cells of one line without blanks and quotation marks; a delimiter within quotation marks parts nothing."""
    cells = re.split(rf'{mark}(?=(?:[^"]*"[^"]*")*[^"]*$)', line) if '"' in line else line.split(mark)
    return [cell.strip().strip('"').strip() for cell in cells]


def _is_value(cell: str) -> bool:
    return bool(NUMBER.match(cell)) or is_moment(cell)


def _first(lines: Sequence[str], mark: str) -> tuple[int, int, int]:
    """The line of the first row, its columns, and how many lines are such rows; -1 where there is none."""
    split = [cells_of(line, mark) for line in lines]
    values = [sum(map(_is_value, cells)) for cells in split]
    widths = Counter(len(cells) for cells, count in zip(split, values, strict=True) if count > 1)
    if not widths:
        return -1, 0, 0
    width, count = max(widths.items(), key=lambda one: (one[1], one[0]))
    rows = [number for number, cells in enumerate(split) if len(cells) == width and values[number] > 1]
    usual = Counter(values[row] for row in rows).most_common(1)[0][0]
    return next(row for row in rows if values[row] >= usual), width, count


def _halves(line: str) -> bool:
    """Whether every cell between commas is whole, as the halves of numbers with decimal commas are."""
    return all("." not in cell for cell in line.split(","))


def _decimal(lines: Sequence[str], mark: str) -> str:
    """The decimal mark of the numbers: a comma where one is seen and no point is."""
    numbers = [cell for line in lines for cell in cells_of(line, mark) if NUMBER.match(cell)]
    return "," if any("," in cell for cell in numbers) and not any("." in cell for cell in numbers) else "."


def _joined(names: Sequence[list[str]], width: int) -> tuple[str, ...]:
    """The names of the columns: the last line above the rows, with the one before where that is a line of units."""
    if not names:
        return ()
    last = [*names[-1], *[""] * width][:width]
    if len(names) > 1 and not any(_role_by_word(cell) for cell in last) and any(
            _role_by_word(cell) for cell in names[-2]):
        above = [*names[-2], *[""] * width][:width]
        return tuple(f"{name} [{unit}]" if unit and not unit.startswith(("[", "(")) else f"{name} {unit}"
                     for name, unit in zip(above, last, strict=True))
    return tuple(last)


# --- which column is which ----------------------------------------------------------------------

def _words(name: str) -> set[str]:
    return {word for word in re.split(r"[^a-zà-ÿ]+", re.sub(r"[\[(].*?[\])]", " ", name).casefold()) if word}


def _role_by_word(name: str) -> str:
    """What a column is by its name; "" where no word tells."""
    words = _words(name)
    for role in ("time", "pressure", "temperature", "date"):
        if words & (WORDS[role] - {"t", "p"}):
            return role
    return ""


def units_in(name: str) -> list[str]:
    """What may be a unit in a name: in brackets, behind a stroke or a comma; the likeliest first."""
    ways = (r"[\[(]([^\[\]()]*(?:\([^()]*\))?)[\])]", r"\s/\s*(.+)$", r"\w/(\S+)$", r",\s*(.+)$")
    return [found.strip() for way in ways for found in re.findall(way, name)]


def _unit_of(name: str, role: str) -> str:
    """The unit of that kind in a name, the last word of a longer name too; "" where there is none."""
    last = re.split(r"[\s_]+", name.strip())[-1]
    ends = [last] if len(_words(name)) > 1 else []
    unit = next((each for each in [*units_in(name), *ends] if _reads(each, role)), "")
    absolute = role == "pressure" and _words(name.replace("(", " ").replace("[", " ")) & ABSOLUTE
    return f"{unit} abs" if absolute and _reads(f"{unit} abs", role) else unit


def _reads(unit: str, role: str) -> bool:
    return scale_of(unit, role) is not None


def scale_of(unit: str, role: str) -> tuple[float, float, bool] | None:
    """Factor and offset to SI of a unit, and whether it is of an absolute pressure; None where it is no such unit."""
    if not unit or any(sign.isdigit() for sign in unit[:1]):
        return None
    for family in UNITS_OF.get(role, ()):
        try:
            zero, one = (read_quantity(f"{number} {unit}", family)[0] for number in (0, 1))
        except UnitProblem:
            continue
        return one - zero, zero, family == "pressure_abs"
    return None


def _column(number: int, name: str) -> Column | None:
    """What a column is by its name and its unit; None where neither tells, or where they contradict each other."""
    units, role, letters = units_in(name), _role_by_word(name), _words(name) & {"t", "p"}
    if not role:
        role = next((each for each in UNITS_OF if any(_reads(unit, each) for unit in units)), "")
    if not role and letters and not units:
        role = "time" if "t" in letters else "pressure"
    if not role:
        return None
    unit = _unit_of(name, role)
    if not unit and role != "time" and any(_reads(each, other) for each in units for other in UNITS_OF):
        return None  # such as a pressure in °C
    if not unit and role == "pressure" and any("/" in each for each in units):
        return None  # such as a pressure rate in bar/min
    return Column(role, number, name, unit)


def columns_of(head: Head, asked: str, unit: str, name: str) -> tuple[tuple[Column, ...], tuple[str, ...]]:
    """The columns that are used, and what is said of their choice. Raises CaseProblems where it is not clear.

    `asked` is as for `--columns`, `unit` that of the pressure; both go before what the head says.
    """
    given = asked_columns(asked, head, name)
    found = [column for number, text in enumerate(head.names, 1) if (column := _column(number, text)) is not None]
    chosen: list[Column] = [*given]
    said: list[str] = []
    for role in ROLES:
        mine = [column for column in found if column.role == role]
        if any(column.role == role for column in given) or (given and role == "date") or not mine:
            continue
        if len(mine) > 1:
            places = " and ".join(str(column.number) for column in mine)
            if role == "pressure":
                raise problem(name, f"columns {places} as pressures", "say which one: --columns pressure="
                              f"{mine[0].number}", head.named)
            if role == "temperature":
                said.append(f"Columns {places} are temperatures, and none is used: say which one, "
                            f"such as --columns temperature={mine[0].number}.")
                continue
            said.append(f"Columns {places} are {role}s; column {mine[0].number} is used.")
        chosen.append(mine[0])
    roles = {column.role for column in chosen}
    if "time" not in roles and "date" in roles:
        chosen = [replace(one, role="time") if one.role == "date" else one for one in chosen]
        roles.add("time")
    lacking = [role for role in ("time", "pressure") if role not in roles]
    if lacking:
        there = ", ".join(f"{number} {quoted(text)}" for number, text in enumerate(head.names[:12], 1))
        raise problem(name, f"columns {there}" if there else "no names above the columns",
                      f"which column is the {' and which the '.join(lacking)}? Say so, {HOW}", head.named)
    chosen = [replace(one, unit=unit.strip()) if unit and one.role == "pressure" else one for one in chosen]
    pressure = next(one for one in chosen if one.role == "pressure")
    if not _reads(pressure.unit, "pressure"):
        raise problem(name, f"the pressure unit {quoted(pressure.unit)}" if pressure.unit else
                      f"column {pressure.number} {quoted(pressure.name)} without a unit",
                      "give the unit of the pressure: --unit bar, or --unit \"bar abs\"", head.named)
    return tuple(sorted(chosen, key=lambda one: ROLES.index(one.role))), tuple(said)


_ASKED = re.compile(r"\s*([a-z]+)\s*=\s*(\d{1,4})(?:\s+(.+?))?\s*$", re.IGNORECASE)


def asked_columns(asked: str, head: Head, name: str) -> list[Column]:
    """The columns of "time=1,pressure=3", each perhaps with its unit behind it: "time=1 min". Raises CaseProblems."""
    columns: list[Column] = []
    for part in filter(str.strip, asked.split(",")):
        found = _ASKED.match(part)
        role = found[1].casefold() if found else ""
        if found is None or role not in ROLES or any(column.role == role for column in columns):
            raise problem(name, f"--columns {quoted(part)}", f"write time, date, pressure or temperature, {HOW}")
        number, unit = int(found[2]), found[3] or ""
        if not 1 <= number <= head.width:
            raise problem(name, f"--columns {quoted(part)}", f"the rows have {head.width} columns")
        text = head.names[number - 1] if head.names else ""
        if unit and not _reads(unit, role):
            raise problem(name, f"--columns {quoted(part)}", "the unit behind the number is not one of that kind")
        columns.append(Column(role, number, text, unit or _unit_of(text, role)))
    return columns
