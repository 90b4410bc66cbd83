"""The page: safe with hostile text, needing nothing, the same twice, with the numbers of the data; in a browser too."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from html import unescape
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from fillcalc.case.folder import read_folder
from fillcalc.case.read import read_text
from fillcalc.cautions import cautions
from fillcalc.estimation.answers import answers
from fillcalc.formats import page as pages
from fillcalc.formats import plots
from fillcalc.formats.data import estimate_data
from fillcalc.formats.figure import INK, SECOND, STRONG
from fillcalc.formats.jobs_page import track_page
from fillcalc.formats.page import page, visit_page
from fillcalc.formats.sheets import site
from fillcalc.model.status import Status
from fillcalc.present import charts, inputs, tables
from fillcalc.present import sentences as words
from fillcalc.present.advice import advice_sentences
from fillcalc.present.jobs import Named
from fillcalc.present.lines import combined_lines, main_lines
from fillcalc.present.needs import COMMON
from fillcalc.questions.jobs.track import track
from fillcalc.questions.likely import likely
from fillcalc.questions.ranges import with_ranges
from fillcalc.questions.recording.hold import hold
from fillcalc.questions.visit import likely_visit, visit
from fillcalc.recorder.read import read_log
from fillcalc.tree import put
from fillcalc.units import show
from tests.families import few, thorough
from tests.report import browser
from tests.report.demo import CASES, NAMES, demo, ranged

ROOT = Path(__file__).resolve().parents[2]
needs_chromium = pytest.mark.skipif(browser.CHROMIUM is None, reason="chromium is not installed")


@cache
def of(name: str, units: str = "metric") -> str:
    return page(*ranged(name), units)


@cache
def with_appendix(name: str, units: str = "metric") -> str:
    return page(*ranged(name), units, tuple(pages.MAKERS))


@cache
def of_visit() -> str:
    cases = [demo("condenser-first")[0], demo("condenser-second")[0]]
    return visit_page(cases, *visit(cases))


class Seen(HTMLParser):
    """Tags, attributes and text of a page; void elements apart, every tag must be closed in its turn."""

    VOID = ("meta", "br")

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.attributes: list[tuple[str, str, str]] = []
        self.texts: list[str] = []
        self.open: list[str] = []
        self.feed(html)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes += [(tag, name, value or "") for name, value in attrs]
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in self.VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] != "style":
            self.texts.append(data)

    def words(self) -> str:
        return " ".join(" ".join(self.texts).split())


TAGS = {"html", "head", "meta", "title", "style", "body", "nav", "a", "main", "header", "h1", "h2", "h3", "p", "b",
        "br", "dl", "div", "dt", "dd", "span", "figure", "figcaption", "ul", "li", "section", "article", "table",
        "thead", "tbody", "tr", "th", "td", "svg", "g", "path", "defs", "use", "text", "clippath", "rect",
        "polygon", "polyline", "circle", "pattern", "tspan"}
HOSTILE = ('<script>alert(1)</script>', '"><img src=x onerror=alert(1)>', "</title></style><b>", "&lt;&amp;&#x3c;",
           "\x1b[2J\u202eevil\u0000", "{{7*7}} ${7*7} $x^2$ %s {0}", "' onload='x", "a" * 5000, "]]><!--", "\ud800")


def pages_to_check() -> Iterator[Any]:
    for name in NAMES:
        yield pytest.param(lambda name=name: of(name), id=name)
    yield pytest.param(lambda: of("ammonia-line-us", "us"), id="us")
    yield pytest.param(of_visit, id="visit")


@pytest.mark.parametrize("make", few(pages_to_check(), 1))
def test_nothing_comes_from_outside_nothing_runs_and_names_lead_somewhere(make: Any) -> None:
    html = make()
    seen = Seen(html)
    assert seen.tags <= TAGS
    assert not re.search(r"https?:|//|@import|javascript:|expression\(|data:", html, re.IGNORECASE)
    assert all(value.startswith("#") for _, name, value in seen.attributes if name in ("href", "xlink:href", "src"))
    assert {name for _, name, _ in seen.attributes if name.startswith("on")} == set()
    assert all(target.startswith("#") for target in re.findall(r"url\(([^)]*)\)", html))


    names = re.findall(r'\bid="([^"]*)"', html)
    assert len(names) == len(set(names))
    assert set(re.findall(r'href="#([^"]*)"', html)) | set(re.findall(r"url\(#([^)]*)\)", html)) <= set(names)


def test_the_policy_stands_before_anything_it_must_hold_back() -> None:
    html = of("cooler-shell")
    seen = Seen(html)
    policy = next(value for tag, name, value in seen.attributes if tag == "meta" and "default-src" in value)
    assert policy.startswith("default-src 'none'; style-src 'unsafe-inline'") and "script" not in policy
    assert html.index("Content-Security-Policy") < html.index("<style>") < html.index("<body")
    assert html.index("charset") < html.index("Content-Security-Policy")


def test_hostile_text_stays_text(monkeypatch: pytest.MonkeyPatch) -> None:
    """Title and note; they stand in no chart, which need not be drawn ten times."""
    case, estimate = ranged("bench-valve")
    monkeypatch.setattr(plots, "drawn", lambda *_: "<svg></svg>")
    without = page(case, estimate)
    plain = Seen(without)
    for hostile in HOSTILE:
        html = page(replace(case, title=hostile, note=f"{hostile}\n{hostile}"), estimate)
        seen = Seen(html)
        assert seen.tags <= plain.tags | {"br"}, hostile
        assert sorted(name for _, name, _ in seen.attributes) == sorted(name for _, name, _ in plain.attributes)
        assert not set(html) & set("\x1b\u202e\x00\ud800")
        assert len(html) < len(without) + 6000
        html.encode("utf-8")
        if hostile.isascii() and hostile.isprintable() and len(hostile) < 100:
            assert hostile in seen.words()


def test_hostile_titles_in_a_visit_stay_text() -> None:
    cases = [replace(demo("bench-valve")[0], title=HOSTILE[0]), replace(demo("valve-block")[0], title=HOSTILE[1])]
    seen = Seen(visit_page(cases, *visit(cases)))
    assert seen.tags <= TAGS and HOSTILE[0] in seen.words() and HOSTILE[1] in seen.words()


def test_the_title_and_what_must_never_be_left_out() -> None:
    for html in (of("cooler-shell"), of_visit()):
        said = Seen(html).words()
        assert "<title>Estimate, not a test record" in html
        assert html.count("<h1>Estimate, not a test record</h1>") == html.count("<article")
        assert [sentence for sentence in words.SAFETY if sentence not in said] == []
        assert "certificate" not in said.lower() and "passed." in said


@thorough
def test_the_same_bytes_in_another_process_with_other_settings(tmp_path: Path) -> None:
    (tmp_path / "matplotlibrc").write_text("lines.linewidth: 9\nfont.size: 20\nsvg.fonttype: path\naxes.grid: False\n")
    code = ("import sys; from tests.report.demo import ranged; from fillcalc.formats.page import page;"
            "sys.stdout.buffer.write(page(*ranged('cooler-shell')).encode())")
    made = [subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, check=True, env={
        **os.environ, "PYTHONHASHSEED": seed, "TZ": zone, "LC_ALL": "C", "MPLCONFIGDIR": folder}).stdout
        for seed, zone, folder in (("1", "UTC", str(tmp_path / "none")), ("2", "Asia/Tokyo", str(tmp_path)))]
    assert made[0] == made[1] == of("cooler-shell").encode()


@thorough
def test_charts_leave_the_settings_of_matplotlib_as_they_are() -> None:
    code = ("import sys, matplotlib; from tests.report.demo import ranged; from fillcalc.formats.page import page;"
            "now = lambda: {k: matplotlib.rcParams[k] for k in matplotlib.rcParams if k != 'backend'};"
            "before = now(); page(*ranged('bench-valve')); after = now();"
            "print('matplotlib.pyplot' in sys.modules, {k: after[k] for k in after if after[k] != before[k]})")
    assert subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True,
                          check=True).stdout == "False {}\n"


# --- the numbers --------------------------------------------------------------------------------

SHOWN = ("fill.time_s", "fill.water_m3", "fill.water_kg", "fill.flow_start_m3_s", "pressurise.water_m3",
         "pressurise.time_s", "pressurise.times_air_free", "pressurise.test_gauge_pa", "trapped_air_m3",
         "visit.likely_s", "visit.rework_s",
         "release.time_s", "drain.time_s", "settle.drop_air_pa", "hold.pressure_per_kelvin_pa", "energy.water_j",
         "energy.all_gas_j")


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("name", few(["cooler-shell", "tall-tank", "crest-line"], 1))
def test_the_numbers_are_those_of_the_data(name: str, units: str) -> None:
    case, estimate = ranged(name)
    data, said = estimate_data(case, estimate, units), Seen(of(name, units)).words()
    shown = likely(estimate, units)
    for path in SHOWN:
        block, _, key = path.rpartition(".")
        record = getattr(shown, block) if block else shown
        assert show(getattr(record, key), answers(type(record))[key].family, units) in said, path
    for line in main_lines(shown, units):
        assert all(words.trade(part, units) in said for part in (line.value, *line.more)), line
    for rows in (tables.stage_rows(shown, units), tables.ladder_rows(shown, units), tables.mark_rows(shown, units)):
        assert [row for row in rows if " ".join(" ".join(cell for cell in row if "<" not in cell).split()) not in said
                ] == []
    html = unescape(of(name, units))
    swings = charts.matters(charts.Subject(case, shown, None, units))
    assert [bar for bar in swings.bars if f"{bar.words} {bar.said}" not in html] == []
    assert [text for text in data["needs"] if text.replace(COMMON, "") not in said] == []
    assert [row["text"] for row in data["cautions"] if words.trade(row["text"], units) not in said] == []
    assert [row["path"] for row in data["assumptions"]
            if inputs.as_read(case, row["path"], "", units)[0] not in said] == []


@pytest.mark.parametrize(("name", "units"), [("cooler-shell", "metric"), ("ammonia-line-us", "us")])
def test_every_input_is_on_the_page_by_its_name_and_the_assumed_ones_are_marked(name: str, units: str) -> None:
    case, _ = ranged(name)
    html = of(name, units)
    rows = dict(re.findall(r'<tr><th scope="row">([^<]*)</th><td>[^<]*</td><td>([^<]*)</td></tr>', unescape(
        html[html.index('id="inputs"'):]).replace("\u00a0", " ")))
    given = {inputs.as_read(case, path, "", units)[0] for path, _ in inputs.given(case, units)}
    assumed = {inputs.as_read(case, item.path, "", units)[0] for item in case.assumptions}
    assert rows.keys() == given | assumed and len(rows) > 60
    assert {each for each, known in rows.items() if known == inputs.ASSUMED} == assumed
    assert {known for each, known in rows.items() if each in given - assumed} <= {"", "±10 %", "±5 %"}
    said = Seen(html).words()
    assert [row for row in (" ".join(inputs.as_read(case, *each, units)) for each in inputs.given(case, units))
            if row not in said] == []


def test_why_no_regulator_setting_is_safe_stands_once_below_it() -> None:
    said = {}
    for name, units in (("ammonia-line-us", "us"), ("crest-line", "metric")):
        section = re.search(r'<section [^>]*id="[^"]*regulator">(.*?)</section>', of(name, units), re.DOTALL)
        assert section is not None
        said[name] = Seen(section[1]).words()
    assert "none is safe" in said["ammonia-line-us"]
    assert said["ammonia-line-us"].count("but above 4.85 psi it can pass the limit") == 1
    assert "1.67 to 2 bar; relief valve" in said["crest-line"]


@pytest.mark.parametrize(("name", "units"), few([("cooler-shell", "metric"), ("ammonia-line-us", "us")], 1))
def test_no_key_of_a_file_stands_on_the_page(name: str, units: str) -> None:
    """Inputs are called by their names there; a key can be told by its underscore or its dots."""
    html = with_appendix(name, units)
    said = re.sub(r"<(style|svg).*?</\1>", "", html, flags=re.DOTALL)
    assert re.findall(r"\b(?:vessel|tap|fill|vent|pump|labour|test|drain)\.[a-z_.0-9]+|\b[a-z]+_[a-z_]+\b",
                      re.sub(r"<[^>]*>", " ", said)) == []


# --- the sheets ---------------------------------------------------------------------------------

@cache
def sheet(kind: str, name: str = "cooler-shell", units: str = "metric") -> str:
    return page(*ranged(name), units, (kind,))


def headings(html: str) -> list[str]:
    return [unescape(text) for text in re.findall(r"<(?:h3|figcaption)>(.*?)</", html)]


def test_each_sheet_has_its_own_parts_and_both_stand_in_one_file() -> None:
    assert headings(sheet("quote")) == ["Time on site, stage by stage", "Time on site, stage by stage",
                                        "The customer provides", "Quote"]
    assert headings(sheet("site"))[:5] == ["Regulator setting", "Strokes and needle", "Cautions", "Safety",
                                           "Readings by hand, to find the trapped air"]
    assert headings(of("cooler-shell")) == headings(sheet("quote")) + headings(sheet("site"))
    assert re.findall(r'<article class="sheet (\w+)"', of("cooler-shell")) == ["quote", "site"]
    assert [sentence for sentence in words.SAFETY if sentence not in Seen(sheet("site")).words()] == []
    assert [sentence for sentence in words.SAFETY[:3] if sentence not in Seen(sheet("quote")).words()] == []


@pytest.mark.parametrize("name", few(NAMES, 2))
def test_every_danger_stands_at_the_head_of_each_sheet(name: str) -> None:
    """Those of the technician's own gear on the sheet for the site alone."""
    units = "us" if name.endswith("-us") else "metric"
    case, estimate = ranged(name)
    raised = [row for row in cautions(case, estimate, units) if row.weight == "danger"]
    found = {"quote": [words.trade(row.text, units) for row in raised if not row.own_gear],
             "site": [words.trade(row.text, units) for row in raised]}
    sheets = of(name, units).split("<article ")[1:]
    assert [re.match(r'class="sheet (\w+)"', each)[1] for each in sheets] == list(pages.BOTH)  # type: ignore[index]
    for kind, each in zip(pages.BOTH, sheets, strict=True):
        box = re.search(r'<ul class="boxed".*?</ul>', each, re.DOTALL)
        assert re.findall(r"<b>DANGER</b> (.*?)</li>", unescape(box[0]).replace("\u00a0", " ") if box
                          else "") == found[kind]


