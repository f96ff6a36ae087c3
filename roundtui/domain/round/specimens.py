"""What is found in a trap beside its own species: kinds that a scout tells apart, and species that are taken for it.

Specimens: what a trap held beside its own species, vials for what is to be named, and what a name does to a count.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from difflib import get_close_matches
from types import MappingProxyType

from roundtui.domain.entries import MOST_MOTHS, Specimen, Visit, anew
from roundtui.domain.programme.farm import Programme
from roundtui.domain.programme.species import COMMON_PRACTICE, SPECIES, species_code
from roundtui.domain.records import Frozen
from roundtui.domain.round.checks import in_case, nearest, same_scout, species_known
from roundtui.domain.text import SHOWN, ruled, sanitize
from roundtui.errors import Problem, RefusedError
from roundtui.published import read

UNKNOWN = "unknown"
"""Kind of what nobody at the trap can name."""


class Kind(Frozen):
    """A kind that is told apart at the trap."""

    word: str
    """Word on record."""
    key: str
    """Letter that chooses it."""
    doubtful: bool
    """Whether it may turn out to be the trap's own species, so that a vial is worth taking."""
    several: str = ""
    """The word for more than one, where that is another."""
    source: str = COMMON_PRACTICE
    """Why it is on the list."""


_TABLES = read("specimens")
KINDS: Mapping[str, Kind] = MappingProxyType(
    {word: Kind(word, key, bool(doubt), several) for word, key, doubt, several in ruled(_TABLES["kinds"])}
)
"""Kinds by their word, in the order in which they are offered."""


class LookAlike(Frozen):
    """A species that comes to a trap hung for another, and is taken for it."""

    name: str
    """Common name, as it is written on record."""
    latin: str
    """Scientific name; empty where the source gives none."""
    taken_for: str
    """Abbreviation of the trap's species, the office's own where none ships; empty where it comes to several."""
    source: str
    """Where this is from."""


LOOK_ALIKES = tuple(LookAlike(*row) for row in ruled(_TABLES["look-alikes"]))
"""Species that are taken for others. Whoever names a specimen may write any other name."""


def likenesses(species: str) -> tuple[LookAlike, ...]:
    """Species that are taken for one, those of its own trap first.

    Args:
        species: Abbreviation of the trap's species.
    """
    own = [one for one in LOOK_ALIKES if one.taken_for == species]
    return (*own, *(one for one in LOOK_ALIKES if not one.taken_for))


def names() -> tuple[str, ...]:
    """Every name that a specimen can be given without writing one of one's own."""
    return (*_WRITTEN.values(), *(species.name for species in SPECIES.values()), *SPECIES)


_WRITTEN = {
    **{word: word for word in KINDS},
    **{name.casefold(): one.name for one in LOOK_ALIKES for name in (one.name, one.latin) if name},
}


MOST_VIAL = 20
"""Longest number on a vial. [characters]"""
MOST_NAME = 80
"""Longest name a specimen is given. [characters]"""
_NUMBERED = re.compile(r"V-(\d{1,6})", re.IGNORECASE)


class Identification(Frozen):
    """What naming a specimen puts on record."""

    specimen: Specimen
    """The specimen as it is named; it takes the place of the one before."""
    visit: Visit | None
    """The visit with its count corrected; None where the count stands."""
    rest: Specimen | None = None
    """What was in the same vial and is not named yet; None where all of it is."""

    @property
    def entries(self) -> tuple[Specimen | Visit, ...]:
        """What is recorded in one go."""
        return tuple(one for one in (self.specimen, self.rest, self.visit) if one is not None)


def is_named(specimen: Specimen) -> bool:
    """Whether somebody who knows it has said what it is."""
    return specimen.identified_on is not None


def is_open(specimen: Specimen) -> bool:
    """Whether it waits to be named: a vial was taken, or a count holds it."""
    return not is_named(specimen) and bool(specimen.vial or specimen.in_count)


def is_own(specimen: Specimen, programme: Programme) -> bool:
    """Whether it is the species its trap hangs for."""
    return specimen.what == species_of(specimen, programme)


def species_of(specimen: Specimen, programme: Programme) -> str:
    """Abbreviation of the species its trap hangs for; empty for a trap nobody knows."""
    hangings = programme.hangings.get(specimen.trap, ())
    return hangings[-1].species if hangings else ""


def block_of(specimen: Specimen, programme: Programme) -> str:
    """Code of the block its trap hung in on the day; empty where it hung in none."""
    hanging = programme.hanging(specimen.trap, specimen.read_on)
    return hanging.block if hanging else ""


