"""Upkeep of a trap: when its lure, liner or kill strip falls due."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from fractions import Fraction
from itertools import accumulate

from roundtui.domain.entries import NONE, YES, Visit
from roundtui.domain.figures.figures import Reading, Series, handled
from roundtui.domain.figures.rules import UNBAITED, kind_word
from roundtui.domain.figures.verdicts import UpkeepDue
from roundtui.domain.programme.farm import Lot, Programme, Trap
from roundtui.domain.programme.species import KILL_STRIP_DAYS, SPECIES, trap_style
from roundtui.domain.text import ruled
from roundtui.published import read

NOTICE_DAYS = 7
"""A piece is listed from this many days before it falls due, so that it goes on the next round's packing list. [d]"""
USUAL_LURE_DAYS = 28
"""Field life of a lure of which neither lot nor species tells one: four weeks (common practice, no source). [d]"""


def due(
    programme: Programme,
    one: Series,
    last_service: Mapping[str, Visit],
    on: date,
    *,
    notice_days: int | None = NOTICE_DAYS,
) -> list[UpkeepDue]:
    """What is due on a trap, or will be within a week.

    Args:
        programme: For lots.
        one: Readings of the hanging that holds on the day.
        last_service: Newest visit that replaced each item: lure, liner, kill-strip, body.
        on: The day.
        notice_days: How long before it falls due a piece is listed; None: however long. [d]

    Returns:
        At most one row for each of lure, liner and kill strip.
    """
    found = [
        _lure(programme, one.hanging, last_service, on),
        _liner(one, last_service, on),
        _kill_strip(one.hanging, last_service, on),
    ]
    return [
        row for row in found if row is not None and (notice_days is None or (row.days_overdue or 0) >= -notice_days)
    ]


def present_lot(programme: Programme, hanging: Trap, last_service: Mapping[str, Visit]) -> Lot | None:
    """Lot of the lure in a trap.

    Args:
        programme: For lots.
        hanging: The hanging.
        last_service: Its newest visits by item; ``lot`` is the newest one that named a lot of the trap's own species.

    Returns:
        None where the lot is not on record. A lure entered without a lot is of the lot last used in the trap.
    """
    lure, named = last_service.get("lure"), last_service.get("lot")
    if lure is not None and lure.lure not in (YES, NONE, None):
        return programme.lots.get(lure.lure)
    if named is not None and named.lure is not None:
        return programme.lots.get(named.lure)
    first = programme.lots.get(hanging.lot)
    # A lure of the trap's own species put in later cannot be of the foreign lot the trap was hung with.
    return first if lure is None or first is None or first.species == hanging.species else None


Held = tuple[date, date, Lot | None]
"""From which day on a lure was in a trap, until which, and its lot; None where the lot is not on record."""


def lures_held(
    programme: Programme, hanging: Trap, visits: Sequence[Visit], last_service: Mapping[str, Visit]
) -> list[Held]:
    """The lures that were in a trap one after the other.

    Args:
        programme: For lots.
        hanging: The hanging.
        visits: Present visits of the trap, in order, as far back as they are known.
        last_service: Its newest visits by item, as ``present_lot`` takes them; asked where no visit names a lure.
    """
    changes = [
        v for v in handled(visits) if (v.lure is not None or v.lure_found is not None) and hanging.hangs_on(v.read_on)
    ]
    lot = programme.lots.get(hanging.lot)
    if not any(visit.lure is not None for visit in changes):
        lot = present_lot(programme, hanging, last_service)
    # A lure that was found was in the trap since the last change.
    held: list[tuple[date, Lot | None]] = [(hanging.hung_on or date.min, lot)]
    for visit in changes:
        if visit.lure_found is not None:
            held[-1] = (held[-1][0], programme.lots.get(visit.lure_found))
        if visit.lure == YES:
            own = [one for _, one in held if one is not None and one.species == hanging.species]
            held.append((visit.read_on, own[-1] if own else None))
        elif visit.lure is not None:
            held.append((visit.read_on, programme.lots.get(visit.lure)))
    ends = [since for since, _ in held[1:]] + [date.max]
    return [(since, end, one) for (since, one), end in zip(held, ends, strict=True)]


