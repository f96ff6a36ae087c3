"""A block's figure: which traps and which days stand behind it.

Means over the traps of one species in a block are common practice, no source.
"""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction

from roundtui.domain.figures.figures import Reading, Series, rate, readings, summed
from roundtui.domain.figures.history import season_start
from roundtui.domain.figures.verdicts import Status
from tests.domain.orchard import Orchard, day, rule


def test_eight_ten_and_one_moths_over_seven_twelve_and_six_days_are_exactly_five_a_week_and_over() -> None:
    """8 + 10 * 7/12 + 7/6 = 8 + 35/6 + 7/6 = 15, over three traps 5: floats would fall a hair below."""
    orchard = Orchard()
    orchard.hang("A1", on="05-01")
    orchard.hang("A2", on="04-26")
    orchard.hang("A3", on="05-02")
    for trap, count in (("A1", 8), ("A2", 10), ("A3", 1)):
        orchard.visit(trap, "05-08", count)
    row = orchard.row("05-08")
    assert (row.mean_per_week, row.status, row.rule.value) == (5, Status.OVER, 5)
    assert (row.band, row.thin, row.days, row.catch) == ((3, 5), False, (6, 12), 19)
    assert row.max_per_week == 8
    # A trap a day is moths over trap-days, FTD = F ÷ (T × D): 19 ÷ 25, pooled; the mean of the rates is 5 ÷ 7 = 0.714.
    # Formula of ISPM 26 and FAO/IAEA from memory. A threshold of 3 a week is 0.4286 a day.
    assert (row.per_day, 7 * row.per_day, row.unlike) == (Fraction(19, 25), Fraction("5.32"), (6, 12))


def test_a_mean_that_pools_unlike_intervals_says_so() -> None:
    """Oriental fruit moth traps "cleared daily caught fewer moths than those serviced at longer intervals".

    Source: Some factors influencing the performance of pheromone traps, Australia, abstract, scilit.com. From twice as
    long on it is named: common practice, no source.
    """
    for second, unlike in (("05-07", None), ("05-04", (3, 7))):
        orchard = Orchard()
        orchard.hang("A1", "A2", on="05-01")
        orchard.visit("A1", "05-08", 7)
        orchard.visit("A2", second, 3)
        assert orchard.row("05-08").unlike == unlike


def test_a_blank_is_not_a_zero() -> None:
    orchard = Orchard()
    orchard.hang("A1", "A2", "A3", "A4", on="05-01")
    orchard.visit("A1", "05-08", 6)
    orchard.visit("A2", "05-08", 0)
    orchard.visit("A3", "05-08", no="skipped")
    row = orchard.row("05-08")
    assert (row.hung, row.read, row.counted, row.mean_per_week, row.thin) == (4, 2, 2, 3, True)
    assert [(one.trap, one.reason) for one in orchard.summary("05-08").not_read] == [("A3", "skipped"), ("A4", None)]


def test_flags_alone_leave_a_trap_unread() -> None:
    orchard = Orchard()
    orchard.hang("A1", on="05-01")
    orchard.visit("A1", "05-08", liner=True)
    summary = orchard.summary("05-08")
    assert summary.blocks[0].status is Status.NOT_READ
    assert [(one.trap, one.reason) for one in summary.not_read] == [("A1", None)]


def test_readings_twice_a_week_are_joined_moths_over_days() -> None:
    orchard = Orchard()
    orchard.hang("A1", on="05-01")
    orchard.visit("A1", "05-08", 2)
    orchard.visit("A1", "05-12", 4)
    orchard.visit("A1", "05-15", 3)
    assert orchard.row("05-15").mean_per_week == 7
    assert orchard.row("05-12").mean_per_week == Fraction(4 * 7, 4)
    assert orchard.row("05-15").previous_per_week == 2


def test_a_long_reading_is_not_joined_with_the_one_that_follows_it() -> None:
    """Twelve days that began before the week say nothing sharp about it; the newest three do."""
    orchard = Orchard()
    orchard.hang("A1", on="05-01")
    orchard.visit("A1", "05-13", 24)
    orchard.visit("A1", "05-16", 3)
    assert orchard.row("05-16").mean_per_week == 7
    assert orchard.row("05-13").mean_per_week == 14


