"""Which units a case is written in, so that its answers come in the same."""

from __future__ import annotations

import re

_QUANTITY = re.compile(r'"\s*[-+±]?[\d.,/ ]*\d\s*([^"\d\s][^"\n]{0,15})"')
US_UNITS = frozenset({
    "in", "inch", "inches", "ft", "feet", "foot", "'", "psi", "psig", "ksi", "psi/min", "US gal", "gpm", "US gpm",
    "scfm", "cfm", "ft3", "lb", "degF", "°F", "F",
})


def written_in(text: str) -> str:
    """us where most quantities of a case's text have US units, else metric; any text is taken.

    Inches alone do not count: hose and pipe bores are in inches the world over.
    """
    units = [unit.strip() for unit in _QUANTITY.findall(text)]
    telling = [unit for unit in units if unit not in ("in", "inch", "inches", "%", "min", "s", "h", "deg", "/min")]
    ours = sum(unit in US_UNITS for unit in telling)
    return "us" if 2 * ours > len(telling) else "metric"
