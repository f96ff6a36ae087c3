"""Which rule a block is judged by: what is on record of its lures, traps and area, and what nobody wrote down.

Why a rule carries so many conditions: published codling moth thresholds run from 2 to 10 a trap and week, each for its
own lure, trap and ground to a trap (Washington State University, NIAB, University of Wisconsin; see docs/methods.md).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction

from roundtui.domain.figures.rules import Rule
from roundtui.domain.figures.threshold import Treatment
from tests.domain.orchard import Orchard, day, rule


def orchard(*rules: Rule, **hung: object) -> Orchard:
    """One codling moth trap with 6 moths in its week."""
    made = Orchard(rules=rules) if rules else Orchard()
    made.lot("ONE", "CM", load_mg=Fraction(1), kind="1x")
    made.lot("TEN", "CM", load_mg=Fraction(10), kind="10×")
    made.lot("BLANK", "CM")
    made.hang("A1", on="05-01", **hung)  # type: ignore[arg-type]
    made.visit("A1", "05-08", 6)
    return made


def said(made: Orchard, on: str = "05-08", species: str = "CM") -> tuple[str, str | None, tuple[str, ...]]:
    row = made.row(on, species=species)
    return row.status.value, row.rule.id if row.rule else None, row.assumed


class TestTheShippedRule:
    def test_a_lure_of_one_milligram_is_judged(self) -> None:
        assert said(orchard(lot="ONE")) == ("over", "shipped-cm-mean", ())

    def test_a_block_that_nobody_read_says_why_it_has_no_threshold(self) -> None:
        row = orchard(lot="TEN").row("05-20")
        assert (row.status, row.band) == ("not-read", None)
        assert row.why == "no threshold: CM mean is for lures of 1 mg, not 10"
        assert orchard(lot="ONE").row("05-20").why == ""

    def test_a_load_nobody_wrote_down_is_judged_and_marked_assumed(self) -> None:
        for lot in ("", "BLANK"):
            assert said(orchard(lot=lot)) == ("over", "shipped-cm-mean", ("load_mg",))

    def test_a_strong_lure_has_no_rule_and_the_reason_is_said(self) -> None:
        """A 10 mg lure draws moths from further away: its catch is not the catch the number was printed for."""
        made = orchard(lot="TEN")
        assert said(made) == ("no-rule", None, ())
        assert made.row("05-08").why.startswith("CM mean is for lures of 1 mg, not 10")

    def test_one_strong_lure_among_weak_ones_is_enough(self) -> None:
        made = orchard(lot="ONE")
        made.hang("A2", on="05-01", lot="TEN")
        assert said(made)[0] == "over", "a trap that nobody read has no part in the figure"
        made.visit("A2", "05-08", 0)
        assert said(made)[0] == "no-rule"

    def test_a_suspect_trap_does_not_speak_for_the_block(self) -> None:
        """The trap with another species' strong lure is out of the figure, so its load is no matter."""
        made = orchard(lot="ONE")
        made.lot("OFM10", "OFM", load_mg=Fraction(10))
        made.hang("A2", on="05-01", lot="OFM10")
        made.visit("A2", "05-08", 0)
        assert said(made)[0] == "over"

    def test_the_lure_that_caught_the_moths_counts_and_not_the_one_put_in_after_the_count(self) -> None:
        made = orchard(lot="ONE")
        made.visit("A1", "05-15", 6, lure="TEN")
        assert said(made, "05-15")[0] == "over"
        made.visit("A1", "05-22", 6, lure="ONE")
        assert said(made, "05-22")[0] == "no-rule"
        made.visit("A1", "05-29", 6)
        assert said(made, "05-29")[0] == "over"

    def test_a_lure_found_to_be_the_strong_one_was_it_since_it_was_put_in(self) -> None:
        made = orchard(lot="ONE")
        made.visit("A1", "05-08", lure="ONE")
        made.visit("A1", "05-15", 6)
        assert said(made, "05-15")[0] == "over"
        made.visit("A1", "05-22", 6, lure_found="TEN")
        assert (said(made, "05-15")[0], said(made, "05-22")[0], said(made)[0]) == ("over", "no-rule", "over")

    def test_a_lure_put_in_since_a_trap_was_moved_away_caught_nothing_of_the_block_it_left(self) -> None:
        made = orchard(lot="ONE")
        made.hang("B1", on="04-25", down="05-05", block="N2", lot="ONE")
        made.hang("B1", on="05-05", block="N3", lot="ONE")
        made.visit("B1", "05-05", 9)
        made.visit("B1", "05-06", lure="TEN")
        rows = [made.row(on, block="N2") for on in ("05-05", "05-06", "05-08")]
        assert [(row.status, row.rule and row.rule.id) for row in rows] == [("over", "shipped-cm-mean")] * 3

    def test_a_lure_put_in_since_a_trap_was_moved_away_never_hung_in_the_block_it_left(self) -> None:
        made = orchard(lot="ONE")
        made.hang("B1", on="05-01", down="05-05", block="N2", lot="ONE")
        made.hang("B1", on="05-05", block="N3", lot="ONE")
        for scout, count in (("Ada", 3), ("Ben", 9)):
            made.visit("B1", "05-04", count, scout=scout)
        made.visit("B1", "05-06", lure="TEN")
        row = made.row("05-08", block="N2")
        assert (row.status, row.rule and row.rule.id) == ("cannot-tell", "shipped-cm-mean")


