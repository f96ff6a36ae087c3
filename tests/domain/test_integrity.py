"""A trap keeps its species: what a lure or a body of another one does to the record.

That plastic keeps the scent, so that a body is used for one species for good, and never two lures in one trap: Michigan
State University Extension, How to optimize placement of pheromone traps in your orchard. Traces of another pheromone
strongly alter catch: funnel-trap manual of a trap maker.
"""

from __future__ import annotations

from roundtui.domain.figures.verdicts import Trouble
from tests.domain.orchard import Orchard, day


def two_species() -> Orchard:
    orchard = Orchard()
    orchard.lot("C1", "CM")
    orchard.lot("O1", "OFM")
    orchard.lot("B1", "OBLR")
    orchard.hang("A1", "A2", "A10", on="05-01")
    orchard.hang("F1", on="05-01", species="OFM")
    return orchard


def notified(orchard: Orchard, on: str) -> list[tuple[str, str, str | None, str, str | None]]:
    """Kind, trap, what was found, since (month-day) and partner of every trouble."""

    def short(trouble: Trouble) -> tuple[str, str, str | None, str, str | None]:
        since = trouble.since.isoformat() if trouble.since else ""
        return (trouble.kind.value, trouble.trap, trouble.found, since.removeprefix("2025-"), trouble.partner)

    return [short(trouble) for trouble in orchard.summary(on).integrity]


def test_the_right_lure_is_no_trouble() -> None:
    orchard = two_species()
    orchard.visit("A1", "05-08", 1, lure="C1")
    orchard.visit("F1", "05-08", 1, lure="yes")
    assert notified(orchard, "05-08") == []


def test_a_lure_of_another_species_makes_the_trap_wrong_from_that_visit_on() -> None:
    orchard = two_species()
    orchard.visit("A1", "05-08", 3, lure="O1")
    assert notified(orchard, "05-07") == []
    assert notified(orchard, "05-08") == [("wrong-lure", "A1", "OFM", "05-08", None)]
    assert orchard.row("05-08").counted == 1, "what is done on a visit acts after its count"
    orchard.visit("A1", "05-15", 9)
    row = orchard.row("05-15")
    assert (row.read, row.counted, row.mean_per_week, row.mean_with_suspect) == (1, 0, None, 9)
    assert (row.status, row.why) == ("cannot-tell", "every trap that was read is suspect")


def test_a_wrong_lure_renewed_does_not_restart_its_since() -> None:
    orchard = two_species()
    orchard.visit("A1", "05-08", 3, lure="O1")
    orchard.visit("A1", "05-15", 3, lure="B1")
    assert notified(orchard, "05-15") == [("wrong-lure", "A1", "OBLR", "05-08", None)]


def test_after_the_right_lure_is_back_the_body_keeps_the_scent_next_season_too() -> None:
    orchard = Orchard()
    orchard.lot("O1", "OFM")
    orchard.hang("A1", on="2024-04-10", down="2024-09-20")
    orchard.hang("A1", on="2025-04-12")
    orchard.visit("A1", "2024-06-01", 3, lure="O1")
    orchard.visit("A1", "2024-06-08", 3, lure="yes")
    assert notified(orchard, "2024-06-08") == [("scented-body", "A1", "OFM", "2024-06-01", None)]
    assert notified(orchard, "2024-12-24") == [], "only a trap that hangs is listed"
    assert notified(orchard, "2025-05-01") == [("scented-body", "A1", "OFM", "2024-06-01", None)]
    orchard.visit("A1", "2025-05-08", 2)
    assert orchard.row("05-08").counted == 0
    orchard.visit("A1", "2025-05-08", body="yes", scout="Ben")
    assert notified(orchard, "2025-05-08") == []
    orchard.visit("A1", "2025-05-15", 2)
    assert orchard.row("05-15").mean_per_week == 2


def test_a_wrong_lure_taken_down_with_the_trap_leaves_its_scent_to_next_year() -> None:
    orchard = Orchard()
    orchard.lot("O1", "OFM")
    orchard.hang("A1", on="2024-04-10", down="2024-09-20")
    orchard.hang("A1", on="2025-04-12")
    orchard.visit("A1", "2024-09-01", 3, lure="O1")
    assert notified(orchard, "2025-05-01") == [("scented-body", "A1", "OFM", "2024-09-01", None)]


