"""Recorders' files of whole tests, told from the simulation: one thing happens in each.

`python -m tests.recorder.stories` writes the demo record anew.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

from tests.recorder.simulation import Records, Setting, Vessel, records

DEMO = Path(__file__).resolve().parents[2] / "cases" / "cooler-shell-record.csv"
COOLER = Vessel(0.5736, 34.7e-11, (0.0035, 0.0045), 24e5, lambda pocket: np.full_like(pocket, 0.302), 2.5e-3 / 60.0)
"""Near the cooler shell of the demo cases: its water, what its wall gives, its flat top."""

BEGAN = datetime(2026, 5, 12, 9, 30, 0)
USUAL = Setting(accuracy=0.001, every_s=2.0, hold_s=1800.0, leaks=False, lead_s=30.0, releases=True)
LEAK = 2e-6 / 60.0
"""m3/s, where there is one."""


def file_of(made: Records, end: str = "\r\n") -> bytes:
    """The first record as a recorder writes it: clock, pressure, perhaps temperature, with decimal commas."""
    lines = ["Recorder 3, channel A", "", "Time;Pressure [bar]" + (";Temperature [°C]" if made.temperature is not None
                                                                    else "")]
    for row, second in enumerate(made.time):
        cells = [f"{BEGAN + timedelta(seconds=float(second)):%H:%M:%S}", f"{made.gauge[0, row] / 1e5:.4f}"]
        if made.temperature is not None:
            cells.append(f"{made.temperature[0, row] - 273.15:.2f}")
        lines.append(";".join(cells).replace(".", ","))
    return (end.join(lines) + end).encode("utf-8")


def story(seed: int = 5, **what: object) -> tuple[bytes, Records]:
    """A file with something changed of the usual setting, and the truth behind it."""
    setting = replace(USUAL, **what)  # type: ignore[arg-type]
    made = records(setting, 1, seed)
    return file_of(made), made


def demo() -> bytes:
    """The demo record: the sun on a cooler shell hides a leak."""
    setting = Setting(COOLER, accuracy=0.0025, every_s=2.0, hold_s=900.0, leak=5e-6 / 60.0, drift_k_per_h=6.0, sign=1.0,
                      lead_s=30.0, releases=True)
    return file_of(records(setting, 1, 12))


if __name__ == "__main__":
    DEMO.write_bytes(demo())
