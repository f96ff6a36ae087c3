"""Year against year, and a season's end, as JSON: floats on the way out, null where there is no figure."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import Any

from roundtui.domain.season_end import BlockEnd, SeasonEnd
from roundtui.domain.years import Against, YearOf, Years


def years_json(years: Years) -> dict[str, Any]:
    """What ``years --json`` prints.

    Args:
        years: A block, or the area, over the years.
    """
    return {
        "block": years.block or None,
        "species": years.species,
        "by": years.by.value,
        "unit": years.unit.value if years.unit else None,
        "seasons": [_season(year) for year in years.seasons],
        "against": [_against(one) for one in years.against],
        "remarks": list(years.remarks),
    }


def _season(year: YearOf) -> dict[str, Any]:
    peak, first = year.peak, year.first_catch
    return {
        "season": year.season,
        "first": year.first.isoformat(),
        "last": year.last.isoformat(),
        "biofix": _day(year.biofix),
        "traps": sorted({place.trap for place in year.places}),
        "moved": [{"trap": trap, "on": on.isoformat()} for trap, on in year.moved],
        "first_catch": {"on": first.isoformat(), "at": year.at(first)} if first else None,
        "peak": {"on": peak.on.isoformat(), "at": peak.at, "per_week": _float(peak.per_week)} if peak else None,
        "total": _float(year.total),
        "weeks_over": year.weeks_over,
        "weeks_judged": year.weeks_judged,
        "points": [
            {"on": p.on.isoformat(), "at": p.at, "per_week": _float(p.per_week), "total": _float(p.total)}
            for p in year.points
        ],
    }


def _against(one: Against) -> dict[str, Any]:
    return {
        "season": one.season,
        "on": _day(one.on),
        "per_week": _float(one.per_week),
        "total": _float(one.total),
        "peak": {"on": one.peak[0].isoformat(), "per_week": _float(one.peak[1])} if one.peak else None,
        "weeks_over": one.weeks[0],
        "weeks_judged": one.weeks[1],
        "comparable": one.comparable,
        "why_not": list(one.why_not),
    }


def season_end_json(end: SeasonEnd) -> dict[str, Any]:
    """What ``season-end --json`` prints of a farm, or of the programme.

    Args:
        end: The season.
    """
    return {
        "farm": end.farm or None,
        "season": end.season,
        "first": end.first.isoformat(),
        "last": end.last.isoformat(),
        "rounds": [{"route": route or None, "walked": number} for route, number in end.rounds],
        "scouts": list(end.scouts),
        "traps": end.traps,
        "readings": end.readings,
        "moths": end.moths,
        "not_read": {reason.value: number for reason, number in end.not_read},
        "lost": [{"trap": trap, "on": on.isoformat()} for trap, on in end.lost],
        "lures": [{"species": species, "lot": lot or None, "used": used} for species, lot, used in end.lures],
        "liners": end.liners,
        "kill_strips": end.kill_strips,
        "bodies": end.bodies,
        "parts": {
            "stored": [
                {"species": row.species, "part": row.part.value, "place": row.place or None, "labels": list(row.labels)}
                for row in end.stored
            ],
            **{
                state: [part.label for part in end.parts_gone if part.state.value == state]
                for state in ("lost", "discarded")
            },
            "to_discard": [part.label for part in end.to_discard],
        },
        "weeks_over": end.weeks_over,
        "blocks": [_block(row) for row in end.blocks],
    }


def _block(row: BlockEnd) -> dict[str, Any]:
    return {
        "block": row.block,
        "species": row.species,
        "traps": row.traps,
        "weeks_over": row.weeks_over,
        "weeks_judged": row.weeks_judged,
        "first_catch": _day(row.first_catch),
        "peak": _float(row.peak),
        "peak_on": _day(row.peak_on),
        "total": _float(row.total),
        "last_total": _float(row.last_total),
        "why_not": list(row.why_not),
    }


def _float(value: Fraction | None) -> float | None:
    return None if value is None else float(value)


def _day(on: date | None) -> str | None:
    return None if on is None else on.isoformat()
