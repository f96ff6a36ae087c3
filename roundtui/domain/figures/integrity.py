"""Trap integrity: lures in the wrong trap, and bodies that keep another species' scent.

A trap body belongs to one species for life, because its plastic keeps the scent. The scent follows the body's label, or
the trap where the body bears none, so every trap's past is followed at once, in the order in which things happened.
A body takes scent before it hangs as well: from a lure that was put in while the trap was assembled, also when it was
taken out again, and from the species that a used body is put away with.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import combinations

from roundtui.domain.entries import NONE, YES, Assembled, PartNoted, Visit
from roundtui.domain.figures.verdicts import Trouble, TroubleKind
from roundtui.domain.programme.farm import Programme, Trap, grouped, natural_key
from roundtui.domain.records import Frozen


class Spell(Frozen):
    """An unbroken run of days on which a trap's catch cannot be relied on."""

    start: date | None
    """Day after whose visit it began; None where the trap was hung so without a date."""
    end: date | None
    """Day on whose visit it ended; None while it lasts."""

    def touches(self, start: date | None, end: date) -> bool:
        """Whether any day of an exposure from ``start`` to ``end`` falls into it."""
        if self.start is not None and self.start == self.end:
            return False
        return (self.start is None or self.start < end) and (self.end is None or start is None or self.end > start)


class Held(Frozen):
    """A lure that a trap body held, or the species it was put away with."""

    on: date | None
    """First day of it; None where the trap was hung without a date."""
    species: str
    """Species of the lure."""
    trap: str
    """Trap it was in; empty where the body was in none."""
    hung: bool
    """Whether it hung; else the lure was put in while the trap was assembled, or the body was put away."""


class BodyPast(Frozen):
    """A trap body and what it has held."""

    label: str
    """Its label; empty where it bears none, and then it is the body of its trap."""
    traps: tuple[str, ...]
    """Traps that have it: more than one where a label moved on and the register does not say so."""
    held: tuple[Held, ...]
    """What it has held, in order."""


@dataclass(slots=True, eq=False)
class _Body:
    """A trap body and the species whose scent it keeps, the newest last."""

    scents: dict[str, None] = field(default_factory=dict)
    holders: list[_State] = field(default_factory=list)
    """Traps that have it: more than one where a label moved on and the register does not say so."""
    held: list[Held] = field(default_factory=list)

    def take(self, held: Held) -> None:
        self.scents.pop(held.species, None)
        self.scents[held.species] = None
        self.held.append(held)

    def foreign(self, species: str) -> str | None:
        """The scent of another species taken last."""
        return next((scent for scent in reversed(self.scents) if scent != species), None)


@dataclass(slots=True, eq=False)
class _State:
    """What is in and on one trap, and since when it is wrong."""

    hanging: Trap
    """Its hanging now, or its last one."""
    body: _Body
    lure: str | None
    put_in: set[date | None]
    """Days on which a lure of the species in it was put in, since it first was: renewing it adds one."""
    since: dict[TroubleKind, date | None] = field(default_factory=dict)
    spells: list[Spell] = field(default_factory=list)

    @property
    def species(self) -> str:
        """Species of the trap."""
        return self.hanging.species

    def kinds(self) -> set[TroubleKind]:
        """Kinds that hold now; a pair is found later."""
        kinds = set()
        if self.lure is None:
            kinds.add(TroubleKind.NO_LURE)
        elif self.lure != self.species:
            kinds.add(TroubleKind.WRONG_LURE)
        if self.body.foreign(self.species) is not None:
            kinds.add(TroubleKind.SCENTED_BODY)
        return kinds


@dataclass(frozen=True)
class Integrity:
    """What was found: the troubles of a day, and the days on which each trap was in trouble."""

    troubles: tuple[Trouble, ...]
    """Troubles of the traps that hang on the day."""
    spells: Mapping[str, Sequence[Spell]]
    """Per trap, the runs of days in trouble."""
    bodies: tuple[BodyPast, ...] = ()
    """What each body has held: the labelled ones, and those that traps without a label have now."""

    def suspect(self, trap: str, start: date | None, end: date) -> bool:
        """Whether any day of an exposure was in trouble."""
        return any(spell.touches(start, end) for spell in self.spells.get(trap, ()))


class _Event(Frozen):
    """A hanging or a visit of one trap, with what its lure turned out to be."""

    on: date | None
    hanging: Trap
    visit: Visit | None = None
    lure: str | None = None
    """Species of the lure put in, or ``NONE``; None where the lure was left alone."""

    @property
    def sorts(self) -> tuple[object, ...]:
        """In the order of days; on one day hangings before visits."""
        key = (self.hanging.trap,) if self.visit is None else self.visit.order
        return (self.on or date.min, 1 if self.visit is None else 2, key)


