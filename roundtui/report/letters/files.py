"""Letters on disk: safe names, each file whole or not there at all, and a note in the store of what was written.

Letters that were written and that a change of the record makes out of date.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

from roundtui.domain.figures.history import season_last
from roundtui.domain.figures.rules import Office
from roundtui.report.letters.compose import changes_since, compose, said_in
from roundtui.report.letters.letter import Letter, digest
from roundtui.report.letters.mail import eml
from roundtui.report.letters.material import Material, read_material
from roundtui.report.letters.template import Templates, letter_html, letter_mail
from roundtui.report.text import Names, as_name
from roundtui.store.connect import go_on
from roundtui.store.files import write_whole
from roundtui.store.record.read import programme
from roundtui.store.reports import Written, letters_written, note_written
from roundtui.store.round.changes import preview

ENDINGS = (".html", ".txt", ".eml")
"""Files of each letter."""
_MOST_NAME = 40


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


def letter_path(to: Path, material: Material, farm: str) -> Path:
    """Where the files of a farm's letter are, without an ending.

    Args:
        to: Folder of the letters.
        material: What the letters are made from.
        farm: Code of the farm.
    """
    return to / f"letter-{material.on.isoformat()}-{file_stems({*material.programme.farms, farm})[farm]}"


def write_letters(
    conn: sqlite3.Connection,
    material: Material,
    templates: Templates,
    to: Path,
    *,
    notes: Mapping[str, str],
    by: str,
    now: Callable[[], datetime],
) -> Iterator[tuple[Path, Letter]]:
    """Write letters one after the other; none is held once it is on disk.

    Args:
        conn: The store, in which each is noted as written.
        material: What the letters are made from.
        templates: Templates of the folder.
        to: Folder to write to; made where it is missing.
        notes: Codes of the farms, each with the covering note of its letter.
        by: Who writes.
        now: Gives the instant, with its time zone.

    Returns:
        Each letter as it is written, and where, without an ending.

    Raises:
        TemplateError: The office's template is faulty.
        StoreError: The folder cannot be written.
    """
    before = letters_written(conn, material.on)
    for farm, note in notes.items():
        last = before[farm][-1] if farm in before else None
        rests_on = material.as_told(last.sure) if last else material
        letter = compose(rests_on, farm, note=note)
        said = digest(letter)
        if last and last.digest != said:
            # Something else changed: the new letter is as sure as the record is now.
            rests_on = material
            letter = compose(rests_on, farm, note=note)
            said = digest(letter)
        if last and last.digest != said:
            letter = compose(rests_on, farm, note=note, replaces=last.at.date().isoformat())
            # A letter written before letters kept what they said has nothing to be held against.
            if last.said:
                letter = replace(letter, changed=changes_since(last.said, letter))
        path, mail = letter_path(to, material, farm), letter_mail(letter, templates)
        pages: tuple[str | bytes, ...] = (letter_html(letter, templates), mail.text, eml(mail, now()))
        for ending, page in zip(ENDINGS, pages, strict=True):
            write_whole(path.with_name(path.name + ending), page)
        note_written(
            conn, Written(farm, material.on, now(), by, said, str(path), said_in(letter), rests_on.sure_of(farm))
        )
        yield path, letter


MOST_DAYS = 40
"""Days, the newest first, whose letters are held against the record: each takes about as long as two summaries, and a
season of weekly letters has fewer."""


def letters_outdated(
    conn: sqlite3.Connection,
    folder: Path,
    office: Office,
    change: Callable[[], object],
    *,
    farms: Collection[str],
    since: date,
    on: date,
) -> tuple[tuple[Written, bool], ...]:
    """Letters that a change of the record makes out of date; nothing is recorded.

    Args:
        conn: The store.
        folder: The scouting folder.
        office: Rules, and when the season starts.
        change: Writes through ``conn``.
        farms: Codes of the farms it is about.
        since: First day it is about.
        on: Last day whose letters are looked at; those of a later season than ``since`` are not.

    Returns:
        For each farm and day the letter written last, where it no longer holds after the change, the newest first, and
        whether it had still held before.

    Raises:
        RoundtuiError: The change would be refused, or a file of the office cannot be used.
    """
    found = letters_written(conn, min(on, season_last(since, office.season_starts_on)), since)
    last = {(one.farm, one.round_on): one for farm in farms for one in found.get(farm, ())}
    days = sorted({day for _, day in last}, reverse=True)[:MOST_DAYS]
    if not days:
        return ()

    def digests() -> dict[tuple[str, date], str]:
        materials = {}
        for at, day in enumerate(days, 1):
            go_on(f"letters of {at} of {len(days)} days")
            materials[day] = read_material(conn, folder, day, office, farms=farms)
        return {
            (farm, day): digest(compose(materials[day].as_told(one.sure), farm))
            for (farm, day), one in last.items()
            if day in materials and farm in materials[day].farms
        }

    before, after = preview(conn, change, digests)
    return tuple(
        (last[key], before.get(key) == last[key].digest)
        for key in sorted(after, key=lambda key: (-key[1].toordinal(), key[0]))
        if after[key] != last[key].digest
    )


def outdated_words(conn: sqlite3.Connection, letters: Collection[tuple[Written, bool]]) -> tuple[str, ...]:
    """A sentence for each letter that no longer holds.

    Args:
        conn: The store, for the farms' names.
        letters: As ``letters_outdated`` has them.
    """
    names = Names(programme(conn)) if letters else None
    return tuple(
        f"{as_name(names.farm(one.farm))}, {one.round_on}: the letter written on {one.at:%Y-%m-%d} "
        f"{'is out of date with this' if held else 'was out of date before'}; write it again"
        for one, held in letters
        if names is not None
    )
