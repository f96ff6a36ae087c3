"""What a trap was assembled with before it was hung is what it hangs with, where its row in the register does not say.

Traps that were added, moved, taken down or hung again in a span of days: where series of readings begin and end.
What is known of every labelled part of a trap: its species, where it is, and which scents its plastic took.

Making a trap up: which parts and which lure go together, and what is named before they do.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum

from roundtui.domain.entries import YES, Assembled, PartKind, PartNoted, Visit
from roundtui.domain.figures.integrity import BodyPast, examine
from roundtui.domain.programme.farm import Programme, Trap, grouped, natural_key
from roundtui.domain.programme.species import trap_style
from roundtui.domain.records import Frozen
from roundtui.domain.round.checks import nearest, species_known
from roundtui.domain.text import SHOWN, sanitize
from roundtui.errors import Problem

_LONG_AGO = datetime.min.replace(tzinfo=UTC)


def in_order(one: Assembled) -> tuple[date, datetime, str]:
    """Sort key of traps assembled: by day, then as recorded.

    Args:
        one: A trap assembled.
    """
    return one.assembled_on, one.recorded_at or _LONG_AGO, one.id


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


class SeriesChange(Frozen):
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
    about = [rows for rows in programme.hangings.values() if any(_within(row, first, on) for row in rows)]
    every = (row for rows in programme.hangings.values() for row in rows)
    near = grouped(((row.block, row.species), row) for row in every) if about else {}
    for rows in about:
        for at, row in enumerate(rows):
            before = rows[at - 1] if at else None
            after = rows[at + 1] if at + 1 < len(rows) else None
            found += _hung(near, row, before, first, on)
            found += _down(near, row, after, first, on)
    return tuple(sorted(found, key=lambda one: (one.on, natural_key(one.trap), one.block)))


def _within(row: Trap, first: date, on: date) -> bool:
    """Whether it was hung or taken down in a span of days."""
    hung, down = row.hung_on, row.down_on  # Asked of every hanging of all years, so without a loop.
    return (hung is not None and first <= hung <= on) or (down is not None and first <= down <= on)


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
"""Field of a hanging, and of a trap assembled, that names each part."""


class Whereabouts(StrEnum):
    """Where a part is, as far as the record says."""

    NEW = "new"
    ASSEMBLED = "assembled"
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
    """Trap it hangs in or is assembled for, or was in last; empty where it was in none."""
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
    """All parts, the traps assembled that do not hang yet, and what each body has held."""

    on: date
    """The day."""
    programme: Programme
    """What is set up, with what each hanging was made up of."""
    parts: Mapping[Key, Part] = field(default_factory=dict)
    """Every labelled part."""
    waiting: Mapping[str, Assembled] = field(default_factory=dict)
    """Traps assembled that do not hang yet, by label."""
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
        programme: What is set up; a hanging has the parts it was assembled with.
        visits: Present visits of all years that touch lure or body, or found a lure; those of traps that never had a
            labelled body do not matter.
        on: The day; nothing after it is used but a lure found in a trap later.
        assembled: Present entries of traps assembled, of all years.
        noted: Present notes on parts, of all years.
    """
    every = list(visits)
    seen = [visit for visit in every if visit.read_on <= on]
    made = sorted((one for one in assembled if one.assembled_on <= on), key=in_order)
    said = [part for part in noted if part.noted_on <= on]
    book = _Book({trap: rows[-1].species for trap, rows in programme.hangings.items()})
    # A trap that never bore a label has no part that could be known.
    named = {trap for trap, rows in programme.hangings.items() if any(map(_bears_label, rows))}
    named |= {one.trap for one in made} | {visit.trap for visit in seen if visit.body}
    hangings = {trap: programme.hangings[trap] for trap in named & programme.hangings.keys()}
    for event in sorted(_events(hangings, seen, made, said, on), key=lambda event: event[:2]):
        book.play(event[2])
    bodies = examine(programme, every, on, made, said, suspect=named).bodies
    for past in bodies:
        held = book.parts.get((PartKind.BODY, past.label))
        if held is not None:
            held.scents = tuple(dict.fromkeys(one.species for one in reversed(past.held)))[::-1]
    return KnownParts(on, programme, book.parts, _waiting(programme, made, on), bodies, book.in_trap)


