"""Shapes by the words that rows of published values use."""

from __future__ import annotations

from typing import Any

from fillcalc.model.shapes import HEADS, HorizontalCylinder, KnownVolume, PipeRun, Shape, Sphere, VerticalCylinder


def shape(form: str, ends: str = "flat", diameter: Any = 0.0, span: Any = 0.0, rise: Any = 0.0,
          volume: Any = 0.0) -> Shape:
    """The shape of a form (standing, lying, sphere, pipe, prism) with its ends, in m and m3."""
    return {"standing": lambda: VerticalCylinder(diameter, span, HEADS[ends]),
            "lying": lambda: HorizontalCylinder(diameter, span, HEADS[ends]),
            "sphere": lambda: Sphere(diameter),
            "pipe": lambda: PipeRun(diameter, span, rise),
            "prism": lambda: KnownVolume(volume, span)}[form]()
