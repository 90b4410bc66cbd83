"""The text report: 80 columns, the same numbers as the data, one report word for word, US wording."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from fillcalc.case.read import read_bytes
from fillcalc.estimation.answers import answers
from fillcalc.estimation.estimate import estimate
from fillcalc.formats.data import estimate_data
from fillcalc.formats.text import report
from fillcalc.present.sentences import SAFETY, US_TRADE, trade
from fillcalc.present.tables import ladder_rows
from fillcalc.questions.likely import likely
from fillcalc.units import show
from fillcalc.units.spans import show_range
from tests.families import few
from tests.report.demo import NAMES, demo, ranged

HERE = Path(__file__).parent
README = HERE.parents[1] / "README.md"

SHOWN = {
    "fill": ("time_s", "water_m3", "water_kg", "flow_start_m3_s"),
    "pressurise": ("time_s", "water_m3", "strokes", "times_air_free", "stall_gauge_pa", "test_gauge_pa"),
    "regulator": ("lowest_gauge_pa",),
    "settle": ("drop_water_pa",),
    "hold": ("pressure_per_kelvin_pa",),
    "release": ("time_s",),
    "drain": ("time_s",),
    "energy": ("water_j", "all_gas_j"),
}
"""Answers that the text must show, by the key of the data."""


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("name", NAMES)
def test_lines_fit_eighty_columns(name: str, units: str) -> None:
    assert [text for text in report(*demo(name), units).splitlines() if len(text) > 80] == []


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("name", NAMES)
def test_the_text_shows_the_numbers_of_the_data(name: str, units: str) -> None:
    case, answer = demo(name)
    text, data = report(case, answer, units), estimate_data(case, answer, units)
    flat = " ".join(text.split())
    for block, keys in SHOWN.items():
        if block == "regulator" and "No regulator setting is advised" in flat:
            continue  # its ends would contradict that
        for key in keys:
            value = data.get(block, {}).get(key)
            family = answers(type(getattr(answer, block)))[key].family if block in data else ""
            assert value is None or show(value, family, units) in flat, (block, key)
    for row in ladder_rows(likely(answer, units), units):
        assert re.search(r"\s+".join(map(re.escape, filter(None, row))), text), row


def _sentences(data: dict[str, Any]) -> list[str]:
    return [*(row["text"] for row in data["cautions"]), *data["needs"], *data["quote"], *data["safety"][1:]]


@pytest.mark.parametrize("name", NAMES)
def test_cautions_needs_and_safety_are_the_same_in_text_and_data(name: str) -> None:
    case, answer = demo(name)
    flat = " ".join(report(case, answer).split())
    assert all(sentence in flat for sentence in _sentences(estimate_data(case, answer)))


@pytest.mark.parametrize("name", NAMES)
def test_answers_come_first_and_safety_last(name: str) -> None:
    lines = report(*demo(name)).splitlines()
    assert lines[0] == "Estimate, not a test record"
    assert "gauge" in lines[2]
    heads = [line.split("  ")[0] for line in lines[4:12] if not line.startswith(" ")]
    assert heads[:3] == ["Fill", "Pump-up", "Trapped air"]
    assert lines[-1].strip() in SAFETY[-1]


def test_one_report_word_for_word() -> None:
    assert report(*ranged("cooler-shell")) == (HERE / "cooler-shell.txt").read_text(encoding="utf-8")


def test_the_readme_shows_the_report_as_it_is() -> None:
    blocks = re.findall(r"```text\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
    assert len(blocks) == 1
    assert report(*ranged("cooler-shell")).startswith(blocks[0])


METRIC = re.compile(r"[0-9] (?:[mk]?bar|[kM]?Pa|[µm]?L|N?L/min|mL/min|[cmk]?m|mm²|m³|m2|m3|k?g|t|K|°C|degC|[kM]?J|m/s)"
                    r"(?![\w³²/])")
"""A figure in a metric unit that is not the American trade's own, as cc and DN are."""


@pytest.mark.parametrize("name", few(NAMES))
def test_what_the_sun_warms_is_told_to_two_figures_or_not_at_all(name: str) -> None:
    seen = re.findall(r"full sun on .* metal +([0-9.]+) K", report(*ranged(name)))
    assert [text for text in seen if float(text) < 0.1 or len(text.replace(".", "").strip("0")) > 2] == []


@pytest.mark.parametrize("name", NAMES)
def test_us_units_speak_us_trade_words(name: str) -> None:
    case, estimated = demo(name)
    text = report(case, estimated, "us")
    body = text.partition("Assumed, because")[0]
    assert not re.search(r"\b(tap|bore|litres?|standing cylinder|kelvin)\b", body)
    assert "psi" in body and METRIC.findall(text.replace(case.title, "")) == []
    assert "psi" not in report(*demo(name)).partition("Assumed, because")[0]


def test_the_case_in_the_readme_runs() -> None:
    block = re.findall(r"```toml\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)[0]
    case = read_bytes(block.encode(), "README")
    assert "Pressure losses" in report(case, estimate(case))


def test_trade_words_leave_keys_and_other_words_alone() -> None:
    assert trade("The tap and Tap, tapping vent.bore, tap.height = 0 m at the bore.", "us") == \
        "The hose bib and Hose bib, tapping vent.bore, tap.height = 0 m at the ID."
    assert all(trade(word, "metric") == word for word in US_TRADE)


def test_foreign_text_goes_through_the_door() -> None:
    case, answer = demo("cooler-shell")
    text = report(replace(case, title="\x1b[2J\u202eevil"), answer)
    assert "\x1b" not in text and "\u202e" not in text and "<U+001B>" in text


def test_a_fill_that_never_finishes_is_the_first_thing_said() -> None:
    case, _ = demo("cooler-shell")
    shut = replace(case, vent=replace(case.vent, shut=True))
    lines = report(shut, estimate(shut)).splitlines()
    assert "never full" in lines[4]
    assert any("The fill never finishes" in line for line in lines)


def test_a_pump_that_stalls_says_where() -> None:
    case, _ = demo("cooler-shell")
    weak = replace(case, pump=replace(case.pump, regulator_pressure=1.5e5))
    text = report(weak, estimate(weak))
    assert re.search(r"Pump-up +never +stalls at", text) and "The pump stalls at" in text


@pytest.mark.parametrize("units", ["metric", "us"])
def test_the_time_on_site_is_the_same_in_text_and_data(units: str) -> None:
    case, answer = ranged("cooler-shell")
    text, found = report(case, answer, units), likely(answer, units).visit
    assert found is not None
    ends = show_range(found.low_s, found.high_s, "duration", units, found.likely_s)
    assert re.search(rf"Time on site +{show(found.likely_s, 'duration')} +{ends}\n", text)
    joint = show(found.rework_s, "duration")
    assert f"Re-made joints: 15 % of pieces, 0.15 expected in this visit, {joint} each." in text
    assert [line for line in text.splitlines() if len(line) > 80] == []


def test_high_points_that_keep_their_air_are_said() -> None:
    assert "High point 2: the water runs at" in report(*demo("crest-line"))
