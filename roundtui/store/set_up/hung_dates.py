"""A corrected date of hanging, told from a trap that was hung again."""

from __future__ import annotations

import sqlite3
from datetime import datetime

from roundtui.domain.text import plain
from roundtui.domain.traps.entries import SetUpChanged
from roundtui.errors import Problem
from roundtui.store.device import device_name
from roundtui.store.journal import Author
from roundtui.store.set_up.load_report import FileRead, LoadReport
from roundtui.store.set_up.row_digests import digest_of, key_text, rows_in
from roundtui.store.set_up.versions import (
    FILES_SAY,
    LOADED,
    after_now,
    becomes_of,
    record_changes,
    row_of,
    text_of,
    version_of,
)

_SHOWN = 40


def move_dates(conn: sqlite3.Connection, one: FileRead, report: LoadReport, now: datetime) -> None:
    """Take a corrected date of hanging as the same hanging.

    A trap hung again has a further row, so a row whose date alone changed looks like one that vanished and one that is
    new. It is the same hanging where it stands in the same block, no other row of the trap came or went, and nothing is
    on record for the days between.

    Args:
        conn: The store, inside a transaction.
        one: The file of traps.
        report: Takes what was done.
        now: Instant of loading.
    """
    file = one.file
    known = {
        (trap, hung): block
        for trap, hung, block in conn.execute(
            "SELECT trap, hung_on, block FROM traps JOIN loaded ON loaded.file = ? AND loaded.key ="
            " json_array(trap, hung_on)",
            (file.name,),
        )
    }
    in_file = {(values["trap"], values["hung_on"]): values["block"] for _, values in one.rows}
    gone: dict[str, list[str]] = {}
    new: dict[str, list[str]] = {}
    for rows, others, found in ((known, in_file, gone), (in_file, known, new)):
        for trap, hung in rows:
            if (trap, hung) not in others:
                found.setdefault(trap, []).append(hung)
    for trap, dates in gone.items():
        if len(dates) != 1 or len(new.get(trap, ())) != 1:
            continue
        before, after = dates[0], new[trap][0]
        first, last = sorted((before, after))
        read = conn.execute(
            "SELECT 1 FROM visits WHERE trap = ? AND read_on >= ? AND read_on < ? LIMIT 1", (trap, first, last)
        ).fetchone()
        if known[trap, before] != in_file[trap, after] or read:
            continue
        former = rows_in(conn, file)[key_text((trap, before))]
        row, version = row_of(conn, file.name, key_text((trap, before)))
        conn.execute("UPDATE traps SET hung_on = ? WHERE trap = ? AND hung_on = ?", (after, trap, before))
        moved = former | {"hung_on": after}
        was = becomes_of(conn, version) or text_of(file, former)
        change = SetUpChanged(
            file=file.name,
            row=row,
            deed=LOADED,
            done_on=now.date(),
            was=was,
            becomes=text_of(file, moved, was),
            after=after_now(conn, file.name, row, version),
            trap=trap,
            block=str(former["block"]),
        )
        record_changes(conn, [change], Author(FILES_SAY, device_name()), now)
        conn.execute("DELETE FROM loaded WHERE file = ? AND key = json_array(?, ?)", (file.name, trap, before))
        version = version_of(file.name, row, change.becomes, change.after.split())
        conn.execute(
            "INSERT OR REPLACE INTO loaded (file, key, digest, version) VALUES (?, ?, ?, ?)",
            (file.name, key_text((trap, after)), digest_of(file, moved), version),
        )
        report.files[file.name].changed += 1
        report.remarks.append(
            Problem(
                file.name,
                f"{plain(trap, _SHOWN)} was hung on {after or 'a day not on record'}, not on"
                f" {before or 'a day not on record'}",
                "taken as the same hanging, since nothing is on record between",
            )
        )
