"""Reading a parcel that may be anything: what its container may be, and its lines as a stream.

Nothing is unpacked to the disk, and no name in the container is ever used as a path.
"""

from __future__ import annotations

import errno
import hashlib
import struct
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path, PurePosixPath, PureWindowsPath

from roundtui.domain.text import plain
from roundtui.errors import StoreError
from roundtui.store.parcels.form import (
    ENTRIES,
    MANIFEST,
    MOST_BYTES,
    MOST_LINE,
    MOST_MANIFEST,
    MOST_MEMBERS,
    MOST_PACKED,
    MOST_RATIO,
    RATIO_FROM,
    ParcelError,
    Why,
    shown,
)
from roundtui.store.parcels.manifest import Manifest, parse_manifest

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


@dataclass(frozen=True, slots=True)
class Parcel:
    """A parcel that is open and whose container is sound; its entries are not believed yet."""

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
            ParcelError: It is not what the manifest says, or a line is too long.
        """
        about = self.manifest.members[member]
        digest, size, number, rest = hashlib.sha256(), 0, 0, b""
        for piece in _pieces(self.name, self.file, member):
            digest.update(piece)
            size += len(piece)
            *whole, rest = (rest + piece).split(b"\n")
            for line in whole:
                number += 1
                if len(line) > MOST_LINE:
                    raise _too_long(self.name, member, number)
                yield number, line
            if len(rest) > MOST_LINE:
                raise _too_long(self.name, member, number + 1)
        if rest:
            raise ParcelError(self.name, Why.TRUNCATED, f"the last line of {member} has no end", _MEND)
        if digest.hexdigest() != about.sha256 or (size, number) != (about.bytes, about.entries):
            raise ParcelError(self.name, Why.TAMPERED, f"{member} is not what the manifest says", _MEND)


@contextmanager
def open_parcel(path: Path) -> Iterator[Parcel]:
    """Open a parcel and look at everything but its entries.

    Args:
        path: The file.

    Raises:
        ParcelError: It is no sound parcel of this version.
        StoreError: The file cannot be read.
    """
    name = shown(path)
    with _container(path, name) as file:
        _look_at_members(name, file.infolist())
        manifest = parse_manifest(name, b"".join(_pieces(name, file, MANIFEST)))
        _look_at_manifest(name, {info.filename for info in file.infolist()} - {MANIFEST}, manifest)
        yield Parcel(name, manifest, file)


def _container(path: Path, name: str) -> zipfile.ZipFile:
    try:
        if not path.is_file():
            what = "is no file" if path.exists() else "is not there"
            raise StoreError(f"{plain(str(path), 200)} {what}", "check the name of the parcel")
        _look_at_ends(path, name)
        return zipfile.ZipFile(path)
    except (zipfile.BadZipFile, struct.error, EOFError, ValueError) as error:
        raise _misfit(name) from error
    except OSError as error:
        if error.errno == errno.EINVAL:  # What the container points at lies before its beginning.
            raise _misfit(name) from error
        raise StoreError(
            f"{plain(str(path), 200)} cannot be read: {error.strerror or error}", "check who may read it"
        ) from error


def _misfit(name: str) -> ParcelError:
    return ParcelError(name, Why.TRUNCATED, "its end does not fit its beginning", _MEND)


def _look_at_ends(path: Path, name: str) -> None:
    size = path.stat().st_size
    if size > MOST_PACKED:
        raise ParcelError(name, Why.HUGE, f"the file has {size} bytes, and may have {MOST_PACKED}", "pack less at once")
    with path.open("rb") as file:
        if file.read(len(_START)) != _START:
            raise ParcelError(name, Why.FOREIGN, "it does not begin like one", "name a file made by roundtui pack")
        file.seek(max(0, size - _LONG_END_AT))
        tail = file.read()
    end = tail[-_END.size :]
    if len(end) < _END.size or not end.startswith(_END_MARK):
        raise ParcelError(name, Why.TRUNCATED, "its end is missing", _MEND)
    if tail.startswith(_LONG_END_MARK):
        raise ParcelError(name, Why.HUGE, "its container is of the kind for huge files", "name a file made by pack")
    _, _, _, _, members, directory, _, _ = _END.unpack(end)
    if members > MOST_MEMBERS or directory > MOST_MANIFEST:
        raise ParcelError(
            name, Why.HUGE, f"it has {members} members, and may have {MOST_MEMBERS}", "name a file made by pack"
        )


def _look_at_members(name: str, members: list[zipfile.ZipInfo]) -> None:
    seen: set[str] = set()
    if len(members) > MOST_MEMBERS:
        raise ParcelError(
            name, Why.HUGE, f"it has {len(members)} members, and may have {MOST_MEMBERS}", "name a file made by pack"
        )
    if any(info.header_offset < 0 for info in members):
        raise _misfit(name)
    for info in members:
        member = plain(info.orig_filename, 60)
        if _climbs(info.orig_filename):
            raise ParcelError(name, Why.PATH, f"the member {member} would lie outside", "do not use it")
        if info.filename in seen:
            raise ParcelError(name, Why.DOUBLE, f"{member} is in it twice", "do not use it")
        seen.add(info.filename)
        if info.filename not in (MANIFEST, ENTRIES):
            raise ParcelError(name, Why.STRAY, f"{member} does not belong in a parcel", "do not use it")
        if info.flag_bits & _ENCRYPTED or info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise ParcelError(name, Why.FOREIGN, f"{member} is packed in a way pack does not use", "pack it again")
        most = MOST_MANIFEST if info.filename == MANIFEST else MOST_BYTES
        if info.file_size > most:
            raise ParcelError(name, Why.HUGE, f"{member} unpacks to {info.file_size} bytes", "do not use it")
        if info.file_size > RATIO_FROM and info.file_size > MOST_RATIO * max(1, info.compress_size):
            raise ParcelError(
                name, Why.HUGE, f"{member} unpacks to {info.file_size} bytes from {info.compress_size}", "do not use it"
            )
    total = sum(info.file_size for info in members)
    if total > MOST_BYTES:
        raise ParcelError(name, Why.HUGE, f"it unpacks to {total} bytes, and may to {MOST_BYTES}", "do not use it")
    if MANIFEST not in seen:
        raise ParcelError(name, Why.FOREIGN, f"it has no {MANIFEST}", "name a file made by roundtui pack")


def _look_at_manifest(name: str, there: set[str], manifest: Manifest) -> None:
    for member in sorted(there - manifest.members.keys()):
        raise ParcelError(name, Why.STRAY, f"{member} is not in its manifest", "do not use it")
    for member in sorted({ENTRIES, *manifest.members} - there):
        raise ParcelError(name, Why.TRUNCATED, f"{member} is in its manifest and missing", _MEND)


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
        raise ParcelError(name, Why.TAMPERED, f"{member} does not unpack: {plain(str(error), 80)}", _MEND) from error


def _too_long(name: str, member: str, number: int) -> ParcelError:
    return ParcelError(
        name,
        Why.HUGE,
        f"line {number} of {member} has more than {MOST_LINE} bytes",
        "name a file made by roundtui pack",
    )
