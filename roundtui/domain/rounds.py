"""A round of a route: which traps are done, and which are still to read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from roundtui.domain.visits import Visit

OPEN_DAYS = 6
"""Days after its first entry on which a round can be gone on with. [d]"""

SECOND_LOOK_DAYS = 2
"""A trap done already and read again within so many days was looked at twice in one round. [d]"""


@dataclass(frozen=True, slots=True)
class RoundState:
    """How far a round has come."""

    traps: tuple[str, ...]
    """Labels of the traps to walk, in order."""
    started_on: date | None
    """Day of its first entry; None where it has not begun."""
    done: Mapping[str, Visit]
    """Newest visit with a count or a reason, per trap that is done."""

    @property
    def left(self) -> tuple[str, ...]:
        """Labels still to read, in the order of walking."""
        return tuple(trap for trap in self.traps if trap not in self.done)

    @property
    def complete(self) -> bool:
        """Whether every trap has a count or a reason."""
        return bool(self.traps) and not self.left

    @property
    def counted(self) -> int:
        """Traps with a count."""
        return sum(1 for visit in self.done.values() if visit.count is not None)


def current_round(traps: Sequence[str], visits: Mapping[str, Sequence[Visit]], on: date) -> RoundState:
    """The round of a route that is under way on a day, or that was finished last; else a new one.

    A round begins with its first entry and stays open for six days, until each trap has a count or a reason. An entry
    for a trap that is done already begins the next round, unless it is a second look within two days; and so does the
    first entry after the six days or after a round was finished.

    Args:
        traps: Labels of the route in walking order, those that hang.
        visits: Present visits per trap; those after ``on`` are passed over.
        on: The day.

    Returns:
        A round with entries where one began at most six days before ``on``; it may be complete. Else one not begun.
    """
    wanted = frozenset(traps)
    since = on - timedelta(days=2 * OPEN_DAYS + 1)
    entries = sorted(
        (
            visit
            for trap in wanted
            for visit in visits.get(trap, ())
            if since <= visit.read_on <= on
            and not visit.recount
            and (visit.count is not None or visit.no_reading is not None)
        ),
        key=lambda visit: visit.order,
    )
    started: date | None = None
    done: dict[str, Visit] = {}
    for visit in entries:
        seen = done.get(visit.trap)
        again = seen is not None and (visit.read_on - seen.read_on).days > SECOND_LOOK_DAYS
        if started is None or again or len(done) == len(wanted) or (visit.read_on - started).days > OPEN_DAYS:
            if seen is not None and not again and started is not None:
                done[visit.trap] = visit
                continue
            # What was read earlier on the day on which the next round is seen to begin belongs to it too.
            started, done = (
                visit.read_on,
                {trap: one for trap, one in done.items() if again and one.read_on == visit.read_on},
            )
        done[visit.trap] = visit
    if started is None or (on - started).days > OPEN_DAYS:
        started, done = None, {}
    return RoundState(tuple(traps), started, done)
