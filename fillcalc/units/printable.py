"""The one door through which foreign text reaches a screen, a page or a terminal."""

from __future__ import annotations

import re

LONGEST = 200
"""Characters of a foreign text that are shown; the middle of a longer one is cut out."""

_PLAIN = frozenset(map(chr, range(0x20, 0x7F)))
_MARKED = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
_BLANK = frozenset("\u115f\u1160\u3164\uffa0\u2800\u034f")
_MOST_COMBINING = 2


def shown(text: str, longest: int = LONGEST, keep_lines: bool = False) -> str:
    """The text with every control, bidi and invisible character turned into a mark such as <U+001B>.

    `longest` cuts a long text, leaving its two ends; `keep_lines` lets line ends through. Any text is
    taken, lone surrogates and file names that are not UTF-8 included; the result can always be
    encoded as UTF-8. Two combining marks on a letter are let through, further ones are marked.
    """
    if len(text) > longest:
        head = longest * 2 // 3
        tail = longest - head
        text = f"{text[:head]} ... {text[-tail:]}"
    if _PLAIN.issuperset(text):
        return text
    import unicodedata

    pieces: list[str] = []
    combining = 0
    for character in text:
        if character in _PLAIN or (keep_lines and character == "\n"):
            pieces.append(character)
            combining = 0
            continue
        category = unicodedata.category(character)
        combining = combining + 1 if category in ("Mn", "Me") else 0
        variation = "\ufe00" <= character <= "\ufe0f" or "\u180b" <= character <= "\u180f"
        if category in _MARKED or character in _BLANK or variation or combining > _MOST_COMBINING:
            pieces.append(f"<U+{ord(character):04X}>")
        elif category == "Zs":
            pieces.append(" ")
        else:
            pieces.append(character)
    return "".join(pieces)


_APART = re.compile(r"(?<=\d) (?=[^\s\d·;,.]{1,7}(?:[\s;,.)]|$))|(?<=\d h) (?=\d\d min)|(?<=\d) (?=(?:imp|US) gal)"
                    r"|(?<=\d to) (?=[-\d])|(?<=\S) (?=· )|(?<=\bUS) (?=gal)|(?<=\bimp) (?=gal)|(?<=×) (?=\d)")
"""Spaces between a number and its unit, between the ends of a range, beside a sign that multiplies, and before a dot
that divides."""


def together(text: str) -> str:
    """The text with each number held to its unit and to the other end of its range: no line ends between them, and none
    begins with a dot that divides."""
    return _APART.sub("\u00a0", text)
