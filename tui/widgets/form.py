"""The form: one group of inputs at a time, a row for each, with the words of an error under its field."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from time import monotonic

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.reactive import reactive
from textual.style import Style
from textual.widget import Widget
from textual.widgets import Input as TextInput
from textual.widgets import Static
from textual.widgets.input import Selection

from tui.state.inputs import Group, Row
from tui.state.range_text import range_mark
from tui.widgets.line import Line
from tui.widgets.listing import Reversible
from tui.widgets.typed_word import TypedWord

MOST_TYPED = 500
"""Characters that a field takes; a paste is cut there."""
NEEDED = "needed"
"""How the words for what must be given begin; they stand in the empty field itself."""
LABEL, NARROWEST = 19, 36
"""Columns of a label, and of a whole row where the form is narrowest."""


class Edited(Message):
    """A person changed one input; an empty text takes it out."""

    def __init__(self, row: Row, value: str) -> None:
        super().__init__()
        self.row = row
        self.value = value


class Pressed(Message):
    """A row that does something was pressed; `typed` is the digit that did it."""

    def __init__(self, row: Row, typed: str = "") -> None:
        super().__init__()
        self.row = row
        self.typed = typed


class Listed(Message):
    """A person wants the whole list of words for a choice."""

    def __init__(self, row: Row, now: str) -> None:
        super().__init__()
        self.row = row
        self.now = now


class Unknown(Message):
    """Text was typed at a choice, and no word of it begins so."""

    def __init__(self, row: Row, typed: str) -> None:
        super().__init__()
        self.row = row
        self.typed = typed


class Entry(Line):
    """The field of an input: takes a decimal comma, shows what is typed as it is typed."""

    def __init__(self, row: Row, value: str) -> None:
        super().__init__(value, max_length=MOST_TYPED)
        self.row = row
        self.seen = value
        """What the case has of it, as far as this field knows."""

    def choose(self, part: Selection | None = None) -> None:
        """Choose all of it, or this part, so that typing replaces it."""
        self.selection = part or Selection(0, len(self.value))


class Choice(Widget, can_focus=True):
    """One word of a closed list: left and right change it, Enter lists them all, a letter finds one."""

    BINDINGS = [
        Binding("left", "turn(-1)", show=False),
        Binding("right,space", "turn(1)", show=False),
        Binding("enter", "list", show=False),
        Binding("delete,backspace", "clear", show=False),
    ]

    COMPONENT_CLASSES = {"choice--assumed"}

    value: reactive[str] = reactive("")
    placeholder: reactive[str] = reactive("")
    """The word that is assumed while nothing is given."""

    def __init__(self, row: Row, value: str) -> None:
        super().__init__()
        self.row = row
        self.words = words_for(row)
        self._typed = TypedWord()
        self.set_reactive(Choice.value, value)

    def render(self) -> Content:
        from fillcalc.units.printable import shown

        word = shown(said_as(self.row, self.value or self.placeholder, self.size.width))
        arrows = ("‹", "›") if self.has_focus and len(word) + 2 <= self.size.width else ("", "")
        if self.value:
            return Content(f"{arrows[0]}{word}{arrows[1]}")
        text = f"{word}{arrows[1]}, assumed" if self.placeholder else "not given"
        return Content.assemble(arrows[0], (text, self.get_visual_style("choice--assumed")))

    def choose(self, word: str) -> None:
        """Take a word of the list, as if it had been turned to."""
        if word != self.value:
            self.value = word
            self.post_message(Edited(self.row, word))

    def action_turn(self, by: int) -> None:
        now = self.value or self.placeholder
        index = self.words.index(now) + by if now in self.words else 0
        self.choose(self.words[index % len(self.words)])

    def action_list(self) -> None:
        """List the words; right behind letters that begin none it is the end of what was typed, which is said again."""
        if self._typed.ended_in_vain():
            self.post_message(Unknown(self.row, self._typed.letters))
            return
        self.post_message(Listed(self.row, self.value or self.placeholder))

    def action_clear(self) -> None:
        if self.row.declared.default is not None or self.row.declared.otherwise:
            self.choose("")

    def on_click(self, event: events.Click) -> None:
        event.stop()
        self.focus()
        self._typed.end()
        self.action_list()

    def on_key(self, event: events.Key) -> None:
        """A letter finds a word, and those that follow it soon go on with it; what begins none is told."""
        if self._typed.take(event):
            self._find()

    def on_paste(self, event: events.Paste) -> None:
        event.stop()
        if line := next(iter(event.text.strip().splitlines()), ""):
            self._typed.put(line)
            self._find()

    def _find(self) -> None:
        """Choose the word that begins with what was typed; tell where none does."""
        said = [(word, said_as(self.row, word)) for word in self.words]
        word = self._typed.find(said, self.value or self.placeholder)
        if word:
            self.choose(word)
        else:
            self.post_message(Unknown(self.row, self._typed.letters))


SIGNS = {"add": "+", "drop": "−", "take": "="}


BURST_S = 0.3
"""Keys that come quicker than that, one after the other, are one text."""


class Deed(Widget, can_focus=True):
    """A row that does something, such as adding a hose."""

    BINDINGS = [
        Binding("enter,space", "press", show=False),
    ]

    def __init__(self, row: Row) -> None:
        super().__init__()
        self.row = row
        self._burst_end = 0.0

    def render(self) -> Content:
        return Content(f"[{SIGNS[self.row.does]}] {self.row.label}")

    def action_press(self) -> None:
        self.post_message(Pressed(self.row))

    def on_key(self, event: events.Key) -> None:
        """A digit begins the next reading; what follows in one burst is of it."""
        typed = event.character or ""
        if (self.row.path, self.row.does) != ("reading", "add") or not typed.isprintable() or not typed:
            return
        if typed.isdigit() or monotonic() < self._burst_end:
            event.stop()
            event.prevent_default()
            self._burst_end = monotonic() + BURST_S
            self.post_message(Pressed(self.row, typed))

    def on_click(self) -> None:
        self.focus()
        self.action_press()


def words_for(row: Row) -> tuple[str, ...]:
    return ("true", "false") if row.declared.form == "flag" else row.declared.words


def said_as(row: Row, word: str, room: int = 0) -> str:
    """A word as a person reads it, in so many characters if it can be; 0 for any. Flags read as yes and no."""
    if row.declared.form == "flag":
        return {"true": "yes", "false": "no"}.get(word, word)
    whole, short = next(((whole, short) for each, whole, short in row.labels if each == word), (word, word))
    return short if room and len(whole) > room else whole


class Field(Vertical):
    """A row of the form: its label, its field, and below it the words of what is wrong."""

    def __init__(self, row: Row, value: str) -> None:
        super().__init__()
        self.row = row
        self.wrong = ""
        self.asked = False
        """Whether a caution asks about it."""
        self.assumed = self.why = ""
        self.range = ""
        self.unit = ""
        self.entry: Entry | Choice | Deed | None
        if row.does == "head":
            self.entry = None
        elif row.does:
            self.entry = Deed(row)
        elif row.declared.form in ("choice", "flag"):
            self.entry = Choice(row, value)
        else:
            self.entry = Entry(row, value)
        self.label = Static(Content(row.label), classes="label", markup=False)
        self.mark = Static("", classes="range", markup=False)

    def compose(self) -> ComposeResult:
        if self.entry is None:
            yield Static(Content(self.row.label), classes="heading", markup=False)
        elif isinstance(self.entry, Deed):
            yield self.entry
        else:
            with Horizontal():
                yield self.label
                yield self.entry
                yield self.mark

    @property
    def value(self) -> str:
        return self.entry.value if isinstance(self.entry, (Entry, Choice)) else ""

    def show_value(self, value: str) -> None:
        """Write the value into the field without it counting as typed."""
        if isinstance(self.entry, (Entry, Choice)) and self.entry.value != value:
            with self.prevent(TextInput.Changed):
                self.entry.value = value
        if isinstance(self.entry, Entry):
            self.entry.seen = value

    def show_assumed(self, value: str, why: str) -> None:
        """Show what stands in while the field is empty, and in a word or two why."""
        self.assumed, self.why = value, why
        self._fit(self.size.width)

    def show_unit(self, unit: str) -> None:
        """Show the unit that Enter puts behind the number in the field; none takes it away."""
        if unit != self.unit:
            self.unit = unit
            self._fit(self.size.width)

    def show_range(self, written: str) -> None:
        """Show the range that was given for the input, behind its value."""
        self.range = written
        self._fit(self.size.width)

    def on_resize(self, event: events.Resize) -> None:
        self._fit(event.size.width)
        self.post_message(Form.Moved())
        if self.wrong and self.entry is not None and self.entry.has_focus:  # all that is said of it comes into sight
            self.call_after_refresh(self.scroll_visible, animate=False)

    def _fit(self, width: int) -> None:
        """What stands beside the value and in its place, as long as there is room for it."""
        room = (width or NARROWEST) - LABEL
        mark = range_mark(self.range, self.value, room - 2 - len(self.value or self.assumed))
        if self.unit:
            mark = f"{self.unit}: Enter" if len(self.value) + len(self.unit) + 10 <= room else self.unit
        self.mark.update(Content(mark))
        self.mark.display = bool(mark)
        if isinstance(self.entry, Choice):
            self.entry.placeholder = self.assumed
        elif isinstance(self.entry, Entry):
            free = room - 1 - (len(mark) + 1 if mark else 0)
            words: tuple[str, ...]
            if self.assumed:
                words = (f"{self.assumed}, {self.why}", f"({self.assumed})")
            elif self.missing:
                example = self.wrong.partition(", or")[0]
                words = (example, example.removeprefix(f"{NEEDED}, "), NEEDED)
            else:
                words = ("not given",)
            self.entry.placeholder = next((each for each in words if len(each) <= free), words[-1])

    @property
    def missing(self) -> bool:
        """Whether all that is wrong is that nothing is given."""
        return self.wrong.startswith(NEEDED) and isinstance(self.entry, Entry) and not self.entry.value

    def show_problem(self, words: str) -> None:
        """Mark the field and say what is wrong; no words clear the mark."""
        if words == self.wrong:
            return
        self.wrong = words
        self.set_class(bool(words), "wrong")
        self._mark_label()
        said = self.query(".problem")
        if not words or self.missing:
            self._fit(self.size.width)
            said.remove()
        elif said:
            said.first(Static).update(Content(words))
        else:
            self.mount(Static(Content(words), classes="problem", markup=False))


    def show_asked(self, asked: bool) -> None:
        """Mark the field where a caution asks about it."""
        if asked != self.asked:
            self.asked = asked
            self.set_class(asked, "asked")
            self._mark_label()

    def _mark_label(self) -> None:
        mark = "! " if self.wrong else "? " if self.asked else ""
        self.label.update(Content(mark + self.row.label))


class Form(VerticalScroll, can_focus=False):
    """The rows of one group."""

    class Moved(Message):
        """Other fields are in sight."""

    def __init__(self, group: Group, values: Mapping[str, str], id: str | None = None) -> None:
        super().__init__(id=id)
        self.group: Group | None = group
        self.fields = _fields(group, values)

    def compose(self) -> ComposeResult:
        yield from self.fields.values()

    def watch_scroll_y(self, old_value: float, new_value: float) -> None:
        super().watch_scroll_y(old_value, new_value)
        self.post_message(self.Moved())

    def on_resize(self) -> None:
        self.post_message(self.Moved())
        if self.focused is not None:  # the words beside it may have taken its row
            self.call_after_refresh(self.focused.scroll_visible, animate=False)

    def show_ranges(self, ranges: Mapping[str, str]) -> None:
        """Mark the inputs whose range was given."""
        for field in self.fields.values():
            field.show_range("" if field.row.does else ranges.get(field.row.path, ""))

    async def show(self, group: Group, values: Mapping[str, str]) -> None:
        """Put another group's rows in place, or the same group's where its rows are others now."""
        if self.group is not None and group == self.group:
            self.follow(values)
            return
        self.group = group
        self.fields = _fields(group, values)
        with self.app.batch_update():
            await self.remove_children()
            await self.mount_all(self.fields.values())
        self.scroll_home(animate=False)

    def follow(self, values: Mapping[str, str]) -> None:
        """Show the values where nothing has been typed that the case has not seen."""
        for field in self.fields.values():
            if not isinstance(field.entry, Entry) or field.entry.value == field.entry.seen:
                field.show_value(values.get(field.row.path, ""))

    def refresh_values(self, values: Mapping[str, str]) -> None:
        for field in self.fields.values():
            field.show_value(values.get(field.row.path, ""))

    def judge(self, problems: Mapping[str, str], asked: Collection[str],
              assumed: Callable[[Row], tuple[str, str]]) -> None:
        """Mark what is wrong and what a caution asks about, and show what stands in for fields that were left empty."""
        for field in self.fields.values():
            field.show_problem(problems.get(field.row.path, ""))
            field.show_asked(field.row.path in asked)
            field.show_assumed(*assumed(field.row))

    @property
    def stops(self) -> list[Field]:
        """The fields that take the focus, from the top."""
        return [field for field in self.fields.values() if field.entry is not None]

    @property
    def focused(self) -> Field | None:
        here = self.screen.focused
        return next((f for f in self.fields.values() if f.entry is here and here is not None), None)

    def on_input_changed(self, event: TextInput.Changed) -> None:
        event.stop()
        if isinstance(event.input, Entry):
            self.post_message(Edited(event.input.row, event.value))


def _fields(group: Group, values: Mapping[str, str]) -> dict[str, Field]:
    return {row.path + row.does: Field(row, values.get(row.path, "")) for row in group.rows}


class GroupList(Reversible, Widget):
    """The groups in the order of the work; a mark where something is wrong."""

    COMPONENT_CLASSES = {"groups--here", "groups--wrong"}

    class Chosen(Message):
        def __init__(self, number: int) -> None:
            super().__init__()
            self.number = number

    titles: reactive[tuple[str, ...]] = reactive(())
    here: reactive[int] = reactive(0)
    wrong: reactive[frozenset[int]] = reactive(frozenset())
    asked: reactive[frozenset[int]] = reactive(frozenset())
    """Those of a field that a caution asks about."""
    more: reactive[str] = reactive("")
    """What is said below the groups, of rows of the form that are not in sight."""

    def render(self) -> Content:
        lines = [self._line(n, title) for n, title in enumerate(self.titles)]
        above = max(len(lines), self.size.height - 1)
        return Content("\n").join([*lines, *[Content()] * (above - len(lines)), Content(self.more)])

    def _line(self, number: int, title: str) -> Content:
        mark = "!" if number in self.wrong else "▸" if number == self.here else "?" if number in self.asked else " "
        style: Style | str = ""
        if number == self.here:
            style = self.get_visual_style("groups--here")
        elif number in self.wrong:
            style = self.get_visual_style("groups--wrong")
        return Content.styled(f"{mark}{title}".ljust(max(1, self.size.width)), style)

    def on_click(self, event: events.Click) -> None:
        if 0 <= event.y < len(self.titles):
            self.post_message(self.Chosen(event.y))
