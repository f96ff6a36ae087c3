"""An office's ``plan.toml``: its own rules for hanging, numbers of traps and habits, or the problems in it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import TypeVar

from roundtui.domain.degree_days import Cutoff, Development, Method, check
from roundtui.domain.plan.rules import SHIPPED_DENSITY, SHIPPED_HANGING, DensityRule, HangRule, Margins, PlanOffice
from roundtui.domain.species import SPECIES, species_code
from roundtui.domain.stages import ANY_CROP
from roundtui.domain.table import TableReader, shown
from roundtui.domain.units import TempUnit
from roundtui.errors import Problem

_SOURCE = "say who published it, or that it is the office's own practice"
_DATE = "day of the source, or on which the office took it up, as date = 2025-03-01"
_MOST_TRAPS = 999
_MOST_DAYS = 366
T = TypeVar("T")


def parse_plan(table: Mapping[str, object], where: str = "plan.toml") -> tuple[PlanOffice | None, tuple[Problem, ...]]:
    """Read an office's rules for plans.

    Args:
        table: The parsed TOML file, its decimal numbers as ``Decimal`` so that they stay exact.
        where: File name as problems show it.

    Returns:
        The office, its rules before those that ship, and no problems; or None and every problem found.
    """
    reader = TableReader(table, where)
    hanging = _each(reader, "hang", where, _hang)
    density = _each(reader, "density", where, _density)
    numbers = _each(reader, "traps", where, _number)
    margins = _margins(reader, where)
    reader.refuse_unknown()
    for number, rule in enumerate(hanging):
        if rule.id and rule.id in [other.id for other in hanging[:number]]:
            reader.problem("hang", f"id: {shown(rule.id)} is taken", "give each its own id")
    if reader.problems:
        return None, tuple(reader.problems)
    return PlanOffice((*hanging, *SHIPPED_HANGING), (*density, *SHIPPED_DENSITY), tuple(numbers), margins), ()


def _each(reader: TableReader, key: str, where: str, read: Callable[[TableReader], T]) -> list[T]:
    written = reader.value(key)
    if written is None:
        return []
    if not isinstance(written, list) or not all(isinstance(part, dict) for part in written):
        reader.problem(key, "is no list of tables", f"head each one with [[{key}]]")
        return []
    found = []
    for number, part in enumerate(written, 1):
        inner = TableReader(part, f"{where}, {key} {number}")
        found.append(read(inner))
        inner.refuse_unknown()
        reader.problems.extend(inner.problems)
    return found


def _species(reader: TableReader, *, needed: bool = True) -> str:
    listed = ", ".join(SPECIES)
    text = reader.text("species", needed=f"one of {listed}" if needed else "")
    if text is None or text in SPECIES:
        return text or ""
    meant = species_code(text)
    reader.problem("species", f"{shown(text)} is unknown", f"write {meant}" if meant else f"one of {listed}")
    return ""


def _hang(reader: TableReader) -> HangRule:
    stage, day, amount = _stage(reader), _month_day(reader, "on"), reader.number("degree_days")
    if sum(reader.has(key) for key in ("stage", "on", "degree_days")) != 1:
        reader.problem(
            "stage, on, degree_days", "one of the three is wanted", 'as stage = "57", on = "04-15" or degree_days = 175'
        )
    if amount is None:
        for key in ("starts", "lower", "upper", "unit"):
            if reader.has(key):
                reader.problem(key, "belongs to degree_days", "leave it out")
    after = _signed(reader, "days_after")
    return HangRule(
        id=reader.text("id", needed="give it a short name of its own") or "",
        species=_species(reader),
        source=reader.text("source", needed=_SOURCE) or "",
        stage=stage,
        month_day=day,
        degree_days=float(amount) if amount is not None else None,
        development=_development(reader) if amount is not None else None,
        starts=_month_day(reader, "starts") or "01-01",
        days_after=after,
        note=reader.text("note") or "",
        date=reader.day("date", needed=_DATE),
        office=True,
    )


def _stage(reader: TableReader) -> str:
    written = reader.value("stage")
    text = f"{written:02d}" if isinstance(written, int) and not isinstance(written, bool) else written
    if written is None or (isinstance(text, str) and text in {stage.code for stage in ANY_CROP}):
        return str(text or "")
    reader.problem("stage", f"{shown(written)} is no stage", 'write its BBCH code, as stage = "57"')
    return ""


def _month_day(reader: TableReader, key: str) -> str:
    text = reader.text(key)
    if text is None:
        return ""
    try:
        # A leap day is no day of every year.
        date.fromisoformat(f"2001-{text}")
    except ValueError:
        reader.problem(key, f"{shown(text)} is no day of every year", f'as {key} = "04-15"')
        return ""
    return text


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
        reader.problem("lower, upper", str(error), "look at the two thresholds")
        return None
    return Development(low, high, TempUnit(unit), Method.SINGLE_SINE, cutoff)


def _density(reader: TableReader) -> DensityRule:
    least = reader.whole("least", 1, _MOST_TRAPS)
    if not reader.has("least"):
        reader.problem("least", "is missing", "write how many traps a block has at least, as least = 2")
    per = reader.number("ha_per_trap")
    if per is not None and per <= 0:
        reader.problem("ha_per_trap", "is nothing", "write how much land one trap serves, as ha_per_trap = 1")
        per = None
    return DensityRule(
        species=_species(reader, needed=False),
        least=least or 1,
        source=reader.text("source", needed=_SOURCE) or "",
        ha_per_trap=per,
        over_ha=reader.number("over_ha"),
        office=True,
    )


def _number(reader: TableReader) -> tuple[str, str, int]:
    block = reader.text("block", needed="the block, as blocks.csv has it") or ""
    number = reader.whole("number", 0, _MOST_TRAPS)
    if not reader.has("number"):
        reader.problem("number", "is missing", "write how many traps are wanted there, as number = 4")
    return block, _species(reader), number or 0


def _margins(reader: TableReader, where: str) -> Margins:
    written = reader.value("margins")
    usual = Margins()
    if written is None:
        return usual
    if not isinstance(written, dict):
        reader.problem("margins", "is no table", "head it with [margins], then before_catch_days = 14")
        return usual
    inner = TableReader(written, f"{where}, margins")
    before, season = inner.whole("before_catch_days", 0, 90), inner.whole("season_days", 1, _MOST_DAYS)
    tapes, share = inner.whole("tapes_per_trap", 0, 9), inner.number("spare_share")
    inner.refuse_unknown()
    reader.problems.extend(inner.problems)
    return Margins(
        usual.before_catch_days if before is None else before,
        usual.season_days if season is None else season,
        usual.tapes_per_trap if tapes is None else tapes,
        usual.spare_share if share is None else share,
    )
