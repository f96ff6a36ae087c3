"""A bundle's form, the words in which one is refused, and each entry as a line of it: what it says, and its digest.

Every limit is checked while reading, before anything is believed or kept; see ``docs/open-files.md``. What a newer
program says is kept: fields that are unknown here go into ``extra``, and an entry of an unknown kind, or with words
that are unknown here, becomes a row of ``other_entries``. Both are handed on as they came.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Mapping
from datetime import date
from enum import StrEnum
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from roundtui.domain.entries import ID, EntryField, Form, Visit
from roundtui.domain.round.checks import contradictions
from roundtui.domain.text import YEARS, sanitize
from roundtui.errors import RefusedError
from roundtui.store.record import rows
from roundtui.store.record.journal import MOST_TEXT, longest
from roundtui.store.record.lanes import NAME

FORMAT = "roundtui-bundle"
"""Says in the manifest what the file is."""
FORMAT_VERSION = 1
"""Version of the form. It changes when an older program could misread a bundle."""
SUFFIX = ".bundle"
"""Ending of a bundle's name."""
MANIFEST = "manifest.json"
"""Member that says what the others are."""
ENTRIES = "entries.jsonl"
"""Member that holds the entries, one JSON object a line."""

MOST_MANIFEST = 256 * 1024
"""Longest manifest. [bytes]"""
MOST_LINE = 1024 * 1024
"""Longest line: eight texts of 20,000 characters, each written as an escape of six. [bytes]"""
MOST_BYTES = 1024 * 1024 * 1024
"""Most that all members together may hold, some two million entries. [bytes]"""
MOST_PACKED = 512 * 1024 * 1024
"""Largest file. [bytes]"""
MOST_RATIO = 200
"""How many times smaller than its content a member may be packed. Ids and digests are random and keep a bundle of
entries below 20; only notes of one repeated letter come near this."""
RATIO_FROM = 8 * 1024 * 1024
"""Content from which the ratio is looked at. [bytes]"""


class Why(StrEnum):
    """Why a bundle is refused, in a few words."""

    FOREIGN = "is no bundle"
    TRUNCATED = "is incomplete"
    FORMAT = "is of another format"
    NEWER = "is newer than this program"
    TAMPERED = "was changed since it was packed"
    STRAY = "has a stray member"
    DOUBLE = "has a double member"
    HUGE = "is too large"
    NOT_TEXT = "is not UTF-8"
    SHAPE = "is misshapen"
    LIMITS = "holds the impossible"
    PROGRAMME = "is of another programme"
    CLASH = "clashes with the record"


class BundleError(RefusedError):
    """A bundle that is not merged; nothing was changed.

    Args:
        name: The bundle, as a person knows it.
        why: Why it is refused.
        message: What exactly is wrong, and where in it.
        hint: What to do next.
    """

    def __init__(self, name: str, why: Why, message: str, hint: str = "ask for it again") -> None:
        super().__init__(f"{sanitize(name, 80)} {why}: {message}", f"{hint}; nothing was changed")
        self.why = why


def shown(path: Path) -> str:
    """A bundle's name as messages say it."""
    return sanitize(path.name, 80)


MOST_NUMBER = 99_999
"""Highest number of anything that is counted."""
DIGEST = "sha256"
"""Key of the digest."""
_ID = re.compile(ID)
_SHA256 = re.compile(r"[0-9a-f]{64}")
_INSTANT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T([01][0-9]|2[0-3])(:[0-5][0-9]){2}[.][0-9]{6}Z")
_HEAD = re.compile(f"{ID} {_INSTANT.pattern} {NAME.pattern} ({_SHA256.pattern})? ({ID})?")
_WHOLE = 2**63
_LINK = ("kind", "lane", "no", "form", "previous")
_COUNT, _NO_READING, _FEMALES, _NOTE = map(rows.VISITS.columns.index, ("count", "no_reading", "females", "note"))
_TYPES: dict[Form, type] = {Form.TEXT: str, Form.DAY: str, Form.WHOLE: int, Form.FLAG: bool}


