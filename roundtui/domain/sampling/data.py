"""The table of what is looked for, with every published plan and threshold that was found, each with its source.

Months, and numbers of units where a source has none, are common practice without a source and say so. Where two sources
contradict each other both stand, and the first is used unless somebody chooses otherwise. The table is
``published/samples.txt``; an office's own plans are read out of the table it wrote.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fnmatch import fnmatchcase
from fractions import Fraction
from itertools import pairwise

from roundtui.domain.entries import SampleKind
from roundtui.domain.sampling.records import COMMON, Measure, MonthDay, Plan, Sought, Stop
from roundtui.domain.text import ruled
from roundtui.domain.toml_table import TableReader, shown
from roundtui.errors import Problem
from roundtui.published import read

_TABLES = read("samples")
_SOURCES = dict(ruled(_TABLES["sources"]))
_CROPS = {name: tuple(filter(None, crops.split(", "))) for name, crops in ruled(_TABLES["crops"])}
_REMARKS = {code: remark for codes, remark in ruled(_TABLES["remarks"]) for code in codes.split()}
_BY_PRESENCE = dict(ruled(_TABLES["mites by presence"]))
BY_PRESENCE_NOTE = _BY_PRESENCE["note"]
"""Where the table comes from that makes mites a leaf out of leaves with mites, and what is odd about it."""


def _mites(rows: str) -> tuple[tuple[int, Fraction], ...]:
    pairs = (row.split(":") for row in rows.split())
    return tuple((int(leaves), Fraction(mites)) for leaves, mites in pairs)


def _plan(row: list[str]) -> Plan:
    """A plan of the table: what it wants is a measure with one number, a range, or its stops."""
    id_, source, wants, units, days, note = row
    measure, *numbers = wants.split()
    looked, _, units_source = units.partition(" ")
    stops = tuple(Stop(*map(int, one.split(","))) for one in numbers) if measure == Measure.STOPS else ()
    edges = [] if stops else [Fraction(one) for one in numbers[0].lstrip(">").split("-")]
    first, last = [_month_day(one) for one in days.split("-")] if days else (None, None)
    return Plan(
        id=id_,
        measure=Measure(measure),
        source=_SOURCES[source],
        units=int(looked),
        units_source=_SOURCES[units_source] if units_source else "",
        low=edges[0] if edges else None,
        high=edges[-1] if edges else None,
        above=numbers[0].startswith(">"),
        stops=stops,
        first=first,
        last=last,
        note=note,
    )


def _month_day(text: str) -> MonthDay:
    day, month = text.split(".")
    return int(month), int(day)


_PLANS = [_plan(row) for row in ruled(_TABLES["plans"])]


def _sought(row: list[str]) -> Sought:
    code, name, looked_at, counted, crops, months, units, plans, spread = row
    first, last = map(int, months.split("-"))
    return Sought(
        code=code,
        name=name,
        kind=SampleKind.FRUIT if looked_at == "fruit" else SampleKind.LEAF,
        looked_at=looked_at,
        plans=tuple(plan for plan in _PLANS if any(fnmatchcase(plan.id, one) for one in plans.split())),
        counted=counted,
        crops=_CROPS[crops],
        months=tuple(range(first, last + 1)),
        units=int(units),
        spread=spread,
        by_presence=_mites(_BY_PRESENCE.get(code, "")),
        remark=_REMARKS.get(code, ""),
    )


SHIPPED_SAMPLES: tuple[Sought, ...] = tuple(map(_sought, ruled(_TABLES["samples"])))
"""Everything that ships, in the order in which it is offered: leaves, shoots, clusters, trees, taps, and fruit."""


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
    ids = {plan.id for sought in SHIPPED_SAMPLES for plan in sought.plans}
    found: dict[tuple[object, ...], Sought] = {}

    def sample(inner: TableReader) -> None:
        sought = _sample(inner, ids)
        if sought.key in found:
            inner.problem("", "is there twice", "put its plans under one [[sample]]")
        found[sought.key] = sought

    reader.each("sample", sample)
    reader.refuse_unknown()
    return (None, tuple(reader.problems)) if reader.problems else (tuple(found.values()), ())


def _sample(reader: TableReader, ids: set[str]) -> Sought:
    kind = SampleKind(reader.choice("kind", list(SampleKind)) or SampleKind.LEAF)
    code = reader.text("code", needed="" if kind is SampleKind.FRUIT else "give it a short code, as ERM") or ""
    unit = reader.text("looked_at") or ("fruit" if kind is SampleKind.FRUIT else "leaf")
    base = next(
        (one for one in SHIPPED_SAMPLES if one.kind is kind and one.code == code and one.looked_at == unit),
        Sought(code=code, name=code or "fruit", kind=kind, looked_at=unit),
    )
    plans = reader.each("plan", lambda inner: _plan_office(inner, base), ids=ids)
    return replace(
        base,
        name=reader.text("name") or base.name,
        counted=reader.text("counted") or base.counted,
        crops=_words(reader, "crops") or base.crops,
        months=reader.wholes("months", 1, 12) or base.months,
        units=reader.whole("units", 1, _MOST_UNITS) or base.units,
        plans=(*plans, *base.plans),
    )


def _plan_office(reader: TableReader, base: Sought) -> Plan:
    measure = Measure(reader.choice("measure", list(Measure), needed=True) or Measure.SHARE)
    units = reader.whole("units", 1, _MOST_UNITS)
    low, high = reader.number("low"), reader.number("high")
    stops = _stops(reader)
    plan = Plan(
        id=reader.id(),
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
        date=reader.dated(),
        note=reader.text("note") or "",
        office=True,
    )
    _check(reader, plan)
    return plan


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
    found = [_stop_office(row) for row in written] if isinstance(written, list) and written else [None]
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


def _stop_office(row: object) -> Stop | None:
    if not isinstance(row, list) or len(row) != 3 or not all(type(part) is int and part >= 0 for part in row):
        return None
    looked, low, high = row
    return Stop(looked, low, high) if 1 <= looked <= _MOST_UNITS and low < high <= looked else None


def _day(reader: TableReader, key: str) -> MonthDay | None:
    text = reader.month_day(key, f'as {key} = "06-01"')
    return (int(text[:2]), int(text[3:])) if text else None


def _words(reader: TableReader, key: str) -> tuple[str, ...]:
    written = reader.value(key)
    if written is None:
        return ()
    if isinstance(written, list) and written and all(isinstance(part, str) and part.strip() for part in written):
        return tuple(" ".join(part.casefold().split()) for part in written)
    reader.problem(key, f"{shown(written)} is no list of words", f'as {key} = ["apple", "pear"]')
    return ()
