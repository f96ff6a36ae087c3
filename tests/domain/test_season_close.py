"""The close of a season: the list to walk, what went where, and what the next plan can count on."""

from __future__ import annotations

from datetime import date

from roundtui.domain.entries import Visit
from roundtui.domain.traps.assembly import KnownParts, known_parts
from roundtui.domain.traps.season_close import bodies_in_store, losses, not_put_away, stored, taking_down, to_discard
from tests.domain.orchard import Orchard, day

SEASON = (date(2025, 1, 1), date(2025, 12, 31))


def autumn() -> Orchard:
    orchard = Orchard()
    orchard.lot("C1", "CM")
    orchard.lot("O1", "OFM")
    orchard.hang("A1", on="05-01", body_label="K1", lid_label="L1")
    orchard.hang("A2", on="05-01", body_label="K2")
    orchard.hang("A3", on="05-01", body_label="K3", block="S1")
    orchard.hang("A10", on="05-01", block="S1")
    orchard.hang("F1", on="05-01", species="OFM", body_label="K9")
    orchard.route("east", "A3", "A1", "F1")
    return orchard


def parts_of(orchard: Orchard, on: str) -> KnownParts:
    return known_parts(orchard.programme, orchard.visits, day(on), orchard.assembled, orchard.parts)


def by_trap(orchard: Orchard) -> dict[str, list[Visit]]:
    found: dict[str, list[Visit]] = {}
    for visit in orchard.visits:
        found.setdefault(visit.trap, []).append(visit)
    return found


def test_traps_are_taken_down_in_the_order_of_the_routes_with_their_parts() -> None:
    orchard = autumn()
    orchard.visit("A2", "08-01", no="missing")
    orchard.visit("A2", "08-08", no="missing")
    orchard.visit("A1", "08-01", no="missing")
    orchard.visit("A1", "08-08", 3, body="K7")
    rows = taking_down(orchard.programme, parts_of(orchard, "09-01"), by_trap(orchard), day("09-01"))
    assert [(row.route, row.hanging.trap) for row in rows] == [
        *(("east", "A3"), ("east", "A1"), ("east", "F1")),
        *(("", "A2"), ("", "A10")),
    ]
    by_label = {row.hanging.trap: row for row in rows}
    assert [part.label for part in by_label["A1"].parts] == ["K7", "L1"], "the body that was put in since"
    assert (by_label["A1"].missing_since, by_label["A2"].missing_since) == (None, day("08-01"))


def test_a_trap_that_came_down_is_off_the_list() -> None:
    orchard = autumn()
    orchard.hang("B1", on="05-01", down="09-01")
    rows = taking_down(orchard.programme, parts_of(orchard, "09-01"), {}, day("09-01"))
    assert "B1" not in [row.hanging.trap for row in rows]


def test_parts_are_put_away_by_species_and_place_and_scented_bodies_apart() -> None:
    orchard = autumn()
    orchard.visit("A3", "06-01", 1, lure="O1")
    orchard.visit("A3", "06-08", 1, lure="C1")
    for label, species, place in (
        ("K1", "CM", "left"),
        ("K2", "CM", "left"),
        ("K3", "CM", "left"),
        ("K9", "OFM", "right"),
    ):
        orchard.note(label, "09-01", species=species, place=place)
    orchard.note("L1", "09-01", part="lid")
    orchard.note("K20", "09-01", state="new", place="left")
    parts = parts_of(orchard, "09-02").parts.values()
    assert [(row.species, row.part.value, row.place, row.labels) for row in stored(parts)] == [
        ("CM", "body", "left", ("K1", "K2", "K20")),
        ("CM", "lid", "", ("L1",)),
        ("OFM", "body", "right", ("K9",)),
    ]
    assert [(one.label, one.foreign) for one in to_discard(parts)] == [("K3", ("OFM",))]
    assert (bodies_in_store(parts, "CM"), bodies_in_store(parts, "OFM")) == (3, 1)
    orchard.note("K3", "09-03", state="discarded")
    assert to_discard(parts_of(orchard, "09-04").parts.values()) == ()


def test_what_came_down_and_was_not_put_away_is_named() -> None:
    orchard = autumn()
    orchard.hang("B1", on="05-01", down="09-01", body_label="K30")
    assert [one.label for one in not_put_away(parts_of(orchard, "09-02").parts.values())] == ["K30"]


def test_the_losses_of_a_season() -> None:
    orchard = autumn()
    orchard.visit("A2", "08-01", no="missing")
    orchard.note("K2", "09-01", state="lost")
    orchard.note("K1", "09-01", state="discarded")
    parts = parts_of(orchard, "2026-01-05").parts.values()
    found = losses(orchard.programme, by_trap(orchard), parts, SEASON, day("2026-01-05"))
    assert found.missing == (("A2", day("08-01")),)
    assert found.never_down == ("A1", "A2", "A3", "A10", "F1")
    assert ([one.label for one in found.lost], [one.label for one in found.discarded]) == (["K2"], ["K1"])
    assert losses(orchard.programme, {}, parts, SEASON, day("09-01")).never_down == (), "they still may hang"
