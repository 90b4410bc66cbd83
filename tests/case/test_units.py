"""Units: reading, refusing, showing; factors held against pint."""

from __future__ import annotations

import math
import time

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from fillcalc.units import UnitProblem, axis, read_number, read_quantity, restate, show, with_us_gallons, write
from fillcalc.units.tables import FAMILIES, UNITS

READ = [
    ("0", "duration", 0.0),
    ("0,0", "duration", 0.0),
    ("1 1/2 in", "bore", 0.0381),
    ("1-1/2 in", "bore", 0.0381),
    ("3/4 in", "bore", 0.01905),
    ('1/2"', "bore", 0.0127),
    ("½ in", "bore", 0.0127),
    ("6' 3 1/2\"", "length", 75.5 * 0.0254),
    ("25 m", "length", 25.0),
    ("-1.5 m", "height", -1.5),
    ("−1.5 m", "height", -1.5),
    ("12,5 bar", "pressure", 12.5e5),
    ("24 bar(g)", "pressure", 24e5),
    ("24 bar g", "pressure", 24e5),
    ("24 barg", "pressure", 24e5),
    ("24 bar gauge", "pressure", 24e5),
    ("350 psig", "pressure", 350 * 6894.757293168),
    ("0.5 MPa", "pressure", 5e5),
    ("30 mbar", "pressure", 3e3),
    ("1013 mbar abs", "pressure_abs", 101300.0),
    ("14.7 psia", "pressure_abs", 14.7 * 6894.757293168),
    ("1.013 bar a", "pressure_abs", 101300.0),
    ("11.7e-6 /K", "expansion", 11.7e-6),
    ("6.5e-6 /°F", "expansion", 11.7e-6),
    ("15 degC", "temperature", 288.15),
    ("15 C", "temperature", 288.15),
    ("15 °C", "temperature", 288.15),
    ("59 °F", "temperature", 288.15),
    ("59 degF", "temperature", 288.15),
    ("28 L/min", "flow", 28e-3 / 60),
    ("28 l/min", "flow", 28e-3 / 60),
    ("28 lpm", "flow", 28e-3 / 60),
    ("8 gpm", "flow", 8 * 3.785411784e-3 / 60),
    ("5 mL/min", "flow", 5e-6 / 60),
    ("9 cfm", "air_flow", 9 * 0.028316846592 / 60),
    ("260 NL/min", "normal_flow", 0.26 / 60),
    ("260 nl/min", "normal_flow", 0.26 / 60),
    ("15.6 Nm3/h", "normal_flow", 0.26 / 60),
    ("16 Nm³/h", "normal_flow", 16 / 3600),
    ("9 scfm", "normal_flow", 9 * 4.465203075300167e-4),
    ("45 s", "duration", 45.0),
    ("1 h 20 min", "duration", 4800.0),
    ("1h20min", "duration", 4800.0),
    ("2,5 h", "duration", 9000.0),
    ("0.5 %", "share", 0.005),
    ("10 deg", "angle", math.radians(10)),
    ("40 /min", "stroke_rate", 40 / 60),
    ("40 strokes/min", "stroke_rate", 40 / 60),
    ("0.015 mL/m/bar", "hose_stretch", 1.5e-13),
    ("11.5 L", "volume", 0.0115),
    ("11.5 litre", "volume", 0.0115),
    ("60 cc", "stroke", 6e-5),
    ("60 mL/stroke", "stroke", 6e-5),
    ("10 US gal", "volume", 0.03785411784),
    ("10 imp gal", "volume", 0.0454609),
    ("1200 L", "volume", 1.2),
    ("0,200 L", "volume", 2e-4),
    ("2 bar/min", "pressure_rate", 2e5 / 60),
    ("30 psi/min", "pressure_rate", 30 * 6894.757293168 / 60),
    ("207 GPa", "stress", 207e9),
    ("30e6 psi", "stress", 30e6 * 6894.757293168),
    ("0.6", "number", 0.6),
    ("10:1", "number", 10.0),
]


