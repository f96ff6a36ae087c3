"""What a programme's rounds teach, from readings to how sure a status is."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from random import Random

import pytest

from roundtui.domain.entries import Visit
from roundtui.domain.figures.certainty import START, Certainty, Usual, evidence, interval_words, settles, side_words
from roundtui.domain.figures.figures import Reading, Series, block_figure, exposures_in
from roundtui.domain.figures.learned import (
    NOTHING,
    Read,
    Rounds,
    after_week,
    experience,
    learn_weeks,
    nothing_learned,
    rounds_of,
    sureness,
    week_of,
)
from roundtui.domain.figures.untreated import Timing
from roundtui.domain.figures.verdicts import Status
from roundtui.domain.programme.farm import Block, Trap

MONDAY = date(2025, 7, 14)
BLOCKS = {"N1": Block("N1", "F", "N1", "apple"), "D1": Block("D1", "F", "D1", "apple", disrupted=True)}


def reading(trap: str, on: date, moths: int, days: int = 7, **how: bool) -> Reading:
    visit = Visit(trap=trap, read_on=on, count=moths, estimated=how.pop("estimated", False))
    return Reading(trap, on, on - timedelta(days=days), moths, moths, (visit,), **how)


def series(trap: str, *readings: Reading, block: str = "N1", edge: bool = False) -> Series:
    return Series(Trap(trap, block, "CM", hung_on=date(2025, 5, 1), edge=edge), readings)


def test_a_week_runs_from_monday_to_sunday() -> None:
    assert week_of(MONDAY) == week_of(MONDAY + timedelta(days=6)) == week_of(MONDAY - timedelta(days=1)) + 1
    assert MONDAY.isocalendar().weekday == 1


def test_readings_of_one_week_are_one_catch_and_those_of_another_stand_apart() -> None:
    week = week_of(MONDAY)
    found = rounds_of(
        [
            series(
                "A1",
                reading("A1", MONDAY, 4, 3),
                reading("A1", MONDAY + timedelta(days=4), 5, 4),
                reading("A1", MONDAY + timedelta(days=7), 1),
            )
        ],
        BLOCKS,
        week,
        week + 1,
    )["CM"]
    assert found == {week: [Read("A1", "N1", 9, 7, True)], week + 1: [Read("A1", "N1", 1, 7, True)]}


def test_what_is_suspect_in_conflict_or_over_ten_days_teaches_nothing() -> None:
    two = (Visit(trap="A4", read_on=MONDAY, count=3), Visit(trap="A4", read_on=MONDAY, count=5))
    found = rounds_of(
        [
            series("A1", reading("A1", MONDAY, 4, suspect=True)),
            series("A2", reading("A2", MONDAY, 4, 11)),
            series("A3", Reading("A3", MONDAY, None, 4, 4, ())),
            series("A4", Reading("A4", MONDAY, MONDAY - timedelta(days=7), 5, None, two)),
        ],
        BLOCKS,
        week_of(MONDAY),
        week_of(MONDAY),
    )
    assert found == {}


def test_edge_traps_estimates_and_disrupted_blocks_speak_for_no_other_block() -> None:
    week = week_of(MONDAY)
    found = rounds_of(
        [
            series("A1", reading("A1", MONDAY, 4), edge=True),
            series("A2", reading("A2", MONDAY, 4, estimated=True)),
            series("A3", reading("A3", MONDAY, 4), block="D1"),
            series("A4", reading("A4", MONDAY, 4)),
        ],
        BLOCKS,
        week,
        week,
    )["CM"][week]
    assert [(one.trap, one.speaks) for one in found] == [("A1", False), ("A2", False), ("A3", False), ("A4", True)]
    assert after_week(NOTHING, week, found).whole.figures == 1


def weeks(number: int, blocks: int = 4, traps: int = 3, seed: int = 1) -> dict[int, list[Read]]:
    luck = Random(seed)
    return {
        week: [
            Read(f"T{block}{trap}", f"B{block}", int(luck.gammavariate(2, 2.5)), 7, True)
            for block in range(blocks)
            for trap in range(traps)
        ]
        for week in range(number)
    }


def test_weeks_are_learned_one_after_the_other_or_all_at_once_to_the_last_digit() -> None:
    rounds = weeks(8)
    half = learn_weeks(rounds, 4)
    assert learn_weeks({week: rounds[week] for week in range(4, 8)}, 8, half) == learn_weeks(rounds, 8)
    assert learn_weeks(rounds, 4) == learn_weeks({week: rounds[week] for week in range(4)}, 4), (
        "nothing later is looked at"
    )


def test_the_scatter_of_a_species_is_that_of_its_blocks_together() -> None:
    rounds = weeks(6)
    found = learn_weeks(rounds, 6)
    every = [
        ([one.moths for one in rows if one.block == block], [7, 7, 7])
        for rows in rounds.values()
        for block in ("B0", "B1", "B2", "B3")
    ]
    assert found.whole.scatter == pytest.approx(evidence(every).scatter)
    assert not found.assumed
    assert found.k_of("B0") != found.k
    assert found.k_of("elsewhere") == pytest.approx(found.k, rel=0.03)
    assert NOTHING.k == pytest.approx(START, rel=0.01)
    assert NOTHING.assumed


def test_an_unlikely_count_teaches_nothing_of_scatter() -> None:
    rounds = weeks(6)
    typed = [Read("T00", "B0", 500, 7, True), *rounds[5][1:]]
    honest = learn_weeks(rounds, 5)
    assert after_week(honest, 5, typed).k > 0.7 * after_week(honest, 5, rounds[5]).k


def test_what_is_usual_wants_twenty_figures_and_takes_the_round_in_hand() -> None:
    found = learn_weeks(weeks(4), 4)
    now = [Read("T00", "B0", 40, 7, True), Read("T10", "B1", 40, 7, True), Read("T20", "B2", 40, 7, True)]
    assert found.usual(4, now) is None, "sixteen and three"
    now.append(Read("T30", "B3", 40, 7, True))
    with_now = found.usual(4, now)
    assert with_now is not None
    more = learn_weeks(weeks(6), 6)
    assert with_now.middle > more.usual(6, []).middle


def test_last_autumns_rounds_are_not_this_springs() -> None:
    found = learn_weeks(weeks(6), 6)
    soon, next_year = found.usual(6, []), found.usual(40, [])
    assert soon is not None
    assert next_year is not None
    assert soon.middle != next_year.middle


USUAL = Usual(0.2, 1.3)
BAND = (3.0, 5.0)


def test_a_figure_on_the_line_could_be_either_and_stays_over() -> None:
    found = sureness([(8, 7), (10, 12), (1, 6)], 2, USUAL, BAND, Status.OVER)
    assert found is not None
    assert found.certainty is Certainty.FIGURE
    assert found.chance == pytest.approx(0.393726, abs=4e-4)
    even = sureness([(5, 7), (6, 7), (5, 7)], 2, USUAL, BAND, Status.OVER)
    assert even is not None
    assert even.certainty is Certainty.EITHER


def test_a_high_figure_is_surely_over_and_a_low_one_surely_below() -> None:
    high = sureness([(9, 7), (13, 7), (8, 7)], 2, USUAL, BAND, Status.OVER)
    low = sureness([(1, 7), (0, 7), (1, 7)], 2, USUAL, BAND, Status.BELOW)
    assert high is not None
    assert low is not None
    assert high.certainty is low.certainty is Certainty.SURE
    assert low.chance == low.below


def test_within_has_both_neighbours_and_no_word() -> None:
    found = sureness([(4, 7), (4, 7), (4, 7)], 2, USUAL, BAND, Status.WITHIN)
    assert found is not None
    assert found.certainty is None
    assert found.over + found.below + found.chance == pytest.approx(1)
    assert found.chance < 0.42


def test_no_moth_has_no_lower_limit() -> None:
    found = sureness([(0, 7), (0, 7), (0, 7)], 2, USUAL, BAND, Status.BELOW)
    assert found is not None
    assert found.low == 0
    assert found.high == pytest.approx(0.826950, rel=1e-3)


@pytest.mark.parametrize("status", [Status.NO_RULE, Status.CANNOT_TELL, Status.NOT_READ])
def test_where_nothing_is_compared_nothing_is_said(status: Status) -> None:
    assert sureness([(4, 7)], 2, USUAL, BAND, status) is None


def test_word_and_number_stand_together_and_what_would_settle_it_is_named() -> None:
    even = sureness([(5, 7), (6, 7), (5, 7)], 2, USUAL, BAND, Status.OVER)
    assert even is not None
    words = "could be either, 4 in 10 that many traps here would also say 5 or more"
    assert (side_words(even, "over", BAND), interval_words(even)) == (words, "2.7–8.3")
    more = "the next reading, 10 traps in all (now 3), a fruit check; the status stands without them"
    assert settles(even, 3, BAND) == f"to know more: {more}"
    assert settles(even, 3, BAND, suspect=True) == f"to know more: the suspect traps put right, {more}"
    within = sureness([(4, 7), (4, 7), (4, 7)], 2, USUAL, BAND, Status.WITHIN)
    assert within is not None
    words = "many traps here would say below 3: 4 in 10, 3 to 5: 4 in 10, 5 or more: 2 in 10"
    assert (side_words(within, "within", BAND), interval_words(within)) == (words, "2.0–6.4")
    assert settles(within, 3, BAND) == ""
    none = sureness([(0, 7), (0, 7), (0, 7)], 2, USUAL, BAND, Status.BELOW)
    assert none is not None
    words = "sure, over 9 in 10 that many traps here would also say below 3"
    assert (side_words(none, "below", BAND), interval_words(none)) == (words, "up to 0.8")


@pytest.mark.parametrize(
    ("below", "chance", "over"), [(0.35, 0.35, 0.3), (0.02, 0.96, 0.02), (0.449, 0.449, 0.102), (0.5, 0.25, 0.25)]
)
def test_within_all_three_chances_make_ten(below: float, chance: float, over: float) -> None:
    found = sureness([(4, 7), (4, 7), (4, 7)], 2, USUAL, BAND, Status.WITHIN)
    assert found is not None
    words = side_words(replace(found, below=below, chance=chance, over=over), "within", BAND)
    tenths = [int(one) for one in re.findall(r"(\d+) in 10", words.replace("under 1 in", "0 in"))]
    assert len(tenths) == 3
    assert sum(tenths) == 10


def flight(*rounds: tuple[int, ...], block: str = "N1") -> tuple[list[Series], date]:
    """Three traps or more of a block with a reading each week, the last on a Monday."""
    last = len(rounds) - 1
    group = []
    for at in range(len(rounds[0])):
        label = f"A{at + 1}"
        read = [reading(label, MONDAY - timedelta(weeks=last - week), row[at]) for week, row in enumerate(rounds)]
        group.append(series(label, *read, block=block))
    return group, MONDAY


@pytest.mark.parametrize(
    ("rounds", "block", "past"),
    [
        ([(1, 2, 0), (8, 12, 7), (20, 25, 18), (16, 22, 14), (5, 3, 4)], "N1", True),
        ([(1, 2, 0), (8, 12, 7), (20, 25, 18), (16, 22, 14)], "N1", False),
        ([(20, 25, 18), (2, 1, 0), (5, 3, 4)], "N1", False),
        ([(2, 1, 3), (1, 0, 1)], "N1", False),
        ([(20, 25, 18), (5, 3, 4)], "D1", False),
    ],
    ids=["a fall to a fifth", "a fall to four fifths", "risen since: another flight", "few moths", "disrupted"],
)
def test_a_flight_is_said_to_be_past_its_peak_or_nothing_is(
    rounds: list[tuple[int, ...]], block: str, *, past: bool
) -> None:
    group, on = flight(*rounds, block=block)
    known = Rounds(on, nothing_learned, group, BLOCKS)
    found = known.past_peak(block_figure(group, on), group, BLOCKS[block], date(2025, 1, 1))
    assert found is past


def test_another_number_of_traps_or_a_peak_before_the_biofix_is_no_peak_of_this_flight() -> None:
    group, on = flight((20, 25, 18), (5, 3, 4))
    known = Rounds(on, nothing_learned, group, BLOCKS)
    figure = block_figure(group, on)
    assert known.past_peak(figure, group, BLOCKS["N1"], date(2025, 1, 1))
    assert not known.past_peak(figure, group, BLOCKS["N1"], MONDAY - timedelta(days=8))
    alone = [group[0], group[1], Series(group[2].hanging, group[2].readings[1:])]
    assert not known.past_peak(block_figure(alone, on), alone, BLOCKS["N1"], date(2025, 1, 1))


def test_a_trap_read_twice_in_a_week_is_one_of_its_traps_and_exposures_at_hand_say_the_same() -> None:
    (one, two, three), on = flight((20, 25, 18), (6, 5, 4), (5, 3, 4))
    first = date(2025, 1, 1)
    early = [reading("A3", on - timedelta(days=back), 9, 2) for back in (12, 10)]
    twice = Series(three.hanging, (*early, *three.readings[1:]))
    for last, past in ((three, True), (twice, True), (Series(three.hanging, three.readings[2:]), False)):
        group = [one, two, last]
        known, figure = Rounds(on, nothing_learned, group, BLOCKS), block_figure(group, on)
        exposures = exposures_in(group, first, on)
        assert known.past_peak(figure, group, BLOCKS["N1"], first) is past
        assert known.past_peak(figure, group, BLOCKS["N1"], first, exposures) is past


def test_the_blocks_own_timing_is_drawn_without_the_round_that_sets_off_a_treatment_and_the_one_across_it() -> None:
    """Thirty blocks change alike but for these two rounds, the third and the fourth; a later one counts."""

    def timing(*wild: int) -> Timing:
        weeks = {
            week: [
                Read(f"{block}-{trap}", f"B{block}", block * block if week in wild else 12, 7, speaks=True)
                for block in range(30)
                for trap in range(3)
            ]
            for week in range(7)
        }
        return experience(weeks, 5.0, "CM", {}).own

    assert timing(2, 3) == Timing(0.0, 6.0)
    assert timing(4).variance > 0.1
