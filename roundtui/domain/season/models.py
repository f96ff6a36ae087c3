"""Records of a species model.

Species models that ship. Every number has its source beside it; what could not be sourced is not here.
Species models: thresholds of development and the events of a life cycle in degree-days, as data with sources.

An office's ``models.toml``: its own species models, biofix rules and weather habits, or the problems in it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction

from roundtui.domain.season.biofix import BLOCK, SHIPPED_BIOFIX_RULES, TRAP, BiofixKind, BiofixRule
from roundtui.domain.season.degree_days import Cutoff, Development, Method, check
from roundtui.domain.season.weather import MOST_FILLED_DAYS
from roundtui.domain.text import printed, ruled
from roundtui.domain.toml_table import TableReader, place_in, shown
from roundtui.domain.units import TempUnit
from roundtui.errors import Problem

FROM_BIOFIX = "biofix"
"""``SpeciesModel.starts``: degree-days are counted from the biofix, that day included."""


@dataclass(frozen=True, slots=True)
class LifeEvent:
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


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeciesModel:
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


_SOURCES = {
    "sine": "single sine: from memory",
    "sine and cutoff": "single sine and horizontal cutoff: from memory",
    "timeline": "Utah State University, Intermountain guide, intermountainfruit.org/ipm-methods/timeline",
    "leafrollers": "Utah State University, Intermountain guide, intermountainfruit.org/insect-biology/leafrollers.php",
    "good fruit": "Washington State University authors, goodfruit.com/codling-moth-has-a-new-calendar; Purdue; "
    "Wisconsin",
    "washington": "Washington State University, treefruit.wsu.edu/predictive-models",
    "jones": "Jones, Doerr & Brunner 2008, J. Econ. Entomol. 101:1651",
    "strand": "Strand 1999, University of California IPM, ipm.ucanr.edu/PMG/FIG/sf99-f42.html",
    "twig borer": "University of California IPM, ipm.ucanr.edu/PMG/FIG/sf99-f40.html",
    "zalom": "Zalom et al. 1992, as given by University of California IPM",
    "scale": "University of California IPM, phenology models, San Jose scale",
    "michigan": "Michigan State University 2010, harvest time activity of codling moth and oriental fruit moth, "
    "canr.msu.edu",
    "okanagan": "Okanagan-Kootenay SIR programme, oksir.org/orchard-information/degree-days; unit inferred from the "
    "sizes",
    "new york": "Cornell Scaffolds 1995 and 2003, New York, from 1 January",
    "new york 2007": "Cornell Scaffolds 2007, New York, from 1 January",
    "jones 1989": "Jones et al. 1989, J. Econ. Entomol. 82",
    "aliniazee": "AliNiazee 1979, Can. Entomol. 111:1101-1109",
    "niab": "NIAB, niab.com/node/2213",
    "akotsen": "Akotsen-Mensah et al. 2011, Ann. Entomol. Soc. Am. 104(2), doi 10.1603/AN10061",
    "healthy fruit": "University of Massachusetts, Healthy Fruit 27(12), 25 June 2019",
    "virginia": "West Virginia University, The Orchard Monitor, 15 August 2005, 23 July and 6 August 2007, from the "
    "first biofix of the season; base not printed",
    "massachusetts": "University of Massachusetts, Healthy Fruit 26(14) 2018 and 27(2) 2019",
}
_SOURCES["january"] = f"{_SOURCES['new york']}; {_SOURCES['sine']} (Massachusetts counts with the sine from 2020 on)"
_RANGES = (
    "Ranges of many years of records in New York and Massachusetts; other places differ. Massachusetts counted from 1 "
    "March in 2019."
)

# A model: id, species, thresholds, start, source, note. Below it its events: name, degree-days or the ends of what is
# published, source, generation, and the value as printed where one end is used. Single sine, horizontal cutoff.
_MODELS = """
    shipped-cm | CM | 50-88 F | biofix | 50/88 °F, horizontal cutoff: {jones}; {sine} | Other upper limits are \
        published: 85 °F (Purdue), none (Colorado State University).
    | egg hatch begins | 220 | timeline | 1 | 220-250
    | egg hatch begins, by other sources | 250 | good fruit
    | flight peaks | 325-581 | timeline
    | most eggs hatch | 340-640 | timeline
    | egg hatch ends | 920 | timeline
    | egg laying begins | 1000 | timeline | 2 | 1000-1050
    | egg hatch begins | 1100 | timeline | 2
    | most eggs hatch | 1320-1720 | timeline | 2
    | flight peaks | 1337-1977 | timeline | 2
    | 89 % of eggs hatched | 1903 | virginia | 2
    | egg hatch ends | 2100 | timeline | 2 | 2100; West Virginia 2133
    | egg hatch begins | 2160 | timeline | 3
    | 6 % of eggs hatched | 2270 | virginia | 3
    shipped-cm-january | CM | 50-88 F | 01-01 | 50/88 °F, horizontal cutoff: {jones}; {sine} | Without traps; mean of \
        28 years in Washington 96 °C degree-days, 68 to 122 (the same paper). It goes by latitude, and above 400 m by \
        elevation too; Utah counts from 1 March (ASHS 2018, paper 28094). The numbers of that formula were not found \
        published.
    | first moths | 175 | washington
    shipped-cm-january-c | CM | 10-31.1 C | 01-01 | thresholds 10/31.1 °C: {jones}; the programme prints no method \
        | Stated as good to 3 to 5 degree-days.
    | first moths | 100 | okanagan
    | egg laying begins | 150 | okanagan
    | egg hatch begins | 220 | okanagan
    | flight ends | 500 | okanagan
    | flight begins | 575 | okanagan | 2
    | egg hatch ends | 650 | okanagan
    | egg hatch begins | 700 | okanagan | 2
    | flight ends | 1140 | okanagan | 2
    | flight begins | 1160 | okanagan | 3
    | egg hatch ends | 1275 | okanagan | 2
    | egg hatch begins | 1300 | okanagan | 3
    shipped-ofm | OFM | 45-90 F | biofix | 45/90 °F (7.2/32.2 °C): Borchert et al. 2004, J. Econ. Entomol. 97:1353; \
        {sine and cutoff} | New York's field tables were kept over 43 °F; decisions hold for 45 (Cornell Scaffolds \
        29(25) 2020).
    | egg hatch begins | 150 | michigan
    | shoot strikes show | 500 | strand
    | time to read traps twice a week | 800 | strand
    | flight begins | 920-1010 | strand | 2
    | 11 % of eggs hatched | 2100 | virginia | 3
    | 14 % of eggs hatched | 2137 | virginia | 3
    | 19 % of eggs hatched | 2200 | virginia | 3
    | 29 % of eggs hatched | 2300 | virginia | 3
    | 36 % of eggs hatched | 2350 | virginia | 3
    | 42 % of eggs hatched | 2400 | virginia | 3
    shipped-oblr | OBLR | 43-85 F | biofix | 43/85 °F, counted anew from the first moths: {leafrollers}; {sine and \
        cutoff} | Catch does not track larvae (Wisconsin DATCP 2013): look at shoots and clusters.
    | eggs hatch | 400-920 | leafrollers
    | eggs hatch | 1590-2360 | leafrollers | 2
    shipped-ptb | PTB | 50-88 F | biofix | 50/88 °F, single sine, horizontal cutoff: University of California IPM, \
        phenology models, peach twig borer (Zalom et al. 1992) |
    | flight peaks | 369 | zalom
    | shoot strikes show | 400 | twig borer
    | time to look at the traps for the next flight | 900 | twig borer
    | flight begins | 950-1080 | twig borer | 2
    shipped-sjs | SJS | 51-90 F | biofix | 51/90 °F: University of California IPM, San Jose scale in almond; \
        horizontal cutoff: the same, phenology models (Rice 1982; Jorgensen 1981 there has a vertical one); {sine} \
        | Delaware prints 300-350 and 400-450 over 50 °F in different years, Ontario 222-249 °C over 10.5 °C, Utah \
        300-400 after the biofix of codling moth. The 600-700 of California is a window for treating, not a stage.
    | crawlers emerge | 405 | scale
    shipped-rblr-january | RBLR | 43 F | 01-01 | {january} | {ranges}
    | first catch | 110-176 | massachusetts
    | flight peaks | 232-382 | massachusetts
    | flight peaks | 1529-1975 | massachusetts | 2
    | flight begins | 2389-3113 | new york | 3
    | flight peaks | 2761-3249 | new york 2007 | 3
    shipped-stlm-january | STLM | 43 F | 01-01 | {january} | {ranges}
    | first catch | 119-227 | massachusetts
    | first eggs | 143-273 | massachusetts
    | flight ends | 489-978 | new york
    | flight begins | 2208-2783 | new york | 3
    shipped-dwb-january | DWB | 43 F | 01-01 | {january} | {ranges}
    | first catch | 798-1295 | new york
    | flight peaks | 1434-1864 | massachusetts
    shipped-gptb-january | GPTB | 43 F | 01-01 | {january} | {ranges}
    | first catch | 565-1557 | new york
    | flight peaks | 1028-2004 | massachusetts
    | flight ends | 2230-3255 | new york
    shipped-lptb-january | LPTB | 43 F | 01-01 | {january} | {ranges}
    | flight peaks | 853-1767 | massachusetts
    | flight ends | 2996-3446 | new york 2007
    shipped-am-january | AM | 43 F | 01-01 | {january} | {ranges}
    | first catch | 1226-1690 | massachusetts
    | first stings | 1605-2157 | massachusetts
    | flight ends | 2772-3374 | new york 2007
    shipped-am-utah | AM | 6.7 C | 03-01 | 6.7 °C, single sine, from 1 March: {jones 1989}; University of California \
        IPM, phenology models | From cherry and hawthorn in Utah; Wisconsin differs by about 256. Ontario: first catch \
        638 ± 60 over 6.4 °C (Laing & Heraty 1984), hardly better than the calendar. Michigan: 900 to 1000 °F over 50.
    | half of the flies are out | 1180 | jones 1989
    | half of the flies bear ripe eggs | 1292 | jones 1989
    shipped-wcff | WCFF | 5 C | 03-01 | 5 °C, no upper limit: Jones et al. 1991, Ann. Entomol. Soc. Am. 84:488-492; \
        {sine} | Oregon 1976-78. By region, first fly in °F over 41: Oregon 832, Hood River 860 to The Dalles 990, \
        Colorado 949, Utah 1031, Washington 1066; moister sites are earlier.
    | first flies | 462 | aliniazee
    | egg laying begins | 541 | aliniazee
    | egg hatch begins | 594 | aliniazee
    | larvae leave the fruit | 795 | aliniazee
    shipped-sft | SFT | 10 C | 01-01 | 10 °C from 1 January: {niab}; {sine} |
    | flight begins | 170 | niab
    | flight peaks | 210 | niab
    | flight begins | 616 | niab | 2
    | flight peaks | 693 | niab | 2
    shipped-pc | PC | 10 C | 01-01 | 10 °C from 1 January: Akotsen-Mensah et al. 2011; {sine} | Peach in Alabama, \
        right to a week. Apple in Maine: fresh cuts until 308 °F over 50 after petal fall.
    | first catch | 99 | akotsen
    | catch peaks | 245 | akotsen
    | catch peaks | 1105 | akotsen | 2
    | catch peaks | 1758 | akotsen | 3
    shipped-law | LAW | 43 F | 03-01 | 43 °F from 1 March: {healthy fruit}; {sine} | Massachusetts, one letter.
    | flight ends | 1002-1538 | healthy fruit
