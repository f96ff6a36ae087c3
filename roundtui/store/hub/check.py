"""What an administrator runs on the hub: its schema, which is frozen, the views for statistics, and who may log in.

The views follow from the registry of entries and are made anew by each version of the program. They show labels, days,
counts and words of a list, and no text that people wrote freely: no names, addresses or notes.

Is the hub as it should be? Each right is tried and withdrawn; each entry in sight is held against the record.
"""

from __future__ import annotations

import hashlib
import json
import re
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from roundtui import __version__
from roundtui.domain.entries import KINDS, EntryField, Form, Kind
from roundtui.domain.text import ruled, sanitize, several
from roundtui.errors import RefusedError
from roundtui.published import read
from roundtui.store.checks.verify import Check, digests
from roundtui.store.db import SCHEMA_VERSION
from roundtui.store.failures import plainly
from roundtui.store.hub.connection import PREFIX, connected
from roundtui.store.hub.exchange import pulled, pushed_so_far
from roundtui.store.record.lanes import laptop_id, new_id
from roundtui.store.record.rows import JOURNALS, canonical, instant
from roundtui.store.set_up.columns import FILES

HUB_SCHEMA = 1
"""Schema of the hub that this program speaks to."""
OFFICE = "office"
"""Name of the office where none is given."""
_COLUMNS = read("shown", Path(__file__).parent)
SHOWN = frozenset(_COLUMNS["entries"].split())
"""Texts of entries that readers see, beside words of a list; any other may name a person or a place."""
SHOWN_SET_UP = dict(ruled(_COLUMNS["set-up"]))
"""Columns of the set-up that readers see."""
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,40}")
_LAPTOP = re.compile(r"[0-9a-f]{12}")
_WHOLE = "CASE WHEN {0} ~ '^-?[0-9]{{1,9}}$' THEN {0}::int END"
_DAY = (
    "CASE WHEN {0} ~ '^[0-9]{{4}}-(0[1-9]|1[0-2])-(0[1-9]|1[0-9]|2[0-8])$' THEN {0}::date"
    " WHEN {0} ~ '^[0-9]{{4}}-[0-9]{{2}}-[0-9]{{2}}$' THEN hub.as_day({0}) END"
)
_TYPED = {
    Form.TEXT: "{0}",
    Form.WHOLE: _WHOLE,
    Form.DAY: _DAY,
    Form.FLAG: "CASE {0} WHEN 'true' THEN true WHEN 'false' THEN false END",
}
"""A text as a column of the form; what a newer program or a foreign hand wrote there is blank, and no fault."""
_REACH = "e.reach || ARRAY(SELECT unnest(a.reach) FROM hub.again AS a WHERE a.id = e.id) AS reach"


def schema_sql() -> str:
    """Everything that makes a hub of an empty database, or brings one up to date."""
    text = f"{_text_of('hub_0001.sql')}\n{_text_of('views.sql')}"
    views = [*_entry_views(), *_set_up_views()]
    refresh = "\n".join(f"    REFRESH MATERIALIZED VIEW hub.copy_of_{name};" for name, _ in views)
    return (
        f"BEGIN;\nSET LOCAL client_min_messages = warning;\n{text}{''.join(made for _, made in views)}"
        "\n-- For a nightly job, where statistics are asked of the copies.\n"
        "CREATE OR REPLACE FUNCTION hub.refresh() RETURNS void\n"
        "LANGUAGE plpgsql SET search_path = pg_catalog, pg_temp AS $$\nBEGIN\n"
        f"{refresh}\nEND $$;\nREVOKE ALL ON ALL FUNCTIONS IN SCHEMA hub FROM PUBLIC;\nCOMMIT;\n"
    )


def _text_of(name: str) -> str:
    return Path(__file__).with_name(name).read_text(encoding="utf-8")


