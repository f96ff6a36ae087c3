"""Rules, models and letterheads that are invented: nobody may judge an orchard by them, or sign with them, unnamed."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable

from roundtui.domain.figures.rules import Office
from roundtui.domain.publication import LettersOffice
from roundtui.domain.season.models import SeasonOffice
from roundtui.domain.text import sanitize
from roundtui.store.record.read import setting

DEMO = "demo"
"""Setting of a scratch copy of the sample: there everything is invented, and says so."""
_MARKS = ("invented", "made up", "made-up", "sample office")
_SHOWN = 40


def invented(
    conn: sqlite3.Connection,
    office: Office | None,
    season: SeasonOffice | None,
    letters: LettersOffice | None = None,
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
            f"the {what} {sanitize(text, _SHOWN)}"
            for what, text in (("letterhead", letters.name), ("area", letters.area))
            if _is_invented(text)
        ]
    return tuple(found)


def _named(what: str, sources: Iterable[tuple[str, str]]) -> list[str]:
    return [f"the {what} {sanitize(id_, _SHOWN)}" for id_, source in sources if _is_invented(source)]


def _is_invented(text: str) -> bool:
    return any(mark in text.casefold() for mark in _MARKS)
