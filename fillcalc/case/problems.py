"""What is wrong with a file: one record for each mistake, all of them raised at once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from fillcalc.units.printable import shown

MOST_PROBLEMS = 100
"""Problems that are told; the rest are counted."""


@dataclass(frozen=True)
class Problem:
    """One mistake in a file. Every text in it is safe to show."""

    file: str
    line: int
    """Counted from 1; 0 where no line can be named."""
    path: str
    """Of the input, such as "fill.hose.2.bore"; empty for the file as a whole."""
    found: str
    expected: str
    hint: str = ""
    name: str = ""
    """What a person calls the input, as the form does; empty where the path leads to none."""

    def __post_init__(self) -> None:
        for name, longest in (("file", 200), ("path", 120), ("found", 120), ("expected", 400), ("hint", 300),
                              ("name", 120)):
            object.__setattr__(self, name, shown(getattr(self, name), longest))

    def __str__(self) -> str:
        where = f"{self.file}:{self.line}" if self.line else self.file
        called = f" ({self.name})" if self.name else ""
        parts = [f"{self.path}{called}: " if self.path else "", f"found {self.found}; " if self.found else "",
                 self.expected]
        return f"{where}: {''.join(parts)}" + (f" ({self.hint})" if self.hint else "")


class CaseProblems(Exception):
    """A file that cannot be used, with every problem found in it."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__("\n".join(map(str, problems)))
        self.problems = problems


class KitInstead(CaseProblems):
    """A kit stands where a case is wanted."""


@dataclass
class Found:
    """The problems of one file as they are found."""

    file: str
    lines: Callable[[], Mapping[str, int]]
    """The line of every path; asked for only when there is a problem."""
    of: Mapping[str, object] | None = None
    """The table of the file, which says what its inputs are called."""
    units: str = "metric"
    problems: list[Problem] = field(default_factory=list)
    more: int = 0

    def add(self, path: str, found: str, expected: str, hint: str = "") -> None:
        """One more problem at a path; past the most that are told it is only counted."""
        if self.full:
            self.more += 1
            return
        from fillcalc.case.names import declared_at, name_of

        name = name_of(path, self.units, self.of) if declared_at(path.removeprefix("ranges."), self.of) else ""
        self.problems.append(Problem(self.file, self.line(path), path, found, expected, hint, name))

    def keep(self, counts: Callable[[str], bool]) -> None:
        """Forget what is missing at paths that do not count; what is written wrongly there stays a problem."""
        self.problems = [problem for problem in self.problems if problem.found or counts(problem.path)]

    @property
    def full(self) -> bool:
        """Whether as many problems are found as are told."""
        return len(self.problems) >= MOST_PROBLEMS

    def line(self, path: str) -> int:
        """The line of a path, or of the nearest table around it."""
        lines = self.lines()
        while path:
            if path in lines:
                return lines[path]
            path = path.rpartition(".")[0]
        return 0

    def concerns(self, *paths: str) -> bool:
        """Whether one of these inputs has a problem already."""
        return any(problem.path in paths for problem in self.problems)

    def stop_if_any(self) -> None:
        """Raise CaseProblems with all of them in the order of the lines, where there are any."""
        if not self.problems:
            return
        problems = sorted(self.problems, key=lambda problem: problem.line)
        if self.more:
            problems.append(Problem(self.file, 0, "", "", f"{self.more} more problems of this kind are not listed"))
        raise CaseProblems(tuple(problems))
