"""The grammar of numbers: against a second reader, on a corpus of nasty texts, and in what a refusal says."""

from __future__ import annotations

import contextlib
import random
import re
import time

import pytest

from fillcalc.units import UnitProblem, numerals, read_quantity
from tests.case import second_reader
from tests.families import few

FAMILY = {"length": "length", "time": "duration", "stroke rate": "stroke_rate"}
CORPUS = (
    "29² m", "5² m", "11/2 in", "½1 in", "1,000,000 m", "1,200 m", "12,5 m", "1 200 m", "1\u2009200 m", "1'200 m",
    "1’200 mm", "1_200 m", "1.200 m", "1.200,5 m", "1,200.5 m", "0,200 m", "-1,200 m", "1,200e3 m", "1,2e3 m",
    "5. m", "5, m", ".5 m", ",5 m", ". m", "1e3 m", "1e+3 m", "1e−3 m", "1e 3 m", "1e m", "1e99999 m", "1e400 m",
    "1e-400 m", "0e999 m", "1 1/2 in", "1-1/2 in", "1 - 1/2 in", "1½ in", "1 ½ in", "1-½ in", "1½½ in", "1.5½ in",
    "½ in", "½/2 in", "1/½ in", "1/2/3 in", "1/2 1/2 in", "1 1 1/2 in", "7/2 in", "31/32 in", "131/32 in", "10/2 in",
    "100/3 in", "1 3/2 in", "1 2/2 in", "1/0 in", "0/4 in", "01/2 in", "1/02 in", "1000/2000 in", "1⁄2 in", "1∕2 in",
    "3 / 4 in", "3 /4 in", "1¹⁄₂ in", "¹⁄₂ in", "5₂ m", "① m", "1① m", "Ⅻ m", "ⅷ m", "５ m", "１２ m", "1２ m", "٣ m",
    "१२ m", "一 m", "↉ m", "⅟2 m", "+5 m", "-5 m", "−5 m", "–5 m", "- 5 m", "+-5 m", "--5 m", "±5 m", "5 ± 1 m",
    "5-6 m", "5 – 6 m", "5 to 6 m", "5..6 m", "5…6 m", "~5 m", "<5 m", "2*3 m", "2^3 m", "2**3 m", "2×3 m", "2 x 3 m",
    "5x10^3 m", "5 × 10³ m", "10³ m", "10⁻³ m", "5·3 m", "5⋅3 m", "0x10 m", "0b1 m", "1_000 m", "1__0 m", "nan m",
    "inf m", "infinity m", "1j m", "True m", "1e1e1 m", "6' 3 1/2\"", "6'3½\"", "6'-3\"", "6′ 3″", "6' 13\"", "6 ft 3",
    "6.5 ft 3 in", "-6 ft 3 in", "+6 ft 3 in", "6 ft -3 in", "6 ft - 3 in", "6' ½\"", "3 in 6 ft", "6 ft 3 in 2 in",
    "1 h 20 min", "1h20min", "1 h 80 min", "1 h 20", "1.5 h 20 min", "1 h 2.5 min 3 s", "1 d 1 h 1 min 1.5 s",
    "1 h-20 min", "1 h 1,200 s", "0", "-0", "0.0", "0,0", "0e5", "0 h", "00", "0½", "½0", "", " ", "m", "5", "5 5",
    "5 5 m", "1 h 2₂ min", "29 m m", "6'-12\"", "21/min", "9h-", "5·\u2009m", "1 h,20 min", "1⅛1/min", "2000'000 ''",
    "5m", "5  m", "5\tm", "5\u00a0m", "5\u202fm", "5\u3000m", "5\u200bm", "\ufeff5 m", "5\u0301 m", "5m 3", "40 /min",
    "40/min", "40 1/min", "40 1/2 /min", "40 1/2 1/min", "1/min", "1/2/min", "4 0/min", "9" * 30 + " m",
    "0." + "3" * 40 + " m",
)
PIECES = (
    "0", "1", "2", "3", "5", "8", "9", "10", "12", "200", "1", "2", "16", "000", " ", " ", "\u2009", "\u00a0", ".", ",",
    "/", "⁄", "-", "−", "–", "+", "e", "E", "e-", "½", "¾", "⅛", "²", "³", "⁻", "₂", "①", "Ⅻ", "５", "٣", "'", '"', "’",
    "″", "''", "_", "·", "×", "x", "*", "^", "±", "…", "m", "mm", "in", "ft", "h", "min", "s", "d", "/min", "1/min",
    " 1/2", " m", " in", " ft", " h", " min")
SEEDS = ("12.7 mm", "1 1/2 in", "3/4 in", "6 ft 3 1/2 in", "2 d 3 h 4 min 5 s", "1.25e-3 km", "-0,5 m", "12½ in",
         "40 /min", *(text for text in CORPUS if len(text) < 24))


def agree(text: str, dimension: str) -> bool:
    """Whether both readers agree on a text; True where it was read."""
    expected = second_reader.read(text, dimension)
    try:
        value, _ = read_quantity(text, FAMILY[dimension])
    except UnitProblem as problem:
        assert expected is None, f"{text!r} is {float(expected)} by the grammar: {problem}"
        return False
    assert expected is not None, f"{text!r} was read as {value} and is not in the grammar"
    assert value == pytest.approx(float(expected), rel=1e-12, abs=0.0), text
    return True