class TestTheOfficesRules:
    def test_ours_judges_where_no_rule_of_the_office_fits(self) -> None:
        strong = rule(id="strong", high=20, low=20, load_mg=(Fraction(10), Fraction(10)))
        shipped = Orchard().rules
        assert said(orchard(strong, *shipped, lot="ONE")) == ("over", "shipped-cm-mean", ())
        assert said(orchard(strong, *shipped, lot="TEN")) == ("below", "strong", ())
        assert said(orchard(strong, *shipped)) == ("below", "strong", ("load_mg",)), "ours only where theirs do not fit"

    def test_kind_style_and_ground_to_a_trap(self) -> None:
        by_kind = rule(id="kind", lure_kind=("10x",))
        assert said(orchard(by_kind, lot="TEN"))[1:] == ("kind", ())
        assert said(orchard(by_kind, lot="ONE"))[0] == "no-rule"
        assert orchard(by_kind, lot="ONE").row("05-08").why == "kind is for 10x traps, not 1x"
        assert said(orchard(by_kind, lot="BLANK"))[1:] == ("kind", ("kind",))
        by_style = rule(id="style", style=("delta", "large-delta"))
        assert said(orchard(by_style, style="Large Delta"))[1:] == ("style", ())
        assert said(orchard(by_style, style="bucket"))[0] == "no-rule"
        assert said(orchard(by_style))[1:] == ("style", ("style",))
        by_area = rule(id="area", ha_per_trap=(Fraction(0), Fraction(2)))
        made = orchard(by_area)
        assert said(made)[1:] == ("area", ("area_ha",))
        made.blocks["N1"] = replace(made.blocks["N1"], area_ha=Fraction(3))
        assert said(made)[0] == "no-rule"
        assert made.row("05-08").why == "area is for a trap to 0–2 ha, not to 3"
        made.hang("A2", on="05-01")
        assert said(made)[1:] == ("area", ()), "two traps on 3 ha are one to 1.5"

    def test_a_rule_for_a_market_is_for_fruit_meant_for_it(self) -> None:
        """Apples to Taiwan: act at 3 a trap and week. Source: Council of Agriculture (Taiwan), 16 January 2012."""
        taiwan = rule(id="taiwan", low=3, high=3, market="Taiwan")
        made = orchard(taiwan)
        assert said(made)[0] == "no-rule"
        made.blocks["N1"] = replace(made.blocks["N1"], markets=("Mexico", "taiwan"))
        assert said(made) == ("over", "taiwan", ())

    def test_more_than_five_is_not_five(self) -> None:
        """West Virginia prints "exceeds 5 moths/trap/week", NIAB "5 or more": five moths tell them apart.

        Source: West Virginia University, The Orchard Monitor, 15 August 2005 and 6 August 2007.
        """
        for count, more_than, or_more in ((4, "below", "below"), (5, "below", "over"), (6, "over", "over")):
            for compare, status in ((">", more_than), (">=", or_more)):
                made = Orchard(rules=(rule(low=5, high=5, compare=compare),))
                made.hang("A1", on="05-01")
                made.visit("A1", "05-08", count)
                assert said(made)[0] == status

    def test_zero_is_expected_and_any_moth_is_news(self) -> None:
        """Oriental fruit moth under disruption: expect zero. Source: Ontario, Trap set up in disruption blocks."""
        made = Orchard(rules=(rule(low=0, high=0, compare=">"),))
        made.hang("A1", on="05-01")
        made.visit("A1", "05-08", 0)
        made.visit("A1", "05-15", 1)
        assert (said(made)[0], said(made, "05-15")[0]) == ("below", "over")

    def test_where_print_says_that_the_catch_does_not_decide_there_is_no_verdict_but_its_source(self) -> None:
        """Leafrollers: catches are not used to decide. Source: Rutgers, Leafrollers, pemaruccicenter.rutgers.edu."""
        made = orchard(rule(id="timing", timing_only=True, low=0, high=0, source="Rutgers, Leafrollers"))
        row = made.row("05-08")
        assert (row.status, row.band, row.rule and row.rule.source) == ("no-rule", None, "Rutgers, Leafrollers")
        assert row.why == "print says that the catch does not decide"


