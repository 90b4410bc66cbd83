"""The bytes of a text file in one form: UTF-8, line ends as one character, whatever wrote it."""

from __future__ import annotations

import os

from fillcalc.case.disk import NotAFile, TooLarge, read_ordinary
from fillcalc.case.problems import CaseProblems, Problem

MOST_BYTES = 120_000_000
"""A million rows of a clock, a pressure and a temperature have a third of it."""
MOST_ROWS = 1_100_000
"""Lines of a file: a million rows, and room for a head."""
LOOK = 4096
"""Bytes by which UTF-16 without a mark is told."""


def problem(name: str, found: str, expected: str, line: int = 0, hint: str = "") -> CaseProblems:
    """The one thing that makes a file unusable."""
    return CaseProblems((Problem(name, line, "", found, expected, hint),))


def bytes_of(path: str | os.PathLike[str]) -> bytes:
    """The bytes of an ordinary file of legal size. Raises CaseProblems."""
    name = os.path.basename(path) or str(path)
    try:
        return read_ordinary(path, MOST_BYTES)
    except NotAFile:
        raise problem(name, "", "this is no ordinary file") from None
    except TooLarge:
        raise problem(name, f"more than {MOST_BYTES // 1_000_000} MB", "give the part of the record with the test") \
            from None
    except OSError as error:
        raise problem(name, "", f"the file cannot be read: {error.strerror or 'unknown reason'}") from None
    except ValueError:
        raise problem(name, "", "this is no file name") from None


def plain_text(data: bytes, name: str) -> tuple[bytes, str]:
    """The text as UTF-8 with line ends as \\n, and how it was written: "UTF-8", "UTF-16" or "Latin-1".

    A text that is no UTF-8 is taken as Latin-1, where a degree sign is one byte. Raises CaseProblems for what is no
    text, and for one with too many lines.
    """
    encoding, text = "UTF-8", data.removeprefix(b"\xef\xbb\xbf")
    wide = _wide(data)
    if wide:
        encoding = "UTF-16"
        try:
            text = data.decode(wide).removeprefix("\ufeff").encode("utf-8")
        except (UnicodeDecodeError, UnicodeEncodeError):
            raise problem(name, "UTF-16 with a character cut", "save the file again as text") from None
    else:
        try:
            text.decode("utf-8")
        except UnicodeDecodeError:
            encoding, text = "Latin-1", text.decode("cp1252", "replace").encode("utf-8")
    if b"\0" in text:
        at = text.index(b"\0")
        raise problem(name, "a NUL character", "this is not a text file", text.count(b"\n", 0, at) + 1)
    if b"\r" in text:
        text = text.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    if not text.strip():
        raise problem(name, "an empty file", "give a file with rows of time and pressure")
    if text.count(b"\n") > MOST_ROWS:
        raise problem(name, f"{text.count(bytes([10]))} lines", "a million rows are read at most: give the part of the "
                      "record with the test")
    return text, encoding


def _wide(data: bytes) -> str:
    """The UTF-16 of a file, by its mark or by the NULs beside its letters; "" where it is none."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    head = data[:LOOK]
    if len(data) % 2 == 0 and len(head) >= 4:
        even, odd = head[0::2].count(0), head[1::2].count(0)
        if odd > 0.4 * len(head[1::2]) and not even:
            return "utf-16-le"
        if even > 0.4 * len(head[0::2]) and not odd:
            return "utf-16-be"
    return ""
