"""What needs attention after a round, in one list: nothing that somebody must act on stands only further down."""

from __future__ import annotations

from dataclasses import replace

from roundtui.domain.entries import Notified, Sample, SampleKind, TreatmentSaid
from roundtui.domain.figures.history import NewerSaid, Superseded
from roundtui.domain.programme.farm import Block, in_no_route
from tests.domain.orchard import Orchard, day


def three_traps(*counts: int, block: str = "N1", on: str = "05-08") -> Orchard:
    orchard = Orchard()
    orchard.hang("A1", "A2", "A3", on="05-01", block=block)
    for trap, count in zip(("A1", "A2", "A3"), counts, strict=False):
        orchard.visit(trap, on, count)
    return orchard


def test_a_block_over_and_one_within_stand_first() -> None:
    orchard = three_traps(6, 6, 6)
    orchard.hang("B1", "B2", "B3", on="05-01", block="N2")
    for trap in ("B1", "B2", "B3"):
        orchard.visit(trap, "05-08", 4)
    assert orchard.attention("05-08") == [
        "over N N1 CM: over its threshold",
        "within N N2 CM: between its two numbers (3 and 5)",
    ]


def test_entries_of_a_newer_program_stand_at_their_block_and_of_no_block_too() -> None:
    newer = (NewerSaid("spore-trap", "A1", "", 2), NewerSaid("note", "", "", 1), NewerSaid("note", "", "N9", 1))
    assert three_traps(0, 0, 0).attention("05-08", newer=newer) == [
        "newer-entry   : 1 entry (note) of a newer roundtui; the figure stands without",
        "newer-entry N N1 : 2 entries (spore-trap) of a newer roundtui; the figure stands without",
    ]


def test_six_wormy_fruit_in_three_hundred_in_a_disrupted_block_stand_on_the_list() -> None:
    """Traps of a disrupted block catch nothing, and the fruit says otherwise."""
    orchard = three_traps(0, 0, 0)
    orchard.blocks["N1"] = Block("N1", "N", "N1", "apple", disrupted=True)
    wormy = Sample(
        block="N1", sampled_on=day("05-06"), kind=SampleKind.FRUIT, pest="CM", looked_at="fruit", looked=300, found=6
    )
    (item,) = orchard.attention("05-08", samples=(wormy,))
    assert item == "sample N N1 CM: fruit sample over its plan: 6 of 300 fruit injured (CM), 2025-05-06"
    clean = replace(wormy, sampled_on=day("05-07"), found=0)
    assert orchard.attention("05-08", samples=(wormy, clean)) == [], "the newer sample counts"
    assert orchard.attention("05-08", samples=(replace(wormy, sampled_on=day("04-20")),)) == [], "too long ago"


def test_a_suspect_trap_and_the_block_it_leaves_without_a_figure() -> None:
    orchard = Orchard()
    orchard.hang("A1", on="05-01")
    orchard.visit("A1", "05-08", 4, lure_found="OFM")
    assert orchard.attention("05-08") == [
        "suspect N N1 CM: A1: wrong lure (OFM) since 2025-05-01",
        "cannot-tell N N1 CM: every trap that was read is suspect",
    ]


def test_a_catch_that_does_not_come_down_after_a_treatment() -> None:
    """Treated on 15 May; it rises tenfold while five untreated blocks stay as they are."""
    orchard = Orchard(rules=())
    for number, block in enumerate(("N1", "U1", "U2", "U3", "U4", "U5")):
        orchard.hang(*(f"{'ABCDEF'[number]}{at}" for at in (1, 2, 3)), on="05-01", block=block)
        for on, count in (("05-08", 2), ("05-15", 2), ("05-22", 20), ("05-29", 20), ("06-05", 20)):
            for at in (1, 2, 3):
                orchard.visit(f"{'ABCDEF'[number]}{at}", on, 9 if number else count)
    said = TreatmentSaid(block="N1", species="CM", treated_on=day("05-15"))
    head = "not-coming-down N N1 CM:"
    assert orchard.attention("05-29", said=(said,)) == [f"{head} not coming down after the treatment of 2025-05-15"]
    assert orchard.attention("06-05", said=(said,)) == [f"{head} did not come down after the treatment of 2025-05-15"]
    orchard.blocks = {code: block for code, block in orchard.blocks.items() if code in {"N1", "U1"}}
    orchard.traps = [trap for trap in orchard.traps if trap.block in orchard.blocks]
    assert orchard.attention("06-05", said=(said,)) == []


