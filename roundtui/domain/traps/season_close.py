"""The close of a season: what still hangs, which parts are put away where, what was lost, what is not used again.

Traps run to harvest; then the spent lures come out, bodies are cleaned and put away by species: Michigan State
University Extension, How to optimize placement of pheromone traps in your orchard, and Illinois Fruit and Vegetable
News, April 2025.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date

from roundtui.domain.entries import NoReading, PartKind, Visit
from roundtui.domain.programme.farm import Programme, Trap, grouped, natural_key
from roundtui.domain.records import Frozen
from roundtui.domain.traps.assembly import KnownParts, Part, Whereabouts


class ToTakeDown(Frozen):
    """A trap that hangs and is to come down."""

    route: str
    """Route it is on; empty for none."""
    hanging: Trap
    """Its hanging, with its place."""
    farm: str
    """Code of the farm."""
    parts: tuple[Part, ...]
    """Its labelled parts as they are now: body, funnel, lid."""
    missing_since: date | None
    """Day since which it was found missing; None where it is there as far as is known."""


class Stored(Frozen):
    """Parts of one species in one place."""

    species: str
    """Species they are for."""
    part: PartKind
    """Which part."""
    place: str
    """Where they are kept; empty where nobody said."""
    labels: tuple[str, ...]
    """Their labels."""


class Losses(Frozen):
    """What a season cost in traps and parts."""

    missing: tuple[tuple[str, date], ...] = ()
    """Traps found missing and not found since, with the first day."""
    never_down: tuple[str, ...] = ()
    """Traps that the register still has hanging after the last day."""
    lost: tuple[Part, ...] = ()
    """Parts noted as lost."""
    discarded: tuple[Part, ...] = ()
    """Parts noted as discarded."""


def taking_down(
    programme: Programme, known: KnownParts, visits: Mapping[str, Iterable[Visit]], on: date
) -> tuple[ToTakeDown, ...]:
    """Traps that hang on a day, in the order in which they are walked to be taken down.

    Args:
        programme: What is set up.
        known: What is known of parts.
        visits: Present visits of the season by trap, in order.
        on: The day.

    Returns:
        Route by route in walking order; traps on no route last, by farm, block and label. A trap on two routes stands
        in the first. One that came down on the day is not among them.
    """
    hanging = {
        trap: row
        for trap in programme.hangings
        if (row := programme.hanging(trap, on)) is not None and (row.down_on is None or row.down_on > on)
    }
    order: dict[str, str] = {}
    for route, traps in programme.routes.items():
        for trap in traps:
            order.setdefault(trap, route)
    rest = sorted(set(hanging) - set(order), key=lambda trap: programme.place_key(hanging[trap].block, trap))
    return tuple(
        ToTakeDown(
            order.get(trap, ""),
            hanging[trap],
            programme.farm_of(hanging[trap].block),
            tuple(_in_trap(known, trap)),
            _missing_since(visits.get(trap, ())),
        )
        for trap in (*order, *rest)
        if trap in hanging
    )


def _in_trap(known: KnownParts, trap: str) -> Iterable[Part]:
    for kind in PartKind:
        part = known.of_trap(trap, kind)
        if part is not None and part.state is Whereabouts.HUNG:
            yield part


def _missing_since(visits: Iterable[Visit]) -> date | None:
    """First day of the run of visits, up to the last, that found a trap missing."""
    since: date | None = None
    for visit in visits:
        if visit.no_reading is NoReading.MISSING:
            since = since or visit.read_on
        elif visit.count is not None or visit.no_reading in (NoReading.DOWN, NoReading.DAMAGED):
            since = None
    return since


def stored(parts: Iterable[Part]) -> tuple[Stored, ...]:
    """Parts that are put away or were never used, by species, part and place.

    Args:
        parts: All that is known of parts.

    Returns:
        Without those that smell of another species: these are in ``to_discard``.
    """
    kept = [one for one in parts if one.state in (Whereabouts.STORED, Whereabouts.NEW) and not one.foreign]
    found = grouped(((one.species, one.part, one.place), one.label) for one in kept)
    kinds = list(PartKind)
    return tuple(
        Stored(*key, tuple(sorted(labels, key=natural_key)))
        for key, labels in sorted(found.items(), key=lambda item: (item[0][0], kinds.index(item[0][1]), item[0][2]))
    )


def to_discard(parts: Iterable[Part]) -> tuple[Part, ...]:
    """Bodies that smell of another species and are still about.

    Args:
        parts: All that is known of parts.
    """
    gone = (Whereabouts.LOST, Whereabouts.DISCARDED)
    found = [one for one in parts if one.foreign and one.state not in gone]
    return tuple(sorted(found, key=lambda one: (one.species, natural_key(one.label))))


def not_put_away(parts: Iterable[Part]) -> tuple[Part, ...]:
    """Parts that came down and nobody said what became of them.

    Args:
        parts: All that is known of parts.
    """
    found = [one for one in parts if one.state is Whereabouts.DOWN]
    return tuple(sorted(found, key=lambda one: (one.species, one.part.value, natural_key(one.label))))


def bodies_in_store(parts: Iterable[Part], species: str) -> int:
    """How many clean bodies of a species can be used next season.

    Args:
        parts: All that is known of parts.
        species: Abbreviation of the species.
    """
    return sum(one.part is PartKind.BODY and one.species == species and one.in_store for one in parts)


def losses(
    programme: Programme,
    visits: Mapping[str, Iterable[Visit]],
    parts: Iterable[Part],
    season: tuple[date, date],
    on: date,
) -> Losses:
    """What a season cost.

    Args:
        programme: What is set up.
        visits: Present visits of the season by trap, in order.
        parts: All that is known of parts.
        season: Its first and its last day.
        on: The day it is looked at; traps that still hang count as never taken down only after the season's last day.
    """
    first, last = season
    missing = [
        (trap, since)
        for trap in sorted(programme.hangings, key=natural_key)
        if (since := _missing_since(v for v in visits.get(trap, ()) if first <= v.read_on <= last)) is not None
    ]
    still = [
        trap
        for trap, rows in programme.hangings.items()
        if on > last and any(row.down_on is None and (row.hung_on is None or row.hung_on <= last) for row in rows)
    ]
    known = sorted(parts, key=lambda one: (one.species, natural_key(one.label)))

    def noted(state: Whereabouts) -> tuple[Part, ...]:
        return tuple(p for p in known if p.state is state and p.since is not None and first <= p.since <= max(last, on))

    return Losses(
        tuple(missing), tuple(sorted(still, key=natural_key)), noted(Whereabouts.LOST), noted(Whereabouts.DISCARDED)
    )
