"""From a default and what jobs took to a figure of one's own: low, likely and high.

The logarithm of a time, a flow or a share of air is normal about a mean with a spread, neither known. The default is
what three jobs would have left us knowing of both: a mean worth three, a spread worth the two degrees of freedom that
three jobs have about their own mean. Each job is then added to it: the conjugate normal-inverse-gamma update (Gelman
et al., Bayesian Data Analysis, 3rd ed. 2013, ch. 3.3; not checked against the book), whose prediction for the next
job is Student's t in the logarithm.

One tap or pump that has a name is different: the default's spread is mostly that from one tap to another. Were it tied
to the scatter of this one's jobs, a tap far off the default would be taken to scatter widely for ever. So of a name the
mean and the scatter are known apart (`learned_of_a_name`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log, sqrt

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case.records import Range
from fillcalc.job.distribution import LOGARITHMIC_FROM, quantile
from fillcalc.questions.jobs.chances import beta_quantile, t_below, t_quantile

PRIOR_JOBS = 3.0
"""Jobs that a default of a time, a flow, the air or a pump's curve is worth; judgement."""
PRIOR_OF_A_NAME = 1.0
"""Jobs that the default is worth for one tap or pump that has a name while no second job has shown its scatter: half of
the default's variance is taken for that from one to another, half for that from job to job; judgement. One fill alone
may have had a kinked hose or a tap half open."""
PRIOR_PIECES = 7.0
"""Pieces that the default share of re-made joints is worth; judgement."""
LOW, HIGH = 0.10, 0.90
"""What low and high of an answer mean: one job in ten lies below, nine in ten."""
TO_AN_END = 1.0 - sqrt(2.0 * LOW)
"""How far the tenth hundredth of an input's range lies from its middle, as a part of the way to its end."""
NOTHING = 1e-9
"""Part of the likely figure below which a low end counts as none."""
ODD_CHANCE = 0.01
"""Chance, by all other jobs, below which a job may be odd; judgement."""
ODD_WIDTHS = 3.0
"""Widths of the default, from likely to its nine in ten, that an odd job is off at the least; judgement."""


@dataclass(frozen=True)
class Known:
    """What is known of a logarithm: the prediction for the next job is mean + scale t, t Student's."""

    mean: float
    scale: float
    freedom: float
    """Degrees of freedom."""
    jobs: float
    """What the mean is worth, the default's three jobs with it."""
    square: float
    """Sum of squares about the mean, the default's with it."""
    lean: float
    """Lower width of the default over the mean of both: below 1 where its high is further off than its low."""
    width: float
    """Mean of the default's two widths, from likely to one in ten and to nine in ten."""
    logarithmic: bool
    """Whether the default's own range is spread in the logarithm."""


def known_before(default: Range, jobs: float = PRIOR_JOBS) -> Known:
    """Return what a default alone tells: its prediction has the default's one in ten, middle and nine in ten.

    `default` has a likely value; all three in one unit, the likely and one in ten above nothing. Its mean is worth so
    many `jobs`.
    """
    low, likely, high = (float(log(float(quantile(default, np.array(rank))))) for rank in (LOW, 0.5, HIGH))
    width, freedom = 0.5 * (high - low), PRIOR_JOBS - 1.0
    scale = width / t_quantile(HIGH, freedom)
    square = freedom * scale**2 * jobs / (jobs + 1.0)
    spread_in_log = default.low > 0.0 and default.high > LOGARITHMIC_FROM * default.low
    return Known(likely, scale, freedom, jobs, square, (likely - low) / width, width, spread_in_log)


def learned(before: Known, logs: Sequence[float]) -> Known:
    """Return what is known once jobs are added, each by the natural logarithm of what it took."""
    if not logs:
        return before
    n, mean = float(len(logs)), float(np.mean(logs))
    jobs, freedom = before.jobs + n, before.freedom + n
    square = before.square + float(np.sum((np.asarray(logs) - mean) ** 2)) \
        + before.jobs * n / jobs * (mean - before.mean) ** 2
    lean = 1.0 + (before.lean - 1.0) * before.jobs / jobs
    return Known((before.jobs * before.mean + n * mean) / jobs, sqrt(square / freedom * (1.0 + 1.0 / jobs)), freedom,
                 jobs, square, lean, before.width, before.logarithmic)


def learned_of_a_name(before: Known, logs: Sequence[float]) -> Known:
    """Return what is known of one tap or pump once jobs are added, its mean and its scatter known apart.

    The mean is normal about the default's with the variance T, of which the default makes S0/2/k, k the jobs that it is
    worth and S0 its square; the scatter is V = (S0 + S)/(2 + n - 1), S the squares of n jobs about their own mean. Then
    the default weighs as V/T jobs, fewer the better the jobs agree, and the prediction is Student's t with 2 + n - 1
    degrees of freedom and the variance V (1 + 1/(V/T + n)). Derived: the conditional posterior of a mean with an
    independent normal prior, at the estimate of V.
    """
    if not logs:
        return before
    n, mean = float(len(logs)), float(np.mean(logs))
    square, freedom = before.square + float(np.sum((np.asarray(logs) - mean) ** 2)), before.freedom + n - 1.0
    scatter, between = square / freedom, before.square / before.freedom / before.jobs
    worth = scatter / between
    return Known((worth * before.mean + n * mean) / (worth + n), sqrt(scatter * (1.0 + 1.0 / (worth + n))), freedom,
                 worth + n, square, 1.0 + (before.lean - 1.0) * worth / (worth + n), before.width, before.logarithmic)


