"""Sentences: what limits the job, what the gauge will do, and what must never be left out.

Subject first, the number with its unit, under fifteen words where it can be. Every function takes the
case, the estimate that `fillcalc.questions.likely.likely` gives, and units, metric or us.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from functools import partial
from math import isfinite, nan
from typing import TYPE_CHECKING, SupportsFloat, TypeAlias

import numpy as np

from fillcalc.case.medium import is_gas
from fillcalc.case.records import KV_OVER_CV, Case, HandPump, HeaderTank, PipeRun, ValveBody
from fillcalc.cautions import reading_cautions
from fillcalc.cautions.rule import from_air, lowest_limit, setting_window
from fillcalc.estimation.answers import STROKE_MARKS, Estimate, Shares, answers
from fillcalc.estimation.regulator import Window
from fillcalc.estimation.stages import at_once
from fillcalc.questions.setting import only_guarded, why_no_setting
from fillcalc.units import show, to_figures
from fillcalc.units.spans import Three, rounded, show_range

if TYPE_CHECKING:
    from fillcalc.questions.readings.answer import ReadingsAnswer

TITLE = "Estimate, not a test record"
GAUGE = "Pressures are gauge. Figures are likely ones, with low to high beside them."
GAUGE_VISIT = "Pressures are gauge. Times are likely ones, with low to high beside them."
GAUGE_SINGLE = "Pressures are gauge. Figures are at likely values, without ranges."
UNKNOWN = show(nan, "number")
"""What stands where a quantity cannot be had."""

ATMOSPHERE = 101325.0
MANY = 5.0
"""Strokes from which a needle that stands still makes one wonder."""

US_TRADE = {
    "taps": "hose bibs",
    "tap": "hose bib", "bore": "ID", "litres": "gallons", "metre": "foot", "kelvin": "degree F",
    "half a bar": "7 psi",
}
"""Trade words of the metric world and what the same thing is called with US units."""

_US = re.compile(r"(?<![\w.])(" + "|".join(sorted(US_TRADE, key=len, reverse=True)) + r")(?!\.?\w|\s*=)", re.IGNORECASE)

SAFETY = (
    "Estimates for planning only.",
    "The written procedure, the local code and a competent person decide.",
    "Nothing here says that a piece has passed.",
    "Disconnect the fill hose before pumping, or isolate it behind a check valve.",
    "Know the pressure limit of the weakest part. The pump must not be able to pass it.",
    "Fit and test a relief valve that is fully open below that limit.",
    "No regulator setting rules out over-pressure.",
    "Never leave the closed vessel unattended, least of all in the sun: warming raises its pressure.",
    "Let the pressure down to zero and prove it at an open vent before loosening anything.",
    "Never tighten, hammer or weld under pressure. Keep hands off a weep.",
    "Use blinds, plugs, clamps and hoses rated for the pressure. Stand clear of their line.",
    "Open the vent before the drain: suction folds thin vessels.",
    "Check that floor, saddles and supports carry the full weight of the water.",
    "Never blow out or test with air instead: gas stores hundreds to thousands of times the energy.",
    "Check that metal and water are warm enough. A cold shell sweats and hides leaks.",
    "Protect drinking water from back-flow. Vessel water must never return to it.",
    "Exhaust a nitrogen-driven pump outdoors: nitrogen displaces oxygen. Wear ear protection.",
    "Test plastic, lined and cast-iron pieces by their own rules, not by these figures.",
)

LINE_PARTS = ("hose", "couplings", "valve", "exit")
ADVICE = {
    "hose": "A wider or shorter hose helps most",
    "couplings": "{couplings} help most",
    "valve": "A full-bore valve in the fill line helps most",
    "exit": "A wider end on the hose helps most",
    "height": "{more} helps most.",
    "vent": "A bigger vent, fully open, helps most.",
}
"""What to change first, by the part that takes most of the pressure."""
ADVICE_TOO = {
    "hose": "a wider hose helps too",
    "couplings": "{couplings} help too",
    "valve": "a full-bore valve in the fill line helps too",
    "exit": "a wider end on the hose helps too",
}
"""The part of the line that takes most of the pressure, where the source takes more."""
LITTLE = 0.05
"""Share of the pressure below which a part of the line is not worth changing."""

Say: TypeAlias = Callable[[SupportsFloat | None, str], str]


def shower(units: str) -> Say:
    """A function of a number in SI and its family, to text; what cannot be had says so."""
    return partial(_say, units=units)


def _say(value: SupportsFloat | None, family: str, units: str) -> str:
    return UNKNOWN if value is None else show(value, family, units)


def trade(text: str, units: str) -> str:
    """The text in the trade words of these units; for text of this project, never for foreign text."""
    if units != "us":
        return text
    return _US.sub(lambda found: _like(found[0], US_TRADE[found[0].lower()]), text)


def _like(old: str, new: str) -> str:
    return new[0].upper() + new[1:] if old[0].isupper() else new


def piece(cases: Sequence[Case]) -> str:
    """What each of these is called in the trade: valve, pipe run or vessel; a piece where they differ."""
    words = {{ValveBody: "valve", PipeRun: "pipe run"}.get(type(case.vessel), "vessel") for case in cases}
    return words.pop() if len(words) == 1 else "piece"


def valve(kv: SupportsFloat | None, units: str) -> str:
    """What a valve passes, in the word of the trade: "Kv 0.25", or in US units "Cv 0.289"."""
    passes, say = nan if kv is None else float(kv), shower(units)
    return f"Cv {say(passes / KV_OVER_CV, 'number')}" if units == "us" else f"Kv {say(passes, 'number')}"


def gauge_sentence(estimate: Estimate) -> str:
    """What the figures of a report are."""
    return GAUGE_SINGLE if estimate.visit is None else GAUGE


def safety(units: str = "metric") -> tuple[str, ...]:
    """What every report, the data and copied text carry, the same words each time."""
    return (f"{TITLE}.", *(trade(sentence, units) for sentence in SAFETY))


def job_sentences(case: Case, estimate: Estimate, units: str) -> list[str]:
    """What limits the fill and the pump-up, what to change first, and when to stop."""
    if estimate.gas is not None:
        from fillcalc.present.gas import energy_sentences

        return energy_sentences(estimate, units)
    return [*fill_sentences(case, estimate, units), *pump_sentences(case, estimate, units),
            *limit_sentences(case, estimate, units)]


def fill_sentences(case: Case, estimate: Estimate, units: str) -> list[str]:
    """What holds the fill back, and what to change first."""
    say, fill = shower(units), estimate.fill
    sentences = []
    if case.fill.measured_flow is None:
        sentences += _share_sentences(case, fill.shares, say)
    else:
        sentences += ["The flow is as measured at the vessel end of the hose.",
                      f"How the loss divides between the {_source(case)} and the hose is not known."]
    if fill.flow_start_m3_s > 0.0:
        start, last = (say(flow, "flow") for flow in (fill.flow_start_m3_s, fill.flow_end_m3_s))
        end = f" and {last} at the end" if isfinite(fill.flow_end_m3_s) else ""
        sentences.append(f"The flow is {start} from start to end." if start == last else
                         f"The flow is {start} at the start{end}.")
    if fill.change_overs > 0:
        sentences.append(f"Changing the {_source(case)}'s container takes {say(fill.change_over_s, 'duration')} of the "
                         "fill.")
    sentences.append(_vent_sentence(case, estimate, say))
    if estimate.fill.water_m3 > 0.0:
        sentences.append(f"{_what_holds(case)} {say(estimate.volume_m3, 'volume')}.")
    return [trade(sentence, units) for sentence in sentences if sentence]


def _what_holds(case: Case) -> str:
    """What is filled at once: the vessel, or the pieces on the manifold."""
    pieces = at_once(case)
    return "The vessel holds" if pieces == 1 else f"The {pieces} pieces of a load hold"


def _source(case: Case) -> str:
    return case.tap.kind


def part_labels(case: Case) -> dict[str, str]:
    """What each part of the way of the water is called, by its name in `Shares`."""
    return {name: said.label for name, said in answers(Shares).items()} | {"tap": f"the {_source(case)}"}


def _share_sentences(case: Case, shares: Shares, say: Say) -> list[str]:
    """Which parts take the driving pressure, most first."""
    labels = part_labels(case)
    known = _of_what_drives(shares, tuple(labels))
    if not known:
        return []
    fall = max(-float(shares.height), 0.0)
    of = "what drives the water" if fall > 0.005 else "the pressure"
    most, *rest = sorted(known, key=lambda name: -known[name])
    sentences = [f"The largest loss is {labels[most]}: {percent(known[most])} of {of}."]
    others = [f"{labels[name]} {percent(known[name])}" for name in rest if known[name] >= 0.005]
    if others:
        sentences.append(f"Then {', '.join(others)}.")
    if known.get("height", 0.0) < -0.005:
        sentences.append(f"The height gives {percent(-known['height'])} of that.")
    if case.fill.through_pump:
        return [*sentences, "A separate fill hose helps most."]
    return [*sentences, _advice(known, case, say)]


def _of_what_drives(shares: Shares, names: tuple[str, ...]) -> dict[str, float]:
    """Each part as a share of all that drives: of the pressure, and of the fall where that helps."""
    known = {name: float(share) for name in names if isfinite(share := getattr(shares, name))}
    fall = max(-known.get("height", 0.0), 0.0)
    return {name: share / (1.0 + fall) for name, share in known.items()} if fall > 0.005 else known


def losses_of(case: Case, estimate: Estimate, units: str) -> list[tuple[str, float]]:
    """The parts of the way of the water and their shares of what drives it, the largest first."""
    labels = part_labels(case)
    known = _of_what_drives(estimate.fill.shares, tuple(labels))
    return [(trade(labels[name], units), known[name]) for name in sorted(known, key=lambda name: -known[name])]


def _narrowest(case: Case, say: Say) -> str:
    """The couplings or tails of the fill hose, whichever have the smaller hole, as what to widen."""
    of_hoses = [each for hose in case.fill.hose for each in (
        (hose.coupling_hole if hose.couplings else None, "couplings"), (hose.tail_bore, "tails"))]
    holes = [(float(hole), name) for hole, name in of_hoses if hole is not None]
    if not holes:
        return "wider couplings"
    hole, name = min(holes)
    return f"wider {name} (hole of {say(hole, 'bore')})"


def _advice(shares: dict[str, float], case: Case, say: Say) -> str:
    """What to change first: the source, the part of the line that takes most, the height or the vent."""
    source, narrow = _source(case), _narrowest(case, say)
    stronger = f"Raising the {source}" if isinstance(case.tap, HeaderTank) else f"More flow at the {source}"
    line = {name: shares.get(name, 0.0) for name in LINE_PARTS}
    groups = {"tap": shares.get("tap", 0.0), "line": sum(line.values()),
              "height": shares.get("height", 0.0), "vent": shares.get("vent", 0.0)}
    most, of_line = max(groups, key=lambda name: groups[name]), max(line, key=lambda name: line[name])
    if most == "tap" and groups["tap"] >= 0.6:
        return f"A wider hose helps little here; {stronger[0].lower()}{stronger[1:]} helps most."
    if most == "tap":
        too = f"; {ADVICE_TOO[of_line].format(couplings=narrow)}" if line[of_line] >= LITTLE else ""
        return f"{stronger} helps most{too}."
    if most == "line":
        return (ADVICE[of_line].format(couplings=narrow[0].upper() + narrow[1:])
                + (f"; the {source} limits the gain." if groups["tap"] >= 0.25 else "."))
    more = stronger if isinstance(case.tap, HeaderTank) else f"More pressure at the {source}"
    return ADVICE[most].format(more=more)


def percent(share: SupportsFloat) -> str:
    """A share in whole per cent; "under 1 %" where that would be none."""
    share = float(share)
    if not isfinite(share):
        return UNKNOWN
    return f"{100 * share:.0f} %" if share == 0 or abs(share) >= 0.01 else "under 1 %"


def _vent_sentence(case: Case, estimate: Estimate, say: Say) -> str:
    peak, share = estimate.fill.air_peak_gauge_pa, estimate.fill.shares.vent
    if case.vent.shut:
        return "The vent is shut: the air stays in."
    if not isfinite(peak) or not isfinite(share):
        return ""
    if share < 0.05:
        return f"The vent keeps up: the air inside pushes back by {say(peak, 'pressure')} at most."
    return (f"The vent does not keep up: it costs {percent(share)} of the pressure, "
            f"and the air inside reaches {say(peak, 'pressure')}.")


def pump_sentences(case: Case, estimate: Estimate, units: str) -> list[str]:
    """What the pump does, what the needle does, and when to stop."""
    say, pump = shower(units), estimate.pressurise
    sentences = []
    if isfinite(pump.start_gauge_pa) and pump.start_gauge_pa > 1e3:
        sentences.append(
            f"The {_source(case)} has raised the pressure to {say(pump.start_gauge_pa, 'pressure')}; pumping starts "
            "there."
            if pump.start_gauge_pa > pump.full_gauge_pa + 1e3 else
            f"The gauge shows {on_gauge(case, float(pump.full_gauge_pa), say)} with the vessel just full; pumping "
            "starts there.")
    if pump.reached and int(pump.limited_by) > 0:
        sentences.append({1: "The air supply sets the time, not the pump.",
                          2: f"The rise limit sets the time, not the pump{_pace(estimate)}.",
                          3: "The leak sets the time, not the pump."}[int(pump.limited_by)])
    if needle := needle_sentence(case, estimate, units):
        sentences.append(needle)
    sentences += _stop_rule(estimate, say)
    if isfinite(pump.free_air_m3) and pump.free_air_m3 > 0:
        sentences.append(f"The pump draws {say(pump.free_air_m3, 'air_volume')} of free air.")
    return [trade(sentence, units) for sentence in sentences]


def _pace(estimate: Estimate) -> str:
    """The strokes a minute that a pump-up comes to; empty for a pump without strokes."""
    pump = estimate.pressurise
    if not (isfinite(pump.strokes) and pump.time_s > 0.0):
        return ""
    return f": about {to_figures(60.0 * float(pump.strokes) / float(pump.time_s)):g} strokes a minute"


def needle_sentence(case: Case, estimate: Estimate, units: str) -> str:
    """How long the needle stands still; "" where it moves at once, or where that is not known."""
    strokes, division = estimate.pressurise.strokes_before_needle, case.gauge.division
    if not (isfinite(strokes) and strokes >= 1):
        return ""
    lifts = "one division" if division is None else f"one division ({shower(units)(division, 'pressure')})"
    after = f"The needle lifts {lifts} after about {_strokes(strokes)}."
    by_tap = estimate.pressurise.start_gauge_pa > estimate.pressurise.full_gauge_pa + 1e3
    return after if by_tap or strokes < MANY else f"{after} Until then it hardly moves. That is normal."


def _strokes(value: SupportsFloat) -> str:
    count = show(value, "strokes")
    return f"{count} stroke" if count == "1" else f"{count} strokes"


def on_gauge(case: Case, value: float, say: Say) -> str:
    """A pressure as the gauge shows it, Pa: "under one division" where nobody can read it."""
    division = case.gauge.division
    return "under one division" if division is not None and value < division else say(value, "pressure")


def stroke_marks(estimate: Estimate) -> list[float]:
    """Strokes at each of the STROKE_MARKS, NaN where they cannot be had."""
    shown = np.ravel(estimate.pressurise.strokes_at)
    return shown.tolist() if len(shown) == len(STROKE_MARKS) else [nan] * len(STROKE_MARKS)


def _stop_rule(estimate: Estimate, say: Say) -> list[str]:
    marks = stroke_marks(estimate)
    tenth = STROKE_MARKS[0] * estimate.pressurise.test_gauge_pa
    if not isfinite(marks[0]) or marks[0] <= 0:
        return []
    comes = f"{say(tenth, 'pressure')} (10 %) is reached after {_strokes(marks[0])}"
    if not 2 * marks[0] < marks[-1]:
        return [f"{comes} of {show(marks[-1], 'strokes')}: from there the needle rises fast. Pump slowly."]
    return [f"{comes}.", f"If it is not reached after {_strokes(2 * marks[0])}, stop and vent again."]


def limit_sentences(case: Case, estimate: Estimate, units: str) -> list[str]:
    """Stall against the limits, and the regulator's setting."""
    say, pump = shower(units), estimate.pressurise
    limit, limit_of = lowest_limit(case, estimate)
    stalls, highest = say(pump.stall_gauge_pa, "pressure"), pump.stall_no_friction_gauge_pa
    sentences = []
    if isinstance(case.pump, HandPump):
        sentences.append("A hand pump does not stall. Watch the gauge."
                         + (f" One person can push it to {stalls}." if isfinite(pump.stall_gauge_pa) else ""))
    elif isfinite(pump.stall_gauge_pa):
        sentences.append(f"The pump stalls at {stalls}.")
        if highest > pump.stall_gauge_pa:
            sentences[0] = f"At its running air pressure the pump stalls at {stalls}."
            sentences.append(f"Without friction it can reach {say(highest, 'pressure')}"
                             f"{from_air(case, float(highest), say)}. Limits are checked against that.")
    if isfinite(limit):
        sentences.append(f"Lowest pressure limit: {say(limit, 'pressure')} ({limit_of}).")
    window = setting_window(case, estimate)
    if window is not None and isfinite(window.reaching):
        sentences += _regulator_sentences(window, say)
    return [trade(sentence, units) for sentence in sentences]


