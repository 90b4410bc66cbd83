"""What a case gives and what was taken for the rest: each input by its name, in the form's groups and in the units of
the reader."""

from __future__ import annotations

from collections.abc import Sequence
from math import isnan
from typing import Any, TypeAlias

from fillcalc.case.fields import GROUPS
from fillcalc.case.medium import counts, group_title, is_gas
from fillcalc.case.names import choice_label, declared_at, in_units, name_of
from fillcalc.case.records import KV_OVER_CV, Assumption, Case, Kit
from fillcalc.case.shape_of import children_of, walk, word_of
from fillcalc.case.spread import typed_spread
from fillcalc.units import restate, show
from fillcalc.units.printable import shown

Rows: TypeAlias = list[tuple[str, ...]]

ASSUMED, OWN = "assumed", "own figure"
OWN_TITLE = "Own figures, in place of defaults"
IDENTITY = ("format", "title", "note")
"""Inputs that say which case it is, not what is in it."""
SEEN = ("reading.", "took.")
"""Tables of what was seen on the job."""


def given(case: Case, units: str) -> list[tuple[str, str]]:
    """The path of each input that the case gives, with its value; what was seen on the job and what names the
    case left out."""
    gas = is_gas(case)
    nobody = {item.path for item in case.assumptions}
    found = [(path, choice_label(path, word_of(type(getattr(case, key)), child), units))
             for key, child in children_of(Case).items() if child.word and getattr(case, key) is not None
             and counts(f"{key}.{child.word}", gas) for path in [f"{key}.{child.word}"]
             if path not in nobody]
    for path, declared, value in walk(case):
        if value is None or path in nobody or path.startswith(SEEN) or path in IDENTITY or not counts(path, gas):
            continue
        family = case.families.get(path) or (declared.families[0] if declared.families else "")
        found.append((path, shown(_written(value, declared.form, family, declared.families, units))))
    return found


def labelled(case: Case, units: str) -> list[tuple[str, Rows]]:
    """Every input of the case in the groups of the form: the title of the group, and rows of name, value, and how it is
    known: empty for what is given, how far it is taken to be off where it was typed, or that it is assumed, or a figure
    of one's own."""
    rows = [(path, value, typed_spread(case, path) or "") for path, value in given(case, units)]
    rows += [(item.path, read_out(assumed_value(case, item, units)), OWN if item.own else ASSUMED)
             for item in case.assumptions]
    found: dict[str, Rows] = {key: [] for key in GROUPS}
    for path, value, known in rows:
        found[group_of(case, path)].append((*as_read(case, path, value, units), known))
    return [(group_title(key, is_gas(case)), each) for key, each in found.items() if each]


def reasons(case: Case, units: str) -> Rows:
    """What was assumed with the reason for it, those in doubt first; with a head."""
    doubtful, usual = assumed(case)
    rows = [(*as_read(case, item.path, read_out(assumed_value(case, item, units)), units), shown(item.why))
            for item in (*doubtful, *usual)]
    return [("input", ASSUMED, "reason"), *rows] if rows else []


def group_of(case: Case, path: str) -> str:
    """The group of the form, a key of GROUPS, in which the input or the table of a path stands."""
    declared = declared_at(path, case)
    if declared is not None:
        return declared.group
    return str(getattr(children_of(Case)[path].records[0], "group", "job")) if path in children_of(Case) else "job"


def assumed(case: Case) -> tuple[list[Assumption], list[Assumption]]:
    """What nobody gave: that which is in doubt and has a range, or is a figure of one's own, and the rest, taken as
    usual."""
    doubtful = [item for item in case.assumptions if item.own or item.path in case.ranges]
    return doubtful, [item for item in case.assumptions if item not in doubtful]


def assumed_value(case: Case, item: Assumption, units: str) -> str:
    """What was taken for an input, in the units of the reader."""
    value = in_units(item.value, declared_at(item.path, case), units)
    return shown(choice_label(item.path, value, units))


def as_read(case: Case, path: str, value: str, units: str) -> tuple[str, str]:
    """The name of an input and its value, as the reader of a table knows both: in US units a Kv, which a file holds,
    is a Cv."""
    name = name_of(path, units, case)
    if units != "us" or path.rpartition(".")[2] != "kv":
        return name, value
    return name.replace("Kv", "Cv"), show(float(value) / KV_OVER_CV, "number", units) if value else value


def read_out(value: str) -> str:
    """A value as a file writes it, as a person reads it."""
    return {"true": "yes", "false": "no"}.get(value, value.replace(" deg", " °"))


def own_sentences(cases: Sequence[Case], units: str, kit: Kit | None = None) -> list[str]:
    """Every figure of one's own that cases and kit use, with its reason: a sentence for each reason; none where
    there are none."""
    found: dict[str, dict[str, set[str]]] = {}
    for case in cases:
        for item in case.assumptions:
            if item.own:
                values = found.setdefault(item.why, {}).setdefault(name_of(item.path, units, case), set())
                values.add(read_out(assumed_value(case, item, units)))
    if kit is not None:
        for item in kit.assumptions:
            if item.own:
                name = shown(kit.pump[int(item.path.split(".")[1]) - 1][0], 40)
                found.setdefault(item.why, {})[f"flow at mid-pressure of {name}"] = {item.value}
    return [f"{shown(why[:1].upper() + why[1:])}: " + ", ".join(
        f"{name} {next(iter(values))}" if len(values) == 1 else f"{name} as each case has it"
        for name, values in each.items()) + "." for why, each in found.items()]


def usual_sentence(case: Case, usual: Sequence[Assumption], units: str) -> str:
    """The inputs taken as usual in one sentence, by their keys; empty where there are none."""
    taken = ", ".join(f"{shown(item.path)} = {assumed_value(case, item, units)}" for item in usual)
    return f"As usual: {taken}." if taken else ""


def ranged_name(case: Case, path: str, units: str) -> str:
    """The name of an input; with how far it is taken to be off where it was typed: "tap open flow (typed, ±10 %)"."""
    name, typed = as_read(case, path, "", units)[0], typed_spread(case, path)
    return f"{name} (typed, {typed})" if typed else name


def typed_sentence(case: Case, units: str) -> str:
    """The inputs that were typed without a range and are not taken as exact; empty where there are none."""
    found = [f"{as_read(case, path, '', units)[0]} {typed}" for path in case.ranges
             if (typed := typed_spread(case, path))]
    return f'Typed, but not taken as exact: {", ".join(found)}. A range of "±0" makes a value exact.' if found else ""


def _written(value: Any, form: str, family: str, families: Sequence[str], units: str) -> str:
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return "yes" if value else "no"
    if form == "points":
        return "; ".join(_written(row, "pair", family, families, units) for row in value)
    if isinstance(value, tuple):
        return " at ".join(show(each, of, units) for each, of in zip(reversed(value), reversed(families), strict=True))
    return restate(value, family, units) if family and not isnan(value) else str(value)