class _BeforeHanging(Frozen):
    """A scent that a body took while it did not hang."""

    entry: Assembled | PartNoted
    on: date
    label: str
    """Label of the body; empty: it is the trap's."""
    trap: str
    """Trap that was assembled; empty where the body was put away."""
    species: str

    @property
    def sorts(self) -> tuple[object, ...]:
        """On one day before hangings and visits."""
        return (self.on, 0, (str(self.entry.recorded_at or ""), self.entry.id))


def lure_species(programme: Programme, lure: str, own: str) -> str:
    """Species of a lure as written in an entry.

    Args:
        programme: For its lots.
        lure: A lot, a species, ``YES`` for the trap's own, or ``NONE``.
        own: Species of the trap.

    Returns:
        A species, or ``NONE``.
    """
    if lure == YES:
        return own
    lot = programme.lots.get(lure)
    return lot.species if lot else lure


def examine(
    programme: Programme,
    visits: Iterable[Visit],
    on: date,
    assembled: Iterable[Assembled] = (),
    parts: Iterable[PartNoted] = (),
    *,
    suspect: Set[str] | None = None,
) -> Integrity:
    """Follow lures and bodies through their past and name what is wrong on a day.

    Args:
        programme: Traps, lots and routes; a hanging has the parts and the lot it was assembled with.
        visits: Present visits that touch lure, body or found a lure, of all traps that may be in trouble, from the
            first year on. What was done after ``on`` is passed over; a lure that was found later was in the trap since
            it was put in, and so on ``on`` too.
        on: The day.
        assembled: Present entries of traps assembled, likewise.
        parts: Present notes on bodies, likewise.
        suspect: The traps that may ever have been in trouble, which alone are followed; None: any may.

    Returns:
        The troubles of the traps hanging on that day, in the order of kind, then farm, block and label, and the
        spells of every trap that was ever in one.
    """
    by_trap = grouped((visit.trap, visit) for visit in visits)
    events: list[_Event | _BeforeHanging] = [*_assembled(programme, assembled, on), *_put_away(parts, on)]
    for trap in programme.hangings if suspect is None else suspect & programme.hangings.keys():
        hangings = programme.hangings[trap]
        events += _events(programme, hangings, sorted(by_trap.get(trap, ()), key=lambda v: v.order), on)
    events.sort(key=lambda event: event.sorts)
    states, labelled = _follow(events)
    return Integrity(
        troubles=_troubles(programme, states, on),
        spells={trap: tuple(state.spells) for trap, state in states.items() if state.spells},
        bodies=tuple(_pasts(states, labelled)),
    )


def _assembled(programme: Programme, assembled: Iterable[Assembled], on: date) -> Iterable[_BeforeHanging]:
    for one in assembled:
        lot = programme.lots.get(one.lot)
        if lot is not None and one.assembled_on <= on:
            yield _BeforeHanging(one, one.assembled_on, one.body_label, one.trap, lot.species)


def _put_away(parts: Iterable[PartNoted], on: date) -> Iterable[_BeforeHanging]:
    """A body that was used for a species keeps its scent; one that is new has none."""
    for part in parts:
        if part.part == "body" and part.state != "new" and part.noted_on <= on:
            yield _BeforeHanging(part, part.noted_on, part.label, "", part.species)


def _pasts(states: Mapping[str, _State], labelled: Mapping[str, _Body]) -> Iterable[BodyPast]:
    every = [(label, body) for label, body in labelled.items()]
    known = {id(body) for _, body in every}
    every += [("", state.body) for state in states.values() if id(state.body) not in known]
    for label, body in every:
        yield BodyPast(label, tuple(holder.hanging.trap for holder in body.holders), tuple(body.held))


def _events(programme: Programme, hangings: Sequence[Trap], visits: Sequence[Visit], on: date) -> list[_Event]:
    """Events of one trap, each lure that was found written back to the day it was put in."""
    events: list[_Event] = []
    for at, hanging in enumerate(hangings):
        if hanging.hung_on is not None and hanging.hung_on > on:
            break
        own = hanging.species
        put_in = len(events)
        lot = programme.lots.get(hanging.lot)
        events.append(_Event(on=hanging.hung_on, hanging=hanging, lure=lot.species if lot else own))
        until = hangings[at + 1].hung_on if at + 1 < len(hangings) else None
        for visit in visits:
            if not hanging.hangs_on(visit.read_on) or (until is not None and visit.read_on >= until):
                continue
            if visit.lure_found is not None:
                found = lure_species(programme, visit.lure_found, own)
                events[put_in] = replace(events[put_in], lure=found)
            lure = None if visit.lure is None else lure_species(programme, visit.lure, own)
            if lure is not None:
                put_in = len(events)
            if lure is not None or visit.body is not None:
                events.append(_Event(on=visit.read_on, hanging=hanging, visit=visit, lure=lure))
    return [event for event in events if event.on is None or event.on <= on]