@pytest.mark.parametrize(("text", "family", "value"), READ)
def test_reads(text: str, family: str, value: float) -> None:
    assert read_quantity(text, family)[0] == pytest.approx(value, rel=1e-12)


REFUSED = [
    ("1,200 L", "volume", ("1200 L", "1.200 L")),
    ("10 gal", "volume", ("US gal", "imp gal")),
    ("10 gal/min", "flow", ("US gal/min", "imp gal/min")),
    ("3 bar abs", "pressure", ("gauge",)),
    ("3 bara", "pressure", ("gauge",)),
    ("1013 mbar", "pressure_abs", ("abs",)),
    ("1 bar g", "pressure_abs", ("abs",)),
    ("25", "length", ("unit is missing",)),
    ("10", "duration", ("unit is missing",)),
    ("25 bar", "length", ("length",)),
    ("9**9**8 m", "length", ("worked out",)),
    ("2*3 m", "length", ("worked out",)),
    ("1,200.5 L", "volume", ("1200.5",)),
    ("1.200,5 L", "volume", ("1200.5",)),
    ("1 200 L", "volume", ("thousands",)),
    ("nan m", "length", ("number",)),
    ("inf m", "length", ("number",)),
    ("1e400 m", "length", ("large",)),
    ("1/0 in", "bore", ("0",)),
    ("", "length", ("nothing",)),
    ("m", "length", ("number",)),
    ("5 ML", "volume", ("capital",)),
    ("20 mPa", "pressure", ("capital",)),
    ("3 lpn", "flow", ("lpm",)),
    ("10:30", "duration", ("colon",)),
    ("1 h 80 min", "duration", ("time",)),
    ("0x10 m", "length", ("length",)),
    ("1_000 m", "length", ('"1000 m"',)),
    ("0.6 m", "number", ("plain number",)),
    ("٣ m", "length", ('"3 m"',)),
    ("5 m; 3 m", "length", ("length",)),
    ("1/2", "bore", ('"1/2 in"', '"0.5 mm"')),
    ("1 1/2", "length", ('"1 1/2 ft"', '"1.5 m"')),
    ("¾", "bore", ('"¾ in"', '"0.75 mm"')),
]


@pytest.mark.parametrize(("text", "family", "words"), REFUSED)
def test_refuses_in_words(text: str, family: str, words: tuple[str, ...]) -> None:
    with pytest.raises(UnitProblem) as caught:
        read_quantity(text, family)
    for word in words:
        assert word in str(caught.value)


@pytest.mark.parametrize("family", sorted(set(FAMILIES) - {"temperature", "pressure_abs"}))
def test_zero_needs_no_unit_where_it_is_the_same_in_all(family: str) -> None:
    for text in ("0", "0.0", "0,0", "-0"):
        value, _ = read_quantity(text, family)
        assert value == 0 and math.copysign(1.0, value) == 1.0
    with pytest.raises(UnitProblem):
        read_quantity("1", family) if FAMILIES[family].dimension != "none" else read_quantity("1 m", family)


@pytest.mark.parametrize("family", ["temperature", "pressure_abs"])
def test_zero_needs_its_unit_where_units_begin_elsewhere(family: str) -> None:
    with pytest.raises(UnitProblem, match="the unit is missing"):
        read_quantity("0", family)


def test_bare_gallons_are_us_ones_only_where_that_is_asked_for() -> None:
    for text, full in [("0.20 gal", "0.20 US gal"), ("10gal/min", "10 US gal/min"), ("344 /gal", "344 /US gal"),
                       ("3 gal; 5 Gallons", "3 US gal; 5 US Gallons")]:
        assert with_us_gallons(text) == full
    for text in ("1 US gal", "1 imp gal", "1 gal (imp)", "1 gal US", "1 USgal", "1 UK gallon", "5 gpm", "gala"):
        assert with_us_gallons(text) == text


