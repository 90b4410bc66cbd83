"""The declarations hold together: examples, defaults and spreads are legal; what is made from them reads."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path
from types import NoneType
from typing import Any, get_args, get_type_hints

import pytest

from fillcalc.case import records
from fillcalc.case.assume import default_value
from fillcalc.case.fields import GROUPS, Input, inputs
from fillcalc.case.kit import read_kit, read_kit_file
from fillcalc.case.leaf import read_leaf
from fillcalc.case.medium import is_gas
from fillcalc.case.names import choice_label, in_units, label, name_of
from fillcalc.case.problems import Found
from fillcalc.case.read import CaseProblems, read_text
from fillcalc.case.shape_of import children_of, input_at, leaves_of
from fillcalc.case.template import template
from fillcalc.job.resolve import resolve
from fillcalc.units import FAMILIES
from tests.model.random_cases import case_of

CASES = Path(__file__).parents[2] / "cases"


def every() -> list[tuple[str, type, str, Input]]:
    """Path pattern, record, key and declaration of every input there is."""
    rows: list[tuple[str, type, str, Input]] = []

    def gather(record: type, base: str) -> None:
        rows.extend((base + key, record, key, declared) for key, declared in leaves_of(record).items())
        for key, child in children_of(record).items():
            for each in child.records:
                gather(each, f"{base}{key}.{'1.' if child.many else ''}")

    gather(records.Case, "")
    return rows


ALL = every()
NAMES = [f"{record.__name__}.{key}" for _, record, key, _ in ALL]


def faults_of(path: str, declared: Input) -> Iterator[str]:
    """What is wrong with the example, help, default and spread of one input."""
    bare = declared.form in ("number", "count", "flag", "points", "pair")
    raw = tomllib.loads(f"x = {declared.example}")["x"] if bare else declared.example
    found = Found("x", dict)
    if read_leaf(found, path, declared, raw) is None:
        yield f"its example does not read: {[str(each) for each in found.problems]}"
    if not declared.help or not set(declared.families) <= set(FAMILIES) or input_at(path) is None:
        yield "no help, an unknown family, or not found by its path"
    if not declared.label or declared.group not in GROUPS:
        yield "no label, or in no group of the form"
    default = declared.default
    if default is None:
        return
    if not default.why:
        yield "its default has no reason"
    likely, *spread = (default_value(declared, text)[0] for text in (default.text, *default.spread))
    for value in (likely, *spread):
        if isinstance(value, float) and not (
                (declared.low is None or value >= declared.low * (1 - 1e-9))
                and (declared.high is None or value <= declared.high)):
            yield f"{value} is outside its range"
    if spread and not (spread == sorted(spread) and len(spread) in (2, 3) and spread[0] <= likely <= spread[-1]):
        yield f"its default {likely} and spread {spread} are out of order"


def test_every_example_default_and_spread_is_legal() -> None:
    wrong = [f"{record.__name__}.{key}: {fault}" for path, record, key, declared in ALL
             for fault in faults_of(path, declared)]
    assert len(ALL) > 60 and not wrong, "\n".join(wrong)


@pytest.mark.parametrize("units", ["metric", "us"])
def test_the_template_reads_and_holds_every_key(units: str) -> None:
    text = template(units)
    case = read_text(text)
    assert case.units == units
    figures = text.split("# Pressures")[1]
    assert [each for each in (' psi"', ' gpm"', ' L/min"', ' bar"') if each in figures] == (
        [' psi"', ' gpm"'] if units == "us" else [' L/min"', ' bar"'])
    assert isinstance(case.vessel, records.ByVolume)
    for _, _, key, _ in ALL:
        assert re.search(rf"^(# )?{key} = ", text, re.MULTILINE), key
    assert not [line for line in text.split("\n") if line.count("left out") > 1]
    for path in ("vessel.crest", "test.steps", "labour.each", "reading", "air_supply"):
        assert re.search(rf"^(# )?\[\[?{path}\]", text, re.MULTILINE), path


@pytest.mark.parametrize("units", ["metric", "us"])
def test_labels_are_whole_and_no_word_of_them_is_put_in_later(units: str) -> None:
    """No label needs the trade words that sentences get, and each reads as it stands inside a sentence."""
    from fillcalc.present.sentences import trade

    for _, record, key, declared in ALL:
        said = label(declared, units, "3")
        assert trade(said, units) == said, (record, key)
        assert "{" not in said and "_" not in said and said.isprintable()
        assert said[0].islower() or said.split("'")[0] in ("Young", "Poisson")


@pytest.mark.parametrize(("path", "of", "metric", "us"), [
    ("tap.pressure", None, "tap pressure", "hose bib pressure"),
    ("tap.pressure", {"tap": {"kind": "hydrant"}}, "hydrant pressure", "hydrant pressure"),
    ("tap.pressure", {"tap": {}}, "tap pressure", "hose bib pressure"),
    ("fill.hose.2.bore", None, "fill hose 2 bore", "fill hose 2 ID"),
    ("fill.hose.1.bore", {"fill": {"hose": [{}]}}, "fill hose bore", "fill hose ID"),
    ("fill.hose.1.bore", {"fill": {"hose": [{}, {}]}}, "fill hose 1 bore", "fill hose 1 ID"),
    ("vessel.diameter", {"vessel": {"shape": "pipe run"}}, "pipe bore", "pipe ID"),
    ("vessel.diameter", {"vessel": {"shape": "sphere"}}, "vessel diameter", "vessel diameter"),
    ("vessel.diameter", {"vessel": {"shape": "vertical cylinder"}}, "vessel diameter", "vessel diameter"),
    ("ranges.vent.bore", None, "range of vent bore", "range of vent ID"),
    ("pump.strokes_per_litre", None, "strokes per litre", "strokes per litre"),
    ("labour.each.connect", None, "connect", "connect"),
    ("vessel.shape", None, "vessel", "vessel"),
    ("air_supply", None, "air supply", "air supply"),
])
def test_an_input_is_called_by_its_kind_its_number_and_the_trade(path: str, of: Any, metric: str, us: str) -> None:
    assert (name_of(path, of=of), name_of(path, "us", of)) == (metric, us)


@pytest.mark.parametrize(("word", "metric", "us", "narrow"), [
    ("standing cylinder", "vertical cylinder", "vertical vessel", "vertical cyl."),
    ("lying cylinder", "horizontal cylinder", "horizontal vessel", "horizontal cyl."),
    ("sphere", "sphere", "sphere", "sphere"),
])
def test_a_shape_is_read_and_told_by_the_words_of_the_trade(word: str, metric: str, us: str, narrow: str) -> None:
    assert choice_label("vessel.shape", word) == metric and choice_label("vessel.shape", word, "us") == us
    assert choice_label("vessel.shape", word, room=15) == narrow
    text = template().replace('shape = "by volume"', 'shape = "{}"\ndiameter = "0.6 m"', 1)
    if word == "sphere":
        text = text.replace('\nvolume = "570 L"', "\n", 1)
    cases = [read_text(text.format(said)) for said in (word, metric, us, metric.upper())]
    assert all(case == cases[0] for case in cases)
    assert cases[0].vessel.shape == word


def test_what_nobody_typed_is_shown_in_the_units_of_the_reader() -> None:
    default = input_at("tap.pressure")
    assert in_units("3 bar", default, "us") == "43.5 psi" and in_units("3 bar", default, "metric") == "3 bar"
    assert in_units("from the shape", input_at("trapped_air.amount"), "us") == "from the shape"


def test_each_line_behind_a_mark_can_be_used() -> None:
    """Taking one # away gives a case, or a problem that is not about how the line is written."""
    lines = template().split("\n")
    tried = 0
    for place, line in enumerate(lines):
        match = re.match(r"# (\w+) = ", line)
        if not match or line.startswith("# note"):
            continue
        text = "\n".join([*lines[:place], line[2:], *lines[place + 1 :]])
        try:
            read_text(text)
        except CaseProblems as caught:
            for problem in caught.problems:
                assert "unit" not in str(problem) and "between" not in str(problem), str(problem)
        tried += 1
    assert tried > 60


