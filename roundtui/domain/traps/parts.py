"""What a trap was made up with before it was hung is what it hangs with, where its row in the register does not say.

Traps that were added, moved, taken down or hung again in a span of days: where series of readings begin and end.
What is known of every labelled part of a trap: its species, where it is, and which scents its plastic took.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from enum import StrEnum
from typing import TYPE_CHECKING

from roundtui.domain.figures.integrity import BodyPast, examine
from roundtui.domain.programme.farm import Programme, Trap, natural_key
from roundtui.domain.traps.entries import Assembled, PartKind, PartNoted, PartState
from roundtui.domain.visits import YES, Visit

if TYPE_CHECKING:
    from roundtui.domain.programme.farm import Trap
    from roundtui.domain.traps.entries import Assembled

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


Near = dict[tuple[str, str], list[Trap]]
"""Hangings by block and species."""


class Happened(StrEnum):
    """What happened to a trap."""

    ADDED = "added"
    """Hung for the first time in the span, after other traps of its block and species hung there already."""
    MOVED = "moved"
    """Taken from one place and hung in another."""
    AGAIN = "hung again"
    """Hung again after it was down."""
    DOWN = "taken down"
    """Taken down, and not hung again by the last day."""


@dataclass(frozen=True, slots=True)
class SeriesChange:
    """A trap of a block whose series of readings begins or ends on a day."""

    trap: str
    """Its label."""
    block: str
    """Block that this is about: where it hangs from then on, or hung until then."""
    species: str
    """Its species."""
    what: Happened
    """What happened."""
    on: date
    """The day."""
    hanging: Trap
    """The hanging that begins on it, or ends."""
    came_from: Trap | None = None
    """Its hanging before, where there was one."""
    went_to: Trap | None = None
    """Its hanging after, where it left the block for another."""


def series_changes(programme: Programme, first: date, on: date) -> tuple[SeriesChange, ...]:
    """What happened to traps in a span of days.

    A trap that is hung while none of its species hangs in the block yet is the season's beginning, and no change; nor
    is the end of the season, when a block has none left.

    Args:
        programme: What is set up.
        first: First day.
        on: Last day, included.

    Returns:
        In the order of days, then of labels. A trap that left one block for another is told of in both.
    """
    found: list[SeriesChange] = []
    near: Near = {}
    about = [rows for rows in programme.hangings.values() if any(_within(row, first, on) for row in rows)]
    if about:
        for rows in programme.hangings.values():
            for row in rows:
                near.setdefault((row.block, row.species), []).append(row)
    for rows in about:
        for at, row in enumerate(rows):
            before = rows[at - 1] if at else None
            after = rows[at + 1] if at + 1 < len(rows) else None
            found += _hung(near, row, before, first, on)
            found += _down(near, row, after, first, on)
    return tuple(sorted(found, key=lambda one: (one.on, natural_key(one.trap), one.block)))


def _within(row: Trap, first: date, on: date) -> bool:
    """Whether it was hung or taken down in a span of days."""
    return any(day is not None and first <= day <= on for day in (row.hung_on, row.down_on))


def _hung(near: Near, row: Trap, before: Trap | None, first: date, on: date) -> Iterable[SeriesChange]:
    if row.hung_on is None or not first <= row.hung_on <= on or row.down_on == row.hung_on:
        return
    moved = before is not None and before.down_on is not None and before.down_on == row.hung_on
    if moved:
        what = Happened.MOVED
    elif before is not None and before.down_on is not None and before.down_on >= first:
        what = Happened.AGAIN
    elif _others_hang(near, row, row.hung_on):
        what, before = Happened.ADDED, None
    else:
        return
    yield SeriesChange(row.trap, row.block, row.species, what, row.hung_on, row, before)


def _down(near: Near, row: Trap, after: Trap | None, first: date, on: date) -> Iterable[SeriesChange]:
    if row.down_on is None or not first <= row.down_on <= on or row.down_on == row.hung_on:
        return
    hung_next = after is not None and after.hung_on is not None and after.hung_on <= on
    if hung_next and after is not None and after.hung_on == row.down_on:
        if after.block != row.block:
            yield SeriesChange(row.trap, row.block, row.species, Happened.MOVED, row.down_on, row, went_to=after)
    elif not hung_next and _others_hang(near, row, row.down_on, after=True):
        yield SeriesChange(row.trap, row.block, row.species, Happened.DOWN, row.down_on, row)


def _others_hang(near: Near, row: Trap, day: date, *, after: bool = False) -> bool:
    """Whether another trap of the block and species hung before a day, or hangs on after it."""
    for other in near[row.block, row.species]:
        if other.trap == row.trap:
            continue
        hung = other.hung_on is None or (other.hung_on <= day if after else other.hung_on < day)
        if hung and (other.down_on is None or other.down_on > day):
            return True
    return False


LABEL_OF = {PartKind.BODY: "body_label", PartKind.FUNNEL: "funnel_label", PartKind.LID: "lid_label"}
"""Field of a hanging, and of a trap made up, that names each part."""


class Whereabouts(StrEnum):
    """Where a part is, as far as the record says."""

    NEW = "new"
    MADE_UP = "made up"
    HUNG = "hung"
    DOWN = "taken down"
    STORED = "stored"
    LOST = "lost"
    DISCARDED = "discarded"


@dataclass(slots=True)
class Part:
    """A labelled part as it is known on a day."""

    label: str
    """Its label."""
    part: PartKind
    """Which part it is."""
    species: str
    """Species it is for, for life: as noted, else that of the trap it was first in."""
    state: Whereabouts
    """Where it is."""
    since: date | None
    """Since when; None where it was hung without a date."""
    trap: str = ""
    """Trap it hangs in or is made up for, or was in last; empty where it was in none."""
    place: str = ""
    """Where it is kept."""
    scents: tuple[str, ...] = ()
    """Species of the lures that a body held, the newest last."""

    @property
    def foreign(self) -> tuple[str, ...]:
        """Scents of other species."""
        return tuple(scent for scent in self.scents if scent != self.species)

    @property
    def in_store(self) -> bool:
        """Whether it can be taken for a trap of its species: it is there, it is clean, and in no trap."""
        return self.state in (Whereabouts.NEW, Whereabouts.STORED, Whereabouts.DOWN) and not self.foreign


Key = tuple[PartKind, str]
"""Kind and label of a part."""


@dataclass(frozen=True)
class KnownParts:
    """All parts, the traps made up that do not hang yet, and what each body has held."""

    on: date
    """The day."""
    programme: Programme
    """What is set up, with what each hanging was made up of."""
    parts: Mapping[Key, Part] = field(default_factory=dict)
    """Every labelled part."""
    waiting: Mapping[str, Assembled] = field(default_factory=dict)
    """Traps made up that do not hang yet, by label."""
    bodies: tuple[BodyPast, ...] = ()
    """What each body has held."""
    in_trap: Mapping[tuple[str, PartKind], str] = field(default_factory=dict)
    """Label of each part that a trap has, or had last; empty where it bears none."""

    def of_trap(self, trap: str, part: PartKind) -> Part | None:
        """The part that was in a trap last, wherever it is now; None where it bore no label."""
        known = self.parts.get((part, self.in_trap.get((trap, part), "")))
        return known if known is not None and known.trap == trap else None


def known_parts(
    programme: Programme,
    visits: Iterable[Visit],
    on: date,
    assembled: Iterable[Assembled] = (),
    noted: Iterable[PartNoted] = (),
) -> KnownParts:
    """What is known of every part on a day.

    Args:
        programme: What is set up; a hanging has the parts it was made up with (``hung_with``).
        visits: Present visits of all years that touch lure or body, or found a lure.
        on: The day; nothing after it is used but a lure found in a trap later.
        assembled: Present entries of traps made up, of all years.
        noted: Present notes on parts, of all years.
    """
    every = list(visits)
    seen = [visit for visit in every if visit.read_on <= on]
    made = sorted((one for one in assembled if one.assembled_on <= on), key=in_order)
    said = [part for part in noted if part.noted_on <= on]
    book = _Book({trap: rows[-1].species for trap, rows in programme.hangings.items()})
    for event in sorted(_events(programme, seen, made, said, on), key=lambda event: event[:2]):
        book.play(event[2])
    bodies = examine(programme, every, on, made, said).bodies
    for past in bodies:
        held = book.parts.get((PartKind.BODY, past.label))
        if held is not None:
            held.scents = tuple(dict.fromkeys(one.species for one in reversed(past.held)))[::-1]
    return KnownParts(on, programme, book.parts, _waiting(programme, made, on), bodies, book.in_trap)


def _waiting(programme: Programme, made: Iterable[Assembled], on: date) -> dict[str, Assembled]:
    newest = {one.trap: one for one in made}
    hung = {
        trap: max((row.hung_on for row in rows if row.hung_on and row.hung_on <= on), default=date.min)
        for trap, rows in programme.hangings.items()
    }
    waiting = [one for one in newest.values() if one.assembled_on > hung.get(one.trap, date.min)]
    return {one.trap: one for one in sorted(waiting, key=lambda one: natural_key(one.trap))}


@dataclass(frozen=True, slots=True)
class _Down:
    trap: str
    on: date


Event = tuple[date, tuple[int, datetime, str], "_Down | PartNoted | Assembled | Trap | Visit"]


def _events(
    programme: Programme, visits: Iterable[Visit], made: Iterable[Assembled], noted: Iterable[PartNoted], on: date
) -> Iterable[Event]:
    """On one day a trap comes down first, then parts are put away, traps made up, hung, and visited."""
    never = _instant(None)
    for trap, rows in programme.hangings.items():
        for row in rows:
            if row.hung_on is None or row.hung_on <= on:
                yield row.hung_on or date.min, (3, never, trap), row
            if row.down_on is not None and row.down_on <= on:
                yield row.down_on, (0 if row.down_on != row.hung_on else 4, never, trap), _Down(trap, row.down_on)
    for part in noted:
        yield part.noted_on, (1, _instant(part.recorded_at), part.id), part
    for one in made:
        yield one.assembled_on, (2, _instant(one.recorded_at), one.id), one
    for visit in visits:
        yield visit.read_on, (5, _instant(visit.recorded_at), visit.id), visit


def _instant(at: datetime | None) -> datetime:
    return at or datetime.min.replace(tzinfo=UTC)


class _Book:
    """Parts as one event after the other leaves them."""

    def __init__(self, species: Mapping[str, str]) -> None:
        self._species = species
        self.parts: dict[Key, Part] = {}
        self.in_trap: dict[tuple[str, PartKind], str] = {}
        """Label of the part that each trap has, or is made up with."""

    def play(self, event: _Down | PartNoted | Assembled | Trap | Visit) -> None:
        if isinstance(event, _Down):
            for part in PartKind:
                self._leave(event.trap, part, event.on, Whereabouts.HUNG)
        elif isinstance(event, PartNoted):
            self._note(event)
        elif isinstance(event, Assembled):
            for part, name in LABEL_OF.items():
                label = getattr(event, name) or (self._own_body(event.trap) if part is PartKind.BODY else "")
                if self.in_trap.get((event.trap, part)) != label:
                    self._leave(event.trap, part, event.assembled_on, Whereabouts.MADE_UP)
                self._put((event.trap, part), label, event.species, event.assembled_on, Whereabouts.MADE_UP)
        elif isinstance(event, Visit):
            if event.body:
                label = "" if event.body == YES else event.body
                self._leave(event.trap, PartKind.BODY, event.read_on, Whereabouts.HUNG)
                species = self._species.get(event.trap, "")
                self._put((event.trap, PartKind.BODY), label, species, event.read_on, Whereabouts.HUNG)
        else:
            for part, name in LABEL_OF.items():
                label = getattr(event, name) or self.in_trap.get((event.trap, part), "")
                if self.in_trap.get((event.trap, part)) != label:
                    self._leave(event.trap, part, event.hung_on, Whereabouts.MADE_UP)
                self._put((event.trap, part), label, event.species, event.hung_on, Whereabouts.HUNG)

    def _own_body(self, trap: str) -> str:
        """Label of the body that a trap had last and that is the trap's still: whoever names none has lost its label.

        So it is in ``integrity``, where the scent goes with the trap unless a body is named.
        """
        known = self.parts.get((PartKind.BODY, self.in_trap.get((trap, PartKind.BODY), "")))
        gone = known is None or known.trap != trap or known.state in (Whereabouts.LOST, Whereabouts.DISCARDED)
        return "" if known is None or gone else known.label

    def _leave(self, trap: str, part: PartKind, on: date | None, state: Whereabouts) -> None:
        """The part that a trap had is in no trap any more, if it was still there in that way."""
        known = self.parts.get((part, self.in_trap.get((trap, part), "")))
        if known is not None and known.trap == trap and known.state is state:
            known.state, known.since = Whereabouts.DOWN, on

    def _put(self, where: tuple[str, PartKind], label: str, species: str, on: date | None, state: Whereabouts) -> None:
        trap, part = where
        self.in_trap[where] = label
        if not label:
            return
        known = self.parts.setdefault((part, label), Part(label, part, species, state, on))
        known.species = known.species or species
        known.state, known.since, known.trap, known.place = state, on, trap, ""

    def _note(self, said: PartNoted) -> None:
        state = {
            PartState.NEW: Whereabouts.NEW,
            PartState.STORED: Whereabouts.STORED,
            PartState.LOST: Whereabouts.LOST,
            PartState.DISCARDED: Whereabouts.DISCARDED,
        }[said.state]
        key = said.part, said.label
        known = self.parts.setdefault(key, Part(said.label, said.part, said.species, state, said.noted_on))
        known.species, known.state, known.since, known.place = said.species, state, said.noted_on, said.place
