"""What must hold for every file, whatever stands in it: problems in words, or answers that are sound."""

from __future__ import annotations

import json
import math
import re
import signal
import time
import unicodedata
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from itertools import pairwise
from types import FrameType
from typing import Any

from fillcalc.case.problems import CaseProblems
from fillcalc.case.read import read_bytes
from fillcalc.cautions import RULES
from fillcalc.estimation.answers import at_likely_values
from fillcalc.estimation.estimate import estimate
from fillcalc.formats.data import estimate_data, line
from fillcalc.formats.readings_text import readings_data, readings_report
from fillcalc.formats.text import report
from fillcalc.questions.ranges import with_ranges
from fillcalc.questions.readings.answer import readings
from tests.faults.second import objections

MOST_S = 10.0
"""No file may take more of the processor, with low, likely and high; a plain one takes a hundredth."""
MOST_WAITING_S = 600.0
"""Nor longer by the clock, on a machine that is busy with other things."""

NEVER = {"air shut in", "head too high", "no water flows", "container level with vessel"}
NOT_REACHED = {"pump stalls", "leak balances", "stroke too hard", "test below head"}
NOT_TO_PUMP = {rule.code for rule in RULES if rule.stops}
"""What forbids pumping takes away the advice how to reach the test pressure."""


class Hang(BaseException):
    """The time is up; no handler of ordinary exceptions can swallow it."""


@dataclass
class Verdict:
    """What came of one file: whether it could be read, and every fault that was seen."""

    read: bool = False
    faults: list[str] = field(default_factory=list)


@contextmanager
def time_limit(seconds: float, waiting: float) -> Iterator[None]:
    """Raise Hang in this thread after so much work of the process, or so long by the clock."""

    def ring(_signal: int, _frame: FrameType | None) -> None:
        raise Hang

    clocks = ((signal.SIGPROF, signal.ITIMER_PROF, seconds), (signal.SIGALRM, signal.ITIMER_REAL, waiting))
    before = [signal.signal(sign, ring) for sign, _, _ in clocks]
    for _, clock, most in clocks:
        signal.setitimer(clock, most)
    try:
        yield
    finally:
        for (sign, clock, _), handler in zip(clocks, before, strict=True):
            signal.setitimer(clock, 0.0)
            signal.signal(sign, handler)


def judge(data: bytes, ranged: bool = False, units: str = "metric") -> Verdict:
    """Read, and where it reads estimate, report and write JSON; every fault in words."""
    return guarded(lambda verdict: _judge(data, ranged, units, verdict))


def guarded(work: Callable[[Verdict], None]) -> Verdict:
    """What the work finds, with a hang, a traceback or a warning as faults too."""
    verdict = Verdict()
    started = time.process_time()
    try:
        with time_limit(MOST_S, MOST_WAITING_S), warnings.catch_warnings():
            warnings.simplefilter("error")
            work(verdict)
    except Hang:
        verdict.faults.append("hang")
    except Exception as error:
        verdict.faults.append(f"traceback: {type(error).__name__}: {error}"[:300])
    if time.process_time() - started > MOST_S:
        verdict.faults.append("hang")
    return verdict


def _judge(data: bytes, ranged: bool, units: str, verdict: Verdict) -> None:
    try:
        case = read_bytes(data, "job.toml")
    except CaseProblems as found:
        verdict.faults += problem_faults(found)
        return
    verdict.read = True
    answered = with_ranges(case) if ranged else estimate(case)
    text = report(case, answered, units)
    said = line(estimate_data(case, answered, units, charts=True))
    if not said.isascii() or "\n" in said:
        verdict.faults.append("JSON is not one line of ASCII")
    read = json.loads(said, parse_constant=no_constant)
    gas = answered.gas is not None
    verdict.faults += list(gas_faults(read)) if gas else answer_faults(read) + objections(at_likely_values(case), read)
    if case.reading and not gas:
        found = readings(case)
        text += readings_report(case, found, units)
        json.loads(line(readings_data(case, found, units)), parse_constant=no_constant)
    verdict.faults += [f"unsafe character in the report: {sign}" for sign in unsafe(text)]
    if ranged and not re.search(r"^Time on site +\S", text, re.MULTILINE):
        verdict.faults.append("no time on site in the report")
    odd = {"nan", "inf", "-inf", "None"}
    if odd & set(text.split()):  # a title may say what it likes
        words = odd & set(report(replace(case, title=""), answered, units).split())
        verdict.faults += [f"the report says {word}" for word in sorted(words)]


