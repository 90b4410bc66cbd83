"""The tables in the README are those that the commands print."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests import accuracy
from tests.faults import beside, damage

README = (Path(__file__).resolve().parents[1] / "README.md").read_text(encoding="utf-8")


def _cells(line: str) -> list[str]:
    return [cell.strip() for cell in line.strip().strip("|").split("|")]


def _under(head: str) -> list[list[str]]:
    """The rows of the README's table with this head."""
    assert head in README
    rows = []
    for line in README.split(head, 1)[1].lstrip("\n").split("\n"):
        if not line.startswith("|"):
            break
        rows.append(_cells(line))
    return rows


@pytest.mark.parametrize("lines", [accuracy.libraries, accuracy.brute_force])
def test_accuracy(lines: object) -> None:
    """Each row of the command stands there, with what it is allowed, and keeps to it."""
    rows = _under(accuracy.HEAD)
    for line in lines():  # type: ignore[operator]
        what, against, _, _, allowed = _cells(str(line))
        assert [what, against.partition(",")[0], allowed] in [[row[0], row[1].partition(",")[0], row[4]]
                                                             for row in rows]
        assert line.largest <= line.allowed


def test_no_row_of_the_readme_is_stale() -> None:
    names = {row[0].partition(":")[0] for row in _under(accuracy.HEAD)}
    groups = {what.partition(":")[0] for what in accuracy.GROUPS}
    assert groups <= names
    assert [row[0] for row in _under(accuracy.PUBLISHED_HEAD)] == list(accuracy.PUBLISHED.values())


def test_published_values_agree() -> None:
    for line in accuracy.published():
        _, agree, _, noticed = _cells(line)
        for count in filter(None, (agree, noticed)):
            one, _, all_of_them = count.partition(" of ")
            assert one == all_of_them, line


FAULTS_HEAD = "| tried | trials | read as a case | faults |\n| --- | ---: | ---: | ---: |"
OTHERS = {"kill -9 at each line of a save", "fault at each line of a save", "full, closed and changed disks",
          "the command in pipes, locales, odd surroundings", "the screen dropped, killed, shrunk, flooded"}


def test_faults_tried_are_those_of_the_command() -> None:
    """Each row has a name that the command prints, no more trials than it makes, and no fault."""
    most = {**{name: number for name, (_, number) in damage.FAMILIES.items()},
            **{name: kind.number for name, kind in beside.KINDS.items()}, **dict.fromkeys(OTHERS, 10 ** 9)}
    rows = _under(FAULTS_HEAD)
    assert len(rows) > 10
    for name, tried, _, faults in rows:
        assert 0 < int(tried.replace(",", "")) <= most[name] and faults == "0", name
