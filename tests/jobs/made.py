"""Made crews whose truth is known: jobs that they did, written down as a technician would."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np

from fillcalc.case.assume import handbook
from fillcalc.case.own import PATHS
from fillcalc.case.records import Case, Range, Took
from fillcalc.estimation.estimate import estimate
from fillcalc.estimation.stages import ORDER, stages
from fillcalc.job.distribution import quantile
from fillcalc.job.samples import uncertain
from fillcalc.questions.jobs.batch import split, together
from fillcalc.questions.jobs.posterior import known_before
from fillcalc.tree import put_all

TEXT = """format = 1
title = "{title}"

[vessel]
shape = "by volume"
volume = "{volume:.0f} L"
height = "{height:.2g} m"
count = {count}

[tap]
name = "{tap}"

[[fill.hose]]
length = "{hose:.0f} m"
bore = "{bore}"

[vent]
bore = "10 mm"

[test]
pressure = "{pressure:.0f} bar"
hold = "15 min"

[pump]
kind = "air-driven"
ratio = 10
name = "ten to one"
regulator_pressure = "{regulator:.2g} bar"
stroke = "20 mL"
flow_at_zero = "2.2 L/min"

[labour]
closure = "{closure}"
openings = {openings}
"""
SCATTER = 0.58
"""Scatter from job to job of one crew, as a part of that of the default, which knows no crew."""
NORMAL_90 = 1.2815515655446004


@dataclass(frozen=True)
class MadeCrew:
    """How a crew really works: what its stages take over the default's likely, its tap, its air, its pump."""

    name: str
    pace: float = 1.0
    tap: float = 30.0
    """L/min."""
    air: float = 0.001
    middle: float = 0.8
    remade: float = 0.15
    scatter: float = SCATTER


CREWS = (MadeCrew("a slow one", pace=1.2), MadeCrew("a fast one", pace=0.82), MadeCrew("a weak tap", tap=16.0),
         MadeCrew("vents badly", air=0.003))


def text_of(rng: np.random.Generator, title: str = "made") -> str:
    """A case such as this crew is sent to, with nothing said of tap, air, pump curve and times."""
    pressure = float(rng.uniform(8, 30))
    return TEXT.format(title=title, volume=np.exp(rng.uniform(np.log(200), np.log(1500))), height=rng.uniform(0.8, 2.5),
                       count=1, hose=rng.uniform(10, 40), bore=rng.choice(["12.7 mm", "19 mm"]), tap="yard tap",
                       pressure=pressure, regulator=0.13 * pressure + 0.4, closure="plugs",
                       openings=int(rng.integers(2, 5)))


def done(cases: Sequence[Case], crew: MadeCrew, rng: np.random.Generator, date: str = "2026-05-04") -> list[Case]:
    """The cases with what this crew took for them."""
    true = [_truth(case, crew, rng) for case in cases]
    counts = [int(rng.binomial(case.vessel.count or 1, crew.remade)) for case in cases]
    found: list[Case] = list(cases)
    for batch in together([put_all(case, values) for case, values in zip(cases, true, strict=True)], [1] * len(cases)):
        everything = estimate(batch.case)
        remade = np.array([float(counts[one]) for one in batch.members])
        times = {name: split(values, batch) for name, values in stages(batch.case, everything, remade).items()}
        strokes = split(np.asarray(everything.pressurise.strokes), batch)
        for place, member in enumerate(batch.members):
            took = {name: float(values[place][0]) for name, values in times.items()}
            found[member] = replace(cases[member], took=_written(
                took, counts[member], float(strokes[place][0]), true[member]["rework.time"], date))
    return found


def _written(took: Mapping[str, float], remade: int, strokes: float, again: float, date: str) -> Took:
    """As a person writes it: minutes to a tenth, whole strokes."""
    rounded = {name: round(value / 6.0) * 6.0 for name, value in took.items()}
    keys: dict[str, Any] = {name.replace(" ", "_"): rounded[name] for name in ORDER if rounded[name] > 0.0}
    keys["rework"] = again if remade else None
    return Took(date=date, strokes=float(np.ceil(strokes)), remade=remade, on_site=sum(took.values()), **keys)


def _truth(case: Case, crew: MadeCrew, rng: np.random.Generator) -> dict[str, float]:
    """What the uncertain inputs of a job really are: the crew's own, and the rest anywhere in their ranges."""
    values = {path: float(quantile(case.ranges[path], np.array(rng.uniform()))) for path in uncertain(case)}
    for path in PATHS.values():
        default = handbook(case, path)
        assert default is not None and default.likely is not None
        scatter = crew.scatter * _width(default) / NORMAL_90
        values[path] = crew.pace * default.likely * float(np.exp(scatter * rng.standard_normal()))
    values["tap.open_flow"] = crew.tap / 60e3 * float(np.exp(0.05 * rng.standard_normal()))
    values["trapped_air.amount"] = crew.air * float(np.exp(0.5 * rng.standard_normal()))
    values["pump.mid_curve"] = crew.middle * float(np.exp(0.03 * rng.standard_normal()))
    return values


@cache
def _width(default: Range) -> float:
    """How wide a default is spread, in natural logarithms."""
    return known_before(default).width
