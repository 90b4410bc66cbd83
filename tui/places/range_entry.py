"""Giving a range to the input in hand: one typed line, judged by the reader before it is written."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fillcalc.case.names import name_of
from fillcalc.units import with_us_gallons
from fillcalc.units.printable import shown
from tui.places.field_help import problem_words
from tui.state.range_text import NONE, can_have, with_range, written_range
from tui.state.session import Request, understand
from tui.widgets.dialogs import Ask
from tui.widgets.form import Field

if TYPE_CHECKING:
    from tui.places.host import Host

WIDTHS = ("±5 %", "±10 %", "±25 %")


class AskRange(Ask):
    """A line for a range; one that was emptied takes the range out."""

    emptied = NONE


async def give(host: Host, field: Field | None) -> None:
    """Ask for the range of the focused input until it can be read or is left."""
    if field is None or field.row.does or not can_have(field.row.declared):
        host.say("Only a quantity or a number can have a range. Go to one, then Alt+G.")
        return
    path = field.row.path
    given = written_range(host.session.table or {}, path)
    typed, wrong = given, ""
    while True:
        typed = await host.ask(AskRange(_question(field, host), typed, _offers(field, given), wrong,
                                                    _hint(field)))
        if not typed:
            return
        try:
            text = with_range(host.session.text, path, with_us_gallons(typed) if host.units == "us" else typed)
        except ValueError as problem:
            wrong = shown(str(problem))
            continue
        wrong = _problem(text, path) if typed.casefold() != NONE else ""
        if not wrong:
            break
    changed = host.session.replace(text, path)
    await host.show_case()
    if not changed:
        host.say("The range is as it was.")
    elif typed.casefold() == NONE:
        host.say("The range is taken out. Undo brings it back.")
    else:
        table = host.session.table or {}
        host.say(f"Range of {name_of(path, host.units, table)}: {shown(written_range(table, path))}.")


def _question(field: Field, host: Host) -> str:
    now = f", now {shown(field.value)}" if field.value else ", not given"
    return f"Range of {name_of(field.row.path, host.units, host.session.table)}{now}"


def _example(field: Field) -> tuple[str, str]:
    """Two ends around what stands in the field, to show how they are written."""
    from fillcalc.units import UnitProblem, read_quantity, write

    said = field.row.declared
    text = field.value or (said.default.text if said.default else said.example)
    if said.form != "quantity":
        return "0.9", "1.1"
    try:
        value, family = read_quantity(text, said.families)
        if value <= 0 or family == "temperature":
            return text, text
        return write(0.85 * value, family), write(1.2 * value, family)
    except UnitProblem:
        return "low", "high"


def _hint(field: Field) -> str:
    low, high = _example(field)
    if low == high:
        return "Write low; high, or low; likely; high, each with its unit. +- will do for ±."
    return f"Write ±10 %, or low; high such as {low}; {high}, or low; likely; high. +- will do for ±."


def _offers(field: Field, given: str) -> list[tuple[str, str]]:
    relative = "temperature" not in field.row.declared.families
    offers = [(width, f"{width} around the value") for width in WIDTHS if relative]
    return [*offers, (NONE, "Take the range out")] if given else offers


def _problem(text: str, path: str) -> str:
    """Why this range cannot be used, in words; "" where it can, whatever else is wrong in the text."""
    found = understand(Request(0, text, "case")).problems
    mine = f"ranges.{path}"
    return next((problem_words(p) for p in found if p.path == mine or p.path.startswith(f"{mine}.")), "")
