"""The package as a library: names that load on first use, a sweep over one input, answers as pint quantities."""

from __future__ import annotations

import doctest
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pint
import pytest

import fillcalc
from fillcalc.case.read import read_file, read_text
from fillcalc.case.records import Case
from fillcalc.estimation.answers import Estimate, answers
from fillcalc.formats.data import estimate_data
from fillcalc.formats.quantities import PINT_UNITS, quantities
from fillcalc.tree import at
from fillcalc.units import read_quantity
from fillcalc.units.tables import FAMILIES, UNITS

ROOT = Path(__file__).resolve().parents[1]


def demo(name: str) -> Case:
    return read_file(ROOT / "cases" / f"{name}.toml")


def test_the_examples_are_true() -> None:
    ran = doctest.testmod(fillcalc)
    assert ran.attempted > 10
    assert ran.failed == 0


def test_the_examples_of_the_readme_are_true(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    blocks = [block for block in text.split("```")[1::2] if block.startswith("python")]
    assert blocks
    for block in blocks:
        example = doctest.DocTestParser().get_doctest(block.partition("\n")[2], {}, "README", "README.md", 0)
        assert example.examples
        assert doctest.DocTestRunner().run(example).failed == 0


@pytest.mark.parametrize("name", fillcalc.__all__)
def test_each_name_is_there_and_told_by_dir(name: str) -> None:
    assert getattr(fillcalc, name).__module__.startswith("fillcalc.")
    assert name in dir(fillcalc)


def test_an_unknown_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="unheard_of"):
        _ = fillcalc.unheard_of  # type: ignore[attr-defined]


# --- a sweep ------------------------------------------------------------------------------------

def _numbers(record: Any, base: str = "") -> dict[str, Any]:
    """One number for each answer and value; lists, told of the first value only, are left out."""
    if isinstance(record, tuple):
        return {k: v for i, item in enumerate(record) for k, v in _numbers(item, f"{base}{i}.").items()}
    if not is_dataclass(record):
        return {}
    found: dict[str, Any] = {}
    declared = answers(type(record))
    for f in fields(record):
        value = getattr(record, f.name)
        if f.name not in declared:
            found |= _numbers(value, f"{base}{f.name}.")
        elif not declared[f.name].listed and value is not None:
            found[base + f.name] = value
    return found


@pytest.mark.parametrize(("name", "path", "values"), [
    ("cooler-shell", "fill.hose.1.bore", ("12.7 mm", "3/4 in", "25 mm")),
    ("cooler-shell", "tap.pressure", ("2 bar", "3.2 bar", "60 psi")),
    ("cooler-shell", "trapped_air.amount", ("0.1 %", "1 %", "5 %")),
    ("cooler-shell", "vessel.diameter", ("400 mm", "620 mm", "1.2 m")),
    ("cooler-shell", "pump.ratio", (8, 10, 20.0)),
    ("tall-tank", "vessel.height", ("2 m", "4 m", "6 m")),
    ("valve-block", "test.pressure", ("50 bar", "100 bar")),
])
def test_a_sweep_is_one_case_after_the_other(name: str, path: str, values: tuple[Any, ...]) -> None:
    case = demo(name)
    together = _numbers(fillcalc.sweep(case, path, values))
    apart = [_numbers(fillcalc.sweep(case, path, [value])) for value in values]
    assert len(together) > 50
    for key, array in together.items():
        alone = np.array([np.ravel(one[key])[0] for one in apart], float)
        np.testing.assert_allclose(np.broadcast_to(np.asarray(array, float), len(values)), alone,
                                   rtol=1e-8, err_msg=key)  # a case alone stops at the points of its chart too


def test_a_sweep_through_the_value_as_written_meets_the_estimate() -> None:
    case = demo("cooler-shell")
    swept = fillcalc.sweep(case, "fill.hose.1.bore", [at(case, "fill.hose.1.bore"), "19 mm"])
    assert swept.fill.time_s[0] == pytest.approx(fillcalc.estimate(case).fill.time_s[0], rel=1e-12)
    assert swept.fill.time_s[1] < swept.fill.time_s[0]
    assert swept.air_ladder == () and swept.regulator is None


