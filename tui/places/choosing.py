"""The place Kit: every hose, pump and setting of the kit ranked for the case as it stands; one is taken with a key.

In a test with gas it is every kind of bottle behind every regulator.
"""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical
from textual.content import Content
from textual.message import Message
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from fillcalc.case.own import NO_OWN, Own
from fillcalc.units.printable import shown
from tui.places.kit import kit_file, kit_name, load_with_bytes, with_item
from tui.places.place import wrapped
from tui.state.disk import reason
from tui.state.inputs import as_typed, raw
from tui.state.latest import LatestOnly
from tui.widgets.listing import Listing

if TYPE_CHECKING:
    from fillcalc.questions.choices.gas import GasChoice
    from fillcalc.questions.choices.ranking import Choice
    from tui.places.choice_rows import ChoiceRow
    from tui.places.gas_choice_rows import GasRow
    from tui.places.host import Host
    from tui.state.session import Session

QUIET_S = 0.4
"""The kit is tried on a case that has not changed for so long."""


@dataclass(frozen=True)
class Wanted:
    """A text and a kit whose choices are wanted."""

    text: str
    name: str
    kit: bytes
    kit_name: str
    units: str
    own: Own = NO_OWN


@dataclass(frozen=True)
class Chosen:
    """What came of it: the choices, the best first; what to say of them, or why there are none."""

    wanted: Wanted
    found: tuple[Choice, ...] = ()
    gas: tuple[GasChoice, ...] = ()
    """Those of a test with gas instead."""
    wrong: str = ""


def work_out(wanted: Wanted) -> Chosen:
    """Every choice for one text; never raises for anything that a person wrote."""
    from fillcalc.case.kit import read_kit
    from fillcalc.case.medium import is_gas
    from fillcalc.case.problems import CaseProblems
    from fillcalc.case.read import read_bytes
    from fillcalc.present.choices import left_out_sentence
    from fillcalc.questions.choices.gas import gas_choices
    from fillcalc.questions.choices.ranking import choices

    try:
        case = read_bytes(wanted.text.encode("utf-8", "surrogatepass"), wanted.name, wanted.own)
        kit = read_kit(wanted.kit, wanted.kit_name, wanted.own)
    except CaseProblems as error:
        return Chosen(wanted, wrong=shown(str(error.problems[0])))
    if is_gas(case):
        bottles = gas_choices(case, kit)
        return Chosen(wanted, gas=bottles, wrong="" if bottles else f"{shown(wanted.kit_name)} needs a [[bottle]].")
    found = choices(case, kit, wanted.units)
    nothing = f"{shown(wanted.kit_name)} needs a hose and a pump."
    return Chosen(wanted, found, wrong=left_out_sentence(kit, found) if found else nothing)


class ChoiceWanted(Message):
    """A person wants this choice in the case."""

    def __init__(self, wanted: Wanted, row: ChoiceRow | GasRow) -> None:
        super().__init__()
        self.wanted, self.row = wanted, row


class Found(Message):
    """The choices for a text have come."""

    def __init__(self, chosen: Chosen) -> None:
        super().__init__()
        self.chosen = chosen


