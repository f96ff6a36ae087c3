"""Rules, models and letterheads that are invented: nobody may judge an orchard by them, or sign with them, unnamed."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Collection, Iterable
from pathlib import Path
from typing import Any

from roundtui.domain.figures.rules import Office
from roundtui.domain.publication import LettersOffice
from roundtui.domain.season.models import SeasonOffice
from roundtui.domain.text import SHOWN, sanitize
from roundtui.errors import ProblemsError
from roundtui.store.office import read_office
from roundtui.store.record.read import setting
from roundtui.store.reports import read_letters_office
from roundtui.store.season.season import read_season_office

DEMO = "demo"
"""Setting of a scratch copy of the sample: there everything is invented, and says so."""
_MARKS = ("invented", "made up", "made-up", "sample office")


def invented(
    conn: sqlite3.Connection, office: Office | None, season: SeasonOffice | None, letters: LettersOffice | None = None
) -> tuple[str, ...]:
    """What of an office's files is invented, by its own words or since it came with the sample.

    Args:
        conn: The store.
        office: Its rules; None: not looked at.
        season: Its models and biofix rules; None: not looked at.
        letters: Who signs; None: not looked at.

    Returns:
        A name for each, as "the rule cm-late"; nothing in the demo.
    """
    if setting(conn, DEMO):
        return ()
    found: list[str] = []
    if office is not None:
        found += _named("rule", ((rule.id, rule.source) for rule in office.rules if rule.office))
    if season is not None:
        found += _named("model", ((model.id, model.source) for model in season.models if model.office))
        found += _named("biofix rule", ((rule.id, rule.source) for rule in season.biofix_rules if rule.office))
    if letters is not None:
        found += [
            f"the {what} {sanitize(text, SHOWN)}"
            for what, text in (("letterhead", letters.name), ("area", letters.area))
            if _is_invented(text)
        ]
    return tuple(found)


def invented_in(
    conn: sqlite3.Connection,
    folder: Path,
    farms: Collection[str],
    refused: Callable[[ProblemsError], object] = lambda _: None,
) -> tuple[str, ...]:
    """The same of a folder; a file that cannot be used is passed over.

    Args:
        conn: The store.
        folder: The scouting folder.
        farms: Codes of its farms.
        refused: Is told of each file that cannot be used.
    """
    read: list[Any] = []
    for reader in (read_office, read_season_office, lambda place: read_letters_office(place, farms)):
        try:
            read.append(reader(folder))
        except ProblemsError as error:
            refused(error)
            read.append(None)
    return invented(conn, *read)


def _named(what: str, sources: Iterable[tuple[str, str]]) -> list[str]:
    return [f"the {what} {sanitize(id_, SHOWN)}" for id_, source in sources if _is_invented(source)]


def _is_invented(text: str) -> bool:
    return any(mark in text.casefold() for mark in _MARKS)
