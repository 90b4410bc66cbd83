"""Times of the work where nobody gave them: what a technician would quote for pieces of each kind."""

from __future__ import annotations

import pytest

from fillcalc.case.read import read_text
from fillcalc.case.records import Case
from fillcalc.estimation.answers import Visit
from fillcalc.questions.ranges import with_ranges

BARE = """
format = 1
[tap]
[[fill.hose]]
length = "20 m"
bore = "12.7 mm"
[vessel]
{vessel}
[test]
pressure = "{pressure}"
[pump]
{pump}
"""
HAND = 'kind = "hand"'
AIR = 'kind = "air-driven"\nratio = {}'
VALVE = 'shape = "valve body"\nvolume = "{}"'
HOUR, MINUTE = 3600.0, 60.0


def bare(vessel: str, pressure: str, pump: str = HAND) -> Case:
    """A case of which nothing is given but the piece, the pressure, a hose and the kind of pump."""
    return read_text(BARE.format(vessel=vessel, pressure=pressure, pump=pump))


def on_site(case: Case) -> Visit:
    visit = with_ranges(case).visit
    assert visit is not None
    return visit


QUOTES = (
    ("a DN50 valve at the bench", bare(VALVE.format("0.8 L"), "60 bar"), 35 * MINUTE, 80 * MINUTE),
    ("two dozen of them, four at a time", bare(VALVE.format("0.8 L") + "\ncount = 24\nat_once = 4", "60 bar"),
     4 * HOUR, 6.5 * HOUR),
    ("a cooler shell", bare('shape = "standing cylinder"\ndiameter = "620 mm"\nheight = "1.9 m"', "24 bar",
                            AIR.format(10)), 3 * HOUR, 5 * HOUR),
)


@pytest.mark.parametrize(("what", "case", "low", "high"), QUOTES, ids=[each[0] for each in QUOTES])
def test_the_time_on_site_is_what_the_trade_quotes(what: str, case: Case, low: float, high: float) -> None:
    """Common practice, no source: low to high lies in what technicians quote for the piece."""
    visit = on_site(case)
    assert low < visit.low_s < visit.high_s < high


def test_a_thick_block_at_700_bar_takes_less_than_three_hours() -> None:
    """Its release takes a minute, not two hours at a rate that nobody asked for; common practice, no source."""
    block = bare('shape = "other"\nvolume = "12 L"\nheight = "0.3 m"', "700 bar", AIR.format(180))
    assert on_site(block).likely_s < 3 * HOUR


@pytest.mark.parametrize(("volume", "hold"), [("0.8 L", 15.0), ("4 L", 60.0), ("20 L", 120.0), ("200 L", 300.0)])
def test_the_hold_of_a_valve_is_that_of_the_standards_for_its_size(volume: str, hold: float) -> None:
    """EN 12266-1:2012 and API 598, 6th: DN50, DN100, DN200, DN400."""
    case = bare(VALVE.format(volume), "24 bar")
    assert case.test.hold == hold
    each = next(item for item in case.assumptions if item.path == "test.hold")
    assert "check your copy" in each.why and "EN 12266-1:2012" in each.why


def test_a_load_is_filled_and_held_once_and_each_piece_is_closed_and_inspected() -> None:
    single, loaded = (with_ranges(bare(VALVE.format("0.8 L") + more, "60 bar"))
                      for more in ("", "\ncount = 8\nat_once = 4"))
    times = [{stage.name: stage.at_likely_values_s for stage in one.stages} for one in (single, loaded)]
    for stage, ratio in {"connect": 8, "inspect": 8, "disconnect": 8, "settle": 2, "hold": 2, "release": 2}.items():
        assert times[1][stage] == pytest.approx(ratio * times[0][stage]), stage
