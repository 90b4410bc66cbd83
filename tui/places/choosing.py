"""Choices: every hose, pump and setting of the kit ranked for the case as it stands; one is taken with a key."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from fillcalc.units.printable import shown
from tui.places.choice_rows import PAIR, TOP, ChoiceRow, columns_of, row_line, rows_of, said_of
from tui.places.kit import kit_file, load_with_bytes, with_item
from tui.state.disk import beside, reason
from tui.state.inputs import as_typed, raw
from tui.widgets.listing import Listing
from tui.widgets.question import Question

if TYPE_CHECKING:
    from fillcalc.questions.choices.ranking import Choice
    from tui.places.host import Host

@dataclass(frozen=True)
class Wanted:
    """A text and a kit whose choices are wanted."""

    text: str
    name: str
    kit: bytes
    kit_name: str
    units: str


@dataclass(frozen=True)
class Chosen:
    """What came of it: the choices, the best first, or why there are none."""

    wanted: Wanted
    found: tuple[Choice, ...] = ()
    wrong: str = ""


def work_out(wanted: Wanted) -> Chosen:
    """Every choice for one text; never raises for anything that a person wrote."""
    from fillcalc.case.kit import read_kit
    from fillcalc.case.problems import CaseProblems
    from fillcalc.case.read import read_bytes
    from fillcalc.questions.choices.ranking import choices

    try:
        case = read_bytes(wanted.text.encode("utf-8", "surrogatepass"), wanted.name)
        kit = read_kit(wanted.kit, wanted.kit_name)
    except CaseProblems as error:
        return Chosen(wanted, wrong=shown(str(error.problems[0])))
    found = choices(case, kit, wanted.units)
    return Chosen(wanted, found, "" if found else f"{shown(wanted.kit_name)} needs a hose and a pump.")


class Choices(Question[ChoiceRow | None]):
    """The ranked list; what the row in hand means stands below it."""

    BINDINGS = [Binding("escape,q", "dismiss(None)", show=False)]

    def __init__(self, wanted: Wanted) -> None:
        super().__init__()
        self.wanted = wanted
        self.rows: tuple[ChoiceRow, ...] = ()

    def compose(self) -> ComposeResult:
        with Vertical(classes="page"):
            yield Static(Content.assemble((TOP, "bold"), f" · {shown(self.wanted.kit_name)} · likely times"),
                         classes="top")
            yield Static("", classes="columns", markup=False)
            yield Listing(compact=True)
            yield Static("Trying every hose with every pump…", classes="said", markup=False)
        yield Static(Content(" ↑ ↓ look at one. Enter takes it. Esc goes back.".ljust(400)), classes="foot")

    @work
    async def on_mount(self) -> None:
        """Try the kit on a thread of its own and show what came of it."""
        try:
            self.show(await beside(work_out, self.wanted))
        except Exception as error:  # a fault of ours must not take the person's work down
            self._say(f"The kit cannot be tried: {type(error).__name__}: {shown(str(error))}")

    def show(self, chosen: Chosen) -> None:
        """Take the choices in."""
        if chosen.wrong:
            self._say(chosen.wrong)
            return
        self.rows = rows_of(chosen.found)
        self._fill()
        self.query_one(Listing).focus()

    def on_resize(self) -> None:
        if self.rows:
            self.call_after_refresh(self._fill)

    def _fill(self) -> None:
        """The rows as wide as the list is now, the same one in hand."""
        listed = self.query_one(Listing)
        here = listed.highlighted or 0
        width = max(40, listed.size.width - 1)
        columns = columns_of(self.rows, self.wanted.units, width)
        self.query_one(".columns", Static).update(Content(columns.head))
        listed.clear_options()
        listed.add_options([Option(Content(row_line(row, self.wanted.units, columns, width))) for row in self.rows])
        listed.highlighted = here

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        row = self.rows[event.option_index]
        best = next((one.choice for one in self.rows if one.can), None)
        self._say(said_of(row, best, self.wanted.units))

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        row = self.rows[event.option_index]
        if row.can:
            self.dismiss(row)
        else:
            self._say(f"Not taken. {said_of(row, None, self.wanted.units)}")

    def _say(self, words: str) -> None:
        self.query_one(".said", Static).update(Content(words))


async def choose(host: Host) -> None:
    """Have the kit tried on the case, show what came of it, and put the one that is taken into the case."""
    path = await beside(kit_file, host)
    try:
        data, kit = await beside(load_with_bytes, path)
    except (OSError, ValueError) as error:
        host.say(f"{shown(path.name)}: {reason(error)}")
        return
    session = host.session
    wanted = Wanted(session.text, session.name, data, path.name, host.units)
    row = await host.ask(Choices(wanted))
    if row is None:
        return
    if host.session.text != wanted.text:
        host.say("Not taken: the case has changed since the kit was tried. Esc E tries it again.")
        return
    try:
        text = with_choice(wanted.text, kit, row.choice, host.units)
    except ValueError as problem:
        host.say(f"Not taken: {shown(str(problem))}")
        return
    host.session.replace(text, "fill.hose.1.length")
    await host.show_case()
    host.say(f"Taken: {shown(row.choice.hose)} with {shown(row.choice.pump)}. Undo brings back what was there.")


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
    named = {as_typed(item.get("name")): item for item in kit["hose"]}
    if name in named:
        return [named[name]]
    return next([named[first], named[last]] for first in named for last in named if f"{first}{PAIR}{last}" == name)


def setting_words(gauge_pa: float, units: str) -> str:
    """A regulator setting as it is typed, never above the one meant."""
    size, unit = (6894.757293168, "psi") if units == "us" else (1e5, "bar")
    return f"{math.floor(gauge_pa / size * 1000 + 1e-6) / 1000:.10g} {unit}"
