"""What the readings of a case tell, as text and as data: for the person beside the gauge."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, isfinite
from typing import Any

from fillcalc.case.records import Case, Reading
from fillcalc.cautions import reading_cautions
from fillcalc.formats.data import plain
from fillcalc.formats.text import table, wrapped
from fillcalc.present import sentences as words
from fillcalc.present.sentences import shower, trade
from fillcalc.questions.readings.air_fit import counted, telling
from fillcalc.questions.readings.answer import PIPELINE_LIMIT, CountMissed, ReadingsAnswer
from fillcalc.questions.readings.reached import division_of
from fillcalc.questions.readings.verdict import HoldVerdict
from fillcalc.units import show
from fillcalc.units.printable import shown


def readings_data(case: Case, answer: ReadingsAnswer, units: str = "metric") -> dict[str, Any]:
    """The answer as nested dicts of SI numbers, words and null; sentences in `units` (metric or us)."""
    data: dict[str, Any] = {"title": case.title, "format": case.format} | plain(answer)
    for name in ("fits", "above_pipeline_limit", "hold", "cooled", "count_missed"):
        data.setdefault(name, None)
    data["readings"] = plain(case.reading)
    data["cautions"] = plain(reading_cautions(answer.reached, units))
    data["said"] = {name: [trade(sentence, units) for sentence in sentences] for name, sentences in (
        ("fit", _fit(case, answer, units)), ("next", next_sentences(answer, units)),
        ("hold", hold_sentences(answer.hold, units) if answer.hold else []))}
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
        _main(case, answer, units),
        _told("The fit", _fit(case, answer, units), units),
        _told("What to do next", next_sentences(answer, units), units),
        _told("The hold", hold_sentences(answer.hold, units) if answer.hold else [], units),
        _given(case, units),
        _told("Safety", words.safety(units)[1:], "metric"),
    ]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


def _told(title: str, sentences: Sequence[str], units: str) -> list[str]:
    return [title, *(line for sentence in sentences for line in wrapped(trade(sentence, units)))] if sentences else []


def _main(case: Case, answer: ReadingsAnswer, units: str) -> list[str]:
    say, air, share = shower(units), answer.trapped_air_m3, answer.share
    if not isfinite(air.middle):
        return []
    left, more = left_words(answer, units)
    rows = [
        ("Trapped air", say(air.middle, "volume"), f"{say(air.low, 'volume')} to {say(air.high, 'volume')}"),
        ("of the volume", say(share.middle, "share"), f"{say(share.low, 'share')} to {say(share.high, 'share')}"),
        ("Still to pump", left, more),
    ]
    wide = max(len(value) for _, value, _ in rows)
    return [trade(f"{name:<14} {value:<{wide}}  {more}", units) for name, value, more in rows]


def left_words(answer: ReadingsAnswer, units: str) -> tuple[str, str]:
    """What is left to pump: the time, and the strokes and the water that go with it."""
    say, stand = shower(units), answer.reached
    if stand.stop:
        return "nothing", "above the pressure limit" if stand.above_limit else "test pressure is reached"
    left = say(answer.time_left_s, "duration") if isfinite(answer.time_left_s) else "never"
    count = _count(answer.strokes_left)
    strokes = f"{count} stroke{'' if count == '1' else 's'}, " if isfinite(answer.strokes_left) else ""
    return left, f"{strokes}{say(answer.water_left_m3, 'volume')}"


def _count(strokes: float) -> str:
    """Strokes as they are made: the next whole one."""
    return show(ceil(strokes - 1e-6) if isfinite(strokes) else strokes, "strokes")


def missed_words(missed: CountMissed, units: str) -> str:
    """What the count missed, in a sentence with its uncertainty, and the other thing that it may mean."""
    say = shower(units)
    if isfinite(missed.middle_strokes):
        low, middle, high = (show(round(float(each)), "count") for each in (
            missed.low_strokes, missed.middle_strokes, missed.high_strokes))
        amount, ends = f"{middle} stroke{'' if middle == '1' else 's'}", f"{low} to {high}"
    else:
        amount, ends = say(missed.middle_m3, "volume"), f"{say(missed.low_m3, 'volume')} to " \
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


def _fit(case: Case, answer: ReadingsAnswer, units: str) -> list[str]:
    """What is said of the fit, the air and the count."""
    missed = answer.count_missed
    said = [answer.why, *_air(answer, units), wait_words(answer), missed_words(missed, units) if missed else ""]
    return [sentence for sentence in said if sentence]


def _air(answer: ReadingsAnswer, units: str) -> list[str]:
    say = shower(units)
    if not isfinite(answer.trapped_air_m3.middle):
        return []
    limit = say(PIPELINE_LIMIT, "share")
    where = "a pipeline rule not checked against its standard; check your own copy"
    told = {True: f"That is more than {limit} of the volume ({where}).",
            False: f"That is less than {limit} of the volume ({where}).",
            None: f"It may be more or less than {limit} of the volume ({where})."}[answer.above_pipeline_limit]
    return ["The true figure lies between the two ends in 95 of 100 cases.", told]


def next_sentences(answer: ReadingsAnswer, units: str) -> list[str]:
    """What to do next, in sentences with units, metric or us: at test pressure that pumping stops, and no more."""
    say, said, stand = shower(units), [], answer.reached
    if stand.above_limit:
        said.append("Stop pumping, stand clear, and let the pressure down to zero.")
    elif stand.at_test:
        said.append("Test pressure is reached: stop pumping.")
    if stand.fallen and not stand.above_limit:
        said.append(f"The gauge has fallen to {say(stand.latest_gauge_pa, 'pressure')} since. "
                    "Top up only as the procedure says.")
    if stand.stop:
        return [*said, "Never open the vent at pressure. Let down first."]
    if stand.near_test:
        said.append("Less than one gauge division is left: pump single strokes and watch the gauge.")
    if not isfinite(answer.trapped_air_m3.middle):
        if isfinite(answer.stop_after_strokes) and answer.stop_after_strokes >= 1:
            said.append(f"No tenth of test pressure after {_count(answer.stop_after_strokes)} strokes? Stop and vent.")
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
        saves = f"saves at most {say(again.saves_s, 'duration')}" if again.saves_s > 0.0 else "saves nothing"
        said.append(f"Venting again costs {say(again.costs_s, 'duration')} and {saves} of pumping: "
                    + ("let down, prove zero, and vent." if again.pays else "for the time alone, pump on."))
    return [*said, "Never open the vent at pressure. Let down first."]


def hold_sentences(verdict: HoldVerdict, units: str) -> list[str]:
    """What was seen of a hold, in sentences with units, metric or us."""
    say, leak = shower(units), verdict.leak
    said = [f"The pressure {moved(verdict, units)}."]
    if verdict.temperature_read:
        said.append(f"Temperature explains {signed(verdict.by_temperature_pa, units)} of it.")
    else:
        said.append("The temperature was not read at both ends, so its effect is unknown.")
    said.append(f"What is left is {signed(verdict.rest_pa, units)}, "
                f"give or take {say(verdict.rest_uncertain_pa, 'pressure_change')}.")
    if verdict.tells:
        said.append(f"As a leak that is {say(leak.middle_m3_s, 'flow')} ({say(leak.low_m3_s, 'flow')} to "
                    f"{say(leak.high_m3_s, 'flow')}).")
    else:
        said.append(f"No leak shows in that; one of up to {say(leak.high_m3_s, 'flow')} would not show either.")
    return [*said, "This does not say that the piece passed. The procedure decides."]


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


def _given(case: Case, units: str) -> list[str]:
    say, given = shower(units), case.reading
    if not given:
        return []
    rows: list[tuple[str, ...]] = [("gauge", "strokes", "water", "time", "temperature")]
    rows += [(say(one.pressure, "pressure"),
              "" if one.strokes is None else say(one.strokes, "strokes"),
              "" if one.water is None else say(one.water, "volume"),
              "" if one.time is None else say(one.time, "duration"),
              "" if one.temperature is None else say(one.temperature, "temperature")) for one in given]
    keep = [place for place in range(5) if any(row[place] for row in rows[1:])]
    return ["As read", *table([[row[place] for place in keep] for row in rows]), *_left_out(given, case, units)]


def _left_out(given: Sequence[Reading], case: Case, units: str) -> list[str]:
    """What is said where a reading has no part in the fit."""
    given = counted(given)
    left = len(given) - len(telling(given, division_of(case)))
    if not left:
        return []
    whose = "that reading has" if left == 1 else "those readings have"
    return wrapped(f"Below one division ({show(division_of(case), 'pressure', units)}) the needle tells nothing yet; "
                   f"{whose} no part in the fit. Strokes are counted from the first of the others.")
