"""Numbers as people write them: a closed grammar. What is not in it is refused, with the readings it might have.

    quantity    = number [space] unit  |  parts  |  zero
    number      = [sign] (decimal | fraction | mixed)
    decimal     = (digits ["." [digits]]  |  digits "," digits  |  ("." | ",") digits) [exponent]
    exponent    = ("e" | "E") [sign] digit {digit}                            up to four digits
    fraction    = numerator "/" denominator  |  vulgar                        "3/4", "¾"
    mixed       = digits (space | "-") proper  |  digits [space | "-"] vulgar "1 1/2", "1-1/2", "1 ½", "1½"
    parts       = whole unit {whole unit} number unit                         "1 h 20 min", 6' 3 1/2"
    zero        = a number that is zero, without a unit                       see below
    sign        = "+"  |  "-", and the typographic minus and dashes for it
    digit       = "0" to "9" of ASCII; no others
    vulgar      = one of the signs ½ ¼ ¾ ⅓ ⅔ ⅕ ⅖ ⅗ ⅘ ⅙ ⅚ ⅐ ⅛ ⅜ ⅝ ⅞ ⅑ ⅒

Numerator and denominator have up to three digits and do not begin with 0, but a numerator may be 0. "/" is also the
fraction slash. A proper fraction is below 1. Any white space counts as one space. A unit that begins with a digit
(1/min) has a space before it; spaces around a "/" within a unit count for nothing. In parts the units go from large
to small (d, h, min, s; ft, in), each part is less than one of the unit before it, only the last may be broken, only
the first may have a sign, which is "+", and the others begin with a digit or a vulgar fraction; a hyphen may stand
between feet and inches (6'-3"). An apostrophe before three digits is no foot mark.

Refused, each with what to write instead:

- a comma before three digits ("1,200"): a decimal comma or thousands; a comma elsewhere is a decimal comma, and a
  point always a decimal point ("1.200" is 1.2);
- marks, spaces, apostrophes or underscores between thousands ("1,000,000", "1 200", "1'200");
- a fraction that is also a mixed number without its space ("11/2"); "7/2" has one reading and is read;
- raised, lowered, circled, Roman, full-width and foreign digits ("29²", "②", "Ⅻ", "５", "٣");
- powers of ten in words of their own ("11.7 x 10^-6"), sums, products, ranges, tolerances.

Zero needs no unit where it is the same in all of them: a length, a time, a flow, a volume, a gauge pressure, a share.
A temperature and an absolute pressure need theirs.
"""

from __future__ import annotations

import math
import re

MOST_TEXT = 80
"""Characters of a number and its unit; a longer text is neither."""
VULGAR = {"½": (1, 2), "¼": (1, 4), "¾": (3, 4), "⅓": (1, 3), "⅔": (2, 3), "⅕": (1, 5), "⅖": (2, 5), "⅗": (3, 5),
          "⅘": (4, 5), "⅙": (1, 6), "⅚": (5, 6), "⅐": (1, 7), "⅛": (1, 8), "⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8),
          "⅑": (1, 9), "⅒": (1, 10)}
_SAME = str.maketrans({"−": "-", "–": "-", "‐": "-", "‑": "-", "⁄": "/", "∕": "/"})
_WITH_SIGN = re.compile(rf"([+-]?)(?:([0-9]{{1,9}})[ -]?)?([{''.join(VULGAR)}])")
_WITH_SLASH = re.compile(r"([+-]?)(?:([0-9]{1,9})[ -])?(0|[1-9][0-9]{0,2})/(0|[1-9][0-9]{0,2})(?![0-9.,])")
_DECIMAL = re.compile(r"([+-]?)([0-9]+(?:[.,][0-9]+|\.(?![.,]))?|[.,][0-9]+)(?:[eE]([+-]?[0-9]{1,4})(?![0-9]))?")
_EITHER = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
_GROUPS = re.compile(r"([+-]?)([0-9]{1,3})((?:[.,'’_ ][0-9]{3})+)(?:([.,])([0-9]+))?(?![0-9])")
_MARKED = re.compile(r"[.,]|['’_][0-9]{3}(?![0-9])|_[0-9]")
_POWER = re.compile(r" ?[x×X*·⋅] ?10 ?(?:\^|\*\*)? ?([+-]?[0-9]{1,3})(?![0-9])")
_RAISED = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺", "0123456789-+")
_COUNTED = re.compile(r" 1 ?/ ?[^0-9 ]")
"""A unit such as 1/min behind the number."""


