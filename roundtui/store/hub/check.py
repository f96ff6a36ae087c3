"""Is the hub as it should be? Each right is tried and withdrawn; each entry in sight is held against the record."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

from roundtui import __version__
from roundtui.domain.text import sanitize
from roundtui.store.checks.verify import Check, digests
from roundtui.store.db import SCHEMA_VERSION
from roundtui.store.failures import plainly
from roundtui.store.hub.connection import PREFIX, connected
from roundtui.store.hub.exchange import each_entry, pushed_so_far
from roundtui.store.hub.sql import HUB_SCHEMA
from roundtui.store.record.lanes import laptop_id, new_id
from roundtui.store.record.rows import JOURNALS, canonical, instant

_TABLES = ("self", "people", "writers", "pushes", "entries", "again")
_PUSH = "SELECT mark FROM hub.push(%s, %s, ''::bytea, 'check', 1, %s, %s, %s, '{}'::uuid[], '')"
_CARRYING = (
    "DO $$ BEGIN IF NOT (SELECT (me ->> 'carries')::boolean FROM hub.hello('', '{}', '{}', '{}')) THEN"
    " RAISE EXCEPTION 'no' USING ERRCODE = 'RT001'; END IF; END $$"
)
_OFF = timedelta(minutes=2)
_ALL = 2**62


def check_hub(service: str, now: datetime, silent_days: int) -> Iterator[Check]:
    """Try what whoever the service logs in as may do and may not, and look at the laptops of its office.

    Args:
        service: Name of the hub's service.
        now: Instant.
        silent_days: Days without a push after which a laptop is named. [d]

    Raises:
        StoreError: The hub cannot be reached.
    """
    with connected(service) as (hub, watch):

        def refusal(statement: str, values: tuple[Any, ...] = ()) -> str:
            """What is wrong with a statement as the hub sees it; nothing where it is done. It is withdrawn."""
            import psycopg

            with watch.waiting():
                hub.execute("BEGIN")
                try:
                    hub.execute(statement, values)
                except psycopg.Error as error:
                    # No right, a word of the hub's own, or a limit of a table.
                    if error.sqlstate not in ("42501", "RT001", "23514"):
                        raise
                    return sanitize(str(error).partition("\n")[0], 200)
                finally:
                    hub.execute("ROLLBACK")
            return ""

        forbidden = Check("what nobody may do")
        for what, statement, values in _forbidden(now, carries=not refusal(_CARRYING)):
            forbidden.looked_at += 1
            if not refusal(statement, values):
                forbidden.faults.append(f"{what} was not refused")
        yield forbidden
        allowed = Check("what a laptop may do")
        for what, statement, values in (
            ("reading", "SELECT * FROM hub.pull('{}', '{}', '{}')", ()),
            ("asking what is new", "SELECT * FROM hub.hello('', '{}', '{}', '{}')", ()),
            ("sending", _PUSH, (_lane(), 1, *_entry(now))),
        ):
            allowed.looked_at += 1
            if refused := refusal(statement, values):
                allowed.faults.append(f"{what} was refused: {refused}")
        yield allowed
        if allowed.faults:
            return
        with watch.waiting():
            laptops = hub.execute("SELECT * FROM hub.laptops()").fetchall()
            asked = hub.execute("SELECT now(), me ->> 'schema' FROM hub.hello('', '{}', '{}', '{}')").fetchone()
        yield _laptops(laptops, now, silent_days)
        yield _versions(laptops, asked, now)


def _lane(laptop: str = "") -> str:
    return f"{'0' * 12}.{laptop or laptop_id()}"


def _entry(now: datetime, lane: str = "", digest: bytes = b"") -> tuple[str, bytes, str]:
    """An entry as a push has it."""
    text = canonical(
        {"kind": "check", "id": new_id(now), "lane": f"{lane or _lane()}.1", "no": 1, "recorded_at": instant(now)}
    )
    return text.decode(), digest or hashlib.sha256(text).digest(), "\n"


def _forbidden(now: datetime, *, carries: bool) -> Iterator[tuple[str, str, tuple[Any, ...]]]:
    for table in _TABLES:
        yield f"reading all of hub.{table}", f"SELECT * FROM hub.{table}", ()  # noqa: S608
        yield f"adding to hub.{table}", f"INSERT INTO hub.{table} DEFAULT VALUES", ()
        yield f"deleting from hub.{table}", f"DELETE FROM hub.{table}", ()  # noqa: S608
        yield f"emptying hub.{table}", f"TRUNCATE hub.{table}", ()
    for table, column in (("entries", "said"), ("people", "office"), ("pushes", "program"), ("writers", "office")):
        yield f"changing hub.{table}", f"UPDATE hub.{table} SET {column} = ''", ()  # noqa: S608
    yield "enrolling", "SELECT hub.enrol(session_user, 'x', ARRAY['x'], '{}', true, false)", ()
    yield "making a table", "CREATE TABLE hub.mine (one int)", ()
    yield "a push number left out", _PUSH, (_lane(), 3, *_entry(now))
    if not carries:
        yield "an entry of a foreign lane", _PUSH, (_lane(), 1, *_entry(now, _lane("0" * 12)))
    yield "a forged digest", _PUSH, (_lane(), 1, *_entry(now, digest=bytes(32)))


def _laptops(laptops: list[Any], now: datetime, silent_days: int) -> Check:
    check = Check("laptops of the office", len(laptops))
    for name, _, _, entries, last_at, _, _ in laptops:
        who = sanitize(name, 60)
        if last_at is None:
            check.remarks.append(f"{who} never sent anything")
        elif (silent := (now - last_at).days) >= silent_days:
            check.remarks.append(f"{who} is silent for {silent} days; {entries} entries came from it")
    return check


def _versions(laptops: list[Any], asked: Any, now: datetime) -> Check:
    check = Check("versions and clocks", len(laptops) + 1)
    clock, schema = asked
    if int(schema) != HUB_SCHEMA:
        check.remarks.append(f"the hub has schema {schema}, this program knows {HUB_SCHEMA}")
    for name, _, _, _, _, program, of in laptops:
        if of is not None and of != SCHEMA_VERSION:
            age = "newer" if of > SCHEMA_VERSION else "older"
            check.remarks.append(
                f"{sanitize(name, 60)} runs {sanitize(program, 40)}, which is {age} than {__version__} here"
            )
    if abs(clock - now) > _OFF:
        check.remarks.append(f"the clocks here and at the hub are {abs(clock - now)} apart")
    return check


def verify_hub(conn: sqlite3.Connection, service: str) -> Iterator[Check]:
    """Hold every entry of the hub that is in sight against the record, and what was sent against the hub.

    Args:
        conn: The store.
        service: Name of the hub's service.

    Raises:
        StoreError: The hub cannot be reached.
    """
    with plainly(conn):
        here = digests(conn)
    there: set[str] = set()
    with connected(service) as (hub, watch):
        sound, known = Check(f"digests of entries at {PREFIX}{service}"), Check("entries there held against those here")
        with watch.waiting():
            row = hub.execute("SELECT news FROM hub.hello('', '{}', '{}', '{}')").fetchone()
        lanes = [lane for lane, *_ in (row[0] if row else ())]
        with (
            watch.waiting(),
            hub.cursor().copy(
                "COPY (SELECT schema, digests, says FROM hub.pull(%s::text[], %s::bigint[], %s::bigint[]))"
                " TO STDOUT (FORMAT BINARY)",
                (lanes, [0] * len(lanes), [_ALL] * len(lanes)),
            ) as copy,
        ):
            copy.set_types(["int4", "bytea", "text"])
            for _, digest, said in each_entry(copy.rows()):
                watch.heard()
                entry = json.loads(said)["id"]
                there.add(entry)
                sound.looked_at += 1
                if hashlib.sha256(said.encode()).digest() != digest:
                    sound.faults.append(f"entry {sanitize(entry, 40)} is not what was signed")
                if entry not in here:
                    known.faults.append(f"entry {sanitize(entry, 40)} is there and not here")
                elif here[entry] != digest:
                    known.faults.append(f"entry {sanitize(entry, 40)} says something else there than here")
        known.looked_at = len(there)
    yield sound
    yield known
    sent = Check("entries of this laptop that were sent")
    waiting = 0
    for lane, last_no, upto in pushed_so_far(conn):
        waiting += last_no - upto
        for table in JOURNALS:
            for (entry,) in conn.execute(
                f"SELECT id FROM {table.name} WHERE lane = ? AND no <= ?",  # noqa: S608
                (lane, upto),
            ):
                sent.looked_at += 1
                if entry not in there:
                    sent.faults.append(f"{table.kind or 'entry'} {entry} was sent and is not there")
    if waiting:
        sent.remarks.append(f"{waiting} more were not sent yet: roundtui exchange sends them")
    yield sent