def _follow(events: Sequence[_Event | _BeforeHanging]) -> tuple[dict[str, _State], dict[str, _Body]]:
    """Play the events and keep, per trap, its state and its spells; and the bodies that bear a label."""
    states: dict[str, _State] = {}
    labelled: dict[str, _Body] = {}
    not_yet_hung: dict[str, _Body] = {}
    for event in events:
        if isinstance(event, _BeforeHanging):
            state = states.get(event.trap)
            if event.label:
                body = labelled.setdefault(event.label, _Body())
            else:
                body = state.body if state is not None else not_yet_hung.setdefault(event.trap, _Body())
            body.take(Held(event.on, event.species, event.trap, hung=False))
            for holder in body.holders:
                # What is done to the body of a trap that is down shows in it from its next hanging on.
                if holder.hanging.hangs_on(event.on):
                    _note(holder, event.on)
            continue
        trap = event.hanging.trap
        state = states.get(trap)
        if state is None:
            state = states[trap] = _State(event.hanging, not_yet_hung.pop(trap, _Body()), None, set())
            state.body.holders.append(state)
        state.hanging = event.hanging
        label = event.hanging.body_label if event.visit is None else event.visit.body
        if label:
            state.body.holders.remove(state)
            state.body = _Body() if label == YES else labelled.setdefault(label, _Body())
            state.body.holders.append(state)
        if event.lure is not None:
            lure = None if event.lure == NONE else event.lure
            if lure != state.lure:
                state.lure, state.put_in = lure, set()
            state.put_in.add(event.on)
        if state.lure is not None:
            state.body.take(Held(event.on, state.lure, trap, hung=True))
        for holder in state.body.holders:
            _note(holder, event.on)
    return states, labelled


def _note(state: _State, on: date | None) -> None:
    """Keep the first day of each run, and open or close the spell."""
    kinds = state.kinds()
    was_in_trouble = bool(state.since)
    state.since = {kind: state.since.get(kind, on) for kind in kinds}
    if kinds and not was_in_trouble:
        state.spells.append(Spell(on, None))
    elif was_in_trouble and not kinds:
        state.spells[-1] = replace(state.spells[-1], end=on)


def _troubles(programme: Programme, states: Mapping[str, _State], on: date) -> tuple[Trouble, ...]:
    hanging = {trap: row for trap in states if (row := programme.hanging(trap, on)) is not None}
    wrong = [trap for trap in hanging if TroubleKind.WRONG_LURE in states[trap].since]
    partners = _pairs(programme, hanging, states, wrong)
    troubles = []
    for trap, row in hanging.items():
        state = states[trap]
        kind = next((kind for kind in _ORDER if kind in state.since), None)
        if kind is None:
            continue
        since = state.since[kind]
        if trap in partners:
            kind = TroubleKind.SWAPPED_LURES
        found = state.body.foreign(state.species) if kind is TroubleKind.SCENTED_BODY else state.lure
        troubles.append(
            Trouble(kind, programme.farm_of(row.block), row.block, trap, row.species, found, since, partners.get(trap))
        )
    rank = {kind: at for at, kind in enumerate(TroubleKind)}
    return tuple(
        sorted(troubles, key=lambda t: (rank[t.kind], natural_key(t.farm), natural_key(t.block), natural_key(t.trap)))
    )


_ORDER = (TroubleKind.WRONG_LURE, TroubleKind.NO_LURE, TroubleKind.SCENTED_BODY)


def _pairs(
    programme: Programme, hanging: Mapping[str, Trap], states: Mapping[str, _State], wrong: Sequence[str]
) -> dict[str, str]:
    """Traps that hold each other's species, put in on one date; the nearest first, each in one pair.

    A wrong lure renewed leaves the pair as it is.
    """
    places = {(route, trap): at for route, traps in programme.routes.items() for at, trap in enumerate(traps)}
    routes = tuple(programme.routes)
    candidates = []
    for one, other in combinations(sorted(wrong, key=natural_key), 2):
        a, b = states[one], states[other]
        if a.lure != b.species or b.lure != a.species or a.put_in.isdisjoint(b.put_in):
            continue
        blocks = hanging[one].block, hanging[other].block
        if blocks[0] == blocks[1]:
            tier = 0
        elif programme.farm_of(blocks[0]) == programme.farm_of(blocks[1]):
            tier = 1
        else:
            tier = 2
        apart = min(
            (
                abs(places[route, one] - places[route, other])
                for route in routes
                if (route, one) in places and (route, other) in places
            ),
            default=len(places) + 1,
        )
        candidates.append((tier, apart, natural_key(one), natural_key(other), one, other))
    partners: dict[str, str] = {}
    for *_, one, other in sorted(candidates):
        if one not in partners and other not in partners:
            partners |= {one: other, other: one}
    return partners
