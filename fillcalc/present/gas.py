"""What is told of a test with gas: the danger before any figure, the answers in short, blocks, needs and safety."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite
from typing import TYPE_CHECKING

from fillcalc.case.medium import is_gas
from fillcalc.case.records import AirLine, Case
from fillcalc.cautions.gas import NOT_WITH_GAS, gas_of, short_sentence
from fillcalc.estimation.answers import Estimate, answers, at_likely_values
from fillcalc.estimation.gas import before_marching
from fillcalc.model.gas.leak import BUBBLE
from fillcalc.present.lines import TIME_ON_SITE, Group, Line, on_site, shown_ends, shown_range
from fillcalc.present.sentences import TITLE, Say, safety, shower, trade
from fillcalc.units import to_figures
from fillcalc.units.printable import shown
from fillcalc.units.spans import show_range

if TYPE_CHECKING:
    from fillcalc.questions.readings.gas import GasHoldAnswer

BOTTLES, READ, LET_OFF = "Bottles", "Read gauge at", "Let off"
SUPPLY = {"air line": "Air line", "booster": "Booster", "bottles": BOTTLES}
"""What the first line is called, by the kind of supply."""
BLOCKS = {"bottles": "Gas and supply", "rise": "Raise and settle", "hold": "Hold", "off": "Let off",
          "energy": "Stored energy"}
"""Records of a test with gas that are told as a list of their answers, and the titles of those lists."""
ASKED = "is water really excluded?"
UNTIL = "from the first gas until it is let off or reduced to inspect"

SAFETY = (
    "Estimates for planning only.",
    "The written procedure, the local code and a competent person decide. Many codes ask for an approval of each test "
    "with gas.",
    "Nothing here says that a piece has passed.",
    "Use water where it can be used: gas stores hundreds to thousands of times the energy.",
    "Nobody near, from the first gas until it is let off; go near only at or below the pressure the procedure allows.",
    "Mark off the distance or put up the screen, post someone, raise and read from there.",
    "Raise slowly and by stops. First stop and soap the joints at half the pressure or less.",
    "Fit a relief valve that passes all the supply can give, set at or below the limit of the weakest part, unless the "
    "supply cannot reach that limit.",
    "Isolate the supply before the hold: a creeping regulator bursts what a leak test should prove.",
    "Know the lowest temperature of the metal. Brittle, cast, lined and plastic pieces are not for gas.",
    "Open valves slowly. No oil or grease on fittings. Tie hoses down.",
    "Never tighten, hammer or weld under pressure. Stand clear of plugs, clamps and hoses.",
    "Let off slowly, with ear protection, to zero, and prove it at an open vent before loosening anything.",
)
OF_BOTTLES = "Chain the bottles."
OF_NITROGEN = "Let nitrogen off outdoors: it displaces oxygen. Measure that before anyone enters or leans in."


def danger_lines(case: Case, estimate: Estimate, units: str) -> tuple[str, ...]:
    """What is said before any figure: that it should not be done with gas, if so; whether water is really excluded,
    and how far to stand."""
    say = shower(units)
    never = [rule.sentence(case, estimate, say) for rule in NOT_WITH_GAS if rule.when(case, estimate)]
    why = case.test.why_no_water
    asked = f"water is excluded: {shown(why, 60)}." if why and why.strip() else ASKED
    return (*(f"DANGER: {sentence}" for sentence in never),
            f"DANGER, gas: {asked} {nobody_near(estimate, units)[1]}")


def dangers_of(case: Case, units: str) -> tuple[str, ...]:
    """The same of a case that was not estimated; nothing of a test with water."""
    if not is_gas(case):
        return ()
    return danger_lines(at_likely_values(case), at_likely_values(before_marching(case)), units)


def behind_a_screen(estimate: Estimate) -> bool:
    """Return whether it is a piece at a bench with so little energy that a screen is enough."""
    return not isfinite(gas_of(estimate).energy.distance_m)


def nobody_near(estimate: Estimate, units: str) -> tuple[str, str]:
    """Return how far to stand, in short and as a sentence."""
    if behind_a_screen(estimate):
        return "keep behind a screen", f"Keep behind a screen, {UNTIL}."
    within = f"within {shower(units)(gas_of(estimate).energy.distance_m, 'distance')}"
    return f"nobody {within}", f"Nobody {within}, {UNTIL}."


def apart_sentences(estimate: Estimate, units: str) -> list[str]:
    """What makes it possible to change bottles, read and inspect though nobody is near."""
    if behind_a_screen(estimate):
        return []
    within = shower(units)(gas_of(estimate).energy.distance_m, "distance")
    supply = "Bottles, regulator" if gas_of(estimate).supply != "air line" else "Valve, regulator"
    return [f"{supply} and gauge stand outside the {within}: they are worked and read there.",
            "Before inspecting, reduce the pressure to what the procedure allows; many codes want the design pressure "
            "or less (not checked)."]


def visit_dangers(cases: Sequence[Case], estimates: Sequence[Estimate], units: str) -> list[str]:
    """The same for a visit with several cases, each with the number of its case; nothing without gas."""
    return [f"Case {number}: {line}" for number, (case, one) in enumerate(zip(cases, estimates, strict=True), 1)
            if one.gas is not None for line in danger_lines(case, one, units)]


def gas_lines(estimate: Estimate, units: str) -> tuple[Line, ...]:
    """The answers in short: whether the supply does it, when the gauge may be read, letting off, time on site."""
    lines = [_supply(estimate, units), _read(estimate, units), _let_off(estimate, units)]
    if estimate.visit is not None:
        lines.append(on_site(estimate, units))
    return tuple(lines)


def labels_of(estimate: Estimate) -> tuple[str, ...]:
    """What the answers in short are called."""
    return SUPPLY[gas_of(estimate).supply], READ, LET_OFF, TIME_ON_SITE


def _supply(estimate: Estimate, units: str) -> Line:
    say, bottles, supply = shower(units), gas_of(estimate).bottles, gas_of(estimate).supply
    label = SUPPLY[supply]
    if not estimate_reaches(estimate):
        return Line(label, "not enough", "", (short_sentence(estimate, say),))
    used = say(bottles.given_kg, "mass")
    if supply == "air line":
        return Line(label, "enough", "", (f"{used} of gas", f"{say(bottles.free_m3, 'air_volume')} as free gas"))
    ends = shown_range(estimate, "gas.bottles.needed", "count", units)
    spare = (f"{ends} needed",) if ends else ()
    done = "suffices" if say(bottles.needed, "count") == "1" else "suffice"
    if isfinite(bottles.all_needed):
        more = ": bring more" if bottles.all_needed > bottles.there else ""
        done, spare = "for a load", (*spare, f"all loads take up to {say(bottles.all_needed, 'count')}{more}")
    return Line(label, f"{say(bottles.needed, 'count')} of {say(bottles.there, 'count')} {done}", "",
                (*spare, f"{say(bottles.left_gauge_pa, 'pressure')} left in the last", f"{used} of gas"))


def estimate_reaches(estimate: Estimate) -> bool:
    """Return whether the bottles reach the reading at likely values."""
    return bool(gas_of(estimate).bottles.enough)


def _read(estimate: Estimate, units: str) -> Line:
    say, rise = shower(units), gas_of(estimate).rise
    if not isfinite(rise.read_s):
        return Line(READ, "never", "", ("the gas runs out before it may be read" if gas_of(estimate).bottles.followed
                                       else "too slow to be worked out",))
    return Line(READ, say(rise.read_s, "duration"),
                shown_range(estimate, "gas.rise.read_s", "duration", units),
                (f"settling {say(rise.settle_s, 'duration')}",
                 f"cooling takes {say(rise.fall_pa, 'pressure_change')}"),
                shown_ends(estimate, "gas.rise.read_s", "duration", units))


def _let_off(estimate: Estimate, units: str) -> Line:
    say, off = shower(units), gas_of(estimate).off
    if not isfinite(off.time_s):
        return Line(LET_OFF, "–", "", ("too slow to be worked out" if estimate_reaches(estimate)
                                       else "test pressure is not reached",))
    return Line(LET_OFF, say(off.time_s, "duration"), shown_range(estimate, "gas.off.time_s", "duration", units),
                (f"coldest metal {say(off.wall_k, 'temperature')}",
                 f"gas {say(off.coldest_k, 'temperature')}"),
                shown_ends(estimate, "gas.off.time_s", "duration", units))


def gas_groups(estimate: Estimate, units: str) -> tuple[Group, ...]:
    """What stands below the main answers on a large screen: each block of the report, an answer a line."""
    say, found = shower(units), []
    for name, title in BLOCKS.items():
        record = getattr(gas_of(estimate), name)
        lines = tuple(Line(title, say(value, said.family),
                           shown_range(estimate, f"gas.{name}.{leaf}", said.family, units), (said.label,))
                      for leaf, said in answers(type(record)).items()
                      if said.shown != "data" and isfinite(value := float(getattr(record, leaf))))
        found.append(Group(title, lines))
    return tuple(group for group in found if group.lines)


def stop_sentences(estimate: Estimate, units: str) -> list[str]:
    """Where the pressure stops on the way up, and for how long; nothing where it does not."""
    say, way = shower(units), gas_of(estimate).stops
    stops = [(float(at), float(pause)) for at, pause in zip(way.gauge_pa, way.pause_s, strict=True)][:-1]
    sentences = [f"{say(pause, 'duration')} at {say(at, 'pressure')}" for at, pause in stops]
    return [f"Stops: {', '.join(sentences)}; then test pressure."] if sentences else []


def energy_sentences(estimate: Estimate, units: str) -> list[str]:
    """What the stored energy means, beside water."""
    say, energy = shower(units), gas_of(estimate).energy
    return [trade(sentence, units) for sentence in (
        f"The gas stores {say(energy.isentropic_j, 'energy')}; formulas in use give "
        f"{say(energy.ideal_j, 'energy')} and {say(energy.constant_volume_j, 'energy')}.",
        f"Filled with water it would store {say(energy.water_j, 'energy')}: the gas stores some "
        f"{to_figures(energy.times_water):g} times that.",
        "A screen is taken to be enough for so little energy at a bench (judgement); your own rules may ask for more."
        if behind_a_screen(estimate) else
        f"Stand {say(energy.distance_m, 'distance')} away by ASME PCC-2 of 2008, "
        f"{say(energy.distance_later_m, 'distance')} by its later editions (not checked). Check your own copy.")]


def hold_sentences(found: GasHoldAnswer, units: str) -> list[str]:
    """What two readings of the hold tell of a leak. Never that it has passed."""
    say = shower(units)
    lines = [f"In {say(found.time_s, 'duration')} the gauge fell by {say(found.fall_pa, 'pressure_change')}."]
    if found.temperature_read and found.warmed_k == 0.0:
        lines.append("The temperature was the same at both ends.")
    elif found.temperature_read:
        lines.append(f"The temperature moved by {say(found.warmed_k, 'temperature_change')}, which alone is "
                     f"{say(found.by_warmth_pa, 'pressure_change')} of that.")
    else:
        lines.append("The temperature was not read at both ends, so its effect is unknown.")
    free = found.free_m3_s
    if free.low <= 0.0 <= free.high:
        return [*lines, f"The readings show no leak; one of up to {say(free.high, 'leak')} of free gas would not have "
                f"been seen: {say(found.throughput_pa_m3_s.high, 'throughput')}, or "
                f"{_bubbles(found.bubbles_s.high, say)}."]
    if free.high < 0.0:
        return [*lines, "The vessel seems to gain gas: close the supply, and read again when it is settled."]
    ends = show_range(free.low, free.high, "leak", units, free.likely)
    return [*lines, f"Leak {say(free.likely, 'leak')} of free gas{f', {ends}' if ends else ''}.",
            f"That is {say(found.flow_m3_s.likely, 'leak')} at the gauge's conditions, "
            f"{say(found.throughput_pa_m3_s.likely, 'throughput')}, or {_bubbles(found.bubbles_s.likely, say)}."]


def _bubbles(a_second: float, say: Say) -> str:
    """So many bubbles a minute, and how large they are."""
    return f"{60.0 * float(a_second):.0f} bubbles a minute, each of {say(BUBBLE, 'stroke')}"


def gas_safety(units: str = "metric", case: Case | None = None) -> tuple[str, ...]:
    """What every report, page and data of a test with gas carry; of bottles and nitrogen only where the case, if it is
    given, has them."""
    bottles = () if case is not None and isinstance(case.gas_supply, AirLine) else (OF_BOTTLES,)
    nitrogen = () if case is not None and case.test.medium != "nitrogen" else (OF_NITROGEN,)
    return (f"{TITLE}.", *(trade(sentence, units) for sentence in (*SAFETY, *bottles, *nitrogen)))


def visit_safety(cases: Sequence[Case], units: str = "metric") -> tuple[str, ...]:
    """What a visit carries: that of water and that of gas, as its cases have them, each sentence once."""
    sentences = [gas_safety(units, case) if is_gas(case) else safety(units) for case in cases]
    return tuple(dict.fromkeys(sentence for each in sentences for sentence in each))
