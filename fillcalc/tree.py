"""Records as trees: dataclasses and tuples are the branches, everything else is a leaf."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import Field, fields, is_dataclass
from functools import cache
from keyword import iskeyword
from operator import is_
from typing import Any, TypeAlias, TypeVar

Record = TypeVar("Record")

FieldOrNone: TypeAlias = Field[Any] | None
"""The field in which a leaf stands, also through tuples; None for a leaf outside every record."""


@cache
def fields_of(kind: type) -> tuple[Field[Any], ...] | None:
    """The fields of a record class; None for what is no record."""
    return fields(kind) if is_dataclass(kind) else None


def leaves(tree: Any, field: FieldOrNone = None) -> list[tuple[Any, FieldOrNone]]:
    """Every leaf and the field in which it stands, in the order declared."""
    found: list[tuple[Any, FieldOrNone]] = []
    _gather(tree, field, found)
    return found


def _gather(tree: Any, field: FieldOrNone, found: list[tuple[Any, FieldOrNone]]) -> None:
    if isinstance(tree, tuple):
        for item in tree:
            _gather(item, field, found)
        return
    declared = fields_of(tree.__class__)
    if declared is None:
        found.append((tree, field))
        return
    for inner in declared:
        _gather(getattr(tree, inner.name), inner, found)


def mapped(tree: Record, change: Callable[[Any, FieldOrNone], Any], field: FieldOrNone = None) -> Record:
    """A copy with `change(leaf, field)` in the place of every leaf; the very same tree where nothing changes.

    A field that the constructor does not take is left to the constructor.
    """
    here: Any = tree
    if isinstance(here, tuple):
        items: Any = tuple(mapped(item, change, field) for item in here)
        return tree if all(map(is_, items, here)) else items
    declared = fields_of(here.__class__)
    if declared is None:
        return change(here, field)
    new = {field.name: mapped(getattr(here, field.name), change, field) for field in declared if field.init}
    if all(value is getattr(here, name) for name, value in new.items()):
        return tree
    return here.__class__(**new)


def zipped(trees: Sequence[Record], join: Callable[[Sequence[Any], FieldOrNone], Any],
           field: FieldOrNone = None) -> Record:
    """One tree of several of one form, with `join(leaves, field)` in the place of every leaf."""
    first: Any = trees[0]
    items: Any = trees
    if isinstance(first, tuple):
        joined: Any = tuple(zipped(column, join, field) for column in zip(*items, strict=True))
        return joined
    declared = fields_of(first.__class__)
    if declared is None:
        return join(trees, field)
    return first.__class__(**{field.name: zipped([getattr(tree, field.name) for tree in items], join, field)
                              for field in declared if field.init})


def attribute_of(key: str) -> str:
    """The attribute of a record by its key in a file: `from` and `raise` are no names in Python."""
    return f"{key}_" if iskeyword(key) else key


def at(tree: Any, path: str) -> Any:
    """The leaf or branch at a path such as "fill.hose.1.bore"; places in a list count from 1."""
    for key in path.split("."):
        tree = tree[int(key) - 1] if key.isdigit() else getattr(tree, attribute_of(key))
    return tree


def put(tree: Any, path: str, value: Any) -> Any:
    """A copy with the leaf or branch at the path replaced."""
    key, _, rest = path.partition(".")
    if key.isdigit():
        index = int(key) - 1
        return (*tree[:index], put(tree[index], rest, value) if rest else value, *tree[index + 1:])
    name = attribute_of(key)
    return _with(tree, {name: put(getattr(tree, name), rest, value) if rest else value})


def put_all(tree: Any, values: Mapping[str, Any]) -> Any:
    """A copy with the leaves at these paths replaced; as `put` for each, but every record is made anew once."""
    inner: dict[str, dict[str, Any]] = {}
    here: dict[str, Any] = {}
    for path, value in values.items():
        key, _, rest = path.partition(".")
        if rest:
            inner.setdefault(key, {})[rest] = value
        else:
            here[key] = value
    if isinstance(tree, tuple):
        items = list(tree)
        for key, rests in inner.items():
            items[int(key) - 1] = put_all(items[int(key) - 1], rests)
        return tuple(items)
    for key, rests in inner.items():
        here[key] = put_all(getattr(tree, attribute_of(key)), rests)
    return _with(tree, {attribute_of(key): value for key, value in here.items()})


def _with(record: Any, values: Mapping[str, Any]) -> Any:
    """A copy of a record with these attributes anew.

    As `dataclasses.replace`, which looks at each field and calls the constructor for each; that takes ten times as
    long, and a case that is read is changed some two hundred times.
    """
    held, names = vars(record), _names(record.__class__)
    if len(held) > len(names):  # what was worked out from the old values goes
        held = {name: held[name] for name in names}
    new = object.__new__(record.__class__)
    vars(new).update(held, **values)
    return new


@cache
def _names(kind: type) -> tuple[str, ...]:
    return tuple(field.name for field in fields_of(kind) or ())
