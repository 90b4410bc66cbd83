"""Records of a hold by a simulation of its own: a steel vessel of water with a pocket of air, second by second.

Nothing of the model is used. Water by CoolProp at the start, with its compressibility and expansion from there; the
wall of the ball by the sphere's formula; the air an ideal gas that is squeezed without heat and cools with its own time
constant; air goes into still water through the pocket's surface; a leak goes with the root of the pressure. A gauge
adds a wrong scale, noise, a wander that hangs together over a minute, and rounds; a thermometer adds an offset, noise
and rounds.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import TypeAlias

import numpy as np
from CoolProp.CoolProp import PropsSI
from numpy.typing import NDArray

Array: TypeAlias = NDArray[np.float64]

BAR, OUTSIDE = 1e5, 101325.0
DIAMETER, WALL, YOUNG, POISSON, EXPANSION = 1.0, 8e-3, 207e9, 0.3, 11.7e-6
WALL_PART = 0.05
"""Half of the range of the wall, as a part."""
AIR = (0.001, 0.01)
"""Share of the volume that is trapped air."""
TEST, WARMTH, GAUGE_SCALE = 24 * BAR, 288.15, 40 * BAR
PUMP = 4.0e-3 / 60.0
"""m3/s, while pumping up."""
GAMMA = 1.4
STROKE, RELEASE = 20e-6, 30e-6
"""m3 of a stroke, and m3/s of a release."""

CASE = """
format = 1
title = "Steel ball, Quarrow dairy"
[vessel]
shape = "sphere"
diameter = "1 m"
wall = "8 mm"
young = "207 GPa"
poisson = 0.3
expansion = "11.7e-6 /K"
[water]
temperature = "15 degC"
[tap]
pressure = "3 bar"
open_flow = "30 L/min"
[[fill.hose]]
length = "20 m"
bore = "12.7 mm"
[vent]
bore = "8 mm"
[trapped_air]
amount = "0.32 %"
[test]
pressure = "24 bar"
hold = "30 min"
start_pressure = "0 bar"
[surroundings]
pressure = "1013.25 mbar abs"
[pump]
kind = "electric"
flow = "4 L/min"
relief = "60 bar"
[gauge]
full_scale = "40 bar"
division = "0.1 bar"
[ranges]
"trapped_air.amount" = ["0.1 %", "0.32 %", "1 %"]
"vessel.wall" = "±5 %"
"""
"""The same vessel as a technician would write it."""


@dataclass(frozen=True)
class Vessel:
    """What holds the water: m3, m3/Pa that the wall gives, shares of trapped air at the ends of their range, Pa of the
    test, and the surface of a pocket, m2, from its volume."""

    volume: float
    stretch: float
    air: tuple[float, float]
    test: float
    surface: Callable[[Array], Array]
    pump: float = PUMP


def _cap(pocket: Array) -> Array:
    """Surface of a flat cap at the top of the ball."""
    return np.asarray(np.pi * DIAMETER * np.sqrt(2.0 * pocket / (np.pi * DIAMETER)))


VOLUME = np.pi / 6 * DIAMETER**3
BALL = Vessel(VOLUME, VOLUME * 3.0 * DIAMETER * (1.0 - POISSON) / (4.0 * WALL * YOUNG), AIR, TEST, _cap)


@dataclass(frozen=True)
class Setting:
    """What kind of records are made."""

    vessel: Vessel = BALL
    accuracy: float = 0.01
    """Of the gauge, as a part of full scale: 0.01 is class 1."""
    every_s: float = 1.0
    hold_s: float = 3600.0
    leaks: bool = True
    leak: float | None = None
    """m3/s at test pressure; None draws it."""
    drift_k_per_h: float = 0.5
    sign: float = 0.0
    """1 for warming, -1 for cooling; 0 draws it."""
    temperature: bool = True
    """Whether the temperature is recorded."""
    lead_s: float = 0.0
    """Time before the pump starts."""
    stroke_at_s: float | None = None
    """When in the hold somebody makes one stroke more."""
    releases: bool = False
    """Whether the pressure is let down after the hold."""


@dataclass(frozen=True)
class Records:
    """Records of one setting; rows are records, columns rows of each. `leak` m3/s as it truly was, on the mean."""

    time: Array
    gauge: Array
    temperature: Array | None
    leak: Array
    air: Array
    """Share of the volume that was trapped air."""
    begins_s: float
    """When the hold begins, after two minutes of settling."""


@cache
def _water() -> tuple[float, float]:
    """Compressibility, 1/Pa, and expansion, 1/K, at half the test pressure and the start's temperature."""
    at = ("P", OUTSIDE + TEST, "T", WARMTH, "Water")
    return PropsSI("isothermal_compressibility", *at), PropsSI("isobaric_expansion_coefficient", *at)