def test_strokes_are_counted_to_any_volume() -> None:
    gallon = 3.785411784e-3
    for text, value in [("91 /L", 91e3), ("344 /US gal", 344 / gallon), ("344 strokes per US gallon", 344 / gallon),
                        ("0.091 1/mL", 91e3), ("91 strokes a litre", 91e3)]:
        assert read_quantity(text, "strokes_per_volume")[0] == pytest.approx(value, rel=1e-12)
    with pytest.raises(UnitProblem, match=r"344 /US gal.*344 /imp gal"):
        read_quantity("344 /gal", "strokes_per_volume")


def test_unit_decides_between_families() -> None:
    assert read_quantity("0.4 %", ("share", "volume")) == (pytest.approx(0.004), "share")
    assert read_quantity("2 L", ("share", "volume")) == (pytest.approx(2e-3), "volume")


@pytest.mark.parametrize(
    "text", ["9" * 10**6 + " m", "1." * 10**6, "1/" * 10**6, " " * 10**6, "1 " * 10**5, "''" * 10**5]
)
def test_no_length_hangs(text: str) -> None:
    start = time.perf_counter()
    with pytest.raises(UnitProblem) as caught:
        read_quantity(text, "length")
    assert time.perf_counter() - start < 0.5
    assert len(str(caught.value)) < 1000


@given(st.text(max_size=90), st.sampled_from(sorted(FAMILIES)))
@settings(max_examples=300, deadline=None)
@example("1\x1b[31m m", "length")
def test_any_text_reads_or_is_refused(text: str, family: str) -> None:
    try:
        value, _ = read_quantity(text, family)
    except UnitProblem as problem:
        assert "\x1b" not in str(problem)
        assert problem.expected
    else:
        assert math.isfinite(value)


def test_pint_agrees_with_the_factors() -> None:
    pint = pytest.importorskip("pint")
    registry = pint.UnitRegistry()
    pairs = {
        "length": {
            "mm": "mm",
            "cm": "cm",
            "um": "um",
            "in": "inch",
            "ft": "foot",
            "yd": "yard",
            "mi": "mile",
            "thou": "thou",
        },
        "volume": {
            "L": "liter",
            "mL": "milliliter",
            "cc": "cc",
            "ft3": "foot**3",
            "in3": "inch**3",
            "US gal": "gallon",
            "imp gal": "imperial_gallon",
            "US qt": "quart",
            "US pt": "pint",
            "US fl oz": "fluid_ounce",
            "hL": "hectoliter",
        },
        "mass": {"g": "gram", "t": "tonne", "lb": "pound", "US ton": "short_ton"},
        "pressure": {
            "hPa": "hPa",
            "kPa": "kPa",
            "MPa": "MPa",
            "mbar": "mbar",
            "bar": "bar",
            "psi": "psi",
            "ksi": "ksi",
            "kgf/cm2": "kgf/cm**2",
            "atm": "atm",
            "mmHg": "mmHg",
            "inHg": "inHg",
        },
        "stress": {"GPa": "GPa", "N/mm2": "N/mm**2"},
        "flow": {
            "L/min": "liter/minute",
            "m3/h": "m**3/hour",
            "gpm": "gallon/minute",
            "imp gpm": "imperial_gallon/minute",
            "gph": "gallon/hour",
            "mL/s": "milliliter/second",
        },
        "free air": {"cfm": "foot**3/minute"},
        "power": {"kW": "kW", "hp": "horsepower"},
        "pressure rate": {"bar/min": "bar/minute", "psi/min": "psi/minute"},
        "time": {"min": "minute", "h": "hour", "d": "day"},
        "share": {"%": "percent"},
        "angle": {"deg": "degree"},
        "energy": {"kJ": "kJ", "MJ": "MJ", "kWh": "kWh", "ft lbf": "foot*force_pound"},
        "hose stretch": {"mL/m/bar": "milliliter/meter/bar", "cc/ft/psi": "cc/foot/psi"},
        "stroke rate": {"/min": "1/minute", "/h": "1/hour"},
        "temperature change": {"°F": "delta_degF"},
    }
    for dimension, names in pairs.items():
        for ours, theirs in names.items():
            expected = registry.Quantity(1.0, theirs).to_base_units()
            factor = expected.to("kg").magnitude if dimension == "mass" else expected.magnitude
            wide = 1e-6 if ours in ("mmHg", "inHg") else 1e-12  # pint rounds the density of mercury
            assert UNITS[dimension][ours].factor == pytest.approx(factor, rel=wide), (dimension, ours)
    for number, ours, theirs in [(0.0, "°F", "degF"), (100.0, "°F", "degF"), (20.0, "°C", "degC")]:
        unit = UNITS["temperature"][ours]
        expected = registry.Quantity(number, theirs).to("kelvin").magnitude
        assert number * unit.factor + unit.offset == pytest.approx(expected, rel=1e-12)


