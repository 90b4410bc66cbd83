"""What is usual for a kind of vessel: the air that stays, an unknown wall, the size of its openings, the work."""

from __future__ import annotations

from dataclasses import dataclass, replace

from fillcalc.case.fields import Default

Times = tuple[float, float, float]
"""Low, likely, high in minutes."""

Spread = tuple[str, str, str]
"""Low, likely, high as one would write them."""


UNKNOWN_WALL = Default("0.10 %", "wall not given: share of its volume that a part near its design stress gains at "
                       "test pressure; unknown is not rigid", ("0.03 %", "0.10 %", "0.20 %"))


DRAINS: tuple[tuple[float, tuple[float, float, float]], ...] = (
    (0.1, (0.010, 0.015, 0.025)), (2.0, (0.015, 0.025, 0.040)), (1e9, (0.025, 0.050, 0.080)))
"""Low, likely and high bore in m of a drain that nobody described, by the volume in m3 up to which it is taken; common
practice, no source."""


@dataclass(frozen=True)
class Practice:
    """What a kind of vessel is judged by where nobody said better; common practice, no source, unless it says so."""

    kind: str = "vessel"
    """Vessels that trap air alike."""
    air: Spread = ("0.02 %", "0.1 %", "0.5 %")
    """Trapped air, share of the volume."""
    air_from_top: Spread = ("0.1 %", "0.3 %", "1.5 %")
    """The same where the water falls in from the top: it carries air down and shuts it in under whatever stands in its
    way."""
    air_why: str = "vent flush at the top, common practice"
    wall: Default = UNKNOWN_WALL
    bores: tuple[tuple[float, float], ...] = ((0.05, 0.050), (20.0, 0.100))
    """Volume in m3 up to which its largest opening is taken for a size, m."""
    largest: float = 0.200
    """m; that of those with more volume."""
    bleed: Times = (5, 10, 20)
    settle: Times = (10, 15, 30)
    bench: bool = False
    """Tested at a bench, by the sizes of `norms.BENCH`."""
    no_thickness: str = ""
    """Why its wall cannot be a thickness; empty where it can."""


VESSEL = Practice()

HORIZONTAL = replace(VESSEL, kind="horizontal vessel", air=("0.05 %", "0.3 %", "1.5 %"),
                     air_from_top=("0.2 %", "0.8 %", "4 %"), air_why="vent flush at the crown, common practice")

BY_VOLUME = replace(VESSEL, kind="vessel by volume", air_why="nozzle at the top as the vent, common practice",
                    no_thickness="a vessel given by its volume has no diameter to go with a thickness")

OTHER = replace(HORIZONTAL, no_thickness=BY_VOLUME.no_thickness)

RUN = replace(
    VESSEL, kind="pipe run", air_why="pipe filled from its low end, common practice",
    wall=Default("0.02 %", "wall not given: share of its volume that a pipe gains at test pressure; unknown "
                 "is not rigid", ("0.01 %", "0.02 %", "0.10 %")),
    bleed=(10, 20, 40), settle=(10, 30, 60))

RUN_WITH_CRESTS = replace(RUN, kind="pipe run with crests", air=("0.5 %", "2 %", "8 %"),
                          air_from_top=("0.5 %", "2 %", "8 %"), air_why="a pipe run with crests, common practice")

VALVE = Practice(
    kind="valve", air=("0.5 %", "2 %", "6 %"), air_from_top=("1 %", "4 %", "10 %"),
    air_why="a valve half open, filled from below and tipped, common practice",
    wall=Default("rigid", "a valve body is thick for its size"),
    bores=((0.1e-3, 0.015), (0.4e-3, 0.025), (1.4e-3, 0.050), (2.8e-3, 0.080), (6e-3, 0.100), (14e-3, 0.150),
           (28e-3, 0.200), (50e-3, 0.250), (90e-3, 0.300)), largest=0.400,
    bleed=(1, 2, 4), settle=(1, 3, 6), bench=True,
    no_thickness="a valve body has no diameter to go with a thickness")

KINDS = tuple(usual.kind for usual in (VESSEL, HORIZONTAL, BY_VOLUME, RUN, RUN_WITH_CRESTS, VALVE))
