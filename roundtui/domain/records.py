"""Frozen records: ``class Reading(Frozen)`` is a dataclass that is frozen and has slots.

All such classes are alike in one place, and a class costs a quarter of the time and half of the memory that
``dataclasses`` needs for it: some eighty stand before the first prompt. What frozen records do alike is one function
for all of them here; only ``__init__`` is written for each.
"""

from __future__ import annotations

from dataclasses import MISSING, FrozenInstanceError, dataclass, field, fields
from operator import attrgetter
from typing import Any, ClassVar, dataclass_transform


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
class _Kind(type):
    """Makes a dataclass of each class under Frozen."""

    def __new__(mcs, name: str, bases: tuple[type, ...], names: dict[str, Any], *, kw_only: bool = False) -> Any:
        made = super().__new__(mcs, name, bases, names)
        if "__slots__" in names:  # Frozen itself, or what dataclass() makes of the class with slots
            return made
        cls: Any = dataclass(init=False, repr=False, eq=False, slots=True, kw_only=kw_only)(made)
        compared = [one.name for one in fields(cls) if one.compare]
        cls._compared = attrgetter(*compared) if compared else staticmethod(lambda _: ())
        cls.__init__ = _first_init(cls)
        return cls


def _first_init(cls: Any) -> Any:
    """What writes ``__init__`` when the first record is made: of most classes none is, in one run."""

    def first(self: Any, *given: Any, **named: Any) -> None:
        cls.__init__ = _init(cls)
        cls.__init__(self, *given, **named)

    return first


def _init(cls: Any) -> Any:
    known: dict[str, Any] = {"_put": object.__setattr__, "_missing": MISSING}
    given: dict[bool, list[str]] = {False: ["self"], True: []}
    lines = []
    for one in (one for one in fields(cls) if one.init):
        name = value = one.name
        known[f"{name}_"], default = one.default, "" if one.default is MISSING else f"={name}_"
        if one.default_factory is not MISSING:
            known[f"{name}_"], default = one.default_factory, "=_missing"
            value = f"{name}_() if {name} is _missing else {name}"
        given[bool(one.kw_only)].append(name + default)
        lines.append(f" _put(self, {name!r}, {value})")
    lines += [" self.__post_init__()"] * hasattr(cls, "__post_init__")
    named = ", ".join(given[False] + ["*"] * bool(given[True]) + given[True])
    exec("\n".join([f"def __init__({named}):", *lines, " return None"]), known)  # noqa: S102
    known["__init__"].__qualname__ = f"{cls.__qualname__}.__init__"
    return known["__init__"]


class Frozen(metaclass=_Kind):
    """What all frozen records do alike: equal by their fields, hashed, shown, kept as they are."""

    __slots__ = ()
    _compared: ClassVar[Any]

    def __setattr__(self, name: str, *_: object) -> None:
        raise FrozenInstanceError(f"{type(self).__name__}.{name} cannot be changed")

    __delattr__ = __setattr__

    def __eq__(self, other: object) -> bool:
        if other is self:
            return True
        alike = other.__class__ is self.__class__
        return self._compared(self) == self._compared(other) if alike else NotImplemented

    def __hash__(self) -> int:
        return hash(self._compared(self))

    def __repr__(self) -> str:
        said = (f"{one.name}={getattr(self, one.name)!r}" for one in fields(self) if one.repr)
        return f"{type(self).__qualname__}({', '.join(said)})"

    def __getstate__(self) -> list[Any]:
        return [getattr(self, one.name) for one in fields(self)]

    def __setstate__(self, state: list[Any]) -> None:
        for one, value in zip(fields(self), state, strict=True):
            object.__setattr__(self, one.name, value)
