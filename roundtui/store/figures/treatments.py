"""Treatments on record: with their watches, and which days a treatment touches."""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Iterable, Mapping
from datetime import date, datetime

from roundtui.domain.entries import TreatmentSaid
from roundtui.domain.figures.history import season_start
from roundtui.domain.figures.rules import Office
from roundtui.domain.figures.treatments import GroupAgain, Treated, check_treatment, groups_again, treated_in
from roundtui.domain.programme.farm import Programme
from roundtui.domain.programme.species import species_code
from roundtui.domain.round.checks import in_case
from roundtui.errors import ProblemsError, RefusedError
from roundtui.store.db import transaction
from roundtui.store.failures import plainly
from roundtui.store.figures.history import history
from roundtui.store.figures.learned import untreated_of
from roundtui.store.record.journal import Author, record
from roundtui.store.record.observations import present, settled_biofixes
from roundtui.store.record.read import programme_for
from roundtui.store.record.rows import TREATMENTS


def read_treated(
    conn: sqlite3.Connection, office: Office, on: date, *, blocks: Collection[str] | None = None
) -> tuple[tuple[Treated, ...], frozenset[str]]:
    """Treatments of the season up to a day, with the catch before and since.

    Args:
        conn: The store.
        office: For the start of the season.
        on: The day.
        blocks: Only those of these blocks; None: all.

    Returns:
        The treatments by block and species, the newest first, and the farms of the blocks asked for.

    Raises:
        StoreError: The store cannot be read.
    """
    known = programme_for(conn, on, office)
    said = present(conn, TREATMENTS, season_start(on, office.season_starts_on), on)
    entries = [one for one in said if blocks is None or one.block in blocks]
    asked = known.blocks if blocks is None else blocks
    farms = frozenset(known.farm_of(block) for block in asked) - {""}
    if not entries:
        return (), farms
    against = untreated_of(conn, known, office, on, {one.species for one in entries})
    return treated_in(known, history(conn, known, on, office), entries, on, against=against), farms


def read_groups_again(
    conn: sqlite3.Connection, office: Office, on: date, found: Iterable[Treated]
) -> tuple[GroupAgain, ...]:
    """Mode-of-action groups that growers named against two generations running.

    Args:
        conn: The store.
        office: For the start of the season.
        on: The day.
        found: Treatments of the season.
    """
    settled = settled_biofixes(conn, season_start(on, office.season_starts_on).year, on)
    starts = {key: [of[number][0].day for number in sorted(of)] for key, of in settled.items()}
    return groups_again((said for one in found for said in one.said), starts)


def days_touched(conn: sqlite3.Connection, office: Office, said: TreatmentSaid, on: date) -> tuple[date, ...]:
    """Days whose summaries a treatment can change: those since, on which its block was read or its grower was told.

    Args:
        conn: The store.
        office: Rules; where none of the species looks at treatments, no summary changes, and there are no such days.
        said: The treatment.
        on: Last day, included.

    Raises:
        StoreError: The store cannot be read.
    """
    if not any(rule.after_treatment and rule.species == said.species for rule in office.rules):
        return ()
    span = (said.block, said.treated_on.isoformat(), on.isoformat())
    with plainly(conn):
        days = conn.execute(
            "SELECT DISTINCT read_on FROM present_visits WHERE trap IN (SELECT trap FROM traps WHERE block = ?)"
            " AND read_on BETWEEN ? AND ? UNION SELECT round_on FROM present_notifications WHERE block = ?"
            " AND round_on BETWEEN ? AND ? ORDER BY 1",
            (*span, *span),
        ).fetchall()
    return tuple(date.fromisoformat(row[0]) for row in days)


def treatment_said(
    conn: sqlite3.Connection, programme: Programme, typed: Mapping[str, str], treated_on: date, today: date
) -> TreatmentSaid:
    """A treatment as it was typed, ready to be recorded.

    Args:
        conn: The store.
        programme: What is set up.
        typed: ``block``, ``species``, ``words`` and ``said_by``.
        treated_on: Day of the treatment.
        today: The present day.

    Raises:
        ProblemsError: There is no such block or species.
        RefusedError: The day is still to come, or the same is on record.
    """
    said = TreatmentSaid(
        block=in_case(typed["block"], programme.blocks),
        species=species_code(typed["species"]) or typed["species"],
        treated_on=treated_on,
        words=" ".join(typed["words"].split()),
        said_by=" ".join(typed["said_by"].split()),
    )
    problems = check_treatment(said, programme)
    if problems:
        raise ProblemsError("the treatment was not recorded", problems, "correct it, and enter it again")
    if treated_on > today:
        raise RefusedError(f"{treated_on} is still to come", "enter it once it is done")
    same_day: list[TreatmentSaid] = present(conn, TREATMENTS, treated_on, treated_on)
    for same in (one for one in same_day if _content(one) == _content(said)):
        hint = "nothing to do; to change it, withdraw it and enter it again"
        raise RefusedError(f"this treatment is recorded already, as {same.id}", hint)
    return said


def _content(said: TreatmentSaid) -> tuple[str, ...]:
    return said.block, said.species, said.words.casefold(), said.said_by.casefold()


def record_treatment(
    conn: sqlite3.Connection, said: TreatmentSaid, author: Author, now: datetime, *, no_entry_before: date | None = None
) -> TreatmentSaid:
    """Put a treatment on record, and with it the day before which its block must not be entered: both or neither.

    Args:
        conn: The store.
        said: The treatment, checked before.
        author: Who and where.
        now: Instant of recording, with its time zone.
        no_entry_before: As the grower said; None: nothing was said of it.

    Raises:
        RefusedError: The day lies before the treatment, or the entry cannot be recorded.
        StoreError: The store cannot be written.
    """
    from roundtui.store.set_up.columns import BY_NAME
    from roundtui.store.set_up.register import carry_out, edited, row_of

    if no_entry_before is not None and no_entry_before < said.treated_on:
        raise RefusedError(f"no entry before {no_entry_before} lies before the treatment", "correct one of the days")
    with transaction(conn):
        (recorded,) = record(conn, [said], author, now)
        if no_entry_before is not None:
            blocks = BY_NAME["blocks.csv"]
            here = row_of(conn, blocks, said.block)
            day = no_entry_before.isoformat()
            if here["no_entry_before"] != day:
                words = f"treated on {said.treated_on}, as the grower said"
                carry_out(conn, edited(blocks, here, {"no_entry_before": day}, said.treated_on, words), author, now)
    return recorded