"""
# New York's first catch of AM runs from 1045 to 2057: beside the stings above it would come after them.


def _models() -> Iterator[SpeciesModel]:
    model: SpeciesModel | None = None
    for id_, *said in ruled(_MODELS):
        if id_ and model is not None:
            yield model
        if id_:
            species, limits, starts, *words = said
            source, note = (one.format_map(_SOURCES | {"ranges": _RANGES}) for one in words)
            model = SpeciesModel(
                id=id_, species=species, development=_limits(limits), starts=starts, events=(), source=source, note=note
            )
        elif model is not None:
            events = sorted((*model.events, *_ends(*said)), key=lambda event: event.degree_days)
            model = replace(model, events=tuple(events))
    if model is not None:
        yield model


def _limits(said: str) -> Development:
    numbers, unit = said.split()
    lower, *upper = map(printed, numbers.split("-"))
    cutoff = Cutoff.HORIZONTAL if upper else Cutoff.NONE
    return Development(lower, upper[0] if upper else None, TempUnit(unit), Method.SINGLE_SINE, cutoff)


def _ends(name: str, said: str, source: str, generation: str = "1", as_printed: str = "") -> Iterator[LifeEvent]:
    """The event, or the earliest and the latest that is published of it."""
    numbers = said.split("-")
    for number, which in zip(numbers, (" (earliest published)", " (latest published)"), strict=False):
        whole = len(numbers) == 1
        yield LifeEvent(
            name if whole else name + which,
            printed(number),
            _SOURCES[source],
            int(generation),
            as_printed if whole else said,
        )


SHIPPED_MODELS: tuple[SpeciesModel, ...] = tuple(_models())
"""Models that ship; the first of a species is the one that is used unless an office writes its own."""


@dataclass(frozen=True, slots=True)
class SeasonOffice:
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
    problems = reader.problems
    models = [_model(each, number, where, problems) for number, each in enumerate(reader.tables("model"), start=1)]
    rules = [
        _biofix_rule(each, number, where, problems) for number, each in enumerate(reader.tables("biofix"), start=1)
    ]
    unit, most_filled, timezone = _weather(reader)
    reader.refuse_unknown()
    for kind, ids in (("model", [model.id for model in models]), ("biofix", [rule.id for rule in rules])):
        for id_ in sorted({id_ for id_ in ids if id_ and ids.count(id_) > 1}):
            problems.append(Problem(f"{where}, {kind}", f"id: {shown(id_)} is taken", "give each its own id"))
    if problems:
        return None, tuple(problems)
    own = SeasonOffice((*models, *SHIPPED_MODELS), (*rules, *SHIPPED_BIOFIX_RULES), unit, most_filled, timezone)
    return own, ()


def _weather(reader: TableReader) -> tuple[TempUnit | None, int, str]:
    with reader.inner("weather") as inner:
        unit = inner.choice("unit", list(TempUnit))
        most_filled = inner.whole("fill_days", 0, 31)
        timezone = inner.text("timezone") or ""
    return TempUnit(unit) if unit else None, MOST_FILLED_DAYS if most_filled is None else most_filled, timezone


def _id(reader: TableReader) -> str:
    return reader.text("id", needed="give it a short name of its own") or ""


def _model(table: Mapping[str, object], number: int, where: str, problems: list[Problem]) -> SpeciesModel:
    where = place_in(where, table, "model", number)
    reader = TableReader(table, where)
    id_ = _id(reader)
    source = reader.source()
    model = SpeciesModel(
        id=id_,
        species=reader.species(),
        development=_development(reader),
        starts=_starts(reader),
        events=tuple(sorted(_events(reader, source, where), key=lambda event: event.degree_days)),
        source=source,
        note=reader.text("note") or "",
        date=reader.dated(),
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
    needed = f'starts = "{FROM_BIOFIX}", or a day of the year as starts = "01-01"'
    hint = f'write starts = "{FROM_BIOFIX}" or starts = "01-01"'
    return reader.month_day("starts", hint, needed=needed, but=FROM_BIOFIX) or FROM_BIOFIX


def _events(reader: TableReader, source: str, where: str) -> list[LifeEvent]:
    events: list[LifeEvent] = []
    for number, written in enumerate(reader.tables("event", "model."), start=1):
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
    reader = TableReader(table, place_in(where, table, "biofix", number))
    kind = BiofixKind(reader.choice("kind", list(BiofixKind), needed=True) or BiofixKind.RUN)
    moths = reader.number("moths")
    if not reader.has("moths"):
        reader.problem("moths", "is missing", "as moths = 2")
    sunset = reader.number("sunset")
    rule = BiofixRule(
        id=_id(reader),
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
