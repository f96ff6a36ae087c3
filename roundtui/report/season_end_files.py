"""A season's end written to disk: each report as text, page and JSON."""

from __future__ import annotations

import json
from collections.abc import Iterable
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from roundtui.report.season_end import season_end_html, season_end_text
from roundtui.report.years_json import season_end_json
from roundtui.store.whole_file import write_whole

if TYPE_CHECKING:
    from roundtui.domain.farm import Programme
    from roundtui.domain.season_end import SeasonEnd
    from roundtui.report.letters.template import Templates


def write_season_ends(ends: Iterable[SeasonEnd], programme: Programme, templates: Templates, to: Path) -> str:
    """Write reports, each whole or not at all.

    Args:
        ends: The programme's, and those of farms.
        programme: For names.
        templates: The office's templates, and those that ship.
        to: Folder to write into.

    Returns:
        How many there are, in a few words.

    Raises:
        RoundtuiError: A template is faulty, or a file cannot be written.
    """
    done = 0
    for end in ends:
        name = _stem(end)
        write_whole(to / f"{name}.txt", season_end_text(end, programme, templates))
        write_whole(to / f"{name}.html", season_end_html(end, programme, templates))
        write_whole(to / f"{name}.json", json.dumps(season_end_json(end), indent=2) + "\n")
        done += 1
    return f"{done} {'report' if done == 1 else 'reports'}, each as text, page and JSON"


def _stem(end: SeasonEnd) -> str:
    """Name of a report's files; a code that no file can be named after keeps its letters and digits."""
    code = "".join(char if char.isascii() and (char.isalnum() or char in "-_") else "_" for char in end.farm)
    if code != end.farm:
        code = f"{code[:40]}-{sha256(end.farm.encode()).hexdigest()[:8]}"
    return f"season-{end.season}-{code or 'programme'}"
