"""What is told of a choice: its cells, its sentences and what each step up buys; text and screen draw these."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

from fillcalc.case.fields import inputs
from fillcalc.case.names import in_units
from fillcalc.case.records import Case, Kit
from fillcalc.present.never import NEVER, in_hundred, time_or_never
from fillcalc.present.sentences import UNKNOWN, shower
from fillcalc.questions.choices.ranking import SHORTER, Choice, lines_of, steps_up
from fillcalc.questions.choices.sought import SHARES, Sought
from fillcalc.questions.likely import likely_span
from fillcalc.units import show, to_figures
from fillcalc.units.printable import shown
from fillcalc.units.spans import Column, column, show_range

PAIR = " + "
"""Between the names of two hoses in a row."""
TITLE = "Which hose and pump to take"
HEADS = ("hose", "pump", "regulator", "fill", "pump-up", "time on site", "high")
"""Of the cells of a choice; times are likely ones, but for the high of the time on site."""
DAYS = "days"
"""The last head, where the choices take different numbers of working days."""
GAUGE = "Pressures are gauge. Times are likely ones; nine visits in ten take less than the high."
NEAR_S = 30.0
"""A difference of the time on site below this, s, is none."""
LEAST_NEVER = 0.005
"""Share of samples that are not finished from which it is told."""


@dataclass(frozen=True)
class Table:
    """Choices one under the other: the heads in two rows, the unit of a column below, and the cells in their order."""

    heads: tuple[tuple[str, ...], tuple[str, ...]]
    cells: tuple[tuple[str, ...], ...]


def table_of(found: Sequence[Choice], units: str) -> Table:
    """Hose, pump, regulator setting, likely fill, pump-up and time on site, and the high of that; the working
    days where they differ. A unit a column."""
    spans = [tuple(likely_span(span, units) for span in (one.fill_s, one.pump_up_s, one.visit_s)) for one in found]
    times = [column([[float(span.likely)] for span in each], "duration", units, missing=NEVER)
             for each in zip(*spans, strict=True)] or [Column("", ())] * 3
    highs = column([[float(each[2].high)] for each in spans], "duration", units, missing=NEVER)
    columns = [[cells[0] for cells in item.cells] for item in (*times, highs)]
    heads = [f"{head}, {item.unit}" if item.unit else head
             for head, item in zip(HEADS[3:], (*times, highs), strict=True)]
    days = [show(one.days, "count") if isfinite(one.days) else NEVER for one in found]
    if len(set(days)) > 1:
        heads, columns = [*heads, DAYS], [*columns, days]
    above, below = zip(*(head.partition(", " if ", " in head else " ")[::2] for head in (*HEADS[:3], *heads)),
                       strict=True)
    return Table((above, below), tuple(
        (shown(one.hose), shown(one.pump), setting(one, units), *row)
        for one, row in zip(found, zip(*columns, strict=True), strict=True)))


def times(one: Choice, units: str) -> tuple[str, str, str, str]:
    """Likely fill, pump-up and time on site, and its high."""
    say = shower(units)
    fill, up, visit = (likely_span(span, units) for span in (one.fill_s, one.pump_up_s, one.visit_s))
    return (time_or_never(fill.likely, say), time_or_never(up.likely, say), time_or_never(visit.likely, say),
            time_or_never(visit.high, say))


def setting(one: Choice, units: str) -> str:
    """The setting of the regulator; empty where there is none."""
    set_to = shower(units)(one.regulator_gauge_pa, "pressure")
    return "" if set_to == UNKNOWN else set_to


def reach(one: Choice, units: str) -> str:
    """The stall pressure of its pump at its highest."""
    return shower(units)(one.reach_gauge_pa, "pressure") if isfinite(one.reach_gauge_pa) else "never stalls"


def on_site(one: Choice, units: str) -> str:
    """The likely time on site with its low and high: "4 h 20 min; 3 h 55 min to 4 h 55 min", and
    the working days where it takes several."""
    visit = likely_span(one.visit_s, units)
    low, likely, high = (float(value) for value in (visit.low, visit.likely, visit.high))
    ends = show_range(low, high, "duration", units, likely, "never") if isfinite(low) else ""
    over = f" over {show(one.days, 'count')} days" if isfinite(one.days) and one.days > 1.0 else ""
    return time_or_never(likely, shower(units)) + over + (f"; {ends}" if ends else "")


def best_sentence(best: Choice, units: str) -> str:
    """Which one is the best, and the time on site with it."""
    at = f", regulator setting {setting(best, units)}" if setting(best, units) else ""
    text = f"Best hose: {shown(best.hose)}. Best pump: {shown(best.pump)}{at}. Time on site {on_site(best, units)}."
    return text + (f" It is {shown(best.of_hose)}: does it reach?" if SHORTER in best.of_hose else "")


def beside_best(one: Choice, best: Choice, units: str) -> str:
    """How it compares with the best."""
    later = float(one.visit_s.likely) - float(best.visit_s.likely)
    if one is best:
        return "The best."
    if not isfinite(later):
        return ""
    return "As good as the best." if later < NEAR_S else \
        f"{shower(units)(_step(later), 'duration')} more than the best."


def step_sentences(found: Sequence[Choice], units: str) -> list[str]:
    """From the slowest single hose to the fastest: what each saves of the time on site, in one and the same run; one
    that saves nothing is left out."""
    ladder = [one for one, _ in steps_up(found) if PAIR not in one.hose]
    sentences, before = [], ladder[:1]
    for one in ladder[1:]:
        saved = float(before[0].visit_s.at_likely_values) - float(one.visit_s.at_likely_values)
        if saved >= NEAR_S:
            sentences.append(f"{shown(one.hose)} instead of {shown(before[0].hose)}: {_sooner(saved, units)} sooner.")
            before = [one]
    return sentences if sentences or len(ladder) < 2 else ["No other hose saves any time to speak of."]


def _sooner(seconds: float, units: str) -> str:
    step = _step(seconds)
    return f"{round(step / 60.0)} min" if 60.0 <= step < 3600.0 else shower(units)(step, "duration")


def left_out_sentence(kit: Kit, found: Sequence[Choice]) -> str:
    """How many lines of a large kit were not worked out; empty where all were."""
    left = len(lines_of(kit)) - len({one.hose_places for one in found})
    return f"{left} more lines of hoses do not reach, fill more slowly or cannot be taken." if left else ""


MEASURED = "The measured fill flow is that of the case's own hose; the fills below are calculated."


def measured_sentences(case: Case) -> list[str]:
    """That a measured flow does not count here, where the case has one."""
    return [] if case.fill.measured_flow is None else [MEASURED]


def kit_sentences(kit: Kit, units: str) -> list[str]:
    """What was assumed of the hoses and pumps of a kit, in the units of the reader: each input once."""
    found: dict[str, None] = {}
    records = {f"hose.{place}": hose for place, hose in enumerate(kit.hose, 1)} \
        | {f"pump.{place}": pump for place, (_, pump) in enumerate(kit.pump, 1)}
    for item in kit.assumptions:
        base, _, leaf = item.path.rpartition(".")
        if base not in records or item.own:
            continue
        value = in_units(item.value, inputs(type(records[base]))[leaf], units)
        found.setdefault(f"{leaf.replace('_', ' ')} = {shown(value)}: {shown(item.why)}.")
    return list(found)


def never_sentence(one: Choice) -> str:
    """How often it is not finished; empty where it hardly happens."""
    return f"{in_hundred(one.never_share)} are not finished." if one.never_share > LEAST_NEVER else ""


def sought_sentences(asked: Sought, units: str) -> list[str]:
    """What a time allows, in sentences; nothing where nobody asked."""
    sentences, say = [], shower(units)
    if isfinite(asked.fill_within_s):
        within = say(asked.fill_within_s, "duration")
        if isfinite(asked.smallest_bore_m):
            wider = say(asked.smallest_bore_surely_m, "bore") if isfinite(asked.smallest_bore_surely_m) else "none"
            sentences += [f"To fill within {within} the hose needs a bore of {say(asked.smallest_bore_m, 'bore')}; "
                          f"{wider} does it in nine cases in ten.", "Couplings and tails must be wider in proportion."]
        else:
            sentences.append(f"No hose fills it within {within}: source, vent and height are the limit."
                             + (f" The widest takes {say(asked.shortest_fill_s, 'duration')}."
                                if isfinite(asked.shortest_fill_s) else ""))
    if isfinite(asked.pump_within_s):
        within = say(asked.pump_within_s, "duration")
        if asked.most_air_surely_share >= SHARES[1]:
            sentences.append(f"The pump-up keeps within {within} whatever air there is.")
        elif asked.most_air_share > 0:
            air, nine = (say(to_figures(share), "share")
                         for share in (asked.most_air_share, asked.most_air_surely_share))
            sentences.append(f"To pump up within {within}, at most {air} of air may stay"
                             + (f"; in nine cases in ten, {nine}." if nine != air else "."))
        else:
            sentences.append(f"Even without air the pump-up takes more than {within}.")
        if isfinite(asked.lowest_drive_gauge_pa):
            drive, surely = (say(max(each, asked.lowest_reaching_gauge_pa), "pressure") for each in (
                asked.lowest_drive_gauge_pa, asked.lowest_drive_surely_gauge_pa))
            nine = f", in nine cases in ten at {surely}" if isfinite(
                asked.lowest_drive_surely_gauge_pa) and surely != drive else ""
            return [*sentences, f"The pump of the case does it at a drive pressure of {drive}{nine}.",
                    "Check that against the highest safe setting."]
        if isfinite(asked.lowest_reaching_gauge_pa):
            sentences.append(f"More drive pressure does not bring it within {say(asked.pump_within_s, 'duration')}.")
    if isfinite(asked.lowest_reaching_gauge_pa):
        sentences.append("The pump of the case needs a drive pressure of "
                         f"{say(asked.lowest_reaching_gauge_pa, 'pressure')} to reach test pressure at all, if its "
                         "friction is high.")
    return sentences


def _step(seconds: float) -> float:
    """A difference of two times on site to the minute, above a few minutes to five."""
    step = 60.0 if seconds < 1800.0 else 300.0
    return round(seconds / step) * step or seconds