def no_constant(name: str) -> float:
    raise ValueError(f"{name} in JSON")


def unsafe(text: str) -> set[str]:
    """Characters that move the cursor, hide, or turn text round; a line end is no such character."""
    return {f"U+{ord(sign):04X}" for sign in set(text)
            if sign != "\n" and unicodedata.category(sign) in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")}


def problem_faults(found: CaseProblems) -> list[str]:
    """What is wrong with how a file was refused."""
    return said_faults([str(problem) for problem in found.problems])


def said_faults(refused: list[str]) -> list[str]:
    """What is wrong with the words by which something was refused."""
    faults = [] if refused and all(refused) else ["refused without a reason"]
    if len(refused) > 101:
        faults.append("more than a hundred problems")
    for said in refused:
        faults += [f"unsafe character in a problem: {sign}" for sign in unsafe(said.replace("\n", "\0"))]
        if len(said) > 2500:
            faults.append("a problem that fills the screen")
    return faults


# --- answers ----------------------------------------------------------------------------------

def gas_faults(data: dict[str, Any]) -> Iterator[str]:
    """What cannot be of a test with gas: no danger first, times or energies that are none, bottles under one."""
    if next(iter(data)) != "danger" or not data["danger"]:
        yield "no danger first"
    gas = data["gas"]
    known = {"read_s": gas["rise"].get("read_s"), "needed": gas["bottles"].get("needed"),
             **{name: value for name, value in gas["energy"].items() if name.endswith("_j")}}
    yield from (f"{name} is {value}" for name, value in known.items() if value is not None and not value > 0.0)
    if not gas["bottles"]["enough"] and "bottles end" not in {row["code"] for row in data["cautions"]}:
        yield "the gas ends without a caution"
    yield from _spans(data, set())


def answer_faults(data: dict[str, Any]) -> list[str]:
    """Physical truths that the JSON of an estimate breaks."""
    codes = {caution["code"] for caution in data["cautions"]}
    return [words for check in (_fill, _pump_up, _ladder, _rest, _spans) for words in check(data, codes)]


def _fill(data: dict[str, Any], codes: set[str]) -> Iterator[str]:
    fill = data["fill"]
    if fill["finished"]:
        for name in ("time_s", "water_m3", "water_kg", "run_to_waste_s", "flow_start_m3_s", "flow_end_m3_s",
                     "level_m", "filled_share", "air_peak_gauge_pa"):
            yield from _positive(f"fill.{name}", fill[name])
        if not fill["time_s"]:
            yield "fill.time_s is no time"
        # an end that is reached with the flow all but gone has shares of a pressure all the same
        yield from _sums("fill.shares", fill["shares"].values(), 1.0, 1e-6)
        if fill["filled_share"] is not None and not 0.0 < fill["filled_share"] <= 1.0 + 1e-9:
            yield f"fill.filled_share {fill['filled_share']}"
    else:
        if fill["time_s"] is not None:
            yield "fill.time_s of a fill that never ends"
        if not codes & NEVER:
            yield "a fill that never ends, without a caution"
    if data["trapped_air_m3"] is None or data["trapped_air_m3"] < 0.0:
        yield f"trapped_air_m3 {data['trapped_air_m3']}"
    if not 0.0 <= data["trapped_share"] <= 1.0:
        yield f"trapped_share {data['trapped_share']}"
    if not data["volume_m3"] > 0.0:
        yield f"volume_m3 {data['volume_m3']}"


def _pump_up(data: dict[str, Any], codes: set[str]) -> Iterator[str]:
    up = data["pressurise"]
    if not data["fill"]["finished"]:
        if up["time_s"] is not None or up["reached"]:
            yield "a pump-up after a fill that never ends"
        return
    for name, part in up["parts"].items():
        yield from _positive(f"pressurise.parts.{name}", part)
    yield from _positive("pressurise.water_m3", up["water_m3"])
    yield from _sums("pressurise.parts", up["parts"].values(), up["water_m3"], 1e-9 * (up["water_m3"] or 1.0))
    if up["reached"]:
        for name in ("time_s", "pause_s"):
            yield from _positive(f"pressurise.{name}", up[name])
        if up["limited_by"] is None:
            yield "pressurise.limited_by null"
    elif not codes & (NOT_REACHED | NOT_TO_PUMP):
        yield f"test pressure never reached, without a caution ({up['status']})"
    yield from _rising("pressurise.strokes_at", up["strokes_at"])


def _ladder(data: dict[str, Any], codes: set[str]) -> Iterator[str]:
    rungs = data["air_ladder"]
    for name in ("share", "water_m3", "time_s", "strokes"):
        yield from _rising(f"air_ladder.{name}", [rung[name] for rung in rungs])
    for rung in rungs:
        if rung["times_air_free"] is not None and rung["time_s"] is not None and rung["times_air_free"] < 1.0 - 1e-9:
            yield f"air_ladder.times_air_free {rung['times_air_free']}"


def _rest(data: dict[str, Any], codes: set[str]) -> Iterator[str]:
    for block in ("release", "drain", "energy"):
        for name, value in (data.get(block) or {}).items():
            if value is not None and value < 0.0:
                yield f"{block}.{name} {value}"
    held = data["pressurise"]["reached"]
    if held and data.get("energy") and None in data["energy"].values():
        yield "energy null at test pressure"
    for name in ("pressure_per_kelvin_pa", "leak_per_division_m3_s"):
        value = (data.get("hold") or {}).get(name)
        if name.startswith("leak") and value is not None and value < 0.0:
            yield f"hold.{name} {value}"


def _spans(data: dict[str, Any], codes: set[str]) -> Iterator[str]:
    spans = [*data.get("stages", []), *([data["visit"]] if data.get("visit") else [])]
    for place, span in enumerate(spans):
        for name in ("low", "likely", "high"):
            value = span.get(f"{name}_s")
            if value is not None and value < 0.0:
                yield f"{span.get('name', 'visit')} {name} {value}"
        yield from _ordered(f"{span.get('name', place)}", [span.get(f"{name}_s") for name in ("low", "likely", "high")])
    for spread in data.get("spreads", []):
        yield from _ordered(spread["path"], [spread[name] for name in ("low", "likely", "high")])


def _positive(name: str, value: Any) -> Iterator[str]:
    if value is None:
        yield f"{name} null"
    elif value < 0.0:
        yield f"{name} {value}"


def _ordered(name: str, values: list[float | None]) -> Iterator[str]:
    """Rising, and null only at the far end, where samples never finish."""
    known = [value for value in values if value is not None]
    if any(a > b for a, b in pairwise(known)):
        yield f"{name}: low, likely, high are {values}"


def _rising(name: str, values: list[float | None]) -> Iterator[str]:
    known = [value for value in values if value is not None]
    if any(a > b * (1 + 1e-9) + 1e-12 for a, b in pairwise(known)):
        yield f"{name} falls: {values}"
    if any(a is None and b is not None for a, b in pairwise(values)):
        yield f"{name} comes back: {values}"


def _sums(name: str, parts: Any, whole: float | None, slack: float) -> Iterator[str]:
    parts = list(parts)
    if whole is None or None in parts:
        yield f"{name} null"
    elif not math.isclose(math.fsum(parts), whole, rel_tol=0.0, abs_tol=slack):
        yield f"{name} sum to {math.fsum(parts)}, not {whole}"
