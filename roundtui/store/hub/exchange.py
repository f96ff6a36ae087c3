"""Meeting at a hub: what is new here goes there, and what is new there comes here.

A laptop numbers its pushes without a gap, and each has a mark that follows from all before it. Whoever saw a push of a
laptop by its number and mark has seen all before it, whatever the clocks say and in whatever order transactions end.
Where a mark is another than it was, the hub was restored from a backup: the lane is read anew, everything sent again.
An entry concerns the groups of its farms; one about no farm concerns all of them.
"""

from __future__ import annotations

import heapq
import json
import sqlite3
from collections import Counter, defaultdict
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import closing
from dataclasses import asdict, dataclass, field
from datetime import date, datetime
from functools import cache
from hashlib import sha256
from itertools import chain, islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

from roundtui import __version__
from roundtui.errors import Problem, RefusedError, StoreError
from roundtui.store.connect import open_store
from roundtui.store.db import SCHEMA_VERSION, transaction
from roundtui.store.exchange import reading
from roundtui.store.exchange.lines import WrongLineError, read_text
from roundtui.store.exchange.merge import Progress, take_staged
from roundtui.store.failures import plainly, unwritable
from roundtui.store.hub.connection import PATIENCE, PREFIX, Watch, connected
from roundtui.store.record.lanes import HUB, lane_ends, lane_names, own_lane_name, pair_of, state_folder
from roundtui.store.record.read import put_setting, setting
from roundtui.store.record.rows import HEAD, JOURNALS, Row, Table, holding, text_of

if TYPE_CHECKING:
    from psycopg import Connection

ALL: frozenset[str] = frozenset()
"""Stands for every group of the office."""


_REPLACES = HEAD.index("replaces")


@cache
def _place(name: str) -> int | None:
    """Column of the trap or block that entries of a table are about; None where they are about something else."""
    table = next(one for one in JOURNALS if one.name == name)
    return table.columns.index(table.place) if table.place in ("trap", "block") else None


def _said(table: Table, row: Row) -> dict[str, Any]:
    """What a whole row says, its unknown fields too."""
    extra = json.loads(row[-6]) if row[-6] else {}
    return {**extra, "kind": table.kind, **dict(zip(table.columns, row, strict=False))}


