"""A round of a route: which traps are done, and which are still to read.

A round under way: whose turn it is, and how far it has come.

The order in which farms are walked: those to be visited last, and blocks that nobody may enter yet.
What a new programme still lacks before its first round is due, one step after the other.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from zlib import crc32

from roundtui.domain.entries import NoReading, Visit
from roundtui.domain.programme.farm import Programme, natural_key
from roundtui.domain.records import Frozen
from roundtui.domain.text import sanitize

OPEN_DAYS = 6
"""Days after its first entry on which a round can be gone on with. [d]"""

AGAIN_DAYS = 2
"""A trap done already and read again within so many days was looked at twice in one round. [d]"""


class RoundState(Frozen):
    """How far a round has come."""

    traps: tuple[str, ...]
    """Labels of the traps to walk, in order."""
    started_on: date | None
    """Day of its first entry; None where it has not begun."""
    done: Mapping[str, Visit]
    """Newest visit with a count or a reason, per trap that is done."""
    later: frozenset[str] = frozenset()
    """Traps that the office's rhythm asks for on a later day only."""

    @property
    def left(self) -> tuple[str, ...]:
        """Labels still to read in the order of walking, those that are not due yet behind all others."""
        left = [trap for trap in self.traps if trap not in self.done]
        return tuple(sorted(left, key=self.later.__contains__))

    @property
    def counted(self) -> int:
        """Traps with a count."""
        return sum(1 for visit in self.done.values() if visit.count is not None)


