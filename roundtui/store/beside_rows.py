"""Entries made beside the weekly count as rows of their tables, and back."""

from __future__ import annotations

from dataclasses import fields
from datetime import date
from enum import StrEnum
from typing import Any

from roundtui.domain.orchard_entries import Look, LookKind, Specimen, TreatmentSaid
from roundtui.domain.recorded import Recorded
from roundtui.domain.traps.entries import Assembled, PartKind, PartNoted, PartState, SetUpChanged, Stocked, StockKind
from roundtui.store.row_form import AUTHOR, Row, Table, author, author_values, day

_AUTHORS = {field.name for field in fields(Recorded)}
_READ: dict[str, Any] = {
    "LookKind": LookKind,
    "PartKind": PartKind,
    "PartState": PartState,
    "StockKind": StockKind,
    "date": day,
    "bool": lambda kept: kept == 1,
}
"""How a kept value becomes that of a field, by the type written at the field."""


def _cell(value: Any) -> Any:
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, StrEnum):
        return value.value
    return int(value) if isinstance(value, bool) else value


def _table(kind: str, name: str, record: type[Recorded], on: str, place: str, *, known: bool = True) -> Table:
    """The table of a kind of entry: after the columns of all entries, one for each field of its record."""
    own = {field.name: str(field.type).removesuffix(" | None") for field in fields(record)}
    own = {name: of for name, of in own.items() if name not in _AUTHORS}
    first = len(AUTHOR)

    def values(entry: Any) -> Row:
        return (*author_values(entry), *(_cell(getattr(entry, name)) for name in own))

    def entry(row: Row) -> Any:
        said = {
            name: _READ[of](kept) if kept is not None and of in _READ else kept
            for (name, of), kept in zip(own.items(), row[first:], strict=True)
        }
        return record(**said, **author(row))

    return Table(kind, name, (*AUTHOR, *own), on, values, entry, place, known)


LOOKS = _table("look", "looks", Look, "looked_on", "block")
TREATMENTS = _table("treatment", "treatments", TreatmentSaid, "treated_on", "block")
SPECIMENS = _table("specimen", "specimens", Specimen, "read_on", "trap")
PARTS = _table("part", "parts", PartNoted, "noted_on", "label", known=False)
ASSEMBLIES = _table("assembly", "assemblies", Assembled, "assembled_on", "trap", known=False)
STOCKS = _table("stock", "stocks", Stocked, "stocked_on", "lot")
SET_UP_CHANGES = _table("set-up", "set_up_changes", SetUpChanged, "done_on", "", known=False)
BESIDE: dict[type, Table] = {
    Look: LOOKS,
    TreatmentSaid: TREATMENTS,
    Specimen: SPECIMENS,
    PartNoted: PARTS,
    Assembled: ASSEMBLIES,
    Stocked: STOCKS,
    SetUpChanged: SET_UP_CHANGES,
}
"""Tables of what is entered beside the weekly count."""
