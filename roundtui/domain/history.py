"""What a summary needs of the record: the present entries, and no more of the past than can matter."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TYPE_CHECKING

from roundtui.domain.visits import StageSeen, Told, Visit

if TYPE_CHECKING:
    from roundtui.domain.kit.entries import Assembled, PartNoted

REACH_DAYS = 70
"""Days before the summary that are always looked at, so that a season's first weeks are judged like all others."""


@dataclass(frozen=True)
class History:
    """Present entries up to a day. Entries that a correction replaced, or that were taken back, are not in it."""

    visits: Mapping[str, Sequence[Visit]] = field(default_factory=dict)
    """Per trap, in order, the visits since ``first_day_needed`` and those before it back to the last clean restart: a
    visit that counted and cleared, replaced liner or body, or found the trap missing, down or damaged."""
    scent: Sequence[Visit] = ()
    """Over all years, those after the day too, the visits that touch lure or body, or found a lure, of every trap that
    may be in trouble: what is found later was so before."""
    assembled: Sequence[Assembled] = ()
    """Over all years, how the traps that may be in trouble were made up."""
    bodies: Sequence[PartNoted] = ()
    """Over all years, what was noted of the used bodies of those traps."""
    past: Mapping[str, Sequence[Visit]] = field(default_factory=dict)
    """Per trap, up to twelve counts older than ``visits``, oldest first."""
    stages: Mapping[str, StageSeen] = field(default_factory=dict)
    """Per block, the stage seen last in the season."""
    stage_log: Mapping[str, Sequence[StageSeen]] = field(default_factory=dict)
    """Per block, the stages seen in the season, oldest first."""
    told: Sequence[Told] = ()
    """Growers told in the season."""
    last_service: Mapping[str, Mapping[str, Visit]] = field(default_factory=dict)
    """Per trap and item (lure, liner, kill-strip, body), the newest visit of its present hanging that replaced it; as
    ``lot``, the newest one that named a lot of the trap's own species."""


def season_start(on: date, starts_on: tuple[int, int]) -> date:
    """First day of the season that a day belongs to.

    Args:
        on: The day.
        starts_on: Month and day on which seasons start.

    Returns:
        The newest start that is not after ``on``.
    """
    month, day = starts_on
    start = date(on.year, month, day)
    return start if start <= on else date(on.year - 1, month, day)


def season_last(on: date, starts_on: tuple[int, int]) -> date:
    """Last day of the season that a day belongs to.

    Args:
        on: The day.
        starts_on: Month and day on which seasons start.
    """
    return season_start(season_start(on, starts_on) + timedelta(days=366), starts_on) - timedelta(days=1)


def first_day_needed(on: date, starts_on: tuple[int, int]) -> date:
    """Day from which every visit is needed for the summary of a day.

    Early in a season the window, the figure before and the running weeks reach into the season before.
    """
    return min(season_start(on, starts_on), on - timedelta(days=REACH_DAYS))
