"""Why a computation ended where it did."""

from __future__ import annotations

from enum import IntEnum


class Status(IntEnum):
    """Why a computation ended where it did; one list for the whole package."""

    DONE = 0
    AIR_SHUT_IN = 1
    """The fill stands still: the air cannot leave and balances the source."""
    HEAD_TOO_HIGH = 2
    """The fill stands still: the source cannot lift the water any higher."""
    PUMP_STALLS = 3
    """The pump stalls below the test pressure."""
    LEAK_BALANCES = 4
    """The leak takes all that the pump gives, below the test pressure."""
    NOT_STARTED = 5
    """An earlier stage did not finish."""
    STARTS_ABOVE = 6
    """The pressure at the start is at or above the test pressure already."""
    BELOW_HEAD = 7
    """The gauge shows more than the test pressure with the vessel just full."""
    SUPPLY_ENDS = 8
    """The gas ends below the test pressure, or before it stands there."""


LIMITS = ("pump", "air supply", "rise limit", "leak")
