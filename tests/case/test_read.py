"""A whole case to SI values; what is assumed, with its reasons; what does not go together."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from fillcalc.case import records
from fillcalc.case.read import CaseProblems, Problem, read_bytes, read_file, read_text
from fillcalc.case.records import Case
from fillcalc.case.spread import typed_spread
from fillcalc.tree import at

HERE = Path(__file__).parent
BASE = (HERE / "base.toml").read_text(encoding="utf-8")
PIPE = BASE.replace(
    'shape = "standing cylinder"\ndiameter = "620 mm"          # measured with a tape\nheight = "1.9 m"',
    'shape = "pipe run"\nlength = "120 m"\nsize = "DN100"\nschedule = "40"',
)
VALVE = BASE.replace(
    'shape = "standing cylinder"\ndiameter = "620 mm"          # measured with a tape\nheight = "1.9 m"',
    'shape = "valve body"\nvolume = "0.9 L"',
)


def problems_of(text: str) -> tuple[Problem, ...]:
    with pytest.raises(CaseProblems) as caught:
        read_text(text)
    return caught.value.problems


def with_line(table: str, line: str, text: str = BASE) -> str:
    """The text with a line put under the head of a table, which is made where it is missing."""
    head = f"[{table}]"
    return (
        re.sub(rf"^{re.escape(head)}.*$", lambda found: f"{found.group()}\n{line}", text, count=1, flags=re.M)
        if re.search(rf"^{re.escape(head)}", text, re.M)
        else f"{text}\n{head}\n{line}\n"
    )


FULL = {
    "vessel.diameter": 0.62,
    "vessel.height": 75 * 0.0254,
    "vessel.end_wall": 0.03175,
    "vessel.wall": 0.006,
    "vessel.internals": 0.3,
    "vessel.design": 16e5,
    "vessel.never_above": 29e5,
    "vessel.count": 3,
    "vessel.at_once": 2,
    "vessel.anchored": True,
    "water.temperature": 283.15,
    "surroundings.altitude": 850.0,
    "surroundings.temperature": 285.65,
    "tap.height": -1.5,
    "tap.contents": 0.03785411784,
    "fill.from": "top",
    "fill.kv": 4.5,
    "fill.measured_flow": 5 * 3.785411784e-3 / 60,
    "fill.run_to_waste": 0.02,
    "fill.hose.1.bore": 0.0127,
    "fill.hose.1.coupling_factor": 1.5,
    "fill.hose.1.extra_k": 0.25,
    "fill.hose.1.reel": 0.45,
    "fill.hose.2.length": 15.24,
    "fill.hose.2.bore": 0.01905,
    "fill.hose.2.couplings": 2,
    "fill.hose.2.coupling_hole": 0.7 * 0.01905,
    "vent.coefficient": 0.62,
    "vent.below_highest_point": 0.015,
    "vent.shut": False,
    "trapped_air.amount": 2e-3,
    "trapped_air.test_hose": "dry",
    "test.factor_on_design": 1.5,
    "test.start_pressure": "tap",
    "test.steps.1.at": 0.5,
    "test.steps.1.pause": 120.0,
    "test.steps.2.at": 18e5,
    "test.rise_limit": 2e5 / 60,
    "test.hold": 4800.0,
    "test.assumed_leak": 5e-6 / 60,
    "test_hose.stretch": 1.5e-13,
    "test_hose.rating": 7e7,
    "pump.ratio": 10.0,
    "pump.drive_pressure": 80 * 6894.757293168,
    "pump.strokes_per_litre": 91e3,
    "pump.stroke": None,
    "pump.friction": None,
    "pump.mid_curve": 1.0,
    "air_supply.flow": 9.2 * 0.028316846592 / 60 * 273.15 / (519.67 / 1.8) * 14.696 * 6894.757293168 / 101325,
    "relief_valve.set": 27e5,
    "gauge.full_scale": 40e5,
    "release.kv": 0.06,
    "release.rate": None,
    "drain.fall": 0.5,
    "labour.crew": 2,
    "labour.openings": 4,
    "labour.visit.pack_up": 1800.0,
    "rework.chance": 0.15,
    "reading.1.strokes": 29.0,
    "reading.2.water": 1.6e-3,
    "reading.1.time": 180.0,
    "reading.1.temperature": 284.15,
}


TOTE = BASE.replace('kind = "tap"', 'kind = "bucket"\ncontents = "1200 L"').replace('pressure = "3.2 bar"\n', "")


def test_a_case_with_every_section_reads_to_si() -> None:
    case = read_file(HERE / "full.toml")
    assert isinstance(case.vessel, records.StandingCylinder)
    assert isinstance(case.tap, records.Hydrant)
    assert isinstance(case.pump, records.AirDrivenPump)
    for path, value in FULL.items():
        here = at(case, path)
        assert here == (pytest.approx(value, rel=1e-12) if isinstance(value, float) else value), path
    assert [[round(p), round(q * 6e4, 6)] for p, q in case.tap.points] == [[320000, 0], [190000, 20], [0, 30]]
    assert case.pump.stall == pytest.approx((5.5e5, 52e5))
    assert case.note.startswith("Invented")
    assert dict(case.families) == {
        "air_supply.flow": "normal_flow",
        "vessel.wall": "bore",
        "trapped_air.amount": "volume",
        "test.steps.1.at": "share",
        "test.steps.2.at": "pressure",
    }
    ranges = {path: (r.low, r.likely, r.high) for path, r in case.ranges.items() if r.given}
    assert ranges.pop("fill.hose.2.bore") == pytest.approx((0.9 * 0.01905, None, 1.1 * 0.01905))
    assert ranges.pop("water.temperature") == pytest.approx((280.15, None, 286.15))
    assert ranges.pop("trapped_air.amount") == pytest.approx((5e-4, 2e-3, 1e-2))
    assert ranges.pop("vent.coefficient") == (0.56, None, 0.79)
    assert ranges.pop("tap.contents") == pytest.approx((0.03285411784, None, 0.04285411784))
    assert not ranges
    assert "vent.coefficient" not in [each.path for each in case.assumptions]


def test_bom_and_line_ends_do_not_matter() -> None:
    plain = read_text(BASE)
    assert read_bytes(b"\xef\xbb\xbf" + BASE.replace("\n", "\r\n").encode(), "x") == plain


def stands(case: Case, path: str) -> tuple[str, tuple[float, float | None, float] | None]:
    """What was assumed for a path, and its range."""
    value = next(each.value for each in case.assumptions if each.path == path)
    spread = case.ranges.get(path)
    assert spread is None or not spread.given
    return value, None if spread is None else (spread.low, spread.likely, spread.high)


ASSUMED = [
    (BASE, "trapped_air.amount", "0.1 %", (0.0002, 0.001, 0.005)),
    (PIPE, "trapped_air.amount", "0.1 %", (0.0002, 0.001, 0.005)),
    (VALVE, "trapped_air.amount", "2 %", (0.005, 0.02, 0.06)),
    (
        PIPE.replace("[tap]", '[[vessel.crest]]\nslope = "3 deg"\n[tap]'),
        "trapped_air.amount",
        "2 %",
        (0.005, 0.02, 0.08),
    ),
    (BASE, "vessel.wall", "0.10 %", (0.0003, 0.001, 0.002)),
    (VALVE, "vessel.wall", "rigid", None),
    (
        PIPE.replace('size = "DN100"\nschedule = "40"', 'diameter = "0.1 m"'),
        "vessel.wall",
        "0.02 %",
        (0.0001, 0.0002, 0.001),
    ),
    (BASE, "tap.open_flow", "30 L/min", (15e-3 / 60, 30e-3 / 60, 60e-3 / 60)),
    (BASE, "vent.coefficient", "0.60", (0.56, 0.6, 0.79)),
    (BASE, "pump.friction", "5 %", (0.03, 0.05, 0.1)),
    (BASE, "pump.mid_curve", "0.8", (0.6, 0.8, 1.0)),
    (BASE, "pump.strokes_per_minute", "145", (100.0, 145.0, 200.0)),
    (with_line("pump", 'stroke = "60 mL"'), "pump.strokes_per_minute", "73.6", (50.8, 73.6, 102.0)),
    (with_line("pump", "strokes_per_litre = 1000"), "pump.strokes_per_minute", "200", (138.0, 200.0, 276.0)),
    (with_line("pump", 'regulator_pressure = "6 bar"'), "pump.drive_pressure", "6 bar", None),
    (BASE, "pump.lock_up", "0.3 bar", (0.1e5, 0.3e5, 0.7e5)),
    (BASE, "pump.stroke", "11 mL", (5e-6, 11e-6, 60e-6)),
    (BASE, "gauge.full_scale", "48 bar", None),
    (BASE, "gauge.division", "0.48 bar", None),
    (BASE, "release.kv", "0.05", (0.02, 0.05, 0.2)),
    (BASE, "fill.hose.1.coupling_hole", "8.89 mm", (0.00762, 0.00889, 0.010795)),
    (BASE.replace('"12.7 mm"', '"8.5 mm"'), "fill.hose.1.coupling_hole", "5.95 mm", (0.0051, 0.00595, 0.007225)),
    (BASE.replace('"12.7 mm"', '"40 mm"'), "fill.hose.1.coupling_hole", "28 mm", (0.024, 0.028, 0.034)),
    (BASE, "fill.hose.1.coupling_factor", "1.4", (1.0, 1.4, 2.0)),
    (with_line("fill", 'from = "top"'), "trapped_air.amount", "0.3 %", (0.001, 0.003, 0.015)),
    (with_line("fill", 'from = "top"', VALVE), "trapped_air.amount", "4 %", (0.01, 0.04, 0.1)),
    (TOTE, "tap.area", "1.2 m2", (1.0, 1.2, 1.4)),
    (TOTE.replace("1200 L", "5 m3"), "tap.area", "5 m²", (4.0, 5.0, 6.25)),
    (TOTE, "fill.change_over", "10 min", (300.0, 600.0, 1200.0)),
    (BASE, "labour.each.connect", "15 min", (600.0, 900.0, 1800.0)),
    (VALVE, "labour.each.settle", "60 s", (30.0, 60.0, 180.0)),
    (PIPE, "labour.each.bleed", "20 min", (600.0, 1200.0, 2400.0)),
    (
        with_line("labour", 'closure = "bolted blinds"', PIPE),
        "labour.each.connect",
        "2.4 h",
        (72 * 60.0, 144 * 60.0, 216 * 60.0),
    ),
    (
        with_line("labour", 'closure = "bolted blinds"\ncrew = 2', PIPE),
        "labour.each.connect",
        "72 min",
        (36 * 60.0, 72 * 60.0, 108 * 60.0),
    ),
    (
        with_line("labour", 'closure = "bolted blinds"\ncrew = 2', PIPE),
        "labour.each.disconnect",
        "36 min",
        (18 * 60.0, 36 * 60.0, 54 * 60.0),
    ),
]


@pytest.mark.parametrize(("text", "path", "value", "spread"), ASSUMED)
def test_what_stands_in(text: str, path: str, value: str, spread: tuple[float, float | None, float] | None) -> None:
    found, ranged = stands(read_text(text), path)
    assert found == value
    assert ranged == (None if spread is None else pytest.approx(spread))


def test_every_assumption_has_its_reason_and_its_value() -> None:
    for text in (BASE, PIPE, VALVE):
        case = read_text(text)
        assert len(case.assumptions) > 25
        for each in case.assumptions:
            assert each.why and each.value
            if each.value not in ("none", "enough", "from the shape", "tap") \
                    and each.path != "pump.no_flow_pressure":  # follows the regulator, so it is no leaf
                assert at(case, each.path) is not None, each.path
        assert {path for path in case.ranges if not typed_spread(case, path)} <= {one.path for one in case.assumptions}
        assert len({each.path for each in case.assumptions}) == len(case.assumptions)


def silent(text: str, *paths: str) -> Case:
    """The case, in which nothing is assumed for these paths."""
    case = read_text(text)
    assert not {each.path for each in case.assumptions} & set(paths)
    assert not set(case.ranges) & set(paths)
    return case


@pytest.mark.parametrize(("written", "per_m3"), [
    ("91", 91e3), ('"91"', 91e3), ("91.5", 91.5e3), ('"91 /L"', 91e3), ('"91 strokes"', 91e3),
    ('"344 /US gal"', 344 / 3.785411784e-3)])
def test_strokes_without_a_unit_are_to_the_litre_that_the_key_names(written: str, per_m3: float) -> None:
    text = with_line("pump", f"strokes_per_litre = {written}")
    assert at(read_text(text), "pump.strokes_per_litre") == pytest.approx(per_m3, rel=1e-12)
    ranged = read_text(f'{text}\n[ranges]\n"pump.strokes_per_litre" = [{written}, "1000 /L"]\n')
    assert ranged.ranges["pump.strokes_per_litre"].low == pytest.approx(per_m3, rel=1e-12)


@pytest.mark.parametrize("zero", ["0", "0.0", '"0"', '"0 min"'])
def test_a_zero_needs_no_unit(zero: str) -> None:
    assert at(read_text(with_line("labour.visit", f"wait = {zero}")), "labour.visit.wait") == 0.0
    if "min" not in zero:
        assert at(read_text(with_line("trapped_air", f"amount = {zero}")), "trapped_air.amount") == 0.0
    with pytest.raises(CaseProblems, match=r"water\.temperature"):
        read_text(with_line("water", f"temperature = {zero}"))


@pytest.mark.parametrize(("written", "inside", "wall"), [
    ("88.9 x 3.2 mm", "82.5 mm", "3.2 mm"), ("88.9 mm × 3.2 mm", "82.5 mm", "3.2 mm"),
    ("4 1/2 x 0.237 in", "4.026 in", "0.237 in"), ("88,9X3,2mm", "82.5 mm", "3.2 mm")])
def test_an_outside_diameter_and_wall_are_refused_with_what_to_write(written: str, inside: str, wall: str) -> None:
    with pytest.raises(CaseProblems) as caught:
        read_text(re.sub(r'(?m)^diameter = .*$', f'diameter = "{written}"', BASE))
    problem = next(each for each in caught.value.problems if each.path == "vessel.diameter")
    assert problem.expected == f'write diameter = "{inside}" and wall = "{wall}"'
    assert written in problem.found


@pytest.mark.parametrize("written", ["3.2 x 88.9 mm", "88.9 x mm", "88.9 x 3 x 2 mm", "88.9 x 3.2 bar"])
def test_what_is_no_pipe_is_refused_as_a_size(written: str) -> None:
    with pytest.raises(CaseProblems, match="such as"):
        read_text(re.sub(r'(?m)^diameter = .*$', f'diameter = "{written}"', BASE))


def test_nothing_is_assumed_where_it_does_not_matter() -> None:
    silent(with_line("pump", "strokes_per_litre = 91"), "pump.stroke")
    silent(with_line("pump", 'stall = ["5.5 bar", "52 bar"]'), "pump.friction")
    points = silent(
        with_line("pump", 'points = [["0 bar", "4 L/min"], ["20 bar", "2 L/min"]]'),
        "pump.mid_curve",
        "pump.strokes_per_minute",
        "pump.flow_at_zero",
    )
    assert points.pump.mid_curve == 1.0  # type: ignore[attr-defined]
    silent(with_line("release", 'rate = "5 bar/min"'), "release.kv")
    silent(BASE, "tap.area", "fill.change_over")
    silent(with_line("tap", 'contents = "1 m3"'), "tap.area")
    silent(with_line("surroundings", 'pressure = "900 mbar abs"'), "surroundings.altitude")
    silent(
        BASE.replace('pressure = "3.2 bar"', 'points = [["3 bar", "0 L/min"], ["1 bar", "20 L/min"]]'),
        "tap.pressure",
        "tap.open_flow",
    )
    silent(with_line("[fill.hose]", "couplings = 0"), "fill.hose.1.coupling_hole", "fill.hose.1.coupling_factor")
    silent(with_line("vessel", 'young = "207 GPa"\npoisson = 0.3'), "vessel.material")
    sized = silent(PIPE, "vessel.wall", "vessel.diameter")
    assert at(sized, "vessel.diameter") == pytest.approx(0.10226)
    assert at(sized, "vessel.wall") == pytest.approx(0.00602)
    assert sized.families["vessel.wall"] == "bore"


def test_flat_ends_are_never_silently_rigid() -> None:
    """D (0.3 P/S)^0.5 at the design pressure, else at test / 1.43; named, with its range and that of the rim."""
    wall = with_line("vessel", 'wall = "6 mm"')
    by_test = read_text(wall)
    asked = 0.62 * (0.3 * 24e5 / 1.43 / 138e6) ** 0.5
    assert at(by_test, "vessel.end_wall") == pytest.approx(asked, abs=6e-5)
    assert "UG-34" in next(each.why for each in by_test.assumptions if each.path == "vessel.end_wall")
    ends = by_test.ranges["vessel.end_wall"]
    assert (ends.low, ends.high) == (pytest.approx(0.85 * asked, abs=6e-5), pytest.approx(1.25 * asked, abs=6e-5))
    assert by_test.ranges["vessel.end_fixity"] == records.Range(0.0, 0.7, 1.0, False)
    by_design = read_text(with_line("vessel", 'wall = "6 mm"\ndesign = "20 bar"'))
    assert at(by_design, "vessel.end_wall") == pytest.approx(0.62 * (0.3 * 20e5 / 138e6) ** 0.5, abs=6e-5)
    assert at(read_text(with_line("vessel", 'wall = "50 mm"')), "vessel.end_wall") == pytest.approx(0.05)
    assert at(silent(with_line("vessel", 'wall = "0.1 %"'), "vessel.end_wall", "vessel.end_fixity"),
              "vessel.end_wall") is None
    assert at(silent(with_line("vessel", 'wall = "6 mm"\nend_wall = "rigid"'), "vessel.end_wall", "vessel.end_fixity"),
              "vessel.end_wall") == "rigid"
    silent(with_line("vessel", 'wall = "6 mm"\nends = "dished"'), "vessel.end_wall", "vessel.end_fixity")
    ranged = read_text(with_line("ranges", '"vessel.wall" = ["5 mm", "6 mm", "8 mm"]'))
    assert at(ranged, "vessel.end_wall") == pytest.approx(asked, abs=6e-5)


@pytest.mark.parametrize(("height", "where"), [("0 m", "at the bottom"), ("2 m", "2 m above the bottom")])
def test_a_test_pressure_below_the_head_says_why(height: str, where: str) -> None:
    text = BASE.replace('"1.9 m"', '"8 m"').replace('"24 bar"', '"{} bar"') + f'\n[gauge]\nheight = "{height}"\n'
    head = 9806.65 * (8.0 - float(height.split()[0])) / 1e5
    problem, = problems_of(text.format(f"{head - 0.01:.4f}"))
    assert problem.path == "test.pressure"
    assert f"a gauge {where} shows that with the vessel just full" in str(problem)
    assert read_text(text.format(f"{head + 0.01:.4f}")).gauge.height is not None


def test_a_low_vent_leaves_the_air_to_the_shape() -> None:
    case = read_text(with_line("vent", 'below_highest_point = "15 mm"'))
    assert case.trapped_air.amount is None
    assert stands(case, "trapped_air.amount") == ("from the shape", None)


def test_a_range_outranks_that_of_a_default_and_its_likely_value_stands_in() -> None:
    case = read_text(with_line("ranges", '"vent.bore" = "±25 %"\ntrapped_air.amount = ["1 %", "2 %", "4 %"]'))
    assert case.ranges["vent.bore"] == records.Range(pytest.approx(0.006), None, pytest.approx(0.010), True)
    assert case.trapped_air.amount == pytest.approx(0.02)
    assert case.ranges["trapped_air.amount"].given


# --- what does not go together: text, path of the problem, words of it, line ---------------------

WRONG = [
    ("vessel", 'young = "207 GPa"', "vessel.poisson", "needs poisson"),
    ("vessel", 'material = "pvc"', "vessel.material", "creep"),
    ("vessel", 'material = "copper"\nyoung = "1 GPa"\npoisson = 0.3', "vessel.young", "not both"),
    ("vessel", 'ends = "dished"\nend_wall = "30 mm"', "vessel.end_wall", "flat"),
    ("vessel", 'wall = "0 mm"', "vessel.wall", "thickness"),
    ("vessel", 'wall = "1.3 m"', "vessel.wall", "between"),
    ("vessel", 'wall = "20 %"', "vessel.wall", "share above"),
    ("vessel", "at_once = 2", "vessel.at_once", "no more than there are pieces"),
    ("vessel", 'volume = "2 L"', "vessel.volume", "take one of diameter, height and volume out"),
    ("vessel", 'lenght = "2 m"', "vessel.lenght", "did you mean height|belongs"),
    ("vessel", 'shape_ = "x"', "vessel.shape_", "did you mean shape"),
    ("fill", "kv = 4\ncv = 5", "fill.cv", "not both"),
    ("[fill.hose]", 'tail_bore = "13 mm"', "fill.hose.1.bore", "12.7 mm; less than its tail bore of 13 mm"),
    ("[fill.hose]", 'tail_bore = "13 mm"', "fill.hose.1.tail_bore", "13 mm; more than the bore of 12.7 mm"),
    ("[fill.hose]", 'coupling_hole = "13 mm"', "fill.hose.1.bore", "12.7 mm; less than its coupling hole of 13 mm"),
    ("[fill.hose]", 'coupling_hole = "13 mm"', "fill.hose.1.coupling_hole", "13 mm; more than the bore of 12.7 mm"),
    ("tap", 'points = [["3 bar", "0 L/min"], ["1 bar", "20 L/min"]]', "tap.pressure", "not both"),
    ("pump", 'strokes_per_minute = 100\nflow_at_zero = "4 L/min"', "pump.strokes_per_minute", "not both"),
    ("pump", 'points = [["0 bar", "4 L/min"], ["20 bar", "4 L/min"]]', "pump.points.2", "fall"),
    ("pump", 'points = [["9 bar", "4 L/min"], ["2 bar", "1 L/min"]]', "pump.points.2", "rising"),
    ("pump", 'points = [["9 bar", "4 L/min"]]', "pump.points", "two points"),
    ("pump", 'stall = ["5 bar", "60 bar"]', "pump.stall", "10 times"),
    ("pump", 'relief = "10 bar"', "pump.relief", "belongs to: electric"),
    ("pump", 'stroke_rate = "40 /min"', "pump.stroke_rate", "belongs to: hand"),
    ("test", "factor_on_design = 1.5", "test.factor_on_design", "not both"),
    ("test", 'start_pressure = "30 bar"', "test.start_pressure", "write less than"),
    ("test", 'steps = [{ at = "120 %", pause = "1 min" }]', "test.steps.1.at", "no more than"),
    (
        "test",
        'steps = [{ at = "50 %", pause = "1 min" }, { at = "2 bar", pause = "1 min" }]',
        "test.steps.2.at",
        "rising",
    ),
    ("test", 'steps = [{ at = "50 %" }]', "test.steps.1.pause", "needed"),
    ("release", 'kv = 0.06\nrate = "5 bar/min"', "release.rate", "not both"),
    ("surroundings", 'pressure = "1 bar abs"\naltitude = "3 m"', "surroundings.altitude", "not both"),
    ("vent", 'below_highest_point = "2 m"', "vent.below_highest_point", "high inside"),
    ("ranges", '"tap.presure" = "±5 %"', "ranges.tap.presure", "did you mean tap.pressure"),
    ("ranges", '"tap.kind" = "±5 %"', "ranges.tap.kind", "path of an input"),
    ("ranges", '"labour.crew" = "±5 %"', "ranges.labour.crew", "only a quantity"),
    ("ranges", '"tap.pressure" = ["4 bar", "2 bar"]', "ranges.tap.pressure", "low first"),
    ("ranges", '"tap.pressure" = ["2 bar"]', "ranges.tap.pressure", "low, high"),
    ("ranges", '"tap.pressure" = ["2 bar", 4]', "ranges.tap.pressure.2", "unit"),
    ("ranges", '"water.temperature" = "±10 %"', "ranges.water.temperature", "±3 K"),
    ("ranges", '"fill.kv" = [1, 2]', "ranges.fill.kv", "value first"),
    ("ranges", '"fill.hose.2.bore" = "±5 %"', "ranges.fill.hose.2.bore", "path of an input"),
    ("ranges", '"trapped_air.amount" = ["1 L", "2 L"]', "ranges.trapped_air.amount", "share"),
    ("ranges", '"tap.height" = "±5 %"', "ranges.tap.height", "share of 0"),
    ("gauge", 'height = "-300 m"', "test.pressure", "300 m below the bottom shows that with the vessel just full"),
    ("vessel", 'ends = "dished"\nend_fixity = 0.5', "vessel.end_fixity", "flat"),
    ("gauge", 'full_scale = "10 bar"\ndivision = "20 bar"', "gauge.division", "write less than"),
    ("air_supply", 'flow = "2 L/min"\nreceiver = "50 L"', "air_supply.receiver_pressure", "needs"),
    ("[reading]", 'pressure = "2 bar"', "reading.1.strokes", "needed"),
    ("[reading]", 'pressure = "2 bar"\nstrokes = 3\nwater = "1 L"', "reading.1.strokes", "not both"),
    ("trapped_air", 'amount = "100 %"', "trapped_air.amount", "no more than"),
    ("water", 'temperature = "0 degC"', "water.temperature", "0.01 °C"),
]


@pytest.mark.parametrize(("table", "line", "path", "words"), WRONG)
def test_what_does_not_go_together(table: str, line: str, path: str, words: str) -> None:
    text = with_line(table, line)
    found = next((each for each in problems_of(text) if each.path == path), None)
    assert found is not None, [str(each) for each in problems_of(text)]
    assert re.search(words, str(found)), str(found)
    assert found.line > 0


def test_a_bore_far_below_that_of_hoses_is_asked_about_where_it_stands() -> None:
    """The hole is right and the bore is not: the common bores stand at the bore."""
    text = with_line("[fill.hose]", 'coupling_hole = "9 mm"').replace('bore = "12.7 mm"', 'bore = "1.9 mm"')
    said = {each.path: str(each) for each in problems_of(text)}
    assert "1.9 mm; less than its coupling hole of 9 mm; correct" in said["fill.hose.1.bore"]
    assert said["fill.hose.1.bore"].endswith("(6 mm to 76 mm is common)")
    assert "common" not in said["fill.hose.1.coupling_hole"]


WRONG_PIPE = [
    (PIPE.replace('schedule = "40"', 'schedule = "7"'), "vessel.schedule", "40"),
    (PIPE.replace('"DN100"', '"DN101"'), "vessel.size", "DN100"),
    (PIPE.replace('schedule = "40"', ""), "vessel.schedule", "needs schedule"),
    (PIPE.replace('size = "DN100"\nschedule = "40"', ""), "vessel.diameter", "needed"),
    (with_line("vessel", 'diameter = "0.1 m"', PIPE), "vessel.size", "not both"),
    (with_line("vessel", 'rise = "3 m"', PIPE).replace("[fill]", '[fill]\nfrom = "top"'), "fill.from", "low end"),
    (with_line("vessel", 'wall = "6 mm"', VALVE), "vessel.wall", "no diameter"),
    (VALVE.replace('"valve body"', '"tank"'), "vessel.shape", "standing cylinder"),
    (BASE.replace('kind = "tap"\npressure = "3.2 bar"', 'kind = "transfer pump"'), "tap.open_flow", "largest flow"),
    (re.sub(r"\[\[fill\.hose\]\](\n.+)+", "", BASE), "fill.hose", "measured_flow"),
    (BASE.replace("[[fill.hose]]", "[fill.hose]"), "fill.hose", "double brackets"),
    (BASE.replace("[tap]", "[[tap]]"), "tap", r"\[tap\]"),
    (BASE.replace("format = 1\n", ""), "format", "format = 1"),
    (BASE.replace("format = 1", "format = 2"), "format", "no other"),
    (BASE.replace('pressure = "24 bar"', "factor_on_design = 1.5"), "vessel.design", "needs design"),
]


@pytest.mark.parametrize(("text", "path", "words"), WRONG_PIPE)
def test_what_does_not_go_together_elsewhere(text: str, path: str, words: str) -> None:
    found = next((each for each in problems_of(text) if each.path == path), None)
    assert found is not None, [str(each) for each in problems_of(text)]
    assert re.search(words, str(found)), str(found)


def test_all_problems_come_at_once_with_their_lines() -> None:
    text = (
        BASE.replace('"620 mm"', "620")
        .replace('"3.2 bar"', '"3.2 bar abs"')
        .replace('"12.7 mm"', '"12.7"')
        .replace("ratio = 10", 'ratio = "ten"')
        .replace("[test]", "[tset]")
    )
    lines = text.split("\n")
    found = {each.path: each for each in problems_of(text)}
    assert {"vessel.diameter", "tap.pressure", "fill.hose.1.bore", "pump.ratio", "tset", "test"} <= set(found)
    for path in ("vessel.diameter", "tap.pressure", "fill.hose.1.bore", "pump.ratio"):
        assert lines[found[path].line - 1].startswith(path.rpartition(".")[2])
    assert 'such as "620 mm"' in str(found["vessel.diameter"])
    assert "did you mean test?" in str(found["tset"])


def test_lines_of_every_key_of_the_full_case() -> None:
    from fillcalc.case.scan import lines_of

    text = (HERE / "full.toml").read_text(encoding="utf-8")
    lines, rows = lines_of(text), text.split("\n")
    for path in FULL:
        if path in lines and not path.startswith("test.steps"):
            assert re.match(rf"\s*{path.rpartition('.')[2]}\s*=", rows[lines[path] - 1]), path
    assert sum(path in lines for path in FULL) > 55
    assert rows[lines["reading.2.water"] - 1].startswith("water")
    assert rows[lines["ranges.fill.hose.2.bore"] - 1].startswith('"fill.hose.2.bore"')
    assert lines["test.steps.2.pause"] == lines["test.steps"]


def test_a_reading_of_the_hold_needs_its_time_alone() -> None:
    reading = '\n[[reading]]\npressure = "23.5 bar"\n'
    for time, seconds in (('"10 min"', 600.0), ('"0"', 0.0), ("0", 0.0), ("0.0", 0.0)):
        held = read_text(f"{BASE}{reading}time = {time}\n").reading[0]
        assert (held.strokes, held.water, held.time) == (None, None, seconds)
    for time in ("10", '"10"', "true", "-1"):
        with pytest.raises(CaseProblems) as raised:
            read_text(f"{BASE}{reading}time = {time}\n")
        assert [one.path for one in raised.value.problems] == ["reading.1.time"]


@pytest.mark.parametrize(("wrong", "meant"), [
    ('[vessel]\nshape = "standing cilinder"', 'did you mean "standing cylinder"?'),
    ("[hosebib]", "did you mean tap?"), ("[hose_bib]", "did you mean tap?"),
])
def test_a_word_of_the_trade_leads_to_ours(wrong: str, meant: str) -> None:
    with pytest.raises(CaseProblems) as raised:
        read_text(f"format = 1\n{wrong}\n", "job.toml")
    assert any(meant in str(one) for one in raised.value.problems)