@pytest.mark.parametrize("dimension", FAMILY)
def test_nasty_texts(dimension: str) -> None:
    read = [agree(text, dimension) for text in CORPUS]
    assert any(read) and not all(read)


@pytest.mark.parametrize(("dimension", "seed"), few([(d, n) for n, d in enumerate(FAMILY)], 1))
def test_forty_thousand_made_texts(dimension: str, seed: int) -> None:
    """Texts put together from pieces of numbers and units, and texts of the corpus with a letter changed."""
    chance = random.Random(seed)
    units, read = tuple(second_reader.FACTORS[dimension]), 0
    for _ in range(14_000):
        if chance.random() < 0.5:
            text = "".join(chance.choices(PIECES, k=chance.randint(1, 5)))
            text += chance.choice((" ", "", "")) + chance.choice(units)
            if chance.random() < 0.3:
                text += chance.choice(PIECES) + chance.choice(("", *units))
        else:
            text = chance.choice(SEEDS)
            for _ in range(chance.randint(1, 2)):
                at = chance.randint(0, len(text))
                text = text[:at] + chance.choice((*PIECES, "")) + text[at + chance.randint(0, 1):]
        read += agree(text, dimension)
    assert read > 400


READINGS = [
    ("29² bar", "pressure", ("29 bar", "292 bar")),
    ("5² m", "length", ("5 m", "52 m")),
    ("11/2 in", "bore", ("5.5 in", "1 1/2 in")),
    ("½1 in", "bore", ()),
    ("1,000,000 Pa", "pressure", ("1000000 Pa",)),
    ("1.000.000 Pa", "pressure", ("1000000 Pa",)),
    ("1,200.5 L", "volume", ("1200.5 L",)),
    ("1.200,5 L", "volume", ("1200.5 L",)),
    ("1,20,000 Pa", "pressure", ()),
    ("1 200 L", "volume", ("1200 L",)),
    ("1\u2009200,5 L", "volume", ("1200.5 L",)),
    ("1'200 L", "volume", ("1200 L",)),
    ("1,200 L", "volume", ("1200 L", "1.200 L")),
    ("1,200e3 Pa", "pressure", ("1200e3 Pa", "1.200e3 Pa")),
    ("-1,200 m", "height", ("-1200 m", "-1.200 m")),
    ("1 3/2 in", "bore", ("2.5 in",)),
    ("５ m", "length", ("5 m",)),
    ("２０．５ m", "length", ("20.5 m",)),
    ("٣ m", "length", ("3 m",)),
    ("Ⅻ m", "length", ("12 m",)),
    ("② m", "length", ("2 m",)),
    ("5₂ m", "length", ("5 m", "52 m")),
    ("1¹⁄₂ in", "bore", ("1 1/2 in",)),
    ("11.7 x 10^-6 /K", "expansion", ("11.7e-6 /K",)),
    ("11.7×10⁻⁶ /K", "expansion", ("11.7e-6 /K",)),
    ("10⁻⁶ /K", "expansion", ("1e-6 /K",)),
    ("5·3 m", "length", ("5.3 m",)),
    ("- 5 m", "height", ("-5 m",)),
    ("5, m", "length", ("5 m",)),
    ("1,200² m", "length", ()),
    ("5-6 bar", "pressure", ()),
    ("0.20 gal", "volume", ("0.20 US gal", "0.20 imp gal")),
    ("10gal/min", "flow", ("10 US gal/min", "10 imp gal/min")),
]


@pytest.mark.parametrize(("text", "family", "readings"), READINGS)
def test_a_refusal_names_every_reading_and_each_can_be_read(text: str, family: str, readings: tuple[str, ...]) -> None:
    with pytest.raises(UnitProblem) as caught:
        read_quantity(text, family)
    if readings:
        assert caught.value.expected == "write " + " or ".join(f'"{reading}"' for reading in readings)
        values = [read_quantity(reading, family)[0] for reading in readings]
        assert len(set(values)) == len(values)
    else:
        assert "such as" in caught.value.expected
    assert caught.value.hint


def test_made_texts_name_only_readings_that_are_numbers() -> None:
    chance, named = random.Random(7), 0
    for _ in range(10_000):
        text = "".join(chance.choices(PIECES, k=chance.randint(2, 6)))
        try:
            numerals.leading_number(text)
        except numerals.NumberProblem as problem:
            for reading in problem.readings:
                numerals.leading_number(reading)
                named += 1
    assert named > 300


@pytest.mark.parametrize("text", [
    "9" * 10**6, "1,000" * 10**5, "½" * 10**6, "1/" * 10**5, "10" + "⁻¹" * 10**5, "²" * 10**5, "1 " * 10**5,
    "1'000" * 10**5, "1e" * 10**5, "-" * 10**6, "Ⅻ" * 10**5, "0." + "0" * 10**6])
def test_no_number_hangs(text: str) -> None:
    start = time.perf_counter()
    with contextlib.suppress(numerals.NumberProblem):
        numerals.leading_number(text)
    assert time.perf_counter() - start < 1.0


def test_the_grammar_is_written_down() -> None:
    assert numerals.__doc__ is not None
    for rule in ("quantity", "number", "decimal", "exponent", "fraction", "mixed", "parts", "zero", "digit", "vulgar"):
        assert re.search(rf"^    {rule} +=", numerals.__doc__, re.MULTILINE), rule
