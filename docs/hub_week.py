"""A week's block figures from the hub, by SQL and pandas alone: catch per trap per week, mean of a block's traps.

    python docs/hub_week.py SERVICE 2026-05-20

SERVICE is a service of libpq that logs in as a reader. This is an example to begin from: it follows the rules of
methods.md on days, reasons and moths left in, and knows nothing of wrong lures, conflicts and traps that were moved.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

RESTARTS = ("missing", "down", "damaged")
"""Reasons after which the days of exposure begin anew."""
LONGEST = 28
"""Days over which a reading has no weekly rate. [d]"""


def block_figures(table: Callable[[str], Any], on: date, *, copied: bool = False) -> dict[tuple[str, str], float]:
    """Mean catch per trap per week of each block and species, in the seven days that end on a day.

    Args:
        table: Gives the answer to a query as a data frame.
        on: The day.
        copied: Whether to ask the nightly copies instead of the entries as they are now.
    """
    suffix = "_copy" if copied else ""
    traps = table(f"SELECT trap, block, species, hung_on, edge FROM statistics.traps{suffix}")  # noqa: S608
    visits = table(
        f"SELECT trap, read_on, count, no_reading, cleared FROM statistics.visits{suffix}"  # noqa: S608
        f" WHERE NOT recount AND read_on <= '{on}' AND (count IS NOT NULL OR no_reading IS NOT NULL)"
        " ORDER BY trap, read_on, recorded_at"
    )
    first = on - timedelta(days=7)
    rates: dict[tuple[str, str], list[float]] = {}
    for row in traps.itertuples():
        if row.edge != "1":
            caught, days = _newest(visits[visits.trap == row.trap], row.hung_on, first)
            if days:
                rates.setdefault((row.block, row.species), []).append(caught * 7 / days)
    return {block: sum(of) / len(of) for block, of in rates.items()}


def _newest(visits: Any, hung_on: date, first: date) -> tuple[float, int]:
    """Catch and days of a trap: its newest reading after a day, with those whose days all lie after it too."""
    since, left, caught, days = hung_on, 0.0, 0.0, 0
    for visit in visits.itertuples():
        if visit.no_reading in RESTARTS:
            since, left = visit.read_on, 0.0
        elif not isinstance(visit.no_reading, str):
            exposed = (visit.read_on - since).days
            if visit.read_on > first and 0 < exposed <= LONGEST:
                joined = since >= first
                caught = (caught if joined else 0.0) + visit.count - left
                days = (days if joined else 0) + exposed
            since, left = visit.read_on, 0.0 if visit.cleared else float(visit.count)
    return caught, days


def main(service: str, on: str) -> None:
    """Print the figures."""
    import pandas as pd
    import psycopg

    with psycopg.connect(service=service, sslmode="verify-full") as conn:

        def table(query: str) -> pd.DataFrame:
            cursor = conn.execute(query)
            return pd.DataFrame(cursor.fetchall(), columns=[column.name for column in cursor.description or ()])

        for (block, species), mean in sorted(block_figures(table, date.fromisoformat(on)).items()):
            print(f"{block}  {species}  {mean:.1f}")  # noqa: T201


if __name__ == "__main__":
    main(*sys.argv[1:3])
