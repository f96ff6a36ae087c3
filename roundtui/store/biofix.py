"""Biofixes confirmed, or set to another day with a reason: entries like all others."""

from __future__ import annotations

import sqlite3
from datetime import date, datetime

from roundtui.domain.plain import plain
from roundtui.domain.season_entries import BiofixSettled
from roundtui.domain.season_view import BiofixRow
from roundtui.errors import RefusedError
from roundtui.store.connect import transaction
from roundtui.store.journal import Author, record, withdraw
from roundtui.store.season import SeasonRecord

_SHOWN = 40
_AGAIN = "settled anew"
"""Reason kept with a second biofix that is taken back because one of the two was settled."""


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
    where = f"{plain(block, _SHOWN)} {plain(species, _SHOWN)} generation {generation}"
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
