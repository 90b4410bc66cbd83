"""What stands over the case until it is answered or left; each is left once, however fast keys come."""

from __future__ import annotations

from typing import Any

from textual.await_complete import AwaitComplete
from textual.command import CommandPalette
from textual.screen import ModalScreen, Screen, ScreenResultType


def _leaves(screen: Screen[Any]) -> bool:
    """Whether this is the first time that the screen is left; a second key of the same burst finds it gone."""
    first = screen.is_current and not getattr(screen, "left", False)
    screen.left = True  # type: ignore[attr-defined]
    return first


class Question(ModalScreen[ScreenResultType]):
    """A question over the case."""

    def dismiss(self, result: ScreenResultType | None = None) -> AwaitComplete:
        return super().dismiss(result) if _leaves(self) else AwaitComplete()


class Palette(CommandPalette):
    """Finding an input or an action by a few letters."""

    def dismiss(self, result: None = None) -> AwaitComplete:
        return super().dismiss(result) if _leaves(self) else AwaitComplete()
