"""What every entry of a person bears: who, when, on which laptop, and what it puts right."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """One entry on record, whatever it is about."""

    scout: str = ""
    """Who."""
    device: str = ""
    """Which laptop."""
    recorded_at: datetime | None = None
    """Instant of recording, UTC."""
    id: str = ""
    """Time-ordered universal id; empty until recorded."""
    replaces: str | None = None
    """Id of the entry that this one corrects."""
    reason: str = ""
    """Why it was corrected."""
