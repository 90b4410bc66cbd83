"""Finished jobs as text and as data: one job, the track record of a folder, and what is learned from it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from textwrap import fill

from fillcalc.case.folder import Folder
from fillcalc.case.records import Case
from fillcalc.case.stages import STAGE_KEYS
from fillcalc.formats.data import plain
from fillcalc.formats.text import WIDTH, section_lines, table, wrapped, wrapped_lines
from fillcalc.present import jobs as present
from fillcalc.present import sentences as words
from fillcalc.present.gas import dangers_of
from fillcalc.present.inputs import OWN_TITLE, own_sentences
from fillcalc.present.jobs import JobBar, Named
from fillcalc.questions.jobs.learn import Learned
from fillcalc.questions.jobs.track import Compared, Track
from fillcalc.tree import at
from fillcalc.units.printable import shown
from fillcalc.units.spans import column

INDENT = "    "
CHART_WIDTH = 44
"""Columns of the chart beside the names of the jobs."""


def took_report(case: Case, found: Sequence[Compared], units: str = "metric") -> str:
    """What one job took beside its estimate, as lines of at most 80 columns."""
    head = [words.TITLE, *wrapped_lines(dangers_of(case, units)), shown(case.title)]
    head += ([f"Job of {case.took.date}"] if case.took.date else [])
    rows = present.took_rows(case, found, units)
    return _document([head, ["What it took", *table(rows)] if found else [],
                      _lines(present.took_sentences(case, found, units)), _own([case], units)])


def _own(cases: Sequence[Case], units: str) -> list[str]:
    return section_lines(OWN_TITLE, own_sentences(cases, units))


def took_data(case: Case, found: Sequence[Compared], units: str = "metric") -> dict[str, object]:
    """The same as nested dicts and lists, SI; sentences in `units`."""
    took = {f"{key}_s": plain(at(case.took, key)) for key in (*STAGE_KEYS, "on_site")}
    dangers = dangers_of(case, units)
    return {**({"danger": list(dangers)} if dangers else {}), "title": case.title, "date": case.took.date,
            "took": took, "strokes": plain(case.took.strokes), "remade": case.took.remade,
            "own": own_sentences([case], units), "stages": [_compared_data(one) for one in found]}


def _compared_data(one: Compared) -> dict[str, object]:
    return {"name": one.name, "taken_s": plain(one.taken_s), "low_s": plain(one.low_s), "likely_s": plain(one.likely_s),
            "high_s": plain(one.high_s), "taken_over_likely": plain(one.ratio), "inside": one.inside, "odd": one.odd}


def track_report(folder: Folder, record: Track, named: Named, units: str = "metric") -> str:
    """The track record of a folder as lines of at most 80 columns, with its chart."""
    bars = present.job_bars(record, named.files)
    return _document([
        [words.TITLE, *wrapped(f"Jobs in {shown(named.folder)}")],
        _lines(present.track_sentences(record, named.files, units)),
        [present.TRACK_TITLE, *table(present.track_rows(record))] if record.jobs else [],
        chart(bars, units) if bars else [],
        _lines(present.folder_sentences(folder, record.jobs)), _own(folder.cases, units),
    ])


def chart(bars: Sequence[JobBar], units: str) -> list[str]:
    """Each job as a line: low to high as a rule, likely as a bar in it, and what it took as a star."""
    most = 1.02 * max(max(bar.high_s, bar.taken_s) for bar in bars)
    wide = max(len(bar.name) for bar in bars)
    lines = [present.CHART_TITLE]
    for bar in bars:
        signs = [" "] * (CHART_WIDTH + 1)
        low, likely, high, taken = (round(CHART_WIDTH * value / most)
                                    for value in (bar.low_s, bar.likely_s, bar.high_s, bar.taken_s))
        signs[low:high + 1] = "-" * (high + 1 - low)
        signs[likely], signs[taken] = "|", "*"
        lines.append(f"  {bar.name.ljust(wide)}  {''.join(signs)}".rstrip())
    ends = column([[most]], "duration", units).cells[0][0]
    return [*lines, f"  {' ' * wide}  0{ends.rjust(CHART_WIDTH)}",
            "  --|-- low, likely, high; * taken"]


def track_data(folder: Folder, record: Track, named: Named, units: str = "metric") -> dict[str, object]:
    """The same as nested dicts and lists, SI; `units` is that of the sentences."""
    return {"folder": named.folder, "jobs": record.jobs,
            "rows": [{**plain(row)} for row in record.rows if row.jobs],
            "cases": [{"file": named.files[job], "date": folder.cases[job].took.date,
                       "stages": [_compared_data(one) for one in record.compared if one.job == job]}
                      for job in sorted({one.job for one in record.compared})],
            "sentences": [*present.track_sentences(record, named.files, units),
                          *present.folder_sentences(folder, record.jobs)],
            "own": own_sentences(folder.cases, units),
            "skipped": [{"file": name, "why": why} for name, why in folder.skipped], "others": list(folder.others)}


def learn_report(folder: Folder, found: Learned, named: Named, units: str = "metric") -> str:
    """What is learned from a folder, each figure beside its default, as lines of at most 80 columns."""
    lines = []
    for of, where, default, own, why in present.learned_rows(found, units)[1:]:
        lines += [f"  {of}: {own}", *fill(f"{where}; default {default}; {why}", WIDTH, initial_indent=INDENT,
                                          subsequent_indent=INDENT).splitlines()]
    return _document([
        [words.TITLE, *wrapped(f"Learned from {shown(named.folder)}: {found.jobs} "
                               f"job{'' if found.jobs == 1 else 's'}")],
        _lines(present.learned_sentences(found, named.files, units)),
        [present.LEARN_TITLE, *lines] if lines else [],
        _lines(present.folder_sentences(folder, found.jobs)),
    ])


def learn_data(folder: Folder, found: Learned, named: Named, units: str = "metric") -> dict[str, object]:
    """The same as nested dicts and lists, SI; `units` is that of the sentences."""
    rows = present.learned_rows(found, units)[1:]
    return {"folder": named.folder, "jobs": found.jobs,
            "own": [{"of": row[0], "where": row[1], "family": present.family_of(entry),
                     "default": {end: plain(getattr(default, end)) for end in ENDS},
                     "own": {end: plain(getattr(entry, end)) for end in ENDS}, "why": entry.why}
                    for entry, default, row in zip(found.own.entries(), found.defaults, rows, strict=True)],
            "odd": [{"file": named.files[one.job], "of": one.what, "value": plain(one.value), "likely":
                     plain(one.likely), "family": one.family} for one in found.odd],
            "crews": None if found.crews is None else {
                "quick": [named.files[job] for job in found.crews.quick],
                "slow": [named.files[job] for job in found.crews.slow],
                "quick_times": plain(found.crews.quick_times), "slow_times": plain(found.crews.slow_times)},
            "skipped": [{"file": name, "why": why} for name, why in folder.skipped], "others": list(folder.others)}


ENDS = ("low", "likely", "high")


def _lines(sentences: Iterable[str]) -> list[str]:
    return [line for sentence in sentences for line in wrapped(sentence)]


def _document(parts: Iterable[Sequence[str]]) -> str:
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"
