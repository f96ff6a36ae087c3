"""What a picture of a season shows, put together from the record of the season."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from roundtui.domain.figures import Series
from roundtui.domain.season_catch import CatchPoint, catch_points, days_moved
from roundtui.report.season_chart import Picture, YearBeside
from roundtui.report.words import Names

if TYPE_CHECKING:
    from roundtui.store.season import SeasonRecord

Key = tuple[str, str]
"""Block and species."""


def traps_of(record: SeasonRecord, key: Key) -> tuple[str, ...]:
    """Traps of a block and species that hung in the season, those at the edge too, in order of label."""
    return tuple(dict.fromkeys(one.trap for one in record.block(*key).traps))


def picture_of(record: SeasonRecord, key: Key, trap: str = "", beside: Sequence[YearBeside] = ()) -> Picture:
    """A season as a picture.

    Args:
        record: The season, on the day from which it is looked at.
        key: Block and species.
        trap: The one trap to show; empty: the mean of the block.
        beside: Other years, drawn thinly.
    """
    group = _group(record, key, trap)
    season = record.block(*key)
    rule = next((rule for rule in record.office.rules if rule.id == season.rule), None)
    return Picture(
        season=season,
        place=Names(record.programme).place(key[0]),
        points=_points(record, group),
        moves=days_moved(group, record.programme.hangings, record.first),
        beside=tuple(beside),
        trap=trap,
        treatments=tuple(sorted({one.treated_on for one in record.treatments if (one.block, one.species) == key})),
        rule_kind=rule.kind if rule else None,
    )


def year_beside(record: SeasonRecord, key: Key) -> YearBeside | None:
    """Another year to stand beside a season.

    Args:
        record: The other year, on its last day.
        key: Block and species.

    Returns:
        None where no trap of the species hung in the block that year.
    """
    if key not in record.series:
        return None
    group = _group(record, key, "")
    return YearBeside(record.season, _points(record, group), record.block(*key).from_start)


def _group(record: SeasonRecord, key: Key, trap: str) -> list[Series]:
    """Series of one trap, or of those in the block's mean; where all hang at the edge, of these."""
    group = record.series.get(key, [])
    if trap:
        return [one for one in group if one.hanging.trap == trap]
    return [one for one in group if not one.hanging.edge] or group


def _points(record: SeasonRecord, group: Sequence[Series]) -> tuple[CatchPoint, ...]:
    """Points of the season alone; readings of the season before are at hand for the first of them."""
    moves = days_moved(group, record.programme.hangings, record.first)
    return tuple(point for point in catch_points(group, moves) if record.first <= point.on <= record.on)
