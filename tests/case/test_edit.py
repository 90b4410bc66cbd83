"""Changing the text of a case at one path: the value arrives, the rest and the comments stay."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fillcalc.case.edit import EditProblem, set_at
from fillcalc.case.read import read_text
from fillcalc.case.template import template
from fillcalc.tree import at
from fillcalc.units import read_quantity, write
from tests.case.test_read import BASE, HERE

FULL = (HERE / "full.toml").read_text(encoding="utf-8")
COMMENTS = ("# the drum", "# measured with a tape", "# printed on the jacket", "# from the order")

PLACES = [
    ("vessel.diameter", "bore", 0.1, 5.0),
    ("fill.hose.1.bore", "bore", 0.005, 0.1),
    ("fill.hose.1.tail_bore", "bore", 1e-3, 4e-3),
    ("test.pressure", "pressure", 2e4, 1e8),
    ("tap.open_flow", "flow", 1e-4, 1e-2),
    ("vent.bore", "bore", 1e-3, 0.05),
    ("labour.each.bleed", "duration", 100.0, 5000.0),
    ("labour.visit.wait", "duration", 100.0, 5000.0),
    ("surroundings.temperature", "temperature", 260.0, 330.0),
    ("rework.chance", "share", 0.01, 0.9),
    ("pump.stroke", "stroke", 1e-6, 1e-3),
    ("drain.bore", "bore", 0.01, 0.1),
    ("release.rate", "pressure_rate", 100.0, 1e5),
]


def flat(value: object, base: str = "") -> dict[str, object]:
    """Every leaf of a table by its path."""
    if isinstance(value, dict):
        pairs = value.items()
    elif isinstance(value, list):
        pairs = {str(place): each for place, each in enumerate(value, 1)}.items()
    else:
        return {base: value}
    return {path: leaf for key, each in pairs for path, leaf in flat(each, f"{base}.{key}" if base else key).items()}


@given(
    st.sampled_from(PLACES),
    st.floats(0, 1),
    st.sampled_from(["metric", "us"]),
    st.sampled_from([BASE, BASE.replace("\n", "\r\n")]),
)
@settings(max_examples=150, deadline=None)
def test_what_is_set_reads_back_and_comments_stay(
    place: tuple[str, str, float, float], part: float, units: str, text: str
) -> None:
    path, family, low, high = place
    typed = write(low + part * (high - low), family, units)
    new = set_at(text, path, typed)
    assert at(read_text(new.replace("\r\n", "\n")), path) == pytest.approx(read_quantity(typed, family)[0], rel=1e-12)
    for comment in COMMENTS:
        assert comment in new
    before, after = flat(tomllib.loads(text)), flat(tomllib.loads(new))
    assert {key: each for key, each in after.items() if key != path} == {k: v for k, v in before.items() if k != path}


@given(
    st.text(max_size=60),
    st.sampled_from(
        ["title", "note", "vessel.wall", "vessel.shape", "pump.ratio", "tap.points", "vent.shut", "ranges.tap.pressure"]
    ),
)
@settings(max_examples=200, deadline=None)
def test_any_text_is_written_as_data(value: str, path: str) -> None:
    try:
        new = set_at(BASE, path, value)
    except EditProblem:
        return
    before, after = tomllib.loads(BASE), tomllib.loads(new)
    top = path.partition(".")[0]
    assert {key: each for key, each in after.items() if key != top} == {
        key: each for key, each in before.items() if key != top
    }
    if path in ("title", "note") and value:
        assert after[path] == value.encode("utf-8", "replace").decode()


@pytest.mark.parametrize(
    ("path", "typed", "value"),
    [
        ("pump.ratio", "12", 12),
        ("pump.ratio", "0,6", "0,6"),
        ("vent.shut", "yes", True),
        ("vent.shut", "false", False),
        ("vessel.count", "3", 3),
        ("pump.points", '[["0 bar", "4 L/min"], ["9 bar", "1 L/min"]]', [["0 bar", "4 L/min"], ["9 bar", "1 L/min"]]),
        ("pump.points", "0 bar : 4 L/min; 9 bar : 1 L/min", [["0 bar", "4 L/min"], ["9 bar", "1 L/min"]]),
        ("pump.stall", "5.5 bar; 52 bar", ["5.5 bar", "52 bar"]),
        ("pump.stall", "5.5 bar : 52 bar", ["5.5 bar", "52 bar"]),
        ("title", "a\nb", "a\nb"),
        ("note", "a\n[b]\nc", "a\n[b]\nc"),
        ("vessel.size", "12", "12"),
        ("vessel.wall", "rigid", "rigid"),
    ],
)
def test_what_is_typed_gets_its_kind(path: str, typed: str, value: object) -> None:
    here: object = tomllib.loads(set_at(BASE, path, typed))
    for part in path.split("."):
        here = here[part]  # type: ignore[index]
    assert here == value
    assert type(here) is type(value)


def test_ranges_keep_their_path_as_one_key() -> None:
    new = set_at(set_at(BASE, "ranges.tap.pressure", "±15 %"), "ranges.vent.bore", "5 mm; 8 mm; 9 mm")
    assert tomllib.loads(new)["ranges"] == {"tap.pressure": "±15 %", "vent.bore": ["5 mm", "8 mm", "9 mm"]}
    assert read_text(new).ranges["vent.bore"].likely == pytest.approx(0.008)
    assert "ranges" not in tomllib.loads(set_at(set_at(new, "ranges.tap.pressure", None), "ranges", None))


def test_tables_are_made_and_taken_out() -> None:
    new = set_at(set_at(BASE, "fill.hose.2.length", "10 m"), "fill.hose.2.bore", "19 mm")
    assert len(read_text(new).fill.hose) == 2
    assert set_at(new, "fill.hose.1", None).count("[[fill.hose]]") == 1
    assert read_text(set_at(new, "fill.hose.1", None)).fill.hose[0].bore == pytest.approx(0.019)
    again = set_at(set_at(BASE, "reading.1.pressure", "3 bar"), "reading.1.strokes", "12")
    assert read_text(again).reading[0].strokes == 12
    assert tomllib.loads(set_at(again, "reading.1", None)) == tomllib.loads(BASE)
    steps = set_at(set_at(BASE, "test.steps.1.at", "50 %"), "test.steps.1.pause", "2 min")
    assert read_text(steps).test.steps[0].pause == 120.0
    assert set_at(BASE, "vent.bore", None) == BASE


def test_steps_within_one_line() -> None:
    new = set_at(FULL, "test.steps.2.at", "20 bar")
    assert read_text(new).test.steps[1].at == pytest.approx(20e5)
    third = set_at(set_at(FULL, "test.steps.3.at", "100 %"), "test.steps.3.pause", "1 min")
    assert len(read_text(third).test.steps) == 3


@pytest.mark.parametrize(
    ("text", "path"),
    [
        ("not toml [", "title"),
        (BASE, "fill.hose.9.bore"),
        (BASE, "fill.hose.0.bore"),
        (BASE, "title.x"),
        (BASE, "vessel..wall"),
        (BASE, ""),
        ("x = " + "[" * 10_000, "title"),
    ],
)
def test_what_cannot_be_changed_says_so(text: str, path: str) -> None:
    with pytest.raises(EditProblem) as caught:
        set_at(text, path, "1 m")
    assert str(caught.value)


def test_every_input_of_the_template_can_be_set() -> None:
    text = template()
    for path in (
        "water.temperature",
        "gauge.height",
        "drain.fall",
        "trapped_air.amount",
        "air_supply.flow",
        "relief_valve.set",
    ):
        typed = {
            "water.temperature": "12 degC",
            "trapped_air.amount": "1 %",
            "air_supply.flow": "200 L/min",
            "relief_valve.set": "27 bar",
        }.get(path, "1 m")
        text = set_at(text, path, typed)
    case = read_text(text)
    assert case.relief_valve is not None and case.relief_valve.set == pytest.approx(27e5)
    assert text.count("#") >= template().count("#")
