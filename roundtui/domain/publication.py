"""What an area update may say without giving a grower away, and what an office says of its letters.

A figure of the area is made of farms' own figures, each farm counted once. What may be printed of it:

* It rests on at least four growers. Farms of one grower are one grower's, since a grower knows all of them.
* No grower assembles too much of it: what is left of the total without the two largest is at least a tenth of the
  largest (the p per cent rule with p = 10).
* A catch is printed in whole moths, below one as "under 1", so that any two growers who put their own figures together
  leave every other one at least two possible catches.
* A stage is printed where at least two growers' blocks stand at it.
* It is released once. What was published of a week stays, whoever is read late, is corrected or declines afterwards,
  because the difference of two versions would be one farm's figure. Weeks never overlap.

Whatever else an update shows, charts too, is worked out from what is printed, and tells nothing more.

Sources: threshold of three or four respondents and p = 10 as in the business surveys and manuals of official
statistics listed in docs/methods.md; that whole moths are coarse enough is shown by ``tests/long/area_attack.py``.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from datetime import date, timedelta
from fractions import Fraction
from itertools import combinations
from statistics import median_low

from roundtui.domain.records import Frozen
from roundtui.domain.text import WEEKDAYS, sanitize
from roundtui.domain.toml_table import TableReader, shown
from roundtui.errors import Problem

FEWEST_GROWERS = 4
"""Growers that must stand behind a figure."""
DOMINANCE = Fraction(1, 10)
"""Least share of the largest grower's catch that all but the two largest must assemble together."""
SAME_STAGE = 2
"""Growers whose blocks must stand at a stage that is printed."""
_WEEK = timedelta(days=7)


class FarmFigure(Frozen):
    """One farm's own figure, never published."""

    farm: str
    """Code of the farm."""
    value: Fraction
    """Its figure, in the unit of the cell."""
    traps: int = 0
    """Traps behind it."""
    estimated: int = 0
    """Traps behind it whose catch rests on an estimate."""
    grower: str = ""
    """Whose farm it is; blank: a grower of its own."""
    step: Fraction = Fraction(1)
    """How much the figure changes with one moth more or less."""

    @property
    def who(self) -> str:
        """What tells one grower from another: the name, whatever its case and spaces, or the farm."""
        return " ".join(self.grower.casefold().split()) or f"farm {self.farm}"


class Cell(Frozen, kw_only=True):
    """One figure of the area: what it is of, whose it is, and its value unless that is withheld."""

    kind: str
    """catch, biofix or stage."""
    what: str
    """Species, species and generation, or crop."""
    week_ends: date
    """Last day of its week; for a biofix the first day of the season."""
    farms: tuple[str, ...] = ()
    """Codes of the farms behind it; only their number may be shown."""
    value: Fraction | None = None
    """The figure as it is printed: a catch in whole moths, 0 meaning under one; None where it is withheld."""
    traps: int = 0
    """Traps behind it."""
    estimated: int = 0
    """Traps behind it whose catch rests on an estimate."""

    @property
    def key(self) -> tuple[str, str, date]:
        """What it is of."""
        return self.kind, self.what, self.week_ends

    @property
    def released(self) -> bool:
        """Whether it may be shown."""
        return self.value is not None


Middle = Callable[[Sequence[Fraction]], Fraction]
"""How one figure is made of several farms'."""


def mean(values: Sequence[Fraction]) -> Fraction:
    """The mean of farms' figures, each counted once."""
    return sum(values, Fraction(0)) / len(values)


def middle(values: Sequence[Fraction]) -> Fraction:
    """The middle one of farms' figures, the lower of two; for codes that cannot be averaged."""
    return median_low(values)


def release(
    kind: str,
    what: str,
    week_ends: date,
    figures: Iterable[FarmFigure],
    *,
    declined: Collection[str] = (),
    before: Cell | None = None,
    how: Middle = mean,
) -> Cell:
    """Make one figure of the area, or withhold it.

    Args:
        kind: catch, biofix or stage.
        what: What it is of.
        week_ends: Last day of its week.
        figures: A figure of each farm that has one.
        declined: Codes of farms that are no part of the update.
        before: What was published of the same before.
        how: How one figure is made of them.

    Returns:
        What was published before, if it was; else a new figure, withheld where the rules above forbid it.

    Raises:
        ValueError: A farm has two figures.
    """
    if before is not None and before.released:
        return before
    chosen = sorted((one for one in figures if one.farm not in declined), key=lambda one: one.farm)
    farms = tuple(one.farm for one in chosen)
    if len(set(farms)) < len(farms):
        raise ValueError(f"a farm has two figures of {what} in the week to {week_ends}")
    value = how([one.value for one in chosen]) if chosen else Fraction(0)
    printed = whole_moths(value) if kind == "catch" else value
    if len({one.who for one in chosen}) < FEWEST_GROWERS or not _hides_each(kind, chosen, printed):
        # Neither the farms nor their traps are kept: what is withheld must not be found in a file either.
        return Cell(kind=kind, what=what, week_ends=week_ends)
    return Cell(
        kind=kind,
        what=what,
        week_ends=week_ends,
        farms=farms,
        value=printed,
        traps=sum(one.traps for one in chosen),
        estimated=sum(one.estimated for one in chosen),
    )


