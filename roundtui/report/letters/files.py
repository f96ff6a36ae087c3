"""Letters on disk: safe names, each file whole or not there at all, and a note in the store of what was written."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from roundtui.domain.plain import plain
from roundtui.errors import StoreError
from roundtui.report.letters.compose import compose
from roundtui.report.letters.forms import letter_html, letter_mail
from roundtui.report.letters.letter import Letter, digest
from roundtui.report.letters.mail import eml, is_address
from roundtui.store.letters import Written, letters_written, note_written

if TYPE_CHECKING:
    from roundtui.report.letters.material import Material
    from roundtui.report.letters.template import Templates

ENDINGS = (".html", ".txt", ".eml")
"""Files of each letter."""
_MOST_NAME = 40
Progress = Callable[[str, int, int], None]
"""Told after each letter: farm, how many are done, of how many."""


@dataclass(frozen=True, slots=True)
class LetterFiles:
    """A letter that was written."""

    farm: str
    """Code of the farm."""
    path: Path
    """Where, without an ending."""
    addressed: bool
    """Whether its mail has an address."""


def file_stems(farms: Iterable[str]) -> dict[str, str]:
    """A name for each farm's files that any disk takes, and that no two farms share.

    Args:
        farms: Codes of all farms that are set up, so that a name does not depend on who else gets a letter.
    """
    found: dict[str, str] = {}
    taken: set[str] = set()
    for farm in sorted(farms):
        safe = re.sub(r"[^A-Za-z0-9_-]+", "-", farm)[:_MOST_NAME].strip("-") or "farm"
        name, at = safe, 2
        while name.casefold() in taken:
            name, at = f"{safe}-{at}", at + 1
        taken.add(name.casefold())
        found[farm] = name
    return found


def write_letters(
    conn: sqlite3.Connection,
    material: Material,
    templates: Templates,
    to: Path,
    *,
    notes: Mapping[str, str],
    by: str,
    now: Callable[[], datetime],
    progress: Progress | None = None,
) -> Iterable[LetterFiles]:
    """Write letters one after the other; none is held once it is on disk.

    Args:
        conn: The store, in which each is noted as written.
        material: What the letters are made from.
        templates: Templates of the folder.
        to: Folder to write to; made where it is missing.
        notes: Codes of the farms, each with the covering note of its letter.
        by: Who writes.
        now: Gives the instant, with its time zone.
        progress: Told after each.

    Returns:
        Each letter as it is written.

    Raises:
        TemplateError: The office's template is faulty.
        StoreError: The folder cannot be written.
    """
    stems = file_stems(material.programme.farms)
    before = letters_written(conn, material.on)
    for at, (farm, note) in enumerate(notes.items(), 1):
        letter = compose(material, farm, note=note)
        earlier = before.get(farm, ())
        said = digest(letter)
        if earlier and earlier[-1].digest != said:
            letter = compose(material, farm, note=note, replaces=earlier[-1].at.date().isoformat())
        path = to / f"letter-{material.on.isoformat()}-{stems.get(farm) or file_stems([farm])[farm]}"
        write_letter(letter, templates, path, now())
        note_written(conn, Written(farm, material.on, now(), by, said, str(path)))
        if progress is not None:
            progress(farm, at, len(notes))
        yield LetterFiles(farm, path, is_address(letter.email))


def write_letter(letter: Letter, templates: Templates, path: Path, now: datetime) -> None:
    """Write the three files of a letter.

    Args:
        letter: The letter.
        templates: Templates of the folder.
        path: Where, without an ending.
        now: Instant of writing.
    """
    page = letter_html(letter, templates)
    mail = letter_mail(letter, templates)
    contents = dict(zip(ENDINGS, (page.encode(), mail.text.encode(), eml(mail, now)), strict=True))
    for ending, content in contents.items():
        put(path.with_name(path.name + ending), content)


def put(path: Path, content: bytes) -> None:
    """Write a file so that it is there whole, or as it was before.

    Args:
        path: The file; its folder is made where it is missing.
        content: What it shall hold.

    Raises:
        StoreError: It cannot be written.
    """
    part = path.with_name(f".{path.name}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        part.write_bytes(content)
        part.replace(path)
    except OSError as error:
        raise StoreError(
            f"{plain(str(path), 200)} cannot be written: {error.strerror}", "make room, or name another folder"
        ) from error
