"""What stands beside a case file: kits, edits from the form, pages for paper, visits of several cases.

Each kind makes its trials from a seed, the same each time, and has a function that tries one of them.
"""

from __future__ import annotations

import json
import random
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from itertools import chain, islice
from math import isfinite
from typing import Any

from fillcalc.case.edit import set_at
from fillcalc.case.kit import read_kit
from fillcalc.case.problems import CaseProblems
from fillcalc.case.read import read_bytes
from fillcalc.case.records import Case
from fillcalc.estimation.estimate import estimate
from fillcalc.formats.data import line
from fillcalc.formats.page import page, visit_page
from fillcalc.formats.quantities import quantities
from fillcalc.formats.visit_text import combined_data, combined_report
from fillcalc.questions.visit import visit
from tests.faults import damage, recorders
from tests.faults.judge import Verdict, guarded, judge, no_constant, problem_faults, unsafe
from tests.faults.texts import ROOT, demos, given, table_of, with_value, written

EACH_WAY = 700
NO_NUMBER = re.compile(r"(?<![\w.-])-?(nan|inf)(?![\w.-])|\bNone\b")
STYLE = re.compile(r"<style.*?</style>", re.DOTALL)


# --- kits -------------------------------------------------------------------------------------

@cache
def kit() -> bytes:
    """The shipped kit."""
    return (ROOT / "cases" / "kit.toml").read_bytes()


def kits(seed: int) -> Iterator[bytes]:
    """Kits with bytes changed or cut short, and with hostile text or no text in each of their fields."""
    for place in range(2 * EACH_WAY):
        dice, data = random.Random(f"{seed}:{place}"), bytearray(kit())
        for _ in range(dice.choice((1, 1, 2, 4))):
            data[dice.randrange(len(data))] = dice.randrange(32, 127)
        yield bytes(data if place % 3 else data[:dice.randrange(len(data))])
    table = table_of(kit())
    for key in ("hose", "pump", "gauge"):
        for place, row in enumerate(table[key], 1):
            for name in row:
                for value in (*damage.HOSTILE, *damage.NOT_TEXT):
                    yield written(with_value(table, f"{key}.{place}.{name}", value))


def try_kit(data: bytes) -> Verdict:
    """It is read, or refused in words."""
    def work(verdict: Verdict) -> None:
        try:
            read_kit(data, "kit.toml")
            verdict.read = True
        except CaseProblems as found:
            verdict.faults += problem_faults(found)

    return guarded(work)


# --- the form ---------------------------------------------------------------------------------

Edit = tuple[str, str, str | None]


def edits(seed: int) -> Iterator[Edit]:
    """Hostile text typed into each field of the form, and each field emptied; a case file and a damaged one."""
    for name in ("full", "ammonia-line-us"):
        text = demos()[name].decode()
        for path, _ in given(table_of(demos()[name])):
            yield text, path, None
            for value in damage.HOSTILE:
                if len(value) < 1000 or path == "tap.pressure":
                    yield text, path, value
    for data in islice(damage.byte_flips(seed), EACH_WAY):
        yield data.decode("utf-8", "replace"), "tap.pressure", "3 bar"


def try_edit(edit: Edit) -> Verdict:
    """The text takes it, or says with a ValueError why not; other lines of the text stay as they are."""
    text, path, value = edit

    def work(verdict: Verdict) -> None:
        try:
            new = set_at(text, path, value)
        except ValueError as error:
            verdict.faults += [] if str(error) else ["refused without a reason"]
            return
        lost = {row for row in text.splitlines() if row.lstrip().startswith("#")} - set(new.splitlines())
        verdict.faults += [f"a comment is lost: {row}" for row in lost]
        try:
            read_bytes(new.encode("utf-8", "surrogatepass"), "job.toml")
            verdict.read = True
        except CaseProblems as found:
            verdict.faults += problem_faults(found)

    return guarded(work)


# --- pages and visits -------------------------------------------------------------------------

def odd_cases(seed: int) -> Iterator[bytes]:
    """Cases that may well read: hostile titles, absurd numbers, values swapped, the ends of ranges."""
    ends = chain(islice(damage.legal_extremes(seed), 3, None, 17), damage.absurd(seed + 1))
    ways = (damage.hostile_titles(seed), damage.absurd(seed), damage.token_swaps(seed), ends)
    for four in zip(*ways, strict=False):
        yield from four


def try_page(data: bytes) -> Verdict:
    """As a page for paper and phone: nothing that turns text round, no figure that is none."""
    def work(verdict: Verdict) -> None:
        case = _case(data)
        if case is not None:
            verdict.read = True
            verdict.faults += page_faults(page(case, estimate(case), "us" if len(data) % 2 else "metric"))

    return guarded(work)


def try_visit(data: bytes) -> Verdict:
    """As one visit with a case that is well: as text, as data, as a page, as quantities."""
    def work(verdict: Verdict) -> None:
        case = _case(data)
        if case is None:
            return
        verdict.read = True
        cases = [case, read_bytes(demos()["bench-valve"], "bench.toml")]
        day, answers = visit(cases)
        if not isfinite(day.total_s.likely) and not day.never_share:
            verdict.faults.append("no time on site, and no reason")
        text = combined_report(cases, day, answers)
        if not re.search(r"^Time on site +\S", text, re.MULTILINE):
            verdict.faults.append("no time on site in the report of the visit")
        verdict.faults += [f"unsafe character in the visit: {sign}" for sign in sorted(unsafe(text))]
        json.loads(line(combined_data(cases, day, answers)), parse_constant=no_constant)
        verdict.faults += page_faults(visit_page(cases, day, answers))
        quantities(answers[0])

    return guarded(work)


