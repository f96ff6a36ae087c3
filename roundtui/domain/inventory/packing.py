"""What is packed for a season: bodies, lures, liners, kill strips, flagging tape, and what of it is to be bought.

What is packed for the next round of a route: what falls due by then, what may, and what to hang again.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field
from datetime import date, timedelta
from enum import StrEnum
from fractions import Fraction

from roundtui.domain.entries import NONE, NoReading, Visit
from roundtui.domain.figures import upkeep
from roundtui.domain.figures.figures import Reading, series_of
from roundtui.domain.figures.history import History
from roundtui.domain.figures.verdicts import UpkeepDue
from roundtui.domain.inventory.plan import PlanRow, SeasonPlan, last_look
from roundtui.domain.inventory.plan_rules import Margins
from roundtui.domain.inventory.stock import LotStock, StoreRoom, Want, every, lots_in_stock, lure_life
from roundtui.domain.programme.farm import Programme, Trap, grouped, natural_key
from roundtui.domain.programme.rounds import traps_to_walk
from roundtui.domain.programme.species import KILL_STRIP_DAYS, LINER_DAYS, SPECIES, TrapStyle, trap_style
from roundtui.domain.records import Frozen
from roundtui.domain.round.agenda import next_round


class PackItem(StrEnum):
    """What is packed."""

    BODY = "trap body"
    LURE = "lure"
    LINER = "liner"
    KILL_STRIP = "kill strip"
    TAPE = "flagging tape"


class PackLine(Frozen, kw_only=True):
    """One line of a packing list."""

    item: PackItem
    """What it is."""
    species: str = ""
    """Abbreviation of the species it is for; empty: any."""
    detail: str = ""
    """Lot of a lure, style of a body."""
    needed: int
    """How many are wanted."""
    in_store: int | None = None
    """How many are there; None: nobody counted them, which is not zero."""
    words: str = ""
    """How the number comes about."""
    traps: tuple[str, ...] = ()
    """Traps they are for."""

    @property
    def to_buy(self) -> int | None:
        """How many are missing; None where nobody knows what is there."""
        return None if self.in_store is None else max(0, self.needed - self.in_store)


class Place(Frozen):
    """A trap of the plan that is to hang, or hangs already."""

    label: str
    """Its label; a word in its place for one that has none yet."""
    species: str
    """Abbreviation of the species."""
    style: TrapStyle
    """Its style."""
    lot: str
    """Lot used in it last."""
    first: date
    """Day from which it needs pieces: hanging, or today."""
    last: date
    """Day it comes down."""
    hangs: bool
    """Whether it hangs already."""
    liners: int = 0
    """Liners replaced in it last season."""
    assembled: str | None = None
    """Lot that was put in when it was put together; empty: no lure yet; None: it is not put together."""


class Before(Frozen):
    """What the record tells of the traps that are planned."""

    lots: Mapping[str, str] = field(default_factory=dict)
    """Lot of its own species used last in each trap."""
    liners: Mapping[str, int] = field(default_factory=dict)
    """Liners replaced last season in each trap."""
    assembled: Mapping[str, str] = field(default_factory=dict)
    """Traps put together that do not hang yet, and the lot put in; empty where no lure is in yet."""


def places(plan: SeasonPlan, programme: Programme, before: Before, margins: Margins) -> tuple[Place, ...]:
    """Every trap of a plan, with the days on which it wants pieces.

    Args:
        plan: The plan.
        programme: Hangings of this season and the one before.
        before: What the record tells of the traps.
        margins: Habits of the office.
    """
    found = []
    for row in plan.rows:
        labels = _labels(row)
        first = max(plan.span.on, row.hang_by or plan.span.first)
        last = _down(plan, row, first, margins)
        for label in labels:
            hangs = label in row.hung
            hanging = programme.hangings[label][-1] if label in programme.hangings else None
            found.append(
                Place(
                    label,
                    row.species,
                    _style(hanging, row.species),
                    before.lots.get(label) or _lot_nearby(row, before),
                    plan.span.on if hangs else first,
                    last,
                    hangs,
                    before.liners.get(label, 0),
                    before.assembled.get(label),
                )
            )
    return tuple(found)


def _labels(row: PlanRow) -> list[str]:
    """Labels of a row: those that hang, then last season's, then words for those that have none."""
    known = dict.fromkeys([*row.hung, *(row.past.traps if row.past else ())])
    labels = list(known)[: max(row.traps, len(row.hung))]
    return [*labels, *(f"new in {row.block} {number}" for number in range(1, row.traps - len(labels) + 1))]


def _down(plan: SeasonPlan, row: PlanRow, first: date, margins: Margins) -> date:
    if row.past is not None and row.past.ended_on is not None:
        return plan.span.moved(row.past.ended_on, row.past.season)
    return plan.ends_on or min(first + timedelta(days=margins.season_days), plan.span.last)


