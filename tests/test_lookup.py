"""What standards say: each row told as it is known, nothing chosen."""

from __future__ import annotations

import ast
import json
import re
from pathlib import Path

from fillcalc.case.provenance import Provenance
from fillcalc.case.standards import CHECK, ROWS, SHELL_HOLDS, rows, shell_hold
from fillcalc.formats.rules_text import rules_data, rules_report

ROOT = Path(__file__).resolve().parents[1]


def test_what_is_second_hand_says_who_quotes_it_and_nothing_else_does() -> None:
    wrong = [one for one in (*ROWS, *SHELL_HOLDS)
             if (one.provenance == Provenance.SECOND_HAND) != bool(one.quoted_in)]
    assert not wrong
    assert len({(row.standard, row.edition, row.what, row.subject) for row in ROWS}) == len(ROWS)


def test_how_a_row_is_known_stands_in_text_and_data() -> None:
    text, data = rules_report(rows()), rules_data(rows())
    flat = " ".join(text.split())
    assert CHECK in flat and data["check"] == CHECK and json.loads(json.dumps(data)) == data
    assert [rule["known"] for rule in rules_data(rows("EN 12266-1"))["rules"][-2:]] == [
        "second-hand: quoted in a valve maker's table", "not checked against the standard"]
    assert "ASME B31.3 345.5 (2016; read in the standard)." in flat
    assert "API 6D (edition not known; second-hand: quoted in a valve maker's page)." in flat
    assert "EN 837-2 (edition not known; not checked against the standard)." in flat
    assert max(map(len, text.splitlines())) <= 80


def _said(path: Path) -> list[str]:
    """The strings of a module that may reach a user: docstrings are not among them."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    bare = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    return [node.value for node in ast.walk(tree)
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in bare]


def test_no_user_is_told_that_a_value_is_from_memory() -> None:
    """What was not checked is called that: whose memory it was is of no use to a technician."""
    paths = [path for part in ("fillcalc", "tui") for path in sorted((ROOT / part).rglob("*.py"))]
    found = {path.name: text for path in paths for text in _said(path) if re.search(r"\bmemory\b", text)}
    assert found == {"provenance.py": "memory"}
    assert not [path.name for path in (ROOT / "cases").glob("*.toml") if "memory" in path.read_text(encoding="utf-8")]


def test_a_word_finds_subjects_and_standards_in_any_case() -> None:
    assert rows() != rows("VALVE") == rows("valve") != ()
    assert all("B31.3" in row.standard for row in rows("b31.3"))
    assert rows("no such standard") == rows("memory") == ()
    assert rules_report(()).startswith("No rule has that word.")


def test_editions_of_one_standard_are_both_shown_where_they_differ() -> None:
    tables = {table.edition: table for table in SHELL_HOLDS if table.standard == "EN 12266-1"}
    assert (shell_hold(tables["2003"], 200), shell_hold(tables["2012"], 200)) == (60, 120)
    assert {row.edition for row in rows("EN 12266-1") if "hold" in row.what} == {"2003", "2012"}
    assert {row.says for row in rows("chloride")} == {"30 ppm by mass", "50 ppm", "100 ppm"}
