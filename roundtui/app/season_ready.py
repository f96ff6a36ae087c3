"""A season put together beside the desk, so that the key for it finds it there, and whether it still holds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from roundtui.app.session import Session
    from roundtui.report.season_chart import Picture

State = tuple[int, int, int]
"""Changes in this session, changes by others, newest change of the office's files."""


@dataclass(frozen=True, slots=True)
class Ready:
    """The first season that can be looked at."""

    state: State
    """What ``state_of`` said before it was read; where it says another thing now, the season is too old."""
    key: tuple[str, str]
    """Block and species."""
    picture: Picture
    """What there is to see."""


def state_of(session: Session) -> State:
    """State of all that a season is read from; cheap enough to ask on every key."""
    version = session.conn.execute("PRAGMA data_version").fetchone()[0]
    office = max((path.stat().st_mtime_ns for path in session.folder.glob("*.toml")), default=0)
    return session.changes, version, office
