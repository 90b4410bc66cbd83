"""Records behave as the frozen dataclasses they stand for."""

from __future__ import annotations

import copy
import inspect
import pickle
from dataclasses import MISSING, FrozenInstanceError, field, fields, replace
from importlib import import_module
from pathlib import Path
from typing import ClassVar

import pytest

from fillcalc.record import record

ROOT = Path(__file__).resolve().parents[1]


@record(frozen=True)
class Ours:
    """One of ours."""

    bore: float
    name: str = "hose"
    parts: list[int] = field(default_factory=list)
    kind: ClassVar[str] = "plain"


@record(frozen=True)
class Longer(Ours):
    """A longer one of ours."""

    length: float = 25.0


@record(frozen=True)
class Checked:
    """One that looks at what it was given."""

    name: str

    def __post_init__(self) -> None:
        object.__setattr__(self, "name", self.name.upper())


def test_an_object_is_made_as_a_dataclass_is() -> None:
    assert Ours(0.5) == Ours(bore=0.5, name="hose", parts=[])
    assert Ours(0.5).parts is not Ours(0.5).parts
    assert Longer(0.5, length=3.0).kind == "plain"
    assert replace(Longer(0.5), bore=0.75) == Longer(0.75) != Ours(0.75)
    assert Checked("a").name == "A"
    for wrong, named in (((1.0, "a", [], 2), {}), ((0.5,), {"length": 1.0}), ((0.5,), {"bore": 1.0})):
        with pytest.raises(TypeError, match="Ours takes bore, name, parts, each once"):
            Ours(*wrong, **named)
    with pytest.raises(TypeError, match="Longer lacks bore"):
        Longer(length=3.0)


def test_it_cannot_be_changed_and_tells_what_it_is() -> None:
    one = Longer(0.5)
    with pytest.raises(FrozenInstanceError, match="bore"):
        one.bore = 1.0
    with pytest.raises(FrozenInstanceError, match="bore"):
        del one.bore
    assert repr(one) == "Longer(bore=0.5, name='hose', parts=[], length=25.0)"
    assert pickle.loads(pickle.dumps(one)) == copy.deepcopy(one) == one
    with pytest.raises(TypeError, match="unhashable"):
        hash(one)
    assert hash(Ours(0.5, parts=())) == hash(Ours(0.5, parts=()))


def _records() -> list[type]:
    paths = sorted((ROOT / "fillcalc").rglob("*.py"))
    names = [".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__") for path in paths]
    found = [each for name in names if "build" not in name for each in vars(import_module(name)).values()
             if inspect.isclass(each) and each.__module__ == name and each.__repr__ is Ours.__repr__]
    assert len(found) > 100
    return found


def test_no_field_without_a_default_follows_one_that_has_one() -> None:
    """A dataclass refuses that when it is defined; a record, made in a hurry, does not."""
    wrong = []
    for made in _records():
        has = [each.default is not MISSING or each.default_factory is not MISSING for each in fields(made)]
        wrong += [f"{made.__module__}.{made.__name__}"] if has != sorted(has) else []
    assert not wrong
