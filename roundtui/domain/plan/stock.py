"""Lures in stock by lot: what was bought or counted, less what was put out since. A lot never counted is not zero."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime

from roundtui.domain.farm import Programme, Trap
from roundtui.domain.kit.entries import Assembled, Stocked, StockKind
from roundtui.domain.plain import plain
from roundtui.domain.visits import NONE, YES, Visit
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


@dataclass(frozen=True, slots=True)
class Uses:
    """All lures put out, by the record."""

    known: tuple[LureUse, ...]
    """Those whose lot is known, by day."""
    unknown: tuple[tuple[date, str], ...]
    """Days and traps of lures whose lot nobody wrote down."""


@dataclass(frozen=True, slots=True)
class StoreRoom:
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
    where = f"lot {plain(entry.lot, _WIDTH)}"
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
    put: dict[str, list[Assembled]] = {}
    for one in assemblies:
        put.setdefault(one.trap, []).append(one)
    known: set[LureUse] = set()
    unknown: set[tuple[date, str]] = set()
    for trap in {*programme.hangings, *put}:
        hangings = programme.hangings.get(trap, ())
        own = put.get(trap, [])
        species = hangings[-1].species if hangings else own[0].species
        deeds = sorted((*_assembled(own), *_hung(hangings), *_visited(visits.get(trap, ()))))
        for on, lot in _put_in(programme, species, deeds):
            if on == _UNDATED:
                continue
            if lot in programme.lots:
                known.add(LureUse(on, trap, lot))
            else:
                unknown.add((on, trap))
    return Uses(tuple(sorted(known)), tuple(sorted(unknown)))


_ASSEMBLED, _HUNG, _VISITED = range(3)
_Deed = tuple[date, int, datetime, str, str]
"""Day, what was done, when and under which id it was recorded, and what is said of the lot."""


def _assembled(assemblies: Iterable[Assembled]) -> Iterator[_Deed]:
    for one in assemblies:
        yield one.assembled_on, _ASSEMBLED, one.recorded_at or _NEVER, one.id, one.lot


def _hung(hangings: Sequence[Trap]) -> Iterator[_Deed]:
    for row in hangings:
        # A trap that was only moved kept the lure that was in it.
        moved = any(other.down_on == row.hung_on for other in hangings if other is not row and row.hung_on)
        if not moved:
            yield row.hung_on or _UNDATED, _HUNG, _NEVER, "", row.lot


def _visited(visits: Iterable[Visit]) -> Iterator[_Deed]:
    put = [visit for visit in visits if visit.lure not in (None, NONE)]
    named = {visit.read_on for visit in put if visit.lure != YES}
    for visit in put:
        # Where two people told of one day, the one who named the lot knew which lure it was.
        if visit.lure != YES or visit.read_on not in named:
            yield visit.read_on, _VISITED, visit.recorded_at or _NEVER, visit.id, visit.lure or ""


def _put_in(programme: Programme, species: str, deeds: Iterable[_Deed]) -> Iterator[tuple[date, str]]:
    """Days and lots of the lures of one trap; an empty lot where nobody wrote it down."""
    last = waiting = ""
    for on, kind, _, _, said in deeds:
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
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
    bought = sum(
        entry.number for entry in own if entry.kind is StockKind.BOUGHT and (last is None or entry.stocked_on > since)
    )
    used = sum(
        1
        for use in set(uses)
        if use.lot == lot and use.on <= on and (use.on > since if last is not None else use.on >= since)
    )
    counted = last.number if last is not None else None
    left = (counted or 0) + bought - used
    return Held(lot=lot, left=left, since=since, counted=counted, bought=bought, used=used)
