"""What a recorder's file tells, in rows, sentences and charts: its parts, the trapped air, what explains the hold."""

from __future__ import annotations

from math import isfinite

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case.records import Case
from fillcalc.cautions.recording import recording_cautions
from fillcalc.present.charts import Chart, Curve, Upright
from fillcalc.present.readings import signed
from fillcalc.present.sentences import shower, trade
from fillcalc.questions.recording.explained import HoldFit, Longer
from fillcalc.questions.recording.hold import RecordedHold
from fillcalc.questions.recording.parts import Jump, Span
from fillcalc.recorder.log import Log
from fillcalc.units import axis, show
from fillcalc.units.spans import Three, rounded, show_range

RECORD, HOLD = "The record", "The hold"
EXPLAINS, PARTS = "What explains the hold", "The parts"
PART_NAMES = {"temperature": "temperature", "settling": "settling", "dissolving": "air that dissolves",
              "leak": "a leak"}
COUNTED_BY = {"strokes": "the strokes a minute", "pump": "the pump flow of the case"}
MOST_JUMPS = 4
"""Sudden steps that are told one by one."""
STILL_K = 0.001
"""K; a temperature that changed by less stood still."""
DECIDES = "The procedure decides, not this."


def main_rows(found: RecordedHold, units: str) -> list[tuple[str, str, str]]:
    """What a person asks for: name, likely figure, and its low to high; nothing without a hold."""
    if found.fit is None:
        return []
    say, leak = shower(units), found.fit.leak
    rows = []
    if found.fit.shows:
        each = _three(leak.low_m3_s, leak.likely_m3_s, leak.high_m3_s, units)
        rows.append(("Leak", say(each.likely, "flow"), show_range(each.low, each.high, "flow", units, each.likely)))
    else:
        rows.append(("Leak", "none shows", f"up to {say(leak.high_m3_s, 'flow')} would not show either"))
    rows.append(("Would show", say(found.fit.smallest_m3_s, "flow"), "or more, in 95 of 100 such holds"))
    if found.rise is not None and isfinite(found.rise.share.likely):
        share = rounded(Three(float(found.rise.share.low), float(found.rise.share.likely),
                              float(found.rise.share.high)), "share", units)
        rows.append(("Trapped air", say(share.likely, "share"),
                     show_range(share.low, share.high, "share", units, share.likely) or "certain"))
    return rows


def _three(low: float, likely: float, high: float, units: str) -> Three:
    return rounded(Three(float(low), float(likely), float(high)), "flow", units)


def part_rows(found: RecordedHold, log: Log, units: str) -> list[tuple[str, ...]]:
    """The parts of the record as they come: when they begin and end, how long they are, and the pressure at both
    ends."""
    say, parts = shower(units), found.parts
    rows: list[tuple[str, ...]] = [("part", "from", "to", "takes", "from", "to")]
    named = [("rise", parts.rise), *(("stop on the way", step) for step in parts.steps), ("settle", parts.settle),
             ("hold", parts.hold), ("release", parts.release)]
    made = [(span.start_s, (name, log.clock(span.start_s), log.clock(span.end_s), say(span.time_s, "duration"),
                            say(span.start_gauge_pa, "pressure"), say(span.end_gauge_pa, "pressure")))
            for name, span in named if span is not None]
    if parts.peak is not None:
        at = parts.peak.start_s
        made.append((at, ("peak", log.clock(at), "", "", say(parts.highest_gauge_pa, "pressure"), "")))
    return [*rows, *(row for _, row in sorted(made, key=lambda each: each[0]))] if made else []


def explained_rows(fit: HoldFit, units: str) -> list[tuple[str, str, str]]:
    """What each part makes of the change in the hold, what makes most first: name, likely change, its low to high."""
    unit = axis("pressure_change", units, max([abs(fit.change_pa), *(
        abs(end) for one in fit.explained for end in (one.low_pa, one.high_pa))]))
    step = 10.0 ** np.floor(np.log10(max(max(abs(one.high_pa - one.low_pa) for one in fit.explained), 1.0)
                                     / unit.factor) - 1.0)

    def shown(pressure: float) -> str:
        digits = max(0, -int(np.floor(np.log10(step))))
        return f"{round(pressure / unit.factor / step) * step + 0.0:+.{digits}f}"

    rows = [("cause", f"changes, {unit.unit}", "low to high")]
    rows += [(PART_NAMES[one.name], shown(one.likely_pa), f"{shown(one.low_pa)} to {shown(one.high_pa)}")
             for one in sorted(fit.explained, key=lambda one: -max(abs(one.low_pa), abs(one.high_pa)))]
    return [*rows, ("together", shown(fit.change_pa), "")]


