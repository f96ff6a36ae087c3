"""After a treatment: the three words, the arithmetic behind them, and what is named beside them."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from scipy import stats

from roundtui.domain.entries import TreatmentSaid
from roundtui.domain.figures.treatments import (
    Side,
    Treated,
    WatchVerdict,
    chance_of,
    check_treatment,
    group_of,
    groups_again,
    treated_in,
)
from roundtui.report.figures.treatments import catch_words, watch_words
from tests.domain.orchard import Orchard, day

DOWN, NOT_DOWN, EARLY = WatchVerdict.DOWN, WatchVerdict.NOT_DOWN, WatchVerdict.EARLY


def weekly(*counts: int, traps: int = 3) -> Orchard:
    """A block read every Tuesday from 8 July on; each trap catches the same."""
    orchard = Orchard()
    labels = [f"A{number}" for number in range(1, traps + 1)]
    orchard.hang(*labels, on="07-01")
    for at, count in enumerate(counts):
        for label in labels:
            orchard.visit(label, f"{day('07-08').replace(day=8).fromordinal(day('07-08').toordinal() + 7 * at)}", count)
    return orchard


def said(on: str, **more: str) -> TreatmentSaid:
    return TreatmentSaid(block="N1", species="CM", treated_on=day(on), **more)


def watched(orchard: Orchard, on: str, *treated: TreatmentSaid) -> Treated:
    """The newest treatment, as it stands on a day."""
    return treated_in(orchard.programme, orchard.history(day(on)), treated, day(on))[0]


def test_coming_down() -> None:
    """Treated on Tuesday 22 July, after that day's reading. Before: 8, 9 and 7 in each of three traps over 63 trap-days
    is 8 a week. After: 4 and 2, 18 moths over 42 trap-days, is 3 a week. That is less than half; of 90 moths, with 42
    of 105 trap-days after, 36 would be expected there, and 18 or fewer come by chance once in some 23000 times."""
    orchard = weekly(8, 9, 7, 4, 2)
    found = watched(orchard, "08-05", said("07-22")).watch
    assert (found.verdict, found.before.per_week, found.after.per_week) == (DOWN, 8, 3)
    assert (found.before.moths, found.before.trap_days, found.before.readings) == (72, 63, 9)
    assert (found.after.moths, found.after.trap_days, found.after.readings) == (18, 42, 6)
    assert (found.awaited, found.over, found.thin) == (1, False, False)
    assert found.chance is not None
    assert 23000 < 1 / found.chance < 24000


def test_not_coming_down() -> None:
    """8, 9 and 7 before, 8 and 9 after: 8 a week becomes 8.5. As high as before, a tie, is not down either."""
    found = watched(weekly(8, 9, 7, 8, 9), "08-05", said("07-22")).watch
    assert (found.verdict, found.after.per_week, found.why) == (NOT_DOWN, Fraction(17, 2), "higher than before")
    found = watched(weekly(8, 9, 7, 8, 8), "08-05", said("07-22")).watch
    assert (found.verdict, found.why) == (NOT_DOWN, "as high as before")


def test_too_early_to_say() -> None:
    """One reading since may be weather, however low; of the second, 5 and 4 are lower than 8, but not by half."""
    found = watched(weekly(8, 9, 7, 0), "07-29", said("07-22")).watch
    assert (found.verdict, found.awaited, found.why) == (EARLY, 2, "fewer than 2 readings a trap since")
    found = watched(weekly(8, 9, 7, 5, 4), "08-05", said("07-22")).watch
    assert (found.verdict, found.why) == (EARLY, "lower, but by less than half so far")
    assert watched(weekly(8, 9, 7), "07-28", said("07-22")).watch.why == "no valid reading since"


def test_a_fall_by_less_than_half_is_not_down_when_the_watch_is_over() -> None:
    """5, 4 and 4 after is 13/3 a week, more than half of 8; the third reading ends the watch. With 5, 4 and 3 it is
    exactly half, and that is down."""
    found = watched(weekly(8, 9, 7, 5, 4, 4), "08-12", said("07-22")).watch
    assert (found.verdict, found.over, found.awaited) == (NOT_DOWN, True, 0)
    assert found.why == "lower, but by less than half when the check was over"
    found = watched(weekly(8, 9, 7, 5, 4, 3), "08-12", said("07-22")).watch
    assert (found.verdict, found.after.per_week) == (DOWN, 4)


def test_readings_after_the_third_are_no_part_of_it() -> None:
    orchard = weekly(8, 9, 7, 5, 4, 3, 50)
    assert watched(orchard, "08-19", said("07-22")).watch.after.per_week == 4


def test_a_finished_check_is_told_in_the_past_tense_with_its_dates_and_what_came_after() -> None:
    """8 a week before, 4 in the three weeks to 12 August; a week later the traps catch 50. It is not coming down."""
    orchard = weekly(8, 9, 7, 5, 4, 3, 50)
    found = watched(orchard, "08-12", said("07-22"))
    assert (found.watch.said, found.watch.back_at) == ("came down", None)
    words = catch_words(watched(orchard, "08-19", said("07-22")).watch)
    assert words.startswith("Came down: ")
    assert "4.0 from 2025-07-22 to 2025-08-12" in words
    assert words.endswith("On 2025-08-19 it was back at 50.0.")
    assert "coming down" not in words


def test_few_moths_may_fall_by_chance() -> None:
    """One trap: 1, 0 and 1 before, none in two weeks after. Given two moths, both fall into the 21 of 35 days before in
    9 of 25 cases."""
    found = watched(weekly(1, 0, 1, 0, 0, traps=1), "08-05", said("07-22")).watch
    assert (found.verdict, found.chance, found.thin) == (EARLY, Fraction(9, 25), True)
    assert found.why == "lower by half or more, but so few moths that it may be chance"
    found = watched(weekly(1, 0, 1, 0, 0, 0, traps=1), "08-12", said("07-22")).watch
    assert (found.verdict, found.why.endswith("may be chance, and the check is over")) == (EARLY, True)


def test_nothing_before_cannot_come_down() -> None:
    found = watched(weekly(0, 0, 0, 0, 0), "08-05", said("07-22")).watch
    assert (found.verdict, found.why) == (EARLY, "nothing was caught before, so nothing could come down")
    found = watched(weekly(0, 0, 0, 0, 1), "08-05", said("07-22")).watch
    assert (found.verdict, found.why) == (NOT_DOWN, "nothing was caught before, and something since")


def test_a_treatment_between_two_checks_leaves_the_reading_across_it_on_neither_side() -> None:
    """Treated on Friday 25 July. The reading of 29 July, 30 moths, holds days of both: 8, 9 and 7 stand before it, 2
    and 1 after. Which of the 30 flew before the treatment nobody can say."""
    orchard = weekly(8, 9, 7, 30, 2, 1)
    found = watched(orchard, "08-12", said("07-25")).watch
    # 8 July began on 1 July, more than 21 days before.
    assert (found.before.per_week, found.after.per_week) == (8, Fraction(3, 2))
    assert (found.before.readings, found.straddling, found.verdict) == (6, 3, DOWN)


def test_a_lure_changed_after_it_is_named_and_a_trap_on_one_side_alone_is_left_out() -> None:
    orchard = weekly(8, 9, 7, 8, 9)
    orchard.hang("B1", on="07-23", block="N1")
    orchard.visit("B1", "07-29", 40)
    orchard.visit("B1", "08-05", 40)
    orchard.visits = [
        replace(visit, lure="yes")
        if (visit.trap, str(visit.read_on)) in {("A2", "2025-07-29"), ("A1", "2025-07-15")}
        else visit
        for visit in orchard.visits
    ]
    found = watched(orchard, "08-05", said("07-22")).watch
    assert found.lures == (("A2", day("07-29")),)
    assert (found.traps, found.left_out, found.after.per_week) == (("A1", "A2", "A3"), ("B1",), Fraction(17, 2))


def test_a_catch_that_fell_before_the_treatment_already_is_said_to() -> None:
    assert watched(weekly(12, 9, 3, 1, 0), "08-05", said("07-22")).watch.fell_before
    assert not watched(weekly(3, 9, 12, 1, 0), "08-05", said("07-22")).watch.fell_before


def test_a_flight_may_be_ending_by_itself_only_where_the_catch_is_lower_since() -> None:
    """12, 9 and 3 fell before the treatment. Of 20 and 21 since nobody can say that they are the end of a flight."""
    lower = watched(weekly(12, 9, 3, 1, 0), "08-05", said("07-22")).watch
    higher = watched(weekly(12, 9, 3, 20, 21), "08-05", said("07-22")).watch
    alike = watched(weekly(12, 9, 3, 8, 8), "08-05", said("07-22")).watch
    assert (higher.fell_before, higher.why, alike.why) == (True, "higher than before", "as high as before")
    ending = "the flight may be ending by itself"
    assert [ending in watch_words(seen) for seen in (lower, higher, alike)] == [True, False, False]


def test_suspect_readings_and_a_missed_week_do_not_count() -> None:
    orchard = weekly(8, 9, 7, 4, 2)
    orchard.lot("O1", "OFM")
    orchard.visits = [
        replace(visit, lure="O1") if (visit.trap, str(visit.read_on)) == ("A3", "2025-07-29") else visit
        for visit in orchard.visits
    ]
    found = watched(orchard, "08-05", said("07-22")).watch
    assert (found.set_aside, found.after.readings, found.awaited) == (1, 5, 1)


def test_a_second_treatment_ends_the_first_watch_and_begins_its_own() -> None:
    orchard = weekly(8, 9, 7, 8, 3, 2, 1)
    entries = [said("07-22"), said("07-30")]
    second, first = treated_in(orchard.programme, orchard.history(day("08-19")), entries, day("08-19"))
    assert (first.watch.following, first.watch.until, first.watch.over) == (day("07-30"), day("07-30"), True)
    assert (first.watch.verdict, first.watch.why) == (
        EARLY,
        "fewer than 2 readings a trap since, and the check is over",
    )
    assert (second.watch.earlier, second.watch.after.readings) == (day("07-22"), 6)
    assert second.watch.verdict is DOWN


def test_what_two_people_say_of_one_day_is_one_treatment() -> None:
    entries = [said("07-22", words="cover spray", said_by="Tam"), said("07-22", words="cover spray", said_by="Ida")]
    orchard = weekly(8, 9, 7)
    (one,) = treated_in(orchard.programme, orchard.history(day("07-22")), entries, day("07-22"))
    assert (len(one.said), one.words, one.said_by) == (2, "cover spray", "Tam, Ida")


def test_only_what_is_recent_is_told_yet_older_ones_still_end_a_watch() -> None:
    orchard = weekly(8, 9, 7, 8, 3, 2, 1)
    on = day("08-19")
    found = treated_in(orchard.programme, orchard.history(on), [said("07-12"), said("07-30")], on, days=25)
    assert [(one.watch.treated_on, one.watch.earlier) for one in found] == [(day("07-30"), day("07-12"))]


def test_a_block_nobody_knows_or_a_species_without_a_code_cannot_be_treated() -> None:
    orchard = weekly(1)
    assert check_treatment(said("07-22"), orchard.programme) == ()
    (block,) = check_treatment(replace(said("07-22"), block="N2"), orchard.programme)
    assert (block.message, block.hint) == ("there is no block N2", "the codes are in blocks.csv")
    (species,) = check_treatment(replace(said("07-22"), species="codling moth"), orchard.programme)
    assert (species.message, species.hint) == ("'codling moth' is no species known here", "write CM")


@pytest.mark.parametrize(
    ("before", "days_before", "after", "days_after"),
    [(72, 63, 18, 42), (2, 21, 0, 14), (5, 7, 5, 7), (0, 10, 3, 20), (30, 21, 40, 100), (200, 105, 60, 70)],
)
def test_the_share_by_chance_is_that_of_a_reference_library(
    before: int, days_before: int, after: int, days_after: int
) -> None:
    """The exact conditional comparison of two Poisson counts is a binomial test. Reference: scipy.stats.binomtest."""
    sides = Side(None, before, days_before, 1), Side(None, after, days_after, 1)
    share = days_after / (days_before + days_after)
    expected = stats.binomtest(after, before + after, share, alternative="less").pvalue
    assert float(chance_of(*sides)) == pytest.approx(expected, rel=1e-9)


def test_without_a_moth_chance_says_nothing() -> None:
    assert chance_of(Side(None, 0, 21, 3), Side(None, 0, 14, 2)) == 1


@pytest.mark.parametrize(
    ("words", "group"),
    [("spinosyn, group 5", "5"), ("IRAC 4a", "4A"), ("MoA group: 28", "28"), ("irac unf", "UNF"), ("oil, twice", "")],
)
def test_the_mode_of_action_group_is_taken_from_the_growers_words(words: str, group: str) -> None:
    assert group_of(words) == group


def test_one_group_against_two_generations_running_is_pointed_out_and_within_one_it_is_not() -> None:
    """IRAC: successive generations are not to get the same group; several sprays within a generation may be."""
    starts = {("N1", "CM"): [day("05-10"), day("07-05")]}
    sprays = [replace(said(on), words=words) for on, words in (("05-20", "group 5"), ("06-01", "group 5"))]
    assert groups_again(sprays, starts) == ()
    sprays += [replace(said(on), words="IRAC 5") for on in ("07-12", "07-20")]
    (again,) = groups_again(sprays, starts)
    assert (again.group, again.earlier, again.later) == ("5", day("05-20"), day("07-12"))
    assert groups_again([sprays[0], replace(sprays[2], words="group 28")], starts) == ()
    assert groups_again(sprays, {}) == ()
