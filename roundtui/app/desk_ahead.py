"""What the desk shows of the next ten days: biofixes that wait to be confirmed, and events that are expected."""

from __future__ import annotations

from collections.abc import Sequence

from roundtui.domain.plain import plain
from roundtui.domain.plan.season import PlanRow, PlanState
from roundtui.domain.season_view import BiofixRow, Coming
from roundtui.report.season_tables import coming_words
from roundtui.report.season_words import waiting

TITLE = "Next ten days; d shows them, none is an order to spray"
"""Stands above the lines."""


def ahead(coming: Sequence[Coming], biofixes: Sequence[BiofixRow], hanging: Sequence[str] = ()) -> tuple[str, ...]:
    """Lines of what is ahead.

    Args:
        coming: Events of the next days, the nearest first.
        biofixes: Biofixes of all blocks.
        hanging: Lines on traps that are to hang; see ``hanging_lines``.

    Returns:
        Traps to hang, a line on the biofixes that are only proposed, then a line for each event; nothing where there is
        none of them.
    """
    open_rows = waiting(biofixes)
    where = dict.fromkeys(f"{plain(row.block, 12)} {row.species}" for row in open_rows)
    first = [f"Biofix to confirm ({len(open_rows)}): {', '.join(where)}"] if open_rows else []
    return (*hanging, *first, *(coming_words(one) for one in coming))


def hanging_lines(rows: Sequence[PlanRow]) -> tuple[str, ...]:
    """Blocks whose traps are overdue to hang, or due within two weeks, a line each kind.

    Args:
        rows: Rows of a plan, by urgency.
    """
    lines = []
    for state, words in ((PlanState.OVERDUE, "! Traps overdue to hang"), (PlanState.SOON, "Traps to hang soon")):
        named = [row for row in rows if row.state is state and row.hang_by is not None]
        if named:
            where = ", ".join(f"{plain(row.block, 12)} {plain(row.species, 5)} {row.hang_by:%m-%d}" for row in named)
            lines.append(f"{words} ({len(named)}), n shows the plan: {where}")
    return tuple(lines)


def ahead_text(lines: Sequence[str], width: int, height: int) -> str:
    """As many of the lines as have room."""
    shown = list(lines[:height])
    if len(lines) > height:
        shown = [*lines[: height - 1], f"and {len(lines) - height + 1} more"]
    return "\n".join(plain(line, width) for line in shown)
