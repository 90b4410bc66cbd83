"""The rows of the form, made from the declarations and from what is written in the case.

Groups stand in the order of the work. The first holds what must be known; nothing is shown twice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fillcalc.case import records
from fillcalc.case.fields import Input, inputs
from fillcalc.case.names import label_of

KINDS: dict[str, tuple[type, ...]] = {
    "vessel.shape": records.VESSELS,
    "tap.kind": records.WATER_SOURCES,
    "pump.kind": records.PUMPS,
}
"""The words that choose a record: another word, other inputs."""

LISTS: dict[str, type] = {
    "vessel.crest": records.Crest,
    "fill.hose": records.Hose,
    "test.steps": records.Step,
    "reading": records.Reading,
}
NOUNS = {"vessel.crest": "crest", "fill.hose": "hose", "test.steps": "stop", "reading": "reading"}

NEW_ITEMS: dict[str, dict[str, str]] = {
    "vessel.crest": {"slope": "10 deg"},
    "fill.hose": {"length": "10 m", "bore": "12.7 mm"},
    "test.steps": {"at": "50 %", "pause": "2 min"},
}
"""What a new item of a list starts with, so that it can be read at once; a reading is asked for instead."""


@dataclass(frozen=True)
class Row:
    """One row of the form: an input, or something to do."""

    path: str
    label: str
    declared: Input
    does: str = ""
    """"add" or "drop" where the row is a button for the list or item at the path, "take" where it
    gives the case what the readings tell, "head" for a heading."""


@dataclass(frozen=True)
class Group:
    key: str
    title: str
    rows: tuple[Row, ...]


TITLES = {
    "main": "Main inputs",
    "vessel": "Vessel",
    "source": "Water source",
    "hose": "Fill hose",
    "air": "Vent & air",
    "test": "Test",
    "test_hose": "Test hose",
    "pump": "Pump & air",
    "limits": "Limits & gauge",
    "release": "Release, drain",
    "job": "Job & labour",
    "reading": "Readings",
}

MAIN: tuple[tuple[str, str], ...] = (
    ("vessel.shape", "Vessel"),
    ("vessel.size", "Nominal size"),
    ("vessel.schedule", "Schedule"),
    ("vessel.diameter", "Diameter"),
    ("vessel.height", "Height"),
    ("vessel.length", "Length"),
    ("vessel.volume", "Volume"),
    ("tap.pressure", "Tap pressure"),
    ("tap.open_flow", "Tap open flow"),
    ("fill.hose.1.length", "Hose length"),
    ("fill.hose.1.bore", "Hose bore"),
    ("vent.bore", "Vent bore"),
    ("trapped_air.amount", "Trapped air"),
    ("test.pressure", "Test pressure"),
    ("pump.kind", "Pump"),
    ("pump.ratio", "Pump ratio"),
    ("pump.drive_pressure", "Drive pressure"),
    ("pump.regulator_pressure", "Regulator set"),
    ("pump.flow", "Pump flow"),
    ("pump.relief", "Pump relief"),
    ("pump.stroke", "Stroke"),
    ("pump.stroke_rate", "Stroke rate"),
)
"""What must be met first, with the label that stands there."""

US_LABELS = {"Tap": "Hose bib", "tap": "hose bib", "bore": "ID", "Bore": "ID"}


def in_trade_words(label: str, units: str) -> str:
    """The label as the trade says it where US units are used."""
    if units != "us":
        return label
    return " ".join(US_LABELS.get(word, word) for word in label.split(" "))


def record_of(table: Mapping[str, Any], kind_path: str) -> type:
    """The record that the case has chosen at "vessel.shape", "tap.kind" or "pump.kind"."""
    classes = KINDS[kind_path]
    said = raw(table, kind_path)
    return next((c for c in classes if _word(c, kind_path) == said), classes[0])


def _word(record: type, kind_path: str) -> str:
    return str(getattr(record, kind_path.rpartition(".")[2]))


def words_of(kind_path: str) -> tuple[str, ...]:
    return tuple(_word(c, kind_path) for c in KINDS[kind_path] if getattr(c, "offered", True))


def keys_of(kind_path: str, value: str | None) -> set[str] | None:
    """The keys that the record chosen by this word knows; None for a word that means nothing."""
    for record in KINDS[kind_path]:
        if _word(record, kind_path) == value:
            lists = {p.rpartition(".")[2] for p in LISTS if p.startswith(kind_path.partition(".")[0] + ".")}
            return set(inputs(record)) | {n for n in lists if n in getattr(record, "__dataclass_fields__", {})}
    return None


def carried_over(old: Mapping[str, Any], known: set[str]) -> dict[str, str]:
    """Keys that the new shape calls by another name: old name to new name."""
    pairs = (("height", "length"), ("length", "height"))
    return {a: b for a, b in pairs if a in old and a not in known and b in known and b not in old}


def raw(table: Any, path: str) -> Any:
    """What is written at a path of the parsed text; None where nothing is."""
    here = table
    for name in path.split("."):
        if isinstance(here, list) and name.isdigit():
            place = int(name) - 1
            here = here[place] if 0 <= place < len(here) else None
        elif isinstance(here, Mapping):
            here = here.get(name)
        else:
            return None
    return here


def as_typed(value: Any) -> str:
    """A written value as one would type it into a field."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return "; ".join(" : ".join(as_typed(v) for v in item) if isinstance(item, list) else as_typed(item)
                         for item in value)
    return str(value)


