"""Lines of which one is in hand: lit up by colour, or by reversed letters where there are no colours."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.geometry import Size
from textual.style import Style
from textual.widget import Widget
from textual.widgets import OptionList

if TYPE_CHECKING:
    Before = Widget
else:
    Before = object


NARROWEST = 8
"""Columns that a list is measured for at the least, in a terminal of hardly any."""


class Reversible(Before):
    """Goes before a widget whose component styles may say `reverse`: the library leaves it out of visual styles."""

    def get_visual_style(self, *component_classes: str, partial: bool = False) -> Style:
        style = super().get_visual_style(*component_classes, partial=partial)
        lit = any(self.get_component_styles(name).text_style.reverse for name in component_classes)
        return style + Style(reverse=True) if lit else style


class Listing(Reversible, OptionList):
    """A list to choose from; one of it is lit only while the list has the focus."""

    last = 0

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return super().get_content_height(container, viewport, max(width, NARROWEST))

    def on_mount(self) -> None:
        self.highlighted = None

    def on_focus(self) -> None:
        if self.highlighted is None and self.option_count:
            self.highlighted = min(self.last, self.option_count - 1)

    def on_blur(self) -> None:
        self.last, self.highlighted = self.highlighted or 0, None
