"""One walk through all published values."""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from dataclasses import replace

import pytest

from tests.published.adapters import ADAPTERS
from tests.published.rows import FOLDER, MATCHES, PROVENANCE, Row, rows

ROWS = rows()
ADDRESS = re.compile(r"https?:|www\.|\b[\w-]+\.(com|org|net|edu|gov|ru|io|info|mobi|jp|uk|de)\b", re.IGNORECASE)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.file}: {row.name}")
def test_published_value(row: Row) -> None:
    result = ADAPTERS[row.what](**row.inputs)
    verdict = "must not match" if row.must_fail else "must match"
    assert row.matches(result) != row.must_fail, (
        f"{row.what} gives {result}, which {verdict} {row.match} {row.expected} within {row.slack:.6g}; {row.source}")


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.file}: {row.name}")
def test_row_is_whole(row: Row) -> None:
    assert row.match in MATCHES
    assert row.provenance and set(row.provenance) <= set(PROVENANCE)
    assert len(row.because) > 3 and len(row.source) > 3
    assert row.slack >= 0.0
    assert len(row.expected) == (2 if row.match == "between" else 1) or row.match == "holds"


def test_names_are_unique() -> None:
    twice = [name for name, count in Counter((row.file, row.name) for row in ROWS).items() if count > 1]
    assert not twice


def test_files_name_no_web_address() -> None:
    for path in FOLDER.glob("*.toml"):
        text = path.read_text(encoding="utf-8")
        tomllib.loads(text)
        assert not ADDRESS.search(text), path.name


def test_every_adapter_is_used() -> None:
    assert set(ADAPTERS) == {row.what for row in ROWS}


@pytest.mark.parametrize("row", [row for row in ROWS if row.match == "near" and not row.must_fail],
                         ids=lambda row: f"{row.file}: {row.name}")
def test_the_walk_would_notice(row: Row) -> None:
    """A row whose expected value is moved by three tolerances fails."""
    result = ADAPTERS[row.what](**row.inputs)
    moved = (row.expected[0] + 3.0 * max(row.slack, 1e-9),)
    assert not replace(row, expected=moved).matches(result)
