"""Entries as rows of their tables and back, and the digest of what each says; all of it follows from the registry."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, fields
from datetime import UTC, date, datetime
from functools import cached_property, lru_cache
from typing import Any

from roundtui.domain.entries import KINDS, EntryField, Form, Kind, Recorded, maker

Row = tuple[Any, ...]
Entry = Recorded
"""What people enter."""
HEAD = ("id", "recorded_at", "scout", "device", "replaces", "reason")
"""Columns that every table of entries begins with."""
TAIL = ("extra", "lane", "no", "previous", "form", "digest")
"""Columns that every table of entries has beside: fields that only a newer program knows, a JSON object or nothing; the
lane, the place in it, and the digest of the entry before; the rule of the digest, and the digest."""
DIGEST_FORM = 1
"""Version of the rule by which digests are made; see ``text_of``."""


class Table(Kind):
    """Where one kind of entry is kept."""

    @cached_property
    def columns(self) -> tuple[str, ...]:
        """Columns in the order of ``values`` and ``entry``."""
        return (*HEAD, *(one.name for one in self.own))

    @cached_property
    def listed(self) -> str:
        """Its columns as SQL lists them."""
        return ", ".join(self.columns)

    @cached_property
    def whole(self) -> str:
        """All its columns as SQL lists them, the last of them the digest."""
        return ", ".join((*self.columns, *TAIL))

    @cached_property
    def insert(self) -> str:
        """Statement that adds one whole row."""
        marks = ", ".join("?" * (len(self.columns) + len(TAIL)))
        return f"INSERT INTO {self.name} ({self.whole}) VALUES ({marks})"  # noqa: S608

    @cached_property
    def values(self) -> Callable[[Any], Row]:
        """Gives the row of an entry, as far as ``columns`` go."""
        head = "e.id, instant(e.recorded_at), e.scout, e.device, e.replaces, e.reason"
        return _made(f"lambda e: ({head}, {self._kept})", {"instant": instant})

    @cached_property
    def own_values(self) -> Callable[[Any], Row]:
        """Gives the columns of an entry behind those that all tables begin with; it need not be recorded yet."""
        return _made(f"lambda e: ({self._kept})", {})

    @cached_property
    def _kept(self) -> str:
        forms = {one.attribute: _unless_none(one, "{0}.value" if one.words else _KEPT[one.form]) for one in self.own}
        return "".join(f"{form.format(f'e.{attribute}')}, " for attribute, form in forms.items())

    @cached_property
    def told(self) -> Callable[[Mapping[str, Any]], Row]:
        """Gives the columns of an entry from what it says by name; what is missing is at its default."""
        known: dict[str, Any] = {}
        read = ["s['id']", "s['recorded_at']", "s['scout']", "s.get('device', '')", "s.get('replaces')"]
        read.append("s.get('reason', '')")
        for at, one in enumerate(self.own):
            known[f"d{at}"] = one.default
            value = f"s[{one.name!r}]" if one.required else f"s.get({one.name!r}, d{at})"
            read.append(f"int({value})" if one.form is Form.FLAG else value)
        return _made(f"lambda s: ({', '.join(read)},)", known)

    @cached_property
    def text(self) -> Callable[[Row, str, str], str]:
        """Gives the text of what an entry says, fields apart that only a newer program knows; see ``text_of``.

        It takes the row, up to the rule of its digest, the name of its lane, and its digest (hexadecimal) where the
        text is to hold it. A field at its default is left out.
        """
        from json.encoder import encode_basestring

        no, previous, form_of = (f"v[{len(self.columns) + TAIL.index(name)}]" for name in ("no", "previous", "form"))
        said = {
            "kind": ("", "K"),
            "lane": ("", "s(lane)"),
            "no": ("", f"format({no}, 'd')"),
            "form": ("", f"str({form_of})"),
            "previous": (previous, f"s({previous}.hex())"),
            "sha256": ("digest", "s(digest)"),
            **{name: (f"v[{at}]", f"s(v[{at}])") for at, name in enumerate(HEAD)},
        }
        known: dict[str, Any] = {"s": encode_basestring, "K": encode_basestring(self.kind)}
        for at, one in enumerate(self.own, len(HEAD)):
            form = _SAID[one.form].format(f"v[{at}]")
            said[one.name] = (
                "" if one.required else f"v[{at}] != d{at}",
                f"('null' if v[{at}] is None else {form})" if one.blank else form,
            )
            known[f"d{at}"] = one.default
        pieces = []
        for name, (condition, value) in sorted(said.items()):
            piece = f"{f',{chr(34)}{name}{chr(34)}:'!r} + {value}"
            pieces.append(f"({piece} if {condition} else '')" if condition else piece)
        # Each piece begins with its comma; that of the first goes in the end.
        return _made(f"lambda v, lane, digest: '{{' + ({' + '.join(pieces)})[1:] + '}}'", known)

    @cached_property
    def entry(self) -> Callable[[Row], Any]:
        """Gives the entry of a row, as far as ``columns`` go."""
        return self.entry_of(self.columns)

    def entry_of(self, columns: Sequence[str]) -> Callable[[Row], Any]:
        """Gives the entry of a row of some columns; what the others hold is at its default.

        Args:
            columns: The columns.
        """
        known: dict[str, Any] = {f"W{at}": _words(one) for at, one in enumerate(self.own) if one.words is not None}
        form = {name: "at({0})" if name == "recorded_at" else "{0}" for name in HEAD}
        form |= {
            one.name: f"W{at}[{{0}}]" if one.words else _unless_none(one, _READ[one.form])
            for at, one in enumerate(self.own)
        }
        column = {one.attribute: one.name for one in self.own}
        read = {}
        for one in fields(self.record):
            known[f"d_{one.name}"] = one.default
            name = column.get(one.name, one.name)
            read[one.name] = form[name].format(f"r[{columns.index(name)}]") if name in columns else f"d_{one.name}"
        return maker(self.record, "r", read, day=day, at=datetime.fromisoformat, **known)


def _made(source: str, known: dict[str, Any]) -> Callable[..., Any]:
    made: Callable[..., Any] = eval(source, known)  # noqa: S307  (made of the names of the registry alone)
    return made


def _words(one: EntryField) -> Mapping[str | None, Any]:
    words: dict[str | None, Any] = {word.value: word for word in one.words or ()}
    return words | ({None: None} if one.blank else {})


def _unless_none(one: EntryField, form: str) -> str:
    return f"({form} if {{0}} is not None else None)" if one.blank and form != "{0}" else form


_KEPT = {Form.TEXT: "{0}", Form.WHOLE: "{0}", Form.FLAG: "int({0})", Form.DAY: "{0}.isoformat()"}
_READ = {Form.TEXT: "{0}", Form.WHOLE: "{0}", Form.FLAG: "{0} == 1", Form.DAY: "day({0})"}
_SAID = {
    Form.TEXT: "s({0})",
    Form.WHOLE: "format({0}, 'd')",
    Form.FLAG: "('true' if {0} == 1 else 'false')",
    Form.DAY: "s({0})",
}
"""How a value is put into a row, taken out of it, and said of the row in a text."""


def instant(value: datetime | None) -> str:
    """An instant as kept: UTC, always with six decimals, so that texts sort as instants do."""
    if value is None:
        raise ValueError("an entry is recorded at an instant")
    if value.tzinfo is None:
        raise ValueError("an instant needs its time zone")
    return value.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"


@lru_cache(maxsize=4096)
def day(text: str) -> date:
    """A day as kept. A season has few days and many entries, so each is read once."""
    return date.fromisoformat(text)


def day_or_none(text: str | None) -> date | None:
    """A day, or None where none is kept."""
    return day(text) if text else None


TABLES = {kind.kind: Table(**asdict(kind)) for kind in KINDS}
"""Tables of entries by the word for their kind, each after those it may refer to."""
OTHERS = Table(*("", "other_entries", "Unknown", "Entries that only a newer program knows."), known=False)
"""Where entries are kept that only a newer program understands; ``extra`` holds whatever they say."""
JOURNALS = (*TABLES.values(), OTHERS)
"""Every table of entries."""
VISITS = TABLES["visit"]
STAGES = TABLES["stage"]
NOTIFICATIONS = TABLES["notified"]
BIOFIXES = TABLES["biofix"]
TEMPERATURES = TABLES["temperature"]
QUESTIONS = TABLES["question"]
SAMPLES = TABLES["sample"]
TREATMENTS = TABLES["treatment"]
SPECIMENS = TABLES["specimen"]
PARTS = TABLES["part"]
ASSEMBLIES = TABLES["assembly"]
STOCKS = TABLES["stock"]
CHECKS = TABLES["check"]
SET_UP_CHANGES = TABLES["set-up"]
WITHDRAWALS = TABLES["withdrawal"]
STANDING = tuple(table for table in TABLES.values() if table is not WITHDRAWALS)
"""Tables of entries that may be corrected or withdrawn, each with its view of what stands now."""
SHOWN = tuple(table for table in TABLES.values() if table.shown)
"""Tables of entries about a day: a replay shows them, and each may be corrected or withdrawn."""
_OF_RECORD = {kind.record_name: kind.kind for kind in KINDS}


def table_of(record: type) -> Table:
    """The table of a record.

    Args:
        record: Its class.
    """
    return TABLES[_OF_RECORD[record.__name__]]


def holding(conn: sqlite3.Connection, entry_id: str, among: Iterable[Table]) -> Table | None:
    """The table that holds an entry; None where none does.

    Args:
        conn: The store.
        entry_id: Its id.
        among: Tables that are looked at.
    """
    sought = "SELECT 1 FROM {} WHERE id = ?"
    return next((one for one in among if conn.execute(sought.format(one.name), (entry_id,)).fetchone()), None)


def standing(
    conn: sqlite3.Connection, table: Table, where: str, *values: object, order: str = "", columns: Sequence[str] = ()
) -> list[Any]:
    """Present entries of one kind.

    Args:
        conn: The store.
        table: Table of the kind.
        where: Which ones, as SQL.
        values: What its marks stand for.
        order: Their order, as SQL; empty: by day, then by recording.
        columns: Columns that are wanted; what the others hold is at its default. None: all.
    """
    said = tuple(value.isoformat() if isinstance(value, date) else value for value in values)
    order = order or f"{table.day}, recorded_at, id"
    rows = conn.execute(
        f"SELECT {', '.join(columns or table.columns)} FROM present_{table.name} WHERE {where} ORDER BY {order}",  # noqa: S608
        said,
    )
    return list(map(table.entry_of(columns) if columns else table.entry, rows))


Only = tuple[tuple[str, str], ...]
"""Blocks and species whose traps alone are wanted; an empty block or species stands for all."""
EVERY: Only = (("", ""),)


def traps_of(only: Only) -> tuple[str, tuple[str, ...]]:
    """Whether a trap ever hung in a block for a species, as SQL, and what its marks stand for."""
    if EVERY[0] in only:
        return "TRUE", ()
    asked = " OR ".join(["? IN ('', block) AND ? IN ('', species)"] * len(only))
    return f"trap IN (SELECT trap FROM traps WHERE {asked})", tuple(part for key in only for part in key)  # noqa: S608


def canonical(said: Mapping[str, Any]) -> bytes:
    """The one text of what an entry says: JSON in UTF-8, names in order, without blanks.

    Args:
        said: What it says.
    """
    # Loaded on first use: the first prompt comes before the first entry.
    import json

    return json.dumps(said, ensure_ascii=False, separators=(",", ":"), sort_keys=True, allow_nan=False).encode()


def text_of(table: Table, row: Row, lane: str, digest: str = "") -> bytes:
    """The one text of what an entry says, as its digest is made of it.

    Args:
        table: Its table.
        row: Its row, up to the rule of its digest at least.
        lane: Name of its lane.
        digest: Its digest, in hexadecimal, where the text is to hold it as ``sha256``.
    """
    text = table.text(row, lane, digest)
    if extra := row[len(table.columns)]:
        import json

        return canonical(json.loads(text) | json.loads(extra))
    return text.encode()


def digest_of(table: Table, row: Row, lane: str) -> bytes:
    """SHA-256 of the one text of what an entry says.

    Args:
        table: Its table.
        row: Its row, up to the rule of its digest at least.
        lane: Name of its lane.
    """
    import hashlib

    return hashlib.sha256(text_of(table, row, lane)).digest()


def is_sound(table: Table, row: Row, lanes: Mapping[int, str]) -> bool:
    """Whether a whole row says what its digest was made of.

    Args:
        table: Its table.
        row: The row, all columns.
        lanes: Names of lanes by their number in the store.
    """
    try:
        return digest_of(table, row, lanes[row[-5]]) == bytes(row[-1])
    except (KeyError, ValueError, TypeError):
        return False
