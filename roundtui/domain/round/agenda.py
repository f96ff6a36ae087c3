"""What comes on which day: rounds, lures, liners and kill strips that fall due, and events of a life cycle.

Each has a key that stays the same while its day moves, so that a calendar can be brought up to date.

What a scout can choose from at a trap: lures to put in, lures found, fruit stages.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from enum import StrEnum
from typing import TYPE_CHECKING

from roundtui.domain.entries import NONE, YES
from roundtui.domain.programme.farm import Lot, Programme, Trap, grouped, natural_key
from roundtui.domain.programme.rounds import current_round, traps_to_walk
from roundtui.domain.programme.species import STYLES, called
from roundtui.domain.programme.stages import scale
from roundtui.domain.records import Frozen

if TYPE_CHECKING:
    from roundtui.domain.figures.history import History
    from roundtui.domain.figures.verdicts import UpkeepDue
    from roundtui.domain.season.season import OutlookRow

ROUND_DAYS = 7
"""Days from one round of a route to the next. [d]"""


class Matter(StrEnum):
    """What an item is about."""

    ROUND = "round"
    UPKEEP = "upkeep"
    EVENT = "event"


class Item(Frozen):
    """One thing on one day. Its words hold text from people as it was written."""

    matter: Matter
    """What it is about."""
    key: tuple[str, ...]
    """What tells it from all others, whatever its day is."""
    on: date | None
    """The day; None where it was on the agenda and no longer is."""
    title: str
    """One line."""
    words: tuple[str, ...] = ()
    """Further lines."""
    place: str = ""
    """Where: a block and its farm, or a route."""
    tentative: bool = False
    """Whether no confirmed biofix stands behind its day."""


def agenda(
    programme: Programme,
    history: History,
    on: date,
    outlook: Iterable[OutlookRow] = (),
    *,
    season: int | None = None,
    route: str | None = None,
    due: Mapping[str, date] | None = None,
) -> tuple[Item, ...]:
    """Everything that comes, by day.

    Args:
        programme: What is set up.
        history: The record up to the day.
        on: The day from which one looks.
        outlook: Events of the season, as they are expected on that day.
        season: Year of the season, which tells its events from those of other years; None: that of ``on``.
        route: Only this route and its blocks; None: all.
        due: Day by which a trap is to be visited, where the office asks for an interval.

    Returns:
        Rounds, upkeep and events. What fell due before the day keeps the day on which it did; pieces of traps that
        were taken down have none.
    """
    routes = programme.routes if route is None else {route: programme.routes.get(route, ())}
    blocks = {h.block for labels in routes.values() for label in labels for h in programme.hangings.get(label, ())}
    wanted = None if route is None else blocks
    items = [_round(programme, history, name, on, due or {}) for name in routes]
    items += _upkeep(programme, history, on, wanted)
    items += [_event(programme, row, season or on.year) for row in outlook if wanted is None or row.block in wanted]
    return tuple(sorted(items, key=lambda item: (item.on or date.max, item.matter, natural_key(item.title))))


def next_round(
    programme: Programme, history: History, route: str, on: date, due: Mapping[str, date] | None = None
) -> date | None:
    """Day of a route's next round: a week after the last began, or when the first of its traps is due before that.

    Today where that is past or a round is under way.

    Args:
        programme: What is set up.
        history: The record up to the day.
        route: Name of the route.
        on: The day.
        due: Day by which a trap is to be visited, where the office asks for an interval.

    Returns:
        None where no trap of the route can be read.
    """
    traps = traps_to_walk(programme, route, on)
    if not traps:
        return None
    state = current_round(traps, history.visits, on)
    if state.started_on is None or state.left:
        return on
    asked = (day for trap, day in (due or {}).items() if trap in traps)
    return max(min([state.started_on + timedelta(days=ROUND_DAYS), *asked]), on)


def round_after(programme: Programme, history: History, route: str, on: date) -> date | None:
    """Day of the round after the one that a day belongs to: a week after that began.

    Args:
        programme: What is set up.
        history: The record up to the day.
        route: Name of the route.
        on: The day.

    Returns:
        None where no trap of the route can be read, or no round was begun in the six days before.
    """
    state = current_round(traps_to_walk(programme, route, on), history.visits, on)
    return state.started_on + timedelta(days=ROUND_DAYS) if state.started_on is not None else None


def _round(programme: Programme, history: History, route: str, on: date, due: Mapping[str, date]) -> Item:
    day = next_round(programme, history, route, on, due)
    traps = traps_to_walk(programme, route, day or on)
    first = next((row for label in programme.routes.get(route, ()) for row in programme.hangings.get(label, ())), None)
    farms = dict.fromkeys(programme.farm_of(row.block) for label in traps if (row := programme.hanging(label, on)))
    names = [programme.farms[code].name for code in farms if code in programme.farms]
    return Item(
        Matter.ROUND,
        (route, _farm(programme, first.block if first else "")),
        day,
        f"Round {route}: {len(traps)} traps",
        (*((f"Farms in walking order: {', '.join(names)}",) if names else ()), *_asked(traps, due)),
        route,
    )


def _asked(traps: Sequence[str], due: Mapping[str, date]) -> Iterator[str]:
    """Traps that have a day of their own, a line for each day."""
    for day in sorted({due[trap] for trap in traps if trap in due}):
        yield f"Visit by {day.isoformat()}: {', '.join(trap for trap in traps if due.get(trap) == day)}"


def _upkeep(programme: Programme, history: History, on: date, wanted: set[str] | None) -> list[Item]:
    """An item for each kind of piece in each block and species: one visit serves all that fell due."""
    from roundtui.domain.figures import upkeep
    from roundtui.domain.figures.figures import series_of

    found: dict[tuple[str, str, str], list[UpkeepDue]] = {}
    for label in programme.hangings:
        newest = programme.hangings[label][-1]
        if wanted is not None and newest.block not in wanted:
            continue
        hanging = programme.hanging(label, on)
        if hanging is None or hanging.down_on == on:
            if newest.down_on is not None and newest.down_on.year == on.year:
                for piece in _pieces_of(newest):
                    found.setdefault((newest.block, newest.species, piece), [])
            continue
        service = history.last_service.get(label, {})
        read = series_of(hanging, history.visits.get(label, ()))
        for row in upkeep.due(programme, read, service, on, notice_days=None):
            found.setdefault((row.block, hanging.species, row.item), []).append(row)
    return [_pieces(programme, key, rows, on) for key, rows in found.items()]


def _pieces_of(hanging: Trap) -> list[str]:
    style = STYLES.get(hanging.style.casefold())
    has = {"liner": style is None or style.has_liner, "kill-strip": style is not None and style.has_kill_strip}
    return [piece for piece in _PIECES if has.get(piece, True)]


_PIECES = {"lure": "Lures", "liner": "Liners", "kill-strip": "Kill strips"}


def _pieces(programme: Programme, key: tuple[str, str, str], rows: Sequence[UpkeepDue], on: date) -> Item:
    block, species, piece = key
    by_day = grouped((on - timedelta(days=row.days_overdue or 0), row.trap) for row in rows)
    days = sorted(by_day)
    lines = [f"{day.isoformat()}: {', '.join(sorted(by_day[day], key=natural_key))}" for day in days]
    if any(row.assumed for row in rows):
        lines.append("Some days come from the usual life, not from the record.")
    due = len(by_day[days[0]]) if days else 0
    title = f"{_PIECES[piece]} due: {block} {species}" + (f", {due} of {len(rows)} traps" if due else "")
    return Item(
        Matter.UPKEEP,
        (piece, block, species, _farm(programme, block)),
        days[0] if days else None,
        title,
        tuple(lines),
        _place(programme, block),
    )


def _event(programme: Programme, row: OutlookRow, season: int) -> Item:
    event, name = row.event, row.event.event.name
    day = event.reached_on or event.expected_on
    lines = [f"Reached on {event.reached_on.isoformat()}." if event.reached_on else "Forecast only; not spray advice."]
    if event.reached_on is None and event.earliest:
        until = f" to {event.latest.isoformat()}" if event.latest else " on"
        lines.append(f"Range: {event.earliest.isoformat()}{until}, {event.why}.")
    elif event.why and event.reached_on is None:
        lines.append(f"{event.why[:1].upper()}{event.why[1:]}.")
    open_start = row.outlook.provisional or not row.confirmed
    if open_start:
        lines.append("Biofix not confirmed.")
    lines.append(f"At {event.event.degree_days:g} degree-days; source: {event.event.source}.")
    return Item(
        Matter.EVENT,
        (str(season), row.block, row.species, str(event.generation), name, _farm(programme, row.block)),
        day,
        f"{row.species}, {row.block}: {name}",
        tuple(lines),
        _place(programme, row.block),
        tentative=open_start,
    )


def _farm(programme: Programme, block: str) -> str:
    """Code and name of a block's farm: two programmes in one calendar rarely share both."""
    farm = programme.farms.get(programme.farm_of(block))
    return f"{farm.farm} {farm.name}" if farm else ""


