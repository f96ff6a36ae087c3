"""What an area update is made from: farms' own figures by week, read once. Nothing in here may be published.

The area update as a value: released figures and what can be worked out from them, and a word on what is withheld.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from itertools import count as count_from
from pathlib import Path

from roundtui.domain import publication
from roundtui.domain.entries import StageSeen
from roundtui.domain.figures.figures import Series, block_figure, estimates_in, window_start
from roundtui.domain.figures.rules import Office
from roundtui.domain.figures.verdicts import TWO_COUNTS, Summary
from roundtui.domain.programme.cautions import AREA_CAUTIONS
from roundtui.domain.programme.farm import Programme, grouped, natural_key
from roundtui.domain.programme.stages import stage_name
from roundtui.domain.publication import FarmFigure
from roundtui.domain.records import Frozen
from roundtui.domain.season.models import FROM_BIOFIX, SpeciesModel, model_for
from roundtui.domain.season.outlook import Outlook
from roundtui.domain.season.season import Biofix, BiofixRow, season_outlook
from roundtui.domain.season.weather import DegreeDaySum
from roundtui.domain.text import WEEKDAYS, listed, sanitize
from roundtui.errors import RoundtuiError
from roundtui.report import text
from roundtui.report.charts import runs
from roundtui.report.letters import material
from roundtui.report.letters.blocks import flight_curve
from roundtui.report.letters.compose import note_lines, sender_lines
from roundtui.report.letters.letter import Figure, Line, Picture, Place, line
from roundtui.report.letters.material import count, short_day, short_figure, species_name
from roundtui.report.letters.season_lines import event_words, news
from roundtui.report.letters.template import Templates, inline
from roundtui.report.text import as_name
from roundtui.store.figures.summary import summary_of
from roundtui.store.files import write_whole
from roundtui.store.record.observations import present
from roundtui.store.record.rows import STAGES
from roundtui.store.reports import area_weekday, keep_released, read_letters_office, released
from roundtui.store.season.season import SeasonRecord

Key = tuple[str, str, date]
"""Kind of a figure, what it is of, last day of its week."""


@dataclass(frozen=True)
class AreaCells:
    """The area's figures, each released or withheld by the rules of disclosure."""

    weeks: tuple[date, ...]
    """Last days of the season's whole weeks, oldest first."""
    weekday: int
    """Weekday on which they end, Monday being 0."""
    species: tuple[str, ...]
    """Species trapped this season."""
    crops: tuple[str, ...]
    """Crops with a block this season."""
    cells: Mapping[Key, publication.Cell]
    """Every figure, those withheld too."""

    def catch(self, species: str, week: date) -> publication.Cell:
        """Catch of a species in a week."""
        return self.cells["catch", species, week]

    def biofixes(self, species: str, first: date) -> Iterator[tuple[int, date, publication.Cell]]:
        """Biofixes of a species as far as they were released: generation, day, figure.

        Args:
            species: The species.
            first: First day of the season.
        """
        for generation in count_from(1):
            cell = self.cells.get(("biofix", f"{species}/{generation}", first))
            if cell is None or cell.value is None:
                return
            yield generation, date.fromordinal(round(cell.value)), cell

    def stage(self, crop: str) -> publication.Cell | None:
        """Fruit stage of a crop in the newest week; None where it was not released."""
        cell = self.cells.get(("stage", crop, self.newest))
        return cell if cell is not None and cell.released else None

    @property
    def newest(self) -> date:
        """Last day of the newest week."""
        return self.weeks[-1]


class StationSeason(Frozen):
    """One station's season for one species; a station is shown only where enough farms go by it."""

    station: str
    """Name of the station."""
    model: SpeciesModel
    """How degree-days are counted."""
    total: DegreeDaySum
    """Degree-days from the season's first day."""
    outlooks: tuple[Outlook, ...]
    """Events from the area's biofixes; none while these are withheld."""


