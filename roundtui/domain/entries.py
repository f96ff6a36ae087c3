"""The registry: every kind of entry, and every field of it, as declared at the records themselves.

Tables, digests, bundles, data packages, files and pages follow from it. A kind is named here; a field is declared where
its record is, with ``fact``. ``DEVELOPERS.md`` says how either is added.
"""

from __future__ import annotations

import re
from dataclasses import MISSING, dataclass, fields
from datetime import date
from enum import StrEnum
from functools import cached_property
from importlib import import_module
from typing import Any, get_args, get_type_hints

from roundtui.domain.recorded import Fact, Recorded


class Form(StrEnum):
    """What a field holds, as the Table Schema names it."""

    TEXT = "string"
    WHOLE = "integer"
    FLAG = "boolean"
    DAY = "date"


@dataclass(frozen=True, slots=True)
class EntryField:
    """One field of a kind of entry."""

    name: str
    """Its column, in tables and files."""
    attribute: str
    """Its name in the record."""
    form: Form
    """What it holds."""
    words: type[StrEnum] | None
    """The words it may hold; None: any."""
    blank: bool
    """Whether it may hold nothing."""
    required: bool
    """Whether it has no default."""
    default: Any
    """Default, as kept: a text, a number, or None; of a required field None."""
    fact: Fact
    """What is said of it."""


@dataclass(frozen=True)
class Kind:
    """A kind of entry."""

    word: str
    """Word for it in the record: visit, stage, sample, treatment …"""
    table: str
    """Name of its table, and of its file in a data package."""
    module: str
    """Module of its record."""
    record_name: str
    """Name of its record there."""
    about: str
    """What its rows are."""
    day: str = ""
    """Column of the day an entry is about."""
    place: str = ""
    """Column of what an entry is about: trap, block, station, lot or label."""
    known: bool = True
    """Whether that has to be set up before the entry comes."""
    shown: bool = True
    """Whether a replay shows it, and history keeps it."""
    since: int = 1
    """Schema that first had it."""

    @cached_property
    def record(self) -> type[Recorded]:
        """Its record, loaded when it is first needed."""
        found: type[Recorded] = getattr(import_module(self.module), self.record_name)
        return found

    @cached_property
    def fields(self) -> tuple[EntryField, ...]:
        """Its fields, those that are required first; without those that every entry bears."""
        hints = get_type_hints(self.record)
        common = {one.name for one in fields(Recorded)}
        own = [_field(one, hints[one.name]) for one in fields(self.record) if one.name not in common]
        return tuple(sorted(own, key=lambda one: not one.required))

    def field(self, name: str) -> EntryField:
        """One of its fields.

        Args:
            name: Its column.
        """
        return next(one for one in self.fields if one.name == name)


def _field(one: Any, hint: Any) -> EntryField:
    said: Fact = one.metadata["fact"]
    of, blank = hint, type(None) in get_args(hint)
    if blank:
        (of,) = (part for part in get_args(hint) if part is not type(None))
    words = of if issubclass(of, StrEnum) else None
    form = {str: Form.TEXT, bool: Form.FLAG, int: Form.WHOLE, date: Form.DAY}[str if words else of]
    required = one.default is MISSING
    default = None if required else kept(one.default)
    return EntryField(said.column or one.name, one.name, form, words, blank, required, default, said)


def kept(value: Any) -> Any:
    """A value of a record as a table keeps it.

    Args:
        value: The value.
    """
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, StrEnum):
        return value.value
    return int(value) if isinstance(value, bool) else value


_VISITS, _ORCHARD, _SHEET = (
    "roundtui.domain.visits",
    "roundtui.domain.orchard_entries",
    "roundtui.domain.paper.double_entry",
)
_SEASON, _KIT = "roundtui.domain.season_entries", "roundtui.domain.traps.entries"
KINDS = (
    Kind(
        *("visit", "visits", _VISITS, "Visit", "Entries about traps, those that were corrected or withdrawn included."),
        *("read_on", "trap"),
    ),
    Kind("stage", "stages", _VISITS, "StageSeen", "Fruit stages seen.", "seen_on", "block"),
    Kind("notified", "notifications", _VISITS, "Told", "Growers told what a block showed.", "round_on", "block"),
    Kind("biofix", "biofixes", _SEASON, "BiofixSettled", "Biofixes confirmed or set to another day.", "day", "block"),
    Kind("temperature", "temperatures", _SEASON, "TempsRead", "Temperatures entered by hand.", "day", "station"),
    Kind("question", "questions", "roundtui.domain.questions", "Question", "What is asked of entries.", "about_on"),
    Kind("sample", "samples", _ORCHARD, "Look", "Samples of leaf and fruit.", "sampled_on", "block"),
    Kind("treatment", "treatments", _ORCHARD, "TreatmentSaid", "Treatments reported.", "treated_on", "block"),
    Kind("specimen", "specimens", _ORCHARD, "Specimen", "Other catch in a trap.", "read_on", "trap"),
    Kind("part", "parts", _KIT, "PartNoted", "Parts of traps.", "noted_on", "label", known=False),
    Kind("assembly", "assemblies", _KIT, "Assembled", "Traps assembled.", "assembled_on", "trap", known=False),
    Kind("stock", "stocks", _KIT, "Stocked", "Lures bought or counted.", "stocked_on", "lot"),
    Kind("set-up", "set_up_changes", _KIT, "SetUpChanged", "Rows of the set-up, each state.", "done_on", known=False),
    Kind(
        *("sheet-order", "sheet_orders", _SHEET, "SheetOrder", "Orders of paper sheets, by route."),
        known=False,
        shown=False,
    ),
    Kind(
        *("double-entry", "double_entries", _SHEET, "DoubleEntry", "Rows of paper sheets as entered a second time."),
        *("read_on", "trap"),
        shown=False,
    ),
    Kind(
        *(
            "settlement",
            "settlements",
            _SHEET,
            "SheetSettled",
            "What the paper shows where two entries of a row differ.",
        ),
        *("read_on", "trap"),
        shown=False,
    ),
    Kind(
        *("withdrawal", "withdrawals", "roundtui.domain.recorded", "Withdrawal", "Entries that were withdrawn."),
        known=False,
        shown=False,
    ),
)
"""Every kind of entry, each after those it may refer to."""
KIND_OF = {kind.word: kind for kind in KINDS}
"""Kinds by their word."""
_MARK = re.compile("[a-z]")


def marked(kind: Kind, *forms: Form) -> tuple[EntryField, ...]:
    """Fields of a kind that have a letter in the tally notation.

    Args:
        kind: The kind.
        forms: What they hold.
    """
    return tuple(one for one in kind.fields if _MARK.fullmatch(one.fact.mark) and one.form in forms)
