"""The screen: the case on the left, its answers always in sight, everything from the keyboard."""

from __future__ import annotations

import asyncio
import contextlib
import sys
from collections.abc import Awaitable, Callable, Iterable
from functools import partial
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, TypeVar

from textual import events, work
from textual.app import ComposeResult, SystemCommand
from textual.binding import Binding
from textual.containers import Container
from textual.content import Content
from textual.css.query import NoMatches
from textual.message import Message
from textual.screen import Screen
from textual.theme import Theme
from textual.widget import Widget
from textual.widgets import Static

from fillcalc.case.names import name_of
from fillcalc.case.written import written_in
from fillcalc.units.printable import shown
from tui.places import (
    choosing,
    files,
    find,
    kit,
    range_entry,
    reading_entry,
    record_file,
    reports,
    stage_entry,
    unsaved,
    visit,
    within,
)
from tui.places.answers import Answers
from tui.places.case_form import CaseForm
from tui.places.cautions import Cautions
from tui.places.fill import Fill
from tui.places.hold import Hold
from tui.places.place import Place
from tui.places.pump_up import PumpUp
from tui.places.quote import Quote
from tui.places.set_up import SetUp
from tui.places.telling import Telling
from tui.state.actions import ACTIONS, GROUPS, HARMLESS, NO_ALT, PLACES, Action, place_names
from tui.state.disk import beside, reason
from tui.state.drafts import Draft, Drafts
from tui.state.inputs import groups
from tui.state.opening import fresh, opened
from tui.state.session import Answered, Request, Session
from tui.state.workers import Answering, Autosave
from tui.terminal.colours import believe_the_terminal, fitting_look, themes, without_colours
from tui.terminal.ending import FAULT
from tui.terminal.steady import Steady
from tui.widgets.dialogs import Menu, Pages
from tui.widgets.form import Choice, Entry
from tui.widgets.head import Foot, Head, PlaceBar, too_small
from tui.widgets.line import Line
from tui.widgets.listing import Listing
from tui.widgets.question import Palette, Question

if TYPE_CHECKING:
    from fillcalc.estimation.answers import Estimate

Answer = TypeVar("Answer")

SMALLEST, WIDE, BROAD = (80, 24), (120, 36), (180, 50)
ANSWER_S = 3.0
"""How long something asked for at once waits for the answers to what was typed just before."""
LOOKS = {"dark": "Dark colours.", "light": "Light colours.", "terminal": "The terminal's own colours."}
THEMES = {"dark": "fillcalc-dark", "light": "fillcalc-light", "terminal": "ansi-dark"}
IN_THE_FORM = {"step", "enter", "next_group", "previous_group"}
"""What is done only while keys are for the form."""
OVER_THE_CASE = {"step", "enter", "tab", "menu", "place", "flow", *(a.name for a in ACTIONS if a.name not in HARMLESS)}
"""What is done only while no question stands over the case."""


class Arrived(Message):
    """Answers came."""

    def __init__(self, answered: Answered) -> None:
        super().__init__()
        self.answered = answered


class OtherAir(Message):
    """The same case with another amount of trapped air came, for the charts."""

    def __init__(self, number: int, estimate: Estimate) -> None:
        super().__init__()
        self.number = number
        self.estimate = estimate