@dataclass(frozen=True)
class Area:
    """All that an update is put together from."""

    on: date
    """Day of the update."""
    season_first: date
    """First day of the season."""
    cells: AreaCells
    """Its figures."""
    stations: Mapping[str, tuple[StationSeason, ...]]
    """Stations by species."""
    stations_withheld: int
    """Stations that too few farms go by."""
    office: publication.LettersOffice
    """Who writes."""
    missing: tuple[str, ...]
    """Codes of farms that take part and were not read in the newest week; for the coordinator alone."""
    disrupted: Mapping[str, frozenset[bool]] = field(default_factory=dict)
    """Of each species whether the blocks behind its newest catch are disrupted: some, none, or both."""
    questions: tuple[str, ...] = ()
    """What is still open in the newest week; for the coordinator alone, since a week once published stays."""


def read_area(conn: sqlite3.Connection, folder: Path, on: date, office: Office) -> Area:
    """Read what an update is made from, and decide what may be in it.

    Args:
        conn: The store.
        folder: The scouting folder.
        on: Day of the update.
        office: Rules, and when the season starts.

    Raises:
        RoundtuiError: The store, or a file of the office, cannot be used, or no week of the season is over.
    """
    season = SeasonRecord(conn, folder, on, office)
    letters = read_letters_office(folder, season.programme.farms)
    weekday = _weekday(letters, area_weekday(conn, season.season), on)
    weeks = publication.week_ends(season.first, on, weekday)
    if not weeks:
        raise RoundtuiError(
            f"no week of the season is over on {on.isoformat()}",
            f"the first one ends on a {WEEKDAYS[weekday].capitalize()}",
        )
    figures = {
        **catch_figures(season.programme, season.series, weeks),
        **stage_figures(season.programme, present(conn, STAGES, window_start(weeks[-1]), weeks[-1]), weeks[-1]),
        **biofix_figures(season.programme, season.biofix_rows(), season.first),
    }
    cells = area_cells(figures, weeks, weekday, letters.declined, released(conn, season.season))
    stations, withheld = _stations(season, cells, letters.declined)
    read = {
        one.farm for (kind, _, week), found in figures.items() if kind == "catch" and week == weeks[-1] for one in found
    }
    taking_part = {season.programme.farm_of(block) for block, _ in season.series} - letters.declined
    return Area(
        on=on,
        season_first=season.first,
        cells=cells,
        stations=stations,
        stations_withheld=withheld,
        office=letters,
        missing=tuple(sorted(taking_part - read, key=natural_key)),
        disrupted=_disrupted(season, cells),
        questions=_questions(summary_of(conn, office, weeks[-1], programme=season.programme).summary),
    )


def _disrupted(season: SeasonRecord, cells: AreaCells) -> dict[str, frozenset[bool]]:
    found: dict[str, set[bool]] = {}
    for (block, species), group in season.series.items():
        known = season.programme.blocks.get(block)
        inside = [one for one in group if not one.hanging.edge]
        there = known is not None and known.farm in cells.catch(species, cells.newest).farms
        if known is not None and there and block_figure(inside, cells.newest).traps:
            found.setdefault(species, set()).add(bool(known.disrupted))
    return {species: frozenset(kinds) for species, kinds in found.items()}


def _weekday(office: publication.LettersOffice, kept: int | None, on: date) -> int:
    if kept is None:
        return on.weekday() if office.week_ends is None else office.week_ends
    if office.week_ends not in {None, kept}:
        day = WEEKDAYS[kept].capitalize()
        raise RoundtuiError(
            f"letters.toml ends the area's weeks on another day than {day}, on which they end since the first update "
            "of this season",
            "change it for the next season: overlapping weeks could show one farm",
        )
    return kept


def _questions(summary: Summary) -> tuple[str, ...]:
    unlikely = [f"{sanitize(row.trap, 20)} has an unlikely {row.count}" for row in summary.unlikely]
    return (*unlikely, *(f"{TWO_COUNTS} of {sanitize(row.trap, 20)}" for row in summary.conflicts))


