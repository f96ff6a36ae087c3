"""What a deed of the register would leave behind and change, said before anybody accepts it."""

from __future__ import annotations

import sqlite3
from datetime import datetime
from pathlib import Path

from roundtui.domain.figures.rules import Office
from roundtui.store.journal import Author
from roundtui.store.read import newest_read_on
from roundtui.store.round.effects import effects
from roundtui.store.set_up.register import Deed, carry_out, remarks_on

_JUDGED = ("traps", "lots", "blocks")
"""Tables whose rows bear on a figure."""


def said_before(
    conn: sqlite3.Connection, deed: Deed, author: Author, *, folder: Path, office: Office, now: datetime
) -> tuple[str, ...]:
    """In words, what contradicts itself after a deed, and what changes in what people act on. Nothing is recorded.

    Args:
        conn: The store.
        deed: What is to be done.
        author: Who would do it.
        folder: The scouting folder.
        office: Its rules and season.
        now: Instant.

    Raises:
        ProblemsError: A row cannot stand so.
        RefusedError: A row was changed meanwhile, or nothing would change.
    """
    found = [str(problem) for problem in remarks_on(conn, deed)]
    newest = newest_read_on(conn)
    if newest is None or not any(change.file.table in _JUDGED for change in deed.changes):
        return tuple(found)
    rows = [row for change in deed.changes for row in (change.was, change.becomes) if row and "trap" in row]
    seen = effects(
        conn,
        folder,
        office,
        lambda: carry_out(conn, deed, author, now),
        days={newest},
        traps={str(row["trap"]) for row in rows},
        keys={(str(row["block"]), str(row["species"])) for row in rows},
    )
    return (*found, *(str(one) for one in seen if one.needs_a_word))
