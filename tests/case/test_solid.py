"""A volume for one dimension of any shape, and a vessel known by its volume alone."""

from __future__ import annotations

import math
from dataclasses import replace

import fluids
import numpy as np
import pytest

from fillcalc.case import records
from fillcalc.case.read import CaseProblems, read_text
from fillcalc.case.records import Case
from fillcalc.case.solid import sized
from fillcalc.case.template import template
from fillcalc.estimation.estimate import estimate
from fillcalc.job.resolve import resolve
from fillcalc.model.shapes import HEADS
from fillcalc.questions.ranges import with_ranges
from fillcalc.tree import at, put
from tests.families import few

REST = """
[tap]
[[fill.hose]]
length = "10 m"
bore = "12.7 mm"
[test]
pressure = "24 bar"
[pump]
kind = "hand"
"""


def text(*lines: str) -> str:
    return "\n".join(["format = 1", "[vessel]", *lines, REST])


def problems(*lines: str) -> dict[str, str]:
    with pytest.raises(CaseProblems) as caught:
        read_text(text(*lines))
    return {problem.path: str(problem) for problem in caught.value.problems}


# --- a volume in the place of a dimension ---------------------------------------------------------

@pytest.mark.parametrize("ends", records.ENDS)
@pytest.mark.parametrize(("diameter", "span"), [(0.62, 1.9), (3.0, 0.01), (0.05, 40.0), (1.0, 1e-3)])
@pytest.mark.parametrize("form", ["standing", "lying"])
def test_there_and_back_for_every_end(form: str, ends: str, diameter: float, span: float) -> None:
    """The shape's volume, and back from it to each dimension."""
    kind, along = {"standing": (records.StandingCylinder, "height"), "lying": (records.LyingCylinder, "length")}[form]
    whole = kind(**{"diameter": diameter, along: span, "ends": ends})
    volume = float(whole.inside().volume())
    for name, size in (("diameter", diameter), (along, span)):
        back = at(sized(replace(put(whole, name, None), volume=volume)), name)
        assert back == pytest.approx(size, rel=1e-9 if span < 0.1 else 1e-12)


def test_the_ends_hold_what_a_library_says() -> None:
    """fluids, for a cylinder of diameter 1 m; its torispherical head has the same two radii."""
    for ends, sides in (("hemispherical", {"sideA": "spherical", "sideA_a": 0.5, "sideB": "spherical", "sideB_a": 0.5}),
                        ("elliptical 2:1", {"sideA": "ellipsoidal", "sideA_a": 0.25, "sideB": "ellipsoidal",
                                            "sideB_a": 0.25}),
                        ("dished", {"sideA": "torispherical", "sideA_f": 1.0, "sideA_k": 0.1,
                                    "sideB": "torispherical", "sideB_f": 1.0, "sideB_k": 0.1})):
        tank = fluids.TANK(D=1.0, L=2.0, horizontal=False, **sides)
        assert tank.V_total == pytest.approx(0.5 * math.pi + 2.0 * HEADS[ends].volume, rel=1e-7), ends


GIVEN = [
    ("standing cylinder", {"diameter": '"620 mm"', "height": '"1.9 m"'}),
    ("lying cylinder", {"diameter": '"620 mm"', "length": '"1.9 m"'}),
    ("sphere", {"diameter": '"620 mm"'}),
    ("pipe run", {"diameter": '"102.26 mm"', "length": '"120 m"'}),
]


@pytest.mark.parametrize(("word", "left"), [(word, left) for word, given in GIVEN for left in given])
@pytest.mark.parametrize("ends", ["flat", "dished"])
def test_a_case_by_volume_is_the_case_by_its_dimensions(word: str, left: str, ends: str) -> None:
    given = dict(GIVEN)[word]
    head = [f'shape = "{word}"', *([f'ends = "{ends}"'] if "cylinder" in word else []), 'wall = "6 mm"']
    full = read_text(text(*head, *(f"{name} = {value}" for name, value in given.items())))
    volume = float(resolve(full).vessel.inside().volume())
    rest = [f"{name} = {value}" for name, value in given.items() if name != left]
    short = read_text(text(*head, *rest, f'volume = "{volume!r} m3"'))
    assert getattr(sized(short.vessel), left) == pytest.approx(at(full, f"vessel.{left}"), rel=1e-12)
    assert getattr(short.vessel, left) is None  # what was typed stays what was typed
    one, other = estimate(full), estimate(short)
    for path in ("fill.time_s", "fill.water_m3", "pressurise.water_m3", "height_m"):
        first, second = one, other
        for name in path.split("."):
            first, second = getattr(first, name), getattr(second, name)
        assert float(second[0]) == pytest.approx(float(first[0]), rel=1e-9), path
    assert [item.value for item in full.assumptions] == [item.value for item in short.assumptions]


