"""Containers that empty: closed forms of their level, their number, and what is the same as without them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fillcalc.model.fill import fill
from fillcalc.model.filling import Filled, Filling, change_overs
from fillcalc.model.line import Line, Source
from fillcalc.model.status import Status
from fillcalc.properties.media import GRAVITY, STANDARD_ATMOSPHERE
from tests.shapes import shape

ZERO = np.zeros(1)
DENSITY = 999.1
CONDUCTANCE = 2e-6
"""m3/s for each root of a pascal."""
VOLUME, HEIGHT, STAND = 3.2, 2.0, 3.5
"""A prism, and the level of a full container above its bottom: m3, m, m."""


def task(contents: float = np.inf, area: float = np.inf, **more: object) -> Filling:
    source = Source(DENSITY * GRAVITY * STAND + ZERO, (CONDUCTANCE**-2 + ZERO,), (ZERO,), ZERO)
    line = Line(source, (), ZERO, ZERO, ZERO, 1.0 + ZERO, DENSITY + ZERO, 1e-3 + ZERO)
    made = Filling(line, VOLUME + ZERO, VOLUME + ZERO, HEIGHT + ZERO, 1e3 + ZERO, STANDARD_ATMOSPHERE + ZERO,
                   288.15 + ZERO, contents=contents + ZERO, area=area + ZERO)
    return replace(made, **more)  # type: ignore[arg-type]


def filled(given: Filling) -> Filled:
    return fill(given, shape("prism", span=HEIGHT, volume=VOLUME).level_table())


def by_hand(contents: float, area: float) -> float:
    """Each container drives by a head that falls as a straight line of its water: its time is a root's difference."""
    begun, time = 0.0, 0.0
    while begun < VOLUME * (1 - 1e-12):
        gives = min(contents, VOLUME - begun)
        first = STAND - begun * HEIGHT / VOLUME
        fall = HEIGHT / VOLUME + 1.0 / area
        scale = CONDUCTANCE * np.sqrt(DENSITY * GRAVITY)
        time += 2.0 * (np.sqrt(first) - np.sqrt(first - gives * fall)) / (fall * scale)
        begun += gives
    return float(time)


@pytest.mark.parametrize(("contents", "area"), [(1.2, 1.2), (0.8, 1.0), (4.0, 3.0), (0.15, 0.4), (1.6, 1e9)])
def test_the_level_falls_and_is_full_again(contents: float, area: float) -> None:
    assert filled(task(contents, area)).time == pytest.approx(by_hand(contents, area), rel=1e-4)


def test_very_many_containers_give_at_their_mean_level() -> None:
    done = filled(task(0.02, 0.1))
    assert done.turns == 160
    assert done.time == pytest.approx(by_hand(0.02, 0.1), rel=5e-4)


def test_a_container_without_end_is_a_main() -> None:
    assert filled(task(VOLUME, np.inf)).time == filled(task()).time


def test_it_stops_where_the_levels_meet() -> None:
    """A cubic metre falls as far as the vessel rises: the second one of 1.2 m3 and 0.4 m2 meets it on the way."""
    done = filled(task(1.2, 0.4))
    assert done.status == Status.HEAD_TOO_HIGH and np.isnan(done.time)
    begun = 0.0
    meets = (STAND + begun / 0.4) / (HEIGHT / VOLUME + 1.0 / 0.4)
    assert meets < 1.2
    assert done.water == pytest.approx(meets, rel=1e-9)
    assert done.level == pytest.approx(STAND - meets / 0.4, rel=1e-9)


def test_tries_with_other_containers_do_not_touch_each_other() -> None:
    """One, three, very many and a stall, in one call."""
    given = [(4.0, 3.0), (1.2, 1.2), (0.02, 0.1), (1.2, 0.4)]
    one = task()
    rows = {name: np.repeat(getattr(one, name), len(given)) for name in ("volume", "end", "height", "vent_area",
                                                                         "outside_abs", "air_temperature")}
    spread = replace(one.line, **{name: np.repeat(getattr(one.line, name), len(given))
                                  for name in ("couplings_k", "valve_k", "exit_k", "scale", "density", "viscosity")},
                     source=Source(*(np.repeat(x, len(given)) if not isinstance(x, tuple) else
                                     tuple(np.repeat(y, len(given)) for y in x)
                                     for x in (one.line.source.pressure, one.line.source.k, one.line.source.flow,
                                               one.line.source.height))))
    many = filled(replace(one, line=spread, **rows, contents=np.array([c for c, _ in given]),
                          area=np.array([a for _, a in given])))
    for row, (contents, area) in enumerate(given):
        alone = filled(task(contents, area))
        for name in ("time", "water", "flow_end", "bottom_peak_gauge", "status"):
            assert getattr(many, name)[row] == pytest.approx(getattr(alone, name)[0], rel=1e-9, nan_ok=True), name


def test_the_history_waits_for_the_next_container() -> None:
    done = filled(task(1.2, 1.2, change_over=600.0 + ZERO))
    time, water = done.history[0][:, 0], done.history[1][:, 0]
    assert (np.diff(time) > 0.0).all() and (np.diff(water) >= 0.0).all()
    assert time[-1] == pytest.approx(done.time[0] + 1200.0)
    assert np.count_nonzero(np.isclose(np.diff(time), 600.0)) == 2


def test_what_just_fits_needs_no_other() -> None:
    assert change_overs(1.2, np.array([1.2, 1.2000001, 2.4, 3.2, np.nan])) == pytest.approx(
        [0.0, 1.0, 1.0, 2.0, np.nan], nan_ok=True)
    assert change_overs(np.inf, np.array([1e6])) == 0.0
    assert change_overs(1.0, np.array([0.3]), loads=6.0) == 1.0


def test_the_bottom_sees_the_water_too() -> None:
    """With no air to push back the most is the weight of the full vessel, from a main as from containers."""
    for given in (task(), task(1.2, 1.2)):
        assert filled(given).bottom_peak_gauge == pytest.approx(DENSITY * GRAVITY * HEIGHT, rel=1e-6)
