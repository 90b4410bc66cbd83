"""What a chart is made of before it is drawn: curves and bars in the units of the screen, and their words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

Array = np.ndarray


@dataclass(frozen=True)
class Curve:
    """One curve: the letter that marks it, its words, its points."""

    mark: str
    words: str
    x: Array
    y: Array


@dataclass(frozen=True)
class Upright:
    """A limit on the x axis."""

    words: str
    x: float


@dataclass(frozen=True)
class Chart:
    """Curves over an axis; `decades` where an axis holds the logarithm to ten of the value."""

    title: str
    x_words: str
    y_words: str
    curves: tuple[Curve, ...]
    uprights: tuple[Upright, ...] = ()
    notes: tuple[str, ...] = ()
    decades: tuple[bool, bool] = (False, False)
    y_most: float | None = None


@dataclass(frozen=True)
class Bar:
    """A bar from low to high with a point on it; low None is a bar from zero."""

    words: str
    value: float
    said: str
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Bars:
    """Bars of one kind, each with its figure as text."""

    title: str
    bars: tuple[Bar, ...]
    notes: tuple[str, ...] = ()
