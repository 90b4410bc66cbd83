"""A recorder's file is read in every layout, and every oddity of it is told by its line."""

from __future__ import annotations

import os
import time

import numpy as np
import pytest

from fillcalc.case.problems import CaseProblems
from fillcalc.recorder.log import Log
from fillcalc.recorder.read import log_of, read_log
from tests.recorder import files
from tests.recorder.files import BARS, DEGREES, FILES, HEAD, ROWS, SECONDS, STEP, Made, moments, rows, text


def said(log: Log) -> str:
    return "\n".join([log.layout, *map(str, log.oddities)])


def refused(data: bytes, *given: str) -> str:
    with pytest.raises(CaseProblems) as caught:
        log_of(data, "record.csv", *given)
    return str(caught.value)


@pytest.mark.parametrize("name", FILES)
def test_every_layout_is_the_same_record(name: str) -> None:
    made: Made = FILES[name]
    log = log_of(made.data, "record.csv", made.columns, made.unit)
    np.testing.assert_allclose(log.time_s, SECONDS, atol=1e-5)
    np.testing.assert_allclose(log.pressure_pa, BARS * made.pascal, rtol=1e-7)
    if made.temperature:
        np.testing.assert_allclose(log.temperature_k, DEGREES + 273.15, atol=1e-6)
    else:
        assert log.temperature_k is None
    assert log.absolute is made.absolute
    assert log.clock_s == made.clock
    assert [words for words in made.said if words not in said(log)] == []


def test_there_are_two_dozen_layouts() -> None:
    assert len(FILES) >= 24


@pytest.mark.parametrize(("data", "words", "left"), [
    (files.replaced(9, "sensor fault"), 'Line 11: "sensor fault" is no time with a pressure; it is left out', ROWS - 1),
    (files.replaced(9, "23:59:05;;15,1"), 'Line 11: "23:59:05;;15,1" is no time with a pressure', ROWS - 1),
    (files.with_lines(lambda lines: lines.__setitem__(slice(3, 15, 2), ["OL;OL"] * 6)),
     "(lines 5, 7, 9, 11 and 2 more)", ROWS - 6),
    (files.replaced(9, "23:59:05;9999,0;15,1"), "Line 11: 9999 bar is far beyond all others; left out", ROWS - 1),
    (files.without(10, 20), "Line 12: no row for 77 s before it; the usual step is 7 s", ROWS - 10),
    (files.replaced(9, rows(moments("%H:%M:%S"))[8]), "Line 11: the time is that of the row before", ROWS - 1),
    (files.set_back(12, 3600.0), "Line 14: the clock goes back by 1 h 00 min; its times go on a usual step of 7 s",
     ROWS),
    (files.replaced(9, "23:59:05;23,901;"), "Line 11: no temperature; it is put between its neighbours", ROWS),
    (files.replaced(9, "23:59:05;23,901;1e308"), "Line 11: no temperature; it is put between its neighbours", ROWS),
    (files.with_lines(lambda lines: lines.insert(9, HEAD)), 'Line 11: "Time;Pressure [bar];Temperature', ROWS),
    (text(HEAD, rows(moments("%H:%M:%S")))[:-6], "the file ends within this line; it is left out", ROWS - 1),
    (text(HEAD, rows(moments("%H:%M:%S")))[:-2], "the file ends within this line; it is left out", ROWS - 1),
    (text("Time;Pressure [bar]", [f"{one};{1.013 + 20 * (row > 9)}" for row, one in enumerate(moments("%H:%M:%S"))]),
     'The lowest pressure is 1.01 bar, as the air\'s. If the record is absolute, write --unit "bar abs"', ROWS),
    (text("Time;Pressure [bar abs]", [f"{one};{24 * (row > 9)}" for row, one in enumerate(moments("%H:%M:%S"))]),
     "less than the air: is it gauge?", ROWS),
    (text("Time;p1 [bar];T1 [°C];T2 [°C]", [f"{row};16,0" for row in rows(moments("%H:%M:%S"))]),
     "Columns 3 and 4 are temperatures, and none is used: say which one", ROWS),
    (text("Time;p [bar];Temp", rows(moments("%H:%M:%S"))), 'column 3 "Temp" has no unit and is not used', ROWS),
    (text("Time;p [bar]", rows([f"{one // 60:02d}:{one % 60:02d}" for one in range(58, 58 + ROWS)], warm=False)),
     "Times of two figures are read as hours and minutes", ROWS),
    (text("Date;p [bar]", rows([f"0{3 + one.startswith('15')}/04/2026{one[10:]}"
                                for one in moments("%d/%m/%Y %H:%M:%S")], warm=False)),
     "The dates can be read two ways; they are read with the day first", ROWS),
])
def test_every_oddity_is_told_by_its_line(data: bytes, words: str, left: int) -> None:
    log = log_of(data, "record.csv")
    assert words in said(log)
    assert len(log.time_s) == left and np.all(np.diff(log.time_s) > 0.0)
    assert np.all(np.isfinite(log.pressure_pa))