def _regulator_sentences(window: Window, say: Say) -> list[str]:
    low, high, advised = (say(value, "pressure") for value in (
        window.lowest, max(window.highest, 0.0), window.advised))
    lower = "it may not shift" if window.shifts else "it may stall before test pressure"
    passes = "lift the relief valve" if window.relief else "pass the limit"
    known, safe = isfinite(window.highest), isfinite(window.advised)
    if not known:
        asked = [f"Set the regulator at {advised}."] if safe else []
        return [*asked, f"Below {low} {lower}. No limit was given, so its highest safe setting is unknown."]
    if window.guarded:
        return [only_guarded(window, say)]
    if not safe:
        return [f"No regulator setting is advised: {why_no_setting(window, say)}."]
    if window.relies:
        return [f"Set the regulator at {advised}. Below {low} {lower}.",
                f"Above {high} it can {passes}; up to {say(window.passes, 'pressure')} it keeps under the limit."]
    if window.highest < window.lowest:  # the other of the two ends decides
        return [f"Set the regulator at {advised}. Below {low} {lower}."]
    return [f"Set the regulator at {advised}.", f"Below {low} {lower}; above {high} it can {passes}."]


def air_sentences(case: Case, estimate: Estimate, units: str) -> list[str]:
    """Why a little air means much pumping, with the ladder's own figures."""
    say, pump = shower(units), estimate.pressurise
    rungs = [rung for rung in estimate.air_ladder if isfinite(rung.water_m3)]
    if len(rungs) < 2:
        return []
    clean = min(rungs, key=lambda rung: rung.share)
    much = next((rung for rung in rungs if rung.share >= 0.02 and rung.share > estimate.trapped_share), rungs[-1])
    squeezed = _squeezed(estimate)
    sentences = [
        "Air acts as a spring: test pressure squeezes it"
        + (f" to about 1/{squeezed:.0f} of its volume." if squeezed >= 2.0 else "."),
        "Pumped water must first fill the space that it leaves; meanwhile the needle hardly moves."]
    if not pump.start_gauge_pa > 1e3 and pump.test_gauge_pa > 2e5:
        sentences.append(f"More than half of that water goes in before the gauge shows {say(1e5, 'pressure')}.")
    cost = f"With {say(much.share, 'share')} of air the pump must deliver {say(much.water_m3, 'volume')} "
    sentences.append(cost + f"instead of {say(clean.water_m3, 'volume')}.")
    if isfinite(much.time_s):
        text = f"That is {say(much.time_s, 'duration')} of pumping"
        if isfinite(much.strokes):
            text += f" and {_strokes(much.strokes)}"
        if isfinite(much.strokes_before_needle):
            text += f"; the first {say(much.strokes_before_needle, 'strokes')} do not lift the needle"
        sentences.append(text + ".")
        if isfinite(much.strokes_before_needle):
            sentences.append('"Lifts at" is the stroke that lifts the needle by one division.')
    return [trade(sentence, units) for sentence in sentences]


