"""Figures of one's own on the screen: used where they lie beside the case, told, and left out where they cannot be
read or are not wanted."""

from __future__ import annotations

from pathlib import Path

from tests.screen.support import case_in, picture, run, screen, until
from tui.app import Fillcalc
from tui.state.drafts import Drafts
from tui.state.opening import opened

OWN = """format = 1
[[time]]
stage = "set_up"
low = "40 min"
likely = "50 min"
high = "70 min"
why = "14 jobs, 2026-03 to 2026-11"
"""


def test_own_figures_beside_the_case_are_used_and_told(tmp_path: Path) -> None:
    path = case_in(tmp_path)
    (tmp_path / "own.toml").write_text(OWN)

    async def drive() -> None:
        async with screen(path, 120, 36) as (app, pilot):
            await until(pilot, lambda: "answers now, own figures" in picture(app))
            case = app.session.answered.case if app.session.answered else None
            assert case is not None and case.labour.visit.set_up == 3000.0
            await app._go_to("labour.visit.set_up")
            await until(pilot, lambda: "Left empty: 50 min, own figures of own.toml" in picture(app))
    run(drive())


def test_a_damaged_file_is_named_and_the_defaults_stand(tmp_path: Path) -> None:
    path = case_in(tmp_path)
    (tmp_path / "own.toml").write_text(OWN.replace("50 min", "5 min"))

    async def drive() -> None:
        async with screen(path) as (app, pilot):
            assert "own.toml:5: time.1.likely" in app.session.own_problem
            await until(pilot, lambda: "answers now" in picture(app))
            case = app.session.answered.case if app.session.answered else None
            assert case is not None and case.labour.visit.set_up == 2100.0 and "own figures" not in picture(app)
    run(drive())


def test_what_was_asked_for_goes_before_what_lies_beside(tmp_path: Path) -> None:
    path = case_in(tmp_path)
    (tmp_path / "own.toml").write_text(OWN)
    (tmp_path / "other.toml").write_text(OWN.replace("50 min", "60 min"))
    for asked, entries in (("none", 0), (None, 1), (str(tmp_path / "other.toml"), 1)):
        session = opened(path, Drafts(), asked)
        assert len(session.own.entries()) == entries and not session.own_problem
        assert Fillcalc(session, own=asked).own == asked
    assert opened(path, Drafts(), str(tmp_path / "other.toml")).own.time[0].likely == 3600.0
