"""Situations in which a figure once said what nobody had read: each is told, with the figure it must give."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from roundtui.domain.figures.threshold import Treatment
from roundtui.domain.figures.verdicts import Status
from roundtui.domain.programme.farm import Block
from tests.domain.orchard import Orchard, day, rule


class TestAConflictInsideTheWindow:
    """Two scouts read A1 on 4 May, Ada 2 and Ben 12; nobody has settled it."""

    def orchard(self, **ada: bool) -> Orchard:
        orchard = Orchard()
        orchard.hang("A1", on="04-24")
        orchard.visit("A1", "05-01", 1)
        orchard.visit("A1", "05-04", 2, **ada)
        orchard.visit("A1", "05-04", 12, scout="Ben")
        return orchard

    def test_four_days_that_follow_it_are_no_week_of_their_own(self) -> None:
        """Four moths in the four days after would be 7 a week, and over."""
        orchard = self.orchard()
        orchard.visit("A1", "05-08", 4)
        row = orchard.row("05-08")
        assert (row.mean_per_week, row.status, row.counted) == (None, Status.CANNOT_TELL, 0)
        assert row.why == "two counts of one trap on one day"

    def test_once_the_day_has_left_the_window_the_reading_after_it_counts(self) -> None:
        orchard = self.orchard()
        orchard.visit("A1", "05-11", 7)
        assert orchard.row("05-11").mean_per_week == 7

    def test_where_moths_were_left_in_the_next_catch_is_unknown_and_the_one_after_it_counts(self) -> None:
        """Thirteen on the 11th less two left in would be 11 and over; less twelve, 1 and below."""
        orchard = self.orchard(cleared=False)
        orchard.visit("A1", "05-11", 13)
        row = orchard.row("05-11")
        assert (row.mean_per_week, row.status) == (None, Status.CANNOT_TELL)
        orchard.visit("A1", "05-18", 3)
        assert orchard.row("05-18").mean_per_week == 3

    @pytest.mark.parametrize("done", [{"liner": True}, {"body": "yes"}])
    def test_a_new_liner_or_body_ends_what_nobody_knows(self, done: dict[str, object]) -> None:
        orchard = self.orchard(cleared=False)
        orchard.visit("A1", "05-06", **done)
        orchard.visit("A1", "05-13", 3)
        assert orchard.row("05-13").mean_per_week == 3

    def test_a_trap_that_was_skipped_keeps_what_nobody_knows(self) -> None:
        orchard = self.orchard(cleared=False)
        orchard.visit("A1", "05-11", no="skipped")
        orchard.visit("A1", "05-18", 13)
        assert orchard.row("05-18").mean_per_week is None


class TestASwappedPair:
    """A1 (CM) and A2 (OFM) were given each other's lure on 1 May."""

    def orchard(self) -> Orchard:
        orchard = Orchard()
        orchard.hang("A1", on="04-01")
        orchard.hang("A2", on="04-01", species="OFM")
        orchard.visit("A1", "05-01", 0, lure="OFM")
        orchard.visit("A2", "05-01", 0, lure="CM")
        return orchard

    def kinds(self, orchard: Orchard, on: str) -> list[tuple[str, str, str | None]]:
        return [(one.trap, one.kind.value, str(one.since)) for one in orchard.summary(on).integrity]

    def test_stays_a_pair_while_a_wrong_lure_is_renewed(self) -> None:
        orchard = self.orchard()
        orchard.visit("A1", "05-29", 0, lure="OFM")
        swapped = [("A1", "swapped-lures", "2025-05-01"), ("A2", "swapped-lures", "2025-05-01")]
        assert self.kinds(orchard, "05-30") == swapped

    def test_ends_when_one_is_righted_and_the_other_keeps_its_day(self) -> None:
        orchard = self.orchard()
        orchard.visit("A1", "05-29", 0, lure="CM")
        assert self.kinds(orchard, "05-30") == [
            ("A2", "wrong-lure", "2025-05-01"),
            ("A1", "scented-body", "2025-05-01"),
        ]

    def test_two_wrong_lures_renewed_on_one_day_become_a_pair_then(self) -> None:
        orchard = Orchard()
        orchard.hang("A1", on="04-01")
        orchard.hang("A2", on="04-01", species="OFM")
        orchard.visit("A1", "05-01", 0, lure="OFM")
        orchard.visit("A2", "05-08", 0, lure="CM")
        assert {kind for _, kind, _ in self.kinds(orchard, "05-09")} == {"wrong-lure"}
        orchard.visit("A1", "05-15", 0, lure="OFM")
        orchard.visit("A2", "05-15", 0, lure="CM")
        assert {kind for _, kind, _ in self.kinds(orchard, "05-16")} == {"swapped-lures"}


