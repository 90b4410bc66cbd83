"""The air that stays in a full vessel: a share of its volume, an amount, or what lies above its vent."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case.records import Case
from fillcalc.model.shapes import Shape

MOST_AIR = 0.95
"""Share of the volume that may be air, as the reader has it for a share; a caution says where a volume is cut to it."""


@dataclass(frozen=True)
class Share:
    """Air as a share of the volume net of internals."""

    share: Array


@dataclass(frozen=True)
class Volume:
    """Free air in one piece, m3."""

    volume: Array


@dataclass(frozen=True)
class AboveVent:
    """What lies above a vent that sits so far below the highest point, m."""

    below_top: Array


Air: TypeAlias = Share | Volume | AboveVent
"""What is known of the trapped air."""


def air_of(case: Case) -> Air:
    """What is known of the trapped air of a case."""
    amount = case.trapped_air.amount
    if amount is None:
        return AboveVent(case.vent.below_highest_point)
    return Volume(amount) if case.families.get("trapped_air.amount") == "volume" else Share(amount)


def trapped(air: Air, inside: Shape, net: Array) -> Array:
    """Free air left in one full piece, m3; `net` is its volume without internals, m3.

    What takes room inside, such as tubes, leaves the crown free.
    """
    match air:
        case Share():
            return net * air.share
        case Volume():
            return np.minimum(air.volume, MOST_AIR * net)
        case AboveVent():
            return np.minimum(inside.volume() * inside.share_above_vent(air.below_top), MOST_AIR * net)
