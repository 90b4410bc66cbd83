"""The screen: the case on the left, its answers always in sight, everything from the keyboard."""

from __future__ import annotations

import contextlib
import os
import signal
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from textual import events, work
from textual.app import App, ComposeResult, SystemCommand
from textual.binding import Binding
from textual.containers import Container
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.timer import Timer
from textual.widgets import Static

from fillcalc.shown import shown
from tui import files
from tui.actions import ACTIONS, key_name
from tui.answers import Answers
from tui.calculator import Newest
from tui.dialogs import Menu, Pick
from tui.form import (
    Edited,
    Field,
    Form,
    GroupList,
    Help,
    Listed,
    Pressed,
    help_lines,
    problem_words,
    said_as,
    words_for,
)
from tui.inputs import LISTS, NEW_ITEMS, Group, Row, as_typed, groups, raw
from tui.session import Answered, Session, work_out
from tui.unsaved import Desk

DEBOUNCE_S = 0.15
SMALLEST = (80, 24)
WIDE = (120, 36)
BROAD = (180, 40)
LOOKS = ("dark", "light", "terminal")
GAUGE = "pressures are gauge"


class Arrived(Message):
    """Answers came from the other thread."""

    def __init__(self, answered: Answered) -> None:
        super().__init__()
        self.answered = answered