class WrongLineError(Exception):
    """A line that cannot be taken.

    Args:
        why: Why.
        message: What exactly is wrong with it.
    """

    def __init__(self, why: Why, message: str) -> None:
        super().__init__(message)
        self.why = why
        self.message = message


def line_of(table: rows.Table, row: rows.Row, lanes: Mapping[int, str]) -> bytes:
    """An entry as a line, its end included.

    Args:
        table: Its table.
        row: The whole row.
        lanes: Names of lanes by their number in the store.
    """
    return rows.text_of(table, row, lanes[row[-5]], row[-1].hex()) + b"\n"


def read_line(line: bytes, *, newer: bool = False) -> tuple[rows.Table, rows.Row]:
    """An entry from its line.

    Args:
        line: The line, with or without its end.
        newer: Whether it comes from a newer program.

    Returns:
        Its table and the whole row, with the name of its lane where a store has the lane's number.

    Raises:
        WrongLineError: It is no entry, or says something else than when it was recorded.
    """
    found = _as_written(line.decode(errors="surrogateescape").removesuffix("\n"))
    if found is None:
        said = decoded_object(line)
        found = row_of(said, said.pop(DIGEST, None), newer=newer)
    return found


def read_text(text: str, digest: bytes, *, newer: bool = False) -> tuple[rows.Table, rows.Row]:
    """An entry from the text that its digest is made of.

    Args:
        text: The text.
        digest: Its digest.
        newer: Whether it comes from a newer program.

    Raises:
        WrongLineError: As for ``read_line``.
    """
    return _as_written(text, digest) or row_of(decoded_object(text.encode()), digest.hex(), newer=newer)


def _as_written(text: str, digest: bytes | None = None) -> tuple[rows.Table, rows.Row] | None:
    """An entry whose text this program would write itself, letter by letter; None: it has to be looked at closely.

    Args:
        text: Its text, or the line of a bundle.
        digest: Its digest; None where the line holds it.
    """
    try:
        said = json.loads(text)
        table, lane, previous = rows.TABLES[said["kind"]], said["lane"], bytes.fromhex(said.get("previous", ""))
        claimed = said[DIGEST] if digest is None else ""
        row = (*table.told(said), "", lane, said["no"], previous, rows.DIGEST_FORM)
        made = hashlib.sha256(text.replace(f',"{DIGEST}":"{claimed}"', "").encode()).digest()
        sound = (
            len(text) <= MOST_TEXT
            and table.text(row, lane, claimed) == text
            and (made == digest or made.hex() == claimed)
            and _HEAD.fullmatch(f"{row[0]} {row[1]} {lane} {previous.hex()} {row[4] or ''}")
            and _is_day(row[1][:10])
            and 1 <= said["no"] < _WHOLE
            and all(row[at] is None or is_sound(row[at]) for at, is_sound, _ in _limited(table.kind))
            and (table is not rows.VISITS or _is_bare(row) or not contradictions(table.entry(row)))
        )
    except (ValueError, KeyError, TypeError, RecursionError, AttributeError):
        return None
    return (table, (*row, made)) if sound else None


@lru_cache(maxsize=4096)
def _is_day(text: str) -> bool:
    try:
        on = date.fromisoformat(text)
    except ValueError:
        return False
    return on.isoformat() == text and YEARS[0] <= on.year <= YEARS[1]


def _is_bare(values: rows.Row) -> bool:
    """Whether a visit is a count and no more than marks: nothing in it could contradict the rest."""
    return values[_COUNT] is not None and values[_NO_READING] is None and values[_FEMALES] is None and not values[_NOTE]


