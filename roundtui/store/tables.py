"""The tables of all kinds of entries. Opening a round needs few of them: those stand in ``rows`` alone."""

from __future__ import annotations

from roundtui.store.beside_rows import BESIDE
from roundtui.store.row_form import Table
from roundtui.store.rows import ROUND

TABLES: dict[type, Table] = {**ROUND, **BESIDE}
"""Table of each kind of entry."""
