"""A second reader of quantities, written from the grammar in `fillcalc/numerals.py` and from nothing else of it.

It tries every way of cutting a text into a number and a unit of a closed list, walks the number letter by letter, and
reckons with fractions. It imports nothing of the library.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

INCH = Fraction(254, 10000)
FACTORS = {
    "length": {"m": Fraction(1), "mm": Fraction(1, 1000), "km": Fraction(1000), "in": INCH, '"': INCH, "''": INCH,
               "ft": 12 * INCH, "'": 12 * INCH, "in.": INCH, "ft.": 12 * INCH, "mi": 63360 * INCH,
               "cm": Fraction(1, 100)},
    "time": {"s": Fraction(1), "min": Fraction(60), "mins": Fraction(60), "min.": Fraction(60), "h": Fraction(3600),
             "d": Fraction(86400)},
    "stroke rate": {"/min": Fraction(1, 60), "1/min": Fraction(1, 60), "x/min": Fraction(1, 60), "/s": Fraction(1),
                    "1/s": Fraction(1), "/h": Fraction(1, 3600)},
}
STEPS = {"length": (("ft", "ft.", "'"), ("in", "in.", '"', "''")),
         "time": (("d",), ("h",), ("min", "mins", "min."), ("s",)), "stroke rate": ()}
PRIMES = {"″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "⁄": "/", "∕": "/"}
SIGNS, MINUS, SLASH = "+-−–‐‑", "-−–‐‑", "/⁄∕"
VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅓": "1/3", "⅔": "2/3", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5",
          "⅙": "1/6", "⅚": "5/6", "⅐": "1/7", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅑": "1/9", "⅒": "1/10"}
DIGITS = "0123456789"


class Walk:
    """A text and how far it has been read."""

    def __init__(self, text: str) -> None:
        self.text, self.at = text, 0

    @property
    def next(self) -> str:
        return self.text[self.at:self.at + 1]

    def take(self, among: str) -> str:
        """The next letter if it is one of these, else nothing."""
        letter = self.next
        if letter and letter in among:
            self.at += 1
            return letter
        return ""

    def digits(self) -> str:
        start = self.at
        while self.take(DIGITS):
            pass
        return self.text[start:self.at]

    @property
    def done(self) -> bool:
        return self.at == len(self.text)


def number(text: str) -> Fraction | None:
    """The value of a text that is one number of the grammar, from its first letter to its last; None for all else."""
    sign = -1 if text[:1] and text[0] in MINUS else 1
    body = text[1:] if text[:1] and text[0] in SIGNS else text
    values = [value for value in (_decimal(body), _broken(body)) if value is not None]
    assert len(values) <= 1, f"two readings: {text!r}"
    return sign * values[0] if values else None


def _decimal(body: str) -> Fraction | None:
    walk = Walk(body)
    before = walk.digits()
    mark = walk.take(".,")
    behind = walk.digits() if mark else ""
    if (not before and not behind) or (mark == "," and not behind):
        return None
    if mark == "," and len(behind) == 3 and 1 <= len(before) <= 3 and before[0] != "0":
        return None  # thousands, or a decimal comma
    power = 0
    if walk.take("eE"):
        down = walk.take(SIGNS)
        digits = walk.digits()
        if not 1 <= len(digits) <= 4:
            return None
        power = int(digits) * (-1 if down and down in MINUS else 1)
    if not walk.done:
        return None
    value = Fraction(int(before + behind or "0")) * Fraction(10) ** (power - len(behind))
    return value if value == 0 or Fraction(10) ** -323 < value < Fraction(10) ** 308 else None


def _broken(body: str) -> Fraction | None:
    """A fraction, or a whole number and one."""
    for cut in range(len(body)):
        whole, rest = body[:cut], body[cut:]
        joint = ""
        if whole and whole[-1] in " " + MINUS:
            whole, joint = whole[:-1], whole[-1]
        if (joint and not whole) or not all(letter in DIGITS for letter in whole) or len(whole) > 9:
            continue
        if rest in VULGAR:
            return Fraction(whole or "0") + Fraction(VULGAR[rest])
        part = _with_slash(rest)
        if part is None or bool(whole) != bool(joint):
            continue
        if whole:
            return Fraction(whole) + part if part < 1 else None
        return None if part >= 1 and _may_be_mixed(rest) else part
    return None


def _with_slash(text: str) -> Fraction | None:
    for slash in SLASH:
        above, found, below = text.partition(slash)
        sound = all(part and len(part) <= 3 and all(letter in DIGITS for letter in part) for part in (above, below))
        if found and sound and below[0] != "0" and (above == "0" or above[0] != "0"):
            return Fraction(int(above), int(below))
    return None


def _may_be_mixed(text: str) -> bool:
    """Whether a space within the numerator would make it a mixed number."""
    parts = [_with_slash(text[cut:]) for cut in range(1, len(text))]
    return any(part is not None and 0 < part < 1 for part in parts)


def read(text: str, dimension: str) -> Fraction | None:
    """The value in SI of a quantity, or None where the grammar does not hold it."""
    text = " ".join(text.split())
    if any(_is_thousands_mark(text, at) for at in range(len(text))):
        return None
    alone = number(text)
    if alone == 0:
        return Fraction(0)
    values = {value * FACTORS[dimension][unit] for value, unit in _cuts(text, dimension)}
    values |= set(_parts(text, dimension, STEPS[dimension], None, True))
    assert len(values) <= 1, f"two readings: {text!r}"
    return next(iter(values), None)


def _is_thousands_mark(text: str, at: int) -> bool:
    """Whether an apostrophe stands between a digit and three more."""
    behind = text[at + 1:at + 5]
    digits = next((n for n, letter in enumerate(behind) if letter not in DIGITS), len(behind))
    return text[at] in "'’" and at > 0 and text[at - 1] in DIGITS and digits == 3


def _cuts(text: str, dimension: str) -> Iterator[tuple[Fraction, str]]:
    """Every way to take the text as a number and one unit."""
    for cut in range(1, len(text)):
        unit = "".join(PRIMES.get(letter, letter) for letter in text[cut:].removeprefix(" "))
        unit = unit.replace(" /", "/").replace("/ ", "/")
        if unit[:1] in DIGITS and text[cut] != " ":
            continue
        if unit in FACTORS[dimension] and (value := number(text[:cut])) is not None:
            yield value, unit


def _parts(text: str, dimension: str, steps: tuple[tuple[str, ...], ...], most: Fraction | None,
           first: bool) -> Iterator[Fraction]:
    """Every way to take the text as parts in falling units, each less than one of the unit before."""
    for cut in range(2, len(text) + 1):
        front, rest = text[:cut], text[cut:].removeprefix(" ")
        for value, unit in _cuts(front, dimension):
            place = next((n for n, names in enumerate(steps) if unit in names), -1)
            size = value * FACTORS[dimension][unit]
            if place < 0 or value < 0 or (not first and front[0] in f"{SIGNS}.,"):
                continue
            if most is not None and size >= most:
                continue
            if not rest:
                if not first:
                    yield size
            elif value.denominator == 1:
                if dimension == "length" and text[cut:cut + 1] in MINUS:
                    rest = text[cut + 1:].removeprefix(" ")
                yield from (size + more for more in
                            _parts(rest, dimension, steps[place + 1:], FACTORS[dimension][unit], False))