class TestALowCatchUnderDisruption:
    """The office's own rule is for undisrupted blocks alone; the disrupted block has none of its own."""

    def orchard(self, *rules: object) -> Orchard:
        orchard = Orchard(rules=rules)  # type: ignore[arg-type]
        orchard.hang("A1", "A2", on="04-01")
        orchard.blocks["N1"] = Block("N1", "N", "N1", "apple", disrupted=True)
        return orchard

    def test_a_weeks_mean_is_not_held_against_a_sum_since_hanging(self) -> None:
        """Four weeks of 6 and 2: 16 a trap since hanging, over the sum's 10. A week's mean of 4 says nothing of it."""
        orchard = self.orchard(rule("cumulative", 10, 20, since="hanging", disrupted=False))
        for on in ("04-08", "04-15", "04-22", "04-29"):
            orchard.visit("A1", on, 6)
            orchard.visit("A2", on, 2)
        row = orchard.row("04-29")
        assert (row.status, row.mean_per_week, row.weak_evidence) == (Status.NO_RULE, 4, False)
        assert orchard.row("04-15").weak_evidence, "eight so far are below ten"

    def test_a_rule_of_the_highest_trap_is_asked_for_the_highest_trap(self) -> None:
        orchard = self.orchard(rule("single-trap", 5, 5, disrupted=False))
        orchard.visit("A1", "04-08", 6)
        orchard.visit("A2", "04-08", 0)
        assert not orchard.row("04-08").weak_evidence
        orchard.visit("A1", "04-15", 4)
        orchard.visit("A2", "04-15", 0)
        assert orchard.row("04-15").weak_evidence


class TestAReadingOverMoreThanFourWeeks:
    """The register says hung since last season, and nobody read the trap over winter."""

    def orchard(self) -> Orchard:
        orchard = Orchard()
        orchard.hang("A1", on="2024-04-01")
        orchard.visit("A1", "2024-09-01", 0)
        orchard.visit("A1", "05-06", 40)
        return orchard

    def test_has_no_weekly_rate_and_its_block_cannot_be_told(self) -> None:
        """Forty moths on the first round of May, thinned out over winter, once read as 1.1 a week and below."""
        orchard = self.orchard()
        summary = orchard.summary("05-06")
        row = summary.blocks[0]
        assert (row.mean_per_week, row.max_per_week, row.mean_with_suspect) == (None, None, None)
        assert (row.read, row.counted, row.status) == (1, 0, Status.CANNOT_TELL)
        assert row.why == "a reading over 247 days has no weekly rate"
        (one,) = summary.long_readings
        assert (one.trap, one.read_on, one.count, one.days) == ("A1", day("05-06"), 40, 247)

    def test_leaves_the_mean_to_the_other_traps(self) -> None:
        orchard = self.orchard()
        orchard.hang("A2", on="04-29")
        orchard.visit("A2", "05-06", 6)
        row = orchard.row("05-06")
        assert (row.mean_per_week, row.counted, row.thin, row.status) == (6, 1, True, Status.OVER)

    def test_stays_in_the_seasons_sum(self) -> None:
        """Of its 247 nights 126 lie after 31 December."""
        assert self.orchard().row("05-06").cumulative == Fraction(40 * 126, 247)

    def test_is_an_open_week_of_a_running_rule(self) -> None:
        orchard = self.orchard()
        orchard.rules = (rule("running", 2, 2, weeks=2),)
        orchard.visit("A1", "05-13", 9)
        assert orchard.row("05-13").status is Status.CANNOT_TELL

    def test_counts_up_to_four_weeks_exactly(self) -> None:
        orchard = Orchard()
        orchard.hang("A1", "A2", on="05-01")
        orchard.visit("A1", "05-29", 8)
        orchard.visit("A2", "05-30", 8)
        assert orchard.row("05-30").mean_per_week == 2
        assert [(one.trap, one.days) for one in orchard.summary("05-30").long_readings] == [("A2", 29)]


