"""The page of all keys for the manual: ``python -m tests.docs.keys_page > docs/keys.md``."""

from __future__ import annotations

import sys

from roundtui.app.keys import every_place

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
    for title, actions in every_place():
        rows = [
            f"| `{action.name}` | {f'`{action.pad}`' if action.pad else ''} | {action.help} |" for action in actions
        ]
        parts.append("\n".join([f"\n## {title}\n", "| key | number pad | does |", "| --- | --- | --- |", *rows, ""]))
    return "".join(parts) + TAIL


if __name__ == "__main__":
    sys.stdout.write(keys_page())
