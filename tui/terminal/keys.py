"""Keys on their way to the screen: a bounded queue that any thread may fill, and the task that takes one at a time."""

from __future__ import annotations

import asyncio
import contextlib
import threading
from collections import deque
from collections.abc import Awaitable, Callable, Iterator
from dataclasses import dataclass
from time import monotonic
from typing import TYPE_CHECKING

from textual import events
from textual._time import get_time
from textual.app import ScreenStackError
from textual.command import CommandPalette
from textual.widgets import Input

from tui.terminal.patience import Patience

if TYPE_CHECKING:
    from textual.widget import Widget

    from tui.terminal.steady import Steady

MOST_WAITING = 512
"""Keys and runs of letters that may wait; more than these at once are a flood, and none of it is taken."""
MOST_LETTERS, TOO_MANY_LETTERS = 500, 2000
"""Letters in one run; a field takes no more. So many beyond them, while they wait, are a flood as well."""
MOST_FOR_A_LIST = 32
"""Letters typed in a row for something that takes no text; a longer run is meant for a field."""
HELD = 12
"""A key that came more often than this in a row is held down; repeats of it that wait may be dropped, the first ones
too. Keys that were tapped never are."""
LATE_S = 0.3
"""Where keys have waited so long, repeats of a key that is held down are dropped."""
QUIET_S = 0.1
"""A flood is over after so long without a key; a person who types pauses longer."""
REPEAT_S = 0.25
"""A key that comes again later than this was not held down."""
QUESTION_S = 0.3
"""How long keys wait for a question that an action is about to ask."""
FIRST_QUESTION_S = 3.0
"""The same for the question about work left behind; keys typed before it stood go nowhere."""
STEADY = 3
"""Rounds through the messages in which the focus must stay, before the next key is taken."""
UNDRAWN_S, DRAW_S = 0.15, 0.02
"""While keys wait, the screen is drawn only so often, and has so long to do it."""
OF_A_SEARCH = frozenset({"enter", "up", "down", "pageup", "pagedown"})
"""Keys that act on what was found; they wait until the search is done. All others change what is looked for."""
TAKEN_S = 3.0
"""How much work one key may be before the next one is taken all the same."""


@dataclass
class Waiting:
    """A key, a paste, or a run of letters typed one after the other, and since when it waits."""

    events: list[events.Key | events.Paste]
    since: float
    held: bool = False
    """A repeat of a key that is held down."""

    @property
    def letters(self) -> bool:
        return is_letter(self.events[0])


def is_letter(event: events.Key | events.Paste) -> bool:
    """Whether the event is a key that writes a character, with nothing held down but Shift."""
    return isinstance(event, events.Key) and event.is_printable and "+" not in event.key


