"""The set-up on the screen: groups, the rows of one group, help; what is typed goes into the session."""

from __future__ import annotations

import asyncio
import contextlib
import re
from collections.abc import Callable

from textual import events, work
from textual.app import ComposeResult
from textual.containers import Container
from textual.message import Message
from textual.timer import Timer
from textual.widgets import Input as TextInput
from textual.widgets.input import Selection

from fillcalc.case.names import declared_at, in_units
from fillcalc.units import show, with_us_gallons
from fillcalc.units.printable import shown
from tui.places.field_help import Help, default, help_lines, in_vain, problem_words
from tui.places.reading_entry import ReadingWanted, beside_readings
from tui.state.inputs import LISTS, NEW_ITEMS, Group, Row, as_typed, chosen, groups, raw, unit_for, written
from tui.state.range_text import range_lines, ranges_in, written_range
from tui.state.session import Session
from tui.widgets.dialogs import Pick
from tui.widgets.form import (
    Edited,
    Entry,
    Field,
    Form,
    GroupList,
    Listed,
    Pressed,
    Unknown,
    said_as,
    words_for,
)

DEBOUNCE_S = 0.1
"""What is typed reaches the text after so long without a key."""
CLOCK_S = 1.0
CATCH_UP_S = 3.0
"""How long keys on their way to a field are waited for, so that a save is never of half a word."""


