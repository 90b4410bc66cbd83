"""The screen: the case on the left, its answers always in sight, everything from the keyboard."""

from __future__ import annotations

import contextlib
import os
import signal
import sys
from collections.abc import Iterable
from dataclasses import replace
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
from tui.case_form import CaseForm
from tui.form import Entry
from tui.head import Foot, Head
from tui.inputs import groups
from tui.session import Answered, Request, Session, other_air, with_ranges, work_out
from tui.unsaved import Desk

SMALLEST = (80, 24)
WIDE = (120, 36)
BROAD = (180, 40)
PAINT_S = 0.05
"""What the other threads leave to the screen after an answer, to paint it."""
SWITCH_S = 0.0005
"""How long another thread may hold the interpreter while the screen waits."""
LOOKS = {"dark": "Dark colours.", "light": "Light colours.", "terminal": "The terminal's own colours."}
THEMES = {"dark": "textual-dark", "light": "textual-light", "terminal": "ansi-dark"}
OVER_THE_CASE = {"step", "enter", "menu", *(a.name for a in ACTIONS if a.name not in ("quit", "copy", "look", "find"))}
"""What is done only while no question stands over the case."""
RANGES_WAIT_S = 0.25
"""Low, middle and high are asked for when nothing has changed for so long."""


class Arrived(Message):
    """Answers came from another thread."""

    def __init__(self, answered: Answered) -> None:
        super().__init__()
        self.answered = answered


class OtherAir(Message):
    """The comparison for the charts came from another thread."""

    def __init__(self, number: int, estimate: Any) -> None:
        super().__init__()
        self.number = number
        self.estimate = estimate


