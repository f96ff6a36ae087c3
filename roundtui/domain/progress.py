"""A round under way: whose turn it is, and how far it has come."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from roundtui.domain.farm import Programme
from roundtui.domain.rounds import RoundState
from roundtui.domain.visits import NoReading, Visit

_UNREAD = (NoReading.SKIPPED, NoReading.CLOSED, NoReading.OTHER)


def traps_to_walk(programme: Programme, route: str, on: date) -> tuple[str, ...]:
    """Traps of a route that can be read on a day, in walking order.

    Args:
        programme: What is set up.
        route: Name of the route.
        on: The day.

    Returns:
        Labels of those that hang on the day and did so the night before.
    """
    labels = []
    for label in dict.fromkeys(programme.routes.get(route, ())):
        hanging = programme.hanging(label, on)
        if hanging is not None and (hanging.hung_on is None or hanging.hung_on < on):
            labels.append(label)
    return tuple(labels)


def next_trap(state: RoundState, after: str | None) -> str | None:
    """The trap to ask for.

    Args:
        state: How far the round has come.
        after: Trap recorded last; None: from the start.

    Returns:
        The next one left on the way; past the end the first one that was passed over; None when the round is done.
    """
    left = state.left
    if after is None or after not in state.traps:
        return left[0] if left else None
    place = state.traps.index(after)
    ahead = [trap for trap in state.traps[place + 1 :] if trap not in state.done]
    return ahead[0] if ahead else (left[0] if left else None)


def neighbour(state: RoundState, trap: str | None, step: int) -> str | None:
    """The trap before or after another in walking order; None past the ends.

    Args:
        state: The round.
        trap: Where one stands; None: past the last trap.
        step: -1 for the one before, 1 for the one after.
    """
    place = len(state.traps) if trap is None else state.traps.index(trap)
    at = place + step
    return state.traps[at] if 0 <= at < len(state.traps) else None


def last_recorded(state: RoundState, before: Visit | None = None) -> Visit | None:
    """The entry of a round recorded last.

    Args:
        state: The round.
        before: Only entries recorded before this one; None: all.
    """
    entries = sorted(state.done.values(), key=lambda visit: (str(visit.recorded_at or ""), visit.id))
    if before is not None:
        entries = [
            visit for visit in entries if (str(visit.recorded_at), visit.id) < (str(before.recorded_at), before.id)
        ]
    return entries[-1] if entries else None


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a round has come, for a line that is always in sight."""

    place: int
    """Place of the trap in the route, from 1."""
    total: int
    """Traps to walk."""
    unread: int
    """Traps passed so far without a count: passed over, skipped, closed, other."""
    found: tuple[tuple[str, int], ...]
    """How many were found missing, down, damaged; those that are none are left out."""
    left: tuple[str, ...]
    """Labels without an entry yet."""

    def __str__(self) -> str:
        words = [f"{self.place} of {self.total}", f"{self.unread} unread"]
        return ", ".join([*words, *(f"{number} {reason}" for reason, number in self.found)])


def progress(state: RoundState, trap: str | None) -> Progress:
    """How far a round has come when a trap is asked for.

    Args:
        state: The round.
        trap: The trap; None: past the last.
    """
    place = len(state.traps) if trap is None else state.traps.index(trap) + 1
    passed = state.traps if trap is None else state.traps[: place - 1]
    entries = [state.done.get(label) for label in passed]
    reasons = [visit.no_reading for visit in state.done.values()]
    return Progress(
        place=place,
        total=len(state.traps),
        unread=sum(1 for visit in entries if visit is None or visit.no_reading in _UNREAD),
        found=tuple((reason.value, reasons.count(reason)) for reason in _FOUND if reason in reasons),
        left=state.left,
    )


_FOUND = (NoReading.MISSING, NoReading.DOWN, NoReading.DAMAGED)