# --- farms' own figures ----------------------------------------------------------------------------------------------


def catch_figures(
    programme: Programme, groups: Mapping[tuple[str, str], Sequence[Series]], weeks: Sequence[date]
) -> dict[Key, list[FarmFigure]]:
    """Mean catch of each farm's valid traps, by species and week; traps at the edge are left out. [moths/trap/week]

    Args:
        programme: For the farm of each block.
        groups: Readings by block and species.
        weeks: Last days of the weeks.
    """
    found: dict[Key, list[FarmFigure]] = {}
    inside = {key: [one for one in group if not one.hanging.edge] for key, group in groups.items()}
    by_farm = grouped(((species, programme.farm_of(block)), of) for (block, species), of in inside.items())
    for (species, farm), blocks in by_farm.items():
        for week in weeks:
            traps = [trap for of in blocks for trap in block_figure(of, week).traps]
            key = ("catch", species, week)
            found.setdefault(key, [])
            if traps:
                rough = sum(1 for trap in traps if estimates_in(trap.readings))
                longest = max(sum(reading.days or 0 for reading in trap.readings) for trap in traps)
                step = Fraction(7, longest * len(traps))
                value = publication.mean([trap.per_week for trap in traps])
                found[key].append(FarmFigure(farm, value, len(traps), rough, grower_of(programme, farm), step))
    return found


def grower_of(programme: Programme, farm: str) -> str:
    """Name of a farm's grower; blank where nobody wrote one down."""
    known = programme.farms.get(farm)
    return known.grower if known else ""


def stage_figures(programme: Programme, seen: Iterable[StageSeen], week: date) -> dict[Key, list[FarmFigure]]:
    """Middle fruit stage of each farm's blocks of a crop, as seen in a week.

    Args:
        programme: For crop and farm of each block.
        seen: Stages seen, oldest first.
        week: Last day of the week.
    """
    newest = {one.block: one.code for one in seen if window_start(week) <= one.seen_on <= week}
    known = [(programme.blocks[block], code) for block, code in newest.items() if block in programme.blocks]
    codes = grouped(((block.crop.casefold(), block.farm), Fraction(int(code))) for block, code in known if block.farm)
    return _middles(programme, "stage", codes, week)


def _middles(
    programme: Programme, kind: str, values: Mapping[tuple[str, str], Sequence[Fraction]], day: date
) -> dict[Key, list[FarmFigure]]:
    """The middle of what each farm has, by what it is about."""
    return grouped(
        ((kind, what, day), FarmFigure(farm, publication.middle(own), grower=grower_of(programme, farm)))
        for (what, farm), own in values.items()
    )


def biofix_figures(programme: Programme, rows: Iterable[BiofixRow], first: date) -> dict[Key, list[FarmFigure]]:
    """Middle confirmed biofix of each farm's blocks, as the number of its day.

    Args:
        programme: For the farm of each block.
        rows: Biofixes of all blocks.
        first: First day of the season.
    """
    confirmed = [(row, row.biofix.confirmed) for row in rows if row.biofix.confirmed is not None]
    days = grouped(
        ((f"{row.species}/{row.biofix.generation}", programme.farm_of(row.block)), Fraction(on.toordinal()))
        for row, on in confirmed
    )
    return _middles(programme, "biofix", days, first)


