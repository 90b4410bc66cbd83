"""The numbers of an estimate by a second way: closed forms on what the file says, which import nothing of the model.

They are wide where the true answer needs an integration; `tests.twin` is the narrow way for cases that are drawn for
it. Each function gives its objections in words.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from fillcalc.case.records import Case

EXACT = 1e-6
"""The same figure told twice."""
STEP = 0.03
"""The flow may bend between two rows of a history by so much more than between its ends."""
STIFFEST, SOFTEST = 2.2e-10, 5.3e-10
"""Compressibility of water between 0 and 60 degC, 1/Pa, at 2500 bar and at none (IAPWS-95, from memory)."""
STALE_AIR = 0.08
"""Real air differs from Boyle's law by less than this up to 150 bar (compressibility factor, from memory)."""
MOST_BOYLE = 150e5
STAGES_APART = 0.35
"""The time on site at likely values against the sum of its stages', which leaves out what two pairs of hands save."""


def objections(case: Case, data: dict[str, Any]) -> list[str]:
    """Where the data of a case, with its curves, disagree with the second way."""
    return [said for check in (_fill, _strokes, _water, _pump_time, _told_twice, _time_on_site)
            for said in check(case, data)]


def _fill(case: Case, data: dict[str, Any]) -> Iterator[str]:
    """The time is the sum of water over flow between rows of the history."""
    fill, history = data["fill"], data.get("charts", {}).get("fill", {}).get("history")
    if not fill["finished"] or not history or None in history["flow_m3_s"] or fill["change_over_s"]:
        return
    times, waters, flows = (history[name] for name in ("time_s", "water_m3", "flow_m3_s"))
    yield from _same("fill.time_s and its history", fill["time_s"], times[-1], EXACT)
    yield from _same("fill.water_m3 and its history", fill["water_m3"], waters[-1], EXACT)
    bounds = [(water / max(flow), water / min(flow)) for water, flow in (
        (after - before, pair) for (before, after), pair in zip(pairwise(waters), pairwise(flows), strict=True))
        if min(flow) > 0.0]
    if len(bounds) == len(times) - 1:
        least, most = (sum(each) for each in zip(*bounds, strict=True))
        if not least * (1.0 - STEP) <= fill["time_s"] <= most * (1.0 + STEP):
            yield f"fill.time_s {fill['time_s']}: water over flow is {least} to {most}"


def _strokes(case: Case, data: dict[str, Any]) -> Iterator[str]:
    """Strokes times their volume is the water, where nothing leaks."""
    up, stroke = data["pressurise"], getattr(case.pump, "stroke", None)
    if up["reached"] and stroke and not case.test.assumed_leak:
        yield from _same("pressurise.strokes times the stroke", up["strokes"] * float(stroke), up["water_m3"], EXACT)


def _water(case: Case, data: dict[str, Any]) -> Iterator[str]:
    """The water squeezed and the air squeezed lie where their laws allow."""
    up = data["pressurise"]
    if not up["reached"] or up["status"] != "done":
        return
    rise = up["test_gauge_pa"] - up["start_gauge_pa"]
    squeezed, volume = up["parts"]["compression_m3"], data["volume_m3"] - data["trapped_air_m3"]
    stretched = data["volume_m3"] + up["parts"]["wall_m3"] + up["parts"]["hose_m3"]
    if not STIFFEST * volume * rise * 0.98 <= squeezed <= SOFTEST * stretched * rise * 1.02 + 1e-15:
        yield f"pressurise.parts.compression_m3 {squeezed}: {volume} m3 of water by {rise} Pa"
    air = data["trapped_air_m3"] + _dry_hose(case)
    if up["test_gauge_pa"] < MOST_BOYLE and air < up["parts"]["air_m3"] * (1.0 - EXACT):
        yield f"pressurise.parts.air_m3 {up['parts']['air_m3']} of {air}"


def _dry_hose(case: Case) -> float:
    """The air of a test hose that is not bled, m3."""
    hose = case.test_hose
    return 0.0 if hose is None or case.trapped_air.test_hose != "dry" else math.pi / 4 * hose.bore**2 * hose.length


def _pump_time(case: Case, data: dict[str, Any]) -> Iterator[str]:
    """The time is that of the last row of the history, and no pump is faster than the top of its own curve."""
    up, charts = data["pressurise"], data.get("charts", {}).get("pressurise", {})
    curve, history = charts.get("curve"), charts.get("history")
    if not up["reached"] or up["status"] != "done" or not curve or not history:
        return
    yield from _same("pressurise.time_s and its history", up["time_s"], history["time_s"][-1], 1e-3)
    fastest = max((flow for flow in curve["flow_m3_s"] if flow is not None), default=None)
    if case.air_supply is not None and case.air_supply.receiver:  # the curve is that of the compressor alone
        fastest = None
    if fastest and up["time_s"] < up["water_m3"] / fastest * (1.0 - STEP):
        yield f"pressurise.time_s {up['time_s']}: faster than the pump, {up['water_m3'] / fastest}"


def _told_twice(case: Case, data: dict[str, Any]) -> Iterator[str]:
    """An answer with a range stands beside the run at likely values, and both are the same figure."""
    for path, each in data["answers"].items():
        block, _, name = path.partition(".")
        here = data.get(block, {}) if name else data
        value = here.get(name or block) if isinstance(here, dict) else None
        if path != "visit.time_s" and value is not None and each["at_likely_values"] is not None:
            yield from _same(path, each["at_likely_values"], value, EXACT)


def _time_on_site(case: Case, data: dict[str, Any]) -> Iterator[str]:
    """With ranges there is a time on site or the reason why not, and it is about the sum of its stages."""
    if not data.get("stages"):
        return
    visit = data.get("visit")
    if not visit or "likely_s" not in visit:
        yield "no time on site, and no reason"
        return
    if visit["likely_s"] is None:
        if not visit["never"] or not visit["never_share"]:
            yield "the time on site is null, and no reason"
        return
    stages = [stage["at_likely_values_s"] for stage in data["stages"]]
    whole = visit["at_likely_values_s"]
    if whole is not None and None not in stages and abs(sum(stages) - whole) > STAGES_APART * whole + 1.0:
        yield f"the time on site {whole} is not its stages' {sum(stages)}"


def _same(name: str, given: float | None, other: float | None, slack: float) -> Iterator[str]:
    if given is None or other is None or abs(given - other) > slack * max(abs(given), abs(other)) + 1e-12:
        yield f"{name}: {given} and {other}"