def row_of(said: dict[str, Any], claimed: Any, *, newer: bool = False) -> tuple[rows.Table, rows.Row]:
    """An entry from what it says.

    Args:
        said: What it says, by name.
        claimed: Its digest, in hexadecimal.
        newer: Whether it comes from a newer program.

    Raises:
        WrongLineError: As for ``read_line``.
    """
    link = _link(said)
    head = _head(said)
    own = {name: value for name, value in said.items() if name not in _LINK and name not in rows.HEAD}
    table = rows.TABLES.get(said["kind"])
    if table is None:
        row: tuple[rows.Table, rows.Row] = (rows.OTHERS, (*head, said["kind"], _extra(own)))
    else:
        try:
            values, extra = _values(table, head, own)
            _refuse_impossible(table, values, extra)
            row = (table, (*values, extra))
        except WrongLineError as error:
            # A word or a limit that is new there.
            if not newer or error.why is not Why.LIMITS:
                raise
            row = (rows.OTHERS, (*head, said["kind"], _extra(own)))
    text = _text(said)
    digest = hashlib.sha256(text)
    if not isinstance(claimed, str) or digest.hexdigest() != claimed:
        raise WrongLineError(Why.TAMPERED, f"entry {head[0]} is not what its digest was made of")
    of, kept = row
    if of is not rows.OTHERS and rows.text_of(of, (*kept, *link), said["lane"]) != text:
        raise WrongLineError(Why.LIMITS, f"entry {head[0]} is not written as roundtui writes it")
    return of, (*kept, *link, digest.digest())


def _text(said: Mapping[str, Any]) -> bytes:
    try:
        return rows.canonical(said)
    except UnicodeEncodeError as error:
        raise WrongLineError(Why.NOT_TEXT, "it holds half a character") from error


def _link(said: Mapping[str, Any]) -> rows.Row:
    kind, lane, no, form = (_of(said, key, of) for key, of in zip(_LINK, (str, str, int, int), strict=False))
    previous = _of(said, "previous", str) if "previous" in said else ""
    if form > rows.DIGEST_FORM:
        raise WrongLineError(Why.NEWER, f"its digest goes by rule {form}, this program knows {rows.DIGEST_FORM}")
    if not kind or len(kind) > 40 or not NAME.fullmatch(lane) or not 1 <= no < _WHOLE or form < 1:
        raise WrongLineError(Why.LIMITS, f"its lane is {_shown(lane)}, {_shown(no)}")
    if previous and not _SHA256.fullmatch(previous):
        raise WrongLineError(Why.LIMITS, f"previous is {_shown(previous)}")
    return lane, no, bytes.fromhex(previous), form


def _head(said: Mapping[str, Any]) -> rows.Row:
    entry, at, scout = (_of(said, key, str) for key in rows.HEAD[:3])
    if not _ID.fullmatch(entry):
        raise WrongLineError(Why.LIMITS, f"{_shown(entry)} is no id")
    if not _INSTANT.fullmatch(at) or not scout:
        raise WrongLineError(Why.LIMITS, f"entry {entry} holds no instant or no scout")
    device, replaces, reason = (_of(said, key, str) if key in said else "" for key in rows.HEAD[3:])
    if (replaces and not _ID.fullmatch(replaces)) or "" in (said.get("replaces"), said.get("device")):
        raise WrongLineError(Why.LIMITS, f"entry {entry} corrects {_shown(replaces)}")
    return (entry, at, scout, device, replaces or None, reason)


def _values(table: rows.Table, head: rows.Row, own: dict[str, Any]) -> tuple[rows.Row, str]:
    """The columns of an entry, with what is missing at its default, and what is unknown here."""
    values = list(head)
    for one in table.own:
        if one.name not in own:
            if one.required:
                raise WrongLineError(Why.SHAPE, f"entry {head[0]} lacks {one.name}")
            values.append(one.default)
        else:
            values.append(_value(one, own[one.name], longest(table)))
    known = {one.name for one in table.own}
    return tuple(values), _extra({name: value for name, value in own.items() if name not in known})


def _value(one: EntryField, value: Any, most: int) -> Any:
    if type(value) is not _TYPES[one.form] and not (value is None and one.blank):
        raise WrongLineError(Why.SHAPE, f"{one.name} is {_shown(value)}")
    if isinstance(value, str) and len(value) > most:
        raise WrongLineError(Why.LIMITS, f"{one.name} has {len(value)} characters, and may have {most}")
    if isinstance(value, int) and abs(value) >= _WHOLE:
        raise WrongLineError(Why.LIMITS, f"{one.name} is {_shown(value)}")
    return int(value) if isinstance(value, bool) else value


