"""Every demo case on the screen: answers, charts, and nothing that cannot be drawn."""

from __future__ import annotations

import asyncio
from itertools import pairwise, product
from math import isfinite
from pathlib import Path

import pytest

import cases
from fillcalc.case.names import in_units
from fillcalc.case.read import read_file
from fillcalc.case.shape_of import walk
from fillcalc.estimation.answers import at_likely_values
from fillcalc.present.charts import MAKERS, Bars, Chart, Subject, pumping
from fillcalc.present.lines import main_lines
from fillcalc.questions.likely import likely
from fillcalc.units import read_quantity
from tests.families import few
from tests.report.demo import GAS_NAMES, ranged
from tests.screen.support import picture, run, screen, until
from tui.state.session import Request, other_air, work_out
from tui.widgets.plot import ROOM, SPARE, Look, bar_lines, chart_lines, even_axis, in_whole_rows, largest

DEMOS = sorted(p for p in Path(cases.__file__).parent.glob("*.toml") if p.stem != "kit")


@pytest.mark.parametrize("path", few(DEMOS, 4), ids=lambda p: p.stem)
def test_charts_of_every_demo_case(path: Path) -> None:
    case, whole = ranged(path.stem)
    with_gas = path.stem.startswith("gas-")
    request = Request(1, path.read_text(encoding="utf-8"), path.name)
    other = None if with_gas else at_likely_values(other_air(work_out(request))[1])
    for units in ("metric", "us"):
        _charts_fit(Subject(case, likely(whole, units), other, units), with_gas)
        assert len(main_lines(likely(whole, units), units)) == 4