def _style(hanging: Trap | None, species: str) -> TrapStyle:
    if hanging is not None and hanging.style:
        return trap_style(hanging.style)
    known = SPECIES.get(species)
    return trap_style(known.styles[0] if known else "")


def _lot_nearby(row: PlanRow, before: Before) -> str:
    lots = [before.lots[trap] for trap in (row.past.traps if row.past else row.hung) if trap in before.lots]
    return lots[0] if lots else ""


def first_lures(found: Iterable[Place], programme: Programme) -> tuple[Want, ...]:
    """Lures for the traps that are still to hang: the first one, where it is not in yet, and those that replace it.

    Args:
        found: Traps of the plan.
        programme: Lots.
    """
    wanted = []
    for place in (place for place in found if not place.hangs):
        days = every(place.first, lure_life(programme.lots.get(place.lot), place.species), place.last)
        # The first one is in a trap already that was put together with it.
        wanted += [Want(day, place.label, place.species, place.lot) for day in (days[1:] if place.assembled else days)]
    return tuple(wanted)


def season_packing(
    found: Sequence[Place], lots: Iterable[LotStock], bodies: Mapping[str, int], margins: Margins
) -> tuple[PackLine, ...]:
    """The packing list of a season, from the day on which one samples.

    Args:
        found: Traps of the plan.
        lots: Lots with what will be wanted of each.
        bodies: Labelled bodies in store by species; a species that is missing was never counted.
        margins: Habits of the office.
    """
    lines = [*_bodies(found, bodies, margins)]
    lines += [
        PackLine(
            item=PackItem.LURE,
            species=lot.species,
            detail=lot.lot,
            needed=lot.needed,
            in_store=lot.held.left if lot.held.left is None else max(0, lot.held.left),
            words=f"{lot.needed_next} in the next 4 weeks",
            traps=lot.traps,
        )
        for lot in lots
        if lot.needed
    ]
    lines += _liners(found)
    lines += _strips(found)
    tapes = sum(1 for place in found if not place.hangs) * margins.tapes_per_trap
    if tapes:
        words = f"{margins.tapes_per_trap} strips to a trap: at the tree and at the end of the row"
        lines.append(PackLine(item=PackItem.TAPE, needed=tapes, words=words))
    return tuple(lines)


