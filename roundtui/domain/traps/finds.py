"""Finds of a pest that is watched for: how near and soon they come together, zones about them, and what was not caught.

An office writes the numbers of its programme into ``plan.toml``; none ships, for they are agreed between a market and a
ministry. Nothing here says that an area is free of a pest.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from datetime import date, datetime, timedelta
from math import inf

from roundtui.domain.figures.figures import Reading, Series
from roundtui.domain.inventory.plan_rules import FindRule
from roundtui.domain.programme.farm import Trap, natural_key
from roundtui.domain.records import Frozen
from roundtui.domain.traps.placement import distance_m

Caught = tuple[Trap, Reading]
"""A reading, and its trap as it hung."""


class Watched(Frozen):
    """Where a species stands against a rule of finds."""

    rule: FindRule
    """The rule."""
    met: bool | None
    """Whether it is met; None where it cannot be told."""
    why: str
    """Why it cannot be told; empty else."""
    finds: tuple[tuple[Trap, Reading, int], ...]
    """The first finds that meet it, else those nearest to it: the last one first, each with its way from that. [m]"""
    zones: tuple[tuple[int, tuple[str, ...], tuple[str, ...]], ...] = ()
    """About all finds: radius, traps of the species inside, blocks with any trap inside. [m]"""
    act_by: datetime | None = None
    """Instant by which something is to be done."""
    clear_on: date | None = None
    """Day on which the wait since the last find ends."""
    not_read: tuple[str, ...] = ()
    """Traps of the zones that nobody read when the wait had ended: they hold it, and are never taken for zero."""


def watch(rule: FindRule, readings: Sequence[Caught], hung: Collection[Trap], waiting: Iterable[str] = ()) -> Watched:
    """Where a species stands against a rule.

    Args:
        rule: The rule.
        readings: Readings of its species, oldest first.
        hung: Every trap that hangs, of any species.
        waiting: Traps of the species with a specimen that waits for its name.
    """
    finds = [(trap, one) for trap, one in readings if one.net and not one.suspect]
    read = {trap.trap: one.read_on for trap, one in readings if one.known and not one.suspect}
    groups = [_near(rule, last, finds) for last in finds]
    near = max(groups, key=lambda group: min(_number(group), rule.finds), default=())
    places = {trap.trap: trap.lat for trap, _ in finds}
    unknown = [f"{trap} has no coordinates" for trap, lat in sorted(places.items()) if lat is None and len(places) > 1]
    doubtful = {*waiting, *(trap.trap for trap, one in readings if _is_open(one))}
    unknown += [f"the catch of {trap} is not settled" for trap in sorted(doubtful, key=natural_key)]
    met = True if _number(near) >= rule.finds else None if unknown else False
    why = "; ".join(unknown) if met is None else ""
    if not near:
        return Watched(rule, met, why, near)
    zones = tuple(_zone(rule.species, metres, finds, hung) for metres in rule.zones_m)
    ends = finds[-1][1].read_on + timedelta(days=rule.clear_days) if rule.clear_days is not None else None
    inside = places.keys() | {trap for _, traps, _ in zones for trap in traps}
    late = [trap for trap in inside if ends is not None and read.get(trap, date.min) < ends]
    at = near[0][1].entries[0].recorded_at if met else None
    act_by = at + timedelta(hours=rule.act_hours) if at and rule.act_hours is not None else None
    return Watched(rule, met, why, near, zones, act_by, ends, tuple(sorted(late, key=natural_key)))


def _is_open(one: Reading) -> bool:
    """Whether a catch may be a find, and nobody knows: two counts, more left in than counted, a wrong lure."""
    return one.net is None or (one.suspect and one.net > 0)


def _number(group: Iterable[tuple[Trap, Reading, int]]) -> int:
    return sum(one.net or 0 for _, one, _ in group)


def _near(rule: FindRule, last: Caught, finds: Iterable[Caught]) -> tuple[tuple[Trap, Reading, int], ...]:
    """Finds of the days up to one of them that lie within the rule's radius of it."""
    near = [
        (trap, one, round(away))
        for trap, one in finds
        if 0 <= (last[1].read_on - one.read_on).days <= rule.days and (away := _away(trap, last[0])) <= rule.within_m
    ]
    return tuple(sorted(near, key=lambda found: (found[1] is not last[1], found[2], natural_key(found[0].trap))))


def _away(one: Trap, other: Trap) -> float:
    """Way between two traps: none from a trap to itself, without end where nobody knows. [m]"""
    away = 0.0 if one.trap == other.trap else distance_m(one, other)
    return inf if away is None else away


def _zone(
    species: str, metres: int, finds: Sequence[Caught], hung: Iterable[Trap]
) -> tuple[int, tuple[str, ...], tuple[str, ...]]:
    inside = [row for row in hung if min(_away(row, trap) for trap, _ in finds) <= metres]
    traps = {row.trap for row in inside if row.species == species}
    return metres, tuple(sorted(traps, key=natural_key)), tuple(sorted({row.block for row in inside}))


class NoCatch(Frozen):
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
    not_settled: tuple[str, ...]
    """Traps of them whose catch is not settled."""
    placeless: tuple[str, ...]
    """Traps of the species in other blocks of which nobody can say how far they are."""


def no_catch(
    near: tuple[str, float],
    every: Sequence[Series],
    hung: Collection[Trap],
    span: tuple[date, date],
    waiting: Collection[str] = (),
) -> NoCatch:
    """What was caught within a distance of a block.

    Args:
        near: Code of the block, and the distance. [m]
        every: Readings of every trap of the species.
        hung: Traps of any species that hung in the span, for the place of the block.
        span: First and last day.
        waiting: Traps with a specimen that waits for its name.
    """
    mine = [row for row in hung if row.block == near[0]]
    ways = [min((_away(one.hanging, row) for row in mine), default=inf) for one in every]
    traps, doubtful = set[str](), set[str]()
    readings = caught = nights = open_nights = 0
    for one in (one for one, way in zip(every, ways, strict=True) if way <= near[1]):
        first, last = max(span[0], one.hanging.hung_on or span[0]), min(span[1], one.hanging.down_on or span[1])
        of_span = [r for r in one.readings if first < r.read_on and (r.start or first) < last]
        valid = [r for r in of_span if r.known and not r.suspect]
        covered = sum((min(r.read_on, last) - max(r.start or first, first)).days for r in valid)
        readings, caught = readings + len(valid), caught + sum(r.net or 0 for r in of_span if not r.suspect)
        nights, open_nights = nights + covered, open_nights + max((last - first).days - covered, 0)
        traps.add(one.hanging.trap)
        if one.hanging.trap in waiting or any(map(_is_open, of_span)):
            doubtful.add(one.hanging.trap)
    placeless = {one.hanging.trap for one, way in zip(every, ways, strict=True) if way == inf}
    labels = [tuple(sorted(found, key=natural_key)) for found in (traps, doubtful, placeless)]
    return NoCatch(labels[0], readings, caught, nights, open_nights, *labels[1:])
