"""What the Letters screen asks of the area update: what it would say, and writing it. Made as the command makes it."""

from __future__ import annotations

from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from roundtui.domain.plain import plain

if TYPE_CHECKING:
    import sqlite3

    from roundtui.app.session import Session
    from roundtui.report.letters.area_record import Area
    from roundtui.report.letters.template import Templates
    from roundtui.report.letters.update import AreaUpdate

FOLDER = "updates"
"""Folder inside the scouting folder in which the app writes updates, apart from what is for one grower alone."""


@dataclass(frozen=True, slots=True)
class AreaText:
    """The update as it would be written now."""

    week: str
    """Last day of its week."""
    text: str
    """What the public would read."""
    before: tuple[str, ...]
    """What the coordinator should look at before it goes out; no part of it."""


class AreaDesk:
    """Reads and writes the area update of a session's day. Both are meant for threads.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self.to: Path = session.folder / FOLDER

    def read(self) -> AreaText:
        """The update as it would be written now. Nothing is kept.

        Raises:
            RoundtuiError: The store, a template or a file of the office cannot be used, or no week is over.
        """
        from roundtui.store.connect import open_store

        with closing(open_store(self.session.folder, now=self.session.clock())) as conn:
            area, update, templates = self._made(conn)
            return _text(area, update, templates)

    def write(self, seen: AreaText) -> AreaText | tuple[Path, ...]:
        """Write the update that was looked at; its figures are kept first, as published.

        Args:
            seen: What was shown. Published figures stay, so nothing else than this may go out.

        Returns:
            The files; or the update as it would be now, where the record has changed since it was shown.

        Raises:
            RoundtuiError: As ``read``, or store or folder cannot be written.
        """
        from roundtui.report.letters.update_files import write_update
        from roundtui.store.connect import open_store

        with closing(open_store(self.session.folder, now=self.session.clock())) as conn:
            area, update, templates = self._made(conn)
            now = _text(area, update, templates)
            return now if now != seen else write_update(conn, area, update, templates, self.to)

    def _made(self, conn: sqlite3.Connection) -> tuple[Area, AreaUpdate, Templates]:
        from roundtui.report.letters.area_record import read_area
        from roundtui.report.letters.template import Templates
        from roundtui.report.letters.update import compose_update

        session = self.session
        area = read_area(conn, session.folder, session.on, session.office)
        return area, compose_update(area), Templates(session.folder)


def _text(area: Area, update: AreaUpdate, templates: Templates) -> AreaText:
    from roundtui.report.letters.update_files import update_text

    before = []
    if area.missing:
        farms = ", ".join(plain(farm, 40) for farm in area.missing)
        before.append(f"not read: {farms}; once published, the week stays without them")
    before += [plain(words, 200) for words in area.questions]
    return AreaText(area.cells.newest.isoformat(), update_text(update, templates), tuple(before))
