"""Alternatives resolved: whatever way an input was given, the leaf that the model reads is filled.

Nothing is assumed here, only worked out from what the case holds; arrays go through elementwise.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fillcalc.case.records import KV_OVER_CV, AirDrivenPump, Case, Pump, Vessel
from fillcalc.case.solid import sized
from fillcalc.properties.materials import MATERIALS
from fillcalc.properties.media import atmosphere

UNNAMED = "carbon steel"
"""The material of which the yield is taken where none is named."""
LEAST_TEST = 100.0
"""Pa; the least that a test pressure may be, also where a range takes the design pressure down to nothing."""
MINUTE = 60.0


def resolve(case: Case) -> Case:
    """The case with air pressure, bores, moduli, test pressure, Kv and pump figures filled in."""
    surroundings = case.surroundings
    if surroundings.pressure is None:
        surroundings = replace(surroundings, pressure=atmosphere(surroundings.altitude))
    fill = case.fill
    if fill.cv is not None:
        fill = replace(fill, kv=KV_OVER_CV * fill.cv)
    test = case.test
    if test.pressure is None:
        test = replace(test, pressure=np.maximum(test.factor_on_design * case.vessel.design, LEAST_TEST))
    return replace(case, surroundings=surroundings, fill=fill, test=test,
                   vessel=_vessel(case.vessel), pump=_pump(case.pump))


def _vessel(vessel: Vessel) -> Vessel:
    vessel = sized(vessel)
    if vessel.material is None:
        return vessel
    material = MATERIALS[vessel.material]
    return replace(
        vessel,
        young=material.young if vessel.young is None else vessel.young,
        poisson=material.poisson if vessel.poisson is None else vessel.poisson,
        expansion=material.expansion if vessel.expansion is None else vessel.expansion,
    )


def yield_of(vessel: Vessel) -> tuple[str, float]:
    """Return the material of the wall and the yield of a common grade of it, Pa; of carbon steel where the case gives a
    modulus in the place of a material."""
    name = vessel.material if vessel.material in MATERIALS else UNNAMED
    return name, MATERIALS[name].yields


def _pump(pump: Pump) -> Pump:
    if not isinstance(pump, AirDrivenPump):
        return pump
    stroke, friction, flow = pump.stroke, pump.friction, pump.flow_at_zero
    if pump.strokes_per_litre is not None:
        stroke = 1.0 / pump.strokes_per_litre
    if flow is None and pump.strokes_per_minute is not None:
        flow = stroke * pump.strokes_per_minute / MINUTE
    if pump.stall is not None:
        drive, outlet = pump.stall
        friction = 1.0 - outlet / (pump.ratio * drive)
    return replace(pump, stroke=stroke, friction=friction, flow_at_zero=flow)
