"""Files that appear whole or not at all: written beside their place, then moved there."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

from roundtui.domain.plain import plain
from roundtui.errors import StoreError


@contextmanager
def whole_file(path: Path) -> Iterator[BinaryIO]:
    """Write a file in place of the one that is there, if any; what is there stays until the new one is whole.

    Args:
        path: The file; its folder is made where it is missing.

    Raises:
        StoreError: It cannot be written.
    """
    unfinished = path.with_name(f".{path.name}.unfinished-{os.getpid()}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with unfinished.open("wb") as file:
            yield file
        unfinished.replace(path)
    except OSError as error:
        raise StoreError(
            f"{plain(str(path), 200)} cannot be written: {error.strerror or error}",
            "make room, or check who may write there",
        ) from error
    finally:
        with suppress(OSError):  # Where its folder could not be made that is said already.
            unfinished.unlink(missing_ok=True)


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