@pytest.mark.parametrize("name", few(NAMES, 1))
def test_nothing_private_is_on_the_sheet_for_the_quote(name: str) -> None:
    """Neither seen nor in the file: the note, keys, reasons and sources, hints to the technician, lesser cautions."""
    units = "us" if name.endswith("-us") else "metric"
    case, estimate = ranged(name)
    case = replace(case, note="A note of our own: the discount is 15 %.")
    html = unescape(page(case, estimate, units, ("quote",)))
    estimated = likely(estimate, units)
    private = ["discount", COMMON.strip(), "ASME", "not checked", 'id="site"', 'id="appendix"',
               *(item.why for item in case.assumptions if len(item.why) > 12),
               *(item.path for item in case.assumptions if "." in item.path), *advice_sentences(case, estimated, units),
               *words.job_sentences(case, estimated, units), *words.air_sentences(case, estimated, units),
               *(words.trade(row.text, units) for row in cautions(case, estimate, units) if row.weight != "danger")]
    assert len(private) > 40
    body = html[html.index("<body"):]
    assert [each for each in private if each in body] == []
    both = unescape(of(name, units)) + unescape(page(case, estimate, units, ("site",)))
    assert [each for each in ("discount", *advice_sentences(case, estimated, units)) if each not in both] == []


