"""Making traps up: what is named before body, funnel, lid and lure of two species meet, and what is proposed.

Bodies for the same species alone, put away by species: Michigan State University Extension, How to optimize placement
of pheromone traps in your orchard. That a lot is not put out after the day on its pack is common practice, no source.
"""

from __future__ import annotations

from datetime import date

import pytest

from roundtui.domain.entries import Assembled, PartKind
from roundtui.domain.traps.assembly import (
    KnownParts,
    Whereabouts,
    check_assembly,
    check_part,
    hanging_row,
    known_parts,
    objections,
    proposed,
    to_assemble,
)
from tests.domain.orchard import Orchard, day


def known(orchard: Orchard, on: str) -> KnownParts:
    return known_parts(orchard.programme, orchard.visits, day(on), orchard.assembled, orchard.parts)


def last_year() -> Orchard:
    """Two codling moth traps and a bucket for oriental fruit moth hung in 2024, and came down in September."""
    orchard = Orchard()
    orchard.lot("C24", "CM", expires_on=date(2025, 3, 1))
    orchard.lot("C25", "CM", expires_on=date(2027, 3, 1))
    orchard.lot("O25", "OFM")
    orchard.hang("A1", on="2024-05-01", down="2024-09-01", lot="C24", body_label="K1")
    orchard.hang("A2", on="2024-05-01", down="2024-09-01", lot="C24", body_label="K2")
    orchard.hang(
        *("F1",), on="2024-05-01", species="OFM", down="2024-09-01", style="bucket", body_label="K9", lid_label="L9"
    )
    for label, species in (("K1", "CM"), ("K2", "CM"), ("K9", "OFM")):
        orchard.note(label, "2024-09-02", species=species, place="shed, left")
    orchard.note("L9", "2024-09-02", species="OFM", part="lid", place="shed, left")
    return orchard


def made(orchard: Orchard, on: str = "04-01", **said: str) -> Assembled:
    values = {"trap": "A1", "species": "CM", "body_label": "K1", "lot": "C25", **said}
    return Assembled(assembled_on=day(on), **values)


SAID = {
    "is a trap for": "trap-species",
    "in block N1 now": "trap-hangs",
    " is for ": "part-species",
    "held a lure for": "scented-body",
    " was discarded": "part-gone",
    "body K2 ": "part-elsewhere",
    "bears no label": "no-label",
    "attracts": "lot-species",
    "was to be put out by": "lot-expired",
}
"""What tells an objection by its sentence."""


def against(orchard: Orchard, one: Assembled) -> list[str]:
    found = objections(one, known(orchard, one.assembled_on.isoformat()))
    return [next(name for words, name in SAID.items() if words in said) for said in found]


def test_a_trap_of_its_own_parts_and_a_fresh_lure_is_assembled_without_a_word() -> None:
    assert objections(made(last_year()), known(last_year(), "04-01")) == ()


@pytest.mark.parametrize(
    ("said", "found"),
    [
        ({"body_label": "K9"}, ["part-species", "scented-body"]),
        ({"body_label": ""}, ["no-label"]),
        ({"lid_label": "L9"}, ["part-species"]),
        ({"lot": "O25"}, ["lot-species"]),
        ({"lot": "C24"}, ["lot-expired"]),
        ({"lot": ""}, []),
        ({"trap": "F1"}, ["trap-species", "no-label", "no-label"]),
        ({"trap": "Z1", "body_label": "K77"}, []),
        ({"body_label": "K9", "lot": "C24"}, ["part-species", "scented-body", "lot-expired"]),
    ],
)
def test_what_speaks_against_a_trap_is_named_each_thing_by_itself(said: dict[str, str], found: list[str]) -> None:
    assert against(last_year(), made(last_year(), **said)) == found


def test_a_lot_may_be_put_out_on_its_last_day() -> None:
    assert against(last_year(), made(last_year(), on="2025-03-01", lot="C24")) == []
    assert against(last_year(), made(last_year(), on="2025-03-02", lot="C24")) == ["lot-expired"]


def test_the_words_name_the_part_the_lot_and_what_they_are_for() -> None:
    orchard = last_year()
    one = made(orchard, body_label="K9", lot="O25")
    assert list(objections(one, known(orchard, "04-01"))) == [
        "body K9 is for OFM, not for CM",
        "body K9 held a lure for OFM, and plastic keeps the scent",
        "lot O25 attracts OFM: the body is contaminated even if it is taken out again",
    ]


def test_a_wrong_lure_for_a_week_is_named_when_its_body_is_taken_again_next_year() -> None:
    orchard = last_year()
    orchard.visit("A1", "2024-06-01", 3, lure="O25")
    orchard.visit("A1", "2024-06-08", 3, lure="C24")
    assert against(orchard, made(orchard)) == ["scented-body"]
    assert proposed("A1", "CM", known(orchard, "04-01")).body_label == "", "a contaminated body is not proposed"


def test_a_lure_taken_out_again_on_the_bench_is_named_the_next_time() -> None:
    orchard = last_year()
    orchard.assemble("A1", "03-01", "O25", "K1", despite="only pack at hand")
    assert against(orchard, made(orchard)) == ["scented-body"]


