"""What a trap was made up with before it was hung is what it hangs with, where its row in the register does not say."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

from roundtui.domain.farm import Trap

if TYPE_CHECKING:
    from roundtui.domain.kit.entries import Assembled

PARTS = ("body_label", "funnel_label", "lid_label")
"""Fields of a hanging, and of a trap made up, that name its parts."""
_LONG_AGO = datetime.min.replace(tzinfo=UTC)


def in_order(one: Assembled) -> tuple[date, datetime, str]:
    """Sort key of traps made up: by day, then as recorded.

    Args:
        one: A trap made up.
    """
    return one.assembled_on, one.recorded_at or _LONG_AGO, one.id


def hung_with(rows: Iterable[Trap], assembled: Iterable[Assembled]) -> tuple[Trap, ...]:
    """Hangings with the parts and the lot that they were made up with.

    A trap made up is taken by its next hanging, on that day or later; where it was made up more than once, the newest
    holds. What the row itself says is kept.

    Args:
        rows: Every hanging of each trap, in any order.
        assembled: Present entries of traps made up, in any order.

    Returns:
        The hangings in their order.
    """
    known = list(rows)
    begins: dict[str, list[date]] = {}
    for row in known:
        if row.hung_on is not None:
            begins.setdefault(row.trap, []).append(row.hung_on)
    taken: dict[tuple[str, date], Assembled] = {}
    for one in sorted(assembled, key=in_order):
        after = [hung_on for hung_on in begins.get(one.trap, ()) if hung_on >= one.assembled_on]
        if after:
            taken[one.trap, min(after)] = one
    return tuple(fill(row, taken.get((row.trap, row.hung_on)) if row.hung_on else None) for row in known)


def fill(row: Trap, one: Assembled | None) -> Trap:
    """A hanging with what it was made up with, where the row does not say.

    Args:
        row: The hanging.
        one: How it was made up; None: nobody wrote it down.
    """
    if one is None:
        return row
    own = {name: getattr(row, name) or getattr(one, name) for name in (*PARTS, "lot")}
    return replace(row, **own)
