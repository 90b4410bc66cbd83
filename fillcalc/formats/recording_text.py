"""What a recorder's file tells, as text and as data."""

from __future__ import annotations

from collections.abc import Sequence

from fillcalc.case.records import Case
from fillcalc.cautions.recording import recording_cautions
from fillcalc.formats.data import plain
from fillcalc.formats.text import table, wrapped
from fillcalc.present import recording as present
from fillcalc.present import sentences as words
from fillcalc.present.inputs import OWN_TITLE, own_sentences
from fillcalc.present.sentences import trade
from fillcalc.questions.recording.hold import RecordedHold
from fillcalc.recorder.log import Log
from fillcalc.units.printable import shown

MOVE = "If the hold is elsewhere: --hold 10:42-11:12, or --hold \"6 min-36 min\" from the first row."


def recording_data(case: Case, log: Log, found: RecordedHold, units: str = "metric") -> dict[str, object]:
    """The answer as nested dicts of SI numbers, words and null; sentences in `units` (metric or us)."""
    data: dict[str, object] = {"title": case.title, "format": case.format, "file": shown(log.name),
                            "rows": len(log.time_s), "columns": plain(log.columns), "told": plain(log.oddities)}
    data |= plain(found)
    for name in ("rise", "fit"):
        data.setdefault(name, None)
    data["said"] = {name: [trade(sentence, units) for sentence in sentences if sentence] for name, sentences in (
        ("file", present.file_sentences(log)), ("parts", present.part_sentences(found, log, units)),
        ("rise", present.rise_sentences(found, units)), ("hold", present.hold_sentences(found, log, units)))}
    data["cautions"] = plain(recording_cautions(case, log, found, units))
    data["own"] = own_sentences([case], units)
    data["safety"] = list(words.safety(units))
    return data


def recording_report(case: Case, log: Log, found: RecordedHold, units: str = "metric") -> str:
    """The answer as lines of at most 80 columns, ending in a newline. `units` is metric or us."""
    head = ["What the record tells. An estimate, not a test record.", *([shown(case.title)] if case.title else []),
            f"{shown(log.name, 60)}. Pressures are gauge."]
    parts = [
        head, [line for sentence in present.caution_sentences(case, log, found, units) for line in wrapped(sentence)],
        _main(found, units),
        _titled("The hold", present.hold_sentences(found, log, units), units),
        _table(present.EXPLAINS, present.explained_rows(found.fit, units) if found.fit else [], units),
        _table(present.PARTS, present.part_rows(found, log, units), units),
        _titled("", [*present.part_sentences(found, log, units), MOVE], units),
        _titled("The rise", present.rise_sentences(found, units), units),
        _titled("The file", present.file_sentences(log), units),
        _titled(OWN_TITLE, own_sentences([case], units), units),
        _titled("Safety", words.safety(units)[1:], "metric"),
    ]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


def _main(found: RecordedHold, units: str) -> list[str]:
    rows = present.main_rows(found, units)
    wide = max((len(value) for _, value, _ in rows), default=0)
    return [trade(f"{name:<12} {value:<{wide}}  {more}", units) for name, value, more in rows]


def _titled(title: str, sentences: Sequence[str], units: str) -> list[str]:
    said = [line for sentence in sentences if sentence for line in wrapped(trade(sentence, units))]
    return [*([title] if title else []), *said] if said else []


def _table(title: str, rows: Sequence[tuple[str, ...]], units: str) -> list[str]:
    return [title, *(trade(line, units) for line in table(rows))] if rows else []
