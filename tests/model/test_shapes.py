"""One test over all shapes: what each of them must answer, by relations that hold whatever the shape.

A new shape shows here what it lacks as soon as its record is in `records.VESSELS`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, replace
from itertools import pairwise

import numpy as np
import pytest

from fillcalc.arrays import Array, take
from fillcalc.case import records
from fillcalc.case.read import read_text
from fillcalc.estimation.estimate import estimate
from fillcalc.model import wall
from fillcalc.model.shapes import HEADS, Shape
from tests.twin.shape import shape_of

SIZES = {"diameter": 1.2, "height": 2.0, "length": 3.0, "volume": 1.7, "rise": 1.5}
"""m and m3, for a dimension of any name; a new name needs a figure here."""
STEEL = wall.Metal(np.asarray(207e9), np.asarray(0.3), np.asarray(11.7e-6))
TEST = np.asarray(10e5)


def vessels() -> Iterator[tuple[str, records.Vessel]]:
    """Each shape that a file may name, with every word of each of its choices."""
    for kind in records.VESSELS:
        names = {entry.name for entry in fields(kind)}
        given = {name: SIZES[name] for name in kind.dimensions or ("volume", "height")}
        given |= {"rise": SIZES["rise"]} if "rise" in names else {}
        for ends in records.ENDS if "ends" in names else ("",):
            yield f"{kind.shape} {ends}".strip(), kind(**given, **({"ends": ends} if ends else {}))


VESSELS = dict(vessels())


@pytest.fixture(params=VESSELS)
def vessel(request: pytest.FixtureRequest) -> records.Vessel:
    return VESSELS[request.param]


@pytest.fixture
def inside(vessel: records.Vessel) -> Shape:
    return vessel.inside()


def test_its_volume_is_the_integral_of_its_surface(inside: Shape) -> None:
    """Gauss nodes between the levels where it bends; the square-root ends of a round one take many."""
    nodes, weights = np.polynomial.legendre.leggauss(200)
    edges = [float(edge) for edge in inside.panels()]
    assert edges[0] == 0.0 and edges[-1] == 1.0 and edges == sorted(edges)
    whole = 0.0
    for low, high in pairwise(edges):
        angle = 0.25 * np.pi * (nodes + 1.0)
        part = low + (high - low) * np.sin(angle) ** 2
        whole += float(np.sum(inside.widening(part) * np.sin(2.0 * angle) * weights) * 0.25 * np.pi * (high - low))
    assert whole == pytest.approx(1.0, rel=2e-4)
    assert inside.volume_below(inside.height()) == pytest.approx(inside.volume(), rel=1e-9)
    assert inside.volume_below(np.asarray(0.0)) == pytest.approx(0.0, abs=1e-12)


def test_its_surface_is_the_slope_of_its_volume(inside: Shape) -> None:
    part, step = np.array([0.021, 0.11, 0.3, 0.52, 0.77, 0.93, 0.983]), 1e-6
    low, high = (inside.volume_below((part + side) * inside.height()) / inside.volume() for side in (-step, step))
    np.testing.assert_allclose(inside.widening(part), (high - low) / (2.0 * step), rtol=2e-3)


def test_its_level_table_turns_its_volume_round(inside: Shape) -> None:
    part = np.linspace(0.003, 0.997, 53)
    share, table = inside.volume_below(part * inside.height()) / inside.volume(), inside.level_table()
    assert (np.diff(share) > 0.0).all()
    np.testing.assert_allclose(table(share), part, rtol=0, atol=2e-6)
    assert table(np.array([0.0, 1.0])) == pytest.approx([0.0, 1.0], abs=1e-9)


def test_it_gives_under_pressure_and_more_where_it_is_thinner(vessel: records.Vessel, inside: Shape) -> None:
    gross = inside.volume()
    assert inside.stretch(wall.Rigid(), STEEL, TEST) == 0.0
    assert inside.stretch(wall.Gain(np.asarray(1e-3), TEST), STEEL, TEST) * TEST == pytest.approx(1e-3 * gross)
    thin, thick = (inside.stretch(wall.Thickness(np.asarray(shell)), STEEL, TEST) for shell in (6e-3, 12e-3))
    if vessel.practice().no_thickness:
        assert np.isnan(thin)
    else:
        assert thin > thick > 0.0
        assert 0.1 < thin * STEEL.young * 6e-3 / (gross * float(inside.surface(6e-3, gross)) / 6.0) < 10.0


def test_a_flat_end_gives_and_no_other_does(vessel: records.Vessel, inside: Shape) -> None:
    ended = wall.Thickness(np.asarray(6e-3), np.asarray(40e-3))
    has_one = getattr(vessel, "ends", "") == "flat"
    assert (inside.flat_end(ended, STEEL) is not None) == has_one
    more = inside.stretch(ended, STEEL, TEST) > inside.stretch(wall.Thickness(np.asarray(6e-3)), STEEL, TEST)
    assert bool(more) == has_one


ENDS_AS_FLAT = 2.0 / 3.0
"""Of the surface of a ball that is left where its two halves are the ends of a cylinder, which count as flat."""


def test_it_stands_within_its_own_surface(inside: Shape) -> None:
    """No body has less surface than the ball of its volume, and none is taller than it is said to be."""
    gross = inside.volume()
    ball = np.pi ** (1 / 3) * (6.0 * gross) ** (2 / 3)
    has_ends = getattr(inside, "head", HEADS["flat"]) is not HEADS["flat"]
    assert inside.surface(0.0, gross) >= ball * (ENDS_AS_FLAT if has_ends else 1 - 1e-9)
    assert inside.tallest() >= inside.height() >= 0.0


def test_the_air_above_a_vent_grows_as_the_vent_sinks(inside: Shape) -> None:
    below = np.linspace(0.0, 1.0, 41) * inside.height()
    share = inside.share_above_vent(below)
    assert share[0] == pytest.approx(0.0, abs=1e-9) and (np.diff(share) >= 0.0).all() and share[-1] <= 1.0
    assert share[-1] == pytest.approx(1.0)


def test_its_pocket_holds_the_air(inside: Shape) -> None:
    """Between a ball and a film: no more than surface times thickness, and both grow with the air."""
    air = np.array([1e-5, 1e-4, 1e-3, 1e-2]) * inside.volume()
    pocket = inside.pocket(inside.level_table(), air)
    assert (pocket.thickness > 0.0).all() and (pocket.surface > 0.0).all()
    assert (np.diff(pocket.thickness) > 0.0).all() and (np.diff(pocket.surface + 0.0 * air) >= 0.0).all()
    assert (pocket.thickness <= np.cbrt(air) * (1 + 1e-12)).all()


def test_many_at_once_are_each_as_alone(vessel: records.Vessel) -> None:
    names = vessel.dimensions or ("volume", "height")
    factors = np.array([1.0, 0.7, 1.6])
    many = replace(vessel, **{name: getattr(vessel, name) * factors for name in names}).inside()
    part = np.array([0.1, 0.5, 0.9])

    def asked(shape: Shape, here: Array) -> list[Array]:
        return [shape.volume(), shape.height() + 0.0 * here, shape.volume_below(here * shape.height()),
                shape.widening(here), shape.share_above_vent((1.0 - here) * shape.height()),
                shape.stretch(wall.Thickness(np.asarray(6e-3)), STEEL, TEST), shape.surface(6e-3, shape.volume())]

    whole = asked(many, part)
    for row in range(3):
        for all_of_it, alone in zip(whole, asked(take(many, row), part[row]), strict=True):
            assert all_of_it[row] == pytest.approx(float(alone), rel=1e-12, nan_ok=True)


def test_the_twin_agrees(vessel: records.Vessel, inside: Shape) -> None:
    """The second reckoning, from the library `fluids` or by hand."""
    theirs = shape_of(vessel)
    assert inside.volume() == pytest.approx(theirs.gross_volume, rel=1e-7)
    assert inside.height() == pytest.approx(theirs.height, rel=1e-9)
    for part in (0.05, 0.3, 0.8):
        level = part * theirs.height
        assert inside.volume_below(np.asarray(level)) == pytest.approx(theirs.volume_at(level), rel=1e-4)


@pytest.mark.parametrize("word", [kind.shape for kind in records.VESSELS])
def test_a_file_gives_it_by_its_dimensions_or_by_its_volume(word: str) -> None:
    """Read, sized by its volume in the place of each dimension, and estimated to the end: the answers are the same."""
    kind = next(each for each in records.VESSELS if each.shape == word)
    given = {name: SIZES[name] for name in kind.dimensions or ("volume", "height")}

    def answers(**sizes: float) -> list[float]:
        lines = [f'{name} = "{size!r} {"m3" if name == "volume" else "m"}"' for name, size in sizes.items()]
        found = estimate(read_text("\n".join([
            "format = 1", "[vessel]", f'shape = "{word}"', *lines, "[tap]", "[[fill.hose]]", 'length = "10 m"',
            'bore = "19 mm"', "[test]", 'pressure = "10 bar"', "[pump]", 'kind = "hand"', ""])))
        assert found.pressurise.reached
        return [float(answer[0]) for answer in (found.volume_m3, found.height_m, found.fill.time_s, found.fill.water_m3,
                                                found.pressurise.water_m3, found.hold.sun_low_k, found.drain.time_s)]  # type: ignore[union-attr]

    whole = answers(**given)
    outdoors = kind is not records.ValveBody  # a valve is on a bench, out of the sun
    assert all(np.isfinite(whole[:5])) and min(whole[:5]) >= 0.0 and np.isfinite(whole[5]) == outdoors
    for left in kind.dimensions:
        rest = {name: size for name, size in given.items() if name != left}
        assert answers(**rest, volume=whole[0]) == pytest.approx(whole, rel=1e-9, nan_ok=True)
