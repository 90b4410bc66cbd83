"""What own figures are worth: made crews, jobs to learn from and jobs never seen. `python -m tests.own` makes the table
of the README, `python -m tests.own 4 50` a small one: sets of jobs to learn from, and unseen jobs of each."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fillcalc.case.own import Own
from fillcalc.case.read import read_text
from fillcalc.case.records import Case
from fillcalc.questions.jobs.learn import learn
from fillcalc.questions.jobs.track import ON_SITE, estimates
from tests.jobs.made import CREWS, MadeCrew, done, text_of

JOBS, SETS, UNSEEN = 20, 10, 100
KNOWN, TIMES = 40, 100
"""Unseen jobs, and how often each is done, for the width of who knows all about a crew."""
ROWS = 128
"""Samples of each unseen job."""


@dataclass(frozen=True)
class Worth:
    """Unseen jobs of a crew: the share between low and high and the width of low to high, and with the handbook's."""

    inside: float
    width: float
    """Median of high less low, s."""
    inside_before: float
    width_before: float


def worth(crew: MadeCrew, jobs: int, sets: int, unseen: int, seed: int = 1) -> Worth:
    """What a crew's own figures are worth after so many jobs, over several sets of them."""
    found = []
    for one in range(sets):
        rng = np.random.default_rng([seed, one])
        own = learned_by(crew, jobs, rng)
        texts = [text_of(rng) for _ in range(unseen)]
        plain = _read(texts, Own())
        taken = [case.took.on_site for case in done(plain, crew, rng)]
        found.append([*_judged(_read(texts, own), taken), *_judged(plain, taken)])
    return Worth(*(float(each) for each in np.mean(found, axis=0)))


def band(crew: MadeCrew, unseen: int, times: int, seed: int = 1) -> float:
    """Median of high less low, s, of who knows all about the crew: what it took when each of so many unseen jobs was
    done so many times, with no estimate of its own."""
    rng = np.random.default_rng([seed, unseen, times])
    cases = _read([text_of(rng) for _ in range(unseen)], Own())
    taken = np.array([case.took.on_site for case in done(cases * times, crew, rng)]).reshape(times, unseen)
    low, high = np.quantile(taken, (0.1, 0.9), axis=0)
    return float(np.median(high - low))


def learned_by(crew: MadeCrew, jobs: int, rng: np.random.Generator) -> Own:
    """What a crew's jobs teach."""
    return learn(done(_read([text_of(rng) for _ in range(jobs)], Own()), crew, rng)).own


def _read(texts: Sequence[str], own: Own) -> list[Case]:
    return [read_text(text, own=own) for text in texts]


def _judged(cases: Sequence[Case], taken: Sequence[float]) -> tuple[float, float]:
    """Share of the times taken between low and high, and the median width."""
    rows = [one[ON_SITE] for one in estimates(cases, ROWS * len(cases))]
    inside = np.mean([one.low_s <= each <= one.high_s for one, each in zip(rows, taken, strict=True)])
    return float(inside), float(np.median([one.high_s - one.low_s for one in rows]))


def main(arguments: Sequence[str]) -> int:
    sets, unseen = (int(each) for each in arguments) if arguments else (SETS, UNSEEN)
    print(f"| crew | jobs | between low and high, of {sets * unseen} unseen | width | with defaults | width "
          "| width, all known |")
    print("| --- | ---: | ---: | ---: | ---: | ---: | ---: |")
    for crew in CREWS:
        least = band(crew, KNOWN, TIMES)
        for jobs in (1, JOBS):
            row = worth(crew, jobs, sets, unseen)
            print(f"| {crew.name} | {jobs} | {100 * row.inside:.0f} % | {row.width / 60:.0f} min | "
                  f"{100 * row.inside_before:.0f} % | {row.width_before / 60:.0f} min | "
                  f"{least / 60:.0f} min |", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
