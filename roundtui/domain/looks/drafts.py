"""Looks that were begun and not recorded, as text that outlives a crash."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from roundtui.domain.looks.counting import Counting
from roundtui.domain.looks.findings import plans_on, sought_of
from roundtui.domain.looks.records import MonthDay, Sought
from roundtui.domain.orchard_entries import LookKind

_MARK = re.compile(r"[fegon][0-9]{0,5}")
_MOST = 40


@dataclass(frozen=True, slots=True)
class Draft:
    """A look that was begun."""

    block: str
    """Code of the block."""
    looked_on: date
    """Day on which it was begun."""
    kind: LookKind
    """Leaf or fruit."""
    pest: str
    """Code of what is looked for."""
    looked_at: str
    """The unit."""
    plan: str
    """Id of the plan; empty for none."""
    marks: tuple[str, ...]
    """What was keyed, in order."""
    beneficials: int | None = None
    """Units with predators."""
    trees: int | None = None
    """Trees."""
    grade: int | None = None
    """Severity."""
    place: str = ""
    """Where in the block."""
    note: str = ""
    """Free words."""
    replaces: str | None = None
    """Id of the look on record that this one sets right."""

    @property
    def key(self) -> tuple[str, date, LookKind, str, str]:
        """What tells it from all others."""
        return self.block, self.looked_on, self.kind, self.pest, self.looked_at


def draft_of(now: Counting) -> Draft:
    """A look in the making, to be kept.

    Args:
        now: The look so far.
    """
    return Draft(
        now.block,
        now.looked_on,
        now.sought.kind,
        now.sought.code,
        now.sought.looked_at,
        now.plan.id if now.plan is not None else "",
        now.marks,
        now.beneficials,
        now.trees,
        now.grade,
        now.place,
        now.note,
        now.replaces,
    )


def counting_of(draft: Draft, table: Sequence[Sought], day: MonthDay) -> Counting:
    """A look gone on with.

    Args:
        draft: What was kept of it.
        table: What is looked for.
        day: Month and day on which it was begun, as plans have them.
    """
    sought = sought_of(table, draft.kind, draft.pest, draft.looked_at)
    plans = plans_on(sought, day)
    return Counting(
        block=draft.block,
        looked_on=draft.looked_on,
        sought=sought,
        plan=next((plan for plan in sought.plans if plan.id == draft.plan), None),
        plans=plans,
        marks=draft.marks,
        beneficials=draft.beneficials,
        trees=draft.trees,
        grade=draft.grade,
        place=draft.place,
        note=draft.note,
        replaces=draft.replaces,
    )


def written(drafts: Iterable[Draft]) -> str:
    """Drafts as text to keep.

    Args:
        drafts: The drafts.
    """
    return json.dumps(
        [
            {
                **{name: getattr(one, name) for name in Draft.__slots__},
                "looked_on": one.looked_on.isoformat(),
                "kind": one.kind.value,
                "marks": list(one.marks),
            }
            for one in drafts
        ],
        ensure_ascii=True,
    )


def read(text: str) -> tuple[Draft, ...]:
    """Drafts out of text that was kept; what is none is left out.

    Args:
        text: As ``written`` gives it; empty for none.
    """
    try:
        rows = json.loads(text) if text else []
    except ValueError:
        return ()
    if not isinstance(rows, list):
        return ()
    found = [_draft(row) for row in rows[-_MOST:]]
    return tuple(draft for draft in found if draft is not None)


def _draft(row: object) -> Draft | None:
    try:
        fields = dict(row)  # type: ignore[call-overload]
        marks = tuple(str(mark) for mark in fields["marks"])
        if not all(_MARK.fullmatch(mark) and (mark[0] != "n" or mark[1:]) for mark in marks):
            return None
        return Draft(
            **{
                **fields,
                "looked_on": date.fromisoformat(fields["looked_on"]),
                "kind": LookKind(fields["kind"]),
                "marks": marks,
            }
        )
    except (TypeError, ValueError, KeyError):
        return None
