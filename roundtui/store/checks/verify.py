"""Is the record what was entered? The file, every digest, the chain of each lane, what stands, clocks, loose ends.

It is held against a copy of it too: a backup, another store, a bundle, or a folder of bundles.
"""

from __future__ import annotations

import sqlite3
from collections import Counter, defaultdict
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import groupby
from operator import itemgetter
from pathlib import Path

from roundtui.domain.records import Frozen
from roundtui.domain.text import SHOWN, sanitize, several, several_of
from roundtui.errors import RoundtuiError, StoreError
from roundtui.store.backup import is_store
from roundtui.store.checks.trouble import missed
from roundtui.store.db import DB_NAME, migrate, schema_of
from roundtui.store.exchange.lines import SUFFIX
from roundtui.store.exchange.merge import ABOUT, Progress, in_a_circle
from roundtui.store.exchange.reading import open_bundle
from roundtui.store.failures import plainly, to_read
from roundtui.store.record.lanes import HUB, lane_ends, lane_names, own_lane_name
from roundtui.store.record.read import setting
from roundtui.store.record.rows import JOURNALS, STANDING, VISITS, Row, Table, is_sound

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


def _check_clocks(conn: sqlite3.Connection, own: str) -> Check:
    """Look for clocks that ran backward; a remark and no fault, since a round's days are written down and not clocked.

    What was entered on this laptop stands in the order it was written. What came from others stands in the order it was
    merged, so of those only the ids tell: they never go back while a program runs.
    """
    check = Check("clocks of the laptops")
    devices = " UNION ".join(f"SELECT device FROM {table.name}" for table in JOURNALS)  # noqa: S608
    (check.looked_at,) = conn.execute(f"SELECT count(*) FROM ({devices})").fetchone()  # noqa: S608
    back: dict[str, _Steps] = defaultdict(_Steps)
    for table in JOURNALS:
        for order, whose in (("id", "<>"), ("rowid", "=")):
            last: dict[str, str] = {}
            for entry, device, at in conn.execute(
                f"SELECT id, device, recorded_at FROM {table.name} WHERE device {whose} ? ORDER BY {order}",  # noqa: S608
                (own,),
            ):
                before = last.get(device, "")
                if at < before and datetime.fromisoformat(before) - datetime.fromisoformat(at) > _TOLERATED:
                    back[device].add(datetime.fromisoformat(before) - datetime.fromisoformat(at), at, entry)
                last[device] = at
    for device, steps in sorted(back.items()):
        check.remarks.append(f"the clock of {sanitize(device, SHOWN) or 'a laptop'} ran backward {steps}")
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
        devices = ", ".join(sorted({sanitize(device, SHOWN) for _, device in found}))
        check.remarks.append(f"{several(len(found), 'correction')} recorded before what was corrected, on {devices}")


def _ahead_of_clock(conn: sqlite3.Connection, check: Check) -> None:
    """Entries about a day that had not begun anywhere on earth when they were recorded."""
    found = conn.execute(
        "SELECT device, count(*), min(id) FROM visits WHERE read_on > date(recorded_at, '+1 day')"
        " GROUP BY device ORDER BY device"
    ).fetchall()
    for device, count, entry in found:
        check.remarks.append(
            f"{several(count, 'visit')} on {sanitize(device, SHOWN) or 'a laptop'} dated ahead of its clock ({entry})"
        )


def _long(span: timedelta) -> str:
    if span >= _DAY:
        return f"{span.days} d {span.seconds // 3600} h"
    return f"{span.seconds // 3600} h {span.seconds // 60 % 60} min"


MOST_NAMED = 5
"""How many faults of one kind are named; the rest are counted."""


