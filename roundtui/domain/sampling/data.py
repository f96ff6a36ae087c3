"""The table of what is looked for, with every published plan and threshold that was found, each with its source.

Months, and numbers of units where a source has none, are common practice without a source and say so. Where two sources
contradict each other both stand, and the first is used unless somebody chooses otherwise. An office's own plans are
read out of the table it wrote.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from fnmatch import fnmatchcase
from fractions import Fraction
from itertools import pairwise

from roundtui.domain.entries import SampleKind
from roundtui.domain.sampling.records import COMMON, Measure, MonthDay, Plan, Sought, Stop
from roundtui.domain.text import ruled
from roundtui.domain.toml_table import TableReader, place_in, shown
from roundtui.errors import Problem

_SOURCES = {
    "maine": "University of Maine Cooperative Extension, Key apple pest thresholds (copy), paperzz.com/doc/8317559",
    "penn": "Penn State advice, How to count orchard mites, aginfo.net/report/34343",
    "michigan": "Michigan State University Extension, Managing mites in apples, "
    "canr.msu.edu/news/managing_mites_in_apples",
    "kentucky": "University of Kentucky, apple IPM, mites, uky.edu/Ag/IPM/appleipm",
    "rhode island": "University of Rhode Island, recorded pest message of 3 July 2007, web.uri.edu/ipm",
    "wisconsin": "Wisconsin DATCP pest bulletins 2012 to 2017, datcpservices.wisconsin.gov/pb",
    "new york": "Nyrop and others 1990, Environmental Entomology 19:1624 (New York)",
    "delaware": "University of Delaware, Fruit insect scouting, sites.udel.edu/weeklycropupdate/?p=18091",
    "uc ofm": "UC IPM, Graph of OFM trap catch, ipm.ucanr.edu/PMG/FIG/sf99-f42.html",
    "uc ptb": "UC IPM, peach twig borer, ipm.ucanr.edu/PMG/FIG/sf99-f40.html",
    "washington": "Washington State University, Scouting your orchards, treefruit.wsu.edu/?p=37592",
    "export": "Washington State University, Orchard visual fruit sampling for export, "
    "entomology.tfrec.wsu.edu/Cullage_Site/CM_Sampling.html",
    "600": "600 fruit: SAG, codling moth in cherries for Japan (update of 2018), fdocuments.ec; New Zealand "
    "stone fruit for Western Australia, none found, ininet.org",
    "rio negro": "INTA Alto Valle, www1.rionegro.com.ar id=16334",
    "australia": "extensionAUS, Quick damage assessment, extensionaus.com.au/ozapplepearipdm",
    "common": COMMON,
    "uk mites": "NIAB best practice, fruit tree red spider mite, niab.com/monitoring-fruit-tree-red-spider-mite",
    "belgium": "Belgium, after more than 40 moths a trap and week, studylibfr.com/doc/4606602",
    "uk tortrix": "NIAB best practice, tortrix monitoring, niab.com/node/2221",
    "uk rosy": "NIAB best practice, rosy apple aphid, niab.com/monitoring-rosy-apple-aphid",
    "uk green": "NIAB best practice, green apple aphid, niab.com/monitoring-green-apple-aphid",
    "uk weevil": "NIAB best practice, apple blossom weevil, niab.com/node/2096",
    "uk sawfly": "NIAB best practice, apple sawfly, niab.com/monitoring-apple-sawfly",
}
_CROPS = {
    "pome": ("apple", "pear", "quince", "asian pear", "crabapple"),
    "apple": ("apple", "crabapple"),
    "stone": ("peach", "nectarine", "apricot", "plum", "almond", "cherry"),
    "mites": ("apple", "pear", "quince", "asian pear", "crabapple", "plum"),
    "ofm": ("peach", "nectarine", "apricot", "plum", "almond", "cherry", "apple", "pear"),
    "any": (),
}
_MITE_REMARK = (
    "New York tolerates about 500 mite-days and tells treat, look again in 7 days and look again in 14 days apart "
    "(Cornell, nysipm.cornell.edu, Monitoring European red mite); its table was not to be read, so only the published "
    "thresholds speak here. At least 1 predator to 10 mites keeps a stand under them (Penn State advice)"
)
_REMARKS = {
    "ERM": _MITE_REMARK,
    "TSM": _MITE_REMARK,
    "ERM-4": _MITE_REMARK,
    "WAA": "no threshold published; looked for from mid-June (intermountainfruit.org/insect-biology/waa.php)",
}


def _mites(rows: str) -> tuple[tuple[int, Fraction], ...]:
    pairs = (row.split(":") for row in rows.split())
    return tuple((int(leaves), Fraction(mites)) for leaves, mites in pairs)


_RED_BY_PRESENCE = _mites("10:0.7 12:1.1 15:1.6 17:2.6 20:4.7 22:11.4 24:15.3")
_TWO_SPOTTED_BY_PRESENCE = _mites("10:2.1 12:3.0 15:4.1 17:5.4 20:8.5 21:10.1")
BY_PRESENCE_NOTE = (
    f"table of leaves infested out of 25: {_SOURCES['michigan']}. Its head says two or more mites on a leaf and its "
    "text one or more for red mite; 22 and 24 of 25 are 88 and 96 %, printed as 90 and 95"
)
"""Where the table comes from that makes mites a leaf out of leaves with mites, and what is odd about it."""


def _plan(row: list[str]) -> Plan:
    """A plan of the table: what it wants is a measure with one number, a range, or its stops."""
    id_, source, wants, units, days, note = row
    measure, *numbers = wants.split()
    looked, _, units_source = units.partition(" ")
    stops = tuple(_stop(*map(int, one.split(","))) for one in numbers) if measure == Measure.STOPS else ()
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


def _stop(looked: int, low: int, high: int | None = None) -> Stop:
    return Stop(looked, low, high)


def _month_day(text: str) -> MonthDay:
    day, month = text.split(".")
    return int(month), int(day)


# Plan, source, what it wants, units to look at with the source of their number where it is another, days, note.
_PLANS = [
    _plan(row)
    for row in ruled(
        """
    mites-penn-spring | penn | mean 2.5 | 100 | 1.1-31.5 | Kentucky has 500 to 1000 mites on 100 leaves
    mites-penn-early-summer | penn | mean 5 | 100 | 1.6-15.7 | Rhode Island in July: 2.5 a leaf, or 65 % of leaves
    mites-penn-late-summer | penn | mean 7.5 | 100 | 16.7-31.12 | Michigan in August: 10 to 15; Kentucky 15
    mites-michigan-to-july | michigan | mean 5-7 | 75 | 1.1-31.7 | 25 leaves at three to five sites, read here as \
        25 at each of three
    mites-michigan-august | michigan | mean 10-15 | 75 | 1.8-31.8 | 25 leaves at three to five sites, read here as \
        25 at each of three
    mites-kentucky-to-march | kentucky | mean 5 | 100 | 1.1-31.3 |
    mites-kentucky-to-may | kentucky | mean 10 | 100 | 1.4-31.5 |
    mites-kentucky-summer | kentucky | mean 15 | 100 | 1.6-31.12 |
    mites-rhode-island | rhode island | share 65/100 | 100 common | 16.6-31.7 | given beside 2.5 a leaf; Penn State \
        has 5 a leaf at that time. Days are common practice, no source
    mites-uk | uk mites | share 7/50 | 50 | | a leaf is found when it has four mites or more; where predators are few
    oblr-maine | maine | stops 60,1,4 90,2,4 100,3,4 | 100 | |
    oblr-wisconsin | wisconsin | mean 15/100 | 100 | | 3 larvae a tree on 10 clusters and 10 terminals of each of \
        5 trees, which is 15 on 100
    tortrix-uk | uk tortrix | share 5/100-8/100 | 500 belgium | | the page does not name the species
    stlm-wisconsin-1 | wisconsin | mean 0.1 | 100 common | 1.1-20.6 | generation 1; {mines}
    stlm-wisconsin-2 | wisconsin | mean 1.0 | 100 common | 21.6-5.8 | generation 2; {mines}
    stlm-wisconsin-3 | wisconsin | mean 5 | 100 common | 6.8-31.12 | generation 3; {mines}
    stlm-new-york | new york | mean 2 | 100 common | 1.4-20.6 | generation 1; days of the generations are common \
        practice, no source; 87 % of orchards were under it
    raa-uk | uk rosy | share 1/25 | 25 | | at green cluster; later in the season more is borne, and the page has no \
        number
    gaa-uk | uk green | share >30/100 | 50 | |
    gaa-uk-curled | uk green | share 10/100 | 50 | | 10 % taken as over at it; whether at or above is not clear from \
        our copy
    leafhopper-maine-first-cover | maine | mean 1 | 100 common | 1.5-30.6 | days of first cover are common practice, \
        no source
    leafhopper-maine-summer | maine | mean 2 | 100 common | 1.7-31.8 |
    potato-leafhopper-maine | maine | mean 1 | 100 common | |
    mullein-bug-maine | maine | mean 7/25-10/25 | 25 | | 7 to 10 from 25 taps
    blossom-weevil-uk | uk weevil | mean 5/50 | 50 | | 5 from 50 beats
    sawfly-uk | uk sawfly | mean 11/100 | 100 | | 11 scars on 100 trusses
    ofm-strikes-california | uc ofm | mean 3-5 | 20 common | | 3 to 5 strikes a tree in the generation before
    ptb-strikes-california | uc ptb | mean 3-4 | 20 common | | 3 to 4 strikes a tree, for the second generation
    fruit-washington | washington | share 5/1000 | 500 australia | | 0.5 % injured: "increased controls should be \
        implemented", in the words of the source
    fruit-export-clean | export | stops 1260,0 | 1260 | | 60 half-fruit on each of 21 trees about 70 ft apart, from \
        where the catch is highest, no more than 14 days before harvest, by a trained sampler who has read the trap \
        records; a fruit with two larvae counts once, stings do not count. A block with injury goes on, and the plan \
        has no number for it. In bins the same protocol bars more than 2 of 1500 fruit with live larvae, 25 from each \
        of 60 bins
    fruit-600-clean | 600 | stops 600,0 | 600 | | none in 600 shows less than 0.5 % with 95 % certainty where injury \
        is not clumped; a block with 0.5 % passes 1 time in 20, one with 0.1 % passes 11 in 20
    fruit-500-a-hectare | rio negro | share 2/1000 | 500 | | 500 a hectare from the tops of 10 to 15 trees, below \
        0.2 %; a clean 500 does not show that: a block with 0.2 % is clean in 500 fruit 37 times in 100
    sjs-fruit-delaware | delaware | share 1/100 | 500 australia | | 1 % of fruit spotted last season
    aphids-fruit-rhode-island | rhode island | share 10/100 | 100 common | |
    """.replace(
            "{mines}",
            "days of the generations are common practice, no source; elsewhere 1, 2 and 5 a leaf, as in Utah "
            "(from memory); 20 leaves were enough around 1 mine a leaf in Asturias 2011 (abstract)",
        )
    )
]


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
        by_presence={"ERM": _RED_BY_PRESENCE, "TSM": _TWO_SPOTTED_BY_PRESENCE}.get(code, ()),
        remark=_REMARKS.get(code, ""),
    )


# Code, name, unit that is looked at, what is counted on it, crops, months, units, its plans, spread.
SHIPPED_SAMPLES: tuple[Sought, ...] = tuple(
    _sought(row)
    for row in ruled(
        """
    ERM | European red mite | leaf | mites | mites | 4-9 | 100 | mites-penn* mites-michigan* mites-kentucky* \
        mites-rhode* | 10 spur leaves on each of 10 trees (Penn State advice)
    | fruit, any injury | fruit | | any | 5-10 | 500 | fruit-* | 100 fruit on each of 5 trees, 25 a side, from the top \
        down, unpicked (extensionAUS)
    TSM | two-spotted spider mite | leaf | mites | any | 6-9 | 100 | mites-penn* mites-michigan* mites-kentucky* \
        | 10 spur leaves on each of 10 trees (Penn State advice)
    ERM-4 | red mite, leaves with four or more | leaf | | mites | 5-8 | 50 | mites-uk |
    OBLR | obliquebanded leafroller, shoots and clusters with larvae | shoot | larvae | pome | 5-8 | 100 | oblr* \
        | 10 tips and clusters a tree (University of Maine)
    TORTRIX | summer fruit tortrix, shoots damaged | shoot | | pome | 5-8 | 100 | tortrix-* |
    STLM | spotted tentiform leafminer, mines | leaf | mines | apple | 5-9 | 100 | stlm-wisconsin* |
    STLM-EGGS | spotted tentiform leafminer, eggs | leaf | eggs | apple | 4-6 | 100 | stlm-new-york |
    RAA | rosy apple aphid | tree | | apple | 4-6 | 25 | raa-* | 25 trees
    GAA | green apple aphid, shoots with any | shoot | | apple | 5-8 | 50 | gaa-uk | 2 shoots on each of 25 trees
    GAA-CURL | green apple aphid, shoots curled | shoot | | apple | 5-8 | 50 | gaa-uk-curled | 2 shoots \
        on each of 25 trees
    WAA | woolly apple aphid | shoot | | apple | 6-9 | 100 | |
    WALH | white apple leafhopper | leaf | leafhoppers | apple | 5-8 | 100 | leafhopper-* |
    PLH | potato leafhopper on young terminals | leaf | leafhoppers | apple | 6-8 | 100 | potato-* |
    MULLEIN | mullein bug nymphs, taps | tap | nymphs | pome | 5-6 | 25 | mullein-* |
    ABW | apple blossom weevil, beats | beat | weevils | apple | 3-4 | 50 | blossom-* |
    SAWFLY | apple sawfly, scars on trusses | truss | scars | apple | 4-5 | 100 | sawfly-* |
    OFM | oriental fruit moth, shoot strikes | tree | strikes | ofm | 5-8 | 20 | ofm-* |
    PTB | peach twig borer, shoot strikes | tree | strikes | stone | 4-8 | 20 | ptb-* |
    SJS | San Jose scale on fruit | fruit | | any | 7-10 | 500 | sjs-* |
    GAA | aphids or honeydew on fruit | fruit | | apple | 6-8 | 100 | aphids-* |
    """
    )
)
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
    problems = reader.problems
    found: dict[tuple[object, ...], Sought] = {}
    ids: set[str] = {plan.id for sought in SHIPPED_SAMPLES for plan in sought.plans}
    for number, written in enumerate(reader.tables("sample"), start=1):
        sought, wrong = _sample(written, place_in(where, written, "sample", number), ids)
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
        plan, wrong = _plan_office(written, place_in(where, written, "plan", number), base, ids)
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


def _plan_office(
    table: Mapping[str, object], where: str, base: Sought, ids: set[str]
) -> tuple[Plan | None, list[Problem]]:
    reader = TableReader(table, where)
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
        date=reader.dated(),
        note=reader.text("note") or "",
        office=True,
    )
    _check(reader, plan)
    reader.refuse_unknown()
    return (None if reader.problems else plan), reader.problems


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
