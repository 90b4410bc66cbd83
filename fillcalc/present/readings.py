"""What the readings of a case tell, in rows and sentences: for the person beside the gauge."""

from __future__ import annotations

from math import ceil, isfinite

from fillcalc.case.records import Case
from fillcalc.cautions.pumping import at_test
from fillcalc.present.sentences import shower
from fillcalc.questions.readings.answer import PIPELINE_LIMIT, CountMissed, ReadingsAnswer
from fillcalc.questions.readings.reached import Reached
from fillcalc.questions.readings.verdict import BeforeRise, HoldVerdict
from fillcalc.units import show
from fillcalc.units.spans import Three, rounded, show_range

NEAR_TEST = "Less than one gauge division is left: pump single strokes and watch the gauge."


def main_rows(answer: ReadingsAnswer, units: str) -> list[tuple[str, str, str]]:
    """What a person at the gauge asks for: name, likely figure, and its low to high; nothing without an answer."""
    say = shower(units)
    if not isfinite(answer.trapped_air_m3.likely):
        return []
    rows = []
    for name, found, family in (("Trapped air", answer.trapped_air_m3, "volume"),
                                ("of the volume", answer.share, "share")):
        rounded_to = rounded(Three(float(found.low), float(found.likely), float(found.high)), family, units)
        rows.append((name, say(rounded_to.likely, family),
                     show_range(rounded_to.low, rounded_to.high, family, units, rounded_to.likely) or "certain"))
    return [*rows, ("Still to pump", *left_words(answer, units))]


def reading_rows(case: Case, units: str) -> list[tuple[str, ...]]:
    """The readings of the case as they were taken, a row each under heads, without columns that hold nothing; no rows
    without readings."""
    say = shower(units)
    if not case.reading:
        return []
    rows: list[tuple[str, ...]] = [("gauge", "strokes", "water", "time", "temperature")]
    rows += [(say(one.pressure, "pressure"),
              "" if one.strokes is None else say(one.strokes, "strokes"),
              "" if one.water is None else say(one.water, "volume"),
              "" if one.time is None else say(one.time, "duration"),
              "" if one.temperature is None else say(one.temperature, "temperature")) for one in case.reading]
    kept = [n for n in range(len(rows[0])) if any(row[n] for row in rows[1:])]
    return [tuple(row[n] for n in kept) for row in rows]


def short_lines(answer: ReadingsAnswer, units: str) -> list[tuple[str, str]]:
    """The same in short, as headings and words, for beside the form; of a hold, that first."""
    say, again, stand = shower(units), answer.vent_again, answer.reached
    lines: list[tuple[str, str]] = []
    if stand.near_test:
        lines.append(("", NEAR_TEST))
    if answer.hold is not None:
        lines += [("", sentence) for sentence in hold_sentences(answer.hold, units)]
    rows = main_rows(answer, units)
    if rows:
        (_, air, ends), (_, share, _), (still, left, beside) = rows
        lines.append((f"{still}: ", f"{left}, {beside}"))
        lines.append(("Trapped air: ", f"{share}, {air} ({ends})"))
    lines.append(("", answer.why))
    lines += [("", words) for words in (
        wait_words(answer), missed_words(answer.count_missed, units) if answer.count_missed else "") if words]
    if isfinite(answer.next_reading_gauge_pa):
        lines.append(("Next reading at: ", say(answer.next_reading_gauge_pa, "pressure")))
    if answer.hold is None and isfinite(again.costs_s) and isfinite(again.saves_s):
        lines.append(("", _vent_again(answer, units)))
    return lines


def left_words(answer: ReadingsAnswer, units: str) -> tuple[str, str]:
    """What is left to pump: the time, and the strokes and the water that go with it; nothing at test pressure, and
    where the pressure has fallen since, that its cause comes first."""
    say, stand = shower(units), answer.reached
    if stand.fallen and not stand.above_limit:
        return "find the cause first", f"fallen to {stands(stand, units)} test pressure"
    if stand.stop:
        return "nothing", ("above the pressure limit" if stand.above_limit else
                           f"{stands(stand, units)} test pressure" if stand.above_test else "test pressure is reached")
    left = say(answer.time_left_s, "duration") if isfinite(answer.time_left_s) else "never"
    count = _count(answer.strokes_left)
    strokes = f"{count} stroke{'' if count == '1' else 's'}, " if isfinite(answer.strokes_left) else ""
    return left, f"{strokes}{say(answer.water_left_m3, 'volume')}"