def test_a_part_that_is_gone_or_in_another_trap_is_named() -> None:
    orchard = last_year()
    orchard.note("K1", "03-01", state="discarded")
    orchard.assemble("A7", "03-02", "C25", "K2")
    assert against(orchard, made(orchard)) == ["part-gone"]
    assert against(orchard, made(orchard, body_label="K2")) == ["part-elsewhere"]
    orchard.hang("A7", on="03-20")
    (found,) = objections(made(orchard, body_label="K2"), known(orchard, "04-01"))
    assert found == "body K2 hangs in A7 since 2025-03-20"


def test_a_trap_that_hangs_is_named() -> None:
    orchard = last_year()
    orchard.hang("A1", on="03-20", body_label="K1")
    assert against(orchard, made(orchard)) == ["trap-hangs"]


def test_the_proposal_is_last_years_parts_and_the_lot_that_keeps() -> None:
    orchard = last_year()
    one = proposed("A1", "CM", known(orchard, "04-01"))
    assert (one.body_label, one.funnel_label, one.lid_label, one.lot) == ("K1", "", "", "C25")
    bucket = proposed("F1", "OFM", known(orchard, "04-01"))
    assert (bucket.body_label, bucket.lid_label, bucket.lot) == ("K9", "L9", "O25")


def test_traps_of_last_season_and_those_planned_wait_until_they_are_assembled() -> None:
    orchard = last_year()
    orchard.hang("B1", on="05-10")
    waiting = [(one.trap, one.hang_on) for one in to_assemble(known(orchard, "04-01"))]
    assert waiting == [("B1", day("05-10")), ("A1", None), ("A2", None), ("F1", None)]
    orchard.assemble("A1", "04-01", "C25", "K1")
    orchard.hang("A2", on="03-20")
    assert [one.trap for one in to_assemble(known(orchard, "04-01"))] == ["B1", "F1"]
    assert list(known(orchard, "04-01").waiting) == ["A1"]


def test_a_trap_assembled_waits_until_it_hangs() -> None:
    orchard = last_year()
    orchard.assemble("A1", "04-01", "C25", "K1")
    part = known(orchard, "04-20").parts[PartKind.BODY, "K1"]
    assert (part.state, part.trap) == (Whereabouts.ASSEMBLED, "A1")
    orchard.hang("A1", on="04-25")
    later = known(orchard, "04-26")
    assert not later.waiting
    assert (later.parts[PartKind.BODY, "K1"].state, later.parts[PartKind.BODY, "K1"].since) == ("hung", day("04-25"))


def test_a_body_whose_label_has_come_off_is_where_its_history_has_it() -> None:
    """A body without a label is that of its trap: K1 was in A1, and A1 is assembled and hung with no body named."""
    orchard = last_year()
    orchard.assemble("A1", "04-01", "C25")
    part = known(orchard, "04-01").parts[PartKind.BODY, "K1"]
    assert (part.state, part.since, part.trap) == ("assembled", day("04-01"), "A1")
    orchard.hang("A1", on="04-02", lot="C25")
    later = known(orchard, "04-03")
    part = later.parts[PartKind.BODY, "K1"]
    assert (part.state, part.since, part.trap) == ("hung", day("04-02"), "A1")
    (past,) = (one for one in later.bodies if one.label == "K1")
    assert (past.traps, past.held[-1].on, past.held[-1].trap) == (("A1",), day("04-02"), "A1")


def test_a_body_that_is_gone_or_in_another_trap_is_not_the_one_without_a_label() -> None:
    orchard = last_year()
    orchard.note("K1", "03-01", "discarded")
    orchard.assemble("A1", "04-01", "C25")
    orchard.assemble("A3", "03-30", "C25", "K2")
    orchard.assemble("A2", "04-01", "C25")
    parts = known(orchard, "04-01").parts
    assert (parts[PartKind.BODY, "K1"].state, parts[PartKind.BODY, "K2"].state) == ("discarded", "assembled")
    assert parts[PartKind.BODY, "K2"].trap == "A3"


def test_a_body_replaced_in_the_orchard_is_down_and_the_new_one_hangs() -> None:
    orchard = last_year()
    orchard.hang("A1", on="04-10", body_label="K1")
    orchard.visit("A1", "05-01", 1, body="K5")
    parts = known(orchard, "05-02").parts
    assert (parts[PartKind.BODY, "K1"].state, parts[PartKind.BODY, "K5"].state) == ("taken down", "hung")
    assert parts[PartKind.BODY, "K5"].species == "CM"


def test_a_trap_assembled_becomes_a_row_of_the_register() -> None:
    orchard = last_year()
    assert hanging_row(made(orchard), "N2", day("05-01"), row="4", tree="") == {
        "trap": "A1",
        "block": "N2",
        "species": "CM",
        "hung_on": "2025-05-01",
        "lot": "C25",
        "body_label": "K1",
        "row": "4",
    }


def test_only_the_impossible_is_refused() -> None:
    programme = last_year().programme
    one = made(last_year(), lot="C99", species="XX")
    assert [problem.where for problem in check_assembly(one, programme)] == ["species", "lot"]
    assert "C25" in check_assembly(made(last_year(), lot="C52"), programme)[0].hint
    assert check_assembly(made(last_year(), lot="O25", body_label="K9"), programme) == ()
    orchard = Orchard()
    assert check_part(orchard.note("K1", "04-01"), programme) == ()
    assert [p.where for p in check_part(orchard.note(" ", "04-01", species="?"), programme)] == ["species", "label"]
