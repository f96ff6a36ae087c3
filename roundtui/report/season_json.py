"""Degree-days, biofixes and the outlook as JSON, with the keys that others rely on."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from roundtui.domain.season_view import BiofixRow, OutlookRow
from roundtui.domain.weather.days import DegreeDaySum


def sum_json(total: DegreeDaySum) -> dict[str, Any]:
    """What ``degree-days FOLDER --json`` prints.

    Args:
        total: The running sum.
    """
    return {
        "unit": total.unit.value,
        "total": total.total,
        "rows": [
            {
                "date": row.on.isoformat(),
                "tmin": row.tmin,
                "tmax": row.tmax,
                "degree_days": row.degree_days,
                "total": row.total,
                "filled": row.filled,
            }
            for row in total.rows
        ],
    }


def biofix_json(rows: Iterable[BiofixRow]) -> list[dict[str, Any]]:
    """What ``biofix --json`` prints.

    Args:
        rows: Biofixes of all blocks.

    Returns:
        A dict for each block, species and generation; ``rule`` is the id of the rule that proposes.
    """
    return [
        {
            "block": row.block,
            "species": row.species,
            "season": row.season,
            "generation": row.biofix.generation,
            "proposed": _day(row.biofix.proposal.on if row.biofix.proposal else None),
            "confirmed": _day(row.biofix.confirmed),
            "rule": row.biofix.proposal.rule.id if row.biofix.proposal else None,
            "doubtful": bool(row.doubts),
        }
        for row in rows
    ]


def outlook_json(rows: Iterable[OutlookRow]) -> list[dict[str, Any]]:
    """What ``outlook --json`` prints.

    Args:
        rows: Events of all blocks.

    Returns:
        A dict for each event; degree-days are in the unit of the species' model, ``years`` is how many past years
        stand behind the date.
    """
    return [
        {
            "block": row.block,
            "species": row.species,
            "generation": row.event.generation,
            "event": row.event.event.name,
            "degree_days": row.event.event.degree_days,
            "accumulated": row.event.accumulated,
            "reached_on": _day(row.event.reached_on),
            "expected_on": _day(row.event.expected_on),
            "earliest": _day(row.event.earliest),
            "latest": _day(row.event.latest),
            "years": row.event.years,
            "source": row.event.event.source,
        }
        for row in rows
    ]


def _day(on: date | None) -> str | None:
    return on.isoformat() if on else None