def test_the_previous_figure_is_that_of_the_newest_day_before_the_readings_used_now() -> None:
    orchard = Orchard()
    orchard.hang("A1", "A2", on="05-01")
    for on, counts in (("05-08", (1, 3)), ("05-15", (5, 7))):
        for trap, count in zip(("A1", "A2"), counts, strict=True):
            orchard.visit(trap, on, count)
    assert (orchard.row("05-15").mean_per_week, orchard.row("05-15").previous_per_week) == (6, 2)
    assert orchard.row("05-08").previous_per_week is None
    assert orchard.row("05-21").mean_per_week == 6, "the window still holds the readings of the 15th"


def test_edge_traps_stand_beside_the_figure_unless_the_rule_takes_them() -> None:
    orchard = Orchard()
    orchard.hang("A1", "A2", on="05-01")
    orchard.hang("E1", on="05-01", edge=True)
    for trap, count in (("A1", 2), ("A2", 4), ("E1", 30)):
        orchard.visit(trap, "05-08", count)
    row = orchard.row("05-08")
    assert (row.mean_per_week, row.edge_mean, row.max_per_week, row.read, row.counted) == (3, 30, 4, 3, 2)
    orchard.rules = (rule(edge=True),)
    assert orchard.row("05-08").mean_per_week == 12


def test_a_trap_taken_down_or_not_yet_hung_is_not_expected() -> None:
    """A trap hung on the summary's day has no night in the window; one down since a week has none either."""
    orchard = Orchard()
    orchard.hang("A1", on="04-01")
    orchard.hang("A2", on="05-08")
    orchard.hang("A3", on="04-01", down="05-01")
    orchard.hang("A4", on="04-01", down="05-02")
    orchard.hang("A5", on="05-07")
    assert [one.trap for one in orchard.summary("05-08").not_read] == ["A1", "A4", "A5"]


def test_a_conflict_puts_the_trap_out_of_the_mean_until_it_is_settled() -> None:
    orchard = Orchard()
    orchard.hang("A1", "A2", on="05-01")
    orchard.visit("A1", "05-08", 4)
    orchard.visit("A1", "05-08", 40, scout="Ben")
    orchard.visit("A2", "05-08", 1)
    summary = orchard.summary("05-08")
    assert (summary.blocks[0].read, summary.blocks[0].counted, summary.blocks[0].mean_per_week) == (2, 1, 1)
    (conflict,) = summary.conflicts
    assert (conflict.trap, conflict.entries, conflict.counts) == ("A1", ("v0000", "v0001"), (("Ada", 4), ("Ben", 40)))


def test_a_count_below_what_was_left_in_is_shown_and_is_no_figure() -> None:
    orchard = Orchard()
    orchard.hang("A1", "A2", on="05-01")
    orchard.visit("A1", "05-08", 9, cleared=False)
    orchard.visit("A1", "05-15", 4)
    orchard.visit("A2", "05-15", 2)
    row = orchard.row("05-15")
    assert (row.read, row.counted, row.mean_per_week) == (2, 1, 1)


def test_a_moved_trap_starts_a_new_series_in_its_new_block() -> None:
    """Read and moved on one day: that count belongs to the old block, and the new block's days begin there."""
    orchard = Orchard()
    orchard.hang("A1", on="05-01", block="N1", down="05-08")
    orchard.hang("A1", on="05-08", block="S1")
    orchard.visit("A1", "05-08", 7)
    orchard.visit("A1", "05-15", 2)
    assert orchard.row("05-08", "N1").mean_per_week == 7
    row = orchard.row("05-15", "S1")
    assert (row.mean_per_week, row.previous_per_week, row.cumulative) == (2, None, 2)


