"""A job: a case with no alternatives left, in the terms of the model."""

from __future__ import annotations

from dataclasses import dataclass, replace

from fillcalc.arrays import Array, length, spread, take
from fillcalc.case.records import Case
from fillcalc.job.resolve import resolve
from fillcalc.job.setup import Body, body, duty, filling, held, line, pump, start_gauge
from fillcalc.model import pump as pumps
from fillcalc.model.filling import Filling
from fillcalc.model.held import Held
from fillcalc.model.pressurise import Duty
from fillcalc.model.shapes import LevelTable


@dataclass(frozen=True)
class Job:
    """What the model is given. Numbers of shape (N,), one for each sample, that at likely values first."""

    case: Case
    """Resolved, every leaf of shape (N,)."""
    body: Body
    """The pieces on the line, with their shape."""
    level: LevelTable
    """Of the shape at likely values."""
    filling: Filling
    """The fill, with its line."""
    closed: Held
    """The full vessel with its trapped air and its test hose."""
    driver: pumps.Pump
    misfit: Array
    """Of the pump's points against its fitted curve, as a part of the flow."""
    duty: Duty
    """What is asked of the pump, with no marks on the way."""

    def with_air(self, share: Array | float) -> Held:
        """The closed vessel with this share of its volume as trapped air, beside what a dry test hose holds."""
        return replace(self.closed, air=self.closed.air - self.body.trapped + share * self.body.volume)


def job_of(case: Case) -> Job:
    """The job of a case whose leaves are floats, or arrays (N,)."""
    case = resolve(case)
    case = spread(case, length(case))
    vessel = body(case)
    task = filling(case, vessel, line(case))
    driver, misfit = pump(case)
    return Job(case, vessel, take(vessel.inside, 0).level_table(), task, held(case, vessel), driver, misfit,
               duty(case, start_gauge(case, task)))
