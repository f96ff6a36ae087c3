"""After a treatment: what is said against untreated blocks, the figures behind it, and what is named beside them."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from fractions import Fraction

import pytest

from roundtui.domain.entries import TreatmentSaid
from roundtui.domain.figures.treatments import (
    NOTIFIED_DAYS,
    Treated,
    WatchVerdict,
    check_treatment,
    group_of,
    groups_again,
    treated_in,
)
from roundtui.domain.figures.untreated import Against, Experience, Timing, between_words, share_words
from roundtui.domain.programme.farm import Block
from roundtui.report.figures.treatments import catch_words, treatments_tables, watch_words
from roundtui.report.text import Line
from tests.domain.orchard import Orchard, day

DOWN, NOT_DOWN, EARLY, LITTLE, ALONE = (
    WatchVerdict.DOWN,
    WatchVerdict.NOT_DOWN,
    WatchVerdict.EARLY,
    WatchVerdict.LITTLE,
    WatchVerdict.ALONE,
)
KNOWN = Against({"CM": Experience(2.0, Timing(0.05, 20))})
"""A record of several seasons."""


def weekly(
    *counts: int, traps: int = 3, others: tuple[int, ...] = (), blocks: int = 0, first: str = "07-08"
) -> Orchard:
    """A block read every Tuesday from 8 July on; each trap catches the same. Observations it, untreated blocks."""
    orchard = Orchard()
    for number, block in enumerate(["N1", *(f"U{at}" for at in range(1, blocks + 1))]):
        labels = [f"{'ABCDEFG'[number]}{at}" for at in range(1, traps + 1)]
        orchard.hang(*labels, on="07-01", block=block)
        for at, count in enumerate(others if number else counts):
            for label in labels:
                on = day(first if number else "07-08") + timedelta(days=7 * at)
                orchard.visit(label, on.isoformat(), count)
    return orchard


def said(on: str, block: str = "N1", **more: str) -> TreatmentSaid:
    return TreatmentSaid(block=block, species="CM", treated_on=day(on), **more)


def watched(orchard: Orchard, on: str, *treated: TreatmentSaid, against: Against = KNOWN) -> Treated:
    """The newest treatment of the block, as it stands on a day."""
    days = {(one.block, one.species): [one.treated_on] for one in treated}
    found = treated_in(
        orchard.programme,
        orchard.history(day(on)),
        treated,
        day(on),
        against=replace(against, treated=days),
    )
    return next(one for one in found if one.watch.block == "N1")


def test_coming_down_is_said_where_the_untreated_blocks_stay_up() -> None:
    """Treated on Tuesday 22 July, after that day's reading, which set it off and is left out. Before: 8 and 9 in
    each of three traps. After: 2 and 1; four untreated blocks go on at 8."""
    orchard = weekly(8, 9, 17, 2, 1, others=(8, 8, 8, 8, 8), blocks=4)
    found = watched(orchard, "08-05", said("07-22")).watch
    assert (found.verdict, found.before.per_week, found.after.per_week) == (DOWN, Fraction(17, 2), Fraction(3, 2))
    assert (found.before.moths, found.before.trap_days, found.before.readings) == (51, 42, 6)
    assert (found.after.moths, found.after.trap_days, found.after.readings) == (9, 42, 6)
    assert (found.awaited, found.over, found.thin, found.untreated) == (1, False, False, ("U1", "U2", "U3", "U4"))
    assert found.why == (
        "down to a fifth of what the 4 untreated blocks lead one to expect (probably between a tenth and half)"
    )


def test_the_natural_fall_of_a_flight_is_no_coming_down() -> None:
    """The same catches, but the untreated blocks fall as far."""
    orchard = weekly(8, 9, 17, 2, 1, others=(8, 9, 8, 2, 1), blocks=4)
    found = watched(orchard, "08-05", said("07-22")).watch
    assert found.verdict is not DOWN
    assert found.against is not None
    assert abs(found.against.share - 1) < 0.05


def test_without_untreated_blocks_there_are_figures_and_no_verdict() -> None:
    falls, stays, rises = (
        watched(weekly(8, 9, 17, *after), "08-05", said("07-22")).watch for after in ((2, 1), (8, 9), (20, 20))
    )
    assert [one.verdict for one in (falls, stays, rises)] == [ALONE, ALONE, ALONE]
    assert falls.why == "lower than before; nothing to compare with, and a flight falls by itself"
    assert (stays.why, rises.why) == (
        "as high as before; nothing to compare with",
        "higher than before; nothing to compare with",
    )
    assert catch_words(falls).startswith(
        "Lower than before; nothing to compare with, and a flight falls by itself. 8.5"
    )


def test_with_a_record_of_its_own_two_untreated_blocks_do_and_without_one_three_are_wanted() -> None:
    orchard = weekly(8, 9, 17, 1, 0, others=(8, 8, 8, 8, 8), blocks=2)
    assert watched(orchard, "08-05", said("07-22")).watch.verdict is DOWN
    found = watched(orchard, "08-05", said("07-22"), against=Against()).watch
    assert (found.verdict, found.why) == (
        ALONE,
        "lower than before; only 2 untreated to compare with, and a flight falls by itself",
    )


def test_a_block_treated_itself_or_disrupted_or_read_on_other_days_is_no_measure() -> None:
    orchard = weekly(8, 9, 17, 2, 1, others=(8, 8, 8, 8, 8), blocks=3)
    orchard.blocks["U2"] = Block("U2", "U", "U2", "apple", disrupted=True)
    found = watched(orchard, "08-05", said("07-22"), said("07-02", "U1"), said("06-23", "U3")).watch
    assert found.untreated == ("U3",)
    near = weekly(8, 9, 17, 2, 1, others=(8, 8, 8, 8, 8), blocks=3, first="07-11")
    assert len(watched(near, "08-08", said("07-22")).watch.untreated) == 3
    far = weekly(8, 9, 17, 2, 1, others=(8, 8, 8, 8), blocks=3, first="07-12")
    assert watched(far, "08-09", said("07-22")).watch.untreated == ()


def test_an_untreated_block_with_hardly_a_moth_before_is_no_measure() -> None:
    """Three traps with one moth each and none, before: three moths. With one more each it is six, and stands."""
    few = weekly(8, 9, 17, 2, 1, others=(1, 0, 8, 8, 8), blocks=3)
    assert watched(few, "08-05", said("07-22")).watch.untreated == ()
    more = weekly(8, 9, 17, 2, 1, others=(1, 1, 8, 8, 8), blocks=3)
    assert len(watched(more, "08-05", said("07-22")).watch.untreated) == 3


def test_not_coming_down() -> None:
    """8 and 9 before, 9 and 9 after, three weeks running, beside four untreated blocks that fall a little."""
    orchard = weekly(8, 9, 17, 9, 9, 9, others=(16, 16, 16, 14, 14, 14), blocks=6)
    found = watched(orchard, "08-12", said("07-22"), against=Against({"CM": Experience(6.0, Timing(0.0, 20))})).watch
    assert (found.verdict, found.over) == (NOT_DOWN, True)
    assert found.why == (
        "1.2 times what the 6 untreated blocks lead one to expect (probably between three quarters and 1.8 times that)"
    )


def test_too_little_to_say() -> None:
    """To half of what was to be expected: may be luck. And where under five moths are expected, nothing is said."""
    orchard = weekly(8, 9, 17, 5, 4, others=(8, 8, 8, 8, 8), blocks=4)
    assert watched(orchard, "08-05", said("07-22")).watch.verdict is LITTLE
    low = weekly(1, 1, 3, 0, 0, others=(8, 8, 8, 2, 2), blocks=4)
    found = watched(low, "08-05", said("07-22")).watch
    assert (found.verdict, found.why) == (
        LITTLE,
        "the 4 untreated blocks lead one to expect 2 moths, too few to tell by",
    )


def test_too_early_to_say() -> None:
    """One reading since may be weather, however low."""
    orchard = weekly(8, 9, 17, 0, others=(8, 8, 8, 8), blocks=4)
    found = watched(orchard, "07-29", said("07-22")).watch
    assert (found.verdict, found.awaited, found.why) == (EARLY, 2, "fewer than 2 readings a trap since")
    assert watched(weekly(8, 9, 7), "07-28", said("07-22")).watch.why == "no valid reading since"
    nothing = watched(weekly(8, 9, 7), "07-28", replace(said("07-22"), species="OFM")).watch
    assert (nothing.verdict, nothing.why) == (EARLY, "no trap of the species hangs in the block")
    one = watched(weekly(17, 4, 2), "07-22", said("07-08")).watch
    assert (one.verdict, one.why) == (EARLY, "one reading alone before, and that led to the treatment")


def test_readings_after_the_third_are_no_part_of_it() -> None:
    orchard = weekly(8, 9, 7, 5, 4, 3, 50)
    assert watched(orchard, "08-19", said("07-22")).watch.after.per_week == 4
    rising = weekly(8, 9, 7, 3, 4, 5, 50)
    back = [watched(rising, on, said("07-22")).watch.back_at for on in ("08-12", "08-19")]
    assert back == [None, (day("08-19"), 50)], "the third itself is no catch that came back"


def test_a_finished_check_is_told_in_the_past_tense_with_its_dates_and_what_came_after() -> None:
    """8.5 a week before, 4/3 in the three weeks to 12 August; a week later the traps catch 50."""
    orchard = weekly(8, 9, 7, 2, 1, 1, 50, others=(8,) * 7, blocks=4)
    found = watched(orchard, "08-12", said("07-22"))
    assert (found.watch.said, found.watch.back_at) == ("came down", None)
    words = catch_words(watched(orchard, "08-19", said("07-22")).watch)
    assert words.startswith("Came down: ")
    assert "1.3 from 2025-07-22 to 2025-08-12" in words
    assert words.endswith("The catch was 50.0 on 2025-08-19.")
    assert "coming down" not in words
    shown = [line for line in treatments_tables([found, found], orchard.programme) if isinstance(line, Line)]
    heads = [line for line in shown if any("treated against" in words for words, _ in line.parts)]
    assert [(line.indent, line.parts[0][0][:2]) for line in heads] == [(2, "- ")] * 2, "a mark begins each"


def test_shares_are_said_as_people_say_them() -> None:
    assert [share_words(share) for share in (0.01, 0.06, 0.26, 0.48, 0.6, 1.1, 1.7, 14)] == [
        "less than a twentieth",
        "a twentieth",
        "a quarter",
        "half",
        "two thirds",
        "all",
        "1.7 times",
        "14 times",
    ]
    assert between_words(0.12, 0.5) == "between an eighth and half"


def test_a_treatment_between_two_checks_leaves_the_reading_across_it_on_neither_side() -> None:
    """Treated on Friday 25 July. The 30 moths of 29 July hold days of both; the reading of 22 July set it off."""
    orchard = weekly(8, 9, 7, 30, 2, 1)
    found = watched(orchard, "08-12", said("07-25")).watch
    # 8 July began on 1 July, within 28 days.
    assert (found.before.per_week, found.after.per_week) == (Fraction(17, 2), Fraction(3, 2))
    assert (found.before.readings, found.straddling) == (6, 3)
    assert watched(orchard, "08-12", said("07-22")).watch.straddling == 0, "read on the day itself it ended before"


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


def test_a_lure_renewed_on_the_day_of_the_treatment_bears_on_what_follows() -> None:
    orchard = weekly(8, 9, 7, 0, 0)
    orchard.visits = [
        replace(visit, lure="yes") if (visit.trap, str(visit.read_on)) == ("A3", "2025-07-22") else visit
        for visit in orchard.visits
    ]
    found = watched(orchard, "08-05", said("07-22")).watch
    assert (found.lures, found.after.moths) == ((("A3", day("07-22")),), 0)


def test_a_catch_that_fell_before_the_treatment_already_is_said_to() -> None:
    assert watched(weekly(12, 9, 3, 1, 0), "08-05", said("07-22")).watch.fell_before
    assert not watched(weekly(3, 9, 12, 1, 0), "08-05", said("07-22")).watch.fell_before


def test_a_flight_may_be_ending_by_itself_only_where_the_catch_is_lower_since() -> None:
    """12, 9 and 3 fell before the treatment. Of 20 and 21 since nobody can say that they are the end of a flight."""
    lower = watched(weekly(12, 9, 3, 1, 0), "08-05", said("07-22")).watch
    higher = watched(weekly(12, 9, 3, 20, 21), "08-05", said("07-22")).watch
    alike = watched(weekly(12, 9, 3, 10, 11), "08-05", said("07-22")).watch
    assert (higher.fell_before, higher.may_end_by_itself, alike.may_end_by_itself) == (True, False, False)
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
    second, first = treated_in(
        orchard.programme, orchard.history(day("08-19")), entries, day("08-19"), against=Against()
    )
    assert (first.watch.following, first.watch.until, first.watch.over) == (day("07-30"), day("07-30"), True)
    assert (first.watch.verdict, first.watch.why) == (
        EARLY,
        "fewer than 2 readings a trap since, and the check is over",
    )
    assert (second.watch.earlier, second.watch.after.readings) == (day("07-22"), 6)


def test_what_two_people_say_of_one_day_is_one_treatment() -> None:
    entries = [said("07-22", words="cover spray", said_by="Tam"), said("07-22", words="cover spray", said_by="Ida")]
    orchard = weekly(8, 9, 7)
    (one,) = treated_in(orchard.programme, orchard.history(day("07-22")), entries, day("07-22"), against=Against())
    assert (len(one.said), one.words, one.said_by) == (2, "cover spray", "Tam, Ida")


def test_only_what_is_recent_is_told_yet_older_ones_still_end_a_watch() -> None:
    orchard = weekly(8, 9, 7, 8, 3, 2, 1)
    on = day("08-19")
    entries = [said("07-12"), said("07-30")]
    found = treated_in(orchard.programme, orchard.history(on), entries, on, against=Against(), days=25)
    assert [(one.watch.treated_on, one.watch.earlier) for one in found] == [(day("07-30"), day("07-12"))]


def test_a_treatment_is_told_until_two_rounds_after_its_watch() -> None:
    orchard, sprayed = weekly(8, 9, 7, 8, 3, 2, 1), said("07-12")
    told = {
        on: len(
            treated_in(
                orchard.programme,
                orchard.history(day(on)),
                [sprayed],
                day(on),
                against=Against(),
                days=NOTIFIED_DAYS,
            )
        )
        for on in ("08-23", "08-24")
    }
    assert told == {"08-23": 1, "08-24": 0}


def test_a_block_nobody_knows_or_a_species_without_a_code_cannot_be_treated() -> None:
    orchard = weekly(1)
    assert check_treatment(said("07-22"), orchard.programme) == ()
    (block,) = check_treatment(replace(said("07-22"), block="N2"), orchard.programme)
    assert (block.message, block.hint) == ("there is no block N2", "the codes are in blocks.csv")
    (species,) = check_treatment(replace(said("07-22"), species="codling moth"), orchard.programme)
    assert (species.message, species.hint) == ("'codling moth' is no species known here", "write CM")


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
    assert groups_again([replace(one, words="oil, twice") for one in sprays], starts) == ()
