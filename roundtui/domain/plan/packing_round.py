"""What is packed for the next round of a route: what falls due by then, what may, and what to hang again."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from roundtui.domain import upkeep
from roundtui.domain.agenda import next_round
from roundtui.domain.exposure import Reading, readings
from roundtui.domain.farm import Programme, Trap
from roundtui.domain.history import History
from roundtui.domain.plan.lure_needs import Want, lots_in_stock
from roundtui.domain.plan.packing import PackItem, PackLine, spares
from roundtui.domain.plan.rules import Margins
from roundtui.domain.plan.stock import StoreRoom
from roundtui.domain.progress import traps_to_walk
from roundtui.domain.species import LINER_MOTHS, trap_style
from roundtui.domain.verdicts import UpkeepDue
from roundtui.domain.visits import NONE, NoReading, Visit


@dataclass(frozen=True, slots=True)
class RoundPacking:
    """The packing list of a round."""

    route: str
    """The route."""
    on: date | None
    """Day of its next round; None where no trap of it can be read."""
    traps: tuple[str, ...]
    """Traps in walking order."""
    lines: tuple[PackLine, ...]
    """What to take along."""


def round_packing(
    programme: Programme, history: History, route: str, on: date, *, store: StoreRoom, margins: Margins
) -> RoundPacking:
    """Pack for the next round of a route.

    Args:
        programme: What is set up.
        history: The record up to the day.
        route: Name of the route.
        on: The day from which one looks.
        store: Lures in stock.
        margins: Habits of the office.
    """
    day = next_round(programme, history, route, on)
    if day is None:
        return RoundPacking(route, None, (), ())
    traps = traps_to_walk(programme, route, day)
    hung = [row for trap in traps if (row := programme.hanging(trap, day)) is not None]
    found = [piece for row in hung for piece in _pieces(programme, history, row, day)]
    again = [row for row in hung if _gone(history.visits.get(row.trap, ()))]
    lures = [*(one.trap for one in found if one.item == "lure"), *_empty(hung, history), *(row.trap for row in again)]
    lines = [
        *_bodies(hung, again, margins),
        *_lures(programme, history, tuple(dict.fromkeys(lures)), day, store),
        *_due(PackItem.LINER, "liner", found, [row.trap for row in again if trap_style(row.style).has_liner]),
        *_due(PackItem.KILL_STRIP, "kill-strip", found, [r.trap for r in again if trap_style(r.style).has_kill_strip]),
    ]
    tapes = max(1, len(again)) * margins.tapes_per_trap
    if tapes:
        words = f"for {', '.join(row.trap for row in again)}" if again else "spare, where one has come off"
        lines.append(PackLine(item=PackItem.TAPE, needed=tapes, words=words, traps=tuple(row.trap for row in again)))
    return RoundPacking(route, day, traps, tuple(lines))


@dataclass(frozen=True, slots=True)
class _Piece:
    trap: str
    item: str
    why: str


def _pieces(programme: Programme, history: History, row: Trap, day: date) -> Iterable[_Piece]:
    service = history.last_service.get(row.trap, {})
    read = readings(row, history.visits.get(row.trap, ()))
    for due in upkeep.due(programme, row, read, service, day, notice_days=None):
        overdue = due.days_overdue or 0
        if overdue >= 0:
            yield _Piece(row.trap, due.item, "due")
        elif overdue >= -upkeep.NOTICE_DAYS:
            yield _Piece(row.trap, due.item, "due within a week of it")
        elif due.item == "liner" and _fills(due, read, day):
            yield _Piece(row.trap, due.item, "likely full by then")


def _fills(due: UpkeepDue, read: Sequence[Reading], day: date) -> bool:
    """Whether a liner is likely to be full by a day, where the catch goes on as it was read last."""
    last = next((one for one in reversed(read) if one.pace is not None and one.read_on <= day), None)
    if last is None or last.pace is None:
        return False
    return (due.catch or 0) + last.pace * Fraction((day - last.read_on).days, 7) >= LINER_MOTHS


def _gone(visits: Sequence[Visit]) -> bool:
    """Whether a trap was missing or damaged when somebody looked last."""
    told = [visit for visit in visits if visit.count is not None or visit.no_reading is not None]
    last = told[-1] if told else None
    return (
        last is not None
        and last.no_reading in (NoReading.MISSING, NoReading.DAMAGED)
        and not any(visit.body is not None and visit.order >= last.order for visit in visits)
    )


def _empty(hung: Sequence[Trap], history: History) -> Iterable[str]:
    """Traps without a lure."""
    for row in hung:
        lure = history.last_service.get(row.trap, {}).get("lure")
        if lure is not None and lure.lure == NONE:
            yield row.trap


def _bodies(hung: Sequence[Trap], again: Sequence[Trap], margins: Margins) -> Iterable[PackLine]:
    for species in sorted({row.species for row in hung}):
        number = sum(1 for row in hung if row.species == species)
        gone = tuple(row.trap for row in again if row.species == species)
        spare = spares(number, margins)
        words = f"{len(gone)} to hang again, {spare} spare" if gone else "spare; a body belongs to one species for life"
        if spare or gone:
            yield PackLine(item=PackItem.BODY, species=species, needed=len(gone) + spare, words=words, traps=gone)


def _lures(
    programme: Programme, history: History, traps: Sequence[str], day: date, store: StoreRoom
) -> Iterable[PackLine]:
    wanted = []
    for trap in traps:
        row = programme.hanging(trap, day)
        if row is not None:
            lot = upkeep.present_lot(programme, row, history.last_service.get(trap, {}))
            wanted.append(Want(day, trap, row.species, lot.lot if lot else ""))
    met: set[str] = set()
    for found in lots_in_stock(programme, store.entries, store.uses, wanted, day):
        if found.needed:
            met.update(found.traps)
            left = found.held.left
            yield PackLine(
                item=PackItem.LURE,
                species=found.species,
                detail=found.lot,
                needed=found.needed,
                in_store=None if left is None else max(0, left),
                words="due, or due within a week of the round",
                traps=found.traps,
            )
    rest: Mapping[str, list[str]] = {want.species: [] for want in wanted if want.trap not in met}
    for want in wanted:
        if want.trap not in met:
            rest[want.species].append(want.trap)
    for species, labels in sorted(rest.items()):
        words = "no lot of the species is set up"
        yield PackLine(item=PackItem.LURE, species=species, needed=len(labels), words=words, traps=tuple(labels))


def _due(item: PackItem, name: str, found: Sequence[_Piece], again: Sequence[str]) -> Iterable[PackLine]:
    reasons: dict[str, list[str]] = {}
    for piece in found:
        if piece.item == name and piece.trap not in again:
            reasons.setdefault(piece.why, []).append(piece.trap)
    if again:
        reasons["in traps to hang again"] = list(again)
    if reasons:
        traps = tuple(trap for labels in reasons.values() for trap in labels)
        words = "; ".join(f"{len(labels)} {why}" for why, labels in reasons.items())
        yield PackLine(item=item, needed=len(traps), words=words, traps=traps)
