"""The picture is true: levels and pockets are those of the estimate, proportions those of the vessel, no label covers
another, and every figure is in the units of the reader."""

from __future__ import annotations

import re
from math import isfinite

import numpy as np
import pytest

from fillcalc.case.names import choice_label
from fillcalc.cautions import RULES, cautions
from fillcalc.cautions.gas import GAS
from fillcalc.estimation.answers import at_likely_values
from fillcalc.estimation.estimate import estimate as estimated
from fillcalc.present.picture import Moment, Picture, dangers, frames, moments, picture, placed
from fillcalc.present.picture.dangers import PART_OF
from fillcalc.present.picture.figures import Figures
from fillcalc.present.picture.placing import forms_of, notes_of
from fillcalc.present.picture.records import MAY_GO
from fillcalc.questions.likely import likely
from fillcalc.units import show
from tests.families import few
from tests.model.random_cases import case_of
from tests.present.pictures import SOURCES, VESSELS, EveryKind, box, of_demo, ring_area, stand_apart, subject, text
from tests.report.demo import NAMES, ranged

KINDS = EveryKind()
ABOVE_ATMOSPHERE = 101325.0
GRIDS = ((38, 10), (60, 18), (100, 28))
AT_FACTOR = re.compile(r"air drawn ×(\d+)")


def drawn(name: str, moment: Moment | None, units: str = "metric", wide: float = 1.6) -> Picture:
    case, estimate = KINDS[name]
    return picture(case, estimate, moment, units, wide=wide, raised=frozenset())


def factor_of(shown: Picture) -> int:
    found = AT_FACTOR.search(" ".join(shown.notes))
    return int(found[1]) if found else 1


def areas(shown: Picture, part: str) -> list[np.ndarray]:
    return [area.points for area in shown.areas if area.part == part]


# --- levels and pockets ------------------------------------------------------------------------------

@pytest.mark.parametrize("name", [name for name in KINDS if "crest" not in name])
def test_the_level_is_that_of_the_history(name: str) -> None:
    """To scale up to the air that stays, which may be drawn larger; then never above it."""
    _, estimate = KINDS[name]
    history, height = estimate.fill.history, float(estimate.height_m)
    steps = moments(estimate).fill
    tops = []
    for moment in steps:
        if not isfinite(moment.level_m) or not height > 0.0:
            continue
        if np.isfinite(history.water_m3).all() and len(steps) > 2:
            expected = float(np.interp(moment.water_m3, history.water_m3, history.level_m)) / height
            assert moment.level_m / height == pytest.approx(expected, abs=1e-9)
        else:
            expected = moment.level_m / height
        shown = drawn(name, moment)
        _, bottom, _, top = box(shown)
        water = areas(shown, "water")
        level = (max(float(ring[:, 1].max()) for ring in water) - bottom) / (top - bottom) if water else 0.0
        tops.append((expected, level))
        assert level <= expected + 1e-6
    highest = max((level for _, level in tops), default=0.0)
    assert all(level == pytest.approx(min(expected, highest), abs=1e-6) for expected, level in tops)
    assert not tops or highest > 0.55 * max(expected for expected, _ in tops)


@pytest.mark.parametrize("name", ["cooler-shell", "bench-valve", "vessel: by volume", "vessel: flat", "dry hose",
                                  "manifold"])
def test_the_pocket_shrinks_as_the_air_is_squeezed(name: str) -> None:
    """Of vessels whose volume goes with the level the drawn pocket is the model's, times the factor of the notes; and
    pressure times volume stays, but for the real gas."""
    _, estimate = KINDS[name]
    steps = moments(estimate).pump_up
    free = steps[0].air_m3 * (steps[0].air_gauge_pa + ABOVE_ATMOSPHERE)
    for moment in steps:
        shown = drawn(name, moment)
        _, bottom, _, top = box(shown)
        (ring,) = areas(shown, "air")
        part = (top - float(ring[:, 1].min())) / (top - bottom)
        share = moment.air_m3 / float(estimate.volume_m3)
        assert part == pytest.approx(factor_of(shown) * share, rel=1e-6, abs=1e-9)
        assert moment.air_m3 * (moment.air_gauge_pa + ABOVE_ATMOSPHERE) == pytest.approx(free, rel=0.04)
    assert factor_of(drawn(name, steps[0])) == factor_of(drawn(name, steps[-1])) and len(steps) > 8


