"""The stories planted in the sample, each worked out by hand beside what the tool says of it.

Counts are those of ``stories.py``; the south round is walked on Mondays (… 30 June, 7 and 14 July 2025), the north
round on Tuesdays (… 1 and 8 July). The running day is Tuesday 15 July.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from fractions import Fraction

import pytest

from roundtui.domain.entries import NoReading
from roundtui.domain.figures.verdicts import BlockRow, NotRead, Status, Summary, Trouble, TroubleKind, UpkeepDue

SummaryOn = Callable[[str], Summary]


@pytest.fixture
def today(summary_on: SummaryOn) -> Summary:
    return summary_on("2025-07-15")


def row(summary: Summary, block: str, species: str) -> BlockRow:
    (found,) = [row for row in summary.blocks if (row.block, row.species) == (block, species)]
    return found


def trouble(summary: Summary, trap: str) -> Trouble | None:
    found = [one for one in summary.integrity if one.trap == trap]
    assert len(found) <= 1, "a trap bears one kind at a time"
    return found[0] if found else None


def due(summary: Summary, trap: str, item: str) -> UpkeepDue | None:
    return next((one for one in summary.upkeep if (one.trap, one.item) == (trap, item)), None)


def test_eight_ten_and_one_over_seven_twelve_and_six_days_are_exactly_five_and_five_is_over(today: Summary) -> None:
    # G1: 7 July to 14 July, 7 days, 8 moths: 8 a week.
    # G2: skipped on 30 June, read on 2 July, closed on 7 July, read on 14 July: 12 days, 10 moths: 70/12 = 35/6.
    # G3: skipped on 7 July, read on the 8th, read on the 14th: 6 days, 1 moth: 7/6.
    # 8 + 35/6 + 7/6 = 8 + 42/6 = 15, over three traps: 5. The rule that ships says 3 to 5.
    gate = row(today, "GATE", "CM")
    assert gate.mean_per_week == 5
    assert gate.max_per_week == 8
    assert gate.days == (6, 12)
    assert gate.catch == 19
    assert (gate.hung, gate.read, gate.counted, gate.thin) == (3, 3, 3, False)
    assert gate.band == (3, 5)
    assert gate.status is Status.OVER
    assert gate.rule is not None
    assert (gate.rule.id, gate.rule.value) == ("shipped-cm-mean", 5)


def test_the_previous_figure_it_is_that_of_the_newest_day_read_before(summary_on: SummaryOn, today: Summary) -> None:
    # Before the exposures that ended on 14 July the newest day read in GATE is 8 July; its window is 2 to 8 July.
    # G1 on 7 July: 5 in 7 days = 5. G2 on 2 July: 6 in the 9 days from 23 June = 42/9 = 14/3.
    # G3 on 8 July: 4 in the 8 days from 30 June = 28/8 = 7/2.  (5 + 14/3 + 7/2) / 3 = (30 + 28 + 21) / 18 = 79/18.
    assert row(today, "GATE", "CM").previous_per_week == Fraction(79, 18)
    # On 14 July itself the 8th lies in the window, but G3's exposure that ended on it began before 7 July and is not
    # used: it still is the newest day before.
    assert row(summary_on("2025-07-14"), "GATE", "CM").mean_per_week == 5
    assert row(summary_on("2025-07-14"), "GATE", "CM").previous_per_week == Fraction(79, 18)


def test_the_lower_edge_is_within(summary_on: SummaryOn) -> None:
    # OWLS on 8 July: 2, 3 and 4 moths in 7 days each; the mean is 3, and from 3 on it is within.
    owls = row(summary_on("2025-07-08"), "OWLS", "CM")
    assert owls.mean_per_week == 3
    assert owls.status is Status.WITHIN


def test_a_block_over_its_band_with_moths_left_in_and_an_edge_trap_beside(today: Summary) -> None:
    # M1 9, M3 8. M2 had 6 on 7 July and was not cleared: of the 13 on 14 July 13 - 6 = 7 are new. (9 + 7 + 8) / 3 = 8.
    # M4 hangs at the edge: its 20 stand beside the mean, not in it.
    mill = row(today, "MILL", "CM")
    assert mill.mean_per_week == 8
    assert mill.catch == 24
    assert mill.edge_mean == 20
    assert (mill.hung, mill.read, mill.counted) == (4, 4, 3)
    assert mill.status is Status.OVER
    # The week before: 12, 6 and 9 in 7 days each.
    assert mill.previous_per_week == 9


def test_a_recount_is_never_a_second_catch(today: Summary) -> None:
    # M3 was counted again by another scout, and marked so: 8 stays 8, and it is no conflict.
    assert all(conflict.trap != "M3" for conflict in today.conflicts)
    assert row(today, "MILL", "CM").mean_per_week == 8


def test_a_liner_is_due_by_its_catch(today: Summary) -> None:
    # M1: liner of 23 June, then 11 + 12 + 9 = 32; the 30th came by 14 July, one day before the running day.
    # L1: liner of 17 June, then 11 + 12 + 9 = 32 by 8 July, seven days before.
    m1, l1 = due(today, "M1", "liner"), due(today, "L1", "liner")
    assert m1 is not None
    assert l1 is not None
    assert (m1.why, m1.catch, m1.days_overdue, m1.since) == ("catch", 32, 1, date(2025, 6, 23))
    assert (l1.why, l1.catch, l1.days_overdue, l1.since) == ("catch", 32, 7, date(2025, 6, 17))


def test_a_lure_is_overdue(today: Summary) -> None:
    # K2: lure of 27 May from a lot good for 42 days: due on 8 July, seven days ago.
    lure = due(today, "K2", "lure")
    assert lure is not None
    assert (lure.days_overdue, lure.since, lure.life_days, lure.assumed) == (7, date(2025, 5, 27), 42, False)


def test_two_lures_swapped_on_one_day_are_a_pair_and_its_block_cannot_be_told(today: Summary) -> None:
    assert trouble(today, "R2") == Trouble(
        TroubleKind.SWAPPED_LURES, "FENN", "RISE", "R2", "CM", "OFM", date(2025, 6, 30), "R4"
    )
    assert trouble(today, "R4") == Trouble(
        TroubleKind.SWAPPED_LURES, "FENN", "RISE", "R4", "OFM", "CM", date(2025, 6, 30), "R2"
    )
    # R4 is the block's only trap for OFM.
    rise = row(today, "RISE", "OFM")
    assert (rise.read, rise.counted, rise.mean_per_week, rise.mean_with_suspect) == (1, 0, None, 0)
    assert rise.status is Status.CANNOT_TELL
    assert rise.rule is not None
    assert rise.rule.value is None


def test_the_day_of_the_swap_itself_was_still_sound(summary_on: SummaryOn) -> None:
    # On 30 June the lures went in after the count: 3 moths in R2 and 4 in R4 are good readings.
    # CM: R1 by chance, R2 3, R3 suspect. OFM: R4 alone.
    then = summary_on("2025-06-30")
    assert row(then, "RISE", "OFM").mean_per_week == 4
    assert row(then, "RISE", "OFM").counted == 1


def test_a_wrong_lure_found_late_reaches_back_to_the_last_change(summary_on: SummaryOn, today: Summary) -> None:
    # R3 on record: a codling moth lure on 16 June. On 14 July a leafroller lure was found in it.
    assert trouble(today, "R3") == Trouble(
        TroubleKind.WRONG_LURE, "FENN", "RISE", "R3", "CM", "OBLR", date(2025, 6, 16), None
    )
    # Of R1, R2 and R3 only R1 can be trusted: 2 a week, thin. With the suspect ones (2 + 0 + 0) / 3.
    rise = row(today, "RISE", "CM")
    assert (rise.mean_per_week, rise.mean_with_suspect, rise.counted, rise.thin) == (2, Fraction(2, 3), 1, True)
    # It was in the trap on 8 July already, found or not.
    assert trouble(summary_on("2025-07-08"), "R3") == trouble(today, "R3")


def test_last_seasons_scented_body_hangs_again(summary_on: SummaryOn, today: Summary) -> None:
    # T2 held a leafroller lure from 9 to 23 July 2024. Its body TS-2 was never replaced.
    assert trouble(today, "T2") == Trouble(
        TroubleKind.SCENTED_BODY, "LARK", "TARN", "T2", "CM", "OBLR", date(2024, 7, 9), None
    )
    kinds = [getattr(trouble(summary_on(on), "T2"), "kind", None) for on in ("2024-07-08", "2024-07-16", "2024-07-23")]
    assert kinds == [None, TroubleKind.WRONG_LURE, TroubleKind.SCENTED_BODY]
    # TARN on 8 July: T1 3, T2 0 and suspect, T3 2: 5/2 of two traps; with all three 5/3.
    tarn = row(summary_on("2025-07-08"), "TARN", "CM")
    assert (tarn.mean_per_week, tarn.mean_with_suspect, tarn.counted) == (Fraction(5, 2), Fraction(5, 3), 2)


def test_a_trap_without_a_lure_is_out_of_the_mean(today: Summary) -> None:
    # W2's lure was lost on 7 July. W1 6, W2 1, W3 8: 7 of two; with all three 5. The rule looks at the highest, 8.
    assert trouble(today, "W2") == Trouble(TroubleKind.NO_LURE, "FENN", "WALL", "W2", "OFM", None, date(2025, 7, 7))
    wall = row(today, "WALL", "OFM")
    assert (wall.mean_per_week, wall.mean_with_suspect, wall.counted) == (7, 5, 2)
    assert wall.rule is not None
    assert (wall.rule.kind, wall.rule.value, wall.status) == ("single-trap", 8, Status.BELOW)


def test_integrity_names_no_other_trap(today: Summary) -> None:
    assert [one.trap for one in today.integrity] == ["R2", "R4", "R3", "W2", "T2"]


def test_a_trap_that_is_down_makes_its_block_thin(today: Summary) -> None:
    # BARN: B1 4, B2 3, B3 down: (4 + 3) / 2 = 7/2 of two traps, which is thin; three hung.
    barn = row(today, "BARN", "CM")
    assert (barn.mean_per_week, barn.hung, barn.read, barn.counted, barn.thin) == (Fraction(7, 2), 3, 2, 2, True)
    assert barn.status is Status.WITHIN
    assert NotRead("B3", NoReading.DOWN, "BARN", "post knocked over, hung up again") in today.not_read


def test_two_traps_are_thin(today: Summary) -> None:
    mill = row(today, "MILL", "OBLR")
    assert (mill.hung, mill.counted, mill.thin) == (2, 2, True)


def test_zeros_under_disruption_are_weak_evidence(today: Summary) -> None:
    # POND: four traps with 10 mg lures, 0 on 7 and 14 July: the least of two weeks is 0, below 0.5.
    pond = row(today, "POND", "CM")
    assert (pond.mean_per_week, pond.cumulative, pond.counted) == (0, 0, 4)
    assert pond.rule is not None
    assert (pond.rule.id, pond.rule.kind, pond.rule.value) == ("cm-disrupted-two-weeks", "running", 0)
    assert pond.status is Status.BELOW
    assert pond.weak_evidence
    assert [one.block for one in today.blocks if one.weak_evidence] == ["POND"]


def test_a_zero_too_many_is_marked_and_recorded_as_typed(today: Summary) -> None:
    # G5's past lies between 0 and 17; 120 in 7 days is over ten times its mean.
    (unlikely,) = today.unlikely
    assert (unlikely.trap, unlikely.count, unlikely.block) == ("G5", 120, "GATE")
    # G4 5, G5 120, G6 7: the mean is 132 / 3 = 44, the highest trap 120.
    gate = row(today, "GATE", "OFM")
    assert (gate.mean_per_week, gate.max_per_week, gate.status) == (44, 120, Status.OVER)


def test_two_scouts_at_one_trap_are_never_a_sum(today: Summary) -> None:
    # B5: 6 by one scout, 9 by the other. B4 5 and B6 7 are left: 6 of two.
    (conflict,) = today.conflicts
    assert (conflict.trap, conflict.read_on, len(conflict.entries)) == ("B5", date(2025, 7, 14), 2)
    assert conflict.counts == (("Juno Hazelrigg", 6), ("Perrin Alderquist", 9))
    barn = row(today, "BARN", "OBLR")
    assert (barn.mean_per_week, barn.counted, barn.read) == (6, 2, 3)


def test_the_shipped_apple_maggot_rule_takes_the_edge_traps_in(summary_on: SummaryOn) -> None:
    # T4 and T5 hang at the edge since 24 June: 0 and 0 on 1 July, 1 and 2 on 8 July, 7 days each.
    # Sum since hanging: 0 + (1 + 2) / 2 = 3/2, below 5.
    tarn = row(summary_on("2025-07-08"), "TARN", "AM")
    assert (tarn.mean_per_week, tarn.cumulative, tarn.counted) == (Fraction(3, 2), Fraction(3, 2), 2)
    assert tarn.rule is not None
    assert (tarn.rule.id, tarn.rule.value, tarn.status) == ("shipped-am-baited-sphere", Fraction(3, 2), Status.BELOW)


def test_a_moved_trap_begins_a_new_series(summary_on: SummaryOn) -> None:
    # K5 was read on 10 June at its old tree, then moved: its next reading, of 17 June, has 7 days at the new one.
    for on in ("2025-06-10", "2025-06-17"):
        kiln = row(summary_on(on), "KILN", "OFM")
        assert (kiln.hung, kiln.read, kiln.counted, kiln.days) == (2, 2, 2, (7, 7))


def test_the_north_round_is_due_and_nothing_else_is_unread(today: Summary) -> None:
    unread = [one.trap for one in today.not_read]
    assert len(unread) == 19
    assert {trap[0] for trap in unread if trap != "B3"} == {"K", "L", "O", "T"}
    assert all(one.reason is None for one in today.not_read if one.trap != "B3")
    north = [one for one in today.blocks if one.farm in {"MOSS", "LARK"}]
    assert north
    assert all(one.status is Status.NOT_READ for one in north)


def test_blocks_over_come_first(today: Summary) -> None:
    over = [(one.block, one.species) for one in today.blocks if one.status is Status.OVER]
    assert over == [(one.block, one.species) for one in today.blocks[:3]]
    assert set(over) == {("GATE", "CM"), ("GATE", "OFM"), ("MILL", "CM")}


def test_a_species_without_a_rule_says_so(today: Summary) -> None:
    wall = row(today, "WALL", "GPTB")
    assert (wall.status, wall.band, wall.rule) == (Status.NO_RULE, None, None)


def test_the_stage_is_the_one_seen_last(today: Summary) -> None:
    assert row(today, "GATE", "CM").stage == "75"
    assert row(today, "RISE", "CM").stage == "74"


def test_where_it_is_not_said_how_sure_a_status_is_the_reason_is_named(today: Summary) -> None:
    """Nobody may take silence for sure."""
    found = {(row.block, row.species): row.not_rated for row in today.blocks}
    assert found["GATE", "CM"] == "a reading over more than 10 days"
    assert found["GATE", "OFM"] == "the rule is for any one trap"
    assert found["MILL", "OBLR"] == "the rule is for a sum"
    assert found["POND", "CM"] == "under mating disruption"
    assert found["MILL", "CM"] == found["WALL", "GPTB"] == found["OWLS", "CM"] == ""
    compared = [row for row in today.blocks if row.status in {Status.OVER, Status.WITHIN, Status.BELOW}]
    assert all((row.sure is None) == bool(row.not_rated) for row in compared)
