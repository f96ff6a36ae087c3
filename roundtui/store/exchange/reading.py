"""Reading a bundle that may be anything: its container, its manifest, and its lines as a stream.

The manifest says what is in it, who made it and when, and how to know that it arrived whole. Temporary tables hold what
it brings until all of it is known to be sound.
"""

from __future__ import annotations

import errno
import hashlib
import json
import re
import sqlite3
import struct
import zipfile
import zlib
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from roundtui.domain.records import Frozen
from roundtui.domain.text import sanitize
from roundtui.errors import StoreError
from roundtui.store.db import SCHEMA_VERSION
from roundtui.store.exchange import lines
from roundtui.store.exchange.lines import ENTRIES, MANIFEST, BundleError, Why, WrongLineError
from roundtui.store.record.journal import in_bulk
from roundtui.store.record.rows import JOURNALS, SET_UP_CHANGES, TABLES, TAIL, Row, Table


class Manifest(Frozen):
    """What a bundle says of itself, as far as anything hangs on it."""

    pair: str
    """Folder and laptop that packed it, by their ids."""
    schema: int
    """Schema of the store it was packed from."""
    entries: int
    """How many entries it holds."""
    bytes: int
    """Their length, unpacked. [bytes]"""
    sha256: str
    """SHA-256 of them, in hexadecimal."""


_WANTED: dict[str, type] = {
    "made_at": str,
    "device": str,
    "scouts": list,
    "pair": str,
    "lanes": dict,
    "kinds": dict,
    "without": list,
    "schema": int,
    "entries": int,
    "bytes": int,
    "sha256": str,
}
"""What every manifest says, of itself and of its one member."""


def parse_manifest(name: str, content: bytes) -> Manifest:
    """Read a manifest.

    Args:
        name: The bundle, for messages.
        content: Its manifest.

    Raises:
        BundleError: It is none, or one that this version does not read.
    """
    try:
        values = json.loads(content.decode("utf-8"))
    except UnicodeDecodeError as error:
        raise BundleError(name, Why.NOT_TEXT, "its manifest is not UTF-8 text") from error
    except (ValueError, RecursionError) as error:
        raise BundleError(name, Why.SHAPE, "its manifest is no JSON") from error
    if not isinstance(values, dict) or values.get("format") != lines.FORMAT:
        raise BundleError(name, Why.FOREIGN, "its manifest does not say that it is one", "name a file made by pack")
    version = values.get("format_version")
    if version != lines.FORMAT_VERSION or isinstance(version, bool):
        said = sanitize(str(version), 20)
        words = f"it is of format {said}, this program reads format {lines.FORMAT_VERSION}"
        hint = "have both laptops on the same version of roundtui, and pack again"
        raise BundleError(name, Why.FORMAT, words, hint)
    members = values.get("members")
    about = members.get(ENTRIES) if isinstance(members, dict) else None
    values |= about if isinstance(about, dict) else {}
    for key, of in _WANTED.items():
        if type(values.get(key)) is not of or (of is int and values[key] < 0):
            raise BundleError(name, Why.SHAPE, f"its manifest lacks or misstates {key}")
    return Manifest(**{key: values[key] for key in ("pair", "schema", "entries", "bytes", "sha256")})


_START = b"PK\x03\x04"
_END = struct.Struct("<4s4H2LH")
_END_MARK = b"PK\x05\x06"
_LONG_END_MARK = b"PK\x06\x07"
_LONG_END_AT = 42
_PIECE = 256 * 1024
_ENCRYPTED = 0x1
_MEND = "have it sent again"
_UNPACKING = (zipfile.BadZipFile, zlib.error, struct.error, EOFError, OSError, RuntimeError, ValueError)
"""What unpacking a container raises that is not what it should be."""


