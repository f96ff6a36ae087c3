"""The summary as the contract's JSON: exact inside, floats on the way out, null where a figure does not exist."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import Any

from roundtui.domain.verdicts import BlockRow, Summary, Trouble


def summary_json(summary: Summary) -> dict[str, Any]:
    """What ``summary --json`` prints.

    Args:
        summary: The summary of one day.

    Returns:
        A value made of dicts, lists, text, numbers, booleans and None, with the contract's keys in its order.
    """
    return {
        "on": summary.on.isoformat(),
        "blocks": [_block(row) for row in summary.blocks],
        "integrity": [_trouble(trouble) for trouble in summary.integrity],
        "upkeep": [
            {"trap": due.trap, "item": due.item, "why": due.why, "days_overdue": due.days_overdue, "catch": due.catch}
            for due in summary.upkeep
        ],
        "not_read": [
            {"trap": row.trap, "reason": None if row.reason is None else row.reason.value} for row in summary.not_read
        ],
        "unlikely": [{"trap": row.trap, "count": row.count} for row in summary.unlikely],
        "conflicts": [
            {"trap": row.trap, "read_on": row.read_on.isoformat(), "entries": list(row.entries)}
            for row in summary.conflicts
        ],
    }


def _block(row: BlockRow) -> dict[str, Any]:
    return {
        "farm": row.farm,
        "block": row.block,
        "species": row.species,
        "hung": row.hung,
        "read": row.read,
        "counted": row.counted,
        "mean_per_week": _float(row.mean_per_week),
        "max_per_week": _float(row.max_per_week),
        "mean_with_suspect": _float(row.mean_with_suspect),
        "edge_mean": _float(row.edge_mean),
        "previous_per_week": _float(row.previous_per_week),
        "cumulative": _float(row.cumulative),
        "band": None if row.band is None else [float(row.band[0]), float(row.band[1])],
        "status": row.status.value,
        "thin": row.thin,
        "rule": None
        if row.rule is None
        else {
            "id": row.rule.id,
            "kind": row.rule.kind,
            "value": _float(row.rule.value),
            "source": row.rule.source,
            "date": _day(row.rule.date),
        },
        "weak_evidence": row.weak_evidence,
        "stage": row.stage,
        "rules": list(row.rules),
        "assumed": list(row.assumed),
    }


def _trouble(trouble: Trouble) -> dict[str, Any]:
    return {
        "kind": trouble.kind.value,
        "farm": trouble.farm,
        "block": trouble.block,
        "trap": trouble.trap,
        "species": trouble.species,
        "found": trouble.found,
        "since": _day(trouble.since),
        "partner": trouble.partner,
    }


def _float(value: Fraction | None) -> float | None:
    return None if value is None else float(value)


def _day(on: date | None) -> str | None:
    return None if on is None else on.isoformat()