def area_cells(
    figures: Mapping[Key, Sequence[FarmFigure]],
    weeks: tuple[date, ...],
    weekday: int,
    declined: frozenset[str],
    before: Mapping[Key, publication.Cell],
) -> AreaCells:
    """Decide figure by figure what may be shown.

    Args:
        figures: Farms' own figures.
        weeks: Last days of the weeks.
        weekday: Weekday on which they end.
        declined: Farms that are no part of the update.
        before: What was published before.
    """
    cells = {}
    for key, found in figures.items():
        how = publication.middle if key[0] == "stage" else publication.mean
        cells[key] = publication.release(*key, found, declined=declined, before=before.get(key), how=how)
    for key, cell in before.items():
        if key[0] == "biofix" or key[2] in weeks:
            cells.setdefault(key, cell)
    species = sorted({what for kind, what, _ in cells if kind == "catch"})
    for one in species:
        for week in weeks:
            cells.setdefault(("catch", one, week), publication.Cell(kind="catch", what=one, week_ends=week))
    crops = sorted({what for kind, what, _ in cells if kind == "stage"})
    return AreaCells(weeks, weekday, tuple(species), tuple(crops), cells)


# --- stations --------------------------------------------------------------------------------------------------------


def _stations(
    season: SeasonRecord, cells: AreaCells, declined: frozenset[str]
) -> tuple[dict[str, tuple[StationSeason, ...]], int]:
    farms: dict[str, set[str]] = {}
    for block, _ in season.series:
        station = season.station_of(block)
        if station:
            farms.setdefault(station, set()).add(season.programme.farm_of(block))
    growers = {code: {farm: grower_of(season.programme, farm) for farm in of} for code, of in farms.items()}
    shown = sorted((code for code in farms if publication.enough(growers[code], declined)), key=natural_key)
    found: dict[str, tuple[StationSeason, ...]] = {}
    for species in cells.species:
        model = model_for(season.season_office.models, species)
        if model is not None:
            biofixes = tuple(Biofix(at, None, on) for at, on, _ in cells.biofixes(species, season.first))
            found[species] = tuple(_station(season, code, model, biofixes) for code in shown)
    return found, len(farms) - len(shown)


def _station(season: SeasonRecord, code: str, model: SpeciesModel, biofixes: tuple[Biofix, ...]) -> StationSeason:
    known = season.programme.stations.get(code)
    outlooks: tuple[Outlook, ...] = ()
    if model.starts != FROM_BIOFIX or biofixes:
        years = season.years_of(code, model.development)
        outlooks = season_outlook(model, years, biofixes, on=season.on, season_ends=season.last)
    total = season.sum_of(code, model.development, season.first, season.on)
    return StationSeason(known.name if known and known.name else code, model, total, outlooks)


WITHHELD = "withheld"
"""What stands in place of a figure that would give a farm away."""
_BLOCKS = {
    frozenset(): "",
    frozenset({False}): "blocks without mating disruption",
    frozenset({True}): "disrupted blocks only, where traps catch little",
    frozenset({False, True}): "blocks with and without mating disruption together",
}
_NO_PLACE: Place = ("area",)


class SpeciesNews(Frozen, kw_only=True):
    """What an update says of one species."""

    name: str
    """Common name."""
    catch: Figure
    """Mean of the farms' own means; a word where it is withheld."""
    farms: Figure
    """Farms behind it."""
    traps: Figure
    """Traps behind it."""
    blocks: str
    """Whose blocks they hang in: with mating disruption, without, or both; empty where the catch is withheld."""
    estimated: Line | None
    """How many of the traps rest on an estimated count; None where none does."""
    trend: Line
    """Against the week before."""
    curve: Picture | None
    """The flight, week by week."""
    biofix: tuple[Line, ...]
    """Biofix of each generation."""
    degree_days: tuple[Line, ...]
    """Degree-days at each station."""
    coming: tuple[Line, ...]
    """What came, and what is to be expected."""


class AreaUpdate(Frozen, kw_only=True):
    """All that the public is told after a week."""

    area: str
    """Name of the area."""
    sender: tuple[str, ...]
    """Who writes, line by line."""
    first: Figure
    """First day of the week."""
    week_ends: Figure
    """Last day of the week."""
    note: tuple[str, ...]
    """Covering note, line by line."""
    species: tuple[SpeciesNews, ...]
    """Each species trapped this season."""
    stages: tuple[Line, ...]
    """Fruit stage by crop."""
    withheld: tuple[str, ...]
    """What is withheld, and why."""
    cautions: tuple[str, ...]
    """What stands in every update."""