class Keys:
    """The keys that wait, oldest first."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._waiting: deque[Waiting] = deque()
        self._last = 0.0
        self._repeated, self._times = "", 0
        """The key that came last, and how often in a row."""
        self.flood = False
        """Whether more has come at once than a person types, and is still coming."""
        self._beyond = 0
        """Letters that had no room in their run."""
        self.closed = False
        """Whether the end has come, and what comes now is let go."""
        self.dropped = 0
        """Keys of a flood that were not taken and of which nothing has been said yet."""
        self.wake: Callable[[], None] = lambda: None
        """Called on the thread of `put` when something has come."""

    def __len__(self) -> int:
        return len(self._waiting)

    @property
    def several(self) -> bool:
        """Whether more than one key waits."""
        with self._lock:
            return sum(len(one.events) for one in self._waiting) > 1

    def put(self, event: events.Key | events.Paste) -> None:
        """Add a key; returns at once, on any thread."""
        with self._lock:
            if self.closed:
                return
            now = monotonic()
            pause, self._last = now - self._last, now
            self.flood = self.flood and pause <= QUIET_S
            name = event.key if isinstance(event, events.Key) else ""
            self._times = self._times + 1 if name and name == self._repeated and pause <= REPEAT_S else 1
            self._repeated = name
            if self._times == HELD + 1:
                self._first_ones_too(name)
            if self.flood:
                self.dropped += 1
            elif not self._joins(event, now):
                self._waiting.append(Waiting([event], now, self._times > HELD))
                self._beyond = 0
                if len(self._waiting) > MOST_WAITING:
                    self.flood = True
                    self.dropped += sum(len(one.events) for one in self._waiting)
                    self._waiting.clear()
        self.wake()

    def _first_ones_too(self, name: str) -> None:
        """The key is held down: so were those of it that wait."""
        for one in reversed(self._waiting):
            event = one.events[0]
            if one.letters or not isinstance(event, events.Key) or event.key != name:
                break
            one.held = True

    def drop(self, number: int) -> None:
        """Count keys of a flood that were not even looked at."""
        with self._lock:
            self._last = monotonic()
            self.dropped += number

    def _joins(self, event: events.Key | events.Paste, now: float) -> bool:
        """Whether the event needs no place of its own: one more letter of a run, or one more repeat where they wait."""
        if not self._waiting:
            return False
        last = self._waiting[-1]
        if is_letter(event) and last.letters:
            if len(last.events) < MOST_LETTERS:
                last.events.append(event)
            else:
                self._beyond += 1
                self.flood = self._beyond > TOO_MANY_LETTERS
            return True
        return last.held and self._times > HELD and now - self._waiting[0].since > LATE_S

    def take(self) -> Waiting | None:
        """The oldest, or None; of a key that is held down and has waited too long only the last repeat."""
        with self._lock:
            late = monotonic() - LATE_S
            while len(self._waiting) > 1 and self._waiting[0].since < late and all(
                    one.held for one in (self._waiting[0], self._waiting[1])):
                self._waiting.popleft()
            return self._waiting.popleft() if self._waiting else None

    def clear(self, before: float) -> None:
        """Take none of the keys that came before that moment."""
        with self._lock:
            for one in self._waiting:
                one.events = [event for event in one.events if event.time >= before]
            self._waiting = deque(one for one in self._waiting if one.events)


class Taken(events.Event, bubble=True):
    """Follows a key through every handler that the key passes; at the end of its way the key has been dealt with."""

    def __init__(self, done: asyncio.Event) -> None:
        super().__init__()
        self.done = done


class Taking:
    """Takes keys one at a time: the next one only when all that the last one set off has come to rest."""

    def __init__(self, app: Steady, handle: Callable[[events.Key | events.Paste], Awaitable[None]]) -> None:
        self.app = app
        self.keys = Keys()
        self.flows = 0
        """Actions under way that ask on the way."""
        self.between_keys = asyncio.Lock()
        """Held while a key is taken, and by whoever changes what keys act on."""
        self._handle = handle
        self._came = asyncio.Event()
        self._begun = asyncio.Event()
        self._asks_first = False
        self._undrawn = contextlib.ExitStack()
        """Holds back the drawing of what keys that wait will change again."""

    @contextlib.contextmanager
    def asking(self) -> Iterator[None]:
        """An action under way that asks on the way."""
        self.flows += 1
        try:
            yield
        finally:
            self.flows -= 1

    def begin(self, asks_first: bool) -> None:
        """Begin to take keys; where a question comes first, keys typed before it stood go nowhere."""
        self._asks_first = asks_first
        self._begun.set()

    async def run(self) -> None:
        """Take keys until the screen ends."""
        loop = asyncio.get_running_loop()

        def wake() -> None:
            if self._came.is_set():
                return
            with contextlib.suppress(RuntimeError):  # the screen has ended
                loop.call_soon_threadsafe(self._came.set)

        self.keys.wake = wake
        await self._begun.wait()
        if self._asks_first:
            self.keys.clear(before=await self._question_stands(FIRST_QUESTION_S))
        with contextlib.suppress(ScreenStackError):  # the screen has ended
            await self._take_all()

    async def _take_all(self) -> None:
        while True:
            self._came.clear()
            while self.keys.several:
                await self._take_several()
            if (waiting := self.keys.take()) is not None:
                await self._take(waiting)
            self._say_dropped()
            if not len(self.keys):
                await self._came.wait()

    async def _take_several(self) -> None:
        """Take keys that wait for a moment without a picture of each, then let the screen be drawn."""
        end = monotonic() + UNDRAWN_S
        with self._undrawn:
            self._undrawn.enter_context(self.app.batch_update())
            while monotonic() < end and (waiting := self.keys.take()) is not None:
                await self._take(waiting)
        await asyncio.sleep(DRAW_S)

    def _say_dropped(self) -> None:
        dropped, self.keys.dropped = self.keys.dropped, 0
        if dropped:
            self.app.say(f"Too many keys at once: {dropped} were not taken.")

    async def _take(self, waiting: Waiting) -> None:
        for event in self._as_taken(waiting):
            before = self.app.screen
            async with self.between_keys:
                if isinstance(event, events.Key) and event.key in OF_A_SEARCH:
                    await self._found()
                await self._handle(event)
                await self._rest()
            if len(self.keys):
                self.app.keys_wait()
            if before is not self.app.main and self.app.screen is self.app.main:
                await self._question_stands()

    def _as_taken(self, waiting: Waiting) -> list[events.Key | events.Paste]:
        """A run of letters at once where it is text; letter by letter elsewhere, of one held down only the last."""
        if len(waiting.events) == 1:
            return waiting.events
        if isinstance(self.app.focused, Input):
            return [events.Paste("".join(str(one.character) for one in waiting.events
                                         if isinstance(one, events.Key)))]
        one_key = len({event.key for event in waiting.events if isinstance(event, events.Key)}) == 1
        if one_key and (waiting.held or len(waiting.events) > HELD):
            return waiting.events[-1:]
        return waiting.events if len(waiting.events) <= MOST_FOR_A_LIST else []

    async def _rest(self) -> None:
        """Wait until the key, and what it set off, has passed every handler and the focus stays where it is."""
        patience, steady = Patience(TAKEN_S), 0
        here = None
        while steady < STEADY and not patience.over:
            now = (self.app.screen, self.app.screen.focused)
            if now[0] is not self.app.main:
                self._undrawn.close()  # a screen that is not drawn takes no focus
            steady = steady + 1 if now == here and now[0].is_mounted else 0
            here = now
            await self._passed(now[1] or now[0], patience)

    async def _passed(self, target: Widget, patience: Patience) -> None:
        """Wait until every message that lies before the target and above it has been dealt with."""
        done = asyncio.Event()
        event = Taken(done)
        event.set_sender(target)  # a message does not go on to its own sender
        if not target.post_message(event):
            await asyncio.sleep(0)
            return
        while not done.is_set() and (target.is_running or not target.is_mounted) and not patience.over:
            try:
                await asyncio.wait_for(done.wait(), 0.02)
            except TimeoutError:
                continue

    async def _found(self) -> None:
        """Wait until the list of what is being looked for is made."""
        patience, screen = Patience(TAKEN_S), self.app.screen
        while isinstance(screen, CommandPalette) and not patience.over and any(
                worker.node is screen and not worker.is_finished for worker in self.app.workers):
            await asyncio.sleep(0.01)

    async def _question_stands(self, at_most_s: float = QUESTION_S) -> float:
        """While an action is under way that asks, wait a moment until its question takes keys; when it was last seen
        not to take any, by the clock of events."""
        end, before = monotonic() + at_most_s, get_time()
        while self.flows and monotonic() < end:
            if self.app.screen is not self.app.main and self.app.screen.focused is not None:
                break
            before = get_time()
            await asyncio.sleep(0.005)
        return before
