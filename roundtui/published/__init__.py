"""Published values of the trade, each with its source beside it: a text file to a topic, in this folder.

A file has sections, each under its name in brackets, with a row of cells to a line and ``|`` between them. A line that
ends in a backslash goes on in the next; one that begins with ``#`` says what the cells are.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from pathlib import Path


@cache
def read(topic: str, folder: Path = Path(__file__).parent) -> Mapping[str, str]:
    """The sections of a file, by their names, as text without its remarks.

    Args:
        topic: Name of the file, without its ending.
        folder: Where it is; other layers have files of this form too.
    """
    text = (folder / f"{topic}.txt").read_text(encoding="utf-8").replace("\\\n", "")
    _, *parts = re.split(r"^\[(.+)\]$", re.sub(r"(?m)^#.*\n", "", text), flags=re.MULTILINE)
    return dict(zip(parts[::2], parts[1::2], strict=True))