def stands(stand: Reached, units: str) -> str:
    """How far above or below test pressure the gauge stands now: "2 bar above"."""
    away = stand.latest_gauge_pa - stand.test_gauge_pa
    return f"{show(abs(away), 'pressure_change', units)} {'above' if away > 0.0 else 'below'}"


def _count(strokes: float) -> str:
    """Strokes as they are made: the next whole one."""
    return show(ceil(strokes - 1e-6) if isfinite(strokes) else strokes, "strokes")


def missed_words(missed: CountMissed, units: str) -> str:
    """What the count missed, in a sentence with its uncertainty, and the other thing that it may mean."""
    say = shower(units)
    if isfinite(missed.likely_strokes):
        low, likely, high = (show(round(float(each)), "count") for each in (
            missed.low_strokes, missed.likely_strokes, missed.high_strokes))
        amount, ends = f"{likely} stroke{'' if likely == '1' else 's'}", f"{low} to {high}"
    else:
        amount, ends = say(missed.likely_m3, "volume"), f"{say(missed.low_m3, 'volume')} to " \
            f"{say(missed.high_m3, 'volume')}"
    return (f"Your count misses about {amount} ({ends}), "
            f"or the gauge stood at {say(missed.began_gauge_pa, 'pressure')} when it began.")


def wait_words(answer: ReadingsAnswer) -> str:
    """What is said of air that may be warm still; "" where the times say that it had a minute to cool."""
    if answer.reached.stop or answer.cooled is not False:
        return "Air just squeezed is warm; the range allows for it." if answer.cooled is False else ""
    if answer.wait_before_reading:
        return "Wait a minute before each reading: air just squeezed is warm, and that widens the range most."
    return "Air just squeezed is warm; the range allows for it. Wait a minute before each reading."


def fit_sentences(answer: ReadingsAnswer, units: str) -> list[str]:
    """What is said of the fit, the air and the count."""
    missed = answer.count_missed
    said = [answer.why, *_air(answer, units), wait_words(answer), missed_words(missed, units) if missed else ""]
    return [sentence for sentence in said if sentence]


def _air(answer: ReadingsAnswer, units: str) -> list[str]:
    say = shower(units)
    if not isfinite(answer.trapped_air_m3.likely):
        return []
    limit = say(PIPELINE_LIMIT, "share")
    where = "a pipeline rule not checked against its standard; check your own copy"
    shown = {True: f"That is more than {limit} of the volume ({where}).",
             False: f"That is less than {limit} of the volume ({where}).",
             None: f"It may be more or less than {limit} of the volume ({where})."}[answer.above_pipeline_limit]
    return ["The true figure lies between the two ends in 95 of 100 cases.", shown]


def next_sentences(answer: ReadingsAnswer, units: str) -> list[str]:
    """What to do next, in sentences with units, metric or us: at test pressure that pumping stops, and no more."""
    say, said, stand = shower(units), [], answer.reached
    if stand.above_limit:
        said.append("Stop pumping, stand clear, and let the pressure down to zero.")
    elif stand.at_test:
        said.append(at_test(stand, say))
    if stand.fallen and not stand.above_limit:
        said.append("Top up only as the procedure says.")
    if stand.stop:
        return [*said, "Never open the vent at pressure. Let down first."]
    if stand.near_test:
        said.append(NEAR_TEST)
    if not isfinite(answer.trapped_air_m3.likely):
        if isfinite(answer.stop_after_strokes) and answer.stop_after_strokes >= 1:
            said.append(f"If {say(0.1 * stand.test_gauge_pa, 'pressure')} is not reached after "
                        f"{_count(answer.stop_after_strokes)} strokes, stop and vent again.")
        return [f"Take a reading at {say(answer.next_reading_gauge_pa, 'pressure')}, with its strokes, "
                "a minute after the pump stopped.",
                "Two readings at low pressure are worth more than ten at high.", *said]
    if answer.fits is False:
        said.append("Do not rely on these figures until that is cleared up.")
    if not isfinite(answer.time_left_s):
        said.append("The pump stalls below test pressure.")
    if isfinite(answer.next_reading_gauge_pa):
        said.append(f"Take the next reading at {say(answer.next_reading_gauge_pa, 'pressure')}, "
                    "a minute after the pump stopped.")
    elif not answer.wait_before_reading:
        said.append("More readings on the way up would tell little more.")
    again = answer.vent_again
    if isfinite(again.costs_s) and isfinite(again.saves_s):
        said.append(_vent_again(answer, units))
    return [*said, "Never open the vent at pressure. Let down first."]


