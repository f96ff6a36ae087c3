"""The area update as a value: released figures and what can be worked out from them, and a word on what is withheld.

The area update as a page and as a text, and on disk. What it says is kept before anybody can read it.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

from roundtui.domain.figures.figures import window_start
from roundtui.domain.programme.cautions import AREA_CAUTIONS
from roundtui.domain.programme.stages import stage_name
from roundtui.domain.publication import FEWEST_GROWERS, Cell
from roundtui.domain.season.outlook import EventOutlook
from roundtui.domain.text import plain
from roundtui.report import text as numbers
from roundtui.report.charts import Chart, Panel
from roundtui.report.charts import Line as Curve
from roundtui.report.letters.area import Area, StationSeason
from roundtui.report.letters.compose import note_lines
from roundtui.report.letters.files import put
from roundtui.report.letters.forms import inline
from roundtui.report.letters.letter import Figure, Line, Picture, Place, line
from roundtui.report.letters.words import (
    count,
    day_figure,
    event_name,
    insects,
    short_day,
    short_figure,
    species_name,
    trend,
)
from roundtui.report.text import NAME_WIDTH
from roundtui.store.reports.letters import keep_released

if TYPE_CHECKING:
    from roundtui.report.letters.area import Area
    from roundtui.report.letters.template import Templates

WITHHELD = "withheld"
"""What stands in place of a figure that would give a farm away."""
MOST_EVENTS = 4
"""Events to come of each species and station."""
RECENT_DAYS = 10
"""Days for which an event that came is still told. [d]"""
_LEAST_DAYS = 120
_BLOCKS = {
    frozenset(): "",
    frozenset({False}): "blocks without mating disruption",
    frozenset({True}): "disrupted blocks only, where traps catch little",
    frozenset({False, True}): "blocks with and without mating disruption together",
}
_NO_PLACE: Place = ("area",)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeciesNews:
    """What an update says of one species."""

    name: str
    """Common name."""
    code: str
    """The trade's abbreviation."""
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


@dataclass(frozen=True, slots=True, kw_only=True)
class AreaUpdate:
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
        area=plain(office.area or office.name, 80) or "Area",
        sender=tuple(plain(words, 120) for words in (office.name, office.address, office.phone, office.email) if words),
        first=day_figure(window_start(area.cells.newest), _NO_PLACE),
        week_ends=day_figure(area.cells.newest, _NO_PLACE),
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
    if now.value is not None and before is not None and before.value is not None and now.farms != before.farms:
        against = line("other farms than the week before, so no comparison")
    elif now.value is not None and before is not None and before.value is not None:
        against = trend(
            _catch(now.value, place),
            _catch(before.value, (*place[:3], before.week_ends.isoformat())),
            line("the week before"),
        )
    else:
        against = line("no comparison with the week before")
    stations = area.stations.get(code, ())
    return SpeciesNews(
        name=species_name(code),
        code=plain(code, NAME_WIDTH),
        catch=_catch(now.value, place) if now.value is not None else Figure(WITHHELD, None, place),
        farms=count(len(now.farms), place) if now.released else Figure(numbers.NONE, None, place),
        traps=count(now.traps, place) if now.released else Figure(numbers.NONE, None, place),
        blocks=_BLOCKS[area.disrupted.get(code, frozenset())] if now.released else "",
        estimated=_estimated(now, place),
        trend=against,
        curve=_curve(code, cells),
        biofix=tuple(_biofixes(area, code)),
        degree_days=tuple(_degree_days(area, one) for one in stations),
        coming=tuple(words for one in stations for words in _coming(area, one)),
    )


def _estimated(cell: Cell, place: Place) -> Line | None:
    if not cell.released or not cell.estimated:
        return None
    are = "rests on an estimated count" if cell.estimated == 1 else "rest on estimated counts"
    return line(count(cell.estimated, place), f" of the traps {are}")


def _catch(value: Fraction, place: Place) -> Figure:
    """A catch as it is printed: whole moths, and no more anywhere else."""
    return Figure(f"{int(value)}" if value else "under 1", value, place)


def _curve(code: str, cells: Sequence[Cell]) -> Picture | None:
    pieces: list[list[tuple[date, float]]] = [[]]
    for cell in cells:
        if cell.value is None:
            pieces.append([])
        else:
            pieces[-1].append((cell.week_ends, float(cell.value)))
    points = [point for piece in pieces for point in piece]
    if not points:
        return None
    first = points[0][0] - timedelta(days=6)
    last = max(points[-1][0], first + timedelta(days=_LEAST_DAYS))
    highest = max(points, key=lambda point: point[1])
    title = f"{species_name(code)}: flight of the area"
    alt = (
        f"{title}, {insects(code)} a trap and week, mean of farms, from {short_day(points[0][0])} to "
        f"{short_day(points[-1][0])}. Highest {highest[1]:.0f} in the week to {short_day(highest[0])}, "
        f"last {points[-1][1]:.0f}, in whole moths; 0 is under 1."
    )
    lines = (Curve(str(points[-1][0].year), tuple(tuple(piece) for piece in pieces if piece)),)
    return Picture(title, alt, Chart(title, alt, first, last, (Panel(f"{insects(code)} a trap and week", lines),)))


