"""Where the readings stand against test pressure and the pressure limit: the one place that says stop."""

from __future__ import annotations

from fillcalc.answers import answer, part
from fillcalc.case.records import Case
from fillcalc.limits import ratings
from fillcalc.record import record

FINER = 0.1
"""Part of a gauge division that nobody reads; common practice, no source. A reading that much below test pressure is at
it. A whole division below is not: the test would be made below its pressure."""
NEEDLE = 0.005
"""Division of a gauge that nobody gave, as a part of test pressure: one in two hundred."""


@record(frozen=True)
class Reached:
    """The highest reading against test pressure and the pressure limit; all False without readings."""

    highest_gauge_pa: float = answer("pressure", "highest reading")
    above_test_pa: float = answer("pressure_change", "above test pressure")
    limit_gauge_pa: float = answer("pressure", "pressure limit")
    """The lowest of the ratings that were given; NaN where none was."""
    limit_of: str = part()
    """Whose limit that is, "" where none was given."""
    at_test: bool = part()
    """Test pressure is reached, or passed."""
    near_test: bool = part()
    """Less than one division of the gauge is left."""
    above_test: bool = part()
    """More than one division above test pressure."""
    above_limit: bool = part()

    @property
    def stop(self) -> bool:
        """Whether pumping must stop."""
        return self.at_test or self.above_limit


def division_of(case: Case) -> float:
    """One division of the gauge of a case, Pa; a two-hundredth of test pressure where it is not given."""
    given = case.gauge.division
    return float(NEEDLE * case.test.pressure if given is None else given)


def reached(case: Case) -> Reached:
    """Return where the readings of a case, as the reader gives it, stand. The highest reading counts, whatever came
    after it: a pressure that falls in the hold does not ask for more strokes."""
    nan = float("nan")
    seen = [float(one.pressure) for one in case.reading]
    limit_of, rating = min(ratings(case), key=lambda rating: float(rating[1]), default=("", nan))
    limit = float(rating)
    if not seen:
        return Reached(nan, nan, limit, limit_of, False, False, False, False)
    highest, test, division = max(seen), float(case.test.pressure), division_of(case)
    above = highest - test
    at_test = above >= -FINER * division
    return Reached(highest, above, limit, limit_of, at_test, not at_test and above > -division, above > division,
                   highest > limit * (1.0 + 1e-9))