class Fillcalc(App[int]):
    """The whole screen."""

    TITLE = "fillcalc"
    CSS_PATH = "theme.tcss"
    COMMAND_PALETTE_BINDING = "ctrl+p"
    BINDINGS = [
        Binding("escape,f1", "menu", "Menu", show=False),
        *(Binding(",".join((*a.keys, f"alt+{a.letter}")), a.name, a.title, show=False, priority=a.name != "find")
          for a in ACTIONS),
    ]

    def __init__(self, session: Session, units: str = "metric", look: str | None = None) -> None:
        plain = "NO_COLOR" in os.environ or few_colours()
        self.look = look or ("terminal" if plain else "light" if light_terminal() else "dark")
        super().__init__(ansi_color=self.look == "terminal")
        self.animation_level = "none"
        self.session = session
        self.units = units
        self.groups: tuple[Group, ...] = ()
        self.place = 0
        self.saying = ""
        self._typed: tuple[Row, str] | None = None
        self._debounce: Timer | None = None
        self._calculator: Newest[tuple[int, str, str, str]] = Newest(self._calculate, "answers")
        self._recorder: Newest[None] = Newest(lambda _: self._record(), "unsaved")
        session.listeners.append(self._text_changed)

    # --- the screen ------------------------------------------------------------------------

    def compose(self) -> ComposeResult:
        yield Static(id="head", markup=False)
        with Container(id="body"):
            with Container(id="work"):
                yield GroupList(id="groups")
                yield Form(id="form")
                yield Help(id="help")
            with Container(id="side"):
                yield Answers(self.session, self.units, id="answers")
        yield Static(id="keys", markup=False)
        yield Static(id="small", markup=False)

    async def on_mount(self) -> None:
        self.theme = {"dark": "textual-dark", "light": "textual-light"}.get(self.look, "ansi-dark")
        self._fit(self.size.width, self.size.height)
        await self._show_group(0)
        self._refresh_head()
        self.call_after_refresh(self._begin)

    def _begin(self) -> None:
        """After the first paint: ask for the answers, look for work left behind."""
        self._ask()
        self.set_interval(2.0, self._look_at_disk)
        self.offer_unsaved()

    def on_resize(self, event: events.Resize) -> None:
        self._fit(event.size.width, event.size.height)
        self._refresh_head()

    def _fit(self, width: int, height: int) -> None:
        small = width < SMALLEST[0] or height < SMALLEST[1]
        wide = width >= WIDE[0] and height >= WIDE[1]
        screen = self.screen_stack[0]
        screen.set_class(small, "too-small")
        screen.set_class(wide, "wide")
        screen.set_class(width >= BROAD[0] and height >= BROAD[1], "broad")
        self.query_one(Answers).full = wide
        self.query_one("#small", Static).update(Content(
            f"fillcalc needs a terminal of {SMALLEST[0]} x {SMALLEST[1]}.\n"
            f"This one is {width} x {height}.\nMake it larger, or use a smaller letter.\n"
            "Nothing is lost. Ctrl+Q quits."))

    def _refresh_head(self) -> None:
        table = self.session.table or {}
        title = shown(as_typed(table.get("title"))) or shown(self.session.name)
        saved = "saved" if self.session.saved else "not saved"
        if self.session.path is None:
            saved = "no file yet" if self.session.saved else "not saved, no file yet"
        right = f"{self._state_words()} · {saved} · {GAUGE} "
        wide = max(0, self.size.width - len(right) - 2)
        left = Content(f" {title}").truncate(wide, ellipsis=True)
        self.query_one("#head", Static).update(
            Content.assemble(left.stylize("bold"), " " * (wide - left.cell_length + 2), right))
        self._refresh_keys()

    def _state_words(self) -> str:
        state = "working" if self._typed else self.session.state
        if state in ("old", "none") and self.session.problems:
            number = len(self.session.problems)
            return f"ANSWERS OLD: {number} to mend" if state == "old" else f"{number} to mend"
        return {"now": "answers now", "working": "working…", "old": "answers old", "none": "working…"}[state]

    def _refresh_keys(self) -> None:
        if self.saying:
            words = Content(f" {self.saying}").truncate(max(1, self.size.width), ellipsis=True)
        else:
            hints = [("Esc", "menu, help", "menu")]
            hints += [(key_name(a.keys[0]), a.bar, a.name) for a in ACTIONS if a.bar]
            words = Content("")
            for key, said, name in hints:
                hint = Content.assemble("  ", (key, "bold"), f" {said}").stylize(f"@click=app.{name}", 2)
                if words.cell_length + hint.cell_length < self.size.width:
                    words += hint
        self.query_one("#keys", Static).update(words)

    def say(self, words: str) -> None:
        """A sentence in the bottom line, until the next one or a few seconds later."""
        self.saying = words
        self._refresh_keys()
        self.set_timer(6.0, lambda: self._unsay(words))

    def _unsay(self, words: str) -> None:
        if self.saying == words:
            self.saying = ""
            self._refresh_keys()

    # --- the form --------------------------------------------------------------------------

    def _values(self) -> dict[str, str]:
        table = self.session.table or {}
        return {row.path: as_typed(raw(table, row.path)) for group in self.groups for row in group.rows
                if not row.does}

    async def _show_group(self, place: int, path: str = "") -> None:
        """Show a group, with the focus on the field at the path, else on its first."""
        table = self.session.table
        self.groups = groups(table or {}, self.units)
        self.place = place % len(self.groups)
        form = self.query_one(Form)
        here = form.focused
        path = path or (here.row.path if here and here.row in self.groups[self.place].rows else "")
        changed = form.group != self.groups[self.place]
        await form.show(self.groups[self.place], self._values())
        self._judge()
        listed = self.query_one(GroupList)
        listed.titles = tuple(group.title for group in self.groups)
        listed.here = self.place
        if changed:
            field = next((f for f in form.fields.values() if f.row.path == path), None)
            field = field or next(iter(form.stops), None)
            if field is not None and field.entry is not None:
                field.entry.focus()
        self._refresh_help()

    def _judge(self) -> None:
        """Mark the fields that are wrong, and what stands in for those left empty."""
        if self.session.judged != self.session.number:
            return
        problems: dict[str, str] = {}
        for problem in self.session.problems:
            problems.setdefault(problem.path, problem_words(problem))
        form, listed = self.query_one(Form), self.query_one(GroupList)
        form.judge(problems, {path: value for path, (value, _) in self._assumed().items()})
        listed.wrong = frozenset(n for n, group in enumerate(self.groups)
                                 if any(row.path in problems for row in group.rows))

    def _assumed(self) -> dict[str, tuple[str, str]]:
        answered = self.session.answered
        if answered is None or answered.case is None:
            return {}
        return {a.path: (shown(a.value), shown(a.why)) for a in answered.case.assumptions}

    def _refresh_help(self) -> None:
        field = self.query_one(Form).focused
        if field is None:
            return
        assumed = None if field.value else self._assumed().get(field.row.path)
        self.query_one(Help).show(field.row.label, help_lines(field.row, assumed, self.units))

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        self.flush()
        self.session.leave()
        self._refresh_help()

    def on_edited(self, event: Edited) -> None:
        self.saying = ""
        if self._typed is not None and self._typed[0].path != event.row.path:
            self.flush()
        self._typed = (event.row, event.value)
        self._refresh_head()
        self.query_one(Answers).waiting = True
        if self._debounce is not None:
            self._debounce.stop()
        self._debounce = self.set_timer(DEBOUNCE_S, self.flush)

    def flush(self) -> None:
        """Put what was typed last into the text now."""
        if self._debounce is not None:
            self._debounce.stop()
            self._debounce = None
        if self._typed is not None:
            (row, value), self._typed = self._typed, None
            if self.session.table is None:
                self.say("The file cannot be read as it stands: mend it in an editor, or undo.")
            elif not self.session.put(row.path, value):
                self._after_text()

    async def on_pressed(self, event: Pressed) -> None:
        self.flush()
        path = event.row.path
        if event.row.does == "drop":
            self.session.drop(path)
            await self._show_group(self.place)
            return
        item = NEW_ITEMS[path]
        here = raw(self.session.table or {}, path)
        number = len(here) + 1 if isinstance(here, list) else 1
        self.session.put_many(path, {f"{path}.{number}.{key}": value for key, value in item.items()})
        await self._show_group(self.place, f"{path}.{number}.{next(iter(item))}")

    @work
    async def on_listed(self, event: Listed) -> None:
        offers = [(word, said_as(event.row, word)) for word in words_for(event.row)]
        word = await self.push_screen_wait(Pick(event.row.label, offers, event.now))
        field = self.query_one(Form).fields.get(event.row.path)
        if word and field is not None and field.value != word:
            field.show_value(word)
            self.on_edited(Edited(event.row, word))

    async def on_group_list_chosen(self, event: GroupList.Chosen) -> None:
        self.flush()
        await self._show_group(event.place)

    async def action_step(self, by: int) -> None:
        """The next field, in the next group after the last."""
        form = self.query_one(Form)
        stops = form.stops
        here = form.focused
        place = stops.index(here) + by if here in stops else 0
        if not 0 <= place < len(stops):
            self.flush()
            await self._show_group(self.place + by)
            stops = form.stops
            place = -1 if by < 0 else 0
        entry = stops[place].entry if stops else None
        if entry is not None:
            entry.focus()

    async def action_next_group(self) -> None:
        self.flush()
        await self._show_group(self.place + 1)

    async def action_previous_group(self) -> None:
        self.flush()
        await self._show_group(self.place - 1)

    async def go_to(self, path: str) -> None:
        """Show the field at a path, or the group that would hold it."""
        self.groups = groups(self.session.table or {}, self.units)
        for place, group in enumerate(self.groups):
            if any(row.path == path or row.path.startswith(path + ".") for row in group.rows):
                await self._show_group(place, path)
                field = next((f for f in self.query_one(Form).fields.values() if f.row.path == path), None)
                if field is not None and field.entry is not None:
                    field.entry.focus()
                return
        await self._show_group(self.place)

    # --- the answers -----------------------------------------------------------------------

    def _text_changed(self) -> None:
        self._ask()
        self._recorder.ask(None)
        self._after_text()

    def _after_text(self) -> None:
        answers = self.query_one(Answers)
        answers.waiting = self._typed is not None
        answers.refresh()
        self._refresh_head()

    def _ask(self) -> None:
        session = self.session
        self._calculator.ask((session.number, session.text, session.name, self.units))

    def _calculate(self, request: tuple[int, str, str, str]) -> None:
        """On the other thread."""
        number, text, name, units = request
        try:
            answered = work_out(number, text, name, units)
        except Exception as error:  # a fault of ours must not take the person's work down
            answered = Answered(number, text, failure=f"{type(error).__name__}: {error}")
        self.post_message(Arrived(answered))

    async def on_arrived(self, event: Arrived) -> None:
        if not self.session.take(event.answered):
            return
        if event.answered.failure:
            self.say(f"These inputs cannot be worked out: {shown(event.answered.failure)}")
        form = self.query_one(Form)
        if form.group is not None and groups(self.session.table or {}, self.units)[self.place] != form.group:
            await self._show_group(self.place)
        self._judge()
        self._refresh_help()
        self._after_text()

    # --- unsaved work ----------------------------------------------------------------------

    def _record(self) -> None:
        """On the other thread: unsaved work goes to disk."""
        try:
            self.session.keep_unsaved()
        except OSError as error:
            reason = error.strerror or str(error)
            with contextlib.suppress(RuntimeError):
                self.call_from_thread(self.say, f"Unsaved work cannot be kept on disk: {shown(reason)}")

    def _look_at_disk(self) -> None:
        if self.session.changed_on_disk() and not self.saying:
            self.say("The file has changed on disk since it was opened. Saving will ask first.")

    @work
    async def offer_unsaved(self) -> None:
        await files.offer_unsaved(self)

    async def take_session(self, session: Session, words: str = "") -> None:
        """Another case in the place of this one."""
        if self.session.desk is not None and session.desk is not self.session.desk:
            self.session.desk.clear()
        session.number = self.session.number + 1
        session.judged = 0
        session.listeners = [self._text_changed]
        self.session = session
        self.query_one(Answers).session = session
        self.query_one(Form).group = None
        self._text_changed()
        await self._show_group(0)
        if words:
            self.say(words)

    # --- the actions -----------------------------------------------------------------------

    @work
    async def action_menu(self) -> None:
        self.flush()
        name = await self.push_screen_wait(Menu())
        if name:
            await self.run_action(name)

    def action_find(self) -> None:
        self.flush()
        self.action_command_palette()

    async def action_undo(self) -> None:
        self.flush()
        await self._went("Undone", self.session.undo(), "Nothing to undo.")

    async def action_redo(self) -> None:
        self.flush()
        await self._went("Done again", self.session.redo(), "Nothing to do again.")

    async def _went(self, words: str, label: str | None, nothing: str) -> None:
        if label is None:
            self.say(nothing)
            return
        await self.go_to(label)
        self.query_one(Form).refresh_values(self._values())
        self.say(f"{words}: {shown(label)}")

    @work
    async def action_save(self) -> None:
        self.flush()
        await files.save(self)
        self._refresh_head()

    @work
    async def action_save_as(self) -> None:
        self.flush()
        await files.save_as(self)
        self._refresh_head()

    @work
    async def action_open(self) -> None:
        self.flush()
        await files.open_another(self)

    @work
    async def action_new(self) -> None:
        self.flush()
        await files.new(self)

    @work
    async def action_quit(self) -> None:  # type: ignore[override]
        self.flush()
        if await files.may_leave(self):
            self.exit(0)

    def action_copy(self) -> None:
        self.flush()
        files.copy_answers(self)

    async def action_units(self) -> None:
        self.flush()
        self.units = "us" if self.units == "metric" else "metric"
        self.query_one(Answers).units = self.units
        self.session.number += 1
        self._ask()
        await self._show_group(self.place)
        self.say(f"Answers in {'US' if self.units == 'us' else 'metric'} units. Inputs stay as you typed them.")

    def action_look(self) -> None:
        if self.no_color:
            self.say("NO_COLOR is set: no colours are used.")
            return
        self.look = LOOKS[(LOOKS.index(self.look) + 1) % len(LOOKS)]
        self.ansi_color = self.look == "terminal"
        self.theme = {"dark": "textual-dark", "light": "textual-light"}.get(self.look, "ansi-dark")
        self.say({"dark": "Dark colours.", "light": "Light colours.", "terminal": "The terminal's own colours."}
                 [self.look])

    def action_help_quit(self) -> None:
        self.say("Ctrl+Q quits; so does Esc, then Q.")

    def get_system_commands(self, screen: Screen[Any]) -> Iterable[SystemCommand]:
        for action in ACTIONS:
            if action.name != "find":
                method = getattr(self, f"action_{action.name}")
                keys = " or ".join((*map(key_name, action.keys), f"Esc {action.letter.upper()}"))
                yield SystemCommand(action.title, f"{action.help}  {keys}".strip(), method)
        for group in groups(self.session.table or {}, self.units):
            for row in group.rows:
                yield SystemCommand(f"{row.label}  ({group.title})", row.declared.help,
                                    lambda path=row.path: self.call_next(self.go_to, path))

    # --- the end ---------------------------------------------------------------------------

    def hang_up(self) -> None:
        """The terminal is gone: keep the work and end, touching the terminal no more."""
        if self._typed is not None:
            (row, value), self._typed = self._typed, None
            with contextlib.suppress(Exception):
                self.session.listeners.clear()
                self.session.put(row.path, value)
        with contextlib.suppress(OSError):
            self.session.keep_unsaved()
        os._exit(129)


def few_colours() -> bool:
    """Whether the terminal has sixteen colours or fewer."""
    if os.environ.get("COLORTERM", "").lower() in ("truecolor", "24bit"):
        return False
    term = os.environ.get("TERM", "").lower()
    return not any(mark in term for mark in ("256", "kitty", "direct", "alacritty", "ghostty", "wezterm"))


def light_terminal() -> bool:
    """Whether the terminal says that its background is light."""
    return os.environ.get("COLORFGBG", "").rpartition(";")[2] in ("7", "15")


def run(source: str | None, units: str = "metric") -> int:
    """Open the screen on a case file (or an empty case); the exit code."""
    desk = Desk()
    try:
        session = files.opened(Path(source), desk) if source else files.fresh(desk)
    except (OSError, ValueError) as error:
        print(f"{shown(str(source))}: {files.reason(error)}", file=sys.stderr)
        return 1
    app = Fillcalc(session, units)
    if hasattr(signal, "SIGHUP"):
        signal.signal(signal.SIGHUP, lambda *_: app.hang_up())
    signal.signal(signal.SIGTERM, lambda *_: app.hang_up())
    code = app.run()
    app.end()
    return code or 0


__all__ = ["Field", "Fillcalc", "LISTS", "run"]
