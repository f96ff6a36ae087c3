"""What makes an entry impossible. Only the impossible is refused; the unlikely is recorded and remarked on.

Labels are compared here as they are registered: ``as_registered`` first turns a2 into A2 where that is the only trap
it can mean.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from itertools import chain

from roundtui.domain.entries import MOST_MOTHS, NONE, YES, NoReading, Visit
from roundtui.domain.programme.farm import Programme, Trap, natural_key
from roundtui.domain.programme.species import SPECIES
from roundtui.domain.text import SHOWN, sanitize
from roundtui.errors import Problem

_LONGEST_NOTE = 20_000


def check_visit(
    visit: Visit, programme: Programme, *, today: date, same_day: Sequence[Visit] = (), where: str | None = None
) -> tuple[Problem, ...]:
    """Everything that makes an entry impossible.

    Args:
        visit: The entry, with its scout.
        programme: What is set up.
        today: The day the app stands on; a later one is in the future.
        same_day: Present entries of the same trap on the same day.
        where: Place as the problems name it; None: trap and day.

    Returns:
        The problems, none for an entry that can be recorded. What it corrects never counts against it.
    """
    place = f"{sanitize(visit.trap, SHOWN)} on {visit.read_on}" if where is None else where
    wrong = [*_of_trap(visit, programme, today), *_against_itself(visit), *_of_lure(visit, programme)]
    return tuple(Problem(place, *one) for one in wrong or _twice(visit, same_day))


def contradictions(visit: Visit, *, where: str = "", says_more: bool = False) -> tuple[Problem, ...]:
    """What an entry cannot say, whatever the trap.

    Args:
        visit: The entry.
        where: Place as the problems name it.
        says_more: Whether it says something that only a newer program knows.
    """
    return tuple(Problem(where, *one) for one in _against_itself(visit, says_more=says_more))


def _against_itself(visit: Visit, *, says_more: bool = False) -> list[tuple[str, str]]:
    wrong: list[tuple[str, str]] = []
    if visit.count is not None and visit.no_reading is not None:
        wrong.append((f"a count and '{visit.no_reading}' cannot both be entered", "keep one of the two"))
    numbers = (("other insects", visit.others), ("females", visit.females), ("sterile moths", visit.sterile))
    for words, number in (("count", visit.count), *((f"number of {what}", number) for what, number in numbers)):
        if number is not None and not 0 <= number <= MOST_MOTHS:
            wrong.append((f"the {words} {number} is impossible", f"write 0 to {MOST_MOTHS}"))
    if visit.no_reading is NoReading.OTHER and not visit.note.strip():
        wrong.append(("'other' needs a note", "say why in a note"))
    for words, number in (("females", visit.females), ("sterile moths", visit.sterile)):
        if number is not None and visit.count is None:
            wrong.append((f"{words} without a count", f"write the count, or leave the {words} out"))
    if visit.count is not None and visit.females is not None and visit.females > visit.count:
        wrong.append((f"{visit.females} females are more than the count of {visit.count}", "correct one of the two"))
    if visit.estimated and visit.count is None:
        wrong.append(("an estimate without a count", "write the count, or leave the estimate out"))
    if visit.recount and visit.count is None:
        wrong.append(("a recount without a count", "write the count, or leave the recount out"))
    if len(visit.note) > _LONGEST_NOTE:
        wrong.append((f"the note has {len(visit.note)} characters", f"write at most {_LONGEST_NOTE}"))
    if not (visit.says_something or says_more or wrong):
        wrong.append(("neither a count nor a reason nor a mark", "0 for an empty trap, x and a letter for no reading"))
    return wrong


def as_registered(visit: Visit, programme: Programme) -> Visit:
    """The entry with its labels in the letter case of the register.

    Args:
        visit: The entry as typed.
        programme: What is set up.

    Returns:
        Trap, lot and species as registered wherever a label can mean only one of them; else as typed.
    """
    trap, lure, found = in_case(visit.trap, programme.hangings), visit.lure, visit.lure_found
    if lure is not None:
        lure = in_case(lure, (YES, NONE, *programme.lots))
    if found is not None:
        found = in_case(found, (NONE, *programme.lots, *species_known(programme)))
    if (trap, lure, found) == (visit.trap, visit.lure, visit.lure_found):
        return visit
    return replace(visit, trap=trap, lure=lure, lure_found=found)


def in_case(label: str, known: Collection[str]) -> str:
    """A label in the letter case it is registered in; as it is where it could mean none or several."""
    if label in known:
        return label
    folded = label.casefold()
    same = {one for one in known if one.casefold() == folded}
    return same.pop() if len(same) == 1 else label


def species_known(programme: Programme) -> frozenset[str]:
    """Abbreviations of species that can be named: those shipped, and those that are set up."""
    lots = programme.lots.values()
    return frozenset(chain(SPECIES, (row.species for row in programme.traps), (lot.species for lot in lots)))


def nearest(label: str, known: Iterable[str], words: str = "did you mean", cutoff: float = 0.6) -> str:
    """A hint that names the labels closest to one nobody knows; empty where none is close."""
    from difflib import get_close_matches  # Only where somebody errs.

    folded = {one.casefold(): one for one in known}
    close = get_close_matches(label.casefold()[:SHOWN], folded, n=3, cutoff=cutoff)
    names = sorted((folded[one] for one in close), key=natural_key)
    return f"{words} {' or '.join(sanitize(name, SHOWN) for name in names)}?" if names else ""


def _of_trap(visit: Visit, programme: Programme, today: date) -> Iterator[tuple[str, str]]:
    trap, day = sanitize(visit.trap, SHOWN), visit.read_on
    if day > today:
        yield f"{day} is still to come", f"the day is {today}; correct the date of the entry"
    hangings = programme.hangings.get(visit.trap)
    if hangings is None:
        yield f"there is no trap {trap}", nearest(visit.trap, programme.hangings) or "add the trap to traps.csv"
        return
    hung = [row for row in hangings if row.hangs_on(day)]
    if not hung:
        spans = ", ".join(map(_span, hangings[-3:]))
        yield (
            f"{trap} did not hang on {day}",
            f"it hung {spans}; correct the date, or give it a row in traps.csv for that season",
        )
    elif visit.count is not None and not visit.recount and all(row.hung_on == day for row in hung):
        yield f"{trap} was hung on {day}, so a count has no days", "correct the date, or leave the count out"


def _span(row: Trap) -> str:
    since = f"from {row.hung_on}" if row.hung_on else "from a day not on record"
    return f"{since} to {row.down_on}" if row.down_on else f"{since} on"


def sure_days(programme: Programme, today: date) -> dict[str, list[tuple[str, str]]]:
    """Spans of days on which a reading is possible whatever it says, each from behind its first day to its last.

    Many rows are checked by these first; on other days ``check_visit`` decides.

    Args:
        programme: What is set up.
        today: No reading can be later.

    Returns:
        Spans by trap, days in ISO 8601.
    """
    return {
        trap: [
            ((row.hung_on or date.min).isoformat(), min(row.down_on or today, today).isoformat()) for row in hangings
        ]
        for trap, hangings in programme.hangings.items()
    }


def is_sure(spans: Mapping[str, Sequence[tuple[str, str]]], trap: str, day: str) -> bool:
    """Whether a day lies in one of a trap's ``sure_days``."""
    for after, last in spans.get(trap, ()):  # noqa: SIM110 - asked of every row; any() takes twice as long
        if after < day <= last:
            return True
    return False