@pytest.mark.parametrize(("path", "values", "said"), [
    ("fill.hose.2.bore", ["1 in"], "no such input"),
    ("fill.hose.0.bore", ["1 in"], "no such input"),
    ("nothing.at.all", ["1 in"], "no such input"),
    ("vessel.__class__", ["1 in"], "no such input"),
    ("title", ["1 in"], "only a quantity"),
    ("vessel", ["1 in"], "only a quantity"),
    ("vessel.material", ["titanium"], "only a quantity"),
    ("fill.measured_flow", ["19 L/min"], "does not use it"),
    ("fill.hose.1.bore", ["1 bar"], "1 bar"),
    ("fill.hose.1.bore", [-1.0], "outside"),
    ("fill.hose.1.bore", [float("nan")], "outside"),
    ("fill.hose.1.bore", [], "one value"),
    ("trapped_air.amount", ["1 %", "2 L"], "one kind"),
])
def test_what_cannot_be_swept_is_said(path: str, values: list[Any], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        fillcalc.sweep(demo("cooler-shell"), path, values)


def test_a_number_of_unknown_kind_needs_its_unit() -> None:
    text = (ROOT / "cases" / "cooler-shell.toml").read_text(encoding="utf-8")
    case = read_text(text)
    assert fillcalc.sweep(case, "trapped_air.amount", [0.01]).trapped_share[0] == pytest.approx(0.01)
    litres = read_text(text.replace('amount = "0.4 %"', 'amount = "2 L"').replace('"trapped_air.amount" =', "# "))
    assert fillcalc.sweep(litres, "trapped_air.amount", [0.01]).trapped_air_m3[0] == pytest.approx(0.01)


# --- quantities ---------------------------------------------------------------------------------

def test_quantities_hold_the_numbers_of_the_data() -> None:
    case = demo("cooler-shell")
    estimate = fillcalc.with_ranges(case)
    data, found = estimate_data(case, estimate), quantities(estimate)
    assert len(found) > 100
    for path, quantity in found.items():
        here: Any = data
        for name in path.split("."):
            here = here[int(name) - 1] if isinstance(here, list) else here.get(name, "a curve")
            if here == "a curve":
                break
        if here != "a curve":
            expected = np.asarray(here, float) if here is not None else np.nan
            np.testing.assert_allclose(np.ravel(quantity.magnitude), np.ravel(expected), err_msg=path)
    assert found["fill.time_s"].check("[time]")
    assert found["pressurise.test_gauge_pa"].to("bar").magnitude == pytest.approx(24.0)
    assert found["hold.pressure_per_kelvin_pa"].check("[pressure] / [temperature]")


def test_every_answer_has_a_unit_that_pint_knows() -> None:
    registry: pint.UnitRegistry[Any] = pint.UnitRegistry()
    assert set(PINT_UNITS) == set(UNITS)
    for family in FAMILIES.values():
        registry.Unit(PINT_UNITS[family.dimension])


@pytest.mark.parametrize(("family", "written", "pint_writes"), [
    ("pressure", "24 psi", "24 psi"), ("flow", "3 gpm", "3 gallon/minute"), ("volume", "2 US gal", "2 gallon"),
    ("hose_stretch", "0.015 mL/m/bar", "0.015 mL/m/bar"), ("energy", "3 ft lbf", "3 foot*force_pound"),
    ("speed", "2 ft/s", "2 foot/second"), ("stroke_rate", "40 /min", "40 / minute")])
def test_the_si_units_are_those_of_the_tables(family: str, written: str, pint_writes: str) -> None:
    registry: pint.UnitRegistry[Any] = pint.UnitRegistry()
    unit = PINT_UNITS[FAMILIES[family].dimension]
    assert registry(pint_writes).to(unit).magnitude == pytest.approx(read_quantity(written, (family,))[0], rel=1e-12)


def test_quantities_take_a_registry_and_do_not_copy() -> None:
    registry: pint.UnitRegistry[Any] = pint.UnitRegistry()
    swept: Estimate = fillcalc.sweep(demo("cooler-shell"), "tap.pressure", ["2 bar", "3 bar"])
    time = quantities(swept, registry)["fill.time_s"]
    assert time.magnitude is swept.fill.time_s
    assert time.u == registry.second