class Groups:
    """What the set-up says of groups, as a store has it now.

    Args:
        conn: The store.
        office: Name of the office: the group of farms that are in none.
    """

    def __init__(self, conn: sqlite3.Connection, office: str) -> None:
        self._conn = conn
        self._office = office
        self._farms: dict[str, str] = {
            farm: group or office for farm, group in conn.execute('SELECT farm, "group" FROM farms')
        }
        self._blocks: dict[str, str] = dict(conn.execute("SELECT block, farm FROM blocks"))
        self._traps: dict[str, set[str]] = defaultdict(set)
        for trap, block in conn.execute("SELECT trap, block FROM traps"):
            self._traps[trap].add(block)
        self._of_trap = {trap: frozenset().union(*map(self._of_block, blocks)) for trap, blocks in self._traps.items()}

    def places(self) -> dict[str, str]:
        """Groups of each farm and block, and of traps that hung in several."""
        found = {f"farm {farm}": group for farm, group in self._farms.items()}
        found |= {f"block {block}": "\t".join(self._of_block(block)) for block in self._blocks}
        return found | {f"trap {trap}": "\t".join(sorted(of)) for trap, of in self._of_trap.items() if len(of) > 1}

    def differ(self, before: Mapping[str, str]) -> bool:
        """Whether entries of before would have other groups now.

        Args:
            before: What ``places`` gave then; what is new since then has no entries of before.
        """
        now = self.places()
        return any(now.get(place, group) != group for place, group in before.items()) or any(
            place.startswith("trap ") and place not in before for place in now
        )

    def of(self, said: Mapping[str, Any]) -> frozenset[str]:
        """Groups of an entry; none: all of the office.

        Args:
            said: What it says, by name, of whatever kind.
        """
        found = self._rows(said) if said.get("kind") == "set-up" else self._about(said, ("trap", "block", "farm"))
        found += [
            self.of_entry(earlier) for earlier in (said.get("replaces"), said.get("entry")) if isinstance(earlier, str)
        ]
        return frozenset().union(*found) if all(found) else ALL

    def of_entry(self, entry_id: str) -> frozenset[str]:
        """Groups of an entry that is on record here; all of them where there is no such entry.

        Args:
            entry_id: Its id.
        """
        table, row = self._entry(entry_id)
        return self.of({"kind": table.kind, **row}) if table else ALL

    def of_row(self, table: Table, row: Row) -> frozenset[str]:
        """Groups of an entry by its whole row, at once where it is about one trap or block and corrects nothing.

        Args:
            table: Its table.
            row: The row.
        """
        at = _place(table.name)
        if row[_REPLACES] is None and not row[-6] and at is not None:
            return self._of_trap.get(row[at], ALL) if table.place == "trap" else self._of_block(row[at])
        return self.of(_said(table, row))

    def earlier(self, table: Table, row: Row) -> list[str]:
        """Ids of the entries that one corrects or withdraws, the whole way back.

        Args:
            table: Its table.
            row: Its whole row.
        """
        if row[_REPLACES] is None and "entry" not in table.columns:
            return []
        said = _said(table, row)
        found: list[str] = []
        waiting = [said.get("replaces"), said.get("entry")]
        while waiting:
            one = waiting.pop()
            if isinstance(one, str) and one not in found:
                found.append(one)
                waiting.append(self._entry(one)[1].get("replaces"))
        return found

    def _entry(self, entry_id: str) -> tuple[Table | None, dict[str, Any]]:
        table = holding(self._conn, entry_id, JOURNALS)
        if table is None:
            return None, {}
        row = self._conn.execute(f"SELECT {table.listed} FROM {table.name} WHERE id = ?", (entry_id,)).fetchone()  # noqa: S608
        return table, {name: value for name, value in zip(table.columns, row, strict=True) if value}

    def _about(self, said: Mapping[str, Any], places: Sequence[str]) -> list[frozenset[str]]:
        """Groups of each place that is named."""
        of = {"trap": lambda trap: self._of_trap.get(trap, ALL), "block": self._of_block, "farm": self._of_farm}
        return [of[place](said[place]) for place in places if isinstance(said.get(place), str)]

    def _of_block(self, block: str) -> frozenset[str]:
        return self._of_farm(self._blocks.get(block, ""))

    def _of_farm(self, farm: str) -> frozenset[str]:
        return frozenset({self._farms[farm]}) if farm in self._farms else ALL

    def _rows(self, said: Mapping[str, Any]) -> list[frozenset[str]]:
        """Groups of a set-up row as it was and as it becomes: of its farm, else its block, else its trap."""
        found = []
        for text in (said.get("was"), said.get("becomes")):
            try:
                row = json.loads(text) if text else None
            except ValueError:
                row = None
            if isinstance(row, dict) and said.get("file") == "farms.csv":
                found.append(frozenset({str(row.get("group") or self._office)}))
            elif isinstance(row, dict):
                place = next((one for one in ("farm", "block", "trap") if one in row), "")
                found += self._about(row, (place,)) if place else [ALL]
        return found


_PUSH = "SELECT * FROM hub.push(%s, %s, %b, %s, %s, %s, %b, %s, %s::uuid[], %s)"
_AT_ONCE = 2000
_MOST_BYTES = 4_000_000
_END = 2**62


@dataclass(slots=True)
class HubReport:
    """What one exchange with a hub brought."""

    pushed: dict[str, int] = field(default_factory=dict)
    """Entries sent, by kind."""
    added: dict[str, int] = field(default_factory=dict)
    """Entries that were new here, by kind."""
    fields: int = 0
    """New entries with fields that only a newer program knows."""
    waiting: list[Problem] = field(default_factory=list)
    """Laptops of which something cannot be taken in yet, and why; the next exchange tries again."""
    again: bool = False
    """Whether the hub was restored from a backup, and everything was sent again."""

    @property
    def unknown(self) -> int:
        """How many of the new ones only a newer program understands."""
        return self.added.get("", 0)


@dataclass(slots=True)
class _State:
    """What a folder knows of its hub; kept in the store, so that a backup remembers no more than it has."""

    hub: str = ""
    """Id of the hub."""
    granted: int = 0
    """Which grant of groups the hub was read under."""
    seen: dict[str, tuple[int, str]] = field(default_factory=dict)
    """Number and mark of the newest push that was read of each lane."""
    sent: tuple[int, str] = (0, "")
    """Number and mark of this folder's newest push, which may not have been read back yet."""
    pushed: dict[str, int] = field(default_factory=dict)
    """Number of the newest entry that was sent of each of this laptop's own lanes."""
    rows: dict[str, int] = field(default_factory=dict)
    """Rows of each table up to which those of other laptops were handed on, where that is granted."""
    places: dict[str, str] = field(default_factory=dict)
    """Groups of the set-up as they were; see ``Groups.places``."""

    @classmethod
    def of(cls, conn: sqlite3.Connection) -> _State:
        """As it was kept."""
        try:
            return cls(**json.loads(setting(conn, HUB) or "{}"))
        except (ValueError, TypeError):
            return cls()

    def keep(self, conn: sqlite3.Connection) -> None:
        """Keep it."""
        put_setting(conn, HUB, json.dumps(asdict(self)))


