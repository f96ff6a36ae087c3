"""What the desk shows of the next ten days: biofixes that wait to be confirmed, and events that are expected."""

from __future__ import annotations

from collections.abc import Sequence

from roundtui.domain.plain import plain
from roundtui.domain.season_view import BiofixRow, Coming
from roundtui.report.season_tables import coming_words
from roundtui.report.season_words import waiting

TITLE = "Next ten days; d shows them, none is an order to spray"
"""Stands above the lines."""


def ahead(coming: Sequence[Coming], biofixes: Sequence[BiofixRow]) -> tuple[str, ...]:
    """Lines of what is ahead.

    Args:
        coming: Events of the next days, the nearest first.
        biofixes: Biofixes of all blocks.

    Returns:
        A line on the biofixes that are only proposed, then a line for each event; nothing where there is neither.
    """
    open_rows = waiting(biofixes)
    where = dict.fromkeys(f"{plain(row.block, 12)} {row.species}" for row in open_rows)
    first = [f"Biofix to confirm ({len(open_rows)}): {', '.join(where)}"] if open_rows else []
    return (*first, *(coming_words(one) for one in coming))


def ahead_text(lines: Sequence[str], width: int, height: int) -> str:
    """As many of the lines as have room."""
    shown = list(lines[:height])
    if len(lines) > height:
        shown = [*lines[: height - 1], f"and {len(lines) - height + 1} more"]
    return "\n".join(plain(line, width) for line in shown)
