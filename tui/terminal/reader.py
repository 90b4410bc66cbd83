"""What a terminal sends, as events: keys, pastes, the mouse. No bytes stop the reading."""

from __future__ import annotations

import re
from codecs import getincrementaldecoder
from collections.abc import Generator, Iterator
from time import monotonic

from textual import events
from textual._xterm_parser import XTermParser
from textual.message import Message

ESCAPE_S = 0.1
"""An escape sequence is cut short when nothing has followed for so long: the key Esc, as a rule."""
PASTE_S = 0.5
"""A paste without its end is over when nothing has come for so long."""
MOST_PASTED = 100_000
"""Characters of a paste that are kept; no field takes nearly as many."""
LARGEST = 10_000
"""Columns or rows that a terminal may say it has."""
PASTE, PASTE_END = "\x1b[200~", "\x1b[201~"

_WHOLE = re.compile(
    r"\x1b(?:\[\[[A-Za-z]"              # function keys of a plain console
    r"|\[M[\s\S]{3}"                    # the mouse, in its oldest form
    r"|\[[0-?]*[ -/]*[@-LN-Z\\-~]"      # control sequences
    r"|\[[0-?]+[ -/]*M"                 # the mouse
    r"|\[[0-9;]+\$"                     # keys with Shift of some terminals
    r"|O[0-9;]*[@-~]"                   # keys of the number pad
    r"|[\]PX^_][^\x07\x1b]*(?:\x07|\x1b\\)"  # answers and messages
    r"|[^\[O\]PX^_\x1b])")
_BEGUN = re.compile(r"\x1b(?:\[\[|\[M[\s\S]{0,2}|\[[0-?]*[ -/]*|O[0-9;]*|[\]PX^_][^\x07\x1b]*\x1b?)?\Z")
_BROKEN = re.compile(r"\x1b(?:\[[0-?]*[ -/]*|O[0-9;]*|[\]PX^_][^\x07\x1b]*)?")
LONGEST_KEY = 32
"""Characters of the longest report of a key or the mouse."""
LONGEST = 4096
"""Characters of one sequence; anything longer is none."""


class Reader:
    """Turns bytes into events."""

    def __init__(self) -> None:
        self._decode = getincrementaldecoder("utf-8")(errors="replace").decode
        self._parser = XTermParser()
        self._text = ""
        """What has come and is not yet understood: the beginning of a sequence, or of the end of a paste."""
        self._pasted: list[str] | None = None
        self._came = 0.0

    def feed(self, data: bytes) -> Iterator[Message]:
        """The events of these bytes; what may still go on waits for more."""
        self._text += self._decode(data)
        self._came = monotonic()
        while self._text:
            if self._pasted is not None:
                done = yield from self._paste()
            elif self._text[0] == "\x1b":
                done = yield from self._sequence()
            else:
                plain, escape, rest = self._text.partition("\x1b")
                self._text = escape + rest
                yield from self._parsed(plain)
                done = True
            if not done:
                return

    def tick(self) -> Iterator[Message]:
        """The events of what was begun and has not been ended in time; to be called every tenth of a second."""
        since = monotonic() - self._came
        if self._pasted is not None:
            if since >= PASTE_S:
                self._pasted.append(self._text)
                self._text = ""
                yield self._end_of_paste()
        elif self._text and since >= ESCAPE_S:
            text, self._text = self._text, ""
            if text == "\x1b":
                yield events.Key("escape", "\x1b")
            elif text in ("\x1b[", "\x1bO"):
                yield events.Key(f"alt+{'left_square_bracket' if text[1] == '[' else 'shift+o'}", text[1])

    def _paste(self) -> Generator[Message, None, bool]:
        """Take in text of a paste; whether there is more to do with what has come."""
        assert self._pasted is not None
        text, mark, rest = self._text.partition(PASTE_END)
        if not mark:  # the end may have come in part
            whole = next((n for n in range(len(PASTE_END) - 1, 0, -1) if text.endswith(PASTE_END[:n])), 0)
            text, rest = text[:len(text) - whole], text[len(text) - whole:]
        if sum(map(len, self._pasted)) < MOST_PASTED:
            self._pasted.append(text[:MOST_PASTED])
        self._text = rest
        if mark:
            yield self._end_of_paste()
        return bool(mark)

    def _end_of_paste(self) -> events.Paste:
        text = "".join(self._pasted or ()).replace("\x00", "")
        self._pasted = None
        return events.Paste(text)

    def _sequence(self) -> Generator[Message, None, bool]:
        """Take one escape sequence; whether it was whole."""
        found = _WHOLE.match(self._text)
        if found is None:
            if len(self._text) < LONGEST and _BEGUN.match(self._text):
                return False
            broken = _BROKEN.match(self._text)
            assert broken is not None
            self._text = self._text[broken.end():]
            if broken[0] == "\x1b":  # the key, twice
                yield events.Key("escape", "\x1b")
            return True
        sequence, self._text = found[0], self._text[found.end():]
        if sequence == PASTE:
            self._pasted = []
        elif len(sequence) == 2 and (alone := self._with_alt(sequence)):
            yield from alone
        elif sequence != PASTE_END and len(sequence) <= LONGEST_KEY and sequence[1] not in "]PX^_":
            yield from self._parsed(sequence)
        return True

    def _with_alt(self, sequence: str) -> list[Message]:
        """The key that is held together with Alt; nothing where the two are a key of their own, as no digit is."""
        keys = self._parser._sequence_to_key_events
        own = not sequence[1].isdigit() and list(keys(sequence))
        return [] if own else list(keys(sequence[1], alt=True))

    def _parsed(self, text: str) -> Iterator[Message]:
        """The events of plain text, or of one whole sequence; one that is unknown or cannot be is none at all."""
        got: list[Message] = []
        try:
            got.extend(self._parser.feed(text))
            whole = self._parser._awaiting.timeout is None
        except (ValueError, OverflowError, StopIteration, RuntimeError, IndexError, ZeroDivisionError, LookupError):
            whole = False
        if not whole:  # it would swallow the keys that follow
            got.clear()
            before, self._parser = self._parser, XTermParser()
            for name in ("last_x", "last_y", "mouse_pixels", "terminal_size", "terminal_pixel_size"):
                setattr(self._parser, name, getattr(before, name))
        return iter([event for event in got if _sound(event)])


def _sound(event: Message) -> bool:
    """Whether the screen can make something of it."""
    if isinstance(event, events.Resize):
        return 0 < event.size.width <= LARGEST and 0 < event.size.height <= LARGEST
    if isinstance(event, events.Key) and event.character is not None:
        return not any("\ud800" <= sign <= "\udfff" for sign in event.character)
    return True
