"""The area update as a page and as a text, and on disk. What it says is kept before anybody can read it."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from roundtui.report.letters.files import put
from roundtui.report.letters.forms import inline
from roundtui.store.letters import keep_released

if TYPE_CHECKING:
    from roundtui.report.letters.area_record import Area
    from roundtui.report.letters.template import Templates
    from roundtui.report.letters.update import AreaUpdate


def update_html(update: AreaUpdate, templates: Templates) -> str:
    """An update as one page that needs nothing beside it.

    Args:
        update: The update.
        templates: Templates of the folder.
    """
    return templates.html("update.html", _values(update))


def update_text(update: AreaUpdate, templates: Templates) -> str:
    """An update as plain text.

    Args:
        update: The update.
        templates: Templates of the folder.
    """
    return templates.text("update.txt", _values(update))


def write_update(
    conn: sqlite3.Connection, area: Area, update: AreaUpdate, templates: Templates, to: Path
) -> tuple[Path, ...]:
    """Write an update for the public.

    Args:
        conn: The store, in which the released figures are kept.
        area: What it was made from.
        update: The update.
        templates: Templates of the folder.
        to: Folder to write to; made where it is missing.

    Returns:
        The files.

    Raises:
        TemplateError: The office's template is faulty; nothing is kept or written.
        StoreError: Store or folder cannot be written.
    """
    contents = {".html": update_html(update, templates), ".txt": update_text(update, templates)}
    keep_released(conn, area.season_first.year, area.cells.weekday, area.cells.cells.values())
    found = []
    for ending, content in contents.items():
        path = to / f"area-update-{area.cells.newest.isoformat()}{ending}"
        put(path, content.encode())
        found.append(path)
    return tuple(found)


def _values(update: AreaUpdate) -> Mapping[str, Any]:
    return {
        "update": update,
        "picture": inline,
        "curves": [one.curve for one in update.species if one.curve is not None],
    }
