"""The plain script is somebody else's work, and comes to the same answers."""

from __future__ import annotations

import ast
from pathlib import Path

import numpy as np
import pytest

from fillcalc.case.read import read_file
from fillcalc.estimation.estimate import estimate
from tests.speed import __main__ as speed
from tests.speed import plain

STANDARD = {"__future__", "json", "math", "sys", "tomllib", "typing"}


def test_the_plain_script_takes_nothing_of_ours() -> None:
    tree = ast.parse(Path(plain.__file__).read_text(encoding="utf-8"))
    names = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
    names |= {str(node.module) for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert {name.partition(".")[0] for name in names} <= STANDARD | {"CoolProp", "fluids", "scipy"}


@pytest.mark.parametrize("path", speed.CASES, ids=lambda path: path.stem)
def test_both_come_to_the_same(path: Path) -> None:
    """Within 0.1 %; the air's peak within 0.5 % or 10 Pa, since in the first step of the march, where an ample
    vent sets it, the march is coarse."""
    theirs, ours = plain.answer(plain.read(str(path))), estimate(read_file(path))
    for what, (place, name) in speed.SIDE_BY_SIDE.items():
        apart = {"rel": 5e-3, "abs": 10.0} if what.startswith("air peak") else {"rel": 1e-3}
        assert speed.number(ours, place) == pytest.approx(theirs[name], **apart), what


def test_the_first_draw_is_the_case_as_written() -> None:
    case = read_file(speed.CASES[0])
    one, many = estimate(case), estimate(speed.drawn(case))
    for what, (place, _) in speed.SIDE_BY_SIDE.items():
        assert speed.number(many, place) == pytest.approx(speed.number(one, place), rel=1e-12), what
    assert np.shape(many.fill.time_s) == (speed.DRAWS,)
