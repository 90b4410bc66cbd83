"""Driving the screen in tests: a case in a folder of its own, waiting for answers, reading the screen's lines."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot

from tests.families import few
from tui.app import Fillcalc
from tui.places.case_form import DEBOUNCE_S
from tui.state.drafts import Drafts
from tui.state.opening import opened
from tui.widgets.form import Form

SHELL = Path(__file__).with_name("shell.toml").read_text(encoding="utf-8")
PATIENCE_S = 240.0


def case_in(folder: Path, text: str = SHELL, name: str = "shell.toml") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


@asynccontextmanager
async def screen(source: Path, width: int = 80, height: int = 24, *, units: str = "metric", answered: bool = True,
                 ranges: bool = False, few: bool = False) -> AsyncIterator[tuple[Fillcalc, Pilot[Any]]]:
    """The screen on a case file, with its first answers there; low, likely and high, or those of few samples, only
    where asked for."""
    app = Fillcalc(opened(source, Drafts()), units, look="dark" if answered else None)
    app.answering.ranges.quiet_s = 0.05 if ranges else 3600.0
    app.answering.few = few
    async with app.run_test(size=(width, height)) as pilot:
        if answered:
            await until(pilot, lambda: settled(app))
        yield app, pilot
    app.answering.stop()
    app.autosave.end()


def settled(app: Fillcalc) -> bool:
    """Nothing is being typed, read or worked out."""
    return app.settled


async def until(pilot: Pilot[Any], come: Callable[[], bool]) -> None:
    """Wait until something has come to pass; fails after a long while."""
    loop = asyncio.get_running_loop()
    end = loop.time() + PATIENCE_S
    while not come():
        assert loop.time() < end, f"never came:\n{picture(pilot.app)}"
        await asyncio.sleep(0.01)
    await pilot.pause()


SLOW_S = 2 * DEBOUNCE_S
"""Between keys each of which has reached the text before the next comes."""
SLOWLY = pytest.mark.parametrize("pause_s", few(
    [pytest.param(SLOW_S, id="slowly"), pytest.param(0.0, id="quickly")], keep=1))
"""Keys each of which has reached the text before the next comes; of a thorough run also keys that come at once."""


async def type_over(pilot: Pilot[Any], text: str, pause_s: float = 0.0) -> None:
    """Put the text into the focused field in the place of what stands there, key by key."""
    await pilot.press("end", "ctrl+u")
    await asyncio.sleep(pause_s)
    await press_all(pilot, text, pause_s)


async def press_all(pilot: Pilot[Any], text: str, pause_s: float = 0.0) -> None:
    """Type the text where the focus is, key by key, with a pause after each."""
    for letter in text:
        await pilot.press(KEYS.get(letter, letter))
        await asyncio.sleep(pause_s)


KEYS = {" ": "space", ",": "comma", ".": "full_stop", "/": "slash", "%": "percent_sign", ";": "semicolon",
        "+": "plus", "-": "minus", "±": "plus_minus_sign"}


def picture(app: Any) -> str:
    """The screen as plain text, one line for each row."""
    return "\n".join("".join(segment.text for segment in strip).rstrip()
                     for strip in app.screen._compositor.render_strips())


def field(app: Fillcalc, path: str) -> Any:
    """The row of the form at a path."""
    return app.query_one(Form).fields[path]


def at_field(app: Fillcalc, path: str) -> None:
    """Put the focus there."""
    field(app, path).entry.focus()


def fill_time(app: Fillcalc) -> str:
    """The fill time of the answers that stand, at likely values; the strip shows it once its range has come."""
    from fillcalc.estimation.answers import at_likely_values
    from fillcalc.units import show

    answered = app.session.answered
    assert answered is not None and answered.estimate is not None, picture(app)
    return show(at_likely_values(answered.estimate).fill.time_s, "duration")


def run(test: Awaitable[None]) -> None:
    asyncio.run(test)  # type: ignore[arg-type]