KIT = """
[[hose]]
name = "half inch"
length = "20 m"
bore = "12.7 mm"
[[pump]]
name = "ten to one"
kind = "air-driven"
ratio = 10
flow_at_zero = "4 L/min"
[[pump]]
name = "bench"
kind = "hand"
[[gauge]]
name = "forty"
full_scale = "40 bar"
"""


def test_a_kit_reads_with_defaults() -> None:
    kit = read_kit(KIT.encode(), "kit.toml")
    assert kit.hose[0].name == "half inch" and kit.hose[0].coupling_hole == pytest.approx(0.7 * kit.hose[0].bore)
    assert [name for name, _ in kit.pump] == ["ten to one", "bench"]
    pump = kit.pump[0][1]
    assert (
        isinstance(pump, records.AirDrivenPump)
        and pump.friction == pytest.approx(0.05)
        and pump.strokes_per_minute is None
    )
    assert isinstance(kit.pump[1][1], records.HandPump)
    assert {"hose.1.couplings", "pump.1.friction", "pump.2.stroke"} <= {each.path for each in kit.assumptions}


@pytest.mark.parametrize(
    ("old", "new", "path"),
    [
        ('name = "half inch"', "", "hose.1.name"),
        ('name = "bench"', "", "pump.2.name"),
        ('name = "bench"', 'name = "ten to one"', "pump.2.name"),
        ('kind = "hand"', 'kind = "steam"', "pump.2.kind"),
        ('bore = "12.7 mm"', "bore = 12.7", "hose.1.bore"),
        ("[[gauge]]", "[gauge]", "gauge"),
        ("[[gauge]]", "[[gage]]", "gage"),
        ("ratio = 10", "ratio = 10\nstrokes_per_minute = 100", "pump.1.strokes_per_minute"),
        ('bore = "12.7 mm"', 'bore = "12.7 mm"\ntail_bore = "13 mm"', "hose.1.tail_bore"),
    ],
)
def test_kit_problems_name_the_path(old: str, new: str, path: str) -> None:
    with pytest.raises(CaseProblems) as caught:
        read_kit(KIT.replace(old, new).encode(), "kit.toml")
    assert path in [problem.path for problem in caught.value.problems], str(caught.value)


def test_the_kit_that_is_shipped(pytestconfig: pytest.Config) -> None:
    kit = read_kit_file(pytestconfig.rootpath / "cases" / "kit.toml")
    assert kit.hose and kit.pump and kit.gauge


def _empty(record: object) -> Iterator[str]:
    """The leaves of a record that are empty though their types say that they never are."""
    for each in fields(record) if is_dataclass(record) else ():
        value = getattr(record, each.name)
        if "input" not in each.metadata:
            for item in value if isinstance(value, tuple) else (value,):
                yield from _empty(item)
        elif value is None and NoneType not in get_args(get_type_hints(type(record))[each.name]) \
                and inputs(type(record))[each.name].group != "gas":
            yield f"{type(record).__name__}.{each.name}"


def test_a_leaf_that_may_be_empty_in_a_job_says_so() -> None:
    written = [read_text(path.read_text(encoding="utf-8")) for path in CASES.glob("*.toml") if path.stem != "kit"]
    cases = [*(case for case in written if not is_gas(case)), *filter(None, map(case_of, range(60)))]
    assert len(cases) > 60
    assert not {leaf for case in cases for leaf in _empty(resolve(case))}
