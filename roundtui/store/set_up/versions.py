"""Versions of set-up rows: what changes a row is an entry, and says which versions it took the place of.

A version is what a row says and what it came after, so two laptops that change a row alike make the same one. Where one
version alone has nothing after it, that is how the row stands, on every laptop. Where several differ, the row was
changed in two places, stays as it is here, and somebody says which holds.

Settling set-up rows that are otherwise elsewhere: what stands here is kept, or another's row is taken over.
Set-up rows that were changed in two places, and that nobody has settled yet.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Collection, Iterable, Sequence
from datetime import date, datetime

from roundtui.domain.entries import SetUpChanged
from roundtui.domain.programme.farm import natural_key
from roundtui.domain.records import Frozen
from roundtui.errors import RefusedError
from roundtui.store.checks.trouble import find_suspect
from roundtui.store.db import transaction
from roundtui.store.exchange.lines import WrongLineError
from roundtui.store.failures import plainly
from roundtui.store.files import csv_text
from roundtui.store.office import office_files
from roundtui.store.record.journal import Author, record
from roundtui.store.record.lanes import own_lane_name, pair_of
from roundtui.store.record.rows import SET_UP_CHANGES
from roundtui.store.set_up import columns
from roundtui.store.set_up.columns import Values, said

FILES_SAY = "set-up files"
"""Stands for the person where a file changed a row."""
LOADED = "loaded"
"""Change of a row that a set-up file brought."""
SETTLED = "settled"
"""Change of a row by which somebody said which of several versions holds."""


class Version(Frozen):
    """One state of a row."""

    version: str
    """What tells it from others."""
    becomes: str
    """What the row says, as an entry keeps it; empty where it is gone."""


def version_of(entry: SetUpChanged) -> str:
    """What tells the state of a row that an entry makes from others."""
    said = [entry.file, entry.row, entry.becomes, *sorted(entry.after.split())]
    text = json.dumps(said, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:32]


def stands(conn: sqlite3.Connection, file: str, row: str) -> str:
    """The version of a row that stands; empty where none does."""
    found = conn.execute("SELECT version FROM set_up_rows WHERE file = ? AND row = ?", (file, row)).fetchone()
    return str(found[0]) if found else ""


def row_of(conn: sqlite3.Connection, file: str, key: str) -> tuple[str, str]:
    """What tells a row from others for good, and the version that stands.

    Args:
        conn: The store.
        file: Name of its file.
        key: Its labels as they are now.

    Returns:
        For a row that is new a name for it, and no version.
    """
    found = conn.execute("SELECT row, version FROM set_up_rows WHERE file = ? AND key = ?", (file, key)).fetchone()
    if found is not None:
        return str(found[0]), str(found[1])
    name, number = key, 1
    while taken := conn.execute(
        "SELECT key, version FROM set_up_rows WHERE file = ? AND row = ?", (file, name)
    ).fetchone():
        if not taken[0]:  # It was there before, and is gone.
            return name, str(taken[1])
        number += 1
        name = columns.key_text((*json.loads(key), number))
    return name, ""


def becomes_of(conn: sqlite3.Connection, version: str) -> str:
    """What a version says; empty where it is unknown here, or the row is gone.

    Args:
        conn: The store.
        version: The version.
    """
    found = conn.execute(
        "SELECT becomes FROM set_up_versions JOIN set_up_changes ON id = entry WHERE version = ?", (version,)
    ).fetchone()
    return str(found[0]) if found else ""


def text_of(file: columns.SetUpFile, values: Values | None, before: str = "") -> str:
    """A row as an entry keeps it; columns that only a newer program knows go on with it.

    Args:
        file: Its file.
        values: The row; None where there is none.
        before: What it said before.
    """
    if values is None:
        return ""
    known = file.columns
    unknown = {name: value for name, value in json.loads(before).items() if name not in known} if before else {}
    return json.dumps(dict(sorted((said(values) | unknown).items())), ensure_ascii=False)


def change_of(
    file: columns.SetUpFile,
    place: tuple[str, Collection[str]],
    kind: str,
    texts: tuple[str, str],
    values: Values,
    *,
    done_on: date,
) -> SetUpChanged:
    """The entry of a row that changes.

    Args:
        file: Its file.
        place: Its row, and the versions that this one comes after.
        kind: What is done.
        texts: What it said, and what it says from now on.
        values: The row, for the trap and block that it is about.
        done_on: Day on which it is done.
    """
    return SetUpChanged(
        file=file.name,
        row=place[0],
        change=kind,
        done_on=done_on,
        was=texts[0],
        becomes=texts[1],
        after=" ".join(sorted(place[1])),
        trap=values.get("trap"),
        block=values.get("block"),
    )


def heads(conn: sqlite3.Connection, file: str, row: str) -> list[Version]:
    """Versions of a row that nothing took the place of.

    Args:
        conn: The store.
        file: Name of its file.
        row: What tells the row from others.
    """
    found = [
        Version(*one)
        for one in conn.execute(
            "SELECT v.version, c.becomes FROM set_up_versions AS v JOIN set_up_changes AS c ON c.id = v.entry"
            " WHERE v.file = ? AND v.row = ? AND NOT EXISTS (SELECT 1 FROM set_up_order WHERE before = v.version)"
            " ORDER BY v.version",
            (file, row),
        )
    ]
    if len({one.becomes for one in found}) < 2:
        return found
    # A row that came new and says what another version was made from is only behind.
    begun = {one.version for one in found if not _before(conn, one.version)}
    past = {one.version: {becomes_of(conn, old) for old in ancestors(conn, one.version)} for one in found}
    return [
        one
        for one in found
        if one.version not in begun
        or not any(one.becomes in past[other.version] for other in found if other is not one)
    ]


def _before(conn: sqlite3.Connection, version: str) -> list[str]:
    return [one for (one,) in conn.execute("SELECT before FROM set_up_order WHERE version = ?", (version,))]


def ancestors(conn: sqlite3.Connection, version: str) -> set[str]:
    """Every version that one came after.

    Args:
        conn: The store.
        version: The version.
    """
    found: set[str] = set()
    waiting = _before(conn, version)
    while waiting:
        one = waiting.pop()
        if one not in found:
            found.add(one)
            waiting += _before(conn, one)
    return found


def next_version(
    conn: sqlite3.Connection,
    file: columns.SetUpFile,
    kind: str,
    was: Values | None,
    becomes: Values | None,
    *,
    done_on: date,
) -> SetUpChanged:
    """The entry of a row that changes: it comes after the version that stands, and those that say the same.

    Args:
        conn: The store.
        file: Its file.
        kind: What is done.
        was: The row; None where there is none.
        becomes: The row from now on; None where it goes.
        done_on: Day on which it is done.
    """
    row, version = row_of(conn, file.name, columns.key_of(file, was or becomes or {}))
    says, after = becomes_of(conn, version), {version} - {""}
    if version:
        after |= {one.version for one in heads(conn, file.name, row) if one.becomes == says}
    before = says or text_of(file, was)
    # What a file said as a whole stands in the entry before.
    texts = "" if was is None or (file.whole and kind == LOADED) else before, text_of(file, becomes, before)
    return change_of(file, (row, after), kind, texts, becomes or was or {}, done_on=done_on)


def record_changes(
    conn: sqlite3.Connection, changes: Sequence[SetUpChanged], author: Author, now: datetime, *, stand: bool = True
) -> tuple[SetUpChanged, ...]:
    """Put changes of rows on record.

    Args:
        conn: The store, inside the transaction that changes the rows.
        changes: What changed.
        author: Who changed it.
        now: Instant.
        stand: Whether the rows stand so from now on.
    """
    recorded = record(conn, changes, author, now)
    for entry in recorded:
        version = note(conn, entry)
        if stand:
            _stand(conn, entry.file, entry.row, entry.becomes, version)
    return recorded


def note(conn: sqlite3.Connection, entry: SetUpChanged) -> str:
    """Note what an entry says of versions.

    Args:
        conn: The store, inside a transaction.
        entry: The entry, on record.

    Returns:
        The version that it made.
    """
    version = version_of(entry)
    conn.execute(
        "INSERT OR IGNORE INTO set_up_versions (version, file, row, entry) VALUES (?, ?, ?, ?)",
        (version, entry.file, entry.row, entry.id),
    )
    conn.executemany(
        "INSERT OR IGNORE INTO set_up_order (version, before) VALUES (?, ?)",
        [(version, one) for one in entry.after.split()],
    )
    return version


def _stand(conn: sqlite3.Connection, file: str, row: str, becomes: str, version: str) -> None:
    of = columns.file_of(file)
    key = columns.key_of(of, columns.values_of(of, json.loads(becomes))) if becomes and of is not None else ""
    conn.execute(
        "INSERT OR REPLACE INTO set_up_rows (file, row, key, version) VALUES (?, ?, ?, ?)", (file, row, key, version)
    )


def take_in(conn: sqlite3.Connection, rows: Iterable[tuple[str, str]]) -> None:
    """Let rows stand as the entries that came in say, where only one side changed them.

    A row changed in two places stays as it is here; one that is unknown here, and differs between two others, stands as
    one of them has it, since entries may name it.

    Args:
        conn: The store, inside the transaction that added the entries; their versions are noted.
        rows: File and row of each.
    """
    order = {file.name: at for at, file in enumerate(columns.FILES)}
    touched = set(rows)
    waiting = sorted(touched, key=lambda one: (order.get(one[0], len(order)), one[1]))
    while waiting:
        left = [one for one in waiting if not _take(conn, *one)]
        if len(left) == len(waiting):
            break
        waiting = left
    if any(file in ("traps.csv", "lures.csv") for file, _ in touched):
        find_suspect(conn)


def _take(conn: sqlite3.Connection, name: str, row: str) -> bool:
    """Whether nothing is left to be done for a row; one that names what is not here yet waits."""
    file = columns.file_of(name)
    found = heads(conn, name, row)
    if file is None or not found:
        return True
    version = stands(conn, name, row)
    if len({one.becomes for one in found}) > 1 and version:
        return True
    holds, says = found[0], becomes_of(conn, version)
    if holds.becomes != says:
        try:
            write_row(conn, file, says, holds.becomes)
        except (sqlite3.IntegrityError, WrongLineError):
            return False
    _stand(conn, name, row, holds.becomes, holds.version)
    return True


def write_row(conn: sqlite3.Connection, file: columns.SetUpFile, was: str, becomes: str) -> None:
    """Write a row into its table.

    Args:
        conn: The store, inside a transaction.
        file: Its file.
        was: What it said before; empty where there was none.
        becomes: What it says from now on; empty where it goes.

    Raises:
        IntegrityError: It names a row that is not there, or would give a trap another species.
        WrongLineError: It is no row of its file.
    """
    old, new = values_or_none(file, was), values_or_none(file, becomes)
    for problem in columns.misfits(conn, file, new) if new is not None else ():
        raise sqlite3.IntegrityError(problem.message)
    columns.put_row(conn, file, old, new)


def take_in_entries(conn: sqlite3.Connection, ids: Sequence[str], *, newer: bool = False) -> None:
    """Take in entries about set-up rows that were just added to the record.

    Args:
        conn: The store, inside the transaction that added them.
        ids: Their ids.
        newer: Whether they may come from a newer program.

    Raises:
        WrongLineError: One says what no set-up file may say.
    """
    touched: list[tuple[str, str]] = []
    for entry_id in ids:
        row = conn.execute(
            f"SELECT {SET_UP_CHANGES.listed} FROM set_up_changes WHERE id = ?",  # noqa: S608
            (entry_id,),
        ).fetchone()
        entry: SetUpChanged = SET_UP_CHANGES.entry(row)
        file = columns.file_of(entry.file)
        if entry.becomes and file is not None and not newer:
            columns.values_of(file, json.loads(entry.becomes))
        note(conn, entry)
        touched.append((entry.file, entry.row))
    take_in(conn, touched)


class NotInFile(Frozen):
    """A row of the store that its CSV file does not have so."""

    file: columns.SetUpFile
    """The file."""
    label: str
    """The row as people call it."""
    line: str
    """The row as the file can hold it, all columns in the order of the manual."""


def settle_rows(
    conn: sqlite3.Connection, choices: Sequence[tuple[OpenRow, Offer | None]], author: Author, now: datetime
) -> None:
    """Say how several rows hold from now on; all of them, or none.

    Args:
        conn: The store.
        choices: Each row, as ``open_rows`` gave it, and what is taken over; None: it stays as it is here, or away.
        author: Who settles them.
        now: Instant.

    Raises:
        RefusedError: One was changed or settled meanwhile, or what is taken over does not fit the rows here.
        StoreError: The store cannot be written.
    """
    with plainly(conn), transaction(conn):
        still_open = {(row.file.name, row.row): row for row in open_rows(conn)}
        changes = []
        for row, kept in choices:
            if still_open.get((row.file.name, row.row)) != row:
                raise RefusedError(f"{row.file.name} {row.label} was changed or settled meanwhile", "look at it again")
            holds = row.here if kept is None else kept.values
            for problem in columns.misfits(conn, row.file, holds) if holds is not None else ():
                hint = problem.hint if problem.where == "species" else "take over the row that it names first"
                raise RefusedError(f"{row.file.name} {row.label}: {problem.message}", hint)
            changes.append(_settled(conn, row, holds, now))
            write_row(conn, row.file, changes[-1].was, changes[-1].becomes)
        record_changes(conn, changes, author, now)
        if any(kept is not None and row.file.table in ("traps", "lots") for row, kept in choices):
            find_suspect(conn)


def _settled(conn: sqlite3.Connection, row: OpenRow, holds: Values | None, now: datetime) -> SetUpChanged:
    """What is said of a row that was changed in two places: it comes after all its versions."""
    found, version = heads(conn, row.file.name, row.row), stands(conn, row.file.name, row.row)
    wanted = text_of(row.file, holds)
    alike = (one.becomes for one in found if text_of(row.file, values_or_none(row.file, one.becomes)) == wanted)
    texts = becomes_of(conn, version), next(alike, wanted)
    place = row.row, {one.version for one in found} | ({version} - {""})
    return change_of(row.file, place, SETTLED, texts, holds or row.here or {}, done_on=now.date())


def not_in_files(conn: sqlite3.Connection) -> tuple[NotInFile, ...]:
    """Rows taken over from others, or changed in the app, that the files of this folder do not have so yet.

    Args:
        conn: The store.
    """
    with plainly(conn):
        loaded = {(file, key): digest for file, key, digest in conn.execute("SELECT file, key, digest FROM loaded")}
        if not loaded:
            return ()
        return tuple(
            NotInFile(
                file,
                columns.named(file, values),
                "" if file.whole else csv_text([columns.cells_of(file, values).values()]).removesuffix("\r\n"),
            )
            for file in (*columns.FILES, *office_files(conn))
            for key, values in columns.rows_in(conn, file).items()
            if loaded.get((file.name, key)) != columns.digest_of(file, values)
        )


THIS_FILE = ""
"""Stands for the laptop where the set-up file of this folder is what offers a row."""


class Offer(Frozen):
    """A state that a row has elsewhere."""

    values: Values | None
    """What it says; None where the row is gone there."""
    devices: tuple[str, ...]
    """Laptops that have it; ``THIS_FILE`` for the file of this folder."""
    later: bool
    """Whether it took the place of what stands here; if not, both were changed, or it is new."""


class OpenRow(Frozen):
    """A row that is otherwise elsewhere, and nobody has said which holds."""

    file: columns.SetUpFile
    """Its file."""
    row: str
    """What tells it from other rows of the file for good."""
    here: Values | None
    """As it stands here; None where there is no such row."""
    offers: tuple[Offer, ...]
    """As others have it."""

    @property
    def label(self) -> str:
        """The row as people call it."""
        return columns.named(self.file, self.here or next((one.values for one in self.offers if one.values), {}))

    @property
    def columns(self) -> tuple[str, ...]:
        """Columns in which they differ, in the order of the manual."""
        states = [said(values or {}) for values in (self.here, *(offer.values for offer in self.offers))]
        return tuple(
            column
            for column in self.file.columns
            if any(state.get(column) != states[0].get(column) for state in states)
        )


def open_rows(conn: sqlite3.Connection) -> tuple[OpenRow, ...]:
    """Set-up rows that were changed in two places, and that nobody has settled.

    Args:
        conn: The store.

    Returns:
        In the order in which files are loaded, within a file by label.

    Raises:
        StoreError: The store cannot be read.
    """
    with plainly(conn):
        waiting = conn.execute(
            "SELECT DISTINCT v.file, v.row FROM set_up_versions AS v"
            " WHERE NOT EXISTS (SELECT 1 FROM set_up_order WHERE before = v.version)"
            " AND NOT EXISTS (SELECT 1 FROM set_up_rows AS r WHERE r.version = v.version)"
        ).fetchall()
        found = [one for file, row in waiting if (one := _open(conn, file, row)) is not None]
    order = {file.name: at for at, file in enumerate(columns.FILES)}
    return tuple(sorted(found, key=lambda one: (order.get(one.file.name, len(order)), natural_key(one.label))))


def _open(conn: sqlite3.Connection, name: str, row: str) -> OpenRow | None:
    file = columns.file_of(name)
    if file is None:
        return None
    version = stands(conn, name, row)
    here, offers = becomes_of(conn, version), {}
    for one in heads(conn, name, row):
        if one.becomes != here and one.becomes not in offers:
            later = version in ancestors(conn, one.version)
            offers[one.becomes] = Offer(values_or_none(file, one.becomes), _devices(conn, name, one), later)
    return OpenRow(file, row, values_or_none(file, here), tuple(offers.values())) if offers else None


def values_or_none(file: columns.SetUpFile, text: str) -> Values | None:
    """A row from what an entry says; None where it is gone."""
    return columns.values_of(file, json.loads(text)) if text else None


def _devices(conn: sqlite3.Connection, file: str, one: Version) -> tuple[str, ...]:
    """Laptops that have a row so, the one that said it first before all others."""
    own = pair_of(own_lane_name(conn))
    said = conn.execute(
        "SELECT DISTINCT c.device, c.recorded_at, c.change, l.name FROM set_up_changes AS c"
        " JOIN lanes AS l USING (lane)"
        " WHERE c.file = ?1 AND c.row = (SELECT row FROM set_up_versions WHERE version = ?2) AND c.becomes = ?3"
        " ORDER BY c.recorded_at",
        (file, one.version, one.becomes),
    ).fetchall()
    mine = (THIS_FILE if change == LOADED and pair_of(lane) == own else device for device, _, change, lane in said)
    return tuple(dict.fromkeys(mine))
