"""The plan of a season, packing lists and the stock of lures as JSON, with the keys that others rely on."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from roundtui.domain.plan.hang_by import HangReason
from roundtui.domain.plan.lure_needs import LotStock
from roundtui.domain.plan.packing import PackLine
from roundtui.domain.plan.packing_round import RoundPacking
from roundtui.domain.plan.past import PastSeason
from roundtui.domain.plan.season import PlanRow, SeasonPlan


def plan_json(plan: SeasonPlan) -> dict[str, Any]:
    """What ``plan --json`` prints.

    Args:
        plan: The plan.
    """
    return {
        "season": plan.season,
        "on": plan.span.on.isoformat(),
        "first": plan.span.first.isoformat(),
        "last": plan.span.last.isoformat(),
        "ends_on": _day(plan.ends_on),
        "rows": [_row(row) for row in plan.rows],
    }


def _row(row: PlanRow) -> dict[str, Any]:
    return {
        "farm": row.farm,
        "block": row.block,
        "species": row.species,
        "traps": row.traps,
        "why": row.why,
        "advised": row.advised,
        "advice_source": row.advice_source,
        "hung": list(row.hung),
        "hung_on": _day(row.hung_on),
        "hang_by": _day(row.hang_by),
        "days_left": row.days_left,
        "late_days": row.late_days,
        "state": row.state.value,
        "decided_by": row.decided_by.rule if row.decided_by else None,
        "reasons": [_reason(reason) for reason in row.reasons],
        "last_season": _past(row.past) if row.past else None,
    }


def _reason(reason: HangReason) -> dict[str, Any]:
    return {
        "rule": reason.rule,
        "kind": reason.kind.value,
        "on": _day(reason.on),
        "words": reason.words,
        "source": reason.source,
        "elsewhere": reason.elsewhere,
    }


def _past(past: PastSeason) -> dict[str, Any]:
    return {
        "season": past.season,
        "traps": list(past.traps),
        "lost": list(past.lost),
        "hung_on": _day(past.hung_on),
        "first_read": _day(past.first_read),
        "first_moths": past.first_moths if past.first_read else None,
        "first_catch": _day(past.first_catch),
        "hung_too_late": past.hung_too_late,
        "ended_on": _day(past.ended_on),
    }


def season_packing_json(lines: Sequence[PackLine], plan: SeasonPlan) -> dict[str, Any]:
    """What ``packing --json`` prints without a route.

    Args:
        lines: The list.
        plan: The plan it is for.
    """
    return {
        "route": None,
        "season": plan.season,
        "on": plan.span.on.isoformat(),
        "round_on": None,
        "traps": [],
        "lines": [_line(line) for line in lines],
    }


def round_packing_json(found: RoundPacking, on: date, season: int) -> dict[str, Any]:
    """What ``packing --route --json`` prints.

    Args:
        found: The list.
        on: The day from which one looks.
        season: Year in which the season started.
    """
    return {
        "route": found.route,
        "season": season,
        "on": on.isoformat(),
        "round_on": _day(found.on),
        "traps": list(found.traps),
        "lines": [_line(line) for line in found.lines],
    }


def _line(line: PackLine) -> dict[str, Any]:
    return {
        "item": line.item.value,
        "species": line.species or None,
        "detail": line.detail or None,
        "needed": line.needed,
        "in_store": line.in_store,
        "to_buy": line.to_buy,
        "words": line.words,
        "traps": list(line.traps),
    }


def stock_json(lots: Iterable[LotStock], on: date, unknown: int) -> dict[str, Any]:
    """What ``stock --json`` prints; ``left`` is null for a lot that was never bought or counted on record.

    Args:
        lots: The lots.
        on: The day.
        unknown: Lures put out since the first count whose lot nobody wrote down.
    """
    return {
        "on": on.isoformat(),
        "without_lot": unknown,
        "lots": [
            {
                "lot": lot.lot,
                "species": lot.species,
                "left": lot.held.left,
                "since": _day(lot.held.since),
                "counted": lot.held.counted,
                "bought": lot.held.bought,
                "used": lot.held.used,
                "expires_on": _day(lot.expires_on),
                "needed_next": lot.needed_next,
                "needed": lot.needed,
                "runs_out_on": _day(lot.runs_out_on),
                "state": lot.state.value,
                "traps": list(lot.traps),
            }
            for lot in lots
        ],
    }


def _day(on: date | None) -> str | None:
    return on.isoformat() if on else None