def test_normal_flows_count_the_gas() -> None:
    """Moles of a normal litre, a standard cubic metre and a standard cubic foot, against handbook molar volumes.

    22.41397 L/mol at 0 degC and 1 atm (CODATA: R 8.314462618 x 273.15 / 101325), 23.645 m3/kmol at 15 degC, and
    379.48 scf/lbmol at 60 degF and 14.696 psi (the molar volume of American gas engineering). The gas law itself,
    through pint, is the second way.
    """
    table, mole = UNITS[FAMILIES["normal_flow"].dimension], 22.41397e-3
    assert 60 * table["NL/min"].factor / mole == pytest.approx(1 / 22.41397, rel=1e-6)
    assert 3600 * table["Sm3/h"].factor / mole == pytest.approx(1 / 23.645e-3, rel=5e-5)
    assert 60 * table["scfm"].factor / mole == pytest.approx(453.59237 / 379.48, rel=5e-5)
    pint = pytest.importorskip("pint")
    registry = pint.UnitRegistry()
    gas = registry.Quantity(1.0, "molar_gas_constant")
    normal = registry.Quantity(1.0, "atm") / (gas * registry.Quantity(0.0, "degC").to("kelvin"))
    for ours, theirs, pressure, temperature, wide in [
        ("NL/min", "liter/minute", "1 atm", (0.0, "degC"), 1e-12),
        ("Nm3/h", "m**3/hour", "1 atm", (0.0, "degC"), 1e-12),
        ("Sm3/h", "m**3/hour", "1 atm", (15.0, "degC"), 1e-12),
        ("scfm", "foot**3/minute", "14.696 psi", (60.0, "degF"), 5e-6),  # one atmosphere is 14.69595 psi
    ]:
        held = registry.Quantity(pressure) / (gas * registry.Quantity(*temperature).to("kelvin"))
        amount = registry.Quantity(1.0, theirs) * held
        assert table[ours].factor == pytest.approx((amount / normal).to("m**3/s").magnitude, rel=wide), ours


SHOWN = [
    (24e5, "pressure", "24 bar", "348 psi"),
    (45.0, "duration", "45 s", "45 s"),
    (1800.0, "duration", "30 min", "30 min"),
    (9600.0, "duration", "2 h 40 min", "2 h 40 min"),
    (3720.0, "duration", "1 h 02 min", "1 h 02 min"),
    (3599.0, "duration", "1 h 00 min", "1 h 00 min"),
    (0.574, "volume", "574 L", "152 US gal"),
    (5.03, "volume", "5.03 m³", "1329 US gal"),
    (2.7e-6, "volume", "2.7 mL", "0.165 in³"),
    (0.0127, "bore", "12.7 mm", "0.5 in"),
    (19.2e-3 / 60, "flow", "19.2 L/min", "5.07 gpm"),
    (69.2, "strokes", "70", "70"),
    (3.0, "strokes", "3", "3"),
    (288.15, "temperature", "15 °C", "59 °F"),
    (0.004, "share", "0.4 %", "0.4 %"),
    (101325.0, "pressure_abs", "1013 mbar abs", "14.7 psi abs"),
    (0.26 / 60, "normal_flow", "260 NL/min", "9.7 scfm"),
    (math.nan, "duration", "–", "–"),
    (0.0, "pressure", "0 bar", "0 psi"),
]