def test_a_pipe_by_its_size_and_volume_has_a_length() -> None:
    case = read_text(text('shape = "pipe run"', 'size = "DN100"', 'schedule = "40"', 'volume = "500 L"'))
    assert sized(case.vessel).length == pytest.approx(0.5 / (math.pi / 4 * 0.10226**2), rel=1e-3)  # type: ignore[attr-defined]


def test_a_volume_in_doubt_is_solved_for_each_try() -> None:
    case = read_text(text('shape = "standing cylinder"', 'diameter = "1 m"', 'volume = "1000 L"')
                     + '\n[ranges]\n"vessel.volume" = "±20 %"\n')
    volumes = np.array([0.8, 1.0, 1.2])
    solved = sized(put(case, "vessel.volume", volumes).vessel)
    np.testing.assert_allclose(solved.height, volumes / (math.pi / 4), rtol=1e-12)  # type: ignore[attr-defined]
    water = {one.path: one for one in with_ranges(case).spreads}["fill.time_s"]
    assert water.low < water.likely < water.high


@pytest.mark.parametrize(("lines", "given"), [
    (['shape = "standing cylinder"'], {"vessel.diameter": 'diameter = "620 mm"', "vessel.height": 'height = "1.9 m"'}),
    (['shape = "standing cylinder"', 'diameter = "1 m"'], {"vessel.height": "or the volume in its place"}),
    (['shape = "standing cylinder"', 'volume = "1 m3"'],
     {"vessel.diameter": 'diameter = "620 mm" or height = "1.9 m" beside the volume'}),
    (['shape = "standing cylinder"', 'volume = "1 m3"', 'diameter = "1 m"', 'height = "1 m"'],
     {"vessel.volume": "found 1000 L; diameter and height give 785 L: take one of diameter, height and volume out"}),
    (['shape = "lying cylinder"', 'length = "3 m"'], {"vessel.diameter": "or the volume in its place"}),
    (['shape = "lying cylinder"', 'volume = "1 m3"', 'diameter = "1 m"', 'length = "1 m"'],
     {"vessel.volume": "take one of diameter, length and volume out"}),
    (['shape = "sphere"'], {"vessel.diameter": "or the volume in its place"}),
    (['shape = "sphere"', 'volume = "1 m3"', 'diameter = "1 m"'],
     {"vessel.volume": "diameter gives 524 L: take diameter or volume out"}),
    (['shape = "pipe run"', 'length = "3 m"'], {"vessel.diameter": 'size = "DN100" and schedule = "40"'}),
    (['shape = "pipe run"', 'volume = "30 L"'], {"vessel.diameter": "beside the volume"}),
    (['shape = "pipe run"', 'size = "DN50"', 'schedule = "40"', 'length = "3 m"', 'volume = "30 L"'],
     {"vessel.volume": "take one of"}),
    (['shape = "standing cylinder"', 'ends = "hemispherical"', 'diameter = "1 m"', 'volume = "500 L"'],
     {"vessel.volume": "the two ends alone hold 524 L"}),
    (['shape = "standing cylinder"', 'diameter = "1 mm"', 'volume = "500 L"'],
     {"vessel.volume": "the height would be"}),
    (['shape = "by volume"'], {"vessel.volume": 'volume = "570 L"'}),
    (['shape = "by volume"', 'volume = "10 L"', 'wall = "6 mm"'], {"vessel.wall": "has no diameter"}),
    (['shape = "by volumes"', 'volume = "10 L"'], {"vessel.shape": 'did you mean "by volume"'}),
    (['shape = "standing cylinder"', 'diameter = "wide"'], {"vessel.diameter": "wide", "vessel.height": "volume"}),
])
def test_too_few_or_too_many_say_what_to_write(lines: list[str], given: dict[str, str]) -> None:
    found = problems(*lines)
    assert set(found) == set(given)
    for path, words in given.items():
        assert words in found[path], found[path]


