"""Cautions of the readings, the first of the one table: at test pressure, and above a limit, pumping stops."""

from __future__ import annotations

from functools import partial

from fillcalc.cautions.rule import Rule, Say
from fillcalc.estimation.answers import Caution
from fillcalc.questions.readings.reached import Reached, reached
from fillcalc.units import show


def _above_limit(stand: Reached, say: Say) -> str:
    return (f"A reading of {say(stand.highest_gauge_pa, 'pressure')} is above the pressure limit, "
            f"{say(stand.limit_gauge_pa, 'pressure')} ({stand.limit_of}). Stop pumping, stand clear and let the "
            "pressure down to zero. Do not pump again before a competent person has judged what was over-pressed.")


def _at_test(stand: Reached, say: Say) -> str:
    stop = "Test pressure is reached: stop pumping."
    if stand.above_test and not stand.above_limit:
        above = say(stand.latest_gauge_pa - stand.test_gauge_pa, "pressure_change")
        return f"{stop} The gauge stands {above} above it: let it down to {say(stand.test_gauge_pa, 'pressure')}."
    return stop


READINGS = (
    Rule("reading above limit", "danger", lambda case, e: reached(case).above_limit,
         lambda case, e, say: _above_limit(reached(case), say)),
    Rule("test pressure reached", "warning", lambda case, e: reached(case).at_test,
         lambda case, e, say: _at_test(reached(case), say)),
)


def reading_cautions(stand: Reached, units: str = "metric") -> tuple[Caution, ...]:
    """The cautions of the readings alone, the heaviest first, from where they stand; the same as in the whole table.
    `units` is metric or us."""
    say: Say = partial(_say, units=units)
    limit, test = READINGS
    return (*((Caution(limit.code, limit.weight, _above_limit(stand, say)),) if stand.above_limit else ()),
            *((Caution(test.code, test.weight, _at_test(stand, say)),) if stand.at_test else ()))


def _say(value: float, family: str, units: str) -> str:
    return show(float(value), family, units)
