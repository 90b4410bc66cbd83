"""What a place of the screen may ask of the screen around it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol, TypeVar

if TYPE_CHECKING:
    from textual.screen import Screen

    from tui.places.telling import Telling
    from tui.places.visit import Visit
    from tui.state.session import Session

Answer = TypeVar("Answer")


class Host(Protocol):
    """The screen as its places know it; they never see the application."""

    units: str
    """ "metric" or "us"."""

    letters_only: bool
    """Whether charts are drawn in plain letters."""
    visit: Visit | None
    """The visit that was worked out last; None before."""
    telling: Telling
    """The answers of the moment, for what draws them."""

    @property
    def session(self) -> Session:
        """The case on the screen."""

    @property
    def said(self) -> str:
        """The sentence in the last line; "" while the keys stand there."""

    @property
    def answers_old(self) -> bool:
        """Whether the answers are of an older text than the one on the screen."""

    def say(self, words: str) -> None:
        """Put a sentence in the last line for a few seconds."""

    async def ask(self, question: Screen[Answer]) -> Answer:
        """Put a question over the case; what it was left with."""

    async def settle(self) -> None:
        """Wait for the answers to what was typed last, a few seconds at most."""

    async def show_case(self, path: str = "") -> None:
        """Bring the form up to the text after a change, with the focus on the field at the path if one is given."""

    async def to_the_form(self, path: str = "") -> None:
        """Open the first place with the keys in its form, in the field at a path where one is given."""

    async def take_session(self, session: Session, words: str = "") -> None:
        """Put another case in the place of this one, and say so."""

    def copy_to_clipboard(self, text: str) -> None:
        """Hand a text to the clipboard of the terminal."""