def caution_sentences(case: Case, log: Log, found: RecordedHold, units: str) -> list[str]:
    """Every caution of the record with its weight, the heaviest first."""
    return [f"{each.weight.upper()}: {trade(each.text, units)}" for each in recording_cautions(case, log, found, units)]


def file_sentences(log: Log) -> list[str]:
    """How the file is written, which columns were used, and every oddity of it by its line."""
    used = ", ".join(f"{column.role} {column.number}" + (f" in {column.unit}" if column.unit else "")
                     for column in log.columns)
    rows = f"{len(log.time_s)} rows, one every {show(log.step_s, 'duration')}."
    return [rows, log.layout, f"Columns: {used}." if used else "", *map(str, log.oddities)]


def part_sentences(found: RecordedHold, log: Log, units: str) -> list[str]:
    """What is said of how the record was cut."""
    parts = found.parts
    if parts.hold is None:
        return ["No stretch at pressure was found: is this the record of a test?"]
    said = ["The hold is where you put it." if parts.moved else
            "The parts were found by how fast the pressure moves; the hold can be moved."]
    said += [_jump(jump, log, units, jump in found.within) for jump in parts.jumps[:MOST_JUMPS]]
    if len(parts.jumps) > MOST_JUMPS:
        said.append(f"The pressure makes {len(parts.jumps)} sudden steps in all.")
    if parts.rise is None:
        said.append("The record begins at pressure: no rise is in it.")
    return said


def _jump(jump: Jump, log: Log, units: str, within: bool) -> str:
    size = show(abs(jump.rise_pa), "pressure_change", units)
    what = f"steps up by {size}, as by a stroke of the pump" if jump.rise_pa > 0.0 else f"drops suddenly by {size}"
    then = "It stands within the hold: the step is taken off, and the answer is doubtful." if within else \
        "The hold was cut there."
    return f"Line {jump.line}, {log.clock(jump.at_s)}: the pressure {what}. {then}"


def rise_sentences(found: RecordedHold, units: str) -> list[str]:
    """What the rise tells of the trapped air."""
    rise, say = found.rise, shower(units)
    if rise is None:
        return []
    said = []
    if isfinite(rise.share.likely):
        air = rounded(Three(*(float(end) for end in (rise.trapped_air_m3.low, rise.trapped_air_m3.likely,
                                                     rise.trapped_air_m3.high))), "volume", units)
        said.append(f"By {COUNTED_BY[rise.by]}, the rise shows {say(air.likely, 'volume')} of trapped air, "
                    f"{show_range(air.low, air.high, 'volume', units, air.likely)}.")
    said.append(rise.why)
    if rise.bends:
        said.append(f"The rise bends the wrong way above {say(rise.bends_from_gauge_pa, 'pressure')}: it slows down "
                    "more than this pump would. A leak, or a pump that stalls.")
    return said


def hold_sentences(found: RecordedHold, log: Log, units: str) -> list[str]:
    """What explains the hold, in sentences; never that a piece is sound."""
    fit, span = found.fit, found.parts.hold
    if span is None:
        return []
    if found.gas:
        return ["This is a test with gas: what explains a hold is worked out for water alone.", DECIDES]
    if fit is None:
        return ["The hold has too few rows to be explained."]
    say, leak = shower(units), fit.leak
    said = [_moved(found, span, log, units), *_warmth(fit, units)]
    each = _three(leak.low_m3_s, leak.likely_m3_s, leak.high_m3_s, units)
    if fit.unexplained_rise:
        said.append("The pressure rose by more than these explain: no leak can be told from that.")
    elif fit.shows:
        said.append(f"What is left is a leak of {say(each.likely, 'flow')}, "
                    f"{show_range(each.low, each.high, 'flow', units, each.likely)} in 95 of 100 cases.")
    else:
        said.append(f"No leak shows in that; one of up to {say(each.high, 'flow')} would not show either.")
    said.append(f"A leak of {say(fit.smallest_m3_s, 'flow')} or more would have shown in 95 of 100 such holds.")
    said += _never_long(fit, units)
    said += [_longer(one, found, units) for one in fit.longer if isfinite(one.time_s)]
    said.append(f"{fit.points} points, noise {say(fit.noise_pa, 'pressure_change')}.")
    return [*said, DECIDES]


def _moved(found: RecordedHold, span: Span, log: Log, units: str) -> str:
    size = show(abs(found.change_pa), "pressure_change", units)
    change = "stood still" if found.change_pa == 0.0 else f"{'fell' if found.change_pa < 0.0 else 'rose'} by {size}"
    return (f"From {log.clock(span.start_s)} to {log.clock(span.end_s)}, {show(span.time_s, 'duration', units)}, "
            f"the pressure {change}.")