class TestCumulative:
    def test_it_sums_the_days_mean_catch_over_the_traps_that_cover_the_day(self) -> None:
        """A1 alone covers 2-8 May at 1 a day; on 9-15 May A1 has 2 a day and A2 none: 7 + 7 * 1 = 14."""
        orchard = Orchard()
        orchard.hang("A1", on="05-01")
        orchard.hang("A2", on="05-08")
        orchard.visit("A1", "05-08", 7)
        orchard.visit("A1", "05-15", 14)
        orchard.visit("A2", "05-15", 0)
        assert orchard.row("05-15").cumulative == 14

    def test_a_trap_that_was_down_leaves_its_days_to_the_others(self) -> None:
        orchard = Orchard()
        orchard.hang("A1", "A2", on="05-01")
        orchard.visit("A1", "05-08", 7)
        orchard.visit("A2", "05-08", no="down")
        assert orchard.row("05-08").cumulative == 7

    def test_it_begins_with_the_season_of_the_office(self) -> None:
        """Seven moths over 29 May - 4 June; with a season from 1 June, 1-4 June hold four of them."""
        orchard = Orchard(starts_on=(6, 1))
        orchard.hang("A1", on="05-28")
        orchard.visit("A1", "06-04", 7)
        assert orchard.row("06-04").cumulative == 4

    def test_a_season_may_run_over_the_end_of_the_year(self) -> None:
        """ "Export season: From 01 August to 31 July next year": Taiwan, requirements for apples from France, 2012."""
        seasons = [season_start(date(2026, 7, 31) + timedelta(days=more), (8, 1)) for more in (0, 1)]
        assert seasons == [date(2025, 8, 1), date(2026, 8, 1)]


class TestRules:
    def orchard(self, **visits: int) -> Orchard:
        orchard = Orchard()
        orchard.hang(*visits, on="05-01")
        for trap, count in visits.items():
            orchard.visit(trap, "05-08", count)
        return orchard

    def test_below_within_and_over_by_the_band(self) -> None:
        for count, status in ((2, "below"), (3, "within"), (4, "within"), (5, "over")):
            assert self.orchard(A1=count).row("05-08").status == status

    def test_one_number_is_a_band_without_a_within(self) -> None:
        orchard = self.orchard(A1=2)
        orchard.rules = (rule(low="2", high="2"),)
        assert orchard.row("05-08").status is Status.OVER
        orchard.rules = (rule(low="2.4", high="2.4"),)
        assert orchard.row("05-08").status is Status.BELOW

    def test_a_single_trap_rule_looks_at_the_highest(self) -> None:
        orchard = self.orchard(A1=0, A2=0, A3=6)
        orchard.rules = (rule("single-trap", 6, 6),)
        row = orchard.row("05-08")
        assert (row.status, row.rule.value, row.mean_per_week) == ("over", 6, 2)

    def test_the_office_comes_before_us_and_the_rule_that_says_most_before_the_rest(self) -> None:
        orchard = self.orchard(A1=4)
        general, may = rule(low=9, high=9, id="general"), rule(low=1, high=1, id="may", months=(5,))
        orchard.rules = (general, may, *orchard.rules)
        assert orchard.row("05-08").rule.id == "may"
        orchard.rules = (general, rule(low=1, high=1, id="june", months=(6,)), *Orchard().rules)
        assert orchard.row("05-08").rule.id == "general"

    def test_two_rules_that_fit_equally_well_cannot_tell_and_stop_nothing_else(self) -> None:
        orchard = self.orchard(A1=4)
        orchard.hang("B1", on="05-01", block="S1", species="OFM")
        orchard.visit("B1", "05-08", 4)
        orchard.rules = (rule(id="one"), rule(id="two"), rule(id="other", species="OFM"))
        row = orchard.row("05-08")
        assert (row.status, row.rule, row.band, row.rules) == ("cannot-tell", None, None, ("one", "two"))
        assert row.why == "the rules one and two fit equally well"
        assert row.mean_per_week == 4
        assert orchard.row("05-08", "S1", "OFM").status is Status.WITHIN

    def test_without_a_rule_for_disruption_there_is_no_rule_and_a_low_catch_is_weak_evidence(self) -> None:
        """A zero under mating disruption says little: the traps are as disrupted as the moths."""
        from dataclasses import replace

        for count, weak in ((0, True), (2, True), (7, False)):
            orchard = self.orchard(A1=count)
            orchard.blocks["N1"] = replace(orchard.blocks["N1"], disrupted=True)
            row = orchard.row("05-08")
            assert (row.status, row.rule, row.band, row.weak_evidence) == (Status.NO_RULE, None, None, weak)
        orchard.rules = (rule(low=8, high=9, disrupted=True),)
        row = orchard.row("05-08")
        assert (row.status, row.weak_evidence) == (Status.BELOW, True)

    def test_species_without_a_rule_have_none(self) -> None:
        orchard = Orchard()
        orchard.hang("A1", species="RBLR")
        orchard.visit("A1", "05-08", 50)
        assert orchard.row("05-08", species="RBLR").status is Status.NO_RULE


