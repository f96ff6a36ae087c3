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
class Watched:
    """Where a species stands against a rule of finds."""

    rule: FindRule
    """The rule."""
    met: bool | None
    """Whether it is met; None where it cannot be told."""
    why: str
    """Why it cannot be told; empty else."""
    finds: tuple[tuple[Find, int], ...]
    """The first finds that meet it, else those nearest to it: the last one first, each with its way from that. [m]"""
    zones: tuple[tuple[int, tuple[str, ...], tuple[str, ...]], ...] = ()
    """About all finds of the season: radius, traps of the species inside, blocks with any trap inside. [m]"""
    act_by: datetime | None = None
    """Instant by which something is to be done."""
    clear_on: date | None = None
    """Day on which the wait since the last find ends."""
    not_read: tuple[str, ...] = ()
    """Traps of the zones that nobody read when the wait had ended: they hold it, and are never taken for zero."""


def watch(
    rule: FindRule, finds: Sequence[Find], hung: Collection[Trap], read: Mapping[str, date], waiting: Iterable[str] = ()
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
    near = max(groups, key=lambda group: min(sum(one.number for one, _ in group), rule.finds), default=())
    labels = {one.trap.trap: one.trap.lat for one in finds}
    unknown = [f"{trap} has no coordinates" for trap, lat in sorted(labels.items()) if lat is None and len(labels) > 1]
    unknown += [f"a specimen of {trap} waits for its name" for trap in sorted(set(waiting))]
    met = True if sum(one.number for one, _ in near) >= rule.finds else None if unknown else False
    why = "; ".join(unknown) if met is None else ""
    if not near:
        return Watched(rule, met, why, near)
    zones = tuple(_zone(rule.species, metres, finds, hung) for metres in rule.zones_m)
    ends = finds[-1].on + timedelta(days=rule.clear_days) if rule.clear_days is not None else None
    inside = labels.keys() | {trap for _, traps, _ in zones for trap in traps}
    late = [trap for trap in inside if ends is not None and read.get(trap, date.min) < ends]
    at = near[0][0].at if met else None
    act_by = at + timedelta(hours=rule.act_hours) if at and rule.act_hours is not None else None
    return Watched(rule, met, why, near, zones, act_by, ends, tuple(sorted(late, key=natural_key)))


def _near(rule: FindRule, last: Find, finds: Iterable[Find]) -> tuple[tuple[Find, int], ...]:
    """Finds of the days up to one of them that lie within the rule's radius of it."""
    days = [one for one in finds if 0 <= (last.on - one.on).days <= rule.days]
    near = [(one, round(away)) for one in days if (away := _away(one.trap, last.trap)) <= rule.within_m]
    return tuple(sorted(near, key=lambda pair: (pair[0] is not last, pair[1], natural_key(pair[0].trap.trap))))


def _away(one: Trap, other: Trap) -> float:
    """Way between two traps: none from a trap to itself, without end where nobody knows. [m]"""
    away = 0.0 if one.trap == other.trap else distance_m(one, other)
    return float("inf") if away is None else away


def _zone(
    species: str, metres: int, finds: Sequence[Find], hung: Iterable[Trap]
) -> tuple[int, tuple[str, ...], tuple[str, ...]]:
    inside = [row for row in hung if min(_away(row, one.trap) for one in finds) <= metres]
    traps = {row.trap for row in inside if row.species == species}
    return metres, tuple(sorted(traps, key=natural_key)), tuple(sorted({row.block for row in inside}))


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
    """Traps of the species in other blocks of which nobody can say how far they are."""


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
    ways = {one: min((_away(one.hanging, row) for row in mine), default=float("inf")) for one in series}
    traps: dict[str, None] = {}
    readings = caught = nights = open_nights = 0
    for one in (one for one, way in ways.items() if way <= within_m):
        first, last = max(span[0], one.hanging.hung_on or span[0]), min(span[1], one.hanging.down_on or span[1])
        valid = [
            r for r in one.readings if r.known and not r.suspect and first < r.read_on and (r.start or last) < last
        ]
        covered = sum((min(r.read_on, last) - max(r.start or first, first)).days for r in valid)
        readings, caught = readings + len(valid), caught + sum(r.net or 0 for r in valid)
        nights, open_nights = nights + covered, open_nights + max((last - first).days - covered, 0)
        traps[one.hanging.trap] = None
    placeless = dict.fromkeys(one.hanging.trap for one, way in ways.items() if way == float("inf"))
    return NoCatch(tuple(traps), readings, caught, nights, open_nights, tuple(placeless))
