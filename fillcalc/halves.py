"""The estimate of many tries in two processes, each with half of them."""

from __future__ import annotations

import mmap
import os
import pickle
import sys
import threading
from collections.abc import Callable
from typing import Any

import numpy as np

from fillcalc.answers import Estimate
from fillcalc.case.records import Case
from fillcalc.estimate import estimate
from fillcalc.model.arrays import joined, length, take

LEAST_ROWS = 2048
"""Tries below which a second process costs more than it brings."""
OURS = 0.54
"""Part of the tries that is worked out here; the copy has to be made and to hand over."""
ROOM = 4096
"""Bytes for the answers of one try; they take a seventh of it."""


def estimate_in_two(case: Case) -> Estimate:
    """What `fillcalc.estimate.estimate` says, a half of the tries being worked out in a copy of this process.

    For a program that has done nothing but read a case: it is copied with all that it holds. Where there are few
    tries, more threads than one, a single processor, or no cheap copy of a process, all is done here. The tries agree
    with those of one process to 1e-6, the case as written to the last figure.
    """
    rows = length(case)
    if rows < LEAST_ROWS or not _may_fork():
        return estimate(case)
    half = int(OURS * rows)
    theirs = _beside(lambda: estimate(take(case, np.r_[0, half:rows])), rows * ROOM)
    if theirs is None:
        return estimate(case)
    ours = estimate(take(case, slice(0, half)))
    rest = theirs()
    return estimate(case) if rest is None else joined(ours, rest, half)


def _may_fork() -> bool:
    """Copies of a process are quick and safe on Linux; elsewhere the libraries beneath may not stand them."""
    return sys.platform == "linux" and threading.active_count() == 1 and len(os.sched_getaffinity(0)) > 1


def _beside(work: Callable[[], Any], room: int) -> Callable[[], Any] | None:
    """Begin some work in a copy of this process: what waits for its result (None where it failed), or None without a
    copy."""
    shared = mmap.mmap(-1, room)
    try:
        copy = os.fork()
    except OSError:
        return None
    if copy == 0:
        failed = 1
        try:
            pickle.dump(work(), shared, pickle.HIGHEST_PROTOCOL)
            failed = 0
        finally:
            os._exit(failed)

    def result() -> Any:
        with shared:
            return pickle.load(shared) if os.waitpid(copy, 0)[1] == 0 else None

    return result
