"""A question is left once, however fast the keys come."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from textual import events
from textual.pilot import Pilot

from tests.families import few
from tests.screen.support import at_field, case_in, field, run, screen, until
from tui.app import Fillcalc
from tui.widgets.question import Palette, Question

BURSTS = ("kk", "tt", "rr", ("enter", "enter"), ("escape", "escape"), ("enter", "escape"))


OPENS = ("escape", "ctrl+p", "ctrl+e", "f3", "f10", "alt+c")


@pytest.mark.parametrize("opens", few(OPENS, 1))
def test_two_keys_in_one_burst_never_end_the_program(opens: str, tmp_path: Path) -> None:
    left = list(BURSTS)

    async def test() -> None:
        path = case_in(tmp_path)
        while left:
            async with screen(path) as (app, pilot):
                while left and app.is_running:
                    await press_at_once(app, pilot, opens, left.pop(0))

    run(test())


async def press_at_once(app: Fillcalc, pilot: Pilot[Any], opens: str, keys: Sequence[str]) -> None:
    """Open a question, press the keys in one burst, and go back to the case unless they quit in good order."""
    await app.case_form.go_to("fill.hose.1.length")
    await pilot.pause()
    await pilot.press(opens)
    await until(pilot, lambda: isinstance(app.screen, Question | Palette))
    for key in keys:
        app.post_message(events.Key(key, key if len(key) == 1 else None))
    await pilot.pause(0.2)
    await until(pilot, lambda: not app.is_running or not (len(app.taking.keys) or app.taking.between_keys.locked()))
    assert app.return_code in (None, 0), (opens, keys)
    assert not app.is_running or app.screen_stack[0] is app.main
    while app.is_running and len(app.screen_stack) > 1:
        await pilot.press("escape")
        await pilot.pause()


def test_typing_into_a_field_one_has_come_to_replaces_it_and_a_question_does_not_choose_anew(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            at_field(app, "tap.open_flow")
            await pilot.pause()
            await pilot.press("down")
            await pilot.press(*"30 m")
            assert field(app, "fill.hose.1.length").value == "30 m"
            await pilot.press("left", "left", "1")
            assert field(app, "fill.hose.1.length").value == "301 m"
            await pilot.press("escape")
            await pilot.pause()
            await pilot.press("escape")
            await pilot.pause()
            await pilot.press("2")
            assert field(app, "fill.hose.1.length").value == "3012 m"
            await pilot.press("down", "right", "0")
            assert field(app, "fill.hose.1.bore").value == "12.7 mm0"

    run(test())
