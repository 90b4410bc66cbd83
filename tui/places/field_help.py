"""Words beside the form: what the focused input is, how to find it, what its range is, and what is wrong."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from typing import TYPE_CHECKING

from textual.content import Content
from textual.geometry import Size
from textual.reactive import reactive
from textual.widget import Widget

from fillcalc.case.names import in_units, name_of
from fillcalc.case.shape_of import input_at
from fillcalc.units.printable import shown
from tui.state.inputs import Row, as_typed
from tui.widgets.fitting import fitted, in_rows
from tui.widgets.form import NEEDED

if TYPE_CHECKING:
    from fillcalc.case.problems import Problem


NUMERIC = ("quantity", "number", "count")
"""Forms of an input that is written as one number."""


def help_lines(row: Row, assumed: tuple[str, str] | None, units: str) -> list[tuple[str, str]]:
    """What stands beside the focused field: a heading (or nothing) and the words."""
    said = row.declared
    lines = [("", f"{said.help[:1].upper()}{said.help[1:]}.")]
    if row.does:
        return [*lines, ("", "Press Enter.")]
    if said.recipe:
        lines.append(("To find it: ", f"{said.recipe}."))
    if said.form in ("choice", "flag"):
        lines.append(("", "Left and right change it; Enter lists all."))
    elif said.example and (said.default is None or said.default.text != said.example):
        words = f", or {' or '.join(said.words)}" if said.words else ""
        example = in_units(said.example, said, units)
        if said.form in ("points", "pair"):
            example = as_typed(tomllib.loads(f"list = {example}")["list"])
        lines.append(("Write: ", f"{example}{words}"))
    if assumed is not None:
        lines.append(("Left empty: ", f"{assumed[0]}, {assumed[1]}." if assumed[1] else f"{assumed[0]}."))
    elif said.default is not None:
        lines.append(("If left empty: ", f"{default(row, units)}, {said.default.why}."))
    elif said.required:
        lines.append(("", "Must be given."))
    return lines


def in_vain(row: Row, typed: str, following: Row | None) -> str:
    """What is said of text typed at a choice of which no word begins so; a number belongs in the field that follows,
    where that takes one."""
    said = f'Nothing in {row.label} begins with "{shown(typed)}". Left and right change it; Enter lists all.'
    if typed[:1].isdigit() and following is not None and not following.does and following.declared.form in NUMERIC:
        said += f" A number belongs in the next field, {following.label}: press ↓ and type it there."
    return said


class Help(Widget):
    """Words for the focused field: what it is, how to find it, what happens when it is left empty."""

    COMPONENT_CLASSES = {"help--title", "help--heading"}

    said: reactive[tuple[str, tuple[tuple[str, str], ...]]] = reactive(("", ()), layout=True)

    def show(self, title: str, lines: Iterable[tuple[str, str]]) -> None:
        self.said = (title, tuple(lines))

    def render(self) -> Content:
        rows = self._rows(self.size.width)
        return Content("\n").join(fitted(rows, max(1, self.size.height), " on a larger screen"))

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return len(self._rows(width))

    def _rows(self, width: int) -> list[Content]:
        title, lines = self.said
        parts = [Content.styled(title, self.get_visual_style("help--title"))]
        parts += [Content.assemble((heading, self.get_visual_style("help--heading")), words)
                  for heading, words in lines]
        return in_rows(Content("\n").join(parts), width)


def default(row: Row, units: str) -> str:
    """What stands in for an input that nobody gives, whatever else is in the case; "" where that depends."""
    said = row.declared
    return in_units(said.default.text, said, units) if said.default is not None else said.otherwise


def problem_words(problem: Problem, units: str = "metric") -> str:
    """The words of a problem as they stand under its field."""
    found, expected, hint = (shown(text or "") for text in (problem.found, problem.expected, problem.hint))
    needed = re.match(r"needed: write \S+ = (.+)$", expected)
    if needed:
        said = input_at(problem.path)
        printed = re.sub(r'"(.+?)"', lambda example: in_units(example[1], said, units), needed[1])
        table = problem.path.rpartition(".")[0]
        printed = re.sub(r"\b([a-z_]+) = ", lambda key: f"{name_of(f'{table}.{key[1]}', units)} ", printed)
        return f"{NEEDED}, such as {printed}"
    choose = re.match(r"needed: write \S+ as one of (.+)$", expected)
    if choose:
        return f"{NEEDED}, one of {choose[1]}"
    if found and expected:
        words = f"{found}: {expected}"
    else:
        words = expected or found or "cannot be used"
    return f"{words}. {hint[:1].upper()}{hint[1:]}" if hint else words