def taken_off(specimen: Specimen, programme: Programme) -> int:
    """How many of a count a specimen takes off it, as far as it is named.

    Args:
        specimen: The specimen.
        programme: For the trap's own species.

    Returns:
        More than 0 for what was counted and is another species, less than 0 for what was not counted and is its own.
    """
    own = is_own(specimen, programme)
    if not is_named(specimen) or specimen.in_count == own:
        return 0
    return specimen.number if specimen.in_count else -specimen.number


def what_it_is(words: str, programme: Programme) -> tuple[str, Problem | None]:
    """What a specimen is said to be, as it is written on record.

    Args:
        words: A kind, a species, or any other name.
        programme: For species that the office alone knows.

    Returns:
        The name, and a problem where it cannot be taken: one that is almost that of a known species or kind is asked
        about first, since a slip of the finger would put a count wrong.
    """
    said = " ".join(words.split())
    if not said:
        return "", Problem("what it is", "is blank", "write a kind or a species")
    if len(said) > MOST_NAME:
        return "", Problem("what it is", f"has {len(said)} characters", f"write at most {MOST_NAME}")
    known = _WRITTEN.get(" ".join(said.casefold().split())) or species_code(said)
    if known is not None:
        return known, None
    species = species_known(programme)
    written = in_case(said, species)
    if written in species:
        return written, None
    folded = {one.casefold(): one for one in (*names(), *species)}
    close = get_close_matches(said.casefold(), folded, n=1, cutoff=0.75)
    if close:
        hint = f"did you mean {folded[close[0]]}? Any other name is written out in full"
        return "", Problem("what it is", f"{sanitize(said, SHOWN)} is close to a known name", hint)
    return said, None


def check_specimen(specimen: Specimen, programme: Programme) -> tuple[Problem, ...]:
    """What makes a specimen from a file impossible.

    A name that changes a count cannot come with a file: the count would stand as it was.

    Args:
        specimen: The specimen.
        programme: What is set up.
    """
    problems = list(impossible(specimen, programme))
    if not problems and taken_off(specimen, programme):
        words = f"{sanitize(specimen.what, SHOWN)} changes the count it was found with"
        hint = "leave identified_on blank, and name it with roundtui identify"
        problems.append(Problem(place_of(specimen), words, hint))
    return tuple(problems)


def impossible(specimen: Specimen, programme: Programme | None) -> tuple[Problem, ...]:
    """What a specimen cannot say, its count left aside.

    Args:
        specimen: The specimen.
        programme: What is set up; None: where its trap hung is not asked.
    """
    wrong: list[tuple[str, str]] = []
    hangings = programme.hangings.get(specimen.trap) if programme is not None else ()
    if programme is None:
        pass
    elif hangings is None:
        hint = nearest(specimen.trap, programme.hangings) or "add the trap to traps.csv"
        wrong.append((f"there is no trap {sanitize(specimen.trap, SHOWN)}", hint))
    elif not any(row.hangs_on(specimen.read_on) for row in hangings):
        wrong.append((f"the trap did not hang on {specimen.read_on}", "correct the day"))
    if not 1 <= specimen.number <= MOST_MOTHS:
        wrong.append((f"{specimen.number} of a kind is impossible", f"write 1 to {MOST_MOTHS}"))
    if not specimen.what.strip():
        wrong.append(("nothing says what it is", f"write a kind: {', '.join(KINDS)}"))
    if len(specimen.vial) > MOST_VIAL:
        wrong.append((f"the vial's number has {len(specimen.vial)} characters", f"write at most {MOST_VIAL}"))
    if (specimen.identified_on is None) != (not specimen.identified_by.strip()):
        wrong.append(("a name needs both its day and who gave it", "fill identified_on and identified_by, or neither"))
    if specimen.identified_on is not None and specimen.identified_on < specimen.read_on:
        wrong.append((f"it was named before it was found on {specimen.read_on}", "correct the day"))
    if specimen.identified_on is not None and specimen.what == UNKNOWN:
        wrong.append(("unknown is no name", "leave identified_on blank until it has one"))
    return tuple(Problem(place_of(specimen), message, hint) for message, hint in wrong)


def check_in_count(specimen: Specimen, others: Iterable[Specimen], count: int | None) -> tuple[Problem, ...]:
    """Whether as many as are said to be in a count can be in it.

    Args:
        specimen: The specimen.
        others: Present specimens of the same trap and day; one that it replaces does not count.
        count: Moths counted on that visit, as it stands; None where there is no count.
    """
    if not specimen.in_count or is_named(specimen):
        return ()
    place = place_of(specimen)
    if count is None:
        return (Problem(place, "there is no count that could hold them", "count first, or leave them out"),)
    before = sum(one.number for one in others if one.in_count and not is_named(one) and one.id != specimen.replaces)
    if before + specimen.number <= count:
        return ()
    more = f", {before} of them noted before" if before else ""
    words = f"{before + specimen.number} cannot be among the {count} counted{more}"
    return (Problem(place, words, "correct the number, or the count first"),)


