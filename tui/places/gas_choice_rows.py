"""Choices of bottles and regulator as rows of text, and one of them put into a case."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from fillcalc.present.gas_choices import HEADS, choice_cells, choice_sentence, choice_warnings, why_not
from tui.places.choice_rows import INDENT, WITH, fitted
from tui.places.kit import with_item
from tui.state.inputs import as_typed, raw
from tui.state.range_text import without_ranges

if TYPE_CHECKING:
    from fillcalc.questions.choices.gas import GasChoice

TOP = "Every bottle and regulator on this case"


@dataclass(frozen=True)
class GasRow:
    """One row: bottles and a regulator."""

    choice: GasChoice

    @property
    def can(self) -> bool:
        """Whether it can be taken."""
        return self.choice.can


def listed(rows: Sequence[GasRow], units: str, width: int) -> tuple[str, list[str]]:
    """The heads of the columns, and each row, of at most `width` characters."""
    table = [HEADS, *(choice_cells(row.choice, units) for row in rows if row.can)]
    wide = [max(len(cells[place]) for cells in table) for place in range(len(HEADS))]
    in_one = 1 + sum(wide) + 2 * (len(wide) - 1) <= width

    def line(cells: Sequence[str], between: str = WITH) -> str:
        """Names to the left, figures to the right; below the names where there is no room beside them."""
        figures = "".join(f"  {cell:>{w}}" for cell, w in zip(cells[2:], wide[2:], strict=True))
        if in_one:
            return f" {cells[0]:<{wide[0]}}  {cells[1]:<{wide[1]}}{figures}"
        names = fitted(f"{cells[0]}{between}{cells[1]}", width - 1)
        return f" {names}\n{figures:>{width}}"

    lines = iter(map(line, table[1:]))
    return line(HEADS, ", "), [next(lines) if row.can else _cannot(row.choice, units, width) for row in rows]


def _cannot(one: GasChoice, units: str, width: int) -> str:
    text = f"× {fitted(one.bottle, width)} with {fitted(one.regulator, width)}: {why_not(one, units)}"
    return "\n".join(wrap(text, width, initial_indent=" ", subsequent_indent=f" {INDENT}", break_on_hyphens=False))


def said_of(row: GasRow, units: str) -> str:
    """What there is to know of one row, in sentences."""
    text = choice_sentence(row.choice, units)
    return " ".join([text if row.can else f"Cannot: {text}", *choice_warnings(row.choice, units)])


def with_gas_choice(text: str, kit: dict[str, Any], choice: GasChoice) -> str:
    """The text with the bottles and the regulator of a choice in the place of its own, which it may be; a booster
    stays."""
    from fillcalc.case.edit import set_at
    from fillcalc.case.records import Booster, Bottles
    from fillcalc.units import read_quantity

    if choice.own:
        return text
    bottle = next(item for item in kit["bottle"] if item.get("name") == choice.bottle)
    own = raw(tomllib.loads(text), "gas_supply")
    stays = {key: value for key, value in own.items() if key not in Bottles.__dataclass_fields__} \
        if isinstance(own, dict) and own.get("kind") == Booster.kind else {"kind": Bottles.kind}
    text = with_item(text, "gas_supply", stays | {key: value for key, value in bottle.items() if key != "name"})
    regulator = next((item for item in kit.get("regulator", []) if item.get("name") == choice.regulator), None)
    if regulator is None:
        return text
    text = without_ranges(text, ["gas_line.kv"])
    text = set_at(text, "gas_line.kv", as_typed(regulator.get("kv")))
    highest = as_typed(regulator["pressure"])
    if float(choice.case.gas_line.regulator_pressure) >= read_quantity(highest, "pressure")[0]:
        text = set_at(text, "gas_line.regulator_pressure", highest)
    return text
