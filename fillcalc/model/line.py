"""The line from the water source to the vessel: what each part costs, and the flow that follows."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fillcalc.arrays import Array

LAMINAR_END = 2040.0
"""Reynolds number to which a straight pipe is laminar (Avila et al., Science 333, 2011)."""
TURBULENT_START = 4000.0
COIL_STEP = 2.2e4
"""Reynolds number at which Schmidt's two coil formulas meet, with a step of about one per cent."""
COIL_STEP_HALF_WIDTH = 2e3
ITERATIONS, LAST_STEP = 9, 1e-7
"""Newton steps at most for a flow, and the step, as a part of it, after which another would gain nothing."""
BAR = 1e5
HOUR = 3600.0
LOG10 = float(np.log(10.0))


@dataclass(frozen=True, eq=False, repr=False)
class Run:
    """A length of hose or pipe: m; `coil` is the diameter of the reel it lies on, or None; `beside` is how many
    such pipes lie side by side and share the flow, None for one."""

    bore: Array
    length: Array
    roughness: Array
    coil: Array | None = None
    beside: Array | None = None


@dataclass(frozen=True, eq=False, repr=False)
class Source:
    """A water source, p = pressure - k[0] Q^2, and k[j] - k[j-1] more from flow[j] on.

    `pressure` Pa gauge at no flow; `k` Pa s2/m6 and `flow` m3/s, one entry for each piece of the
    curve, flow[0] being zero; `height` m above the bottom of the vessel.
    """

    pressure: Array
    k: tuple[Array, ...]
    flow: tuple[Array, ...]
    height: Array


@dataclass(frozen=True, eq=False, repr=False)
class Line:
    """Source, hoses and fittings. The k of fittings are in Pa s2/m6; `scale` multiplies all losses
    of source and line (a measured flow makes it other than one).
    Derived: losses add up along the line.
    """

    source: Source
    hoses: tuple[Run, ...]
    couplings_k: Array
    valve_k: Array
    exit_k: Array
    scale: Array
    density: Array
    viscosity: Array
    pipe: Run | None = None
    """The vessel's own run of pipe, whose wetted part adds friction."""

    @cached_property
    def still_k(self) -> Array:
        """Source below its first bend, fittings and jet together, scaled, Pa s2/m6: what does not hang on the flow."""
        return self.scale * (self.source.k[0] + self.couplings_k + self.valve_k + self.exit_k)

    @cached_property
    def rough(self) -> tuple[_Rough, ...]:
        """Of each hose, Reynolds number for each m3/s and the scaled loss for each f Q^2. Derived: as `loss`."""
        return tuple(_rough(run, self, self.scale) for run in self.hoses)

    @cached_property
    def rough_pipe(self) -> _Rough | None:
        """The same of the vessel's own pipe, for each m3/s; no measured flow scales it. Derived: as `loss`."""
        return None if self.pipe is None else _rough(self.pipe, self, 1.0)


@dataclass(frozen=True, eq=False, repr=False)
class _Rough:
    """A run for one water: Reynolds number for each m3/s, loss over f Q^2 in Pa s2/m6, and what f goes by."""

    reynolds: Array
    quadratic: Array
    roughness: Array
    coil: Array | None


def _rough(run: Run, line: Line, scale: Array | float) -> _Rough:
    pipes = 1.0 if run.beside is None else run.beside
    return _Rough(
        reynolds=4.0 * line.density / (np.pi * run.bore * line.viscosity * pipes),
        quadratic=scale * k_to_quadratic(run.length / run.bore, run.bore, line.density) / pipes**2,
        roughness=run.roughness / run.bore,
        coil=None if run.coil is None else run.bore / run.coil,
    )


def colebrook(reynolds: Array, relative_roughness: Array) -> tuple[Array, Array]:
    """Darcy friction factor of turbulent flow and its slope d ln f / d ln Re.

    Any broadcasting shapes; good to machine precision of Colebrook's equation for Re >= 4000 and a
    relative roughness of 0 to 0.1. Source: D. Clamond, Efficient resolution of the Colebrook
    equation, Ind. Eng. Chem. Res. 48 (2009) 3665.
    """
    x1 = relative_roughness * reynolds * (LOG10 / (2.0 * 2.51 * 3.7))
    x2 = np.log(reynolds) - float(np.log(2.0 * 2.51 / LOG10))
    root = x2 - 0.2
    for first in (True, False):
        both = x1 + root
        whole = 1.0 + both
        error = np.log(both)
        error -= 0.2 if first else x2 - root
        error /= whole
        both *= error
        both *= whole + 0.5 * error
        error *= 1.0 + error / 3.0
        error += whole
        both /= error
        root = root - both
    inverse_root_f = root * (2.0 / LOG10)
    f = 1.0 / (inverse_root_f * inverse_root_f)
    rough = (relative_roughness * (1.0 / (3.7 * 2.51))) * reynolds
    slope = (-4.0 / LOG10) / (rough + inverse_root_f + 2.0 / LOG10)
    return f, slope