@dataclass(slots=True)
class _Pass:
    """One exchange while it lasts."""

    conn: sqlite3.Connection
    hub: Connection[Any]
    watch: Watch
    own: str
    """Folder and laptop, by their ids: the lane of this folder's pushes."""
    state: _State
    report: HubReport
    progress: Progress | None
    name: str
    me: dict[str, Any] = field(default_factory=dict)
    """What the hub says of this laptop."""
    lost: set[str] = field(default_factory=set)
    """Lanes of which the hub no longer has what was read or sent: it was put back from a backup."""

    def ask(self, statement: str, values: tuple[Any, ...] = ()) -> Any:
        """The one row that a statement answers with."""
        with self.watch.waiting():
            return self.hub.execute(statement, values).fetchone()

    def hello(self) -> list[tuple[str, int | None, str, int]]:
        """Each lane that ends otherwise than was seen: its newest number and mark, and the number to read on from."""
        seen = [(lane, no, bytes.fromhex(mark)) for lane, (no, mark) in self.state.seen.items()]
        if self.state.sent[0]:
            seen.append((self.own, self.state.sent[0], bytes.fromhex(self.state.sent[1])))
        columns = [list(one) for one in zip(*seen, strict=True)] or [[], [], []]
        self.me, news = self.ask(
            "SELECT * FROM hub.hello(%s, %s::text[], %s::bigint[], %s::bytea[])", (self.own, *columns)
        )
        said = {lane for lane, _, _ in seen}
        self.lost = {lane for lane, no, _, since in news if lane in said and (no is None or since == 0)}
        # The own lane comes twice: as it was read, and as it was sent.
        found = {lane: (lane, no, mark or "", 0 if lane in self.lost else since) for lane, no, mark, since in news}
        if self.own in found and self.own not in self.lost:
            found[self.own] = (*found[self.own][:3], self.state.seen.get(self.own, (0, ""))[0])
        return list(found.values())


def exchange_with_hub(
    conn: sqlite3.Connection,
    service: str,
    *,
    today: date | None = None,
    progress: Progress | None = None,
    patience: float = PATIENCE,
    in_steps: bool = False,
) -> HubReport:
    """One exchange: send what is new here, then take in what is new there.

    Args:
        conn: The store.
        service: Name of the hub's service.
        today: The day on the wall, as for ``merge``.
        progress: Is told how far sending or reading has come.
        patience: How long an answer may take, where nothing comes. [s]
        in_steps: Take in push by push, so that whoever enters counts meanwhile never waits for all of it.

    Returns:
        What was sent and taken in.

    Raises:
        StoreError: The hub cannot be reached, or the store not be written; what was sent or taken in before stays.
        RefusedError: The hub refuses what is sent.
    """
    if conn.in_transaction:
        raise StoreError("nothing is exchanged in the middle of another change", "let that one end first")
    state, report = _State.of(conn), HubReport()
    with connected(service, patience) as (hub, watch), plainly(conn):
        this = _Pass(conn, hub, watch, pair_of(own_lane_name(conn)), state, report, progress, f"{PREFIX}{service}")
        news = this.hello()
        if state.hub != this.me["id"] or state.granted != this.me["granted"]:
            if state.hub != this.me["id"]:
                state.pushed, state.rows, state.sent = {}, {}, (0, "")
            state.hub, state.granted, state.seen = this.me["id"], this.me["granted"], {}
            news = this.hello()
        if this.lost:
            for lane in this.lost:
                state.seen.pop(lane, None)
            state.pushed, state.rows, state.sent, report.again = {}, {}, (0, ""), True
        pushed_up_to = _push(this, next((one for one in news if one[0] == this.own and one[1]), (this.own, 0, "", 0)))
        wanted = [one for one in news if one[1] and (one[0] != this.own or one[1] > one[3])]
        if wanted:
            _pull(this, today, pushed_up_to, in_steps=in_steps)
    return report