def person_sql(
    name: str,
    groups: Sequence[str],
    *,
    office: str = OFFICE,
    laptop: str = "",
    carries: bool = False,
    reader: bool = False,
) -> str:
    """What lets a laptop, or a reader of statistics, log in; run again, it grants other groups.

    Args:
        name: Name of its role.
        groups: Groups whose farms it sees; without any those farms that are in none.
        office: Its office.
        laptop: Id of the laptop; empty: the first that pushes under the name.
        carries: Whether it may hand on what laptops recorded that never come to the hub.
        reader: Whether it reads statistics alone.

    Raises:
        RefusedError: A name cannot be one.
    """
    for what, one in (("role", name), ("office", office)):
        if not _NAME.fullmatch(one):
            raise RefusedError(
                f"{one!r} cannot be the name of a {what}", "use up to 41 letters, digits, dots, strokes or underlines"
            )
    if laptop and not _LAPTOP.fullmatch(laptop):
        raise RefusedError(f"{laptop!r} is no id of a laptop", "it is twelve characters of 0-9 and a-f")
    for one in groups:
        if not one.strip() or "\n" in one:
            raise RefusedError(f"{one!r} cannot be the name of a group", "name it as farms.csv does")
    listed = ", ".join(map(_text, groups or (office,)))
    ids = _text(laptop) if laptop else ""
    return (
        "BEGIN;\nDO $$\nBEGIN\n"
        f'    CREATE ROLE "{name}" LOGIN;\n'
        "EXCEPTION WHEN duplicate_object OR unique_violation THEN NULL;\nEND $$;\n"
        f'GRANT {"hub_reader" if reader else "hub_laptop"} TO "{name}";\n'
        f"SELECT hub.enrol({_text(name)}, {_text(office)}, ARRAY[{listed}]::text[], ARRAY[{ids}]::text[],"
        f" {str(carries).lower()}, {str(reader).lower()});\nCOMMIT;\n"
    )


def _entry_views() -> Iterator[tuple[str, str]]:
    for kind in KINDS:
        if kind.shown and kind.kind != "set-up":
            yield kind.name, _entry_view(kind)


def _entry_view(kind: Kind) -> str:
    own = [one for one in kind.own if one.form is not Form.TEXT or one.words or one.name in SHOWN]
    listed = ", ".join(f'"{one.name}" text' for one in own)
    columns = ", ".join(f'{_column(one)} AS "{one.name}"' for one in own)
    select = (
        f"SELECT e.id, x.recorded_at::timestamptz AS recorded_at, {columns}, {_REACH}\n"  # noqa: S608
        f"FROM hub.entries AS e, LATERAL json_to_record(e.said::json) AS x (recorded_at text, {listed})\n"
        f"WHERE e.kind = {_text(kind.kind)} AND NOT EXISTS (SELECT FROM hub.gone AS g WHERE g.id = e.id)"
    )
    names = ", ".join(["id", "recorded_at", *(f'"{one.name}"' for one in own)])
    return _text_of("view.sql").format(name=kind.name, select=select, columns=names)


def _column(one: EntryField) -> str:
    typed = _TYPED[one.form].format(f'x."{one.name}"')
    if one.required or one.default is None:
        return typed
    default = _text(one.default) if one.form is Form.TEXT else str(one.default)
    return (
        f"coalesce({typed}, {default.replace('0', 'false').replace('1', 'true') if one.form is Form.FLAG else default})"
    )


def _set_up_views() -> Iterator[tuple[str, str]]:
    for file in FILES:
        if file.name in SHOWN_SET_UP:
            shown = SHOWN_SET_UP[file.name].split()
            columns = ", ".join(
                f"{(_DAY if one.endswith('_on') else '{0}').format(f'''(becomes::json ->> '{one}')''')} AS \"{one}\""
                for one in shown
            )
            select = (
                f"SELECT {columns}, reach FROM (\n"  # noqa: S608
                f"SELECT DISTINCT ON (split_part(e.reach[1], '/', 1), x.row) x.becomes, {_REACH}\n"
                "FROM hub.entries AS e, LATERAL json_to_record(e.said::json) AS x (file text, row text, becomes text)\n"
                f"WHERE e.kind = 'set-up' AND x.file = {_text(file.name)}\n"
                "ORDER BY split_part(e.reach[1], '/', 1), x.row, e.id DESC) AS newest\nWHERE becomes <> ''"
            )
            yield (
                file.table,
                _text_of("view.sql").format(
                    name=file.table, select=select, columns=", ".join(f'"{one}"' for one in shown)
                ),
            )


def _text(value: str) -> str:
    """A text as SQL writes it, whatever is in it."""
    return "'" + value.replace("'", "''") + "'" if "\\" not in value else "E'" + _escaped(value) + "'"


def _escaped(value: str) -> str:
    return value.replace("\\", "\\\\").replace("'", "\\'")


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
            check.remarks.append(
                f"{who} is silent for {several(silent, 'day')}; {several(entries, 'entry', 'entries')} came from it"
            )
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
        with closing(pulled(hub, watch, [lanes, [0] * len(lanes), [_ALL] * len(lanes)])) as entries:
            for _, digest, said in entries:
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
