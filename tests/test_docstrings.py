"""What a docstring must say: what it is, in which units, and where its formula comes from."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
FILES = {str(path.relative_to(ROOT)): path for path in sorted((ROOT / "fillcalc").rglob("*.py"))}
PHYSICS = [name for name in FILES if (name.startswith("fillcalc/model/") or name == "fillcalc/media.py")
           and name not in ("fillcalc/model/__init__.py", "fillcalc/model/shapes/__init__.py")]
"""The model and the media."""

UNIT = re.compile(
    r"(?<![\w/.'])(m[23]?|mm|Pa|s|K|kg|J|rad|W|N|bar)(/\w+|\^[\d.]+| s2/m6)*(?![\w-])"
    r"|\b1/(Pa|K|m)\b|\b([Rr]atio|[Ss]hare|factor|[Kk]elvin|Kilograms)\b")
NO_UNIT = {"quadrature.gauss": "nodes and weights: plain numbers"}
"""Functions without a physical argument, and why."""

WORK = re.compile(r"\b(1[89]|20)\d\d\b|\b(ISO|IEC|IAPWS|ASME|JCGM|EN|API)[ -][A-Z]{0,4}-?\d|PCC-2|CoolProp"
                  r"|[Cc]ommon practice|, (ch|art|eq)\. \d|\b(Torricelli|Borda|Lamé|Joukowsky|Henry|Boyle|Hagen)\b")
"""A work that can be found again, a law by its name, or the admission that there is none."""
REASON = re.compile(
    r"(Derived|Definition):[^.]*(=|\b(balance|integral|hydrostatics|geometry|Hooke|Newton|spring|ideal gas|energy"
    r"|momentum|first law|adiabat|least squares|change of variable|add up|sum|product|ratio|over|times|half|root"
    r"|slopes?|in series)\b)")
"""What it is derived from: a law, or how it is made of other quantities. A bare "as it says" is none."""
SEE = re.compile(r"(?:Source|Derived): (?:as )?`([\w.]+)`")
"""As another function, which then says it."""

Named = tuple[str, ast.FunctionDef | ast.ClassDef]


def public(path: Path) -> Iterator[Named]:
    """Public functions, classes and their public methods, with their dotted names."""
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            yield node.name, node
            for inner in node.body if isinstance(node, ast.ClassDef) else ():
                if isinstance(inner, ast.FunctionDef) and not inner.name.startswith("_"):
                    yield f"{node.name}.{inner.name}", inner


def said(node: ast.AST) -> str:
    """The docstring in one line."""
    assert isinstance(node, ast.FunctionDef | ast.ClassDef | ast.Module)
    return " ".join((ast.get_docstring(node) or "").split())


def physics() -> dict[str, list[str]]:
    """Functions of the physics: by "module.name" their docstring, that of their class, and that of their module."""
    found = {}
    for path in map(FILES.__getitem__, PHYSICS):
        module = said(ast.parse(path.read_text(encoding="utf-8")))
        named = dict(public(path))
        for name, node in named.items():
            if isinstance(node, ast.FunctionDef):
                above = named.get(name.rpartition(".")[0])
                found[f"{path.stem}.{name}"] = [said(node), said(above) if above else "", module]
    return found


def sourced(name: str, texts: dict[str, list[str]], seen: tuple[str, ...] = ()) -> bool:
    """Whether a function says where it comes from, itself, by its class or module, or by the one that it names."""
    for text in texts.get(name, ()):
        if WORK.search(text) or REASON.search(text):
            return True
        also = SEE.search(text)
        if also:
            target = also[1] if also[1] in texts else f"{name.partition('.')[0]}.{also[1]}"
            return target not in seen and sourced(target, texts, (*seen, name))
    return False


def test_every_docstring_says_what_it_must() -> None:
    wrong = [f"{file}: the module is not described" for file, path in FILES.items()
             if (tree := ast.parse(path.read_text(encoding="utf-8"))).body and not said(tree)]
    wrong += [f"{file}: {name} is not described" for file, path in FILES.items() for name, node in public(path)
              if len(said(node)) < 5]
    texts = physics()
    wrong += [f"{name} names no unit: {text[0]}" for name, text in texts.items()
              if not UNIT.search(text[0]) and name not in NO_UNIT and not text[0].startswith("Whether ")]
    wrong += [f"{name} names no source: {text[0]}" for name, text in texts.items() if not sourced(name, texts)]
    wrong += [f"{name} needs no exception" for name in NO_UNIT if name not in texts or UNIT.search(texts[name][0])]
    assert not wrong, "\n".join(wrong)


def test_the_patterns_would_notice() -> None:
    assert not UNIT.search("Time for the level to fall.") and UNIT.search("Time, s.") and UNIT.search("in Pa s/m3")
    for nothing in ("Derived: as it says.", "Definition: as it says.", "Source: a book.", "A formula."):
        assert not sourced("a.b", {"a.b": [nothing]}), nothing
    assert not sourced("a.b", {"a.b": ["Source: as `c`."], "a.c": ["Derived: as `b`."]})
    assert sourced("a.b", {"a.b": ["Source: as `c`."], "a.c": ["Derived: the integral of p dV."]})