def test_scent_follows_the_label_of_the_body() -> None:
    """Body B9 scented by OFM in one trap is put into another in spring: that trap is in trouble from then on."""
    orchard = two_species()
    orchard.visit("F1", "05-02", 1, body="B9")
    orchard.visit("F1", "05-09", 1, body="yes")
    orchard.visit("A2", "05-10", 1, body="B9")
    assert notified(orchard, "05-10") == [("scented-body", "A2", "OFM", "05-10", None)]
    orchard.visit("A2", "05-17", 1, body="B10")
    assert notified(orchard, "05-17") == []


def test_a_label_in_the_register_counts_like_one_entered() -> None:
    orchard = Orchard()
    orchard.hang("F1", on="2024-04-10", down="2024-09-20", species="OFM", body_label="B9")
    orchard.hang("A1", on="2025-04-12", body_label="B9")
    assert notified(orchard, "2025-04-12") == [("scented-body", "A1", "OFM", "04-12", None)]


def test_a_body_replaced_without_a_word_on_the_lure_is_scented_by_the_lure_that_stays() -> None:
    orchard = two_species()
    orchard.visit("A1", "05-08", 3, lure="O1")
    orchard.visit("A1", "05-15", 3, body="yes")
    orchard.visit("A1", "05-22", 3, lure="C1")
    assert notified(orchard, "05-22") == [("scented-body", "A1", "OFM", "05-08", None)]
    orchard.visit("A1", "05-29", 3, body="yes")
    assert notified(orchard, "05-29") == []


def test_body_and_lure_replaced_at_once_end_the_trouble() -> None:
    orchard = two_species()
    orchard.visit("A1", "05-08", 3, lure="O1")
    orchard.visit("A1", "05-15", 3, lure="C1", body="yes")
    assert notified(orchard, "05-15") == []
    orchard.visit("A1", "05-22", 4)
    assert orchard.row("05-22").mean_per_week == 4


def test_a_wrong_lure_found_later_was_wrong_since_the_last_change() -> None:
    """Nobody noticed for two weeks: both readings turn suspect on the day it is found."""
    orchard = two_species()
    orchard.visit("A1", "05-08", 3, lure="yes")
    orchard.visit("A1", "05-15", 5)
    assert orchard.row("05-15").mean_per_week == 5
    orchard.visit("A1", "05-22", 6, lure_found="OFM", lure="C1")
    assert notified(orchard, "05-22") == [("scented-body", "A1", "OFM", "05-08", None)]
    assert orchard.row("05-22").counted == 0
    assert orchard.row("05-22").mean_with_suspect == 6


def test_a_wrong_lure_found_in_a_trap_never_serviced_was_wrong_since_it_was_hung() -> None:
    orchard = two_species()
    orchard.visit("A1", "05-15", 5, lure_found="O1")
    assert notified(orchard, "05-15") == [("wrong-lure", "A1", "OFM", "05-01", None)]


def test_no_lure_is_its_own_trouble_and_leaves_no_scent() -> None:
    orchard = two_species()
    orchard.visit("A1", "05-08", 3, lure="none")
    orchard.visit("A2", "05-08", 3, lure_found="none", lure="C1")
    assert notified(orchard, "05-08") == [("no-lure", "A1", None, "05-08", None)]
    assert orchard.row("05-08").counted == 1, "A2 hung without a lure all the while"
    orchard.visit("A1", "05-15", 0, lure="C1")
    assert notified(orchard, "05-15") == []


def test_a_trap_hung_with_a_lot_of_another_species_is_wrong_from_the_start() -> None:
    orchard = two_species()
    orchard.hang("A4", on="05-03", lot="O1")
    assert notified(orchard, "05-03") == [("wrong-lure", "A4", "OFM", "05-03", None)]