def _case(data: bytes) -> Case | None:
    try:
        return read_bytes(data, "job.toml")
    except CaseProblems:
        return None


# --- one thing at a time ----------------------------------------------------------------------

ABSURD: dict[str, dict[str, object]] = {
    "a hose of a kilometre": {"fill.hose.1.length": "1 km"},
    "a hose of a hundred kilometres": {"fill.hose.1.length": "100 km"},
    "no hose to speak of": {"fill.hose.1.length": "0 m", "fill.hose.1.couplings": 0},
    "a bore of half a millimetre": {"fill.hose.1.bore": "0.5 mm", "fill.hose.1.coupling_hole": "0.2 mm",
                                    "fill.hose.1.tail_bore": "0.4 mm", "fill.hose.1.roughness": "0 mm"},
    "a vent of a tenth": {"vent.bore": "0.1 mm"},
    "10,000 m3": {"vessel": {"shape": "other", "volume": "10000 m3", "height": "20 m"}},
    "a thimble": {"vessel": {"shape": "other", "volume": "0.1 mL"}},
    "2500 bar": {"test.pressure": "2500 bar", "pump.ratio": 1000, "pump.regulator_pressure": "3 bar",
                 "vessel.wall": "300 mm"},
    "almost no pressure": {"test.pressure": "1 mbar", "gauge.height": "2.5 m"},
    "water at freezing": {"water.temperature": "0.01 degC"},
    "water at 60": {"water.temperature": "60 degC"},
    "50 below": {"surroundings": {"temperature": "-50 degC"}},
    "6000 m up": {"surroundings": {"altitude": "6000 m"}},
    "a ratio of 1000": {"pump.ratio": 1000},
    "a ratio of a half": {"pump.ratio": 0.5},
    "ten thousand pieces": {"vessel.count": 10000, "vessel.at_once": 1000},
    "95 % air": {"trapped_air.amount": "95 %"},
    "no air": {"trapped_air.amount": "0 %"},
    "a drop at each stroke": {"pump.stroke": "0.01 mL"},
    "a tap above a mountain": {"tap.height": "500 m"},
    "a tap in a mine": {"tap.height": "-500 m"},
    "a drip of a tap": {"tap.open_flow": "0.01 L/min"},
    "a leak like a river": {"test.assumed_leak": "10000 L/min"},
    "a rise limit of a snail": {"test.rise_limit": "0.0006 bar/min"},
    "a hold of four months": {"test.hold": "115 d"},
}
"""Absurd but legal: what stands at some paths of a case."""
LONG: dict[str, tuple[str, dict[str, object]]] = {
    "twenty containers": ("full", {}), "a thimble of a bottle": ("gas-receiver-short", {"gas_supply.volume": "0.1 L"}),
    "a drip of gas": ("gas-receiver-short", {"gas_line.kv": 1e-5}),
    "a needle valve hardly open": ("gas-receiver-short", {"gas_line.kv": 2.5e-4})}
"""What takes many steps: the demo, and what is changed in it."""


def one_thing(_seed: int) -> Iterator[bytes]:
    """Cases with one thing absurd or long; a rise that is given up says so."""
    for demo, values in (*(("cooler-shell", values) for values in ABSURD.values()), *LONG.values()):
        table = table_of(demos()[demo])
        for path, value in values.items():
            table = with_value(table, path, value)
        yield written(table)


def try_one_thing(data: bytes) -> Verdict:
    """It reads, and low, likely and high come soundly within the time that any file may take."""
    verdict = judge(data, ranged=True)
    return verdict if verdict.read else Verdict(False, [*verdict.faults, "not read"])


# --- the kinds --------------------------------------------------------------------------------

def page_faults(html: str) -> list[str]:
    faults = [f"unsafe character in the page: {sign}" for sign in sorted(unsafe(html))]
    if "<script" in html:
        faults.append("a script in the page")
    titled = re.sub(r"<(title|h1|h2)>.*?</\1>", "", STYLE.sub("", html))  # a title may say what it likes
    return faults + [f"the page says {found.group()}" for found in islice(NO_NUMBER.finditer(titled), 1)]


@dataclass(frozen=True)
class Kind:
    """How the trials of a kind are made, how one is tried, and how many the command tries."""

    make: Callable[[int], Iterator[Any]]
    one: Callable[[Any], Verdict]
    number: int


KINDS = {
    "kits damaged and hostile": Kind(kits, try_kit, 10 ** 9),
    "recorders' files damaged, odd, hostile": Kind(recorders.records, recorders.try_record, 10 ** 9),
    "hostile text typed into the form": Kind(edits, try_edit, 10 ** 9),
    "one thing absurd or long, with low and high": Kind(one_thing, try_one_thing, 10 ** 9),
    "pages of damaged and absurd cases": Kind(odd_cases, try_page, 80),
    "visits with a damaged or absurd case": Kind(odd_cases, try_visit, 30),
}
