"""Which units a case is written in, so that its answers come in the same."""

from __future__ import annotations

import re
from functools import lru_cache

from fillcalc.units.numerals import NumberProblem, leading_number

_QUOTED = re.compile(r'"([^"\n]{1,40})"')
US_UNITS = frozenset({
    "in", "inch", "inches", "ft", "feet", "foot", "'", "psi", "psig", "ksi", "psi/min", "US gal", "gpm", "US gpm",
    "US gal/min", "/US gal", "scfm", "cfm", "ft3", "lb", "degF", "°F", "F",
})


def written_in(text: str) -> str:
    """us where most quantities of a case's text have US units, else metric; any text is taken.

    Inches alone do not count: hose and pipe bores are in inches the world over.
    """
    units = filter(None, map(_unit_of, _QUOTED.findall(text)))
    telling = [unit for unit in units if unit not in ("in", "inch", "inches", "%", "min", "s", "h", "deg", "/min")]
    ours = sum(unit in US_UNITS for unit in telling)
    return "us" if 2 * ours > len(telling) else "metric"


@lru_cache(maxsize=4096)
def _unit_of(text: str) -> str:
    """What follows the number at the front of a quoted text; "" where it has none."""
    try:
        return leading_number(text.lstrip("± "))[1]
    except NumberProblem:
        return ""
