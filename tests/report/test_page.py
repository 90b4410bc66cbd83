"""The page: safe with hostile text, needing nothing, the same twice, with the numbers of the data; in a browser too."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from fillcalc.case.names import name_of
from fillcalc.case.read import read_text
from fillcalc.estimation.answers import answers
from fillcalc.formats import page as pages
from fillcalc.formats import plots
from fillcalc.formats.data import estimate_data
from fillcalc.formats.page import page, visit_page
from fillcalc.model.status import Status
from fillcalc.present import inputs, tables
from fillcalc.present import sentences as words
from fillcalc.present.lines import combined_lines, main_lines
from fillcalc.questions.likely import likely
from fillcalc.questions.ranges import with_ranges
from fillcalc.questions.visit import visit
from fillcalc.tree import put
from fillcalc.units import show
from tests.report import browser
from tests.report.demo import CASES, NAMES, demo, ranged

ROOT = Path(__file__).resolve().parents[2]
needs_chromium = pytest.mark.skipif(browser.CHROMIUM is None, reason="chromium is not installed")


@cache
def of(name: str, units: str = "metric") -> str:
    return page(*ranged(name), units)


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


TAGS = {"html", "head", "meta", "title", "style", "body", "main", "header", "h1", "h2", "h3", "p", "b", "br", "dl",
        "div", "dt", "dd", "span", "figure", "figcaption", "ul", "li", "section", "article", "table", "thead", "tbody",
        "tr", "th", "td", "svg", "g", "path", "defs", "use", "text", "clippath", "rect",
        "polygon", "polyline", "circle", "pattern", "tspan"}
HOSTILE = ('<script>alert(1)</script>', '"><img src=x onerror=alert(1)>', "</title></style><b>", "&lt;&amp;&#x3c;",
           "\x1b[2J\u202eevil\u0000", "{{7*7}} ${7*7} $x^2$ %s {0}", "' onload='x", "a" * 5000, "]]><!--", "\ud800")


def pages_to_check() -> Iterator[Any]:
    for name in NAMES:
        yield pytest.param(lambda name=name: of(name), id=name)
    yield pytest.param(lambda: of("ammonia-line-us", "us"), id="us")
    yield pytest.param(of_visit, id="visit")


@pytest.mark.parametrize("make", pages_to_check())
def test_nothing_comes_from_outside_and_nothing_runs(make: Any) -> None:
    html = make()
    seen = Seen(html)
    assert seen.tags <= TAGS
    assert not re.search(r"https?:|//|@import|javascript:|expression\(|data:", html, re.IGNORECASE)
    assert all(value.startswith("#") for _, name, value in seen.attributes if name in ("href", "xlink:href", "src"))
    assert {name for _, name, _ in seen.attributes if name.startswith("on")} == set()
    assert all(target.startswith("#") for target in re.findall(r"url\(([^)]*)\)", html))


@pytest.mark.parametrize("make", pages_to_check())
def test_names_within_the_page_are_its_own_and_lead_somewhere(make: Any) -> None:
    html = make()
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


@pytest.mark.parametrize("hostile", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_text_stays_text(hostile: str) -> None:
    case, estimate = ranged("bench-valve")
    changed = replace(case, title=hostile, note=f"{hostile}\n{hostile}")
    html = page(changed, estimate)
    seen, plain = Seen(html), Seen(of("bench-valve"))
    assert seen.tags <= plain.tags | {"br"}
    assert sorted(name for _, name, _ in seen.attributes) == sorted(name for _, name, _ in plain.attributes)
    assert not set(html) & set("\x1b\u202e\x00\ud800")
    assert len(html) < len(of("bench-valve")) + 6000
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
        assert "<title>Estimate, not a test record" in html and "<h1>Estimate, not a test record</h1>" in html
        assert [sentence for sentence in words.SAFETY if sentence not in said] == []
        assert "certificate" not in said.lower() and "passed." in said


def test_the_same_bytes_in_another_process_with_other_settings(tmp_path: Path) -> None:
    (tmp_path / "matplotlibrc").write_text("lines.linewidth: 9\nfont.size: 20\nsvg.fonttype: path\naxes.grid: False\n")
    code = ("import sys; from tests.report.demo import ranged; from fillcalc.formats.page import page;"
            "sys.stdout.buffer.write(page(*ranged('cooler-shell')).encode())")
    made = [subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, check=True, env={
        **os.environ, "PYTHONHASHSEED": seed, "TZ": zone, "LC_ALL": "C", "MPLCONFIGDIR": folder}).stdout
        for seed, zone, folder in (("1", "UTC", str(tmp_path / "none")), ("2", "Asia/Tokyo", str(tmp_path)))]
    assert made[0] == made[1] == of("cooler-shell").encode()


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
@pytest.mark.parametrize("name", ["cooler-shell", "tall-tank", "crest-line"])
def test_the_numbers_are_those_of_the_data(name: str, units: str) -> None:
    case, estimate = ranged(name)
    data, said = estimate_data(case, estimate, units), Seen(of(name, units)).words()
    told = likely(estimate, units)
    for path in SHOWN:
        block, _, key = path.rpartition(".")
        record = getattr(told, block) if block else told
        assert show(getattr(record, key), answers(type(record))[key].family, units) in said, path
    for line in main_lines(told, units):
        assert all(words.trade(part, units) in said for part in (line.value, *line.more)), line
    for rows in (tables.stage_rows(told, units), tables.ladder_rows(told, units),
                 tables.swing_rows(case, told, units, 6)):
        assert [row for row in rows if " ".join(" ".join(cell for cell in row if "<" not in cell).split()) not in said
                ] == []
    for group in ("needs",):
        assert [text for text in data[group] if text not in said] == []
    assert [row["text"] for row in data["cautions"] if words.trade(row["text"], units) not in said] == []
    assert [row["path"] for row in data["assumptions"] if name_of(row["path"], units, case) not in said] == []
    assert [row["why"] for row in data["assumptions"] if row["path"] in case.ranges and row["why"] not in said] == []


def test_every_input_that_was_given_is_on_the_page() -> None:
    case, _ = ranged("cooler-shell")
    rows, said = dict(inputs.given(case, "metric")), Seen(of("cooler-shell")).words()
    assert rows["vessel.diameter"] == "620 mm" and rows["vessel.shape"] == "vertical cylinder"
    assert rows["pump.flow_at_zero"] == "4.1 L/min" and "vent.coefficient" not in rows
    assert [path for path, value in rows.items() if f"{name_of(path, of=case)} {value}" not in said] == []


@pytest.mark.parametrize(("name", "units"), [("cooler-shell", "metric"), ("ammonia-line-us", "us")])
def test_no_key_of_a_file_stands_on_the_page(name: str, units: str) -> None:
    """Inputs are called by their names there; a key can be told by its underscore or its dots."""
    said = re.sub(r"<(style|svg).*?</\1>", "", of(name, units), flags=re.DOTALL)
    assert re.findall(r"\b(?:vessel|tap|fill|vent|pump|labour|test|drain)\.[a-z_.0-9]+|\b[a-z]+_[a-z_]+\b",
                      re.sub(r"<[^>]*>", " ", said)) == []


def test_there_is_room_for_readings_by_hand() -> None:
    html = of("cooler-shell")
    blank = html[html.index('<table class="blank">'):]
    blank = blank[:blank.index("</table>")]
    rows = re.findall(r"<tr>.*?</tr>", blank)
    assert len(rows) >= 7 and all(row.count("<td></td>") >= 4 for row in rows[1:])
    assert "2.4 bar" in rows[1] and show(ranged("cooler-shell")[1].pressurise.strokes_at[0], "strokes") in rows[1]

    electric = of("tall-tank")
    blank = electric[electric.index('<table class="blank">'):]
    assert blank[:blank.index("</table>")].count("<th scope=\"row\"></th>") == 7 and "pumped, L" in blank


def test_every_block_of_the_text_report_has_its_place() -> None:
    assert [name for names in pages.AFTER.values() for name in names] == list(tables.BLOCKS)


def test_only_a_curve_worth_drawing_is_drawn() -> None:
    drawn = {name: plots.plots(case, likely(estimate), "metric")["pump_curve"]
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
    plots.plots(case, likely(estimate, units), units)
    return found


def test_the_curves_are_the_numbers_of_the_estimate(monkeypatch: pytest.MonkeyPatch) -> None:
    _, estimate = ranged("cooler-shell")
    charts = _axes("cooler-shell", monkeypatch)
    level, flow = charts["filling"][0].lines[0], charts["filling"][1].lines[0]
    assert level.get_xdata() == pytest.approx(np.asarray(estimate.fill.history.time_s) / 60)
    assert level.get_ydata() == pytest.approx(np.asarray(estimate.fill.history.level_m))
    assert flow.get_ydata() == pytest.approx(np.asarray(estimate.fill.history.flow_m3_s) * 60_000)
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
    curves = axes.lines[:-1]
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
    assert first[0] == pytest.approx([wait.low_s / 60, wait.high_s / 60])
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
    day, _ = visit(cases)
    said = Seen(of_visit()).words()
    for line in combined_lines(day, "metric"):
        assert all(part in said for part in (f"{line.label} {line.value}", *line.more)), line
    for row in (*tables.combined_rows(day, "metric")[1:], *tables.combined_needs(day, "metric")[1:]):
        assert " ".join(row) in said
    assert [one.title for one in day.cases if one.title not in said] == []
    assert of_visit().count("<article") == 2 and of_visit().count("Safety</h3>") == 1


# --- in a browser -------------------------------------------------------------------------------

@needs_chromium
@pytest.mark.parametrize(("name", "sheets"), [("bench-valve", 2), ("cooler-shell", 2)])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_no_complaint_no_request_and_few_sheets(name: str, sheets: int, paper: str, tmp_path: Path) -> None:
    seen = browser.opened(browser.on_paper(of(name), paper), tmp_path)
    assert (seen.console, seen.asked) == ((), ())
    assert seen.sheets <= sheets


@needs_chromium
@pytest.mark.parametrize("name", sorted(set(NAMES) - {"bench-valve", "cooler-shell"}))
def test_every_demo_case_prints_on_two_sheets(name: str, tmp_path: Path) -> None:
    units = "us" if name.endswith("-us") else "metric"
    assert browser.opened(browser.on_paper(of(name, units), "Letter"), tmp_path).sheets <= 2


@needs_chromium
@pytest.mark.parametrize("hoses", [12, 30])
def test_a_rich_case_prints_on_two_sheets(hoses: int, tmp_path: Path) -> None:
    more = "".join(f'[[fill.hose]]\nlength = "{place} m"\nbore = "38 mm"\nrating = "16 bar"\n'
                   for place in range(1, hoses))
    case = read_text((CASES / "crest-line.toml").read_text(encoding="utf-8") + more)
    html = page(case, with_ranges(case))
    assert f"hose {hoses} length" in html
    for paper in ("A4", "Letter"):
        (tmp_path / paper).mkdir()
        assert browser.opened(browser.on_paper(html, paper), tmp_path / paper).sheets <= 2


@needs_chromium
def test_the_browser_would_show_a_complaint_and_a_request(tmp_path: Path) -> None:
    (tmp_path / "held").mkdir()
    spoilt = of("bench-valve").replace("<main>", '<main><img src="http://127.0.0.1:9/x.png"><script>x</script>')
    held = browser.opened(spoilt, tmp_path / "held")
    assert len(held.console) == 2 and held.asked == ()
    free = browser.opened(spoilt.replace(pages.POLICY, ""), tmp_path)
    assert free.asked == ("http://127.0.0.1:9/x.png",) and free.console


@needs_chromium
@pytest.mark.parametrize("width", [320, 390, 1200])
def test_nothing_sticks_out_sideways(width: int, tmp_path: Path) -> None:
    case, estimate = ranged("ammonia-line-us")
    html = page(replace(case, title="W" * 150, note="M" * 300), estimate, "us")
    assert browser.width_of_content(html, width, tmp_path) <= width


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
