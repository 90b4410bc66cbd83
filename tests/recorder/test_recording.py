"""What a record tells: its parts, the air of its rise, what explains the hold, against an independent simulation."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from functools import cache
from html import unescape

import numpy as np
import pytest

from fillcalc.case.read import read_file, read_text
from fillcalc.formats.data import line
from fillcalc.formats.page import page
from fillcalc.formats.recording_text import recording_data, recording_report
from fillcalc.present.recording import caution_sentences, hold_chart, hold_sentences, part_sentences, record_chart
from fillcalc.questions.ranges import with_ranges
from fillcalc.questions.recording.hold import RecordedHold, hold
from fillcalc.questions.recording.parts import NotInRecord, stretch
from fillcalc.recorder.log import Log
from fillcalc.recorder.read import log_of, read_log
from tests.families import few, thorough
from tests.recorder.coverage import row
from tests.recorder.simulation import CASE, Records
from tests.recorder.stories import DEMO, LEAK, demo, story

BALL = read_text(CASE)


@cache
def answered(**what: object) -> tuple[Log, RecordedHold, Records]:
    data, made = story(**what)  # type: ignore[arg-type]
    log = log_of(data, "record.csv")
    return log, hold(BALL, log), made


def said(log: Log, found: RecordedHold) -> str:
    return " ".join([*caution_sentences(BALL, log, found, "metric"), *part_sentences(found, log, "metric"),
                     *hold_sentences(found, log, "metric")])


def holds(found: RecordedHold, leak: float) -> bool:
    assert found.fit is not None
    return bool(found.fit.leak.low_m3_s <= leak <= found.fit.leak.high_m3_s)


# --- the four records, and a plain one --------------------------------------------------------------

def test_a_tight_vessel_shows_no_leak() -> None:
    log, found, _ = answered()
    assert found.fit is not None and not found.fit.shows and found.fit.leak.low_m3_s == 0.0
    assert "No leak shows in that; one of up to" in said(log, found)


def test_without_temperature_a_leak_is_not_told_from_cooling() -> None:
    log, found, _ = answered(leak=0.5 * LEAK, temperature=False)
    with_it = answered(leak=0.5 * LEAK)[1]
    assert found.fit is not None and with_it.fit is not None and with_it.fit.shows
    assert not found.fit.shows and holds(found, 0.5 * LEAK) and holds(with_it, 0.5 * LEAK)
    assert found.fit.smallest_m3_s > 3.0 * with_it.fit.smallest_m3_s
    assert "No temperature was recorded." in said(log, found) and "Record the temperature." in said(log, found)


def test_a_leak_hidden_by_warming_is_found() -> None:
    log, found, _ = answered(leak=LEAK, drift_k_per_h=2.0, sign=1.0)
    assert found.change_pa > 0.0 and found.fit is not None
    assert found.fit.shows and holds(found, LEAK)
    assert "WARNING: Warming hides a leak" in said(log, found)


def test_a_stroke_in_the_middle_of_the_hold_is_told_by_its_line() -> None:
    log, found, made = answered(leak=LEAK, stroke_at_s=1000.0)
    (jump,) = found.parts.jumps
    at = made.begins_s + 1000.0
    assert abs(jump.at_s - at) <= 4.0 and jump.rise_pa > 0.3e5
    assert abs(log.line[log.row_of(at)] - jump.line) <= 2
    assert f"Line {jump.line}, {log.clock(jump.at_s)}: the pressure steps up" in said(log, found)
    hold_ = found.parts.hold
    assert hold_ is not None and (hold_.end_s < at + 2.0 or hold_.start_s > at - 2.0) and holds(found, LEAK)


def test_a_hold_put_across_the_stroke_takes_it_off_and_says_so() -> None:
    log, _, made = answered(leak=LEAK, stroke_at_s=1000.0)
    start = made.begins_s + 300.0
    found = hold(BALL, log, f"{start:.0f} s-{start + 1400.0:.0f} s")
    assert len(found.within) == 1 and holds(found, LEAK)
    assert "the step is taken off, and the answer is doubtful" in said(log, found)


def test_a_record_that_is_cut_off_is_told_so() -> None:
    data, _ = story(leak=LEAK)
    log = log_of(data[:len(data) * 6 // 10], "record.csv")
    found = hold(BALL, log)
    assert found.ends_at_pressure and found.parts.release is None and holds(found, LEAK)
    assert "that it was let down is not in it" in said(log, found) and "the case asks for 30 min" in said(log, found)
    assert "the file ends within this line" in " ".join(map(str, log.oddities))


# --- the parts --------------------------------------------------------------------------------------

def test_the_parts_are_where_they_were_made() -> None:
    log, found, made = answered()
    parts = found.parts
    assert parts.rise is not None and parts.settle is not None and parts.hold is not None and parts.release is not None
    stopped = made.begins_s - 120.0
    assert abs(parts.rise.start_s - 30.0) <= 20.0 and abs(parts.rise.end_s - stopped) <= 6.0
    assert parts.rise.end_s <= parts.settle.start_s < parts.settle.end_s <= parts.hold.start_s
    assert abs(parts.release.start_s - (made.begins_s + 1800.0)) <= 6.0
    assert not parts.jumps and not parts.steps and not parts.moved
    assert "The parts were found by how fast the pressure moves" in said(log, found)


@pytest.mark.parametrize("releases", [True, False])
@pytest.mark.parametrize("times", few([4.0, 10.0, 20.0], 1))
def test_a_large_leak_is_no_release(times: float, releases: bool) -> None:
    """The hold goes on until the pressure is let down, or has fallen to half."""
    _, found, made = answered(leak=times * LEAK, releases=releases)
    parts, falls = found.parts, times > 10.0
    assert parts.hold is not None and found.fit is not None and found.fit.shows
    assert parts.settle is not None and abs(parts.settle.start_s - (made.begins_s - 120.0)) <= 6.0
    assert parts.settle.end_s == parts.hold.start_s and (parts.release is not None) == (releases and not falls)
    assert found.ends_at_pressure != releases
    if falls:
        assert parts.hold.end_gauge_pa == pytest.approx(12e5, rel=0.03)
        assert found.fit.leak.likely_m3_s == pytest.approx(0.85 * times * LEAK, rel=0.1)
    elif releases:
        assert parts.hold.end_s == pytest.approx(made.begins_s + 1800.0, abs=6.0) and holds(found, float(made.leak[0]))
    else:
        assert parts.hold.end_s >= made.begins_s + 1800.0


def test_a_hold_of_days_is_explained_without_a_word_of_numpy() -> None:
    """Ten days, so that a pocket cools within the first of the points that are fitted; warnings are faults here."""
    time = np.arange(0.0, 10.0 * 86400.0, 60.0)
    gauge = 1e5 * np.interp(time, [120, 240, time[-1] - 1200.0, time[-1] - 1000.0], [0, 24, 23, 0])
    log = Log("record.csv", time, np.round(gauge, -2), np.full(len(time), 288.15), np.arange(len(time)) + 2, False, 0.0,
              "", (), "", ())
    with np.errstate(all="raise", under="ignore"):
        found = hold(BALL, log)
    assert found.fit is not None and found.fit.shows and found.time_s > 9.9 * 86400.0
    assert found.fit.leak.high_m3_s < 4.0 * found.fit.leak.low_m3_s
    assert "The temperature stood still" in said(log, found)


def test_stops_on_the_way_up_are_steps() -> None:
    time = np.arange(0.0, 1500.0)
    gauge = 1e5 * np.interp(time, [60, 90, 150, 180, 260, 290, 1400, 1420], [0, 8, 8, 16, 16, 24, 24, 0])
    gauge += np.random.default_rng(1).normal(0.0, 300.0, len(time))
    log = Log("record.csv", time, gauge, None, np.arange(len(time)) + 2, False, 0.0, "", (), "", ())
    parts = hold(BALL, log).parts
    assert [(round(step.start_s, -1), round(step.end_s, -1)) for step in parts.steps] == [(90, 150), (180, 260)]
    assert parts.release is not None and abs(parts.release.start_s - 1400.0) < 8.0


@pytest.mark.parametrize("gauge", [np.zeros(200), np.full(200, 24e5), np.linspace(0.0, 24e5, 200),
                                   np.linspace(24e5, 0.0, 200), np.r_[np.zeros(100), np.full(100, 24e5)],
                                   np.where(np.arange(200) % 2, 24e5, 0.0)])
def test_records_that_are_none_of_a_test_are_told_without_a_fault(gauge: np.ndarray) -> None:
    log = Log("record.csv", np.arange(200.0), gauge, None, np.arange(200) + 1, False, None, "", (), "", ())
    found = hold(BALL, log)
    text = recording_report(BALL, log, found)
    assert "nan" not in text.casefold() and json.loads(line(recording_data(BALL, log, found)))


def test_the_hold_can_be_moved() -> None:
    log, found, _ = answered()
    assert found.parts.hold is not None
    other = hold(BALL, log, "09:45-09:55")
    assert other.parts.hold is not None and other.parts.moved
    assert other.parts.hold.start_s == pytest.approx(900.0, abs=2.0)
    assert other.time_s == pytest.approx(600.0, abs=4.0)
    assert other.fit is not None and found.fit is not None
    assert other.fit.smallest_m3_s > found.fit.smallest_m3_s
    assert stretch("15 min to 25 min", log) == stretch("09:45-09:55", log) == (900.0, 1500.0)


@pytest.mark.parametrize("text", ["09:45", "10:50-11:20", "09:55-09:45", "a-b", "25 min-15 min", "-", "1e9 s-2e9 s"])
def test_a_hold_that_is_none_is_told(text: str) -> None:
    with pytest.raises(NotInRecord, match=r"[Hh]old"):
        hold(BALL, answered()[0], text)


def test_past_midnight_the_clock_goes_on() -> None:
    log = replace(answered()[0], clock_s=86400.0 - 900.0)
    assert log.clock(0.0) == "23:45" and log.clock(1200.0) == "00:05"
    assert stretch("23:55-00:10", log) == (600.0, 1500.0)


# --- the air of the rise ----------------------------------------------------------------------------

def test_the_rise_tells_the_trapped_air() -> None:
    """Of ten records with the pump of the case the true air lies inside in all but one."""
    inside = 0
    for seed in range(10):
        data, made = story(seed, every_s=1.0)
        rise = hold(BALL, log_of(data, "record.csv")).rise
        assert rise is not None and rise.by == "pump" and not rise.bends
        inside += rise.share.low <= float(made.air[0]) <= rise.share.high
    assert inside >= 9


def test_a_rise_that_bends_the_wrong_way_is_said() -> None:
    time = np.arange(0.0, 1500.0)
    gauge = 24e5 * (1.0 - np.exp(-np.maximum(time - 30.0, 0.0) / 60.0)) * (time < 1400.0)
    log = Log("record.csv", time, gauge, None, np.arange(len(time)) + 2, False, 0.0, "", (), "", ())
    found = hold(BALL, log)
    assert found.rise is not None and found.rise.bends
    assert "bends the wrong way" in recording_report(BALL, log, found)


# --- how often it is right --------------------------------------------------------------------------

@thorough
@pytest.mark.parametrize(("gauge", "every", "length", "read"), few([
    ("class 1", 1.0, 1200.0, True), ("class 0.1", 60.0, 1200.0, True), ("class 1", 60.0, 3600.0, False)], 1))
def test_the_true_leak_lies_between_low_and_high(gauge: str, every: float, length: float, read: bool) -> None:
    """A sample of `python -m tests.recorder`: 30 that leak and 30 that do not."""
    one = row(gauge, every, length, read, 30)
    assert one.inside + one.tight_inside >= 0.9 * 60
    assert one.tight_shown <= 2  # five in a hundred are 1.5


@thorough
def test_the_smallest_leak_that_would_show_does_show() -> None:
    shown = 0
    for seed in range(4):
        tight = answered(seed=seed)[1].fit
        assert tight is not None
        found = answered(seed=seed, leak=1.15 * tight.smallest_m3_s)[1].fit
        shown += found is not None and found.shows
    assert shown == 4


def test_a_longer_hold_shows_a_smaller_leak_as_it_says() -> None:
    _, found, _ = answered(hold_s=900.0, sign=1.0, drift_k_per_h=0.2)
    assert found.fit is not None
    longer = found.fit.longer[0]
    assert longer.leak_m3_s == pytest.approx(0.5 * found.fit.smallest_m3_s)
    assert longer.time_s > found.time_s
    other = answered(hold_s=longer.time_s + 900.0, sign=1.0, drift_k_per_h=0.2)[1]
    assert other.fit is not None and other.fit.smallest_m3_s < 1.3 * longer.leak_m3_s


def test_parts_explain_the_whole_change() -> None:
    for what in ({}, {"leak": LEAK}, {"leak": 5 * LEAK}, {"temperature": False}):
        fit = answered(**what)[1].fit
        assert fit is not None
        spread = sum(abs(one.high_pa - one.low_pa) for one in fit.explained)
        assert abs(sum(one.likely_pa for one in fit.explained) - fit.change_pa) < 0.3 * spread


# --- what is told -----------------------------------------------------------------------------------

@pytest.mark.parametrize("units", ["metric", "us"])
def test_text_and_data_tell_the_same_and_never_that_it_held(units: str) -> None:
    for what in ({}, {"leak": LEAK, "temperature": False}, {"leak": LEAK, "stroke_at_s": 1000.0}):
        log, found, _ = answered(**what)
        text = recording_report(BALL, log, found, units)
        data = json.loads(line(recording_data(BALL, log, found, units)))
        flat = " ".join(text.split())
        assert [one["text"] for one in data["cautions"] if " ".join(one["text"].split()) not in flat] == []
        assert [one for one in (*data["said"]["hold"], *data["said"]["parts"], *data["said"]["file"])
                if " ".join(one.split()) not in flat] == []
        assert max(map(len, text.splitlines())) <= 80
        assert not re.search(r"\bpass(ed|es)?\b|\bOK\b|\bsound\b", text.partition("\nSafety")[0], re.IGNORECASE)
        assert data["fit"]["leak"]["high_m3_s"] == pytest.approx(found.fit.leak.high_m3_s)  # type: ignore[union-attr]


def test_the_charts_have_the_parts_and_the_explained_curve() -> None:
    log, found, _ = answered(leak=LEAK)
    whole, near = record_chart(found, log, "metric"), hold_chart(found, log, "us")
    assert [curve.words for curve in whole.curves] == ["recorded", "explained"]
    assert [mark.words for mark in whole.uprights] == ["rise", "settle", "hold", "release"]
    assert near is not None and near.y_words == "change, psi"
    recorded, explained = near.curves
    apart = np.interp(explained.x, recorded.x, recorded.y) - explained.y
    assert float(np.sqrt(np.mean(apart**2))) < 0.2  # the gauge's noise is 0.06 psi, and it wanders by half of that


def test_the_sheet_for_the_site_has_the_record_and_no_other_sheet_has() -> None:
    log, found, _ = answered(leak=LEAK)
    estimate = with_ranges(BALL)
    plain, site, quote = (page(BALL, estimate, "metric", (sheet,), recorded) for sheet, recorded in (
        ("site", None), ("site", (log, found)), ("quote", (log, found))))
    assert "record.csv" in site and "record.csv" not in plain and "record.csv" not in quote
    assert site.count("<svg") == plain.count("<svg") + 2
    words = " ".join(unescape(re.sub(r"<[^>]*>", " ", site)).split())
    assert [one for one in (*caution_sentences(BALL, log, found, "metric"),
                            *hold_sentences(found, log, "metric"), *part_sentences(found, log, "metric"))
            if one not in words] == []


def test_the_demo_record_is_as_made_and_shows_its_leak() -> None:
    assert DEMO.read_bytes() == demo()
    found = hold(read_file(DEMO.with_name("cooler-shell.toml")), read_log(DEMO))
    assert found.change_pa > 0.0 and found.fit is not None and found.fit.shows and holds(found, 5e-6 / 60.0)
