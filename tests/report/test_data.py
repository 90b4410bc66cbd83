"""The data of every demo case: the keys that scripts rely on, plain numbers, null and never NaN."""

from __future__ import annotations

import json
from dataclasses import is_dataclass, replace
from math import isfinite, nan
from typing import Any

import numpy as np
import pytest

import fillcalc.estimation.answers as records_of_answers
from fillcalc.estimation.answers import LADDER, answers, at_likely_values
from fillcalc.estimation.estimate import estimate
from fillcalc.formats.data import estimate_data, line, plain
from fillcalc.model.status import Status
from fillcalc.present.tables import ladder_rows
from fillcalc.tree import put
from fillcalc.units import show
from tests.report.demo import NAMES, demo, ranged

PROMISED = {
    "fill": "finished time_s run_to_waste_s water_m3 water_kg filled_share top_up_m3 top_up_s flow_start_m3_s "
            "flow_end_m3_s air_peak_gauge_pa shares",
    "pressurise": "reached water_m3 water_no_air_m3 times_air_free parts time_s pause_s strokes strokes_at "
                  "strokes_before_needle free_air_m3 curve_residual stall_gauge_pa test_gauge_pa limited_by",
    "regulator": "lowest_gauge_pa highest_gauge_pa window time_s",
    "settle": "drop_water_pa drop_air_pa",
    "hold": "pressure_per_kelvin_pa leak_per_division_m3_s gauge_fits",
    "release": "time_s time_to_half_bar_s",
    "drain": "time_s lowest_abs_pa",
    "energy": "water_j wall_j air_j all_gas_j",
}
"""Keys that scripts rely on, by block; they may grow and must never shrink."""

SUFFIX = {
    "duration": "_s", "volume": "_m3", "air_volume": "_m3", "stroke": "_m3", "mass": "_kg", "length": "_m",
    "distance": "_m", "height": "_m", "bore": "_m",
    "flow": "_m3_s", "air_flow": "_m3_s", "pressure": "_pa", "pressure_abs": "_abs_pa",
    "pressure_change": "_pa", "energy": "_j", "temperature": "_k", "temperature_change": "_k", "speed": "_m_s",
    "pressure_per_kelvin": "_per_kelvin_pa",
    "share": "", "ratio": "", "strokes": "", "count": "", "number": "",
}
"""How the key of an answer ends, by its kind of quantity."""

SPAN = ("at_likely_values", "low", "likely", "high")
"""Ends of a span, whose own key carries the unit."""

RECORDS = [kind for kind in vars(records_of_answers).values() if isinstance(kind, type) and is_dataclass(kind)]


@pytest.mark.parametrize("amount", ["0.2 %", "0.2004 %", "0.19996 %", "0 %", "0.3 %"])
def test_the_own_air_stands_once_in_the_ladder(amount: str) -> None:
    """As a share, and as a volume that comes to it only nearly; two rows that read alike are never told."""
    case, _ = demo("cooler-shell")
    share = float(amount.removesuffix(" %")) / 100.0
    found = estimate(put(replace(case, families={**case.families, "trapped_air.amount": "share"}),
                         "trapped_air.amount", share))
    listed = ladder_rows(at_likely_values(found), "metric")
    own = [row for row in listed[1:] if row[-1]]
    assert len(own) == 1 and f"{own[0][0]} %" == show(share, "share")
    assert len({row[0] for row in listed[1:]}) == len(listed) - 1 >= len(LADDER)


def _data(name: str, **more: Any) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(line(estimate_data(*demo(name), **more)))
    return data


@pytest.mark.parametrize("name", NAMES)
def test_every_promised_key_is_there(name: str) -> None:
    data = _data(name)
    assert {"title", "format", "assumptions", "fill", "trapped_air_m3", "pressurise", "air_ladder", "needs",
            "cautions", "safety"} <= data.keys()
    for block, keys in PROMISED.items():
        if block in data:
            assert set(keys.split()) <= data[block].keys()
    assert set(data["fill"]["shares"]) == {"tap", "hose", "couplings", "valve", "exit", "height", "vent"}
    assert set(data["pressurise"]["parts"]) == {"compression_m3", "wall_m3", "air_m3", "hose_m3"}
    assert len(data["pressurise"]["strokes_at"]) == 5
    assert all({"share", "water_m3", "time_s", "strokes"} <= rung.keys() for rung in data["air_ladder"])
    assert all({"path", "value", "why", "own"} == row.keys() for row in data["assumptions"])
    assert all({"code", "weight", "text", "path", "own_gear"} == row.keys() for row in data["cautions"])


