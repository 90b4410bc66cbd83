"""Where the readings stand against test pressure and the pressure limit: the one place that says stop."""

from __future__ import annotations

from dataclasses import dataclass

from fillcalc.case.records import Case
from fillcalc.estimation.answers import answer, part
from fillcalc.estimation.limits import lowest_rating

FINER = 0.1
"""Part of a gauge division that nobody reads; common practice, no source. A reading that much below test pressure is at
it. A whole division below is not: the test would be made below its pressure."""
NEEDLE = 0.005
"""Division of a gauge that nobody gave, as a part of test pressure: one in two hundred."""


@dataclass(frozen=True)
class Reached:
    """The readings against test pressure and the pressure limit; every flag False without readings."""

    test_gauge_pa: float = answer("pressure", "test pressure")
    highest_gauge_pa: float = answer("pressure", "highest reading")
    latest_gauge_pa: float = answer("pressure", "latest reading")
    """By the times; the highest where not every reading has one."""
    limit_gauge_pa: float = answer("pressure", "pressure limit")
    """The lowest of the ratings that were given; NaN where none was."""
    limit_of: str = part()
    """Whose limit that is, "" where none was given."""
    at_test: bool = part()
    """Test pressure is reached, or passed, by the highest reading."""
    near_test: bool = part()
    """Less than one division of the gauge is left."""
    above_test: bool = part()
    """The latest reading is more than one division above test pressure."""
    fallen: bool = part()
    """Test pressure was reached, and the latest reading is more than one division below it."""
    above_limit: bool = part()
    """The highest reading is above the pressure limit."""

    @property
    def stop(self) -> bool:
        """Whether pumping must stop."""
        return self.at_test or self.above_limit


def division_of(case: Case) -> float:
    """One division of the gauge of a case, Pa; a two-hundredth of test pressure where it is not given."""
    given = case.gauge.division
    return NEEDLE * case.test_gauge if given is None else float(given)


def reached(case: Case) -> Reached:
    """Return where the readings of a case, as the reader gives it, stand. The highest reading decides that pumping must
    stop: a pressure that falls in the hold does not ask for more strokes."""
    nan, test, division = float("nan"), case.test_gauge, division_of(case)
    (limit_of, limit), given = lowest_rating(case), case.reading
    if not given:
        return Reached(test, nan, nan, limit, limit_of, False, False, False, False, False)
    highest = latest = max(one.pressure for one in given)
    timed = [(one.time, place) for place, one in enumerate(given) if one.time is not None]
    if len(timed) == len(given):
        latest = given[max(timed)[1]].pressure
    at_test = highest >= test - FINER * division
    return Reached(test, highest, latest, limit, limit_of, at_test, not at_test and highest > test - division,
                   latest > test + division, at_test and latest < test - division, highest > limit * (1.0 + 1e-9))
