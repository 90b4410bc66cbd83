"""Random gas tests against brute force: `python -m tests.model.random_gas [NUMBER] [FIRST]`.

Each is drawn from its own number: the gas, the day, the vessel from a tenth of a litre to ten cubic metres, bottles, an
air line or a booster, one to four stops, a rise limit or none, and the vent. None is left out: a rise that takes more
steps than there are, as that of days by a booster, is counted.
"""

from __future__ import annotations

import sys
from math import inf, log

import numpy as np

from fillcalc.model.gas.raising import raise_pressure
from tests.model import test_gas
from tests.model.drawn import Compared, Differences, worked_out
from tests.twin import gas as twin
from tests.twin.gas import Given

NEAR = 0.02
"""K; a temperature that hardly moves is compared with this."""


def drawn(number: int) -> Given:
    """The gas test with this number."""
    random = np.random.default_rng([number, 18])

    def between(low: float, high: float) -> float:
        return float(np.exp(random.uniform(log(low), log(high))))

    outside = float(random.uniform(75e3, 103e3))
    volume = between(1e-4, 10.0)
    area = 6.0 * volume ** (2.0 / 3.0) * random.uniform(1.0, 1.6)
    kind = str(random.choice(["bottles", "bottles", "air line", "booster"]))
    test = between(2e5, {"bottles": 120e5, "air line": 7e5, "booster": 250e5}[kind])
    stops = tuple(outside + test * part for part in
                  {1: (1.0,), 2: (0.5, 1.0), 4: (0.5, 0.7, 0.9, 1.0)}[int(random.choice([1, 2, 4]))])
    bottle = between(0.01, 0.05) * int(random.integers(1, 5))
    source = {"bottles": max(between(100e5, 300e5), 1.4 * test), "air line": 1.3 * test + between(3e5, 5e5),
              "booster": between(60e5, 200e5)}[kind]
    hole = bool(random.random() < 0.4)
    return Given(
        gas=str(random.choice(["nitrogen", "air"])), outside=outside, surroundings=float(random.uniform(263.0, 313.0)),
        volume=volume, area=area, wall_heat=3.6e6 * area * between(2e-3, 3e-2), film=float(random.uniform(0.5, 2.0)),
        bottle_volume=inf if kind == "air line" else bottle, bottle_area=20.0 * bottle ** 0.75,
        bottle_wall_heat=6e5 * bottle, bottle_film=float(random.uniform(0.5, 2.0)), bottle_pressure=outside + source,
        difference=float(random.uniform(0.5e5, 3e5)), regulator=outside + test * random.uniform(1.15, 1.6),
        kv=between(0.02, 1.0) * min(max(volume, 0.02), 1.0) ** 0.5,
        most=between(2e-3, 2e-2) if kind == "air line" and random.random() < 0.5 else inf,
        booster=(float(random.uniform(15.0, 75.0)), 6e5, between(2e-5, 1e-4), float(random.uniform(0.5, 1.5)))
        if kind == "booster" else None,
        stops=stops, pauses=(*(float(random.uniform(60.0, 400.0)) for _ in stops[1:]), 0.0),
        rise_limit=between(0.5e5, 10e5) / 60.0 if random.random() < 0.5 else inf, quiet=test * 2e-6 * between(0.5, 3.0),
        vent_kv=None if hole else between(0.02, 0.4) * min(volume, 1.0) ** 0.5,
        vent_area=twin.hole(between(0.5e-3, 6e-3), 0.7) if hole else 0.0, end=outside + min(0.5e5, 0.5 * test))


def differences(number: int) -> Differences:
    """Each figure, how far it is off, and `test_gas.WITHIN`, which is of the same; empty for a rise in too many steps.
    """
    given = drawn(number)
    model = raise_pressure(test_gas.task(given))
    if not model.followed[0]:
        return []
    slow = twin.raised(given)
    found = [(name, abs(float(value[0]) / slow[name] - 1.0)) for name, value in test_gas.figures(given, model).items()]
    found += [(name, _of_what_moved(float(kelvin[0]), slow[name], given))
              for name, kelvin in test_gas.warmths(model).items()]
    off, slowly = test_gas.vented(given), twin.let_off(given)
    found.append(("letting_off", abs(float(off.time[0]) / slowly["time"] - 1.0)))
    found.append(("opened", 0.0 if int(model.opened[0]) == slow["opened"] else inf))
    return [(name, off, test_gas.WITHIN) for name, off in found]


def _of_what_moved(model: float, slow: float, given: Given) -> float:
    moved = abs(slow - given.surroundings)
    return max(abs(model - slow) - NEAR, 0.0) / max(moved, NEAR)


def main(number: int = 40, first: int = 0) -> int:
    """Print the largest difference of each figure, and what disagrees; 1 where anything does."""
    compared = Compared()
    for which, found in worked_out(differences, range(first, first + number)):
        compared.see(which, found)
    print(f"{number} gas tests, {number - compared.used} of which rise too slowly to be worked out.")
    return compared.print()


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:])))
