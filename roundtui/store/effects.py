"""What a change of the record changes in what people act on: summaries, warnings, biofixes."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Collection, Iterable
from datetime import date
from pathlib import Path

from roundtui.domain.consequences import Biofixes, Consequence, consequences
from roundtui.domain.farm import Programme
from roundtui.domain.history import season_start
from roundtui.domain.rules import Office
from roundtui.domain.verdicts import Summary
from roundtui.store.preview import preview
from roundtui.store.season import SeasonRecord
from roundtui.store.summary import summary_of


def effects(
    conn: sqlite3.Connection,
    folder: Path,
    office: Office,
    change: Callable[[], object],
    *,
    days: Collection[date],
    traps: Iterable[str] = (),
    keys: Collection[tuple[str, str]] = (),
) -> tuple[Consequence, ...]:
    """Try a change out, and say what it changes; nothing is recorded.

    Args:
        conn: The store.
        folder: The scouting folder, for the office's models.
        office: Its rules and season.
        change: Writes through ``conn``: a ``record`` or a ``withdraw``, or several.
        days: Days whose summaries are looked at: those the change is about, and the newest on record.
        traps: Traps it is about, whose blocks' biofixes are looked at on the last of the days in each season.
        keys: Further blocks and species of which they are, as those that a trap comes to hang in.

    Returns:
        What is different, the oldest day first.

    Raises:
        RefusedError: The change would be refused.
        RoundtuiError: The office's models are faulty.
        StoreError: The store cannot be written.
    """
    about = tuple(traps)
    last = {season_start(day, office.season_starts_on): day for day in sorted(days)}

    def look() -> list[tuple[Summary, Biofixes]]:
        seen = []
        for day in sorted(days):
            found = summary_of(conn, office, day)
            biofixes: Biofixes = {}
            if day in last.values() and (about or keys):
                biofixes = _biofixes(SeasonRecord(conn, folder, day, office), found.programme, about, keys)
            seen.append((found.summary, biofixes))
        return seen

    both = preview(conn, change, look)
    return tuple(
        one
        for (before, biofix_before), (after, biofix_after) in zip(*both, strict=True)
        for one in consequences(before, after, biofix_before=biofix_before, biofix_after=biofix_after)
    )


def _biofixes(
    season: SeasonRecord, programme: Programme, traps: Iterable[str], more: Collection[tuple[str, str]]
) -> Biofixes:
    """Biofixes of the blocks and species of some traps, confirmed or proposed."""
    keys = {(row.block, row.species) for trap in traps for row in programme.hangings.get(trap, ())} | set(more)
    return {
        (row.block, row.species, row.biofix.generation): row.biofix.on
        for key in sorted(keys)
        for row in season.biofixes(*key)
    }