class NumberProblem(ValueError):
    """A text that does not begin with one number: why, and what might have been meant, with all that follows it."""

    def __init__(self, why: str, *readings: str) -> None:
        super().__init__(why)
        self.why, self.readings = why, tuple(dict.fromkeys(readings))


def leading_number(text: str) -> tuple[float, str]:
    """The number at the front of a text, and what follows it without the space. Raises NumberProblem."""
    if len(text) > MOST_TEXT:
        raise NumberProblem("far too long for a number")
    text = " ".join(text.translate(_SAME).split())
    try:
        return _read(text)
    except NumberProblem as problem:
        sound = all(map(_reads, problem.readings))
        raise NumberProblem(problem.why, *(problem.readings if sound else ())) from None


def is_fraction(text: str) -> bool:
    """Whether the number at the front of a text is a fraction or a mixed number: "3/4", "½", "1 1/2"."""
    text = " ".join(text.translate(_SAME).split())
    return bool(_WITH_SIGN.match(text) or _WITH_SLASH.match(text))


def _reads(text: str) -> bool:
    try:
        _read(text)
    except NumberProblem:
        return False
    return True


def _read(text: str) -> tuple[float, str]:
    found = _WITH_SIGN.match(text) or _WITH_SLASH.match(text) or _DECIMAL.match(text)
    if found is None:
        raise _no_number(text)
    rest = text[found.end():]
    _check_end(found[0], rest)
    value = _decimal(found, rest) if found.re is _DECIMAL else _fraction(found, rest)
    return (-value if found[1] == "-" and value else value), rest.strip()


def _fraction(found: re.Match[str], rest: str) -> float:
    """The value of a fraction or mixed number, without its sign."""
    sign, whole = found[1], found[2]
    above, below = VULGAR[found[3]] if found.re is _WITH_SIGN else (int(found[3]), int(found[4]))
    if below == 0:
        raise NumberProblem("a fraction over 0 is no number")
    value = int(whole or 0) + above / below
    if above >= below and whole:
        raise NumberProblem("the fraction of a mixed number is below 1", f"{sign}{value:.9g}{rest}")
    split = _split(found[3], below) if above >= below else ""
    if split:
        raise NumberProblem("it may be a fraction, or a mixed number without its space",
                            f"{sign}{value:.9g}{rest}", f"{sign}{split}{rest}")
    return value


def _split(above: str, below: int) -> str:
    """The mixed number that a fraction above 1 would be with a space in it; "" where there is none."""
    for split in range(1, len(above)):
        whole, part = above[:split], above[split:]
        if part[0] != "0" and int(part) < below:
            return f"{whole} {part}/{below}"
    return ""


def _decimal(found: re.Match[str], rest: str) -> float:
    """The value of a decimal number, without its sign."""
    sign, digits, power = found.groups()
    tail = f"e{power}" if power else ""
    if _EITHER.fullmatch(digits):
        raise NumberProblem("a comma before three digits can mean either",
                            *(f"{sign}{digits.replace(',', mark)}{tail}{rest}" for mark in ("", ".")))
    value = float(digits.replace(",", ".") + tail)
    if not math.isfinite(value):
        raise NumberProblem("too large for any quantity")
    if value == 0 and digits.strip("0.,"):
        raise NumberProblem("too small for any quantity")
    return value


def _no_number(text: str) -> NumberProblem:
    """Why nothing at the front of the text can be read."""
    if not text:
        return NumberProblem("nothing was written")
    if re.match(r"[+-] [0-9.,]", text):
        return NumberProblem("the sign stands next to its number", text[0] + text[2:])
    if text[0] == "±":
        return NumberProblem("± belongs to a range, which is given by itself")
    plain = _in_plain_digits(text)
    if plain != text:
        return NumberProblem("only the digits 0 to 9 are read", plain)
    return NumberProblem("a number comes first")