def _place(programme: Programme, block: str) -> str:
    known = programme.blocks.get(block)
    farm = programme.farms.get(programme.farm_of(block))
    return ", ".join(name for name in (known.name if known else block, farm.name if farm else "") if name)


class Choice(Frozen):
    """One line of a list to choose from."""

    value: str
    """What is recorded."""
    words: str
    """What it is."""
    effect: str = ""
    """What choosing it does beyond the plain; empty where there is nothing to say."""


NOT_LOOKED_AT = Choice("", "not checked")
"""First line of the list of stages."""


def own_lots(programme: Programme, trap: Trap, on: date, last_used: str = "") -> tuple[Lot, ...]:
    """Lots of a trap's own species that may be put out on a day.

    Args:
        programme: What is set up.
        trap: The hanging.
        on: The day; a lot may be put out up to the day it expires.
        last_used: Lot that is in the trap, which then comes first.

    Returns:
        The lots, the one in the trap first, then the one that keeps longest.
    """
    lots = [lot for lot in _unexpired(programme, on) if lot.species == trap.species]
    lots.sort(key=lambda lot: (lot.lot != last_used, -(lot.expires_on or date.max).toordinal(), natural_key(lot.lot)))
    return tuple(lots)


def lure_choices(
    programme: Programme, trap: Trap, on: date, last_used: str = "", first: str = ""
) -> tuple[Choice, ...]:
    """Lures that can be put into a trap: its own species first, another species last and with what it does.

    Args:
        programme: What is set up.
        trap: The hanging.
        on: The day.
        last_used: Lot that is in the trap.
        first: Lot of the trap's species that was used last in this round, which then comes first.

    Returns:
        The choices; the first is the default and always of the trap's own species.
    """
    own = [
        Choice(
            lot.lot, f"lot {lot.lot}, {lot.species}{_load(lot)}{', in the trap now' if lot.lot == last_used else ''}"
        )
        for lot in sorted(own_lots(programme, trap, on, last_used), key=lambda lot: lot.lot != first)
    ]
    others = [
        Choice(
            lot.lot,
            f"lot {lot.lot}, {called(lot.species)}{_load(lot)}: another species",
            f"{trap.trap} counts as wrong lure from this day, and its body is contaminated",
        )
        for lot in sorted(_unexpired(programme, on), key=lambda lot: (lot.species, natural_key(lot.lot)))
        if lot.species != trap.species
    ]
    return (
        *own,
        Choice(YES, f"a {trap.species} lure, lot not known"),
        Choice(NONE, "none: taken out, none put in", f"{trap.trap} has no lure from this day"),
        *others,
    )


