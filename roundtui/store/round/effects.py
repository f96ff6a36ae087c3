"""What a change of the record would show, before anyone accepts it.

What a change of the record changes in what people act on: summaries, warnings, biofixes.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TypeVar

from roundtui.domain.figures.history import season_start
from roundtui.domain.figures.integrity import Spell, examine
from roundtui.domain.figures.rules import Office
from roundtui.domain.figures.summary import Biofixes, Consequence, consequences
from roundtui.domain.figures.verdicts import Summary
from roundtui.domain.programme.farm import Programme
from roundtui.store.connect import transaction
from roundtui.store.figures.summary import summary_of
from roundtui.store.read import history, programme_for, visits_of
from roundtui.store.season.season import SeasonRecord

T = TypeVar("T")


class _NotYetError(Exception):
    """Takes a trial back."""


def preview(conn: sqlite3.Connection, change: Callable[[], object], look: Callable[[], T]) -> tuple[T, T]:
    """What a look at the record shows before and after a change that is then taken back whole.

    The change is made for real and undone, so what is shown is what accepting it will show. Nobody else can write
    meanwhile, so the look should be quick.

    Args:
        conn: The store.
        change: Writes through ``conn``: a ``record`` or a ``withdraw``, or several.
        look: Reads through ``conn``, as a summary does.

    Returns:
        Both looks, for ``domain.consequences`` to compare.

    Raises:
        RefusedError: The change would be refused.
        StoreError: The store cannot be written.
    """
    seen: list[T] = []
    try:
        with transaction(conn):
            seen.append(look())
            change()
            seen.append(look())
            raise _NotYetError
    except _NotYetError:
        pass
    return seen[0], seen[1]


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
        days: Days whose summaries are looked at: those the change is about, and the newest on record. Where it says
            something else of a lure or body, every day of the season on which a trap was read that it bears on.
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
    days = {*days, *_days_of_scent(conn, office, change, max(days))} if about and days else set(days)
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


def _days_of_scent(
    conn: sqlite3.Connection, office: Office, change: Callable[[], object], on: date
) -> Collection[date]:
    """Days of a season on which traps were read whose lure or body a change puts in another light."""

    def look() -> Mapping[str, Sequence[Spell]]:
        known = programme_for(conn, on, office)
        seen = history(conn, known, on, office)
        return examine(known, seen.scent, on, seen.assembled, seen.bodies).spells

    before, after = preview(conn, change, look)
    found: set[date] = set()
    for trap in before.keys() | after.keys():
        spells = set(before.get(trap, ())) ^ set(after.get(trap, ()))
        if spells:
            first = max(min(spell.start or date.min for spell in spells), season_start(on, office.season_starts_on))
            found |= {visit.read_on for visit in visits_of(conn, trap, first, on) if visit.count is not None}
    return found


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