class Fillcalc(App[int]):
    """The whole screen."""

    TITLE = "fillcalc"
    CSS_PATH = "theme.tcss"
    COMMAND_PALETTE_BINDING = "ctrl+p"
    BINDINGS = [
        Binding("escape,f1", "menu", "Menu", show=False),
        Binding("down,tab", "step(1)", "Next field", show=False, priority=True),
        Binding("up,shift+tab", "step(-1)", "Field before", show=False, priority=True),
        Binding("enter", "enter", "Next field", show=False, priority=True),
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
        self._calculator: Newest[Request] = Newest(self._work_out, "answers")
        self._ranger: Newest[Request] = Newest(self._work_out_ranges, "ranges")
        self._recorder: Newest[None] = Newest(lambda _: self._record(), "unsaved")
        self._later: Timer | None = None
        self._chart_loaded = False
        self.chart_place = 0
        self.letters_only = False
        self.ranges_wait_s = RANGES_WAIT_S
        session.listeners.append(self._text_changed)

    # --- the screen ------------------------------------------------------------------------

    def compose(self) -> ComposeResult:
        yield Head(id="head", markup=False)
        with Container(id="body"):
            yield CaseForm(self.session, self.units, id="work")
            with Container(id="side"):
                yield Answers(self.session, self.units, id="answers")
        yield Foot(id="keys", markup=False)
        yield Static(id="small", markup=False)

    @property
    def case_form(self) -> CaseForm:
        return self.screen_stack[0].query_one(CaseForm)

    @property
    def answers(self) -> Answers:
        return self.screen_stack[0].query_one(Answers)

    @property
    def foot(self) -> Foot:
        return self.screen_stack[0].query_one(Foot)

    async def on_mount(self) -> None:
        self.theme = THEMES[self.look]
        self._fit(self.size.width, self.size.height)
        await self.case_form.show(0)
        self.refresh_head()
        self.call_after_refresh(self._begin)

    def _begin(self) -> None:
        """After the first paint: ask for the answers, look for work left behind."""
        self._ask()
        self.set_interval(2.0, self._look_at_disk)
        self.offer_unsaved()

    def on_resize(self, event: events.Resize) -> None:
        self._fit(event.size.width, event.size.height)
        self.refresh_head()
        self.call_after_refresh(self.draw_charts)

    def _fit(self, width: int, height: int) -> None:
        screen = self.screen_stack[0]
        wide = width >= WIDE[0] and height >= WIDE[1]
        screen.set_class(width < SMALLEST[0] or height < SMALLEST[1], "too-small")
        screen.set_class(wide, "wide")
        screen.set_class(width >= BROAD[0] and height >= BROAD[1], "broad")
        self.answers.full = wide
        screen.query_one("#small", Static).update(Content(
            f"fillcalc needs a terminal of {SMALLEST[0]} x {SMALLEST[1]}.\n"
            f"This one is {width} x {height}.\nMake it larger, or use a smaller letter.\n"
            "Nothing is lost. Ctrl+Q quits."))

    def refresh_head(self) -> None:
        self.screen_stack[0].query_one(Head).show(self.session, self.case_form.typing)
        self.foot.fill()

    def say(self, words: str) -> None:
        """A sentence in the last line, until the next one or a few seconds later."""
        self.foot.say(words)
        for foot in self.screen.query(".foot").results(Static):
            foot.update(Content(f" {words}".ljust(400)))

    # --- the case and its answers ----------------------------------------------------------

    def on_case_form_touched(self) -> None:
        self.foot.unsay()
        self._show_state()

    def on_case_form_refused(self, event: CaseForm.Refused) -> None:
        self.say(event.words)
        self.case_form.refresh_values()

    def _show_state(self) -> None:
        self.answers.waiting = self.case_form.typing
        self.answers.refresh()
        self.refresh_head()
        for charts in self.screen_stack[0].query("#charts"):
            charts.mark_old(self.answers_old)  # type: ignore[attr-defined]

    def _text_changed(self) -> None:
        self._ask()
        self._recorder.ask(None)
        self._show_state()

    @property
    def settled(self) -> bool:
        """Nothing is being typed, read or worked out, but for the ranges."""
        return not self.case_form.typing and self.session.judged == self.session.number

    def _ask(self) -> None:
        request = Request(self.session.number, self.session.text, self.session.name, self.units)
        self._calculator.ask(request)
        if self._later is not None:
            self._later.stop()
        self._later = self.set_timer(self.ranges_wait_s, lambda: self._ranger.ask(request))

    def _work(self, how: Any, request: Request) -> Answered | None:
        """On another thread."""
        try:
            answered = how(request)
        except Exception as error:  # a fault of ours must not take the person's work down
            answered = Answered(request.number, request.text, failure=f"{type(error).__name__}: {error}")
        if answered is not None:
            self.post_message(Arrived(answered))
        return answered

    def _work_out_ranges(self, request: Request) -> None:
        self._work(with_ranges, request)

    def _work_out(self, request: Request) -> None:
        """On another thread: the answers as written; then, unless overtaken, what the charts want beside them."""
        answered = self._work(work_out, request)
        if answered is None or answered.estimate is None or self._calculator.overtaken_within(PAINT_S):
            return
        with contextlib.suppress(ArithmeticError, ValueError):
            self.post_message(OtherAir(*other_air(answered)))
        if not self._chart_loaded:
            import tui.chart  # noqa: F401  a fifth of a second, off the screen's thread

            self._chart_loaded = True
            self.call_later(self._mount_charts)

    async def _mount_charts(self) -> None:
        from tui.chart import Charts

        await self.screen_stack[0].query_one("#side").mount(Charts(id="charts"))
        self.call_after_refresh(self.draw_charts)

    def on_other_air(self, event: OtherAir) -> None:
        if event.number == self.session.number:
            self.session.other = (event.number, event.estimate)
            self.call_after_refresh(self.draw_charts)

    def subject(self) -> Any:
        """What the charts are made of; None without answers."""
        from tui.chart_data import Subject

        session = self.session
        answered = session.answered
        if answered is None or answered.case is None or answered.estimate is None:
            return None
        estimate = answered.estimate
        if session.ranged is not None and session.ranged.estimate is not None and not estimate.stages:
            ranged = session.ranged.estimate
            estimate = replace(estimate, stages=ranged.stages, visit=ranged.visit, matters=ranged.matters)
        other = session.other[1] if session.other is not None and session.other[0] == answered.number else None
        return Subject(answered.case, estimate, other, self.units)

    @property
    def answers_old(self) -> bool:
        return self.case_form.typing or self.session.state != "now"

    def draw_charts(self) -> None:
        """Draw the charts that are in sight."""
        if self._chart_loaded and self.screen_stack[0].has_class("wide"):
            subject = self.subject()
            found = self.screen_stack[0].query("#charts")
            if subject is not None and found:
                found.first().draw(subject, self.answers_old)  # type: ignore[attr-defined]

    async def on_arrived(self, event: Arrived) -> None:
        if not self.session.take(event.answered):
            return
        kept = self.session.kept
        if event.answered.ranged and kept is not None and kept.number == event.answered.number:
            self.session.keep()
        if event.answered.failure:
            self.say(f"These inputs cannot be worked out: {shown(event.answered.failure)}")
        await self.case_form.keep_up()
        self._show_state()
        self.call_after_refresh(self.draw_charts)

    async def take_session(self, session: Session, words: str = "") -> None:
        """Another case in the place of this one."""
        if self.session.desk is not None and session.desk is not self.session.desk:
            self.session.desk.clear()
        session.number = self.session.number + 1
        session.judged = 0
        session.kept = self.session.kept
        session.listeners = [self._text_changed]
        self.session = session
        self.answers.session = session
        await self.case_form.take(session)
        self._text_changed()
        if words:
            self.say(words)

    # --- unsaved work ----------------------------------------------------------------------

    def _record(self) -> None:
        """On another thread: unsaved work goes to disk."""
        try:
            self.session.keep_unsaved()
        except OSError as error:
            reason = error.strerror or str(error)
            with contextlib.suppress(RuntimeError):
                self.call_from_thread(self.say, f"Unsaved work cannot be kept on disk: {shown(reason)}")

    def _look_at_disk(self) -> None:
        if self.session.changed_on_disk() and not self.foot.saying:
            self.say("The file has changed on disk since it was opened. Saving will ask first.")

    @work
    async def offer_unsaved(self) -> None:
        await files.offer_unsaved(self)

    # --- the actions -----------------------------------------------------------------------

    @work
    async def action_menu(self) -> None:
        from tui.dialogs import Menu

        await self.case_form.catch_up()
        name = await self.push_screen_wait(Menu())
        if name:
            await self.run_action(name)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Over a question only its own keys count, and those that harm nothing."""
        if action == "enter" and not isinstance(self.focused, Entry):
            return False
        if action in OVER_THE_CASE and len(self.screen_stack) > 1:
            return False
        return super().check_action(action, parameters)

    async def action_enter(self) -> None:
        await self.case_form.step(1)

    async def action_step(self, by: int) -> None:
        await self.case_form.step(by)

    async def action_next_group(self) -> None:
        await self.case_form.turn(1)

    async def action_previous_group(self) -> None:
        await self.case_form.turn(-1)

    async def action_find(self) -> None:
        await self.case_form.catch_up()
        self.action_command_palette()

    async def action_undo(self) -> None:
        await self.case_form.catch_up()
        await self._went("Undone", self.session.undo(), "Nothing to undo.")

    async def action_redo(self) -> None:
        await self.case_form.catch_up()
        await self._went("Done again", self.session.redo(), "Nothing to do again.")

    async def _went(self, words: str, label: str | None, nothing: str) -> None:
        if label is None:
            self.say(nothing)
            return
        await self.case_form.go_to(label)
        self.case_form.refresh_values()
        self.say(f"{words}: {shown(label)}")

    @work
    async def action_save(self) -> None:
        await self.case_form.catch_up()
        await files.save(self)
        self.refresh_head()

    @work
    async def action_save_as(self) -> None:
        await self.case_form.catch_up()
        await files.save_as(self)
        self.refresh_head()

    @work
    async def action_open(self) -> None:
        await self.case_form.catch_up()
        await files.open_another(self)

    @work
    async def action_new(self) -> None:
        await self.case_form.catch_up()
        await files.new(self)

    @work
    async def action_quit(self) -> None:  # type: ignore[override]
        await self.case_form.catch_up()
        if await files.may_leave(self):
            self.exit(0)

    @work
    async def action_report(self) -> None:
        await self.case_form.catch_up()
        await files.read_report(self)

    async def action_copy(self) -> None:
        await self.case_form.catch_up()
        files.copy_answers(self)

    async def action_units(self) -> None:
        await self.case_form.catch_up()
        self.units = "us" if self.units == "metric" else "metric"
        self.answers.units = self.case_form.units = self.units
        self.session.number += 1
        self._ask()
        await self.case_form.show(self.case_form.place)
        self.say(f"Answers in {'US' if self.units == 'us' else 'metric'} units. Inputs stay as you typed them.")

    async def action_keep(self) -> None:
        """Hold on to the present answers."""
        await self.case_form.catch_up()
        if self.session.state != "now":
            self.say("Wait until the answers belong to what is typed, then keep them.")
        elif self.session.keep():
            self._keeping()
            self.say("Kept. Change something and look at the difference. Esc W lets go.")

    def action_let_go(self) -> None:
        self.session.kept = None
        self._keeping()
        self.say("The kept answers are gone; the case is as it was.")

    def _keeping(self) -> None:
        self.screen_stack[0].set_class(self.session.kept is not None, "keeping")
        self._show_state()

    @work
    async def action_compare(self) -> None:
        await self.case_form.catch_up()
        await files.read_comparison(self)

    @work
    async def action_reading(self) -> None:
        from tui.reading_entry import enter

        await self.case_form.catch_up()
        await enter(self)

    @work
    async def action_hose(self) -> None:
        from tui.van import take

        await self.case_form.catch_up()
        await take(self, "hose")

    @work
    async def action_pump(self) -> None:
        from tui.van import take

        await self.case_form.catch_up()
        await take(self, "pump")

    @work
    async def action_visit(self) -> None:
        from tui.day import quote

        await self.case_form.catch_up()
        await quote(self)

    async def action_chart(self) -> None:
        """The next chart; on a small screen, the charts over the whole of it."""
        await self.case_form.catch_up()
        subject = self.subject()
        if subject is None or not self._chart_loaded:
            self.say("There is nothing to draw yet.")
        elif self.screen_stack[0].has_class("wide"):
            self.chart_place += 1
            charts = self.screen_stack[0].query_one("#charts")
            charts.place = self.chart_place  # type: ignore[attr-defined]
            self.draw_charts()
        else:
            from tui.chart import ChartScreen

            self.push_screen(ChartScreen(subject, self.answers_old, self.chart_place, self.letters_only))

    def action_marks(self) -> None:
        self.letters_only = not self.letters_only
        for charts in self.screen_stack[0].query("#charts"):
            charts.letters_only = self.letters_only  # type: ignore[attr-defined]
            for panel in charts.children:
                panel.shown = None  # type: ignore[attr-defined]
        self.draw_charts()
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

    def get_system_commands(self, screen: Screen[Any]) -> Iterable[SystemCommand]:
        for action in ACTIONS:
            if action.name != "find":
                method = getattr(self, f"action_{action.name}")
                keys = " or ".join((*map(key_name, action.keys), f"Esc {action.letter.upper()}"))
                yield SystemCommand(action.title, f"{action.help}  {keys}".strip(), method)
        for group in groups(self.session.table or {}, self.units):
            for row in group.rows:
                if row.does != "head":
                    yield SystemCommand(f"{row.label}  ({group.title})", row.declared.help,
                                        lambda path=row.path: self.call_next(self.case_form.go_to, path))

    # --- the end ---------------------------------------------------------------------------

    def end(self) -> None:
        """Finish writing unsaved work; answers still being worked out are not waited for."""
        self._recorder.end()

    def hang_up(self) -> None:
        """The terminal is gone: keep the work and end, touching the terminal no more."""
        with contextlib.suppress(Exception):
            self.session.listeners.clear()
            self.case_form.flush()
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
    """Open the screen on a case file (or on a new case); the exit code."""
    desk = Desk()
    try:
        session = files.opened(Path(source), desk) if source else files.fresh(desk)
    except (OSError, ValueError) as error:
        print(f"{shown(str(source))}: {files.reason(error)}", file=sys.stderr)
        return 1
    app = Fillcalc(session, units)
    for name in ("SIGHUP", "SIGTERM"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), lambda *_: app.hang_up())
    sys.setswitchinterval(SWITCH_S)
    code = app.run()
    app.end()
    return code or 0
