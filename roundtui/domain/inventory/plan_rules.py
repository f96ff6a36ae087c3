"""How much ground is printed for one trap, as data: the plan of a season and the register both take it from here.

Authors differ, since lures and orchards do. The plan asks for the most traps published, so that none is missing when
season begins; the register names a block only where it has fewer than a wider printed figure asks for.

Rules of a season's plan, as data: when traps are hung, and how many. Every value has its source beside it.
An office's ``plan.toml``: its own rules for hanging, numbers of traps and habits, or the problems in it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import field, replace
from datetime import date
from enum import StrEnum
from fractions import Fraction
from typing import Any

from roundtui.domain.figures.rules import kind_word
from roundtui.domain.programme.stages import ANY_CROP
from roundtui.domain.records import Frozen
from roundtui.domain.season.degree_days import Cutoff, Development, Method, check
from roundtui.domain.text import ruled
from roundtui.domain.toml_table import TableReader, shown
from roundtui.domain.units import TempUnit
from roundtui.errors import Problem
from roundtui.published import read

ACRE_HA = Fraction(40468564224, 100000000000)
"""One acre. [ha]"""


class Printed(Frozen):
    """One printed density of traps."""

    acres: Fraction
    """Ground to one trap. [acres]"""
    by: str
    """Who prints it, in short."""
    source: str
    """Who prints it, and where."""
    over_acres: Fraction | None = None
    """It holds in blocks over this area only; None: in all. [acres]"""

    @property
    def ha_per_trap(self) -> Fraction:
        """Ground to one trap. [ha]"""
        return self.acres * ACRE_HA

    @property
    def over_ha(self) -> Fraction | None:
        """Area over which it holds. [ha]"""
        return None if self.over_acres is None else self.over_acres * ACRE_HA

    @property
    def words(self) -> str:
        """In a few words, as "one for 2.5 acres (1.0 ha)"."""
        return f"one for {float(self.acres):g} acres ({float(self.ha_per_trap):.1f} ha)"


_TABLES = read("plan")
SOURCES = dict(ruled(_TABLES["sources"]))
"""Who printed what a plan rests on, by a short name."""


def _printed(row: list[str]) -> Printed:
    _, acres, by, source, over = row
    return Printed(Fraction(acres), by, SOURCES[source], Fraction(over) if over else None)


CM_CLOSE, CM_WIDE, CM_WIDEST, ANY_SPECIES = map(_printed, ruled(_TABLES["density"]))
"""Of codling moth the most traps published, fewer (fewer still are named in the register) and the fewest; and of every
species that has none of its own."""
ZERO_SOURCE = SOURCES["michigan"]
"""Source of the principle that the first check has to read zero, else no biofix can be trusted."""
BEFORE_CATCH_SOURCE = SOURCES["before catch"]
"""Source of hanging two weeks before moths are expected, by the trap record of past years."""
SAME_PLACE_SOURCE = SOURCES["apricot"]
"""Source of using the same places every year, and so the same number of traps."""


class HangKind(StrEnum):
    """What a day to hang by goes by."""

    STAGE = "stage"
    DATE = "date"
    DEGREE_DAYS = "degree-days"
    FIRST_CATCH = "first-catch"


class HangRule(Frozen, kw_only=True):
    """One rule for when traps of a species hang. Exactly one of ``stage``, ``month_day`` and ``degree_days`` is set."""

    id: str
    """Short name."""
    species: str
    """Abbreviation of the species."""
    source: str
    """Who published it, or that it is the office's own."""
    stage: str = ""
    """BBCH code that the block reaches."""
    month_day: str = ""
    """Day of the year, as MM-DD."""
    degree_days: float | None = None
    """Degree-days from ``starts`` on. [unit of ``development``]"""
    development: Development | None = None
    """How they are counted; None: as the species' model counts."""
    starts: str = "01-01"
    """Day from which degree-days count, as MM-DD."""
    days_after: int = 0
    """Days after that day; negative: before it. [d]"""
    note: str = ""
    """Where it holds, or how it was read."""
    office: bool = False
    """Whether the office wrote it."""

    @property
    def kind(self) -> HangKind:
        """What it goes by."""
        return HangKind.STAGE if self.stage else HangKind.DATE if self.month_day else HangKind.DEGREE_DAYS


