"""Pieces and the loads they make on the manifold, told once: one load, and all together."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite

from fillcalc.estimation.answers import Estimate, Loads
from fillcalc.present.never import NEVER
from fillcalc.present.sentences import UNKNOWN, shower
from fillcalc.units import to_figures
from fillcalc.units.spans import column, show_range

TITLE = "Loads"


def pieces_and_loads(loads: Loads | None) -> str:
    """Return "24 pieces in 6 loads of 4"; empty for a single piece."""
    if loads is None or loads.pieces == 1:
        return ""
    pieces, once, count = (round(float(each)) for each in (loads.pieces, loads.at_once, loads.loads))
    if once == 1:
        return f"{pieces} pieces, one at a time"
    if count == 1:
        return f"{pieces} pieces in one load"
    return f"{pieces} pieces in {count} loads of {once if pieces == once * count else f'up to {once}'}"


def beside_loads(loads: Loads | None, units: str) -> tuple[str, ...]:
    """Return "24 pieces in 6 loads of 4" and "40 min a load"; nothing for a single piece. Times are those of `likely`.
    """
    shown = pieces_and_loads(loads)
    if loads is None or not shown:
        return ()
    if loads.loads == 1 or not isfinite(loads.time_s):
        return (shown,)
    return shown, f"{shower(units)(loads.time_s, 'duration')} a {_load(loads)}"


def loads_words(loads: Loads | None, units: str) -> str:
    """Return the same in one: "24 pieces in 6 loads of 4, 40 min a load"."""
    return ", ".join(beside_loads(loads, units))


def _load(loads: Loads) -> str:
    return "piece" if loads.at_once == 1 else "load"


def remade_words(loads: Sequence[Loads | None], units: str) -> list[str]:
    """Return "Re-made joints: 15 % of pieces, 0.3 expected in this visit, 30 min each."; nothing where there are none.
    """
    known, say = [one for one in loads if one is not None], shower(units)
    expected, each = sum(float(one.remade_pieces) for one in known), remade_each(known, units)
    if not (expected > 0.0 and each):
        return []
    chances = list(dict.fromkeys(say(to_figures(one.remade_share), "share") for one in known))
    return [f"Re-made joints: {' or '.join(chances)} of pieces, {say(to_figures(expected), 'number')} expected in "
            f"this visit, {each} each."]


def remade_each(loads: Sequence[Loads | None], units: str) -> str:
    """Return the time of one re-made joint: "30 min", or "10 to 30 min" where the cases differ; "" for none."""
    times = [float(one.remade_time_s) for one in loads if one is not None and one.remade_pieces > 0.0]
    if not times or not max(times) > 0.0:
        return ""
    return show_range(min(times), max(times), "duration", units) or shower(units)(max(times), "duration")


def load_rows(estimate: Estimate, units: str) -> list[tuple[str, ...]]:
    """Return fill, pump-up, water and free air of one load and of all, or times, gas and bottles of a test with gas.

    A head, then one unit a row; empty for one load. The estimate is that of `likely`.
    """
    loads, fill, pump = estimate.loads, estimate.fill, estimate.pressurise
    if loads is None or loads.loads == 1:
        return []
    share = float(loads.at_once) / float(loads.pieces)
    gas, count = estimate.gas, float(loads.loads)
    rows = [("raise and settle", gas.rise.read_s, count * gas.rise.read_s, "duration"),
            ("let off", gas.off.time_s, count * gas.off.time_s, "duration"),
            ("gas", gas.bottles.given_kg, gas.bottles.all_kg, "mass"),
            ("bottles, at most", gas.bottles.needed, gas.bottles.all_needed, "count"),
            ] if gas is not None else [("fill", fill.time_s, loads.fill_time_s, "duration"),
            ("pump-up", pump.time_s, loads.pump_up_time_s, "duration"),
            ("water", loads.water_m3 * share, loads.water_m3, "volume"),
            ("free air", pump.free_air_m3, loads.free_air_m3, "air_volume")]
    table_rows: list[tuple[str, ...]] = [("", f"a {_load(loads)}", "in all")]
    for name, one, whole, family in rows:
        cells = column([[float(one), float(whole)]], family, units, like=float(whole),
                       missing=NEVER if family == "duration" else UNKNOWN)
        if any(isfinite(float(value)) for value in (one, whole)) and float(whole) != 0.0:
            table_rows.append((f"{name}, {cells.unit}" if cells.unit else name, *cells.cells[0]))
    return table_rows