class Bundle(Frozen):
    """A bundle that is open and whose container is sound; its entries are not believed yet."""

    name: str
    """Its name, for messages."""
    manifest: Manifest
    """What it says of itself."""
    file: zipfile.ZipFile
    """The container."""

    def entries(self) -> Iterator[tuple[int, tuple[Table, Row]]]:
        """The entries, each with the number of its line, from 1; see ``read_line``.

        Raises:
            BundleError: They are not what the manifest says, a line is too long, or one is no entry.
        """
        newer = self.manifest.schema > SCHEMA_VERSION
        for number, line in self._lines():
            try:
                found = lines.read_line(line, newer=newer)
            except WrongLineError as error:
                raise self.wrong(number, error) from error
            yield number, found

    def wrong(self, number: int, error: WrongLineError) -> BundleError:
        """What is said of a line that cannot be taken.

        Args:
            number: Its number.
            error: What is wrong with it.
        """
        return BundleError(self.name, error.why, f"line {number} of {ENTRIES}: {error.message}")

    def _lines(self) -> Iterator[tuple[int, bytes]]:
        digest, size, number, rest = hashlib.sha256(), 0, 0, b""
        for piece in _pieces(self.name, self.file, ENTRIES):
            digest.update(piece)
            size += len(piece)
            *whole, rest = (rest + piece).split(b"\n")
            for at, line in enumerate((*whole, rest), number + 1):
                if len(line) > lines.MOST_LINE:
                    words = f"line {at} of {ENTRIES} has more than {lines.MOST_LINE} bytes"
                    raise BundleError(self.name, Why.HUGE, words, "name a file made by roundtui pack")
            yield from enumerate(whole, number + 1)
            number += len(whole)
        if rest:
            raise BundleError(self.name, Why.TRUNCATED, f"the last line of {ENTRIES} has no end", _MEND)
        about = self.manifest
        if digest.hexdigest() != about.sha256 or (size, number) != (about.bytes, about.entries):
            raise BundleError(self.name, Why.TAMPERED, f"{ENTRIES} is not what the manifest says", _MEND)


@contextmanager
def open_bundle(path: Path) -> Iterator[Bundle]:
    """Open a bundle and look at everything but its entries.

    Args:
        path: The file.

    Raises:
        BundleError: It is no sound bundle of this version.
        StoreError: The file cannot be read.
    """
    name = lines.shown(path)
    with _container(path, name) as file:
        _look_at_members(name, file.infolist())
        yield Bundle(name, parse_manifest(name, b"".join(_pieces(name, file, MANIFEST))), file)


def _container(path: Path, name: str) -> zipfile.ZipFile:
    try:
        if not path.is_file():
            what = "is no file" if path.exists() else "is not there"
            raise StoreError(f"{sanitize(str(path), 200)} {what}", "check the name of the bundle")
        _look_at_ends(path, name)
        return zipfile.ZipFile(path)
    except (zipfile.BadZipFile, struct.error, EOFError, ValueError) as error:
        raise _misfit(name) from error
    except OSError as error:
        if error.errno == errno.EINVAL:  # What the container points at lies before its beginning.
            raise _misfit(name) from error
        raise StoreError(
            f"{sanitize(str(path), 200)} cannot be read: {error.strerror or error}", "check who may read it"
        ) from error


def _misfit(name: str) -> BundleError:
    return BundleError(name, Why.TRUNCATED, "its end does not fit its beginning", _MEND)


def _look_at_ends(path: Path, name: str) -> None:
    size = path.stat().st_size
    if size > lines.MOST_PACKED:
        raise BundleError(
            name, Why.HUGE, f"the file has {size} bytes, and may have {lines.MOST_PACKED}", "pack less at once"
        )
    with path.open("rb") as file:
        if file.read(len(_START)) != _START:
            raise BundleError(name, Why.FOREIGN, "it does not begin like one", "name a file made by roundtui pack")
        file.seek(max(0, size - _LONG_END_AT))
        tail = file.read()
    end = tail[-_END.size :]
    if len(end) < _END.size or not end.startswith(_END_MARK):
        raise BundleError(name, Why.TRUNCATED, "its end is missing", _MEND)
    if tail.startswith(_LONG_END_MARK):
        raise BundleError(name, Why.HUGE, "its container is of the kind for huge files", "name a file made by pack")
    if _END.unpack(end)[5] > lines.MOST_MANIFEST:
        raise BundleError(name, Why.HUGE, "its list of members has no end", "name a file made by pack")


def _look_at_members(name: str, members: list[zipfile.ZipInfo]) -> None:
    seen: set[str] = set()
    for info in members:
        member = sanitize(info.orig_filename, 60)
        if info.header_offset < 0:
            raise _misfit(name)
        if info.orig_filename not in (MANIFEST, ENTRIES):
            raise BundleError(name, Why.STRAY, f"{member} does not belong in a bundle", "do not use it")
        if member in seen:
            raise BundleError(name, Why.DOUBLE, f"{member} is in it twice", "do not use it")
        seen.add(member)
        if info.flag_bits & _ENCRYPTED or info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise BundleError(name, Why.FOREIGN, f"{member} is packed in a way pack does not use", "pack it again")
        most = lines.MOST_MANIFEST if member == MANIFEST else lines.MOST_BYTES
        if info.file_size > lines.RATIO_FROM:
            most = min(most, lines.MOST_RATIO * max(1, info.compress_size))
        if info.file_size > most:
            words = f"{member} unpacks to {info.file_size} bytes from {info.compress_size}"
            raise BundleError(name, Why.HUGE, words, "do not use it")
    if MANIFEST not in seen:
        raise BundleError(name, Why.FOREIGN, f"it has no {MANIFEST}", "name a file made by roundtui pack")
    if ENTRIES not in seen:
        raise BundleError(name, Why.TRUNCATED, f"it has no {ENTRIES}", _MEND)


