"""From the tap to the vessel: losses part by part, and the flow by a bracketing root finder."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, inf, log

from fluids.fittings import contraction_sharp, diffuser_sharp
from fluids.friction import (
    Clamond,
    helical_laminar_fd_Schmidt,
    helical_Re_crit,
    helical_turbulent_fd_Schmidt,
)
from scipy.optimize import brentq

from fillcalc.case import records
from tests.twin.inputs import Numbers, value
from tests.twin.properties import GRAVITY, circle, water_density, water_viscosity

LAMINAR, TURBULENT = 2040.0, 4000.0
SCHMIDT, SCHMIDT_BLEND = 2.2e4, 2e3
"""Reynolds number at which the two turbulent coil formulas meet with a step, and the half width of what hides it."""
PIPE_ROUGHNESS = 0.045e-3
HOSE_ROUGHNESS = 0.0015e-3
PARTS = ("tap", "hose", "couplings", "valve", "exit")


def friction(reynolds: float, relative_roughness: float) -> float:
    """Darcy's factor: laminar, log-log straight, then Colebrook."""
    if reynolds <= LAMINAR:
        return 64.0 / reynolds
    if reynolds >= TURBULENT:
        return float(Clamond(reynolds, relative_roughness))
    return _straight(reynolds, (LAMINAR, 64.0 / LAMINAR), (TURBULENT, float(Clamond(TURBULENT, relative_roughness))))


def coil_friction(reynolds: float, bore: float, coil: float, roughness: float) -> float:
    """The same for a hose on its reel, from the coil's own laminar limit."""
    first = helical_Re_crit(bore, coil)
    last = first * TURBULENT / LAMINAR
    if reynolds <= first:
        return float(helical_laminar_fd_Schmidt(reynolds, bore, coil))
    if reynolds >= last:
        return _coil_turbulent(reynolds, bore, coil, roughness)
    return _straight(reynolds, (first, float(helical_laminar_fd_Schmidt(first, bore, coil))),
                     (last, _coil_turbulent(last, bore, coil, roughness)))


def _coil_turbulent(reynolds: float, bore: float, coil: float, roughness: float) -> float:
    """Schmidt's two formulas, which do not meet at their border; a straight line in Reynolds number between them near
    it, each carried on with its own power."""
    low, high = SCHMIDT - SCHMIDT_BLEND, SCHMIDT + SCHMIDT_BLEND
    if not low < reynolds < high:
        return float(helical_turbulent_fd_Schmidt(reynolds, bore, coil, roughness))
    straight = float(Clamond(reynolds, roughness / bore))

    def gain(at: float, power: float) -> float:
        there = float(helical_turbulent_fd_Schmidt(at, bore, coil, roughness)) / float(Clamond(at, roughness / bore))
        return (there - 1) * (reynolds / at) ** power

    share = (reynolds - low) / (high - low)
    return straight * (1 + (1 - share) * gain(low * (1 - 1e-9), -1.0) + share * gain(high * (1 + 1e-9), 0.25))


def _straight(x: float, start: tuple[float, float], end: tuple[float, float]) -> float:
    share = log(x / start[0]) / log(end[0] / start[0])
    return exp((1 - share) * log(start[1]) + share * log(end[1]))


@dataclass(frozen=True)
class Fitting:
    hole: float
    factor: float


@dataclass(frozen=True)
class HoseLosses:
    length: float
    bore: float
    roughness: float
    coil: float | None
    couplings_k: float
    extra_k: float
    exit_k: float


def hose_losses(hose: records.Hose, last: bool) -> HoseLosses:
    """K of the fittings in the order tail, couplings, tail, all on the hose's bore."""
    bore = float(hose.bore)
    tail = [] if hose.tail_bore is None else [Fitting(float(hose.tail_bore), 1.0)]
    hole = value(hose.coupling_hole, 0.7 * bore)
    couplings = [Fitting(hole, value(hose.coupling_factor, 1.4))] * int(2 if hose.couplings is None else hose.couplings)
    fittings = [*tail, *couplings, *tail]
    total, exit_k = 0.0, 1.0 if last else 0.0
    for place, fitting in enumerate(fittings):
        if fitting.hole >= bore:
            continue
        basis = (bore / fitting.hole) ** 4
        contraction = contraction_sharp(Di1=bore, Di2=fitting.hole) * basis * fitting.factor
        expansion = diffuser_sharp(Di1=fitting.hole, Di2=bore) * basis * fitting.factor
        total += contraction
        if last and place == len(fittings) - 1:
            exit_k = basis
        else:
            total += expansion
    coil = None if hose.reel is None else float(hose.reel)
    return HoseLosses(float(hose.length), bore, value(hose.roughness, HOSE_ROUGHNESS), coil, total,
                      value(hose.extra_k, 0.0), exit_k)


