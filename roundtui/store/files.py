"""Files that appear whole or not at all: written beside their place, then moved there.

Texts as cells of an open CSV file: a spreadsheet runs none of them, a terminal obeys none, and all can be had back.
"""

from __future__ import annotations

import os
import re
import secrets
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from glob import escape
from pathlib import Path
from typing import BinaryIO

from roundtui.domain.text import sanitize
from roundtui.errors import StoreError

_ABANDONED_SECONDS = 600
"""Age from which an unfinished file is nobody's any more. [s]"""


@contextmanager
def whole_file(path: Path) -> Iterator[BinaryIO]:
    """Write a file in place of the one that is there, if any; what is there stays until the new one is whole.

    Args:
        path: The file; its folder is made where it is missing.

    Raises:
        StoreError: It cannot be written.
    """
    unfinished = path.with_name(f".{path.name}.unfinished-{secrets.token_hex(8)}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        _clear_interrupted(path)
        # Never through a link, and never over something that lies there already.
        handle = os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0), 0o666)
        with os.fdopen(handle, "wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        unfinished.replace(path)
        folder_to_disk(path.parent)
    except OSError as error:
        raise StoreError(
            f"{sanitize(str(path), 200)} cannot be written: {error.strerror or error}",
            "make room, or check who may write there",
        ) from error
    finally:
        with suppress(OSError):  # Where its folder could not be made that is said already.
            unfinished.unlink(missing_ok=True)


def folder_to_disk(folder: Path) -> None:
    """Have the names in a folder on the disk, where the system can be asked for that.

    Args:
        folder: The folder.
    """
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY | getattr(os, "O_DIRECTORY", 0))
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _clear_interrupted(path: Path) -> None:
    """Take away what a run that was killed left of the same file; one that may still be written is left alone."""
    for left in path.parent.glob(f".{escape(path.name)}.unfinished-*"):
        with suppress(OSError):
            if time.time() - left.lstat().st_mtime > _ABANDONED_SECONDS:
                left.unlink()


def write_whole(path: Path, content: str) -> None:
    """Write a text file in UTF-8, whole or not at all.

    Args:
        path: The file.
        content: Its text; ends of lines stay as they are.

    Raises:
        StoreError: It cannot be written.
    """
    with whole_file(path) as file:
        file.write(content.encode("utf-8"))


_ACTING = re.compile(
    r"[\\\x00-\x1f\x7f-\x9f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb\ud800-\udfff]"
)
"""Control characters, ends of lines, marks that turn the direction of writing, and the backslash that escapes them."""
_FORMULA = re.compile(r"'*\s*[=+\-@\uff1d\uff0b\uff0d\uff20]")
"""What a spreadsheet may take for a formula; the wide forms of the signs count in some languages."""
_ESCAPE = re.compile(r"\\(?:([\\nrt])|u([0-9a-f]{4})|)")
_SHORT = {"\\": "\\", "\n": "n", "\r": "r", "\t": "t"}
_LONG = {letter: char for char, letter in _SHORT.items()}


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