def _vent_again(answer: ReadingsAnswer, units: str) -> str:
    """What venting again costs and saves, and which is the shorter way; with much air, that it must be."""
    say, again = shower(units), answer.vent_again
    saves = f"saves at most {say(again.saves_s, 'duration')}" if again.saves_s > 0.0 else "saves nothing"
    if again.pays:
        then = "let down, prove zero, and vent."
    elif again.must:
        then = "the time alone is no reason, the energy in so much air is. Let down, prove zero, and vent."
    else:
        then = "for the time alone, pump on."
    return f"Venting again costs {say(again.costs_s, 'duration')} and {saves} of pumping and release: {then}"


OF_IT = 0.2
"""Part of the uncertainty from which the air that dissolves is mentioned."""


def hold_sentences(verdict: HoldVerdict, units: str) -> list[str]:
    """What was seen of a hold, in sentences with units, metric or us."""
    say, leak = shower(units), verdict.leak
    said = [] if verdict.before is None else _before(verdict.before, units)
    if not verdict.time_s > 0.0:
        return [*said, "The hold begins again there: read it again at its end."]
    if isfinite(verdict.from_s):
        said.append(f"The hold is judged from the reading at {say(verdict.from_s, 'duration')} on.")
    said.append(f"The pressure {moved(verdict, units)}.")
    if verdict.temperature_read:
        said.append(f"Temperature explains {signed(verdict.by_temperature_pa, units)}.")
    else:
        said.append("The temperature was not read at both ends, so its effect is unknown. "
                    "Give it with the last pumped reading.")
    rest, doubt = float(verdict.rest_pa), float(verdict.rest_uncertain_pa)
    left = rounded(Three(rest - doubt, rest, rest + doubt), "pressure_change", units)
    said.append(f"What is left is {signed(left.likely, units)}, "
                f"give or take {say(0.5 * (left.high - left.low), 'pressure_change')}.")
    if -verdict.by_solution_pa > OF_IT * verdict.rest_uncertain_pa:
        said.append("Air that dissolves explains up to "
                    f"{say(-verdict.by_solution_pa, 'pressure_change')} of a fall.")
    flow = rounded(Three(float(leak.low_m3_s), float(leak.likely_m3_s), float(leak.high_m3_s)), "flow", units)
    if verdict.tells:
        ends = show_range(flow.low, flow.high, "flow", units, flow.likely)
        said.append(f"As a leak that is {say(flow.likely, 'flow')}{f' ({ends})' if ends else ''}.")
    else:
        said.append(f"No leak shows in that; one of up to {say(flow.high, 'flow')} would not show either.")
    return [*said, "This does not say that the piece passed. The procedure decides."]


def _before(before: BeforeRise, units: str) -> list[str]:
    """What came before the pressure rose in the hold, a loss as its own sentence."""
    say = shower(units)
    said = [f"The pressure rose by {say(before.rise_pa, 'pressure_change')} in the hold, more than warming explains: "
            "a top-up, or a reading was written down wrongly."]
    if before.change_pa < 0.0:
        lost = f"Before that it fell by {say(-before.change_pa, 'pressure_change')} in {say(before.time_s, 'duration')}"
        said.append(f"{lost}: a leak, or air that cooled or dissolved." if before.tells else
                    f"{lost}, which need not be a leak.")
    return said


def moved(verdict: HoldVerdict, units: str) -> str:
    """What the pressure did, and in what time."""
    time, change = show(verdict.time_s, "duration", units), show(abs(verdict.change_pa), "pressure_change", units)
    if verdict.change_pa == 0.0:
        return f"stood still for {time}"
    return f"{'fell' if verdict.change_pa < 0.0 else 'rose'} by {change} in {time}"


def signed(pressure: float, units: str) -> str:
    """A change of pressure, Pa, in words."""
    sign = "a fall of " if pressure < 0.0 else "a rise of "
    return sign + show(abs(pressure), "pressure_change", units) if pressure else "nothing"
