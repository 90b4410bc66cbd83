"""Readings while pumping: one typed line to a reading of the case, and what they tell in a few lines."""

from __future__ import annotations

import contextlib
import math
import re
import time
from datetime import datetime
from typing import TYPE_CHECKING

from textual.message import Message

from fillcalc.units import show, unit_behind, with_us_gallons, without_unit
from fillcalc.units.printable import shown
from tui.state.disk import beside
from tui.state.inputs import raw, with_gas
from tui.state.range_text import NONE, with_range
from tui.state.stage_clock import moment_of, seconds_of
from tui.widgets.dialogs import Ask
from tui.widgets.line import Line

if TYPE_CHECKING:
    from fillcalc.questions.readings.answer import ReadingsAnswer
    from tui.places.host import Host
    from tui.state.session import Session

QUESTION = "Gauge pressure, and strokes (or litres) pumped so far"
EXAMPLE = "10 bar; 29   or   10 bar; 1.6 L"
MORE = "A temperature or a time can follow: 24 bar; 60; 14 degC\n" \
       "Give the temperature with the last pumped reading.\nIn the hold no strokes: 23.8 bar; 10 min; 14 degC\n" \
       "Behind a pressure without a unit the first Enter puts one, the second takes the reading."
GAS_QUESTION = "Gauge pressure, and temperature of the metal"
GAS_EXAMPLE = "17.9 bar; 14 degC   or   17.9 bar; 10 min; 14 degC"
GAS_MORE = "Read both at the start and at the end of the hold."
COOL = "Stop the pump and wait a minute before each reading."
CLOCK_S = 1.0
"""How often a running clock is shown anew."""
AHEAD_S = 60.0
"""How far a time that was rounded may stand ahead of the clock, s."""
SAME_VISIT_S = 86400.0
"""Readings that were begun longer ago are of another visit."""
_PARTS = re.compile(r"^\s*(.+?)\s*(?:;|,\s|\s)\s*([0-9][0-9.,]*(?:\s*[^0-9;].*)?)$")
_STROKES = re.compile(r"^([0-9]+(?:[.,][0-9]+)?)\s*(?:strokes?)?$")


class ReadingWanted(Message):
    """A reading is to be entered; `typed` is the digit that began it."""

    def __init__(self, typed: str = "") -> None:
        super().__init__()
        self.typed = typed


def parts_of(typed: str) -> dict[str, str] | None:
    """Keys of a reading from "10 bar; 29", "10 bar 1.6 L", "23.8 bar; 10 min" or "23.8 bar", with a temperature or a
    time behind a further ";"; None where a pressure is missing or the count is not to be told from it.

    The unit decides what a part is; the first without one is the strokes.
    """
    pressure, *more = (part.strip() for part in typed.split(";"))
    if not more and _problem({"pressure": pressure}):
        found = _PARTS.match(typed)
        if found is None or not re.search(r"[a-zA-Z]", found[1]):
            return None
        pressure, more = found[1].strip(), [found[2].strip()]
    if not pressure or not all(more):
        return None
    parts = {"pressure": pressure}
    for part in more:
        strokes = _STROKES.match(part)
        if strokes and not {"strokes", "water"} & parts.keys():
            parts["strokes"] = strokes[1]
            continue
        kinds = [kind for kind in ("time", "temperature", "water") if kind not in parts and not _problem({kind: part})]
        parts[kinds[0] if kinds else "temperature" if {"strokes", "water"} & parts.keys() else "water"] = part
    return parts


def with_unit(typed: str, test: object, units: str) -> str:
    """The reading with a unit behind a pressure that has none: that of the test pressure, else that of the screen."""
    pressure, *more = typed.split(";")
    if not without_unit(pressure):
        return typed
    unit = unit_behind(str(test), "pressure") or ("psi" if units == "us" else "bar")
    return ";".join([f"{pressure.strip()} {unit}", *more])


class AskReading(Ask):
    """A line for a reading, with the clock running below it; the digit that began it stays."""

    replaced = False

    def __init__(self, title: str, value: str, said: tuple[str, str], more: str, session: Session) -> None:
        wrong, note = said
        super().__init__(title, value, wrong=wrong, note=note)
        self.more = more
        self.session = session
        self.hint = self._clocked()

    def _clocked(self) -> str:
        return f"{self.more}\nClock: {clock_words(self.session)}"

    def on_mount(self) -> None:
        self.set_interval(CLOCK_S, self._tick)

    @property
    def typed(self) -> str:
        """What stands in the line now."""
        return self.query_one(Line).value.strip()

    def _tick(self) -> None:
        self.tell(self._clocked())


