"""Every caution of a record is raised by one record and silent on a near neighbour, and says what must be done."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

import pytest

from fillcalc.case.read import read_text
from fillcalc.case.records import Case
from fillcalc.cautions.recording import RECORDED, recording_cautions
from fillcalc.questions.recording.hold import hold
from fillcalc.recorder.read import log_of
from tests.families import few
from tests.recorder.simulation import CASE
from tests.recorder.stories import LEAK, story

BALL = read_text(CASE)
WARM = (("drift_k_per_h", 2.0), ("leak", LEAK), ("sign", 1.0))
What = tuple[tuple[str, object], ...]


@cache
def raised(what: What, case: str = "", cut: float = 1.0, drop_pa: float = 0.0, leak: float = 0.0) -> dict[str, str]:
    """The cautions of a record with something changed of the usual one, by their codes."""
    data, made = story(**dict(what))  # type: ignore[arg-type]
    log = log_of(data[:int(len(data) * cut)], "record.csv")
    if drop_pa:
        late = log.time_s > made.begins_s + 1000.0
        log = replace(log, pressure_pa=log.pressure_pa - drop_pa * (late & (log.pressure_pa > 10e5)))
    of = _changed(case)
    return {each.code: each.text for each in recording_cautions(of, log, hold(of, log, leaks=(leak,) if leak else ()))}


def _changed(key: str) -> Case:
    if not key:
        return BALL
    table, leaf, value = key.split(" ")
    record = getattr(BALL, table)
    return replace(BALL, **{table: replace(record, **{leaf: float(value)})})


COLD = ("temperature", False)
PAIRS: dict[str, tuple[dict[str, object], dict[str, object]]] = {
    "record above limit": ({"case": "vessel never_above 24.9e5"}, {"case": "vessel never_above 25.2e5"}),
    "leak hidden by warming": ({"what": (*WARM, ("drift_k_per_h", 1.4))}, {"what": (*WARM, ("drift_k_per_h", 1.15))}),
    "leak recorded": ({"what": (("leak", 0.2 * LEAK),)}, {"what": (("leak", 0.14 * LEAK),)}),
    "sudden drop": ({"drop_pa": 0.024e5}, {"drop_pa": 0.018e5}),
    "rise not explained": ({"what": (*WARM, ("leak", -0.3 * LEAK))}, {"what": (*WARM, ("leak", -0.2 * LEAK))}),
    "record ends at pressure": ({"cut": 0.82}, {"cut": 0.85}),
    "pumped in the hold": ({"drop_pa": -0.015e5}, {"drop_pa": -0.011e5}),
    "hold below test pressure": ({"case": "test pressure 24.8e5"}, {"case": "test pressure 24.6e5"}),
    "hold shorter than asked": ({"case": "test hold 1830"}, {"case": "test hold 1812"}),
    "leak too small for the hold": ({"leak": 0.21 * LEAK}, {"leak": 0.27 * LEAK}),
    "no temperature": ({"what": (COLD, ("leak", 0.85 * LEAK))}, {"what": (COLD, ("leak", 1.1 * LEAK))}),
}
"""What raises each rule, and what is just short of it."""


@pytest.mark.parametrize("rule", few(RECORDED, 3), ids=lambda rule: rule.code)
def test_each_rule_is_raised_and_its_neighbour_is_silent(rule) -> None:  # type: ignore[no-untyped-def]
    raises, silent = ({"what": (), **given} for given in PAIRS[rule.code])
    sentence = raised(**raises)[rule.code]
    assert rule.code not in raised(**silent)
    assert re.search(r"\b(Let|Keep|Watch|Read|Begin|Pump|Hold|Record)\b", sentence.partition(".")[2]
                     or sentence.partition(":")[2]), sentence
    assert not re.search(r"\bpass(ed|es)?\b|\bOK\b|\bsound\b|\btight\b|nan|inf", sentence, re.IGNORECASE)


def test_a_stroke_of_the_pump_in_the_hold_is_told() -> None:
    assert "pumped in the hold" in raised((("stroke_at_s", 1000.0),))


def test_a_tight_hold_of_the_whole_time_raises_nothing() -> None:
    assert raised(()) == {} and set(PAIRS) == {rule.code for rule in RECORDED}
