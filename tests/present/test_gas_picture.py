"""The picture of a test with gas is true: bottles and steps stand as high as their pressures, each moment is of the
march itself, the danger is said with every one, and no label covers another."""

from __future__ import annotations

import re
from functools import cache

import numpy as np
import pytest

from fillcalc.case.read import read_text
from fillcalc.case.records import Case
from fillcalc.cautions import cautions
from fillcalc.estimation.answers import Estimate, at_likely_values
from fillcalc.estimation.estimate import estimate as estimated
from fillcalc.present.picture import GasMoment, Picture, dangers, frames, moments, picture, placed
from fillcalc.present.picture.dangers import PART_OF
from tests.families import few
from tests.present.pictures import box, of_demo, stand_apart, subject
from tests.report.demo import GAS_NAMES

HEAD = """format = 1
[vessel]
shape = "standing cylinder"
diameter = "500 mm"
height = "1.6 m"
[test]
pressure = "{}"
medium = "nitrogen"
rise_limit = "5 bar/min"
[gas_supply]
kind = "{}"
pressure = "150 bar"
"""
MANY = HEAD.format("40 bar", "bottles") + 'volume = "10 L"\nbottles = 14\nat_once = 2\n[gas_vent]\nbore = "4 mm"\n' + \
    '[gas_line]\nhose_length = "5 m"\nhose_bore = "6 mm"\n'
BOOSTED = HEAD.format("180 bar", "booster").replace("500", "150") + \
    'volume = "50 L"\nbottles = 2\nratio = 60\n[gas_vent]\nkv = 0.1\n'
STUCK = HEAD.format("180 bar", "bottles") + 'volume = "50 L"\nbottles = 2\n[gas_vent]\nkv = 0.1\n'
RUN = HEAD.format("9 bar", "air line").replace("150", "14").replace("nitrogen", "air").replace(
    'shape = "standing cylinder"\ndiameter = "500 mm"\nheight = "1.6 m"',
    'shape = "pipe run"\ndiameter = "100 mm"\nlength = "80 m"\nrise = "5 m"')
IRON = MANY.replace("[test]", 'material = "cast iron"\nnever_above = "60 bar"\n[test]', 1) + \
    '[relief_valve]\nset = "48 bar"\n'
WRITTEN = {"many bottles": MANY, "a booster": BOOSTED, "bottles too low": STUCK, "a pipe run on an air line": RUN,
           "cast iron": IRON}
KINDS = (*GAS_NAMES, *WRITTEN)
GRIDS = ((38, 10), (60, 18), (100, 28))


@cache
def of(name: str) -> tuple[Case, Estimate]:
    return subject(WRITTEN[name]) if name in WRITTEN else of_demo(name)


def drawn(name: str, moment: GasMoment | None, units: str = "metric", wide: float = 1.6) -> Picture:
    case, estimate = of(name)
    return picture(case, estimate, moment, units, wide=wide, raised=frozenset())


def height(shown: Picture, part: str, kind: str) -> float:
    """How high the lines of a part reach."""
    return max(float(line.points[:, 1].max()) for line in shown.lines if line.part == part and line.kind == kind)


@pytest.mark.parametrize("name", few(KINDS, 1))
def test_the_moments_are_nodes_of_the_march_in_order(name: str) -> None:
    _, estimate = of(name)
    gas = estimate.gas
    assert gas is not None
    found = moments(estimate)
    assert found.fill == found.pump_up == () and found.gas
    up = [one for one in found.gas if one.stage != "let off"]
    times = [one.time_s for one in up]
    assert times == sorted(times) and up[0].gauge_pa == pytest.approx(0.0, abs=1e-6)
    for one in up:
        place = int(np.argmin(np.abs(gas.history.time_s - one.time_s)))
        assert one.gauge_pa == gas.history.pressure_gauge_pa[place]
        assert one.stop_gauge_pa in gas.stops.gauge_pa and one.stop_gauge_pa >= one.gauge_pa * (1.0 - 1e-4)
        assert len(one.left_gauge_pa) == one.opened - 1
    if gas.bottles.enough:
        assert up[-1].stage == "read" and up[-1].time_s == pytest.approx(float(gas.rise.read_s))
        assert up[-1].gauge_pa == pytest.approx(float(gas.test_gauge_pa), rel=1e-4)
        off = [one for one in found.gas if one.stage == "let off"]
        assert off[0].gauge_pa == pytest.approx(float(gas.test_gauge_pa))
        assert off[-1].time_s == pytest.approx(float(gas.off.time_s))
        falls = [one.gauge_pa for one in off]
        assert falls == sorted(falls, reverse=True) and falls[-1] <= 0.5e5 + 1.0
        for stop in np.ravel(gas.stops.gauge_pa):
            assert min(abs(one.gauge_pa - stop) for one in up) < 1e-5 * stop
    else:
        assert up[-1].stage in ("ends", "cannot") and up[-1].gauge_pa < float(gas.test_gauge_pa)
        assert not any(one.stage == "let off" for one in found.gas)


