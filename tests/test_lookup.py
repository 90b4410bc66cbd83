"""What standards say: every row marked, nothing chosen, and the sums that can be worked out."""

from __future__ import annotations

import json

import pytest

from fillcalc.lookup import (
    CHECK,
    ROWS,
    SHELL_HOLDS,
    asme_viii_1,
    gauge_window,
    ped,
    preliminary_air,
    raising_steps,
    rows,
    shell_hold,
    shell_pressure_pn,
    shell_pressure_psi,
)
from fillcalc.report.rules_text import rules_data, rules_report


def test_every_row_is_marked_and_has_an_edition() -> None:
    assert {row.provenance for row in ROWS} == {"read", "memory"}
    assert all(row.standard and row.edition and row.says and row.what for row in ROWS)
    assert len(set(ROWS)) == len(ROWS)


def test_the_words_that_go_with_it_are_in_text_and_data() -> None:
    assert "Check your own copy" in " ".join(rules_report(rows()).split())
    data = rules_data(rows())
    assert data["check"] == CHECK and json.loads(json.dumps(data)) == data
    assert max(map(len, rules_report(rows()).splitlines())) <= 80


def test_a_word_finds_subjects_and_standards_in_any_case() -> None:
    assert rows() != rows("VALVE") == rows("valve") != ()
    assert all("B31.3" in row.standard for row in rows("b31.3"))
    assert rows("no such standard") == ()
    assert rules_report(()).startswith("Nothing")


@pytest.mark.parametrize(("class_psi", "shell"), [(285, 450), (740, 1125), (1480, 2225), (1975, 2975), (2220, 3350),
                                                  (3705, 5575), (6170, 9275)])
def test_shell_pressures_of_the_classes(class_psi: float, shell: float) -> None:
    assert shell_pressure_psi(class_psi) == shell


@pytest.mark.parametrize(("dn", "hold"), [(15, 15), (50, 15), (65, 60), (100, 60), (150, 60), (200, 120), (250, 120),
                                          (300, 120), (350, 300), (400, 300)])
def test_shell_holds_of_en_12266_1(dn: float, hold: float) -> None:
    table = next(table for table in SHELL_HOLDS if (table.standard, table.edition) == ("EN 12266-1", "2012"))
    assert shell_hold(table, dn) == hold


def test_editions_of_one_standard_are_both_shown_where_they_differ() -> None:
    tables = {table.edition: table for table in SHELL_HOLDS if table.standard == "EN 12266-1"}
    assert (shell_hold(tables["2003"], 200), shell_hold(tables["2012"], 200)) == (60, 120)
    assert {row.edition for row in rows("EN 12266-1") if "hold" in row.what} == {"2003", "2012"}
    assert {row.says for row in rows("chloride")} == {"30 ppm by mass", "50 ppm", "100 ppm"}


def test_sums() -> None:
    assert shell_pressure_pn(16) == pytest.approx(24e5)
    assert asme_viii_1(10.0) == pytest.approx(13.0)
    assert ped(10.0, 1.375) == pytest.approx(14.3)
    assert ped(10.0, 1.6) == pytest.approx(16.0)
    assert gauge_window(24.0) == (36.0, 96.0)
    assert raising_steps(24.0) == pytest.approx((12, 14.4, 16.8, 19.2, 21.6, 24))
    assert (preliminary_air(5e5), preliminary_air(2e5)) == (170e3, 100e3)
