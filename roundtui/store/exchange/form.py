"""The form of a bundle: its members, its limits, and the word for each way in which one is refused.

See ``docs/open-files.md``. Every limit is checked while reading, before anything is believed or kept.
"""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path

from roundtui.domain.text import sanitize
from roundtui.errors import RefusedError

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

MOST_MEMBERS = 32
"""Members a bundle may have."""
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
    PATH = "has a path that climbs out"
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
