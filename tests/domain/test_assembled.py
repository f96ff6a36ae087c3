"""What is done to a trap before it hangs bears on its catch: a lure put into its body, and what the body was used for.

That bodies are used again for years, but for the same species alone, spent lure out and put away by species: Michigan
State University Extension, How to optimize placement of pheromone traps in your orchard.
"""

from __future__ import annotations

from dataclasses import replace

from roundtui.domain.figures.integrity import examine
from tests.domain.orchard import Orchard, day
from tests.domain.test_integrity import notified


def with_lots() -> Orchard:
    orchard = Orchard()
    orchard.lot("C1", "CM", life_days=20)
    orchard.lot("O1", "OFM")
    return orchard


def test_a_trap_assembled_with_its_own_lure_is_no_trouble() -> None:
    orchard = with_lots()
    orchard.assemble("A1", "04-01", "C1", "K1")
    orchard.hang("A1", on="05-01")
    assert notified(orchard, "05-08") == []


def test_a_lure_put_in_by_mistake_and_taken_out_before_hanging_leaves_its_scent() -> None:
    orchard = with_lots()
    orchard.assemble("A1", "04-01", "O1", "K1", despite="taken out again")
    orchard.assemble("A1", "04-02", "C1", "K1")
    orchard.hang("A1", on="05-01", lot="C1", body_label="K1")
    orchard.visit("A1", "05-08", 4)
    assert notified(orchard, "05-08") == [("scented-body", "A1", "OFM", "05-01", None)]
    row = orchard.row("05-08")
    assert (row.mean_per_week, row.mean_with_suspect, row.status) == (None, 4, "cannot-tell")


def test_of_two_lures_put_in_on_a_day_the_one_recorded_last_gives_the_scent() -> None:
    """Whatever the ids say: they run on where a clock was set back."""
    orchard = with_lots()
    orchard.lot("B1", "OBLR")
    for lot, id_ in (("O1", "later"), ("B1", "earlier")):
        orchard.assembled[-1:] = [*orchard.assembled[-1:], replace(orchard.assemble("A1", "04-01", lot, "K1"), id=id_)]
    orchard.hang("A1", on="05-01", lot="C1", body_label="K1")
    assert notified(orchard, "05-08") == [("scented-body", "A1", "OBLR", "05-01", None)]


def test_a_trap_made_up_on_the_day_it_is_hung_is_made_up_before_whatever_its_label() -> None:
    for trap in ("1", "A1"):
        orchard = with_lots()
        orchard.assemble(trap, "05-01", "C1", "K1")
        orchard.hang(trap, on="05-01")
        (body,) = examine(orchard.programme, (), day("05-08"), orchard.assembled).bodies
        assert [one.hung for one in body.held] == [False, True]


def test_a_body_without_a_label_is_that_of_its_trap() -> None:
    orchard = with_lots()
    orchard.assemble("A1", "04-01", "O1")
    orchard.hang("A1", on="05-01", lot="C1")
    assert notified(orchard, "05-08") == [("scented-body", "A1", "OFM", "05-01", None)]


def test_a_trap_hangs_with_the_lot_and_the_body_it_was_assembled_with() -> None:
    orchard = with_lots()
    orchard.assemble("A1", "04-01", "C1", "K1", funnel_label="F1", lid_label="L1")
    orchard.hang("A1", on="05-01")
    (row,) = orchard.programme.traps
    assert (row.lot, row.body_label, row.funnel_label, row.lid_label) == ("C1", "K1", "F1", "L1")
    (due,) = [row for row in orchard.summary("05-18").upkeep if row.item == "lure"]
    assert (due.life_days, due.days_overdue, due.assumed) == (20, -3, False)


def test_what_the_register_says_goes_before_what_was_assembled() -> None:
    orchard = with_lots()
    orchard.assemble("A1", "04-01", "O1", "K1")
    orchard.hang("A1", on="05-01", lot="C1", body_label="K2")
    (row,) = orchard.programme.traps
    assert (row.lot, row.body_label) == ("C1", "K2")
    assert notified(orchard, "05-08") == [], "the body with the wrong scent stayed in the store"


def test_a_wrong_lure_that_stayed_in_is_a_wrong_lure_from_the_hanging_on() -> None:
    orchard = with_lots()
    orchard.assemble("A1", "04-01", "O1", "K1")
    orchard.hang("A1", on="05-01")
    assert notified(orchard, "05-08") == [("wrong-lure", "A1", "OFM", "05-01", None)]


