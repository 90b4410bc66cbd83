"""Adapters: standards looked up, labour, and drawn ranges."""

from __future__ import annotations

from typing import Any

import numpy as np

from fillcalc.case import standards as lookup
from fillcalc.case.read import read_text
from fillcalc.case.records import Case, Range
from fillcalc.job.distribution import quantile
from fillcalc.job.points import sobol

SPOOL = """
format = 1
[vessel]
shape = "pipe run"
size = "{size}"
schedule = "40"
length = "6.1 m"
[tap]
pressure = "3 bar"
[fill]
measured_flow = "10 L/min"
[test]
pressure = "24 bar"
hold = "10 min"
[pump]
kind = "hand"
[labour]
closure = "bolted blinds"
openings = {openings}
"""
STAGES = ("connect", "bleed", "settle", "inspect", "disconnect")


def shell_hold(standard: str, edition: str, kinds: str, dn: float) -> float:
    table, = (one for one in lookup.SHELL_HOLDS if (one.standard, one.edition, one.kinds) == (standard, edition, kinds))
    return lookup.shell_hold(table, dn)


def _spool(size: str, openings: int) -> Case:
    return read_text(SPOOL.format(size=size, openings=openings))


def one_blind(size: str) -> tuple[float, float]:
    """Low and high of the time of one man to bolt on one blind, s."""
    asked = _spool(size, 1).ranges["labour.each.connect"]
    return asked.low, asked.high


def one_piece(size: str) -> tuple[float, float]:
    """Low and high of the work of one man at a piece with two blinds, its hold of ten minutes in it, s."""
    case = _spool(size, 2)
    asked = [case.ranges[f"labour.each.{stage}"] for stage in STAGES if f"labour.each.{stage}" in case.ranges]
    fixed = sum(float(getattr(case.labour.each, one)) for one in STAGES if f"labour.each.{one}" not in case.ranges)
    hold = float(case.test.hold) + fixed
    return sum(one.low for one in asked) + hold, sum(one.high for one in asked) + hold


def percentile(low: float, high: float, rank: float, likely: float | None = None) -> float:
    return float(quantile(Range(low, likely, high, True), np.asarray(rank)))


def mean(low: float, high: float, likely: float | None = None) -> float:
    """Mean of the samples."""
    return float(quantile(Range(low, likely, high, True), sobol(1)[:, 0]).mean())


def half_width_of_sum(count: int, half_width: float, rank: float) -> float:
    """How far the sum of independent rectangular inputs about zero goes at a rank, over all samples."""
    total = sum(quantile(Range(-half_width, None, half_width, True), column) for column in sobol(count).T)
    return float(np.quantile(total, rank))


ADAPTERS: dict[str, Any] = {
    "shell hold": shell_hold,
    "one blind bolted on": one_blind,
    "one piece tested": one_piece,
    "percentile of a range": percentile,
    "mean of a range": mean,
    "percentile of a sum of ranges": half_width_of_sum,
}
