"""The figures of a picture: what stands at each part, the fullest form first, in the units of the reader."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import isfinite
from typing import TypeGuard

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case.records import AirDrivenPump, Case, ElectricPump, HandPump, HeaderTank, Hose, PipeRun
from fillcalc.estimation.answers import Estimate
from fillcalc.present.picture.records import GasMoment, Moment
from fillcalc.present.sentences import Say, shower, trade
from fillcalc.units.spans import column

LONG_NAME = 8
"""Letters of a name beside which a figure has no room."""
ENOUGH = 0.9999
"""Share of the water of a fill from which it is at its end."""


@dataclass(frozen=True, eq=False)
class Figures:
    """The figures of one case at one moment; None is the set-up before the work."""

    case: Case
    estimate: Estimate
    moment: Moment | None
    units: str
    gas: GasMoment | None = None
    """The moment of a test with gas."""

    @property
    def gauge_pa(self) -> float | None:
        """What the gauge shows; None before the work."""
        return self.gas.gauge_pa if self.gas is not None else None if self.moment is None else self.moment.gauge_pa

    @cached_property
    def say(self) -> Say:
        """A number and its family as text."""
        return shower(self.units)

    def assumed(self, *paths: str) -> bool:
        """Whether all of these inputs were assumed."""
        nobody = {item.path for item in self.case.assumptions}
        return bool(paths) and all(path in nobody for path in paths)

    @property
    def filling(self) -> bool:
        """Whether the moment is one of the fill."""
        return self.moment is not None and self.moment.stage == "fill"

    @property
    def pumping(self) -> bool:
        """Whether the moment is one of the pump-up."""
        return self.moment is not None and self.moment.stage == "pump-up"

    @property
    def full(self) -> bool:
        """Whether the fill has come to its end, with the air that stays."""
        fill, moment = self.estimate.fill, self.moment
        return self.pumping or (moment is not None and self.filling and bool(fill.finished)
                                and moment.water_m3 > ENOUGH * self.fill_m3)

    @cached_property
    def fill_m3(self) -> float:
        """Water at the end of the fill whose history is shown, m3."""
        return _end_of(self.estimate.fill.history.water_m3, self.estimate.fill.water_m3)

    def source(self) -> tuple[tuple[str, ...], ...]:
        """What the water comes from, and what drives it; two figures where the name is long."""
        tap, say = self.case.tap, self.say
        name = trade(tap.kind, self.units)
        if isinstance(tap, HeaderTank):
            return (name,), (f"{say(abs(float(tap.height)), 'length')} {'above' if tap.height >= 0.0 else 'below'}",)
        text = say(tap.points[0][0] if tap.points else tap.pressure, "pressure")
        return ((name,), (text,)) if len(name) > LONG_NAME else ((f"{name} {text}", text),)

    def open_flow(self) -> tuple[str, ...]:
        """The flow of the open source, where one was said."""
        flow = self.case.tap.open_flow
        if self.case.tap.points or isinstance(flow, str | None) or self.case.fill.measured_flow is not None:
            return ()
        return (f"{self.say(flow, 'flow')} open",)

    def hose(self, hose: Hose, number: str) -> tuple[str, ...]:
        """One fill hose: length and bore."""
        size = f"{self.say(hose.length, 'length')} × {self.say(hose.bore, 'bore')}"
        return f"hose{number} {size}", size, f"hose{number}"

    def hose_off(self) -> tuple[str, ...]:
        """What is to be done with the fill hose before pumping."""
        return "disconnect the fill hose", "fill hose off", "hose off"

    def closure(self) -> tuple[str, ...]:
        """How the openings are closed."""
        return (self.case.labour.closure,)

    def vessel(self) -> tuple[str, ...]:
        """What the vessel holds, and how many there are."""
        volume = self.say(self.estimate.volume_m3, "volume")
        return (volume,) if pieces(self.case) == 1 else (f"{pieces(self.case)} pieces, {volume}", volume)

    def dimensions(self) -> tuple[str, ...]:
        """The main dimensions of the vessel, so that a wrong one is noticed; nothing where it is given by its volume
        alone."""
        vessel = self.case.vessel
        found = [self.say(getattr(vessel, name), _family(name)) for name in vessel.dimensions
                 if getattr(vessel, name, None) is not None]
        return (f"{found[0]} across" if len(found) == 1 else " × ".join(found),) if found else ()

    def rise(self) -> tuple[str, ...]:
        """How far a run rises."""
        vessel = self.case.vessel
        if not isinstance(vessel, PipeRun) or not vessel.rise:
            return ()
        return (f"rises {self.say(vessel.rise, 'length')}",)

    def vent(self) -> tuple[str, ...]:
        """The vent: its bore, or that it is shut."""
        vent = self.case.vent
        if self.pumping:
            return "vent shut", "shut"
        bore, low = self.say(vent.bore, "bore"), vent.below_highest_point
        if vent.shut:
            return "vent shut while filling", "vent shut", "shut"
        if low:
            below = self.say(low, "bore")
            return f"vent {bore}, {below} below the top", f"vent {below} low", "low vent"
        return f"vent {bore}", "vent"

    def level(self) -> tuple[str, ...]:
        """How far it is full."""
        moment, say = self.moment, self.say
        if moment is None or not self.filling:
            return ()
        share = say(round(moment.filled, 3), "share")
        height = float(self.estimate.height_m)
        if not (height > 0.0 and isfinite(moment.level_m)):
            return f"{share} full", share
        level = say(moment.level_m, "length")
        if self.full:
            return f"full, level {level}", "full"
        return f"level {level} of {say(height, 'length')}", f"level {level}"

    def air(self) -> tuple[str, ...]:
        """The air above the water: its pressure while filling, what is left of it while pumping."""
        moment, say = self.moment, self.say
        if moment is None:
            share = say(self.estimate.trapped_share, "share")
            return f"{share} trapped air", f"{share} air"
        if self.filling:
            text = say(max(moment.air_gauge_pa, 0.0), "pressure") if isfinite(moment.air_gauge_pa) else ""
            return (f"air at {text}", f"air {text}") if text else ()
        now = say(moment.air_m3, "volume")
        return f"air {now}, was {say(self._free_air, 'volume')}", f"air {now}"

    @property
    def _free_air(self) -> float:
        """Trapped air before it is squeezed, m3."""
        return float(np.ravel(np.asarray(self.estimate.pressurise.history.air_m3, dtype=float))[0])

    def flow(self) -> tuple[str, ...]:
        """What flows in at the moment."""
        moment = self.moment
        if moment is None or not isfinite(moment.flow_m3_s) or not moment.flow_m3_s > 0.0:
            return ()
        return (self.say(moment.flow_m3_s, "flow"),)

    def pump(self) -> tuple[str, ...]:
        """The pump, by its ratio where it has one."""
        pump, say = self.case.pump, self.say
        if isinstance(pump, AirDrivenPump):
            return f"pump {say(pump.ratio, 'number')}:1", f"{say(pump.ratio, 'number')}:1"
        if isinstance(pump, HandPump):
            stroke = say(pump.stroke, "stroke")
            return f"hand pump, {stroke} a stroke", f"hand pump {stroke}", "hand pump"
        assert isinstance(pump, ElectricPump)
        return f"electric pump {say(pump.flow, 'flow')}", f"pump {say(pump.flow, 'flow')}", say(pump.flow, "flow")

    def drive(self) -> tuple[str, ...]:
        """What drives the pump, or where it relieves."""
        pump, say = self.case.pump, self.say
        if isinstance(pump, ElectricPump):
            text = say(pump.relief, "pressure")
            return f"relieves at {text}", f"to {text}"
        if not isinstance(pump, AirDrivenPump):
            return ()
        if pump.regulator_pressure is not None:
            text = say(pump.regulator_pressure, "pressure")
            return f"regulator {text}", f"reg. {text}"
        return (f"air {say(pump.drive_pressure, 'pressure')}",)

    def gauge(self) -> tuple[str, ...]:
        """What the gauge shows; before the work, what it is to show."""
        shown = self.gauge_pa
        if shown is None:
            text = self.say(self.estimate.pressurise.test_gauge_pa, "pressure")
            return f"test at {text}", f"test {text}", text
        return (self.say(shown, "pressure"),) if isfinite(shown) else ()

    def gauge_height(self) -> tuple[str, ...]:
        """How far the gauge stands above or below the bottom of the vessel, where it does."""
        height = self.case.gauge.height
        if not is_known(height) or not height:
            return ()
        return (f"gauge {self.say(abs(float(height)), 'length')} {'up' if height > 0.0 else 'down'}",)

    def test_hose(self) -> tuple[str, ...]:
        """The hose between pump and vessel."""
        hose = self.case.test_hose
        if hose is None:
            return ()
        size = f"{self.say(hose.length, 'length')} × {self.say(hose.bore, 'bore')}"
        return f"test hose {size}", size, "test hose"

    def relief(self) -> tuple[str, ...]:
        """Where the relief valve opens."""
        valve = self.case.relief_valve
        if valve is None:
            return ()
        text = self.say(valve.set, "pressure")
        return f"relief valve {text}", f"relief {text}", "relief"

    def drain(self) -> tuple[str, ...]:
        """The bore of the drain."""
        text = self.say(self.case.drain.bore, "bore")
        return f"drain {text}", "drain"

    def caption(self) -> tuple[str, ...]:
        """What is to be said of the moment."""
        moment, say = self.moment, self.say
        if moment is None:
            return ()
        if self.filling:
            time = f"after {say(moment.time_s, 'duration')}" if isfinite(moment.time_s) else "stands still"
            finished = bool(self.estimate.fill.finished)
            whole = self.fill_m3 if finished else float(self.estimate.volume_m3)
            shown = column([[float(moment.water_m3), whole]], "volume", self.units, whole)
            return time, f"{' of '.join(shown.cells[0])} {shown.unit}{' filled' if finished else ', never full'}"
        pump = self.estimate.pressurise
        pumped, _ = _stretched(moment.water_m3, pump.history.water_m3, pump.water_m3)
        done, whole = _stretched(moment.strokes, pump.history.strokes, pump.strokes)
        after = (f"{say(done, 'strokes')} of {say(whole, 'strokes')} strokes" if isfinite(done)
                 else say(moment.time_s, "duration"))
        to_air, _ = _stretched(self._free_air - moment.air_m3, pump.history.water_m3, pump.water_m3)
        return (f"after {after}", f"{say(pumped, 'volume')} pumped",
                f"{say(max(to_air, 0.0), 'volume')} went to the air")


def _stretched(value: float, history: Array, likely: Array) -> tuple[float, float]:
    """A figure on the way and the whole of it, stretched so that the whole is the likely one, where there is one."""
    last = float(np.ravel(np.asarray(history, dtype=float))[-1])
    whole = float(likely) if isfinite(likely) else last
    return (value / last * whole if last > 0.0 else value), whole


def _end_of(history: Array, otherwise: Array) -> float:
    """The last of a history, or another figure where it has none."""
    last = float(np.ravel(np.asarray(history, dtype=float))[-1])
    return last if isfinite(last) else float(otherwise)


def pieces(case: Case) -> int:
    """Pieces that hang on the manifold at once."""
    at_once, count = (1 if leaf is None else int(leaf) for leaf in (case.vessel.at_once, case.vessel.count))
    return max(min(at_once, count), 1)


def _family(name: str) -> str:
    return "bore" if name == "diameter" else "length"


def is_known(value: Array | str | None) -> TypeGuard[Array]:
    """Whether a leaf holds a number."""
    return value is not None and not isinstance(value, str) and isfinite(float(value))
