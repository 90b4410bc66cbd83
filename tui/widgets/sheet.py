"""Lines of text that fill what room there is; what does not fit is counted, and keys show it."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events
from textual.binding import Binding
from textual.content import Content
from textual.message import Message
from textual.reactive import reactive
from textual.style import Style
from textual.widget import Widget

from tui.widgets.listing import Reversible


class Title(Content):
    """The line of a title, with which a part of the text begins; `part` is what the part is known by, if it is."""

    def __init__(self, line: Content, part: str = "") -> None:
        super().__init__(line.plain, [*line.spans])
        self.part = part


def top_for(lines: Sequence[Content], part: str, top: int, height: int) -> int:
    """The line in the first of so many rows that has a part in sight, from its title on where it is too long; `top`, as
    it is now, where all of it is in sight already or there is no such part."""
    titles = {n: line.part for n, line in enumerate(lines) if isinstance(line, Title)}
    start = next((n for n, known_by in titles.items() if known_by == part), None)
    if start is None:
        return top
    after = min((n for n in titles if n > start), default=len(lines))
    end = max(n for n in range(start, after) if lines[n].plain.strip()) + 1
    last = top + height - (len(lines) > top + height)
    return top if top <= start and end <= last else start


class Sheet(Reversible, Widget):
    """A text that is made anew for the room it has; the keys scroll it."""

    BINDINGS = [
        Binding("down", "scroll_by(1)", show=False),
        Binding("up", "scroll_by(-1)", show=False),
        Binding("pagedown,space", "page(1)", show=False),
        Binding("pageup", "page(-1)", show=False),
        Binding("home", "to_top", show=False),
        Binding("end", "scroll_by(9999)", show=False),
    ]
    COMPONENT_CLASSES = {"sheet--heading", "sheet--rule", "sheet--faint", "sheet--plain", "sheet--strong", "sheet--old",
                         "sheet--danger", "sheet--hazard", "sheet--own", "sheet--other", "sheet--third", "sheet--mark",
                         "sheet--line", "sheet--wall", "sheet--water", "sheet--air", "sheet--assumed"}

    class Clicked(Message):
        """The sheet was clicked, and wants the keys."""

    top: reactive[int] = reactive(0)
    """The line that stands in the first row."""

    def lines(self, width: int, height: int) -> Sequence[Content]:
        """All of the text, for lines so wide and a room so high."""
        return ()

    def render(self) -> Content:
        width, height = max(8, self.size.width), max(1, self.size.height)
        lines = list(self.lines(width, height))
        self.most = max(0, len(lines) - height + 1) if len(lines) > height else 0
        if self.sought:
            self.set_reactive(Sheet.top, min(self.most, top_for(lines, self.sought, self.top, height)))
            self.sought = ""
        top = min(self.top, self.most)
        rows = lines[top:top + height]
        below = sum(bool(line.plain.strip()) for line in lines[top + height - 1:]) if top + height < len(lines) else 0
        if below:
            words = f" {below} more {'line' if below == 1 else 'lines'}: ↓ or PgDn"
            rows = [*rows[:-1], Content.styled(words, self.style_of("faint"))]
        elif top:
            rows = [*rows[:height - 1], Content.styled(" ↑ or PgUp goes back", self.style_of("faint"))]
        return Content("\n").join(row.truncate(width, ellipsis=True) for row in rows)

    most = 0
    """The furthest that the text can be scrolled."""
    sought = ""
    """The part of the text that is to be in sight when the sheet is drawn next."""

    def bring(self, part: str) -> None:
        """Have a part in sight."""
        self.sought = part
        self.refresh()

    def style_of(self, name: str) -> Style:
        """The style of a part: heading, rule, faint, strong, old, danger, own, other, third, mark."""
        return self.get_visual_style(f"sheet--{name}")

    def action_scroll_by(self, by: int) -> None:
        self.top = min(max(0, min(self.top, self.most) + by), self.most)

    def action_page(self, by: int) -> None:
        self.action_scroll_by(by * max(1, self.size.height - 2))

    def action_to_top(self) -> None:
        self.top = 0

    def on_click(self) -> None:
        self.post_message(self.Clicked())

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        self.action_scroll_by(3)

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        self.action_scroll_by(-3)
