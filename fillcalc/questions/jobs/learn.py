"""Own figures from finished jobs: what the next estimate starts from in place of the defaults.

>>> from fillcalc.case.read import read_text
>>> job = '''
... format = 1
... [vessel]
... shape = "by volume"
... volume = "570 L"
... [tap]
... pressure = "3 bar"
... [[fill.hose]]
... length = "25 m"
... bore = "12.7 mm"
... [test]
... pressure = "15 bar"
... [pump]
... kind = "hand"
... [took]
... date = "2026-03-02"
... set_up = "{} min"
... '''
>>> found = learn([read_text(job.format(time)) for time in (44, 50, 47, 52, 46)])
>>> [(one.stage, round(one.likely / 60), one.why) for one in found.own.time]
[('set_up', 42, '5 jobs, 2026-03')]
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import exp
from typing import TypeVar

import numpy as np

from fillcalc.case.own import Own, OwnAir, OwnEntry, OwnPump, OwnRemade, OwnSource, OwnTime
from fillcalc.case.records import Case, Range
from fillcalc.questions.jobs.crews import Crews, two_crews
from fillcalc.questions.jobs.posterior import (
    PRIOR_JOBS,
    PRIOR_OF_A_NAME,
    figure,
    known_before,
    learned,
    learned_of_a_name,
    no_further,
    odd_ones,
    share_learned,
)
from fillcalc.questions.jobs.seen import Joints, Seen, seen

MOST_REMADE = 3
"""Joints of one piece that may be re-made in a job; more is a slip of the pen, judgement."""


@dataclass(frozen=True)
class Odd:
    """A job that is left out of one figure: which of the given ones, of what, and what it says against the others."""

    job: int
    what: str
    value: float
    """SI: s, m3/s, a share or a factor."""
    family: str
    likely: float
    """What the others make likely."""


@dataclass(frozen=True)
class Learned:
    """Own figures, the default beside each of them, the odd jobs, and whether there are two crews among the jobs."""

    own: Own
    defaults: tuple[Range, ...]
    """Of the entries of `own`, in their order."""
    odd: tuple[Odd, ...]
    crews: Crews | None
    jobs: int
    """Jobs that told something."""


def learn(cases: Sequence[Case]) -> Learned:
    """Return what finished jobs teach, each case being one that has a [took].

    Of times, flows, air and curves each kind gets its own figure: the default is worth three jobs (of a tap or pump
    that has a name one, and less as its jobs agree), each job is one more, and one that all others make next to
    impossible is left out and named. Of re-made joints the default is worth seven pieces.
    """
    found, joints = seen(cases)
    lots: dict[OwnEntry, list[Seen]] = {}
    for one in [*found, *_of_the_kind(found)]:
        lots.setdefault(one.of, []).append(one)
    odd: list[Odd] = []
    made = [_entry(of, lot, cases, odd) for of, lot in sorted(lots.items(), key=lambda item: _order(item[0]))]
    made += _remade(joints, cases, odd)
    entries = [entry for entry, _ in made]
    own = Own(time=_of(entries, OwnTime), remade=_of(entries, OwnRemade), air=_of(entries, OwnAir),
              source=_of(entries, OwnSource), pump=_of(entries, OwnPump))
    beside = {id(entry): default for entry, default in made}
    left_out = {(one.job, one.what) for one in odd}
    kept = [one for one in found if (one.job, one.what) not in left_out]
    named = {one.job for one in found} | {one.job for one in joints}
    return Learned(own, tuple(beside[id(entry)] for entry in own.entries()), tuple(odd), two_crews(kept), len(named))


Entry = TypeVar("Entry")


def _of(entries: Sequence[OwnEntry], kind: type[Entry]) -> tuple[Entry, ...]:
    return tuple(entry for entry in entries if isinstance(entry, kind))


def _order(of: OwnEntry) -> tuple[bool, str]:
    """Entries with a name before those of their kind, for the first that fits is taken."""
    return getattr(of, "name", "") is None, repr(of)


def _of_the_kind(found: Sequence[Seen]) -> list[Seen]:
    """Each tap that has a name once more, as one of its kind: its middle, however often it was used."""
    named: dict[OwnSource, list[Seen]] = {}
    for one in found:
        if isinstance(one.of, OwnSource) and one.of.name is not None:
            named.setdefault(one.of, []).append(one)
    return [replace(lot[0], of=replace(of, name=None), log=float(np.median([one.log for one in lot])))
            for of, lot in named.items()]


def _entry(of: OwnEntry, lot: Sequence[Seen], cases: Sequence[Case], odd: list[Odd]) -> tuple[OwnEntry, Range]:
    of_a_name = getattr(of, "name", None) is not None
    before = known_before(_middle_of([one.default for one in lot]), PRIOR_OF_A_NAME if of_a_name else PRIOR_JOBS)
    logs = [one.log for one in lot]
    off = odd_ones(before, logs)
    kept = [one for place, one in enumerate(lot) if place not in off]
    known = (learned_of_a_name if of_a_name else learned)(before, [one.log for one in kept])
    family = FAMILY[type(of)]
    odd += [Odd(lot[place].job, lot[place].what, exp(lot[place].log), family, exp(known.mean)) for place in off
            if not any(one.job == lot[place].job and one.what == lot[place].what for one in odd)]
    default = figure(before)
    asked = _legal(no_further(figure(known), default, [one.log for one in kept]), MOST.get(type(of)))
    return replace(of, low=asked.low, likely=asked.middle, high=asked.high,
                   why=reason(len(kept), [cases[one.job] for one in kept])), default


FAMILY: Mapping[type, str] = {OwnTime: "duration", OwnAir: "share", OwnSource: "flow", OwnPump: "number"}
MOST: Mapping[type, tuple[float, float]] = {OwnAir: (0.0, 0.95), OwnPump: (0.2, 1.5), OwnSource: (1e-7, 20.0)}
"""What may stand in the file of own figures."""


def _legal(asked: Range, ends: tuple[float, float] | None) -> Range:
    if ends is None or asked.likely is None:
        return asked
    low, likely, high = (min(max(each, ends[0]), ends[1]) for each in (asked.low, asked.likely, asked.high))
    return Range(low, likely, high, given=False)


def _middle_of(defaults: Sequence[Range]) -> Range:
    """The default of a kind: that of its jobs where they agree, else the middle of each end."""
    low, likely, high = (float(np.median([getattr(one, end) for one in defaults])) for end in ("low", "likely", "high"))
    return Range(low, likely, high, given=False)


def _remade(joints: Sequence[Joints], cases: Sequence[Case], odd: list[Odd]) -> list[tuple[OwnEntry, Range]]:
    lots: dict[OwnRemade, list[Joints]] = {}
    for one in joints:
        if one.remade > MOST_REMADE * one.pieces:
            odd.append(Odd(one.job, "joints re-made", one.remade, "count", one.default * one.pieces))
        else:
            lots.setdefault(one.of, []).append(one)
    made: list[tuple[OwnEntry, Range]] = []
    for of, lot in lots.items():
        pieces = sum(one.pieces for one in lot)
        hits = sum(min(one.remade, one.pieces) for one in lot)
        asked = share_learned(lot[0].default, hits, pieces)
        why = f"{hits:.0f} of {pieces} pieces, {reason(len(lot), [cases[one.job] for one in lot])}"
        made.append((replace(of, low=asked.low, likely=asked.middle, high=asked.high, why=why),
                     Range(lot[0].default, lot[0].default, lot[0].default, given=False)))
    return made


def reason(jobs: int, cases: Sequence[Case]) -> str:
    """Return how many jobs, and from which month to which: "14 jobs, 2026-03 to 2026-11"."""
    months = sorted(case.took.date[:7] for case in cases if case.took.date)
    when = "" if not months else f", {months[0]}" if months[0] == months[-1] else f", {months[0]} to {months[-1]}"
    return f"{jobs} job{'' if jobs == 1 else 's'}{when}"
