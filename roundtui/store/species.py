"""Species of the office's own, from the store to wherever a species is named."""

from __future__ import annotations

import sqlite3

from roundtui.domain.programme.species import take_office_species


def know_species(conn: sqlite3.Connection) -> None:
    """Make the species of a store known; see ``take_office_species``.

    Args:
        conn: The store.
    """
    take_office_species(conn.execute("SELECT species, name, latin, synonyms, lure_days FROM species"))
