"""What a correction changes is said before it is accepted."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

from roundtui.domain.figures.summary import ConsequenceKind, consequences
from roundtui.report.figures.changes import consequence_words
from tests.domain.orchard import Orchard, day, rule


def said(before: Orchard, after: Orchard, on: str = "05-15") -> list[str]:
    return [str(one) for one in consequences(before.summary(on), after.summary(on)) if one.needs_a_word]


def orchard(count: int, **more: object) -> Orchard:
    """Three traps in one block, read on two days a week apart; the last of them with a count and marks of its own."""
    there = Orchard(**({"rules": more.pop("rules")} if "rules" in more else {}))
    there.hang("A1", "A2", "A10", on="05-01")
    for on in ("05-08", "05-15"):
        there.visit("A1", on, 3)
        there.visit("A2", on, 4)
    there.visit("A10", "05-08", 2)
    there.visit("A10", "05-15", count, **more)
    return there


def test_a_digit_short_takes_a_block_over_its_threshold() -> None:
    (found,) = consequences(orchard(1).summary("05-15"), orchard(11).summary("05-15"))
    assert str(found) == "N1 CM, 2025-05-15: status below becomes over"
    assert (found.mean_before, found.mean_after) == (Fraction(8, 3), Fraction(6))


def test_a_figure_that_leaves_its_status_alone_needs_no_word() -> None:
    (found,) = consequences(orchard(0).summary("05-15"), orchard(1).summary("05-15"))
    assert (found.kind, found.needs_a_word) == (ConsequenceKind.FIGURE, False)


def test_what_the_rule_compares_is_named_where_it_is_no_mean() -> None:
    rules = (rule("single-trap", 4, 10),)
    before, *then = (orchard(count, rules=rules).summary("05-15") for count in (20, 4, 3))
    (fewer,), (same,) = consequences(before, then[0]), consequences(*then)
    assert consequence_words(fewer) == (
        "N1 CM, 2025-05-15: over becomes within; the highest trap its rule compares, 20.0, becomes 4.0"
    )
    assert consequence_words(same) == ("N1 CM, 2025-05-15: mean 3.7 becomes 3.3; highest trap 4.0: still within")


def test_the_same_record_has_no_consequences() -> None:
    assert consequences(orchard(4).summary("05-15"), orchard(4).summary("05-15")) == ()


def test_a_wrong_lure_found_is_a_warning_that_comes_and_one_righted_a_warning_that_goes() -> None:
    right, wrong = orchard(4), orchard(4, lure_found="OFM")
    assert "A10, 2025-05-15: integrity nothing becomes wrong-lure (OFM) since 2025-05-01" in said(right, wrong)
    assert "A10, 2025-05-15: integrity wrong-lure (OFM) since 2025-05-01 becomes nothing" in said(wrong, right)


def test_a_second_reading_of_a_day_is_a_conflict_that_comes() -> None:
    twice = orchard(4)
    twice.visit("A10", "05-15", 9, scout="Bo")
    assert said(orchard(4), twice) == [
        "A10 2025-05-15, 2025-05-15: conflict nothing becomes two counts, 4 by Ada and 9 by Bo"
    ]


def test_a_biofix_that_moves_is_named_with_both_dates() -> None:
    summary = orchard(4).summary("05-15")
    before = {("N1", "CM", 1): day("05-08"), ("N2", "CM", 1): day("05-01")}
    after: dict[tuple[str, str, int], date | None] = {("N1", "CM", 1): day("05-15"), ("N2", "CM", 1): day("05-01")}
    found = consequences(summary, summary, biofix_before=before, biofix_after=after)
    assert [str(one) for one in found] == ["N1 CM generation 1, 2025-05-15: biofix 2025-05-08 becomes 2025-05-15"]
