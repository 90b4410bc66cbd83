"""The insides of vessels: one class a shape, which owns all that depends on it."""

from __future__ import annotations

from fillcalc.model.shapes.heads import HEADS, Head
from fillcalc.model.shapes.horizontal import HorizontalCylinder
from fillcalc.model.shapes.known import KnownVolume
from fillcalc.model.shapes.level import LevelTable
from fillcalc.model.shapes.pipe_run import PipeRun
from fillcalc.model.shapes.shape import Pocket, Shape
from fillcalc.model.shapes.sphere import Sphere
from fillcalc.model.shapes.vertical import VerticalCylinder

__all__ = ["HEADS", "Head", "HorizontalCylinder", "KnownVolume", "LevelTable", "PipeRun", "Pocket", "Shape", "Sphere",
           "VerticalCylinder"]
