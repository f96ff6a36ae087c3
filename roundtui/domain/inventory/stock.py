"""Lures in stock by lot: what was bought or counted, less what was put out since. A lot never counted is not zero.

Lures that will be wanted until the season ends, laid against the lots in stock: what runs out, and what expires.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum

from roundtui.domain.entries import NONE, YES, Assembled, Stocked, StockKind, Visit
from roundtui.domain.figures import upkeep
from roundtui.domain.programme.farm import Lot, Programme, Trap, grouped, natural_key
from roundtui.domain.records import Frozen
from roundtui.domain.text import sanitize
from roundtui.errors import Problem

_NEVER = datetime.max.replace(tzinfo=UTC)
_UNDATED = date.min
"""Stands for the day of a hanging without one: its lot is what a later yes means, but no count can be after it."""
_WIDTH = 40


@dataclass(frozen=True, slots=True, order=True)
class LureUse:
    """One lure taken out of the store. Entries that speak of the same lure are one use."""

    on: date
    """Day it left the store."""
    trap: str
    """Label of the trap it went into."""
    lot: str
    """Its lot."""


class Uses(Frozen):
    """All lures put out, by the record."""

    known: tuple[LureUse, ...]
    """Those whose lot is known, by day."""
    unknown: tuple[tuple[date, str], ...]
    """Days and traps of lures whose lot nobody wrote down."""


class StoreRoom(Frozen):
    """What is on record of lures in stock."""

    entries: Sequence[Stocked] = ()
    """Lures bought and counted."""
    uses: Sequence[LureUse] = ()
    """Lures put out."""


def check_stock(entry: Stocked, programme: Programme) -> tuple[Problem, ...]:
    """What is impossible of an entry.

    Args:
        entry: Lures bought or counted.
        programme: What is set up.
    """
    where = f"lot {sanitize(entry.lot, _WIDTH)}"
    problems = []
    if entry.lot not in programme.lots:
        problems.append(Problem(where, "there is no such lot", "add it to lures.csv first"))
    if entry.number < 0:
        problems.append(Problem(where, "a number below zero", "write how many there are"))
    if entry.kind is StockKind.BOUGHT and entry.number == 0:
        problems.append(Problem(where, "none were bought", "leave it out; where the store is empty, it was counted: 0"))
    return tuple(problems)


def lure_uses(
    programme: Programme, visits: Mapping[str, Sequence[Visit]], assemblies: Iterable[Assembled] = ()
) -> Uses:
    """Lures put out with traps that were hung or assembled, and on visits.

    A trap assembled with a lure and then hung has one lure, not two. One that is only moved keeps its lure. A lot
    written for a trap twice on one day, by two people or in register and visit, is one lure. Where a visit says yes,
    the lot is the one of the trap's own species that was last used there.

    Args:
        programme: Hangings and lots.
        visits: Present visits by trap.
        assemblies: Traps put together.
    """
    put = grouped((one.trap, one) for one in assemblies)
    known: set[LureUse] = set()
    unknown: set[tuple[date, str]] = set()
    for trap in {*programme.hangings, *put}:
        hangings = programme.hangings.get(trap, ())
        own = put.get(trap, [])
        species = hangings[-1].species if hangings else own[0].species
        changes = sorted((*_assembled(own), *_hung(hangings), *_visited(visits.get(trap, ()))))
        for on, lot in _put_in(programme, species, changes):
            if on == _UNDATED:
                continue
            if lot in programme.lots:
                known.add(LureUse(on, trap, lot))
            else:
                unknown.add((on, trap))
    return Uses(tuple(sorted(known)), tuple(sorted(unknown)))


_ASSEMBLED, _HUNG, _VISITED = range(3)
_RegisterChange = tuple[date, int, datetime, str, str]
"""Day, what was done, when and under which id it was recorded, and what is said of the lot."""


def _assembled(assemblies: Iterable[Assembled]) -> Iterator[_RegisterChange]:
    for one in assemblies:
        yield one.assembled_on, _ASSEMBLED, one.recorded_at or _NEVER, one.id, one.lot


def _hung(hangings: Sequence[Trap]) -> Iterator[_RegisterChange]:
    for row in hangings:
        # A trap that was only moved kept the lure that was in it.
        moved = any(other.down_on == row.hung_on for other in hangings if other is not row and row.hung_on)
        if not moved:
            yield row.hung_on or _UNDATED, _HUNG, _NEVER, "", row.lot


def _visited(visits: Iterable[Visit]) -> Iterator[_RegisterChange]:
    put = [visit for visit in visits if visit.lure not in (None, NONE)]
    named = {visit.read_on for visit in put if visit.lure != YES}
    for visit in put:
        # Where two people told of one day, the one who named the lot knew which lure it was.
        if visit.lure != YES or visit.read_on not in named:
            yield visit.read_on, _VISITED, visit.recorded_at or _NEVER, visit.id, visit.lure or ""


def _put_in(programme: Programme, species: str, changes: Iterable[_RegisterChange]) -> Iterator[tuple[date, str]]:
    """Days and lots of the lures of one trap; an empty lot where nobody wrote it down."""
    last = waiting = ""
    for on, kind, _, _, said in changes:
        lot = last if said == YES else said
        if kind == _HUNG and waiting and lot in ("", waiting):
            # The lure left the store when the trap was put together.
            waiting = ""
            continue
        if kind == _ASSEMBLED and (not lot or lot == waiting):
            continue
        waiting = lot if kind == _ASSEMBLED else ""
        yield on, lot
        known = programme.lots.get(lot)
        if known is not None and known.species == species:
            last = lot


class Held(Frozen, kw_only=True):
    """What the record says of a lot's lures."""

    lot: str
    """The lot."""
    left: int | None
    """Lures left; None: never bought or counted on record, which is not zero."""
    since: date | None = None
    """Day of the count, or of the first purchase, that it is reckoned from."""
    counted: int | None = None
    """How many were counted then; None where it rests on purchases alone."""
    bought: int = 0
    """Bought since."""
    used: int = 0
    """Put out since."""

    @property
    def impossible(self) -> bool:
        """Whether more were put out than there were, so that somebody has to count again."""
        return self.left is not None and self.left < 0