def read_hub(service: str, now: datetime) -> tuple[Path, HubReport]:
    """What a hub shows, in a folder that belongs to this laptop and is kept for the next time.

    Args:
        service: Name of the hub's service.
        now: Instant.

    Raises:
        StoreError: The hub cannot be reached, or the folder not be written.
    """
    folder = state_folder() / "hubs" / service
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise unwritable(folder, error) from error
    with closing(open_store(folder, now=now)) as conn:
        return folder, exchange_with_hub(conn, service, today=now.astimezone().date())


def pushed_so_far(conn: sqlite3.Connection) -> list[tuple[int, int, int]]:
    """Lanes of this laptop: number in the store, newest entry, and the newest one that its hub was sent.

    Args:
        conn: The store.
    """
    sent, laptop = _State.of(conn).pushed, own_lane_name(conn).split(".")[1]
    lanes = conn.execute("SELECT lane, last_no, name FROM lanes").fetchall()
    return [(lane, last, sent.get(name, 0)) for lane, last, name in lanes if name.split(".")[1] == laptop]


def _push(this: _Pass, end: tuple[str, int | None, str, int]) -> dict[str, int]:
    """Send what the hub does not have yet.

    Args:
        this: The exchange.
        end: The newest push of this folder that the hub has, and the one read last.

    Returns:
        The last row of each table that was looked at.
    """
    state, conn = this.state, this.conn
    groups = Groups(conn, this.me["office"])
    rows = {
        table.name: conn.execute(f"SELECT coalesce(max(rowid), 0) FROM {table.name}").fetchone()[0]  # noqa: S608
        for table in JOURNALS
    }
    number, mark = end[1] or 0, end[2]
    caught_up = number == end[3]
    laptop, due = this.own.rpartition(".")[2], 0
    if not this.me["carries"]:
        ends = {name: no for name, no in lane_ends(conn).items() if name.split(".")[1] == laptop}
        due = sum(no - state.pushed.get(name, 0) for name, no in ends.items())
    places = groups.places()
    moved = bool(state.places) and groups.differ(state.places)
    batches: Iterator[_Batch] = _batches(this, groups, rows)
    if moved:
        batches = chain(batches, _widened(conn, groups))

    def settle(batch: _Batch, sent: Future[Any]) -> None:
        """Wait for the hub's answer to a push, and keep what it has by now."""
        nonlocal number, mark
        number, mark = number + 1, sent.result()[0].hex()
        state.pushed |= batch.ends
        state.sent = (number, mark)
        if caught_up:
            state.seen[this.own] = (number, mark)
        state.keep(conn)
        this.report.pushed = dict(Counter(this.report.pushed) + Counter(batch.kinds))
        if this.progress is not None:
            this.progress(f"{this.name}, sent", sum(this.report.pushed.values()), due)

    # While the hub takes one push in, the next is put together.
    with ThreadPoolExecutor(1) as sender, this.watch.cutting(this.hub):
        under_way: tuple[_Batch, Future[Any]] | None = None
        for batch in batches:
            if under_way is not None:
                settle(*under_way)
            values = (
                *(this.own, number + 1, bytes.fromhex(mark), f"roundtui {__version__}", SCHEMA_VERSION),
                *("\n".join(batch.says), b"".join(batch.digests), _lines(batch.groups)),
                *(batch.widened, _lines(batch.widened_groups)),
            )
            under_way = (batch, sender.submit(this.ask, _PUSH, values))
        if under_way is not None:
            settle(*under_way)
    if state.places != places or (this.me["carries"] and state.rows != rows):
        state.places, state.rows = places, rows if this.me["carries"] else {}
        state.keep(conn)
    return rows


@dataclass(slots=True)
class _Batch:
    """What goes in one push."""

    says: list[str] = field(default_factory=list)
    digests: list[bytes] = field(default_factory=list)
    groups: list[str] = field(default_factory=list)
    widened: list[str] = field(default_factory=list)
    widened_groups: list[str] = field(default_factory=list)
    ends: dict[str, int] = field(default_factory=dict)
    kinds: list[str] = field(default_factory=list)