class DensityRule(Frozen, kw_only=True):
    """One advice on how many traps of a species a block has."""

    species: str
    """Abbreviation of the species; empty: any."""
    least: int
    """At least so many, however small the block."""
    source: str
    """Who published it, or that it is the office's own."""
    ha_per_trap: Fraction | None = None
    """One trap for so much land; None: the number holds whatever the area. [ha]"""
    over_ha: Fraction | None = None
    """That holds in blocks over this area only; None: in all. [ha]"""
    first_ha: Fraction | None = None
    """That holds for so much of a block; what lies beyond has one trap for ``then_ha_per_trap``. [ha]"""
    then_ha_per_trap: Fraction | None = None
    """One trap for so much of the land beyond ``first_ha``. [ha]"""


class VisitRule(Frozen, kw_only=True):
    """How often traps are visited, and for which of them and in which part of a season that holds."""

    every: str
    """Recurrence after the last visit, by RFC 5545: ``FREQ=DAILY;INTERVAL=3``, ``FREQ=WEEKLY;BYDAY=MO,TH``."""
    source: str
    """Who asks for it, or that it is the office's own."""
    species: str = ""
    """Abbreviation of the species; empty: any."""
    market: str = ""
    """Market that the block's fruit is meant for; empty: any."""
    months: tuple[int, ...] = ()
    """Months; empty: all."""
    biofix: str = ""
    """``before`` or ``after`` the first biofix is confirmed; empty: either."""
    degree_days: tuple[Fraction, Fraction] | None = None
    """From so many to so many degree-days after that biofix. [unit of the species' model]"""

    @property
    def stated(self) -> int:
        """How many conditions it states."""
        return sum(map(bool, (self.species, self.market, self.months, self.biofix or self.degree_days)))

    def fits(self, species: str, markets: Iterable[str], on: date, since: float | None) -> bool:
        """Whether it holds for a trap last seen on a day.

        Args:
            species: Abbreviation of the trap's species.
            markets: Markets of its block.
            on: The day.
            since: Degree-days from the confirmed biofix to that day; None: there is none by then.
        """
        if self.species not in ("", species) or (self.months and on.month not in self.months):
            return False
        if self.market and kind_word(self.market) not in map(kind_word, markets):
            return False
        if self.biofix and (self.biofix == "before") is not (since is None):
            return False
        first, last = self.degree_days or (0, 0)
        return self.degree_days is None or (since is not None and first <= since <= last)


class FindRule(Frozen, kw_only=True):
    """How many insects near each other make an outbreak, and what is watched about it afterwards."""

    species: str
    """Abbreviation of the species."""
    source: str
    """Who asks for it."""
    finds: int
    """So many insects."""
    within_m: float
    """Within so far of the last. [m]"""
    days: int
    """In so many days up to it: a life cycle, as the programme reckons it. [d]"""
    zones_m: tuple[int, ...] = ()
    """Radii of the zones about each find. [m]"""
    clear_days: int | None = None
    """So long without a further find before a zone may be lifted; None: nothing is counted. [d]"""
    act_hours: int | None = None
    """So soon after the find is on record something is to be done; None: no limit. [h]"""


_DAYS = {"MO": "Mon", "TU": "Tue", "WE": "Wed", "TH": "Thu", "FR": "Fri", "SA": "Sat", "SU": "Sun"}
_DAY = f"(?:{'|'.join(_DAYS)})"
_EVERY = re.compile(rf"FREQ=(DAILY|WEEKLY)(?:;INTERVAL=([1-9]\d?))?(?:;BYDAY=({_DAY}(?:,{_DAY})*))?")


