"""The sample's seasons as pictures: what stands in them, in words and in places."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from datetime import date
from pathlib import Path
from xml.etree import ElementTree

import pytest

from roundtui.report.charts import svg, write_pictures
from roundtui.report.season.chart import Picture, other_year, picture_of, season_chart, traps_of
from roundtui.report.season.season import biofix_words, event_words, point_words
from roundtui.store.connect import open_store
from roundtui.store.demo import Demo
from roundtui.store.office import read_office
from roundtui.store.season.season import SeasonRecord
from tests.sample.conftest import NOW

Sample = Callable[..., Picture]


@pytest.fixture(scope="module")
def records(demo: Demo) -> Iterator[Callable[[str], SeasonRecord]]:
    """The sample's season as of a day."""
    with closing(open_store(demo.folder, now=NOW)) as conn:
        found: dict[str, SeasonRecord] = {}

        def of(day: str) -> SeasonRecord:
            if day not in found:
                found[day] = SeasonRecord(conn, demo.folder, date.fromisoformat(day), read_office(demo.folder))
            return found[day]

        yield of


@pytest.fixture
def sample(records: Callable[[str], SeasonRecord]) -> Sample:
    """A block and species as a picture."""

    def at(block: str, species: str, on: str = "2025-07-15", trap: str = "") -> Picture:
        record = records(on)
        observations = [other_year(records(f"{year}-12-31"), (block, species)) for year in (2023, 2024)]
        return picture_of(record, (block, species), trap, [one for one in observations if one])

    return at


def test_the_point_under_the_cursor_has_the_figure_of_that_days_summary(sample: Sample) -> None:
    """Gate Block on the edge: 8 in 7 days, 10 in 12, 1 in 6 are exactly 5 a week over three traps."""
    picture = sample("GATE", "CM")
    words = point_words(picture.points[-1], picture.season)
    assert words.startswith("Mon 14 Jul 2025  5.0 a trap a week: 19 moths, 3 traps, 6–12 days; highest G1 8.0")


def test_the_newest_round_says_how_sure_its_status_is_and_no_other_does(sample: Sample) -> None:
    """Of one trap nothing is said, nor of a season that is over."""
    mill = sample("MILL", "CM")
    sure = "; over by the rule; how sure: likely, 7 in 10; many traps "
    assert sure in point_words(mill.points[-1], mill.season)
    assert " in 10" not in point_words(mill.points[-2], mill.season)
    assert " in 10" not in point_words(sample("MILL", "CM", trap="M1").points[-1], mill.season)
    past = sample("MILL", "CM", "2024-12-31")
    assert " in 10" not in point_words(past.points[-1], past.season)


def test_suspect_and_disputed_weeks_bear_another_mark_and_are_named(sample: Sample) -> None:
    """R2 and R3 held a wrong lure; B5 was read by two scouts."""
    rise, barn = sample("RISE", "CM"), sample("BARN", "OBLR")
    spots = {spot.on: spot.sign for spot in season_chart(rise).panels[0].spots}
    assert (spots[date(2025, 6, 9)], spots[date(2025, 7, 14)]) == ("o", "!")
    assert "suspect R2 and R3" in point_words(rise.points[-1], rise.season)
    assert "two counts of B5" in point_words(barn.points[-1], barn.season)
    assert season_chart(barn).legend()[1] == ("!", "in doubt")


def test_a_moved_trap_breaks_the_curve_on_its_day(sample: Sample) -> None:
    """K5 moved within KILN on 10 June; the other years stand unbroken beside it."""
    chart = season_chart(sample("KILN", "OFM"))
    assert chart.breaks == (date(2025, 6, 10),)
    *observations, own = chart.panels[0].lines
    assert [line.name for line in observations] == ["2023", "2024"]
    assert all(first[-1][0] <= date(2025, 6, 10) < second[0][0] for first, second in [own.pieces[:2]])


def test_a_band_stands_only_where_it_can_be_compared(sample: Sample) -> None:
    """The office's rule for leafrollers is a sum since hanging, 30 to 60: no level on a scale of weeks."""
    assert season_chart(sample("MILL", "OBLR")).panels[0].band is None
    band = season_chart(sample("KILN", "OFM")).panels[0].band
    assert band is not None
    assert band.words == "threshold 10–15 for any one trap (not the mean), rule ofm-one-trap"


def test_other_years_stand_on_the_same_calendar_days(sample: Sample) -> None:
    chart = season_chart(sample("KILN", "CM"))
    for panel in chart.panels:
        assert {line.name for line in panel.lines if line.past} == {"2023", "2024"}
        for line in panel.lines:
            assert {on.year for piece in line.pieces for on, _ in piece} == {2025}


def test_events_stand_in_one_lane_as_reached_or_expected(sample: Sample) -> None:
    picture = sample("KILN", "CM")
    events = picture.season.events
    drawn = [(event.on, event.sign) for event in season_chart(picture).events if event.sign in "RE"]
    assert drawn == [
        (one.reached_on or one.expected_on, "R" if one.reached_on else "E")
        for one in events
        if one.reached_on or one.expected_on
    ]
    assert {sign for _, sign in drawn} == {"R", "E"}
    assert any(" expected " in event_words(one) for one in events)


def test_a_species_nobody_models_has_its_catch_all_the_same(sample: Sample) -> None:
    picture = sample("KILN", "CM")
    chart = season_chart(replace(picture, season=replace(picture.season, model=None, from_start=None, outlooks=())))
    assert chart.panels[1].name == "no degree-days: no model of CM"
    assert chart.panels[0].spots
    assert svg(chart)


def test_every_picture_of_the_sample_can_be_drawn_and_tells_its_story_in_words(
    records: Callable[[str], SeasonRecord], sample: Sample
) -> None:
    for block, species in records("2025-07-15").keys():  # noqa: SIM118 - a method, not a mapping
        picture = sample(block, species)
        root = ElementTree.fromstring(svg(season_chart(picture)))
        about = root.findtext("{http://www.w3.org/2000/svg}desc") or ""
        assert f": {species} 2025." in about
        assert all(biofix_words(row) in about for row in picture.season.biofixes)
        assert "The product label is the law" in "".join(root.itertext())


def test_one_trap_alone_has_its_own_readings(records: Callable[[str], SeasonRecord], sample: Sample) -> None:
    assert traps_of(records("2025-07-15"), ("MILL", "CM")) == ("M1", "M2", "M3", "M4")
    edge = sample("MILL", "CM", trap="M4")
    assert point_words(edge.points[-1], edge.season).startswith("Mon 14 Jul 2025  20.0 a trap a week: 20 moths, 1 trap")


def test_pictures_lie_in_a_folder_of_their_own_under_a_harmless_name(tmp_path: Path, sample: Sample) -> None:
    files = write_pictures(tmp_path, "season ../KILN [CM] 2025", season_chart(sample("KILN", "CM")))
    assert [file.relative_to(tmp_path).as_posix() for file in files] == [
        "pictures/season-KILN-CM-2025.svg",
        "pictures/season-KILN-CM-2025.png",
    ]
    assert "<script" not in files[0].read_text(encoding="utf-8")