def compose_update(area: Area, *, note: str = "") -> AreaUpdate:
    """The update of a week.

    Args:
        area: What it is made from.
        note: Covering note of the coordinator; plain words, whatever stands in it.
    """
    office = area.office
    return AreaUpdate(
        area=sanitize(office.area or office.name, 80) or "Area",
        sender=sender_lines(office),
        first=material.day_figure(window_start(area.cells.newest), _NO_PLACE),
        week_ends=material.day_figure(area.cells.newest, _NO_PLACE),
        note=note_lines(note),
        species=tuple(_species(area, code) for code in area.cells.species),
        stages=tuple(_stages(area)),
        withheld=tuple(_withheld(area)),
        cautions=AREA_CAUTIONS,
    )


def _species(area: Area, code: str) -> SpeciesNews:
    cells = [area.cells.catch(code, week) for week in area.cells.weeks]
    now, before = cells[-1], cells[-2] if len(cells) > 1 else None
    place: Place = ("area", "catch", code, now.week_ends.isoformat())
    against = line("no comparison with the week before")
    if now.value is not None and before is not None and before.value is not None:
        was = _catch(before.value, (*place[:3], before.week_ends.isoformat()))
        against = material.trend(_catch(now.value, place), was, line("the week before"))
        if now.farms != before.farms:
            against = line("other farms than the week before, so no comparison")
    stations = area.stations.get(code, ())
    return SpeciesNews(
        name=species_name(code),
        catch=_catch(now.value, place) if now.value is not None else Figure(WITHHELD, None, place),
        farms=count(len(now.farms), place) if now.released else Figure(text.NONE, None, place),
        traps=count(now.traps, place) if now.released else Figure(text.NONE, None, place),
        blocks=_BLOCKS[area.disrupted.get(code, frozenset())] if now.released else "",
        estimated=_estimated(now, place),
        trend=against,
        curve=_curve(code, cells),
        biofix=tuple(_biofixes(area, code)),
        degree_days=tuple(_degree_days(area, one) for one in stations),
        coming=tuple(words for one in stations for words in _coming(area, one)),
    )


def _estimated(cell: publication.Cell, place: Place) -> Line | None:
    if not cell.released or not cell.estimated:
        return None
    are = "rests on an estimated count" if cell.estimated == 1 else "rest on estimated counts"
    return line(count(cell.estimated, place), f" of the traps {are}")


def _catch(value: Fraction, place: Place) -> Figure:
    """A catch as it is printed: whole moths, and no more anywhere else."""
    return Figure(f"{int(value)}" if value else "under 1", value, place)


def _curve(code: str, cells: Sequence[publication.Cell]) -> Picture | None:
    return flight_curve(
        f"{species_name(code)}: flight of the area",
        f"{material.insects(code)} a trap and week",
        runs((cell.week_ends, cell.value, cell.value is None) for cell in cells),
        cells[-1].week_ends,
        said=", each the mean of farms in the week to that day, in whole moths; 0 is under 1",
        decimals=0,
    )


def _biofixes(area: Area, code: str) -> Iterator[Line]:
    for generation, on, cell in area.cells.biofixes(code, area.season_first):
        place: Place = ("area", "biofix", f"{code}/{generation}")
        yield line(
            f"Biofix of generation {generation}: about ",
            material.day_figure(on, place),
            ", the mean of ",
            count(len(cell.farms), place),
            " farms.",
        )


def _degree_days(area: Area, one: StationSeason) -> Line:
    development = one.model.development
    place: Place = ("area", "degree-days", one.station)
    over = f"{development.lower:g}" + (f" to {development.upper:g}" if development.upper is not None else "")
    total = Figure(f"{one.total.total:.0f}", one.total.total, place)
    words = f" {development.unit.sign}-days ({over}) since "
    stopped = (
        f" (known only up to {short_day(one.total.rows[-1].on)})" if one.total.stopped_on and one.total.rows else ""
    )
    if not one.total.rows:
        return line(f"{as_name(one.station)}: no temperatures.")
    return line(f"{as_name(one.station)}: ", total, words, short_figure(area.season_first, place), f"{stopped}.")


