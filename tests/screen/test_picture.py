"""The picture in a terminal: as documented at three sizes, in dots and in letters, and stepped by its keys."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from textual.app import App, ComposeResult

from fillcalc.present.picture import Moment, Picture, frames, moments, picture
from tests.present.pictures import of_demo, subject, text
from tests.screen.pictures import PICTURE_OF, PICTURE_SIZES, picture_file, picture_text
from tests.screen.support import run
from tui.widgets.picture import FIRST, LAST, PictureView, laid_out

THEME = Path(__file__).parents[2] / "tui" / "theme.tcss"
Make = Callable[[float], Picture]


def maker(name: str, moment: Moment | None, units: str = "metric") -> Make:
    case, estimate = of_demo(name)
    return lambda wide: picture(case, estimate, moment, units, wide=wide)


class Shown(App[None]):
    """The picture alone, stepped as a place would."""

    CSS_PATH = THEME

    def __init__(self) -> None:
        super().__init__()
        case, self.estimate = of_demo("cooler-shell")
        self.moments = (*moments(self.estimate).fill, *moments(self.estimate).pump_up)
        self.index, self.asked = 0, []
        self.make = partial(picture, case, self.estimate, raised=frozenset())

    def compose(self) -> ComposeResult:
        yield PictureView(id="picture")

    @property
    def view(self) -> PictureView:
        return self.query_one(PictureView)

    def on_mount(self) -> None:
        self.draw()
        self.view.focus()

    def draw(self) -> None:
        moment = self.moments[self.index]
        self.view.show(lambda wide: self.make(moment, wide=wide))

    def on_picture_view_stepped(self, event: PictureView.Stepped) -> None:
        self.asked.append(event.by)
        self.index = min(max(self.index + event.by, 0), len(self.moments) - 1)
        self.draw()


def seen(app: Any) -> str:
    return "\n".join("".join(segment.text for segment in strip).rstrip()
                     for strip in app.screen._compositor.render_strips())


@pytest.mark.parametrize("size", PICTURE_SIZES)
@pytest.mark.parametrize("name", PICTURE_OF)
def test_the_picture_is_as_documented(name: str, size: tuple[int, int]) -> None:
    assert picture_text(name, *size) == picture_file(name, *size).read_text(encoding="utf-8")


def test_keys_step_through_the_moments() -> None:
    async def test() -> None:
        app = Shown()
        async with app.run_test(size=(66, 20)) as pilot:
            await pilot.press("right", "right", "left")
            assert (app.asked, app.index) == ([1, 1, -1], 1)
            await pilot.press("end")
            assert (app.asked[-1], app.index) == (LAST, len(app.moments) - 1)
            await pilot.pause()
            assert "after 61 of 61 strokes" in seen(app) and "24 bar" in seen(app) and "vent shut" in seen(app)
            await pilot.press("home")
            assert (app.asked[-1], app.index) == (FIRST, 0)
            await pilot.pause()
            assert "after 0 s" in seen(app) and "strokes" not in seen(app)

    run(test())


def test_it_is_drawn_anew_for_its_own_size_and_says_nothing_where_it_is_too_small() -> None:
    async def test() -> None:
        app = Shown()
        async with app.run_test(size=(100, 30)) as pilot:
            await pilot.pause()
            large = seen(app)
            await pilot.resize_terminal(50, 16)
            await pilot.pause()
            small = seen(app)
            assert "tap 3.2 bar" in large and "tap 3.2 bar" in small
            assert max(map(len, small.splitlines())) <= 50 < max(map(len, large.splitlines()))
            await pilot.resize_terminal(20, 5)
            await pilot.pause()
            assert not seen(app).strip()
            app.view.show(None)
            await pilot.resize_terminal(50, 16)
            await pilot.pause()
            assert not seen(app).strip()

    run(test())


def test_it_can_be_read_without_dots_and_without_colours() -> None:
    """In letters there is no dot; and in neither does a mark hang on a colour alone."""
    for moment in (None, *frames(of_demo("cooler-shell")[1])):
        letters = laid_out(maker("cooler-shell", moment), 66, 20, letters_only=True).text()
        dots = laid_out(maker("cooler-shell", moment), 66, 20).text()
        assert not re.search(r"[\u2800-\u28ff]", letters) and re.search(r"[\u2800-\u28ff]", dots)
        said = [re.sub(r"[^\w.:×]+", " ", re.sub(r"[\u2800-\u28ff]+", " ", each)) for each in (letters, dots)]
        for word in ("tap 3.2 bar", "22 m × 12.7 mm" if moment is None else "bar", "DANGER", "pump 10:1"):
            assert word in said[0] and word in said[1], word
        if moment is not None:
            assert "~" in letters


def test_water_and_air_are_told_apart_by_their_dots() -> None:
    half = frames(of_demo("cooler-shell")[1])[0]
    page = laid_out(maker("cooler-shell", half), 66, 20)
    water = set(page.letters[page.styles == "water"].tolist())
    air = set(page.letters[page.styles == "air"].tolist())
    assert water and air and not water & air


def test_every_style_of_a_page_has_its_look() -> None:
    for line in ("one hose", "through the pump"):
        case, estimate = subject(text(line=line))
        for moment in (None, *frames(estimate)):
            shown = picture(case, estimate, moment, wide=60 / 30)
            page = laid_out(lambda wide, shown=shown: shown, 60, 18)
            used = {f"picture--{name}" for name in page.styles.ravel().tolist() if name}
            assert used <= PictureView.COMPONENT_CLASSES
