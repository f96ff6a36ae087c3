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
from dataclasses import asdict, field
from datetime import datetime
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any, TypeGuard

from roundtui import __version__
from roundtui.domain.records import Frozen
from roundtui.domain.text import sanitize
from roundtui.errors import StoreError
from roundtui.store.db import SCHEMA_VERSION
from roundtui.store.exchange import lines
from roundtui.store.exchange.lines import ENTRIES, MANIFEST, MOST_MEMBERS, BundleError, Why
from roundtui.store.record.journal import in_bulk
from roundtui.store.record.rows import JOURNALS, SET_UP_CHANGES, TABLES, TAIL, Row, Table

_SHA256 = re.compile(r"[0-9a-f]{64}")


class Member(Frozen):
    """What the manifest says of one member."""

    name: str
    """Its name in the container."""
    entries: int
    """How many entries it holds."""
    bytes: int
    """Its length, unpacked. [bytes]"""
    sha256: str
    """SHA-256 of its content, in hexadecimal."""
    first: str | None
    """Lowest id; None where it holds none."""
    last: str | None
    """Highest id; None where it holds none."""


class Manifest(Frozen):
    """What a bundle says of itself."""

    made_at: str
    """Instant of packing, UTC."""
    device: str
    """Laptop that packed it."""
    scouts: tuple[str, ...]
    """Whose entries are in it."""
    since: str | None
    """The mark it begins at: an id or a day; None: everything."""
    members: dict[str, Member]
    """Members by name."""
    pair: str = ""
    """Folder and laptop that packed it, by their ids."""
    lanes: dict[str, int] = field(default_factory=dict)
    """Number of the newest entry of each lane that is known there, by name."""
    kinds: dict[str, int] = field(default_factory=dict)
    """Entries by kind."""
    without: tuple[str, ...] = ()
    """Lanes whose entries were left out, since their own laptops hand them on."""
    schema: int = SCHEMA_VERSION
    """Schema of the store it was packed from."""

    @property
    def entries(self) -> int:
        """How many entries the bundle holds."""
        return self.members[ENTRIES].entries if ENTRIES in self.members else 0

    def to_json(self) -> bytes:
        """The manifest as its member holds it."""
        head = {"format": lines.FORMAT, "format_version": lines.FORMAT_VERSION, "program": f"roundtui {__version__}"}
        values: dict[str, Any] = {**head, **asdict(self)}
        values["members"] = {member.pop("name"): member for member in values["members"].values()}
        return (json.dumps(values, indent=1, ensure_ascii=False) + "\n").encode()


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
    try:
        return _manifest(values)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise BundleError(
            name, Why.SHAPE, f"its manifest lacks or misstates {sanitize(str(error).strip(chr(39)), 40)}"
        ) from error


def _manifest(values: dict[str, Any]) -> Manifest:
    members = {name: _member(name, about) for name, about in _of(dict, values, "members").items()}
    since = values.get("since")
    if since is not None and not isinstance(since, str):
        raise TypeError("since")
    scouts, without = _texts(values, "scouts"), _texts(values, "without")
    if not _is_whole(values.get("schema")):
        raise TypeError("schema")
    made_at = _of(str, values, "made_at")
    try:
        datetime.fromisoformat(made_at)
    except ValueError as error:
        raise ValueError("made_at") from error
    return Manifest(
        made_at,
        _of(str, values, "device"),
        scouts,
        since,
        members,
        _of(str, values, "pair"),
        _numbers(values, "lanes"),
        _numbers(values, "kinds"),
        without,
        values["schema"],
    )


def _numbers(values: dict[str, Any], key: str) -> dict[str, int]:
    numbers = _of(dict, values, key)
    if not all(map(_is_whole, numbers.values())):
        raise TypeError(key)
    return dict(numbers)


def _texts(values: dict[str, Any], key: str) -> tuple[str, ...]:
    texts = _of(list, values, key)
    if not all(isinstance(text, str) for text in texts):
        raise TypeError(key)
    return tuple(texts)


def _member(name: str, about: Any) -> Member:
    if name not in (ENTRIES,) or not isinstance(about, dict):
        raise ValueError(name)
    for key in ("entries", "bytes"):
        if not _is_whole(about.get(key)):
            raise TypeError(key)
    sha256 = about.get("sha256")
    if not isinstance(sha256, str) or not _SHA256.fullmatch(sha256):
        raise ValueError("sha256")
    for key in ("first", "last"):
        if about.get(key) is not None and not isinstance(about[key], str):
            raise TypeError(key)
    return Member(name, about["entries"], about["bytes"], sha256, about.get("first"), about.get("last"))