def every_words(every: str) -> str:
    """A recurrence as people say it: every 3 days; every week on Mon, Thu."""
    match = _EVERY.fullmatch(every)
    unit, number, days = match.groups() if match else ("", "", "")
    named = {"DAILY": "day", "WEEKLY": "week"}.get(unit, every)
    on = f" on {', '.join(_DAYS[day] for day in days.split(','))}" if days else ""
    return f"every {named}{on}" if number in (None, "", "1") else f"every {number} {named}s{on}"


class Margins(Frozen):
    """Habits of a plan that are the office's to set."""

    before_catch_days: int = 14
    """So long before last year's first catch; see ``BEFORE_CATCH_SOURCE``. [d]"""
    season_days: int = 160
    """How long traps hang where no year before tells: April to September is about that (common practice). [d]"""
    tapes_per_trap: int = 2
    """Strips of flagging tape to a trap: one at the tree, one at the end of the row (from memory)."""
    spare_share: Fraction = Fraction(1, 10)
    """Spare bodies for so many that hang, at least one a species (common practice, no source)."""


_CM_50_88 = Development(50, 88, TempUnit.F, Method.SINGLE_SINE, Cutoff.HORIZONTAL)


def _as_printed(row: list[str]) -> HangRule:
    id_, species, when, *words = row
    kind, value, *after = when.split()
    source, note = (one.format_map(SOURCES) for one in (*words, "")[:2])
    rule = HangRule(id=id_, species=species, source=source, note=note, days_after=int(after[0]) if after else 0)
    if kind == "sum":
        return replace(rule, degree_days=int(value), development=_CM_50_88)
    return replace(rule, stage=value) if kind == "stage" else replace(rule, month_day=value)


SHIPPED_HANGING: tuple[HangRule, ...] = tuple(map(_as_printed, ruled(_TABLES["hanging"])))
"""When traps go out, as printed. For RBLR, TABM and LPTB nothing was found published: last year's catch alone tells."""

SHIPPED_DENSITY: tuple[DensityRule, ...] = (
    DensityRule(
        species="",
        least=2,
        ha_per_trap=ANY_SPECIES.ha_per_trap,
        over_ha=ANY_SPECIES.over_ha,
        source=f"two a species, over 20 acres one to 10 acres: {ANY_SPECIES.source}",
    ),
    DensityRule(
        species="CM",
        least=2,
        ha_per_trap=CM_CLOSE.ha_per_trap,
        source=f"{CM_CLOSE.words}: {CM_CLOSE.source}; {CM_WIDE.words}: {CM_WIDE.source}",
    ),
    *(
        DensityRule(species=species, least=int(least), source=source.format_map(SOURCES))
        for species, least, source in ruled(_TABLES["least"])
    ),
)
"""How many traps, as printed; the first of a species is used, before the one for any species."""


class PlanOffice(Frozen):
    """What an office has settled for its plans."""

    hanging: tuple[HangRule, ...] = SHIPPED_HANGING
    """The office's rules, then those that ship."""
    density: tuple[DensityRule, ...] = SHIPPED_DENSITY
    """The office's advice, then that which ships."""
    numbers: Mapping[tuple[str, str], int] = field(default_factory=dict)
    """How many traps the office wants, by block and species."""
    margins: Margins = Margins()
    """Habits."""
    visits: tuple[VisitRule, ...] = ()
    """How often traps are visited, where that is not once a week."""
    finds: tuple[FindRule, ...] = ()
    """Finds that the office watches for."""

    def visit_rule(self, species: str, markets: Iterable[str], on: date, since: float | None) -> VisitRule | None:
        """The rule for visits to a trap: of those that hold the one that states most, the first where two do.

        Args:
            species: As ``VisitRule.fits`` takes it, and so the rest.
            markets: Likewise.
            on: Likewise.
            since: Likewise.

        Returns:
            None where the trap is visited once a week, as all others.
        """
        fitting = [rule for rule in self.visits if rule.fits(species, markets, on, since)]
        return max(fitting, key=lambda rule: rule.stated, default=None)


def density_of(rules: Iterable[DensityRule], species: str) -> DensityRule | None:
    """The advice for a species: its own before that for any.

    Args:
        rules: Advice in order of rank: the office's, then that which ships.
        species: Abbreviation of the species.
    """
    fitting = [rule for rule in rules if rule.species in ("", species)]
    return next((rule for rule in fitting if rule.species), None) or next(iter(fitting), None)


