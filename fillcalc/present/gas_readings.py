"""What the readings of a hold with gas tell."""

from __future__ import annotations

from fillcalc.case.records import Case
from fillcalc.present.gas import hold_sentences
from fillcalc.questions.readings.gas import hold_of


def gas_readings(case: Case, units: str) -> list[str]:
    """What the first and the last timed reading tell of a leak; nothing without them."""
    found = hold_of(case)
    return [] if found is None else hold_sentences(found, units)
