"""Files that appear whole or not at all: written beside their place, then moved there.

Texts as cells of an open CSV file: a spreadsheet runs none of them, a terminal obeys none, and all can be had back.
"""

from __future__ import annotations

import errno
import os
import re
import stat
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from glob import escape
from pathlib import Path
from typing import BinaryIO

from roundtui.domain.text import sanitize
from roundtui.errors import Problem, StoreError
from roundtui.store.failures import unwritable

_ABANDONED_SECONDS = 600
"""Age from which an unfinished file is nobody's any more, where its writer cannot be looked for. [s]"""


def regular(path: Path) -> Path:
    """The path of a file that is about to be read, unless reading it would wait for ever or never end.

    Args:
        path: The file.

    Raises:
        OSError: It is a pipe, a socket or a device, or cannot be looked at.
    """
    mode = path.stat().st_mode
    if not (stat.S_ISREG(mode) or stat.S_ISDIR(mode)):
        raise OSError(errno.EINVAL, "it is a pipe or a device, no file")
    return path


def read_bytes(path: Path) -> tuple[bytes, Problem | None]:
    """What stands in a file, or why it cannot be read.

    Args:
        path: The file.
    """
    try:
        return regular(path).read_bytes(), None
    except FileNotFoundError:
        return b"", Problem(sanitize(str(path), 200), "there is no such file", "check the name")
    except IsADirectoryError:
        hint = "move it away, and put the file in its place" if path.suffix else "name the CSV file itself"
        return b"", Problem(sanitize(str(path), 200), "is a folder, not a file", hint)
    except OSError as error:
        why = error.strerror or type(error).__name__
        return b"", Problem(sanitize(str(path), 200), f"cannot be read: {why}", "check who may read it")


MOST_OFFICE = 100_000
"""Longest file of the office's own that goes on record. [characters]"""
_OFFICE = re.compile(r"([a-z0-9][a-z0-9_-]{0,40}\.toml|templates/[A-Za-z0-9][A-Za-z0-9_.-]{0,60})")


def is_office(name: str) -> bool:
    """Whether a file of that name, from the folder, is one of the office's own."""
    return _OFFICE.fullmatch(name) is not None and ".." not in name


@contextmanager
def unfinished(path: Path, *, folder: bool = False, mode: int = 0o777) -> Iterator[Path]:
    """A new, empty file beside the place of another, under a name that nobody can guess; in the end it is taken away.

    Args:
        path: The place it is meant for.
        folder: Whether to make a folder.
        mode: Who may use such a folder.

    Raises:
        OSError: It cannot be made.
    """
    new = path.with_name(f".{path.name}.unfinished-{os.getpid()}-{os.urandom(8).hex()}")
    clear_interrupted(path.parent, path.name)
    try:
        if folder:
            new.mkdir(mode)
        else:
            # Never through a link, and never over something that lies there already.
            os.close(os.open(new, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0), 0o666))
        yield new
    finally:
        _take_away(new)


@contextmanager
def scratch() -> Iterator[Path]:
    """A folder for a while, which nobody else can read; what runs that were killed left of theirs is taken away.

    Raises:
        StoreError: There is no room for one.
        OSError: It cannot be made.
    """
    from tempfile import gettempdir

    try:
        place = Path(gettempdir(), "roundtui")
    except FileNotFoundError as error:
        raise StoreError("no folder takes files for a while", "make room, or name one in TMPDIR") from error
    with unfinished(place, folder=True, mode=0o700) as new:
        yield new


@contextmanager
def whole_folder(folder: Path) -> Iterator[Path]:
    """Make a folder, which appears with all that is written into the one given here, or not at all.

    Args:
        folder: The folder; what is there must be empty.

    Raises:
        StoreError: It cannot be written.
    """
    try:
        folder.absolute().parent.mkdir(parents=True, exist_ok=True)
        with unfinished(folder.absolute(), folder=True) as new:
            yield new
            if folder.exists():
                folder.rmdir()
            new.rename(folder)
    except OSError as error:
        raise unwritable(folder, error) from error