def _of(kind: type, values: dict[str, Any], key: str) -> Any:
    if not isinstance(values.get(key), kind):
        raise TypeError(key)
    return values[key]


def _is_whole(value: Any) -> TypeGuard[int]:
    return isinstance(value, int) and not isinstance(value, bool) and value >= 0


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

    def lines(self, member: str) -> Iterator[tuple[int, bytes]]:
        """The lines of a member, numbered from 1, without their ends.

        Args:
            member: Its name.

        Raises:
            BundleError: It is not what the manifest says, or a line is too long.
        """
        about = self.manifest.members[member]
        digest, size, number, rest = hashlib.sha256(), 0, 0, b""
        for piece in _pieces(self.name, self.file, member):
            digest.update(piece)
            size += len(piece)
            *whole, rest = (rest + piece).split(b"\n")
            for line in whole:
                number += 1
                if len(line) > lines.MOST_LINE:
                    raise _too_long(self.name, member, number)
                yield number, line
            if len(rest) > lines.MOST_LINE:
                raise _too_long(self.name, member, number + 1)
        if rest:
            raise BundleError(self.name, Why.TRUNCATED, f"the last line of {member} has no end", _MEND)
        if digest.hexdigest() != about.sha256 or (size, number) != (about.bytes, about.entries):
            raise BundleError(self.name, Why.TAMPERED, f"{member} is not what the manifest says", _MEND)


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
        manifest = parse_manifest(name, b"".join(_pieces(name, file, MANIFEST)))
        _look_at_manifest(name, {info.filename for info in file.infolist()} - {MANIFEST}, manifest)
        yield Bundle(name, manifest, file)


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
    _, _, _, _, members, directory, _, _ = _END.unpack(end)
    if members > MOST_MEMBERS or directory > lines.MOST_MANIFEST:
        raise BundleError(
            name, Why.HUGE, f"it has {members} members, and may have {MOST_MEMBERS}", "name a file made by pack"
        )


def _look_at_members(name: str, members: list[zipfile.ZipInfo]) -> None:
    seen: set[str] = set()
    if len(members) > MOST_MEMBERS:
        raise BundleError(
            name, Why.HUGE, f"it has {len(members)} members, and may have {MOST_MEMBERS}", "name a file made by pack"
        )
    if any(info.header_offset < 0 for info in members):
        raise _misfit(name)
    for info in members:
        member = sanitize(info.orig_filename, 60)
        if _climbs(info.orig_filename):
            raise BundleError(name, Why.PATH, f"the member {member} would lie outside", "do not use it")
        if info.filename in seen:
            raise BundleError(name, Why.DOUBLE, f"{member} is in it twice", "do not use it")
        seen.add(info.filename)
        if info.filename not in (MANIFEST, ENTRIES):
            raise BundleError(name, Why.STRAY, f"{member} does not belong in a bundle", "do not use it")
        if info.flag_bits & _ENCRYPTED or info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise BundleError(name, Why.FOREIGN, f"{member} is packed in a way pack does not use", "pack it again")
        most = lines.MOST_MANIFEST if info.filename == MANIFEST else lines.MOST_BYTES
        if info.file_size > most:
            raise BundleError(name, Why.HUGE, f"{member} unpacks to {info.file_size} bytes", "do not use it")
        if info.file_size > lines.RATIO_FROM and info.file_size > lines.MOST_RATIO * max(1, info.compress_size):
            raise BundleError(
                name, Why.HUGE, f"{member} unpacks to {info.file_size} bytes from {info.compress_size}", "do not use it"
            )
    total = sum(info.file_size for info in members)
    if total > lines.MOST_BYTES:
        raise BundleError(
            name, Why.HUGE, f"it unpacks to {total} bytes, and may to {lines.MOST_BYTES}", "do not use it"
        )
    if MANIFEST not in seen:
        raise BundleError(name, Why.FOREIGN, f"it has no {MANIFEST}", "name a file made by roundtui pack")


