"""Signs that a laptop's clock ran backward, or was far off, while entries were recorded."""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from roundtui.domain.plain import plain
from roundtui.store.rows import JOURNALS, STANDING

if TYPE_CHECKING:
    from roundtui.store.verify import Check

_SHOWN = 40
_TOLERATED = timedelta(minutes=1)
_DAY = timedelta(days=1)


@dataclass(slots=True)
class _Steps:
    """Steps back of one laptop's clock."""

    count: int = 0
    most: timedelta = timedelta()
    at: str = ""
    entry: str = ""

    def add(self, by: timedelta, at: str, entry: str) -> None:
        self.count += 1
        if by > self.most:
            self.most, self.at, self.entry = by, at, entry

    def __str__(self) -> str:
        times = "once" if self.count == 1 else f"{self.count} times"
        return f"{times}, by {_long(self.most)} at most, at {self.at} ({self.entry})"


def check_clocks(conn: sqlite3.Connection, check: Check, own: str) -> Check:
    """Look for clocks that ran backward.

    What was entered on this laptop stands in the order it was written. What came from others stands in the order it was
    merged, so of those only the ids tell: they never go back while a program runs.

    Args:
        conn: The store.
        check: Takes what is found; nothing of it is a fault, since a round's days are written down and not clocked.
        own: Name of this laptop.
    """
    devices = [
        row[0]
        for row in conn.execute(
            " UNION ".join(f"SELECT DISTINCT device FROM {table.name}" for table in JOURNALS)  # noqa: S608
        )
    ]
    check.looked_at = len(devices)
    back: dict[str, _Steps] = defaultdict(_Steps)
    for table in JOURNALS:
        for order, whose in (("id", "<>"), ("rowid", "=")):
            last: dict[str, str] = {}
            for entry, device, at in conn.execute(
                f"SELECT id, device, recorded_at FROM {table.name} WHERE device {whose} ? ORDER BY {order}",  # noqa: S608
                (own,),
            ):
                before = last.get(device, "")
                if at < before and _instant(before) - _instant(at) > _TOLERATED:
                    back[device].add(_instant(before) - _instant(at), at, entry)
                last[device] = at
    for device, steps in sorted(back.items()):
        check.remarks.append(f"the clock of {plain(device, _SHOWN) or 'a laptop'} ran backward {steps}")
    _corrections(conn, check)
    _ahead_of_clock(conn, check)
    return check


def _corrections(conn: sqlite3.Connection, check: Check) -> None:
    found = []
    for table in STANDING:
        found += conn.execute(
            f"SELECT later.id, later.device FROM {table.name} AS later JOIN {table.name} AS entry"  # noqa: S608
            " ON entry.id = later.replaces WHERE later.recorded_at < entry.recorded_at UNION ALL"
            f" SELECT w.id, w.device FROM withdrawals AS w JOIN {table.name} AS entry ON entry.id = w.entry"
            " WHERE w.recorded_at < entry.recorded_at"
        ).fetchall()
    if found:
        devices = ", ".join(sorted({plain(device, _SHOWN) for _, device in found}))
        check.remarks.append(f"{len(found)} corrections were recorded before what they correct, on {devices}")


def _ahead_of_clock(conn: sqlite3.Connection, check: Check) -> None:
    """Entries about a day that had not begun anywhere on earth when they were recorded."""
    found = conn.execute(
        "SELECT device, count(*), min(id) FROM visits WHERE read_on > date(recorded_at, '+1 day')"
        " GROUP BY device ORDER BY device"
    ).fetchall()
    for device, count, entry in found:
        check.remarks.append(
            f"{count} visits were recorded on {plain(device, _SHOWN) or 'a laptop'} before their own day ({entry})"
        )


def _instant(text: str) -> datetime:
    return datetime.fromisoformat(text)


def _long(span: timedelta) -> str:
    if span >= _DAY:
        return f"{span.days} d {span.seconds // 3600} h"
    return f"{span.seconds // 3600} h {span.seconds // 60 % 60} min"
