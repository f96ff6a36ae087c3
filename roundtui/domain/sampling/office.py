"""What an office looks for beside what ships, and its own plans, out of the table it wrote; or the problems in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from itertools import pairwise

from roundtui.domain.entries import SampleKind
from roundtui.domain.sampling.data import SHIPPED_SAMPLES
from roundtui.domain.sampling.records import COMMON, Measure, MonthDay, Plan, Sought, Stop
from roundtui.domain.text import sanitize
from roundtui.domain.toml_table import TableReader, shown
from roundtui.errors import Problem

_MOST_UNITS = 9999


def parse_samples(table: Mapping[str, object], where: str) -> tuple[tuple[Sought, ...] | None, tuple[Problem, ...]]:
    """Read an office's looks.

    Args:
        table: The parsed TOML file, its decimal numbers as ``Decimal`` so that they stay exact.
        where: File name as problems show it.

    Returns:
        What it looks for, its own plans before those that ship for the same, and no problems; or None and every
        problem found, each naming the sample and the key.
    """
    reader = TableReader(table, where)
    problems = reader.problems
    found: dict[tuple[object, ...], Sought] = {}
    ids: set[str] = {plan.id for sought in SHIPPED_SAMPLES for plan in sought.plans}
    for number, written in enumerate(reader.tables("sample"), start=1):
        sought, wrong = _sample(written, f"{where}, sample {number}", ids)
        problems += wrong
        if sought is not None:
            if sought.key in found:
                problems.append(
                    Problem(f"{where}, sample {number}", "is there twice", "put its plans under one [[sample]]")
                )
            found[sought.key] = sought
    reader.refuse_unknown()
    return (None, tuple(problems)) if problems else (tuple(found.values()), ())


def _sample(table: Mapping[str, object], where: str, ids: set[str]) -> tuple[Sought | None, list[Problem]]:
    name = table.get("code")
    where += f" ({sanitize(name, 40)})" if isinstance(name, str) else ""
    reader = TableReader(table, where)
    kind = SampleKind(reader.choice("kind", list(SampleKind)) or SampleKind.LEAF)
    code = reader.text("code", needed="" if kind is SampleKind.FRUIT else "give it a short code, as ERM") or ""
    unit = reader.text("looked_at") or ("fruit" if kind is SampleKind.FRUIT else "leaf")
    base = next(
        (one for one in SHIPPED_SAMPLES if one.kind is kind and one.code == code and one.looked_at == unit),
        Sought(code=code, name=code or "fruit", kind=kind, looked_at=unit),
    )
    plans = []
    for number, written in enumerate(reader.tables("plan"), start=1):
        plan, wrong = _plan(written, f"{where}, plan {number}", base, ids)
        reader.problems += wrong
        plans += [plan] if plan is not None else []
    sought = replace(
        base,
        name=reader.text("name") or base.name,
        counted=reader.text("counted") or base.counted,
        crops=_words(reader, "crops") or base.crops,
        months=reader.wholes("months", 1, 12) or base.months,
        units=reader.whole("units", 1, _MOST_UNITS) or base.units,
        plans=(*plans, *base.plans),
    )
    reader.refuse_unknown()
    return (None if reader.problems else sought), reader.problems


def _plan(table: Mapping[str, object], where: str, base: Sought, ids: set[str]) -> tuple[Plan | None, list[Problem]]:
    name = table.get("id")
    reader = TableReader(table, where + (f" ({sanitize(name, 40)})" if isinstance(name, str) else ""))
    id_ = reader.text("id", needed="give the plan a short name of its own") or ""
    if id_ in ids:
        reader.problem("id", f"{shown(id_)} is taken", "give each its own id")
    ids.add(id_)
    measure = Measure(reader.choice("measure", list(Measure), needed=True) or Measure.SHARE)
    units = reader.whole("units", 1, _MOST_UNITS)
    low, high = reader.number("low"), reader.number("high")
    stops = _stops(reader)
    plan = Plan(
        id=id_,
        measure=measure,
        source=reader.source(),
        units=stops[-1].looked if stops else units or base.units,
        units_source="" if stops or units else COMMON,
        low=low if low is not None else high,
        high=high if high is not None else low,
        above=reader.yes_no("above") or False,
        stops=stops,
        first=_day(reader, "first"),
        last=_day(reader, "last"),
        date=_dated(reader),
        note=reader.text("note") or "",
        office=True,
    )
    _check(reader, plan)
    reader.refuse_unknown()
    return (None if reader.problems else plan), reader.problems


def _dated(reader: TableReader) -> date | None:
    return reader.dated()


def _check(reader: TableReader, plan: Plan) -> None:
    low, high = plan.low, plan.high
    if plan.measure is Measure.STOPS:
        if not plan.stops and not reader.has("stops"):
            reader.problem("stops", "is missing", "write [looked at, stop low, stop high], stops = [[60, 1, 4]]")
        if low is not None:
            reader.problem("low, high", "have no meaning in a plan of stops", "leave them out")
        return
    if reader.has("stops"):
        reader.problem(
            "stops", f"has no meaning in a plan by {plan.measure}", 'leave it out, or write measure = "stops"'
        )
    if low is None or high is None:
        reader.problem("low, high", "are both missing", "write low and high, or one of them for a single number")
    elif low > high:
        reader.problem("low", "is above high", "below low is below, at or over high is over: the smaller one is low")
    elif plan.measure is Measure.SHARE and high > 1:
        reader.problem("high", "is more than the whole", "a share is written as 0.05 for 5 %")
    elif plan.above and low != high:
        reader.problem("above", "belongs to a single number", "leave it out, or write one number")
    if (plan.first is None) is not (plan.last is None):
        reader.problem("first, last", "belong together", 'write both, first = "06-01" and last = "07-15"')


def _stops(reader: TableReader) -> tuple[Stop, ...]:
    written = reader.value("stops")
    if written is None:
        return ()
    found = [_stop(row) for row in written] if isinstance(written, list) and written else [None]
    stops = tuple(stop for stop in found if stop is not None)
    rising = all(one.looked < two.looked and one.low <= two.low for one, two in pairwise(stops))
    if len(stops) == len(found) and rising:
        return stops
    reader.problem(
        "stops",
        f"{shown(written)} is no list of stops",
        "write [looked at, stop low, stop high], rising, as stops = [[60, 1, 4], [90, 2, 4]]",
    )
    return ()


def _stop(row: object) -> Stop | None:
    if not isinstance(row, list) or len(row) != 3 or not all(type(part) is int and part >= 0 for part in row):
        return None
    looked, low, high = row
    return Stop(looked, low, high) if 1 <= looked <= _MOST_UNITS and low < high <= looked else None


def _day(reader: TableReader, key: str) -> MonthDay | None:
    text = reader.text(key)
    if text is None:
        return None
    try:
        day = date.fromisoformat(f"2000-{text}")
    except ValueError:
        reader.problem(key, f"{shown(text)} is no day of the year", f'as {key} = "06-01"')
        return None
    return day.month, day.day


def _words(reader: TableReader, key: str) -> tuple[str, ...]:
    written = reader.value(key)
    if written is None:
        return ()
    if isinstance(written, list) and written and all(isinstance(part, str) and part.strip() for part in written):
        return tuple(" ".join(part.casefold().split()) for part in written)
    reader.problem(key, f"{shown(written)} is no list of words", f'as {key} = ["apple", "pear"]')
    return ()