def _batches(this: _Pass, groups: Groups, rows: dict[str, int]) -> Iterator[_Batch]:
    lanes = lane_names(this.conn)
    laptop = this.own.rpartition(".")[2]
    own = {lane: name for lane, name in lanes.items() if name.split(".")[1] == laptop}
    granted = set(this.me["groups"])
    words: dict[frozenset[str], str] = {}
    batch, size = _Batch(), 0
    for table, row in _due(this, own, rows):
        lane, no, _, _, digest = row[-5:]
        text = text_of(table, row, lanes[lane])
        if sha256(text).digest() != digest:
            raise StoreError(
                f"entry {row[0]} is not what was recorded", "see roundtui verify, and keep the file as it is"
            )
        of = groups.of_row(table, row)
        if of not in words:
            if of and not of & granted:
                raise RefusedError(
                    f"entry {row[0]} is about a farm of {', '.join(sorted(of))}, and {this.me['name']} sees"
                    f" {', '.join(sorted(granted))}",
                    "see the column group of farms.csv, or ask who runs the hub to grant the group; nothing was lost",
                )
            words[of] = "\t".join(sorted(of))
        batch.says.append(text.decode())
        batch.digests.append(digest)
        batch.groups.append(words[of])
        batch.kinds.append(table.kind)
        for earlier in groups.earlier(table, row):
            if groups.of_entry(earlier) != of:
                batch.widened.append(earlier)
                batch.widened_groups.append(words[of])
        if lane in own:
            batch.ends[own[lane]] = no
        size += len(text)
        if len(batch.says) >= _AT_ONCE or size >= _MOST_BYTES:
            yield batch
            batch, size = _Batch(), 0
    if batch.says:
        yield batch


def _due(this: _Pass, own: dict[int, str], rows: dict[str, int]) -> Iterator[tuple[Table, Row]]:
    """What the hub lacks of this laptop's lanes, in order; and of others, where they may be handed on."""
    conn, state = this.conn, this.state
    last = dict(conn.execute("SELECT lane, last_no FROM lanes"))
    for lane, name in own.items():
        after = state.pushed.get(name, 0)
        if last[lane] > after:
            yield from heapq.merge(
                *(_of_lane(conn, table, lane, after) for table in JOURNALS), key=lambda one: one[1][-4]
            )
    if this.me["carries"]:
        listed = ", ".join(map(str, own)) or "0"
        for table in JOURNALS:
            after = state.rows.get(table.name, 0)
            if rows[table.name] > after:
                for row in conn.execute(
                    f"SELECT {table.whole} FROM {table.name} WHERE rowid > ? AND rowid <= ?"  # noqa: S608
                    f" AND lane NOT IN ({listed}) ORDER BY rowid",
                    (after, rows[table.name]),
                ):
                    yield table, row


def _of_lane(conn: sqlite3.Connection, table: Table, lane: int, after: int) -> Iterator[tuple[Table, Row]]:
    statement = f"SELECT {table.whole} FROM {table.name} WHERE lane = ? AND no > ? ORDER BY no"  # noqa: S608
    for row in conn.execute(statement, (lane, after)):
        yield table, row


def _lines(groups: list[str]) -> str:
    return "".join(f"{one}\n" for one in groups)


def _widened(conn: sqlite3.Connection, groups: Groups) -> Iterator[_Batch]:
    """Every entry with the groups it has now: the hub shows it to those that did not see it."""
    for table in JOURNALS:
        rows = conn.execute(f"SELECT {table.whole} FROM {table.name}")  # noqa: S608
        while some := rows.fetchmany(_AT_ONCE):
            batch = _Batch()
            for row in some:
                of = groups.of_row(table, row)
                if of is not ALL:
                    batch.widened.append(row[0])
                    batch.widened_groups.append("\t".join(sorted(of)))
            if batch.widened:
                yield batch


