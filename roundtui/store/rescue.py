"""What becomes of a record whose file was taken away while it was open."""

from __future__ import annotations

import secrets
from contextlib import closing
from pathlib import Path

from roundtui.errors import RoundtuiError
from roundtui.store.backup import copy_store
from roundtui.store.connect import open_store
from roundtui.store.db import DB_NAME
from roundtui.store.failures import Store
from roundtui.store.record.device import state_folder
from roundtui.store.record.journal import Author, record
from roundtui.store.record.rows import table_of


def rescue(conn: Store) -> Path | None:
    """Keep a store whose file was taken away, and the entries that were to go into it, with the person's other state.

    Args:
        conn: The store, which its open file still holds.

    Returns:
        Where it is kept; None where it could not be.
    """
    folder = conn.rescued or state_folder() / f"rescued-{conn.path.parent.name}-{secrets.token_hex(4)}"
    try:
        if conn.rescued is None:
            copy_store(conn, folder / DB_NAME)
            conn.rescued = folder
        for entry in conn.unsaved:
            table = table_of(type(entry))
            # Whoever presses Enter again means the same entry.
            said = dict(zip(table.columns, table.values(entry), strict=True))
            del said["id"], said["recorded_at"]
            with closing(open_store(folder, now=entry.recorded_at)) as there:
                where = " AND ".join(f"{name} IS ?" for name in said)
                if not there.execute(f"SELECT 1 FROM {table.name} WHERE {where}", tuple(said.values())).fetchone():  # noqa: S608
                    record(there, [entry], Author(entry.scout, entry.device), entry.recorded_at)
    except (RoundtuiError, OSError):
        return None
    return folder / DB_NAME