class Kit(Vertical):
    """The place Kit: the ranked list; what the row in hand means stands below it."""

    BINDINGS = [Binding("w", "app.flow('within')", show=False)]

    def __init__(self, host: Host, id: str | None = None) -> None:
        super().__init__(id=id)
        self.host = host
        self.wanted: Wanted | None = None
        self.rows: tuple[ChoiceRow, ...] = ()
        self.gas_rows: tuple[GasRow, ...] = ()
        """Those of a test with gas; then there are no others."""
        self._work: LatestOnly[tuple[Session, str]] = LatestOnly(self._work_out, "kit", QUIET_S)
        self._asked = 0
        self._doing = ""
        """What is being done with the kit."""

    def compose(self) -> ComposeResult:
        yield Static("", classes="top")
        yield Static("", classes="columns", markup=False)
        yield Listing(compact=True)
        yield Static("", classes="said", markup=False)

    def answers_came(self) -> None:
        """Have the kit tried on the case as it is now."""
        session = self.host.session
        if session.number == self._asked:
            return
        self._asked = session.number
        self._top("trying every one…")
        self._work.ask((session, self.host.units))

    def postpone(self) -> None:
        """The kit can wait while keys do."""
        self._work.postpone()

    def _work_out(self, request: tuple[Session, str]) -> None:
        """On a thread of its own: read the kit and try it on the case."""
        session, units = request
        path = kit_file(session)
        try:
            wanted = Wanted(session.text, session.name, load_with_bytes(path)[0], kit_name(path), units,
                            session.own)
            found = work_out(wanted)
        except (OSError, ValueError) as error:
            wanted = Wanted(session.text, session.name, b"", kit_name(path), units, session.own)
            found = Chosen(wanted, wrong=f"{shown(path.name)}: {reason(error)}")
        except Exception as error:  # a fault of ours must not take the person's work down
            found = Chosen(wanted, wrong=f"The kit cannot be tried: {type(error).__name__}: {shown(str(error))}")
        self.post_message(Found(found))

    def on_found(self, event: Found) -> None:
        """Take the choices in, unless the case is another by now."""
        from tui.places.choice_rows import rows_of
        from tui.places.gas_choice_rows import GasRow

        event.stop()
        chosen = event.chosen
        if chosen.wanted.text != self.host.session.text:
            return
        self.wanted, self.rows = chosen.wanted, rows_of(chosen.found)
        self.gas_rows = tuple(map(GasRow, chosen.gas))
        self._fill()
        self._top("")
        if chosen.wrong:
            self._say(chosen.wrong)

    def _top(self, words: str) -> None:
        self._doing = words
        from tui.places import choice_rows, gas_choice_rows

        top, keys = (gas_choice_rows.TOP, "") if self._of_gas() else (choice_rows.TOP, "W: within a time")
        rows = [Content.styled(f" {top}", "bold")]
        for part in (shown(self.wanted.kit_name) if self.wanted is not None else "", keys, words):
            fits = rows[-1].cell_length + len(part) + 3 < self.size.width
            if part and fits:
                rows[-1] += f" · {part}"
            elif part:
                rows.append(Content(f" {part}"))
        self.query_one(".top", Static).update(Content("\n").join(rows))

    def _of_gas(self) -> bool:
        answered = self.host.session.answered
        return answered is not None and answered.estimate is not None and answered.estimate.gas is not None

    def to_the_best(self) -> None:
        """Take the first row in hand."""
        listed = self.query_one(Listing)
        if listed.option_count and listed.highlighted:
            listed.highlighted = 0

    def on_resize(self) -> None:
        self._top(self._doing)
        if self.rows or self.gas_rows:
            self.call_after_refresh(self._fill)

    def _fill(self) -> None:
        """The rows as wide as the list is now, the same one in hand."""
        listed = self.query_one(Listing)
        here = (listed.highlighted if listed.has_focus else listed.last) or 0
        width = max(40, listed.size.width - 1)
        units = self.host.units
        head, lines = self._lines(units, width)
        self.query_one(".columns", Static).update(Content(head))
        listed.clear_options()
        listed.add_options([Option(Content(line)) for line in lines])
        if not lines:
            return
        if listed.has_focus:
            listed.highlighted = min(here, len(lines) - 1)
        else:
            self._tell(0)

    def _lines(self, units: str, width: int) -> tuple[str, list[str]]:
        """The heads of the columns, and a line for each row."""
        from tui.places import gas_choice_rows
        from tui.places.choice_rows import columns_of, row_line

        if self.gas_rows:
            return gas_choice_rows.listed(self.gas_rows, units, width)
        columns = columns_of(self.rows, units, width)
        return (columns.head if self.rows else ""), [row_line(row, units, columns, width) for row in self.rows]

    def _tell(self, number: int) -> None:
        from tui.places import gas_choice_rows
        from tui.places.choice_rows import said_of

        if self.gas_rows:
            self._say(gas_choice_rows.said_of(self.gas_rows[number], self.host.units))
            return
        best = next((one.choice for one in self.rows if one.can), None)
        self._say(said_of(self.rows[number], best, self.host.units))

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        event.stop()
        if event.option_index < max(len(self.rows), len(self.gas_rows)):
            self._tell(event.option_index)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        from tui.places import gas_choice_rows
        from tui.places.choice_rows import said_of

        event.stop()
        row: ChoiceRow | GasRow = (self.gas_rows or self.rows)[event.option_index]
        if not row.can:
            said = gas_choice_rows.said_of(row, self.host.units) if isinstance(row, gas_choice_rows.GasRow) \
                else said_of(row, None, self.host.units)
            self._say(f"Not taken. {said}")
        elif self.wanted is not None:
            self.post_message(ChoiceWanted(self.wanted, row))

    def _say(self, words: str) -> None:
        self.query_one(".said", Static).update(Content("\n".join(wrapped(words, self.size.width - 2))))


