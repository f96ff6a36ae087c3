"""The close of a season, and what bodies have held, as JSON."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from roundtui.domain.integrity import Held
from roundtui.domain.kit.parts import KnownParts, Part
from roundtui.domain.kit.season_close import ToTakeDown, not_put_away, stored, to_discard
from roundtui.report.kit_words import bodies_of
from roundtui.store.close import Close


def taking_down_json(close: Close) -> dict[str, Any]:
    """What ``taking-down --json`` prints.

    Args:
        close: The season.
    """
    parts, lost = close.known.parts.values(), close.losses
    return {
        "on": close.on.isoformat(),
        "traps": [_trap(row) for row in close.hanging],
        "stored": [
            {"species": row.species, "part": row.part.value, "place": row.place or None, "labels": list(row.labels)}
            for row in stored(parts)
        ],
        "not_put_away": [_part(part) for part in not_put_away(parts)],
        "to_discard": [_part(part) for part in to_discard(parts)],
        "losses": {
            "missing": [{"trap": trap, "since": since.isoformat()} for trap, since in lost.missing],
            "never_down": list(lost.never_down),
            "lost": [_part(part) for part in lost.lost],
            "discarded": [_part(part) for part in lost.discarded],
        },
    }


def bodies_json(known: KnownParts, label: str = "") -> list[dict[str, Any]]:
    """What ``bodies --json`` prints.

    Args:
        known: What is known of parts.
        label: Only the body of this label; empty: all.
    """
    return [_part(part) | {"held": list(_held(held))} for part, held in bodies_of(known, label)]


def _trap(row: ToTakeDown) -> dict[str, Any]:
    hanging = row.hanging
    return {
        "route": row.route or None,
        "farm": row.farm,
        "block": hanging.block,
        "trap": hanging.trap,
        "species": hanging.species,
        "row": hanging.row or None,
        "tree": hanging.tree or None,
        "hung_on": _day(hanging.hung_on),
        "missing_since": _day(row.missing_since),
        "parts": [_part(part) for part in row.parts],
    }


def _part(part: Part) -> dict[str, Any]:
    return {
        "part": part.part.value,
        "label": part.label,
        "species": part.species,
        "state": part.state.value,
        "since": _day(part.since),
        "trap": part.trap or None,
        "place": part.place or None,
        "scents": list(part.scents),
        "foreign": list(part.foreign),
    }


def _held(held: Iterable[Held]) -> Iterable[dict[str, Any]]:
    for one in held:
        yield {"on": _day(one.on), "species": one.species, "trap": one.trap or None, "hung": one.hung}


def _day(day: date | None) -> str | None:
    return day.isoformat() if day else None