class TestATreatmentBeforeASumBegins:
    """One moth a day from 1 May. The sum runs from biofix on 11 May; the grower sprayed on the 8th."""

    def value(self, **after: object) -> Fraction | None:
        orchard = Orchard(rules=(rule("cumulative", 5, 5, since="biofix", **after),))
        orchard.hang("A1", on="05-01")
        orchard.visit("A1", "05-15", 14)
        orchard.visit("A1", "05-31", 16)
        sprayed = [Treatment("N1", "CM", day("05-08"))]
        row = orchard.row("05-31", biofix={("N1", "CM"): day("05-11")}, treatments=sprayed)
        assert row.rule is not None
        return row.rule.value

    def test_holds_the_first_days_of_the_sum(self) -> None:
        """Ten days from the 8th end on the 18th, so the 19th is the first that counts: 13 days."""
        assert self.value(after_treatment="hold", days=10) == 13

    def test_makes_the_sum_begin_later(self) -> None:
        assert self.value(after_treatment="restart", days=10) == 13

    def test_that_has_run_out_changes_nothing(self) -> None:
        assert self.value(after_treatment="restart") == 21
        assert self.value(after_treatment="hold", days=2) == 21


class TestATrapThatWasNotReadThisWeek:
    """Three traps through the peak of a flight; in the week of its end A3 was not read."""

    def test_leaves_the_flight_past_its_peak(self) -> None:
        orchard = Orchard()
        orchard.hang("A1", "A2", "A3", on="06-02")
        for on, *counts in (("06-09", 20, 25, 18), ("06-16", 19, 22, 14), ("06-23", 5, 3)):
            for trap, count in zip(("A1", "A2", "A3"), counts, strict=False):
                orchard.visit(trap, on, count)
        assert [orchard.row(on).past_peak for on in ("06-16", "06-23")] == [False, True]


class TestNotRead:
    """Each trap stands in the list once."""

    def test_a_trap_moved_between_two_blocks_is_named_in_the_later_one(self) -> None:
        orchard = Orchard()
        orchard.hang("A1", on="04-01", down="05-05")
        orchard.hang("A1", on="05-05", block="S1")
        assert [(one.trap, one.block) for one in orchard.summary("05-08").not_read] == [("A1", "S1")]

    def test_a_trap_read_before_it_was_moved_counts_as_read(self) -> None:
        orchard = Orchard()
        orchard.hang("A1", on="04-01", down="05-05")
        orchard.hang("A1", on="05-05", block="S1")
        orchard.visit("A1", "05-05", 3)
        assert orchard.summary("05-08").not_read == ()
        assert [(row.block, row.read) for row in orchard.summary("05-08").blocks if row.read] == [("N1", 1)]


class TestAWrongLureFoundLater:
    """A1 caught 6 and 7 moths of codling moth with a lure that turns out on 15 May to have been for OFM all along."""

    def orchard(self) -> Orchard:
        orchard = Orchard()
        orchard.hang("A1", "A2", on="04-24")
        for on, count in (("05-01", 6), ("05-08", 7)):
            orchard.visit("A1", on, count)
            orchard.visit("A2", on, 1)
        return orchard

    def test_changes_the_summaries_of_the_weeks_it_covered(self) -> None:
        orchard = self.orchard()
        assert (orchard.row("05-08").mean_per_week, orchard.row("05-08").status) == (4, Status.WITHIN)
        orchard.visit("A1", "05-15", 5, lure_found="OFM", lure="CM", body="yes")
        row = orchard.row("05-08")
        assert (row.mean_per_week, row.status, row.previous_per_week) == (1, Status.BELOW, 1)
        assert [(one.trap, one.kind) for one in orchard.summary("05-08").integrity] == [("A1", "wrong-lure")]

    def test_is_the_lure_of_the_last_change_before_it_was_found(self) -> None:
        orchard = self.orchard()
        orchard.visits[2] = replace(orchard.visits[2], lure="CM")
        orchard.visit("A1", "05-15", 5, lure_found="OFM")
        assert orchard.row("05-08").mean_per_week == 4, "the lure found was put in on the 8th, after that count"
        assert orchard.row("05-15").mean_per_week is None