class TestShapesInPrint:
    def test_any_trap_in_each_of_two_weeks(self) -> None:
        """Two or more in each of two successive weeks, any one trap.

        Source: Washington State University; Vakenti & Madsen 1976, Can. Entomol.
        """
        made = Orchard(rules=(rule("single-trap", 2, 2, weeks=2),))
        made.hang("A1", "A2", on="05-01")
        for trap, first, second in (("A1", 3, 0), ("A2", 0, 3)):
            made.visit(trap, "05-08", first)
            made.visit(trap, "05-15", second)
        assert made.row("05-15").status == "below", "each trap once is not one trap twice"
        made.visit("A2", "05-22", 2)
        made.visit("A1", "05-22", 0)
        row = made.row("05-22")
        assert (row.status, row.rule.value if row.rule else None) == ("over", 2)

    def test_a_trap_hung_last_week_cannot_have_caught_in_both(self) -> None:
        made = Orchard(rules=(rule("single-trap", 2, 2, weeks=2),))
        made.hang("A1", on="05-01")
        made.visit("A1", "05-08", 0)
        made.visit("A1", "05-15", 0)
        made.hang("A2", on="05-08")
        made.visit("A2", "05-15", 9)
        assert made.row("05-15").status == "below"

    def test_a_trap_that_hung_a_week_and_four_days_may_have_caught_in_both(self) -> None:
        made = Orchard(rules=(rule("single-trap", 2, 2, weeks=2),))
        made.hang("A1", on="05-04")
        made.visit("A1", "05-11", 3)
        made.visit("A1", "05-15", 3)
        assert made.row("05-15").status == "over"

    def test_a_missed_week_of_the_one_trap_cannot_be_told(self) -> None:
        made = Orchard(rules=(rule("single-trap", 2, 2, weeks=2),))
        made.hang("A1", on="05-01")
        made.visit("A1", "05-08", no="down")
        made.visit("A1", "05-15", 3)
        assert made.row("05-15").status == "cannot-tell"

    def test_no_more_than_five_in_any_one_trap(self) -> None:
        """ "No more than 5 adult LBAM should be detected in each trapping device from veraison to harvest."

        Whether of a reading or summed is not said; here of a reading. That six end the season nothing keeps.
        Source: Australian table grapes to China, protocol, australiangrapes.com.au.
        """
        made = Orchard(rules=(rule("single-trap", 5, 5, compare=">"),))
        made.hang("A1", "A2", on="05-01")
        for on, most in (("05-08", 5), ("05-15", 6)):
            made.visit("A1", on, most)
            made.visit("A2", on, 0)
        assert [made.row(on).status for on in ("05-08", "05-15")] == ["below", "over"]

    def test_two_within_fourteen_days(self) -> None:
        """Two adults a trap in one to two weeks. Source: Edagricole, Carpocapsa, passioneinverde.edagricole.it."""
        made = Orchard(rules=(rule("cumulative", 2, 2, since="days", days=14),))
        made.hang("A1", on="05-01")
        for on, count in (("05-08", 1), ("05-15", 0), ("05-22", 1), ("05-29", 1)):
            made.visit("A1", on, count)
        assert [said(made, on)[0] for on in ("05-08", "05-15", "05-22", "05-29")] == ["below", "below", "below", "over"]

    def test_a_sum_for_every_250_degree_days(self) -> None:
        """One moth a day and ten degree-days a day: of each period of 25 days only the running one counts.

        Periods of 250 degree-days begun over after a treatment: the second method of Washington State University.
        """
        each = rule("cumulative", 20, 20, since="degree-days", degree_days=Fraction(250), after_treatment="restart")
        made = Orchard(rules=(each,))
        made.hang("A1", on="05-01")
        for week in range(1, 9):
            made.visit("A1", (day("05-01") + timedelta(weeks=week)).isoformat(), 7)

        def accumulated(block: str, species: str, start: date, amount: Fraction) -> date:
            return start + timedelta(days=int(amount) // 10)

        more = {"biofix": {("N1", "CM"): day("05-02")}, "days_to_gather": accumulated}
        first, second = made.row("05-22", **more), made.row("06-05", **more)
        assert (first.status, first.rule and first.rule.value) == ("over", 21)
        assert (second.status, second.rule and second.rule.value) == ("below", 10), "from 27 May on"
        treated = made.row("05-22", treatments=[Treatment("N1", "CM", day("05-15"))], **more)
        assert treated.rule
        assert treated.rule.value == 7


class TestAppleMaggot:
    def test_the_sum_begins_anew_after_a_treatment(self) -> None:
        """Seven flies a sphere by 8 July, treated on the 9th, five rounds of zeros: never over for the rest of summer.

        Source: University of Maine, apple maggot monitoring: traps are cleaned off and counting begins again.
        """
        made = Orchard()
        made.hang("S1", on="07-01", species="AM", style="sphere", edge=True)
        made.visit("S1", "07-08", 7)
        treated = [Treatment("N1", "AM", day("07-09"))]
        assert made.row("07-08", species="AM", treatments=treated).status == "over"
        for on in ("07-15", "07-22", "07-29", "08-05", "08-12"):
            made.visit("S1", on, 0)
            row = made.row(on, species="AM", treatments=treated)
            assert (row.status, row.rule and row.rule.value) == ("below", 0)

    def test_a_sphere_without_a_lure_hangs_so_on_purpose_and_has_its_own_rule(self) -> None:
        """Average of 1 fly an unbaited red sphere, 5 a baited one. Source: University of Vermont Extension 2022."""
        made = Orchard()
        made.lot("NONE", "AM", kind="Unbaited")
        made.lot("VOLATILE", "AM")
        made.hang("S1", on="07-01", species="AM", style="sphere", edge=True, lot="NONE")
        made.visit("S1", "07-08", 1)
        summary = made.summary("07-08")
        assert said(made, "07-08", "AM") == ("over", "shipped-am-unbaited-sphere", ())
        assert (summary.integrity, [due.item for due in summary.upkeep]) == ((), [])
        for lot in ("VOLATILE", ""):
            baited = Orchard(lots=made.lots)
            baited.hang("S1", on="07-01", species="AM", style="sphere", edge=True, lot=lot)
            baited.visit("S1", "07-08", 1)
            assert said(baited, "07-08", "AM")[:2] == ("below", "shipped-am-baited-sphere")
        made.hang("S2", on="07-01", species="AM", style="sphere", edge=True, lot="VOLATILE")
        made.visit("S2", "07-08", 1)
        assert said(made, "07-08", "AM")[0] == "no-rule", "one mean of both is no figure either was printed for"

    def test_a_panel_is_no_sphere(self) -> None:
        made = Orchard()
        made.hang("S1", on="07-01", species="AM", style="panel", edge=True)
        made.visit("S1", "07-08", 9)
        assert said(made, "07-08", "AM")[0] == "no-rule"