def _numbers(value: Any, key: str = "") -> list[tuple[str, float]]:
    if isinstance(value, dict):
        return [found for name, item in value.items() for found in _numbers(item, name)]
    if isinstance(value, list):
        return [found for item in value for found in _numbers(item, key)]
    return [] if isinstance(value, str | bool) or value is None else [(key, value)]


@pytest.mark.parametrize("name", NAMES)
def test_every_number_is_finite(name: str) -> None:
    numbers = _numbers(_data(name, charts=True))
    assert len(numbers) > 100
    assert [key for key, value in numbers if not isfinite(value)] == []


@pytest.mark.parametrize("record", RECORDS, ids=lambda record: record.__name__)
def test_every_key_ends_in_its_unit(record: type) -> None:
    for key, said in answers(record).items():
        if key in SPAN:
            continue
        assert key.endswith(SUFFIX[said.family]), key
        assert SUFFIX[said.family] or not key.endswith(("_s", "_m3", "_kg", "_m", "_pa", "_j")), key


@pytest.mark.parametrize("name", NAMES)
def test_one_line_of_ascii(name: str) -> None:
    text = line(estimate_data(*demo(name)))
    assert text.isascii() and "\n" not in text and "NaN" not in text


@pytest.mark.parametrize("name", NAMES)
def test_parts_and_shares_sum_to_the_whole(name: str) -> None:
    data = _data(name)
    pump = data["pressurise"]
    assert sum(data["fill"]["shares"].values()) == pytest.approx(1.0, abs=1e-6)
    assert sum(pump["parts"].values()) == pytest.approx(pump["water_m3"], rel=1e-9)


def test_words_stand_for_places_in_a_list() -> None:
    data = _data("cooler-shell")
    assert data["fill"]["status"] == data["pressurise"]["status"] == "done"
    assert data["pressurise"]["limited_by"] in ("pump", "air supply", "rise limit", "leak")
    assert plain(np.array([int(Status.AIR_SHUT_IN)])[0], "status") == "air shut in"


def test_charts_only_when_asked() -> None:
    plain_data, charted = _data("cooler-shell"), _data("cooler-shell", charts=True)
    charts = charted.pop("charts")
    assert charted == plain_data
    assert "history" not in plain_data["fill"] and "curve" not in plain_data["pressurise"]
    history = charts["fill"]["history"]
    assert history["time_s"] == sorted(history["time_s"]) and len({len(row) for row in history.values()}) == 1
    assert charts["pressurise"].keys() == {"curve", "history"}


def test_tries_do_not_change_the_case_as_written() -> None:
    case, _ = demo("cooler-shell")
    pressure = float(np.asarray(case.tap.pressure).flat[0])
    many = put(case, "tap.pressure", np.array([pressure, 0.5 * pressure, 2.0 * pressure]))
    many_data, one_data = estimate_data(many, estimate(many)), estimate_data(case, estimate(case))
    assert [key for key, _ in _numbers(many_data)] == [key for key, _ in _numbers(one_data)]
    assert [value for _, value in _numbers(many_data)] == pytest.approx([v for _, v in _numbers(one_data)], rel=1e-10)
    assert many_data["cautions"] == one_data["cautions"]


def test_what_cannot_be_had_is_null_and_a_caution_says_why() -> None:
    case, _ = demo("cooler-shell")
    shut = replace(case, vent=replace(case.vent, shut=True))
    data = json.loads(line(estimate_data(shut, estimate(shut))))
    assert data["fill"]["finished"] is False and data["fill"]["time_s"] is None
    assert data["pressurise"]["time_s"] is None
    assert "air shut in" in [caution["code"] for caution in data["cautions"]]
    assert plain(nan) is None and plain(float("inf")) is None


def test_the_safety_text_is_in_the_data() -> None:
    said = " ".join(_data("bench-valve")["safety"])
    for must in ("Estimate, not a test record", "planning only", "written procedure", "local code",
                 "competent person", "Nothing here says that a piece has passed"):
        assert must in said


def test_stages_visit_and_what_matters_are_in_the_data() -> None:
    data = json.loads(line(estimate_data(*ranged("cooler-shell"))))
    keys = {"name", "at_likely_values_s", "low_s", "likely_s", "high_s"}
    assert all(keys == stage.keys() for stage in data["stages"])
    assert {"at_likely_values_s", "low_s", "likely_s", "high_s", "never_share", "rework_s"} <= data["visit"].keys()
    assert all({"path", "low_s", "high_s"} <= swing.keys() for swing in data["matters"])
    assert data["visit"]["low_s"] <= data["visit"]["likely_s"] <= data["visit"]["high_s"]
    total = sum(stage["at_likely_values_s"] for stage in data["stages"])
    assert data["visit"]["at_likely_values_s"] == pytest.approx(total, rel=1e-9)
