"""An estimate as plain data: the object that `--json` prints, one to a line.

The keys are the names of the answer records, so there is no second list of them: a new answer in
`fillcalc.estimation.answers` is in the data at once. Numbers are SI and every key ends in its unit; arrays over
samples are cut to the run at likely values; "answers" has low, likely and high of all that has a range.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import fields, is_dataclass
from math import isfinite
from typing import Any, SupportsFloat

from fillcalc.case.problems import Problem
from fillcalc.case.records import Case
from fillcalc.cautions import cautions
from fillcalc.estimation.answers import Estimate, answers, at_likely_values
from fillcalc.model.status import LIMITS, Status
from fillcalc.present.gas import danger_lines, gas_safety
from fillcalc.present.needs import needs, to_bring
from fillcalc.present.quote import Quote, quote
from fillcalc.present.sentences import safety
from fillcalc.questions.likely import at, likely

WORDS = {"status": [status.name.lower().replace("_", " ") for status in Status], "limited_by": list(LIMITS)}
"""Leaves that are a place in a list of words."""
OF_WATER = ("fill", "pressurise", "trapped_air_m3", "trapped_share", "height_m", "air_ladder", "sweep")
"""What a test with gas has nothing to say of."""


def estimate_data(case: Case, estimate: Estimate, units: str = "metric", charts: bool = False) -> dict[str, object]:
    """The estimate as nested dicts and lists of numbers, words and null.

    `units` is that of the sentences only (metric or us); the numbers are SI. `charts` adds the curves
    under the key "charts". A block that the estimate does not have is left out; a quantity that cannot
    be had is None.
    """
    case, estimate = at_likely_values(case), at_likely_values(estimate)
    data: dict[str, object] = {"title": case.title, "format": case.format,
                            "assumptions": plain(case.assumptions)}
    data["answers"] = _answers(estimate)
    blocks = plain(estimate)
    if estimate.gas is not None:
        data = {"danger": list(danger_lines(case, likely(estimate, units), units)), **data}
        blocks = {key: value for key, value in blocks.items() if key not in OF_WATER}
    data |= blocks
    shown = likely(estimate, units)
    data["bring"] = to_bring([case], [shown], units)
    data["needs"] = needs(case, shown, units)
    data["quote"] = quote_data(quote(case, shown, units))
    data["cautions"] = plain(cautions(case, estimate, units))
    data["safety"] = list(safety(units) if estimate.gas is None else gas_safety(units, case))
    if charts:
        data["charts"] = curves(estimate)
    return data


def quote_data(found: Quote | None) -> list[str]:
    """The sentence of the quote and its paragraph of needs; empty where there is none."""
    return [] if found is None else list(found.paragraphs)


def quote_only(data: dict[str, object]) -> dict[str, object]:
    """Of the data of a case or of a visit, what a quote needs: title, needs and quote."""
    return {key: data[key] for key in ("title", "needs", "quote") if key in data}


def _answers(estimate: Estimate) -> dict[str, object]:
    """Low, likely and high of each answer that has a range, by its path, beside the run at likely values.

    These are the figures that are told of a case; the blocks below them are that one run.
    """
    found: dict[str, object] = {one.path: {"low": plain(one.low), "likely": plain(one.likely), "high": plain(one.high),
                        "at_likely_values": plain(at(estimate, one.path)), "never_share": plain(one.never_share)}
             for one in estimate.spreads}
    if estimate.visit is not None:
        visit = estimate.visit
        found["visit.time_s"] = {
            "low": plain(visit.low_s), "likely": plain(visit.likely_s), "high": plain(visit.high_s),
            "at_likely_values": plain(visit.at_likely_values_s), "never_share": plain(visit.never_share)}
    return found


def line(data: dict[str, object]) -> str:
    """The data as one line of JSON in ASCII; what is foreign in a title is escaped."""
    return json.dumps(data, allow_nan=False)


def problems_data(name: str, problems: Sequence[Problem]) -> dict[str, object]:
    """What is wrong with a file, as data; an empty list where nothing is."""
    return {"file": name, "usable": not problems, "problems": plain(tuple(problems))}


def plain(value: Any, name: str = "") -> Any:
    """Records become dicts, tuples lists, places in a list of words that word, NaN null."""
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name), f.name) for f in fields(value)
                if getattr(value, f.name) is not None and not _is_curve(getattr(value, f.name))}
    if name in WORDS:
        place = _number(value)
        return None if place is None or place < 0 else WORDS[name][int(place)]
    if hasattr(value, "dtype"):
        value = value.tolist()
    if value is None or isinstance(value, str | bool):
        return value
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    return _number(value)


def curves(estimate: Any) -> dict[str, object]:
    """The curves of an estimate, under the name of their stage and their own."""
    found: dict[str, object] = {}
    for f in fields(estimate):
        value = getattr(estimate, f.name)
        if _is_curve(value):
            found[f.name] = {name: plain(getattr(value, name)) for name in answers(type(value))}
        elif is_dataclass(value) and (inner := curves(value)):
            found[f.name] = inner
    return found


def _is_curve(value: object) -> bool:
    if not is_dataclass(value):
        return False
    said = answers(type(value)).values()
    return bool(said) and all(answer.listed for answer in said)


def _number(value: SupportsFloat) -> int | float | None:
    """The only place where a number that cannot be had becomes null."""
    if isinstance(value, int):
        return int(value)
    number = float(value)
    return number if isfinite(number) else None
