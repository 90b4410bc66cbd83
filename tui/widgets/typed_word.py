"""Choosing among words by the letters they begin with: one rule, at a choice of the form and in a list of answers."""

from __future__ import annotations

from collections.abc import Sequence
from time import monotonic

from textual import events

WORD_S = 1.0
"""Letters that come quicker than that, one after the other, are the beginning of one word."""


class TypedWord:
    """The letters that came one after the other, and whether any word begins with them."""

    def __init__(self) -> None:
        self.letters = ""
        self._end = 0.0
        self._in_vain = False

    def take(self, event: events.Key) -> bool:
        """Take the letter of a key; False for a key that is none."""
        letter, goes_on = event.character or "", monotonic() < self._end
        if not letter.isprintable() or not letter or event.key.startswith(("alt+", "ctrl+")) \
                or (letter.isspace() and not goes_on):
            return False
        event.stop()
        event.prevent_default()
        self.put(f"{self.letters}{letter}" if goes_on else letter)
        return True

    def put(self, text: str) -> None:
        """Take a whole text as the beginning of a word."""
        self.letters, self._end = text, monotonic() + WORD_S

    def end(self) -> None:
        """The next letter begins another word."""
        self._end = 0.0

    def find(self, words: Sequence[tuple[str, str]], now: str) -> str:
        """The word that they are the beginning of, from the one there is now on; "" where there is none."""
        word = word_begun(words, now, self.letters)
        self._in_vain = not word
        return word

    def ended_in_vain(self) -> bool:
        """Whether an Enter is the end of letters, typed just now, that begin no word."""
        vain = self._in_vain and monotonic() < self._end
        if vain:
            self.end()
        return vain


def begun(words: Sequence[tuple[str, str]], typed: str) -> list[str]:
    """The words, of those each with its label, whose label begins with what was typed; one letter again and again is
    that letter, where none begins so."""
    sought = [typed, typed[0]] if len(set(typed)) == 1 else [typed]
    found = ([word for word, label in words if label.casefold().startswith(each.casefold())] for each in sought)
    return next(filter(None, found), [])


def word_begun(words: Sequence[tuple[str, str]], now: str, typed: str) -> str:
    """One of these: one letter, once or again and again, goes on from the word there is now, more keep to it."""
    keys, found = [word for word, _ in words], begun(words, typed)
    start = keys.index(now) + (len(set(typed)) == 1) if now in keys else 0
    return next((word for word in (*keys[start:], *keys[:start]) if word in found), "")
