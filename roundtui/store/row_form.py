"""The form that every kind of entry has as a row: the columns of who and when, days, instants, and the digest."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import lru_cache
from typing import Any

Row = tuple[Any, ...]
AUTHOR = ("id", "recorded_at", "scout", "device", "replaces", "reason")
"""Columns that every table of entries begins with."""


@dataclass(frozen=True, slots=True)
class Table:
    """Where one kind of entry is kept."""

    kind: str
    """Word for it in the record: visit, stage, look, treatment …"""
    name: str
    """Name of the table."""
    columns: tuple[str, ...]
    """Columns in the order of ``values`` and ``entry``."""
    day: str
    """Column of the day an entry is about."""
    values: Callable[[Any], Row]
    """Row of an entry."""
    entry: Callable[[Row], Any]
    """Entry of a row."""
    place: str = ""
    """Column of what an entry is about: trap, block, station, lot or label."""
    known: bool = True
    """Whether that has to be set up before the entry comes."""

    @property
    def listed(self) -> str:
        """Its columns as SQL lists them."""
        return ", ".join(self.columns)

    @property
    def insert(self) -> str:
        """Statement that adds one row, with its digest."""
        marks = ", ".join("?" * (len(self.columns) + 1))
        return f"INSERT INTO {self.name} ({self.listed}, digest) VALUES ({marks})"  # noqa: S608

    def signed(self, values: Row) -> Row:
        """A row with the digest of what it says, as ``insert`` takes it.

        Args:
            values: The row, in the order of ``columns``.
        """
        return (*values, self.digest(values))

    def digest(self, values: Row) -> bytes:
        """SHA-256 of what a row says: of its kind and its values, as a JSON array in UTF-8 without blanks.

        Args:
            values: The row, in the order of ``columns``.
        """
        # Loaded on first use: the first prompt comes before the first entry.
        import hashlib
        import json

        text = json.dumps((self.kind, *values), ensure_ascii=False, separators=(",", ":"))
        return hashlib.sha256(text.encode()).digest()


def instant(value: datetime | None) -> str:
    """An instant as kept: UTC, always with six decimals, so that texts sort as instants do."""
    if value is None:
        raise ValueError("an entry is recorded at an instant")
    if value.tzinfo is None:
        raise ValueError("an instant needs its time zone")
    return value.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


@lru_cache(maxsize=4096)
def day(text: str) -> date:
    """A day as kept. A season has few days and many entries, so each is read once."""
    return date.fromisoformat(text)


def day_or_none(text: str | None) -> date | None:
    """A day, or None where none is kept."""
    return day(text) if text else None


def author(row: Row) -> dict[str, Any]:
    """Who, when and why, as the fields of an entry.

    Args:
        row: The row of the entry.
    """
    return dict(zip(AUTHOR, (row[0], datetime.fromisoformat(row[1]), *row[2:6]), strict=True))


def author_values(entry: Any) -> Row:
    """Who, when and why, as a row begins.

    Args:
        entry: Any entry.
    """
    return (entry.id, instant(entry.recorded_at), entry.scout, entry.device, entry.replaces, entry.reason)