def test_the_appendix_gives_every_reason_and_comes_only_when_asked() -> None:
    case, _ = ranged("cooler-shell")
    with_it = Seen(with_appendix("cooler-shell")).words()
    without = Seen(of("cooler-shell")).words()
    reasons = [item.why for item in case.assumptions if len(item.why) > 12]
    assert len(reasons) > 25 and [why for why in reasons if why not in with_it] == []
    assert [why for why in reasons if why in without] == []
    assert "°C" in with_it and "degC" not in with_it


def test_there_is_room_for_readings_by_hand() -> None:
    html = of("cooler-shell")
    blank = html[html.index('<table class="blank">'):]
    blank = blank[:blank.index("</table>")]
    rows = re.findall(r"<tr>.*?</tr>", blank)
    assert len(rows) >= 10 and all(row.count("<td></td>") >= 4 for row in rows[1:])
    assert "2.4 bar" in rows[1] and show(ranged("cooler-shell")[1].pressurise.strokes_at[0], "strokes") in rows[1]

    electric = of("tall-tank")
    blank = electric[electric.index('<table class="blank">'):]
    rows = re.findall(r'<tr><th scope="row">(.*?)</th><td>(.*?)</td>', blank[:blank.index("</table>")])
    assert len(rows) == 10 and rows[:3] == [("3.23 bar", "0.359"), ("4.3 bar", "1.84"), ("", "")]
    assert "pumped, L" in blank


