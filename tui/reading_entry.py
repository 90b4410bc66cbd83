"""Readings while pumping: one typed line to a reading of the case, and what they tell in a few lines."""

from __future__ import annotations

import math
import re
import time
from typing import TYPE_CHECKING

from fillcalc.units import show, with_us_gallons
from tui.dialogs import Ask
from tui.inputs import raw
from tui.range_text import NONE, with_range

if TYPE_CHECKING:
    from fillcalc.readings import ReadingsAnswer
    from fillcalc.verdict import HoldVerdict
    from tui.app import Fillcalc
    from tui.session import Session

QUESTION = "Gauge pressure, and strokes (or litres) pumped so far"
EXAMPLE = "10 bar; 29   or   10 bar; 1.6 L"
MORE = "A temperature or a time can follow: 24 bar; 60; 14 degC"
_PARTS = re.compile(r"^\s*(.+?)\s*(?:;|,\s|\s)\s*([0-9][0-9.,]*(?:\s*[^0-9;].*)?)$")
_STROKES = re.compile(r"^([0-9]+(?:[.,][0-9]+)?)\s*(?:strokes?)?$")


def parts_of(typed: str) -> dict[str, str] | None:
    """Keys of a reading from "10 bar; 29" or "10 bar 1.6 L", with a temperature or a time behind a further ";"; None
    where it has not two parts."""
    pressure, semicolon, count = typed.partition(";")
    count, *more = count.split(";")
    if not semicolon:
        found = _PARTS.match(typed)
        if found is None or not re.search(r"[a-zA-Z]", found[1]):
            return None
        pressure, count = found[1], found[2]
    pressure, count = pressure.strip(), count.strip()
    if not pressure or not count:
        return None
    strokes = _STROKES.match(count)
    parts = {"pressure": pressure, **({"strokes": strokes[1]} if strokes else {"water": count})}
    for part in more:
        parts["time" if _problem({"time": part}) == "" else "temperature"] = part.strip()
    return parts


async def enter(app: Fillcalc) -> None:
    """Ask for a reading until it is left; each goes into the case as one step, with the clock's time."""
    wrong = ""
    typed = ""
    while True:
        hint = f"Such as {EXAMPLE}\n{MORE}\nClock: {clock_words(app.session)}"
        typed = await app.push_screen_wait(Ask(QUESTION, typed, wrong=wrong, hint=hint))
        if not typed:
            return
        parts = parts_of(with_us_gallons(typed) if app.units == "us" else typed)
        wrong = f"Write both, such as {EXAMPLE}" if parts is None else _problem(parts)
        if parts is not None and not wrong:
            break
    here = raw(app.session.table or {}, "reading")
    number = len(here) + 1 if isinstance(here, list) else 1
    stamped = {**_stamp(app.session, time.time()), **parts}
    app.session.put_many("reading", {f"reading.{number}.{key}": value for key, value in stamped.items()})
    await app.case_form.go_to(f"reading.{number}.pressure")


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

def clock(session: Session, now: float) -> float | None:
    """Time since the first reading that was entered here, s; None while it does not run."""
    if session.clock_began is None or not raw(session.table or {}, "reading"):
        return None
    return max(0.0, now - session.clock_began)


def _stamp(session: Session, now: float) -> dict[str, str]:
    """The time of a reading that is entered now: the first starts the clock. Nothing where the case came with
    readings, for nobody knows when those were taken."""
    if not raw(session.table or {}, "reading"):
        session.clock_began = now
        return {"time": "0 s"}
    since = clock(session, now)
    return {} if since is None else {"time": f"{since:.0f} s"}


def clock_words(session: Session) -> str:
    since = clock(session, time.time())
    if since is not None:
        minutes, seconds = divmod(int(since), 60)
        return f"{minutes} min {seconds:02d} s since the first reading."
    came = raw(session.table or {}, "reading")
    return "it does not know of these readings." if came else "the first reading starts it."


# --- what they tell ---------------------------------------------------------------------------

def beside(session: Session, units: str) -> list[tuple[str, str]]:
    """What stands beside the readings: what they tell, and the clock."""
    answered = session.answered
    return [("Clock: ", clock_words(session)), *told(answered.readings if answered else None, units)]


def told(found: ReadingsAnswer | None, units: str) -> list[tuple[str, str]]:
    """What the readings tell, as headings and words for the help beside the form; of a hold, that first."""
    if found is None:
        return [("", "Type pressures with strokes or litres as they come. Esc I enters one.")]
    air, share, again = found.trapped_air_m3, found.share, found.vent_again
    lines: list[tuple[str, str]] = []
    if found.hold is not None:
        lines += _hold(found.hold, units)
    if math.isfinite(air.middle):
        lines.append(("Trapped air: ", f"{show(share.middle, 'share', units)}, {show(air.middle, 'volume', units)} "
                                       f"({show(air.low, 'volume', units)} to {show(air.high, 'volume', units)})"))
        strokes = f"{show(found.strokes_left, 'strokes')} strokes, " if math.isfinite(found.strokes_left) else ""
        lines.append(("Still to pump: ", f"{strokes}{show(found.time_left_s, 'duration', units)}"))
    lines.append(("", found.why))
    if math.isfinite(found.next_reading_gauge_pa):
        lines.append(("Next reading at: ", show(found.next_reading_gauge_pa, "pressure", units)))
    if found.hold is None and math.isfinite(again.costs_s) and math.isfinite(again.saves_s):
        saves = f"saves {show(again.saves_s, 'duration', units)}" if again.saves_s > 0 else "saves nothing"
        lines.append(("Venting again: ", f"costs {show(again.costs_s, 'duration', units)}, {saves}: "
                                         f"{'let down and vent' if again.pays else 'pump on'}."))
    return lines


def _hold(verdict: HoldVerdict, units: str) -> list[tuple[str, str]]:
    from fillcalc.report.readings_text import moved, signed

    leak = verdict.leak
    high = show(leak.high_m3_s, "flow", units)
    return [
        ("Hold: ", f"it {moved(verdict, units)}."),
        ("By temperature: ", f"{signed(verdict.by_temperature_pa, units)}." if verdict.temperature_read
         else "not known, read it at both ends."),
        ("Left: ", f"{signed(verdict.rest_pa, units)}, give or take "
                   f"{show(verdict.rest_uncertain_pa, 'pressure_change', units)}."),
        ("As a leak: ", f"{show(leak.middle_m3_s, 'flow', units)}, up to {high}." if verdict.tells
         else f"none shows; {high} would not."),
        ("", "This is no pass: the procedure decides.")]


async def take(app: Fillcalc) -> None:
    """Make the air that the readings tell that of the case, once they are worked out."""
    await app.settle()
    app.say(take_air(app.session))
    await app.case_form.show(app.case_form.place)


def take_air(session: Session) -> str:
    """Make the air that the readings tell that of the case, with its range, as one step; what is said of it."""
    from fillcalc.case.edit import set_at

    answered = session.answered
    found = answered.readings if answered is not None and session.state == "now" else None
    if found is None:
        return "Nothing taken: there are no answers to the readings yet."
    if not math.isfinite(found.share.middle) or found.fits is False:
        return f"Nothing taken. {found.why}"
    low, middle, high = (show(value, "share", "metric") for value in (
        found.share.low, found.share.middle, found.share.high))
    text = set_at(session.text, "trapped_air.amount", middle)
    text = with_range(text, "trapped_air.amount", f"{low}; {high}" if low != high else NONE)
    session.replace(text, "trapped_air.amount")
    return f"The case has {middle} of air now, {low} to {high}. Undo takes it back."
