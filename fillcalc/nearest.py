"""What somebody who mistyped a word may have meant."""

from __future__ import annotations

from collections.abc import Iterable

LIKENESS = 0.6


def nearest(word: str, known: Iterable[str]) -> str:
    """The known word that is most like this one; "" where none is like it."""
    from difflib import get_close_matches

    return next(iter(get_close_matches(word, list(known), 1, LIKENESS)), "")
