"""One thing, one word: words that mean nothing to an engineer who reads the code or the screen."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
CODE = sorted(path for room in ("fillcalc", "tui") for path in (ROOT / room).rglob("*.py"))
READ = [*CODE, ROOT / "README.md", ROOT / "DEVELOPERS.md"]

PRIVATE = re.compile(r"\b(desk|van|mend|mended|newcomer|dead-?heads?|reckon\w*)\b", re.IGNORECASE)
"""Words with a better one: drafts, kit, fix, user, stall pressure, calculate."""
ALLOWED = {"dead-head": ("records.py", "assume.py")}
"""A measured stall may be called a dead-head where it is described how to measure it."""
NAMES = {"tries": "samples", "Tries": "Samples", "tried": "sampled", "desk": "drafts", "Desk": "DraftStore",
         "van": "kit", "told": "text, lines, sentences, shown: what it is"}
"""Identifiers, and what they are called instead."""


def identifiers(tree: ast.AST) -> Iterator[str]:
    """Every name that the code of a tree defines or uses."""
    for node in ast.walk(tree):
        for field in ("id", "arg", "attr", "name"):
            value = getattr(node, field, None)
            if isinstance(value, str):
                yield value


def test_no_private_word_is_read() -> None:
    wrong = [f"{path.relative_to(ROOT)}:{number}: {found[0]}" for path in READ
             for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
             for found in PRIVATE.finditer(line)
             if not any(part in str(path) for part in ALLOWED.get(found[0].lower(), ()))]
    assert not wrong, "\n".join(wrong)


def test_no_private_word_is_a_name() -> None:
    wrong = [f"{path.relative_to(ROOT)}: {name}, call it {NAMES[name]}" for path in CODE
             for name in sorted(set(identifiers(ast.parse(path.read_text(encoding="utf-8")))))
             if name in NAMES]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("text", ["a desk", "What is in the van", "1 to mend"])
def test_the_patterns_would_notice(text: str) -> None:
    assert PRIVATE.search(text) and not PRIVATE.search("a desktop, an advantage, an amendment")
    assert set(identifiers(ast.parse("def tries(desk): return van.rate"))) == {"tries", "desk", "van", "rate"}
