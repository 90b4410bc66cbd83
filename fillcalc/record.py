"""Frozen dataclasses that are quick to define.

A cold start defines a hundred of them. `dataclass` writes and compiles six functions for each, which together
takes as long as importing numpy; here all records share theirs.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

__all__ = ["record"]

if TYPE_CHECKING:
    from dataclasses import dataclass as record
else:
    from dataclasses import MISSING, FrozenInstanceError, dataclass, fields
    from functools import cache

    def record(*, frozen: bool, eq: bool = True) -> Any:
        """What `dataclasses.dataclass` does with the same arguments; `frozen` must be true."""
        assert frozen

        def of(cls: type) -> type:
            made = dataclass(init=False, repr=False, eq=False)(cls)
            made.__init__, made.__repr__ = _init, _repr
            made.__setattr__ = made.__delattr__ = _frozen
            if eq:
                made.__eq__, made.__hash__ = _eq, _hash
            return made

        return of

    @cache
    def _leaves(cls: type) -> tuple[frozenset[str], dict[str, Any], dict[str, Any]]:
        """The names of the fields, the defaults of those that have one, and what makes the default of the others."""
        given = fields(cls)
        return (frozenset(each.name for each in given),
                {each.name: each.default for each in given if each.default is not MISSING},
                {each.name: each.default_factory for each in given if each.default_factory is not MISSING})

    def _init(self: Any, /, *values: Any, **named: Any) -> None:
        cls = type(self)
        known, defaults, makers = _leaves(cls)
        placed = dict(zip(cls.__match_args__, values, strict=False)) if values else {}
        if len(placed) < len(values) or not known.issuperset(named) or not placed.keys().isdisjoint(named):
            raise TypeError(f"{cls.__qualname__} takes {', '.join(cls.__match_args__)}, each once")
        leaves = self.__dict__
        leaves.update(placed, **named)
        if len(leaves) < len(known):
            leaves.update({name: value for name, value in defaults.items() if name not in leaves})
            leaves.update({name: make() for name, make in makers.items() if name not in leaves})
        if len(leaves) < len(known):
            missing = ", ".join(name for name in cls.__match_args__ if name not in leaves)
            raise TypeError(f"{cls.__qualname__} lacks {missing}")
        if hasattr(cls, "__post_init__"):
            self.__post_init__()

    def _values(self: Any) -> tuple[Any, ...]:
        return tuple([getattr(self, name) for name in self.__match_args__])

    def _repr(self: Any) -> str:
        told = ", ".join(f"{name}={getattr(self, name)!r}" for name in self.__match_args__)
        return f"{type(self).__qualname__}({told})"

    def _eq(self: Any, other: object) -> Any:
        return _values(self) == _values(other) if type(other) is type(self) else NotImplemented

    def _hash(self: Any) -> int:
        return hash(_values(self))

    def _frozen(self: Any, name: str, *value: Any) -> None:
        raise FrozenInstanceError(f"cannot change field {name!r}")
