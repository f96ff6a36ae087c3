"""What a load brought."""

from __future__ import annotations

from dataclasses import dataclass, field

from roundtui.errors import Problem
from roundtui.store.csv_file import Cells
from roundtui.store.set_up.columns import SetUpFile, Values


@dataclass(slots=True)
class FileReport:
    """What one file brought."""

    added: int = 0
    """Rows that were new."""
    changed: int = 0
    """Rows that had changed."""
    same: int = 0
    """Rows as they were."""


@dataclass(slots=True)
class LoadReport:
    """What a folder brought."""

    files: dict[str, FileReport] = field(default_factory=dict)
    """By file name, in the order of loading."""
    remarks: list[Problem] = field(default_factory=list)
    """Warnings: rows and files that vanished, dates that moved."""
    contested: list[Problem] = field(default_factory=list)
    """Rows that were changed in the file and here as well: they stay as they are here, and someone settles them."""

    @property
    def changed(self) -> bool:
        """Whether anything in the store is different now."""
        return any(file.added or file.changed for file in self.files.values())


@dataclass(slots=True)
class FileRead:
    """A file with its rows typed."""

    file: SetUpFile
    """Which file."""
    mtime_ns: int
    """When it was written last. [ns]"""
    size: int
    """Its length. [bytes]"""
    digest: str
    """What tells one state of it from another."""
    rows: list[tuple[Cells, Values]]
    """Its rows, as read and as values."""
