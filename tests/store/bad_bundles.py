"""Bundles that must not be merged, each made from a good one by one change, and the word for each."""

from __future__ import annotations

import hashlib
import io
import json
import struct
import warnings
import zipfile
from collections.abc import Callable
from typing import Any

from roundtui.store.exchange.lines import ENTRIES
from roundtui.store.record.rows import canonical

Members = dict[str, bytes]


def opened(bundle: bytes) -> Members:
    with zipfile.ZipFile(io.BytesIO(bundle)) as file:
        return {name: file.read(name) for name in file.namelist()}


def closed(members: Members | list[tuple[str, bytes]], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    box = io.BytesIO()
    with warnings.catch_warnings(), zipfile.ZipFile(box, "w", method) as file:
        warnings.simplefilter("ignore")
        for name, content in members.items() if isinstance(members, dict) else members:
            file.writestr(name, content)
    return box.getvalue()


def with_manifest(**changes: Any) -> Callable[[bytes], bytes]:
    def change(bundle: bytes) -> bytes:
        members = opened(bundle)
        manifest = json.loads(members["manifest.json"]) | changes
        return closed(members | {"manifest.json": json.dumps(manifest).encode()})

    return change


def with_lines(edit: Callable[[list[bytes]], list[bytes]], name: str = ENTRIES) -> Callable[[bytes], bytes]:
    """Change lines of a member and make the manifest agree, as one who means harm would."""

    def change(bundle: bytes) -> bytes:
        members = opened(bundle)
        lines = edit(members[name].splitlines(keepends=True))
        content = b"".join(lines)
        manifest = json.loads(members["manifest.json"])
        manifest["members"][name] |= {
            "entries": content.count(b"\n"),
            "bytes": len(content),
            "sha256": hashlib.sha256(content).hexdigest(),
        }
        return closed(members | {name: content, "manifest.json": json.dumps(manifest).encode()})

    return change


def signed(values: dict[str, Any]) -> bytes:
    """What an entry says as a line, with a digest that fits; null is left out, as a default is."""
    said = {name: value for name, value in values.items() if name != "sha256" and value is not None}
    digest = hashlib.sha256(canonical(said)).hexdigest()
    return (json.dumps(said | {"sha256": digest}, ensure_ascii=False) + "\n").encode()


def with_visit(**changes: Any) -> Callable[[bytes], bytes]:
    """Change what the first visit says, and make digest and manifest agree."""

    def edit(lines: list[bytes]) -> list[bytes]:
        values = json.loads(lines[0]) | changes
        return [signed(values), *lines[1:]]

    return with_lines(edit)


def first_line(old: bytes, new: bytes) -> Callable[[bytes], bytes]:
    return with_lines(lambda lines: [lines[0].replace(old, new, 1), *lines[1:]])


def with_member(name: str, content: bytes = b"x") -> Callable[[bytes], bytes]:
    return lambda bundle: closed(opened(bundle) | {name: content})


def as_link(bundle: bytes) -> bytes:
    """A member that is a symbolic link to a file outside."""
    members = opened(bundle)
    box = io.BytesIO()
    with zipfile.ZipFile(box, "w") as file:
        for name, content in members.items():
            info = zipfile.ZipInfo(name)
            info.external_attr = 0o120777 << 16
            file.writestr(info, b"/etc/passwd" if name == ENTRIES else content)
    return box.getvalue()


def lying_about_size(bundle: bytes) -> bytes:
    """The container says that a member is shorter than it is."""
    members = opened(bundle)
    sanitize = bytearray(closed(members, zipfile.ZIP_STORED))
    size = struct.pack("<L", len(members[ENTRIES]))
    return bytes(sanitize.replace(size, struct.pack("<L", 10)))


def many_members(bundle: bytes) -> bytes:
    return closed(opened(bundle) | {f"m{at}.jsonl": b"" for at in range(40)})


def encrypted(bundle: bytes) -> bytes:
    sanitize = bytearray(closed(opened(bundle), zipfile.ZIP_STORED))
    at = sanitize.index(b"PK\x01\x02")
    sanitize[at + 8] |= 1
    return bytes(sanitize)


def packed_otherwise(bundle: bytes) -> bytes:
    return closed(opened(bundle), zipfile.ZIP_LZMA)


def bomb(bundle: bytes) -> bytes:
    """Some kilobytes that unpack to a hundred megabytes."""
    return closed(opened(bundle) | {ENTRIES: b"\n" * 100_000_000})


def long_line(bundle: bytes) -> bytes:
    """One line that never ends; random letters, so that it hides behind no ratio."""
    noise = b"".join(hashlib.sha256(str(at).encode()).hexdigest().encode() for at in range(40_000))
    return with_lines(lambda lines: [b'{"id":"' + noise + b'"}\n'])(bundle)


def double_member(bundle: bytes) -> bytes:
    members = list(opened(bundle).items())
    return closed([*members, (ENTRIES, b"")])


def without(name: str) -> Callable[[bytes], bytes]:
    return lambda bundle: closed({key: value for key, value in opened(bundle).items() if key != name})


def two_names_for_one(bundle: bytes) -> bytes:
    """An entry under an id that the bundle uses for another."""

    def edit(lines: list[bytes]) -> list[bytes]:
        values = json.loads(lines[0]) | {"count": 77}
        return [*lines, signed(values)]

    return with_lines(edit)(bundle)


def in_a_circle(bundle: bytes) -> bytes:
    """Two visits that correct each other, so that neither would stand."""

    def edit(lines: list[bytes]) -> list[bytes]:
        both = [json.loads(line) for line in lines[:2]]
        for one, other in (both, both[::-1]):
            one |= {"replaces": other["id"], "reason": "x"}
        return [*map(signed, both), *lines[2:]]

    return with_lines(edit)(bundle)


def without_key(key: str) -> Callable[[bytes], bytes]:
    """A manifest that lacks something."""

    def change(bundle: bytes) -> bytes:
        members = opened(bundle)
        manifest = {name: value for name, value in json.loads(members["manifest.json"]).items() if name != key}
        return closed(members | {"manifest.json": json.dumps(manifest).encode()})

    return change


def for_huge_files(bundle: bytes) -> bytes:
    """A container with a second end, which speaks of more than the first."""
    end = len(bundle) - 22
    locator = struct.pack("<4sLQL", b"PK\x06\x07", 0, end, 1)
    return bundle[:end] + locator + bundle[end:]


NOBODY = "01900000-0000-7000-8000-000000000000"

BAD: dict[str, Callable[[bytes], bytes]] = {
    "an empty file": lambda bundle: b"",
    "a text": lambda bundle: b"trap,read_on\nA1,2026-05-20\n",
    "a container without a manifest": without("manifest.json"),
    "a manifest that says nothing of a bundle": with_manifest(format="zip"),
    "the first half of a bundle": lambda bundle: bundle[: len(bundle) // 2],
    "a bundle without its last byte": lambda bundle: bundle[:-1],
    "a bundle with its middle cut out": lambda bundle: bundle[: len(bundle) // 3] + bundle[len(bundle) // 2 :],
    "a member the manifest names is missing": without(ENTRIES),
    "the last line cut short": with_lines(lambda lines: [*lines[:-1], lines[-1][:-1]]),
    "another format": with_manifest(format_version=2),
    "a byte changed in the container": lambda bundle: bundle.replace(b"PK\x01\x02", b"PK\x01\x02", 1).replace(
        opened(bundle)[ENTRIES][:0] + bundle[60:64], bytes(255 - byte for byte in bundle[60:64]), 1
    ),
    "a member that is not what the manifest says": lambda bundle: closed(
        opened(bundle) | {ENTRIES: opened(bundle)[ENTRIES].partition(b"\n")[2]}
    ),
    "an entry changed, and the manifest with it": first_line(b'"count":4', b'"count":5'),
    "a member not in the manifest": with_manifest(members={}),
    "a digest by a newer rule": with_visit(form=2),
    "a stray member": with_member("notes.txt"),
    "a path that climbs out": with_member("../roundtui.db"),
    "a path that climbs out on another system": with_member("..\\roundtui.db"),
    "an absolute name": with_member("/etc/passwd"),
    "a name on another drive": with_member("C:entries.jsonl"),
    "a link out": as_link,
    "a member twice": double_member,
    "forty members": many_members,
    "a bomb": bomb,
    "a line without end": long_line,
    "a size that is a lie": lying_about_size,
    "a manifest that is not UTF-8": with_member("manifest.json", b'{"format": "\xff"}'),
    "a manifest that is no JSON": with_member("manifest.json", b"format,roundtui-bundle\n"),
    "a manifest without members": without_key("members"),
    "a manifest without its laptop": without_key("device"),
    "a container for huge files": for_huge_files,
    "an encrypted member": encrypted,
    "a member packed otherwise": packed_otherwise,
    "a line that is not UTF-8": first_line(b'"scout":"Ada"', b'"scout":"\xff\xfe"'),
    "half a character": first_line(b'"scout":"Ada"', b'"scout":"\\ud83d"'),
    "a line that is no JSON": with_lines(lambda lines: [b"A1,4\n", *lines]),
    "a line that is a list": with_lines(lambda lines: [b"[1]\n", *lines]),
    "brackets without end": with_lines(lambda lines: [b"[" * 100_000 + b"\n", *lines]),
    "a number without end": first_line(b'"count":4', b'"count":' + b"4" * 10_000),
    "a key twice": first_line(b'"count":4', b'"count":4,"count":5'),
    "a key too many": first_line(b'"count":4', b'"count":4,"colour":"red"'),
    "a key too few": first_line(b'"count":4,', b""),
    "a count in quotes": first_line(b'"count":4', b'"count":"4"'),
    "a count with a point": first_line(b'"count":4', b'"count":4.0'),
    "a count that is true": first_line(b'"count":4', b'"count":true'),
    "a count that is no number": first_line(b'"count":4', b'"count":NaN'),
    "a count beyond the database": with_visit(count=2**70),
    "a count beyond the domain": with_visit(count=10_000),
    "a count below zero": with_visit(count=-1),
    "a count and a reason": with_visit(no_reading="down"),
    "a reason nobody knows": with_visit(count=None, no_reading="rain"),
    "a day that is none": with_visit(read_on="2026-02-30"),
    "a day written otherwise": with_visit(read_on="20260520"),
    "an instant without its zone": with_visit(recorded_at="2026-05-20T16:30:00.000000"),
    "nobody's entry": with_visit(scout=""),
    "a correction without a reason": with_visit(replaces=NOBODY),
    "an id that is none": with_visit(id="1; DROP TABLE visits"),
    "a note too long": with_visit(note="x" * 20_001),
    "a trap nobody knows": with_visit(trap="Z9"),
    "a lot nobody knows": with_visit(lure="CM99"),
    "a correction of nobody's entry": with_visit(replaces=NOBODY, reason="x"),
    "a correction of itself": lambda bundle: with_visit(
        replaces=json.loads(opened(bundle)[ENTRIES].splitlines()[0])["id"], reason="x"
    )(bundle),
    "corrections in a circle": in_a_circle,
    "one id for two entries": two_names_for_one,
}
