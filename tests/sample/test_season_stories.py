"""The sample's biofixes and what follows from them, worked out by hand beside what the tool says.

The office's own rule asks 2 codling moths in a block on two readings running. The south round is walked on Mondays.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from datetime import date

import pytest

from roundtui.domain.season.season import BiofixRow, coming
from roundtui.store.connect import open_store
from roundtui.store.demo import Demo
from roundtui.store.office import read_office
from roundtui.store.season.season import SeasonRecord
from tests.sample.conftest import NOW


@pytest.fixture(scope="module")
def season(demo: Demo) -> Iterator[SeasonRecord]:
    with closing(open_store(demo.folder, now=NOW)) as conn:
        yield SeasonRecord(conn, demo.folder, demo.on, read_office(demo.folder))


def first(season: SeasonRecord, block: str, species: str = "CM") -> BiofixRow:
    return season.biofixes(block, species)[0]


def test_gate_is_confirmed_as_proposed(season: SeasonRecord) -> None:
    # Hung on 21 April, 0 on the 28th, 3 on 5 May, 2 on the 12th: both 2 or more, so the first of them.
    gate = first(season, "GATE")
    assert gate.biofix.proposal is not None
    assert gate.biofix.proposal.why == (
        "first of two readings running with 2 moths or more: 2025-05-05 (3 moths), 2025-05-12 (2 moths)"
    )
    assert (gate.biofix.proposal.rule.id, gate.doubts) == ("cm-two-moths", ())
    (entry,) = gate.settled
    assert (entry.day, entry.scout, entry.overridden) == (date(2025, 5, 5), "Isolde Quarrington", False)


def test_mill_is_set_to_another_day_with_a_reason(season: SeasonRecord) -> None:
    # 4 moths on 28 April, in the first reading of all, and 1 on 5 May: no run. The rule's run begins on the 12th.
    mill = first(season, "MILL")
    assert mill.biofix.proposal is not None
    assert (mill.biofix.proposal.on, mill.biofix.confirmed) == (date(2025, 5, 12), date(2025, 5, 5))
    assert mill.settled[0].reason.startswith("same slope as Gate Block")
    assert "the first reading of the season, 2025-04-28, already held 4 moths" in mill.doubts[0]


def test_a_disrupted_block_that_catches_nothing_takes_its_neighbours_day(season: SeasonRecord) -> None:
    pond = first(season, "POND")
    assert pond.biofix.proposal is not None
    assert (pond.biofix.proposal.on, pond.biofix.confirmed) == (None, date(2025, 5, 5))


def test_lane_is_proposed_and_open(season: SeasonRecord) -> None:
    # North round, Tuesdays: 2 moths on 6 May and 3 on the 13th.
    lane = first(season, "LANE")
    assert (lane.biofix.on, lane.biofix.confirmed, lane.settled) == (date(2025, 5, 6), None, ())


def test_blocks_of_one_station_and_one_biofix_day_are_told_in_one_line(season: SeasonRecord) -> None:
    # GATE, MILL and POND hang on one station; of the first two a second flight is proposed from 7 July on.
    ahead = [(one.row.event, one) for one in coming(season.outlook_rows(), season.on) if one.row.species == "CM"]
    hatch = [(event.expected_on, one.blocks) for event, one in ahead if event.event.name == "egg hatch begins"]
    assert ("BARN", "GATE", "MILL") in {blocks for _, blocks in hatch}
    assert all(day is not None and season.on < day for day, _ in hatch)


def test_the_gap_of_may_is_filled_and_the_long_one_of_2021_is_left_open(season: SeasonRecord) -> None:
    gate = season.block("GATE", "CM")
    assert gate.from_start is not None
    assert [row.on.isoformat() for row in gate.from_start.rows if row.filled] == ["2025-05-21", "2025-05-22"]
    assert gate.from_start.rows[-1].on == season.on
    # 2021 at RIDG has nine days without a temperature in June: it can say nothing of waits that run through them.
    owls = season.outlooks("OWLS", "CM")[0]
    assert {event.years for event in owls.events if event.expected_on} <= {5, 6}


def test_the_season_before_can_be_looked_at_as_well(demo: Demo) -> None:
    with closing(open_store(demo.folder, now=NOW)) as conn:
        before = SeasonRecord(conn, demo.folder, date(2024, 12, 31), read_office(demo.folder))
        gate = before.block("GATE", "CM")
    assert (gate.season, gate.biofixes[0].biofix.confirmed) == (2024, date(2024, 5, 6))
    assert all(event.reached_on or not event.expected_on for event in gate.events)
    assert gate.newest is not None


def test_only_a_confirmed_biofix_or_a_model_that_needs_none_makes_an_event_sure(season: SeasonRecord) -> None:
    sure = {(row.block, row.species, row.outlook.start): row.confirmed for row in season.outlook_rows()}
    assert sure["GATE", "CM", date(2025, 5, 5)]
    assert sure["MILL", "CM", date(2025, 5, 5)]
    assert not sure["LANE", "CM", date(2025, 5, 6)]
    assert sure["WALL", "GPTB", date(2025, 1, 1)]