@dataclass(slots=True)
class Check:
    """One thing that was checked."""

    what: str
    """What, in words."""
    looked_at: int = 0
    """How many things were looked at."""
    faults: list[str] = field(default_factory=list)
    """What must not be."""
    remarks: list[str] = field(default_factory=list)
    """Warnings; there may be good reasons for them."""

    def look(self, progress: Progress | None, total: int) -> None:
        """One more of so many things is looked at."""
        self.looked_at += 1
        if progress is not None and self.looked_at % 1000 == 0:
            progress(self.what, self.looked_at, total)


def verify(conn: sqlite3.Connection, device: str, progress: Progress | None = None) -> Iterator[Check]:
    """Check the record, one thing after the other.

    Args:
        conn: The store.
        device: Name of this laptop.
        progress: Is told what is checked, how many entries were looked at, and how many there are.

    Returns:
        Each check as it is done. Where the file itself is damaged, or a table or view is gone, those
        that need it are left out.

    Raises:
        StoreError: The file cannot be read at all.
    """
    with plainly(conn):
        conn.execute("BEGIN")  # One unchanging view for all checks.
        try:
            file = _check_file(conn)
            yield file
            if file.faults:
                return
            schema, gone = _check_schema(conn)
            yield schema
            if "table" in gone:
                return
            yield _check_digests(conn, progress)
            yield _check_lanes(conn, progress)
            if "view" in gone:
                return
            yield from _check_present(conn)
            yield _check_set_up(conn)
            yield _check_loose_ends(conn)
            yield _check_suspect(conn)
            yield _check_clocks(conn, device)
        finally:
            if conn.in_transaction:
                conn.execute("ROLLBACK")


def _check_file(conn: sqlite3.Connection) -> Check:
    check = Check("pages of the file")
    (check.looked_at,) = conn.execute("PRAGMA page_count").fetchone()
    for (said,) in conn.execute("PRAGMA integrity_check(20)"):
        if said != "ok":
            check.faults.append(sanitize(str(said), 200))
    for table, _, parent, _ in conn.execute("PRAGMA foreign_key_check").fetchmany(20):
        check.faults.append(f"a row of {table} names a row of {parent} that is not there")
    return check


def _check_schema(conn: sqlite3.Connection) -> tuple[Check, set[str]]:
    """Tables, views, triggers and indexes, each as a new store has it; and which kinds of them lack one."""
    check = Check("tables, views and triggers")
    gone = set()
    there = _schema(conn)
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as fresh:
        migrate(fresh)
        known = _schema(fresh)
    check.looked_at = len(known)
    for (kind, name), sql in known.items():
        if (kind, name) not in there:
            check.faults.append(f"the {kind} {name} is not there")
            gone.add(kind)
        elif there[kind, name] != sql:
            check.faults.append(f"the {kind} {name} is not as roundtui makes it")
    for kind, name in there.keys() - known.keys():
        if kind in ("trigger", "view"):
            check.faults.append(f"the {kind} {sanitize(name, 60)} does not belong there")
    return check, gone


def _schema(conn: sqlite3.Connection) -> dict[tuple[str, str], str]:
    found = conn.execute("SELECT type, name, sql FROM main.sqlite_master WHERE sql IS NOT NULL")
    return {(kind, name): " ".join(sql.split()) for kind, name, sql in found}


_LINKS = " UNION ALL ".join(
    f"SELECT lane, no, previous, '{table.kind or 'entry'} ' || id AS entry, digest FROM {table.name}"  # noqa: S608
    for table in JOURNALS
)


