"""The rows of the form come from the declarations: each input once, under a name of its own that fits its column."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from typing import Any

import pytest

from fillcalc.case import records
from fillcalc.case.fields import GROUPS
from fillcalc.case.medium import counts
from fillcalc.case.shape_of import children_of, leaves_of, offered
from fillcalc.case.template import template
from tests.case.test_declarations import ALL
from tui.state.inputs import Row, groups
from tui.widgets.form import LABEL, NARROWEST, said_as

MARK = 2
"""Columns of the mark before the label of a field that is wrong."""
KEPT_BESIDES = ("format", "name")
"""Keys that no row of the form stands for: the format of the file, and the name of an item of a kit."""
NAMED = ("tap.", "pump.")
"""What goes by its own name from job to job."""


def choices() -> Iterator[dict[str, Any]]:
    """The table of a case for each shape, kind of source and kind of pump, with two items in each list."""
    table = tomllib.loads(template())
    many = {"vessel": {"crest": [{}, {}]}, "fill": {"hose": [{}, {}]}, "test": {"steps": [{}, {}]}}
    for key, child in children_of(records.Case).items():
        for word in offered(child) if child.word else ():
            each = {**table, **many, "reading": [{}, {}]}
            each["vessel"] = {**table["vessel"], **many["vessel"]}
            each[key] = {**each.get(key, {}), child.word: word}
            if key == "gas_supply":
                each["test"] = {**each["test"], "medium": "nitrogen"}
            yield each


TABLES = list(choices())
NAMES = [f"{t['vessel']['shape']}, {t['tap'].get('kind', 'tap')}, {t['pump']['kind']}" for t in TABLES]


def expected(record: type, base: str, table: Any) -> Iterator[str]:
    """The paths of all inputs of a record and of the tables in it."""
    yield from (base + key for key in leaves_of(record) if key not in KEPT_BESIDES or base in NAMED)
    for key, child in children_of(record).items():
        here = table.get(key, {}) if isinstance(table, dict) else {}
        if child.word:
            yield f"{base}{key}.{child.word}"
        chosen = next((r for r in child.records if child.word and getattr(r, child.word) == here.get(child.word)),
                      child.records[0] if key != "tap" else records.Tap)
        if child.many:
            for place in range(1, 1 + len(here)):
                yield from expected(chosen, f"{base}{key}.{place}.", {})
        else:
            yield from expected(chosen, f"{base}{key}.", here)


@pytest.mark.parametrize("table", TABLES, ids=NAMES)
def test_each_input_stands_in_the_form_once(table: dict[str, Any]) -> None:
    rows = [row.path for group in groups(table) for row in group.rows if not row.does]
    gas = table["test"].get("medium") == "nitrogen"
    assert sorted(rows) == sorted(path for path in expected(records.Case, "", table) if counts(path, gas))


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("table", TABLES, ids=NAMES)
def test_labels_fit_and_none_stands_twice_under_one_heading(table: dict[str, Any], units: str) -> None:
    for group in groups(table, units):
        under: list[str] = []
        for row in group.rows:
            if row.does == "head":
                under = []
            elif not row.does:
                assert len(row.label) <= LABEL - MARK, row.label
                assert row.label[0].isupper() and row.label not in under, (group.title, row.label)
                under.append(row.label)
                assert row.declared.help and row.declared.form
                for word in row.declared.words if row.declared.form == "choice" else ():
                    assert len(said_as(row, word, NARROWEST - LABEL)) <= NARROWEST - LABEL, word


def test_the_groups_stand_in_the_order_of_the_work_behind_the_main_inputs() -> None:
    found = groups(TABLES[0])
    assert [group.key for group in found] == ["main", *(key for key in GROUPS if key != "gas")]
    of_gas = [group.key for group in groups({"test": {"medium": "nitrogen"}})]
    assert of_gas == ["main", "vessel", "source", "gas", "test", "limits", "job", "reading", "took"]
    main = [row.path for row in found[0].rows]
    work = ("vessel.shape", "tap.pressure", "vent.bore", "test.medium", "test.pressure", "pump.kind")
    assert [path for path in main if path in work] == list(work)
    assert {key for _, _, _, declared in ALL for key in [declared.group]} == set(GROUPS)


def test_a_screen_in_us_units_relabels_what_the_trade_calls_otherwise() -> None:
    labels = {units: {row.path: row for group in groups(TABLES[0], units) for row in group.rows if not row.does}
              for units in ("metric", "us")}

    def said(path: str) -> tuple[str, str]:
        return labels["metric"][path].label, labels["us"][path].label

    assert said("tap.pressure") == ("Tap pressure", "Hose bib pressure")
    assert said("tap.open_flow") == ("Tap open flow", "Hose bib flow")
    assert said("fill.hose.1.bore") == ("Fill hose 1 bore", "Fill hose 1 ID")
    assert said("pump.strokes_per_litre") == ("Strokes per litre", "Strokes per litre")
    shape: Row = labels["us"]["vessel.shape"]
    assert [said_as(shape, word) for word in shape.declared.words][1:3] == ["vertical vessel", "horizontal vessel"]