def _check_end(number: str, rest: str) -> None:
    """See that the number ends where its reading ended: nothing that might belong to it follows."""
    if not rest.strip():
        return
    last = rest.strip()
    if last[0] in "+-±…" or re.match(r"\.\.|to [0-9]", last):
        raise NumberProblem("one number is wanted; a range is given by itself")
    grouped = _GROUPS.match(number + rest)
    if _MARKED.match(rest) or (grouped and len(grouped[0]) > len(number) and last[0].isdigit() and last[0].isascii()):
        raise _marked(number, rest, grouped)
    power = _POWER.match(rest.translate(_RAISED))
    if power:
        after = rest[power.end():]
        raise NumberProblem("a power of ten is written with e", f"{number}e{power[1].lstrip('+')}{after}")
    if (last[0] in "*^×" and any(map(str.isnumeric, last))) or (last[0] == "/" and last[1:].lstrip()[:1].isnumeric()):
        raise NumberProblem("sums are not worked out here")
    if last[0] in "·⋅":
        raise NumberProblem("a raised point is not read", *([f"{number}.{last[1:]}"] if last[1:2].isdigit() else ()))
    if last[0] in "⁺⁻" or _is_digit(last[0]):
        raise _odd_digit(number, rest)
    if last[0] in VULGAR or (last[0].isdigit() and not _COUNTED.match(rest)):
        raise NumberProblem("two numbers follow each other")


def _marked(number: str, rest: str, grouped: re.Match[str] | None) -> NumberProblem:
    """The problem of marks between digits, with the reading that has none where the groups are of three."""
    why = "no marks or spaces stand between the thousands"
    if grouped is None:
        return NumberProblem("nothing stands behind the comma", number + rest[1:]) \
            if re.match(r",(?![0-9.,])", rest) else NumberProblem(why)
    sign, first, groups, mark, decimals = grouped.groups()
    after = (number + rest)[grouped.end():]
    marks = set(re.sub("[0-9]", "", groups))
    if mark is None and len(marks) == 2 and groups[-4] in ".,":
        groups, mark, decimals = groups[:-4], groups[-4], groups[-3:]
        marks = set(re.sub("[0-9]", "", groups))
    if len(marks) > 1 or mark in marks or _MARKED.match(after):
        return NumberProblem(why)
    return NumberProblem(why, sign + first + re.sub("[^0-9]", "", groups) + (f".{decimals}" if mark else "") + after)


def _odd_digit(number: str, rest: str) -> NumberProblem:
    """The problem of a digit that is none of 0 to 9 right behind a number."""
    from unicodedata import decimal

    odd = rest.lstrip()
    if odd[0] in "⁺⁻":
        power = re.match("[⁺⁻][⁰¹²³⁴⁵⁶⁷⁸⁹]{1,3}", odd)
        ten = power and re.fullmatch(r"([+-]?)10", number)
        if power is None or ten is None:
            return NumberProblem("powers are not worked out here")
        return NumberProblem("a power of ten is written with e",
                             f"{ten[1]}1e{power[0].translate(_RAISED)}{odd[power.end():]}")
    length = next((n for n, sign in enumerate(odd) if not _is_digit(sign)), len(odd))
    digits, after = _in_plain_digits(odd[:length]), odd[length:]
    if after[:1] == "/":
        return NumberProblem("a fraction is written with plain digits", f"{number} {digits}{_in_plain_digits(after)}")
    if all(decimal(sign, None) is not None for sign in odd[:length]):
        return NumberProblem("only the digits 0 to 9 are read", f"{number}{digits}{after}")
    return NumberProblem(f"{odd[:length]} may be a note, a digit or a power", f"{number}{after}",
                         f"{number}{digits}{after}")


def _is_digit(sign: str) -> bool:
    """Whether a sign stands for a number and is neither an ASCII digit nor a vulgar fraction."""
    from unicodedata import category, numeric

    return category(sign) in ("Nd", "Nl", "No") and numeric(sign, None) is not None \
        and not ("0" <= sign <= "9") and sign not in VULGAR


def _in_plain_digits(text: str) -> str:
    """The text with the digits and marks of other scripts and styles in ASCII."""
    from unicodedata import numeric

    marks = {"．": ".", "，": ",", "٫": ".", "٬": "", "＋": "+", "－": "-", "／": "/"}
    return "".join(f"{numeric(sign):.9g}" if _is_digit(sign) else marks.get(sign, sign) for sign in text)