def held(lot: str, entries: Iterable[Stocked], uses: Iterable[LureUse], on: date) -> Held:
    """Lures left of a lot at the end of a day.

    A count holds at the end of its day, so what was bought and used on it is in it. A purchase holds from the morning.
    What was put out before the first of them tells nothing.

    Args:
        lot: The lot.
        entries: What was bought and counted, of any lots, in any order.
        uses: Lures put out, of any lots, in any order.
        on: The day.
    """
    own = [entry for entry in entries if entry.lot == lot and entry.stocked_on <= on]
    if not own:
        return Held(lot=lot, left=None)
    counts = [entry for entry in own if entry.kind is StockKind.COUNTED]
    last = max(counts, key=lambda entry: (entry.stocked_on, entry.recorded_at or _NEVER, entry.id), default=None)
    since = last.stocked_on if last is not None else min(entry.stocked_on for entry in own)
    begin = since + timedelta(days=1) if last is not None else since
    bought = sum(entry.number for entry in own if entry.kind is StockKind.BOUGHT and entry.stocked_on >= begin)
    used = sum(use.lot == lot and begin <= use.on <= on for use in set(uses))
    counted = last.number if last is not None else None
    left = (counted or 0) + bought - used
    return Held(lot=lot, left=left, since=since, counted=counted, bought=bought, used=used)


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


class LotStock(Frozen, kw_only=True):
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


class Want(Frozen):
    """A lure that will be wanted."""

    on: date
    """Day on which the one before is spent, or on which the trap is to hang; one overdue is wanted today."""
    trap: str
    """Trap it is for; for traps not hung yet a word in its place."""
    species: str
    """Abbreviation of the species."""
    lot: str
    """Lot that the trap has now, or had last season."""


def wants(programme: Programme, service: Mapping[str, Mapping[str, Visit]], on: date, until: date) -> tuple[Want, ...]:
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


def every(first: date, life_days: int, until: date) -> list[date]:
    """Days on which a piece is put in anew: the first one, then each time its life is over.

    Args:
        first: The first day.
        life_days: How long a piece lasts. [d]
        until: Day on which no new one is wanted any more.
    """
    return [first + timedelta(days=after) for after in range(0, (until - first).days, life_days)]


def lure_life(lot: Lot | None, species: str) -> int:
    """How long a lure lasts: by its lot, else the usual life of the species.

    Args:
        lot: The lot; None: not known.
        species: Abbreviation of the species.
    """
    if lot is not None and lot.life_days:
        return lot.life_days
    return upkeep.usual_life(species, lot)


def lots_in_stock(
    programme: Programme, entries: Sequence[Stocked], uses: Iterable[LureUse], wanted: Sequence[Want], on: date
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
    put_out = tuple(uses)
    stock = {label: held(label, entries, put_out, on) for label in programme.lots}
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
        _lot(lot, stock[label], met.get(label, []), on, short=short.get(label), in_use=label in expired_in_use)
        for label, lot in sorted(programme.lots.items(), key=lambda item: natural_key(item[0]))
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
