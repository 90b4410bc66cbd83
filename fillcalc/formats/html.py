"""The pieces a page is made of. Every text passes `text`; nothing else here takes one.

What is already HTML is a `Html`, so that a text that was not escaped is a mistake the type check sees.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from typing import NewType

from fillcalc.units.printable import shown, together

Html = NewType("Html", str)

LONGEST_SENTENCE = 3000
LONGEST_NOTE = 1200


def text(words: str, longest: int = LONGEST_SENTENCE) -> Html:
    """Any text, foreign or our own: marks for what cannot be seen, and escaped."""
    return Html(escape(shown(words, longest)))


def held(words: str) -> Html:
    """As `text`, with each number held to its unit."""
    return Html(together(text(words)))


def lines(words: str) -> Html:
    """A text whose line ends count."""
    return Html(escape(shown(words.strip(), LONGEST_NOTE, keep_lines=True)).replace("\n", "<br>"))


def joined(parts: Iterable[Html], between: str = "\n") -> Html:
    """The parts that are not empty, one after the other."""
    return Html(between.join(part for part in parts if part))


def element(tag: str, inside: Html, kind: str = "", name: str = "") -> Html:
    """An element of this class, with its name within the page; nothing where there is nothing inside."""
    return Html(f'<{tag}{_named("class", kind)}{_named("id", name)}>{inside}</{tag}>') if inside else Html("")


def paragraph(words: str, kind: str = "") -> Html:
    """Foreign or own words as a paragraph, escaped."""
    return element("p", held(words), kind)


def section(title: str, *inside: Html, kind: str = "block", name: str = "") -> Html:
    """A titled part; nothing where there is nothing inside."""
    body = joined(inside)
    return element("section", joined([element("h3", text(title)), body]), kind, name) if body else Html("")


def link(name: str, words: str) -> Html:
    """A link to a part of this page."""
    return Html(f'<a href="#{name}">{text(words)}</a>')


def listed(sentences: Iterable[str], kind: str = "") -> Html:
    """Sentences as a list, each escaped."""
    return element("ul", joined((element("li", held(each)) for each in sentences), " "), kind)


def table(rows: Sequence[Sequence[str]], head: bool = False, kind: str = "", bold: int = -1) -> Html:
    """Rows of cells, the first of a row its name; `head` where the first row names the columns.

    `bold` is the place of a row that stands out, such as a total, counted without the head.
    """
    if not rows:
        return Html("")
    body = rows[1:] if head else rows
    top = element("thead", _row(rows[0], "th", "col")) if head else Html("")
    found = [_row(row, "td", "row", "bold" if place == bold else "") for place, row in enumerate(body)]
    return element("table", joined([top, element("tbody", joined(found, ""))], ""), kind)


def _row(cells: Sequence[str], tag: str, scope: str, kind: str = "") -> Html:
    first = Html(f'<th scope="{scope}">{text(cells[0])}</th>')
    rest = [Html(f'<{tag}{" scope=" + chr(34) + scope + chr(34) if tag == "th" else ""}>{text(cell)}</{tag}>')
            for cell in cells[1:]]
    return element("tr", joined([first, *rest], ""), kind)


def _named(attribute: str, value: str) -> str:
    return f' {attribute}="{value}"' if value else ""
