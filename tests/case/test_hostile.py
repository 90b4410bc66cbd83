"""Texts that mean harm or make no sense: each gives problems in words, safe to show, in bounded time."""

from __future__ import annotations

import os
import time
import unicodedata
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fillcalc.case.fields import Input
from fillcalc.case.read import MOST_BYTES, CaseProblems, Problem, read_bytes, read_file
from fillcalc.case.records import Case
from fillcalc.case.shape_of import walk
from fillcalc.units.printable import shown
from tests.case.test_read import BASE, HERE, with_line
from tests.families import few

SECONDS = 5.0
"""No text may take longer on a slow and busy machine; the worst takes a tenth of it."""

ESC, RTL, ZERO = "\x1b", "\u202e", "\u200b"


def vessel(line: str) -> bytes:
    return with_line("vessel", line).encode("utf-8", "surrogatepass")


HOSTILE: dict[str, tuple[bytes, str]] = {
    "escape in a value": (vessel(f'wall = "{ESC}[31m6 mm"'.replace(ESC, "\\u001b")), "vessel.wall"),
    "raw escape": (vessel(f'wall = "{ESC}[2J"'), ""),
    "escape in a key": (vessel('"\\u001b[31mwall" = "6 mm"'), "vessel.<U+001B>[31mwall"),
    "bidi in a value": (vessel(f'wall = "6 {RTL}mm"'), "vessel.wall"),
    "bidi in a key": (vessel(f'"wa{RTL}ll" = "6 mm"'), "vessel.wa<U+202E>ll"),
    "invisible in a word": (vessel(f'ends = "fl{ZERO}at"'), "vessel.ends"),
    "line end in a value": (vessel('wall = "6 mm\\nfake: all is well"'), "vessel.wall"),
    "NUL": (BASE.encode() + b"\0", ""),
    "escaped NUL": (vessel('wall = "\\u0000"'), "vessel.wall"),
    "not UTF-8": (BASE.encode() + b"\xff\xfe", ""),
    "UTF-16": (BASE.encode("utf-16"), ""),
    "lone surrogate": (vessel('wall = "\ud800"'), ""),
    "nothing": (b"", "vessel.shape"),
    "brackets 100,000 deep": (BASE.encode() + b"x = " + b"[" * 100_000, ""),
    "tables 100,000 deep": (BASE.encode() + b"x = " + b"{a=" * 100_000, ""),
    "100,000 dots in a key": (BASE.encode() + b".".join([b"a"] * 100_000) + b" = 1", ""),
    "100,000 dots in a head": (BASE.encode() + b"[" + b".".join([b"a"] * 100_000) + b"]", ""),
    "quoted dots": (BASE.encode() + b'."a"' * 100_000 + b" = 1", ""),
    "number of 100,000 digits": (vessel("count = " + "9" * 100_000), ""),
    "number of 190 digits": (vessel("count = " + "9" * 190), "vessel.count"),
    "hex of 100,000 digits": (vessel("count = 0x" + "f" * 100_000), ""),
    "1e400": (vessel("poisson = 1e400"), "vessel.poisson"),
    "1e400 with a unit": (vessel('wall = "1e400 mm"'), "vessel.wall"),
    "nan": (vessel("poisson = nan"), "vessel.poisson"),
    "inf": (vessel("poisson = -inf"), "vessel.poisson"),
    "a date": (vessel("wall = 1979-05-27T07:32:00Z"), "vessel.wall"),
    "a date for a count": (vessel("count = 1979-05-27"), "vessel.count"),
    "no such date": (vessel("wall = 1979-99-99"), ""),
    "a key twice": (vessel('wall = "6 mm"\nwall = "7 mm"'), ""),
    "a table twice": (BASE.encode() + b"\n[test]\n", ""),
    "unknown shape": (BASE.replace("standing cylinder", "__class__").encode(), "vessel.shape"),
    "unknown table": (BASE.encode() + b"\n[__import__]\nos = 1\n", "__import__"),
    "list for a table": (BASE.replace("[tap]", "[[tap]]").encode(), "tap"),
    "text for a table": (b'format = 1\nvessel = "drum"\ntap = 3\ntest = [1]\npump = false\n', "vessel"),
    "text for a list of tables": (
        with_line("fill", 'hose = "22 m"', BASE.replace("[[fill.hose]]", "[x]")).encode(),
        "fill.hose",
    ),
    "bare number": (vessel("wall = 6"), "vessel.wall"),
    "bare quantity": (vessel("wall = 6 mm"), ""),
    "true for a quantity": (vessel("wall = true"), "vessel.wall"),
    "table for a quantity": (vessel("wall = { mm = 6 }"), "vessel.wall"),
    "list for a word": (vessel('ends = ["flat"]'), "vessel.ends"),
    "thousands": (with_line("tap", 'contents = "1,200 L"').encode(), "tap.contents"),
    "bare gallons": (with_line("tap", 'contents = "10 gal"').encode(), "tap.contents"),
    "absolute for gauge": (with_line("vessel", 'design = "3 bar abs"').encode(), "vessel.design"),
    "gauge for absolute": (with_line("surroundings", 'pressure = "1013 mbar"').encode(), "surroundings.pressure"),
    "unknown unit": (vessel('wall = "6 furlong"'), "vessel.wall"),
    "powers": (vessel('wall = "9**9**8 m"'), "vessel.wall"),
    "code": (vessel("wall = \"__import__('os').system('x')\""), "vessel.wall"),
    "format string": (vessel('wall = "{0.__class__} %s %n"'), "vessel.wall"),
    "200,000 characters": (vessel('wall = "' + "6" * 200_000 + ' mm"'), "vessel.wall"),
    "too many bytes": (b"#" * (MOST_BYTES + 1), ""),
    "quotes without end": (BASE.encode() + b'x = """' + b'"\\' * 100_000, ""),
    "backslashes": (BASE.encode() + b'x = "' + b"\\" * 200_000, ""),
    "15,000 unknown keys": (BASE.encode() + b"".join(b"key%d = 1\n" % n for n in range(15_000)), "pump.key0"),
    "15,000 hoses": (BASE.encode() + b"[[fill.hose]]\n" * 15_000, "fill.hose"),
    "10,000 points": (with_line("tap", "points = [" + '["1 bar","1 L/min"],' * 10_000 + "]").encode(), "tap.points"),
    "path of a range": (
        BASE.encode() + b'[ranges]\n"vessel.__class__.x" = "\xc2\xb15 %"\n',
        "ranges.vessel.__class__.x",
    ),
    "ranges as a list": (BASE.encode() + b"[[ranges]]\nx = 1\n", "ranges"),
    "hose 999": (
        BASE.encode() + b'[ranges]\n"fill.hose.999999999999999999999.bore" = "\xc2\xb15 %"\n',
        "ranges.fill.hose.999999999999999999999.bore",
    ),
    "combining marks": (vessel('wall = "6 m' + "\u0301" * 60 + 'm"'), "vessel.wall"),
}


