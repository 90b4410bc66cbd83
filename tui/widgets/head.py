"""The first and the last line of the screen: what case this is and how it stands; the keys, or a sentence."""

from __future__ import annotations

from collections.abc import Container

from textual import events
from textual.content import Content
from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget
from textual.widgets import Static

from fillcalc.units.printable import shown
from tui.state.actions import ACTIONS, PLACES, key_name, place_names
from tui.state.inputs import as_typed
from tui.state.session import Session
from tui.widgets.fitting import in_rows
from tui.widgets.listing import Reversible

GAUGE = "gauge pressures"
CURRENT = "answers now"
SAID_S = 6.0
"""How long a sentence stands in the last line."""
MOST_ROWS = 4
"""Of a sentence there."""


class Head(Static):
    """Title, how current the answers are, whether all is saved, and what pressures mean."""

    title = ""
    ends: tuple[str, ...] = ("",)
    """What stands at the right, whole and shorter."""

    def on_resize(self) -> None:
        self.fill()

    def show(self, session: Session, typing: bool) -> None:
        self.title = shown(as_typed((session.table or {}).get("title"))) or shown(session.name)
        state, saved = state_words(session, typing), saved_words(session)
        self.ends = (f"{state} · {saved} · {GAUGE} ", f"{state} · {saved} · gauge ",
                     f"{saved} · gauge " if state == CURRENT else f"{state} · {saved} · gauge ")
        self.fill()

    def fill(self) -> None:
        """Lay both ends out in the width there is; the right one gives way, then the title."""
        left = Content(f" {self.title}")
        width = (self.size.width or self.app.size.width) - 2
        right = next((end for end in self.ends if left.cell_length + len(end) <= width), self.ends[-1])
        wide = max(0, width - len(right))
        left = left.truncate(wide, ellipsis=True)
        self.update(Content.assemble(left.stylize("bold"), " " * (wide - left.cell_length + 2), right))


def state_words(session: Session, typing: bool) -> str:
    state = "working" if typing or (session.state == "now" and session.ranges_old) else session.state
    if state in ("old", "none") and session.problems:
        number = len(session.problems)
        if session.only_missing:
            return f"ANSWERS OLD: {number} needed" if state == "old" else f"{number} needed"
        return f"ANSWERS OLD: {number} to fix" if state == "old" else f"{number} to fix"
    case = session.answered.case if session.answered is not None else None
    if state == "now" and case is not None and any(each.own for each in case.assumptions):
        return f"{CURRENT}, own figures"
    return {"now": CURRENT, "working": "working…", "old": "ANSWERS OLD", "none": "no answers"}[state]


def saved_words(session: Session) -> str:
    if session.path is None:
        return "no file yet" if session.saved else "not saved, no file yet"
    return "saved" if session.saved else "not saved"


def too_small(needed: tuple[int, int], here: tuple[int, int]) -> Content:
    """What stands on a terminal that is too small."""
    return Content(f"fillcalc needs a terminal of {needed[0]} × {needed[1]}.\nThis one is {here[0]} × {here[1]}.\n"
                   "Make it larger, or use a smaller letter.\nNothing is lost. Ctrl+Q quits.")


class PlaceBar(Reversible, Widget):
    """The places in the order of the work, each with its digit; the one that is open in brackets."""

    COMPONENT_CLASSES = {"places--here", "places--other"}

    class Chosen(Message):
        def __init__(self, number: int) -> None:
            super().__init__()
            self.number = number

    here: reactive[int] = reactive(1)
    cautions: reactive[int] = reactive(0)
    """How many the case raises."""

    gas: reactive[bool] = reactive(False)
    """Whether the case is tested with gas."""

    def words(self) -> list[str]:
        """What stands for each place, as wide as it is when it is open."""
        places = place_names(self.gas)
        names = [*places[:-1], f"{places[-1]} {self.cautions}" if self.cautions else places[-1]]
        return [f"[{n} {name}]" if n == self.here else f" {n} {name} " for n, name in enumerate(names, 1)]

    def render(self) -> Content:
        styles = {True: self.get_visual_style("places--here"), False: self.get_visual_style("places--other")}
        return Content(self.gap).join(Content.styled(words, styles[n == self.here])
                                      for n, words in enumerate(self.words(), 1))

    @property
    def gap(self) -> str:
        """What stands between two places, as there is room."""
        return "  " if self.size.width > sum(map(len, self.words())) + 2 * len(PLACES) else ""

    def on_click(self, event: events.Click) -> None:
        start = 0
        for number, words in enumerate(self.words(), 1):
            if start <= event.x < start + len(words):
                self.post_message(self.Chosen(number))
            start += len(words) + len(self.gap)


class Foot(Static):
    """The keys that are needed most; in their place, for a while, a sentence, in as many rows as it needs."""

    saying = ""
    idle: Container[str] = ()
    """Actions whose keys do something else now, or nothing: they are not shown."""

    def on_resize(self) -> None:
        self.fill()

    def leave_out(self, idle: Container[str]) -> None:
        """Show the keys of all but these actions."""
        if idle != self.idle:
            self.idle = idle
            self.fill()

    def say(self, words: str) -> None:
        self.saying = words
        self.fill()
        self.set_timer(SAID_S, lambda: self.unsay(words))

    def unsay(self, words: str = "") -> None:
        """Show the keys again, unless another sentence has come since."""
        if self.saying and words in ("", self.saying):
            self.saying = ""
            self.fill()

    def fill(self) -> None:
        width = max(1, self.app.size.width)
        rows = in_rows(Content(self.saying), width - 2)[:MOST_ROWS] if self.saying else []
        lines = [Content(" ") + row for row in rows] or [_keys(width, self.idle)]
        self.styles.height = len(lines)
        self.update(Content("\n").join(line.pad_right(max(0, width - line.cell_length)) for line in lines))


def _keys(width: int, idle: Container[str]) -> Content:
    """As many keys as fit, the way out first, without those of idle actions."""
    line = Content("")
    for key, words, name in [("Esc", "menu, help", "menu"),
                             *((key_name(a.keys[0]), a.bar, a.call) for a in ACTIONS if a.bar and a.name not in idle)]:
        hint = Content.assemble("  ", (key, "bold"), f" {words}").stylize(f"@click=app.{name}", 2)
        if line.cell_length + hint.cell_length <= width:
            line += hint
    return line
