"""A folder of case files: what can be read, and what cannot, each with its reason."""

from __future__ import annotations

import os
from dataclasses import dataclass

from fillcalc.case.names import named
from fillcalc.case.own import NAME, Own
from fillcalc.case.problems import CaseProblems, KitInstead
from fillcalc.case.read import read_file
from fillcalc.case.records import Case


@dataclass(frozen=True)
class Folder:
    """The cases of a folder by the names of their files, and what was left out."""

    cases: tuple[Case, ...]
    files: tuple[str, ...]
    """Of the cases, in their order."""
    skipped: tuple[tuple[str, str], ...]
    """Files that should be cases and are not, each with what is wrong."""
    others: tuple[str, ...]
    """Files that are no cases: kits, own figures, and whatever does not end in .toml."""


def read_folder(path: str | os.PathLike[str], own: Own | None = None) -> Folder:
    """Return the cases in the files of a folder, in the order of their names; what lies in folders within is left.

    A damaged or empty file is no reason to stop: it is named. Raises OSError where the folder cannot be listed.
    """
    cases: list[Case] = []
    files: list[str] = []
    skipped: list[tuple[str, str]] = []
    others: list[str] = []
    for name in sorted(os.listdir(path)):
        place = os.path.join(path, name)
        if os.path.isdir(place) or name.startswith("."):
            continue
        if not name.lower().endswith(".toml") or name == NAME:
            others.append(name)
            continue
        try:
            cases.append(named(read_file(place, own or Own()), name))
            files.append(name)
        except KitInstead:
            others.append(name)
        except CaseProblems as found:
            more = len(found.problems) - 1
            skipped.append((name, f"{found.problems[0]}{f' (+{more} more)' if more else ''}"))
    return Folder(tuple(cases), tuple(files), tuple(skipped), tuple(others))
