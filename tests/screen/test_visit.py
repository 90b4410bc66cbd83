"""Several cases in one visit: what is copied is what stands on the screen as the quote."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.families import few
from tests.screen.support import SHELL, SLOW_S, at_field, case_in, picture, run, screen, type_over, until


@pytest.mark.parametrize(("key", "pause_s"), few([("alt+m", SLOW_S), ("enter", 0.0)], 1))
def test_the_quote_that_is_copied_is_of_all_cases_of_the_visit(key: str, pause_s: float, tmp_path: Path) -> None:
    """In the place Quote and by the key; after a change with the case as it is now; this case alone by a key of its
    own."""
    async def test() -> None:
        case_in(tmp_path, SHELL.replace("Cooler shell", "The second"), "second.toml")
        async with screen(case_in(tmp_path), ranges=True) as (app, pilot):
            await until(pilot, lambda: app.session.ranged is not None)
            await pilot.press("alt+6", "a")
            await until(pilot, lambda: "Which cases" in picture(app))
            await pilot.pause()
            await pilot.press("down", "space", "enter")
            await until(pilot, lambda: "A visit with 2 cases" in picture(app))
            await pilot.press("escape")
            await until(pilot, lambda: "2 cases in one visit" in picture(app))
            await pilot.press(key)
            copied = tmp_path / "shell-visit-quote.txt"
            await until(pilot, copied.exists)
            before = copied.read_text()
            assert before.startswith("One visit for ") and "The second" in before
            await until(pilot, lambda: app.said.startswith("The quote of 2 cases is copied"))
            at_field(app, "test.pressure")
            await pilot.press("alt+1")
            await type_over(pilot, "22 bar", pause_s)
            await pilot.press("alt+6", key)
            await until(pilot, lambda: copied.read_text() != before)
            assert "to 22 bar" in copied.read_text() and "The second" in copied.read_text()
            await until(pilot, lambda: app.session.ranged is not None
                        and app.session.ranged.number == app.session.number)
            await pilot.press("t")
            await until(pilot, (tmp_path / "shell-quote.txt").exists)
            assert "The second" not in (tmp_path / "shell-quote.txt").read_text()
            await pilot.press("alt+1")
            at_field(app, "test.pressure")
            await type_over(pilot, "22 bananas", pause_s)
            await until(pilot, lambda: "bananas" in app.session.text)
            now = copied.read_text()
            await pilot.press("alt+m")
            await until(pilot, lambda: "cannot be used" in app.said)
            assert copied.read_text() == now

    run(test())