@pytest.mark.parametrize(("value", "family", "metric", "us"), SHOWN)
def test_shows_in_trade_words(value: float, family: str, metric: str, us: str) -> None:
    assert show(value, family) == metric
    assert show(value, family, "us") == us


HALF_A_PLACE = ((9.95, 0.05), (89.5, 0.5), (597.0, 3.0), (48 * 3600.0 + 30.0, 30.0), (100 * 86400.0 + 1800.0, 1800.0),
                (1e12, 43200.0 + 1800.0))
"""A duration below the first, in s, is shown to a place of which this is the half, in s; days after whole hours."""


def test_a_distance_to_keep_is_rounded_up_to_what_is_paced_out() -> None:
    assert [show(metres, "distance", units) for metres, units in ((30.0, "metric"), (36.7, "metric"), (30.0, "us"),
                                                                 (36.7, "us"))] == ["30 m", "37 m", "100 ft", "125 ft"]


@given(
    st.sampled_from(sorted(set(FAMILIES) - {"count", "strokes", "temperature", "distance"})),
    st.floats(1e-6, 1e6),
    st.sampled_from(["metric", "us"]),
)
@settings(max_examples=400, deadline=None)
def test_what_is_shown_reads_back(family: str, number: float, units: str) -> None:
    record = FAMILIES[family]
    size = UNITS[record.dimension][record.usual.removesuffix(" abs").replace("³", "3")].factor if record.usual else 1.0
    value = number * size
    if family == "duration" and value < 1.0:
        return
    reader = "number" if record.dimension == "none" else family
    back, _ = read_quantity(show(value, family, units), reader)
    if family == "duration":
        half = next(half for below, half in HALF_A_PLACE if value < below)
        assert abs(back - value) <= half * (1 + 1e-9)
    else:
        assert back == pytest.approx(value, rel=0.006)
    exact, _ = read_quantity(write(value, family, units), reader)
    assert exact == pytest.approx(value, rel=1e-5)


@given(st.floats(250.0, 360.0), st.sampled_from(["metric", "us"]))
def test_temperatures_read_back(value: float, units: str) -> None:
    assert read_quantity(show(value, "temperature", units), "temperature")[0] == pytest.approx(value, abs=0.051)


@pytest.mark.parametrize("family", sorted(FAMILIES))
def test_axis_and_example(family: str) -> None:
    for units in ("metric", "us"):
        chosen = axis(family, units)
        assert chosen.factor > 0
    assert math.isfinite(read_quantity(FAMILIES[family].example, family)[0])


def test_plain_numbers() -> None:
    assert read_number("0,6") == 0.6
    assert read_number("3/4") == 0.75
    for text in ("0.6 m", "1,200", "__import__('os')", "9" * 200):
        with pytest.raises(UnitProblem):
            read_number(text)


@pytest.mark.parametrize(("typed", "family", "units", "told"), [
    ("6.02 mm", "bore", "us", "0.237 in"), ("6.02 mm", "bore", "metric", "6.02 mm"),
    ("22 m", "length", "us", "72.2 ft"),
    ("168.3 mm", "bore", "metric", "168.3 mm"), ("1/2 in", "bore", "us", "0.5 in"),
    ("100 mm", "bore", "us", "3.937 in"),
    ("10.013 bar", "pressure", "metric", "10.013 bar"), ("1001 mm", "length", "us", "3.284 ft")])
def test_what_was_typed_is_told_no_finer_than_it_is_known(typed: str, family: str, units: str, told: str) -> None:
    assert restate(read_quantity(typed, family)[0], family, units) == told
