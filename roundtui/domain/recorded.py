"""What every entry of a person bears, and how a field of an entry is declared."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Fact:
    """What is said of a field of an entry, once, for tables, files, notation and pages."""

    words: str
    """What it holds, as a reader of an open file needs to know it."""
    mark: str = ""
    """Its letter in the tally notation; of a yes or no it stands for the value that is not the default."""
    short: str = ""
    """What a screen calls it in a word or two: of a yes or no, when it is not its default; else behind its number."""
    column: str = ""
    """Its name in tables and files, where that is not the name of the field."""
    since: int = 1
    """Schema that first had it."""
    least: int | None = None
    """Lowest number."""
    most: int | None = None
    """Highest number."""
    pattern: str = ""
    """What a text looks like, as a regular expression."""


def fact(
    words: str,
    *,
    mark: str = "",
    short: str = "",
    column: str = "",
    since: int = 1,
    least: int | None = None,
    most: int | None = None,
    pattern: str = "",
) -> Mapping[str, Fact]:
    """The metadata of a field of an entry; see ``Fact``."""
    return {"fact": Fact(words, mark, short, column, since, least, most, pattern)}


NUMBER = r"-?[0-9]+(\.[0-9]+)?"
"""What a decimal number kept as a text looks like."""
ID = "[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}"
"""What an id looks like."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """One entry on record, whatever it is about."""

    scout: str = field(default="", metadata=fact("Who recorded it."))
    device: str = field(default="", metadata=fact("Laptop it was recorded on, by its name."))
    recorded_at: datetime | None = field(default=None, metadata=fact("Instant of recording, UTC."))
    id: str = field(
        default="",
        metadata=fact("Universal id of the entry, in the order of time (RFC 9562, version 7).", pattern=ID),
    )
    replaces: str | None = field(
        default=None,
        metadata=fact("Id of the entry that this one corrects; the other stays on record.", pattern=ID),
    )
    reason: str = field(default="", metadata=fact("Why it was corrected or withdrawn."))


@dataclass(frozen=True, slots=True, kw_only=True)
class Withdrawal(Recorded):
    """That an entry was withdrawn and not replaced."""

    entry: str = field(metadata=fact("Id of the entry that is withdrawn.", pattern=ID))
    kind: str = field(metadata=fact("Kind of that entry.", column="entry_kind"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Unknown(Recorded):
    """An entry of a kind, or with words, that only a newer program knows; it is kept and handed on as it came."""

    kind: str = field(metadata=fact("Word for the kind of entry."))
