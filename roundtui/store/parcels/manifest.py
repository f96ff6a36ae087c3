"""The manifest of a parcel: what is in it, who made it and when, and how to know that it arrived whole."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, TypeGuard

from roundtui import __version__
from roundtui.domain.text import plain
from roundtui.store.migrations import SCHEMA_VERSION
from roundtui.store.parcels.form import ENTRIES, FORMAT, FORMAT_VERSION, ParcelError, Why

_SHA256 = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class Member:
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


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a parcel says of itself."""

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
        """How many entries the parcel holds."""
        return self.members[ENTRIES].entries if ENTRIES in self.members else 0

    def to_json(self) -> bytes:
        """The manifest as its member holds it."""
        values = {
            "format": FORMAT,
            "format_version": FORMAT_VERSION,
            "schema": self.schema,
            "program": f"roundtui {__version__}",
            "made_at": self.made_at,
            "device": self.device,
            "pair": self.pair,
            "lanes": self.lanes,
            "kinds": self.kinds,
            "scouts": list(self.scouts),
            "since": self.since,
            "without": list(self.without),
            "members": {
                member.name: {
                    "entries": member.entries,
                    "bytes": member.bytes,
                    "sha256": member.sha256,
                    "first": member.first,
                    "last": member.last,
                }
                for member in self.members.values()
            },
        }
        return (json.dumps(values, indent=1, ensure_ascii=False) + "\n").encode()


def parse_manifest(name: str, content: bytes) -> Manifest:
    """Read a manifest.

    Args:
        name: The parcel, for messages.
        content: Its manifest.

    Raises:
        ParcelError: It is none, or one that this version does not read.
    """
    try:
        values = json.loads(content.decode("utf-8"))
    except UnicodeDecodeError as error:
        raise ParcelError(name, Why.NOT_TEXT, "its manifest is not UTF-8 text") from error
    except (ValueError, RecursionError) as error:
        raise ParcelError(name, Why.SHAPE, "its manifest is no JSON") from error
    if not isinstance(values, dict) or values.get("format") != FORMAT:
        raise ParcelError(name, Why.FOREIGN, "its manifest does not say that it is one", "name a file made by pack")
    version = values.get("format_version")
    if version != FORMAT_VERSION or isinstance(version, bool):
        said = plain(str(version), 20)
        raise ParcelError(
            name,
            Why.FORMAT,
            f"it is of format {said}, this program reads format {FORMAT_VERSION}",
            "have both laptops on the same version of roundtui, and pack again",
        )
    try:
        return _manifest(values)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise ParcelError(
            name, Why.SHAPE, f"its manifest lacks or misstates {plain(str(error).strip(chr(39)), 40)}"
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