def _biofixes(area: Area, code: str) -> list[Line]:
    found = []
    for generation in range(1, 10):
        cell = area.cells.cells.get(("biofix", f"{code}/{generation}", area.season_first))
        if cell is None or cell.value is None:
            break
        place: Place = ("area", "biofix", f"{code}/{generation}")
        on = day_figure(date.fromordinal(round(cell.value)), place)
        found.append(
            line(
                f"Biofix of generation {generation}: about ",
                on,
                ", the mean of ",
                count(len(cell.farms), place),
                " farms.",
            )
        )
    return found


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
        return line(f"{plain(one.station, NAME_WIDTH)}: no temperatures.")
    return line(
        f"{plain(one.station, NAME_WIDTH)}: ", total, words, short_figure(area.season_first, place), f"{stopped}."
    )


def _coming(area: Area, one: StationSeason) -> list[Line]:
    events = [event for view in one.outlooks if not view.provisional for event in view.events]
    came = [
        event for event in events if event.reached_on is not None and (area.on - event.reached_on).days <= RECENT_DAYS
    ]
    ahead = sorted((e for e in events if e.expected_on is not None), key=lambda e: e.expected_on or date.max)
    return [_event(one, event) for event in (*came, *ahead[:MOST_EVENTS])]


def _event(one: StationSeason, event: EventOutlook) -> Line:
    place: Place = ("area", "outlook", one.station, event.event.name)
    head = event_name(event.event.name)
    head = head[:1].upper() + head[1:] + (f", generation {event.generation}" if event.generation > 1 else "")
    where = plain(one.station, NAME_WIDTH)
    if event.reached_on is not None:
        return line(f"{head}, {where}: reached on ", short_figure(event.reached_on, place), ".")
    parts: list[str | Figure] = [
        f"{head}, {where}: about ",
        short_figure(event.expected_on or date.max, place),
    ]
    if event.earliest is not None and event.latest is not None:
        parts += [", from ", short_figure(event.earliest, place), " to ", short_figure(event.latest, place)]
    return line(*parts, ".")


def _stages(area: Area) -> list[Line]:
    found = []
    for crop in area.cells.crops:
        cell = area.cells.cells.get(("stage", crop, area.cells.newest))
        if cell is None or cell.value is None:
            continue
        code = f"{int(cell.value):02}"
        name = stage_name(crop, code)
        place: Place = ("area", "stage", crop)
        found.append(
            line(
                f"{plain(crop, NAME_WIDTH).capitalize()}: BBCH ",
                Figure(code, code, place),
                f"{f', {name}' if name else ''}, the middle of ",
                count(len(cell.farms), place),
                " farms.",
            )
        )
    return found


def _withheld(area: Area) -> list[str]:
    """What is withheld; how many farms stand behind it is not said, nor their traps."""
    found = []
    newest = area.cells.newest
    catch = [species_name(code) for code in area.cells.species if not area.cells.catch(code, newest).released]
    if catch:
        found.append(f"Catch of this week: {numbers.listed(catch)}.")
    past = [
        species_name(code)
        for code in area.cells.species
        if any(not area.cells.catch(code, week).released for week in area.cells.weeks[:-1])
    ]
    if past:
        found.append(f"Single weeks before: {numbers.listed(past)}.")
    crops = [plain(crop, NAME_WIDTH) for crop in area.cells.crops if not _stage_shown(area, crop)]
    if crops:
        found.append(f"Fruit stage: {numbers.listed(crops)}.")
    biofix = {
        key[1].split("/")[0] for key, cell in area.cells.cells.items() if key[0] == "biofix" and not cell.released
    }
    if biofix:
        found.append(
            f"A biofix, and the dates that follow from it: {numbers.listed(map(species_name, sorted(biofix)))}."
        )
    if area.stations_withheld:
        found.append("Degree-days of stations that few farms use.")
    if found:
        found.insert(
            0,
            f"Fewer than {FEWEST_GROWERS} growers stand behind these, or one of them makes up most of it, so that they "
            "would tell of one farm. A week in which nobody was read counts among them.",
        )
    found.append(
        "Catches are in whole moths. A published week is never changed, since the difference would show one farm."
    )
    return found


def _stage_shown(area: Area, crop: str) -> bool:
    cell = area.cells.cells.get(("stage", crop, area.cells.newest))
    return cell is not None and cell.released


def update_html(update: AreaUpdate, templates: Templates) -> str:
    """An update as one page that needs nothing beside it.

    Args:
        update: The update.
        templates: Templates of the folder.
    """
    return templates.html("update.html", _values(update))


def update_text(update: AreaUpdate, templates: Templates) -> str:
    """An update as plain text.

    Args:
        update: The update.
        templates: Templates of the folder.
    """
    return templates.text("update.txt", _values(update))


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
    contents = {".html": update_html(update, templates), ".txt": update_text(update, templates)}
    keep_released(conn, area.season_first.year, area.cells.weekday, area.cells.cells.values())
    found = []
    for ending, content in contents.items():
        path = to / f"area-update-{area.cells.newest.isoformat()}{ending}"
        put(path, content.encode())
        found.append(path)
    return tuple(found)


def _values(update: AreaUpdate) -> Mapping[str, Any]:
    return {
        "update": update,
        "picture": inline,
        "curves": [one.curve for one in update.species if one.curve is not None],
    }
