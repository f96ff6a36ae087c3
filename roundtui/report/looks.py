"""Looks at leaf and fruit: the section of a summary, the tables of their command, and its JSON."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from rich.console import RenderableType

from roundtui.domain.cautions import NOT_A_PRESCRIPTION
from roundtui.domain.farm import Programme, natural_key
from roundtui.domain.plain import plain
from roundtui.report.words import NAME_WIDTH, Names, Section, heading, paragraph, stacked

if TYPE_CHECKING:
    from roundtui.domain.looks.findings import LookRow
    from roundtui.domain.looks.records import Plan
    from roundtui.report.beside_sections import Asked

TITLE = "Looks at leaf and fruit"
CLUSTERED = (
    "Intervals take every unit as picked by itself. Leaves and fruit of one tree are alike, so few trees say less than "
    "that."
)
"""What an interval does not know."""


def look_section(asked: Asked) -> Section:
    """The looks of the last fourteen days, the newest of each kind in each block.

    Args:
        asked: What it is made from.
    """
    if not asked.beside.looks:
        return []
    # The table of plans is loaded where there is a look to hold against one.
    from roundtui.domain.looks.findings import RECENT_DAYS, look_row, look_table

    table = look_table(asked.office)
    first = asked.summary.on - timedelta(days=RECENT_DAYS - 1)
    newest = {
        (look.block, look.kind, look.pest, look.looked_at): look
        for look in asked.beside.looks
        if first <= look.looked_on <= asked.summary.on
    }
    rows = [look_row(look, table) for look in newest.values()]
    return [heading(TITLE), *_lines(rows, asked.names)] if rows else []


def looks_tables(rows: Sequence[LookRow], programme: Programme) -> list[RenderableType]:
    """All looks of a season, block by block.

    Args:
        rows: The looks.
        programme: Names of farms and blocks.
    """
    if not rows:
        return [heading("No look at leaf or fruit is on record this season.")]
    names = Names(programme)
    return stacked(
        [
            [heading(TITLE), *_lines(rows, names)],
            [heading("Before anything is done"), paragraph(f"- {NOT_A_PRESCRIPTION}")],
        ]
    )


def _lines(rows: Sequence[LookRow], names: Names) -> Section:
    from roundtui.domain.looks.data import BY_PRESENCE_NOTE
    from roundtui.report.look_words import MARKS, look_sentence, plan_words, presence_words

    ordered = sorted(rows, key=lambda row: (natural_key(row.look.block), row.look.looked_on, row.look.id))
    lines: Section = [
        paragraph(
            f"{MARKS[row.verdict.outcome]} {names.place(row.look.block)}, {row.look.looked_on.isoformat()}: "
            f"{look_sentence(row)}."
        )
        for row in ordered
    ]
    plans: dict[str, tuple[Plan, str]] = {
        row.plan.id: (row.plan, row.look.looked_at) for row in ordered if row.plan is not None
    }
    lines += [paragraph(f"Plan {plan_words(plan, plain(unit, NAME_WIDTH))}", 4) for plan, unit in plans.values()]
    if any(presence_words(row) for row in ordered):
        lines.append(paragraph(f"{BY_PRESENCE_NOTE[:1].upper()}{BY_PRESENCE_NOTE[1:]}.", 4))
    return [*lines, paragraph(CLUSTERED)]


def fruit_words(asked: Asked) -> dict[tuple[str, str], str]:
    """What the newest look at the fruit found in blocks whose low catch is weak evidence, by block and species.

    Args:
        asked: What it is made from. A block without a look in the last fourteen days is left out.
    """
    if not asked.beside.looks:
        return {}
    from roundtui.domain.looks.findings import fruit_look, look_row, look_table
    from roundtui.report.look_words import found_words, verdict_words

    table = look_table(asked.office)
    found = {}
    for row in asked.summary.blocks:
        look = fruit_look(asked.beside.looks, row.block, row.species, asked.summary.on) if row.weak_evidence else None
        if look is not None:
            shown = look_row(look, table)
            stings = f", stings only on {look.stings}" if look.stings else ""
            found[row.block, row.species] = (
                f"the fruit on {look.looked_on.isoformat()}: {found_words(shown)}{stings}; {verdict_words(shown)}"
            )
    return found


def looks_json(rows: Sequence[LookRow], programme: Programme) -> list[dict[str, Any]]:
    """What ``looks --json`` prints: exact inside, floats on the way out, null where a figure does not exist.

    Args:
        rows: The looks.
        programme: What is set up.
    """
    return [_json(row, programme) for row in rows]


def _json(row: LookRow, programme: Programme) -> dict[str, Any]:
    look, plan, verdict = row.look, row.plan, row.verdict
    low, high = row.by_presence or (None, None)
    return {
        "id": look.id,
        "farm": programme.farm_of(look.block),
        "block": look.block,
        "looked_on": look.looked_on.isoformat(),
        "scout": look.scout,
        "kind": look.kind.value,
        "pest": look.pest,
        "name": row.sought.name,
        "looked_at": look.looked_at,
        "looked": look.looked,
        "found": look.found,
        "share": float(row.share),
        "percent": float(row.share * 100),
        "interval_percent": [100 * end for end in row.interval],
        "score_interval_percent": [100 * end for end in row.score_interval],
        "counted": look.counted,
        "per_unit": None if row.per_unit is None else float(row.per_unit),
        "per_unit_by_presence": None
        if row.by_presence is None
        else [None if end is None else float(end) for end in (low, high)],
        "verdict": verdict.outcome.value,
        "more": verdict.more,
        "derived": verdict.derived,
        "why": verdict.why,
        "plan": look.plan or None,
        "source": None if plan is None else plan.source,
        "grade": look.grade,
        "beneficials": look.beneficials,
        "entries": look.entries,
        "stings": look.stings,
        "other_injury": look.other_injury,
        "trees": look.trees,
        "place": look.place,
        "note": look.note,
    }