def found_choices(programme: Programme, trap: Trap) -> tuple[Choice, ...]:
    """What can be found in a trap instead of its own lure.

    Args:
        programme: What is set up.
        trap: The hanging.

    Returns:
        No lure at all, then each other species of the programme, then the lots of other species.
    """
    species = {row.species for row in programme.traps} | {lot.species for lot in programme.lots.values()}
    effect = f"{trap.trap} counts as a trap with a wrong lure since its lure was last changed"
    return (
        Choice(NONE, "no lure in the trap", f"{trap.trap} counts as without a lure since its lure was last changed"),
        *(Choice(code, f"a lure of {called(code)}", effect) for code in sorted(species - {trap.species})),
        *(
            Choice(lot.lot, f"a lure of lot {lot.lot}, {called(lot.species)}", effect)
            for lot in sorted(programme.lots.values(), key=lambda lot: (lot.species, natural_key(lot.lot)))
            if lot.species != trap.species
        ),
    )


def stage_choices(crop: str) -> tuple[Choice, ...]:
    """Stages of a crop, earliest first.

    Args:
        crop: The crop of the block.

    Returns:
        One choice per stage; its value is the two-digit BBCH code.
    """
    return tuple(Choice(stage.code, stage.name) for stage in scale(crop))


def place_of(choices: Sequence[Choice], value: str | None) -> int:
    """Where a value stands in a list of choices; 0 where it does not."""
    return next((at for at, choice in enumerate(choices) if choice.value == value), 0)


def _unexpired(programme: Programme, on: date) -> list[Lot]:
    return [lot for lot in programme.lots.values() if lot.expires_on is None or on <= lot.expires_on]


def _load(lot: Lot) -> str:
    return "" if lot.load_mg is None else f", load {float(lot.load_mg):g} mg"
