"""Lures that will be wanted until the season ends, laid against the lots in stock: what runs out, and what expires."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from roundtui.domain import upkeep
from roundtui.domain.farm import Lot, Programme, natural_key
from roundtui.domain.kit.entries import Stocked
from roundtui.domain.plan.stock import Held, LureUse, held
from roundtui.domain.species import SPECIES
from roundtui.domain.visits import NONE, Visit

NEXT_ROUNDS_DAYS = 28
"""The next rounds that a lot has to last for before anybody is warned: four weekly ones, time to order more. [d]"""


class LotState(StrEnum):
    """Where a lot stands."""

    SHORT = "runs out"
    EXPIRES = "expires"
    AGAIN = "count again"
    EXPIRED = "expired"
    ENOUGH = "enough"
    NOT_COUNTED = "not counted"


@dataclass(frozen=True, slots=True, kw_only=True)
class LotStock:
    """A lot in stock, and what will be wanted of it."""

    lot: str
    """The lot."""
    species: str
    """Abbreviation of the species."""
    held: Held
    """What is left of it, and why."""
    expires_on: date | None
    """Last day on which it may be put out."""
    needed_next: int
    """Wanted of it in the next four rounds."""
    needed: int
    """Wanted of it until the season ends."""
    runs_out_on: date | None
    """Day on which a lure is wanted and none is left; None where that does not come, or nobody knows what is left."""
    traps: tuple[str, ...]
    """Traps that will want it."""
    state: LotState
    """Where it stands."""
    on: date
    """The day from which one looks."""

    @property
    def warned(self) -> bool:
        """Whether somebody has to do something about it: it runs out, expires in use, or does not add up."""
        return self.state in (LotState.SHORT, LotState.EXPIRES, LotState.AGAIN) or (
            self.state is LotState.EXPIRED and bool(self.traps)
        )

    @property
    def soon(self) -> bool:
        """Whether that is within the next four rounds."""
        if self.state is LotState.SHORT and self.runs_out_on is not None:
            return (self.runs_out_on - self.on).days <= NEXT_ROUNDS_DAYS
        return self.warned


@dataclass(frozen=True, slots=True)
class Want:
    """A lure that will be wanted."""

    on: date
    """Day on which the one before is spent, or on which the trap is to hang; one overdue is wanted today."""
    trap: str
    """Trap it is for; for traps not hung yet a word in its place."""
    species: str
    """Abbreviation of the species."""
    lot: str
    """Lot that the trap has now, or had last season."""


def wants(
    programme: Programme,
    service: Mapping[str, Mapping[str, Visit]],
    on: date,
    until: date,
) -> tuple[Want, ...]:
    """Lures that the hanging traps will want after a day, up to another.

    Args:
        programme: Hangings and lots.
        service: Per trap the newest visits that replaced its pieces.
        on: The day.
        until: Day on which the traps come down; a lure spent on it needs no other.
    """
    found: list[Want] = []
    for label in programme.hangings:
        hanging = programme.hanging(label, on)
        if hanging is None or hanging.down_on == on:
            continue
        last = service.get(label, {})
        empty = "lure" in last and last["lure"].lure == NONE
        since = last["lure"].read_on if "lure" in last else hanging.hung_on
        if since is None:
            continue
        lot = upkeep.present_lot(programme, hanging, last)
        life = lure_life(lot, hanging.species)
        begin = on if empty else max(on, since + timedelta(days=life))
        down = min(until, hanging.down_on or until)
        found += [Want(day, label, hanging.species, lot.lot if lot else "") for day in every(begin, life, down)]
    return tuple(sorted(found, key=lambda want: (want.on, natural_key(want.trap))))


def every(first: date, life_days: int, until: date) -> Iterator[date]:
    """Days on which a piece is put in anew: the first one, then each time its life is over.

    Args:
        first: The first day.
        life_days: How long a piece lasts. [d]
        until: Day on which no new one is wanted any more.
    """
    day = first
    while day < until:
        yield day
        day += timedelta(days=life_days)


def lure_life(lot: Lot | None, species: str) -> int:
    """How long a lure lasts: by its lot, else the usual life of the species.

    Args:
        lot: The lot; None: not known.
        species: Abbreviation of the species.
    """
    if lot is not None and lot.life_days:
        return lot.life_days
    known = SPECIES.get(species)
    return known.lure_life_days if known else upkeep.USUAL_LURE_DAYS


def lots_in_stock(
    programme: Programme,
    entries: Sequence[Stocked],
    uses: Iterable[LureUse],
    wanted: Sequence[Want],
    on: date,
) -> tuple[LotStock, ...]:
    """Every lot that is on record in the store, in use, or not expired.

    Each want is met in the order of days: by the trap's own lot while it may be put out and is not known to be empty,
    else by another of the same species and load, the one that expires first before all others.

    Args:
        programme: Lots.
        entries: What was bought and counted.
        uses: Lures put out.
        wanted: Lures that will be wanted, by day.
        on: The day.
    """
    every = tuple(uses)
    stock = {label: held(label, entries, every, on) for label in programme.lots}
    left = {label: found.left for label, found in stock.items()}
    met: dict[str, list[Want]] = {}
    short: dict[str, date] = {}
    expired_in_use: set[str] = set()
    for want in wanted:
        label = _meets(programme, want, left)
        if label is None:
            continue
        own = programme.lots.get(want.lot)
        if own is not None and label != own.lot and not _may(own, want.on) and (left[own.lot] or 0) > 0:
            expired_in_use.add(own.lot)
        met.setdefault(label, []).append(want)
        remaining = left[label]
        if remaining is not None:
            if remaining <= 0:
                short.setdefault(label, want.on)
            left[label] = remaining - 1
    rows = [
        _lot(
            programme.lots[label],
            stock[label],
            met.get(label, []),
            on,
            short=short.get(label),
            in_use=label in expired_in_use,
        )
        for label in sorted(programme.lots, key=natural_key)
    ]
    return tuple(row for row in rows if row.state is not LotState.EXPIRED or row.traps or (row.held.left or 0) > 0)


def _may(lot: Lot, on: date) -> bool:
    return lot.expires_on is None or on <= lot.expires_on


def _meets(programme: Programme, want: Want, left: Mapping[str, int | None]) -> str | None:
    own = programme.lots.get(want.lot)
    if own is not None and _may(own, want.on) and (left[own.lot] is None or (left[own.lot] or 0) > 0):
        return own.lot
    alike = [
        lot
        for lot in programme.lots.values()
        if lot.species == want.species
        and (own is None or lot.load_mg == own.load_mg or own.species != want.species)
        and _may(lot, want.on)
    ]
    stocked = [lot for lot in alike if (left[lot.lot] or 0) > 0]
    known = stocked or [lot for lot in alike if left[lot.lot] is None] or alike
    if known:
        return min(known, key=lambda lot: (lot.expires_on or date.max, natural_key(lot.lot))).lot
    return own.lot if own is not None else None


def _lot(lot: Lot, found: Held, met: Sequence[Want], on: date, *, short: date | None, in_use: bool) -> LotStock:
    soon = on + timedelta(days=NEXT_ROUNDS_DAYS)
    expired = lot.expires_on is not None and lot.expires_on < on
    expires = lot.expires_on is not None and lot.expires_on <= soon
    if expired:
        state = LotState.EXPIRED
    elif found.impossible:
        state = LotState.AGAIN
    elif short is not None:
        state = LotState.SHORT
    elif (expires and (met or (found.left or 0) > 0)) or in_use:
        state = LotState.EXPIRES
    else:
        state = LotState.NOT_COUNTED if found.left is None else LotState.ENOUGH
    return LotStock(
        lot=lot.lot,
        species=lot.species,
        held=found,
        expires_on=lot.expires_on,
        needed_next=sum(1 for want in met if want.on <= soon),
        needed=len(met),
        runs_out_on=short,
        traps=tuple(sorted({want.trap for want in met}, key=natural_key)),
        state=state,
        on=on,
    )