async def enter(host: Host, typed: str = "") -> None:
    """Ask for a reading that begins with what was typed, or with one that was half typed when the screen ended.

    It goes into the case as one step, with the clock's time; Enter, or a digit, asks for the next.
    """
    wrong, note, typed = "", "", host.session.half_reading or typed
    gas = with_gas(host.session.table or {})
    question, example, more = (GAS_QUESTION, GAS_EXAMPLE, GAS_MORE) if gas else (QUESTION, EXAMPLE, f"{MORE}\n{COOL}")
    while True:
        typed = await host.ask(AskReading(question, typed, (wrong, note), f"Such as {example}\n{more}", host.session))
        if not typed:
            await _leave_half(host.session)
            return
        whole = with_unit(typed, raw(host.session.table or {}, "test.pressure"), host.units)
        if whole != typed:
            typed, wrong, note = whole, "", "The unit is put in. Enter takes it; or correct it."
            continue
        note = ""
        parts = parts_of(with_us_gallons(typed) if host.units == "us" else typed)
        stamp = _stamped(host.session, now_s())
        wrong = f"Write both, such as {example}" if parts is None else (
            _problem(parts) or (gas_doubt({**stamp, **parts}) if gas else _needed({**stamp, **parts})
                                or count_doubt(parts, reached_count(host.session))))
        if parts is not None and not wrong:
            break
    here = raw(host.session.table or {}, "reading")
    number = len(here) + 1 if isinstance(here, list) else 1
    values = {f"reading.{number}.{key}": value for key, value in {**stamp, **parts}.items()}
    if not here:
        host.session.clock_began = now_s()
        values["took.first_reading"] = site_time().isoformat(" ", "seconds")
    host.session.half_reading = ""
    host.session.put_many("reading", values)
    await host.show_case("reading")
    ahead = ahead_words(host.session, number)
    host.say(f"Reading {number} is in: {shown(typed)}. {ahead or 'Type the next, or press Enter.'}")


async def _leave_half(session: Session) -> None:
    """A reading that was half typed when the screen ended is not wanted."""
    if session.half_reading:
        session.half_reading = ""
        with contextlib.suppress(OSError):  # what is on disk is offered once more
            await beside(session.keep_unsaved)


def reached_count(session: Session) -> float:
    """The most strokes among the readings of the case; 0 without any that can be read."""
    here = raw(session.table or {}, "reading")
    counts = [str(one.get("strokes", "")) for one in here if isinstance(one, dict)] if isinstance(here, list) else []
    return max((float(count) for count in counts if re.fullmatch(r"[0-9]+([.][0-9]+)?", count)), default=0.0)


def count_doubt(parts: dict[str, str], most: float) -> str:
    """What is asked of strokes that are not whole, or fewer than the most so far; "" of all others.

    A part without a unit is the strokes, so this is most often a temperature whose unit was left out.
    """
    count = parts.get("strokes", "")
    number = float(count.replace(",", ".")) if _STROKES.match(count) else most
    if number >= most and number == int(number):
        return ""
    return f"Strokes are whole and do not fall; {show(most, 'count')} are counted. Or {count} degC, {count} min?"


def gas_doubt(parts: dict[str, str]) -> str:
    """What is asked of a reading of a test with gas, where nothing is counted; "" of one that can be taken."""
    if "strokes" in parts or "water" in parts:
        count = parts.get("strokes", parts.get("water", ""))
        return f"Nothing is counted with gas. Write {count} degC, or {count} min?" if "strokes" in parts else \
            f"Nothing is pumped with gas: {count} cannot be a part of it."
    return "" if "time" in parts else "Write the time in the hold too: 17.9 bar; 10 min; 14 degC"


def _needed(parts: dict[str, str]) -> str:
    """What a reading without strokes or litres lacks; "" where it is whole."""
    return "" if {"strokes", "water", "time"} & parts.keys() else \
        "Write the strokes too, or in the hold the time: 23.8 bar; 10 min"


def _problem(parts: dict[str, str]) -> str:
    """Why a part cannot be read, in words; "" where all can."""
    from fillcalc.units import UnitProblem, read_number, read_quantity

    families = {"pressure": "pressure", "water": "volume", "time": "duration", "temperature": "temperature"}
    try:
        for key in parts:
            if key in families:
                read_quantity(parts[key], families[key])
            elif key == "strokes":
                read_number(parts[key])
    except UnitProblem as problem:
        return str(problem)
    return ""


# --- the clock --------------------------------------------------------------------------------

def now_s() -> float:
    """Seconds of a clock that nobody sets and that runs on while the computer sleeps, where there is one."""
    return time.clock_gettime(time.CLOCK_BOOTTIME) if hasattr(time, "CLOCK_BOOTTIME") else time.monotonic()


def site_time() -> datetime:
    """The time by the clock on site."""
    return datetime.now()


def clock(session: Session, now: float) -> float | None:
    """Time since the first reading, s; None while it does not run.

    It runs by a clock that nobody sets. After a restart it goes on from the moment that stands in the case.
    """
    table = session.table or {}
    if not raw(table, "reading"):
        return None
    if session.clock_began is None:
        began = moment_of(raw(table, "took.first_reading"))
        since = -1.0 if began is None else (site_time() - began).total_seconds()
        if not 0.0 <= since <= SAME_VISIT_S:
            return None
        session.clock_began = now - since
    return max(0.0, now - session.clock_began)


