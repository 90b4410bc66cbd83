"""The figures of a picture of a test with gas: what stands at each part, the fullest form first."""

from __future__ import annotations

from fillcalc.case.records import AirLine, Booster, Bottles
from fillcalc.present.gas import nobody_near
from fillcalc.present.picture.figures import Figures
from fillcalc.present.picture.records import CANNOT, CHANGE, ENDS, LET_OFF, RAISE, READ, STOP, GasMoment
from fillcalc.present.sentences import valve


def clear(figures: Figures) -> str:
    """How far to stand, in short."""
    return nobody_near(figures.estimate, figures.units)[0]


def bottles(figures: Figures) -> tuple[str, ...]:
    """How many bottles, of what size and how full, before the work."""
    given, say = figures.case.gas_supply, figures.say
    assert isinstance(given, Bottles)
    count, size, full = say(given.bottles, "count"), say(given.volume, "volume"), say(given.pressure, "pressure")
    word = "bottle" if int(given.bottles) == 1 else "bottles"
    return f"{count} {word}, {size} at {full}", f"{count} of {size}, {full}", f"{count} × {full}", full


def in_bottle(figures: Figures, gauge_pa: float) -> tuple[str, ...]:
    """What a bottle holds at the moment."""
    return (figures.say(max(gauge_pa, 0.0), "pressure"),)


def used(figures: Figures, gauge_pa: float) -> tuple[str, ...]:
    """What is left in a used bottle."""
    left = figures.say(max(gauge_pa, 0.0), "pressure")
    return f"left {left}", left


def air_line(figures: Figures) -> tuple[str, ...]:
    """The air line, by its pressure."""
    given = figures.case.gas_supply
    assert isinstance(given, AirLine)
    text = figures.say(given.pressure, "pressure")
    return f"{given.kind} {text}", text


def booster(figures: Figures) -> tuple[str, ...]:
    """The booster, by its ratio and what drives it."""
    given, say = figures.case.gas_supply, figures.say
    assert isinstance(given, Booster)
    ratio = say(given.ratio, "number")
    return f"booster {ratio}:1, air {say(given.drive_pressure, 'pressure')}", f"booster {ratio}:1", f"{ratio}:1"


def regulator(figures: Figures) -> tuple[str, ...]:
    """What the regulator is set to."""
    text = figures.say(figures.case.gas_line.regulator_pressure, "pressure")
    return f"regulator {text}", f"reg. {text}", text


def hose(figures: Figures) -> tuple[str, ...]:
    """The gas hose, or what line and valves pass."""
    line, say = figures.case.gas_line, figures.say
    if line.hose_length is not None and line.hose_bore is not None:
        size = f"{say(line.hose_length, 'length')} × {say(line.hose_bore, 'bore')}"
        return f"hose {size}", size, "hose"
    passes = valve(line.kv, figures.units)
    return f"gas line, {passes}", passes, "gas line"


def flow(figures: Figures) -> tuple[str, ...]:
    """What flows at the moment, as free gas."""
    moment = figures.gas
    if moment is None or not moment.flow_m3_s > 0.0:
        return ()
    return (figures.say(moment.flow_m3_s, "air_flow"),)


def warmth(figures: Figures) -> tuple[str, ...]:
    """How warm the gas inside is."""
    moment = figures.gas
    if moment is None:
        return ()
    text = figures.say(moment.gas_k, "temperature")
    return f"gas {text}", text


def let_off(figures: Figures) -> tuple[str, ...]:
    """The way out: its size, and whether it is open."""
    given, say, moment = figures.case.gas_vent, figures.say, figures.gas
    size = say(given.bore, "bore") if given.bore is not None else valve(given.kv, figures.units)
    if moment is None:
        return f"let-off {size}", "let-off"
    return ("letting off", "open") if moment.stage == LET_OFF else ("let-off shut", "shut")


def test_pressure(figures: Figures) -> tuple[str, ...]:
    """The top of the steps."""
    text = figures.say(figures.estimate.pressurise.test_gauge_pa, "pressure")
    return f"test {text}", text


def stop(figures: Figures, gauge_pa: float, pause_s: float) -> tuple[str, ...]:
    """One of the steps: its pressure, and how long it stands there."""
    text = figures.say(gauge_pa, "pressure")
    return f"{text}, {figures.say(pause_s, 'duration')}", text


def caption(figures: Figures) -> tuple[str, ...]:
    """How far to stand; then what is done at the moment."""
    moment, say = figures.gas, figures.say
    if moment is None:
        return (clear(figures),)
    if moment.stage == CANNOT:
        return clear(figures), "test pressure is out of reach"
    if moment.stage == LET_OFF:
        return clear(figures), f"let off for {say(moment.time_s, 'duration')}", "the gas goes outdoors"
    return (clear(figures), f"after {say(moment.time_s, 'duration')}", _doing(figures, moment), *_supplied(figures))


def _doing(figures: Figures, moment: GasMoment) -> str:
    stop_at = figures.say(moment.stop_gauge_pa, "pressure")
    return {
        RAISE: f"rising to {stop_at}", STOP: f"stop at {stop_at}", READ: "settled, gauge may be read",
        CHANGE: "full bottles are connected", ENDS: "the bottles end here",
    }.get(moment.stage, "topped up while the gas cools")


def _supplied(figures: Figures) -> tuple[str, ...]:
    """Which bottle is open, and what it holds."""
    moment, given, say = figures.gas, figures.case.gas_supply, figures.say
    if moment is None or moment.stage == LET_OFF or not isinstance(given, Bottles):
        return ()
    return (f"{which(figures)} of {say(given.bottles, 'count')} at {say(moment.bottle_gauge_pa, 'pressure')}",)


def which(figures: Figures) -> str:
    """The bottles that are open, by their numbers."""
    once, moment = _at_once(figures), figures.gas
    first = 0 if moment is None else (moment.opened - 1) * once
    return f"bottle {first + 1}" if once == 1 else f"bottles {first + 1} to {first + once}"


def _at_once(figures: Figures) -> int:
    given = figures.case.gas_supply
    assert isinstance(given, Bottles)
    return min(int(given.at_once), int(given.bottles))
