"""One walk through all published values."""

from __future__ import annotations

import re
from collections import Counter

import pytest

from tests.published.adapters import ADAPTERS
from tests.published.rows import FOLDER, Row, _row, rows

ROWS = rows()
ADDRESS = re.compile(r"https?:|www\.|\b[\w-]+\.(com|org|net|edu|gov|ru|io|info|mobi|jp|uk|de)\b", re.IGNORECASE)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.file}: {row.name}")
def test_published_value(row: Row) -> None:
    result = ADAPTERS[row.what](**row.inputs)
    verdict = "must not match" if row.must_fail else "must match"
    assert row.matches(result) != row.must_fail, (
        f"{row.what} gives {result}, which {verdict} {row.match} {row.expected} within {row.slack:.6g}; {row.source}")


def test_names_are_unique() -> None:
    twice = [name for name, count in Counter((row.file, row.name) for row in ROWS).items() if count > 1]
    assert not twice


def test_files_name_no_web_address() -> None:
    for path in FOLDER.glob("*.toml"):
        assert not ADDRESS.search(path.read_text(encoding="utf-8")), path.name


def test_every_adapter_is_used() -> None:
    assert set(ADAPTERS) == {row.what for row in ROWS}


SOUND = {"name": "a row", "what": "TNT", "expected": 1.0, "tolerance": "1 %", "because": "rounded to two figures",
         "source": "ASME PCC-2 (2008)", "provenance": "read"}


@pytest.mark.parametrize(("change", "said"), [
    ({"provenance": ""}, "lacks provenance"),
    ({"provenance": ["read"]}, "read, second-hand, memory, computed, common practice"),
    ({"provenance": "hearsay"}, "'hearsay'"),
    ({"provenance": "computed"}, "computed_with"),
    ({"computed_with": "numpy 2.4.6"}, "computed_with"),
    ({"provenance": "common practice"}, "common practice, no source"),
    ({"expected": [1.0, 2.0]}, "2 expected values"),
    ({"tolerence": "2 %"}, "unknown tolerence"),
])
def test_a_row_that_does_not_say_how_it_is_known_is_refused(change: dict[str, object], said: str) -> None:
    assert _row("energy", SOUND).provenance == "read"
    with pytest.raises(ValueError, match=f"energy.toml, a row: .*{said}"):
        _row("energy", {**SOUND, **change})