def records(setting: Setting, count: int, seed: int, largest: float = 20e-6 / 60.0) -> Records:
    """So many records; leaks are spread evenly in the logarithm from a thirtieth of the largest, m3/s."""
    rng = np.random.default_rng(seed)
    vessel, volume = setting.vessel, setting.vessel.volume
    squeeze, grow = _water()
    stretch = vessel.stretch / (1.0 + WALL_PART * rng.uniform(-1.0, 1.0, count))
    ends = np.log(vessel.air)
    free = volume * np.exp(rng.triangular(ends[0], ends.mean(), ends[1], count))
    leak = np.exp(rng.uniform(np.log(largest / 30.0), np.log(largest), count)) if setting.leaks else np.zeros(count)
    leak = leak if setting.leak is None else np.full(count, setting.leak)
    drift = setting.drift_k_per_h / 3600.0 * (rng.choice([-1.0, 1.0], count) if not setting.sign else setting.sign)
    drift = drift + np.zeros(count)
    dissolves = rng.uniform(0.0, 1.0, count)
    cools = np.exp(rng.uniform(np.log(5.0), np.log(120.0), count))

    gauge, air_warm, pumped, lost, gone = (np.zeros(count) for _ in range(5))
    air_warm += WARMTH
    begins = np.full(count, np.nan)
    seconds = int(setting.hold_s + setting.lead_s) + 600
    shown, warm, left = [], [], []
    pumping, stopped = np.ones(count, bool), np.full(count, np.inf)
    for second in range(seconds):
        pumping &= gauge < vessel.test
        stopped = np.where(~pumping & ~np.isfinite(stopped), second, stopped)
        water_warm = WARMTH + drift * second
        root = np.sqrt(np.maximum(gauge, 0.0) / vessel.test)
        pumped += vessel.pump * pumping * (second >= setting.lead_s)
        if setting.stroke_at_s is not None:
            pumped += STROKE * (second == np.floor(begins + setting.stroke_at_s))
        if setting.releases:
            pumped -= RELEASE * (second > begins + setting.hold_s) * (gauge > 0.0)
        lost += leak * root
        pocket = free * OUTSIDE / (OUTSIDE + gauge)
        surface = vessel.surface(pocket)
        since = np.maximum(second - stopped, 1.0)
        gone = np.where(np.isfinite(stopped), dissolves * 2.0 * surface * 0.02 * np.sqrt(1.6e-9 * since / np.pi), 0.0)
        before = gauge
        for _ in range(4):
            air = free * OUTSIDE / (OUTSIDE + gauge) * air_warm / WARMTH - gone
            water = (volume - free + pumped - lost) * np.exp(-squeeze * gauge + grow * (water_warm - WARMTH))
            room = volume + stretch * gauge + 3.0 * EXPANSION * volume * (water_warm - WARMTH)
            slope = -squeeze * volume - air / (OUTSIDE + gauge) - stretch
            gauge = np.maximum(gauge - (water + air - room) / slope, 0.0)
        heated = air_warm * (1.0 - 1.0 / GAMMA) * (gauge - before) / (OUTSIDE + gauge)
        air_warm += heated - (air_warm - water_warm) / cools
        shown.append(gauge.copy())
        warm.append(water_warm)
        left.append(leak * root)
        begins = np.where(np.isnan(begins) & ~pumping, second + 120.0, begins)
    start = float(np.max(begins))
    every = slice(0, None, max(1, int(setting.every_s)))
    time = np.arange(seconds, dtype=float)[every]
    true, heat = np.array(shown).T[:, every], np.array(warm).T[:, every]
    within = slice(int(start), int(start + setting.hold_s))
    return Records(time, _read(true, setting, rng), _felt(heat, rng) if setting.temperature else None,
                   np.array(left)[within].mean(axis=0), free / volume, start)


def _wander(shape: tuple[int, int], every: float, size: float, rng: np.random.Generator) -> Array:
    """Errors that hang together over a minute."""
    keep = np.exp(-every / 60.0)
    walk = np.empty(shape)
    walk[:, 0] = rng.normal(0.0, size, shape[0])
    for place in range(1, shape[1]):
        walk[:, place] = keep * walk[:, place - 1] + rng.normal(0.0, size * (1.0 - keep**2) ** 0.5, shape[0])
    return walk


def _read(true: Array, setting: Setting, rng: np.random.Generator) -> Array:
    """What the gauge's recorder writes: a wrong scale within its class, a tenth of that as noise, and as wander."""
    error = setting.accuracy * GAUGE_SCALE
    scale = 1.0 + setting.accuracy * rng.uniform(-1.0, 1.0, (len(true), 1))
    noise = rng.normal(0.0, 0.1 * error, true.shape) + _wander(true.shape, setting.every_s, 0.05 * error, rng)
    step = 0.05 * error
    return np.round((true * scale + noise) / step) * step


def _felt(true: Array, rng: np.random.Generator) -> Array:
    """What the thermometer's recorder writes."""
    offset = rng.normal(0.0, 0.3, (len(true), 1))
    stands = 1.0 + rng.normal(0.0, 0.05, (len(true), 1))
    first = true[:, :1]
    return np.round((first + offset + stands * (true - first) + rng.normal(0.0, 0.05, true.shape)) / 0.01) * 0.01
