"""Default times of the work, from the kind of vessel, the size of its openings, the closure and the crew."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from fillcalc.case import records
from fillcalc.case.fields import Default, inputs
from fillcalc.case.pipes import nearest_size
from fillcalc.case.practice import Times
from fillcalc.case.provenance import PUBLISHED
from fillcalc.case.solid import sized
from fillcalc.case.standards import SHELL_HOLDS, shell_hold
from fillcalc.units import read_quantity, write

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


@dataclass(frozen=True)
class BenchTimes:
    """Minutes of one man's work on a valve at the bench, its two ends closed by plugs or clamps; common practice."""

    bore: float
    """Largest bore in m for which they hold."""
    connect: Times
    disconnect: Times
    settle: Times
    inspect: Times
    remake: Times


BENCH = (
    BenchTimes(0.085, (2, 3, 6), (1, 2, 4), (0.5, 1, 3), (0.5, 1, 3), (5, 10, 20)),
    BenchTimes(0.310, (6, 10, 20), (4, 7, 14), (1, 3, 6), (1, 2, 5), (10, 20, 40)),
)
"""Valves by size; a larger one is handled like a vessel."""

BENCH_VISIT: dict[str, Times] = {"wait": (0, 5, 20), "set_up": (10, 20, 40), "pack_up": (5, 10, 20)}
"""Minutes once a visit where valves are tested at a bench, common practice."""
AT_BENCH = "valves at a bench, common practice"
BENCH_REMADE = "8 %"
"""Share of bench valves with a joint to re-make, common practice."""

WIDEST = 9.0
"""m; an opening's bore up to which the last of each table goes, wider than any."""
UNDOING = 0.5
"""A joint comes apart in about half the time of bolting it up, common practice."""


def opening(vessel: records.Vessel) -> float:
    """Bore in m of the openings to close: that of a pipe, else as judged from the kind and size of the vessel."""
    inside = sized(vessel).inside()
    run = inside.run()
    if run is not None:
        return float(run[0])
    usual, volume = vessel.practice(), float(inside.volume())
    return next((bore for most, bore in usual.bores if volume <= most), usual.largest)


def bench(vessel: records.Vessel) -> BenchTimes | None:
    """The times of a valve that is tested at a bench; None for every other vessel and for larger valves."""
    if not vessel.practice().bench:
        return None
    return next((times for times in BENCH if opening(vessel) <= times.bore), None)


def labour(key: str, vessel: records.Vessel, work: records.Labour) -> Default:
    """What stands in for an input of labour.each."""
    valve = bench(vessel)
    if key == "bleed":
        return _default(vessel.practice().bleed, "venting again and waiting for bubbles, common practice for this kind")
    if key == "settle":
        if valve:
            return _default(valve.settle, AT_BENCH)
        return _default(vessel.practice().settle, "10 to 30 min is usual, 1 min for valves; the procedure decides")
    if key == "inspect":
        return _default(valve.inspect, AT_BENCH) if valve else _default((3, 10, 20), "common practice")
    return _closing(key, vessel, work, valve)


def _closing(key: str, vessel: records.Vessel, work: records.Labour, valve: BenchTimes | None) -> Default:
    """Connecting or disconnecting a piece."""
    bore, hands = opening(vessel), min(work.crew, 2)
    near = nearest_size(bore)
    size = (f"openings of about DN{near.dn} ({near.nps:g} in), "
            f"{work.openings} of them, crew of {work.crew}")
    if work.closure == "bolted blinds":
        norm = next(norm for most, norm in BOLTED_JOINT if bore <= most)
        part = work.openings / hands * (UNDOING if key == "disconnect" else 1.0)
        why = f"bolted blinds, {size} (Page 1999, Storm 2019: they differ by a factor of 1.5 to 2)"
    else:
        _, connect, disconnect = next(norm for norm in PLUGGED_PIECE if bore <= norm[0])
        if valve:
            connect, disconnect = valve.connect, valve.disconnect
        norm = connect if key == "connect" else disconnect
        part = work.openings / 2 / hands
        why = f"{work.closure}{' at a bench' if valve else ''}, {size}, common practice"
    low, likely, high = norm
    return _default((low * part, likely * part, high * part), why)


def sizes(vessel: records.Vessel, work: records.Labour) -> tuple[float, float]:
    """Return the bores in m between which closing an opening is taken to be the same work: over the first, up to the
    second."""
    if work.closure == "bolted blinds":
        ends = [most for most, _ in BOLTED_JOINT]
    else:
        ends = [times.bore for times in BENCH] if bench(vessel) else [most for most, _, _ in PLUGGED_PIECE]
    bore = opening(vessel)
    to = next(most for most in ends if bore <= most)
    return max((most for most in ends if most < to), default=0.0), to


def visit(key: str, vessel: records.Vessel, declared: Default) -> Default:
    """What stands in for an input of labour.visit: less for valves at a bench than for the declared vessel on site."""
    return _default(BENCH_VISIT[key], AT_BENCH) if bench(vessel) else declared


def rework(key: str, vessel: records.Vessel, declared: Default) -> Default:
    """What stands in for rework.chance or rework.time."""
    valve = bench(vessel)
    if valve is None:
        return declared
    if key == "chance":
        return Default(BENCH_REMADE, AT_BENCH)
    return _default(valve.remake, AT_BENCH)


def remade_share(vessel: records.Vessel) -> float:
    """Return the default share of pieces with a joint to re-make."""
    declared = inputs(records.Rework)["chance"].default
    assert declared is not None
    return read_quantity(rework("chance", vessel, declared).text, ("share",))[0]


def hold(vessel: records.Vessel, declared: Default) -> Default:
    """What stands in for test.hold: the shell hold on which the published tables agree for a valve of this size."""
    if not vessel.practice().bench:
        return declared
    dn = 1000.0 * opening(vessel)
    known = [table for table in SHELL_HOLDS if table.provenance in PUBLISHED]
    holds = {shell_hold(table, dn) for table in known}
    if len(holds) != 1:
        return declared
    names = ", ".join(f"{table.standard}:{table.edition}" for table in known)
    return Default(write(holds.pop(), "duration"), f"shell hold for about DN{dn:.0f} ({names}); check your copy")


@lru_cache(maxsize=1024)
def _default(times: Times, why: str) -> Default:
    low, likely, high = (write(60.0 * each, "duration") for each in times)
    return Default(likely, why, (low, likely, high))