def _check_lanes(conn: sqlite3.Connection, progress: Progress | None) -> Check:
    """Walk each lane from its first entry to its newest: nothing missing, and each after the one it was made after."""
    check = Check("order of entries on each lane")
    in_part, own = bool(setting(conn, HUB)), own_lane_name(conn).split(".")[1]
    known = conn.execute("SELECT lane, label, name, last_no, last_digest FROM lanes ORDER BY name").fetchall()
    total = sum(lane_ends(conn).values())
    for lane, label, name, last_no, last_digest in known:
        of = f"{sanitize(label, SHOWN) or 'a laptop'} (lane {name})"
        newest, gaps, faults, twice = 0, [], [], []
        digests: list[bytes] = []
        links = conn.execute(
            f"SELECT no, previous, entry, digest FROM ({_LINKS}) WHERE lane = ? ORDER BY no, previous, entry",  # noqa: S608
            (lane,),
        )
        for no, made in groupby(links, key=itemgetter(0)):
            before, digests = (digests if no == newest + 1 else []), []
            if no > newest + 1:
                gaps.append(_span(newest + 1, no - 1))
            for _, previous, entry, digest in made:
                check.look(progress, total)
                digests.append(digest)
                if (no == 1 and previous) or (before and previous not in before):
                    faults.append(f"{entry}, number {no} of {of}, does not follow what stands before it")
            newest = no
            twice += [no] if len(digests) > 1 else []
        if last_no > newest:
            gaps.append(_span(newest + 1, last_no))
        said, why = check.faults, "are missing: deleted, or in a bundle that was not merged yet"
        if in_part and name.split(".")[1] != own:
            said, why = check.remarks, "are not here: the hub may show them to other groups"
        said += [f"entries {gap} of {of} {why}" for gap in gaps]
        check.faults += faults
        if newest > last_no:
            check.faults.append(f"{of} ends with entry {newest}, and is said to end with {last_no}")
        elif newest == last_no and newest and last_digest not in digests:
            check.faults.append(f"the newest entry of {of} is not the one that was recorded there")
        if twice:
            check.remarks.append(
                f"{of} was written on twice from entry {twice[0]}: an older roundtui.db was put in place by hand"
            )
    for (number,) in conn.execute(
        f"SELECT count(*) FROM ({_LINKS}) WHERE lane NOT IN (SELECT lane FROM lanes) GROUP BY lane"  # noqa: S608
    ):
        check.looked_at += number
        check.faults.append(f"{number} entries name a lane that is not there")
    return check


def _span(first: int, last: int) -> str:
    return str(first) if first == last else f"{first} to {last}"


def _check_digests(conn: sqlite3.Connection, progress: Progress | None) -> Check:
    check = Check("digests of entries")
    lanes, total = lane_names(conn), sum(lane_ends(conn).values())
    for table in JOURNALS:
        for row in conn.execute(f"SELECT {table.whole} FROM {table.name}"):  # noqa: S608
            check.look(progress, total)
            if not is_sound(table, row, lanes):
                check.faults.append(f"{table.kind or 'entry'} {row[0]} is not what was recorded")
    return check


def _check_present(conn: sqlite3.Connection) -> Iterator[Check]:
    """What stands now, from the journal alone, against what the views say."""
    for table in STANDING:
        check = Check(f"present {several_of(table.name)}, worked out anew")
        shown = f"SELECT {table.listed} FROM present_{table.name}"  # noqa: S608
        stands = (
            f"SELECT {table.listed} FROM {table.name} WHERE id NOT IN (SELECT entry FROM withdrawals)"  # noqa: S608
            f" AND id NOT IN (SELECT replaces FROM {table.name} WHERE replaces IS NOT NULL)"
        )
        (check.looked_at,) = conn.execute(f"SELECT count(*) FROM present_{table.name}").fetchone()  # noqa: S608
        for both, words in (
            (f"{shown} EXCEPT {stands}", "is shown and does not stand"),
            (f"{stands} EXCEPT {shown}", "stands and is not shown"),
        ):
            check.faults += [f"{table.kind} {entry} {words}" for entry, *_ in conn.execute(f"{both} ORDER BY id")]
        yield check