def _pull(this: _Pass, today: date | None, looked_at: dict[str, int], *, in_steps: bool) -> None:
    """Take in what is new on the hub, in one view of it: all at once, else push by push as far as it goes."""
    with this.watch.waiting(), closing(this.hub.cursor()) as cursor:
        cursor.execute("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
    try:
        news = [one for one in this.hello() if one[1]]
        ends = {lane: (no or 0, mark) for lane, no, mark, _ in news}

        def all_seen() -> None:
            this.state.seen |= ends
            _keep(this, looked_at)

        try:
            if not in_steps:
                _take(this, [(lane, since, _END) for lane, _, _, since in news], today, all_seen)
        except RefusedError:
            in_steps = True
        if in_steps:
            _push_by_push(this, news, today, looked_at)
    finally:
        if not this.hub.closed:
            with this.watch.waiting():
                this.hub.execute("ROLLBACK")


def _keep(this: _Pass, looked_at: dict[str, int]) -> None:
    """Keep what was seen; rows that came from the hub need not be handed on to it."""
    if this.me["carries"]:
        # What came by other ways meanwhile is looked at next time, and then with all that came with it.
        for table in JOURNALS:
            newest = this.conn.execute(f"SELECT coalesce(max(rowid), 0) FROM {table.name}").fetchone()[0]  # noqa: S608
            between = this.conn.execute(
                f"SELECT count(*) FROM {table.name} WHERE rowid > ? AND id NOT IN (SELECT id FROM {reading.of(table)})",  # noqa: S608
                (looked_at[table.name],),
            ).fetchone()[0]
            if not between:
                this.state.rows[table.name] = newest
    this.state.keep(this.conn)


def _take(this: _Pass, lanes: Iterable[tuple[str, int, int]], today: date | None, also: Callable[[], None]) -> None:
    """Read pushes of some lanes and add what is new; all of it or nothing.

    Args:
        this: The exchange.
        lanes: Lanes, the number after which each is read, and up to which.
        today: The day on the wall.
        also: What is kept in the same transaction.
    """
    wanted = [list(one) for one in zip(*lanes, strict=True)]
    newer, done = False, 0
    with reading.tables(this.conn), closing(pulled(this.hub, this.watch, wanted)) as entries:
        while some := list(islice(entries, 1000)):
            newer = newer or any(schema > SCHEMA_VERSION for schema, _, _ in some)
            try:
                read = [read_text(said, digest, newer=schema > SCHEMA_VERSION) for schema, digest, said in some]
                reading.add(this.conn, read)
            except WrongLineError as error:
                raise RefusedError(f"{this.name}: {error.message}") from error
            done += len(some)
            if this.progress is not None:
                this.progress(f"{this.name}, read", done, 0)
        if this.progress is not None:
            this.progress(this.name, 0, 0)
        added, fields = take_staged(this.conn, this.name, today, newer=newer, in_part=True, also=also)
    this.report.added = {kind: this.report.added.get(kind, 0) + count for kind, count in added.items()}
    this.report.fields += fields


def pulled(hub: Connection[Any], watch: Watch, wanted: list[list[Any]]) -> Generator[tuple[int, bytes, str]]:
    """Entries of pushes one by one: schema of the program that sent it, its digest, and its text.

    To be closed: until then nothing else can be asked of the hub.

    Args:
        hub: The hub.
        watch: Cuts it where it answers no more.
        wanted: Lanes, for each the number after which it is read, and for each up to which.
    """
    pull = "SELECT schema, digests, says FROM hub.pull(%s::text[], %s::bigint[], %s::bigint[])"
    with (
        watch.waiting(),
        hub.cursor() as cursor,
        cursor.copy(f"COPY ({pull}) TO STDOUT (FORMAT BINARY)", wanted) as copy,
    ):
        copy.set_types(["int4", "bytea", "text"])
        for schema, digests, says in copy.rows():
            for at, said in enumerate(says.split("\n")):
                watch.heard()
                yield schema, digests[32 * at : 32 * at + 32], said


def _push_by_push(
    this: _Pass, news: list[tuple[str, int | None, str, int]], today: date | None, looked_at: dict[str, int]
) -> None:
    """Take in each push that can be taken in, in the order they came; of a lane whose next one cannot, all waits."""
    lanes, since = [one[0] for one in news], [one[3] for one in news]
    with this.watch.waiting():
        pushes = this.hub.execute(
            "SELECT push, lane, no, mark FROM hub.pull(%s::text[], %s::bigint[], %s::bigint[]) ORDER BY push",
            (lanes, since, [_END] * len(lanes)),
        ).fetchall()
    stopped: set[str] = set()
    for _, lane, no, mark in pushes:
        if lane in stopped:
            continue

        def seen(lane: str = lane, no: int = no, mark: bytes = mark) -> None:
            this.state.seen[lane] = (no, mark.hex())
            _keep(this, looked_at)

        try:
            _take(this, [(lane, no - 1, no)], today, seen)
        except RefusedError as error:
            stopped.add(lane)
            this.report.waiting.append(Problem("", error.message, error.hint))
    this.state.seen |= {lane: (no or 0, mark) for lane, no, mark, _ in news if lane not in stopped}
    with transaction(this.conn):
        this.state.keep(this.conn)