def advised(rule: DensityRule, area_ha: Fraction | None) -> int:
    """How many traps an advice asks for.

    Args:
        rule: The advice.
        area_ha: Area of the block; None: not on record. [ha]
    """
    if rule.ha_per_trap is None or area_ha is None or area_ha <= (rule.over_ha or 0):
        return rule.least
    traps = -(-area_ha // rule.ha_per_trap)
    if rule.first_ha is not None and rule.then_ha_per_trap is not None and area_ha > rule.first_ha:
        traps = -(-rule.first_ha // rule.ha_per_trap) - ((rule.first_ha - area_ha) // rule.then_ha_per_trap)
    return max(rule.least, traps)


_DAY_HINT = 'as {} = "04-15"'
_MOST_TRAPS = 999
_MOST_DAYS = 366


def parse_plan(table: Mapping[str, object], where: str = "plan.toml") -> tuple[PlanOffice | None, tuple[Problem, ...]]:
    """Read an office's rules for plans.

    Args:
        table: The parsed TOML file, its decimal numbers as ``Decimal`` so that they stay exact.
        where: File name as problems show it.

    Returns:
        The office, its rules before those that ship, and no problems; or None and every problem found.
    """
    reader = TableReader(table, where)
    hanging = reader.each("hang", _hang, ids=set())
    density = reader.each("density", _density)
    numbers = reader.each("traps", _number)
    margins = _margins(reader)
    visits, finds = reader.each("visits", _visits), reader.each("find", _find)
    reader.refuse_unknown()
    if reader.problems:
        return None, tuple(reader.problems)
    rules = (*hanging, *SHIPPED_HANGING), (*density, *SHIPPED_DENSITY)
    return PlanOffice(*rules, dict(reversed(numbers)), margins, tuple(visits), tuple(finds)), ()


def _hang(reader: TableReader) -> HangRule:
    stage, day, amount = _stage(reader), reader.month_day("on", _DAY_HINT.format("on")), reader.number("degree_days")
    if sum(reader.has(key) for key in ("stage", "on", "degree_days")) != 1:
        reader.problem(
            "stage, on, degree_days", "one of the three is needed", 'as stage = "57", on = "04-15" or degree_days = 175'
        )
    if amount is None:
        for key in ("starts", "lower", "upper", "unit"):
            if reader.has(key):
                reader.problem(key, "belongs to degree_days", "leave it out")
    reader.dated()
    return HangRule(
        id=reader.id(),
        species=reader.species(),
        source=reader.source(),
        stage=stage,
        month_day=day,
        degree_days=float(amount) if amount is not None else None,
        development=_development(reader) if amount is not None else None,
        starts=reader.month_day("starts", _DAY_HINT.format("starts")) or "01-01",
        days_after=_signed(reader, "days_after"),
        note=reader.text("note") or "",
        office=True,
    )


def _stage(reader: TableReader) -> str:
    written = reader.value("stage")
    text = f"{written:02d}" if isinstance(written, int) and not isinstance(written, bool) else written
    if written is None or (isinstance(text, str) and text in {stage.code for stage in ANY_CROP}):
        return str(text or "")
    reader.problem("stage", f"{shown(written)} is no stage", 'write its BBCH code, as stage = "57"')
    return ""


def _signed(reader: TableReader, key: str) -> int:
    value = reader.value(key)
    if value is None:
        return 0
    if isinstance(value, int) and not isinstance(value, bool) and -_MOST_DAYS <= value <= _MOST_DAYS:
        return value
    reader.problem(key, f"{shown(value)} is no number of days", f"write it as {key} = 21, or -7 for before")
    return 0


def _development(reader: TableReader) -> Development | None:
    """The office's own way of counting; None where it leaves it to the species' model."""
    lower, upper = reader.number("lower"), reader.number("upper")
    unit = reader.choice("unit", list(TempUnit))
    if lower is None:
        if reader.has("upper") or reader.has("unit"):
            reader.problem("lower", "is missing", "write lower and unit, or neither: then the species' model counts")
        return None
    if unit is None:
        reader.problem("unit", "is missing", 'write unit = "F" or unit = "C"')
        return None
    cutoff = Cutoff.NONE if upper is None else Cutoff.HORIZONTAL
    low, high = float(lower), None if upper is None else float(upper)
    try:
        check(low, high, Method.SINGLE_SINE, cutoff)
    except ValueError as error:
        reader.problem("lower, upper", str(error), "check the two thresholds")
        return None
    return Development(low, high, TempUnit(unit), Method.SINGLE_SINE, cutoff)


def _density(reader: TableReader) -> DensityRule:
    needed = "write how many traps a block has at least, as least = 2"
    least = reader.whole("least", 1, _MOST_TRAPS, needed=needed)
    per, then = _ground(reader, "ha_per_trap"), _ground(reader, "then_ha_per_trap")
    first = reader.number("first_ha")
    if (first is None) != (then is None) or (first is not None and per is None):
        words = "as ha_per_trap = 1, first_ha = 8, then_ha_per_trap = 2"
        reader.problem("first_ha, then_ha_per_trap", "go together, beside ha_per_trap", words)
    return DensityRule(
        species=reader.species(needed=False),
        least=least or 1,
        source=reader.source(),
        ha_per_trap=per,
        over_ha=reader.number("over_ha"),
        first_ha=first,
        then_ha_per_trap=then,
    )


def _ground(reader: TableReader, key: str) -> Fraction | None:
    """Land to one trap, which is more than none. [ha]"""
    per = reader.number(key)
    if per is not None and per <= 0:
        reader.problem(key, "is nothing", f"write how much land one trap serves, as {key} = 1")
        return None
    return per


def _number(reader: TableReader) -> tuple[tuple[str, str], int]:
    block = reader.text("block", needed="the block, as blocks.csv has it") or ""
    needed = "write how many traps are wanted there, as number = 4"
    number = reader.whole("number", 0, _MOST_TRAPS, needed=needed)
    return (block, reader.species()), number or 0


def _visits(reader: TableReader) -> VisitRule:
    every = reader.text("every", needed='as every = "FREQ=DAILY;INTERVAL=3"') or ""
    if every and not _EVERY.fullmatch(every):
        hint = "write FREQ=DAILY or FREQ=WEEKLY, then ;INTERVAL=2 and ;BYDAY=MO,TH where wanted"
        reader.problem("every", f"{shown(every)} is no recurrence known here", hint)
    return VisitRule(
        every=every,
        source=reader.source(),
        species=reader.species(needed=False),
        market=reader.text("market") or "",
        months=reader.wholes("months", 1, 12),
        biofix=reader.choice("biofix", ("before", "after")) or "",
        degree_days=reader.numbers("degree_days"),
    )


def _find(reader: TableReader) -> FindRule:
    needed = "as finds = 2, within_m = 1000, days = 60"
    return FindRule(
        species=reader.species(),
        source=reader.source(),
        finds=reader.whole("finds", 1, _MOST_TRAPS, needed=needed) or 1,
        within_m=float(reader.number("within_m", needed=needed) or 0),
        days=reader.whole("days", 0, _MOST_DAYS, needed=needed) or 0,
        zones_m=reader.wholes("zones_m", 1, 99_999),
        clear_days=reader.whole("clear_days", 0, _MOST_DAYS),
        act_hours=reader.whole("act_hours", 0, _MOST_DAYS),
    )


def _margins(reader: TableReader) -> Margins:
    with reader.inner("margins") as inner:
        said: dict[str, Any] = {
            "before_catch_days": inner.whole("before_catch_days", 0, 90),
            "season_days": inner.whole("season_days", 1, _MOST_DAYS),
            "tapes_per_trap": inner.whole("tapes_per_trap", 0, 9),
            "spare_share": inner.number("spare_share"),
        }
    return replace(Margins(), **{name: value for name, value in said.items() if value is not None})
