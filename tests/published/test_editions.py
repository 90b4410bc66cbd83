"""The product's constants and the check values cite the same edition of a work that both cite."""

from __future__ import annotations

import ast
import re
from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path

from fillcalc.case.standards import ROWS, SHELL_HOLDS
from tests.published.rows import rows

ROOT = Path(__file__).resolve().parents[2]
CITED = (
    re.compile(r"\b(?P<work>(?:ISO|IEC|EN|BS|API|JCGM) \d[\d.-]*):(?P<edition>(?:19|20)\d\d)"),
    re.compile(r"\bIAPWS (?P<work>S?R\d+-\d+)\((?P<edition>\d{4})\)"),
    re.compile(r"\b(?P<work>PCC-2),? \(?(?P<edition>20\d\d)"),
    re.compile(r"(?P<work>[A-Z][\w.]+(?: [A-Z][\w.]+)* \d+) \((?P<edition>(?:18|19|20)\d\d\) \d+)"),
    re.compile(r"(?P<work>[A-Z][\w'-]+(?: (?:of|and|II|[A-Z][\w'-]+))*),? (?P<edition>\d+(?:st|nd|rd|th) ed)"),
)
"""A standard with its year, a release, a paper by volume with year and page, a book with its edition."""


def cited(texts: Iterable[str]) -> dict[str, set[str]]:
    """Editions of each work that texts cite."""
    found: dict[str, set[str]] = defaultdict(set)
    for text in texts:
        for pattern in CITED:
            for one in pattern.finditer(" ".join(text.split())):
                found[one["work"]].add(one["edition"])
    return found


def product() -> dict[str, set[str]]:
    """What docstrings and sentences of the product cite."""
    trees = [ast.parse(path.read_text(encoding="utf-8")) for path in sorted((ROOT / "fillcalc").rglob("*.py"))]
    return cited(node.value for tree in trees for node in ast.walk(tree)
                 if isinstance(node, ast.Constant) and isinstance(node.value, str))


def apart(ours: dict[str, set[str]], theirs: dict[str, set[str]]) -> list[str]:
    """Works of which the first cites an edition that the second, citing the work, does not."""
    return [f"{work}: the product has {sorted(editions)}, the check values {sorted(theirs[work])}"
            for work, editions in ours.items() if work in theirs and not editions <= theirs[work]]


def test_product_and_check_values_cite_the_same_editions() -> None:
    ours, theirs = product(), cited(row.source for row in rows())
    both = set(ours) & set(theirs)
    assert {"ISO 6358-1", "PCC-2", "Theory of Elasticity", "Ind. Eng. Chem. Res. 48"} <= both, sorted(both)
    assert not apart(ours, theirs)


def test_editions_looked_up_are_those_of_the_check_values() -> None:
    looked_up = {(one.standard, one.edition) for one in (*ROWS, *SHELL_HOLDS)}
    for work, editions in cited(row.source for row in rows() if row.file == "standards").items():
        known = [edition for standard, edition in looked_up if re.search(rf"\b{re.escape(work)}\b", standard)]
        assert not known or all(any(edition in one for one in known) for edition in editions), work


def test_another_edition_would_be_noticed() -> None:
    for one, other in (("ISO 6358-1:2013", "ISO 6358-1:1989"), ("ASME PCC-2 (2008)", "PCC-2, 2018"),
                       ("Theory of Elasticity, 3rd ed., art. 1", "Theory of Elasticity, 2nd ed."),
                       ("Proc. ICE Water Management 160 (2007) 25", "Proc. ICE Water Management 160 (2007) 26")):
        assert not apart(cited([one]), cited([one])) and apart(cited([one]), cited([other]))