def _check_set_up(conn: sqlite3.Connection) -> Check:
    """Each row of the set-up as it stands, against the entry that says so."""
    import json

    from roundtui.store.set_up.columns import file_of, rows_in, said
    from roundtui.store.set_up.versions import becomes_of

    check = Check("set-up rows, against their entries")
    names = [name for (name,) in conn.execute("SELECT DISTINCT file FROM set_up_rows ORDER BY file")]
    for file in filter(None, map(file_of, names)):
        rows, known = rows_in(conn, file), file.columns
        for key, version in conn.execute(
            "SELECT key, version FROM set_up_rows WHERE file = ?", (file.name,)
        ).fetchall():
            check.looked_at += 1
            text, values = becomes_of(conn, version), rows.get(key)
            entered = {column: value for column, value in json.loads(text or "{}").items() if column in known}
            if (said(values) if values else {}) != entered:
                check.faults.append(f"the row {sanitize(key, 60)} of {file.name} is not as it was entered")
    return check


def _check_loose_ends(conn: sqlite3.Connection) -> Check:
    check = Check("references of entries")
    # A hub shows a correction to whoever sees what it corrects, and not always the trap that it names.
    in_part = bool(setting(conn, HUB))
    for table, column, known, what in (
        *((table, at, f"SELECT {at} FROM {at}s", at) for table, at in ABOUT),  # noqa: S608
        *((table, "replaces", f"SELECT id FROM {table.name}", "entry") for table in STANDING),  # noqa: S608
    ):
        of_standing = (
            f" AND replaces IS NULL AND id NOT IN (SELECT replaces FROM {table.name} WHERE replaces IS NOT NULL)"  # noqa: S608
            if in_part and column != "replaces"
            else ""
        )
        (count,) = conn.execute(f"SELECT count({column}) FROM {table.name}").fetchone()  # noqa: S608
        check.looked_at += count
        for label, entries in conn.execute(
            f"SELECT {column}, count(*) FROM {table.name} WHERE {column} IS NOT NULL"  # noqa: S608
            f" AND {column} NOT IN ({known}){of_standing} GROUP BY {column} ORDER BY {column}"
        ):
            many = several_of(table.name, entries)
            check.faults.append(f"{entries} {many} for {what} {sanitize(label, 40)}, which is not there")
    for entry_id, kind, entry in conn.execute("SELECT id, entry_kind, entry FROM withdrawals").fetchall():
        check.looked_at += 1
        table = next((table for table in STANDING if table.kind == kind), VISITS)
        if not conn.execute(f"SELECT 1 FROM {table.name} WHERE id = ?", (entry,)).fetchone():  # noqa: S608
            check.faults.append(f"withdrawal {entry_id} withdraws {kind} {sanitize(entry, 40)}, which is not there")
    for table in STANDING:
        corrections = dict(
            conn.execute(f"SELECT id, replaces FROM {table.name} WHERE replaces IS NOT NULL")  # noqa: S608
        )
        round_about = in_a_circle(corrections)
        if round_about:
            check.faults.append(f"{table.kind} {round_about} corrects itself in a circle")
    check.faults += _shared_ids(conn)
    return check


def _shared_ids(conn: sqlite3.Connection) -> Iterator[str]:
    for at, table in enumerate(JOURNALS):
        for other in JOURNALS[at + 1 :]:
            for (entry_id,) in conn.execute(
                f"SELECT id FROM {table.name} WHERE id IN (SELECT id FROM {other.name})"  # noqa: S608
            ):
                yield f"{entry_id} is both a {table.kind} and a {other.kind}"


def _check_suspect(conn: sqlite3.Connection) -> Check:
    """Traps whose whole past is looked at must be among those kept for it, or a warning would be missed."""
    check = Check("traps whose lures were ever in question")
    (check.looked_at,) = conn.execute("SELECT count(*) FROM suspect_traps").fetchone()
    check.faults += [f"trap {sanitize(trap, 40)} is not among them" for trap in missed(conn)]
    return check


class Held(Frozen):
    """An entry that a copy holds."""

    id: str
    """Its id."""
    kind: str
    """Word for its kind."""
    scout: str
    """Who entered it."""
    day: str
    """The day it is about, else that on which it was recorded."""
    digest: bytes
    """Its digest."""

    def __str__(self) -> str:
        return f"{self.kind or 'entry'} {self.id} of {sanitize(self.scout, SHOWN)}, {self.day},"