def test_ticks_stand_in_even_rows_where_the_room_allows_it() -> None:
    uneven = 0
    for rows, top in product(range(5, 14), (0.7, 1.9, 24.0, 3.82, 61.0, 225.0)):
        axis = in_whole_rows(even_axis(0.0, ROOM * top, max(2, rows // 2)), rows, top)
        places = [round((1.0 - float(axis.part(value))) * (4 * rows - 1)) // 4 for value, _ in axis.ticks]
        apart = {before - after for before, after in pairwise(places)}
        assert top <= axis.high <= SPARE * ROOM * top and max(apart) - min(apart) <= 1
        uneven += len(apart) > 1
    assert uneven <= 14


def _charts_fit(subject: Subject, with_gas: bool) -> None:
    """Every chart has marks and notes, and fills the room it is given and no more."""
    made = [maker(subject) for maker in MAKERS]
    assert sum(chart is not None for chart in made) >= (1 if with_gas else 6)
    for chart in made:
        if isinstance(chart, Chart):
            assert len({curve.mark for curve in chart.curves}) == len(chart.curves)
            assert all(curve.x.shape == curve.y.shape and curve.x.size for curve in chart.curves)
            assert any(chart.notes)
            for width, height in ((76, 9), (60, 16), (44, 8)):
                for letters in (False, True):
                    drawn = chart_lines(chart, width, height, Look(str, letters))
                    assert len(drawn) == height and max(line.cell_length for line in drawn) <= width
                    assert any(chart.x_words in line.plain for line in drawn)
                    if width > 44:
                        assert all(any(curve.words in line.plain for line in drawn) for curve in chart.curves)
                        points = sum(line.plain.count("X" if letters else "◆") for line in drawn)
                        assert points == sum(curve.x.size == 1 for curve in chart.curves)
        elif isinstance(chart, Bars):
            few, left_out = largest(chart, 5)
            assert len(few.bars) + left_out == len(chart.bars)
            for letters in (False, True):
                ranged_too = any(bar.low is not None for bar in chart.bars)
                for bar, line in zip(chart.bars, bar_lines(chart, 66, Look(str, letters)), strict=True):
                    if ranged_too and (bar.high is None or isfinite(bar.high)):  # whiskers: what is sure is a point
                        assert line.plain.count("o" if letters else "●") >= 1 and not {"━", "="} & set(line.plain)
                    assert line.cell_length <= 66
                    assert not letters or line.plain.isascii() or {"°", "±"} & set(line.plain)


@pytest.mark.parametrize("path", few([path for path in DEMOS if path.stem in GAS_NAMES], 1), ids=lambda p: p.stem)
def test_every_demo_case_opens_as_a_copy_and_answers(path: Path) -> None:
    """Those of a test with water: `tests.present.test_told_once`, on the same screen."""
    async def test() -> None:
        async with screen(path) as (app, pilot):
            await until(pilot, lambda: app.settled)
            assert app.session.state == "now"
            assert app.session.path is None and app.session.saved
            assert "no file yet" in picture(app)
            assert "never" not in picture(app).splitlines()[3]

    run(test())


def test_pumping_chart_is_linear_in_air() -> None:
    """The curves without air and with more air, drawn from two estimates, end where the ladder says."""
    path = next(p for p in DEMOS if p.stem == "cooler-shell")
    request = Request(1, path.read_text(encoding="utf-8"), path.name)
    answered = work_out(request)
    assert answered.case is not None and answered.estimate is not None
    other = at_likely_values(other_air(answered)[1])
    chart = pumping(Subject(answered.case, likely(answered.estimate), other, "metric"))
    assert isinstance(chart, Chart)
    ends = {curve.words: float(curve.x[-1]) for curve in chart.curves}
    rungs = {round(float(r.share), 6): float(r.strokes) for r in answered.estimate.air_ladder}
    assert ends["no air"] == pytest.approx(rungs[0.0], rel=2e-3)
    assert ends["more air"] == pytest.approx(rungs[0.01], rel=2e-3)


def test_a_kit_item_replaces_the_table_and_leaves_a_readable_case(tmp_path: Path) -> None:
    from tui.places.kit import load, with_item

    kit = load(Path(cases.__file__).parent / "kit.toml")
    text = (Path(cases.__file__).parent / "cooler-shell.toml").read_text(encoding="utf-8")
    for what, place in (("hose", "fill.hose.1"), ("pump", "pump")):
        for item in kit[what]:
            case = tmp_path / "case.toml"
            case.write_text(with_item(text, place, item), encoding="utf-8")
            read_file(case)


def test_newest_does_only_the_newest() -> None:
    """A request that is overtaken while it waits is never begun."""
    import threading

    from tui.state.latest import LatestOnly

    done: list[int] = []
    gate = threading.Event()

    def work(number: int) -> None:
        gate.wait(5)
        done.append(number)

    newest = LatestOnly(work, "test")
    newest.ask(1)
    asyncio.run(asyncio.sleep(0.05))
    for number in (2, 3, 4):
        newest.ask(number)
    assert newest.overtaken
    gate.set()
    newest.end()
    assert done == [1, 4]


def test_every_palette_colour_stands_in_the_style_sheet() -> None:
    """No colour is written into the logic of the screen."""
    import re

    folder = Path(cases.__file__).parent.parent / "tui"
    for file in folder.glob("*.py"):
        text = file.read_text(encoding="utf-8")
        assert not re.search(r"[\"'](#[0-9a-fA-F]{3,8}|red|green|yellow|blue|cyan|magenta)[\"']|rgb\(", text), file


@pytest.mark.parametrize("path", DEMOS, ids=lambda p: p.stem)
def test_hints_in_us_units_can_be_typed(path: Path) -> None:
    """An example or a default in the units of the screen is read as what it stands for, to three digits; in metric
    units only a time is worded anew."""
    turned = 0
    for where, said, _ in walk(read_file(path)):
        if said.form != "quantity":
            continue
        for text in (said.example, said.default.text if said.default else ""):
            for units in ("us", "metric"):
                shown = in_units(text, said, units)
                if shown != text:
                    value, family = read_quantity(text, said.families)
                    assert read_quantity(shown, said.families) == (pytest.approx(value, rel=5e-3), family), where
                    assert units == "us" or family == "duration", where
                    turned += units == "us"
    assert turned > 20