# --- a vessel known by its volume -------------------------------------------------------------------

def by_volume(*lines: str, word: str = "by volume") -> Case:
    return read_text(text(f'shape = "{word}"', 'volume = "1000 L"', *lines))


def assumed(case: Case) -> dict[str, str]:
    return {item.path: item.value for item in case.assumptions}


def test_its_height_is_that_of_a_sphere_with_a_range_and_a_reason() -> None:
    case = by_volume()
    ball = (6.0 / math.pi) ** (1 / 3)
    asked = case.ranges["vessel.height"]
    slim = (4.0 / (3.0 * math.pi)) ** (1 / 3)  # diameter of a cylinder of 1 m3 that is three times as long
    assert [asked.low, asked.likely, asked.high] == pytest.approx([slim, ball, 3.0 * slim], rel=5e-3)
    assert case.vessel.height == asked.likely  # type: ignore[attr-defined]
    why = next(item.why for item in case.assumptions if item.path == "vessel.height")
    assert "height not given" in why
    assert "vessel.height" not in by_volume('height = "2 m"').ranges


def test_its_wall_and_air_are_those_of_a_vessel_with_a_nozzle_on_top() -> None:
    mine = assumed(by_volume())
    standing = assumed(read_text(text('shape = "standing cylinder"', 'height = "1 m"', 'volume = "1000 L"')))
    for path in ("vessel.wall", "trapped_air.amount", "labour.each.connect", "labour.each.settle"):
        assert mine[path] == standing[path], path


def test_the_old_name_reads_and_means_the_same() -> None:
    old, new = by_volume('height = "0.5 m"', word="other"), by_volume('height = "0.5 m"')
    assert isinstance(old.vessel, records.ByVolume)
    assert assumed(old)["trapped_air.amount"] == "0.3 %"  # as ever
    assert {path for path in assumed(old) if assumed(old)[path] != assumed(new)[path]} == {"trapped_air.amount"}
    assert "other" not in template().split("[water]")[0].split('shape = "')[1].partition("\n")[0]


def test_it_is_the_first_choice_of_a_new_case() -> None:
    assert records.VESSELS[0] is records.ByVolume
    assert '\nshape = "by volume"' in template() and '\nvolume = "570 L"' in template()
    answers = with_ranges(read_text(template()))
    assert answers.visit is not None and answers.visit.low_s < answers.visit.likely_s < answers.visit.high_s


# --- a range of no width ----------------------------------------------------------------------------

@pytest.mark.parametrize("said", few(['"±0"', '"±0 %"', '"+-0,0"', '"±0 mm"',
                                      '["8 mm", "8 mm"]', '["8 mm", "8 mm", "8 mm"]'], 2))
def test_no_width_is_exact(said: str) -> None:
    plain = by_volume('height = "1 m"')
    case = read_text(text('shape = "by volume"', 'volume = "1000 L"', 'height = "1 m"')
                     + f'\n[vent]\nbore = "8 mm"\n[ranges]\n"vent.bore" = {said}\n')
    asked = case.ranges["vent.bore"]
    assert asked.low == asked.high == 8e-3 and asked.given
    assert plain.ranges["vent.bore"].low < plain.ranges["vent.bore"].high
    assert "vent.bore" not in {swing.path for swing in with_ranges(case).matters}


def test_a_case_of_exact_ranges_gives_three_equal_numbers() -> None:
    from dataclasses import replace

    case = by_volume('height = "1 m"')
    exact = {path: records.Range(float(at(case, path)), None, float(at(case, path)), True) for path in case.ranges}
    answers = with_ranges(replace(case, ranges=exact, rework=replace(case.rework, chance=0.0)))
    assert answers.visit is not None
    assert answers.visit.low_s == answers.visit.likely_s == answers.visit.high_s == answers.visit.at_likely_values_s
    for one in answers.spreads:
        assert one.low == one.likely == one.high or math.isnan(one.likely), one.path


@pytest.mark.parametrize("said", ['"±-1 mm"', '["9 mm", "8 mm"]'])
def test_a_width_below_nothing_is_refused(said: str) -> None:
    with pytest.raises(CaseProblems):
        read_text(text('shape = "by volume"', 'volume = "1 L"') + f'\n[ranges]\n"vent.bore" = {said}\n')