@pytest.mark.parametrize("name", few((name for name in KINDS if "line" not in name and "seat" not in name), 2))
def test_each_bottle_stands_as_high_as_its_pressure(name: str) -> None:
    case, estimate = of(name)
    full = float(case.gas_supply.pressure)  # type: ignore[union-attr]
    once = int(case.gas_supply.at_once)  # type: ignore[union-attr]
    for moment in moments(estimate).gas:
        shown = drawn(name, moment)
        bottles = {area.part: area.points[:, 1] for area in shown.areas if area.part.startswith("bottles ")}
        walls = {line.part: line.points for line in shown.lines if line.part.startswith("bottles ")}
        assert 1 <= len(walls) <= 3
        shoulder = sorted(set(np.round(next(iter(walls.values()))[:, 1], 9)))[1]
        for part in walls:
            number = int(part.split()[1]) - 1
            group = number // once
            pressure = (moment.left_gauge_pa[group] if group < moment.opened - 1 else
                        moment.bottle_gauge_pa if group == moment.opened - 1 else full)
            low = float(walls[part][:, 1].min())
            level = float(bottles[part].max()) if part in bottles else low
            assert (level - low) / (shoulder - low) == pytest.approx(max(pressure, 0.0) / full, abs=1e-6)
        found = [label.forms[-1] for label in shown.labels if label.part.startswith("bottles ")]
        assert len(found) == len(walls) and all(re.search(r"\d", form) for form in found)


@pytest.mark.parametrize("name", few(KINDS))
def test_the_scale_of_steps_is_true(name: str) -> None:
    """A tick at each stop, a bar as high as the pressure, and the needle where the gauge is."""
    case, estimate = of(name)
    test = float(estimate.pressurise.test_gauge_pa)
    stops = np.ravel(np.asarray(estimate.gas.stops.gauge_pa))  # type: ignore[union-attr]
    for moment in moments(estimate).gas:
        shown = drawn(name, moment)
        low = min(float(line.points[:, 1].min()) for line in shown.lines if line.part == "steps")
        top = height(shown, "test pressure", "mark")
        ticks = [float(line.points[0, 1]) for line in shown.lines if line.part == "steps" and line.kind == "line"
                 and line.points[0, 1] == line.points[1, 1]]
        assert ticks == pytest.approx([low + share * (top - low) for share in stops[:-1] / test])
        if moment.gauge_pa > 0.0:
            bar = height(shown, "steps", "needle")
            assert (bar - low) / (top - low) == pytest.approx(moment.gauge_pa / test, abs=1e-3)
        scale = float(case.gauge.full_scale) if case.gauge.full_scale is not None else 1.5 * test
        tail, tip = next(line.points for line in shown.lines if line.kind == "needle" and line.part == "gauge")
        across, up = (tip - tail) * [shown.wide, 1.0]
        turn = (225.0 - np.degrees(np.arctan2(up, across))) % 360.0
        assert turn == pytest.approx(max(moment.gauge_pa, 0.0) / scale * 270.0, abs=0.05) or turn > 359.9


