"""Records of a species model.

Species models that ship. Every number has its source beside it; what could not be sourced is not here.
Species models: thresholds of development and the events of a life cycle in degree-days, as data with sources.

An office's ``models.toml``: its own species models, biofix rules and weather habits, or the problems in it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from roundtui.domain.season.biofix import BLOCK, SHIPPED_BIOFIX_RULES, TRAP, BiofixKind, BiofixRule
from roundtui.domain.season.degree_days import Cutoff, Development, Method, check
from roundtui.domain.season.weather import MOST_FILLED_DAYS
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


_SINE = "single sine: from memory"
_SINE_HORIZONTAL = "single sine and horizontal cutoff: from memory"
_TIMELINE = "Utah State University, Intermountain guide, intermountainfruit.org/ipm-methods/timeline"
_LEAFROLLERS = "Utah State University, Intermountain guide, intermountainfruit.org/insect-biology/leafrollers.php"
_GOOD_FRUIT = "Washington State University authors, goodfruit.com/codling-moth-has-a-new-calendar; Purdue; Wisconsin"
_JONES = "Jones, Doerr & Brunner 2008, J. Econ. Entomol. 101:1651"
_STRAND = "Strand 1999, University of California IPM, ipm.ucanr.edu/PMG/FIG/sf99-f42.html"
_TWIG_BORER = "University of California IPM, ipm.ucanr.edu/PMG/FIG/sf99-f40.html"
_MICHIGAN = (
    "Michigan State University 2010, harvest time activity of codling moth and oriental fruit moth, canr.msu.edu"
)
_OKANAGAN = "Okanagan-Kootenay SIR programme, oksir.org/orchard-information/degree-days; unit inferred from the sizes"
_NEW_YORK = "Cornell Scaffolds 1995 and 2003, New York, from 1 January"
_NEW_YORK_2007 = "Cornell Scaffolds 2007, New York, from 1 January"
_JONES_AM = "Jones et al. 1989, J. Econ. Entomol. 82"
_HEALTHY_FRUIT = "University of Massachusetts, Healthy Fruit 27(12), 25 June 2019"
_VIRGINIA = (
    "West Virginia University, The Orchard Monitor, 15 August 2005, 23 July and 6 August 2007, from the first biofix "
    "of the season; base not printed"
)
_MASSACHUSETTS = "University of Massachusetts, Healthy Fruit 26(14) 2018 and 27(2) 2019"


def _fahrenheit(lower: float, upper: float | None, cutoff: Cutoff = Cutoff.HORIZONTAL) -> Development:
    return Development(lower, upper, TempUnit.F, Method.SINGLE_SINE, Cutoff.NONE if upper is None else cutoff)


def _span(name: str, low: float, high: float, source: str, generation: int = 1) -> tuple[LifeEvent, LifeEvent]:
    printed = f"{low:g}-{high:g}"
    return (
        LifeEvent(f"{name} (earliest published)", low, source, generation, printed),
        LifeEvent(f"{name} (latest published)", high, source, generation, printed),
    )


def _ordered(*events: LifeEvent) -> tuple[LifeEvent, ...]:
    return tuple(sorted(events, key=lambda event: event.degree_days))


def _from_january(species: str, *events: LifeEvent) -> SpeciesModel:
    """Field records of the north-east, printed as ranges over base 43 °F from 1 January."""
    return SpeciesModel(
        id=f"shipped-{species.lower()}-january",
        species=species,
        development=_fahrenheit(43, None),
        starts="01-01",
        events=_ordered(*events),
        source=f"{_NEW_YORK}; {_SINE} (Massachusetts counts with the sine from 2020 on)",
        note=(
            "Ranges of many years of records in New York and Massachusetts; other places differ. Massachusetts counted "
            "from 1 March in 2019."
        ),
    )


SHIPPED_MODELS: tuple[SpeciesModel, ...] = (
    SpeciesModel(
        id="shipped-cm",
        species="CM",
        development=_fahrenheit(50, 88),
        starts=FROM_BIOFIX,
        events=_ordered(
            LifeEvent("egg hatch begins", 220, _TIMELINE, 1, "220-250"),
            LifeEvent("egg hatch begins, by other sources", 250, _GOOD_FRUIT),
            *_span("flight peaks", 325, 581, _TIMELINE),
            *_span("most eggs hatch", 340, 640, _TIMELINE),
            LifeEvent("egg hatch ends", 920, _TIMELINE),
            LifeEvent("egg laying begins", 1000, _TIMELINE, 2, "1000-1050"),
            LifeEvent("egg hatch begins", 1100, _TIMELINE, 2),
            *_span("most eggs hatch", 1320, 1720, _TIMELINE, 2),
            *_span("flight peaks", 1337, 1977, _TIMELINE, 2),
            LifeEvent("89 % of eggs hatched", 1903, _VIRGINIA, 2),
            LifeEvent("egg hatch ends", 2100, _TIMELINE, 2, "2100; West Virginia 2133"),
            LifeEvent("egg hatch begins", 2160, _TIMELINE, 3),
            LifeEvent("6 % of eggs hatched", 2270, _VIRGINIA, 3),
        ),
        source=f"50/88 °F, horizontal cutoff: {_JONES}; {_SINE}",
        note="Other upper limits are published: 85 °F (Purdue), none (Colorado State University).",
    ),
    SpeciesModel(
        id="shipped-cm-january",
        species="CM",
        development=_fahrenheit(50, 88),
        starts="01-01",
        events=(LifeEvent("first moths", 175, "Washington State University, treefruit.wsu.edu/predictive-models"),),
        source=f"50/88 °F, horizontal cutoff: {_JONES}; {_SINE}",
        note=(
            "Without traps; mean of 28 years in Washington 96 °C degree-days, 68 to 122 (the same paper). It goes by "
            "latitude, and above 400 m by elevation too; Utah counts from 1 March (ASHS 2018, paper 28094). The "
            "numbers of that formula were not found published."
        ),
    ),
    SpeciesModel(
        id="shipped-cm-january-c",
        species="CM",
        development=Development(10, 31.1, TempUnit.C, Method.SINGLE_SINE, Cutoff.HORIZONTAL),
        starts="01-01",
        events=(
            LifeEvent("first moths", 100, _OKANAGAN),
            LifeEvent("egg laying begins", 150, _OKANAGAN),
            LifeEvent("egg hatch begins", 220, _OKANAGAN),
            LifeEvent("flight ends", 500, _OKANAGAN),
            LifeEvent("flight begins", 575, _OKANAGAN, 2),
            LifeEvent("egg hatch ends", 650, _OKANAGAN),
            LifeEvent("egg hatch begins", 700, _OKANAGAN, 2),
            LifeEvent("flight ends", 1140, _OKANAGAN, 2),
            LifeEvent("flight begins", 1160, _OKANAGAN, 3),
            LifeEvent("egg hatch ends", 1275, _OKANAGAN, 2),
            LifeEvent("egg hatch begins", 1300, _OKANAGAN, 3),
        ),
        source=f"thresholds 10/31.1 °C: {_JONES}; the programme prints no method",
        note="Stated as good to 3 to 5 degree-days.",
    ),
    SpeciesModel(
        id="shipped-ofm",
        species="OFM",
        development=_fahrenheit(45, 90),
        starts=FROM_BIOFIX,
        events=(
            LifeEvent("egg hatch begins", 150, _MICHIGAN),
            LifeEvent("shoot strikes show", 500, _STRAND),
            LifeEvent("time to read traps twice a week", 800, _STRAND),
            *_span("flight begins", 920, 1010, _STRAND, 2),
            LifeEvent("11 % of eggs hatched", 2100, _VIRGINIA, 3),
            LifeEvent("14 % of eggs hatched", 2137, _VIRGINIA, 3),
            LifeEvent("19 % of eggs hatched", 2200, _VIRGINIA, 3),
            LifeEvent("29 % of eggs hatched", 2300, _VIRGINIA, 3),
            LifeEvent("36 % of eggs hatched", 2350, _VIRGINIA, 3),
            LifeEvent("42 % of eggs hatched", 2400, _VIRGINIA, 3),
        ),
        source=f"45/90 °F (7.2/32.2 °C): Borchert et al. 2004, J. Econ. Entomol. 97:1353; {_SINE_HORIZONTAL}",
        note="New York's field tables were kept over 43 °F; decisions hold for 45 (Cornell Scaffolds 29(25) 2020).",
    ),
    SpeciesModel(
        id="shipped-oblr",
        species="OBLR",
        development=_fahrenheit(43, 85),
        starts=FROM_BIOFIX,
        events=(
            *_span("eggs hatch", 400, 920, _LEAFROLLERS),
            *_span("eggs hatch", 1590, 2360, _LEAFROLLERS, 2),
        ),
        source=f"43/85 °F, counted anew from the first moths: {_LEAFROLLERS}; {_SINE_HORIZONTAL}",
        note="Catch does not track larvae (Wisconsin DATCP 2013): look at shoots and clusters.",
    ),
    SpeciesModel(
        id="shipped-ptb",
        species="PTB",
        development=_fahrenheit(50, 88),
        starts=FROM_BIOFIX,
        events=(
            LifeEvent("flight peaks", 369, "Zalom et al. 1992, as given by University of California IPM"),
            LifeEvent("shoot strikes show", 400, _TWIG_BORER),
            LifeEvent("time to look at the traps for the next flight", 900, _TWIG_BORER),
            *_span("flight begins", 950, 1080, _TWIG_BORER, 2),
        ),
        source=(
            "50/88 °F, single sine, horizontal cutoff: University of California IPM, phenology models, peach twig "
            "borer (Zalom et al. 1992)"
        ),
    ),
    SpeciesModel(
        id="shipped-sjs",
        species="SJS",
        development=_fahrenheit(51, 90),
        starts=FROM_BIOFIX,
        events=(LifeEvent("crawlers emerge", 405, "University of California IPM, phenology models, San Jose scale"),),
        source=(
            "51/90 °F: University of California IPM, San Jose scale in almond; horizontal cutoff: the same, phenology "
            "models (Rice 1982; Jorgensen 1981 there has a vertical one); single sine: from memory"
        ),
        note=(
            "Delaware prints 300-350 and 400-450 over 50 °F in different years, Ontario 222-249 °C over 10.5 °C, Utah "
            "300-400 after the biofix of codling moth. The 600-700 of California is a window for treating, not a stage."
        ),
    ),
    _from_january(
        "RBLR",
        *_span("first catch", 110, 176, _MASSACHUSETTS),
        *_span("flight peaks", 232, 382, _MASSACHUSETTS),
        *_span("flight peaks", 1529, 1975, _MASSACHUSETTS, 2),
        *_span("flight begins", 2389, 3113, _NEW_YORK, 3),
        *_span("flight peaks", 2761, 3249, _NEW_YORK_2007, 3),
    ),
    _from_january(
        "STLM",
        *_span("first catch", 119, 227, _MASSACHUSETTS),
        *_span("first eggs", 143, 273, _MASSACHUSETTS),
        *_span("flight ends", 489, 978, _NEW_YORK),
        *_span("flight begins", 2208, 2783, _NEW_YORK, 3),
    ),
    _from_january(
        "DWB",
        *_span("first catch", 798, 1295, _NEW_YORK),
        *_span("flight peaks", 1434, 1864, _MASSACHUSETTS),
    ),
    _from_january(
        "GPTB",
        *_span("first catch", 565, 1557, _NEW_YORK),
        *_span("flight peaks", 1028, 2004, _MASSACHUSETTS),
        *_span("flight ends", 2230, 3255, _NEW_YORK),
    ),
    _from_january(
        "LPTB",
        *_span("flight peaks", 853, 1767, _MASSACHUSETTS),
        *_span("flight ends", 2996, 3446, _NEW_YORK_2007),
    ),
    _from_january(
        "AM",
        # New York's first catch runs from 1045 to 2057: beside these stings it would come after them.
        *_span("first catch", 1226, 1690, _MASSACHUSETTS),
        *_span("first stings", 1605, 2157, _MASSACHUSETTS),
        *_span("flight ends", 2772, 3374, _NEW_YORK_2007),
    ),
    SpeciesModel(
        id="shipped-am-utah",
        species="AM",
        development=Development(6.7, None, TempUnit.C, Method.SINGLE_SINE, Cutoff.NONE),
        starts="03-01",
        events=(
            LifeEvent("half of the flies are out", 1180, _JONES_AM),
            LifeEvent("half of the flies bear ripe eggs", 1292, _JONES_AM),
        ),
        source=f"6.7 °C, single sine, from 1 March: {_JONES_AM}; University of California IPM, phenology models",
        note=(
            "From cherry and hawthorn in Utah; Wisconsin differs by about 256. Ontario: first catch 638 ± 60 over "
            "6.4 °C (Laing & Heraty 1984), hardly better than the calendar. Michigan: 900 to 1000 °F over 50."
        ),
    ),
    SpeciesModel(
        id="shipped-wcff",
        species="WCFF",
        development=Development(5, None, TempUnit.C, Method.SINGLE_SINE, Cutoff.NONE),
        starts="03-01",
        events=tuple(
            LifeEvent(name, units, "AliNiazee 1979, Can. Entomol. 111:1101-1109")
            for name, units in (
                ("first flies", 462),
                ("egg laying begins", 541),
                ("egg hatch begins", 594),
                ("larvae leave the fruit", 795),
            )
        ),
        source=f"5 °C, no upper limit: Jones et al. 1991, Ann. Entomol. Soc. Am. 84:488-492; {_SINE}",
        note=(
            "Oregon 1976-78. By region, first fly in °F over 41: Oregon 832, Hood River 860 to The Dalles 990, "
            "Colorado 949, Utah 1031, Washington 1066; moister sites are earlier."
        ),
    ),
    SpeciesModel(
        id="shipped-sft",
        species="SFT",
        development=Development(10, None, TempUnit.C, Method.SINGLE_SINE, Cutoff.NONE),
        starts="01-01",
        events=tuple(
            LifeEvent(name, units, "NIAB, niab.com/node/2213", generation)
            for name, units, generation in (
                ("flight begins", 170, 1),
                ("flight peaks", 210, 1),
                ("flight begins", 616, 2),
                ("flight peaks", 693, 2),
            )
        ),
        source=f"10 °C from 1 January: NIAB, niab.com/node/2213; {_SINE}",
    ),
    SpeciesModel(
        id="shipped-pc",
        species="PC",
        development=Development(10, None, TempUnit.C, Method.SINGLE_SINE, Cutoff.NONE),
        starts="01-01",
        events=tuple(
            LifeEvent(name, units, "Akotsen-Mensah et al. 2011, Ann. Entomol. Soc. Am. 104(2), doi 10.1603/AN10061", at)
            for name, units, at in (
                ("first catch", 99, 1),
                ("catch peaks", 245, 1),
                ("catch peaks", 1105, 2),
                ("catch peaks", 1758, 3),
            )
        ),
        source=f"10 °C from 1 January: Akotsen-Mensah et al. 2011; {_SINE}",
        note="Peach in Alabama, right to a week. Apple in Maine: fresh cuts until 308 °F over 50 after petal fall.",
    ),
    SpeciesModel(
        id="shipped-law",
        species="LAW",
        development=_fahrenheit(43, None),
        starts="03-01",
        events=_span("flight ends", 1002, 1538, _HEALTHY_FRUIT),
        source=f"43 °F from 1 March: {_HEALTHY_FRUIT}; {_SINE}",
        note="Massachusetts, one letter.",
    ),
)
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
