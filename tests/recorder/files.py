"""Invented recorders' and spreadsheets' files: one record in the layouts that such programs in general write."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

ROWS = 40
STEP = 7
"""s between two rows."""
BEGAN = datetime(2026, 3, 14, 23, 58, 2)
"""Two minutes before midnight, on a day that no month has in common with it."""
SECONDS = np.arange(ROWS) * float(STEP)
BARS = np.round(24.0 - 0.011 * np.arange(ROWS) + 0.013 * (np.arange(ROWS) % 3), 3)
DEGREES = np.round(15.0 + 0.1 * (np.arange(ROWS) % 4), 1)
PSI = 6894.757293168361


@dataclass(frozen=True)
class Made:
    """A file, how it is to be read, and what is expected of it."""

    data: bytes
    columns: str = ""
    unit: str = ""
    pascal: float = 1e5
    """Pa to the figure that was written."""
    temperature: bool = True
    absolute: bool = False
    clock: float | None = (23 * 60 + 58) * 60.0 + 2.0
    said: tuple[str, ...] = ()
    """What must be among the sentences."""


def moments(form: str) -> list[str]:
    """The times of the record in a form of strftime; a hyphen behind % is taken as no leading zero."""
    found = []
    for second in SECONDS:
        at = BEGAN + timedelta(seconds=float(second))
        text = form
        for sign, value in (("%-d", at.day), ("%-m", at.month), ("%-I", at.hour % 12 or 12), ("%-H", at.hour)):
            text = text.replace(sign, str(value))
        found.append(at.strftime(text))
    return found


def rows(times: list[str], mark: str = ";", decimal: str = ",", digits: int = 3, warm: bool = True,
         factor: float = 1.0) -> list[str]:
    """The rows of the record."""
    bars = [f"{bar * factor:.{digits}f}".replace(".", decimal) for bar in BARS]
    warms = [f"{degree:.1f}".replace(".", decimal) for degree in DEGREES]
    return [mark.join([time, bar, *([heat] if warm else [])]) for time, bar, heat in zip(times, bars, warms,
                                                                                       strict=True)]


def text(head: str, lines: list[str], end: str = "\n", encoding: str = "utf-8") -> bytes:
    return end.join([*head.split("\n"), *lines, ""]).encode(encoding)


CLOCK, ISO = "%H:%M:%S", "%Y-%m-%d %H:%M:%S"
HEAD = "Time;Pressure [bar];Temperature [°C]"


def _semicolons() -> Iterator[tuple[str, Made]]:
    night = ("the clock passes midnight",)
    yield "semicolons, decimal comma", Made(text(HEAD, rows(moments(CLOCK))), said=(*night, "decimal comma"))
    yield "semicolons, decimal point", Made(text(HEAD, rows(moments(CLOCK), decimal=".")), said=("decimal point",))
    yield "windows line ends", Made(text(HEAD, rows(moments(CLOCK)), "\r\n"))
    yield "old line ends", Made(text(HEAD, rows(moments(CLOCK)), "\r"))
    yield "a byte order mark", Made(text(HEAD, rows(moments(CLOCK)), "\r\n", "utf-8-sig"), said=("UTF-8",))
    yield "UTF-16 little-endian", Made(b"\xff\xfe" + text(HEAD, rows(moments(CLOCK)), "\r\n", "utf-16-le"),
                                       said=("UTF-16",))
    yield "UTF-16 big-endian", Made(b"\xfe\xff" + text(HEAD, rows(moments(CLOCK)), "\r\n", "utf-16-be"))
    yield "UTF-16 without a mark", Made(text("Time;Pressure [bar];T [C]", rows(moments(CLOCK)), "\r\n", "utf-16-le"))
    yield "a degree sign in Latin-1", Made(text(HEAD, rows(moments(CLOCK)), "\r\n", "latin-1"), said=("Latin-1",))
    yield "German words", Made(text("Uhrzeit;Druck in bar;Temperatur in °C", rows(moments(CLOCK))))
    yield "French words, units below", Made(text("Heure;Pression;Température\n;bar;°C", rows(moments(CLOCK)),
                                                 encoding="cp1252"))
    yield "German dates", Made(text("Datum/Uhrzeit;Druck [bar];Temperatur [°C]", rows(moments("%d.%m.%Y %H:%M:%S"))))
    yield "date and clock apart", Made(text("Date;Time;Pressure (bar);Temp (°C)", rows(moments("%d.%m.%y;%H:%M:%S"))))
    yield "a long preamble", Made(text("Recorder;Type 7\nSerial number;00412\nStart;14.03.2026;23:58:02\nInterval;7 s"
                                       f"\n\n{HEAD}", rows(moments(CLOCK))),
                                  said=("The rows begin on line 7; the column names are on line 6",))


def _commas() -> Iterator[tuple[str, Made]]:
    yield "commas, ISO", Made(text("Timestamp,Pressure (bar g),Temperature (degC)", rows(moments(ISO), ",", ".")))
    yield "ISO with T, parts and zone", Made(text("time,p / bar,T / °C", rows(moments("%Y-%m-%dT%H:%M:%S.000+01:00"),
                                                                              ",", ".")))
    yield "US dates with AM and PM", Made(
        text("Date/Time,Pressure (psi)", rows(moments("%-m/%-d/%Y %-I:%M:%S %p"), ",", ".", 2, False, 10)),
        pascal=PSI * 10, temperature=False)
    yield "British dates", Made(text("Date & time,Pressure [bar],Temp [°C]", rows(moments("%d/%m/%Y %H:%M:%S"), ",",
                                                                                  ".")))
    yield "names of months", Made(text("Time,Pressure [bar],Temp [°C]", rows(moments("%d-%b-%Y %H:%M:%S"), ",", ".")))
    quoted = ['"' + '","'.join(row.split(";")) + '"' for row in rows(moments(ISO))]
    yield "commas within quotation marks", Made(text('"Time","Pressure, bar","Temperature, °C"', quoted),
                                                said=("decimal comma",))
    yield "quotation marks", Made(text('"Time","Pressure, bar","Temperature, °C"',
                                       [row.replace(",", '","').join('""') for row in rows(moments(ISO), ",", ".")]))
    yield "absolute", Made(text("Time,Pressure (bar abs)", rows(moments(ISO), ",", ".", warm=False)), absolute=True,
                           temperature=False, said=("The pressure is absolute",))
    yield "psia", Made(text("Time,Pressure [psia]", rows(moments(ISO), ",", ".", warm=False)), absolute=True,
                       temperature=False, pascal=PSI)


def _tabs_and_counts() -> Iterator[tuple[str, Made]]:
    count = [f"{second:.0f}" for second in SECONDS]
    minutes = [f"{second / 60:.8f}" for second in SECONDS]
    yield "tabs, seconds", Made(text("t / s\tp / kPa\tT / K", [
        f"{time}\t{bar * 100:.1f}\t{degree + 273.15:.2f}" for time, bar, degree in zip(count, BARS, DEGREES,
                                                                                      strict=True)]), clock=None)
    yield "tabs, minutes, decimal comma", Made(text("Time [min]\tPressure [bar]\tTemperature [°C]", rows(
        [one.replace(".", ",") for one in minutes], "\t")), clock=None)
    yield "spaces around the cells", Made(text("Time ; Pressure [bar] ; Temp [°C]", [
        row.replace(";", "  ; ") for row in rows(moments(CLOCK))]))
    yield "exponents", Made(text("Time [s],Pressure [Pa]", [
        f"{time},{bar * 1e5:.6e}" for time, bar in zip(count, BARS, strict=True)]), temperature=False, clock=None)
    yield "no head", Made(text("", rows(count, decimal="."))[1:], "time=1 s,pressure=2", "bar", temperature=False,
                          clock=None)
    yield "columns by number", Made(text("a;b;c;d", [f"x;{row}" for row in rows(moments(CLOCK))]),
                                    "time=2,pressure=3,temperature=4 degC", "bar")
    yield "a status column of text", Made(text(f"{HEAD};Status", [f"{row};ok" for row in rows(moments(CLOCK))]))
    yield "the newest first", Made(text(HEAD, rows(moments(ISO))[::-1]), said=("The newest row stands first",))


FILES: dict[str, Made] = {**dict(_semicolons()), **dict(_commas()), **dict(_tabs_and_counts())}


# --- one record with something wrong --------------------------------------------------------------

def with_lines(change: Callable[[list[str]], None]) -> bytes:
    """The record with its rows changed; the first row stands on line 2."""
    lines = rows(moments(CLOCK))
    change(lines)
    return text(HEAD, lines)


def replaced(place: int, line: str) -> bytes:
    """The record with one row replaced."""
    return with_lines(lambda lines: lines.__setitem__(place, line))


def without(first: int, last: int) -> bytes:
    """The record without some rows."""
    return with_lines(lambda lines: lines.__delitem__(slice(first, last)))


def set_back(place: int, seconds: float) -> bytes:
    """The record with its clock set back from one row on."""
    late = [f"{BEGAN + timedelta(seconds=float(second) - (seconds if row >= place else 0.0)):{ISO}}"
            for row, second in enumerate(SECONDS)]
    return text(HEAD, rows(late))
