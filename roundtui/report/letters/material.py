"""Words of a letter: statuses in plain words, days, rates, trends.

What letters are made from, read once for all farms: the day's summary, that of a year ago, and the seasons.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from fractions import Fraction
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from roundtui.domain.figures.figures import Series, window_start
from roundtui.domain.figures.history import History, Observations, season_start
from roundtui.domain.figures.learned import again
from roundtui.domain.figures.treatments import NOTIFIED_DAYS, Treated, treated_in
from roundtui.domain.figures.verdicts import BlockRow, Status, Summary
from roundtui.domain.programme.farm import Programme, Trap, grouped, natural_key
from roundtui.domain.programme.species import SPECIES
from roundtui.domain.publication import LettersOffice
from roundtui.domain.season.season import BiofixRow, OutlookRow
from roundtui.domain.season.years import Years
from roundtui.domain.traps.assembly import SeriesChange, series_changes
from roundtui.report import text
from roundtui.report.letters.letter import Figure, Line, Place, line
from roundtui.report.text import WORDS, as_name

if TYPE_CHECKING:
    from roundtui.domain.figures.rules import Office
    from roundtui.domain.sampling.findings import SampleRow

STATUSES = {Status(word): words for word, _, _, words, _ in WORDS["status"]}
"""A status in the words of a letter."""
MEANINGS = {Status(word): meaning for word, *_, meaning in WORDS["status"]}
"""What a status says, and what it does not."""
HOW_SURE = (
    "how sure",
    "Few traps show a catch only roughly; this is what many traps here would likely have said this week. Not worked "
    "out is not sure. The status is the rule's and stays; this is no advice to act or to wait.",
)
"""What it says how sure a status is, and what it does not."""
NOTE_WIDTH = 300
"""Longest note of a scout in a letter; the whole of it is on record. [columns]"""


def pest(code: str) -> str:
    """Common name of a species in mid-sentence; its code where nobody knows it."""
    known = SPECIES.get(code)
    return known.name if known else as_name(code)


def species_name(code: str) -> str:
    """The same with a capital."""
    name = pest(code)
    return name[:1].upper() + name[1:]


def insects(code: str) -> str:
    """What is counted in its trap, in the plural."""
    known = SPECIES.get(code)
    return known.insects if known else "insects"


def event_name(name: str) -> str:
    """An event of a life cycle; the ends of a published range in plain words."""
    shown = as_name(name)
    return shown.replace(" (earliest published)", ", at the earliest").replace(" (latest published)", ", at the latest")


def flight(generation: int) -> str:
    """A generation as its flight, in words."""
    words = ("first", "second", "third", "fourth")
    return f"{words[generation - 1]} flight" if 0 < generation <= len(words) else f"flight {generation}"


def day(on: date) -> str:
    """A day with its weekday and year, as Mon 14 Jul 2025."""
    return f"{short_day(on)} {on.year}"


def short_day(on: date) -> str:
    """A day of this year, as Mon 14 Jul."""
    return f"{on:%a} {on.day} {on:%b}"


def day_figure(on: date, place: Place) -> Figure:
    """A day as a figure."""
    return Figure(day(on), on, place)


def short_figure(on: date, place: Place) -> Figure:
    """A day of this year as a figure."""
    return Figure(short_day(on), on, place)


def count(value: int, place: Place) -> Figure:
    """A whole number as a figure."""
    return Figure(str(value), value, place)


def rate(value: Fraction | None, place: Place, edges: tuple[Fraction, ...] = ()) -> Figure:
    """A rate as a figure, rounded so that it stays on its side of the band."""
    return Figure(text.figure(value, edges), value, place)


def trend(now: Figure, before: Figure, when: Line) -> Line:
    """How a catch stands against an earlier one.

    Args:
        now: The catch.
        before: The earlier one.
        when: When that was.
    """
    if before.value is None:
        return line("no figure ", *when.parts)
    if not isinstance(now.value, Fraction) or not isinstance(before.value, Fraction):
        return line(before, " ", *when.parts)
    if now.text == before.text:
        word = "unchanged from" if now.value == before.value else "much as"
    else:
        word = "up from" if now.value > before.value else "down from"
    return line(f"{word} ", before, " ", *when.parts)


Key = tuple[str, str]
"""Block and species."""
MOST_PAST = 2
"""Seasons on record beside which a letter lays this one, the newest."""
A_YEAR = timedelta(days=364)
"""A year back to the same weekday, on which rounds are walked. [d]"""


@dataclass(frozen=True)
class Material:
    """Everything that the letters of one day share."""

    summary: Summary
    """Summary of the day."""
    last_year: Summary
    """Summary of the same weekday a year before."""
    programme: Programme
    """What is set up."""
    history: History
    """The record of the season."""
    series: Mapping[Key, Sequence[Series]]
    """Readings of this season by block and species."""
    series_before: Mapping[Key, Sequence[Series]]
    """Those of the season before, up to the day a year ago."""
    biofixes: Mapping[Key, Sequence[BiofixRow]]
    """Biofixes by block and species."""
    outlooks: Mapping[Key, Sequence[OutlookRow]]
    """Events by block and species."""
    observations: Observations
    """What stands beside the counts of the season."""
    season_starts_on: tuple[int, int]
    """Month and day on which seasons start."""
    years: Mapping[Key, Years] = field(default_factory=dict)
    """This season beside those before, by calendar, by block and species."""
    seasons: tuple[int, ...] = ()
    """Years whose seasons hold a reading, up to this one, oldest first."""
    office: LettersOffice = field(default_factory=LettersOffice)
    """Who writes."""
    invented: tuple[str, ...] = ()
    """Rules, models and letterheads that are invented, outside the demo."""
    samples: tuple[SampleRow, ...] = ()
    """Leaf and fruit samples of the season, with what they show."""
    due: Mapping[str, date] = field(default_factory=dict)
    """Day by which a trap is to be visited, where the office asks for an interval."""

    @property
    def on(self) -> date:
        """Last of the seven days."""
        return self.summary.on

    @property
    def first(self) -> date:
        """First of the seven days."""
        return window_start(self.on)

    @property
    def season_first(self) -> date:
        """First day of the season."""
        return season_start(self.on, self.season_starts_on)

    @cached_property
    def rows(self) -> Mapping[str, Sequence[BlockRow]]:
        """Blocks of the summary by farm, over the band first."""
        return grouped([(row.farm, row) for row in self.summary.blocks])

    @cached_property
    def rows_before(self) -> Mapping[Key, BlockRow]:
        """Blocks of a year ago."""
        return {(row.block, row.species): row for row in self.last_year.blocks}

    @cached_property
    def treated(self) -> Mapping[Key, Sequence[Treated]]:
        """Treatments of the last weeks with the catch before and since, by block and species."""
        observations = self.observations
        found = treated_in(
            self.programme,
            self.history,
            observations.treatments,
            self.on,
            against=observations.untreated,
            days=NOTIFIED_DAYS,
        )
        return grouped([((one.watch.block, one.watch.species), one) for one in found])

    @cached_property
    def traps(self) -> Mapping[str, Sequence[Trap]]:
        """Traps that hung in the seven days, by farm, in the order of their labels."""
        found = [
            (self.programme.farm_of(row.block), row)
            for rows in self.programme.hangings.values()
            for row in rows
            if row.hung_a_night_in(self.first, self.on)
        ]
        return grouped(sorted(found, key=lambda pair: (natural_key(pair[1].block), natural_key(pair[1].trap))))

    @cached_property
    def series_changes(self) -> Mapping[Key, Sequence[SeriesChange]]:
        """Traps moved, added, taken down or hung again this season, by block and species."""
        found = series_changes(self.programme, self.season_first, self.on)
        return grouped([((one.block, one.species), one) for one in found])

    def as_told(self, rests_on: Mapping[str, Sequence[float]]) -> Material:
        """The same, as sure as an earlier letter of the day was: what was learned of other blocks since changes none.

        Args:
            rests_on: Scatter, middle and spread of what was usual then, by block and species as ``sure_of`` has them.
        """
        blocks = tuple(
            replace(row, sure=again(row.sure, rests_on[name], row.band, row.status))
            if row.sure is not None and row.band is not None and (name := f"{row.block} {row.species}") in rests_on
            else row
            for row in self.summary.blocks
        )
        return replace(self, summary=replace(self.summary, blocks=blocks))

    def sure_of(self, farm: str) -> dict[str, tuple[float, float, float]]:
        """What it rests on how sure a letter is, by block and species.

        Args:
            farm: Code of the farm.
        """
        return {f"{row.block} {row.species}": row.sure.rests_on for row in self.rows.get(farm, ()) if row.sure}

    @property
    def farms(self) -> tuple[str, ...]:
        """Farms that get a letter: those with a trap hanging in the seven days."""
        return tuple(sorted(self.rows, key=natural_key))


def read_material(
    conn: sqlite3.Connection, folder: Path, on: date, office: Office, *, farms: Collection[str] | None = None
) -> Material:
    """Read what the letters of a day are made from.

    Args:
        conn: The store.
        folder: The scouting folder.
        on: Last of the seven days.
        office: Rules, and when the season starts.
        farms: Codes of the farms whose letters are wanted: years, biofixes and outlooks of others are left out, which
            take longest to read. None: all.

    Raises:
        RoundtuiError: The store, or a file of the office, cannot be used.
    """
    from roundtui.domain.sampling.findings import sample_row, sample_table
    from roundtui.store.figures.summary import summary_of
    from roundtui.store.invented import invented
    from roundtui.store.inventory import visits_due
    from roundtui.store.reports import read_letters_office
    from roundtui.store.season.season import SeasonRecord
    from roundtui.store.season.years import YearsRecord

    seasons = YearsRecord(conn, folder, on, office)
    season = seasons.now
    letters_office = read_letters_office(folder, season.programme.farms)
    made = summary_of(conn, office, on, programme=season.programme, record=season.history)
    table = sample_table(office)
    before = SeasonRecord(conn, folder, on - A_YEAR, office)
    keys = [(row.block, row.species) for row in made.summary.blocks if farms is None or row.farm in farms]
    hung = [key for key in season.series if farms is None or season.programme.farm_of(key[0]) in farms]
    return Material(
        summary=made.summary,
        last_year=summary_of(
            conn, office, before.on, programme=before.programme, record=before.history, how_sure=False
        ).summary,
        programme=made.programme,
        history=made.history,
        series=season.series,
        series_before=before.series,
        biofixes={key: season.biofixes(*key) for key in hung},
        outlooks=grouped([((row.block, row.species), row) for row in season.outlook_rows(hung)]),
        observations=made.observations,
        season_starts_on=office.season_starts_on,
        years={key: seasons.of(*key, most_past=MOST_PAST) for key in keys},
        seasons=seasons.seasons,
        office=letters_office,
        invented=invented(conn, office, season.season_office, letters_office),
        samples=tuple(sample_row(sample, table) for sample in made.observations.samples),
        due=visits_due(conn, folder, on, office),
    )