def _extra(own: Mapping[str, Any]) -> str:
    text = _text(own).decode() if own else ""
    if len(text) > MOST_TEXT:
        raise WrongLineError(Why.HUGE, f"it says {len(text)} characters that are unknown here")
    return text


def _refuse_impossible(table: rows.Table, values: rows.Row, extra: str) -> None:
    try:
        entry = table.entry(values)
        same = table.values(entry) == values
    except (ValueError, KeyError, TypeError, OverflowError) as error:
        raise WrongLineError(Why.LIMITS, f"entry {values[0]} holds a day, an instant or a word that is none") from error
    if not same:
        raise WrongLineError(Why.LIMITS, f"entry {values[0]} is not written as roundtui writes it")
    if isinstance(entry, Visit):
        for problem in contradictions(entry, says_more=bool(extra)):
            raise WrongLineError(Why.LIMITS, f"entry {values[0]}: {problem.message}")
    for at, is_sound, fault in _limited(table.kind):
        if (value := values[at]) is not None and not is_sound(value):
            name = table.own[at - len(rows.HEAD)].name
            raise WrongLineError(Why.LIMITS, f"entry {values[0]}: {name} {_shown(value)} {fault}")
    if not YEARS[0] <= entry.recorded_at.year <= YEARS[1]:
        raise WrongLineError(Why.LIMITS, f"entry {values[0]} was recorded in {entry.recorded_at.year}")


@cache
def _limited(kind: str) -> tuple[tuple[int, Callable[[Any], object], str], ...]:
    """Columns of a kind that are held to more than their form: what tells whether a value is sound, and else its fault.

    What is beyond them no keyboard and no file would have taken.
    """
    found: list[tuple[int, Callable[[Any], object], str]] = []
    for at, one in enumerate(rows.TABLES[kind].own, len(rows.HEAD)):
        if one.words:
            found.append((at, frozenset(word.value for word in one.words).__contains__, "is a word that is none"))
        elif one.form is Form.DAY:
            found.append((at, _is_day, "is a slip of the keys"))
        elif one.form is Form.WHOLE:
            least, most = one.fact.least or 0, one.fact.most or MOST_NUMBER
            found.append((at, range(least, most + 1).__contains__, f"is not from {least} to {most}"))
        elif one.fact.pattern:
            found.append((at, re.compile(one.fact.pattern).fullmatch, "is not written as it has to be"))
    return tuple(found)


def _of(said: Mapping[str, Any], key: str, of: type) -> Any:
    if key not in said:
        raise WrongLineError(Why.SHAPE, f"it lacks {key}")
    value = said[key]
    if type(value) is not of:
        raise WrongLineError(Why.SHAPE, f"{key} is {_shown(value)}")
    if isinstance(value, str) and len(value) > MOST_TEXT:
        raise WrongLineError(Why.LIMITS, f"{key} has {len(value)} characters, and may have {MOST_TEXT}")
    return value


def decoded_object(line: bytes) -> dict[str, Any]:
    """The JSON object of a line.

    Args:
        line: The line.

    Raises:
        WrongLineError: It is none such.
    """
    try:
        values = _DECODER.decode(line.decode("utf-8"))
    except UnicodeDecodeError as error:
        raise WrongLineError(Why.NOT_TEXT, "it is not UTF-8 text") from error
    except (ValueError, RecursionError) as error:
        raise WrongLineError(Why.SHAPE, "it is no JSON object with each key once") from error
    if not isinstance(values, dict):
        raise WrongLineError(Why.SHAPE, "it is no JSON object")
    return values


def _shown(value: object) -> str:
    if isinstance(value, int) and abs(value) >= _WHOLE:
        return "a number beyond all counts"
    return sanitize(json.dumps(value), 40)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    values = dict(pairs)
    if len(values) != len(pairs):
        raise ValueError("a key is there twice")
    return values


def _no_constant(name: str) -> None:
    raise ValueError(f"{name} is no JSON")


_DECODER = json.JSONDecoder(object_pairs_hook=_once, parse_constant=_no_constant)