class TestRunning:
    """Two or more moths in each of two successive weeks.

    Source: Brunner 1993, rev. 2018, Monitoring and identification, Washington State University Tree Fruit.
    """

    def orchard(self, *visits: tuple[str, int | str], hung: str = "05-01") -> Orchard:
        orchard = Orchard(rules=(rule("running", 2, 2, weeks=2),))
        orchard.hang("A1", on=hung)
        for on, seen in visits:
            if isinstance(seen, str):
                orchard.visit("A1", on, no=seen)
            else:
                orchard.visit("A1", on, seen)
        return orchard

    def test_two_weeks_of_two_are_over(self) -> None:
        row = self.orchard(("05-08", 2), ("05-15", 3)).row("05-15")
        assert (row.status, row.rule.value) == ("over", 2)
        weeks = {(2, 2): "over", (2, 1): "below", (1, 2): "below"}
        assert {pair: self.orchard(("05-08", pair[0]), ("05-15", pair[1])).row("05-15").status for pair in weeks} == (
            weeks
        )

    def test_a_week_of_one_between_them_is_below(self) -> None:
        assert self.orchard(("05-08", 1), ("05-15", 9)).row("05-15").status == "below"

    def test_a_missed_week_inside_the_two_cannot_be_told(self) -> None:
        """Three moths, a week not reached, then nine over a fortnight: how they fell nobody knows."""
        row = self.orchard(("05-08", 3), ("05-15", "skipped"), ("05-22", 9)).row("05-22")
        assert (row.status, row.rule.value) == ("cannot-tell", None)

    def test_a_missed_week_does_not_matter_where_the_other_settles_it(self) -> None:
        assert self.orchard(("05-08", 1), ("05-15", "skipped"), ("05-22", 9)).row("05-22").status == "below"
        assert self.orchard(("05-08", 3), ("05-15", "skipped"), ("05-22", 1)).row("05-22").status == "below"

    def test_a_week_in_which_the_trap_lay_down_is_open(self) -> None:
        assert self.orchard(("05-08", 3), ("05-15", "down"), ("05-22", 9)).row("05-22").status == "cannot-tell"
        assert self.orchard(("05-08", 3), ("05-15", "down"), ("05-22", 1)).row("05-22").status == "below"

    def test_the_first_week_of_a_season_can_only_be_below_or_cannot_tell(self) -> None:
        assert self.orchard(("05-08", 9)).row("05-08").status == "cannot-tell"
        assert self.orchard(("05-08", 0)).row("05-08").status == "below"

    def test_short_readings_join_to_a_week(self) -> None:
        """Three days each: 1, 2, then 3 and 1 moths. The last two make a week of 4 * 7/6; before it 3 * 7/6."""
        visits = (("05-04", 1), ("05-07", 2), ("05-10", 3), ("05-13", 1))
        row = self.orchard(*visits).row("05-13")
        assert (row.status, row.rule.value) == ("over", Fraction(3 * 7, 6))

    def week(self, *visits: tuple[str, int | str], on: str) -> str:
        """Status under a rule of two or more in one week."""
        orchard = self.orchard(*visits)
        orchard.rules = (rule("running", 2, 2, weeks=1),)
        return orchard.row(on).status

    def test_several_short_readings_join_to_one_week(self) -> None:
        """A day with 1 moth, one with 1, and six with none before them: two in eight days are under two a week."""
        assert self.week(("05-07", 0), ("05-08", 1), ("05-09", 1), on="05-15") == "below"

    def test_four_to_ten_days_are_one_week(self) -> None:
        assert self.week(("05-08", 0), ("05-12", 2), on="05-12") == "over"
        assert [self.week((on, 3), on=on) for on in ("05-11", "05-12")] == ["over", "cannot-tell"]

    def test_four_days_without_a_reading_are_an_open_week(self) -> None:
        row = self.orchard(("05-08", 3), ("05-12", "down"), ("05-19", 9)).row("05-19")
        assert (row.status, row.why) == ("cannot-tell", "1 of the last 2 weeks open, and the verdict depends on it")
        assert self.orchard(("05-08", 3), ("05-11", "down"), ("05-18", 9)).row("05-18").status == "over"

    def test_of_three_weeks_those_are_counted_that_are_open(self) -> None:
        orchard = self.orchard(("05-08", 3), ("05-12", "down"), ("05-19", 9))
        orchard.rules = (rule("running", 2, 2, weeks=3),)
        assert orchard.row("05-19").why == "1 of the last 3 weeks open, and the verdict depends on it"

    def test_a_short_reading_alone_joins_the_week_before_it(self) -> None:
        """Seven days with 1 moth, then three with 4: five in ten days is one week, and the one before it is open."""
        row = self.orchard(("05-08", 2), ("05-15", 1), ("05-18", 4)).row("05-18")
        assert (row.status, row.rule.value) == ("over", 2)