def _bears_label(row: Trap) -> bool:
    return bool(row.body_label or row.funnel_label or row.lid_label)


def _waiting(programme: Programme, made: Iterable[Assembled], on: date) -> dict[str, Assembled]:
    newest = {one.trap: one for one in made}
    hung = {
        trap: max((row.hung_on for row in rows if row.hung_on and row.hung_on <= on), default=date.min)
        for trap, rows in programme.hangings.items()
    }
    waiting = [one for one in newest.values() if one.assembled_on > hung.get(one.trap, date.min)]
    return {one.trap: one for one in sorted(waiting, key=lambda one: natural_key(one.trap))}


class _Down(Frozen):
    trap: str
    on: date


Event = tuple[date, tuple[int, datetime, str], "_Down | PartNoted | Assembled | Trap | Visit"]


def _events(
    hangings: Mapping[str, Iterable[Trap]],
    visits: Iterable[Visit],
    made: Iterable[Assembled],
    noted: Iterable[PartNoted],
    on: date,
) -> Iterable[Event]:
    """On one day a trap comes down first, then parts are put away, traps assembled, hung, and visited."""
    for trap, rows in hangings.items():
        for row in rows:
            if row.hung_on is None or row.hung_on <= on:
                yield row.hung_on or date.min, (3, _LONG_AGO, trap), row
            if row.down_on is not None and row.down_on <= on:
                yield row.down_on, (0 if row.down_on != row.hung_on else 4, _LONG_AGO, trap), _Down(trap, row.down_on)
    for part in noted:
        yield part.noted_on, (1, part.recorded_at or _LONG_AGO, part.id), part
    for one in made:
        yield one.assembled_on, (2, *in_order(one)[1:]), one
    for visit in (one for one in visits if one.body):
        yield visit.read_on, (5, visit.recorded_at or _LONG_AGO, visit.id), visit


class _Book:
    """Parts as one event after the other leaves them."""

    def __init__(self, species: Mapping[str, str]) -> None:
        self._species = species
        self.parts: dict[Key, Part] = {}
        self.in_trap: dict[tuple[str, PartKind], str] = {}
        """Label of the part that each trap has, or is assembled with."""

    def play(self, event: _Down | PartNoted | Assembled | Trap | Visit) -> None:
        if isinstance(event, _Down):
            for part in PartKind:
                self._leave(event.trap, part, event.on, Whereabouts.HUNG)
        elif isinstance(event, PartNoted):
            self._note(event)
        elif isinstance(event, Visit):
            label = "" if event.body in (None, YES) else event.body
            self._leave(event.trap, PartKind.BODY, event.read_on, Whereabouts.HUNG)
            species = self._species.get(event.trap, "")
            self._put((event.trap, PartKind.BODY), label, species, event.read_on, Whereabouts.HUNG)
        else:
            trap, hung = event.trap, isinstance(event, Trap)
            on = event.hung_on if isinstance(event, Trap) else event.assembled_on
            for part, name in LABEL_OF.items():
                own = self.in_trap.get((trap, part), "") if hung else self._own_body(trap, part)
                label = getattr(event, name) or own
                if self.in_trap.get((trap, part)) != label:
                    self._leave(trap, part, on, Whereabouts.ASSEMBLED)
                state = Whereabouts.HUNG if hung else Whereabouts.ASSEMBLED
                self._put((trap, part), label, event.species, on, state)

    def _own_body(self, trap: str, part: PartKind) -> str:
        """Label of the body that a trap had last and that is the trap's still: whoever names none has lost its label.

        So it is in ``integrity``, where the scent goes with the trap unless a body is named.
        """
        known = self.parts.get((PartKind.BODY, self.in_trap.get((trap, PartKind.BODY), "")))
        gone = known is None or known.trap != trap or known.state in (Whereabouts.LOST, Whereabouts.DISCARDED)
        return "" if known is None or gone or part is not PartKind.BODY else known.label

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
        key, state = (said.part, said.label), Whereabouts(said.state.value)
        known = self.parts.setdefault(key, Part(said.label, said.part, said.species, state, said.noted_on))
        known.species, known.state, known.since, known.place = said.species, state, said.noted_on, said.place


