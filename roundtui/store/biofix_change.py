"""What settling a biofix changes: statuses, what growers were told otherwise, and the dates of events."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from roundtui.domain.consequences import consequences
from roundtui.domain.outlook import EventOutlook
from roundtui.domain.season_entries import BiofixSettled
from roundtui.domain.verdicts import Summary
from roundtui.store.preview import preview
from roundtui.store.season import SeasonRecord
from roundtui.store.summary import summary_of


@dataclass(frozen=True, slots=True)
class BiofixChanges:
    """What is different with a biofix, in words."""

    statuses: tuple[str, ...]
    """The biofix itself, statuses of blocks, and what growers were told that the record then shows otherwise."""
    events: tuple[str, ...]
    """Events whose date moves."""


def biofix_changes(
    conn: sqlite3.Connection, folder: Path, season: SeasonRecord, entry: BiofixSettled, change: Callable[[], object]
) -> BiofixChanges:
    """Try a biofix out, and say what it changes; nothing is recorded.

    Args:
        conn: The store.
        folder: The scouting folder.
        season: The season as it stands.
        entry: The biofix to be settled.
        change: Records it.

    Raises:
        RefusedError: It would be refused.
        StoreError: The store cannot be written.
    """
    key = (entry.block, entry.species)

    def look() -> tuple[Summary, dict[str, str], date | None]:
        now = SeasonRecord(conn, folder, season.on, season.office)
        events = [event for view in now.outlooks(*key) for event in view.events]
        settled = [row.biofix.confirmed for row in now.biofixes(*key) if row.biofix.generation == entry.generation]
        summary = summary_of(conn, season.office, season.on).summary
        return summary, {_named(one): _when(one) for one in events}, settled[0] if settled else None

    (before, was, old), (after, now, new) = preview(conn, change, look)
    biofix = (entry.block, entry.species, entry.generation)
    told = consequences(before, after, biofix_before={biofix: old}, biofix_after={biofix: new})
    return BiofixChanges(
        tuple(str(one) for one in told if one.needs_a_word),
        tuple(f"{name}: {was[name]} becomes {now[name]}" for name in now if name in was and was[name] != now[name]),
    )


def _named(one: EventOutlook) -> str:
    return f"{one.event.name}, generation {one.generation}"


def _when(one: EventOutlook) -> str:
    if one.reached_on is not None:
        return f"reached {one.reached_on}"
    return f"expected {one.expected_on}" if one.expected_on else "not dated"
