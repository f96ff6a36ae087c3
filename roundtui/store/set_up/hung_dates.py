"""A corrected date of hanging, told from a trap that was hung again."""

from __future__ import annotations

import sqlite3

from roundtui.domain.text import plain
from roundtui.errors import Problem
from roundtui.store.set_up.load_report import FileRead, LoadReport
from roundtui.store.set_up.row_digests import key_text, note_before, present_rows

_SHOWN = 40


def move_dates(conn: sqlite3.Connection, one: FileRead, report: LoadReport) -> None:
    """Take a corrected date of hanging as the same hanging.

    A trap hung again has a further row, so a row whose date alone changed looks like one that vanished and one that is
    new. It is the same hanging where it stands in the same block, no other row of the trap came or went, and nothing is
    on record for the days between.

    Args:
        conn: The store, inside a transaction.
        one: The file of traps.
        report: Takes what was done.
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
        former = present_rows(conn, file)[key_text((trap, before))]
        conn.execute("UPDATE traps SET hung_on = ? WHERE trap = ? AND hung_on = ?", (after, trap, before))
        digest = present_rows(conn, file)[key_text((trap, after))]
        note_before(conn, [(digest, former)])
        conn.execute("DELETE FROM loaded WHERE file = ? AND key = json_array(?, ?)", (file.name, trap, before))
        conn.execute(
            "INSERT OR REPLACE INTO loaded (file, key, digest) VALUES (?, ?, ?)",
            (file.name, key_text((trap, after)), digest),
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
