"""The stages of a visit, in the order of the work: each declared once, with what it is called."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

VISIT, PIECE, LOAD = "visit", "piece", "load"
WATER, GAS = "water", "gas"


@dataclass(frozen=True)
class StageKind:
    """One stage of the work."""

    name: str
    of: str = LOAD
    """Whether it is done once a visit, for each piece, or for each load."""
    only: str = ""
    """The test that alone has it, WATER or GAS; empty for both."""
    label: str = ""
    """What a person calls it, where that is not its name."""
    phrase: str = ""
    """What a sentence calls it, where that is not "the" and its name."""
    set_by: str = ""
    """The input that sets its time most, where nobody gave it; empty where none does."""
    stepped: bool = True
    """Whether the stage clock goes to it; parts of another stage and joints re-made are timed by hand."""

    @property
    def key(self) -> str:
        """What it is called in the [took] of a case."""
        return self.name.replace(" ", "_")

    @property
    def said(self) -> str:
        """What a sentence calls it: "connecting", "the fill"."""
        return self.phrase or f"the {self.name}"


STAGES: Mapping[str, StageKind] = {one.name: one for one in (
    StageKind("wait", VISIT),
    StageKind("set up", VISIT, phrase="setting up"),
    StageKind("connect", PIECE, phrase="connecting"),
    StageKind("fill", only=WATER, set_by="tap.open_flow"),
    StageKind("run to waste", only=WATER, stepped=False),
    StageKind("top up", only=WATER, stepped=False),
    StageKind("bleed", PIECE, WATER, phrase="bleeding"),
    StageKind("pump up", only=WATER, label="pump-up", phrase="the pump-up, stops included,",
              set_by="trapped_air.amount"),
    StageKind("raise", only=GAS, phrase="raising the pressure"),
    StageKind("settle", phrase="settling"),
    StageKind("hold"),
    StageKind("inspect", PIECE, phrase="inspecting"),
    StageKind("release", only=WATER, set_by="release.kv"),
    StageKind("let off", only=GAS, phrase="letting off", set_by="gas_vent.kv"),
    StageKind("drain", only=WATER, set_by="drain.bore"),
    StageKind("disconnect", PIECE, phrase="disconnecting"),
    StageKind("pack up", VISIT, phrase="packing up"),
    StageKind("rework", label="re-made joints", stepped=False),
)}
"""Every stage by its name."""
STAGE_KEYS = tuple(one.key for one in STAGES.values())