class TestSwappedPairs:
    def swap(self, orchard: Orchard, one: str, other: str, on: str) -> None:
        species = {trap.trap: trap.species for trap in orchard.traps}
        orchard.visit(one, on, 1, lure=species[other])
        orchard.visit(other, on, 1, lure=species[one])

    def test_two_traps_that_hold_each_others_lures_are_one_story(self) -> None:
        orchard = two_species()
        self.swap(orchard, "A2", "F1", "05-08")
        assert notified(orchard, "05-08") == [
            ("swapped-lures", "A2", "OFM", "05-08", "F1"),
            ("swapped-lures", "F1", "CM", "05-08", "A2"),
        ]

    def test_when_one_is_righted_the_other_is_wrong_with_its_old_since(self) -> None:
        orchard = two_species()
        self.swap(orchard, "A2", "F1", "05-08")
        orchard.visit("F1", "05-15", 1, lure="O1")
        assert notified(orchard, "05-15") == [
            ("wrong-lure", "A2", "OFM", "05-08", None),
            ("scented-body", "F1", "CM", "05-08", None),
        ]

    def test_wrong_on_two_days_are_two_stories(self) -> None:
        orchard = two_species()
        orchard.visit("A2", "05-08", 1, lure="O1")
        orchard.visit("F1", "05-09", 1, lure="C1")
        assert [kind for kind, *_ in notified(orchard, "05-09")] == ["wrong-lure", "wrong-lure"]

    def test_the_same_block_comes_first_then_the_farm_then_the_nearest_on_a_route(self) -> None:
        orchard = Orchard()
        orchard.hang("P1", on="05-01", block="N1")
        orchard.hang("P2", on="05-01", block="N2")
        orchard.hang("P3", on="05-01", block="S1")
        orchard.hang("Q1", on="05-01", block="N1", species="OFM")
        orchard.hang("Q2", on="05-01", block="N3", species="OFM")
        orchard.hang("Q4", on="05-01", block="W1", species="OFM")
        orchard.hang("Q5", on="05-01", block="W2", species="OFM")
        orchard.route("all", "P1", "Q2", "P2", "Q1", "Q4", "P3", "X", "Y", "Q5")
        for trap in ("P1", "P2", "P3"):
            orchard.visit(trap, "05-08", 1, lure="OFM")
        for trap in ("Q1", "Q2", "Q4", "Q5"):
            orchard.visit(trap, "05-08", 1, lure="CM")
        pairs = {trap: partner for kind, trap, _, _, partner in notified(orchard, "05-08") if kind == "swapped-lures"}
        assert pairs == {"P1": "Q1", "Q1": "P1", "P2": "Q2", "Q2": "P2", "P3": "Q4", "Q4": "P3"}

    def test_a_trap_of_the_farm_comes_before_a_nearer_one_of_another(self) -> None:
        orchard = Orchard()
        orchard.hang("P1", on="05-01", block="N1")
        orchard.hang("Q1", on="05-01", block="N2", species="OFM")
        orchard.hang("Q2", on="05-01", block="W1", species="OFM")
        orchard.route("all", "P1", "Q2", "Q1")
        orchard.visit("P1", "05-08", 1, lure="OFM")
        for trap in ("Q1", "Q2"):
            orchard.visit(trap, "05-08", 1, lure="CM")
        pairs = {trap: partner for kind, trap, _, _, partner in notified(orchard, "05-08") if kind == "swapped-lures"}
        assert pairs == {"P1": "Q1", "Q1": "P1"}

    def test_labels_sort_as_people_count(self) -> None:
        orchard = two_species()
        for trap in ("A10", "A2"):
            orchard.visit(trap, "05-08", 1, lure="none")
        assert [trap for _, trap, *_ in notified(orchard, "05-08")] == ["A2", "A10"]


def test_a_missing_trap_has_its_old_body_unless_a_new_one_is_entered() -> None:
    orchard = two_species()
    orchard.visit("A1", "05-08", 3, lure="O1")
    orchard.visit("A1", "05-15", no="missing", lure="C1")
    assert notified(orchard, "05-15") == [("scented-body", "A1", "OFM", "05-08", None)]
    orchard.visit("A1", "05-22", no="missing", body="yes", lure="C1")
    assert notified(orchard, "05-22") == []


def test_only_the_days_in_trouble_make_a_reading_suspect() -> None:
    orchard = two_species()
    orchard.visit("A1", "05-08", 3)
    orchard.visit("A1", "05-15", 4, lure="O1")
    orchard.visit("A1", "05-22", 5, lure="C1", body="yes")
    orchard.visit("A1", "05-29", 6)
    figures = {on: orchard.row(on).mean_per_week for on in ("05-08", "05-15", "05-22", "05-29")}
    assert figures == {"05-08": 3, "05-15": 4, "05-22": None, "05-29": 6}
    assert orchard.row("05-29").previous_per_week is None, "the week before was suspect"
    assert day("05-22") == orchard.visits[2].read_on