def test_every_block_of_the_text_report_has_its_place() -> None:
    assert [name for names in site.AFTER.values() for name in names] == list(tables.BLOCKS)


def test_only_a_curve_worth_drawing_is_drawn() -> None:
    drawn = {name: plots.plot(plots.charts_of(case, likely(estimate), "metric")["pump_curve"], "one")
             for name in ("bench-valve", "tall-tank") for case, estimate in [ranged(name)]}
    assert drawn["bench-valve"].svg == "" and "0.4 L/min at every pressure" in drawn["bench-valve"].numbers[0]
    assert "relief valve 4.7 bar" in drawn["tall-tank"].svg


# --- the charts ---------------------------------------------------------------------------------

def _axes(name: str, monkeypatch: pytest.MonkeyPatch, units: str = "metric") -> dict[str, Any]:
    """The axes of each chart as they are drawn, by the chart's name."""
    from matplotlib.figure import Figure

    found: dict[str, Any] = {}

    def capture(frame: Any, draw: Any) -> str:
        figure = Figure()
        draw(figure.add_subplot())
        found[frame.name] = figure.axes
        return "<svg></svg>"

    monkeypatch.setattr(plots, "drawn", capture)
    case, estimate = ranged(name)
    for kind, each in plots.charts_of(case, likely(estimate, units), units).items():
        plots.plot(each, kind.replace("_", ""))
    return found


