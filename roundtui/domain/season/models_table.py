"""An office's ``models.toml``: its own species models, biofix rules and weather habits, or the problems in it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from fractions import Fraction

from roundtui.domain.programme.species import SPECIES, species_code
from roundtui.domain.season.biofix import BLOCK, SHIPPED_BIOFIX_RULES, TRAP, BiofixKind, BiofixRule
from roundtui.domain.season.degree_days import Cutoff, Development, Method, check
from roundtui.domain.season.models import FROM_BIOFIX, SHIPPED_MODELS, LifeEvent, SeasonOffice, SpeciesModel
from roundtui.domain.season.weather import MOST_FILLED_DAYS
from roundtui.domain.text import plain
from roundtui.domain.toml_table import TableReader, shown
from roundtui.domain.units import TempUnit
from roundtui.errors import Problem

_SOURCE = "say who published it, or that it is the office's own practice"
_DATE = "day of the source, or on which the office took it up, as date = 2025-03-01"
_MOST_GENERATIONS = 9


def parse_models(
    table: Mapping[str, object], where: str = "models.toml"
) -> tuple[SeasonOffice | None, tuple[Problem, ...]]:
    """Read an office's models.

    Args:
        table: The parsed TOML file, its decimal numbers as ``Decimal`` so that they stay exact.
        where: File name as problems show it.

    Returns:
        The office, its own models and rules before those that ship, and no problems; or None and every problem.
    """
    reader = TableReader(table, where)
    problems = reader.problems
    models = [_model(each, number, where, problems) for number, each in _tables(reader, "model")]
    rules = [_biofix_rule(each, number, where, problems) for number, each in _tables(reader, "biofix")]
    unit, most_filled, timezone = _weather(reader, where)
    reader.refuse_unknown()
    for kind, ids in (("model", [model.id for model in models]), ("biofix", [rule.id for rule in rules])):
        for id_ in sorted({id_ for id_ in ids if id_ and ids.count(id_) > 1}):
            problems.append(Problem(f"{where}, {kind}", f"id: {shown(id_)} is taken", "give each its own id"))
    if problems:
        return None, tuple(problems)
    own = SeasonOffice((*models, *SHIPPED_MODELS), (*rules, *SHIPPED_BIOFIX_RULES), unit, most_filled, timezone)
    return own, ()


def _tables(reader: TableReader, key: str, head: str = "") -> list[tuple[int, Mapping[str, object]]]:
    written = reader.value(key)
    if written is None:
        return []
    if isinstance(written, list) and all(isinstance(part, dict) for part in written):
        return list(enumerate(written, start=1))
    reader.problem(key, "is no list of tables", f"head each one with [[{head}{key}]]")
    return []


def _weather(reader: TableReader, where: str) -> tuple[TempUnit | None, int, str]:
    written = reader.value("weather")
    if written is None:
        return None, MOST_FILLED_DAYS, ""
    if not isinstance(written, dict):
        reader.problem("weather", "is no table", 'head it with [weather], then unit = "F"')
        return None, MOST_FILLED_DAYS, ""
    inner = TableReader(written, f"{where}, weather")
    unit = inner.choice("unit", list(TempUnit))
    most_filled = inner.whole("fill_days", 0, 31)
    timezone = inner.text("timezone") or ""
    inner.refuse_unknown()
    reader.problems.extend(inner.problems)
    return TempUnit(unit) if unit else None, MOST_FILLED_DAYS if most_filled is None else most_filled, timezone


def _where(table: Mapping[str, object], kind: str, number: int, where: str) -> str:
    name = table.get("id")
    return f"{where}, {kind} {number}" + (f" ({plain(name, 40)})" if isinstance(name, str) else "")


def _id(reader: TableReader) -> str:
    return reader.text("id", needed="give it a short name of its own") or ""


def _species(reader: TableReader) -> str:
    listed = ", ".join(SPECIES)
    text = reader.text("species", needed=f"one of {listed}")
    if text is None or text in SPECIES:
        return text or ""
    meant = species_code(text)
    reader.problem("species", f"{shown(text)} is unknown", f"write {meant}" if meant else f"one of {listed}")
    return ""


def _model(table: Mapping[str, object], number: int, where: str, problems: list[Problem]) -> SpeciesModel:
    where = _where(table, "model", number, where)
    reader = TableReader(table, where)
    id_ = _id(reader)
    source = reader.text("source", needed=_SOURCE) or ""
    model = SpeciesModel(
        id=id_,
        species=_species(reader),
        development=_development(reader),
        starts=_starts(reader),
        events=tuple(sorted(_events(reader, source, where), key=lambda event: event.degree_days)),
        source=source,
        note=reader.text("note") or "",
        date=reader.day("date", needed=_DATE),
        office=True,
    )
    reader.refuse_unknown()
    problems.extend(reader.problems)
    return model


def _development(reader: TableReader) -> Development:
    lower, upper = reader.number("lower"), reader.number("upper")
    if not reader.has("lower"):
        reader.problem("lower", "is missing", "temperature below which nothing develops, as lower = 50")
    unit = TempUnit(reader.choice("unit", list(TempUnit), needed=True) or TempUnit.F)
    method = Method(reader.choice("method", list(Method), needed=True) or Method.SINGLE_SINE)
    usual = Cutoff.NONE if upper is None else Cutoff.HORIZONTAL
    if method is Method.AVERAGE:
        usual = Cutoff.NONE
    cutoff = Cutoff(reader.choice("cutoff", list(Cutoff)) or usual)
    top = None if upper is None else float(upper)
    if lower is not None:
        try:
            check(float(lower), top, method, cutoff)
        except ValueError as fault:
            reader.problem("lower, upper, method, cutoff", str(fault), "change one of the four")
    return Development(float(lower or 0), top, unit, method, cutoff)


def _starts(reader: TableReader) -> str:
    text = reader.text("starts", needed=f'starts = "{FROM_BIOFIX}", or a day of the year as starts = "01-01"')
    if text is None or text == FROM_BIOFIX:
        return FROM_BIOFIX
    try:
        # Any year without a 29 February will do: a model cannot start on a day that most years lack.
        date.fromisoformat(f"2001-{text}")
    except ValueError:
        hint = f'write starts = "{FROM_BIOFIX}" or starts = "01-01"'
        reader.problem("starts", f"{shown(text)} is no day of every year", hint)
        return FROM_BIOFIX
    return text


def _events(reader: TableReader, source: str, where: str) -> list[LifeEvent]:
    events: list[LifeEvent] = []
    for number, written in _tables(reader, "event", "model."):
        inner = TableReader(written, f"{where}, event {number}")
        name = inner.text("name", needed="say what happens")
        amount = inner.number("degree_days")
        if not inner.has("degree_days"):
            inner.problem("degree_days", "is missing", "as degree_days = 250")
        generation = inner.whole("generation", 1, _MOST_GENERATIONS) or 1
        own = inner.text("source") or source
        inner.refuse_unknown()
        reader.problems.extend(inner.problems)
        events.append(LifeEvent(name or "", float(amount or 0), own, generation))
    if not events:
        reader.problem("event", "is missing", "add at least one, headed [[model.event]]")
    return events


def _biofix_rule(table: Mapping[str, object], number: int, where: str, problems: list[Problem]) -> BiofixRule:
    reader = TableReader(table, _where(table, "biofix", number, where))
    kind = BiofixKind(reader.choice("kind", list(BiofixKind), needed=True) or BiofixKind.RUN)
    moths = reader.number("moths")
    if not reader.has("moths"):
        reader.problem("moths", "is missing", "as moths = 2")
    sunset = reader.number("sunset")
    rule = BiofixRule(
        id=_id(reader),
        species=_species(reader),
        kind=kind,
        moths=moths if moths is not None else Fraction(1),
        more_than=reader.yes_no("more_than") or False,
        readings=reader.whole("readings", 1, 30) or 1,
        scope=reader.choice("scope", (BLOCK, TRAP)) or BLOCK,
        traps=reader.whole("traps", 1, 999),
        of=reader.whole("of", 1, 999),
        sunset=None if sunset is None else float(sunset),
        sunset_unit=TempUnit(reader.choice("unit", list(TempUnit), needed=sunset is not None) or TempUnit.F),
        generation=reader.whole("generation", 1, _MOST_GENERATIONS) or 1,
        after_degree_days=reader.number("after_degree_days"),
        source=reader.text("source", needed=_SOURCE) or "",
        date=reader.day("date", needed=_DATE),
        office=True,
    )
    _check_rule(reader, rule)
    reader.refuse_unknown()
    problems.extend(reader.problems)
    return rule


def _check_rule(reader: TableReader, rule: BiofixRule) -> None:
    """Refuse what a kind of rule does not know, and zero moths, which every reading holds."""
    kind = rule.kind
    if rule.moths == 0 and not rule.more_than:
        reader.problem("moths", "0 or more is what every reading holds", "write moths = 1, or more_than = true")
    if kind is BiofixKind.TRAPS_OF:
        if rule.traps is None or rule.of is None:
            reader.problem("traps, of", "are needed by traps-of", "as traps = 2 and of = 3")
        elif rule.traps > rule.of:
            reader.problem("traps", f"{rule.traps} of {rule.of} cannot be", "write traps = 2 and of = 3")
    elif rule.traps is not None or rule.of is not None:
        reader.problem("traps, of", f"mean nothing to {kind}", "leave them out, or write kind = traps-of")
    if kind is BiofixKind.TOTAL and rule.readings > 1:
        reader.problem("readings", "mean nothing to total", "leave it out, or write kind = run")
    if kind is not BiofixKind.RUN and rule.scope == TRAP:
        reader.problem("scope", f"trap means nothing to {kind}", "leave it out, or write kind = run")
    if rule.generation == 1 and rule.after_degree_days is not None:
        reader.problem("after_degree_days", "is for later generations", "write generation = 2, or leave it out")
