"""Species models: thresholds of development and the events of a life cycle in degree-days, as data with sources.

Those that ship are in ``published/models.txt``.

An office's ``models.toml``: its own species models, biofix rules and weather habits, or the problems in it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from fractions import Fraction

from roundtui.domain.records import Frozen
from roundtui.domain.season.biofix import BLOCK, SHIPPED_BIOFIX_RULES, SOURCES, TRAP, BiofixKind, BiofixRule
from roundtui.domain.season.degree_days import Cutoff, Development, Method, check
from roundtui.domain.season.weather import MOST_FILLED_DAYS
from roundtui.domain.text import ruled
from roundtui.domain.toml_table import TableReader
from roundtui.domain.units import TempUnit
from roundtui.errors import Problem
from roundtui.published import read

FROM_BIOFIX = "biofix"
"""``SpeciesModel.starts``: degree-days are counted from the biofix, that day included."""


class LifeEvent(Frozen):
    """Something that happens when so many degree-days have accumulated."""

    name: str
    """What happens, in the words of the trade."""
    degree_days: float
    """Degree-days from the start of the model. [unit of the model]"""
    source: str
    """Who published it."""
    generation: int = 1
    """Generation it belongs to, counted from that of the biofix."""
    printed: str = ""
    """The value as printed, where it was a range of which this is one end."""


class SpeciesModel(Frozen, kw_only=True):
    """How a species' season is reckoned."""

    id: str
    """Short name."""
    species: str
    """Abbreviation of the species."""
    development: Development
    """Thresholds, unit, method and cutoff."""
    starts: str
    """``biofix``, or month and day as MM-DD."""
    events: tuple[LifeEvent, ...]
    """Events, by degree-days."""
    source: str
    """Who published thresholds and method, or that they are from memory."""
    note: str = ""
    """What to bear in mind."""
    date: date | None = None
    """Day of the source, or on which the office took it up."""
    office: bool = False
    """Whether the office wrote it; the office's models come before those that ship."""


_PRINTED = re.compile(r"(?P<name>.+?) (?P<low>[0-9.]+)(-(?P<high>[0-9.]+))?( \((?P<printed>.+)\))?")


def _number(text: str) -> float:
    return float(text) if "." in text else int(text)


def _events_of(row: list[str]) -> Iterator[LifeEvent]:
    """The events of a row; a range stands as its two ends."""
    source, generation, said = row
    for found in filter(None, map(_PRINTED.fullmatch, said.split("; "))):
        name, low, high = found["name"], found["low"], found["high"]
        ends = ((f"{name} (earliest published)", low), (f"{name} (latest published)", high)) if high else ((name, low),)
        printed = f"{low}-{high}" if high else found["printed"] or ""
        for words, units in ends:
            yield LifeEvent(words, _number(units), SOURCES[source.removeprefix("- ")], int(generation), printed)


def _shipped() -> Iterator[SpeciesModel]:
    events: list[LifeEvent] = []
    for row in reversed(list(ruled(read("models")["models"]))):
        if row[0].startswith("- "):
            events += _events_of(row)
            continue
        id_, species, thresholds, starts, source, note = row
        degrees, unit = thresholds.split()
        lower, _, upper = degrees.partition("/")
        cutoff = Cutoff.HORIZONTAL if upper else Cutoff.NONE
        yield SpeciesModel(
            id=id_,
            species=species,
            development=Development(
                _number(lower), _number(upper) if upper else None, TempUnit(unit), Method.SINGLE_SINE, cutoff
            ),
            starts=starts,
            events=tuple(sorted(events, key=lambda event: event.degree_days)),
            source=source.format_map(SOURCES),
            note=note.format_map(SOURCES),
        )
        events = []


SHIPPED_MODELS: tuple[SpeciesModel, ...] = tuple(_shipped())[::-1]
"""Models that ship; the first of a species is the one that is used unless an office writes its own."""


class SeasonOffice(Frozen):
    """What an office has settled for the season's arithmetic."""

    models: tuple[SpeciesModel, ...] = SHIPPED_MODELS
    """The office's models, then those that ship."""
    biofix_rules: tuple[BiofixRule, ...] = SHIPPED_BIOFIX_RULES
    """The office's biofix rules, then those that ship."""
    unit: TempUnit | None = None
    """Unit of temperatures that state none; None: each has to state its own."""
    most_filled: int = MOST_FILLED_DAYS
    """Longest gap in the temperatures that is filled. [d]"""
    timezone: str = ""
    """IANA time zone of stations that state none."""