def test_a_mean_of_one_of_three_traps_is_said_with_its_headline() -> None:
    assert three_traps(9).attention("05-08") == [
        "over N N1 CM: over its threshold; 1 of 3 traps counted",
        "few-traps N N1 CM: 1 of 3 traps counted",
    ]
    assert three_traps(1, 1).attention("05-08") == ["few-traps N N1 CM: 2 of 3 traps counted"]
    two = Orchard()
    two.hang("A1", "A2", on="05-01")
    two.visit("A1", "05-08", 1)
    assert two.attention("05-08") == [], "two hang, and nobody meant to have three"


def test_what_an_unlikely_count_does_to_a_headline_is_said_in_it() -> None:
    orchard = three_traps(1, 1, 1, on="05-08")
    for on, counts in (("05-15", (1, 1, 1)), ("05-22", (1, 1, 40))):
        for trap, count in zip(("A1", "A2", "A3"), counts, strict=True):
            orchard.visit(trap, on, count)
    assert orchard.attention("05-22") == [
        "over N N1 CM: over its threshold; unlikely count in A3, to be checked; below without it"
    ]


def test_what_a_correction_and_a_withdrawal_did_to_a_headline_is_said_in_it() -> None:
    orchard = three_traps(4, 4, 4)
    old = replace(orchard.visits[0], id="old", count=40)
    orchard.superseded = [Superseded(old, orchard.visits[0], "a digit too many")]
    assert orchard.attention("05-08") == [
        "within N N1 CM: between its two numbers (3 and 5); over before A1 was corrected (a digit too many)"
    ]
    orchard.superseded = [Superseded(replace(old, trap="A2", read_on=day("05-08"), id="x"), None, "wrong sheet")]
    orchard.visits = [visit for visit in orchard.visits if visit.trap != "A2"]
    assert orchard.attention("05-08")[0] == (
        "within N N1 CM: between its two numbers (3 and 5); 2 of 3 traps counted; "
        "over before A2 was withdrawn (wrong sheet)"
    )


def test_a_block_that_a_correction_took_below_is_named() -> None:
    orchard = three_traps(1, 1, 1)
    old = replace(orchard.visits[0], id="old", count=40)
    orchard.superseded = [Superseded(old, orchard.visits[0], "misread")]
    assert orchard.attention("05-08") == ["changed N N1 CM: below; over before A1 was corrected (misread)"]


def test_a_routes_summary_says_nothing_false_of_a_grower_off_the_route() -> None:
    """N2 was called over, and is over; the route visits N1 alone."""
    orchard = three_traps(1, 1, 1)
    orchard.hang("B1", on="05-01", block="N2")
    orchard.visit("B1", "05-08", 9)
    orchard.route("north", "A1", "A2", "A3")
    orchard.notified.append(
        Notified(
            block="N2",
            species="CM",
            round_on=day("05-08"),
            status="over",
            notified_on=day("05-08"),
            by="Bo",
            how="phone",
        )
    )
    assert orchard.summary("05-08", route="north").older_figure_calls == ()
    orchard.notified.append(
        Notified(
            block="N1",
            species="CM",
            round_on=day("05-08"),
            status="over",
            notified_on=day("05-08"),
            by="Bo",
            how="phone",
        )
    )
    assert [one.block for one in orchard.summary("05-08", route="north").older_figure_calls] == ["N1"]


def test_traps_that_hang_and_stand_in_no_route_are_known() -> None:
    orchard = three_traps(1, 1, 1)
    orchard.route("north", "A1")
    orchard.hang("A9", on="04-01", down="05-01")
    assert in_no_route(orchard.programme, day("05-08")) == ("A2", "A3")
