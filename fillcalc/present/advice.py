"""What to find out before or at the job, and how much of the doubt in an answer it takes away."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import hypot, isfinite

from fillcalc.case.names import name_of
from fillcalc.case.records import AirDrivenPump, Case
from fillcalc.case.stages import STAGES
from fillcalc.estimation.answers import Estimate, Swing
from fillcalc.present.rests_on import guesses
from fillcalc.present.sentences import trade

LEAST = 0.25
"""Part of the doubt below which nothing is advised."""
LEAST_DOUBT = 0.02
"""Part of an answer that its doubt must be before anything is advised."""
LEAST_GAIN = 0.1
"""Part of the answer that the doubt taken away must be."""
LEAST_ON_SITE = 0.005
"""Part of the time on site that it must be too: nobody runs a test for the sake of a minute."""
PARTS = ((0.85, "nearly all"), (0.6, "most"), (0.4, "about half"), (LEAST, "a good part"))
"""How a part of the doubt that is taken away is called, from the largest down."""


@dataclass(frozen=True)
class Remedy:
    """Something to find out, and the inputs whose doubt it takes away.

    An input is meant by the start and the end of its path.
    """

    words: str
    inputs: tuple[tuple[str, str], ...]
    sensible: Callable[[Case], bool] = lambda case: True

    def takes(self, path: str) -> bool:
        """Whether it settles the input at a path."""
        return any(path.startswith(start) and path.endswith(end) for start, end in self.inputs)


@dataclass(frozen=True)
class _Answer:
    """One main answer: its words, and its two ends in a swing."""

    words: str
    of: Callable[[Estimate], float]
    ends: Callable[[Swing], tuple[float, float]]
    remedies: tuple[Remedy, ...]


BUCKET = Remedy("A bucket test at the vessel end of the hose", (("fill.", ""), ("tap.", "")),
                lambda case: case.fill.measured_flow is None)
WIDER_VENT = Remedy("A wider vent", (("vent.coefficient", ""), ("vent.bore", "")))
VENTED = Remedy("Venting every high point until only water comes", (("trapped_air.amount", ""),))
AIR_READ = Remedy("Reading strokes and pressure on the way up", (("trapped_air.amount", ""),),
                  lambda case: not case.reading)
AIR_TAKEN = Remedy("Using the trapped air that the readings give", (("trapped_air.amount", ""),),
                   lambda case: bool(case.reading))
CURVE = Remedy("A second point of the pump's curve", (("pump.mid_curve", ""),))
DEAD_HEAD = Remedy("A measured stall pressure of the pump", (("pump.friction", ""),))
PUMP_FLOW = Remedy("A stroke count over a minute against no pressure", (("pump.flow_at_zero", ""),),
                   lambda case: isinstance(case.pump, AirDrivenPump))
AGREED = Remedy("Permits and witness agreed before the visit", (("labour.visit.wait", ""),))
CLOSURES = Remedy("Knowing how many openings there are and how they close",
                  (("labour.each.connect", ""), ("labour.each.disconnect", "")),
                  lambda case: any(item.path == "labour.each.connect" for item in case.assumptions))
DRAIN = Remedy("Knowing the bore and the fall of the drain", (("drain.", ""),))

ANSWERS = (
    _Answer("the fill", lambda estimate: float(estimate.fill.time_s), lambda s: (s.fill_low_s, s.fill_high_s),
            (BUCKET, WIDER_VENT)),
    _Answer("the pump-up", lambda estimate: float(estimate.pressurise.time_s),
            lambda s: (s.pump_up_low_s, s.pump_up_high_s), (AIR_READ, AIR_TAKEN, CURVE, DEAD_HEAD, PUMP_FLOW)),
    _Answer("the time on site", lambda estimate: estimate.visit.at_likely_values_s if estimate.visit else float("nan"),
            lambda s: (s.low_s, s.high_s), (AGREED, CLOSURES, VENTED, BUCKET, WIDER_VENT, DRAIN)),
)


def taken_away(remedy: Remedy, doubts: dict[str, float]) -> float:
    """Part of the doubt in an answer that a remedy takes away.

    `doubts` holds by path how far each input alone moves the answer, s; they add as independent ones do.
    """
    whole = hypot(*doubts.values())
    left = hypot(*(doubt for path, doubt in doubts.items() if not remedy.takes(path)))
    return 1.0 - left / whole if whole > 0.0 else 0.0


def doubts_of(estimate: Estimate, ends: Callable[[Swing], tuple[float, float]]) -> dict[str, float]:
    """How far each input alone moves an answer, s, by its path; inputs with an endless end are left out."""
    found = {}
    for swing in estimate.matters:
        low, high = (float(end) for end in ends(swing))
        if isfinite(low) and isfinite(high):
            found[swing.path] = abs(high - low)
    return found


def _on_site(estimate: Estimate) -> float:
    """The likely time on site, s; 0 where it cannot be had."""
    likely = estimate.visit.likely_s if estimate.visit else 0.0
    return float(likely) if isfinite(likely) else 0.0


def _another_day(estimate: Estimate) -> list[str]:
    """The stage of which a long one costs a day more, where it moves the time on site by more than it can take."""
    if estimate.days is None or not estimate.days.high > estimate.days.low:
        return []
    longest = {stage.name: float(stage.high_s) for stage in estimate.stages}
    names = [STAGES[name].said for path, moves in doubts_of(estimate, ANSWERS[-1].ends).items()
             for name in [path.rpartition(".")[2].replace("_", " ")] if moves > longest.get(name, moves)]
    return [f"If {names[0]} takes long, the visit needs another day: its set-up and pack-up are in that figure."
            ] if names else []


def _to_enter(case: Case, estimate: Estimate, units: str) -> list[str]:
    """What can be looked up before the visit and is only assumed, where much of the time hangs on it."""
    return [trade(f"Enter the real {name_of(one.path, units, case).replace(',', '')} before you quote: it is assumed.",
                  units)
            for one in guesses(case, estimate.stages, _on_site(estimate), units) if one.path != "trapped_air.amount"]


def advice_sentences(case: Case, estimate: Estimate, units: str) -> list[str]:
    """For each main answer that is in doubt, what takes away most of it; nothing where nothing takes much."""
    sentences = [*_another_day(estimate), *_to_enter(case, estimate, units)]
    for answer in ANSWERS:
        doubts = doubts_of(estimate, answer.ends)
        if not hypot(*doubts.values()) > LEAST_DOUBT * float(answer.of(estimate)):
            continue
        parts = [(taken_away(remedy, doubts), remedy) for remedy in answer.remedies if remedy.sensible(case)]
        part, best = max(parts, key=lambda pair: pair[0])
        gain = part * hypot(*doubts.values())
        if not (gain > LEAST_GAIN * float(answer.of(estimate)) and gain > LEAST_ON_SITE * _on_site(estimate)):
            continue
        called = next((words for least, words in PARTS if part >= least), "")
        if called:
            sentences.append(trade(f"{best.words} would remove {called} of the uncertainty in {answer.words}.", units))
    return sentences