class Fillcalc(Steady):
    """The whole screen: it composes the places and hands on what they say to each other."""

    TITLE = "fillcalc"
    CSS_PATH = "theme.tcss"
    COMMAND_PALETTE_BINDING = "ctrl+p"
    COMMANDS = {find.Named}
    BINDINGS = [
        Binding("escape,f1", "menu", "Menu", show=False),
        Binding("down", "step(1)", "Next field", show=False, priority=True),
        Binding("up", "step(-1)", "Field before", show=False, priority=True),
        Binding("tab", "tab(1)", "Next field", show=False, priority=True),
        Binding("shift+tab", "tab(-1)", "Field before", show=False, priority=True),
        Binding("enter", "enter", "Next field", show=False, priority=True),
        *(Binding(",".join(a.keys), a.call, a.title, show=False, priority=a.name != "find")
          for a in ACTIONS if a.keys),
        *(Binding(f"alt+{letter}", f"menu('{letter}')", title, show=False, priority=True)
          for letter, title in GROUPS.items() if letter not in NO_ALT),
        *(Binding(f"alt+{n}", f"place({n})", title, show=False, priority=True) for n, title in enumerate(PLACES, 1)),
        Binding("f12", f"place({PLACES.index('Kit') + 1})", "Kit", show=False, priority=True),
    ]

    def __init__(self, session: Session, units: str = "metric", look: str | None = None,
                 own: str | None = None) -> None:
        self.own = own
        """The file of one's own figures that was asked for, for every case; None for the one beside each."""
        self.look = look or fitting_look()
        self.set_reactive(Fillcalc.theme, THEMES[self.look])  # so the style sheet is read once, in its colours
        super().__init__(session, ansi_color=self.look == "terminal")
        self.animation_level = "none"
        self.units = units
        self.letters_only = False
        self.telling = Telling()
        self.visit: visit.Visit | None = None
        self.here = 1
        """The place that is open, by its digit."""
        self.places: dict[int, Place | choosing.Kit] = {1: SetUp(self, id="place-1")}
        """The places by their digits: the first alone until the screen has been painted."""
        self.answering = Answering(lambda answered: self.post_message(Arrived(answered)),
                                   lambda number, estimate: self.post_message(OtherAir(number, estimate)))
        self.autosave = Autosave(self._say_from_thread)
        session.listeners.append(self._text_changed)

    # --- the screen ------------------------------------------------------------------------

    @property
    def available_themes(self) -> dict[str, Theme]:
        """Those of the library, and ours from the very start."""
        return {**super().available_themes, **{theme.name: theme for theme in themes()}}

    def get_theme_variable_defaults(self) -> dict[str, str]:
        return without_colours()

    def compose(self) -> ComposeResult:
        self.main.add_class("at-form")  # before there is anything that it would style anew
        self._size_up(self.size.width, self.size.height)
        yield Head(id="head", markup=False)
        yield PlaceBar(id="bar")
        yield Answers(self.session, self.units, id="answers")
        with Container(id="body"):
            yield CaseForm(self.session, self.units, id="work")
            yield Container(*self.places.values(), id="places")
        yield Foot(id="keys", markup=False)
        yield Static(id="small", markup=False)

    @property
    def case_form(self) -> CaseForm:
        return self.main.query_one(CaseForm)

    @property
    def answers(self) -> Answers:
        return self.main.query_one(Answers)

    def place(self, number: int) -> Place | choosing.Kit:
        """The place of that digit."""
        return self.places[number]

    @property
    def foot(self) -> Foot:
        return self.main.query_one(Foot)

    async def on_mount(self) -> None:
        self.begin_taking()
        self._fit(self.size.width, self.size.height)
        await self.case_form.show(0)
        self.refresh_head()
        self.call_after_refresh(self._begin)

    async def _begin(self) -> None:
        """After the first paint: ask for the answers, make the other places, look for work left behind."""
        self._ask_for_answers()
        await self._add_places()
        self._say_whose_figures()
        self.run_worker(files.watch(self))
        self.run_worker(self._offer_unsaved())

    async def _add_places(self) -> None:
        """The places beside the first."""
        others: tuple[type[Place | choosing.Kit], ...] = (Fill, PumpUp, Hold, choosing.Kit, Quote, Cautions)
        made = {number: place(self, id=f"place-{number}") for number, place in enumerate(others, 2)}
        for each in made.values():
            each.display = False
        await self.main.query_one("#places").mount_all(made.values())
        self.places |= made
        self._show_places()

    async def _offer_unsaved(self) -> None:
        """Look for work left behind; keys are taken from then on."""
        left: list[tuple[Path, Draft]] = []
        with self.taking.asking():
            try:
                left = await unsaved.left_behind(self)
            finally:
                self.taking.begin(asks_first=bool(left))
            await unsaved.offer_unsaved(self, left)

    def on_resize(self, event: events.Resize) -> None:
        self._fit(event.size.width, event.size.height)
        self.refresh_head()

    def _fit(self, width: int, height: int) -> None:
        self._size_up(width, height)
        self._show_places()
        self._fit_strip()
        self.main.query_one("#small", Static).update(too_small(SMALLEST, (width, height)))

    def _size_up(self, width: int, height: int) -> None:
        """Tell the style sheet how large the screen is."""
        self.main.update_classes({
            "too-small": width < SMALLEST[0] or height < SMALLEST[1],
            "wide": width >= WIDE[0] and height >= WIDE[1],
            "broad": width >= BROAD[0] and height >= BROAD[1],
        })

    @property
    def form_in_sight(self) -> bool:
        return self.main.has_class("wide") or (self.here == 1 and self.case_form.has_keys)

    def _show_places(self) -> None:
        """Put the open place in sight, on the largest screen with the one that follows it."""
        self.main.set_class(self.here == 1 and self.case_form.has_keys, "at-form")
        following = self.here % len(PLACES) + 1
        for number, place in self.places.items():
            place.display = number == self.here or (number == following and self.main.has_class("broad"))
            if place.display:
                place.answers_came()
        self.main.query_one(PlaceBar).here = self.here
        self._taking_keys(0)
        if not self.form_in_sight or not self.case_form.has_keys:
            self._leave_form()

    def _leave_form(self) -> None:
        """Give the keys to the open place."""
        self.case_form.has_keys = False
        self.main.set_focus(self._taking_keys(self.here))

    def _taking_keys(self, open_place: int) -> Widget | None:
        """What takes the keys in the open place, 0 for none.

        It alone of the places can have the focus, so that none gets it by the way where a row of the form goes.
        """
        taking = None
        for number, place in self.places.items():
            widget = place.query_one(Listing) if isinstance(place, choosing.Kit) else place
            widget.can_focus = number == open_place
            taking = widget if widget.can_focus else taking
        return taking

    def on_descendant_focus(self) -> None:
        self.foot.leave_out(() if self.case_form.has_keys else IN_THE_FORM)

    def refresh_head(self) -> None:
        with contextlib.suppress(NoMatches):  # the screen is going
            self.main.query_one(Head).show(self.session, self.case_form.typing)
            answered = self.session.answered
            bar = self.main.query_one(PlaceBar)
            bar.cautions = len(answered.cautions) if answered is not None else 0
            bar.gas = answered is not None and answered.estimate is not None and answered.estimate.gas is not None
            self.foot.fill()

    def say(self, words: str) -> None:
        """A sentence in the last line, until the next one or a few seconds later; none where the screen is going."""
        with contextlib.suppress(NoMatches):
            self.foot.say(words)
            for foot in self.screen.query(".foot").results(Static):
                foot.update(Content(words))

    def _say_from_thread(self, words: str) -> None:
        with contextlib.suppress(RuntimeError):  # the screen has ended
            self.call_from_thread(self.say, words)

    @property
    def said(self) -> str:
        return self.foot.saying

    async def ask(self, question: Screen[Answer]) -> Answer:
        answer: Answer = await self.push_screen_wait(question)
        return answer

    # --- the case and its answers ----------------------------------------------------------

    def on_case_form_touched(self) -> None:
        self.answering.postpone_ranges()
        self.foot.unsay()
        self._show_state()

    def on_case_form_refused(self, event: CaseForm.Refused) -> None:
        self.say(event.words)
        self.case_form.refresh_values()

    async def on_reading_wanted(self, event: reading_entry.ReadingWanted) -> None:
        """Ask for a reading that begins with what was typed; what follows in a burst goes to the same question."""
        if not isinstance(self.screen, Question):
            await self._flow(lambda app: reading_entry.enter(app, event.typed))
            return
        end = monotonic() + ANSWER_S
        while self.screen.focused is None and monotonic() < end:  # the question has no line yet
            await asyncio.sleep(0.005)
        for line in self.screen.query(Line):
            line.insert_text_at_cursor(event.typed)

    async def on_record_wanted(self, event: record_file.RecordWanted) -> None:
        async def through(app: Fillcalc) -> None:
            before = app.session.recorded
            await FLOWS[event.what](app)
            for place in app.places.values():
                if isinstance(place, Hold) and app.session.recorded is not before:
                    place.top = 0  # what the record warns of stands there

        if not isinstance(self.screen, Question):  # else the key came twice
            await self._flow(through)

    @work
    async def on_case_form_air_wanted(self) -> None:
        await reading_entry.take(self)

    async def show_case(self, path: str = "") -> None:
        if path:
            await self.case_form.go_to(path)
        else:
            await self.case_form.keep_up()
        self.case_form.refresh_values()

    def _ask_for_answers(self) -> None:
        session = self.session
        self.answering.ask(Request(session.number, session.text, session.name, self.units, session.own))

    def _fit_strip(self) -> None:
        """As many rows for the answers as they need, and one for the rule below them where there is room."""
        wide, width = self.main.has_class("wide"), self.size.width
        self.answers.styles.height = self.answers.needs(width) + wide

    def _show_state(self) -> None:
        self.answers.waiting = self.case_form.typing
        self._fit_strip()
        self.answers.refresh()
        self.refresh_head()
        self._places_told()

    def _places_told(self) -> None:
        """Have the places in sight show the answers of the moment."""
        for place in self.places.values():
            if place.display:
                place.answers_came()

    def _text_changed(self) -> None:
        self._ask_for_answers()
        self.autosave.ask(self.session)
        if not self.answers.waiting:  # else it says already that the answers are old
            self._show_state()

    @property
    def settled(self) -> bool:
        """Nothing is being typed, read or worked out, but for the ranges."""
        return not self.case_form.typing and self.session.judged == self.session.number

    async def settle(self) -> None:
        """Wait for the answers to what was typed last, a few seconds at most."""
        end = monotonic() + ANSWER_S
        while not self.settled and monotonic() < end:
            await asyncio.sleep(0.02)

    @property
    def answers_old(self) -> bool:
        return self.case_form.typing or self.session.state != "now"

    def on_other_air(self, event: OtherAir) -> None:
        if self.is_running and event.number == self.session.number:
            self.session.other = (event.number, event.estimate)
            self._places_told()

    async def on_arrived(self, event: Arrived) -> None:
        if not self.is_running or not self.session.take(event.answered):
            return
        kept = self.session.kept
        if event.answered.ranged and kept is not None and kept.number == event.answered.number:
            self.session.keep()
        if event.answered.failure:
            self.say(f"These inputs cannot be worked out: {shown(event.answered.failure)}")
        if self.case_form.rows_changed:
            self.run_worker(self._keep_up())
        else:
            await self.case_form.keep_up()
        self._show_state()

    async def _keep_up(self) -> None:
        """Bring other rows between two keys: one that is on its way to a row must not be lost with it."""
        async with self.taking.between_keys:
            if self.is_running:  # else the screen has gone meanwhile
                await self.case_form.keep_up()
                self._show_state()

    async def take_session(self, session: Session, words: str = "") -> None:
        """Another case in the place of this one."""
        if self.session.drafts is not None and session.drafts is not self.session.drafts:
            await beside(self.session.drafts.clear)
        session.number = self.session.number + 1
        session.judged = 0
        if self.own is not None:
            session.own, session.own_problem = self.session.own, self.session.own_problem
        session.kept = self.session.kept
        session.listeners = [self._text_changed]
        self.session, self.visit = session, None
        self.answers.session = session
        for number in self.places:
            self._to_its_top(number)
        await self.case_form.take(session)
        self._text_changed()
        self._keeping()
        if words:
            self.say(words)
        else:
            self._say_whose_figures()

    def _say_whose_figures(self) -> None:
        """Say where figures of one's own stand in for defaults, or why they cannot."""
        if self.session.own_problem:
            self.say(f"{self.session.own_problem}. Defaults are used.")
        elif self.session.own.entries():
            self.say(f"Own figures of {shown(self.session.own.name)} stand in for defaults.")

    # --- the actions -----------------------------------------------------------------------

    async def action_menu(self, group: str = "") -> None:
        async def choose(app: Fillcalc) -> None:
            call = await app.push_screen_wait(Menu(place_names(app.main.query_one(PlaceBar).gas), group))
            if call:
                await app.run_action(call)

        await self._flow(choose)

    async def action_place(self, number: int) -> None:
        """Open a place; the form takes the keys in the first, the place itself in the others, and in the first too
        when it is asked for again."""
        await self.case_form.catch_up()
        to_form = number == 1 and not (self.here == 1 and self.case_form.has_keys)
        if number != self.here:
            self._to_its_top(number)
        self.here, self.case_form.has_keys = number, to_form
        self._show_places()
        if to_form:
            self._to_the_form()

    def _to_its_top(self, number: int) -> None:
        """What stands first in a place must be read first."""
        place = self.place(number)
        if isinstance(place, Place):
            place.top = 0
        else:
            place.to_the_best()

    async def action_next_place(self) -> None:
        await self.action_place(self.here % len(PLACES) + 1)

    async def to_the_form(self, path: str = "") -> None:
        """Open the first place with the keys in its form, in the field at a path where one is given."""
        if not self.form_in_sight or not self.case_form.has_keys:
            self.here, self.case_form.has_keys = 1, True
            self._show_places()
            self._to_the_form()
        if path:
            await self._go_to(path)

    async def on_place_bar_chosen(self, event: PlaceBar.Chosen) -> None:
        await self.action_place(event.number)

    def on_sheet_clicked(self) -> None:
        self._leave_form()

    @work
    async def on_choice_wanted(self, event: choosing.ChoiceWanted) -> None:
        await choosing.take_choice(self, event.wanted, event.row)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Over a question only its own keys count, and those that harm nothing."""
        if action == "enter" and not isinstance(self.focused, Entry):
            return False
        if action in IN_THE_FORM and not self._form_has_keys():
            return False
        if action in OVER_THE_CASE and len(self.screen_stack) > 1:
            return False
        return super().check_action(action, parameters)

    async def action_enter(self) -> None:
        await self.case_form.step(1)

    def _form_has_keys(self) -> bool:
        return self.is_running and self.case_form.has_keys

    async def action_tab(self, by: int) -> None:
        """The next field; from a place back to the form, where that is in sight."""
        if self.case_form.has_keys:
            await self.case_form.step(by)
        elif self.form_in_sight or self.here == 1:
            self._to_the_form()

    def _to_the_form(self) -> None:
        self.case_form.has_keys = True
        self.main.set_class(self.here == 1, "at-form")
        self.case_form.come_back()
        self._taking_keys(0)

    async def action_step(self, by: int) -> None:
        await self.case_form.step(by)

    async def action_next_group(self) -> None:
        await self.case_form.turn(1)

    async def action_previous_group(self) -> None:
        await self.case_form.turn(-1)

    async def action_find(self) -> None:
        await self.case_form.catch_up()
        self.action_command_palette()

    def action_command_palette(self) -> None:
        if not any(isinstance(one, Palette) for one in self.screen_stack):
            self.push_screen(Palette(id="--command-palette"))

    async def action_undo(self) -> None:
        await self.case_form.catch_up()
        before = self.session.table
        await self._went("Undone", self.session.undo(), "Nothing to undo.", before)

    async def action_redo(self) -> None:
        await self.case_form.catch_up()
        before = self.session.table
        await self._went("Done again", self.session.redo(), "Nothing to do again.", before)

    async def _went(self, words: str, label: str | None, nothing: str, before: object) -> None:
        """Say which step was taken, back or forward from the table before."""
        if label is None:
            self.say(nothing)
            return
        await self.case_form.go_to(label)
        self.case_form.refresh_values()
        self.case_form.choose()
        after = self.session.table
        said = reading_entry.stepped_words(before, after) if label == "reading" else \
            stage_entry.stepped_words(self.session) if label == "took" else ""
        self.say(f"{words}: {said or shown(name_of(label, self.units, after))}")

    async def _flow(self, flow: Callable[[Fillcalc], Awaitable[object]]) -> None:
        """Something that asks on the way: take in what was typed, then go through with it."""
        async def through(app: Fillcalc) -> None:
            await flow(app)
            self.refresh_head()
            self._places_told()

        await self.case_form.catch_up()
        await self.flow(through)

    async def action_flow(self, name: str) -> None:
        """An action that asks on the way."""
        await self._flow(FLOWS[name])

    async def action_quit(self) -> None:
        async def leave(app: Fillcalc) -> None:
            if await files.may_leave(app):
                app.exit(0)

        await self._flow(leave)

    @work
    async def action_copy(self) -> None:
        await self.case_form.catch_up()
        await self.settle()
        page = self.screen
        await reports.copy_answers(self, page.text if isinstance(page, Pages) and page.visit else "")

    @work
    async def action_copy_quote(self, alone: bool = False) -> None:
        await self.case_form.catch_up()
        await self.settle()
        page = self.screen
        await reports.copy_quote(self, page.quote if isinstance(page, Pages) else "", alone)

    async def action_units(self) -> None:
        await self.case_form.catch_up()
        self.units = "us" if self.units == "metric" else "metric"
        self.answers.units = self.case_form.units = self.units
        self.session.number += 1
        self._ask_for_answers()
        await self.case_form.show(self.case_form.group_number)
        self.say(f"Answers in {'US' if self.units == 'us' else 'metric'} units. Inputs stay as you typed them.")

    @work
    async def action_keep(self) -> None:
        """Hold on to the present answers."""
        await self.case_form.catch_up()
        number = self.session.number
        await self.settle()
        if self.session.state != "now" or self.session.number != number:
            self.say("Not kept: the answers are out of date.")
        elif self.session.keep():
            self._keeping()
            self.say("Kept. Change something and look at the difference. Alt+W lets go.")

    async def action_stage(self) -> None:
        """The clock of the stages goes to the next one."""
        await self.case_form.catch_up()
        await stage_entry.press(self)

    def action_let_go(self) -> None:
        self.session.kept = None
        self._keeping()
        self.say("The kept answers are gone; the case is as it was.")

    def _keeping(self) -> None:
        self.main.set_class(self.session.kept is not None, "keeping")
        self._show_state()

    def action_marks(self) -> None:
        """Fine lines, or letters for terminals that lack the fine dots."""
        self.letters_only = not self.letters_only
        self._places_told()
        self.say("Charts in plain letters." if self.letters_only else "Charts in fine lines.")

    def action_look(self) -> None:
        if self.no_color:
            self.say("NO_COLOR is set: no colours are used.")
            return
        looks = list(LOOKS)
        self.look = looks[(looks.index(self.look) + 1) % len(looks)]
        self.ansi_color = self.look == "terminal"
        self.theme = THEMES[self.look]
        self.say(LOOKS[self.look])

    def action_help_quit(self) -> None:
        self.say("Ctrl+Q quits; so does Esc, then Q.")

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        return find.commands(groups(self.session.table or {}, self.units), self._do,
                             partial(self.call_next, self._go_to), over=screen is not self.main)

    async def _go_to(self, path: str, word: str = "") -> None:
        """The field at a path, in sight and with the keys; with a word, that is chosen there."""
        with contextlib.suppress(NoMatches):  # the screen is going
            if not self.form_in_sight:
                await self.action_place(1)
            self.case_form.has_keys = True
            await self.case_form.go_to(path)
            self._taking_keys(0)
            field = self.case_form.form.focused
            if word and field is not None and isinstance(field.entry, Choice):
                field.entry.choose(word)

    async def _do(self, action: Action) -> None:
        await self.run_action(action.call)

    def keys_wait(self) -> None:
        self.answering.postpone_ranges()
        for place in self.main.query(choosing.Kit):
            place.postpone()

    def keep(self) -> None:
        self.session.listeners.clear()
        self.case_form.flush()
        for box in self.screen_stack:
            if isinstance(box, reading_entry.AskReading):
                self.session.half_reading = box.typed


FLOWS: dict[str, Callable[[Fillcalc], Awaitable[object]]] = {
    "save": files.save,
    "save_as": files.save_as,
    "open": files.open_another,
    "new": files.new,
    "reading": reading_entry.enter,
    "use_air": reading_entry.take,
    "record": record_file.pick,
    "move_hold": record_file.move,
    "record_strokes": record_file.strokes,
    "record_leak": record_file.leak,
    "range": lambda app: range_entry.give(app, app.case_form.form.focused),
    "hose": kit.take_hose,
    "pump": kit.take_pump,
    "compare": reports.read_comparison,
    "report": reports.read_report,
    "rules": reports.read_rules,
    "within": within.ask_within,
    "page": reports.page_of,
    "visit": visit.quote,
}
"""What each action that asks on the way goes through."""


def run(source: str | None, units: str | None = None, own: str | None = None) -> int:
    """Open the screen on a case file or a new case, in its own units if none are named; the exit code."""
    drafts = Drafts()
    try:
        session = opened(Path(source), drafts, own) if source else fresh(drafts, own)
    except (OSError, ValueError) as error:
        print(f"{shown(str(source))}: {reason(error)}", file=sys.stderr)
        return 1
    app = Fillcalc(session, units or written_in(session.text), own=own)
    app.ending.watch()
    believe_the_terminal()
    try:
        app.run()
    except Exception as error:
        said = app.ending.said or app.ending.after_a_fault(error)
        app.ending.leave_the_terminal()
        print(said, file=sys.stderr)
        return FAULT
    finally:
        app.ending.over()
    app.autosave.end()
    return app.return_code or 0
