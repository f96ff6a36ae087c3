"""Biofixes confirmed, or set to another day with a reason: entries like all others.

What settling a biofix changes: statuses, what growers were called on an older figure, and the dates of events.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path

from roundtui.domain.entries import BiofixSettled
from roundtui.domain.season.outlook import EventOutlook
from roundtui.domain.season.season import BiofixRow
from roundtui.domain.text import SHOWN, sanitize
from roundtui.errors import RefusedError
from roundtui.store.db import transaction
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.round.changes import effects, preview
from roundtui.store.season.season import SeasonRecord

_AGAIN = "settled again"
"""Reason kept with a second biofix that is withdrawn because one of the two was settled."""


def settlement(
    season: SeasonRecord, block: str, species: str, generation: int, *, day: date | None = None, reason: str = ""
) -> BiofixSettled:
    """What would be recorded to confirm a biofix, or to set another day.

    Args:
        season: The season, on the day of confirming.
        block: Code of the block.
        species: Abbreviation of the species.
        generation: Generation of the season.
        day: The day; None: the one proposed.
        reason: Why it is another day than the proposed one.

    Raises:
        RefusedError: There is nothing to confirm, the day cannot be, a reason is needed, or it stands just so.
    """
    where = f"{sanitize(block, SHOWN)} {sanitize(species, SHOWN)} generation {generation}"
    row = _row(season, block, species, generation, where)
    proposal = row.biofix.proposal if row else None
    proposed = proposal.on if proposal else None
    chosen = day or proposed
    if chosen is None:
        why = f": {proposal.why}" if proposal else ""
        raise RefusedError(f"nothing is proposed for {where}{why}", "set a day with --day and say why with --reason")
    if not season.first <= chosen <= season.on:
        raise RefusedError(
            f"{chosen} is no biofix for {where}", f"it lies between {season.first} and {season.on}; correct the day"
        )
    if chosen != proposed and not reason.strip():
        shown = f"the rule proposes {proposed}" if proposed else "the rule proposes no day"
        raise RefusedError(f"{shown} for {where}, not {chosen}", "say why with --reason")
    standing = row.settled if row else ()
    if len(standing) == 1 and standing[0].day == chosen:
        raise RefusedError(f"{where} is settled on {chosen} already", "nothing was changed")
    return BiofixSettled(
        block=block,
        species=species,
        season=season.season,
        generation=generation,
        day=chosen,
        proposed=proposed,
        rule=proposal.rule.id if proposal else "",
        replaces=standing[0].id if standing else None,
        reason=reason.strip(),
    )


def _row(season: SeasonRecord, block: str, species: str, generation: int, where: str) -> BiofixRow | None:
    if (block, species) not in season.series:
        raise RefusedError(f"no trap for {where} hung this season", "see roundtui biofix for the blocks that have one")
    rows = {row.biofix.generation: row for row in season.biofixes(block, species)}
    newest = max((gen for gen, row in rows.items() if row.biofix.on is not None), default=0)
    if generation > newest + 1:
        raise RefusedError(f"{where} cannot be settled before generation {newest + 1}", "settle the earlier one first")
    return rows.get(generation)


def settle_biofix(
    conn: sqlite3.Connection, season: SeasonRecord, entry: BiofixSettled, author: Author, now: datetime
) -> BiofixSettled:
    """Put a biofix on record; where two days stood for it, this settles the question.

    Args:
        conn: The store.
        season: The season that ``entry`` was made from.
        entry: As ``settlement`` gives it.
        author: Who and on which laptop.
        now: Instant of recording.

    Returns:
        The entry as recorded.

    Raises:
        RefusedError: It was changed meanwhile, or nobody is named.
        StoreError: The store cannot be written.
    """
    others = [
        one.id
        for row in season.biofixes(entry.block, entry.species)
        if row.biofix.generation == entry.generation
        for one in row.settled
        if one.id != entry.replaces
    ]
    with transaction(conn):
        (recorded,) = record(conn, [entry], author, now)
        for other in others:
            withdraw(conn, other, _AGAIN, author, now)
    return recorded


def biofix_changes(
    conn: sqlite3.Connection, folder: Path, season: SeasonRecord, entry: BiofixSettled, change: Callable[[], object]
) -> tuple[str, ...]:
    """Try a biofix out, and say in words what it changes; nothing is recorded.

    The biofix itself, statuses of blocks, what growers were told that the record then shows otherwise, and events whose
    date moves.

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

    def dated() -> dict[str, str]:
        now = SeasonRecord(conn, folder, season.on, season.office, (key,))
        return {_named(one): _when(one) for view in now.outlooks(*key) for one in view.events}

    found = effects(conn, folder, season.office, change, days={season.on}, keys={key})
    was, now = preview(conn, change, dated)
    moved = (f"{name}: {was[name]} becomes {now[name]}" for name in now if name in was and was[name] != now[name])
    return (*(str(one) for one in found if one.needs_a_word), *moved)


def _named(one: EventOutlook) -> str:
    return f"{one.event.name}, generation {one.generation}"


def _when(one: EventOutlook) -> str:
    if one.reached_on is not None:
        return f"reached {one.reached_on}"
    return f"expected {one.expected_on}" if one.expected_on else "not dated"
