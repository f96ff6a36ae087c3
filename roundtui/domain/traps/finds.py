"""Finds of a pest that is watched for: how near and soon they come together, zones about them, and what was not caught.

An office writes the numbers of its programme into ``plan.toml``; none ships, for they are agreed between a market and a
ministry. Nothing here says that an area is free of a pest.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from roundtui.domain.figures.figures import Series
from roundtui.domain.inventory.plan_rules import FindRule
from roundtui.domain.programme.farm import Trap, natural_key
from roundtui.domain.traps.placement import distance_m


@dataclass(frozen=True, slots=True)
class Find:
    """Insects of a species caught by one trap on one reading."""

    trap: Trap
    """The trap as it hung."""
    on: date
    """Day of the reading."""
    number: int
    """How many."""
    at: datetime | None = None
    """Instant at which it came on record."""


@dataclass(frozen=True, slots=True)
class Zone:
    """What lies within so many metres of a find."""

    metres: int
    """The radius. [m]"""
    traps: tuple[str, ...]
    """Traps of the species inside."""
    blocks: tuple[str, ...]
    """Blocks with a trap of any species inside."""


@dataclass(frozen=True, slots=True)
class Watched:
    """Where a species stands against a rule of finds."""

    rule: FindRule
    """The rule."""
    met: bool | None
    """Whether it is met; None where it cannot be told."""
    why: str
    """Why it cannot be told; empty else."""
    finds: tuple[tuple[Find, int], ...]
    """Finds nearest together in its days, the last of them first, each with its way from that one. [m]"""
    zones: tuple[Zone, ...] = ()
    """Zones about all finds of the season."""
    act_by: datetime | None = None
    """Instant by which something is to be done."""
    clear_on: date | None = None
    """Day on which the wait since the last find ends."""
    not_read: tuple[str, ...] = ()
    """Traps of the zones that nobody read when the wait had ended: they hold it, and are never taken for zero."""


def watch(
    rule: FindRule,
    finds: Sequence[Find],
    hung: Collection[Trap],
    read: Mapping[str, date],
    waiting: Iterable[str] = (),
) -> Watched:
    """Where a species stands against a rule.

    Args:
        rule: The rule.
        finds: Finds of its species in the season, oldest first.
        hung: Every trap that hangs, of any species.
        read: Day of the newest valid reading of each trap.
        waiting: Traps of the species with a specimen that waits for its name.
    """
    groups = [_near(rule, one, finds) for one in finds]
    # The first that meets the rule, else the one that comes nearest to it.
    near = max(groups, key=lambda group: min(sum(one.number for one, _ in group), rule.finds), default=())
    number, placeless = sum(one.number for one, _ in near), sorted({f.trap.trap for f in finds if f.trap.lat is None})
    unknown = [f"{trap} has no coordinates" for trap in placeless] if len({f.trap.trap for f in finds}) > 1 else []
    unknown += [f"a specimen of {trap} waits for its name" for trap in sorted(set(waiting))]
    met = True if number >= rule.finds else None if unknown else False
    why = "; ".join(unknown) if met is None else ""
    if not near:
        return Watched(rule, met, why, near)
    zones = tuple(_zone(rule.species, metres, finds, hung) for metres in rule.zones_m)
    ends = finds[-1].on + timedelta(days=rule.clear_days) if rule.clear_days is not None else None
    inside = {one.trap.trap for one in finds} | {trap for zone in zones for trap in zone.traps}
    late = [trap for trap in inside if ends is not None and read.get(trap, date.min) < ends]
    at = near[0][0].at if met else None
    act_by = at + timedelta(hours=rule.act_hours) if at and rule.act_hours is not None else None
    return Watched(rule, met, why, near, zones, act_by, ends, tuple(sorted(late, key=natural_key)))


def _near(rule: FindRule, last: Find, finds: Iterable[Find]) -> tuple[tuple[Find, int], ...]:
    """Finds of the days up to one of them that lie within the rule's radius of it."""
    near = [
        (one, round(away))
        for one in finds
        if (away := _away(one.trap, last.trap)) is not None and away <= rule.within_m
        if 0 <= (last.on - one.on).days <= rule.days
    ]
    return tuple(sorted(near, key=lambda pair: (pair[0] is not last, pair[1], natural_key(pair[0].trap.trap))))


def _away(one: Trap, other: Trap) -> float | None:
    """Way between two traps, which is none from a trap to itself, coordinates or not. [m]"""
    return 0.0 if one.trap == other.trap else distance_m(one, other)


def _zone(species: str, metres: int, finds: Sequence[Find], hung: Iterable[Trap]) -> Zone:
    ways = [(row, [away for one in finds if (away := _away(row, one.trap)) is not None]) for row in hung]
    inside = [row for row, away in ways if away and min(away) <= metres]
    traps = {row.trap for row in inside if row.species == species}
    return Zone(metres, tuple(sorted(traps, key=natural_key)), tuple(sorted({row.block for row in inside})))


@dataclass(frozen=True, slots=True)
class NoCatch:
    """What the traps within a distance of a block caught in a span of days, and how far they were watching."""

    traps: tuple[str, ...]
    """Traps of the species in the block or within the distance of one of its traps."""
    readings: int
    """Valid readings."""
    caught: int
    """Insects in them."""
    nights: int
    """Trap-nights of the span that valid readings cover."""
    open_nights: int
    """Trap-nights that none covers: nobody knows of them."""
    placeless: tuple[str, ...]
    """Traps of the species without coordinates, in other blocks: nobody knows whether they are near."""


def no_catch(
    block: str, within_m: float, series: Iterable[Series], hung: Collection[Trap], span: tuple[date, date]
) -> NoCatch:
    """What was caught within a distance of a block.

    Args:
        block: Code of the block.
        within_m: The distance. [m]
        series: Readings of every trap of the species.
        hung: Traps of any species that hung in the span, for the place of the block.
        span: First and last day.
    """
    mine = [row for row in hung if row.block == block]
    near, placeless = [], []
    for one in series:
        away = [distance_m(one.hanging, row) for row in mine]
        if one.hanging.block == block or any(way is not None and way <= within_m for way in away):
            near.append(one)
        elif one.hanging.lat is None or not any(way is not None for way in away):
            placeless.append(one.hanging.trap)
    readings = caught = nights = open_nights = 0
    for one in near:
        first, last = max(span[0], one.hanging.hung_on or span[0]), min(span[1], one.hanging.down_on or span[1])
        valid = [
            r for r in one.readings if r.known and not r.suspect and first < r.read_on and (r.start or last) < last
        ]
        covered = sum((min(r.read_on, last) - max(r.start or first, first)).days for r in valid)
        readings, caught = readings + len(valid), caught + sum(r.net or 0 for r in valid)
        nights, open_nights = nights + covered, open_nights + max((last - first).days - covered, 0)
    labels = tuple(dict.fromkeys(one.hanging.trap for one in near))
    return NoCatch(labels, readings, caught, nights, open_nights, tuple(dict.fromkeys(placeless)))
