"""What a scout is told about a trap on a round: what it caught, what was done, what is unlikely."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING

from roundtui.domain.entries import KIND_OF, NONE, YES, Form, Visit
from roundtui.domain.figures.figures import Reading, readings
from roundtui.domain.programme.farm import Trap
from roundtui.domain.records import Frozen
from roundtui.domain.text import sanitize

if TYPE_CHECKING:
    from roundtui.domain.figures.learned import Learned, Place, Read
    from roundtui.domain.figures.unlikely import Slip
    from roundtui.domain.figures.verdicts import Summary


def remarkable(
    known: Learned, hanging: Trap, visits: Sequence[Visit], visit: Visit, others: Iterable[tuple[Place, Read]]
) -> Slip | None:
    """Why a count is marked, if it is.

    Args:
        known: What was learned of the species before the week.
        hanging: The hanging.
        visits: Present visits of the trap in order, the one in question among them.
        visit: The visit in question.
        others: What is read of the other traps of the species in the week, and where in the order read.

    Returns:
        None where the count is nothing to remark on.
    """
    from roundtui.domain.figures.learned import place_of, slip_of
    from roundtui.domain.figures.unlikely import others_of

    if visit.count is None:
        return None
    if visit.recount:  # It is judged as if it stood in place of the count that it was made of.
        left = [one for one in visits if one.read_on != visit.read_on or one.count is None]
        visits = sorted([*left, replace(visit, recount=False)], key=lambda one: one.order)
    found = next((one for one in readings(hanging, visits) if one.entries[-1].id == visit.id), None)
    # A slip further on makes no honest count of before it look odd.
    place = place_of(found) if found is not None else ()
    read = others_of(known.past, (one.seen for at, one in others if at < place))
    return slip_of(known, hanging, found, read) if found is not None else None


def last_readings(hanging: Trap, visits: Sequence[Visit], on: date) -> tuple[tuple[Visit, Reading | None], ...]:
    """What was entered about a hanging up to a day, the newest first.

    Args:
        hanging: The hanging.
        visits: Present visits of the trap in order.
        on: The day.

    Returns:
        Each visit, with its reading where it has a count.
    """
    by_id = {visit.id: reading for reading in readings(hanging, visits) for visit in reading.entries}
    shown = [visit for visit in visits if visit.read_on <= on and hanging.hangs_on(visit.read_on)]
    return tuple((visit, by_id.get(visit.id)) for visit in reversed(shown))


def first_counted(visit: Visit, visits: Iterable[Visit]) -> Visit | None:
    """The count that a recount was made of.

    Args:
        visit: A visit.
        visits: Present visits of the trap.

    Returns:
        None where it is no recount, or where none or two stand on that day.
    """
    if not visit.recount:
        return None
    found = [one for one in visits if one.read_on == visit.read_on and one.count is not None and not one.recount]
    return found[0] if len(found) == 1 else None


def work_done(visit: Visit, first: Visit | None = None) -> tuple[str, ...]:
    """What a visit says beside the catch, in the words of the trade.

    Args:
        visit: The visit; labels and notes in the answer are as people wrote them.
        first: The count that it was a recount of; None: it was of none that is known.
    """
    words = []
    for one in KIND_OF["visit"].own:
        value = getattr(visit, one.attribute)
        if one.required or value == (bool(one.default) if one.form is Form.FLAG else one.default):
            continue
        match one.name:
            case "lure":
                words.append({YES: "lure", NONE: "lure out, none in"}.get(value, f"lure {value}"))
            case "body":
                words.append("clean body" if value == YES else f"body {value}")
            case "lure_found":
                words.append("no lure found" if value == NONE else f"lure found: {value}")
            case "recount" if first is not None:
                words.append(f"recount, first {first.count}")
            case _ if one.fact.short:
                words.append(one.fact.short if one.form is Form.FLAG else f"{value} {one.fact.short}")
    if visit.note:
        words.append(f"“{visit.note}”")
    return tuple(words)


def catch(visit: Visit) -> str:
    """The count, or why there is none; empty where a visit says neither."""
    if visit.count is not None:
        return str(visit.count)
    return visit.no_reading.value if visit.no_reading is not None else ""


def read_before(visits: Sequence[Visit], on: date) -> list[Visit]:
    """What a trap showed before a day, the newest first: counts and reasons, recounts left out.

    Args:
        visits: Present visits of the trap in order.
        on: The day.
    """
    return [one for one in reversed(visits) if one.read_on < on and not one.recount and catch(one)]


def read_in_words(visits: Iterable[Visit]) -> str:
    """What a trap showed, each with its day, as ``4 on 8 Jul, missing on 1 Jul``."""
    return ", ".join(f"{catch(one)} on {one.read_on.day} {one.read_on:%b}" for one in visits)


def in_words(visit: Visit, first: Visit | None = None) -> str:
    """A visit in one line, its trap and day left out.

    Args:
        visit: The visit.
        first: The count that it was a recount of.
    """
    return ", ".join(word for word in (catch(visit), *work_done(visit, first)) if word)


class DueItem(Frozen):
    """Something that is due or wrong at a trap."""

    key: str
    """Key that says it is done."""
    words: str
    """What it is."""
    now: bool
    """Whether it is due or wrong already; else it will be within a week."""

    @property
    def said(self) -> str:
        """Its words with its key, marked where it is due or wrong already."""
        return f"{'! ' if self.now else ''}{sanitize(self.words, 40)}{f' ({self.key})' if self.key else ''}"


_ITEMS = {"lure": "r", "liner": "l", "kill-strip": "k"}
_TROUBLES = {
    "swapped-lures": ("r", "lure swapped with {partner}"),
    "wrong-lure": ("r", "lure of {found} in it"),
    "no-lure": ("r", "no lure in it"),
    "scented-body": ("b", "body smells of {found}"),
}


def due_at(summary: Summary) -> dict[str, tuple[DueItem, ...]]:
    """What is due or wrong at each trap, what is wrong first.

    Args:
        summary: Of the day, of all blocks.
    """
    found: dict[str, list[DueItem]] = {}
    for trouble in summary.integrity:
        key, words = _TROUBLES[trouble.kind]
        said = words.format(partner=trouble.partner, found=trouble.found)
        found.setdefault(trouble.trap, []).append(DueItem(key, said, now=True))
    for row in summary.upkeep:
        days, item = row.days_overdue, row.item.replace("-", " ")
        if days is not None and days < 0:
            words = f"{item} due in {-days} d"
        else:
            words = f"{item} due, {days} d late" if days else f"{item} due"
        found.setdefault(row.trap, []).append(DueItem(_ITEMS[row.item], words, now=days is None or days >= 0))
    return {trap: tuple(sorted(items, key=lambda one: not one.now)) for trap, items in found.items()}


def weekly_thresholds(summary: Summary) -> dict[tuple[str, str], tuple[Fraction, Fraction]]:
    """Thresholds that a catch a week can be held against, by block and species.

    Args:
        summary: Of the day, of all blocks.
    """
    return {
        (row.block, row.species): row.band
        for row in summary.blocks
        if row.band is not None and row.rule is not None and row.rule.kind in _WEEKLY
    }


_WEEKLY = ("mean", "single-trap")


_DONE_BY = {"r": ("lure",), "l": ("liner", "body"), "k": ("kill_strip",), "b": ("body",)}
"""What a visit says where the work of a key is done."""


def still_due(items: Sequence[DueItem], *done: Visit) -> tuple[DueItem, ...]:
    """Items that no visit says are done."""
    said = {key for key, names in _DONE_BY.items() if any(getattr(one, name) for one in done for name in names)}
    return tuple(item for item in items if item.key not in said)
