"""Parts of the pages that other tests follow."""

from __future__ import annotations

from pathlib import Path

DOCS = Path(__file__).parents[2] / "docs"


def tutorial(number: int) -> str:
    """One of the tutorials, from its heading to the next one's."""
    page = (DOCS / "tutorial.md").read_text(encoding="utf-8")
    return page.split(f"\n## {number}. ", 1)[1].split("\n## ", 1)[0]