def spares(number: int, margins: Margins) -> int:
    """Spare bodies for so many traps of a species: at least one.

    Args:
        number: Traps.
        margins: Habits of the office.
    """
    return max(1, -(-Fraction(number) * margins.spare_share // 1)) if number and margins.spare_share else 0


def _bodies(found: Sequence[Place], bodies: Mapping[str, int], margins: Margins) -> Iterable[PackLine]:
    to_hang = [place for place in found if not place.hangs and place.assembled is None]
    groups = grouped(((place.species, place.style.style), place) for place in to_hang)
    left = dict(bodies)
    for (species, style), group in sorted(groups.items()):
        spare = spares(len(group), margins)
        needed = len(group) + spare
        there = min(left[species], needed) if species in left else None
        if there is not None:
            left[species] -= there
        traps = tuple(sorted((place.label for place in group), key=natural_key))
        words = f"{len(group)} to hang, {spare} spare"
        yield PackLine(
            item=PackItem.BODY, species=species, detail=style, needed=needed, in_store=there, words=words, traps=traps
        )


def _liners(found: Sequence[Place]) -> Iterable[PackLine]:
    with_liner = [place for place in found if place.style.has_liner and not place.style.sticky]
    number = sum(
        max(len(every(place.first, LINER_DAYS, place.last)), 0 if place.hangs else place.liners + 1)
        for place in with_liner
    )
    if number:
        words = f"{len(with_liner)} in use, each {LINER_DAYS} days, or as often as last season"
        yield PackLine(item=PackItem.LINER, needed=number, words=words)


def _strips(found: Sequence[Place]) -> Iterable[PackLine]:
    with_strip = [place for place in found if place.style.has_kill_strip]
    number = sum(len(every(place.first, KILL_STRIP_DAYS, place.last)) for place in with_strip)
    if number:
        words = f"{len(with_strip)} in use, each {KILL_STRIP_DAYS} days; the strip's label comes first, gloves on"
        yield PackLine(item=PackItem.KILL_STRIP, needed=number, words=words)


class Packing(Frozen):
    """The packing list of a season, or of the next round of a route."""

    season: int
    """Year in which the season starts."""
    lines: tuple[PackLine, ...] = ()
    """What is packed."""
    route: str = ""
    """The route; empty: it is the season's."""
    on: date | None = None
    """Day of its next round; None where no trap of it can be read."""
    traps: tuple[str, ...] = ()
    """Its traps in walking order."""


def round_packing(
    programme: Programme,
    history: History,
    route: str,
    on: date,
    *,
    season: int,
    store: StoreRoom,
    margins: Margins,
    due: Mapping[str, date] | None = None,
) -> Packing:
    """Pack for the next round of a route.

    Args:
        programme: What is set up.
        history: The record up to the day.
        route: Name of the route.
        on: The day from which one looks.
        season: Year in which its season started.
        store: Lures in stock.
        margins: Habits of the office.
        due: Day by which a trap is to be visited, where the office asks for an interval.
    """
    day = next_round(programme, history, route, on, due)
    if day is None:
        return Packing(season, route=route)
    traps = traps_to_walk(programme, route, day)
    hung = [row for trap in traps if (row := programme.hanging(trap, day)) is not None]
    found = [piece for row in hung for piece in _pieces(programme, history, row, day)]
    styles = {row.trap: trap_style(row.style) for row in hung}
    again = [row for row in hung if _gone(history.visits.get(row.trap, ()))]
    services = [(row.trap, history.last_service.get(row.trap, {}).get("lure")) for row in hung]
    empty = [trap for trap, visit in services if visit is not None and visit.lure == NONE]
    gone = tuple(row.trap for row in again)
    lures = dict.fromkeys([*(trap for item, _, trap in found if item == "lure"), *empty, *gone])
    liners = [trap for trap in gone if styles[trap].has_liner and not styles[trap].sticky]
    lines = [
        *_bodies_packing_round(hung, again, margins),
        *_lures(programme, history, lures, day, store),
        *_due(PackItem.LINER, "liner", found, liners),
        *_due(PackItem.KILL_STRIP, "kill-strip", found, [trap for trap in gone if styles[trap].has_kill_strip]),
    ]
    tapes = max(1, len(again)) * margins.tapes_per_trap
    if tapes:
        words = f"for {', '.join(gone)}" if gone else "spare, where one has come off"
        lines.append(PackLine(item=PackItem.TAPE, needed=tapes, words=words, traps=gone))
    return Packing(season, tuple(lines), route, day, traps)


def _pieces(programme: Programme, history: History, row: Trap, day: date) -> Iterable[tuple[str, str, str]]:
    """Pieces of a trap that are due by a day: what it is, why, and the trap."""
    service = history.last_service.get(row.trap, {})
    read = series_of(row, history.visits.get(row.trap, ()))
    for due in upkeep.due(programme, read, service, day, notice_days=None):
        overdue = due.days_overdue or 0
        if overdue >= 0:
            yield due.item, "due", row.trap
        elif overdue >= -upkeep.NOTICE_DAYS:
            yield due.item, "due within a week of it", row.trap
        elif due.item == "liner" and _fills(row, due, read.readings, day):
            yield due.item, "likely full by then", row.trap


def _fills(row: Trap, due: UpkeepDue, read: Sequence[Reading], day: date) -> bool:
    """Whether a liner is likely to be full by a day, where the catch goes on as it was read last."""
    last = next((one for one in reversed(read) if one.pace is not None and one.read_on <= day), None)
    full_at = upkeep.full_at(row)
    if last is None or last.pace is None or full_at is None:
        return False
    return (due.catch or 0) + last.pace * Fraction((day - last.read_on).days, 7) >= full_at


def _gone(visits: Sequence[Visit]) -> bool:
    """Whether a trap was missing or damaged when somebody looked last."""
    last = last_look(visits)
    return (
        last is not None
        and last.no_reading in (NoReading.MISSING, NoReading.DAMAGED)
        and not any(visit.body is not None and visit.order >= last.order for visit in visits)
    )


def _bodies_packing_round(hung: Sequence[Trap], again: Sequence[Trap], margins: Margins) -> Iterable[PackLine]:
    for species in sorted({row.species for row in hung}):
        number = sum(1 for row in hung if row.species == species)
        gone = tuple(row.trap for row in again if row.species == species)
        spare = spares(number, margins)
        words = f"{len(gone)} to hang again, {spare} spare" if gone else "spare; a body belongs to one species for life"
        if spare or gone:
            yield PackLine(item=PackItem.BODY, species=species, needed=len(gone) + spare, words=words, traps=gone)


def _lures(
    programme: Programme, history: History, traps: Iterable[str], day: date, store: StoreRoom
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
    rest = grouped((want.species, want.trap) for want in wanted if want.trap not in met)
    for species, labels in sorted(rest.items()):
        words = "no lot of the species is set up"
        yield PackLine(item=PackItem.LURE, species=species, needed=len(labels), words=words, traps=tuple(labels))


def _due(item: PackItem, name: str, found: Iterable[tuple[str, str, str]], again: Sequence[str]) -> Iterable[PackLine]:
    reasons = grouped((why, trap) for piece, why, trap in found if piece == name and trap not in again)
    if again:
        reasons["in traps to hang again"] = list(again)
    if reasons:
        traps = tuple(trap for labels in reasons.values() for trap in labels)
        words = "; ".join(f"{len(labels)} {why}" for why, labels in reasons.items())
        yield PackLine(item=item, needed=len(traps), words=words, traps=traps)