def _warmth(fit: HoldFit, units: str) -> list[str]:
    kelvin = fit.per_kelvin
    each = rounded(Three(kelvin.low_pa_k, kelvin.likely_pa_k, kelvin.high_pa_k), "pressure_per_kelvin", units)
    degree = (f"{show(each.likely, 'pressure_per_kelvin', units)}, "
              f"{show_range(each.low, each.high, 'pressure_per_kelvin', units, each.likely)}")
    if not fit.temperature_read:
        by = next(one for one in fit.explained if one.name == "temperature")
        return [f"No temperature was recorded. Warming changes the pressure by {degree}.",
                f"So temperature may explain anything from {signed(by.low_pa, units)} to "
                f"{signed(by.high_pa, units)}."]
    size = show(abs(fit.warmer_k), "temperature_change", units)
    change = "stood still" if abs(fit.warmer_k) < STILL_K else f"{'rose' if fit.warmer_k > 0.0 else 'fell'} by {size}"
    return [f"The temperature {change}; warming changes the pressure by {degree}."]


def _never_long(fit: HoldFit, units: str) -> list[str]:
    """The largest leak that no hold of this kind would show, however long, and what would."""
    flows = [one.leak_m3_s for one in fit.longer if not isfinite(one.time_s)]
    if not flows:
        return []
    better = "Hold while the temperature stands still." if fit.temperature_read else "Record the temperature."
    return [f"No hold of this kind, however long, shows a leak of {show(max(flows), 'flow', units)} or less. {better}"]


def _longer(one: Longer, found: RecordedHold, units: str) -> str:
    flow = show(one.leak_m3_s, "flow", units)
    if one.time_s <= found.time_s * 1.01:
        return f"To show {flow}, this hold is long enough."
    more = show(one.time_s - found.time_s, "duration", units)
    return f"To show {flow}, hold for {show(one.time_s, 'duration', units)} in all, {more} more."


# --- charts -------------------------------------------------------------------------------------

MARKS = (("R", "rise"), ("S", "settle"), ("H", "hold"), ("E", "release"))


def record_chart(found: RecordedHold, log: Log, units: str) -> Chart:
    """The whole record with its parts marked, and on it what explains the hold."""
    record = found.record
    x, unit = _scaled(record.time_s, "duration", units)
    top = float(np.max(np.abs(record.gauge_pa)))
    y, gauge = _scaled(record.gauge_pa, "pressure", units, top)
    curves = [Curve("a", "recorded", x, y)]
    if found.fit is not None:
        fitted = found.fit.curve
        curves.append(Curve("b", "explained", _scaled(fitted.time_s, "duration", units, float(record.time_s[-1]))[0],
                            _scaled(fitted.gauge_pa, "pressure", units, top)[0]))
    spans = {"rise": found.parts.rise, "settle": found.parts.settle, "hold": found.parts.hold,
             "release": found.parts.release}
    marks = [Upright(mark, name, float(_scaled(np.array([span.start_s]), "duration", units,
                                               float(record.time_s[-1]))[0][0]), log.clock(span.start_s))
             for mark, name in MARKS if (span := spans[name]) is not None]
    return Chart(RECORD, f"time, {unit}", f"gauge, {gauge}", tuple(curves), tuple(marks))


def hold_chart(found: RecordedHold, log: Log, units: str) -> Chart | None:
    """The hold alone: what the pressure changed by since it began, and what explains that."""
    span, fit = found.parts.hold, found.fit
    if span is None or fit is None:
        return None
    record = found.record
    within = (record.time_s >= span.start_s) & (record.time_s <= span.end_s)
    start = float(fit.curve.gauge_pa[0])
    seen, shown = record.gauge_pa[within] - start, fit.curve.gauge_pa - start
    most = float(np.max(np.abs(np.concatenate([seen, shown]))))
    last = span.time_s
    x, unit = _scaled(record.time_s[within] - span.start_s, "duration", units, last)
    y, gauge = _scaled(seen, "pressure_change", units, most)
    curves = (Curve("a", "recorded", x, y),
              Curve("b", "explained", _scaled(fit.curve.time_s - span.start_s, "duration", units, last)[0],
                    _scaled(shown, "pressure_change", units, most)[0]))
    return Chart(HOLD, f"time since {log.clock(span.start_s)}, {unit}", f"change, {gauge}", curves)


def _scaled(values: Array, family: str, units: str, largest: float | None = None) -> tuple[Array, str]:
    unit = axis(family, units, float(np.max(np.abs(values))) if largest is None else largest)
    return np.asarray(values / unit.factor), unit.unit