LAST_SEASON_DAYS = 400
"""A trap that hung within so many days is offered to be assembled again. [d]"""


class BenchTrap(Frozen):
    """A trap on the bench: to be assembled, or assembled and not hung."""

    trap: str
    """Its label."""
    species: str
    """Its species."""
    block: str
    """Block it is to hang in, or hung in last; empty for a trap that never hung."""
    hang_on: date | None
    """Day for which it is planned; None where it is one of last season that does not hang yet."""
    made: Assembled | None = None
    """How it was assembled; None: not yet."""


def objections(one: Assembled, known: KnownParts) -> tuple[str, ...]:
    """What speaks against a trap as it is assembled.

    Args:
        one: The trap, with its parts and its lot.
        known: What is known of parts, traps and lots on the day.

    Returns:
        A sentence for each thing, in the order of the fields, labels in it as people wrote them.
    """
    found = [*_of_trap(one, known)]
    for part in PartKind:
        found += _of_part(one, part, known)
    return (*found, *_of_lot(one, known.programme))


def _of_trap(one: Assembled, known: KnownParts) -> Iterable[str]:
    rows = known.programme.hangings.get(one.trap, ())
    if rows and rows[-1].species != one.species:
        yield f"{one.trap} is a trap for {rows[-1].species}, for life: hang {one.species} in a trap of its own"
    now = known.programme.hanging(one.trap, one.assembled_on)
    # On one day a trap is assembled before it is hung.
    before = now is not None and (now.hung_on is None or now.hung_on < one.assembled_on)
    if now is not None and before and (now.down_on is None or now.down_on > one.assembled_on):
        yield f"{one.trap} hangs in block {now.block} now"


def _of_part(one: Assembled, kind: PartKind, known: KnownParts) -> Iterable[str]:
    name = LABEL_OF[kind]
    label = getattr(one, name)
    if not label:
        if kind is PartKind.BODY or wants_label(one.trap, kind, known):
            yield f"the {kind.value} bears no label: its history is unknown"
        return
    part = known.parts.get((kind, label))
    if part is None:
        return
    what = f"{kind.value} {label}"
    if part.species and part.species != one.species:
        yield f"{what} is for {part.species}, not for {one.species}"
    other = [scent for scent in part.scents if scent != one.species]
    if kind is PartKind.BODY and other:
        yield f"{what} held a lure for {other[-1]}, and plastic keeps the scent"
    if part.state in (Whereabouts.LOST, Whereabouts.DISCARDED):
        yield f"{what} was {part.state.value}{_on(part)}"
    elif part.state in (Whereabouts.HUNG, Whereabouts.ASSEMBLED) and part.trap != one.trap:
        does = "hangs in" if part.state is Whereabouts.HUNG else "is assembled in"
        yield f"{what} {does} {part.trap}{_on(part, ' since')}"


def _on(part: Part, word: str = " on") -> str:
    return f"{word} {part.since.isoformat()}" if part.since else ""


def wants_label(trap: str, kind: PartKind, known: KnownParts) -> bool:
    """Whether a trap has such a part at all: a bucket has funnel and lid, others where one was ever named.

    Args:
        trap: Label of the trap.
        kind: Which part.
        known: What is known of traps and parts.
    """
    rows = known.programme.hangings.get(trap, ())
    bucket = bool(rows) and trap_style(rows[-1].style).style == "bucket"
    return kind is PartKind.BODY or bucket or any(getattr(row, LABEL_OF[kind]) for row in rows)


def _of_lot(one: Assembled, programme: Programme) -> Iterable[str]:
    lot = programme.lots.get(one.lot)
    if lot is None:
        return
    if lot.species != one.species:
        yield f"lot {lot.lot} attracts {lot.species}: the body is contaminated even if it is taken out again"
    if lot.expires_on is not None and lot.expires_on < one.assembled_on:
        yield f"lot {lot.lot} was to be put out by {lot.expires_on.isoformat()}"


