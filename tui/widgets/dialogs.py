"""Small questions over the screen: the menu, a line to type, a choice among a few answers."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Input, OptionList, Static
from textual.widgets.input import Selection
from textual.widgets.option_list import Option

from fillcalc.units.printable import shown
from tui.state.actions import (
    BY_ALT,
    BY_KEY,
    BY_LETTER,
    BY_NAME,
    GROUP_WORDS,
    GROUPS,
    Action,
    key_name,
    of_group,
)
from tui.widgets.line import Line
from tui.widgets.listing import Listing
from tui.widgets.question import Question
from tui.widgets.typed_word import TypedWord, begun


class Menu(Question[str]):
    """Five groups of actions, and the places; a letter opens a group, and a letter in it does one. Esc goes back."""

    BINDINGS = [
        Binding("escape,f1,left", "back", show=False),
        Binding("right", "app.simulate_key('enter')", show=False),
    ]

    def __init__(self, places: Sequence[str], group: str = "") -> None:
        super().__init__()
        self.places = places
        self.group = group
        """The letter of the group that is open; empty while the groups themselves are listed."""

    def compose(self) -> ComposeResult:
        with Vertical(classes="box menu"):
            yield Static("", classes="menu-head", markup=False)
            yield Listing(compact=True)
            yield Static("", classes="menu-foot", markup=False)

    def on_mount(self) -> None:
        self._fill()

    def _fill(self) -> None:
        listed = self.query_one(Listing)
        listed.clear_options()
        if self.group:
            head = f"{GROUPS[self.group]}: press a letter, or the arrows and Enter. Esc goes back to the groups."
            listed.add_options(Option(_action_line(one), id=one.name) for one in of_group(self.group))
            foot = "A key on the right does the same at once."
        else:
            head = "Press a letter or a digit, or the arrows and Enter. Esc goes back."
            listed.add_options([*(Option(_group_line(letter), id=letter) for letter in GROUPS), None,
                                *(Option(_place_line(n, name), id=f"place({n})")
                                  for n, name in enumerate(self.places, 1))])
            foot = "Alt with a digit, or with E, S, C or L, does the same at once.\n↑ ↓ Tab Enter: next field. ← → " \
                   "or a letter: change a choice."
        self.query_one(".menu-head", Static).update(Content.styled(head, "bold"))
        self.query_one(".menu-foot", Static).update(Content(foot))
        listed.focus()
        listed.highlighted = 0

    def _open(self, group: str) -> None:
        self.group = group
        self._fill()

    def action_back(self) -> None:
        if self.group:
            self._open("")
        else:
            self.dismiss("")

    def on_key(self, event: events.Key) -> None:
        letter = (event.character or "").lower()
        if event.key in BY_KEY:  # the keys that stand beside the actions
            event.stop()
            self.dismiss(BY_KEY[event.key].call)
        elif self.group:
            found = BY_LETTER.get(self.group + letter)
            if letter and found is not None:
                event.stop()
                self.dismiss(found.call)
        elif letter in GROUPS:
            event.stop()
            self._open(letter)
        elif letter.isdigit() and 1 <= int(letter) <= len(self.places):
            event.stop()
            self.dismiss(f"place({letter})")
        elif letter in BY_ALT:
            event.stop()
            self.dismiss(BY_ALT[letter].call)

    @on(OptionList.OptionSelected)
    def _chosen(self, event: OptionList.OptionSelected) -> None:
        word = event.option.id or ""
        if self.group:
            self.dismiss(BY_NAME[word].call)
        elif word in GROUPS:
            self._open(word)
        else:
            self.dismiss(word)


def _group_line(letter: str) -> Content:
    return Content.assemble((f" {letter.upper()} ", "bold"), f"{GROUPS[letter]:<10}{GROUP_WORDS[letter]}")


def _place_line(number: int, name: str) -> Content:
    return Content.assemble((f" {number} ", "bold"), name)


def _action_line(action: Action) -> Content:
    keys = "  ".join(key_name(key) for key in action.keys[:2])
    return Content.assemble((f" {action.letter[-1].upper()} ", "bold"), f"{action.title:<28}{keys}")


class Ask(Question[str]):
    """One line to type, with a list to choose from below it; "" when left with Esc."""

    BINDINGS = [Binding("escape", "dismiss('')", show=False), Binding("down", "app.focus_next", show=False)]
    emptied = ""
    """What Enter on an empty line stands for."""
    replaced = True
    """Whether typing replaces what stands in the line at first; else it goes on behind it."""

    def __init__(self, title: str, value: str = "", offers: Sequence[tuple[str, str]] = (), wrong: str = "",
                 hint: str = "", note: str = "") -> None:
        super().__init__()
        self.note = note
        """What was done to the line, which stays as it is: no fault of what was typed."""
        self.question = title
        self.value = value
        self.offers = offers
        self.wrong = wrong
        self.hint = hint

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Static(Content.styled(self.question, "bold"))
            yield Line(self.value)
            if self.note:
                yield Static(Content(f"· {self.note}"), classes="note")
            if self.wrong:
                yield Static(Content(f"! {self.wrong}"), classes="problem")
            if self.offers:
                yield Listing(*(Option(Content(shown(words)), id=str(n))
                                   for n, (_, words) in enumerate(self.offers)), compact=True)
            yield Static(self._below(), classes="below", markup=False)

    def _below(self) -> str:
        return f"{self.hint}\nEnter takes it. Esc goes back.".lstrip("\n")

    def tell(self, hint: str) -> None:
        """Put another hint below the line."""
        self.hint = hint
        self.query_one(".below", Static).update(self._below())

    def on_mount(self) -> None:
        """What is offered is chosen, so that typing replaces it; what was wrong is there to be corrected."""
        line = self.query_one(Line)
        line.focus()
        if self.replaced and not self.wrong and not self.note:
            line.selection = Selection(0, len(line.value))

    @on(Input.Submitted)
    def _typed(self, event: Input.Submitted) -> None:
        self.dismiss(self.taken(event.value))

    def taken(self, typed: str) -> str:
        """What Enter takes for what was typed."""
        return typed.strip() or self.emptied

    @on(OptionList.OptionSelected)
    def _chosen(self, event: OptionList.OptionSelected) -> None:
        self.dismiss(self.offers[int(event.option.id or 0)][0])


class AskFile(Ask):
    """A path to type, or a few letters of the name of a file that is offered: they narrow the list, Enter takes its
    first, which is marked."""

    @on(Input.Changed)
    def _changed(self, event: Input.Changed) -> None:
        self._narrow(event.value)

    def _narrow(self, typed: str) -> None:
        """List what the letters find, the first of it marked; everything where they find nothing."""
        found, listed = narrowed(self.offers, typed), self.query_one(Listing)
        numbers = [self.offers.index(one) for one in found or self.offers]
        if [option.id for option in listed.options] != list(map(str, numbers)):
            listed.clear_options()
            listed.add_options(Option(Content(shown(self.offers[n][1])), id=str(n)) for n in numbers)
        listed.highlighted = 0 if found else None

    def taken(self, typed: str) -> str:
        found = narrowed(self.offers, typed)
        return found[0][0] if found else super().taken(typed)


def narrowed(offers: Sequence[tuple[str, str]], typed: str) -> list[tuple[str, str]]:
    """The offers whose words have all that was typed, first those of just this name, then those that begin with it;
    none for a path or where nothing was typed."""
    typed = typed.casefold().strip()
    if not typed or typed.startswith(("~", ".")) or "/" in typed or "\\" in typed:
        return []
    found = [one for one in offers if all(part in one[1].casefold() for part in typed.split())]
    return sorted(found, key=lambda one: _distance(one[1].casefold(), typed))


def _distance(label: str, typed: str) -> int:
    """0 where a label, or a word of it, is what was typed, with or without its ending; 1 where it begins with it."""
    names = (label, *label.split())
    if typed in names or typed in [name.rpartition(".")[0] for name in names]:
        return 0
    return 1 if any(name.startswith(typed) for name in names) else 2


class Pick(Question[str]):
    """A question with a few answers, each (its word, what it says); letters pick the only one that begins with them."""

    BINDINGS = [Binding("escape", "dismiss('')", show=False)]

    def __init__(self, question: str, offers: Sequence[tuple[str, str]], now: str = "") -> None:
        super().__init__()
        self.question = question
        self.offers = offers
        self.now = now
        self.moved = False
        """Whether letters have chosen among those that begin with them."""
        self.typed = TypedWord()

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Static(Content(self.question), classes="question")
            yield Listing(*(Option(Content(f" {words} "), id=word) for word, words in self.offers), compact=True)
            yield Static("A letter, or the arrows and Enter. Esc goes back.", classes="keys", markup=False)

    def on_mount(self) -> None:
        places = [word for word, _ in self.offers]
        options = self.query_one(Listing)
        options.highlighted = places.index(self.now) if self.now in places else 0

    def on_key(self, event: events.Key) -> None:
        if not self.typed.take(event):
            return
        options, found = self.query_one(Listing), begun(self.offers, self.typed.letters)
        here = options.highlighted if self.moved or self.now else None
        word = self.typed.find(self.offers, "" if here is None else self.offers[here][0])
        if len(found) == 1:
            self.dismiss(word)
        elif word:
            self.moved = True
            options.highlighted = [each for each, _ in self.offers].index(word)
            self._say(f"{len(found)} begin so: Enter takes this one, the letter again the next. Esc goes back.")
        else:
            self._in_vain()

    def _in_vain(self) -> None:
        self._say(f'Nothing begins with "{shown(self.typed.letters)}". Esc goes back.')

    def _say(self, words: str) -> None:
        self.query_one(".keys", Static).update(Content(words))

    @on(OptionList.OptionSelected)
    def _chosen(self, event: OptionList.OptionSelected) -> None:
        if self.typed.ended_in_vain():
            self._in_vain()
        else:
            self.dismiss(event.option.id or "")


class Pages(Question[str]):
    """A long text to read and scroll; Esc goes back."""

    BINDINGS = [Binding("escape,q,enter", "dismiss('')", show=False)]

    def __init__(self, text: str, visit: bool = False, quote: str = "") -> None:
        super().__init__()
        self.text = text
        self.visit = visit
        """Whether this is the report on a visit, which is copied as it stands here."""
        self.quote = quote
        """The quote of that visit; "" for that of the case."""

    def compose(self) -> ComposeResult:
        with VerticalScroll(classes="page"):
            yield Static(Content(shown(self.text, len(self.text), keep_lines=True)))
        words = "Arrows and PgDn scroll. Alt+T copies the report. Esc goes back."
        yield Static(Content(words), classes="foot")

    def on_mount(self) -> None:
        self.query_one(VerticalScroll).focus()


class Marks(Listing):
    """A list whose lines are marked one by one; the screen around it knows which."""

    BINDINGS = [Binding("space", "screen.mark", show=False), Binding("enter", "screen.take", show=False)]


class Several(Question[list[str]]):
    """A list to choose several from: space marks, Enter takes them; an empty list when left with Esc."""

    BINDINGS = [Binding("escape", "leave", show=False)]

    def __init__(self, question: str, offers: Sequence[tuple[str, str]], chosen: Sequence[str]) -> None:
        super().__init__()
        self.question, self.offers, self.marked = question, offers, set(chosen)

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Static(Content.styled(self.question, "bold"))
            yield Marks(*map(self._line, range(len(self.offers))), compact=True)
            yield Static("Space marks one, Enter takes those marked. Esc goes back.", markup=False)

    def on_mount(self) -> None:
        self.query_one(Listing).highlighted = 0

    def _line(self, index: int) -> Content:
        word, words = self.offers[index]
        return Content(f" [{'x' if word in self.marked else ' '}] {words}")

    def action_leave(self) -> None:
        self.dismiss([])

    def action_mark(self) -> None:
        index = self.query_one(Listing).highlighted
        if index is not None:
            self.marked ^= {self.offers[index][0]}
            self.query_one(Listing).replace_option_prompt_at_index(index, self._line(index))

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        self.action_mark()

    def action_take(self) -> None:
        self.dismiss([word for word, _ in self.offers if word in self.marked])