def test_a_trap_assembled_is_taken_by_its_next_hanging_alone() -> None:
    orchard = with_lots()
    orchard.assemble("A1", "04-01", "O1", "K1")
    orchard.hang("A1", on="05-01", down="06-01")
    orchard.hang("A1", on="07-01")
    first, again = orchard.programme.traps
    assert (first.lot, again.lot) == ("O1", "")


def test_a_trap_that_is_down_is_in_trouble_from_its_next_hanging_on() -> None:
    orchard = with_lots()
    orchard.hang("A1", on="2024-05-01", body_label="K1", down="2024-09-01")
    orchard.assemble("A1", "04-01", "O1", "K1")
    orchard.hang("A1", on="05-01", lot="C1", body_label="K1")
    assert notified(orchard, "05-08") == [("scented-body", "A1", "OFM", "05-01", None)]


def test_the_body_of_a_trap_that_hangs_is_in_trouble_on_the_day_the_lure_is_put_in() -> None:
    orchard = with_lots()
    orchard.hang("A1", on="04-01", body_label="K1")
    orchard.assemble("A2", "04-20", "O1", "K1")
    assert notified(orchard, "05-08") == [("scented-body", "A1", "OFM", "04-20", None)]


def test_a_wrong_lure_for_a_week_follows_the_body_through_the_store_into_next_year() -> None:
    orchard = with_lots()
    orchard.hang("A1", on="2024-05-01", body_label="K1", down="2024-09-01")
    orchard.visit("A1", "2024-06-01", 2, lure="O1")
    orchard.visit("A1", "2024-06-08", 2, lure="C1")
    orchard.note("K1", "2024-09-01", place="shed")
    orchard.assemble("A7", "04-01", "C1", "K1")
    orchard.hang("A7", on="05-01")
    orchard.visit("A7", "05-08", 6)
    assert notified(orchard, "05-08") == [("scented-body", "A7", "OFM", "05-01", None)]
    assert orchard.row("05-08").mean_per_week is None


def test_a_body_put_away_with_another_species_smells_of_it() -> None:
    orchard = with_lots()
    orchard.note("K1", "2024-09-01", species="OFM")
    orchard.note("K2", "2024-09-01", species="OFM", state="new")
    orchard.note("K3", "2024-09-01", species="OFM", part="lid")
    for trap, body in (("A1", "K1"), ("A2", "K2"), ("A3", "K3")):
        orchard.hang(trap, on="05-01", body_label=body)
    assert notified(orchard, "05-08") == [("scented-body", "A1", "OFM", "05-01", None)]


def test_a_clean_body_ends_it() -> None:
    orchard = with_lots()
    orchard.assemble("A1", "04-01", "O1", "K1")
    orchard.hang("A1", on="05-01", lot="C1", body_label="K1")
    orchard.visit("A1", "05-08", 4, body="yes")
    orchard.visit("A1", "05-15", 7)
    assert notified(orchard, "05-15") == []
    assert orchard.row("05-15").mean_per_week == 7


def test_nothing_made_up_after_the_day_bears_on_it() -> None:
    orchard = with_lots()
    orchard.hang("A1", on="04-01", body_label="K1")
    orchard.assemble("A2", "05-09", "O1", "K1")
    assert notified(orchard, "05-08") == []


def test_a_lure_put_in_on_the_day_of_hanging_was_in_the_body_first_whatever_the_trap_is_called() -> None:
    orchard = with_lots()
    orchard.assemble("1", "05-01", "O1", despite="taken out again")
    orchard.hang("1", on="05-01", lot="C1")
    assert notified(orchard, "05-08") == [("scented-body", "1", "OFM", "05-01", None)]


def test_what_a_body_was_assembled_with_stands_in_its_history_from_that_day() -> None:
    orchard = with_lots()
    orchard.assemble("A1", "04-01", "O1", "K1")
    record = orchard.history(day("04-01"))
    (past,) = examine(orchard.programme, record.scent, day("04-01"), record.assembled, record.bodies).bodies
    assert [(one.on, one.species, one.hung) for one in past.held] == [(day("04-01"), "OFM", False)]
    orchard.hang("A1", on="05-01")
    record = orchard.history(day("05-01"))
    (past,) = examine(orchard.programme, record.scent, day("05-01"), record.assembled, record.bodies).bodies
    assert [(one.on, one.trap, one.hung) for one in past.held][-1] == (day("05-01"), "A1", True)
