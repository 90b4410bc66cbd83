"""How a value from outside is known, and the words for it."""

from __future__ import annotations

from enum import StrEnum


class Provenance(StrEnum):
    """How a value from outside is known; the first two are published."""

    READ = "read"
    """Seen in the source itself."""
    SECOND_HAND = "second-hand"
    """Seen in a page that quotes the source."""
    MEMORY = "memory"
    """Known, and not checked against the source."""
    COMPUTED = "computed"
    """Computed here with a named library and version."""
    COMMON_PRACTICE = "common practice"
    """Usual in the trade; no source that can be found again."""


PUBLISHED = (Provenance.READ, Provenance.SECOND_HAND)


def describe(known: Provenance, quoted_in: str = "") -> str:
    """Return how a value is known, in words: "second-hand: quoted in a valve maker's page"."""
    return {
        Provenance.READ: "read in the standard",
        Provenance.SECOND_HAND: f"second-hand: quoted in {quoted_in}",
        Provenance.MEMORY: "not checked against the standard",
        Provenance.COMPUTED: "computed here",
        Provenance.COMMON_PRACTICE: "common practice, no source",
    }[known]
