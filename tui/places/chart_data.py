"""The charts of the screen: those of `fillcalc.present.charts`, laid out for one axis of letters and a few lines."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from fillcalc.present import charts
from fillcalc.present.charts import Array, Bar, Bars, Chart, Curve, Subject, Upright

__all__ = ["MAKERS", "Array", "Bar", "Bars", "Chart", "Curve", "Subject", "Upright"]


def _laid_out(make: charts.Maker, subject: Subject) -> Chart | Bars | None:
    """The chart with its curves on one axis, its letters alone at the marks, and both told below it."""
    made = make(subject)
    if not isinstance(made, Chart):
        return made
    curves = tuple(replace(curve, y=100.0 * curve.y / curve.y_most) if curve.y_most else curve
                   for curve in made.curves)
    letters = [f"{curve.mark} {curve.words}{': ' if curve.said else ''}{curve.said}" for curve in made.curves
               if curve.said]
    marks = [f"{one.mark} {one.words} {one.said}" for one in made.uprights]
    notes = tuple("   ".join(each) for each in (letters, marks) if each)
    return replace(made, curves=curves, uprights=tuple(replace(one, words=one.mark) for one in made.uprights),
                   notes=(*notes, *made.notes), y_most=105.0 if curves[0].y_most else None)


MAKERS: tuple[Callable[[Subject], Chart | Bars | None], ...] = tuple(
    partial(_laid_out, make) for make in charts.MAKERS)
"""The charts, in the order of the work."""