def _coming(area: Area, one: StationSeason) -> Iterator[Line]:
    for view in one.outlooks:
        for event in news(() if view.provisional else view.events, area.on):
            place: Place = ("area", "outlook", one.station, event.event.name)
            yield line(*event_words(as_name(one.station), event, view.coverage, place), ".")


def _stages(area: Area) -> Iterator[Line]:
    for crop in area.cells.crops:
        if (cell := area.cells.stage(crop)) is None:
            continue
        code = f"{int(cell.value or 0):02}"
        name = stage_name(crop, code)
        place: Place = ("area", "stage", crop)
        yield line(
            f"{as_name(crop).capitalize()}: BBCH ",
            Figure(code, code, place),
            f"{f', {name}' if name else ''}, the middle of ",
            count(len(cell.farms), place),
            " farms.",
        )


def _withheld(area: Area) -> list[str]:
    """What is withheld; how many farms stand behind it is not said, nor their traps."""
    found = []
    newest = area.cells.newest
    catch = [species_name(code) for code in area.cells.species if not area.cells.catch(code, newest).released]
    if catch:
        found.append(f"Catch of this week: {listed(catch)}.")
    past = [
        species_name(code)
        for code in area.cells.species
        if any(not area.cells.catch(code, week).released for week in area.cells.weeks[:-1])
    ]
    if past:
        found.append(f"Single weeks before: {listed(past)}.")
    crops = [as_name(crop) for crop in area.cells.crops if area.cells.stage(crop) is None]
    if crops:
        found.append(f"Fruit stage: {listed(crops)}.")
    biofix = {
        key[1].split("/")[0] for key, cell in area.cells.cells.items() if key[0] == "biofix" and not cell.released
    }
    if biofix:
        found.append(f"A biofix, and the dates that follow from it: {listed(map(species_name, sorted(biofix)))}.")
    if area.stations_withheld:
        found.append("Degree-days of stations that few farms use.")
    if found:
        found.insert(
            0,
            f"Fewer than {publication.FEWEST_GROWERS} growers stand behind these, or one of them makes up most of it, "
            "so that they would tell of one farm. A week in which no trap was read counts among them.",
        )
    found.append(
        "Catches are in whole moths. A published week is never changed, since the difference would show one farm."
    )
    return found


def update_page(update: AreaUpdate, templates: Templates, ending: str) -> str:
    """An update as one page that needs nothing beside it, or as plain text.

    Args:
        update: The update.
        templates: Templates of the folder.
        ending: ``html`` or ``txt``.
    """
    curves = [one.curve for one in update.species if one.curve is not None]
    return templates.page(f"update.{ending}", {"update": update, "picture": inline, "curves": curves})


def write_update(
    conn: sqlite3.Connection, area: Area, update: AreaUpdate, templates: Templates, to: Path
) -> tuple[Path, ...]:
    """Write an update for the public.

    Args:
        conn: The store, in which the released figures are kept.
        area: What it was made from.
        update: The update.
        templates: Templates of the folder.
        to: Folder to write to; made where it is missing.

    Returns:
        The files.

    Raises:
        TemplateError: The office's template is faulty; nothing is kept or written.
        StoreError: Store or folder cannot be written.
    """
    name = f"area-update-{area.cells.newest.isoformat()}"
    pages = {to / f"{name}.{ending}": update_page(update, templates, ending) for ending in ("html", "txt")}
    keep_released(conn, area.season_first.year, area.cells.weekday, area.cells.cells.values())
    for path, page in pages.items():
        write_whole(path, page)
    return tuple(pages)
