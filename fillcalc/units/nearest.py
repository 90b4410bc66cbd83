"""What somebody who mistyped a word may have meant."""

from __future__ import annotations

from collections.abc import Iterable

LIKENESS = 0.6
MEANT = {"horizontal": "lying", "vertical": "standing", "upright": "standing", "hosebib": "tap", "hose bib": "tap",
         "hose_bib": "tap", "faucet": "tap", "spigot": "tap", "pipeline": "pipe run", "piping": "pipe run"}
"""Words of the trade that are spelt quite unlike ours and mean the same."""


def nearest(word: str, known: Iterable[str]) -> str:
    """The known word that is most like this one; "" where none is like it."""
    from difflib import get_close_matches

    for said, ours in MEANT.items():
        word = word.replace(said, ours)
    return next(iter(get_close_matches(word, list(known), 1, LIKENESS)), "")