def friction(reynolds: Array, relative_roughness: Array, bore_over_coil: Array | None = None) -> tuple[Array, Array]:
    """Darcy friction factor at any Reynolds number above zero, and its slope d ln f / d ln Re.

    Laminar to 2040, Colebrook from 4000, and a straight line in log-log between, so that f Re^2 rises
    all the way and one pressure drop has exactly one flow. A coil has its own laminar and turbulent
    forms and its own end of the laminar range, with the same blend above it.

    Any broadcasting shapes. Sources: Hagen-Poiseuille; Colebrook (1939) by Clamond; coils E. F.
    Schmidt, Chemie Ingenieur Technik 39 (1967) 781, whose step at Re 22,000 is smoothed over +-2000.
    """
    laminar_end, turbulent_start = _between_laminar_and_turbulent(bore_over_coil)
    if bore_over_coil is None and np.all(reynolds >= turbulent_start):  # the same figures, sooner
        return colebrook(reynolds, relative_roughness)
    above = np.maximum(reynolds, turbulent_start)
    below = np.minimum(reynolds, laminar_end)
    turbulent, turbulent_slope = colebrook(above, relative_roughness)
    laminar, laminar_slope = 64.0 / below, np.full_like(below, -1.0)
    if bore_over_coil is not None:
        factor, slope = _coil_turbulent(above, bore_over_coil)
        turbulent, turbulent_slope = turbulent * factor, turbulent_slope + slope
        power = 1.0 - 0.644 * bore_over_coil**0.312
        gain = 0.14 * bore_over_coil**0.97 * below**power
        laminar, laminar_slope = laminar * (1.0 + gain), laminar_slope + power * gain / (1.0 + gain)
    between_slope = np.log(turbulent / laminar) / np.log(above / below)
    between = laminar * (reynolds / below) ** between_slope
    is_laminar, is_turbulent = reynolds <= laminar_end, reynolds >= turbulent_start
    f = np.where(is_laminar, laminar, np.where(is_turbulent, turbulent, between))
    return f, np.where(is_laminar, laminar_slope, np.where(is_turbulent, turbulent_slope, between_slope))


def _between_laminar_and_turbulent(bore_over_coil: Array | None) -> tuple[Array, Array]:
    """Reynolds numbers at which the laminar range ends and the turbulent one begins."""
    laminar_end = np.asarray(LAMINAR_END)
    if bore_over_coil is not None:
        laminar_end = 2300.0 * (1.0 + 8.6 * bore_over_coil**0.45)
    return laminar_end, laminar_end * (TURBULENT_START / LAMINAR_END)


def bends(line: Line) -> list[Array]:
    """Flows, m3/s, at which the loss changes its form: the borders of laminar and turbulent flow in each hose and in
    the vessel's own pipe, those of the coil's formulas, and the corners of the source's curve. Derived: as `friction`.
    """
    found = list(line.source.flow[1:])
    for run in (*line.rough, *(() if line.rough_pipe is None else (line.rough_pipe,))):
        borders = list(_between_laminar_and_turbulent(run.coil))
        if run.coil is not None:
            borders += [np.asarray(COIL_STEP - COIL_STEP_HALF_WIDTH), np.asarray(COIL_STEP + COIL_STEP_HALF_WIDTH)]
        found += [border / run.reynolds for border in borders]
    return found


def _coil_turbulent(reynolds: Array, ratio: Array) -> tuple[Array, Array]:
    """Schmidt's factor on the straight pipe's f, and its slope in ln Re."""
    low_gain = 2.88e4 * ratio**0.62 / reynolds
    high_gain = 0.0823 * (1.0 + ratio) * ratio**0.53 * reynolds**0.25
    weight = np.clip((reynolds - COIL_STEP + COIL_STEP_HALF_WIDTH) / (2.0 * COIL_STEP_HALF_WIDTH), 0.0, 1.0)
    factor = 1.0 + (1.0 - weight) * low_gain + weight * high_gain
    inside = (weight > 0.0) & (weight < 1.0)
    slope = -(1.0 - weight) * low_gain + 0.25 * weight * high_gain
    slope = slope + np.where(inside, reynolds / (2.0 * COIL_STEP_HALF_WIDTH) * (high_gain - low_gain), 0.0)
    return factor, slope / factor