def _stamped(session: Session, now: float) -> dict[str, str]:
    """The time of a reading that is entered now; the first is at zero. Nothing where the case came with readings, for
    nobody knows when those were taken."""
    if not raw(session.table or {}, "reading"):
        return {"time": "0 s"}
    since = clock(session, now)
    return {} if since is None else {"time": f"{since:.0f} s"}


def ahead_of_clock(session: Session) -> int:
    """The number of the latest reading by the times, where that time is ahead of the running clock; 0 where it is not.

    The clock may be wrong, as where readings are entered later, so such a reading is told and not refused.
    """
    since, here = clock(session, now_s()), raw(session.table or {}, "reading")
    times = [seconds_of(one.get("time") if isinstance(one, dict) else None)
             for one in here] if isinstance(here, list) else []
    if since is None or not times or math.isnan(times[0]):
        return 0
    latest = max((number for number, time in enumerate(times) if not math.isnan(time)), key=lambda n: times[n])
    return latest + 1 if times[latest] - times[0] > since + AHEAD_S else 0


def ahead_words(session: Session, number: int) -> str:
    """What is said of the reading of that number where its time is ahead of the clock; "" where it is not."""
    if ahead_of_clock(session) != number:
        return ""
    return f"Its time is ahead of the clock: {_minutes(clock(session, now_s()) or 0.0)} since the first reading. " \
           "Right? Ctrl+Z takes it back."


def _minutes(seconds: float) -> str:
    minutes, rest = divmod(int(seconds), 60)
    return f"{minutes} min {rest:02d} s"


def clock_words(session: Session) -> str:
    since = clock(session, now_s())
    if since is not None:
        ahead = ahead_of_clock(session)
        return f"{_minutes(since)} since the first reading{f'; reading {ahead} is ahead of it' if ahead else ''}."
    came = raw(session.table or {}, "reading")
    return "it does not know of these readings." if came else "the first reading starts it."


def stepped_words(before: object, after: object) -> str:
    """Which reading a step back or forward took or brought, and how many there are now, from the tables of both texts;
    "" where it was none."""
    was, now = (raw(table, "reading") if isinstance(table, dict) else None for table in (before, after))
    was, now = (each if isinstance(each, list) else [] for each in (was, now))
    more = max(was, now, key=len)
    if len(was) == len(now) or not isinstance(more[-1], dict):
        return ""
    return f"reading {len(more)}, {shown(str(more[-1].get('pressure', '')))}. Readings now: {len(now) or 'none'}."


# --- what they tell ---------------------------------------------------------------------------

def beside_readings(session: Session, units: str) -> list[tuple[str, str]]:
    """What stands beside the readings: that pumping must stop, the clock, and what they tell."""
    found = session.answered.readings if session.answered else None
    return [*stop_lines(found, units), ("Clock: ", clock_words(session)), *reading_lines(found, units)]


def stop_lines(found: ReadingsAnswer | None, units: str) -> list[tuple[str, str]]:
    """The cautions of the readings, as headings and words; nothing below test pressure."""
    from fillcalc.cautions import reading_cautions

    cautions = reading_cautions(found.reached, units) if found else ()
    return [(f"{caution.weight.upper()}: ", caution.text) for caution in cautions]


def reading_lines(found: ReadingsAnswer | None, units: str) -> list[tuple[str, str]]:
    """What the readings tell, as headings and words for the help beside the form; of a hold, that first."""
    if found is None:
        return [("", "Type pressures with strokes or litres as they come. Alt+I enters one.")]
    from fillcalc.present.readings import short_lines

    return short_lines(found, units)


async def take(host: Host) -> None:
    """Make the air that the readings tell that of the case, once they are worked out."""
    await host.settle()
    host.say(take_air(host.session))
    await host.show_case()


def take_air(session: Session) -> str:
    """Make the air that the readings tell that of the case, with its range, as one step; what is said of it."""
    from fillcalc.case.edit import set_at

    answered = session.answered
    found = answered.readings if answered is not None and session.state == "now" else None
    if found is None:
        return "Nothing taken: there are no answers to the readings yet."
    if not math.isfinite(found.share.likely) or found.fits is False:
        return f"Nothing taken. {found.why}"
    low, likely, high = (show(value, "share", "metric") for value in (
        found.share.low, found.share.likely, found.share.high))
    text = set_at(session.text, "trapped_air.amount", likely)
    text = with_range(text, "trapped_air.amount", f"{low}; {high}" if low != high else NONE)
    session.replace(text, "trapped_air.amount")
    return f"The case has {likely} of air now, {low} to {high}. Undo takes it back."
