"""The house rules: which way imports run, what a fresh interpreter loads, what stands where."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

from tests import planted
from tests.faults.planted import BUGS
from tests.mutations import FAULTS

ROOT = Path(__file__).resolve().parents[1]

ARROWS: dict[str, tuple[str, ...]] = {
    "fillcalc.tree": (),
    "fillcalc.arrays": (),
    "fillcalc.units": (),
    "fillcalc.properties": (),
    "fillcalc.case": ("fillcalc.units", "fillcalc.model.shapes"),
    "fillcalc.model": ("fillcalc.properties",),
    "fillcalc.model.shapes": ("fillcalc.model.quadrature", "fillcalc.model.wall"),
    "fillcalc.job": ("fillcalc.case", "fillcalc.model", "fillcalc.properties", "fillcalc.units"),
    "fillcalc.recorder": ("fillcalc.case", "fillcalc.units"),
    "fillcalc.estimation": ("fillcalc.case", "fillcalc.job", "fillcalc.model", "fillcalc.properties"),
    "fillcalc.questions": ("fillcalc.case", "fillcalc.estimation", "fillcalc.job", "fillcalc.model",
                           "fillcalc.recorder", "fillcalc.units"),
    "fillcalc.cautions": ("fillcalc.case", "fillcalc.estimation", "fillcalc.job", "fillcalc.model",
                          "fillcalc.questions", "fillcalc.recorder", "fillcalc.units"),
    "fillcalc.present": ("fillcalc.case", "fillcalc.cautions", "fillcalc.estimation", "fillcalc.model",
                         "fillcalc.questions", "fillcalc.recorder", "fillcalc.units"),
    "fillcalc.formats": ("fillcalc.case", "fillcalc.cautions", "fillcalc.estimation", "fillcalc.model",
                         "fillcalc.present", "fillcalc.questions", "fillcalc.recorder", "fillcalc.units"),
    "fillcalc": ("fillcalc",),
    "tui": (),
    "tui.state": ("fillcalc", "cases"),
    "tui.widgets": ("fillcalc", "tui.state"),
    "tui.places": ("fillcalc", "tui.state", "tui.widgets"),
    "tui.terminal": ("fillcalc.units", "tui.state"),
    "tui.app": ("fillcalc", "tui.places", "tui.state", "tui.terminal", "tui.widgets"),
    "tui.command": ("cases", "fillcalc", "tui.app", "tui.state"),
    "tui.__main__": ("tui.command",),
    "cases": (),
}
"""For each room, the rooms it may import; the longest prefix counts, and a room may import itself."""

HEAVY = ("textual", "rich", "scipy", "CoolProp", "pint", "tomlkit", "matplotlib", "fluids", "hypothesis", "pytest")


def _modules() -> dict[str, Path]:
    files = [path for part in ("fillcalc", "tui", "cases") for path in sorted((ROOT / part).rglob("*.py"))]
    return {".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): path for path in files}


MODULES = _modules()


def _part(module: str) -> str:
    while module and module not in ARROWS:
        module = module.rpartition(".")[0]
    return module


def _imported(path: Path) -> set[str]:
    """Modules of the house that a file imports, wherever the import stands; type checking counts too."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {name.name for name in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path.name}: imports are written in full"
            names |= {f"{node.module}.{name.name}" if f"{node.module}.{name.name}" in MODULES else str(node.module)
                      for name in node.names}
    return {name for name in names if name.partition(".")[0] in ("fillcalc", "tui", "cases")}


def _wrong_way(module: str) -> list[str]:
    part = _part(module)
    if not part or (part in ("fillcalc", "tui") and module != part):
        return [f"{module} has no place in the house"]
    allowed = (*ARROWS[part], part, "fillcalc.tree", "fillcalc.arrays")
    return [f"{module} imports {name}; it may import {allowed}" for name in sorted(_imported(MODULES[module]))
            if not any(name == may or name.startswith(f"{may}.") for may in allowed)]


def test_imports_run_one_way() -> None:
    assert [wrong for module in MODULES for wrong in _wrong_way(module)] == []