async def take_choice(host: Host, wanted: Wanted, row: ChoiceRow | GasRow) -> None:
    """Put a choice into the case, unless that has changed since the kit was tried on it."""
    if host.session.text != wanted.text:
        host.say("Not taken: the case has changed since the kit was tried. Wait until it has been tried anew.")
        return
    from tui.places.gas_choice_rows import GasRow, with_gas_choice

    kit = tomllib.loads(wanted.kit.decode("utf-8-sig"))
    try:
        if isinstance(row, GasRow):
            text, there = with_gas_choice(wanted.text, kit, row.choice), "gas_supply.volume"
            names = row.choice.bottle, row.choice.regulator
        else:
            text, there = with_choice(wanted.text, kit, row.choice, host.units), "fill.hose.1.length"
            names = row.choice.hose, row.choice.pump
    except ValueError as problem:
        host.say(f"Not taken: {shown(str(problem))}")
        return
    host.session.replace(text, there)
    await host.show_case()
    host.say(f"Taken: {shown(names[0])} with {shown(names[1])}. Undo brings back what was there.")


def with_choice(text: str, kit: dict[str, Any], choice: Choice, units: str) -> str:
    """The text with the hoses and the pump of a choice, the regulator set, in the place of its own."""
    from fillcalc.case.edit import set_at

    hoses = _hoses(kit, choice.hose)
    pump = next(item for item in kit["pump"] if item.get("name") == choice.pump)
    here = raw(tomllib.loads(text), "fill.hose")
    for number in range(len(here) if isinstance(here, list) else 0, len(hoses), -1):
        text = set_at(text, f"fill.hose.{number}", None)
    for number, hose in enumerate(hoses, 1):
        text = with_item(text, f"fill.hose.{number}", hose)
    text = with_item(text, "pump", pump)
    if math.isfinite(float(choice.regulator_gauge_pa)):
        text = set_at(text, "pump.regulator_pressure", setting_words(float(choice.regulator_gauge_pa), units))
    return text


def _hoses(kit: dict[str, Any], name: str) -> list[dict[str, Any]]:
    """The hose of that name, or the two in a row."""
    from tui.places.choice_rows import PAIR

    named = {as_typed(item.get("name")): item for item in kit["hose"]}
    if name in named:
        return [named[name]]
    return next([named[first], named[last]] for first in named for last in named if f"{first}{PAIR}{last}" == name)


def setting_words(gauge_pa: float, units: str) -> str:
    """A regulator setting as it is typed, never above the one meant."""
    size, unit = (6894.757293168, "psi") if units == "us" else (1e5, "bar")
    return f"{math.floor(gauge_pa / size * 1000 + 1e-6) / 1000:.10g} {unit}"
