"""Colours: everything that is read stands out from its ground, in every look and every place."""

from __future__ import annotations

import re
from collections.abc import AsyncIterator, Iterator
from pathlib import Path
from typing import Any

import pytest
from rich.style import Style
from textual.pilot import Pilot

from tests.families import few
from tests.screen.support import at_field, case_in, run, screen, type_over, until
from tui.app import Fillcalc
from tui.state.actions import GROUPS, PLACES

LEAST = {"dark": 4.5, "light": 7.0}
"""Contrast of what is read; the light look is read in the sun."""
READ = re.compile(r"[^\W_]")
"""Letters and figures; dots, rules and frames are looked at, not read."""
STOCK = {"#0178d4", "#004578", "#ffa62b", "#ba3c5b", "#4ebf71", "#1e1e1e", "#24292f", "#e0e0e0", "#121212"}
"""Colours that the library brings with it."""


def shine(colour: Any) -> float:
    """How bright a colour is, 0 to 1, as the guidelines for contrast reckon it."""
    parts = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
             for part in colour.triplet.normalized)
    return sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), parts, strict=True))


def contrast(style: Style) -> float:
    """Of a text with its ground, 1 to 21."""
    first, last = style.color, style.bgcolor
    assert first is not None and last is not None
    faint, bright = sorted((shine(first), shine(last)))
    return (bright + 0.05) / (faint + 0.05)


def pieces(app: Fillcalc) -> Iterator[tuple[str, Style]]:
    """Every run of letters on the screen, with its style."""
    for strip in app.screen._compositor.render_strips():
        for segment in strip:
            if segment.style is not None and segment.style.color is not None and segment.style.bgcolor is not None:
                yield segment.text, segment.style


def faults(app: Fillcalc, least: float) -> set[tuple[str, str]]:
    """What cannot be read well, and what has a colour of the library's own."""
    wrong = set()
    for text, style in pieces(app):
        if READ.search(text) and contrast(style) < least - 0.005:
            wrong.add((text.strip()[:30], f"{style.color.name} on {style.bgcolor.name}: {contrast(style):.2f}"))  # type: ignore[union-attr]
        for colour in (style.color, style.bgcolor):
            if colour is not None and colour.name.lower() in STOCK:
                wrong.add((text.strip()[:30], f"stock colour {colour.name}"))
    return wrong


async def every_view(app: Fillcalc, pilot: Pilot[Any]) -> AsyncIterator[str]:
    """Every place with answers of now and with old ones, a field that is wrong, and what stands over the case."""
    for number in range(1, len(PLACES) + 1):
        await pilot.press(f"alt+{number}")
        await pilot.pause(0.05)
        yield f"place {number}"
    await pilot.press("alt+1")
    at_field(app, "fill.hose.1.length")
    await type_over(pilot, "22 parsecs")
    await until(pilot, lambda: app.settled)
    yield "old answers"
    await pilot.press("alt+2")
    await pilot.pause(0.05)
    yield "an old place"
    await pilot.press("ctrl+z", "alt+k")
    await until(pilot, lambda: app.settled)
    yield "kept answers"
    for keys in (("escape",), *(("escape", letter) for letter in GROUPS), ("ctrl+p", "h", "o"), ("alt+i",),
                 ("ctrl+g",), ("alt+j",), ("alt+r",), ("ctrl+n",)):
        await pilot.press(*keys)
        await pilot.pause(0.3)
        yield " ".join(keys)
        while len(app.screen_stack) > 1:
            await pilot.press("escape")
            await pilot.pause()


@pytest.mark.parametrize("look", few(LEAST, 1))
def test_all_that_is_read_stands_out_and_no_stock_colour_is_left(look: str, tmp_path: Path,
                                                                   monkeypatch: pytest.MonkeyPatch) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path), 120, 36, ranges=True) as (app, pilot):
            await until(pilot, lambda: app.session.ranged is not None)
            if look == "light":
                await pilot.press("f9")
                await pilot.pause()
            wrong: dict[str, set[tuple[str, str]]] = {}
            async for view in every_view(app, pilot):
                if found := faults(app, LEAST[look]):
                    wrong[view] = found
            assert not wrong, "\n".join(f"{view}: {sorted(found)[:6]}" for view, found in wrong.items())

    run(test())