def test_the_import_table_would_notice() -> None:
    assert _imported(MODULES["fillcalc.formats.text"]) >= {"fillcalc.cautions", "fillcalc.present.sentences"}
    assert _part("fillcalc.model.fill") == "fillcalc.model"
    assert _part("fillcalc.unheard_of") == "fillcalc"
    MODULES["fillcalc.model.astray"] = MODULES["fillcalc.formats.text"]
    assert any("fillcalc.cautions" in wrong for wrong in _wrong_way("fillcalc.model.astray"))
    del MODULES["fillcalc.model.astray"]


def test_only_the_command_knows_the_application() -> None:
    users = {module for module, path in MODULES.items() if "tui.app" in _imported(path)}
    assert users and all(module.startswith("tui.command.") for module in users)


def test_the_state_of_the_screen_loads_no_widgets() -> None:
    states = [module for module in MODULES if module.startswith("tui.state.")]
    assert len(states) > 5
    assert not _loaded("; ".join(f"import {module}" for module in states)) & {"textual", "rich"}


def _loaded(code: str) -> set[str]:
    ended = subprocess.run([sys.executable, "-c", f"{code}\nimport sys\nprint(*sys.modules, file=sys.stderr)"],
                           cwd=ROOT, capture_output=True, text=True, check=True)
    return {name.partition(".")[0] for name in ended.stderr.splitlines()[-1].split()}


@pytest.mark.parametrize("code", [
    "import fillcalc",
    "from tui.command.main import main; main(['estimate', 'cooler-shell'])",
    "from tui.command.main import main; main(['estimate', 'cooler-shell', '--json'])",
    "from tui.command.main import main; main(['estimate', 'cooler-shell', '--as-written'])",
    "from tui.command.main import main; main(['check', 'cooler-shell'])",
])
def test_a_fresh_interpreter_loads_nothing_heavy(code: str) -> None:
    assert not _loaded(code) & set(HEAVY)


@pytest.mark.parametrize("size", [(80, 24), (180, 50)])
def test_the_screen_is_painted_before_the_calculation_is_loaded(size: tuple[int, int], tmp_path: Path) -> None:
    code = f"""
from pathlib import Path
import os
os.environ["XDG_STATE_HOME"] = {str(tmp_path)!r}
from tui.app import Fillcalc
from tui.state.drafts import Drafts
from tui.state.opening import opened
async def painted(app):
    app.exit(0)
Fillcalc._begin = painted
Fillcalc(opened(Path("cases/cooler-shell.toml"), Drafts())).run(headless=True, size={size})
"""
    assert not _loaded(code) & {"numpy"}


def test_import_of_the_library_loads_no_terminal() -> None:
    assert "tui" not in _loaded("import fillcalc")


def test_nothing_else_stands_at_the_top() -> None:
    made = {"build", "dist", "__pycache__"}
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith(".") and path.suffix != ".egg-info"}
    assert found - made == {"README.md", "DEVELOPERS.md", "pyproject.toml", "fillcalc", "tui", "tests", "cases"}


FORBIDDEN = ("print", "input", "eval", "exec")


def _called(path: Path) -> set[str]:
    return {node.func.id for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)}


def test_the_library_neither_prints_nor_evaluates() -> None:
    assert [(module, word) for module, path in MODULES.items() if module.startswith("fillcalc")
            for word in sorted(_called(path) & set(FORBIDDEN))] == []
    assert "print" in _called(ROOT / "tests" / "accuracy.py")


def test_every_fault_that_is_planted_still_has_its_line() -> None:
    """The pieces that the three scripts replace in a copy stand once each; else the fault is not planted at all."""
    pieces = [(ROOT / "fillcalc" / fault.file, fault.old) for fault in FAULTS]
    pieces += [(ROOT / each.file, each.old) for each in (*planted.MISTAKES, *BUGS)]
    stands = {(path, old): path.read_text(encoding="utf-8").count(old) for path, old in pieces}
    assert [(path.name, old, times) for (path, old), times in stands.items() if times != 1] == []