def _of_lure(visit: Visit, programme: Programme) -> Iterator[tuple[str, str]]:
    lots, lure, found = programme.lots, visit.lure, visit.lure_found
    if lure is not None and lure not in (YES, NONE, *lots):
        hint = nearest(lure, lots) or "write a lot of lures.csv, yes, or none"
        yield f"there is no lure lot {sanitize(lure, SHOWN)}", hint
    known = {NONE, *lots, *species_known(programme)} if found is not None else set()
    if found is not None and found not in known:
        hint = nearest(found, known - {NONE}) or "write a lot, a species or none"
        yield f"the lure found, {sanitize(found, SHOWN)}, is neither a lot nor a species", hint


def _twice(visit: Visit, same_day: Sequence[Visit]) -> Iterator[tuple[str, str]]:
    for other in same_day:
        if (
            (other.trap, other.read_on, other.recount) == (visit.trap, visit.read_on, visit.recount)
            and same_scout(other.scout, visit.scout)
            and other.id != visit.replaces
        ):
            who = sanitize(visit.scout, SHOWN) or "the same scout"
            yield f"{who} has read this trap that day: {said_in_short(other)}", "correct that entry instead"
            return


def same_scout(one: str, other: str) -> bool:
    """Whether two names are one person's: letter case and spaces tell nobody apart."""
    return " ".join(one.casefold().split()) == " ".join(other.casefold().split())


def said_in_short(visit: Visit) -> str:
    """What an entry says about the catch, in two or three words."""
    if visit.count is not None:
        return f"{visit.count} moth" if visit.count == 1 else f"{visit.count} moths"
    return str(visit.no_reading) if visit.no_reading is not None else "work on the trap, not read"
