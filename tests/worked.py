"""The estimate of many samples with its stages as a visit has them, sample by sample."""

from __future__ import annotations

from fillcalc.arrays import Array
from fillcalc.estimation.answers import Estimate
from fillcalc.estimation.days import counted, visiting
from fillcalc.job.samples import Samples
from fillcalc.questions.days import number_of_days
from fillcalc.questions.ranges import stages_of


def work_out(sampled: Samples) -> tuple[Estimate, dict[str, Array]]:
    """The estimate of all samples, and the time of each stage of the visit, s, with set-up and pack-up of each day."""
    everything, alone = stages_of(sampled)
    return everything, counted(alone.times, number_of_days([alone], visiting(sampled.case, alone.times)))
