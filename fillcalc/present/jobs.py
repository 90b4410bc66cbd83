"""What finished jobs tell, as rows, bars and sentences: one job, the track record, and what is learned.

Foreign text goes through `fillcalc.units.printable`; nothing is laid out here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

from fillcalc.case.folder import Folder
from fillcalc.case.own import CLOSING, OwnAir, OwnEntry, OwnPump, OwnRemade, OwnSource, OwnTime
from fillcalc.case.records import Case, Range
from fillcalc.estimation.stages import EACH, ONCE, REWORK
from fillcalc.present.sentences import UNKNOWN, percent, shower, trade
from fillcalc.present.tables import Rows, stage_label
from fillcalc.questions.jobs.learn import Learned, Odd
from fillcalc.questions.jobs.track import EXPECTED, FEWEST_JOBS, ON_SITE, Compared, Row, Track
from fillcalc.units import show
from fillcalc.units.printable import shown
from fillcalc.units.spans import Three, rounded, show_range

TRACK_TITLE = "Track record: what jobs took, over what was estimated"
CHART_TITLE = "Time on site of each job: estimated low to high, and taken"
LEARN_TITLE = "Own figures, lowest to highest, beside the defaults"
LONGEST_NAME = 31
MOST_NAMED = 6


@dataclass(frozen=True)
class Named:
    """What a folder is called, and the files of its cases."""

    folder: str
    files: tuple[str, ...]


def took_rows(case: Case, found: Sequence[Compared], units: str) -> Rows:
    """What one job took beside its estimate, with a head; the last column says where a time lies outside."""
    say = shower(units)
    rows: Rows = [("", "taken", "likely", "low to high", "")]
    for one in found:
        rounded_to = rounded(Three(float(one.low_s), float(one.likely_s), float(one.high_s)), "duration", units)
        rows.append((_unit_of_work(case, one.name), say(one.taken_s, "duration"), say(rounded_to.likely, "duration"),
                     _range(rounded_to.low, rounded_to.high, rounded_to.likely, units), _outside(one)))
    return rows


def _unit_of_work(case: Case, name: str) -> str:
    """A stage, with what its time is of where there are several pieces."""
    several = (case.vessel.count or 1) > 1 and name not in (*ONCE, ON_SITE)
    return f"{stage_label(name)}{(', a piece' if name in EACH or name == REWORK else ', a load') if several else ''}"


def _outside(one: Compared) -> str:
    if one.odd:
        return "odd: typed wrongly?"
    return "" if one.inside else "longer" if one.taken_s > one.high_s else "shorter"


def _range(low: float, high: float, like: float, units: str) -> str:
    return show_range(float(low), float(high), "duration", units, float(like)) or shower(units)(low, "duration")


def took_sentences(case: Case, found: Sequence[Compared], units: str) -> list[str]:
    """What one job says in words: how many stages lay between low and high, strokes, and joints."""
    took, say = case.took, shower(units)
    said = []
    if found:
        said.append(f"{sum(one.inside for one in found)} of {len(found)} lie between low and high; "
                    f"{percent(EXPECTED)} should.")
    else:
        said.append("This case does not say what its job took. Write a table [took].")
    if took.strokes is not None:
        said.append(f"Strokes taken: {say(took.strokes, 'strokes')}.")
    if took.remade is not None:
        said.append(f"Joints re-made: {took.remade}.")
    if took.running is not None:
        said.append(f"The clock runs on {stage_label(took.running)} since {shown(took.since or '')}.")
    return said


# --- the track record -------------------------------------------------------------------------

def track_rows(record: Track) -> Rows:
    """A row for each stage that some job took, the whole last, with a head."""
    rows: Rows = [("", "jobs", "taken/likely", "low to high", "inside", "true share, %")]
    return rows + [(stage_label(row.name), str(row.jobs), ratio(row.ratio_likely),
                    f"{ratio(row.ratio_low)} to {ratio(row.ratio_high)}", f"{row.inside} of {row.jobs}", _of_100(row))
                   for row in record.rows if row.jobs]


def ratio(value: float) -> str:
    """A ratio to two places after the point."""
    return f"{float(value):.2f}" if isfinite(value) else UNKNOWN


def _of_100(row: Row) -> str:
    return f"{100.0 * float(row.inside_low):.0f} to {100.0 * float(row.inside_high):.0f}"


def track_sentences(record: Track, names: Sequence[str], units: str) -> list[str]:
    """What the track record comes to in words; `names` are those of the cases."""
    whole, say = record.whole, shower(units)
    if not record.jobs:
        return ["No case here says what its job took. Write a table [took] into one."]
    lines = []
    if whole.jobs:
        lines.append(f"Time on site: {whole.inside} of {whole.jobs} jobs lie between low and high, "
                     f"{percent(float(whole.inside_share))}; it should be {percent(EXPECTED)}.")
        if whole.jobs < FEWEST_JOBS:
            lines.append(f"Too few jobs to say: the true share may be anything from "
                         f"{percent(float(whole.inside_low))} to {percent(float(whole.inside_high))}.")
        elif whole.inside_high < EXPECTED:
            lines.append("The estimates claim to be surer than they are. Learn own figures from these jobs.")
        elif whole.inside_low > EXPECTED:
            lines.append("The estimates are less sure than they could be. Learn own figures from these jobs.")
        lines.append('"Inside" counts the jobs between low and high; "true share" is its 95 % confidence interval.')
        lines.append(f"Half of the jobs took more than {ratio(whole.ratio_likely)} times their likely time.")
    else:
        lines.append("No job says its time on site. Write took.on_site.")
    lines += [f"Odd: {stage_label(one.name)} of {shown(names[one.job])}, {say(one.taken_s, 'duration')} where "
              f"{_range(one.low_s, one.high_s, one.likely_s, units)} was estimated. Typed wrongly? Left out of the "
              "ratios." for one in record.compared if one.odd]
    return lines


@dataclass(frozen=True)
class JobBar:
    """One job of the chart: its name, low, likely and high of the time on site, and what it took, s."""

    name: str
    low_s: float
    likely_s: float
    high_s: float
    taken_s: float


def job_bars(record: Track, names: Sequence[str]) -> tuple[JobBar, ...]:
    """The time on site of each job that says it and is not odd, in the order of the cases."""
    return tuple(JobBar(shown(names[one.job].removesuffix(".toml"), LONGEST_NAME), float(one.low_s),
                        float(one.likely_s), float(one.high_s), float(one.taken_s))
                 for one in record.compared if one.name == ON_SITE and not one.odd and isfinite(one.high_s))


def folder_sentences(folder: Folder, jobs: int) -> list[str]:
    """What of a folder was read and what was left out, each damaged file with what is wrong."""
    without = len(folder.cases) - jobs
    sentences = [f"{len(folder.cases)} case{'' if len(folder.cases) == 1 else 's'} read"
                 + (f", {without} without a [took]." if without else ".")]
    sentences += [f"Skipped: {reason}." for _, reason in folder.skipped]
    if folder.others:
        more = len(folder.others) - MOST_NAMED
        sentences.append(f"No cases, left alone: {', '.join(shown(name, 60) for name in folder.others[:MOST_NAMED])}"
                         + (f" and {more} more." if more > 0 else "."))
    return sentences


# --- what is learned --------------------------------------------------------------------------

def learned_rows(found: Learned, units: str) -> Rows:
    """Each own figure: of what, where it holds, the default, the figure, and from how many jobs; with a head."""
    rows: Rows = [("of", "where", "default", "own", "from")]
    for entry, default in zip(found.own.entries(), found.defaults, strict=True):
        family = family_of(entry)
        rows.append((trade(what_of(entry), units), where_of(entry, units), _three(default, family, units),
                     _three(Range(entry.low, entry.likely, entry.high, given=True), family, units), shown(entry.why)))
    return rows


def family_of(entry: OwnEntry) -> str:
    """The kind of quantity of an own figure."""
    kinds: dict[type, str] = {OwnTime: "duration", OwnSource: "flow", OwnPump: "number"}
    return kinds.get(type(entry), "share")


def what_of(entry: OwnEntry) -> str:
    """What an own figure is of."""
    if isinstance(entry, OwnTime):
        if entry.stage == REWORK:
            return "a re-made joint"
        return f"{stage_label(entry.stage)}{', an opening' if entry.stage in CLOSING else ''}"
    words: dict[type, str] = {OwnRemade: "pieces with a re-made joint", OwnAir: "trapped air", OwnSource: "open flow",
                              OwnPump: "mid-curve factor"}
    return words[type(entry)]


def where_of(entry: OwnEntry, units: str) -> str:
    """Where an own figure holds, in words."""
    said: list[str] = []
    if isinstance(entry, OwnTime):
        said += [entry.work or "", entry.closure or ""]
        if entry.bore_to is not None:
            said.append(f"openings to {show(entry.bore_to, 'bore', units)}")
        elif entry.bore_over is not None:
            said.append(f"openings over {show(entry.bore_over, 'bore', units)}")
        said.append(f"crew of {entry.crew}" if entry.crew is not None else "")
    elif isinstance(entry, OwnRemade):
        said.append(entry.work or "")
    elif isinstance(entry, OwnAir):
        said += [entry.vessel or "", f"from the {entry.from_}" if entry.from_ else ""]
    elif isinstance(entry, OwnSource):
        said += [entry.kind or "", shown(entry.name, 40) if entry.name else "any"]
    else:
        said.append(shown(entry.name, 40) if entry.name else "any")
    return ", ".join(filter(None, said)) or "everywhere"


def _three(asked: Range, family: str, units: str) -> str:
    three = Three(float(asked.low), float(asked.likely or 0.0), float(asked.high))
    if asked.given:
        three = rounded(three, family, units)
    return show_range(three.low, three.high, family, units, three.likely) or shower(units)(three.likely, family)


def learned_sentences(found: Learned, names: Sequence[str], units: str) -> list[str]:
    """Who is odd among the jobs, and whether there are two crews."""
    if not found.jobs:
        return ["No case here says what its job took. Nothing is learned."]
    sentences = [_odd(one, names, units) for one in found.odd]
    crews = found.crews
    if crews is not None:
        sentences.append(f"Two crews, or two ways of working: {len(crews.quick)} jobs take "
                         f"{ratio(crews.quick_times)} times what all of them make likely, {len(crews.slow)} take "
                         f"{ratio(crews.slow_times)} times. Put them in folders of their own and learn from each.")
        sentences.append(f"The slower ones: {_listed([names[job] for job in crews.slow])}.")
    return sentences


def _odd(one: Odd, names: Sequence[str], units: str) -> str:
    value, likely = (f"{each:.3g}" if one.family in ("count", "number") else shower(units)(each, one.family)
                     for each in (one.value, one.likely))
    return f"Odd and left out: {one.what} of {shown(names[one.job])}, {value} where the others make it {likely}. " \
           "Typed wrongly?"


def _listed(names: Sequence[str]) -> str:
    more = len(names) - MOST_NAMED
    return ", ".join(shown(name, 60) for name in names[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
