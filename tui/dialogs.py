"""Small questions over the screen: the menu, a line to type, a choice among a few answers."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from fillcalc.shown import shown
from tui.actions import ACTIONS, BY_LETTER, key_name


class Menu(ModalScreen[str]):
    """Everything that can be done, each with its letter; Esc goes back."""

    BINDINGS = [Binding("escape,f1", "dismiss('')", show=False)]

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Static(Content.styled("Press a letter, or choose with the arrows and Enter", "bold"))
            yield OptionList(*(Option(self._line(n), id=a.name) for n, a in enumerate(ACTIONS)), compact=True)
            yield Static("Alt with the letter does the same at once. Esc goes back.\n"
                         "↑ ↓ Tab Enter: next field · ← → or letters: change a choice", markup=False)

    def _line(self, place: int) -> Content:
        action = ACTIONS[place]
        keys = " ".join(key_name(k) for k in action.keys)
        return Content.assemble((f" {action.letter.upper()} ", "bold"), f" {action.title:<33}{keys:<12}")

    def on_key(self, event: events.Key) -> None:
        action = BY_LETTER.get((event.character or "").lower())
        if action is not None:
            event.stop()
            self.dismiss(action.name)

    @on(OptionList.OptionSelected)
    def _chosen(self, event: OptionList.OptionSelected) -> None:
        self.dismiss(event.option.id or "")


class Ask(ModalScreen[str]):
    """One line to type, with a list to choose from below it; "" when left with Esc."""

    BINDINGS = [Binding("escape", "dismiss('')", show=False), Binding("down", "app.focus_next", show=False)]

    def __init__(self, title: str, value: str = "", offers: Sequence[tuple[str, str]] = (), wrong: str = "") -> None:
        super().__init__()
        self.question = title
        self.value = value
        self.offers = offers
        self.wrong = wrong

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Static(Content.styled(self.question, "bold"))
            yield Input(self.value, compact=True, select_on_focus=False)
            if self.wrong:
                yield Static(Content(f"! {self.wrong}"), classes="problem")
            if self.offers:
                yield OptionList(*(Option(Content(shown(words)), id=str(n))
                                   for n, (_, words) in enumerate(self.offers)), compact=True)
            yield Static("Enter takes it. Esc goes back.", markup=False)

    def on_mount(self) -> None:
        line = self.query_one(Input)
        line.cursor_blink = False
        line.focus()

    @on(Input.Submitted)
    def _typed(self, event: Input.Submitted) -> None:
        self.dismiss(event.value.strip())

    @on(OptionList.OptionSelected)
    def _chosen(self, event: OptionList.OptionSelected) -> None:
        self.dismiss(self.offers[int(event.option.id or 0)][0])


class Pick(ModalScreen[str]):
    """A question with a few answers, each (its word, what it says); a letter picks the one that starts with it."""

    BINDINGS = [Binding("escape", "dismiss('')", show=False)]

    def __init__(self, question: str, offers: Sequence[tuple[str, str]], now: str = "") -> None:
        super().__init__()
        self.question = question
        self.offers = offers
        self.now = now

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Static(Content(self.question), classes="question")
            yield OptionList(*(Option(Content(f" {words} "), id=word) for word, words in self.offers), compact=True)
            yield Static("A letter, or the arrows and Enter. Esc goes back.", markup=False)

    def on_mount(self) -> None:
        places = [word for word, _ in self.offers]
        options = self.query_one(OptionList)
        options.highlighted = places.index(self.now) if self.now in places else 0

    def on_key(self, event: events.Key) -> None:
        letter = (event.character or "").lower()
        found = [word for word, words in self.offers if letter.strip() and words.lower().startswith(letter)]
        if found:
            event.stop()
            if len(found) == 1:
                self.dismiss(found[0])
            else:
                self._next(found)

    def _next(self, found: Sequence[str]) -> None:
        options = self.query_one(OptionList)
        places = [n for n, (word, _) in enumerate(self.offers) if word in found]
        here = options.highlighted if options.highlighted is not None else -1
        options.highlighted = next((n for n in places if n > here), places[0])

    @on(OptionList.OptionSelected)
    def _chosen(self, event: OptionList.OptionSelected) -> None:
        self.dismiss(event.option.id or "")


class Pages(ModalScreen[str]):
    """A long text to read and scroll; Esc goes back."""

    BINDINGS = [Binding("escape,q,enter", "dismiss('')", show=False)]

    def __init__(self, text: str) -> None:
        super().__init__()
        self.text = text

    def compose(self) -> ComposeResult:
        with VerticalScroll(classes="page"):
            yield Static(Content(shown(self.text, len(self.text), keep_lines=True)))
        yield Static(Content(" Arrows and PgDn scroll. Ctrl+T copies it. Esc goes back.".ljust(400)), classes="foot")

    def on_mount(self) -> None:
        self.query_one(VerticalScroll).focus()
