"""Why no regulator setting is safe, in words: cautions, sentences and choices say it in the same ones."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeAlias

from fillcalc.estimation.regulator import Window

Say: TypeAlias = Callable[[Any, str], str]
"""Formats a number in SI of a given family as text with its unit."""

LOWER_RATIO = "use a pump of lower ratio"


def lowest_needs(window: Window, say: Say) -> str:
    """Return what asks for the lowest setting: "test pressure needs 2.67 bar"."""
    lowest = say(window.lowest, "pressure")
    return f"the pump needs {lowest} to shift" if window.shifts else f"test pressure needs {lowest}"


def why_no_setting(window: Window, say: Say) -> str:
    """Return why no setting is advised, as the end of a sentence."""
    if window.limit < window.test:
        return f"test pressure is above the limit of {say(window.limit, 'pressure')}"
    if window.lowest > window.available:
        return f"{lowest_needs(window, say)}, the supply gives {say(window.available, 'pressure')}"
    limit = say(window.limit, "pressure")
    if window.passes < window.step:
        return f"{lowest_needs(window, say)}, and at any setting it can pass the limit of {limit}"
    above = f"above {say(window.passes, 'pressure')} it can pass the limit of {limit}"
    if window.passes > window.lowest:
        return (f"{lowest_needs(window, say)}, {above}, and the regulator is set in steps of "
                f"{say(window.step, 'pressure')}")
    return f"{lowest_needs(window, say)}, but {above}"


def only_guarded(window: Window, say: Say) -> str:
    """Return that no setting both does the test and keeps the limit, and what then guards the vessel."""
    does = "shifts the pump" if window.shifts else "reaches test pressure"
    return (f"No setting both {does} ({say(window.lowest, 'pressure')}) and keeps under the limit "
            f"({say(max(window.passes, 0.0), 'pressure')}). Only the relief valve guards the vessel: {LOWER_RATIO}.")
