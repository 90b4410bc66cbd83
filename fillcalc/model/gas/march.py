"""March of many rows in time, each with its own step, and each stopped exactly where something happens to it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from fillcalc.arrays import Array, Flags

C = (0.0, 0.2, 0.3, 0.8, 8.0 / 9.0, 1.0, 1.0)
A = (
    (),
    (0.2,),
    (3.0 / 40.0, 9.0 / 40.0),
    (44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0),
    (19372.0 / 6561.0, -25360.0 / 2187.0, 64448.0 / 6561.0, -212.0 / 729.0),
    (9017.0 / 3168.0, -355.0 / 33.0, 46732.0 / 5247.0, 49.0 / 176.0, -5103.0 / 18656.0),
    (35.0 / 384.0, 0.0, 500.0 / 1113.0, 125.0 / 192.0, -2187.0 / 6784.0, 11.0 / 84.0),
)
ERROR = np.array([71.0 / 57600.0, 0.0, -71.0 / 16695.0, 71.0 / 1920.0, -17253.0 / 339200.0, 22.0 / 525.0, -1.0 / 40.0])
"""Weights of J. Dormand and P. Prince, J. Comp. Appl. Math. 6 (1980) 19."""
TOLERANCE = 1e-6
"""Of each step, as a part of `scale`."""
FIRST_STEP = 0.1
"""s; the step that is tried first, and after all that changes what the slopes hang on."""
SLOWEST = 1e7
"""s; what takes longer than this never ends."""
MOST_STEPS = 1000
"""A rise or a letting off in more steps is given up: some twenty hours."""
NEAR = 1e-7
"""An event has happened where its value, which falls from about 1, is no more than this."""


@dataclass
class Rows:
    """Where each row stands: time in s (N,), state (S, N), and the step it would take next in s (N,)."""

    time: Array
    state: Array
    step: Array
    slopes: Array | None = None
    """Of the states, where they are known already."""
    events: Array | None = None
    """Values of the events, likewise."""
    turning: Array | None = None
    """The states where they turned within the last step, else at its end; (S, N)."""

    def forget(self) -> None:
        """Something other than the march has changed: the slopes in 1/s and the events are no longer known. Definition:
        what is not known is nothing, a ratio of none."""
        self.slopes = self.events = None


Slopes = Callable[[Array], Array]
"""Slopes (S, N) of the states (S, N), per second."""
Events = Callable[[Array], Array]
"""Values (E, N) that fall through nothing where something happens."""


def one_step(rows: Rows, slopes: Slopes, scale: Array, live: Flags, most: Array,
             tolerance: float = TOLERANCE) -> tuple[Array, Flags, Array, Array, Array]:
    """Make one step of each live row: the new states, which rows may take them, the steps in s, and the slopes at both
    ends.

    `scale` (S, 1) is the size of each state, `most` the longest step in s (N,). Steps of rows that may not take them
    are shortened, of the others lengthened, by the fifth root of the error. Source: Dormand and Prince (1980).
    """
    taken = np.where(live, np.minimum(rows.step, most), 0.0)
    first = slopes(rows.state) if rows.slopes is None else rows.slopes
    found = [first]
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):  # a trial out of all range is not finite
        for weights in A[1:]:
            moved = sum(w * k for w, k in zip(weights, found, strict=True) if w)
            found.append(slopes(rows.state + taken * moved))
        end = rows.state + taken * sum(w * k for w, k in zip(A[-1], found, strict=False) if w)
        wrong = np.abs(taken * np.tensordot(ERROR, np.stack(found), 1)) / (tolerance * scale)
    error = np.where(np.isfinite(end).all(axis=0), np.max(wrong, axis=0), np.inf)
    good = live & (error <= 1.0)
    change = np.clip(0.9 * np.maximum(error, 1e-10) ** -0.2, 0.2, 8.0)
    new = np.where(taken < rows.step, np.where(change < 1.0, taken * change, rows.step), rows.step * change)
    rows.step = np.where(live, new, rows.step)
    return end, good, taken, first, found[-1]


def stopped(before: Array, after: Array, taken: Array) -> tuple[Flags, Flags, Array]:
    """What a step does to the events: which happened (E, N), whether the step went past one (N,), and how long the
    next step may be at most, s (N,).

    `before` and `after` (E, N) are their values, `taken` the step in s. Derived: the secant, whose slope is the change
    over the step.
    """
    fell = (before > NEAR) & (after < before)
    beyond = fell & (after < -NEAR)
    slope = np.where(fell, (before - after) / np.where(taken > 0.0, taken, 1.0), 1.0)
    to_go = np.where(fell, np.where(beyond, before, after) / slope, np.inf)
    past: Flags = np.any(beyond, axis=0)
    limit: Array = np.min(np.where(beyond | (fell & (after > NEAR)), to_go, np.inf), axis=0)
    limit = np.where(past, np.clip(limit, 0.02 * taken, 0.98 * taken), np.maximum(limit, 1e-9))
    return fell & (np.abs(after) <= NEAR), past, limit


def turning(start: Array, first: Array, end: Array, last: Array, step: Array) -> Array:
    """The states where their slope passes through nothing within a step, else at its end; `step` s, slopes per s.

    Derived: the cubic with these ends and slopes, at the share of the step where the mean slope turns.
    """
    turns = first * last < 0.0
    s = np.where(turns, first / np.where(turns, first - last, 1.0), 1.0)
    return ((1.0 + 2.0 * s) * (1.0 - s) ** 2 * start + s * (1.0 - s) ** 2 * step * first
            + s**2 * (3.0 - 2.0 * s) * end + s**2 * (s - 1.0) * step * last)


def advance(rows: Rows, slopes: Slopes, events: Events, scale: Array, live: Flags, most: Array,
            tolerance: float = TOLERANCE) -> tuple[Flags, Flags]:
    """Move each live row on by one step, no further than its next event; which rows moved (N,), and which events
    happened to them (E, N). Times in s. Derived: `one_step` with the ends of `stopped`, whose slope is a secant."""
    before = events(rows.state) if rows.events is None else rows.events
    end, good, taken, first, then = one_step(rows, slopes, scale, live, most, tolerance)
    after = events(np.where(good, end, rows.state))
    happened, past, limit = stopped(before, after, taken)
    took = good & ~past
    rows.turning = np.where(took, turning(rows.state, first, end, then, taken), rows.state)
    rows.state = np.where(took, end, rows.state)
    rows.slopes, rows.events = np.where(took, then, first), np.where(took, after, before)
    rows.time = rows.time + np.where(took, taken, 0.0)
    rows.step = np.where(good, np.minimum(rows.step, limit), rows.step)
    return took, happened & took