class TestCumulativeRules:
    def test_since_a_stage_counts_from_the_day_it_was_seen(self) -> None:
        orchard = Orchard(rules=(rule("cumulative", 5, 5, since="65"),))
        orchard.hang("A1", on="05-01")
        orchard.visit("A1", "05-08", 7)
        assert orchard.row("05-08").status == "cannot-tell"
        orchard.see("N1", "05-01", "57")
        row = orchard.row("05-08")
        assert (row.status, row.rule.value) == ("below", 0)
        orchard.see("N1", "05-05", "65")
        row = orchard.row("05-08")
        assert (row.status, row.rule.value) == ("below", 4)

    def test_since_biofix_waits_for_one(self) -> None:
        from tests.domain.orchard import day

        orchard = Orchard(rules=(rule("cumulative", 5, 5, since="biofix"),))
        orchard.hang("A1", on="05-01")
        orchard.visit("A1", "05-08", 7)
        assert orchard.row("05-08").status == "cannot-tell"
        row = orchard.row("05-08", biofix={("N1", "CM"): day("05-03")})
        assert (row.status, row.rule.value) == ("over", 6)
        assert orchard.row("05-08", biofix={("N1", "CM"): day("05-08")}).rule.value == 1, "confirmed for that day"
        assert orchard.row("05-08", biofix={("N1", "CM"): day("05-09")}).status == "cannot-tell"

    def test_a_treatment_holds_or_restarts_the_sum(self) -> None:
        """Apple maggot is not summed for 12 days after a treatment. Source: New York trap threshold trials 1986-88."""
        from roundtui.domain.figures.threshold import Treatment
        from tests.domain.orchard import day

        orchard = Orchard(rules=(rule("cumulative", 5, 5, after_treatment="hold", days=12),))
        orchard.hang("A1", on="05-01")
        orchard.visit("A1", "05-15", 14)
        orchard.visit("A1", "05-31", 16)
        sprayed = [Treatment("N1", "CM", day("05-10"))]
        assert orchard.row("05-31", treatments=sprayed).rule.value == 18
        orchard.rules = (rule("cumulative", 5, 5, after_treatment="restart"),)
        assert orchard.row("05-31", treatments=sprayed).rule.value == 21
        assert orchard.row("05-31", treatments=[Treatment("S9", "CM", day("05-10"))]).rule.value == 30
        orchard.starts_on = (5, 6)
        first_day = [Treatment("N1", "CM", day("05-06"))]
        assert [orchard.row("05-31", treatments=of).rule.value for of in ([], first_day)] == [26, 25]

    def test_a_sum_that_begins_anew_after_days_waits_for_the_last_treatment(self) -> None:
        """One moth a day from 1 May. Anew ten days after the 10th is from the 21st, after the 15th from the 26th."""
        from roundtui.domain.figures.threshold import Treatment
        from tests.domain.orchard import day

        orchard = Orchard(rules=(rule("cumulative", 5, 5, after_treatment="restart", days=10),))
        orchard.hang("A1", on="05-01")
        orchard.visit("A1", "05-15", 14)
        orchard.visit("A1", "05-31", 16)
        sprayed = [Treatment("N1", "CM", day(on)) for on in ("05-10", "05-15")]
        assert orchard.row("05-31", treatments=sprayed[:1]).rule.value == 11
        assert orchard.row("05-31", treatments=sprayed).rule.value == 6
        orchard.visit("A1", "06-02", 2)
        for on in ("2025-06-01", "2025-06-02"):
            row = orchard.row("06-02", treatments=[Treatment("N1", "CM", date.fromisoformat(on))])
            assert (row.rule.value, row.status) == (0, "below")
            assert row.why == f"the sum starts again after the treatment of {on}"