def groups(table: Mapping[str, Any], units: str = "metric") -> tuple[Group, ...]:
    """Every row of the form for what the case has chosen."""
    rows = {key: [] for key in TITLES}  # type: dict[str, list[Row]]
    main = dict(MAIN)
    if raw(table, "fill.hose.2") is not None:
        main |= {"fill.hose.1.length": "Hose 1 length", "fill.hose.1.bore": "Hose 1 bore"}
    found: dict[str, Row] = {}
    for key, row in _all_rows(table):
        if row.path in main and not row.does:
            found[row.path] = Row(row.path, in_trade_words(main[row.path], units), row.declared)
        else:
            rows[key].append(Row(row.path, in_trade_words(row.label, units), row.declared, row.does))
    order = list(main)
    if "vessel.volume" in found and found["vessel.volume"].declared.required:
        order.remove("vessel.volume")
        order.insert(order.index("vessel.height"), "vessel.volume")
    rows["main"] = [found[path] for path in order if path in found]
    return tuple(Group(key, in_trade_words(title, units), tuple(rows[key])) for key, title in TITLES.items())


def _all_rows(table: Mapping[str, Any]) -> list[tuple[str, Row]]:
    rows: list[tuple[str, Row]] = []

    def declared(group: str, record: type, prefix: str, but: Mapping[str, str] | None = None) -> None:
        for key, said in inputs(record).items():
            path = f"{prefix}.{'from' if key == 'from_' else key}"
            rows.append(((but or {}).get(key, group), Row(path, label_of(path), said)))

    def kind(group: str, path: str, help: str) -> None:
        rows.append((group, Row(path, label_of(path), Input(help, words_of(path)[0], words=words_of(path),
                                                            form="choice"))))

    def listed(group: str, path: str) -> None:
        record, noun = LISTS[path], NOUNS[path]
        here = raw(table, path)
        items = len(here) if isinstance(here, list) else 0
        for n in range(1, items + 1):
            if items > 1 or path != "fill.hose":
                rows.append((group, Row(f"{path}.{n}", f"{noun.capitalize()} {n}", Input("", ""), "head")))
            rows.extend((group, Row(f"{path}.{n}.{key}", label_of(key), said)) for key, said in inputs(record).items())
            if items > 1 or path != "fill.hose":
                rows.append((group, Row(f"{path}.{n}", f"Remove {noun} {n}",
                                        Input(f"take {noun} {n} out of the case; undo brings it back", ""), "drop")))
        more = "another " if items else "a "
        rows.append((group, Row(path, f"Add {more}{noun}", Input(f"one more {noun}, at the end", ""), "add")))

    rows.append(("job", Row("title", "Title", Input("what the job is called", "", form="text"))))
    rows.append(("job", Row("note", "Note", Input("free text", "", form="text"))))
    kind("main", "vessel.shape", "what is under test")
    limits = {"design": "limits", "never_above": "limits", "count": "job", "at_once": "job"}
    declared("vessel", record_of(table, "vessel.shape"), "vessel", limits)
    if record_of(table, "vessel.shape") is records.PipeRun:
        listed("vessel", "vessel.crest")
    kind("source", "tap.kind", "where the water comes from")
    declared("source", record_of(table, "tap.kind"), "tap")
    declared("source", records.Water, "water")
    declared("source", records.Surroundings, "surroundings")
    declared("hose", records.FillLine, "fill")
    listed("hose", "fill.hose")
    declared("air", records.Vent, "vent")
    declared("air", records.TrappedAir, "trapped_air")
    declared("test", records.Test, "test")
    listed("test", "test.steps")
    declared("test_hose", records.TestHose, "test_hose")
    kind("pump", "pump.kind", "what pumps the vessel up")
    declared("pump", record_of(table, "pump.kind"), "pump")
    declared("pump", records.AirSupply, "air_supply")
    declared("limits", records.ReliefValve, "relief_valve")
    declared("limits", records.Gauge, "gauge")
    declared("release", records.Release, "release")
    declared("release", records.Drain, "drain")
    declared("job", records.Labour, "labour")
    declared("job", records.VisitLabour, "labour.visit")
    declared("job", records.PieceLabour, "labour.each")
    declared("job", records.Rework, "rework")
    listed("reading", "reading")
    if raw(table, "reading"):
        rows.append(("reading", Row("reading.air", "Use this trapped air in the case", Input(
            "the case gets the trapped air of the readings, with its range; undo takes it back", ""), "take")))
    return [(group, _clear(row)) for group, row in rows]


AMBIGUOUS = {
    "water.temperature": "Water temperature", "surroundings.temperature": "Air temperature",
    "surroundings.pressure": "Air pressure", "tap.height": "Tap height", "gauge.height": "Gauge height",
    "vent.coefficient": "Vent coefficient", "drain.coefficient": "Drain coefficient", "drain.bore": "Drain bore",
    "drain.fall": "Drain fall", "drain.vent_bore": "Drain vent bore", "drain.hose_length": "Drain hose",
    "release.kv": "Release, Kv", "release.rate": "Release rate", "air_supply.flow": "Compressor flow",
    "air_supply.receiver": "Receiver", "gauge.full_scale": "Gauge full scale", "gauge.division": "Gauge division",
    "rework.chance": "Remake chance", "rework.time": "Remake time", "vessel.design": "Design pressure",
    "vent.shut": "Vent shut", "test_hose.stretch": "Stretch", "tap.kind": "Kind of source",
    "trapped_air.test_hose": "Test hose was",
}


def _clear(row: Row) -> Row:
    said = AMBIGUOUS.get(row.path)
    return Row(row.path, said, row.declared, row.does) if said else row