def lots_behind(held: Sequence[Held], reading: Reading) -> tuple[Lot | None, ...]:
    """Lots of the lures that hung in a trap while a reading's moths were caught.

    Args:
        held: The lures of its hanging.
        reading: The reading. A lure put in on its day caught nothing of it.

    Returns:
        Each lot once; None for a lure whose lot is not on record, and for days without a lure.
    """
    start, last = reading.start or date.min, reading.read_on
    found = [lot for since, until, lot in held if since < last and until > start]
    return tuple(dict.fromkeys(found)) if len(found) > 1 else (found[0] if found else None,)


LURE_LIVES = tuple(
    (species, word, Fraction(least_mg), int(days))
    for species, word, least_mg, days, _ in ruled(read("species")["lure lives"])
)
"""Species, word of the substrate, least load [mg] and life [d]; the first that fits a lot holds. The shorter
end of what is printed, since a lure that is too old is seen by nobody."""


def usual_life(species: str, lot: Lot | None) -> int:
    """How long a lure lasts of which the lot states no life: by what it is made of, else as usual for the species.

    Args:
        species: Abbreviation of the species.
        lot: Its lot; None: not on record.

    Returns:
        Days. [d]
    """
    if lot is not None and lot.substrate:
        words = kind_word(lot.substrate.replace("gray", "grey")).split("-")
        for code, word, least, days in LURE_LIVES:
            if code == species and word in words and (lot.load_mg or 0) >= least:
                return days
    known = SPECIES.get(species)
    return known.lure_life_days if known else USUAL_LURE_DAYS


def _lure(programme: Programme, hanging: Trap, service: Mapping[str, Visit], on: date) -> UpkeepDue | None:
    visit = service.get("lure")
    if visit is not None and visit.lure == NONE:
        return None
    lot = present_lot(programme, hanging, service)
    if lot is not None and kind_word(lot.kind) == UNBAITED:
        return None
    species = SPECIES.get(hanging.species)
    if species is not None and not species.lured and lot is None and visit is None:
        return None
    life = lot.life_days if lot and lot.life_days else None
    usual = usual_life(hanging.species, lot)
    since = visit.read_on if visit else hanging.hung_on
    return _by_age(hanging, "lure", since, life or usual, on, assumed=life is None)


def full_at(hanging: Trap) -> int | None:
    """Insects at which a trap's liner is due, whatever its age; None: only by age.

    Args:
        hanging: The hanging.
    """
    species = SPECIES.get(hanging.species)
    return None if species is None or trap_style(hanging.style).sticky else species.liner_moths


def _liner(one: Series, service: Mapping[str, Visit], on: date) -> UpkeepDue | None:
    hanging = one.hanging
    style, most = trap_style(hanging.style), full_at(hanging)
    if not style.has_liner and "liner" not in service:
        return None
    newest = max((v for v in (service.get("liner"), service.get("body")) if v), key=lambda v: v.order, default=None)
    since = newest.read_on if newest else hanging.hung_on
    if since is None:
        return None
    first, end = bisect_right(one.days, since), bisect_right(one.days, on)
    sums = [0, *accumulate(one.nets[first:end])]
    catch, filled_on = sums[-1], None
    if first < end and most is not None and catch >= most:
        filled_on = one.days[first + max(0, bisect_left(sums, most) - 1)]
    due_on = since + timedelta(days=style.liner_days)
    by_catch = filled_on is not None and filled_on <= due_on
    overdue = (on - (filled_on if by_catch and filled_on else due_on)).days
    return UpkeepDue(
        trap=hanging.trap,
        item="liner",
        why="catch" if by_catch else "age",
        days_overdue=overdue,
        catch=catch,
        block=hanging.block,
        since=since,
        life_days=style.liner_days,
        assumed=newest is None,
    )


def _kill_strip(hanging: Trap, service: Mapping[str, Visit], on: date) -> UpkeepDue | None:
    visit = service.get("kill-strip")
    if visit is None and not trap_style(hanging.style).has_kill_strip:
        return None
    since = visit.read_on if visit else hanging.hung_on
    return _by_age(hanging, "kill-strip", since, KILL_STRIP_DAYS, on, assumed=visit is None)


def _by_age(
    hanging: Trap, item: str, since: date | None, life_days: int, on: date, *, assumed: bool
) -> UpkeepDue | None:
    if since is None:
        return None
    return UpkeepDue(
        trap=hanging.trap,
        item=item,
        why="age",
        days_overdue=(on - since).days - life_days,
        catch=None,
        block=hanging.block,
        since=since,
        life_days=life_days,
        assumed=assumed,
    )
