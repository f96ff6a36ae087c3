"""What is known of every labelled part of a trap: its species, where it is, and which scents its plastic took.

Bodies are used for years, but for the same species alone, and are put away by species with the spent lure out: Michigan
State University Extension, How to optimize placement of pheromone traps in your orchard.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from enum import StrEnum
from typing import TYPE_CHECKING

from roundtui.domain.farm import Programme, natural_key
from roundtui.domain.integrity import BodyPast, examine
from roundtui.domain.kit.entries import Assembled, PartKind, PartNoted, PartState
from roundtui.domain.kit.hung_with import in_order
from roundtui.domain.visits import YES, Visit

if TYPE_CHECKING:
    from roundtui.domain.farm import Trap

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
