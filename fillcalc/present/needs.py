"""What the customer must provide: for one case, or for several in one visit."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, floor, isfinite, log10, nan

from fillcalc.case.records import AirDrivenPump, Case, PipeRun, ValveBody
from fillcalc.cautions.advised import relief_setting
from fillcalc.cautions.rule import limit, no_setting
from fillcalc.estimation.answers import Estimate, Fill
from fillcalc.estimation.limits import relief_to_fit
from fillcalc.estimation.loads import water_of
from fillcalc.estimation.stages import at_once, batches
from fillcalc.present.sentences import Say, piece, shower, trade
from fillcalc.units import axis, show
from fillcalc.units.printable import shown

HEAVY = 100.0
"""kg of water below which nobody asks about the floor."""
A_BUCKET = 0.020
"""m3 of water that anyone may pour away."""
FOOT = 0.3048
LAST_SIP = 1e-9
"""Part of a container that is not worth another."""
LONGEST_TITLE = 80
"""Characters of a title that a sentence can bear."""
TO_BRING = "What to bring"
COMMON = " (common practice)"
"""Where a need has no other source; not for the customer to read."""


def needs(case: Case, estimate: Estimate, units: str = "metric") -> list[str]:
    """What the customer must provide for one case."""
    return needs_of_all([case], [estimate], units)


def needs_of_all(cases: Sequence[Case], estimates: Sequence[Estimate], units: str = "metric") -> list[str]:
    """What the customer must provide for all of the cases, each thing once: the strongest flow asked of each source,
    the drain for the water of all pieces, the floor for the heaviest load. Estimates are those of
    `fillcalc.questions.likely.likely`.
    """
    several = len(cases) > 1
    wanted = []
    water = [place for place, one in enumerate(estimates) if one.gas is None]
    if water:
        wanted = _of_water([cases[place] for place in water], [estimates[place] for place in water], units,
                          among_gas=len(water) < len(cases))
    if len(water) < len(cases):
        from fillcalc.present.gas_needs import gas_needs

        wanted += [need for place, (case, one) in enumerate(zip(cases, estimates, strict=True), 1)
                   if one.gas is not None
                   for need in gas_needs(case, one, units, *([named(case, place)] if several else []))]
    return list(dict.fromkeys(wanted))


def named(case: Case, place: int) -> str:
    """What a customer calls one of several cases: its title, or its number."""
    return shown(case.title, LONGEST_TITLE) or f"case {place}"


def _of_water(cases: Sequence[Case], estimates: Sequence[Estimate], units: str, among_gas: bool) -> list[str]:
    say, fills = shower(units), [one.fill for one in estimates]
    water = sum(_water(case, one) for case, one in zip(cases, estimates, strict=True))
    wanted = _sources(cases, fills, units)
    allowed = "" if water < A_BUCKET else ", and permission to use it"
    wanted.append(f"A drain for {say(enough(water, 'volume', units), 'volume')} of water{allowed}.")
    wanted += _carries(cases, estimates, units)
    wanted += _access(cases)
    air = [asked(case, "pump.drive_pressure", float(case.pump.drive_pressure), "pressure", units) for case in cases
           if isinstance(case.pump, AirDrivenPump) and case.air_supply is None]
    if air:
        wanted.append(f"Compressed air of {say(max(air), 'pressure')} at the pump.")
    warm, clear = ("45 °F", "50 ft") if units == "us" else ("7 °C", "15 m")
    wanted.append(f"Metal and water above {warm}{COMMON}.")
    near = f"{clear} of a test with water" if among_gas else clear
    wanted.append(f"Nobody but the test crew within {near} while under pressure{COMMON}.")
    return [trade(sentence, units) for sentence in wanted]


def _carries(cases: Sequence[Case], estimates: Sequence[Estimate], units: str) -> list[str]:
    """What carries the water: a floor, and the supports along pipe runs, told by their weight a metre; nothing where
    the water is light."""
    each = list(zip(cases, estimates, strict=True))
    runs = [(case, float(one.fill.water_kg), float(case.vessel.length)) for case, one in each
            if isinstance(case.vessel, PipeRun)]
    others = [float(one.fill.water_kg) for case, one in each if not isinstance(case.vessel, PipeRun)]
    wanted = []
    if (heaviest := max((weight for _, weight, _ in runs), default=nan)) > HEAVY:
        a_metre = max(weight / length / at_once(case) for case, weight, length in runs)
        light = _heavy(a_metre * (FOOT if units == "us" else 1.0), units)
        wanted.append(f"Pipe supports that carry {light} of water a metre, {_heavy(heaviest, units)} of water in all, "
                      "plus the metal.")
    if (heaviest := max(others, default=nan)) > HEAVY:
        wanted.append(f"A floor and supports that carry {_heavy(heaviest, units)} of water plus the metal.")
    return wanted


def _heavy(weight: float, units: str) -> str:
    return show(enough(weight, "mass", units), "mass", units)


def _access(cases: Sequence[Case]) -> list[str]:
    """The vents that must be reached; none of a valve, which the crew tips and vents itself, and none that is shut."""
    open_ones = [case for case in cases if not (isinstance(case.vessel, ValveBody) or case.vent.shut)]
    if not open_ones:
        return []
    crests = any(isinstance(case.vessel, PipeRun) and case.vessel.crest for case in open_ones)
    at = " at the highest point" if all(not case.vent.below_highest_point for case in open_ones) else ""
    if len(open_ones) > 1:
        return [f"Access to the vent{at} of each {piece(open_ones)}"
                + (", and to those at all high points of the pipe run." if crests else ".")]
    return ["Access to the vents at all high points." if crests else f"Access to the vent{at}."]


def to_bring(cases: Sequence[Case], estimates: Sequence[Estimate], units: str = "metric") -> list[str]:
    """What the technician brings: the supply and what guards it to the cases with gas, to those with water a relief
    valve where no setting of the pump is safe. Each thing once; a relief valve is the crew's (common practice)."""
    from fillcalc.present.gas_needs import gas_to_bring

    say = shower(units)
    return list(dict.fromkeys(sentence for case, one in zip(cases, estimates, strict=True)
                              for sentence in (gas_to_bring(case, one, units) if one.gas is not None else
                                               _relief(case, one, say))))


