"""The house rules: which way imports run, what a fresh interpreter loads, what stands where."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

from tests.mutations import FAULTS, Fault

ROOT = Path(__file__).resolve().parents[1]

ASKED = ("fillcalc.ranges", "fillcalc.choices", "fillcalc.visit", "fillcalc.readings", "fillcalc.tries",
         "fillcalc.stages", "fillcalc.verdict", "fillcalc.air_fit", "fillcalc.options", "fillcalc.sought")
"""What is asked of an estimate."""

MAY_IMPORT: dict[str, tuple[str, ...]] = {
    "fillcalc.shown": (),
    "fillcalc.record": (),
    "fillcalc.nearest": (),
    "fillcalc.unit_tables": (),
    "fillcalc.numerals": (),
    "fillcalc.units": ("fillcalc.shown", "fillcalc.nearest", "fillcalc.numerals", "fillcalc.unit_tables"),
    "fillcalc.points": (),
    "fillcalc.media": (),
    "fillcalc.build": ("fillcalc.media", "fillcalc.points", "fillcalc.unit_tables"),
    "fillcalc.case": ("fillcalc.case", "fillcalc.numerals", "fillcalc.units", "fillcalc.unit_tables", "fillcalc.shown",
                      "fillcalc.nearest", "fillcalc.lookup", "fillcalc.provenance"),
    "fillcalc.answers": ("fillcalc.case.fields",),
    "fillcalc.build_pipes": ("fillcalc.case.pipes",),
    "fillcalc.materials": (),
    "fillcalc.limits": ("fillcalc.case",),
    "fillcalc.reached": ("fillcalc.limits", "fillcalc.answers", "fillcalc.case"),
    "fillcalc.resolve": ("fillcalc.case", "fillcalc.materials", "fillcalc.media"),
    "fillcalc.setup": ("fillcalc.case", "fillcalc.unit_tables", "fillcalc.materials", "fillcalc.model",
                       "fillcalc.media", "fillcalc.answers"),
    "fillcalc.model": ("fillcalc.model", "fillcalc.media", "fillcalc.answers"),
    "fillcalc.afterwards": ("fillcalc.setup", "fillcalc.model", "fillcalc.media", "fillcalc.answers", "fillcalc.case"),
    "fillcalc.stages": ("fillcalc.answers", "fillcalc.case"),
    "fillcalc.distribution": ("fillcalc.case", "fillcalc.model.arrays"),
    "fillcalc.tries": ("fillcalc.points", "fillcalc.case"),
    "fillcalc.estimate": ("fillcalc.afterwards", "fillcalc.resolve", "fillcalc.setup", "fillcalc.regulator",
                          "fillcalc.model", "fillcalc.media", "fillcalc.answers", "fillcalc.case"),
    "fillcalc.halves": ("fillcalc.estimate", "fillcalc.model.arrays", "fillcalc.answers", "fillcalc.case"),
    **dict.fromkeys(ASKED, (*ASKED, "fillcalc.estimate", "fillcalc.model", "fillcalc.media", "fillcalc.points",
                            "fillcalc.distribution", "fillcalc.answers", "fillcalc.case", "fillcalc.setup",
                            "fillcalc.resolve", "fillcalc.limits", "fillcalc.regulator", "fillcalc.reached",
                            "fillcalc.units")),
    "fillcalc.provenance": (),
    "fillcalc.lookup": ("fillcalc.provenance",),
    "fillcalc.varied": ("fillcalc.estimate", "fillcalc.model.arrays", "fillcalc.answers", "fillcalc.case",
                        "fillcalc.units"),
    "fillcalc.quantities": ("fillcalc.answers", "fillcalc.unit_tables"),
    "fillcalc.regulator": ("fillcalc.limits", "fillcalc.case"),
    "fillcalc.caution_rule": ("fillcalc.limits", "fillcalc.regulator", "fillcalc.answers", "fillcalc.case"),
    "fillcalc.cautions_pump": ("fillcalc.caution_rule", "fillcalc.limits", "fillcalc.setup", "fillcalc.answers",
                               "fillcalc.case"),
    "fillcalc.cautions_after": ("fillcalc.caution_rule", "fillcalc.cautions_closed", "fillcalc.resolve",
                                "fillcalc.model.wall", "fillcalc.answers", "fillcalc.case"),
    "fillcalc.cautions_closed": ("fillcalc.caution_rule", "fillcalc.resolve", "fillcalc.model.wall",
                                 "fillcalc.answers", "fillcalc.case"),
    "fillcalc.unusual": ("fillcalc.case", "fillcalc.units"),
    "fillcalc.fill_limits": ("fillcalc.setup", "fillcalc.resolve", "fillcalc.model", "fillcalc.answers",
                             "fillcalc.case"),
    "fillcalc.cautions_fill": ("fillcalc.caution_rule", "fillcalc.fill_limits", "fillcalc.answers", "fillcalc.case"),
    "fillcalc.cautions_readings": ("fillcalc.caution_rule", "fillcalc.reached", "fillcalc.answers", "fillcalc.units"),
    "fillcalc.cautions": (*ASKED, "fillcalc.cautions_readings", "fillcalc.unusual", "fillcalc.cautions_fill",
                          "fillcalc.cautions_pump",
                          "fillcalc.caution_rule", "fillcalc.cautions_after", "fillcalc.limits", "fillcalc.answers",
                          "fillcalc.case", "fillcalc.units"),
    "fillcalc.report": ("fillcalc.report", "fillcalc.cautions", "fillcalc.cautions_readings", "fillcalc.reached",
                        "fillcalc.caution_rule", "fillcalc.estimate",
                        "fillcalc.regulator",
                        "fillcalc.model.arrays", "fillcalc.lookup", *ASKED,
                        "fillcalc.answers", "fillcalc.case", "fillcalc.units", "fillcalc.shown"),
    "fillcalc": ("fillcalc",),
    "tui": ("tui", "fillcalc", "cases"),
    "cases": (),
}
"""For each part of the house, what of the house it may import; the longest prefix counts."""
EVERYWHERE = "fillcalc.record"

LONG = {"fillcalc/case/records.py": "the declarations of every input, one after the other"}
"""Files past 400 lines, each with the answer to the question that its length is."""

HEAVY = ("textual", "rich", "scipy", "CoolProp", "pint", "tomlkit", "matplotlib", "fluids", "hypothesis", "pytest")


def _modules() -> dict[str, Path]:
    files = [path for part in ("fillcalc", "tui", "cases") for path in sorted((ROOT / part).rglob("*.py"))]
    return {".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): path for path in files}


MODULES = _modules()


def _part(module: str) -> str:
    while module and module not in MAY_IMPORT:
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


@pytest.mark.parametrize("module", MODULES)
def test_imports_run_one_way(module: str) -> None:
    part = _part(module)
    assert part and (part != "fillcalc" or module == "fillcalc"), f"{module} has no place in the house"
    allowed = (*MAY_IMPORT[part], EVERYWHERE)
    wrong = {name for name in _imported(MODULES[module])
             if not any(name == may or name.startswith(f"{may}.") for may in allowed)}
    assert not wrong, f"{module} may import {allowed or 'nothing of the house'}"


def test_the_import_table_would_notice() -> None:
    assert _imported(MODULES["fillcalc.report.text"]) >= {"fillcalc.cautions", "fillcalc.report.words"}
    assert _part("fillcalc.model.fill") == "fillcalc.model"
    assert _part("fillcalc.unheard_of") == "fillcalc"


def _loaded(code: str) -> set[str]:
    ended = subprocess.run([sys.executable, "-c", f"{code}\nimport sys\nprint(*sys.modules, file=sys.stderr)"],
                           cwd=ROOT, capture_output=True, text=True, check=True)
    return {name.partition(".")[0] for name in ended.stderr.splitlines()[-1].split()}


@pytest.mark.parametrize("code", [
    "import fillcalc",
    "from tui.command import main; main(['estimate', 'cooler-shell'])",
    "from tui.command import main; main(['estimate', 'cooler-shell', '--json'])",
    "from tui.command import main; main(['estimate', 'cooler-shell', '--as-written'])",
    "from tui.command import main; main(['check', 'cooler-shell'])",
])
def test_a_fresh_interpreter_loads_nothing_heavy(code: str) -> None:
    assert not _loaded(code) & set(HEAVY)


def test_import_of_the_library_loads_no_terminal() -> None:
    assert "tui" not in _loaded("import fillcalc")


def test_nothing_else_stands_at_the_top() -> None:
    made = {"build", "dist", "__pycache__"}
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith(".") and path.suffix != ".egg-info"}
    assert found - made == {"README.md", "DEVELOPERS.md", "pyproject.toml", "fillcalc", "tui", "tests", "cases"}


@pytest.mark.parametrize("path", [str(path.relative_to(ROOT)) for path in MODULES.values()])
def test_a_long_file_is_a_question(path: str) -> None:
    lines = len((ROOT / path).read_text(encoding="utf-8").splitlines())
    assert (lines > 400) == (path in LONG), f"{lines} lines"


FORBIDDEN = ("print", "input", "eval", "exec")


@pytest.mark.parametrize("module", [name for name in MODULES if name.startswith("fillcalc")])
def test_the_library_neither_prints_nor_evaluates(module: str) -> None:
    tree = ast.parse(MODULES[module].read_text(encoding="utf-8"))
    called = {node.func.id for node in ast.walk(tree) if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)}
    assert not called & set(FORBIDDEN)


@pytest.mark.parametrize("fault", FAULTS, ids=lambda one: f"{one.file}: {one.what}")
def test_each_hand_made_fault_finds_its_line(fault: Fault) -> None:
    """So that `python -m tests.mutations` can be run at any time."""
    assert (ROOT / "fillcalc" / fault.file).read_text(encoding="utf-8").count(fault.old) == 1
