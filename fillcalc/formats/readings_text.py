"""What the readings of a case tell, as text and as data: for the person beside the gauge."""

from __future__ import annotations

from collections.abc import Sequence

from fillcalc.case.records import Case, Reading
from fillcalc.cautions import reading_cautions
from fillcalc.formats.data import plain
from fillcalc.formats.text import table, wrapped
from fillcalc.present import sentences as words
from fillcalc.present.inputs import OWN_TITLE, own_sentences
from fillcalc.present.readings import fit_sentences, hold_sentences, main_rows, next_sentences, reading_rows
from fillcalc.present.sentences import trade
from fillcalc.questions.readings.air_fit import counted, telling
from fillcalc.questions.readings.answer import ReadingsAnswer
from fillcalc.questions.readings.reached import division_of
from fillcalc.units import show
from fillcalc.units.printable import shown


def readings_data(case: Case, answer: ReadingsAnswer, units: str = "metric") -> dict[str, object]:
    """The answer as nested dicts of SI numbers, words and null; sentences in `units` (metric or us)."""
    data: dict[str, object] = {"title": case.title, "format": case.format} | plain(answer)
    for name in ("fits", "above_pipeline_limit", "hold", "cooled", "count_missed"):
        data.setdefault(name, None)
    data["readings"] = plain(case.reading)
    data["cautions"] = plain(reading_cautions(answer.reached, units))
    data["said"] = {name: [trade(sentence, units) for sentence in sentences] for name, sentences in (
        ("fit", fit_sentences(answer, units)), ("next", next_sentences(answer, units)),
        ("hold", hold_sentences(answer.hold, units) if answer.hold else []))}
    data["own"] = own_sentences([case], units)
    data["safety"] = list(words.safety(units))
    return data


def readings_report(case: Case, answer: ReadingsAnswer, units: str = "metric") -> str:
    """The answer as lines of at most 80 columns, ending in a newline. `units` is metric or us."""
    head = ["What the readings tell. An estimate, not a test record.", *([shown(case.title)] if case.title else []),
            "Pressures are gauge."]
    parts = [
        head,
        [line for each in reading_cautions(answer.reached, units)
         for line in wrapped(f"{each.weight.upper()}: {trade(each.text, units)}")],
        _main(answer, units),
        _titled("The fit", fit_sentences(answer, units), units),
        _titled("What to do next", next_sentences(answer, units), units),
        _titled("The hold", hold_sentences(answer.hold, units) if answer.hold else [], units),
        _given(case, units),
        _titled(OWN_TITLE, own_sentences([case], units), units),
        _titled("Safety", words.safety(units)[1:], "metric"),
    ]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


def _titled(title: str, sentences: Sequence[str], units: str) -> list[str]:
    return [title, *(line for sentence in sentences for line in wrapped(trade(sentence, units)))] if sentences else []


def _main(answer: ReadingsAnswer, units: str) -> list[str]:
    rows = main_rows(answer, units)
    if not rows:
        return []
    wide = max(len(value) for _, value, _ in rows)
    return [trade(f"{name:<14} {value:<{wide}}  {more}", units) for name, value, more in rows]


def _given(case: Case, units: str) -> list[str]:
    rows = reading_rows(case, units)
    return ["As read", *table(rows), *_left_out(case.reading, case, units)] if rows else []


def _left_out(given: Sequence[Reading], case: Case, units: str) -> list[str]:
    """What is said where a reading has no part in the fit."""
    given = counted(given)
    left = len(given) - len(telling(given, division_of(case)))
    if not left:
        return []
    whose = "that reading has" if left == 1 else "those readings have"
    return wrapped(f"Below one division ({show(division_of(case), 'pressure', units)}) the needle tells nothing yet; "
                   f"{whose} no part in the fit. Strokes are counted from the first of the others.")