def whole_moths(value: Fraction) -> Fraction:
    """A catch as an update prints it: the nearest whole number, 0 for everything under one."""
    return Fraction(0) if value < 1 else Fraction((2 * value + 1) // 2)


def _hides_each(kind: str, figures: Sequence[FarmFigure], printed: Fraction) -> bool:
    """Whether a printed figure tells no two growers, who know their own, what a third one has."""
    if kind == "stage":
        return len({one.who for one in figures if one.value == printed}) >= SAME_STAGE
    if kind != "catch":
        return True
    catch: dict[str, Fraction] = {}
    steps: dict[str, Fraction] = {}
    for one in figures:
        catch[one.who] = catch.get(one.who, Fraction(0)) + one.value
        steps[one.who] = min(steps.get(one.who, one.step), one.step)
    largest = sorted(catch, key=lambda who: catch[who], reverse=True)
    two = catch[largest[0]] + catch[largest[1]]
    if sum(catch.values()) - two < DOMINANCE * catch[largest[0]]:
        return False
    # Whoever catches nothing is found out where the rest cannot hold one moth of anybody's.
    most = len(figures) * (printed + Fraction(1, 2) if printed else Fraction(1))
    return all(
        most - catch[one] - catch[other] > max(steps[who] for who in catch if who not in {one, other})
        for one, other in combinations(largest, 2)
    )


def enough(growers: Mapping[str, str], declined: Collection[str] = ()) -> bool:
    """Whether enough growers stand behind something that is not a farm's figure, as a weather station.

    Args:
        growers: Grower of each farm, by code of the farm; blank: a grower of its own.
        declined: Codes of farms that are no part of the update.
    """
    taking_part = {
        FarmFigure(farm, Fraction(0), grower=who).who for farm, who in growers.items() if farm not in declined
    }
    return len(taking_part) >= FEWEST_GROWERS


def week_ends(first: date, on: date, weekday: int) -> tuple[date, ...]:
    """Last days of a season's whole weeks; no two weeks share a day.

    Args:
        first: First day of the season.
        on: Day of the update; a week that ends later is not over.
        weekday: Weekday on which weeks end, Monday being 0.

    Returns:
        The days, oldest first. The first week begins in the season, so that none overlaps one of the season before.
    """
    day = first + timedelta(days=6)
    day += timedelta(days=(weekday - day.weekday()) % 7)
    found = []
    while day <= on:
        found.append(day)
        day += _WEEK
    return tuple(found)


class LettersOffice(Frozen):
    """Who writes the letters, and what the area update may be made of."""

    name: str = ""
    """Name of the office or programme."""
    address: str = ""
    """Postal address, one line."""
    email: str = ""
    """Where answers go."""
    phone: str = ""
    """Where calls go."""
    area: str = ""
    """Name of the area, for the update."""
    declined: frozenset[str] = frozenset()
    """Codes of farms that are no part of the update."""
    week_ends: int | None = None
    """Weekday on which the area's weeks end, Monday being 0; None: that of the first update of the season."""


def parse_letters(
    table: Mapping[str, object], where: str = "letters.toml"
) -> tuple[LettersOffice | None, tuple[Problem, ...]]:
    """Read what an office says of its letters.

    Args:
        table: The file as TOML gives it.
        where: Name of the file, for problems.

    Returns:
        What it says, or None where anything is wrong; and every fault.
    """
    reader = TableReader(table, where)
    with reader.inner("from") as sender, reader.inner("area") as area:
        day = area.choice("week_ends", WEEKDAYS)
        office = LettersOffice(
            name=sender.text("name") or "",
            address=sender.text("address") or "",
            email=sender.text("email") or "",
            phone=sender.text("phone") or "",
            area=area.text("name") or "",
            declined=_codes(area),
            week_ends=WEEKDAYS.index(day) if day else None,
        )
    reader.refuse_unknown()
    return (None if reader.problems else office), tuple(reader.problems)


def _codes(area: TableReader) -> frozenset[str]:
    value = area.value("declined")
    codes = [] if value is None else value
    if not isinstance(codes, list) or not all(isinstance(code, str) for code in codes):
        area.problem("declined", f"{shown(codes)} is no list of farm codes", 'write it as declined = ["MOSS"]')
        return frozenset()
    return frozenset(codes)


def unknown_farms(office: LettersOffice, known: Collection[str], where: str = "letters.toml") -> tuple[Problem, ...]:
    """Farms that declined and that nobody knows: a slip of the pen there would publish a farm against its will.

    Args:
        office: What the file says.
        known: Codes of the farms that are set up.
        where: Name of the file.
    """
    return tuple(
        Problem(f"{where}, area", f"declined names no farm: {sanitize(code, 40)}", "use the code of farms.csv")
        for code in sorted(office.declined - set(known))
    )