def test_the_curves_are_the_numbers_of_the_estimate(monkeypatch: pytest.MonkeyPatch) -> None:
    _, estimate = ranged("cooler-shell")
    charts = _axes("cooler-shell", monkeypatch)
    flow, level = charts["filling"][0].lines
    history = estimate.fill.history
    assert level.get_xdata() == pytest.approx(np.asarray(history.time_s) / 60)
    assert level.get_ydata() == pytest.approx(100 * np.asarray(history.level_m) / 1.9)
    assert flow.get_ydata() == pytest.approx(100 * np.asarray(history.flow_m3_s) / history.flow_m3_s[0])
    pump = charts["pumpcurve"][0].lines[0]
    assert pump.get_xdata() == pytest.approx(np.asarray(estimate.pressurise.curve.pressure_gauge_pa) / 1e5)
    uprights = [line.get_xdata()[0] for line in charts["pumpcurve"][0].lines[1:]]
    assert uprights == sorted(uprights)
    assert {round(float(x), 6) for x in uprights} >= {
        24.0, 30.0, 33.0, round(float(estimate.pressurise.stall_gauge_pa) / 1e5, 6)}
    widths = [bar.get_width() for bar in charts["losses"][0].patches]
    assert sum(widths) == pytest.approx(100, abs=0.5)
    assert max(widths) == pytest.approx(100 * float(estimate.fill.shares.tap))


def test_the_pressure_curves_are_those_of_the_ladder(monkeypatch: pytest.MonkeyPatch) -> None:
    _, estimate = ranged("cooler-shell")
    axes = _axes("cooler-shell", monkeypatch)["pumping"][0]
    curves = [line for line in axes.lines if len(line.get_xdata()) > 2]
    ends = sorted(float(line.get_xdata()[-1]) for line in curves)
    ladder = {round(float(rung.share), 6): float(rung.strokes) for rung in estimate.air_ladder}
    own = min(ladder, key=lambda share: abs(share - float(estimate.trapped_share)))
    assert ends == pytest.approx([ladder[share] for share in (0.0, own, 0.01)], rel=2e-3)
    assert all(line.get_ydata()[-1] == pytest.approx(24.0) for line in curves)
    styles = {(str(line.get_linestyle()), str(line.get_marker()), str(line._dash_pattern)) for line in curves}
    assert len(styles) == len(curves) == 3
    assert {"no air", "this case", "more air"} == {text.get_text() for text in axes.texts}


def test_the_stages_chart_shows_low_likely_and_high(monkeypatch: pytest.MonkeyPatch) -> None:
    _, estimate = ranged("cooler-shell")
    axes = _axes("cooler-shell", monkeypatch)["stages"][0]
    assert [label.get_text() for label in axes.get_yticklabels()] == [
        tables.stage_label(stage.name) for stage in estimate.stages if stage.high_s >= 1]
    wait = likely(estimate).stages[0]
    first = [list(line.get_xdata()) for line in axes.lines if line.get_ydata()[0] == 0]
    assert first[0] == first[1] == pytest.approx([wait.low_s / 60, wait.high_s / 60])
    assert first[-1] == [pytest.approx(wait.likely_s / 60)]


def test_a_case_that_never_fills_or_stalls_still_makes_a_page() -> None:
    case, _ = demo("cooler-shell")
    shut = replace(case, vent=replace(case.vent, shut=True))
    weak = put(case, "pump.regulator_pressure", 1.5e5)
    for changed, status in ((shut, Status.AIR_SHUT_IN), (weak, Status.PUMP_STALLS)):
        estimate = with_ranges(changed)
        assert status in (int(estimate.fill.status), int(estimate.pressurise.status))
        seen = Seen(page(changed, estimate))
        assert seen.tags <= TAGS and "nan" not in seen.words().lower().split()
        assert "DANGER" in seen.words() or "CAUTION" in seen.words()


