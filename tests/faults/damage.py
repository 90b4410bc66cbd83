"""Damaged and absurd case files, without end and the same each time: each family is a generator of a seed."""

from __future__ import annotations

import math
import random
import re
from collections.abc import Callable, Iterator
from itertools import count

from fillcalc.case.fields import Input
from fillcalc.case.shape_of import input_at
from tests.faults.texts import as_text, demos, given, table_of, with_value, written

Files = Iterator[bytes]

TOKEN = re.compile(rb'"[^"\n]*"|[-+0-9.]+|[A-Za-z_]+')


def _rolls(seed: int) -> Iterator[tuple[random.Random, bytes]]:
    names = sorted(demos())
    for place in count():
        yield random.Random(f"{seed}:{place}"), demos()[names[place % len(names)]]


def byte_flips(seed: int) -> Files:
    """One to four bytes changed, to any other in one file of four, else to one that can be typed."""
    for dice, data in _rolls(seed):
        damaged = bytearray(data)
        least, most = (0, 256) if dice.random() < 0.25 else (32, 127)
        for _ in range(dice.choice((1, 1, 2, 4))):
            damaged[dice.randrange(len(damaged))] = dice.randrange(least, most)
        yield bytes(damaged)


def truncations(seed: int) -> Files:
    """Cut off anywhere, or a piece missing, or a piece twice."""
    for dice, data in _rolls(seed):
        start, end = sorted(dice.randrange(len(data) + 1) for _ in range(2))
        yield dice.choice((data[:start], data[start:end], data[:start] + data[end:],
                           data[:end] + data[start:end] + data[end:]))


def line_shuffles(seed: int) -> Files:
    """Lines swapped, lost, doubled, or all in another order."""
    for dice, data in _rolls(seed):
        lines = data.split(b"\n")
        for _ in range(dice.choice((1, 1, 1, 2, 3))):
            a, b = dice.randrange(len(lines)), dice.randrange(len(lines))
            what = dice.randrange(8)
            if what < 4:
                lines[a], lines[b] = lines[b], lines[a]
            elif what < 6:
                del lines[a]
            elif what < 7:
                lines.insert(b, lines[a])
            else:
                dice.shuffle(lines)
        yield b"\n".join(lines)


def token_swaps(seed: int) -> Files:
    """Two values, words or numbers of a file put in each other's place; mostly it reads all the same."""
    for dice, data in _rolls(seed):
        tokens = [found.span() for found in TOKEN.finditer(data)]
        kind = dice.choice((b'"', b"0123456789", b""))
        alike = [span for span in tokens if not kind or data[span[0]] in kind]
        alike = alike if len(alike) > 1 else tokens
        (a, b), (c, d) = sorted(dice.sample(alike, 2))
        yield data[:a] + data[c:d] + data[b:c] + data[a:b] + data[d:]


def number_changes(seed: int) -> Files:
    """One to three numbers of a file made a power of ten greater or less, negative or odd."""
    for dice, data in _rolls(seed):
        new = data
        for _ in range(dice.randint(1, 3)):
            found = list(re.finditer(rb"\d+(?:\.\d+)?", new))
            span = dice.choice(found).span()
            number = float(new[span[0]:span[1]])
            odd = dice.choice((number * 10.0 ** dice.randint(-6, 6), -number, 0.0, number * dice.uniform(0.2, 5.0)))
            text = dice.choice((f"{odd:.6g}", f"{odd:.3f}", f"{odd:e}", "1e308", "1/3", "1,5", "0x10", "١٢"))
            new = new[:span[0]] + text.encode() + new[span[1]:]
        yield new


# --- absurd but legal -------------------------------------------------------------------------

def legal_extremes(seed: int) -> Files:
    """Each input of each demo case in turn at its least, its greatest, and between."""
    for name in sorted(demos()):
        table = table_of(demos()[name])
        for path, declared in given(table):
            for value in extremes(declared):
                yield written(with_value(table, path, value))


