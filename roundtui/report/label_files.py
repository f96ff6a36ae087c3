"""Labels of traps, read from the record and written as a page or a text."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from roundtui.domain.kit.entries import Assembled
from roundtui.domain.kit.labels import SHEETS, USUAL_SHEET, trap_labels
from roundtui.errors import RefusedError
from roundtui.report.labels import labels_html, labels_text
from roundtui.store.beside import present
from roundtui.store.failures import plainly
from roundtui.store.read import programme
from roundtui.store.rows import ASSEMBLIES
from roundtui.store.whole_file import write_whole


def assembled(conn: sqlite3.Connection, on: date = date.max) -> tuple[Assembled, ...]:
    """Traps put together up to a day.

    Args:
        conn: The store.
        on: The day.

    Raises:
        StoreError: The store cannot be read.
    """
    with plainly(conn):
        return tuple(present(conn, ASSEMBLIES, date.min, on))


def write_labels(
    conn: sqlite3.Connection, on: date, to: Path, size: str = USUAL_SHEET, chosen: Sequence[str] = ()
) -> int:
    """Write labels, as text where the name ends in .txt, else as a page.

    Args:
        conn: The store.
        on: The day.
        to: The file.
        size: A word of ``SHEETS``.
        chosen: Only these traps; empty: all that hang, hung last season or were assembled since.

    Returns:
        How many labels.

    Raises:
        RefusedError: There is no trap to label.
        StoreError: The store cannot be read, or the file not written.
    """
    labels = trap_labels(programme(conn), on, assembled(conn, on), chosen)
    if not labels:
        raise RefusedError(
            "there is no trap to label",
            "set traps up in traps.csv, or assemble them, or name those that were taken down long ago",
        )
    if to.suffix.lower() == ".txt":
        write_whole(to, labels_text(labels))
    else:
        write_whole(to, labels_html(labels, SHEETS[size]))
    return len(labels)
