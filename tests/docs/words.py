"""How many words the pages have, generated pages and tables of sources apart.

python -m tests.docs.words          # prints the words of each page
"""

from __future__ import annotations

import re
from pathlib import Path

from tests.docs.pages import DOCS

ROOT = DOCS.parent
PAGES = (ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted(DOCS.glob("*.md")))
MOST = 30_000
"""Limit of all pages together."""
MADE = re.compile(r"^(?:Made from|Made by|.* Made by `python)|This page is made from", re.MULTILINE)
"""A page that a script writes whole says so at its head."""


def words(page: Path) -> int:
    """Words that a person wrote on a page and a person has to read."""
    text = page.read_text(encoding="utf-8")
    if MADE.search(text[:800]):
        return 0
    text = re.sub(r"<!-- (\w+): made by .*?<!-- \1: end -->", "", text, flags=re.DOTALL)
    text = re.sub(r"^## The tables\n.*", "", text, flags=re.DOTALL | re.MULTILINE)
    lines = []
    in_sources = False
    for line in text.splitlines():
        if not line.startswith("|"):
            in_sources = False
        elif re.search(r"\| source \|$", line):
            in_sources = True
        if not in_sources:
            lines.append(line)
    return len(re.sub(r"[|`]|-{3,}", " ", "\n".join(lines)).split())


if __name__ == "__main__":
    counted = {page.name: words(page) for page in PAGES}
    for name, number in counted.items():
        print(f"{number:6,} {name}")
    print(f"{sum(counted.values()):6,} of at most {MOST:,}")