def test_a_clock_set_back_costs_no_time() -> None:
    log = log_of(files.set_back(12, 3600.0), "record.csv")
    np.testing.assert_allclose(log.time_s, SECONDS)
    assert log.clock(0.0) == "23:58:02" and log.clock(2.0 * STEP - 2.0 + 106.0) == "00:00"
    assert log.row_of(20.0) == 3


@pytest.mark.parametrize(("data", "given", "words"), [
    (b"", (), "an empty file"),
    (text(HEAD, ["1;2\0;3"] * 20), (), "a NUL character"),
    (b"\xff\xfe;", (), "UTF-16 with a character cut"),
    (b"hello world\nno rows here\n", (), "no rows"),
    (text("Time;Pressure", rows(moments("%H:%M:%S"), warm=False)), (), "give the unit of the pressure: --unit bar"),
    (text("Time;Pressure [furlong]", rows(moments("%H:%M:%S"), warm=False)), (), "give the unit of the pressure"),
    (text("Time;p1 [bar];p2 [bar]", rows(moments("%H:%M:%S"))), (), "columns 2 and 3 as pressures"),
    (text("Time;Status", rows(moments("%H:%M:%S"), warm=False)), (), "which column is the pressure? Say so"),
    (text("", rows(moments("%H:%M:%S")))[1:], (), "no names above the columns"),
    (text("Time;Pressure [bar]", rows([str(row) for row in range(ROWS)], warm=False)), (),
     "give the unit of the time"),
    (text("Time,Pressure [bar],T [°C]", rows(moments("%H:%M:%S"), ",")), (), "decimal commas between commas"),
    (text(HEAD, rows(moments("%H:%M:%S"))), ("time=1,pressure=9",), "the rows have 3 columns"),
    (text(HEAD, rows(moments("%H:%M:%S"))), ("time=1,pressure=2 degC",), "not one of that kind"),
    (text(HEAD, rows(moments("%H:%M:%S"))), ("tide=1",), "write time, date, pressure or temperature"),
    (text(HEAD, rows(moments("%H:%M:%S"))[:6]), (), "6 usable rows"),
    (text(HEAD, ["OL;OL;OL"] * 20 + rows(moments("%H:%M:%S"))[:1]), (), "1 usable row"),
])
def test_what_cannot_be_known_is_asked_for(data: bytes, given: tuple[str, ...], words: str) -> None:
    assert words in refused(data, *given)


def test_what_is_no_ordinary_file_is_refused(tmp_path: object) -> None:
    folder = str(tmp_path)
    os.mkfifo(os.path.join(folder, "pipe"))
    with open(os.path.join(folder, "large"), "wb") as file:
        file.truncate(200_000_000)
    for name, words in (("pipe", "no ordinary file"), ("", "no ordinary file"), ("none", "No such file"),
                        ("large", "more than 120 MB"), ("a\0b", "no file name")):
        with pytest.raises(CaseProblems, match=words):
            read_log(os.path.join(folder, name))
    with pytest.raises(CaseProblems, match="no ordinary file"):
        read_log("/dev/zero")


def test_too_many_lines_are_refused_at_once() -> None:
    assert "a million rows are read at most" in refused(b"\n" * 2_000_000 + b"x")


@pytest.mark.parametrize("seed", range(8))
def test_damaged_files_are_read_or_refused_in_words(seed: int) -> None:
    """Bytes changed, lost and doubled anywhere: rows that rise in time, or a problem that names the file."""
    rng = np.random.default_rng(seed)
    names = list(FILES)
    for _ in range(60):
        made = FILES[names[int(rng.integers(len(names)))]]
        data = bytearray(made.data)
        for _ in range(int(rng.integers(1, 12))):
            at = int(rng.integers(len(data)))
            kind = int(rng.integers(4))
            if kind == 0:
                data[at] = int(rng.integers(256))
            elif kind == 1:
                del data[at:at + int(rng.integers(1, 200))]
            elif kind == 2:
                data[at:at] = data[at:at + int(rng.integers(1, 200))]
            else:
                data[at:at] = rng.choice([b'"', b"\n", b"\t", b";", b"\xe2\x80\xae", b"1e999", b"-", b"=1+1"])
            if not data:
                break
        try:
            log = log_of(bytes(data), "record.csv", made.columns, made.unit)
        except CaseProblems as problems:
            assert "record.csv" in str(problems) and "\u202e" not in str(problems)
            continue
        assert np.all(np.diff(log.time_s) > 0.0) and np.all(np.isfinite(log.pressure_pa))
        assert log.temperature_k is None or np.all(np.isfinite(log.temperature_k))
        assert len(log.line) == len(log.time_s) == len(log.pressure_pa)
        assert all(sign == "\n" or sign.isprintable() for sign in said(log))


def test_a_long_record_is_read_in_parts_of_a_second_for_each_hundred_thousand_rows() -> None:
    """No assertion on a loaded machine's clock but this wide one: a row by row reading takes ten times as long."""
    count = 200_000
    data = text(HEAD, [f"{row // 3600 % 24:02d}:{row // 60 % 60:02d}:{row % 60:02d};{24 + row % 7 / 10:.1f};15,0"
                       .replace(".", ",") for row in range(count)])
    began = time.process_time()
    log = log_of(data, "record.csv")
    assert len(log.time_s) == count
    assert time.process_time() - began < 2.0
