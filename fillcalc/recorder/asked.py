"""What a person may say of a record beside its file: how fast the pump ran, and which leak the hold is to show."""

from __future__ import annotations

from fillcalc.case.fields import Input
from fillcalc.units import UnitProblem, read_quantity
from fillcalc.units.printable import shown

STROKES = Input("how fast the pump ran while the pressure rose; left out: as the pump of the case", "40 /min",
                ("stroke_rate",), label="strokes a minute")
LEAK = Input("the smallest leak that matters: whether this hold could show it, and how long it takes", "2 mL/min",
             ("flow",), label="leak to show")


def read_asked(declared: Input, text: str) -> float:
    """Return the value of what a person typed, SI. Raises ValueError with a sentence that says what to write."""
    try:
        value, _ = read_quantity(text, declared.families)
    except UnitProblem as problem:
        raise ValueError(f"{shown(text)}: {problem.expected}") from None
    if not value > 0.0:
        raise ValueError(f"{shown(text)}: write such as {declared.example}")
    return float(value)