def _look_at_manifest(name: str, there: set[str], manifest: Manifest) -> None:
    for member in sorted(there - manifest.members.keys()):
        raise BundleError(name, Why.STRAY, f"{member} is not in its manifest", "do not use it")
    for member in sorted({ENTRIES, *manifest.members} - there):
        raise BundleError(name, Why.TRUNCATED, f"{member} is in its manifest and missing", _MEND)


def _climbs(member: str) -> bool:
    """Whether a name, taken as a path on any system, would leave the folder it is unpacked in."""
    posix, windows = PurePosixPath(member), PureWindowsPath(member)
    return bool(
        posix.is_absolute() or windows.anchor or ".." in posix.parts or ".." in windows.parts or "\x00" in member
    )


def _pieces(name: str, file: zipfile.ZipFile, member: str) -> Iterator[bytes]:
    try:
        with file.open(member) as stream:
            while piece := stream.read(_PIECE):
                yield piece
    except _UNPACKING as error:
        raise BundleError(name, Why.TAMPERED, f"{member} does not unpack: {sanitize(str(error), 80)}", _MEND) from error


def _too_long(name: str, member: str, number: int) -> BundleError:
    words = f"line {number} of {member} has more than {lines.MOST_LINE} bytes"
    hint = "name a file made by roundtui pack"
    return BundleError(name, Why.HUGE, words, hint)


_SPARED = re.compile(
    r"\s*(REFERENCES\s+\w+\s*\(\w+\)|CHECK \((\w+) GLOB '[-0-9\[\]]+' AND date\(\2\) IS \2\)"
    r"|CHECK \(recorded_at GLOB '[^']+'\))"
)
"""Limits that staged rows are spared: lanes are numbered anew, and days and instants were looked at with the line."""
_LANE = -TAIL[::-1].index("lane") - 1
EVERYTHING = ""
"""Stands for all lanes together where ids are held against each other."""


class WrongRowError(Exception):
    """A row that its table refuses.

    Args:
        at: Place in what was added, from 0.
        why: Why.
        message: What exactly is wrong.
    """

    def __init__(self, at: int, why: Why, message: str) -> None:
        super().__init__(message)
        self.at = at
        self.why = why
        self.message = message


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
        lanes = _lanes(conn, {row[_LANE] for _, row in rows})
        by_table: dict[str, tuple[Table, list[tuple[int, Row]]]] = {}
        for at, (table, row) in enumerate(rows):
            whole = (*row[:_LANE], lanes[row[_LANE]], *row[_LANE + 1 :])
            by_table.setdefault(table.name, (table, []))[1].append((at, whole))
        for table, group in by_table.values():
            _add(conn, table, group)
        conn.execute("COMMIT")
    except BaseException:
        conn.execute("ROLLBACK")
        raise


def _lanes(conn: sqlite3.Connection, names: set[str]) -> dict[str, int]:
    conn.executemany("INSERT OR IGNORE INTO temp.incoming_lanes (name) VALUES (?)", [(name,) for name in names])
    return dict(conn.execute("SELECT name, lane FROM temp.incoming_lanes"))


def _add(conn: sqlite3.Connection, table: Table, rows: list[tuple[int, Row]]) -> None:
    marks = ", ".join("?" * (len(table.columns) + len(TAIL)))
    statement = f"INSERT INTO {of(table)} ({table.whole}) VALUES ({marks}) ON CONFLICT (id) DO NOTHING"  # noqa: S608
    try:
        added = conn.executemany(statement, [row for _, row in rows]).rowcount
    except sqlite3.IntegrityError:
        _name_the_wrong_one(conn, statement, rows)
        raise
    if added < len(rows):
        _refuse_clash(conn, table, rows)


def _name_the_wrong_one(conn: sqlite3.Connection, statement: str, rows: list[tuple[int, Row]]) -> None:
    for at, row in rows:
        try:
            conn.execute(statement, row)
        except sqlite3.IntegrityError as error:
            said = str(error).partition("CHECK constraint failed: ")[2] or str(error)
            raise WrongRowError(at, Why.LIMITS, f"entry {row[0]} breaks a limit: {said[:80]}") from error


def _refuse_clash(conn: sqlite3.Connection, table: Table, rows: list[tuple[int, Row]]) -> None:
    for at, row in rows:
        (digest,) = conn.execute(f"SELECT digest FROM {of(table)} WHERE id = ?", (row[0],)).fetchone()  # noqa: S608
        if digest != row[-1]:
            raise WrongRowError(at, Why.CLASH, f"entry {row[0]} says something else than under the same id before")


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