def current_round(traps: Sequence[str], visits: Mapping[str, Sequence[Visit]], on: date) -> RoundState:
    """The round of a route that is under way on a day, or that was finished last; else a new one.

    A round begins with its first entry and stays open for six days, until each trap has a count or a reason. An entry
    for a trap that is done already begins the next round, unless it is a second sample within two days; and so does the
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
        again = seen is not None and (visit.read_on - seen.read_on).days > AGAIN_DAYS
        if started is None or again or len(done) == len(wanted) or (visit.read_on - started).days > OPEN_DAYS:
            if seen is not None and not again and started is not None:
                done[visit.trap] = visit
                continue
            # What was read earlier on the day on which the next round is seen to begin belongs to it too.
            started = visit.read_on
            done = {trap: one for trap, one in done.items() if again and one.read_on == started}
        done[visit.trap] = visit
    if started is None or (on - started).days > OPEN_DAYS:
        started, done = None, {}
    return RoundState(tuple(traps), started, done)


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
    due = [trap for trap in state.left if trap not in state.later] or list(state.left)
    place = state.traps.index(after) if after in state.traps else -1
    return next((trap for trap in due if state.traps.index(trap) > place), due[0] if due else None)


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


def last_recorded(state: RoundState, before: Visit | None = None, again: Iterable[Visit] = ()) -> Visit | None:
    """The entry of a round recorded last.

    Args:
        state: The round.
        before: Only entries recorded before this one; None: all.
        again: Recounts of the round, which make no trap done.
    """
    entries = sorted((*state.done.values(), *again), key=lambda visit: (str(visit.recorded_at or ""), visit.id))
    if before is not None:
        entries = [
            visit for visit in entries if (str(visit.recorded_at), visit.id) < (str(before.recorded_at), before.id)
        ]
    return entries[-1] if entries else None


class Progress(Frozen):
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
        found = ", ".join(f"{number} {reason}" for reason, number in self.found).replace(" ", " found ", 1)
        missed = f"{self.unread or 'none'} missed" if self.unread or not found else ""
        return ", ".join(filter(None, (f"{self.place} of {self.total}", missed, found)))


def progress(state: RoundState, trap: str | None) -> Progress:
    """How far a round has come when a trap is asked for.

    Args:
        state: The round.
        trap: The trap; None: past the last.
    """
    place = len(state.traps) if trap is None else state.traps.index(trap) + 1
    passed = state.traps if trap is None else state.traps[: place - 1]
    entries = [state.done.get(label) for label in passed if label in state.done or label not in state.later]
    reasons = [visit.no_reading for visit in state.done.values()]
    return Progress(
        place=place,
        total=len(state.traps),
        unread=sum(1 for visit in entries if visit is None or visit.no_reading in _UNREAD),
        found=tuple((reason.value, reasons.count(reason)) for reason in _FOUND if reason in reasons),
        left=state.left,
    )


_FOUND = (NoReading.MISSING, NoReading.DOWN, NoReading.DAMAGED)


class OutOfOrder(Frozen):
    """A farm to be visited last that a route has before another."""

    farm: str
    """Code of the farm to be visited last."""
    trap: str
    """Its first trap that comes too early."""
    before: str
    """Code of the farm that comes after it."""


def out_of_order(programme: Programme, traps: Sequence[str], on: date) -> OutOfOrder | None:
    """The first farm to be visited last that is walked before another.

    Args:
        programme: What is set up.
        traps: Traps in walking order.
        on: The day, for where each hangs.

    Returns:
        None where the order keeps such farms for the end.
    """
    early = ""
    farm = ""
    for trap in traps:
        here = _farm(programme, trap, on)
        known = programme.farms.get(here)
        if known is None:
            continue
        if known.visit_last:
            early, farm = (early, farm) if early else (trap, here)
        elif early:
            return OutOfOrder(farm, early, here)
    return None


def last_at_the_end(programme: Programme, traps: Sequence[str], on: date) -> tuple[str, ...]:
    """The same traps with those of farms to be visited last after all others; else the order is kept.

    Args:
        programme: What is set up.
        traps: Traps in walking order.
        on: The day, for where each hangs.
    """

    def is_last(trap: str) -> bool:
        known = programme.farms.get(_farm(programme, trap, on))
        return known is not None and known.visit_last

    return tuple(sorted(traps, key=is_last))


def closed_blocks(programme: Programme, traps: Sequence[str], on: date) -> tuple[tuple[str, date], ...]:
    """Blocks on the way that must not be entered yet, with the first day on which they may, as they are come to.

    Args:
        programme: What is set up.
        traps: Traps in walking order.
        on: The day.
    """
    found: dict[str, date] = {}
    for trap in traps:
        hanging = programme.hanging(trap, on)
        block = programme.blocks.get(hanging.block) if hanging else None
        if block is not None and block.no_entry_before is not None and block.no_entry_before > on:
            found.setdefault(block.block, block.no_entry_before)
    return tuple(found.items())


def way_lines(
    programme: Programme, ways: Mapping[str, tuple[Sequence[str], Sequence[str]]], on: date
) -> tuple[str, ...]:
    """What a scout has to know before setting out: blocks of the round that are closed, farms that belong at the end.

    Args:
        programme: What is set up.
        ways: Traps of each route in walking order, and those of them that are left.
        on: The day.

    Returns:
        A line for each, with its route; none where nothing of the kind is set up.
    """
    closed = any(block.no_entry_before and block.no_entry_before > on for block in programme.blocks.values())
    if not closed and not any(farm.visit_last for farm in programme.farms.values()):
        return ()

    lines = []
    for route, (traps, left) in ways.items():
        # A block whose traps are all read may be gone into again, for a sample or a lost lure: it stays named.
        blocks = closed_blocks(programme, traps, on)
        if blocks:
            named = ", ".join(f"{sanitize(block, 12)} before {first.isoformat()}" for block, first in blocks)
            lines.append(f"! {sanitize(route, 18)}: NO ENTRY into block {named}")
        early = out_of_order(programme, left, on)
        if early is not None:
            farm, other = (programme.farms[code].name for code in (early.farm, early.before))
            words = f"{sanitize(farm, 24)} should come last, and is before {sanitize(other, 24)}"
            lines.append(f"! {sanitize(route, 18)}: {words}")
    return tuple(lines)


def stop_words(programme: Programme, trap: str, *, moved: bool) -> str:
    """What is left to do about the stops of a trap that was hung or moved.

    Args:
        programme: What is set up, after it.
        trap: The trap.
        moved: Whether it hung in another block before.

    Returns:
        Empty where nothing is: a trap in no route is never walked to, one that was moved may be on the wrong way.
    """
    routes = [route for route, traps in programme.routes.items() if trap in traps]
    if not routes:
        return "it is in no route yet, so no round comes by it"
    return f"its place in route {', '.join(routes)} is as before" if moved else ""


def _farm(programme: Programme, trap: str, on: date) -> str:
    hanging = programme.hanging(trap, on)
    if hanging is None:
        rows = programme.hangings.get(trap, ())
        hanging = rows[-1] if rows else None
    return programme.farm_of(hanging.block) if hanging else ""


class Step(Frozen):
    """One thing to set up."""

    name: str
    """What it is, as farms."""
    have: int
    """How many there are."""
    file: str
    """Set-up file that it stands in."""
    words: str
    """What one of them is made of."""
    needed: bool = True
    """Whether no round is due without it; ``bring`` takes a table of such a thing, under its name."""

    @property
    def done(self) -> bool:
        """Whether there is any."""
        return self.have > 0


def steps(programme: Programme, rules: int) -> tuple[Step, ...]:
    """What is to be set up, in order.

    Args:
        programme: What is set up.
        rules: How many rules the office has of its own.

    Returns:
        Every step, those that are done too. Stations and rules may wait: degree-days come with the first, and the rules
        that ship judge until there are others.
    """
    farm, block = next(iter(programme.farms), "HF"), next(iter(programme.blocks), "N1")
    trap = next(iter(programme.hangings), "A1")
    stations, rules_file = "stations.csv", "thresholds.toml"
    return (
        Step("farms", len(programme.farms), "farms.csv", "a code and a name: HF, Hollow Farm"),
        Step("blocks", len(programme.blocks), "blocks.csv", f"a code, farm, name and crop: N1, {farm}, North, apple"),
        Step("stations", len(programme.stations), stations, "a code and a name: VALE, Vale", needed=False),
        Step(
            "traps",
            len(programme.hangings),
            "traps.csv",
            f"a label, its block, its species, the day it was hung: A1, {block}, CM, 2026-04-20",
        ),
        Step("routes", len(programme.routes), "routes.csv", f"a name, a place in the order, a trap: home, 1, {trap}"),
        Step("rules", rules, rules_file, "a threshold with its source; without, those that ship judge", False),
    )


def next_step(found: tuple[Step, ...]) -> Step | None:
    """The step to take now: the first that is not done and may not wait.

    Args:
        found: The steps.

    Returns:
        None where the first round is due.
    """
    return next((step for step in found if step.needed and not step.done), None)


ASKED_SHARE = 20
"""One trap in so many is counted a second time: a few in a hundred (common practice, no source)."""


def asked_in(route: str, state: RoundState, on: date) -> tuple[str, ...]:
    """Traps of a round that are asked for a second count.

    Args:
        route: Name of the route.
        state: How far the round has come.
        on: The day; the round's first day takes its place once it has begun, so that the choice stays.
    """
    return asked_again(state.traps, f"{route} {(state.started_on or on).isoformat()}")


def asked_again(traps: Iterable[str], seed: str) -> tuple[str, ...]:
    """Which traps of a round are to be counted a second time by somebody else: one in twenty, at least one.

    Args:
        traps: Labels of the round's traps.
        seed: What the choice hangs on, as route and day: the same seed always chooses the same traps.

    Returns:
        Their labels, none where there are no traps.
    """
    labels = list(dict.fromkeys(traps))
    drawn = sorted(labels, key=lambda label: _scattered(crc32(f"{seed}\n{label}".encode())))
    return tuple(sorted(drawn[: math.ceil(len(labels) / ASKED_SHARE)], key=natural_key))


def _scattered(value: int) -> int:
    """A number of 32 bits as another one, so that near ones lie far apart: a checksum alone favours some labels."""
    for shift, factor in ((16, 0x85EBCA6B), (13, 0xC2B2AE35), (16, 1)):
        value = (value ^ value >> shift) * factor & 0xFFFFFFFF
    return value
