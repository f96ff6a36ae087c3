"""Looks at leaf and fruit: what is looked for in a block, what is impossible of an entry, and what an entry shows."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from fractions import Fraction
from typing import TYPE_CHECKING

from roundtui.domain.intervals import clopper_pearson, wilson
from roundtui.domain.orchard_entries import Look, LookKind
from roundtui.domain.programme.farm import Programme, natural_key
from roundtui.domain.round.walk import last_readings
from roundtui.domain.sampling.data import SHIPPED_LOOKS
from roundtui.domain.sampling.records import NO_PLAN, LookVerdict, MonthDay, Plan, Seen, Sought, judge, plural, presence
from roundtui.domain.text import plain
from roundtui.errors import Problem

if TYPE_CHECKING:
    from roundtui.domain.figures.rules import Office
    from roundtui.domain.visits import Visit

RECENT_DAYS = 14
"""Days for which a look at the fruit stands beside a low catch under mating disruption. [d]"""
INTO_FRUIT = ("CM", "OFM", "AM", "OBLR", "RBLR", "TABM")
"""Species whose larvae are looked for in fruit, the commonest first."""
GRADES = ("absent", "trace", "slight, below threshold", "moderate, above", "heavy", "severe")
"""Severity from 0 to 5. Source: NIAB best practice, pest and disease assessment."""
MOST = 99_999
"""Most units or animals of one look."""
_SHOWN = 40


@dataclass(frozen=True, slots=True)
class LookRow:
    """A look with what it shows."""

    look: Look
    """The entry."""
    sought: Sought
    """What was looked for."""
    plan: Plan | None
    """Plan it was walked by; None where it was walked by none, or by one that nobody knows here."""
    verdict: LookVerdict
    """What the plan says."""
    share: Fraction
    """Units with it, of those looked at. [1]"""
    interval: tuple[float, float]
    """Exact interval of the share, 95 %. [1]"""
    score_interval: tuple[float, float]
    """Score interval of the share, 95 %. [1]"""
    per_unit: Fraction | None
    """Animals or marks a unit; None where they were not counted."""
    by_presence: tuple[Fraction, Fraction | None] | None
    """Animals a unit between two rows of a published table, where only presence was noted."""


@dataclass(frozen=True, slots=True)
class HighestCatch:
    """The trap of a block with the highest catch."""

    trap: str
    """Its label."""
    species: str
    """Its species."""
    row: str
    """Orchard row; empty where nobody wrote it down."""
    tree: str
    """Tree in the row; likewise."""
    per_week: Fraction
    """Its newest catch. [moths/trap/week]"""
    read_on: date
    """Day of that reading."""


def look_table(office: Office) -> tuple[Sought, ...]:
    """What is looked for, the office's own before what ships.

    Args:
        office: What the office settled for itself.
    """
    own = {sought.key: sought for sought in office.looks}
    return (*office.looks, *(sought for sought in SHIPPED_LOOKS if sought.key not in own))


def day_of_year(on: date, *, south: bool = False) -> MonthDay:
    """Month and day as plans have them, half a year on in the south: derived, since all plans are from the north.

    Args:
        on: The day.
        south: Whether the block lies south of the equator.
    """
    return ((on.month + 5) % 12 + 1 if south else on.month), on.day


def in_the_south(programme: Programme, block: str) -> bool:
    """Whether the station of a block lies south of the equator.

    Args:
        programme: What is set up.
        block: Code of the block.
    """
    known = programme.blocks.get(block)
    station = programme.stations.get(known.station) if known else None
    return station is not None and station.lat is not None and station.lat < 0


def to_look_for(
    table: Sequence[Sought], crop: str, day: MonthDay, chosen: Sequence[str] = ()
) -> tuple[tuple[Sought, bool], ...]:
    """What can be looked for on a crop: what was chosen last, then what is in season, then the rest.

    Args:
        table: What is looked for.
        crop: Crop of the block.
        day: Month and day, as ``day_of_year`` gives them.
        chosen: Names of what was chosen before, the last one first; see ``name_of``.

    Returns:
        Each with whether this is its time of the year.
    """
    fits = [sought for sought in table if not sought.crops or crop.casefold() in sought.crops]
    found = [(sought, not sought.months or day[0] in sought.months) for sought in fits]

    def place(row: tuple[Sought, bool]) -> tuple[int, bool]:
        name = name_of(row[0])
        return (chosen.index(name) if name in chosen else len(chosen)), not row[1]

    return tuple(sorted(found, key=place))


def name_of(sought: Sought) -> str:
    """One word for something looked for, to be kept.

    Args:
        sought: What is looked for.
    """
    return "/".join((sought.kind.value, sought.code, sought.looked_at))


def plans_on(sought: Sought, day: MonthDay) -> tuple[Plan, ...]:
    """Plans that hold on a day, the first to be used first.

    Args:
        sought: What is looked for.
        day: Month and day, as ``day_of_year`` gives them.
    """
    return tuple(plan for plan in sought.plans if plan.holds_on(day))


def sought_of(table: Iterable[Sought], kind: LookKind, pest: str, looked_at: str) -> Sought:
    """What an entry is about; a free word is looked for without a plan.

    Args:
        table: What is looked for.
        kind: Leaf or fruit.
        pest: Code, or a free word.
        looked_at: The unit.
    """
    same = [one for one in table if one.kind is kind and one.code.casefold() == pest.casefold()]
    of_unit = next((one for one in same if one.looked_at == looked_at), None)
    if of_unit is not None:
        return of_unit
    name = same[0].name if same else pest or "fruit, any injury"
    plans = tuple(plan for one in same for plan in one.plans)
    counted = same[0].counted if same else ""
    return Sought(code=pest, name=name, kind=kind, looked_at=looked_at, plans=plans, counted=counted)


def look_row(look: Look, table: Sequence[Sought]) -> LookRow:
    """A look with what it shows.

    Args:
        look: The entry.
        table: What is looked for.
    """
    sought = sought_of(table, look.kind, look.pest, look.looked_at)
    plan = next((one for one in sought.plans if one.id == look.plan), None)
    counted = 0 if look.found == 0 and sought.counted else look.counted
    seen = Seen(look.looked, look.found, counted)
    verdict = judge(plan, seen, sought.by_presence)
    if look.plan and plan is None:
        verdict = LookVerdict(NO_PLAN.outcome, why=f"the plan {plain(look.plan, _SHOWN)} is not known here")
    return LookRow(
        look=look,
        sought=sought,
        plan=plan,
        verdict=verdict,
        share=Fraction(look.found, look.looked),
        interval=clopper_pearson(look.found, look.looked),
        score_interval=wilson(look.found, look.looked),
        per_unit=None if counted is None else Fraction(counted, look.looked),
        by_presence=presence(sought.by_presence, look.looked, look.found) if counted is None else None,
    )


def judged_row(look: Look, table: Sequence[Sought], programme: Programme) -> LookRow:
    """A look with what it shows; one walked by no plan is held against the first plan that holds on its day.

    Fruit looked at for one pest that has no plan of its own is held against that for any injury.

    Args:
        look: The entry.
        table: What is looked for.
        programme: For the half of the earth that the block lies on.
    """
    row = look_row(look, table)
    if look.plan:
        return row
    day = day_of_year(look.looked_on, south=in_the_south(programme, look.block))
    for pest in dict.fromkeys((look.pest, "") if look.kind is LookKind.FRUIT else (look.pest,)):
        plans = plans_on(sought_of(table, look.kind, pest, look.looked_at), day)
        if plans:
            return look_row(replace(look, pest=pest, plan=plans[0].id), table)
    return row


def fruit_look(looks: Iterable[Look], block: str, species: str, on: date) -> Look | None:
    """The newest look at the fruit of a block in the last fourteen days that says something of a species.

    Args:
        looks: Present looks.
        block: Code of the block.
        species: Abbreviation of the species; a look for any injury counts too.
        on: The day.
    """
    first = on - timedelta(days=RECENT_DAYS - 1)
    found = [
        look
        for look in looks
        if look.kind is LookKind.FRUIT
        and look.block == block
        and look.pest in {"", species}
        and first <= look.looked_on <= on
    ]
    return max(found, key=lambda look: (look.looked_on, look.id), default=None)


def highest_catch(
    programme: Programme, visits: Callable[[str], Sequence[Visit]], block: str, on: date, pest: str = ""
) -> HighestCatch | None:
    """The trap from which a look at the fruit starts: that with the highest newest catch of its species in the block.

    Args:
        programme: What is set up.
        visits: Gives the present visits of a trap in order.
        block: Code of the block.
        on: The day; readings older than fourteen days are passed over.
        pest: Species the look is about; empty: the first of ``INTO_FRUIT`` that hangs there.

    Returns:
        None where no trap of such a species caught anything.
    """
    found = []
    for hangings in programme.hangings.values():
        for hanging in hangings:
            if hanging.block != block or not hanging.hangs_on(on):
                continue
            for visit, reading in last_readings(hanging, visits(hanging.trap), on):
                rate = reading.per_week if reading is not None and not reading.conflict else None
                if rate is not None:
                    if (on - visit.read_on).days < RECENT_DAYS:
                        one = HighestCatch(
                            hanging.trap, hanging.species, hanging.row, hanging.tree, rate, visit.read_on
                        )
                        found.append(one)
                    break
    wanted = (pest,) if pest else INTO_FRUIT
    for species in wanted:
        own = [one for one in found if one.species == species and one.per_week > 0]
        if own:
            return max(sorted(own, key=lambda one: natural_key(one.trap)), key=lambda one: one.per_week)
    return None


def check_look(look: Look, programme: Programme) -> tuple[Problem, ...]:
    """What makes a look impossible. Only the impossible is refused.

    Args:
        look: The entry.
        programme: What is set up.

    Returns:
        The problems, none for a look that can be recorded.
    """
    where = f"{plain(look.block, _SHOWN)} on {look.looked_on}"
    wrong = [*_numbers(look), *(_of_fruit(look) if look.kind is LookKind.FRUIT else _of_leaf(look))]
    if look.block not in programme.blocks:
        wrong.append((f"there is no block {plain(look.block, _SHOWN)}", "check the label, or set it up first"))
    if not look.looked_at.strip():
        wrong.append(("nobody knows what was looked at", "write leaf, shoot, cluster, tree, truss, tap or fruit"))
    return tuple(Problem(where, message, hint) for message, hint in wrong)


def _numbers(look: Look) -> Iterable[tuple[str, str]]:
    unit = plain(plural(look.looked_at), _SHOWN)
    if not 1 <= look.looked <= MOST:
        yield f"{look.looked} {unit} cannot have been looked at", f"write 1 to {MOST}"
    if not 0 <= look.found <= look.looked:
        yield f"{look.found} of {look.looked} {unit} cannot have it", "write at most as many as were looked at"
    if look.counted is not None and (look.counted < look.found or (look.counted and not look.found)):
        yield (
            f"{look.counted} counted on {look.found} {unit} cannot be",
            "each of the units found has at least one, and the others have none",
        )
    if look.beneficials is not None and not 0 <= look.beneficials <= look.looked:
        yield f"predators on {look.beneficials} of {look.looked} {unit} cannot be", "write at most as many as looked at"
    if look.trees is not None and not 1 <= look.trees <= MOST:
        yield f"{look.trees} trees cannot have been walked to", f"write 1 to {MOST}, or leave it out"
    if look.grade is not None and not 0 <= look.grade < len(GRADES):
        yield f"there is no grade {look.grade}", "write 0 for absent to 5 for severe"
    elif look.grade == 0 and look.found:
        yield f"grade 0 is absent, and {look.found} {unit} had it", "write 1 to 5, or leave the grade out"


def _of_leaf(look: Look) -> Iterable[tuple[str, str]]:
    if not look.pest.strip():
        yield "nobody knows what was looked for", "write the pest or disease"
    if not (look.entries is look.stings is look.other_injury is None):
        yield "entries, stings and other injury are of fruit", "leave them out, or make it a look at fruit"


def _of_fruit(look: Look) -> Iterable[tuple[str, str]]:
    for words, number in (("entries", look.entries), ("other injury", look.other_injury)):
        if number is not None and not 0 <= number <= look.found:
            yield f"{number} fruit with {words} cannot be among {look.found} injured", "write at most as many"
    if look.stings is not None and not 0 <= look.stings <= look.looked - look.found:
        yield (
            f"{look.found} injured and {look.stings} with stings are more than {look.looked} fruit",
            "stings stand apart from the injured: a fruit is one or the other",
        )