def _pieces(name: str, file: zipfile.ZipFile, member: str) -> Iterator[bytes]:
    try:
        with file.open(member) as stream:
            while piece := stream.read(_PIECE):
                yield piece
    except _UNPACKING as error:
        raise BundleError(name, Why.TAMPERED, f"{member} does not unpack: {sanitize(str(error), 80)}", _MEND) from error


_SPARED = re.compile(
    r"\s*(REFERENCES\s+\w+\s*\(\w+\)|CHECK \((\w+) GLOB '[-0-9\[\]]+' AND date\(\2\) IS \2\)"
    r"|CHECK \(recorded_at GLOB '[^']+'\))"
)
"""Limits that staged rows are spared: lanes are numbered anew, and days and instants were looked at with the line."""
_LANE = -TAIL[::-1].index("lane") - 1
EVERYTHING = ""
"""Stands for all lanes together where ids are held against each other."""


class WrongRowError(WrongLineError):
    """A row that its table refuses.

    Args:
        at: Place in what was added, from 0.
        why: Why.
        message: What exactly is wrong.
    """

    def __init__(self, at: int, why: Why, message: str) -> None:
        super().__init__(why, message)
        self.at = at


@contextmanager
def tables(conn: sqlite3.Connection) -> Iterator[None]:
    """Make the tables, each with the limits of the one it stands in for, and let go of them in the end.

    Args:
        conn: The store.
    """
    _drop(conn)
    conn.execute("CREATE TEMP TABLE incoming_lanes (lane INTEGER NOT NULL PRIMARY KEY, name TEXT NOT NULL UNIQUE)")
    for table in JOURNALS:
        (sql,) = conn.execute(
            "SELECT sql FROM main.sqlite_master WHERE type = 'table' AND name = ?", (table.name,)
        ).fetchone()
        body = _SPARED.sub("", sql[sql.index("(") :])
        conn.execute(f"CREATE TEMP TABLE {_name(table)} {body}")
    try:
        yield
    finally:
        _drop(conn)


def of(table: Table) -> str:
    """Name of the table that stands in for another.

    Args:
        table: The other.
    """
    return f"temp.{_name(table)}"


def filled(conn: sqlite3.Connection) -> list[Table]:
    """Those that something is in.

    Args:
        conn: The store.
    """
    return [table for table in JOURNALS if conn.execute(f"SELECT 1 FROM {of(table)} LIMIT 1").fetchone()]  # noqa: S608


def add(conn: sqlite3.Connection, rows: Sequence[tuple[Table, Row]]) -> None:
    """Add rows; one that is there as it is counts once.

    Args:
        conn: The store.
        rows: Table and whole row of each, with the name of its lane.

    Raises:
        WrongRowError: One breaks a limit, or its id is there with another content.
    """
    conn.execute("BEGIN")
    try:
        names = {(row[_LANE],) for _, row in rows}
        conn.executemany("INSERT OR IGNORE INTO temp.incoming_lanes (name) VALUES (?)", names)
        lanes = dict(conn.execute("SELECT name, lane FROM temp.incoming_lanes"))
        by_table: dict[str, tuple[Table, list[tuple[int, Row]]]] = {}
        for at, (table, row) in enumerate(rows):
            whole = (*row[:_LANE], lanes[row[_LANE]], *row[_LANE + 1 :])
            by_table.setdefault(table.name, (table, []))[1].append((at, whole))
        for table, group in by_table.values():
            _add(conn, table, group)
        conn.execute("COMMIT")
    except BaseException:
        if conn.in_transaction:
            conn.execute("ROLLBACK")
        raise


def _add(conn: sqlite3.Connection, table: Table, rows: list[tuple[int, Row]]) -> None:
    statement = f"{table.insert.replace(table.name, of(table), 1)} ON CONFLICT (id) DO NOTHING"
    try:
        added = conn.executemany(statement, [row for _, row in rows]).rowcount
    except sqlite3.IntegrityError:
        _name_the_wrong_one(conn, statement, rows)
        raise
    for at, row in rows if added < len(rows) else ():
        (digest,) = conn.execute(f"SELECT digest FROM {of(table)} WHERE id = ?", (row[0],)).fetchone()  # noqa: S608
        if digest != row[-1]:
            raise WrongRowError(at, Why.CLASH, f"entry {row[0]} says something else than under the same id before")


