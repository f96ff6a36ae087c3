"""Which traps may ever have been in trouble, worked out anew after the set-up changed."""

from __future__ import annotations

import sqlite3

from roundtui.store.schema import FOREIGN


def find_troubled(conn: sqlite3.Connection) -> None:
    """Fill ``bodies`` and ``troubled`` from the whole record.

    New entries keep the two up by themselves; this is for a load that changed traps or lots, and reads all years.

    Args:
        conn: The store, inside a transaction.
    """
    conn.execute("DELETE FROM bodies")
    conn.execute("DELETE FROM troubled")
    conn.execute(
        "INSERT OR IGNORE INTO bodies SELECT body, trap FROM visits WHERE body IS NOT NULL AND body <> 'yes'"
        " UNION SELECT body_label, trap FROM traps WHERE body_label <> ''"
    )
    conn.execute(
        "INSERT OR IGNORE INTO troubled SELECT trap FROM bodies"
        " WHERE label IN (SELECT label FROM bodies GROUP BY label HAVING count(*) > 1)"
    )
    for lure in ("lure", "lure_found"):
        foreign = FOREIGN.format(lure=f"visits.{lure}", trap="visits.trap")
        conn.execute(
            f"INSERT OR IGNORE INTO troubled SELECT trap FROM visits WHERE {lure} IS NOT NULL AND {foreign}"  # noqa: S608
        )
    conn.execute(
        "INSERT OR IGNORE INTO troubled SELECT traps.trap FROM traps JOIN lots ON lots.lot = traps.lot"
        " WHERE lots.species <> traps.species"
    )