def _relief(case: Case, estimate: Estimate, say: Say) -> list[str]:
    """What keeps the vessel under its limit where no regulator setting of the pump does."""
    if not no_setting(case, estimate):
        return []
    most = limit(case, estimate)
    if relief_to_fit(case, most) is None:
        return [f"A pump that cannot pass {say(most, 'pressure')}: no regulator setting and no relief valve is safe."]
    return [f"A tested relief valve {relief_setting(case, estimate, say)}, or another pump, because no regulator "
            "setting of this one is safe."]


def asked(case: Case, path: str, value: float, family: str, units: str) -> float:
    """What is asked for: the value as it was given, or rounded up to two figures where it was assumed."""
    assumed = any(item.path == path for item in case.assumptions)
    return enough(value, family, units) if assumed else value


def _water(case: Case, estimate: Estimate) -> float:
    """Water for all pieces of a case, m3; that of the fill alone where the pump-up cannot be had."""
    water = float(water_of(case, estimate) if estimate.loads is None else estimate.loads.water_m3)
    return water if isfinite(water) else float(estimate.fill.water_m3)


def enough(value: float, family: str, units: str) -> float:
    """The value rounded up to two figures in the unit in which it is shown: so much at least is to be provided."""
    if not (isfinite(value) and value > 0.0):
        return value
    factor = axis(family, units, value).factor
    step = 10.0 ** (floor(log10(value / factor)) - 1)
    return ceil(value / factor / step - 1e-9) * step * factor


def _sources(cases: Sequence[Case], fills: Sequence[Fill], units: str) -> list[str]:
    """One line for each kind of source: the most flow, and the shortest reach of a hose."""
    say, sentences = shower(units), []
    for kind in dict.fromkeys(case.tap.kind for case in cases):
        some = [(case, fill) for case, fill in zip(cases, fills, strict=True) if case.tap.kind == kind]
        seen = [_flow(case, fill, units) for case, fill in some]
        flow, where = max(seen, key=lambda one: one[0] if isfinite(one[0]) else 0.0)
        reaches = [(named(case, place), float(reach)) for place, case in enumerate(cases, 1)
                   if case.tap.kind == kind and case.fill.measured_flow is None
                   for reach in [sum(hose.length for hose in case.fill.hose)] if reach]
        gives = f" that gives {say(flow, 'flow')}{where}" if isfinite(flow) else ""
        within = f", within {_reach(reaches, cases, say)}" if reaches else ""
        sentences.append(f"A {kind}{gives}{within}.")
        sentences += _containers(kind, some, say)
    return sentences


def _reach(reaches: Sequence[tuple[str, float]], cases: Sequence[Case], say: Say) -> str:
    """How near a source must be: to the vessel, to each of them, or to those by name where others have another."""
    if len(reaches) == len(cases):
        each = "the" if len(cases) == 1 else "each"
        return f"{say(min(reach for _, reach in reaches), 'length')} of {each} {piece(cases)}"
    return " and ".join(f"{say(reach, 'length')} of {name}" for name, reach in reaches)


def _containers(kind: str, some: Sequence[tuple[Case, Fill]], say: Say) -> list[str]:
    """How many containers all fills and pump-ups of these cases empty; nothing where one is enough."""
    shares = [batches(case) * float(fill.given_m3) / float(case.tap.contents) for case, fill in some
              if case.tap.contents is not None]
    if not shares or not isfinite(sum(shares)) or sum(shares) <= 1.0 + LAST_SIP:
        return []
    count, case = ceil(sum(shares) - LAST_SIP), some[0][0]
    name = {"bucket": "buckets", "header tank": "fills of the header tank"}.get(kind, f"containers for the {kind}")
    pause = "" if case.fill.change_over is None else f", each ready within {say(case.fill.change_over, 'duration')}"
    return [f"{count} {name} of {say(case.tap.contents, 'volume')}{pause}."]


def _flow(case: Case, fill: Fill, units: str) -> tuple[float, str]:
    """The flow that this case rests on, m3/s, and where it was seen: at the vessel, at the open tap, or nowhere yet."""
    if case.fill.measured_flow is not None:
        return float(case.fill.measured_flow), f" at the {piece([case])}"
    if case.tap.open_flow is None or isinstance(case.tap.open_flow, str):
        return enough(float(fill.flow_start_m3_s), "flow", units), " through the hose"
    return asked(case, "tap.open_flow", float(case.tap.open_flow), "flow", units), ""
