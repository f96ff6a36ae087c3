"""What ``tests/cli/messages.md`` says of bundles that are refused."""

from __future__ import annotations

import re
from pathlib import Path

PAGE = (Path(__file__).parents[1] / "cli" / "messages.md").read_text(encoding="utf-8")


def _words() -> dict[str, re.Pattern[str]]:
    section = PAGE.split("\n## Bundles\n", 1)[1].split("\n## ", 1)[0]
    rows = [line.strip("| ").split(" | ") for line in section.splitlines() if line.startswith("| ")][2:]
    return {what.strip(): re.compile(re.escape(said.strip()).replace("…", ".+")) for what, said in rows}


WORDS = _words()
"""The message for each kind of bad bundle; … stands for what differs from one to the next."""
