"""Every public name says what it is; what reckons says in which units, and where its formula comes from."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
FILES = {str(path.relative_to(ROOT)): path for path in sorted((ROOT / "fillcalc").rglob("*.py"))}
REASONED = [name for name in FILES if name.startswith("fillcalc/model/") or name == "fillcalc/media.py"]
TOOLS = ("fillcalc/model/arrays.py", "fillcalc/model/__init__.py")
"""Handling of arrays: nothing physical in them."""

UNIT = re.compile(
    r"(?<![\w/.'])(m[23]?|mm|Pa|s|K|kg|J|rad|W|bar)(/\w+|\^[\d.]+| s2/m6)*(?![\w-])"
    r"|\b1/(Pa|K|m)\b|\b([Rr]atio|[Ss]hare|factor|[Kk]elvin|Kilograms)\b")
SOURCE = re.compile(
    r"Sources?:|Derived:|Definition:|[Cc]ommon practice|\b(ISO|IEC|IAPWS|ASME)\b|PCC-2|CoolProp")

NO_UNIT = {"quadrature.gauss": "nodes and weights: plain numbers",
           "shape.panels": "levels over height: plain numbers"}
"""Functions without a physical argument, and why."""

Named = tuple[str, ast.FunctionDef | ast.ClassDef]


def public(path: Path) -> Iterator[Named]:
    """Public functions, classes and their public methods, with their dotted names."""
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            yield node.name, node
            for inner in node.body if isinstance(node, ast.ClassDef) else ():
                if isinstance(inner, ast.FunctionDef) and not inner.name.startswith("_"):
                    yield f"{node.name}.{inner.name}", inner


def said(node: ast.FunctionDef | ast.ClassDef) -> str:
    return ast.get_docstring(node) or ""


def reckons() -> list[tuple[str, str, str]]:
    """Functions of the model and the media by module and name: their docstring, and what it stands under."""
    found = []
    for file in (file for file in REASONED if file not in TOOLS):
        tree = ast.parse(FILES[file].read_text(encoding="utf-8"))
        above = {name: said(node) for name, node in public(FILES[file]) if isinstance(node, ast.ClassDef)}
        for name, node in public(FILES[file]):
            if isinstance(node, ast.FunctionDef):
                around = (ast.get_docstring(tree) or "") + above.get(name.partition(".")[0], "")
                found.append((f"{FILES[file].stem}.{name}", said(node), around))
    return found


RECKONS = [pytest.param(*each, id=each[0]) for each in reckons()]


@pytest.mark.parametrize("file", FILES)
def test_every_public_name_is_described(file: str) -> None:
    tree = ast.parse(FILES[file].read_text(encoding="utf-8"))
    assert not tree.body or ast.get_docstring(tree), "the module itself"
    missing = [name for name, node in public(FILES[file]) if len(said(node)) < 5]
    assert not missing


@pytest.mark.parametrize("name,text,around", RECKONS)
def test_what_reckons_says_its_units(name: str, text: str, around: str) -> None:
    assert UNIT.search(text) or name in NO_UNIT, text


@pytest.mark.parametrize("name,text,around", RECKONS)
def test_what_reckons_says_where_it_comes_from(name: str, text: str, around: str) -> None:
    """In its own words, or once for all in those of its class or module."""
    assert SOURCE.search(text) or SOURCE.search(around), text


def test_no_exception_is_stale() -> None:
    names = {name for name, _, _ in reckons()}
    assert set(NO_UNIT) <= names
    assert {name for name, text, _ in reckons() if name in NO_UNIT and UNIT.search(text)} == set()


def test_the_check_would_notice() -> None:
    assert not UNIT.search("Time for the level to fall.") and UNIT.search("Time, s.") and UNIT.search("in Pa s/m3")
    assert not SOURCE.search("A formula.") and SOURCE.search("Derived: the integral of p dV.")
