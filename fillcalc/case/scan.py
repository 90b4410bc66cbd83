"""A scan of the text before and beside the TOML parser: limits that keep it from hanging, and lines."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

DEEPEST = 12
"""Brackets within brackets."""
MOST_DOTS = 12
"""Dots in one key."""
LONGEST_WORD = 200
"""Characters of a key or number without quotes; more digits than that cost time for nothing."""

_TOKEN = re.compile(r"""[^\S\n]+|\n\s*|\#[^\n]*|["']|[\[\]{}=,.]|[^\s\#"'\[\]{}=,.]+""")
_BASIC_END = re.compile(r'(?:[^"\\\n]|\\.)*+"')
_LITERAL_END = re.compile(r"[^'\n]*+'")
_LONG_BASIC_END = re.compile(r'(?:[^"\\]|\\.|"(?!""))*+"""(?:"{0,2})', re.DOTALL)
_LONG_LITERAL_END = re.compile(r"(?:[^']|'(?!''))*+'''(?:'{0,2})")


class Token(NamedTuple):
    """A piece of the text: a sign, a word, a string or a line end, and the line where it begins."""

    kind: str
    """The sign itself, or word, string, line."""
    text: str
    line: int


def tokens(text: str) -> Iterator[Token]:
    """The pieces of a TOML text in order, without blanks and comments; stops where a string never ends."""
    start, line = 0, 1
    while start < len(text):
        found = _TOKEN.match(text, start)
        if found is None:
            return
        piece = found.group()
        if piece in ('"', "'"):
            end = _string_end(text, start)
            if end < 0:
                return
            piece = text[start:end]
            yield Token("string", piece, line)
            line += piece.count("\n")
            start = end
            continue
        start = found.end()
        if piece[0] == "\n":
            yield Token("line", "\n", line)
            line += piece.count("\n")
        elif piece in "[]{}=,.":
            yield Token(piece, piece, line)
        elif piece[0] != "#" and not piece.isspace():
            yield Token("word", piece, line)


def _string_end(text: str, start: int) -> int:
    quote = text[start]
    if text.startswith(quote * 3, start):
        found = (_LONG_BASIC_END if quote == '"' else _LONG_LITERAL_END).match(text, start + 3)
    else:
        found = (_BASIC_END if quote == '"' else _LITERAL_END).match(text, start + 1)
    return found.end() if found else -1


def beyond_limits(text: str) -> tuple[int, str, str] | None:
    """Line, what was found and what is wanted, where the text is too deep or too long to be a case."""
    depth = dots = 0
    for token in tokens(text):
        kind = token.kind
        if kind in "[{":
            depth += 1
            if depth > DEEPEST:
                return token.line, "brackets within brackets", f"no more than {DEEPEST} deep"
        elif kind in "]}":
            depth = max(depth - 1, 0)
        if kind == ".":
            dots += 1
            if dots > MOST_DOTS:
                return token.line, "a key of very many parts", f"no more than {MOST_DOTS} dots in a key"
        elif kind not in ("word", "string"):
            dots = 0
        if kind == "word" and len(token.text) > LONGEST_WORD:
            return token.line, token.text[:60], f"no key or number of more than {LONGEST_WORD} characters"
    return None


@dataclass
class _Lines:
    """Follows the keys of a text that TOML has already accepted."""

    rest: list[Token]
    index: int = 0
    lines: dict[str, int] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=dict)

    def peek(self, ahead: int = 0) -> str:
        return self.rest[self.index + ahead].kind if self.index + ahead < len(self.rest) else ""

    def take(self) -> Token:
        self.index += 1
        return self.rest[self.index - 1]

    def skip(self, *kinds: str) -> None:
        while self.peek() in kinds:
            self.index += 1

    def key(self) -> list[str]:
        parts: list[str] = []
        while self.peek() in ("word", "string", "."):
            token = self.take()
            if token.kind != ".":
                parts.append(token.text[1:-1] if token.kind == "string" else token.text)
        return parts

    def note(self, base: str, parts: list[str], line: int) -> str:
        """The path of a key under a base, its line noted, and that of what lies between."""
        path = base
        for part in parts:
            path = f"{path}.{part}" if path else part
            if path in self.counts:
                path = f"{path}.{self.counts[path]}"
            self.lines.setdefault(path, line)
        return path

    def all(self) -> dict[str, int]:
        base = ""
        while self.index < len(self.rest):
            self.skip("line")
            if not self.peek():
                break
            before, line = self.index, self.rest[self.index].line
            if self.peek() == "[":
                base = self.header(line)
            else:
                path = self.note(base, self.key(), line)
                if self.peek() == "=":
                    self.take()
                    self.value(path)
            if self.index == before:
                self.take()
        return self.lines

    def header(self, line: int) -> str:
        many = self.peek(1) == "["
        self.skip("[")
        parts = self.key()
        self.skip("]")
        if not many:
            return self.note("", parts, line)
        above = self.note("", parts[:-1], line)
        path = f"{above}.{parts[-1]}" if above else (parts[-1] if parts else "")
        self.counts[path] = self.counts.get(path, 0) + 1
        self.lines.setdefault(path, line)
        self.lines[f"{path}.{self.counts[path]}"] = line
        return f"{path}.{self.counts[path]}"

    def value(self, path: str) -> None:
        kind = self.peek()
        if kind == "[":
            self.take()
            number = 0
            self.skip("line", ",")
            while self.peek() not in ("]", ""):
                number += 1
                before = self.index
                self.lines.setdefault(f"{path}.{number}", self.rest[self.index].line)
                self.value(f"{path}.{number}")
                self.skip("line", ",")
                if self.index == before:
                    self.take()
            self.skip_one("]")
        elif kind == "{":
            self.take()
            while self.peek() not in ("}", ""):
                before = self.index
                inner = self.note(path, self.key(), self.rest[min(before, len(self.rest) - 1)].line)
                if self.peek() == "=":
                    self.take()
                    self.value(inner)
                self.skip("line", ",")
                if self.index == before:
                    self.take()
            self.skip_one("}")
        else:
            self.skip("word", "string", ".")

    def skip_one(self, kind: str) -> None:
        if self.peek() == kind:
            self.take()


def lines_of(text: str) -> dict[str, int]:
    """The line of each path of a text, list places counted from 1; the text has passed `beyond_limits`."""
    return _Lines(list(tokens(text))).all()
