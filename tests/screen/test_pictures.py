"""The screen at three sizes, line by line, against the documented pictures.

Figures belong to the model's own tests, so digits are compared by their place only where a line is as long as it
was: a picture holds layout, words and marks.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.screen.pictures import SIZES, draw, file_of
from tests.screen.support import run


def layout(text: str) -> list[str]:
    """The lines with every figure, and every run of the charts' fine dots, made alike."""
    return [re.sub(r"[\u2800-\u28ff]+|(?<=[\u2800-\u28ff ])[abc](?=[\u2800-\u28ff ])", "~",
                   re.sub(r"\d+(\.\d+)?", "0", line)).replace(" ", "") for line in text.splitlines()]


def words(text: str) -> list[str]:
    return [re.sub(r"~+", "~", line) for line in layout(text)]


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_the_screen_is_as_documented(width: int, height: int) -> None:
    async def test() -> None:
        drawn = await draw(width, height)
        assert len(drawn.splitlines()) <= height
        assert max(map(len, drawn.splitlines())) <= width
        assert words(drawn) == words(file_of(width, height).read_text(encoding="utf-8"))

    run(test())


def test_the_readme_shows_the_smallest_of_them() -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    assert f"```\n{file_of(*SIZES[0]).read_text(encoding='utf-8')}```" in readme