def check_part(part: PartNoted, programme: Programme) -> tuple[Problem, ...]:
    """What makes a note on a part impossible.

    Args:
        part: The note.
        programme: What is set up, for its species.
    """
    found = _species(part.species, programme)
    if not part.label.strip():
        found += (Problem("label", f"the {part.part.value} has no label", "write the label that is on it"),)
    if part.label == "yes":
        found += (Problem("label", "yes is not a label of a part", "write the label that is on it"),)
    return found


def check_assembly(one: Assembled, programme: Programme) -> tuple[Problem, ...]:
    """What makes a trap assembled impossible; what only speaks against it is for ``objections``.

    Args:
        one: The trap assembled.
        programme: What is set up, for its species and lots.
    """
    found = _species(one.species, programme)
    if not one.trap.strip():
        found += (Problem("trap", "the trap has no label", "write the label it will have"),)
    if one.lot and one.lot not in programme.lots:
        hint = nearest(one.lot, programme.lots) or "the lots are in lures.csv"
        found += (Problem("lot", f"there is no lot {sanitize(one.lot, SHOWN)}", hint),)
    if one.body_label == "yes":
        found += (Problem("body_label", "yes is not a label of a body", "write the label that is on it, or none"),)
    return found


def _species(species: str, programme: Programme) -> tuple[Problem, ...]:
    known = species_known(programme)
    if species in known:
        return ()
    hint = nearest(species, known) or f"one of {', '.join(sorted(known))}"
    return (Problem("species", f"{sanitize(species, SHOWN) or 'a blank'} is no species that is known", hint),)


def proposed(trap: str, species: str, known: KnownParts, last_lot: str = "") -> Assembled:
    """A trap as it would be assembled without further thought: its own parts of last time, and a lot that keeps.

    Args:
        trap: Label of the trap.
        species: Its species.
        known: What is known of parts and lots.
        last_lot: Lot that was put into the trap before it, which then comes first.

    Returns:
        Labels of those of its own parts that are in store and clean, blank for the others.
    """
    from roundtui.domain.round.agenda import own_lots

    own = {kind: part for kind in PartKind if (part := known.of_trap(trap, kind)) is not None}
    ready = {kind: part.label for kind, part in own.items() if part.species == species and part.in_store}
    row = Trap(trap, "", species)
    lots = own_lots(known.programme, row, known.on, last_lot)
    return Assembled(
        trap=trap,
        species=species,
        assembled_on=known.on,
        body_label=ready.get(PartKind.BODY, ""),
        funnel_label=ready.get(PartKind.FUNNEL, ""),
        lid_label=ready.get(PartKind.LID, ""),
        lot=lots[0].lot if lots else "",
    )


def to_assemble(known: KnownParts) -> tuple[BenchTrap, ...]:
    """Traps that wait to be assembled: those planned to hang, then those of last season that do not hang yet.

    Args:
        known: What is known of traps on the day.

    Returns:
        By the day they are planned for, farm, block and label; a trap assembled is not among them.
    """
    on = known.on
    found = []
    for trap, rows in known.programme.hangings.items():
        last = rows[-1]
        if trap in known.waiting or last.hung_on is None:
            continue
        planned = last.hung_on > on
        down = last.down_on is not None and last.down_on <= on
        if planned or (down and last.down_on is not None and last.down_on >= on - timedelta(days=LAST_SEASON_DAYS)):
            found.append(BenchTrap(trap, last.species, last.block, last.hung_on if planned else None))
    return tuple(
        sorted(found, key=lambda one: (one.hang_on or date.max, *known.programme.place_key(one.block, one.trap)))
    )


def hanging_row(one: Assembled, block: str, hung_on: date, **place: str) -> dict[str, str]:
    """A trap assembled as a row of ``traps.csv``: hung in a block on a day.

    Args:
        one: The trap assembled.
        block: Code of the block.
        hung_on: Day of hanging.
        place: Text of further columns, as row, tree, style or edge.

    Returns:
        Text by column; blank columns are left out.
    """
    said = {
        "trap": one.trap,
        "block": block,
        "species": one.species,
        "hung_on": hung_on.isoformat(),
        "lot": one.lot,
        **{name: getattr(one, name) for name in LABEL_OF.values()},
        **place,
    }
    return {column: text for column, text in said.items() if text}
