"""Corrections made ready to record: the entry as it stands, changed, and held against what is possible."""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from datetime import date

from roundtui.domain.programme.farm import Programme
from roundtui.domain.recorded import Withdrawal
from roundtui.domain.round.checks import as_registered, check_visit
from roundtui.domain.text import plain
from roundtui.domain.visits import Draft, Visit
from roundtui.errors import ProblemsError, RefusedError
from roundtui.store.chains import chain, table_of
from roundtui.store.read import JournalRow, same_day
from roundtui.store.rows import VISITS, Entry

TAKEN_BACK = "the correction is withdrawn"
"""Reason kept with an entry that says again what a correction had replaced."""


def correction(
    conn: sqlite3.Connection,
    programme: Programme,
    entry_id: str,
    draft: Draft,
    *,
    reason: str,
    scout: str,
    today: date,
    trap: str | None = None,
    read_on: date | None = None,
    recount: bool | None = None,
) -> Visit:
    """A correction of a visit, ready for ``record`` and for ``preview``.

    Args:
        conn: The store.
        programme: What is set up.
        entry_id: Id of the visit, which must stand.
        draft: What it should have said.
        reason: Why; not blank.
        scout: Who corrects.
        today: No reading can be later.
        trap: The trap it should have been; None: as it is.
        read_on: The day it should have been; None: as it is.
        recount: Whether it should have been marked as a second look at the catch; None: as it is.

    Raises:
        RefusedError: There is no such visit, it does not stand any more, or no reason is given.
        ProblemsError: It cannot be as corrected.
    """
    if not reason.strip():
        raise RefusedError("correcting an entry needs a reason", "say why")
    old = standing_visit(conn, entry_id)
    new = draft.visit(
        old.trap if trap is None else trap,
        old.read_on if read_on is None else read_on,
        recount=old.recount if recount is None else recount,
        scout=scout,
        replaces=old.id,
        reason=reason,
    )
    new = as_registered(new, programme)
    problems = check_visit(new, programme, today=today, same_day=same_day(conn, new.trap, new.read_on))
    if problems:
        raise ProblemsError("this correction is not possible; nothing was changed", problems, "correct it as it was")
    return new


def standing_visit(conn: sqlite3.Connection, entry_id: str) -> Visit:
    """A visit that stands.

    Args:
        conn: The store.
        entry_id: Its id.

    Raises:
        RefusedError: There is no such visit, or it was corrected or taken back; what stands instead is named.
    """
    if table_of(conn, entry_id) is not VISITS:
        raise RefusedError(f"{entry_id} is no visit to a trap", "withdraw it, and enter it again")
    rows = chain(conn, entry_id)
    found = next(row for row in rows if row.id == entry_id)
    if isinstance(found.entry, Visit) and found.present:
        return found.entry
    standing = [row.id for row in rows if row.present and isinstance(row.entry, Visit)]
    hint = f"it is now {' and '.join(standing)}" if standing else "nothing replaces it; enter it again"
    raise RefusedError(f"{plain(entry_id, 60)} was corrected or withdrawn already", hint)


def before_correction(conn: sqlite3.Connection, entry_id: str) -> Entry:
    """An entry that says again what a correction had replaced, ready for ``record``.

    A correction that is withdrawn leaves nothing standing: what it had replaced does not come back by itself. Whoever
    wants the former entry back records this in place of the correction.

    Args:
        conn: The store.
        entry_id: Id of the correction, which must stand.

    Raises:
        RefusedError: It is no correction, or does not stand.
    """
    rows = {row.id: row for row in chain(conn, entry_id)}
    found = rows.get(entry_id)
    if found is None or not found.present or found.entry.replaces is None:
        raise RefusedError(
            f"{plain(entry_id, 60)} is not a correction that holds", "see its history with roundtui chain"
        )
    return _again(rows[found.entry.replaces], entry_id)


def _again(row: JournalRow, replaces: str) -> Entry:
    entry = row.entry
    if isinstance(entry, Withdrawal):
        raise RefusedError("a withdrawal is not corrected", "enter it again")
    return replace(entry, id="", recorded_at=None, device="", scout="", replaces=replaces, reason=TAKEN_BACK)
