"""A round under way: whose turn it is, how far it has come, and what a scout is told about a trap."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from roundtui.domain.exposure import Reading, readings
from roundtui.domain.farm import Programme, Trap
from roundtui.domain.rounds import RoundState
from roundtui.domain.unlikely import is_unlikely, usual
from roundtui.domain.visits import NONE, YES, NoReading, Visit

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


def remarkable(hanging: Trap, visits: Sequence[Visit], past: Sequence[Visit], visit: Visit) -> Fraction | None:
    """What a trap usually catches, if a count of it is unlikely.

    Args:
        hanging: The hanging.
        visits: Present visits of the trap in order, the one in question among them.
        past: Its counts before those.
        visit: The visit in question.

    Returns:
        Mean of its own past; None where the count is nothing to remark on. [moths/trap/week]
    """
    if visit.count is None:
        return None
    before = [Fraction(one.count) for one in past if one.count is not None]
    for reading in readings(hanging, visits):
        now = reading.per_week if reading.per_week is not None else Fraction(reading.count)
        if reading.entries[-1].id == visit.id:
            return usual(before) if is_unlikely(now, before) else None
        before.append(now)
    return None


def last_readings(hanging: Trap, visits: Sequence[Visit], on: date) -> tuple[tuple[Visit, Reading | None], ...]:
    """What was entered about a hanging up to a day, the newest first.

    Args:
        hanging: The hanging.
        visits: Present visits of the trap in order.
        on: The day.

    Returns:
        Each visit, with its reading where it has a count.
    """
    by_id = {visit.id: reading for reading in readings(hanging, visits) for visit in reading.entries}
    shown = [visit for visit in visits if visit.read_on <= on and hanging.hangs_on(visit.read_on)]
    return tuple((visit, by_id.get(visit.id)) for visit in reversed(shown))


def work_done(visit: Visit) -> tuple[str, ...]:
    """What a visit says beside the catch, in the words of the trade.

    Args:
        visit: The visit; labels and notes in the answer are as people wrote them.
    """
    words = []
    if visit.estimated:
        words.append("estimate")
    if not visit.cleared:
        words.append("left in")
    if visit.liner:
        words.append("liner")
    if visit.lure is not None:
        words.append({YES: "lure", NONE: "lure out, none in"}.get(visit.lure, f"lure {visit.lure}"))
    if visit.kill_strip:
        words.append("kill strip")
    if visit.body is not None:
        words.append("clean body" if visit.body == YES else f"body {visit.body}")
    if visit.others is not None:
        words.append(f"{visit.others} others")
    if visit.lure_found is not None:
        words.append("found without a lure" if visit.lure_found == NONE else f"found with lure {visit.lure_found}")
    if visit.recount:
        words.append("recount")
    if visit.note:
        words.append(f"“{visit.note}”")
    return tuple(words)


def catch(visit: Visit) -> str:
    """The count, or why there is none; empty where a visit says neither."""
    if visit.count is not None:
        return str(visit.count)
    return visit.no_reading.value if visit.no_reading is not None else ""


def in_words(visit: Visit) -> str:
    """A visit in one line, its trap and day left out."""
    return ", ".join(word for word in (catch(visit), *work_done(visit)) if word)