def safe(text: str) -> bool:
    """No character that moves the cursor, hides or turns text round."""
    return all(unicodedata.category(each) not in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp") for each in text)


def problems_of(data: bytes, name: str = "job.toml") -> tuple[Problem, ...]:
    with pytest.raises(CaseProblems) as caught:
        read_bytes(data, name)
    assert str(caught.value)
    return caught.value.problems


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_text(name: str) -> None:
    data, path = HOSTILE[name]
    start = time.perf_counter()
    problems = problems_of(data)
    assert time.perf_counter() - start < SECONDS
    assert path in [problem.path for problem in problems], [str(problem) for problem in problems]
    assert 0 < len(problems) <= 101
    for problem in problems:
        assert problem.expected
        assert safe(str(problem)), repr(str(problem))
        assert len(str(problem)) < 1500
        str(problem).encode("utf-8")


def test_a_quantity_without_quotes_is_shown_with_them() -> None:
    (problem,) = problems_of(vessel("wall = 6 mm"))
    assert 'wall = "6 mm"' in problem.expected
    assert problem.line == BASE.split("\n").index("[vessel]                     # the drum") + 2


WRONG_TYPES = [
    "3",
    "-1",
    "0.5",
    "true",
    '"\\u001b[31m"',
    '""',
    "[]",
    "[[]]",
    "[1, 2]",
    "{}",
    "{ a = 1 }",
    "1979-05-27",
    "07:32:00",
    "nan",
    "1e308",
    '"5 furlong"',
    '"±"',
    '[["1 bar"]]',
    '[["1 bar", "1 bar", "1 bar"], 3]',
    '"' + "x" * 3000 + '"',
]


def every_input() -> list[tuple[str, Input]]:
    case: Case = read_file(HERE / "full.toml")
    return [(path, declared) for path, declared, _ in walk(case)]


@pytest.mark.parametrize("value", few(WRONG_TYPES, 4))
def test_wrong_kinds_everywhere(value: str) -> None:
    """Each wrong value under each key: a case or problems, nothing else; wrong ones name the path."""
    for path, declared in every_input():
        table, _, key = path.rpartition(".")
        head = ".".join(part for part in table.split(".") if not part.isdigit())
        if head.startswith("test.steps") or ".2." in path:
            continue
        text = with_line(f"[{head}]" if head in ("fill.hose", "reading") else head, f"{key} = {value}", BASE)
        try:
            case = read_bytes(text.encode(), "job.toml")
        except CaseProblems as caught:
            assert all(safe(str(problem)) for problem in caught.problems)
            named = [problem.path for problem in caught.problems]
            if declared.form in ("quantity", "points", "pair", "choice") and "" not in named:
                assert any(each == path or each.startswith(f"{path}.") for each in named), (path, named)
        else:
            assert declared.bare or declared.form in ("number", "count", "text", "flag") or (
                declared.form in ("date", "moment") and value == "1979-05-27"), (path, value)
            assert case.vessel is not None


@given(st.binary(max_size=400))
@settings(max_examples=200, deadline=None)
def test_any_bytes_after_a_good_case(tail: bytes) -> None:
    try:
        read_bytes(BASE.encode() + tail, "job.toml")
    except CaseProblems as caught:
        for problem in caught.problems:
            assert safe(str(problem))


@given(st.integers(0, len(BASE) - 1), st.text(max_size=4), st.integers(0, 6))
@settings(max_examples=400, deadline=None)
def test_damaged_anywhere(place: int, put: str, cut: int) -> None:
    data = (BASE[:place] + put + BASE[place + cut :]).encode("utf-8", "surrogatepass")
    try:
        read_bytes(data, "job.toml")
    except CaseProblems as caught:
        assert caught.problems
        for problem in caught.problems:
            assert safe(str(problem))


@given(st.text(max_size=400))
@settings(deadline=None)
def test_shown_is_always_safe(text: str) -> None:
    assert safe(shown(text))
    assert len(shown(text, 50)) <= 60 * 10


def test_shown_leaves_plain_words_alone() -> None:
    plain = 'Kühler für Ærø, 24 bar – Größe ½" 温度'
    assert shown(plain) == plain
    assert shown("a\tb\nc") == "a<U+0009>b<U+000A>c"
    assert shown("a\nb", keep_lines=True) == "a\nb"
    assert shown("\udcff") == "<U+DCFF>"
    for blank in "\u115f\u3164\u2800\u034f\ufe0f":
        assert shown(f"a{blank}b") == f"a<U+{ord(blank):04X}>b"


def test_files_that_are_none(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    for place in (tmp_path, tmp_path / "absent.toml", pipe, Path("/dev/zero"), "nul\0name"):
        with pytest.raises(CaseProblems) as caught:
            read_file(place)
        assert safe(str(caught.value))


def test_a_hostile_file_name_is_shown_safely(tmp_path: Path) -> None:
    place = tmp_path / f"a{ESC}[31m{RTL}.toml"
    place.write_text("x", encoding="utf-8")
    with pytest.raises(CaseProblems) as caught:
        read_file(place)
    assert all(safe(str(problem)) for problem in caught.value.problems)