def test_trapped_air_is_seen_before_it_is_squeezed() -> None:
    for name, (_, estimate) in KINDS.items():
        steps = moments(estimate).pump_up
        if not steps or not estimate.trapped_air_m3 > 0.0:
            continue
        shown = drawn(name, steps[0])
        whole = sum(ring_area(ring, shown.wide) for ring in areas(shown, "water"))
        air = sum(ring_area(ring, shown.wide) for ring in areas(shown, "air"))
        assert air > 0.02 * whole, name


def test_air_over_crests_sits_under_each_of_them() -> None:
    shown = drawn("vessel: crests", moments(KINDS["vessel: crests"][1]).pump_up[0])
    rings = areas(shown, "air")
    assert len(rings) == 3
    sizes = [ring_area(ring, shown.wide) for ring in rings]
    assert sizes == pytest.approx([sizes[0]] * 3, rel=1e-3)
    whole = ring_area(areas(shown, "water")[0], shown.wide)
    case, estimate = KINDS["vessel: crests"]
    assert sum(sizes) / whole == pytest.approx(factor_of(shown) * float(estimate.trapped_share), rel=2e-2)
    assert case.vessel.high_points()


def test_the_water_comes_along_a_run_over_crests() -> None:
    _, estimate = KINDS["crest-line"]
    ends = []
    for moment in moments(estimate).fill:
        water = areas(drawn("crest-line", moment), "water")
        ends.append(max(float(ring[:, 0].max()) for ring in water))
    assert ends == sorted(ends) and ends[0] < ends[len(ends) // 2] < ends[-1]


# --- proportions ---------------------------------------------------------------------------------------

@pytest.mark.parametrize(("name", "ratio", "true"), [
    ("vessel: flat", 0.6 / 1.2, True), ("vessel: tall", 0.25, False), ("vessel: sphere", 1.0, True),
    ("vessel: squat", 3.0 / (1.2 + 2 * 0.19377 * 3.0), True), ("vessel: lying", (2.6 + 0.5) / 1.0, True),
    ("vessel: long", 4.0, False), ("cooler-shell", 0.62 / 1.9, True),
])
@pytest.mark.parametrize("wide", [1.2, 1.6, 3.0])
def test_the_vessel_is_in_true_proportions_within_one_to_four(name: str, ratio: float, true: bool, wide: float) -> None:
    """A dished end is 0.19377 of the diameter deep: crown of the diameter, knuckle of a tenth of it."""
    shown = drawn(name, None, wide=wide)
    left, bottom, right, top = box(shown)
    assert (right - left) / (top - bottom) == pytest.approx(ratio, rel=2e-3)
    assert ("shape not to scale" in shown.notes) == (not true)


def test_the_source_stands_as_high_as_it_does() -> None:
    heights = {}
    for metres in ("-1.5 m", "0 m", "1.2 m", "2.4 m"):
        case, estimate = subject(text("flat").replace('height = "1 m"', f'height = "{metres}"'))
        shown = picture(case, estimate, raised=frozenset())
        heights[metres] = max(float(line.points[:, 1].max()) for line in shown.lines if line.part == "source")
    assert heights["-1.5 m"] <= heights["0 m"] < heights["1.2 m"] <= heights["2.4 m"]


# --- parts -----------------------------------------------------------------------------------------------

def parts_of(shown: Picture) -> set[str]:
    return {line.part for line in shown.lines}


def labels_of(shown: Picture, part: str) -> str:
    return " | ".join(label.forms[0] for label in shown.labels if label.part == part)


@pytest.mark.parametrize("source", SOURCES)
def test_every_source_is_drawn_and_named(source: str) -> None:
    case, estimate = subject(text(source=source))
    shown = picture(case, estimate, raised=frozenset())
    assert "source" in parts_of(shown) and case.tap.kind in labels_of(shown, "source")
    label = next(one for one in shown.labels if one.part == "source")
    assert label.assumed == (source == "assumed tap")


def test_a_container_empties_and_is_changed() -> None:
    """800 L out of a bucket of 60 L: its water falls, and stands high again after each change-over."""
    case, estimate = KINDS["source: bucket"]
    levels = []
    for moment in moments(estimate).fill:
        shown = picture(case, estimate, moment, raised=frozenset())
        (ring,) = areas(shown, "source")
        levels.append((moment.water_m3 / float(case.tap.contents), float(ring[:, 1].max() - ring[:, 1].min())))
    full = max(height for _, height in levels)
    assert all(height / full == pytest.approx(1.0 - taken % 1.0, abs=1e-6) for taken, height in levels
               if 0.01 < taken % 1.0 < 0.99)
    assert len({round(taken) for taken, _ in levels}) > 2


def test_each_hose_has_its_own_piece_and_figures() -> None:
    one, two = drawn("line: one hose", None), drawn("line: two hoses", None)
    assert len([line for line in one.lines if line.kind == "hose" and line.part == "hose"]) == 1
    pieces = [line.points for line in two.lines if line.kind == "hose" and line.part == "hose"]
    assert len(pieces) == 2 and pieces[0][-1] == pytest.approx(pieces[1][0])
    assert "hose 1 25 m" in labels_of(two, "hose") and "hose 2 25 m" in labels_of(two, "hose")


def test_the_water_enters_where_it_is_said() -> None:
    for name, high in (("line: one hose", False), ("line: from the top", True)):
        shown = drawn(name, None)
        _, bottom, _, top = box(shown)
        end = next(line.points[-1] for line in shown.lines if line.part == "hose")
        assert (end[1] > 0.5 * (bottom + top)) == high, name
    through = drawn("line: through the pump", None)
    end = next(line.points[-1] for line in through.lines if line.part == "hose")
    assert end[0] > box(through)[2] / through.wide


def test_the_fill_hose_is_off_while_pumping_unless_the_tap_stays_on() -> None:
    for name, off in (("cooler-shell", True), ("tall-tank", False)):
        _, estimate = KINDS[name]
        full, up = drawn(name, frames(estimate)[-2]), drawn(name, frames(estimate)[-1])
        reach = [max(line.points[:, 0].max() for line in one.lines if line.part == "hose") for one in (full, up)]
        assert (reach[1] < reach[0] - 0.01) == off
        assert ("disconnect the fill hose" in labels_of(up, "hose")) == off


def test_a_vent_is_open_or_shut_and_sits_where_it_does() -> None:
    _, estimate = KINDS["vent: open"]
    filling, pumping = moments(estimate).fill[3], moments(estimate).pump_up[0]
    assert any(line.kind == "arrow" and line.part == "vent" for line in drawn("vent: open", filling).lines)
    assert labels_of(drawn("vent: open", pumping), "vent") == "vent shut"
    assert not any(line.kind == "arrow" and line.part == "vent" for line in drawn("vent: open", pumping).lines)
    assert "shut" in labels_of(drawn("vent: shut", None), "vent")
    low = drawn("vent: low", None)
    start = next(line.points[0] for line in low.lines if line.part == "vent")
    _, bottom, _, top = box(low)
    assert bottom < start[1] < top - 0.01 and "30 mm below the top" in labels_of(low, "vent")
    assert next(one for one in drawn("vent: assumed", None).labels if one.part == "vent").assumed
    assert not next(one for one in low.labels if one.part == "vent").assumed


def test_the_needle_shows_the_gauge() -> None:
    _, estimate = KINDS["cooler-shell"]
    turns = []
    for moment in moments(estimate).pump_up:
        shown = drawn("cooler-shell", moment)
        tail, tip = next(line.points for line in shown.lines if line.kind == "needle")
        across, up = (tip - tail) * [shown.wide, 1.0]
        turns.append((moment.gauge_pa, (225.0 - np.degrees(np.arctan2(up, across))) % 360.0))
    assert all(turn == pytest.approx(gauge / 40e5 * 270.0, abs=0.01) for gauge, turn in turns)


def test_what_is_not_there_is_not_drawn() -> None:
    plain, full = drawn("vessel: flat", None), drawn("dry hose", None)
    assert "relief valve" not in parts_of(plain) and {"relief valve", "test hose"} <= parts_of(full)


# --- dangers and assumptions --------------------------------------------------------------------------

def test_every_danger_has_its_part() -> None:
    assert set(PART_OF) == {rule.code for rule in (*RULES, *GAS) if rule.weight == "danger"}


@pytest.mark.parametrize("name", NAMES)
def test_a_part_that_raised_a_danger_carries_its_mark(name: str) -> None:
    case, estimate = of_demo(name)
    raised = dangers(case, estimate)
    codes = {one.code for one in cautions(case, estimate) if one.weight == "danger"}
    assert {PART_OF[code] for code in codes} == raised and raised
    shown = picture(case, estimate, frames(estimate)[0])
    assert {line.part for line in shown.lines if line.danger} == raised & parts_of(shown)
    marked = [label for label in shown.labels if label.danger]
    assert {label.part for label in marked} == raised & {label.part for label in shown.labels}
    assert all(form.startswith(("DANGER ", "! ")) for label in marked for form in forms_of(label))


# --- labels ---------------------------------------------------------------------------------------------

def _steps(name: str) -> list[Moment | None]:
    found = moments(KINDS[name][1])
    return [None, found.fill[0], *frames(KINDS[name][1]), *found.pump_up[len(found.pump_up) // 2:][:1]]


@pytest.mark.parametrize("name", few(KINDS, 12))
@pytest.mark.parametrize(("columns", "rows"), GRIDS)
def test_no_label_covers_another_or_a_line_or_is_cut(name: str, columns: int, rows: int) -> None:
    case, estimate = KINDS[name]
    raised = dangers(case, estimate)
    for moment in _steps(name):
        shown = picture(case, estimate, moment, wide=columns / (2 * rows), raised=raised)
        stands = placed(shown, columns, rows)
        stand_apart(stands, columns, rows)
        for line in shown.lines:
            ends = line.points * [columns, rows]
            part = np.linspace(0.0, 1.0, 60)[None, :, None]
            at = (ends[:-1, None] + (ends[1:] - ends[:-1])[:, None] * part).reshape(-1, 2)
            for one in stands:
                down = rows - at[:, 1] - one.row
                over = at[:, 0] - one.column
                inside = (down > 0.1) & (down < 0.9) & (over > 0.1) & (over < len(one.text) - 0.1)
                assert not inside.any(), (one.text, line.part)


@pytest.mark.parametrize("name", KINDS)
def test_on_a_large_screen_every_label_finds_its_room(name: str) -> None:
    case, estimate = KINDS[name]
    raised = dangers(case, estimate)
    for moment in _steps(name):
        shown = picture(case, estimate, moment, wide=100 / 56, raised=raised)
        there = {one.label for one in placed(shown, 100, 28)}
        assert [label.forms for label in shown.labels
                if label not in there and (label.danger or label.rank < MAY_GO)] == []


@pytest.mark.parametrize("name", NAMES)
def test_on_the_smallest_the_figures_of_the_moment_are_there(name: str) -> None:
    case, estimate = of_demo(name)
    for moment in frames(estimate):
        shown = picture(case, estimate, moment, wide=38 / 20)
        there = {one.label.part for one in placed(shown, 38, 10)}
        assert {"gauge", "source", "vent", "pump"} <= there
        assert "hose" in there or moment.stage == "pump-up" or not case.fill.hose


@pytest.mark.parametrize("name", NAMES)
def test_the_dimensions_are_told_at_every_moment_on_the_smallest_too(name: str) -> None:
    case, estimate = of_demo(name)
    units = "us" if name.endswith("-us") else "metric"
    for moment in (None, *frames(estimate)):
        shown = picture(case, estimate, moment, units, wide=38 / 20)
        stands = placed(shown, 38, 10)
        told = {*(one.text for one in stands), *notes_of(shown, stands)}
        assert {*Figures(case, estimate, moment, units).dimensions()} <= told, moment


METRIC = re.compile(r"\d (bar|mbar|mm|cm|m|L|mL|m³|L/min|mL/min)\b|\btap\b")
US = re.compile(r"\d (psi|in|ft|US gal|gpm|in³)\b")


@pytest.mark.parametrize("name", KINDS)
def test_us_units_are_us_units(name: str) -> None:
    for moment in _steps(name):
        shown = drawn(name, moment, "us")
        words = " | ".join([*(form for label in shown.labels for form in label.forms), *shown.caption, *shown.notes])
        assert not METRIC.search(words) and US.search(words), words


def test_a_fill_that_never_ends_has_no_pump_up() -> None:
    case, estimate = subject(text("tall", "header tank").replace('height = "6 m"', 'height = "1 m"'))
    found = moments(estimate)
    assert not estimate.fill.finished and found.pump_up == () and len(frames(estimate)) >= 1
    shown = picture(case, estimate, found.fill[-1])
    assert any("level" in label.forms[0] for label in shown.labels)


def test_moments_are_nodes_of_the_history_from_empty_to_full_to_test_pressure() -> None:
    for name in NAMES:
        _, estimate = of_demo(name)
        found = moments(estimate)
        assert found.fill[0].filled == pytest.approx(0.0, abs=1e-6) and 8 <= len(found.fill) <= 26
        assert found.fill[-1].water_m3 == pytest.approx(float(estimate.fill.water_m3))
        times = [moment.time_s for moment in found.fill]
        assert times == sorted(times)
        assert found.pump_up[-1].gauge_pa == pytest.approx(float(estimate.pressurise.test_gauge_pa))
        assert found.pump_up[-1].strokes == pytest.approx(float(estimate.pressurise.strokes), nan_ok=True)
        half, full, up = frames(estimate)
        assert 0.3 < half.filled < 0.7
        assert (full.water_m3, up.gauge_pa) == (found.fill[-1].water_m3, found.pump_up[-1].gauge_pa)
        assert full.gauge_pa > 0.0 or estimate.height_m == 0.0


@pytest.mark.parametrize("name", few(NAMES))
def test_a_history_ends_with_the_figures_that_are_told(name: str) -> None:
    """Strip and report tell likely figures, the picture one path at likely values, stretched to end with them."""
    case, estimate = ranged(name)
    case, estimate = at_likely_values(case), likely(estimate, "metric")
    _, plain = of_demo(name)
    for moment in frames(estimate):
        beside = [picture(case, one, moment, raised=frozenset()) for one in (estimate, plain)]
        assert beside[0].notes == beside[1].notes
        levels = [[line.points[0, 1] for line in one.lines if line.kind == "level"] for one in beside]
        assert levels[0] == pytest.approx(levels[1], abs=0.02)
    assert any("full" in label.forms[0] for label in picture(case, estimate, frames(estimate)[1]).labels)
    pump = estimate.pressurise
    done, pumped, _ = picture(case, estimate, frames(estimate)[2], raised=frozenset()).caption
    assert pumped == f"{show(pump.water_m3, 'volume')} pumped"
    if isfinite(pump.strokes):
        assert done == "after {0} of {0} strokes".format(show(pump.strokes, "strokes"))


@pytest.mark.parametrize("seed", few(range(24), 6))
def test_a_case_drawn_at_random_has_a_whole_picture_of_every_moment(seed: int) -> None:
    """Every shape, source and pump, every way of giving them: all lines lie on the sheet, and no figure is missing."""
    case = case_of(seed)
    if case is None:
        return
    case, estimate = at_likely_values(case), at_likely_values(estimated(case))
    found, raised = moments(estimate), dangers(case, estimate)
    for moment in (None, *found.fill[:1], *frames(estimate), *found.pump_up[len(found.pump_up) // 2:][:1]):
        shown = picture(case, estimate, moment, raised=raised)
        for part in (*shown.lines, *shown.areas):
            assert np.isfinite(part.points).all() and part.points.min() > -0.02 and part.points.max() < 1.02, part
        words = [*(form for label in shown.labels for form in label.forms), *shown.caption]
        assert not any("–" in text or "nan" in text or "no end" in text for text in words), words
        assert placed(shown, 60, 18)


def test_the_shapes_are_all_here() -> None:
    from fillcalc.case.records import VESSELS as RECORDS

    drawn_shapes = {case.vessel.shape for case, _ in KINDS.values()}
    assert {record.shape for record in RECORDS if record.offered} <= drawn_shapes
    assert all(choice_label("vessel.shape", shape, "metric") for shape in drawn_shapes) and len(VESSELS) > 10
