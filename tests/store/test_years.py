"""Years of the sample beside each other: every figure is that of the summary of its day."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from roundtui.domain.entries import Visit
from roundtui.domain.figures.verdicts import Status
from roundtui.domain.season.years import By
from roundtui.store.connect import open_store
from roundtui.store.figures.summary import summary_of
from roundtui.store.folder import open_folder
from roundtui.store.office import read_office
from roundtui.store.record.journal import Author, record
from roundtui.store.season.years import YearsRecord
from tests.conftest import MakeFolder, ready_demo

EVENING = datetime(2025, 7, 15, 18, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def farm(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return ready_demo(tmp_path_factory.mktemp("years") / "farm").folder


@pytest.fixture(scope="module")
def conn(farm: Path) -> Iterator[sqlite3.Connection]:
    with closing(open_store(farm, now=EVENING)) as conn:
        yield conn


@pytest.fixture(scope="module")
def years(farm: Path, conn: sqlite3.Connection) -> YearsRecord:
    return YearsRecord(conn, farm, date(2025, 7, 15), read_office(farm))


def test_the_area_is_the_same_where_one_past_season_is_held_at_a_time(
    years: YearsRecord, farm: Path, conn: sqlite3.Connection, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = years.of("", "OBLR")
    monkeypatch.setattr("roundtui.store.season.years.KEPT_VISITS", 0)
    large = YearsRecord(conn, farm, date(2025, 7, 15), read_office(farm))
    assert whole == large.of("", "OBLR")
    assert len(whole.seasons) > 1
    assert not large._past


@pytest.mark.parametrize(
    ("block", "species"),
    [("GATE", "CM"), ("BARN", "OBLR"), ("RISE", "OFM")],
)
def test_every_round_of_every_season_is_as_its_summary_said(
    years: YearsRecord, farm: Path, conn: sqlite3.Connection, block: str, species: str
) -> None:
    """Rules of every kind, a disrupted block with strong lures, a scented body, an edge trap, swapped lures."""
    office = read_office(farm)
    for year in years.of(block, species).seasons:
        points = {point.on: point for point in year.points}
        for judged in year.judged[::4]:
            summary = summary_of(conn, office, judged.on, how_sure=False).summary
            (row,) = [row for row in summary.blocks if (row.block, row.species) == (block, species)]
            assert (judged.on, judged.status) == (judged.on, row.status)
            if judged.on in points:
                assert points[judged.on].per_week == row.mean_per_week
                assert points[judged.on].total == row.cumulative
        over = {one.on.isocalendar()[:2] for one in year.judged if one.status is Status.OVER}
        assert year.weeks_over == len(over)


def test_a_moved_trap_is_named_and_its_block_not_compared(years: YearsRecord) -> None:
    found = years.of("KILN", "OFM")
    assert [one.why_not for one in found.against] == [("K5 was moved on 2025-06-10",)] * 2
    assert found.now is not None
    assert [point.on for point in found.now.points if point.begins] == [date(2025, 6, 17)]


def test_a_block_with_the_same_traps_is_compared(years: YearsRecord) -> None:
    found = years.of("GATE", "CM")
    assert [year.season for year in found.seasons] == [2023, 2024, 2025]
    assert [one.season for one in found.against if one.comparable] == [2024, 2023]
    assert [one.on for one in found.against] == [date(2024, 7, 14), date(2023, 7, 14)]


def test_by_degree_days_each_season_counts_from_its_own_biofix(years: YearsRecord) -> None:
    found = years.of("GATE", "CM", By.DEGREE_DAYS)
    for year in found.seasons:
        (row,) = [r for r in years.season(year.season).biofixes("GATE", "CM") if r.biofix.generation == 1]
        assert year.biofix == row.biofix.on
        assert year.biofix is not None
        assert year.accumulated[year.biofix] == pytest.approx(min(year.accumulated.values()))
        places = [point.at for point in year.points if point.at is not None]
        assert places == sorted(places)
        assert all(point.at is None for point in year.points if point.on < year.biofix)
    now = found.now
    assert now is not None
    for one in found.against:
        past = next(year for year in found.seasons if year.season == one.season)
        assert one.on is not None
        before = past.accumulated[date.fromordinal(one.on.toordinal() - 1)]
        assert before < (now.points[-1].at or 0) <= past.accumulated[one.on]


def test_the_area_takes_every_block_together(years: YearsRecord) -> None:
    area = years.of("", "CM")
    blocks = [years.of(block, species) for block, species in years.now.series if species == "CM"]
    for at, year in enumerate(area.seasons):
        assert year.weeks_over == sum(one.seasons[at].weeks_over for one in blocks)
        assert {place.trap for place in year.places} == {p.trap for one in blocks for p in one.seasons[at].places}
        firsts = [one.seasons[at].caught.first for one in blocks]
        assert year.caught.first == min(first for first in firsts if first)


def test_a_species_that_nobody_traps_has_no_seasons(years: YearsRecord) -> None:
    found = years.of("GATE", "AM")
    assert (found.seasons, found.against, found.now) == ((), (), None)


def test_an_old_season_can_be_looked_at_as_if_it_were_the_last(years: YearsRecord) -> None:
    past = years.ending(2024)
    assert past.seasons == (2023, 2024)
    assert past.of("GATE", "CM").seasons[-1].total == years.of("GATE", "CM").seasons[-2].total


def test_farms_add_up_to_the_programme(years: YearsRecord) -> None:
    past = years.ending(2024)
    whole, *farms = past.ends(["", *past.now.programme.farms])
    for what in ("traps", "readings", "moths", "liners", "kill_strips", "bodies", "weeks_over"):
        assert getattr(whole, what) == sum(getattr(one, what) for one in farms), what
    assert dict(whole.rounds) == {"north": 26, "south": 26}
    assert sum(len(one.blocks) for one in farms) == len(whole.blocks)
    assert whole.traps == 48


def test_a_season_under_way_stands_beside_the_other_up_to_the_same_day(years: YearsRecord) -> None:
    (end,) = years.ends(["PELL"])
    (gate,) = [row for row in end.blocks if (row.block, row.species) == ("GATE", "CM")]
    assert gate.last_total == years.of("GATE", "CM").seasons[-2].total_on(date(2024, 7, 15))
    assert gate.last_total != years.of("GATE", "CM").seasons[-2].total


def test_a_round_is_judged_by_the_lures_of_its_day(make_folder: MakeFolder) -> None:
    """An office rule for lures of 1 mg, as the one that ships: moths caught with 10 mg lures have none."""
    rule = 'id = "a"\nspecies = "CM"\nkind = "mean"\nlow = 50\nhigh = 60\nload_mg = [1, 1]\n'
    rule += 'source = "x"\ndate = 2026-01-01'
    folder = make_folder(
        lures="lot,species,load_mg\nWEAK,CM,1\nSTRONG,CM,10\n",
        traps="trap,block,species,hung_on,down_on,lot\nA1,N,CM,2025-05-05,2025-07-14,WEAK\n",
        routes=None,
        thresholds=f"[[rule]]\n{rule}\n",
    )
    with closing(open_folder(folder, now=EVENING).conn) as conn:
        for week in range(8):
            lure = {3: "STRONG", 6: "WEAK"}.get(week)
            day = date(2025, 5, 12) + timedelta(weeks=week)
            record(conn, [Visit(trap="A1", read_on=day, count=6, lure=lure)], Author("Ada", "truck"), EVENING)
        office = read_office(folder)
        (year,) = YearsRecord(conn, folder, date(2025, 7, 15), office).of("N", "CM").seasons
        said = [
            next(row.status for row in summary_of(conn, office, one.on).summary.blocks if row.block == "N")
            for one in year.judged
        ]
    assert [one.status for one in year.judged] == said
    # A lure acts after the count of its visit.
    assert said == [Status.BELOW] * 4 + [Status.NO_RULE] * 3 + [Status.BELOW]
