"""All keys by place, and the page of them for the manual: ``python -m roundtui.app.keys.page > docs/keys.md``."""

from __future__ import annotations

import sys

from roundtui.app.keys import Action
from roundtui.app.keys.desk import APP, BRING, CONFLICTS, DESK, LETTERS, REPLAY, SET_UP_ROWS, SUMMARY
from roundtui.app.keys.round import DOUBLE_ENTRY, SAMPLES, SHEET, VIALS, WALK
from roundtui.app.keys.season import ASSEMBLY, PLAN, REGISTER, ROW_HISTORY, SEASON, SEASON_CLOSE, YEARS

PLACES: tuple[tuple[str, tuple[Action, ...]], ...] = (
    ("In a round", WALK),
    ("At the desk", DESK),
    ("In the summary", SUMMARY),
    ("At the letters", LETTERS),
    ("In a replay", REPLAY),
    ("At open conflicts", CONFLICTS),
    ("At a leaf and fruit check", SAMPLES),
    ("At the vials", VIALS),
    ("At set-up rows that differ", SET_UP_ROWS),
    ("Assembling traps", ASSEMBLY),
    ("At the close of a season", SEASON_CLOSE),
    ("Bringing a table", BRING),
    ("In the register", REGISTER),
    ("In the history of a row", ROW_HISTORY),
    ("In the season", SEASON),
    ("At the plan", PLAN),
    ("Year against year", YEARS),
    ("On a tally sheet", SHEET),
    ("In double entry", DOUBLE_ENTRY),
    ("Everywhere", APP),
)
"""All keys, by the place they work in."""
HEAD = """# Keys

Everything works without a mouse. In the count field only digits are text, so every letter acts without leaving it, in
either case. One Enter records the trap with all its flags: `4`, `0`, `4o12lr` and `xml` are whole entries.

This page is made from `roundtui/app/keys/`.
"""
TAIL = """
Terminals differ. Keys of the number pad may arrive under names of their own; they act the same. With NumLock off the
pad sends home, end, insert and arrows: the field says so, and Enter right after a bare Up or Down neither records nor
moves. Alt and a letter is Escape, then the letter. Enter within 300 ms of opening a round is dropped, and says so.
"""


def keys_page() -> str:
    """The page, as Markdown."""
    parts = [HEAD]
    for title, actions in PLACES:
        rows = [
            f"| `{action.name}` | {f'`{action.pad}`' if action.pad else ''} | {action.help} |" for action in actions
        ]
        parts.append("\n".join([f"\n## {title}\n", "| key | number pad | does |", "| --- | --- | --- |", *rows, ""]))
    return "".join(parts) + TAIL


if __name__ == "__main__":
    sys.stdout.write(keys_page())
