"""Records of a species model.

Species models that ship. Every number has its source beside it; what could not be sourced is not here.
Species models: thresholds of development and the events of a life cycle in degree-days, as data with sources.

An office's ``models.toml``: its own species models, biofix rules and weather habits, or the problems in it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from roundtui.domain.season.biofix import BLOCK, SHIPPED_BIOFIX_RULES, TRAP, BiofixKind, BiofixRule
from roundtui.domain.season.degree_days import Cutoff, Development, Method, check
from roundtui.domain.season.weather import MOST_FILLED_DAYS
from roundtui.domain.text import ruled
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


_SOURCES = dict(
    ruled(
        """
    sine | single sine: from memory
    sine horizontal | single sine and horizontal cutoff: from memory
    utah | Utah State University, Intermountain guide, intermountainfruit.org/ipm-methods/timeline
    utah leafrollers | Utah State University, Intermountain guide, \
        intermountainfruit.org/insect-biology/leafrollers.php
    good fruit | Washington State University authors, goodfruit.com/codling-moth-has-a-new-calendar; Purdue; Wisconsin
    jones | Jones, Doerr & Brunner 2008, J. Econ. Entomol. 101:1651
    strand | Strand 1999, University of California IPM, ipm.ucanr.edu/PMG/FIG/sf99-f42.html
    zalom | University of California IPM, ipm.ucanr.edu/PMG/FIG/sf99-f40.html
    michigan | Michigan State University 2010, harvest time activity of codling moth and oriental fruit moth, \
        canr.msu.edu
    okanagan | Okanagan-Kootenay SIR programme, oksir.org/orchard-information/degree-days; unit inferred from the \
        sizes
    new york | Cornell Scaffolds 1995 and 2003, New York, from 1 January
    new york 2007 | Cornell Scaffolds 2007, New York, from 1 January
    jones am | Jones et al. 1989, J. Econ. Entomol. 82
    healthy fruit | University of Massachusetts, Healthy Fruit 27(12), 25 June 2019
    west virginia | West Virginia University, The Orchard Monitor, 15 August 2005, 23 July and 6 August 2007, from the \
        first biofix of the season; base not printed
    massachusetts | University of Massachusetts, Healthy Fruit 26(14) 2018 and 27(2) 2019
    washington | Washington State University, treefruit.wsu.edu/predictive-models
    zalom 1992 | Zalom et al. 1992, as given by University of California IPM
    uc scale | University of California IPM, phenology models, San Jose scale
    aliniazee | AliNiazee 1979, Can. Entomol. 111:1101-1109
    niab | NIAB, niab.com/node/2213
    alabama | Akotsen-Mensah et al. 2011, Ann. Entomol. Soc. Am. 104(2), doi 10.1603/AN10061
    january | Cornell Scaffolds 1995 and 2003, New York, from 1 January; single sine: from memory (Massachusetts \
        counts with the sine from 2020 on)
    ranges | Ranges of many years of records in New York and Massachusetts; other places differ. Massachusetts \
        counted from 1 March in 2019.
    """
    )
)
# A model: id, species, thresholds, start, source, note. Its events: source, generation, what happens at how many
# degree-days, behind it in brackets as it was printed. New York's first catch of apple maggot runs from 1045 to 2057:
# beside Massachusetts' stings it would come after them.
_TABLE = """
    shipped-cm | CM | 50/88 F | biofix | 50/88 °F, horizontal cutoff: {jones}; {sine} | Other upper limits are \
        published: 85 °F (Purdue), none (Colorado State University).
      - utah | 1 | egg hatch begins 220 (220-250); flight peaks 325-581; most eggs hatch 340-640; egg hatch ends 920
      - good fruit | 1 | egg hatch begins, by other sources 250
      - utah | 2 | egg laying begins 1000 (1000-1050); egg hatch begins 1100; most eggs hatch 1320-1720; flight peaks \
          1337-1977; egg hatch ends 2100 (2100, West Virginia 2133)
      - west virginia | 2 | 89 % of eggs hatched 1903
      - utah | 3 | egg hatch begins 2160
      - west virginia | 3 | 6 % of eggs hatched 2270
    shipped-cm-january | CM | 50/88 F | 01-01 | 50/88 °F, horizontal cutoff: {jones}; {sine} | Without traps; mean of \
        28 years in Washington 96 °C degree-days, 68 to 122 (the same paper). It goes by latitude, and above 400 m by \
        elevation too; Utah counts from 1 March (ASHS 2018, paper 28094). The numbers of that formula were not found \
        published.
      - washington | 1 | first moths 175
    shipped-cm-january-c | CM | 10/31.1 C | 01-01 | thresholds 10/31.1 °C: {jones}; the programme prints no method | \
        Stated as good to 3 to 5 degree-days.
      - okanagan | 1 | first moths 100; egg laying begins 150; egg hatch begins 220; flight ends 500; egg hatch ends \
          650
      - okanagan | 2 | flight begins 575; egg hatch begins 700; flight ends 1140; egg hatch ends 1275
      - okanagan | 3 | flight begins 1160; egg hatch begins 1300
    shipped-ofm | OFM | 45/90 F | biofix | 45/90 °F (7.2/32.2 °C): Borchert et al. 2004, J. Econ. Entomol. 97:1353; \
        {sine horizontal} | New York's field tables were kept over 43 °F; decisions hold for 45 (Cornell Scaffolds \
        29(25) 2020).
      - michigan | 1 | egg hatch begins 150
      - strand | 1 | shoot strikes show 500; time to read traps twice a week 800
      - strand | 2 | flight begins 920-1010
      - west virginia | 3 | 11 % of eggs hatched 2100; 14 % of eggs hatched 2137; 19 % of eggs hatched 2200; 29 % of \
          eggs hatched 2300; 36 % of eggs hatched 2350; 42 % of eggs hatched 2400
    shipped-oblr | OBLR | 43/85 F | biofix | 43/85 °F, counted anew from the first moths: {utah leafrollers}; {sine \
        horizontal} | Catch does not track larvae (Wisconsin DATCP 2013): look at shoots and clusters.
      - utah leafrollers | 1 | eggs hatch 400-920
      - utah leafrollers | 2 | eggs hatch 1590-2360
    shipped-ptb | PTB | 50/88 F | biofix | 50/88 °F, single sine, horizontal cutoff: University of California IPM, \
        phenology models, peach twig borer (Zalom et al. 1992) |
      - zalom 1992 | 1 | flight peaks 369
      - zalom | 1 | shoot strikes show 400; time to look at the traps for the next flight 900
      - zalom | 2 | flight begins 950-1080
    shipped-sjs | SJS | 51/90 F | biofix | 51/90 °F: University of California IPM, San Jose scale in almond; \
        horizontal cutoff: the same, phenology models (Rice 1982; Jorgensen 1981 there has a vertical one); {sine} | \
        Delaware prints 300-350 and 400-450 over 50 °F in different years, Ontario 222-249 °C over 10.5 °C, Utah \
        300-400 after the biofix of codling moth. The 600-700 of California is a window for treating, not a stage.
      - uc scale | 1 | crawlers emerge 405
    shipped-rblr-january | RBLR | 43 F | 01-01 | {january} | {ranges}
      - massachusetts | 1 | first catch 110-176; flight peaks 232-382
      - massachusetts | 2 | flight peaks 1529-1975
      - new york | 3 | flight begins 2389-3113
      - new york 2007 | 3 | flight peaks 2761-3249
    shipped-stlm-january | STLM | 43 F | 01-01 | {january} | {ranges}
      - massachusetts | 1 | first catch 119-227; first eggs 143-273
      - new york | 1 | flight ends 489-978
      - new york | 3 | flight begins 2208-2783
    shipped-dwb-january | DWB | 43 F | 01-01 | {january} | {ranges}
      - new york | 1 | first catch 798-1295
      - massachusetts | 1 | flight peaks 1434-1864
    shipped-gptb-january | GPTB | 43 F | 01-01 | {january} | {ranges}
      - new york | 1 | first catch 565-1557; flight ends 2230-3255
      - massachusetts | 1 | flight peaks 1028-2004
    shipped-lptb-january | LPTB | 43 F | 01-01 | {january} | {ranges}
      - massachusetts | 1 | flight peaks 853-1767
      - new york 2007 | 1 | flight ends 2996-3446
    shipped-am-january | AM | 43 F | 01-01 | {january} | {ranges}
      - massachusetts | 1 | first catch 1226-1690; first stings 1605-2157
      - new york 2007 | 1 | flight ends 2772-3374
    shipped-am-utah | AM | 6.7 C | 03-01 | 6.7 °C, single sine, from 1 March: {jones am}; University of California \
        IPM, phenology models | From cherry and hawthorn in Utah; Wisconsin differs by about 256. Ontario: first catch \
        638 ± 60 over 6.4 °C (Laing & Heraty 1984), hardly better than the calendar. Michigan: 900 to 1000 °F over 50.
      - jones am | 1 | half of the flies are out 1180; half of the flies bear ripe eggs 1292
    shipped-wcff | WCFF | 5 C | 03-01 | 5 °C, no upper limit: Jones et al. 1991, Ann. Entomol. Soc. Am. 84:488-492; \
        {sine} | Oregon 1976-78. By region, first fly in °F over 41: Oregon 832, Hood River 860 to The Dalles 990, \
        Colorado 949, Utah 1031, Washington 1066; moister sites are earlier.
      - aliniazee | 1 | first flies 462; egg laying begins 541; egg hatch begins 594; larvae leave the fruit 795
    shipped-sft | SFT | 10 C | 01-01 | 10 °C from 1 January: {niab}; {sine} |
      - niab | 1 | flight begins 170; flight peaks 210
      - niab | 2 | flight begins 616; flight peaks 693
    shipped-pc | PC | 10 C | 01-01 | 10 °C from 1 January: Akotsen-Mensah et al. 2011; {sine} | Peach in Alabama, \
        right to a week. Apple in Maine: fresh cuts until 308 °F over 50 after petal fall.
      - alabama | 1 | first catch 99; catch peaks 245
      - alabama | 2 | catch peaks 1105
      - alabama | 3 | catch peaks 1758
    shipped-law | LAW | 43 F | 03-01 | 43 °F from 1 March: {healthy fruit}; {sine} | Massachusetts, one letter.
      - healthy fruit | 1 | flight ends 1002-1538
"""
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
            yield LifeEvent(words, _number(units), _SOURCES[source.removeprefix("- ")], int(generation), printed)


def _shipped() -> Iterator[SpeciesModel]:
    events: list[LifeEvent] = []
    for row in reversed(list(ruled(_TABLE))):
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
            source=source.format_map(_SOURCES),
            note=note.format_map(_SOURCES),
        )
        events = []


SHIPPED_MODELS: tuple[SpeciesModel, ...] = tuple(_shipped())[::-1]
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
