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
from roundtui.domain.text import sanitize
from roundtui.errors import RefusedError
from roundtui.store.checks.trouble import find_suspect
from roundtui.store.db import transaction
from roundtui.store.exchange.lines import WrongLineError
from roundtui.store.failures import plainly
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


def version_of(file: str, row: str, becomes: str, after: Collection[str]) -> str:
    """What tells a state of a row from others.

    Args:
        file: Name of its file.
        row: What tells the row from others.
        becomes: What it says.
        after: Versions whose place it took.
    """
    text = json.dumps([file, row, becomes, *sorted(after)], ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:32]


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
    file: columns.SetUpFile, place: tuple[str, str], kind: str, texts: tuple[str, str], values: Values, *, done_on: date
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
        after=place[1],
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


def after_now(conn: sqlite3.Connection, file: str, row: str, version: str) -> str:
    """What the next version of a row comes after: the one that stands, and those that say the same.

    Args:
        conn: The store.
        file: Name of its file.
        row: What tells the row from others.
        version: The version that stands; empty where there is none.
    """
    if not version:
        return ""
    says = becomes_of(conn, version)
    return " ".join(sorted({version, *(one.version for one in heads(conn, file, row) if one.becomes == says)}))


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
    after = entry.after.split()
    version = version_of(entry.file, entry.row, entry.becomes, after)
    conn.execute(
        "INSERT OR IGNORE INTO set_up_versions (version, file, row, entry) VALUES (?, ?, ?, ?)",
        (version, entry.file, entry.row, entry.id),
    )
    conn.executemany(
        "INSERT OR IGNORE INTO set_up_order (version, before) VALUES (?, ?)", [(version, one) for one in after]
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
    stands = conn.execute("SELECT version FROM set_up_rows WHERE file = ? AND row = ?", (name, row)).fetchone()
    if len({one.becomes for one in found}) > 1 and stands is not None:
        return True
    holds = found[0]
    says = becomes_of(conn, stands[0]) if stands is not None else ""
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
    old, new = (columns.values_of(file, json.loads(text)) if text else None for text in (was, becomes))
    for reference, label in columns.misfits(conn, file, new) if new is not None else ():
        raise sqlite3.IntegrityError(f"{reference.key} {label} is not there" if reference else f"a trap for {label}")
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


_SHOWN = 40


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
            if kept is not None and kept.values is not None:
                _refuse_misfit(conn, row, kept.values)
            changes.append(_settled(conn, row, holds, now))
            write_row(conn, row.file, changes[-1].was, changes[-1].becomes)
        record_changes(conn, changes, author, now)
        if any(kept is not None and row.file.table in ("traps", "lots") for row, kept in choices):
            find_suspect(conn)


def _settled(conn: sqlite3.Connection, row: OpenRow, holds: Values | None, now: datetime) -> SetUpChanged:
    """What is said of a row that was changed in two places: it comes after all its versions."""
    found = heads(conn, row.file.name, row.row)
    stands = conn.execute(
        "SELECT version FROM set_up_rows WHERE file = ? AND row = ?", (row.file.name, row.row)
    ).fetchone()
    after = {one.version for one in found} | ({stands[0]} if stands else set())
    wanted = text_of(row.file, holds)
    becomes = next((one.becomes for one in found if text_of(row.file, _values(row, one)) == wanted), wanted)
    was = becomes_of(conn, stands[0]) if stands else ""
    place = (row.row, " ".join(sorted(after)))
    return change_of(row.file, place, SETTLED, (was, becomes), holds or row.here or {}, done_on=now.date())


def _values(row: OpenRow, one: Version) -> Values | None:
    return values_or_none(row.file, one.becomes)


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
            NotInFile(file, columns.named(file, values), "" if file.whole else columns.csv_line(file, values))
            for file in (*columns.FILES, *office_files(conn))
            for key, values in columns.rows_in(conn, file).items()
            if loaded.get((file.name, key)) != columns.digest_of(file, values)
        )


def _refuse_misfit(conn: sqlite3.Connection, row: OpenRow, values: Values) -> None:
    of_row = f"{row.file.name} {columns.named(row.file, values)}"
    for reference, label in columns.misfits(conn, row.file, values):
        if reference is not None:
            raise RefusedError(
                f"{of_row} needs the {reference.key} {sanitize(label, _SHOWN)}, which is not here",
                f"take over its row of {reference.file} first",
            )
        raise RefusedError(
            f"{sanitize(str(values['trap']), _SHOWN)} is a trap for {label} and cannot become one for"
            f" {values['species']}",
            "a body keeps its species for life: keep the row here, and hang a new trap under a new label",
        )


THIS_FILE = ""
"""Stands for the laptop where the set-up file of this folder is what offers a row."""


class Offer(Frozen):
    """A state that a row has elsewhere."""

    digest: str
    """What tells it from others."""
    values: Values | None
    """What it says; None where the row is gone there."""
    devices: tuple[str, ...]
    """Laptops that have it; ``THIS_FILE`` for the file of this folder."""
    in_file: bool
    """Whether the file of one of them has it so."""
    made_at: datetime | None
    """When the newest bundle with it was packed; None for the file of this folder."""
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
    def digest(self) -> str:
        """What tells the state here from others; empty where there is no such row."""
        return columns.digest_of(self.file, self.here) if self.here is not None else ""

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
    stands = conn.execute("SELECT version FROM set_up_rows WHERE file = ? AND row = ?", (name, row)).fetchone()
    here = becomes_of(conn, stands[0]) if stands else ""
    offers: dict[str, Offer] = {}
    for one in heads(conn, name, row):
        if one.becomes != here and one.becomes not in offers:
            offers[one.becomes] = _offer(
                conn, file, one, later=bool(stands) and stands[0] in ancestors(conn, one.version)
            )
    if not offers:
        return None
    return OpenRow(file, row, values_or_none(file, here), tuple(offers.values()))


def values_or_none(file: columns.SetUpFile, text: str) -> Values | None:
    """A row from what an entry says; None where it is gone."""
    return columns.values_of(file, json.loads(text)) if text else None


def _offer(conn: sqlite3.Connection, file: columns.SetUpFile, one: Version, *, later: bool) -> Offer:
    own = pair_of(own_lane_name(conn))
    said = conn.execute(
        "SELECT DISTINCT c.device, c.recorded_at, c.change, l.name FROM set_up_changes AS c"
        " JOIN lanes AS l USING (lane)"
        " WHERE c.file = ?1 AND c.row = (SELECT row FROM set_up_versions WHERE version = ?2) AND c.becomes = ?3"
        " ORDER BY c.recorded_at",
        (file.name, one.version, one.becomes),
    ).fetchall()
    mine = [change == LOADED and pair_of(lane) == own for _, _, change, lane in said]
    devices = dict.fromkeys(THIS_FILE if of_file else device for (device, *_), of_file in zip(said, mine, strict=True))
    made_at = max((datetime.fromisoformat(at) for _, at, *_ in said), default=None)
    in_file = any(change == LOADED for _, _, change, _ in said)
    return Offer(one.version, values_or_none(file, one.becomes), tuple(devices), in_file, made_at, later=later)