class Line:
    """Tap, hoses, valves, and a pipe run's own wetted length."""

    def __init__(self, case: records.Case, given: Numbers) -> None:
        self.density = water_density(given.atmosphere_abs, given.water_temperature)
        self.viscosity = water_viscosity(given.atmosphere_abs, given.water_temperature)
        self.source_height = value(case.tap.height, 0.0)
        hoses = case.fill.hose
        self.hoses = [hose_losses(hose, last=place == len(hoses) - 1) for place, hose in enumerate(hoses)]
        self.kvs = given.kvs
        self.pipe = None
        if isinstance(case.vessel, records.PipeRun):
            self.pipe = (float(case.vessel.length), given.bore)
        self.fallen = 0.0
        """How far a container's level has fallen."""
        self.multiplier = 1.0
        self._last = 1e-3
        self._tap(case.tap)
        self.most = inf
        if self.source_height > 0 and not isinstance(case.tap, records.HeaderTank) and case.fill.measured_flow is None:
            self.most = self._open_flow(case.tap)
        if isinstance(case.tap, records.HeaderTank | records.Bucket):
            # its own water is what drives it
            self.static += self.density * GRAVITY * self.source_height
            self.source_height = 0.0
        measured = case.fill.measured_flow
        if measured is not None:
            available = self.static + self.density * GRAVITY * self.source_height
            self.multiplier = available / sum(self.parts(float(measured), 0.0).values())

    def _tap(self, tap: records.WaterSource) -> None:
        self.points: list[tuple[float, float]] = []
        self.tap_k = 0.0
        if tap.points:
            self.points = sorted(((float(p), float(q)) for p, q in tap.points), key=lambda point: point[1])
            self.static = self.tap_pressure(0.0)
            return
        self.static = value(tap.pressure, 3e5)
        if tap.open_flow != "unlimited":
            own = self.density * GRAVITY * max(self.source_height, 0.0) if isinstance(
                tap, records.HeaderTank | records.Bucket) else 0.0
            self.tap_k = (self.static + own) / value(tap.open_flow, 30e-3 / 60) ** 2

    def _open_flow(self, tap: records.WaterSource) -> float:
        """Flow at which nothing of the source's pressure is left."""
        if tap.open_flow == "unlimited":
            return inf
        high = 1e-6
        while self.tap_pressure(high) > 0:
            high *= 2
        return float(brentq(self.tap_pressure, 0.0, high, xtol=1e-18, rtol=1e-13))

    def tap_pressure(self, flow: float) -> float:
        """Gauge pressure that the source still has at a flow."""
        if not self.points:
            return self.static - self.tap_k * flow**2
        points = self.points
        place = 0
        while place < len(points) - 2 and flow > points[place + 1][1]:
            place += 1
        (p1, q1), (p2, q2) = points[place], points[place + 1]
        return p1 + (p2 - p1) * (flow**2 - q1**2) / (q2**2 - q1**2)

    def parts(self, flow: float, wetted: float) -> dict[str, float]:
        """Pa lost in each part; `wetted` is the share of a pipe run that is full."""
        lost = dict.fromkeys(PARTS, 0.0)
        lost["tap"] = self.static - self.tap_pressure(flow)
        for hose in self.hoses:
            speed_head = self.density / 2 * (flow / circle(hose.bore)) ** 2
            lost["hose"] += self._friction(flow, hose) * hose.length / hose.bore * speed_head
            lost["couplings"] += hose.couplings_k * speed_head
            lost["valve"] += hose.extra_k * speed_head
            lost["exit"] += hose.exit_k * speed_head
        for kv in self.kvs:
            lost["valve"] += 1e5 * (flow * 3600 / kv) ** 2 * self.density / 1000
        lost = {part: lost[part] * self.multiplier for part in lost}
        if self.pipe is not None and wetted > 0 and flow > 0:
            length, bore = self.pipe
            speed = flow / circle(bore)
            f = friction(self._reynolds(speed, bore), PIPE_ROUGHNESS / bore)
            lost["hose"] += f * length * wetted / bore * self.density / 2 * speed**2
        return lost

    def _reynolds(self, speed: float, bore: float) -> float:
        return self.density * speed * bore / self.viscosity

    def _friction(self, flow: float, hose: HoseLosses) -> float:
        if flow <= 0:
            return 0.0
        reynolds = self._reynolds(flow / circle(hose.bore), hose.bore)
        if hose.coil is not None:
            return coil_friction(reynolds, hose.bore, hose.coil, hose.roughness)
        return friction(reynolds, hose.roughness / hose.bore)

    def head(self, level: float) -> float:
        """Pa that the surface stands above the source."""
        return self.density * GRAVITY * (level - self.source_height + self.fallen)

    def flow(self, level: float, air_gauge: float, wetted: float = 0.0) -> float:
        """m3/s; zero where the source cannot lift the water that high, never more than it lets out in the open."""
        driving = self.static - self.head(level) - air_gauge
        if driving <= 0:
            return 0.0

        def short(q: float) -> float:
            return sum(self.parts(q, wetted).values()) - driving

        high = self._last * 1.5
        while short(high) < 0:
            high *= 2
        found = float(brentq(short, 0.0, high, xtol=1e-18, rtol=1e-13))
        self._last = found
        return min(found, self.most)