def model_for(models: Iterable[SpeciesModel], species: str, *, from_biofix: bool | None = None) -> SpeciesModel | None:
    """The model of a species.

    Args:
        models: Models in order of rank: the office's, then those that ship.
        species: Abbreviation of the species.
        from_biofix: Only models that start at the biofix, or only those that start on a day of the year; None: either.

    Returns:
        The first that fits; None where nobody has one.
    """
    for model in models:
        if model.species == species and from_biofix in {None, model.starts == FROM_BIOFIX}:
            return model
    return None


def start_of(model: SpeciesModel, season_begins: date, biofix: date | None = None) -> date | None:
    """Day from which a model counts in a season, that day included.

    Args:
        model: The model.
        season_begins: First day of the season. A model that starts on a day of the year does so on the one inside the
            season, after New Year where the season straddles it.
        biofix: Biofix of the generation, where there is one.

    Returns:
        The day; None where the model waits for a biofix.
    """
    if model.starts == FROM_BIOFIX:
        return biofix
    start = date.fromisoformat(f"{season_begins.year}-{model.starts}")
    return start if start >= season_begins else start.replace(year=start.year + 1)


def stands_in(model: SpeciesModel, season_begins: date) -> bool:
    """Whether a model from a day of the year may stand in for a biofix.

    Args:
        model: The model. Those that ship count from 1 January, which is midwinter in the north alone.
        season_begins: First day of the season; one that begins from April to September is a season of the south.
    """
    return model.office or not 4 <= season_begins.month <= 9


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
    models = reader.each("model", _model, ids=set())
    rules = reader.each("biofix", _biofix_rule, ids=set())
    unit, most_filled, timezone = _weather(reader)
    reader.refuse_unknown()
    if reader.problems:
        return None, tuple(reader.problems)
    own = SeasonOffice((*models, *SHIPPED_MODELS), (*rules, *SHIPPED_BIOFIX_RULES), unit, most_filled, timezone)
    return own, ()


def _weather(reader: TableReader) -> tuple[TempUnit | None, int, str]:
    with reader.inner("weather") as inner:
        unit = inner.choice("unit", list(TempUnit))
        most_filled = inner.whole("fill_days", 0, 31)
        timezone = inner.text("timezone") or ""
    return TempUnit(unit) if unit else None, MOST_FILLED_DAYS if most_filled is None else most_filled, timezone


def _model(reader: TableReader) -> SpeciesModel:
    id_, source = reader.id(), reader.source()
    return SpeciesModel(
        id=id_,
        species=reader.species(),
        development=_development(reader),
        starts=_starts(reader),
        events=tuple(sorted(_events(reader, source), key=lambda event: event.degree_days)),
        source=source,
        note=reader.text("note") or "",
        date=reader.dated(),
        office=True,
    )


def _development(reader: TableReader) -> Development:
    lower = reader.number("lower", needed="temperature below which nothing develops, as lower = 50")
    upper = reader.number("upper")
    unit = TempUnit(reader.choice("unit", list(TempUnit), needed=True) or TempUnit.F)
    method = Method(reader.choice("method", list(Method), needed=True) or Method.SINGLE_SINE)
    usual = Cutoff.NONE if upper is None or method is Method.AVERAGE else Cutoff.HORIZONTAL
    cutoff = Cutoff(reader.choice("cutoff", list(Cutoff)) or usual)
    top = None if upper is None else float(upper)
    if lower is not None:
        try:
            check(float(lower), top, method, cutoff)
        except ValueError as fault:
            reader.problem("lower, upper, method, cutoff", str(fault), "change one of the four")
    return Development(float(lower or 0), top, unit, method, cutoff)


def _starts(reader: TableReader) -> str:
    needed = f'starts = "{FROM_BIOFIX}", or a day of the year as starts = "01-01"'
    hint = f'write starts = "{FROM_BIOFIX}" or starts = "01-01"'
    return reader.month_day("starts", hint, needed=needed, but=FROM_BIOFIX) or FROM_BIOFIX


def _events(reader: TableReader, source: str) -> list[LifeEvent]:
    def event(inner: TableReader) -> LifeEvent:
        name = inner.text("name", needed="say what happens") or ""
        amount = inner.number("degree_days", needed="as degree_days = 250")
        generation = inner.whole("generation", 1, _MOST_GENERATIONS) or 1
        return LifeEvent(name, float(amount or 0), inner.text("source") or source, generation)

    events = reader.each("event", event, head="model.")
    if not events:
        reader.problem("event", "is missing", "add at least one, headed [[model.event]]")
    return events


def _biofix_rule(reader: TableReader) -> BiofixRule:
    kind = BiofixKind(reader.choice("kind", list(BiofixKind), needed=True) or BiofixKind.RUN)
    moths = reader.number("moths", needed="as moths = 2")
    sunset = reader.number("sunset")
    rule = BiofixRule(
        id=reader.id(),
        species=reader.species(),
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
        source=reader.source(),
        date=reader.dated(),
        office=True,
    )
    _check_rule(reader, rule)
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