def place_of(specimen: Specimen) -> str:
    """Where a specimen was found, as problems name it."""
    return f"{sanitize(specimen.trap, SHOWN)} on {specimen.read_on}"


def how_many(number: int, what: str) -> str:
    """A number of a kind or a species, in words.

    Args:
        number: How many.
        what: What they are, as it stands on record.
    """
    kind = KINDS.get(what)
    several = kind.several if kind is not None and number != 1 and kind.several else what
    return f"{number} {sanitize(several, SHOWN)}"


def label(specimen: Specimen) -> str:
    """What a specimen is called: its vial, or how many of what from where."""
    if specimen.vial:
        return sanitize(specimen.vial, MOST_VIAL)
    return f"{how_many(specimen.number, specimen.what)} of {sanitize(specimen.trap, SHOWN)}"


def next_vial(taken: Iterable[str]) -> str:
    """The next number for a vial.

    Args:
        taken: Numbers that are in use this season, in any form.

    Returns:
        One more than the highest of the form V-12.
    """
    numbers = [int(found[1]) for one in taken if (found := _NUMBERED.fullmatch(one.strip()))]
    return f"V-{max(numbers, default=0) + 1}"


def amended(
    visits: Sequence[Visit],
    before: Specimen | None,
    after: Specimen,
    programme: Programme,
    rest: Specimen | None = None,
) -> Visit | None:
    """The visit whose count a specimen changes, with the count corrected.

    Args:
        visits: Present visits of the specimen's trap and day.
        before: The specimen as it stood; None for a new one.
        after: The specimen as it is to stand.
        programme: For the trap's own species.
        rest: What of ``before`` stays as it is; None: nothing.

    Returns:
        A correction of the visit, with the reason; None where no count changes.

    Raises:
        RefusedError: Two readings of the day disagree, or nothing was counted, or fewer than are to come off.
    """
    then, now = (
        sum(taken_off(one, programme) for one in side if one is not None) for side in ((before,), (after, rest))
    )
    fewer = now - then
    if not fewer:
        return None
    visit = _counted(visits, after)
    count = (visit.count or 0) - fewer
    if not 0 <= count <= MOST_MOTHS:
        raise RefusedError(
            f"{place_of(after)}: {visit.count} counted, and {fewer} of them cannot come off",
            "correct the count first, or the number in the vial",
        )
    return anew(visit, count=count, replaces=visit.id, reason=_reason(after, fewer))


def _counted(visits: Sequence[Visit], specimen: Specimen) -> Visit:
    counted = [visit for visit in visits if visit.count is not None and not visit.recount]
    if len(counted) > 1:
        counted = [visit for visit in counted if same_scout(visit.scout, specimen.scout)]
        if len(counted) != 1:
            raise RefusedError(
                f"{place_of(specimen)}: two readings of the day disagree, so the count cannot be corrected",
                "settle the conflict first",
            )
    if not counted:
        raise RefusedError(f"{place_of(specimen)}: there is no count on that day", "enter the count first")
    return counted[0]


def _reason(specimen: Specimen, fewer: int) -> str:
    moved = f"{fewer} taken off" if fewer > 0 else f"{-fewer} put on"
    if not is_named(specimen):
        return f"{label(specimen)} is not named any more: {moved}"
    what = f"{label(specimen)} is {specimen.what}" if specimen.vial else how_many(specimen.number, specimen.what)
    return f"{what}, named by {specimen.identified_by}: {moved}"


def named(specimen: Specimen, what: str, by: str, on: date, number: int | None = None) -> Specimen:
    """A specimen with its name, ready to take the place of the one that stands.

    Args:
        specimen: The specimen as it stands.
        what: What it is, as ``what_it_is`` writes it; ``unknown`` takes a name back.
        by: Who says so.
        on: When that was.
        number: How many of it; None: all.
    """
    bare = what == UNKNOWN
    return anew(
        specimen,
        what=what,
        number=specimen.number if number is None else number,
        identified_on=None if bare else on,
        identified_by="" if bare else by,
        replaces=specimen.id,
        reason="the name is withdrawn" if bare else f"named {what} by {by}",
    )


def rest_of(specimen: Specimen, number: int | None) -> Specimen | None:
    """What stays in a vial when only some of it is named.

    Args:
        specimen: The specimen as it stands.
        number: How many are named; None: all.
    """
    if number is None or number >= specimen.number:
        return None
    return anew(specimen, number=specimen.number - number)
