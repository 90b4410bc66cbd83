"""What a person calls an input; its key in a case file is for machines."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fillcalc.case.records import Case

LABELS = {
    "from": "enters at", "kv": "valves, Kv", "cv": "or valves, Cv", "young": "Young's modulus",
    "poisson": "Poisson's ratio", "extra_k": "other losses, K", "at_once": "at once", "end_wall": "end thickness",
    "end_fixity": "end rim held",
    "below_highest_point": "below the top", "coupling_factor": "coupling factor",
    "strokes_per_litre": "strokes per litre",
    "strokes_per_minute": "strokes a minute", "flow_at_zero": "flow at no load", "run_to_waste": "run to waste",
    "factor_on_design": "or times design", "lowest_drive": "lowest drive", "receiver_pressure": "receiver full",
    "regulator_pressure": "regulator set", "measured_flow": "measured flow", "mid_curve": "mid-curve part",
    "amount": "trapped air", "count": "pieces", "never_above": "never above", "set": "relief valve",
    "through_pump": "through the pump", "area": "plan area", "change_over": "change-over",
}
"""Last words of a key that do not read as they stand."""

WORK = ("labour.visit.", "labour.each.")
"""Tables whose inputs are stages of the work, and are called by them."""


def label_of(path: str) -> str:
    """A person's name for an input within its table: "Coupling factor"."""
    key = path.rpartition(".")[2]
    said = LABELS.get(key, key.replace("_", " "))
    return said[:1].upper() + said[1:]


def place_of(path: str) -> str:
    """An input by the table it stands in and its name: "fill hose 1 bore"."""
    label = label_of(path).lower()
    if path.startswith(WORK):
        return label
    table = path.rpartition(".")[0].replace(".", " ").replace("_", " ")
    return label if label.startswith(table) else f"{table} {label}".lstrip()


def named(case: Case, file: str) -> Case:
    """The case; without a title of its own under the name of its file."""
    from dataclasses import replace

    return case if case.title.strip() else replace(case, title=os.path.basename(file).removesuffix(".toml"))