class TestUnlikely:
    def test_ten_times_a_traps_own_past_is_remarked_on_and_kept(self) -> None:
        orchard = Orchard()
        orchard.hang("A1", on="05-01")
        for on, count in (("05-08", 4), ("05-15", 3), ("05-22", 40)):
            orchard.visit("A1", on, count)
        summary = orchard.summary("05-22")
        assert [(one.trap, one.count) for one in summary.unlikely] == [("A1", 40)]
        assert summary.blocks[0].mean_per_week == 40

    def test_a_flight_that_begins_is_not(self) -> None:
        orchard = Orchard()
        orchard.hang("A1", on="05-01")
        for on, count in (("05-08", 0), ("05-15", 2), ("05-22", 9), ("05-29", 16)):
            orchard.visit("A1", on, count)
        assert not orchard.summary("05-22").unlikely
        assert not orchard.summary("05-29").unlikely

    def test_a_trap_without_a_past_has_little_to_be_measured_by(self) -> None:
        for count, marked in ((40, False), (500, True)):
            orchard = Orchard()
            orchard.hang("A1", on="05-01")
            orchard.visit("A1", "05-08", count)
            assert bool(orchard.summary("05-08").unlikely) is marked

    def test_the_others_of_the_round_say_what_is_likely(self) -> None:
        for others, marked in ((3, True), (60, False)):
            orchard = Orchard()
            for trap in ("A1", "A2", "A3", "A4", "A5"):
                orchard.hang(trap, on="05-01")
                orchard.visit(trap, "05-08", 4)
                orchard.visit(trap, "05-15", 5)
                orchard.visit(trap, "05-22", 70 if trap == "A5" else others)
            found = {one.trap for one in orchard.summary("05-22").unlikely}
            assert ("A5" in found) is marked, others

    def test_two_traps_of_another_block_that_caught_nothing_mark_no_count(self) -> None:
        orchard = Orchard()
        for trap, block in (("A1", "N1"), ("A2", "N1"), ("B1", "N2")):
            orchard.hang(trap, block=block, on="05-01")
            for on, count in (("05-08", 4), ("05-15", 5), ("05-22", 5 if trap == "B1" else 0)):
                orchard.visit(trap, on, count)
        assert not orchard.summary("05-22").unlikely


def test_a_previous_figure_of_more_than_two_weeks_ago_has_its_day() -> None:
    """Read on 8 May, then not until the 22nd: 14 days lie between; a day more and the day is named."""
    orchard = Orchard()
    orchard.hang("A1", on="05-01")
    orchard.visit("A1", "05-08", 2)
    orchard.visit("A1", "05-22", 4)
    assert orchard.row("05-22").previous_on is None
    row = orchard.row("05-23")
    assert (row.previous_per_week, row.previous_on) == (2, date(2025, 5, 8))


def test_a_reading_without_days_or_moths_has_no_rate() -> None:
    """Two counts on the day of hanging, as a bundle may bring them; and one below what was left in."""
    first, week = day("05-01"), day("05-08")
    no_days, no_net = Reading("A1", first, first, 4, 4, ()), Reading("A1", week, first, 4, None, ())
    assert [(one.rated, one.pace, one.per_week) for one in (no_days, no_net)] == [(False, None, None)] * 2
    assert rate([no_days, no_net, Reading("A1", week, first, 2, 2, ())]) == 2


def test_moths_counted_on_the_day_of_hanging_alone_are_no_sum_of_the_season() -> None:
    orchard = Orchard()
    orchard.hang("A1", "A2", on="05-08")
    for trap in ("A1", "A2"):
        orchard.visit(trap, "05-08", 3)
    row = orchard.row("05-10")
    assert (row.read, row.mean_per_week, row.cumulative) == (2, None, None)


def test_a_sum_takes_in_no_reading_that_begins_on_its_last_day() -> None:
    orchard = Orchard()
    orchard.hang("A1", on="05-01")
    for on in ("05-08", "05-15"):
        orchard.visit("A1", on, 7)
    rows = [Series(orchard.traps[0], tuple(readings(orchard.traps[0], orchard.visits)))]
    assert [[one.read_on for one in summed(row, day("05-01"), day("05-08"))] for row in rows] == [[day("05-08")]]


def test_a_block_whose_only_count_lies_below_what_was_left_in_says_so() -> None:
    orchard = Orchard()
    orchard.hang("A1", on="05-01")
    orchard.visit("A1", "05-08", 7, cleared=False)
    orchard.visit("A1", "05-15", 5)
    row = orchard.row("05-15")
    assert (row.status, row.why) == ("cannot-tell", "no reading has a rate: its catch or its days are not known")