def just_outside(seed: int) -> Files:
    """Each input of each demo case in turn one step beyond its range."""
    for name in sorted(demos()):
        table = table_of(demos()[name])
        for path, declared in given(table):
            for value in _outside(declared):
                yield written(with_value(table, path, value))


READINGS = ({"pressure": "4 bar", "strokes": 20}, {"pressure": "10 bar", "strokes": 40},
            {"pressure": "10 bar", "strokes": 40, "time": "1 min"},
            {"pressure": "9 bar", "strokes": 40, "time": "12 min", "temperature": "11 degC"})


def odd_readings(seed: int) -> Files:
    """Readings that say one thing at its least, its greatest and between; and readings drawn anywhere."""
    for name in ("full", "cooler-shell", "tall-tank", "bench-valve"):
        table = {**table_of(demos()[name]), "reading": list(READINGS)}
        for place in range(1, len(READINGS) + 1):
            for key in ("pressure", "strokes", "water", "time", "temperature"):
                declared = input_at(f"reading.1.{key}")
                for value in extremes(declared) if declared else ():
                    new = with_value(table, f"reading.{place}.{key}", value)
                    if key == "water":
                        del new["reading"][place - 1]["strokes"]
                    yield written(new)
        for place in range(100):
            dice = random.Random(f"{seed}:{name}:{place}")
            rows = [{"pressure": f"{dice.uniform(0, 60):.3g} bar", "strokes": round(math.exp(dice.uniform(0, 9)))}
                    for _ in range(dice.randint(0, 6))]
            yield written({**table, "reading": rows})


def absurd(seed: int) -> Files:
    """One to all inputs of a demo case anywhere in their legal ranges, small and great alike."""
    for dice, data in _rolls(seed):
        table = table_of(data)
        leaves = [leaf for leaf in given(table) if leaf[1].low is not None]
        for path, declared in dice.sample(leaves, min(len(leaves), dice.choice((1, 1, 2, 2, 3, 4, 8, 99)))):
            table = with_value(table, path, as_text(anywhere(declared, dice), declared))
        yield written(table)


def extremes(declared: Input) -> list[object]:
    """What a file may say at the ends of a range, and every word of a choice."""
    if declared.form == "choice":
        return list(declared.words)
    if declared.form == "flag":
        return [True, False]
    if declared.form not in ("quantity", "number", "count") or declared.low is None or declared.high is None:
        return []
    low, high = declared.low, declared.high
    middle = math.sqrt(low * high) if low > 0.0 else 0.5 * (low + high)
    small = low if low > 0.0 or high < 0.0 else 1e-9 * high
    return [*(as_text(value, declared) for value in (low, high, middle, small)), *declared.words]


def _outside(declared: Input) -> list[object]:
    if declared.form not in ("quantity", "number", "count") or declared.low is None or declared.high is None:
        return []
    span = declared.high - declared.low
    step = 1 if declared.form == "count" else 1e-6 * span
    return [as_text(declared.low - step, declared), as_text(declared.high + step, declared)]


def anywhere(declared: Input, dice: random.Random) -> float:
    """A value in the legal range: an end, evenly between, or evenly between their logarithms."""
    low, high = float(declared.low or 0.0), float(declared.high or 0.0)
    if declared.form == "count":
        return dice.choice((low, high, float(dice.randint(int(low), int(high))), float(dice.randint(int(low), 9))))
    if low >= 0.0 and dice.random() < 0.6:
        least = low if low > 0.0 else min(1e-6, 1e-9 * high)
        return math.exp(dice.uniform(math.log(least), math.log(high))) if high > 0.0 else high
    return dice.choice((low, high, dice.uniform(low, high)))


# --- hostile text -----------------------------------------------------------------------------