def _name_the_wrong_one(conn: sqlite3.Connection, statement: str, rows: list[tuple[int, Row]]) -> None:
    for at, row in rows:
        try:
            conn.execute(statement, row)
        except sqlite3.IntegrityError as error:
            said = str(error).partition("CHECK constraint failed: ")[2] or str(error)
            raise WrongRowError(at, Why.LIMITS, f"entry {row[0]} breaks a limit: {said[:80]}") from error


def add_staged(conn: sqlite3.Connection) -> dict[str, int]:
    """Put on record what the temporary tables hold and the record does not, each entry on its lane.

    Args:
        conn: The store, inside a transaction; what is staged was checked.

    Returns:
        How many entries were new, by kind; those that only a newer program knows under no word.
    """
    conn.execute("INSERT OR IGNORE INTO lanes (name) SELECT name FROM temp.incoming_lanes ORDER BY lane")
    added = {}
    for table in JOURNALS:
        (staged,) = conn.execute(f"SELECT count(*) FROM {of(table)}").fetchone()  # noqa: S608
        if not staged:
            added[table.kind] = 0
            continue
        listed = ", ".join("known.lane" if one == "lane" else f"new.{one}" for one in table.whole.split(", "))
        with in_bulk(conn, table, staged), _checked_before(conn):
            done = conn.execute(
                f"INSERT INTO {table.name} ({table.whole}) SELECT {listed}"  # noqa: S608
                f" FROM {of(table)} AS new JOIN temp.incoming_lanes AS come ON come.lane = new.lane"
                " JOIN lanes AS known ON known.name = come.name"
                f" WHERE NOT EXISTS (SELECT 1 FROM {table.name} AS old WHERE old.id = new.id) ORDER BY new.id"
            )
        added[table.kind] = done.rowcount
        conn.execute(
            "UPDATE lanes SET last_no = new.no, last_digest = new.digest, label = new.device"  # noqa: S608
            f" FROM (SELECT come.name, max(s.no) AS no, s.digest, s.device FROM {of(table)} AS s"
            " JOIN temp.incoming_lanes AS come ON come.lane = s.lane GROUP BY come.name) AS new"
            " WHERE lanes.name = new.name AND lanes.last_no < new.no"
        )
    return added


@contextmanager
def _checked_before(conn: sqlite3.Connection) -> Iterator[None]:
    """Spare the limits of a table a second look: what comes was held to the very same ones as it was staged."""
    conn.execute("PRAGMA ignore_check_constraints = ON")
    try:
        yield
    finally:
        conn.execute("PRAGMA ignore_check_constraints = OFF")


def ids_held(conn: sqlite3.Connection, *, staged: bool = False) -> dict[str, str]:
    """Which entries are on record, or staged: a digest of their ids for each lane, by name, and for all together.

    Args:
        conn: The store.
        staged: Whether those in the temporary tables are meant.
    """
    ids: dict[str, list[str]] = defaultdict(list)
    lanes = "temp.incoming_lanes" if staged else "lanes"
    for table in JOURNALS:
        place = of(table) if staged else table.name
        for lane, entry in conn.execute(f"SELECT l.name, e.id FROM {place} AS e JOIN {lanes} AS l USING (lane)"):  # noqa: S608
            ids[lane].append(entry)
    return {EVERYTHING: digest_of_ids(one for some in ids.values() for one in some)} | {
        lane: digest_of_ids(some) for lane, some in ids.items()
    }


def digest_of_ids(ids: Iterable[str]) -> str:
    """SHA-256 of some ids, in whatever order they come.

    Args:
        ids: The ids.
    """
    return hashlib.sha256("\n".join(sorted(ids)).encode()).hexdigest()


def new_set_up(conn: sqlite3.Connection) -> list[str]:
    """Ids of the changes of set-up rows that are staged and not on record yet, in order.

    Args:
        conn: The store.
    """
    found = conn.execute(
        f"SELECT id FROM {of(SET_UP_CHANGES)} WHERE id NOT IN (SELECT id FROM set_up_changes) ORDER BY id"  # noqa: S608
    )
    return [one for (one,) in found.fetchall()]


def with_unknown_fields(conn: sqlite3.Connection) -> int:
    """How many staged entries that are not on record yet have fields that only a newer program knows.

    Args:
        conn: The store.
    """
    return sum(
        conn.execute(
            f"SELECT count(*) FROM {of(table)} WHERE extra <> '' AND id NOT IN (SELECT id FROM {table.name})"  # noqa: S608
        ).fetchone()[0]
        for table in TABLES.values()
    )


def _name(table: Table) -> str:
    return f"incoming_{table.name}"


def _drop(conn: sqlite3.Connection) -> None:
    for table in JOURNALS:
        conn.execute(f"DROP TABLE IF EXISTS temp.{_name(table)}")
    conn.execute("DROP TABLE IF EXISTS temp.incoming_lanes")
