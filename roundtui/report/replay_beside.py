"""Entries made beside the weekly count, in the words and the JSON of a replay."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import fields
from datetime import date
from enum import StrEnum
from typing import Any

from roundtui.domain.kit.entries import Assembled, PartNoted, SetUpChanged, Stocked, deed_words
from roundtui.domain.orchard_entries import Look, LookKind, Specimen, TreatmentSaid
from roundtui.domain.recorded import Recorded
from roundtui.domain.specimens import how_many

_AUTHORS = {field.name for field in fields(Recorded)}
_ELSEWHERE = {"trap", "block", "kind", "read_on"}
"""Keys that every entry of a replay has already, and in another meaning."""


def beside_content(entry: Recorded) -> dict[str, Any]:
    """What an entry says, as a replay's JSON has it.

    Args:
        entry: The entry.
    """
    said = {
        field.name: _plain(getattr(entry, field.name))
        for field in fields(entry)
        if field.name not in _AUTHORS and field.name not in _ELSEWHERE
    }
    if isinstance(entry, Look):
        said["look"] = entry.kind.value
    elif isinstance(entry, Stocked):
        said["stock"] = entry.kind.value
    return said


def _plain(value: Any) -> Any:
    if isinstance(value, date):
        return value.isoformat()
    return value.value if isinstance(value, StrEnum) else value


def beside_words(entry: Recorded) -> str:
    """What an entry says, in a few words.

    Args:
        entry: The entry.

    Returns:
        Text that may hold what people typed; the caller makes it plain.
    """
    return _WORDS[type(entry)](entry)


def _by(name: str) -> str:
    return f"(said by {name})" if name else ""


def _treatment(entry: TreatmentSaid) -> str:
    return " ".join(part for part in ("treated against", entry.species, entry.words, _by(entry.said_by)) if part)


def _specimen(entry: Specimen) -> str:
    counted = ", counted as its own" if entry.in_count else ""
    vial = f", vial {entry.vial}" if entry.vial else ""
    named = f", named {entry.identified_on} by {entry.identified_by}" if entry.identified_on else ""
    return f"{how_many(entry.number, entry.what)}{counted}{vial}{named}"


def _part(entry: PartNoted) -> str:
    return f"{entry.part.value} {entry.label} of {entry.species}: {entry.state.value} {entry.place}".rstrip()


def _assembly(entry: Assembled) -> str:
    parts = (
        ", ".join(part for part in (entry.body_label, entry.funnel_label, entry.lid_label) if part)
        or "parts without labels"
    )
    despite = f", in spite of: {entry.despite}" if entry.despite else ""
    return f"assembled for {entry.species}: {parts}, lure {entry.lot or 'none'}{despite}"


def _stock(entry: Stocked) -> str:
    return f"{entry.number} lures of lot {entry.lot} {entry.kind.value}"


def _set_up(entry: SetUpChanged) -> str:
    return f"{entry.file} {deed_words(entry)}: {_changed(entry)} {entry.words}".rstrip()


def _look(entry: Look) -> str:
    grade = f", grade {entry.grade}" if entry.grade is not None else ""
    if entry.kind is LookKind.FRUIT:
        stings = f", {entry.stings} with stings" if entry.stings else ""
        return f"{entry.found} of {entry.looked} fruit injured{stings}"
    return f"{entry.pest}: {entry.found} of {entry.looked} {entry.looked_at}{grade}"


def _changed(entry: SetUpChanged) -> str:
    was, becomes = (json.loads(text) if text else {} for text in (entry.was, entry.becomes))
    columns = [column for column in {**was, **becomes} if was.get(column) != becomes.get(column)]
    return "; ".join(f"{column} {was.get(column, 'blank')} to {becomes.get(column, 'blank')}" for column in columns)


_WORDS: dict[type, Callable[[Any], str]] = {
    Look: _look,
    TreatmentSaid: _treatment,
    Specimen: _specimen,
    PartNoted: _part,
    Assembled: _assembly,
    Stocked: _stock,
    SetUpChanged: _set_up,
}