def test_a_visit_counts_each_case_and_the_day() -> None:
    cases = [demo("condenser-first")[0], demo("condenser-second")[0]]
    day, estimates = visit(cases)
    day, said = likely_visit(day, [likely(one) for one in estimates]), Seen(of_visit()).words()
    for line in combined_lines(day, "metric"):
        assert all(part in said for part in (f"{line.label} {line.value}", *line.more)), line
    for row in (*tables.combined_rows(day, "metric")[1:], *tables.combined_needs(day, "metric")[1:]):
        assert " ".join(row) in said
    assert [one.title for one in day.cases if one.title not in said] == []
    assert re.findall(r'<article class="sheet (\w+)" id="(\w+)"', of_visit()) == [
        ("quote", "quote"), ("site", "case1site"), ("site", "case2site")]
    assert of_visit().count("Safety</h3>") == of_visit().count('<table class="blank">') == 2
    alone = visit_page(cases, *visit(cases), "metric", ("quote",))
    assert alone.count("<article") == 1 and "Safety</h3>" not in alone and cases[0].note not in alone


def _together(name: str, monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    return _axes(name, monkeypatch, "us" if name.endswith("-us") else "metric")


@pytest.mark.parametrize("name", few(NAMES))
def test_every_chart_names_its_axes_and_its_curves_and_has_even_ticks(name: str,
                                                                      monkeypatch: pytest.MonkeyPatch) -> None:
    """The own curve is the last and the heaviest; ticks stand at even steps; bars are thinner than their gaps."""
    for kind, (axes,) in _together(name, monkeypatch).items():
        assert axes.get_xlabel()
        log = kind == "ladder"
        assert log or np.ptp(np.diff(axes.get_xticks())) < 1e-9, kind
        if axes.get_yticklabels() and not axes.get_ylabel():  # bars: their words stand at the axis
            assert all(bar.get_height() < 0.5 for bar in axes.patches)
            continue
        assert axes.get_ylabel() and (log or np.ptp(np.diff(axes.get_yticks())) < 1e-9), kind
        heavy = [line.get_linewidth() for line in axes.lines]
        own = [line for line in axes.lines if line.get_linewidth() == max(heavy)]
        curves = [line for line in axes.lines if line.get_marker() not in ("None", "", None)]
        assert len(own) == 1 and own[0] is curves[-1], kind
        if kind != "pumpcurve":  # its one curve is named by its axis; the uprights have their names
            assert len(axes.texts) == len(curves)


# --- how it looks -------------------------------------------------------------------------------

CSS = (ROOT / "fillcalc" / "formats" / "page.css").read_text(encoding="utf-8")


def contrast(one: str, other: str) -> float:
    """Contrast of two colours, "#rrggbb", by WCAG 2: 1 to 21."""
    def light(colour: str) -> float:
        parts = [int(colour[at:at + 2], 16) / 255 for at in (1, 3, 5)]
        linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    high, low = sorted((light(one), light(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_everything_that_is_read_stands_out_from_the_paper() -> None:
    """7 to 1, so that it can be read in the sun; figures of contrast itself are those of two known pairs."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21) and contrast("#777777", "#ffffff") == pytest.approx(
        4.48, abs=0.01)
    named = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", CSS))
    read = set(re.findall(r"[ {;]color: ([^;]+);", CSS))
    assert read >= {"var(--ink)", "var(--quiet)", "var(--strong)", "var(--alarm)", "var(--care)"}
    colours = {re.sub(r"var\(--(\w+)\)", lambda found: named[found[1]], colour) for colour in read}
    colours |= {INK, STRONG, SECOND}
    assert {colour: contrast(colour, named["paper"]) for colour in colours
            if contrast(colour, named["paper"]) < 7} == {}
    assert set(re.findall(r"background: ([^;]+);", CSS)) == {"var(--paper)"}


# --- in a browser -------------------------------------------------------------------------------

def printed_pages() -> Iterator[Any]:
    for name in NAMES:
        units = "us" if name.endswith("-us") else "metric"
        yield pytest.param(lambda name=name, units=units: of(name, units), [demo(name)[0].title] * 2,
                           "Letter" if units == "us" else "A4", id=name)
    yield pytest.param(lambda: of("cooler-shell"), [demo("cooler-shell")[0].title] * 2, "Letter", id="letter")
    yield pytest.param(of_visit, ["A visit with 2 cases", *(demo(name)[0].title for name in (
        "condenser-first", "condenser-second"))], "A4", id="visit")


MOST_SHEETS = 6
"""Sides of paper of one case: one for the quote, one in the hand, and what explains them."""
SMALLEST = 8.4
"""Type on paper, points."""


@needs_chromium
@pytest.mark.skipif(browser.POPPLER is None, reason="the tools for PDF are not installed")
@pytest.mark.parametrize(("make", "titles", "paper"), few(printed_pages(), 1))
def test_printed_sheets_say_what_they_are_and_break_no_sentence(make: Any, titles: list[str], paper: str,
                                                                tmp_path: Path) -> None:
    html = make()
    seen = browser.opened(browser.on_paper(html, paper), tmp_path)
    assert (seen.console, seen.asked) == ((), ())
    sides = browser.printed(tmp_path)
    assert len(sides) == seen.sheets <= MOST_SHEETS * (len(titles) - 1)
    for number, side in enumerate(sides, 1):
        assert f"{number} of {len(sides)}" in side.text and words.TITLE in side.text, number
        assert any(title in side.text for title in titles), number
        assert side.smallest >= SMALLEST - 0.05, (number, side.smallest)
        assert side.left >= 20 and side.right <= side.wide - 20, (number, side.left, side.right)
    whole = [unescape(re.sub("<[^>]*>", "", item)) for item in re.findall(r"<li[^>]*>(.*?)</li>", html)]
    assert len(whole) > 40
    assert [item for item in whole if not any("".join(item.split()) in side.packed for side in sides)] == []


@needs_chromium
@pytest.mark.skipif(browser.POPPLER is None, reason="the tools for PDF are not installed")
def test_the_sheet_for_the_quote_is_one_side_and_the_rows_for_readings_have_room_for_a_pen(tmp_path: Path) -> None:
    for paper, name in (("A4", "cooler-shell"), ("Letter", "crest-line")):
        folder = tmp_path / paper
        folder.mkdir()
        browser.opened(browser.on_paper(sheet("quote", name), paper), folder)
        (side,) = browser.printed(folder)
        assert "1 of 1" in side.text
    browser.opened(browser.on_paper(sheet("site"), "A4"), tmp_path)
    (side,) = (side for side in browser.printed(tmp_path) if "at stroke" in side.text)  # none is broken over two
    column = sorted((top, word) for word, left, top, _, _ in side.words if 0.21 < left / side.wide < 0.34)
    texts = [word for _, word in column]
    strokes = ["29", "39", "48", "55", "61"]
    first = next(at for at in range(len(texts)) if texts[at:at + 5] == strokes)
    tops = [top for top, _ in column[first:first + 5]]
    assert min(np.diff(tops)) >= 8 * 72 / 25.4


@thorough
@needs_chromium
@pytest.mark.parametrize("hoses", [30])
def test_a_rich_case_prints_whole(hoses: int, tmp_path: Path) -> None:
    more = "".join(f'[[fill.hose]]\nlength = "{place} m"\nbore = "38 mm"\nrating = "16 bar"\n'
                   for place in range(1, hoses))
    case = read_text((CASES / "crest-line.toml").read_text(encoding="utf-8") + more)
    html = page(case, with_ranges(case))
    assert f"hose {hoses} length" in html
    assert browser.opened(browser.on_paper(html, "A4"), tmp_path).sheets <= 2 * MOST_SHEETS


@thorough
@needs_chromium
def test_the_browser_would_show_a_complaint_and_a_request(tmp_path: Path) -> None:
    (tmp_path / "held").mkdir()
    spoilt = of("bench-valve").replace("<main>", '<main><img src="http://127.0.0.1:9/x.png"><script>x</script>')
    held = browser.opened(spoilt, tmp_path / "held")
    assert len(held.console) == 2 and held.asked == ()
    free = browser.opened(spoilt.replace(pages.POLICY, ""), tmp_path)
    assert free.asked == ("http://127.0.0.1:9/x.png",) and free.console


@needs_chromium
@pytest.mark.parametrize("width", few([390, 320, 1200], 1))
def test_nothing_sticks_out_sideways_and_type_is_large_enough(width: int, tmp_path: Path) -> None:
    case, estimate = ranged("ammonia-line-us")
    html = page(replace(case, title="W" * 150, note="M" * 300), estimate, "us", tuple(pages.MAKERS))
    seen = browser.laid_out(html, width, tmp_path)
    assert seen.wide <= width and seen.smallest >= 16


@thorough
@needs_chromium
@pytest.mark.parametrize("width", few([390, 320], 1))
def test_no_word_of_a_record_breaks_on_a_phone(width: int, tmp_path: Path) -> None:
    case, estimate = ranged("cooler-shell")
    log = read_log(CASES / "cooler-shell-record.csv")
    html = page(case, estimate, sheets=("site",), recorded=(log, hold(case, log)))
    whole = re.search(r'<section class="block record".*?</section>', html, re.DOTALL)
    assert whole
    cells = {word for cell in re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", whole[0]) for word in cell.split()}
    seen = browser.laid_out(html, width, tmp_path)
    assert {"dissolves", "release"} <= cells and seen.wide <= width and not cells & set(seen.broken)
    assert "release" in browser.laid_out(html.replace(".ours th:first-child", ".nothing"), width, tmp_path).broken


@thorough
@needs_chromium
@pytest.mark.parametrize("width", few([390, 320], 1))
def test_no_word_of_a_track_record_breaks_on_a_phone(width: int, tmp_path: Path) -> None:
    folder = read_folder(CASES / "finished")
    html = track_page(folder, track(folder.cases), Named("finished", folder.files))
    seen = browser.laid_out(html, width, tmp_path)
    assert seen.wide <= width and seen.broken == [] and "disconnect" in html


@needs_chromium
def test_a_phone_shows_danger_regulator_and_strokes_first(tmp_path: Path) -> None:
    tops = browser.laid_out(of("cooler-shell"), 390, tmp_path).tops
    first = ["danger", "regulator", "strokes", "cautions", "readings", "inputs", "quote"]
    assert sorted(first, key=lambda name: tops[name]) == first and tops["danger"] < 300
    links = re.findall(r'<a href="#(\w+)"', of("cooler-shell"))
    assert links == first and set(links) <= set(tops)


# --- the command --------------------------------------------------------------------------------

def _command(*arguments: str, **more: Any) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "tui", "page", *arguments], cwd=ROOT, capture_output=True, text=True,
                          timeout=120, check=False, **more)


def test_the_command_writes_a_page_and_only_replaces_one_of_its_own(tmp_path: Path) -> None:
    file = tmp_path / "visit.html"
    ended = _command("bench-valve", "-o", str(file))
    assert (ended.returncode, ended.stdout) == (0, "") and ended.stderr.startswith("Written:")
    assert file.read_text(encoding="utf-8") == of("bench-valve")
    again = _command("bench-valve", "valve-block", "--units", "us", "-o", str(file))
    assert again.returncode == 0 and again.stderr.startswith("Replaced:")
    assert "A visit with 2 cases" in file.read_text(encoding="utf-8") and "psi" in file.read_text(encoding="utf-8")
    assert [path.name for path in tmp_path.iterdir()] == ["visit.html"]


@thorough
def test_the_command_writes_one_sheet_and_the_appendix_when_asked(tmp_path: Path) -> None:
    file = tmp_path / "one.html"
    for arguments, kinds in ((), ["quote", "site"]), (("--sheet", "quote"), ["quote"]), (
            ("--sheet", "site"), ["site"]), (("--sheet", "quote", "--appendix"), ["quote", "appendix"]):
        assert _command("bench-valve", "-o", str(file), *arguments).returncode == 0
        assert re.findall(r'<article class="sheet (\w+)"', file.read_text(encoding="utf-8")) == kinds
    assert _command("bench-valve", "-o", str(file), "--sheet", "poster").returncode == 2


@thorough
def test_the_command_leaves_what_is_not_its_own(tmp_path: Path) -> None:
    foreign, case, folder, pipe = (tmp_path / name for name in ("mine.html", "case.toml", "d.html", "p.html"))
    foreign.write_text("<p>mine</p>")
    case.write_bytes((CASES / "bench-valve.toml").read_bytes())
    folder.mkdir()
    os.mkfifo(pipe)
    before = case.read_bytes()
    for place in (foreign, case, folder, pipe, tmp_path / "no" / "such.html"):
        ended = _command("bench-valve", "-o", str(place))
        assert ended.returncode == 1 and ended.stderr and "Traceback" not in ended.stderr
    assert foreign.read_text() == "<p>mine</p>" and case.read_bytes() == before
    assert _command("no-such-case", "-o", str(tmp_path / "new.html")).returncode == 1
    assert _command("bench-valve").returncode == 2
    assert not (tmp_path / "new.html").exists()