@pytest.mark.parametrize("name", few(KINDS))
def test_gas_is_drawn_where_it_is_and_leaves_where_it_leaves(name: str) -> None:
    """Dots in the vessel only under pressure, an arrow out of the vent only while letting off, one in while it flows.
    """
    for moment in moments(of(name)[1]).gas:
        shown = drawn(name, moment)
        inside = [area for area in shown.areas if area.part == "air"]
        assert bool(inside) == (moment.gauge_pa > 0.0)
        out = any(line.kind == "arrow" and line.part == "let-off valve" for line in shown.lines)
        into = any(line.kind == "arrow" and line.part == "flow" for line in shown.lines)
        assert out == (moment.stage == "let off") and into == (not out and moment.flow_m3_s > 0.0)
        if moment.stage in ("stop", "change"):
            assert not into
        _, bottom, _, top = box(shown)
        for area in inside:
            assert area.points[:, 1].min() >= bottom - 1e-9 and area.points[:, 1].max() <= top + 1e-9


@pytest.mark.parametrize("name", KINDS)
def test_every_moment_says_first_how_far_to_stand(name: str) -> None:
    _, estimate = of(name)
    for moment in (None, *moments(estimate).gas):
        caption = drawn(name, moment).caption
        assert caption[0] == ("keep behind a screen" if "seat" in name else "nobody within 30 m")


def test_a_part_that_raised_a_danger_carries_its_mark() -> None:
    for name in ("cast iron", "many bottles"):
        case, estimate = of(name)
        codes = {one.code for one in cautions(case, estimate) if one.weight == "danger"}
        raised = dangers(case, estimate)
        assert raised == {PART_OF[code] for code in codes} and raised
        shown = picture(case, estimate, frames(estimate)[0])
        assert {line.part for line in shown.lines if line.danger} == raised
        assert {label.part for label in shown.labels if label.danger} == raised
    assert "vessel" in dangers(*of("cast iron")) and "regulator" in dangers(*of("many bottles"))


def test_of_many_bottles_those_about_the_open_one_are_drawn() -> None:
    _, estimate = of("many bottles")
    last = next(one for one in moments(estimate).gas if one.stage == "read")
    assert last.opened > 2
    shown = drawn("many bottles", last)
    numbers = [int(line.part.split()[1]) for line in shown.lines if line.part.startswith("bottles ")]
    first = (last.opened - 1) * 2 + 1
    assert numbers == [first - 1, first, first + 1] and "3 of 14 bottles drawn" in shown.notes


@pytest.mark.parametrize("name", KINDS)
@pytest.mark.parametrize(("columns", "rows"), GRIDS)
def test_no_label_covers_another_and_the_figures_of_the_moment_are_there(name: str, columns: int, rows: int) -> None:
    case, estimate = of(name)
    raised = dangers(case, estimate)
    for moment in (None, *frames(estimate)):
        shown = picture(case, estimate, moment, wide=columns / (2 * rows), raised=raised)
        stands = placed(shown, columns, rows)
        stand_apart(stands, columns, rows)
        assert ({"gauge"} if rows == GRIDS[0][1] else {"gauge", "regulator"}) <= {one.label.part for one in stands}
        assert any(one.label.part.startswith("bottles") for one in stands)


@pytest.mark.parametrize("name", KINDS)
def test_every_figure_is_known_and_in_the_units_of_the_reader(name: str) -> None:
    for moment in (None, *moments(of(name)[1]).gas):
        for units in ("metric", "us"):
            shown = drawn(name, moment, units)
            words = " | ".join([*(form for label in shown.labels for form in label.forms), *shown.caption])
            assert "nan" not in words and "–" not in words and "no end" not in words, words
            assert not re.search(r"\d (bar|mm|m³|L/min|°C)\b" if units == "us" else r"\d (psi|in|cfm|°F)\b", words)
            for part in (*shown.lines, *shown.areas):
                assert np.isfinite(part.points).all() and part.points.min() > -0.02 and part.points.max() < 1.02


def test_the_picture_of_a_random_seat_on_a_manifold_is_whole() -> None:
    written = RUN.replace('shape = "pipe run"\ndiameter = "100 mm"\nlength = "80 m"\nrise = "5 m"',
                          'shape = "valve body"\nvolume = "3 L"\ncount = 12\nat_once = 4')
    case = read_text(written)
    case, estimate = at_likely_values(case), at_likely_values(estimated(case))
    shown = picture(case, estimate, frames(estimate)[0])
    assert any("4 pieces, 12" in form for label in shown.labels for form in label.forms)
