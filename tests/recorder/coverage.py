"""How often the true leak lies between low and high, and how often a tight vessel is said to leak."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from fillcalc.case.read import read_text
from fillcalc.questions.recording.explained import HoldFit, explained
from fillcalc.questions.recording.shut import Seen
from tests.recorder.simulation import CASE, Records, Setting, records

BALL = read_text(CASE)
GAUGES = {"class 1": 0.01, "class 0.1": 0.001}
EVERY = (1.0, 10.0, 60.0)
HOLDS = (1200.0, 3600.0)
RISE_S, WAIT_S = 45.0, 120.0


@dataclass(frozen=True)
class Row:
    """One kind of record: its name, and of how many the truth lay inside, a tight one leaked, and how wide it was."""

    gauge: str
    every_s: float
    hold_s: float
    temperature: bool
    count: int
    inside: int
    tight_inside: int
    tight_shown: int
    leaks_shown: int
    width_ml_min: float
    smallest_ml_min: float


def fits(made: Records, setting: Setting) -> Iterator[tuple[float, HoldFit]]:
    """The true leak of each record, m3/s, and what is told of it."""
    rows = (made.time >= made.begins_s) & (made.time <= made.begins_s + setting.hold_s)
    for number, leak in enumerate(made.leak):
        warm = None if made.temperature is None else made.temperature[number, rows]
        yield float(leak), explained(BALL, Seen(made.time[rows], made.gauge[number, rows], warm, RISE_S, WAIT_S), None)


def row(gauge: str, every_s: float, hold_s: float, temperature: bool, count: int) -> Row:
    """So many records with a leak and as many without."""
    setting = Setting(accuracy=GAUGES[gauge], every_s=every_s, hold_s=hold_s, temperature=temperature)
    leaking = list(fits(records(setting, count, 1), setting))
    tight_setting = replace(setting, leaks=False)
    tight = list(fits(records(tight_setting, count, 2), tight_setting))

    def inside(found: list[tuple[float, HoldFit]]) -> int:
        return sum(fit.leak.low_m3_s <= leak <= fit.leak.high_m3_s for leak, fit in found)

    return Row(gauge, every_s, hold_s, temperature, count, inside(leaking), inside(tight),
               sum(fit.shows for _, fit in tight), sum(fit.shows for _, fit in leaking),
               6e7 * float(np.median([fit.leak.high_m3_s - fit.leak.low_m3_s for _, fit in leaking])),
               6e7 * float(np.median([fit.smallest_m3_s for _, fit in tight])))
