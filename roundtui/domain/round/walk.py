"""What a scout is told about a trap on a round: what it caught, what was done, what is unlikely."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from fractions import Fraction

from roundtui.domain.entries import KIND_OF, Form
from roundtui.domain.figures.exposure import Reading, readings
from roundtui.domain.figures.unlikely import is_unlikely, usual
from roundtui.domain.programme.farm import Trap
from roundtui.domain.visits import NONE, YES, Visit


def remarkable(hanging: Trap, visits: Sequence[Visit], past: Sequence[Visit], visit: Visit) -> Fraction | None:
    """What a trap usually catches, if a count of it is unlikely.

    Args:
        hanging: The hanging.
        visits: Present visits of the trap in order, the one in question among them.
        past: Its counts before those.
        visit: The visit in question.

    Returns:
        Mean of its own past; None where the count is nothing to remark on. [moths/trap/week]
    """
    if visit.count is None:
        return None
    before = [Fraction(one.count) for one in past if one.count is not None]
    for reading in readings(hanging, visits):
        now = Fraction(reading.count) if reading.pace is None else reading.pace
        if reading.entries[-1].id == visit.id:
            return usual(before) if is_unlikely(now, before) else None
        before.append(now)
    return None


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
    for one in KIND_OF["visit"].fields:
        value = getattr(visit, one.attribute)
        if one.required or value == (bool(one.default) if one.form is Form.FLAG else one.default):
            continue
        match one.name:
            case "lure":
                words.append({YES: "lure", NONE: "lure out, none in"}.get(value, f"lure {value}"))
            case "body":
                words.append("clean body" if value == YES else f"body {value}")
            case "lure_found":
                words.append("found without a lure" if value == NONE else f"found with lure {value}")
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


def in_words(visit: Visit, first: Visit | None = None) -> str:
    """A visit in one line, its trap and day left out.

    Args:
        visit: The visit.
        first: The count that it was a recount of.
    """
    return ", ".join(word for word in (catch(visit), *work_done(visit, first)) if word)