def figure(known: Known) -> Range:
    """Return low, likely and high as an input has them, whose one in ten, middle and nine in ten are the prediction's.

    The default's lean, its high being further off than its low, fades as jobs outweigh it.
    """
    half = known.scale * t_quantile(HIGH, known.freedom)
    tenth, likely, ninth = (exp(known.mean + step) for step in (-known.lean * half, 0.0, (2.0 - known.lean) * half))
    return _ended(tenth, likely, ninth, known.logarithmic)


def no_further(asked: Range, default: Range, logs: Sequence[float]) -> Range:
    """Return the figure with the end that jobs point away from no further out than the default, or a job, has it, and
    the end that they point to no further beyond the last job than the default has it beyond its likely value.

    A job far off the default widens both ends of the prediction, for it raises the scatter that the default's mean and
    the jobs share. But jobs quicker than was thought do not say that the next may be slower than was thought: where the
    scatter is known, a smaller observation makes the next one stochastically smaller (monotone likelihood ratio, Karlin
    and Rubin 1956; from memory, not checked). And one job that waited long does not say that waits scatter more widely
    about it than they were thought to scatter about the default; judgement.
    """
    if not logs or asked.likely is None or default.likely is None:
        return asked
    quickest, slowest = exp(min(logs)), exp(max(logs))
    faster = asked.likely < default.likely
    least = quickest * default.low / default.likely if faster else quickest
    most = slowest if faster else slowest * default.high / default.likely
    return Range(min(max(asked.low, min(default.low, least)), asked.likely), asked.likely,
                 max(min(asked.high, max(default.high, most)), asked.likely), given=False)


def _ended(tenth: float, likely: float, ninth: float, logarithmic: bool) -> Range:
    """The range whose tenth and ninetieth hundredth these are, as `fillcalc.job.distribution` spreads it.

    Between the widths at which neither way of spreading has such a range, the widest of the plain way stands in; its
    ends are then at most 7 % nearer to the middle.
    """
    straight = (likely - (likely - tenth) / TO_AN_END, likely + (ninth - likely) / TO_AN_END)
    bent = tuple(likely * (end / likely) ** (1.0 / TO_AN_END) for end in (tenth, ninth))
    from_nothing = abs(straight[0]) <= NOTHING * likely
    plain = from_nothing or (straight[0] > 0.0 and straight[1] <= LOGARITHMIC_FROM * straight[0])
    in_log = bent[1] > LOGARITHMIC_FROM * bent[0]
    if in_log and (logarithmic or not plain):
        return Range(bent[0], likely, bent[1], given=False)
    low, high = straight
    if not plain and low > 0.0:
        nearer = (LOGARITHMIC_FROM - 1.0) * likely / (high - likely + LOGARITHMIC_FROM * (likely - low))
        low, high = likely - nearer * (likely - low), likely + nearer * (high - likely)
    return Range(max(low, 0.0), likely, high, given=False)


def odd_ones(before: Known, logs: Sequence[float]) -> tuple[int, ...]:
    """Return the indexes of the jobs that all others, the default among them, make next to impossible.

    The oddest is taken out first, and the rest judged without it.
    """
    values = np.asarray(logs, float)
    kept, odd = np.arange(len(values)), []
    while kept.size:
        off = _oddness(before, values[kept])
        if not off.max() > 0.0:
            break
        worst = int(off.argmax())
        odd.append(int(kept[worst]))
        kept = np.delete(kept, worst)
    return tuple(sorted(odd))


def _oddness(before: Known, values: Array) -> Array:
    """How far each value is off what all others predict, in scales; 0 for one that is not odd."""
    n = len(values) - 1
    jobs, freedom = before.jobs + n, before.freedom + n
    mean = (np.sum(values) - values) / max(n, 1)
    around = np.maximum(np.sum(values**2) - values**2 - n * mean**2, 0.0)
    square = before.square + around + before.jobs * n / jobs * (mean - before.mean) ** 2
    off = np.abs(values - (before.jobs * before.mean + n * mean) / jobs)
    scales = off / np.sqrt(square / freedom * (1.0 + 1.0 / jobs))
    far = [off[one] > ODD_WIDTHS * before.width
           and 2.0 * (1.0 - t_below(float(scales[one]), freedom)) < ODD_CHANCE for one in range(n + 1)]
    return np.where(far, scales, 0.0)


def share_learned(default: float, hits: float, pieces: float) -> Range:
    """Return low, likely and high of a share of pieces after `hits` of so many, the default worth seven pieces.

    Beta with a = 7 d + k and b = 7 (1 - d) + n - k; likely is its mean a/(a + b), with which pieces are counted.
    """
    a, b = PRIOR_PIECES * default + hits, PRIOR_PIECES * (1.0 - default) + pieces - hits
    likely = a / (a + b)
    tenth, ninth = (beta_quantile(rank, a, b) for rank in (LOW, HIGH))
    asked = _ended(min(tenth, likely), likely, max(ninth, likely), logarithmic=False)
    return Range(asked.low, likely, min(asked.high, 1.0), given=False)