@contextmanager
def whole_file(path: Path) -> Iterator[BinaryIO]:
    """Write a file in place of the one that is there, if any; what is there stays until the new one is whole.

    Args:
        path: The file; its folder is made where it is missing.

    Raises:
        StoreError: It cannot be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with unfinished(path) as new:
            with new.open("r+b") as file:
                yield file
                file.flush()
                os.fsync(file.fileno())
            new.replace(path)
            to_disk(path.parent)
    except OSError as error:
        raise unwritable(path, error) from error


def to_disk(path: Path) -> None:
    """Have a file, or the names in a folder, written to the disk, where the system can be asked for that.

    Args:
        path: The file or folder.

    Raises:
        OSError: A file cannot be.
    """
    names = path.is_dir()
    try:
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_DIRECTORY", 0) if names else os.O_RDWR)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
    except OSError:
        if not names:
            raise


def clear_interrupted(folder: Path, name: str = "") -> None:
    """Take away what runs that were killed left unfinished; what may still be written is left alone.

    Args:
        folder: Where to look.
        name: Name of the file they were to become; empty: any.
    """
    for left in folder.glob(f".{escape(name) or '*'}.unfinished-*"):
        with suppress(OSError):
            if not _is_written(left.name) or time.time() - left.lstat().st_mtime > _ABANDONED_SECONDS:
                _take_away(left)


def _is_written(name: str) -> bool:
    """Whether the program that writes an unfinished file may still run."""
    writer = name.rpartition(".unfinished-")[2].partition("-")[0]
    if os.name == "nt" or not writer.isdigit():
        return True
    try:
        os.kill(int(writer), 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True
    return True


def _take_away(path: Path) -> None:
    if path.is_dir() and not path.is_symlink():
        # Loaded on first use: it brings packers with it, and every start comes by here.
        from shutil import rmtree

        rmtree(path, ignore_errors=True)
        return
    for one in (path, *(path.with_name(path.name + end) for end in ("-journal", "-wal", "-shm"))):
        with suppress(OSError):
            one.unlink(missing_ok=True)


def write_whole(path: Path, content: str | bytes) -> None:
    """Write a file, a text in UTF-8, whole or not at all.

    Args:
        path: The file.
        content: What it holds; ends of lines stay as they are.

    Raises:
        StoreError: It cannot be written.
    """
    with whole_file(path) as file:
        file.write(content.encode() if isinstance(content, str) else content)


_ACTING = re.compile(
    r"[\\\x00-\x1f\x7f-\x9f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb\ud800-\udfff]"
)
"""Control characters, ends of lines, marks that turn the direction of writing, and the backslash that escapes them."""
_FORMULA = re.compile(r"'*\s*[=+\-@\uff1d\uff0b\uff0d\uff20]")
"""What a spreadsheet may take for a formula; the wide forms of the signs count in some languages."""
_ESCAPE = re.compile(r"\\(?:([\\nrt])|u([0-9a-f]{4})|)")
_SHORT = {"\\": "\\", "\n": "n", "\r": "r", "\t": "t"}
_LONG = {letter: char for char, letter in _SHORT.items()}


def csv_text(rows: Iterable[Iterable[object]], *, quoted: bool = False) -> str:
    """Rows as the text of a CSV file (RFC 4180).

    Args:
        rows: Its rows, the header among them.
        quoted: Whether every cell stands in quotation marks.
    """
    import csv
    import io

    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\r\n", quoting=csv.QUOTE_ALL if quoted else csv.QUOTE_MINIMAL).writerows(rows)
    return text.getvalue()


def safe_cell(text: str) -> str:
    r"""A text as a cell that is only ever shown.

    Args:
        text: Text as a person wrote it.

    Returns:
        One line. ``=1+1`` becomes ``'=1+1``, an end of line ``\n``, a backslash two of them.
    """
    if not text.isprintable() or "\\" in text:
        text = _ACTING.sub(_escaped, text)
    return f"'{text}" if _FORMULA.match(text) else text


def plain_text(cell: str) -> str:
    """The text that ``safe_cell`` made a cell of.

    Args:
        cell: The cell.

    Raises:
        ValueError: It holds a backslash that escapes nothing.
    """
    if cell.startswith("'") and _FORMULA.match(cell, 1):
        cell = cell[1:]
    return _ESCAPE.sub(_unescaped, cell) if "\\" in cell else cell


def _escaped(found: re.Match[str]) -> str:
    char = found.group()
    return f"\\{_SHORT[char]}" if char in _SHORT else f"\\u{ord(char):04x}"


def _unescaped(found: re.Match[str]) -> str:
    short, code = found.groups()
    if short:
        return _LONG[short]
    if code:
        return chr(int(code, 16))
    raise ValueError("a backslash that escapes nothing")
