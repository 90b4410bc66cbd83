"""A kit file: the hoses, pumps, gauges, gas bottles and regulators that can be taken along, each with a name."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import Any

from fillcalc.case import records
from fillcalc.case.assume import US_STEP, assume_record, default_value, own_ranges
from fillcalc.case.checks import check_hose, check_pump
from fillcalc.case.fields import Default, Input
from fillcalc.case.leaf import described, read_leaf
from fillcalc.case.own import NO_OWN, Own
from fillcalc.case.problems import Found
from fillcalc.case.read import Reader, bytes_of, check_format, table_of, text_of
from fillcalc.case.records import Assumption, Kit, KitBottles, KitGauge, KitHose, KitRegulator, Pump, Range
from fillcalc.case.scan import lines_of
from fillcalc.case.shape_of import Child, leaves_of
from fillcalc.tree import put

_TABLES = {"hose": Child((KitHose,), "", True, True),
           "pump": Child(records.PUMPS, "kind", True, True, records.PUMP_KIND),
           "gauge": Child((KitGauge,), "", True, True),
           "bottle": Child((KitBottles,), "", True, True),
           "regulator": Child((KitRegulator,), "", True, True)}
_NAME = Input("what the pump is called", "ten to one", form="text", required=True, label="pump name")


def read_kit(data: bytes, name: str, own: Own = NO_OWN) -> Kit:
    """The kit of a file's bytes, defaults filled and listed, with figures of one's own for its pumps in their place.
    Raises CaseProblems with every problem."""
    text = text_of(data, name)
    table = table_of(text, name)
    found = Found(name, cache(lambda: lines_of(text)))
    if "format" in table:
        check_format(found, table)
    for key in table:
        if key not in ("format", "title", "note", *_TABLES):
            found.add(key, f"the key {key}", "a kit holds [[hose]], [[pump]], [[gauge]], "
                      "[[bottle]] and [[regulator]]")
    reader = Reader(found)
    lists = {key: reader.child(child, _without_names(found, key, table[key]), key) or ()
             for key, child in _TABLES.items() if key in table}
    names = {key: _names(found, key, table[key]) for key in lists}
    for number, hose in enumerate(lists.get("hose", ()), 1):
        check_hose(found, f"hose.{number}.", hose)
    for number, pump in enumerate(lists.get("pump", ()), 1):
        if pump is not None:
            check_pump(found, f"pump.{number}.", pump, frozenset(reader.given))
    found.stop_if_any()
    return _completed(lists, names, own)


def read_kit_text(text: str, name: str = "kit", own: Own = NO_OWN) -> Kit:
    """The kit of a text. Raises CaseProblems."""
    return read_kit(text.encode("utf-8", "surrogatepass"), name, own)


def read_kit_file(path: str | os.PathLike[str], own: Own = NO_OWN) -> Kit:
    """The kit in a file. Raises CaseProblems."""
    return read_kit(bytes_of(path), os.path.basename(path), own)


def _without_names(found: Found, key: str, raw: object) -> object:
    """The names of pumps stand beside their records."""
    if key != "pump" or not isinstance(raw, list) or not all(isinstance(each, dict) for each in raw):
        return raw
    return [{inner: value for inner, value in each.items() if inner != "name"} for each in raw]


def _names(found: Found, key: str, raw: object) -> list[str]:
    """The name of each; problems for those without one (pumps) and for names used twice."""
    names: list[str] = []
    for number, each in enumerate(raw if isinstance(raw, list) else [], 1):
        path = f"{key}.{number}.name"
        name = each.get("name") if isinstance(each, dict) else None
        if key == "pump" and isinstance(each, dict):
            if name is None:
                found.add(path, "", f'needed: write name = "{_NAME.example}"', _NAME.help)
            else:
                read_leaf(found, path, _NAME, name)
        if isinstance(name, str) and name in names:
            found.add(path, described(name), f"give each {key} a name of its own")
        names.append(name if isinstance(name, str) else "")
    return names


def _completed(lists: Mapping[str, tuple[Any, ...]], names: Mapping[str, list[str]], own: Own) -> Kit:
    assumptions: list[Assumption] = []
    ranges: dict[str, Range] = {}
    done: dict[str, list[Any]] = {key: [] for key in _TABLES}
    for key, entries in lists.items():
        for number, record in enumerate(entries, 1):
            mine = _own_of(record, names[key][number - 1], own) if key == "pump" else {}
            full, assumed = assume_record(record, f"{key}.{number}.", mine)
            done[key].append(full)
            assumptions += assumed
            ranges |= {f"{key}.{number}.{leaf}": each for leaf, each in own_ranges(record, mine).items()}
    pumps: tuple[tuple[str, Pump], ...] = tuple(zip(names.get("pump", []), done["pump"], strict=True))
    return Kit(tuple(done["hose"]), pumps, tuple(done["gauge"]), tuple(done["bottle"]), tuple(done["regulator"]),
               tuple(assumptions), ranges)


def kit_for(kit: Kit, units: str) -> Kit:
    """The kit for a case in these units: in psi a regulator's gauge is read to another step, where nobody gave it."""
    paths = [item.path for item in kit.assumptions if item.path.endswith(".regulator_step")] if units == "us" else []
    step = default_value(leaves_of(records.AirDrivenPump)["regulator_step"], US_STEP.text)[0]
    return replace(
        kit, pump=tuple((name, put(pump, "regulator_step", step) if f"pump.{place}.regulator_step" in paths else pump)
                        for place, (name, pump) in enumerate(kit.pump, 1)),
        assumptions=tuple(replace(item, value=US_STEP.text) if item.path in paths else item
                          for item in kit.assumptions))


def _own_of(pump: Pump, name: str, own: Own) -> dict[str, Default]:
    """The figure of one's own for a pump by its name, where the middle of its curve is not given."""
    figure = own.of_pump(name) if getattr(pump, "mid_curve", 0.0) is None else None
    return {} if figure is None else {"mid_curve": figure}
