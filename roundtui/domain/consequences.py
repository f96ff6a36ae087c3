"""What a correction changes: where two summaries of one day, before and after, differ in what people act on."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from fractions import Fraction
from typing import Any, TypeVar

from roundtui.domain.farm import natural_key
from roundtui.domain.plain import plain
from roundtui.domain.rule import RuleKind
from roundtui.domain.verdicts import BlockRow, Conflict, Summary, ToldOtherwise, Trouble

T = TypeVar("T")
Biofixes = Mapping[tuple[str, str, int], date | None]
"""Biofix by block, species and generation; None where there is none."""

_SHOWN = 40
NOTHING = "nothing"
"""Stands for what is not there before, or not any more after."""


class ConsequenceKind(StrEnum):
    """What changes."""

    STATUS = "status"
    BIOFIX = "biofix"
    INTEGRITY = "integrity"
    CONFLICT = "conflict"
    TOLD = "told"
    FIGURE = "figure"
    SUM = "sum"


@dataclass(frozen=True, slots=True)
class Consequence:
    """One thing that is different after a change of the record."""

    kind: ConsequenceKind
    """What changes."""
    on: date
    """Day of the summary in which it does."""
    what: str
    """Block and species, or trap."""
    before: str
    """As it was, in words."""
    after: str
    """As it will be, in words."""
    mean_before: Fraction | None = None
    """For a status or a figure, the block's mean as it was; for a sum, the sum. [moths per trap per week; per trap]"""
    mean_after: Fraction | None = None
    """The same as it will be."""

    @property
    def needs_a_word(self) -> bool:
        """Whether it is to be said before the change is accepted; a figure that leaves its status alone is not."""
        return self.kind not in (ConsequenceKind.FIGURE, ConsequenceKind.SUM)

    def __str__(self) -> str:
        return f"{self.what}, {self.on}: {self.kind} {self.before} becomes {self.after}"


def consequences(
    before: Summary, after: Summary, *, biofix_before: Biofixes | None = None, biofix_after: Biofixes | None = None
) -> tuple[Consequence, ...]:
    """Where two summaries of one day differ in what people act on.

    Args:
        before: Summary of the record as it stands.
        after: Summary of the same day with the change.
        biofix_before: Biofixes as they stand, where they are to be compared.
        biofix_after: Biofixes with the change.

    Returns:
        What changes: statuses first, then biofixes, integrity warnings, conflicts, growers told otherwise, figures.
    """
    found = [
        *_blocks(before, after),
        *_biofixes(after.on, biofix_before or {}, biofix_after or {}),
        *_paired(
            ConsequenceKind.INTEGRITY, after.on, (before.integrity, after.integrity), lambda t: (t.trap,), _trouble
        ),
        *_paired(
            ConsequenceKind.CONFLICT,
            after.on,
            (before.conflicts, after.conflicts),
            lambda c: (c.trap, c.read_on.isoformat()),
            _conflict,
        ),
        *_paired(
            ConsequenceKind.TOLD,
            after.on,
            (before.told_otherwise, after.told_otherwise),
            lambda t: (t.block, t.species, t.round_on.isoformat()),
            _told,
        ),
    ]
    order = list(ConsequenceKind)
    return tuple(sorted(found, key=lambda one: (order.index(one.kind), natural_key(one.what))))


def _blocks(before: Summary, after: Summary) -> list[Consequence]:
    was = {(row.block, row.species): row for row in before.blocks}
    now = {(row.block, row.species): row for row in after.blocks}
    found = []
    for key in sorted(was.keys() | now.keys()):
        old, new = was.get(key), now.get(key)
        means = (old.mean_per_week if old else None, new.mean_per_week if new else None)
        kind = ConsequenceKind.FIGURE if _verdict(old) == _verdict(new) else ConsequenceKind.STATUS
        if kind is ConsequenceKind.STATUS or means[0] != means[1]:
            found.append(Consequence(kind, after.on, _named(*key), _verdict(old), _verdict(new), *means))
        sums = _sum(old), _sum(new)
        if sums[0] != sums[1]:
            found.append(Consequence(ConsequenceKind.SUM, after.on, _named(*key), _verdict(old), _verdict(new), *sums))
    return found


def _sum(row: BlockRow | None) -> Fraction | None:
    """The sum that a cumulative rule compared."""
    rule = row.rule if row is not None else None
    return rule.value if rule is not None and rule.kind == RuleKind.CUMULATIVE else None


def _verdict(row: BlockRow | None) -> str:
    if row is None:
        return NOTHING
    return f"{row.status.value}, weak evidence" if row.weak_evidence else row.status.value


def _biofixes(on: date, before: Biofixes, after: Biofixes) -> list[Consequence]:
    found = []
    for key in sorted(before.keys() | after.keys()):
        old, new = before.get(key), after.get(key)
        if old != new:
            block, species, generation = key
            what = f"{_named(block, species)} generation {generation}"
            found.append(Consequence(ConsequenceKind.BIOFIX, on, what, _day(old), _day(new)))
    return found


def _day(day: date | None) -> str:
    return day.isoformat() if day else NOTHING


def _paired(
    kind: ConsequenceKind,
    on: date,
    both: tuple[Sequence[T], Sequence[T]],
    key: Callable[[Any], tuple[str, ...]],
    words: Callable[[Any], str],
) -> list[Consequence]:
    was, now = ({key(one): words(one) for one in side} for side in both)
    return [
        Consequence(kind, on, _named(*what), was.get(what, NOTHING), now.get(what, NOTHING))
        for what in sorted(was.keys() | now.keys())
        if was.get(what) != now.get(what)
    ]


def _named(*labels: str) -> str:
    return " ".join(plain(label, _SHOWN) for label in labels)


def _trouble(trouble: Trouble) -> str:
    found = f" ({plain(trouble.found, _SHOWN)})" if trouble.found else ""
    partner = f" with {plain(trouble.partner, _SHOWN)}" if trouble.partner else ""
    since = f" since {trouble.since}" if trouble.since else ""
    return f"{trouble.kind.value}{found}{partner}{since}"


def _conflict(conflict: Conflict) -> str:
    counts = " and ".join(f"{count} by {plain(scout, _SHOWN)}" for scout, count in conflict.counts)
    return f"two readings ({counts})"


def _told(told: ToldOtherwise) -> str:
    match told:
        case ToldOtherwise(told=said, now=shown):
            return f"told {plain(said, _SHOWN)}, shows {shown.value}"