def contraction(bore_ratio: Array) -> Array:
    """K of a sharp contraction on the velocity head of the small bore; ratio small over large bore.

    Source: D. Rennels and H. Hudson, Pipe Flow, 2012, eq. 10.3 (as `fluids.contraction_sharp`).
    """
    jet = 1.0 + 0.622 * (1.0 - 0.215 * bore_ratio**2 - 0.785 * bore_ratio**5)
    return 0.0696 * (1.0 - bore_ratio**5) * jet**2 + (jet - 1.0) ** 2


def expansion(bore_ratio: Array) -> Array:
    """K of a sharp expansion on the velocity head of the small bore (Borda-Carnot).

    Source: Borda-Carnot, in any hydraulics text.
    """
    return (1.0 - bore_ratio**2) ** 2


def k_to_quadratic(k: Array | float, bore: Array, density: Array) -> Array:
    """Pressure drop over Q^2, Pa s2/m6, of a loss coefficient K at a bore in m. Definition: K times velocity head."""
    return 0.5 * k * density / (0.25 * np.pi * bore**2) ** 2


def kv_to_quadratic(kv: Array | float, density: Array) -> Array:
    """Pressure drop over Q^2, Pa s2/m6, of a valve of Kv m3/h at 1 bar and 1000 kg/m3 (IEC 60534-1)."""
    return BAR * (HOUR / kv) ** 2 * density / 1000.0


def loss(line: Line, flow: Array, wetted: Array | float = 0.0) -> tuple[Array, Array]:
    """Pressure lost by source and line at a flow, Pa, and its slope with flow, Pa s/m3.

    Args:
        flow: m3/s above zero, shape (N,) or broadcasting to it.
        wetted: share of the vessel's own pipe that stands full. Derived: the sum of the parts along the line.
    """
    square = flow * flow
    total = line.still_k * square
    doubled = 2.0 * total  # the slope times the flow
    for j in range(1, len(line.source.k)):
        more = line.scale * (line.source.k[j] - line.source.k[j - 1])
        beyond = flow > line.source.flow[j]
        total = total + np.where(beyond, more * (square - line.source.flow[j] ** 2), 0.0)
        doubled = doubled + np.where(beyond, 2.0 * more * square, 0.0)
    for run in line.rough:
        part, power = _run_loss(run, flow, square)
        total, doubled = total + part, doubled + power * part
    if line.rough_pipe is not None:
        part, power = _run_loss(line.rough_pipe, flow, square)
        part = wetted * part
        total, doubled = total + part, doubled + power * part
    return total, doubled / flow


def _run_loss(run: _Rough, flow: Array, square: Array) -> tuple[Array, Array]:
    """Pressure lost in a run, and the power of the flow with which it goes."""
    f, power = friction(np.maximum(run.reynolds * flow, 1e-9), run.roughness, run.coil)
    return run.quadratic * f * square, 2.0 + power


def source_loss(line: Line, flow: Array) -> Array:
    """The source's part of the loss, Pa, at a flow in m3/s. Derived: as `loss`."""
    bare = Line(line.source, (), *(np.zeros_like(line.scale),) * 3, line.scale, line.density, line.viscosity)
    return loss(bare, flow)[0]


def open_flow(line: Line, driving: Array, wetted: Array | float = 0.0) -> Array:
    """The flow in m3/s at which source and line lose just the driving pressure in Pa.

    Newton in the logarithms, where the loss is nearly a straight line. Zero where the driving pressure is not above
    zero. Shapes broadcast. Derived: the root of `loss`.
    """
    drives = driving > 0.0
    target = np.where(drives, driving, 1.0)
    flow = np.sqrt(target / _first_k(line, wetted))
    for _ in range(ITERATIONS):
        total, slope = loss(line, flow, wetted)
        step = np.log(target / total) * total / (flow * slope)
        flow = flow * np.exp(step)
        if abs(step).max(initial=0.0) < LAST_STEP:
            break
    return np.where(drives, flow, 0.0)


def _first_k(line: Line, wetted: Array | float) -> Array:
    k = line.still_k + line.scale * (line.source.k[-1] - line.source.k[0])
    for run in line.rough:
        k = k + 0.03 * run.quadratic
    return k if line.rough_pipe is None else k + 0.03 * wetted * line.rough_pipe.quadratic