HOSTILE = (
    "\u001b[2J\u001b[31mred", "\u001b]0;title\u0007", "\u202eright to left", "\u2066hidden\u2069", "a\u200bb\ufeffc",
    "\u0000", "line\nline", "tab\tback\b", "\u0085\u2028\u2029", "a" + "\u0301" * 400, "\ue000\U000e0041", "\x7f",
    "<script>alert(1)</script>", "'; DROP TABLE cases; --", "[red]markup[/red] [link=x]", "{0.__class__} %s %n {}",
    "../../etc/passwd", "$(reboot) `reboot`", "=cmd|' /C calc'!A0", "9**9**9**9", "x" * 100_000, "\U0001f9ea" * 3000,
    "1e999 m", "nan bar", "inf L", "-0 L", "٣ m", "５ m", "1 m\u00a0", "1 \u2126", "0,0,0 m", "1__0 mm", "٪", "",
    " ", "24 bar; rm", "24 bar 24 bar", "--5 m", "1e-400 m", "1.7976931348623157e308 m", "5e-324 m",
)
NOT_TEXT = (0, -1, 10 ** 30, 1e308, -1e308, True, [], [[]], [""], {}, {"a": {"b": []}}, [1, "2 m", True])


def hostile_fields(seed: int) -> Files:
    """Each hostile text, and each thing that is no text, in the place of each input that stands in a demo case."""
    for name in ("full", "cooler-shell", "ammonia-line-us", "crest-line", "bench-valve"):
        table = table_of(demos()[name])
        for path in ["format", "vessel.shape", "tap.kind", "pump.kind", *(path for path, _ in given(table))]:
            for value in (*HOSTILE, *NOT_TEXT):
                yield written(with_value(table, path, value))


def hostile_titles(seed: int) -> Files:
    """Each hostile text as title and as note, and as a key in every table."""
    for name, data in sorted(demos().items()):
        table = table_of(data)
        for value in HOSTILE:
            yield written({**table, "title": value})
            yield written({**table, "note": value})
            yield written({**table, "title": f"{name} {value} {value}", "note": value})
            yield written({value: 1, **table})
            yield written({**table, "vessel": {**table["vessel"], value: "1 m"}})
            yield written({**table, "ranges": {f"tap.{value}": "±5 %"}})


def any_bytes(seed: int) -> Files:
    """What no editor ever wrote: noise, with and without a good case in front, other encodings, line ends."""
    for dice, data in _rolls(seed):
        noise = dice.randbytes(dice.randint(0, 3000))
        text = data.decode("utf-8")
        yield dice.choice((
            noise, data + noise, noise + data, b"\xef\xbb\xbf" + data, data.replace(b"\n", b"\r\n"),
            data.replace(b"\n", b"\r"), text.encode("utf-16"), text.encode("utf-8-sig") + b"\xff",
            text.encode("latin-1", "replace"), text.encode("cp037", "replace"), data * 2, b"\xef\xbb\xbf" * 2 + data,
            data.replace(b" ", b"\xc2\xa0"), data.replace(b"=", b":"), data.replace(b'"', b"'"), data.upper(),
            data.replace(b'"', b"\xe2\x80\x9d"), data + b"\x1a", data.replace(b"\n", b"\n\n" * dice.randint(1, 40)),
        ))


FAMILIES: dict[str, tuple[Callable[[int], Files], int]] = {
    "bytes changed": (byte_flips, 1500),
    "cut, or a piece missing or twice": (truncations, 1500),
    "lines swapped, lost, doubled": (line_shuffles, 1200),
    "values swapped": (token_swaps, 1200),
    "numbers changed": (number_changes, 1000),
    "noise, encodings, line ends": (any_bytes, 1000),
    "hostile text in every field": (hostile_fields, 10 ** 9),
    "hostile titles, notes and keys": (hostile_titles, 10 ** 9),
    "each input just outside its range": (just_outside, 10 ** 9),
    "each input at the ends of its range": (legal_extremes, 10 ** 9),
    "readings that make no sense": (odd_readings, 10 ** 9),
    "absurd but legal": (absurd, 1000),
}
"""Each family with the number of files that the command tries of it; those that end by themselves are tried whole."""
