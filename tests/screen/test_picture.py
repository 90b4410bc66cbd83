"""The picture in a terminal: as documented at three sizes, in dots and in letters."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from fillcalc.present.picture import Moment, Picture, frames, moments, picture, placed
from fillcalc.present.picture.placing import notes_of
from tests.families import few
from tests.present.pictures import of_demo, subject, text
from tests.report.demo import NAMES
from tests.screen.pictures import PICTURE_OF, PICTURE_SIZES, picture_file, picture_text
from tests.screen.test_pictures import words
from tui.widgets.picture import STYLES, laid_out, picture_lines

Make = Callable[[float], Picture]


def maker(name: str, moment: Moment | None, units: str = "metric") -> Make:
    case, estimate = of_demo(name)
    return lambda wide: picture(case, estimate, moment, units, wide=wide)


@pytest.mark.parametrize("size", PICTURE_SIZES)
@pytest.mark.parametrize("name", PICTURE_OF)
def test_the_picture_is_as_documented(name: str, size: tuple[int, int]) -> None:
    """Figures belong to the model's own tests, and dots to the geometry's: a page holds words, marks and layout."""
    assert words(picture_text(name, *size)) == words(picture_file(name, *size).read_text(encoding="utf-8"))


def test_lines_of_text_are_the_page_with_its_styles() -> None:
    half = frames(of_demo("cooler-shell")[1])[0]
    make = maker("cooler-shell", half)
    lines = picture_lines(make, 60, 18, lambda name: f"style-{name}")
    assert "\n".join(line.plain.rstrip() for line in lines) == laid_out(make, 60, 18).text()
    assert all(line.cell_length == 60 for line in lines)
    named = {span.style for line in lines for span in line.spans}
    assert {"style-water", "style-air", "style-danger", "style-strong", "style-wall"} <= named
    assert named <= {f"style-{name}" for name in STYLES.values()}


@pytest.mark.parametrize("size", [(10, 3), (33, 20), (60, 8), (1, 1)])
def test_nothing_is_drawn_where_it_could_not_be_read(size: tuple[int, int]) -> None:
    assert picture_lines(maker("cooler-shell", None), *size, lambda name: name) == []


def test_it_can_be_read_without_dots_and_without_colours() -> None:
    """In letters there is no dot; and in neither does a mark hang on a colour alone."""
    for moment in (None, *frames(of_demo("cooler-shell")[1])):
        letters = laid_out(maker("cooler-shell", moment), 66, 20, letters_only=True).text()
        dots = laid_out(maker("cooler-shell", moment), 66, 20).text()
        assert not re.search(r"[\u2800-\u28ff]", letters) and re.search(r"[\u2800-\u28ff]", dots)
        said = [re.sub(r"[^\w.:×]+", " ", re.sub(r"[\u2800-\u28ff]+", " ", each)) for each in (letters, dots)]
        hose = "22 m × 12.7 mm" if moment is None else "bar"
        for word in ("tap 3.2 bar", hose, "DANGER", "pump 10:1", "620 mm × 1.9 m"):
            assert word in said[0] and word in said[1], word
        if moment is not None:
            assert "~" in letters


def test_water_and_air_are_told_apart_by_their_dots() -> None:
    half = frames(of_demo("cooler-shell")[1])[0]
    page = laid_out(maker("cooler-shell", half), 66, 20)
    water = set(page.letters[page.styles == "water"].tolist())
    air = set(page.letters[page.styles == "air"].tolist())
    assert water and air and not water & air


@pytest.mark.parametrize("name", few(NAMES))
def test_what_has_no_row_below_stands_beside_and_covers_nothing(name: str) -> None:
    """The short mark of a DANGER is told at every moment on the smallest, the scale of the air where there is room."""
    for moment in moments(of_demo(name)[1]).pump_up:
        make = maker(name, moment)
        page = laid_out(make, 38, 10).text()
        shown = make(38 / 16)
        stands = placed(shown, 38, 8)
        for one in stands:
            assert page.splitlines()[one.row][one.column:].startswith(one.text), one.text
        told = notes_of(shown, stands)
        assert ("! is a DANGER" in page) == ("! is a DANGER" in told), page
        if name == "cooler-shell":
            assert "air drawn ×20" in told and "air drawn ×20" in page, page


def test_every_style_of_a_page_has_its_look() -> None:
    for line in ("one hose", "through the pump"):
        case, estimate = subject(text(line=line))
        for moment in (None, *frames(estimate)):
            shown = picture(case, estimate, moment, wide=60 / 30)
            page = laid_out(lambda wide, shown=shown: shown, 60, 18)
            assert {name for name in page.styles.ravel().tolist() if name} <= set(STYLES)