class CaseForm(Container):
    """The set-up of a session's case."""

    class Touched(Message):
        """Something was typed, or what was typed has reached the session."""

    class Refused(Message):
        """The text cannot be changed there."""

        def __init__(self, words: str) -> None:
            super().__init__()
            self.words = words

    class AirWanted(Message):
        """The case is to have the trapped air that the readings show."""

    def __init__(self, session: Session, units: str, id: str | None = None) -> None:
        super().__init__(id=id)
        self.session = session
        self.units = units
        self.groups = groups(session.table or {}, units)
        self.group_number = 0
        self.has_keys = True
        """Whether keys are for the form; else it leaves the focus where it is."""
        self._typed: tuple[Row, str] | None = None
        self._debounce: Timer | None = None
        self._before = ""
        """What stood in the field in hand when it was come to."""
        self._last = ""
        """Path of the field that had the focus last."""

    def compose(self) -> ComposeResult:
        yield GroupList(id="groups")
        yield Form(self.groups[0], self.values(), id="form")
        yield Help(id="help")

    def on_mount(self) -> None:
        self.set_interval(CLOCK_S, self._tick)

    def on_form_moved(self) -> None:
        self.call_after_refresh(self._count_below)

    def _count_below(self) -> None:
        """Say how many fields stand below those in sight."""
        if not self.query(Form):  # the screen is going
            return
        form = self.form
        below = sum(field.region.bottom > form.region.bottom for field in form.fields.values())
        words = f" {below} more {'row' if below == 1 else 'rows'}: ↓" if below else ""
        self.query_one(GroupList).more = words or (" ↑ more above" if form.scroll_y else "")

    def _tick(self) -> None:
        if self.session.clock_began is not None and self.groups[self.group_number].key == "reading":
            self.refresh_help()

    @property
    def form(self) -> Form:
        return self.query_one(Form)

    @property
    def typing(self) -> bool:
        """Whether something was typed that the session has not seen yet."""
        return self._typed is not None

    # --- what is shown ---------------------------------------------------------------------

    async def take(self, session: Session) -> None:
        """Show another case."""
        self.session = session
        self._typed = None
        self.form.group = None
        await self.show(0, self._first_of(0))

    def _first_of(self, group_number: int) -> str:
        """The first field that must be filled in, else the first."""
        table = self.session.table or {}
        rows = [row for row in groups(table, self.units)[group_number].rows if row.does != "head"]
        needed = [row for row in rows if row.declared.required and raw(table, row.path) is None]
        return next((row.path for row in (*needed, *rows)), "")

    async def show(self, group_number: int, path: str = "") -> None:
        """Show a group, with the focus on the field at the path, else where it was, else on the first."""
        self.groups = groups(self.session.table or {}, self.units)
        self.group_number = group_number % len(self.groups)
        group, form = self.groups[self.group_number], self.form
        here = form.focused
        path = path or (here.row.path if here and here.row in group.rows else "")
        marked = here.entry.selection if here and here.row.path == path and isinstance(here.entry, Entry) else None
        changed = form.group != group
        await form.show(group, self.values())
        form.follow(self.values())  # something may have reached the text meanwhile
        self._mark_ranges()
        self.judge()
        listed = self.query_one(GroupList)
        listed.titles = tuple(group.title for group in self.groups)
        listed.here = self.group_number
        if changed or here is None:
            self._focus(self._stop(path) or next(iter(form.stops), None), marked)
        self.refresh_help()

    @property
    def rows_changed(self) -> bool:
        """Whether the case has other rows now than those that are shown."""
        if self.form.group is None:
            return False
        found = groups(self.session.table or {}, self.units)
        return found[self._same(found)] != self.form.group

    def _same(self, found: tuple[Group, ...]) -> int:
        """Where the group that is shown stands among these; the first where it is gone."""
        key = self.form.group.key if self.form.group else ""
        return next((number for number, group in enumerate(found) if group.key == key), 0)

    async def keep_up(self) -> None:
        """Show the rows that the case has chosen, where they are others now; mark what is wrong."""
        if self.rows_changed:
            await self.catch_up()
            await self.show(self._same(groups(self.session.table or {}, self.units)))
        self._mark_ranges()
        self.judge()
        self.refresh_help()

    def refresh_values(self) -> None:
        self.form.refresh_values(self.values())
        self._mark_ranges()
        self.refresh_help()

    def _mark_ranges(self) -> None:
        self.form.show_ranges({path: shown(as_typed(value)) for path, value in ranges_in(self.session.table).items()})

    def values(self) -> dict[str, str]:
        table = self.session.table or {}
        return {row.path: written(table, row.path) for group in self.groups for row in group.rows if not row.does}

    def judge(self) -> None:
        """Mark the fields that are wrong, and show what stands in for those left empty."""
        if self.session.judged != self.session.number:
            return
        problems: dict[str, str] = {}
        for problem in self.session.problems:
            problems.setdefault(problem.path, problem_words(problem, self.units))
            if problem.path.startswith("ranges."):
                path = re.sub(r"(\.[a-z_]+)\.[123]$", r"\1", problem.path.removeprefix("ranges."))
                problems.setdefault(path, f"its range, {problem_words(problem, self.units)}")
        here = self.form.focused
        if here is not None and here.unit:
            problems.pop(here.row.path, None)  # Enter will put it right
        assumed, asked = self._assumed(), self._asked()
        follows = self._follows()
        self.form.judge(problems, asked, lambda row: (follows[row.path], "from the rest") if row.path in follows else (
            assumed[row.path][0] if row.path in assumed else default(row, self.units), "assumed"))
        listed = self.query_one(GroupList)
        listed.wrong, listed.asked = (frozenset(
            n for n, group in enumerate(self.groups) if any(row.path in marked for row in group.rows))
            for marked in (problems, asked))

    def _follows(self) -> dict[str, str]:
        """What the case does not say because it follows from the rest: a dimension, or the volume, of the vessel. While
        something is wrong it is what followed last, behind "was"."""
        answered = self.session.answered
        if answered is None or answered.case is None:
            return {}
        from fillcalc.case.solid import follows

        vessel, old = answered.case.vessel, answered.number != self.session.number
        if old and chosen(self.session.table or {}, "vessel.shape") is not type(vessel):
            return {}
        return {f"vessel.{key}": f"{'was ' if old else ''}{show(value, family, self.units)}"
                for key, family, value in follows(vessel, answered.case.assumptions)}

    def _asked(self) -> dict[str, tuple[str, str]]:
        """Signal word and sentence of the gravest caution about each input, by its path."""
        answered = self.session.answered
        if answered is None or answered.number != self.session.number:
            return {}
        return {one.path: (f"{one.weight.upper()}: ", one.text) for one in reversed(answered.cautions) if one.path}

    def refresh_help(self) -> None:
        if self.groups[self.group_number].key == "reading":
            self.query_one(Help).show("What the readings tell", beside_readings(self.session, self.units))
            return
        field = self.form.focused or self._stop(self._last) or next(iter(self.form.stops), None)
        if field is None:
            return
        assumed = None if field.value else self._assumed().get(field.row.path)
        lines = help_lines(field.row, assumed, self.units)
        if not field.row.does:
            answered, written = self.session.answered, written_range(self.session.table or {}, field.row.path)
            ranged = range_lines(answered.case if answered else None, written, field.row, self.units)
            lines = [lines[0], *ranged, *lines[1:]] if written else [*lines, *ranged]
            if field.row.path in (asked := self._asked()):
                lines = [asked[field.row.path], *lines]
        self.query_one(Help).show(field.row.label, lines)

    def _assumed(self) -> dict[str, tuple[str, str]]:
        answered = self.session.answered
        if answered is None or answered.case is None:
            return {}
        likely = {path: parts[1] for path, value in ranges_in(self.session.table).items()
                  if len(parts := as_typed(value).split("; ")) == 3}  # it stands in for a value that nobody gave
        case, units = answered.case, self.units
        return {a.path: (in_units(shown(likely.get(a.path, a.value)), declared_at(a.path, case), units), shown(a.why))
                for a in case.assumptions}

    def _stop(self, path: str) -> Field | None:
        return next((f for f in self.form.stops if f.row.path == path), None)

    def _focus(self, field: Field | None, part: Selection | None = None) -> None:
        """Move the focus at once, so that keys typed in a burst reach the field they are meant for.

        What stands in a field that one comes to is chosen, so that typing replaces it; in one that was made anew
        under one's hands only what was chosen before.
        """
        screen = self.app.screen_stack[0]
        if field is None or field.entry is None or screen.focused is field.entry or not self.has_keys:
            return
        screen.set_focus(field.entry)
        self.call_after_refresh(field.scroll_visible, animate=False)  # in a group that was just put there too
        if isinstance(field.entry, Entry):
            field.entry.choose(part)

    # --- moving about ----------------------------------------------------------------------

    def choose(self) -> None:
        """Choose all of the field in hand, so that typing replaces it."""
        field = self.form.focused
        if field is not None and isinstance(field.entry, Entry):
            field.entry.choose()

    async def go_to(self, path: str) -> None:
        """Show the field at a path, or the group that would hold it; what was typed last goes into the text first."""
        if not self.query(Form):  # the screen is going
            return
        self.flush()
        self.groups = groups(self.session.table or {}, self.units)
        paths = [[row.path for row in group.rows] for group in self.groups]
        exact = [n for n, rows in enumerate(paths) if path in rows]
        near = [n for n, rows in enumerate(paths) if any(p.startswith(path + ".") for p in rows)]
        await self.show((exact or near or [self.group_number])[0], path)
        self._focus(self._stop(path))
        if path in LISTS:  # what was added last stands at the end
            self.call_after_refresh(self.form.scroll_end, animate=False)

    def come_back(self) -> None:
        """Take the keys again, in the field that had them last."""
        self.has_keys = True
        self._focus(self._stop(self._last) or next(iter(self.form.stops), None))

    def _unit(self, field: Field) -> str:
        """The unit that stands to be put behind the plain number in a field; "" where nothing is."""
        if not isinstance(field.entry, Entry) or field.row.does:
            return ""
        return unit_for(field.row.declared, field.value, self._before, self.units)

    def _offer(self, field: Field, unit: str) -> None:
        """Show the unit that Enter puts behind the number in a field; none takes it away."""
        field.show_unit(unit)
        self.session.offered = {field.row.path: unit} if unit else {}

    def _put_unit(self) -> None:
        """Put the unit that is shown behind the number in the field that is left."""
        field = self.form.focused
        if field is None or not isinstance(field.entry, Entry) or not (unit := self._unit(field)):
            return
        value = f"{field.value.strip()} {unit}"
        with field.entry.prevent(TextInput.Changed):
            field.entry.value = value
        self._offer(field, "")
        self._typed = (field.row, value)

    async def step(self, by: int) -> None:
        """The next field, in the next group after the last; the first of all and the last of all are the ends."""
        self._put_unit()
        self.flush()
        stops, here = self.form.stops, self.form.focused
        index = stops.index(here) + by if here in stops else 0
        if (index < 0 and self.group_number == 0) or (
                index >= len(stops) and self.group_number == len(self.groups) - 1):
            return
        if not 0 <= index < len(stops):
            await self.turn(by)
            stops = self.form.stops
            index = -1 if by < 0 else 0
        self._focus(stops[index] if stops else None)

    async def turn(self, by: int) -> None:
        """The next group."""
        await self.catch_up()
        await self.show(self.group_number + by)

    async def on_group_list_chosen(self, event: GroupList.Chosen) -> None:
        self.flush()
        await self.show(event.number)

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        self.flush()
        field = self.form.focused
        for one in self.form.fields.values():
            one.set_class(one is field, "here")
        if field is not None:
            if field.row.path != self._last or not self.has_keys:
                self._before = field.value
            self.has_keys, self._last = True, field.row.path
            self.session.leave(field.row.path)
            self._offer(field, field.unit)
            self.refresh_help()

    # --- changing --------------------------------------------------------------------------

    def on_edited(self, event: Edited) -> None:
        pending = self._typed[0].path if self._typed is not None else ""
        field = self.form.fields.get(event.row.path)
        if field is not None and isinstance(field.entry, Entry) and field.entry.seen == event.value \
                and pending != event.row.path:
            if field.unit:  # in the text before this came: the unit may stand behind a plain number no more
                self._offer(field, self._unit(field))
                self.judge()
            return  # what stands in the text already: a field that was just made says so too
        if pending and pending != event.row.path:
            self.flush()
        self._typed = (event.row, event.value)
        if field is not None:
            self._offer(field, self._unit(field))
        self._stop_timer()
        self._debounce = self.set_timer(DEBOUNCE_S, self.flush)
        self.post_message(self.Touched())

    def _said(self, row: Row, value: str) -> str:
        """What was typed as the file has it: on a screen in US units a gallon is a US gallon."""
        return with_us_gallons(value) if self.units == "us" and row.declared.families else value

    def _stop_timer(self) -> None:
        if self._debounce is not None:
            self._debounce.stop()
        self._debounce = None

    async def catch_up(self) -> None:
        """Let the focused field take in the keys that are still on their way to it, then flush."""
        entry = self.screen.focused
        if isinstance(entry, Entry):
            done = asyncio.Event()
            entry.call_later(done.set)
            with contextlib.suppress(asyncio.TimeoutError):
                await asyncio.wait_for(done.wait(), CATCH_UP_S)
        self.flush()

    def flush(self) -> None:
        """Put what was typed last into the text now."""
        self._stop_timer()
        typed = [self._typed] if self._typed is not None else []
        self._typed = None
        field = self.form.focused
        if field is not None and isinstance(field.entry, Entry) and field.entry.value != field.entry.seen:
            typed = [(row, value) for row, value in typed if row.path != field.row.path]
            typed.append((field.row, field.entry.value))
        for row, value in typed:
            entry = self.form.fields[row.path].entry if row.path in self.form.fields else None
            if isinstance(entry, Entry):
                entry.seen = value
            if not self._change(lambda row=row, value=value: self.session.put(row.path, self._said(row, value))):  # type: ignore[misc]
                self.post_message(self.Touched())

    def _change(self, how: Callable[[], bool]) -> bool:
        """Change the text; where what stands in it forbids that, say so."""
        try:
            return how()
        except ValueError as problem:
            self.post_message(self.Refused(f"Not changed: {shown(str(problem))}"))
            return False

    async def on_pressed(self, event: Pressed) -> None:
        self.flush()
        path = event.row.path
        if path == "reading" and event.row.does == "add":
            self.post_message(ReadingWanted(event.typed))
            return
        if event.row.does == "take":
            self.post_message(self.AirWanted())
            return
        if event.row.does == "drop":
            self._change(lambda: self.session.drop(path))
            await self.show(self.group_number)
            return
        item = NEW_ITEMS[path]
        here = raw(self.session.table or {}, path)
        number = len(here) + 1 if isinstance(here, list) else 1
        values = {f"{path}.{number}.{key}": value for key, value in item.items()}
        self._change(lambda: self.session.put_many(path, values))
        await self.show(self.group_number, f"{path}.{number}.{next(iter(item))}")

    def on_unknown(self, event: Unknown) -> None:
        """Say of what was typed at a choice that it went nowhere, and where a number belongs."""
        rows = [field.row for field in self.form.stops]
        after = rows.index(event.row) + 1 if event.row in rows else len(rows)
        self.post_message(self.Refused(in_vain(event.row, event.typed, rows[after] if after < len(rows) else None)))

    @work
    async def on_listed(self, event: Listed) -> None:
        if len(self.app.screen_stack) > 1:
            return  # it is listed already
        offers = [(word, said_as(event.row, word)) for word in words_for(event.row)]
        word = await self.app.push_screen_wait(Pick(event.row.label, offers, event.now))
        field = self.form.fields.get(event.row.path)
        if word and field is not None and field.value != word:
            field.show_value(word)
            self.on_edited(Edited(event.row, word))