def _squeezed(estimate: Estimate) -> float:
    """The trapped air at the site's pressure over what is left of it at test pressure, at likely values; NaN where
    that is not known. The first point of the pump-up is so low that the air there is an ideal gas."""
    history = estimate.pressurise.history
    if history is None or not estimate.pressurise.reached:
        return nan
    air, gauge = (np.ravel(values) for values in (history.air_m3, history.air_gauge_pa))
    return float(air[0] * (1.0 + gauge[0] / ATMOSPHERE) / air[-1]) if air[-1] > 0.0 else nan


def sweep_sentences(estimate: Estimate, units: str) -> list[str]:
    """Which high points of a pipe run the water clears of air, and which it does not."""
    say = shower(units)
    sentences = []
    for place, point in enumerate(estimate.sweep, 1):
        sentences.append(f"High point {place}: the water runs at {say(point.speed_m_s, 'speed')}; "
                         f"{say(point.needed_m_s, 'speed')} clears it. "
                         + ("The air goes." if point.swept else "The air stays: vent it there."))
    return sentences


def reading_sentences(estimate: Estimate, found: ReadingsAnswer, units: str) -> list[str]:
    """What the readings of a case tell of its air, against the air that this estimate uses."""
    say, share, own = shower(units), found.share, float(estimate.trapped_share)
    stop = [caution.text for caution in reading_cautions(found.reached, units)]
    if not isfinite(share.likely):
        return [*stop, f"Readings: {found.why[:1].lower()}{found.why[1:]}"]
    shown = share_found(found, units)
    ends = show_range(shown.low, shown.high, "share", units, shown.likely)
    lines = [*stop, f"The readings show {say(shown.likely, 'share')} of air{f', {ends}' if ends else ''}."]
    if found.fits is False:
        lines.append(found.why)
    stand = f"This estimate uses {say(own, 'share')}"
    return [*lines, f"{stand}, which agrees." if share.low <= own <= share.high else f"{stand}. Go by the readings."]


def share_found(found: ReadingsAnswer, units: str) -> Three:
    """The share of air that the readings of a case show, rounded to what its range can bear."""
    share = found.share
    return rounded(Three(float(share.low), float(share.likely), float(share.high)), "share", units)


def found_of(case: Case) -> ReadingsAnswer | None:
    """What the readings of a case tell; None without readings."""
    if not case.reading or is_gas(case):
        return None
    from fillcalc.questions.readings.answer import readings

    return readings(case)


def of_its_readings(case: Case, estimate: Estimate, units: str) -> list[str]:
    """The same for a case as the reader gives it; nothing without readings."""
    found = found_of(case)
    return [] if found is None else [*reading_sentences(estimate, found, units),
                                     "The command `fillcalc readings` gives the rest."]
