"""Minutes of work where nobody gave them, from the size of the openings, the closure and the crew."""

from __future__ import annotations

from math import pi

from fillcalc.case import records
from fillcalc.case.fields import Default
from fillcalc.case.solid import sized
from fillcalc.units import write

Times = tuple[float, float, float]
"""Low, likely, high in minutes."""

BOLTED_JOINT: tuple[tuple[float, Times], ...] = (
    (0.060, (21, 42, 54)), (0.110, (36, 72, 108)), (0.165, (45, 90, 162)), (0.230, (63, 126, 216)),
    (0.350, (102, 204, 324)), (9.0, (198, 396, 648)),
)
"""Man-minutes to bolt up one joint of class 150 up to a bore in m: likely J. S. Page, Estimator's Piping
Man-Hour Manual, 5th ed. 1999, p. 84 (2, 4, 6, 8, 12, 24 in); high Storm, Industrial Process Plant
Construction Estimating, 2019, table 2.4; low half of Page, a test blind needing no lining-up of pipe."""

PLUGGED_PIECE: tuple[tuple[float, Times, Times], ...] = (
    (0.060, (5, 8, 15), (5, 8, 15)), (0.165, (10, 15, 30), (10, 15, 30)), (9.0, (20, 35, 60), (15, 25, 45)),
)
"""Minutes for one man to connect and to disconnect a piece with two plugs or clamps, up to a bore in m."""

UNDOING = 0.5
"""A joint comes apart in about half the time of bolting it up, common practice."""

VALVE_BORES = ((1.4e-3, 0.050), (6e-3, 0.100), (14e-3, 0.150))
"""Volume of a valve body in m3 up to which it is taken for a size."""

VESSEL_BORES = ((0.05, 0.050), (20.0, 0.100))
"""Volume of a vessel in m3 up to which its largest opening is taken for a size."""


def opening(vessel: records.Vessel) -> float:
    """Bore in m of the openings to close, as judged from the kind and size of the vessel."""
    vessel = sized(vessel)
    if isinstance(vessel, records.PipeRun):
        return float(vessel.diameter)
    if isinstance(vessel, records.ValveBody):
        return next((bore for volume, bore in VALVE_BORES if vessel.volume <= volume), 0.200)
    volume = _volume(vessel)
    return next((bore for most, bore in VESSEL_BORES if volume <= most), 0.200)


def _volume(vessel: records.Vessel) -> float:
    """Rough volume in m3."""
    if isinstance(vessel, records.StandingCylinder):
        return float(pi / 4 * vessel.diameter**2 * vessel.height)
    if isinstance(vessel, records.LyingCylinder):
        return float(pi / 4 * vessel.diameter**2 * vessel.length)
    if isinstance(vessel, records.Sphere):
        return float(pi / 6 * vessel.diameter**3)
    return float(getattr(vessel, "volume", 0.0))


def labour(key: str, vessel: records.Vessel, work: records.Labour) -> Default:
    """What stands in for labour.each.connect, disconnect, bleed or settle."""
    if key == "bleed":
        times = _by_kind(vessel, (1, 2, 4), (5, 10, 20), (10, 20, 40))
        return _default(times, "venting again and waiting for bubbles, common practice for this kind")
    if key == "settle":
        times = _by_kind(vessel, (0.5, 1, 2), (10, 15, 30), (10, 30, 60))
        return _default(times, "10 to 30 min is usual, valves a minute; the procedure decides")
    bore, hands = opening(vessel), min(work.crew, 2)
    size = f"openings of about {round(bore * 1000):d} mm, {work.openings} of them, crew of {work.crew}"
    if work.closure == "bolted blinds":
        norm = next(norm for most, norm in BOLTED_JOINT if bore <= most)
        part = work.openings / hands * (UNDOING if key == "disconnect" else 1.0)
        why = f"bolted blinds, {size} (Page 1999, Storm 2019: they differ by 1.5 to 2)"
    else:
        _, connect, disconnect = next(norm for norm in PLUGGED_PIECE if bore <= norm[0])
        norm = connect if key == "connect" else disconnect
        part = work.openings / 2 / hands
        why = f"{work.closure}, {size}, common practice"
    low, likely, high = norm
    return _default((low * part, likely * part, high * part), why)


def _by_kind(vessel: records.Vessel, valve: Times, other: Times, run: Times) -> Times:
    if isinstance(vessel, records.ValveBody):
        return valve
    return run if isinstance(vessel, records.PipeRun) else other


def _default(times: Times, why: str) -> Default:
    low, likely, high = (write(60.0 * each, "duration") for each in times)
    return Default(likely, why, (low, likely, high))
