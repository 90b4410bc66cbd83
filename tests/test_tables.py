"""The tables in the README are those that the commands print."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests import accuracy
from tests.families import few
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


def _some_cases() -> Iterator[accuracy.Line]:
    """Every sixth of the cases against brute force; each has its own test beside the model."""
    return (line for line in accuracy.brute_force(tuple(accuracy.CASES)[::6]) if not line.what.endswith("hard ones"))


@pytest.mark.parametrize("lines", few([accuracy.libraries, _some_cases, accuracy.gases], 1))
def test_accuracy(lines: Callable[[], Iterator[accuracy.Line]]) -> None:
    """Each row of the command stands there, with what it is allowed, and keeps to it."""
    rows = [[row[0], row[1].partition(",")[0], row[4]] for row in _under(accuracy.HEAD)]
    for line in lines():
        what, against, _, _, allowed = _cells(str(line))
        assert [what, against.partition(",")[0], allowed] in rows
        assert line.largest <= line.allowed


def test_no_row_of_the_readme_is_stale() -> None:
    names = {row[0].partition(":")[0] for row in _under(accuracy.HEAD)}
    assert {what.partition(":")[0] for what in accuracy.GROUPS} <= names


def test_check_values_are_counted_as_they_are_known() -> None:
    """The README's table is that of `python -m tests.accuracy published`, but for how much of a tolerance is used."""
    def counts(cells: list[str]) -> list[str]:
        return cells[:-2] + cells[-1:]

    assert [counts(row) for row in _under(accuracy.PUBLISHED_HEAD)] == [
        counts(_cells(line)) for line in accuracy.published()]


FAULTS_HEAD = "| tried | trials | read as a case | faults |\n| --- | ---: | ---: | ---: |"
OTHERS = {"a write cut short, power lost", "kill -9 at each line of a save", "fault at each line of a save",
          "full, closed and changed disks", "the command in pipes, locales, odd surroundings",
          "each key held down, 30 a second, on each kind of focus", "streams of odd bytes into the screen",
          "a signal at each stage, the terminal looked at afterwards", "the screen dropped, killed, shrunk, flooded",
          "every number by a second way", "a signal at a random moment of work",
          "unsaved work, damaged, foreign, planted", "starts among 2,000 pieces of it"}


def test_faults_tried_are_those_of_the_command() -> None:
    """Each row has a name that the command prints and no more trials than it makes; faults are told below it."""
    most = {**{name: number for name, (_, number) in damage.FAMILIES.items()},
            **{name: kind.number for name, kind in beside.KINDS.items()}, **dict.fromkeys(OTHERS, 10 ** 9)}
    rows = _under(FAULTS_HEAD)
    assert len(rows) > 10
    for name, tried, _, faults in rows:
        assert 0 < int(tried.replace(",", "")) <= most[name.removesuffix(" (a tenth)")], name
        assert faults == "0" or "The faults it told: " in " ".join(README.split()), name