def check_against(conn: sqlite3.Connection, copy: Path) -> Iterator[Check]:
    """Look whether the record still has everything that a copy of it knows, and says the same.

    Args:
        conn: The store.
        copy: A backup or store, a bundle, a scouting folder, or a folder that holds bundles.

    Returns:
        A check for each file of the copy.

    Raises:
        StoreError: It cannot be read, or is none of these.
        BundleError: A bundle is not sound.
    """
    with plainly(conn):
        here = digests(conn)
    for path in _files(copy):
        check = Check(f"held against {sanitize(path.name, 80)}")
        for held in entries_of(path):
            check.looked_at += 1
            if held.id not in here:
                check.faults.append(f"{held} is there and not here")
            elif here[held.id] != held.digest:
                check.faults.append(f"{held} says something else there than here")
        yield check


def digests(conn: sqlite3.Connection) -> dict[str, bytes]:
    """The digest of each entry of a store, by id.

    Args:
        conn: The store.
    """
    found: dict[str, bytes] = {}
    for table in JOURNALS:
        found.update(conn.execute(f"SELECT id, digest FROM {table.name}"))  # noqa: S608
    return found


def entries_of(path: Path) -> Iterator[Held]:
    """Every entry that a store or a bundle holds.

    Args:
        path: The file.

    Raises:
        StoreError: It cannot be read, is damaged, or is neither.
        BundleError: It is a bundle that is not sound.
    """
    return _of_store(path) if is_store(path) else _of_bundle(path)


def _files(copy: Path) -> list[Path]:
    if not copy.is_dir():
        return [copy]
    if (copy / DB_NAME).exists():
        return [copy / DB_NAME]
    found = sorted(path for path in copy.glob(f"*{SUFFIX}") if not path.name.startswith((".", "~")))
    if not found:
        raise StoreError(
            f"{sanitize(str(copy), 200)} holds no store and no bundle", "name a backup, or a file made by pack"
        )
    return found


def _of_store(path: Path) -> Iterator[Held]:
    name = sanitize(str(path), 200)
    try:
        with closing(to_read(path)) as conn:
            schema_of(conn, path)
            conn.execute("BEGIN")
            there = {one for (one,) in conn.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
            for table in JOURNALS:
                if table.name in there:
                    day = table.day or "substr(recorded_at, 1, 10)"
                    for row in conn.execute(f"SELECT id, scout, {day}, digest FROM {table.name} ORDER BY id"):  # noqa: S608
                        yield Held(row[0], table.kind, row[1], row[2], row[3])
    except sqlite3.Error as error:
        raise StoreError(f"{name} cannot be read: {sanitize(str(error), 120)}", "name another copy") from error


def _of_bundle(path: Path) -> Iterator[Held]:
    with open_bundle(path) as bundle:
        for _, (table, row) in bundle.entries():
            yield Held(row[0], table.kind, row[2], _day(table, row), row[-1])


def _day(table: Table, row: Row) -> str:
    return str(row[table.columns.index(table.day)] if table.day else row[1][:10])


def lacking(folder: Path, backup: Path) -> list[str]:
    """What is on record in a folder and not in a backup: days, people, and how many entries.

    Args:
        folder: The scouting folder.
        backup: The backup.

    Returns:
        A line for each day and person; none where either file cannot be read, of which ``restore`` speaks.
    """
    try:
        known = {entry.id for entry in entries_of(backup)}
        found = Counter((one.day, one.scout) for one in entries_of(folder / DB_NAME) if one.id not in known)
    except RoundtuiError:
        return []
    return [
        f"{day}, {sanitize(scout, SHOWN)}: {count} {'entry' if count == 1 else 'entries'}"
        for (day, scout), count in sorted(found.items())
    ]
