"""How an input is declared: once, as a dataclass field that carries everything known about it.

The reader, the errors, the form on the screen, the template of a new case and the list of
assumptions all come from these declarations.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields, replace
from functools import cache
from typing import Any, TypeAlias

from fillcalc.arrays import Array

GROUPS: Mapping[str, str] = {
    "vessel": "Vessel",
    "source": "Water source",
    "hose": "Fill hose",
    "gas": "Gas",
    "air": "Vent & air",
    "test": "Test",
    "test_hose": "Test hose",
    "pump": "Pump & air",
    "limits": "Limits & gauge",
    "release": "Release, drain",
    "job": "Job & labour",
    "reading": "Readings",
    "took": "What it took",
}
"""The groups of the form, in the order of the work, with their titles."""

Number: TypeAlias = Array
"""A quantity in SI: a float as it was read, an array with one value for each sample in a job. Its type is that of the
array, which does all that is done with the float."""


@dataclass(frozen=True)
class Default:
    """What stands in for an input that nobody gave: as one would write it, with its reason."""

    text: str
    why: str
    spread: tuple[str, ...] = ()
    """Low and high, or low, likely and high, as text; empty when the value is not in doubt."""


@dataclass(frozen=True)
class Typed:
    """How far a value that was typed may be from the truth: its ends as multiples of it.

    Ends as far on both sides are flat, as a "±10 %" is; else the value itself is the likely one.
    """

    low: float
    high: float

    @property
    def even(self) -> bool:
        """Whether both ends are as far from the value."""
        return abs(self.low + self.high - 2.0) < 1e-9


AS_DEFAULT = "as the default"
"""A typed value that is as uncertain, in proportion, as the default that it stands in for."""


@dataclass(frozen=True)
class Word:
    """What a shape or kind is called on a screen and in a report, where that is not the word of the file.

    A file may say `label` too. `short` stands where a column has no room for it.
    """

    label: str = ""
    short: str = ""
    us_label: str = ""


@dataclass(frozen=True)
class Input:
    """The declaration of one input.

    `families` names the kinds of quantity it may be written as (see `fillcalc.units`), more than
    one where both readings are natural ("0.4 %" or "2 L"); `words` the plain words it may be
    instead. `low` and `high` are the legal range in SI, both ends legal.
    """

    help: str
    example: str
    families: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    default: Default | None = None
    us_example: str = ""
    """The example of a text for a person with US units; a quantity is turned into them."""
    otherwise: str = ""
    """The word of a choice that is meant where none is given, and that nobody need be told of as assumed."""
    required: bool = False
    recipe: str = ""
    """How a person finds the value on site, in one line."""
    usual: tuple[str, ...] = ()
    """Low and high, as one would write them, of what is common in the work; beyond it the figure is asked about."""
    sizes: tuple[str, ...] = ()
    """The sizes that it is made in, rising; a figure far from all of them is asked about."""
    bare: str = ""
    """The unit of a number without one, for an input whose key names its unit."""
    form: str = "quantity"
    """quantity, text, choice, flag, count, number, date, moment, points, pair, steps."""
    typed: Typed | str | None = None
    """How uncertain a typed value is that came without a range; None where it is exact by nature."""
    label: str = field(default="", compare=False)
    """What a person calls it, as it stands inside a sentence; "{n}" is the number of the hose, stop or reading."""
    us_label: str = field(default="", compare=False)
    """The same in the US trade, where that has another word."""
    short: str = field(default="", compare=False)
    """The label in the form, where the whole one is too long for its column."""
    us_short: str = field(default="", compare=False)
    group: str = field(default="", compare=False)
    """The group of the form that it stands in, a key of GROUPS; left out, that of its record."""
    main: int = field(default=0, compare=False)
    """Its place among the main inputs, from 1; 0 for all others. Of a list only the first item has it."""


def _input(form: str, help: str, example: str, **more: Any) -> Any:
    families = more.pop("families", ())
    families = (families,) if isinstance(families, str) else tuple(families)
    return field(default=more.pop("empty", None), metadata={"input": Input(help, example, families, form=form, **more)})


def quantity(families: str | tuple[str, ...], help: str, example: str, **more: Any) -> Any:
    """A number with its unit, read into SI."""
    return _input("quantity", help, example, families=families, **more)


def number(help: str, example: str, **more: Any) -> Any:
    """A plain number without a unit."""
    return _input("number", help, example, families="number", **more)


def whole(help: str, example: str, **more: Any) -> Any:
    """A whole number."""
    return _input("count", help, example, families="count", **more)


def choice(words: tuple[str, ...], help: str, **more: Any) -> Any:
    """One word of a closed list."""
    return _input("choice", help, more.pop("example", words[0]), words=words, **more)


def flag(help: str, example: str = "true", **more: Any) -> Any:
    """true or false."""
    return _input("flag", help, example, **more)


def text(help: str, example: str, **more: Any) -> Any:
    """Free text; data, never evaluated."""
    return _input("text", help, example, **more)


def moment(help: str, example: str, form: str = "moment", **more: Any) -> Any:
    """A day ("2026-11-20"), or a day with the time of a clock on site ("2026-11-20 11:42:05"), as text."""
    return _input(form, help, example, **more)


def table(form: str, families: tuple[str, ...], help: str, example: str, **more: Any) -> Any:
    """A fixed-shape list of quantities: points, a pair, or steps."""
    return _input(form, help, example, families=families, **more)


def called(record: type, key: str, label: str, short: str = "", usual: tuple[str, str] | None = None) -> Any:
    """The input of another record under a name of its own, with usual figures of its own where they differ."""
    shared = inputs(record)[key]
    declared = replace(shared, label=label, us_label="", short=short, us_short="", usual=usual or shared.usual)
    return field(default=None, metadata={"input": declared})


def _inputs(record: type) -> Mapping[str, Input]:
    """The declared inputs of a record class by key, in the order of declaration, each with its group."""
    group = getattr(record, "group", "")
    declared = {f.name: f.metadata["input"] for f in fields(record) if "input" in f.metadata}
    return {key: each if each.group else replace(each, group=group) for key, each in declared.items()}


inputs: Callable[[type], Mapping[str, Input]] = cache(_inputs)
