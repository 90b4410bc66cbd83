"""Adapters: hoses, pipes, fittings, and the flow that a line passes."""

from __future__ import annotations

from typing import Any

import numpy as np

from fillcalc.arrays import spread
from fillcalc.case.read import read_text
from fillcalc.job import setup
from fillcalc.job.resolve import resolve
from fillcalc.model.line import (
    Line,
    Run,
    Source,
    colebrook,
    friction,
    k_to_quadratic,
    kv_to_quadratic,
    loss,
    open_flow,
)
from fillcalc.properties.media import GRAVITY, STANDARD_ATMOSPHERE, water

ZERO = np.zeros(1)

CASE = """
format = 1
[vessel]
shape = "other"
volume = "1 m3"
[test]
pressure = "24 bar"
[pump]
kind = "hand"
[tap]
pressure = "3 bar"
open_flow = "unlimited"
[fill]
"""
HOSE = '[[fill.hose]]\nlength = "{length} m"\nbore = "{bore} mm"\n{rest}\n'


def liquid(temperature: float | None, density: float | None, viscosity: float | None) -> tuple[float, float]:
    """Density and viscosity, of water at 1 atm where they are not given."""
    if temperature is None:
        assert density is not None
        return density, 1e-3 if viscosity is None else viscosity
    at = water(temperature)
    return at.density(STANDARD_ATMOSPHERE), at.viscosity(STANDARD_ATMOSPHERE)


def each(given: Any) -> tuple[Any, ...]:
    return given if isinstance(given, tuple) else (given,)


def line(pressure: float, bore: Any, length: Any = 0.0, losses_k: Any = 0.0, roughness: float = 0.0,
         coil: float | None = None, temperature: float | None = None, density: float | None = None,
         viscosity: float | None = None) -> Line:
    """A stiff source and one or more pipes, each with the sum of its K at its own bore."""
    rho, mu = liquid(temperature, density, viscosity)
    bores, lengths, losses = each(bore), each(length), each(losses_k)
    runs = tuple(Run(d + ZERO, x + ZERO, roughness + ZERO, None if coil is None else coil + ZERO)
                 for d, x in zip(bores, lengths, strict=False) if x > 0.0)
    k = sum(k_to_quadratic(one, d, rho) for one, d in zip(losses, bores, strict=False)) + ZERO
    return Line(Source(pressure + ZERO, (ZERO,), (ZERO,), ZERO), runs, k, ZERO, ZERO, 1.0 + ZERO, rho + ZERO, mu + ZERO)


def flow(pressure: float | None = None, head: float | None = None, gravity: float = GRAVITY, **given: Any) -> float:
    """The flow that a pressure or a head of the liquid drives through a line, m3/s."""
    if pressure is None:
        assert head is not None
        rho, _ = liquid(given.get("temperature"), given.get("density"), None)
        pressure = head * rho * gravity
    return open_flow(line(pressure, **given), pressure + ZERO)[0]


def speed(bore: float, **given: Any) -> float:
    return flow(bore=bore, **given) / (0.25 * np.pi * bore**2)


def flow_ratio(first: float, second: float, **given: Any) -> float:
    """Flow at one length over that at another."""
    return flow(length=first, **given) / flow(length=second, **given)


def drop(flow: float, **given: Any) -> float:
    return loss(line(0.0, **given), flow + ZERO)[0][0]


def fitting_k(bore: float, hole: float, count: int = 1, factor: float = 1.0) -> float:
    """K at the hose's bore of fittings with a hole, in a hose that is not the last."""
    fittings = f"couplings = {count}\ncoupling_hole = \"{hole * 1e3!r} mm\"\ncoupling_factor = {factor}"
    text = CASE + HOSE.format(length=1, bore=bore * 1e3, rest=fittings)
    text += HOSE.format(length=1, bore=bore * 1e3, rest="couplings = 0")
    return _k(text, bore)


def fitting_k_range(bore: float, hole: float) -> tuple[float, float]:
    """Low and high of a coupling's K, from the range of the factor that nobody gave."""
    text = CASE + HOSE.format(length=1, bore=bore * 1e3, rest=f'couplings = 1\ncoupling_hole = "{hole * 1e3!r} mm"')
    spread_of = read_text(text).ranges["fill.hose.1.coupling_factor"]
    return fitting_k(bore, hole, factor=spread_of.low), fitting_k(bore, hole, factor=spread_of.high)


def _k(text: str, bore: float) -> float:
    supply = setup.line(spread(resolve(read_text(text)), 1))
    return float(supply.couplings_k[0] / k_to_quadratic(1.0, bore, supply.density)[0])


def hose_flow(bore: float, length: float, hole: float | None = None) -> float:
    """Flow of a hose at 15 degC and 3 bar from a stiff source, with two crimped tails or with none."""
    tail = "" if hole is None else f'tail_bore = "{hole * 1e3!r} mm"'
    rest = f'couplings = 0\nroughness = "0 mm"\n{tail}'
    text = CASE + HOSE.format(length=length, bore=bore * 1e3, rest=rest)
    supply = setup.line(spread(resolve(read_text(text)), 1))
    return float(open_flow(supply, supply.source.pressure)[0])


def kv_of_cv(cv: float) -> float:
    text = CASE + f'cv = {cv}\n' + HOSE.format(length=1, bore=12.7, rest="couplings = 0")
    return float(resolve(read_text(text)).fill.kv)  # type: ignore[arg-type]


ADAPTERS: dict[str, Any] = {
    "friction factor": lambda reynolds, relative_roughness=0.0, bore_over_coil=None: float(
        friction(np.asarray(reynolds), np.asarray(relative_roughness), bore_over_coil)[0]),
    "turbulent friction factor": lambda reynolds, relative_roughness: float(
        colebrook(np.asarray(reynolds), np.asarray(relative_roughness))[0]),
    "pressure drop of a pipe": drop,
    "flow through a line": flow,
    "speed in a line": speed,
    "flow of one length over another": flow_ratio,
    "K of a fitting at the hose bore": fitting_k,
    "range of K of a coupling": fitting_k_range,
    "flow of a hose with crimped tails": hose_flow,
    "K of a valve of this Kv": lambda kv, bore: float(kv_to_quadratic(kv, 1000.0) / k_to_quadratic(1.0, bore, 1000.0)),
    "Kv of this Cv": kv_of_cv,
    "pressure drop of a valve of this Kv": lambda kv, flow, density: kv_to_quadratic(kv, density) * flow**2,
}
