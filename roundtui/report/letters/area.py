"""What an area update is made from: farms' own figures by week, read once. Nothing in here may be published."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from roundtui.domain.figures.figures import Series, block_figure, estimates_in, window_start
from roundtui.domain.figures.verdicts import Summary
from roundtui.domain.programme.farm import Programme, natural_key
from roundtui.domain.publication import (
    WEEKDAYS,
    Cell,
    FarmFigure,
    LettersOffice,
    enough,
    mean,
    middle,
    release,
    week_ends,
)
from roundtui.domain.season.models import FROM_BIOFIX, SpeciesModel, model_for
from roundtui.domain.season.outlook import Outlook
from roundtui.domain.season.season import Biofix, BiofixRow, season_outlook
from roundtui.domain.season.weather import DegreeDaySum
from roundtui.domain.text import plain
from roundtui.domain.visits import StageSeen
from roundtui.errors import RoundtuiError

if TYPE_CHECKING:
    from roundtui.domain.figures.rules import Office
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
    cells: Mapping[Key, Cell]
    """Every figure, those withheld too."""

    def catch(self, species: str, week: date) -> Cell:
        """Catch of a species in a week."""
        return self.cells["catch", species, week]

    @property
    def newest(self) -> date:
        """Last day of the newest week."""
        return self.weeks[-1]


@dataclass(frozen=True, slots=True)
class StationSeason:
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
    office: LettersOffice
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
    from roundtui.store.figures.summary import summary_of
    from roundtui.store.reports.letters import area_weekday, read_letters_office, released, stages_seen
    from roundtui.store.season.season import SeasonRecord

    season = SeasonRecord(conn, folder, on, office)
    letters = read_letters_office(folder, season.programme.farms)
    weekday = _weekday(letters, area_weekday(conn, season.season), on)
    weeks = week_ends(season.first, on, weekday)
    if not weeks:
        raise RoundtuiError(
            f"no week of the season is over on {on.isoformat()}",
            f"the first one ends on a {WEEKDAYS[weekday].capitalize()}",
        )
    figures = {
        **catch_figures(season.programme, season.series, weeks),
        **stage_figures(season.programme, stages_seen(conn, window_start(weeks[-1]), weeks[-1]), weeks[-1]),
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


def _weekday(office: LettersOffice, kept: int | None, on: date) -> int:
    if kept is None:
        return on.weekday() if office.week_ends is None else office.week_ends
    if office.week_ends not in {None, kept}:
        raise RoundtuiError(
            f"letters.toml ends the area's weeks on another day than {WEEKDAYS[kept].capitalize()}, on which they "
            "end since the first update of this season",
            "change it for the next season: overlapping weeks could show one farm",
        )
    return kept


def _questions(summary: Summary) -> tuple[str, ...]:
    unlikely = [f"{plain(row.trap, 20)} has an unlikely {row.count}" for row in summary.unlikely]
    return (*unlikely, *(f"two readings of {plain(row.trap, 20)} disagree" for row in summary.conflicts))


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
    by_farm: dict[tuple[str, str], list[Sequence[Series]]] = {}
    for (block, species), group in groups.items():
        inside = [one for one in group if not one.hanging.edge]
        by_farm.setdefault((species, programme.farm_of(block)), []).append(inside)
    for (species, farm), blocks in by_farm.items():
        for week in weeks:
            traps = [trap for inside in blocks for trap in block_figure(inside, week).traps]
            key = ("catch", species, week)
            found.setdefault(key, [])
            if traps:
                rough = sum(1 for trap in traps if estimates_in(trap.readings))
                longest = max(sum(reading.days or 0 for reading in trap.readings) for trap in traps)
                step = Fraction(7, longest * len(traps))
                value = mean([trap.per_week for trap in traps])
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
    codes: dict[tuple[str, str], list[Fraction]] = {}
    for block, code in newest.items():
        known = programme.blocks.get(block)
        if known is not None and known.farm:
            codes.setdefault((known.crop.casefold(), known.farm), []).append(Fraction(int(code)))
    found: dict[Key, list[FarmFigure]] = {}
    for (crop, farm), values in codes.items():
        found.setdefault(("stage", crop, week), []).append(
            FarmFigure(farm, middle(values), grower=grower_of(programme, farm))
        )
    return found


def biofix_figures(programme: Programme, rows: Iterable[BiofixRow], first: date) -> dict[Key, list[FarmFigure]]:
    """Middle confirmed biofix of each farm's blocks, as the number of its day.

    Args:
        programme: For the farm of each block.
        rows: Biofixes of all blocks.
        first: First day of the season.
    """
    days: dict[tuple[str, str], list[Fraction]] = {}
    for row in rows:
        if row.biofix.confirmed is not None:
            key = (f"{row.species}/{row.biofix.generation}", programme.farm_of(row.block))
            days.setdefault(key, []).append(Fraction(row.biofix.confirmed.toordinal()))
    found: dict[Key, list[FarmFigure]] = {}
    for (what, farm), values in days.items():
        found.setdefault(("biofix", what, first), []).append(
            FarmFigure(farm, middle(values), grower=grower_of(programme, farm))
        )
    return found


def area_cells(
    figures: Mapping[Key, Sequence[FarmFigure]],
    weeks: tuple[date, ...],
    weekday: int,
    declined: frozenset[str],
    before: Mapping[Key, Cell],
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
        how = middle if key[0] == "stage" else mean
        cells[key] = release(*key, found, declined=declined, before=before.get(key), how=how)
    for key, cell in before.items():
        if key[0] == "biofix" or key[2] in weeks:
            cells.setdefault(key, cell)
    species = sorted({what for kind, what, _ in cells if kind == "catch"})
    for one in species:
        for week in weeks:
            cells.setdefault(("catch", one, week), Cell(kind="catch", what=one, week_ends=week))
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
    shown = sorted((code for code in farms if enough(growers[code], declined)), key=natural_key)
    found: dict[str, tuple[StationSeason, ...]] = {}
    for species in cells.species:
        model = model_for(season.season_office.models, species)
        if model is not None:
            biofixes = area_biofixes(cells, species, season.first)
            found[species] = tuple(_station(season, code, model, biofixes) for code in shown)
    return found, len(farms) - len(shown)


def area_biofixes(cells: AreaCells, species: str, first: date) -> tuple[Biofix, ...]:
    """The area's biofixes of a species, as far as they were released."""
    found = []
    for generation in range(1, 10):
        cell = cells.cells.get(("biofix", f"{species}/{generation}", first))
        if cell is None or cell.value is None:
            break
        found.append(Biofix(generation, None, date.fromordinal(round(cell.value))))
    return tuple(found)


def _station(season: SeasonRecord, code: str, model: SpeciesModel, biofixes: tuple[Biofix, ...]) -> StationSeason:
    known = season.programme.stations.get(code)
    outlooks: tuple[Outlook, ...] = ()
    if model.starts != FROM_BIOFIX or biofixes:
        years = season.years_of(code, model.development)
        outlooks = season_outlook(model, years, biofixes, on=season.on, season_ends=season.last)
    total = season.sum_of(code, model.development, season.first, season.on)
    return StationSeason(known.name if known and known.name else code, model, total, outlooks)
