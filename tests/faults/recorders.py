"""Recorders' files as none should be: damaged, cut, hostile, huge, in other encodings, no text at all."""

from __future__ import annotations

import json
import random
import zlib
from collections.abc import Iterator
from dataclasses import dataclass

from fillcalc.case.read import read_bytes
from fillcalc.formats.data import line
from fillcalc.formats.recording_text import recording_data, recording_report
from fillcalc.questions.recording.hold import hold
from fillcalc.questions.recording.parts import NotInRecord
from fillcalc.recorder.read import log_of
from tests.faults.damage import HOSTILE
from tests.faults.judge import Verdict, guarded, no_constant, said_faults, unsafe
from tests.faults.texts import ROOT, demos
from tests.recorder.files import FILES

EACH_WAY = 600
CELLS = (
    "", "nan", "inf", "-inf", "1e308", "-1e308", "1e-320", "9" * 400, "0x1F", "1,5,5", "--", "+", "24.0 bar", "#DIV/0!",
    "٣", "５", "1_000", "29.02.2023 10:00:00", "31.12.9999 23:59:59", "0001-01-01 00:00:00", "25:61:61", "24:00:00",
    "12:00:00 PM PM", '"', '""', ";;;;;;;;", "\x00", "\x1b[2J", "=1+1")
"""What may stand in the place of a figure or a time."""


@dataclass(frozen=True)
class File:
    """A recorder's file and what is said of its columns."""

    data: bytes
    columns: str = ""
    unit: str = ""


def records(seed: int) -> Iterator[File]:
    """Every layout with bytes changed, cut, shuffled, with odd cells; then what was never a record."""
    shipped = File((ROOT / "cases" / "cooler-shell-record.csv").read_bytes()[:20_000])
    layouts = [shipped, *(File(made.data, made.columns, made.unit) for made in FILES.values())]
    for place in range(4 * EACH_WAY):
        dice, good = random.Random(f"{seed}:{place}"), layouts[place % len(layouts)]
        yield File((_flipped, _cut, _shuffled, _odd)[place % 4](dice, good.data), good.columns, good.unit)
    yield from (File(data) for data in _others(seed, shipped.data))
    for words in (*HOSTILE, "time=1", "time=0 s,pressure=2", "time=1 s,pressure=1", "time=99,pressure=98 bar", "=,=,="):
        yield File(shipped.data, words[:2000])
        yield File(shipped.data, "", words[:2000])


def _flipped(dice: random.Random, data: bytes) -> bytes:
    new = bytearray(data)
    for _ in range(dice.choice((1, 3, 30))):
        new[dice.randrange(len(new))] = dice.randrange(256)
    return bytes(new)


def _cut(dice: random.Random, data: bytes) -> bytes:
    start, end = sorted(dice.randrange(len(data) + 1) for _ in range(2))
    return dice.choice((data[:start], data[start:end], data[:start] + data[end:], data[:end] + data[start:end]))


def _shuffled(dice: random.Random, data: bytes) -> bytes:
    lines = data.split(b"\n")
    for _ in range(dice.choice((1, 3, 50))):
        a, b = dice.randrange(len(lines)), dice.randrange(len(lines))
        lines[a], lines[b] = (lines[b], lines[a]) if dice.random() < 0.5 else (lines[a] + lines[b], lines[a])
    return b"\n".join(lines)


def _odd(dice: random.Random, data: bytes) -> bytes:
    """Cells of some lines replaced, as often in the head as in a row."""
    lines = data.split(b"\n")
    for _ in range(dice.choice((1, 2, 12))):
        place = dice.randrange(dice.choice((2, len(lines))))
        mark = max((b";", b",", b"\t"), key=lines[place].count)
        cells = lines[place].split(mark)
        cells[dice.randrange(len(cells))] = dice.choice(CELLS).encode("utf-8", "surrogatepass")
        lines[place] = mark.join(cells)
    return b"\n".join(lines)


def _others(seed: int, good: bytes) -> Iterator[bytes]:
    """Encodings, line ends, noise, archives and pictures, lines and tables without measure."""
    text = good.decode("utf-8")
    for name in ("utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp037", "utf-7", "utf-8-sig"):
        whole = text.encode(name)
        yield from (whole, whole[:-1], whole[: len(whole) // 2 + 1])
    for hostile in HOSTILE:
        said = hostile.encode("utf-8", "surrogatepass")
        yield from (said, said + b"\n" + good, good + said, good.replace(b"bar", said))
        yield good.replace(b"\n", said + b"\n", 3)
    for size in (1, 100, 5000, 300_000):
        yield from (random.Random(f"{seed}:{size}").randbytes(size), b"\x00" * size, b";" * size, b"1;" * size,
                    b"1\n" * size, b'"' * size, b"\n" * size, b"1;2;3\n" * (size // 3), good + b"\x00" * size)
    yield from (b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 40, b"PK\x03\x04" + zlib.compress(good),
                b"%PDF-1.7\n" + good, b"\x1f\x8b\x08" + zlib.compress(good), b"", b"\n", b"\xef\xbb\xbf", b"\xff\xfe")
    yield from (good.replace(b"\n", b"\r"), good.replace(b"\n", b"\n\n\n"), good.replace(b";", b" ; "), good * 20,
                good.upper(), demos()["cooler-shell"])


def try_record(file: File) -> Verdict:
    """It is read and told soundly, or refused in words."""
    case = read_bytes(demos()["cooler-shell"], "job.toml")

    def work(verdict: Verdict) -> None:
        from fillcalc.case.problems import CaseProblems

        try:
            log = log_of(file.data, "log.csv", file.columns, file.unit)
            found = hold(case, log, "", None, ())
        except CaseProblems as wrong:
            verdict.faults += said_faults([str(problem) for problem in wrong.problems])
            return
        except NotInRecord as wrong:
            verdict.faults += said_faults([str(wrong)])
            return
        verdict.read = True
        text = recording_report(case, log, found)
        verdict.faults += [f"unsafe character in the report: {sign}" for sign in sorted(unsafe(text))]
        words = set(text.split())
        verdict.faults += [f"the report says {word}" for word in sorted(words & {"nan", "inf", "-inf", "None"})]
        json.loads(line(recording_data(case, log, found)), parse_constant=no_constant)

    return guarded(work)
