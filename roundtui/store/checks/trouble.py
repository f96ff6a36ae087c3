"""Which traps may ever have been in trouble, worked out anew after the set-up changed."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator

SERVICE = {"lure": "lure IS NOT NULL", "liner": "liner = 1", "kill-strip": "kill_strip = 1", "body": "body IS NOT NULL"}
"""What makes a visit one that replaced an item; each has its index, so that the newest is found at once."""
NAMED_LOT = "lure IS NOT NULL AND lure <> 'yes' AND lure <> 'none'"
"""What makes a visit one that names the lot of the lure it put in."""
SCENT = "(lure IS NOT NULL OR lure_found IS NOT NULL OR body IS NOT NULL)"
"""What makes a visit matter to the scent of a trap body."""
FOREIGN = (
    "({lure} = 'none' OR ({lure} <> 'yes' AND coalesce((SELECT species FROM lots WHERE lot = {lure}), {lure})"
    " IS NOT (SELECT species FROM traps WHERE traps.trap = {trap} LIMIT 1)))"
)
"""Whether a lure written in an entry is none, or of another species than the trap's."""
_SPECIES = "(SELECT species FROM traps WHERE traps.trap = {0} LIMIT 1)"
OTHER_LOT = (
    "coalesce((SELECT species FROM lots WHERE lots.lot = {0}.lot), {0}.lot)"  # noqa: S608
    f" IS NOT coalesce({_SPECIES.format('{0}.trap')}, {{0}}.species)"
)
"""Whether a trap was assembled with a lure of another species than its own."""
OF_OTHER_USE = (
    f"({{part}}.part = 'body' AND {{part}}.state <> 'new' AND {{part}}.species IS NOT {_SPECIES.format('{trap}')})"
)
"""Whether a part is a body that was used for another species than a trap's."""


_BODIES = (
    "SELECT body AS label, trap FROM visits WHERE body IS NOT NULL AND body <> 'yes'"
    " UNION SELECT body_label, trap FROM traps WHERE body_label <> ''"
    " UNION SELECT body_label, trap FROM assemblies WHERE body_label <> ''"
)
"""Labels of bodies, with every trap they were ever in."""


def _suspect(bodies: str) -> Iterator[str]:
    """Statements that seek the traps that may ever have been in trouble.

    Args:
        bodies: Table that holds what ``_BODIES`` gives.
    """
    yield f"SELECT trap FROM {bodies} WHERE label IN (SELECT label FROM {bodies} GROUP BY label HAVING count(*) > 1)"  # noqa: S608
    for lure in ("lure", "lure_found"):
        foreign = FOREIGN.format(lure=f"visits.{lure}", trap="visits.trap")
        yield f"SELECT trap FROM visits WHERE {lure} IS NOT NULL AND {foreign}"  # noqa: S608
    yield "SELECT traps.trap FROM traps JOIN lots ON lots.lot = traps.lot WHERE lots.species <> traps.species"
    yield f"SELECT trap FROM assemblies WHERE lot <> '' AND {OTHER_LOT.format('assemblies')}"  # noqa: S608
    other = OF_OTHER_USE.format(part="parts", trap=f"{bodies}.trap")
    yield f"SELECT {bodies}.trap FROM parts JOIN {bodies} ON {bodies}.label = parts.label WHERE {other}"  # noqa: S608


def find_suspect(conn: sqlite3.Connection) -> None:
    """Fill ``bodies`` and ``suspect`` from the whole record.

    New entries keep the two up by themselves; this is for a load that changed traps or lots, and reads all years.

    Args:
        conn: The store, inside a transaction.
    """
    conn.execute("DELETE FROM bodies")
    conn.execute("DELETE FROM suspect_traps")
    conn.execute(f"INSERT OR IGNORE INTO bodies {_BODIES}")
    for statement in _suspect("bodies"):
        conn.execute(f"INSERT OR IGNORE INTO suspect_traps {statement}")


def missed(conn: sqlite3.Connection) -> list[str]:
    """Traps that ought to be among the suspect and are not, worked out from the whole record.

    Args:
        conn: The store.
    """
    known = {trap for (trap,) in conn.execute("SELECT trap FROM suspect_traps")}
    sought = (f"WITH used AS ({_BODIES}) {statement}" for statement in _suspect("used"))
    return sorted({trap for statement in sought for (trap,) in conn.execute(statement)} - known)
