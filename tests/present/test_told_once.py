"""Every figure and sentence is told once: screen, text, page and data of every demo case agree, metric and US."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cache
from html import unescape
from math import isfinite
from unittest.mock import patch

import numpy as np
import pytest

from fillcalc.case.read import read_text
from fillcalc.case.records import Case
from fillcalc.estimation.answers import Estimate, Rung, Spread, answers
from fillcalc.formats.data import estimate_data, line
from fillcalc.formats.page import page
from fillcalc.formats.text import report
from fillcalc.formats.visit_text import combined_data, combined_report
from fillcalc.job.samples import assign, keys, samples
from fillcalc.present.days import days_sentences
from fillcalc.present.inputs import labelled
from fillcalc.present.lines import TIME_ON_SITE, groups, main_lines
from fillcalc.present.loads import load_rows, loads_words
from fillcalc.present.needs import COMMON, TO_BRING, to_bring
from fillcalc.present.readings import main_rows
from fillcalc.present.sentences import found_of, job_sentences, trade
from fillcalc.present.tables import combined_needs, ladder_rows, stage_rows, swing_rows
from fillcalc.questions.likely import at, likely
from fillcalc.questions.percentiles import percentiles
from fillcalc.questions.ranges import missing, total_of, with_ranges
from fillcalc.questions.readings.answer import readings
from fillcalc.questions.visit import CombinedVisit, likely_visit, visit
from fillcalc.tree import put
from fillcalc.units import show
from fillcalc.units.spans import Three, rounded
from tests.families import few, thorough
from tests.model.random_cases import case_of
from tests.report.demo import CASES, NAMES, ranged
from tests.screen.support import picture, run, screen, until
from tests.worked import work_out
from tui.places.answers import Answers
from tui.places.compare import all_pairs, main_pairs
from tui.places.quote import Quote
from tui.places.set_up import SetUp

UNITS = ("metric", "us")
COUNTED = re.compile(r"\(\+\d+ more: Esc \w\)")
"""How many cautions there is no room for: no figure of the case."""
FIGURE = re.compile(r"\d+(?:\.\d+)?")
MAIN = {"fill.time_s": "duration", "fill.water_m3": "volume", "pressurise.time_s": "duration",
        "pressurise.water_m3": "volume", "pressurise.strokes": "strokes", "pressurise.times_air_free": "ratio"}
"""The main answers that have a range, by their path and family."""
NEAR = 0.15
"""How far the run at likely values may lie from the likely figure."""


def flat(text: str) -> str:
    return " ".join(text.split())


def words_of_page(case: Case, estimate: Estimate, units: str) -> str:
    """The words of the page; nothing is drawn for them."""
    with patch("fillcalc.formats.plots.drawn", lambda *_: ""):
        html = page(case, estimate, units)
    return flat(unescape(re.sub(r"<[^>]*>", " ", re.sub(r"<svg.*?</svg>|<style.*?</style>", " ", html,
                                                        flags=re.DOTALL))))


@cache
def every_form(name: str, units: str) -> tuple[Case, Estimate, str, str]:
    """Case, likely estimate, text report and the words of the page."""
    case, estimate = ranged(name)
    return case, likely(estimate, units), flat(report(case, estimate, units)), words_of_page(case, estimate, units)


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("name", few(NAMES, 4))
def test_text_page_and_data_tell_the_same(name: str, units: str) -> None:
    case, estimate, text, html = every_form(name, units)
    data = json.loads(line(estimate_data(*ranged(name), units)))
    pieces = [trade(part, units) for one in main_lines(estimate, units, found_of(case)) for part in (
        one.label, one.value, *one.more)]
    pieces += [*data["needs"], *data["quote"][:-1], *(trade(row["text"], units) for row in data["cautions"])]
    pieces += [*job_sentences(case, estimate, units)]
    pieces += [" ".join(row) for rows in (stage_rows(estimate, units), swing_rows(case, estimate, units, 6))
               for row in rows]
    assert [piece for piece in pieces if flat(piece) not in text] == []
    drawn = {" ".join(row) for row in swing_rows(case, estimate, units, 6)}  # the page has these as bars
    assert [piece for piece in pieces if flat(piece).replace(COMMON, "") not in html and piece not in drawn] == []
    for path, family in MAIN.items():
        each = data["answers"][path]
        if None not in (each["low"], each["likely"], each["high"]):
            three = rounded(Three(each["low"], each["likely"], each["high"]), family, units)
            assert show(three.likely, family, units) in text, path


def _below_the_picture(rows: list[str]) -> list[str]:
    """The answers below the picture, whose labels are inputs as they are drawn."""
    return rows[next(number for number, row in enumerate(rows) if row.strip(" ─") == "Fill"):]


@pytest.mark.parametrize("name", few(NAMES, 1))
def test_every_figure_on_the_screen_is_in_the_report(name: str) -> None:
    """The strip and what stands beside the form: each figure stands in the text report, each whole line's with its
    unit. The case is open as a copy, and answered."""
    seen: dict[str, list[str]] = {}

    async def test() -> None:
        async with screen(CASES / f"{name}.toml", 200, 60, ranges=True) as (app, pilot):
            while len(seen) < len(UNITS):
                await until(pilot, lambda: app.session.ranged is not None
                            and app.session.ranged.number == app.session.number)
                assert app.session.state == "now" and app.session.path is None and app.session.saved
                assert "no file yet" in picture(app) and "never" not in picture(app).splitlines()[3]
                seen[app.units] = [row.plain for row in app.query_one(Answers).rows(400, 400)]
                seen[app.units] += _below_the_picture([row.plain for row in app.query_one(SetUp).lines(400, 400)])
                await app.action_units()

    run(test())
    assert set(seen) == set(UNITS)
    for units, rows in seen.items():
        _every_figure_is_in_the_report(name, units, rows)


@pytest.mark.parametrize("name", few(["ammonia-line-us", "gas-receiver"], 1))
def test_the_place_quote_ends_in_what_to_bring(name: str) -> None:
    async def test() -> None:
        async with screen(CASES / f"{name}.toml", 120, 36, ranges=True) as (app, pilot):
            await until(pilot, lambda: app.session.ranged is not None
                        and app.session.ranged.number == app.session.number)
            rows = [row.plain.strip(" ─") for row in app.query_one(Quote).lines(400, 400)]
            case, estimate = ranged(name)
            brought = to_bring([case], [likely(estimate, app.units)], app.units)
            assert brought and rows[-1 - len(brought):] == [TO_BRING, *brought]

    run(test())


@pytest.mark.parametrize("units", UNITS)
def test_what_the_sun_adds_has_two_figures_and_one_value(units: str) -> None:
    _, estimate, text, words = every_form("ammonia-line-us", units)
    assert estimate.hold is not None
    adds = show(estimate.hold.sun_high_pa, "pressure_change", units)
    assert len(re.sub("[^0-9]", "", adds).strip("0")) <= 2
    for form in (text, words):
        assert f"Ten minutes of full sun can add {adds}" in form


def test_a_us_reader_is_told_the_cv_in_tables_of_inputs() -> None:
    """A Kv of 0.25 is a Cv of 0.289: one is 0.865 of the other."""
    case = ranged("gas-receiver")[0]
    for units, name, value in (("metric", "gas line, Kv", "0.25"), ("us", "gas line, Cv", "0.289")):
        rows = [row for _, group in labelled(case, units) for row in group]
        assert [row[1] for row in rows if row[0] == name] == [value]
        assert {name[-2:] for name, *_ in rows if name.endswith((" Kv", " Cv"))} == {name[-2:]}


def _every_figure_is_in_the_report(name: str, units: str, seen: list[str]) -> None:
    case, estimate, text, _ = every_form(name, units)
    lines = [*main_lines(estimate, units, found_of(case)),
             *(one for group in groups(case, estimate, units) for one in group.lines)]
    assert [one for one in lines if isfinite_text(one.value) and one.value not in text] == []
    assert sum(one.value in row for one in lines for row in seen) >= len(lines)
    beside = " ".join(part for one in lines for part in one.more)
    known = set(FIGURE.findall(f"{text} {beside}"))
    rows = [COUNTED.sub("", row) for row in seen]
    assert [(number, row) for row in rows for number in FIGURE.findall(row) if number not in known] == []


@pytest.mark.parametrize(("name", "pieces", "once"), few([
    ("valve-batch", 24, 4), ("bench-valve", 10, 4), ("tall-tank", 1, 1), ("valve-block", 3, 1),
    ("cooler-shell", 1, 1)], 2))
def test_a_visit_tells_what_the_estimate_tells(name: str, pieces: int, once: int) -> None:
    """One vessel and many: time, loads, days, needs and quote of a visit with this one case are those of the case."""
    case = put(put(ranged(name)[0], "vessel.count", pieces), "vessel.at_once", once)
    estimate, (combined, estimates) = with_ranges(case), visit([case])
    for units in UNITS:
        _both_tell_the_same(case, estimate, combined, estimates, units)


def _both_tell_the_same(case: Case, estimate: Estimate, combined: CombinedVisit, estimates: Sequence[Estimate],
                        units: str) -> None:
    pieces, once = case.vessel.count or 1, case.vessel.at_once or 1
    printed, text = likely(estimate, units), flat(report(case, estimate, units))
    words = words_of_page(case, estimate, units)
    of_visit = flat(combined_report([case], combined, estimates, units))
    data = json.loads(line(estimate_data(case, estimate, units)))
    of_visit_data = json.loads(line(combined_data([case], combined, estimates, units)))
    assert (data["needs"], data["quote"]) == (of_visit_data["needs"], of_visit_data["quote"])
    assert data["answers"]["loads.water_m3"]["likely"] == pytest.approx(of_visit_data["water_m3"], rel=1e-9)
    drawn = {head: value for head, *_, value in load_rows(printed, units)}
    heads, *_, in_all = combined_needs(likely_visit(combined, [printed]), units)
    for head, value in zip(heads[1:], in_all[1:], strict=True):
        assert head in of_visit and f"in all {' '.join(in_all[1:])}" in of_visit
        if drawn:
            assert drawn[head] == value
        elif head.startswith("free air"):
            assert f"The pump draws {value} {head.partition(', ')[2]} of free air" in text
    for key in ("low", "likely", "high"):
        assert data["days"][key] == of_visit_data["days"][key]
    on_site = next(one for one in main_lines(printed, units) if one.label == "Time on site")
    pieces_told = [on_site.value, on_site.range, *days_sentences(printed.days, [printed.loads], units), *data["quote"]]
    if pieces > 1:
        pieces_told.append(loads_words(printed.loads, units))
    for place in (text, of_visit):
        assert [each for each in pieces_told if flat(each) not in place] == []
    rows = [" ".join(row) for row in load_rows(printed, units)]
    assert bool(rows) == (pieces > once)
    assert [each for each in [*rows, *pieces_told[:2]] if each not in text or each not in words] == []


def isfinite_text(value: str) -> bool:
    return value[:1].isdigit()


def test_a_comparison_and_its_sheet_tell_one_time_on_site() -> None:
    kept, now = ranged("cooler-shell")[1], ranged("tall-tank")[1]
    short, = (pair for pair in main_pairs(kept, now, "metric") if pair.label == TIME_ON_SITE)
    rows = [pair for pair in all_pairs(kept, now, "metric") if pair.label.startswith("visit: time on site")]
    assert [pair.label.rpartition(",")[2].strip() for pair in rows] == ["low", "visit: time on site", "high"]
    assert replace(rows[1], label=TIME_ON_SITE) == short


@pytest.mark.parametrize("name", few(NAMES, 4))
def test_a_range_has_one_unit(name: str) -> None:
    """Both ends of every range are in the unit of its figure: "1.4 to 4.3 min", never "84 s to 4.3 min"."""
    for units in UNITS:
        case, estimate, *_ = every_form(name, units)
        for one in (*main_lines(estimate, units), *(each for group in groups(case, estimate, units)
                                                    for each in group.lines)):
            if one.range and " h " not in one.range:
                assert re.fullmatch(r"[\d.]+ to [\d.]+( \S.*)?", one.range), one


def test_the_air_of_the_readings_is_rounded_alike_everywhere() -> None:
    taken = "".join(f'\n[[reading]]\npressure = "{pressure} bar"\nstrokes = {strokes}\n'
                    for pressure, strokes in ((3, 140), (6, 165), (12, 193)))
    case = read_text((CASES / "condenser-second.toml").read_text(encoding="utf-8") + taken)
    found, text = readings(case), " ".join(report(case, with_ranges(case)).split())
    _, share, ends = main_rows(found, "metric")[1]
    assert share != show(found.share.likely, "share")
    assert f"readings {share} Time on site" in text and f"The readings show {share} of air, {ends}." in text


def test_an_amount_of_air_stands_once_in_the_table_of_pump_ups() -> None:
    text = (CASES / "cooler-shell.toml").read_text(encoding="utf-8")
    near = read_text(text.replace('"0.4 %"', '"0.1993 %"'))
    shares = [row[0] for row in ladder_rows(likely(with_ranges(near)), "metric")[1:]]
    assert "0.2" in shares and len(set(shares)) == len(shares)


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("name", few(NAMES, 4))
def test_tables_of_one_run_print_the_headline(name: str, units: str) -> None:
    """The row of the case's own air, and the strokes at test pressure: where the run at likely values is the likely
    figure, it is printed as that; else it stands between low and high."""
    raw = by_path(ranged(name)[1])
    estimate = every_form(name, units)[1]
    own = [rung for rung in estimate.air_ladder if rung.share == estimate.trapped_share]
    marks = np.ravel(estimate.pressurise.strokes_at)
    printed = [(f"pressurise.{key}", getattr(rung, key), said.family) for rung in own
               for key, said in answers(Rung).items() if key != "share"]
    printed += [("pressurise.strokes", marks[-1], "strokes")] if marks.size else []
    for path, value, family in printed:
        if (one := raw.get(path)) is None or not isfinite(one.likely):
            continue
        headline = float(at(estimate, path))
        if float(at(ranged(name)[1], path)) == one.likely:
            assert show(value, family, units) == show(headline, family, units), path
        else:
            assert one.low <= value <= one.high or not isfinite(one.high), path


def by_path(estimate: Estimate) -> dict[str, Spread]:
    """The spreads of an estimate by the path of their answer."""
    return {one.path: one for one in estimate.spreads}


# --- low <= at likely values <= high, and near the likely figure ---------------------------------

def _spread(case: Case) -> Iterator[tuple[str, float, Three]]:
    """The run at likely values and low, likely and high of each main answer of a case, over 512 samples."""
    sampled = samples(case, assign(keys(case), 512), ends=False)
    whole, times = work_out(sampled)
    values = {"fill": whole.fill.time_s, "water": whole.fill.water_m3, "pump-up": whole.pressurise.time_s,
              "trapped air": whole.pressurise.times_air_free, "time on site": total_of(times, missing(whole, times))}
    for name, each in values.items():
        drawn = np.atleast_1d(np.asarray(each, float))
        if drawn.size > 1:
            low, middle, high = (float(end) for end in percentiles(drawn[1:513]))
            yield name, float(drawn[0]), Three(low, middle, high)


def _strays(case: Case) -> list[tuple[str, float, Three]]:
    found = []
    for name, single, three in _spread(case):
        if not (isfinite(single) and isfinite(three.likely)):
            continue
        slack = 1e-9 * abs(three.likely)
        high = three.high if isfinite(three.high) else float("inf")
        if not three.low - slack <= single <= high + slack or abs(single - three.likely) > NEAR * three.likely:
            found.append((name, single, three))
    return found


@pytest.mark.parametrize("name", NAMES)
def test_the_run_at_likely_values_lies_near_the_likely_figure(name: str) -> None:
    assert _strays(ranged(name)[0]) == []


@thorough
@pytest.mark.parametrize("first", few(range(0, 100, 25), 1))
def test_it_does_so_for_random_cases(first: int) -> None:
    found = {seed: _strays(case) for seed in range(first, first + 25) if (case := case_of(seed)) is not None}
    assert len(found) > 20
    assert {seed: strays for seed, strays in found.items() if strays} == {}


